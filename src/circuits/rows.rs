//! Rows -> mentions: reads each row of each chart and wire list. A row with an error is told and mentions nothing.

mod facts;

use std::collections::{BTreeMap, BTreeSet, HashMap};

use super::headers::Column;
use super::mention::{CHART, FROM, Mention, Mentions, PlaceRef, Side, TO, settle_blank_cavities};
use super::problems::{
    BAD_DESIGNATION, BAD_DIAMETER, BAD_LENGTH, DUPLICATE_ROW, EMPTY_CAVITY, INCOMPLETE_FAR_END, MISSING_PLACE,
    WIRE_TO_ITSELF,
};
use super::sheet::Sheet;
use super::spreadsheet::{self, Became, Changed};
use super::values::{WIRE_DIAMETER, WIRE_LENGTH};
use super::words::NotATagWish;
use super::{Action, Connector, ConnectorKind, Form, Supply, TagWish};
use crate::base::conductor::NotASize;
use crate::base::{ConnectorId, Insulation, Place, Problem, ProblemKind, Remedy, Severity};

/// Reads all rows of all lists.
pub(super) fn read<'t>(
    sheets: &'t [Sheet<'t>],
    connectors: &'t BTreeMap<ConnectorId, Connector>,
    problems: &mut Vec<Problem>,
) -> Mentions<'t> {
    let described: HashMap<&str, ConnectorKind> =
        connectors.values().map(|connector| (connector.id.as_str(), connector.kind)).collect();
    let mut mentions =
        Mentions { sheets, all: Vec::new(), colours: Vec::new(), colour_keys: Vec::new(), sizes: Vec::new() };
    let mut meanings = HashMap::new();
    let mut blurred = BTreeSet::new();
    for (index, sheet) in sheets.iter().enumerate() {
        let mut reader = Reader {
            sheet,
            index,
            row: 0,
            described: &described,
            colours: HashMap::new(),
            meanings: &mut meanings,
            blurred: &mut blurred,
            unknown_colours: Vec::new(),
            sizes: HashMap::new(),
            actions: HashMap::new(),
            supplies: HashMap::new(),
            insulations: HashMap::new(),
            unknown_insulations: BTreeMap::new(),
            tags: HashMap::new(),
            maybe_numbers: BTreeSet::new(),
            above: None,
            warnings: Vec::new(),
            mentions: &mut mentions,
            problems,
        };
        reader.read_rows();
    }
    settle_blank_cavities(&mut mentions, &described, problems);
    mentions
}

/// What is being read.
struct Reader<'t, 'r> {
    sheet: &'t Sheet<'t>,
    index: usize,
    row: usize,
    described: &'r HashMap<&'t str, ConnectorKind>,
    /// Index of a colour of this list, and the first row that has it, by its text: another list may mean another colour by it.
    colours: HashMap<&'t str, (u32, usize)>,
    /// First index of each colour that means the same.
    meanings: &'r mut HashMap<String, u32>,
    /// Letters of which it has been told that they are blurred.
    blurred: &'r mut BTreeSet<(String, String)>,
    /// Unknown colours of this list: index of the colour and row, for each row that has one.
    unknown_colours: Vec<(u32, usize)>,
    // Lists repeat few words many times: each is understood once.
    sizes: HashMap<&'t str, Result<u32, NotASize>>,
    actions: HashMap<&'t str, Result<Action, Option<&'t str>>>,
    supplies: HashMap<&'t str, Result<Option<Supply>, Option<&'t str>>>,
    insulations: HashMap<&'t str, Result<Insulation, Option<&'t str>>>,
    tags: HashMap<&'t str, Result<TagWish, NotATagWish>>,
    /// Columns of which it has been told that a spreadsheet takes their cells for numbers.
    maybe_numbers: BTreeSet<Column>,
    /// The connector of the rows above, where rows that name none are of that.
    above: Option<&'t str>,
    /// Warnings of rows, told behind all errors.
    warnings: Vec<Problem>,
    /// Unknown insulations of this list: the row of each that has it first, and how many have it.
    unknown_insulations: BTreeMap<&'t str, (usize, usize)>,
    mentions: &'r mut Mentions<'t>,
    problems: &'r mut Vec<Problem>,
}

impl<'t> Reader<'t, '_> {
    fn read_rows(&mut self) {
        let rows = self.sheet.rows(self.problems);
        let mut seen: HashMap<&str, usize> = HashMap::with_capacity(rows.len());
        let mut empty: Option<(usize, usize)> = None;
        let has_more_than_places = CONTENT.iter().any(|&column| self.sheet.has(column));
        for row in rows {
            self.row = row;
            let is_empty = self.sheet.form() == Form::Chart
                && has_more_than_places
                && CONTENT.iter().all(|&column| self.get(column).is_none());
            if is_empty {
                match self.place(&CHART) {
                    Ok(Some(_)) => {
                        let (_, count) = empty.get_or_insert((row, 0));
                        *count += 1;
                        continue;
                    }
                    Err(()) => continue,
                    Ok(None) => {}
                }
            }
            let before = self.problems.len();
            match self.sheet.form() {
                Form::Chart => self.read_chart_row(),
                Form::Wire => self.read_wire_row(),
            }
            if self.problems.len() == before {
                self.tell_repeated(&mut seen);
            }
        }
        if let Some((row, count)) = empty {
            let what = match count {
                1 => "this row names a cavity and nothing else: it counts as empty".to_owned(),
                _ => format!("{count} rows name a cavity and nothing else: they count as empty"),
            };
            let origin = self.sheet.origin(row, Column::Cavity);
            let remedy = "write a circuit, function, colour or action for each that holds a wire";
            self.problems.push(EMPTY_CAVITY.says(what).at(origin).remedy(remedy));
        }
        self.problems.append(&mut self.warnings);
        self.tell_unknown_colours();
        self.tell_blurred_colours();
        self.tell_unknown_insulations();
    }

    fn get(&self, column: Column) -> Option<&'t str> {
        self.sheet.get(self.row, column)
    }

    fn tell(&mut self, kind: ProblemKind, column: Column, message: String, remedy: impl Into<Remedy>) {
        let origin = self.sheet.origin(self.row, column);
        self.problems.push(kind.says(message).at(origin).remedy(remedy));
    }

    fn tell_repeated(&mut self, seen: &mut HashMap<&'t str, usize>) {
        let row = self.row;
        let first = *seen.entry(self.sheet.row_text(row)).or_insert(row);
        if first != row {
            let place = |row| self.sheet.origin(row, self.first_column());
            let problem = DUPLICATE_ROW.says("this row repeats another one: it counts as a second wire").at(place(row));
            let problem = problem.see("the same here", place(first));
            self.problems.push(problem.remedy("take one of the two out if they are the same wire"));
        }
    }

    /// The column that says what a row is about.
    fn first_column(&self) -> Column {
        let columns = [Column::Cavity, Column::Place, Column::Circuit, Column::FromCavity, Column::FromPlace];
        columns.into_iter().find(|&column| self.get(column).is_some()).unwrap_or(Column::Connector)
    }

    fn read_chart_row(&mut self) {
        let before = self.problems.len();
        let place = self.place(&CHART);
        if let Ok(None) = place {
            self.tell(
                MISSING_PLACE,
                Column::Connector,
                "this row names no connector and no cavity".to_owned(),
                "write both, or take the row out if it is a title",
            );
        }
        let mention = self.common(&CHART);
        if let (Ok(Some(place)), true) = (place, self.problems.len() == before) {
            self.mentions.all.push(Mention { place, ..mention });
        }
    }

    fn read_wire_row(&mut self) {
        let before = self.problems.len();
        let (from, to) = (self.place(&FROM), self.place(&TO));
        match (from, to) {
            (Ok(None), Ok(None)) => self.tell(
                MISSING_PLACE,
                if self.sheet.has(Column::FromConnector) { Column::FromConnector } else { Column::FromPlace },
                "this row names neither end of its wire".to_owned(),
                "write where the wire begins, or take the row out if it is a title",
            ),
            (Ok(Some(from)), Ok(Some(to))) if from == to && from.cavity.is_some() => self.tell(
                WIRE_TO_ITSELF,
                if self.sheet.has(Column::ToCavity) { Column::ToCavity } else { Column::ToPlace },
                format!("this wire begins and ends in `{}/{}`", to.connector, to.cavity.unwrap_or_default()),
                "write its other end, or leave it blank while it is not known",
            ),
            _ => {}
        }
        let mention = self.common(&FROM);
        let (to_action, to_tag) = (self.action(&TO), self.tag(&TO));
        if self.problems.len() > before {
            return;
        }
        let all = &mut self.mentions.all;
        let first = all.len();
        let is_whole = matches!((from, to), (Ok(Some(_)), Ok(Some(_))));
        if let Ok(Some(place)) = from {
            all.push(Mention { place, other: is_whole.then_some(first + 1), ..mention.clone() });
        }
        if let Ok(Some(place)) = to {
            all.push(Mention {
                place,
                side: &TO,
                action: to_action,
                tag: to_tag,
                other: is_whole.then_some(first),
                ..mention
            });
        }
    }

    /// The place on one side of a row; `None` where that side is blank, `Err` where it is told to be wrong.
    fn place(&mut self, side: &'static Side) -> Result<Option<PlaceRef<'t>>, ()> {
        let cavity = self.get(side.cavity);
        let place = self.get(side.place);
        // `from` beside `from cavity` is a connector, alone it is a place as a whole.
        let is_place_whole = !self.sheet.has(side.cavity);
        let named = self.get(side.connector).or(place.filter(|_| !is_place_whole));
        let place = if let Some(place) = place.filter(|_| is_place_whole && named.is_none()) {
            self.split(place)
        } else {
            let is_far_end = std::ptr::eq(side, &TO);
            let default = self.above.or(self.sheet.connector()).filter(|_| cavity.is_some() && !is_far_end);
            if self.sheet.settings().connector_above && !is_far_end {
                self.above = named.or(self.above);
            }
            match (named.or(default), cavity) {
                (None, None) => return Ok(None),
                (Some(connector), cavity) => PlaceRef { connector, cavity },
                (None, Some(cavity)) => {
                    let kind = if std::ptr::eq(side, &CHART) { MISSING_PLACE } else { INCOMPLETE_FAR_END };
                    let what = format!("this row does not say which connector cavity `{cavity}` is of");
                    self.tell(kind, side.cavity, what, "write its connector, or give the list one in job.toml: `connector = \"J1\"`, or `blank_connector = \"above\"`");
                    return Err(());
                }
            }
        };
        let whole = self.get(side.place).map(|cell| (side.place, cell));
        let cells = [side.connector, side.cavity].map(|column| Some((column, self.get(column)?)));
        if cells.into_iter().chain([whole]).flatten().any(|(column, cell)| self.is_changed(column, cell)) {
            return Err(());
        }
        let has_control = |name: &str| name.bytes().any(|byte| byte.is_ascii_control());
        if has_control(place.connector) || place.cavity.is_some_and(has_control) {
            let shown = format!("{}/{}", place.connector, place.cavity.unwrap_or_default());
            let what = format!("the designation `{}` holds a line break", shown.escape_debug());
            let column = if place.cavity.is_some_and(has_control) { side.cavity } else { side.connector };
            self.tell(BAD_DESIGNATION, column, what, "write it on one line");
            return Err(());
        }
        Ok(Some(place))
    }

    /// Whether a spreadsheet has made something else of the name of a connector, cavity or place, which is told.
    fn is_changed(&mut self, column: Column, cell: &str) -> bool {
        let Some(changed) = spreadsheet::look(cell) else { return false };
        self.tell_changed(column, &changed, changed.says(cell));
        changed.became != Became::MaybeNumber
    }

    /// Cells that may be changed yet are told once for each column.
    fn tell_changed(&mut self, column: Column, changed: &Changed, problem: Problem) {
        let is_told = changed.became == Became::MaybeNumber && self.maybe_numbers.contains(&column);
        if !is_told {
            // A row with an error mentions nothing, one with a warning does.
            let is_error = problem.severity == Severity::Error;
            let problems = if is_error { &mut *self.problems } else { &mut self.warnings };
            problems.push(problem.at(self.sheet.origin(self.row, column)));
        }
        if changed.became == Became::MaybeNumber {
            self.maybe_numbers.insert(column);
        }
    }

    /// Whether a spreadsheet has made something else of a measure, which is told.
    fn is_changed_measure(&mut self, column: Column, cell: &str) -> bool {
        let Some(changed) = spreadsheet::look_at_measure(cell) else { return false };
        self.tell_changed(column, &changed, changed.says(cell));
        true
    }

    /// Splits `J1/14`; a text that is a whole designation in connectors.csv is not split.
    fn split(&self, typed: &'t str) -> PlaceRef<'t> {
        let whole = PlaceRef { connector: typed, cavity: None };
        if self.described.contains_key(typed) {
            return whole;
        }
        // Both parts stand in the text itself, the connector at its start and the cavity at its end.
        let Some(Place { connector, cavity: Some(cavity) }) = Place::from_typed(typed) else { return whole };
        PlaceRef {
            connector: typed.get(..connector.as_str().len()).unwrap_or(typed),
            cavity: typed.get(typed.len() - cavity.as_str().len()..),
        }
    }

    /// What a row says apart from places; the place is filled in after.
    fn common(&mut self, side: &'static Side) -> Mention<'t> {
        let circuit = self.get(Column::Circuit);
        if let Some(circuit) = circuit
            && circuit.bytes().any(|byte| byte.is_ascii_control())
        {
            let what = format!("the designation `{}` holds a line break", circuit.escape_debug());
            self.tell(BAD_DESIGNATION, Column::Circuit, what, "write it on one line");
        }
        for (column, cell) in [(Column::Circuit, circuit), (Column::Function, self.get(Column::Function))] {
            let changed = cell.and_then(|cell| Some((cell, spreadsheet::look(cell)?)));
            let is_of_interest = |changed: &Changed| column == Column::Circuit || changed.became == Became::Error;
            if let Some((cell, changed)) = changed.filter(|(_, changed)| is_of_interest(changed)) {
                self.tell_changed(column, &changed, Problem { severity: Severity::Warning, ..changed.says(cell) });
            }
        }
        Mention {
            sheet: self.index,
            row: self.row,
            side,
            place: PlaceRef { connector: "", cavity: None },
            circuit,
            function: self.get(Column::Function),
            supply: self.supply(),
            fuse: self.get(Column::Fuse),
            colour: self.colour(),
            size: self.size(),
            insulation: self.insulation(),
            length: self.length(Column::Length, WIRE_LENGTH, BAD_LENGTH),
            diameter: self.length(Column::Diameter, WIRE_DIAMETER, BAD_DIAMETER),
            slides_over: self.length(Column::SlidesOver, WIRE_DIAMETER, BAD_DIAMETER),
            terminal: self.get(Column::TerminalFamily),
            extend_by: self.length(Column::ExtendBy, WIRE_LENGTH, BAD_LENGTH),
            action: self.action(side),
            tag: self.tag(side),
            branch: self.get(Column::Branch),
            partner: self.get(Column::With),
            note: self.get(Column::Note),
            other: None,
        }
    }
}

/// Columns that make a chart's row more than the name of an empty cavity.
const CONTENT: [Column; 15] = [
    Column::Circuit,
    Column::Function,
    Column::Colour,
    Column::Size,
    Column::Insulation,
    Column::Supply,
    Column::Fuse,
    Column::Action,
    Column::Tag,
    Column::Length,
    Column::Diameter,
    Column::SlidesOver,
    Column::ExtendBy,
    Column::With,
    Column::Note,
];
