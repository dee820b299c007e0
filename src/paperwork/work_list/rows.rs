//! An end -> its row, with cautions above and remarks below.

use super::At;
use super::cautions;
use super::cavities::Cavities;
use super::order::{Group, Slot};
use super::seats::Seats;
use super::task::{Task, frees, is_stopped};
use crate::base::Step;
use crate::circuits::{Action, ConnectorKind, FarEnd, Naming};
use crate::paperwork::table::{Cell, Column, Row, Table};
use crate::paperwork::{Found, Harness};

/// Longest function in a row, in characters.
const FUNCTION: usize = 48;
/// Longest remark of one sort in a row, in characters: a sheet is no document.
const REMARK: usize = 240;

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
pub(super) fn add<'a>(
    harness: &Harness<'a>,
    cavities: &Cavities<'a>,
    seats: &Seats,
    group: &Group<'a>,
    table: &mut Table,
) {
    if group.len() > 1 {
        let named: Vec<String> = group.iter().filter_map(|slot| Some(slot.cavity?.to_string())).collect();
        table.rows.push(Row::Heading(format!("Twisted or screened, keep together: {}", named.join(" + "))));
    }
    let lister = Lister { harness, cavities, seats, group };
    let mut rows: Vec<Listed> = group.iter().flat_map(|slot| lister.of_slot(slot)).collect();
    let last = rows.pop();
    for listed in rows {
        listed.add(table, Row::Bound);
    }
    if let Some(last) = last {
        last.add(table, Row::Cells);
    }
}

/// A row with what belongs to it.
struct Listed {
    cautions: Vec<String>,
    cells: Vec<Cell>,
    remark: String,
}

impl Listed {
    fn add(self, table: &mut Table, row: impl Fn(Vec<Cell>) -> Row) {
        table.rows.extend(self.cautions.into_iter().map(Row::Caution));
        table.rows.push(row(self.cells));
        table.rows.extend((!self.remark.is_empty()).then_some(Row::Remark(self.remark)));
    }
}

/// What rows are made from.
struct Lister<'l, 'a> {
    harness: &'l Harness<'a>,
    cavities: &'l Cavities<'a>,
    seats: &'l Seats,
    group: &'l Group<'a>,
}

impl Lister<'_, '_> {
    /// The rows of a cavity: what is in it, then what comes.
    fn of_slot(&self, slot: &Slot<'_>) -> Vec<Listed> {
        let mut rows = Vec::new();
        let mut before: Vec<String> = Vec::new();
        for (nth, &at) in slot.ends.iter().enumerate() {
            let cautions = cautions::of_end(self.harness, at);
            // Once for all wires of a cavity.
            let new = if nth > 0 && cautions == before { Vec::new() } else { cautions.clone() };
            before = cautions;
            rows.push(Listed { cautions: new, ..self.of_end(slot, nth) });
        }
        rows.extend(slot.arrivals.iter().map(|&at| self.of_arrival(slot, at)));
        rows
    }

    fn of_end(&self, slot: &Slot<'_>, nth: usize) -> Listed {
        let (harness, at) = (self.harness, slot.ends[nth]);
        let (end, on_bench) = (harness.end(at), harness.on_bench(at));
        let shared = on_one_tag(harness, slot, nth);
        let bears_tag = shared.first().is_none_or(|first| *first == at);
        let seal = self.cavities.is_sealed_at(harness, &slot.ends, at).then_some(Step::Sealed);
        let mut task = Task::of(harness, at, seal);
        if !bears_tag {
            task.steps.retain(|step| *step != Step::Tagged);
        }
        let is_done = |step: Step| match step {
            Step::Tagged if !shared.is_empty() => {
                shared.iter().all(|end| harness.on_bench(*end).done.contains(&Step::Tagged))
            }
            _ => on_bench.done.contains(&step),
        };
        let all_done = !task.steps.is_empty() && task.steps.iter().all(|step| is_done(*step));
        let words = if all_done { format!("done: {}", task.words) } else { task.words.clone() };
        let words = if end.action == Action::Keep { Cell::Words(words) } else { Cell::Strong(words) };
        let tick = |step: Step| if task.steps.contains(&step) { Cell::tick(is_done(step)) } else { Cell::Empty };
        let tag = if bears_tag { tag_name(harness, at, &shared) } else { format!("{}, same tag", letter(harness, at)) };
        let work = on_bench.work.filter(|_| bears_tag);
        let final_tag = on_bench.final_tag.filter(|_| task.steps.contains(&Step::Terminated));
        let kinds: Vec<String> = [work, final_tag].iter().flatten().map(ToString::to_string).collect();
        let mut cells = self.wire_cells(slot, at, tag, kinds.join(", "));
        let own = end.action.step().map_or(Cell::Empty, tick);
        let (out, there) = if frees(&end.action) { (own, Cell::Empty) } else { (Cell::Empty, own) };
        cells.extend([
            tick(Step::Tagged),
            words,
            out,
            tick(Step::Capped),
            tick(Step::Terminated),
            there,
            tick(Step::Sealed),
        ]);
        Listed { cautions: Vec::new(), cells, remark: self.remark(slot, nth, &shared, &task) }
    }

    /// What stands below the row.
    fn remark(&self, slot: &Slot<'_>, nth: usize, shared: &[At], task: &Task) -> String {
        let (harness, at) = (self.harness, slot.ends[nth]);
        let (end, on_bench) = (harness.end(at), harness.on_bench(at));
        let mut parts: Vec<String> = on_bench.found.iter().map(found).collect();
        let is_shown = |step: &Step| task.steps.contains(step) || (*step == Step::Tagged && !shared.is_empty());
        let also: Vec<&str> = on_bench.done.iter().filter(|step| !is_shown(step)).map(|step| step.word()).collect();
        if !also.is_empty() {
            parts.push(format!("By notes also {}", also.join(", ")));
        }
        parts.extend(on_bench.proposals.iter().cloned());
        parts.extend(on_bench.remarks.iter().map(|remark| format!("Noted: {}", shortened(remark, REMARK))));
        if nth == 0 && slot.ends.len() > 1 && slot.cavity.is_some() {
            let is_one_circuit = slot.ends.iter().all(|other| other.0 == at.0);
            parts.push(match (is_one_circuit, shared.len() == slot.ends.len()) {
                (true, true) => format!("Doubled cavity: {} wires, one tag for all", slot.ends.len()),
                (true, false) => format!("Doubled cavity: {} wires", slot.ends.len()),
                (false, _) => format!("{} wires of different circuits in this cavity", slot.ends.len()),
            });
        }
        let is_paired = self.group.iter().flat_map(|slot| &slot.ends).any(|other| other.0 != at.0);
        if let Some(partner) = end.partner.as_deref().filter(|_| !is_paired) {
            parts.push(format!("Twisted or screened with {}, which is not in this list", shortened(partner, FUNCTION)));
        }
        parts.extend(end.note.as_ref().map(|note| shortened(note, REMARK)));
        parts.join(" · ")
    }

    /// The row of an end that moves here: it is counted where it is now.
    fn of_arrival(&self, slot: &Slot<'_>, at: At) -> Listed {
        let harness = self.harness;
        let tag = tag_name(harness, at, &[]);
        let from = &harness.end(at).place;
        let is_done = harness.on_bench(at).done.contains(&Step::Moved);
        let done = if is_done { "done: " } else { "" };
        let mut cells = self.wire_cells(slot, at, tag, String::new());
        cells.push(Cell::Empty);
        if is_stopped(harness, at) {
            cells.push(Cell::Strong(format!("stop, see {from}")));
        } else {
            cells.push(Cell::Strong(format!("{done}arrives from {from}")));
            cells.extend([Cell::Empty, Cell::Empty, Cell::Empty, Cell::tick(is_done)]);
        }
        Listed { cautions: cautions::of_arrival(harness, at), cells, remark: String::new() }
    }

    /// The cells of the wire: cavity, where it sits, colour, size, tag, kind, function, there.
    fn wire_cells(&self, slot: &Slot<'_>, at: At, tag: String, kinds: String) -> Vec<Cell> {
        let harness = self.harness;
        let end = harness.end(at);
        let there = match (harness.there(at), harness.circuit(at.0).far_end(at.1)) {
            (Some(there), _) => Cell::Code(there.to_string()),
            (None, FarEnd::ImpliedSplice) => Cell::Words("splice".to_owned()),
            (None, _) => Cell::Write,
        };
        vec![
            slot.cavity.map_or(Cell::Empty, |cavity| Cell::Large(cavity.to_string())),
            Cell::words(self.seats.aid(slot.cavity)),
            Cell::colour(end.colour.as_ref()),
            Cell::words(end.conductor.as_ref()),
            Cell::Code(tag),
            Cell::words(Some(kinds)),
            Cell::words(Some(function(harness, at))),
            there,
        ]
    }
}

/// `FOUND colour GN, note 4: looks new`.
fn found(found: &Found) -> String {
    let (word, value, remark) =
        (found.finding.word(), shortened(&found.value, REMARK), shortened(&found.remark, REMARK));
    let what = [word, &value].into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" ");
    match (what.as_str(), remark.as_str()) {
        ("", remark) => format!("FOUND, note {}: {remark}", found.note),
        (what, "") => format!("FOUND {what}, note {}", found.note),
        (what, remark) => format!("FOUND {what}, note {}: {remark}", found.note),
    }
}

/// Designation, where a list gives it, and function.
fn function(harness: &Harness<'_>, at: At) -> String {
    let circuit = harness.circuit(at.0);
    let designation = (circuit.naming() == Naming::Designated).then(|| circuit.id().as_str());
    let function = circuit.function.as_deref().map(|function| shortened(function, FUNCTION));
    [designation.map(str::to_owned), function].into_iter().flatten().collect::<Vec<_>>().join(" ")
}

/// The ends that are on one tag with this one, itself among them; none where it has a tag of its own or no tag at all.
pub(super) fn on_one_tag(harness: &Harness<'_>, slot: &Slot<'_>, nth: usize) -> Vec<At> {
    let gathers = |at: At| {
        let kind = harness.circuits.connector(&harness.end(at).place.connector).map(|connector| connector.kind);
        matches!(kind, Some(ConnectorKind::Stud | ConnectorKind::Splice))
    };
    let follows = |one: &At, other: &At| {
        one.0 == other.0 && one.1 + 1 == other.1 && [one, other].iter().all(|at| harness.on_bench(**at).work.is_some())
    };
    let mut runs = slot.ends.chunk_by(follows);
    let own = runs.find(|run| run.contains(&slot.ends[nth])).unwrap_or_default();
    if own.len() > 1 && slot.cavity.is_some() && !gathers(own[0]) { own.to_vec() } else { Vec::new() }
}

fn letter(harness: &Harness<'_>, at: At) -> String {
    harness.issued.circuits[at.0].letters[at.1].to_string()
}

/// `7KF4 A`, or `7KF4 A+B`.
fn tag_name(harness: &Harness<'_>, at: At, shared: &[At]) -> String {
    if shared.is_empty() {
        return harness.tag(at);
    }
    let letters: Vec<String> = shared.iter().map(|at| letter(harness, *at)).collect();
    format!("{} {}", harness.issued.circuits[at.0].code, letters.join("+"))
}

/// A text on one line, cut at a blank where it is longer.
fn shortened(text: &str, most: usize) -> String {
    let mut short = String::new();
    let mut count = 0;
    for word in text.split_whitespace() {
        let length = word.chars().count();
        if count + length > most {
            let rest: String = if short.is_empty() { word.chars().take(most).collect() } else { String::new() };
            return format!("{short}{rest} …").trim_start().to_owned();
        }
        if !short.is_empty() {
            short.push(' ');
        }
        short.push_str(word);
        count += length + 1;
    }
    short
}
