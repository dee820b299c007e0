//! The page `overview`.
