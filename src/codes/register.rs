//! The register: one SQLite file that knows every code and letter ever issued for a harness.
//!
//! Circuits come in; their codes and letters go out, the same ones whatever was inserted, sorted, removed or learnt in
//! between. One program writes at a time, others wait; any number may read. Everything of one call happens in one
//! transaction that is on the disk when the call returns, or not at all. How it is opened stands in `opening`.

use std::collections::HashSet;
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use rusqlite::{Connection, OptionalExtension, Transaction, TransactionBehavior};

use super::assign::{self, KnownCircuit};
use super::failure::RegisterFailure;
use super::issued::Issued;
use super::known;
use super::likely_renames::{self, LikelyRename};
use super::moves::{self, LikelyMove, Moved, NotMoved};
use super::nearest;
use super::rename::{self, Certainty, NotRenamed, Renamed};
use crate::base::{CircuitId, EndLetter, Place, TagCode};
use crate::circuits::{Circuits, Naming};

/// The register of one harness.
#[derive(Debug)]
pub struct Register {
    pub(super) connection: Connection,
    pub(super) path: PathBuf,
}

/// All that the register knows of one circuit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Record {
    /// Its designations: those of the lists first, natural order; more than one where joined circuits go by two names.
    pub designations: Vec<CircuitId>,
    /// Designations it had before.
    pub former: Vec<CircuitId>,
    /// Whether a list gave one of them; else it is known by a place, or was named when a blank was assigned.
    pub named_by_list: bool,
    /// The code that is printed.
    pub code: TagCode,
    /// Its other codes, which name it as well.
    pub also: Vec<TagCode>,
    /// Its ends, by letter.
    pub ends: Vec<RecordedEnd>,
    /// When the printed code was issued.
    pub issued: Timestamp,
}

/// All that the register knows of one end.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RecordedEnd {
    /// Its letter under the printed code.
    pub letter: EndLetter,
    /// Other codes and letters on tags that may hang there.
    pub also: Vec<(TagCode, EndLetter)>,
    /// Where it sits.
    pub place: Place,
    /// Its colour in the letters of IEC 60757 or as typed.
    pub colour: Option<String>,
    /// Tells ends with the same place and colour apart.
    pub ordinal: u16,
}

/// What the register has to say of lists.
#[derive(Clone, Debug)]
pub struct LookedAhead {
    /// The codes and letters that they would be issued.
    pub issued: Issued,
    /// All records, in the order in which their codes were issued.
    pub records: Vec<Record>,
    /// Circuits that they call by a designation new to the register, in the cavities of one that has left them.
    pub renames: Vec<LikelyRename>,
    /// Their ends that are likely known ones in another cavity.
    pub moves: Vec<LikelyMove>,
}

/// What came of joining two codes; the code is the one that is printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Joined {
    /// They are one record now.
    Now(TagCode),
    /// They were one record before.
    Already(TagCode),
}

/// A designation that a circuit was given.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Renaming {
    /// The circuit's code.
    pub code: TagCode,
    /// What it was called.
    pub former: CircuitId,
    /// What it is called.
    pub designation: CircuitId,
    /// When it was renamed.
    pub at: Timestamp,
}

impl Register {
    /// Gives every circuit its code and every end its letter: what is known keeps them, what is new gets the next ones, in
    /// natural order of the designations.
    ///
    /// # Errors
    /// When the register fails or codes are used up; nothing is issued then.
    pub fn issue(&mut self, circuits: &Circuits, now: Timestamp) -> Result<Issued, RegisterFailure> {
        self.change(now, |known| assign::assign(known, circuits, now))
    }

    /// What [`Register::issue`] would answer, issuing nothing.
    ///
    /// # Errors
    /// As [`Register::issue`].
    pub fn preview(&self, circuits: &Circuits) -> Result<Issued, RegisterFailure> {
        let mut known = self.read(None)?;
        Ok(assign::assign(&mut known, circuits, Timestamp::UNIX_EPOCH)?.0)
    }

    /// What [`Register::preview`], [`Register::records`], [`Register::likely_renames`] and [`Register::likely_moves`] answer, all from
    /// one reading.
    ///
    /// # Errors
    /// As [`Register::issue`].
    pub fn look_ahead(&self, circuits: &Circuits) -> Result<LookedAhead, RegisterFailure> {
        let known = self.read(None)?;
        let (issued, _) = assign::assign(&mut known.clone(), circuits, Timestamp::UNIX_EPOCH)?;
        let renames = match self.knows_all_designations(circuits)? {
            true => Vec::new(),
            false => likely_renames::likely_renames(&known, circuits),
        };
        let moves = moves::likely_moves_from(&known, circuits, &issued);
        let records = known.circuits.into_iter().map(Record::from).collect();
        Ok(LookedAhead { issued, records, renames, moves })
    }

    /// Circuits that the lists call by a designation new to the register, in the cavities of one that has left the lists.
    ///
    /// # Errors
    /// When the register fails.
    pub fn likely_renames(&self, circuits: &Circuits) -> Result<Vec<LikelyRename>, RegisterFailure> {
        if self.knows_all_designations(circuits)? {
            return Ok(Vec::new());
        }
        Ok(likely_renames::likely_renames(&self.read(None)?, circuits))
    }

    /// Whether there is no designation of a list that the register does not know, or no designation at all in it: quick, and
    /// mostly so.
    fn knows_all_designations(&self, circuits: &Circuits) -> Result<bool, RegisterFailure> {
        let failed = |error| failed(&self.path, error);
        let mut statement = self.connection.prepare_cached("SELECT designation FROM designation").map_err(failed)?;
        let names = statement.query_map([], |row| row.get::<_, String>(0)).map_err(failed)?;
        let names: HashSet<String> = names.collect::<Result<_, _>>().map_err(failed)?;
        let mut named = circuits.all().iter().filter(|circuit| circuit.naming() == Naming::Designated);
        Ok(names.is_empty() || named.all(|circuit| names.contains(circuit.id().as_str())))
    }

    /// Makes one record of two codes that prove to be one circuit. What is printed stays the code of the first; both name the
    /// record for ever.
    ///
    /// # Errors
    /// When one of them was never issued or is a blank that is not assigned yet, or the register fails.
    pub fn join(&mut self, keep: TagCode, other: TagCode, now: Timestamp) -> Result<Joined, RegisterFailure> {
        self.change(now, |known| {
            let holder = |code: TagCode| {
                let found = known.circuits.iter().position(|circuit| circuit.codes.contains(&code));
                found.ok_or_else(|| match known.blanks.iter().any(|blank| blank.code == code) {
                    true => RegisterFailure::Unassigned { code },
                    false => RegisterFailure::UnknownCode { code },
                })
            };
            let (keep, other) = (holder(keep)?, holder(other)?);
            let mut changes = Vec::new();
            let printed = known.circuits[keep].printed();
            if keep == other {
                return Ok((Joined::Already(printed), changes));
            }
            assign::join(known, keep, other, &mut changes)?;
            Ok((Joined::Now(printed), changes))
        })
    }

    /// Gives the circuit of a code another designation: what [`rename::rename`] answers.
    ///
    /// # Errors
    /// When the code was never issued, or the register fails.
    pub fn rename(
        &mut self,
        circuits: &Circuits,
        code: TagCode,
        names: (&CircuitId, &CircuitId),
        certainty: Certainty,
        now: Timestamp,
    ) -> Result<Result<Renamed, NotRenamed>, RegisterFailure> {
        self.change(now, |known| rename::rename(known, circuits, code, names, certainty))
    }

    /// Says that the end of a code and letter sits in another place than the lists said: what [`moves::move_end`] answers.
    ///
    /// # Errors
    /// When the code and letter were never issued, or the register fails.
    pub fn move_end(
        &mut self,
        circuits: &Circuits,
        mark: (TagCode, EndLetter),
        place: &Place,
        now: Timestamp,
    ) -> Result<Result<Moved, NotMoved>, RegisterFailure> {
        self.change(now, |known| moves::move_end(known, circuits, mark, place))
    }

    /// Ends of the lists that are likely known ones in another cavity.
    ///
    /// # Errors
    /// When the register fails.
    pub fn likely_moves(&self, circuits: &Circuits) -> Result<Vec<LikelyMove>, RegisterFailure> {
        moves::likely_moves(&self.read(None)?, circuits)
    }

    /// All designations that circuits were given by renaming, the first one first.
    ///
    /// # Errors
    /// When the register fails.
    pub fn renamings(&self) -> Result<Vec<Renaming>, RegisterFailure> {
        let failed = |error| failed(&self.path, error);
        let sql = "SELECT code, former, designation, renamed_at FROM renaming ORDER BY number";
        let mut statement = self.connection.prepare_cached(sql).map_err(failed)?;
        let mut rows = statement.query([]).map_err(failed)?;
        let mut renamings = Vec::new();
        while let Some(row) = rows.next().map_err(failed)? {
            let text = |column: usize| row.get::<_, String>(column).map_err(failed);
            let name = |text: String| {
                CircuitId::from_cell(&text).ok_or_else(|| self.damaged("a designation is empty".to_owned()))
            };
            let code = TagCode::from_typed(&text(0)?).map_err(|error| self.damaged(error.to_string()))?;
            let at = text(3)?.parse().map_err(|error: jiff::Error| self.damaged(error.to_string()))?;
            renamings.push(Renaming { code, former: name(text(1)?)?, designation: name(text(2)?)?, at });
        }
        Ok(renamings)
    }

    /// The record of a code, whether it is printed or an older one; `None` when it was never issued.
    ///
    /// # Errors
    /// When the register fails.
    pub fn find(&self, code: TagCode) -> Result<Option<Record>, RegisterFailure> {
        let circuit = self
            .connection
            .query_row("SELECT circuit FROM code WHERE code = ?1", [code.as_str()], |row| row.get::<_, Option<i64>>(0))
            .optional()
            .map_err(|error| failed(&self.path, error))?
            .flatten();
        let Some(circuit) = circuit else { return Ok(None) };
        Ok(self.read(Some(circuit))?.circuits.into_iter().next().map(Record::from))
    }

    /// All records, in the order in which their codes were issued.
    ///
    /// # Errors
    /// When the register fails.
    pub fn records(&self) -> Result<Vec<Record>, RegisterFailure> {
        Ok(self.read(None)?.circuits.into_iter().map(Record::from).collect())
    }

    /// All codes that were ever issued, in that order.
    ///
    /// # Errors
    /// When the register fails.
    pub fn codes(&self) -> Result<Vec<TagCode>, RegisterFailure> {
        let failed = |error| failed(&self.path, error);
        let mut statement = self.connection.prepare_cached("SELECT code FROM code ORDER BY number").map_err(failed)?;
        let texts = statement.query_map([], |row| row.get::<_, String>(0)).map_err(failed)?;
        let mut codes = Vec::new();
        for text in texts {
            let code = TagCode::from_typed(&text.map_err(failed)?);
            codes.push(code.map_err(|error| self.damaged(error.to_string()))?);
        }
        Ok(codes)
    }

    /// The issued codes nearest to a mistyped text, at most `most` of them, the nearest first.
    ///
    /// # Errors
    /// When the register fails.
    pub fn nearest(&self, typed: &str, most: usize) -> Result<Vec<TagCode>, RegisterFailure> {
        Ok(nearest::nearest(typed, self.codes()?, most))
    }

    /// Reads what is known, has it changed and writes that down, as one transaction that no other program comes between.
    pub(super) fn change<T>(
        &mut self,
        now: Timestamp,
        plan: impl FnOnce(&mut assign::Known) -> Result<(T, Vec<assign::Change>), RegisterFailure>,
    ) -> Result<T, RegisterFailure> {
        let failed = |error| failed(&self.path, error);
        let transaction = self.connection.transaction_with_behavior(TransactionBehavior::Immediate).map_err(failed)?;
        let mut known = known::read(&transaction, &self.path, None)?;
        let (answer, changes) = plan(&mut known)?;
        known::write(&transaction, &changes, now).map_err(failed)?;
        transaction.commit().map_err(failed)?;
        Ok(answer)
    }

    pub(super) fn read(&self, only: Option<i64>) -> Result<assign::Known, RegisterFailure> {
        let _moment = self.moment()?;
        known::read(&self.connection, &self.path, only)
    }

    /// While this is held, everything is read as it was at one moment; nothing where that is so already.
    pub(super) fn moment(&self) -> Result<Option<Transaction<'_>>, RegisterFailure> {
        let begun = self.connection.is_autocommit().then(|| self.connection.unchecked_transaction());
        begun.transpose().map_err(|error| failed(&self.path, error))
    }

    /// Reads several things as they were at one moment, whatever another program writes meanwhile.
    ///
    /// # Errors
    /// When the register fails, or what is read does.
    pub fn at_one_moment<T, E: From<RegisterFailure>>(&self, read: impl FnOnce() -> Result<T, E>) -> Result<T, E> {
        let _moment = self.moment()?;
        read()
    }

    /// A number that changes whenever another connection has written to the register since it was opened, and never else.
    ///
    /// # Errors
    /// When the register fails.
    pub fn version_seen(&self) -> Result<i64, RegisterFailure> {
        let answer = self.connection.query_row("PRAGMA data_version", [], |row| row.get(0));
        answer.map_err(|error| failed(&self.path, error))
    }

    /// Looks at everything there is, more than opening it does: pages and indices, which row speaks of which, codes and
    /// numbers.
    ///
    /// # Errors
    /// [`RegisterFailure::Damaged`] with what was found.
    pub fn examine(&self) -> Result<(), RegisterFailure> {
        let failed = |error| failed(&self.path, error);
        let answer = self.connection.query_row("PRAGMA integrity_check(1)", [], |row| row.get::<_, String>(0));
        match answer.map_err(failed)? {
            fine if fine == "ok" => {}
            what => return Err(self.damaged(what)),
        }
        let lost = self
            .connection
            .query_row("SELECT \"table\" FROM pragma_foreign_key_check", [], |row| row.get::<_, String>(0))
            .optional();
        if let Some(table) = lost.map_err(failed)? {
            return Err(self.damaged(format!("a row of `{table}` speaks of one that is not there")));
        }
        self.read(None).map(|_| ())
    }

    pub(super) fn damaged(&self, what: String) -> RegisterFailure {
        RegisterFailure::Damaged { path: self.path.clone(), what }
    }
}

pub(super) fn failed(path: &Path, error: rusqlite::Error) -> RegisterFailure {
    RegisterFailure::from_database(path, error)
}

impl From<KnownCircuit> for Record {
    fn from(known: KnownCircuit) -> Self {
        let code = known.printed();
        let names = |is_current: bool| {
            let names = known.names.iter().filter(move |name| name.is_current == is_current);
            let mut names: Vec<_> = names.map(|name| (name.naming as u8, name.id.clone())).collect();
            names.sort();
            names.into_iter().map(|(_, id)| id).collect::<Vec<_>>()
        };
        let (designations, former) = (names(true), names(false));
        let named_by_list = known.names.iter().any(|name| name.naming == Naming::Designated);
        let mut ends: Vec<RecordedEnd> = known
            .ends
            .into_iter()
            .map(|end| {
                let (printed, also): (Vec<_>, Vec<_>) = end.marks.into_iter().partition(|mark| mark.0 == code);
                let mut letters = printed.into_iter();
                let letter = letters.next().map_or(EndLetter::FIRST, |mark| mark.1);
                let also = letters.chain(also).collect();
                let colour = Some(end.colour).filter(|colour| !colour.is_empty());
                RecordedEnd { letter, also, place: end.place, colour, ordinal: end.ordinal }
            })
            .collect();
        ends.sort_by_key(|end| end.letter);
        Self { designations, former, named_by_list, code, also: known.codes[1..].to_vec(), ends, issued: known.issued }
    }
}
