//! What a print run takes, and circuits -> what to buy: labels and tube, cavity plugs, wire for added ends, terminals and splices.

use std::collections::BTreeMap;

use super::{BEFORE, heading};
use crate::base::{Conductor, ConnectorId, Length, Remedy, Step, WireColour, counted};
use crate::circuits::Action;
use crate::layout::text::Fonts;
use crate::paperwork::reuse::words::{Words, of_purchase};
use crate::paperwork::reuse::{self, HeldBack, Purchase, Settings, What};
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
    pub remark: Remedy,
}

/// The sheet; `None` where there is nothing to buy. `run` is what the next print run takes, in the words of `check`; wire is counted
/// by the settings of `reuse`.
pub fn sheet(
    harness: &Harness<'_>,
    settings: Settings,
    run: &[ToBuy],
    letterhead: &Letterhead,
    fonts: &Fonts,
) -> Option<Sheet> {
    let parts = [
        ("Labels and tube", run.to_vec()),
        ("Cavity plugs", plugs(harness)),
        ("Wire", wire(harness, settings)),
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
                Cell::open_box(),
                Cell::Strong(line.what),
                Cell::words(Some(line.amount)),
                Cell::words(Some(line.remark.to_string())),
            ]);
        }
        passages.push(table.passage(fonts, width, Length::ZERO));
    }
    let note = format!(
        "Counted from the plan: what is undecided or done is not in it. Wire is the way and {} at each end. Removed wires that would \
         do are not counted off: see the sheet of reuse first. Terminals and plugs are bought by the connector's own part number; \
         keep some over.",
        settings.slack
    );
    passages.push(Passage { before: BEFORE, ..super::words(fonts, width, &note, Binding::Free) });
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
            remark: remark.join(", ").into(),
        }
    };
    by_type.into_iter().map(line).collect()
}

/// Wire for all wants, as the sheet of reuse counts it, and what cannot be bought by its length alone.
fn wire(harness: &Harness<'_>, settings: Settings) -> Vec<ToBuy> {
    let wants = reuse::all_new(harness, settings);
    let words = Words { harness, reuse: &wants };
    let line = |buy: &Purchase| {
        let sort = [
            Some(size_of(buy.conductor.as_ref())),
            buy.insulation.map(|insulation| insulation.word().to_owned()),
            Some(buy.colour.as_ref().map_or_else(|| "colour not told".to_owned(), WireColour::in_words)),
        ];
        let tags = |is_so: fn(&What) -> bool| -> Vec<String> {
            let wanted = buy.wanted.iter().map(|at| wants.wanted[*at].what).filter(is_so);
            wanted.map(|what| words.tag(what.circuit(), what.ends())).collect()
        };
        let (new, longer) = (tags(|what| matches!(what, What::New(_))), tags(|what| !matches!(what, What::New(_))));
        let parts = [
            (!new.is_empty()).then(|| format!("{}: {}", counted(new.len(), "wire"), new.join(", "))),
            (!longer.is_empty()).then(|| format!("to make longer: {}", longer.join(", "))),
        ];
        ToBuy {
            what: sort.into_iter().flatten().collect::<Vec<_>>().join(", "),
            amount: of_purchase(buy),
            remark: parts.into_iter().flatten().collect::<Vec<_>>().join("; ").into(),
        }
    };
    let by_hand = |held: &HeldBack| ToBuy {
        what: format!("{}, {}", words.tag(held.wire.circuit, held.wire.ends()), words.way(held.wire)),
        amount: "see by hand".to_owned(),
        remark: words.why(held).into(),
    };
    wants.to_buy.iter().map(line).chain(wants.held_back.iter().map(by_hand)).collect()
}

/// A size in one spelling, whatever the lists' decimal sign.
fn size_of(conductor: Option<&Conductor>) -> String {
    conductor.map_or_else(|| "size not told".to_owned(), |conductor| conductor.size().to_string())
}

/// Terminals of added and of cut ends by connector and size, and splices of ends that are made longer by size: those of the work
/// lists that are not done.
fn joints(harness: &Harness<'_>) -> Vec<ToBuy> {
    let lists = WorkLists::new(harness);
    let mut terminals: BTreeMap<(Option<ConnectorId>, String), Vec<String>> = BTreeMap::new();
    for at in lists.open(Step::Terminated) {
        let end = harness.end(at);
        // What is added has its terminal on. Where a cut end goes, no list tells.
        if !harness.on_bench(at).done.contains(&Step::Added) {
            let connector = (end.action == Action::Add).then(|| end.place.connector.clone());
            terminals.entry((connector, size_of(end.conductor.as_ref()))).or_default().push(harness.tag(at));
        }
    }
    let mut splices: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for at in lists.open(Step::Extended) {
        splices.entry(size_of(harness.end(at).conductor.as_ref())).or_default().push(harness.tag(at));
    }
    // Connectors first, then what is cut.
    let (cut, added): (Vec<_>, Vec<_>) = terminals.into_iter().partition(|((id, _), _)| id.is_none());
    let terminals = added.into_iter().chain(cut).map(|((id, size), tags)| ToBuy {
        what: match &id {
            Some(id) => format!("terminal of {id}, {size}"),
            None => format!("terminal for a cut end, {size}"),
        },
        amount: tags.len().to_string(),
        remark: tags.join(", ").into(),
    });
    let splices = splices.into_iter().map(|(size, tags)| ToBuy {
        what: format!("splice, {size}"),
        amount: tags.len().to_string(),
        remark: format!("made longer: {}", tags.join(", ")).into(),
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
        let wires = told(wire(&harness, Settings::default()));
        assert!(wires.iter().any(|line| line.starts_with("12 AWG, boat cable, brown, yellow stripe | ")), "{wires:?}");
        let count = |wanted: Action| {
            let ends = harness.circuits.all().iter().flat_map(|circuit| circuit.ends());
            ends.filter(|end| end.action == wanted).count()
        };
        let terminals = told(joints(&harness));
        let of_added = terminals.iter().filter(|line| line.starts_with("terminal of")).count();
        assert_eq!(of_added, count(Action::Add), "no two alike");
        assert!(terminals.contains(&format!("terminal of FB1, 12 AWG | 1 | {}", tag("M11", 'A'))), "{terminals:?}");
        let run = ToBuy { what: "a4-24-64x34".to_owned(), amount: "3 sheets".to_owned(), remark: "68 labels".into() };
        let sheet = sheet(&harness, Settings::default(), &[run], &letterhead(), &fonts).expect("something to buy");
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

    /// A wire that is added at both ends is bought once. By hand, with 100 mm at each end: 1200 + 800 + 2 x 200 mm are 2.4 m,
    /// 230 + 200 mm are 0.43 m, bought as 0.5 m.
    #[test]
    fn a_new_wire_is_bought_once_with_its_slack() {
        let rows = "circuit,from connector,from cavity,to connector,to cavity,colour,size,from action,to action,length,extend by\n\
                    A,J1,1,J2,1,RD,1.5,add,add,1200,\nB,J1,2,J2,2,RD,1.5,add,keep,800,\nC,J1,3,J2,3,RD,1.5,add,add,,\n\
                    D,J1,4,J2,4,BN,1.5,keep,add,,\nE,J1,5,J2,5,BU,1.5,keep,extend,4000,230\n";
        let job = Job::of(rows, "connector\n");
        let tags: Vec<String> = ["A", "B", "C", "D", "E"].iter().map(|id| job.code(id)).collect();
        assert_eq!(
            told(wire(&job.harness(), Settings::default())),
            [
                format!("1.5 mm², brown | 1 wire of a length that is in no list | 1 wire: {} A-B", tags[3]),
                format!("1.5 mm², blue | 0.5 m | to make longer: {} B", tags[4]),
                format!(
                    "1.5 mm², red | 2.4 m and 1 wire of a length that is in no list | 3 wires: {} A-B, {} A-B, {} A-B",
                    tags[0], tags[1], tags[2]
                ),
            ]
        );
    }

    /// Two sheets of one document want the same wires, and as much of each.
    #[test]
    fn the_sheet_of_reuse_buys_as_much() {
        let job = Job::marsh_hen();
        let (harness, settings) = (job.harness(), Settings::default());
        let (found, all) = (reuse::reuse(&harness, settings, &|_| true), reuse::all_new(&harness, settings));
        assert!(!found.matches.is_empty());
        assert_eq!(found.wanted, all.wanted);
        let amounts: Vec<String> = wire(&harness, settings).into_iter().map(|line| line.amount).collect();
        let by_length = amounts.iter().filter(|amount| *amount != "see by hand").cloned();
        assert_eq!(by_length.collect::<Vec<_>>(), all.to_buy.iter().map(of_purchase).collect::<Vec<_>>());
    }

    /// What hangs cut or is added gets a terminal; what is done is not bought again.
    #[test]
    fn terminals_are_for_cut_ends_too_and_nothing_is_bought_twice() {
        let rows = "circuit,from connector,from cavity,to connector,to cavity,colour,size,from action,to action,length,with\n\
                    A,J1,1,J2,1,RD,1.5,add,add,1200,\nB,J1,2,J2,2,BU,1.5,cut,keep,800,\nC,J1,3,J2,3,BU,1.5,cut,keep,,\n\
                    D,J1,4,J2,4,BN,1.5,keep,extend,900,\nP,J1,5,J2,5,WH,0.5,add,add,900,Q\n";
        let job = Job::of(rows, "connector\n");
        let mut harness = job.harness();
        let tag = |id: &str, end: &str| format!("{} {end}", job.code(id));
        let pair = |harness: &Harness<'_>| {
            let lines = told(wire(harness, Settings::default()));
            lines.into_iter().find(|line| line.contains("see by hand"))
        };
        let told_pair = pair(&harness).expect("a pair is not bought as a single wire");
        assert!(
            told_pair.starts_with(&tag("P", "A-B, J1/5 to J2/5 | see by hand | wanted as one cable")),
            "{told_pair}"
        );
        let terminals = told(joints(&harness));
        let of_cut = format!("terminal for a cut end, 1.5 mm² | 2 | {}, {}", tag("B", "A"), tag("C", "A"));
        assert!(terminals.contains(&of_cut), "{terminals:?}");
        assert!(terminals.contains(&format!("splice, 1.5 mm² | 1 | made longer: {}", tag("D", "B"))), "{terminals:?}");
        assert_eq!(terminals.iter().filter(|line| line.starts_with("terminal of")).count(), 4);

        for (circuit, ends) in job.circuits.all().iter().zip(harness.on_bench.to_mut()) {
            let steps: &[Step] = match circuit.id().as_str() {
                "A" => &[Step::Added],
                "B" => &[Step::Cut, Step::Terminated],
                "D" => &[Step::Extended],
                _ => &[],
            };
            ends.iter_mut().for_each(|end| end.done.extend(steps));
        }
        let lines = [wire(&harness, Settings::default()), joints(&harness)].concat();
        let of_done = lines.iter().filter(|line| ["A", "B", "D"].iter().any(|id| line.remark.contains(&job.code(id))));
        assert_eq!(of_done.count(), 0, "{lines:?}");
        let of_cut = format!("terminal for a cut end, 1.5 mm² | 1 | {}", tag("C", "A"));
        assert!(told(lines).contains(&of_cut));
    }

    #[test]
    fn a_job_that_only_keeps_buys_nothing() {
        let job = Job::of("connector,cavity,circuit,action\nJ1,1,A,keep\n", "connector\n");
        assert!(sheet(&job.harness(), Settings::default(), &[], &letterhead(), &Fonts::new()).is_none());
    }
}
