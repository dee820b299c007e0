//! Trials of blanks: issued, assigned, assigned again, joined and found again in lists, in any order.

use std::collections::{BTreeMap, HashMap, HashSet};

use proptest::prelude::*;

use super::assigning::{Again, Target};
use super::blanks::Way;
use super::failure::RegisterFailure;
use super::mint;
use super::print_run::{Outcome, PrintedTag, Spot};
use super::register::{Record, Register};
use super::samples::{NOW, circuit, circuits};
use crate::base::{CircuitId, EndLetter, Place, TagCode};
use crate::circuits::{Circuit, Circuits};

fn code(n: u32) -> TagCode {
    mint::nth(n).expect("a code")
}

fn letter(n: u16) -> EndLetter {
    EndLetter::nth(n)
}

fn id(name: &str) -> CircuitId {
    CircuitId::from_cell(name).expect("a name")
}

fn place(typed: &str) -> Option<Place> {
    Place::from_typed(typed)
}

fn record(register: &Register, code: TagCode) -> Record {
    register.find(code).expect("reads").expect("is there")
}

/// `E14: FQGB (RTCQ) A J1/14, B J2/3`.
fn told(register: &Register, code: TagCode) -> String {
    let record = record(register, code);
    let names: Vec<String> = record.designations.iter().map(ToString::to_string).collect();
    let also: Vec<String> = record.also.iter().map(ToString::to_string).collect();
    let ends: Vec<String> = record.ends.iter().map(|end| format!("{} {}", end.letter, end.place)).collect();
    format!("{}: {} ({}) {}", names.join("="), record.code, also.join(" "), ends.join(", "))
}

fn harness() -> Circuits {
    circuits([circuit("E14", &["J1/14 BN", "J2/3 BN"]), circuit("E33", &["J2/5 RD"])])
}

/// A register with three blanks, FQGB, RTCQ and 8GMK.
fn with_blanks() -> Register {
    let mut register = Register::in_memory().expect("in memory");
    let codes = register.issue_blanks(3, Way::Printed, NOW).expect("issues");
    assert_eq!(codes, [code(0), code(1), code(2)]);
    register
}

#[test]
fn blanks_take_their_codes_from_the_one_row() {
    let mut register = with_blanks();
    let issued = register.issue(&harness(), NOW).expect("issues");
    assert_eq!(issued.circuits.iter().map(|c| c.code).collect::<Vec<_>>(), [code(3), code(4)]);
    assert_eq!(register.issue_blanks(1, Way::Listed, NOW).expect("issues"), [code(5)]);
    let blanks = register.blanks().expect("reads");
    let told: Vec<_> =
        blanks.iter().map(|blank| (blank.code, blank.way, blank.run.clone(), blank.assigned.clone())).collect();
    let printed = |n| (code(n), Way::Printed, None, None);
    assert_eq!(told, [printed(0), printed(1), printed(2), (code(5), Way::Listed, None, None)]);
    assert_eq!(register.codes().expect("reads").len(), 6);
    // They are no circuits yet.
    assert_eq!(register.records().expect("reads").len(), 2);
    assert_eq!(register.find(code(0)).expect("reads"), None);
    let answer = register.join(code(3), code(0), NOW);
    assert!(matches!(answer, Err(RegisterFailure::Unassigned { code: blank }) if blank == code(0)));
}

#[test]
fn a_circuit_with_a_code_keeps_it() {
    let mut register = with_blanks();
    register.issue(&harness(), NOW).expect("issues");
    let target = Target::Recorded(code(3), Some(letter(1)));
    let assigned = register.assign(code(0), &target, Again::Refused, NOW).expect("assigns");
    assert_eq!((assigned.printed, assigned.end, assigned.is_known), (code(3), Some((code(3), letter(1))), false));
    assert_eq!(told(&register, code(0)), "E14: 3V86 (FQGB) A J1/14, B J2/3");
    assert_eq!(register.issue(&harness(), NOW).expect("issues").circuits[0].code, code(3));
    // Again is no fault, neither by the circuit alone nor by the blank's own code.
    for target in [target, Target::Recorded(code(0), None), Target::Listed(&harness(), 0, Some(1))] {
        let again = register.assign(code(0), &target, Again::Refused, NOW).expect("assigns");
        assert!(again.is_known && again.end == Some((code(3), letter(1))));
    }
    assert_eq!(register.blanks().expect("reads")[0].assigned.as_ref().expect("is assigned").place, "J2/3");
}

#[test]
fn a_circuit_without_a_code_takes_the_blanks() {
    let mut register = with_blanks();
    let lists = harness();
    let assigned = register.assign(code(0), &Target::Listed(&lists, 0, Some(1)), Again::Refused, NOW).expect("assigns");
    assert_eq!((assigned.printed, assigned.end), (code(0), Some((code(0), letter(0)))));
    assert_eq!(told(&register, code(0)), "E14: FQGB () A J2/3, B J1/14");
    // The other one has no code yet; a second blank names the same circuit.
    assert_eq!(register.records().expect("reads").len(), 1);
    register.assign(code(1), &Target::Listed(&lists, 0, Some(0)), Again::Refused, NOW).expect("assigns");
    let issued = register.issue(&lists, NOW).expect("issues");
    assert_eq!((issued.circuits[0].code, &issued.circuits[0].also[..]), (code(0), &[code(1)][..]));
    assert_eq!(issued.circuits[0].letters, [letter(1), letter(0)]);
    assert_eq!(issued.circuits[1].code, code(3));
}

#[test]
fn a_new_circuit_is_found_in_later_lists() {
    let mut register = with_blanks();
    let alarm = Target::New(id("bilge alarm"), None);
    register.assign(code(0), &alarm, Again::Refused, NOW).expect("assigns");
    let horn = Target::New(id("horn"), place("J9/3"));
    register.assign(code(1), &horn, Again::Refused, NOW).expect("assigns");
    let at = Target::New(id("J9/4"), place("J9/4"));
    register.assign(code(2), &at, Again::Refused, NOW).expect("assigns");
    assert_eq!(told(&register, code(1)), "horn: RTCQ () A J9/3");
    let taken = register.assign(code(2), &Target::New(id("horn"), None), Again::Instead, NOW);
    assert!(matches!(taken, Err(RegisterFailure::NameTaken { .. })));
    let lists =
        circuits([circuit("bilge alarm", &["J5/1"]), circuit("E80", &["J9/3", "J1/1"]), circuit("J9/4", &["J9/4"])]);
    let issued = register.issue(&lists, NOW).expect("issues");
    assert_eq!(issued.circuits.iter().map(|c| c.code).collect::<Vec<_>>(), [code(0), code(1), code(2)]);
    assert_eq!(told(&register, code(1)), "E80: RTCQ () A J9/3, B J1/1");
    assert_eq!(register.codes().expect("reads").len(), 3);
}

#[test]
fn the_end_may_be_learnt_later_and_what_was_wrong_put_right() {
    let mut register = with_blanks();
    register.issue(&harness(), NOW).expect("issues");
    let of_circuit = Target::Recorded(code(3), None);
    assert_eq!(register.assign(code(0), &of_circuit, Again::Refused, NOW).expect("assigns").end, None);
    let of_end = |n| Target::Recorded(code(3), Some(letter(n)));
    assert!(register.assign(code(0), &of_end(0), Again::Refused, NOW).is_ok());
    for target in [of_end(1), Target::Recorded(code(4), None)] {
        let answer = register.assign(code(0), &target, Again::Refused, NOW);
        assert!(matches!(answer, Err(RegisterFailure::AssignedAlready { .. })));
        assert!(!register.assign(code(0), &target, Again::Instead, NOW).expect("assigns").is_known);
    }
    assert_eq!(told(&register, code(0)), "E33: 8LVM (FQGB) A J2/5".replace("8LVM", code(4).as_str()));
    assert_eq!(record(&register, code(3)).also, []);
    let count: i64 =
        register.connection.query_row("SELECT count(*) FROM assignment", [], |row| row.get(0)).expect("is counted");
    assert_eq!(count, 4, "every answer is kept");
}

/// Where the wrong circuit had no code but the blank's, it has none any more; later it gets one of its own.
#[test]
fn a_printed_code_leaves_a_circuit_without_one() {
    let mut register = with_blanks();
    let lists = harness();
    register.assign(code(0), &Target::Listed(&lists, 0, Some(0)), Again::Refused, NOW).expect("assigns");
    register.assign(code(0), &Target::Listed(&lists, 1, Some(0)), Again::Instead, NOW).expect("assigns");
    // Letters A and B of the code are used up.
    assert_eq!(told(&register, code(0)), "E33: FQGB () C J2/5");
    assert_eq!(register.records().expect("reads").len(), 1);
    let issued = register.issue(&lists, NOW).expect("issues");
    assert_eq!((issued.circuits[0].code, issued.circuits[1].code), (code(3), code(0)));
    assert_eq!(issued.circuits[0].letters, [letter(0), letter(1)]);
    assert_eq!(issued.circuits[1].letters, [letter(2)]);
    // And back again, where it is one code more.
    register.assign(code(0), &Target::Listed(&lists, 0, Some(1)), Again::Instead, NOW).expect("assigns");
    assert_eq!(told(&register, code(0)), format!("E14: {} (FQGB) A J1/14, B J2/3", code(3)));
}

#[test]
fn the_next_code_is_printed_where_the_first_one_leaves() {
    let mut register = with_blanks();
    let lists = harness();
    for blank in [code(0), code(1)] {
        register.assign(blank, &Target::Listed(&lists, 0, Some(0)), Again::Refused, NOW).expect("assigns");
    }
    register.assign(code(0), &Target::Listed(&lists, 1, None), Again::Instead, NOW).expect("assigns");
    assert_eq!(told(&register, code(1)), "E14: RTCQ () A J1/14, B J2/3");
    let issued = register.issue(&lists, NOW).expect("issues");
    assert_eq!((issued.circuits[0].code, issued.circuits[1].code), (code(1), code(0)));
    assert_eq!(issued.circuits[0].letters, [letter(0), letter(1)]);
}

#[test]
fn a_code_that_is_on_other_tags_stays() {
    let mut register = with_blanks();
    let lists = harness();
    register.assign(code(0), &Target::Listed(&lists, 0, Some(0)), Again::Refused, NOW).expect("assigns");
    let run = register.begin_run(NOW, "tags").expect("begins");
    let tag = |letters: &[u16], place: &str| PrintedTag {
        code: code(0),
        letters: letters.iter().map(|&n| letter(n)).collect(),
        spot: Spot::End,
        place: place.to_owned(),
        kind: "flag".to_owned(),
        stock: "x".to_owned(),
        words: Vec::new(),
        payload: None,
    };
    register.record(run, &[tag(&[], "")]).expect("records");
    let blank = register.blanks().expect("reads").remove(0);
    assert_eq!(blank.run.map(|last| (last.number, last.kind)), Some((run, "flag".to_owned())), "its blank tag");
    register.record(run, &[tag(&[0], "J1/14")]).expect("records");
    let answer = register.assign(code(0), &Target::Listed(&lists, 1, None), Again::Instead, NOW);
    assert!(matches!(answer, Err(RegisterFailure::OnOtherTags { run: 1, .. })), "{answer:?}");
    register.assign(code(1), &Target::Listed(&lists, 1, None), Again::Refused, NOW).expect("assigns");
    register.assign(code(2), &Target::New(id("horn"), None), Again::Refused, NOW).expect("assigns");
    register.join(code(1), code(2), NOW).expect("joins");
    let answer = register.assign(code(2), &Target::Listed(&lists, 0, None), Again::Instead, NOW);
    assert!(matches!(answer, Err(RegisterFailure::JoinedForEver { .. })));
    assert_eq!(record(&register, code(2)).code, code(1), "nothing has changed");
}

/// What was noted of a blank before anybody knew its wire; what was noted of ends keeps the code where it is.
#[test]
fn notes_are_heard() {
    let mut register = with_blanks();
    let note = |register: &Register, code: TagCode, letter: Option<u16>, words: &str, supersedes: Option<u32>| {
        let sql = "INSERT INTO note (code, letter, sort, step, words, supersedes, noted_at)
            VALUES (?1, ?2, 'found', 'colour', ?3, ?4, '2026-11-25T15:00:00Z')";
        let parameters = rusqlite::params![code.as_str(), letter, words, supersedes];
        register.connection.execute(sql, parameters).expect("is noted");
    };
    note(&register, code(0), None, "RD", None);
    note(&register, code(0), None, "BK\nin poor light", Some(1));
    let colours = |register: &Register| -> Vec<Option<String>> {
        register.blanks().expect("reads").into_iter().map(|blank| blank.noted_colour).collect()
    };
    assert_eq!(colours(&register), [Some("BK".to_owned()), None, None]);
    let lists = harness();
    for blank in [code(0), code(1)] {
        let target = Target::New(id(blank.as_str()), place("J9/1"));
        register.assign(blank, &target, Again::Refused, NOW).expect("assigns");
    }
    note(&register, code(1), Some(0), "GN", None);
    let instead = Target::Listed(&lists, 0, None);
    register.assign(code(0), &instead, Again::Instead, NOW).expect("assigns");
    let answer = register.assign(code(1), &instead, Again::Instead, NOW);
    assert!(matches!(answer, Err(RegisterFailure::EndsNoted { .. })));
}

#[test]
fn what_is_no_blank_or_no_target_is_told() {
    let mut register = with_blanks();
    register.issue(&harness(), NOW).expect("issues");
    let to = Target::Recorded(code(3), None);
    let mut answer = |blank, target: &Target<'_>| register.assign(blank, target, Again::Refused, NOW);
    assert!(matches!(answer(code(4), &to), Err(RegisterFailure::NotABlank { .. })));
    assert!(matches!(answer(code(77), &to), Err(RegisterFailure::UnknownCode { .. })));
    assert!(matches!(answer(code(0), &Target::Recorded(code(1), None)), Err(RegisterFailure::UnknownCode { .. })));
    let no_such = answer(code(0), &Target::Recorded(code(3), Some(letter(9))));
    assert!(matches!(no_such, Err(RegisterFailure::NoSuchEnd { .. })));
    assert!(matches!(answer(code(0), &Target::New(id("E14"), None)), Err(RegisterFailure::NameTaken { .. })));
}

#[derive(Clone, Debug)]
enum Step {
    /// The lists have the circuits of these numbers now.
    Issue(Vec<usize>),
    Blanks(u32),
    AssignListed {
        blank: usize,
        circuit: usize,
        end: Option<usize>,
        again: bool,
    },
    AssignRecorded {
        blank: usize,
        code: usize,
        end: Option<usize>,
        again: bool,
    },
    AssignNew {
        blank: usize,
        name: usize,
        again: bool,
    },
    Join(usize, usize),
    /// Something is noted of an end, or of a whole circuit: that it is tagged, or where it was found.
    Note {
        code: usize,
        letter: Option<u16>,
        found_at: Option<usize>,
    },
}

fn steps() -> impl Strategy<Value = Vec<Step>> {
    let (pick, end) = (0_usize..40, prop::option::of(0_usize..3));
    let step = prop_oneof![
        3 => prop::collection::vec(0_usize..8, 0..8).prop_map(Step::Issue),
        2 => (1_u32..4).prop_map(Step::Blanks),
        3 => (pick.clone(), 0_usize..8, end.clone(), any::<bool>())
            .prop_map(|(blank, circuit, end, again)| Step::AssignListed { blank, circuit, end, again }),
        3 => (pick.clone(), pick.clone(), end, any::<bool>())
            .prop_map(|(blank, code, end, again)| Step::AssignRecorded { blank, code, end, again }),
        2 => (pick.clone(), 0_usize..8, any::<bool>())
            .prop_map(|(blank, name, again)| Step::AssignNew { blank, name, again }),
        1 => (pick.clone(), pick.clone()).prop_map(|(one, other)| Step::Join(one, other)),
        3 => (pick, prop::option::of(0_u16..3), prop::option::of(0_usize..40))
            .prop_map(|(code, letter, found_at)| Step::Note { code, letter, found_at }),
    ];
    prop::collection::vec(step, 1..30)
}

/// Circuits that lists may have: of one end or three, known by name or by place.
fn listed(number: usize) -> Circuit {
    let ends: Vec<String> = (0..=number % 3).map(|end| format!("J{number}/{end}")).collect();
    let name = if number.is_multiple_of(2) { format!("W{number}") } else { ends[0].clone() };
    circuit(&name, &ends.iter().map(String::as_str).collect::<Vec<_>>())
}

fn again(may: bool) -> Again {
    if may { Again::Instead } else { Again::Refused }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    /// In whatever order codes are issued, blanks printed, assigned, assigned again and joined, and lists change: every code is
    /// issued once and names at most one circuit, and what a code and letter ever named is never another end.
    #[test]
    fn no_code_ever_names_two_circuits(steps in steps()) {
        let mut register = Register::in_memory().expect("in memory");
        let mut now = circuits([]);
        // The place that each code and letter named, ever.
        let mut named: HashMap<(TagCode, EndLetter), String> = HashMap::new();
        let mut answers: HashMap<(String, String), String> = HashMap::new();
        for step in steps {
            let codes = register.codes().expect("reads");
            let blanks: Vec<TagCode> = register.blanks().expect("reads").iter().map(|blank| blank.code).collect();
            let pick = |at: usize, of: &[TagCode]| (!of.is_empty()).then(|| of[at % of.len()]);
            let answer = match step {
                Step::Issue(mut numbers) => {
                    numbers.sort_unstable();
                    numbers.dedup();
                    now = circuits(numbers.into_iter().map(listed));
                    let planned = register.preview(&now).expect("previews");
                    let issued = register.issue(&now, NOW).expect("issues");
                    prop_assert_eq!(&planned, &issued);
                    let distinct: HashSet<TagCode> = issued.circuits.iter().map(|circuit| circuit.code).collect();
                    prop_assert!(distinct.len() <= issued.circuits.len());
                    Ok(())
                }
                Step::Blanks(count) => register.issue_blanks(count, Way::Printed, NOW).map(drop),
                Step::AssignListed { blank, circuit, end, again: may } => {
                    let Some(blank) = pick(blank, &blanks) else { continue };
                    if now.all().is_empty() {
                        continue;
                    }
                    let circuit = circuit % now.all().len();
                    let end = end.map(|end| end % now.all()[circuit].ends().len());
                    let answer = register.assign(blank, &Target::Listed(&now, circuit, end), again(may), NOW);
                    if let Ok(assigned) = answer {
                        let record = record(&register, blank);
                        prop_assert_eq!(record.code, assigned.printed);
                        let issued = register.preview(&now).expect("previews");
                        prop_assert_eq!(issued.circuits[circuit].code, assigned.printed);
                        if let Some(end) = end.filter(|_| !assigned.is_known) {
                            let mark = (assigned.printed, issued.circuits[circuit].letters[end]);
                            prop_assert_eq!(assigned.end, Some(mark));
                        }
                    }
                    answer.map(drop)
                }
                Step::AssignRecorded { blank, code, end, again: may } => {
                    let (Some(blank), Some(code)) = (pick(blank, &blanks), pick(code, &codes)) else { continue };
                    let target = Target::Recorded(code, end.map(|end| letter(end as u16)));
                    register.assign(blank, &target, again(may), NOW).map(drop)
                }
                Step::AssignNew { blank, name, again: may } => {
                    let Some(blank) = pick(blank, &blanks) else { continue };
                    // Names and places that lists have or will have, and others.
                    let target = match name {
                        0..4 => Target::New(listed(name).id().clone(), Some(listed(name).ends()[0].place.clone())),
                        _ => Target::New(id(&format!("new {name}")), place(&format!("J{name}/0")).filter(|_| name > 5)),
                    };
                    register.assign(blank, &target, again(may), NOW).map(drop)
                }
                Step::Join(one, other) => {
                    let (Some(one), Some(other)) = (pick(one, &codes), pick(other, &codes)) else { continue };
                    register.join(one, other, NOW).map(drop)
                }
                Step::Note { code, letter, found_at } => {
                    let Some(code) = pick(code, &codes) else { continue };
                    let (sort, step) = if found_at.is_some() { ("found", "place") } else { ("done", "tagged") };
                    // No list ever has an end there.
                    let words = found_at.map(|at| format!("X{at}/9")).unwrap_or_default();
                    let noted = register.connection.execute(
                        "INSERT INTO note (code, letter, sort, step, words, noted_at) VALUES (?1, ?2, ?3, ?4, ?5, '')",
                        rusqlite::params![code.as_str(), letter, sort, step, words],
                    );
                    noted.expect("is noted");
                    Ok(())
                }
            };
            let is_refused = matches!(
                answer,
                Err(RegisterFailure::AssignedAlready { .. }
                    | RegisterFailure::NoSuchEnd { .. }
                    | RegisterFailure::NameTaken { .. }
                    | RegisterFailure::UnknownCode { .. }
                    | RegisterFailure::Unassigned { .. }
                    | RegisterFailure::JoinedForEver { .. }
                    | RegisterFailure::EndsNoted { .. })
            );
            prop_assert!(answer.is_ok() || is_refused, "{answer:?}");

            // One mark has one answer.
            let ids: Vec<&str> = now.all().iter().map(|circuit| circuit.id().as_str()).collect();
            let mark = (register.codes_mark().expect("reads").to_string(), ids.join(" "));
            let says = format!("{:?} {:?}", register.look_ahead(&now).expect("reads"), register.codes().expect("reads"));
            let said = answers.entry(mark).or_insert_with(|| says.clone());
            prop_assert_eq!(&*said, &says);

            // Nothing issued twice or lost.
            let codes = register.codes().expect("reads");
            prop_assert_eq!(&codes, &(0..codes.len() as u32).map(code).collect::<Vec<_>>());
            let mut holders: BTreeMap<TagCode, usize> = BTreeMap::new();
            for (at, record) in register.records().expect("reads").iter().enumerate() {
                for &code in [record.code].iter().chain(&record.also) {
                    prop_assert!(holders.insert(code, at).is_none(), "{code} names two circuits");
                    let found = register.find(code).expect("reads");
                    prop_assert_eq!(found.as_ref(), Some(record));
                }
                let mut letters = HashSet::new();
                for end in &record.ends {
                    prop_assert!(letters.insert(end.letter), "a letter twice in {record:?}");
                    for &mark in [(record.code, end.letter)].iter().chain(&end.also) {
                        let place = end.place.to_string();
                        let before = named.entry(mark).or_insert_with(|| place.clone());
                        prop_assert_eq!(&*before, &place, "{} {} is another end", mark.0, mark.1);
                    }
                }
            }
            for blank in register.blanks().expect("reads") {
                prop_assert_eq!(blank.assigned.is_some(), holders.contains_key(&blank.code));
                if let Some((code, letter)) = blank.assigned.and_then(|assigned| assigned.end) {
                    // The end it hangs at is one of its circuit.
                    let record = record(&register, blank.code);
                    let is_own = |end: &super::register::RecordedEnd| {
                        (record.code, end.letter) == (code, letter) || end.also.contains(&(code, letter))
                    };
                    prop_assert!(record.ends.iter().any(is_own), "{} hangs nowhere: {record:?}", blank.code);
                }
            }
            let broken: i64 = register
                .connection
                .query_row("SELECT count(*) FROM pragma_foreign_key_check", [], |row| row.get(0))
                .expect("is checked");
            prop_assert_eq!(broken, 0);
        }
    }
}

/// What hangs on the wire leads: a printed blank before a code that was only issued, never before one that is on a tag.
#[test]
fn the_code_on_the_wire_leads() {
    let lists = harness();
    let tag = |of: TagCode, letters: &[u16], place: &str| PrintedTag {
        code: of,
        letters: letters.iter().map(|&n| letter(n)).collect(),
        spot: Spot::End,
        place: place.to_owned(),
        kind: "flag".to_owned(),
        stock: "x".to_owned(),
        words: Vec::new(),
        payload: None,
    };
    for (way, blank_is_printed, circuit_is_printed, leads) in [
        (Way::Printed, true, false, true),
        (Way::Printed, true, true, false),
        (Way::Printed, false, false, false),
        (Way::Listed, false, false, true),
        (Way::Listed, false, true, false),
    ] {
        let mut register = Register::in_memory().expect("in memory");
        register.issue_blanks(1, way, NOW).expect("issues");
        let first = register.issue(&lists, NOW).expect("issues").circuits[0].code;
        let run = register.begin_run(NOW, "tags").expect("begins");
        if blank_is_printed {
            register.record(run, &[tag(code(0), &[], "")]).expect("records");
        }
        if circuit_is_printed {
            register.record(run, &[tag(first, &[0], "J1/14")]).expect("records");
        }
        let target = Target::Listed(&lists, 0, Some(1));
        let assigned = register.assign(code(0), &target, Again::Refused, NOW).expect("assigns");
        let lead = if leads { code(0) } else { first };
        let at = letter(u16::from(!leads));
        assert_eq!((assigned.printed, assigned.end), (lead, Some((lead, at))), "{way:?}");
        let issued = register.issue(&lists, NOW).expect("issues");
        assert_eq!((issued.circuits[0].code, issued.circuits[0].letters[1]), (lead, at));
        // Told wrongly: the circuit goes on with the code that it had.
        register.assign(code(0), &Target::Listed(&lists, 1, None), Again::Instead, NOW).expect("assigns");
        let issued = register.issue(&lists, NOW).expect("issues");
        assert_eq!(issued.circuits[0].code, first);
        assert_eq!(issued.circuits[0].letters, [letter(0), letter(1)]);
    }
}

/// What is noted at the bench all day long leaves the mark as it is; what tells of codes does not.
#[test]
fn notes_of_the_work_change_no_mark() {
    let mut register = with_blanks();
    let lists = harness();
    register.issue(&lists, NOW).expect("issues");
    let mut marks = vec![register.codes_mark().expect("reads")];
    let note = |register: &Register, sort: &str, step: &str, words: &str, supersedes: Option<u32>| {
        let sql = "INSERT INTO note (code, letter, sort, step, words, supersedes, noted_at) VALUES (?1, 0, ?2, ?3, ?4, ?5, '')";
        let of = code(3);
        let parameters = rusqlite::params![of.as_str(), sort, step, words, supersedes];
        register.connection.execute(sql, parameters).expect("is noted");
    };
    note(&register, "done", "tagged", "", None);
    note(&register, "found", "colour", "BK", None);
    note(&register, "text", "", "looked at", None);
    assert_eq!(register.codes_mark().expect("reads"), marks[0]);
    note(&register, "found", "place", "J7/1", None);
    marks.push(register.codes_mark().expect("reads"));
    note(&register, "text", "", "", Some(4));
    marks.push(register.codes_mark().expect("reads"));
    register.issue_blanks(1, Way::Listed, NOW).expect("issues");
    marks.push(register.codes_mark().expect("reads"));
    register.assign(code(0), &Target::Recorded(code(3), None), Again::Refused, NOW).expect("assigns");
    marks.push(register.codes_mark().expect("reads"));
    let run = register.begin_run(NOW, "tags").expect("begins");
    marks.push(register.codes_mark().expect("reads"));
    register.end_run(run, Outcome::Failed, NOW).expect("ends");
    marks.push(register.codes_mark().expect("reads"));
    let distinct: HashSet<String> = marks.iter().map(ToString::to_string).collect();
    assert_eq!(distinct.len(), marks.len());
}
