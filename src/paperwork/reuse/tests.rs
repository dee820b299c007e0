//! Lists in, matches out; assignments against every way there is.

use std::collections::BTreeSet;
use std::fmt::Write;

use proptest::prelude::*;

use super::{MOST_WIRES, Purchase, Reuse, Settings, USUAL_SLACK, Wanted, Why, best, reuse, sheet};
use crate::base::{Length, Step};
use crate::circuits::{self, Circuits, JobLists, List, ListSettings};
use crate::codes::Register;
use crate::codes::link::Payload;
use crate::layout::Item;
use crate::layout::text::Fonts;
use crate::paperwork::letterhead::Paper;
use crate::paperwork::{Harness, Letterhead};

const HEADER: &str = "circuit,function,from place,to place,colour,size,insulation,length,from action,to action,with,supply,terminal family\n";

fn read(rows: &str) -> Circuits {
    let bytes = format!("{HEADER}{rows}").into_bytes();
    let list = List { name: "wires.csv".to_owned(), bytes, settings: ListSettings::default() };
    circuits::read(&JobLists::of(&[list])).value
}

/// Nothing is taken from an airbag unit, whatever the supply column leaves blank.
#[test]
fn the_name_of_a_connector_holds_its_wires_back() {
    let rows = "R1,,A70/1,X2/1,RD,1.5,,3000,remove,remove,,,\nA1,,X8/1,X9/1,RD,1.5,,1000,add,add,,,\n";
    let wires =
        List { name: "w.csv".to_owned(), bytes: format!("{HEADER}{rows}").into(), settings: ListSettings::default() };
    let bytes = b"connector,short name\nA70,airbag control unit\n".to_vec();
    let connectors = List { name: "connectors.csv".to_owned(), bytes, settings: ListSettings::default() };
    let lists = [wires];
    let of = |connectors| matched(&circuits::read(&JobLists { connectors, ..JobLists::of(&lists) }).value);
    assert_eq!(of(None).matches.len(), 1);
    let found = of(Some(&connectors));
    assert!(found.matches.is_empty() && found.held_back.iter().any(|held| held.why == Why::Restraint));
}

fn matched(circuits: &Circuits) -> Reuse {
    with_steps(circuits, "", &[])
}

/// As if these steps were noted at all ends of a circuit.
fn with_steps(circuits: &Circuits, id: &str, steps: &[Step]) -> Reuse {
    let issued = Register::in_memory().expect("in memory").preview(circuits).expect("previews");
    let mut harness = Harness::new(circuits, &issued, &Payload::Code);
    for (circuit, ends) in circuits.all().iter().zip(harness.on_bench.to_mut()) {
        let is_it = circuit.id().as_str() == id;
        ends.iter_mut().filter(|_| is_it).for_each(|end| end.done = steps.iter().copied().collect());
    }
    reuse(&harness, Settings::default(), &|_| true)
}

fn id<'c>(circuits: &'c Circuits, wanted: &Wanted) -> &'c str {
    circuits.all()[wanted.what.circuit()].id().as_str()
}

fn spare_id(circuits: &Circuits, reuse: &Reuse, spare: usize) -> String {
    circuits.all()[reuse.spares[spare].wire.circuit].id().to_string()
}

/// Each match on a line: `R1 (2000 mm) -> A1 1200 mm, 800 mm left`.
fn shown(circuits: &Circuits, reuse: &Reuse) -> String {
    let mut text = String::new();
    for one in &reuse.matches {
        let (spare, want) = (spare_id(circuits, reuse, one.spare), id(circuits, &reuse.wanted[one.wanted]));
        writeln!(text, "{spare} ({}) -> {want} {}, {} left", one.from, one.piece, one.rest())
            .expect("written to memory");
    }
    text
}

/// By hand. With 100 mm at each end A1 takes 1200 mm, A2 2200 mm. R1 does for A1 alone; R2 does for both. Taken alone A1 would
/// go best with R2, which has its colour and leaves 1100 mm; but then A2 would have none.
#[test]
fn most_wants_are_met_first() {
    let circuits = read(
        "R1,,X1/1,X2/1,RD,1.5,thin wall,3500,remove,remove,,,\n\
         R2,,X1/2,X2/2,BU,1.5,thin wall,2300,remove,remove,,,\n\
         R3,,X1/3,X2/3,BU,0.5,thin wall,9000,remove,remove,,,\n\
         A1,,X8/1,X9/1,BU,1.0,thin wall,1000,add,add,,,\n\
         A2,,X8/2,X9/2,BU,1.5,thin wall,2000,add,add,,,\n\
         A3,,X8/3,X9/3,BU,1.5,thin wall,8000,add,add,,,\n",
    );
    let found = matched(&circuits);
    // A1 from R1: 3500 × 1.5 − 1200 = 4050 lost, another colour; A2 from R2: 100 lost. The other way round costs
    // 2300 × 1.5 − 1200 + 3500 − 2200 = 3550, and another colour as well.
    assert_eq!(
        shown(&circuits, &found),
        "R1 (3500 mm) -> A2 2200 mm, 1300 mm left\nR2 (2300 mm) -> A1 1200 mm, 1100 mm left\n"
    );
    let stock: Vec<String> = found.left_for_stock().map(|(spare, _)| spare_id(&circuits, &found, spare)).collect();
    assert_eq!(stock, ["R3"]);
    let [Purchase { length, unmeasured: 0, may_be_served: 0, .. }] = found.to_buy[..] else {
        panic!("{:?}", found.to_buy)
    };
    assert_eq!(length, Length::mm(8200.0));
    assert_eq!((found.rest(0), found.measure_first.len()), (Some(Length::mm(1300.0)), 0));
}

/// One wire cut for three: where wires run short, what one want leaves serves the next.
#[test]
fn what_is_left_serves_again() {
    let circuits = read(
        "R1,,X1/1,X2/1,RD,1.5,thin wall,3000,remove,remove,,,\n\
         A1,,X8/1,X9/1,RD,1.5,thin wall,1000,add,add,,,\n\
         A2,,X8/2,X9/2,RD,1.5,thin wall,600,add,add,,,\n\
         A3,,X8/3,X9/3,RD,1.5,thin wall,500,add,add,,,\n\
         A4,,X8/4,X9/4,RD,1.5,thin wall,400,add,add,,,\n",
    );
    let found = matched(&circuits);
    let lines = "R1 (3000 mm) -> A1 1200 mm, 1800 mm left\nR1 (1800 mm) -> A2 800 mm, 1000 mm left\n\
                 R1 (1000 mm) -> A3 700 mm, 300 mm left\n";
    assert_eq!(shown(&circuits, &found), lines);
    assert_eq!((found.rest(0), found.unmet().count()), (Some(Length::mm(300.0)), 1));
}

/// ASTM B258: 14 AWG is 2.08 mm², 16 AWG 1.31 mm², 18 AWG 0.82 mm². A wire of 0.75 mm² does not do for 18 AWG, one of 1 mm² does.
#[test]
fn sizes_of_two_systems_are_compared_and_kept() {
    let serves = |has: &str, asked: &str| {
        let circuits = read(&format!(
            "R1,,X1/1,X2/1,RD,{has},,3000,remove,remove,,,\nA1,,X8/1,X9/1,RD,{asked},,1000,add,add,,,\n"
        ));
        !matched(&circuits).matches.is_empty()
    };
    for (has, asked) in
        [("1 mm²", "18 AWG"), ("2.5", "14 AWG"), ("16 AWG", "1 mm²"), ("14 AWG", "14 AWG"), ("1.5", "16 AWG")]
    {
        assert!(serves(has, asked), "{has} for {asked}");
    }
    for (has, asked) in
        [("0.75", "18 AWG"), ("2 mm²", "14 AWG"), ("16 AWG", "1.5"), ("18 AWG", "16 AWG"), ("0.5", "0.75")]
    {
        assert!(!serves(has, asked), "{has} for {asked}");
    }
}

#[test]
fn nothing_is_taken_for_granted() {
    let circuits = read(
        "R1,,X1/1,X2/1,RD,1.5,thin wall,,remove,remove,,,\n\
         R2,,X1/2,X2/2,RD,,thin wall,4000,remove,remove,,,\n\
         R3,,X1/3,X2/3,RD,0.5,thin wall,4000,remove,remove,,,\n\
         R4,,X1/4,X2/4,RD,1.5,ultra thin wall,4000,remove,remove,,,\n\
         R5,,X1/5,X2/5,RD,1.5,thin wall,150,remove,remove,,,\n\
         A1,,X8/1,X9/1,RD,1.5,thin wall,1000,add,add,,,\n",
    );
    let found = matched(&circuits);
    assert_eq!((found.matches.len(), found.measure_first.len()), (0, 2));
    let [one, other] = &found.measure_first[..] else { panic!("two") };
    assert_eq!((one.spare, one.length_at_least, one.size_at_least.is_none()), (0, Some(Length::mm(1200.0)), true));
    assert_eq!((other.spare, other.length_at_least, other.size_at_least.is_some()), (1, None, true));
    assert_eq!((found.to_buy[0].may_be_served, found.to_buy[0].length), (1, Length::mm(1200.0)));
}

/// Twisted pairs, danger, and ends that speak against each other.
#[test]
fn what_is_held_back() {
    let circuits = read(
        "R1,airbag left,X1/1,X2/1,YE,1.5,,3000,remove,remove,,restraint,\n\
         R2,,X1/2,X2/2,YE,1.5,,3000,remove,keep,,,\n\
         R3,,X1/3,X2/3,YE,1.5,,3000,remove,,,,\n\
         R4,,X1/4,X2/4,YE,1.5,,3000,remove,remove,K1,,\n\
         R5,,X1/5,X2/5,YE,1.5,,3000,remove,remove,,,\n\
         K1,,X1/6,X2/6,YE,1.5,,3000,keep,keep,R5,,\n\
         R6,,X1/7,X2/7,OG,1.5,,3000,remove,remove,,high-voltage,\n\
         R7,,X1/8,X2/8,YE,0.5,,3000,remove,remove,R8,,\n\
         R8,,X1/9,X2/9,YE,0.5,,3000,remove,remove,R7,,\n\
         R9,,X1/10,X2/10,OG,35 mm²,,3000,remove,remove,,,\n\
         A1,,X8/1,X9/1,YE,1.5,,1000,add,add,,,\n\
         A2,,X8/2,X9/2,YE,0.5,,1000,add,add,R5,,\n\
         A3,srs lamp,X8/3,X9/3,YE,0.5,,1000,add,add,,,\n\
         A4,,X8/4,X9/4,YE,0.5,,1000,add,add,,,\n",
    );
    let found = matched(&circuits);
    let told: Vec<(String, String)> = found
        .held_back
        .iter()
        .map(|held| (circuits.all()[held.wire.circuit].id().to_string(), format!("{:?}", held.why)))
        .collect();
    let why = |id: &str| told.iter().find(|(of, _)| of == id).map(|(_, why)| why.as_str());
    assert_eq!(why("R1"), Some("Restraint"));
    assert_eq!(why("R2"), Some("OtherEnd(1, Keep)"));
    assert_eq!(why("R3"), Some("OtherEnd(1, Undecided)"));
    assert_eq!(why("R4"), Some("Partner(\"K1\")"));
    assert_eq!(why("R5"), Some("Partner(\"K1\")"));
    assert_eq!(why("R6"), Some("HighVoltage"));
    assert_eq!(why("R9"), Some("HeavyOrange"));
    assert_eq!(why("A2"), Some("WantedPair(\"R5\")"));
    assert_eq!(why("A3"), Some("Restraint"));
    assert_eq!(told.len(), 9, "{told:?}");
    // R7 and R8 go together, and one of them serves, which is told with it.
    assert_eq!(shown(&circuits, &found), "R7 (3000 mm) -> A4 1200 mm, 1800 mm left\n");
    assert_eq!(found.spares[found.matches[0].spare].partner.as_deref(), Some("R8"));
}

/// What is pulled is reused but not left in; what is cut is not claimed at its length; what is added is wanted no more.
#[test]
fn the_notes_of_the_bench_count() {
    let circuits = read(
        "R1,,J1/1,X2/1,RD,1.5,,3000,remove,remove,,,\n\
         A1,,J1/7,X9/1,RD,1.5,,1000,add,add,,,\n",
    );
    let leaves_in = |found: &Reuse| found.matches.first().map(|one| one.route.leaves_it_in());
    assert_eq!(leaves_in(&matched(&circuits)), Some(true));
    assert_eq!(leaves_in(&with_steps(&circuits, "R1", &[Step::Pulled])), Some(false));
    let cut = with_steps(&circuits, "R1", &[Step::Cut]);
    assert_eq!((cut.matches.len(), cut.measure_first.len()), (0, 1));
    assert_eq!(cut.measure_first[0].length_at_least, Some(Length::mm(1200.0)));
    let done = with_steps(&circuits, "A1", &[Step::Added]);
    assert_eq!((done.wanted.len(), done.spares.len()), (0, 1));
    let pulled = with_steps(&circuits, "R1", &[Step::Pulled]);
    assert_eq!(pulled.spares[0].pulled, [0, 1]);
}

/// The piece that makes an end longer and the added end it leads to are one wire.
#[test]
fn an_extension_that_leads_on_is_one_piece() {
    let chart = |rows: &str| {
        let text = format!("place,circuit,colour,size,action,length,extend by\n{rows}");
        let list = List { name: "chart.csv".to_owned(), bytes: text.into_bytes(), settings: ListSettings::default() };
        circuits::read(&JobLists::of(&[list])).value
    };
    let wire = "H1/1,M1,RD,1.5,keep,5200,\nX4/1,M1,RD,1.5,extend,5200,";
    let removed = "R/1,R1,BN,1.5,remove,2000,\nR2/1,R1,BN,1.5,remove,2000,\n";
    let unknown = matched(&chart(&format!("{removed}{wire}\n")));
    assert_eq!((unknown.wanted.len(), unknown.matches.len()), (1, 0));
    assert_eq!(unknown.measure_first[0].way_at_most, Some(Length::mm(1800.0)));
    let known = matched(&chart(&format!("{removed}{wire}700\n")));
    assert_eq!((known.wanted[0].length, known.matches.len()), (Some(Length::mm(700.0)), 1));
    let with_length = format!("{removed}{wire}\nK2/86,M1,YE,1.0,add,900,\n");
    let circuits = chart(&with_length);
    let led = matched(&circuits);
    assert_eq!(led.wanted.len(), 1);
    assert_eq!((led.wanted[0].length, led.matches.len()), (Some(Length::mm(900.0)), 1));
}

/// What is not compared is told.
#[test]
fn more_wires_than_are_compared() {
    let mut rows = "A1,,X8/1,X9/1,RD,1.5,,1000,add,add,,,\n".to_owned();
    for at in 0..MOST_WIRES + 3 {
        writeln!(rows, "R{at},,X1/{at},X2/{at},RD,1.5,,3000,remove,remove,,,").expect("written to memory");
    }
    let found = matched(&read(&rows));
    assert_eq!((found.not_compared, found.matches.len(), found.spares.len()), ((3, 0), 1, MOST_WIRES));
}

/// Wants that were not compared are bought, and the sheet says so at its head.
#[test]
fn wants_that_are_not_compared_are_bought() {
    let mut rows = "R1,,X1/1,X2/1,RD,1.5,,9000,remove,remove,,,\n".to_owned();
    for at in 0..MOST_WIRES + 3 {
        writeln!(rows, "A{at},,X8/{at},X9/{at},RD,2.5,,1000,add,add,,,").expect("written to memory");
    }
    let circuits = read(&rows);
    let issued = Register::in_memory().expect("in memory").preview(&circuits).expect("previews");
    let harness = Harness::new(&circuits, &issued, &Payload::Code);
    let found = reuse(&harness, Settings::default(), &|_| true);
    assert_eq!((found.wanted.len(), found.held_back.len()), (MOST_WIRES + 3, 0));
    assert_eq!((found.not_compared, found.matches.len()), ((0, 3), 0));
    assert_eq!(found.to_buy.iter().map(|buy| buy.wanted.len()).sum::<usize>(), MOST_WIRES + 3);

    let letterhead = Letterhead {
        job: "Marsh Hen".to_owned(),
        date: "2026-11-28".to_owned(),
        run: String::new(),
        paper: Paper::A4,
        symbol: "MARSH HEN".to_owned(),
    };
    let fonts = Fonts::new();
    let head = |found: &Reuse| {
        let sheet = sheet::sheet(&harness, found, USUAL_SLACK, &letterhead, &fonts).expect("there is one");
        let words =
            sheet.passages[0].strips.iter().flat_map(|strip| &strip.frame.items).filter_map(|item| match item {
                Item::Text(text) => Some(text.glyphs.iter().map(|glyph| &*glyph.text).collect::<String>()),
                _ => None,
            });
        words.collect::<Vec<_>>().join(" ")
    };
    let told = head(&found);
    assert!(
        told.starts_with("Wanted wires that were not compared, and are under \"to buy\": 3. At most 500"),
        "{told}"
    );
    assert_eq!(head(&Reuse { not_compared: (0, 0), ..found }), "to buy");
}

/// Both ends in the right connectors, one in the right cavity, one in the right connector, or none.
#[test]
fn what_is_left_in() {
    let route = |removed: &str| {
        let circuits =
            read(&format!("R1,,{removed},RD,1.5,,1700,remove,remove,,,\nA1,,J1/7,X9/1,RD,1.5,,1000,add,add,,,\n"));
        format!("{:?}", matched(&circuits).matches[0].route)
    };
    for (removed, beginning) in [
        ("X9/4,J1/3", "Loom"),
        ("J1/7,X9/3", "Loom"),
        ("X3/1,J1/7", "Place"),
        ("J1/3,X3/1", "Connector"),
        ("J1/3,J1/4", "Connector"),
        ("X3/1,X4/1", "Elsewhere"),
    ] {
        assert!(route(removed).starts_with(beginning), "{removed}: {}", route(removed));
    }
}

/// A wire that lies where it is wanted is taken before a shorter one, and one of the wanted terminals before one of others.
#[test]
fn preferences() {
    let circuits = read(
        "R1,,X1/1,X2/1,RD,1.5,,1500,remove,remove,,,\n\
         R2,,J1/4,X2/2,RD,1.5,,1700,remove,remove,,,\n\
         A1,,J1/7,X9/1,RD,1.5,,1000,add,add,,,\n",
    );
    let found = matched(&circuits);
    assert_eq!(
        (spare_id(&circuits, &found, found.matches[0].spare).as_str(), found.matches[0].rest()),
        ("R2", Length::mm(500.0))
    );
    let circuits = read(
        "R1,,X1/1,X2/1,RD,1.5,,1500,remove,remove,,,MX 1.5\n\
         R2,,X1/4,X2/2,RD,1.5,,1520,remove,remove,,,MX 2.8\n\
         A1,,J1/7,X9/1,RD,1.5,,1000,add,add,,,mx 2.8\n",
    );
    let found = matched(&circuits);
    assert_eq!(found.matches[0].terminals, ["MX 2.8", "MX 2.8"]);
}

/// The most rows that can be met, and the least that so many cost, by trying all ways.
fn by_trying(costs: &[Vec<Option<i64>>], taken: &mut Vec<bool>) -> (usize, i64) {
    let Some((row, below)) = costs.split_first() else { return (0, 0) };
    let (count, cost) = by_trying(below, taken);
    let mut found = (count, -cost);
    for (column, cost) in row.iter().enumerate() {
        if let (Some(cost), false) = (cost, taken[column]) {
            taken[column] = true;
            let (count, below) = by_trying(below, taken);
            taken[column] = false;
            found = found.max((count + 1, -(below + cost)));
        }
    }
    (found.0, -found.1)
}

fn worth(costs: &[Vec<Option<i64>>], taken: &[Option<usize>]) -> (usize, i64) {
    let cost = |(row, column): (&Vec<Option<i64>>, &Option<usize>)| row[(*column)?];
    let met: Vec<i64> = costs.iter().zip(taken).filter_map(cost).collect();
    (met.len(), met.iter().sum())
}

fn tables() -> impl Strategy<Value = Vec<Vec<Option<i64>>>> {
    (0..6_usize).prop_flat_map(|columns| {
        let cost = prop_oneof![2 => Just(None), 3 => (0..40_i64).prop_map(Some), 1 => Just(Some(1_000_000_000_000))];
        prop::collection::vec(prop::collection::vec(cost, columns), 0..6)
    })
}

proptest! {
    #[test]
    fn assignments_are_the_best_there_are(costs in tables()) {
        let taken = best(&costs);
        prop_assert_eq!(taken.len(), costs.len());
        let columns: Vec<usize> = taken.iter().flatten().copied().collect();
        prop_assert_eq!(columns.iter().collect::<BTreeSet<_>>().len(), columns.len());
        prop_assert!(taken.iter().zip(&costs).all(|(at, row)| at.is_none_or(|at| row[at].is_some())));
        let mut free = vec![false; costs.first().map_or(0, Vec::len)];
        prop_assert_eq!(worth(&costs, &taken), by_trying(&costs, &mut free));
    }

    /// Whatever the lists say: no wire is cut beyond its length, no want is met twice, and each match is one that may be.
    #[test]
    fn no_wire_is_promised_twice(
        removed in prop::collection::vec((0..5_usize, 0..5_usize, 200..4000_i64), 0..7),
        added in prop::collection::vec((0..5_usize, 0..5_usize, 100..3000_i64), 0..7),
    ) {
        const SIZES: [&str; 5] = ["", "0.5", "1.5", "16 AWG", "12 AWG"];
        const COLOURS: [&str; 5] = ["", "RD", "RD/BU", "BK", "XQ"];
        let mut rows = String::new();
        for (at, (size, colour, length)) in removed.iter().enumerate() {
            writeln!(rows, "R{at},,X1/{at},X2/{at},{},{},,{length},remove,remove,,,", COLOURS[*colour], SIZES[*size]).expect("written to memory");
        }
        for (at, (size, colour, length)) in added.iter().enumerate() {
            writeln!(rows, "A{at},,X8/{at},X9/{at},{},{},,{length},add,add,,,", COLOURS[*colour], SIZES[*size]).expect("written to memory");
        }
        let circuits = read(&rows);
        let found = matched(&circuits);
        prop_assert_eq!((found.spares.len(), found.wanted.len()), (removed.len(), added.len()));
        prop_assert!((0..found.spares.len()).all(|spare| found.rest(spare).is_some_and(|rest| rest >= Length::ZERO)));
        let met: BTreeSet<usize> = found.matches.iter().map(|one| one.wanted).collect();
        prop_assert_eq!(met.len(), found.matches.len());
        for one in &found.matches {
            let (spare, wanted) = (&found.spares[one.spare], &found.wanted[one.wanted]);
            let (has, asked) = (spare.conductor.as_ref().expect("known"), wanted.conductor.as_ref().expect("known"));
            prop_assert!(has.size().square_millimetres() >= asked.size().square_millimetres());
            prop_assert_eq!(one.piece, wanted.length.expect("known") + USUAL_SLACK * 2);
        }
        prop_assert_eq!(found.to_buy.iter().map(|buy| buy.wanted.len()).sum::<usize>(), found.unmet().count());
        prop_assert_eq!(&matched(&circuits), &found);
    }
}
