//! Noting at the bench: which ends were meant and what was said of them come in as typed; notes go out, each with what its end is,
//! so that a wrong code is noticed, and with what does not fit it. Nothing is refused for not fitting: the bench is right.
//!
//! - `found`: which colours are known, and whether two findings name the same
//! - `named`: which ends and circuits are meant
//! - `subject`: what a note belongs to, and what does not fit it

use std::collections::HashSet;
use std::path::Path;

use jiff::Timestamp;

use super::danger::Danger;
use super::failure::RunFailure;
use super::recall::{Recall, moment};
use super::register;
use crate::base::nearest::{did_you_mean, nearest};
use crate::base::{EndLetter, Finding, Page, Remedy, Step, TagCode};
use crate::circuits::bench::{self, NotAWord};
use crate::codes::notes::LONGEST_NOTE;
use crate::codes::{Note, Noted, Notes, Said, progress};

mod found;
mod named;
mod subject;

use found::{is_same, no_colour};
pub use subject::Subject;
pub(super) use subject::step_fits;

/// What was typed.
#[derive(Clone, Debug, Default)]
pub struct Asked {
    /// Codes and places, then what is said of them: `J1/14 done cut sealed`.
    pub words: Vec<String>,
    /// The second stub where a cut is undone.
    pub with: Option<String>,
    /// The note in whose place this one stands.
    pub supersedes: Option<u32>,
}

/// A note ready to be written down.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Planned {
    /// The note.
    pub note: Note,
    /// What it belongs to, in words: `7KF4 A at J1/14, rail pressure signal, blue, white stripe`.
    pub about: String,
    /// What of it may hurt somebody: a page asks before it is written.
    pub danger: Option<Danger>,
    /// The number of a finding that stands and says otherwise of the same: a page asks whether the newer one counts.
    pub otherwise: Option<u32>,
    /// What does not fit, or should be known; danger first.
    pub warnings: Vec<String>,
}

/// Why nothing can be noted.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotNoted {
    /// What was said cannot be followed.
    #[error(transparent)]
    Words(#[from] NotAWord),
    /// It names nothing of this job.
    #[error("`{0}` is neither a code nor a place of this job")]
    Unknown(String),
    /// It is known, and cannot be noted of.
    #[error("{0}")]
    CannotBe(String),
    /// A note belongs to a code, and it has none yet.
    #[error("no code was issued for `{0}` yet")]
    NoCode(String),
}

impl NotNoted {
    /// What to do instead, where there is more to say than the message.
    pub fn remedy(&self) -> Option<Remedy> {
        match self {
            Self::Words(why) => Some(why.remedy.as_str().into()),
            Self::NoCode(_) => Some(Remedy::by("`loomtag tags`", Page::Print).words(" issues codes")),
            Self::Unknown(_) | Self::CannotBe(_) => None,
        }
    }
}

/// All that is known of a job when something is noted.
pub struct Bench<'a> {
    /// Its circuits.
    pub recall: &'a Recall,
    /// The notes there are.
    pub notes: &'a Notes,
    /// Every code ever issued.
    pub codes: &'a HashSet<TagCode>,
}

/// Writes notes down; their numbers.
///
/// # Errors
/// [`RunFailure`] when the register fails, or another program superseded the same note first.
pub fn note(folder: &Path, planned: &[Planned], now: Timestamp) -> Result<Vec<u32>, RunFailure> {
    let notes: Vec<Note> = planned.iter().map(|planned| planned.note.clone()).collect();
    Ok(register::open(folder)?.note(&notes, now)?)
}

/// What the register of a job holds: all notes, and every code ever issued.
///
/// # Errors
/// [`RunFailure`] when the register cannot be read.
pub fn journal(folder: &Path) -> Result<(Notes, HashSet<TagCode>), RunFailure> {
    let register = register::open_to_read(folder)?;
    Ok((register.notes()?, register.codes()?.into_iter().collect()))
}

impl Bench<'_> {
    /// Where the end of a note sits, as far as it is known: `J1/14`.
    pub fn place(&self, note: &Note) -> Option<String> {
        let found = self.recall.by_code(note.code, note.letter)?;
        let [end] = found.ends[..] else { return None };
        Some(found.record.ends[end].here.clone())
    }

    /// What an end is, in words: `7KF4 A at J1/14, rail pressure signal, blue, white stripe`.
    pub fn about(&self, code: TagCode, letter: EndLetter) -> String {
        self.subject(code, Some(letter)).map_or_else(|_| format!("{code} {letter}"), |subject| subject.about())
    }

    /// The notes that were meant, one for each end and step.
    ///
    /// # Errors
    /// When a code or place is not known, or what is said cannot be followed.
    pub fn plan(&self, asked: &Asked) -> Result<Vec<Planned>, NotNoted> {
        let said = asked.words.iter().enumerate().find_map(|(at, word)| Some((at, sort_of(word)?)));
        let Some((at, sort)) = said else {
            let near = asked.words.iter().skip(1).find_map(|word| nearest(word, SORTS));
            let remedy =
                near.map_or_else(|| "type `done`, `undone`, `found` or `text`, and then what".to_owned(), did_you_mean);
            return Err(words("nothing is said of it", &remedy));
        };
        let earlier = asked.supersedes.map(|number| self.earlier(number)).transpose()?;
        let subjects = match (at, earlier) {
            (0, Some(earlier)) => vec![self.subject(earlier.note.code, earlier.note.letter)?],
            (0, None) => return Err(words("no code or place is named", "name it first: `J1/14 done cut`")),
            _ => self.subjects(&asked.words[..at])?,
        };
        let rest = &asked.words[at + 1..];
        if asked.with.is_some() && sort != "undone" {
            return Err(words("`--with` names the second stub of a cut", "it goes with `undone cut` only"));
        }
        let mut planned = Vec::new();
        match sort {
            "done" | "undone" => {
                let read = bench::steps(rest)?;
                let remark = checked(&read.remark)?;
                for subject in &subjects {
                    for &step in &read.steps {
                        let said = if sort == "done" { Said::Done(step) } else { Said::Undone(step) };
                        planned.push(self.planned(subject, said, String::new(), remark.clone()));
                    }
                }
                if let Some(with) = &asked.with {
                    self.add_second_stub(&mut planned, &subjects, with)?;
                }
            }
            "found" => {
                let read = bench::finding(rest)?;
                if read.finding == Finding::Colour && !self.knows_colour(&read.value) {
                    return Err(no_colour(&read.value));
                }
                let (value, remark) = (checked(&read.value)?.replace('\n', " "), checked(&read.remark)?);
                for subject in &subjects {
                    planned.push(self.planned(subject, Said::Found(read.finding), value.clone(), remark.clone()));
                }
            }
            _ => {
                let remark = checked(&rest.join(" "))?;
                if remark.is_empty() {
                    return Err(words("the text is empty", "type it behind `text`"));
                }
                for subject in &subjects {
                    planned.push(self.planned(subject, Said::Text, String::new(), remark.clone()));
                }
            }
        }
        self.mind_order(&mut planned);
        for one in &mut planned {
            // What is superseded does not stand beside it.
            one.otherwise = one.otherwise.filter(|number| asked.supersedes != Some(*number));
        }
        if let (Some(number), Some(first)) = (asked.supersedes, planned.first_mut()) {
            first.note.supersedes = Some(number);
        }
        Ok(planned)
    }

    /// That these steps are done at ends that are named by code and letter, as [`Bench::plan`] plans it, without a search for words.
    ///
    /// # Errors
    /// When a code was never issued or has no such end.
    pub fn done_at(
        &self,
        ends: &[(TagCode, EndLetter)],
        steps: &[Step],
        remark: &str,
    ) -> Result<Vec<Planned>, NotNoted> {
        let remark = checked(remark)?;
        let mut planned = Vec::with_capacity(ends.len() * steps.len());
        for &(code, letter) in ends {
            let subject = self.subject(code, Some(letter))?;
            planned.extend(
                steps.iter().map(|&step| self.planned(&subject, Said::Done(step), String::new(), remark.clone())),
            );
        }
        self.mind_order(&mut planned);
        Ok(planned)
    }

    /// That notes were noted in error: of each that stands, one in its place that says so and nothing else.
    pub fn taken_back(&self, numbers: impl IntoIterator<Item = u32>) -> Vec<Planned> {
        let standing = numbers.into_iter().filter_map(|number| self.notes.get(number));
        let standing = standing.filter(|noted| noted.superseded_by.is_none());
        let instead = standing.map(|noted| {
            let Note { code, letter, .. } = noted.note;
            let remark = format!("note {} taken back", noted.number);
            let supersedes = Some(noted.number);
            let note = Note { code, letter, said: Said::Text, value: String::new(), remark, other: None, supersedes };
            Planned { about: note.name(), note, danger: None, otherwise: None, warnings: Vec::new() }
        });
        instead.collect()
    }

    fn earlier(&self, number: u32) -> Result<&Noted, NotNoted> {
        let earlier = self.notes.get(number);
        let earlier = earlier.ok_or_else(|| NotNoted::CannotBe(format!("there is no note {number}")))?;
        match earlier.superseded_by {
            Some(by) => {
                Err(NotNoted::CannotBe(format!("note {number} is superseded already: supersede note {by} instead")))
            }
            None => Ok(earlier),
        }
    }

    /// Warns where a step is noted before those that come first, and no note says these: the tags of both sides before a wire comes
    /// free, the cut before its new terminal.
    fn mind_order(&self, planned: &mut [Planned]) {
        let done = |planned: &Planned| match planned.note.said {
            Said::Done(step) => Some((planned.note.code, planned.note.letter, step.word())),
            _ => None,
        };
        // What is noted together is noted in one go, whatever its order.
        let now: HashSet<(TagCode, Option<EndLetter>, &str)> = planned.iter().filter_map(done).collect();
        for one in planned {
            let Said::Done(step @ (Step::Cut | Step::Pulled | Step::Terminated)) = one.note.said else { continue };
            let Ok(subject) = self.subject(one.note.code, one.note.letter) else { continue };
            one.warnings.extend(subject.out_of_order(step, |record, end, before| {
                let marks = record.marks(end);
                let is_said_now = |(code, letter)| now.contains(&(code, letter, before.word()));
                let whole = record.codes().into_iter().map(|code| (code, None));
                let each = marks.iter().map(|&(code, letter)| (code, Some(letter)));
                progress(self.notes.of_end(&record.codes(), &marks)).done.contains(&before)
                    || each.chain(whole).any(is_said_now)
            }));
        }
    }

    fn planned(&self, subject: &Subject, said: Said, value: String, remark: String) -> Planned {
        let (code, letter) = (subject.code, subject.letter);
        let danger = subject.danger(said);
        let mut warnings: Vec<String> = danger.iter().map(|danger| danger.words().to_owned()).collect();
        let (mut supersedes, mut otherwise) = (None, None);
        let before = subject.notes(self.notes);
        match said {
            Said::Done(step) => {
                if progress(before.iter().copied()).done.contains(&step)
                    && let Some(first) = before.iter().rev().find(|noted| stands(noted, said))
                {
                    warnings.push(format!("noted before: note {}, {}", first.number, moment(first.at)));
                }
                warnings.extend(subject.misfit(step));
            }
            Said::Undone(step) => {
                let done: Vec<&&Noted> = before.iter().filter(|noted| stands(noted, Said::Done(step))).collect();
                // A note of the whole circuit stands for its other ends.
                let own = done.iter().rev().find(|noted| noted.note.letter.is_some() == letter.is_some());
                supersedes = own.map(|noted| noted.number);
                if !progress(before.iter().copied()).done.contains(&step) {
                    warnings.push(format!("no `done {step}` of it stands"));
                }
            }
            Said::Found(finding) => {
                warnings.extend(subject.agrees(finding, &value));
                let says_otherwise =
                    |noted: &&&Noted| stands(noted, said) && !is_same(finding, &noted.note.value, &value);
                let other = before.iter().rev().find(|noted| stands(noted, said)).filter(says_otherwise);
                otherwise = other.map(|noted| noted.number);
                let freed = |step: &Step| progress(before.iter().copied()).done.contains(step);
                if let Some(step) =
                    [Step::Cut, Step::Pulled].into_iter().find(freed).filter(|_| finding == Finding::Empty)
                {
                    warnings.push(format!("it is noted as {step}: its cavity is empty since"));
                }
            }
            Said::Text => {
                let mut words = remark.split_whitespace();
                let step = words.next().filter(|word| *word == "done").and_then(|_| Step::from_word(words.next()?));
                warnings.extend(step.map(|step| format!("these are words alone: {step} is not noted as done by them")));
            }
        }
        let remarks = subject.remarks(said).into_iter();
        // What is live is told once.
        let remarks: Vec<String> = remarks.filter(|new| !warnings.iter().any(|told| told.starts_with(new))).collect();
        warnings.extend(remarks);
        let note = Note { code, letter, said, value, remark, other: None, supersedes };
        Planned { note, about: subject.about(), danger, otherwise, warnings }
    }

    /// The second stub of a cut that is undone gets the same note, and each names the other.
    fn add_second_stub(&self, planned: &mut Vec<Planned>, subjects: &[Subject], with: &str) -> Result<(), NotNoted> {
        let ([first], [one]) = (subjects, &mut planned[..]) else {
            return Err(words(
                "`--with` joins two stubs",
                "name one code before `undone cut`, the other after `--with`",
            ));
        };
        if one.note.said != Said::Undone(Step::Cut) {
            return Err(words("`--with` names the second stub of a cut", "it goes with `undone cut` only"));
        }
        let second = match &self.subjects(&[with.to_owned()])?[..] {
            [second] => second.clone(),
            _ => return Err(NotNoted::CannotBe(format!("`{with}` names several ends: name one, as `7KF4/A`"))),
        };
        if (first.code, first.letter) == (second.code, second.letter) {
            return Err(NotNoted::CannotBe(format!("`{with}` is the same stub: name the other one")));
        }
        one.note.other = Some((second.code, second.letter));
        let mut two = self.planned(&second, one.note.said, String::new(), one.note.remark.clone());
        two.note.other = Some((first.code, first.letter));
        // Whoever joins two codes' stubs makes one circuit of them; a wire may have been cut once only.
        two.warnings.retain(|warning| !warning.starts_with("no `done"));
        if self.recall.one_circuit(&[(first.code, None), (second.code, None)]).len() == 2 {
            two.warnings.push(format!(
                "two circuits, as far as is known: `loomtag join {} {}` makes one of them",
                first.code, second.code
            ));
        }
        planned.push(two);
        Ok(())
    }
}

/// What can be said, in the order of the help.
const SORTS: [&str; 4] = ["done", "undone", "found", "text"];

/// The same in German, with what it means.
const GERMAN_SORTS: [(&str, &str); 6] = [
    ("erledigt", "done"),
    ("getan", "done"),
    ("rückgängig", "undone"),
    ("gefunden", "found"),
    ("notiz", "text"),
    ("anmerkung", "text"),
];

/// The sort of note that a word says.
fn sort_of(word: &str) -> Option<&'static str> {
    let word = word.to_lowercase();
    let german = GERMAN_SORTS.iter().find(|(german, _)| *german == word).map(|(_, sort)| *sort);
    SORTS.into_iter().find(|sort| *sort == word).or(german)
}

/// Whether a note says this and stands.
fn stands(noted: &Noted, said: Said) -> bool {
    noted.note.said == said && noted.superseded_by.is_none()
}

/// Words of a note made ready: lines of one kind without blanks at their ends.
fn checked(text: &str) -> Result<String, NotAWord> {
    let text = text.replace("\r\n", "\n").replace('\t', " ");
    if let Some(control) = text.chars().find(|c| c.is_control() && *c != '\n') {
        return Err(NotAWord {
            what: format!("the note holds a control character (U+{:04X})", u32::from(control)),
            remedy: "type it again without".to_owned(),
        });
    }
    let lines: Vec<&str> = text.lines().map(str::trim_end).collect();
    let text = lines.join("\n").trim().to_owned();
    let count = text.chars().count();
    if count > LONGEST_NOTE {
        return Err(NotAWord {
            what: format!("a note holds {LONGEST_NOTE} characters at most, this one has {count}"),
            remedy: "put a longer text into a file beside the lists, and its name into the note".to_owned(),
        });
    }
    Ok(text)
}

fn words(what: &str, remedy: &str) -> NotNoted {
    NotNoted::Words(NotAWord { what: what.to_owned(), remedy: remedy.to_owned() })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::codes::Register;
    use crate::codes::samples::{self, NOW};
    use crate::run::recall::TagTexts;

    /// A job of two circuits, `FQGB` and `RTCQ`, and a code that belongs to nothing.
    fn job() -> (Recall, Notes, HashSet<TagCode>) {
        let circuits = samples::circuits([
            samples::circuit("W1", &["J1/1 BN", "J2/1 BN"]),
            samples::circuit("W2", &["J1/2 RD", "J1/2 RD"]),
        ]);
        let mut register = Register::in_memory().expect("in memory");
        let issued = register.issue(&circuits, NOW).expect("issues");
        let recall = Recall::new(&circuits, &issued, &register.records().expect("reads"), TagTexts::default());
        let mut codes: HashSet<TagCode> = register.codes().expect("reads").into_iter().collect();
        codes.insert(TagCode::from_typed("8GMK").expect("a code"));
        (recall, register.notes().expect("reads"), codes)
    }

    fn plan(words: &[&str]) -> Result<Vec<Planned>, NotNoted> {
        let (recall, notes, codes) = job();
        let words = words.iter().map(|word| (*word).to_owned()).collect();
        Bench { recall: &recall, notes: &notes, codes: &codes }.plan(&Asked { words, ..Asked::default() })
    }

    #[test]
    fn both_wires_of_a_doubled_cavity_are_meant() {
        let planned = plan(&["j1/2", "done", "pulled"]).expect("is planned");
        let names: Vec<String> = planned.iter().map(|one| one.note.name()).collect();
        assert_eq!(names, ["RTCQ A", "RTCQ B"]);
    }

    #[test]
    fn a_code_that_belongs_to_nothing_yet_is_noted() {
        let planned = plan(&["8gmk", "found", "unlisted", "at J1/9"]).expect("is planned");
        assert_eq!(planned[0].about, "8GMK, a blank, not assigned yet");
        assert_eq!(planned[0].note.in_words(), "found unlisted: at J1/9");
    }

    proptest! {
        #[test]
        fn whatever_is_typed_is_answered(
            before in prop::collection::vec("(FQGB|8gmk|J1|/|1|2|A|\\+| |.){1,6}", 0..4),
            sort in "(done|undone|found|text)",
            after in prop::collection::vec("(cut|sealed|colour|size|place|BN|/|.){0,3}", 0..4),
        ) {
            let words: Vec<&str> =
                before.iter().map(String::as_str).chain([&*sort]).chain(after.iter().map(String::as_str)).collect();
            let _ = plan(&words);
        }
    }
}
