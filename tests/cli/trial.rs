//! `stock trial` and `stock measured`: the trial page of a printer, what is measured on it, and what comes of that.

use crate::kit::{JobFolder, program};

const MEASURES: [&str; 10] =
    ["--ruler-x", "98.5", "--ruler-y", "98.6", "--left", "11.2", "--top", "9.1", "--edges", "4,4,5,12"];

fn measured<'a>(more: &[&'a str]) -> Vec<&'a str> {
    [&["stock", "measured"], &MEASURES[..], more].concat()
}

fn job(folder: &JobFolder) -> String {
    String::from_utf8(folder.bytes("job.toml")).expect("it is text")
}

#[test]
fn a_trial_page_says_what_to_measure_and_issues_nothing() {
    let folder = JobFolder::small();
    let answer = folder.done(&["stock", "trial", "a4-24-64x34"]);
    answer
        .says("trial/printer-a4-24-64x34.pdf: trial page of `a4-24-64x34` for [printer]")
        .says("print it at 100 %")
        .says("left edge to line 3, sent to lie at 10.0 mm")
        .says("loomtag stock measured a4-24-64x34 --ruler-x MM --ruler-y MM --left MM --top MM --edges LEFT,RIGHT,TOP,BOTTOM");
    assert_eq!(folder.names(), ["job.toml", "loom.csv", "trial", "trial/printer-a4-24-64x34.pdf"]);
    let pdf = folder.path().join("trial/printer-a4-24-64x34.pdf");
    let text = program("pdftotext", &["-layout", &pdf.to_string_lossy(), "-"]);
    for words in ["Not corrected", "Print at 100 %", "--ruler-x [1]", "5 bottom", "Wire gauge", "Fold gauge"] {
        assert!(text.contains(words), "`{words}` in\n{text}");
    }
    let told = folder.done(&["stock", "trial", "a4-24-64x34", "--json"]).json();
    assert_eq!((&told["sent_mm"]["ruler_x"], &told["sent_mm"]["left"]), (&100.0.into(), &10.0.into()), "{told}");
    // Without a name it is the stock of flags; again gives the same bytes.
    folder.done(&["stock", "trial"]).says("trial page of `a4-paper-33-60x24`");
    let before = folder.bytes("trial/printer-a4-24-64x34.pdf");
    folder.done(&["stock", "trial", "a4-24-64x34", "--out", "again.pdf"]);
    assert_eq!(folder.bytes("again.pdf"), before);
}

#[test]
fn each_stock_has_its_printer() {
    let folder = JobFolder::small();
    folder.run(&["stock", "trial", "tube-6.4-3.2"]).ends_with(2).says("[sleeve_printer]");
    let told = folder.run(&["stock", "trial", "tube-6.4-3.2", "--printer", "printer"]).ends_with(1);
    told.says("must never go through a printer of kind laser");
    folder.run(&["stock", "trial", "a4-24-64x43"]).ends_with(2).says("did you mean `a4-24-64x34`?");
    let with_tube = job(&folder) + "[sleeve_printer]\nkind = \"thermal-transfer\"\n";
    folder.write("job.toml", with_tube);
    let tube = folder.done(&["stock", "trial", "tube-6.4-3.2"]);
    tube.says("for [sleeve_printer]").says("loomtag stock measured tube-6.4-3.2 --ruler-x MM --left MM --top MM\n");
    folder.done(&["stock", "measured", "tube-6.4-3.2", "--ruler-x", "100", "--left", "10.4", "--top", "5.1"]);
    assert!(
        job(&folder)
            .ends_with("kind = \"thermal-transfer\"\noffset = { x = 0.4, y = -0.25 }\nscale = { x = 1, y = 1 }\n")
    );
}

#[test]
fn what_was_measured_goes_into_job_toml_and_nothing_else_changes() {
    let settings = "# my boat\ntitle = \"Marsh Hen\"   # as on the stern\n\n[printer]   # in the office\nkind = \"laser\"\n\
                    edges = { left = 5 } # guessed\n\n[tags]\nwork = \"flag\"\n# the end\n";
    let folder = JobFolder::small().and("job.toml", settings);
    let answer = folder.done(&measured(&[]));
    answer
        .says("moves pages 1.35 mm to the right and 0.76 mm up, and prints 98.50 % across, 98.60 % down")
        .says("  - edges = { left = 5 } # guessed")
        .says("  + edges = { left = 4, right = 4, top = 5, bottom = 12 } # guessed")
        .says("  + offset = { x = 1.35, y = -0.76 }")
        .says("loomtag stock trial a4-paper-33-60x24 --corrected");
    assert_eq!(
        job(&folder),
        "# my boat\ntitle = \"Marsh Hen\"   # as on the stern\n\n[printer]   # in the office\nkind = \"laser\"\n\
         edges = { left = 4, right = 4, top = 5, bottom = 12 } # guessed\noffset = { x = 1.35, y = -0.76 }\n\
         scale = { x = 0.985, y = 0.986 }\n\n[tags]\nwork = \"flag\"\n# the end\n"
    );
    folder.done(&measured(&[])).says("job.toml says so already");
    // What a corrected page is still off is added: 1 mm more, and a hundredth of stretch.
    let rest =
        ["stock", "measured", "--ruler-x", "101", "--ruler-y", "100", "--left", "11.1", "--top", "10", "--corrected"];
    folder.done(&rest).says("moves pages 2.36 mm to the right and 0.76 mm up").says("99.49 % across");
    assert_eq!(folder.names(), ["job.toml", "loom.csv"], "nothing is left behind");
}

#[test]
fn missing_numbers_are_told_with_where_they_stand() {
    let folder = JobFolder::small();
    let before = job(&folder);
    let answer = folder.run(&["stock", "measured", "--ruler-x", "98.5", "--top", "9.1"]).ends_with(2);
    answer
        .says("`--ruler-y`, `--left` are missing")
        .says("--ruler-y: 2, the ruler down, from its 0 to its end")
        .says("--left: 3, from the left edge of the paper to line 3");
    folder.run(&["stock", "measured"]).ends_with(2).says("`--top` are missing");
    folder.run(&["stock", "measured", "--left", "ten"]).ends_with(2).says("a number of millimetres is wanted");
    folder.run(&["stock", "measured", "--edges", "4,4"]).ends_with(2).says("left, right, top and bottom");
    assert_eq!(job(&folder), before);
}

#[test]
fn absurd_numbers_are_refused_with_what_to_do() {
    let folder = JobFolder::small();
    let before = job(&folder);
    let refused = |which: usize, value: &'static str| {
        let mut asked = measured(&[]);
        asked[which] = value;
        folder.run(&asked).ends_with(2)
    };
    refused(3, "80")
        .says("ruler 1 is 80 mm long instead of 100 mm")
        .says("the page was fitted to the paper")
        .says("100 %");
    refused(5, "9.86").says("ruler 2 is 9.86 mm long").says("measure again");
    refused(7, "45").says("line 3 lies 45 mm from the left edge instead of 10 mm").says("of the page's size");
    refused(11, "4,4,5,19").says("no comb of the trial page has the number 19").says("from 1 to 15");
    folder.run(&measured(&["--corrected"])).ends_with(2).says("edges are not read on the corrected page");
    assert_eq!(job(&folder), before);
}

/// A page that is moved far was most likely typed wrongly: what may be meant is told, and nothing is written.
#[test]
fn far_offsets_are_doubted_with_the_likely_cause() {
    let folder = JobFolder::small();
    let before = job(&folder);
    let with_left = |value: &'static str, more: &[&'static str]| {
        let mut asked = measured(more);
        asked[7] = value;
        folder.run(&asked)
    };
    let centimetres = with_left("1.12", &[]).ends_with(2);
    let centimetres = centimetres.says("line 3 lies 1.12 mm from the left edge instead of 10 mm");
    centimetres.says("if these are centimetres, type `--left 11.2`").says("add `--sure`");
    let shift = with_left("-1.2", &[]).ends_with(2);
    shift.says("if it is off by so much, type where it lies `--left 8.8`");
    with_left("0.43", &[]).ends_with(2).says("if these are inches, type `--left 10.92`");
    with_left("15.4", &[]).ends_with(2).says("measure to the paper's own edge").says("add `--sure`");
    with_left("45", &["--sure"]).ends_with(2).says("measure to the paper's own edge").says_nothing_of("add `--sure`");
    assert_eq!(job(&folder), before);
    let told = with_left("15.4", &["--sure"]).ends_with(0);
    told.says("+ offset = { x = 5.55, y = -0.76 }").says("to undo it take these lines out");
    // Twice the same page, once as if it were the corrected one.
    let again = ["stock", "measured", "--ruler-x", "100", "--ruler-y", "100", "--left", "11", "--top", "10"];
    folder.run(&[&again[..], &["--corrected"]].concat()).ends_with(2).says("leave `--corrected` out");
    let told = folder.done(&again);
    told.says("  - offset = { x = 5.55, y = -0.76 }")
        .says("to undo it put the lines with `-` in the place of those with `+`");
}

/// What is measured on a stock that no printer of the job is for must not correct the pages of another one.
#[test]
fn a_stock_of_no_printer_asks_which_one_it_is() {
    let folder = JobFolder::small();
    let before = job(&folder);
    let numbers = ["--left", "5.1", "--top", "5"];
    let asked = |more: &[&'static str]| {
        let words = [&["stock", "measured", "roll-50x25"], &numbers[..], more].concat();
        folder.run(&words)
    };
    let refused = asked(&[]).ends_with(2);
    refused
        .says("`roll-50x25` is for printers of kind direct-thermal or thermal-transfer, and [printer] counts as laser")
        .says("write the `kind` of its printer into job.toml, or name the table: `--printer printer`");
    folder.run(&["stock", "trial", "roll-50x25"]).ends_with(2).says("`--printer printer`");
    assert_eq!(job(&folder), before);
    assert_eq!(folder.names(), ["job.toml", "loom.csv"]);
    let centimetres = ["stock", "measured", "roll-50x25", "--printer", "printer", "--left", "0.5", "--top", "0.5"];
    folder.run(&centimetres).ends_with(2).says("if these are centimetres, type `--left 5`");
    asked(&["--printer", "printer"]).ends_with(0).says("table [printer]");
    let both = "[printer]\nkind = \"inkjet\"\n[sleeve_printer]\nkind = \"thermal-transfer\"\n";
    folder.write("job.toml", both);
    asked(&[]).ends_with(0).says("table [sleeve_printer]");
}

#[test]
fn a_job_with_errors_stays_as_it_is() {
    let settings = "title = \"Marsh Hen\"\n[printer]\nkind = \"lazer\"\n";
    let folder = JobFolder::small().and("job.toml", settings);
    folder.run(&measured(&[])).ends_with(1).says("did you mean `laser`?");
    assert_eq!(job(&folder), settings);
    folder.run(&["stock", "trial"]).ends_with(1).says("did you mean `laser`?");
    assert!(!folder.names().contains(&"trial".to_owned()));
}

#[cfg(unix)]
#[test]
fn a_link_and_permissions_stay() {
    use std::os::unix::fs::PermissionsExt;
    let folder = JobFolder::small();
    let (path, behind) = (folder.path().join("job.toml"), folder.path().join("settings.toml"));
    std::fs::rename(&path, &behind).expect("renamed");
    std::fs::set_permissions(&behind, std::fs::Permissions::from_mode(0o640)).expect("set");
    std::os::unix::fs::symlink(&behind, &path).expect("linked");
    folder.done(&measured(&[]));
    assert!(path.symlink_metadata().expect("there").file_type().is_symlink());
    assert_eq!(behind.metadata().expect("there").permissions().mode() & 0o777, 0o640);
    assert!(job(&folder).contains("offset = { x = 1.35"));
}

/// What moves or shrinks too far for some labels is told at once, with the numbers that it comes from.
#[test]
fn what_the_printer_cannot_reach_is_told_when_it_was_measured() {
    let folder = JobFolder::small();
    let answer = folder.done(&[
        "stock",
        "measured",
        "a4-65-38x21",
        "--ruler-x",
        "98.5",
        "--ruler-y",
        "98.5",
        "--left",
        "11.2",
        "--top",
        "9.1",
    ]);
    answer
        .says("warning[labels-out-of-reach]: the printer cannot reach")
        .says("of the 65 labels of `a4-65-38x21`")
        .says("edges stay as they were: `--edges` takes what the combs 5 show");
    let wide = [
        "stock",
        "measured",
        "a4-65-38x21",
        "--ruler-x",
        "99.8",
        "--ruler-y",
        "99.8",
        "--left",
        "10.2",
        "--top",
        "9.9",
        "--edges",
        "4,4,4,4",
    ];
    folder.done(&wide).says_nothing_of("labels-out-of-reach");
}

/// A page without a ruler down tells nothing of that scale.
#[test]
fn an_axis_without_a_ruler_keeps_its_scale() {
    let settings = "[sleeve_printer]\nkind = \"thermal-transfer\"\nscale = { x = 0.99, y = 0.99 }\n";
    let folder = JobFolder::small().and("job.toml", settings);
    folder.done(&["stock", "measured", "tube-6.4-3.2", "--ruler-x", "100.5", "--left", "10.05", "--top", "5.2"]);
    assert!(job(&folder).contains("scale = { x = 1.005, y = 0.99 }"), "{}", job(&folder));
    let asked =
        ["stock", "measured", "tube-6.4-3.2", "--ruler-x", "100", "--ruler-y", "100", "--left", "10", "--top", "5"];
    folder.run(&asked).ends_with(2).says("the trial page of this stock has no ruler 2").says("leave `--ruler-y` out");
}

/// Tags, and the proof of them by run.json alone, when the printer is not known any more.
#[test]
fn pages_are_corrected_from_then_on_and_proved_where_they_are_sent() {
    let folder = JobFolder::small();
    folder.done(&["tags", "--out", "plain"]).says("symbols read back");
    let plain = folder.tags("plain")[0].symbol_area();
    folder.done(&measured(&[]));
    folder.done(&["tags", "--out", "corrected"]).says("symbols read back");
    let corrected = folder.tags("corrected")[0].symbol_area();
    assert_ne!(plain, corrected);
    folder.done(&["reprint", "J1/14", "--out", "again"]);
    folder.done(&["blanks", "2", "--out", "blanks"]);
    std::fs::remove_file(folder.path().join("job.toml")).expect("removed");
    for run in ["plain", "corrected", "again", "blanks"] {
        let pdf = format!("{run}/work-a4-paper-33-60x24.pdf");
        let said = folder.done(&["proof", &pdf]).out;
        let (read, all) = said.split_once(" of ").expect("a proof");
        let count = |words: &str| words.rsplit(' ').next().and_then(|word| word.parse::<u32>().ok());
        assert_eq!(count(read), all.split(' ').next().and_then(|word| word.parse().ok()), "{said}");
    }
}

/// A foot of 15 mm takes the last row; a sheet of which nothing is left is an error, before a code is issued.
#[test]
fn labels_out_of_reach_are_told_first_and_stay_empty() {
    let settings = |edges: &str| {
        format!("title = \"Marsh Hen\"\n[printer]\nedges = {{ {edges} }}\n[tags]\nwork_stock = \"a4-24-64x34\"\n")
    };
    let folder = JobFolder::small().and("job.toml", &settings("bottom = 15, left = 9.5"));
    folder.done(&["check"]).says("labels-out-of-reach").says("of 14 labels");
    let answer = folder.done(&["tags", "--out", "out", "--work", "--all"]);
    answer
        .says("warning[labels-out-of-reach]: the printer cannot reach 10 of the 24 labels of `a4-24-64x34`, by up to 0.8 mm")
        .says("numbers 1, 4, 7, 10, 13, 16 and so on")
        .says("`loomtag stock trial a4-24-64x34`");
    let tags = folder.tags("out");
    let symbols = tags.iter().flat_map(|tag| tag.json["symbols"].as_array().expect("symbols"));
    let areas = symbols.map(|symbol| [0, 1].map(|side| symbol["area_mm"][side].as_f64().expect("a number")));
    for [left, top] in areas {
        assert!(left > 73.0 && top < 250.0, "the first column and the last row are passed over: {left} {top}");
    }

    let folder = JobFolder::small().and("job.toml", &settings("bottom = 50, left = 50, top = 50, right = 50"));
    folder.done(&["check"]).says("labels-out-of-reach");
    let centimetres = "title = \"Marsh Hen\"\n[printer]\noffset = { x = 0, y = 4 }\nkind = \"direct-thermal\"\n\
                       [tags]\nwork_stock = \"roll-62x29\"\n";
    let folder = JobFolder::small().and("job.toml", centimetres);
    let answer = folder.run(&["tags", "--work"]).ends_with(1);
    answer.says("error[stock-out-of-reach]: the printer cannot reach 2.5 mm of what tags on `roll-62x29` take");
    assert_eq!(folder.names(), ["job.toml", "loom.csv"]);
}
