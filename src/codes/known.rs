//! What the register knows, read from its tables and written back to them.

use std::collections::HashMap;
use std::path::Path;
use std::str::FromStr;

use jiff::Timestamp;
use rusqlite::{Connection, params};

use super::assign::{Change, Known, KnownCircuit, KnownEnd, KnownName};
use super::failure::RegisterFailure;
use super::mint;
use crate::base::{Cavity, CircuitId, ConnectorId, EndLetter, Place, TagCode};
use crate::circuits::Naming;

/// Reads all circuits, or the one with this key. Call it inside a transaction, so that all tables are of one moment.
pub fn read(connection: &Connection, path: &Path, only: Option<i64>) -> Result<Known, RegisterFailure> {
    let failed = |error| RegisterFailure::from_database(path, error);
    let damaged = |what: String| RegisterFailure::Damaged { path: path.to_owned(), what };
    let mut circuits: Vec<(u32, KnownCircuit)> = Vec::new();
    let mut at: HashMap<i64, usize> = HashMap::new();
    let of_circuit = if only.is_some() { "circuit = ?1" } else { "?1 IS NULL" };

    let mut statement = connection
        .prepare_cached(&format!(
            "SELECT circuit, code, number, issued_at FROM code WHERE circuit IS NOT NULL AND {of_circuit}
             ORDER BY standing = 'also', number"
        ))
        .map_err(failed)?;
    let mut rows = statement.query([only]).map_err(failed)?;
    while let Some(row) = rows.next().map_err(failed)? {
        let key: i64 = row.get(0).map_err(failed)?;
        let text: String = row.get(1).map_err(failed)?;
        let number: u32 = row.get(2).map_err(failed)?;
        let issued: String = row.get(3).map_err(failed)?;
        let code = TagCode::from_typed(&text).map_err(|error| damaged(error.to_string()))?;
        if mint::nth(number) != Some(code) {
            return Err(damaged(format!("code `{code}` stands under number {number}, which is not its own")));
        }
        let issued = Timestamp::from_str(&issued).map_err(|error| damaged(error.to_string()))?;
        match at.get(&key) {
            Some(&at) => circuits[at].1.codes.push(code),
            None => {
                at.insert(key, circuits.len());
                let (names, codes, ends) = (Vec::new(), vec![code], Vec::new());
                circuits.push((number, KnownCircuit { key, names, codes, issued, ends, letters: 0 }));
            }
        }
    }

    let mut statement = connection
        .prepare_cached(&format!(
            "SELECT circuit, designation, naming, standing FROM designation WHERE {of_circuit}
             ORDER BY circuit, standing, naming DESC, designation"
        ))
        .map_err(failed)?;
    let mut rows = statement.query([only]).map_err(failed)?;
    while let Some(row) = rows.next().map_err(failed)? {
        let key: i64 = row.get(0).map_err(failed)?;
        let text: String = row.get(1).map_err(failed)?;
        let naming: String = row.get(2).map_err(failed)?;
        let standing: String = row.get(3).map_err(failed)?;
        let id = CircuitId::from_cell(&text).ok_or_else(|| damaged("an empty designation".to_owned()))?;
        let naming = if naming == NAMED_BY_PLACE { Naming::ByPlace } else { Naming::Designated };
        let at = *at.get(&key).ok_or_else(|| damaged(format!("circuit `{id}` has no code")))?;
        circuits[at].1.names.push(KnownName { id, naming, is_current: standing == "current" });
    }

    let mut seats: HashMap<i64, (usize, usize)> = HashMap::new();
    let mut statement = connection
        .prepare_cached(&format!(
            "SELECT circuit, key, connector, cavity, colour, ordinal FROM end_of_wire
             WHERE {of_circuit} ORDER BY key"
        ))
        .map_err(failed)?;
    let mut rows = statement.query([only]).map_err(failed)?;
    while let Some(row) = rows.next().map_err(failed)? {
        let circuit: i64 = row.get(0).map_err(failed)?;
        let key: i64 = row.get(1).map_err(failed)?;
        let connector: String = row.get(2).map_err(failed)?;
        let cavity: String = row.get(3).map_err(failed)?;
        let connector =
            ConnectorId::from_cell(&connector).ok_or_else(|| damaged("an end without a place".to_owned()))?;
        let place = Place::new(connector, Cavity::from_cell(&cavity));
        let colour: String = row.get(4).map_err(failed)?;
        let ordinal: u16 = row.get(5).map_err(failed)?;
        let at = *at.get(&circuit).ok_or_else(|| damaged(format!("the end at {place} has no circuit")))?;
        seats.insert(key, (at, circuits[at].1.ends.len()));
        circuits[at].1.ends.push(KnownEnd { key, place, colour, ordinal, marks: Vec::new() });
    }

    let mut statement = connection
        .prepare_cached(&format!(
            "SELECT end_of_wire, letter.code, letter.letter FROM letter JOIN end_of_wire ON key = end_of_wire
             WHERE {of_circuit} ORDER BY letter.code, letter.letter"
        ))
        .map_err(failed)?;
    let mut rows = statement.query([only]).map_err(failed)?;
    while let Some(row) = rows.next().map_err(failed)? {
        let end: i64 = row.get(0).map_err(failed)?;
        let code: String = row.get(1).map_err(failed)?;
        let letter: u16 = row.get(2).map_err(failed)?;
        let code = TagCode::from_typed(&code).map_err(|error| damaged(error.to_string()))?;
        let (at, end) = *seats.get(&end).ok_or_else(|| damaged(format!("a letter of `{code}` has no end")))?;
        let circuit = &mut circuits[at].1;
        circuit.ends[end].marks.push((code, EndLetter::nth(letter)));
        if code == circuit.printed() {
            circuit.letters = circuit.letters.max(u32::from(letter) + 1);
        }
    }

    let next = |sql| connection.query_row(sql, [], |row| row.get::<_, i64>(0)).map_err(failed);
    let next_number = next("SELECT coalesce(max(number) + 1, 0) FROM code")?;
    circuits.sort_by_key(|(number, _)| *number);
    Ok(Known {
        circuits: circuits.into_iter().map(|(_, circuit)| circuit).collect(),
        next_number: u32::try_from(next_number).map_err(|_| RegisterFailure::NoCodesLeft)?,
        next_circuit: next("SELECT coalesce(max(key) + 1, 1) FROM circuit")?,
        next_end: next("SELECT coalesce(max(key) + 1, 1) FROM end_of_wire")?,
    })
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
                        "INSERT INTO end_of_wire (key, circuit, connector, cavity, colour, ordinal)
                         VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
                    )?
                    .execute(params![
                        end.key,
                        circuit,
                        end.place.connector.as_str(),
                        cavity,
                        end.colour,
                        end.ordinal
                    ])?;
            }
            Change::Corrected { end, colour, ordinal } => {
                connection
                    .prepare_cached("UPDATE end_of_wire SET colour = ?2, ordinal = ?3 WHERE key = ?1")?
                    .execute(params![end, colour, ordinal])?;
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
        }
    }
    Ok(())
}
