//! Pages that are corrected for a printer, put through that printer: they land where they should.
//!
//! The printer is simulated by a program that knows nothing of us (`tests/outside/landing.py`): poppler renders the PDF, and the
//! picture is moved by (1.3, -0.8) mm and stretched by 0.985.

use loomtag::base::{Length, Point, Rect, Size, Turn};
use loomtag::layout::text::Fonts;
use loomtag::layout::{Frame, Item};
use loomtag::pages::{self, Geometry, Landing, Page, Placed, Stock, Trying};
use loomtag::{pdf, proof};
use serde_json::{Value, json};

use crate::kit::{JobFolder, script};
use crate::pdf_outside::sample;

const OFFSET: [f64; 2] = [1.3, -0.8];
const SCALE: f64 = 0.985;

fn printer() -> Landing {
    Landing::new(Point::new(Length::mm(OFFSET[0]), Length::mm(OFFSET[1])), SCALE, SCALE)
}

/// Areas of which the outlines are drawn: corner labels and a middle one of a sheet, what lies inside a label or a tube.
fn areas(stock: &Stock) -> Vec<Rect> {
    let inside = |size: Size, white: f64| Rect { origin: Point::ORIGIN, size }.inset(Length::mm(white));
    match stock.geometry() {
        Geometry::Sheet(sheet) => {
            let block = sheet.block();
            let labels: Vec<Rect> = sheet.outlines().map(|(area, _)| area).collect();
            let is_corner = |label: &&Rect| {
                let at_side = label.left() == block.left() || label.right() == block.right();
                at_side && (label.top() == block.top() || label.bottom() == block.bottom())
            };
            labels.iter().filter(is_corner).chain(labels.get(labels.len() / 2)).copied().collect()
        }
        Geometry::Roll(roll) => vec![inside(roll.label(), 4.0)],
        Geometry::Tube(tube) => vec![inside(Size::new(Length::mm(150.0), tube.size().lay_flat()), 3.0)],
        Geometry::Paper(size) => vec![inside(*size, 20.0)],
    }
}

fn outlines(stock: &Stock) -> (Page, Value) {
    let areas = areas(stock);
    let (size, window) = match stock.geometry() {
        Geometry::Sheet(sheet) => (sheet.page(), 6.0),
        Geometry::Roll(roll) => (roll.label(), 2.5),
        Geometry::Tube(tube) => (Size::new(Length::mm(150.0), tube.size().lay_flat()), 2.5),
        Geometry::Paper(size) => (*size, 6.0),
    };
    let outline = |area: &Rect| {
        let (weight, radius) = (Length::mm(0.1), Length::ZERO);
        let area = Rect { origin: Point::ORIGIN, size: area.size };
        Item::Outline { area, weight, radius }
    };
    // Every other one is drawn turned: correction must not depend on it.
    let placed = areas.iter().enumerate().map(|(number, area)| {
        let turn = if number % 2 == 0 { Turn::Upright } else { Turn::Anticlockwise };
        let size = if number % 2 == 0 { area.size } else { area.size.exchanged() };
        let area = Rect { origin: area.origin, size };
        let frame = Frame { size, items: vec![outline(&area)] };
        Placed { frame, at: area.origin, turn, name: format!("label {number}"), place: None }
    });
    let page = Page { size, placed: placed.collect(), ..Page::default() };
    let mut upright = Vec::new();
    let mut level = Vec::new();
    for area in &areas {
        let (x, y) = (area.left() + area.size.width.half(), area.top() + area.size.height.half());
        upright.extend([area.left(), area.right()].map(|at| [at.as_mm(), y.as_mm()]));
        level.extend([area.top(), area.bottom()].map(|at| [at.as_mm(), x.as_mm()]));
    }
    let told = told(&page, window, &upright, &level);
    (page, told)
}

fn told(page: &Page, window: f64, upright: &[[f64; 2]], level: &[[f64; 2]]) -> Value {
    let rect = |area: Rect| [area.left(), area.top(), area.size.width, area.size.height].map(Length::as_mm);
    let symbols = proof::Expected::on_page(1, page).map(|symbol| {
        let kind = if symbol.payload.starts_with("7KF4") && symbol.payload.len() < 6 { "data matrix" } else { "qr" };
        json!({ "kind": kind, "payload": symbol.payload, "area": rect(symbol.area), "quiet": symbol.quiet.as_mm() })
    });
    json!({
        "width": page.size.width.as_mm(),
        "height": page.size.height.as_mm(),
        "window": window,
        "upright": upright,
        "level": level,
        "symbols": symbols.collect::<Vec<_>>(),
    })
}

/// What the simulated printer makes of the pages, drawn for this one.
fn printed(pages: &[(Page, Value)], landing: Landing) -> Value {
    let document = pdf::Document { landing, ..pdf::Document::default() };
    let mut bytes = Vec::new();
    let mut writer = pdf::Writer::new(&mut bytes, &document).expect("a vector takes all bytes");
    for (page, _) in pages {
        writer.page(page).expect("a vector takes all bytes");
    }
    writer.finish().expect("a vector takes all bytes");
    simulated(&bytes, &pages.iter().map(|(_, told)| told).collect::<Vec<_>>())
}

/// What is found on the paper that the simulated printer makes of a PDF.
fn simulated(bytes: &[u8], pages: &[&Value]) -> Value {
    let expected = json!({ "printer": { "offset": OFFSET, "scale": [SCALE, SCALE] }, "pages": pages });

    let folder = tempfile::tempdir().expect("a temporary folder");
    let (file, should) = (folder.path().join("page.pdf"), folder.path().join("expected.json"));
    std::fs::write(&file, bytes).expect("written");
    std::fs::write(&should, expected.to_string()).expect("written");
    let paths = [&file, &should, &folder.path().to_owned()].map(|path| path.to_string_lossy().into_owned());
    let said = script("landing.py", &paths.each_ref().map(String::as_str));
    serde_json::from_str(&said).expect("the script answers in JSON")
}

#[test]
#[expect(clippy::print_stdout, reason = "how far pages are off is asked for with --nocapture")]
fn corrected_pages_land_within_a_tenth_of_a_millimetre() {
    for (name, lines, least) in
        [("a4-24-64x34", 20, 3.0), ("letter-30-67x25", 20, 3.0), ("roll-62x29", 4, 0.9), ("tube-12.7-6.4", 4, 0.9)]
    {
        let stock = Stock::builtin(name).expect("it comes with the program");
        let pages = [outlines(&stock)];
        let [corrected, as_it_is] = [printer(), Landing::TRUE].map(|landing| printed(&pages, landing));
        println!("{name}: off by {} at most as it is, by {} corrected", as_it_is["most"], corrected["most"]);
        assert_eq!(corrected["lines"], lines, "{name}");
        assert!(corrected["most"].as_f64().expect("a number") <= 0.1, "{name}: {corrected}");
        assert!(as_it_is["most"].as_f64().expect("a number") >= least, "{name}: {as_it_is}");
    }
}

/// Symbols keep their modules, stand where they should to half a module, and are read by others from what the printer made.
#[test]
fn symbols_of_corrected_pages_are_read() {
    let mut strip = sample::strip();
    // The foot of a page of 2.8 m is beyond what a printer that shrinks by 1.5 % is sent.
    strip.placed.truncate(40);
    let pages: Vec<_> = [sample::sheet(0, 24), sample::turns(), strip]
        .into_iter()
        .map(|page| {
            let told = told(&page, 1.0, &[], &[]);
            (page, told)
        })
        .collect();
    let all: usize = pages.iter().map(|(_, told)| told["symbols"].as_array().expect("symbols").len()).sum();
    assert_eq!(printed(&pages, printer())["symbols"], all);
}

/// The proof looks for symbols where they are sent, and finds them clear.
#[test]
fn the_proof_finds_symbols_where_they_are_sent() {
    let page = sample::sheet(0, 24);
    for landing in [printer(), Landing::new(Point::new(Length::mm(-2.0), Length::mm(3.0)), 1.02, 1.01)] {
        let document = pdf::Document { landing, ..pdf::Document::default() };
        let mut bytes = Vec::new();
        let mut writer = pdf::Writer::new(&mut bytes, &document).expect("a vector takes all bytes");
        writer.page(&page).expect("a vector takes all bytes");
        writer.finish().expect("a vector takes all bytes");
        let symbols: Vec<_> = proof::Expected::on_page(1, &page).map(|symbol| symbol.sent(&landing)).collect();
        let proof = proof::check(std::sync::Arc::new(bytes), &symbols, 300, &|_| ()).expect("a PDF");
        assert_eq!(proof.read, symbols.len(), "{:?}", proof.misses);
    }
}

/// What a person measures on a trial page: `[upright lines, level lines]`, each by where it was sent and where it is crossed. Line 3,
/// the ends of ruler 1; line 4, the ends of ruler 2.
fn to_measure(stock: &Stock, trying: Trying) -> (Size, [Vec<[f64; 2]>; 2]) {
    let page = pages::trial(stock, trying, "", &Fonts::new());
    let ruler = |is_across: bool| {
        let mut rules = page.marks.iter().filter_map(|mark| match mark {
            Item::Rule { from, to, .. } => Some((*from, *to)),
            _ => None,
        });
        let is_long = |(from, to): &(Point, Point)| match is_across {
            true => to.x - from.x == Length::mm(100.0),
            false => to.y - from.y == Length::mm(100.0),
        };
        rules.find(is_long).expect("a ruler").0
    };
    // Only the ticks of tens reach so far from a ruler, and only half a millimetre of them.
    let (across, down) = (ruler(true), ruler(false));
    let beyond = 2.65;
    let (x, y) = (across.x.as_mm(), across.y.as_mm() - beyond);
    let upright = vec![[10.0, 80.0], [x, y], [x + 100.0, y]];
    let (x, y) = (down.x.as_mm() - beyond, down.y.as_mm());
    let level = vec![[10.0, 50.0], [y, x], [y + 100.0, x]];
    (page.size, [upright, level])
}

/// The trial page goes through the printer, is measured to `step` mm and typed; then the corrected trial page goes through it too.
/// Gives by how much its lines and ruler ends are off at most, and the answer to what was typed.
fn measured_and_corrected(step: f64) -> (f64, Value) {
    let folder = JobFolder::small();
    let name = "a4-paper-strips";
    folder.done(&["stock", "trial", name]);
    let stock = Stock::builtin(name).expect("it comes with the program");
    let (size, lines) = to_measure(&stock, Trying::Printer);
    // Whoever measures finds the lines where they lie.
    let seen = |lines: &[[f64; 2]], this: usize, other: usize| -> Vec<[f64; 2]> {
        lines.iter().map(|[at, along]| [at * SCALE + OFFSET[this], along * SCALE + OFFSET[other]]).collect()
    };
    let page = |upright: &[[f64; 2]], level: &[[f64; 2]]| {
        json!({ "width": size.width.as_mm(), "height": size.height.as_mm(), "window": 2.0, "upright": upright, "level": level,
            "symbols": [] })
    };
    let found = simulated(
        &folder.bytes(&format!("trial/printer-{name}.pdf")),
        &[&page(&seen(&lines[0], 0, 1), &seen(&lines[1], 1, 0))],
    );
    let places: Vec<f64> = found["places"].as_array().expect("places").iter().filter_map(Value::as_f64).collect();
    let read = |value: f64| format!("{:.3}", (value / step).round() * step);
    let [left, x0, x100, top, y0, y100] = places[..] else { panic!("{found}") };
    let (across, down, left, top) = (read(x100 - x0), read(y100 - y0), read(left), read(top));
    let answer = folder.done(&[
        "stock",
        "measured",
        name,
        "--ruler-x",
        &across,
        "--ruler-y",
        &down,
        "--left",
        &left,
        "--top",
        &top,
        "--edges",
        "4,4,5,12",
        "--json",
    ]);

    folder.done(&["stock", "trial", name, "--corrected"]);
    let (_, lines) = to_measure(&stock, Trying::Correction);
    let corrected = folder.bytes(&format!("trial/printer-{name}-corrected.pdf"));
    let found = simulated(&corrected, &[&page(&lines[0], &lines[1])]);
    (found["most"].as_f64().expect("a number"), answer.json())
}

#[test]
#[expect(clippy::print_stdout, reason = "how far pages are off is asked for with --nocapture")]
fn what_is_measured_on_a_trial_page_puts_the_next_one_right() {
    let (fine, answer) = measured_and_corrected(0.01);
    let (coarse, _) = measured_and_corrected(0.1);
    println!("corrected by what was measured: off by {fine} at most; measured to 0.1 mm by {coarse}");
    let near = |found: &Value, should: f64, by: f64| (found.as_f64().expect("a number") - should).abs() <= by;
    assert!(
        near(&answer["offset_mm"]["x"], OFFSET[0], 0.03) && near(&answer["offset_mm"]["y"], OFFSET[1], 0.03),
        "{answer}"
    );
    assert!(near(&answer["scale"]["x"], SCALE, 0.0003) && near(&answer["scale"]["y"], SCALE, 0.0003), "{answer}");
    assert!(fine <= 0.1 && coarse <= 0.2, "{fine} {coarse}");
}

/// Tags of a whole run, corrected by job.toml, stand on paper where those of a printer that prints true stand: other programs read
/// every symbol there.
#[test]
fn tags_of_a_run_land_where_a_true_printer_puts_them() {
    for (stock, kind) in [("a4-24-64x34", "laser"), ("letter-30-67x25", "laser"), ("roll-62x29", "direct-thermal")] {
        let run = |landing: &str| {
            let settings = format!(
                "title = \"Marsh Hen\"\n[printer]\nkind = \"{kind}\"\ndpi = 300\n{landing}[tags]\nwork_stock = \"{stock}\"\n"
            );
            let folder = JobFolder::small().and("job.toml", &settings);
            folder.done(&["tags", "--all", "--work", "--no-connectors", "--out", "out"]);
            folder
        };
        let edges = "edges = { left = 3, right = 3, top = 3, bottom = 3 }\n";
        let edges = if stock.starts_with("roll") { "" } else { edges };
        let is_true = run(edges);
        let corrected = run(&format!(
            "{edges}offset = {{ x = {}, y = {} }}\nscale = {{ x = {SCALE}, y = {SCALE} }}\n",
            OFFSET[0], OFFSET[1]
        ));
        let size = page_size(stock);
        let pages = is_true.json("out/run.json")["files"][0]["pages"].as_u64().expect("a number");
        let symbols = |page: u64| -> Vec<Value> {
            let tags = is_true.tags("out").into_iter().filter(|tag| tag.json["page"] == page);
            let symbols = tags.flat_map(|tag| tag.json["symbols"].as_array().expect("symbols").clone());
            let symbol = |symbol: Value| json!({ "kind": "qr", "payload": symbol["says"], "area": symbol["area_mm"], "quiet": symbol["quiet_mm"] });
            symbols.map(symbol).collect()
        };
        let page = |number: u64| {
            json!({ "width": size.width.as_mm(), "height": size.height.as_mm(), "window": 1.0, "upright": [], "level": [],
                "symbols": symbols(number) })
        };
        let told: Vec<Value> = (1..=pages).map(page).collect();
        let pdf = corrected.bytes(&format!("out/work-{stock}.pdf"));
        let found = simulated(&pdf, &told.iter().collect::<Vec<_>>());
        let count = is_true.tags("out").iter().map(crate::kit::Tag::symbols).sum::<usize>();
        assert_eq!(found["symbols"], count, "{stock}");
        assert!(count >= 7, "{stock}: {count}");
    }
}

fn page_size(name: &str) -> Size {
    match Stock::builtin(name).expect("it comes with the program").geometry() {
        Geometry::Sheet(sheet) => sheet.page(),
        Geometry::Roll(roll) => roll.label(),
        other => panic!("{other:?}"),
    }
}
