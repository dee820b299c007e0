//! WHAT EACH TAG SAYS: which ends get a tag, and the words on it.
//!
//! Circuits and their codes come in; a [`Label`] for each tag goes out, free of stock and geometry.

pub mod caution;
pub mod label;
pub mod select;
#[cfg(test)]
mod tests;
pub mod wording;

pub use label::{Band, Field, Label, Line, TagName, Wire};
pub use select::{Doubled, Reach, Selected, select};
pub use wording::label;
