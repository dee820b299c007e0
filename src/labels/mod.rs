//! WHAT EACH TAG SAYS: which ends, connectors and places along wires get a tag, and the words on it.
//!
//! Circuits and their codes come in; a [`Label`] for each tag goes out, free of stock and geometry. A [`Wording`] tells which of
//! its fields are printed on tags of a kind, and in which order they may be given up.

pub mod along;
mod blank;
pub mod caution;
pub mod connector;
pub mod end;
pub mod field;
pub mod label;
pub mod line;
mod problems;
mod said;
pub mod select;
pub mod subject;
#[cfg(test)]
mod tests;
pub mod wording;
mod wording_file;

pub use along::{Mark, WireEnds, along_wires};
pub use blank::BlankTag;
pub use connector::{NotWhole, WholeConnector, whole_connector, whole_connectors};
pub use end::label;
pub use field::Field;
pub use label::{Band, Label, Position, TagName, Wire};
pub use line::{Lettering, Line, Look, Worth};
pub use problems::problem_kinds;
pub use said::{AsSaid, as_said};
pub use select::{Doubled, Reach, Selected, select};
pub use subject::{Selection, Sources, Subject};
pub use wording::{Faces, SymbolWish, Wording};
