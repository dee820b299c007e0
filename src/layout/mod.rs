//! WORDS AND SYMBOL FITTED TO STOCK AND WIRE.

pub mod face;
pub mod frame;
pub mod tube;

pub use frame::{Face, Frame, Glyph, Ink, Item, Modules, Stretch, SymbolItem, TextItem};
pub use tube::TubeSize;
