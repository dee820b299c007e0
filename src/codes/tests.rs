//! Trials of what keeps the register: export and import, print runs learnt from, registers of older versions, damaged files.

use std::collections::HashSet;
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use proptest::prelude::*;
use rusqlite::Connection;

use super::export::{self, ExportFile};
use super::failure::RegisterFailure;
use super::print_run::{Outcome, PrintedTag, Spot};
use super::rebuild::{RecordedRun, issued_in_damaged};
use super::register::Register;
use super::samples::{NOW, circuit, circuits};
use super::tables::{Column, Kind, Value};
use super::{import, mint, schema};
use crate::base::{Checked, EndLetter, Problem, TagCode};
use crate::circuits::Circuits;

fn code(n: u32) -> TagCode {
    mint::nth(n).expect("a code")
}

/// A row or more in every table that has rules of its own, and texts of every sort that a spreadsheet or a CSV reader may stumble over.
const SAMPLE: &str = "
    INSERT INTO circuit VALUES (1), (7);
    INSERT INTO code VALUES ('FQGB', 0, 1, 'printed', '2026-05-30T08:00:00Z'), ('RTCQ', 1, 1, 'also', '2026-05-30T08:00:00Z'),
        ('8GMK', 2, NULL, 'printed', '2026-05-30T08:00:00.5Z'), ('3V86', 3, 7, 'printed', '2026-05-30T08:00:00Z');
    INSERT INTO designation VALUES ('=E14', 1, 'designated', 'current', '2026-05-30T08:00:00Z'),
        ('J1/01', 1, 'by place', 'former', '2026-05-30T08:00:00Z'), ('''07', 7, 'designated', 'current', '2026-05-30T08:00:00Z');
    INSERT INTO end_of_wire VALUES (1, 1, 'J1', '01', 'BU/WH', 'X3/2', 0), (2, 1, '@J2', '3E5', '', '', 1),
        (5, 7, 'G2', '', ' gn', '', 0);
    INSERT INTO letter VALUES ('FQGB', 0, 1, '2026-05-30T08:00:00Z'), ('RTCQ', 0, 1, '2026-05-30T08:00:00Z'),
        ('FQGB', 1, 2, '2026-05-30T08:00:00Z'), ('3V86', 0, 5, '2026-05-30T08:00:00Z');
    INSERT INTO joining VALUES (1, 'FQGB', 'RTCQ', '2026-05-30T08:00:00Z');
    INSERT INTO print_run VALUES (1, '-tags', '2026-05-30T08:00:00Z'), (2, 'tags \"x\", y; z', '2026-05-30T08:00:00Z');
    INSERT INTO print_run_outcome VALUES (1, 'done', '2026-05-30T08:00:00Z');
    INSERT INTO printed_tag VALUES (1, 1, 'FQGB', 'A', 'J1/01', 'flag', 'x', '+12 V' || char(10) || '-' || char(13, 9) || '@', NULL),
        (2, 1, 'FQGB', 'A+B', 'J1/01', 'flag', '', '', ''), (3, 2, '3V86', 'A', 'G2', 'flag', 'Größe', '''', '=1+2\";=1+2');
    INSERT INTO note VALUES (1, 'FQGB', 0, 'done', 'cut', '', NULL, NULL, NULL, '2026-05-30T08:00:00Z'),
        (2, 'FQGB', NULL, 'text', '', '=1+2''\" ;,=1+2', '3V86', 0, 1, '2026-05-30T08:00:00Z');
    INSERT INTO blank VALUES ('8GMK', 'printed', '2026-05-30T08:00:00Z');
    INSERT INTO renaming VALUES (1, 'FQGB', 'E1', '=E14', '2026-05-30T08:00:00Z');
    INSERT INTO printed_connector_tag VALUES (1, 1, 'J1', 'flag', 'x', '|=1', NULL), (2, 1, 'J1', 'flag', 'x', '', '＝1');
    INSERT INTO sheet VALUES (1, 'a4-65-38x21'), (12, '=x');
    INSERT INTO sheet_label VALUES (1, 1, 65, 1, 'FQGB A', 'flag'), (2, 12, 1, 1, '-1', 'Größe');
    INSERT INTO sheet_mark VALUES (1, 'spoilt', 1, 1, 65, NULL, '2026-05-30T08:00:00Z'),
        (2, 'unprinted', 0, NULL, NULL, 1, '2026-05-30T08:00:00Z');
    INSERT INTO decision VALUES (1, 1, 'FQGB', 0, 'action', 'cut', NULL, '2026-05-30T08:00:00Z'),
        (2, 1, '3V86', 0, 'note', '=1+2', NULL, '2026-05-30T08:00:00Z'), (3, 1, 'FQGB', 1, 'note', '', NULL, '2026-05-30T08:00:00Z'),
        (4, 2, 'FQGB', 0, 'action', NULL, 1, '2026-05-30T08:00:00Z');
";

fn sample() -> Register {
    let register = Register::in_memory().expect("in memory");
    register.connection.execute_batch(SAMPLE).expect("inserts");
    for table in register.tables().expect("reads").into_iter().filter(|table| table.rows.is_empty()) {
        for row in [0, 1] {
            let values: Vec<Value> = table.shape.columns.iter().map(|column| simple(&register, column, row)).collect();
            super::tables::insert(&register.connection, &table.shape, &values)
                .unwrap_or_else(|error| panic!("write rows of `{}` into the sample: {error}", table.shape.name));
        }
    }
    register
}

/// A value that a column takes, in the second row nothing where that may be: enough for tables without rules of their own.
fn simple(register: &Register, column: &Column, row: i64) -> Value {
    match (&column.refers_to, column.kind) {
        _ if row == 1 && column.may_be_nothing => Value::Nothing,
        (Some((table, to)), _) => {
            let tables = register.tables().expect("reads");
            let other = tables.iter().find(|other| other.shape.name == *table).expect("is there");
            other.rows[0][other.column(to).expect("is there")].clone()
        }
        (None, Kind::Number) => Value::Number(row + 1),
        (None, Kind::Text) => Value::Text("=1+2".to_owned()),
    }
}

fn exported(register: &Register) -> Vec<ExportFile> {
    export::write(&register.tables().expect("reads"), NOW)
}

fn imported(files: Vec<ExportFile>) -> Checked<Option<import::Import>> {
    import::read(files).expect("there is memory")
}

/// What is told of these files, `code.csv:2:3 export-cell`.
fn told(files: Vec<ExportFile>) -> Vec<String> {
    let read = imported(files);
    assert_eq!(read.value.is_none(), read.has_errors());
    let line = |problem: &Problem| {
        assert!(problem.remedy.is_some());
        let at = problem.origin.as_ref().map(ToString::to_string).unwrap_or_default();
        format!("{at} {}", problem.id).trim().to_owned()
    };
    read.problems.iter().map(line).collect()
}

fn file<'f>(files: &'f mut [ExportFile], name: &str) -> &'f mut ExportFile {
    files.iter_mut().find(|file| file.name == name).expect("is written")
}

/// The text of a file with something else in it.
fn changed(name: &str, from: &str, to: &str) -> Vec<ExportFile> {
    let mut files = exported(&sample());
    let file = file(&mut files, name);
    let text = String::from_utf8(file.bytes.clone()).expect("is UTF-8");
    assert!(text.contains(from), "{text}");
    file.bytes = text.replacen(from, to, 1).into_bytes();
    files
}

/// The same, and about.csv does not say what was written.
fn meant(name: &str, from: &str, to: &str) -> Vec<ExportFile> {
    let mut files = changed(name, from, to);
    let about = file(&mut files, "about.csv");
    let text = String::from_utf8(about.bytes.clone()).expect("is UTF-8");
    let table = name.strip_suffix(".csv").expect("a table");
    let lines = text.lines().map(|line| match line.strip_prefix(&format!("{table},")) {
        Some(_) => format!("{table},,\r\n"),
        None => format!("{line}\r\n"),
    });
    about.bytes = lines.collect::<String>().into_bytes();
    files
}

/// Every table there is has rows in the sample, and every column that may hold nothing holds both: one that is forgotten
/// when the schema grows fails here, and what is not forgotten comes back.
#[test]
fn every_table_and_column_comes_back() {
    let register = sample();
    let tables = register.tables().expect("reads");
    for table in &tables {
        assert!(!table.rows.is_empty(), "the sample has no row in `{}`", table.shape.name);
        for (at, column) in table.shape.columns.iter().enumerate().filter(|(_, column)| column.may_be_nothing) {
            let nothing = table.rows.iter().filter(|row| row[at] == Value::Nothing).count();
            assert!(
                0 < nothing && nothing < table.rows.len(),
                "the sample of `{}` in `{}`",
                column.name,
                table.shape.name
            );
        }
    }
    let files = exported(&register);
    assert_eq!(files.len(), tables.len() + 1);
    let read = imported(files.clone());
    assert_eq!(read.problems, []);
    let import = read.value.expect("is whole");
    assert_eq!(import.exported, NOW);
    assert_eq!(import.register.tables().expect("reads"), tables);
    assert_eq!(exported(&import.register), files);
    // And into a file.
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("register.db");
    let mut file = Register::open(&path).expect("opens");
    assert!(file.fill(&tables).expect("fills"));
    assert!(!file.fill(&tables).expect("is not empty any more"));
    assert_eq!(exported(&file), files);
}

#[test]
fn an_export_reads_well_in_a_spreadsheet() {
    let mut files = exported(&sample());
    let names: Vec<String> = files.iter().map(|file| file.name.clone()).collect();
    assert!(names[1..].is_sorted() && names[0] == "about.csv" && names.contains(&"code.csv".to_owned()));
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).expect("is UTF-8");
    let tags = text(&file(&mut files, "printed_tag.csv").bytes);
    let mut lines = tags.split("\r\n");
    assert_eq!(lines.next(), Some("\u{feff}number,run,code,letters,place,kind,stock,words,payload"));
    // OWASP, "CSV Injection": its example `=1+2";=1+2`, and a lone apostrophe.
    assert!(
        tags.contains("\r\n3,2,3V86,A,G2,flag,Größe,'','=1+2\"\";'=1+2\"\r\n") || tags.contains("\"'=1+2\"\";'=1+2\""),
        "{tags}"
    );
    let about = text(&file(&mut files, "about.csv").bytes);
    assert!(about.starts_with("\u{feff}what,value,check\r\nwritten by,loomtag "), "{about}");
    assert!(about.contains(&format!("\r\nexported at,{NOW},\r\n")) && about.contains("\r\ncode,4,fnv1a "), "{about}");
}

#[test]
fn what_is_wrong_in_an_export_is_told_at_its_cell() {
    let without = |name: &str| exported(&sample()).into_iter().filter(|file| file.name != name).collect::<Vec<_>>();
    assert_eq!(told(Vec::new()), ["not-an-export"]);
    assert_eq!(told(without("about.csv")), ["not-an-export"]);
    assert_eq!(told(without("note.csv")), ["export-incomplete"]);
    let newer = format!("version of the tables,{}", schema::VERSION + 1);
    let version = format!("version of the tables,{}", schema::VERSION);
    assert_eq!(told(changed("about.csv", &version, &newer)), ["about.csv:3:23 export-newer"]);
    assert_eq!(told(changed("about.csv", &version, "version of the tables,x")), ["about.csv:3:23 export-cell"]);
    assert_eq!(told(changed("about.csv", "exported at,1", "exported at,x1")), ["about.csv:4:13 export-cell"]);
    assert_eq!(told(changed("about.csv", "what,", "which,")), ["about.csv:1:1 not-an-export"]);
    assert_eq!(told(changed("about.csv", "note,", "notes,")), ["about.csv export-incomplete"]);
    assert_eq!(told(changed("code.csv", "code,number", "number,code")), ["code.csv:1:1 export-columns"]);
    // A spreadsheet has saved it: the cavity has lost its zero.
    assert!(told(changed("end_of_wire.csv", "J1,01,", "J1,1,"))[0].ends_with("export-changed"));
    assert_eq!(told(meant("end_of_wire.csv", "J1,01,", "J1,1,")), [""; 0]);
    assert!(told(changed("circuit.csv", "7\r\n", ""))[0].ends_with("export-incomplete"));
    assert_eq!(told(changed("letter.csv", "FQGB,1,", "FQGB,one,")), ["letter.csv:4:6 export-cell"]);
    assert_eq!(told(changed("letter.csv", "FQGB,1,2,", "FQGB,1,2,3,")), ["letter.csv:4:12 export-row"]);
    // What is meant must make sense all the same.
    assert_eq!(told(meant("letter.csv", "FQGB,1,2", "FQGB,1,3")), ["letter.csv:4:8 export-row"]);
    assert_eq!(told(meant("code.csv", "8GMK,2", "8GMK,4")), ["code.csv:3:1 export-cell"]);
    assert_eq!(told(meant("renaming.csv", "1,FQGB", "1,HJGZ")), ["renaming.csv:2:3 export-row"]);
    assert_eq!(told(meant("note.csv", ",cut,", ",cut,\"never\r\nclosed")).len(), 1);
    assert_eq!(told(meant("blank.csv", "printed", "painted")), ["blank.csv:2:1 export-row"]);
    assert_eq!(told(meant("circuit.csv", "7\r\n", "7\r\n1\r\n")), ["circuit.csv:4:1 export-row"]);
    assert_eq!(told(meant("end_of_wire.csv", "5,7,G2", "5,7,")), ["export-row"], "an end needs a place");
    let mut files = exported(&sample());
    file(&mut files, "joining.csv").bytes[30] = 0xff;
    assert_eq!(told(files), ["joining.csv:1:28 not-an-export"]);
}

/// An export of version 1, which had no notes and no blanks, becomes a register of today.
#[test]
fn an_export_of_an_older_version_is_brought_up_to_date() {
    let old = at_version_1(Connection::open_in_memory().expect("in memory"));
    let transaction = old.unchecked_transaction().expect("begins");
    let tables = super::tables::read(&transaction, Path::new("old")).expect("reads");
    let mut files = export::write(&tables, NOW);
    let about = file(&mut files, "about.csv");
    let text = String::from_utf8(about.bytes.clone()).expect("is UTF-8");
    let version = format!("version of the tables,{}", schema::VERSION);
    about.bytes = text.replace(&version, "version of the tables,1").into_bytes();
    let read = imported(files);
    assert_eq!(read.problems, []);
    assert_is_of_today(&read.value.expect("is whole").register);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn any_text_comes_back(
        texts in prop::collection::vec(prop_oneof!["[-=+@'\";,| \t\r\na1＝]{0,12}", "\\PC{0,12}", Just("\0".to_owned())], 4),
        payload in prop::option::of("[=' a]{0,3}"),
    ) {
        let register = sample();
        let insert = "INSERT INTO printed_tag VALUES (9, 1, 'FQGB', 'A', ?1, ?2, ?3, ?4, ?5)";
        register.connection.execute(insert, (&texts[0], &texts[1], &texts[2], &texts[3], &payload)).expect("inserts");
        let read = imported(exported(&register));
        prop_assert_eq!(&read.problems, &[]);
        prop_assert_eq!(read.value.expect("is whole").register.tables().expect("reads"), register.tables().expect("reads"));
    }

    /// Whatever happens to a byte of an export: it is told, or it made no difference.
    #[test]
    fn a_damaged_export_is_told_or_read_rightly(which in any::<prop::sample::Index>(), at in any::<prop::sample::Index>(), to in any::<u8>()) {
        let register = sample();
        let mut files = exported(&register);
        let which = which.index(files.len());
        let bytes = &mut files[which].bytes;
        let at = at.index(bytes.len());
        if to % 7 == 0 { bytes.truncate(at) } else { bytes[at] = to }
        let is_about = files[which].name == "about.csv";
        let read = imported(files);
        match read.value {
            Some(import) if !is_about => prop_assert_eq!(import.register.tables().expect("reads"), register.tables().expect("reads")),
            Some(_) => {}
            None => prop_assert!(read.problems.iter().any(|problem| problem.remedy.is_some())),
        }
    }
}

/// A register as version 1 of the program has made it.
fn at_version_1(mut connection: Connection) -> Connection {
    schema::migrate_to(&mut connection, 1).expect("migrates");
    connection
        .execute_batch(
            "INSERT INTO circuit VALUES (1), (2);
             INSERT INTO code VALUES ('FQGB', 0, 1, 'printed', '2026-05-30T08:00:00Z'), ('RTCQ', 1, 2, 'printed', '2026-05-30T08:00:00Z');
             INSERT INTO designation VALUES ('E14', 1, 'designated', 'current', '2026-05-30T08:00:00Z'),
                 ('J2/1', 2, 'by place', 'current', '2026-05-30T08:00:00Z');
             INSERT INTO end_of_wire VALUES (1, 1, 'J1', '14', 'BU', '', 0), (2, 2, 'J2', '1', '', '', 0);
             INSERT INTO letter VALUES ('FQGB', 0, 1, '2026-05-30T08:00:00Z'), ('RTCQ', 0, 2, '2026-05-30T08:00:00Z');
             INSERT INTO print_run VALUES (1, 'tags', '2026-05-30T08:00:00Z');
             INSERT INTO printed_tag VALUES (1, 1, 'FQGB', 'A', 'J1/14', 'flag', 'x', 'rail pressure', NULL);",
        )
        .expect("inserts");
    assert_eq!(schema::standing(&connection), Ok(schema::Standing::Register(1)));
    connection
}

fn assert_is_of_today(register: &Register) {
    register.examine().expect("is in order");
    assert_eq!(schema::standing(&register.connection), Ok(schema::Standing::Register(schema::VERSION)));
    assert_eq!(register.codes().expect("reads"), [code(0), code(1)]);
    assert_eq!(register.history(code(0)).expect("reads")[0].tag.words, ["rail pressure"]);
    let lists = circuits([circuit("E14", &["J1/14 BU"]), circuit("J2/1", &["J2/1"]), circuit("E2", &["J3/1"])]);
    let codes: Vec<TagCode> = register.preview(&lists).expect("previews").circuits.iter().map(|c| c.code).collect();
    let mut sorted = codes;
    sorted.sort_by_key(|code| mint::number(*code));
    assert_eq!(sorted, [code(0), code(1), code(2)]);
}

fn scratch() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("register.db");
    (folder, path)
}

/// A reader of a register of version 1 need not do anything: it is brought up to date, or read as a copy where that may not be.
#[test]
fn an_older_register_is_read_and_brought_up_to_date() {
    let (_folder, path) = scratch();
    drop(at_version_1(Connection::open(&path).expect("opens")));
    let connection = Connection::open(&path).expect("opens");
    assert_is_of_today(&Register::copied(&connection, &path, 1).expect("is copied"));
    assert_eq!(schema::standing(&connection), Ok(schema::Standing::Register(1)), "the copy changes nothing");
    drop(connection);
    assert_is_of_today(&Register::open_to_read(&path).expect("reads"));
    assert_is_of_today(&Register::open(&path).expect("opens"));
}

fn many(count: usize) -> Circuits {
    circuits((0..count).map(|n| circuit(&format!("W{n}"), &[&format!("J1/{n} BN"), &format!("X{n}/2 BN")])))
}

#[expect(clippy::disallowed_methods, reason = "the test damages files on purpose")]
fn read(path: &Path) -> Vec<u8> {
    std::fs::read(path).expect("reads")
}

#[expect(clippy::disallowed_methods, reason = "the test damages files on purpose")]
fn write(path: &Path, bytes: &[u8]) {
    for beside in ["-wal", "-shm"] {
        let _ = std::fs::remove_file(format!("{}{beside}", path.display()));
    }
    std::fs::write(path, bytes).expect("is written");
}

/// Bytes flipped, pages emptied or exchanged, the end cut off, at many places of a register: it is read rightly, or it is
/// damaged and says what to do; never does it panic or issue a code that was issued before.
#[test]
fn damage_is_noticed_and_no_code_is_issued_twice() {
    const PAGE: usize = 4096;
    let (_folder, path) = scratch();
    let mut register = Register::open(&path).expect("opens");
    let lists = many(60);
    register.issue(&lists, NOW).expect("issues");
    let run = register.begin_run(NOW, "tags").expect("begins");
    register.record(run, &[printed(code(3), "rail pressure")]).expect("records");
    register.end_run(run, Outcome::Done, NOW).expect("ends");
    let issued: HashSet<TagCode> = register.codes().expect("reads").into_iter().collect();
    drop(register);
    let whole = read(&path);
    let pages = whole.len() / PAGE;
    let mut harms: Vec<(String, Vec<u8>)> = Vec::new();
    let mut harm = |what: String, change: &dyn Fn(&mut Vec<u8>)| {
        let mut bytes = whole.clone();
        change(&mut bytes);
        harms.push((what, bytes));
    };
    // A step without a common factor with the page meets every part of a page.
    for at in (0..whole.len()).step_by((whole.len() / 331) | 1) {
        harm(format!("byte {at} flipped"), &|bytes| bytes[at] ^= 0x41);
    }
    for at in 0..100 {
        harm(format!("byte {at} of the head"), &|bytes| bytes[at] ^= 0xff);
    }
    for page in 0..pages {
        harm(format!("page {page} empty"), &|bytes| bytes[page * PAGE..(page + 1) * PAGE].fill(0));
        harm(format!("page {page} in place of its neighbour"), &|bytes| {
            bytes.copy_within(page * PAGE..(page + 1) * PAGE, (page + 1) % pages * PAGE);
        });
        harm(format!("cut off behind page {page}"), &|bytes| bytes.truncate((page + 1) * PAGE));
        harm(format!("cut off within page {page}"), &|bytes| bytes.truncate(page * PAGE + 100));
    }
    let (mut noticed, mut harmless) = (0, 0);
    for (what, bytes) in harms {
        write(&path, &bytes);
        let answer = Register::open(&path).and_then(|mut register| {
            let codes = register.codes()?;
            assert!(codes.iter().all(|code| issued.contains(code)), "{what}: codes are invented");
            let more = register.issue(&many(61), NOW)?;
            Ok((register, more))
        });
        match answer {
            Err(failure) => {
                noticed += 1;
                let is_told = match &failure {
                    RegisterFailure::Damaged { .. } | RegisterFailure::NotARegister { .. } => {
                        failure.remedy().contains("`loomtag import`")
                    }
                    RegisterFailure::Newer { .. } => what.contains("of the head"),
                    // A byte of the head may say that nobody is to write, or which size its pages have.
                    _ => !failure.remedy().is_empty() && (what.contains("of the head") || what.starts_with("byte")),
                };
                assert!(is_told, "{what}: {failure:?}");
                let _ = issued_in_damaged(&path);
            }
            Ok((register, more)) => {
                harmless += 1;
                let all: HashSet<TagCode> = register.codes().expect("reads").into_iter().collect();
                assert!(all.is_superset(&issued), "{what}: codes are lost");
                let new = more.circuits.iter().filter(|circuit| !issued.contains(&circuit.code)).count();
                assert_eq!(all.len(), issued.len() + new, "{what}");
            }
        }
    }
    assert!(noticed > 100 && harmless > 20, "{noticed} noticed, {harmless} without harm");
}

fn printed(code: TagCode, words: &str) -> PrintedTag {
    PrintedTag {
        code,
        letters: vec![EndLetter::FIRST],
        spot: Spot::End,
        place: "J1/3".to_owned(),
        kind: "flag".to_owned(),
        stock: "x".to_owned(),
        words: vec![words.to_owned()],
        payload: None,
    }
}

fn run(number: u32, register: &Register, tags: Vec<PrintedTag>) -> RecordedRun {
    RecordedRun {
        number,
        what: "tags".to_owned(),
        planned: NOW,
        issued: Some(register.issued_count().expect("reads")),
        circuits: register.recorded(None).expect("reads"),
        blanks: Vec::new(),
        tags,
        connector_tags: Vec::new(),
        sheets: Vec::new(),
    }
}

#[test]
fn a_register_is_learnt_from_its_runs() {
    let mut register = Register::in_memory().expect("in memory");
    let one = circuits([circuit("J1/14", &["J1/14 BN"]), circuit("X3/2", &["X3/2"]), circuit("W3", &["J1/3"])]);
    register.issue(&one, NOW).expect("issues");
    let first = run(1, &register, vec![printed(code(1), "one")]);
    let two = circuits([circuit("RPS", &["J1/14 BN", "X3/2 BN"]), circuit("W3", &["J1/3"])]);
    let issued = register.issue(&two, NOW).expect("issues");
    register.join(issued.circuits[0].code, issued.circuits[1].code, NOW).expect("joins");
    let second = run(2, &register, vec![printed(code(1), "two")]);

    let mut rebuilt = Register::in_memory().expect("in memory");
    let learnt = rebuilt.learn(&first).expect("learns");
    assert_eq!((learnt.codes, learnt.letters, learnt.is_new_run), (3, 3, true));
    rebuilt.learn(&second).expect("learns");
    assert_eq!(rebuilt.learn(&first).expect("learns"), super::rebuild::Learnt::default());
    rebuilt.examine().expect("is in order");
    assert_eq!(rebuilt.records().expect("reads"), register.records().expect("reads"));
    assert_eq!(rebuilt.preview(&two).expect("previews"), register.preview(&two).expect("previews"));
    assert_eq!(rebuilt.history(code(1)).expect("reads").len(), 2);
    assert_eq!(rebuilt.runs().expect("reads").len(), 2);

    // Codes that may have been issued are never issued again.
    assert_eq!(rebuilt.take_out_below(6, NOW).expect("takes out"), 3);
    let more = circuits([circuit("W9", &["J9/1"])]);
    assert_eq!(rebuilt.issue(&more, NOW).expect("issues").circuits[0].code, code(6));
}

/// The first run records all, a reprint what is on its tags, and the next one that finds something new all again.
#[test]
fn a_run_records_what_no_run_has_recorded() {
    let mut register = Register::in_memory().expect("in memory");
    let at = |second: i64| Timestamp::from_second(second).expect("a time");
    let mut recorded = |second: i64, count: usize, outcome: Outcome| {
        register.issue(&many(count), at(second)).expect("issues");
        let run = register.begin_run(at(second), "tags").expect("begins");
        let circuits = register.recorded_by_run(&[code(1)]).expect("reads");
        register.end_run(run, outcome, at(second)).expect("ends");
        circuits.len()
    };
    assert_eq!(recorded(10, 3, Outcome::Done), 3);
    assert_eq!(recorded(20, 3, Outcome::Done), 1);
    assert_eq!(recorded(30, 4, Outcome::Failed), 4);
    assert_eq!(recorded(40, 4, Outcome::Done), 4);
    assert_eq!(recorded(50, 4, Outcome::Done), 1);
}

#[test]
fn a_code_of_two_registers_is_told_and_left_as_it_is() {
    let of = |name: &str, place: &str| {
        let mut register = Register::in_memory().expect("in memory");
        register.issue(&circuits([circuit(name, &[place])]), NOW).expect("issues");
        register
    };
    let (mut one, other) = (of("E14", "J1/14"), of("E20", "J7/1"));
    let before = one.records().expect("reads");
    let mut strange = run(5, &other, vec![printed(code(0), "of the other")]);
    strange.circuits.push(super::recorded::RunCircuit { code: "7KF5".to_owned(), ..strange.circuits[0].clone() });
    let learnt = one.learn(&strange).expect("learns");
    assert_eq!(learnt.contradicted, [(code(0), "E20".to_owned())]);
    assert_eq!(learnt.no_codes, ["7KF5"]);
    assert_eq!(one.records().expect("reads"), before);
}

#[test]
fn a_blank_of_a_run_stays_a_blank() {
    let mut register = Register::in_memory().expect("in memory");
    let mut first = run(1, &register, Vec::new());
    first.blanks = vec![code(0), code(1)];
    assert_eq!(register.learn(&first).expect("learns").codes, 2);
    assert_eq!((register.codes_in_use().expect("reads"), register.issued_count().expect("reads")), (2, 2));
    register.examine().expect("is in order");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// Records of runs are files that anybody may have changed: whatever they say, the register stays in order.
    #[test]
    fn any_record_of_a_run_is_answered(
        codes in prop::collection::vec(prop_oneof![(0_u32..6).prop_map(|n| code(n).to_string()), "[A-Z2-9]{0,6}"], 1..6),
        letters in prop::collection::vec("[A-F]{0,2}|\\PC{0,2}", 1..6),
        places in prop::collection::vec("(J[1-3])?", 1..6),
        names in prop::collection::vec("(E[1-4])?| ", 1..6),
        numbers in prop::collection::vec(0_u32..4, 1..5),
    ) {
        let mut register = Register::in_memory().expect("in memory");
        let pick = |of: &[String], at: usize| of[at % of.len()].clone();
        for (round, &number) in numbers.iter().enumerate() {
            let circuits = (round..round + 3).map(|at| super::recorded::RunCircuit {
                code: pick(&codes, at),
                also: vec![pick(&codes, at + 1)],
                names: vec![super::recorded::RunName { name: pick(&names, at), by_place: at % 2 == 0, former: at % 3 == 0 }],
                ends: vec![super::recorded::RunEnd {
                    tags: vec![format!("{} {}", pick(&codes, at), pick(&letters, at)), pick(&letters, at)],
                    connector: pick(&places, at),
                    cavity: pick(&letters, at + 1),
                    colour: String::new(),
                    far: String::new(),
                    ordinal: 0,
                }],
            });
            let run = RecordedRun {
                number,
                what: String::new(),
                planned: Timestamp::UNIX_EPOCH,
                issued: None,
                circuits: circuits.collect(),
                blanks: vec![code(number)],
                tags: vec![printed(code(number), "")],
                connector_tags: Vec::new(),
                sheets: Vec::new(),
            };
            register.learn(&run).expect("learns");
            // As an import does: a text of letters may be a code far down the row.
            let next = register.issued_count().expect("reads").max(8);
            register.take_out_below(next, NOW).expect("takes out");
            register.examine().expect("is in order");
        }
    }
}
