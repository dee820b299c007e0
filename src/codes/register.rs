//! The register: one SQLite file that knows every code and letter ever issued for a harness.
//!
//! Circuits come in; their codes and letters go out, the same ones whatever was inserted, sorted, removed or learnt in
//! between. One program writes at a time, others wait; any number may read. Everything of one call happens in one
//! transaction that is on the disk when the call returns, or not at all.

use std::collections::HashSet;
use std::path::{Path, PathBuf};
use std::time::Duration;

use jiff::Timestamp;
use rusqlite::{Connection, OpenFlags, OptionalExtension, Transaction, TransactionBehavior, ffi};

use super::assign::{self, KnownCircuit};
use super::decisions;
use super::failure::RegisterFailure;
use super::issued::Issued;
use super::known;
use super::likely_renames::{self, LikelyRename};
use super::moves::{self, LikelyMove, Moved, NotMoved};
use super::nearest;
use super::rename::{self, Certainty, NotRenamed, Renamed};
use super::schema::{self, Standing};
use super::tables;
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

/// How long to wait for another program that writes.
const WAIT: Duration = Duration::from_secs(20);

impl Register {
    /// Opens the register of a job, or makes an empty one where there is no file yet.
    ///
    /// # Errors
    /// When the file cannot be opened or written, is damaged, something else, or of a newer version; it is then unchanged.
    pub fn open(path: &Path) -> Result<Self, RegisterFailure> {
        Self::open_waiting(path, WAIT)
    }

    /// Opens the register only to read. Where there is no file yet none is made: an empty register is read. That of an older
    /// program is brought up to date first, or read as a copy where it may not be written to.
    ///
    /// # Errors
    /// When the file cannot be read, is damaged, something else, or of a newer version.
    pub fn open_to_read(path: &Path) -> Result<Self, RegisterFailure> {
        if !path.exists() {
            return Self::in_memory();
        }
        let (connection, standing) = looked_into(path)?;
        match standing {
            Standing::Empty => Self::in_memory(),
            Standing::Register(found) if found < schema::VERSION => Self::brought_up(connection, path, found),
            _ => {
                let register = Self { connection, path: path.to_owned() };
                register.check()?;
                Ok(register)
            }
        }
    }

    /// Whether anything was ever decided beside the lists in the register of a job: a quick look, which leaves a file that is not
    /// there or of an older program as it is.
    ///
    /// # Errors
    /// As [`Register::open_to_read`].
    pub fn has_decisions(path: &Path) -> Result<bool, RegisterFailure> {
        if !path.exists() {
            return Ok(false);
        }
        let (connection, _) = looked_into(path)?;
        decisions::any(&connection).map_err(|error| failed(path, error))
    }

    /// The register of an older program, to be read: brought up to date where it may be written to, else a copy in memory.
    fn brought_up(connection: Connection, path: &Path, found: i64) -> Result<Self, RegisterFailure> {
        match Self::open(path) {
            Err(RegisterFailure::ReadOnly { .. } | RegisterFailure::CannotOpen { .. }) => {
                Self::copied(&connection, path, found)
            }
            opened => opened,
        }
    }

    /// The register of an older program as a copy in memory, brought up to date.
    pub(super) fn copied(connection: &Connection, path: &Path, found: i64) -> Result<Self, RegisterFailure> {
        let transaction = connection.unchecked_transaction().map_err(|error| failed(path, error))?;
        let old = tables::read(&transaction, path)?;
        let copied = Connection::open_in_memory().and_then(|mut copy| {
            schema::migrate_to(&mut copy, found)?;
            copy.pragma_update(None, "foreign_keys", false)?;
            for table in &old {
                table.rows.iter().try_for_each(|row| tables::insert(&copy, &table.shape, row))?;
            }
            Self::of_memory(copy)
        });
        let mut register = copied.map_err(|error| failed(path, error))?;
        register.path = path.to_owned();
        register.check()?;
        Ok(register)
    }

    /// An empty register that is gone with the program.
    ///
    /// # Errors
    /// When there is no memory for it.
    pub fn in_memory() -> Result<Self, RegisterFailure> {
        let opened = Connection::open_in_memory().and_then(Self::of_memory);
        opened.map_err(|error| failed(Path::new(":memory:"), error))
    }

    /// A register of a database in memory, which is empty or holds the tables of this version or an older one.
    pub(super) fn of_memory(mut connection: Connection) -> rusqlite::Result<Self> {
        connection.pragma_update(None, "foreign_keys", true)?;
        schema::migrate(&mut connection)?;
        Ok(Self { connection, path: PathBuf::from(":memory:") })
    }

    pub(super) fn open_waiting(path: &Path, wait: Duration) -> Result<Self, RegisterFailure> {
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let connection = Connection::open_with_flags(path, flags).map_err(|error| failed(path, error))?;
        let (mut connection, standing) = match looked_at(connection, path, wait) {
            // What can be read like this is there, but not to be written.
            Err(RegisterFailure::CannotOpen { path, source }) if !has_log(&path) && unchanging(&path).is_ok() => {
                return Err(RegisterFailure::ReadOnly { path, source });
            }
            other => other?,
        };
        if connection.is_readonly("main").map_err(|error| failed(path, error))? {
            let source = rusqlite::Error::SqliteFailure(ffi::Error::new(ffi::SQLITE_READONLY), None);
            return Err(failed(path, source));
        }
        set_up(&mut connection, standing, wait).map_err(|error| failed(path, error))?;
        let register = Self { connection, path: path.to_owned() };
        register.check()?;
        Ok(register)
    }

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

    fn check(&self) -> Result<(), RegisterFailure> {
        let answer = self.connection.query_row("PRAGMA quick_check(1)", [], |row| row.get::<_, String>(0));
        match answer.map_err(|error| failed(&self.path, error))? {
            fine if fine == "ok" => Ok(()),
            what => Err(self.damaged(what)),
        }
    }

    pub(super) fn damaged(&self, what: String) -> RegisterFailure {
        RegisterFailure::Damaged { path: self.path.clone(), what }
    }
}

fn failed(path: &Path, error: rusqlite::Error) -> RegisterFailure {
    RegisterFailure::from_database(path, error)
}

/// A register that cannot change, because its medium is write-protected.
fn unchanging(path: &Path) -> Result<(Connection, Standing), RegisterFailure> {
    let address = format!("file:{}?immutable=1", encoded(&path.to_string_lossy()));
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX | OpenFlags::SQLITE_OPEN_URI;
    let connection = Connection::open_with_flags(address, flags);
    looked_at(connection.map_err(|error| failed(path, error))?, path, WAIT)
}

/// A register that is there, opened only to read; nothing of it is looked at but what it is.
fn looked_into(path: &Path) -> Result<(Connection, Standing), RegisterFailure> {
    // A connection that may not write leaves the files of the write-ahead log lying beside the register; this one takes
    // them away, and still changes nothing in it.
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let opened = Connection::open_with_flags(path, flags)
        .and_then(|connection| connection.pragma_update(None, "query_only", true).map(|()| connection))
        .map_err(|error| failed(path, error));
    match opened.and_then(|connection| looked_at(connection, path, WAIT)) {
        // Readers of a write-ahead log keep their place in a file beside it. Where none can be made, as on a medium
        // that is write-protected, and nothing is left in the log, the file cannot change either.
        Err(RegisterFailure::CannotOpen { .. } | RegisterFailure::ReadOnly { .. }) if !has_log(path) => {
            unchanging(path)
        }
        other => other,
    }
}

/// Whether a write-ahead log lies beside the register.
fn has_log(path: &Path) -> bool {
    let mut log = path.as_os_str().to_owned();
    log.push("-wal");
    Path::new(&log).exists()
}

/// A path as part of a `file:` address.
fn encoded(path: &str) -> String {
    path.replace('%', "%25").replace('?', "%3f").replace('#', "%23")
}

/// The connection, once it is known that the file is for us; nothing is written to it.
fn looked_at(connection: Connection, path: &Path, wait: Duration) -> Result<(Connection, Standing), RegisterFailure> {
    let standing = connection.busy_timeout(wait).and_then(|()| schema::standing(&connection));
    match standing.map_err(|error| failed(path, error))? {
        Standing::Foreign => Err(RegisterFailure::NotARegister { path: path.to_owned() }),
        Standing::Register(found) if found > schema::VERSION => {
            Err(RegisterFailure::Newer { path: path.to_owned(), found, known: schema::VERSION })
        }
        standing => Ok((connection, standing)),
    }
}

fn set_up(connection: &mut Connection, standing: Standing, wait: Duration) -> rusqlite::Result<()> {
    // A commit is on the disk when it is acknowledged: codes get printed right after.
    connection.pragma_update(None, "synchronous", "FULL")?;
    connection.pragma_update(None, "foreign_keys", true)?;
    if standing != Standing::Register(schema::VERSION) {
        schema::migrate(connection)?;
    }
    write_ahead(connection, wait)
}

/// Turns the write-ahead log on, so that readers need not wait. SQLite does not wait by itself when two programs do this to
/// a new file at once.
fn write_ahead(connection: &Connection, wait: Duration) -> rusqlite::Result<()> {
    const PAUSE: Duration = Duration::from_millis(10);
    let mut tries = wait.as_millis() / PAUSE.as_millis();
    loop {
        let answer = connection.pragma_update_and_check(None, "journal_mode", "WAL", |row| row.get::<_, String>(0));
        match answer {
            Err(error) if error.sqlite_error_code() == Some(rusqlite::ErrorCode::DatabaseBusy) && tries > 0 => {
                tries -= 1;
                std::thread::sleep(PAUSE);
            }
            other => return other.map(|_| ()),
        }
    }
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
