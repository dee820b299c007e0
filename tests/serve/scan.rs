//! The page `scan`.
