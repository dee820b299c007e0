//! Building what can be recalled: circuits of the lists and records of the register become entries, to which blanks, what happened
//! and stale tags are added. What nothing is added to stays the very same entry.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::{Arc, OnceLock};

use rayon::iter::{IntoParallelRefIterator, ParallelIterator};

use super::super::stale::Stale;
use super::entry::Entry;
use super::{History, Plain, Recall, TagTexts};
use crate::base::{EndLetter, TagCode};
use crate::circuits::{Circuit, Circuits};
use crate::codes::{self, Blank, Issued};

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
        let listed = |(record, group): &(Option<usize>, Vec<usize>)| {
            let each: Vec<(&Circuit, &[EndLetter])> =
                group.iter().map(|&at| (&circuits.all()[at], &issued.circuits[at].letters[..])).collect();
            Arc::new(Entry::listed(&each, record.map(|at| &records[at]), circuits))
        };
        let mut entries: Vec<Arc<Entry>> = groups.par_iter().map(listed).collect();
        let gone = records.iter().enumerate().filter(|(at, _)| !group_of.contains_key(at));
        entries.extend(gone.map(|(_, record)| Arc::new(Entry::gone(record))));
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
    pub(super) fn plain(&self) -> Self {
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

    /// The same, with what happened to each circuit: it is told with the records, and notes that stand are found by their words.
    #[must_use]
    pub fn with_history(mut self, history: History) -> Self {
        let told: BTreeSet<usize> = history.told_of().filter_map(|code| self.plain.codes.get(&code).copied()).collect();
        for at in told {
            Arc::make_mut(&mut self.entries[at]).add_history(&history);
        }
        Self { history, index: OnceLock::new(), ..self }
    }

    /// Notes which tags no longer tell the truth with the records of their codes.
    pub(super) fn add_stale(&mut self, stale: &Stale) {
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
}
