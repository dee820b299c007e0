//! The tables of the register, as an append-only list of migrations.
//!
//! `PRAGMA user_version` counts how many of them a file has been through. A migration that has been released is never
//! edited: the next change is one more entry.

use rusqlite::{Connection, TransactionBehavior};

/// Marks a database as a register of this program (`PRAGMA application_id`): the letters `LOOM`.
pub const APPLICATION_ID: i64 = 0x4c4f_4f4d;

/// Number of the newest version.
pub const VERSION: i64 = MIGRATIONS.len() as i64;

const MIGRATIONS: [&str; 4] = [CODES_AND_PRINT_RUNS, BENCH, SHEETS, DECISIONS];

/// Version 1. What has been on a tag is never deleted: triggers say so to every program that opens the file.
const CODES_AND_PRINT_RUNS: &str = "
-- A circuit as the register knows it. Its names and codes point here.
CREATE TABLE circuit (
    key INTEGER PRIMARY KEY
) STRICT;

-- Every code ever issued. `number` is the n of the n-th code: the next one is the highest plus one.
CREATE TABLE code (
    code TEXT PRIMARY KEY,
    number INTEGER NOT NULL UNIQUE,
    circuit INTEGER REFERENCES circuit (key),
    standing TEXT NOT NULL CHECK (standing IN ('printed', 'also')),
    issued_at TEXT NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX codes_of_a_circuit ON code (circuit);
CREATE UNIQUE INDEX one_printed_code ON code (circuit) WHERE standing = 'printed';

-- Designations, present and former, each of one circuit.
CREATE TABLE designation (
    designation TEXT PRIMARY KEY,
    circuit INTEGER NOT NULL REFERENCES circuit (key),
    naming TEXT NOT NULL CHECK (naming IN ('designated', 'by place')),
    standing TEXT NOT NULL CHECK (standing IN ('current', 'former')),
    since TEXT NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX designations_of_a_circuit ON designation (circuit);

-- Ends, known by place, colour, where their wire goes, and ordinal. No cavity, no colour and an unknown far place are empty
-- texts.
CREATE TABLE end_of_wire (
    key INTEGER PRIMARY KEY,
    circuit INTEGER NOT NULL REFERENCES circuit (key),
    connector TEXT NOT NULL,
    cavity TEXT NOT NULL,
    colour TEXT NOT NULL,
    far TEXT NOT NULL,
    ordinal INTEGER NOT NULL
) STRICT;
CREATE INDEX ends_of_a_circuit ON end_of_wire (circuit);

-- Every code and letter ever issued for an end; `letter` counts from 0 for A.
CREATE TABLE letter (
    code TEXT NOT NULL REFERENCES code (code),
    letter INTEGER NOT NULL,
    end_of_wire INTEGER NOT NULL REFERENCES end_of_wire (key),
    issued_at TEXT NOT NULL,
    PRIMARY KEY (code, letter)
) STRICT, WITHOUT ROWID;
CREATE INDEX letters_of_an_end ON letter (end_of_wire);

CREATE TABLE joining (
    number INTEGER PRIMARY KEY,
    kept TEXT NOT NULL REFERENCES code (code),
    other TEXT NOT NULL REFERENCES code (code),
    joined_at TEXT NOT NULL
) STRICT;

CREATE TABLE print_run (
    number INTEGER PRIMARY KEY,
    what TEXT NOT NULL,
    planned_at TEXT NOT NULL
) STRICT;

CREATE TABLE print_run_outcome (
    run INTEGER PRIMARY KEY REFERENCES print_run (number),
    outcome TEXT NOT NULL CHECK (outcome IN ('done', 'failed')),
    ended_at TEXT NOT NULL
) STRICT;

-- What each tag of a run said. `letters` as printed (`A+B`), `words` one line each, `payload` the text of its symbol.
CREATE TABLE printed_tag (
    number INTEGER PRIMARY KEY,
    run INTEGER NOT NULL REFERENCES print_run (number),
    code TEXT NOT NULL REFERENCES code (code),
    letters TEXT NOT NULL,
    place TEXT NOT NULL,
    kind TEXT NOT NULL,
    stock TEXT NOT NULL,
    words TEXT NOT NULL,
    payload TEXT
) STRICT;
CREATE INDEX tags_of_a_code ON printed_tag (code);
CREATE INDEX tags_of_a_run ON printed_tag (run);

CREATE TRIGGER a_code_is_for_ever BEFORE DELETE ON code
BEGIN SELECT RAISE(ABORT, 'a code is never deleted'); END;
CREATE TRIGGER a_code_stays_itself BEFORE UPDATE OF code, number, issued_at ON code
BEGIN SELECT RAISE(ABORT, 'a code is never changed'); END;
CREATE TRIGGER a_letter_is_for_ever BEFORE DELETE ON letter
BEGIN SELECT RAISE(ABORT, 'a letter is never deleted'); END;
CREATE TRIGGER a_letter_stays_itself BEFORE UPDATE OF code, letter, issued_at ON letter
BEGIN SELECT RAISE(ABORT, 'a letter is never changed'); END;
CREATE TRIGGER joinings_stay BEFORE DELETE ON joining
BEGIN SELECT RAISE(ABORT, 'the journal is never shortened'); END;
CREATE TRIGGER runs_stay BEFORE DELETE ON print_run
BEGIN SELECT RAISE(ABORT, 'the journal is never shortened'); END;
CREATE TRIGGER outcomes_stay BEFORE DELETE ON print_run_outcome
BEGIN SELECT RAISE(ABORT, 'the journal is never shortened'); END;
CREATE TRIGGER outcomes_stay_as_they_are BEFORE UPDATE ON print_run_outcome
BEGIN SELECT RAISE(ABORT, 'the journal is never changed'); END;
CREATE TRIGGER printed_tags_stay BEFORE DELETE ON printed_tag
BEGIN SELECT RAISE(ABORT, 'the journal is never shortened'); END;
CREATE TRIGGER printed_tags_stay_as_they_are BEFORE UPDATE ON printed_tag
BEGIN SELECT RAISE(ABORT, 'the journal is never changed'); END;
";

/// Version 2: what is noted at the bench, codes issued ahead of their circuit, former names, and what tags of connectors said.
/// All of it is a journal: rows are added, never changed.
const BENCH: &str = "
-- What was done or found at an end, or of a whole circuit when `letter` is NULL. `step` is the word of the work or of the
-- finding, empty where only `words` tell. A later note may supersede an earlier one; both stay. `other_code` and `other_letter`
-- name the second stub where a cut is undone.
CREATE TABLE note (
    number INTEGER PRIMARY KEY,
    code TEXT NOT NULL REFERENCES code (code),
    letter INTEGER,
    sort TEXT NOT NULL CHECK (sort IN ('done', 'undone', 'found', 'text')),
    step TEXT NOT NULL,
    words TEXT NOT NULL,
    other_code TEXT REFERENCES code (code),
    other_letter INTEGER,
    supersedes INTEGER REFERENCES note (number),
    noted_at TEXT NOT NULL
) STRICT;
CREATE INDEX notes_of_a_code ON note (code);

-- Codes issued ahead of any circuit, on printed tags or in a list for a marker pen. Until it is assigned, the circuit of such a
-- code is NULL; the row stays afterwards.
CREATE TABLE blank (
    code TEXT PRIMARY KEY REFERENCES code (code),
    way TEXT NOT NULL CHECK (way IN ('printed', 'listed')),
    issued_at TEXT NOT NULL
) STRICT, WITHOUT ROWID;

-- What a blank proved to be; the last row of a code counts. `place` is empty, and `end_code` and `end_letter` are NULL, where
-- only the circuit is known; else these two name the end for ever, whatever place it has later.
CREATE TABLE assignment (
    number INTEGER PRIMARY KEY,
    code TEXT NOT NULL REFERENCES blank (code),
    designation TEXT NOT NULL,
    place TEXT NOT NULL,
    end_code TEXT REFERENCES code (code),
    end_letter INTEGER,
    assigned_at TEXT NOT NULL
) STRICT;
CREATE INDEX assignments_of_a_code ON assignment (code);

CREATE TABLE renaming (
    number INTEGER PRIMARY KEY,
    code TEXT NOT NULL REFERENCES code (code),
    former TEXT NOT NULL,
    designation TEXT NOT NULL,
    renamed_at TEXT NOT NULL
) STRICT;

-- What the tags of connectors said, as `printed_tag` keeps it of those with a code.
CREATE TABLE printed_connector_tag (
    number INTEGER PRIMARY KEY,
    run INTEGER NOT NULL REFERENCES print_run (number),
    connector TEXT NOT NULL,
    kind TEXT NOT NULL,
    stock TEXT NOT NULL,
    words TEXT NOT NULL,
    payload TEXT
) STRICT;
CREATE INDEX tags_of_a_connector ON printed_connector_tag (connector);
CREATE INDEX connector_tags_of_a_run ON printed_connector_tag (run);

CREATE TRIGGER notes_stay BEFORE DELETE ON note
BEGIN SELECT RAISE(ABORT, 'the journal is never shortened'); END;
CREATE TRIGGER notes_stay_as_they_are BEFORE UPDATE ON note
BEGIN SELECT RAISE(ABORT, 'the journal is never changed'); END;
CREATE TRIGGER blanks_stay BEFORE DELETE ON blank
BEGIN SELECT RAISE(ABORT, 'the journal is never shortened'); END;
CREATE TRIGGER blanks_stay_as_they_are BEFORE UPDATE ON blank
BEGIN SELECT RAISE(ABORT, 'the journal is never changed'); END;
CREATE TRIGGER assignments_stay BEFORE DELETE ON assignment
BEGIN SELECT RAISE(ABORT, 'the journal is never shortened'); END;
CREATE TRIGGER assignments_stay_as_they_are BEFORE UPDATE ON assignment
BEGIN SELECT RAISE(ABORT, 'the journal is never changed'); END;
CREATE TRIGGER renamings_stay BEFORE DELETE ON renaming
BEGIN SELECT RAISE(ABORT, 'the journal is never shortened'); END;
CREATE TRIGGER renamings_stay_as_they_are BEFORE UPDATE ON renaming
BEGIN SELECT RAISE(ABORT, 'the journal is never changed'); END;
CREATE TRIGGER printed_connector_tags_stay BEFORE DELETE ON printed_connector_tag
BEGIN SELECT RAISE(ABORT, 'the journal is never shortened'); END;
CREATE TRIGGER printed_connector_tags_stay_as_they_are BEFORE UPDATE ON printed_connector_tag
BEGIN SELECT RAISE(ABORT, 'the journal is never changed'); END;
";

/// Version 3: sheets of labels and how far they are used.
const SHEETS: &str = "
-- A sheet of labels, by the number in its margin. `stock` is the name of its stock.
CREATE TABLE sheet (
    number INTEGER PRIMARY KEY,
    stock TEXT NOT NULL
) STRICT;

-- What each run printed on a sheet. `place` counts the labels from 1, slices of split labels each for itself; `tag` is the name of
-- the tag, `kind` the word of its kind.
CREATE TABLE sheet_label (
    number INTEGER PRIMARY KEY,
    sheet INTEGER NOT NULL REFERENCES sheet (number),
    place INTEGER NOT NULL,
    run INTEGER NOT NULL REFERENCES print_run (number),
    tag TEXT NOT NULL,
    kind TEXT NOT NULL
) STRICT;
CREATE INDEX labels_of_a_sheet ON sheet_label (sheet);
CREATE INDEX labels_of_a_run ON sheet_label (run);

-- What only a person can see: a label was spoilt, a sheet is gone, a run was never sent to the printer, or the labels before a place
-- were gone when the sheet was first laid in. `holds` is 0 where an earlier mark is taken back; the last of its sort counts.
CREATE TABLE sheet_mark (
    number INTEGER PRIMARY KEY,
    mark TEXT NOT NULL CHECK (mark IN ('spoilt', 'gone', 'unprinted', 'begun')),
    holds INTEGER NOT NULL CHECK (holds IN (0, 1)),
    sheet INTEGER REFERENCES sheet (number),
    place INTEGER,
    run INTEGER REFERENCES print_run (number),
    marked_at TEXT NOT NULL
) STRICT;
CREATE INDEX marks_of_a_sheet ON sheet_mark (sheet);

CREATE TRIGGER sheets_stay BEFORE DELETE ON sheet
BEGIN SELECT RAISE(ABORT, 'the journal is never shortened'); END;
CREATE TRIGGER sheets_stay_as_they_are BEFORE UPDATE ON sheet
BEGIN SELECT RAISE(ABORT, 'the journal is never changed'); END;
CREATE TRIGGER sheet_labels_stay BEFORE DELETE ON sheet_label
BEGIN SELECT RAISE(ABORT, 'the journal is never shortened'); END;
CREATE TRIGGER sheet_labels_stay_as_they_are BEFORE UPDATE ON sheet_label
BEGIN SELECT RAISE(ABORT, 'the journal is never changed'); END;
CREATE TRIGGER sheet_marks_stay BEFORE DELETE ON sheet_mark
BEGIN SELECT RAISE(ABORT, 'the journal is never shortened'); END;
CREATE TRIGGER sheet_marks_stay_as_they_are BEFORE UPDATE ON sheet_mark
BEGIN SELECT RAISE(ABORT, 'the journal is never changed'); END;
";

/// Version 4: what somebody decides of ends beside the lists.
const DECISIONS: &str = "
-- What was decided of an end, its action or its note, in words as a list would have them; NULL where the list shall count again.
-- Rows of one `act` were decided in one go. A row with `undoes` takes an earlier one back and says nothing else. Of one end and
-- matter the last row counts that is not taken back.
CREATE TABLE decision (
    number INTEGER PRIMARY KEY,
    act INTEGER NOT NULL,
    code TEXT NOT NULL,
    letter INTEGER NOT NULL,
    matter TEXT NOT NULL CHECK (matter IN ('action', 'note')),
    words TEXT,
    undoes INTEGER REFERENCES decision (number),
    decided_at TEXT NOT NULL,
    FOREIGN KEY (code, letter) REFERENCES letter (code, letter)
) STRICT;
CREATE INDEX decisions_of_a_code ON decision (code);
CREATE UNIQUE INDEX undone_once ON decision (undoes);

CREATE TRIGGER decisions_stay BEFORE DELETE ON decision
BEGIN SELECT RAISE(ABORT, 'the journal is never shortened'); END;
CREATE TRIGGER decisions_stay_as_they_are BEFORE UPDATE ON decision
BEGIN SELECT RAISE(ABORT, 'the journal is never changed'); END;
";

/// What a database file turns out to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Nothing in it yet.
    Empty,
    /// A register of this version, which may be older or newer than [`VERSION`].
    Register(i64),
    /// A database of something else.
    Foreign,
}

/// Looks at a database without changing it.
pub fn standing(connection: &Connection) -> rusqlite::Result<Standing> {
    // All of one moment: another program may be about to make the tables.
    let _moment = connection.unchecked_transaction()?;
    let pragma = |name| connection.pragma_query_value(None, name, |row| row.get::<_, i64>(0));
    let version = pragma("user_version")?;
    match pragma("application_id")? {
        APPLICATION_ID => Ok(Standing::Register(version)),
        0 if version == 0 && tables(connection)? == 0 => Ok(Standing::Empty),
        _ => Ok(Standing::Foreign),
    }
}

fn tables(connection: &Connection) -> rusqlite::Result<i64> {
    connection.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))
}

/// Brings an empty or older register up to [`VERSION`], in one exclusive transaction: whoever comes second finds it done.
pub fn migrate(connection: &mut Connection) -> rusqlite::Result<()> {
    migrate_to(connection, VERSION)
}

/// Brings a register up to this version, which an older program would have made; one that has it already stays.
pub fn migrate_to(connection: &mut Connection, wanted: i64) -> rusqlite::Result<()> {
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Exclusive)?;
    let version: i64 = transaction.pragma_query_value(None, "user_version", |row| row.get(0))?;
    let index = |version: i64| usize::try_from(version).unwrap_or(usize::MAX).min(MIGRATIONS.len());
    for migration in MIGRATIONS.get(index(version)..index(wanted)).unwrap_or_default() {
        transaction.execute_batch(migration)?;
    }
    if version < wanted {
        transaction.pragma_update(None, "user_version", wanted)?;
        transaction.pragma_update(None, "application_id", APPLICATION_ID)?;
    }
    transaction.commit()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_empty_database_is_brought_to_the_newest_version_once() {
        let mut connection = Connection::open_in_memory().expect("in memory");
        assert_eq!(standing(&connection), Ok(Standing::Empty));
        for _ in 0..2 {
            migrate(&mut connection).expect("migrates");
            assert_eq!(standing(&connection), Ok(Standing::Register(VERSION)));
        }
    }

    #[test]
    fn a_database_of_something_else_is_known() {
        let connection = Connection::open_in_memory().expect("in memory");
        connection.execute_batch("CREATE TABLE engine (hours INTEGER)").expect("creates");
        assert_eq!(standing(&connection), Ok(Standing::Foreign));
    }

    /// A released migration is never edited: registers made by it are out in the world.
    #[test]
    fn released_migrations_are_frozen() {
        let digest = |text: &str| {
            text.bytes().fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
                (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
            })
        };
        assert_eq!(
            MIGRATIONS.map(digest),
            [
                10_433_687_231_433_971_681,
                7_534_892_737_766_369_646,
                9_054_882_741_509_885_301,
                3_704_686_718_121_942_054
            ]
        );
    }

    #[test]
    fn what_was_issued_cannot_be_deleted_or_changed() {
        let mut connection = Connection::open_in_memory().expect("in memory");
        migrate(&mut connection).expect("migrates");
        connection
            .execute_batch(
                "INSERT INTO circuit VALUES (1);
                 INSERT INTO code VALUES ('FQGB', 0, 1, 'printed', 'then');
                 INSERT INTO end_of_wire VALUES (1, 1, 'J1', '14', '', '', 0);
                 INSERT INTO letter VALUES ('FQGB', 0, 1, 'then');
                 INSERT INTO print_run VALUES (1, 'tags', 'then');
                 INSERT INTO print_run_outcome VALUES (1, 'done', 'then');
                 INSERT INTO printed_tag VALUES (1, 1, 'FQGB', 'A', 'J1/14', 'flag', 'x', '', NULL);
                 INSERT INTO note VALUES (1, 'FQGB', 0, 'done', 'cut', '', NULL, NULL, NULL, 'then');
                 INSERT INTO blank VALUES ('FQGB', 'printed', 'then');
                 INSERT INTO assignment VALUES (1, 'FQGB', 'E14', 'J1/14', 'FQGB', 0, 'then');
                 INSERT INTO renaming VALUES (1, 'FQGB', 'E14', 'E15', 'then');
                 INSERT INTO printed_connector_tag VALUES (1, 1, 'J1', 'flag', 'x', '', NULL);
                 INSERT INTO sheet VALUES (1, 'x');
                 INSERT INTO sheet_label VALUES (1, 1, 65, 1, 'FQGB A', 'flag');
                 INSERT INTO sheet_mark VALUES (1, 'spoilt', 1, 1, 65, NULL, 'then');
                 INSERT INTO decision VALUES (1, 1, 'FQGB', 0, 'action', 'cut', NULL, 'then');",
            )
            .expect("inserts");
        for forbidden in [
            "DELETE FROM code",
            "UPDATE code SET number = 7",
            "DELETE FROM letter",
            "UPDATE letter SET letter = 7",
            "DELETE FROM print_run",
            "DELETE FROM print_run_outcome",
            "UPDATE print_run_outcome SET outcome = 'failed'",
            "DELETE FROM printed_tag",
            "UPDATE printed_tag SET place = 'J2'",
            "DELETE FROM note",
            "UPDATE note SET step = 'pulled'",
            "DELETE FROM blank",
            "UPDATE blank SET way = 'listed'",
            "DELETE FROM assignment",
            "UPDATE assignment SET place = ''",
            "DELETE FROM renaming",
            "UPDATE renaming SET former = ''",
            "DELETE FROM printed_connector_tag",
            "UPDATE printed_connector_tag SET words = ''",
            "DELETE FROM sheet",
            "UPDATE sheet SET stock = 'y'",
            "DELETE FROM sheet_label",
            "UPDATE sheet_label SET place = 1",
            "DELETE FROM sheet_mark",
            "UPDATE sheet_mark SET holds = 0",
            "DELETE FROM decision",
            "UPDATE decision SET words = 'keep'",
        ] {
            assert!(connection.execute_batch(forbidden).is_err(), "{forbidden}");
        }
    }
}
