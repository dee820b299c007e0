//! Own words of job.toml, from the file to the answers.

use crate::kit::JobFolder;

const JOB: &str = r#"title = "Marsh Hen bench"

[[list]]
file = "maker.csv"
branch = "ENGINE"
[list.words.colour]
BL = "BU"
SB = "BU"
[list.words.action]
x = "keep"

[[list]]
file = "other.csv"
blank_connector = "above"

[words.action]
del = "remove"
x = "cut"
"" = "reserve"

[words.kind]
Dose = "fuse box"
"#;
const MAKER: &str =
    "connector,cavity,circuit,colour,size,action\nJ1,1,E1,BL/WH,0.5,x\nJ1,2,E2,SB,0.5,del\nJ1,3,E3,RD,0.5,\n";
const OTHER: &str = "connector,cavity,circuit,colour,size,action\nJ2,1,E1,BU/WH,0.5,x\n,2,E2,BL,0.5,\n,3,E3,RD,0.5,?\n";
const CONNECTORS: &str = "connector,kind,case\nJ2,Dose,same\n";

fn job() -> JobFolder {
    JobFolder::with(&[("job.toml", JOB), ("maker.csv", MAKER), ("other.csv", OTHER), ("connectors.csv", CONNECTORS)])
}

#[test]
fn own_words_mean_what_job_toml_says() {
    let folder = job();
    let told = folder.done(&["check", "--brief"]).out;
    assert!(told.contains("6 ends: 1 cut, 1 keep, 1 remove, 2 reserve, 1 undecided"), "{told}");
    assert!(told.contains("job.toml:7:1: warning[colours-blurred]: `BL` and `SB` both become blue"), "{told}");
    // What one list's letters mean is nothing to the other list.
    assert!(told.contains("other.csv:3:7: warning[unknown-colour]: `BL`"), "{told}");
    folder.done(&["find", "E1"]).says("BU/WH (blue, white stripe), `BL/WH` in the list").says("branch ENGINE");
    folder.done(&["find", "BL/WH"]).says("J1/1");
    folder.done(&["find", "E3"]).says("reserve").says("[[list]] of job.toml");
    assert!(folder.done(&["find", "E1", "--json"]).out.contains("\"colour_in_list\": \"BL/WH\""));
}

#[test]
fn a_meaning_that_is_none_is_told_at_its_line() {
    let folder = job();
    let wrong = JOB
        .replace("x = \"cut\"", "x = \"cutt\"")
        .replace("SB = \"BU\"", "SB = \"sky\"")
        .replace("\"fuse box\"", "\"box of fuses\"")
        .replace("[words.kind]", "[words.kinds]");
    folder.write("job.toml", wrong);
    let told = folder.run(&["check", "--brief"]).ends_with(1).out;
    for line in [
        "job.toml:8:6: error[unknown-word]: `SB` cannot be `sky`",
        "job.toml:18:5: error[unknown-word]: `x` cannot be `cutt`; did you mean `cut`?",
        "job.toml:21:8: error[unknown-setting]: [words] has no setting `kinds`; did you mean `kind`?",
    ] {
        assert!(told.contains(line), "{line}\n{told}");
    }
}
