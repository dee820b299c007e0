//! Circuits -> the safety page: cautions in the order of the work, and under them the circuits of this job that they are about.
//!
//! The cautions are common practice, and the makers' manuals, local codes and licensed people go before them. What is dangerous is
//! told by the supply column or by plain words, never by a colour; a circuit that is not named here is not therefore dead.

use std::collections::BTreeSet;

use super::{gravest, heading};
use crate::base::{ConnectorId, Length, counted};
use crate::circuits::caution::danger_at;
use crate::circuits::{Action, Supply};
use crate::layout::text::Fonts;
use crate::paperwork::{Cell, Column, Harness, Letterhead, Passage, Row, Sheet, Table};

/// What stands above all.
const FIRST: &str =
    "LOCAL CODES, THE MAKERS' MANUALS AND LICENSED PEOPLE COME FIRST. NO MARK DOES NOT MEAN DEAD: TEST.";

/// Before anything is cut or pulled; said wherever something is to be done.
pub const BATTERY_OFF: &str = "Take the battery off, negative first. Look for what else feeds the harness: a second battery, shore power, a charger, an \
     inverter, solar panels, the alternator. Take each off, and see to it that nobody puts it back.";

const BEFORE_WORK: [&str; 6] = [
    BATTERY_OFF,
    "Test that it is dead, at the wire you are about to work on. Try the meter on something live before and after.",
    "Capacitors keep their charge when everything is off: wait as the maker says, then measure.",
    "Ground yourself before you touch the pins of a control unit.",
    "Mains and shore power wiring belongs to licensed people.",
    "A tag is a record of what somebody knew. It proves nothing about the wire in your hand.",
];

const WHILE_CUTTING: [&str; 4] = [
    "One wire at a time: count to the cavity, look at the colour, tag both sides, then cut between the tags.",
    "No mark does not mean dead: test, whatever the tag or the list says.",
    "Cap an end as soon as it comes free, where it is fed or may be fed.",
    "A colour neither makes a wire dangerous nor clears it. Heavy cable with an orange jacket: stop until the maker's diagram \
     says what it is.",
];

const HEAT: [&str; 3] = [
    "No heat gun, iron, torch or spark where fuel vapour or gas may be: air the bilge and the engine room first. A battery \
     that is being charged gives off gas that explodes.",
    "Never feed heat-shrink tube through a laser or inkjet printer. Direct-thermal print turns black under a heat gun.",
    "Paper flags are work tags: take them off before the loom is closed, and keep them away from exhaust, belts and bilge.",
];

/// Of restraint circuits.
pub const RESTRAINT: [&str; 3] = [
    "Never cut, probe or tap into airbag and belt tensioner circuits, and never measure them with a meter: a small current may \
     fire them.",
    "Disarm them and wait as the maker's manual says; waits differ. Leave their connectors closed until then.",
    "Take such units out whole, with their wires, and store them as the manual says.",
];

/// Of high voltage.
pub const HIGH_VOLTAGE: [&str; 2] = [
    "Stop: trained people only. Do not cut, open, pull or move anything of it.",
    "It may be live with everything off, and stay so for minutes. Only who is trained may say that it is dead.",
];

const CONSTANT: [&str; 1] =
    ["These wires are live as long as a battery is on, whatever the switches say. Take out the fuse too."];

const AFTER: [&str; 5] = [
    "Every free end is capped, every empty cavity closed, every splice pulled at and covered.",
    "A fuse protects the wire: it sits near the source, and its rating is never above what the thinnest wire behind it bears.",
    "Nothing chafes, hangs in the bilge, or lies near exhaust and belts. No tool lies on the battery.",
    "Put the battery on, negative last. Then one fuse after the other, somebody with a hand at the battery switch, and test.",
    "Where codes ask for an inspection, have it made before the boat or machine is used.",
];

/// The page; `None` where there is no circuit.
pub fn sheet(harness: &Harness<'_>, letterhead: &Letterhead, fonts: &Fonts) -> Option<Sheet> {
    let width = letterhead.paper.room().width;
    let of = |supply: Supply| -> Vec<usize> {
        let circuits = harness.circuits;
        (0..circuits.all().len()).filter(|index| gravest(circuits, *index) == Some(supply)).collect()
    };
    let (restraint, high_voltage, constant) = (of(Supply::Restraint), of(Supply::HighVoltage), of(Supply::Constant));
    let mut first = Table::new(vec![Column::new("").growing()]);
    first.rows.push(Row::Caution(FIRST.to_owned()));
    let mut passages = vec![first.passage(fonts, width, Length::ZERO)];
    let mut add = |words: &str, cautions: &[&str]| {
        passages.push(heading(fonts, width, words));
        passages.push(checks(fonts, width, cautions));
    };
    add("Before the work", &BEFORE_WORK);
    add("While cutting", &WHILE_CUTTING);
    add("Heat", &HEAT);
    let parts = [
        ("Restraint: airbags and belt tensioners", &RESTRAINT[..], &restraint, Supply::Restraint),
        ("High voltage", &HIGH_VOLTAGE[..], &high_voltage, Supply::HighVoltage),
        ("Live with the switch off", &CONSTANT[..], &constant, Supply::Constant),
    ];
    for (words, cautions, circuits, supply) in parts {
        passages.push(heading(fonts, width, &format!("{words}: {}", in_this_job(circuits.len()))));
        passages.push(checks(fonts, width, cautions));
        passages.extend(named(harness, circuits, supply, fonts, width));
    }
    passages.push(heading(fonts, width, "After the work"));
    passages.push(checks(fonts, width, &AFTER));
    let subtitle = format!(
        "{} restraint, {} high voltage, {} live with the switch off",
        restraint.len(),
        high_voltage.len(),
        constant.len()
    );
    (!harness.circuits.all().is_empty()).then(|| Sheet {
        title: letterhead.job.clone(),
        subtitle,
        sort: "safety".to_owned(),
        symbol: None,
        passages,
    })
}

fn in_this_job(count: usize) -> String {
    if count == 0 { "none told in the lists".to_owned() } else { counted(count, "circuit") }
}

/// Cautions with boxes to tick.
fn checks(fonts: &Fonts, width: Length, cautions: &[&str]) -> Passage {
    let mut table = Table::new(vec![Column::new("").wide(6.0), Column::new("").growing()]);
    for caution in cautions {
        table.row(vec![Cell::open_box(), Cell::Words((*caution).to_owned())]);
    }
    table.passage(fonts, width, Length::ZERO)
}

/// The circuits that a caution is about, and the connectors that stay closed for them.
fn named(harness: &Harness<'_>, circuits: &[usize], supply: Supply, fonts: &Fonts, width: Length) -> Vec<Passage> {
    let is_live = supply == Supply::Constant;
    let planned = match supply {
        Supply::Constant => "come free: cap",
        Supply::Restraint => "planned",
        _ => "planned: stop",
    };
    let mut columns = vec![Column::new("code"), Column::new("circuit"), Column::new("function"), Column::new("fuse")];
    columns.push(Column::new("ends").growing());
    columns.push(Column::new(planned).wide(36.0));
    let mut table = Table::new(columns);
    let mut closed: BTreeSet<&ConnectorId> = BTreeSet::new();
    for &index in circuits {
        let (circuit, codes) = (harness.circuit(index), &harness.issued.circuits[index]);
        let (mut ends, mut worked, mut goes_whole) = (Vec::new(), Vec::new(), Vec::new());
        for (at, (end, letter)) in circuit.ends().iter().zip(&codes.letters).enumerate() {
            ends.push(format!("{letter} {}", end.place));
            if danger_at(harness.circuits, (index, at)) != Some(supply) {
                continue;
            }
            closed.insert(&end.place.connector);
            let planned = format!("{letter} {}", end.action);
            match (supply, &end.action) {
                (Supply::Restraint, Action::Remove) => goes_whole.push(planned),
                (Supply::HighVoltage, Action::Remove) => worked.push(planned),
                (_, action) if action.loses_housing() || harness.hangs_pulled((index, at)) => worked.push(planned),
                _ => {}
            }
        }
        table.row(vec![
            Cell::Code(codes.code.to_string()),
            Cell::Strong(circuit.id().to_string()),
            Cell::words(circuit.function.as_deref()),
            Cell::words(circuit.fuse.as_ref()),
            Cell::Words(ends.join(", ")),
            planned_words(supply, &worked, &goes_whole),
        ]);
    }
    let mut passages = Vec::new();
    if !circuits.is_empty() {
        passages.push(table.passage(fonts, width, Length::mm(1.5)));
    }
    if !is_live && !closed.is_empty() {
        let named = |id: &&ConnectorId| {
            let name = harness.circuits.connector(id).and_then(|connector| connector.short_name.as_deref());
            name.map_or_else(|| id.to_string(), |name| format!("{id} ({name})"))
        };
        let closed: Vec<String> = closed.iter().map(named).collect();
        let mut table = Table::new(vec![Column::new("").growing()]);
        table.rows.push(Row::Caution(format!("DO NOT OPEN: {}", closed.join(", "))));
        passages.push(table.passage(fonts, width, Length::mm(1.5)));
    }
    passages
}

/// What is planned at the ends of a circuit. Of a restraint circuit nothing but its removal is, once it is disarmed: the rest has to be
/// decided again.
fn planned_words(supply: Supply, worked: &[String], goes_whole: &[String]) -> Cell {
    let stop = if supply == Supply::Restraint { "stop, decide again: " } else { "" };
    let parts = [("once disarmed: ", goes_whole), (stop, worked)];
    let told = parts.into_iter().filter(|(_, ends)| !ends.is_empty());
    Cell::words(Some(told.map(|(how, ends)| format!("{how}{}", ends.join(", "))).collect::<Vec<_>>().join("\n")))
}

#[cfg(test)]
mod tests {
    use super::super::trial::{Job, letterhead, written};
    use super::*;

    /// The circuits that the lists of the example mark, by their supply columns.
    #[test]
    fn dangerous_circuits_are_named() {
        let (job, fonts) = (Job::marsh_hen(), Fonts::new());
        let sheet = sheet(&job.harness(), &letterhead(), &fonts).expect("there are circuits");
        let constant = job.circuits.all().iter().filter(|circuit| circuit.supply == Some(Supply::Constant)).count();
        assert_eq!(sheet.subtitle, format!("3 restraint, 1 high voltage, {constant} live with the switch off"));
        let words = written(&sheet, &fonts);
        for id in ["C40", "C41", "C42", "M27", "E70", "C01"] {
            assert!(words.contains(&job.code(id)), "{id}");
        }
        let closed: Vec<&String> = words.iter().filter(|words| words.starts_with("DO NOT OPEN")).collect();
        assert_eq!(
            closed,
            [
                "DO NOT OPEN: A70 (restraint control unit), P7 (instruments), R71 (belt tensioner)",
                "DO NOT OPEN: A96 (inverter)"
            ]
        );
        assert!(words.iter().any(|words| words.contains("NO MARK DOES NOT MEAN DEAD: TEST")));
    }

    #[test]
    fn the_name_of_a_connector_tells_of_danger() {
        let job = Job::of("connector,cavity,circuit\nA70,1,W1\n", "connector,short name\nA70,airbag control unit\n");
        let fonts = Fonts::new();
        let sheet = sheet(&job.harness(), &letterhead(), &fonts).expect("a circuit");
        assert!(sheet.subtitle.starts_with("1 restraint"), "{}", sheet.subtitle);
        assert!(written(&sheet, &fonts).contains(&"DO NOT OPEN: A70 (airbag control unit)".to_owned()));
    }

    /// Only what is removed whole goes once it is disarmed; what is planned beside that is told as the work list tells it.
    #[test]
    fn a_restraint_wire_is_not_cut_once_disarmed() {
        let rows = "circuit,from place,to place,from action,to action,supply\nW1,A1/1,B1/1,cut,remove,restraint\n\
                    W2,A1/2,B1/2,move to A1/9,keep,restraint\nW3,A1/3,B1/3,cut,remove,high-voltage\nW4,A1/4,B1/4,keep,remove,constant\n";
        let (job, fonts) = (Job::of(rows, "connector\n"), Fonts::new());
        let words = written(&sheet(&job.harness(), &letterhead(), &fonts).expect("circuits"), &fonts).join(" ");
        let told = [
            "once disarmed: B remove",
            "stop, decide again: A cut",
            "stop, decide again: A move to A1/9",
            "A cut, B remove",
        ];
        for told in told {
            assert_eq!(words.matches(told).count(), 1, "{told} in {words}");
        }
        // Of W4, too: the live end that is pulled hangs on a wire that stays.
        assert_eq!(words.matches("B remove").count(), 3, "{words}");
    }

    /// The cautions come as the work goes, whatever the job holds.
    #[test]
    fn the_order_is_that_of_the_work() {
        let (job, fonts) = (Job::of("connector,cavity,circuit\nJ1,1,A\n", "connector\n"), Fonts::new());
        let words = written(&sheet(&job.harness(), &letterhead(), &fonts).expect("a circuit"), &fonts);
        let heads =
            ["Before the work", "While cutting", "Heat", "Restraint", "High voltage", "Live with", "After the work"];
        let at = heads.map(|head| words.iter().position(|words| words.starts_with(head)));
        assert!(at.iter().all(Option::is_some) && at.is_sorted(), "{at:?}");
        assert_eq!(words.iter().filter(|words| words.ends_with("none told in the lists")).count(), 3);
        assert!(!words.iter().any(|words| words.starts_with("DO NOT OPEN")));
    }
}
