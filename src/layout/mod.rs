//! WORDS AND SYMBOL FITTED TO STOCK AND WIRE.

pub mod along;
pub mod face;
pub mod fit;
pub mod flag;
mod flat;
pub mod font_file;
pub mod frame;
pub mod header;
pub mod keep;
pub mod panel;
mod round;
mod runs;
#[cfg(test)]
mod samples;
mod search;
pub mod sleeve;
pub mod strip;
pub mod symbol;
pub mod text;
pub mod tie_on;
pub mod tube;
pub mod wire;
pub mod words;
pub mod wrap;
#[cfg(test)]
mod writing_trials;

pub use fit::{Facts, Fitted, Fitting, Floors, Refusal, SymbolFacts, TubeNeed, TubeUse};
pub use flat::LABEL_EDGE;
pub use font_file::{FontFault, FontFile};
pub use frame::{Face, Frame, Glyph, Ink, Item, Modules, Stretch, SymbolItem, TextItem};
pub use tube::TubeSize;
pub use wire::Diameter;
