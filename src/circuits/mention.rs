//! What one row of a list says of one end, and all that the lists say together. A chart's row mentions one end, a wire
//! list's row two.

use std::collections::{HashMap, HashSet};

use super::headers::Column;
use super::problems::{BLANK_CAVITY, INCOMPLETE_FAR_END, MISSING_PLACE};
use super::sheet::Sheet;
use super::{Action, ConnectorKind, Form, Supply, TagWish};
use crate::base::{Cavity, Conductor, ConnectorId, Insulation, Length, Origin, Place, Problem, WireColour};

/// A place as it stands in a list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) struct PlaceRef<'t> {
    pub(super) connector: &'t str,
    pub(super) cavity: Option<&'t str>,
}

impl PlaceRef<'_> {
    /// The place as a value of its own; it was checked not to be blank.
    pub(super) fn to_place(self) -> Option<Place> {
        Some(Place::new(ConnectorId::from_cell(self.connector)?, self.cavity.and_then(Cavity::from_cell)))
    }
}

/// The columns that one side of a row has to itself.
#[derive(Debug)]
pub(super) struct Side {
    pub(super) connector: Column,
    pub(super) cavity: Column,
    pub(super) place: Column,
    pub(super) action: Column,
    pub(super) tag: Column,
}

/// The one side of a chart's row.
pub(super) static CHART: Side = Side {
    connector: Column::Connector,
    cavity: Column::Cavity,
    place: Column::Place,
    action: Column::Action,
    tag: Column::Tag,
};
/// Where a wire begins.
pub(super) static FROM: Side = Side {
    connector: Column::FromConnector,
    cavity: Column::FromCavity,
    place: Column::FromPlace,
    action: Column::FromAction,
    tag: Column::FromTag,
};
/// Where it ends.
pub(super) static TO: Side = Side {
    connector: Column::ToConnector,
    cavity: Column::ToCavity,
    place: Column::ToPlace,
    action: Column::ToAction,
    tag: Column::ToTag,
};

/// What one row says of one end. Colours and sizes are indices into [`Mentions`].
#[derive(Clone, Debug)]
pub(super) struct Mention<'t> {
    pub(super) sheet: usize,
    pub(super) row: usize,
    pub(super) side: &'static Side,
    pub(super) place: PlaceRef<'t>,
    pub(super) circuit: Option<&'t str>,
    pub(super) function: Option<&'t str>,
    pub(super) supply: Option<Supply>,
    pub(super) fuse: Option<&'t str>,
    pub(super) colour: Option<u32>,
    pub(super) size: Option<u32>,
    pub(super) insulation: Option<Insulation>,
    pub(super) length: Option<Length>,
    pub(super) diameter: Option<Length>,
    pub(super) slides_over: Option<Length>,
    pub(super) terminal: Option<&'t str>,
    pub(super) extend_by: Option<Length>,
    pub(super) action: Option<Action>,
    pub(super) tag: TagWish,
    pub(super) branch: Option<&'t str>,
    pub(super) partner: Option<&'t str>,
    pub(super) note: Option<&'t str>,
    /// The mention of the same wire's other end, in a wire list.
    pub(super) other: Option<usize>,
}

/// All that the lists say, in the order of lists and rows.
#[derive(Debug)]
pub(super) struct Mentions<'t> {
    pub(super) sheets: &'t [Sheet<'t>],
    pub(super) all: Vec<Mention<'t>>,
    pub(super) colours: Vec<WireColour>,
    /// For each colour, the index of the first that is spelled differently and means the same.
    pub(super) colour_keys: Vec<u32>,
    pub(super) sizes: Vec<Conductor>,
}

impl Mentions<'_> {
    /// One number for all spellings of a colour.
    pub(super) fn colour_key(&self, index: u32) -> u32 {
        self.colour_keys[index as usize]
    }

    /// Where the place of a mention stands.
    pub(super) fn origin(&self, mention: &Mention<'_>) -> Origin {
        let sheet = &self.sheets[mention.sheet];
        let cavity_first = [mention.side.cavity, mention.side.place, mention.side.connector];
        let column = cavity_first.into_iter().find(|&column| sheet.get(mention.row, column).is_some());
        sheet.origin(mention.row, column.unwrap_or(mention.side.connector))
    }

    /// Where the connector of a mention stands.
    pub(super) fn origin_of_connector(&self, mention: &Mention<'_>) -> Origin {
        let sheet = &self.sheets[mention.sheet];
        let own = [mention.side.connector, mention.side.place, mention.side.cavity];
        let column = own.into_iter().find(|&column| sheet.get(mention.row, column).is_some());
        sheet.origin(mention.row, column.unwrap_or(mention.side.connector))
    }

    /// Where a value of a mention stands.
    pub(super) fn origin_of(&self, mention: &Mention<'_>, column: Column) -> Origin {
        let sheet = &self.sheets[mention.sheet];
        let own = match column {
            Column::Action => mention.side.action,
            Column::Tag => mention.side.tag,
            _ => column,
        };
        sheet.origin(mention.row, if sheet.get(mention.row, own).is_some() { own } else { column })
    }

    /// A colour by its index.
    pub(super) fn colour(&self, index: u32) -> &WireColour {
        &self.colours[index as usize]
    }

    /// A size by its index.
    pub(super) fn size(&self, index: u32) -> &Conductor {
        &self.sizes[index as usize]
    }

    /// Whether the mention is from a wire list.
    pub(super) fn is_of_wire(&self, mention: &Mention<'_>) -> bool {
        self.sheets[mention.sheet].form() == Form::Wire
    }
}

/// A place without cavity is right for studs and splices. A connector that connectors.csv does not describe counts as one
/// when no row at all names a cavity of it; otherwise the row is told and mentions nothing.
pub(super) fn settle_blank_cavities(
    mentions: &mut Mentions<'_>,
    described: &HashMap<&str, ConnectorKind>,
    problems: &mut Vec<Problem>,
) {
    let with_cavities: HashSet<&str> = mentions
        .all
        .iter()
        .filter(|mention| mention.place.cavity.is_some())
        .map(|mention| mention.place.connector)
        .collect();
    let mut told = HashSet::new();
    let mut wrong = vec![false; mentions.all.len()];
    for (index, mention) in mentions.all.iter().enumerate().filter(|(_, mention)| mention.place.cavity.is_none()) {
        let connector = mention.place.connector;
        let kind = described.get(connector);
        if matches!(kind, Some(ConnectorKind::Stud | ConnectorKind::Splice)) {
            continue;
        }
        if kind.is_none() && !with_cavities.contains(connector) {
            if told.insert(connector) {
                let what = format!("no row names a cavity of `{connector}`: it counts as a stud or splice");
                let remedy = format!("give `{connector}` its kind in connectors.csv, or write the cavity");
                problems.push(BLANK_CAVITY.says(what).at(mentions.origin(mention)).remedy(remedy));
            }
            continue;
        }
        wrong[index] = true;
        if let Some(other) = mention.other {
            wrong[other] = true;
        }
        let kind = if mentions.is_of_wire(mention) { INCOMPLETE_FAR_END } else { MISSING_PLACE };
        let what = format!("this row does not say which cavity of `{connector}`");
        let remedy = format!("write the cavity, or give `{connector}` the kind stud or splice in connectors.csv");
        problems.push(kind.says(what).at(mentions.origin(mention)).remedy(remedy));
    }
    leave_out(&mut mentions.all, &wrong);
}

/// Leaves out the mentions marked wrong; those that stay keep pointing at each other.
fn leave_out(mentions: &mut Vec<Mention<'_>>, wrong: &[bool]) {
    if !wrong.contains(&true) {
        return;
    }
    let mut kept = 0;
    let new_index: Vec<usize> = wrong
        .iter()
        .map(|&is_wrong| {
            kept += usize::from(!is_wrong);
            kept - usize::from(!is_wrong)
        })
        .collect();
    let mut index = 0;
    mentions.retain(|_| {
        index += 1;
        !wrong[index - 1]
    });
    for mention in mentions {
        mention.other = mention.other.map(|other| new_index[other]);
    }
}
