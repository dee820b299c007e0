//! Tags on wires that no longer tell the truth: the last printing of every tag is laid beside the lists, whatever a run would make.

use std::collections::{BTreeMap, HashMap, HashSet};

use serde::Serialize;

use super::compare::{self, Change, Said, SymbolChange};
use super::printed::{Key, Last, LastPrinted, Printing, Standing};
use crate::base::{ConnectorId, EndLetter, Purpose, TagCode, natural};
use crate::codes::{Issued, LikelyRename, Payload, PrintedTag, Record};
use crate::labels::{self, Label, NotWhole, Selected, Sources, Subject, WireEnds};
use crate::run::Reading;
use crate::run::choice::Choice;

/// Everything on wires that is not so any more.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Stale {
    /// Tags of circuits and connectors that the lists still have, by their places.
    pub tags: Vec<StaleTag>,
    /// Codes whose circuit has left the lists, in the order in which they were issued.
    pub left: Vec<LeftCode>,
    /// Tags that no list has an end for, where not all rows could be read: they may well be right.
    pub not_known: usize,
}

/// A tag that no longer tells the truth.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct StaleTag {
    /// Its name as printed: `7KF4 A`, `J1`.
    pub tag: String,
    /// The code of its circuit; a connector has none.
    pub code: Option<String>,
    /// The place it is for, as printed.
    pub place: String,
    /// `work` or `final`.
    pub purpose: String,
    /// The run that printed it.
    pub run: u32,
    /// Whether it is surely there.
    pub standing: Standing,
    /// What it says, and what is true.
    pub changes: Vec<Change>,
    /// What to do with it.
    pub remedy: Remedy,
}

/// What to do with a tag that no longer tells the truth.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Remedy {
    /// `tags --changed` prints it again.
    Changed,
    /// It is not among the tags that `tags` prints: `reprint` with these words does.
    Reprint(String),
    /// There is nothing to hang it on.
    TakeOff,
}

/// A code whose circuit has left the lists, with its tags.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct LeftCode {
    /// The code.
    pub code: String,
    /// The designations that its circuit had last.
    pub designations: Vec<String>,
    /// The designation that its circuit likely has now, where the lists call one of its cavities so.
    pub likely_renamed: Option<String>,
    /// The tags that were printed of it, by their places.
    pub tags: Vec<LeftTag>,
}

/// A tag of a circuit that has left the lists.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct LeftTag {
    /// Its name as printed.
    pub tag: String,
    /// The place it was for.
    pub place: String,
    /// `work` or `final`.
    pub purpose: String,
    /// The run that printed it last.
    pub run: u32,
    /// Whether it is surely there.
    pub standing: Standing,
    /// What it says.
    pub says: Vec<String>,
}

impl Stale {
    /// Whether every tag tells the truth.
    pub fn is_empty(&self) -> bool {
        self.tags.is_empty() && self.left.is_empty()
    }

    /// The same without tags that were to be taken off: what is not in the rows that could be read may be in the others.
    fn without_verdicts(mut self) -> Self {
        let before = self.tags.len();
        self.tags.retain(|tag| tag.remedy != Remedy::TakeOff);
        let of_left: usize = self.left.drain(..).map(|left| left.tags.len()).sum();
        self.not_known = before - self.tags.len() + of_left;
        self
    }

    /// The same, of the purposes and connectors of a choice alone.
    pub(in crate::run) fn within(mut self, choice: &Choice) -> Self {
        let is_wanted = |purpose: &str, place: &str| {
            choice.purposes.iter().any(|wanted| wanted.to_string() == purpose) && choice.may_mean(place)
        };
        self.tags.retain(|tag| is_wanted(&tag.purpose, &tag.place));
        for left in &mut self.left {
            left.tags.retain(|tag| is_wanted(&tag.purpose, &tag.place));
        }
        self.left.retain(|left| !left.tags.is_empty());
        self
    }

    /// The same, where the lists likely call some circuits otherwise now: their tags had better stay on.
    pub(in crate::run) fn expecting(mut self, renames: &[LikelyRename]) -> Self {
        for rename in renames {
            let of_code = self.left.iter_mut().filter(|left| left.code == rename.code.as_str());
            of_code.for_each(|left| left.likely_renamed = Some(rename.new.to_string()));
        }
        self
    }

    /// What is to be said with the record of a code: the code, the name of the tag, and a sentence.
    pub(in crate::run) fn told(&self) -> impl Iterator<Item = (&str, &str, String)> {
        let stale = self.tags.iter().filter_map(|tag| Some((tag.code.as_deref()?, tag))).map(|(code, tag)| {
            let changes = tag.changes.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ");
            let StaleTag { purpose, tag, place, run, standing, .. } = tag;
            let when = format!("printed in run {run}{}", standing.in_words());
            (
                code,
                tag.as_str(),
                format!("the {purpose} tag {tag} at {place}, {when}, no longer tells the truth: {changes}"),
            )
        });
        let tags = self.left.iter().flat_map(|left| left.tags.iter().map(move |tag| (left.code.as_str(), tag)));
        let left = tags.map(|(code, tag)| {
            let LeftTag { purpose, tag, place, run, standing, says } = tag;
            let when = format!("printed in run {run}{}", standing.in_words());
            let says = says.join(", ");
            (code, tag.as_str(), format!("take off the {purpose} tag {tag} at {place}, {when}: `{says}`"))
        });
        stale.chain(left)
    }
}

impl Standing {
    /// What is to be said behind the number of the run; nothing where the tag is surely there.
    pub const fn in_words(self) -> &'static str {
        match self {
            Self::Printed => "",
            Self::Uncertain => " (cut off: it may not exist)",
        }
    }
}

/// The ends of the lists by their codes and letters.
struct Ends<'a> {
    sources: Sources<'a>,
    by_letter: HashMap<(TagCode, EndLetter), (usize, usize)>,
    codes: HashSet<TagCode>,
}

/// Lays everything that was printed beside the lists. `issued` may be looked ahead at.
pub(super) fn stale(reading: &Reading, issued: &Issued, records: &[Record], last: &LastPrinted) -> Stale {
    let stale = by_rows_read(reading, issued, records, last);
    if reading.knows_all_rows() { stale } else { stale.without_verdicts() }
}

/// The same, as if the rows that could be read were all.
pub(super) fn by_rows_read(reading: &Reading, issued: &Issued, records: &[Record], last: &LastPrinted) -> Stale {
    let lettered = issued.circuits.iter().enumerate().flat_map(|(circuit, codes)| {
        codes.letters.iter().enumerate().map(move |(end, &letter)| ((codes.code, letter), (circuit, end)))
    });
    let ends = Ends {
        sources: reading.sources(issued),
        by_letter: lettered.collect(),
        codes: issued.circuits.iter().map(|circuit| circuit.code).collect(),
    };
    let mut tags = Vec::new();
    let mut left: BTreeMap<TagCode, Vec<LeftTag>> = BTreeMap::new();
    for (key, last) in &last.tags {
        if ends.codes.contains(&key.code) {
            tags.extend(ends.stale(reading, key, last));
        } else {
            let printing = last.done.as_ref().or(last.cut_off.as_ref());
            left.entry(key.code).or_default().extend(printing.map(|printing| left_tag(key, printing)));
        }
    }
    give_remedies(reading, issued, last, &mut tags);
    let mut tags: Vec<StaleTag> = tags.into_iter().map(|(_, tag)| tag).collect();
    for (name, last) in &last.connectors {
        let found = last.each().find_map(|printing| {
            let (changes, remedy) =
                ends.connector(reading, name, &printing.tag.words, printing.tag.payload.as_deref())?;
            Some(StaleTag {
                tag: name.clone(),
                code: None,
                place: name.clone(),
                purpose: Purpose::Work.to_string(),
                run: printing.run.get(),
                standing: printing.standing,
                changes,
                remedy,
            })
        });
        tags.extend(found);
    }
    tags.sort_by(|a, b| {
        let order = natural::compare(&a.place, &b.place).then_with(|| natural::compare(&a.tag, &b.tag));
        order.then_with(|| (&a.purpose, a.run, a.changes.len()).cmp(&(&b.purpose, b.run, b.changes.len())))
    });
    // Marks along one wire say the same of it.
    tags.dedup();
    let left = records.iter().filter_map(|record| {
        let mut tags = left.remove(&record.code)?;
        tags.sort_by(|a, b| {
            natural::compare(&a.place, &b.place).then_with(|| (&a.tag, &a.says).cmp(&(&b.tag, &b.says)))
        });
        let designations = record.designations.iter().map(ToString::to_string).collect();
        Some(LeftCode { code: record.code.to_string(), designations, likely_renamed: None, tags })
    });
    Stale { tags, left: left.collect(), not_known: 0 }
}

fn left_tag(key: &Key, printing: &Printing<PrintedTag>) -> LeftTag {
    LeftTag {
        tag: printing.tag.name(),
        place: printing.tag.place.clone(),
        purpose: key.purpose.to_string(),
        run: printing.run.get(),
        standing: printing.standing,
        says: printing.tag.words.clone(),
    }
}

/// Tags that `tags` does not print by itself are reprinted by name; one of an end that shares a printed tag by now has had its time.
fn give_remedies(reading: &Reading, issued: &Issued, last: &LastPrinted, tags: &mut [(Key, StaleTag)]) {
    if tags.is_empty() {
        return;
    }
    let mut usual: HashSet<(TagCode, Vec<EndLetter>, Purpose)> = HashSet::new();
    let choice = Choice::default();
    for &purpose in &choice.purposes {
        for subject in choice.select(&reading.circuits, issued, purpose).subjects {
            if let Subject::Ends(selected) = subject {
                let codes = &issued.circuits[selected.circuit];
                let letters = selected.ends.map(|end| codes.letters[end]).collect();
                usual.insert((codes.code, letters, purpose));
            }
        }
    }
    let shared = last.tags.keys().filter(|key| !key.is_mark() && key.letters.len() > 1);
    let shared: HashSet<(TagCode, EndLetter, Purpose)> =
        shared.flat_map(|key| key.letters.iter().map(|&letter| (key.code, letter, key.purpose))).collect();
    for (key, tag) in tags.iter_mut().filter(|(_, tag)| tag.remedy == Remedy::Changed) {
        let is_usual = !key.is_mark() && usual.contains(&(key.code, key.letters.clone(), key.purpose));
        let is_shared = matches!(key.letters[..], [letter] if shared.contains(&(key.code, letter, key.purpose)));
        if !is_usual && is_shared && !key.is_mark() {
            tag.remedy = Remedy::TakeOff;
        } else if !is_usual {
            let along = if key.is_mark() { " --along" } else { "" };
            let purpose = if key.purpose == Purpose::Final { " --final" } else { "" };
            let letter = key.letters.first().map(|letter| format!("/{letter}")).unwrap_or_default();
            tag.remedy = Remedy::Reprint(format!("{}{letter}{along}{purpose}", key.code));
        }
    }
}

impl Ends<'_> {
    fn stale(&self, reading: &Reading, key: &Key, last: &Last<PrintedTag>) -> Option<(Key, StaleTag)> {
        let subject = self.subject(key);
        last.each().find_map(|printing| {
            let (changes, remedy) = match &subject {
                Some(subject) => (self.changes(reading, key, subject, &printing.tag), self.remedy(key, subject)),
                None => (vec![Change::new("place", Some(&printing.tag.place), None)], Remedy::TakeOff),
            };
            let tag = || StaleTag {
                tag: printing.tag.name(),
                code: Some(key.code.to_string()),
                place: printing.tag.place.clone(),
                purpose: key.purpose.to_string(),
                run: printing.run.get(),
                standing: printing.standing,
                changes: changes.clone(),
                remedy: remedy.clone(),
            };
            (!changes.is_empty()).then(|| (key.clone(), tag()))
        })
    }

    /// What the tag is for, as the lists have it now; `None` when an end has left them, or ends of one tag have parted.
    fn subject(&self, key: &Key) -> Option<Subject> {
        let ends: Option<Vec<(usize, usize)>> =
            key.letters.iter().map(|&letter| self.by_letter.get(&(key.code, letter)).copied()).collect();
        let mut ends = ends?;
        let circuits = self.sources.circuits;
        if key.is_mark() {
            let wire = WireEnds::of(circuits, ends[0].0, ends[0].1);
            return Some(Subject::Mark(labels::Mark { wire, at: Default::default() }));
        }
        ends.sort_unstable();
        let ((circuit, first), (other, last)) = (ends[0], ends[ends.len() - 1]);
        let place = |end: usize| &circuits.all()[circuit].ends()[end].place;
        let are_together = circuit == other && last - first + 1 == ends.len() && place(first) == place(last);
        are_together.then_some(Subject::Ends(Selected { circuit, ends: first..last + 1 }))
    }

    /// A final tag is printed of an end that comes free alone.
    fn remedy(&self, key: &Key, subject: &Subject) -> Remedy {
        let comes_free = |selected: &Selected| {
            let ends = self.sources.circuits.all()[selected.circuit].ends();
            selected.ends.clone().any(|end| ends[end].action.frees_the_end())
        };
        match subject {
            Subject::Ends(selected) if key.purpose == Purpose::Final && !comes_free(selected) => Remedy::TakeOff,
            _ => Remedy::Changed,
        }
    }

    fn changes(&self, reading: &Reading, key: &Key, subject: &Subject, tag: &PrintedTag) -> Vec<Change> {
        let mut label = self.sources.label(key.purpose, subject);
        // Where it sits on its wire is as true as it was.
        label.at = None;
        let is_renamed = label.name.code() != Some(tag.code);
        let payload = tag.payload.as_deref().filter(|_| !is_renamed);
        let in_words = || Sources { payload: &Payload::Text, ..self.sources }.label(key.purpose, subject).payload;
        untrue(reading, Said { words: &tag.words, payload }, &label, in_words)
    }

    /// What is wrong with the tag of a connector; `None` when it tells the truth.
    fn connector(
        &self,
        reading: &Reading,
        name: &str,
        words: &[String],
        payload: Option<&str>,
    ) -> Option<(Vec<Change>, Remedy)> {
        let circuits = self.sources.circuits;
        let gone = || Some((vec![Change::new("connector", Some(name), None)], Remedy::TakeOff));
        let Some(id) = ConnectorId::from_cell(name) else { return gone() };
        let whole = match labels::whole_connector(circuits, &id) {
            Ok(whole) => whole,
            Err(NotWhole::Empty) => return gone(),
            Err(NotWhole::NoCavities) => {
                let now = "no connector with cavities";
                return Some((vec![Change::new("connector", Some(name), Some(now))], Remedy::TakeOff));
            }
            Err(NotWhole::Opened(place, action)) => {
                let now = format!("its ends have tags of their own: {place} is {action}");
                return Some((vec![Change::new("connector", Some(name), Some(&now))], Remedy::TakeOff));
            }
        };
        let subject = Subject::Connector(Box::new(whole));
        let label = self.sources.label(Purpose::Work, &subject);
        let in_words = || Sources { payload: &Payload::Text, ..self.sources }.label(Purpose::Work, &subject).payload;
        let changes = untrue(reading, Said { words, payload }, &label, in_words);
        (!changes.is_empty()).then_some((changes, Remedy::Changed))
    }
}

/// All that a tag says and that is not so.
fn untrue(reading: &Reading, said: Said<'_>, label: &Label, in_words: impl FnOnce() -> Option<String>) -> Vec<Change> {
    let wording = reading.equipment.wording_of(label);
    let mut changes = compare::untrue_words(said, label, wording);
    if let Some(SymbolChange::Untrue(change)) = compare::changed_symbol(said, label, wording, in_words) {
        changes.push(change);
    }
    changes
}
