//! Circuits as a print run records them beside its PDFs, so that the register can be put together again from the runs alone.

use serde::{Deserialize, Serialize};

use super::assign::KnownCircuit;
use super::failure::RegisterFailure;
use super::register::Register;
use crate::base::{Cavity, TagCode};
use crate::circuits::Naming;

/// A circuit with its codes, names and ends.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct RunCircuit {
    /// The code that is printed.
    pub code: String,
    /// Its other codes.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub also: Vec<String>,
    /// What it is and was called.
    pub names: Vec<RunName>,
    /// Its ends, in the order in which they became known.
    pub ends: Vec<RunEnd>,
}

/// What a circuit is or was called.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct RunName {
    /// The designation.
    pub name: String,
    /// Whether no list gives it, so that its place stands for it.
    #[serde(default, skip_serializing_if = "is_false")]
    pub by_place: bool,
    /// Whether another has replaced it.
    #[serde(default, skip_serializing_if = "is_false")]
    pub former: bool,
}

/// An end of a circuit.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct RunEnd {
    /// Codes and letters that name it: `7KF4 A`.
    pub tags: Vec<String>,
    /// The connector.
    pub connector: String,
    /// The cavity; empty where there is only one place.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub cavity: String,
    /// The colour of its wire, in the letters of IEC 60757 or as typed.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub colour: String,
    /// Where its wire goes; empty where that is not known.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub far: String,
    /// Tells ends apart that are alike in all of these.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub ordinal: u16,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde asks for it so")]
const fn is_false(value: &bool) -> bool {
    !*value
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde asks for it so")]
const fn is_zero(value: &u16) -> bool {
    *value == 0
}

impl Register {
    /// The circuits that have one of these codes, or all of them, in the order in which their codes were issued.
    ///
    /// # Errors
    /// When the register fails.
    pub fn recorded(&self, of: Option<&[TagCode]>) -> Result<Vec<RunCircuit>, RegisterFailure> {
        let known = self.read(None)?;
        let wanted: Option<std::collections::HashSet<&TagCode>> = of.map(|codes| codes.iter().collect());
        let is_wanted = |circuit: &&KnownCircuit| {
            wanted.as_ref().is_none_or(|wanted| circuit.codes.iter().any(|code| wanted.contains(code)))
        };
        Ok(known.circuits.iter().filter(is_wanted).map(RunCircuit::of).collect())
    }

    /// What a run shall record that has printed tags with these codes: all circuits, where codes or letters were issued since
    /// the last run that is done; else those of its tags.
    ///
    /// # Errors
    /// When the register fails.
    pub fn recorded_by_run(&self, codes: &[TagCode]) -> Result<Vec<RunCircuit>, RegisterFailure> {
        // Times of one second may be in the wrong order here; what is on the tags is recorded in any case.
        let has_new = self.connection.query_row(
            "WITH recorded (at) AS (
                 SELECT coalesce(max(planned_at), '') FROM print_run JOIN print_run_outcome ON run = number
                 WHERE outcome = 'done'
             )
             SELECT EXISTS (SELECT 1 FROM code, recorded WHERE issued_at > at)
                 OR EXISTS (SELECT 1 FROM letter, recorded WHERE issued_at > at)",
            [],
            |row| row.get(0),
        );
        let has_new: bool = has_new.map_err(|error| RegisterFailure::from_database(&self.path, error))?;
        self.recorded(if has_new { None } else { Some(codes) })
    }

    /// How many codes belong to a circuit or stand on a tag.
    ///
    /// # Errors
    /// When the register fails.
    pub fn codes_in_use(&self) -> Result<usize, RegisterFailure> {
        let sql = "SELECT count(*) FROM code WHERE circuit IS NOT NULL OR code IN (SELECT code FROM blank)";
        let count = self.connection.query_row(sql, [], |row| row.get::<_, i64>(0));
        let count = count.map_err(|error| RegisterFailure::from_database(&self.path, error))?;
        Ok(usize::try_from(count).unwrap_or(0))
    }

    /// How many codes were ever issued: the number of the next one.
    ///
    /// # Errors
    /// When the register fails.
    pub fn issued_count(&self) -> Result<u32, RegisterFailure> {
        let count = self.connection.query_row("SELECT coalesce(max(number) + 1, 0) FROM code", [], |row| row.get(0));
        count.map_err(|error| RegisterFailure::from_database(&self.path, error))
    }
}

impl RunCircuit {
    fn of(circuit: &KnownCircuit) -> Self {
        let name = |name: &super::assign::KnownName| RunName {
            name: name.id.to_string(),
            by_place: name.naming == Naming::ByPlace,
            former: !name.is_current,
        };
        let end = |end: &super::assign::KnownEnd| RunEnd {
            tags: end.marks.iter().map(|(code, letter)| format!("{code} {letter}")).collect(),
            connector: end.place.connector.to_string(),
            cavity: end.place.cavity.as_ref().map_or("", Cavity::as_str).to_owned(),
            colour: end.colour.clone(),
            far: end.far.clone(),
            ordinal: end.ordinal,
        };
        Self {
            code: circuit.printed().to_string(),
            also: circuit.codes[1..].iter().map(ToString::to_string).collect(),
            names: circuit.names.iter().map(name).collect(),
            ends: circuit.ends.iter().map(end).collect(),
        }
    }
}
