//! `explain`: every problem that may be told can be looked up where it is told.

use crate::kit::JobFolder;

#[test]
fn a_problem_is_explained() {
    let answer = JobFolder::empty().done(&["explain", "far-end-removed"]);
    answer
        .says("warning[far-end-removed]: a wire is used at one end and removed at the other")
        .says("`cut`")
        .says_nothing_of("**")
        .says_nothing_of("###");
    // As it stands in a message.
    for typed in ["[far-end-removed]", "warning[far-end-removed]:", "far_end_removed", "FAR-END-REMOVED"] {
        JobFolder::empty().done(&["explain", typed]).says("warning[far-end-removed]");
    }
}

#[test]
fn all_problems_are_listed() {
    let answer = JobFolder::empty().done(&["explain"]);
    for kind in loomtag::run::all_problem_kinds() {
        assert!(answer.out.contains(&format!("[{}]: {}", kind.id, kind.meaning)), "{}", kind.id);
    }
    assert!(answer.out.lines().all(|line| line.chars().count() <= 140));
    let json = JobFolder::empty().done(&["explain", "--json"]).json();
    assert_eq!(json.as_array().expect("a list").len(), loomtag::run::all_problem_kinds().count());
    let one = JobFolder::empty().done(&["explain", "unknown-action", "--json"]).json();
    assert_eq!((&one["severity"], &one["id"]), (&"error".into(), &"unknown-action".into()));
}

#[test]
fn a_problem_that_there_is_not_is_answered_with_the_nearest() {
    let answer = JobFolder::empty().run(&["explain", "far-end-remove"]);
    answer.ends_with(2).says("there is no problem `far-end-remove`").says("did you mean `far-end-removed`?");
    JobFolder::empty().run(&["explain", "xyzzy"]).ends_with(2).says("`loomtag explain` lists them all");
}

/// Every entry says more than its meaning: why it matters, or what to do.
#[test]
fn every_entry_gives_advice() {
    for kind in loomtag::run::all_problem_kinds() {
        let one = JobFolder::empty().done(&["explain", kind.id, "--json"]).json();
        assert!(one["advice"].as_str().is_some_and(|advice| advice.len() > 20), "{} has no advice", kind.id);
    }
}
