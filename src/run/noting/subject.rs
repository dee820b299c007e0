//! What a note belongs to: its notes, what it is in words, and what of a note does not fit what lists and plan say of it.

use super::super::danger::Danger;
use super::super::recall::{EndRecord, Record};
use crate::base::{Conductor, EndLetter, Finding, Step, TagCode, WireColour};
use crate::codes::{Noted, Notes, Said};

/// What a note belongs to.
#[derive(Clone, Debug)]
pub struct Subject {
    /// Its code, as named.
    pub code: TagCode,
    /// Its letter under that code; `None` of a whole circuit.
    pub letter: Option<EndLetter>,
    /// The end, as an index of the record's ends.
    pub(super) end: Option<usize>,
    /// What is known of it; `None` of a code that belongs to nothing yet.
    pub(super) record: Option<Record>,
}

impl Subject {
    pub(super) fn end(record: &Record, end: usize) -> Option<Self> {
        let code = TagCode::from_typed(record.code.as_deref()?).ok()?;
        let letter = EndLetter::from_typed(record.ends[end].letter.as_deref()?)?;
        Some(Self { code, letter: Some(letter), end: Some(end), record: Some(record.clone()) })
    }

    pub(super) fn whole(record: &Record) -> Option<Self> {
        let code = TagCode::from_typed(record.code.as_deref()?).ok()?;
        Some(Self { code, letter: None, end: None, record: Some(record.clone()) })
    }

    /// All notes of it, the first one first.
    pub fn notes<'n>(&self, notes: &'n Notes) -> Vec<&'n Noted> {
        match &self.record {
            Some(record) if self.end.is_some() => notes.of_end(&record.codes(), &self.marks(record)),
            Some(record) => {
                let mut notes = notes.of_codes(record.codes());
                notes.retain(|noted| noted.note.letter.is_none());
                notes
            }
            None => notes.of_codes([self.code]),
        }
    }

    /// All notes of it and, where it is a whole circuit, of its ends.
    pub fn all_notes<'n>(&self, notes: &'n Notes) -> Vec<&'n Noted> {
        match &self.record {
            Some(record) if self.letter.is_none() => notes.of_codes(record.codes()),
            _ => self.notes(notes),
        }
    }

    /// Every code and letter of the end that is meant, or of all ends of a whole circuit; none of a code that belongs to nothing yet.
    pub fn all_marks(&self) -> Vec<(TagCode, EndLetter)> {
        match (&self.record, self.end) {
            (Some(record), Some(end)) => record.marks(end),
            (Some(record), None) => (0..record.ends.len()).flat_map(|end| record.marks(end)).collect(),
            (None, _) => Vec::new(),
        }
    }

    fn marks(&self, record: &Record) -> Vec<(TagCode, EndLetter)> {
        self.end.map(|end| record.marks(end)).unwrap_or_default()
    }

    fn told(&self) -> Option<&EndRecord> {
        Some(&self.record.as_ref()?.ends[self.end?])
    }

    /// `7KF4 A at J1/14, rail pressure signal, blue, white stripe`.
    pub fn about(&self) -> String {
        let name = self.letter.map_or_else(|| self.code.to_string(), |letter| format!("{} {letter}", self.code));
        let Some(record) = &self.record else { return format!("{name}, a blank, not assigned yet") };
        let what = record.function.clone().unwrap_or_else(|| "function not known".to_owned());
        let what = if record.designations.is_empty() {
            what
        } else {
            format!("{what}, circuit {}", record.designations.join(" = "))
        };
        match self.told() {
            Some(end) => {
                let colour = end.colour_in_words.clone().or_else(|| end.colour.clone());
                let colour = colour.map(|colour| format!(", {colour}")).unwrap_or_default();
                format!("{name} at {}, {what}{colour}", end.here)
            }
            None => {
                let ends: Vec<&str> = record.ends.iter().map(|end| end.here.as_str()).collect();
                format!("{name}, {what}, all of it ({})", ends.join(", "))
            }
        }
    }

    /// What of it may hurt somebody: of a whole circuit, the gravest of its ends.
    pub(super) fn danger(&self, said: Said) -> Option<Danger> {
        let Said::Done(step) = said else { return None };
        let of = |end: &EndRecord| Danger::of_step(end.supply, step);
        match (self.told(), &self.record) {
            (Some(end), _) => of(end),
            (None, record) => record.iter().flat_map(|record| &record.ends).filter_map(of).min(),
        }
    }

    /// That the plan speaks of something else.
    pub(super) fn misfit(&self, step: Step) -> Option<String> {
        let end = self.told()?;
        let plan = end.action.as_deref()?;
        let action = plan.split(' ').next().unwrap_or_default();
        (!step_fits(step, action)).then(|| format!("the plan of {} is `{plan}`", end.here))
    }

    /// That steps which come before this one are not done; `is_done` tells of an end of the record.
    pub(super) fn out_of_order(&self, step: Step, is_done: impl Fn(&Record, usize, Step) -> bool) -> Option<String> {
        let (record, own) = (self.record.as_ref()?, self.end?);
        let end = self.told()?;
        let plan = end.action.as_deref()?.split(' ').next()?;
        if step == Step::Terminated {
            return (plan == "cut" && !is_done(record, own, Step::Cut)).then(|| "not noted as cut".to_owned());
        }
        // A wire that leaves the harness gets a tag only where it is wanted for another use.
        if !matches!(plan, "cut" | "move") {
            return None;
        }
        let is_far = |other: &usize| *other != own && Some(&record.ends[*other].here) == end.there.as_ref();
        let far = (0..record.ends.len()).find(is_far).filter(|far| !is_done(record, *far, Step::Tagged));
        let near = Some(own).filter(|own| !is_done(record, *own, Step::Tagged));
        let name = |end: usize| record.ends[end].letter.as_deref().unwrap_or(&record.ends[end].here);
        match (near, far) {
            (None, None) => None,
            (Some(near), None) => Some(format!("not noted as tagged: {}", name(near))),
            (None, Some(far)) => Some(format!("not noted as tagged: {} at the far end", name(far))),
            (Some(near), Some(far)) => {
                Some(format!("not noted as tagged: {}, and {} at the far end", name(near), name(far)))
            }
        }
    }

    /// That the lists say the same of it.
    pub(super) fn agrees(&self, finding: Finding, value: &str) -> Option<String> {
        let end = self.told()?;
        let agrees = match finding {
            Finding::Colour => {
                let listed = end.colour.as_deref().and_then(WireColour::from_cell);
                let own = end.colour_in_list.as_deref();
                listed.zip(WireColour::from_cell(value)).is_some_and(|(one, two)| one.same_as(&two))
                    || own.is_some_and(|own| own.eq_ignore_ascii_case(value))
            }
            Finding::Size => {
                let size = |text: &str| Conductor::from_cell(text, None).ok();
                let listed = end.size.as_deref().and_then(size);
                listed.zip(size(value)).is_some_and(|(one, two)| one.size() == two.size())
            }
            Finding::Place => end.here.eq_ignore_ascii_case(value),
            _ => false,
        };
        agrees.then(|| format!("the lists say the same: {finding} `{value}`"))
    }

    /// What should be known of it.
    pub(super) fn remarks(&self, said: Said) -> Vec<String> {
        let Some(record) = &self.record else { return Vec::new() };
        let mut remarks = Vec::new();
        match self.told() {
            Some(end) if !end.listed => remarks.push(format!("{} is not in the lists any more", end.here)),
            Some(end) if said == Said::Done(Step::Cut) => remarks.extend(end.caution.clone()),
            None if record.ends.len() > 1 && said != Said::Text => {
                let name = record.ends.iter().find_map(|end| end.letter.as_deref()).unwrap_or("A");
                remarks.push(format!(
                    "it counts for all {} ends; `{}/{name}` is one of them",
                    record.ends.len(),
                    self.code
                ));
            }
            _ => {}
        }
        remarks
    }
}

/// Whether a step that is done fits the plan of an end, by the word of its action.
pub(in crate::run) fn step_fits(step: Step, action: &str) -> bool {
    match step {
        Step::Cut | Step::Pulled => !matches!(action, "keep" | "add"),
        Step::Moved => matches!(action, "move" | "undecided"),
        Step::Added => matches!(action, "add" | "undecided"),
        Step::Extended => !matches!(action, "keep" | "remove"),
        _ => true,
    }
}
