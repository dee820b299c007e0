//! Which tags a run makes: by purpose, by reach, and narrowed to codes, places, connectors, branches, actions or kinds.

use std::collections::HashSet;

use crate::base::{CircuitId, ConnectorId, EndLetter, Length, Place, Purpose, TagCode, TagKind};
use crate::circuits::{Circuits, FarEnd};
use crate::codes::Issued;
use crate::labels::{self, BlankTag, Doubled, Reach, Selected, Selection, Subject};

/// What to narrow a run to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Only {
    /// One circuit by its code, or one of its ends.
    Code(TagCode, Option<EndLetter>),
    /// One place.
    Place(Place),
    /// All places of a connector, and the connector itself.
    Connector(ConnectorId),
    /// The tag of a connector that stays whole.
    Whole(ConnectorId),
    /// A blank that is not assigned yet.
    Blank(BlankTag),
    /// All ends of a circuit, by its designation.
    Circuit(CircuitId),
    /// Ends in a leg of the harness.
    Branch(String),
    /// Ends with an action, by its word.
    Action(&'static str),
}

/// Which sides of the wires of chosen ends get a tag.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Side {
    /// The chosen ends alone.
    #[default]
    This,
    /// Their far ends too: tags go on both sides of a cut.
    Both,
}

/// Most copies of each tag that a run makes.
pub const MOST_COPIES: u16 = 20;

/// Which tags a run makes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Choice {
    /// Work tags, final tags, or both, in the order they are made.
    pub purposes: Vec<Purpose>,
    /// How far the selection reaches.
    pub reach: Reach,
    /// How many tags the wires of a doubled cavity get.
    pub doubled: Doubled,
    /// Whether connectors that stay whole get a tag.
    pub connectors: Connectors,
    /// How far back from an end that comes free its tag sits, when marks along wires are wanted; `None`: there are none.
    pub along: Option<Length>,
    /// What it is narrowed to: a tag is made when it matches something of each of these; of nothing there is nothing to match.
    pub only: Vec<Vec<Only>>,
    /// Whether the far ends of what it is narrowed to belong to it.
    pub side: Side,
    /// The kinds it is narrowed to; nothing: all.
    pub kinds: Vec<TagKind>,
    /// How often each tag is made.
    pub copies: usize,
    /// Whether tags that were printed are made again.
    pub again: Again,
}

/// Whether tags that were printed before are made again.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Again {
    /// All of them.
    #[default]
    All,
    /// Those that would say something else now.
    Changed,
}

/// Whether connectors that stay whole get a tag.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Connectors {
    /// One each, with the work tags.
    #[default]
    Tagged,
    /// None.
    Untagged,
}

impl Default for Choice {
    fn default() -> Self {
        Self {
            purposes: vec![Purpose::Work, Purpose::Final],
            reach: Reach::Needed,
            doubled: Doubled::Together,
            connectors: Connectors::Tagged,
            along: None,
            only: Vec::new(),
            side: Side::This,
            kinds: Vec::new(),
            copies: 1,
            again: Again::All,
        }
    }
}

impl Choice {
    /// The tags of one purpose. Connectors and places along wires are tagged with the work tags; a connector's tag comes before
    /// those of its ends.
    pub fn select(&self, circuits: &Circuits, issued: &Issued, purpose: Purpose) -> Selection {
        let ends = labels::select(circuits, purpose, self.reach, self.doubled);
        let wanted = self.wanted(circuits, issued, &ends);
        let is_wanted =
            |tag: &Selected| wanted.as_ref().is_none_or(|wanted| wanted.contains(&(tag.circuit, tag.ends.start)));
        let mut selection = match self.along.filter(|_| purpose == Purpose::Work) {
            Some(setback) => labels::along_wires(circuits, ends, is_wanted, setback),
            None => {
                let subjects = ends.into_iter().filter(is_wanted).map(Subject::Ends).collect();
                Selection { subjects, ..Selection::default() }
            }
        };
        if self.connectors == Connectors::Tagged && purpose == Purpose::Work {
            self.add_connectors(circuits, &mut selection.subjects);
        }
        if purpose == Purpose::Work {
            selection.subjects.extend(self.only.iter().flatten().filter_map(|only| match only {
                Only::Blank(blank) => Some(Subject::Blank(*blank)),
                _ => None,
            }));
        }
        selection
    }

    /// The blanks that it is narrowed to, where it is narrowed to nothing else.
    pub(super) fn blanks_alone(&self) -> Option<Vec<BlankTag>> {
        let blank = |only: &Only| match only {
            Only::Blank(blank) => Some(*blank),
            _ => None,
        };
        let blanks: Option<Vec<BlankTag>> = self.only.iter().flatten().map(blank).collect();
        blanks.filter(|blanks| !blanks.is_empty())
    }

    /// The tags it is narrowed to, by their first end; `None`: all.
    fn wanted(&self, circuits: &Circuits, issued: &Issued, tags: &[Selected]) -> Option<HashSet<(usize, usize)>> {
        if self.only.is_empty() {
            return None;
        }
        let is_chosen = |tag: &&Selected| {
            self.only.iter().all(|group| group.iter().any(|only| only.matches(circuits, issued, tag)))
        };
        let chosen: Vec<&Selected> = tags.iter().filter(is_chosen).collect();
        let mut wanted: HashSet<(usize, usize)> = chosen.iter().map(|tag| (tag.circuit, tag.ends.start)).collect();
        if self.side == Side::Both {
            let far_ends = |tag: &&Selected| {
                let (at, circuit) = (tag.circuit, &circuits.all()[tag.circuit]);
                tag.ends.clone().filter_map(move |end| match circuit.far_end(end) {
                    FarEnd::End(far) => Some((at, far)),
                    FarEnd::ImpliedSplice | FarEnd::Unknown => None,
                })
            };
            let far: HashSet<(usize, usize)> = chosen.iter().flat_map(far_ends).collect();
            let is_far = |tag: &&Selected| tag.ends.clone().any(|end| far.contains(&(tag.circuit, end)));
            wanted.extend(tags.iter().filter(is_far).map(|tag| (tag.circuit, tag.ends.start)));
        }
        Some(wanted)
    }

    /// Whether a tag of this kind is wanted.
    pub(super) fn wants(&self, kind: TagKind) -> bool {
        self.kinds.is_empty() || self.kinds.contains(&kind)
    }

    fn matches_connector(&self, id: &ConnectorId) -> bool {
        self.only.iter().all(|group| group.iter().any(|only| only.matches_connector(id)))
    }

    /// Whether something at this place, or the connector itself, may be meant; what only the lists tell is not looked at.
    pub(super) fn may_mean(&self, place: &str) -> bool {
        let connector = Place::from_typed(place).map(|place| place.connector);
        let is_at = |id: &ConnectorId| place == id.as_str() || connector.as_ref() == Some(id);
        let may_be = |only: &Only| match only {
            Only::Connector(id) | Only::Whole(id) => is_at(id),
            Only::Place(own) => own.to_string() == place,
            _ => false,
        };
        self.only.iter().all(|group| group.iter().any(may_be))
    }

    fn add_connectors(&self, circuits: &Circuits, subjects: &mut Vec<Subject>) {
        let mut whole = labels::whole_connectors(circuits);
        if !self.only.is_empty() {
            whole.retain(|connector| self.matches_connector(&connector.id));
        }
        if whole.is_empty() {
            return;
        }
        let mut whole = whole.into_iter().peekable();
        let mut merged = Vec::with_capacity(subjects.len() + whole.len());
        for subject in subjects.drain(..) {
            let connector = subject.connector(circuits);
            while let Some(next) = whole.next_if(|next| connector.is_some_and(|connector| next.id <= *connector)) {
                merged.push(Subject::Connector(Box::new(next)));
            }
            merged.push(subject);
        }
        merged.extend(whole.map(Box::new).map(Subject::Connector));
        *subjects = merged;
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
            Self::Circuit(id) => circuits.all()[tag.circuit].id() == id,
            Self::Branch(name) => {
                let is_it = |branch: &str| branch.eq_ignore_ascii_case(name);
                tag.ends.clone().any(|end| ends[end].branch.as_deref().is_some_and(is_it))
            }
            Self::Action(word) => tag.ends.clone().any(|end| ends[end].action.word() == *word),
            Self::Whole(_) | Self::Blank(_) => false,
        }
    }

    fn matches_connector(&self, id: &ConnectorId) -> bool {
        match self {
            Self::Connector(connector) | Self::Whole(connector) => connector == id,
            _ => false,
        }
    }
}
