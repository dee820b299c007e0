//! `reuse`: which removed wire is for what, in words, for programs and on paper.

use serde_json::Value;

use crate::kit::{JobFolder, program, text};

const JOB: &str = "title = \"Reuse\"\n";

/// A wire to remove, wires to add, and one of which nobody knows the length.
fn folder(job: &str) -> JobFolder {
    let list = "circuit,function,from place,to place,colour,size,length,from action,to action\n\
        R1,old lamp,J1/1,X2/1,BN/WH,1.5,3000,remove,remove\n\
        R2,old horn,J1/2,X2/2,RD,1.5,,remove,remove\n\
        A1,deck lamp,J1/7,X9/1,BN,16 AWG,1000,add,add\n\
        A2,bilge alarm,J1/8,X9/2,RD,1.5,5000,add,add\n";
    JobFolder::with(&[("job.toml", job), ("wires.csv", list)])
}

fn matches(json: &Value) -> Vec<(String, String, f64)> {
    let each = json["matches"].as_array().expect("matches").iter();
    let circuit = |side: &Value| text(&side["wire"]["circuit"]);
    each.map(|one| (circuit(&one["removed"]), circuit(&one["wanted"]), one["cut_mm"].as_f64().expect("mm"))).collect()
}

#[test]
fn the_answer_in_words() {
    let answer = folder(JOB).done(&["reuse"]).out;
    let expected = "\
1 of 2 wanted wires can be had from 2 wires to remove, with 100 mm slack at each end

use again, and do not pull before this is settled:
  removed wire  is            long     wanted        cut to   left
  J1/1 to X2/1  BN/WH 1.5 mm²  3000 mm  J1/7 to X9/1  1200 mm  1800 mm
      leave this one in at J1: there it moves to the wanted cavity
      base colour as wanted, other stripe
      1.5 mm² beside 16 AWG, which is 1.31 mm² (ASTM B258)
";
    let spaces = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(spaces(&answer).starts_with(&spaces(expected)), "{answer}");
    for told in [
        "J1/8 to X9/2, RD 1.5 mm², 5000 mm; may be:",
        "measure the wire: it does from 5200 mm on",
        "RD 1.5 mm²  5.2 m     J1/8 to X9/2; measure first",
        "left for stock:",
        "`loomtag tags --removed`",
    ] {
        assert!(answer.contains(told), "{told}\n{answer}");
    }
}

/// The job's slack, and the one that is typed, which goes before it.
#[test]
fn slack_is_the_jobs_or_what_is_typed() {
    let job = folder("[reuse]\nslack = 150\n");
    let cut = |arguments: &[&str]| matches(&job.done(&[&["reuse", "--json"], arguments].concat()).json())[0].2;
    assert_eq!((cut(&[]), cut(&["--slack", "0"]), cut(&["--slack", "20,5"])), (1300.0, 1000.0, 1041.0));
    job.run(&["reuse", "--slack=-3"]).ends_with(2).says("no wire has a slack of -3 mm");
    job.run(&["reuse", "--slack", "much"]).ends_with(2);
    folder("[reuse]\nslack = -1\nlength = 3\n")
        .run(&["reuse"])
        .ends_with(1)
        .says("unknown-setting")
        .says("length-out-of-range");
}

/// Only what is wanted in a connector or branch; a name that is none is told with what may be meant.
#[test]
fn wants_are_chosen_by_connector_and_branch() {
    let job = JobFolder::example();
    let all = matches(&job.done(&["reuse", "--json"]).json());
    assert!(all.len() >= 4, "{all:?}");
    let at_k2 = matches(&job.done(&["reuse", "--connector", "k2", "--json"]).json());
    assert_eq!(at_k2, [("M22".to_owned(), "M04".to_owned(), 1600.0)]);
    let helm = matches(&job.done(&["reuse", "--branch", "helm", "--json"]).json());
    assert!(!helm.is_empty() && helm.len() < all.len(), "{helm:?}");
    job.run(&["reuse", "--connector", "K22"]).ends_with(2).says("no list names a connector `K22`").says("did you mean");
    job.run(&["reuse", "--branch", "HLEM"]).ends_with(2).says("no list names a branch `HLEM`");
}

/// Nothing of an airbag is offered, whatever else would do.
#[test]
fn the_example_offers_nothing_of_a_restraint_circuit() {
    let job = JobFolder::example();
    let json = job.done(&["reuse", "--json"]).json();
    let offered = text(&json["matches"].to_string().into())
        + &json["left_for_stock"].to_string()
        + &json["measure_first"].to_string();
    for circuit in ["\"C40\"", "\"C41\"", "\"C42\"", "\"M27\""] {
        assert!(!offered.contains(circuit), "{circuit}");
    }
    let left_out = json["left_out"].to_string();
    assert!(left_out.contains("\"C40\"") && left_out.contains("restraint"), "{left_out}");
    // The blower's wire stays in the fuse box with one end, and one wire of the old engine is cut for two.
    let of = |circuit: &str| {
        let all = json["matches"].as_array().expect("matches").iter();
        all.filter(|one| text(&one["removed"]["wire"]["circuit"]) == circuit).cloned().collect::<Vec<_>>()
    };
    assert_eq!((of("C67")[0]["leave_in"].as_bool(), of("M22").len()), (Some(true), 2));
}

/// Codes stand there once they are issued; what the bench noted counts.
#[test]
fn tags_and_notes_are_told() {
    let job = folder(JOB);
    job.done(&["reuse"]).says_nothing_of("for     ");
    job.done(&["tags", "--all", "--work"]);
    let json = job.done(&["reuse", "--json"]).json();
    let tag = text(&json["matches"][0]["removed"]["wire"]["tag"]);
    assert!(tag.ends_with(" A-B"), "{tag}");
    assert!(job.done(&["reuse"]).out.contains(&format!("  {tag}  J1/1 to X2/1")));
    job.done(&["note", "J1/1", "done", "pulled"]);
    let pulled = job.done(&["reuse", "--json"]).json();
    let one = &pulled["matches"][0];
    assert_eq!((one["leave_in"].as_bool(), one["notes"][0].as_str()), (Some(false), Some("pulled already at J1/1")));
    job.done(&["note", "X2/1", "done", "cut"]);
    let cut = job.done(&["reuse", "--json"]).json();
    assert!(matches(&cut).is_empty());
    assert!(cut["measure_first"].to_string().contains("it does from 1200 mm on"), "{cut}");
    job.done(&["note", "J1/1", "found", "damaged"]);
    assert!(job.done(&["reuse"]).out.contains("found damaged (note 3)"));
    job.done(&["note", "J1/7", "done", "added"]);
    assert_eq!(job.done(&["reuse", "--json"]).json()["to_buy"].as_array().map(Vec::len), Some(1));
}

/// A row that cannot be read may be the other end of a wire.
#[test]
fn nothing_is_matched_while_errors_stand() {
    let job = folder(JOB).and("more.csv", "connector,cavity,circuit,action\nJ9,,R1,keep\nJ9,1,R9,keep\n");
    job.run(&["reuse"]).ends_with(1).says("nothing is matched while errors stand");
    assert!(job.run(&["reuse", "--json"]).ends_with(1).json()["problems"].is_array());
}

#[test]
fn the_sheet_says_the_same() {
    let job = JobFolder::example();
    job.done(&["sheets", "--only", "reuse", "--out", "reuse.pdf"]);
    let page = program("pdftotext", &["-layout", &job.path().join("reuse.pdf").to_string_lossy(), "-"]);
    for told in
        ["4 of 7 wanted wires", "settle this before any of them is pulled", "measure these first", "left for stock"]
    {
        assert!(page.contains(told), "{told}\n{page}");
    }
    // Wires are not matched on paper otherwise than in the answer.
    let tags: Vec<String> = job.done(&["reuse", "--json"]).json()["matches"]
        .as_array()
        .expect("matches")
        .iter()
        .map(|one| text(&one["removed"]["wire"]["tag"]))
        .collect();
    assert!(tags.iter().all(|tag| page.contains(tag.as_str())), "{tags:?}\n{page}");
}

/// Whoever works by the list of a connector must not pull what shall be used again.
#[test]
fn the_work_list_names_what_is_proposed() {
    let folder = JobFolder::example();
    folder.done(&["sheets", "--connector", "FB1,H1"]);
    let pdf = folder.path().join("sheets/bench-FB1-H1.pdf");
    let words = program("pdftotext", &["-layout", &pdf.to_string_lossy(), "-"]);
    assert!(words.contains("REUSE proposes it to lead on from FB1/12: leave this one in at FB1"), "{words}");
    assert!(words.contains("REUSE proposes it to lead on from XB4/G to K2/86"), "{words}");
}
