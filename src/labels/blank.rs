//! What a blank says: its label, made from a code alone. All that is wanted of it is a large code, a symbol, and lines to write on.

use super::field::Field;
use super::label::{Label, TagName};
use crate::base::{Purpose, TagCode, TagKind};
use crate::codes::link::Payload;

/// The label of a blank, of this kind if one is asked for; `title` is the job's.
pub(super) fn blank_label(payload: &Payload, title: &str, code: TagCode, kind: Option<TagKind>) -> Label {
    Label {
        payload: Some(payload.text(code, &[], &[], 0)),
        name: TagName::Blank(code),
        purpose: Purpose::Work,
        place: None,
        at: None,
        fields: vec![(Field::Job, vec![title.to_owned()])],
        colour: None,
        bands: Vec::new(),
        // Which wire it will hang on nobody knows.
        wires: Vec::new(),
        wish: kind,
        action: None,
        supply: None,
    }
}
