//! `stock`: what tags are printed on, listed, shown and drawn.

use crate::kit::{JobFolder, Picture, program, text};

#[test]
fn stocks_are_listed_and_named_by_geometry() {
    let plain = JobFolder::empty().done(&["stock"]);
    for what in ["a4-24-64x34", "letter-30-67x25", "roll-62x29", "tube-3.2-1.6", "a4-paper-strips"] {
        assert!(plain.out.contains(what), "{what}");
    }
    assert_eq!(JobFolder::empty().done(&["stock", "list"]).out, plain.out);
    plain.says("24 tags of 63.5 mm x 33.9 mm").says("each label cut in 2").says("1/8 in 2:1 tube");
}

#[test]
fn stocks_are_listed_for_programs() {
    for arguments in [&["stock", "--json"][..], &["stock", "list", "--json"]] {
        let json = JobFolder::empty().done(arguments).json();
        let all = json.as_array().expect("a list");
        assert!(all.len() >= 8, "at least eight");
        assert!(all.iter().any(|stock| stock["name"] == "a4-65-38x21" && text(&stock["for"]) == "work"), "{json:#}");
        assert!(all.iter().all(|stock| stock["own"] == false));
    }
}

#[test]
fn a_shown_stock_is_a_pattern_for_ones_own() {
    let folder = JobFolder::small();
    let shown = folder.done(&["stock", "show", "a4-65-38x21"]).out;
    let own = shown.replace("name = \"a4-65-38x21\"", "name = \"bench-sheet\"");
    folder.write("stock/bench-sheet.toml", &own);
    folder.write("job.toml", "title = \"Marsh Hen\"\n[tags]\nwork_stock = \"bench-sheet\"\n");
    folder.done(&["check", "--work"]).says("bench-sheet");
    folder.done(&["stock"]).says("bench-sheet (own)");
    assert_eq!(folder.done(&["stock", "show", "bench-sheet"]).out, own);
    folder.done(&["stock", "show", "bench-sheet", "--png", "own.png"]);
    assert_eq!(folder.bytes("own.png")[..4], *b"\x89PNG");
}

#[test]
fn an_own_stock_with_mistakes_is_told_where() {
    let folder = JobFolder::empty().and("stock/mine.toml", "name = \"mine\"\ngeometri = \"sheet\"\n");
    let answer = folder.run(&["stock", "show", "mine", "--png", "mine.png"]).ends_with(1);
    answer.says("stock/mine.toml:2:1").says("did you mean `geometry`?");
    assert_eq!(folder.names(), ["stock", "stock/mine.toml"]);
    folder.run(&["stock"]).ends_with(1).says("stock/mine.toml:2:1").says("a4-65-38x21");
}

#[test]
fn an_unknown_stock_is_told() {
    JobFolder::empty()
        .run(&["stock", "show", "a4-24-64x43"])
        .ends_with(2)
        .says("there is no stock `a4-24-64x43`")
        .says("did you mean `a4-24-64x34`?")
        .says("loomtag stock");
}

/// The picture is as large as the label and the ground round it, to a dot, and says so.
#[test]
fn a_tag_is_drawn_at_its_true_size() {
    let folder = JobFolder::empty();
    for (name, dpi, width, height) in [
        ("a4-24-64x34", "600", 63.5, 33.9),
        ("a4-8-99x68-split4", "300", 99.1, 16.9),
        ("roll-62x29", "203", 62.0, 29.0),
    ] {
        folder
            .done(&["stock", "show", name, "--png", "tag.png", "--dpi", dpi])
            .says("tag.png: flag")
            .says(&format!("at {dpi} dots an inch"));
        let picture = Picture::of(&folder.bytes("tag.png"));
        let per_inch: f64 = dpi.parse().expect("a number");
        assert!((f64::from(picture.a_metre) * 0.0254 - per_inch).abs() < 0.02, "{}", picture.a_metre);
        let mm = |pixels: u32| f64::from(pixels) / per_inch * 25.4 - 4.0;
        let dot = 25.4 / per_inch;
        assert!((mm(picture.width) - width).abs() < dot + 0.05, "{name}: {}", mm(picture.width));
        assert!((mm(picture.height) - height).abs() < dot + 0.05, "{name}: {}", mm(picture.height));
    }
    folder.done(&["stock", "show", "tube-6.4-3.2", "--png", "tag.png"]).says("tag.png: sleeve of");
    folder.done(&["stock", "show", "letter-paper-strips", "--png", "tag.png"]).says("tag.png: strip of");
    folder.done(&["stock", "show", "roll-25x38-wrap13", "--png", "tag.png"]).says("tag.png: wrap of 25.0 mm x 38.0 mm");
    let tie_on = folder.done(&["stock", "show", "a4-16-90x32-film-holes", "--png", "tag.png"]);
    tie_on.says("tag.png: tie-on of 90.0 mm x 32.0 mm, at 600");
    assert_eq!(folder.names(), ["tag.png"]);
}

/// zbar reads the symbol from the picture as from paper.
#[test]
fn the_symbol_of_a_picture_can_be_read() {
    let folder = JobFolder::empty();
    folder.done(&["stock", "show", "a4-24-64x34", "--png", "tag.png"]);
    let path = folder.path().join("tag.png");
    let read = program("zbarimg", &["-q", "--raw", &path.to_string_lossy()]);
    assert!(read.starts_with("7KF4 A RAIL PRESSURE"), "{read}");
}

#[test]
fn a_picture_never_takes_the_place_of_a_list() {
    let folder = JobFolder::small();
    let list = folder.bytes("loom.csv");
    folder.run(&["stock", "show", "roll-62x29", "--png", "loom.csv"]).ends_with(2).says("ends in .png");
    assert_eq!(folder.bytes("loom.csv"), list);
    folder.run(&["stock", "show", "roll-62x29", "--png", "nowhere/tag.png"]).ends_with(2).says("cannot write");
    folder.run(&["stock", "show", "roll-62x29", "--png", "tag.png", "--dpi", "20"]).ends_with(2).says("100");
    let huge = "name = \"huge\"\ngeometry = \"roll\"\nthickness = 0.1\nface = \"paper\"\nprinters = [\"direct-thermal\"]\n\
                good-for = [\"work\"]\n[label]\nwidth = 500\nheight = 400\n";
    let folder = folder.and("stock/huge.toml", huge);
    folder.run(&["stock", "show", "huge", "--png", "tag.png"]).ends_with(2).says("fewer dots");
    assert!(!folder.names().contains(&"tag.png".to_owned()), "nothing is left behind: {:?}", folder.names());
}

/// An own label too small for any flag: the reason, in numbers.
#[test]
fn a_stock_that_takes_no_tag_says_why() {
    let shown = JobFolder::empty().done(&["stock", "show", "roll-62x29"]).out;
    let narrow = shown.replace("width = 62", "width = 22").replace("name = \"roll-62x29\"", "name = \"narrow\"");
    assert_ne!(shown, narrow);
    let folder = JobFolder::empty().and("stock/narrow.toml", &narrow);
    let answer = folder.run(&["stock", "show", "narrow", "--png", "tag.png"]).ends_with(1);
    answer.says("no tag on `narrow`: a wire of 2.4 mm leaves faces of").says("that is a label at least");
    assert_eq!(folder.names(), ["stock", "stock/narrow.toml"]);
}

/// A sheet of our own with two sorts of labels: flags and wraps share its pages, each on its own labels.
#[test]
fn two_sorts_of_labels_on_one_sheet() {
    let sheet = "name = \"mixed\"\ngeometry = \"sheet\"\nthickness = 0.1\nface = \"vinyl\"\nprinters = [\"laser\"]\n\
        good-for = [\"work\"]\n[page]\nwidth = 210\nheight = 297\n\
        [[labels]]\nwidth = 60\nheight = 30\ncolumns = 3\nrows = 4\ngap-x = 5\ntop = 20\n\
        [[labels]]\nwidth = 25\nheight = 40\ncolumns = 6\nrows = 3\ngap-x = 5\ntop = 150\nprint = 14\n";
    let list = "connector,cavity,circuit,function,action,diameter,tag\nJ1,1,A,pump,cut,3,\nJ1,2,B,horn,cut,3.5,wrap\n\
        J1,3,C,lamp,cut,3,\nJ1,4,D,fan,cut,3.5,wrap\n";
    let job = "[tags]\nwork_stock = \"mixed\"\nwrap_stock = \"mixed\"\n";
    let folder = JobFolder::with(&[("job.toml", job), ("loom.csv", list), ("stock/mixed.toml", sheet)]);
    folder.done(&["stock"]).says("12 tags of 60 mm x 30 mm a sheet; 18 tags of 25 mm x 40 mm a sheet, wraps");
    folder.done(&["tags", "--work", "--no-connectors"]).says("2 flags, 2 wraps").says("1 page");
    let labels: Vec<(String, u64)> = folder
        .tags("prints/run-0001")
        .iter()
        .map(|tag| (tag.place(), tag.json["label"].as_u64().expect("on a sheet")))
        .collect();
    let at = |place: &str| labels.iter().find(|(own, _)| own == place).expect("printed").1;
    assert_eq!((at("J1/1"), at("J1/3"), at("J1/2"), at("J1/4")), (11, 12, 29, 30), "from the end of each sort");
    let touching = sheet.replace("top = 150", "top = 120");
    let folder = folder.and("stock/mixed.toml", &touching);
    folder
        .run(&["check"])
        .ends_with(1)
        .says("label 10 of group 1 and label 1 of group 2 lie over one another")
        .says("tell where group 2 begins: below the other its `top` is at least 140 mm")
        .says("stock/mixed.toml:");
    // What is told of the second group suits the second group: it begins where it begins, and has no margins of its own.
    for (measures, remedy) in [
        ("top = 200", "from this `top` on, `rows` is at most 2"),
        ("margin-y = 150", "`margin-y` is for one group alone: tell with `top` where this group begins"),
    ] {
        folder.write("stock/mixed.toml", sheet.replace("top = 150", measures));
        folder.run(&["check"]).ends_with(1).says(remedy);
    }
    // The drawing measures both.
    folder.write("stock/mixed.toml", sheet);
    folder.done(&["stock", "show", "mixed", "--draw", "mixed.pdf"]);
    let drawn = program("pdftotext", &["-layout", &folder.path().join("mixed.pdf").to_string_lossy(), "-"]);
    let measures = "group 2: left 17.5, top 150; labels 25 x 40; 6 columns every 30, 3 rows every 40";
    assert!(drawn.contains(measures), "{drawn}");
}
