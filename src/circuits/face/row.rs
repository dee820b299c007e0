//! A row of connectors.csv -> what it says of the face, and what of it cannot be read.

use super::words::{self, NotANumbering};
use super::{Columns, ConnectorFace, MOST_CAVITIES, View};
use crate::base::Problem;
use crate::base::nearest::did_you_mean;
use crate::circuits::headers::Column;
use crate::circuits::problems::{BAD_COUNT, UNKNOWN_NUMBERING};
use crate::circuits::sheet::Sheet;

/// Most rows or columns of cavities a connector may have.
const MOST_ROWS: u16 = 999;
/// What a numbering may be, for a remedy.
const ALL_NUMBERINGS: &str = "by rows, by columns, back and forth, rows lettered, columns lettered, lettered or rings";

/// What a row says of the face. What cannot be read is told and left out.
pub(in crate::circuits) fn read(sheet: &Sheet<'_>, row: usize, problems: &mut Vec<Problem>) -> ConnectorFace {
    let origin = |column| sheet.origin(row, column);
    let mut count = |column: Column, most: u16| {
        let cell = sheet.get(row, column)?;
        let count = cell.parse().ok().filter(|count| (1..=most).contains(count));
        if count.is_none() {
            let what = format!("`{cell}` is no number of {}", column.name());
            problems.push(BAD_COUNT.says(what).at(origin(column)).remedy(format!("write a whole number, 1 to {most}")));
        }
        count
    };
    let (mut rows, cavities) = (count(Column::Rows, MOST_ROWS), count(Column::Cavities, MOST_CAVITIES));
    let mut columns = sheet.get(row, Column::Columns).and_then(|cell| {
        let columns = words::columns(cell, MOST_ROWS);
        let wrong = match (&columns, rows) {
            (None, _) => Some((
                format!("`{cell}` is no number of columns"),
                format!("write a whole number, 1 to {MOST_ROWS}, or the cavities of each row from the top: `8 7 8`"),
            )),
            (Some(Columns::OfRows(lengths)), Some(rows)) if lengths.len() != usize::from(rows) => {
                let (told, remedy) = (lengths.len(), "mend `rows` or `columns`, or leave `rows` blank");
                Some((format!("`{cell}` gives cavities of {told} rows, and there are {rows}"), remedy.to_owned()))
            }
            _ => None,
        };
        match wrong {
            Some((what, remedy)) => {
                problems.push(BAD_COUNT.says(what).at(origin(Column::Columns)).remedy(remedy));
                None
            }
            None => columns,
        }
    });
    let positions = positions(rows, columns.as_ref());
    if positions > usize::from(MOST_CAVITIES) {
        let what = format!("rows and columns make {positions} cavities");
        let problem = BAD_COUNT.says(what).at(origin(Column::Columns));
        problems.push(problem.remedy(format!("a connector may have {MOST_CAVITIES}; mend `rows` or `columns`")));
        (rows, columns) = (None, None);
    }
    let view = sheet.get(row, Column::View).and_then(|cell| {
        let tell = |near| {
            problems.push(unknown(Column::View, cell, near, "mating face or wire side").at(origin(Column::View)))
        };
        words::view(cell).map_err(tell).ok()
    });
    let stagger = sheet.get(row, Column::Stagger).and_then(|cell| {
        let all = "`right` or `left`, the way the second row is shifted, or `no`";
        let tell = |near| problems.push(unknown(Column::Stagger, cell, near, all).at(origin(Column::Stagger)));
        words::stagger(cell).map_err(tell).ok()
    });
    let latch = sheet.get(row, Column::Latch).and_then(|cell| {
        let tell = |near| {
            problems
                .push(unknown(Column::Latch, cell, near, "top, bottom, left, right or none").at(origin(Column::Latch)))
        };
        words::latch(cell).map_err(tell).ok()
    });
    let numbering = sheet.get(row, Column::Numbering).and_then(|cell| match words::numbering(cell) {
        Ok(numbering) => Some(numbering),
        Err(NotANumbering::Unknown(words, near)) => {
            problems.push(unknown(Column::Numbering, &words, near, ALL_NUMBERINGS).at(origin(Column::Numbering)));
            None
        }
        Err(NotANumbering::Twofold(first, second)) => {
            let what = format!("a numbering cannot be `{first}` and `{second}`");
            let problem = UNKNOWN_NUMBERING.says(what).at(origin(Column::Numbering));
            problems.push(problem.remedy("leave one of the two"));
            None
        }
    });
    let view = view.unwrap_or_default();
    let names = |column| sheet.get(row, column).map(words::cavities).unwrap_or_default();
    // A cell that names its own view is told in the one of the row.
    let is_mirrored = |own: Option<View>| own.is_some_and(|own| own != view);
    ConnectorFace {
        rows,
        columns,
        cavities,
        numbering: numbering.map(|(numbering, own)| if is_mirrored(own) { numbering.mirrored() } else { numbering }),
        latch: latch.map(|(latch, own)| if is_mirrored(own) { latch.mirrored() } else { latch }),
        view,
        stagger,
        missing: names(Column::Missing),
        large: names(Column::Large),
    }
}

/// How many positions rows and columns make; none where one of them is not told.
fn positions(rows: Option<u16>, columns: Option<&Columns>) -> usize {
    match (rows, columns) {
        (_, Some(Columns::OfRows(lengths))) => lengths.iter().map(|&length| usize::from(length)).sum(),
        (Some(rows), Some(Columns::Alike(columns))) => usize::from(rows) * usize::from(*columns),
        _ => 0,
    }
}

/// The problem of a cell that is not understood, with the nearest word that is.
fn unknown(column: Column, cell: &str, near: Option<&str>, all: &str) -> Problem {
    let of = match column {
        Column::Numbering => "a numbering",
        Column::Latch => "a latch",
        Column::View => "a view",
        _ => "a stagger",
    };
    let remedy = near.map_or_else(|| format!("write {all}, or nothing"), did_you_mean);
    UNKNOWN_NUMBERING.says(format!("`{cell}` says nothing of {of} that is understood")).remedy(remedy)
}
