//! An invented harness of any size: the same one every time.
//!
//! In: how many ends. Out: its circuits with their codes, or the pinout chart they could have been read from. Functions,
//! colours, sizes and places vary as on a real harness; every ninth circuit has a far end that nobody knows.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::io::Write as _;
use std::sync::Arc;

use loomtag::base::{Cavity, CircuitId, Conductor, ConnectorId, EndLetter, Length, Origin, Place, Source, WireColour};
use loomtag::circuits::{Action, Circuit, Circuits, Decided, End, FarEnd, Fuse, Naming, TagWish};
use loomtag::codes::{CircuitCodes, Issued, mint};

const THINGS: [&str; 24] = [
    "rail pressure",
    "boost pressure",
    "oil pressure",
    "coolant temperature",
    "fuel temperature",
    "exhaust temperature",
    "injector 1",
    "injector 2",
    "injector 3",
    "injector 4",
    "engine speed",
    "camshaft position",
    "throttle request",
    "glow plug control",
    "bilge pump",
    "wash-down pump",
    "net hauler",
    "side and stern lights",
    "deck light",
    "start relay",
    "main relay",
    "alternator",
    "fuel lift pump",
    "instrument panel",
];
const PARTS: [&str; 10] = [
    "signal",
    "sensor supply",
    "sensor ground",
    "low side",
    "high side",
    "feed after main relay",
    "return",
    "diagnosis",
    "switched supply to the helm",
    "spare contact",
];
const COLOURS: [&str; 12] =
    ["BN/WH", "RD/YE", "BU", "GY/RD", "VT", "BK", "GN/YE", "WH/BK", "YE", "OG/BU", "BN", "GN/WH"];
/// Conductor sizes with the usual outside diameter of thin-walled wire (ISO 6722-1 class B; those in AWG near enough).
const SIZES: [(&str, f64); 6] =
    [("0.5 mm²", 1.6), ("0.75 mm²", 1.9), ("1.5 mm²", 2.4), ("2.5 mm²", 3.0), ("16 AWG", 2.3), ("14 AWG", 2.8)];
const FUSES: [&str; 5] = ["F3 5 A", "F12 15 A", "", "F7 10 A", ""];

/// Cavities of each control unit's plug and of each bulkhead connector.
const CAVITIES: usize = 60;
const BULKHEAD_CAVITIES: usize = 90;

/// What one circuit is, before it is written down in one form or another.
struct Wire {
    function: String,
    colour: &'static str,
    size: (&'static str, f64),
    fuse: &'static str,
    /// Connector and cavity of its ends: one or two.
    places: Vec<(String, usize)>,
}

/// The circuits of a harness, until they have as many ends as asked for.
fn wires(ends: usize) -> impl Iterator<Item = Wire> {
    let mut left = ends;
    (0..).map_while(move |number: usize| {
        let known = if number % 9 == 8 || left == 1 { 1 } else { 2 };
        left = left.checked_sub(known).filter(|_| left > 0)?;
        let here = (format!("J{}", 1 + number / CAVITIES), 1 + number % CAVITIES);
        let there = (format!("X{}P", 1 + number / BULKHEAD_CAVITIES), 1 + number % BULKHEAD_CAVITIES);
        Some(Wire {
            function: format!("{} {}", THINGS[number % THINGS.len()], PARTS[number / THINGS.len() % PARTS.len()]),
            colour: COLOURS[number * 7 % COLOURS.len()],
            size: SIZES[number * 5 / 2 % SIZES.len()],
            fuse: FUSES[number * 3 % FUSES.len()],
            places: [here, there].into_iter().take(known).collect(),
        })
    })
}

/// A harness with so many ends, each of which is cut and so gets a flag, built in memory. The chart names no circuits.
pub fn circuits(ends: usize) -> Circuits {
    let source = Source::new("bench.csv", "");
    Circuits::new(wires(ends).filter_map(|wire| circuit(&wire, &source)).collect(), BTreeMap::new())
}

fn circuit(wire: &Wire, source: &Arc<Source>) -> Option<Circuit> {
    let (size, diameter) = wire.size;
    let end = |(connector, cavity): &(String, usize)| {
        Some(End {
            place: Place::new(ConnectorId::from_cell(connector)?, Cavity::from_cell(&cavity.to_string())),
            ordinal: 0,
            colour: WireColour::from_cell(wire.colour),
            conductor: Conductor::from_cell(size, None).ok(),
            insulation: None,
            // One diameter in seven was never measured.
            diameter: (cavity % 7 != 0).then(|| Length::mm(diameter)),
            slides_over: None,
            terminal: None,
            extend_by: None,
            length: None,
            action: Action::Cut,
            decided: Decided::Row,
            is_marked_undecided: false,
            tag: TagWish::default(),
            branch: None,
            partner: None,
            note: None,
            edited: None,
            origin: Origin::whole(source),
        })
    };
    let ends: Vec<End> = wire.places.iter().filter_map(end).collect();
    let far = if ends.len() == 2 { vec![FarEnd::End(1), FarEnd::End(0)] } else { vec![FarEnd::Unknown] };
    let mut circuit = Circuit::new(CircuitId::from(&ends[0].place), Naming::ByPlace, ends, far)?;
    circuit.function = Some(wire.function.clone());
    circuit.fuse = Fuse::from_cell(wire.fuse);
    Some(circuit)
}

/// Codes as a register that is new would issue them, without a register.
pub fn codes(circuits: &Circuits) -> Issued {
    let codes = circuits.all().iter().zip(0..).filter_map(|(circuit, number)| {
        let letters = (0..).map(EndLetter::nth).take(circuit.ends().len()).collect();
        Some(CircuitCodes { code: mint::nth(number)?, also: Vec::new(), letters })
    });
    Issued { circuits: codes.collect() }
}

/// A pinout chart with so many rows, one a cavity, that names its circuits.
pub fn chart(rows: usize) -> Vec<u8> {
    let mut text = "connector,cavity,circuit,function,colour,size,fuse,action,length,diameter,branch,note\n".to_owned();
    for (number, wire) in wires(rows).enumerate() {
        let Wire { function, colour, size: (size, diameter), fuse, places } = wire;
        for (connector, cavity) in places {
            let line = format_args!(
                "{connector},{cavity},E{number:05},{function},{colour},{size},{fuse},cut,1200,{diameter},LOOM,\"{}\"",
                if number % 5 == 0 { "clear of the manifold, away from heat" } else { "" }
            );
            writeln!(text, "{line}").expect("a text takes all that is written");
        }
    }
    text.into_bytes()
}

/// The same chart as a workbook, as spreadsheet programs write it: texts once in a table of their own, numbers as numbers.
pub fn workbook(rows: usize) -> Vec<u8> {
    const OFFICE: &str = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
    let chart = String::from_utf8(chart(rows)).expect("it is made of text");
    let (mut texts, mut known) = (String::new(), BTreeMap::new());
    let mut sheet = "<worksheet><sheetData>".to_owned();
    for (row, line) in (1..).zip(chart.lines()) {
        write!(sheet, "<row r=\"{row}\" spans=\"1:12\">").expect("a text takes all that is written");
        // The last cell is in quotes and holds the only comma that parts nothing.
        let (plain, note) = line.split_once(",\"").unwrap_or((line, ""));
        for (letter, cell) in ('A'..).zip(plain.split(',').chain([note.trim_end_matches('"')])) {
            if cell.is_empty() {
                continue;
            }
            if cell.parse::<f64>().is_ok() {
                write!(sheet, "<c r=\"{letter}{row}\"><v>{cell}</v></c>")
            } else {
                let next = known.len();
                let index = *known.entry(cell.to_owned()).or_insert_with(|| {
                    write!(texts, "<si><t>{cell}</t></si>").expect("a text takes all that is written");
                    next
                });
                write!(sheet, "<c r=\"{letter}{row}\" t=\"s\"><v>{index}</v></c>")
            }
            .expect("a text takes all that is written");
        }
        sheet.push_str("</row>");
    }
    sheet.push_str("</sheetData></worksheet>");
    let relation = |id: &str, kind: &str, target: &str| {
        format!("<Relationship Id=\"{id}\" Type=\"{OFFICE}/{kind}\" Target=\"{target}\"/>")
    };
    let package = relation("a", "officeDocument", "xl/workbook.xml");
    let parts =
        relation("a", "worksheet", "worksheets/sheet1.xml") + &relation("b", "sharedStrings", "sharedStrings.xml");
    let relations = |inside: &str| format!("<Relationships>{inside}</Relationships>");
    let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for (name, text) in [
        ("[Content_Types].xml", "<Types/>".to_owned()),
        ("_rels/.rels", relations(&package)),
        ("xl/_rels/workbook.xml.rels", relations(&parts)),
        (
            "xl/workbook.xml",
            format!(
                "<workbook xmlns:r=\"{OFFICE}\"><sheets><sheet name=\"bench\" sheetId=\"1\" r:id=\"a\"/></sheets></workbook>"
            ),
        ),
        ("xl/sharedStrings.xml", format!("<sst uniqueCount=\"{}\">{texts}</sst>", known.len())),
        ("xl/worksheets/sheet1.xml", sheet),
    ] {
        zip.start_file(name, zip::write::SimpleFileOptions::default()).expect("memory takes it");
        zip.write_all(text.as_bytes()).expect("memory takes it");
    }
    zip.finish().expect("memory takes it").into_inner()
}
