//! An end -> what a list tells of it: where it sits, what to do, step by step, and what was noted. Paper and screen show the same.

use super::At;
use super::cautions;
use super::cavities::Cavities;
use super::order::{Group, Slot};
use super::seats::Seats;
use super::task::{Task, is_stopped};
use crate::base::{Cavity, Step};
use crate::circuits::{ConnectorKind, FarEnd, Naming};
use crate::paperwork::{Found, Harness};

/// Longest function in a row, in characters.
const FUNCTION: usize = 48;
/// Longest remark of one sort in a row, in characters: a sheet is no document.
const REMARK: usize = 240;

/// A wire in a cavity, or one that is to come there, with what is to be done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// The end, by circuit and end; of a wire that arrives, the one that moves here.
    pub at: (usize, usize),
    /// Whether it moves here from another place.
    pub arrives: bool,
    /// What must be seen before it is touched; of several wires in a cavity it stands at the first.
    pub cautions: Vec<String>,
    /// The cavity; `None` where the connector has none.
    pub cavity: Option<Cavity>,
    /// How to count to it, where that is told: `row 2, third from left`.
    pub aid: Option<String>,
    /// The name of its tag: `7KF4 A`, `7KF4 A+B`, or `B, same tag` where another row bears it.
    pub tag: String,
    /// The ends that are on this one tag, itself among them; none where it has a tag of its own.
    pub on_one_tag: Vec<(usize, usize)>,
    /// The kinds of tag that are to be hung there: `flag, sleeve`.
    pub kinds: String,
    /// Designation, where a list gives it, and function.
    pub function: String,
    /// Where the wire's other end is: a place, or `splice`; `None` where nobody knows.
    pub there: Option<String>,
    /// What to do: `cut`, `done: pull`, `arrives from J1/14`.
    pub words: String,
    /// The steps in an order that is safe, and whether each is done by notes.
    pub steps: Vec<(Step, bool)>,
    /// What was found and noted, and the list's own remark; empty where there is nothing.
    pub remark: String,
}

/// What entries are made from.
pub(super) struct Lister<'l, 'a> {
    pub(super) harness: &'l Harness<'a>,
    pub(super) cavities: &'l Cavities<'a>,
    pub(super) seats: &'l Seats,
    pub(super) group: &'l Group<'a>,
}

impl Lister<'_, '_> {
    /// What stands above cavities that stay together; `None` of one alone.
    pub(super) fn heading(&self) -> Option<String> {
        let named: Vec<String> = self.group.iter().filter_map(|slot| Some(slot.cavity?.to_string())).collect();
        (self.group.len() > 1).then(|| format!("Twisted or screened, keep together: {}", named.join(" + ")))
    }

    /// Those of cavities that stay together, in their order: what is in each, then what comes.
    pub(super) fn entries(&self) -> Vec<Entry> {
        self.group.iter().flat_map(|slot| self.of_slot(slot)).collect()
    }

    fn of_slot(&self, slot: &Slot<'_>) -> Vec<Entry> {
        let mut entries = Vec::new();
        let mut before: Vec<String> = Vec::new();
        for (nth, &at) in slot.ends.iter().enumerate() {
            let cautions = cautions::of_end(self.harness, at);
            // Once for all wires of a cavity.
            let new = if nth > 0 && cautions == before { Vec::new() } else { cautions.clone() };
            before = cautions;
            entries.push(Entry { cautions: new, ..self.of_end(slot, nth) });
        }
        entries.extend(slot.arrivals.iter().map(|&at| self.of_arrival(slot, at)));
        entries
    }

    fn of_end(&self, slot: &Slot<'_>, nth: usize) -> Entry {
        let (harness, at) = (self.harness, slot.ends[nth]);
        let on_bench = harness.on_bench(at);
        let shared = on_one_tag(harness, slot, nth);
        let bears_tag = shared.first().is_none_or(|first| *first == at);
        let mut task = task_of(harness, self.cavities, slot, at);
        if !bears_tag {
            task.steps.retain(|step| *step != Step::Tagged);
        }
        let steps = ticked(harness, at, &task, &shared);
        let all_done = !steps.is_empty() && steps.iter().all(|(_, is_done)| *is_done);
        let words = if all_done { format!("done: {}", task.words) } else { task.words.clone() };
        let tag = if bears_tag { tag_name(harness, at, &shared) } else { format!("{}, same tag", letter(harness, at)) };
        let work = on_bench.work.filter(|_| bears_tag);
        let final_tag = on_bench.final_tag.filter(|_| task.steps.contains(&Step::Terminated));
        let kinds: Vec<String> = [work, final_tag].iter().flatten().map(ToString::to_string).collect();
        let remark = self.remark(slot, nth, &shared, &task);
        Entry { tag, on_one_tag: shared, kinds: kinds.join(", "), words, steps, remark, ..self.of_wire(slot, at) }
    }

    /// What stands below the row.
    fn remark(&self, slot: &Slot<'_>, nth: usize, shared: &[At], task: &Task) -> String {
        let (harness, at) = (self.harness, slot.ends[nth]);
        let (end, on_bench) = (harness.end(at), harness.on_bench(at));
        let mut parts: Vec<String> = on_bench.found.iter().map(found).collect();
        let is_shown = |step: &Step| task.steps.contains(step) || (*step == Step::Tagged && !shared.is_empty());
        let also: Vec<&str> = on_bench.done.iter().filter(|step| !is_shown(step)).map(|step| step.word()).collect();
        if !also.is_empty() {
            parts.push(format!("By notes also {}", also.join(", ")));
        }
        parts.extend(on_bench.proposals.iter().cloned());
        parts.extend(on_bench.remarks.iter().map(|remark| format!("Noted: {}", shortened(remark, REMARK))));
        if nth == 0 && slot.ends.len() > 1 && slot.cavity.is_some() {
            let is_one_circuit = slot.ends.iter().all(|other| other.0 == at.0);
            parts.push(match (is_one_circuit, shared.len() == slot.ends.len()) {
                (true, true) => format!("Doubled cavity: {} wires, one tag for all", slot.ends.len()),
                (true, false) => format!("Doubled cavity: {} wires", slot.ends.len()),
                (false, _) => format!("{} wires of different circuits in this cavity", slot.ends.len()),
            });
        }
        let is_paired = self.group.iter().flat_map(|slot| &slot.ends).any(|other| other.0 != at.0);
        if let Some(partner) = end.partner.as_deref().filter(|_| !is_paired) {
            parts.push(format!("Twisted or screened with {}, which is not in this list", shortened(partner, FUNCTION)));
        }
        parts.extend(end.note.as_ref().map(|note| shortened(note, REMARK)));
        parts.join(" · ")
    }

    /// That of an end that moves here: it is counted where it is now.
    fn of_arrival(&self, slot: &Slot<'_>, at: At) -> Entry {
        let harness = self.harness;
        let from = &harness.end(at).place;
        let is_done = harness.on_bench(at).done.contains(&Step::Moved);
        let done = if is_done { "done: " } else { "" };
        let (words, steps) = match is_stopped(harness.circuits, at) {
            true => (format!("stop, see {from}"), Vec::new()),
            false => (format!("{done}arrives from {from}"), vec![(Step::Moved, is_done)]),
        };
        let cautions = cautions::of_arrival(harness, at);
        Entry { arrives: true, cautions, words, steps, ..self.of_wire(slot, at) }
    }

    /// The wire alone: where it sits, its tag, what it is and where it goes.
    fn of_wire(&self, slot: &Slot<'_>, at: At) -> Entry {
        let harness = self.harness;
        let there = match (harness.there(at), harness.circuit(at.0).far_end(at.1)) {
            (Some(there), _) => Some(there.to_string()),
            (None, FarEnd::ImpliedSplice) => Some("splice".to_owned()),
            (None, _) => None,
        };
        Entry {
            at,
            arrives: false,
            cautions: Vec::new(),
            cavity: slot.cavity.cloned(),
            aid: self.seats.aid(slot.cavity).map(str::to_owned),
            tag: tag_name(harness, at, &[]),
            on_one_tag: Vec::new(),
            kinds: String::new(),
            function: function(harness, at),
            there,
            words: String::new(),
            steps: Vec::new(),
            remark: String::new(),
        }
    }
}

/// What is to be done with a wire in a cavity.
pub(super) fn task_of(harness: &Harness<'_>, cavities: &Cavities<'_>, slot: &Slot<'_>, at: At) -> Task {
    let seal = cavities.is_sealed_at(harness, &slot.ends, at).then_some(Step::Sealed);
    Task::of(harness, at, seal)
}

/// Its steps, and whether each is done by notes: one tag for several ends hangs where all of them say so.
pub(super) fn ticked(harness: &Harness<'_>, at: At, task: &Task, on_one_tag: &[At]) -> Vec<(Step, bool)> {
    let is_done = |step: Step| match step {
        Step::Tagged if !on_one_tag.is_empty() => {
            on_one_tag.iter().all(|end| harness.on_bench(*end).done.contains(&Step::Tagged))
        }
        _ => harness.on_bench(at).done.contains(&step),
    };
    task.steps.iter().map(|&step| (step, is_done(step))).collect()
}

/// `FOUND colour GN, note 4: looks new`.
fn found(found: &Found) -> String {
    let (word, value, remark) =
        (found.finding.word(), shortened(&found.value, REMARK), shortened(&found.remark, REMARK));
    let what = [word, &value].into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" ");
    match (what.as_str(), remark.as_str()) {
        ("", remark) => format!("FOUND, note {}: {remark}", found.note),
        (what, "") => format!("FOUND {what}, note {}", found.note),
        (what, remark) => format!("FOUND {what}, note {}: {remark}", found.note),
    }
}

/// Designation, where a list gives it, and function.
fn function(harness: &Harness<'_>, at: At) -> String {
    let circuit = harness.circuit(at.0);
    let designation = (circuit.naming() == Naming::Designated).then(|| circuit.id().as_str());
    let function = circuit.function.as_deref().map(|function| shortened(function, FUNCTION));
    [designation.map(str::to_owned), function].into_iter().flatten().collect::<Vec<_>>().join(" ")
}

/// The ends that are on one tag with this one, itself among them; none where it has a tag of its own or no tag at all.
pub(super) fn on_one_tag(harness: &Harness<'_>, slot: &Slot<'_>, nth: usize) -> Vec<At> {
    let gathers = |at: At| {
        let kind = harness.circuits.connector(&harness.end(at).place.connector).map(|connector| connector.kind);
        matches!(kind, Some(ConnectorKind::Stud | ConnectorKind::Splice))
    };
    let follows = |one: &At, other: &At| {
        one.0 == other.0 && one.1 + 1 == other.1 && [one, other].iter().all(|at| harness.on_bench(**at).work.is_some())
    };
    let mut runs = slot.ends.chunk_by(follows);
    let own = runs.find(|run| run.contains(&slot.ends[nth])).unwrap_or_default();
    if own.len() > 1 && slot.cavity.is_some() && !gathers(own[0]) { own.to_vec() } else { Vec::new() }
}

fn letter(harness: &Harness<'_>, at: At) -> String {
    harness.issued.circuits[at.0].letters[at.1].to_string()
}

/// `7KF4 A`, or `7KF4 A+B`.
fn tag_name(harness: &Harness<'_>, at: At, shared: &[At]) -> String {
    if shared.is_empty() {
        return harness.tag(at);
    }
    let letters: Vec<String> = shared.iter().map(|at| letter(harness, *at)).collect();
    format!("{} {}", harness.issued.circuits[at.0].code, letters.join("+"))
}

/// A text on one line, cut at a blank where it is longer.
fn shortened(text: &str, most: usize) -> String {
    let mut short = String::new();
    let mut count = 0;
    for word in text.split_whitespace() {
        let length = word.chars().count();
        if count + length > most {
            let rest: String = if short.is_empty() { word.chars().take(most).collect() } else { String::new() };
            return format!("{short}{rest} …").trim_start().to_owned();
        }
        if !short.is_empty() {
            short.push(' ');
        }
        short.push_str(word);
        count += length + 1;
    }
    short
}
