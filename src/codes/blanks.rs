//! Blanks: codes issued ahead of any circuit, on printed tags or in a list for a marker pen.
//!
//! They take their numbers from the same row as all codes. What they prove to be is told later, see `assigning`.

use std::str::FromStr;

use jiff::Timestamp;
use rusqlite::Row;

use super::assign::{Change, Known};
use super::assigning::{self, Again, Assigned, Target};
use super::failure::RegisterFailure;
use super::mint;
use super::print_run::RunNumber;
use super::register::Register;
use crate::base::{EndLetter, TagCode};

/// How a blank comes to a wire.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Way {
    /// On a printed tag.
    Printed,
    /// In a list, to be written by hand.
    Listed,
}

impl Way {
    /// Its word in the register.
    pub(super) const fn word(self) -> &'static str {
        match self {
            Self::Printed => "printed",
            Self::Listed => "listed",
        }
    }
}

/// A code that was issued ahead of any circuit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Blank {
    /// The code.
    pub code: TagCode,
    /// How it comes to a wire.
    pub way: Way,
    /// When it was issued.
    pub issued: Timestamp,
    /// The last run that printed its blank tag; `None` when none did, or the run failed.
    pub run: Option<BlankRun>,
    /// The colour of its wire as it was last noted.
    pub noted_colour: Option<String>,
    /// What it proved to be; `None` as long as nobody has told.
    pub assigned: Option<Assignment>,
}

/// A run that printed a blank tag.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BlankRun {
    /// Its number.
    pub number: RunNumber,
    /// When it was planned.
    pub planned: Timestamp,
    /// The word of the tag's kind.
    pub kind: String,
}

/// What a blank proved to be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Assignment {
    /// The circuit's designation at that time.
    pub designation: String,
    /// The end's place at that time; empty where only the circuit is known.
    pub place: String,
    /// A code and letter of the end, which name it for ever; `None` where only the circuit is known.
    pub end: Option<(TagCode, EndLetter)>,
    /// When it was told.
    pub when: Timestamp,
}

/// A blank as far as assigning it is concerned.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KnownBlank {
    /// The code.
    pub code: TagCode,
    /// A code and letter of the end that its tag hangs at.
    pub end: Option<(TagCode, EndLetter)>,
    /// Whether it is in somebody's hand: its blank tag was printed, or it stands in a list for a pen.
    pub is_out: bool,
    /// The last run that printed tags of a circuit with this code, not its blank tag.
    pub on_tags_of_run: Option<u32>,
    /// Whether it was joined with another code.
    pub is_joined: bool,
    /// Whether something was noted of an end by its code and a letter.
    pub has_noted_ends: bool,
}

/// How many blanks may be issued at once: so many lie on some twenty sheets.
pub const MOST: u32 = 500;

impl Register {
    /// Issues so many codes that belong to nothing yet, in one transaction.
    ///
    /// # Errors
    /// When the register fails or codes are used up; nothing is issued then.
    pub fn issue_blanks(&mut self, count: u32, way: Way, now: Timestamp) -> Result<Vec<TagCode>, RegisterFailure> {
        self.change(now, |known| issue(known, count, way))
    }

    /// Ties a blank to what it proved to be. The circuit goes on with its printed code and is named by the blank's as well;
    /// where it has none yet, the blank's becomes the printed one.
    ///
    /// # Errors
    /// When the code is no blank, is assigned already, or cannot be taken from its circuit any more; or the register fails.
    pub fn assign(
        &mut self,
        code: TagCode,
        target: &Target<'_>,
        again: Again,
        now: Timestamp,
    ) -> Result<Assigned, RegisterFailure> {
        self.change(now, |known| assigning::assign(known, code, target, again, now))
    }

    /// All blanks, assigned or not, in the order in which they were issued.
    ///
    /// # Errors
    /// When the register fails.
    pub fn blanks(&self) -> Result<Vec<Blank>, RegisterFailure> {
        let sql = "
            SELECT blank.code, way, blank.issued_at, tagged.run, tagged.planned_at,
                tagged.kind, designation, place, end_code, end_letter, assigned_at,
                (
                    SELECT words FROM note
                    WHERE note.code = blank.code AND letter IS NULL AND sort = 'found' AND step = 'colour'
                        AND number NOT IN (SELECT supersedes FROM note WHERE supersedes IS NOT NULL)
                    ORDER BY number DESC LIMIT 1
                )
            -- Crossed, the few blanks are gone through and not the many codes.
            FROM blank CROSS JOIN code ON code.code = blank.code
            LEFT JOIN (
                SELECT printed_tag.code AS code, max(print_run.number) AS run, planned_at, kind
                FROM printed_tag JOIN print_run ON print_run.number = printed_tag.run
                WHERE letters = '' AND place = ''
                    AND print_run.number NOT IN (SELECT run FROM print_run_outcome WHERE outcome = 'failed')
                GROUP BY printed_tag.code
            ) AS tagged ON tagged.code = blank.code
            LEFT JOIN (SELECT code, max(number) AS number FROM assignment GROUP BY code) AS last ON last.code = blank.code
            LEFT JOIN assignment ON assignment.number = last.number
            ORDER BY code.number";
        self.collect(sql, [], Self::blank)
    }

    fn blank(&self, row: &Row<'_>) -> Result<Blank, RegisterFailure> {
        let failed = |error| RegisterFailure::from_database(&self.path, error);
        let code = |text: String| TagCode::from_typed(&text).map_err(|error| self.damaged(error.to_string()));
        let time = |text: String| Timestamp::from_str(&text).map_err(|error| self.damaged(error.to_string()));
        let text = |column: usize| row.get::<_, Option<String>>(column).map_err(failed);
        let run = match (row.get::<_, Option<u32>>(3).map_err(failed)?, text(4)?, text(5)?) {
            (Some(number), Some(planned), Some(kind)) => {
                Some(BlankRun { number: RunNumber::new(number), planned: time(planned)?, kind })
            }
            _ => None,
        };
        let assigned = match (text(6)?, text(7)?, text(10)?) {
            (Some(designation), Some(place), Some(when)) => {
                let letter = row.get::<_, Option<u16>>(9).map_err(failed)?;
                let end = match (text(8)?, letter) {
                    (Some(end), Some(letter)) => Some((code(end)?, EndLetter::nth(letter))),
                    _ => None,
                };
                Some(Assignment { designation, place, end, when: time(when)? })
            }
            _ => None,
        };
        let way =
            if row.get::<_, String>(1).map_err(failed)? == Way::Printed.word() { Way::Printed } else { Way::Listed };
        Ok(Blank {
            code: code(row.get(0).map_err(failed)?)?,
            way,
            issued: time(row.get(2).map_err(failed)?)?,
            run,
            // A remark goes on in the next line.
            noted_colour: text(11)?.and_then(|words| words.lines().next().map(str::to_owned)),
            assigned,
        })
    }
}

/// The next codes of the row, as blanks.
fn issue(known: &mut Known, count: u32, way: Way) -> Result<(Vec<TagCode>, Vec<Change>), RegisterFailure> {
    let (mut codes, mut changes) = (Vec::new(), Vec::new());
    for number in known.next_number..known.next_number.saturating_add(count) {
        let code = mint::nth(number).ok_or(RegisterFailure::NoCodesLeft)?;
        codes.push(code);
        changes.push(Change::Blank { code, number, way });
    }
    Ok((codes, changes))
}
