//! THE WHOLE RUN.

pub mod equipment;
pub mod init;
pub mod job;
pub mod settings;
pub mod stated;

pub use job::{Job, JobFailure};
pub use settings::{FinalTag, Payload, Printer, SymbolText, TagSettings, WorkTag};
pub use stated::Stated;
