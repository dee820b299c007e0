//! What the disk, the user's files and other programs can do to a run: a clear message, a remedy, and nothing half done.

use std::process::Command;
use std::process::Stdio;

use proptest::prelude::*;

use crate::kit::{Answer, JobFolder};

/// Nothing but what was there, and the register: no half PDF, no temporary, no empty folder.
#[track_caller]
fn nothing_is_left_of_it(folder: &JobFolder) {
    let left: Vec<String> = folder
        .names()
        .into_iter()
        .filter(|name| !["job.toml", "loom.csv", "register.db", "prints"].contains(&&**name))
        .collect();
    assert_eq!(left, Vec::<String>::new());
}

#[track_caller]
fn fails_with_a_remedy(answer: Answer) -> Answer {
    let answer = answer.ends_with(2);
    let error = answer.err.lines().position(|line| line.starts_with("error: "));
    let help = answer.err.lines().position(|line| line.starts_with("help: "));
    assert!(error.is_some() && help > error, "{}", answer.err);
    assert!(!answer.err.contains("panicked") && !answer.err.contains("RUST_BACKTRACE"), "{}", answer.err);
    answer
}

#[test]
fn a_file_in_place_of_the_folder_for_pdfs() {
    let folder = JobFolder::small();
    for out in ["loom.csv", "loom.csv/today"] {
        let answer = fails_with_a_remedy(folder.run(&["tags", "--out", out]));
        answer.says(&format!("`{out}`")).says("name a folder with --out");
    }
    nothing_is_left_of_it(&folder);
    assert_eq!(folder.bytes("loom.csv"), crate::kit::SMALL_LIST.as_bytes());
}

/// Root may write anywhere but here.
#[cfg(target_os = "linux")]
#[test]
fn a_folder_that_may_not_be_written_in() {
    let folder = JobFolder::small();
    let answer = fails_with_a_remedy(folder.run(&["tags", "--out", "/sys/tags"]));
    answer.says("`/sys/tags`").says("name a folder that you may write in with --out");
    nothing_is_left_of_it(&folder);
}

/// A file system of 40 kB in a name space of its own: room for one small PDF, not for two. Where the kernel lets nobody but
/// root have one, the next test is what remains.
#[cfg(target_os = "linux")]
#[test]
fn a_full_disk() {
    let is_possible = Command::new("unshare").args(["-rm", "true"]).status().is_ok_and(|status| status.success());
    if !is_possible {
        return;
    }
    let folder = JobFolder::small();
    std::fs::create_dir(folder.path().join("out")).expect("made");
    let script = "mount -t tmpfs -o size=40k tmpfs out && { \"$0\" tags --out out; code=$?; ls -A out; exit $code; }";
    let output = Command::new("unshare")
        .args(["-rm", "sh", "-c", script, env!("CARGO_BIN_EXE_loomtag")])
        .current_dir(folder.path())
        .output()
        .expect("unshare runs");
    let (out, err) = (String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    assert_eq!(output.status.code(), Some(2), "{out}{err}");
    assert_eq!(out, "", "nothing is left on the full disk");
    assert!(err.contains("o space left") && err.contains("help: make room on the disk"), "{err}");
    assert!(!err.contains(".tmp"), "names of temporaries are nobody's business: {err}");
}

/// Every write beyond 4 kB of a file fails, as on a disk whose quota is used up.
#[cfg(target_os = "linux")]
#[test]
fn a_register_that_cannot_grow() {
    let folder = JobFolder::small();
    let script = "trap '' XFSZ; exec prlimit --fsize=4096 \"$0\" tags";
    let output = Command::new("sh")
        .args(["-c", script, env!("CARGO_BIN_EXE_loomtag")])
        .current_dir(folder.path())
        .stdin(Stdio::null())
        .output()
        .expect("sh runs");
    let err = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(2), "{err}");
    assert!(err.contains("error: the disk") && err.contains("\nhelp: ") && err.contains("full"), "{err}");
    nothing_is_left_of_it(&folder);
    // The next run, with room, begins as if nothing had been.
    folder.done(&["tags"]).says("run 1;");
}

#[test]
fn a_register_that_is_something_else() {
    let folder = JobFolder::small().and("register.db", "colour,size\nBN,0.75\n");
    for arguments in [&["tags"][..], &["find", "rail"], &["reprint", "J1/14"], &["join", "7KF4", "2AA6"]] {
        let answer = fails_with_a_remedy(folder.run(arguments));
        answer.says("register.db` is not a register of loomtag");
    }
    assert_eq!(folder.bytes("register.db"), b"colour,size\nBN,0.75\n", "it is left alone");
    nothing_is_left_of_it(&folder);
}

#[test]
fn a_register_that_is_a_folder() {
    let folder = JobFolder::small();
    std::fs::create_dir(folder.path().join("register.db")).expect("made");
    fails_with_a_remedy(folder.run(&["tags"])).says("register.db");
}

#[test]
fn a_folder_without_job_toml() {
    let folder = JobFolder::empty().and("loom.csv", crate::kit::SMALL_LIST);
    let answer = folder.run(&["tags"]).ends_with(2).says("job.toml").says("loomtag init");
    assert_eq!(answer.out, "");
    assert_eq!(folder.names(), ["loom.csv"]);
}

#[test]
fn a_list_that_is_not_there() {
    let folder = JobFolder::small().and("job.toml", "title = \"x\"\n[[list]]\nfile = \"helm.csv\"\n");
    folder.run(&["check", "--brief"]).ends_with(1).says("job.toml:3:8").says("`helm.csv`");
}

/// Lists out of a workbook saved under the wrong name, a picture, half a character, no bytes at all.
#[test]
fn lists_of_rubbish_are_told_and_the_others_are_read() {
    for rubbish in [
        &b"PK\x03\x04\x14\x00\x06\x00\x08\x00"[..],
        b"\x89PNG\r\n\x1a\n\x00\x00",
        b"",
        b"\xff\xfe",
        b"\x00\x01\x02\x03",
    ] {
        let folder = JobFolder::small();
        folder.write("rubbish.csv", rubbish);
        let answer = folder.run(&["check", "--brief"]);
        assert!(matches!(answer.code, 0 | 1), "{answer:?}");
        answer.says("rubbish.csv").says("5 circuits");
    }
}

#[test]
fn a_job_toml_of_rubbish_is_told() {
    let folder = JobFolder::small();
    folder.write("job.toml", b"\xff\xfe\x00\x01");
    let answer = folder.run(&["tags"]);
    assert!(matches!(answer.code, 1 | 2) && answer.err.contains("job.toml"), "{answer:?}");
}

#[test]
fn a_photograph_that_is_none() {
    let folder = JobFolder::small();
    folder.write("half.png", b"\x89PNG\r\n\x1a\n\x00\x00\x00\x0dIHDR\x00\x00");
    folder.write("half.pdf", b"%PDF-1.7\n1 0 obj <<");
    for file in ["half.png", "half.pdf"] {
        let answer = folder.run(&["scan", file]);
        assert!(answer.code == 2 || answer.code == 1, "{answer:?}");
        answer.says(file);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    /// Whatever lies in a job folder: an answer, never a panic.
    #[test]
    fn any_bytes_are_answered(
        list in prop::collection::vec(any::<u8>(), 0..400),
        job in prop_oneof![
            Just(None),
            prop::collection::vec(any::<u8>(), 0..200).prop_map(Some),
            "(title|\\[tags\\]|work|=|\"[a-z]{0,5}\"|[0-9.]{1,5}|\\[\\[list\\]\\]|file|\n| ){0,30}".prop_map(|text| Some(text.into_bytes())),
        ],
    ) {
        let folder = JobFolder::small();
        folder.write("a.csv", list);
        if let Some(job) = job {
            folder.write("job.toml", job);
        }
        let _ = loomtag::run::read(&folder.path());
    }

    /// Lists that look like lists, cells of all sorts.
    #[test]
    fn any_cells_are_answered(
        heads in prop::collection::vec(prop::sample::select(vec![
            "connector", "cavity", "circuit", "function", "colour", "size", "supply", "fuse", "action", "length", "diameter",
            "Stecker", "Pin", "from connector", "to connector", "from cavity", "to cavity", "note", "",
        ]), 1..9),
        cells in prop::collection::vec("[A-Z]{0,2}[0-9]{0,3}|[0-9.,-]{1,6}|(keep|cut|move to |remove)|\"?[ -~]{0,9}|[\u{80}-\u{2ff}]{1,3}", 0..60),
        separator in prop::sample::select(vec![",", ";", "\t"]),
    ) {
        let mut text = heads.join(separator);
        for row in cells.chunks(heads.len()) {
            text.push('\n');
            text.push_str(&row.join(separator));
        }
        let folder = JobFolder::small().and("loom.csv", &text);
        let read = loomtag::run::read(&folder.path()).expect("the folder can be read");
        let reading = read.value.expect("the settings are sound");
        let choice = loomtag::run::Choice::default();
        let checkup = loomtag::run::check::check(&reading, &choice, &loomtag::run::sheets::Laying::default()).expect("there is no register yet");
        prop_assert_eq!(checkup.circuits, reading.circuits.all().len());
    }
}
