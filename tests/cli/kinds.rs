//! Which kind of tag an end gets: usual, by rule, by its row; and what stands in where that fails.

use std::collections::BTreeMap;

use crate::kit::{JobFolder, Tag};

/// Thin, usual, thick and very thick wires, and one that nobody measured.
const LIST: &str = "\
connector,cavity,circuit,function,colour,size,supply,action,tag,diameter
J1,1,E65,glow plug supply,RD/BK,,constant,cut,,3.9
J1,2,E14,rail pressure signal,BU/WH,,signal,cut,,2.4
J1,3,E15,engine speed,GN,,signal,keep,,0.8
J1,4,E16,lamp,GY,,,reserve,,
B1,1,E70,starter,RD,,constant,cut,,16
B1,2,E71,ground strap,BK,,ground,cut,,18
";

fn job(settings: &str) -> JobFolder {
    JobFolder::with(&[("job.toml", settings), ("loom.csv", LIST)])
}

/// Which place's work tag lies in which file.
fn files(folder: &JobFolder) -> BTreeMap<String, String> {
    let work = |tag: &Tag| tag.file.strip_prefix("work-").map(|file| file.trim_end_matches(".pdf").to_owned());
    let tags = folder.tags("prints/run-0001");
    tags.iter().filter_map(|tag| Some((tag.place(), work(tag)?))).collect()
}

const FLAGS: &str = "a4-paper-33-60x24";
const WRAPS: &str = "a4-49-25x38-wrap13";
const PLATES: &str = "a4-paper-27-60x30-hole";

/// Each place's file, as `files` tells it.
fn at<'a>(pairs: &[(&'a str, &'a str)]) -> BTreeMap<String, String> {
    pairs.iter().map(|(place, file)| ((*place).to_owned(), (*file).to_owned())).collect()
}

#[test]
fn a_plate_stands_in_for_a_flag_on_a_wire_too_thick() {
    let folder = job("");
    let answer = folder.done(&["tags", "--work", "--no-connectors"]);
    answer
        .says("3 flags, 2 tie-ons")
        .says(
            "1 tie-on instead of a flag: a wire of 16 mm leaves faces of 2.3 mm on a label 60 mm long; a flag needs faces of 12 mm, that \
             is a label at least 79.4 mm long (",
        )
        .says("1 tie-on instead of a flag: a wire of 18 mm leaves no faces on a label 60 mm long");
    let expected = [("J1/1", FLAGS), ("J1/2", FLAGS), ("J1/4", FLAGS), ("B1/1", PLATES), ("B1/2", PLATES)];
    assert_eq!(files(&folder), at(&expected));
    let check = job("").done(&["check", "--work", "--no-connectors"]);
    check.says("instead of a flag: a wire of 16 mm leaves faces of 2.3 mm on a label 60 mm long");
    let json = job("").done(&["check", "--work", "--no-connectors", "--json"]).json();
    let kinds: Vec<_> = json["fits"].as_array().unwrap().iter().map(|fit| &fit["instead_of"]["kind"]).collect();
    assert_eq!(kinds.iter().filter(|kind| **kind == "flag").count(), 2, "{kinds:?}");
}

#[test]
fn wraps_are_usual_where_the_job_says_so_and_flags_stand_in() {
    let folder = job(&format!("[tags]\nwork = \"wrap\"\nwrap_stock = \"{WRAPS}\"\n"));
    let answer = folder.done(&["tags", "--work", "--all", "--no-connectors"]);
    answer
        .says("2 flags, 2 wraps, 2 tie-ons")
        .says("1 flag instead of a wrap: the wire's diameter is not known")
        .says("1 flag instead of a wrap: code and marks do not fit in 22.0 mm x 1.3 mm at 1.8 mm letter height; one turn round a")
        .says("1 tie-on instead of a wrap: round a wire of 16 mm a wrap needs a clear tail of 54.1 mm, and the label has 25.0 mm")
        .says("; no flag: a wire of 16 mm leaves faces of 2.3 mm");
    let files = files(&folder);
    assert_eq!((&*files["J1/1"], &*files["J1/2"], &*files["J1/3"], &*files["J1/4"]), (WRAPS, WRAPS, FLAGS, FLAGS));
}

#[test]
fn rules_choose_by_connector_action_supply_and_diameter() {
    let settings = format!(
        "[tags]\nwrap_stock = \"{WRAPS}\"\n[[kind]]\nkind = \"tie-on\"\naction = \"reserve\"\n[[kind]]\nkind = \"wrap\"\n\
         connector = \"J1\"\nthicker = 2\n[[kind]]\nkind = \"tie-on\"\nsupply = \"ground\"\n"
    );
    let folder = job(&settings);
    folder.done(&["tags", "--work", "--all", "--no-connectors"]).says("2 wraps, 3 tie-ons");
    let expected =
        [("J1/1", WRAPS), ("J1/2", WRAPS), ("J1/3", FLAGS), ("J1/4", PLATES), ("B1/1", PLATES), ("B1/2", PLATES)];
    assert_eq!(files(&folder), at(&expected));
}

#[test]
fn a_row_goes_before_the_rules() {
    let list = LIST.replace("signal,cut,,2.4", "signal,cut,tie-on,2.4");
    let folder =
        job(&format!("[tags]\nwrap_stock = \"{WRAPS}\"\n[[kind]]\nkind = \"wrap\"\nconnector = \"J1\"\nthicker = 2\n"))
            .and("loom.csv", &list);
    folder.done(&["tags", "--work", "--no-connectors"]);
    let files = files(&folder);
    assert_eq!((&*files["J1/1"], &*files["J1/2"]), (WRAPS, PLATES));
}

/// What is asked for is not replaced in silence.
#[test]
fn a_kind_that_is_asked_for_and_fails_says_what_would_do() {
    let list = LIST.replace("constant,cut,,16", "constant,cut,flag,16");
    let answer = job("").and("loom.csv", &list).run(&["tags", "--work", "--no-connectors"]).ends_with(1);
    answer.says(
        "no work tag: a wire of 16 mm leaves faces of 2.3 mm on a label 60 mm long; a flag needs faces of 12 mm, that is a label at least \
         79.4 mm long; a tie-on would do ",
    );
    let list = LIST.replace("constant,cut,,16", "constant,cut,wrap,16");
    let answer = job("").and("loom.csv", &list).run(&["tags", "--work", "--no-connectors"]).ends_with(1);
    answer.says("no work tag: there is nothing to make a wrap with; name a `wrap_stock` in [tags]; a tie-on would do ");
}

/// A label 25 mm wide and 76 mm high: no flag stands, all hang.
#[test]
fn the_other_posture_is_named_where_it_would_do() {
    let stock = "name = \"upright\"\ngeometry = \"roll\"\nthickness = 0.1\nface = \"film\"\nprinters = [\"laser\"]\n\
                 good-for = [\"work\"]\n[label]\nwidth = 25\nheight = 76\n";
    let settings = |posture: &str| format!("[tags]\nwork_stock = \"upright\"\n{posture}[[kind]]\nkind = \"flag\"\n");
    let args = ["tags", "--work", "--no-connectors", "--connector", "J1"];
    let standing = job(&settings("")).and("stock/upright.toml", stock).run(&args).ends_with(1);
    standing.says("; a hanging flag (`posture = \"hanging\"`) or a tie-on would do ");
    let hanging = job(&settings("posture = \"hanging\"\n")).and("stock/upright.toml", stock);
    hanging.done(&args).says("3 flags");
}

#[test]
fn letters_and_faces_are_set_in_the_job() {
    let larger = job("[tags]\nleast_face = 26\n").done(&["tags", "--work", "--no-connectors", "--dry-run"]);
    larger.says("a flag needs faces of 26 mm");
    let json = job("[letters]\ncode_least = 4\nline_least = 2.2\n")
        .done(&["check", "--work", "--no-connectors", "--json"])
        .json();
    for fit in json["fits"].as_array().unwrap() {
        assert!(fit["code_mm"].as_f64().unwrap() > 3.99, "{fit}");
        assert!(fit["lines_mm"].as_f64().is_none_or(|lines| lines > 2.19), "{fit}");
    }
}

/// The problems of a job, as `id` of each with its place in job.toml.
fn problems(folder: &JobFolder) -> Vec<String> {
    let answer = folder.run(&["check", "--brief", "--no-connectors"]);
    let told = |line: &str| {
        let (place, rest) = line.split_once(": ")?;
        let id = rest.split_once('[')?.1.split_once(']')?.0;
        place.starts_with("job.toml").then(|| format!("{place} {id}"))
    };
    answer.out.lines().filter_map(told).collect()
}

#[test]
fn stock_that_is_not_made_for_a_kind_is_told() {
    let told = |settings: &str| problems(&job(settings));
    assert_eq!(told("[tags]\nwrap_stock = \"a4-65-38x21\"\n"), ["job.toml:2:14 stock-not-for-wraps"]);
    assert_eq!(told("[tags]\ntie_on_stock = \"a4-65-38x21\"\n"), ["job.toml:2:16 stock-not-for-tie-ons"]);
    assert_eq!(told(&format!("[tags]\nwork_stock = \"{WRAPS}\"\n")), ["job.toml:2:14 stock-not-for-flags"]);
    assert_eq!(told(&format!("[tags]\nwork_stock = \"{PLATES}\"\n")), ["job.toml:2:14 stock-not-for-flags"]);
    assert_eq!(
        told("[tags]\nwrap_stock = \"a4-paper-strips\"\n").last().map(String::as_str),
        Some("job.toml:2:14 stock-not-for-wraps")
    );
    assert_eq!(
        told("[[kind]]\nkind = \"tie-on\"\nconnector = \"J11\"\n"),
        ["job.toml:3:13 unknown-rule-connector"],
        "a rule for a connector that stands in no list"
    );
}

/// Paper near heat, tube in an office printer, direct thermal print and film that shrinking spoils.
#[test]
fn stock_and_use_that_disagree_are_told() {
    let told = |settings: &str| problems(&job(settings));
    let paper = told("[tags]\nstrip_stock = \"a4-65-38x21\"\n");
    assert!(paper.contains(&"job.toml:2:15 paper-as-final-tag".to_owned()), "{paper:?}");
    let tube = told("[tags]\nfinal = \"sleeve\"\ntubes = [\"tube-3.2-1.6\"]\n[sleeve_printer]\nkind = \"laser\"\n");
    assert!(tube.contains(&"job.toml:3:10 tube-in-office-printer".to_owned()), "{tube:?}");
    let thermal = told("[tags]\nstrip_stock = \"a4-paper-strips\"\n[printer]\nkind = \"direct-thermal\"\n");
    assert!(thermal.contains(&"job.toml:2:15 direct-thermal-under-shrink".to_owned()), "{thermal:?}");
    let film = "name = \"own-film\"\ngeometry = \"paper\"\nthickness = 0.1\nface = \"film\"\nprinters = [\"laser\"]\n\
                highest-temperature = 80\ngood-for = [\"final\"]\n[page]\nwidth = 210\nheight = 297\n";
    let film = job("[tags]\nstrip_stock = \"own-film\"\n").and("stock/own-film.toml", film);
    assert_eq!(problems(&film), ["job.toml:2:15 too-cold-to-shrink"]);
}

/// Plates of plain paper do not go through a printer of rolls: nothing is told of them while nobody asks for any, and none stands
/// in.
#[test]
fn plain_plates_stand_in_only_where_the_printer_takes_them() {
    let rolls = "[printer]\nkind = \"thermal-transfer\"\ndpi = 300\n[tags]\nwork_stock = \"roll-76x25-film\"\n";
    let plates = |folder: &JobFolder| {
        let answer = folder.run(&["check", "--brief", "--no-connectors"]);
        answer.out.lines().filter(|line| line.contains(PLATES) && line.contains("stock-not-for-printer")).count()
    };
    assert_eq!(plates(&job(rolls)), 0);
    let answer = job(rolls).run(&["tags", "--work", "--no-connectors"]).ends_with(1);
    answer.says("no work tag: a wire of 18 mm leaves faces of ");
    assert_eq!(plates(&job(&format!("{rolls}[[kind]]\nkind = \"tie-on\"\nsupply = \"ground\"\n"))), 1);
    let named = job(&format!("{rolls}tie_on_stock = \"roll-70x30-film-hole\"\n"));
    named.done(&["tags", "--work", "--no-connectors"]).says("tie-on");
}

/// Rolls of wraps go through the printer of tube where the other one prints sheets.
#[test]
fn rolls_go_through_the_printer_they_are_declared_for() {
    let settings = "[tags]\nwork = \"wrap\"\nwrap_stock = \"roll-25x38-wrap13\"\n[sleeve_printer]\ndpi = 203\n";
    assert_eq!(problems(&job(settings)), Vec::<String>::new());
    let folder = job(settings);
    folder.done(&["tags", "--work", "--no-connectors"]);
    let record = folder.json("prints/run-0001/run.json");
    let files = record["files"].as_array().unwrap();
    let wraps = files.iter().find(|file| file["stock"] == "roll-25x38-wrap13").unwrap();
    assert_eq!(wraps["dpi"], 203);
}
