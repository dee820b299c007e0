//! Where a panic of a reading library ends.
//!
//! Files that are read here may be damaged or made with ill will, and the libraries that read them are large. A panic in
//! one of them must not end the program: it means that this file, or this page, cannot be read. hayro 0.9.0 does panic, on a
//! glyph placed beyond all bounds; rxing 0.9.3 and image 0.25.10 did not in some ten thousand damaged files. This is the
//! only place where a panic is caught.

use std::panic::{AssertUnwindSafe, catch_unwind};

use super::ProofFailure;

/// What `read` gives, or [`ProofFailure::Damaged`] if it panics.
///
/// Nothing that `read` changed may be used after a panic: callers hand in what they drop in that case.
pub fn contained<T>(read: impl FnOnce() -> T) -> Result<T, ProofFailure> {
    catch_unwind(AssertUnwindSafe(read)).map_err(|_| ProofFailure::Damaged)
}
