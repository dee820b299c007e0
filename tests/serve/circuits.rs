//! The page `circuits`.
