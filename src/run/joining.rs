//! Two codes that prove to be one circuit. Joining is for ever, so what speaks against it is told first.

use std::path::Path;

use jiff::Timestamp;

use super::failure::RunFailure;
use super::reading::register_path;
use super::recall::Recall;
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

/// What speaks against two codes being one circuit: they are partners of a twisted pair, or fed in different ways.
pub fn objections(recall: &Recall, keep: TagCode, other: TagCode) -> Vec<String> {
    let (Some(keep), Some(other)) = (recall.by_code(keep, None), recall.by_code(other, None)) else {
        return Vec::new();
    };
    let (keep, other) = (keep.record, other.record);
    let mut objections = Vec::new();
    let names_other = |end: &super::recall::EndRecord| end.with.iter().any(|with| other.designations.contains(with));
    if keep.ends.iter().any(names_other) {
        objections.push("the lists give them as partners of one pair, which are two circuits".to_owned());
    }
    if let (Some(one), Some(two)) = (&keep.supply, &other.supply)
        && one != two
    {
        objections.push(format!("the lists feed one of them as {one}, the other as {two}"));
    }
    objections
}
