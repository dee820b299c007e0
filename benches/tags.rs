//! Speed and memory of tag making, as ratios against yardsticks that are measured in the same run.
//!
//! In: nothing; an invented harness is made here. Out: a table for a person to read, with what is asked of the program marked
//! PASS or FAIL.
//!
//! ```text
//! cargo bench --bench tags            all of it
//! cargo bench --bench tags -- memory  only parts whose name begins so
//! ```

mod kit;

use std::env;
use std::fmt::Display;
use std::fs::{self, File};
use std::hint::black_box;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::time::Duration;

use flate2::Compression;
use flate2::read::ZlibDecoder;
use flate2::write::ZlibEncoder;
use jiff::Timestamp;
use loomtag::circuits::{self, JobLists, List, ListSettings};
use loomtag::codes::Register;
use loomtag::labels::{Field, Label, Wording};
use loomtag::layout::symbol::Symbol;
use loomtag::layout::text::Fonts;
use loomtag::layout::words::Words;
use loomtag::layout::{Fitted, Item};
use loomtag::pages::Page;
use loomtag::proof::{self, Expected};
use tempfile::TempDir;

use kit::harness;
use kit::making::{DPI, Discard, Making, writer};
use kit::measure::{self, Took, median, shortest, took};
use kit::table::{heading, row};

const FEW: usize = 10_000;
const MANY: usize = 100_000;

/// Flags whose symbols are read back: enough for a steady mean.
const PROVED: usize = 960;

/// Level of compression that `pdf::writer` works with.
const DEFLATE: u32 = 5;

/// What is asked: most memory at [`MANY`] as a multiple of that at [`FEW`], least multiple of our processor time that the
/// yardstick takes, most time for the example job.
const MOST_MEMORY: f64 = 1.5;
const LEAST_SPEED: f64 = 10.0;
const MOST_TIME: Duration = Duration::from_millis(1500);

fn main() {
    let arguments: Vec<String> = env::args().skip(1).filter(|argument| argument != "--bench").collect();
    if let [child, ends] = &arguments[..]
        && [CHILD, READER].contains(&child.as_str())
    {
        return if child == CHILD { make_and_tell(ends.parse().expect("a number")) } else { read_and_tell(ends) };
    }
    let parts: [(&str, fn()); 6] = [
        ("flags", flags),
        ("memory", memory),
        ("stages", stages),
        ("example", example),
        ("lists", lists),
        ("register", register),
    ];
    for (name, part) in parts {
        if arguments.is_empty() || arguments.iter().any(|wanted| name.starts_with(wanted.as_str())) {
            part();
        }
    }
}

// --- the table ---------------------------------------------------------------------------------------------------------

fn verdict(what: impl Display, answer: impl Display, is_met: bool) {
    row(what, format!("{answer}  {}", if is_met { "PASS" } else { "FAIL" }));
}

fn microseconds(time: Duration, things: usize) -> f64 {
    time.as_secs_f64() * 1e6 / things as f64
}

fn megabytes(bytes: f64) -> f64 {
    bytes / f64::from(1 << 20)
}

// --- flags: this program beside a plain script --------------------------------------------------------------------------

fn flags() {
    heading("Flags with symbol and four lines, A4 sheets of 24 labels of 63.5 x 33.9 mm: labels, layout, pages, PDF");
    let mut ours = Took::default();
    for ends in [FEW, MANY] {
        let circuits = harness::circuits(ends);
        let issued = harness::codes(&circuits);
        let (written, time) = took(|| Making::new(&circuits, &issued).pdf(Discard));
        let speed = ends as f64 / time.wall.as_secs_f64();
        let size = megabytes(written.bytes as f64);
        row(format!("{ends} flags"), format!("{time}, {speed:.0} flags a second, {size:.1} MiB"));
        if ends == FEW {
            ours = time;
        }
    }
    match yardstick(FEW) {
        Ok(script) => {
            row(format!("{FEW} flags by benches/yardstick.py"), script);
            let ratio = script.cpu / ours.cpu;
            let asked = format!("{ratio:.1} times ours (at least {LEAST_SPEED})");
            verdict("  its processor time", asked, ratio >= LEAST_SPEED);
        }
        Err(lack) => row(format!("{FEW} flags by benches/yardstick.py"), format!("NOT MEASURED: {lack}")),
    }
}

/// The time that the plain script takes for the same flags, or what is missing for it.
#[expect(clippy::disallowed_methods, reason = "the script reads a file")]
fn yardstick(ends: usize) -> Result<Took, String> {
    let project = Path::new(env!("CARGO_MANIFEST_DIR"));
    let target = env::var_os("CARGO_TARGET_DIR").map_or_else(|| project.join("target"), PathBuf::from);
    let python = target.join("test-python/bin/python3");
    if !python.exists() {
        return Err(format!("{} is missing; `sh tests/run` makes it", python.display()));
    }
    let folder = TempDir::new().map_err(|error| error.to_string())?;
    let (rows, pdf) = (folder.path().join("rows.csv"), folder.path().join("tags.pdf"));
    fs::write(&rows, yardstick_rows(ends)).map_err(|error| error.to_string())?;
    let mut script = Command::new(python);
    script.arg(project.join("benches/yardstick.py")).args([&rows, &pdf]).stderr(Stdio::inherit());
    let output = script.output().map_err(|error| error.to_string())?;
    let answer: serde_json::Value = serde_json::from_slice(&output.stdout).map_err(|error| error.to_string())?;
    let seconds = |field: &str| answer[field].as_f64().ok_or(format!("the script tells no `{field}`"));
    if answer["labels"] != ends {
        return Err(format!("the script made {} labels", answer["labels"]));
    }
    Ok(Took { wall: Duration::from_secs_f64(seconds("wall_seconds")?), cpu: seconds("cpu_seconds")? })
}

/// The same labels as a table for the script.
fn yardstick_rows(ends: usize) -> String {
    let circuits = harness::circuits(ends);
    let issued = harness::codes(&circuits);
    let making = Making::new(&circuits, &issued);
    let rows = making.labels().map(|label| {
        let words = |field| label.text(field);
        let letter = label.name.letters()[0];
        let there = words(Field::There);
        let there = if there.starts_with('_') { "" } else { &there };
        let (function, here) = (words(Field::Function), words(Field::Here));
        let conductor = [words(Field::Conductor), words(Field::Fuse)].join(" ");
        let code = label.name.code().expect("tags of ends have codes");
        let circuit = words(Field::Circuit);
        let payload = label.payload.as_deref().unwrap_or_default();
        format!("{code},{letter},{function},{here},{there},{conductor},{circuit},{payload}\n")
    });
    std::iter::once("code,letter,function,here,there,conductor,circuit,payload\n".to_owned()).chain(rows).collect()
}

// --- memory: does not grow with the number of tags ----------------------------------------------------------------------

/// The argument that makes this program its own child.
const CHILD: &str = "--make-and-tell-memory";

fn memory() {
    heading("Most memory that tag making takes beside the circuits and their codes, in a process of its own");
    let sizes = [FEW, MANY].map(|ends| {
        let told = child(&[CHILD, &ends.to_string()]);
        match told {
            Some([before, peak]) => {
                let (circuits, making) = (megabytes(before), megabytes(peak - before));
                row(format!("{ends} flags"), format!("{making:6.1} MiB, circuits and codes {circuits:.1} MiB"));
            }
            None => row(format!("{ends} flags"), "NOT MEASURED: /proc/self/status and clear_refs are needed"),
        }
        told
    });
    if let [Some([few_before, few_peak]), Some([many_before, many_peak])] = sizes {
        let ratio = (many_peak - many_before) / (few_peak - few_before);
        let asked = format!("{ratio:.2} times as much (at most {MOST_MEMORY})");
        verdict(format!("  for {} times the flags", MANY / FEW), asked, ratio <= MOST_MEMORY);
    }
}

/// Memory before the work that is measured and at its peak, from a child process. What the child frees goes back to the
/// system at once, so that nothing is made in memory that the work before has left behind.
fn child(arguments: &[&str]) -> Option<[f64; 2]> {
    let mut child = Command::new(env::current_exe().ok()?);
    child.args(arguments).env("MALLOC_MMAP_THRESHOLD_", "65536").env("MALLOC_TRIM_THRESHOLD_", "65536");
    let output = child.stderr(Stdio::inherit()).output().ok()?;
    let told = String::from_utf8(output.stdout).ok()?;
    let numbers: Vec<f64> = told.split_whitespace().filter_map(|number| number.parse().ok()).collect();
    numbers.try_into().ok()
}

#[expect(clippy::print_stdout, reason = "the child tells its parent")]
fn make_and_tell(ends: usize) {
    let circuits = harness::circuits(ends);
    let issued = harness::codes(&circuits);
    let known = measure::memory().zip(measure::forget_peak());
    Making::new(&circuits, &issued).pdf(Discard);
    if let Some(((before, ()), peak)) = known.zip(measure::peak_memory()) {
        println!("{before} {peak}");
    }
}

// --- stages: where the time goes ---------------------------------------------------------------------------------------

fn stages() {
    heading(&format!("Where the time goes, microseconds a flag ({FEW} flags, each step alone, shortest of 3)"));
    let circuits = harness::circuits(FEW);
    let issued = harness::codes(&circuits);
    let making = Making::new(&circuits, &issued);
    let labels: Vec<Label> = making.labels().collect();
    let fitted: Vec<Fitted> = labels.iter().map(|label| making.fit(label)).collect();
    let pieces = || labels.iter().zip(&fitted).map(|(label, tag)| Making::piece(label, tag.frame.clone()));
    let mut pages: Vec<Page> = Vec::new();
    making.impose(pieces(), |page| pages.push(page));
    let mut pdf = Vec::new();
    write(&pages, &mut pdf);
    let streams = inflated(&pdf);

    let wording = shortest(3, || drop(making.labels().collect::<Vec<_>>()));
    let symbols = shortest(3, || labels.iter().for_each(|label| drop(symbol(label))));
    let shaping = shortest(3, || shape(&labels, &fitted, &making.wording));
    let fitting = shortest(3, || {
        // Shaped words are remembered, so each round begins without any.
        let making = Making::new(&circuits, &issued);
        labels.iter().for_each(|label| drop(making.fit(label)));
    });
    let placing = shortest(3, || making.impose(pieces(), drop));
    let writing = shortest(3, || write(&pages, Discard));
    let deflating = shortest(3, || streams.iter().for_each(|stream| drop(deflated(stream))));
    let whole = shortest(3, || _ = Making::new(&circuits, &issued).pdf(Discard));

    let steps = [
        ("words of the labels", wording),
        ("symbol encoding", symbols),
        ("shaping and measuring", shaping),
        ("fitting, without these two", fitting.saturating_sub(symbols + shaping)),
        ("placing on pages", placing),
        ("drawing and writing", writing.saturating_sub(deflating)),
        ("deflate", deflating),
    ];
    for (step, time) in steps {
        let share = time.as_secs_f64() / whole.as_secs_f64() * 100.0;
        row(step, format!("{:7.2}  {share:5.1} %", microseconds(time, FEW)));
    }
    let sum: Duration = steps.iter().map(|(_, time)| *time).sum();
    row("sum of the steps", format!("{:7.2}  {:5.1} %", microseconds(sum, FEW), sum.div_duration_f64(whole) * 100.0));
    row("all in one go", format!("{:7.2}  100.0 %", microseconds(whole, FEW)));
    for times in [4, 6] {
        let left = whole - symbols + symbols / times;
        let gain = (1.0 - left.div_duration_f64(whole)) * 100.0;
        row(format!("  a symbol encoder {times} times as fast would save"), format!("{gain:14.1} %"));
    }
    proof(&labels[..PROVED], &fitted[..PROVED], &making);
}

fn symbol(label: &Label) -> Option<Symbol> {
    Symbol::qr(label.payload.as_deref()?)
}

/// Shapes all that fitting shapes: the words, then the rows they are set in.
fn shape(labels: &[Label], fitted: &[Fitted], wording: &Wording) {
    let fonts = Fonts::new();
    for (label, tag) in labels.iter().zip(fitted) {
        Words::of(&fonts, label, wording.lines(label)).expect("the fonts have these characters");
        for item in &tag.frame.items {
            if let Item::Text(text) = item {
                let row: String = text.glyphs.iter().map(|glyph| glyph.text.as_str()).collect();
                fonts.shape(text.face, &row).expect("the fonts have these characters");
            }
        }
    }
}

fn write(pages: &[Page], out: impl Write) {
    let mut writer = writer(out);
    for page in pages {
        writer.page(page).expect("the sink takes all");
    }
    writer.finish().expect("the sink takes all");
}

/// The contents of all streams of a PDF of ours, which are all deflated.
fn inflated(pdf: &[u8]) -> Vec<Vec<u8>> {
    const OPENS: &[u8] = b"stream\n";
    let mut streams = Vec::new();
    let mut at = 0;
    while let Some(found) = pdf[at..].windows(OPENS.len()).position(|window| window == OPENS) {
        at += found + OPENS.len();
        let (mut decoder, mut stream) = (ZlibDecoder::new(&pdf[at..]), Vec::new());
        if decoder.read_to_end(&mut stream).is_ok() {
            at += decoder.total_in() as usize;
            streams.push(stream);
        }
    }
    streams
}

fn deflated(stream: &[u8]) -> Vec<u8> {
    let mut encoder = ZlibEncoder::new(Vec::new(), Compression::new(DEFLATE));
    encoder.write_all(stream).expect("a vector takes all bytes");
    encoder.finish().expect("a vector takes all bytes")
}

/// Reads back the symbols on both faces of these flags.
fn proof(labels: &[Label], fitted: &[Fitted], making: &Making<'_>) {
    let (mut pdf, mut expected, mut number) = (Vec::new(), Vec::new(), 0);
    let mut writer = writer(&mut pdf);
    let pieces = labels.iter().zip(fitted).map(|(label, tag)| Making::piece(label, tag.frame.clone()));
    making.impose(pieces, |page| {
        number += 1;
        expected.extend(Expected::on_page(number, &page));
        writer.page(&page).expect("the sink takes all");
    });
    writer.finish().expect("the sink takes all");
    let pdf = Arc::new(pdf);
    let (proof, time) = took(|| proof::check(pdf, &expected, DPI, &|_| ()).expect("a PDF of our own"));
    let (wall, cpu) = (microseconds(time.wall, expected.len()), time.cpu * 1e6 / expected.len() as f64);
    row("proof, a symbol", format!("{wall:7.0}  ({cpu:.0} of processor; pages are read in parallel)"));
    verdict("  symbols on both faces", &proof, proof.misses.is_empty());
    for miss in proof.misses.iter().take(3) {
        row("    not read back", miss);
    }
}

// --- the example job, with the program itself ---------------------------------------------------------------------------

fn example() {
    heading("The example job, with proof, by the program itself");
    let folder = TempDir::new().expect("a temporary folder");
    let job = folder.path().join("job");
    fs::create_dir(&job).expect("made");
    let example = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/marsh-hen");
    for entry in fs::read_dir(example).expect("listed") {
        let path = entry.expect("listed").path();
        if path.extension().is_some_and(|end| end == "csv" || end == "toml") {
            fs::copy(&path, job.join(path.file_name().expect("a file has a name"))).expect("copied");
        }
    }
    let mut answer = serde_json::Value::Null;
    let time = median(5, || {
        let mut program = Command::new(env!("CARGO_BIN_EXE_loomtag"));
        program.args(["tags", "--json", "--job"]).arg(&job);
        let output = program.output().expect("the program runs");
        answer = serde_json::from_slice(&output.stdout).unwrap_or_default();
    });
    let count = |pointer: &str| -> u64 {
        let files = answer["files"].as_array().into_iter().flatten();
        files.filter_map(|file| file.pointer(pointer)?.as_u64()).sum()
    };
    let (tags, read) = (count("/tags"), count("/symbols/read"));
    let asked = format!("{:.2} s (at most {:.1})", time.as_secs_f64(), MOST_TIME.as_secs_f64());
    verdict(format!("{tags} tags, {read} symbols read back, median of 5"), asked, time <= MOST_TIME && read > 0);
}

// --- lists beside a bare walk over their cells --------------------------------------------------------------------------

/// What is done with a chart of [`MANY`] rows, each beside the bare reading of the same file.
const READINGS: [(&str, &str); 4] = [
    ("csv-walk", "CSV: a bare walk over the cells (csv-core)"),
    ("csv", "CSV: circuits::read"),
    ("xlsx-walk", "XLSX: a bare walk over the cells (calamine)"),
    ("xlsx", "XLSX: circuits::read"),
];

/// The argument that makes this program its own child.
const READER: &str = "--read-and-tell-memory";

fn lists() {
    heading(&format!(
        "Reading and checking a chart of {MANY} rows; the most memory beside the file, in a process of its own"
    ));
    let (mut times, mut memory) = (Vec::new(), Vec::new());
    for (how, words) in READINGS {
        let file = chart_file(how);
        let mut found = 0;
        let time = shortest(3, || found = read_chart(how, &file));
        let most = child(&[READER, how]).map(|[before, peak]| peak - before);
        let shown = most.map_or("NOT MEASURED".to_owned(), |most| format!("{:6.1} MiB", megabytes(most)));
        let size = megabytes(file.len() as f64);
        row(words, format!("{:6.1} ms, {shown}; {found} found, file {size:.1} MiB", time.as_secs_f64() * 1e3));
        times.push(time);
        memory.push(most);
    }
    for (kind, at) in [("CSV", 0), ("XLSX", 2)] {
        let ratio = match (memory[at], memory[at + 1]) {
            (Some(walk), Some(read)) if walk > 1e6 => format!(", memory {:.1} times", read / walk),
            _ => String::new(),
        };
        let time = times[at + 1].div_duration_f64(times[at]);
        row(format!("  {kind} as a multiple of the walk"), format!("{time:6.1}{ratio}"));
    }
    row("  XLSX as a multiple of CSV", format!("{:6.1}", times[3].div_duration_f64(times[1])));
}

fn chart_file(how: &str) -> Vec<u8> {
    if how.starts_with("csv") { harness::chart(MANY) } else { harness::workbook(MANY) }
}

/// How many cells or circuits there are.
fn read_chart(how: &str, file: &[u8]) -> usize {
    match how {
        "csv-walk" => black_box(cells(file)),
        "xlsx-walk" => {
            let mut workbook: calamine::Xlsx<_> =
                calamine::Reader::new(std::io::Cursor::new(file)).expect("a workbook");
            let mut reader = workbook.worksheet_cells_reader("bench").expect("a sheet");
            let mut count = 0;
            while let Some(cell) = reader.next_cell().expect("sound") {
                black_box(cell);
                count += 1;
            }
            count
        }
        _ => {
            let list = List { name: "bench".to_owned(), bytes: file.to_vec(), settings: ListSettings::default() };
            let read = circuits::read(&JobLists::of(std::slice::from_ref(&list)));
            assert!(!read.has_errors(), "{:?}", read.problems);
            read.value.all().len()
        }
    }
}

#[expect(clippy::print_stdout, reason = "the child tells its parent")]
fn read_and_tell(how: &str) {
    let file = chart_file(how);
    let known = measure::memory().zip(measure::forget_peak());
    read_chart(how, &file);
    if let Some(((before, ()), peak)) = known.zip(measure::peak_memory()) {
        println!("{before} {peak}");
    }
}

/// How many cells there are.
fn cells(mut bytes: &[u8]) -> usize {
    use csv_core::ReadFieldResult;
    let (mut reader, mut cell, mut count) = (csv_core::Reader::new(), [0; 1024], 0);
    loop {
        let (result, taken, _) = reader.read_field(bytes, &mut cell);
        bytes = &bytes[taken..];
        match result {
            ReadFieldResult::Field { .. } => count += 1,
            ReadFieldResult::End => return count,
            ReadFieldResult::InputEmpty | ReadFieldResult::OutputFull => {}
        }
    }
}

// --- the register on disk ------------------------------------------------------------------------------------------------

#[expect(clippy::disallowed_methods, reason = "the disk is measured")]
fn register() {
    let circuits = harness::circuits(FEW * 17 / 9);
    let count = circuits.all().len();
    heading(&format!("The register: codes for {count} circuits, on disk"));
    let folder = TempDir::new().expect("a temporary folder");
    let path = folder.path().join("register.db");
    let issue = || {
        let mut register = Register::open(&path).expect("opened");
        register.issue(&circuits, Timestamp::UNIX_EPOCH).expect("issued")
    };
    let (first, new) = took(issue);
    let (again, known) = took(issue);
    assert_eq!(first, again, "codes stay");
    let size = File::open(&path).and_then(|file| file.metadata()).map_or(0, |about| about.len());
    row("into a new file", format!("{new}, {:.1} MiB", megabytes(size as f64)));
    row("again, nothing new", known);
    row(
        "  opening and issuing, a circuit",
        format!("{:.1} microseconds, then {:.1}", microseconds(new.wall, count), microseconds(known.wall, count)),
    );
}
