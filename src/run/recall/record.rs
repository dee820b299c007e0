//! What is told of a circuit: plain values for a program to read, and words for a tired person.

use std::fmt::{self, Write as _};

use serde::Serialize;

use super::history::Event;
use crate::base::{EndLetter, TagCode, WireColour};
use crate::circuits::caution::{NEVER, danger_of, graver_supply};
use crate::circuits::{Action, Circuit, Circuits, Decided, End, FarEnd, Instead, Supply};
use crate::codes;

/// All that is known of one circuit.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Record {
    /// The code that is printed; `None` as long as none was issued.
    pub code: Option<String>,
    /// Other codes that name the same circuit.
    pub also: Vec<String>,
    /// Its designations: one, except where joined circuits go by several.
    pub designations: Vec<String>,
    /// Designations it had before.
    pub former: Vec<String>,
    /// The designation that it was given by `rename` and that the lists do not have yet.
    pub renamed: Option<String>,
    /// What it does.
    pub function: Option<String>,
    /// How it is fed.
    pub supply: Option<String>,
    /// Its fuse.
    pub fuse: Option<String>,
    /// Whether the lists still have it.
    pub listed: bool,
    /// Whether it was named when a blank was assigned, and no list has it yet.
    pub awaits_list: bool,
    /// When its code was issued.
    pub issued: Option<String>,
    /// What to mind before touching it.
    pub cautions: Vec<String>,
    /// Its tags on wires that no longer tell the truth, in a sentence each.
    pub stale: Vec<String>,
    /// Its ends: those of the lists in the order of their places, then those that only the register knows.
    pub ends: Vec<EndRecord>,
    /// What happened to it, in the order of time.
    pub history: Vec<Event>,
}

/// All that is known of one end.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct EndRecord {
    /// Its letter; `None` as long as none was issued.
    pub letter: Option<String>,
    /// Other codes and letters on tags that may hang there.
    pub also: Vec<String>,
    /// Where it sits.
    pub here: String,
    /// Where the wire's other end sits; `None` when unknown.
    pub there: Option<String>,
    /// Colour, base first.
    pub colour: Option<String>,
    /// Colour in words, where its letters are understood.
    pub colour_in_words: Option<String>,
    /// The list's own letters for it, where job.toml says what they mean.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub colour_in_list: Option<String>,
    /// Conductor size as typed.
    pub size: Option<String>,
    /// Sort of insulation.
    pub insulation: Option<String>,
    /// Outside diameter, measured.
    pub diameter: Option<String>,
    /// Length of the wire.
    pub length: Option<String>,
    /// What shall be done with it.
    pub action: Option<String>,
    /// Who decided that, where it was not its own row: a rule of job.toml, connectors.csv, or somebody beside the lists.
    pub decided_by: Option<String>,
    /// Where it was decided beside the lists: what these say.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub action_in_list: Option<String>,
    /// Whether it is free for a while, so that a final tag can be threaded on it.
    pub comes_free: bool,
    /// The leg of the harness it lies in.
    pub branch: Option<String>,
    /// Partner of a twisted pair, or screen.
    pub with: Option<String>,
    /// The list's own remark, or what was written in its place.
    pub note: Option<String>,
    /// Where another remark was written in its place: the list's own, perhaps empty.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note_in_list: Option<String>,
    /// The row it was read from.
    pub origin: Option<String>,
    /// Whether the lists still have it.
    pub listed: bool,
    /// What to mind before touching this end.
    pub caution: Option<String>,
    /// What was found at it, by the notes that stand: `found colour GN (note 8)`. Only with answers.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub findings: Vec<String>,
    /// How its wire counts for safety: as the supply column says, or words where they are graver.
    #[serde(skip)]
    pub supply: Option<Supply>,
    /// Whether a tag of it no longer tells the truth: [`Record::stale`] says what.
    #[serde(skip)]
    pub stale: bool,
}

/// Said under every record.
pub const TEST_IT: &str = "no mark does not mean dead: test";

impl Record {
    /// What the lists and the register say of circuits that are one record: of one, as a rule.
    pub(super) fn listed(circuits: &[&Circuit], known: Option<&codes::Record>, all: &Circuits) -> Self {
        let distinct = |texts: Vec<Option<String>>| {
            let mut seen: Vec<String> = Vec::new();
            for text in texts.into_iter().flatten() {
                if !seen.contains(&text) {
                    seen.push(text);
                }
            }
            (!seen.is_empty()).then(|| seen.join(" / "))
        };
        let mut record = Self {
            designations: circuits.iter().map(|circuit| circuit.id().to_string()).collect(),
            function: distinct(circuits.iter().map(|circuit| circuit.function.clone()).collect()),
            supply: distinct(circuits.iter().map(|circuit| circuit.supply.map(|s| s.to_string())).collect()),
            fuse: distinct(circuits.iter().map(|circuit| circuit.fuse.as_ref().map(ToString::to_string)).collect()),
            listed: true,
            ..Self::default()
        };
        let of_circuit = circuits.iter().filter_map(|circuit| graver_supply(circuit));
        let each = circuits.iter().flat_map(|circuit| (0..circuit.ends().len()).map(move |end| (circuit, end)));
        let of_ends = each.filter_map(|(circuit, end)| danger_of(circuit, end, |id| all.connector(id)));
        let mut supplies: Vec<Supply> = of_circuit.chain(of_ends).collect();
        supplies.sort();
        supplies.dedup();
        // The gravest first, as on tags.
        record.cautions = supplies.into_iter().rev().filter_map(caution).collect();
        record.add_register(known);
        record
    }

    /// What the register alone knows of a circuit that the lists do not have any more.
    pub(super) fn gone(known: &codes::Record) -> Self {
        let caution = "not in the lists any more: how it is fed is not known, take it as live".to_owned();
        let mut record = Self { cautions: vec![caution], ..Self::default() };
        record.designations = known.designations.iter().map(ToString::to_string).collect();
        record.add_register(Some(known));
        record.ends = known.ends.iter().map(EndRecord::gone).collect();
        record
    }

    /// Notes that it was named when a blank was assigned, and no list has it yet.
    pub(super) fn await_list(&mut self) {
        self.awaits_list = true;
        self.cautions = vec!["in no list yet: how it is fed is not known, take it as live".to_owned()];
    }

    fn add_register(&mut self, known: Option<&codes::Record>) {
        let Some(known) = known else { return };
        self.code = Some(known.code.to_string());
        self.also = known.also.iter().map(ToString::to_string).collect();
        let former = known.former.iter().map(ToString::to_string);
        self.former = former.filter(|name| !self.designations.contains(name)).collect();
        self.issued = Some(known.issued.to_string());
    }

    /// Every code that names it, the printed one first; none as long as none was issued.
    pub fn codes(&self) -> Vec<TagCode> {
        self.code.iter().chain(&self.also).filter_map(|code| TagCode::from_typed(code).ok()).collect()
    }

    /// Every code and letter that names one of its ends.
    pub fn marks(&self, end: usize) -> Vec<(TagCode, EndLetter)> {
        let Some(end) = self.ends.get(end) else { return Vec::new() };
        let own = self.code.as_deref().zip(end.letter.as_deref());
        let own =
            own.and_then(|(code, letter)| Some((TagCode::from_typed(code).ok()?, EndLetter::from_typed(letter)?)));
        let also = end.also.iter().filter_map(|mark| TagCode::from_typed_with_letter(mark).ok());
        own.into_iter().chain(also.filter_map(|(code, letter)| Some((code, letter?)))).collect()
    }

    /// The record in words, with these of its ends pointed at.
    pub fn in_words(&self, pointed_at: &[usize]) -> String {
        let mut text = String::new();
        // Writing to a String cannot fail.
        let _ = self.write(&mut text, pointed_at);
        text
    }

    /// The record in a line: `8GMK  belt tensioner, circuit SQ, yellow, J9/1, J9/2`.
    pub fn in_a_line(&self) -> String {
        let mut facts = vec![self.function.clone().unwrap_or_else(|| "function not known".to_owned())];
        if !self.designations.is_empty() {
            facts.push(format!("circuit {}", self.designations.join(" = ")));
        }
        let colours = self.ends.iter().filter_map(|end| end.colour_in_words.clone().or_else(|| end.colour.clone()));
        let places = self.ends.iter().map(|end| end.here.clone());
        for fact in colours.chain(places) {
            if !facts.contains(&fact) {
                facts.push(fact);
            }
        }
        format!("{}  {}", self.code.as_deref().unwrap_or("(no code yet)"), facts.join(", "))
    }

    fn write(&self, text: &mut String, pointed_at: &[usize]) -> fmt::Result {
        let code = self.code.as_deref().unwrap_or("(no code yet)");
        let what = self.function.as_deref().unwrap_or("function not known");
        writeln!(text, "{code}  {what}")?;
        let mut facts = Vec::new();
        if !self.designations.is_empty() {
            facts.push(format!("circuit {}", self.designations.join(" = ")));
        }
        facts.extend(self.supply.clone());
        facts.extend(self.fuse.as_ref().map(|fuse| format!("fuse {fuse}")));
        facts.extend(self.renamed.as_ref().map(|name| format!("renamed {name}, which the lists do not say yet")));
        if !self.former.is_empty() {
            facts.push(format!("before: {}", self.former.join(", ")));
        }
        if !self.also.is_empty() {
            facts.push(format!("also marked {}", self.also.join(", ")));
        }
        writeln!(text, "{}", facts.join(", "))?;
        for caution in &self.cautions {
            writeln!(text, "!! {caution}")?;
        }
        for stale in &self.stale {
            writeln!(text, "!! {stale}")?;
        }
        writeln!(text)?;
        let letters = self.ends.iter().map(|end| end.letter_text().len()).max().unwrap_or(0);
        let places = self.ends.iter().map(|end| end.here.chars().count()).max().unwrap_or(0);
        for (index, end) in self.ends.iter().enumerate() {
            let pointer = if pointed_at.contains(&index) { '>' } else { ' ' };
            end.write(text, pointer, letters, places)?;
            if !end.listed && !self.awaits_list {
                writeln!(text, "{:1$}not in the lists any more", "", letters + 4)?;
            }
        }
        if !self.history.is_empty() {
            writeln!(text, "\nhistory")?;
        }
        for line in self.history.iter().flat_map(Event::lines) {
            writeln!(text, "{line}")?;
        }
        writeln!(text, "\n{TEST_IT}")
    }
}

impl EndRecord {
    pub(super) fn listed(circuit: &Circuit, index: usize, known: Option<&codes::RecordedEnd>, all: &Circuits) -> Self {
        let end: &End = &circuit.ends()[index];
        let there = match circuit.far_end(index) {
            FarEnd::End(other) => circuit.ends().get(other).map(|end| end.place.to_string()),
            FarEnd::ImpliedSplice => Some("a splice".to_owned()),
            FarEnd::Unknown => None,
        };
        let is_understood = |colour: &&WireColour| colour.base().is_some();
        let is_freed = end.action.frees_the_end();
        let supply = danger_of(circuit, index, |id| all.connector(id));
        let caution = match supply {
            Some(Supply::Constant) if is_freed => Some("LIVE WITH BATTERY ON: cap this end".to_owned()),
            Some(Supply::Restraint | Supply::HighVoltage) if is_freed || end.action == Action::Remove => {
                Some(format!("DO NOT CUT, although the plan is `{}`", end.action))
            }
            _ => None,
        };
        Self {
            letter: known.map(|known| known.letter.to_string()),
            also: known.map(also).unwrap_or_default(),
            here: end.place.to_string(),
            there,
            colour: end.colour.as_ref().map(ToString::to_string),
            colour_in_words: end.colour.as_ref().filter(is_understood).map(WireColour::in_words),
            colour_in_list: end.colour.as_ref().and_then(WireColour::own_letters).map(str::to_owned),
            size: end.conductor.as_ref().map(ToString::to_string),
            insulation: end.insulation.map(|insulation| insulation.to_string()),
            diameter: end.diameter.map(|diameter| diameter.to_string()),
            length: end.length.map(|length| length.to_string()),
            action: Some(end.action.to_string()),
            decided_by: decided_by(end),
            action_in_list: end.decided_instead().map(|instead| instead.listed.0.to_string()),
            comes_free: is_freed,
            branch: end.branch.clone(),
            with: end.partner.clone(),
            note: end.note.clone(),
            note_in_list: end.noted_instead().map(|instead| instead.listed.clone().unwrap_or_default()),
            origin: Some(end.origin.to_string()),
            listed: true,
            caution,
            findings: Vec::new(),
            supply,
            stale: false,
        }
    }

    /// An end that only the register knows.
    pub(super) fn gone(known: &codes::RecordedEnd) -> Self {
        let colour = known.colour.as_deref().and_then(WireColour::from_cell);
        Self {
            letter: Some(known.letter.to_string()),
            also: also(known),
            here: known.place.to_string(),
            colour_in_words: colour.filter(|colour| colour.base().is_some()).map(|colour| colour.in_words()),
            colour: known.colour.clone(),
            ..Self::default()
        }
    }

    /// What its tag warns of: what to mind before it is touched, else how it is fed.
    pub fn warning(&self) -> Option<String> {
        self.caution.clone().or_else(|| self.supply.and_then(caution))
    }

    fn letter_text(&self) -> &str {
        self.letter.as_deref().unwrap_or("-")
    }

    fn write(&self, text: &mut String, pointer: char, letters: usize, places: usize) -> fmt::Result {
        let there = self.there.as_deref().unwrap_or("________");
        write!(text, "{pointer} {:letters$}  {:places$}  to {there}", self.letter_text(), self.here)?;
        let colour = match (&self.colour, &self.colour_in_words) {
            (Some(colour), Some(words)) if colour.eq_ignore_ascii_case(words) => Some(words.clone()),
            (Some(colour), Some(words)) => Some(format!("{colour} ({words})")),
            (colour, _) => colour.clone(),
        };
        let in_list = self.colour_in_list.as_ref().map(|letters| format!("`{letters}` in the list"));
        let colour = match (colour, in_list) {
            (Some(colour), Some(in_list)) => Some(format!("{colour}, {in_list}")),
            (colour, _) => colour,
        };
        for fact in [colour, self.size.clone()].into_iter().flatten() {
            write!(text, "  {fact}")?;
        }
        writeln!(text)?;
        let mut facts: Vec<String> = Vec::new();
        facts.extend(self.action.as_ref().map(|action| match &self.decided_by {
            Some(by) => format!("plan: {action} (by {by})"),
            None => format!("plan: {action}"),
        }));
        facts.extend(self.branch.as_ref().map(|branch| format!("branch {branch}")));
        facts.extend(self.length.as_ref().map(|length| format!("length {length}")));
        facts.extend(self.with.as_ref().map(|with| format!("with {with}")));
        if !self.also.is_empty() {
            facts.push(format!("also marked {}", self.also.join(", ")));
        }
        let indent = letters + 4;
        if !facts.is_empty() {
            writeln!(text, "{:indent$}{}", "", facts.join(", "))?;
        }
        let one_line = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        match (self.note.as_deref(), self.note_in_list.as_deref()) {
            (None, None) => {}
            (Some(note), None) => writeln!(text, "{:indent$}note: {}", "", one_line(note))?,
            (note, Some(listed)) => {
                let note = note.map_or_else(|| "none".to_owned(), one_line);
                let listed = if listed.is_empty() { "nothing".to_owned() } else { format!("`{}`", one_line(listed)) };
                writeln!(text, "{:indent$}note: {note} (the list says {listed})", "")?;
            }
        }
        match &self.caution {
            Some(caution) => writeln!(text, "{:indent$}!! {caution}", ""),
            None => Ok(()),
        }
    }
}

fn also(known: &codes::RecordedEnd) -> Vec<String> {
    known.also.iter().map(|(code, letter)| format!("{code} {letter}")).collect()
}

/// What to mind with this supply: the marks of its tags, in the words of somebody who holds the wire.
fn caution(supply: Supply) -> Option<String> {
    match supply {
        Supply::Constant => Some("LIVE WITH BATTERY ON".to_owned()),
        Supply::Restraint => Some(format!("RESTRAINT: {NEVER}")),
        Supply::HighVoltage => Some("HIGH VOLTAGE: stop, trained persons only".to_owned()),
        _ => None,
    }
}

/// Who decided what shall be done with an end, where its row does not say it alone.
fn decided_by(end: &End) -> Option<String> {
    let by = match end.decided {
        Decided::Rule(number) => format!("rule {} of job.toml", number + 1),
        Decided::Connector => "connectors.csv".to_owned(),
        Decided::List => "the list's [[list]] of job.toml".to_owned(),
        Decided::Person => return end.decided_instead().map(Instead::in_words),
        Decided::Row | Decided::Nobody => return None,
    };
    Some(if end.is_marked_undecided { format!("{by}; its row says undecided") } else { by })
}
