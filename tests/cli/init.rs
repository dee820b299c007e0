//! `init`: a job folder begun.

use std::fs;

use crate::kit::{JobFolder, SMALL_LIST, project};

#[test]
fn an_empty_job_can_be_checked_at_once() {
    let folder = JobFolder::empty();
    folder.done(&["init", "--job", "boat"]).says("job.toml").says("next: loomtag check --job boat");
    assert_eq!(folder.names(), ["boat", "boat/job.toml", "boat/pinout.csv"]);
    folder.done(&["check", "--job", "boat"]).says("0 circuits");
    folder.done(&["tags", "--job", "boat"]).says("no tags to print");
}

#[test]
fn lists_from_elsewhere_are_copied_in() {
    let folder = JobFolder::empty().and("charts/loom.csv", SMALL_LIST);
    folder.done(&["init", "--job", "boat", "charts/loom.csv"]).says("loom.csv");
    assert_eq!(folder.bytes("boat/loom.csv"), SMALL_LIST.as_bytes());
    folder.done(&["tags", "--job", "boat", "--dry-run"]).says("would print");
}

#[test]
fn lists_that_lie_in_the_folder_are_taken() {
    let folder = JobFolder::empty().and("loom.csv", SMALL_LIST);
    folder.done(&["init"]).says("part of the job now: loom.csv");
    assert_eq!(folder.names(), ["job.toml", "loom.csv"]);
    folder.done(&["check", "--brief"]).says("5 circuits");
}

/// Whoever takes the `#` away from any line of a new job.toml gets what the line says.
#[test]
fn every_commented_setting_is_one() {
    let folder = JobFolder::empty().and("loom.csv", SMALL_LIST);
    folder.done(&["init"]);
    let settings = String::from_utf8(folder.bytes("job.toml")).expect("text");
    // Neither the font file, nor the wordings, nor a list with such a column are there.
    let is_there = |line: &&str| !line.contains("fallback") && !line.contains("Signal no.") && !line.contains("\"mine");
    let taken: Vec<&str> =
        settings.lines().filter(is_there).map(|line| line.strip_prefix("# ").unwrap_or(line)).collect();
    let is_setting =
        |line: &&&str| line.starts_with('[') || line.split_once(" = ").is_some_and(|(key, _)| !key.contains(' '));
    let taken: Vec<&str> = taken.iter().filter(is_setting).copied().collect();
    assert!(taken.len() > 30, "{taken:#?}");
    folder.write("job.toml", taken.join("\n"));
    let answer = folder.run(&["check", "--brief"]);
    assert!(!answer.out.contains("job.toml:"), "{}", answer.out);
    folder.done(&["tags", "--dry-run"]).says("1 wrap instead of a flag");
}

#[test]
fn the_example_is_the_one_of_the_project() {
    let folder = JobFolder::empty();
    folder.done(&["init", "--example", "--job", "boat"]);
    let example = project().join("examples/marsh-hen");
    let names = fs::read_dir(&example).expect("listed").map(|entry| entry.expect("listed").file_name());
    let mut names: Vec<String> = names.map(|name| name.to_string_lossy().into_owned()).collect();
    names.retain(|name| [".csv", ".toml", ".md"].iter().any(|end| name.ends_with(end)));
    names.sort();
    let written: Vec<String> =
        folder.names().iter().filter_map(|name| name.strip_prefix("boat/").map(str::to_owned)).collect();
    assert_eq!(written, names);
    for name in &names {
        assert_eq!(folder.bytes(&format!("boat/{name}")), fs::read(example.join(name)).expect("read"), "{name}");
    }
}

#[test]
fn nothing_that_exists_is_overwritten() {
    let folder = JobFolder::small();
    let before = folder.bytes("job.toml");
    for arguments in [&["init"][..], &["init", "--example"], &["init", "loom.csv"]] {
        folder.run(arguments).ends_with(2).says("is a job folder already");
    }
    assert_eq!((folder.bytes("job.toml"), folder.names().len()), (before, 2));

    let folder = JobFolder::empty().and("helm.csv", "mine");
    folder.run(&["init", "--example"]).ends_with(2).says("helm.csv").says("not overwritten");
    assert_eq!((folder.bytes("helm.csv"), folder.names().len()), (b"mine".to_vec(), 1));
}

#[test]
fn a_missing_list_leaves_nothing_behind() {
    let folder = JobFolder::empty();
    folder.run(&["init", "--job", "boat", "nowhere.csv"]).ends_with(2).says("there is no file `nowhere.csv`");
    assert_eq!(folder.names(), Vec::<String>::new());
    folder.run(&["init", "--example", "nowhere.csv"]).ends_with(2);
}
