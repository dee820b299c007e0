//! FRAMES PLACED ON STOCK.
//!
//! In: a stock and the finished frames in working order. Out: pages, one at a time, with the marks by which they are cut.

pub mod alone;
pub mod catalogue;
pub mod drawing;
pub mod form;
pub mod impose;
pub mod landing;
mod marks;
mod nest;
mod onto_labels;
mod onto_strips;
mod onto_tube;
pub mod page;
mod picking;
mod problems;
pub mod reach;
pub mod sheet;
pub mod stock;
mod stock_file;
mod together;
pub mod tray;
pub mod trial;

pub use alone::alone;
pub use catalogue::builtin;
pub use drawing::drawing;
pub use form::LabelForm;
pub use impose::{Edges, Imposing, Misfit, Order, Piece, Words, impose, largest_frame, room_on_tube};
pub use landing::Landing;
pub use nest::{least_pieces, nest};
pub use page::{Heading, Page, Placed};
pub use problems::{is_out_of_reach, problem_kinds};
pub use reach::{out_of_reach, unprintable_places};
pub use sheet::{Cut, Labels, Sheet};
pub use stock::{Geometry, PrinterKind, Roll, Stock, Surface, Tube};
pub use tray::{BegunSheet, OnSheet, SheetStanding, Taking, Tray};
pub use trial::{Gauges, Trying, trial};

#[cfg(test)]
mod properties;
