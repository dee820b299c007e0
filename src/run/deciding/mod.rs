//! Deciding beside the lists: which ends are meant and what shall be done with them comes in as typed; decisions go into the register,
//! each told with what was before, and with what speaks against it. The user's lists stay as they are.

use std::collections::{BTreeSet, HashMap, HashSet};
use std::path::Path;

use jiff::Timestamp;

use super::danger::Danger;
use super::failure::RunFailure;
use super::moving::place_of;
use super::noting::{Bench, NotNoted, Subject, step_fits};
use super::reading::Reading;
use super::recall::{By, Recall, Recalled};
use super::register;
use crate::base::nearest::did_you_mean;
use crate::base::{EndLetter, Page, Place, Remedy, TagCode};
use crate::circuits::caution::{danger_at, speaks_of_a_cap};
use crate::circuits::{Action, Circuit, End, FarEnd};
use crate::codes::{Decision, Decisions, Issued, Made, Matter, Register, Undo, progress};

#[cfg(test)]
mod tests;
pub mod told;

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

/// What was decided of one end.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// The number of the decision; 0 while it is not written yet.
    pub number: u32,
    /// The decision.
    pub decision: Decision,
    /// The circuit and end of the lists.
    pub at: (usize, usize),
    /// Where the end sits.
    pub place: Place,
    /// What it is, in words: `7KF4 A at J1/14, rail pressure signal, blue, white stripe`.
    pub about: String,
    /// What held before: an action, or a note, perhaps empty.
    pub before: String,
    /// What holds now.
    pub after: String,
    /// What the lists say.
    pub listed: String,
    /// What of it may hurt somebody.
    pub danger: Option<Danger>,
    /// What speaks against it, or should be known; danger first.
    pub warnings: Vec<String>,
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
    issued: Issued,
    codes: HashSet<TagCode>,
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
        let Recalled { recall, issued, .. } = Recalled::read(reading, register, None)?;
        Ok(Self { recall, issued, codes: register.codes()?.into_iter().collect() })
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
                let changes: Vec<Change> = [action, note].into_iter().flatten().flatten().flatten().collect();
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

    /// What words wish: ends, then an action. The first words that are an action are it, and where there are none, a note alone may be
    /// wished.
    ///
    /// # Errors
    /// [`NotDecided`] when no action is among them, and none is wished besides.
    pub fn wish(&self, typed: &[String], rest: Wish) -> Result<Wish, NotDecided> {
        let first = usize::from(rest.connectors.is_empty() && rest.ends.is_empty());
        let is_action = |at: &usize| {
            let words = typed[*at..].join(" ");
            words.trim().eq_ignore_ascii_case(AS_LISTED) || self.reading.job.action(&words).is_ok()
        };
        if let Some(at) = (first..typed.len()).find(is_action) {
            return Ok(Wish { ends: typed[..at].to_vec(), action: Some(typed[at..].join(" ")), ..rest });
        }
        if rest.note.is_some() {
            return Ok(Wish { ends: typed.to_vec(), ..rest });
        }
        match typed.get(first..).and_then(<[String]>::last) {
            Some(last) if self.recall.find(std::slice::from_ref(last)).is_empty() => {
                self.action(last)?;
                Err(nothing_said())
            }
            _ => Err(nothing_said()),
        }
    }

    /// The action that was typed; `None` leaves it to the lists.
    fn action(&self, typed: &str) -> Result<Option<Action>, NotDecided> {
        let typed = typed.trim();
        if typed.eq_ignore_ascii_case(AS_LISTED) {
            return Ok(None);
        }
        match self.reading.job.action(typed) {
            Ok(Action::Move(None)) => Err(words("`move` names no cavity", "name the one it moves to: `move J2/9`")),
            Ok(Action::Move(Some(place))) => {
                let listed = place_of(self.reading, &place.to_string());
                Ok(Some(Action::Move(Some(listed.unwrap_or(place)))))
            }
            Ok(action) => Ok(Some(action)),
            Err(near) => {
                let all =
                    || format!("type one of {}, or `{AS_LISTED}` for what the lists say", Action::WORDS.join(", "));
                Err(words(&format!("`{typed}` is no action"), near.map_or_else(all, |near| did_you_mean(&near))))
            }
        }
    }

    /// The ends of the lists that a wish names, each once.
    fn ends(&self, wish: &Wish) -> Result<Vec<(usize, usize)>, NotDecided> {
        let circuits = self.reading.circuits.all();
        let mut ends: Vec<(usize, usize)> = Vec::new();
        for connector in &wish.connectors {
            let is_named = |end: &End| end.place.connector.as_str().eq_ignore_ascii_case(connector.trim());
            let before = ends.len();
            let order = self.reading.circuits.working_order();
            ends.extend(order.into_iter().filter(|at| is_named(&circuits[at.0].ends()[at.1])));
            if ends.len() == before {
                let known: BTreeSet<&str> = circuits
                    .iter()
                    .flat_map(|circuit| circuit.ends())
                    .map(|end| end.place.connector.as_str())
                    .collect();
                let near = crate::base::nearest::nearest(connector, known);
                let remedy = near.map_or_else(|| "write it as the lists do".to_owned(), did_you_mean);
                return Err(words(&format!("no list has a connector `{connector}`"), remedy));
            }
        }
        ends.extend(wish.at.iter().copied().filter(|at| at.1 < circuits.get(at.0).map_or(0, |it| it.ends().len())));
        let seats = self.seats();
        let named: HashSet<String> =
            circuits.iter().flat_map(Circuit::ends).map(|end| end.place.connector.as_str().to_lowercase()).collect();
        // Whoever chooses many ends from a list names them by their tags, which are looked up and need no search.
        let by_tag = |typed: &String| {
            let (code, letter) = TagCode::from_typed_with_letter(typed).ok()?;
            let is_place = named.contains(&code.as_str().to_lowercase());
            seats.get(&(code, letter?)).copied().filter(|_| !is_place && self.codes.contains(&code))
        };
        let tagged: Option<Vec<(usize, usize)>> = wish.ends.iter().map(by_tag).collect();
        if let (None, Some(typed)) = (&tagged, wish.ends.iter().find(|typed| self.lacks_code(typed))) {
            return Err(NotDecided::NoCode(typed.clone()));
        }
        let others = if tagged.is_some() { &[][..] } else { &wish.ends[..] };
        ends.extend(tagged.unwrap_or_default());
        // Ends may have no letter yet, although their circuit has a code.
        if let Some(at) = ends.iter().find(|at| !self.has_letter(**at)) {
            return Err(NotDecided::NoCode(self.end(*at).place.to_string()));
        }
        let bench = Bench { recall: self.recall, notes: self.recall.notes(), codes: self.codes };
        for subject in bench.subjects(others)? {
            ends.extend(self.of_subject(&subject, &seats)?);
        }
        if ends.is_empty() {
            return Err(words("no code or place is named", "name it first: `J1/14 cut`"));
        }
        let mut seen = HashSet::new();
        ends.retain(|at| seen.insert(*at));
        if wish.of_these == OfThese::Undecided {
            ends.retain(|at| circuits[at.0].ends()[at.1].action == Action::Undecided);
        }
        Ok(ends)
    }

    /// Whether something that is typed names an end of the lists that has no letter yet.
    fn lacks_code(&self, typed: &str) -> bool {
        let found = self.recall.find(&[typed.to_owned()]);
        let named = found.iter().filter(|found| matches!(found.by, By::Place | By::Designation));
        named.flat_map(|found| &found.record.ends).any(|end| end.listed && end.letter.is_none())
    }

    fn mark(&self, at: (usize, usize)) -> (TagCode, EndLetter) {
        let codes = &self.issued.circuits[at.0];
        (codes.code, codes.letters[at.1])
    }

    fn has_letter(&self, at: (usize, usize)) -> bool {
        let (code, letter) = self.mark(at);
        self.codes.contains(&code)
            && self
                .recall
                .by_code(code, Some(letter))
                .is_some_and(|found| found.ends.iter().any(|&end| found.record.ends[end].letter.is_some()))
    }

    fn seats(&self) -> HashMap<(TagCode, EndLetter), (usize, usize)> {
        let each = self.issued.circuits.iter().enumerate();
        each.flat_map(|(circuit, codes)| {
            codes.letters.iter().enumerate().map(move |(end, &letter)| ((codes.code, letter), (circuit, end)))
        })
        .collect()
    }

    /// The ends of the lists that something names.
    fn of_subject(
        &self,
        subject: &Subject,
        seats: &HashMap<(TagCode, EndLetter), (usize, usize)>,
    ) -> Result<Vec<(usize, usize)>, NotDecided> {
        let listed: Vec<(usize, usize)> =
            subject.all_marks().iter().filter_map(|mark| seats.get(mark).copied()).collect();
        match listed.is_empty() {
            false => Ok(listed),
            true => Err(NotDecided::CannotBe(format!(
                "{}: no list has it (any more), so nothing can be decided of it",
                subject.about()
            ))),
        }
    }

    fn of_action(&self, at: (usize, usize), wished: Option<Action>) -> Option<Vec<Change>> {
        let end = self.end(at);
        let listed = end.decided_instead().map_or(&end.action, |instead| &instead.listed.0);
        // What the lists say is left to them.
        let wished = wished.filter(|wished| wished != listed);
        let after = wished.as_ref().unwrap_or(listed);
        if *after == end.action {
            return None;
        }
        let (danger, warnings) = self.warnings(at, after);
        let (before, after, matter) = (end.action.to_string(), after.to_string(), Matter::Action(wished.clone()));
        Some(vec![Change { danger, warnings, ..self.change(at, matter, before, after, listed.to_string()) }])
    }

    fn of_note(&self, at: (usize, usize), wished: String) -> Option<Vec<Change>> {
        let end = self.end(at);
        let listed = end.note_in_lists().unwrap_or_default();
        let before = end.note.clone().unwrap_or_default();
        if wished == before {
            return None;
        }
        let matter = Matter::Note(Some(wished.clone()).filter(|wished| wished != listed));
        Some(vec![self.change(at, matter, before, wished, listed.to_owned())])
    }

    fn change(&self, at: (usize, usize), matter: Matter, before: String, after: String, listed: String) -> Change {
        let (code, letter) = self.mark(at);
        let bench = Bench { recall: self.recall, notes: self.recall.notes(), codes: self.codes };
        let about = bench.about(code, letter);
        let place = self.end(at).place.clone();
        Change {
            number: 0,
            decision: Decision { code, letter, matter },
            at,
            place,
            about,
            before,
            after,
            listed,
            danger: None,
            warnings: Vec::new(),
        }
    }

    fn end(&self, at: (usize, usize)) -> &End {
        &self.reading.circuits.all()[at.0].ends()[at.1]
    }

    /// What speaks against an action of an end: what was done already, and danger.
    fn warnings(&self, at: (usize, usize), action: &Action) -> (Option<Danger>, Vec<String>) {
        let (code, letter) = self.mark(at);
        let is_free = matches!(action, Action::Cut | Action::Reserve);
        let is_capped = self.end(at).note.as_deref().is_some_and(speaks_of_a_cap);
        let danger = Danger::of_action(danger_at(&self.reading.circuits, at), action)
            .filter(|danger| *danger != Danger::Live || (is_free && !is_capped));
        let mut warnings: Vec<String> = danger.iter().map(|danger| danger.words().to_owned()).collect();
        if let Some(found) = self.recall.by_code(code, Some(letter)) {
            let marks: Vec<_> = found.ends.iter().flat_map(|&end| found.record.marks(end)).collect();
            let done = progress(self.recall.notes().of_end(&found.record.codes(), &marks)).done;
            let against = done.into_iter().filter(|step| !step_fits(*step, action.word()));
            warnings.extend(
                against.map(|step| format!("`{step}` is noted of it already: undo the note where it is wrong")),
            );
        }
        (danger, warnings)
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
