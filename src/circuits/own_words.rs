//! The user's own words for what stands in cells: `del` for remove, `BL` for BU. They come from job.toml, a list's own before
//! those of the whole job, and go before the words that everybody knows.

use std::collections::BTreeMap;

use super::words::{self, plain};
use super::{Action, ConnectorKind, Supply, TagWish};
use crate::base::colour::Colours;
use crate::base::nearest::{did_you_mean, listed};
use crate::base::{Insulation, Stated, TagKind, WireColour};

/// Own words for the cells of one column, each with the place in job.toml that says it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Own<T>(BTreeMap<String, Stated<T>>);

impl<T> Default for Own<T> {
    fn default() -> Self {
        Self(BTreeMap::new())
    }
}

impl<T: Clone> Own<T> {
    /// What a word means, and where job.toml says so; neither case nor repeated spaces matter.
    pub(super) fn stated(&self, word: &str) -> Option<&Stated<T>> {
        if self.0.is_empty() { None } else { self.0.get(plain(word).as_ref()) }
    }

    /// What a word means.
    pub(super) fn meaning(&self, word: &str) -> Option<&T> {
        self.stated(word).map(|stated| &stated.value)
    }

    /// All words, in lower case.
    pub(super) fn words(&self) -> impl Iterator<Item = &str> {
        self.0.keys().map(String::as_str)
    }

    /// These words, and those of `other` for all else.
    fn before(&self, other: &Self) -> Self {
        let mut both = other.0.clone();
        both.extend(self.0.clone());
        Self(both)
    }

    fn add<E>(
        &mut self,
        word: &Stated<String>,
        meaning: Result<T, E>,
        remedy: impl FnOnce(E) -> String,
    ) -> Result<(), String> {
        let meaning = meaning.map_err(remedy)?;
        let value = Stated { value: meaning, origin: word.origin.clone() };
        match self.0.insert(plain(&word.value).into_owned(), value) {
            None => Ok(()),
            Some(_) => Err(format!("`{}` stands here twice: case and spaces do not matter", word.value)),
        }
    }
}

/// The user's own words of a job or a list.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct OwnWords {
    pub(super) action: Own<Action>,
    pub(super) supply: Own<Option<Supply>>,
    pub(super) colour: Own<Colours>,
    pub(super) kind: Own<ConnectorKind>,
    pub(super) insulation: Own<Insulation>,
    pub(super) tag: Own<TagWish>,
}

impl OwnWords {
    /// The columns whose words can be one's own, as job.toml names them.
    pub const COLUMNS: [&'static str; 6] = ["action", "supply", "colour", "kind", "insulation", "tag"];

    /// The action that a word stands for, as an action column has it; `Err` names the nearest known word when there is one.
    pub fn action(&self, typed: &str) -> Result<Action, Option<&str>> {
        words::action_with(typed, self)
    }

    /// These words, and those of `other` for all that these do not have.
    #[must_use]
    pub fn before(&self, other: &Self) -> Self {
        Self {
            action: self.action.before(&other.action),
            supply: self.supply.before(&other.supply),
            colour: self.colour.before(&other.colour),
            kind: self.kind.before(&other.kind),
            insulation: self.insulation.before(&other.insulation),
            tag: self.tag.before(&other.tag),
        }
    }

    /// Adds a word of one of [`Self::COLUMNS`]. The blank word stands for blank cells, and only actions and supplies have it.
    ///
    /// # Errors
    /// What to write instead, where `meaning` is no meaning of that column.
    pub fn add(&mut self, column: &str, word: &Stated<String>, meaning: &str) -> Result<(), String> {
        if word.value.trim().is_empty() && !matches!(column, "action" | "supply") {
            return Err(format!("only blank cells of action and supply can mean something: leave it out of {column}"));
        }
        let nobody = Self::default();
        let or_choose = |near: Option<&str>, all: &[&str]| match near {
            Some(near) => did_you_mean(near),
            None => format!("choose from {}", listed(all)),
        };
        match column {
            "action" => self.action.add(word, words::action(meaning), |near| or_choose(near, &Action::WORDS)),
            "supply" => {
                let read = if meaning == NOTHING { Ok(None) } else { words::supply(meaning) };
                let all = [&Supply::ALL.map(Supply::word)[..], &[NOTHING]].concat();
                self.supply.add(word, read, |near| or_choose(near, &all))
            }
            "colour" => {
                let read = WireColour::from_cell(meaning).and_then(|colour| Some((colour.base()?, colour.stripe())));
                self.colour
                    .add(word, read.ok_or(()), |()| "write a colour of IEC 60757: `BU`, `BU/WH`, `blue`".to_owned())
            }
            "kind" => self.kind.add(word, words::kind(meaning, &nobody), |near| or_choose(near, &ConnectorKind::WORDS)),
            "insulation" => {
                let all = Insulation::ALL.map(Insulation::word);
                self.insulation.add(word, words::insulation(meaning), |near| or_choose(near, &all))
            }
            _ => {
                let all = TagKind::WORDS.map(|(word, _)| word);
                self.tag.add(word, words::tag_wish(meaning, &nobody), |wrong| match wrong {
                    words::NotATagWish::Unknown(_, near) => or_choose(near.as_deref(), &all),
                    words::NotATagWish::TwoOfOnePurpose(..) => {
                        "an end has at most one work tag and one final tag".to_owned()
                    }
                })
            }
        }
    }

    /// The action of blank cells.
    pub fn blank_action(&self) -> Option<Action> {
        self.action.meaning("").cloned()
    }

    /// The supply of blank cells.
    pub fn blank_supply(&self) -> Option<Supply> {
        self.supply.meaning("").copied().flatten()
    }

    /// Whether a word of its own stands for this text in such a column; dashes may be one.
    pub(super) fn knows(&self, column: super::headers::Column, text: &str) -> bool {
        use super::headers::Column::{Action, Colour, FromAction, Insulation, Kind, Supply, ToAction};
        match column {
            Action | FromAction | ToAction => self.action.stated(text).is_some(),
            Supply => self.supply.stated(text).is_some(),
            Colour => self.colour.stated(text).is_some(),
            Kind => self.kind.stated(text).is_some(),
            Insulation => self.insulation.stated(text).is_some(),
            _ => false,
        }
    }
}

/// The meaning of a supply word that says nothing of the circuit's feed.
const NOTHING: &str = "nothing";
