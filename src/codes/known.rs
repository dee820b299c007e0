//! What the register knows, read from its tables and written back to them.

use std::collections::{HashMap, HashSet};
use std::path::Path;
use std::str::FromStr;

use jiff::Timestamp;
use rusqlite::{CachedStatement, Connection, params};

use super::assign::{Change, Known, KnownCircuit, KnownEnd, KnownName};
use super::blanks::KnownBlank;
use super::failure::RegisterFailure;
use super::mint;
use crate::base::{Cavity, CircuitId, ConnectorId, EndLetter, Place, TagCode};
use crate::circuits::Naming;

/// Reads all circuits, or the one with this key. Call it inside a transaction, so that all tables are of one moment.
pub fn read(connection: &Connection, path: &Path, only: Option<i64>) -> Result<Known, RegisterFailure> {
    Reading::new(connection, only).and_then(Reading::finish).map_err(|error| match error {
        Unreadable::Database(error) => RegisterFailure::from_database(path, error),
        Unreadable::Content(what) => RegisterFailure::Damaged { path: path.to_owned(), what },
    })
}

/// Why the tables could not be read.
enum Unreadable {
    /// The database says so.
    Database(rusqlite::Error),
    /// They hold what cannot be.
    Content(String),
}

impl From<rusqlite::Error> for Unreadable {
    fn from(error: rusqlite::Error) -> Self {
        Self::Database(error)
    }
}

/// Circuits while they are put together from the tables.
struct Reading<'a> {
    connection: &'a Connection,
    only: Option<i64>,
    /// Each with the number of its printed code.
    circuits: Vec<(u32, KnownCircuit)>,
    /// The key of a circuit, and where it is in `circuits`.
    at: HashMap<i64, usize>,
    /// How many letters of each code are used up.
    letters: HashMap<TagCode, u32>,
}

impl<'a> Reading<'a> {
    fn new(connection: &'a Connection, only: Option<i64>) -> Result<Self, Unreadable> {
        let mut reading = Self { connection, only, circuits: Vec::new(), at: HashMap::new(), letters: HashMap::new() };
        reading.codes()?;
        reading.names()?;
        reading.ends()?;
        reading.found_places()?;
        Ok(reading)
    }

    fn finish(mut self) -> Result<Known, Unreadable> {
        let next = |sql| self.connection.query_row(sql, [], |row| row.get::<_, i64>(0));
        let next_number = self.next_number()?;
        let next_circuit = next("SELECT coalesce(max(key) + 1, 1) FROM circuit")?;
        let next_end = next("SELECT coalesce(max(key) + 1, 1) FROM end_of_wire")?;
        self.circuits.sort_by_key(|(number, _)| *number);
        let blanks = if self.only.is_some() { Vec::new() } else { self.blanks()? };
        let on_tags = if blanks.is_empty() { HashSet::new() } else { self.on_tags()? };
        let mut circuits: Vec<KnownCircuit> = self.circuits.into_iter().map(|(_, circuit)| circuit).collect();
        for circuit in &mut circuits {
            circuit.letters = self.letters.get(&circuit.printed()).copied().unwrap_or(0);
        }
        Ok(Known { circuits, next_number, next_circuit, next_end, letters: self.letters, blanks, on_tags })
    }

    /// The number of the next code. Every code below it must be there, each under its own number: to go on behind a gap or
    /// from a wrong number would be to issue a code twice.
    fn next_number(&self) -> Result<u32, Unreadable> {
        if self.only.is_some() {
            return Ok(0);
        }
        let mut statement = self.connection.prepare_cached("SELECT number, code FROM code ORDER BY number")?;
        let mut rows = statement.query([])?;
        let mut next = 0;
        while let Some(row) = rows.next()? {
            let (number, code): (i64, String) = (row.get(0)?, row.get(1)?);
            if number != i64::from(next) {
                return Err(Unreadable::Content(format!("the code with number {next} is missing")));
            }
            if mint::nth(next).is_none_or(|nth| nth.as_str() != code) {
                let what = format!("code `{code}` stands under number {number}, which is not its own");
                return Err(Unreadable::Content(what));
            }
            next += 1;
        }
        Ok(next)
    }

    /// A statement whose `{of_circuit}` is the condition for what is to be read.
    fn statement(&self, sql: &str) -> rusqlite::Result<CachedStatement<'a>> {
        let of_circuit = if self.only.is_some() { "circuit = ?1" } else { "?1 IS NULL" };
        self.connection.prepare_cached(&sql.replace("{of_circuit}", of_circuit))
    }

    /// The circuit of this key; `None` for one that has lost its only code, because that was a blank's and had been assigned
    /// wrongly: it is as if it had never been.
    fn circuit(&mut self, key: i64) -> Option<&mut KnownCircuit> {
        let at = self.at.get(&key)?;
        Some(&mut self.circuits[*at].1)
    }

    fn codes(&mut self) -> Result<(), Unreadable> {
        let mut statement = self.statement(
            "SELECT circuit, code, number, issued_at FROM code WHERE circuit IS NOT NULL AND {of_circuit}
             ORDER BY standing = 'also', number",
        )?;
        let mut rows = statement.query([self.only])?;
        while let Some(row) = rows.next()? {
            let (key, number): (i64, u32) = (row.get(0)?, row.get(2)?);
            let code = code_of(&row.get::<_, String>(1)?)?;
            // To go on from a wrong number would be to issue a code twice.
            if mint::nth(number) != Some(code) {
                let what = format!("code `{code}` stands under number {number}, which is not its own");
                return Err(Unreadable::Content(what));
            }
            let issued = Timestamp::from_str(&row.get::<_, String>(3)?);
            let issued = issued.map_err(|error| Unreadable::Content(error.to_string()))?;
            match self.at.get(&key) {
                Some(&at) => self.circuits[at].1.codes.push(code),
                None => {
                    self.at.insert(key, self.circuits.len());
                    let (names, codes, ends) = (Vec::new(), vec![code], Vec::new());
                    self.circuits.push((number, KnownCircuit { key, names, codes, issued, ends, letters: 0 }));
                }
            }
        }
        Ok(())
    }

    fn names(&mut self) -> Result<(), Unreadable> {
        let mut statement = self.statement(
            "SELECT circuit, designation, naming, standing FROM designation WHERE {of_circuit}
             ORDER BY circuit, standing, naming DESC, designation",
        )?;
        let mut rows = statement.query([self.only])?;
        while let Some(row) = rows.next()? {
            let (text, naming, standing): (String, String, String) = (row.get(1)?, row.get(2)?, row.get(3)?);
            let id = CircuitId::from_cell(&text);
            let id = id.ok_or_else(|| Unreadable::Content("a designation is empty".to_owned()))?;
            let naming = if naming == NAMED_BY_PLACE { Naming::ByPlace } else { Naming::Designated };
            if let Some(circuit) = self.circuit(row.get(0)?) {
                circuit.names.push(KnownName { id, naming, is_current: standing == "current" });
            }
        }
        Ok(())
    }

    fn ends(&mut self) -> Result<(), Unreadable> {
        // The key of an end, its circuit, and where it is among the ends of that.
        let mut seats: HashMap<i64, (i64, usize)> = HashMap::new();
        let mut statement = self.statement(
            "SELECT circuit, key, connector, cavity, colour, far, ordinal FROM end_of_wire WHERE {of_circuit}
             ORDER BY key",
        )?;
        let mut rows = statement.query([self.only])?;
        while let Some(row) = rows.next()? {
            let (circuit, key): (i64, i64) = (row.get(0)?, row.get(1)?);
            let (connector, cavity): (String, String) = (row.get(2)?, row.get(3)?);
            let connector = ConnectorId::from_cell(&connector);
            let connector = connector.ok_or_else(|| Unreadable::Content("an end has no place".to_owned()))?;
            let place = Place::new(connector, Cavity::from_cell(&cavity));
            let (colour, far, ordinal) = (row.get(4)?, row.get(5)?, row.get(6)?);
            let end =
                KnownEnd { key, place, colour, far, ordinal, marks: Vec::new(), found_at: Vec::new(), since: None };
            if let Some(of_circuit) = self.circuit(circuit) {
                seats.insert(key, (circuit, of_circuit.ends.len()));
                of_circuit.ends.push(end);
            }
        }
        let mut statement = self.statement(
            "SELECT end_of_wire, letter.code, letter.letter, letter.issued_at FROM letter JOIN end_of_wire ON key = end_of_wire
             WHERE {of_circuit} ORDER BY letter.code, letter.letter",
        )?;
        let mut rows = statement.query([self.only])?;
        while let Some(row) = rows.next()? {
            let code = code_of(&row.get::<_, String>(1)?)?;
            let letter: u16 = row.get(2)?;
            let used = self.letters.entry(code).or_default();
            *used = (*used).max(u32::from(letter) + 1);
            // A code that was assigned wrongly left letters behind at ends that it does not name.
            if let Some(&(circuit, end)) = seats.get(&row.get(0)?)
                && let Some(circuit) = self.circuit(circuit).filter(|circuit| circuit.codes.contains(&code))
            {
                let issued = Timestamp::from_str(&row.get::<_, String>(3)?);
                let issued = issued.map_err(|error| Unreadable::Content(error.to_string()))?;
                let end = &mut circuit.ends[end];
                end.marks.push((code, EndLetter::nth(letter)));
                end.since = Some(end.since.map_or(issued, |since| since.min(issued)));
            }
        }
        Ok(())
    }
}

impl Reading<'_> {
    /// Codes on tags of ends, which hang on wires or may.
    fn on_tags(&self) -> Result<HashSet<TagCode>, Unreadable> {
        let mut statement = self.connection.prepare_cached(
            "SELECT DISTINCT code FROM printed_tag WHERE (letters <> '' OR place <> '')
                 AND run NOT IN (SELECT run FROM print_run_outcome WHERE outcome = 'failed')",
        )?;
        let mut rows = statement.query([])?;
        let mut codes = HashSet::new();
        while let Some(row) = rows.next()? {
            codes.insert(code_of(&row.get::<_, String>(0)?)?);
        }
        Ok(codes)
    }

    /// Where notes that stand say that ends were found. The note of a whole circuit is one of its only end.
    fn found_places(&mut self) -> Result<(), Unreadable> {
        let mut statement = self.connection.prepare_cached(
            "SELECT note.code, note.letter, words FROM note
             WHERE sort = 'found' AND step = 'place'
                 AND NOT EXISTS (SELECT 1 FROM note AS later WHERE later.supersedes = note.number)
             ORDER BY number",
        )?;
        let mut found: Vec<(TagCode, Option<EndLetter>, Place)> = Vec::new();
        let mut rows = statement.query([])?;
        while let Some(row) = rows.next()? {
            let words: String = row.get(2)?;
            if let Some(place) = Place::from_typed(words.lines().next().unwrap_or_default()) {
                let letter = row.get::<_, Option<u16>>(1)?.map(EndLetter::nth);
                found.push((code_of(&row.get::<_, String>(0)?)?, letter, place));
            }
        }
        if found.is_empty() {
            return Ok(());
        }
        let by_code: HashMap<TagCode, usize> = self
            .circuits
            .iter()
            .enumerate()
            .flat_map(|(at, (_, circuit))| circuit.codes.iter().map(move |code| (*code, at)))
            .collect();
        for (code, letter, place) in found {
            let Some(&at) = by_code.get(&code) else { continue };
            let ends = &mut self.circuits[at].1.ends;
            let end = match letter {
                Some(letter) => ends.iter_mut().find(|end| end.marks.contains(&(code, letter))),
                None if ends.len() == 1 => ends.first_mut(),
                None => None,
            };
            if let Some(end) = end {
                end.found_at.insert(0, place);
            }
        }
        Ok(())
    }

    fn blanks(&self) -> Result<Vec<KnownBlank>, Unreadable> {
        let mut statement = self.connection.prepare_cached(
            "SELECT blank.code, end_code, end_letter,
                 (SELECT max(run) FROM printed_tag WHERE code = blank.code AND (letters <> '' OR place <> '')),
                 EXISTS (SELECT 1 FROM joining WHERE blank.code IN (kept, other)),
                 EXISTS (SELECT 1 FROM note WHERE note.code = blank.code AND letter IS NOT NULL),
                 way = 'listed' OR EXISTS (
                     SELECT 1 FROM printed_tag WHERE code = blank.code AND letters = '' AND place = ''
                         AND run NOT IN (SELECT run FROM print_run_outcome WHERE outcome = 'failed')
                 )
             FROM blank CROSS JOIN code ON code.code = blank.code
             LEFT JOIN (SELECT code, max(number) AS number FROM assignment GROUP BY code) AS last ON last.code = blank.code
             LEFT JOIN assignment ON assignment.number = last.number
             ORDER BY code.number",
        )?;
        let mut rows = statement.query([])?;
        let mut blanks = Vec::new();
        while let Some(row) = rows.next()? {
            let end = match (row.get::<_, Option<String>>(1)?, row.get::<_, Option<u16>>(2)?) {
                (Some(code), Some(letter)) => Some((code_of(&code)?, EndLetter::nth(letter))),
                _ => None,
            };
            blanks.push(KnownBlank {
                code: code_of(&row.get::<_, String>(0)?)?,
                end,
                on_tags_of_run: row.get(3)?,
                is_joined: row.get(4)?,
                has_noted_ends: row.get(5)?,
                is_out: row.get(6)?,
            });
        }
        Ok(blanks)
    }
}

fn code_of(text: &str) -> Result<TagCode, Unreadable> {
    TagCode::from_typed(text).map_err(|error| Unreadable::Content(error.to_string()))
}

const NAMED_BY_LIST: &str = "designated";
const NAMED_BY_PLACE: &str = "by place";

/// Writes changes down, in their order.
pub fn write(connection: &Connection, changes: &[Change], now: Timestamp) -> rusqlite::Result<()> {
    let now = now.to_string();
    for change in changes {
        match change {
            Change::Circuit { key, code, number } => {
                connection.prepare_cached("INSERT INTO circuit (key) VALUES (?1)")?.execute([key])?;
                connection
                    .prepare_cached(
                        "INSERT INTO code (code, number, circuit, standing, issued_at) VALUES (?1, ?2, ?3, 'printed', ?4)",
                    )?
                    .execute(params![code.as_str(), number, key, now])?;
            }
            Change::Name { circuit, id, naming } => {
                let naming = match naming {
                    Naming::Designated => NAMED_BY_LIST,
                    Naming::ByPlace => NAMED_BY_PLACE,
                };
                connection
                    .prepare_cached(
                        "INSERT INTO designation (designation, circuit, naming, standing, since)
                         VALUES (?1, ?2, ?3, 'current', ?4)
                         ON CONFLICT (designation) DO UPDATE SET circuit = excluded.circuit, naming = excluded.naming,
                         standing = excluded.standing, since = excluded.since",
                    )?
                    .execute(params![id.as_str(), circuit, naming, now])?;
            }
            Change::FormerName { id } => {
                connection
                    .prepare_cached("UPDATE designation SET standing = 'former', since = ?2 WHERE designation = ?1")?
                    .execute(params![id.as_str(), now])?;
            }
            Change::End { circuit, end } => {
                let cavity = end.place.cavity.as_ref().map_or("", Cavity::as_str);
                connection
                    .prepare_cached(
                        "INSERT INTO end_of_wire (key, circuit, connector, cavity, colour, far, ordinal)
                         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
                    )?
                    .execute(params![
                        end.key,
                        circuit,
                        end.place.connector.as_str(),
                        cavity,
                        end.colour,
                        end.far,
                        end.ordinal
                    ])?;
            }
            Change::Corrected { end, colour, far, ordinal } => {
                connection
                    .prepare_cached("UPDATE end_of_wire SET colour = ?2, far = ?3, ordinal = ?4 WHERE key = ?1")?
                    .execute(params![end, colour, far, ordinal])?;
            }
            Change::Moved { end, place } => {
                let cavity = place.cavity.as_ref().map_or("", Cavity::as_str);
                connection
                    .prepare_cached("UPDATE end_of_wire SET connector = ?2, cavity = ?3 WHERE key = ?1")?
                    .execute(params![end, place.connector.as_str(), cavity])?;
            }
            Change::FoundAt { code, letter, place } => {
                connection
                    .prepare_cached(
                        "INSERT INTO note (code, letter, sort, step, words, noted_at)
                         VALUES (?1, ?2, 'found', 'place', ?3, ?4)",
                    )?
                    .execute(params![code.as_str(), letter.ordinal(), place.to_string(), now])?;
            }
            Change::Handed { end, circuit } => {
                connection
                    .prepare_cached("UPDATE end_of_wire SET circuit = ?2 WHERE key = ?1")?
                    .execute([end, circuit])?;
            }
            Change::SameEnd { end, proves } => {
                connection
                    .prepare_cached("UPDATE letter SET end_of_wire = ?2 WHERE end_of_wire = ?1")?
                    .execute([end, proves])?;
                connection.prepare_cached("DELETE FROM end_of_wire WHERE key = ?1")?.execute([end])?;
            }
            Change::Letter { code, letter, end } => {
                connection
                    .prepare_cached(
                        "INSERT INTO letter (code, letter, end_of_wire, issued_at) VALUES (?1, ?2, ?3, ?4)",
                    )?
                    .execute(params![code.as_str(), letter.ordinal(), end, now])?;
            }
            Change::Joined { kept, kept_code, other, other_code } => {
                for sql in [
                    "UPDATE code SET circuit = ?1, standing = 'also' WHERE circuit = ?2",
                    "UPDATE designation SET circuit = ?1 WHERE circuit = ?2",
                ] {
                    connection.prepare_cached(sql)?.execute([kept, other])?;
                }
                connection.prepare_cached("DELETE FROM circuit WHERE key = ?1")?.execute([other])?;
                connection
                    .prepare_cached("INSERT INTO joining (kept, other, joined_at) VALUES (?1, ?2, ?3)")?
                    .execute(params![kept_code.as_str(), other_code.as_str(), now])?;
            }
            Change::Blank { code, number, way } => {
                connection
                    .prepare_cached(
                        "INSERT INTO code (code, number, circuit, standing, issued_at) VALUES (?1, ?2, NULL, 'also', ?3)",
                    )?
                    .execute(params![code.as_str(), number, now])?;
                connection
                    .prepare_cached("INSERT INTO blank (code, way, issued_at) VALUES (?1, ?2, ?3)")?
                    .execute(params![code.as_str(), way.word(), now])?;
            }
            Change::CircuitOfBlank { key, code } => {
                connection.prepare_cached("INSERT INTO circuit (key) VALUES (?1)")?.execute([key])?;
                connection
                    .prepare_cached("UPDATE code SET circuit = ?2, standing = 'printed' WHERE code = ?1")?
                    .execute(params![code.as_str(), key])?;
            }
            Change::AlsoNames { code, circuit } => {
                connection
                    .prepare_cached("UPDATE code SET circuit = ?2, standing = 'also' WHERE code = ?1")?
                    .execute(params![code.as_str(), circuit])?;
            }
            Change::PrintedInstead { code, of } => {
                for (code, standing) in [(of, "also"), (code, "printed")] {
                    connection
                        .prepare_cached("UPDATE code SET standing = ?2 WHERE code = ?1")?
                        .execute([code.as_str(), standing])?;
                }
            }
            Change::Assigned { code, designation, place, end } => {
                let (end_code, letter) = end.map(|(code, letter)| (code, letter.ordinal())).unzip();
                let end_code = end_code.map(|code| code.as_str().to_owned());
                connection
                    .prepare_cached(
                        "INSERT INTO assignment (code, designation, place, end_code, end_letter, assigned_at)
                         VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
                    )?
                    .execute(params![code.as_str(), designation, place, end_code, letter, now])?;
            }
            Change::Renamed { code, former, designation } => {
                connection
                    .prepare_cached(
                        "INSERT INTO renaming (code, former, designation, renamed_at) VALUES (?1, ?2, ?3, ?4)",
                    )?
                    .execute(params![code.as_str(), former.as_str(), designation.as_str(), now])?;
            }
        }
    }
    Ok(())
}
