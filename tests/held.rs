//! A job held in memory tells what one that is read now tells, whatever other programs do to register and lists meanwhile.

use loomtag::run::{Held, Snapshot};

use crate::kit::JobFolder;

/// All that pages look at.
fn told(job: &Snapshot) -> Vec<String> {
    let codes = job.issued.circuits.iter().map(|codes| {
        let found = job.recall.by_code(codes.code, None);
        format!("{codes:?}: {found:?}, {:?}", job.recall.assigned(codes.code))
    });
    let mut all: Vec<String> = codes.collect();
    all.extend(job.records.iter().map(|record| format!("{record:?}")));
    let mut every: Vec<String> = job.codes.iter().map(ToString::to_string).collect();
    every.sort();
    all.push(every.join(" "));
    all.extend(job.recall.unassigned().map(|blank| format!("{blank:?}")));
    all.extend(job.problems().map(|problem| format!("{} {}", problem.id, problem.message)));
    all.extend(job.connectors().iter().map(|connector| format!("{connector:?}")));
    all.extend(job.planning().all().iter().map(|end| format!("{end:?}")));
    all.push(format!("{:?} {:?}", job.worked, job.decisions.all().len()));
    for words in ["J1/14", "rail", "FQGB", "E14", "blue"] {
        all.push(format!("{:?}", job.recall.find(&[words.to_owned()])));
    }
    all
}

#[test]
fn what_is_held_is_what_is_read_now() {
    let job = JobFolder::small();
    let list = String::from_utf8(job.bytes("loom.csv")).expect("is UTF-8");
    let held = Held::new(job.path());
    let compare = |after: &str| {
        let (held, now) = (held.snapshot().expect("reads"), Held::new(job.path()).snapshot().expect("reads"));
        for (one, other) in told(&held).iter().zip(&told(&now)) {
            assert_eq!(one, other, "after {after}");
        }
        assert_eq!(told(&held).len(), told(&now).len(), "after {after}");
    };
    compare("nothing");
    let round: [&[&str]; 15] = [
        &["blanks", "3"],
        &["tags", "--connector", "J1", "--work"],
        &["note", "J1/14", "done", "tagged"],
        &["stock", "unprinted", "2"],
        &["note", "J1/14", "done", "cut"],
        &["note", "J1/14", "found", "place", "J2/9"],
        &["assign", "FQGB", "J2/3"],
        &["tags", "--all"],
        &["rename", "E14", "S14"],
        &["decide", "J1/14", "keep"],
        &["note", "--instead", "3", "text", "not so"],
        &["decide", "--undo"],
        &["assign", "RTCQ", "J1/1"],
        &["stock", "unprinted", "3"],
        &["tags", "--work", "--copies", "2"],
    ];
    for words in round {
        job.run(words);
        compare(&words.join(" "));
    }
    job.write("loom.csv", list.replace("J2,3", "J2,7"));
    compare("a list that was changed");
    job.run(&["tags", "--all"]);
    job.write("loom.csv", &list);
    compare("the list as it was");
    for words in [["join", "RTCQ", "FQGB"], ["rename", "J2/3", "J2/8"], ["note", "FQGB", "done"]] {
        job.run(&words);
        compare(&words.join(" "));
    }
    let last = held.snapshot().expect("reads");
    assert!(last.recall.notes().all().len() >= 4 && last.decisions.all().len() >= 2 && !last.records.is_empty());
}
