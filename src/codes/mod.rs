//! CIRCUITS -> REGISTER: every circuit gets a code for ever, every end a letter.

pub mod issued;
pub mod mint;
mod refused;

pub use issued::{CircuitCodes, Issued};
