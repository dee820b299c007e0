//! What a choice of tags comes to before anything is printed: tags that all hang there already, or none at all, and why.

use std::collections::BTreeMap;

use super::choice::{Choice, Connectors, Only, Side};
use super::failure::RunFailure;
use super::reading::Reading;
use super::register;
use super::stale::OnWires;
use crate::base::{Page, Purpose, Remedy, TagKind, counted};
use crate::codes::Issued;
use crate::labels::{Label, Reach, Subject};

/// Tags that were all printed before.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PrintedBefore {
    /// How many.
    pub tags: usize,
    /// How many of them would say something else now.
    pub changed: usize,
}

impl PrintedBefore {
    /// `all 3 tags were printed already, and say what they would say now`, and how to print fewer.
    pub fn in_words(&self) -> Remedy {
        let (all, say, these) = match self.tags {
            1 => ("this tag was".to_owned(), "says what it", "it"),
            tags => (format!("all {tags} tags were"), "say what they", "them"),
        };
        let (state, only) = match self.changed {
            0 => (format!("{say} would say now"), "what is new or has changed"),
            1 => ("1 would say something else now".to_owned(), "that one"),
            changed => (format!("{changed} would say something else now"), "those"),
        };
        let fewer = format!(
            "; this prints {these} again: `loomtag tags --changed` prints only {only}, `loomtag reprint J1/14` a single one"
        );
        let in_browser = Page::Words("; a second copy of a code must not end on another wire");
        Remedy::from(format!("{all} printed already, and {state}")).and_by(fewer, in_browser)
    }
}

/// Whether all tags of a choice were printed already; `None` when one of them is new, or there are none.
///
/// # Errors
/// [`RunFailure`] when the register cannot be read.
pub fn printed_before(reading: &Reading, choice: &Choice) -> Result<Option<PrintedBefore>, RunFailure> {
    let register = register::open_to_read(reading.job.folder())?;
    if register.last_run()?.is_none() {
        return Ok(None);
    }
    let issued = register.preview(&reading.circuits)?;
    let on_wires = OnWires::read(&register, &register.records()?, |_, _| ())?;
    let mut before = PrintedBefore { tags: 0, changed: 0 };
    for (purpose, subject, label) in labels(reading, choice, &issued) {
        // What cannot be made is none of these.
        let is_other = |kind: TagKind| !choice.wants(kind);
        let made = || reading.equipment.make(&label).ok();
        if !choice.kinds.is_empty() && made().is_none_or(|made| is_other(made.tag.facts.kind)) {
            continue;
        }
        if !on_wires.has(&label) {
            if made().is_none() {
                continue;
            }
            return Ok(None);
        }
        before.tags += 1;
        before.changed += usize::from(on_wires.due(reading, &issued, purpose, &subject, &label, made).is_some());
    }
    Ok((before.tags > 0).then_some(before))
}

/// Why a choice comes to no tag.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoTags {
    /// There are tags, of other kinds: how many of each.
    OtherKinds(BTreeMap<TagKind, usize>),
    /// The kinds that were asked for are not of the purpose that was asked for.
    OtherPurpose(Purpose),
    /// No end has the action of this word.
    NoSuchAction(&'static str),
    /// No end is all that was asked for at once.
    NothingInCommon,
    /// Ends were found, and none of them wants such a tag: how many have each action.
    NoneWanted(BTreeMap<&'static str, usize>),
    /// The lists have no end.
    NoEnds,
}

impl NoTags {
    /// Why, of this choice, and what gives some: `the ends that were chosen need none (12 keep); final tags go on ends that come free`.
    pub fn in_words(&self, choice: &Choice) -> Remedy {
        match self {
            Self::OtherKinds(kinds) => {
                let come: Vec<String> = kinds.iter().map(|(kind, count)| counted(*count, kind.word())).collect();
                let asked: Vec<&str> = choice.kinds.iter().map(|kind| kind.word()).collect();
                let words: Vec<&str> = kinds.keys().map(|kind| kind.word()).collect();
                let print = if kinds.values().sum::<usize>() == 1 { "prints it" } else { "prints them" };
                let what =
                    format!("what was chosen comes to {}, and to none of kind {}", come.join(", "), asked.join(" or "));
                Remedy::from(what).and_by(format!("; `--kind {}` {print}", words.join(",")), Page::Words(""))
            }
            Self::OtherPurpose(Purpose::Final) => {
                "sleeves and strips are final tags, and work tags were asked for".into()
            }
            Self::OtherPurpose(Purpose::Work) => {
                "flags, wraps and tie-ons are work tags, and final tags were asked for".into()
            }
            Self::NoSuchAction(word) => Remedy::from(format!("no end has the action `{word}`"))
                .and_by("; `loomtag check` counts the actions", Page::Words("")),
            Self::NothingInCommon => "no end is all of what was asked for at once; leave one of it out".into(),
            Self::NoneWanted(actions) => {
                let ends: Vec<String> = actions.iter().map(|(action, count)| format!("{count} {action}")).collect();
                let chosen = match actions.values().sum() {
                    1 => "the end that was chosen needs none",
                    _ => "the ends that were chosen need none",
                };
                let why = Remedy::from(format!("{chosen} ({})", ends.join(", ")));
                choice.purposes.iter().fold(why, |why, purpose| match purpose {
                    Purpose::Work => why
                        .words("; work tags go on ends that lose their housing and on their far ends (")
                        .and_by("--all prints every end", Page::Words("`every end` asks for all"))
                        .words(")"),
                    Purpose::Final => why.words("; final tags go on ends that come free"),
                })
            }
            Self::NoEnds => "the lists have no end".into(),
        }
    }
}

/// Why a choice comes to no tag; `None` when it comes to some, be they refused. Whether tags were printed is not asked.
///
/// # Errors
/// [`RunFailure`] when the register cannot be read.
pub fn no_tags(reading: &Reading, choice: &Choice) -> Result<Option<NoTags>, RunFailure> {
    let register = register::open_to_read(reading.job.folder())?;
    let issued = register.preview(&reading.circuits)?;
    let mut others: BTreeMap<TagKind, usize> = BTreeMap::new();
    for (_, _, label) in labels(reading, choice, &issued) {
        let made = reading.equipment.make(&label).map(|made| made.tag.facts.kind);
        let kind = made.unwrap_or_else(|_| reading.equipment.kind_asked(&label));
        if choice.wants(kind) {
            return Ok(None);
        }
        *others.entry(kind).or_default() += 1;
    }
    if !others.is_empty() {
        return Ok(Some(NoTags::OtherKinds(others)));
    }
    if let (true, Some(kind)) = (choice.purposes.is_empty(), choice.kinds.first()) {
        return Ok(Some(NoTags::OtherPurpose(kind.purpose())));
    }
    // Ends as they lie in the lists, whatever shall be done with them.
    let found = |only: Vec<Vec<Only>>| -> BTreeMap<&'static str, usize> {
        let (reach, connectors) = (Reach::All, Connectors::Untagged);
        let all = Choice { only, reach, connectors, doubled: choice.doubled, side: Side::This, ..Choice::default() };
        let mut actions = BTreeMap::new();
        for subject in all.select(&reading.circuits, &issued, Purpose::Work).subjects {
            let Subject::Ends(tag) = &subject else { continue };
            for end in &reading.circuits.all()[tag.circuit].ends()[tag.ends.clone()] {
                *actions.entry(end.action.word()).or_default() += 1;
            }
        }
        actions
    };
    let actions = found(choice.only.clone());
    if !actions.is_empty() {
        return Ok(Some(NoTags::NoneWanted(actions)));
    }
    if choice.only.is_empty() {
        return Ok(Some(NoTags::NoEnds));
    }
    let is_vain = |group: &&Vec<Only>| found(vec![(*group).clone()]).is_empty();
    let action = choice.only.iter().filter(is_vain).flatten().find_map(|only| match only {
        Only::Action(word) => Some(*word),
        _ => None,
    });
    Ok(Some(action.map_or(NoTags::NothingInCommon, NoTags::NoSuchAction)))
}

/// The labels that a choice names, whatever kind of tag they come to.
fn labels<'a>(
    reading: &'a Reading,
    choice: &'a Choice,
    issued: &'a Issued,
) -> impl Iterator<Item = (Purpose, Subject, Label)> + 'a {
    choice.purposes.iter().flat_map(move |&purpose| {
        let subjects = choice.select(&reading.circuits, issued, purpose).subjects.into_iter();
        subjects.map(move |subject| {
            let label = reading.sources(issued).label(purpose, &subject);
            (purpose, subject, label)
        })
    })
}
