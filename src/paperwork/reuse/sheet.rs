//! Matches -> the sheet: which removed wire is for what, with boxes to tick; what to measure, with lines to write on; what is left.

use super::words::{Words, look, of_purchase};
use super::{MOST_WIRES, Match, Reuse, Spare};
use crate::base::Length;
use crate::labels::along::WireEnds;
use crate::layout::text::Fonts;
use crate::paperwork::pen::{self, Look};
use crate::paperwork::table::CAP;
use crate::paperwork::{Binding, Cell, Column, Harness, Letterhead, Passage, Row, Sheet, Table};

/// White above a table.
const BEFORE: Length = Length::nm(5_000_000);
/// Height of the capitals of a heading, in millimetres.
const HEADING_CAP: f64 = 2.6;
/// Width of a column of tags, in millimetres: `7KF4 A-B` stays on one line.
const TAG: f64 = 18.0;

/// The sheet; `None` where nothing is removed or nothing is wanted.
pub fn sheet(harness: &Harness<'_>, reuse: &Reuse, slack: Length, head: &Letterhead, fonts: &Fonts) -> Option<Sheet> {
    if reuse.wanted.is_empty() || reuse.spares.is_empty() && reuse.held_back.is_empty() {
        return None;
    }
    let words = Words { harness, reuse };
    let width = head.paper.room().width;
    let mut passages = Vec::new();
    if let Some(told) = not_compared(reuse) {
        let frame = pen::paragraph(fonts, width, &told, Look::strong(CAP));
        passages.push(Passage::of(frame, Length::ZERO, Binding::Free));
    }
    for (heading, table) in [
        ("use again: settle this before any of them is pulled", matches(words)),
        ("measure these first", possible(words)),
        ("to buy", purchases(words)),
        ("left for stock", stock(words)),
        ("left out", held_back(words)),
    ] {
        if !table.rows.is_empty() {
            let frame = pen::paragraph(fonts, width, heading, Look::strong(HEADING_CAP));
            passages.push(Passage::of(frame, BEFORE, Binding::WithNext));
            passages.push(table.passage(fonts, width, Length::ZERO));
        }
    }
    let note = format!(
        "Cut lengths are the way and {slack} at each end. Measure before cutting: a list may be wrong. A wire that was used in an \
         engine bay may be brittle or green inside: look at both ends first."
    );
    passages.push(Passage::of(pen::paragraph(fonts, width, &note, Look::words(CAP)), BEFORE, Binding::Free));
    let (met, all) = (reuse.matches.len(), reuse.wanted.len());
    Some(Sheet {
        title: head.job.clone(),
        subtitle: format!(
            "{met} of {all} wanted wires can be had from {} to remove",
            reuse.spares.len() + reuse.not_compared.0
        ),
        sort: "reuse".to_owned(),
        symbol: None,
        passages,
    })
}

/// That there are more wires than are compared, where there are; and what the sheet does with them.
fn not_compared(reuse: &Reuse) -> Option<String> {
    let (spares, wanted) = reuse.not_compared;
    let parts = [
        (spares > 0).then(|| format!("Removed wires that were not compared, and are in no table here: {spares}.")),
        (wanted > 0).then(|| format!("Wanted wires that were not compared, and are under \"to buy\": {wanted}.")),
    ];
    let told: Vec<String> = parts.into_iter().flatten().collect();
    let why = format!(
        "At most {MOST_WIRES} of each are compared: `loomtag reuse` with --connector or --branch compares those of a part."
    );
    (!told.is_empty()).then(|| format!("{} {why}", told.join(" ")))
}

/// Tag, way and colour of a wire.
fn wire_cells(words: Words<'_>, wire: WireEnds) -> Vec<Cell> {
    vec![Cell::Code(words.tag(wire.circuit, wire.ends())), Cell::Words(words.way(wire))]
}

fn spare_cells(words: Words<'_>, spare: &Spare) -> Vec<Cell> {
    let mut cells = wire_cells(words, spare.wire);
    cells.extend([Cell::colour(spare.colour.as_ref()), Cell::words(spare.conductor.as_ref())]);
    cells
}

fn spare_columns() -> Vec<Column> {
    let others = ["removed wire", "colour", "size"].map(Column::new);
    std::iter::once(Column::new("tag").wide(TAG)).chain(others).collect()
}

/// Whole millimetres, as the unit stands in the head.
fn millimetres(length: Option<Length>) -> Cell {
    Cell::words(length.map(|length| length.as_mm().round()))
}

/// What is said of a row, in one cell.
fn note(told: &[String]) -> Cell {
    Cell::words(Some(told.join("; ")))
}

fn matches(words: Words<'_>) -> Table {
    let mut columns = vec![Column::new("").wide(6.0)];
    columns.extend(spare_columns());
    columns.extend([
        Column::new("long mm").right(),
        Column::new("for").wide(TAG),
        Column::new("wanted"),
        Column::new("cut to mm").right(),
        Column::new("left mm").right(),
        Column::new("mind").growing(),
    ]);
    let mut table = Table::new(columns);
    let row = |one: &Match| {
        let wanted = &words.reuse.wanted[one.wanted];
        let mut cells = vec![Cell::open_box()];
        cells.extend(spare_cells(words, &words.reuse.spares[one.spare]));
        cells.extend([
            millimetres(Some(one.from)),
            Cell::Code(words.tag(wanted.what.circuit(), wanted.what.ends())),
            Cell::Words(words.wanted_way(wanted)),
            Cell::Strong(one.piece.as_mm().round().to_string()),
            millimetres(Some(one.rest())),
            note(&words.of_match(one)),
        ]);
        Row::Cells(cells)
    };
    table.rows = words.reuse.matches.iter().map(row).collect();
    table
}

fn possible(words: Words<'_>) -> Table {
    let mut columns = spare_columns();
    columns.extend([
        Column::new("long mm").right(),
        Column::new("what to measure").growing(),
        Column::new("measured").wide(22.0),
    ]);
    let mut table = Table::new(columns);
    for of_want in words.reuse.measure_first.chunk_by(|one, other| one.wanted == other.wanted) {
        let Some(first) = of_want.first() else { continue };
        let wanted = &words.reuse.wanted[first.wanted];
        let tag = words.tag(wanted.what.circuit(), wanted.what.ends());
        let is = look(wanted.colour.as_ref(), wanted.conductor.as_ref(), wanted.insulation.as_ref());
        table.rows.push(Row::Heading(format!("{tag} {}, {is}", words.wanted_way(wanted))));
        for one in of_want {
            let spare = &words.reuse.spares[one.spare];
            let mut cells = spare_cells(words, spare);
            cells.extend([millimetres(spare.length), Cell::Words(words.of_possible(one)), Cell::Write]);
            table.row(cells);
        }
    }
    table
}

fn purchases(words: Words<'_>) -> Table {
    let columns =
        vec![Column::new("").wide(6.0), Column::new("wire"), Column::new("how much"), Column::new("for").growing()];
    let mut table = Table::new(columns);
    for buy in &words.reuse.to_buy {
        let wants: Vec<String> = buy.wanted.iter().map(|&at| words.wanted_way(&words.reuse.wanted[at])).collect();
        let wire = look(buy.colour.as_ref(), buy.conductor.as_ref(), buy.insulation.as_ref());
        table.row(vec![
            Cell::open_box(),
            Cell::Strong(wire),
            Cell::Words(of_purchase(buy)),
            Cell::Words(wants.join(", ")),
        ]);
    }
    table
}

fn stock(words: Words<'_>) -> Table {
    let mut columns = spare_columns();
    columns.extend([Column::new("long mm").right(), Column::new("mind").growing()]);
    let mut table = Table::new(columns);
    for (_, spare) in words.reuse.left_for_stock() {
        let mut cells = spare_cells(words, spare);
        cells.extend([millimetres(spare.length), note(&words.of_spare(spare))]);
        table.row(cells);
    }
    table
}

fn held_back(words: Words<'_>) -> Table {
    let mut table = Table::new(vec![Column::new("tag"), Column::new("wire"), Column::new("why").growing()]);
    for held in &words.reuse.held_back {
        let mut cells = wire_cells(words, held.wire);
        cells.push(Cell::Words(words.why(held)));
        table.row(cells);
    }
    table
}
