//! Ends -> wires: which end of a circuit is the other end of which.
//!
//! - A row of a wire list gives a wire; its two ends are each other's far end. A splice has one end for each wire.
//! - Of the ends without such a row, in a circuit without any such row: two are one wire, unless they sit in one connector
//!   (two ground pins of one plug are two wires to elsewhere); one has an unknown far end; three or more go to a splice that
//!   no list names.
//! - A doubled cavity joins wires by itself. Where the ends can be connected without a splice, none is implied: two of one
//!   colour in different connectors, the only ones of that colour, are one wire, and the others are unknown.
//! - Where both halves of an inline pair stand in the circuit (they mate, cavity for cavity), its ends are on different sides
//!   of the pair. An end is on the side of the half whose branch it shares; when one end is left and one side has none but its
//!   half, it is there. Then each side is counted like a circuit. As long as an end's side is unknown, a side of one or two is
//!   unknown as well.
//! - Where wire lists name some of the wires, two ends that are left are one wire if one of them is the half of a pair whose
//!   other half has its wire, or sits in a cavity together with an end that has; otherwise they may as well go to one of the
//!   wires, and nothing is known. The same where a splice is named and more ends are left.
//!
//! What stays ambiguous stays unknown: a tag with an empty line is better than one that lies.

use std::collections::{BTreeMap, HashMap};

use super::{Connector, ConnectorKind, End, FarEnd};

/// What connectors.csv says, by designation.
pub(super) type Described<'a> = HashMap<&'a str, &'a Connector>;

/// The far end of each end of a circuit. `wired` holds, for each end, the other end of its wire in a wire list.
pub(super) fn far_ends(ends: &[End], wired: &[Option<usize>], described: &Described<'_>) -> Vec<FarEnd> {
    let mut far: Vec<FarEnd> = wired.iter().map(|other| other.map_or(FarEnd::Unknown, FarEnd::End)).collect();
    let left: Vec<usize> = (0..ends.len()).filter(|&end| wired[end].is_none()).collect();
    // Most circuits: two ends, or one.
    if let ([one, other], true) = (left.as_slice(), left.len() == ends.len()) {
        if are_in_two_connectors(ends, *one, *other) && !are_mated(&ends[*one], &ends[*other], described) {
            join(&mut far, *one, *other);
        }
        return far;
    }
    if left.len() < 2 {
        return far;
    }
    let by_place = Places::of(ends, &left, described);
    if left.iter().any(|&end| by_place.mate_is_left(&ends[end])) {
        settle_sides(ends, &left, &by_place, &mut far);
        return far;
    }
    let has_wires = left.len() < ends.len();
    match left.as_slice() {
        &[one, other] => {
            let is_led_on =
                |end: usize| by_place.mate_is_wired(&ends[end]) || by_place.shares_place_with_wired(&ends[end]);
            let is_wire = !has_wires || is_led_on(one) || is_led_on(other);
            if is_wire && are_in_two_connectors(ends, one, other) {
                join(&mut far, one, other);
            }
        }
        _ if has_wires && by_place.has_wired_splice => {}
        _ => settle_many(ends, &left, &mut far),
    }
    far
}

/// Three ends or more of which no list names the wires.
fn settle_many(ends: &[End], left: &[usize], far: &mut [FarEnd]) {
    if needs_splice(ends, left) {
        left.iter().for_each(|&end| far[end] = FarEnd::ImpliedSplice);
        return;
    }
    let mut by_colour: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for &end in left {
        if let Some(colour) = &ends[end].colour {
            by_colour.entry(colour.to_string()).or_default().push(end);
        }
    }
    for alike in by_colour.values() {
        if let &[one, other] = alike.as_slice()
            && are_in_two_connectors(ends, one, other)
        {
            join(far, one, other);
        }
    }
}

/// Whether these ends cannot all be connected by wires between them: n places take n - 1 wires, which have 2 (n - 1) ends.
fn needs_splice(ends: &[End], left: &[usize]) -> bool {
    // Ends are sorted by place, so that those of one place stand together.
    let places = left.chunk_by(|&a, &b| ends[a].place == ends[b].place).count();
    left.len() + 2 < 2 * places
}

fn are_in_two_connectors(ends: &[End], one: usize, other: usize) -> bool {
    ends[one].place.connector != ends[other].place.connector
}

fn join(far: &mut [FarEnd], one: usize, other: usize) {
    far[one] = FarEnd::End(other);
    far[other] = FarEnd::End(one);
}

/// A place by its texts.
type PlaceKey<'a> = (&'a str, Option<&'a str>);

fn key(end: &End) -> PlaceKey<'_> {
    (end.place.connector.as_str(), end.place.cavity.as_ref().map(|cavity| cavity.as_str()))
}

/// Where the other half of an inline pair has the same cavity.
fn mate<'a>(end: &'a End, described: &Described<'a>) -> Option<PlaceKey<'a>> {
    let (connector, cavity) = key(end);
    let mates = described.get(connector)?.mates.as_ref()?;
    cavity.map(|cavity| (mates.as_str(), Some(cavity)))
}

fn are_mated(one: &End, other: &End, described: &Described<'_>) -> bool {
    mate(one, described) == Some(key(other)) || mate(other, described) == Some(key(one))
}

/// What sits in the places of a circuit.
struct Places<'a> {
    /// Per place, whether an end there has a wire from a list, and the branch of an end there that has none.
    here: HashMap<PlaceKey<'a>, Here<'a>>,
    described: &'a Described<'a>,
    has_wired_splice: bool,
}

#[derive(Default)]
struct Here<'a> {
    is_wired: bool,
    is_left: bool,
    branch: Option<&'a str>,
}

impl<'a> Places<'a> {
    fn of(ends: &'a [End], left: &[usize], described: &'a Described<'a>) -> Self {
        let mut here: HashMap<PlaceKey<'a>, Here<'a>> = HashMap::with_capacity(ends.len());
        let mut left = left.iter().peekable();
        let mut has_wired_splice = false;
        for (index, end) in ends.iter().enumerate() {
            let place = here.entry(key(end)).or_default();
            if left.next_if_eq(&&index).is_some() {
                place.is_left = true;
                place.branch = place.branch.or(end.branch.as_deref());
            } else {
                place.is_wired = true;
                let kind = described.get(end.place.connector.as_str()).map(|connector| connector.kind);
                has_wired_splice |=
                    kind == Some(ConnectorKind::Splice) || (kind.is_none() && end.place.cavity.is_none());
            }
        }
        Self { here, described, has_wired_splice }
    }

    fn mate_here(&self, end: &'a End) -> Option<&Here<'a>> {
        self.here.get(&mate(end, self.described)?)
    }

    fn mate_is_left(&self, end: &'a End) -> bool {
        self.mate_here(end).is_some_and(|mate| mate.is_left)
    }

    fn mate_is_wired(&self, end: &'a End) -> bool {
        self.mate_here(end).is_some_and(|mate| mate.is_wired)
    }

    fn shares_place_with_wired(&self, end: &'a End) -> bool {
        !self.has_wired_splice && self.here.get(&key(end)).is_some_and(|here| here.is_wired)
    }
}

/// One side of an inline pair, or what lies between two pairs.
#[derive(Default)]
struct Section {
    halves: Vec<usize>,
    others: Vec<usize>,
}

/// Splits the ends that are left by the inline pairs among them.
fn settle_sides<'a>(ends: &'a [End], left: &[usize], by_place: &Places<'a>, far: &mut [FarEnd]) {
    /// What halves of one section share: a branch that parts them from their mates, else their place alone.
    #[derive(PartialEq, Eq, Hash)]
    enum Label<'a> {
        Branch(&'a str),
        Place(PlaceKey<'a>),
    }
    let mut sections: Vec<Section> = Vec::new();
    let mut by_label: HashMap<Label<'a>, usize> = HashMap::new();
    let (halves, others): (Vec<usize>, Vec<usize>) = left.iter().partition(|&&end| by_place.mate_is_left(&ends[end]));
    for half in halves {
        let end = &ends[half];
        let own = by_place.here.get(&key(end)).and_then(|here| here.branch);
        let mates = by_place.mate_here(end).and_then(|mate| mate.branch);
        let label = match own {
            Some(branch) if own != mates => Label::Branch(branch),
            _ => Label::Place(key(end)),
        };
        let section = *by_label.entry(label).or_insert_with(|| {
            sections.push(Section::default());
            sections.len() - 1
        });
        sections[section].halves.push(half);
    }
    let mut astray = Vec::new();
    for other in others {
        let section = ends[other].branch.as_deref().and_then(|branch| by_label.get(&Label::Branch(branch)));
        match section {
            Some(&section) => sections[section].others.push(other),
            None => astray.push(other),
        }
    }
    if let ([one], [_, _]) = (astray.as_slice(), sections.as_slice()) {
        let mut bare = sections.iter_mut().filter(|section| section.others.is_empty());
        if let (Some(section), None) = (bare.next(), bare.next()) {
            section.others.push(*one);
            astray.clear();
        }
    }
    for section in &sections {
        let mut members: Vec<usize> = section.halves.iter().chain(&section.others).copied().collect();
        members.sort_unstable();
        match members.as_slice() {
            [_] => {}
            // Two halves of one connector are two ways through it, not a wire between them.
            &[one, other] if astray.is_empty() && are_in_two_connectors(ends, one, other) => join(far, one, other),
            &[_, _] => {}
            _ if astray.is_empty() || needs_splice(ends, &members) => settle_many(ends, &members, far),
            _ => {}
        }
    }
}
