//! CIRCUIT LISTS -> CIRCUITS.

pub mod circuit;
pub mod list;

pub use circuit::{Action, Circuit, Circuits, Connector, ConnectorKind, End, FarEnd, Fuse, Naming, Supply};
pub use list::{Form, List, ListSettings};
