//! Trials of the register as a whole: edits of lists, joins, two programs at once, a program killed in the middle, disks
//! that fail.

use std::collections::{HashMap, HashSet};
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Duration;

use proptest::prelude::*;
use rusqlite::Connection;

use super::failure::RegisterFailure;
use super::issued::Issued;
use super::rebuild::RecordedRun;
use super::register::{Joined, Register};
use super::samples::{NOW, circuit, circuits};
use super::schema;
use crate::base::{CircuitId, EndLetter, TagCode};
use crate::circuits::{Circuit, Circuits};

fn many(count: usize) -> Circuits {
    circuits((0..count).map(|n| circuit(&format!("W{n}"), &[&format!("J1/{n} BN"), &format!("X{n}/2 BN")])))
}

/// `RPS: 7KF4 A B` for every circuit, in order.
fn shown(circuits: &Circuits, issued: &Issued) -> Vec<String> {
    assert_eq!(circuits.all().len(), issued.circuits.len());
    let each = circuits.all().iter().zip(&issued.circuits);
    each.map(|(circuit, codes)| {
        assert_eq!(circuit.ends().len(), codes.letters.len());
        let letters: Vec<String> = codes.letters.iter().map(ToString::to_string).collect();
        format!("{}: {} {}", circuit.id(), codes.code, letters.join(" "))
    })
    .collect()
}

fn issue(register: &mut Register, circuits: &Circuits) -> Vec<String> {
    let planned = register.preview(circuits).expect("previews");
    let issued = register.issue(circuits, NOW).expect("issues");
    assert_eq!(planned, issued, "what was announced is what is issued");
    shown(circuits, &issued)
}

fn code(n: u32) -> TagCode {
    super::mint::nth(n).expect("a code")
}

#[test]
fn new_circuits_take_the_next_codes_in_natural_order() {
    let mut register = Register::in_memory().expect("in memory");
    let first = circuits([circuit("W10", &["J1/1"]), circuit("W2", &["J1/2", "J2/2"])]);
    assert_eq!(issue(&mut register, &first), ["W2: FQGB A B", "W10: RTCQ A"]);
    let more =
        circuits([circuit("W1", &["J1/3"]), circuit("W2", &["J0/1", "J1/2", "J2/2"]), circuit("W10", &["J1/1"])]);
    assert_eq!(issue(&mut register, &more), ["W1: 8GMK A", "W2: FQGB C A B", "W10: RTCQ A"]);
}

#[test]
fn looking_ahead_issues_nothing() {
    let register = Register::in_memory().expect("in memory");
    let planned = register.preview(&many(3)).expect("previews");
    assert_eq!(planned.circuits.len(), 3);
    assert_eq!(register.codes().expect("reads"), []);
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("register.db");
    let none = Register::open_to_read(&path).expect("an empty one");
    assert_eq!(none.preview(&many(3)).expect("previews"), planned);
    assert!(!path.exists());
}

#[test]
fn learning_a_name_does_not_change_a_code() {
    let mut register = Register::in_memory().expect("in memory");
    let charts = circuits([circuit("J1/14", &["J1/14 BN"]), circuit("X3/2", &["X3/2"]), circuit("J1/15", &["J1/15"])]);
    assert_eq!(issue(&mut register, &charts), ["J1/14: FQGB A", "J1/15: RTCQ A", "X3/2: 8GMK A"]);

    let named = circuits([circuit("RPS", &["J1/14 BN", "X3/2 BN"]), circuit("J1/15", &["J1/15"])]);
    assert_eq!(issue(&mut register, &named), ["J1/15: RTCQ A", "RPS: FQGB A B"]);
    let record = register.find(code(2)).expect("reads").expect("is there");
    assert_eq!((record.code, &record.also[..]), (code(0), &[code(2)][..]));
    assert_eq!(record.ends[1].also, [(code(2), EndLetter::FIRST)]);
    assert_eq!(record.designations, [CircuitId::from_cell("RPS").expect("a name")]);

    // The list of names is taken away, and comes back.
    assert_eq!(issue(&mut register, &charts), ["J1/14: FQGB A", "J1/15: RTCQ A", "X3/2: FQGB B"]);
    assert_eq!(issue(&mut register, &named), ["J1/15: RTCQ A", "RPS: FQGB A B"]);
    // Another name for the same places is another circuit; two places may still be learnt by one that is known.
    let later = circuits([circuit("RPS", &["J1/14 BN", "X3/2 BN", "J1/15"])]);
    assert_eq!(issue(&mut register, &later), ["RPS: FQGB A B C"]);
    assert_eq!(register.find(code(1)).expect("reads").expect("is there").code, code(0));
}

#[test]
fn a_place_that_two_circuits_claim_is_not_guessed_at() {
    let mut register = Register::in_memory().expect("in memory");
    issue(&mut register, &circuits([circuit("J1/14", &["J1/14"])]));
    let two = circuits([circuit("ONE", &["J1/14 BN"]), circuit("TWO", &["J1/14 WH"])]);
    assert_eq!(issue(&mut register, &two), ["ONE: RTCQ A", "TWO: 8GMK A"]);
    let mut register = Register::in_memory().expect("in memory");
    issue(&mut register, &circuits([circuit("J1/14", &["J1/14 WH"])]));
    assert_eq!(issue(&mut register, &two), ["ONE: RTCQ A", "TWO: FQGB A"]);
}

#[test]
fn a_corrected_colour_keeps_its_letter() {
    let mut register = Register::in_memory().expect("in memory");
    let one = |ends: &[&str]| circuits([circuit("W1", ends)]);
    assert_eq!(issue(&mut register, &one(&["J1/14", "X3/2 BN"])), ["W1: FQGB A B"]);
    assert_eq!(issue(&mut register, &one(&["J1/14 BN", "X3/2 BN/WH"])), ["W1: FQGB A B"]);
    // A second wire in the cavity: the known one keeps its letter.
    assert_eq!(issue(&mut register, &one(&["J1/14 BN", "J1/14 BN", "X3/2 BN/WH"])), ["W1: FQGB A C B"]);
    // One of the two is corrected.
    assert_eq!(issue(&mut register, &one(&["J1/14 BN", "J1/14 RD", "X3/2 BN/WH"])), ["W1: FQGB A C B"]);
    // Both at once cannot be told apart: nothing is guessed, no letter is used again.
    assert_eq!(issue(&mut register, &one(&["J1/14 GN", "J1/14 VT", "X3/2 BN/WH"])), ["W1: FQGB D E B"]);
    // Two that were never told apart may be called either way.
    let mut register = Register::in_memory().expect("in memory");
    assert_eq!(issue(&mut register, &one(&["J1/14", "J1/14"])), ["W1: FQGB A B"]);
    assert_eq!(issue(&mut register, &one(&["J1/14 RD", "J1/14 BK"])), ["W1: FQGB A B"]);
}

#[test]
fn joined_codes_name_one_record_for_ever() {
    let mut register = Register::in_memory().expect("in memory");
    let lists = circuits(["W1", "W2", "W3"].map(|id| circuit(id, &[&format!("J1/{id}"), &format!("J2/{id}")])));
    issue(&mut register, &lists);
    assert_eq!(register.join(code(1), code(2), NOW).expect("joins"), Joined::Now(code(1)));
    assert_eq!(register.join(code(0), code(2), NOW).expect("joins"), Joined::Now(code(0)));
    for (keep, other) in [(0, 2), (2, 1), (1, 1)] {
        assert_eq!(register.join(code(keep), code(other), NOW).expect("joins"), Joined::Already(code(0)));
    }
    for n in 0..3 {
        let record = register.find(code(n)).expect("reads").expect("is there");
        assert_eq!((record.code, &record.also[..]), (code(0), &[code(1), code(2)][..]));
        assert_eq!(record.ends.len(), 6);
    }
    // The lists may go on keeping them apart: one code, and no letter twice.
    assert_eq!(issue(&mut register, &lists), ["W1: FQGB A B", "W2: FQGB C D", "W3: FQGB E F"]);
    let one = circuits([circuit("W1", &["J1/W1", "J1/W2", "J1/W3", "J2/W1", "J2/W2", "J2/W3"])]);
    assert_eq!(issue(&mut register, &one), ["W1: FQGB A C E B D F"]);
    assert!(matches!(register.join(code(0), code(77), NOW), Err(RegisterFailure::UnknownCode { .. })));
}

#[test]
fn two_circuits_of_one_designation_are_refused() {
    let mut register = Register::in_memory().expect("in memory");
    let twice = circuits([circuit("W1", &["J1/1"]), circuit("W1", &["J1/2"])]);
    assert!(matches!(register.issue(&twice, NOW), Err(RegisterFailure::TwoCircuits { .. })));
    assert_eq!(register.codes().expect("reads"), []);
}

/// A circuit of the lists while they are edited: what it is called and which of its cavities have a wire.
#[derive(Clone, Debug)]
struct Draft {
    number: usize,
    is_named: bool,
    ends: usize,
}

#[derive(Clone, Debug)]
enum Edit {
    Add { ends: usize, is_named: bool },
    Remove(usize),
    BringBack(usize),
    MoreEnds(usize),
    FewerEnds(usize),
    Name(usize),
}

fn edits() -> impl Strategy<Value = Vec<Edit>> {
    let edit = prop_oneof![
        3 => (1_usize..4, any::<bool>()).prop_map(|(ends, is_named)| Edit::Add { ends, is_named }),
        2 => any::<usize>().prop_map(Edit::Remove),
        2 => any::<usize>().prop_map(Edit::BringBack),
        2 => any::<usize>().prop_map(Edit::MoreEnds),
        1 => any::<usize>().prop_map(Edit::FewerEnds),
        2 => any::<usize>().prop_map(Edit::Name),
    ];
    prop::collection::vec(edit, 1..25)
}

impl Draft {
    fn circuit(&self) -> Circuit {
        // Numbers are scattered, so that new circuits come between old ones.
        let at = self.number * 37 % 101;
        let places: Vec<String> = (0..self.ends).map(|end| format!("J{at}/{end} BN")).collect();
        let places: Vec<&str> = places.iter().map(String::as_str).collect();
        circuit(&if self.is_named { format!("W{at}") } else { format!("J{at}/0") }, &places)
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Whatever is inserted, removed, brought back, named or learnt: what has a code and a letter keeps them, and no two
    /// circuits or ends ever have the same.
    #[test]
    fn codes_and_letters_never_change_and_never_collide(edits in edits()) {
        let mut register = Register::in_memory().expect("in memory");
        let (mut listed, mut away): (Vec<Draft>, Vec<Draft>) = (Vec::new(), Vec::new());
        let mut circuits_made = 0;
        let mut known: HashMap<(usize, String), (TagCode, EndLetter)> = HashMap::new();
        let mut rebuilt = Register::in_memory().expect("in memory");
        for (number, edit) in (1..).zip(edits) {
            let pick = |at: usize, of: &[Draft]| (!of.is_empty()).then(|| at % of.len());
            match edit {
                Edit::Add { ends, is_named } if circuits_made < 101 => {
                    listed.push(Draft { number: circuits_made, is_named, ends });
                    circuits_made += 1;
                }
                Edit::Remove(at) => away.extend(pick(at, &listed).map(|at| listed.swap_remove(at))),
                Edit::BringBack(at) => listed.extend(pick(at, &away).map(|at| away.swap_remove(at))),
                Edit::MoreEnds(at) => pick(at, &listed).into_iter().for_each(|at| listed[at].ends += 1),
                Edit::FewerEnds(at) => {
                    pick(at, &listed).into_iter().for_each(|at| listed[at].ends = listed[at].ends.max(2) - 1);
                }
                Edit::Name(at) => pick(at, &listed).into_iter().for_each(|at| listed[at].is_named = true),
                Edit::Add { .. } => {}
            }
            let lists = circuits(listed.iter().map(Draft::circuit));
            let planned = register.preview(&lists).expect("previews");
            let issued = register.issue(&lists, NOW).expect("issues");
            prop_assert_eq!(&planned, &issued);
            prop_assert_eq!(&register.issue(&lists, NOW).expect("issues"), &issued);
            // A register put together from what each run has recorded gives the same codes and letters.
            let run = RecordedRun {
                number,
                what: "tags".to_owned(),
                planned: NOW,
                issued: None,
                circuits: register.recorded(None).expect("reads"),
                blanks: Vec::new(),
                tags: Vec::new(),
                connector_tags: Vec::new(),
                sheets: Vec::new(),
            };
            let learnt = rebuilt.learn(&run).expect("learns");
            prop_assert_eq!((learnt.contradicted, learnt.no_codes), (Vec::new(), Vec::new()));
            rebuilt.examine().expect("is in order");
            prop_assert_eq!(&rebuilt.preview(&lists).expect("previews"), &issued);
            let mut marks = HashSet::new();
            let mut codes = HashSet::new();
            for (circuit, issued) in lists.all().iter().zip(&issued.circuits) {
                prop_assert!(codes.insert(issued.code), "{} is on two circuits", issued.code);
                for (end, &letter) in circuit.ends().iter().zip(&issued.letters) {
                    prop_assert!(marks.insert((issued.code, letter)));
                    let place = end.place.to_string();
                    let draft = listed.iter().find(|d| format!("J{}", d.number * 37 % 101) == end.place.connector.as_str());
                    let key = (draft.expect("is listed").number, place);
                    let mark = *known.entry(key).or_insert((issued.code, letter));
                    prop_assert_eq!(mark, (issued.code, letter), "{} has changed", end.place);
                }
            }
        }
        // Nobody's mark was ever given to another, even of those that are away now.
        let distinct: HashSet<_> = known.values().collect();
        prop_assert_eq!(distinct.len(), known.len());
        for ((_, place), &(code, letter)) in &known {
            let record = register.find(code).expect("reads").expect("is there");
            let end = record.ends.iter().find(|end| end.letter == letter).expect("is there");
            prop_assert_eq!(&end.place.to_string(), place);
        }
    }
}

fn scratch() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("register.db");
    (folder, path)
}

/// The codes of a file, which must be whole: none twice, none left out, each the n-th.
fn whole(path: &Path) -> Vec<TagCode> {
    let register = Register::open(path).expect("opens");
    let full: String =
        register.connection.query_row("PRAGMA integrity_check", [], |row| row.get(0)).expect("is checked");
    assert_eq!(full, "ok");
    let broken: i64 = register
        .connection
        .query_row("SELECT count(*) FROM pragma_foreign_key_check", [], |row| row.get(0))
        .expect("is checked");
    assert_eq!(broken, 0);
    let codes = register.codes().expect("reads");
    assert_eq!(codes, (0..codes.len() as u32).map(code).collect::<Vec<_>>());
    codes
}

#[test]
fn two_programs_at_once_issue_no_code_twice() {
    let (_folder, path) = scratch();
    let answers: Vec<Vec<TagCode>> = std::thread::scope(|scope| {
        let threads: Vec<_> = (0..4)
            .map(|thread| {
                let path = &path;
                scope.spawn(move || {
                    let mut register = Register::open(path).expect("opens");
                    let mut codes = Vec::new();
                    for round in 0..10 {
                        let lists = circuits((0..=round).map(|n| circuit(&format!("T{thread}-{n}"), &["J1/1"])));
                        codes = register.issue(&lists, NOW).expect("issues").circuits.iter().map(|c| c.code).collect();
                    }
                    codes
                })
            })
            .collect();
        threads.into_iter().map(|thread| thread.join().expect("no panic")).collect()
    });
    let all: HashSet<TagCode> = answers.iter().flatten().copied().collect();
    assert_eq!(all.len(), 40);
    assert_eq!(whole(&path).len(), 40);
}

const KILLED_AT: &str = "LOOMTAG_TRIAL_REGISTER";
/// How many new circuits each call has.
const AT_ONCE: usize = 25;

/// Not a test of its own: the program that [`killed_in_the_middle_nothing_is_lost`] starts and kills. It tells on its
/// standard output what was acknowledged.
#[test]
fn issues_until_it_is_killed() {
    let Some(path) = std::env::var_os(KILLED_AT) else { return };
    let mut register = Register::open(Path::new(&path)).expect("opens");
    let mut count = register.codes().expect("reads").len();
    loop {
        count += AT_ONCE;
        let issued = register.issue(&many(count), NOW).expect("issues");
        let run = register.begin_run(NOW, "tags").expect("begins");
        register.end_run(run, super::Outcome::Done, NOW).expect("ends");
        let mut out = std::io::stdout().lock();
        writeln!(out, "\nacknowledged {}", issued.circuits.len()).and_then(|()| out.flush()).expect("is heard");
    }
}

#[test]
fn killed_in_the_middle_nothing_is_lost() {
    let (_folder, path) = scratch();
    let program = std::env::current_exe().expect("this test");
    for round in 0..20_u64 {
        let mut child = Command::new(&program)
            .args(["--exact", "codes::trials::issues_until_it_is_killed", "--nocapture"])
            .env(KILLED_AT, &path)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("starts");
        let mut said = BufReader::new(child.stdout.take().expect("is heard")).lines();
        let heard = |line: std::io::Result<String>| line.ok()?.strip_prefix("acknowledged ")?.parse().ok();
        // At work by now; killed at another moment each time, most of them in the middle of a transaction.
        let mut acknowledged: usize = said.by_ref().find_map(heard).expect("it issues codes");
        std::thread::sleep(Duration::from_micros(1_300 * round));
        child.kill().expect("is killed");
        child.wait().expect("ends");
        acknowledged = said.filter_map(heard).last().unwrap_or(acknowledged);
        let after = whole(&path).len();
        assert!(after >= acknowledged, "{after} are there, {acknowledged} were acknowledged");
        assert_eq!(after % AT_ONCE, 0, "one call is one transaction");
    }
}

#[test]
fn a_newer_register_is_refused_and_left_alone() {
    let (_folder, path) = scratch();
    drop(Register::open(&path).expect("opens"));
    let connection = Connection::open(&path).expect("opens");
    connection.pragma_update(None, "user_version", schema::VERSION + 1).expect("is set");
    drop(connection);
    for answer in [Register::open(&path), Register::open_to_read(&path)] {
        let failure = answer.expect_err("is refused");
        assert!(matches!(failure, RegisterFailure::Newer { .. }), "{failure}");
        assert!(failure.to_string().contains("register.db") && failure.remedy().contains("newer version"));
    }
}

#[test]
#[expect(clippy::disallowed_methods, reason = "the test damages files on purpose")]
fn what_is_no_register_is_refused_and_left_alone() {
    let (folder, path) = scratch();
    for (name, content) in [("list.csv", &b"connector,cavity\nJ1,14\n"[..]), ("photo.png", &[0x89; 3000][..])] {
        let path = folder.path().join(name);
        std::fs::write(&path, content).expect("is written");
        assert!(matches!(Register::open(&path), Err(RegisterFailure::NotARegister { .. })));
        assert!(matches!(Register::open_to_read(&path), Err(RegisterFailure::NotARegister { .. })));
        assert_eq!(std::fs::read(&path).expect("is there"), content);
    }
    Connection::open(&path).and_then(|c| c.execute_batch("CREATE TABLE engine (hours INTEGER)")).expect("creates");
    assert!(matches!(Register::open(&path), Err(RegisterFailure::NotARegister { .. })));
    assert!(matches!(Register::open(folder.path()), Err(RegisterFailure::CannotOpen { .. })));
    assert!(matches!(
        Register::open(&folder.path().join("nowhere").join("register.db")),
        Err(RegisterFailure::CannotOpen { .. })
    ));
}

#[test]
#[expect(clippy::disallowed_methods, reason = "the test damages files on purpose")]
fn a_damaged_register_is_noticed() {
    let (_folder, path) = scratch();
    let mut register = Register::open(&path).expect("opens");
    register.issue(&many(300), NOW).expect("issues");
    drop(register);
    let mut bytes = std::fs::read(&path).expect("reads");
    let (start, end) = (bytes.len() / 3, bytes.len() * 2 / 3);
    bytes[start..end].fill(0x5a);
    std::fs::write(&path, bytes).expect("is written");
    let failure = Register::open(&path).expect_err("is noticed");
    assert!(matches!(failure, RegisterFailure::Damaged { .. }), "{failure:?}");

    // A code under a number that is not its own would be issued a second time.
    let (_folder, path) = scratch();
    let mut register = Register::open(&path).expect("opens");
    register.issue(&many(3), NOW).expect("issues");
    let exchanged = "DROP TRIGGER a_code_stays_itself; UPDATE code SET number = 99 WHERE number = 1";
    register.connection.execute_batch(exchanged).expect("is changed");
    assert!(matches!(register.issue(&many(4), NOW), Err(RegisterFailure::Damaged { .. })));
}

#[test]
fn a_register_locked_too_long_says_so() {
    let (_folder, path) = scratch();
    drop(Register::open(&path).expect("opens"));
    let other = Connection::open(&path).expect("opens");
    other.execute_batch("BEGIN IMMEDIATE").expect("is locked");
    let mut register = Register::open_waiting(&path, Duration::from_millis(50)).expect("opens beside a writer");
    assert!(matches!(register.issue(&many(1), NOW), Err(RegisterFailure::Busy { .. })));
    // Readers need not wait.
    let reader = Register::open_to_read(&path).expect("opens");
    assert_eq!(reader.preview(&many(1)).expect("previews").circuits.len(), 1);
    other.execute_batch("ROLLBACK").expect("is free");
    assert_eq!(register.issue(&many(1), NOW).expect("issues").circuits.len(), 1);
}

#[cfg(unix)]
#[test]
#[expect(clippy::disallowed_methods, reason = "the test tries whether permissions bind this user")]
fn a_folder_that_may_not_be_written_is_read_all_the_same() {
    use std::os::unix::fs::PermissionsExt;
    let (folder, path) = scratch();
    let mut register = Register::open(&path).expect("opens");
    register.issue(&many(3), NOW).expect("issues");
    drop(register);
    let permit = |folder_mode, file_mode| {
        std::fs::set_permissions(&path, std::fs::Permissions::from_mode(file_mode)).expect("is set");
        std::fs::set_permissions(folder.path(), std::fs::Permissions::from_mode(folder_mode)).expect("is set");
    };
    permit(0o555, 0o444);
    let is_bound = std::fs::write(folder.path().join("probe"), "").is_err();
    if is_bound {
        let failure = Register::open(&path).expect_err("cannot write");
        assert!(matches!(failure, RegisterFailure::ReadOnly { .. } | RegisterFailure::CannotOpen { .. }));
        assert_eq!(Register::open_to_read(&path).expect("reads").codes().expect("reads").len(), 3);
    }
    permit(0o755, 0o644);
}

/// A full disk, played by a limit on the pages of the database.
#[test]
fn a_full_disk_issues_nothing() {
    let (_folder, path) = scratch();
    let mut register = Register::open(&path).expect("opens");
    register.issue(&many(7), NOW).expect("issues");
    let pages: i64 = register.connection.query_row("PRAGMA page_count", [], |row| row.get(0)).expect("reads");
    register.connection.query_row(&format!("PRAGMA max_page_count = {pages}"), [], |_| Ok(())).expect("is set");
    let failure = register.issue(&many(2000), NOW).expect_err("is full");
    assert!(matches!(failure, RegisterFailure::Full { .. }), "{failure:?}");
    drop(register);
    assert_eq!(whole(&path).len(), 7);
}
