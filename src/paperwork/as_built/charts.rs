//! Circuits -> charts, one for each connector, as CSV that a spreadsheet opens and `init` reads back.
//!
//! A chart has a row for each end in natural order, and every column that is in use in it, under our own names. Sizes and lengths have
//! their units, so that no spreadsheet takes `2.4` for a date. Beside the charts stand connectors.csv, without its actions, as every
//! row says its own, and wires.csv with those wires that the charts alone do not tell. What was written is read back and compared:
//! what no column can hold is told.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use super::described;
use crate::base::{CircuitId, ConnectorId, Length, Place, WireColour, formula, is_device_name};
use crate::circuits::{
    Action, Circuit, Circuits, Connector, End, FarEnd, JobLists, List, ListSettings, Naming, TagWish, read,
};
use crate::codes::csv_text::Writing;

/// A file of the charts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChartFile {
    /// Its name: `J1.csv`.
    pub name: String,
    /// UTF-8 with a byte order mark, without which some spreadsheets take it for something else.
    pub bytes: Vec<u8>,
    /// Its rows below the header.
    pub rows: usize,
}

/// Charts of a harness.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Charts {
    /// The files: connectors in natural order, then wires.csv and connectors.csv.
    pub files: Vec<ChartFile>,
    /// What is read back otherwise, each in words; empty when nothing is.
    pub untold: Vec<String>,
}

const CONNECTORS: &str = "connectors.csv";
const WIRES: &str = "wires.csv";
/// Most differences that are told one by one.
const MOST_TOLD: usize = 20;

/// The header of a column and what it says of an end.
type Told = (&'static str, fn(&Row<'_>) -> Option<String>);

/// An end on its way into a chart.
struct Row<'a> {
    circuit: &'a Circuit,
    end: &'a End,
    is_named: bool,
}

/// Columns of charts, in their order.
const COLUMNS: [Told; 19] = [
    ("connector", |row| Some(row.end.place.connector.to_string())),
    ("cavity", |row| row.end.place.cavity.as_ref().map(ToString::to_string)),
    ("circuit", |row| row.is_named.then(|| row.circuit.id().to_string())),
    ("function", |row| row.circuit.function.clone()),
    ("colour", |row| row.end.colour.as_ref().map(colour)),
    ("size", |row| row.end.conductor.as_ref().map(ToString::to_string)),
    ("insulation", |row| row.end.insulation.map(|insulation| insulation.word().to_owned())),
    ("supply", |row| row.circuit.supply.map(|supply| supply.word().to_owned())),
    ("fuse", |row| row.circuit.fuse.as_ref().map(|fuse| fuse.typed().to_owned())),
    ("action", |row| action(row.end)),
    ("tag", |row| tag(row.end.tag)),
    ("length", |row| row.end.length.map(in_millimetres)),
    ("diameter", |row| row.end.diameter.map(in_millimetres)),
    ("slides over", |row| row.end.slides_over.map(in_millimetres)),
    ("terminal family", |row| row.end.terminal.clone()),
    ("extend by", |row| row.end.extend_by.map(in_millimetres)),
    ("branch", |row| row.end.branch.clone()),
    ("with", |row| row.end.partner.clone()),
    ("note", |row| row.end.note.clone()),
];

/// Columns that alone make no more of a row than an empty cavity.
const PLACE_ALONE: [&str; 4] = ["connector", "cavity", "terminal family", "branch"];

/// As its list writes it; a maker's letters, which words of the job explain that the charts do not have, by what they mean.
fn colour(colour: &WireColour) -> String {
    colour.own_letters().map_or_else(|| colour.typed().to_owned(), |_| colour.to_string())
}

fn action(end: &End) -> Option<String> {
    match &end.action {
        Action::Undecided => end.is_marked_undecided.then(|| Action::Undecided.to_string()),
        action => Some(action.to_string()),
    }
}

fn tag(wish: TagWish) -> Option<String> {
    let words: Vec<&str> = [wish.work, wish.final_tag].into_iter().flatten().map(|kind| kind.word()).collect();
    (!words.is_empty()).then(|| words.join(", "))
}

/// `2.4 mm`, with as many decimals as it has, and never three, which may be thousands.
fn in_millimetres(length: Length) -> String {
    let nanometres = length.as_nm();
    let decimals = format!("{:06}", nanometres.unsigned_abs() % 1_000_000);
    let decimals = decimals.trim_end_matches('0');
    let whole = nanometres / 1_000_000;
    match decimals.len() {
        0 => format!("{whole} mm"),
        3 => format!("{whole}.{decimals}0 mm"),
        _ => format!("{whole}.{decimals} mm"),
    }
}

/// Writes the charts of all connectors in which an end sits.
pub fn charts(circuits: &Circuits) -> Charts {
    let connectors: Vec<&Connector> = circuits.connectors().collect();
    let connectors = (!connectors.is_empty()).then(|| connectors_file(&connectors));
    let mut files = of_connectors(circuits, &[]);
    let mut back = read_back(&files, connectors.as_ref());
    let is_misread = |circuit: &Circuit| back.get(circuit.id()).is_none_or(|read| !has_same_wires(circuit, read));
    let listed: Vec<bool> = circuits.all().iter().map(is_misread).collect();
    if let Some(wires) = wires_file(circuits, &listed) {
        files = of_connectors(circuits, &listed);
        files.push(wires);
        back = read_back(&files, connectors.as_ref());
    }
    files.extend(connectors);
    Charts { untold: untold(circuits, &back), files }
}

/// One chart for each connector. Where wires.csv lists the wires of a circuit, its ends of one place whose other end is known come
/// first, as rows of a chart are first paired with those.
fn of_connectors(circuits: &Circuits, listed: &[bool]) -> Vec<ChartFile> {
    let named = named(circuits);
    let mut by_connector: BTreeMap<&ConnectorId, Vec<(usize, usize)>> = BTreeMap::new();
    for at in circuits.working_order() {
        by_connector.entry(&circuits.all()[at.0].ends()[at.1].place.connector).or_default().push(at);
    }
    let mut names = FileNames::default();
    by_connector
        .into_iter()
        .map(|(id, mut ends)| {
            let place = |(at, end): (usize, usize)| &circuits.all()[at].ends()[end].place;
            let is_loose = |(at, end): (usize, usize)| {
                listed.get(at) == Some(&true) && !matches!(circuits.all()[at].far_end(end), FarEnd::End(_))
            };
            ends.sort_by(|&a, &b| place(a).cmp(place(b)).then(a.0.cmp(&b.0)).then(is_loose(a).cmp(&is_loose(b))));
            let row = |&(at, end): &(usize, usize)| {
                let circuit = &circuits.all()[at];
                Row { circuit, end: &circuit.ends()[end], is_named: named[at] }
            };
            chart(names.of(id.as_str()), &ends.iter().map(row).collect::<Vec<_>>())
        })
        .collect()
}

/// Whether the rows of each circuit must give its designation: all but those that are known by the one place where they sit alone.
fn named(circuits: &Circuits) -> Vec<bool> {
    let mut at_place: HashMap<&Place, BTreeSet<usize>> = HashMap::new();
    for (index, circuit) in circuits.all().iter().enumerate() {
        for end in circuit.ends() {
            at_place.entry(&end.place).or_default().insert(index);
        }
    }
    let is_known_by_place = |circuit: &Circuit| {
        circuit.naming() == Naming::ByPlace
            && circuit.ends().iter().all(|end| {
                CircuitId::from(&end.place) == *circuit.id()
                    && at_place.get(&end.place).is_none_or(|all| all.len() == 1)
            })
    };
    circuits.all().iter().map(|circuit| !is_known_by_place(circuit)).collect()
}

fn chart(name: String, rows: &[Row<'_>]) -> ChartFile {
    let mut cells: Vec<Vec<Option<String>>> =
        rows.iter().map(|row| COLUMNS.iter().map(|(_, told)| told(row)).collect()).collect();
    for row in &mut cells {
        let is_told =
            COLUMNS.iter().zip(row.iter()).any(|((head, _), cell)| cell.is_some() && !PLACE_ALONE.contains(head));
        if let (false, Some(cell)) = (is_told, COLUMNS.iter().position(|(head, _)| *head == "action")) {
            row[cell] = Some(Action::Undecided.to_string());
        }
    }
    written(name, COLUMNS.iter().map(|(head, _)| *head), &cells)
}

fn connectors_file(connectors: &[&Connector]) -> ChartFile {
    let columns = &described::COLUMNS;
    let cells: Vec<Vec<Option<String>>> =
        connectors.iter().map(|connector| columns.iter().map(|(_, told)| told(connector)).collect()).collect();
    written(CONNECTORS.to_owned(), columns.iter().map(|(head, _)| *head), &cells)
}

/// A file with the columns in which something stands, and with those of cavities in any case.
fn written<'h>(name: String, heads: impl Iterator<Item = &'h str>, cells: &[Vec<Option<String>>]) -> ChartFile {
    let in_use: Vec<(usize, &str)> = heads
        .enumerate()
        .filter(|(at, head)| head.ends_with("cavity") || cells.iter().any(|row| row[*at].is_some()))
        .collect();
    let mut writing = Writing::new();
    in_use.iter().for_each(|(_, head)| writing.cell(head));
    writing.end_row();
    for row in cells {
        for (at, _) in &in_use {
            writing.cell(&formula::marked(row[*at].as_deref().unwrap_or_default()));
        }
        writing.end_row();
    }
    ChartFile { name, bytes: writing.bytes(), rows: cells.len() }
}

/// The wires of the circuits that are to be listed; `None` where there are none.
fn wires_file(circuits: &Circuits, listed: &[bool]) -> Option<ChartFile> {
    const HEADS: [&str; 5] = ["circuit", "from connector", "from cavity", "to connector", "to cavity"];
    let mut rows: Vec<Vec<Option<String>>> = Vec::new();
    for (circuit, _) in circuits.all().iter().zip(listed).filter(|(_, is_listed)| **is_listed) {
        for (from, to) in wires_in_order(circuit) {
            let place = |end: Option<usize>| {
                let place = end.map(|end| &circuit.ends()[end].place);
                let cavity = place.and_then(|place| place.cavity.as_ref());
                [place.map(|place| place.connector.to_string()), cavity.map(ToString::to_string)]
            };
            let [[from, from_cavity], [to, to_cavity]] = [place(Some(from)), place(to)];
            rows.push(vec![Some(circuit.id().to_string()), from, from_cavity, to, to_cavity]);
        }
    }
    (!rows.is_empty()).then(|| written(WIRES.to_owned(), HEADS.into_iter(), &rows))
}

/// The wires of a circuit of which both ends are known, and of the others those that begin where one of these does. Those of each
/// place come in the order of its ends, as rows of a list are paired with those of a chart in their order; where wires cross so that
/// no order does, the rest comes as it is.
fn wires_in_order(circuit: &Circuit) -> Vec<(usize, Option<usize>)> {
    let far = |end: usize| match circuit.far_end(end) {
        FarEnd::End(far) => Some(far),
        FarEnd::ImpliedSplice | FarEnd::Unknown => None,
    };
    let all: Vec<usize> = (0..circuit.ends().len()).collect();
    let mut left: Vec<(usize, Option<usize>)> = Vec::new();
    let mut before: Vec<Option<usize>> = vec![None; all.len()];
    for here in all.chunk_by(|&a, &b| circuit.ends()[a].place == circuit.ends()[b].place) {
        if here.iter().any(|&end| far(end).is_some()) {
            left.extend(here.iter().map(|&end| (end, far(end))).filter(|(end, far)| far.is_none_or(|far| *end < far)));
            here.windows(2).for_each(|pair| before[pair[1]] = Some(pair[0]));
        }
    }
    let mut is_listed = vec![false; all.len()];
    let mut order = Vec::with_capacity(left.len());
    loop {
        let count = left.len();
        left.retain(|&(one, other)| {
            let is_ready = |end: usize| before[end].is_none_or(|before| is_listed[before] || before == one);
            let is_next = is_ready(one) && other.is_none_or(is_ready);
            if is_next {
                is_listed[one] = true;
                other.into_iter().for_each(|other| is_listed[other] = true);
                order.push((one, other));
            }
            !is_next
        });
        if left.len() == count {
            order.append(&mut left);
            return order;
        }
    }
}

/// File names that no two connectors share, on any disk.
#[derive(Default)]
struct FileNames {
    taken: BTreeSet<String>,
}

impl FileNames {
    fn of(&mut self, connector: &str) -> String {
        let plain = |c: char| if c.is_alphanumeric() || matches!(c, '-' | '_' | '+' | ' ') { c } else { '_' };
        let name: String = connector.chars().take(60).map(plain).collect();
        let lower = name.to_lowercase();
        let is_other = format!("{lower}.csv") == CONNECTORS || format!("{lower}.csv") == WIRES;
        let is_reserved = is_other || is_device_name(&lower);
        let name = if is_reserved { format!("{name}_") } else { name };
        let mut free = name.clone();
        let mut again = 2;
        while !self.taken.insert(free.to_lowercase()) {
            free = format!("{name}-{again}");
            again += 1;
        }
        format!("{free}.csv")
    }
}

/// The circuits of these files.
fn read_back(files: &[ChartFile], connectors: Option<&ChartFile>) -> Circuits {
    let list = |file: &ChartFile| List {
        name: file.name.clone(),
        bytes: file.bytes.clone(),
        settings: ListSettings::default(),
    };
    let lists: Vec<List> = files.iter().map(list).collect();
    let connectors = connectors.map(list);
    read(&JobLists { connectors: connectors.as_ref(), ..JobLists::of(&lists) }).value
}

/// Whether the wires of a circuit that was read lead where those that were written lead.
fn has_same_wires(written: &Circuit, read: &Circuit) -> bool {
    written.ends().len() == read.ends().len()
        && (0..written.ends().len()).all(|end| written.far_end(end) == read.far_end(end))
}

/// What is read back otherwise than it was, in words.
fn untold(circuits: &Circuits, read: &Circuits) -> Vec<String> {
    let mut untold = Vec::new();
    for circuit in circuits.all() {
        match read.get(circuit.id()) {
            Some(back) => compare(circuit, back, &mut untold),
            None => untold.push(format!("circuit `{}` is not found in the charts", circuit.id())),
        }
    }
    for back in read.all().iter().filter(|back| circuits.get(back.id()).is_none()) {
        untold.push(format!("the charts make a circuit `{}` of rows that are of another", back.id()));
    }
    for connector in circuits.connectors() {
        let back = read.connector(&connector.id);
        for (head, told) in described::COLUMNS {
            let (was, is) = (told(connector), back.and_then(told));
            differ(&format!("connector `{}`", connector.id), head, was, is, &mut untold);
        }
    }
    if untold.len() > MOST_TOLD {
        let more = untold.len() - MOST_TOLD;
        untold.truncate(MOST_TOLD);
        untold.push(format!("and {more} more"));
    }
    untold
}

/// Tells what is read back otherwise.
fn differ(what: &str, head: &str, was: Option<String>, is: Option<String>, untold: &mut Vec<String>) {
    if was != is {
        let shown = |value: Option<String>| value.map_or_else(|| "nothing".to_owned(), |value| format!("`{value}`"));
        untold.push(format!("{head} of {what}: the charts say {} instead of {}", shown(is), shown(was)));
    }
}

fn compare(circuit: &Circuit, back: &Circuit, untold: &mut Vec<String>) {
    let id = circuit.id();
    let mut differ = |what: &str, head: &str, was, is| differ(what, head, was, is, untold);
    let count = |circuit: &Circuit| Some(circuit.ends().len().to_string());
    differ(&format!("circuit `{id}`"), "number of ends", count(circuit), count(back));
    for (at, (end, end_back)) in circuit.ends().iter().zip(back.ends()).enumerate() {
        let [row, row_back] =
            [(circuit, end), (back, end_back)].map(|(circuit, end)| Row { circuit, end, is_named: true });
        let what = format!("`{}` (circuit `{id}`)", end.place);
        for (head, told) in &COLUMNS {
            // An end of which nothing else is known is marked as undecided, so that its row counts.
            let is_marked =
                *head == "action" && end.action == Action::Undecided && end_back.action == Action::Undecided;
            if !is_marked {
                differ(&what, head, told(&row), told(&row_back));
            }
        }
        let far = |circuit: &Circuit| match circuit.far_end(at) {
            FarEnd::End(far) => circuit.ends().get(far).map(|end| {
                let nth = if end.ordinal == 0 { String::new() } else { format!(", wire {}", end.ordinal + 1) };
                let colour = end.colour.as_ref().map(|own| format!(" {}", colour(own))).unwrap_or_default();
                format!("{}{colour}{nth}", end.place)
            }),
            FarEnd::ImpliedSplice => Some("a splice without name".to_owned()),
            FarEnd::Unknown => None,
        };
        differ(&what, "other end", far(circuit), far(back));
    }
}
