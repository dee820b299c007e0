//! Cells -> columns: finds the header row, also below title rows, and which of our columns each header names. What the job
//! says of its headers comes before the spellings we know.

use std::collections::BTreeMap;

use super::Form;
use super::cells::Table;
use super::header_rows::{self, Header};
use super::headers::{Column, HeaderUnit, TableKind, is_same, known, nearest_header, plain};
use super::problems::{MISSING_COLUMN, UNKNOWN_COLUMN, UNUSED_COLUMN};
use crate::base::nearest::{did_you_mean, nearest};
use crate::base::{ConnectorId, Origin, Problem};

/// Where the columns of a table are.
#[derive(Clone, Debug)]
pub(super) struct Columns {
    header_row: usize,
    width: usize,
    widest: usize,
    unnamed: Vec<usize>,
    unread: Vec<usize>,
    headers: Vec<String>,
    at: [Option<u16>; Column::ALL.len()],
    units: [Option<HeaderUnit>; Column::ALL.len()],
}

impl Columns {
    /// The row of headers.
    pub(super) const fn header_row(&self) -> usize {
        self.header_row
    }

    /// How many cells the header row has, blank ones at its end left out.
    pub(super) const fn width(&self) -> usize {
        self.width
    }

    /// How many cells the header row has, blank ones included.
    pub(super) const fn widest(&self) -> usize {
        self.widest
    }

    /// The header of a cell of each row.
    pub(super) fn header(&self, at: usize) -> &str {
        self.headers.get(at).map_or("", String::as_str)
    }

    /// Which cells of a row stand below a header that names none of our columns, or one that is read elsewhere.
    pub(super) fn unread(&self) -> &[usize] {
        &self.unread
    }

    /// Which cells of a row stand below no header, though the header row has cells for them.
    pub(super) fn unnamed(&self) -> &[usize] {
        &self.unnamed
    }

    /// Which cell of a row is of this column.
    pub(super) fn at(&self, column: Column) -> Option<usize> {
        self.at[column as usize].map(usize::from)
    }

    /// The unit in its header.
    pub(super) fn unit(&self, column: Column) -> Option<HeaderUnit> {
        self.units[column as usize]
    }

    fn has(&self, column: Column) -> bool {
        self.at(column).is_some()
    }

    /// Whether these are columns of wires rather than of cavities.
    pub(super) fn form(&self) -> Form {
        let is_wire =
            self.has_from() && [Column::ToConnector, Column::ToPlace, Column::ToCavity].iter().any(|&to| self.has(to));
        if is_wire || self.leads_on() { Form::Wire } else { Form::Chart }
    }

    fn has_from(&self) -> bool {
        [Column::FromConnector, Column::FromPlace, Column::FromCavity].iter().any(|&from| self.has(from))
    }

    /// Whether a chart names connector and cavity of the other end too: its rows are wires.
    fn leads_on(&self) -> bool {
        let has_other = self.has(Column::ToCavity) && (self.has(Column::ToConnector) || self.has(Column::ToPlace));
        has_other && self.has(Column::Cavity) && !self.has_from()
    }

    /// Takes the plain columns of a place for those of where a wire begins, in a wire list that has no others.
    pub(super) fn begin_wires(&mut self) {
        if self.has_from() {
            return;
        }
        for (plain, from) in [
            (Column::Connector, Column::FromConnector),
            (Column::Cavity, Column::FromCavity),
            (Column::Place, Column::FromPlace),
        ] {
            self.at[from as usize] = self.at[plain as usize].take();
        }
    }
}

impl Column {
    /// Whether lists of a form have such a column.
    pub(super) fn is_of(self, form: Form) -> bool {
        !OF_FORM.iter().any(|(unfit_for, columns)| *unfit_for == form && columns.contains(&self))
    }
}

/// Columns of one form, which a list of the other form has no use for.
const OF_FORM: [(Form, &[Column]); 2] = [
    (Form::Wire, &[Column::Connector, Column::Cavity, Column::Place]),
    (
        Form::Chart,
        &[
            Column::FromConnector,
            Column::FromCavity,
            Column::FromPlace,
            Column::FromAction,
            Column::FromTag,
            Column::ToConnector,
            Column::ToCavity,
            Column::ToPlace,
            Column::ToAction,
            Column::ToTag,
        ],
    ),
];

/// Leaves out the columns that rows of this form do not have, and tells of them.
pub(super) fn leave_out_unfit(table: &Table<'_>, columns: &mut Columns, form: Form, problems: &mut Vec<Problem>) {
    for &column in Column::ALL.iter().filter(|column| !column.is_of(form)) {
        let Some(at) = columns.at[column as usize].take().map(usize::from) else { continue };
        columns.unread.push(at);
        let header = shortened(columns.header(at));
        let (what, remedy) = match form {
            Form::Chart => (
                "this list has one row per cavity, and no columns for where a wire begins and where it ends",
                format!("name those for the place in job.toml, or say `note = \"{header}\"`"),
            ),
            Form::Wire => (
                "this list has one row per wire, with columns for where it begins and ends",
                format!("if it matters, say in job.toml which column it is: `note = \"{header}\"`"),
            ),
        };
        let problem = UNUSED_COLUMN.says(format!("column `{header}` is not read: {what}"));
        problems.push(problem.at(table.origin(columns.header_row, at)).remedy(remedy));
    }
}

/// Finds the columns of a table. `named` maps our names to the table's own headers and wins over the spellings we know; those that
/// are `ignored` are not read, and nothing is told of them.
/// `None` when there is no header row at all.
pub(super) fn find(
    table: &Table<'_>,
    kind: TableKind,
    (named, ignored): (&BTreeMap<String, String>, &[String]),
    problems: &mut Vec<Problem>,
) -> Option<Columns> {
    let named = own_names(table, named, problems);
    let column_of = |header: &str| {
        let own = || named.iter().find(|(_, own)| is_same(header, own)).map(|&(column, _)| (column, None));
        let is_ignored = || ignored.iter().any(|own| is_same(header, own));
        own().or_else(|| {
            known(kind, header)
                .filter(|_| !is_ignored())
                .filter(|(column, _)| !named.iter().any(|(taken, _)| taken == column))
        })
    };
    let Some(headers) = header_rows::find(table, &column_of) else {
        problems.push(no_header(table, kind));
        return None;
    };
    let width = headers.cells.iter().rposition(|header| !header.text.is_empty()).map_or(0, |last| last + 1);
    let is_unnamed = |index: &usize| headers.cells[*index].text.is_empty();
    let unnamed = (0..headers.cells.len()).filter(is_unnamed).collect();
    let (at, units) = ([None; Column::ALL.len()], [None; Column::ALL.len()]);
    let (header_row, widest) = (headers.row, headers.cells.len());
    let mut columns =
        Columns { header_row, width, widest, unnamed, at, units, unread: Vec::new(), headers: Vec::new() };
    // A header that is a column's very name, or that the job names, goes before another spelling of the same column.
    let is_own = |header: &Header, column: Column| {
        plain(&header.text) == column.name()
            || named.iter().any(|(taken, own)| *taken == column && is_same(&header.text, own))
    };
    for own_first in [true, false] {
        for (index, header) in headers.cells.iter().enumerate() {
            if let Some((column, unit)) = header.names
                && (!own_first || is_own(header, column))
                && !columns.has(column)
            {
                columns.at[column as usize] = u16::try_from(index).ok();
                columns.units[column as usize] = unit;
            }
        }
    }
    for (index, header) in headers.cells.iter().enumerate().filter(|(_, header)| !header.text.is_empty()) {
        let text = shortened(&header.text);
        let origin = table.origin(header.row, index);
        match header.names.and_then(|(column, _)| Some((column, columns.at(column)?))) {
            Some((_, read)) if read == index => {}
            None if ignored.iter().any(|own| is_same(&header.text, own)) => {}
            Some((column, read)) => {
                let (name, other) = (column.name(), &headers.cells[read]);
                let what = format!("column `{text}` is not read: `{}` is the {name} already", shortened(&other.text));
                let problem = UNUSED_COLUMN.says(what).at(origin).see("read instead", table.origin(other.row, read));
                problems.push(problem.remedy(format!("say in job.toml which of them is `{name}`")));
                columns.unread.push(index);
            }
            None => {
                let problem = UNUSED_COLUMN.says(format!("column `{text}` is not read")).at(origin);
                let otherwise = || format!("if it matters, say in job.toml which column it is: `note = \"{text}\"`");
                problems.push(problem.remedy(nearest_header(kind, &text).map_or_else(otherwise, did_you_mean)));
                columns.unread.push(index);
            }
        }
    }
    for (column, own) in named.iter().filter(|(column, _)| !columns.has(*column)) {
        let what =
            format!("`{}` has no column `{own}`, which the job names as {}", table.source().name(), column.name());
        problems.push(with_headers(MISSING_COLUMN.says(what), table, header_row, own));
    }
    columns.headers = headers.cells.into_iter().map(|header| header.text).collect();
    Some(columns)
}

/// The job's own names, by our columns; one that names no column of ours is told.
fn own_names<'a>(
    table: &Table<'_>,
    named: &'a BTreeMap<String, String>,
    problems: &mut Vec<Problem>,
) -> Vec<(Column, &'a str)> {
    let mut names = Vec::new();
    for (ours, own) in named {
        let name = plain(ours);
        match Column::from_name(&name) {
            Some(column) => names.push((column, own.as_str())),
            None => {
                let what = format!(
                    "the job names a column `{ours}` of `{}`; lists have no such column",
                    table.source().name()
                );
                let problem = UNKNOWN_COLUMN.says(what).at(Origin::whole(table.source()));
                let all = Column::ALL.iter().map(|column| column.name());
                let near = nearest(&name, all.clone());
                let otherwise = || format!("the columns are {}", all.collect::<Vec<_>>().join(", "));
                problems.push(problem.remedy(near.map_or_else(otherwise, did_you_mean)));
            }
        }
    }
    names
}

fn no_header(table: &Table<'_>, kind: TableKind) -> Problem {
    let name = table.source().name();
    let wanted = match kind {
        TableKind::List => "`cavity` and `connector`, or `from connector`, `from cavity`, `to connector`, `to cavity`",
        TableKind::Connectors => "`connector`",
    };
    let problem = MISSING_COLUMN.says(format!("`{name}` has no header row with {wanted}"));
    with_headers(problem, table, 0, table.row(0).value(0))
}

/// Adds which headers the table has, and the nearest of them to the one that is missing.
fn with_headers(problem: Problem, table: &Table<'_>, header_row: usize, wanted: &str) -> Problem {
    const SHOWN: usize = 30;
    let headers: Vec<&str> = table.row(header_row).values().filter(|header| !header.is_empty()).collect();
    let mut found: Vec<String> = headers.iter().take(SHOWN).map(|header| format!("`{}`", shortened(header))).collect();
    if headers.len() > SHOWN {
        found.push("…".to_owned());
    }
    let problem = problem.at(table.origin(header_row, 0));
    match nearest(&plain(wanted), headers) {
        Some(near) if near != wanted => {
            problem.remedy(format!("the headers found are {}: is it `{}`?", found.join(", "), shortened(near)))
        }
        _ if found.is_empty() => problem.remedy("write the names of the columns in the first row"),
        _ => {
            let remedy = format!("the headers found are {}; rename one, or name it in job.toml", found.join(", "));
            problem.remedy(remedy)
        }
    }
}

/// A cell short enough to be listed with others.
fn shortened(cell: &str) -> String {
    const LONGEST: usize = 40;
    if cell.chars().count() <= LONGEST {
        return cell.to_owned();
    }
    cell.chars().take(LONGEST).chain(['…']).collect()
}

/// Columns a list cannot do without; the missing ones become problems. `connector` is that of all rows, where
/// the job gives it. Whether all are there is the answer.
pub(super) fn are_complete(
    table: &Table<'_>,
    columns: &Columns,
    kind: TableKind,
    form: Form,
    connector: Option<&ConnectorId>,
    problems: &mut Vec<Problem>,
) -> bool {
    let or_place = |columns_needed: &[Column], place: Column| -> Vec<Column> {
        let missing = columns_needed.iter().copied().filter(|column| !columns.has(*column));
        if columns.has(place) { Vec::new() } else { missing.collect() }
    };
    let mut missing = match (kind, form) {
        (TableKind::Connectors, _) => or_place(&[Column::Connector], Column::Connector),
        (TableKind::List, Form::Chart) => or_place(&[Column::Connector, Column::Cavity], Column::Place),
        (TableKind::List, Form::Wire) => {
            let mut missing = or_place(&[Column::FromConnector, Column::FromCavity], Column::FromPlace);
            missing.extend(or_place(&[Column::ToConnector, Column::ToCavity], Column::ToPlace));
            missing
        }
    };
    if connector.is_some() {
        missing.retain(|column| !matches!(column, Column::Connector | Column::FromConnector));
    }
    for column in &missing {
        let what = format!("`{}` has no column `{}`", table.source().name(), column.name());
        let mut problem = with_headers(MISSING_COLUMN.says(what), table, columns.header_row(), column.name());
        if matches!(column, Column::Connector | Column::FromConnector) && kind == TableKind::List {
            let remedy = problem.remedy.unwrap_or_default();
            problem.remedy = Some(remedy.words("; of one connector: `connector = \"J1\"` in job.toml"));
        }
        problems.push(problem);
    }
    missing.is_empty()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::Source;
    use crate::base::conductor::SizeUnit;
    use crate::circuits::cells;
    use crate::circuits::headers::is_header;

    const MARSH_HEN_CHART: &str =
        "connector,cavity,circuit,function,colour,size,supply,fuse,action,length,diameter,branch,with,note";
    const MARSH_HEN_WIRES: &str = "circuit,function,from connector,from cavity,to connector,to cavity,colour,size,supply,\
                                   fuse,from action,to action,length,diameter,branch,note";

    fn found(text: &str, named: &[(&str, &str)]) -> (Option<Columns>, Vec<Problem>) {
        let source = Source::new("ecu.csv", text);
        let named = named.iter().map(|&(ours, own)| (ours.to_owned(), own.to_owned())).collect();
        let table = cells::cut(&source, &|header| is_header(TableKind::List, &named, header)).expect("within limits");
        let mut problems = Vec::new();
        let columns = find(&table, TableKind::List, (&named, &[]), &mut problems);
        if let Some(columns) = &columns {
            are_complete(&table, columns, TableKind::List, columns.form(), None, &mut problems);
        }
        (columns, problems)
    }

    #[test]
    fn our_own_headers_need_no_mapping() {
        for (headers, form) in [(MARSH_HEN_CHART, Form::Chart), (MARSH_HEN_WIRES, Form::Wire)] {
            let (columns, problems) = found(&format!("{headers}\nx,y\n"), &[]);
            assert_eq!(problems, []);
            assert_eq!(columns.expect("has a header").form(), form);
        }
    }

    #[test]
    fn header_below_titles_in_german_with_units() {
        let (columns, problems) =
            found("Marsh Hen;;\nMotorsteuergerät;;\nStecker;Kammer;Länge [cm];Querschnitt mm²\nJ1;1;12;0,5\n", &[]);
        assert_eq!(problems, []);
        let columns = columns.expect("has a header");
        assert_eq!(columns.header_row(), 2);
        assert_eq!(columns.unit(Column::Length), Some(HeaderUnit::Length("cm")));
        assert_eq!(columns.unit(Column::Size), Some(HeaderUnit::Size(SizeUnit::SquareMillimetres)));
    }

    #[test]
    fn missing_and_unused_columns() {
        let (_, problems) = found("connector,cavty,torque\nJ1,1,3\n", &[]);
        let shown: Vec<_> = problems.iter().map(|p| (p.id, p.message.as_str(), p.remedy.as_deref())).collect();
        assert_eq!(shown[0], ("unused-column", "column `cavty` is not read", Some("did you mean `cavity`?")));
        assert_eq!(shown[1].0, "unused-column");
        let remedy = "the headers found are `connector`, `cavty`, `torque`: is it `cavty`?";
        assert_eq!(shown[2], ("missing-column", "`ecu.csv` has no column `cavity`", Some(remedy)));
        assert!(found("1,2\n3,4\n", &[]).0.is_none());
    }

    #[test]
    fn the_job_names_columns() {
        let (columns, problems) =
            found("Where,Hole,pin\nJ1,1,x\n", &[("connector", "where"), ("cavity", "hole"), ("note", "pin")]);
        assert_eq!(problems, []);
        let columns = columns.expect("has a header");
        assert_eq!((columns.at(Column::Cavity), columns.at(Column::Note)), (Some(1), Some(2)));
        let (_, problems) = found("connector,cavity\nJ1,1\n", &[("colur", "x"), ("note", "remarks")]);
        let ids: Vec<_> = problems.iter().map(|problem| problem.id).collect();
        assert_eq!(ids, ["unknown-column", "missing-column"]);
        assert_eq!(problems[0].remedy.as_deref(), Some("did you mean `colour`?"));
    }
}
