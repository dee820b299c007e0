//! The example job, as every new user sees it first: it reads without errors, and holds all that a harness can bring along.

use std::collections::BTreeSet;

use loomtag::base::{ConductorSize, Insulation, Severity, TagKind};
use loomtag::circuits::{self, Circuits, End, FarEnd, JobLists, Supply};
use loomtag::run::Job;

use crate::kit::project;

fn example() -> Circuits {
    let job = Job::read(&project().join("examples/marsh-hen")).expect("read");
    assert_eq!(job.problems, []);
    let job = job.value.expect("understood");
    let (lists, connectors, rules) = (job.lists(), job.connectors(), job.rules());
    assert_eq!((lists.problems, connectors.problems), (vec![], vec![]));
    let read = circuits::read(&JobLists { lists: &lists.value, connectors: connectors.value.as_ref(), rules });
    let told: Vec<String> = read
        .problems
        .iter()
        .filter(|problem| {
            let is_welcome = [
                "one-ended-circuit",
                "unknown-mate",
                "connector-left-empty",
                "work-on-restraint",
                "live-end-without-cap",
                "halves-part",
            ]
            .contains(&problem.id);
            problem.severity == Severity::Error || !is_welcome
        })
        .map(|problem| format!("{:?} {}", problem.origin, problem.message))
        .collect();
    assert_eq!(told, Vec::<String>::new());
    assert!(read.problems.len() <= 20, "a handful of warnings");
    read.value
}

#[test]
fn it_is_the_size_of_a_real_job() {
    let circuits = example();
    let ends: usize = circuits.all().iter().map(|circuit| circuit.ends().len()).sum();
    assert!(circuits.all().len() >= 90 && ends >= 200, "{} circuits, {ends} ends", circuits.all().len());
}

#[test]
fn it_holds_every_action_and_supply() {
    let circuits = example();
    let ends = || circuits.all().iter().flat_map(|circuit| circuit.ends());
    let actions: BTreeSet<&str> = ends().map(|end| end.action.word()).collect();
    let all = BTreeSet::from(["undecided", "keep", "remove", "cut", "move", "add", "extend", "reserve"]);
    assert_eq!(actions, all);
    let supplies: BTreeSet<Supply> = circuits.all().iter().filter_map(|circuit| circuit.supply).collect();
    assert_eq!(supplies, BTreeSet::from(Supply::ALL));
}

#[test]
fn it_holds_sizes_of_both_kinds_and_unknown_diameters() {
    let circuits = example();
    let ends = || circuits.all().iter().flat_map(|circuit| circuit.ends());
    let sizes = || ends().filter_map(|end| end.conductor.as_ref()).map(|conductor| conductor.size());
    let sections: BTreeSet<String> =
        sizes().filter(|size| matches!(size, ConductorSize::CrossSection(_))).map(|size| format!("{size:?}")).collect();
    let gauges: BTreeSet<String> =
        sizes().filter(|size| matches!(size, ConductorSize::Awg(_))).map(|size| format!("{size:?}")).collect();
    assert!(sections.len() >= 7 && gauges.len() >= 4, "{sections:?} {gauges:?}");
    let unknown = ends().filter(|end| end.diameter.is_none()).count();
    assert!(unknown > 10 && unknown * 2 < ends().count(), "{unknown} unknown");
}

#[test]
fn it_holds_insulations_and_ends_that_wish_for_their_kinds_of_tags() {
    let circuits = example();
    let ends = || circuits.all().iter().flat_map(|circuit| circuit.ends());
    let insulations: BTreeSet<Insulation> = ends().filter_map(|end| end.insulation).collect();
    assert_eq!(insulations, BTreeSet::from([Insulation::ThinWall, Insulation::BoatCable]));
    let kinds = |end: &End| [end.tag.work, end.tag.final_tag];
    let wished: BTreeSet<TagKind> = ends().flat_map(kinds).flatten().collect();
    assert_eq!(wished, BTreeSet::from([TagKind::Flag, TagKind::Wrap, TagKind::TieOn, TagKind::Strip]));
}

#[test]
fn it_holds_splices_doubled_cavities_and_far_ends_not_known() {
    let circuits = example();
    let ends = || circuits.all().iter().flat_map(|circuit| (0..circuit.ends().len()).map(move |end| (circuit, end)));
    let far = |kind: FarEnd| ends().filter(|(circuit, end)| circuit.far_end(*end) == kind).count();
    assert!(far(FarEnd::ImpliedSplice) >= 3 && far(FarEnd::Unknown) >= 3);
    let at = |place: &str| ends().filter(|(circuit, end)| circuit.ends()[*end].place.to_string() == place).count();
    assert!(at("SP1") >= 3, "a named splice");
    assert_eq!((at("K1/87"), at("M80/1")), (2, 2), "doubled cavities");
    assert!(at("G2") >= 8, "a stud with many wires");
}
