//! The command line, a file a verb; here what all verbs share: help, exit codes, a reader that has had enough.

mod as_built;
mod assign;
mod bench_sheets;
mod blanks;
mod changed;
mod check;
mod choosing;
mod decide;
mod explain;
mod export;
mod find;
mod fonts;
mod headers;
mod init;
mod join;
mod kinds;
mod marks;
mod note;
mod preview;
mod proof;
mod rename;
mod reprint;
mod reuse;
mod rules;
mod scan;
mod send;
mod serve;
mod sheets;
mod shopping;
mod stock;
mod tags;
mod trial;
mod whole_job;
mod wires;
mod wording;
mod words;

use std::io::Read;
use std::process::Stdio;

use crate::kit::JobFolder;

const VERBS: [&str; 21] = [
    "init", "check", "tags", "reprint", "blanks", "assign", "find", "scan", "decide", "note", "rename", "join",
    "proof", "stock", "wording", "explain", "export", "import", "send", "sheets", "reuse",
];

#[test]
fn every_verb_has_a_help_with_an_example() {
    let folder = JobFolder::empty();
    let all = folder.done(&["--help"]).out;
    for verb in VERBS {
        assert!(all.contains(&format!("\n  {verb} ")), "`--help` tells of `{verb}`");
        let help = folder.done(&[verb, "--help"]).says("Example");
        let example = format!("\n  loomtag {verb}");
        assert!(help.out.contains(&example), "an example of `{verb}`:\n{}", help.out);
        assert!(help.out.lines().all(|line| line.chars().count() <= 100), "lines are short:\n{}", help.out);
    }
}

#[test]
fn the_help_warns() {
    JobFolder::empty().done(&["--help"]).says("not proof that a circuit is dead");
}

#[test]
fn what_cannot_be_understood_ends_with_2() {
    let folder = JobFolder::small();
    for arguments in [&["label"][..], &[], &["tags", "--colour"], &["find"], &["join", "7KF4"], &["scan"]] {
        let answer = folder.run(arguments).ends_with(2);
        assert!(answer.err.contains("Usage"), "{}", answer.err);
    }
}

#[test]
fn a_folder_that_is_no_job_is_told_with_what_to_do() {
    for arguments in [&["check"][..], &["tags"], &["reprint", "7KF4"], &["find", "pump"]] {
        JobFolder::empty().run(arguments).ends_with(2).says("job.toml").says("loomtag init");
    }
    JobFolder::empty().run(&["check", "--job", "nowhere"]).ends_with(2).says("`nowhere`").says("--job");
}

/// `loomtag stock | head -1`: whoever closes the pipe has read enough.
#[test]
fn a_closed_pipe_is_success() {
    let folder = JobFolder::example();
    for arguments in [&["stock"][..], &["check"], &["check", "--json"], &["find", "ground", "--json"]] {
        let mut child =
            folder.command(arguments).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("it starts");
        let mut first = [0];
        let mut pipe = child.stdout.take().expect("it was piped");
        pipe.read_exact(&mut first).expect("it answers");
        drop(pipe);
        let ended = child.wait_with_output().expect("it ends");
        let said = String::from_utf8_lossy(&ended.stderr);
        assert!(matches!(ended.status.code(), Some(0 | 1)), "{arguments:?}: {:?} {said}", ended.status);
        assert!(!said.contains("panic") && !said.contains("ipe"), "{arguments:?}: {said}");
    }
}

#[test]
fn a_full_standard_output_is_told() {
    let Ok(full) = std::fs::File::options().write(true).open("/dev/full") else { return };
    let folder = JobFolder::small();
    let output = folder.command(&["stock"]).stdout(Stdio::from(full)).output().expect("it starts");
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("cannot write the answer"));
}

#[test]
fn another_folder_is_named_with_job() {
    let folder = JobFolder::small();
    let elsewhere = JobFolder::empty();
    let path = folder.path();
    elsewhere.done(&["check", "--brief", "--job", &path.to_string_lossy()]).says("circuits");
    elsewhere.done(&["--job", &path.to_string_lossy(), "check", "--brief"]).says("circuits");
}
