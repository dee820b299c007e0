//! What published standards say, against what the program does. Each test names its source; the tables lie in `tests/data`
//! with their standing.

use loomtag::base::{Conductor, ConductorSize, Insulation, Length, Severity, WireColour};
use loomtag::circuits::{self, Circuits, JobLists, List, ListSettings, Supply};
use loomtag::layout::symbol::{Symbol, SymbolKind};
use loomtag::layout::wire::{Standing, Tabled};
use loomtag::layout::{Modules, wire};

use crate::kit::JobFolder;
use crate::kit::table::{Row, rows};

const QR_VECTORS: &str = include_str!("data/qr_vectors.csv");
const QR_FORMAT: &str = include_str!("data/qr_format_information.csv");
const AWG: &str = include_str!("data/awg_conductor.csv");
const COLOURS: &str = include_str!("data/iec60757_colours.csv");
const DIAMETERS: &str = include_str!("data/wire_outer_diameter.csv");
const TERMINALS: &str = include_str!("data/din72552_terminals.csv");

/// A reader of version 1 symbols of our own, written from the standard's clauses and sharing nothing with the encoder.
mod reader {
    use super::{Modules, QR_FORMAT, rows};

    const SIDE: usize = 21;

    /// Whether the module at this row and column is dark.
    fn is_dark(modules: &Modules, row: usize, column: usize) -> bool {
        modules.dark[row * SIDE + column]
    }

    /// The places of the 15 bits of format information, most significant first: round the upper left finder, and again beside
    /// the two others (ISO/IEC 18004, figure of format information).
    fn format_places() -> [Vec<(usize, usize)>; 2] {
        let left = (0..6).map(|column| (8, column)).chain([(8, 7), (8, 8), (7, 8)]);
        let first = left.chain((0..6).rev().map(|row| (row, 8))).collect();
        let second = (SIDE - 7..SIDE).rev().map(|row| (row, 8)).chain((SIDE - 8..SIDE).map(|column| (8, column)));
        [first, second.collect()]
    }

    /// Level and mask, out of both copies, which must be one row of the standard's table.
    pub fn level_and_mask(modules: &Modules) -> (String, u8) {
        assert_eq!((modules.rows, modules.columns), (21, 21), "version 1");
        let read = format_places().map(|places| {
            places
                .iter()
                .map(|&(row, column)| if is_dark(modules, row, column) { '1' } else { '0' })
                .collect::<String>()
        });
        assert_eq!(read[0], read[1], "both copies are equal");
        assert!(is_dark(modules, SIDE - 8, 8), "the module that is always dark");
        let table = rows(QR_FORMAT);
        let row = table.iter().find(|row| row["bits"] == read[0]).expect("a row of the table");
        (row["ec"].clone(), row["mask"].parse().expect("a number"))
    }

    /// Finders with their separators and format information, and the timing patterns.
    fn is_function(row: usize, column: usize) -> bool {
        let near = |place: usize| place < 9;
        let far = |place: usize| place >= SIDE - 8;
        let is_corner = near(row) && (near(column) || far(column)) || far(row) && near(column);
        is_corner || row == 6 || column == 6
    }

    /// The mask conditions of the standard, by number; i is the row, j the column.
    #[expect(clippy::manual_is_multiple_of, reason = "as the standard writes them")]
    fn is_masked(mask: u8, i: usize, j: usize) -> bool {
        match mask {
            0 => (i + j) % 2 == 0,
            1 => i % 2 == 0,
            2 => j % 3 == 0,
            3 => (i + j) % 3 == 0,
            4 => (i / 2 + j / 3) % 2 == 0,
            5 => (i * j) % 2 + (i * j) % 3 == 0,
            6 => ((i * j) % 2 + (i * j) % 3) % 2 == 0,
            _ => ((i + j) % 2 + (i * j) % 3) % 2 == 0,
        }
    }

    /// The 26 codewords: two columns at a time from the right, up and down in turn, the timing column left out.
    pub fn codewords(modules: &Modules) -> Vec<u8> {
        let (_, mask) = level_and_mask(modules);
        let pairs = [20, 18, 16, 14, 12, 10, 8, 5, 3, 1];
        let mut bits = Vec::new();
        for (turn, right) in pairs.into_iter().enumerate() {
            let down = turn % 2 == 1;
            for step in 0..SIDE {
                let row = if down { step } else { SIDE - 1 - step };
                for column in [right, right - 1] {
                    if !is_function(row, column) {
                        bits.push(is_dark(modules, row, column) != is_masked(mask, row, column));
                    }
                }
            }
        }
        assert_eq!(bits.len(), 26 * 8);
        bits.chunks(8).map(|byte| byte.iter().fold(0, |sum, &bit| sum << 1 | u8::from(bit))).collect()
    }
}

fn hex(text: &str) -> Vec<u8> {
    text.split(' ').map(|byte| u8::from_str_radix(byte, 16).expect("hexadecimal")).collect()
}

fn vector(item: &str) -> String {
    rows(QR_VECTORS).iter().find(|row| row["item"] == item).unwrap_or_else(|| panic!("{item}"))["value"].clone()
}

/// ISO/IEC 18004, Annex I ("01234567"), and the often worked "HELLO WORLD": the codewords stand in the modules as drawn.
#[test]
fn qr_codewords_are_read_out_of_the_modules() {
    for text in ["01234567", "HELLO WORLD"] {
        let symbol = Symbol::qr(text).expect("it fits");
        assert_eq!(symbol.kind, SymbolKind::Qr { version: 1 });
        assert_eq!(reader::level_and_mask(&symbol.modules).0, "M");
        let wanted = ["data", "EC"].map(|part| hex(&vector(&format!("{part} codewords 1-M \"{text}\"")))).concat();
        assert_eq!(reader::codewords(&symbol.modules), wanted, "{text}");
    }
}

/// ISO/IEC 18004, format information: level and five bits in BCH (15, 5) with the generator 10100110111, masked.
#[test]
fn format_information_of_every_symbol_is_in_the_table() {
    let mut masks = std::collections::BTreeSet::new();
    for number in 0..200 {
        let symbol = Symbol::qr(&format!("7KF4 {number}")).expect("it fits");
        let (level, mask) = reader::level_and_mask(&symbol.modules);
        assert_eq!(level, "M");
        masks.insert(mask);
    }
    assert!(masks.len() >= 4, "masks are chosen by their penalties: {masks:?}");
    // The table itself against the code it comes from.
    for row in rows(QR_FORMAT) {
        let bits = u32::from_str_radix(&row["bits"], 2).expect("bits") ^ 0b101_0100_0001_0010;
        let level = ["M", "L", "H", "Q"].iter().position(|level| *level == row["ec"]).expect("a level") as u32;
        assert_eq!(bits >> 10, level << 3 | row["mask"].parse::<u32>().expect("a number"), "{row:?}");
        let mut rest = bits;
        for shift in (0..5).rev() {
            if rest >> (10 + shift) & 1 == 1 {
                rest ^= 0b101_0011_0111 << shift;
            }
        }
        assert_eq!(rest, 0, "{row:?} is a word of the code");
    }
}

/// ASTM B258: the diameters of the 34 sizes from 4/0 to 30, in inches to four places.
#[test]
fn awg_diameters_are_those_of_b258() {
    let table = rows(AWG);
    assert_eq!(table.len(), 34);
    for row in table {
        let size = ConductorSize::Awg(row["n"].parse().expect("a number"));
        let inches = size.solid_diameter().as_inch();
        assert_eq!(format!("{inches:.4}"), row["b258_diameter_in"], "{row:?}");
        let area: f64 = row["area_mm2_formula"].parse().expect("a number");
        assert!((size.square_millimetres() / area - 1.0).abs() < 1e-3, "{row:?}");
        let typed = loomtag::base::Conductor::from_cell(&format!("{} AWG", row["alias"]), None).expect("a size");
        assert_eq!(typed.size(), size);
    }
}

/// IEC 60757: letters of colours.
#[test]
fn colours_are_those_of_iec_60757() {
    let table = rows(COLOURS);
    assert_eq!(table.len(), 15);
    for row in table {
        let colour = WireColour::from_cell(&row["code"]).expect("not empty");
        let base = colour.base().unwrap_or_else(|| panic!("{row:?}"));
        assert_eq!(base.code(), row["code"]);
        assert!(row["colour"].starts_with(base.name()), "{row:?}");
        let striped = WireColour::from_cell(&format!("{}/WH", row["code"])).expect("not empty");
        assert_eq!(striped.base(), Some(base), "{row:?}");
    }
}

/// The table's row that a row of the reference is about: `SAE J1128 GXL`, `16 AWG (19x29)`.
fn tabled(row: &Row) -> &'static Tabled {
    let insulation = match row["type"].as_str() {
        "ISO 6722-1 ultra-thin" => Insulation::UltraThinWall,
        "ISO 6722-1 thin" | "SAE J1128 TXL" => Insulation::ThinWall,
        "ISO 6722-1 thick" | "SAE J1128 GXL" | "SAE J1128 GPT" => Insulation::ThickWall,
        "SAE J1128 SXL" => Insulation::SpecialPurpose,
        of_1007 if of_1007.contains("1007") => Insulation::HookUp300,
        of_1015 if of_1015.contains("1015") => Insulation::HookUp600,
        _ => Insulation::BoatCable,
    };
    let size = row["size"].split(" (").next().expect("split gives one part").replace("mm2", "mm²");
    let size = Conductor::from_cell(&size, None).expect("a size").size();
    wire::tabled(size, insulation).unwrap_or_else(|| panic!("{row:?} is in the table"))
}

/// Every row of the reference is in the table with its diameter and what it is; and the table has no other.
#[test]
fn outside_diameters_are_those_of_the_reference() {
    let reference = rows(DIAMETERS);
    for row in &reference {
        let tabled = tabled(row);
        assert_eq!(tabled.diameter, Length::mm(row["od_mm"].parse().expect("a number")), "{row:?}");
        assert!(row["kind"].starts_with(tabled.what.word()), "{row:?}");
        let is_from_memory = row["status"].contains("memory") && !row["kind"].contains("computed");
        assert_eq!(tabled.standing == Standing::FromMemory, is_from_memory, "{row:?}");
    }
    let mut found: Vec<_> = reference.iter().map(|row| std::ptr::from_ref(tabled(row))).collect();
    found.sort();
    found.dedup();
    assert_eq!(found.len(), wire::table().len());
}

/// SAE J1128: a finished wire is its conductor and two walls. Strands of ASTM B258; 7 of them lie in a circle of 3 strand
/// diameters, 19 in one of 5, a bunch of n in one of 1.155 times the root of n (common practice; walls from memory).
#[test]
fn outside_diameters_of_vehicle_wire_are_conductor_and_two_walls() {
    let gauges = rows(AWG);
    let mut checked = 0;
    for row in rows(DIAMETERS).iter().filter(|row| row["type"].starts_with("SAE J1128")) {
        let (count, gauge) =
            row["size"].split_once('(').and_then(|(_, strands)| strands.split_once('x')).expect("strands");
        let gauge = gauge.trim_end_matches(')');
        let strand: f64 = gauges.iter().find(|row| row["awg"] == gauge).expect("a gauge")["b258_diameter_in"]
            .parse()
            .expect("inches");
        let across = match count {
            "7" => 3.0,
            "19" => 5.0,
            bunch => 1.155 * bunch.parse::<f64>().expect("a number").sqrt(),
        };
        let mils = row["status"].split_whitespace().nth(1).expect("a wall");
        let wall = mils.parse::<f64>().expect("a number") / 1000.0;
        let computed = Length::inch(across * strand + 2.0 * wall);
        let difference = (computed - tabled(row).diameter).abs();
        assert!(difference <= Length::mm(0.01), "{row:?}: {computed:.3}");
        checked += 1;
    }
    assert_eq!(checked, 28);
}

/// The circuits of a chart.
fn circuits_of(chart: String) -> Circuits {
    let list = List { name: "x.csv".to_owned(), bytes: chart.into_bytes(), settings: ListSettings::default() };
    let read = circuits::read(&JobLists::of(&[list]));
    let errors: Vec<_> = read.problems.iter().filter(|problem| problem.severity == Severity::Error).collect();
    assert!(errors.is_empty(), "{errors:?}");
    read.value
}

/// DIN 72552, every terminal of the table: in the supply column each is understood. Supplies are 15, 30, 31, 50 and the lamps of 54
/// to 58 by the standard's own words; what else a switch feeds is common practice; all others, as those of relays, set nothing.
#[test]
fn every_terminal_of_din_72552_is_understood_in_the_supply_column() {
    let wanted = |terminal: &str| match terminal {
        "30" | "30a" | "B+" => Some(Supply::Constant),
        "15" | "15a" | "15e" | "19" | "53" | "53a" | "53c" | "53i" | "75" => Some(Supply::Switched),
        "17" | "45" | "45a" | "45b" | "50" | "50a" => Some(Supply::Start),
        "31" | "31a" | "31b" | "31c" | "B-" => Some(Supply::Ground),
        "L" | "R" => Some(Supply::Lighting),
        lamp if ["54", "55", "56", "57", "58"].iter().any(|family| lamp.starts_with(family)) => Some(Supply::Lighting),
        "W" => Some(Supply::Signal),
        _ => None,
    };
    let terminals = rows(TERMINALS);
    assert!(terminals.len() > 70);
    for row in &terminals {
        let terminal = row["terminal"].as_str();
        for typed in [terminal.to_owned(), format!("Kl. {terminal}")] {
            let circuits = circuits_of(format!("connector,cavity,circuit,supply\nX1,1,C1,{typed}\n"));
            assert_eq!(circuits.all()[0].supply, wanted(terminal), "{row:?}");
        }
        // In any other column the number is what that column says and nothing else.
        let other = circuits_of(format!(
            "connector,cavity,circuit,function,colour,fuse,action,branch,with,note\n\
             K1,{terminal},FIRST,{terminal},,{terminal},,{terminal},{terminal},{terminal}\n\
             X1,1,{terminal},,,,,,,\n{terminal},1,THIRD,,,,,,,\n"
        ));
        assert_eq!(other.all().len(), 3, "{row:?}");
        assert!(other.all().iter().all(|circuit| circuit.supply.is_none()), "{row:?}");
    }
    for relay_terminal in ["85", "86", "87", "87a", "87b"] {
        assert_eq!(wanted(relay_terminal), None);
    }
}

/// DIN 72552: 30 is fed from the battery at all times, and its ends say so; but only in the supply column. On a relay the
/// numbers name terminals.
#[test]
fn terminal_30_is_live_and_a_relay_terminal_is_not_a_supply() {
    let terminals = rows(TERMINALS);
    let meaning =
        |number: &str| terminals.iter().find(|row| row["terminal"] == number).expect("a row")["meaning"].clone();
    assert_eq!(meaning("30"), "battery positive direct (permanent live)");
    assert!(meaning("15").starts_with("switched positive"));
    let folder = JobFolder::small().and(
        "loom.csv",
        "connector,cavity,circuit,function,supply,action\n\
         X1,1,C1,ignition relay feed,30,cut\n\
         X1,2,C2,ignition feed,15,cut\n\
         X1,3,C3,ground,31,cut\n\
         K1,30,C4,pump relay,,cut\n",
    );
    folder.done(&["tags", "--work", "--no-proof"]);
    let tags = folder.tags("prints/run-0001");
    let is_live = |place: &str| {
        let tag = tags.iter().find(|tag| tag.place() == place).unwrap_or_else(|| panic!("{place}"));
        tag.words()[0].starts_with("LIVE WITH BATTERY ON")
    };
    assert_eq!(["X1/1", "X1/2", "X1/3", "K1/30"].map(is_live), [true, false, false, false]);
}

/// ISO 216 and ANSI Y14.1 sizes of the sheets that come with the program.
#[test]
fn sheets_are_a4_or_letter() {
    let mut seen = [0, 0];
    for (name, text) in loomtag::pages::builtin() {
        let Some(page) = text.split("[page]").nth(1) else { continue };
        let value = |key: &str| {
            let line = page.lines().find_map(|line| line.strip_prefix(key)?.trim().strip_prefix('=')).expect("a value");
            let value = line.split('#').next().expect("a value").trim().trim_matches('"');
            value.strip_suffix(" in").map_or_else(
                || Length::mm(value.parse().expect("millimetres")),
                |inches| Length::inch(inches.parse().expect("inches")),
            )
        };
        let size = (value("width"), value("height"));
        let which = [(Length::mm(210.0), Length::mm(297.0)), (Length::inch(8.5), Length::inch(11.0))]
            .iter()
            .position(|sheet| *sheet == size)
            .unwrap_or_else(|| panic!("{name}: {size:?}"));
        assert!(name.starts_with(["a4-", "letter-"][which]), "{name}");
        seen[which] += 1;
    }
    assert!(seen[0] >= 4 && seen[1] >= 2, "{seen:?}");
}
