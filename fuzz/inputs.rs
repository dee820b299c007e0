//! What hostile input is tried on: the bytes of a file, or of a typed or scanned text, come in; nothing may come out but an
//! answer. The fuzz targets call these, and so does a test with every input that lies in `corpus`.
#![allow(dead_code, reason = "each target uses one of these")]

use std::io::{Cursor, Write};
use std::path::Path;
use std::sync::{Arc, LazyLock};

use loomtag::base::{EndLetter, Place, Purpose, Source, TagCode};
use loomtag::circuits::{self, Action, ActionRule, JobLists, List, ListSettings};
use loomtag::codes::export::ExportFile;
use loomtag::codes::import;
use loomtag::codes::{LinkBase, Payload, Register, link};
use loomtag::labels::{Sources, Subject, Wording};
use loomtag::pages::Stock;
use loomtag::run::recall::{Recall, TagTexts};
use loomtag::run::{Choice, Job};
use loomtag::{base, proof};

/// A list whose first byte tells how it is meant, and connectors.csv behind a byte that no text has.
pub fn lists(bytes: &[u8]) {
    let Some((&how, rest)) = bytes.split_first() else { return };
    let mut parts = rest.split(|&byte| byte == 0xff);
    let list = |name: &str, bytes: &[u8]| {
        let form = match how % 3 {
            0 => None,
            1 => Some(circuits::Form::Chart),
            _ => Some(circuits::Form::Wire),
        };
        let connector = (how & 4 != 0).then(|| base::ConnectorId::from_cell("J1")).flatten();
        let settings = ListSettings { form, connector, ..ListSettings::default() };
        List { name: name.to_owned(), bytes: bytes.to_vec(), settings }
    };
    let all = [list("one.csv", parts.next().unwrap_or_default()), list("two.csv", parts.next().unwrap_or_default())];
    let connectors =
        parts.next().map(|bytes| List { settings: ListSettings::default(), ..list("connectors.csv", bytes) });
    read(&all, connectors.as_ref());
}

/// Reads lists; what comes of them must be fit for codes, and every problem for being told.
fn read(lists: &[List], connectors: Option<&List>) {
    let rules = [ActionRule::always(Action::Keep, base::Origin::whole(&Source::new("job.toml", "")))];
    let read = circuits::read(&JobLists { lists, connectors, rules: &rules });
    let told = loomtag::terminal::problems::full(&read.problems, loomtag::terminal::problems::Colouring::Plain);
    let _ = (told, loomtag::terminal::problems::one_line(&read.problems));
    if read.value.all().len() < 50 {
        let issued = Register::in_memory().and_then(|register| register.preview(&read.value));
        let issued = issued.expect("what lists are read into can be given codes");
        let payload = Payload::Text;
        let sources = Sources { circuits: &read.value, issued: &issued, payload: &payload, title: "Marsh Hen" };
        for purpose in [Purpose::Work, Purpose::Final] {
            let subjects = Choice::default().select(&read.value, &issued, purpose).subjects;
            let _: Vec<_> = subjects.iter().map(|subject: &Subject| sources.label(purpose, subject)).collect();
        }
    }
}

/// A workbook: as it is, or put together from the parts that lie between bytes that no text has.
pub fn workbooks(bytes: &[u8]) {
    let Some((&how, rest)) = bytes.split_first() else { return };
    let parts: Vec<&[u8]> = rest.split(|&byte| byte == 0xff).collect();
    let names: &[&str] = match how % 3 {
        0 => return workbook("book.xlsx", rest.to_vec()),
        1 => &[
            "xl/worksheets/sheet1.xml",
            "xl/sharedStrings.xml",
            "xl/styles.xml",
            "xl/workbook.xml",
            "xl/_rels/workbook.xml.rels",
            "[Content_Types].xml",
        ],
        _ => &["content.xml", "mimetype", "META-INF/manifest.xml"],
    };
    let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let stored = zip::write::SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
    for (at, name) in names.iter().enumerate() {
        let part = parts.get(at).filter(|part| !part.is_empty()).copied().unwrap_or_else(|| usual_part(name));
        if zip.start_file(*name, stored).and_then(|()| Ok(zip.write_all(part)?)).is_err() {
            return;
        }
    }
    if let Ok(file) = zip.finish() {
        workbook(if how % 3 == 1 { "book.xlsx" } else { "book.ods" }, file.into_inner());
    }
}

fn workbook(name: &str, bytes: Vec<u8>) {
    read(&[List { name: name.to_owned(), bytes, settings: ListSettings::default() }], None);
}

/// A sound part, so that the one under trial is reached.
fn usual_part(name: &str) -> &'static [u8] {
    match name {
        "xl/workbook.xml" => {
            br#"<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="J1" sheetId="1" r:id="rId1"/></sheets></workbook>"#
        }
        "xl/_rels/workbook.xml.rels" => {
            br#"<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/><Relationship Id="rId2" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/sharedStrings" Target="sharedStrings.xml"/><Relationship Id="rId3" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/styles" Target="styles.xml"/></Relationships>"#
        }
        "xl/sharedStrings.xml" => {
            br#"<sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><si><t>connector</t></si><si><t>cavity</t></si><si><t>J1</t></si></sst>"#
        }
        "mimetype" => b"application/vnd.oasis.opendocument.spreadsheet",
        "META-INF/manifest.xml" => {
            br#"<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"/>"#
        }
        _ => b"",
    }
}

/// job.toml.
pub fn job(bytes: &[u8]) {
    if let Ok(text) = std::str::from_utf8(bytes) {
        let job = Job::from_text(Path::new("marsh-hen"), text);
        let _ = loomtag::terminal::problems::one_line(&job.problems);
    }
}

/// Stock files and wordings.
pub fn templates(bytes: &[u8]) {
    let Some((&which, rest)) = bytes.split_first() else { return };
    let Ok(text) = std::str::from_utf8(rest) else { return };
    if which % 2 == 0 {
        let stock = Stock::from_toml(&Source::new("stock/own.toml", text));
        if let Some(stock) = stock.value.filter(|_| !base::problem::has_errors(&stock.problems)) {
            let _ = (stock.label(0), stock.suits(Purpose::Work, loomtag::pages::PrinterKind::Laser));
        }
    } else {
        let wording = Wording::from_toml(&Source::new("templates/own.toml", text));
        if let Some(wording) = wording.value.filter(|_| !base::problem::has_errors(&wording.problems)) {
            let job = &*JOB;
            let sources = Sources { circuits: &job.circuits, issued: &job.issued, payload: &Payload::Text, title: "" };
            for subject in Choice::default().select(&job.circuits, &job.issued, Purpose::Work).subjects {
                let _ = wording.lines(&sources.label(Purpose::Work, &subject));
            }
        }
    }
}

/// A small job to ask.
struct SmallJob {
    circuits: circuits::Circuits,
    issued: loomtag::codes::Issued,
    recall: Recall,
}

static JOB: LazyLock<SmallJob> = LazyLock::new(|| {
    let text = "connector,cavity,circuit,function,colour,action\nJ1,1,E14,rail pressure,BU/WH,cut\nJ1,2,E15,engine speed,GN,keep\n\
                B10,1,E14,,,cut\n";
    let list = List { name: "j1.csv".to_owned(), bytes: text.into(), settings: ListSettings::default() };
    let circuits = circuits::read(&JobLists::of(&[list])).value;
    let mut register = Register::in_memory().expect("there is memory");
    let issued = register.issue(&circuits, jiff_epoch()).expect("codes can be issued");
    let records = register.records().expect("it can be read");
    let texts = TagTexts::new(&circuits, &issued, &records, &Payload::Text, [String::from("FQGB A rail pressure")]);
    let recall = Recall::new(&circuits, &issued, &records, texts);
    SmallJob { circuits, issued, recall }
});

fn jiff_epoch() -> jiff::Timestamp {
    jiff::Timestamp::UNIX_EPOCH
}

/// What somebody types: codes, letters, places, words.
pub fn codes(bytes: &[u8]) {
    let Ok(typed) = std::str::from_utf8(bytes) else { return };
    if let Ok((code, letter)) = TagCode::from_typed_with_letter(typed) {
        let shown = letter.map_or_else(|| code.to_string(), |letter| format!("{code} {letter}"));
        assert_eq!(TagCode::from_typed_with_letter(&shown), Ok((code, letter)), "a code is typed as it is shown");
    }
    let _ = (EndLetter::from_typed(typed), Place::from_typed(typed), LinkBase::from_typed(typed));
    let words: Vec<String> = typed.split(' ').map(str::to_owned).collect();
    let _ = (JOB.recall.find(&words), JOB.recall.unknown_words(&words), JOB.recall.tags_named(&words));
    let _ = JOB.recall.nearest(typed);
}

/// What a symbol may say.
pub fn payloads(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let _ = (link::from_scanned(text), link::names_mark(text), JOB.recall.by_scanned(text));
}

/// An export of a register: its files lie between bytes that no text has, each with its name on the first line.
pub fn exports(bytes: &[u8]) {
    let file = |part: &[u8]| {
        let end = part.iter().position(|&byte| byte == b'\n').unwrap_or(part.len());
        let name = String::from_utf8_lossy(&part[..end]).into_owned();
        ExportFile { name, bytes: part.get(end + 1..).unwrap_or_default().to_vec() }
    };
    let files = bytes.split(|&byte| byte == 0xff).take(30).map(file).collect();
    let read = import::read(files).expect("there is memory");
    if let Some(import) = read.value {
        import.register.records().expect("what was imported can be read");
    }
}

/// A PDF that nothing is known of.
pub fn pdfs(bytes: &[u8]) {
    let _ = proof::read_pdf(Arc::new(bytes.to_vec()));
}

/// A photograph.
pub fn pictures(bytes: &[u8]) {
    let _ = proof::read_image(bytes);
}

/// The reading of PDFs and pictures contains the panics of the libraries it uses; a fuzzer would end at them.
pub fn let_contained_panics_be() {
    std::panic::set_hook(Box::new(|_| {}));
}

/// Ends the process at a panic that was not contained.
pub fn escaped(input: impl FnOnce() + std::panic::UnwindSafe) {
    if std::panic::catch_unwind(input).is_err() {
        std::process::abort();
    }
}
