//! Wires by branch: how many lie in each leg of the harness now, and what the plan makes of them.

use std::collections::BTreeMap;

use super::{BEFORE, words};
use crate::base::{Length, Step, natural};
use crate::circuits::Action;
use crate::labels::WireEnds;
use crate::layout::text::Fonts;
use crate::paperwork::{Binding, Cell, Column, Harness, Letterhead, Passage, Row, Sheet, Table};

/// Codes named below a leg, at most.
const MOST_NAMED: usize = 60;

/// What becomes of a wire.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Fate {
    Stays,
    Goes,
    Added,
    Undecided,
}

/// A wire between two ends, or from one to a splice or to nobody knows where.
struct Wire {
    fate: Fate,
    /// Whether what is planned is done by notes, at every end that is planned to.
    is_done: bool,
    /// The legs that its ends name.
    branches: Vec<String>,
    /// The circuit's code.
    code: String,
}

impl Wire {
    /// A wire goes where one of its ends is pulled, as it cannot be pulled in part; it is new where one of its ends is added.
    fn of(harness: &Harness<'_>, wire: WireEnds) -> Self {
        let ends: Vec<(usize, usize)> = wire.ends().map(|end| (wire.circuit, end)).collect();
        let has = |action: &Action| ends.iter().any(|at| harness.end(*at).action == *action);
        let (fate, planned) = match () {
            () if has(&Action::Add) => (Fate::Added, Some((Action::Add, Step::Added))),
            () if has(&Action::Remove) => (Fate::Goes, Some((Action::Remove, Step::Pulled))),
            () if has(&Action::Undecided) => (Fate::Undecided, None),
            () => (Fate::Stays, None),
        };
        let is_done = planned.is_some_and(|(action, step)| {
            let mut planned = ends.iter().filter(|at| harness.end(**at).action == action);
            planned.all(|at| harness.on_bench(*at).done.contains(&step))
        });
        let mut branches: Vec<String> = ends.iter().filter_map(|at| harness.end(*at).branch.clone()).collect();
        branches.sort();
        branches.dedup();
        Self { fate, is_done, branches, code: harness.issued.circuits[wire.circuit].code.to_string() }
    }

    fn lies_now(&self) -> bool {
        match self.fate {
            Fate::Stays | Fate::Undecided => true,
            Fate::Goes => !self.is_done,
            Fate::Added => self.is_done,
        }
    }
}

/// What lies in a leg.
#[derive(Default)]
struct Leg {
    now: usize,
    at_last: usize,
    by_fate: BTreeMap<Fate, (usize, usize)>,
    to_pull: Vec<String>,
    undecided: Vec<String>,
}

impl Leg {
    fn add(&mut self, wire: &Wire) {
        self.now += usize::from(wire.lies_now());
        self.at_last += usize::from(wire.fate != Fate::Goes);
        let (count, done) = self.by_fate.entry(wire.fate).or_default();
        *count += 1;
        *done += usize::from(wire.is_done);
        match wire.fate {
            Fate::Goes if !wire.is_done => self.to_pull.push(wire.code.clone()),
            Fate::Undecided => self.undecided.push(wire.code.clone()),
            _ => {}
        }
    }

    fn cells(&self, name: &str) -> Vec<Cell> {
        let count = |fate: Fate| self.by_fate.get(&fate).copied().unwrap_or_default();
        let number = |count: usize| Cell::words((count > 0).then_some(count));
        let done = |(count, done): (usize, usize)| match count {
            0 => Cell::Empty,
            count => Cell::Words(format!("{count}, of these {done} done")),
        };
        vec![
            Cell::Code(name.to_owned()),
            Cell::Strong(left(self.now)),
            done(count(Fate::Goes)),
            done(count(Fate::Added)),
            number(count(Fate::Undecided).0),
            number(self.at_last),
        ]
    }

    fn remarks(&self) -> impl Iterator<Item = Row> {
        let named = |what: &str, codes: &[String]| {
            let more = codes.len().saturating_sub(MOST_NAMED);
            let more = if more > 0 { format!(" and {more} more") } else { String::new() };
            let shown: Vec<&str> = codes.iter().take(MOST_NAMED).map(String::as_str).collect();
            (!codes.is_empty()).then(|| Row::Remark(format!("{what}: {}{more}", shown.join(" "))))
        };
        [named("Still to pull", &self.to_pull), named("Undecided", &self.undecided)].into_iter().flatten()
    }
}

/// `11 wires left`.
fn left(count: usize) -> String {
    match count {
        0 => "no wire left".to_owned(),
        1 => "1 wire left".to_owned(),
        count => format!("{count} wires left"),
    }
}

/// The sheet; `None` where no list names a branch.
pub fn sheet(harness: &Harness<'_>, letterhead: &Letterhead, fonts: &Fonts) -> Option<Sheet> {
    let (legs, all) = legs(harness);
    if legs.iter().all(|(name, _)| name.is_empty()) {
        return None;
    }
    let mut table = Table::new(vec![
        Column::new("leg").growing(),
        Column::new("now").growing(),
        Column::new("to pull").growing(),
        Column::new("to add").growing(),
        Column::new("undecided").right(),
        Column::new("when all is done").wide(22.0).right(),
    ]);
    for (name, leg) in &legs {
        table.row(leg.cells(if name.is_empty() { "no leg named" } else { name }));
        table.rows.extend(leg.remarks());
    }
    table.row(all.cells("all legs"));
    let width = letterhead.paper.room().width;
    let note = "Undecided wires count as staying. A wire whose ends name two legs counts in both, and once in all legs; legs that it runs \
                through on its way are not known. What is done is counted by notes.";
    let note = Passage { before: BEFORE, ..words(fonts, width, note, Binding::Free) };
    let passages = vec![table.passage(fonts, width, Length::ZERO), note];
    let subtitle = left(all.now);
    Some(Sheet { title: letterhead.job.clone(), subtitle, sort: "wires by branch".to_owned(), symbol: None, passages })
}

/// The legs by name in natural order, wires of which no row names one last; and all wires, each once.
fn legs(harness: &Harness<'_>) -> (Vec<(String, Leg)>, Leg) {
    let (mut legs, mut all): (BTreeMap<String, Leg>, Leg) = Default::default();
    for (circuit, ends) in harness.circuits.all().iter().map(|circuit| circuit.ends().len()).enumerate() {
        for end in 0..ends {
            let ends = WireEnds::of(harness.circuits, circuit, end);
            if ends.first != end {
                continue;
            }
            let wire = Wire::of(harness, ends);
            all.add(&wire);
            let none = wire.branches.is_empty().then(String::new);
            for branch in none.iter().chain(&wire.branches) {
                legs.entry(branch.clone()).or_default().add(&wire);
            }
        }
    }
    let mut legs: Vec<(String, Leg)> = legs.into_iter().collect();
    legs.sort_by(|(one, _), (other, _)| one.is_empty().cmp(&other.is_empty()).then(natural::compare(one, other)));
    (legs, all)
}

#[cfg(test)]
mod tests {
    use super::super::trial::{Job, letterhead, written};
    use super::*;
    use crate::circuits::FarEnd;

    fn told(harness: &Harness<'_>) -> Vec<String> {
        let (legs, all) = legs(harness);
        let row = |(name, leg): &(String, Leg)| {
            let words = leg.cells(name).into_iter().map(|cell| match cell {
                Cell::Words(words) | Cell::Strong(words) | Cell::Code(words) => words,
                _ => "-".to_owned(),
            });
            words.collect::<Vec<_>>().join(" | ")
        };
        legs.iter().map(row).chain([row(&("all".to_owned(), all))]).collect()
    }

    /// Wires of the list by hand: A stays in HELM and BOW, B is pulled from HELM, C is added, D is undecided, E names no leg.
    #[test]
    fn wires_are_counted_in_the_legs_that_their_ends_name() {
        let rows = "connector,cavity,circuit,action,branch\nJ1,1,A,keep,HELM\nJ2,1,A,keep,BOW\nJ1,2,B,remove,HELM\n\
                    J2,2,B,remove,HELM\nJ1,3,C,add,BOW\nJ2,3,C,add,BOW\nJ1,4,D,,HELM\nJ1,5,E,cut,\n";
        let job = Job::of(rows, "connector\n");
        let mut harness = job.harness();
        let plan = [
            "BOW | 1 wire left | - | 1, of these 0 done | - | 2",
            "HELM | 3 wires left | 1, of these 0 done | - | 1 | 2",
            " | 1 wire left | - | - | - | 1",
            "all | 4 wires left | 1, of these 0 done | 1, of these 0 done | 1 | 4",
        ];
        assert_eq!(told(&harness), plan);
        harness.on_bench.to_mut()[1][0].done.insert(Step::Pulled);
        harness.on_bench.to_mut()[2][0].done.insert(Step::Added);
        assert_eq!(told(&harness), plan, "half of it is not done");
        harness.on_bench.to_mut()[1][1].done.insert(Step::Pulled);
        harness.on_bench.to_mut()[2][1].done.insert(Step::Added);
        assert_eq!(
            told(&harness)[..2],
            [
                "BOW | 2 wires left | - | 1, of these 1 done | - | 2",
                "HELM | 2 wires left | 1, of these 1 done | - | 1 | 2"
            ]
        );
    }

    /// Wires of the example counted another way: pairs of ends once, all other ends by themselves.
    #[test]
    fn every_wire_of_the_example_is_counted() {
        let job = Job::marsh_hen();
        let harness = job.harness();
        let far = |circuit: &crate::circuits::Circuit| {
            let paired =
                (0..circuit.ends().len()).filter(|end| matches!(circuit.far_end(*end), FarEnd::End(_))).count();
            circuit.ends().len() - paired / 2
        };
        let (_, all) = legs(&harness);
        let counted: usize = all.by_fate.values().map(|(count, _)| count).sum();
        assert_eq!(counted, job.circuits.all().iter().map(far).sum::<usize>());
        let fonts = Fonts::new();
        let sheet = sheet(&harness, &letterhead(), &fonts).expect("the example names branches");
        let words = written(&sheet, &fonts);
        assert!(words.iter().any(|words| words == "DONOR-BODY") && words.iter().any(|words| words == "all legs"));
    }
}
