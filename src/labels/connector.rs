//! Connectors that stay whole: which they are, and what their tags say.
//!
//! A connector keeps its designation as long as nobody opens it, and then one tag on it says what all its ends would. As soon as
//! one of its ends leaves it, each end needs a tag of its own.

use super::caution;
use super::end::{TEXT_PAYLOAD, told};
use super::field::Field;
use super::label::{Band, Label, TagName};
use crate::base::{ConnectorId, Place, Purpose, counted};
use crate::circuits::caution::{danger_at, said_by};
use crate::circuits::{Action, Circuits, Connector, ConnectorKind, End};
use crate::codes::link::Payload;

/// A connector that none of its ends leaves.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WholeConnector {
    /// Its designation.
    pub id: ConnectorId,
    /// How many wires end in it.
    pub wires: usize,
    /// The gravest mark that its wires bear, or that its own name says.
    pub danger: Option<Band>,
}

/// Why a connector has no tag of its own.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotWhole {
    /// No list names an end in it.
    Empty,
    /// It is a stud or a splice: nothing but the wires themselves.
    NoCavities,
    /// One of its ends leaves it: the first by place, and what shall be done with it.
    Opened(Place, Action),
}

/// What is gathered of a connector, end by end.
#[derive(Default)]
struct Contents<'a> {
    wires: usize,
    has_cavities: bool,
    danger: Option<Band>,
    leaves: Option<&'a End>,
}

/// The connectors that stay whole, in natural order.
pub fn whole_connectors(circuits: &Circuits) -> Vec<WholeConnector> {
    let of = |(id, ends)| standing(circuits, id, &Contents::of(circuits, ends)).ok();
    circuits.by_connector().filter_map(of).collect()
}

/// The connector of this designation, if it stays whole.
///
/// # Errors
/// [`NotWhole`] says why it has no tag of its own.
pub fn whole_connector(circuits: &Circuits, id: &ConnectorId) -> Result<WholeConnector, NotWhole> {
    match circuits.ends_in(id) {
        [] => Err(NotWhole::Empty),
        ends => standing(circuits, id, &Contents::of(circuits, ends)),
    }
}

impl<'a> Contents<'a> {
    /// Of the ends in one connector.
    fn of(circuits: &'a Circuits, ends: &[(usize, usize)]) -> Self {
        let mut contents = Self::default();
        for &at in ends {
            let end = &circuits.all()[at.0].ends()[at.1];
            contents.wires += 1;
            contents.has_cavities |= end.place.cavity.is_some();
            let danger = danger_at(circuits, at).and_then(caution::danger);
            contents.danger = contents.danger.into_iter().chain(danger).min();
            // Ends come in the order of their places.
            let leaves = end.action.loses_housing() || end.action == Action::Remove;
            contents.leaves = contents.leaves.or_else(|| leaves.then_some(end));
        }
        contents
    }
}

fn standing(circuits: &Circuits, id: &ConnectorId, contents: &Contents<'_>) -> Result<WholeConnector, NotWhole> {
    let connector = circuits.connector(id);
    let kind = connector.map(|connector| connector.kind);
    let short_name = connector.and_then(|connector| connector.short_name.as_deref());
    // The plug of a restraint unit holds its squibs, whatever the lists have of it.
    let said = short_name.and_then(said_by).and_then(caution::danger);
    // What no list describes and what has no cavities is a stud or a splice.
    let has_housing = match kind {
        Some(kind) => !matches!(kind, ConnectorKind::Stud | ConnectorKind::Splice),
        None => contents.has_cavities,
    };
    match contents.leaves {
        _ if !has_housing => Err(NotWhole::NoCavities),
        Some(end) => Err(NotWhole::Opened(end.place.clone(), end.action.clone())),
        None => {
            let danger = contents.danger.into_iter().chain(said).min();
            Ok(WholeConnector { id: id.clone(), wires: contents.wires, danger })
        }
    }
}

/// The label of a connector's tag; `title` is the job's.
pub fn connector_label(circuits: &Circuits, payload: &Payload, title: &str, whole: &WholeConnector) -> Label {
    let connector = circuits.connector(&whole.id);
    let mates = mates(connector);
    let fields = [
        (Field::Function, told(connector.and_then(|connector| connector.short_name.as_deref()))),
        (Field::There, told(mates)),
        (Field::Wires, vec![wires(connector, whole.wires)]),
        (Field::Branch, told(connector.and_then(|connector| connector.branch.as_deref()))),
        (Field::Job, told(Some(title))),
    ];
    Label {
        payload: Some(symbol_text(circuits, payload, &whole.id)),
        name: TagName::Connector(whole.id.clone()),
        purpose: Purpose::Work,
        place: Some(Place::new(whole.id.clone(), None)),
        at: None,
        fields: fields.into_iter().filter(|(_, parts)| !parts.is_empty()).collect(),
        colour: None,
        bands: whole.danger.map(|danger| (danger, words_on_connector(danger).to_owned())).into_iter().collect(),
        // It goes round the bundle, or round one wire of it: no wire of the list is its own.
        wires: Vec::new(),
        wish: None,
        action: None,
        supply: None,
    }
}

/// What the symbol of a connector's tag says. How many wires it holds may change with every list, so that is not told.
pub fn symbol_text(circuits: &Circuits, payload: &Payload, id: &ConnectorId) -> String {
    let connector = circuits.connector(id);
    let short_name = connector.and_then(|connector| connector.short_name.as_deref()).unwrap_or_default();
    let mates = mates(connector).map(|mates| format!("mates {mates}")).unwrap_or_default();
    payload.connector_text(id, &[short_name, &mates], TEXT_PAYLOAD)
}

fn mates(connector: Option<&Connector>) -> Option<&str> {
    connector.and_then(|connector| connector.mates.as_ref()).map(ConnectorId::as_str)
}

/// `41 wires in 60 cavities`, or `41 wires` where nobody knows the face.
fn wires(connector: Option<&Connector>, count: usize) -> String {
    let wires = counted(count, "wire");
    match connector.and_then(|connector| connector.face.count()) {
        Some(cavities) => format!("{wires} in {}", counted(cavities, "cavity")),
        None => wires,
    }
}

/// The words of a mark, to somebody about to open the connector.
pub const fn words_on_connector(danger: Band) -> &'static str {
    match danger {
        Band::HighVoltage => "HIGH VOLTAGE DO NOT OPEN",
        Band::Restraint => "RESTRAINT DO NOT OPEN",
        _ => caution::LIVE,
    }
}
