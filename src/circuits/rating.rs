//! How large a fuse a conductor bears: published tables, of which a job may name one. Without one nothing is said of fuses.
//!
//! A table counts for exactly its sizes: a size in mm² is in none of them, and nothing is converted. The data stand in
//! `templates/wires/` with their source and standing.

use std::collections::HashMap;
use std::fmt;
use std::sync::LazyLock;

use crate::base::{Conductor, ConductorSize};

/// A published table that the fuses of a job are compared with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rating {
    /// 33 CFR 183.425, Table 5, of which a fuse may have 150 % below 50 V (33 CFR 183.455).
    Cfr {
        /// Temperature rating of the insulation in °C: a column of the table.
        insulation: u16,
        /// Whether wires run through an engine space, where note 1 of the table takes something off.
        engine_space: bool,
    },
    /// FAA AC 43.13-1B, table 11-3.
    Ac {
        /// What protects the conductors.
        protection: Protection,
    },
}

/// What protects a conductor.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Protection {
    /// A fuse.
    Fuse,
    /// A circuit breaker.
    Breaker,
}

/// What a table says of a conductor, in thousandths of an ampere.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Allowed {
    /// The amperage of the conductor, after note 1 where it holds; of AC 43.13-1B the rating itself.
    pub conductor: u32,
    /// The largest fuse.
    pub fuse: u32,
}

/// Part of the table's amperage that a fuse may have below 50 V, in percent: 33 CFR 183.455.
const FUSE_PERCENT: u32 = 150;

/// Rows by size, columns by heading, both as the file writes them.
struct Grid {
    headings: Vec<&'static str>,
    rows: HashMap<ConductorSize, Vec<Option<u32>>>,
}

impl Grid {
    /// From a table whose first column is the size in AWG; values become thousandths.
    fn from_table(table: &'static str) -> Self {
        let mut lines = table.lines().filter(|line| !line.starts_with('#'));
        let headings = lines.next().unwrap_or_default().split(',').skip(1).collect();
        let row = |line: &'static str| {
            let mut cells = line.split(',');
            let size = Conductor::from_cell(&format!("{} AWG", cells.next()?), None).ok()?.size();
            Some((size, cells.map(thousandths).collect()))
        };
        Self { headings, rows: lines.filter_map(row).collect() }
    }

    fn get(&self, size: ConductorSize, heading: &str) -> Option<u32> {
        let column = self.headings.iter().position(|one| *one == heading)?;
        *self.rows.get(&size)?.get(column)?
    }
}

/// `7.5` is 7500.
fn thousandths(cell: &str) -> Option<u32> {
    let (whole, part) = cell.split_once('.').unwrap_or((cell, ""));
    let part: u32 = format!("{part:0<3}").parse().ok()?;
    Some(whole.parse::<u32>().ok()? * 1_000 + part)
}

static TABLE_5: LazyLock<Grid> =
    LazyLock::new(|| Grid::from_table(include_str!("../../templates/wires/cfr_33_183_425_table_5.csv")));
static TABLE_11_3: LazyLock<Grid> =
    LazyLock::new(|| Grid::from_table(include_str!("../../templates/wires/ac_43_13_1b_table_11_3.csv")));

/// Note 1 of Table 5: insulation, percent that remains, whether it was seen in print.
static NOTE_1: LazyLock<Vec<(u16, u32, bool)>> = LazyLock::new(|| {
    let table = include_str!("../../templates/wires/cfr_33_183_425_note_1.csv");
    let row = |line: &str| {
        let mut cells = line.split(',');
        Some((cells.next()?.parse().ok()?, cells.next()?.parse().ok()?, cells.next()? != "from memory"))
    };
    table.lines().filter(|line| !line.starts_with('#')).filter_map(row).collect()
});

impl Rating {
    /// Temperature ratings of insulation that Table 5 has columns for, in °C.
    pub fn insulations() -> impl Iterator<Item = u16> {
        NOTE_1.iter().map(|(insulation, ..)| *insulation)
    }

    /// What the table says of a conductor; `None` when it has not this size.
    pub fn allowed(&self, size: ConductorSize) -> Option<Allowed> {
        match *self {
            Self::Cfr { insulation, engine_space } => {
                let table = TABLE_5.get(size, &insulation.to_string())?;
                let percent = if engine_space { note_1(insulation)?.0 } else { 100 };
                let conductor = table * percent / 100;
                Some(Allowed { conductor, fuse: conductor * FUSE_PERCENT / 100 })
            }
            Self::Ac { protection } => {
                let heading = match protection {
                    Protection::Fuse => "fuse",
                    Protection::Breaker => "breaker",
                };
                let fuse = TABLE_11_3.get(size, heading)?;
                Some(Allowed { conductor: fuse, fuse })
            }
        }
    }

    /// Whether a value that was not seen in print goes into it.
    pub fn is_from_memory(&self) -> bool {
        match *self {
            Self::Cfr { insulation, engine_space: true } => note_1(insulation).is_some_and(|(_, seen)| !seen),
            Self::Cfr { .. } | Self::Ac { .. } => false,
        }
    }
}

fn note_1(insulation: u16) -> Option<(u32, bool)> {
    NOTE_1.iter().find(|row| row.0 == insulation).map(|row| (row.1, row.2))
}

/// `33 CFR 183.425 Table 5, 105 °C, engine space`.
impl fmt::Display for Rating {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Cfr { insulation, engine_space } => {
                let space = if *engine_space { ", engine space" } else { "" };
                write!(f, "33 CFR 183.425 Table 5, {insulation} °C{space}")
            }
            Self::Ac { protection: Protection::Fuse } => f.write_str("AC 43.13-1B table 11-3, fuse"),
            Self::Ac { protection: Protection::Breaker } => f.write_str("AC 43.13-1B table 11-3, breaker"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn awg(typed: &str) -> ConductorSize {
        Conductor::from_cell(&format!("{typed} AWG"), None).expect("a size").size()
    }

    fn amperes(rating: Rating, size: &str) -> Option<(f64, f64)> {
        let allowed = rating.allowed(awg(size))?;
        Some((f64::from(allowed.conductor) / 1000.0, f64::from(allowed.fuse) / 1000.0))
    }

    const OUTSIDE: Rating = Rating::Cfr { insulation: 105, engine_space: false };
    const ENGINE_SPACE: Rating = Rating::Cfr { insulation: 105, engine_space: true };

    /// Worked values of 33 CFR 183.425 and 183.455: 16 AWG of 105 °C.
    #[test]
    fn sixteen_awg_of_105_degrees() {
        assert_eq!(amperes(OUTSIDE, "16"), Some((25.0, 37.5)));
        assert_eq!(amperes(ENGINE_SPACE, "16"), Some((21.25, 31.875)));
    }

    /// Values of 105 °C in engine spaces as tables for boats print them, rounded to a tenth: that of 16 AWG seen in a printed
    /// table, the others from memory.
    #[test]
    fn engine_spaces_agree_with_printed_tables() {
        let printed = [
            ("18", 17.0),
            ("16", 21.3),
            ("14", 29.8),
            ("12", 38.3),
            ("10", 51.0),
            ("8", 68.0),
            ("6", 102.0),
            ("4", 136.0),
            ("2", 178.5),
            ("1", 208.3),
            ("0", 242.3),
            ("00", 280.5),
            ("000", 327.3),
            ("0000", 378.3),
        ];
        for (size, printed) in printed {
            let (conductor, _) = amperes(ENGINE_SPACE, size).expect("in the table");
            assert!((conductor - printed).abs() <= 0.05 + 1e-9, "{size} AWG: {conductor} and {printed}");
        }
    }

    /// The corners of the published tables.
    #[test]
    fn every_size_and_column_of_the_tables() {
        let columns: Vec<u16> = Rating::insulations().collect();
        assert_eq!(columns, [60, 75, 80, 90, 105, 125, 200]);
        assert_eq!(TABLE_5.headings, ["60", "75", "80", "90", "105", "125", "200"]);
        let rows: Vec<&str> = "18 16 14 12 10 8 6 4 3 2 1 0 00 000 0000".split(' ').collect();
        assert_eq!(TABLE_5.rows.len(), rows.len());
        for size in &rows {
            let mut before = 0;
            for &insulation in &columns {
                let rating = Rating::Cfr { insulation, engine_space: false };
                let allowed = rating.allowed(awg(size)).expect("in the table").conductor;
                assert!(allowed >= before, "better insulation bears no less");
                before = allowed;
            }
        }
        let of = |insulation, size| amperes(Rating::Cfr { insulation, engine_space: false }, size).map(|both| both.0);
        assert_eq!(
            (of(60, "18"), of(200, "18"), of(60, "0000"), of(200, "4/0")),
            (Some(10.0), Some(25.0), Some(300.0), Some(510.0))
        );
        assert_eq!(of(100, "18"), None);
        let of = |protection, size| amperes(Rating::Ac { protection }, size).map(|both| both.1);
        assert_eq!((of(Protection::Fuse, "16"), of(Protection::Breaker, "16")), (Some(10.0), Some(15.0)));
        assert_eq!((of(Protection::Breaker, "20"), of(Protection::Fuse, "0")), (Some(7.5), Some(150.0)));
        assert_eq!(of(Protection::Breaker, "0"), None);
    }

    #[test]
    fn nothing_is_converted() {
        let metric = Conductor::from_cell("1.5", None).expect("a size").size();
        assert_eq!(OUTSIDE.allowed(metric), None);
        assert_eq!(OUTSIDE.allowed(awg("20")), None);
    }

    #[test]
    fn what_is_from_memory_is_known() {
        let space = |insulation| Rating::Cfr { insulation, engine_space: true };
        assert!(space(60).is_from_memory() && !ENGINE_SPACE.is_from_memory() && !OUTSIDE.is_from_memory());
    }
}
