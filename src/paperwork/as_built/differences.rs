//! Where what is differs from what was planned -> rows, each with the notes that tell it and the row of the list to put right; and the
//! sheet that shows them.

use std::collections::BTreeSet;

use jiff::Timestamp;

use super::replay::Now;
use super::{Standing, day};
use crate::base::{CircuitId, Finding, Origin, Step, TagCode, counted};
use crate::circuits::{Action, Circuit, End, FarEnd};
use crate::codes::{Noted, Said};
use crate::layout::text::Fonts;
use crate::paperwork::table::{Cell, Column, Row, Table};
use crate::paperwork::{Harness, Letterhead, Sheet};

/// What sort of difference it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Group {
    /// The bench found or did something else than was planned.
    Otherwise,
    /// Planned, and not done or not whole.
    Open,
    /// Done as planned, so that the row says what was and not what is.
    AsPlanned,
    /// Decided beside the lists, which do not say it yet.
    Decided,
    /// A wire that no list has.
    Unlisted,
}

impl Group {
    /// All groups, in the order of the sheet.
    pub const ALL: [Self; 5] = [Self::Otherwise, Self::Open, Self::AsPlanned, Self::Decided, Self::Unlisted];

    /// Its word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Otherwise => "otherwise",
            Self::Open => "open",
            Self::AsPlanned => "as planned",
            Self::Decided => "decided",
            Self::Unlisted => "unlisted",
        }
    }

    /// What stands above its rows.
    const fn heading(self) -> &'static str {
        match self {
            Self::Otherwise => "otherwise than planned",
            Self::Open => "open: planned, and not done or not whole",
            Self::AsPlanned => "done as planned: these rows say what was",
            Self::Decided => "decided beside the lists: write it there",
            Self::Unlisted => "tags of wires that no list has",
        }
    }
}

/// A difference between plan and what is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Difference {
    /// What sort it is.
    pub group: Group,
    /// The circuit and end of the plan; `None` of a tag that belongs to nothing yet.
    pub at: Option<(usize, usize)>,
    /// The name of the tag: `7KF4 A`.
    pub tag: String,
    /// The designation.
    pub circuit: Option<CircuitId>,
    /// What was planned: `J1/14, move to J4/7`; of a wire: its colour or size.
    pub planned: String,
    /// What is.
    pub is: String,
    /// Numbers and times of the notes that tell it.
    pub notes: Vec<(u32, Timestamp)>,
    /// The row of the list.
    pub origin: Option<Origin>,
    /// What makes list or notes say what is; empty where there is work to do first.
    pub put_right: String,
}

/// All differences of a plan, by group and in working order.
pub(super) fn differences(
    plan: &Harness<'_>,
    all: &[Vec<Now<'_>>],
    of_blanks: &[(TagCode, Vec<&Noted>)],
) -> Vec<Difference> {
    let mut differences = Vec::new();
    for at in plan.circuits.working_order() {
        let (circuit, now) = (plan.circuit(at.0), &all[at.0]);
        Looked { plan, at, circuit, end: plan.end(at), now: &now[at.1], all: now }.look(&mut differences);
    }
    for (code, notes) in of_blanks.iter().filter(|(_, notes)| !notes.is_empty()) {
        let is: Vec<String> = notes.iter().map(|noted| noted.note.in_words().replace('\n', " ")).collect();
        differences.push(Difference {
            group: Group::Unlisted,
            at: None,
            tag: code.to_string(),
            circuit: None,
            planned: String::new(),
            is: is.join("; "),
            notes: notes.iter().map(|noted| (noted.number, noted.at)).collect(),
            origin: None,
            put_right: format!("write a row for it, then `loomtag assign {code}`"),
        });
    }
    differences.sort_by_key(|difference| difference.group);
    differences
}

/// An end that is compared with its plan.
struct Looked<'a> {
    plan: &'a Harness<'a>,
    at: (usize, usize),
    circuit: &'a Circuit,
    end: &'a End,
    now: &'a Now<'a>,
    all: &'a [Now<'a>],
}

impl Looked<'_> {
    fn look(&self, differences: &mut Vec<Difference>) {
        let mut tell = |group, planned: String, is: String, notes: &[&Noted], put_right: String| {
            differences.push(Difference {
                group,
                at: Some(self.at),
                tag: self.plan.tag(self.at),
                circuit: Some(self.circuit.id().clone()),
                planned,
                is,
                notes: notes.iter().map(|noted| (noted.number, noted.at)).collect(),
                origin: Some(self.end.origin.clone()),
                put_right,
            });
        };
        if let Some(group) = self.group() {
            let placed_by = &self.now.placed_by;
            tell(group, self.planned(), self.is(), placed_by, self.put_right(group));
        }
        // Once it is done, the row is to say what is, not what was planned.
        if let Some(instead) = self.end.decided_instead()
            && matches!(self.group(), None | Some(Group::Open))
        {
            let action = &self.end.action;
            let put_right = format!("write `{action}` under action");
            tell(Group::Decided, format!("action {}", instead.listed.0), format!("action {action}"), &[], put_right);
        }
        if let Some(instead) = self.end.noted_instead() {
            let planned = instead.listed.as_ref().map_or_else(|| "no note".to_owned(), |note| format!("note: {note}"));
            let (is, put_right) = match &self.end.note {
                Some(note) => (format!("note: {note}"), format!("write `{note}` under note")),
                None => ("no note".to_owned(), "empty the note".to_owned()),
            };
            tell(Group::Decided, planned, is, &[], put_right);
        }
        if let Some((colour, noted)) = &self.now.colour {
            let planned = self.end.colour.as_ref().map(ToString::to_string);
            tell(
                Group::Otherwise,
                of_wire("colour", planned),
                format!("colour {colour}"),
                &[noted],
                format!("write `{colour}`"),
            );
        }
        if let Some((size, noted)) = &self.now.size {
            let planned = self.end.conductor.as_ref().map(ToString::to_string);
            let typed = &noted.note.value;
            let (is, put_right) = match size {
                Some(size) => (format!("size {size}"), format!("write `{size}`")),
                None => (
                    format!("size `{typed}`, which names no size"),
                    format!(
                        "note it again: `loomtag note --instead {} found size \"{typed} mm2\"` or AWG",
                        noted.number
                    ),
                ),
            };
            tell(Group::Otherwise, of_wire("size", planned), is, &[noted], put_right);
        }
        for noted in &self.now.findings {
            tell(Group::Otherwise, String::new(), noted.note.in_words().replace('\n', " "), &[noted], String::new());
        }
        for noted in &self.now.unclear {
            let is =
                format!("{}, of the whole circuit: of which end is not said", noted.note.in_words().replace('\n', " "));
            let put_right =
                format!("`loomtag note {} …` at the end that it is of", self.plan.tag(self.at).replace(' ', "/"));
            tell(Group::Otherwise, String::new(), is, &[noted], put_right);
        }
    }

    /// What sort of difference there is between where the end is and where it was planned to be, if there is one.
    fn group(&self) -> Option<Group> {
        let (standing, action) = (&self.now.standing, &self.end.action);
        let is_at_row = *standing == Standing::Seated(self.end.place.clone());
        let is_settled = self.now.is_settled(self.end);
        match action {
            Action::Undecided | Action::Keep | Action::Reserve => (!is_at_row).then_some(Group::Otherwise),
            Action::Extend if is_at_row => Some(if is_settled { Group::AsPlanned } else { Group::Open }),
            // On the way: cut, and not spliced yet.
            Action::Extend if *standing == Standing::Free => Some(Group::Open),
            Action::Extend => Some(Group::Otherwise),
            Action::Cut | Action::Remove if is_at_row => Some(Group::Open),
            Action::Cut => Some(match standing {
                Standing::Seated(_) if is_settled => Group::AsPlanned,
                Standing::Free | Standing::Somewhere(_) if is_settled => Group::Open,
                _ => Group::Otherwise,
            }),
            Action::Remove => Some(match standing {
                Standing::Gone => Group::AsPlanned,
                Standing::Free if self.now.done.contains(&Step::Pulled) => Group::Open,
                _ => Group::Otherwise,
            }),
            Action::Move(target) => Some(match standing {
                Standing::Seated(_) if is_at_row && !is_settled => Group::Open,
                Standing::Seated(_) if target.is_none() && is_settled => Group::AsPlanned,
                Standing::Seated(place) if Some(place) == target.as_ref() => Group::AsPlanned,
                Standing::Free => Group::Open,
                Standing::Somewhere(_) if target.is_none() => Group::Open,
                _ => Group::Otherwise,
            }),
            Action::Add => Some(match standing {
                Standing::NotYet => Group::Open,
                Standing::Seated(_) if is_at_row => Group::AsPlanned,
                _ => Group::Otherwise,
            }),
        }
    }

    fn planned(&self) -> String {
        match &self.end.action {
            Action::Undecided | Action::Keep => self.end.place.to_string(),
            action => format!("{}, {action}", self.end.place),
        }
    }

    fn is(&self) -> String {
        let is_done = |step| self.now.done.contains(&step);
        let place = &self.end.place;
        match &self.now.standing {
            Standing::Seated(seat) if seat == place => match &self.end.action {
                Action::Extend if is_done(Step::Extended) => format!("{place}, spliced longer"),
                Action::Cut | Action::Move(_) | Action::Remove | Action::Extend => format!("still at {place}"),
                _ => place.to_string(),
            },
            Standing::Seated(seat) => seat.to_string(),
            Standing::Free if self.end.action == Action::Remove && is_done(Step::Pulled) => match self.far() {
                Some(far) => format!("out of its cavity; its wire is still there: {far}"),
                None => "out of its cavity; its wire is still there".to_owned(),
            },
            Standing::Free if is_done(Step::Terminated) => {
                "free, with a new terminal; where it sits is not noted".to_owned()
            }
            Standing::Free if is_done(Step::Capped) => "free, capped".to_owned(),
            Standing::Free => "free".to_owned(),
            Standing::Somewhere(words) if !words.is_empty() => format!("somewhere: {words}"),
            Standing::Somewhere(_) if is_done(Step::Spliced) => "spliced; to what is not noted".to_owned(),
            Standing::Somewhere(_) => "moved; where to is not noted".to_owned(),
            Standing::Gone => "gone".to_owned(),
            Standing::Missing => "not there: the cavity was found empty".to_owned(),
            Standing::NotYet => "not there yet".to_owned(),
        }
    }

    /// Where the other end of the wire is, if it is there.
    fn far(&self) -> Option<String> {
        let FarEnd::End(far) = self.circuit.far_end(self.at.1) else { return None };
        match &self.all[far].standing {
            Standing::Seated(place) => Some(place.to_string()),
            _ => Some(self.plan.tag((self.at.0, far))),
        }
    }

    fn put_right(&self, group: Group) -> String {
        let tag = self.plan.tag(self.at).replace(' ', "/");
        match &self.now.standing {
            Standing::Seated(place) if *place != self.end.place => {
                // A place that was found waits until the row says the same.
                let is_found = |noted: &&Noted| noted.note.said == Said::Found(Finding::Place);
                match self.now.placed_by.last().is_some_and(is_found) {
                    true => format!("write `{place}`"),
                    false => format!("write `{place}`, and `loomtag rename {tag} {place}`"),
                }
            }
            Standing::Seated(_) if group == Group::AsPlanned => "write `keep`".to_owned(),
            Standing::Gone | Standing::Missing => "take the row out".to_owned(),
            Standing::Free if self.end.action == Action::Remove => String::new(),
            Standing::Free | Standing::Somewhere(_) => format!("when it is known: `loomtag note {tag} found place …`"),
            Standing::Seated(_) | Standing::NotYet => String::new(),
        }
    }
}

fn of_wire(what: &str, planned: Option<String>) -> String {
    planned.map_or_else(|| format!("no {what}"), |planned| format!("{what} {planned}"))
}

/// The sheet of the differences; `None` where there are none.
pub fn differences_sheet(differences: &[Difference], letterhead: &Letterhead, fonts: &Fonts) -> Option<Sheet> {
    if differences.is_empty() {
        return None;
    }
    let mut table = Table::new(vec![
        Column::new("tag").wide(16.0),
        Column::new("circuit"),
        Column::new("planned"),
        Column::new("is"),
        Column::new("note").wide(22.5),
        Column::new("row"),
        Column::new("put right").growing(),
    ]);
    for group in Group::ALL {
        let of_group = || differences.iter().filter(move |difference| difference.group == group);
        let count = of_group().count();
        if count > 0 {
            table.rows.push(Row::Heading(format!("{} ({count})", group.heading())));
            of_group().for_each(|difference| table.row(cells(difference)));
        }
    }
    let circuits: BTreeSet<_> = differences.iter().filter_map(|difference| difference.at).map(|at| at.0).collect();
    Some(Sheet {
        title: letterhead.job.clone(),
        subtitle: format!("{} at {}", counted(differences.len(), "difference"), counted(circuits.len(), "circuit")),
        sort: "differences to the plan".to_owned(),
        symbol: None,
        passages: vec![table.passage(fonts, letterhead.paper.room().width, Default::default())],
    })
}

fn cells(difference: &Difference) -> Vec<Cell> {
    let row = difference.origin.as_ref().map(|origin| match (origin.cell(), origin.line()) {
        (None, Some(line)) => format!("{}:{line}", origin.file()),
        _ => origin.to_string(),
    });
    let notes: Vec<String> = difference.notes.iter().map(|(number, at)| format!("{number}, {}", day(*at))).collect();
    vec![
        Cell::Code(difference.tag.clone()),
        Cell::words(difference.circuit.as_ref()),
        Cell::words(Some(&difference.planned)),
        Cell::Strong(difference.is.clone()),
        Cell::words(Some(notes.join("\n"))),
        Cell::words(row),
        Cell::words(Some(difference.put_right.replace('`', ""))),
    ]
}
