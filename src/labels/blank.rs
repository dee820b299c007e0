//! What a blank says: its label, made from a code alone. All that is wanted of it is a large code, a symbol, and lines to write on.

use super::field::Field;
use super::label::{Label, TagName, Wire};
use crate::base::{Length, Purpose, TagCode, TagKind};
use crate::codes::link::Payload;

/// A tag for a code that belongs to nothing yet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BlankTag {
    /// The code.
    pub code: TagCode,
    /// The kind that is asked for; `None`: the usual one.
    pub kind: Option<TagKind>,
    /// The diameter of the wires that it is for, where that is told.
    pub diameter: Option<Length>,
}

/// The label of a blank; `title` is the job's.
pub(super) fn blank_label(payload: &Payload, title: &str, blank: BlankTag) -> Label {
    Label {
        payload: Some(payload.text(blank.code, &[], &[], 0)),
        name: TagName::Blank(blank.code),
        purpose: Purpose::Work,
        place: None,
        at: None,
        fields: vec![(Field::Job, vec![title.to_owned()])],
        colour: None,
        bands: Vec::new(),
        // Which wire it will hang on nobody knows.
        wires: blank
            .diameter
            .map(|diameter| Wire { measured: Some(diameter), ..Wire::default() })
            .into_iter()
            .collect(),
        wish: blank.kind,
        action: None,
        supply: None,
    }
}
