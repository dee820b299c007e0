//! run.json: what a print run made, for other programs and for the proof of its PDFs later on.

use std::collections::HashMap;

use serde::{Deserialize, Serialize};

use crate::base::{EndLetter, Length, Rect, TagCode};
use crate::circuits::Circuit;
use crate::codes::PrintedTag;
use crate::labels::Label;
use crate::layout::Facts;
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
    /// Its tags, in the order of the pages.
    pub tags: Vec<TagRecord>,
}

/// A tag on a page.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct TagRecord {
    /// The circuit's code.
    pub code: String,
    /// Letters of the ends: `A`, or `A+B`.
    pub letters: String,
    /// Designation of the circuit.
    pub circuit: String,
    /// The place it is for.
    pub place: String,
    /// `flag`, `sleeve`, `strip`.
    pub kind: String,
    /// Its lines as printed, without the code.
    pub words: Vec<String>,
    /// Page it stands on, from 1.
    pub page: usize,
    /// Its symbols: a flag may carry one on each face.
    pub symbols: Vec<SymbolRecord>,
}

/// A symbol on a page, in millimetres from the top left corner.
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
    pub(super) fn of(circuit: &Circuit, label: &Label, facts: &Facts) -> Self {
        Self {
            code: label.name.code().map(|code| code.to_string()).unwrap_or_default(),
            letters: label.name.lettered(),
            circuit: circuit.id().to_string(),
            place: label.place.to_string(),
            kind: facts.kind.to_string(),
            words: facts.said.clone(),
            page: 0,
            symbols: Vec::new(),
        }
    }

    /// The tag's name as printed.
    pub fn name(&self) -> String {
        format!("{} {}", self.code, self.letters).trim_end().to_owned()
    }

    /// Notes on which page each tag came to stand, and its symbols, and puts them in the order of the pages.
    pub(super) fn place_all(records: &mut [Self], placed: Vec<(String, usize, Vec<Expected>)>) {
        let mut places: HashMap<String, (usize, usize, Vec<Expected>)> = HashMap::with_capacity(placed.len());
        for (order, (name, page, symbols)) in placed.into_iter().enumerate() {
            places.insert(name, (order, page, symbols));
        }
        records.sort_by_cached_key(|record| places.get(&record.name()).map(|(order, ..)| *order));
        for record in records {
            if let Some((_, page, symbols)) = places.remove(&record.name()) {
                record.page = page;
                record.symbols = symbols.iter().map(SymbolRecord::of).collect();
            }
        }
    }

    /// As the journal keeps it.
    pub(super) fn journalled(&self, stock: &str) -> Option<PrintedTag> {
        let code = TagCode::from_typed(&self.code).ok()?;
        let letters = self.letters.split('+').filter_map(EndLetter::from_typed).collect();
        Some(PrintedTag {
            code,
            letters,
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
