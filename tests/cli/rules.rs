//! Rules: the actions of many ends at once, and who decided what.

use crate::kit::JobFolder;

const CHART: &str = "\
connector,cavity,circuit,function,colour,supply,action,branch,note
J5,1,C1,cruise set,GN,signal,,cab,
J5,2,C2,horn feed,RD,constant,keep,cab,
J5,3,C3,shield,GNYE,,,cab,
J6,1,C4,horn relay,RD/WH,,,dash,
J6,2,C5,spare,BK,ground,?,dash,cruise control wire
";
const RULES: &str = "\
[[rule]]
action = \"cut\"
word = \"cruise\"

[[rule]]
action = \"remove\"
connector = [\"J5\", \"J6\"]
";

#[test]
fn rules_decide_what_rows_leave_open_and_check_tells_which() {
    let folder = JobFolder::with(&[("job.toml", RULES), ("loom.csv", CHART)])
        .and("connectors.csv", "connector,action\nJ6,reserve\n");
    let told = folder.done(&["check"]);
    told.says("5 ends: 2 cut, 1 keep, 2 remove")
        .says("job.toml:2        word cruise -> cut            2 ends  J5 1, J6 1")
        .says_nothing_of("rule-without-effect");
}

#[test]
fn a_rule_decides_which_tags_are_made() {
    let folder = JobFolder::with(&[("job.toml", RULES), ("loom.csv", CHART)]);
    folder.done(&["tags", "--work", "--no-connectors"]);
    let places: Vec<String> = folder.tags("prints/run-0001").iter().map(crate::kit::Tag::place).collect();
    assert_eq!(places, ["J5/1", "J6/2"], "what is cut by a rule gets its tag, what is removed none");
    folder.done(&["find", "J5/1"]).says("plan: cut (by rule 1 of job.toml)");
    folder.done(&["find", "J6/2"]).says("plan: cut (by rule 1 of job.toml; its row says undecided)");
    let json = folder.done(&["check", "--json"]).json();
    assert_eq!(json["decisions"][1]["connectors"], serde_json::json!({ "J5": 1, "J6": 1 }));
}

#[test]
fn rules_that_decide_nothing_are_told_at_their_line() {
    let rules = "[[rule]]\naction = \"cut\"\nconnector = \"J7\"\n[[rule]]\naction = \"keep\"\ncolour = \"PK\"\n";
    let folder = JobFolder::with(&[("job.toml", rules), ("loom.csv", CHART)]);
    folder
        .done(&["check", "--brief"])
        .says("job.toml:2:10: warning[unknown-rule-connector]: no list has a connector `J7`; did you mean `J")
        .says("job.toml:5:10: warning[rule-without-effect]: the rule `colour PK -> keep` decides nothing");
}
