//! What a run takes and what to buy, as `check` and `tags --dry-run` tell it; and stock that does not suit its use.

use std::collections::BTreeSet;

use serde_json::Value;

use crate::kit::{JobFolder, text};

/// The sheets, pieces and labels of `check`, by stock.
fn pages(shopping: &Value) -> Vec<(String, u64)> {
    let needs = shopping.as_array().expect("a list").iter().filter(|need| need["what"] != "clear tube");
    let pages = |need: &Value| match need["what"].as_str() {
        Some("tube") => need["pieces"].as_u64(),
        Some("roll") => need["labels"].as_u64(),
        _ => {
            let begun = need["begun_sheets"].as_array().map_or(0, Vec::len) as u64;
            need["sheets"].as_u64().map(|sheets| sheets + begun)
        }
    };
    needs.map(|need| (text(&need["stock"]), pages(need).expect("a number"))).collect()
}

/// What is told before equals what is printed then, stock by stock.
#[track_caller]
fn same_pages_as_printed(folder: &JobFolder, run: usize) {
    let told = folder.done(&["check", "--json"]).json()["shopping"].clone();
    let rehearsed = folder.done(&["tags", "--dry-run", "--json"]).json()["shopping"].clone();
    assert_eq!(told, rehearsed);
    assert!(folder.run(&["tags", "--no-proof"]).code < 2);
    let record = folder.json(&format!("prints/run-{run:04}/run.json"));
    let files = record["files"].as_array().expect("files").iter();
    let printed: Vec<_> = files.map(|file| (text(&file["stock"]), file["pages"].as_u64().expect("a number"))).collect();
    assert_eq!(pages(&told), printed);
}

#[test]
fn the_example_takes_what_is_told() {
    same_pages_as_printed(&JobFolder::example(), 1);
}

/// Tube in short pieces, each with its head, and labels from a roll.
#[test]
fn short_pieces_and_rolls_are_counted_as_they_are_printed() {
    let folder = JobFolder::example();
    let mut settings = String::from_utf8(folder.bytes("job.toml")).expect("text");
    for (size, piece) in [("2.4-1.2", 130), ("3.2-1.6", 150), ("4.8-2.4", 170), ("6.4-3.2", 200)] {
        let shown = folder.done(&["stock", "show", &format!("tube-{size}")]).out;
        let own = shown.replace(&format!("name = \"tube-{size}\""), &format!("name = \"short-{size}\""));
        let lines = own
            .lines()
            .map(|line| if line.starts_with("piece") { format!("piece = {piece}") } else { line.to_owned() });
        folder.write(&format!("stock/short-{size}.toml"), lines.collect::<Vec<_>>().join("\n"));
        settings = settings.replace(&format!("tube-{size}"), &format!("short-{size}"));
    }
    settings = settings.replace("a4-24-64x34", "roll-76x25-film");
    let folder = folder.and("job.toml", &settings);
    for run in 1..=2 {
        same_pages_as_printed(&folder, run);
    }
    let shopping = folder.done(&["check", "--json"]).json()["shopping"].clone();
    let of = |stock: &str| {
        shopping
            .as_array()
            .unwrap()
            .iter()
            .find(|need| need["stock"] == stock)
            .unwrap_or_else(|| panic!("{stock}: {shopping:#}"))
    };
    let tube = of("short-4.8-2.4");
    let (pieces, taken) = (tube["pieces"].as_u64().unwrap(), tube["taken_mm"].as_f64().unwrap());
    assert!(pieces > 3, "{tube:#}");
    assert_eq!(taken, pieces as f64 * 170.0, "whole pieces");
    let buy = tube["buy_mm"].as_f64().unwrap();
    assert!(buy >= taken * 1.05 - 0.001 && buy < taken * 1.05 + 100.0 && buy % 100.0 < 0.001, "{tube:#}");
    assert!(tube["sleeves_mm"].as_f64().unwrap() < taken);
    let roll = of("roll-76x25-film");
    assert_eq!(
        roll["labels"].as_u64().unwrap() as usize,
        folder.tags("prints/run-0001").iter().filter(|tag| tag.file.starts_with("work-roll")).count()
    );
}

/// The words are those of the numbers: each stock has a line, and the summary counts what was fitted.
#[test]
fn what_to_buy_is_told_in_words() {
    let folder = JobFolder::example();
    let json = folder.done(&["check", "--json"]).json();
    let fits = json["fits"].as_array().expect("a list");
    let sleeves: Vec<&Value> = fits.iter().filter(|fit| fit["kind"] == "sleeve").collect();
    let sizes: BTreeSet<&str> = sleeves.iter().filter_map(|fit| fit["stock"].as_str()).collect();
    let told = format!("{} sleeves in {} tube sizes", sleeves.len(), sizes.len());
    let thin = sleeves.iter().filter(|fit| fit["symbol"].is_null()).count();
    let no_symbol = format!("{thin} sleeves carry no symbol: wire too thin for a sleeve symbol");
    for arguments in [&["check"][..], &["tags", "--dry-run"]] {
        let answer = folder.done(arguments).says(&told).says(&no_symbol);
        let (_, needs) = answer.out.split_once("\nto have at hand or to buy, tube 5 % over:\n").expect("it is told");
        for (need, line) in json["shopping"].as_array().expect("a list").iter().zip(needs.lines()) {
            let name = need["stock"].as_str().or(need["size"].as_str()).expect("a name");
            assert!(line.starts_with("  ") && line.contains(name), "{name}: {line}");
            if let Some(metres) = need["buy_mm"].as_f64() {
                assert!(line.contains(&format!("{:.1} m ", metres / 1000.0)), "{line}");
            }
            if let Some(left) = need["labels_left_over"].as_u64() {
                assert!(
                    line.contains(&format!("{} sheet", need["sheets"])) && line.contains(&format!("{left} left over")),
                    "{line}"
                );
            }
        }
    }
    folder.done(&["check", "--brief"]).says_nothing_of("to buy");
    folder.done(&["check", "--final", "--connector", "A96"]).says_nothing_of("to buy");
}

/// One wire, one strip: the tube over it is the strip and 4 mm at each end.
#[test]
fn clear_tube_is_summed_by_size() {
    let json = JobFolder::small().done(&["check", "--final", "--json"]).json();
    let clear: Vec<&Value> =
        json["shopping"].as_array().unwrap().iter().filter(|need| need["what"] == "clear tube").collect();
    let cuts: u64 = clear.iter().map(|need| need["cuts"].as_u64().unwrap()).sum();
    assert_eq!(cuts, json["fits"].as_array().unwrap().len() as u64);
    assert!(clear.iter().all(|need| need["buy_mm"].as_f64() > need["taken_mm"].as_f64()), "{clear:#?}");
}

/// Settings under which stock, printer and use disagree, and what is said of each, at its place in job.toml.
#[test]
fn stock_that_does_not_suit_its_use_is_told() {
    let sleeves = "[sleeve_printer]\nkind = \"thermal-transfer\"\n";
    for (settings, code, told) in [
        (
            "[printer]\nkind = \"direct-thermal\"\n".to_owned(),
            0,
            "warning[direct-thermal-under-shrink]: direct thermal print on `a4-paper-strips` blackens under a heat gun",
        ),
        (
            "[tags]\nstrip_stock = \"a4-65-38x21\"\n".to_owned(),
            1,
            "job.toml:2:15: warning[paper-as-final-tag]: stock `a4-65-38x21` is paper, which does not last as a final tag",
        ),
        (
            "[sleeve_printer]\nkind = \"laser\"\n[tags]\nfinal = \"sleeve\"\n".to_owned(),
            1,
            "job.toml:2:8: error[unfit-sleeve-printer]: never feed heat-shrink tube through a laser or inkjet printer",
        ),
        (
            "[sleeve_printer]\nkind = \"laser\"\n[tags]\nfinal = \"sleeve\"\ntubes = [\"tube-3.2-1.6\"]\n".to_owned(),
            1,
            "job.toml:5:10: error[tube-in-office-printer]: ",
        ),
        ("[tags]\nwork_stock = \"roll-62x29\"\n".to_owned(), 0, "job.toml:2:14: warning[stock-not-for-printer]: "),
        (
            format!("{sleeves}[tags]\nfinal = \"sleeve\"\ntubes = [\"a4-65-38x21\"]\n"),
            1,
            "job.toml:5:10: error[stock-not-a-tube]: stock `a4-65-38x21` is not a tube",
        ),
    ] {
        let folder = JobFolder::small().and("job.toml", &settings);
        folder.run(&["check", "--brief"]).ends_with(code).says(told);
        if code == 1 {
            folder.run(&["tags"]).ends_with(1).says("nothing is printed while errors stand");
        }
    }
}

/// Off-cuts are told in mm, as they are typed again; one that is too short for what comes is told too.
#[test]
fn off_cuts_are_told_in_millimetres() {
    let folder = JobFolder::example();
    let rehearsed = folder.done(&["tags", "--final", "--dry-run"]);
    rehearsed
        .says("8 sleeves, 0.45 m in all, printed on 1 piece of 1.00 m (468 mm left over)")
        .says_nothing_of("% left over");
    let off_cuts = ["--off-cut", "tube-3.2-1.6=40", "--off-cut", "tube-3.2-1.6=350"];
    let asked = [&["tags", "--final", "--no-proof"], &off_cuts[..]].concat();
    folder
        .done(&asked)
        .says("tube-3.2-1.6: 1 piece of 0.35 m and 1 piece of 1.00 m (696 mm and 40 mm left over)")
        .says("the off-cut of 40 mm is too short for these sleeves and not used");
    let json = folder.done(&[&asked[..], &["--json"]].concat()).json();
    let tube =
        json["files"].as_array().expect("files").iter().find(|file| file["stock"] == "tube-3.2-1.6").expect("there");
    assert_eq!(tube["tube"]["too_short_mm"], serde_json::json!([40.0]));
    assert_eq!(tube["tube"]["left_mm"].as_array().expect("lengths").len(), 2);
}
