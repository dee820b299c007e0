//! Which tags were asked for: the flags of `check` and `tags` come in, a choice goes out, or what they name in vain.

use std::collections::BTreeSet;
use std::fs;
use std::io::Read as _;
use std::path::Path;

use serde_json::json;

use super::args::Which;
use super::complaint::Complaint;
use super::find::unknown;
use super::output::Output;
use crate::base::nearest::{did_you_mean, did_you_mean_or_choose, nearest};
use crate::base::{CircuitId, Purpose, TagKind};
use crate::circuits::{Action, End};
use crate::labels::{Doubled, Reach};
use crate::run::named::{connector_of, only_from_typed};
use crate::run::recall::Recall;
use crate::run::{self, Choice, Connectors, NotNamed, Only, Reading, Side};

/// Longest list of what to choose that is read, in bytes: a hundred thousand places are shorter.
const LONGEST_LIST: u64 = 4 << 20;

/// Something that names nothing, with what was meant perhaps.
struct InVain {
    /// Where it stands, if not among the arguments: `cut-list.txt:3:1`.
    at: Option<String>,
    why: String,
    remedy: String,
}

/// What the flags choose; `None` when some name nothing, which is told.
pub fn chosen(which: &Which, reading: &Reading, json: bool, output: &mut Output) -> Result<Option<Choice>, Complaint> {
    let mut choosing = Choosing { reading, recall: None, in_vain: Vec::new() };
    let only = choosing.all(which)?;
    let in_vain = choosing.in_vain;
    if in_vain.is_empty() {
        return Ok(Some(Choice { only, ..choice(which, reading) }));
    }
    if json {
        let one = |found: &InVain| json!({ "at": found.at, "why": found.why, "remedy": found.remedy });
        output.json(&json!({ "unknown": in_vain.iter().map(one).collect::<Vec<_>>() }))?;
    } else {
        for InVain { at, why, remedy } in in_vain {
            let at = at.map(|at| format!("{at}: ")).unwrap_or_default();
            output.line(format!("{at}{why}; {remedy}"))?;
        }
    }
    Ok(None)
}

/// What the flags choose that name nothing of the lists.
pub fn choice(which: &Which, reading: &Reading) -> Choice {
    let purposes = match (which.work, which.final_tags) {
        (true, false) => vec![Purpose::Work],
        (false, true) => vec![Purpose::Final],
        _ => vec![Purpose::Work, Purpose::Final],
    };
    let reach = match (which.all, which.removed) {
        (true, _) => Reach::All,
        (_, true) => Reach::WithRemoved,
        _ => Reach::Needed,
    };
    let doubled = if which.apart { Doubled::Apart } else { Doubled::Together };
    // A connector of which rows are missing may not stay whole.
    let is_known = reading.knows_all_rows();
    let connectors = if which.no_connectors || !is_known { Connectors::Untagged } else { Connectors::Tagged };
    let along = which.along.then_some(reading.job.tags().setback.value);
    let side = if which.this_end { Side::This } else { Side::Both };
    let kinds: Vec<TagKind> = which.kind.iter().filter_map(|word| TagKind::from_word(word)).collect();
    // Of tags that are left out on purpose nothing is told, not even that they cannot be made.
    let is_asked = |purpose: &Purpose| kinds.is_empty() || kinds.iter().any(|kind| kind.purpose() == *purpose);
    let purposes = purposes.into_iter().filter(is_asked).collect();
    Choice { purposes, reach, doubled, connectors, along, side, kinds, ..Choice::default() }
}

/// Flags while they are looked up in the lists.
struct Choosing<'a> {
    reading: &'a Reading,
    /// Read when a code is looked for.
    recall: Option<Recall>,
    in_vain: Vec<InVain>,
}

impl Choosing<'_> {
    /// What each flag chooses; those that were not given choose nothing.
    fn all(&mut self, which: &Which) -> Result<Vec<Vec<Only>>, Complaint> {
        let mut all = Vec::new();
        all.extend(self.each(&which.connector, Self::connector)?);
        all.extend(self.each(&which.branch, Self::branch)?);
        all.extend(self.each(&which.action, |_, word| Ok(action(word).map(Only::Action)))?);
        all.extend(self.each(&which.circuit, Self::circuit)?);
        all.extend(self.each(&which.code, |choosing, typed| choosing.typed(typed, None))?);
        if let Some(path) = &which.from_file {
            let listed = self.listed(path)?;
            all.push(listed);
        }
        Ok(all)
    }

    fn each(
        &mut self,
        typed: &[String],
        mut find: impl FnMut(&mut Self, &str) -> Result<Option<Only>, Complaint>,
    ) -> Result<Option<Vec<Only>>, Complaint> {
        let mut found = Vec::new();
        for word in typed {
            found.extend(find(self, word.trim())?);
        }
        Ok((!typed.is_empty()).then_some(found))
    }

    fn ends(&self) -> impl Iterator<Item = &End> {
        self.reading.circuits.all().iter().flat_map(|circuit| circuit.ends())
    }

    fn miss(&mut self, at: Option<String>, why: String, remedy: String) {
        self.in_vain.push(InVain { at, why, remedy });
    }

    /// A place, connector or designation that is nearly what was typed. Each search takes its time, and after some the reader
    /// has got the point.
    fn near(&self, typed: &str) -> Option<String> {
        const MOST_SEARCHED: usize = 20;
        if self.in_vain.len() >= MOST_SEARCHED {
            return None;
        }
        let places: BTreeSet<String> = self.ends().map(|end| end.place.to_string()).collect();
        let connectors: BTreeSet<&str> = self.ends().map(|end| end.place.connector.as_str()).collect();
        let designations = self.reading.circuits.all().iter().map(|circuit| circuit.id().as_str());
        let known = places.iter().map(String::as_str).chain(connectors).chain(designations);
        nearest(typed, known).map(did_you_mean)
    }

    fn connector(&mut self, typed: &str) -> Result<Option<Only>, Complaint> {
        let found = connector_of(&self.reading.circuits, typed);
        if found.is_none() {
            let known: BTreeSet<&str> = self.ends().map(|end| end.place.connector.as_str()).collect();
            let remedy = did_you_mean_or_choose(typed, &known.into_iter().collect::<Vec<_>>());
            self.miss(None, format!("no list names a connector `{typed}`"), remedy);
        }
        Ok(found.map(Only::Connector))
    }

    fn branch(&mut self, typed: &str) -> Result<Option<Only>, Complaint> {
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

    fn circuit(&mut self, typed: &str) -> Result<Option<Only>, Complaint> {
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
    fn typed(&mut self, typed: &str, at: Option<String>) -> Result<Option<Only>, Complaint> {
        let recall = match self.recall.take() {
            Some(recall) => recall,
            None => run::recall(self.reading)?,
        };
        let found = only_from_typed(typed, &self.reading.circuits, &recall);
        self.recall = Some(recall);
        match found {
            Ok(only) => Ok(Some(only)),
            Err(NotNamed::Unknown(_)) if self.designated(typed).is_some() => Ok(self.designated(typed)),
            Err(NotNamed::Unknown(_)) => {
                let how = || "codes are those of tags, places are written `J1/14`; `loomtag find` looks for words";
                let remedy = self.near(typed).unwrap_or_else(|| how().to_owned());
                self.miss(at, unknown(typed), remedy);
                Ok(None)
            }
            Err(why) => {
                self.miss(at, why.to_string(), "leave it out".to_owned());
                Ok(None)
            }
        }
    }

    /// What a list names, one a line: its first cell, where it is a table; `#` begins a comment.
    #[expect(clippy::disallowed_methods, reason = "`terminal` reads what it is told to")]
    fn listed(&mut self, path: &Path) -> Result<Vec<Only>, Complaint> {
        let unread = |error: std::io::Error| Complaint::Typed {
            what: format!("cannot read `{}`: {error}", path.display()),
            remedy:
                "name a text file with a code, place, connector or designation on each line, or `-` for standard input"
                    .to_owned(),
        };
        let mut bytes = Vec::new();
        if path == Path::new("-") {
            std::io::stdin().take(LONGEST_LIST + 1).read_to_end(&mut bytes).map_err(unread)?;
        } else {
            fs::File::open(path).map_err(unread)?.take(LONGEST_LIST + 1).read_to_end(&mut bytes).map_err(unread)?;
        }
        let text = String::from_utf8(bytes).ok().filter(|text| text.len() as u64 <= LONGEST_LIST);
        let Some(text) = text else {
            let error = std::io::Error::new(std::io::ErrorKind::InvalidData, "it is no UTF-8 text, or too long");
            return Err(unread(error));
        };
        let mut listed = Vec::new();
        let mut names_something = false;
        for (line, typed) in text.trim_start_matches('\u{feff}').lines().enumerate() {
            let cell = typed.split(['\t', ';', ',']).next().unwrap_or_default().trim().trim_matches('"').trim();
            if cell.is_empty() || cell.starts_with('#') {
                continue;
            }
            names_something = true;
            let before = typed.find(cell).map_or(0, |at| typed[..at].chars().count());
            let at = format!("{}:{}:{}", path.display(), line + 1, before + 1);
            listed.extend(self.typed(cell, Some(at))?);
        }
        if !names_something {
            let remedy = "write a code, place, connector or designation on each line".to_owned();
            self.miss(Some(path.display().to_string()), "it names nothing".to_owned(), remedy);
        }
        Ok(listed)
    }
}

/// The words of the actions, for the help.
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

fn action(typed: &str) -> Option<&'static str> {
    ACTIONS.into_iter().find(|word| *word == typed)
}
