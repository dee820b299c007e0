//! run.json: what a print run made, for other programs and for the proof of its PDFs later on.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet, VecDeque};

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::headers::HEADER;
use super::sheets::SheetLaid;
use crate::base::{Length, Rect, TagCode};
use crate::circuits::Circuit;
use crate::codes::rebuild::RecordedRun;
use crate::codes::recorded::{RunCircuit, RunEnd, RunName};
use crate::codes::{PrintedConnectorTag, PrintedTag, SheetNumber, SheetUse, Spot};
use crate::labels::{Label, Position, TagName};
use crate::layout::Facts;
use crate::pages::SheetStanding;
use crate::proof::Expected;

/// Name of the file beside the PDFs of a run.
pub(super) const RUN_FILE: &str = "run.json";

/// A print run.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RunRecord {
    /// Number of the run.
    pub run: u32,
    /// Title of the job.
    pub title: String,
    /// What was asked for.
    pub what: String,
    /// Its PDFs.
    pub files: Vec<FileRecord>,
    /// How many codes had been issued in this job by then; runs of older versions do not say.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub issued: Option<u32>,
    /// What a lost register is put together from: all circuits, where codes or letters were issued since the last run that is
    /// done; else those of its tags.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub circuits: Vec<RunCircuit>,
    /// Codes that were listed for a marker pen, and stand on no tag of a file.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub listed: Vec<String>,
}

impl RunRecord {
    /// The run as a register learns from it. Runs of older versions tell of their tags alone: codes, letters, places.
    pub(super) fn recorded(self, planned: Timestamp) -> RecordedRun {
        let tags = || self.files.iter().flat_map(|file| &file.tags);
        let circuits = if self.circuits.is_empty() { circuits_of(tags()) } else { self.circuits.clone() };
        let known: HashSet<&str> = circuits
            .iter()
            .flat_map(|circuit| circuit.also.iter().chain([&circuit.code]))
            .map(String::as_str)
            .collect();
        let codes = tags().filter_map(|tag| tag.code.as_deref()).chain(self.listed.iter().map(String::as_str));
        let codes = codes.filter(|code| !known.contains(code));
        let blanks: BTreeSet<TagCode> = codes.filter_map(|code| TagCode::from_typed(code).ok()).collect();
        let tags = self.files.iter().flat_map(|file| file.tags.iter().filter_map(|tag| tag.journalled(&file.stock)));
        let connectors =
            self.files.iter().flat_map(|file| file.tags.iter().filter_map(|tag| tag.journalled_connector(&file.stock)));
        let sheets: Vec<SheetUse> = self.files.iter().flat_map(FileRecord::sheet_uses).collect();
        RecordedRun {
            number: self.run,
            sheets,
            connector_tags: connectors.collect(),
            planned,
            issued: self.issued,
            blanks: blanks.into_iter().collect(),
            tags: tags.collect(),
            what: self.what,
            circuits,
        }
    }
}

/// Circuits as far as tags alone tell of them.
fn circuits_of<'a>(tags: impl Iterator<Item = &'a TagRecord>) -> Vec<RunCircuit> {
    let mut circuits: BTreeMap<&str, RunCircuit> = BTreeMap::new();
    for tag in tags {
        let (Some(code), Some(name)) = (&tag.code, &tag.circuit) else { continue };
        let circuit = circuits.entry(code).or_insert_with(|| {
            let name = RunName { name: name.clone(), by_place: *name == tag.place, former: false };
            RunCircuit { code: code.clone(), also: Vec::new(), names: vec![name], ends: Vec::new() }
        });
        if tag.is_mark() {
            continue;
        }
        let (connector, cavity) = tag.place.rsplit_once('/').unwrap_or((&tag.place, ""));
        for letter in tag.letters.split('+').filter(|letter| !letter.is_empty()) {
            let named = vec![format!("{code} {letter}")];
            if circuit.ends.iter().any(|end| end.tags == named) {
                continue;
            }
            let alike = circuit.ends.iter().filter(|end| end.connector == connector && end.cavity == cavity).count();
            circuit.ends.push(RunEnd {
                tags: named,
                connector: connector.to_owned(),
                cavity: cavity.to_owned(),
                colour: String::new(),
                far: String::new(),
                ordinal: u16::try_from(alike).unwrap_or(u16::MAX),
            });
        }
    }
    for circuit in circuits.values_mut() {
        let is_place = |end: &RunEnd| format!("{}/{}", end.connector, end.cavity) == circuit.names[0].name;
        circuit.names[0].by_place |= circuit.ends.iter().any(is_place);
    }
    circuits.into_values().collect()
}

/// A PDF of a run.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FileRecord {
    /// Name of the file, beside run.json.
    pub file: String,
    /// Its stock.
    pub stock: String,
    /// `work` or `final`.
    pub purpose: String,
    /// Resolution of its printer, in dots an inch.
    pub dpi: u16,
    /// Number of pages.
    pub pages: usize,
    /// The sheets of labels that its pages go on, in their order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub sheets: Vec<SheetRecord>,
    /// Its tags, in the order of the pages.
    pub tags: Vec<TagRecord>,
    /// Its header labels, in that order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub headers: Vec<HeaderRecord>,
}

impl FileRecord {
    /// What it used of sheets of labels.
    fn sheet_uses(&self) -> impl Iterator<Item = SheetUse> {
        self.sheets.iter().filter_map(|sheet| {
            let on = self.tags.iter().filter(|tag| tag.sheet == Some(sheet.number));
            let labels = on.filter_map(|tag| Some((tag.label?, tag.name(), tag.kind.clone())));
            let headers = self.headers.iter().filter_map(HeaderRecord::on_sheet);
            let headers = headers.filter(|(on, _)| *on == sheet.number);
            let labels = labels.chain(headers.map(|(_, label)| (label, String::new(), HEADER.to_owned()))).collect();
            let (number, begun_at) = (SheetNumber::new(sheet.number)?, Some(sheet.begun_at.max(1)));
            Some(SheetUse { number, stock: self.stock.clone(), begun_at, labels })
        })
    }
}

/// A sheet of labels that a page goes on.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SheetRecord {
    /// The number in its margin.
    pub number: u32,
    /// The page, from 1.
    pub page: usize,
    /// Whether this run is the first to print on it.
    pub new: bool,
    /// Labels before this place were gone when it was first laid in.
    pub begun_at: u32,
}

impl SheetRecord {
    pub(super) fn of(laid: &SheetLaid) -> Self {
        let new = laid.standing != SheetStanding::Begun;
        Self { number: laid.number.get(), page: laid.page, new, begun_at: laid.begun_at }
    }
}

/// A header label on a page.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HeaderRecord {
    /// Page it stands on, from 1.
    pub page: usize,
    /// The sheet of labels that it is on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sheet: Option<u32>,
    /// Its place there, from 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub label: Option<u32>,
}

impl HeaderRecord {
    pub(super) fn of(placed: &PlacedTag) -> Self {
        let (sheet, label) = placed.on.unzip();
        Self { page: placed.page, sheet, label }
    }

    /// The sheet of labels and its place there.
    pub(super) fn on_sheet(&self) -> Option<(u32, u32)> {
        self.sheet.zip(self.label)
    }
}

/// A tag as it came to stand on a page.
pub(super) struct PlacedTag {
    /// Its name.
    pub(super) name: String,
    /// The page, from 1.
    pub(super) page: usize,
    /// The sheet of labels and the place on it, from 1.
    pub(super) on: Option<(u32, u32)>,
    /// Its symbols as they are sent.
    pub(super) symbols: Vec<Expected>,
}

/// A tag on a page.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct TagRecord {
    /// The circuit's code; the tag of a connector has none.
    pub code: Option<String>,
    /// Letters of the ends: `A`, or `A+B`; of a mark along a wire `A-B`.
    pub letters: String,
    /// Designation of the circuit.
    pub circuit: Option<String>,
    /// The connector, on the tag of one that stays whole.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub connector: Option<String>,
    /// The place it is for; empty on a blank.
    pub place: String,
    /// How far from the end `from` it sits on its wire, in millimetres, when tags were spread along wires.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_mm: Option<f64>,
    /// The place of the end that `at_mm` is told from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<String>,
    /// `flag`, `sleeve`, `strip`.
    pub kind: String,
    /// Its lines as printed, without the code.
    pub words: Vec<String>,
    /// Page it stands on, from 1.
    pub page: usize,
    /// The sheet of labels that it is on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sheet: Option<u32>,
    /// Its place there, from 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub label: Option<u32>,
    /// Its symbols: a flag may carry one on each face.
    pub symbols: Vec<SymbolRecord>,
}

/// A symbol on a page of the PDF, in millimetres from the top left corner: as it is sent, not as the printer puts it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SymbolRecord {
    /// What it says.
    pub says: String,
    /// Left edge, top edge, width, height of its modules.
    pub area_mm: [f64; 4],
    /// Width of the quiet zone.
    pub quiet_mm: f64,
}

impl TagRecord {
    /// The record of a tag that is fitted but not yet on a page.
    pub(super) fn of(circuit: Option<&Circuit>, label: &Label, facts: &Facts) -> Self {
        Self {
            code: label.name.code().map(|code| code.to_string()),
            letters: label.name.lettered(),
            circuit: circuit.map(|circuit| circuit.id().to_string()),
            connector: match &label.name {
                TagName::Connector(id) => Some(id.to_string()),
                TagName::Ends { .. } | TagName::Between { .. } | TagName::Blank(_) => None,
            },
            place: label.place_text(),
            at_mm: label.at.as_ref().map(Position::at_mm),
            from: label.at.as_ref().map(|at| at.from.to_string()),
            kind: facts.kind.to_string(),
            words: facts.said.clone(),
            page: 0,
            sheet: None,
            label: None,
            symbols: Vec::new(),
        }
    }

    /// The tag's name as printed; of the marks along a wire, which have one name, each with its distance.
    pub fn name(&self) -> String {
        let name = self.code.as_ref().or(self.connector.as_ref()).map_or("", String::as_str);
        let name = format!("{name} {}", self.letters).trim_end().to_owned();
        match self.at_mm.filter(|_| self.is_mark()) {
            Some(at) => format!("{name} at {at:.0} mm"),
            None => name,
        }
    }

    fn is_mark(&self) -> bool {
        self.letters.contains('-')
    }

    /// Notes on which page each tag came to stand, and its symbols, and puts them in the order of the pages. Tags of one name
    /// keep their order.
    pub(super) fn place_all(records: Vec<Self>, placed: Vec<PlacedTag>) -> Vec<Self> {
        let mut places: HashMap<String, VecDeque<(usize, PlacedTag)>> = HashMap::with_capacity(placed.len());
        for (order, placed) in placed.into_iter().enumerate() {
            places.entry(placed.name.clone()).or_default().push_back((order, placed));
        }
        let place = |record: Self| match places.get_mut(&record.name()).and_then(VecDeque::pop_front) {
            Some((order, PlacedTag { page, on, symbols, .. })) => {
                let symbols = symbols.iter().map(SymbolRecord::of).collect();
                let (sheet, label) = on.unzip();
                (Some(order), Self { page, sheet, label, symbols, ..record })
            }
            None => (None, record),
        };
        let mut ordered: Vec<(Option<usize>, Self)> = records.into_iter().map(place).collect();
        ordered.sort_by_key(|(order, _)| *order);
        ordered.into_iter().map(|(_, record)| record).collect()
    }

    /// As the journal keeps it, if it is the tag of a connector.
    pub(super) fn journalled_connector(&self, stock: &str) -> Option<PrintedConnectorTag> {
        Some(PrintedConnectorTag {
            connector: self.connector.clone()?,
            kind: self.kind.clone(),
            stock: stock.to_owned(),
            words: self.words.clone(),
            payload: self.symbols.first().map(|symbol| symbol.says.clone()),
        })
    }

    /// As the journal keeps it, if it bears a code.
    pub(super) fn journalled(&self, stock: &str) -> Option<PrintedTag> {
        let code = TagCode::from_typed(self.code.as_ref()?).ok()?;
        let (letters, spot) = Spot::read(&self.letters);
        Some(PrintedTag {
            code,
            letters,
            spot,
            place: self.place.clone(),
            kind: self.kind.clone(),
            stock: stock.to_owned(),
            words: self.words.clone(),
            payload: self.symbols.first().map(|symbol| symbol.says.clone()),
        })
    }

    /// What the proof must find.
    pub fn expected(&self) -> impl Iterator<Item = Expected> {
        self.symbols.iter().map(|symbol| {
            let [left, top, width, height] = symbol.area_mm.map(Length::mm);
            Expected {
                page: self.page,
                name: self.name(),
                area: Rect::new(left, top, width, height),
                quiet: Length::mm(symbol.quiet_mm),
                payload: symbol.says.clone(),
            }
        })
    }
}

impl SymbolRecord {
    fn of(expected: &Expected) -> Self {
        let area = expected.area;
        let sides = [area.left(), area.top(), area.size.width, area.size.height];
        Self { says: expected.payload.clone(), area_mm: sides.map(Length::as_mm), quiet_mm: expected.quiet.as_mm() }
    }
}
