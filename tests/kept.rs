//! Nothing is lost: the program killed at any instant, many programs at once, a disk that is full or may not be written to.
//! The register is looked at with SQLite itself, not through the program.
#![cfg(unix)]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::os::unix::process::ExitStatusExt;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use rusqlite::Connection;

use crate::kit::JobFolder;

const HEAD: &str = "connector,cavity,circuit,colour,action,diameter\n";

/// Three circuits in a connector of their own.
fn rows(connector: &str) -> String {
    (1..=3).map(|cavity| format!("{connector},{cavity},{connector}-{cavity},BU,cut,2\n")).collect()
}

fn small_job() -> JobFolder {
    JobFolder::with(&[("job.toml", "title = \"Marsh Hen bench\"\n"), ("loom.csv", &format!("{HEAD}{}", rows("J0")))])
}

/// What a register has issued.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
struct Issued {
    /// Codes with their numbers.
    codes: BTreeMap<String, u32>,
    /// Codes and letters with the place that each is for.
    letters: BTreeMap<(String, u16), String>,
    /// How many notes, print runs, printed tags and joinings there are.
    journal: [u32; 4],
    /// Runs that are done.
    done: BTreeSet<u32>,
}

impl Issued {
    /// Reads a register that must be whole: database, references, and every code from the first to the last.
    #[track_caller]
    fn of(path: &Path) -> Self {
        let register = Connection::open(path).expect("opens");
        let checked: String = register.query_row("PRAGMA integrity_check", [], |row| row.get(0)).expect("is checked");
        assert_eq!(checked, "ok");
        let lost: u32 = register
            .query_row("SELECT count(*) FROM pragma_foreign_key_check", [], |row| row.get(0))
            .expect("is checked");
        assert_eq!(lost, 0, "rows that speak of others");
        let version: u32 = register.pragma_query_value(None, "user_version", |row| row.get(0)).expect("reads");
        if version == 0 {
            return Self::default();
        }
        let count = |table: &str| {
            register.query_row(&format!("SELECT count(*) FROM {table}"), [], |row| row.get(0)).expect("counts")
        };
        let mut codes = register.prepare("SELECT code, number FROM code ORDER BY number").expect("reads");
        let codes: Vec<(String, u32)> =
            codes.query_map([], |row| Ok((row.get(0)?, row.get(1)?))).and_then(Iterator::collect).expect("reads");
        assert!(codes.iter().map(|(_, number)| *number).eq(0..codes.len() as u32), "a gap in {codes:?}");
        let mut letters = register
            .prepare(
                "SELECT code, letter, connector || '/' || cavity FROM letter JOIN end_of_wire ON key = end_of_wire",
            )
            .expect("reads");
        let letters = letters
            .query_map([], |row| Ok(((row.get(0)?, row.get(1)?), row.get(2)?)))
            .and_then(Iterator::collect)
            .expect("reads");
        let mut done = register.prepare("SELECT run FROM print_run_outcome WHERE outcome = 'done'").expect("reads");
        let done = done.query_map([], |row| row.get(0)).and_then(Iterator::collect).expect("reads");
        let journal = ["note", "print_run", "printed_tag", "joining"].map(count);
        Self { codes: codes.into_iter().collect(), letters, journal, done }
    }

    /// That nothing of an earlier moment is gone or has changed.
    #[track_caller]
    fn still_holds(&self, before: &Self) {
        for (code, number) in &before.codes {
            assert_eq!(self.codes.get(code), Some(number), "code {code} of number {number}");
        }
        for (letter, place) in &before.letters {
            assert_eq!(self.letters.get(letter), Some(place), "{letter:?}");
        }
        assert!(self.done.is_superset(&before.done));
        assert!(self.journal.iter().zip(before.journal).all(|(now, before)| *now >= before), "{self:?} {before:?}");
    }
}

/// Numbers that are scattered, and the same in every run of the tests.
struct Scattered(u64);

impl Scattered {
    fn below(&mut self, most: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % most.max(1)
    }
}

/// A program that was let run for a while and killed, if it had not ended.
struct Killed {
    was_killed: bool,
    code: Option<i32>,
    said: String,
    complained: String,
}

/// When a program is killed.
enum Strike<'a> {
    /// So long after its start.
    After(Duration),
    /// So long after it has begun to write to the log of this register.
    Writing(&'a Path, Duration),
}

fn kill(mut child: Child, strike: &Strike) -> Killed {
    let delay = match strike {
        Strike::After(delay) => *delay,
        Strike::Writing(register, delay) => {
            let log = format!("{}-wal", register.display());
            while fs::metadata(&log).map_or(0, |log| log.len()) == 0 && child.try_wait().expect("is asked").is_none() {
                std::thread::sleep(Duration::from_micros(100));
            }
            *delay
        }
    };
    std::thread::sleep(delay);
    let _ = child.kill();
    let output = child.wait_with_output().expect("ends");
    Killed {
        was_killed: output.status.signal() == Some(9),
        code: output.status.code(),
        said: String::from_utf8_lossy(&output.stdout).into_owned(),
        complained: String::from_utf8_lossy(&output.stderr).into_owned(),
    }
}

fn start(folder: &JobFolder, arguments: &[String]) -> Child {
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    folder
        .command(&arguments)
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("starts")
}

/// That every PDF is whole, every run.json is about PDFs that are there, and every export has all its files.
#[track_caller]
fn files_are_whole(folder: &JobFolder) {
    for name in folder.names() {
        if name.ends_with(".pdf") {
            let bytes = folder.bytes(&name);
            let end = &bytes[bytes.len().saturating_sub(16)..];
            assert!(bytes.starts_with(b"%PDF") && end.windows(5).any(|end| end == b"%%EOF"), "`{name}` is half a PDF");
        } else if name.ends_with("/run.json") {
            let record = folder.json(&name);
            for file in record["files"].as_array().expect("files") {
                let pdf = Path::new(&name).with_file_name(file["file"].as_str().expect("a name"));
                assert!(folder.path().join(&pdf).is_file(), "{}", pdf.display());
            }
        }
    }
    let exports = fs::read_dir(folder.path().join("exports")).into_iter().flatten().flatten();
    for export in exports.filter(|export| !export.file_name().to_string_lossy().starts_with('.')) {
        let files = fs::read_dir(export.path()).expect("listed").count();
        let about = fs::read_to_string(export.path().join("about.csv")).expect("is there");
        assert_eq!(files, about.lines().filter(|line| line.contains(",fnv1a ")).count() + 1, "{about}");
    }
}

/// How often the program is killed: `LOOMTAG_KILLS` asks for more than the tests do.
fn kills(usual: usize) -> usize {
    std::env::var("LOOMTAG_KILLS").ok().and_then(|count| count.parse().ok()).unwrap_or(usual)
}

/// What is done while it is killed. `{new}` is a connector that was never there before, `{code}` a code that was issued,
/// `{blank}` a blank that was issued.
const DEEDS: [&str; 8] = [
    "tags --all --work --no-connectors --connector {new} --no-proof",
    "tags --all --work --no-connectors --connector {new}",
    "reprint {code} --no-proof",
    "note {code} done cut",
    "blanks 3 --list",
    "assign {blank} {new}-1",
    "join {code} {code2} --sure",
    "export",
];

#[test]
fn killed_at_any_instant_nothing_is_lost() {
    // Two jobs side by side, so that it takes half the time.
    std::thread::scope(|scope| {
        for seed in [0x4c4f_4f4d, 0x5441_4753] {
            scope.spawn(move || kill_many(seed, kills(200) / 2));
        }
    });
}

#[expect(clippy::print_stdout, reason = "the counts are asked for with --nocapture")]
fn kill_many(seed: u64, wanted: usize) {
    let folder = small_job();
    folder.done(&["tags", "--all", "--work", "--no-proof"]);
    let path = folder.path().join("register.db");
    let verbs = folder.done(&["--help"]).out;
    let has = |deed: &&&str| verbs.contains(&format!("\n  {} ", deed.split(' ').next().expect("a verb")));
    let deeds: Vec<&str> = DEEDS.iter().filter(has).copied().collect();
    let mut chance = Scattered(seed);
    let (mut all, mut usual) = (format!("{HEAD}{}", rows("J0")), BTreeMap::new());
    let mut before = Issued::of(&path);
    let (mut struck, mut ended, mut began) = (0, 0, 0);
    for round in 0..wanted * 3 {
        if struck == wanted {
            break;
        }
        let deed = deeds[round % deeds.len()];
        let new = format!("J{}", round + 1);
        all.push_str(&rows(&new));
        // Lists of one length take one time: those of long ago have left them, and come back in the end.
        let recent: String = (round.saturating_sub(3)..=round + 1).map(|n| rows(&format!("J{n}"))).collect();
        folder.write("loom.csv", format!("{HEAD}{recent}"));
        let codes: Vec<&String> = before.letters.keys().map(|(code, _)| code).collect();
        let mut code = || codes[chance.below(codes.len() as u64) as usize].clone();
        let (code, code2) = (code(), code());
        let Some(blank) = blank(&path).or_else(|| (!deed.contains("{blank}")).then(String::new)) else { continue };
        let arguments = deed.replace("{new}", &new).replace("{code}", &code).replace("{code2}", &code2);
        let arguments: Vec<String> = arguments.replace("{blank}", &blank).split(' ').map(str::to_owned).collect();
        // The first time of each is only measured.
        let Some(&time) = usual.get(deed) else {
            usual.insert(deed, done(&folder, &arguments));
            before = Issued::of(&path);
            continue;
        };
        // Until a quarter of it the program has hardly read its files.
        let is_aimed = round % 2 == 0 && !deed.starts_with("export");
        let strike = if is_aimed {
            Strike::Writing(&path, Duration::from_micros(chance.below(time / 8)))
        } else {
            Strike::After(Duration::from_micros(time / 4 + chance.below(time * 7 / 10)))
        };
        let killed = kill(start(&folder, &arguments), &strike);
        let now = Issued::of(&path);
        now.still_holds(&before);
        files_are_whole(&folder);
        // How busy the machine is changes: aimed so that most are struck, and late.
        if !is_aimed {
            usual.insert(deed, if killed.was_killed { time * 11 / 10 } else { time * 8 / 10 });
        }
        if killed.was_killed {
            struck += 1;
            began += usize::from(now != before);
        } else {
            ended += 1;
            assert!(ends_well(&arguments, killed.code, &killed.complained), "{arguments:?}: {}", killed.complained);
        }
        // What was acknowledged is there: a run that says its number is done, and so are its codes.
        if let Some(run) =
            killed.said.lines().find_map(|line| line.strip_prefix("run ")?.split(';').next()?.parse().ok())
        {
            assert!(now.done.contains(&run), "run {run}");
            assert!(
                now.letters.values().any(|place| place.starts_with(&format!("{new}/"))) || deed.starts_with("reprint")
            );
        }
        before = now;
        // The same again goes through.
        if round % 10 == 0 {
            done(&folder, &arguments);
            let now = Issued::of(&path);
            now.still_holds(&before);
            before = now;
        }
    }
    // In the end every circuit has its own code and every end its letter.
    folder.write("loom.csv", &all);
    folder.done(&["tags", "--all", "--work", "--no-proof"]);
    let after = Issued::of(&path);
    after.still_holds(&before);
    let places: BTreeSet<&String> = after.letters.values().collect();
    assert_eq!(places.len(), all.lines().count() - 1);
    println!(
        "{deeds:?}: killed {struck} times, {began} of these behind a change of the register; {ended} had ended before"
    );
    assert_eq!(struck, wanted, "{ended} had ended before they were killed");
}

/// Whether a program that was let end has ended well; what is assigned is not assigned again.
fn ends_well(arguments: &[String], code: Option<i32>, told: &str) -> bool {
    matches!(code, Some(0 | 1)) || arguments[0] == "assign" && told.contains("already")
}

/// Lets the program end, which it must do well; how long that took, in microseconds.
#[track_caller]
fn done(folder: &JobFolder, arguments: &[String]) -> u64 {
    let began = Instant::now();
    let answer = start(folder, arguments).wait_with_output().expect("ends");
    let told = String::from_utf8_lossy(&answer.stderr);
    assert!(ends_well(arguments, answer.status.code(), &told), "{arguments:?}: {told}");
    began.elapsed().as_micros() as u64
}

/// A blank that belongs to nothing yet.
fn blank(path: &Path) -> Option<String> {
    let register = Connection::open(path).expect("opens");
    let sql = "SELECT code FROM blank WHERE code NOT IN (SELECT code FROM assignment) LIMIT 1";
    register.query_row(sql, [], |row| row.get(0)).ok()
}

/// A damaged or lost register that is put together again, killed while that goes on: the next time it is.
#[test]
#[expect(clippy::print_stdout, reason = "the counts are asked for with --nocapture")]
fn an_import_that_is_killed_is_done_the_next_time() {
    let folder = small_job();
    let mut list = format!("{HEAD}{}", rows("J0"));
    folder.done(&["tags", "--all", "--work", "--no-proof"]);
    folder.done(&["export"]);
    for connector in ["J1", "J2"] {
        list.push_str(&rows(connector));
        folder.write("loom.csv", &list);
        folder.done(&["tags", "--all", "--work", "--no-proof", "--connector", connector]);
    }
    let path = folder.path().join("register.db");
    let before = Issued::of(&path);
    let whole = folder.bytes("register.db");
    let began = Instant::now();
    folder.done(&["import"]);
    let time = began.elapsed().as_micros() as u64 * 2;
    let mut chance = Scattered(0x5441_4753);
    let mut struck = 0;
    for round in 0..kills(200) / 4 {
        for beside in ["", "-wal", "-shm"] {
            let _ = fs::remove_file(format!("{}{beside}", path.display()));
        }
        if round % 2 == 0 {
            folder.write("register.db", &whole[..whole.len() / 2]);
        }
        let strike = Strike::After(Duration::from_micros(chance.below(time)));
        let killed = kill(start(&folder, &["import".to_owned()]), &strike);
        struck += usize::from(killed.was_killed);
        assert!(killed.was_killed || killed.code == Some(0), "{}", killed.complained);
        // Until it is there again, no code is issued.
        if killed.was_killed && !folder.path().join("register.db").exists() {
            folder.run(&["tags", "--all", "--work", "--no-proof"]).ends_with(2).says("`loomtag import`");
        }
        folder.done(&["import"]);
        let now = Issued::of(&path);
        assert!(before.codes.iter().all(|(code, number)| now.codes.get(code) == Some(number)));
        assert_eq!(now.letters, before.letters);
        for (_, aside) in fs::read_dir(folder.path()).expect("listed").flatten().map(|e| (e.file_name(), e.path())) {
            if aside.to_string_lossy().contains("register-damaged-") {
                fs::remove_file(aside).expect("removed");
            }
        }
    }
    println!("import: killed {struck} times of {}", kills(200) / 4);
}

/// Twenty programs issue codes in one register at once, each for circuits of its own, and others read meanwhile.
#[test]
fn twenty_programs_at_once_wait_for_one_another() {
    let shared = small_job();
    shared.done(&["tags", "--all", "--work", "--no-proof"]);
    let path = shared.path().join("register.db");
    let folders: Vec<JobFolder> = (1..=20)
        .map(|n| {
            let list = format!("{HEAD}{}", rows(&format!("J{n}")));
            let folder = JobFolder::with(&[("job.toml", "title = \"Marsh Hen bench\"\n"), ("loom.csv", &list)]);
            std::os::unix::fs::symlink(&path, folder.path().join("register.db")).expect("is linked");
            folder
        })
        .collect();
    let arguments = ["tags", "--all", "--work", "--no-connectors", "--no-proof"].map(str::to_owned);
    let writers: Vec<Child> = folders.iter().map(|folder| start(folder, &arguments)).collect();
    let questions = [["find", "J0/1"], ["find", "J0-2"], ["check", "--brief"]];
    for question in questions.iter().cycle().take(9) {
        shared.done(question);
    }
    for writer in writers {
        let answer = writer.wait_with_output().expect("ends");
        assert!(answer.status.success(), "{}", String::from_utf8_lossy(&answer.stderr));
    }
    let issued = Issued::of(&path);
    assert_eq!((issued.codes.len(), issued.letters.len()), (63, 63));
    assert_eq!(issued.done, (1..=21).collect());
    let mut printed = BTreeSet::new();
    for folder in &folders {
        let run = folder.names().into_iter().find(|name| name.ends_with("/run.json")).expect("is printed");
        printed
            .extend(folder.tags(run.strip_suffix("/run.json").expect("it ends so")).iter().map(crate::kit::Tag::name));
    }
    assert_eq!(printed.len(), 60);
}

/// Whether a name space of one's own can be had, with file systems of one's own in it.
fn has_name_spaces() -> bool {
    cfg!(target_os = "linux")
        && Command::new("unshare").args(["-rm", "true"]).status().is_ok_and(|status| status.success())
}

/// A shell script in a name space of its own; `$0` is the program.
fn in_name_space(folder: &JobFolder, script: &str) -> (Option<i32>, String, String) {
    let output = Command::new("unshare")
        .args(["-rm", "sh", "-c", script, env!("CARGO_BIN_EXE_loomtag")])
        .current_dir(folder.path())
        .output()
        .expect("unshare runs");
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (output.status.code(), text(&output.stdout), text(&output.stderr))
}

/// The job itself on disks of many sizes, all too small: the disk is told to be full, nothing is half there, and with room
/// the same command gives what it would have given.
#[test]
fn a_job_on_a_full_disk() {
    if !has_name_spaces() {
        return;
    }
    let folder = small_job();
    let reference = small_job();
    reference.done(&["tags", "--all", "--work"]);
    let wanted = Issued::of(&reference.path().join("register.db"));
    let mut full = 0;
    for kib in (16..=360).step_by(24) {
        let script = format!(
            "mkdir -p disk back && mount -t tmpfs -o size={kib}k tmpfs disk && cp job.toml loom.csv disk/ || exit 9
             \"$0\" tags --all --work --job disk; echo \"ended $?\"; ls -A disk disk/prints/* 2>/dev/null
             \"$0\" note --help >/dev/null 2>&1 && [ -s disk/register.db ] && \"$0\" note FQGB done cut --job disk
             mount -o remount,size=10m disk
             \"$0\" tags --all --work --job disk || exit 8
             cp disk/register.db back/; cp disk/register.db-wal back/ 2>/dev/null; exit 0"
        );
        let (code, out, err) = in_name_space(&folder, &script);
        assert_eq!(code, Some(0), "{kib} KiB:\n{out}{err}");
        if out.contains("ended 2") {
            full += 1;
            assert!(err.contains("is full") || err.contains("o space left"), "{kib} KiB: {err}");
            assert!(err.contains("help: make room on the disk"), "{kib} KiB: {err}");
            let listed = out.split("ended 2").nth(1).and_then(|rest| rest.split("work-").next()).expect("is listed");
            assert!(!listed.contains(".pdf") && !listed.contains(".loomtag-"), "{kib} KiB: {out}");
        } else {
            assert!(out.contains("ended 0"), "{kib} KiB:\n{out}{err}");
        }
        let issued = Issued::of(&folder.path().join("back/register.db"));
        assert_eq!((&issued.codes, &issued.letters), (&wanted.codes, &wanted.letters), "{kib} KiB");
    }
    assert!(full >= 5, "{full} were full");
}

/// An export on a full disk is not there at all.
#[test]
fn an_export_on_a_full_disk() {
    if !has_name_spaces() {
        return;
    }
    let folder = small_job();
    folder.done(&["tags", "--all", "--work", "--no-proof"]);
    let script = "mkdir disk && mount -t tmpfs -o size=24k tmpfs disk && \"$0\" export disk/copy; code=$?; ls -A disk; exit $code";
    let (code, out, err) = in_name_space(&folder, script);
    assert_eq!((code, out.as_str()), (Some(2), ""), "{err}");
    assert!(err.contains("o space left") && err.contains("help: make room"), "{err}");
}

/// A job on a medium that is write-protected, of today and of version 1 of the tables: what only reads goes on, what would
/// write says so.
#[test]
fn a_job_that_may_only_be_read() {
    if !has_name_spaces() {
        return;
    }
    let folder = small_job();
    folder.done(&["tags", "--all", "--work"]);
    let found = folder.done(&["find", "J0/1"]).out;
    for version in ["4", "1"] {
        if version == "1" {
            to_version_1(&folder.path().join("register.db"));
        }
        let script = "mount --bind . . && cd \"$PWD\" && mount -o remount,ro,bind . || exit 9
            touch probe 2>/dev/null && exit 8
            \"$0\" find J0/1 && \"$0\" check --brief && \"$0\" scan prints/run-0001/*.pdf >/dev/null && echo read || exit 7
            for words in 'tags --all' 'join FQGB RTCQ --sure' 'note FQGB done cut'; do
                \"$0\" ${words%% *} --help >/dev/null 2>&1 || continue
                echo \"$words\" >&2; \"$0\" $words >&2; echo \"ended $?\" >&2
            done";
        let (code, out, err) = in_name_space(&folder, script);
        assert_eq!(code, Some(0), "version {version}:\n{out}{err}");
        assert!(out.starts_with(&found) && out.ends_with("read\n"), "{out}");
        assert!(!err.contains("ended 0") && !err.contains("ended 1") && err.contains("ended 2"), "{err}");
        assert_eq!(err.matches("ended 2").count(), err.matches("cannot be written to").count(), "{err}");
        assert_eq!(
            err.matches("ended 2").count(),
            err.matches("help: see that you may write to the job folder").count()
        );
    }
    // Where it may be written to, an older register is brought up to date by whoever opens it.
    assert_eq!(folder.done(&["find", "J0/1"]).out, found);
    assert_eq!(version(&folder.path().join("register.db")), 4);
}

fn version(path: &Path) -> i64 {
    let register = Connection::open(path).expect("opens");
    register.pragma_query_value(None, "user_version", |row| row.get(0)).expect("reads")
}

/// Takes away what later versions have added.
fn to_version_1(path: &Path) {
    let register = Connection::open(path).expect("opens");
    for table in [
        "decision",
        "note",
        "assignment",
        "blank",
        "renaming",
        "printed_connector_tag",
        "sheet_label",
        "sheet_mark",
        "sheet",
    ] {
        register.execute_batch(&format!("DROP TABLE {table}")).expect("drops");
    }
    register.pragma_update(None, "user_version", 1).expect("is set");
    let mode: String = register.pragma_update_and_check(None, "journal_mode", "WAL", |row| row.get(0)).expect("is set");
    assert_eq!(mode, "wal");
}
