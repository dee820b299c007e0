//! What is noted at the bench: steps done, surprises found, remarks. A journal like that of print runs: it only grows, and a later
//! note may supersede an earlier one, which stays.

use std::collections::{BTreeSet, HashMap};
use std::fmt;
use std::str::FromStr;

use jiff::Timestamp;
use rusqlite::{OptionalExtension, Row, TransactionBehavior, params};

use super::blanks::Blank;
use super::failure::RegisterFailure;
use super::register::Register;
use crate::base::{EndLetter, Finding, Step, TagCode};

/// What a note says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Said {
    /// A step was done.
    Done(Step),
    /// A step was undone: a cut wire joined again.
    Undone(Step),
    /// Something was found against the lists.
    Found(Finding),
    /// Words alone.
    Text,
}

/// What shall be noted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Note {
    /// The code it belongs to.
    pub code: TagCode,
    /// The end; `None` of a whole circuit, or of a tag without a letter.
    pub letter: Option<EndLetter>,
    /// What it says.
    pub said: Said,
    /// The colour, size or place that was found; empty where the finding names none.
    pub value: String,
    /// A remark, perhaps of several lines; empty when there is none.
    pub remark: String,
    /// The second stub where a cut is undone.
    pub other: Option<(TagCode, Option<EndLetter>)>,
    /// The number of the note in whose place it stands.
    pub supersedes: Option<u32>,
}

/// A note of the register.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Noted {
    /// Its number: 1, 2, 3 …
    pub number: u32,
    /// What it says.
    pub note: Note,
    /// When it was noted.
    pub at: Timestamp,
    /// The later note that stands in its place.
    pub superseded_by: Option<u32>,
}

/// What notes tell of one end by now.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Progress<'n> {
    /// Steps that are done.
    pub done: BTreeSet<Step>,
    /// Findings that stand, in their order.
    pub findings: Vec<&'n Noted>,
}

/// The longest note, in characters: more is a document, and belongs beside the lists.
pub const LONGEST_NOTE: usize = 2_000;

/// What stands between the value of a finding and its remark in the register.
const BREAK: char = '\n';

impl Said {
    /// The sort and the step or finding, as the register keeps them.
    pub const fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::Done(step) => ("done", step.word()),
            Self::Undone(step) => ("undone", step.word()),
            Self::Found(finding) => ("found", finding.word()),
            Self::Text => ("text", ""),
        }
    }

    /// From the sort and the step or finding of the register; `None` where they are none of ours.
    pub fn from_words(sort: &str, step: &str) -> Option<Self> {
        match sort {
            "done" => Step::from_word(step).map(Self::Done),
            "undone" => Step::from_word(step).map(Self::Undone),
            "found" => Finding::from_word(step).map(Self::Found),
            "text" => step.is_empty().then_some(Self::Text),
            _ => None,
        }
    }
}

impl Note {
    /// The note without its place: `found colour BN/WH: seal is brittle`.
    pub fn in_words(&self) -> String {
        let (sort, step) = self.said.words();
        let head: Vec<&str> = match self.said {
            Said::Text => Vec::new(),
            _ => [sort, step, &self.value].into_iter().filter(|word| !word.is_empty()).collect(),
        };
        let with = self.other.map(|(code, letter)| format!(" with {}", name(code, letter))).unwrap_or_default();
        let head = head.join(" ") + &with;
        match (head.is_empty(), self.remark.is_empty()) {
            (_, true) => head,
            (true, false) => self.remark.clone(),
            (false, false) => format!("{head}: {}", self.remark),
        }
    }

    /// What it belongs to: `7KF4 A`.
    pub fn name(&self) -> String {
        name(self.code, self.letter)
    }

    /// The text that the register keeps: the value of a finding, then the remark.
    pub(super) fn text(&self) -> String {
        match self.said {
            Said::Found(finding) if finding.has_value() && self.remark.is_empty() => self.value.clone(),
            Said::Found(finding) if finding.has_value() => format!("{}{BREAK}{}", self.value, self.remark),
            _ => self.remark.clone(),
        }
    }
}

/// `7KF4 A`, or `7KF4`.
fn name(code: TagCode, letter: Option<EndLetter>) -> String {
    letter.map_or_else(|| code.to_string(), |letter| format!("{code} {letter}"))
}

impl fmt::Display for Note {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.name(), self.in_words())
    }
}

/// All notes of a register, by what they belong to.
#[derive(Clone, Debug, Default)]
pub struct Notes {
    all: Vec<Noted>,
    of: HashMap<TagCode, Vec<usize>>,
    /// The ends that the tags of blanks hang at, and since when that is known.
    hanging: HashMap<TagCode, ((TagCode, EndLetter), Timestamp)>,
}

impl Notes {
    /// From notes in the order of their numbers.
    pub fn new(all: Vec<Noted>) -> Self {
        let mut of: HashMap<TagCode, Vec<usize>> = HashMap::new();
        for (at, noted) in all.iter().enumerate() {
            of.entry(noted.note.code).or_default().push(at);
        }
        Self { all, of, hanging: HashMap::new() }
    }

    /// The same, with what blanks proved to be: their tags bear no letter, and what is noted of one is noted of its end.
    #[must_use]
    pub fn with_blanks(mut self, blanks: &[Blank]) -> Self {
        let hanging = blanks.iter().filter_map(|blank| {
            let assigned = blank.assigned.as_ref()?;
            Some((blank.code, (assigned.end?, assigned.when)))
        });
        self.hanging = hanging.collect();
        self
    }

    /// Whether a note is of one of the ends that these codes and letters name, or of the whole circuit.
    fn is_of(&self, noted: &Noted, marks: &[(TagCode, EndLetter)]) -> bool {
        let (code, letter) = (noted.note.code, noted.note.letter);
        match (letter, self.hanging.get(&code)) {
            (Some(letter), _) => marks.contains(&(code, letter)),
            // Once other tags bear its code too, the code alone means the circuit.
            (None, Some((mark, since))) if mark.0 != code || noted.at < *since => marks.contains(mark),
            (None, _) => true,
        }
    }

    /// All of them, the first one first.
    pub fn all(&self) -> &[Noted] {
        &self.all
    }

    /// The note of this number.
    pub fn get(&self, number: u32) -> Option<&Noted> {
        self.all.binary_search_by_key(&number, |noted| noted.number).ok().map(|at| &self.all[at])
    }

    /// The notes of a circuit by any of its codes, the first one first.
    pub fn of_codes(&self, codes: impl IntoIterator<Item = TagCode>) -> Vec<&Noted> {
        let mut found: Vec<usize> =
            codes.into_iter().filter_map(|code| self.of.get(&code)).flatten().copied().collect();
        found.sort_unstable();
        found.dedup();
        found.into_iter().map(|at| &self.all[at]).collect()
    }

    /// Whether there is a note of this code.
    pub fn are_of(&self, code: TagCode) -> bool {
        self.of.contains_key(&code)
    }

    /// The notes of an end: of the codes and letters that name it, and of the whole circuit by any of its codes.
    pub fn of_end(&self, codes: &[TagCode], marks: &[(TagCode, EndLetter)]) -> Vec<&Noted> {
        let named = codes.iter().copied().chain(marks.iter().map(|mark| mark.0));
        let mut notes = self.of_codes(named);
        notes.retain(|noted| self.is_of(noted, marks));
        notes
    }
}

/// What these notes of one end, in their order, tell by now. A note that is superseded tells nothing; a step is done when the last
/// that stands of it says so, and of several findings of one colour, size or place the last one stands.
pub fn progress<'n>(notes: impl IntoIterator<Item = &'n Noted>) -> Progress<'n> {
    let mut progress = Progress::default();
    for noted in notes.into_iter().filter(|noted| noted.superseded_by.is_none()) {
        match noted.note.said {
            Said::Done(step) => {
                match step {
                    Step::Tagged => progress.done.remove(&Step::Untagged),
                    Step::Untagged => progress.done.remove(&Step::Tagged),
                    _ => false,
                };
                progress.done.insert(step);
            }
            Said::Undone(step) => {
                progress.done.remove(&step);
            }
            Said::Found(finding) => {
                // What is measured or seen again is known better.
                if finding.has_value() {
                    progress.findings.retain(|earlier| earlier.note.said != noted.note.said);
                }
                progress.findings.push(noted);
            }
            Said::Text => {}
        }
    }
    progress
}

impl Register {
    /// Writes notes down, all of them or none; their numbers, in their order.
    ///
    /// # Errors
    /// When the register fails, a code was never issued here, or a note to be superseded is not there or is superseded already.
    pub fn note(&mut self, notes: &[Note], now: Timestamp) -> Result<Vec<u32>, RegisterFailure> {
        let failed = |error| RegisterFailure::from_database(&self.path, error);
        let transaction = self.connection.transaction_with_behavior(TransactionBehavior::Immediate).map_err(failed)?;
        let mut numbers = Vec::with_capacity(notes.len());
        for note in notes {
            for code in [Some(note.code), note.other.map(|other| other.0)].into_iter().flatten() {
                let is_known = transaction
                    .prepare_cached("SELECT 1 FROM code WHERE code = ?1")
                    .and_then(|mut statement| statement.exists([code.as_str()]))
                    .map_err(failed)?;
                if !is_known {
                    return Err(RegisterFailure::UnknownCode { code });
                }
            }
            if let Some(number) = note.supersedes {
                let later: Option<Option<u32>> = transaction
                    .query_row(
                        "SELECT (SELECT min(number) FROM note WHERE supersedes = ?1) FROM note WHERE number = ?1",
                        [number],
                        |row| row.get(0),
                    )
                    .optional()
                    .map_err(failed)?;
                match later {
                    None => return Err(RegisterFailure::NoSuchNote { number }),
                    Some(Some(by)) => return Err(RegisterFailure::SupersededAlready { number, by }),
                    Some(None) => {}
                }
            }
            let (sort, step) = note.said.words();
            let (other_code, other_letter) = note.other.map_or((None, None), |(code, letter)| (Some(code), letter));
            let number = transaction
                .prepare_cached(
                    "INSERT INTO note (code, letter, sort, step, words, other_code, other_letter, supersedes, noted_at)
                     VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9) RETURNING number",
                )
                .and_then(|mut statement| {
                    statement.query_row(
                        params![
                            note.code.as_str(),
                            note.letter.map(EndLetter::ordinal),
                            sort,
                            step,
                            note.text(),
                            other_code.as_ref().map(TagCode::as_str),
                            other_letter.map(EndLetter::ordinal),
                            note.supersedes,
                            now.to_string()
                        ],
                        |row| row.get(0),
                    )
                })
                .map_err(failed)?;
            numbers.push(number);
        }
        transaction.commit().map_err(failed)?;
        Ok(numbers)
    }

    /// All notes.
    ///
    /// # Errors
    /// When the register fails, or holds a note that is none.
    pub fn notes(&self) -> Result<Notes, RegisterFailure> {
        let failed = |error| RegisterFailure::from_database(&self.path, error);
        let mut statement = self
            .connection
            .prepare_cached(
                "SELECT number, code, letter, sort, step, words, other_code, other_letter, supersedes, noted_at
                 FROM note ORDER BY number",
            )
            .map_err(failed)?;
        let mut rows = statement.query([]).map_err(failed)?;
        let mut all: Vec<Noted> = Vec::new();
        let mut superseded: HashMap<u32, u32> = HashMap::new();
        while let Some(row) = rows.next().map_err(failed)? {
            let noted = self.noted(row)?;
            if let Some(earlier) = noted.note.supersedes {
                superseded.entry(earlier).or_insert(noted.number);
            }
            all.push(noted);
        }
        for noted in &mut all {
            noted.superseded_by = superseded.get(&noted.number).copied();
        }
        Ok(Notes::new(all).with_blanks(&self.blanks()?))
    }

    fn noted(&self, row: &Row<'_>) -> Result<Noted, RegisterFailure> {
        let failed = |error| RegisterFailure::from_database(&self.path, error);
        let number: u32 = row.get(0).map_err(failed)?;
        let code = |text: String| TagCode::from_typed(&text).map_err(|error| self.damaged(error.to_string()));
        let text = |column: usize| row.get::<_, String>(column).map_err(failed);
        let letter = |column: usize| -> Result<Option<EndLetter>, RegisterFailure> {
            Ok(row.get::<_, Option<u16>>(column).map_err(failed)?.map(EndLetter::nth))
        };
        let (sort, step, words) = (text(3)?, text(4)?, text(5)?);
        let said = Said::from_words(&sort, &step)
            .ok_or_else(|| self.damaged(format!("note {number} says `{sort} {step}`, which is no note")))?;
        let (value, remark) = match said {
            Said::Found(finding) if finding.has_value() => {
                let (value, remark) = words.split_once(BREAK).unwrap_or((&words, ""));
                (value.to_owned(), remark.to_owned())
            }
            _ => (String::new(), words),
        };
        let other = match row.get::<_, Option<String>>(6).map_err(failed)? {
            Some(text) => Some((code(text)?, letter(7)?)),
            None => None,
        };
        let at = Timestamp::from_str(&text(9)?).map_err(|error| self.damaged(error.to_string()))?;
        let supersedes = row.get(8).map_err(failed)?;
        let note = Note { code: code(text(1)?)?, letter: letter(2)?, said, value, remark, other, supersedes };
        Ok(Noted { number, note, at, superseded_by: None })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::codes::samples;

    const A: EndLetter = EndLetter::FIRST;
    const B: EndLetter = EndLetter::nth(1);

    fn note(code: TagCode, letter: Option<EndLetter>, said: Said) -> Note {
        Note { code, letter, said, value: String::new(), remark: String::new(), other: None, supersedes: None }
    }

    /// Two circuits of two ends, with their codes.
    fn register() -> (Register, TagCode, TagCode) {
        let mut register = Register::in_memory().expect("in memory");
        let circuits =
            samples::circuits([samples::circuit("W1", &["J1/1", "J2/1"]), samples::circuit("W2", &["J1/2", "J2/2"])]);
        let issued = register.issue(&circuits, samples::NOW).expect("issues");
        (register, issued.circuits[0].code, issued.circuits[1].code)
    }

    fn done(register: &Register, codes: &[TagCode], mark: (TagCode, EndLetter)) -> Vec<Step> {
        let notes = register.notes().expect("reads");
        progress(notes.of_end(codes, &[mark])).done.into_iter().collect()
    }

    #[test]
    fn notes_come_back_as_they_were_made() {
        let (mut register, one, two) = register();
        let colour = Note {
            value: "BN/WH".to_owned(),
            remark: "faded\nand brittle".to_owned(),
            ..note(one, Some(A), Said::Found(Finding::Colour))
        };
        let bare = Note { value: "0.75".to_owned(), ..note(one, None, Said::Found(Finding::Size)) };
        let text = Note { remark: "two lines\n\nmore".to_owned(), ..note(two, Some(B), Said::Text) };
        let rejoined =
            Note { other: Some((two, Some(A))), supersedes: Some(1), ..note(one, Some(B), Said::Undone(Step::Cut)) };
        let all = [colour, bare, text, rejoined];
        assert_eq!(register.note(&all, samples::NOW).expect("notes"), [1, 2, 3, 4]);
        let notes = register.notes().expect("reads");
        assert!(notes.all().iter().map(|noted| &noted.note).eq(&all));
        assert_eq!(notes.get(1).and_then(|noted| noted.superseded_by), Some(4));
        assert_eq!((notes.get(5), notes.get(3).and_then(|noted| noted.superseded_by)), (None, None));
        let said: Vec<String> = all.iter().map(ToString::to_string).collect();
        assert_eq!(said[0], format!("{one} A: found colour BN/WH: faded\nand brittle"));
        assert_eq!(said[2], format!("{two} B: two lines\n\nmore"));
        assert_eq!(said[3], format!("{one} B: undone cut with {two} A"));
    }

    #[test]
    fn what_stands_is_told_of_each_end() {
        let (mut register, one, two) = register();
        let cut = |letter| note(one, letter, Said::Done(Step::Cut));
        let sealed = note(one, Some(A), Said::Done(Step::Sealed));
        register.note(&[cut(Some(A)), sealed, note(one, None, Said::Done(Step::Tagged))], samples::NOW).expect("notes");
        assert_eq!(done(&register, &[one], (one, A)), [Step::Tagged, Step::Cut, Step::Sealed]);
        assert_eq!(done(&register, &[one], (one, B)), [Step::Tagged], "the note of the whole circuit");
        assert_eq!(done(&register, &[two], (two, A)), []);
        // Undone at one end only, then cut again.
        register.note(&[note(one, Some(A), Said::Undone(Step::Cut))], samples::NOW).expect("notes");
        assert_eq!(done(&register, &[one], (one, A)), [Step::Tagged, Step::Sealed]);
        register.note(&[cut(Some(A))], samples::NOW).expect("notes");
        assert_eq!(done(&register, &[one], (one, A)), [Step::Tagged, Step::Cut, Step::Sealed]);
        // What is superseded tells nothing.
        let instead = Note { supersedes: Some(2), ..note(one, Some(A), Said::Found(Finding::Damaged)) };
        register.note(&[instead], samples::NOW).expect("notes");
        let notes = register.notes().expect("reads");
        let now = progress(notes.of_end(&[one], &[(one, A)]));
        assert!(!now.done.contains(&Step::Sealed));
        assert_eq!(now.findings.iter().map(|noted| noted.number).collect::<Vec<_>>(), [6]);
    }

    #[test]
    fn all_are_noted_or_none() {
        let (mut register, one, _) = register();
        let stranger = crate::codes::mint::nth(77).expect("a code");
        let good = note(one, None, Said::Text);
        let of_a_stranger = note(stranger, None, Said::Text);
        let of_no_note = Note { supersedes: Some(9), ..good.clone() };
        for (bad, why) in [(of_a_stranger, "is not in the register"), (of_no_note, "there is no note 9")] {
            let failure = register.note(&[good.clone(), bad], samples::NOW).expect_err("is refused");
            assert!(failure.to_string().contains(why), "{failure}");
            assert_eq!(register.notes().expect("reads").all(), []);
        }
        register.note(std::slice::from_ref(&good), samples::NOW).expect("notes");
        let instead = Note { supersedes: Some(1), ..good };
        register.note(std::slice::from_ref(&instead), samples::NOW).expect("notes");
        let twice = register.note(&[instead], samples::NOW).expect_err("is refused");
        assert!(matches!(twice, RegisterFailure::SupersededAlready { number: 1, by: 2 }), "{twice}");
    }
}
