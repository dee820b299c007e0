//! Whether what the register says of circuits, codes and letters is still what it was: a number is made from all that this depends on,
//! which takes far less than to read and compare it.

use rusqlite::types::ValueRef;

use super::failure::RegisterFailure;
use super::register::Register;
use super::tables::shapes;
use crate::base::Fingerprint;

/// Tables of which nothing tells how a circuit is found again.
const WITHOUT: [&str; 4] = ["decision", "sheet", "sheet_label", "sheet_mark"];

/// Journals that only grow: how long they are says what is in them.
const GROWING: [&str; 4] = ["print_run", "print_run_outcome", "printed_tag", "printed_connector_tag"];

/// Notes that tell where an end was found, and those of codes that were issued ahead of their circuit; most tell of other things.
const NOTES: &str = "
    SELECT number, code, letter, sort, step, words,
        EXISTS (SELECT 1 FROM note AS later WHERE later.supersedes = note.number)
    FROM note WHERE (sort = 'found' AND step = 'place') OR code IN (SELECT code FROM blank) ORDER BY number";

impl Register {
    /// As long as this stays the same, so does all that [`Register::look_ahead`], [`Register::records`], [`Register::codes`] and the like
    /// answer.
    ///
    /// # Errors
    /// When the register fails.
    pub fn codes_mark(&self) -> Result<Fingerprint, RegisterFailure> {
        let taken = || -> rusqlite::Result<Fingerprint> {
            let mut mark = Fingerprint::new();
            self.take(&mut mark, NOTES)?;
            for shape in shapes(&self.connection)? {
                let name = shape.name.as_str();
                match name {
                    "note" => {}
                    name if WITHOUT.contains(&name) => {}
                    name if GROWING.contains(&name) => {
                        self.take(&mut mark, &format!("SELECT count(*) FROM \"{name}\""))?;
                    }
                    name => self.take(&mut mark, &format!("SELECT * FROM \"{name}\""))?,
                }
            }
            Ok(mark)
        };
        taken().map_err(|error| RegisterFailure::from_database(&self.path, error))
    }

    /// Takes all values of all rows.
    fn take(&self, mark: &mut Fingerprint, sql: &str) -> rusqlite::Result<()> {
        let mut statement = self.connection.prepare_cached(sql)?;
        let columns = statement.column_count();
        let mut rows = statement.query([])?;
        while let Some(row) = rows.next()? {
            for column in 0..columns {
                match row.get_ref(column)? {
                    ValueRef::Null => mark.take(&[0]),
                    ValueRef::Integer(number) => mark.take(&number.to_le_bytes()),
                    ValueRef::Text(bytes) | ValueRef::Blob(bytes) => {
                        mark.take(bytes);
                        mark.take(&(bytes.len() as u64).to_le_bytes());
                    }
                    ValueRef::Real(number) => mark.take(&number.to_le_bytes()),
                }
            }
        }
        // Rows of one table are none of the next.
        mark.take(b"\n");
        Ok(())
    }
}
