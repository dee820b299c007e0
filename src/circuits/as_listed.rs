//! A list as it stands: its headers and the cells of a row, each with its bytes, to show a row beside what is told of it.
//!
//! In: a source as it was read, and what the job says of it. Out: rows, and which places their cells name. Nothing else is understood here.

use std::borrow::Cow;
use std::ops::Range;
use std::sync::Arc;

use super::ListSettings;
use super::cells::{self, Cells, Table};
use super::columns::{self, Columns};
use super::headers::{self, Column, TableKind};
use super::mention::{CHART, FROM, Side, TO};
use crate::base::{ConnectorId, Origin, Place, Source};

/// A list cut into cells.
#[derive(Clone, Debug)]
pub struct AsListed<'s> {
    table: Table<'s>,
    columns: Option<Columns>,
    /// The connector of rows that name none.
    connector: Option<ConnectorId>,
    /// Whether these are of the one in the rows above.
    is_above: bool,
}

/// What a row says of the ends of its wire, whether it can be read or not.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SaidByRow {
    /// Connectors, each with the cavity where one is named.
    pub places: Vec<(String, Option<String>)>,
    /// Its own words for how the circuit is fed.
    pub supply: Option<String>,
}

/// Which sort of list it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Which {
    /// A chart or a wire list.
    Circuits,
    /// connectors.csv.
    Connectors,
}

/// A cell of a row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ListedCell<'s> {
    /// What it says.
    pub text: Cow<'s, str>,
    /// The bytes of the source that it stands in, with quotes and the spaces around it.
    pub span: Range<usize>,
}

impl<'s> AsListed<'s> {
    /// Cuts a source into cells; `None` where it is too large or a quote is never closed.
    pub fn of(source: &'s Arc<Source>, settings: &ListSettings, which: Which) -> Option<Self> {
        let kind = match which {
            Which::Circuits => TableKind::List,
            Which::Connectors => TableKind::Connectors,
        };
        let table = match source.sheet_name() {
            Some(_) => Table::of(source, Cow::Owned(of_sheet(source.text()))),
            None => {
                let is_header = |header: &str| headers::is_header(kind, &settings.columns, header);
                cells::cut(source, &is_header).ok()?
            }
        };
        // That the header row is missing, or names too little, is told where the list is read.
        let columns = columns::find(&table, kind, (&settings.columns, &settings.ignored), &mut Vec::new());
        Some(Self { table, columns, connector: settings.connector.clone(), is_above: settings.connector_above })
    }

    /// How many rows it has, titles and headers included; blank lines are no rows.
    pub fn len(&self) -> usize {
        self.table.len()
    }

    /// Whether it has no row.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The row of its headers.
    pub fn header_row(&self) -> Option<usize> {
        self.columns.as_ref().map(Columns::header_row)
    }

    /// What stands above the cells of a column.
    pub fn header(&self, column: usize) -> &str {
        self.columns.as_ref().map_or("", |columns| columns.header(column))
    }

    /// What a row says of the ends of its wire.
    pub fn said_by(&self, row: usize) -> SaidByRow {
        let places = [&CHART, &FROM, &TO].into_iter().filter_map(|side| self.place(row, side)).collect();
        SaidByRow { places, supply: self.cell(row, Column::Supply).map(str::to_owned) }
    }

    fn place(&self, row: usize, side: &'static Side) -> Option<(String, Option<String>)> {
        let cavity = self.cell(row, side.cavity).map(str::to_owned);
        let connector = self.cell(row, side.connector);
        let place = self.cell(row, side.place);
        if let Some(place) = place.filter(|_| connector.is_none() && cavity.is_none()) {
            return Some(match Place::from_typed(place) {
                Some(place) => (place.connector.to_string(), place.cavity.map(|cavity| cavity.to_string())),
                None => (place.to_owned(), None),
            });
        }
        // Only at the side that the row is about may the connector be left out.
        let is_left_out = cavity.is_some() && !std::ptr::eq(side, &TO);
        let above = || {
            let first = self.header_row()? + 1;
            (first..row).rev().filter(|_| self.is_above).find_map(|row| self.cell(row, side.connector))
        };
        let own = || self.connector.as_ref().map(ConnectorId::as_str);
        let left_out = || above().or_else(own).filter(|_| is_left_out);
        Some((connector.or(place).or_else(left_out)?.to_owned(), cavity))
    }

    /// What a row has in a column; `None` where it is blank.
    fn cell(&self, row: usize, column: Column) -> Option<&str> {
        let at = self.columns.as_ref()?.at(column)?;
        self.table.row(row).values().nth(at).map(str::trim).filter(|text| !text.is_empty())
    }

    /// The row in which a stretch of its source begins.
    pub fn row_of(&self, origin: &Origin) -> Option<usize> {
        let start = origin.span()?.start;
        let row = self.first_row_to(start);
        self.span(row).filter(|span| span.start <= start).map(|_| row)
    }

    /// The row that begins in this line, counted from 1, or goes on in it.
    pub fn row_in_line(&self, line: usize) -> Option<usize> {
        let text = self.table.source().text();
        let before = line.checked_sub(1)?;
        let start: usize = text.split_inclusive('\n').take(before).map(str::len).sum();
        let end = start + text.get(start..)?.split('\n').next().unwrap_or_default().len();
        let row = self.first_row_to(start);
        self.span(row).filter(|span| span.start <= end).map(|_| row)
    }

    /// The first row that ends at this byte or behind it.
    fn first_row_to(&self, byte: usize) -> usize {
        let (mut low, mut high) = (0, self.len());
        while low < high {
            let middle = low.midpoint(high);
            if self.span(middle).is_none_or(|span| span.end < byte) { low = middle + 1 } else { high = middle }
        }
        low
    }

    /// The bytes of a row.
    fn span(&self, row: usize) -> Option<Range<usize>> {
        let mut spans = self.table.spans(row);
        let first = spans.next()?;
        Some(first.start..spans.next_back().unwrap_or(first).end)
    }

    /// The line in which a row begins, from 1.
    pub fn line(&self, row: usize) -> Option<usize> {
        Origin::new(self.table.source(), self.span(row)?).line()
    }

    /// The cells of a row; none where there is no such row.
    pub fn cells(&self, row: usize) -> Vec<ListedCell<'_>> {
        let texts = self.table.row(row).values().map(Cow::Borrowed).collect::<Vec<_>>();
        texts.into_iter().zip(self.table.spans(row)).map(|(text, span)| ListedCell { text, span }).collect()
    }
}

/// The cells of a sheet, whose source is its cells with a tab between any two.
fn of_sheet(text: &str) -> Cells {
    let (mut cells, mut start) = (Cells::default(), 0);
    for line in text.split_inclusive('\n') {
        let row = line.trim_end_matches(['\r', '\n']);
        if !row.is_empty() {
            let mut at = start;
            for cell in row.split('\t') {
                cells.push(at..at + cell.len(), None);
                at += cell.len() + 1;
            }
            cells.end_row();
        }
        start += line.len();
    }
    cells
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(source: &Arc<Source>, at: usize) -> Option<(usize, Vec<String>)> {
        let list = AsListed::of(source, &ListSettings::default(), Which::Circuits).expect("is cut");
        let row = list.row_of(&Origin::new(source, at..at))?;
        Some((list.line(row)?, list.cells(row).into_iter().map(|cell| cell.text.into_owned()).collect()))
    }

    #[test]
    fn a_row_is_found_by_any_byte_of_it() {
        let text = "Engine loom\n\nconnector;cavity;function\nJ1;1;\"glow;\nplug\"\n\nJ1;2;\n";
        let source = Source::new("loom.csv", text);
        for at in text.find("J1;1").expect("is there")..text.find("\n\nJ1;2").expect("is there") {
            assert_eq!(shown(&source, at), Some((4, vec!["J1".into(), "1".into(), "glow;\nplug".into()])), "{at}");
        }
        assert_eq!(shown(&source, text.len() - 1), Some((7, vec!["J1".into(), "2".into(), String::new()])));
        let list = AsListed::of(&source, &ListSettings::default(), Which::Circuits).expect("is cut");
        let rows: Vec<_> = (1..9).map(|line| list.row_in_line(line)).collect();
        assert_eq!(rows, [Some(0), None, Some(1), Some(2), Some(2), None, Some(3), None]);
        assert_eq!((list.header_row(), list.header(2)), (Some(1), "function"));
    }

    #[test]
    fn sheets_keep_quotes_that_are_text() {
        let source = Source::sheet("loom.xlsx", "J1", "connector\tcavity\tfunction\n\nJ1\t1\t\"glow\n");
        assert_eq!(shown(&source, 28), Some((3, vec!["J1".into(), "1".into(), "\"glow".into()])));
    }

    #[test]
    fn a_row_names_its_places_whether_it_can_be_read_or_not() {
        let said = |text: &str, settings: &ListSettings| {
            let source = Source::new("loom.csv", text);
            let list = AsListed::of(&source, settings, Which::Circuits).expect("is cut");
            list.said_by(list.len() - 1)
        };
        let plain = ListSettings::default();
        let place = |connector: &str, cavity: &str| (connector.to_owned(), Some(cavity.to_owned()));
        let chart = said("connector,cavity,size,supply\nM1,7,16,high-voltage\n", &plain);
        assert_eq!(chart.places, [place("M1", "7")]);
        assert_eq!(chart.supply.as_deref(), Some("high-voltage"));
        let wire = said("circuit,from,to\nW1,M1/7,S1\n", &plain);
        assert_eq!(wire.places, [place("M1", "7"), ("S1".to_owned(), None)]);
        let above = ListSettings { connector_above: true, ..ListSettings::default() };
        assert_eq!(said("connector,cavity\nM1,7\n,8\n", &above).places, [place("M1", "8")]);
        assert_eq!(said("connector,cavity\nM1,7\n,8\n", &plain).places, []);
    }
}
