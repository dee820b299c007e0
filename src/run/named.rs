//! What a typed word names of a job, so that its tags can be printed.

use super::choice::Only;
use super::recall::{By, EndRecord, Recall, Record};
use crate::base::code::NotACode;
use crate::base::{ConnectorId, EndLetter, Page, Place, Remedy, TagCode, TagKind};
use crate::circuits::{Action, Circuits, End};
use crate::codes::link::{self, Meaning};
use crate::codes::{Issued, Spot};
use crate::labels::{self, BlankTag, NotWhole};

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

impl NamedEnd {
    fn of(end: &End) -> Self {
        let (place, action) = (end.place.to_string(), end.action.to_string());
        Self { place, action, comes_free: end.action.frees_the_end() }
    }
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
    /// It names a mark along a wire.
    #[error("`{0}` names a mark along a wire")]
    Mark(String, String),
    /// It is a connector that has no tag of its own.
    #[error("{what}")]
    NotWhole {
        /// What is wrong with it.
        what: String,
        /// What to print instead, where it has ends.
        remedy: Option<Remedy>,
    },
    /// Only the register still knows it.
    #[error("{what} is no longer in the lists: bring its row back to print its tag")]
    Gone {
        /// The end as it is told: `YACT B (M1/1, bilge pump)`.
        what: String,
        /// The code.
        code: TagCode,
        /// The end, where one is meant.
        letter: Option<EndLetter>,
    },
}

impl NotNamed {
    /// What to print instead, where the message does not say it.
    pub fn remedy(&self) -> Option<Remedy> {
        match self {
            Self::Mark(_, end) => Some(
                Remedy::by(
                    format!("`loomtag reprint {end} --along`"),
                    Page::Words("its end, with marks along the wires,"),
                )
                .words(" prints the tags of that end with all marks"),
            ),
            Self::NotWhole { remedy, .. } => remedy.clone(),
            Self::Unknown(_) | Self::NoSuchEnd(_) | Self::Gone { .. } => None,
        }
    }
}

impl Named {
    /// What a typed word names: a place or a connector as the lists write it (case does not matter where no two differ by it
    /// alone), or a code of the register, perhaps with a letter.
    ///
    /// # Errors
    /// When it names nothing that the lists have.
    pub fn from_typed(typed: &str, circuits: &Circuits, recall: &Recall) -> Result<Self, NotNamed> {
        if let Some(place) = place_of(circuits, typed) {
            let ends = circuits.all().iter().flat_map(|circuit| circuit.ends()).filter(|end| end.place == place);
            return Ok(Self { ends: ends.map(NamedEnd::of).collect(), only: Only::Place(place) });
        }
        if let Some(connector) = connector_of(circuits, typed) {
            return match labels::whole_connector(circuits, &connector) {
                Ok(_) => Ok(Self { ends: Vec::new(), only: Only::Whole(connector) }),
                Err(why) => Err(not_whole(&connector, &why)),
            };
        }
        if link::names_mark(typed)
            && let Some((code, _)) = link::from_scanned(typed).and_then(Meaning::circuit)
        {
            let letter = Spot::read(typed.split_whitespace().nth(1).unwrap_or_default()).0.first().copied();
            return Err(NotNamed::Mark(typed.to_owned(), typed_name(code, letter).replace(' ', "/")));
        }
        let Ok((code, letter)) = TagCode::from_typed_with_letter(typed) else { return Err(gone_place(typed, recall)) };
        if let Some(blank) = recall.blank(code).filter(|_| letter.is_none()) {
            // A wrap was made for a diameter that nobody wrote down.
            let kind = blank.run.as_ref().and_then(|run| TagKind::from_word(&run.kind));
            let kind = kind.filter(|kind| *kind != TagKind::Wrap);
            let only = Only::Blank(BlankTag { code, kind, diameter: None });
            return Ok(Self { ends: Vec::new(), only });
        }
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
            _ => return Err(gone(code, letter, &found.record, all())),
        };
        let end = |end: &&EndRecord| NamedEnd {
            place: end.here.clone(),
            action: end.action.clone().unwrap_or_default(),
            comes_free: end.comes_free,
        };
        Ok(Self { only, ends: listed.iter().map(end).collect() })
    }

    /// What a typed code names that is not issued yet, as a check shows it.
    ///
    /// # Errors
    /// When no circuit would get the code, or it has no end of that letter.
    pub fn looked_ahead(typed: &str, circuits: &Circuits, issued: &Issued) -> Result<Self, NotNamed> {
        let unknown = || NotNamed::Unknown(typed.to_owned());
        let (code, letter) = TagCode::from_typed_with_letter(typed).map_err(|_| unknown())?;
        let at = issued.circuits.iter().position(|circuit| circuit.code == code).ok_or_else(unknown)?;
        let lettered = circuits.all()[at].ends().iter().zip(&issued.circuits[at].letters);
        let meant = lettered.filter(|(_, own)| letter.is_none_or(|letter| **own == letter));
        let ends: Vec<NamedEnd> = meant.map(|(end, _)| NamedEnd::of(end)).collect();
        if ends.is_empty() {
            return Err(NotNamed::NoSuchEnd(format!("there is no end {}", typed_name(code, letter))));
        }
        Ok(Self { only: Only::Code(code, letter), ends })
    }

    /// Why it has no final tag; `None` when one of its ends can have one.
    pub fn no_final_tag(&self) -> Option<String> {
        if let Only::Whole(connector) = &self.only {
            return Some(format!(
                "a final tag threads on an end that comes free; connector {connector} has a work tag only"
            ));
        }
        if let Only::Blank(BlankTag { code, .. }) = &self.only {
            return Some(format!("a final tag belongs to a circuit; {code} is a blank and has a work tag only"));
        }
        let kept: Vec<String> = self.ends.iter().map(|end| format!("{} is `{}`", end.place, end.action)).collect();
        (!self.ends.iter().any(|end| end.comes_free)).then(|| {
            format!(
                "a final tag threads on an end that comes free (cut, move, add, extend, reserve); {}",
                kept.join(", ")
            )
        })
    }
}

/// What a typed word narrows a run to: as [`Named::from_typed`], and a connector that is opened with all its ends.
///
/// # Errors
/// When it names nothing that the lists have.
pub fn only_from_typed(typed: &str, circuits: &Circuits, recall: &Recall) -> Result<Only, NotNamed> {
    match Named::from_typed(typed, circuits, recall) {
        Err(why @ NotNamed::NotWhole { .. }) => connector_of(circuits, typed).map(Only::Connector).ok_or(why),
        named => named.map(|named| named.only),
    }
}

/// A place that the register knows, or nothing at all.
fn gone_place(typed: &str, recall: &Recall) -> NotNamed {
    let at_place = recall.find(&[typed.to_owned()]).into_iter().find(|found| found.by == By::Place);
    match at_place {
        Some(found) if found.ends.iter().all(|&end| !found.record.ends[end].listed) => {
            let end = &found.record.ends[found.ends[0]];
            let code = found.record.code.as_deref().and_then(|code| TagCode::from_typed(code).ok());
            let letter = end.letter.as_deref().and_then(EndLetter::from_typed);
            let end = || std::iter::once(end);
            code.map_or_else(|| NotNamed::Unknown(typed.to_owned()), |code| gone(code, letter, &found.record, end()))
        }
        _ => NotNamed::Unknown(typed.to_owned()),
    }
}

fn gone<'a>(
    code: TagCode,
    letter: Option<EndLetter>,
    record: &Record,
    ends: impl Iterator<Item = &'a EndRecord>,
) -> NotNamed {
    let what: Vec<&str> = ends.map(|end| end.here.as_str()).chain(record.function.as_deref()).collect();
    NotNamed::Gone { what: format!("{} ({})", typed_name(code, letter), what.join(", ")), code, letter }
}

fn typed_name(code: TagCode, letter: Option<EndLetter>) -> String {
    letter.map_or_else(|| code.to_string(), |letter| format!("{code} {letter}"))
}

/// Why a connector has no tag of its own, with what to print instead.
fn not_whole(connector: &ConnectorId, why: &NotWhole) -> NotNamed {
    match why {
        NotWhole::Opened(place, action) => NotNamed::NotWhole {
            what: format!(
                "connector {connector} does not stay whole ({place} is `{action}`), so its ends have tags of their own"
            ),
            remedy: Some(
                Remedy::by(format!("`loomtag tags --connector {connector}`"), Page::Words("name it under Connectors"))
                    .words(format!(", or name one of its places, such as `{place}`")),
            ),
        },
        NotWhole::NoCavities | NotWhole::Empty => {
            NotNamed::NotWhole { what: format!("{connector} is no connector with cavities"), remedy: None }
        }
    }
}

/// A connector of the lists by its name; case does not matter where no two differ by it alone.
pub fn connector_of(circuits: &Circuits, typed: &str) -> Option<ConnectorId> {
    let typed = ConnectorId::from_cell(typed)?;
    let connectors = || circuits.all().iter().flat_map(|circuit| circuit.ends()).map(|end| &end.place.connector);
    let is_like = |id: &&ConnectorId| id.as_str().eq_ignore_ascii_case(typed.as_str());
    connectors().find(|id| **id == typed).or_else(|| connectors().find(is_like)).cloned()
}

/// The connector of this designation in which no wire ends yet, and to which one moves.
pub fn connector_moved_to(circuits: &Circuits, typed: &str) -> Option<ConnectorId> {
    let targets = circuits.all().iter().flat_map(|circuit| circuit.ends()).filter_map(|end| match &end.action {
        Action::Move(Some(to)) => Some(&to.connector),
        _ => None,
    });
    targets.into_iter().find(|id| id.as_str().eq_ignore_ascii_case(typed.trim())).cloned()
}

fn place_of(circuits: &Circuits, typed: &str) -> Option<Place> {
    let typed = Place::from_typed(typed)?;
    let places = || circuits.all().iter().flat_map(|circuit| circuit.ends()).map(|end| &end.place);
    let text = typed.to_string();
    let is_like = |place: &&Place| is_written_like(place, &text);
    places().find(|place| **place == typed).or_else(|| places().find(is_like)).cloned()
}

/// Whether a place is written so, whatever the case. No text of the place is made: many words are looked up among many places.
fn is_written_like(place: &Place, text: &str) -> bool {
    let connector = place.connector.as_str();
    let Some((own, rest)) = text.split_at_checked(connector.len()) else { return false };
    own.eq_ignore_ascii_case(connector)
        && match &place.cavity {
            Some(cavity) => rest.strip_prefix('/').is_some_and(|rest| rest.eq_ignore_ascii_case(cavity.as_str())),
            None => rest.is_empty(),
        }
}

/// Why a word names nothing.
pub fn unknown(typed: &str) -> String {
    match TagCode::from_typed_with_letter(typed) {
        Ok((code, _)) => format!("`{code}` was never issued in this job"),
        Err(NotACode::Check { .. }) => {
            format!(
                "`{typed}` is no place of this job, and no code: its check character does not fit, so something is mistyped"
            )
        }
        Err(_) => format!("`{typed}` is neither a code nor a place of this job"),
    }
}
