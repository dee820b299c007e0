//! The page `problems`.
