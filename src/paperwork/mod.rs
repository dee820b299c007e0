//! BENCH DOCUMENTS: what is worked by, beside the tags.

pub mod reuse;
