//! Which tags a run makes: by purpose, by reach, and narrowed to codes, places or connectors.

use super::recall::{By, EndRecord, Recall, Record};
use crate::base::{ConnectorId, EndLetter, Place, Purpose, TagCode};
use crate::circuits::Circuits;
use crate::codes::Issued;
use crate::labels::{self, Doubled, Reach, Selected};

/// What to narrow a run to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Only {
    /// One circuit by its code, or one of its ends.
    Code(TagCode, Option<EndLetter>),
    /// One place.
    Place(Place),
    /// All places of a connector.
    Connector(ConnectorId),
}

/// Which tags a run makes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Choice {
    /// Work tags, final tags, or both, in the order they are made.
    pub purposes: Vec<Purpose>,
    /// How far the selection reaches.
    pub reach: Reach,
    /// How many tags the wires of a doubled cavity get.
    pub doubled: Doubled,
    /// What it is narrowed to; nothing: all. A tag is made when it matches one of these.
    pub only: Vec<Only>,
}

impl Default for Choice {
    fn default() -> Self {
        Self {
            purposes: vec![Purpose::Work, Purpose::Final],
            reach: Reach::Needed,
            doubled: Doubled::Together,
            only: Vec::new(),
        }
    }
}

impl Choice {
    /// The tags of one purpose, in working order.
    pub fn select(&self, circuits: &Circuits, issued: &Issued, purpose: Purpose) -> Vec<Selected> {
        let mut selected = labels::select(circuits, purpose, self.reach, self.doubled);
        if !self.only.is_empty() {
            selected.retain(|tag| self.only.iter().any(|only| only.matches(circuits, issued, tag)));
        }
        selected
    }
}

impl Only {
    fn matches(&self, circuits: &Circuits, issued: &Issued, tag: &Selected) -> bool {
        let codes = &issued.circuits[tag.circuit];
        let ends = circuits.all()[tag.circuit].ends();
        match self {
            Self::Code(code, letter) => {
                let is_code = codes.code == *code || codes.also.contains(code);
                is_code && letter.is_none_or(|letter| tag.ends.clone().any(|end| codes.letters[end] == letter))
            }
            Self::Place(place) => tag.ends.clone().any(|end| ends[end].place == *place),
            Self::Connector(connector) => tag.ends.clone().any(|end| ends[end].place.connector == *connector),
        }
    }
}

/// What a typed word names.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Named {
    /// What to narrow a run to.
    pub only: Only,
    /// The ends that are meant, which the lists have.
    ends: Vec<NamedEnd>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
struct NamedEnd {
    place: String,
    action: String,
    comes_free: bool,
}

/// Why a typed word names nothing that can be printed.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotNamed {
    /// It is no place of the lists and no code of the register.
    #[error("`{0}` is neither a code nor a place of this job")]
    Unknown(String),
    /// The code has no such end.
    #[error("{0}")]
    NoSuchEnd(String),
    /// Only the register still knows it.
    #[error("{0} is no longer in the lists: bring its row back to print its tag")]
    Gone(String),
}

impl Named {
    /// What a typed word names: a place as the lists write it (case does not matter where no two places differ by it alone),
    /// or a code of the register, perhaps with a letter.
    ///
    /// # Errors
    /// When it names nothing that the lists have.
    pub fn from_typed(typed: &str, circuits: &Circuits, recall: &Recall) -> Result<Self, NotNamed> {
        if let Some(place) = place_of(circuits, typed) {
            let ends = circuits.all().iter().flat_map(|circuit| circuit.ends()).filter(|end| end.place == place);
            let ends = ends.map(|end| NamedEnd {
                place: end.place.to_string(),
                action: end.action.to_string(),
                comes_free: end.action.frees_the_end(),
            });
            return Ok(Self { ends: ends.collect(), only: Only::Place(place) });
        }
        let Ok((code, letter)) = TagCode::from_typed_with_letter(typed) else { return Err(gone_place(typed, recall)) };
        let Some(found) = recall.by_code(code, letter) else { return Err(gone_place(typed, recall)) };
        if let Some(no_such_end) = found.doubt {
            return Err(NotNamed::NoSuchEnd(no_such_end));
        }
        let all = || found.ends.iter().map(|&end| &found.record.ends[end]);
        let listed: Vec<&EndRecord> = all().filter(|end| end.listed).collect();
        // A joined code may letter its ends otherwise than the one that is printed.
        let printed = found.record.code.as_deref().and_then(|code| TagCode::from_typed(code).ok()).unwrap_or(code);
        let printed_letter = listed.first().and_then(|end| end.letter.as_deref()).and_then(EndLetter::from_typed);
        let only = match (letter, printed_letter) {
            (Some(_), Some(letter)) => Only::Code(printed, Some(letter)),
            (None, _) if !listed.is_empty() => Only::Code(code, None),
            _ => return Err(gone(&typed_name(code, letter), &found.record, all())),
        };
        let end = |end: &&EndRecord| NamedEnd {
            place: end.here.clone(),
            action: end.action.clone().unwrap_or_default(),
            comes_free: end.comes_free,
        };
        Ok(Self { only, ends: listed.iter().map(end).collect() })
    }

    /// Why it has no final tag; `None` when one of its ends can have one.
    pub fn no_final_tag(&self) -> Option<String> {
        let kept: Vec<String> = self.ends.iter().map(|end| format!("{} is `{}`", end.place, end.action)).collect();
        (!self.ends.iter().any(|end| end.comes_free)).then(|| {
            format!(
                "a final tag threads on an end that comes free (cut, move, add, extend, reserve); {}",
                kept.join(", ")
            )
        })
    }
}

/// A place that the register knows, or nothing at all.
fn gone_place(typed: &str, recall: &Recall) -> NotNamed {
    let at_place = recall.find(&[typed.to_owned()]).into_iter().find(|found| found.by == By::Place);
    match at_place {
        Some(found) if found.ends.iter().all(|&end| !found.record.ends[end].listed) => {
            let end = &found.record.ends[found.ends[0]];
            let name = [found.record.code.as_deref(), end.letter.as_deref()].into_iter().flatten();
            gone(&name.collect::<Vec<_>>().join(" "), &found.record, std::iter::once(end))
        }
        _ => NotNamed::Unknown(typed.to_owned()),
    }
}

/// `YACT B (M1/1, bilge pump)`.
fn gone<'a>(name: &str, record: &Record, ends: impl Iterator<Item = &'a EndRecord>) -> NotNamed {
    let what: Vec<&str> = ends.map(|end| end.here.as_str()).chain(record.function.as_deref()).collect();
    NotNamed::Gone(format!("{name} ({})", what.join(", ")))
}

fn typed_name(code: TagCode, letter: Option<EndLetter>) -> String {
    letter.map_or_else(|| code.to_string(), |letter| format!("{code} {letter}"))
}

fn place_of(circuits: &Circuits, typed: &str) -> Option<Place> {
    let typed = Place::from_typed(typed)?;
    let places = || circuits.all().iter().flat_map(|circuit| circuit.ends()).map(|end| &end.place);
    let is_like = |place: &&Place| place.to_string().eq_ignore_ascii_case(&typed.to_string());
    places().find(|place| **place == typed).or_else(|| places().find(is_like)).cloned()
}
