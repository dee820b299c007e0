//! What was decided beside the lists, told with what these say by now; and the same as rows for whoever carries it into the lists.

use std::collections::{BTreeMap, HashMap};

use super::{Deciding, Recall};
use crate::base::{Place, formula};
use crate::circuits::End;
use crate::codes::csv_text::Writing;
use crate::codes::{Decisions, Made, Matter};

/// A decision, as it stands by now.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Told {
    /// The decision.
    pub made: Made,
    /// How it stands.
    pub standing: Standing,
    /// The circuit and end of the lists that it counts for.
    pub at: Option<(usize, usize)>,
    /// Where the end sits, or sat last; `None` of one that does not count any more.
    pub place: Option<Place>,
    /// What the lists say of it, perhaps nothing; `None` where they do not have the end.
    pub listed: Option<String>,
    /// The row of the list: `loom.csv:4`.
    pub row: Option<String>,
}

/// How a decision stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// It counts, and the lists say something else.
    Counts,
    /// The lists say the same by now.
    SaidByList,
    /// The lists do not have its end any more.
    WithoutEnd,
    /// It leaves the end to the lists, or a later one counts.
    Past,
    /// It was taken back.
    TakenBack,
    /// It takes another back.
    TakesBack,
}

impl Standing {
    /// Whether it is still in force.
    pub const fn stands(self) -> bool {
        matches!(self, Self::Counts | Self::SaidByList | Self::WithoutEnd)
    }

    /// Its words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Counts => "counts",
            Self::SaidByList => "the list says the same now",
            Self::WithoutEnd => "no list has the end any more",
            Self::Past => "past",
            Self::TakenBack => "taken back",
            Self::TakesBack => "takes back",
        }
    }
}

impl Deciding<'_> {
    /// All decisions, the first one first, as they stand by now.
    pub fn told(&self, decisions: &Decisions) -> Vec<Told> {
        let decided = &self.reading.decided;
        let counting: HashMap<u32, (usize, usize)> = decided.edits.iter().map(|edit| (edit.number, edit.at)).collect();
        let without: HashMap<u32, &Place> =
            decided.without_end.iter().map(|without| (without.made.number, &without.place)).collect();
        let told = |made: &Made| {
            let at = counting.get(&made.number).copied();
            let end = at.map(|at| self.end(at));
            let (standing, place) = match (end, without.get(&made.number)) {
                (Some(end), _) => (in_force(end, made), Some(end.place.clone())),
                (None, Some(&place)) => (Standing::WithoutEnd, Some(place.clone())),
                (None, None) if made.undoes.is_some() => (Standing::TakesBack, None),
                (None, None) if made.undone_by.is_some() => (Standing::TakenBack, None),
                (None, None) => (Standing::Past, None),
            };
            let listed = end.map(|end| listed(end, &made.decision.matter));
            Told { made: made.clone(), standing, at, place, listed, row: end.map(row) }
        };
        decisions.all().iter().map(told).collect()
    }

    /// What counts and the lists do not say yet, as CSV to carry it into them: a row an end, in working order.
    pub fn to_carry_over(&self, told: &[Told]) -> Vec<u8> {
        // Action and note of each end.
        type Cells = [Option<String>; 2];
        let mut ends: BTreeMap<(&Place, (usize, usize)), Cells> = BTreeMap::new();
        for one in told.iter().filter(|told| told.standing == Standing::Counts) {
            let (Some(at), Some(place)) = (one.at, &one.place) else { continue };
            let cells = ends.entry((place, at)).or_default();
            match &one.made.decision.matter {
                matter @ Matter::Action(_) => cells[0] = matter.words(),
                matter @ Matter::Note(_) => cells[1] = matter.words(),
            }
        }
        let mut writing = Writing::new();
        let mut write = |cells: [&str; 7]| {
            cells.iter().for_each(|cell| writing.cell(&formula::marked(cell)));
            writing.end_row();
        };
        write(["place", "designation", "action", "note", "list says", "list notes", "row"]);
        for ((place, at), [action, note]) in ends {
            let end = self.end(at);
            let says = action
                .as_ref()
                .map(|_| end.decided_instead().map_or_else(String::new, |instead| instead.listed.0.to_string()));
            let notes = note.as_ref().and_then(|_| end.note_in_lists());
            write([
                &place.to_string(),
                self.reading.circuits.all()[at.0].id().as_str(),
                action.as_deref().unwrap_or_default(),
                note.as_deref().unwrap_or_default(),
                &says.unwrap_or_default(),
                notes.unwrap_or_default(),
                &row(end),
            ]);
        }
        writing.bytes()
    }
}

/// What holds of the matter of a decision by now, where it was taken back or not: `J2/5: keep, by a decision of 2026-11-28; the list says
/// remove`. `None` where no list has its end.
pub fn holds_now(recall: &Recall, made: &Made) -> Option<String> {
    let (code, letter) = made.mark();
    let found = recall.by_code(code, Some(letter))?;
    let [end] = found.ends[..] else { return None };
    let end = found.record.ends.get(end).filter(|end| end.listed)?;
    let as_listed = || "as the list says".to_owned();
    let (holds, by) = match &made.decision.matter {
        Matter::Action(_) => {
            let by = end.decided_by.as_ref().map(|by| format!("by {by}"));
            (format!("`{}`", end.action.as_deref()?), by.unwrap_or_else(as_listed))
        }
        Matter::Note(_) => {
            let note = end.note.as_deref().filter(|note| !note.is_empty());
            let holds = note.map_or_else(|| "no note".to_owned(), |note| format!("the note `{note}`"));
            let by = match end.note_in_list.as_deref() {
                None => as_listed(),
                Some("") => "by a decision; the list has none".to_owned(),
                Some(listed) => format!("by a decision; the list says `{listed}`"),
            };
            (holds, by)
        }
    };
    Some(format!("{}: {holds}, {by}", end.here))
}

/// How a decision stands that counts for an end.
fn in_force(end: &End, made: &Made) -> Standing {
    let number = match made.decision.matter {
        Matter::Action(_) => end.decided_instead().map(|instead| instead.number),
        Matter::Note(_) => end.noted_instead().map(|instead| instead.number),
    };
    if number == Some(made.number) { Standing::Counts } else { Standing::SaidByList }
}

/// What the lists say of an end.
fn listed(end: &End, matter: &Matter) -> String {
    match matter {
        Matter::Action(_) => end.decided_instead().map_or(&end.action, |instead| &instead.listed.0).to_string(),
        Matter::Note(_) => end.note_in_lists().unwrap_or_default().to_owned(),
    }
}

/// The row of an end.
fn row(end: &End) -> String {
    match (end.origin.cell(), end.origin.line()) {
        (None, Some(line)) => format!("{}:{line}", end.origin.file()),
        _ => end.origin.to_string(),
    }
}
