//! What a run made, counted: for the last lines that a person reads.

use std::collections::{BTreeMap, BTreeSet};

use crate::base::{Purpose, TagKind};
use crate::circuits::Circuits;
use crate::labels::{self, Band, Label, Position, TagName};
use crate::layout::{Facts, TubeUse};

/// Counts over all tags of a run.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// Tags of each kind.
    pub kinds: BTreeMap<TagKind, usize>,
    /// Tags with a symbol.
    pub symbols: usize,
    /// Work tags that have no symbol or a lesser one than asked for: each reason with their names.
    pub symbol_notes: BTreeMap<String, Vec<String>>,
    /// Strips by name, each with the tube it goes under.
    pub strips: Vec<(String, String)>,
    /// Sizes of tube that sleeves are printed on.
    pub tubes: BTreeSet<String>,
    /// Tags of each kind that carry no symbol though they should.
    pub no_symbol: BTreeMap<TagKind, usize>,
    /// Tags that lost or shortened lines.
    pub shortened: usize,
    /// Lines that no font can draw, in words, each with the names of the tags that lack it.
    pub undrawn: BTreeMap<String, Vec<String>>,
    /// Tags made for an assumed diameter.
    pub assumed: usize,
    /// Tags that stand in for another kind, by kind and usual kind: each reason with their names.
    pub stand_ins: BTreeMap<(TagKind, TagKind), BTreeMap<String, Vec<String>>>,
    /// Final tags made for a diameter out of the table.
    pub tabled: usize,
    /// Tags that bear a mark of danger.
    pub dangers: BTreeMap<Band, usize>,
    /// Tags of connectors.
    pub connectors: usize,
    /// Those of them that go round a wire, not on a tie.
    pub round_one_wire: usize,
    /// Blanks.
    pub blanks: usize,
    /// Marks along wires.
    pub marks: usize,
    /// Tags that are spread along wires, by name, each with its place on the wire.
    pub positions: Vec<(String, Position)>,
    /// Wires that have no marks between their ends, because no list tells their length.
    pub of_no_length: Vec<String>,
    /// Wires that are too short for any tag.
    pub too_short: Vec<String>,
}

impl Tally {
    /// What to mind with the tags that bear a mark of danger, the worst first.
    pub fn dangers_in_words(&self) -> Vec<String> {
        let say = |(band, count): (&Band, &usize)| {
            let tags = if *count == 1 { "1 tag".to_owned() } else { format!("{count} tags") };
            Some(match band {
                Band::HighVoltage => format!("{tags} HIGH VOLTAGE: stop; trained persons only"),
                Band::Restraint => {
                    format!(
                        "{tags} RESTRAINT: never cut, probe or tap into; disarm and wait as the maker's manual says"
                    )
                }
                Band::Live => format!("{tags} LIVE WITH BATTERY ON"),
                Band::LiveCap => format!("{tags} LIVE WITH BATTERY ON at an end that comes free: cap it at once"),
                // These are no dangers, and are not counted as such.
                Band::Out | Band::New | Band::Spare => return None,
            })
        };
        self.dangers.iter().filter_map(say).collect()
    }

    /// Counts a tag.
    pub fn count(&mut self, label: &Label, facts: &Facts) {
        for (band, _) in label.bands.iter().filter(|(band, _)| *band <= Band::LiveCap) {
            *self.dangers.entry(*band).or_default() += 1;
        }
        *self.kinds.entry(facts.kind).or_default() += 1;
        self.symbols += usize::from(facts.symbol.is_some());
        if let Some((usual, why)) = &facts.instead_of {
            let reasons = self.stand_ins.entry((facts.kind, *usual)).or_default();
            reasons.entry(why.clone()).or_default().push(label.name.to_string());
        }
        if let Some(note) = &facts.symbol_note {
            if facts.symbol.is_none() {
                *self.no_symbol.entry(facts.kind).or_default() += 1;
            }
            if !facts.kind.is_round() {
                self.symbol_notes.entry(note.clone()).or_default().push(label.name.to_string());
            }
        }
        if let Some(tube) = facts.tube.as_ref().filter(|tube| tube.tube == TubeUse::Printed) {
            self.tubes.insert(tube.size.clone());
        }
        if let (TagKind::Strip, Some(tube)) = (facts.kind, &facts.tube) {
            self.strips.push((label.name.to_string(), tube.to_string()));
        }
        for undrawn in facts.undrawn() {
            self.undrawn.entry(undrawn).or_default().push(label.name.to_string());
        }
        self.shortened += usize::from(!facts.dropped.is_empty() || !facts.shortened.is_empty());
        let is_final = facts.kind.purpose() == Purpose::Final;
        self.tabled += usize::from(is_final && facts.diameter.row().is_some());
        match label.name {
            TagName::Ends { .. } => {}
            TagName::Blank(_) => self.blanks += 1,
            TagName::Between { .. } => self.marks += 1,
            TagName::Connector(_) => self.connectors += 1,
        }
        self.positions.extend(label.at.clone().map(|at| (label.name.to_string(), at)));
        // A connector has no diameter: its tag goes round any wire of it. Nor has a blank.
        let is_connector = matches!(label.name, TagName::Connector(_));
        let is_assumed = facts.is_for_assumed_diameter();
        let has_a_wire = !matches!(label.name, TagName::Connector(_) | TagName::Blank(_));
        self.assumed += usize::from(is_assumed && has_a_wire);
        self.round_one_wire += usize::from(is_assumed && is_connector);
    }

    /// Notes the wires of a selection that have no marks.
    pub fn count_unmarked(&mut self, circuits: &Circuits, selection: &labels::Selection) {
        self.of_no_length.extend(selection.of_no_length.iter().map(|wire| wire.name(circuits)));
        self.too_short.extend(selection.too_short.iter().map(|wire| wire.name(circuits)));
    }

    /// All tags.
    pub fn tags(&self) -> usize {
        self.kinds.values().sum()
    }
}
