//! Print runs -> the register: what an export does not know any more, or there is no export for, is learnt from what the
//! runs have recorded beside their PDFs.
//!
//! Nothing that is known already is taken away. A code that a run has on a circuit with another name and other places is
//! left as it is and told: two registers must have issued it.

use std::collections::BTreeSet;
use std::path::Path;

use jiff::Timestamp;
use rusqlite::{Connection, OpenFlags, OptionalExtension, Transaction, params};

use super::blanks::Way;
use super::failure::RegisterFailure;
use super::mint;
use super::print_run::{Outcome, PrintedConnectorTag, PrintedTag, RunNumber};
use super::recorded::{RunCircuit, RunEnd};
use super::register::Register;
use super::sheets::SheetUse;
use crate::base::{CircuitId, ConnectorId, EndLetter, TagCode};

/// A print run as it recorded itself.
#[derive(Clone, Debug)]
pub struct RecordedRun {
    /// Its number.
    pub number: u32,
    /// What was asked for.
    pub what: String,
    /// When it was made, as nearly as is known.
    pub planned: Timestamp,
    /// How many codes had been issued by then; old runs do not say.
    pub issued: Option<u32>,
    /// Its circuits.
    pub circuits: Vec<RunCircuit>,
    /// Codes on tags that belonged to no circuit yet.
    pub blanks: Vec<TagCode>,
    /// What its tags said.
    pub tags: Vec<PrintedTag>,
    /// What its tags of connectors said.
    pub connector_tags: Vec<PrintedConnectorTag>,
    /// What it used of sheets of labels.
    pub sheets: Vec<SheetUse>,
}

impl RecordedRun {
    /// All codes that it speaks of.
    pub fn codes(&self) -> impl Iterator<Item = TagCode> {
        let of_circuits = self.circuits.iter().flat_map(|circuit| circuit.also.iter().chain([&circuit.code]));
        of_circuits.filter_map(|code| TagCode::from_typed(code).ok()).chain(self.blanks.iter().copied())
    }
}

/// What was learnt from a run.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Learnt {
    /// Codes that were not known to belong to anything before.
    pub codes: usize,
    /// Letters that were not known before.
    pub letters: usize,
    /// Whether the run itself was not known before.
    pub is_new_run: bool,
    /// Codes that belong to another circuit by what is known, each with what the run calls it.
    pub contradicted: Vec<(TagCode, String)>,
    /// Texts that stand for codes and are none.
    pub no_codes: Vec<String>,
}

impl Register {
    /// Learns from a run. Runs come in the order of their numbers; what a later one says of an end counts.
    ///
    /// # Errors
    /// When the register fails.
    pub fn learn(&mut self, run: &RecordedRun) -> Result<Learnt, RegisterFailure> {
        let path = self.path.clone();
        let failed = |error| RegisterFailure::from_database(&path, error);
        let mut learnt = Learnt::default();
        let transaction = self.connection.transaction().map_err(failed)?;
        learnt.is_new_run =
            !exists(&transaction, "SELECT 1 FROM print_run WHERE number = ?1", run.number).map_err(failed)?;
        let mut learning = Learning { transaction: &transaction, run, learnt: &mut learnt };
        for circuit in &run.circuits {
            learning.circuit(circuit).map_err(failed)?;
        }
        for &code in &run.blanks {
            learning.blank(code).map_err(failed)?;
        }
        learning.tidy().map_err(failed)?;
        if learnt.is_new_run {
            transaction
                .execute(
                    "INSERT INTO print_run (number, what, planned_at) VALUES (?1, ?2, ?3)",
                    params![run.number, run.what, run.planned.to_string()],
                )
                .map_err(failed)?;
        }
        transaction.commit().map_err(failed)?;
        if learnt.is_new_run {
            let known: BTreeSet<TagCode> = self.codes()?.into_iter().collect();
            let tags: Vec<PrintedTag> = run.tags.iter().filter(|tag| known.contains(&tag.code)).cloned().collect();
            let number = RunNumber::of_record(run.number);
            self.record(number, &tags)?;
            self.record_connectors(number, &run.connector_tags)?;
            self.learn_sheets(number, &run.sheets, run.planned)?;
            self.end_run(number, Outcome::Done, run.planned)?;
        }
        Ok(learnt)
    }

    /// Counts every code below this number as issued, known or not, so that the next one is new for certain. The codes that
    /// were taken out of circulation.
    ///
    /// # Errors
    /// When the register fails.
    pub fn take_out_below(&mut self, number: u32, now: Timestamp) -> Result<usize, RegisterFailure> {
        let failed = |error| RegisterFailure::from_database(&self.path, error);
        let transaction = self.connection.transaction().map_err(failed)?;
        let mut taken = 0;
        for (number, code) in (0..number).map_while(|number| Some((number, mint::nth(number)?))) {
            taken += transaction
                .prepare_cached(
                    "INSERT INTO code (code, number, circuit, standing, issued_at) VALUES (?1, ?2, NULL, 'printed', ?3)
                     ON CONFLICT DO NOTHING",
                )
                .and_then(|mut statement| statement.execute(params![code.as_str(), number, now.to_string()]))
                .map_err(failed)?;
        }
        transaction.commit().map_err(failed)?;
        Ok(taken)
    }
}

/// How many codes a damaged register had issued, as far as it can still be read, and whether all of it can: only codes that
/// stand under their own number count.
pub fn issued_in_damaged(path: &Path) -> (u32, bool) {
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let Ok(connection) = Connection::open_with_flags(path, flags) else { return (0, false) };
    let (mut next, mut is_whole) = (0, true);
    for sql in ["SELECT number, code FROM code", "SELECT number, code FROM code ORDER BY number DESC"] {
        let read = connection.prepare(sql).and_then(|mut statement| {
            let mut rows = statement.query([])?;
            let mut count = 0;
            while let Some(row) = rows.next()? {
                let (number, code): (u32, String) = (row.get(0)?, row.get(1)?);
                if mint::nth(number).is_some_and(|nth| nth.as_str() == code) {
                    next = next.max(number + 1);
                    count += 1;
                }
            }
            Ok(count)
        });
        is_whole &= read.is_ok_and(|count: u32| count == next);
    }
    (next, is_whole)
}

fn exists(transaction: &Transaction<'_>, sql: &str, parameter: impl rusqlite::ToSql) -> rusqlite::Result<bool> {
    transaction.prepare_cached(sql)?.exists([parameter])
}

/// A run while it is learnt from.
struct Learning<'a> {
    transaction: &'a Transaction<'a>,
    run: &'a RecordedRun,
    learnt: &'a mut Learnt,
}

impl Learning<'_> {
    fn circuit(&mut self, recorded: &RunCircuit) -> rusqlite::Result<()> {
        let Some(printed) = self.code(&recorded.code) else { return Ok(()) };
        let also: Vec<TagCode> = recorded.also.iter().filter_map(|code| self.code(code)).collect();
        let key = match self.holder(printed)? {
            Some(key) if self.is_another(key, recorded)? => {
                let name = recorded.names.first().map(|name| name.name.clone()).unwrap_or_default();
                self.learnt.contradicted.push((printed, name));
                return Ok(());
            }
            Some(key) => key,
            None => {
                self.transaction.execute("INSERT INTO circuit DEFAULT VALUES", [])?;
                self.transaction.last_insert_rowid()
            }
        };
        for code in std::iter::once(printed).chain(also) {
            self.give(code, key, printed)?;
        }
        self.names(key, recorded)?;
        for end in &recorded.ends {
            self.end(key, end)?;
        }
        Ok(())
    }

    /// A text as a code that this program issues.
    fn code(&mut self, text: &str) -> Option<TagCode> {
        let code = TagCode::from_typed(text).ok().filter(|code| mint::number(*code).is_some());
        if code.is_none() {
            self.learnt.no_codes.push(text.to_owned());
        }
        code
    }

    fn holder(&self, code: TagCode) -> rusqlite::Result<Option<i64>> {
        let circuit = self
            .transaction
            .prepare_cached("SELECT circuit FROM code WHERE code = ?1")?
            .query_row([code.as_str()], |row| row.get::<_, Option<i64>>(0))
            .optional()?;
        Ok(circuit.flatten())
    }

    /// Whether a circuit shares neither a name nor a place with what the run recorded.
    fn is_another(&self, key: i64, recorded: &RunCircuit) -> rusqlite::Result<bool> {
        let mut statement =
            self.transaction.prepare_cached("SELECT designation FROM designation WHERE circuit = ?1")?;
        let names: BTreeSet<String> = statement.query_map([key], |row| row.get(0))?.collect::<Result<_, _>>()?;
        let mut statement =
            self.transaction.prepare_cached("SELECT connector, cavity FROM end_of_wire WHERE circuit = ?1")?;
        let places: BTreeSet<(String, String)> =
            statement.query_map([key], |row| Ok((row.get(0)?, row.get(1)?)))?.collect::<Result<_, _>>()?;
        let has_name = recorded.names.iter().any(|name| names.contains(&name.name));
        let has_place = recorded.ends.iter().any(|end| places.contains(&(end.connector.clone(), end.cavity.clone())));
        Ok(!has_name && !has_place)
    }

    /// Makes a code one of this circuit; a circuit that had it before becomes part of this one.
    fn give(&mut self, code: TagCode, key: i64, printed: TagCode) -> rusqlite::Result<()> {
        let standing = if code == printed { "printed" } else { "also" };
        match self.holder(code)? {
            Some(own) if own == key => {}
            Some(other) => {
                self.transaction
                    .execute("UPDATE code SET circuit = ?1, standing = 'also' WHERE circuit = ?2", [key, other])?;
                self.transaction.execute("UPDATE designation SET circuit = ?1 WHERE circuit = ?2", [key, other])?;
                self.transaction.execute("UPDATE end_of_wire SET circuit = ?1 WHERE circuit = ?2", [key, other])?;
                self.transaction.execute("DELETE FROM circuit WHERE key = ?1", [other])?;
            }
            None => {
                self.learnt.codes += 1;
                self.transaction
                    .prepare_cached(
                        "INSERT INTO code (code, number, circuit, standing, issued_at) VALUES (?1, ?2, ?3, ?4, ?5)
                         ON CONFLICT (code) DO UPDATE SET circuit = excluded.circuit, standing = excluded.standing",
                    )?
                    .execute(params![code.as_str(), mint::number(code), key, standing, self.run.planned.to_string()])?;
            }
        }
        Ok(())
    }

    /// A code on a tag that belonged to no circuit yet.
    fn blank(&mut self, code: TagCode) -> rusqlite::Result<()> {
        let Some(number) = mint::number(code) else {
            self.learnt.no_codes.push(code.to_string());
            return Ok(());
        };
        let planned = self.run.planned.to_string();
        // A run names codes for a pen without a tag of them.
        let is_on_a_tag = self.run.tags.iter().any(|tag| tag.code == code);
        let way = if is_on_a_tag { Way::Printed } else { Way::Listed };
        self.learnt.codes += self
            .transaction
            .prepare_cached(
                "INSERT INTO code (code, number, circuit, standing, issued_at) VALUES (?1, ?2, NULL, 'printed', ?3)
                 ON CONFLICT DO NOTHING",
            )?
            .execute(params![code.as_str(), number, planned])?;
        self.transaction
            .prepare_cached("INSERT INTO blank (code, way, issued_at) VALUES (?1, ?2, ?3) ON CONFLICT DO NOTHING")?
            .execute(params![code.as_str(), way.word(), planned])?;
        Ok(())
    }

    fn names(&self, key: i64, recorded: &RunCircuit) -> rusqlite::Result<()> {
        if self.learnt.is_new_run && !recorded.names.is_empty() {
            let former = "UPDATE designation SET standing = 'former' WHERE circuit = ?1";
            self.transaction.prepare_cached(former)?.execute([key])?;
        }
        for name in &recorded.names {
            let Some(id) = CircuitId::from_cell(&name.name) else { continue };
            let naming = if name.by_place { "by place" } else { "designated" };
            let standing = if name.former { "former" } else { "current" };
            let known = if self.learnt.is_new_run {
                "UPDATE SET circuit = excluded.circuit, naming = excluded.naming, standing = excluded.standing"
            } else {
                "NOTHING"
            };
            self.transaction
                .prepare_cached(&format!(
                    "INSERT INTO designation (designation, circuit, naming, standing, since) VALUES (?1, ?2, ?3, ?4, ?5)
                     ON CONFLICT (designation) DO {known}"
                ))?
                .execute(params![id.as_str(), key, naming, standing, self.run.planned.to_string()])?;
        }
        Ok(())
    }

    fn end(&mut self, key: i64, end: &RunEnd) -> rusqlite::Result<()> {
        if ConnectorId::from_cell(&end.connector).is_none() {
            return Ok(());
        }
        let marks: Vec<(TagCode, EndLetter)> = end
            .tags
            .iter()
            .filter_map(|tag| TagCode::from_typed_with_letter(tag).ok())
            .filter_map(|(code, letter)| Some((code, letter?)))
            .collect();
        let mut known = None;
        for (code, letter) in &marks {
            let end = self
                .transaction
                .prepare_cached("SELECT end_of_wire FROM letter WHERE code = ?1 AND letter = ?2")?
                .query_row(params![code.as_str(), letter.ordinal()], |row| row.get::<_, i64>(0))
                .optional()?;
            known = known.or(end);
        }
        let row = match known {
            Some(row) => {
                if self.learnt.is_new_run {
                    self.transaction
                        .prepare_cached(
                            "UPDATE end_of_wire SET connector = ?2, cavity = ?3, colour = ?4, far = ?5, ordinal = ?6 WHERE key = ?1",
                        )?
                        .execute(params![row, end.connector, end.cavity, end.colour, end.far, end.ordinal])?;
                }
                row
            }
            None if marks.is_empty() => return Ok(()),
            None => {
                self.transaction
                    .prepare_cached(
                        "INSERT INTO end_of_wire (circuit, connector, cavity, colour, far, ordinal) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
                    )?
                    .execute(params![key, end.connector, end.cavity, end.colour, end.far, end.ordinal])?;
                self.transaction.last_insert_rowid()
            }
        };
        for (code, letter) in marks {
            if self.holder(code)? != Some(key) {
                continue;
            }
            let new = self
                .transaction
                .prepare_cached(
                    "INSERT INTO letter (code, letter, end_of_wire, issued_at) VALUES (?1, ?2, ?3, ?4) ON CONFLICT DO NOTHING",
                )?
                .execute(params![code.as_str(), letter.ordinal(), row, self.run.planned.to_string()])?;
            self.learnt.letters += new;
            if new == 0 && self.learnt.is_new_run {
                // Ends that have proved to be one.
                self.transaction
                    .prepare_cached("UPDATE letter SET end_of_wire = ?3 WHERE code = ?1 AND letter = ?2")?
                    .execute(params![code.as_str(), letter.ordinal(), row])?;
            }
        }
        Ok(())
    }

    /// Takes away ends that no letter names any more, since they proved to be others.
    fn tidy(&self) -> rusqlite::Result<()> {
        let unnamed = "DELETE FROM end_of_wire WHERE key NOT IN (SELECT end_of_wire FROM letter)";
        self.transaction.execute(unnamed, []).map(|_| ())
    }
}
