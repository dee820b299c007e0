//! The page `lists`.
