//! Lists that were put aside when others took their place -> what they were called and when, and each to be put back as it was.

use std::fs;

use jiff::Timestamp;
use jiff::civil::DateTime;
use jiff::tz::TimeZone;

use super::Sent;
use super::keep::{KEPT_IN, STAMP, flattened};
use crate::run::bounded;
use crate::run::failure::RunFailure;
use crate::run::job::Job;
use crate::run::named_lists::LIST_ENDS;

/// A list as it was before another took its place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Before {
    /// Its file in [`KEPT_IN`].
    pub kept: String,
    /// What the list was called.
    pub name: String,
    /// When it was put aside.
    pub at: Timestamp,
}

impl Before {
    /// What the name of a kept file says; `None` where it is no list that this program has put aside.
    fn of(job: &Job, kept: &str) -> Option<Self> {
        let (stem, end) = kept.rsplit_once('.')?;
        // Behind the moment a number may stand.
        let stamp = stem.match_indices('-').find_map(|(at, _)| {
            let rest = &stem[at + 1..];
            let (moment, again) = rest.split_once('Z').map(|(moment, again)| (format!("{moment}Z"), again))?;
            let is_again = again.strip_prefix('-').is_some_and(|number| number.bytes().all(|c| c.is_ascii_digit()));
            let moment = TimeZone::UTC.to_timestamp(DateTime::strptime(STAMP, &moment).ok()?).ok()?;
            (again.is_empty() || is_again).then_some((at, moment))
        });
        let (at, moment) = stamp?;
        let flat = format!("{}.{end}", &stem[..at]);
        let is_list = LIST_ENDS.iter().any(|known| known.eq_ignore_ascii_case(end));
        // A list that the job has in a folder of its own was put aside without that.
        let own = job.list_names().map(|name| &name.value).find(|name| flattened(name) == flat);
        let name = own.cloned().unwrap_or(flat);
        (is_list && !name.is_empty()).then(|| Self { kept: kept.to_owned(), name, at: moment })
    }
}

/// The lists that were put aside, the newest first.
pub fn before(job: &Job) -> Vec<Before> {
    let entries = fs::read_dir(job.folder().join(KEPT_IN)).into_iter().flatten().flatten();
    let names = entries.filter_map(|entry| entry.file_name().into_string().ok());
    let mut all: Vec<Before> = names.filter_map(|kept| Before::of(job, &kept)).collect();
    all.sort_by(|one, other| (other.at, &other.kept).cmp(&(one.at, &one.kept)));
    all
}

/// A list that was put aside, to be put back: it is looked at and compared as any that is sent. `None` where there is none of this name.
///
/// # Errors
/// [`RunFailure`] when it cannot be read.
pub fn put_back(job: &Job, kept: &str) -> Result<Option<Sent>, RunFailure> {
    let Some(found) = before(job).into_iter().find(|before| before.kept == kept) else { return Ok(None) };
    let path = job.folder().join(KEPT_IN).join(&found.kept);
    let bytes = bounded::read(&path).map_err(RunFailure::disk("read", &path))?;
    let is_of_job = job.list_names().any(|name| name.value == found.name);
    Ok(Some(match is_of_job {
        true => Sent { name: found.name, sent_as: None, bytes: bytes.into() },
        // Whatever lies there may have any name.
        false => Sent::new(job.folder(), &found.name, bytes),
    }))
}
