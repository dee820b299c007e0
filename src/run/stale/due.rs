//! Which tags of a run must be printed: those that never were, and those that would say something else now.
//!
//! A tag is due when it was never printed, when it says anything that is not so, when its symbol would say something else, and
//! when the lists have learnt what it does not tell. The last is known only where it would go on the same stock: on another one
//! there may just be more room. What a tag tells beyond what it would tell now, and is true, makes it not due.

use serde::Serialize;

use super::compare::{self, Change, Said, SymbolChange};
use super::printed::{Key, LastPrinted};
use crate::base::Purpose;
use crate::codes::{Issued, Payload};
use crate::labels::{Label, Sources, Subject, TagName};
use crate::layout::Item;
use crate::run::Reading;
use crate::run::making::Made;

/// A tag that is due.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Due {
    /// Its name: `7KF4 A`.
    pub tag: String,
    /// The place it is for.
    pub place: String,
    /// `work` or `final`.
    pub purpose: String,
    /// What the tag that was printed says otherwise; nothing where none was.
    pub changes: Vec<Change>,
}

impl Due {
    /// Whether it was never printed.
    pub fn is_new(&self) -> bool {
        self.changes.is_empty()
    }
}

/// The last printing of a tag, as it is compared.
struct Before<'a> {
    said: Said<'a>,
    stock: &'a str,
}

/// The tag, if it is due. It is made only where that must be known.
pub(super) fn due(
    reading: &Reading,
    issued: &Issued,
    last: &LastPrinted,
    purpose: Purpose,
    subject: &Subject,
    label: &Label,
    make: impl FnOnce() -> Option<Made>,
) -> Option<Due> {
    let changes = match before(last, label) {
        Some(before) => {
            let in_words =
                || Sources { payload: &Payload::Text, ..reading.sources(issued) }.label(purpose, subject).payload;
            Some(changes(reading, before, label, in_words, make)).filter(|changes| !changes.is_empty())?
        }
        None => Vec::new(),
    };
    let (tag, place) = (label.name.to_string(), label.place_text());
    Some(Due { tag, place, purpose: purpose.to_string(), changes })
}

/// Whether a run printed the tag of a label.
pub(super) fn is_printed(last: &LastPrinted, label: &Label) -> bool {
    before(last, label).is_some()
}

fn before<'a>(last: &'a LastPrinted, label: &'a Label) -> Option<Before<'a>> {
    if let TagName::Connector(id) = &label.name {
        let tag = &last.connectors.get(id.as_str())?.done.as_ref()?.tag;
        let said = Said { words: &tag.words, payload: tag.payload.as_deref() };
        return Some(Before { said, stock: &tag.stock });
    }
    let key = Key::of(label)?;
    let done = |key: &Key| last.tags.get(key)?.done.as_ref();
    let tag = &done(&key).or_else(|| done(&key.clone().anywhere()))?.tag;
    // Under another code of its record its symbol names that one.
    let is_renamed = label.name.code() != Some(tag.code);
    let payload = if is_renamed { label.payload.as_deref() } else { tag.payload.as_deref() };
    Some(Before { said: Said { words: &tag.words, payload }, stock: &tag.stock })
}

fn changes(
    reading: &Reading,
    before: Before<'_>,
    label: &Label,
    in_words: impl FnOnce() -> Option<String>,
    make: impl FnOnce() -> Option<Made>,
) -> Vec<Change> {
    let wording = reading.equipment.wording_of(label);
    let Before { said, stock } = before;
    let mut changes = compare::untrue_words(said, label, wording);
    match compare::changed_symbol(said, label, wording, in_words) {
        Some(SymbolChange::Untrue(change) | SymbolChange::Other(change)) => changes.push(change),
        None => {}
    }
    if !changes.is_empty() || compare::says_all(said, label, wording) {
        return changes;
    }
    changes.extend(compare::filled(said, label, wording));
    let made = make().filter(|made| reading.equipment.stocks()[made.stock].stock.name() == stock);
    if let Some(made) = made.filter(|_| changes.is_empty()) {
        changes.extend(compare::learnt(said, &made.tag.facts.said, label, wording));
        let symbol = made.tag.frame.items.iter().find_map(|item| match item {
            Item::Symbol(symbol) => Some(symbol.payload.as_str()),
            _ => None,
        });
        let is_lesser = symbol.is_none() || said.payload == label.payload.as_deref();
        if symbol != said.payload && !is_lesser {
            changes.push(Change::new("symbol", said.payload, symbol));
        }
    }
    changes
}
