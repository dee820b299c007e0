//! The words in cells: actions, supplies, insulations, kinds of tags and of connectors as people write them, the user's own
//! before those of the tables in `templates/words`, and the nearest known word to one that is in neither.
//!
//! A word or a language is added by adding lines to a table; nothing here needs to change.

use std::borrow::Cow;
use std::collections::{BTreeMap, HashMap};
use std::sync::LazyLock;

use super::own_words::{Own, OwnWords};
use super::{Action, Case, ConnectorKind, Supply, TagWish};
use crate::base::nearest::nearest;
use crate::base::{Insulation, Place, Purpose, TagKind};

/// The source of a word that is a terminal number: its case matters, and it is near to no other.
const DIN_72552: &str = "DIN 72552";

/// The lines of a table below its header: meaning, language or other source, word.
fn lines(table: &'static str) -> impl Iterator<Item = (&'static str, &'static str, &'static str)> {
    table.lines().skip(1).filter_map(|line| {
        let mut cells = line.split(',');
        Some((cells.next()?, cells.next()?, cells.next()?))
    })
}

/// Words of a table, in lower case with single spaces, and what each means.
pub(super) struct Words<T> {
    meanings: HashMap<&'static str, T>,
    /// In the order of the table, so that the nearest word does not depend on hashing.
    pub(super) words: Vec<&'static str>,
}

impl<T: Copy> Words<T> {
    /// From a table `meaning,language,word` with a header line; `meaning_of` knows the meanings by their first column.
    pub(super) fn from_table(table: &'static str, meaning_of: impl Fn(&str) -> Option<T>) -> Self {
        let mut meanings = HashMap::new();
        let mut words = Vec::new();
        for (meaning, language, word) in lines(table) {
            if let Some(meaning) = meaning_of(meaning).filter(|_| language != DIN_72552) {
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

    /// The same with own words.
    fn nearest_with<'w, U: Clone>(&self, word: &str, own: &'w Own<U>) -> Option<&'w str> {
        nearest(&plain(word), own.words().chain(self.words.iter().copied()))
    }
}

/// No own words at all.
static NOBODYS: LazyLock<OwnWords> = LazyLock::new(OwnWords::default);

/// The action that a word stands for, as the action column has it; `Err` names the nearest known word when there is one.
pub fn action(typed: &str) -> Result<Action, Option<&'static str>> {
    action_with(typed, &NOBODYS)
}

/// The supply that a word or a terminal stands for, as the supply column has it; `Ok(None)` for a terminal that sets none,
/// `Err` names the nearest known word when there is one.
pub fn supply(typed: &str) -> Result<Option<Supply>, Option<&'static str>> {
    supply_with(typed, &NOBODYS)
}

/// The insulation that a word or type letters stand for, as the insulation column has it; `Err` names the nearest known word
/// when there is one.
pub fn insulation(typed: &str) -> Result<Insulation, Option<&'static str>> {
    insulation_with(typed, &NOBODYS)
}

/// Lower case, single spaces, no full stops.
pub(super) fn plain(word: &str) -> Cow<'_, str> {
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

const SUPPLY_TABLE: &str = include_str!("../../templates/words/supplies.csv");

fn supply_of(meaning: &str) -> Option<Supply> {
    Supply::ALL.into_iter().find(|supply| supply.word() == meaning)
}

/// Words of the supply column.
static SUPPLIES: LazyLock<Words<Supply>> = LazyLock::new(|| Words::from_table(SUPPLY_TABLE, supply_of));

/// Terminals of DIN 72552 as the standard writes them; those of relays, motors and the like are not supplies.
static TERMINALS: LazyLock<BTreeMap<&'static str, Option<Supply>>> = LazyLock::new(|| {
    let of_standard = lines(SUPPLY_TABLE).filter(|(_, source, _)| *source == DIN_72552);
    of_standard.map(|(meaning, _, terminal)| (terminal, supply_of(meaning))).collect()
});

/// What may stand before the number of a terminal.
const TERMINAL_WORDS: [&str; 4] = ["klemme", "kl", "terminal", "term"];

/// Reads the supply column: a word, or a terminal of DIN 72552 with or without `Kl.` before it. `Ok(None)` for a terminal that
/// is understood and sets nothing; `Err` names the nearest known word, or the terminal that differs in case only.
pub(super) fn supply_with<'w>(cell: &str, own: &'w OwnWords) -> Result<Option<Supply>, Option<&'w str>> {
    if let Some(supply) = own.supply.meaning(cell) {
        return Ok(*supply);
    }
    if let Some(supply) = SUPPLIES.meaning(cell) {
        return Ok(Some(supply));
    }
    let number = terminal_number(cell.trim());
    if let Some(supply) = TERMINALS.get(number) {
        return Ok(*supply);
    }
    // A number near to a terminal's is another terminal, not a slip; in another case it is one.
    let near = TERMINALS.keys().find(|terminal| terminal.eq_ignore_ascii_case(number)).copied();
    Err(near.or_else(|| SUPPLIES.nearest_with(cell, &own.supply)))
}

/// `31b` of `Kl. 31b`.
fn terminal_number(cell: &str) -> &str {
    let rest = TERMINAL_WORDS.iter().find_map(|word| {
        let (start, rest) = cell.split_at_checked(word.len())?;
        start.eq_ignore_ascii_case(word).then(|| rest.trim_start_matches('.').trim_start())
    });
    rest.filter(|rest| !rest.is_empty()).unwrap_or(cell)
}

static INSULATIONS: LazyLock<Words<Insulation>> =
    LazyLock::new(|| Words::from_table(include_str!("../../templates/words/insulations.csv"), Insulation::from_word));

/// Reads the insulation column: a word or type letters; `Err` names the nearest known word when there is one.
pub(super) fn insulation_with<'w>(cell: &str, own: &'w OwnWords) -> Result<Insulation, Option<&'w str>> {
    let known = own.insulation.meaning(cell).copied().or_else(|| INSULATIONS.meaning(cell));
    known.ok_or_else(|| INSULATIONS.nearest_with(cell, &own.insulation))
}

static TAG_KINDS: LazyLock<Words<TagKind>> = LazyLock::new(|| {
    let by_word = |meaning: &str| TagKind::WORDS.iter().find(|(word, _)| *word == meaning).map(|(_, kind)| *kind);
    Words::from_table(include_str!("../../templates/words/tags.csv"), by_word)
});

/// Why a cell of the tag column cannot be followed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum NotATagWish {
    /// A word that is no kind of tag, with the nearest that is one.
    Unknown(String, Option<String>),
    /// Two kinds of one purpose.
    TwoOfOnePurpose(TagKind, TagKind),
}

/// Reads `wrap`, `tie-on, strip`, `Fahne und Streifen`.
pub(super) fn tag_wish(cell: &str, own: &OwnWords) -> Result<TagWish, NotATagWish> {
    if let Some(wish) = own.tag.meaning(cell) {
        return Ok(*wish);
    }
    let mut wish = TagWish::default();
    let parts =
        cell.split([',', ';', '+', '&', '/']).flat_map(|part| part.split(" and ")).flat_map(|part| part.split(" und "));
    for word in parts.map(str::trim).filter(|word| !word.is_empty()) {
        let kinds = match own.tag.meaning(word) {
            Some(own) => [own.work, own.final_tag],
            None => {
                let near = || TAG_KINDS.nearest_with(word, &own.tag).map(str::to_owned);
                let kind = TAG_KINDS.meaning(word);
                [Some(kind.ok_or_else(|| NotATagWish::Unknown(word.to_owned(), near()))?), None]
            }
        };
        for kind in kinds.into_iter().flatten() {
            let place = match kind.purpose() {
                Purpose::Work => &mut wish.work,
                Purpose::Final => &mut wish.final_tag,
            };
            match place.replace(kind) {
                Some(first) if first != kind => return Err(NotATagWish::TwoOfOnePurpose(first, kind)),
                _ => {}
            }
        }
    }
    Ok(wish)
}

/// Words of the kind column of connectors.csv.
static KINDS: LazyLock<Words<ConnectorKind>> = LazyLock::new(|| {
    let all = [
        ConnectorKind::Plug,
        ConnectorKind::Inline,
        ConnectorKind::Relay,
        ConnectorKind::FuseBox,
        ConnectorKind::Stud,
        ConnectorKind::Splice,
    ];
    let by_word =
        |word: &str| ConnectorKind::WORDS.iter().zip(all).find(|(own, _)| **own == word).map(|(_, kind)| kind);
    Words::from_table(include_str!("../../templates/words/kinds.csv"), by_word)
});

/// Reads the kind column of connectors.csv; `Err` names the nearest known word when there is one.
pub(super) fn kind<'w>(cell: &str, own: &'w OwnWords) -> Result<ConnectorKind, Option<&'w str>> {
    let known = own.kind.meaning(cell).copied().or_else(|| KINDS.meaning(cell));
    known.ok_or_else(|| KINDS.nearest_with(cell, &own.kind))
}

/// Words of the case column of connectors.csv.
static CASES: LazyLock<Words<Case>> = LazyLock::new(|| {
    let by_word = |word: &str| match word {
        "matters" => Some(Case::Matters),
        "same" => Some(Case::Same),
        _ => None,
    };
    Words::from_table(include_str!("../../templates/words/cases.csv"), by_word)
});

/// Reads the case column of connectors.csv; `Err` names the nearest known word when there is one.
pub(super) fn case(cell: &str) -> Result<Case, Option<&'static str>> {
    CASES.meaning(cell).ok_or_else(|| CASES.nearest(cell))
}

/// Words between `move` and its place, which mean nothing of their own.
const TOWARDS: [&str; 8] = ["to", "into", "nach", "auf", "in", "zu", "->", "→"];

/// Reads `remove`, `move`, `move to J4/7`; `Err` names the nearest known word when there is one.
pub(super) fn action_with<'w>(cell: &str, own: &'w OwnWords) -> Result<Action, Option<&'w str>> {
    let meaning = |word: &str| own.action.meaning(word).or_else(|| ACTIONS.meaning(word));
    if let Some(action) = meaning(cell) {
        return Ok(action.clone());
    }
    let (first, rest) = cell.trim().split_once(char::is_whitespace).unwrap_or((cell, ""));
    if matches!(meaning(first), Some(Action::Move(None))) {
        let rest = rest.trim();
        let place = match rest.split_once(char::is_whitespace) {
            Some((word, place)) if TOWARDS.iter().any(|towards| towards.eq_ignore_ascii_case(word)) => place,
            _ => rest,
        };
        if let Some(place) = Place::from_typed(place) {
            return Ok(Action::Move(Some(place)));
        }
    }
    let near = |word: &str| ACTIONS.nearest_with(word, &own.action);
    Err(near(cell).or_else(|| near(first)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn supply(cell: &str) -> Result<Option<Supply>, Option<String>> {
        super::supply(cell).map_err(|near| near.map(str::to_owned))
    }

    fn tag_wish(cell: &str) -> Result<TagWish, NotATagWish> {
        super::tag_wish(cell, &OwnWords::default())
    }

    fn action(cell: &str) -> Result<Action, Option<String>> {
        super::action(cell).map_err(|near| near.map(str::to_owned))
    }

    fn near<T>(word: &str) -> Result<T, Option<String>> {
        Err(Some(word.to_owned()))
    }

    #[test]
    fn every_line_of_every_table_counts() {
        let lines = |table: &str| table.lines().count() - 1;
        assert_eq!(ACTIONS.words.len(), lines(include_str!("../../templates/words/actions.csv")));
        assert_eq!(SUPPLIES.words.len() + TERMINALS.len(), lines(SUPPLY_TABLE));
        assert_eq!(INSULATIONS.words.len(), lines(include_str!("../../templates/words/insulations.csv")));
        assert_eq!(TAG_KINDS.words.len(), lines(include_str!("../../templates/words/tags.csv")));
        assert_eq!(KINDS.words.len(), lines(include_str!("../../templates/words/kinds.csv")));
        assert_eq!(CASES.words.len(), lines(include_str!("../../templates/words/cases.csv")));
        let words = [&ACTIONS.words, &SUPPLIES.words, &INSULATIONS.words, &TAG_KINDS.words, &KINDS.words, &CASES.words];
        for word in words.into_iter().flatten() {
            assert_eq!(&plain(word), word, "tables hold plain words");
        }
        for (word, kind) in TagKind::WORDS {
            assert_eq!(TAG_KINDS.meaning(word), Some(kind));
        }
        for insulation in Insulation::ALL {
            assert_eq!(super::insulation(insulation.word()), Ok(insulation));
        }
    }

    #[test]
    fn terminals_stand_with_and_without_a_word_before_them() {
        for cell in ["30", "Kl. 30", "kl30", "KL 30", "Klemme 30", "terminal 30", "B+", "Kl. B+"] {
            assert_eq!(supply(cell), Ok(Some(Supply::Constant)), "{cell}");
        }
        assert_eq!(supply("Kl. 31b"), Ok(Some(Supply::Ground)));
        assert_eq!(supply("L"), Ok(Some(Supply::Lighting)));
        for relay_terminal in ["85", "86", "87", "87a", "87b", "Kl. 87"] {
            assert_eq!(supply(relay_terminal), Ok(None), "understood, and no supply");
        }
    }

    /// The standard writes `31b` and `L`; other cases may be something else.
    #[test]
    fn the_case_of_a_terminal_matters() {
        assert_eq!(supply("31B"), near("31b"));
        assert_eq!(supply("l"), near("L"));
        assert_eq!(supply("left L"), Err(None));
        assert_eq!(supply("29"), Err(None), "another terminal, not a slip");
        assert_eq!(supply("contsant"), near("constant"));
        assert_eq!(supply("kl"), Err(None));
    }

    /// Type letters as they are commonly read: FLRY has the thin wall of ISO 6722-1, FLY the thick one, TXL, GXL and SXL are
    /// walls of SAE J1128 (common practice).
    #[test]
    fn insulations_as_people_write_them() {
        for (cell, meaning) in [
            ("Thin wall", Insulation::ThinWall),
            ("FLRY-B", Insulation::ThinWall),
            ("TXL", Insulation::ThinWall),
            ("dünnwandig", Insulation::ThinWall),
            ("GXL", Insulation::ThickWall),
            ("SXL", Insulation::SpecialPurpose),
            ("UL 1015", Insulation::HookUp600),
            ("Hook-up 300 V", Insulation::HookUp300),
            ("Boat cable", Insulation::BoatCable),
        ] {
            assert_eq!(insulation(cell), Ok(meaning), "{cell}");
        }
        assert_eq!(insulation("thin-wal"), Err(Some("thin-wall")));
        assert_eq!(insulation("silicone rubber"), Err(None));
    }

    #[test]
    fn kinds_of_tags_in_any_combination() {
        let wish = |work, final_tag| Ok(TagWish { work, final_tag });
        use TagKind::{Flag, Sleeve, Strip, TieOn, Wrap};
        assert_eq!(tag_wish("wrap"), wish(Some(Wrap), None));
        for cell in ["tie-on, strip", "Strip + Tie on", "Anhänger und Streifen", "tie-on and strip", "strip;tie-on;"] {
            assert_eq!(tag_wish(cell), wish(Some(TieOn), Some(Strip)), "{cell}");
        }
        assert_eq!(tag_wish("sleeve"), wish(None, Some(Sleeve)));
        assert_eq!(tag_wish("flag, flag"), wish(Some(Flag), None));
        assert_eq!(tag_wish("flag, wrap"), Err(NotATagWish::TwoOfOnePurpose(Flag, Wrap)));
        assert_eq!(tag_wish("sleeve/strip"), Err(NotATagWish::TwoOfOnePurpose(Sleeve, Strip)));
        assert_eq!(tag_wish("flg"), Err(NotATagWish::Unknown("flg".to_owned(), Some("flag".to_owned()))));
        assert_eq!(tag_wish("strip, sticker"), Err(NotATagWish::Unknown("sticker".to_owned(), None)));
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
        assert_eq!(action("remvoe"), near("remove"));
        assert_eq!(action("KEPE"), near("keep"));
        assert_eq!(action("del"), near("delete"));
        assert_eq!(action("paint it"), Err(None));
    }
}
