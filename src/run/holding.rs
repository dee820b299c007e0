//! What print runs hold, in a few words: `J1, X3: 23 work tags`. The journal comes in; the words for each run go out.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use super::failure::RunFailure;
use super::register::{open_to_read, register_path};
use crate::base::{Place, Purpose, TagKind, natural};

/// So many connectors are named; more are counted.
const NAMED_CONNECTORS: usize = 4;
/// So many tags are named by themselves.
const NAMED_TAGS: usize = 2;

/// What a run holds.
#[derive(Debug, Default)]
struct Holding {
    connectors: BTreeSet<String>,
    /// The first tags.
    names: Vec<String>,
    work: usize,
    finals: usize,
    blanks: usize,
}

impl Holding {
    fn count(&mut self, name: String, kind: &str) {
        if TagKind::from_word(kind).is_some_and(|kind| kind.purpose() == Purpose::Final) {
            self.finals += 1;
        } else {
            self.work += 1;
        }
        if self.names.len() <= NAMED_TAGS && !self.names.contains(&name) {
            self.names.push(name);
        }
    }

    fn in_words(&self) -> String {
        let plural = |count: usize, what: &str| match count {
            0 => None,
            1 => Some(format!("1 {what}")),
            count => Some(format!("{count} {what}s")),
        };
        let counts = [plural(self.work, "work tag"), plural(self.finals, "final tag"), plural(self.blanks, "blank")];
        let counts = counts.into_iter().flatten().collect::<Vec<_>>().join(", ");
        let mut connectors: Vec<&str> = self.connectors.iter().map(String::as_str).collect();
        connectors.sort_by(|one, other| natural::compare(one, other));
        let of = match (self.names.len(), connectors.len()) {
            (0, _) => return counts,
            (1..=NAMED_TAGS, _) => self.names.join(", "),
            (_, 0) => return counts,
            (_, 1..=NAMED_CONNECTORS) => connectors.join(", "),
            (_, many) => format!("{many} connectors"),
        };
        format!("{of}: {counts}")
    }
}

/// What each run holds, by its number; a run whose tags were never journalled is not among them.
///
/// # Errors
/// [`RunFailure`] when the register cannot be read.
pub fn holdings(job: &Path) -> Result<BTreeMap<u32, String>, RunFailure> {
    if !register_path(job).exists() {
        return Ok(BTreeMap::new());
    }
    let register = open_to_read(job)?;
    let mut all: BTreeMap<u32, Holding> = BTreeMap::new();
    register.each_printed(|run, tag| {
        let holding = all.entry(run.number.get()).or_default();
        if tag.place.is_empty() && tag.letters.is_empty() {
            holding.blanks += 1;
            return;
        }
        holding.connectors.extend(Place::from_typed(&tag.place).map(|place| place.connector.to_string()));
        holding.count(tag.name(), &tag.kind);
    })?;
    register.each_printed_connector(|run, tag| {
        let holding = all.entry(run.number.get()).or_default();
        holding.connectors.insert(tag.connector.clone());
        holding.count(tag.connector, &tag.kind);
    })?;
    Ok(all.into_iter().map(|(run, holding)| (run, holding.in_words())).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_run_is_named_by_what_it_holds() {
        let of = |connectors: &[&str], tags: &[(&str, &str)], blanks| {
            let mut holding = Holding { blanks, ..Holding::default() };
            holding.connectors.extend(connectors.iter().map(|name| (*name).to_owned()));
            tags.iter().for_each(|(name, kind)| holding.count((*name).to_owned(), kind));
            holding.in_words()
        };
        let flags = [("7KF4 A", "flag"), ("7KF4 B", "flag"), ("9C3M A", "sleeve")];
        assert_eq!(of(&["X3", "J1"], &flags, 0), "J1, X3: 2 work tags, 1 final tag");
        assert_eq!(of(&["J1"], &flags[..1], 0), "7KF4 A: 1 work tag");
        assert_eq!(of(&["J1", "J2", "J3", "J4", "J10"], &flags, 0), "5 connectors: 2 work tags, 1 final tag");
        assert_eq!(of(&["J1", "J2", "J10"], &flags, 0), "J1, J2, J10: 2 work tags, 1 final tag");
        assert_eq!(of(&[], &[], 24), "24 blanks");
    }
}
