//! Trials of deciding beside the lists, on a job folder.
#![expect(clippy::disallowed_methods, reason = "tests set up the folders they read")]

use std::fs;
use std::path::Path;

use proptest::prelude::*;

use super::*;
use crate::circuits::Supply;
use crate::circuits::caution::danger_at;
use crate::codes::samples::NOW;
use crate::run::Held;
use crate::run::deciding::told::Standing;
use crate::run::reading::read;

const JOB: &str = "title = \"trial\"\n";
const LIST: &str = "connector,cavity,circuit,function,colour,supply,action,note\n\
    J1,1,E1,rail pressure,BU,signal,keep,\n\
    J2,1,E1,,BU,,,by the pump\n\
    J1,2,E2,belt tensioner,YE,restraint,,\n\
    J2,2,E2,,YE,,,\n\
    J1,3,E3,alternator,RD,30,,\n";

fn job() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("job.toml"), JOB).expect("written");
    fs::write(folder.path().join("loom.csv"), LIST).expect("written");
    folder
}

fn reading(folder: &Path) -> Reading {
    read(folder).expect("reads").value.expect("is usable")
}

fn wish(ends: &[&str], action: &str) -> Wish {
    Wish {
        ends: ends.iter().map(|end| (*end).to_owned()).collect(),
        action: Some(action.to_owned()),
        ..Wish::default()
    }
}

fn decided(folder: &Path, wish: Wish) -> Decided {
    decide(&reading(folder), &[wish], NOW).expect("does not fail").expect("is decided")
}

fn refused(folder: &Path, wish: Wish) -> NotDecided {
    decide(&reading(folder), &[wish], NOW).expect("does not fail").expect_err("is refused")
}

/// `J1/1 keep, J1/2 undecided` of all ends, with their notes in brackets.
fn plan(reading: &Reading) -> String {
    let order = reading.circuits.working_order();
    let end = |at: &(usize, usize)| {
        let end = &reading.circuits.all()[at.0].ends()[at.1];
        let note = end.note.as_ref().map(|note| format!(" ({note})")).unwrap_or_default();
        format!("{} {}{note}", end.place, end.action)
    };
    order.iter().map(end).collect::<Vec<_>>().join(", ")
}

const AS_LISTED_PLAN: &str = "J1/1 keep, J1/2 undecided, J1/3 undecided, J2/1 undecided (by the pump), J2/2 undecided";

#[test]
fn a_decision_counts_above_the_row_and_the_list_stays() {
    let folder = job();
    let folder = folder.path();
    let first = decided(folder, wish(&["J1/1"], "cut"));
    assert_eq!((first.act, first.issued), (Some(1), 3), "codes are issued as for tags");
    let change = &first.changes[0];
    assert_eq!((&*change.before, &*change.after, &*change.listed, change.number), ("keep", "cut", "keep", 1));
    let now = reading(folder);
    assert!(plan(&now).starts_with("J1/1 cut, "), "{}", plan(&now));
    let end = &now.circuits.all()[0].ends()[0];
    let said = end.decided_instead().expect("is told").in_words();
    assert_eq!(said, "a decision of 1970-01-01; the list says keep");
    assert_eq!(fs::read_to_string(folder.join("loom.csv")).expect("read"), LIST);
    // What is so already is not written again; the list's own word leaves it to the list.
    let again = decided(folder, wish(&["J1/1"], "cut"));
    assert_eq!((again.act, again.unchanged), (None, 1));
    let back = decided(folder, wish(&["J1/1"], AS_LISTED));
    assert_eq!(back.changes[0].decision.matter, Matter::Action(None));
    assert_eq!(plan(&reading(folder)), AS_LISTED_PLAN);
}

#[test]
fn a_removal_tells_of_the_other_end_that_stays_undecided() {
    let folder = job();
    let folder = folder.path();
    let warned = |decided: &Decided| {
        decided.changes.iter().flat_map(|change| &change.warnings).any(|warning| warning.contains("stays undecided"))
    };
    let both = decided(folder, wish(&["J1/1", "J2/1"], "remove"));
    assert!(!warned(&both), "{both:?}");
    decided(folder, wish(&["J1/1", "J2/1"], AS_LISTED));
    let one = decided(folder, wish(&["J1/1"], "remove"));
    assert_eq!(one.changes[0].warnings, ["J2/1 at its other end stays undecided"]);
}

#[test]
fn notes_are_written_erased_and_left_to_the_list() {
    let folder = job();
    let folder = folder.path();
    let note = |text: &str| Wish { ends: vec!["J2/1".to_owned()], note: Some(text.to_owned()), ..Wish::default() };
    for (text, shown) in [("behind  the\nfilter", "J2/1 undecided (behind the filter)"), ("", "J2/1 undecided, ")] {
        decided(folder, note(text));
        let plan = plan(&reading(folder));
        assert!(plan.contains(shown), "{plan}");
    }
    let back = decided(folder, note("by the pump"));
    assert_eq!(back.changes[0].decision.matter, Matter::Note(None));
    assert_eq!(plan(&reading(folder)), AS_LISTED_PLAN);
    let long = refused(folder, note(&"x".repeat(LONGEST_NOTE + 1)));
    assert!(matches!(long, NotDecided::Words { .. }));
}

#[test]
fn a_note_of_the_list_marks_danger_also_where_another_is_written() {
    let folder = job();
    let folder = folder.path();
    fs::write(folder.join("loom.csv"), LIST.replace("by the pump", "airbag")).expect("written");
    decided(folder, Wish { ends: vec!["J2/1".to_owned()], note: Some(String::new()), ..Wish::default() });
    let now = reading(folder);
    assert_eq!(danger_at(&now.circuits, (0, 1)), Some(Supply::Restraint));
}

#[test]
fn many_ends_are_one_act_and_are_taken_back_as_one() {
    let folder = job();
    let folder = folder.path();
    let all = Wish {
        connectors: vec!["j1".to_owned()],
        of_these: OfThese::Undecided,
        action: Some("keep".to_owned()),
        ..Wish::default()
    };
    let many = decided(folder, all);
    assert_eq!((many.act, many.changes.len()), (Some(1), 2));
    decided(folder, wish(&["J2/2"], "remove"));
    let plan_now = plan(&reading(folder));
    assert_eq!(plan_now, "J1/1 keep, J1/2 keep, J1/3 keep, J2/1 undecided (by the pump), J2/2 remove");
    assert_eq!(undo(folder, Undo::Act(1), NOW).expect("is undone").len(), 2);
    assert_eq!(undo(folder, Undo::Last, NOW).expect("is undone")[0].number, 3);
    assert_eq!(plan(&reading(folder)), AS_LISTED_PLAN);
    assert!(undo(folder, Undo::Last, NOW).is_err(), "nothing is left");
    assert!(undo(folder, Undo::Number(1), NOW).is_err(), "it is taken back already");
    assert!(undo(folder, Undo::Number(4), NOW).is_err(), "it takes another back");
}

#[test]
fn what_cannot_be_followed_is_refused_with_a_remedy() {
    let folder = job();
    let folder = folder.path();
    for (ends, action, why, remedy) in [
        (&["J1/1"][..], "cutt", "`cutt` is no action", Some("did you mean `cut`?")),
        (&["J1/1"], "move", "`move` names no cavity", Some("name the one it moves to: `move J2/9`")),
        (
            &["J1/1", "J1/2"],
            "move to J2/9",
            "ends of 2 circuits cannot all move to `J2/9`",
            Some("decide each for itself, with a cavity of its own"),
        ),
        (&["J9/9"], "cut", "`J9/9` is neither a code nor a place of this job", None),
    ] {
        decided(folder, wish(&["J1/3"], "keep"));
        let refused = refused(folder, wish(ends, action));
        assert_eq!((refused.to_string().as_str(), refused.remedy().as_deref()), (why, remedy));
    }
}

#[test]
fn danger_and_work_that_is_done_are_told() {
    let folder = job();
    let folder = folder.path();
    let restraint = decided(folder, wish(&["J1/2"], "cut"));
    assert!(restraint.changes[0].warnings[0].starts_with("RESTRAINT: never cut"), "{restraint:?}");
    let live = decided(folder, wish(&["J1/3"], "cut"));
    assert!(live.changes[0].warnings[0].starts_with("LIVE WITH BATTERY ON"), "{live:?}");
    let (code, letter) = live.changes[0].decision.mark();
    let said = crate::codes::Said::Done(crate::base::Step::Cut);
    let note = crate::codes::Note {
        code,
        letter: Some(letter),
        said,
        value: String::new(),
        remark: String::new(),
        other: None,
        supersedes: None,
    };
    register::open(folder).expect("opens").note(&[note], NOW).expect("notes");
    let keep = decided(folder, wish(&["J1/3"], "keep"));
    assert!(keep.changes[0].warnings[0].starts_with("`cut` is noted of it already"), "{keep:?}");
}

#[test]
fn a_decision_follows_its_end_and_is_told_where_that_is_gone() {
    let folder = job();
    let folder = folder.path();
    decided(folder, wish(&["J1/1"], "cut"));
    decided(folder, wish(&["J2/2"], "keep"));
    // The row says the same by now; another row is gone.
    let list = LIST.replace("BU,signal,keep", "BU,signal,cut").replace("J2,2,E2,,YE,,,\n", "");
    fs::write(folder.join("loom.csv"), list).expect("written");
    let now = reading(folder);
    assert_eq!(now.circuits.all()[0].ends()[0].edited, None);
    let problem = now.problems.iter().find(|problem| problem.id == "decision-without-end").expect("is told");
    assert!(problem.message.contains("the action `keep` was decided of"), "{}", problem.message);
    assert!(problem.message.contains("at `J2/2` (decision 2)"), "{}", problem.message);
    let held = Held::new(folder);
    let snapshot = held.snapshot().expect("reads");
    let decisions = register::open_to_read(folder).expect("opens").decisions().expect("reads");
    let standing: Vec<Standing> = snapshot.deciding().told(&decisions).iter().map(|told| told.standing).collect();
    assert_eq!(standing, [Standing::SaidByList, Standing::WithoutEnd]);
}

#[test]
fn what_counts_is_written_as_rows_for_the_lists() {
    let folder = job();
    let folder = folder.path();
    decided(folder, Wish { note: Some("=cap".to_owned()), ..wish(&["J1/1"], "cut") });
    let held = Held::new(folder);
    let snapshot = held.snapshot().expect("reads");
    let decisions = register::open_to_read(folder).expect("opens").decisions().expect("reads");
    let deciding = snapshot.deciding();
    let text = String::from_utf8(deciding.to_carry_over(&deciding.told(&decisions))).expect("is UTF-8");
    assert_eq!(
        text,
        "\u{feff}place,designation,action,note,list says,list notes,row\r\nJ1/1,E1,cut,'=cap,keep,,loom.csv:2\r\n"
    );
}

#[test]
fn a_held_job_sees_a_decision_a_note_and_a_changed_list() {
    let folder = job();
    let folder = folder.path();
    let held = Held::new(folder);
    let before = held.snapshot().expect("reads");
    assert!(std::sync::Arc::ptr_eq(&before, &held.snapshot().expect("reads")), "nothing has changed");
    decided(folder, wish(&["J1/1"], "cut"));
    let after = held.snapshot().expect("reads");
    assert!(plan(&after.reading).starts_with("J1/1 cut, "));
    assert!(!std::sync::Arc::ptr_eq(&before.reading, &after.reading));
    // Another connection writes something that is no decision: the lists are not read again.
    let mut register = register::open(folder).expect("opens");
    let code = after.issued.circuits[0].code;
    let said = crate::codes::Said::Text;
    let remark = "seen".to_owned();
    let note =
        crate::codes::Note { code, letter: None, said, value: String::new(), remark, other: None, supersedes: None };
    register.note(&[note], NOW).expect("notes");
    let noted = held.snapshot().expect("reads");
    assert_eq!(noted.recall.notes().all().len(), 1);
    assert!(std::sync::Arc::ptr_eq(&noted.reading, &after.reading));
    undo(folder, Undo::Last, NOW).expect("is undone");
    assert_eq!(plan(&held.snapshot().expect("reads").reading), AS_LISTED_PLAN);
    // A list that is changed on the disk, of another size.
    fs::write(folder.join("loom.csv"), LIST.replace("by the pump", "pump")).expect("written");
    assert!(plan(&held.snapshot().expect("reads").reading).contains("J2/1 undecided (pump)"));
}

/// One thing that a person does.
#[derive(Clone, Debug)]
enum Does {
    Decides { end: usize, action: Option<Action> },
    Undoes,
    UndoesAct(u32),
}

fn does() -> impl Strategy<Value = Does> {
    let action = prop_oneof![Just(None), Just(Some(Action::Keep)), Just(Some(Action::Cut)), Just(Some(Action::Remove))];
    prop_oneof![
        4 => (0..3usize, action).prop_map(|(end, action)| Does::Decides { end, action }),
        2 => Just(Does::Undoes),
        1 => (1..12u32).prop_map(Does::UndoesAct),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// Whatever is decided and taken back: what counts is what a list of acts would say, of which some are struck out.
    #[test]
    fn what_counts_is_the_last_that_is_not_struck_out(all in prop::collection::vec(does(), 0..14)) {
        use crate::codes::{Register, samples};
        let circuits = samples::circuits([samples::circuit("W1", &["J1/1", "J2/1", "J3/1"])]);
        let mut register = Register::in_memory().expect("in memory");
        let issued = register.issue(&circuits, NOW).expect("issues");
        // Acts by their numbers: the end and action, or nothing where the act takes others back; and whether it is struck out.
        let mut acts: Vec<Option<(usize, Option<Action>, bool)>> = Vec::new();
        for one in all {
            match one {
                Does::Decides { end, action } => {
                    let (code, letter) = (issued.circuits[0].code, issued.circuits[0].letters[end]);
                    let decision = Decision { code, letter, matter: Matter::Action(action.clone()) };
                    let (act, _) = register.decide(&[decision], NOW).expect("decides");
                    acts.push(Some((end, action, false)));
                    prop_assert_eq!(act as usize, acts.len());
                }
                Does::Undoes | Does::UndoesAct(_) => {
                    let (what, struck) = match one {
                        Does::UndoesAct(act) => (Undo::Act(act), Some(act as usize - 1)),
                        _ => (Undo::Last, acts.iter().rposition(|act| matches!(act, Some((_, _, false))))),
                    };
                    let left = struck.and_then(|at| acts.get_mut(at)).and_then(Option::as_mut).filter(|act| !act.2);
                    prop_assert_eq!(register.undo(what, NOW).is_ok(), left.is_some());
                    if let Some(act) = left {
                        act.2 = true;
                        acts.push(None);
                    }
                }
            }
            let mut wanted: [Option<Action>; 3] = [None, None, None];
            for (end, action, _) in acts.iter().flatten().filter(|act| !act.2) {
                wanted[*end] = action.clone();
            }
            let mut counts: [Option<Action>; 3] = [None, None, None];
            for edit in register.decided(&circuits).expect("reads").edits {
                if let crate::circuits::Says::Action(action) = edit.says {
                    counts[edit.at.1] = Some(action);
                }
            }
            prop_assert_eq!(&counts, &wanted);
            let standing = register.decisions().expect("reads").standing().len();
            prop_assert_eq!(standing, wanted.iter().flatten().count());
        }
    }
}
