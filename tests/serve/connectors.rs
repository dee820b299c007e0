//! The page `connectors`.
