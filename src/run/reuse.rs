//! Reuse: what removed wires are for, with all that the register knows of them. It only reads.
//!
//! ```toml
//! [reuse]
//! slack = 100                   # mm that a wire is cut longer than its way, at each end
//! ```

use std::collections::HashSet;

use super::bench_sheets::Known;
use super::failure::RunFailure;
use super::reading::Reading;
use super::register;
use crate::base::settings::{Least, Reader, Table};
use crate::base::{ConnectorId, Length, TagCode};
use crate::codes::Issued;
use crate::paperwork::Harness;
use crate::paperwork::reuse::{self, Reuse, Settings, USUAL_SLACK, Wanted};

/// More than anyone leaves at an end.
pub const MOST_SLACK: Length = Length::nm(10_000_000_000);

/// Reads `[reuse]`: the slack.
pub(super) fn read_reuse(reader: &mut Reader, top: &Table<'_>) -> Length {
    let Some(table) = reader.table(top, "reuse") else { return USUAL_SLACK };
    reader.expect_keys(&table, &[], &["slack"]);
    reader.length(&table, "slack", Least::Zero, MOST_SLACK).map_or(USUAL_SLACK, |slack| slack.value)
}

/// What is asked for.
#[derive(Clone, Debug, Default)]
pub struct ReuseWish {
    /// The slack at each end; without it, the job's.
    pub slack: Option<Length>,
    /// Only wants with an end in one of these connectors; none: all.
    pub connectors: Vec<ConnectorId>,
    /// Only wants with an end in one of these branches; none: all.
    pub branches: Vec<String>,
}

/// What was found.
pub struct Reused<'a> {
    /// The matches.
    pub reuse: Reuse,
    /// What they are of.
    pub harness: Harness<'a>,
    /// The slack at each end.
    pub slack: Length,
    /// Codes that are issued: others may yet become other circuits'.
    known: HashSet<TagCode>,
}

impl Reused<'_> {
    /// Whether the code of a circuit is issued.
    pub fn is_issued(&self, circuit: usize) -> bool {
        self.known.contains(&self.harness.issued.circuits[circuit].code)
    }
}

/// What holds for all wires of a job.
pub(super) fn settings(reading: &Reading) -> Settings {
    Settings { slack: reading.job.slack(), insulation: reading.job.insulation() }
}

/// The codes as they are or would be.
///
/// # Errors
/// [`RunFailure`] when the register fails.
pub fn codes(reading: &Reading) -> Result<Issued, RunFailure> {
    Ok(register::open_to_read(reading.job.folder())?.preview(&reading.circuits)?)
}

/// Matches removed wires to wanted ones.
///
/// # Errors
/// [`RunFailure`] when the register fails.
pub fn reuse<'a>(reading: &'a Reading, issued: &'a Issued, wish: &ReuseWish) -> Result<Reused<'a>, RunFailure> {
    let register = register::open_to_read(reading.job.folder())?;
    let harness = Known::read(&register)?.harness(reading, issued);
    let usual = settings(reading);
    let settings = Settings { slack: wish.slack.unwrap_or(usual.slack), ..usual };
    let is_chosen = |wanted: &Wanted| {
        let ends = || {
            let circuit = &reading.circuits.all()[wanted.what.circuit()];
            wanted.what.ends().map(|end| &circuit.ends()[end])
        };
        let in_connector = || ends().any(|end| wish.connectors.contains(&end.place.connector));
        let is_same = |branch: &str, wished: &String| branch.eq_ignore_ascii_case(wished);
        let in_branch = || {
            ends().filter_map(|end| end.branch.as_deref()).any(|has| wish.branches.iter().any(|one| is_same(has, one)))
        };
        (wish.connectors.is_empty() || in_connector()) && (wish.branches.is_empty() || in_branch())
    };
    let reuse = reuse::reuse(&harness, settings, &is_chosen);
    let known = register.records()?.into_iter().map(|record| record.code).collect();
    Ok(Reused { reuse, harness, slack: settings.slack, known })
}
