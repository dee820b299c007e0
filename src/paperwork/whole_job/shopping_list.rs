//! What a print run takes, and circuits -> what to buy: labels and tube, cavity plugs, wire for added ends, terminals and splices.

use std::collections::BTreeMap;

use super::{BEFORE, counted, heading};
use crate::base::{Conductor, ConnectorId, Length, natural};
use crate::circuits::{Action, FarEnd};
use crate::layout::text::Fonts;
use crate::paperwork::work_list::WorkLists;
use crate::paperwork::{Binding, Cell, Column, Harness, Letterhead, Passage, Sheet, Table};

/// A line of the list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ToBuy {
    /// What it is: the name of a stock, a size of wire.
    pub what: String,
    /// How much of it: `3 sheets`, `1.3 m`.
    pub amount: String,
    /// What it is for, and what is not known of it.
    pub remark: String,
}

/// The sheet; `None` where there is nothing to buy. `run` is what the next print run takes, in the words of `check`.
pub fn sheet(harness: &Harness<'_>, run: &[ToBuy], letterhead: &Letterhead, fonts: &Fonts) -> Option<Sheet> {
    let parts = [
        ("Labels and tube", run.to_vec()),
        ("Cavity plugs", plugs(harness)),
        ("Wire", wire(harness)),
        ("Terminals and splices", joints(harness)),
    ];
    let width = letterhead.paper.room().width;
    let count: usize = parts.iter().map(|(_, lines)| lines.len()).sum();
    let mut passages = Vec::new();
    for (words, lines) in parts.into_iter().filter(|(_, lines)| !lines.is_empty()) {
        passages.push(heading(fonts, width, words));
        let mut table = Table::new(vec![
            Column::new("").wide(6.0),
            Column::new("what").wide(54.0),
            Column::new("how much").wide(24.0),
            Column::new("for").growing(),
        ]);
        for line in lines {
            table.row(vec![
                Cell::tick(false),
                Cell::Strong(line.what),
                Cell::words(Some(line.amount)),
                Cell::words(Some(line.remark)),
            ]);
        }
        passages.push(table.passage(fonts, width, Length::ZERO));
    }
    let note = "Counted from the plan: what is undecided is not in it. Removed wires that would do are not counted off: see the \
                sheet of reuse first. Terminals and plugs are bought by the connector's own part number; keep some over.";
    passages.push(Passage { before: BEFORE, ..super::words(fonts, width, note, Binding::Free) });
    (count > 0).then(|| Sheet {
        title: letterhead.job.clone(),
        subtitle: counted(count, "line"),
        sort: "shopping list".to_owned(),
        symbol: None,
        passages,
    })
}

/// Plugs for cavities that their wires leave while the connector stays: those of the work lists.
fn plugs(harness: &Harness<'_>) -> Vec<ToBuy> {
    let mut by_type: BTreeMap<String, Vec<(&ConnectorId, usize)>> = BTreeMap::new();
    for (id, cavities) in WorkLists::new(harness).plugs() {
        let plug = harness.circuits.connector(id).and_then(|connector| connector.plug_type.clone());
        let plug = plug.unwrap_or_else(|| "cavity plug, type not told".to_owned());
        by_type.entry(plug).or_default().push((id, cavities.len()));
    }
    let line = |(what, connectors): (String, Vec<(&ConnectorId, usize)>)| {
        let remark: Vec<String> = connectors.iter().map(|(id, count)| format!("{id}: {count}")).collect();
        ToBuy {
            what,
            amount: connectors.iter().map(|(_, count)| count).sum::<usize>().to_string(),
            remark: remark.join(", "),
        }
    };
    by_type.into_iter().map(line).collect()
}

/// Wire of one sort.
#[derive(Default)]
struct Wire {
    count: usize,
    known: Length,
    unknown: usize,
    tags: Vec<String>,
}

/// New wires by size, insulation and colour, each wire once.
fn wire(harness: &Harness<'_>) -> Vec<ToBuy> {
    let mut wires: BTreeMap<Vec<String>, Wire> = BTreeMap::new();
    for (index, circuit) in harness.circuits.all().iter().enumerate() {
        for (at, end) in circuit.ends().iter().enumerate().filter(|(_, end)| end.action == Action::Add) {
            let far = match circuit.far_end(at) {
                FarEnd::End(far) => Some((far, &circuit.ends()[far])),
                FarEnd::ImpliedSplice | FarEnd::Unknown => None,
            };
            if far.is_some_and(|(far, other)| other.action == Action::Add && far < at) {
                continue;
            }
            let other = far.map(|(_, end)| end);
            let size = end.conductor.as_ref().or(other.and_then(|end| end.conductor.as_ref()));
            let insulation = end.insulation.or(other.and_then(|end| end.insulation));
            let colour = end.colour.as_ref().or(other.and_then(|end| end.colour.as_ref()));
            let sort = vec![
                size_of(size),
                insulation.map(|insulation| insulation.word().to_owned()).unwrap_or_default(),
                colour.map_or_else(|| "colour not told".to_owned(), |colour| colour.in_words()),
            ];
            let wire = wires.entry(sort).or_default();
            wire.count += 1;
            match end.length.or(other.and_then(|end| end.length)) {
                Some(length) => wire.known += length,
                None => wire.unknown += 1,
            }
            wire.tags.push(harness.tag((index, at)));
        }
    }
    let mut wires: Vec<_> = wires.into_iter().collect();
    wires.sort_by(|a, b| natural::compare(&a.0.join(" "), &b.0.join(" ")));
    let line = |(sort, wire): (Vec<String>, Wire)| {
        let what = sort.into_iter().filter(|words| !words.is_empty()).collect::<Vec<_>>().join(", ");
        let metres = format!("{:.2} m", wire.known.as_mm() / 1000.0);
        let amount = match (wire.known > Length::ZERO, wire.unknown) {
            (true, 0) => metres,
            (true, _) => format!("{metres} and more"),
            (false, _) => "measure".to_owned(),
        };
        let mut remark = format!("{}: {}", counted(wire.count, "wire"), wire.tags.join(", "));
        if wire.unknown > 0 && wire.unknown < wire.count {
            remark.push_str(&format!("; the length of {} is not told", wire.unknown));
        }
        ToBuy { what, amount, remark }
    };
    wires.into_iter().map(line).collect()
}

/// A size in one spelling, whatever the lists' decimal sign.
fn size_of(conductor: Option<&Conductor>) -> String {
    conductor.map_or_else(|| "size not told".to_owned(), |conductor| conductor.size().to_string())
}

/// Terminals of added ends by connector and size, and splices of ends that are made longer by size.
fn joints(harness: &Harness<'_>) -> Vec<ToBuy> {
    let mut terminals: BTreeMap<(ConnectorId, String), Vec<String>> = BTreeMap::new();
    let mut splices: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for at in harness.circuits.working_order() {
        let end = harness.end(at);
        let size = size_of(end.conductor.as_ref());
        match end.action {
            Action::Add => {
                terminals.entry((end.place.connector.clone(), size)).or_default().push(harness.tag(at));
            }
            Action::Extend => splices.entry(size).or_default().push(harness.tag(at)),
            _ => {}
        }
    }
    let terminals = terminals.into_iter().map(|((id, size), tags)| ToBuy {
        what: format!("terminal of {id}, {size}"),
        amount: tags.len().to_string(),
        remark: tags.join(", "),
    });
    let splices = splices.into_iter().map(|(size, tags)| ToBuy {
        what: format!("splice and a piece of wire, {size}"),
        amount: tags.len().to_string(),
        remark: format!("made longer: {}", tags.join(", ")),
    });
    terminals.chain(splices).collect()
}

#[cfg(test)]
mod tests {
    use super::super::trial::{Job, letterhead, written};
    use super::*;

    fn told(lines: Vec<ToBuy>) -> Vec<String> {
        lines.iter().map(|line| format!("{} | {} | {}", line.what, line.amount, line.remark)).collect()
    }

    /// Wire, terminals and splices of the added and extended rows of the example's lists, counted by hand.
    #[test]
    fn marsh_hen_buys() {
        let (job, fonts) = (Job::marsh_hen(), Fonts::new());
        let harness = job.harness();
        let tag = |id: &str, letter: char| format!("{} {letter}", job.code(id));
        let wires = told(wire(&harness));
        assert!(wires.iter().any(|line| line.starts_with("12 AWG, boat cable, brown, yellow stripe | ")), "{wires:?}");
        let count: usize = harness
            .circuits
            .all()
            .iter()
            .flat_map(|circuit| circuit.ends())
            .filter(|end| end.action == Action::Add)
            .count();
        let terminals = told(joints(&harness));
        assert_eq!(terminals.iter().filter(|line| line.starts_with("terminal of")).count(), count, "no two alike");
        assert!(terminals.contains(&format!("terminal of FB1, 12 AWG | 1 | {}", tag("M11", 'A'))), "{terminals:?}");
        let run =
            ToBuy { what: "a4-24-64x34".to_owned(), amount: "3 sheets".to_owned(), remark: "68 labels".to_owned() };
        let sheet = sheet(&harness, &[run], &letterhead(), &fonts).expect("something to buy");
        let words = written(&sheet, &fonts);
        for word in ["a4-24-64x34", "3 sheets", "68 labels", "Cavity plugs"] {
            assert!(words.iter().any(|words| words == word), "{word}");
        }
    }

    #[test]
    fn plugs_close_what_is_left_and_not_filled() {
        let rows = "connector,cavity,circuit,action\nJ1,1,A,remove\nJ1,2,B,cut\nJ1,3,C,keep\nJ1,4,D,move to J1/2\n\
                    J1,5,E,\nJ1,6,F,remove\nJ1,6,G,keep\nJ2,1,H,remove\nG1,,I,remove\nJ3,1,K,cut\nJ3,2,L,reserve\n";
        let connectors = "connector,kind,plug type\nJ1,plug,blind plug 1.5 mm\nG1,stud,\n";
        let job = Job::of(rows, connectors);
        // J1/1 and J1/4 are left open; J1/2 is filled again, J1/6 is doubled, J2 goes as a whole.
        assert_eq!(
            told(plugs(&job.harness())),
            ["blind plug 1.5 mm | 2 | J1: 2", "cavity plug, type not told | 1 | J3: 1"]
        );
    }

    /// A wire that is added at both ends is bought once.
    #[test]
    fn a_new_wire_is_bought_once() {
        let rows = "circuit,from connector,from cavity,to connector,to cavity,colour,size,from action,to action,length\n\
                    A,J1,1,J2,1,RD,1.5,add,add,1200\nB,J1,2,J2,2,RD,1.5,add,keep,800\nC,J1,3,J2,3,RD,1.5,add,add,\n\
                    D,J1,4,J2,4,BN,1.5,keep,add,\n";
        let job = Job::of(rows, "connector\n");
        let tags: Vec<String> = ["A", "B", "C", "D"].iter().map(|id| job.code(id)).collect();
        assert_eq!(
            told(wire(&job.harness())),
            [
                format!("1.5 mm², brown | measure | 1 wire: {} B", tags[3]),
                format!(
                    "1.5 mm², red | 2.00 m and more | 3 wires: {} A, {} A, {} A; the length of 1 is not told",
                    tags[0], tags[1], tags[2]
                ),
            ]
        );
    }

    #[test]
    fn a_job_that_only_keeps_buys_nothing() {
        let job = Job::of("connector,cavity,circuit,action\nJ1,1,A,keep\n", "connector\n");
        assert!(sheet(&job.harness(), &[], &letterhead(), &Fonts::new()).is_none());
    }
}
