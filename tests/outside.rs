//! Whole print runs, looked at by programs that know nothing of us: qpdf, poppler, pikepdf, fontTools, zxing-cpp, zbar.

use crate::kit::{JobFolder, Tag, program, project, script};

/// Asks the other programs about a run, and that they read as many symbols as run.json tells.
#[track_caller]
fn is_sound(folder: &JobFolder, run: &str) {
    let tags = folder.tags(run);
    let symbols: usize = tags.iter().map(Tag::symbols).sum();
    let mut files: Vec<String> = tags.into_iter().map(|tag| tag.file).collect();
    files.dedup();
    let path = |path: std::path::PathBuf| path.to_string_lossy().into_owned();
    let said = script(
        "printed.py",
        &[&path(folder.path().join(run)), &path(project().join("templates/stock")), &path(project().join("fonts"))],
    );
    assert_eq!(said, format!("{} files sound, {symbols} symbols read", files.len()));
}

#[test]
fn the_example_is_sound() {
    let folder = JobFolder::example();
    folder.done(&["tags", "--out", "out"]);
    is_sound(&folder, "out");
}

/// One stock of each sort beside the example's: split labels, plain paper with cut lines, a small roll, US Letter.
#[test]
fn other_stocks_are_sound() {
    for (stock, printer) in [
        ("a4-8-99x68-split4", "kind = \"laser\"\ndpi = 600"),
        ("a4-paper-33-60x24", "kind = \"inkjet\"\ndpi = 600"),
        ("roll-62x29", "kind = \"direct-thermal\"\ndpi = 300"),
        ("letter-10-102x51-split2", "kind = \"laser\"\ndpi = 1200"),
    ] {
        let folder = JobFolder::small();
        folder.write(
            "job.toml",
            format!("title = \"Marsh Hen bench\"\n[printer]\n{printer}\n[tags]\nwork_stock = \"{stock}\"\n"),
        );
        folder.done(&["tags", "--all", "--work", "--out", "out"]);
        is_sound(&folder, "out");
    }
}

/// The codes, functions and places of a page can be searched for and copied.
#[test]
fn a_person_can_search_the_pdf() {
    let folder = JobFolder::small();
    folder.done(&["tags", "--work", "--out", "out"]);
    let pdf = folder.path().join("out/work-a4-paper-33-60x24.pdf");
    let text = program("pdftotext", &["-layout", &pdf.to_string_lossy(), "-"]);
    for tag in folder.tags("out") {
        assert!(text.contains(&tag.name()), "{} in\n{text}", tag.name());
    }
    for words in ["glow plug supply", "rail pressure signal", "J1 / 14", "J2 / 3", "BU/WH", "100 mm"] {
        assert!(text.contains(words), "`{words}` in\n{text}");
    }
}

#[test]
fn title_and_page_size_are_told_to_any_viewer() {
    let folder = JobFolder::example();
    folder.done(&["tags", "--work", "--no-proof", "--out", "out"]);
    let pdf = folder.path().join("out/work-a4-24-64x34.pdf");
    let info = program("pdfinfo", &[&pdf.to_string_lossy()]);
    assert!(info.contains("Title:           Marsh Hen repower"), "{info}");
    assert!(info.contains("Page size:       595.276 x 841.89 pts (A4)"), "{info}");
}
