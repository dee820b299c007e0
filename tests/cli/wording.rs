//! `wording`, and tags that say what a job's own wording has them say.

use serde_json::Value;

use crate::kit::{JobFolder, program, text};

/// The small job with a wording of its own for flags, on this stock.
fn with_wording(stock: &str, wording: &str) -> JobFolder {
    let job = format!("title = \"Marsh Hen bench\"\n[tags]\nwork_stock = \"{stock}\"\n[wording]\nflat = \"mine\"\n");
    JobFolder::small().and("job.toml", &job).and("templates/mine.toml", wording)
}

/// How the flag at a place fits.
fn fit(folder: &JobFolder, place: &str) -> Value {
    let json = folder.done(&["check", "--work", "--json"]).json();
    let fits = json["fits"].as_array().expect("a list").clone();
    fits.into_iter().find(|fit| fit["place"] == place).unwrap_or_else(|| panic!("no tag at {place}: {json:#}"))
}

/// Words of the flag at `J1/14` as poppler finds them in its PDF: each with the height of its box.
fn words(folder: &JobFolder) -> Vec<(String, f64)> {
    folder.done(&["reprint", "J1/14", "--out", "one", "--no-proof"]);
    let pdf = folder.names().into_iter().find(|name| name.ends_with(".pdf")).expect("it was printed");
    let boxes = program("pdftotext", &["-bbox", &folder.path().join(pdf).to_string_lossy(), "-"]);
    let word = |line: &str| {
        let attribute =
            |name: &str| -> Option<f64> { line.split(&format!("{name}=\"")).nth(1)?.split('"').next()?.parse().ok() };
        let word = line.split('>').nth(1)?.split('<').next()?;
        Some((word.to_owned(), attribute("yMax")? - attribute("yMin")?))
    };
    boxes.lines().filter(|line| line.contains("<word")).filter_map(word).collect()
}

#[test]
fn wordings_are_listed_and_shown_as_patterns() {
    let folder = JobFolder::small();
    let list = folder.done(&["wording"]).out;
    assert_eq!(folder.done(&["wording", "list"]).out, list);
    for (name, what) in [
        ("flat", "flags, wraps and tie-ons"),
        ("round", "sleeves and strips"),
        ("connector", ""),
        ("along", ""),
        ("blank", "a code that belongs to nothing yet"),
    ] {
        assert!(
            list.lines().any(|line| line.starts_with(&format!("{name} ")) && line.contains(what)),
            "{name}:\n{list}"
        );
    }
    let flat = folder.done(&["wording", "show", "flat"]).out;
    let folder = folder.and("templates/mine.toml", &flat);
    folder.done(&["wording"]).says("mine (own)");
    assert_eq!(folder.done(&["wording", "show", "mine"]).out, flat);
    let json = folder.done(&["wording", "--json"]).json();
    assert!(json.as_array().unwrap().iter().any(|one| one["name"] == "mine" && one["own"] == true));
    folder
        .run(&["wording", "show", "flatt"])
        .ends_with(2)
        .says("there is no wording `flatt`")
        .says("did you mean `flat`?");
}

/// A copy under another name changes no tag.
#[test]
fn a_copied_wording_prints_the_same_tags() {
    let shown = JobFolder::empty().done(&["wording", "show", "flat"]).out;
    let (own, plain) = (with_wording("a4-24-64x34", &shown), with_wording("a4-24-64x34", &shown));
    let job = String::from_utf8(plain.bytes("job.toml")).unwrap().replace("\"mine\"", "\"flat\"");
    let plain = plain.and("job.toml", &job);
    for folder in [&own, &plain] {
        folder.done(&["check", "--work", "--preview", "J1/14"]);
    }
    let picture = own.names().into_iter().find(|name| name.ends_with(".png")).unwrap();
    assert_eq!(own.bytes(&picture), plain.bytes(&picture));
}

#[test]
fn mistakes_of_an_own_wording_are_told_in_its_file() {
    let folder = with_wording("a4-24-64x34", "[[line]]\nfields = [\"functoin\"]\nsize = 3\n");
    folder
        .run(&["check", "--brief"])
        .ends_with(1)
        .says("templates/mine.toml:2:11: error[unknown-word]: `fields` cannot be `functoin`; did you mean `function`?")
        .says("templates/mine.toml:3:8: error[number-out-of-range]: `size` cannot be 3");
    folder.run(&["tags"]).ends_with(1).says("nothing is printed while errors stand");
    folder.run(&["wording", "show", "mine"]).ends_with(1).says("functoin").says("templates/mine.toml:2:11");
    let folder = folder.and("job.toml", "[wording]\nflat = \"mien\"\nround = \"mine\"\n");
    folder
        .run(&["check", "--brief"])
        .ends_with(1)
        .says("job.toml:2:8: error[unknown-wording]: there is no wording `mien`");
}

/// The README's own wording is one, and its tables are complete.
#[test]
fn the_readme_explains_wordings() {
    let readme = std::fs::read_to_string(crate::kit::project().join("README.md")).expect("it is there");
    let example = readme.split("# templates/mine.toml").nth(1).expect("an example").split("```").next().expect("ends");
    let folder = with_wording("a4-24-64x34", &format!("#{example}"));
    folder.done(&["tags", "--work"]).says_nothing_of("with a symbol");
    let tag = folder.tags("prints/run-0001").into_iter().find(|tag| tag.place() == "J1/14").expect("it is printed");
    assert_eq!(tag.words(), ["rail pressure signal", "J1 / 14"]);
    let flat = folder.done(&["wording", "show", "flat"]).out;
    for (word, _) in loomtag::labels::Field::WORDS {
        assert!(readme.contains(&format!("| `{word}` | ")), "the README tells of the field `{word}`");
        assert!(flat.contains(&format!("#   {word} ")), "so does the file");
    }
    for key in ["symbol", "faces", "fields", "lead", "letters", "size", "shorten", "worth", "bar"] {
        assert!(readme.contains(&format!("| `{key}` | ")), "the README tells of the key `{key}`");
    }
}

/// `job` is the title, on every tag.
#[test]
fn the_title_of_the_job_can_stand_on_tags() {
    let folder = with_wording("a4-24-64x34", "[[line]]\nfields = [\"job\"]\n");
    folder.done(&["tags", "--work"]);
    assert!(
        folder
            .tags("prints/run-0001")
            .iter()
            .all(|tag| tag.words().last().is_some_and(|line| line == "Marsh Hen bench"))
    );
}

/// Lines stand in the order of the file; on a label too small for all, the extra ones go first, the last of them before the
/// others.
#[test]
fn lines_are_given_up_by_worth_and_from_the_last() {
    let wording = |first: &str, second: &str, third: &str| {
        let line = |field: &str, worth: &str| format!("[[line]]\nfields = [\"{field}\"]\nworth = \"{worth}\"\n");
        let lines = [line("size", first), line("function", second), line("here", third), line("there", "vital")];
        format!("symbol = \"code\"\n{}", lines.concat())
    };
    let left_out = |stock: &str, wording: &str| {
        let fit = fit(&with_wording(stock, wording), "J1/14");
        fit["left_out"].as_array().unwrap().iter().map(text).collect::<Vec<_>>()
    };
    let roomy = with_wording("a4-24-64x34", &wording("extra", "extra", "extra"));
    roomy.done(&["tags", "--work"]);
    let tags = roomy.tags("prints/run-0001");
    let tag = tags.iter().find(|tag| tag.place() == "J1/14").unwrap();
    assert_eq!(tag.words(), ["0.5 mm²", "rail pressure signal", "J1 / 14", "J2 / 3"]);

    let small = "letter-80-44x13";
    let gone = left_out(small, &wording("extra", "extra", "extra"));
    assert!(!gone.is_empty() && gone.len() < 3 && gone.contains(&"here".to_owned()), "the last extra: {gone:?}");
    let gone = left_out(small, &wording("extra", "extra", "vital"));
    assert!(gone.contains(&"function".to_owned()) && !gone.contains(&"here".to_owned()), "{gone:?}");
    let gone = left_out(small, &wording("extra", "vital", "vital"));
    assert_eq!(gone, ["size"]);
}

#[test]
fn a_line_may_lose_words_where_the_wording_lets_it() {
    let wording = |shorten| {
        format!(
            "[[line]]\nfields = [\"function\"]\nshorten = {shorten}\nworth = \"vital\"\n[[line]]\nfields = [\"here\"]\nworth = \"vital\"\n[[line]]\nfields = [\"there\"]\nworth = \"vital\"\n"
        )
    };
    let list = crate::kit::SMALL_LIST
        .replace("rail pressure signal", "rail pressure signal of the high pressure pump behind the filter");
    let of = |shorten: bool| {
        let folder = with_wording("letter-80-44x13", &wording(shorten)).and("loom.csv", &list);
        fit(&folder, "J1/14")
    };
    let (shorter, whole) = (of(true), of(false));
    assert_eq!(
        (&shorter["shortened"][0], shorter["left_out"].as_array().unwrap().len()),
        (&"function".into(), 0),
        "{shorter:#}"
    );
    assert_eq!(whole["shortened"].as_array().unwrap().len(), 0);
    assert_eq!(whole["left_out"], serde_json::json!(["function"]), "what is not broken does not fit: {whole:#}");
}

/// Who wants no symbol is told nothing of it.
#[test]
fn without_a_symbol_nothing_is_said_of_symbols() {
    let line = "[[line]]\nfields = [\"function\"]\n";
    for faces in ["any", "same", "split"] {
        let folder = with_wording("a4-24-64x34", &format!("symbol = \"none\"\nfaces = \"{faces}\"\n{line}"));
        let fit = fit(&folder, "J1/14");
        assert!(fit["symbol"].is_null() && fit["symbol_note"].is_null(), "{fit:#}");
        let answer = folder.done(&["check", "--work"]);
        assert!(!answer.out.contains("no symbol") && !answer.out.contains("with a symbol"), "{}", answer.out);
        let printed = folder.done(&["tags", "--work"]).says("no symbols");
        assert!(!printed.out.contains("no symbol:") && !printed.out.contains("carry no"), "{}", printed.out);
        // Nothing stands alone on a face: both say all.
        let said = words(&folder);
        assert_eq!(said.iter().filter(|(word, _)| word == "rail").count(), 2, "{faces}: {said:?}");
    }
    // On sleeves and strips too.
    let strips = JobFolder::small()
        .and("job.toml", "[wording]\nround = \"mine\"\n")
        .and("templates/mine.toml", &format!("symbol = \"none\"\n{line}"));
    let answer = strips.done(&["tags", "--final"]).says("2 strips");
    assert!(!answer.out.contains("too thin"), "{}", answer.out);
}

/// Words on one face and the symbol on the other, or all on both.
#[test]
fn faces_are_shared_as_the_wording_has_it() {
    let symbols = |faces: &str| {
        let lines = "[[line]]\nfields = [\"function\"]\n[[line]]\nfields = [\"here\"]\n";
        let folder = with_wording("a4-24-64x34", &format!("faces = \"{faces}\"\n{lines}"));
        folder.done(&["tags", "--work"]);
        let tag = folder.tags("prints/run-0001").into_iter().find(|tag| tag.place() == "J1/14").unwrap();
        let functions = words(&folder).iter().filter(|(word, _)| word == "rail").count();
        (tag.symbols(), functions)
    };
    assert_eq!(symbols("same"), (2, 2));
    assert_eq!(symbols("split"), (1, 1));
}

/// `size` makes letters that many times as high, `lead` stands before the line, `letters` changes the face.
#[test]
fn lines_look_as_the_wording_has_it() {
    let wording = |size: &str| {
        format!(
            "symbol = \"code\"\n[[line]]\nfields = [\"here\"]\nlead = \"standing\"\nletters = \"code\"\nsize = {size}\n\
             [[line]]\nfields = [\"there\"]\nletters = \"code\"\n"
        )
    };
    for (size, ratio) in [("1.5", 1.5), ("1", 1.0), ("0.8", 0.8)] {
        let said = words(&with_wording("a4-24-64x34", &wording(size)));
        let height = |of: &str| {
            let found = said.iter().find(|(word, _)| word.starts_with(of));
            found.unwrap_or_else(|| panic!("`{of}` is not on the tag: {said:?}")).1
        };
        // Boxes are rounded to a thousandth of a point.
        assert!((height("J1") / height("J2") - ratio).abs() < 0.01, "{size}: {said:?}");
        assert!(height("standing") > 0.0, "the lead is printed");
    }
}
