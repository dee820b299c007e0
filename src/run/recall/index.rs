//! The few circuits that may answer a question, of very many: entries come in once, candidates go out for each question.
//!
//! What is no candidate answers nothing; whether a candidate does is for [`Entry::answer`] to say, and how well.

use std::collections::{BTreeSet, HashMap};

use super::entry::{Entry, Question, Word, parts};
use crate::base::{TagCode, WireColour};

/// By what entries are found, each with their numbers.
#[derive(Debug)]
pub(super) struct Index {
    count: usize,
    /// Places, connectors and designations, as they are compared.
    compared: HashMap<String, Vec<u32>>,
    codes: HashMap<TagCode, u32>,
    colours: Vec<(WireColour, Vec<u32>)>,
    /// All words of functions and the like, each once and a line each, so that one search goes through all of them.
    lines: String,
    /// Where each line begins.
    starts: Vec<usize>,
    /// For each line, the entries that have the word.
    holders: Vec<Vec<u32>>,
    /// The line of each word.
    line_of: HashMap<String, usize>,
    /// The words that may have been meant by a misspelt one, in order.
    vocabulary: Vec<String>,
}

impl Index {
    /// Of these entries with their numbers, in order, of so many in all.
    pub(super) fn new<'a>(count: usize, entries: impl Iterator<Item = (usize, &'a Entry)>) -> Self {
        let mut index = Self {
            count,
            compared: HashMap::new(),
            codes: HashMap::new(),
            colours: Vec::new(),
            lines: String::new(),
            starts: Vec::new(),
            holders: Vec::new(),
            line_of: HashMap::new(),
            vocabulary: Vec::new(),
        };
        let mut colours: HashMap<WireColour, usize> = HashMap::new();
        let mut vocabulary: BTreeSet<&str> = BTreeSet::new();
        for (number, entry) in entries {
            let number = u32::try_from(number).expect("no job has billions of circuits");
            for text in entry.compared() {
                match index.compared.get_mut(text) {
                    Some(holders) => add(holders, number),
                    None => drop(index.compared.insert(text.to_owned(), vec![number])),
                }
            }
            index.codes.extend(entry.codes().map(|code| (code, number)));
            for colour in entry.colours() {
                let at = colours.get(colour).copied().unwrap_or_else(|| {
                    index.colours.push((colour.clone(), Vec::new()));
                    colours.insert(colour.clone(), index.colours.len() - 1);
                    index.colours.len() - 1
                });
                add(&mut index.colours[at].1, number);
            }
            entry.texts(&mut |text| {
                for word in parts(text) {
                    let at = index.line_of.get(word).copied().unwrap_or_else(|| {
                        index.starts.push(index.lines.len());
                        index.lines.push_str(word);
                        index.lines.push('\n');
                        index.holders.push(Vec::new());
                        index.line_of.insert(word.to_owned(), index.holders.len() - 1);
                        index.holders.len() - 1
                    });
                    add(&mut index.holders[at], number);
                }
            });
            vocabulary.extend(entry.vocabulary());
        }
        index.vocabulary = vocabulary.into_iter().map(str::to_owned).collect();
        index
    }

    /// The words that are known, in order.
    pub(super) fn vocabulary(&self) -> impl Iterator<Item = &str> {
        self.vocabulary.iter().map(String::as_str)
    }

    /// The entries that may answer, in their order.
    pub(super) fn candidates(&self, question: &Question) -> Vec<usize> {
        let words = &question.words;
        let pairs: Vec<Set> = words.iter().map(|word| self.by_pair(word)).collect();
        let mut all: Option<Set> = None;
        for (at, word) in words.iter().enumerate() {
            // A word counts alone, or with the one before or behind it.
            let mut fitting = self.by_word(word);
            fitting.join(&pairs[at]);
            if at > 0 {
                fitting.join(&pairs[at - 1]);
            }
            match &mut all {
                Some(all) => all.keep(&fitting),
                None => all = Some(fitting),
            }
        }
        let mut all = all.unwrap_or_else(|| Set::none(self.count));
        all.add_all(self.compared.get(&question.compared));
        all.numbers()
    }

    fn by_word(&self, word: &Word) -> Set {
        let mut fitting = Set::none(self.count);
        fitting.add_all(self.compared.get(&word.compared));
        if let Some(&number) = word.code.and_then(|code| self.codes.get(&code)) {
            fitting.add(number);
        }
        for (_, holders) in self.colours.iter().filter(|(own, _)| word.colour_score(own).is_some()) {
            fitting.add_all(Some(holders));
        }
        if !word.is_long_enough() {
            fitting.add_all(self.line_of.get(&word.text).map(|&line| &self.holders[line]));
            return fitting;
        }
        // Where a text holds the word, one of the text's words holds each of its parts: the longest leaves the fewest.
        let Some(part) = parts(&word.text).max_by_key(|part| part.len()) else { return Set::all(self.count) };
        for (at, _) in self.lines.match_indices(part) {
            let line = self.starts.partition_point(|start| *start <= at) - 1;
            fitting.add_all(Some(&self.holders[line]));
        }
        fitting
    }

    fn by_pair(&self, word: &Word) -> Set {
        let mut fitting = Set::none(self.count);
        let Some(pair) = &word.pair else { return fitting };
        fitting.add_all(self.compared.get(&pair.compared));
        for (_, holders) in self.colours.iter().filter(|(own, _)| pair.is_colour(own)) {
            fitting.add_all(Some(holders));
        }
        fitting
    }
}

/// Numbers come in order, some of them several times.
fn add(holders: &mut Vec<u32>, number: u32) {
    if holders.last() != Some(&number) {
        holders.push(number);
    }
}

/// A set of entries: a bit each.
struct Set {
    bits: Vec<u64>,
    count: usize,
}

impl Set {
    fn none(count: usize) -> Self {
        Self { bits: vec![0; count.div_ceil(64)], count }
    }

    fn all(count: usize) -> Self {
        Self { bits: vec![u64::MAX; count.div_ceil(64)], count }
    }

    fn add(&mut self, number: u32) {
        self.bits[number as usize / 64] |= 1 << (number % 64);
    }

    fn add_all(&mut self, numbers: Option<&Vec<u32>>) {
        for &number in numbers.into_iter().flatten() {
            self.add(number);
        }
    }

    fn join(&mut self, other: &Self) {
        self.bits.iter_mut().zip(&other.bits).for_each(|(one, other)| *one |= other);
    }

    fn keep(&mut self, other: &Self) {
        self.bits.iter_mut().zip(&other.bits).for_each(|(one, other)| *one &= other);
    }

    fn numbers(&self) -> Vec<usize> {
        let words = self.bits.iter().enumerate();
        let set = words
            .flat_map(|(at, &bits)| (0..64).filter(move |bit| bits & (1 << bit) != 0).map(move |bit| at * 64 + bit));
        set.take_while(|number| *number < self.count).collect()
    }
}
