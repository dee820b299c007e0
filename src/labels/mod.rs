//! WHAT EACH TAG SAYS: which ends get a tag, and the words on it.
//!
//! Circuits and their codes come in; a [`Label`] for each tag goes out, free of stock and geometry. A [`Wording`] tells which of
//! its fields are printed on tags of a kind, and in which order they may be given up.

pub mod caution;
pub mod end;
pub mod field;
pub mod label;
pub mod line;
mod problems;
pub mod select;
#[cfg(test)]
mod tests;
pub mod wording;
mod wording_file;

pub use end::label;
pub use field::Field;
pub use label::{Band, Label, TagName, Wire};
pub use line::{Lettering, Line, Look, Worth};
pub use problems::problem_kinds;
pub use select::{Doubled, Reach, Selected, select};
pub use wording::{Faces, SymbolWish, Wording};
