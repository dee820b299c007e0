//! What the benches share: an invented harness, the making of tags with the library, and the measuring.

pub mod harness;
pub mod making;
pub mod measure;
pub mod table;
