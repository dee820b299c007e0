//! What a run made, counted: for the last lines that a person reads.

use std::collections::BTreeMap;

use crate::base::{Purpose, TagKind};
use crate::labels::{Band, Label};
use crate::layout::{Diameter, Facts};

/// Counts over all tags of a run.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// Tags of each kind.
    pub kinds: BTreeMap<TagKind, usize>,
    /// Tags with a symbol.
    pub symbols: usize,
    /// Flags that have no symbol or a lesser one than asked for: each reason with their names.
    pub symbol_notes: BTreeMap<String, Vec<String>>,
    /// Strips by name, each with the tube it goes under.
    pub strips: Vec<(String, String)>,
    /// Sleeves and strips too thin for a symbol: they carry words alone.
    pub words_alone: usize,
    /// Tags that lost or shortened lines.
    pub shortened: usize,
    /// Tags made for an assumed diameter.
    pub assumed: usize,
    /// Final tags made for a diameter out of the table.
    pub tabled: usize,
    /// Tags that bear a mark of danger.
    pub dangers: BTreeMap<Band, usize>,
}

impl Tally {
    /// Counts a tag.
    pub fn count(&mut self, label: &Label, facts: &Facts) {
        for (band, _) in label.bands.iter().filter(|(band, _)| *band <= Band::LiveCap) {
            *self.dangers.entry(*band).or_default() += 1;
        }
        *self.kinds.entry(facts.kind).or_default() += 1;
        self.symbols += usize::from(facts.symbol.is_some());
        if facts.kind != TagKind::Flag {
            self.words_alone += usize::from(facts.symbol.is_none());
        } else if let Some(note) = &facts.symbol_note {
            self.symbol_notes.entry(note.clone()).or_default().push(label.name.to_string());
        }
        if let (TagKind::Strip, Some(tube)) = (facts.kind, &facts.tube) {
            self.strips.push((label.name.to_string(), tube.to_string()));
        }
        self.shortened += usize::from(!facts.dropped.is_empty() || !facts.shortened.is_empty());
        self.assumed += usize::from(matches!(facts.diameter, Diameter::Assumed(_)));
        let is_final = facts.kind.purpose() == Purpose::Final;
        self.tabled += usize::from(is_final && facts.diameter.row().is_some());
    }

    /// All tags.
    pub fn tags(&self) -> usize {
        self.kinds.values().sum()
    }
}
