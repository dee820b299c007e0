//! `tags`: a print run.

use std::collections::BTreeSet;

use crate::kit::{JobFolder, Tag, text};

fn places(tags: &[Tag]) -> BTreeSet<String> {
    tags.iter().map(Tag::place).collect()
}

#[test]
fn the_example_prints_and_every_symbol_reads_back() {
    let folder = JobFolder::example();
    let mut answer = folder.done(&["tags"]);
    let tags = folder.tags("prints/run-0001");
    let symbols: usize = tags.iter().map(Tag::symbols).sum();
    assert!(symbols > 100, "{symbols}");
    let files: BTreeSet<&str> = tags.iter().map(|tag| &*tag.file).collect();
    assert!(files.iter().any(|file| file.starts_with("work-a4-24-64x34")), "{files:?}");
    assert!(files.iter().filter(|file| file.starts_with("final-tube-")).count() >= 3, "{files:?}");
    assert!(files.contains("final-a4-paper-strips.pdf"), "{files:?}");
    for file in files {
        let on_it: usize = tags.iter().filter(|tag| tag.file == file).map(Tag::symbols).sum();
        answer = answer.says(&if on_it > 0 {
            format!("{on_it} of {on_it} symbols read back")
        } else {
            "no symbols".to_owned()
        });
        assert!(folder.bytes(&format!("prints/run-0001/{file}")).starts_with(b"%PDF-1.7"));
    }
    answer
        .says("made for a wire of 3 mm, because the diameter is not known")
        .says("no final tag: the wire's diameter is not known")
        .says("print at 100 %")
        .says("disconnect every battery, negative first; tag both sides, then cut between the tags")
        .says("no mark does not mean dead: test")
        .says("LIVE WITH BATTERY ON at an end that comes free: cap it at once");
}

#[test]
fn run_json_tells_every_tag() {
    let folder = JobFolder::example();
    let answer = folder.done(&["tags", "--json"]);
    assert_eq!(answer.err, "", "a program reads one answer and no asides");
    let (told, record) = (answer.json(), folder.json("prints/run-0001/run.json"));
    assert_eq!((&record["run"], text(&record["title"])), (&told["run"], "Marsh Hen repower".to_owned()));
    let (files, told_files) = (record["files"].as_array().unwrap(), told["files"].as_array().unwrap());
    assert_eq!(files.len(), told_files.len());
    for (file, told) in files.iter().zip(told_files) {
        let tags = file["tags"].as_array().unwrap();
        assert_eq!(told["tags"], tags.len());
        assert_eq!(file["pages"], told["pages"]);
        let symbols: usize = tags.iter().map(|tag| tag["symbols"].as_array().unwrap().len()).sum();
        assert_eq!((&told["symbols"]["expected"], &told["symbols"]["read"]), (&symbols.into(), &symbols.into()));
        let mut page = 1;
        for tag in tags {
            let on = tag["page"].as_u64().unwrap();
            assert!(on == page || on == page + 1, "tags come in the order of the pages");
            page = on;
        }
        assert_eq!(file["pages"], page, "the last page carries a tag");
    }
    let names: BTreeSet<(String, String)> =
        folder.tags("prints/run-0001").iter().map(|tag| (tag.file.clone(), tag.name())).collect();
    assert_eq!(names.len(), folder.tags("prints/run-0001").len(), "no tag is printed twice");
}

/// By default the ends that lose their housing and the far ends of those wires; pulled ends only on request.
#[test]
fn the_selection_is_the_one_of_the_trade() {
    let folder = JobFolder::small();
    folder.done(&["tags", "--work"]);
    assert_eq!(places(&folder.tags("prints/run-0001")), BTreeSet::from(["J1/1", "J1/14", "J2/3"].map(String::from)));
    folder.done(&["tags", "--work", "--removed"]);
    assert!(places(&folder.tags("prints/run-0002")).contains("J2/5"));
    folder.done(&["tags", "--work", "--all"]);
    assert_eq!(folder.tags("prints/run-0003").len(), 7);
    folder.done(&["tags", "--final"]);
    let last = folder.tags("prints/run-0004");
    assert_eq!(places(&last), BTreeSet::from(["J1/1", "J1/14"].map(String::from)), "only free ends are threaded on");
    assert!(last.iter().all(|tag| tag.file.starts_with("final-")));
    folder.done(&["tags", "--connector", "j2", "--connector", "G2", "--this-end", "--all", "--work"]);
    let chosen = places(&folder.tags("prints/run-0005"));
    assert_eq!(chosen, BTreeSet::from(["G2", "J2/3", "J2/5", "J2/9"].map(String::from)));
}

#[test]
fn tags_say_what_the_list_says() {
    let folder = JobFolder::small();
    folder.done(&["tags", "--work", "--all"]);
    let tags = folder.tags("prints/run-0001");
    let at = |place: &str| tags.iter().find(|tag| tag.place() == place).unwrap_or_else(|| panic!("{place}"));
    let live = at("J1/1").words();
    assert_eq!(live[..2], ["LIVE WITH BATTERY ON: CAP THIS END", "glow plug supply"]);
    assert!(live.iter().any(|line| line.chars().all(|c| c == '_')), "the far end is a line to write on: {live:?}");
    assert!(at("J2/5").words()[0].starts_with("OUT 1050 mm"));
    let signal = at("J1/14").words();
    assert_eq!(signal[..3], ["rail pressure signal", "J1 / 14", "J2 / 3"], "here, then there");
    let says = at("J1/14").says().unwrap();
    assert_eq!(says, format!("HTTP://MARSHHEN.LOCAL:7117/{}/A", at("J1/14").code()));
    assert_eq!(at("J2/3").code(), at("J1/14").code());
    assert!(at("J2/3").says().unwrap().ends_with("/B"));
}

#[test]
fn a_job_without_an_address_prints_text() {
    let folder = JobFolder::small().and("job.toml", "title = \"Marsh Hen\"\n");
    folder.done(&["tags", "--work"]);
    let tags = folder.tags("prints/run-0001");
    let tag = tags.iter().find(|tag| tag.place() == "J1/14").unwrap();
    assert_eq!(tag.says().unwrap(), format!("{} A RAIL PRESSURE SIGNAL J1/14-J2/3", tag.code()));
}

#[test]
fn a_rehearsal_writes_nothing_and_issues_nothing() {
    let folder = JobFolder::small();
    folder.done(&["tags", "--dry-run"]).says("would print 3 flags, 2 strips").says("nothing was issued or written");
    assert_eq!(folder.names(), ["job.toml", "loom.csv"]);
    let json = folder.done(&["tags", "--dry-run", "--json"]).json();
    assert_eq!(json["tags"], 5);
    assert_eq!(folder.names(), ["job.toml", "loom.csv"]);
}

fn with_a_mistake() -> JobFolder {
    let list = crate::kit::SMALL_LIST.replace("J2,5,E33,exhaust flap,RD/BU,1.0", "J2,5,E33,exhaust flap,RD/BU,thick");
    JobFolder::small().and("loom.csv", &list)
}

#[test]
fn nothing_is_printed_while_errors_stand() {
    let folder = with_a_mistake();
    let answer = folder.run(&["tags"]).ends_with(1);
    assert_eq!(answer.out, "");
    answer.says("loom.csv:6:").says("`thick`").says("nothing is printed while errors stand").says("--skip-problems");
    assert_eq!(folder.names(), ["job.toml", "loom.csv"]);
    let json = folder.run(&["tags", "--json"]).ends_with(1).json();
    assert_eq!(json["problems"].as_array().unwrap().iter().filter(|p| p["severity"] == "error").count(), 1);
}

#[test]
fn the_rest_is_printed_on_request_and_what_is_left_out_is_told() {
    let folder = with_a_mistake();
    let answer = folder.done(&["tags", "--all", "--work", "--skip-problems"]);
    let places = places(&folder.tags("prints/run-0001"));
    assert!(places.contains("J2/3") && !places.contains("J2/5"), "{places:?}");
    answer.says("left out, without tags: loom.csv:6");
}

#[test]
fn another_folder_for_the_pdfs_is_made() {
    let folder = JobFolder::small();
    folder.done(&["tags", "--out", "to print/today"]);
    assert!(folder.names().contains(&"to print/today/run.json".to_owned()));
    assert!(!folder.names().iter().any(|name| name.starts_with("prints")));
    assert_eq!(folder.tags("to print/today").len(), 5);
}

#[test]
fn a_connector_that_no_list_names_is_told() {
    let folder = JobFolder::small();
    folder.run(&["tags", "--connector", "J9"]).ends_with(1).says("`J9`").says_nothing_of("--all prints");
    assert_eq!(folder.names(), ["job.toml", "loom.csv"]);
}

#[test]
fn without_proof_it_is_said() {
    JobFolder::small().done(&["tags", "--work", "--no-proof"]).says("not read back");
}

#[test]
fn sleeves_only_where_a_printer_for_them_is_named() {
    let folder = JobFolder::small();
    let job = "title = \"x\"\n[tags]\nfinal = \"sleeve\"\ntubes = [\"tube-3.2-1.6\", \"tube-4.8-2.4\"]\n";
    folder.write("job.toml", job);
    folder.run(&["check", "--brief"]).ends_with(1).says("sleeve_printer");
    folder.write("job.toml", format!("{job}[sleeve_printer]\nkind = \"laser\"\n"));
    folder.run(&["check", "--brief"]).ends_with(1).says("never feed heat-shrink tube through a laser");
    folder.write("job.toml", format!("{job}[sleeve_printer]\nkind = \"thermal-transfer\"\n"));
    folder.done(&["tags", "--final"]).says("final-tube-4.8-2.4.pdf").says("final-tube-3.2-1.6.pdf");
}

/// A circuit that is called otherwise in the lists would get a second code: it is told before anything else, and before a code
/// is issued.
#[test]
fn a_likely_renaming_is_told_before_printing() {
    let folder = JobFolder::small();
    folder.done(&["tags"]).says_nothing_of("likely-rename");
    let code = folder.tags("prints/run-0001").into_iter().find(|tag| tag.place() == "J1/14").expect("printed").code();
    let list = String::from_utf8(folder.bytes("loom.csv")).expect("text");
    let circuit = list
        .lines()
        .find(|line| line.starts_with("J1,14,"))
        .expect("a row")
        .split(',')
        .nth(2)
        .expect("a circuit")
        .to_owned();
    let renamed = list.replace(&format!(",{circuit},"), ",S 99,");
    assert_ne!(list, renamed);
    let folder = folder.and("loom.csv", &renamed);
    let told = format!("circuit `S 99` is new to the register, and sits where `{circuit}` ({code}) was");
    let remedy = format!("`loomtag rename {circuit} \"S 99\"` keeps its code");
    folder.done(&["check", "--brief"]).says(&told).says(&remedy);
    folder.done(&["tags", "--dry-run"]).says("likely-rename").says(&told);
    let printed = folder.done(&["tags"]).says(&told);
    let first = printed.err.lines().next().expect("a line");
    assert!(first.contains("likely-rename"), "it is told first: {first}");
    // Now the new designation has its own code, and nothing can be saved.
    folder.done(&["check", "--brief"]).says_nothing_of("likely-rename");
}

/// However many warnings there are, those that hurt somebody are told one by one, and before the others.
#[test]
fn danger_is_told_first_and_never_only_counted() {
    let mut list = "connector,cavity,circuit,supply,action\n".to_owned();
    for cavity in 1..=20 {
        list += &format!("J1,{cavity},E{cavity},signal,keep\n");
    }
    list += "J2,1,C1,constant,cut\nJ2,2,C40,restraint,cut\n";
    let answer = JobFolder::with(&[("loom.csv", &list), ("job.toml", "")]).done(&["tags", "--no-proof"]);
    let at = |id: &str| answer.err.find(id).unwrap_or_else(|| panic!("{id} is told:\n{}", answer.err));
    assert!(at("warning[live-end-without-cap]") < at("warning[one-ended-circuit]"));
    assert!(at("warning[work-on-restraint]") < at("warning[one-ended-circuit]"));
    answer.says("one-ended-circuit,").says("more warnings: ");
}
