//! WHAT EACH TAG SAYS: which ends get a tag, and the words on it.

pub mod label;

pub use label::{Band, Field, Label, Line, Purpose, TagName};
