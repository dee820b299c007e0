//! `reprint`: prints tags again, with the same codes.

use std::path::Path;

use jiff::Timestamp;

use super::complaint::{Complaint, with_remedy};
use super::find::{tell_nearest, usable};
use super::output::Output;
use super::tag_args::Reprint;
use super::{Ending, tags};
use crate::base::Purpose;
use crate::run::reprinting::{AskedAgain, reprint};
use crate::run::{self, sheets};

/// Finds what was typed, prints its tags and tells. Nothing is printed when one of the words names
/// nothing that can be.
pub fn run(job: &Path, asked: &Reprint, now: Timestamp, output: &mut Output) -> Result<Ending, Complaint> {
    let Some(reading) = usable(job, output)? else { return Ok(Ending::Problems) };
    // Every circuit of the lists gets its code with this run, too.
    tags::warn(&run::likely_renames(&reading)?, output);
    let purposes = match (asked.work, asked.final_tags) {
        (false, true) => vec![Purpose::Final],
        (true, true) => vec![Purpose::Work, Purpose::Final],
        _ => vec![Purpose::Work],
    };
    let mut what = asked.what.clone();
    if asked.spoilt {
        let (names, marks) = sheets::spoilt_names(job)?;
        for mark in marks {
            output.aside(format!(
                "{mark} is a mark along a wire: `loomtag reprint CODE --along` prints those of its wire"
            ));
        }
        what.extend(names);
        if what.is_empty() {
            output.line(
                "no tag of a spoilt label is left to print again; `loomtag stock spoilt SHEET LABEL` tells of one",
            )?;
            return Ok(Ending::Problems);
        }
    }
    let asked_again = AskedAgain { what, purposes, along: asked.along, copies: asked.copies.into() };
    let again = reprint(&reading, &asked_again)?;
    for remark in &again.remarks {
        output.aside(remark);
    }
    if !again.not_again.is_empty() {
        for one in &again.not_again {
            output.line(with_remedy(&one.why, one.remedy.clone()))?;
            tell_nearest(&one.nearest, output)?;
        }
        output.aside("nothing was printed");
        return Ok(Ending::Problems);
    }
    tags::print(&reading, again.choice, again.as_said, &asked.making, &again.what, now, output)
}
