//! THE WHOLE RUN.

pub mod init;
pub mod job;
pub mod settings;
pub mod stated;

pub use job::{Job, JobFailure};
pub use settings::{Edges, FinalTag, Payload, Printer, PrinterKind, SymbolText, TagSettings, WorkTag};
pub use stated::Stated;
