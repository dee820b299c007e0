//! Work lists against their circuits, counted another way.

use std::collections::{BTreeMap, BTreeSet};

use proptest::prelude::*;

use super::cavities::Cavities;
use super::contents::Content;
use super::order::groups;
use super::task::Task;
use super::totals::Totals;
use super::*;
use crate::base::{EndLetter, Finding, Place, Step, TagKind};
use crate::circuits::caution::danger_at;
use crate::circuits::{self, Action, Circuit, Circuits, FarEnd, JobLists, List, ListSettings, Supply};
use crate::codes::issued::CircuitCodes;
use crate::codes::link::Payload;
use crate::codes::{Issued, mint, samples};
use crate::paperwork::Found;

/// Codes and letters without a register.
fn issued(circuits: &Circuits) -> Issued {
    let codes = |(nth, circuit): (usize, &Circuit)| CircuitCodes {
        code: mint::nth(nth as u32).expect("not used up"),
        also: Vec::new(),
        letters: (0..circuit.ends().len()).map(|end| EndLetter::nth(end as u16)).collect(),
    };
    Issued { circuits: circuits.all().iter().enumerate().map(codes).collect() }
}

fn place(typed: &str) -> Place {
    Place::from_typed(typed).expect("a place")
}

/// One circuit as the property tests make it: its ends, each with place, action, and whether it was found empty; its supply, and its
/// partner by number.
type Made = (Vec<(u8, u8, bool)>, u8, Option<u8>);

const PLACES: [&str; 12] =
    ["J1/1", "J1/2", "J1/3", "J1/4", "J2/1", "J2/2", "J2/3", "X3/1", "X3/2", "G1", "J1/10", "J2/B7"];

fn action(number: u8) -> Action {
    match number % 12 {
        0 => Action::Keep,
        1 | 2 => Action::Remove,
        3 => Action::Cut,
        4 => Action::Move(None),
        5 => Action::Add,
        6 => Action::Extend,
        7 => Action::Reserve,
        8 => Action::Undecided,
        _ => Action::Move(Some(place(PLACES[usize::from(number / 12) % PLACES.len()]))),
    }
}

fn made(all: &[Made]) -> (Circuits, Vec<Vec<bool>>) {
    let mut circuits = Vec::new();
    let mut empty: BTreeMap<String, Vec<bool>> = BTreeMap::new();
    for (nth, (ends, supply, partner)) in all.iter().enumerate() {
        let mut typed: Vec<_> = ends.clone();
        typed.sort_by(|a, b| place(PLACES[usize::from(a.0)]).cmp(&place(PLACES[usize::from(b.0)])));
        let id = format!("W{nth}");
        let names: Vec<&str> = typed.iter().map(|end| PLACES[usize::from(end.0)]).collect();
        let plain = samples::circuit(&id, &names);
        let mut ends = plain.ends().to_vec();
        for (end, (_, number, _)) in ends.iter_mut().zip(&typed) {
            end.action = action(*number);
            end.partner = partner.map(|partner| format!("W{partner}"));
        }
        let far = match ends.len() {
            2 => vec![FarEnd::End(1), FarEnd::End(0)],
            count => vec![FarEnd::Unknown; count],
        };
        let mut circuit = Circuit::new(plain.id().clone(), plain.naming(), ends, far).expect("equally long");
        circuit.supply = Supply::ALL.get(usize::from(*supply)).copied();
        empty.insert(id, typed.iter().map(|end| end.2).collect());
        circuits.push(circuit);
    }
    let circuits = samples::circuits(circuits);
    let empty = circuits.all().iter().map(|circuit| empty[circuit.id().as_str()].clone()).collect();
    (circuits, empty)
}

fn some_circuits() -> impl Strategy<Value = Vec<Made>> {
    let end = (0..PLACES.len() as u8, any::<u8>(), prop::bool::weighted(0.15));
    prop::collection::vec((prop::collection::vec(end, 1..5), 0..12u8, prop::option::of(0..8u8)), 1..8)
}

/// What a test looks at: the harness of these circuits, every end with a tag.
fn on_bench<'a>(circuits: &'a Circuits, issued: &'a Issued, empty: &[Vec<bool>]) -> Harness<'a> {
    let mut harness = Harness::new(circuits, issued, &Payload::Code);
    for (bench, is_empty) in harness.on_bench.to_mut().iter_mut().flatten().zip(empty.iter().flatten()) {
        bench.work = Some(TagKind::Flag);
        if *is_empty {
            let (value, remark) = (String::new(), String::new());
            bench.found.push(Found { finding: Finding::Empty, value, remark, note: 1 });
        }
    }
    harness
}

fn content<'a>(lists: &WorkLists<'_, 'a>, id: &ConnectorId) -> Content<'a> {
    Content::of(lists.harness.circuits, id).expect("has a list")
}

/// The rows of a connector, with all columns.
fn rows_of(lists: &WorkLists<'_, '_>, id: &ConnectorId) -> Vec<Row> {
    let content = content(lists, id);
    let cavities = Cavities::of(lists.harness, content, lists.harness.circuits.connector(id));
    let seats = Seats::of(lists.harness, id);
    let mut table = Table::new(rows::columns(&seats));
    for group in groups(lists.harness, content, &seats) {
        let lister = Lister { harness: lists.harness, cavities: &cavities, seats: &seats, group: &group };
        rows::add(&lister, &mut table);
    }
    table.rows
}

fn column(head: &str) -> usize {
    rows::columns(&Seats::default()).iter().position(|column| column.head == head).expect("a column")
}

const fn cells(row: &Row) -> Option<&Vec<Cell>> {
    match row {
        Row::Cells(cells) | Row::Bound(cells) => Some(cells),
        _ => None,
    }
}

/// Does the work wire by wire in some order, and looks which cavities are empty then. A housing that holds nothing any more takes no
/// plugs.
fn plugs_by_hand(circuits: &Circuits, empty: &[Vec<bool>], order: &[usize]) -> BTreeSet<Place> {
    let mut sits: BTreeMap<(usize, usize), Place> = BTreeMap::new();
    let mut listed: BTreeSet<Place> = BTreeSet::new();
    let mut all: Vec<(usize, usize)> = Vec::new();
    for (nth, circuit) in circuits.all().iter().enumerate() {
        for (index, end) in circuit.ends().iter().enumerate() {
            if end.action != Action::Add {
                listed.insert(end.place.clone());
                if !empty[nth][index] {
                    sits.insert((nth, index), end.place.clone());
                }
            }
            all.push((nth, index));
        }
    }
    all.sort_by_key(|(nth, index)| order.get((nth * 7 + index) % order.len().max(1)).copied());
    for (nth, index) in all {
        let end = &circuits.all()[nth].ends()[index];
        // Nothing is done at these, and what is there stays there.
        let must_stay = match circuits.all()[nth].supply {
            Some(Supply::HighVoltage) => true,
            Some(Supply::Restraint) => end.action != Action::Remove,
            _ => false,
        };
        match &end.action {
            Action::Add => drop(sits.insert((nth, index), end.place.clone())),
            _ if must_stay => {}
            Action::Remove | Action::Cut | Action::Move(None) => drop(sits.remove(&(nth, index))),
            Action::Move(Some(to)) => {
                sits.entry((nth, index)).and_modify(|sits| *sits = to.clone());
            }
            _ => {}
        }
    }
    let taken: BTreeSet<&Place> = sits.values().collect();
    let holds = |id: &ConnectorId| taken.iter().any(|place| place.connector == *id && place.cavity.is_some());
    let open = listed.iter().filter(|place| place.cavity.is_some() && !taken.contains(place));
    open.filter(|place| holds(&place.connector)).cloned().collect()
}

proptest! {
    #[test]
    fn every_end_appears_once_over_all_lists(all in some_circuits()) {
        let (circuits, empty) = made(&all);
        let issued = issued(&circuits);
        let harness = on_bench(&circuits, &issued, &empty);
        let lists = WorkLists::new(&harness);
        let (mut ends, mut arrivals, mut count) = (Vec::new(), Vec::new(), 0);
        for id in lists.connectors() {
            for slot in groups(&harness, content(&lists, id), &Seats::default()).into_iter().flatten() {
                prop_assert!(slot.ends.iter().all(|at| harness.end(*at).place.connector == *id));
                ends.extend(slot.ends);
                arrivals.extend(slot.arrivals);
            }
            count += rows_of(&lists, id).iter().filter(|row| cells(row).is_some()).count();
        }
        prop_assert_eq!(count, ends.len() + arrivals.len());
        ends.sort_unstable();
        arrivals.sort_unstable();
        let every = circuits.all().iter().enumerate().flat_map(|(nth, circuit)| (0..circuit.ends().len()).map(move |end| (nth, end)));
        let every: Vec<At> = every.collect();
        prop_assert_eq!(&ends, &every);
        let moving = |at: &At| matches!(harness.end(*at).action, Action::Move(Some(_)));
        prop_assert_eq!(arrivals, every.into_iter().filter(moving).collect::<Vec<_>>());
    }

    #[test]
    fn totals_are_those_of_the_circuits(all in some_circuits()) {
        let (circuits, empty) = made(&all);
        let issued = issued(&circuits);
        let harness = on_bench(&circuits, &issued, &empty);
        let lists = WorkLists::new(&harness);
        let mut sums: BTreeMap<&str, usize> = BTreeMap::new();
        for id in lists.connectors() {
            let totals = Totals::of(&harness, content(&lists, id));
            for (head, count) in Totals::HEADS.iter().zip(totals.by_action) {
                *sums.entry(head).or_default() += count.of;
            }
            let here = totals.by_action.iter().map(|count| count.of).sum::<usize>() - totals.by_action[3].of;
            prop_assert_eq!(here, totals.ends);
        }
        let words = |word: &str| circuits.all().iter().flat_map(Circuit::ends).filter(|end| end.action.to_string().starts_with(word)).count();
        for (head, word) in [
            ("pulls", "remove"), ("cuts", "cut"), ("moves out", "move"), ("moves in", "move to"), ("adds", "add"),
            ("extends", "extend"), ("reserves", "reserve"), ("keeps", "keep"), ("undecided", "undecided"),
        ] {
            prop_assert_eq!(sums[head], words(word), "{}", head);
        }
    }

    #[test]
    fn plugs_are_what_is_empty_when_the_work_is_done(
        all in some_circuits(),
        order in prop::collection::vec(0..100usize, 8..20),
    ) {
        let (circuits, empty) = made(&all);
        let issued = issued(&circuits);
        let harness = on_bench(&circuits, &issued, &empty);
        let lists = WorkLists::new(&harness);
        let (mut needed, mut boxes) = (BTreeSet::new(), 0);
        for id in lists.connectors() {
            let cavities = Cavities::of(&harness, content(&lists, id), None);
            needed.extend(cavities.to_seal().into_iter().map(|cavity| Place::new(id.clone(), Some(cavity.clone()))));
            let is_box = |row: &&Row| cells(row).is_some_and(|cells| cells.get(column("sealed")).is_some_and(|cell| *cell != Cell::Empty));
            boxes += rows_of(&lists, id).iter().filter(is_box).count();
        }
        prop_assert_eq!(boxes, needed.len());
        prop_assert_eq!(needed, plugs_by_hand(&circuits, &empty, &order));
    }

    #[test]
    fn partners_stand_in_adjacent_rows(all in some_circuits()) {
        let (circuits, empty) = made(&all);
        let issued = issued(&circuits);
        let harness = on_bench(&circuits, &issued, &empty);
        let lists = WorkLists::new(&harness);
        for id in lists.connectors() {
            let content = content(&lists, id);
            for group in groups(&harness, content, &Seats::default()) {
                let inside: Vec<At> = group.iter().flat_map(|slot| slot.ends.clone()).collect();
                for at in &inside {
                    let partner = harness.end(*at).partner.as_deref();
                    let is_partner = |other: &&At| other.0 != at.0 && partner == Some(harness.circuit(other.0).id().as_str());
                    let has_here = content.ends.iter().any(|other| is_partner(&other));
                    prop_assert_eq!(inside.iter().any(|other| is_partner(&other)), has_here);
                }
            }
            // All rows of a group but the last are bound to the next.
            let rows = rows_of(&lists, id);
            let bound = rows.iter().filter(|row| matches!(row, Row::Bound(_))).count();
            let several = groups(&harness, content, &Seats::default()).iter().map(|group| {
                group.iter().map(|slot| slot.ends.len() + slot.arrivals.len()).sum::<usize>() - 1
            }).sum::<usize>();
            prop_assert_eq!(bound, several);
        }
    }

    /// The supply decides, asked of it directly; a caution stands above the row, or above an earlier row of the same cavity.
    #[test]
    fn no_dangerous_row_is_without_its_caution(all in some_circuits()) {
        let (circuits, empty) = made(&all);
        let issued = issued(&circuits);
        let harness = on_bench(&circuits, &issued, &empty);
        let lists = WorkLists::new(&harness);
        for id in lists.connectors() {
            let rows = rows_of(&lists, id);
            let order: Vec<At> = groups(&harness, content(&lists, id), &Seats::default()).into_iter().flatten().flat_map(|slot| {
                slot.ends.into_iter().chain(slot.arrivals)
            }).collect();
            let places: Vec<usize> = (0..rows.len()).filter(|at| cells(&rows[*at]).is_some()).collect();
            prop_assert_eq!(places.len(), order.len());
            for (at, end) in places.iter().zip(&order) {
                let expected = match danger_at(&circuits, *end) {
                    Some(Supply::Constant) => "LIVE WITH BATTERY ON",
                    Some(Supply::Restraint) => "RESTRAINT DO NOT CUT",
                    Some(Supply::HighVoltage) => "HIGH VOLTAGE DO NOT CUT",
                    _ => continue,
                };
                let cavity = |row: &Row| cells(row).and_then(|cells| cells.first().cloned());
                let own = cavity(&rows[*at]);
                let above = rows[..*at].iter().rev().take_while(|row| cavity(row).is_none() || (cavity(row) == own && own != Some(Cell::Empty)));
                let is_told = above.into_iter().any(|row| matches!(row, Row::Caution(words) if words.starts_with(expected)));
                prop_assert!(is_told, "{:?}", rows);
            }
        }
    }

    /// A tag goes on before anything is done. What comes free is capped at once, and has its terminal afterwards; what goes into a
    /// cavity or a splice is capped and has its terminal before. The cavity is sealed last.
    #[test]
    fn steps_are_in_a_safe_order(all in some_circuits()) {
        let (circuits, empty) = made(&all);
        let issued = issued(&circuits);
        let harness = on_bench(&circuits, &issued, &empty);
        for at in circuits.working_order() {
            let steps = Task::of(&harness, at, Some(Step::Sealed)).steps;
            let is_empty = harness.is_missing(at);
            prop_assert_eq!(steps.first() == Some(&Step::Tagged), !is_empty);
            let order = [
                Step::Tagged, Step::Cut, Step::Pulled, Step::Capped, Step::Terminated, Step::Moved, Step::Added, Step::Extended,
                Step::Sealed,
            ];
            let rank = |step: &Step| order.iter().position(|other| other == step);
            prop_assert!(steps.iter().all(|step| rank(step).is_some()), "{:?}", steps);
            prop_assert!(steps.windows(2).all(|two| rank(&two[0]) < rank(&two[1])), "{:?}", steps);
            let action = &harness.end(at).action;
            let supply = harness.circuit(at.0).supply;
            let is_touched = !matches!(action, Action::Keep | Action::Undecided);
            let must_not = supply == Some(Supply::HighVoltage) || (supply == Some(Supply::Restraint) && *action != Action::Remove);
            if must_not && is_touched && !is_empty {
                prop_assert_eq!(&steps[..], &[Step::Tagged]);
            }
            let comes_free = matches!(action, Action::Cut | Action::Reserve);
            if supply == Some(Supply::Constant) && comes_free && !is_empty {
                prop_assert!(steps.contains(&Step::Capped));
            }
        }
    }
}

fn list(name: &str, text: &str) -> List {
    List { name: name.to_owned(), bytes: text.as_bytes().to_vec(), settings: ListSettings::default() }
}

/// The charts of the example whose plugs were counted by hand.
fn example() -> Circuits {
    let lists = [
        list("j1.csv", include_str!("../../../examples/marsh-hen/j1-engine-control.csv")),
        list("j2.csv", include_str!("../../../examples/marsh-hen/j2-fahrzeugstecker.csv")),
        list("plugs.csv", include_str!("../../../examples/marsh-hen/engine-plugs.csv")),
        list("x3.csv", include_str!("../../../examples/marsh-hen/x3-bulkhead.csv")),
        list("p7.csv", include_str!("../../../examples/marsh-hen/p7-instruments.csv")),
    ];
    let connectors = list("connectors.csv", include_str!("../../../examples/marsh-hen/connectors.csv"));
    circuits::read(&JobLists { connectors: Some(&connectors), ..JobLists::of(&lists) }).value
}

/// Counted by hand in the charts. J1: 33 to 37 are pulled. J2: 9, 11 and 12 are pulled; 27 is added and was never taken. X3S: 16
/// moves to 13. P7: five are cut and one pulled. X3P keeps all, M37 and B50 lose all.
#[test]
fn plugs_of_the_example() {
    let circuits = example();
    let issued = issued(&circuits);
    let harness = Harness::new(&circuits, &issued, &Payload::Code);
    let lists = WorkLists::new(&harness);
    let told = |typed: &str| {
        let id = ConnectorId::from_cell(typed).expect("a name");
        Cavities::of(&harness, content(&lists, &id), circuits.connector(&id)).told(&[])
    };
    assert_eq!(told("J1")[0], "Cavity plugs: 5 of blind plug 1.5 mm, for 33 34 35 36 37.");
    assert_eq!(told("J2")[0], "Cavity plugs: 3 of blind plug 1.5 mm, for 9 11 12.");
    assert_eq!(told("X3S"), ["Cavity plugs: 1 of blind plug 2.0 mm, for 16."]);
    assert_eq!(told("P7")[0], "Cavity plugs: 6, type not named in connectors.csv, for 1 3 4 5 9 11.");
    assert_eq!(told("P7")[1], "Undecided cavities, not counted: 4. Reserved, counted as staying in their cavities: 1.");
    assert!(told("X3P").is_empty());
    for gone in ["M37", "B50", "S53"] {
        assert_eq!(told(gone), ["Nothing that the lists name stays: the connector goes, and needs no plugs."]);
    }
}

/// A plug of 2000 cavities of which one is listed: names are told as far as anybody reads them, and nothing leaves its page.
#[test]
fn a_few_of_many_unnamed_cavities_are_named() {
    let rows: String = (1..=1500).map(|n| format!("J1,{n},W{n},remove\n")).collect();
    let loom = list("loom.csv", &format!("connector,cavity,circuit,action\nJ1,2000,W0,keep\n{rows}"));
    let connectors = list("connectors.csv", "connector,kind,rows,columns\nJ1,plug,40,50\n");
    let circuits = circuits::read(&JobLists { connectors: Some(&connectors), ..JobLists::of(&[loom]) }).value;
    let issued = issued(&circuits);
    let harness = Harness::new(&circuits, &issued, &Payload::Code);
    let lists = WorkLists::new(&harness);
    let id = ConnectorId::from_cell("J1").expect("a name");
    let content = content(&lists, &id);
    let told = Cavities::of(&harness, content, circuits.connector(&id)).told(&Seats::of(&harness, &id).unnamed);
    assert!(told[0].starts_with("Cavities that no list names: 1501 1502 "), "{told:?}");
    assert!(told[0].ends_with(" 1560 and 439 more."), "{told:?}");
    let letterhead = Letterhead {
        job: "Marsh Hen".to_owned(),
        date: "2026-11-28".to_owned(),
        run: String::new(),
        paper: crate::paperwork::Paper::A4,
        symbol: "MARSH HEN".to_owned(),
    };
    let sheet = lists.sheet(&id, None, &letterhead, &Fonts::new()).expect("has a list");
    let room = letterhead.paper.room().height;
    let strips = || sheet.passages.iter().flat_map(|passage| &passage.strips);
    assert!(strips().count() > 1500 && strips().all(|strip| strip.frame.size.height < room));
}

fn words(row: &Row) -> String {
    let cell = |cell: &Cell| match cell {
        Cell::Words(words) | Cell::Strong(words) | Cell::Code(words) | Cell::Large(words) => words.clone(),
        Cell::Ticks(ticks) => if ticks.iter().all(|tick| tick.is_done) { "[x]" } else { "[ ]" }.to_owned(),
        Cell::Colour(colour) => colour.to_string(),
        Cell::Write => "____".to_owned(),
        Cell::Empty | Cell::Drawn(_) => String::new(),
    };
    match row {
        Row::Cells(cells) | Row::Bound(cells) | Row::Part(cells) => {
            cells.iter().map(cell).filter(|cell| !cell.is_empty()).collect::<Vec<_>>().join(" | ")
        }
        Row::Remark(words) | Row::Heading(words) | Row::Caution(words) => words.clone(),
    }
}

/// A wire that is done, one that was found otherwise, a doubled cavity, and one that arrives, as a person reads them.
#[test]
fn rows_as_a_person_reads_them() {
    let table = "connector,cavity,circuit,function,colour,size,supply,action,note\n\
                 J1,1,W1,main feed,RD,2.5,constant,cut,\n\
                 J1,2,W2,horn,BK,0.75,switched,remove,\n\
                 J1,3,W3,lamp,GY,0.75,lighting,cut,\n\
                 J1,3,W3,lamp,GY,0.75,lighting,cut,\n\
                 J2,1,W4,pump,BN,1.5,switched,move to J1/2,\n\
                 J2,2,W4,pump,BN,1.5,switched,keep,\n\
                 J2,3,W5,belt tensioner,YE,0.5,restraint,cut,\n";
    let circuits = circuits::read(&JobLists::of(&[list("j.csv", table)])).value;
    let issued = issued(&circuits);
    let mut harness = on_bench(&circuits, &issued, &vec![vec![false; 4]; circuits.all().len()]);
    harness.on_bench.to_mut()[0][0].done =
        [Step::Tagged, Step::Cut, Step::Capped, Step::Sealed, Step::Terminated].into();
    let (finding, value, remark) = (Finding::Colour, "GN".to_owned(), "faded".to_owned());
    harness.on_bench.to_mut()[1][0].found.push(Found { finding, value, remark, note: 4 });
    let lists = WorkLists::new(&harness);
    let shown = |id: &str| {
        let id = ConnectorId::from_cell(id).expect("a name");
        rows_of(&lists, &id).iter().map(words).collect::<Vec<_>>()
    };
    let [w1, w2, w3, w4, w5] = [0, 1, 2, 3, 4].map(|nth| issued.circuits[nth].code);
    assert_eq!(
        shown("J1"),
        [
            "LIVE WITH BATTERY ON: CAP THIS END".to_owned(),
            format!("1 | RD | 2.5 mm² | {w1} A | flag | W1 main feed | ____ | [x] | done: cut | [x] | [x] | [x] | [x]"),
            format!("2 | BK | 0.75 mm² | {w2} A | flag | W2 horn | ____ | [ ] | pull | [ ] | [ ]"),
            "FOUND colour GN, note 4: faded".to_owned(),
            format!("2 | BN | 1.5 mm² | {w4} A | W4 pump | ____ | arrives from J2/1 | [ ]"),
            format!("3 | GY | 0.75 mm² | {w3} A+B | flag | W3 lamp | ____ | [ ] | cut | [ ] | [ ] | [ ]"),
            "Doubled cavity: 2 wires, one tag for all".to_owned(),
            "3 | GY | 0.75 mm² | B, same tag | W3 lamp | ____ | cut | [ ] | [ ] | [ ] | [ ]".to_owned(),
        ]
    );
    assert_eq!(
        shown("J2")[2..],
        [
            "RESTRAINT DO NOT CUT".to_owned(),
            format!(
                "3 | YE | 0.5 mm² | {w5} A | flag | W5 belt tensioner | ____ | [ ] | stop, decide again: planned is to cut"
            ),
        ]
    );
}

/// A blank supply column, and a connector that connectors.csv calls what it is: nobody is told to cut there, nor at the other end.
#[test]
fn the_name_of_a_connector_tells_of_danger() {
    let table = "circuit,from place,to place,from action,to action\nW1,A70/1,J1/1,cut,move to J1/2\n";
    let connectors = list("connectors.csv", "connector,short name\nA70,airbag control unit\n");
    let lists = [list("wires.csv", table)];
    let circuits = circuits::read(&JobLists { connectors: Some(&connectors), ..JobLists::of(&lists) }).value;
    let issued = issued(&circuits);
    let harness = on_bench(&circuits, &issued, &[vec![false; 2]]);
    let lists = WorkLists::new(&harness);
    for (id, planned) in [("A70", "cut"), ("J1", "move")] {
        let rows = rows_of(&lists, &ConnectorId::from_cell(id).expect("a name"));
        assert_eq!(rows[0], Row::Caution("RESTRAINT DO NOT CUT".to_owned()));
        let cells = cells(&rows[1]).expect("a row");
        assert_eq!(cells[column("what to do")], Cell::Strong(format!("stop, decide again: planned is to {planned}")));
        assert!(cells[column("what to do") + 1..].iter().all(|cell| *cell == Cell::Empty));
    }
}

/// The boxes of a row from left to right are the steps in the order in which they are done, whatever the action.
#[test]
fn boxes_stand_in_the_order_of_the_work() {
    let table = "connector,cavity,circuit,supply,action\n\
                 J1,1,W1,constant,cut\nJ1,2,W2,constant,extend\nJ1,3,W3,constant,move to J1/9\nJ1,4,W4,switched,add\n\
                 J1,5,W5,high-voltage,cut\nJ1,6,W6,high-voltage,remove\nJ1,7,W7,,keep\nJ1,8,W8,high-voltage,move to J1/10\n";
    let circuits = circuits::read(&JobLists::of(&[list("j.csv", table)])).value;
    let issued = issued(&circuits);
    let harness = on_bench(&circuits, &issued, &vec![vec![false; 1]; 8]);
    let lists = WorkLists::new(&harness);
    let rows = rows_of(&lists, &ConnectorId::from_cell("J1").expect("a name"));
    let heads: Vec<String> = rows::columns(&Seats::default()).into_iter().map(|column| column.head).collect();
    let told = |cells: &Vec<Cell>| {
        let is_box = |(_, cell): &(&String, &Cell)| matches!(cell, Cell::Ticks(_));
        let boxes: Vec<&str> = heads.iter().zip(cells).filter(is_box).map(|(head, _)| head.as_str()).collect();
        boxes.join("; ")
    };
    assert_eq!(
        rows.iter().filter_map(cells).map(told).collect::<Vec<_>>(),
        [
            "tagged; cut, pulled; capped; terminated; sealed",
            "tagged; capped; moved, added, longer",
            "tagged; capped; moved, added, longer; sealed",
            "tagged; terminated; moved, added, longer",
            "tagged",
            "tagged",
            "tagged",
            "tagged",
            "moved, added, longer",
            "",
        ]
    );
}

/// What is pulled at one end hangs on the wire as long as its other end is in: it is capped where it may be fed.
#[test]
fn a_pulled_end_that_may_be_fed_is_capped() {
    let table = "circuit,from place,to place,supply,from action,to action\n\
                 W1,J1/1,J2/1,constant,remove,keep\nW2,J1/2,J2/2,constant,remove,remove\nW3,J1/3,J2/3,,remove,keep\n\
                 W4,J1/4,J2/4,,remove,remove\nW5,J1/5,J2/5,signal,remove,keep\nW6,J1/6,J2/6,restraint,remove,remove\n\
                 W7,J1/7,,switched,remove,\n";
    let circuits = circuits::read(&JobLists::of(&[list("wires.csv", table)])).value;
    let issued = issued(&circuits);
    let mut harness = on_bench(&circuits, &issued, &vec![vec![false; 2]; circuits.all().len()]);
    let capped = |harness: &Harness<'_>| {
        let is_capped = |nth: &usize| Task::of(harness, (*nth, 0), None).steps.contains(&Step::Capped);
        let ids = (0..circuits.all().len()).filter(is_capped).map(|nth| circuits.all()[nth].id().to_string());
        ids.collect::<Vec<_>>().join(" ")
    };
    assert_eq!(capped(&harness), "W1 W2 W3 W7");
    harness.on_bench.to_mut()[1][1].done.insert(Step::Pulled);
    assert_eq!(capped(&harness), "W1 W3 W7");
}
