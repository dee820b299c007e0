//! FRAMES PLACED ON STOCK.

pub mod page;

pub use page::{Page, Placed};
