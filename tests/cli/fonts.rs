//! `[fonts] fallback` of job.toml: what is wrong with a font file is told where it is named.

use crate::kit::{JobFolder, project};

const LIST: &str = "connector,cavity,function,action\nJ1,1,油圧,cut\n";

fn folder(fallback: &str) -> JobFolder {
    JobFolder::with(&[("loom.csv", LIST), ("job.toml", &format!("[fonts]\nfallback = [{fallback}]\n"))])
}

fn fira() -> Vec<u8> {
    std::fs::read(project().join("fonts/FiraSansCondensed-Medium.ttf")).expect("there")
}

#[test]
fn a_character_without_a_font_is_told_with_the_remedy() {
    let folder = folder("");
    folder
        .done(&["check"])
        .says("function left out: the fonts have no `油` (U+6CB9); name a font file that has it")
        .says("fallback` in job.toml");
    // Whoever prints without a check is told as well, in a run and before it.
    for arguments in [&["tags", "--work", "--dry-run"][..], &["tags", "--work"]] {
        folder.done(arguments).says("function left out: the fonts have no `油` (U+6CB9)");
    }
}

#[test]
fn files_that_are_no_fonts_are_problems_in_job_toml() {
    let folder = folder("\"fonts/none.ttf\", \"loom.csv\", \"own.ttf#3\", \"fonts\", \"half.ttf\"");
    folder.write("own.ttf", fira());
    folder.write("half.ttf", &fira()[..20_000]);
    folder.write("fonts/readme.txt", "put fonts here");
    let answer = folder.run(&["check"]).ends_with(1);
    for (place, words) in [
        ("job.toml:2:13", "error[font-not-found]: the job folder holds no `fonts/none.ttf`"),
        ("job.toml:2:31", "error[unusable-font]: `loom.csv` is not a font file (.ttf, .otf or .ttc)"),
        ("job.toml:2:43", "error[unusable-font]: `own.ttf` has no face number 3"),
        ("job.toml:2:56", "error[unreadable-font]: `fonts` cannot be read"),
        ("job.toml:2:65", "error[unusable-font]: `half.ttf`"),
    ] {
        let told = answer.err.find(words).or_else(|| answer.out.find(words));
        assert!(told.is_some() && (answer.out.contains(place) || answer.err.contains(place)), "{words}: {answer:?}");
    }
}

/// The licence bits stand in the OS/2 table at byte 8: 2 is "restricted".
#[test]
fn a_font_that_may_not_be_embedded_is_refused() {
    let mut font = fira();
    let records = u16::from_be_bytes([font[4], font[5]]) as usize;
    let record = (0..records).map(|n| 12 + 16 * n).find(|&at| &font[at..at + 4] == b"OS/2").expect("there");
    let table = u32::from_be_bytes(font[record + 8..record + 12].try_into().unwrap()) as usize;
    font[table + 9] = 2;
    let folder = folder("\"own.ttf\"");
    folder.write("own.ttf", font);
    folder
        .run(&["check"])
        .ends_with(1)
        .says("error[font-not-licensed]: `own.ttf` may not be embedded: its licence bits forbid it")
        .says("name a font under an open licence");
}
