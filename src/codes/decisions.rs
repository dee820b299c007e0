//! What somebody decides of ends beside the lists: their actions and remarks. A journal like that of notes: rows are added, one for
//! each end and each thing decided of it, and taking something back is a row too. What is decided in one go is one *act*.
//!
//! In the words of the register an action stands as an action column has it. Which end of the lists a decision is of is found as its
//! code is: [`Register::decided`].

use std::collections::{BTreeMap, HashMap, HashSet};
use std::str::FromStr;

use jiff::Timestamp;
use rusqlite::{Connection, OptionalExtension, Row, TransactionBehavior, params};

use super::assign;
use super::failure::RegisterFailure;
use super::register::Register;
use crate::base::{EndLetter, Place, TagCode};
use crate::circuits::{self, Action, Circuits, Edit, Says};

/// What shall be decided of an end.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Decision {
    /// The code of its circuit.
    pub code: TagCode,
    /// Its letter.
    pub letter: EndLetter,
    /// What is decided.
    pub matter: Matter,
}

/// What is decided of an end.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Matter {
    /// Its action; `None`: what the lists say.
    Action(Option<Action>),
    /// Its remark, in one line, empty where it shall have none; `None`: what the lists say.
    Note(Option<String>),
}

/// A decision of the register, or one that takes another back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Made {
    /// Its number: 1, 2, 3 …
    pub number: u32,
    /// The number of the act it was made in.
    pub act: u32,
    /// What it says. One that takes another back says nothing of its own.
    pub decision: Decision,
    /// The number of the decision that it takes back.
    pub undoes: Option<u32>,
    /// When it was made.
    pub when: Timestamp,
    /// The number of the one that takes it back.
    pub undone_by: Option<u32>,
}

/// What shall be taken back.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Undo {
    /// The last act that is not taken back yet.
    Last,
    /// What is left of this act.
    Act(u32),
    /// One decision.
    Number(u32),
}

/// All decisions of a register, in the order of their numbers.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Decisions {
    all: Vec<Made>,
}

/// Decisions under the ends that they are of.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct DecidedEnds {
    /// What counts of ends of the lists, in the order of the ends.
    pub edits: Vec<Edit>,
    /// What would count of ends that the lists do not have.
    pub without_end: Vec<WithoutEnd>,
}

/// A decision of an end that the lists do not have.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WithoutEnd {
    /// The decision.
    pub made: Made,
    /// Where the end was last.
    pub place: Place,
}

impl Decision {
    /// Its code and letter.
    pub const fn mark(&self) -> (TagCode, EndLetter) {
        (self.code, self.letter)
    }
}

impl Matter {
    /// Its word, as the register keeps it.
    pub const fn word(&self) -> &'static str {
        match self {
            Self::Action(_) => "action",
            Self::Note(_) => "note",
        }
    }

    /// What is decided, as the register keeps it: an action as an action column has it; `None` where the lists shall count.
    pub fn words(&self) -> Option<String> {
        match self {
            Self::Action(action) => action.as_ref().map(ToString::to_string),
            Self::Note(note) => note.clone(),
        }
    }

    fn from_words(word: &str, words: Option<String>) -> Option<Self> {
        match (word, words) {
            ("action", None) => Some(Self::Action(None)),
            ("action", Some(words)) => circuits::action(&words).ok().map(|action| Self::Action(Some(action))),
            ("note", words) => Some(Self::Note(words)),
            _ => None,
        }
    }

    /// The same matter, left to the lists.
    const fn as_listed(&self) -> Self {
        match self {
            Self::Action(_) => Self::Action(None),
            Self::Note(_) => Self::Note(None),
        }
    }

    fn says(&self) -> Option<Says> {
        match self {
            Self::Action(action) => action.clone().map(Says::Action),
            Self::Note(note) => note.clone().map(Says::Note),
        }
    }
}

impl Made {
    /// Whether it decides something and was not taken back. A later one may count all the same.
    pub const fn holds(&self) -> bool {
        self.undoes.is_none() && self.undone_by.is_none()
    }

    /// Its code and letter.
    pub const fn mark(&self) -> (TagCode, EndLetter) {
        self.decision.mark()
    }
}

impl Decisions {
    /// All of them, the first one first.
    pub fn all(&self) -> &[Made] {
        &self.all
    }

    /// The decision of this number.
    pub fn get(&self, number: u32) -> Option<&Made> {
        self.all.binary_search_by_key(&number, |made| made.number).ok().map(|at| &self.all[at])
    }

    /// Those that stand, by code, letter and matter: of each the last that holds, unless it leaves the end to the lists.
    pub fn standing(&self) -> Vec<&Made> {
        let mut last: BTreeMap<(TagCode, EndLetter, &'static str), &Made> = BTreeMap::new();
        for made in self.all.iter().filter(|made| made.holds()) {
            let (code, letter) = made.mark();
            last.insert((code, letter, made.decision.matter.word()), made);
        }
        last.into_values().filter(|made| made.decision.matter.words().is_some()).collect()
    }

    /// What was decided of ends by these codes and letters, and what was taken back, the first one first.
    pub fn of_end(&self, marks: &[(TagCode, EndLetter)]) -> Vec<&Made> {
        self.all.iter().filter(|made| marks.contains(&made.mark())).collect()
    }

    /// The last act of which something is not taken back, and which did not itself take something back.
    pub fn last_act(&self) -> Option<u32> {
        self.all.iter().rev().find(|made| made.holds()).map(|made| made.act)
    }
}

impl Register {
    /// Writes decisions down as one act, all of them or none; the number of the act, and their own in their order.
    ///
    /// # Errors
    /// When the register fails, or a code or letter was never issued here.
    pub fn decide(&mut self, decisions: &[Decision], now: Timestamp) -> Result<(u32, Vec<u32>), RegisterFailure> {
        let failed = |error| RegisterFailure::from_database(&self.path, error);
        let transaction = self.connection.transaction_with_behavior(TransactionBehavior::Immediate).map_err(failed)?;
        let act = next_act(&transaction).map_err(failed)?;
        let mut numbers = Vec::with_capacity(decisions.len());
        for decision in decisions {
            let (code, letter) = (decision.code, decision.letter);
            let is_issued = transaction
                .prepare_cached("SELECT 1 FROM letter WHERE code = ?1 AND letter = ?2")
                .and_then(|mut statement| statement.exists(params![code.as_str(), letter.ordinal()]))
                .map_err(failed)?;
            if !is_issued {
                return Err(RegisterFailure::NoSuchEnd { code, letter });
            }
            numbers.push(insert(&transaction, act, decision, None, now).map_err(failed)?);
        }
        transaction.commit().map_err(failed)?;
        Ok((act, numbers))
    }

    /// Takes decisions back, as an act of its own; those that are taken back, the first one first.
    ///
    /// # Errors
    /// When the register fails, there is no such decision or act, or nothing of it is left to be taken back.
    pub fn undo(&mut self, what: Undo, now: Timestamp) -> Result<Vec<Made>, RegisterFailure> {
        let failed = |error| RegisterFailure::from_database(&self.path, error);
        let transaction = self.connection.transaction_with_behavior(TransactionBehavior::Immediate).map_err(failed)?;
        let decisions = read(&transaction, &self.path)?;
        let undone: Vec<Made> = match what {
            Undo::Number(number) => match decisions.get(number) {
                None => return Err(RegisterFailure::NoSuchDecision { number }),
                Some(Made { undone_by: Some(by), .. }) => {
                    return Err(RegisterFailure::UndoneAlready { number, by: *by });
                }
                Some(Made { undoes: Some(of), .. }) => return Err(RegisterFailure::IsAnUndo { number, of: *of }),
                Some(made) => vec![made.clone()],
            },
            Undo::Last | Undo::Act(_) => {
                let act = if let Undo::Act(act) = what { Some(act) } else { decisions.last_act() };
                let left = decisions.all.iter().filter(|made| Some(made.act) == act && made.holds());
                left.cloned().collect()
            }
        };
        if undone.is_empty() {
            return Err(RegisterFailure::NothingToUndo);
        }
        let act = next_act(&transaction).map_err(failed)?;
        for made in &undone {
            let matter = made.decision.matter.as_listed();
            let decision = Decision { matter, ..made.decision.clone() };
            insert(&transaction, act, &decision, Some(made.number), now).map_err(failed)?;
        }
        transaction.commit().map_err(failed)?;
        Ok(undone)
    }

    /// All decisions.
    ///
    /// # Errors
    /// When the register fails, or holds one that is none.
    pub fn decisions(&self) -> Result<Decisions, RegisterFailure> {
        read(&self.connection, &self.path)
    }

    /// The decisions that count, under the ends of the lists that they are of: a code names its circuit and a letter its end as they
    /// would be found when tags are printed. Of two ends that proved to be one the later decision counts.
    ///
    /// # Errors
    /// As [`Register::preview`].
    pub fn decided(&self, circuits: &Circuits) -> Result<DecidedEnds, RegisterFailure> {
        let decisions = self.decisions()?;
        let holding: Vec<&Made> = decisions.all.iter().filter(|made| made.holds()).collect();
        if holding.is_empty() {
            return Ok(DecidedEnds::default());
        }
        let wanted: HashSet<(TagCode, EndLetter)> = holding.iter().map(|made| made.mark()).collect();
        let mut known = self.read(None)?;
        let (issued, _) = assign::assign(&mut known, circuits, Timestamp::UNIX_EPOCH)?;
        // Each code and letter that is decided of, with the end that it names: its printed code and letter, and where it was last.
        let mut ends: HashMap<(TagCode, EndLetter), ((TagCode, EndLetter), Place)> = HashMap::new();
        for circuit in &known.circuits {
            for end in &circuit.ends {
                for mark in end.marks.iter().filter(|mark| wanted.contains(mark)) {
                    let letter = circuit.letter(end).unwrap_or(mark.1);
                    ends.insert(*mark, ((circuit.printed(), letter), end.place.clone()));
                }
            }
        }
        let printed: HashSet<(TagCode, EndLetter)> = ends.values().map(|(mark, _)| *mark).collect();
        let codes: HashSet<TagCode> = printed.iter().map(|mark| mark.0).collect();
        let of_codes = issued.circuits.iter().enumerate().filter(|(_, circuit)| codes.contains(&circuit.code));
        let seats: HashMap<(TagCode, EndLetter), (usize, usize)> = of_codes
            .flat_map(|(at, circuit)| {
                circuit.letters.iter().enumerate().map(move |(end, &letter)| ((circuit.code, letter), (at, end)))
            })
            .collect();
        let mut counting: BTreeMap<((usize, usize), &'static str), &Made> = BTreeMap::new();
        let mut without: BTreeMap<(TagCode, EndLetter, &'static str), (&Made, Place)> = BTreeMap::new();
        for made in holding {
            let Some((mark, place)) = ends.get(&made.mark()) else { continue };
            let word = made.decision.matter.word();
            match seats.get(mark) {
                Some(&at) => _ = counting.insert((at, word), made),
                None => _ = without.insert((mark.0, mark.1, word), (made, place.clone())),
            }
        }
        let edits = counting.into_iter().filter_map(|((at, _), made)| {
            Some(Edit { at, number: made.number, when: made.when, says: made.decision.matter.says()? })
        });
        let without = without.into_values().filter(|(made, _)| made.decision.matter.words().is_some());
        Ok(DecidedEnds {
            edits: edits.collect(),
            without_end: without.map(|(made, place)| WithoutEnd { made: made.clone(), place }).collect(),
        })
    }
}

fn next_act(connection: &Connection) -> rusqlite::Result<u32> {
    connection.query_row("SELECT coalesce(max(act), 0) + 1 FROM decision", [], |row| row.get(0))
}

fn insert(
    connection: &Connection,
    act: u32,
    decision: &Decision,
    undoes: Option<u32>,
    now: Timestamp,
) -> rusqlite::Result<u32> {
    let Decision { code, letter, matter } = decision;
    connection
        .prepare_cached(
            "INSERT INTO decision (act, code, letter, matter, words, undoes, decided_at)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7) RETURNING number",
        )?
        .query_row(
            params![act, code.as_str(), letter.ordinal(), matter.word(), matter.words(), undoes, now.to_string()],
            |row| row.get(0),
        )
}

/// Whether anything was ever decided in a database, which may be of an older program.
pub(super) fn any(connection: &Connection) -> rusqlite::Result<bool> {
    let table = "SELECT 1 FROM sqlite_schema WHERE type = 'table' AND name = 'decision'";
    if connection.query_row(table, [], |_| Ok(())).optional()?.is_none() {
        return Ok(false);
    }
    connection.query_row("SELECT EXISTS (SELECT 1 FROM decision)", [], |row| row.get(0))
}

fn read(connection: &Connection, path: &std::path::Path) -> Result<Decisions, RegisterFailure> {
    let failed = |error| RegisterFailure::from_database(path, error);
    let sql = "SELECT number, act, code, letter, matter, words, undoes, decided_at FROM decision ORDER BY number";
    let mut statement = connection.prepare_cached(sql).map_err(failed)?;
    let mut rows = statement.query([]).map_err(failed)?;
    let mut all: Vec<Made> = Vec::new();
    let mut undone: HashMap<u32, u32> = HashMap::new();
    while let Some(row) = rows.next().map_err(failed)? {
        let made = made(row, path)?;
        if let Some(of) = made.undoes {
            undone.entry(of).or_insert(made.number);
        }
        all.push(made);
    }
    for made in &mut all {
        made.undone_by = undone.get(&made.number).copied();
    }
    Ok(Decisions { all })
}

fn made(row: &Row<'_>, path: &std::path::Path) -> Result<Made, RegisterFailure> {
    let failed = |error| RegisterFailure::from_database(path, error);
    let damaged = |what: String| RegisterFailure::Damaged { path: path.to_owned(), what };
    let text = |column: usize| row.get::<_, String>(column).map_err(failed);
    let number: u32 = row.get(0).map_err(failed)?;
    let code = TagCode::from_typed(&text(2)?).map_err(|error| damaged(error.to_string()))?;
    let letter = EndLetter::nth(row.get(3).map_err(failed)?);
    let (word, words) = (text(4)?, row.get::<_, Option<String>>(5).map_err(failed)?);
    let shown = words.clone().unwrap_or_default();
    let matter = Matter::from_words(&word, words)
        .ok_or_else(|| damaged(format!("decision {number} says `{word} {shown}`, which is none")))?;
    let when = Timestamp::from_str(&text(7)?).map_err(|error| damaged(error.to_string()))?;
    Ok(Made {
        number,
        act: row.get(1).map_err(failed)?,
        decision: Decision { code, letter, matter },
        undoes: row.get(6).map_err(failed)?,
        when,
        undone_by: None,
    })
}
