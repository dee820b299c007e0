//! The journal of print runs: what was planned, what each tag said, and how it ended. It only grows.
//!
//! A run gets its number first; what its tags say is written down before a file gets its final name, and how it ended after.
//! A run without an end was cut off: its tags may exist.

use std::str::FromStr;

use jiff::Timestamp;
use rusqlite::{OptionalExtension, Row, Transaction, TransactionBehavior, params};

use super::failure::RegisterFailure;
use super::print_run::{Outcome, PrintedConnectorTag, PrintedTag, Printing, Run, RunNumber, Spot};
use super::register::Register;
use crate::base::TagCode;

/// What is known of a run; the last mark that was set on it counts.
const RUN_COLUMNS: &str = "print_run.number, print_run.what, print_run.planned_at, outcome, ended_at, coalesce((
    SELECT holds FROM sheet_mark WHERE mark = 'unprinted' AND sheet_mark.run = print_run.number
    ORDER BY sheet_mark.number DESC LIMIT 1), 0)";
/// How many columns that makes.
const RUN_WIDTH: usize = 6;
const DONE: &str = "done";
const FAILED: &str = "failed";

impl Register {
    /// Writes a run down as planned; its number.
    ///
    /// # Errors
    /// When the register fails.
    pub fn begin_run(&mut self, now: Timestamp, what: &str) -> Result<RunNumber, RegisterFailure> {
        let number = self.connection.query_row(
            "INSERT INTO print_run (number, what, planned_at)
             VALUES ((SELECT coalesce(max(number), 0) + 1 FROM print_run), ?1, ?2) RETURNING number",
            params![what, now.to_string()],
            |row| row.get(0),
        );
        number.map(RunNumber).map_err(|error| RegisterFailure::from_database(&self.path, error))
    }

    /// Writes down what the tags of a run say, all of them or none, before their files are put in place.
    ///
    /// # Errors
    /// When the register fails, the run was never begun or has ended, or a code was never issued here.
    pub fn record(&mut self, run: RunNumber, tags: &[PrintedTag]) -> Result<(), RegisterFailure> {
        let path = self.path.clone();
        let failed = |error| RegisterFailure::from_database(&path, error);
        self.in_open_run(run, |transaction| {
            for tag in tags {
                let is_known = transaction
                    .prepare_cached("SELECT 1 FROM code WHERE code = ?1")
                    .and_then(|mut statement| statement.exists([tag.code.as_str()]))
                    .map_err(failed)?;
                if !is_known {
                    return Err(RegisterFailure::UnknownCode { code: tag.code });
                }
                let (letters, words) = (tag.spot.write(&tag.letters), joined(&tag.words));
                transaction
                    .prepare_cached(
                        "INSERT INTO printed_tag (run, code, letters, place, kind, stock, words, payload)
                         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
                    )
                    .and_then(|mut statement| {
                        let (code, place) = (tag.code.as_str(), &tag.place);
                        statement.execute(params![run.0, code, letters, place, tag.kind, tag.stock, words, tag.payload])
                    })
                    .map_err(failed)?;
            }
            Ok(())
        })
    }

    /// Writes down what the tags of connectors of a run say, as [`Register::record`] does with those of wires.
    ///
    /// # Errors
    /// When the register fails, or the run was never begun or has ended.
    pub fn record_connectors(&mut self, run: RunNumber, tags: &[PrintedConnectorTag]) -> Result<(), RegisterFailure> {
        let path = self.path.clone();
        self.in_open_run(run, |transaction| {
            for tag in tags {
                transaction
                    .prepare_cached(
                        "INSERT INTO printed_connector_tag (run, connector, kind, stock, words, payload)
                         VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
                    )
                    .and_then(|mut statement| {
                        let words = joined(&tag.words);
                        statement.execute(params![run.0, tag.connector, tag.kind, tag.stock, words, tag.payload])
                    })
                    .map_err(|error| RegisterFailure::from_database(&path, error))?;
            }
            Ok(())
        })
    }

    /// Does something in one transaction, if the run has begun and not ended.
    pub(super) fn in_open_run(
        &mut self,
        run: RunNumber,
        write: impl FnOnce(&Transaction<'_>) -> Result<(), RegisterFailure>,
    ) -> Result<(), RegisterFailure> {
        let failed = |error| RegisterFailure::from_database(&self.path, error);
        let transaction = self.connection.transaction_with_behavior(TransactionBehavior::Immediate).map_err(failed)?;
        let is_open = transaction
            .prepare_cached(
                "SELECT 1 FROM print_run WHERE number = ?1 AND number NOT IN (SELECT run FROM print_run_outcome)",
            )
            .and_then(|mut statement| statement.exists([run.0]))
            .map_err(failed)?;
        if !is_open {
            return Err(RegisterFailure::NoSuchRun { run: run.0 });
        }
        write(&transaction)?;
        transaction.commit().map_err(failed)
    }

    /// Writes down how a run ended. The first answer stands.
    ///
    /// # Errors
    /// When the register fails, the run was never begun, or has ended already.
    pub fn end_run(&mut self, run: RunNumber, outcome: Outcome, now: Timestamp) -> Result<(), RegisterFailure> {
        let word = match outcome {
            Outcome::Done => DONE,
            Outcome::Failed => FAILED,
        };
        let rows = self.connection.execute(
            "INSERT INTO print_run_outcome (run, outcome, ended_at)
             SELECT number, ?2, ?3 FROM print_run WHERE number = ?1
             ON CONFLICT (run) DO NOTHING",
            params![run.0, word, now.to_string()],
        );
        match rows.map_err(|error| RegisterFailure::from_database(&self.path, error))? {
            0 => Err(RegisterFailure::NoSuchRun { run: run.0 }),
            _ => Ok(()),
        }
    }

    /// All runs, the first one first.
    ///
    /// # Errors
    /// When the register fails.
    pub fn runs(&self) -> Result<Vec<Run>, RegisterFailure> {
        let sql = format!(
            "SELECT {RUN_COLUMNS} FROM print_run LEFT JOIN print_run_outcome ON run = print_run.number
             ORDER BY print_run.number"
        );
        self.collect(&sql, [], |register, row| register.run(row))
    }

    /// The tags of a run, in the order in which they were handed over.
    ///
    /// # Errors
    /// When the register fails.
    pub fn tags_of(&self, run: RunNumber) -> Result<Vec<PrintedTag>, RegisterFailure> {
        let sql =
            "SELECT code, letters, place, kind, stock, words, payload FROM printed_tag WHERE run = ?1 ORDER BY number";
        self.collect(sql, [run.0], |register, row| register.tag(row, 0))
    }

    /// Shows every tag with a code that was ever journalled, with its run, in the order in which they were handed over. One at a
    /// time, so that a long journal takes no memory.
    ///
    /// # Errors
    /// When the register fails.
    pub fn each_printed(&self, mut show: impl FnMut(&Run, PrintedTag)) -> Result<(), RegisterFailure> {
        let sql = "SELECT code, letters, place, kind, stock, words, payload, run FROM printed_tag ORDER BY printed_tag.number";
        self.each_of_a_run(sql, 7, |run, row| {
            show(run, self.tag(row, 0)?);
            Ok(())
        })
    }

    /// The numbers of the last tag of a wire and of a connector that were ever journalled: the journal only grows.
    ///
    /// # Errors
    /// When the register fails.
    pub fn last_printed(&self) -> Result<(i64, i64), RegisterFailure> {
        let sql = "SELECT (SELECT coalesce(max(number), 0) FROM printed_tag),
            (SELECT coalesce(max(number), 0) FROM printed_connector_tag)";
        let answer = self.connection.query_row(sql, [], |row| Ok((row.get(0)?, row.get(1)?)));
        answer.map_err(|error| RegisterFailure::from_database(&self.path, error))
    }

    /// Shows every tag of a connector that was ever journalled, as [`Register::each_printed`] does with those of wires.
    ///
    /// # Errors
    /// When the register fails.
    pub fn each_printed_connector(
        &self,
        mut show: impl FnMut(&Run, PrintedConnectorTag),
    ) -> Result<(), RegisterFailure> {
        let failed = |error| RegisterFailure::from_database(&self.path, error);
        let sql = "SELECT connector, kind, stock, words, payload, run FROM printed_connector_tag ORDER BY number";
        self.each_of_a_run(sql, 5, |run, row| {
            let text = |column: usize| row.get::<_, String>(column).map_err(failed);
            let payload = row.get(4).map_err(failed)?;
            let words = parted(&text(3)?);
            let tag = PrintedConnectorTag { connector: text(0)?, kind: text(1)?, stock: text(2)?, words, payload };
            show(run, tag);
            Ok(())
        })
    }

    /// Reads rows that have the number of their run in a column.
    fn each_of_a_run(
        &self,
        sql: &str,
        column: usize,
        mut read: impl FnMut(&Run, &Row<'_>) -> Result<(), RegisterFailure>,
    ) -> Result<(), RegisterFailure> {
        let failed = |error| RegisterFailure::from_database(&self.path, error);
        // Both are read in one transaction, so that no run is missing.
        let _moment = self.moment()?;
        let runs = self.runs()?;
        let mut statement = self.connection.prepare_cached(sql).map_err(failed)?;
        let mut rows = statement.query([]).map_err(failed)?;
        while let Some(row) = rows.next().map_err(failed)? {
            let number: u32 = row.get(column).map_err(failed)?;
            let at = runs.binary_search_by_key(&number, |run| run.number.0);
            let at = at.map_err(|_| self.damaged(format!("there is no run {number}")))?;
            read(&runs[at], row)?;
        }
        Ok(())
    }

    /// Every time that a tag of this circuit was printed, under this code or another one of it, the first one first.
    ///
    /// # Errors
    /// When the register fails.
    pub fn history(&self, code: TagCode) -> Result<Vec<Printing>, RegisterFailure> {
        let sql = format!(
            "SELECT {RUN_COLUMNS}, printed_tag.code, letters, place, kind, stock, words, payload
             FROM printed_tag JOIN print_run ON print_run.number = printed_tag.run
             LEFT JOIN print_run_outcome ON print_run_outcome.run = print_run.number
             WHERE printed_tag.code = ?1 OR printed_tag.code IN (
                 SELECT other.code FROM code AS other JOIN code AS one ON one.circuit = other.circuit WHERE one.code = ?1
             )
             ORDER BY printed_tag.number"
        );
        let printing = |register: &Self, row: &Row<'_>| {
            Ok(Printing { run: register.run(row)?, tag: register.tag(row, RUN_WIDTH)? })
        };
        self.collect(&sql, [code.as_str()], printing)
    }

    /// The last run, when there is one.
    ///
    /// # Errors
    /// When the register fails.
    pub fn last_run(&self) -> Result<Option<RunNumber>, RegisterFailure> {
        let number = self.connection.query_row("SELECT max(number) FROM print_run", [], |row| row.get(0)).optional();
        let number: Option<Option<u32>> = number.map_err(|error| RegisterFailure::from_database(&self.path, error))?;
        Ok(number.flatten().map(RunNumber))
    }

    pub(super) fn collect<T>(
        &self,
        sql: &str,
        parameters: impl rusqlite::Params,
        read: impl Fn(&Self, &Row<'_>) -> Result<T, RegisterFailure>,
    ) -> Result<Vec<T>, RegisterFailure> {
        let failed = |error| RegisterFailure::from_database(&self.path, error);
        let mut statement = self.connection.prepare_cached(sql).map_err(failed)?;
        let mut rows = statement.query(parameters).map_err(failed)?;
        let mut all = Vec::new();
        while let Some(row) = rows.next().map_err(failed)? {
            all.push(read(self, row)?);
        }
        Ok(all)
    }

    fn run(&self, row: &Row<'_>) -> Result<Run, RegisterFailure> {
        let failed = |error| RegisterFailure::from_database(&self.path, error);
        let time = |text: String| Timestamp::from_str(&text).map_err(|error| self.damaged(error.to_string()));
        let outcome: Option<String> = row.get(3).map_err(failed)?;
        let ended: Option<String> = row.get(4).map_err(failed)?;
        let end = match (outcome, ended) {
            (Some(word), Some(ended)) => {
                Some((if word == DONE { Outcome::Done } else { Outcome::Failed }, time(ended)?))
            }
            _ => None,
        };
        Ok(Run {
            number: RunNumber(row.get(0).map_err(failed)?),
            what: row.get(1).map_err(failed)?,
            planned: time(row.get(2).map_err(failed)?)?,
            end,
            is_unprinted: row.get(5).map_err(failed)?,
        })
    }

    fn tag(&self, row: &Row<'_>, first: usize) -> Result<PrintedTag, RegisterFailure> {
        let failed = |error| RegisterFailure::from_database(&self.path, error);
        let text = |column: usize| row.get::<_, String>(first + column).map_err(failed);
        let code = TagCode::from_typed(&text(0)?).map_err(|error| self.damaged(error.to_string()))?;
        let words = text(5)?;
        let (letters, spot) = Spot::read(&text(1)?);
        Ok(PrintedTag {
            code,
            letters,
            spot,
            place: text(2)?,
            kind: text(3)?,
            stock: text(4)?,
            words: parted(&words),
            payload: row.get(first + 6).map_err(failed)?,
        })
    }
}

/// Lines as the journal keeps them.
fn joined(words: &[String]) -> String {
    words.iter().map(|line| line.replace(['\r', '\n'], " ")).collect::<Vec<_>>().join("\n")
}

fn parted(words: &str) -> Vec<String> {
    if words.is_empty() { Vec::new() } else { words.split('\n').map(str::to_owned).collect() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::{CircuitId, ConnectorId, EndLetter, Place};
    use crate::codes::samples;

    fn tag(code: TagCode, letters: &[u16]) -> PrintedTag {
        PrintedTag {
            code,
            letters: letters.iter().map(|&letter| EndLetter::nth(letter)).collect(),
            spot: Spot::End,
            place: "J1/14".to_owned(),
            kind: "flag".to_owned(),
            stock: "a4-65-38x21".to_owned(),
            words: vec!["rail pressure signal".to_owned(), "J1/14".to_owned()],
            payload: Some(format!("{code} A")),
        }
    }

    #[test]
    fn runs_are_numbered_and_remember_what_their_tags_said() {
        let mut register = Register::in_memory().expect("in memory");
        let place = Place::new(ConnectorId::from_cell("J1").expect("a name"), None);
        let circuits = samples::circuits([samples::circuit(CircuitId::from(&place).as_str(), &["J1/14", "X3/2"])]);
        let issued = register.issue(&circuits, samples::NOW).expect("issues");
        let code = issued.circuits[0].code;

        let one = register.begin_run(samples::NOW, "tags").expect("begins");
        let two = register.begin_run(samples::NOW, "reprint").expect("begins");
        assert_eq!((one.get(), two.get()), (1, 2));
        let mut bare = tag(code, &[]);
        (bare.words, bare.payload) = (Vec::new(), None);
        let between = PrintedTag { spot: Spot::Between, ..tag(code, &[0, 1]) };
        let half_known = PrintedTag { spot: Spot::Between, ..tag(code, &[1]) };
        let all = [tag(code, &[0, 1]), bare, between, half_known];
        register.record(one, &all).expect("records");
        register.end_run(one, Outcome::Done, samples::NOW).expect("ends");
        register.record(two, &[tag(code, &[1])]).expect("records");

        assert_eq!(register.tags_of(one).expect("reads"), all);
        let mut shown = Vec::new();
        register.each_printed(|run, tag| shown.push((run.number.get(), tag))).expect("reads");
        assert_eq!(shown.iter().map(|(run, _)| *run).collect::<Vec<_>>(), [1, 1, 1, 1, 2]);
        assert!(shown.iter().map(|(_, tag)| tag).eq(all.iter().chain([&tag(code, &[1])])));
        let runs = register.runs().expect("reads");
        assert_eq!(runs[0].end, Some((Outcome::Done, samples::NOW)));
        assert_eq!((runs[1].end, runs[1].what.as_str()), (None, "reprint"));
        let history = register.history(code).expect("reads");
        assert_eq!(history.iter().map(|one| one.run.number.get()).collect::<Vec<_>>(), [1, 1, 1, 1, 2]);
        assert_eq!(register.last_run().expect("reads"), Some(two));
    }

    #[test]
    fn tags_of_connectors_are_journalled_too() {
        let mut register = Register::in_memory().expect("in memory");
        let run = register.begin_run(samples::NOW, "tags").expect("begins");
        let tag = PrintedConnectorTag {
            connector: "X3P".to_owned(),
            kind: "flag".to_owned(),
            stock: "a4-65-38x21".to_owned(),
            words: vec!["bulkhead".to_owned(), "41 wires".to_owned()],
            payload: Some("X3P".to_owned()),
        };
        let bare = PrintedConnectorTag { words: Vec::new(), payload: None, ..tag.clone() };
        register.record_connectors(run, &[tag.clone(), bare.clone()]).expect("records");
        let mut shown = Vec::new();
        register.each_printed_connector(|run, tag| shown.push((run.end, tag))).expect("reads");
        assert_eq!(shown, [(None, tag.clone()), (None, bare)]);
        register.end_run(run, Outcome::Done, samples::NOW).expect("ends");
        let closed = register.record_connectors(run, &[tag]);
        assert!(matches!(closed, Err(RegisterFailure::NoSuchRun { .. })));
    }

    #[test]
    fn a_run_that_has_ended_is_closed() {
        let mut register = Register::in_memory().expect("in memory");
        assert_eq!(register.last_run().expect("reads"), None);
        let run = register.begin_run(samples::NOW, "tags").expect("begins");
        let stranger = crate::codes::mint::nth(7).expect("a code");
        let answer = register.record(run, &[tag(stranger, &[0])]);
        assert!(matches!(answer, Err(RegisterFailure::UnknownCode { code }) if code == stranger));
        register.end_run(run, Outcome::Failed, samples::NOW).expect("ends");
        for answer in [
            register.record(run, &[]),
            register.end_run(run, Outcome::Done, samples::NOW),
            register.end_run(RunNumber(99), Outcome::Done, samples::NOW),
        ] {
            assert!(matches!(answer, Err(RegisterFailure::NoSuchRun { .. })));
        }
        assert_eq!(register.tags_of(run).expect("reads"), []);
    }
}
