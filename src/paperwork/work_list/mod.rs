//! The work list of a connector: every end in it in the order the hand moves, with what to confirm, what to do, and a box for each
//! step; at the foot what it comes to, and the cavity plugs it takes.
//!
//! ```text
//! contents    the ends of every connector, and those that arrive there
//! seats       where the cavities sit, and how to count to them
//! cavities    what becomes of each cavity: which ones need a plug
//! order       which rows stand together, and in which order
//! cautions    what must be seen before a wire is touched
//! task        what is to be done with an end, step by step
//! rows        an end -> its row, with cautions above and remarks below
//! totals      what a list comes to
//! ```

mod cautions;
mod cavities;
mod contents;
mod order;
mod rows;
mod seats;
mod task;
#[cfg(test)]
mod tests;
mod totals;

use super::flow::{Binding, Passage};
use super::pen::{self, Look};
use super::table::{Cell, Column, Row, Table};
use super::{Harness, Letterhead, Sheet};
use crate::base::{Cavity, ConnectorId, Length};
use crate::labels::connector::symbol_text;
use crate::layout::text::Fonts;
use cavities::Cavities;
use contents::Contents;
use seats::Seats;
use totals::Totals;

/// What is said at the head of every list.
const RULES: &str = "Battery off, negative first. Confirm the colour, tag both sides, then cut between the tags. No mark does not mean dead: \
                     test.";
/// White between the parts of a list.
const GAP: Length = Length::nm(4_000_000);
/// Height of capitals of what stands around the table.
const CAP: f64 = 1.9;

/// An end, by circuit and end.
type At = (usize, usize);

/// The work lists of all connectors.
pub struct WorkLists<'h, 'a> {
    harness: &'h Harness<'a>,
    contents: Contents<'a>,
}

impl<'h, 'a> WorkLists<'h, 'a> {
    /// Of a harness.
    pub fn new(harness: &'h Harness<'a>) -> Self {
        Self { harness, contents: Contents::of(harness) }
    }

    /// The connectors that have a list, in natural order: those in which a wire ends, and those that wires move to.
    pub fn connectors(&self) -> impl Iterator<Item = &'a ConnectorId> + '_ {
        self.contents.connectors()
    }

    /// The cavities of every connector that are closed with a plug when the work is done, in natural order.
    pub fn plugs(&self) -> Vec<(&'a ConnectorId, Vec<&'a Cavity>)> {
        let to_seal = |id: &'a ConnectorId| {
            let cavities = Cavities::of(self.harness, self.contents.get(id)?, self.harness.circuits.connector(id));
            Some((id, cavities.to_seal()))
        };
        self.connectors().filter_map(to_seal).filter(|(_, cavities)| !cavities.is_empty()).collect()
    }

    /// The list of a connector; `None` where no wire ends there and none arrives.
    pub fn sheet(&self, connector: &ConnectorId, letterhead: &Letterhead, fonts: &Fonts) -> Option<Sheet> {
        let harness = self.harness;
        let content = self.contents.get(connector)?;
        let described = harness.circuits.connector(connector);
        let cavities = Cavities::of(harness, content, described);
        let width = letterhead.paper.room().width;
        let look = Look::words(CAP);
        let paragraph =
            |words: &str| Passage::of(pen::paragraph(fonts, width, words, look), Length::ZERO, Binding::Free);

        let mut passages = Vec::new();
        let mut marks = Table::new(vec![Column::new("").growing()]);
        marks.rows = cautions::of_connector(harness, connector, content).into_iter().map(Row::Caution).collect();
        passages.push(marks.passage(fonts, width, Length::ZERO));
        let rules = pen::paragraph(fonts, width, RULES, look);
        passages.push(Passage::of(rules, Length::mm(1.5), Binding::WithNext));

        let seats = Seats::of(harness, connector, &self.contents);
        let mut table = Table::new(rows::columns(&seats));
        for group in order::groups(harness, content, &seats) {
            rows::add(harness, &cavities, &seats, &group, &mut table);
        }
        table.drop_empty_columns();
        passages.push(table.passage(fonts, width, Length::ZERO));

        let totals = Totals::of(harness, content);
        passages.push(totals.table().passage(fonts, width, GAP));
        passages.extend(cavities.told(&seats.unnamed).iter().enumerate().map(|(nth, words)| {
            let before = if nth == 0 { GAP } else { Length::ZERO };
            Passage { before, ..paragraph(words) }
        }));
        Some(Sheet {
            title: connector.to_string(),
            subtitle: described.and_then(|described| described.short_name.clone()).unwrap_or_default(),
            sort: "work list".to_owned(),
            symbol: Some(symbol_text(harness.circuits, harness.payload, connector)),
            passages,
        })
    }
}

/// A number, or nothing for none.
fn number(count: usize) -> Cell {
    if count == 0 { Cell::Empty } else { Cell::Words(count.to_string()) }
}
