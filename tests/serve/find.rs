//! The page `find`.
