//! Circuits -> the circuit schedule: a row for each circuit, with a line for each of its ends.

use std::cmp::Ordering;

use crate::base::{Length, Place, counted, natural};
use crate::circuits::Circuit;
use crate::layout::text::Fonts;
use crate::paperwork::{Cell, Column, Harness, Letterhead, Row, Sheet, Table};

/// A circuit of more ends is broken into rows of so many, each with the code, so that it may go on on another page.
const ENDS_A_ROW: usize = 12;

/// The order of the rows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum SortedBy {
    /// Designation.
    #[default]
    Circuit,
    /// What the circuit does.
    Function,
    /// The first of its places, in working order.
    Connector,
}

impl SortedBy {
    /// Words of the command line.
    pub const WORDS: [(&str, Self); 3] =
        [("circuit", Self::Circuit), ("function", Self::Function), ("connector", Self::Connector)];

    const fn in_words(self) -> &'static str {
        match self {
            Self::Circuit => "sorted by circuit",
            Self::Function => "sorted by function",
            Self::Connector => "sorted by connector: each circuit once, where its first end is",
        }
    }
}

/// The schedule; none where there is no circuit.
pub fn sheet(harness: &Harness<'_>, by: SortedBy, letterhead: &Letterhead, fonts: &Fonts) -> Option<Sheet> {
    let circuits = harness.circuits.all();
    let mut table = Table::new(vec![
        Column::new("code"),
        Column::new("circuit"),
        Column::new("function").growing(),
        Column::new("supply"),
        Column::new("fuse"),
        Column::new("end"),
        Column::new("place"),
        Column::new("colour"),
        Column::new("size"),
        Column::new("action"),
    ]);
    let mut above = None;
    for circuit in order(harness, by) {
        let heading = heading(harness, circuit, by);
        if heading.is_some() && heading != above {
            table.rows.extend(heading.clone().map(Row::Heading));
            above = heading;
        }
        add(&mut table, harness, circuit);
    }
    let ends: usize = circuits.iter().map(|circuit| circuit.ends().len()).sum();
    let subtitle = format!("{}, {}, {}", counted(circuits.len(), "circuit"), counted(ends, "end"), by.in_words());
    (!circuits.is_empty()).then(|| Sheet {
        title: letterhead.job.clone(),
        subtitle,
        sort: "circuit schedule".to_owned(),
        symbol: None,
        passages: vec![table.passage(fonts, letterhead.paper.room().width, Length::ZERO)],
    })
}

/// Indices of the circuits in this order.
fn order(harness: &Harness<'_>, by: SortedBy) -> Vec<usize> {
    let circuits = harness.circuits.all();
    let mut order: Vec<usize> = (0..circuits.len()).collect();
    match by {
        SortedBy::Circuit => {}
        SortedBy::Function => order.sort_by(|a, b| by_function(&circuits[*a], &circuits[*b])),
        SortedBy::Connector => order.sort_by(|a, b| first_place(&circuits[*a]).cmp(&first_place(&circuits[*b]))),
    }
    order
}

/// What has no function comes last.
fn by_function(one: &Circuit, other: &Circuit) -> Ordering {
    match (&one.function, &other.function) {
        (Some(one), Some(other)) => natural::compare(&one.to_lowercase(), &other.to_lowercase()),
        (one, other) => one.is_none().cmp(&other.is_none()),
    }
}

fn first_place(circuit: &Circuit) -> Option<&Place> {
    circuit.ends().iter().map(|end| &end.place).min()
}

/// What a circuit stands under.
fn heading(harness: &Harness<'_>, circuit: usize, by: SortedBy) -> Option<String> {
    let circuit = harness.circuit(circuit);
    match by {
        SortedBy::Circuit => None,
        SortedBy::Function => Some(match circuit.function.as_deref().and_then(|words| words.trim().chars().next()) {
            Some(letter) => letter.to_uppercase().to_string(),
            None => "no function told".to_owned(),
        }),
        SortedBy::Connector => {
            let id = &first_place(circuit)?.connector;
            let name = harness.circuits.connector(id).and_then(|connector| connector.short_name.as_deref());
            Some(name.map_or_else(|| id.to_string(), |name| format!("{id} {name}")))
        }
    }
}

fn add(table: &mut Table, harness: &Harness<'_>, index: usize) {
    let (circuit, codes) = (harness.circuit(index), &harness.issued.circuits[index]);
    let mut code = codes.code.to_string();
    for also in &codes.also {
        code.push_str(&format!("\nalso {also}"));
    }
    let id = || Cell::Strong(circuit.id().to_string());
    let mut first = vec![
        Cell::Code(code),
        id(),
        Cell::words(circuit.function.as_deref()),
        Cell::words(circuit.supply),
        Cell::words(circuit.fuse.as_ref()),
    ];
    let count = circuit.ends().len();
    for (at, (end, letter)) in circuit.ends().iter().zip(&codes.letters).enumerate() {
        let mut cells = match at {
            0 => std::mem::take(&mut first),
            _ if at % ENDS_A_ROW == 0 => {
                vec![Cell::Code(codes.code.to_string()), id(), Cell::Words("(more ends)".to_owned())]
            }
            _ => Vec::new(),
        };
        cells.resize(5, Cell::Empty);
        cells.extend([
            Cell::Words(letter.to_string()),
            Cell::Code(end.place.to_string()),
            Cell::colour(end.colour.as_ref()),
            Cell::words(end.conductor.as_ref()),
            Cell::words(Some(&end.action)),
        ]);
        let is_last = at + 1 == count || (at + 1) % ENDS_A_ROW == 0;
        table.rows.push(if is_last { Row::Cells(cells) } else { Row::Part(cells) });
    }
}

#[cfg(test)]
mod tests {
    use super::super::trial::{Job, letterhead, written};
    use super::*;

    fn codes_of(sheet: &Sheet, fonts: &Fonts, job: &Job) -> Vec<usize> {
        let code_of = |words: &String| job.issued.circuits.iter().position(|codes| *words == codes.code.to_string());
        let mut found: Vec<usize> = written(sheet, fonts).iter().filter_map(code_of).collect();
        found.dedup();
        found
    }

    /// Every circuit of the example once, every end with its place, in each order; counted from the circuits themselves.
    #[test]
    fn every_circuit_once_and_every_end() {
        let (job, fonts) = (Job::marsh_hen(), Fonts::new());
        let harness = job.harness();
        for (_, by) in SortedBy::WORDS {
            let sheet = sheet(&harness, by, &letterhead(), &fonts).expect("there are circuits");
            let mut found = codes_of(&sheet, &fonts, &job);
            if by == SortedBy::Circuit {
                assert!(found.is_sorted(), "in natural order, as `Circuits` has them");
            }
            found.sort_unstable();
            found.dedup();
            assert_eq!(found, (0..job.circuits.all().len()).collect::<Vec<_>>());
            let words = written(&sheet, &fonts);
            for end in job.circuits.all().iter().flat_map(|circuit| circuit.ends()) {
                let place = end.place.to_string();
                let told = words.iter().filter(|words| **words == place).count();
                let ends = job.circuits.all().iter().flat_map(|circuit| circuit.ends());
                let places = ends.filter(|other| other.place == end.place).count();
                // A circuit without a name is named by its place.
                let names = job.circuits.all().iter().filter(|circuit| circuit.id().as_str() == place).count();
                assert_eq!(told, places + names, "{place}");
            }
        }
    }

    #[test]
    fn headings_of_functions_and_connectors() {
        let rows = "connector,cavity,circuit,function\nJ2,1,A,horn\nJ1,2,B,\nJ1,1,C,Anchor light\nX1,1,C,\n";
        let (job, fonts) = (Job::of(rows, "connector,short name\nJ1,panel\n"), Fonts::new());
        let heads = |by| -> Vec<String> {
            let circuits = order(&job.harness(), by);
            circuits.iter().filter_map(|circuit| heading(&job.harness(), *circuit, by)).collect()
        };
        assert_eq!(heads(SortedBy::Function), ["A", "H", "no function told"]);
        assert_eq!(heads(SortedBy::Connector), ["J1 panel", "J1 panel", "J2"]);
        let empty = Job::of("connector,cavity\n", "connector\n");
        assert!(sheet(&empty.harness(), SortedBy::Circuit, &letterhead(), &fonts).is_none());
    }

    /// A ground of forty ends goes over several rows, each with its code.
    #[test]
    fn a_circuit_of_many_ends_breaks() {
        let rows: String = (1..=40).map(|cavity| format!("J1,{cavity},GND,ground\n")).collect();
        let job = Job::of(&format!("connector,cavity,circuit,function\n{rows}"), "connector\n");
        let fonts = Fonts::new();
        let sheet = sheet(&job.harness(), SortedBy::Circuit, &letterhead(), &fonts).expect("a circuit");
        let words = written(&sheet, &fonts);
        let code = job.code("GND");
        assert_eq!(words.iter().filter(|words| **words == code).count(), 4);
        assert_eq!(words.iter().filter(|words| words.starts_with("J1/")).count(), 40);
    }
}
