//! The first sheet: every connector with what there is to do in it, so that the work can be parted and nothing is forgotten.

use super::flow::Passage;
use super::table::{Cell, Column, Row, Table};
use super::{Harness, Letterhead, Sheet};
use crate::base::{ConnectorId, counted};
use crate::circuits::Action;
use crate::layout::text::Fonts;

/// What is counted in a connector, in the order of the columns: the head of each, and the word of its action.
pub const COUNTED: [(&str, &str); 8] = [
    ("cut", "cut"),
    ("pull", "remove"),
    ("move", "move"),
    ("add", "add"),
    ("extend", "extend"),
    ("reserve", "reserve"),
    ("keep", "keep"),
    ("undecided", "undecided"),
];

/// The sheet; `None` where no list names a connector.
pub fn sheet(harness: &Harness<'_>, letterhead: &Letterhead, fonts: &Fonts) -> Option<Sheet> {
    let connectors = harness.by_connector();
    let mut columns = vec![Column::new("connector"), Column::new("what it is").growing(), Column::new("branch")];
    columns.push(Column::new("ends").right());
    columns.extend(COUNTED.iter().map(|(head, _)| Column::new(head).right()));
    columns.push(Column::new("done").wide(11.0));
    let mut table = Table::new(columns);
    let mut sums = [0; COUNTED.len()];
    let mut all = 0;
    for (id, ends) in connectors.iter().filter(|(_, ends)| !ends.is_empty()) {
        let counts = counts(harness, ends);
        all += ends.len();
        sums.iter_mut().zip(counts).for_each(|(sum, count)| *sum += count);
        let mut cells = row(harness, id);
        cells.push(Cell::Words(ends.len().to_string()));
        cells.extend(counts.map(number));
        cells.push(Cell::open_box());
        table.row(cells);
    }
    if table.rows.is_empty() {
        return None;
    }
    let mut cells = vec![Cell::Strong("all".to_owned()), Cell::Empty, Cell::Empty, Cell::Strong(all.to_string())];
    cells.extend(sums.map(|count| if count == 0 { Cell::Empty } else { Cell::Strong(count.to_string()) }));
    table.rows.push(Row::Cells(cells));
    let passages: Vec<Passage> = vec![table.passage(fonts, letterhead.paper.room().width, Default::default())];
    Some(Sheet {
        title: letterhead.job.clone(),
        subtitle: [
            counted(harness.circuits.all().len(), "circuit"),
            counted(all, "end"),
            counted(table.rows.len() - 1, "connector"),
        ]
        .join(", "),
        sort: "overview".to_owned(),
        symbol: None,
        passages,
    })
}

fn row(harness: &Harness<'_>, id: &ConnectorId) -> Vec<Cell> {
    let connector = harness.circuits.connector(id);
    let short_name = connector.and_then(|connector| connector.short_name.as_deref());
    let branch = connector.and_then(|connector| connector.branch.as_deref());
    vec![Cell::Code(id.to_string()), Cell::words(short_name), Cell::words(branch)]
}

fn counts(harness: &Harness<'_>, ends: &[(usize, usize)]) -> [usize; COUNTED.len()] {
    COUNTED.map(|(_, word)| ends.iter().filter(|at| word == Action::word(&harness.end(**at).action)).count())
}

fn number(count: usize) -> Cell {
    if count == 0 { Cell::Empty } else { Cell::Words(count.to_string()) }
}
