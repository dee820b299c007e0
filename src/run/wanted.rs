//! Tags as they are asked for in words, by a command or by a page: the words come in, a choice goes out, or what they name in vain.

use std::cell::OnceCell;
use std::collections::BTreeSet;

use super::choice::{Choice, Connectors, Only, Side};
use super::failure::RunFailure;
use super::named::{NotNamed, connector_of, only_from_typed, unknown};
use super::reading::Reading;
use super::recall::{Recall, recall};
use crate::base::nearest::{did_you_mean, did_you_mean_or_choose, nearest};
use crate::base::{CircuitId, Page, Purpose, Remedy, TagKind};
use crate::circuits::{Action, End};
use crate::labels::{Doubled, Reach};

/// Tags as they are asked for; nothing asks for what is usual.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Wanted {
    /// Work tags only.
    pub work: bool,
    /// Final tags only.
    pub final_tags: bool,
    /// Every end.
    pub all: bool,
    /// Removed ends too.
    pub removed: bool,
    /// Two tags for a doubled cavity.
    pub apart: bool,
    /// No tags for connectors that stay whole.
    pub no_connectors: bool,
    /// Marks along the wires too.
    pub along: bool,
    /// Not the far ends of what is chosen.
    pub this_end: bool,
    /// Connectors.
    pub connector: Vec<String>,
    /// Legs of the harness.
    pub branch: Vec<String>,
    /// Words of actions.
    pub action: Vec<String>,
    /// Words of kinds of tags.
    pub kind: Vec<String>,
    /// Designations.
    pub circuit: Vec<String>,
    /// Codes and places.
    pub code: Vec<String>,
    /// Codes, places, connectors and designations of a list, each with where it stands: `cut-list.txt:3:1`.
    pub listed: Option<Vec<(String, String)>>,
}

/// Something that names nothing, with what was meant perhaps.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct InVain {
    /// Where it stands, if in a list: `cut-list.txt:3:1`.
    pub at: Option<String>,
    /// Why it names nothing.
    pub why: String,
    /// What to do.
    pub remedy: Remedy,
}

/// The words of the actions.
pub const ACTIONS: [&str; 8] = [
    Action::Undecided.word(),
    Action::Keep.word(),
    Action::Remove.word(),
    Action::Cut.word(),
    Action::Move(None).word(),
    Action::Add.word(),
    Action::Extend.word(),
    Action::Reserve.word(),
];

impl Wanted {
    /// What is chosen; or all that names nothing.
    ///
    /// # Errors
    /// [`RunFailure`] when the register cannot be read.
    pub fn chosen(&self, reading: &Reading) -> Result<Result<Choice, Vec<InVain>>, RunFailure> {
        let mut choosing = Choosing { reading, recall: None, places: OnceCell::new(), in_vain: Vec::new() };
        let only = choosing.all(self)?;
        let in_vain = choosing.in_vain;
        Ok(if in_vain.is_empty() { Ok(Choice { only, ..self.choice(reading) }) } else { Err(in_vain) })
    }

    /// What is chosen as far as nothing of the lists is named.
    pub fn choice(&self, reading: &Reading) -> Choice {
        let purposes = match (self.work, self.final_tags) {
            (true, false) => vec![Purpose::Work],
            (false, true) => vec![Purpose::Final],
            _ => vec![Purpose::Work, Purpose::Final],
        };
        let reach = match (self.all, self.removed) {
            (true, _) => Reach::All,
            (_, true) => Reach::WithRemoved,
            _ => Reach::Needed,
        };
        let doubled = if self.apart { Doubled::Apart } else { Doubled::Together };
        // A connector of which rows are missing may not stay whole.
        let is_known = reading.knows_all_rows();
        let connectors = if self.no_connectors || !is_known { Connectors::Untagged } else { Connectors::Tagged };
        let along = self.along.then_some(reading.job.tags().setback.value);
        let side = if self.this_end { Side::This } else { Side::Both };
        let kinds: Vec<TagKind> = self.kind.iter().filter_map(|word| TagKind::from_word(word)).collect();
        // Of tags that are left out on purpose nothing is told, not even that they cannot be made.
        let is_asked = |purpose: &Purpose| kinds.is_empty() || kinds.iter().any(|kind| kind.purpose() == *purpose);
        let purposes = purposes.into_iter().filter(is_asked).collect();
        Choice { purposes, reach, doubled, connectors, along, side, kinds, ..Choice::default() }
    }
}

/// Words while they are looked up in the lists.
struct Choosing<'a> {
    reading: &'a Reading,
    /// Read when a code is looked for.
    recall: Option<Recall>,
    /// Every place, made when one is looked for that is nearly what was typed.
    places: OnceCell<BTreeSet<String>>,
    in_vain: Vec<InVain>,
}

impl Choosing<'_> {
    /// What each sort of words chooses; those that were not given choose nothing.
    fn all(&mut self, wanted: &Wanted) -> Result<Vec<Vec<Only>>, RunFailure> {
        let mut all = Vec::new();
        all.extend(self.each(&wanted.connector, Self::connector)?);
        all.extend(self.each(&wanted.branch, Self::branch)?);
        all.extend(self.each(&wanted.action, Self::action)?);
        all.extend(self.each(&wanted.circuit, Self::circuit)?);
        all.extend(self.each(&wanted.code, |choosing, typed| choosing.typed(typed, None))?);
        if let Some(list) = &wanted.listed {
            let mut listed = Vec::new();
            for (at, typed) in list {
                listed.extend(self.typed(typed, Some(at.clone()))?);
            }
            all.push(listed);
        }
        Ok(all)
    }

    fn each(
        &mut self,
        typed: &[String],
        mut find: impl FnMut(&mut Self, &str) -> Result<Option<Only>, RunFailure>,
    ) -> Result<Option<Vec<Only>>, RunFailure> {
        let mut found = Vec::new();
        for word in typed {
            found.extend(find(self, word.trim())?);
        }
        Ok((!typed.is_empty()).then_some(found))
    }

    fn ends(&self) -> impl Iterator<Item = &End> {
        self.reading.circuits.all().iter().flat_map(|circuit| circuit.ends())
    }

    fn miss(&mut self, at: Option<String>, why: String, remedy: impl Into<Remedy>) {
        let remedy = remedy.into();
        self.in_vain.push(InVain { at, why, remedy });
    }

    /// A place, connector or designation that is nearly what was typed. Each search takes its time, and after some the reader
    /// has got the point.
    fn near(&self, typed: &str) -> Option<String> {
        const MOST_SEARCHED: usize = 20;
        if self.in_vain.len() >= MOST_SEARCHED {
            return None;
        }
        let places = self.places.get_or_init(|| self.ends().map(|end| end.place.to_string()).collect());
        let connectors: BTreeSet<&str> = self.ends().map(|end| end.place.connector.as_str()).collect();
        let designations = self.reading.circuits.all().iter().map(|circuit| circuit.id().as_str());
        let known = places.iter().map(String::as_str).chain(connectors).chain(designations);
        nearest(typed, known).map(did_you_mean)
    }

    fn connector(&mut self, typed: &str) -> Result<Option<Only>, RunFailure> {
        let found = connector_of(&self.reading.circuits, typed);
        if found.is_none() {
            let known: BTreeSet<&str> = self.ends().map(|end| end.place.connector.as_str()).collect();
            let remedy = did_you_mean_or_choose(typed, &known.into_iter().collect::<Vec<_>>());
            self.miss(None, format!("no list names a connector `{typed}`"), remedy);
        }
        Ok(found.map(Only::Connector))
    }

    fn branch(&mut self, typed: &str) -> Result<Option<Only>, RunFailure> {
        let branches: BTreeSet<&str> = self.ends().filter_map(|end| end.branch.as_deref()).collect();
        if branches.iter().any(|branch| branch.eq_ignore_ascii_case(typed)) {
            return Ok(Some(Only::Branch(typed.to_owned())));
        }
        let remedy = match branches.is_empty() {
            true => "no row has a branch: fill the column `branch`".to_owned(),
            false => did_you_mean_or_choose(typed, &branches.into_iter().collect::<Vec<_>>()),
        };
        self.miss(None, format!("no list names a branch `{typed}`"), remedy);
        Ok(None)
    }

    fn action(&mut self, typed: &str) -> Result<Option<Only>, RunFailure> {
        let found = ACTIONS.into_iter().find(|word| *word == typed).map(Only::Action);
        if found.is_none() {
            let remedy = did_you_mean_or_choose(typed, &ACTIONS);
            self.miss(None, format!("there is no action `{typed}`"), remedy);
        }
        Ok(found)
    }

    fn circuit(&mut self, typed: &str) -> Result<Option<Only>, RunFailure> {
        let found = self.designated(typed);
        if found.is_none() {
            let known: Vec<&str> = self.reading.circuits.all().iter().map(|circuit| circuit.id().as_str()).collect();
            let remedy = did_you_mean_or_choose(typed, &known);
            self.miss(None, format!("no list names a circuit `{typed}`"), remedy);
        }
        Ok(found)
    }

    fn designated(&self, typed: &str) -> Option<Only> {
        let ids = || self.reading.circuits.all().iter().map(|circuit| circuit.id());
        let is_like = |id: &&CircuitId| id.as_str().eq_ignore_ascii_case(typed);
        let id = ids().find(|id| id.as_str() == typed).or_else(|| ids().find(is_like))?;
        Some(Only::Circuit(id.clone()))
    }

    /// A code, a place, a connector or a designation.
    fn typed(&mut self, typed: &str, at: Option<String>) -> Result<Option<Only>, RunFailure> {
        let recall = match self.recall.take() {
            Some(recall) => recall,
            None => recall(self.reading)?,
        };
        let found = only_from_typed(typed, &self.reading.circuits, &recall);
        self.recall = Some(recall);
        match found {
            Ok(only) => Ok(Some(only)),
            Err(NotNamed::Unknown(_)) if self.designated(typed).is_some() => Ok(self.designated(typed)),
            Err(NotNamed::Unknown(_)) => {
                let how = || {
                    Remedy::from("codes are those of tags, places are written `J1/14`; ")
                        .and_by("`loomtag find`", Page::Find)
                        .words(" looks for words")
                };
                let remedy = self.near(typed).map_or_else(how, Remedy::from);
                self.miss(at, unknown(typed), remedy);
                Ok(None)
            }
            Err(why) => {
                self.miss(at, why.to_string(), why.remedy().unwrap_or_else(|| "leave it out".into()));
                Ok(None)
            }
        }
    }
}
