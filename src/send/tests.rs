//! Printers that answer oddly: whatever comes, the program must go on.

use ipp::attribute::IppAttribute;
use ipp::model::{DelimiterTag, IppVersion, StatusCode};
use ipp::request::IppRequestResponse;
use ipp::value::{IppName, IppValue};
use proptest::prelude::*;

use super::answer::Answer;
use super::follow::Ending;
use super::supported::{ASKED, Supported};
use super::ticket::{Format, Lie, Ticket, Wanted};
use crate::base::{Length, Size};

fn wanted(width: f64, height: f64) -> Wanted {
    let size = Size { width: Length::mm(width), height: Length::mm(height) };
    Wanted { size, is_along: false, dpi: 300, copies: 1, is_colour: false }
}

fn answer(attributes: Vec<(&str, IppValue)>) -> Answer {
    let mut response =
        IppRequestResponse::new_response(IppVersion::v1_1(), StatusCode::SuccessfulOk, 1).expect("a response");
    for (name, value) in attributes {
        let attribute = IppAttribute::with_name(name, value).expect("a short name");
        response.attributes_mut().add(DelimiterTag::PrinterAttributes, attribute);
    }
    Answer::read(response.to_bytes().to_vec()).expect("our own bytes")
}

fn keywords(words: &[&str]) -> IppValue {
    IppValue::Array(words.iter().map(|word| IppValue::new_keyword(*word).expect("short")).collect())
}

fn media_type(word: &str) -> IppValue {
    IppValue::new_mime_media_type(word).expect("short")
}

fn lines(wanted: &Wanted, attributes: Vec<(&str, IppValue)>) -> Vec<String> {
    Ticket::new(wanted, &Supported::of(&answer(attributes))).expect("it is taken").lines()
}

#[test]
fn nothing_is_asked_that_is_not_listed() {
    let little = vec![
        ("document-format-supported", media_type("application/pdf")),
        ("media-supported", keywords(&["iso_a4_210x297mm"])),
    ];
    let a4 = wanted(210.0, 297.0);
    let asked = lines(&a4, little.clone());
    assert_eq!(
        asked,
        ["document-format = application/pdf", "ipp-attribute-fidelity = true", "media = iso_a4_210x297mm"]
    );
    let notes = Ticket::new(&a4, &Supported::of(&answer(little.clone()))).expect("taken").notes;
    assert!(notes.iter().any(|note| note.contains("measure the ruler")), "{notes:?}");

    let mut more = little;
    more.push(("print-scaling-supported", keywords(&["fit", "none"])));
    more.push(("sides-supported", keywords(&["one-sided"])));
    more.push(("print-color-mode-supported", keywords(&["color", "monochrome"])));
    more.push(("printer-resolution-supported", IppValue::Resolution { cross_feed: 300, feed: 300, units: 3 }));
    more.push(("copies-supported", IppValue::RangeOfInteger { min: 1, max: 99 }));
    assert_eq!(
        lines(&Wanted { copies: 2, ..a4 }, more)[2..],
        [
            "media = iso_a4_210x297mm",
            "print-scaling = none",
            "copies = 2",
            "print-color-mode = monochrome",
            "sides = one-sided",
            "printer-resolution = 300 x 300 dots an inch",
        ]
    );
}

#[test]
fn a_size_between_two_goes_by_media_col() {
    let range = |min, max| IppValue::RangeOfInteger { min, max };
    let name = |name: &str| IppName::new(name).expect("short");
    let members = [(name("x-dimension"), range(1000, 6200)), (name("y-dimension"), range(1000, 100_000))];
    let size = IppValue::Collection(members.into_iter().collect());
    let roll = || {
        vec![
            ("document-format-supported", media_type("application/pdf")),
            ("media-size-supported", size.clone()),
            ("media-supported", keywords(&["roll_min_10x10mm", "roll_max_62x1000mm"])),
        ]
    };
    let by_name = lines(&wanted(62.0, 29.5), roll());
    assert_eq!(by_name[2], "media = custom_62x29.5mm_62x29.5mm");
    let mut with_col = roll();
    with_col.push(("media-col-supported", keywords(&["media-size", "media-type"])));
    let by_col = lines(&wanted(62.0, 29.5), with_col);
    assert_eq!(by_col[2], "media-col = { media-size = { x-dimension = 6200, y-dimension = 2950 } }");
    let refused = Ticket::new(&wanted(80.0, 29.5), &Supported::of(&answer(roll()))).expect_err("too wide");
    assert!(refused.to_string().contains("no paper or labels of 80.0 x 29.5 mm"), "{refused}");
}

/// PWG 5100.7: some printers tell the ranges of their sizes in media-col-database alone.
#[test]
fn sizes_of_the_database_count() {
    let name = |name: &str| IppName::new(name).expect("short");
    let collection = |members: Vec<(&str, IppValue)>| {
        IppValue::Collection(members.into_iter().map(|(member, value)| (name(member), value)).collect())
    };
    let size = collection(vec![
        ("x-dimension", IppValue::RangeOfInteger { min: 1000, max: 6200 }),
        ("y-dimension", IppValue::RangeOfInteger { min: 1000, max: 100_000 }),
    ]);
    let asked = lines(
        &wanted(62.0, 29.0),
        vec![
            ("document-format-supported", media_type("application/pdf")),
            ("media-col-database", collection(vec![("media-size", size), ("media-top-margin", IppValue::Integer(0))])),
            ("media-col-supported", keywords(&["media-size"])),
        ],
    );
    assert_eq!(asked[2], "media-col = { media-size = { x-dimension = 6200, y-dimension = 2900 } }");
}

#[test]
fn raster_is_finer_than_wanted_or_as_fine_as_can_be() {
    let dpi = |dpi| IppValue::Resolution { cross_feed: dpi, feed: dpi, units: 3 };
    let raster = |dpis: Vec<IppValue>| {
        let supported = Supported::of(&answer(vec![
            ("document-format-supported", media_type("image/pwg-raster")),
            ("media-supported", keywords(&["iso_a4_210x297mm"])),
            ("pwg-raster-document-type-supported", keywords(&["sgray_8", "srgb_8"])),
            ("pwg-raster-document-resolution-supported", IppValue::Array(dpis)),
        ]));
        match Ticket::new(&wanted(210.0, 297.0), &supported).map(|ticket| ticket.format) {
            Ok(Format::Raster(pixels, dpi)) => format!("{} {dpi}", pixels.word()),
            other => format!("{other:?}"),
        }
    };
    assert_eq!(raster(vec![dpi(600), dpi(300), dpi(150)]), "sgray_8 300");
    assert_eq!(raster(vec![dpi(600), dpi(1200)]), "sgray_8 600");
    assert_eq!(raster(vec![dpi(203)]), "sgray_8 203");
    let odd = IppValue::Resolution { cross_feed: 600, feed: 1200, units: 3 };
    assert!(raster(vec![odd]).contains("same across and down"));
}

#[test]
fn collections_without_end_are_refused() {
    let mut bytes = vec![1, 1, 0, 0, 0, 0, 0, 1, 0x04];
    bytes.extend(b"\x34\0\x09media-col\0\0");
    for _ in 0..50_000 {
        bytes.extend(b"\x4a\0\0\0\x01a\x34\0\0\0\0");
    }
    assert!(Answer::read(bytes).expect_err("refused").contains("nested"));
}

/// A group that begins within a collection ends none of them.
#[test]
fn collections_in_many_groups_are_refused_too() {
    let mut bytes = vec![1, 1, 0, 0, 0, 0, 0, 1, 0x04];
    bytes.extend(b"\x34\0\x09media-col\0\0");
    for number in 0..50_000 {
        if number % 6 == 0 {
            bytes.push(0x04);
        }
        bytes.extend(b"\x4a\0\0\0\x01a\x34\0\0\0\0");
    }
    (0..50_000).for_each(|_| bytes.extend(b"\x37\0\0\0\0"));
    bytes.push(0x03);
    assert!(Answer::read(bytes).expect_err("refused").contains("nested"));
}

/// RFC 8010, 3.9: a text with its language holds two lengths of its own.
#[test]
fn a_text_that_is_shorter_than_it_says_is_refused() {
    let with = |value: &[u8]| {
        let mut bytes = vec![1, 1, 0, 0, 0, 0, 0, 1, 0x04];
        bytes.extend(b"\x35\0\x0cprinter-info");
        bytes.extend((value.len() as u16).to_be_bytes());
        bytes.extend(value);
        bytes.push(0x03);
        Answer::read(bytes)
    };
    let good = with(b"\0\x02en\0\x05bench").expect("a text");
    assert_eq!(Supported::of(&good).name, "bench");
    for lie in [&b"\0\xffen\0\x05bench"[..], b"\0\x02en\xff\xffbench", b"\0\x02en\0", b""] {
        assert!(with(lie).is_err(), "{lie:?}");
    }
}

/// Tube is wide on its page and long for its printer; a printer that takes both has it lengthwise all the same.
#[test]
fn tube_is_asked_for_lengthwise() {
    let range = |min, max| IppValue::RangeOfInteger { min, max };
    let name = |name: &str| IppName::new(name).expect("short");
    let members = [(name("x-dimension"), range(300, 20_000)), (name("y-dimension"), range(300, 300_000))];
    let printer = |formats: &[&str]| {
        let formats = formats.iter().map(|format| media_type(format)).collect();
        let dpi = IppValue::Resolution { cross_feed: 300, feed: 300, units: 3 };
        let supported = Supported::of(&answer(vec![
            ("document-format-supported", IppValue::Array(formats)),
            ("media-size-supported", IppValue::Collection(members.clone().into_iter().collect())),
            ("media-col-supported", keywords(&["media-size"])),
            ("pwg-raster-document-resolution-supported", dpi),
        ]));
        let tube = Wanted { is_along: true, ..wanted(120.0, 5.6) };
        Ticket::new(&tube, &supported).expect("it is taken")
    };
    let both = printer(&["application/pdf", "image/pwg-raster"]);
    assert!(both.lie == Lie::Turned && both.format != Format::Pdf, "turned here, not by the printer");
    assert!(
        both.lines().contains(&"media-col = { media-size = { x-dimension = 560, y-dimension = 12000 } }".to_owned())
    );
    let pdf = printer(&["application/pdf"]);
    assert!(pdf.format == Format::Pdf && pdf.notes.iter().any(|note| note.contains("look at the first")));
}

#[test]
fn endings_have_words() {
    assert_eq!(Ending::Completed.word(), "completed");
}

fn value() -> impl Strategy<Value = IppValue> {
    let leaf = prop_oneof![
        any::<i32>().prop_map(IppValue::Integer),
        any::<bool>().prop_map(IppValue::Boolean),
        (any::<i32>(), any::<i32>()).prop_map(|(min, max)| IppValue::RangeOfInteger { min, max }),
        (any::<i32>(), any::<i32>(), any::<i8>()).prop_map(|(cross_feed, feed, units)| IppValue::Resolution {
            cross_feed,
            feed,
            units
        }),
        "[a-z0-9_.]{0,20}(x[0-9]{0,12}(mm|in))?".prop_map(|word| IppValue::new_keyword(word).expect("short")),
        "\\PC{0,40}".prop_map(|word| IppValue::new_text_without_language(word).expect("short")),
        Just(IppValue::NoValue),
        Just(media_type("application/pdf")),
        Just(media_type("image/pwg-raster")),
        Just(IppValue::new_keyword("iso_a4_210x297mm").expect("short")),
        Just(IppValue::new_keyword("custom_max_999999999999x1mm").expect("short")),
    ];
    leaf.prop_recursive(2, 8, 4, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 1..4).prop_map(IppValue::Array),
            prop::collection::btree_map("(x-dimension|y-dimension|media-size|z)", inner, 0..3).prop_map(|members| {
                IppValue::Collection(
                    members.into_iter().map(|(name, value)| (IppName::new(name).expect("short"), value)).collect(),
                )
            }),
        ]
    })
}

proptest! {
    /// Attributes missing, of the wrong type, repeated, with huge values.
    #[test]
    fn no_printer_stops_it(attributes in prop::collection::vec((0..ASKED.len(), value()), 0..30), copies in 1_u16..20, is_colour: bool) {
        let attributes: Vec<(&str, IppValue)> = attributes.into_iter().map(|(name, value)| (ASKED[name], value)).collect();
        let bytes = {
            let mut response = IppRequestResponse::new_response(IppVersion::v1_1(), StatusCode::SuccessfulOk, 1).expect("a response");
            for (name, value) in attributes {
                response.attributes_mut().add(DelimiterTag::PrinterAttributes, IppAttribute::with_name(name, value).expect("short"));
            }
            response.to_bytes().to_vec()
        };
        if let Ok(answer) = Answer::read(bytes) {
            let supported = Supported::of(&answer);
            let _ = supported.troubles();
            if let Ok(ticket) = Ticket::new(&Wanted { copies, is_colour, ..wanted(210.0, 297.0) }, &supported) {
                let _ = ticket.lines();
            }
        }
    }

    #[test]
    fn no_bytes_stop_it(bytes in prop::collection::vec(any::<u8>(), 0..200), tags in prop::collection::vec((0_u8..0x50, "[a-z-]{0,12}", prop::collection::vec(any::<u8>(), 0..12)), 0..20)) {
        let _ = Answer::read(bytes);
        let mut bytes = vec![1, 1, 0, 0, 0, 0, 0, 1, 4];
        for (tag, name, value) in tags {
            bytes.push(tag);
            bytes.extend((name.len() as u16).to_be_bytes());
            bytes.extend(name.as_bytes());
            bytes.extend((value.len() as u16).to_be_bytes());
            bytes.extend(value);
        }
        bytes.push(3);
        if let Ok(answer) = Answer::read(bytes) {
            let _ = (answer.refusal(), Supported::of(&answer));
        }
    }
}
