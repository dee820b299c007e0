//! Asking by words: codes, places, colours, designations and words of functions, as they are typed.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::entry::{self, Question};
use super::index::Index;
use super::{By, Found, Recall, Scanned, UnknownWord};
use crate::base::{self, ConnectorId, TagCode, natural};
use crate::codes::link::{self, Meaning};

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

/// What answers a question, the best first: by what, how well (less is better), the number of the entry, and the ends that are meant.
type Ranked = Vec<(By, u32, usize, Vec<usize>)>;

impl Recall {
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

    /// What [`Recall::find`] finds, without copies of it: the numbers of records and the ends that are meant, the best first.
    pub fn answering(&self, words: &[String]) -> Vec<(usize, Vec<usize>)> {
        let (coded, ranked) = self.answers(words);
        let coded = coded.map(|(at, coded)| (at, coded.ends));
        coded.into_iter().chain(ranked.into_iter().map(|(_, _, at, ends)| (at, ends))).collect()
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

    /// The entries that may answer, in their order.
    pub(super) fn candidates(&self, question: &Question) -> Vec<usize> {
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

    /// The circuits with ends in a connector, those ends meant, in the order of their places.
    pub(super) fn at_connector(&self, connector: &ConnectorId) -> Vec<Found> {
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
}
