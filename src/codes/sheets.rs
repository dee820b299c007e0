//! Sheets of labels: how far each is used, and what a person has told of them. A journal, like that of the print runs.
//!
//! A label counts as used from the run on that has it in a file, unless that run failed or its paper never went through the printer.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

use jiff::Timestamp;
use rusqlite::{Connection, TransactionBehavior, params};

use super::failure::RegisterFailure;
use super::print_run::RunNumber;
use super::register::Register;

/// The number in the margin of a sheet: 1, 2, 3 …
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct SheetNumber(u32);

impl SheetNumber {
    /// The first sheet of a job.
    pub const FIRST: Self = Self(1);

    /// A number as it is typed; there is no sheet 0.
    pub const fn new(number: u32) -> Option<Self> {
        if number == 0 { None } else { Some(Self(number)) }
    }

    /// The number itself.
    pub const fn get(self) -> u32 {
        self.0
    }

    /// The next one.
    #[must_use]
    pub const fn next(self) -> Self {
        Self(self.0.saturating_add(1))
    }
}

impl fmt::Display for SheetNumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// A sheet as far as it is used. Places count the labels from 1.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UsedSheet {
    /// Its number.
    pub number: SheetNumber,
    /// Name of its stock.
    pub stock: String,
    /// What is printed on it, the last printing of each place.
    pub labels: BTreeMap<u32, LabelUse>,
    /// Places whose labels are spoilt.
    pub spoilt: BTreeSet<u32>,
    /// Labels before this place were gone when the sheet was first laid in.
    pub begun_at: u32,
    /// The runs that went over it.
    pub runs: BTreeSet<RunNumber>,
    /// Whether it was thrown away or lost.
    pub is_gone: bool,
}

impl UsedSheet {
    /// A sheet on which nothing is printed yet; labels before the place are gone.
    pub fn new(number: SheetNumber, stock: String, begun_at: u32) -> Self {
        let (labels, spoilt, runs) = (BTreeMap::new(), BTreeSet::new(), BTreeSet::new());
        Self { number, stock, labels, spoilt, begun_at, runs, is_gone: false }
    }

    /// Whether the label of this place is gone, printed on or spoilt.
    pub fn is_taken(&self, place: u32) -> bool {
        place < self.begun_at || self.labels.contains_key(&place) || self.spoilt.contains(&place)
    }
}

/// What a run printed on a label.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LabelUse {
    /// The run.
    pub run: RunNumber,
    /// Name of the tag: `7KF4 A`.
    pub tag: String,
    /// Word of its kind.
    pub kind: String,
}

/// What a run prints on a sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SheetUse {
    /// The sheet.
    pub number: SheetNumber,
    /// Name of its stock.
    pub stock: String,
    /// Of a sheet that is new to the register: labels before this place were gone before, 1 where none was.
    pub begun_at: Option<u32>,
    /// The places, each with the name of the tag and the word of its kind.
    pub labels: Vec<(u32, String, String)>,
}

/// Whether what a person tells of a sheet holds from now on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Telling {
    /// It does.
    Holds,
    /// It was told in error, or is so no more.
    TakenBack,
}

/// What a person tells of a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SheetMark {
    /// The label at this place is spoilt.
    Spoilt(SheetNumber, u32),
    /// The sheet was thrown away or lost.
    Gone(SheetNumber),
    /// The paper of this run never went through the printer.
    Unprinted(RunNumber),
}

const SPOILT: &str = "spoilt";
const GONE: &str = "gone";
const UNPRINTED: &str = "unprinted";
const BEGUN: &str = "begun";

impl Register {
    /// All sheets that were ever begun, in the order of their numbers.
    ///
    /// # Errors
    /// When the register fails.
    pub fn sheets(&self) -> Result<Vec<UsedSheet>, RegisterFailure> {
        let failed = |error| RegisterFailure::from_database(&self.path, error);
        let _moment = self.moment()?;
        read(&self.connection).map_err(failed)
    }

    /// Writes down what a run prints on sheets, all of it or nothing, before its files are put in place.
    ///
    /// # Errors
    /// When the register fails, the run has ended, or another run has used one of the places meanwhile. A sheet on which nothing
    /// came to be printed is as good as new.
    pub fn use_sheets(&mut self, run: RunNumber, uses: &[SheetUse], now: Timestamp) -> Result<(), RegisterFailure> {
        let path = self.path.clone();
        let failed = |error| RegisterFailure::from_database(&path, error);
        self.in_open_run(run, |transaction| {
            let known = read(transaction).map_err(failed)?;
            for sheet in uses {
                let before = known.iter().find(|known| known.number == sheet.number);
                let is_as_known = match before {
                    None => sheet.begun_at.is_some(),
                    Some(before) => sheet.begun_at.is_none() || before.runs.is_empty(),
                };
                let is_taken = before.is_some_and(|before| {
                    before.is_gone
                        || before.stock != sheet.stock
                        || sheet.labels.iter().any(|(place, ..)| before.is_taken(*place))
                });
                if is_taken || !is_as_known {
                    return Err(RegisterFailure::SheetTaken { sheet: sheet.number.0 });
                }
                write(transaction, run, sheet, now).map_err(failed)?;
            }
            Ok(())
        })
    }

    /// Writes down what an earlier run printed on sheets, as that run recorded it.
    pub(super) fn learn_sheets(
        &mut self,
        run: RunNumber,
        uses: &[SheetUse],
        at: Timestamp,
    ) -> Result<(), RegisterFailure> {
        let path = self.path.clone();
        self.in_open_run(run, |transaction| {
            let learnt = uses.iter().try_for_each(|sheet| {
                let is_new =
                    !transaction.prepare_cached("SELECT 1 FROM sheet WHERE number = ?1")?.exists([sheet.number.0])?;
                let begun_at = sheet.begun_at.filter(|_| is_new);
                write(transaction, run, &SheetUse { begun_at, ..sheet.clone() }, at)
            });
            learnt.map_err(|error| RegisterFailure::from_database(&path, error))
        })
    }

    /// Writes down what a person tells of a sheet or takes back; `false` when it stood so already.
    ///
    /// # Errors
    /// When the register fails, or a run shall have been printed after all whose labels a later one has used.
    pub fn mark_sheet(&mut self, mark: SheetMark, telling: Telling, now: Timestamp) -> Result<bool, RegisterFailure> {
        let failed = |error| RegisterFailure::from_database(&self.path, error);
        let (word, sheet, place, run) = match mark {
            SheetMark::Spoilt(sheet, place) => (SPOILT, Some(sheet.0), Some(place), None),
            SheetMark::Gone(sheet) => (GONE, Some(sheet.0), None, None),
            SheetMark::Unprinted(run) => (UNPRINTED, None, None, Some(run.get())),
        };
        let transaction = self.connection.transaction_with_behavior(TransactionBehavior::Immediate).map_err(failed)?;
        let marked =
            marks(&transaction).map_err(failed)?.into_iter().any(|mark| mark == (word.to_owned(), sheet, place, run));
        let holds = telling == Telling::Holds;
        if marked == holds {
            return Ok(false);
        }
        if let (SheetMark::Unprinted(run), Telling::TakenBack) = (mark, telling)
            && let Some((sheet, since)) = used_since(&transaction, run).map_err(failed)?
        {
            return Err(RegisterFailure::LabelsUsedSince { run: run.get(), sheet: sheet.0, since: since.get() });
        }
        transaction
            .execute(
                "INSERT INTO sheet_mark (mark, holds, sheet, place, run, marked_at) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
                params![word, holds, sheet, place, run, now.to_string()],
            )
            .map_err(failed)?;
        transaction.commit().map_err(failed)?;
        Ok(true)
    }
}

fn write(connection: &Connection, run: RunNumber, sheet: &SheetUse, now: Timestamp) -> rusqlite::Result<()> {
    let number = sheet.number.0;
    if let Some(begun_at) = sheet.begun_at {
        connection
            .prepare_cached("INSERT INTO sheet (number, stock) VALUES (?1, ?2) ON CONFLICT DO NOTHING")?
            .execute(params![number, sheet.stock])?;
        if begun_at > 1 {
            connection
                .prepare_cached(
                    "INSERT INTO sheet_mark (mark, holds, sheet, place, run, marked_at) VALUES (?1, 1, ?2, ?3, NULL, ?4)",
                )?
                .execute(params![BEGUN, number, begun_at, now.to_string()])?;
        }
    }
    let mut insert = connection
        .prepare_cached("INSERT INTO sheet_label (sheet, place, run, tag, kind) VALUES (?1, ?2, ?3, ?4, ?5)")?;
    for (place, tag, kind) in &sheet.labels {
        insert.execute(params![number, place, run.get(), tag, kind])?;
    }
    Ok(())
}

/// Mark, sheet, place and run.
type Mark = (String, Option<u32>, Option<u32>, Option<u32>);

/// The marks that hold.
fn marks(connection: &Connection) -> rusqlite::Result<BTreeSet<Mark>> {
    let mut holding = BTreeSet::new();
    let mut statement =
        connection.prepare_cached("SELECT mark, sheet, place, run, holds FROM sheet_mark ORDER BY number")?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let mark = (row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?);
        if row.get(4)? {
            holding.insert(mark)
        } else {
            holding.remove(&mark)
        };
    }
    Ok(holding)
}

/// A sheet, and another run that has labels of it which were this run's.
fn used_since(connection: &Connection, run: RunNumber) -> rusqlite::Result<Option<(SheetNumber, RunNumber)>> {
    let mine: BTreeSet<(u32, u32)> = connection
        .prepare_cached("SELECT sheet, place FROM sheet_label WHERE run = ?1")?
        .query_map([run.get()], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<Result<_, _>>()?;
    let used = read(connection)?.into_iter().find_map(|sheet| {
        let shared = sheet.labels.iter().find(|(place, _)| mine.contains(&(sheet.number.0, **place)));
        shared.map(|(_, used)| (sheet.number, used.run))
    });
    Ok(used)
}

/// Call it inside a transaction, so that all is of one moment.
fn read(connection: &Connection) -> rusqlite::Result<Vec<UsedSheet>> {
    let marks = marks(connection)?;
    let mut sheets = BTreeMap::new();
    let mut statement = connection.prepare_cached("SELECT number, stock FROM sheet")?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let (number, stock) = (SheetNumber(row.get(0)?), row.get(1)?);
        sheets.insert(number, UsedSheet::new(number, stock, 1));
    }
    for (mark, sheet, place, _) in &marks {
        let Some(sheet) = sheet.and_then(|number| sheets.get_mut(&SheetNumber(number))) else { continue };
        match (mark.as_str(), place) {
            (SPOILT, Some(place)) => {
                sheet.spoilt.insert(*place);
            }
            (BEGUN, Some(place)) => sheet.begun_at = sheet.begun_at.max(*place),
            (GONE, _) => sheet.is_gone = true,
            _ => {}
        }
    }
    let unprinted: BTreeSet<u32> =
        marks.iter().filter(|(mark, ..)| mark == UNPRINTED).filter_map(|(_, _, _, run)| *run).collect();
    let mut statement = connection.prepare_cached(
        "SELECT sheet, place, run, tag, kind FROM sheet_label
         WHERE run NOT IN (SELECT run FROM print_run_outcome WHERE outcome = 'failed') ORDER BY sheet_label.number",
    )?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let run: u32 = row.get(2)?;
        let Some(sheet) = sheets.get_mut(&SheetNumber(row.get(0)?)) else { continue };
        if unprinted.contains(&run) {
            continue;
        }
        let run = RunNumber::of_record(run);
        sheet.runs.insert(run);
        sheet.labels.insert(row.get(1)?, LabelUse { run, tag: row.get(3)?, kind: row.get(4)? });
    }
    Ok(sheets.into_values().collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::codes::Outcome;

    const NOW: Timestamp = Timestamp::UNIX_EPOCH;

    fn uses(number: u32, begun_at: Option<u32>, places: &[u32]) -> SheetUse {
        let labels = places.iter().map(|place| (*place, format!("tag {place}"), "flag".to_owned())).collect();
        SheetUse { number: SheetNumber(number), stock: "a4-65-38x21".to_owned(), begun_at, labels }
    }

    fn run_on(register: &mut Register, sheet: &SheetUse) -> RunNumber {
        let run = register.begin_run(NOW, "tags").expect("begins");
        register.use_sheets(run, std::slice::from_ref(sheet), NOW).expect("free");
        register.end_run(run, Outcome::Done, NOW).expect("ends");
        run
    }

    #[test]
    fn a_place_is_used_once() {
        let mut register = Register::in_memory().expect("in memory");
        run_on(&mut register, &uses(1, Some(1), &[64, 65]));
        let run = register.begin_run(NOW, "tags").expect("begins");
        for taken in [uses(1, None, &[63, 64]), uses(1, Some(1), &[3]), uses(2, None, &[3])] {
            let refused = register.use_sheets(run, &[taken], NOW);
            assert!(matches!(refused, Err(RegisterFailure::SheetTaken { .. })), "{refused:?}");
        }
        register.use_sheets(run, &[uses(1, None, &[62, 63])], NOW).expect("free");
        let sheets = register.sheets().expect("reads");
        assert_eq!(sheets[0].labels.keys().copied().collect::<Vec<_>>(), [62, 63, 64, 65]);
        assert_eq!(sheets[0].runs.len(), 2);
    }

    #[test]
    fn what_failed_or_was_never_printed_is_free_again() {
        let mut register = Register::in_memory().expect("in memory");
        let run = run_on(&mut register, &uses(1, Some(10), &[65]));
        let failing = register.begin_run(NOW, "tags").expect("begins");
        register.use_sheets(failing, &[uses(1, None, &[64])], NOW).expect("free");
        register.end_run(failing, Outcome::Failed, NOW).expect("ends");
        let taken = |register: &Register| -> Vec<u32> {
            let sheet = register.sheets().expect("reads").remove(0);
            (1..=65).filter(|place| sheet.is_taken(*place)).collect()
        };
        let begun: Vec<u32> = (1..10).collect();
        assert_eq!(taken(&register), [&begun[..], &[65]].concat());
        assert!(register.mark_sheet(SheetMark::Unprinted(run), Telling::Holds, NOW).expect("marks"));
        assert!(!register.mark_sheet(SheetMark::Unprinted(run), Telling::Holds, NOW).expect("stands"));
        assert_eq!(taken(&register), begun);
        assert!(register.mark_sheet(SheetMark::Unprinted(run), Telling::TakenBack, NOW).expect("takes back"));
        assert!(register.mark_sheet(SheetMark::Spoilt(SheetNumber::FIRST, 20), Telling::Holds, NOW).expect("marks"));
        assert_eq!(taken(&register), [&begun[..], &[20, 65]].concat());
    }
}
