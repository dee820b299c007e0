//! The labels of a sheet: `[labels]`, or several `[[labels]]` tables -> groups of labels, and where their measures do not add up.

use super::super::problems::{LABELS_OF_NO_SIZE, LABELS_OFF_PAGE, LABELS_OVERLAP, SAID_TWICE, SHEET_SUM};
use super::super::sheet::{Axis, AxisFault, Cut, Labels, MOST_LABELS, MOST_SLICES, Margin, Sheet, Spacing};
use super::{LONGEST, read_corner_radius, read_extent, read_form, read_page};
use crate::base::settings::{Least, Reader, Table};
use crate::base::{Length, Size};

const CUTS: [(&str, Cut); 2] = [("die", Cut::Die), ("lines", Cut::Lines)];

/// Keys of an axis of the labels.
struct AxisKeys {
    label: &'static str,
    count: &'static str,
    gap: &'static str,
    pitch: &'static str,
    margin: &'static str,
    leading: &'static str,
}

const ACROSS: AxisKeys =
    AxisKeys { label: "width", count: "columns", gap: "gap-x", pitch: "pitch-x", margin: "margin-x", leading: "left" };
const DOWN: AxisKeys =
    AxisKeys { label: "height", count: "rows", gap: "gap-y", pitch: "pitch-y", margin: "margin-y", leading: "top" };

/// `[labels]`, or several `[[labels]]` where a sheet has labels of several sorts.
pub(super) fn read_sheet(reader: &mut Reader, top: &Table<'_>) -> Option<Sheet> {
    let page = read_page(reader, top);
    let tables = reader.one_or_more_tables(top, "labels")?;
    let (mut groups, mut cut) = (Vec::new(), Some(Cut::Die));
    let among = if tables.len() > 1 { Among::Others } else { Among::None };
    for table in &tables {
        groups.push(read_labels(reader, table, page, among));
        if table.has("cut") {
            cut = reader.word(table, "cut", &CUTS).map(|cut| cut.value);
        }
    }
    let groups: Vec<Labels> = groups.into_iter().collect::<Option<_>>()?;
    match Sheet::new(groups.clone(), cut?) {
        Ok(sheet) => Some(sheet),
        Err(overlap) => {
            let remedy = apart(&groups[overlap.first - 1], &groups[overlap.second - 1], overlap.second);
            let problem = LABELS_OVERLAP.says(overlap.to_string()).remedy(remedy);
            let later = &tables[overlap.second - 1];
            reader.tell(problem.at(reader.origin_of(later, if later.has("top") { "top" } else { "height" })));
            None
        }
    }
}

/// Whether a sheet has other groups of labels beside this one.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Among {
    None,
    Others,
}

/// Where the later one of two groups finds room beside the other.
fn apart(one: &Labels, later: &Labels, number: usize) -> String {
    let (taken, block, page) = (one.block(), later.block(), one.page());
    let mut ways = Vec::new();
    if taken.bottom() + block.size.height <= page.height {
        ways.push(format!("below the other its `top` is at least {}", taken.bottom()));
    }
    if taken.right() + block.size.width <= page.width {
        ways.push(format!("beside it its `left` is at least {}", taken.right()));
    }
    if ways.is_empty() {
        return format!("the page has no room for so many labels of both: count the rows of group {number} again");
    }
    format!("tell where group {number} begins: {}", ways.join(", "))
}

fn read_labels(reader: &mut Reader, labels: &Table<'_>, page: Option<Size>, among: Among) -> Option<Labels> {
    let required = [&ACROSS, &DOWN].map(|keys| [keys.label, keys.count]).concat();
    let mut optional = [&ACROSS, &DOWN].map(|keys| [keys.gap, keys.pitch, keys.margin, keys.leading]).concat();
    optional.extend(["corner-radius", "split", "cut", "print", "holes"]);
    reader.expect_keys(labels, &required, &optional);
    let across = read_axis(reader, labels, &ACROSS, page.map(|page| page.width));
    let down = read_axis(reader, labels, &DOWN, page.map(|page| page.height));
    let split = match labels.has("split") {
        true => reader.whole(labels, "split", 1..=MOST_SLICES).map(|split| split.value),
        false => Some(1),
    };
    let (across, down) = (across?, down?);
    let radius = read_corner_radius(reader, labels, Size::new(across.label, down.label));
    match Labels::new(across, down, split?.unsigned_abs(), radius?) {
        Ok(group) => {
            let form = read_form(reader, labels, group.slice())?;
            Some(group.with_form(form))
        }
        Err(faults) => {
            tell_fault(reader, labels, (&ACROSS, &across), faults.0, among);
            tell_fault(reader, labels, (&DOWN, &down), faults.1, among);
            None
        }
    }
}

fn read_axis(reader: &mut Reader, labels: &Table<'_>, keys: &AxisKeys, page: Option<Length>) -> Option<Axis> {
    let label = read_extent(reader, labels, keys.label);
    let count = reader.whole(labels, keys.count, 1..=MOST_LABELS).map(|count| count.value.unsigned_abs());
    let gap = read_either(reader, labels, (keys.gap, Least::Zero), (keys.pitch, Least::AboveZero));
    let margin = read_either(reader, labels, (keys.margin, Least::Zero), (keys.leading, Least::Zero));
    let spacing = match gap? {
        Either::First(gap) => Spacing::Gap(gap),
        Either::Second(pitch) => Spacing::Pitch(pitch),
        Either::Neither => Spacing::Gap(Length::ZERO),
    };
    let margin = match margin? {
        Either::First(margin) => Margin::Both(margin),
        Either::Second(leading) => Margin::Leading(leading),
        Either::Neither => Margin::Centred,
    };
    Some(Axis { page: page?, label: label?, count: count?, spacing, margin })
}

/// One of two keys that exclude each other.
enum Either {
    First(Length),
    Second(Length),
    Neither,
}

fn read_either(reader: &mut Reader, table: &Table<'_>, first: (&str, Least), second: (&str, Least)) -> Option<Either> {
    let mut length = |(key, least)| reader.length(table, key, least, LONGEST).map(|length| length.value);
    match (table.has(first.0), table.has(second.0)) {
        (true, true) => {
            let message = format!("`{}` and `{}` say the same twice: one must go", first.0, second.0);
            reader.tell(SAID_TWICE.says(message).at(reader.origin_of(table, second.0)));
            None
        }
        (true, false) => length(first).map(Either::First),
        (false, true) => length(second).map(Either::Second),
        (false, false) => Some(Either::Neither),
    }
}

fn tell_fault(
    reader: &mut Reader,
    labels: &Table<'_>,
    (keys, axis): (&AxisKeys, &Axis),
    fault: Option<AxisFault>,
    among: Among,
) {
    let Some(fault) = fault else { return };
    let spacing = if labels.has(keys.pitch) { keys.pitch } else { keys.gap };
    let from_there = match (among, axis.margin) {
        (Among::Others, Margin::Leading(start)) => axis.room_for(start),
        _ => 0,
    };
    let (kind, key, remedy) = match fault {
        AxisFault::Nothing => (LABELS_OF_NO_SIZE, keys.label, "measure the sheet once more".to_owned()),
        AxisFault::Overlap { label, .. } => {
            (LABELS_OVERLAP, spacing, format!("the least pitch of these labels is {label}"))
        }
        // Margins on both sides put one group into the middle, which no other can have.
        AxisFault::Sum { .. } if among == Among::Others => {
            let remedy = format!(
                "`{}` is for one group alone: tell with `{}` where this group begins",
                keys.margin, keys.leading
            );
            (SHEET_SUM, keys.margin, remedy)
        }
        AxisFault::Sum { closing: Some(margin), .. } => {
            // Three decimals: Letter sheets are made in fractions of an inch.
            let margin = (margin.as_mm() * 1000.0).round() / 1000.0;
            (SHEET_SUM, keys.margin, format!("with the other measures `{} = {margin}` closes it", keys.margin))
        }
        // Where it may begin at the latest, another group may lie.
        AxisFault::OffPage { .. } if from_there > 0 => {
            let remedy = format!("from this `{}` on, `{}` is at most {from_there}", keys.leading, keys.count);
            (LABELS_OFF_PAGE, keys.count, remedy)
        }
        AxisFault::OffPage { latest: Some(latest), .. } => {
            let remedy = format!("with the other measures `{}` is at most {latest}", keys.leading);
            (LABELS_OFF_PAGE, if labels.has(keys.leading) { keys.leading } else { keys.count }, remedy)
        }
        AxisFault::OffPage { latest: None, most, .. } => {
            (LABELS_OFF_PAGE, keys.count, format!("with the other measures `{}` is at most {most}", keys.count))
        }
        AxisFault::Sum { closing: None, .. } => (LABELS_OFF_PAGE, keys.count, "measure the sheet once more".to_owned()),
    };
    reader.tell(kind.says(fault.to_string()).at(reader.origin_of(labels, key)).remedy(remedy));
}
