//! The words in cells: actions, supplies and kinds of connectors as people write them, from the tables in `templates/words`,
//! and the nearest known word to one that is not in them.
//!
//! A word or a language is added by adding lines to a table; nothing here needs to change.

use std::borrow::Cow;
use std::collections::HashMap;
use std::sync::LazyLock;

use super::{Action, ConnectorKind, Supply};
use crate::base::Place;
use crate::base::nearest::nearest;

/// Words of a table, in lower case with single spaces, and what each means.
pub(super) struct Words<T> {
    meanings: HashMap<&'static str, T>,
    /// In the order of the table, so that the nearest word does not depend on hashing.
    words: Vec<&'static str>,
}

impl<T: Copy> Words<T> {
    /// From a table `meaning,language,word` with a header line; `meaning_of` knows the meanings by their first column.
    fn from_table(table: &'static str, meaning_of: impl Fn(&str) -> Option<T>) -> Self {
        let mut meanings = HashMap::new();
        let mut words = Vec::new();
        for line in table.lines().skip(1) {
            let mut cells = line.split(',');
            if let (Some(meaning), Some(_language), Some(word)) = (cells.next(), cells.next(), cells.next())
                && let Some(meaning) = meaning_of(meaning)
            {
                meanings.entry(word).or_insert(meaning);
                words.push(word);
            }
        }
        Self { meanings, words }
    }

    /// What a word means; case and repeated spaces do not matter, nor a full stop after an abbreviation.
    pub(super) fn meaning(&self, word: &str) -> Option<T> {
        self.meanings.get(word).or_else(|| self.meanings.get(plain(word).as_ref())).copied()
    }

    /// The known word that is nearest to this one.
    pub(super) fn nearest(&self, word: &str) -> Option<&'static str> {
        nearest(&plain(word), self.words.iter().copied())
    }
}

/// Lower case, single spaces, no full stops.
fn plain(word: &str) -> Cow<'_, str> {
    let is_plain = word.bytes().all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit());
    if is_plain {
        return Cow::Borrowed(word);
    }
    let spaced = word.replace('.', " ");
    Cow::Owned(spaced.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase())
}

/// Meanings of an action word; the place of a move is read apart.
static ACTIONS: LazyLock<Words<&'static Action>> = LazyLock::new(|| {
    static ALL: [Action; 8] = [
        Action::Undecided,
        Action::Keep,
        Action::Remove,
        Action::Cut,
        Action::Move(None),
        Action::Add,
        Action::Extend,
        Action::Reserve,
    ];
    let by_word = |word: &str| ALL.iter().find(|action| action.word() == word);
    Words::from_table(include_str!("../../templates/words/actions.csv"), by_word)
});

/// Words of the supply column.
pub(super) static SUPPLIES: LazyLock<Words<Supply>> = LazyLock::new(|| {
    let by_word = |word: &str| Supply::ALL.into_iter().find(|supply| supply.word() == word);
    Words::from_table(include_str!("../../templates/words/supplies.csv"), by_word)
});

/// Words of the kind column of connectors.csv.
pub(super) static KINDS: LazyLock<Words<ConnectorKind>> = LazyLock::new(|| {
    let by_word = |word: &str| {
        Some(match word {
            "plug" => ConnectorKind::Plug,
            "inline" => ConnectorKind::Inline,
            "relay" => ConnectorKind::Relay,
            "fuse box" => ConnectorKind::FuseBox,
            "stud" => ConnectorKind::Stud,
            "splice" => ConnectorKind::Splice,
            _ => return None,
        })
    };
    Words::from_table(include_str!("../../templates/words/kinds.csv"), by_word)
});

/// Words between `move` and its place, which mean nothing of their own.
const TOWARDS: [&str; 8] = ["to", "into", "nach", "auf", "in", "zu", "->", "→"];

/// Reads `remove`, `move`, `move to J4/7`; `Err` names the nearest known word when there is one.
pub(super) fn action(cell: &str) -> Result<Action, Option<&'static str>> {
    if let Some(action) = ACTIONS.meaning(cell) {
        return Ok(action.clone());
    }
    let (first, rest) = cell.trim().split_once(char::is_whitespace).unwrap_or((cell, ""));
    if matches!(ACTIONS.meaning(first), Some(Action::Move(None))) {
        let rest = rest.trim();
        let place = match rest.split_once(char::is_whitespace) {
            Some((word, place)) if TOWARDS.iter().any(|towards| towards.eq_ignore_ascii_case(word)) => place,
            _ => rest,
        };
        if let Some(place) = Place::from_typed(place) {
            return Ok(Action::Move(Some(place)));
        }
    }
    Err(ACTIONS.nearest(cell).or_else(|| ACTIONS.nearest(first)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_line_of_every_table_counts() {
        let lines = |table: &str| table.lines().count() - 1;
        assert_eq!(ACTIONS.words.len(), lines(include_str!("../../templates/words/actions.csv")));
        assert_eq!(SUPPLIES.words.len(), lines(include_str!("../../templates/words/supplies.csv")));
        assert_eq!(KINDS.words.len(), lines(include_str!("../../templates/words/kinds.csv")));
        for word in ACTIONS.words.iter().chain(&SUPPLIES.words).chain(&KINDS.words) {
            assert_eq!(&plain(word), word, "tables hold plain words");
        }
    }

    /// Terminal numbers of DIN 72552 as they are commonly printed: 15 switched positive, 30 battery positive, 31 battery
    /// negative, 50 starter control (seen in public second-hand tables), 58 side and instrument lamps (from memory).
    #[test]
    fn terminal_numbers_of_din_72552() {
        let numbers = [
            ("15", Supply::Switched),
            ("30", Supply::Constant),
            ("31", Supply::Ground),
            ("50", Supply::Start),
            ("58", Supply::Lighting),
        ];
        for (number, supply) in numbers {
            assert_eq!(SUPPLIES.meaning(number), Some(supply), "{number}");
            assert_eq!(SUPPLIES.meaning(&format!("Kl. {number}")), Some(supply), "{number}");
        }
        for relay_terminal in ["85", "86", "87", "87a"] {
            assert_eq!(SUPPLIES.meaning(relay_terminal), None);
        }
    }

    #[test]
    fn actions_as_people_write_them() {
        let place = |typed| Place::from_typed(typed);
        assert_eq!(action("Remove"), Ok(Action::Remove));
        assert_eq!(action("entfernen"), Ok(Action::Remove));
        assert_eq!(action("move"), Ok(Action::Move(None)));
        for cell in ["move J4/7", "Move to J4/7", "move to J4 7", "versetzen nach J4/7", "move -> J4/7"] {
            assert_eq!(action(cell), Ok(Action::Move(place("J4/7"))), "{cell}");
        }
        assert_eq!(action("?"), Ok(Action::Undecided));
        assert_eq!(action("remvoe"), Err(Some("remove")));
        assert_eq!(action("KEPE"), Err(Some("keep")));
        assert_eq!(action("del"), Err(Some("delete")));
        assert_eq!(action("paint it"), Err(None));
    }
}
