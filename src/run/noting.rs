//! Noting at the bench: which ends were meant and what was said of them come in as typed; notes go out, each with what its end is,
//! so that a wrong code is noticed, and with what does not fit it. Nothing is refused for not fitting: the bench is right.

use std::collections::HashSet;
use std::path::Path;

use jiff::Timestamp;

use super::danger::Danger;
use super::failure::RunFailure;
use super::recall::{By, EndRecord, Found, Recall, Record, moment};
use super::register;
use crate::base::nearest::{did_you_mean, nearest};
use crate::base::{Colour, Conductor, EndLetter, Finding, Page, Remedy, Step, TagCode, WireColour};
use crate::circuits::bench::{self, NotAWord};
use crate::codes::link;
use crate::codes::notes::LONGEST_NOTE;
use crate::codes::{Note, Noted, Notes, Said, progress};

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

    /// The codes and places that were typed, each once: `7kf4 a J1/14`.
    ///
    /// # Errors
    /// When one is not known.
    pub fn subjects(&self, typed: &[String]) -> Result<Vec<Subject>, NotNoted> {
        let parts: Vec<&str> = typed.iter().flat_map(|words| parts(words)).collect();
        let mut subjects: Vec<Subject> = Vec::new();
        let mut at = 0;
        while at < parts.len() {
            let pair = parts.get(at + 1).map(|next| format!("{} {next}", parts[at]));
            let found = pair.and_then(|pair| self.named(&pair, Pair::Yes).transpose()).map(|found| (found, 2));
            let (found, taken) = match found {
                Some(found) => found,
                None => match self.named(parts[at], Pair::No).transpose() {
                    Some(found) => (found, 1),
                    // `7kf4 a b`: another end of the same code.
                    None => match (subjects.last(), EndLetter::from_typed(parts[at])) {
                        (Some(Subject { code, letter: Some(_), .. }), Some(letter)) => {
                            (self.subject(*code, Some(letter)).map(|subject| vec![subject]), 1)
                        }
                        _ => return Err(NotNoted::Unknown(parts[at].to_owned())),
                    },
                },
            };
            for subject in found? {
                if !subjects.iter().any(|other| (other.code, other.letter) == (subject.code, subject.letter)) {
                    subjects.push(subject);
                }
            }
            at += taken;
        }
        Ok(subjects)
    }

    /// What one text names; `None` when nothing.
    fn named(&self, typed: &str, pair: Pair) -> Result<Option<Vec<Subject>>, NotNoted> {
        let places = self.at_place(typed)?;
        if !places.is_empty() {
            return Ok(Some(places));
        }
        let tags = tags(typed);
        // Two words that read as one code are a code and its letter, never a code typed with a space in it.
        let tags: Vec<_> = tags.into_iter().filter(|tag| pair == Pair::No || tag.1.is_some()).collect();
        if !tags.is_empty() && tags.iter().all(|tag| self.codes.contains(&tag.0)) {
            return tags
                .into_iter()
                .map(|(code, letter)| self.subject(code, letter))
                .collect::<Result<_, _>>()
                .map(Some);
        }
        if pair == Pair::Yes {
            return Ok(None);
        }
        let found = self.recall.find(&[typed.to_owned()]);
        let named: Vec<&Found> = found.iter().filter(|found| found.by == By::Designation).collect();
        let is_connector = |end: &EndRecord| {
            end.here.rsplit_once('/').is_some_and(|(connector, _)| connector.eq_ignore_ascii_case(typed))
        };
        match &named[..] {
            [] if found.iter().flat_map(|found| &found.record.ends).any(is_connector) => Err(NotNoted::CannotBe(
                format!("`{typed}` is a connector: name its cavities, as `{typed}/1 {typed}/2`"),
            )),
            [] => Ok(None),
            [one] => Ok(Some(vec![Subject::whole(&one.record).ok_or_else(|| no_code(typed))?])),
            _ => Err(NotNoted::CannotBe(format!("`{typed}` may be several circuits: name a code"))),
        }
    }

    /// The ends at a place: those whose place is written just so, else those that differ in case or separators.
    fn at_place(&self, typed: &str) -> Result<Vec<Subject>, NotNoted> {
        let found: Vec<Found> =
            self.recall.find(&[typed.to_owned()]).into_iter().filter(|found| found.by == By::Place).collect();
        let ends = || found.iter().flat_map(|found| found.ends.iter().map(|&end| (&found.record, end)));
        let is_exact = ends().any(|(record, end)| record.ends[end].here == typed);
        let is_listed = ends().any(|(record, end)| record.ends[end].listed);
        let meant = ends().filter(|(record, end)| {
            let end = &record.ends[*end];
            (!is_exact || end.here == typed) && (!is_listed || end.listed)
        });
        meant.map(|(record, end)| Subject::end(record, end).ok_or_else(|| no_code(typed))).collect()
    }

    /// A code of the register, perhaps with a letter.
    fn subject(&self, code: TagCode, letter: Option<EndLetter>) -> Result<Subject, NotNoted> {
        match self.recall.by_code(code, letter) {
            Some(Found { doubt: Some(doubt), .. }) => Err(NotNoted::CannotBe(doubt)),
            Some(Found { record, ends, .. }) => {
                let end = ends.first().copied().filter(|_| ends.len() == 1);
                // The tag of a blank bears no letter, and hangs at one end all the same: the note is of that end.
                if let (None, Some(end)) = (letter, end.filter(|_| record.ends.len() > 1))
                    && let Some(subject) = Subject::end(&record, end)
                {
                    return Ok(subject);
                }
                Ok(Subject { code, letter, end, record: Some(record) })
            }
            // Issued ahead of any circuit.
            None if self.codes.contains(&code) => Ok(Subject { code, letter, end: None, record: None }),
            None => Err(NotNoted::Unknown(code.to_string())),
        }
    }

    /// What was found otherwise before: `note 3, 2026-11-25 14:03 UTC, says found colour GN: the newer one counts`.
    pub fn otherwise_in_words(&self, planned: &Planned) -> Option<String> {
        let other = self.notes.get(planned.otherwise?)?;
        let (number, words) = (other.number, other.note.in_words());
        Some(format!("note {number}, {}, says `{words}`: the newer one counts", moment(other.at)))
    }

    /// Whether a colour is understood, or written in letters that the lists have.
    fn knows_colour(&self, typed: &str) -> bool {
        let Some(colour) = WireColour::from_cell(typed) else { return false };
        let parts = |text: &str| -> Vec<String> {
            text.split(['/', '-', ' ', ',', '+']).filter(|part| !part.is_empty()).map(str::to_uppercase).collect()
        };
        let listed = || {
            let ends = self.recall.records().flat_map(|record| &record.ends);
            let typed = ends.flat_map(|end| end.colour.iter().chain(&end.colour_in_list));
            typed.flat_map(|typed| parts(typed)).collect::<HashSet<String>>()
        };
        colour.base().is_some() || {
            let listed = listed();
            parts(typed).iter().all(|part| listed.contains(part))
        }
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
            Said::Text => {}
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

#[derive(Clone, Copy, PartialEq, Eq)]
enum Pair {
    Yes,
    No,
}

/// What a note belongs to.
#[derive(Clone, Debug)]
pub struct Subject {
    /// Its code, as named.
    pub code: TagCode,
    /// Its letter under that code; `None` of a whole circuit.
    pub letter: Option<EndLetter>,
    /// The end, as an index of the record's ends.
    end: Option<usize>,
    /// What is known of it; `None` of a code that belongs to nothing yet.
    record: Option<Record>,
}

impl Subject {
    fn end(record: &Record, end: usize) -> Option<Self> {
        let code = TagCode::from_typed(record.code.as_deref()?).ok()?;
        let letter = EndLetter::from_typed(record.ends[end].letter.as_deref()?)?;
        Some(Self { code, letter: Some(letter), end: Some(end), record: Some(record.clone()) })
    }

    fn whole(record: &Record) -> Option<Self> {
        let code = TagCode::from_typed(record.code.as_deref()?).ok()?;
        Some(Self { code, letter: None, end: None, record: Some(record.clone()) })
    }

    /// All notes of it, the first one first.
    pub fn notes<'n>(&self, notes: &'n Notes) -> Vec<&'n Noted> {
        match &self.record {
            Some(record) if self.end.is_some() => notes.of_end(&record.codes(), &self.marks(record)),
            Some(record) => {
                let mut notes = notes.of_codes(record.codes());
                notes.retain(|noted| noted.note.letter.is_none());
                notes
            }
            None => notes.of_codes([self.code]),
        }
    }

    /// All notes of it and, where it is a whole circuit, of its ends.
    pub fn all_notes<'n>(&self, notes: &'n Notes) -> Vec<&'n Noted> {
        match &self.record {
            Some(record) if self.letter.is_none() => notes.of_codes(record.codes()),
            _ => self.notes(notes),
        }
    }

    /// Every code and letter of the end that is meant, or of all ends of a whole circuit; none of a code that belongs to nothing yet.
    pub fn all_marks(&self) -> Vec<(TagCode, EndLetter)> {
        match (&self.record, self.end) {
            (Some(record), Some(end)) => record.marks(end),
            (Some(record), None) => (0..record.ends.len()).flat_map(|end| record.marks(end)).collect(),
            (None, _) => Vec::new(),
        }
    }

    fn marks(&self, record: &Record) -> Vec<(TagCode, EndLetter)> {
        self.end.map(|end| record.marks(end)).unwrap_or_default()
    }

    fn told(&self) -> Option<&EndRecord> {
        Some(&self.record.as_ref()?.ends[self.end?])
    }

    /// `7KF4 A at J1/14, rail pressure signal, blue, white stripe`.
    pub fn about(&self) -> String {
        let name = self.letter.map_or_else(|| self.code.to_string(), |letter| format!("{} {letter}", self.code));
        let Some(record) = &self.record else { return format!("{name}, a blank, not assigned yet") };
        let what = record.function.clone().unwrap_or_else(|| "function not known".to_owned());
        let what = if record.designations.is_empty() {
            what
        } else {
            format!("{what}, circuit {}", record.designations.join(" = "))
        };
        match self.told() {
            Some(end) => {
                let colour = end.colour_in_words.clone().or_else(|| end.colour.clone());
                let colour = colour.map(|colour| format!(", {colour}")).unwrap_or_default();
                format!("{name} at {}, {what}{colour}", end.here)
            }
            None => {
                let ends: Vec<&str> = record.ends.iter().map(|end| end.here.as_str()).collect();
                format!("{name}, {what}, all of it ({})", ends.join(", "))
            }
        }
    }

    /// What of it may hurt somebody: of a whole circuit, the gravest of its ends.
    fn danger(&self, said: Said) -> Option<Danger> {
        let Said::Done(step) = said else { return None };
        let of = |end: &EndRecord| Danger::of_step(end.supply, step);
        match (self.told(), &self.record) {
            (Some(end), _) => of(end),
            (None, record) => record.iter().flat_map(|record| &record.ends).filter_map(of).min(),
        }
    }

    /// That the plan speaks of something else.
    fn misfit(&self, step: Step) -> Option<String> {
        let end = self.told()?;
        let plan = end.action.as_deref()?;
        let action = plan.split(' ').next().unwrap_or_default();
        (!step_fits(step, action)).then(|| format!("the plan of {} is `{plan}`", end.here))
    }

    /// That steps which come before this one are not done; `is_done` tells of an end of the record.
    fn out_of_order(&self, step: Step, is_done: impl Fn(&Record, usize, Step) -> bool) -> Option<String> {
        let (record, own) = (self.record.as_ref()?, self.end?);
        let end = self.told()?;
        let plan = end.action.as_deref()?.split(' ').next()?;
        if step == Step::Terminated {
            return (plan == "cut" && !is_done(record, own, Step::Cut)).then(|| "not noted as cut".to_owned());
        }
        // A wire that leaves the harness gets a tag only where it is wanted for another use.
        if !matches!(plan, "cut" | "move") {
            return None;
        }
        let is_far = |other: &usize| *other != own && Some(&record.ends[*other].here) == end.there.as_ref();
        let far = (0..record.ends.len()).find(is_far).filter(|far| !is_done(record, *far, Step::Tagged));
        let near = Some(own).filter(|own| !is_done(record, *own, Step::Tagged));
        let name = |end: usize| record.ends[end].letter.as_deref().unwrap_or(&record.ends[end].here);
        match (near, far) {
            (None, None) => None,
            (Some(near), None) => Some(format!("not noted as tagged: {}", name(near))),
            (None, Some(far)) => Some(format!("not noted as tagged: {} at the far end", name(far))),
            (Some(near), Some(far)) => {
                Some(format!("not noted as tagged: {}, and {} at the far end", name(near), name(far)))
            }
        }
    }

    /// That the lists say the same of it.
    fn agrees(&self, finding: Finding, value: &str) -> Option<String> {
        let end = self.told()?;
        let agrees = match finding {
            Finding::Colour => {
                let listed = end.colour.as_deref().and_then(WireColour::from_cell);
                let own = end.colour_in_list.as_deref();
                listed.zip(WireColour::from_cell(value)).is_some_and(|(one, two)| one.same_as(&two))
                    || own.is_some_and(|own| own.eq_ignore_ascii_case(value))
            }
            Finding::Size => {
                let size = |text: &str| Conductor::from_cell(text, None).ok();
                let listed = end.size.as_deref().and_then(size);
                listed.zip(size(value)).is_some_and(|(one, two)| one.size() == two.size())
            }
            Finding::Place => end.here.eq_ignore_ascii_case(value),
            _ => false,
        };
        agrees.then(|| format!("the lists say the same: {finding} `{value}`"))
    }

    /// What should be known of it.
    fn remarks(&self, said: Said) -> Vec<String> {
        let Some(record) = &self.record else { return Vec::new() };
        let mut remarks = Vec::new();
        match self.told() {
            Some(end) if !end.listed => remarks.push(format!("{} is not in the lists any more", end.here)),
            Some(end) if said == Said::Done(Step::Cut) => remarks.extend(end.caution.clone()),
            None if record.ends.len() > 1 && said != Said::Text => {
                let name = record.ends.iter().find_map(|end| end.letter.as_deref()).unwrap_or("A");
                remarks.push(format!(
                    "it counts for all {} ends; `{}/{name}` is one of them",
                    record.ends.len(),
                    self.code
                ));
            }
            _ => {}
        }
        remarks
    }
}

/// Whether a step that is done fits the plan of an end, by the word of its action.
pub(super) fn step_fits(step: Step, action: &str) -> bool {
    match step {
        Step::Cut | Step::Pulled => !matches!(action, "keep" | "add"),
        Step::Moved => matches!(action, "move" | "undecided"),
        Step::Added => matches!(action, "add" | "undecided"),
        Step::Extended => !matches!(action, "keep" | "remove"),
        _ => true,
    }
}

/// Whether two findings of one sort name the same.
fn is_same(finding: Finding, one: &str, two: &str) -> bool {
    match finding {
        Finding::Colour => {
            WireColour::from_cell(one).zip(WireColour::from_cell(two)).is_some_and(|(one, two)| one.same_as(&two))
        }
        Finding::Size => match (Conductor::from_cell(one, None), Conductor::from_cell(two, None)) {
            (Ok(one), Ok(two)) => one.size() == two.size(),
            _ => one.eq_ignore_ascii_case(two),
        },
        _ => one.eq_ignore_ascii_case(two),
    }
}

/// Words that are no colour: a finding that nobody can compare would say nothing.
fn no_colour(typed: &str) -> NotNoted {
    let near = nearest(typed, Colour::names()).map(|near| format!("{} ", did_you_mean(near))).unwrap_or_default();
    let remedy =
        format!("{near}write a colour as the lists do, `BN/WH` or `brown/white`; what has no name goes into a remark");
    words(&format!("`{typed}` is no colour that is known here"), &remedy)
}

/// Whether a note says this and stands.
fn stands(noted: &Noted, said: Said) -> bool {
    noted.note.said == said && noted.superseded_by.is_none()
}

/// `J1/14, J1/15` as several words.
fn parts(words: &str) -> impl Iterator<Item = &str> {
    words.split(|c: char| c.is_whitespace() || c == ',' || c == ';').filter(|word| !word.is_empty())
}

/// The tags that a text may name: `7KF4`, `7kf4/a`, `7KF4 A+B`, the text of a symbol.
fn tags(typed: &str) -> Vec<(TagCode, Option<EndLetter>)> {
    if typed.contains("://") {
        return link::from_scanned(typed).and_then(link::Meaning::circuit).into_iter().collect();
    }
    if let Some((code, letters)) = typed.rsplit_once([' ', '/', '-', '.']).filter(|(_, letters)| letters.contains('+'))
    {
        let letters: Option<Vec<EndLetter>> = letters.split('+').map(EndLetter::from_typed).collect();
        if let (Ok(code), Some(letters)) = (TagCode::from_typed(code), letters) {
            return letters.into_iter().map(|letter| (code, Some(letter))).collect();
        }
    }
    TagCode::from_typed_with_letter(typed).into_iter().collect()
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

fn no_code(typed: &str) -> NotNoted {
    NotNoted::NoCode(typed.to_owned())
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
