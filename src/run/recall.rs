//! Recall: a code, a place, a colour, words or a scan come in; what is known of the wire goes out.
//!
//! Lists and register are read before; everything here is a function of them.

use std::collections::{BTreeMap, HashMap};

use serde::Serialize;

use crate::base::{EndLetter, Place, TagCode, WireColour};
use crate::circuits::{Circuit, Circuits};
use crate::codes::{self, Issued, link, nearest};

mod record;

pub use record::{EndRecord, Record};

/// All that can be recalled of a job.
#[derive(Debug)]
pub struct Recall {
    entries: Vec<Entry>,
    /// Every code, printed or not, with its entry.
    codes: HashMap<TagCode, usize>,
}

/// A record with what it is found by.
#[derive(Debug)]
struct Entry {
    code: Option<TagCode>,
    record: Record,
    /// For each of its ends.
    ends: Vec<EndWords>,
    /// Designations, present and former, as they are compared.
    names: Vec<String>,
    /// Codes and letters of tags that may hang there, with the end.
    marks: HashMap<(TagCode, EndLetter), usize>,
}

/// What an end is found by.
#[derive(Debug)]
struct EndWords {
    place: String,
    connector: String,
    colour: Option<WireColour>,
    /// What the circuit does, in lower case.
    function: String,
    /// Everything else, in lower case.
    words: String,
}

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
    /// What is known.
    pub record: Record,
}

/// What a scan turned out to be.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase", tag = "scan")]
pub enum Scanned {
    /// A tag of this job.
    Known(Box<Found>),
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

/// A code that may have been meant.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Near {
    /// The code.
    pub code: String,
    /// What it stands for, in a few words.
    pub what: String,
}

/// Whether two codes name one circuit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Same {
    /// They do.
    Yes,
    /// They do not, as far as is known.
    No,
    /// At least one of them was never issued here.
    Unknown,
}

/// How many near codes are offered.
const OFFERED: usize = 3;

impl Recall {
    /// From the circuits of the lists, their codes (looked ahead at is enough: what the register does not hold counts as not
    /// issued) and the records of the register.
    pub fn new(circuits: &Circuits, issued: &Issued, records: &[codes::Record]) -> Self {
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
        let listed = groups.iter().map(|(record, group)| {
            let each: Vec<(&Circuit, &[EndLetter])> =
                group.iter().map(|&at| (&circuits.all()[at], &issued.circuits[at].letters[..])).collect();
            Entry::listed(&each, record.map(|at| &records[at]), circuits)
        });
        let gone = records.iter().enumerate().filter(|(at, _)| !group_of.contains_key(at));
        let entries: Vec<Entry> = listed.chain(gone.map(|(_, record)| Entry::gone(record))).collect();
        let codes = entries.iter().enumerate().flat_map(|(at, entry)| entry.codes().map(move |code| (code, at)));
        Self { codes: codes.collect(), entries }
    }

    /// Everything that answers these words, all of which must fit: a code typed carelessly, a place (`J1/14`, `j1 14`), a
    /// colour (letters or English names), a designation, or words of function, branch and note. The best comes first. Where
    /// nothing does and a code was meant, [`Recall::nearest`] offers others.
    pub fn find(&self, words: &[String]) -> Vec<Found> {
        let question = words.join(" ");
        let words: Vec<String> = question
            .split(|c: char| c.is_whitespace() || c == ',' || c == ';')
            .filter(|word| !word.is_empty())
            .map(str::to_lowercase)
            .collect();
        if words.is_empty() {
            return Vec::new();
        }
        let by_code = self.by_typed_code(&question);
        let mut found: Vec<(By, u32, usize, Vec<usize>)> = Vec::new();
        found.extend(by_code.map(|(at, ends)| (By::Code, 0, at, ends)));
        let asked = compared(&question);
        for (at, entry) in self.entries.iter().enumerate() {
            if found.first().is_some_and(|first| first.2 == at) {
                continue;
            }
            let at_place: Vec<usize> = (0..entry.ends.len()).filter(|&end| entry.ends[end].place == asked).collect();
            if !at_place.is_empty() {
                // `a` and `A` may be two cavities, `1` and `01` too: the one that was typed comes first.
                let is_exact = at_place.iter().any(|&end| entry.record.ends[end].here == question.trim());
                found.push((By::Place, u32::from(!is_exact), at, at_place));
            } else if entry.names.contains(&asked) {
                found.push((By::Designation, 0, at, (0..entry.ends.len()).collect()));
            } else if let Some((score, ends)) = entry.matches(&words) {
                found.push((By::Words, score, at, ends));
            }
        }
        found.sort();
        found.into_iter().map(|(by, _, at, ends)| self.found(by, at, ends)).collect()
    }

    /// The record that a scanned text belongs to, or what may have been meant.
    pub fn by_scanned(&self, text: &str) -> Scanned {
        match link::from_scanned(text) {
            Some((code, letter)) => match self.by_code(code, letter) {
                Some(found) => Scanned::Known(Box::new(found)),
                None => Scanned::Unknown { code: code.to_string(), nearest: self.nearest(code.as_str()) },
            },
            None => {
                let typed = text.trim().trim_end_matches('/');
                let parts: Vec<&str> = typed.rsplit('/').take(2).collect();
                let nearest = match typed.split_once("://") {
                    None => self.nearest(typed.split_whitespace().next().unwrap_or_default()),
                    Some(_) => parts
                        .iter()
                        .rev()
                        .map(|part| self.nearest(part))
                        .find(|near| !near.is_empty())
                        .unwrap_or_default(),
                };
                Scanned::Nothing { text: text.to_owned(), nearest }
            }
        }
    }

    /// The record of a code; with a letter, its end is pointed at.
    pub fn by_code(&self, code: TagCode, letter: Option<EndLetter>) -> Option<Found> {
        let at = *self.codes.get(&code)?;
        Some(self.found(By::Code, at, self.entries[at].pointed_at(code, letter)))
    }

    /// The codes of this job that are nearest to a mistyped text.
    pub fn nearest(&self, typed: &str) -> Vec<Near> {
        let near = nearest::nearest(typed, self.codes.keys().copied(), OFFERED);
        let told = |code: TagCode| {
            let record = &self.entries[*self.codes.get(&code)?].record;
            let what = record.function.clone().or_else(|| record.designations.first().cloned()).unwrap_or_default();
            Some(Near { code: code.to_string(), what })
        };
        near.into_iter().filter_map(told).collect()
    }

    /// Whether two codes name one circuit.
    pub fn same_circuit(&self, one: TagCode, other: TagCode) -> Same {
        match (self.codes.get(&one), self.codes.get(&other)) {
            (Some(one), Some(other)) if one == other => Same::Yes,
            (Some(_), Some(_)) => Same::No,
            _ => Same::Unknown,
        }
    }

    /// The entry that a carelessly typed code names, when it was issued here.
    fn by_typed_code(&self, typed: &str) -> Option<(usize, Vec<usize>)> {
        let whole = TagCode::from_typed(typed).ok().map(|code| (code, None));
        let with_letter = TagCode::from_typed_with_letter(typed).ok();
        let scanned = link::from_scanned(typed).filter(|_| typed.contains("://") || typed.contains('+'));
        [whole, with_letter, scanned].into_iter().flatten().find_map(|(code, letter)| {
            let at = *self.codes.get(&code)?;
            Some((at, self.entries[at].pointed_at(code, letter)))
        })
    }

    fn found(&self, by: By, at: usize, ends: Vec<usize>) -> Found {
        Found { by, ends, record: self.entries[at].record.clone() }
    }
}

impl Found {
    /// The answer in words, the ends that were meant pointed at.
    pub fn in_words(&self) -> String {
        let pointed_at =
            if self.ends.len() == self.record.ends.len() && self.ends.len() > 1 { &[] } else { &self.ends[..] };
        self.record.in_words(pointed_at)
    }
}

impl Entry {
    fn listed(each: &[(&Circuit, &[EndLetter])], known: Option<&codes::Record>, circuits: &Circuits) -> Self {
        let all: Vec<&Circuit> = each.iter().map(|(circuit, _)| *circuit).collect();
        let mut record = Record::listed(&all, known);
        let (mut ends, mut marks) = (Vec::new(), HashMap::new());
        let mut recorded_ends: BTreeMap<EndLetter, &codes::RecordedEnd> =
            known.iter().flat_map(|known| &known.ends).map(|end| (end.letter, end)).collect();
        for (circuit, letters) in each {
            for (index, (end, letter)) in circuit.ends().iter().zip(*letters).enumerate() {
                let recorded = recorded_ends.remove(letter);
                let told = EndRecord::listed(circuit, index, recorded);
                note_marks(&mut marks, known, recorded, ends.len());
                let connector = circuits.connector(&end.place.connector);
                let words = [
                    circuit.supply.map(|supply| supply.word()),
                    circuit.fuse.as_ref().map(|fuse| fuse.typed()),
                    connector.and_then(|connector| connector.short_name.as_deref()),
                    connector.and_then(|connector| connector.branch.as_deref()),
                    told.action.as_deref(),
                    told.size.as_deref(),
                    told.branch.as_deref(),
                    told.with.as_deref(),
                    told.note.as_deref(),
                ];
                let function = circuit.function.as_deref().unwrap_or_default();
                ends.push(EndWords::new(&end.place, end.colour.clone(), function, &words));
                record.ends.push(told);
            }
        }
        for recorded in recorded_ends.into_values() {
            note_marks(&mut marks, known, Some(recorded), ends.len());
            ends.push(EndWords::gone(recorded));
            record.ends.push(EndRecord::gone(recorded));
        }
        Self { code: known.map(|known| known.code), names: names(&record), record, ends, marks }
    }

    fn gone(known: &codes::Record) -> Self {
        let record = Record::gone(known);
        let mut marks = HashMap::new();
        for (index, end) in known.ends.iter().enumerate() {
            note_marks(&mut marks, Some(known), Some(end), index);
        }
        let ends = known.ends.iter().map(EndWords::gone).collect();
        Self { code: Some(known.code), names: names(&record), record, ends, marks }
    }

    fn codes(&self) -> impl Iterator<Item = TagCode> {
        let also = self.record.also.iter().filter_map(|code| TagCode::from_typed(code).ok());
        self.code.into_iter().chain(also)
    }

    /// The ends that a code and perhaps a letter mean.
    fn pointed_at(&self, code: TagCode, letter: Option<EndLetter>) -> Vec<usize> {
        match letter {
            Some(letter) => self.marks.get(&(code, letter)).copied().into_iter().collect(),
            None => (0..self.ends.len()).collect(),
        }
    }

    /// The ends that all words fit best, with how well: less is better.
    fn matches(&self, words: &[String]) -> Option<(u32, Vec<usize>)> {
        let scores: Vec<Option<u32>> = self.ends.iter().map(|end| self.score(end, words)).collect();
        let best = scores.iter().flatten().min().copied()?;
        Some((best, (0..scores.len()).filter(|&end| scores[end].is_some()).collect()))
    }

    /// How well all words fit an end; `None` when one does not.
    fn score(&self, end: &EndWords, words: &[String]) -> Option<u32> {
        let (mut at, mut total) = (0, 0);
        while at < words.len() {
            let pair = words.get(at + 1).and_then(|next| self.pair_score(end, &words[at], next));
            let (score, taken) = match pair {
                Some(score) => (score, 2),
                None => (self.word_score(end, &words[at])?, 1),
            };
            total += score;
            at += taken;
        }
        Some(total)
    }

    fn pair_score(&self, end: &EndWords, one: &str, other: &str) -> Option<u32> {
        if compared(&format!("{one} {other}")) == end.place {
            return Some(0);
        }
        let colour = WireColour::from_cell(&format!("{one}/{other}")).filter(|colour| colour.base().is_some())?;
        end.colour.as_ref().is_some_and(|own| own.same_as(&colour)).then_some(1)
    }

    fn word_score(&self, end: &EndWords, word: &str) -> Option<u32> {
        let asked = compared(word);
        if asked == end.place || TagCode::from_typed(word).is_ok_and(|code| self.codes().any(|own| own == code)) {
            return Some(0);
        }
        if self.names.contains(&asked) {
            return Some(1);
        }
        if asked == end.connector {
            return Some(2);
        }
        if let (Some(asked), Some(own)) = (WireColour::from_cell(word), &end.colour) {
            let one = asked.base().filter(|_| asked.stripe().is_none());
            if own.same_as(&asked) {
                return Some(1);
            } else if one.is_some() && one == own.base() {
                return Some(2);
            } else if one.is_some() && one == own.stripe() || word == "stripe" && own.stripe().is_some() {
                return Some(3);
            }
        }
        let holds =
            |text: &str| text.split(|c: char| c.is_whitespace() || "()[],;:\"".contains(c)).any(|own| own == word);
        let is_long_enough = word.chars().count() >= 3;
        if holds(&end.function) {
            Some(3)
        } else if is_long_enough && end.function.contains(word) {
            Some(4)
        } else if holds(&end.words) {
            Some(5)
        } else {
            let is_named = || self.names.iter().any(|name| name.to_lowercase().contains(word));
            (is_long_enough && (end.words.contains(word) || is_named())).then_some(6)
        }
    }
}

impl EndWords {
    fn new(place: &Place, colour: Option<WireColour>, function: &str, words: &[Option<&str>]) -> Self {
        let words = words.iter().flatten().map(|text| text.to_lowercase()).collect::<Vec<_>>().join("\n");
        let (connector, function) = (compared(place.connector.as_str()), function.to_lowercase());
        Self { place: compared(&place.to_string()), connector, colour, function, words }
    }

    fn gone(recorded: &codes::RecordedEnd) -> Self {
        Self::new(&recorded.place, recorded.colour.as_deref().and_then(WireColour::from_cell), "", &[])
    }
}

fn names(record: &Record) -> Vec<String> {
    record.designations.iter().chain(&record.former).map(|name| compared(name)).collect()
}

fn note_marks(
    marks: &mut HashMap<(TagCode, EndLetter), usize>,
    known: Option<&codes::Record>,
    end: Option<&codes::RecordedEnd>,
    index: usize,
) {
    if let (Some(known), Some(end)) = (known, end) {
        marks.insert((known.code, end.letter), index);
        marks.extend(end.also.iter().map(|&mark| (mark, index)));
    }
}

/// A place or designation as it is compared when somebody looks for it: without case, every run of separators alike, numbers
/// without leading zeros.
fn compared(text: &str) -> String {
    let is_separator = |c: char| c.is_whitespace() || matches!(c, '/' | '-' | '.' | '_');
    let parts = text.split(is_separator).filter(|part| !part.is_empty()).map(|part| {
        let upper = part.to_uppercase();
        let digits = upper.trim_start_matches('0');
        if digits.starts_with(|c: char| c.is_ascii_digit()) { digits.to_owned() } else { upper }
    });
    parts.collect::<Vec<_>>().join("/")
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::base::Conductor;
    use crate::circuits::{Action, FarEnd, Fuse, Supply};
    use crate::codes::Register;
    use crate::codes::samples::{self, NOW};

    fn circuit(id: &str, function: &str, supply: Option<Supply>, ends: &[&str]) -> Circuit {
        let plain = samples::circuit(id, ends);
        let far = match ends.len() {
            2 => vec![FarEnd::End(1), FarEnd::End(0)],
            1 => vec![FarEnd::Unknown],
            more => vec![FarEnd::ImpliedSplice; more],
        };
        let mut told = plain.ends().to_vec();
        told[0].action = Action::Cut;
        told[0].branch = Some("engine".to_owned());
        told[0].conductor = Conductor::from_cell("0.75", None).ok();
        let mut circuit = Circuit::new(plain.id().clone(), plain.naming(), told, far).expect("equally long");
        circuit.function = Some(function.to_owned()).filter(|function| !function.is_empty());
        circuit.supply = supply;
        circuit
    }

    fn harness() -> Vec<Circuit> {
        let mut pump = circuit("W12", "bilge pump feed", Some(Supply::Constant), &["J1/14 RD/BU", "X3/2 RD/BU"]);
        pump.fuse = Fuse::from_cell("F3 15 A");
        vec![
            pump,
            circuit("RPS", "rail pressure signal", Some(Supply::Signal), &["J1/15 BN/WH", "J2/01 BN/WH", "X3/3 BN"]),
            circuit("J2/7", "", None, &["J2/7"]),
            circuit("SQ", "belt tensioner", Some(Supply::Restraint), &["J9/1 YE", "J9/2 YE"]),
        ]
    }

    fn recall_of(register: &Register, circuits: &Circuits) -> Recall {
        let issued = register.preview(circuits).expect("previews");
        Recall::new(circuits, &issued, &register.records().expect("reads"))
    }

    /// In natural order: J2/7 FQGB, RPS RTCQ, SQ 8GMK, W12 3V86.
    fn job() -> (Register, Recall) {
        let mut register = Register::in_memory().expect("in memory");
        let circuits = samples::circuits(harness());
        register.issue(&circuits, NOW).expect("issues");
        let recall = recall_of(&register, &circuits);
        (register, recall)
    }

    fn ask(recall: &Recall, question: &str) -> Vec<String> {
        let words: Vec<String> = question.split(' ').map(str::to_owned).collect();
        let answer = recall.find(&words).into_iter().map(|found| {
            let ends: Vec<&str> =
                found.ends.iter().filter_map(|&end| found.record.ends[end].letter.as_deref()).collect();
            format!("{} {} by {:?}", found.record.designations[0], ends.concat(), found.by)
        });
        answer.collect()
    }

    #[test]
    fn a_code_is_found_however_it_is_typed() {
        let (_, recall) = job();
        for typed in ["3V86", "3v86", "3 v-8.6", "http://tags.example/3v86"] {
            assert_eq!(ask(&recall, typed), ["W12 AB by Code"], "{typed}");
        }
        for typed in ["3V86 B", "3v86/b", "HTTP://TAGS.EXAMPLE/3V86/B", "3v86 b+a"] {
            assert_eq!(ask(&recall, typed), ["W12 B by Code"], "{typed}");
        }
        assert_eq!(ask(&recall, "3V85"), [""; 0]);
    }

    #[test]
    fn a_place_is_found_however_it_is_typed() {
        let (_, recall) = job();
        for typed in ["J1/14", "j1 14", "j1-14", " J1/14 ", "j1.14"] {
            assert_eq!(ask(&recall, typed), ["W12 A by Place"], "{typed}");
        }
        assert_eq!(ask(&recall, "j2 1"), ["RPS B by Place"]);
        assert_eq!(ask(&recall, "j2 7"), ["J2/7 A by Place"]);
        assert_eq!(ask(&recall, "J2"), ["J2/7 A by Words", "RPS B by Words"]);
    }

    #[test]
    fn designation_colour_and_words_are_found_and_all_must_fit() {
        let (_, recall) = job();
        assert_eq!(ask(&recall, "rps"), ["RPS ABC by Designation"]);
        assert_eq!(ask(&recall, "brown"), ["RPS ABC by Words"]);
        assert_eq!(ask(&recall, "brown white"), ["RPS AB by Words"]);
        assert_eq!(ask(&recall, "BN/WH"), ["RPS AB by Words"]);
        assert_eq!(ask(&recall, "brown stripe"), ["RPS AB by Words"]);
        assert_eq!(ask(&recall, "blue"), ["W12 AB by Words"]);
        assert_eq!(ask(&recall, "pressure j2"), ["RPS B by Words"]);
        assert_eq!(ask(&recall, "press brown j1 15"), ["RPS A by Words"]);
        assert_eq!(ask(&recall, "engine, red"), ["W12 A by Words"]);
        let all = ["J2/7 A by Words", "RPS A by Words", "SQ A by Words", "W12 A by Words"];
        assert_eq!(ask(&recall, "cut"), all);
        assert_eq!(ask(&recall, "pump green"), [""; 0]);
        assert_eq!(ask(&recall, ""), [""; 0]);
    }

    #[test]
    fn joined_and_removed_circuits_still_answer() {
        let (mut register, _) = job();
        let code = |typed| TagCode::from_typed(typed).expect("a code");
        register.join(code("3V86"), code("RTCQ"), NOW).expect("joins");
        // Still listed apart: one record of both.
        let both = recall_of(&register, &samples::circuits(harness()));
        assert_eq!(both.same_circuit(code("RTCQ"), code("3V86")), Same::Yes);
        assert_eq!(both.same_circuit(code("RTCQ"), code("FQGB")), Same::No);
        assert_eq!(both.same_circuit(code("RTCQ"), code("7KF4")), Same::Unknown);
        let found = both.by_code(code("RTCQ"), EndLetter::from_typed("B")).expect("is there");
        assert_eq!(found.record.designations, ["RPS", "W12"]);
        assert_eq!(found.record.ends[found.ends[0]].here, "J2/01");
        assert_eq!(found.record.ends.len(), 5);

        let left = recall_of(&register, &samples::circuits(harness().into_iter().skip(2)));
        let found = left.by_code(code("RTCQ"), None).expect("is there");
        assert!(!found.record.listed);
        assert!(found.in_words().contains("take it as live"));
        assert_eq!(ask(&left, "j1 14"), ["RPS A by Place"]);
    }

    #[test]
    fn an_end_that_left_the_lists_is_told_of() {
        let (register, _) = job();
        let mut fewer = harness();
        fewer[1] = circuit("RPS", "rail pressure signal", Some(Supply::Signal), &["J1/15 BN/WH", "J2/01 BN/WH"]);
        let recall = recall_of(&register, &samples::circuits(fewer));
        let found = recall.find(&["X3/3".to_owned()]);
        let end = &found[0].record.ends[found[0].ends[0]];
        assert_eq!((end.letter.as_deref(), end.listed), (Some("C"), false));
        assert!(found[0].in_words().contains("not in the lists any more"));
    }

    #[test]
    fn what_was_never_issued_has_no_code_yet() {
        let register = Register::in_memory().expect("in memory");
        let recall = recall_of(&register, &samples::circuits(harness()));
        let found = recall.find(&["bilge".to_owned()]);
        assert_eq!((found[0].record.code.as_deref(), found[0].record.ends[0].letter.as_deref()), (None, None));
        assert!(found[0].in_words().starts_with("(no code yet)  bilge pump feed"));
        assert_eq!(recall.find(&["3V86".to_owned()]), []);
    }

    #[test]
    fn scans_of_known_unknown_and_damaged_codes() {
        let (_, recall) = job();
        assert!(matches!(recall.by_scanned("HTTP://TAGS.EXAMPLE/3V86/A"), Scanned::Known(found) if found.ends == [0]));
        assert!(matches!(recall.by_scanned("3V86 A+B BILGE PUMP"), Scanned::Known(found) if found.ends == [0]));
        assert!(matches!(recall.by_scanned("7KF4 A"), Scanned::Unknown { code, .. } if code == "7KF4"));
        for damaged in ["3V85", "3VB6 A", "HTTP://TAGS.EXAMPLE/3VB6/A", "http://tags.example/3vb6"] {
            match recall.by_scanned(damaged) {
                Scanned::Nothing { nearest, .. } => {
                    assert_eq!(nearest[0], Near { code: "3V86".to_owned(), what: "bilge pump feed".to_owned() });
                }
                other => panic!("{damaged}: {other:?}"),
            }
        }
    }

    #[test]
    fn programs_read_the_same_answer() {
        let (_, recall) = job();
        let json = serde_json::to_value(recall.by_scanned("3V86 B")).expect("is plain");
        assert_eq!((&json["scan"], &json["by"], &json["ends"][0]), (&"known".into(), &"code".into(), &1.into()));
        let record = &json["record"];
        assert_eq!((&record["code"], &record["fuse"]), (&"3V86".into(), &"F3 15 A".into()));
        assert_eq!(record["cautions"][0], "LIVE WITH BATTERY ON");
        assert_eq!((&record["ends"][0]["letter"], &record["ends"][0]["there"]), (&"A".into(), &"X3/2".into()));
        let json = serde_json::to_value(recall.by_scanned("7KF4")).expect("is plain");
        assert_eq!((&json["scan"], &json["code"]), (&"unknown".into(), &"7KF4".into()));
        let json = serde_json::to_value(recall.by_scanned("3V85")).expect("is plain");
        assert_eq!((&json["scan"], &json["nearest"][0]["code"]), (&"nothing".into(), &"3V86".into()));
    }

    #[test]
    fn a_record_reads_well() {
        let (_, recall) = job();
        let found = &recall.find(&["3V86".to_owned(), "A".to_owned()])[0];
        insta::assert_snapshot!(found.in_words(), @r"
        3V86  bilge pump feed
        circuit W12, constant, fuse F3 15 A
        !! LIVE WITH BATTERY ON

        > A  J1/14  to X3/2  RD/BU (red, blue stripe)  0.75 mm²
             plan: cut, branch engine
             !! LIVE WITH BATTERY ON: cap this end
          B  X3/2   to J1/14  RD/BU (red, blue stripe)
             plan: undecided

        no mark does not mean dead: test
        ");
        let found = &recall.find(&["tensioner".to_owned()])[0];
        insta::assert_snapshot!(found.in_words(), @r"
        8GMK  belt tensioner
        circuit SQ, restraint
        !! RESTRAINT: never cut, probe or tap into

          A  J9/1  to J9/2  YE (yellow)  0.75 mm²
             plan: cut, branch engine
          B  J9/2  to J9/1  YE (yellow)
             plan: undecided

        no mark does not mean dead: test
        ");
    }

    proptest! {
        #[test]
        fn any_question_is_answered(question in ".{0,20}") {
            let (_, recall) = job();
            let words: Vec<String> = question.split(' ').map(str::to_owned).collect();
            for found in recall.find(&words) {
                let _ = found.in_words();
            }
            let _ = recall.by_scanned(&question);
        }
    }
}
