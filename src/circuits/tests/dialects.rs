//! One chart written in very many ways gives the same circuits, and every message points at the very cell.

use encoding_rs::WINDOWS_1252;
use proptest::prelude::*;

use crate::base::{Problem, formula};
use crate::circuits::{Circuits, JobLists, List, ListSettings, read};

/// What quotes are put round.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Quoting {
    /// Cells that cannot do without.
    Needed,
    /// Every cell.
    All,
    /// Whatever is no number.
    Words,
    /// Cells that need it, with spaces round every cell.
    Spaced,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Encoding {
    Utf8,
    Utf8Marked,
    Utf16Le,
    Utf16Be,
    Utf16LeMarked,
    Utf16BeMarked,
    Windows1252,
}

/// What stands round the rows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Layout {
    Plain,
    /// Title rows above the header, one of them with a word that is a header too.
    Titles,
    /// Blank lines before, between and behind.
    BlankLines,
    /// Separators behind the last cell of every row.
    Trailing,
    /// A first line that states the separator.
    Stated,
    /// No line break behind the last row.
    Unended,
}

#[derive(Clone, Copy, Debug)]
struct Dialect {
    separator: char,
    quoting: Quoting,
    line_end: &'static str,
    encoding: Encoding,
    layout: Layout,
    headers: usize,
    decimal: char,
}

const SEPARATORS: [char; 4] = [',', ';', '\t', '|'];
const QUOTINGS: [Quoting; 4] = [Quoting::Needed, Quoting::All, Quoting::Words, Quoting::Spaced];
const LINE_ENDS: [&str; 3] = ["\n", "\r\n", "\r"];
const ENCODINGS: [Encoding; 7] = [
    Encoding::Utf8,
    Encoding::Utf8Marked,
    Encoding::Utf16Le,
    Encoding::Utf16Be,
    Encoding::Utf16LeMarked,
    Encoding::Utf16BeMarked,
    Encoding::Windows1252,
];
const LAYOUTS: [Layout; 6] =
    [Layout::Plain, Layout::Titles, Layout::BlankLines, Layout::Trailing, Layout::Stated, Layout::Unended];

/// The same columns as different people name them.
const HEADERS: [[&str; 8]; 5] = [
    ["connector", "cavity", "circuit", "function", "colour", "size", "length", "action"],
    ["Conn.", "Pin", "Wire No.", "Description", "Color", "Size [mm²]", "Length (mm)", "To do"],
    ["Stecker", "Kammer-Nr.", "Stromkreis", "Beschreibung", "Farbe", "Querschnitt mm²", "Länge [mm]", "Maßnahme"],
    ["PLUG", "CAV", "CCT", "FN", "COL.", "CSA (mm^2)", "LEN", "ACTION"],
    ["ConnectorName", "PinNumber", "WireID", "SignalName", "WireColour", "CrossSection", "CutLength", "Plan"],
];

/// Cells below them; `.` in size and length is the decimal sign, and line breaks are those of the dialect.
const ROWS: [[&str; 8]; 5] = [
    ["J1", "01", "101", "feed, \"main\"; cold | hot", "RD", "2.5", "1450", "cut"],
    ["J1", "1", "102", "two\nlines\n\nand a third", "BK/WH", "0.75", "900.5", "keep"],
    ["X 3 ö", "a", "103", "Kühlmittel-Temperatur °C", "brown/white", "0.5", "85", "xyzzy"],
    ["X 3 ö", "A", "103", "", "BNWH", "1.5", "", "remove"],
    ["J1", "B7", "104", "5\" pipe", "RD", "2.5", "12", ""],
];

/// The text of a list, and where each cell of its rows stands: line and column in characters, from 1.
struct Written {
    text: String,
    places: Vec<Vec<(usize, usize)>>,
    line: usize,
    column: usize,
}

impl Written {
    fn push(&mut self, text: &str, line_end: &str) {
        let mut rest = text;
        while let Some(character) = rest.chars().next() {
            if let Some(behind) = rest.strip_prefix(line_end) {
                self.text.push_str(line_end);
                (self.line, self.column, rest) = (self.line + 1, 1, behind);
                continue;
            }
            self.text.push(character);
            self.column += 1;
            rest = &rest[character.len_utf8()..];
        }
    }

    fn row(&mut self, dialect: &Dialect, cells: &[String]) {
        let mut places = Vec::new();
        for (index, cell) in cells.iter().enumerate() {
            let separator = dialect.separator.to_string();
            if index > 0 {
                self.push(&separator, dialect.line_end);
            }
            let is_spaced = dialect.quoting == Quoting::Spaced;
            if is_spaced {
                self.push("  ", dialect.line_end);
            }
            let must = cell.contains([dialect.separator, '"', '\n', '\r']);
            let is_number = cell.chars().all(|c| c.is_ascii_digit() || c == dialect.decimal);
            let is_quoted = match dialect.quoting {
                Quoting::Needed | Quoting::Spaced => must,
                Quoting::All => true,
                Quoting::Words => must || !is_number,
            };
            places.push((self.line, self.column));
            let written = if is_quoted { format!("\"{}\"", cell.replace('"', "\"\"")) } else { cell.clone() };
            self.push(&written, dialect.line_end);
            if is_spaced {
                self.push(" ", dialect.line_end);
            }
        }
        if dialect.layout == Layout::Trailing {
            self.push(&dialect.separator.to_string().repeat(2), dialect.line_end);
        }
        self.places.push(places);
        self.push(dialect.line_end, dialect.line_end);
    }
}

/// Writes the chart with these cells. The places are those of the cells, without header and titles.
fn write<S: AsRef<str>>(dialect: &Dialect, headers: &[&str], rows: &[Vec<S>]) -> Written {
    let mut written = Written { text: String::new(), places: Vec::new(), line: 1, column: 1 };
    let end = dialect.line_end;
    if dialect.layout == Layout::Stated {
        written.push(&format!("sep={}{end}", dialect.separator), end);
    }
    if dialect.layout == Layout::Titles {
        written.row(dialect, &["Marsh Hen".to_owned()]);
        written.row(dialect, &["Pinout, engine side; size in mm²".to_owned(), "Connector".to_owned(), String::new()]);
    }
    if dialect.layout == Layout::BlankLines {
        written.push(&end.repeat(2), end);
    }
    written.row(dialect, &headers.iter().map(|&header| header.to_owned()).collect::<Vec<_>>());
    written.places.clear();
    for row in rows {
        if dialect.layout == Layout::BlankLines {
            written.push(end, end);
        }
        let cell = |(at, cell): (usize, &S)| {
            let cell = cell.as_ref().replace('\n', end);
            let is_number = (at == 5 || at == 6) && cell.chars().all(|c| c.is_ascii_digit() || c == '.');
            if is_number { cell.replace('.', &dialect.decimal.to_string()) } else { cell }
        };
        written.row(dialect, &row.iter().enumerate().map(cell).collect::<Vec<_>>());
    }
    match dialect.layout {
        Layout::BlankLines => written.push(end, end),
        Layout::Unended => written.text.truncate(written.text.len() - end.len()),
        _ => {}
    }
    written
}

fn encoded(text: &str, encoding: Encoding) -> Vec<u8> {
    let utf_16 = |order: fn(u16) -> [u8; 2]| -> Vec<u8> { text.encode_utf16().flat_map(order).collect() };
    match encoding {
        Encoding::Utf8 => text.as_bytes().to_vec(),
        Encoding::Utf8Marked => [b"\xEF\xBB\xBF", text.as_bytes()].concat(),
        Encoding::Utf16Le => utf_16(u16::to_le_bytes),
        Encoding::Utf16Be => utf_16(u16::to_be_bytes),
        Encoding::Utf16LeMarked => [vec![0xFF, 0xFE], utf_16(u16::to_le_bytes)].concat(),
        Encoding::Utf16BeMarked => [vec![0xFE, 0xFF], utf_16(u16::to_be_bytes)].concat(),
        Encoding::Windows1252 => WINDOWS_1252.encode(text).0.into_owned(),
    }
}

fn read_bytes(bytes: Vec<u8>) -> (Circuits, Vec<Problem>) {
    let list = List { name: "ecu.csv".to_owned(), bytes, settings: ListSettings::default() };
    let checked = read(&JobLists::of(&[list]));
    (checked.value, checked.problems)
}

/// Every end with all that is read of it, and where it stands.
fn shown(circuits: &Circuits) -> Vec<(String, String)> {
    let mut all = Vec::new();
    for circuit in circuits.all() {
        for end in circuit.ends() {
            let colour = end.colour.as_ref().map(ToString::to_string).unwrap_or_default();
            let size = end.conductor.as_ref().map(|size| format!("{:?}", size.size())).unwrap_or_default();
            let length = end.length.map(|length| length.to_string()).unwrap_or_default();
            let function = circuit.function.as_deref().unwrap_or_default();
            let words = format!("{} {} `{function}` {colour} {size} {length} {}", end.place, circuit.id(), end.action);
            all.push((words, end.origin.to_string()));
        }
    }
    all
}

fn check(dialect: &Dialect) {
    let rows: Vec<Vec<&str>> = ROWS.iter().map(|row| row.to_vec()).collect();
    let written = write(dialect, &HEADERS[dialect.headers], &rows);
    let (circuits, problems) = read_bytes(encoded(&written.text, dialect.encoding));
    let ends = shown(&circuits);
    let words: Vec<&str> = ends.iter().map(|(words, _)| words.as_str()).collect();
    let read = [
        "J1/01 101 `feed, \"main\"; cold | hot` RD CrossSection(2500) 1450 mm cut",
        "J1/1 102 `two lines and a third` BK/WH CrossSection(750) 900.5 mm keep",
        "X 3 ö/A 103 `` BN/WH CrossSection(1500)  remove",
        "J1/B7 104 `5\" pipe` RD CrossSection(2500) 12 mm undecided",
    ];
    let show = || format!("{dialect:?}\n{}\n{problems:#?}", written.text);
    assert_eq!(words, read, "{}", show());
    let place = |row: usize, column: usize| {
        let (line, column) = written.places[row][column];
        format!("ecu.csv:{line}:{column}")
    };
    let places: Vec<&str> = ends.iter().map(|(_, place)| place.as_str()).collect();
    assert_eq!(places, [place(0, 1), place(1, 1), place(3, 1), place(4, 1)], "{}", show());
    let of_reading = problems.iter().filter(|problem| problem.id != "one-ended-circuit");
    let told: Vec<_> = of_reading.map(|p| (p.id, p.origin.as_ref().map(ToString::to_string))).collect();
    let wrong = |id, row: usize, column: usize| (id, Some(place(row, column)));
    assert_eq!(told, [wrong("unknown-action", 2, 7)], "{}", show());
}

/// 4 separators x 4 quotings x 3 line ends x 7 encodings, and with them in turn 6 layouts, 5 sets of headers, 2 decimal signs.
#[test]
fn a_chart_in_hundreds_of_dialects() {
    let mut count = 0;
    for separator in SEPARATORS {
        for quoting in QUOTINGS {
            for line_end in LINE_ENDS {
                for encoding in ENCODINGS {
                    let (layout, headers) = (LAYOUTS[count % LAYOUTS.len()], count % HEADERS.len());
                    let decimal = ['.', ','][count / 2 % 2];
                    check(&Dialect { separator, quoting, line_end, encoding, layout, headers, decimal });
                    count += 1;
                }
            }
        }
    }
    assert_eq!(count, 336);
}

fn any_dialect() -> impl Strategy<Value = Dialect> {
    let of = prop::sample::select::<char>;
    let kinds =
        (of(SEPARATORS.to_vec()), prop::sample::select(QUOTINGS.to_vec()), prop::sample::select(LINE_ENDS.to_vec()));
    let rest = (prop::sample::select(ENCODINGS.to_vec()), prop::sample::select(LAYOUTS.to_vec()), 0..HEADERS.len());
    (kinds, rest, of(vec!['.', ','])).prop_map(
        |((separator, quoting, line_end), (encoding, layout, headers), decimal)| Dialect {
            separator,
            quoting,
            line_end,
            encoding,
            layout,
            headers,
            decimal,
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn a_chart_in_any_dialect(dialect in any_dialect()) {
        check(&dialect);
    }

    /// Whatever stands in the words of a row, places and circuits come out the same, and origins are exact.
    #[test]
    fn any_words_in_any_dialect(
        dialect in any_dialect(),
        words in prop::collection::vec("([a-z0-9ä°;,|\t'/=.-]|\"|\n| ){0,12}", 1..6),
    ) {
        let rows: Vec<Vec<String>> = words
            .iter()
            .enumerate()
            .map(|(row, words)| {
                let cavity = format!("{}", row + 1);
                let circuit = format!("C{row}");
                ["J1", &cavity, &circuit, words, "RD", "0.5", "", "keep"].map(str::to_owned).to_vec()
            })
            .collect();
        let written = write(&dialect, &HEADERS[dialect.headers], &rows);
        let (circuits, problems) = read_bytes(encoded(&written.text, dialect.encoding));
        prop_assert!(problems.iter().all(|problem| problem.id == "one-ended-circuit"), "{}\n{problems:#?}", written.text);
        let ends: Vec<(String, String)> = circuits
            .all()
            .iter()
            .map(|circuit| (circuit.ends()[0].place.to_string(), circuit.ends()[0].origin.to_string()))
            .collect();
        let wanted: Vec<(String, String)> = (0..words.len())
            .map(|row| {
                let (line, column) = written.places[row][1];
                (format!("J1/{}", row + 1), format!("ecu.csv:{line}:{column}"))
            })
            .collect();
        prop_assert_eq!(ends, wanted, "{}", written.text);
        for (circuit, words) in circuits.all().iter().zip(&words) {
            // The apostrophe by which a spreadsheet takes a formula for a text is not part of it.
            let plain = formula::unmarked(words.trim()).split_whitespace().collect::<Vec<_>>().join(" ");
            let is_blank = plain.is_empty() || plain == "-" || plain == "--";
            prop_assert_eq!(circuit.function.as_deref(), (!is_blank).then_some(plain.as_str()));
        }
    }
}
