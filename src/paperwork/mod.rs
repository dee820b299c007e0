//! BENCH DOCUMENTS: what is worked from at the bench, as pages.

pub mod face;
