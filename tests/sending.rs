//! Runs sent to a printer that is not ours: what arrives is the same page, of the right size, and its symbols can be read.
//!
//! The printer is `ippeveprinter` of the CUPS project (`tests/kit/printer.rs`); PWG raster is read by libcups and compared with what
//! poppler makes of the PDF (`tests/outside/raster.py`).

use std::fs;
use std::io::{Read as _, Write as _};
use std::net::TcpListener;
use std::thread;

use serde_json::json;

use crate::kit::printer::{Attributes, TestPrinter, free_port};
use crate::kit::{JobFolder, Tag, program, script};

/// Work tags of a small job on this stock, made for this printer of the job.
fn printed(stock: &str, printer: &str) -> JobFolder {
    let folder = JobFolder::small();
    let payload = "[payload]\nbase = \"HTTP://MARSHHEN.LOCAL:7117\"\n";
    let job = format!("title = \"Marsh Hen bench\"\n{payload}[printer]\n{printer}\n[tags]\nwork_stock = \"{stock}\"\n");
    folder.write("job.toml", job);
    folder.done(&["tags", "--all", "--work"]);
    folder
}

fn sheets() -> JobFolder {
    printed("a4-24-64x34", "kind = \"laser\"\ndpi = 600")
}

fn roll() -> JobFolder {
    printed("roll-62x29", "kind = \"direct-thermal\"\ndpi = 300")
}

const RUN: &str = "prints/run-0001";

/// Asks libcups, poppler and zxing-cpp whether the raster is the PDF.
#[track_caller]
fn same_dots(
    folder: &JobFolder,
    arrived: &std::path::Path,
    pdf: &str,
    (dpi, bits): (u32, u32),
    points: [u32; 2],
) -> String {
    let expected = json!({ "dpi": dpi, "bits": bits, "points": points, "turned": false });
    let said = same_dots_of(folder, arrived, pdf, &expected);
    assert!(!said.contains(" 0 symbols"), "{said}");
    said
}

#[track_caller]
fn same_dots_of(folder: &JobFolder, arrived: &std::path::Path, pdf: &str, expected: &serde_json::Value) -> String {
    let symbols: Vec<String> =
        folder.tags(RUN).iter().flat_map(|tag: &Tag| vec![tag.says(); tag.symbols()]).flatten().collect();
    let mut expected = expected.clone();
    expected["symbols"] = symbols.into();
    folder.write("expected.json", expected.to_string());
    let path = |path: std::path::PathBuf| path.to_string_lossy().into_owned();
    let work = tempfile::TempDir::new().expect("a temporary folder");
    let arguments = [
        path(arrived.to_owned()),
        path(folder.path().join(RUN).join(pdf)),
        path(folder.path().join("expected.json")),
        path(work.path().to_owned()),
    ];
    script("raster.py", &arguments.each_ref().map(String::as_str))
}

#[test]
fn a_printer_of_pdf_gets_the_very_bytes() {
    let (folder, printer) = (sheets(), TestPrinter::start(&Attributes::sheets()));
    let register = folder.bytes("register.db");
    folder.done(&["send", "--printer", &printer.address()]).says("is printed").says_nothing_of("scaling");
    let [arrived] = &printer.arrived()[..] else { panic!("one document:\n{}", printer.log()) };
    assert_eq!(arrived.format(), "application/pdf");
    assert!(
        fs::read(&arrived.path).expect("kept") == folder.bytes(&format!("{RUN}/work-a4-24-64x34.pdf")),
        "the same bytes"
    );
    for (name, value) in [
        ("MEDIA", "iso_a4_210x297mm"),
        ("PRINT_SCALING", "none"),
        ("SIDES", "one-sided"),
        ("PRINT_COLOR_MODE", "monochrome"),
        ("PRINTER_RESOLUTION", "600dpi"),
    ] {
        assert_eq!(arrived.told(name), Some(value), "{name}");
    }
    assert!(register == folder.bytes("register.db"), "the register is as it was");
}

#[test]
fn copies_and_colours_are_asked_for() {
    let (folder, printer) = (sheets(), TestPrinter::start(&Attributes::sheets()));
    folder.done(&["send", "--printer", &printer.address(), "--copies", "3", "--colour"]);
    let arrived = printer.arrived();
    assert_eq!(arrived[0].told("COPIES"), Some("3"));
    assert_eq!(arrived[0].told("PRINT_COLOR_MODE"), Some("color"));
}

#[test]
fn a_printer_of_raster_gets_the_same_dots() {
    let folder = printed("a4-24-64x34", "kind = \"laser\"\ndpi = 300");
    for (pixels, bits) in [("black_1", 1), ("sgray_8", 8)] {
        let attributes = Attributes { takes_pdf: false, pixels, resolutions: "300dpi", ..Attributes::sheets() };
        let printer = TestPrinter::start(&attributes);
        folder.done(&["send", "--again", "--printer", &printer.address()]);
        let [arrived] = &printer.arrived()[..] else { panic!("one document:\n{}", printer.log()) };
        assert_eq!((arrived.format(), arrived.told("PRINT_SCALING")), ("image/pwg-raster", Some("none")));
        // A4 is 595.28 x 841.89 points.
        let said = same_dots(&folder, &arrived.path, "work-a4-24-64x34.pdf", (300, bits), [595, 842]);
        assert!(said.starts_with("1 pages"), "{said}");
    }
}

/// Several pages, sent one after the other, in colour, on a label printer that takes no PDF.
#[test]
fn labels_of_a_roll_are_named_or_measured() {
    let folder = roll();
    let labels = folder.json(&format!("{RUN}/run.json"))["files"][0]["pages"].as_u64().expect("a number");
    for (attributes, bits, colour) in [
        (Attributes { takes_pdf: false, ..Attributes::roll() }, 1, false),
        (Attributes { takes_pdf: false, pixels: "srgb_8", ..Attributes::roll() }, 24, true),
    ] {
        let printer = TestPrinter::start(&attributes);
        let mut arguments = vec!["send", "--again", "--printer"];
        let address = printer.address();
        arguments.push(&address);
        arguments.extend(colour.then_some("--colour"));
        folder.done(&arguments);
        let arrived = printer.arrived();
        assert_eq!(arrived[0].told("MEDIA"), Some("om_address-label_62x29mm"));
        // 62 x 29 mm are 175.7 x 82.2 points.
        let said = same_dots(&folder, &arrived[0].path, "work-roll-62x29.pdf", (300, bits), [176, 82]);
        assert!(said.starts_with(&format!("{labels} pages")), "{said}");
    }
    // A printer that names no such size but takes any between two gets the measures.
    let attributes = Attributes {
        sizes: vec![(10200, 15200, "om_shipping-label_102x152mm")],
        custom: Some([1200, 1000, 10200, 300_000]),
        ..Attributes::roll()
    };
    let printer = TestPrinter::start(&attributes);
    folder.done(&["send", "--again", "--printer", &printer.address()]).says("om_shipping-label_102x152mm");
    let arrived = printer.arrived();
    assert_eq!(arrived[0].told("MEDIA"), None);
    assert_eq!(arrived[0].told("MEDIA_COL"), Some("{media-size={x-dimension=6200 y-dimension=2900}}"));
}

#[test]
fn a_size_that_the_printer_has_not_is_told_before_anything_is_sent() {
    let (folder, printer) = (roll(), TestPrinter::start(&Attributes::sheets()));
    let answer = folder.run(&["send", "--printer", &printer.address()]).ends_with(2);
    answer.says("62.0 x 29.0 mm").says("iso_a4_210x297mm");
    assert!(printer.arrived().is_empty());
}

#[test]
fn a_printer_that_does_not_tell_of_scaling_is_not_asked_and_told() {
    let (folder, printer) = (sheets(), TestPrinter::start(&Attributes { scaling: "", ..Attributes::sheets() }));
    folder.done(&["send", "--printer", &printer.address()]).says("without scaling").says("ruler");
    assert_eq!(printer.arrived()[0].told("PRINT_SCALING"), None);
}

#[test]
fn a_dry_run_prints_nothing() {
    let (folder, printer) = (sheets(), TestPrinter::start(&Attributes::sheets()));
    let answer = folder.done(&["send", "--dry-run", "--printer", &printer.address()]);
    for words in ["print-scaling = none", "media = iso_a4_210x297mm", "sides = one-sided", "document-format-supported"]
    {
        let _ = answer.out.find(words).unwrap_or_else(|| panic!("`{words}` in\n{}", answer.out));
    }
    assert!(printer.arrived().is_empty() && !folder.path().join(RUN).join("sent.json").exists());
}

/// The job is aborted when the printer's command ends with an error: the run can be sent again, and its codes are as they were.
#[test]
fn a_job_that_fails_leaves_the_run_as_it_was() {
    let folder = sheets();
    let (register, record) = (folder.bytes("register.db"), folder.bytes(&format!("{RUN}/run.json")));
    let printer = TestPrinter::start_with(&Attributes::sheets(), "exit 3");
    folder.run(&["send", "--printer", &printer.address()]).ends_with(1).says("given up by the printer");
    assert_eq!(printer.arrived().len(), 1);
    // Nothing has to be said to send it again; what was printed once is not sent a second time by mistake.
    let good = TestPrinter::start(&Attributes::sheets());
    folder.done(&["send", "--printer", &good.address()]);
    folder.run(&["send", "--printer", &good.address()]).ends_with(2).says("--again");
    folder.done(&["send", "--again", "--printer", &good.address()]);
    assert_eq!(good.arrived().len(), 2);
    assert!(register == folder.bytes("register.db") && record == folder.bytes(&format!("{RUN}/run.json")));
    let sent = folder.json(&format!("{RUN}/sent.json"));
    let ended: Vec<&str> = sent.as_array().expect("a list").iter().filter_map(|one| one["ended"].as_str()).collect();
    assert_eq!(ended, ["aborted", "completed", "completed"]);
}

#[test]
fn what_the_printer_lacks_is_told_in_plain_words() {
    let lacks = "echo 'STATE: +media-empty-error,cover-open' >&2\nsleep 2\necho 'STATE: -media-empty-error,cover-open' >&2\nsleep 1";
    let (folder, printer) = (sheets(), TestPrinter::start_with(&Attributes::sheets(), lacks));
    let answer = folder.done(&["send", "--printer", &printer.address()]);
    let answer = answer.says("a cover is open").says("used up").says("all is well again");
    answer.says_nothing_of("media-empty").says_nothing_of("cover-open");
}

#[test]
fn a_run_reaches_an_encrypted_printer() {
    let (folder, printer) = (sheets(), TestPrinter::start(&Attributes::sheets()));
    folder.done(&["send", "--printer", &printer.encrypted()]).says("is printed");
    assert!(printer.log().contains("HTTPS") || printer.log().contains("encrypted"), "{}", printer.log());
    assert_eq!(printer.arrived().len(), 1);
}

#[test]
fn printers_that_are_not_there_or_none() {
    let folder = sheets();
    let at = |address: &str| folder.run(&["send", "--printer", address]).ends_with(2);
    at(&format!("ipp://localhost:{}/ipp/print", free_port())).says("refuses the connection");
    at("ipp://no-such-printer.invalid/ipp/print").says("there is no host `no-such-printer.invalid`");
    at("http://localhost/").says("ipp://");
    let printer = TestPrinter::start(&Attributes::sheets());
    let wrong = printer.address().replace("/ipp/print", "/ipp/nowhere");
    at(&wrong).says("/ipp/print");
    assert!(printer.arrived().is_empty());
    at(&answering(b"HTTP/1.1 200 OK\r\ncontent-length: 5\r\n\r\nhello")).says("IPP");
    at(&answering(b"HTTP/1.1 401 Unauthorized\r\ncontent-length: 0\r\n\r\n")).says("password");
    at(&answering(b"SSH-2.0-bench\r\n")).says("IPP");
}

/// The address of something that answers this to whoever connects, once.
fn answering(bytes: &'static [u8]) -> String {
    let listener = TcpListener::bind("127.0.0.1:0").expect("a free port");
    let port = listener.local_addr().expect("an address").port();
    thread::spawn(move || {
        let Ok((mut stream, _)) = listener.accept() else { return };
        let mut asked = [0_u8; 4096];
        let _ = stream.read(&mut asked);
        let _ = stream.write_all(bytes);
    });
    format!("ipp://localhost:{port}/ipp/print")
}

/// Answers that would stop a careless reader: a text whose inner length is a lie, collections within collections that a group begins
/// anew, an answer that breaks off.
#[test]
fn no_answer_stops_the_program() {
    let folder = sheets();
    let head = [1, 1, 0, 0, 0, 0, 0, 1, 1];
    let value = |tag: u8, name: &str, value: &[u8]| {
        let length = |bytes: usize| u16::try_from(bytes).expect("short").to_be_bytes();
        [&[tag][..], &length(name.len()), name.as_bytes(), &length(value.len()), value].concat()
    };
    let lie = [&head[..], &value(0x35, "printer-info", &[0xff, 0xff, b'a']), &[3]].concat();
    let mut nested = [&head[..], &value(0x34, "media-col-database", b"")].concat();
    for number in 0..60_000 {
        if number % 6 == 0 {
            nested.push(4);
        }
        nested.extend(value(0x4a, "", b"a"));
        nested.extend(value(0x34, "", b""));
    }
    (0..60_000).for_each(|_| nested.extend(value(0x37, "", b"")));
    nested.push(3);
    for answer in [lie, nested, head.to_vec(), Vec::new(), [&head[..], &[3]].concat()] {
        let http =
            format!("HTTP/1.1 200 OK\r\ncontent-type: application/ipp\r\ncontent-length: {}\r\n\r\n", answer.len());
        let bytes: &'static [u8] = Box::leak([http.as_bytes(), &answer].concat().into_boxed_slice());
        folder.run(&["send", "--printer", &answering(bytes)]).ends_with(2).says_nothing_of("panicked");
    }
}

/// Heat-shrink tube goes to the printer that the job declares for it, and to no other.
#[test]
fn tube_goes_to_its_own_printer_alone() {
    let folder = JobFolder::small();
    let printer = TestPrinter::start(&Attributes {
        sizes: vec![(5100, 100_000, "om_tube_51x1000mm")],
        custom: Some([300, 1000, 5100, 300_000]),
        ..Attributes::roll()
    });
    let job = |sleeve: &str| {
        let tubes = "[tags]\nfinal = \"sleeve\"\n";
        format!(
            "title = \"Marsh Hen bench\"\n[printer]\nkind = \"laser\"\ndpi = 600\n[sleeve_printer]\nkind = \"thermal-transfer\"\ndpi = 300\n{sleeve}{tubes}"
        )
    };
    folder.write("job.toml", job(""));
    folder.done(&["tags", "--final"]);
    let record = folder.json(&format!("{RUN}/run.json"));
    assert!(record["files"][0]["stock"].as_str().expect("a stock").starts_with("tube-"), "{record}");
    folder
        .run(&["send", "--printer", &printer.address()])
        .ends_with(2)
        .says("[sleeve_printer]")
        .says("heat-shrink tube");
    folder.write("job.toml", job("address = \"ipp://elsewhere.invalid/ipp/print\"\n"));
    folder.run(&["send", "--printer", &printer.address()]).ends_with(2).says("heat-shrink tube");
    assert!(printer.arrived().is_empty());
    folder.write("job.toml", job(&format!("address = \"{}\"\n", printer.address())));
    let pdf = record["files"][0]["file"].as_str().expect("a name");
    // Two sizes of tube are not fed at once.
    folder.run(&["send"]).ends_with(2).says(&format!("one PDF at a time: {RUN}/{pdf}"));
    folder.done(&["send", &format!("{RUN}/{pdf}")]).says("is printed");
    let arrived = printer.arrived();
    let size = program("pdfinfo", &[&folder.path().join(RUN).join(pdf).to_string_lossy()]);
    let size = size.lines().find_map(|line| line.strip_prefix("Page size:")).expect("a size");
    let points: Vec<f64> = size.split_whitespace().filter_map(|word| word.parse().ok()).collect();
    let hundredths = |points: f64| (points / 72.0 * 2540.0).round();
    // The tube is fed lengthwise: what is wide on the page is long for the printer, which gets the dots turned.
    let size = format!("x-dimension={} y-dimension={}", hundredths(points[1]), hundredths(points[0]));
    assert_eq!(arrived[0].told("MEDIA_COL"), Some(&*format!("{{media-size={{{size}}}}}")));
    let points = [points[1].round(), points[0].round()];
    let expected = json!({ "dpi": 300, "bits": 1, "points": points, "turned": true });
    same_dots_of(&folder, &arrived[0].path, pdf, &expected);
}

#[test]
fn the_address_in_job_toml_is_checked_at_its_place() {
    let folder = sheets();
    folder.write("job.toml", "title = \"Marsh Hen bench\"\n[printer]\naddress = \"http://bench/\"\n");
    folder.run(&["send"]).ends_with(1).says("bad-printer-address").says("job.toml:3");
}

/// Within a few seconds, whether or not there are printers.
#[test]
fn looking_for_printers_ends() {
    let began = std::time::Instant::now();
    let answer = JobFolder::empty().run(&["send", "--find"]);
    assert!(began.elapsed().as_secs() < 15 && answer.code != 101, "{answer:?}");
    assert!(answer.out.contains("printer") || answer.err.contains("printer"), "{answer:?}");
}
