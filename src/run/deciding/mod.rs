//! Deciding beside the lists: which ends are meant and what shall be done with them comes in as typed; decisions go into the register,
//! each told with what was before, and with what speaks against it. The user's lists stay as they are.
//!
//! - `change`: what would change at one end
//! - `meant`: which ends, and which action
//! - `told`: what was decided, with what the lists say by now

use std::collections::{BTreeSet, HashSet};
use std::path::Path;
use std::sync::Arc;

use jiff::Timestamp;

use super::failure::RunFailure;
use super::noting::{Bench, NotNoted};
use super::reading::Reading;
use super::recall::{Recall, Recalled};
use super::register;
use crate::base::{EndLetter, Page, Remedy, TagCode};
use crate::circuits::{Action, End, FarEnd};
use crate::codes::{Decision, Decisions, Issued, Made, Matter, Register, Undo};

mod change;
mod meant;
#[cfg(test)]
mod tests;
pub mod told;

pub use change::Change;

/// What somebody wishes, as typed.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Wish {
    /// Ends, or circuits for all their ends: `7KF4/A`, `J1/14`, `RPS`.
    pub ends: Vec<String>,
    /// Connectors, for the ends of all their cavities.
    pub connectors: Vec<String>,
    /// Ends of the lists, by circuit and end, where nothing needs to be looked for.
    pub at: Vec<(usize, usize)>,
    /// Which of these ends.
    pub of_these: OfThese,
    /// What shall be done with them, in the words of an action column; [`AS_LISTED`]: what the lists say. `None` leaves it.
    pub action: Option<String>,
    /// Their remark, empty for none; `None` leaves it. The words that the list has leave it to the list.
    pub note: Option<String>,
}

/// Which of the ends that are named.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum OfThese {
    /// All of them.
    #[default]
    All,
    /// Those of which nothing is decided yet.
    Undecided,
}

/// The word that leaves an action to the lists.
pub const AS_LISTED: &str = "list";

/// The longest remark of an end, in characters: a tag has room for a few words.
pub const LONGEST_NOTE: usize = 200;

/// What was decided.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Decided {
    /// The number of the act, by which all of it can be taken back; `None` where nothing had to be written.
    pub act: Option<u32>,
    /// What changed, in the order of the wishes.
    pub changes: Vec<Change>,
    /// How many ends were as wished before.
    pub unchanged: usize,
    /// How many codes were issued for it.
    pub issued: usize,
}

/// Why nothing is decided.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotDecided {
    /// What was typed cannot be followed.
    #[error("{what}")]
    Words {
        /// What is wrong with it.
        what: String,
        /// What to type instead.
        remedy: Remedy,
    },
    /// It names nothing of this job.
    #[error("`{0}` is neither a code nor a place of this job")]
    Unknown(String),
    /// It is known, and nothing can be decided of it.
    #[error("{0}")]
    CannotBe(String),
    /// It has no code yet, and none can be issued because lists have errors.
    #[error("no code was issued for `{0}` yet")]
    NoCode(String),
}

impl NotDecided {
    /// What to type instead, where the message does not say it.
    pub fn remedy(&self) -> Option<Remedy> {
        match self {
            Self::Words { remedy, .. } => Some(remedy.clone()),
            Self::NoCode(_) => Some(
                Remedy::from("put the errors of the lists right first, or issue codes with ")
                    .and_by("`loomtag tags --skip-problems`", Page::Print),
            ),
            Self::Unknown(_) | Self::CannotBe(_) => None,
        }
    }
}

impl From<NotNoted> for NotDecided {
    fn from(why: NotNoted) -> Self {
        match why {
            NotNoted::Words(why) => Self::Words { what: why.what, remedy: why.remedy.into() },
            NotNoted::Unknown(typed) => Self::Unknown(typed),
            NotNoted::CannotBe(why) => Self::CannotBe(why),
            NotNoted::NoCode(typed) => Self::NoCode(typed),
        }
    }
}

/// All that is known of a job when something is decided.
pub struct Deciding<'a> {
    /// Its lists.
    pub reading: &'a Reading,
    /// The codes of its circuits, perhaps looked ahead at.
    pub issued: &'a Issued,
    /// What can be recalled, with the notes of the bench.
    pub recall: &'a Recall,
    /// Every code ever issued.
    pub codes: &'a HashSet<TagCode>,
}

/// What is known of a job when something is decided, looked up for it.
pub struct Known {
    /// What can be recalled, with the notes of the bench.
    pub recall: Recall,
    issued: Arc<Issued>,
    codes: Arc<HashSet<TagCode>>,
}

impl Known {
    /// Looked up in the register of a job.
    ///
    /// # Errors
    /// [`RunFailure`] when the register cannot be read.
    pub fn of(reading: &Reading) -> Result<Self, RunFailure> {
        Self::from(reading, &register::open_to_read(reading.job.folder())?)
    }

    fn from(reading: &Reading, register: &Register) -> Result<Self, RunFailure> {
        let Recalled { recall, coded, .. } = Recalled::read(reading, register, None)?;
        Ok(Self { recall, issued: coded.issued, codes: coded.codes })
    }

    /// With the lists that it was looked up for.
    pub fn deciding<'a>(&'a self, reading: &'a Reading) -> Deciding<'a> {
        Deciding { reading, issued: &self.issued, recall: &self.recall, codes: &self.codes }
    }

    /// What the end of a code and letter is, in words.
    pub fn about(&self, code: TagCode, letter: EndLetter) -> String {
        Bench { recall: &self.recall, notes: self.recall.notes(), codes: &self.codes }.about(code, letter)
    }
}

/// Decides what was wished, or nothing of it, of a job that is looked up for it.
///
/// # Errors
/// [`RunFailure`] when the register fails.
pub fn decide(reading: &Reading, wishes: &[Wish], now: Timestamp) -> Result<Result<Decided, NotDecided>, RunFailure> {
    Known::of(reading)?.deciding(reading).decide(wishes, now)
}

/// All decisions of a job.
///
/// # Errors
/// [`RunFailure`] when the register cannot be read.
pub fn decisions(folder: &Path) -> Result<Decisions, RunFailure> {
    Ok(register::open_to_read(folder)?.decisions()?)
}

/// Takes decisions back; those that are taken back.
///
/// # Errors
/// [`RunFailure`] when the register fails, or there is nothing to take back.
pub fn undo(folder: &Path, what: Undo, now: Timestamp) -> Result<Vec<Made>, RunFailure> {
    Ok(register::open(folder)?.undo(what, now)?)
}

impl Deciding<'_> {
    /// Decides what was wished, or nothing of it. Where an end has no code yet, codes are issued as for tags.
    ///
    /// # Errors
    /// [`RunFailure`] when the register fails.
    pub fn decide(&self, wishes: &[Wish], now: Timestamp) -> Result<Result<Decided, NotDecided>, RunFailure> {
        let folder = self.reading.job.folder();
        match self.plan(wishes) {
            Ok(planned) => self.written(planned, now).map(Ok),
            Err(NotDecided::NoCode(_)) if !self.reading.has_errors() => {
                let mut register = register::open(folder)?;
                register.issue(&self.reading.circuits, now)?;
                let known = Known::from(self.reading, &register)?;
                drop(register);
                let fresh = known.deciding(self.reading);
                let new = known.codes.len().saturating_sub(self.codes.len());
                match fresh.plan(wishes) {
                    Ok(planned) => Ok(Ok(Decided { issued: new, ..fresh.written(planned, now)? })),
                    Err(why) => Ok(Err(why)),
                }
            }
            Err(why) => Ok(Err(why)),
        }
    }

    fn written(&self, mut planned: Decided, now: Timestamp) -> Result<Decided, RunFailure> {
        if planned.changes.is_empty() {
            return Ok(planned);
        }
        let decisions: Vec<Decision> = planned.changes.iter().map(|change| change.decision.clone()).collect();
        let (act, numbers) = register::open(self.reading.job.folder())?.decide(&decisions, now)?;
        planned.act = Some(act);
        for (change, number) in planned.changes.iter_mut().zip(numbers) {
            change.number = number;
        }
        Ok(planned)
    }

    /// What these wishes would change; nothing is written.
    ///
    /// # Errors
    /// [`NotDecided`] when one of them cannot be followed.
    pub fn plan(&self, wishes: &[Wish]) -> Result<Decided, NotDecided> {
        let mut planned = Decided::default();
        for wish in wishes {
            let action = wish.action.as_deref().map(|typed| self.action(typed)).transpose()?;
            let note = wish.note.as_deref().map(checked).transpose()?;
            if action.is_none() && note.is_none() {
                return Err(nothing_said());
            }
            let ends = self.ends(wish)?;
            if let Some(Some(Action::Move(Some(place)))) = &action {
                let circuits: BTreeSet<usize> = ends.iter().map(|at| at.0).collect();
                if circuits.len() > 1 {
                    let what = format!("ends of {} circuits cannot all move to `{place}`", circuits.len());
                    return Err(words(&what, "decide each for itself, with a cavity of its own"));
                }
            }
            for at in ends {
                let action = action.clone().map(|action| self.of_action(at, action));
                let note = note.clone().map(|note| self.of_note(at, note));
                let changes: Vec<Change> = [action, note].into_iter().flatten().flatten().collect();
                planned.unchanged += usize::from(changes.is_empty());
                planned.changes.extend(changes);
            }
        }
        self.mind_far_ends(&mut planned);
        Ok(planned)
    }

    /// Says of ends that are removed where the other end of the wire stays undecided: a wire leaves whole.
    fn mind_far_ends(&self, planned: &mut Decided) {
        let decided: HashSet<(usize, usize)> = planned
            .changes
            .iter()
            .filter(|change| matches!(change.decision.matter, Matter::Action(_)))
            .map(|change| change.at)
            .collect();
        for change in &mut planned.changes {
            let circuit = &self.reading.circuits.all()[change.at.0];
            let FarEnd::End(far) = circuit.far_end(change.at.1) else { continue };
            let is_removal = decided.contains(&change.at) && change.after == Action::Remove.word();
            let other = &circuit.ends()[far];
            if is_removal && other.action == Action::Undecided && !decided.contains(&(change.at.0, far)) {
                change.warnings.push(format!("{} at its other end stays undecided", other.place));
            }
        }
    }

    fn mark(&self, at: (usize, usize)) -> (TagCode, EndLetter) {
        let codes = &self.issued.circuits[at.0];
        (codes.code, codes.letters[at.1])
    }

    fn end(&self, at: (usize, usize)) -> &End {
        &self.reading.circuits.all()[at.0].ends()[at.1]
    }
}

fn nothing_said() -> NotDecided {
    words("nothing is said of it", "name an action, such as `keep` or `cut`, or write a note")
}

/// A remark in one line.
fn checked(typed: &str) -> Result<String, NotDecided> {
    let note = typed.split_whitespace().collect::<Vec<_>>().join(" ");
    if let Some(control) = note.chars().find(|c| c.is_control()) {
        let what = format!("the note holds a control character (U+{:04X})", u32::from(control));
        return Err(words(&what, "type it again without"));
    }
    let count = note.chars().count();
    if count > LONGEST_NOTE {
        let what = format!("a note of an end holds {LONGEST_NOTE} characters at most, this one has {count}");
        let remedy = Remedy::from("what is longer is noted at the bench: ")
            .and_by("`loomtag note … text`", Page::Words("as a note on the record of the end"));
        return Err(words(&what, remedy));
    }
    Ok(note)
}

fn words(what: &str, remedy: impl Into<Remedy>) -> NotDecided {
    NotDecided::Words { what: what.to_owned(), remedy: remedy.into() }
}
