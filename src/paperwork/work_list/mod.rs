//! The work list of a connector: every end in it in the order the hand moves, with what to confirm, what to do, and a box for each
//! step; at the foot what it comes to, and the cavity plugs it takes.
//!
//! ```text
//! contents    the ends of a connector, and those that arrive there
//! seats       where the cavities sit, and how to count to them
//! cavities    what becomes of each cavity: which ones need a plug
//! order       which rows stand together, and in which order
//! cautions    what must be seen before a wire is touched
//! task        what is to be done with an end, step by step
//! entry       an end -> what the list tells of it
//! rows        entries -> rows, with cautions above and remarks below
//! at_end      an end -> what its list tells to do there
//! totals      what a list comes to
//! ```

mod at_end;
mod cautions;
mod cavities;
mod contents;
mod entry;
mod order;
mod rows;
mod seats;
mod task;
#[cfg(test)]
mod tests;
mod totals;

use std::collections::BTreeMap;

use super::face::{self, FilledFace};
use super::flow::{Binding, Passage};
use super::pen::{self, Look};
use super::table::{self, Cell, Column, Row, Table};
use super::{Harness, Letterhead, Sheet};
use crate::base::{Cavity, ConnectorId, Length, Step};
use crate::circuits::Action;
use crate::labels::connector::symbol_text;
use crate::layout::text::Fonts;
pub use at_end::AtEnd;
use cavities::Cavities;
use contents::Content;
pub use entry::Entry;
use entry::Lister;
use seats::Seats;
use task::Task;
pub use task::is_stopped;
pub use totals::{Count, Totals};

/// What is said at the head of a list.
const RULES: &str = "Battery off, negative first. Confirm the colour, tag both sides, then cut between the tags. No mark does not mean dead: \
                     test.";
/// The same where nothing may be cut, or measured.
const RULES_UNCUT: &str = "Battery off, negative first.";
/// White between the parts of a list.
const GAP: Length = Length::nm(4_000_000);
/// Height of capitals of what stands around the table.
const CAP: f64 = 1.9;

/// Height of capitals of the names of connectors without a face.
const NAME_CAP: f64 = 3.0;
/// White between connectors.
const BETWEEN: Length = Length::nm(7_000_000);

/// An end, by circuit and end.
type At = (usize, usize);

/// The work lists of all connectors.
pub struct WorkLists<'h, 'a> {
    harness: &'h Harness<'a>,
}

/// What a list tells, without its paper.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ToldList {
    /// What must be seen first.
    pub cautions: Vec<String>,
    /// How to go about it, a paragraph each, what may hurt first.
    pub rules: Vec<String>,
    /// What holds of all counting aids: `wire side, latch up`; empty where there are none.
    pub seen: String,
    /// The entries, in the order of the face.
    pub groups: Vec<ToldGroup>,
    /// What it comes to.
    pub totals: Totals,
    /// Of cavities: those that no list names, and the plugs that are needed, a sentence or two each.
    pub cavities: Vec<String>,
}

impl ToldList {
    /// All entries.
    pub fn entries(&self) -> impl Iterator<Item = &Entry> {
        self.groups.iter().flat_map(|group| &group.entries)
    }
}

/// Entries that stay together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ToldGroup {
    /// What stands above them, where they are several cavities.
    pub heading: Option<String>,
    /// The entries.
    pub entries: Vec<Entry>,
}

impl<'h, 'a> WorkLists<'h, 'a> {
    /// Of a harness.
    pub const fn new(harness: &'h Harness<'a>) -> Self {
        Self { harness }
    }

    /// The connectors that have a list, in natural order: those in which a wire ends, and those that wires move to.
    pub fn connectors(&self) -> impl Iterator<Item = &'a ConnectorId> + use<'a> {
        let mut all = self.harness.circuits.all_connectors();
        all.retain(|id| Content::of(self.harness.circuits, id).is_some());
        all.into_iter()
    }

    /// The cavities of every connector that are closed with a plug when the work is done, in natural order.
    pub fn plugs(&self) -> Vec<(&'a ConnectorId, Vec<&'a Cavity>)> {
        let to_seal = |id: &'a ConnectorId| {
            let cavities = Cavities::of(
                self.harness,
                Content::of(self.harness.circuits, id)?,
                self.harness.circuits.connector(id),
            );
            Some((id, cavities.to_seal()))
        };
        self.connectors().filter_map(to_seal).filter(|(_, cavities)| !cavities.is_empty()).collect()
    }

    /// The ends that have a box for this step which is not ticked, in working order.
    pub fn open(&self, step: Step) -> Vec<(usize, usize)> {
        let is_open = |at: &At| {
            let is_asked = Task::of(self.harness, *at, None).steps.contains(&step);
            is_asked && !self.harness.on_bench(*at).done.contains(&step)
        };
        self.harness.circuits.working_order().into_iter().filter(is_open).collect()
    }

    /// Whether nothing is to be done in a connector: all its wires are kept, none arrives, and none is tagged for the sake of its far
    /// end.
    pub fn stays(&self, connector: &ConnectorId) -> bool {
        let stays = |at: &At| self.harness.end(*at).action == Action::Keep && self.harness.on_bench(*at).work.is_none();
        Content::of(self.harness.circuits, connector)
            .is_some_and(|content| content.arrivals.is_empty() && content.ends.iter().all(stays))
    }

    /// What the list of a connector tells, for whoever shows it elsewhere than on paper; `None` where no wire ends there and none
    /// arrives.
    pub fn told(&self, connector: &ConnectorId) -> Option<ToldList> {
        let content = Content::of(self.harness.circuits, connector)?;
        let cavities = Cavities::of(self.harness, content, self.harness.circuits.connector(connector));
        let seats = Seats::of(self.harness, connector);
        let groups = order::groups(self.harness, content, &seats);
        let groups = groups.iter().map(|group| {
            let lister = Lister { harness: self.harness, cavities: &cavities, seats: &seats, group };
            ToldGroup { heading: lister.heading(), entries: lister.entries() }
        });
        Some(ToldList {
            cautions: cautions::of_connector(self.harness, connector, content),
            rules: cautions::rules(self.harness, connector, content),
            groups: groups.collect(),
            totals: Totals::of(self.harness, content),
            cavities: cavities.told(&seats.unnamed),
            seen: seats.seen,
        })
    }

    /// The list of a connector, below its face if that is given; `None` where no wire ends there and none arrives.
    pub fn sheet(
        &self,
        connector: &ConnectorId,
        face: Option<&FilledFace>,
        letterhead: &Letterhead,
        fonts: &Fonts,
    ) -> Option<Sheet> {
        let content = Content::of(self.harness.circuits, connector)?;
        let width = letterhead.paper.room().width;
        let look = Look::words(CAP);

        // What must be seen first stands at the head, above the faces.
        let mut marks = Table::new(vec![Column::new("").growing()]);
        marks.rows = cautions::of_connector(self.harness, connector, content).into_iter().map(Row::Caution).collect();
        let mut passages = vec![marks.passage(fonts, width, Length::ZERO)];
        passages.extend(face::passages(face.into_iter(), letterhead, fonts));
        let rules = cautions::rules(self.harness, connector, content).join(" ");
        let rules = pen::paragraph(fonts, width, &rules, look);
        passages.push(Passage::of(rules, Length::mm(1.5), Binding::WithNext));

        let (table, seats, cavities) = self.table(connector, content);
        passages.push(table.passage(fonts, width, Length::ZERO));

        let totals = Totals::of(self.harness, content);
        passages.push(totals.table().passage(fonts, width, GAP));
        passages.extend(cavities.told(&seats.unnamed).iter().enumerate().map(|(nth, words)| {
            let before = if nth == 0 { GAP } else { Length::ZERO };
            Passage { before, strips: table::paragraph(fonts, width, words, look), ..Passage::default() }
        }));
        Some(Sheet {
            title: connector.to_string(),
            subtitle: self.short_name(connector).unwrap_or_default().to_owned(),
            sort: "work list".to_owned(),
            symbol: Some(symbol_text(self.harness.circuits, self.harness.payload, connector)),
            passages,
        })
    }

    /// One list of the connectors in which nothing is to be done, so that they need not have a page each; `None` where there are none.
    pub fn staying(
        &self,
        faces: &BTreeMap<ConnectorId, FilledFace>,
        letterhead: &Letterhead,
        fonts: &Fonts,
    ) -> Option<Sheet> {
        let width = letterhead.paper.room().width;
        let mut passages = Vec::new();
        let mut count = 0;
        for connector in self.connectors().filter(|connector| self.stays(connector)) {
            let Some(content) = Content::of(self.harness.circuits, connector) else { continue };
            count += 1;
            let drawn = face::passages(faces.get(connector).into_iter(), letterhead, fonts);
            if drawn.is_empty() {
                let name = format!("{connector}   {}", self.short_name(connector).unwrap_or_default());
                let name = pen::paragraph(fonts, width, name.trim_end(), Look::strong(NAME_CAP));
                passages.push(Passage::of(name, BETWEEN, Binding::WithNext));
            }
            passages.extend(drawn.into_iter().map(|passage| Passage { before: BETWEEN, ..passage.with_next() }));
            let (table, ..) = self.table(connector, content);
            passages.push(table.passage(fonts, width, Length::ZERO));
        }
        (count > 0).then(|| Sheet {
            title: letterhead.job.clone(),
            subtitle: format!("{count} connectors in which nothing is to be done; --connector prints a list of one"),
            sort: "connectors that stay".to_owned(),
            symbol: None,
            passages,
        })
    }

    /// The rows of a connector, and what they were made from.
    fn table(&self, connector: &ConnectorId, content: Content<'_>) -> (Table, Seats, Cavities<'a>) {
        let cavities = Cavities::of(self.harness, content, self.harness.circuits.connector(connector));
        let seats = Seats::of(self.harness, connector);
        let mut table = Table::new(rows::columns(&seats));
        for group in order::groups(self.harness, content, &seats) {
            let lister = Lister { harness: self.harness, cavities: &cavities, seats: &seats, group: &group };
            rows::add(&lister, &mut table);
        }
        table.drop_empty_columns();
        (table, seats, cavities)
    }

    fn short_name(&self, connector: &ConnectorId) -> Option<&'a str> {
        self.harness.circuits.connector(connector)?.short_name.as_deref()
    }
}

/// A number, or nothing for none.
fn number(count: usize) -> Cell {
    if count == 0 { Cell::Empty } else { Cell::Words(count.to_string()) }
}
