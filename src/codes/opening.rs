//! Opening a register: what the file is comes first, nothing is written to one that is not ours; older ones are brought up to date.

use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::{Connection, OpenFlags, ffi};

use super::decisions;
use super::failure::RegisterFailure;
use super::register::{Register, failed};
use super::schema::{self, Standing};
use super::tables;

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

    fn check(&self) -> Result<(), RegisterFailure> {
        let answer = self.connection.query_row("PRAGMA quick_check(1)", [], |row| row.get::<_, String>(0));
        match answer.map_err(|error| failed(&self.path, error))? {
            fine if fine == "ok" => Ok(()),
            what => Err(self.damaged(what)),
        }
    }
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

/// A register that cannot change, because its medium is write-protected.
fn unchanging(path: &Path) -> Result<(Connection, Standing), RegisterFailure> {
    let address = format!("file:{}?immutable=1", encoded(&path.to_string_lossy()));
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX | OpenFlags::SQLITE_OPEN_URI;
    let connection = Connection::open_with_flags(address, flags);
    looked_at(connection.map_err(|error| failed(path, error))?, path, WAIT)
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
