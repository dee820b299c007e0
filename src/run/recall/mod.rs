//! Recall: a code, a place, a colour, words or a scan come in; what is known of the wire goes out.
//!
//! - `blank`: what is told of a code that belongs to nothing yet
//! - `doubt`: whether a scanned tag is of this job
//! - `entry`: what a circuit is found by, and how well it fits a question
//! - `history`: what happened to it
//! - `index`: the few circuits that may answer, of very many
//! - `record`: what is told of it
//!
//! Once lists and register are read, everything here is a function of them.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::sync::{Arc, OnceLock};

use serde::Serialize;

use super::failure::RunFailure;
use super::reading::Reading;
use super::register;
use super::stale::{OnWires, Said, Stale};
use crate::base::{self, ConnectorId, EndLetter, Step, TagCode, natural};
use crate::circuits::{Circuit, Circuits};
use crate::codes::link::Meaning;
use crate::codes::{
    self, Assignment, Blank, Issued, LikelyMove, LikelyRename, LookedAhead, Noted, Notes, Register, Run, link, nearest,
};

pub mod blank;
mod doubt;
mod entry;
mod history;
mod index;
mod record;
#[cfg(test)]
mod tests;

pub use doubt::TagTexts;
use entry::{Entry, Question};
pub use history::{Event, History, Recent, moment};
use index::Index;
pub use record::{EndRecord, Record, TEST_IT};

/// Everything a job can be asked about: the circuits of its lists and all that its register knows.
///
/// # Errors
/// [`RunFailure`] when the register cannot be read.
pub fn recall(reading: &Reading) -> Result<Recall, RunFailure> {
    let register = register::open_to_read(reading.job.folder())?;
    Ok(Recalled::read(reading, &register, None)?.recall)
}

/// As much of a question as is looked for, and what is told where that is not all. A link is left whole.
pub fn bounded(words: Vec<String>) -> (Vec<String>, Option<&'static str>) {
    let typed = words.join(" ");
    let is_link = typed.contains("://");
    let beginning = entry::beginning(&typed);
    if is_link || beginning.len() == typed.len() && entry::words(&typed).count() <= entry::MOST_WORDS {
        return (words, None);
    }
    let words = beginning.split_whitespace().flat_map(entry::words).take(entry::MOST_WORDS);
    (
        words.map(str::to_owned).collect(),
        Some("only the first 16 words or 200 characters of the question were looked for"),
    )
}

/// All that can be recalled of a job, with the codes and records that it was made from.
pub(super) struct Recalled {
    pub(super) recall: Recall,
    pub(super) issued: Issued,
    pub(super) records: Vec<codes::Record>,
    /// Circuits of the lists that the register likely knows by other names, and ends that it likely knows in other places.
    pub(super) likely: (Vec<LikelyRename>, Vec<LikelyMove>),
    /// What tags say, by the journal.
    pub(super) journal: Arc<Journal>,
}

/// What was read before of the same lists. As a rule a note is all that is new since then, and most of it still holds.
pub(super) struct Before<'a> {
    pub(super) issued: &'a Issued,
    pub(super) records: &'a [codes::Record],
    pub(super) recall: &'a Recall,
    pub(super) journal: &'a Arc<Journal>,
}

/// The tags of the journal beside the lists, and by what it is known whether that is still so.
#[derive(Debug)]
pub(super) struct Journal {
    runs: Vec<Run>,
    last: (i64, i64),
    /// What notes say of tags that were put on and taken off.
    taken_off: Vec<Noted>,
    history: History,
    stale: Stale,
}

impl Recalled {
    /// From the lists and an open register, with what was read before of the same lists.
    ///
    /// # Errors
    /// [`RunFailure`] when the register cannot be read.
    pub(super) fn read(reading: &Reading, register: &Register, before: Option<Before<'_>>) -> Result<Self, RunFailure> {
        let LookedAhead { issued, records, renames, moves } = register.look_ahead(&reading.circuits)?;
        let before = before.filter(|before| *before.issued == issued && before.records == records);
        let notes = register.notes()?;
        let (runs, last, taken_off) = (register.runs()?, register.last_printed()?, taken_off(&notes));
        let is_same =
            |journal: &Journal| (&journal.runs, journal.last) == (&runs, last) && journal.taken_off == taken_off;
        let (journal, recall) = match before {
            Some(before) if is_same(before.journal) => (Arc::clone(before.journal), before.recall.plain()),
            before => {
                let mut printed = Vec::new();
                let mut history = History::default();
                let on_wires = OnWires::read(register, &records, |run, said| {
                    if let Said::Of(tag) = &said {
                        history.print(run, tag);
                    }
                    printed.extend(said.payload().map(str::to_owned));
                })?;
                let stale = on_wires.stale(reading, &issued, &records);
                let texts = TagTexts::new(&reading.circuits, &issued, &records, reading.equipment.payload(), printed);
                let recall = match before {
                    Some(before) => Recall { texts: Arc::new(texts), ..before.recall.plain() },
                    None => Recall::new(&reading.circuits, &issued, &records, texts),
                };
                (Arc::new(Journal { runs, last, taken_off, history, stale }), recall)
            }
        };
        let blanks = register.blanks()?;
        let history = journal.history.clone().noted(notes, register.renamings()?).with_runs(journal.runs.clone());
        let history = history.assigned(&blanks);
        let mut recall = recall.with_blanks(blanks).with_history(history);
        recall.add_stale(&journal.stale);
        Ok(Self { recall, issued, records, likely: (renames, moves), journal })
    }
}

/// What notes say of tags that were put on and taken off; nothing where none was taken off.
fn taken_off(notes: &Notes) -> Vec<Noted> {
    let is_off = |noted: &Noted| noted.note.said == codes::notes::Said::Done(Step::Untagged);
    if !notes.all().iter().any(is_off) {
        return Vec::new();
    }
    let is_of_tags = |noted: &&Noted| match noted.note.said {
        codes::notes::Said::Done(step) | codes::notes::Said::Undone(step) => {
            matches!(step, Step::Tagged | Step::Untagged)
        }
        _ => false,
    };
    notes.all().iter().filter(is_of_tags).cloned().collect()
}

/// All that can be recalled of a job.
#[derive(Debug)]
pub struct Recall {
    /// What lists and register say of circuits.
    plain: Arc<Plain>,
    /// The same with notes, blanks and stale tags: where there are none, the very same.
    entries: Vec<Arc<Entry>>,
    /// Codes that were issued ahead of any circuit, whether they name one by now or not.
    blanks: BTreeMap<TagCode, Blank>,
    texts: Arc<TagTexts>,
    history: History,
    stale_tags: usize,
    /// The entries with such tags.
    stale: BTreeSet<usize>,
    /// Of the entries that are not the plain ones. Made when it is asked for first.
    index: OnceLock<Index>,
}

/// Circuits as lists and register have them, whatever is noted of them.
#[derive(Debug)]
struct Plain {
    entries: Vec<Arc<Entry>>,
    /// Every code, printed or not, with its entry.
    codes: HashMap<TagCode, usize>,
    /// For each circuit of the lists its entry, and which of that entry's ends is its first.
    seats: Vec<(usize, usize)>,
    /// Made when it is asked for first: whoever only looks up a code needs none.
    index: OnceLock<Index>,
}

/// What answers a question, the best first: by what, how well (less is better), the number of the entry, and the ends that are meant.
type Ranked = Vec<(By, u32, usize, Vec<usize>)>;

/// By what something was found; the best comes first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum By {
    /// Its code.
    Code,
    /// The place of an end.
    Place,
    /// Its designation, present or former.
    Designation,
    /// Colour, words, or several of these.
    Words,
}

/// A record that answers the question.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Found {
    /// By what it was found.
    pub by: By,
    /// The ends that were meant, as indices of [`Record::ends`].
    pub ends: Vec<usize>,
    /// Why the record may be that of another wire; `None` where nothing speaks against it.
    pub doubt: Option<String>,
    /// What is known.
    pub record: Record,
}

/// What a scan turned out to be.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase", tag = "scan")]
pub enum Scanned {
    /// A tag of this job.
    Known(Box<Found>),
    /// The tag of a connector.
    Connector {
        /// The connector: as the lists write it, else as scanned.
        connector: String,
        /// Why it may be another connector's tag.
        doubt: Option<String>,
        /// The circuits that end in it, these ends meant; none when nothing is known of it.
        found: Vec<Found>,
    },
    /// A blank that is not assigned yet.
    Blank {
        /// The code.
        code: String,
        /// What is known of it, in words.
        told: String,
        /// Why the tag may be another job's.
        doubt: Option<String>,
    },
    /// A fitting code that was never issued here.
    Unknown {
        /// The code.
        code: String,
        /// Codes of this job that are near.
        nearest: Vec<Near>,
    },
    /// No code, or one whose check character does not fit.
    Nothing {
        /// What was read.
        text: String,
        /// Codes of this job that are near.
        nearest: Vec<Near>,
    },
}

impl Scanned {
    /// Codes to offer instead; none where the tag is known.
    pub fn nearest(&self) -> &[Near] {
        match self {
            Self::Known(_) | Self::Connector { .. } | Self::Blank { .. } => &[],
            Self::Unknown { nearest, .. } | Self::Nothing { nearest, .. } => nearest,
        }
    }
}

/// A code that may have been meant.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Near {
    /// The code.
    pub code: String,
    /// What it stands for, in a few words.
    pub what: String,
}

/// A word that fits nothing.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct UnknownWord {
    /// As typed.
    pub word: String,
    /// What may have been meant.
    pub near: Option<String>,
}

/// What names a tag: its code and, where it has one, its letter.
pub type Tag = (TagCode, Option<EndLetter>);

/// How many near codes are offered.
const OFFERED: usize = 3;

impl Recall {
    /// From the circuits of the lists, their codes (looked ahead at is enough: what the register does not hold counts as not
    /// issued), the records of the register and what tags say.
    pub fn new(circuits: &Circuits, issued: &Issued, records: &[codes::Record], texts: TagTexts) -> Self {
        let known: HashMap<TagCode, usize> = records.iter().enumerate().map(|(at, record)| (record.code, at)).collect();
        // Circuits that were joined but are still listed apart are one record.
        let mut groups: Vec<(Option<usize>, Vec<usize>)> = Vec::new();
        let mut group_of: HashMap<usize, usize> = HashMap::new();
        for (index, issued) in (0..circuits.all().len()).zip(&issued.circuits) {
            let record = known.get(&issued.code).copied();
            match record.and_then(|record| group_of.get(&record).copied()) {
                Some(group) => groups[group].1.push(index),
                None => {
                    group_of.extend(record.map(|record| (record, groups.len())));
                    groups.push((record, vec![index]));
                }
            }
        }
        let mut seats = vec![(0, 0); circuits.all().len()];
        for (entry, (_, group)) in groups.iter().enumerate() {
            let mut first = 0;
            for &at in group {
                seats[at] = (entry, first);
                first += circuits.all()[at].ends().len();
            }
        }
        let listed = groups.iter().map(|(record, group)| {
            let each: Vec<(&Circuit, &[EndLetter])> =
                group.iter().map(|&at| (&circuits.all()[at], &issued.circuits[at].letters[..])).collect();
            Entry::listed(&each, record.map(|at| &records[at]), circuits)
        });
        let gone = records.iter().enumerate().filter(|(at, _)| !group_of.contains_key(at));
        let entries = listed.chain(gone.map(|(_, record)| Entry::gone(record)));
        let entries: Vec<Arc<Entry>> = entries.map(Arc::new).collect();
        let codes = entries.iter().enumerate().flat_map(|(at, entry)| entry.codes().map(move |code| (code, at)));
        let codes = codes.collect();
        let plain = Plain { entries, codes, seats, index: OnceLock::new() };
        Self::of(Arc::new(plain), Arc::new(texts))
    }

    fn of(plain: Arc<Plain>, texts: Arc<TagTexts>) -> Self {
        Self {
            entries: plain.entries.clone(),
            plain,
            blanks: BTreeMap::new(),
            texts,
            history: History::default(),
            stale_tags: 0,
            stale: BTreeSet::new(),
            index: OnceLock::new(),
        }
    }

    /// The same without notes, blanks and stale tags.
    fn plain(&self) -> Self {
        Self::of(Arc::clone(&self.plain), Arc::clone(&self.texts))
    }

    /// The same, with what the register knows of blanks.
    #[must_use]
    pub fn with_blanks(mut self, blanks: Vec<Blank>) -> Self {
        for blank in &blanks {
            let (Some(assigned), Some(&at)) = (&blank.assigned, self.plain.codes.get(&blank.code)) else { continue };
            let entry = Arc::make_mut(&mut self.entries[at]);
            if let Some((code, letter)) = assigned.end {
                for end in entry.pointed_at(code, Some(letter)) {
                    // Its tag bears no letter.
                    entry.record.ends[end].also.push(blank.code.to_string());
                }
            }
            let is_own = entry.record.code.as_deref() == Some(blank.code.as_str());
            if is_own && !entry.named_by_list && entry.record.designations == [assigned.designation.as_str()] {
                entry.record.await_list();
            }
        }
        self.blanks = blanks.into_iter().map(|blank| (blank.code, blank)).collect();
        self
    }

    /// The blanks whose tags hang at this end of a record.
    pub fn blanks_at<'a>(&'a self, record: &'a Record, end: &'a EndRecord) -> impl Iterator<Item = TagCode> + 'a {
        let hangs_there = move |blank: &&Blank| {
            let Some((code, letter)) = blank.assigned.as_ref().and_then(|assigned| assigned.end) else { return false };
            let is_printed = record.code.as_deref() == Some(code.as_str()) && end.letter == Some(letter.to_string());
            is_printed || end.also.contains(&format!("{code} {letter}"))
        };
        self.blanks.values().filter(hangs_there).map(|blank| blank.code)
    }

    /// The blanks that are named and not assigned yet, where nothing but tags is named.
    pub fn blanks_named(&self, words: &[String]) -> Vec<&Blank> {
        let typed = words.join(" ");
        if let Some(blank) = TagCode::from_typed(&typed).ok().and_then(|code| self.blank(code)) {
            return vec![blank];
        }
        if let Some(Meaning::Circuit(code, None)) = link::from_scanned(&typed).filter(|_| typed.contains("://")) {
            return self.blank(code).into_iter().collect();
        }
        let mut named = Vec::new();
        for word in words.iter().flat_map(|words| entry::words(words)) {
            match TagCode::from_typed_with_letter(word) {
                Ok((code, _)) if self.plain.codes.contains_key(&code) => {}
                Ok((code, None)) if self.blank(code).is_some() => named.extend(self.blank(code)),
                _ if EndLetter::from_typed(word).is_some() => {}
                _ => return Vec::new(),
            }
        }
        named
    }

    /// What a blank proved to be, as far as it was told.
    pub fn assigned(&self, code: TagCode) -> Option<&Assignment> {
        self.blanks.get(&code)?.assigned.as_ref()
    }

    /// The colour of a blank's wire, as it was last noted.
    pub fn noted_colour(&self, code: TagCode) -> Option<&str> {
        self.blanks.get(&code)?.noted_colour.as_deref()
    }

    /// What happened to a code that belongs to nothing yet.
    pub fn history_of_blank(&self, blank: &Blank) -> Vec<Event> {
        self.history.of_codes(&[blank.code], Some(blank.issued))
    }

    /// A blank that is not assigned yet.
    pub fn blank(&self, code: TagCode) -> Option<&Blank> {
        self.blanks.get(&code).filter(|blank| blank.assigned.is_none())
    }

    /// The last things that happened to the job, the newest first, at most so many.
    pub fn recent(&self, most: usize) -> Vec<Recent> {
        self.history.recent(most)
    }

    /// The blanks that are not assigned yet, in the order of their codes.
    pub fn unassigned(&self) -> impl Iterator<Item = &Blank> {
        self.blanks.values().filter(|blank| blank.assigned.is_none())
    }

    /// All notes of the bench.
    pub fn notes(&self) -> &Notes {
        self.history.notes()
    }

    /// The same, with what happened to each circuit: it is told with the records, and notes that stand are found by their words.
    #[must_use]
    pub fn with_history(mut self, history: History) -> Self {
        let told: BTreeSet<usize> = history.told_of().filter_map(|code| self.plain.codes.get(&code).copied()).collect();
        for at in told {
            Arc::make_mut(&mut self.entries[at]).add_history(&history);
        }
        Self { history, index: OnceLock::new(), ..self }
    }

    /// How many tags on wires no longer tell the truth.
    pub const fn stale_tags(&self) -> usize {
        self.stale_tags
    }

    /// Notes which tags no longer tell the truth with the records of their codes.
    fn add_stale(&mut self, stale: &Stale) {
        self.stale_tags = stale.tags.len() + stale.left.iter().map(|left| left.tags.len()).sum::<usize>();
        for (code, tag, line) in stale.told() {
            let Ok(code) = TagCode::from_typed(code) else { continue };
            let Some(&at) = self.plain.codes.get(&code) else { continue };
            let entry = Arc::make_mut(&mut self.entries[at]);
            entry.record.stale.push(line);
            self.stale.insert(at);
            let (letters, _) = codes::Spot::read(tag.split_whitespace().nth(1).unwrap_or_default());
            let ends = letters.into_iter().flat_map(|letter| entry.pointed_at(code, Some(letter)));
            for end in ends.collect::<Vec<_>>() {
                entry.record.ends[end].stale = true;
            }
        }
    }

    /// Every record with the words that each of its ends is found by, in lower case: for whoever searches elsewhere.
    pub fn all_words(&self) -> impl Iterator<Item = (&Record, Vec<String>)> {
        self.entries.iter().map(|entry| (&entry.record, entry.words()))
    }

    /// Every record, without what happened to it.
    pub fn records(&self) -> impl Iterator<Item = &Record> {
        self.entries.iter().map(|entry| &entry.record)
    }

    /// The codes of the circuits that have tags which no longer tell the truth.
    pub fn stale_codes(&self) -> HashSet<TagCode> {
        self.stale.iter().flat_map(|at| self.entries[*at].codes()).collect()
    }

    /// The record that an end of the lists belongs to, by its number, and which of its ends that is.
    pub fn seat(&self, (circuit, end): (usize, usize)) -> (usize, usize) {
        let (entry, first) = self.plain.seats[circuit];
        (entry, first + end)
    }

    /// The end of the lists, by circuit and end, that an end of a record is: the inverse of [`Recall::seat`].
    pub fn listed_end(&self, record: &Record, end: usize) -> Option<(usize, usize)> {
        if !record.ends.get(end)?.listed {
            return None;
        }
        let code = record.code.as_deref().and_then(|code| TagCode::from_typed(code).ok());
        let number = match code {
            Some(code) => *self.plain.codes.get(&code)?,
            // As long as no code was issued, nothing but what the lists call it tells it.
            None => self.entries.iter().position(|entry| {
                let own = &entry.record;
                own.code.is_none() && own.designations == record.designations
            })?,
        };
        let seats = self.plain.seats.iter().enumerate().filter(|(_, (entry, first))| *entry == number && *first <= end);
        let (circuit, (_, first)) = seats.max_by_key(|(_, (_, first))| *first)?;
        Some((circuit, end - first))
    }

    /// The record of this number, without what happened to it: nothing is copied.
    pub fn record(&self, number: usize) -> &Record {
        &self.entries[number].record
    }

    /// What [`Recall::find`] finds, without copies of it: the numbers of records and the ends that are meant, the best first.
    pub fn answering(&self, words: &[String]) -> Vec<(usize, Vec<usize>)> {
        let (coded, ranked) = self.answers(words);
        let coded = coded.map(|(at, coded)| (at, coded.ends));
        coded.into_iter().chain(ranked.into_iter().map(|(_, _, at, ends)| (at, ends))).collect()
    }

    /// Everything that answers these words, all of which must fit: a code typed carelessly, a place (`J1/14`, `j1 14`), a
    /// colour (letters or English names), a designation, or words of function, branch and note. The best comes first. Where
    /// nothing does and a code was meant, [`Recall::nearest`] offers others.
    pub fn find(&self, words: &[String]) -> Vec<Found> {
        self.find_most(words, usize::MAX).0
    }

    /// The first of what [`Recall::find`] answers, as many as are wanted, and how many there are in all. Records that are not wanted are
    /// not made ready.
    pub fn find_most(&self, words: &[String], most: usize) -> (Vec<Found>, usize) {
        let (coded, ranked) = self.answers(words);
        let count = ranked.len() + usize::from(coded.is_some());
        let rest = ranked.into_iter().map(|(by, _, at, ends)| self.found(by, at, ends));
        (coded.map(|(_, coded)| coded).into_iter().chain(rest).take(most).collect(), count)
    }

    /// What answers words: the record that a code among them names, with its number, then the others.
    fn answers(&self, words: &[String]) -> (Option<(usize, Found)>, Ranked) {
        let typed = words.join(" ");
        if typed.contains("://")
            && let Some(Meaning::Connector(connector)) = link::from_scanned(&typed)
        {
            return (None, self.seated_in(&connector));
        }
        let (coded, ranked) = self.ranked(&typed);
        if coded.is_some() || !ranked.is_empty() || words.len() < 2 {
            return (coded, ranked);
        }
        // Nothing sits in two places at once: whoever names several asks for each.
        let each: Option<Vec<Ranked>> = words.iter().take(entry::MOST_WORDS).map(|word| self.places(word)).collect();
        (None, each.into_iter().flatten().flatten().collect())
    }

    /// What sits at a place; `None` where the word names none.
    fn places(&self, word: &str) -> Option<Ranked> {
        let (coded, ranked) = self.ranked(word);
        (coded.is_none() && ranked.first().is_some_and(|best| best.0 == By::Place)).then_some(ranked)
    }

    /// What answers a text, all of whose words must fit.
    fn ranked(&self, typed: &str) -> (Option<(usize, Found)>, Ranked) {
        let Some(question) = Question::from_typed(typed) else { return (None, Vec::new()) };
        let by_code = self.by_typed_code(typed);
        let mut found: Ranked = Vec::new();
        for at in self.candidates(&question) {
            let is_coded = by_code.as_ref().is_some_and(|(coded, _)| *coded == at);
            // A letter that no end has may be a word: `7kf4 cut`.
            if !is_coded || by_code.as_ref().is_some_and(|(_, coded)| coded.doubt.is_some()) {
                let answer = self.entries[at].answer(&question);
                found.extend(answer.map(|(by, score, ends)| (by, score, at, ends)));
            }
        }
        found.sort_unstable();
        let is_answered = |at: usize| found.iter().any(|one| one.2 == at);
        let by_code = by_code.filter(|(at, _)| !is_answered(*at));
        // Whoever names one thing wants that alone. Only a code may be a word of a function as well.
        if found.first().is_some_and(|best| best.0 != By::Words) {
            found.retain(|one| one.0 != By::Words);
        } else if by_code.is_some() {
            found.retain(|one| one.1 <= entry::WORD_OF_FUNCTION);
        }
        (by_code, found)
    }

    /// The entries that may answer, in their order.
    fn candidates(&self, question: &Question) -> Vec<usize> {
        let [plain, changed] = self.indices().map(|index| index.candidates(question));
        if changed.is_empty() {
            return plain;
        }
        let all: BTreeSet<usize> = plain.into_iter().chain(changed).collect();
        all.into_iter().collect()
    }

    /// The words that may have been meant by a misspelt one, in order.
    fn vocabulary(&self) -> impl Iterator<Item = &str> {
        let words: BTreeSet<&str> = self.indices().into_iter().flat_map(Index::vocabulary).collect();
        words.into_iter()
    }

    /// That of the plain entries, and that of the others.
    fn indices(&self) -> [&Index; 2] {
        let entries = &self.plain.entries;
        let all = || Index::new(entries.len(), entries.iter().map(|entry| &**entry).enumerate());
        let each = || self.entries.iter().zip(entries).enumerate();
        let changed = || each().filter(|(_, (own, plain))| !Arc::ptr_eq(own, plain)).map(|(at, (own, _))| (at, &**own));
        [self.plain.index.get_or_init(all), self.index.get_or_init(|| Index::new(entries.len(), changed()))]
    }

    /// The record that a scanned text belongs to, or what may have been meant.
    pub fn by_scanned(&self, text: &str) -> Scanned {
        match link::from_scanned(text) {
            Some(Meaning::Circuit(code, letter)) => match self.by_code(code, letter) {
                Some(found) => {
                    let doubt = found.doubt.clone().map(|doubt| format!("{doubt}: it may be another job's tag"));
                    let doubt = self.texts.doubt(text, code, letter).or(doubt);
                    Scanned::Known(Box::new(Found { doubt, ..found }))
                }
                None => match self.blank(code) {
                    Some(blank) => Scanned::Blank {
                        code: code.to_string(),
                        told: blank::what(blank),
                        doubt: self.texts.doubt_of_blank(text, code, letter),
                    },
                    None => self.by_connector_alone(text).unwrap_or_else(|| Scanned::Unknown {
                        code: code.to_string(),
                        nearest: self.nearest(code.as_str()),
                    }),
                },
            },
            Some(Meaning::Connector(connector)) => self.by_connector(&connector, text),
            None => self.by_connector_alone(text).unwrap_or_else(|| self.nothing(text)),
        }
    }

    /// The answer to a text without a code, with the codes that may have been meant.
    fn nothing(&self, text: &str) -> Scanned {
        let typed = text.trim().trim_end_matches('/');
        let parts: Vec<&str> = typed.rsplit('/').take(2).collect();
        let nearest = match typed.split_once("://") {
            None => self.nearest(typed.split_whitespace().next().unwrap_or_default()),
            Some(_) => {
                parts.iter().rev().map(|part| self.nearest(part)).find(|near| !near.is_empty()).unwrap_or_default()
            }
        };
        Scanned::Nothing { text: text.to_owned(), nearest }
    }

    /// The connector of this name, in whatever case, as the lists write it.
    pub fn connector_named(&self, typed: &str) -> Option<&ConnectorId> {
        self.texts.listed_connector(typed.trim())
    }

    /// What is known of the connector that a symbol names.
    fn by_connector(&self, scanned: &ConnectorId, text: &str) -> Scanned {
        let found = self.at_connector(scanned);
        let listed = self.texts.listed_connector(scanned.as_str());
        let doubt = if found.is_empty() { None } else { self.texts.connector_doubt(text, scanned.as_str()) };
        Scanned::Connector { connector: listed.unwrap_or(scanned).to_string(), doubt, found }
    }

    /// The answer to a symbol that says nothing but the name of a connector.
    fn by_connector_alone(&self, text: &str) -> Option<Scanned> {
        let connector = self.texts.listed_connector(text.trim())?;
        Some(self.by_connector(connector, text))
    }

    /// The circuits with ends in a connector, those ends meant, in the order of their places.
    fn at_connector(&self, connector: &ConnectorId) -> Vec<Found> {
        self.seated_in(connector).into_iter().map(|(by, _, at, ends)| self.found(by, at, ends)).collect()
    }

    /// The entries with ends in a connector, in the order of their places.
    fn seated_in(&self, connector: &ConnectorId) -> Ranked {
        let each =
            self.entries.iter().enumerate().map(|(at, entry)| (By::Place, 0, at, entry.ends_in(connector.as_str())));
        let mut found: Ranked = each.filter(|(.., ends)| !ends.is_empty()).collect();
        found.sort_by(|a, b| {
            let first =
                |(_, _, at, ends): &(By, u32, usize, Vec<usize>)| self.entries[*at].record.ends[ends[0]].here.as_str();
            natural::compare(first(a), first(b))
        });
        found
    }

    /// The record of a code; with a letter, its end is pointed at, or the answer is in doubt because there is no such end.
    pub fn by_code(&self, code: TagCode, letter: Option<EndLetter>) -> Option<Found> {
        let at = *self.plain.codes.get(&code)?;
        let ends = self.entries[at].pointed_at(code, letter);
        let doubt = letter.filter(|_| ends.is_empty()).map(|letter| self.entries[at].no_such_end(code, letter));
        // The tag of a blank bears no letter, and hangs at one end all the same.
        let hangs_at = self.blanks.get(&code).and_then(|blank| blank.assigned.as_ref()?.end);
        let ends = match (letter, hangs_at) {
            (None, Some((code, letter))) => self.entries[at].pointed_at(code, Some(letter)),
            _ => ends,
        };
        Some(Found { doubt, ..self.found(By::Code, at, ends) })
    }

    /// The codes of this job that are nearest to a mistyped text.
    pub fn nearest(&self, typed: &str) -> Vec<Near> {
        let blanks = self.blanks.values().filter(|blank| blank.assigned.is_none()).map(|blank| blank.code);
        let near = nearest::nearest(typed, self.plain.codes.keys().copied().chain(blanks), OFFERED);
        let told = |code: TagCode| {
            if self.blank(code).is_some() {
                return Some(Near { code: code.to_string(), what: "a blank, not assigned yet".to_owned() });
            }
            let record = &self.entries[*self.plain.codes.get(&code)?].record;
            let what = record.function.clone().or_else(|| record.designations.first().cloned()).unwrap_or_default();
            Some(Near { code: code.to_string(), what })
        };
        near.into_iter().filter_map(told).collect()
    }

    /// Tags put together that name one circuit, as far as is known, in the order in which each circuit is first named; those
    /// of codes that were never issued here are left out.
    pub fn one_circuit(&self, tags: &[Tag]) -> Vec<Vec<Tag>> {
        let mut circuits: Vec<(usize, Vec<Tag>)> = Vec::new();
        for &tag in tags {
            let Some(&at) = self.plain.codes.get(&tag.0) else { continue };
            match circuits.iter_mut().find(|(circuit, _)| *circuit == at) {
                Some((_, tags)) => tags.push(tag),
                None => circuits.push((at, vec![tag])),
            }
        }
        circuits.into_iter().map(|(_, tags)| tags).collect()
    }

    /// The tags that are named, each once, where there are two or more and nothing but known codes and letters:
    /// `8gmk a, 3v86`. Blanks that are not assigned yet are no circuits.
    pub fn tags_named(&self, words: &[String]) -> Vec<Tag> {
        let (mut tags, mut blanks): (Vec<Tag>, usize) = (Vec::new(), 0);
        for word in words.iter().flat_map(|words| entry::words(words)) {
            match (TagCode::from_typed_with_letter(word), EndLetter::from_typed(word), tags.last_mut()) {
                (Ok(tag), ..) if self.plain.codes.contains_key(&tag.0) => tags.push(tag),
                (Ok((code, None)), ..) if self.blank(code).is_some() => blanks += 1,
                (_, Some(letter), Some((_, last @ None))) => *last = Some(letter),
                _ => return Vec::new(),
            }
        }
        let mut distinct: Vec<Tag> = Vec::new();
        for tag in tags.iter().filter(|_| tags.len() + blanks > 1) {
            if !distinct.contains(tag) {
                distinct.push(*tag);
            }
        }
        distinct
    }

    /// The record of tags of one circuit, with the ends of those pointed at that have a letter.
    pub fn record_of(&self, tags: &[Tag]) -> Option<Found> {
        let each: Vec<Found> = tags.iter().filter_map(|&(code, letter)| self.by_code(code, letter)).collect();
        let lettered = tags.iter().zip(&each).filter(|((_, letter), _)| letter.is_some());
        let mut ends: Vec<usize> = lettered.flat_map(|(_, found)| found.ends.iter().copied()).collect();
        ends.sort_unstable();
        ends.dedup();
        let doubt = each.iter().find_map(|found| found.doubt.clone());
        each.into_iter().next().map(|found| Found { ends, doubt, ..found })
    }

    /// The words of a question that fit no circuit at all, each with a known word that is near it.
    pub fn unknown_words(&self, words: &[String]) -> Vec<UnknownWord> {
        let unknown = |word: &str| {
            let question = Question::from_typed(word)?;
            let mut candidates = self.candidates(&question).into_iter();
            let is_known = candidates.any(|at| self.entries[at].answer(&question).is_some());
            // Of three characters one slip leaves too little.
            let is_long_enough = !is_known && word.chars().count() > 3;
            let near = if is_long_enough { base::nearest::nearest(word, self.vocabulary()) } else { None };
            (!is_known).then(|| UnknownWord { word: word.to_owned(), near: near.map(str::to_owned) })
        };
        words.iter().flat_map(|words| entry::words(words)).take(entry::MOST_WORDS).filter_map(unknown).collect()
    }

    /// The entry that a carelessly typed code names, when it was issued here, and the answer.
    fn by_typed_code(&self, typed: &str) -> Option<(usize, Found)> {
        if typed.contains("://") || typed.contains('+') || link::names_mark(typed) {
            let (code, _) = link::from_scanned(typed)?.circuit()?;
            let Scanned::Known(found) = self.by_scanned(typed) else { return None };
            return Some((*self.plain.codes.get(&code)?, *found));
        }
        let whole = TagCode::from_typed(typed).ok().map(|code| (code, None));
        let with_letter = TagCode::from_typed_with_letter(typed).ok();
        [whole, with_letter]
            .into_iter()
            .flatten()
            .find_map(|(code, letter)| Some((*self.plain.codes.get(&code)?, self.by_code(code, letter)?)))
    }

    fn found(&self, by: By, at: usize, ends: Vec<usize>) -> Found {
        let mut record = self.entries[at].record.clone();
        record.history = self.history.of(&record);
        Found { by, ends, doubt: None, record }
    }
}

impl Found {
    /// The answer in words, any doubt first, the ends that were meant pointed at.
    pub fn in_words(&self) -> String {
        let pointed_at =
            if self.ends.len() == self.record.ends.len() && self.ends.len() > 1 { &[] } else { &self.ends[..] };
        let doubt = self.doubt.as_ref().map(|doubt| format!("DOUBT: {doubt}\n")).unwrap_or_default();
        doubt + &self.record.in_words(pointed_at)
    }
}
