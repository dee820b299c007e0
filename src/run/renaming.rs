//! A circuit gets another designation, and the lists are told where they still have the old one.

use jiff::Timestamp;

use super::failure::RunFailure;
use super::reading::Reading;
use super::recall::{By, Found, Recall};
use super::register::{self, register_path};
use crate::base::{CircuitId, Page, Remedy, TagCode};
use crate::circuits::Naming;
use crate::codes::{Certainty, NotRenamed, Renamed};

/// A circuit that goes by another designation.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Renaming {
    /// Its printed code.
    pub code: TagCode,
    /// What it was called.
    pub former: CircuitId,
    /// What it is called.
    pub designation: CircuitId,
    /// What came of it.
    pub outcome: Renamed,
    /// The rows that still give the former designation, or none: `loom.csv:4`.
    pub to_change: Vec<String>,
    /// Whether those rows have a designation at all.
    pub naming: Naming,
}

/// Why a circuit keeps its designation.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Refused {
    /// Nothing goes by the old one.
    #[error("`{0}` is no circuit, code or place of this job")]
    Unknown(String),
    /// It may be several circuits, or goes by several designations.
    #[error("`{0}` may be {1}: name one of them")]
    Several(String, String),
    /// Nothing was issued that could be kept.
    #[error("no code was issued for `{0}` yet: change its designation in the lists, there is nothing else to keep")]
    NoCode(String),
    /// The new one cannot be a designation.
    #[error("`{0}` cannot be a designation: {1}")]
    BadName(String, &'static str),
    /// The lists have both.
    #[error(
        "the lists have `{0}` and `{1}` as two circuits: give one of them another designation there, or `join` their codes"
    )]
    BothListed(CircuitId, CircuitId),
    /// It belongs to another circuit that is gone.
    #[error("`{0}` is circuit {1}, which is not in the lists any more")]
    OfAnother(CircuitId, TagCode, CircuitId, TagCode),
    /// Nothing speaks for it.
    #[error("the lists' `{0}` has no place in common with {1}")]
    NothingInCommon(CircuitId, TagCode),
}

impl Refused {
    /// What to do instead, where the message does not say it.
    pub fn remedy(&self) -> Option<Remedy> {
        match self {
            Self::OfAnother(new, other, former, code) => Some(
                Remedy::by(format!("`loomtag rename {new} {former}`"), Page::OnRecord(other.to_string(), "Rename"))
                    .words(" goes on with its code, ")
                    .and_by(
                        format!("`loomtag join {other} {code}`"),
                        Page::OnRecord(code.to_string(), "Another code is the same circuit"),
                    )
                    .words(" makes one circuit of both"),
            ),
            Self::NothingInCommon(..) => Some(
                Remedy::by("`--sure` renames all the same", Page::Words("renaming all the same can be confirmed"))
                    .words(", and is for ever"),
            ),
            _ => None,
        }
    }
}

/// Renames the circuit that was meant. Nothing is written where it is refused.
///
/// # Errors
/// [`RunFailure`] when the register fails.
pub fn rename(
    reading: &Reading,
    recall: &Recall,
    (old, new): (&str, &str),
    certainty: Certainty,
    now: Timestamp,
) -> Result<Result<Renaming, Refused>, RunFailure> {
    let planned = designation(recall, new).and_then(|new| Ok((meant(recall, old)?, new)));
    let ((code, former), new) = match planned {
        Ok(planned) => planned,
        Err(refused) => return Ok(Err(refused)),
    };
    if !register_path(reading.job.folder()).exists() {
        return Ok(Err(Refused::NoCode(old.to_owned())));
    }
    let mut register = register::open(reading.job.folder())?;
    let outcome = match register.rename(&reading.circuits, code, (&former, &new), certainty, now)? {
        Ok(outcome) => outcome,
        Err(NotRenamed::BothListed) => return Ok(Err(Refused::BothListed(former, new))),
        Err(NotRenamed::OfAnother(other)) => return Ok(Err(Refused::OfAnother(new, other, former, code))),
        Err(NotRenamed::NothingInCommon) => return Ok(Err(Refused::NothingInCommon(new, code))),
    };
    let listed = reading.circuits.get(&former).filter(|_| former != new);
    let mut to_change = Vec::new();
    for end in listed.iter().flat_map(|circuit| circuit.ends()) {
        let row = match end.origin.line() {
            Some(line) => format!("{}:{line}", end.origin.file()),
            None => end.origin.to_string(),
        };
        if !to_change.contains(&row) {
            to_change.push(row);
        }
    }
    let naming = listed.map_or(Naming::Designated, |circuit| circuit.naming());
    Ok(Ok(Renaming { code, former, designation: new, outcome, to_change, naming }))
}

/// A new designation, if it can be one.
fn designation(recall: &Recall, typed: &str) -> Result<CircuitId, Refused> {
    const LONGEST: usize = 200;
    let bad = |why| Refused::BadName(typed.escape_debug().to_string(), why);
    let id = CircuitId::from_cell(typed).ok_or_else(|| bad("it is empty"))?;
    if id.as_str().chars().any(char::is_control) {
        return Err(bad("it holds a line break or another control character"));
    }
    if id.as_str().chars().count() > LONGEST {
        return Err(bad("it is longer than 200 characters"));
    }
    let is_place = |found: &Found| found.ends.iter().any(|&end| found.record.ends[end].here == id.as_str());
    if recall.find(&[id.to_string()]).iter().any(|found| found.by == By::Place && is_place(found)) {
        return Err(bad("it is a place, and stands for the wire that sits there"));
    }
    Ok(id)
}

/// The code of the circuit that was meant, and which of its designations.
fn meant(recall: &Recall, typed: &str) -> Result<(TagCode, CircuitId), Refused> {
    let found = recall.find(&[typed.to_owned()]);
    let named: Vec<&Found> = found.iter().filter(|found| found.by != By::Words && found.doubt.is_none()).collect();
    let trimmed = typed.trim();
    let goes_by = |found: &&&Found| {
        let record = &found.record;
        record.designations.iter().chain(&record.renamed).any(|name| name == trimmed)
    };
    let exact: Vec<&Found> = named.iter().filter(goes_by).copied().collect();
    let named = if exact.is_empty() { named } else { exact };
    let found = match &named[..] {
        [] => return Err(Refused::Unknown(typed.to_owned())),
        [one] => *one,
        several => {
            let names: Vec<String> = several.iter().map(|found| found.record.designations.join(" = ")).collect();
            return Err(Refused::Several(typed.to_owned(), names.join(" or ")));
        }
    };
    let record = &found.record;
    let code = record.code.as_deref().and_then(|code| TagCode::from_typed(code).ok());
    let code = code.ok_or_else(|| Refused::NoCode(typed.to_owned()))?;
    let names = &record.designations;
    let like = |test: &dyn Fn(&String) -> bool| names.iter().find(|name| test(name));
    let renamed = record.renamed.as_ref().filter(|name| *name == trimmed);
    let name = like(&|name| name == trimmed).or(renamed).or_else(|| like(&|name| name.eq_ignore_ascii_case(trimmed)));
    let name = match (name, &names[..]) {
        (Some(name), _) | (None, [name]) => name,
        _ => return Err(Refused::Several(typed.to_owned(), names.join(" or "))),
    };
    let former = CircuitId::from_cell(name).ok_or_else(|| Refused::Unknown(typed.to_owned()))?;
    Ok((code, former))
}
