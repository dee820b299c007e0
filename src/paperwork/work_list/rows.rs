//! Entries -> the rows of a list on paper, with cautions above and remarks below.

use super::entry::{Entry, Lister};
use super::seats::Seats;
use super::task::frees;
use crate::base::Step;
use crate::circuits::{Action, FarEnd};
use crate::paperwork::Harness;
use crate::paperwork::table::{Cell, Column, Row, Table, Tick};

/// The columns of a list; those of the steps in the order of the work.
pub(super) fn columns(seats: &Seats) -> Vec<Column> {
    let sits =
        if seats.seen.is_empty() { "where it sits".to_owned() } else { format!("where it sits: {}", seats.seen) };
    vec![
        Column::new("cavity"),
        Column::new(&sits),
        Column::new("colour: confirm"),
        Column::new("size").whole(),
        Column::new("tag").whole(),
        Column::new("kind"),
        Column::new("function").growing(),
        Column::new("there"),
        Column::new("tagged"),
        Column::new("what to do"),
        Column::new("cut, pulled"),
        Column::new("capped"),
        Column::new("terminated"),
        Column::new("moved, added, longer"),
        Column::new("sealed"),
    ]
}

/// Adds the rows of cavities that stay together.
pub(super) fn add(lister: &Lister<'_, '_>, table: &mut Table) {
    table.rows.extend(lister.heading().map(Row::Heading));
    let mut entries = lister.entries();
    let last = entries.pop();
    for entry in entries {
        add_entry(lister.harness, entry, table, Row::Bound);
    }
    if let Some(last) = last {
        add_entry(lister.harness, last, table, Row::Cells);
    }
}

fn add_entry(harness: &Harness<'_>, entry: Entry, table: &mut Table, row: impl Fn(Vec<Cell>) -> Row) {
    let cells = cells(harness, &entry);
    table.rows.extend(entry.cautions.into_iter().map(Row::Caution));
    table.rows.push(row(cells));
    table.rows.extend((!entry.remark.is_empty()).then_some(Row::Remark(entry.remark)));
}

fn cells(harness: &Harness<'_>, entry: &Entry) -> Vec<Cell> {
    let end = harness.end(entry.at);
    let there = match &entry.there {
        Some(there) if harness.circuit(entry.at.0).far_end(entry.at.1) == FarEnd::ImpliedSplice => {
            Cell::Words(there.clone())
        }
        Some(there) => Cell::Code(there.clone()),
        None => Cell::Write,
    };
    let words = match end.action == Action::Keep && !entry.arrives {
        true => Cell::Words(entry.words.clone()),
        false => Cell::Strong(entry.words.clone()),
    };
    let tick = |step: Step| {
        let found = entry.steps.iter().find(|(known, _)| *known == step);
        let tick = |is_done: bool| Cell::Ticks(vec![Tick { is_done, ..Tick::default() }]);
        found.map_or(Cell::Empty, |(_, is_done)| tick(*is_done))
    };
    let own = end.action.step().map_or(Cell::Empty, tick);
    let (out, arrives) = if frees(&end.action) { (own, Cell::Empty) } else { (Cell::Empty, own) };
    vec![
        entry.cavity.as_ref().map_or(Cell::Empty, |cavity| Cell::Large(cavity.to_string())),
        Cell::words(entry.aid.as_ref()),
        Cell::colour(end.colour.as_ref()),
        Cell::words(end.conductor.as_ref()),
        Cell::Code(entry.tag.clone()),
        Cell::words(Some(&entry.kinds)),
        Cell::words(Some(&entry.function)),
        there,
        tick(Step::Tagged),
        words,
        out,
        tick(Step::Capped),
        tick(Step::Terminated),
        arrives,
        tick(Step::Sealed),
    ]
}
