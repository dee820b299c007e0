//! THE WORDS: the small types every later step speaks in.
//!
//! Nothing here opens a file, reads a clock or asks a database. A value of one of these types has been checked once,
//! where it came in; later steps need not check it again.

pub mod code;
pub mod colour;
pub mod conductor;
pub mod counted;
pub mod delimited;
pub mod designation;
pub mod device_name;
pub mod fingerprint;
pub mod formula;
pub mod insulation;
pub mod length;
pub mod natural;
pub mod nearest;
pub mod origin;
pub mod printer_address;
pub mod problem;
pub mod remedy;
pub mod settings;
pub mod shape;
pub mod stated;
pub mod step;
pub mod tag_kind;

pub use code::{EndLetter, TagCode};
pub use colour::{Colour, WireColour};
pub use conductor::{Conductor, ConductorSize};
pub use counted::counted;
pub use designation::{Cavity, CircuitId, ConnectorId, Place};
pub use device_name::is_device_name;
pub use fingerprint::Fingerprint;
pub use insulation::Insulation;
pub use length::Length;
pub use origin::{Origin, Source};
pub use printer_address::PrinterAddress;
pub use problem::{Checked, Problem, ProblemKind, Severity};
pub use remedy::{Page, Remedy};
pub use shape::{Point, Rect, Size, Turn};
pub use stated::Stated;
pub use step::{Finding, Step};
pub use tag_kind::{Purpose, TagKind};
