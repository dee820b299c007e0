//! `export` and `import`: the register out and back, lost ones put together again, and what is told of it.

use std::collections::BTreeMap;
use std::fs;

use crate::kit::{Answer, JobFolder, SMALL_LIST, Tag};

const PRINT: [&str; 4] = ["tags", "--all", "--no-connectors", "--no-proof"];

fn printed() -> JobFolder {
    let folder = JobFolder::small();
    folder.done(&PRINT);
    folder
}

/// Every tag's name by place and kind of tag, as the next run prints it.
fn names(folder: &JobFolder, run: &str) -> BTreeMap<(String, String), String> {
    folder.done(&[&PRINT[..], &["--out", run]].concat());
    let tag = |tag: &Tag| ((tag.place(), tag.file.clone()), tag.name());
    folder.tags(run).iter().map(tag).collect()
}

fn lose(folder: &JobFolder) {
    fs::remove_file(folder.path().join("register.db")).expect("removed");
}

/// Files of a folder with their bytes.
fn files(folder: &JobFolder, name: &str) -> BTreeMap<String, Vec<u8>> {
    let inside = |path: &String| path.strip_prefix(&format!("{name}/")).map(str::to_owned);
    folder
        .names()
        .iter()
        .filter_map(inside)
        .map(|file| (file.clone(), folder.bytes(&format!("{name}/{file}"))))
        .collect()
}

/// About.csv says when; all else must be the same.
fn all_but_the_time(mut files: BTreeMap<String, Vec<u8>>) -> BTreeMap<String, Vec<u8>> {
    let about = files.get_mut("about.csv").expect("is there");
    let text = String::from_utf8(about.clone()).expect("is UTF-8");
    *about = text.lines().filter(|line| !line.starts_with("exported at")).collect::<Vec<_>>().join("\n").into_bytes();
    files
}

#[test]
fn an_export_comes_back_exactly() {
    let folder = printed();
    folder.done(&["join", "FQGB", "RTCQ", "--sure"]);
    folder.done(&["export", "one"]).says("one: 5 codes, 7 ends of wires, 1 print run").says("another disk");
    let (one, register) = (files(&folder, "one"), folder.bytes("register.db"));
    assert!(one["code.csv"].starts_with("\u{feff}code,number,circuit,standing,issued_at\r\n".as_bytes()));
    folder.done(&["import", "one"]).says("nothing to do").says("5 codes, 1 print run");
    assert_eq!(folder.bytes("register.db"), register, "it stays as it is");

    // Into a folder without anything, and into one whose register is still empty.
    let other = JobFolder::empty();
    for (name, bytes) in &one {
        other.write(&format!("copy/{name}"), bytes);
    }
    let answer = other.done(&["import", "copy"]).says("read the export `copy` of 2").says("holds 5 codes, 1 print run");
    answer.says("the next code is UMCE").says_nothing_of("left out");
    other.done(&["export", "two"]);
    assert_eq!(all_but_the_time(files(&other, "two")), all_but_the_time(one.clone()));
    other.write("register.db", "");
    other.done(&["import", "copy", "--json"]).json()["changed"]
        .as_bool()
        .filter(|changed| *changed)
        .expect("is filled");
    other.done(&["export", "three"]);
    assert_eq!(all_but_the_time(files(&other, "three")), all_but_the_time(one));
}

#[test]
fn an_export_is_written_whole_into_a_folder_of_its_own() {
    let folder = JobFolder::small();
    folder.run(&["export"]).ends_with(2).says("no code was issued").says("help: ");
    folder.done(&PRINT);
    folder.done(&["export"]);
    folder.done(&["export"]);
    assert_eq!(fs::read_dir(folder.path().join("exports")).expect("listed").count(), 2);
    folder.write("taken/list.csv", "mine");
    folder.run(&["export", "taken"]).ends_with(2).says("`taken` is there already").says("help: ");
    folder.run(&["export", "loom.csv"]).ends_with(2).says("`loom.csv` is there already");
    assert_eq!(folder.bytes("taken/list.csv"), b"mine");
    folder.run(&["export", "loom.csv/inside"]).ends_with(2).says("help: ");
    assert!(folder.names().iter().all(|name| !name.contains(".loomtag-")), "{:?}", folder.names());
    let told = folder.done(&["export", "told", "--json"]).json();
    assert_eq!((&told["rows"]["code"], &told["rows"]["note"]), (&5.into(), &0.into()));
}

/// Words of the lists that a spreadsheet would run, OWASP's own examples among them, end up behind an apostrophe.
#[test]
fn formulas_in_lists_are_texts_in_the_export() {
    let list = "connector,cavity,circuit,function,colour,action,diameter\n\
                J1,1,=1+2,@SUM(A1),+RD,cut,2\nJ1,2,\"=1+2\"\";=1+2\",-12 V,-,cut,2\nJ1,3,'E3,'quoted,BU,cut,2\n";
    let folder = JobFolder::small().and("loom.csv", list);
    folder.run(&[&PRINT[..], &["--skip-problems"]].concat());
    folder.done(&["export", "one"]);
    let mut cells = 0;
    for (name, bytes) in files(&folder, "one") {
        let text = String::from_utf8(bytes).expect("is UTF-8");
        for cell in text.trim_start_matches('\u{feff}').split([',', '\n', '\r', ';']) {
            cells += 1;
            assert!(!cell.trim_start_matches(['"', ' ']).starts_with(['=', '+', '-', '@', '\t']), "`{cell}` in {name}");
        }
    }
    assert!(cells > 100);
    let before = folder.done(&["find", "J1/2"]).out;
    lose(&folder);
    fs::remove_dir_all(folder.path().join("prints")).expect("removed");
    folder.done(&["import", "one"]);
    assert_eq!(folder.done(&["find", "J1/2"]).out, before);
}

#[test]
fn a_lost_register_is_told_and_put_together_without_arguments() {
    let folder = printed();
    let before = names(&folder, "before");
    lose(&folder);
    for arguments in [&PRINT[..], &["find", "J1/14"], &["check"], &["export"]] {
        let answer = folder.run(arguments).ends_with(2);
        answer.says("register.db` is gone or empty").says("help: `loomtag import`");
    }
    assert!(!folder.path().join("register.db").exists(), "none is begun anew");
    let answer = folder.done(&["import"]).says("no export was read").says("learnt of run 1").says("5 new codes");
    answer.says("500 codes are left out").says("what was noted, joined");
    assert_eq!(names(&folder, "after"), before);
    // A new circuit gets a code that nobody has ever had.
    folder.write("loom.csv", format!("{SMALL_LIST}J9,1,N01,new lamp,WH,0.5,,,add,,2\n"));
    let code = names(&folder, "new").into_iter().find(|((place, _), _)| place == "J9/1").expect("is there").1;
    assert!(before.values().all(|name| name[..4] != code[..4]));
    // What was printed since the export is learnt too.
    folder.done(&["export"]);
    folder.done(&["import"]).says("nothing to do");
}

#[test]
fn a_damaged_register_is_put_aside_and_rebuilt() {
    let folder = printed();
    folder.done(&["export"]);
    folder.write("loom.csv", format!("{SMALL_LIST}J9,1,N01,new lamp,WH,0.5,,,add,,2\n"));
    let before = names(&folder, "prints/run-0002");
    let whole = folder.bytes("register.db");
    for (round, damage) in [whole[..whole.len() / 2].to_vec(), vec![b'x'; 5000], Vec::new()].into_iter().enumerate() {
        folder.write("register.db", &damage);
        folder.run(&PRINT).ends_with(2).says("`loomtag import`");
        let answer = folder.done(&["import"]).says("read the export").says("learnt of run 2").says("1 new code");
        if damage.is_empty() {
            answer.says_nothing_of("was damaged");
        } else {
            let aside = format!("register-damaged-{}.db", round + 1);
            answer.says("was damaged").says(&aside).says("left out");
            assert_eq!(folder.bytes(&aside), damage, "nothing is deleted");
        }
        assert_eq!(names(&folder, &format!("after-{round}")), before);
        fs::remove_file(folder.path().join("register.db")).expect("removed");
    }
}

/// Somebody puts an old copy of the register back: codes issued since would be issued again.
#[test]
fn a_register_older_than_the_prints_learns_before_it_issues() {
    let folder = printed();
    let old = folder.bytes("register.db");
    folder.write("loom.csv", format!("{SMALL_LIST}J9,1,N01,new lamp,WH,0.5,,,add,,2\n"));
    let before = names(&folder, "prints/run-0002");
    folder.write("register.db", &old);
    folder.write("loom.csv", format!("{SMALL_LIST}J8,1,N02,another lamp,WH,0.5,,,add,,2\n"));
    folder.run(&PRINT).ends_with(2).says("knows print runs up to 1, but run 2").says("`loomtag import`");
    folder.done(&["import"]).says("learnt of run 2").says("1 new code");
    let after = names(&folder, "after");
    let code = |names: &BTreeMap<(String, String), String>, place: &str| {
        names.iter().find(|((at, _), _)| at == place).map(|(_, name)| name[..4].to_owned())
    };
    assert_ne!(code(&after, "J8/1"), code(&before, "J9/1"));
    folder.done(&["find", &code(&before, "J9/1").expect("is there")]).says("N01");
}

/// What tags of wires and connectors said is known again, so that `--changed` finds nothing to print.
#[test]
fn what_tags_said_is_learnt_too() {
    let folder = JobFolder::example();
    folder.done(&["tags", "--work", "--no-proof"]);
    let rows = |name: &str| folder.done(&["export", name, "--json"]).json()["rows"].clone();
    let before = rows("one");
    assert!(before["printed_connector_tag"].as_u64() > Some(0), "{before}");
    lose(&folder);
    fs::remove_dir_all(folder.path().join("one")).expect("removed");
    folder.done(&["import"]);
    let after = rows("two");
    for table in
        ["printed_tag", "printed_connector_tag", "print_run", "circuit", "letter", "designation", "end_of_wire"]
    {
        assert_eq!(after[table], before[table], "{table}");
    }
    folder.done(&["tags", "--work", "--changed", "--no-proof"]).says_nothing_of("run 2;");
}

/// A run.json of before there were circuits in it gives what it can: codes and letters at their places.
#[test]
fn old_records_of_runs_are_read() {
    let folder = printed();
    let before = names(&folder, "before");
    let mut record = folder.json("prints/run-0001/run.json");
    for key in ["circuits", "issued"] {
        record.as_object_mut().expect("an object").remove(key).expect("was there");
    }
    folder.write("prints/run-0001/run.json", record.to_string());
    lose(&folder);
    folder.done(&["import"]).says("learnt of run 1").says("5 new codes");
    assert_eq!(names(&folder, "after"), before);
    // From a copy of the prints elsewhere, a run, or a file.
    for from in ["prints", "prints/run-0001", "prints/run-0001/run.json"] {
        let other = JobFolder::small();
        other.write("copy/prints/run-0001/run.json", record.to_string());
        other.done(&["import", &format!("copy/{from}")]).says("5 new codes");
        assert_eq!(names(&other, "after"), before);
    }
}

#[test]
fn what_is_over_a_register_in_order_is_refused() {
    let (one, other) = (printed(), JobFolder::small());
    one.done(&["export", "copy"]);
    other.write("loom.csv", SMALL_LIST.replace("E14", "E15"));
    other.done(&PRINT);
    for (name, bytes) in files(&one, "copy") {
        other.write(&format!("copy/{name}"), bytes);
    }
    let before = other.bytes("register.db");
    other
        .run(&["import", "copy"])
        .ends_with(2)
        .says("is in order")
        .says("help: import it into a job folder of its own");
    assert_eq!(other.bytes("register.db"), before);
    let empty = JobFolder::small();
    empty.run(&["import"]).ends_with(2).says("there is no export and no run.json").says("help: ");
    empty.run(&["import", "loom.csv"]).ends_with(2).says("`loom.csv`");
    assert_eq!(empty.names(), ["job.toml", "loom.csv"]);
}

#[test]
fn problems_of_an_export_are_told_at_their_cells_and_nothing_is_changed() {
    let folder = printed();
    folder.done(&["export", "copy"]);
    lose(&folder);
    let told = |answer: Answer| answer.ends_with(1).says("nothing was changed");
    let text = String::from_utf8(folder.bytes("copy/letter.csv")).expect("is UTF-8");
    folder.write("copy/letter.csv", text.replacen("FQGB,0,", "FQGB,none,", 1));
    let answer = told(folder.run(&["import", "copy"])).says("error[export-cell]").says("letter.csv:").says("`none`");
    answer.says("help: ");
    folder.write("copy/letter.csv", text.replacen("FQGB,0,", "FQGB,7,", 1));
    told(folder.run(&["import", "copy"])).says("error[export-changed]");
    folder.write("copy/letter.csv", &text[..text.len() / 2]);
    told(folder.run(&["import", "copy"]));
    fs::remove_file(folder.path().join("copy/letter.csv")).expect("removed");
    told(folder.run(&["import", "copy"])).says("error[export-incomplete]").says("`letter.csv`");
    assert!(!folder.path().join("register.db").exists());
    // A run.json that cannot be read is told, and the rest is used.
    folder.write("copy/letter.csv", &text);
    let mut endless = folder.json("prints/run-0001/run.json");
    endless["issued"] = 4_000_000_000_u32.into();
    folder.write("prints/run-0003/run.json", endless.to_string());
    folder.write("prints/run-0002/run.json", "{\n  \"run\": x");
    let answer = folder.run(&["import", "copy"]).ends_with(1).says("warning[run-not-read]").says("run.json:2:");
    answer.says("more codes than there are").says("register.db holds 5 codes");
}
