//! The page `print`.
