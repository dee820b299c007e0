//! CIRCUITS -> REGISTER: every circuit gets a code for ever, every end a letter.

pub mod issued;
pub mod link;

pub use issued::{CircuitCodes, Issued};
