//! Two codes that prove to be one circuit.

use std::path::Path;

use jiff::Timestamp;

use super::failure::RunFailure;
use super::reading::register_path;
use crate::base::TagCode;
use crate::codes::{Joined, Register};

/// Makes one record of two codes of a job; `None` where no code was issued there yet. No register is made for it.
///
/// # Errors
/// [`RunFailure`] when one of the codes was never issued, or the register fails.
pub fn join(folder: &Path, keep: TagCode, other: TagCode, now: Timestamp) -> Result<Option<Joined>, RunFailure> {
    let path = register_path(folder);
    if !path.exists() {
        return Ok(None);
    }
    Ok(Some(Register::open(&path)?.join(keep, other, now)?))
}
