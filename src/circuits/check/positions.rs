//! Cavities that their connector does not have: connectors.csv says how many rows and columns, or how many cavities.
//!
//! Numbers are understood as 1 to n, with or without leading zeros, and so are lettered rows with numbered columns (`B7`). Every
//! other name is left alone, and so is what lies inside under any reading of the numbering.

use std::collections::{BTreeMap, HashMap};

use super::{Joined, NAMED_AT_MOST, first_of};
use crate::base::{ConnectorId, Place, Problem};
use crate::circuits::face::CavityNames;
use crate::circuits::problems::CAVITY_OUTSIDE_CONNECTOR;
use crate::circuits::{Action, Connector, ConnectorKind, End};

/// Letters that numberings leave out, because they look like digits or like each other (common practice).
const OFTEN_LEFT_OUT: [char; 6] = ['I', 'O', 'Q', 'S', 'X', 'Z'];

/// Cavities outside their connectors, each connector once; also those that an end is to move to.
pub(super) fn find_outside(joined: Joined<'_, '_>, problems: &mut Vec<Problem>) {
    let grids: HashMap<&ConnectorId, Grid> =
        joined.connectors.all.values().filter_map(|connector| Some((&connector.id, Grid::of(connector)?))).collect();
    if grids.is_empty() {
        return;
    }
    let mut outside: BTreeMap<&ConnectorId, Vec<(&Place, &End)>> = BTreeMap::new();
    for (_, _, end) in joined.ends() {
        let to = match &end.action {
            Action::Move(to) => to.as_ref(),
            _ => None,
        };
        for place in [Some(&end.place), to].into_iter().flatten() {
            let (Some(grid), Some(cavity)) = (grids.get(&place.connector), &place.cavity) else { continue };
            if grid.lacks(cavity.as_str()) {
                outside.entry(&place.connector).or_default().push((place, end));
            }
        }
    }
    for (id, mut found) in outside {
        found.sort_by(|a, b| a.0.cmp(b.0));
        let places: Vec<&Place> = found.iter().map(|(place, _)| *place).collect();
        let distinct: Vec<&Place> = places.chunk_by(|a, b| a == b).map(|same| same[0]).collect();
        let (Some((_, first)), Some(connector), Some(grid)) = (found.first(), joined.connector(id), grids.get(id))
        else {
            continue;
        };
        let what = format!("{} lies outside `{id}`, which has {}", first_of(&distinct), grid.in_words());
        let what = if distinct.len() == 1 { what } else { what.replacen(" lies ", " lie ", 1) };
        let problem = CAVITY_OUTSIDE_CONNECTOR.says(what).at(first.origin.clone());
        let mut problem = problem.see(format!("`{id}` is described here"), connector.origin.clone());
        for (place, end) in found.iter().skip(1).take(NAMED_AT_MOST - 1) {
            let what = if **place == end.place { "here" } else { "is moved to from here" };
            problem = problem.see(format!("`{place}` {what}"), end.origin.clone());
        }
        problems.push(problem.remedy("mend the cavity, or rows, columns or cavities in connectors.csv"));
    }
}

/// What is known of the cavities of a connector.
struct Grid {
    rows: Option<u64>,
    columns: Option<u64>,
    /// The highest number.
    cavities: Option<u64>,
    is_lettered: bool,
}

impl Grid {
    /// `None` where nothing bounds its cavities. The numbers of a relay name terminals; studs and splices have none.
    fn of(connector: &Connector) -> Option<Self> {
        if matches!(connector.kind, ConnectorKind::Relay | ConnectorKind::Stud | ConnectorKind::Splice) {
            return None;
        }
        let face = &connector.face;
        let lengths = face.row_lengths();
        let longest = lengths.iter().flatten().copied().max();
        let product = lengths.as_ref().map(|lengths| lengths.iter().map(|&length| u64::from(length)).sum());
        let cavities = face.cavities.map(u64::from).or(product);
        let names = face.numbering.and_then(|numbering| numbering.names);
        let is_lettered = matches!(names, Some(CavityNames::Letters | CavityNames::LetteredRows));
        let grid = Self {
            rows: lengths.map(|lengths| lengths.len() as u64),
            columns: longest.map(u64::from),
            cavities,
            is_lettered,
        };
        // A numbering that runs on or letters its columns reaches farther than can be told here; so do rings.
        let is_understood = !matches!(names, Some(CavityNames::RunningOn | CavityNames::LetteredColumns));
        (cavities.is_some() && is_understood).then_some(grid)
    }

    /// Whether it surely has no cavity of this name.
    fn lacks(&self, cavity: &str) -> bool {
        let number = |digits: &str| digits.bytes().all(|byte| byte.is_ascii_digit()).then(|| value(digits));
        let (Some(first), Some(most)) = (cavity.chars().next(), self.cavities) else { return false };
        if let Some(number) = number(cavity) {
            // Where rows have letters, a number alone is a name of another sort; some count from 0.
            return !self.is_lettered && number > most;
        }
        let rest = &cavity[first.len_utf8()..];
        let (true, false, Some(number), Some((rows, columns))) =
            (first.is_ascii_alphabetic(), rest.is_empty(), number(rest), self.rows.zip(self.columns))
        else {
            return false;
        };
        let letter = position(first);
        let is_inside = |letters: u64, numbers: u64| letter <= letters && number <= numbers;
        let by_rows = is_inside(rows, columns);
        // Not told how it counts: letters may be columns, and numbers may run on from row to row.
        let otherwise = !self.is_lettered && (is_inside(columns, rows) || number <= most);
        !by_rows && !otherwise
    }

    fn in_words(&self) -> String {
        match (self.rows.zip(self.columns), self.cavities) {
            (Some((rows, columns)), _) if self.is_lettered => format!("rows A to {} of {columns}", letter(rows)),
            (Some((rows, columns)), Some(most)) if rows * columns == most => {
                format!("{rows} x {columns} = {most} cavities")
            }
            (_, most) => format!("{} cavities", most.unwrap_or_default()),
        }
    }
}

/// The value of digits; beyond every connector where there are very many.
fn value(digits: &str) -> u64 {
    digits.parse().unwrap_or(u64::MAX)
}

/// The row a letter may stand for: the least one, had all letters that are often left out been left out.
fn position(letter: char) -> u64 {
    let upper = letter.to_ascii_uppercase();
    let before = ('A'..=upper).filter(|c| *c == upper || !OFTEN_LEFT_OUT.contains(c));
    before.count() as u64
}

/// The letter of a row when none is left out, for a message.
fn letter(row: u64) -> char {
    u8::try_from(row).ok().filter(|row| (1..=26).contains(row)).map_or('Z', |row| char::from(b'A' + row - 1))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn grid(rows: u64, columns: u64, is_lettered: bool) -> Grid {
        Grid { rows: Some(rows), columns: Some(columns), cavities: Some(rows * columns), is_lettered }
    }

    #[test]
    fn numbers_run_from_one() {
        let grid = grid(2, 9, false);
        for inside in ["1", "01", "18", "018", "0", "B", "S", "+", "3E5", "GND", "A1", "B9", "I2", "b2", "18a", ""] {
            assert!(!grid.lacks(inside), "{inside}");
        }
        for outside in ["19", "019", "999999999999999999999999", "K19", "Y99"] {
            assert!(grid.lacks(outside), "{outside}");
        }
    }

    #[test]
    fn rows_may_have_letters() {
        let grid = grid(3, 8, true);
        for inside in ["A1", "C8", "c08", "9", "A", "AA1", "1A", "Ä9"] {
            assert!(!grid.lacks(inside), "{inside}");
        }
        for outside in ["D1", "A9", "C09", "Z1"] {
            assert!(grid.lacks(outside), "{outside}");
        }
        // J is the ninth row where I is left out.
        let nine = Grid { rows: Some(9), ..grid };
        assert!(!nine.lacks("J1") && !nine.lacks("I1") && nine.lacks("K1"));
    }

    proptest! {
        #[test]
        fn any_name_is_answered(name in ".{0,8}", rows in 1_u64..9, columns in 1_u64..9, is_lettered: bool) {
            let _ = grid(rows, columns, is_lettered).lacks(&name);
        }
    }
}
