//! Plans and notes made by hand, and what is built by them; and what must hold of any.

use std::collections::BTreeSet;

use jiff::Timestamp;
use proptest::prelude::*;

use super::*;
use crate::base::EndLetter;
use crate::circuits::{JobLists, List, ListSettings, read};
use crate::codes::{Note, Said, mint};

/// A job: its circuits, codes for all of them, and notes.
pub(super) struct Bench {
    pub(super) circuits: Circuits,
    pub(super) issued: Issued,
    pub(super) payload: Payload,
    notes: Vec<Noted>,
}

fn list(name: &str, text: &str) -> List {
    List { name: name.to_owned(), bytes: text.as_bytes().to_vec(), settings: ListSettings::default() }
}

impl Bench {
    /// A job of one list, and connectors.csv.
    pub(super) fn of(text: &str, connectors: &str) -> Self {
        let (lists, connectors) = ([list("loom.csv", text)], list("connectors.csv", connectors));
        let job = JobLists { connectors: Some(&connectors), ..JobLists::of(&lists) };
        Self::with(read(&job).value)
    }

    pub(super) fn with(circuits: Circuits) -> Self {
        let codes = |(at, circuit): (usize, &Circuit)| CircuitCodes {
            code: mint::nth(u32::try_from(at).expect("few")).expect("a code"),
            also: Vec::new(),
            letters: (0..circuit.ends().len()).map(|end| EndLetter::nth(u16::try_from(end).expect("few"))).collect(),
        };
        let issued = Issued { circuits: circuits.all().iter().enumerate().map(codes).collect() };
        Self { circuits, issued, payload: Payload::Code, notes: Vec::new() }
    }

    /// Notes `done cut`, `undone cut`, `found place J4/9` of the end that its row has at this place; of no place, of the circuit.
    pub(super) fn note(mut self, place: &str, said: &str) -> Self {
        let mut words = said.splitn(3, ' ');
        let (sort, step) = (words.next().unwrap_or_default(), words.next().unwrap_or_default());
        let (circuit, letter) = self
            .ends()
            .find(|&(circuit, end)| self.circuits.all()[circuit].ends()[end].place.to_string() == place)
            .map_or((0, None), |(circuit, end)| (circuit, Some(self.issued.circuits[circuit].letters[end])));
        self.notes.push(Noted {
            number: u32::try_from(self.notes.len()).expect("few") + 1,
            note: Note {
                code: self.issued.circuits[circuit].code,
                letter,
                said: Said::from_words(sort, step).expect("a note"),
                value: words.next().unwrap_or_default().to_owned(),
                remark: String::new(),
                other: None,
                supersedes: None,
            },
            at: Timestamp::UNIX_EPOCH,
            superseded_by: None,
        });
        self
    }

    fn ends(&self) -> impl Iterator<Item = (usize, usize)> {
        let each = self.circuits.all().iter().enumerate();
        each.flat_map(|(circuit, of)| (0..of.ends().len()).map(move |end| (circuit, end)))
    }

    pub(super) fn built(&self) -> AsBuilt {
        let plan = Harness::new(&self.circuits, &self.issued, &self.payload);
        let of_end = |codes: &CircuitCodes, letter: &EndLetter| {
            let is_its = |noted: &&Noted| {
                noted.note.code == codes.code && noted.note.letter.is_none_or(|noted| noted == *letter)
            };
            self.notes.iter().filter(is_its).collect::<Vec<_>>()
        };
        let of_circuit = |codes: &CircuitCodes| codes.letters.iter().map(|letter| of_end(codes, letter)).collect();
        let notes =
            BenchNotes { of_ends: self.issued.circuits.iter().map(of_circuit).collect(), of_blanks: Vec::new() };
        as_built(&plan, &notes)
    }
}

/// One wire from J1/1 with this action to J2/1, which is kept.
fn wire(action: &str) -> Bench {
    let text = format!(
        "circuit,from connector,from cavity,to connector,to cavity,colour,size,from action,to action\n\
         W1,J1,1,J2,1,BN,0.75,{action},keep\n"
    );
    Bench::of(&text, "connector,kind\nJ1,plug\nG2,stud\n")
}

/// Where the end planned at J1/1 is, its action as built, and the groups of the differences.
fn told(bench: &Bench) -> String {
    let built = bench.built();
    let fate = &built.fates[0][0];
    let at = fate.built.map(|(circuit, end)| &built.circuits.all()[circuit].ends()[end]);
    let is = at.map_or_else(|| format!("{:?}", fate.standing), |end| format!("{} {}", end.place, end.action));
    let groups: Vec<&str> = built.differences.iter().map(|difference| difference.group.word()).collect();
    format!("{is}: {}", groups.join(", "))
}

/// A connector that a list calls FREE stays one, and loose ends lie elsewhere.
#[test]
fn loose_ends_do_not_lie_in_a_connector_of_the_lists() {
    let text = "circuit,from connector,from cavity,to connector,to cavity,from action,to action\n\
                W1,J1,1,free,1,cut,keep\nW2,J1,2,J2,2,move,keep\n";
    let bench = Bench::of(text, "connector,kind,cavities\nfree,plug,4\nFREE 2,plug,2\n");
    let built = bench.note("J1/1", "done cut").note("J1/2", "done moved").built();
    let payload = Payload::Code;
    let harness = built.harness(&payload);
    let standing: Vec<(String, bool)> = built
        .circuits
        .all()
        .iter()
        .flat_map(Circuit::ends)
        .map(|end| (end.place.connector.to_string(), is_no_connector(&harness, &end.place.connector)))
        .collect();
    let said = |name: &str, is_none: bool| (name.to_owned(), is_none);
    let mut expected = [said("free", false), said("FREE 3", true), said("J2", false), said("SOMEWHERE", true)];
    let mut found = standing;
    found.sort();
    expected.sort();
    assert_eq!(found, expected);
}

/// By hand: each step and finding, by itself and with those that go before it.
#[test]
fn what_each_step_and_finding_means() {
    let tag = "FQGB A";
    for (action, notes, is) in [
        // Nothing noted.
        ("", "", "J1/1 undecided: ".to_owned()),
        ("keep", "", "J1/1 keep: ".to_owned()),
        ("reserve", "", "J1/1 reserve: ".to_owned()),
        ("cut", "", "J1/1 cut: open".to_owned()),
        ("remove", "", "J1/1 remove: open".to_owned()),
        ("move to J4/7", "", "J1/1 move to J4/7: open".to_owned()),
        ("add", "", "NotYet: open".to_owned()),
        ("extend", "", "J1/1 extend: open".to_owned()),
        // As planned.
        ("cut", "done cut", format!("FREE/{tag} keep: open")),
        ("cut", "done cut, done terminated", format!("FREE/{tag} keep: open")),
        ("cut", "done cut, done terminated, found place P7/3", "P7/3 keep: as planned".to_owned()),
        ("remove", "done pulled", format!("FREE/{tag} remove: open")),
        ("move to J4/7", "done moved", "J4/7 keep: as planned".to_owned()),
        ("move to J4/7", "done pulled, done moved", "J4/7 keep: as planned".to_owned()),
        ("move to J4/7", "done moved, done pulled", "J4/7 keep: as planned".to_owned()),
        ("move to J4/7", "done pulled", format!("FREE/{tag} move to J4/7: open")),
        ("move to J4/7", "found place J4/7", "J4/7 keep: as planned".to_owned()),
        ("move", "done moved", format!("SOMEWHERE/{tag} keep: open")),
        ("move", "done moved, found place J4/7", "J4/7 keep: as planned".to_owned()),
        ("add", "done added", "J1/1 keep: as planned".to_owned()),
        ("extend", "done extended", "J1/1 keep: as planned".to_owned()),
        ("extend", "done cut, done spliced, done extended", format!("SOMEWHERE/{tag} keep: otherwise")),
        ("extend", "done cut, done extended, done spliced", "J1/1 keep: as planned".to_owned()),
        ("extend", "done cut", format!("FREE/{tag} extend: open")),
        // Otherwise.
        ("keep", "done cut", format!("FREE/{tag} keep: otherwise")),
        ("", "done pulled", format!("FREE/{tag} undecided: otherwise")),
        ("keep", "done moved", format!("SOMEWHERE/{tag} keep: otherwise")),
        ("cut", "done cut, done spliced", format!("SOMEWHERE/{tag} keep: open")),
        ("keep", "found place J1/2", "J1/2 keep: otherwise".to_owned()),
        ("keep", "found place j1-2", "J1/2 keep: otherwise".to_owned()),
        ("keep", "found place g2", "G2 keep: otherwise".to_owned()),
        ("keep", "found place X9/4", "X9/4 keep: otherwise".to_owned()),
        ("keep", "found place behind the panel", format!("SOMEWHERE/{tag} keep: otherwise")),
        ("cut", "found place J1/2", "J1/2 cut: otherwise".to_owned()),
        ("move to J4/7", "done moved, found place J4/8", "J4/8 keep: otherwise".to_owned()),
        ("move to J4/7", "found place J4/8, done moved", "J4/8 keep: otherwise".to_owned()),
        ("move to J4/7", "found place J1/2, done moved", "J4/7 keep: as planned".to_owned()),
        ("keep", "found empty", "Missing: otherwise".to_owned()),
        ("keep", "found empty, found place J1/3", "J1/3 keep: otherwise".to_owned()),
        ("cut", "done cut, found empty", format!("FREE/{tag} keep: open")),
        ("add", "found empty", "NotYet: open".to_owned()),
        ("add", "found place J1/2, done added", "J1/2 keep: otherwise".to_owned()),
        ("keep", "found damaged", "J1/1 keep: otherwise".to_owned()),
        // Nothing for where it is.
        (
            "keep",
            "done tagged, done sealed, done capped, done tested, done untagged, done terminated",
            "J1/1 keep: ".to_owned(),
        ),
        ("keep", "done spliced", "J1/1 keep: ".to_owned()),
        ("keep", "found place J1/1", "J1/1 keep: ".to_owned()),
        ("keep", "found colour brown, found size 0.75", "J1/1 keep: ".to_owned()),
        // Undone.
        ("cut", "done cut, undone cut", "J1/1 cut: open".to_owned()),
        ("cut", "done cut, done cut, undone cut, done cut", format!("FREE/{tag} keep: open")),
        ("move to J4/7", "done pulled, done moved, undone moved", format!("FREE/{tag} move to J4/7: open")),
        // Rows that were put right.
        ("keep", "done moved, found place J1/1", "J1/1 keep: ".to_owned()),
        ("keep", "found place J1/1, done moved", "J1/1 keep: ".to_owned()),
    ] {
        let said = notes.split(", ").filter(|said| !said.is_empty());
        let bench = said.fold(wire(action), |bench, said| bench.note("J1/1", said));
        assert_eq!(told(&bench), is, "{action}: {notes}");
    }
}

/// A pulled stub whose other end nobody knows, or that is still spliced, may be live: it is not gone before its tag is off.
#[test]
fn a_pulled_end_of_an_unknown_wire_hangs_free_until_its_tag_is_off() {
    let standing = |list: &str, notes: &[&str]| {
        let bench = notes.iter().fold(Bench::of(list, ""), |bench, note| bench.note("J1/1", note));
        bench.built().fates[0][0].standing.clone()
    };
    let alone = "circuit,connector,cavity,supply,action\nW1,J1,1,constant,remove\n";
    let spliced = "circuit,connector,cavity,action\nW1,J1,1,remove\nW1,J2,1,keep\nW1,J3,1,keep\n";
    for list in [alone, spliced] {
        assert_eq!(standing(list, &["done pulled"]), Standing::Free, "{list}");
        assert_eq!(standing(list, &["done pulled", "done untagged"]), Standing::Gone, "{list}");
    }
}

#[test]
fn a_wire_has_left_when_both_its_ends_have() {
    let both = |first: &str, second: &str| {
        let text = "circuit,from connector,from cavity,to connector,to cavity,action\nW1,J1,1,J2,1,remove\n\
                    W2,J1,2,J2,2,remove\n";
        Bench::of(text, "").note("J1/1", first).note("J2/1", second).built()
    };
    let built = both("done pulled", "done pulled");
    assert_eq!(built.circuits.all().len(), 1, "W2 is left");
    assert_eq!(built.circuits.all()[0].id().as_str(), "W2");
    assert_eq!((built.issued.circuits.len(), built.on_bench.len()), (1, 1));
    assert_eq!(built.fates[0].iter().filter(|fate| fate.standing == Standing::Gone).count(), 2);
    // The other end was found to be missing: nothing is there.
    assert!(both("done pulled", "found empty").fates[0].iter().all(|fate| !fate.standing.is_there()));
    let half = both("done pulled", "done sealed");
    let ends = half.circuits.all()[0].ends();
    assert_eq!(ends.iter().map(|end| end.place.to_string()).collect::<Vec<_>>(), ["FREE/FQGB A", "J2/1"]);
    assert_eq!(half.circuits.all()[0].far_end(0), FarEnd::End(1));
    assert_eq!(half.differences[0].is, "out of its cavity; its wire is still there: J2/1");
}

#[test]
fn what_is_not_there_is_no_far_end() {
    let built = wire("keep").note("J1/1", "found empty").built();
    let circuit = &built.circuits.all()[0];
    assert_eq!((circuit.ends().len(), circuit.far_end(0)), (1, FarEnd::Unknown));
    assert_eq!(built.issued.circuits[0].letters, [EndLetter::nth(1)]);
    assert_eq!(built.fates[0][1].built, Some((0, 0)));
}

#[test]
fn ends_keep_their_letters_where_their_order_changes() {
    let built = wire("move to X9/7").note("J1/1", "done moved").built();
    let circuit = &built.circuits.all()[0];
    let places: Vec<String> = circuit.ends().iter().map(|end| end.place.to_string()).collect();
    assert_eq!(places, ["J2/1", "X9/7"]);
    assert_eq!(built.issued.circuits[0].letters, [EndLetter::nth(1), EndLetter::FIRST]);
    assert_eq!((circuit.far_end(0), circuit.far_end(1)), (FarEnd::End(1), FarEnd::End(0)));
    let difference = &built.differences[0];
    assert_eq!((difference.planned.as_str(), difference.is.as_str()), ("J1/1, move to X9/7", "X9/7"));
    assert_eq!(difference.put_right, "write `X9/7`, and `loomtag rename FQGB/A X9/7`");
    assert_eq!(difference.origin.as_ref().map(ToString::to_string).as_deref(), Some("loom.csv:2:7"));
    let payload = Payload::Code;
    assert_eq!(built.harness(&payload).tag((0, 1)), "FQGB A");
}

#[test]
fn colours_and_sizes_are_those_that_were_found() {
    let bench = wire("keep").note("J1/1", "found colour BN/WH").note("J1/1", "found size 16");
    let built = bench.note("J1/1", "found size 1").built();
    let end = &built.circuits.all()[0].ends()[0];
    assert_eq!(end.colour.as_ref().map(ToString::to_string).as_deref(), Some("BN/WH"));
    assert_eq!(end.conductor.as_ref().map(ToString::to_string).as_deref(), Some("1 mm²"));
    let is: Vec<&str> = built.differences.iter().map(|difference| difference.is.as_str()).collect();
    assert_eq!(is, ["colour BN/WH", "size 1 mm²"]);
    assert_eq!(built.differences[1].notes[0].0, 3);
}

#[test]
fn a_place_of_a_whole_circuit_is_told_and_moves_nothing() {
    let built = wire("keep").note("", "found place J1/2").built();
    assert_eq!(built.differences.len(), 2);
    assert_eq!(built.differences[0].is, "found place J1/2, of the whole circuit: of which end is not said");
    assert!(built.fates[0].iter().all(|fate| matches!(fate.standing, Standing::Seated(_))));
}

#[test]
fn a_circuit_that_left_the_place_it_is_named_by_keeps_its_name() {
    let text = "connector,cavity,colour,action\nJ1,1,BN,move to J1/2\nJ1,2,RD,move to J1/1\nJ1,3,GN,keep\n";
    let built = Bench::of(text, "").note("J1/1", "done moved").built();
    let told: Vec<_> = built.circuits.all().iter().map(|circuit| (circuit.id().as_str(), circuit.naming())).collect();
    // J1/2 has two circuits now, so that its row must say which one it is.
    assert_eq!(told, [("J1/1", Naming::Designated), ("J1/2", Naming::Designated), ("J1/3", Naming::ByPlace)]);
}

#[test]
fn branches_follow_the_connectors() {
    let text =
        "circuit,connector,cavity,colour,branch,action\nW1,J1,1,BN,,move to J2/1\nW2,J1,2,BN,HELM,move to J2/2\n";
    let connectors = "connector,branch\nJ1,ENG\nJ2,BAY\n";
    let built = Bench::of(text, connectors).note("J1/1", "done moved").note("J1/2", "done moved").built();
    let branches: Vec<_> = built.circuits.all().iter().map(|circuit| circuit.ends()[0].branch.as_deref()).collect();
    assert_eq!(branches, [Some("BAY"), Some("HELM")]);
}

/// Jobs of some circuits with ends at few places, so that much meets.
pub(super) fn any_job() -> impl Strategy<Value = (String, Vec<(usize, String)>)> {
    let place = "J[12]/[1-4]";
    let action = prop::sample::select(vec![
        "",
        "keep",
        "remove",
        "cut",
        "move to J3/1",
        "move to J1/2",
        "move",
        "add",
        "extend",
        "reserve",
    ]);
    let colour = prop::sample::select(vec!["BN", "BN/WH", "", "zz"]);
    let row = ("[A-C]?", place, action, colour);
    let said = prop::sample::select(vec![
        "done cut",
        "done pulled",
        "done moved",
        "done added",
        "done extended",
        "done spliced",
        "done terminated",
        "undone cut",
        "undone moved",
        "found place J1/2",
        "found place J3/4",
        "found place in the bilge",
        "found empty",
        "found colour RD",
        "found size 2.5",
        "found size 3",
        "found damaged",
        "found unlisted",
        "done tagged",
    ]);
    let notes = prop::collection::vec((0..40usize, said.prop_map(str::to_owned)), 0..12);
    (prop::collection::vec(row, 1..12), notes).prop_map(|(rows, notes)| {
        let mut text = "circuit,connector,cavity,action,colour\n".to_owned();
        for (circuit, place, action, colour) in rows {
            let (connector, cavity) = place.split_once('/').expect("a cavity");
            text += &format!("{circuit},{connector},{cavity},{action},{colour}\n");
        }
        (text, notes)
    })
}

/// The job with its notes at whatever ends there are.
pub(super) fn noted(text: &str, notes: &[(usize, String)]) -> Bench {
    let mut bench = Bench::of(text, "");
    let places: Vec<String> =
        bench.ends().map(|(circuit, end)| bench.circuits.all()[circuit].ends()[end].place.to_string()).collect();
    for (at, said) in notes.iter().filter(|_| !places.is_empty()) {
        bench = bench.note(&places[at % places.len()], said);
    }
    bench
}

/// All that is told of circuits.
fn all_of(circuits: &Circuits) -> String {
    format!("{:?}", circuits.all())
}

proptest! {
    #[test]
    fn nothing_noted_is_the_plan_without_what_is_to_be_added((text, _) in any_job()) {
        let bench = Bench::of(&text.replace("add", "keep"), "");
        let built = bench.built();
        prop_assert_eq!(all_of(&built.circuits), all_of(&bench.circuits));
        prop_assert_eq!(&built.issued, &bench.issued);
        prop_assert!(built.differences.iter().all(|difference| difference.group == Group::Open));
    }

    #[test]
    fn every_end_is_built_or_told_and_codes_go_along((text, notes) in any_job()) {
        let bench = noted(&text, &notes);
        let built = bench.built();
        let mut seats = BTreeSet::new();
        for (circuit, fates) in built.fates.iter().enumerate() {
            prop_assert_eq!(fates.len(), bench.circuits.all()[circuit].ends().len());
            for (end, fate) in fates.iter().enumerate() {
                prop_assert_eq!(fate.built.is_some(), fate.standing.is_there());
                let is_told = built.differences.iter().any(|difference| difference.at == Some((circuit, end)));
                let planned = &bench.circuits.all()[circuit].ends()[end];
                prop_assert!(is_told || fate.standing == Standing::Seated(planned.place.clone()));
                let Some((new_circuit, new_end)) = fate.built else { continue };
                prop_assert!(seats.insert((new_circuit, new_end)), "two ends became one");
                let (before, after) = (&bench.issued.circuits[circuit], &built.issued.circuits[new_circuit]);
                prop_assert_eq!((before.code, before.letters[end]), (after.code, after.letters[new_end]));
                prop_assert_eq!(built.circuits.all()[new_circuit].id(), bench.circuits.all()[circuit].id());
            }
        }
        let count: usize = built.circuits.all().iter().map(|circuit| circuit.ends().len()).sum();
        prop_assert_eq!(seats.len(), count, "nothing is there that was not planned");
        for (circuit, (codes, on_bench)) in
            built.circuits.all().iter().zip(built.issued.circuits.iter().zip(&built.on_bench))
        {
            prop_assert_eq!((codes.letters.len(), on_bench.len()), (circuit.ends().len(), circuit.ends().len()));
            let is_sorted = circuit.ends().is_sorted_by(|a, b| a.place <= b.place);
            prop_assert!(is_sorted);
            let told: BTreeSet<_> = circuit.ends().iter().map(|end| {
                (end.place.to_string(), end.colour.as_ref().map(ToString::to_string), end.ordinal)
            }).collect();
            prop_assert_eq!(told.len(), circuit.ends().len(), "place, colour and ordinal tell ends apart");
        }
    }

    #[test]
    fn what_is_built_stays_so((text, notes) in any_job()) {
        let built = noted(&text, &notes).built();
        let again = Bench::with(built.circuits.clone()).built();
        // What is still to be added stands in the plan alone.
        prop_assert_eq!(all_of(&again.circuits), all_of(&built.circuits));
        prop_assert!(again.differences.iter().all(|difference| difference.group == Group::Open));
    }
}
