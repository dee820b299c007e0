//! What tags are made for, and the label of each.

use super::along::{Mark, WireEnds, mark_label};
use super::blank::{BlankTag, blank_label};
use super::connector::{WholeConnector, connector_label};
use super::end;
use super::field::Field;
use super::label::Label;
use super::said::AsSaid;
use super::select::Selected;
use crate::base::{ConnectorId, Length, Purpose};
use crate::circuits::Circuits;
use crate::codes::Issued;
use crate::codes::link::Payload;

/// What one tag is made for.
#[derive(Clone, Debug, PartialEq)]
pub enum Subject {
    /// An end, or the ends that share a doubled cavity.
    Ends(Selected),
    /// The same, so far from the end, when tags are spread along wires.
    EndsAt(Selected, Length),
    /// A connector that stays whole.
    Connector(Box<WholeConnector>),
    /// A place along a wire.
    Mark(Mark),
    /// An end that no list has any more, as its tag said.
    AsSaid(Box<AsSaid>),
    /// A code that belongs to nothing yet.
    Blank(BlankTag),
}

impl Subject {
    /// The connector it belongs to; a mark belongs to that of the first end of its wire, a blank to none.
    pub fn connector<'a>(&'a self, circuits: &'a Circuits) -> Option<&'a ConnectorId> {
        let of = |circuit: usize, end: usize| &circuits.all()[circuit].ends()[end].place.connector;
        match self {
            Self::Ends(tag) | Self::EndsAt(tag, _) => Some(of(tag.circuit, tag.ends.start)),
            Self::Mark(mark) => Some(of(mark.wire.circuit, mark.wire.first)),
            Self::Connector(connector) => Some(&connector.id),
            Self::AsSaid(said) => said.label.place.as_ref().map(|place| &place.connector),
            Self::Blank(_) => None,
        }
    }

    /// Index of its circuit in [`Circuits::all`]; a connector, a blank and what has left the lists have none.
    pub const fn circuit(&self) -> Option<usize> {
        match self {
            Self::Ends(tag) | Self::EndsAt(tag, _) => Some(tag.circuit),
            Self::Mark(mark) => Some(mark.wire.circuit),
            Self::Connector(_) | Self::AsSaid(_) | Self::Blank(_) => None,
        }
    }
}

/// Which tags are made for one purpose.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Selection {
    /// What they are made for, in working order; marks along a wire behind the tag of the first of its ends that has one.
    pub subjects: Vec<Subject>,
    /// Wires that have no marks between their ends, because no list tells their length.
    pub of_no_length: Vec<WireEnds>,
    /// Wires that are too short for any tag.
    pub too_short: Vec<WireEnds>,
}

/// All that labels are made from.
#[derive(Clone, Copy)]
pub struct Sources<'a> {
    /// The circuits.
    pub circuits: &'a Circuits,
    /// Their codes and letters.
    pub issued: &'a Issued,
    /// What symbols say.
    pub payload: &'a Payload,
    /// Title of the job.
    pub title: &'a str,
}

impl Sources<'_> {
    /// The label of a tag.
    pub fn label(&self, purpose: Purpose, subject: &Subject) -> Label {
        let Self { circuits, issued, payload, title } = *self;
        let mut label = match subject {
            Subject::Ends(selected) => end::label(circuits, issued, payload, purpose, selected),
            Subject::EndsAt(selected, distance) => {
                let label = end::label(circuits, issued, payload, purpose, selected);
                end::at(circuits, label, selected, *distance)
            }
            Subject::Connector(connector) => return connector_label(circuits, payload, title, connector),
            Subject::Blank(blank) => return blank_label(payload, title, *blank),
            Subject::Mark(mark) => mark_label(circuits, issued, payload, mark),
            Subject::AsSaid(said) => return said.label.clone(),
        };
        label.fields.push((Field::Job, vec![title.to_owned()]));
        label
    }
}
