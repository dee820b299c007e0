//! Connectors -> connectors.csv, in words that are read back to the same. Without actions: every row of a chart has its own.

use crate::circuits::face::{
    CavityNames, Columns, Corner, Course, Latch, Numbering, RingsFrom, Rotation, Side, Stagger, Turns, View,
};
use crate::circuits::{Case, Connector, ConnectorKind};

/// The header of a column and what it says of a connector.
type Told = (&'static str, fn(&Connector) -> Option<String>);

/// Columns of connectors.csv, in their order.
pub(super) const COLUMNS: [Told; 16] = [
    ("connector", |connector| Some(connector.id.to_string())),
    ("kind", |connector| Some(kind(connector.kind).to_owned())),
    ("short name", |connector| connector.short_name.clone()),
    ("rows", |connector| connector.face.rows.map(|count| count.to_string())),
    ("columns", |connector| connector.face.columns.as_ref().map(columns)),
    ("cavities", |connector| connector.face.cavities.map(|count| count.to_string())),
    ("numbering", |connector| connector.face.numbering.as_ref().map(numbering)),
    ("latch", |connector| connector.face.latch.map(|at| latch(at).to_owned())),
    ("view", |connector| (connector.face.view != View::default()).then(|| connector.face.view.to_string())),
    ("stagger", |connector| connector.face.stagger.map(|way| stagger(way).to_owned())),
    ("missing", |connector| names(&connector.face.missing)),
    ("large", |connector| names(&connector.face.large)),
    ("mates", |connector| connector.mates.as_ref().map(ToString::to_string)),
    ("branch", |connector| connector.branch.clone()),
    ("plug type", |connector| connector.plug_type.clone()),
    ("case", |connector| {
        connector.case.map(|case| match case {
            Case::Matters => "matters".to_owned(),
            Case::Same => "same".to_owned(),
        })
    }),
];

const fn kind(kind: ConnectorKind) -> &'static str {
    match kind {
        ConnectorKind::Plug => "plug",
        ConnectorKind::Inline => "inline",
        ConnectorKind::Relay => "relay",
        ConnectorKind::FuseBox => "fuse box",
        ConnectorKind::Stud => "stud",
        ConnectorKind::Splice => "splice",
    }
}

fn columns(columns: &Columns) -> String {
    match columns {
        Columns::Alike(count) => count.to_string(),
        Columns::OfRows(lengths) => lengths.iter().map(ToString::to_string).collect::<Vec<_>>().join(" "),
    }
}

/// What is not as it is by itself; the corner where the count begins where nothing else is said.
fn numbering(numbering: &Numbering) -> String {
    let names = numbering.names.map(|names| match names {
        CavityNames::Numbers => "numbered",
        CavityNames::Letters => "lettered",
        CavityNames::LetteredRows => "rows lettered",
        CavityNames::LetteredColumns => "columns lettered",
        CavityNames::RunningOn => "rows lettered, numbers run on",
    });
    let course = numbering.course.map(|course| match course {
        Course::Rows => "by rows",
        Course::Columns => "by columns",
        Course::Rings => "rings",
    });
    let turns = (numbering.turns == Turns::BackAndForth).then_some("back and forth");
    let start = match numbering.start {
        Corner::TopLeft => None,
        Corner::TopRight => Some("from top right"),
        Corner::BottomLeft => Some("from bottom left"),
        Corner::BottomRight => Some("from bottom right"),
    };
    let rotation = (numbering.rotation == Rotation::Counterclockwise).then_some("counterclockwise");
    let rings_from = (numbering.rings_from == RingsFrom::Inside).then_some("from inside");
    let left_out = numbering.left_out.map(|left_out| match left_out.letters() {
        "" => "all letters",
        "I" => "without I",
        "IO" => "without I and O",
        _ => "without I O and Q",
    });
    let first = numbering.first.map(|first| if first == 0 { "from 0" } else { "from 1" });
    let told = [names, course, turns, start, rotation, rings_from, left_out, first];
    let told: Vec<&str> = told.into_iter().flatten().collect();
    if told.is_empty() { "from top left".to_owned() } else { told.join(", ") }
}

const fn latch(latch: Latch) -> &'static str {
    match latch {
        Latch::Absent => "none",
        Latch::At(Side::Top) => "top",
        Latch::At(Side::Bottom) => "bottom",
        Latch::At(Side::Left) => "left",
        Latch::At(Side::Right) => "right",
    }
}

const fn stagger(stagger: Stagger) -> &'static str {
    match stagger {
        Stagger::Straight => "no",
        Stagger::Left => "left",
        Stagger::Right => "right",
    }
}

fn names(names: &[String]) -> Option<String> {
    (!names.is_empty()).then(|| names.join(", "))
}
