//! AS BUILT: the plan and the notes of the bench -> what is, and where it differs from what was planned.
//!
//! The notes of an end are gone through in their order. A note that is superseded tells nothing, and a step that was undone counts as
//! never done. What the others mean for where the end is:
//!
//! ```text
//! (nothing)          it is where its row says; of the action add: it is not there yet
//! cut                it hangs free: in no cavity, known by its tag alone
//! pulled             the row says remove: it has left, and hangs free as long as the other end of its wire has not left too, or is
//!                    not known and its tag is not off; else it hangs free
//! moved              where its row says it shall go; where that is not said: somewhere that nobody has noted
//! added              where its row says, unless another place was noted
//! extended           the row says extend: where its row says, be it cut before; else nothing
//! spliced            of a free end: somewhere that nobody has noted
//! terminated         nothing: a cut end with its new terminal hangs free until somebody notes where it sits
//! tagged             nothing
//! untagged           of an end that was pulled to leave: that its wire is out, wherever its other end was
//! sealed capped tested
//! found place        there; where it is no place of a harness: somewhere
//! found empty        of an end that sits in a cavity: it is not there
//! found colour size  its wire has that colour or size
//! found damaged …    nothing, but it is told
//! ```
//!
//! Cut and pulled are on the way to moved and extended, so that they mean nothing when they are noted behind these. A place that
//! was found in another connector than the row's before `moved` was noted is where the end was moved to; one in the same connector
//! was found before it was moved. What is noted of a circuit as a whole counts for all its ends, except a place and `empty`, which
//! cannot be of all of them: those are told and mean nothing.
//!
//! What is undecided, kept or in reserve is as it is. An end that the plan asks no more of is kept; one of which the planned step is
//! not done keeps its action: it is open, and not built. Ends that hang free or sit somewhere lie in places of their own, `FREE/7KF4
//! A` and `SOMEWHERE/7KF4 A`: connectors that no harness has, with their tags for cavities. A wire of which one end has left or is
//! not there yet leads to an end that is not known. A circuit keeps its designation, code and letters, whatever became of its ends;
//! when it was named by its place, and has left it, it has that name now.

mod charts;
mod described;
mod differences;
mod replay;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod trials;

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;

use super::{Harness, OnBench};
use crate::base::{Cavity, CircuitId, ConnectorId, Finding, Place, Step, TagCode};
use crate::circuits::{Action, Circuit, Circuits, Decided, End, FarEnd, Naming};
use crate::codes::link::Payload;
use crate::codes::{CircuitCodes, Issued, Noted};

pub use charts::{ChartFile, Charts, charts};
pub use differences::{Difference, Group, differences_sheet};
use replay::{Now, Places};

/// The connector that stands for no cavity at all; with a number behind it where a list has one of that name.
pub const FREE: &str = "FREE";
/// The connector that stands for a place nobody has noted, likewise.
pub const SOMEWHERE: &str = "SOMEWHERE";

/// Whether this stands for no connector at all, in a harness as built: its ends have their tags for cavities.
pub fn is_no_connector(built: &Harness<'_>, id: &ConnectorId) -> bool {
    let is_under_its_tag = |at: (usize, usize)| {
        let cavity = built.end(at).place.cavity.as_ref();
        cavity.is_some_and(|cavity| cavity.as_str() == built.tag(at))
    };
    let ends = || built.circuits.working_order().into_iter().filter(|at| built.end(*at).place.connector == *id);
    let is_named_so = [FREE, SOMEWHERE].iter().any(|name| id.as_str().starts_with(name));
    is_named_so && ends().next().is_some() && ends().all(is_under_its_tag)
}

/// Where an end of the plan is by now.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Standing {
    /// It sits in this place.
    Seated(Place),
    /// It hangs free.
    Free,
    /// It sits somewhere; what was noted of the place, if anything was.
    Somewhere(String),
    /// It has left the harness.
    Gone,
    /// Its cavity was found empty.
    Missing,
    /// It was planned and is not there yet.
    NotYet,
}

impl Standing {
    /// Whether the end exists.
    pub const fn is_there(&self) -> bool {
        matches!(self, Self::Seated(_) | Self::Free | Self::Somewhere(_))
    }
}

/// What became of an end of the plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fate {
    /// Where it is.
    pub standing: Standing,
    /// Which end of the circuits as built it is; `None` where it is not there.
    pub built: Option<(usize, usize)>,
}

/// Notes of the bench, each under what it is of.
#[derive(Clone, Debug, Default)]
pub struct BenchNotes<'n> {
    /// By circuit and end of the plan, in the order of their numbers.
    pub of_ends: Vec<Vec<Vec<&'n Noted>>>,
    /// Of blanks that are not assigned.
    pub of_blanks: Vec<(TagCode, Vec<&'n Noted>)>,
}

/// What is.
#[derive(Clone, Debug, Default)]
pub struct AsBuilt {
    /// The circuits as built: in the order of the plan, without those of which no end is there.
    pub circuits: Circuits,
    /// Their codes and letters, those of the plan.
    pub issued: Issued,
    /// What the bench knows of their ends and what the circuits do not say.
    pub on_bench: Vec<Vec<OnBench>>,
    /// What became of every end of the plan, by circuit and end.
    pub fates: Vec<Vec<Fate>>,
    /// Where what is differs from what was planned, by group and in working order.
    pub differences: Vec<Difference>,
    /// Blanks that are not assigned.
    pub blanks: Vec<TagCode>,
}

impl AsBuilt {
    /// What sheets are made from.
    pub fn harness<'a>(&'a self, payload: &'a Payload) -> Harness<'a> {
        let (circuits, issued) = (&self.circuits, &self.issued);
        Harness { circuits, issued, payload, on_bench: self.on_bench.as_slice().into(), blanks: self.blanks.clone() }
    }
}

/// What is, by the plan and the notes.
pub fn as_built(plan: &Harness<'_>, notes: &BenchNotes<'_>) -> AsBuilt {
    let places = Places::of(plan.circuits);
    let mut built = AsBuilt { blanks: plan.blanks.clone(), ..AsBuilt::default() };
    let mut all = Vec::with_capacity(plan.circuits.all().len());
    for (index, circuit) in plan.circuits.all().iter().enumerate() {
        let none = Vec::new();
        let of_ends = notes.of_ends.get(index).unwrap_or(&none);
        let mut now = replay::circuit(circuit, of_ends, &places);
        settle_pulled(circuit, &mut now);
        all.push(now);
    }
    let loose = Loose::beside(plan.circuits, &all);
    let mut circuits = Vec::new();
    for (index, now) in all.iter().enumerate() {
        let drafts = drafts(plan, index, now, &loose);
        let mut fates: Vec<Fate> = now.iter().map(|now| Fate { standing: now.standing.clone(), built: None }).collect();
        if let Some((circuit, codes, on_bench)) = assemble(plan, index, drafts, circuits.len(), &mut fates) {
            circuits.push(circuit);
            built.issued.circuits.push(codes);
            built.on_bench.push(on_bench);
        }
        built.fates.push(fates);
    }
    name_by_place(&mut circuits, plan.circuits, &built.fates);
    let connectors: BTreeMap<_, _> =
        plan.circuits.connectors().map(|connector| (connector.id.clone(), connector.clone())).collect();
    built.circuits = Circuits::new(circuits, connectors);
    built.differences = differences::differences(plan, &all, &notes.of_blanks);
    built
}

/// An end that was pulled to leave hangs free as long as the other end of its wire is there, or may be: of one that is not known
/// nobody can say it, until the tag is taken off.
fn settle_pulled(circuit: &Circuit, now: &mut [Now<'_>]) {
    let hanging: Vec<usize> = (0..now.len())
        .filter(|&end| now[end].standing == Standing::Gone)
        .filter(|&end| match circuit.far_end(end) {
            FarEnd::End(far) => now[far].standing.is_there(),
            FarEnd::ImpliedSplice | FarEnd::Unknown => !now[end].done.contains(&Step::Untagged),
        })
        .collect();
    for end in hanging {
        now[end].standing = Standing::Free;
    }
}

/// An end as built, its place in the plan, and what the bench knows of it.
struct Draft {
    end: End,
    planned: usize,
    on_bench: OnBench,
}

/// The connectors in which ends lie that have no place: names that neither a list nor a note has.
struct Loose {
    free: String,
    somewhere: String,
}

impl Loose {
    fn beside(plan: &Circuits, now: &[Vec<Now<'_>>]) -> Self {
        let noted = now.iter().flatten().filter_map(|now| match &now.standing {
            Standing::Seated(place) => Some(&place.connector),
            _ => None,
        });
        let planned = plan.all().iter().flat_map(Circuit::ends).flat_map(|end| {
            let target = match &end.action {
                Action::Move(Some(to)) => Some(&to.connector),
                _ => None,
            };
            std::iter::once(&end.place.connector).chain(target)
        });
        let described = plan.connectors().map(|connector| &connector.id);
        let taken: BTreeSet<String> =
            noted.chain(planned).chain(described).map(|id| id.as_str().to_lowercase()).collect();
        let unused = |name: &str| {
            let numbered = (2_u32..).map(|number| format!("{name} {number}"));
            let mut names = std::iter::once(name.to_owned()).chain(numbered);
            names.find(|name| !taken.contains(&name.to_lowercase())).unwrap_or_else(|| name.to_owned())
        };
        Self { free: unused(FREE), somewhere: unused(SOMEWHERE) }
    }
}

/// The place that stands for one without place.
fn place_of_its_own(connector: &str, tag: &str) -> Option<Place> {
    Some(Place::new(ConnectorId::from_cell(connector)?, Cavity::from_cell(tag)))
}

fn drafts(plan: &Harness<'_>, circuit: usize, now: &[Now<'_>], loose: &Loose) -> Vec<Draft> {
    let ends = plan.circuit(circuit).ends().iter().zip(now).enumerate();
    let mut drafts: Vec<Draft> = ends
        .filter_map(|(at, (planned, now))| {
            let tag = plan.tag((circuit, at));
            let place = match &now.standing {
                Standing::Seated(place) => place.clone(),
                Standing::Free => place_of_its_own(&loose.free, &tag)?,
                Standing::Somewhere(_) => place_of_its_own(&loose.somewhere, &tag)?,
                Standing::Gone | Standing::Missing | Standing::NotYet => return None,
            };
            let mut end = planned.clone();
            if place != planned.place {
                end.branch = branch_at(plan.circuits, planned, &place);
                end.place = place;
            }
            if let Some((colour, _)) = &now.colour {
                end.colour = Some(colour.clone());
            }
            if let Some((size, _)) = &now.size {
                end.conductor = size.clone();
            }
            let work = if now.is_settled(planned) { Work::Settled } else { Work::Open };
            if work == Work::Settled {
                (end.action, end.decided, end.is_marked_undecided) = (Action::Keep, Decided::Row, false);
            }
            Some(Draft { end, planned: at, on_bench: on_bench(plan.on_bench((circuit, at)), work) })
        })
        .collect();
    let colour = |draft: &Draft| draft.end.colour.as_ref().map(ToString::to_string);
    drafts.sort_by(|a, b| a.end.place.cmp(&b.end.place).then_with(|| colour(a).cmp(&colour(b))));
    if let Some(first) = drafts.first_mut() {
        first.end.ordinal = 0;
    }
    for at in 1..drafts.len() {
        let (above, this) = (&drafts[at - 1], &drafts[at]);
        let is_alike = above.end.place == this.end.place && colour(above) == colour(this);
        drafts[at].end.ordinal = if is_alike { above.end.ordinal.saturating_add(1) } else { 0 };
    }
    drafts
}

/// The leg of the harness an end lies in at another place than planned: that of its new connector, unless its row named another
/// leg than its old connector hangs on.
fn branch_at(circuits: &Circuits, planned: &End, place: &Place) -> Option<String> {
    let of = |id: &ConnectorId| circuits.connector(id).and_then(|connector| connector.branch.clone());
    let old = of(&planned.place.connector);
    if planned.branch.is_none() || planned.branch == old {
        return of(&place.connector).or_else(|| planned.branch.clone());
    }
    planned.branch.clone()
}

/// Whether the plan asks more of an end.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Work {
    Open,
    Settled,
}

/// What is left of what the bench knows, once the circuits say the rest: of an end that is open, all steps.
fn on_bench(planned: &OnBench, work: Work) -> OnBench {
    const SPENT: [Step; 4] = [Step::Cut, Step::Pulled, Step::Moved, Step::Added];
    let mut on_bench = planned.clone();
    on_bench.done.retain(|step| work == Work::Open || !SPENT.contains(step));
    on_bench.found.retain(|found| !found.finding.has_value() && found.finding != Finding::Empty);
    on_bench
}

/// The circuit of these ends with its codes; `None` where no end is there.
fn assemble(
    plan: &Harness<'_>,
    index: usize,
    drafts: Vec<Draft>,
    built_index: usize,
    fates: &mut [Fate],
) -> Option<(Circuit, CircuitCodes, Vec<OnBench>)> {
    let (planned, codes) = (plan.circuit(index), &plan.issued.circuits[index]);
    if drafts.is_empty() {
        return None;
    }
    let mut position = vec![None; planned.ends().len()];
    for (at, draft) in drafts.iter().enumerate() {
        position[draft.planned] = Some(at);
        fates[draft.planned].built = Some((built_index, at));
    }
    let far = drafts.iter().map(|draft| match planned.far_end(draft.planned) {
        FarEnd::End(other) => position[other].map_or(FarEnd::Unknown, FarEnd::End),
        other => other,
    });
    let far: Vec<FarEnd> = far.collect();
    let letters = drafts.iter().map(|draft| codes.letters[draft.planned]).collect();
    let codes = CircuitCodes { code: codes.code, also: codes.also.clone(), letters };
    let (ends, on_bench): (Vec<End>, Vec<OnBench>) =
        drafts.into_iter().map(|draft| (draft.end, draft.on_bench)).unzip();
    // They did in the plan, and both of a pair are there or none points.
    let circuit =
        Circuit::new(planned.id().clone(), planned.naming(), ends, far).expect("far ends point at each other");
    Some((described(circuit, planned), codes, on_bench))
}

/// A circuit with what is said of it as a whole.
fn described(mut circuit: Circuit, planned: &Circuit) -> Circuit {
    circuit.function.clone_from(&planned.function);
    circuit.supply = planned.supply;
    circuit.fuse.clone_from(&planned.fuse);
    circuit.fuse_at.clone_from(&planned.fuse_at);
    circuit
}

/// A circuit that was named by its place has that name for good once it has left the place, or shares one that it did not share.
fn name_by_place(circuits: &mut [Circuit], plan: &Circuits, fates: &[Vec<Fate>]) {
    let mut at_place: BTreeMap<Place, Vec<CircuitId>> = BTreeMap::new();
    let has_changed = |planned: &Circuit, fates: &[Fate]| {
        planned.ends().iter().zip(fates).any(|(end, fate)| fate.standing != Standing::Seated(end.place.clone()))
    };
    let changed: Vec<&CircuitId> = plan
        .all()
        .iter()
        .zip(fates)
        .filter(|(planned, fates)| has_changed(planned, fates))
        .map(|(planned, _)| planned.id())
        .collect();
    if changed.is_empty() {
        return;
    }
    for circuit in circuits.iter() {
        for end in circuit.ends() {
            let here = at_place.entry(end.place.clone()).or_default();
            if here.last() != Some(circuit.id()) {
                here.push(circuit.id().clone());
            }
        }
    }
    for circuit in circuits.iter_mut().filter(|circuit| circuit.naming() == Naming::ByPlace) {
        let is_elsewhere = circuit.ends().first().is_none_or(|end| CircuitId::from(&end.place) != *circuit.id());
        let meets_changed = circuit.ends().iter().any(|end| {
            let here = at_place.get(&end.place).map_or(&[][..], Vec::as_slice);
            here.len() > 1 && here.iter().any(|id| changed.binary_search(&id).is_ok())
        });
        if is_elsewhere || meets_changed {
            let far = (0..circuit.ends().len()).map(|end| circuit.far_end(end)).collect();
            let named = Circuit::new(circuit.id().clone(), Naming::Designated, circuit.ends().to_vec(), far);
            if let Some(named) = named {
                *circuit = described(named, circuit);
            }
        }
    }
}

/// The day of a note.
fn day(at: Timestamp) -> String {
    at.strftime("%Y-%m-%d").to_string()
}
