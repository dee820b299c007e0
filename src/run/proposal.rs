//! A LIST -> WHAT A NEW JOB.TOML SAYS OF IT: its form, a connector where only its name tells one, its columns that are read and
//! those that are not, and its first ends as they are understood.

use std::fmt::Write as _;

use crate::base::conductor::SizeUnit;
use crate::base::{ConnectorId, Stated};
use crate::circuits::{
    Circuit, Circuits, End, Form, JobLists, List, ListSettings, Looked, connector_named_by, look, read,
};

/// How many ends of each list are shown.
pub const SHOWN_ENDS: usize = 10;

/// A list of a new job, or a sheet of a workbook, as it was understood.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Proposal {
    /// The file, as job.toml names it.
    pub file: String,
    /// What it was understood as; `None` where it cannot be read as it is.
    pub looked: Option<Looked>,
    /// The connector that it is named after, where it has no column for one.
    pub connector: Option<ConnectorId>,
    /// Its first ends, in the order of its rows.
    pub ends: Vec<ProposedEnd>,
    /// How many ends there are.
    pub count: usize,
    /// Whether rows with errors are left out of them.
    pub has_errors: bool,
    /// Sheets of the workbook that are hidden or no lists, told with its last one.
    pub sheets_not_read: Vec<String>,
}

/// An end as it was understood; blank where nothing is said.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ProposedEnd {
    /// Where it sits.
    pub place: String,
    /// Its circuit.
    pub circuit: String,
    /// What the circuit does.
    pub function: String,
    /// Colour of the wire.
    pub colour: String,
    /// Size of the wire.
    pub size: String,
    /// How the circuit is fed.
    pub supply: String,
    /// What shall be done with it.
    pub action: String,
}

/// What is proposed for a file: one list, or one for each sheet of a workbook.
pub(super) fn propose(file: &str, bytes: Vec<u8>) -> Vec<Proposal> {
    let mut list = List { name: file.to_owned(), bytes, settings: ListSettings::default() };
    let (all, sheets_not_read) = look(&list);
    if all.is_empty() {
        return vec![unreadable(file)];
    }
    let mut proposals: Vec<Proposal> = Vec::with_capacity(all.len());
    for looked in all {
        let of_sheet = || looked.sheet.as_deref().and_then(connector_named_by);
        let named = || of_sheet().or_else(|| connector_named_by(file));
        let connector = if looked.lacks_connector { named() } else { None };
        list.settings = ListSettings {
            sheet: looked.sheet.clone().map(Stated::default),
            connector: connector.clone(),
            connector_above: looked.connector_above,
            size_unit: looked.likely_unit(),
            ..ListSettings::default()
        };
        let checked = read(&JobLists::of(std::slice::from_ref(&list)));
        let has_errors = checked.has_errors();
        let (ends, count) = first_ends(&checked.value);
        proposals.push(Proposal { looked: Some(looked), connector, ends, count, has_errors, ..unreadable(file) });
    }
    if let Some(last) = proposals.last_mut() {
        last.sheets_not_read = sheets_not_read;
    }
    proposals
}

fn unreadable(file: &str) -> Proposal {
    Proposal {
        file: file.to_owned(),
        looked: None,
        connector: None,
        ends: Vec::new(),
        count: 0,
        has_errors: true,
        sheets_not_read: Vec::new(),
    }
}

/// The first ends in the order of the rows, and how many there are.
fn first_ends(circuits: &Circuits) -> (Vec<ProposedEnd>, usize) {
    let each = circuits.all().iter().flat_map(|circuit| circuit.ends().iter().map(move |end| (circuit, end)));
    let mut all: Vec<(&Circuit, &End)> = each.collect();
    all.sort_by_key(|(_, end)| (end.origin.line(), end.origin.column()));
    (all.iter().take(SHOWN_ENDS).map(|(circuit, end)| proposed(circuit, end)).collect(), all.len())
}

pub(super) fn proposed(circuit: &Circuit, end: &End) -> ProposedEnd {
    ProposedEnd {
        place: end.place.to_string(),
        circuit: circuit.id().to_string(),
        function: circuit.function.clone().unwrap_or_default(),
        colour: end.colour.as_ref().map(ToString::to_string).unwrap_or_default(),
        size: end.conductor.as_ref().map(ToString::to_string).unwrap_or_default(),
        supply: circuit.supply.map(|supply| supply.to_string()).unwrap_or_default(),
        action: end.action.to_string(),
    }
}

/// The form of a list and how it is written, in words.
pub fn in_words(looked: &Looked) -> String {
    let form = match looked.form {
        Form::Chart => "a chart, one row per cavity",
        Form::Wire => "a wire list, one row per wire",
    };
    let rows = if looked.rows == 1 { "1 row".to_owned() } else { format!("{} rows", looked.rows) };
    match looked.text {
        Some((encoding, separator)) => format!("{form}; {rows}, {separator}, {encoding}"),
        None => format!("{form}; {rows}"),
    }
}

/// A text as TOML writes it.
pub(super) fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

/// Where comments behind settings begin.
const COMMENTS_AT: usize = 30;

fn line(text: &mut String, setting: &str, comment: &str) {
    let gap = COMMENTS_AT.saturating_sub(setting.chars().count()).max(2);
    let _ = writeln!(text, "{setting}{:gap$}# {comment}", "");
}

/// Where a `[[list]]` stands among those of a job.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Place {
    /// Behind all others.
    Last,
    /// Before another.
    Earlier,
}

/// The `[[list]]` of a proposal. The last one of a job explains what else may be said.
pub(super) fn list_text(proposal: &Proposal, place: Place) -> String {
    let mut text = String::from("\n[[list]]\n");
    let file = format!("file = {}", quoted(&proposal.file));
    let Some(looked) = &proposal.looked else {
        line(&mut text, &file, "cannot be read as it is: `loomtag check` says why");
        if place == Place::Last {
            explain(&mut text, &Said::default());
        }
        return text;
    };
    line(&mut text, &file, &in_words(looked));
    if let Some(sheet) = &looked.sheet {
        line(&mut text, &format!("sheet = {}", quoted(sheet)), "of the workbook");
    }
    if let Some(connector) = &proposal.connector {
        let comment = "of rows that name none: from the list's name, put it right if it is another";
        line(&mut text, &format!("connector = {}", quoted(connector.as_str())), comment);
    } else if looked.lacks_connector {
        line(
            &mut text,
            "# connector = \"J1\"",
            "no column says it: take the # away and write which one this chart is of",
        );
    }
    if looked.connector_above {
        line(&mut text, "blank_connector = \"above\"", "rows that name no connector are of the one in the rows above");
    }
    let sizes: Vec<String> = looked.bare_sizes.iter().take(4).map(u32::to_string).collect();
    let sizes = sizes.join(", ");
    match looked.likely_unit() {
        Some(unit) => {
            let (own, other) = unit_words(unit);
            let comment = format!("of bare sizes: {sizes} look like it, put it right if they are {other}");
            line(&mut text, &format!("size_unit = \"{own}\""), &comment);
        }
        None if !sizes.is_empty() => {
            let comment = format!("or \"awg\": {sizes} may be either, take the # away and write which they are");
            line(&mut text, "# size_unit = \"mm2\"", &comment);
        }
        None => {}
    }
    let has_connector = proposal.connector.is_some() || looked.lacks_connector || looked.connector_above;
    let has_unread = !looked.unread.is_empty();
    if place == Place::Last {
        let has_unit = !looked.bare_sizes.is_empty();
        let said =
            Said { sheet: looked.sheet.is_some(), connector: has_connector, unit: has_unit, columns: has_unread };
        explain(&mut text, &said);
    }
    let read: Vec<String> =
        looked.read.iter().map(|(header, column)| format!("{} = {column}", one_line(header))).collect();
    for row in wrapped(&read) {
        let _ = writeln!(text, "# read: {row}");
    }
    for sheet in &proposal.sheets_not_read {
        let _ = writeln!(
            text,
            "# sheet {} is hidden or no list: if it is one, give it a [[list]] of its own",
            quoted(sheet)
        );
    }
    let colours = |text: &mut String| {
        if looked.german_colours.is_empty() {
            return;
        }
        line(text, "# [list.words.colour]", "German letters, from common practice: take the # away here and below");
        for (letters, colour) in &looked.german_colours {
            match colour {
                Some(colour) => line(text, &format!("# {letters} = \"{}\"", colour.code()), colour.name()),
                None => line(
                    text,
                    &format!("# {letters} = \"\""),
                    "means different colours in different charts: write which",
                ),
            }
        }
    };
    if has_unread {
        line(
            &mut text,
            "[list.columns]",
            "our column = the list's own; not read so far: take the # away where one matters",
        );
        let mut rest = Vec::new();
        for (header, guess) in &looked.unread {
            match guess {
                Some(column) => {
                    let _ = writeln!(text, "# {} = {}", key(column), quoted(&one_line(header)));
                }
                None => rest.push(one_line(header)),
            }
        }
        for row in wrapped(&rest) {
            let _ = writeln!(text, "# nor read: {row}");
        }
    }
    colours(&mut text);
    text
}

/// What the settings of a list say already.
#[derive(Clone, Copy, Debug, Default)]
struct Said {
    sheet: bool,
    connector: bool,
    unit: bool,
    columns: bool,
}

/// What else may be said of a list, each line to be used by taking its `#` away.
fn explain(text: &mut String, said: &Said) {
    if !said.sheet {
        line(text, "# sheet = \"J1\"", "of a workbook (.xlsx, .ods), one sheet; else all its sheets that are lists");
    }
    if !said.connector {
        line(text, "# connector = \"J1\"", "for rows that name none; or blank_connector = \"above\": as the row above");
    }
    line(text, "# form = \"chart\"", "one row per cavity, or \"wire\": one row per wire; else told by the columns");
    if !said.unit {
        line(text, "# size_unit = \"mm2\"", "or \"awg\": what a bare whole number in the size column means");
    }
    line(text, "# branch = \"ENGINE\"", "for rows that name none; likewise insulation, supply and action");
    if !said.columns {
        line(text, "# columns = { circuit = \"Signal no.\" }", "our column name = the list's own");
    }
}

/// A unit of sizes as job.toml writes it, and the other one in words.
pub fn unit_words(unit: SizeUnit) -> (&'static str, &'static str) {
    match unit {
        SizeUnit::Awg => ("awg", "mm²"),
        SizeUnit::SquareMillimetres => ("mm2", "AWG"),
    }
}

/// A key as TOML writes it: `"slides over"` in quotes.
fn key(column: &str) -> String {
    if column.contains(' ') { quoted(column) } else { column.to_owned() }
}

/// Which column a header names: `Pin = cavity`, or `cavity` where it is the very name.
pub fn mapped(header: &str, between: &str, column: &str) -> String {
    let header = one_line(header);
    if header.eq_ignore_ascii_case(column) { header } else { format!("{header}{between}{column}") }
}

fn one_line(header: &str) -> String {
    header.split_whitespace().collect::<Vec<_>>().join(" ").chars().filter(|c| !c.is_control()).collect()
}

/// Items in lines that fit behind a `#`.
fn wrapped(items: &[String]) -> Vec<String> {
    const LONGEST: usize = 100;
    let mut lines: Vec<String> = Vec::new();
    for item in items {
        match lines.last_mut() {
            Some(line) if line.chars().count() + item.chars().count() + 2 <= LONGEST => {
                line.push_str(", ");
                line.push_str(item);
            }
            _ => lines.push(item.clone()),
        }
    }
    lines
}
