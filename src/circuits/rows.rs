//! Rows -> mentions: reads each row of each chart and wire list. A row with an error is told and mentions nothing.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use super::blurred;
use super::connectors::unknown_action;
use super::headers::Column;
use super::mention::{CHART, FROM, Mention, Mentions, PlaceRef, Side, TO, settle_blank_cavities};
use super::problems::{
    BAD_DESIGNATION, BAD_DIAMETER, BAD_LENGTH, BAD_SIZE, DUPLICATE_ROW, EMPTY_CAVITY, INCOMPLETE_FAR_END,
    MISSING_PLACE, TWO_TAGS_OF_ONE_PURPOSE, UNKNOWN_COLOUR, UNKNOWN_INSULATION, UNKNOWN_SUPPLY, UNKNOWN_TAG,
    WIRE_TO_ITSELF,
};
use super::sheet::Sheet;
use super::spreadsheet::{self, Became, Changed};
use super::values::{self, Bounds, NotALength, WIRE_DIAMETER, WIRE_LENGTH};
use super::words::{self, NotATagWish};
use super::{Action, Connector, ConnectorKind, Form, Supply, TagWish};
use crate::base::conductor::NotASize;
use crate::base::nearest::{did_you_mean, listed};
use crate::base::{
    Conductor, ConnectorId, Insulation, Length, Place, Problem, ProblemKind, Severity, TagKind, WireColour,
};

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

    fn tell(&mut self, kind: ProblemKind, column: Column, message: String, remedy: impl Into<String>) {
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
            let default = self.sheet.connector().filter(|_| cavity.is_some() && !std::ptr::eq(side, &TO));
            match (named.or(default), cavity) {
                (None, None) => return Ok(None),
                (Some(connector), cavity) => PlaceRef { connector, cavity },
                (None, Some(cavity)) => {
                    let kind = if std::ptr::eq(side, &CHART) { MISSING_PLACE } else { INCOMPLETE_FAR_END };
                    let what = format!("this row does not say which connector cavity `{cavity}` is of");
                    self.tell(kind, side.cavity, what, "write its connector, or give the list one in job.toml");
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
            action: self.action(side),
            tag: self.tag(side),
            branch: self.get(Column::Branch),
            partner: self.get(Column::With),
            note: self.get(Column::Note),
            other: None,
        }
    }

    /// The action of one side; a wire list's plain action column is of both.
    fn action(&mut self, side: &'static Side) -> Option<Action> {
        let own = self.get(side.action).map(|cell| (side.action, cell));
        let (column, cell) = own.or_else(|| Some((Column::Action, self.get(Column::Action)?)))?;
        match self.actions.entry(cell).or_insert_with(|| words::action_with(cell, self.sheet.words())).clone() {
            Ok(action) => Some(action),
            Err(near) => {
                // The column for both sides is told once.
                if column != Column::Action || !std::ptr::eq(side, &TO) {
                    let origin = self.sheet.origin(self.row, column);
                    self.problems.push(unknown_action(cell, near).at(origin));
                }
                None
            }
        }
    }

    /// The kinds of tags of one side; a wire list's plain tag column is of both.
    fn tag(&mut self, side: &'static Side) -> TagWish {
        let own = self.get(side.tag).map(|cell| (side.tag, cell));
        let Some((column, cell)) = own.or_else(|| Some((Column::Tag, self.get(Column::Tag)?))) else {
            return TagWish::default();
        };
        let (kind, what, remedy) =
            match self.tags.entry(cell).or_insert_with(|| words::tag_wish(cell, self.sheet.words())) {
                Ok(wish) => return *wish,
                Err(NotATagWish::Unknown(word, near)) => {
                    let all = || format!("choose from {}", listed(&TagKind::WORDS.map(|(word, _)| word)));
                    (UNKNOWN_TAG, format!("`{word}` is no kind of tag"), near.as_deref().map_or_else(all, did_you_mean))
                }
                Err(NotATagWish::TwoOfOnePurpose(first, second)) => (
                    TWO_TAGS_OF_ONE_PURPOSE,
                    format!("`{first}` and `{second}` are both {} tags", first.purpose()),
                    "an end has at most one work tag (flag, wrap, tie-on) and one final tag (sleeve, strip)".to_owned(),
                ),
            };
        // The column for both sides is told once.
        if column != Column::Tag || !std::ptr::eq(side, &TO) {
            self.tell(kind, column, what, remedy);
        }
        TagWish::default()
    }

    fn supply(&mut self) -> Option<Supply> {
        let cell = self.get(Column::Supply)?;
        match *self.supplies.entry(cell).or_insert_with(|| words::supply_with(cell, self.sheet.words())) {
            Ok(supply) => supply,
            Err(near) => {
                let all = || format!("write {}", Supply::ALL.map(Supply::word).join(", "));
                let remedy = near.map_or_else(all, did_you_mean);
                self.tell(UNKNOWN_SUPPLY, Column::Supply, format!("`{cell}` is no supply"), remedy);
                None
            }
        }
    }

    fn insulation(&mut self) -> Option<Insulation> {
        let cell = self.get(Column::Insulation)?;
        let insulation =
            *self.insulations.entry(cell).or_insert_with(|| words::insulation_with(cell, self.sheet.words()));
        if insulation.is_err() {
            self.unknown_insulations.entry(cell).or_insert((self.row, 0)).1 += 1;
        }
        insulation.ok()
    }

    /// Unknown insulations once for each text, as makers' type letters fill whole columns.
    fn tell_unknown_insulations(&mut self) {
        for (cell, (row, count)) in std::mem::take(&mut self.unknown_insulations) {
            let rows = if count == 1 { String::new() } else { format!(" (in {count} rows)") };
            let what = format!("`{cell}` is no insulation whose wall is known: the diameter must be measured{rows}");
            let all = || format!("choose from {}", listed(&Insulation::ALL.map(Insulation::word)));
            let remedy =
                words::insulation_with(cell, self.sheet.words()).err().flatten().map_or_else(all, did_you_mean);
            self.row = row;
            self.tell(UNKNOWN_INSULATION, Column::Insulation, what, remedy);
        }
    }

    fn colour(&mut self) -> Option<u32> {
        let cell = self.get(Column::Colour)?;
        let index = match self.colours.get(cell) {
            Some(&(index, _)) => index,
            None => {
                let colours = &mut self.mentions.colours;
                let own = &self.sheet.words().colour;
                let colour = WireColour::from_cell_with(cell, &|word| own.meaning(word).copied())?;
                let index = colours.len() as u32;
                let meaning = colour.to_string().to_lowercase();
                self.mentions.colour_keys.push(*self.meanings.entry(meaning).or_insert(index));
                colours.push(colour);
                self.colours.insert(cell, (index, self.row));
                index
            }
        };
        if self.mentions.colour(index).base().is_none() {
            self.unknown_colours.push((index, self.row));
        }
        Some(index)
    }

    /// Unknown colours once for each text, as makers' letters fill whole columns.
    fn tell_unknown_colours(&mut self) {
        let mut unknown = std::mem::take(&mut self.unknown_colours);
        unknown.sort_unstable();
        for run in unknown.chunk_by(|a, b| a.0 == b.0) {
            let (colour, row) = run[0];
            let typed = self.mentions.colour(colour).typed();
            let rows = if run.len() == 1 { String::new() } else { format!(" (in {} rows)", run.len()) };
            let what = format!("`{typed}` is no colour of IEC 60757: it is printed as typed{rows}");
            self.row = row;
            let remedy = "base first, then stripe: `BN/WH` or `brown/white`; makers' own letters may stay, or job.toml says in \
                          [words.colour] what they mean";
            self.tell(UNKNOWN_COLOUR, Column::Colour, what, remedy);
        }
    }

    /// Own words that make one colour of two of this list's.
    fn tell_blurred_colours(&mut self) {
        let mut cells: Vec<(&str, usize)> = self.colours.iter().map(|(cell, (_, row))| (*cell, *row)).collect();
        cells.sort_unstable_by_key(|&(cell, row)| (row, cell));
        let place = |cell: &str| {
            let row = self.colours.get(cell).map_or(0, |&(_, row)| row);
            self.sheet.origin(row, Column::Colour)
        };
        let own = &self.sheet.words().colour;
        let found = blurred::find(cells.iter().map(|(cell, _)| *cell), own, &place, self.blurred);
        self.problems.extend(found);
    }

    fn size(&mut self) -> Option<u32> {
        let cell = self.get(Column::Size)?;
        let size = match self.sizes.get(cell) {
            Some(size) => *size,
            None => {
                let sizes = &mut self.mentions.sizes;
                let size = Conductor::from_cell(cell, self.sheet.size_unit()).map(|conductor| {
                    sizes.push(conductor);
                    (sizes.len() - 1) as u32
                });
                self.sizes.insert(cell, size);
                size
            }
        };
        if size == Err(NotASize::Unreadable) && self.is_changed_measure(Column::Size, cell) {
            return None;
        }
        let (what, remedy) = match size {
            Ok(index) => return Some(index),
            Err(NotASize::AmbiguousUnit) => (
                format!("`{cell}` may be mm² or AWG"),
                format!("write `{cell} AWG` or `{cell} mm²`, or give the list its `size_unit` in job.toml"),
            ),
            Err(NotASize::Unreadable) => {
                (format!("`{cell}` is no conductor size"), "write it like `0.75 mm²` or `18 AWG`".to_owned())
            }
            Err(NotASize::OutOfRange) => (
                format!("`{cell}` is no size that wires have"),
                "sizes go from 0.01 to 1000 mm² and from 4/0 to 44 AWG".to_owned(),
            ),
        };
        self.tell(BAD_SIZE, Column::Size, what, remedy);
        None
    }

    fn length(&mut self, column: Column, bounds: Bounds, kind: ProblemKind) -> Option<Length> {
        let cell = self.get(column)?;
        let what = column.name();
        let (message, remedy) = match values::length(cell, self.sheet.length_unit(column), bounds) {
            Ok(length) => return Some(length),
            Err(NotALength::Unreadable) if self.is_changed_measure(column, cell) => return None,
            Err(NotALength::Unreadable) => {
                let example =
                    if column == Column::Length { "`1200`, `1.2 m` or `47 in`" } else { "`2.4` or `0.095 in`" };
                (format!("`{cell}` is no {what}"), format!("write it like {example}; a bare number is millimetres"))
            }
            Err(NotALength::MaybeThousands) => {
                let bare = cell.replace(['.', ','], "");
                (
                    format!("`{cell}` may be thousands or a fraction of a millimetre"),
                    format!("write `{bare}`, or round it"),
                )
            }
            Err(NotALength::OutOfRange) => {
                let range = if column == Column::Length { "1 mm to 1000 m" } else { "0.1 to 100 mm" };
                (
                    format!("`{cell}` is no {what} that wires have"),
                    format!("a {what} is {range}; leave it blank while it is not known"),
                )
            }
        };
        self.tell(kind, column, message, remedy);
        None
    }
}

/// Columns that make a chart's row more than the name of an empty cavity.
const CONTENT: [Column; 14] = [
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
    Column::With,
    Column::Note,
];
