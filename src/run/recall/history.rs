//! What happened to a circuit: codes issued, tags printed, notes of the bench. Comes in from the register, and goes out in the order of
//! time with each record.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::Timestamp;
use serde::Serialize;

use super::record::Record;
use crate::base::{EndLetter, TagCode};
use crate::codes::{Assignment, Blank, Noted, Notes, Outcome, PrintedTag, Renaming, Run, Spot};

/// One thing that happened.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Event {
    /// When, in universal time.
    pub at: String,
    /// `issued`, `printed`, `assigned`, `renamed` or `noted`.
    pub what: String,
    /// The ends that it was about, by their letters; none: the circuit as a whole.
    pub ends: Vec<String>,
    /// It in words.
    pub words: String,
    /// The number of the print run.
    pub run: Option<u32>,
    /// The number of the note.
    pub note: Option<u32>,
    /// The number of the note that stands in its place.
    pub superseded_by: Option<u32>,
}

/// The latest thing that happened to a job, whatever circuit it is about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Recent {
    /// When.
    pub at: Timestamp,
    /// The code that it was about; none of a print run.
    pub code: Option<TagCode>,
    /// The end.
    pub letter: Option<EndLetter>,
    /// It in words.
    pub words: String,
    /// The number of the print run.
    pub run: Option<u32>,
    /// The number of the note.
    pub note: Option<u32>,
    /// The number of the note that stands in its place.
    pub superseded_by: Option<u32>,
}

/// What happened to all circuits of a job, by their codes.
#[derive(Clone, Debug, Default)]
pub struct History {
    printed: Arc<BTreeMap<TagCode, Vec<Printed>>>,
    notes: Notes,
    renamings: Vec<Renaming>,
    assigned: Vec<(TagCode, Assignment)>,
    runs: Vec<Run>,
}

#[derive(Clone, Debug)]
struct Printed {
    at: Timestamp,
    run: u32,
    is_open: bool,
    letters: Vec<EndLetter>,
    spot: Spot,
    kind: String,
}

/// The tags of one run that name a circuit.
struct InRun<'a> {
    at: Timestamp,
    is_open: bool,
    /// For each kind of tag the ends that got one.
    kinds: BTreeMap<&'a str, Vec<String>>,
}

/// The moment as the register keeps it, in universal time: `2026-11-25 14:03 UTC`.
pub fn moment(at: Timestamp) -> String {
    at.strftime("%Y-%m-%d %H:%M UTC").to_string()
}

impl History {
    /// With these notes and renamings.
    pub fn new(notes: Notes, renamings: Vec<Renaming>) -> Self {
        Self::default().noted(notes, renamings)
    }

    /// The same, with these notes and renamings.
    #[must_use]
    pub fn noted(self, notes: Notes, renamings: Vec<Renaming>) -> Self {
        Self { notes, renamings, ..self }
    }

    /// The codes that notes, renamings and blanks are about, and those of the ends that blanks hang at.
    pub(super) fn told_of(&self) -> impl Iterator<Item = TagCode> {
        let noted = self.notes.all().iter().map(|noted| noted.note.code);
        let renamed = self.renamings.iter().map(|renaming| renaming.code);
        let assigned = self.assigned.iter();
        let assigned = assigned.flat_map(|(code, assigned)| [Some(*code), assigned.end.map(|end| end.0)]).flatten();
        noted.chain(renamed).chain(assigned)
    }

    /// The same, with all print runs.
    #[must_use]
    pub fn with_runs(self, runs: Vec<Run>) -> Self {
        Self { runs, ..self }
    }

    /// The last things that happened, the newest first, at most so many.
    pub fn recent(&self, most: usize) -> Vec<Recent> {
        let of = |at, code, words| Recent { at, code, words, letter: None, run: None, note: None, superseded_by: None };
        let notes = self.notes.all().iter().rev().take(most).map(|noted| Recent {
            letter: noted.note.letter,
            note: Some(noted.number),
            superseded_by: noted.superseded_by,
            ..of(noted.at, Some(noted.note.code), noted.note.in_words())
        });
        let runs = self.runs.iter().rev().take(most).map(|run| {
            let ended = match (run.end, run.is_unprinted) {
                (_, true) => ", never printed",
                (None, _) => ", cut off: its tags may exist",
                (Some((Outcome::Failed, _)), _) => ", given up",
                (Some((Outcome::Done, _)), _) => "",
            };
            let words = format!("printed{ended}: {}", run.what);
            Recent { run: Some(run.number.get()), ..of(run.planned, None, words) }
        });
        let renamings = self.renamings.iter().rev().take(most).map(|renaming| {
            of(
                renaming.at,
                Some(renaming.code),
                format!("renamed {}, before {}", renaming.designation, renaming.former),
            )
        });
        let assigned = self.assigned.iter().map(|(code, assigned)| {
            of(assigned.when, Some(*code), format!("blank proved to be {}", proved_to_be(assigned)))
        });
        let mut all: Vec<Recent> = notes.chain(runs).chain(renamings).chain(assigned).collect();
        all.sort_by_key(|recent| std::cmp::Reverse((recent.at, recent.note)));
        all.truncate(most);
        all
    }

    /// The last designation that the circuit of these codes was given by renaming.
    pub(super) fn last_name(&self, codes: &[TagCode]) -> Option<&Renaming> {
        self.renamings.iter().rev().find(|renaming| codes.contains(&renaming.code))
    }

    /// The same, with what blanks proved to be.
    #[must_use]
    pub fn assigned(self, blanks: &[Blank]) -> Self {
        let assigned = blanks.iter().filter_map(|blank| Some((blank.code, blank.assigned.clone()?)));
        Self { assigned: assigned.collect(), ..self }
    }

    /// A tag of a run was printed, unless the run was given up or never went through the printer.
    pub fn print(&mut self, run: &Run, tag: &PrintedTag) {
        if !run.may_be_there() {
            return;
        }
        Arc::make_mut(&mut self.printed).entry(tag.code).or_default().push(Printed {
            at: run.planned,
            run: run.number.get(),
            is_open: run.end.is_none(),
            letters: tag.letters.clone(),
            spot: tag.spot,
            kind: tag.kind.clone(),
        });
    }

    /// All notes.
    pub fn notes(&self) -> &Notes {
        &self.notes
    }

    /// What happened to a circuit since its code was issued.
    pub(super) fn of(&self, record: &Record) -> Vec<Event> {
        self.of_codes(&record.codes(), record.issued.as_deref().and_then(|at| at.parse().ok()))
    }

    /// What happened to what these codes name, the printed one first.
    pub(super) fn of_codes(&self, codes: &[TagCode], issued: Option<Timestamp>) -> Vec<Event> {
        let mut events: Vec<(Timestamp, Event)> = Vec::new();
        if let Some(at) = issued {
            let event = Event { what: "issued".to_owned(), words: "code issued".to_owned(), ..Event::default() };
            events.push((at, event));
        }
        let first = codes.first().copied();
        let name = |code: TagCode, text: String| match Some(code) == first {
            true => text,
            false => format!("{code} {text}").trim_end().to_owned(),
        };
        let mut runs: BTreeMap<u32, InRun<'_>> = BTreeMap::new();
        for &code in codes {
            for tag in self.printed.get(&code).into_iter().flatten() {
                let new = || InRun { at: tag.at, is_open: tag.is_open, kinds: BTreeMap::new() };
                let run = runs.entry(tag.run).or_insert_with(new);
                run.kinds.entry(&tag.kind).or_default().push(name(code, tag.spot.write(&tag.letters)));
            }
        }
        for (run, InRun { at, is_open, kinds }) in runs {
            let each = kinds.iter().map(|(kind, ends)| format!("{kind} {}", ends.join(", ")).trim_end().to_owned());
            let each = each.collect::<Vec<_>>().join("; ");
            let open = if is_open { ", which was cut off" } else { "" };
            let mut ends: Vec<String> = kinds.into_values().flatten().collect();
            ends.sort();
            ends.dedup();
            let words = format!("printed in run {run}{open}: {each}");
            events.push((at, Event { what: "printed".to_owned(), ends, words, run: Some(run), ..Event::default() }));
        }
        for (code, assigned) in self.assigned.iter().filter(|(code, _)| codes.contains(code)) {
            let words = format!("blank {code} proved to be {}", proved_to_be(assigned));
            events.push((assigned.when, Event { what: "assigned".to_owned(), words, ..Event::default() }));
        }
        for renaming in self.renamings.iter().filter(|renaming| codes.contains(&renaming.code)) {
            let words = format!("renamed {}, before {}", renaming.designation, renaming.former);
            events.push((renaming.at, Event { what: "renamed".to_owned(), words, ..Event::default() }));
        }
        events
            .extend(self.notes.of_codes(codes.iter().copied()).into_iter().map(|noted| (noted.at, note(noted, name))));
        events.sort_by_key(|(at, event)| (*at, event.note));
        events.into_iter().map(|(at, event)| Event { at: at.to_string(), ..event }).collect()
    }
}

fn proved_to_be(assigned: &Assignment) -> String {
    let what = [&assigned.designation, &assigned.place].map(String::as_str);
    what.into_iter().filter(|text| !text.is_empty()).collect::<Vec<_>>().join(", ")
}

fn note(noted: &Noted, name: impl Fn(TagCode, String) -> String) -> Event {
    let note = &noted.note;
    let end = name(note.code, note.letter.map(|letter| letter.to_string()).unwrap_or_default());
    Event {
        what: "noted".to_owned(),
        ends: Some(end).filter(|end| !end.is_empty()).into_iter().collect(),
        words: note.in_words(),
        note: Some(noted.number),
        superseded_by: noted.superseded_by,
        ..Event::default()
    }
}

impl Event {
    /// Its lines: time, end and words; a text of several lines goes on indented.
    pub fn lines(&self) -> Vec<String> {
        let at = self.at.parse().map(moment).unwrap_or_else(|_| self.at.clone());
        let mut head = format!("  {at}  ");
        if let Some(number) = self.note {
            let end = self.ends.first().map(|end| format!("{end}: ")).unwrap_or_default();
            head += &format!("note {number}, {end}");
        }
        let mut lines: Vec<String> = Vec::new();
        for (at, line) in self.words.split('\n').enumerate() {
            lines.push(if at == 0 { format!("{head}{line}") } else { format!("      {line}") });
        }
        if let (Some(by), Some(last)) = (self.superseded_by, lines.last_mut()) {
            *last += &format!(" (superseded by note {by})");
        }
        lines
    }
}
