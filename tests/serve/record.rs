//! The page `record`.
