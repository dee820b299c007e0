//! Blanks: coded tags that belong to nothing yet, printed, or issued for a marker pen.

use std::ops::RangeInclusive;

use jiff::Timestamp;

use super::failure::RunFailure;
use super::files::record_list;
use super::print::{Plan, Printed, Request, refuse_occupied};
use super::progress::Progress;
use super::reading::Reading;
use super::register;
use crate::base::{Length, Purpose, TagCode, TagKind};
use crate::codes::{Blank, Issued, Way, mint};
use crate::labels::{BlankTag, Subject};

/// Outside diameters that wires have, in mm.
pub const DIAMETERS: RangeInclusive<f64> = 0.5..=40.0;

/// Issues so many blanks and prints their tags: of this kind, or of the usual one; for wires of this diameter where it is told.
///
/// # Errors
/// As [`print`].
pub fn print_blanks(
    reading: &Reading,
    count: u32,
    kind: Option<TagKind>,
    diameter: Option<Length>,
    request: &Request,
    now: Timestamp,
    progress: &dyn Progress,
) -> Result<Printed, RunFailure> {
    refuse_occupied(request)?;
    // A kind that cannot be made is told before codes are issued for it.
    let issued = Issued::default();
    let mut plan = Plan::new(reading, &issued);
    let first = mint::nth(0).expect("there is a first code");
    let subject = |code| Subject::Blank(BlankTag { code, kind, diameter });
    plan.add(Purpose::Work, subject(first));
    if plan.is_empty() {
        return Ok(plan.nothing(request));
    }
    let mut register = register::open(reading.job.folder())?;
    let codes = register.issue_blanks(count, Way::Printed, now)?;
    let mut plan = Plan::new(reading, &issued);
    for code in codes {
        plan.add(Purpose::Work, subject(code));
    }
    plan.print(&mut register, request, now, progress)
}

/// Issues so many blanks to be written by hand.
///
/// # Errors
/// [`RunFailure`] when the register or the disk fails; codes that were issued stay issued.
pub fn issue_listed(reading: &Reading, count: u32, now: Timestamp) -> Result<Vec<TagCode>, RunFailure> {
    let mut register = register::open(reading.job.folder())?;
    let codes = register.issue_blanks(count, Way::Listed, now)?;
    record_list(reading, &mut register, &codes, &format!("blanks {count} --list"), now)?;
    Ok(codes)
}

/// All blanks of a job, in the order in which they were issued.
///
/// # Errors
/// [`RunFailure`] when the register cannot be read.
pub fn blanks(reading: &Reading) -> Result<Vec<Blank>, RunFailure> {
    Ok(register::open_to_read(reading.job.folder())?.blanks()?)
}
