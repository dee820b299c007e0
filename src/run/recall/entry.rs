//! What a circuit is found by, and how well it fits a question: a record comes in with its circuit, a score goes out.

use std::collections::{BTreeMap, HashMap};

use super::By;
use super::history::History;
use super::record::{EndRecord, Record};
use crate::base::{EndLetter, Place, TagCode, WireColour};
use crate::circuits::{Circuit, Circuits};
use crate::codes;

/// What was asked, made ready for comparing.
pub(super) struct Question {
    typed: String,
    /// As places and designations are compared.
    pub(super) compared: String,
    /// Its words, in their order.
    pub(super) words: Vec<Word>,
}

/// A word of a question, made ready once for all ends.
pub(super) struct Word {
    /// In lower case.
    pub(super) text: String,
    /// As places and designations are compared.
    pub(super) compared: String,
    /// The code that it is.
    pub(super) code: Option<TagCode>,
    /// The colour that it is, understood or not.
    pub(super) colour: Option<WireColour>,
    /// What it may be together with the next one.
    pub(super) pair: Option<Pair>,
}

/// Two words that may be one thing.
pub(super) struct Pair {
    /// As places are compared.
    pub(super) compared: String,
    /// Base and stripe.
    pub(super) colour: Option<WireColour>,
}

impl Question {
    /// From what was typed; `None` when that has no words.
    pub(super) fn from_typed(typed: &str) -> Option<Self> {
        let typed = beginning(typed);
        let texts: Vec<String> = words(typed).take(MOST_WORDS).map(str::to_lowercase).collect();
        let words: Vec<Word> = texts.iter().enumerate().map(|(at, text)| Word::new(text, texts.get(at + 1))).collect();
        (!words.is_empty()).then(|| Self { typed: typed.trim().to_owned(), compared: compared(typed), words })
    }
}

impl Word {
    fn new(text: &str, next: Option<&String>) -> Self {
        let pair = next.map(|next| Pair {
            compared: compared(&format!("{text} {next}")),
            colour: WireColour::from_cell(&format!("{text}/{next}")).filter(|colour| colour.base().is_some()),
        });
        Self {
            text: text.to_owned(),
            compared: compared(text),
            code: TagCode::from_typed(text).ok(),
            colour: WireColour::from_cell(text),
            pair,
        }
    }

    /// Whether a part of a word is enough to find it.
    pub(super) fn is_long_enough(&self) -> bool {
        self.text.chars().count() >= 3
    }

    /// How well a wire's colour fits.
    pub(super) fn colour_score(&self, own: &WireColour) -> Option<u32> {
        let asked = self.colour.as_ref()?;
        let one = asked.base().filter(|_| asked.stripe().is_none());
        if own.same_as(asked) {
            Some(1)
        } else if one.is_some() && one == own.base() {
            Some(2)
        } else {
            (one.is_some() && one == own.stripe() || self.text == "stripe" && own.stripe().is_some()).then_some(3)
        }
    }
}

impl Pair {
    /// Whether it is a wire's colour.
    pub(super) fn is_colour(&self, own: &WireColour) -> bool {
        self.colour.as_ref().is_some_and(|colour| own.same_as(colour))
    }
}

/// So many words of a question are looked for: each may leave any circuit, so that a page of text would be asked for long.
pub(super) const MOST_WORDS: usize = 16;
/// So many characters of it.
pub(super) const MOST_CHARACTERS: usize = 200;

/// As much of a text as is looked for.
pub(super) fn beginning(typed: &str) -> &str {
    typed.char_indices().nth(MOST_CHARACTERS).map_or(typed, |(at, _)| &typed[..at])
}

/// The words of what was typed.
pub(super) fn words(typed: &str) -> impl Iterator<Item = &str> {
    typed.split(|c: char| c.is_whitespace() || c == ',' || c == ';').filter(|word| !word.is_empty())
}

/// How well a whole word of the function fits; what the list's other words have fits less.
pub(super) const WORD_OF_FUNCTION: u32 = 3;

/// A record with what it is found by.
#[derive(Clone, Debug)]
pub(super) struct Entry {
    code: Option<TagCode>,
    pub(super) record: Record,
    /// For each of its ends.
    ends: Vec<EndWords>,
    /// Designations, present and former, as they are compared.
    names: Vec<String>,
    /// Codes and letters of tags that may hang there, with the end.
    marks: HashMap<(TagCode, EndLetter), usize>,
    /// Whether a list ever gave it a designation.
    pub(super) named_by_list: bool,
}

/// What an end is found by.
#[derive(Clone, Debug)]
struct EndWords {
    place: String,
    connector: String,
    colour: Option<WireColour>,
    /// What the circuit does, in lower case.
    function: String,
    /// Everything else, in lower case.
    words: String,
}

impl Entry {
    /// A circuit of the lists, or several that were joined, with what the register knows of it.
    pub(super) fn listed(
        each: &[(&Circuit, &[EndLetter])],
        known: Option<&codes::Record>,
        circuits: &Circuits,
    ) -> Self {
        let all: Vec<&Circuit> = each.iter().map(|(circuit, _)| *circuit).collect();
        let mut record = Record::listed(&all, known, circuits);
        let (mut ends, mut marks) = (Vec::new(), HashMap::new());
        let mut recorded_ends: BTreeMap<EndLetter, &codes::RecordedEnd> =
            known.iter().flat_map(|known| &known.ends).map(|end| (end.letter, end)).collect();
        for (circuit, letters) in each {
            for (index, (end, letter)) in circuit.ends().iter().zip(*letters).enumerate() {
                let recorded = recorded_ends.remove(letter);
                let told = EndRecord::listed(circuit, index, recorded, circuits);
                note_marks(&mut marks, known, recorded, ends.len());
                let connector = circuits.connector(&end.place.connector);
                let words = [
                    circuit.supply.map(|supply| supply.word()),
                    circuit.fuse.as_ref().map(|fuse| fuse.typed()),
                    connector.and_then(|connector| connector.short_name.as_deref()),
                    connector.and_then(|connector| connector.branch.as_deref()),
                    told.colour_in_list.as_deref(),
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
        Self { code: known.map(|known| known.code), names: names(&record), record, ends, marks, named_by_list: true }
    }

    /// A circuit that only the register knows.
    pub(super) fn gone(known: &codes::Record) -> Self {
        let record = Record::gone(known);
        let mut marks = HashMap::new();
        for (index, end) in known.ends.iter().enumerate() {
            note_marks(&mut marks, Some(known), Some(end), index);
        }
        let ends = known.ends.iter().map(EndWords::gone).collect();
        let named_by_list = known.named_by_list;
        Self { code: Some(known.code), names: names(&record), record, ends, marks, named_by_list }
    }

    /// Adds what it is found by in addition: the words of notes that stand, and the name it was given.
    pub(super) fn add_history(&mut self, history: &History) {
        let codes = self.record.codes();
        if let Some(renaming) = history.last_name(&codes).filter(|_| self.record.listed) {
            let name = renaming.designation.to_string();
            if !self.record.designations.contains(&name) {
                self.record.former.retain(|former| *former != name);
                self.names.push(compared(&name));
                self.record.renamed = Some(name);
            }
        }
        if history.notes().all().is_empty() {
            return;
        }
        for (at, end) in self.ends.iter_mut().enumerate() {
            for noted in history.notes().of_end(&codes, &self.record.marks(at)) {
                if noted.superseded_by.is_none() {
                    end.words = format!("{}\n{}", end.words, noted.note.in_words().to_lowercase());
                }
            }
        }
    }

    /// Every code that names it.
    pub(super) fn codes(&self) -> impl Iterator<Item = TagCode> {
        let also = self.record.also.iter().filter_map(|code| TagCode::from_typed(code).ok());
        self.code.into_iter().chain(also)
    }

    /// All words of each end: places, colours, function, the other words of the lists and of notes, and the names of the circuit.
    pub(super) fn words(&self) -> Vec<String> {
        let names = self.record.designations.iter().chain(&self.record.former).chain(&self.record.renamed);
        let names = names.map(|name| name.to_lowercase()).collect::<Vec<_>>().join("\n");
        let of_end = |(told, end): (&EndRecord, &EndWords)| {
            let colours = [&told.colour, &told.colour_in_words].into_iter().flatten().map(|words| words.to_lowercase());
            let parts = [told.here.to_lowercase(), end.connector.clone(), end.function.clone(), end.words.clone()];
            let all: Vec<String> = parts.into_iter().chain(colours).chain([names.clone()]).collect();
            all.join("\n")
        };
        self.record.ends.iter().zip(&self.ends).map(of_end).collect()
    }

    /// The ends that a code and perhaps a letter mean.
    pub(super) fn pointed_at(&self, code: TagCode, letter: Option<EndLetter>) -> Vec<usize> {
        match letter {
            Some(letter) => self.marks.get(&(code, letter)).copied().into_iter().collect(),
            None => (0..self.ends.len()).collect(),
        }
    }

    /// The ends that sit in a connector.
    pub(super) fn ends_in(&self, connector: &str) -> Vec<usize> {
        let asked = compared(connector);
        (0..self.ends.len()).filter(|&end| self.ends[end].connector == asked).collect()
    }

    /// That a code has no end of this letter, with the letters it has.
    pub(super) fn no_such_end(&self, code: TagCode, letter: EndLetter) -> String {
        let mut letters: Vec<EndLetter> =
            self.marks.keys().filter(|(own, _)| *own == code).map(|(_, letter)| *letter).collect();
        letters.sort();
        let letters: Vec<String> = letters.iter().map(ToString::to_string).collect();
        format!("{code} has no end {letter}; it has {}", letters.join(", "))
    }

    /// How this circuit answers a question, with how well (less is better) and the ends that are meant.
    pub(super) fn answer(&self, question: &Question) -> Option<(By, u32, Vec<usize>)> {
        let all = 0..self.ends.len();
        let at_place: Vec<usize> = all.clone().filter(|&end| self.ends[end].place == question.compared).collect();
        if !at_place.is_empty() {
            // `a` and `A` may be two cavities, `1` and `01` too: the one that was typed comes first.
            let is_exact = at_place.iter().any(|&end| self.record.ends[end].here == question.typed);
            Some((By::Place, u32::from(!is_exact), at_place))
        } else if self.names.contains(&question.compared) {
            Some((By::Designation, 0, all.collect()))
        } else {
            self.matches(&question.words).map(|(score, ends)| (By::Words, score, ends))
        }
    }

    /// The words it can be found by.
    pub(super) fn vocabulary(&self) -> impl Iterator<Item = &str> {
        let of_ends = self.ends.iter().flat_map(|end| parts(&end.function).chain(parts(&end.words)));
        let colours = self.record.ends.iter().filter_map(|end| end.colour_in_words.as_deref()).flat_map(parts);
        let names = self.record.designations.iter().chain(&self.record.former).map(String::as_str);
        of_ends.chain(colours).chain(names).filter(|word| word.chars().any(char::is_alphabetic))
    }

    /// What index and question compare: places, connectors and designations.
    pub(super) fn compared(&self) -> impl Iterator<Item = &str> {
        let of_ends = self.ends.iter().flat_map(|end| [end.place.as_str(), end.connector.as_str()]);
        of_ends.chain(self.names.iter().map(String::as_str))
    }

    /// The colours of its ends.
    pub(super) fn colours(&self) -> impl Iterator<Item = &WireColour> {
        self.ends.iter().filter_map(|end| end.colour.as_ref())
    }

    /// Every text in which a word may stand, in lower case.
    pub(super) fn texts(&self, each: &mut impl FnMut(&str)) {
        for (at, end) in self.ends.iter().enumerate() {
            // As a rule the ends of a circuit say the same.
            if at == 0 || end.function != self.ends[at - 1].function {
                each(&end.function);
            }
            if at == 0 || end.words != self.ends[at - 1].words {
                each(&end.words);
            }
        }
        for name in &self.names {
            each(&name.to_lowercase());
        }
    }

    /// The ends that all words fit best, with how well: less is better.
    fn matches(&self, words: &[Word]) -> Option<(u32, Vec<usize>)> {
        let scores: Vec<Option<u32>> = self.ends.iter().map(|end| self.score(end, words)).collect();
        let best = scores.iter().flatten().min().copied()?;
        Some((best, (0..scores.len()).filter(|&end| scores[end].is_some()).collect()))
    }

    /// How well all words fit an end; `None` when one does not.
    fn score(&self, end: &EndWords, words: &[Word]) -> Option<u32> {
        let (mut at, mut total) = (0, 0);
        while at < words.len() {
            let (score, taken) = match pair_score(end, &words[at]) {
                Some(score) => (score, 2),
                None => (self.word_score(end, &words[at])?, 1),
            };
            total += score;
            at += taken;
        }
        Some(total)
    }

    fn word_score(&self, end: &EndWords, word: &Word) -> Option<u32> {
        let asked = &word.compared;
        if *asked == end.place || word.code.is_some_and(|code| self.codes().any(|own| own == code)) {
            return Some(0);
        }
        if self.names.contains(asked) {
            return Some(1);
        }
        if *asked == end.connector {
            return Some(2);
        }
        if let Some(score) = end.colour.as_ref().and_then(|own| word.colour_score(own)) {
            return Some(score);
        }
        let text = word.text.as_str();
        let holds = |all: &str| all.contains(text) && parts(all).any(|own| own == text);
        let is_long_enough = word.is_long_enough();
        if holds(&end.function) {
            Some(WORD_OF_FUNCTION)
        } else if is_long_enough && end.function.contains(text) {
            Some(4)
        } else if holds(&end.words) {
            Some(5)
        } else {
            let is_named = || self.names.iter().any(|name| name.to_lowercase().contains(text));
            (is_long_enough && (end.words.contains(text) || is_named())).then_some(6)
        }
    }
}

fn pair_score(end: &EndWords, word: &Word) -> Option<u32> {
    let pair = word.pair.as_ref()?;
    if pair.compared == end.place {
        return Some(0);
    }
    end.colour.as_ref().is_some_and(|own| pair.is_colour(own)).then_some(1)
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

/// The words of a text of the lists.
pub(super) fn parts(text: &str) -> impl Iterator<Item = &str> {
    text.split(|c: char| c.is_whitespace() || "()[],;:\"".contains(c)).filter(|part| !part.is_empty())
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
pub(in crate::run) fn compared(text: &str) -> String {
    let is_separator = |c: char| c.is_whitespace() || matches!(c, '/' | '-' | '.' | '_');
    let parts = text.split(is_separator).filter(|part| !part.is_empty()).map(|part| {
        let upper = part.to_uppercase();
        let digits = upper.trim_start_matches('0');
        if digits.starts_with(|c: char| c.is_ascii_digit()) { digits.to_owned() } else { upper }
    });
    parts.collect::<Vec<_>>().join("/")
}
