//! Names that must not be mixed up: of circuits, connectors, cavities, and the places that ends sit in.

use std::cmp::Ordering;
use std::fmt;

use super::natural;

macro_rules! designation {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Clone, Debug, PartialEq, Eq, Hash)]
        pub struct $name(String);

        impl $name {
            /// The designation in a cell, trimmed; `None` when nothing is left.
            pub fn from_cell(cell: &str) -> Option<Self> {
                let cell = cell.trim();
                (!cell.is_empty()).then(|| Self(cell.to_owned()))
            }

            /// The designation as it was written.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.pad(&self.0)
            }
        }

        /// Natural order.
        impl Ord for $name {
            fn cmp(&self, other: &Self) -> Ordering {
                natural::compare(&self.0, &other.0)
            }
        }

        impl PartialOrd for $name {
            fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
                Some(self.cmp(other))
            }
        }
    };
}

designation! {
    /// The designation of a circuit. Where a chart gives none, it is the place (`J1/17`).
    CircuitId
}

designation! {
    /// The designation of a connector, splice, stud, relay or fuse box.
    ConnectorId
}

designation! {
    /// The name of a cavity inside its connector: `14`, `01`, `B7`. Case and leading zeros are kept.
    Cavity
}

/// Where an end sits: a cavity of a connector, or a stud or splice as a whole.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Place {
    /// The connector, splice, stud, relay or fuse box.
    pub connector: ConnectorId,
    /// The cavity or position; `None` where there is only one, as on a stud.
    pub cavity: Option<Cavity>,
}

impl Place {
    /// A place from its parts.
    pub const fn new(connector: ConnectorId, cavity: Option<Cavity>) -> Self {
        Self { connector, cavity }
    }

    /// Reads `J1/14`, `J1-14`, `J1 14` or `GND1` as a person may type it. The last separator splits, so that `X-3/7`
    /// is cavity `7` of `X-3`. A text without a separator is a place without cavities.
    pub fn from_typed(typed: &str) -> Option<Self> {
        let typed = typed.trim();
        let split = [typed.rfind('/'), typed.rfind(' '), typed.rfind('-')].into_iter().flatten().next();
        match split {
            Some(at) => {
                let connector = ConnectorId::from_cell(&typed[..at])?;
                Some(Self::new(connector, Cavity::from_cell(&typed[at + 1..])))
            }
            None => Some(Self::new(ConnectorId::from_cell(typed)?, None)),
        }
    }
}

/// `J1/14`, or `GND1` where there is no cavity.
impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.cavity {
            Some(cavity) => write!(f, "{}/{cavity}", self.connector),
            None => write!(f, "{}", self.connector),
        }
    }
}

impl From<&Place> for CircuitId {
    fn from(place: &Place) -> Self {
        Self(place.to_string())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_as_typed() {
        let shown = |typed: &str| Place::from_typed(typed).map(|place| place.to_string());
        assert_eq!(shown("J1/14").as_deref(), Some("J1/14"));
        assert_eq!(shown(" J1 14 ").as_deref(), Some("J1/14"));
        assert_eq!(shown("J1-14").as_deref(), Some("J1/14"));
        assert_eq!(shown("X-3/7").as_deref(), Some("X-3/7"));
        assert_eq!(shown("GND1").as_deref(), Some("GND1"));
        assert_eq!(shown("  "), None);
        assert_eq!(shown("/7"), None);
    }

    #[test]
    fn cavities_keep_their_zeros() {
        assert_ne!(Cavity::from_cell("01"), Cavity::from_cell("1"));
        assert_ne!(Cavity::from_cell("a"), Cavity::from_cell("A"));
    }
}
