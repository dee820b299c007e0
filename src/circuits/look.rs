//! A list before anyone has said anything about it -> what it is understood as: for the proposal that begins a job.

use std::collections::BTreeSet;

use super::headers::{self, Column, TableKind};
use super::problems::SHEET_NOT_READ;
use super::{Form, List, cells, inputs, text};
use crate::base::conductor::SizeUnit;
use crate::base::{Colour, ConnectorId, WireColour};

/// A list, or a sheet of a workbook, as it is understood.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Looked {
    /// The sheet, in a workbook.
    pub sheet: Option<String>,
    /// How its rows are meant.
    pub form: Form,
    /// Encoding and separator in words, of a list in text form: `UTF-8`, `semicolons`.
    pub text: Option<(&'static str, &'static str)>,
    /// How many rows stand below its header.
    pub rows: usize,
    /// Its headers that name a column of ours, and the names of these, in the order of the file.
    pub read: Vec<(String, &'static str)>,
    /// Its other headers, each with the nearest column of ours that no header names.
    pub unread: Vec<(String, Option<&'static str>)>,
    /// Sizes that are bare whole numbers while nothing says whether they are mm² or AWG, each once.
    pub bare_sizes: BTreeSet<u32>,
    /// German letters of colours that are in its cells and that job.toml may explain, each with what it means; without a
    /// meaning where it means two things in two charts. Empty where nothing shows that its letters are German.
    pub german_colours: Vec<(String, Option<Colour>)>,
    /// Whether it names a connector in the first of its rows only, as where its cells were merged.
    pub connector_above: bool,
    /// Whether it names cavities and no connector: a chart of one connector, or a list of the wires that begin in it.
    pub lacks_connector: bool,
}

impl Looked {
    /// The unit of its bare sizes, where they tell it: 14 and 18 are no cross-sections that wires are made in (IEC 60228 and
    /// ISO 6722-1, from memory), 1, 25 and 35 are no gauges.
    pub fn likely_unit(&self) -> Option<SizeUnit> {
        const GAUGES: [u32; 5] = [14, 18, 22, 24, 26];
        const CROSS_SECTIONS: [u32; 6] = [1, 3, 25, 35, 50, 70];
        let has = |sizes: &[u32]| sizes.iter().any(|size| self.bare_sizes.contains(size));
        match (has(&GAUGES), has(&CROSS_SECTIONS)) {
            (true, false) => Some(SizeUnit::Awg),
            (false, true) => Some(SizeUnit::SquareMillimetres),
            _ => None,
        }
    }
}

/// Looks at a list with the settings it has; a workbook gives its sheets that are lists, and the names of those that are not.
/// What cannot be read at all, or has no header row, gives nothing: reading it says why.
pub fn look(list: &List) -> (Vec<Looked>, Vec<String>) {
    let mut problems = Vec::new();
    let lists = std::slice::from_ref(list);
    let inputs = inputs::read(lists, TableKind::List, &mut problems);
    let not_read = problems.iter().filter(|problem| problem.id == SHEET_NOT_READ.id);
    let not_read = not_read.filter_map(|problem| problem.origin.as_ref()?.sheet().map(str::to_owned)).collect();
    (inputs.iter().filter_map(|input| looked(list, input)).collect(), not_read)
}

fn looked(list: &List, input: &inputs::Input<'_>) -> Option<Looked> {
    let mut ignored = Vec::new();
    let sheet = input.find_columns(TableKind::List, &mut ignored)?;
    let source = input.source();
    let is_header = |header: &str| headers::is_header(TableKind::List, &list.settings.columns, header);
    let name = source.sheet_name();
    let text = match name {
        None => Some((text::encoding(&list.bytes).0.name(), cells::separator_in_words(source.text(), &is_header))),
        Some(_) => None,
    };
    let form = sheet.form();
    let lacks = |cavity, connector, place| sheet.has(cavity) && !sheet.has(connector) && !sheet.has(place);
    let lacks_connector = sheet.connector().is_none()
        && match form {
            Form::Chart => lacks(Column::Cavity, Column::Connector, Column::Place),
            Form::Wire => lacks(Column::FromCavity, Column::FromConnector, Column::FromPlace),
        };
    let mut read: Vec<(usize, Column)> =
        Column::ALL.iter().filter_map(|&column| Some((sheet.columns().at(column)?, column))).collect();
    read.sort_unstable();
    // A wire list that names its first end like a chart does shows the names of that.
    let read = read.into_iter().map(|(at, column)| (sheet.columns().header(at).to_owned(), column.name()));
    let mut taken: Vec<&str> = read.clone().map(|(_, name)| name).collect();
    let mut unread = Vec::new();
    let mut indices = sheet.columns().unread().to_vec();
    indices.sort_unstable();
    for index in indices {
        let header = sheet.columns().header(index);
        let is_free = |column: Column| !taken.contains(&column.name()) && column.is_of(form);
        let guess = headers::guess(header, &is_free).map(Column::name);
        taken.extend(guess);
        unread.push((header.to_owned(), guess));
    }
    let rows = sheet.rows(&mut ignored);
    let mut is_below = false;
    let connector_above = sheet.has(Column::Connector)
        && form == Form::Chart
        && rows.iter().any(|&row| {
            is_below |= sheet.get(row, Column::Connector).is_some();
            is_below && sheet.get(row, Column::Connector).is_none() && sheet.get(row, Column::Cavity).is_some()
        });
    let sizes = rows.iter().filter_map(|&row| sheet.get(row, Column::Size)?.parse().ok());
    let bare_sizes = if sheet.size_unit().is_none() { sizes.collect() } else { BTreeSet::new() };
    Some(Looked {
        sheet: name.map(str::to_owned),
        form,
        text: text.map(|(encoding, separator)| (encoding_in_words(encoding), separator)),
        rows: rows.len(),
        read: read.collect(),
        unread,
        bare_sizes,
        german_colours: german_colours(rows.iter().filter_map(|&row| sheet.get(row, Column::Colour))),
        connector_above,
        lacks_connector,
    })
}

/// German letters of wire colours, as older German charts have them (common practice, from memory), with what they mean; `bl` is
/// black and `gr` green in charts of others, so that these are not guessed.
const GERMAN_LETTERS: [(&str, Option<Colour>); 10] = [
    ("bl", None),
    ("br", Some(Colour::Brown)),
    ("ge", Some(Colour::Yellow)),
    ("gr", None),
    ("or", Some(Colour::Orange)),
    ("rs", Some(Colour::Pink)),
    ("rt", Some(Colour::Red)),
    ("sw", Some(Colour::Black)),
    ("vi", Some(Colour::Violet)),
    ("ws", Some(Colour::White)),
];
/// Those of them that no other language's charts have.
const GERMAN_ALONE: [&str; 3] = ["rt", "sw", "ws"];

/// The German letters in cells, where some of them can be nothing else.
fn german_colours<'a>(cells: impl Iterator<Item = &'a str>) -> Vec<(String, Option<Colour>)> {
    let mut seen: BTreeSet<String> = BTreeSet::new();
    for cell in cells.filter(|cell| WireColour::from_cell(cell).is_some_and(|colour| colour.base().is_none())) {
        let cell = cell.to_lowercase();
        let parts = cell.split(['/', '-', '+', ' ']).map(str::trim);
        if cell.len() == 4 && cell.is_ascii() && !cell.contains(['/', '-', '+', ' ']) {
            seen.extend([cell[..2].to_owned(), cell[2..].to_owned()]);
        }
        seen.extend(parts.map(str::to_owned));
    }
    if !GERMAN_ALONE.iter().any(|letters| seen.contains(*letters)) {
        return Vec::new();
    }
    let found = GERMAN_LETTERS.iter().filter(|(letters, _)| seen.contains(*letters));
    found.map(|(letters, colour)| ((*letters).to_owned(), *colour)).collect()
}

fn encoding_in_words(name: &'static str) -> &'static str {
    match name {
        "UTF-16LE" | "UTF-16BE" => "UTF-16",
        "windows-1252" => "Windows-1252",
        other => other,
    }
}

/// The connector that a file or sheet is named after: J1 of `pinout-j1.csv`, X3P of `X3P`. `None` where no word of the name looks
/// like one, or more than one does.
pub fn connector_named_by(name: &str) -> Option<ConnectorId> {
    const MOST_LETTERS: usize = 3;
    /// Words before a number that is no connector's.
    const NOT_CONNECTORS: [&str; 8] = ["V", "REV", "VER", "R", "NR", "NO", "TAB", "PT"];
    let stem = name.rsplit('/').next().unwrap_or(name);
    let stem = [".csv", ".txt", ".tsv", ".xlsx", ".ods"]
        .iter()
        .find_map(|end| {
            let at = stem.len().checked_sub(end.len())?;
            let (stem, own) = stem.split_at_checked(at)?;
            own.eq_ignore_ascii_case(end).then_some(stem)
        })
        .unwrap_or(stem);
    let looks_like_one = |word: &&str| {
        let letters = word.bytes().take_while(u8::is_ascii_alphabetic).count();
        let rest = &word[letters..];
        let digits = rest.bytes().take_while(u8::is_ascii_digit).count();
        let half = &rest[digits..];
        let is_half = half.is_empty() || (half.len() == 1 && half.bytes().all(|byte| byte.is_ascii_alphabetic()));
        (1..=MOST_LETTERS).contains(&letters)
            && (1..=3).contains(&digits)
            && is_half
            && !NOT_CONNECTORS.contains(&word[..letters].to_ascii_uppercase().as_str())
    };
    let mut words = stem.split(|c: char| !c.is_alphanumeric()).filter(looks_like_one);
    match (words.next(), words.next()) {
        (Some(only), None) => ConnectorId::from_cell(&only.to_uppercase()),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuits::ListSettings;

    fn list(bytes: &[u8]) -> List {
        List { name: "ecu.csv".to_owned(), bytes: bytes.to_vec(), settings: ListSettings::default() }
    }

    #[test]
    fn a_list_looked_at() {
        let text = "Motor;;;;;\nKammer;Funktion;Farbe;L\u{e4}nge (cm);Drehmoment;Anmerkg.\n1;Pumpe;RD;12;;\n";
        let bytes = encoding_rs::WINDOWS_1252.encode(text).0.into_owned();
        let owned = |pairs: &[(&str, &'static str)]| -> Vec<(String, &'static str)> {
            pairs.iter().map(|(header, column)| ((*header).to_owned(), *column)).collect()
        };
        assert_eq!(
            look(&list(&bytes)).0,
            [Looked {
                sheet: None,
                form: Form::Chart,
                text: Some(("Windows-1252", "semicolons")),
                rows: 1,
                read: owned(&[
                    ("Kammer", "cavity"),
                    ("Funktion", "function"),
                    ("Farbe", "colour"),
                    ("L\u{e4}nge (cm)", "length")
                ]),
                unread: vec![("Drehmoment".to_owned(), None), ("Anmerkg.".to_owned(), Some("note"))],
                bare_sizes: BTreeSet::new(),
                german_colours: Vec::new(),
                connector_above: false,
                lacks_connector: true,
            }]
        );
        let wires =
            look(&list(b"from connector|from pin|to connector|to pin|wire colour 2|signal no.\nJ1|1|J2|2||\n")).0;
        assert_eq!(
            (wires[0].form, wires[0].lacks_connector, wires[0].text),
            (Form::Wire, false, Some(("UTF-8", "bars")))
        );
        let guesses: Vec<_> = wires[0].unread.iter().map(|(_, guess)| *guess).collect();
        assert_eq!(guesses, [Some("colour"), Some("function")]);
        let unit = |sizes: &str| look(&list(format!("connector,pin,size\n{sizes}").as_bytes())).0[0].likely_unit();
        assert_eq!(unit("J1,1,16\nJ1,2,18\n"), Some(SizeUnit::Awg));
        assert_eq!(unit("J1,1,16\nJ1,2,25\n"), Some(SizeUnit::SquareMillimetres));
        for sizes in ["J1,1,16\n", "J1,1,14\nJ1,2,1\n", "J1,1,18 AWG\nJ1,2,0.5\n"] {
            assert_eq!(unit(sizes), None, "{sizes}");
        }
        assert_eq!(look(&list(b"one\ntwo\n")).0, []);
        assert_eq!(look(&list(b"%PDF")).0, []);
    }

    #[test]
    fn german_letters_are_known_by_those_that_nobody_else_has() {
        let letters = |cells: &str| -> Vec<(String, Option<&'static str>)> {
            let text = format!("connector,pin,colour\n{cells}");
            let found = look(&list(text.as_bytes())).0.remove(0).german_colours;
            found.into_iter().map(|(letters, colour)| (letters, colour.map(Colour::code))).collect()
        };
        let own = |pairs: &[(&str, Option<&'static str>)]| -> Vec<(String, Option<&'static str>)> {
            pairs.iter().map(|(letters, code)| ((*letters).to_owned(), *code)).collect()
        };
        assert_eq!(
            letters("J1,1,sw/ge\nJ1,2,RT\nJ1,3,blws\nJ1,4,gn\n"),
            own(&[("bl", None), ("ge", Some("YE")), ("rt", Some("RD")), ("sw", Some("BK")), ("ws", Some("WH"))])
        );
        assert_eq!(letters("J1,1,BL\nJ1,2,BR\nJ1,3,GR\n"), own(&[]));
    }

    #[test]
    fn files_named_after_a_connector() {
        let named = |name: &str| connector_named_by(name).map(|connector| connector.to_string());
        for (name, connector) in [
            ("pinout-j1.csv", "J1"),
            ("J1.csv", "J1"),
            ("charts/X3P.CSV", "X3P"),
            ("x5-cab.csv", "X5"),
            ("Stecker J101 Motor.xlsx", "J101"),
            ("ECU1_v2.csv", "ECU1"),
            ("pinout j4 2024.csv", "J4"),
            ("F21", "F21"),
        ] {
            assert_eq!(named(name).as_deref(), Some(connector), "{name}");
        }
        for name in [
            "engine.csv",
            "j1-j2.csv",
            "v2.csv",
            "2024.csv",
            "pinout.csv",
            "Sheet12345",
            "Tabelle1",
            "",
            "pt1.csv",
            "Blätter 1",
        ] {
            assert_eq!(named(name), None, "{name}");
        }
    }
}
