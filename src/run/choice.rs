//! Which tags a run makes: by purpose, by reach, and narrowed to codes, places or connectors.

use super::recall::Recall;
use crate::base::{ConnectorId, EndLetter, Place, TagCode};
use crate::circuits::Circuits;
use crate::codes::Issued;
use crate::labels::{self, Doubled, Purpose, Reach, Selected};

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
    /// What a typed word names: a place as the lists write it (case does not matter where no two places differ by it alone),
    /// or a code of the register.
    pub fn named(typed: &str, circuits: &Circuits, recall: &Recall) -> Option<Self> {
        if let Some(place) = place_of(circuits, typed) {
            return Some(Self::Place(place));
        }
        let (code, letter) = TagCode::from_typed_with_letter(typed).ok()?;
        recall.by_code(code, letter).filter(|found| !found.ends.is_empty()).map(|_| Self::Code(code, letter))
    }

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

fn place_of(circuits: &Circuits, typed: &str) -> Option<Place> {
    let typed = Place::from_typed(typed)?;
    let places = || circuits.all().iter().flat_map(|circuit| circuit.ends()).map(|end| &end.place);
    let is_like = |place: &&Place| place.to_string().eq_ignore_ascii_case(&typed.to_string());
    places().find(|place| **place == typed).or_else(|| places().find(is_like)).cloned()
}
