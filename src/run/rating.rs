//! The table that fuses are compared with: only the one that job.toml names, as each has conditions of its own.
//!
//! ```toml
//! [rating]
//! table = "33-cfr-183.425"      # Table 5, of which a fuse may have 150 % below 50 V (183.455); or "ac-43.13-1b-11-3"
//! insulation_temperature = 105  # °C: the column of Table 5: 60, 75, 80, 90, 105, 125 or 200
//! engine_space = true           # note 1 of Table 5: less in an engine space
//! # protection = "fuse"         # of table 11-3 of AC 43.13-1B: fuse or breaker
//! ```

use super::problems::UNFIT_FOR_RATING_TABLE;
use crate::base::settings::{Reader, Table};
use crate::circuits::rating::{Protection, Rating};

/// Which table.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Which {
    Cfr,
    Ac,
}

const TABLES: [(&str, Which); 2] = [("33-cfr-183.425", Which::Cfr), ("ac-43.13-1b-11-3", Which::Ac)];
const PROTECTIONS: [(&str, Protection); 2] = [("fuse", Protection::Fuse), ("breaker", Protection::Breaker)];

/// What only Table 5 has, and what only table 11-3 has.
const OF_CFR: [&str; 2] = ["insulation_temperature", "engine_space"];
const OF_AC: [&str; 1] = ["protection"];

/// Reads `[rating]`.
pub(super) fn read_rating(reader: &mut Reader, top: &Table<'_>) -> Option<Rating> {
    let table = reader.table(top, "rating")?;
    let which = reader.word(&table, "table", &TABLES).map(|which| which.value);
    let required: &[&str] = if which == Some(Which::Cfr) { &["table", "insulation_temperature"] } else { &["table"] };
    reader.expect_keys(&table, required, &[&OF_CFR[..], &OF_AC[..]].concat());
    let which = which?;
    let (name, others) = match which {
        Which::Cfr => ("33 CFR 183.425", &OF_AC[..]),
        Which::Ac => ("AC 43.13-1B table 11-3", &OF_CFR[..]),
    };
    for key in others.iter().filter(|key| table.has(key)) {
        let problem = UNFIT_FOR_RATING_TABLE.says(format!("{name} knows no `{key}`"));
        reader.tell(problem.at(reader.origin_of(&table, key)).remedy("leave this line out, or name the other table"));
    }
    let engine_space = reader.yes(&table, "engine_space").is_some_and(|value| value.value);
    let protection = reader.word(&table, "protection", &PROTECTIONS).map(|protection| protection.value);
    match which {
        Which::Ac => Some(Rating::Ac { protection: protection.unwrap_or(Protection::Fuse) }),
        Which::Cfr => {
            let asked = reader.whole(&table, "insulation_temperature", 0..=1_000)?;
            let insulation = Rating::insulations().find(|insulation| i32::from(*insulation) == asked.value);
            if insulation.is_none() {
                let known: Vec<String> = Rating::insulations().map(|insulation| insulation.to_string()).collect();
                let problem = UNFIT_FOR_RATING_TABLE.says(format!("Table 5 has no column for {} °C", asked.value));
                reader.tell(asked.point(problem.remedy(format!("choose from {}", known.join(", ")))));
            }
            Some(Rating::Cfr { insulation: insulation?, engine_space })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::{Source, settings};

    fn read(text: &str) -> (Option<Rating>, Vec<String>) {
        let read = settings::read(&Source::new("job.toml", text), read_rating);
        let told = read.problems.iter().map(|problem| {
            let at = problem.origin.as_ref().map(ToString::to_string).unwrap_or_default();
            format!("{at} {} {} | {}", problem.id, problem.message, problem.remedy.as_deref().unwrap_or("-"))
        });
        let told = told.collect();
        (read.value.unwrap(), told)
    }

    #[test]
    fn tables_that_a_job_may_name() {
        assert_eq!(read(""), (None, vec![]));
        let cfr = "[rating]\ntable = \"33-cfr-183.425\"\ninsulation_temperature = 105\n";
        assert_eq!(read(cfr), (Some(Rating::Cfr { insulation: 105, engine_space: false }), vec![]));
        let space = format!("{cfr}engine_space = true\n");
        assert_eq!(read(&space).0, Some(Rating::Cfr { insulation: 105, engine_space: true }));
        let ac = "[rating]\ntable = \"ac-43.13-1b-11-3\"\n";
        assert_eq!(read(ac), (Some(Rating::Ac { protection: Protection::Fuse }), vec![]));
        let breaker = format!("{ac}protection = \"breaker\"\n");
        assert_eq!(read(&breaker).0, Some(Rating::Ac { protection: Protection::Breaker }));
    }

    #[test]
    fn what_a_table_does_not_know_is_told() {
        assert_eq!(
            read("[rating]\ntable = \"33-cfr-183.425\"\ninsulation_temperature = 100\nprotection = \"fuse\"\n").1,
            [
                "job.toml:3:26 unfit-for-rating-table Table 5 has no column for 100 °C | choose from 60, 75, 80, 90, 105, 125, 200",
                "job.toml:4:14 unfit-for-rating-table 33 CFR 183.425 knows no `protection` | leave this line out, or name the other \
                 table",
            ]
        );
        let told = read("[rating]\ntable = \"33-cfr-183.425\"\n").1;
        assert!(matches!(&told[..], [one] if one.contains("missing-setting `insulation_temperature`")), "{told:?}");
        let told = read("[rating]\ntabel = \"33-cfr-183.425\"\n").1;
        assert!(matches!(&told[..], [one] if one.contains("did you mean `table`")), "{told:?}");
    }
}
