//! CIRCUITS -> REGISTER: every circuit gets a code for ever, every end a letter.

pub mod issued;

pub use issued::{CircuitCodes, Issued};
