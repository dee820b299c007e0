//! The plan of a face: every cavity with its name and place. Whoever draws or counts needs no list and no description.

use std::collections::{BTreeMap, BTreeSet};

use super::scheme::{self, Key, Scheme, Settled};
use super::{PitchArea, Pitches, grid, relay, rings};
use crate::base::Cavity;
use crate::circuits::face::{CavityNames, Course, Latch, Side};
use crate::circuits::{Case, Connector, ConnectorFace, ConnectorKind, View};

/// White between a face and the cavities that have no place on it.
const APART_GAP: Pitches = Pitches::ONE;
/// Fewest of these in a row.
const APART_IN_A_ROW: usize = 6;

/// How the cavities of a connector lie.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Arrangement {
    /// In rows.
    Grid,
    /// In rings, round a middle.
    Rings,
    /// As the terminals of a relay.
    Relay,
    /// Not at all: a stud or a splice has no face.
    Point,
}

/// Whether connectors.csv tells how the cavities lie.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Certainty {
    /// It does, or there is nothing to tell.
    Told,
    /// It does not, and the names of the cavities had to do.
    Guessed,
}

/// Whether a cavity has a place on the face.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// It has.
    OnFace,
    /// A list names it, and the face has no room for it: it stands apart, below the face.
    Apart,
}

/// One cavity.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Spot {
    /// Its name: as the lists write it, or as it would be written where no list names it. `None` on a stud or splice.
    pub cavity: Option<Cavity>,
    /// Its row from the top, or its ring from the outermost, from 0.
    pub row: usize,
    /// Its position in the row from the left, or in the ring clockwise from the top, from 0; positions without cavity count.
    pub place: usize,
    /// Where it lies.
    pub area: PitchArea,
    /// Whether it has a place on the face.
    pub standing: Standing,
}

/// The face of a connector.
#[derive(Clone, Debug)]
pub struct FacePlan {
    pub(super) arrangement: Arrangement,
    pub(super) certainty: Certainty,
    /// As seen against the mating face, in the order of rows and places.
    spots: Vec<Spot>,
    /// Positions of each row.
    pub(super) lengths: Vec<u16>,
    /// Extent of the face.
    width: Pitches,
    height: Pitches,
    /// As seen against the mating face.
    latch: Option<Side>,
    /// Letters or numbers of the rows from the top.
    pub(super) row_names: Vec<String>,
    /// Of the columns from the left, as seen against the mating face, where columns have names.
    column_names: Vec<String>,
    remarks: Vec<String>,
}

impl FacePlan {
    /// The plan of a connector: by what connectors.csv says of it, else by what it says of the half that it mates with, else by
    /// the names alone. `names` are those that the lists use, of this connector and of its other half; in any order, and
    /// repeated as may be.
    pub fn new(connector: Option<&Connector>, mate: Option<&Connector>, names: &[Cavity]) -> Self {
        let kind = connector.map(|connector| connector.kind).unwrap_or_default();
        let names: Vec<Cavity> = names.iter().collect::<BTreeSet<_>>().into_iter().cloned().collect();
        let own = connector.map(|connector| &connector.face).filter(|face| says_something(face));
        let of_mate = || mate.filter(|mate| says_something(&mate.face));
        match kind {
            ConnectorKind::Stud | ConnectorKind::Splice => return Self::point(&names),
            ConnectorKind::Relay if own.is_none() && relay::has_usual_names(&names) => return Self::relay(&names),
            _ => {}
        }
        let (face, remark) = match (own, of_mate()) {
            (Some(face), _) => (face.clone(), None),
            (None, Some(mate)) => {
                (mate.face.of_mate(), Some(format!("the mirror image of {}, which it mates with", mate.id)))
            }
            (None, None) => (ConnectorFace::default(), None),
        };
        let differ = || if differ_by_case(&names) { Case::Matters } else { Case::Same };
        let case = connector.and_then(|connector| connector.case).unwrap_or_else(differ);
        let mut settled = scheme::settle(&face, &names, case);
        settled.remarks.splice(..0, remark);
        Self::laid_out(&face, settled, &names)
    }

    /// A stud or splice: a single symbol, or one for each of its names.
    fn point(names: &[Cavity]) -> Self {
        let none = names.is_empty().then_some(None);
        let spot = |(place, cavity): (usize, Option<Cavity>)| {
            let area = square(Pitches::ONE * as_count(place), Pitches::ZERO);
            Spot { cavity, row: 0, place, area, standing: Standing::OnFace }
        };
        let spots: Vec<Spot> = none.into_iter().chain(names.iter().cloned().map(Some)).enumerate().map(spot).collect();
        Self {
            arrangement: Arrangement::Point,
            certainty: Certainty::Told,
            lengths: vec![u16::try_from(spots.len()).unwrap_or(u16::MAX)],
            width: Pitches::ONE * as_count(spots.len()),
            height: Pitches::ONE,
            spots,
            latch: None,
            row_names: Vec::new(),
            column_names: Vec::new(),
            remarks: Vec::new(),
        }
    }

    fn relay(names: &[Cavity]) -> Self {
        let laid = relay::lay(names);
        let apart: Vec<Cavity> =
            names.iter().filter(|name| !laid.iter().any(|spot| spot.cavity.as_ref() == Some(name))).cloned().collect();
        let mut plan = Self {
            arrangement: Arrangement::Relay,
            certainty: Certainty::Told,
            spots: laid,
            lengths: vec![3; 3],
            width: Pitches::ONE * 3,
            height: Pitches::ONE * 3,
            latch: None,
            row_names: Vec::new(),
            column_names: Vec::new(),
            remarks: vec![relay::REMARK.to_owned()],
        };
        plan.put_apart(apart);
        plan
    }

    fn laid_out(face: &ConnectorFace, settled: Settled, names: &[Cavity]) -> Self {
        let Settled { scheme, lengths, count, certainty, mut remarks } = settled;
        let numbering = face.numbering.unwrap_or_default();
        let course = numbering.course.unwrap_or_default();
        let named = Named::new(scheme.as_ref(), names);
        remarks.extend(named.unknown("missing", &face.missing, &lengths));
        remarks.extend(named.unknown("large", &face.large, &lengths));
        let positions = positions(face, scheme.as_ref(), &lengths, count, names);
        let (missing, large) = (named.these(&face.missing), named.these(&face.large));
        let large: BTreeSet<(usize, usize)> = positions.iter().filter(|p| large.hold(p)).map(|p| p.at).collect();
        let laid = match course {
            Course::Rings => rings::lay(&lengths),
            Course::Rows | Course::Columns => grid::lay(&lengths, &large, face.stagger),
        };
        let mut used = BTreeSet::new();
        let mut spots = Vec::new();
        for position in positions.iter().filter(|position| !missing.hold(position)) {
            let Some(area) = laid.areas.get(&position.at) else { continue };
            let listed = position.key.as_ref().and_then(|key| named.by_key.get(key)).copied();
            let cavity = listed.cloned().or_else(|| Cavity::from_cell(&position.name));
            used.extend(cavity.clone());
            let (row, place) = position.at;
            spots.push(Spot { cavity, row, place, area: *area, standing: Standing::OnFace });
        }
        spots.sort_by_key(|spot| (spot.row, spot.place));
        let arrangement = if course == Course::Rings { Arrangement::Rings } else { Arrangement::Grid };
        let (row_names, column_names) = edge_names(scheme.as_ref(), &lengths, arrangement);
        let side = match face.latch {
            Some(Latch::At(side)) => Some(side),
            Some(Latch::Absent) | None => None,
        };
        let mut plan = Self {
            arrangement,
            certainty,
            spots,
            lengths,
            width: laid.width,
            height: laid.height,
            latch: side,
            row_names,
            column_names,
            remarks,
        };
        if face.view == View::WireSide {
            plan = plan.mirrored();
        }
        plan.put_apart(names.iter().filter(|name| !used.contains(*name)).cloned().collect());
        plan
    }

    /// The same plan as it is seen from the other side.
    fn mirrored(self) -> Self {
        let mut column_names = self.column_names.clone();
        column_names.reverse();
        Self { spots: self.seen_from_behind(), latch: self.latch.map(Side::mirrored), column_names, ..self }
    }

    fn seen_from_behind(&self) -> Vec<Spot> {
        let mirror = |spot: &Spot| match spot.standing {
            // What has no place on the face has none on its mirror image either.
            Standing::Apart => spot.clone(),
            Standing::OnFace => {
                let length = self.lengths.get(spot.row).map_or(1, |&length| usize::from(length));
                let place = match self.arrangement {
                    Arrangement::Rings => (length - spot.place) % length,
                    Arrangement::Grid | Arrangement::Relay | Arrangement::Point => length - 1 - spot.place,
                };
                Spot { place, area: spot.area.mirrored(self.width), ..spot.clone() }
            }
        };
        let mut spots: Vec<Spot> = self.spots.iter().map(mirror).collect();
        spots.sort_by_key(|spot| (spot.standing == Standing::Apart, spot.row, spot.place));
        spots
    }

    /// Puts cavities that have no place on the face below it.
    fn put_apart(&mut self, names: Vec<Cavity>) {
        if names.is_empty() {
            return;
        }
        let in_a_row = usize::try_from((self.width.count()) as i64).unwrap_or(1).max(APART_IN_A_ROW);
        let below = self.height + APART_GAP;
        for (index, cavity) in names.iter().enumerate() {
            let (row, place) = (index / in_a_row, index % in_a_row);
            let area = square(Pitches::ONE * as_count(place), below + Pitches::ONE * as_count(row));
            let row = self.lengths.len() + row;
            self.spots.push(Spot { cavity: Some(cavity.clone()), row, place, area, standing: Standing::Apart });
        }
        let shown: Vec<&str> = names.iter().take(6).map(Cavity::as_str).collect();
        let more =
            if names.len() > shown.len() { format!(" and {} more", names.len() - shown.len()) } else { String::new() };
        self.remarks.push(format!("no place on the face for {}{more}: drawn apart, below it", shown.join(", ")));
    }

    /// How the cavities lie.
    pub const fn arrangement(&self) -> Arrangement {
        self.arrangement
    }

    /// Whether connectors.csv tells how they lie.
    pub const fn certainty(&self) -> Certainty {
        self.certainty
    }

    /// Sentences for the sheet: what was inferred, and what has no place.
    pub fn remarks(&self) -> &[String] {
        &self.remarks
    }

    /// All cavities as they are seen in this view, row by row from the left; those that stand apart come last.
    pub fn spots(&self, view: View) -> Vec<Spot> {
        match view {
            View::MatingFace => self.spots.clone(),
            View::WireSide => self.seen_from_behind(),
        }
    }

    /// Width and height of the face, without what stands apart.
    pub const fn extent(&self) -> (Pitches, Pitches) {
        (self.width, self.height)
    }

    /// On which side the latch is in this view, of rings the key; `None` where there is none or nobody told.
    pub fn latch(&self, view: View) -> Option<Side> {
        match view {
            View::MatingFace => self.latch,
            View::WireSide => self.latch.map(Side::mirrored),
        }
    }

    /// Names of the rows from the top: letters, or numbers from 1.
    pub fn row_names(&self) -> &[String] {
        &self.row_names
    }

    /// Names of the columns from the left in this view; none where columns have no names of their own.
    pub fn column_names(&self, view: View) -> Vec<String> {
        let names = self.column_names.iter().cloned();
        match view {
            View::MatingFace => names.collect(),
            View::WireSide => names.rev().collect(),
        }
    }
}

/// Whether connectors.csv tells anything from which a face can be laid out.
const fn says_something(face: &ConnectorFace) -> bool {
    face.tells_grid() || face.cavities.is_some()
}

/// Whether two of the names differ in case only: then case counts.
fn differ_by_case(names: &[Cavity]) -> bool {
    let mut folded: Vec<String> = names.iter().map(|name| name.as_str().to_lowercase()).collect();
    folded.sort_unstable();
    folded.windows(2).any(|pair| pair[0] == pair[1])
}

pub(super) const fn square(left: Pitches, top: Pitches) -> PitchArea {
    PitchArea { left, top, width: Pitches::ONE, height: Pitches::ONE }
}

pub(super) fn as_count(count: usize) -> i64 {
    i64::try_from(count).unwrap_or(i64::from(u16::MAX))
}

/// A position of the face with the name that it has or would have.
struct Position {
    at: (usize, usize),
    key: Option<Key>,
    name: String,
}

/// The positions that have a cavity, in the order in which they are counted.
fn positions(
    face: &ConnectorFace,
    scheme: Option<&Scheme>,
    lengths: &[u16],
    count: usize,
    names: &[Cavity],
) -> Vec<Position> {
    let Some(scheme) = scheme else {
        // In their own order; a face that no list says a name of has one cavity.
        let order = face.numbering.unwrap_or_default().order(lengths);
        let name = |(at, name): ((usize, usize), &Cavity)| Position { at, key: None, name: name.as_str().to_owned() };
        return order.into_iter().zip(names).map(name).collect();
    };
    let parts = scheme.numbering.parts(scheme.names, lengths).into_iter().take(count);
    let position = |(at, letter, number)| {
        let key = scheme.key_at(letter, number);
        Position { at, name: scheme.name(&key), key: Some(key) }
    };
    parts.map(position).collect()
}

/// Cavities that a column of connectors.csv names, read once for all positions.
struct These<'t> {
    keys: BTreeSet<Key>,
    names: BTreeSet<&'t str>,
}

impl These<'_> {
    fn hold(&self, position: &Position) -> bool {
        match &position.key {
            Some(key) => self.keys.contains(key),
            None => self.names.contains(position.name.as_str()),
        }
    }
}

/// The names that the lists use, by what tells their cavities from each other.
struct Named<'n> {
    scheme: Option<&'n Scheme>,
    by_key: BTreeMap<Key, &'n Cavity>,
}

impl<'n> Named<'n> {
    /// Of two spellings of one cavity (`1` and `01`) the first in natural order counts; the other one stands apart.
    fn new(scheme: Option<&'n Scheme>, names: &'n [Cavity]) -> Self {
        let mut by_key = BTreeMap::new();
        for name in names {
            if let Some(key) = scheme.and_then(|scheme| scheme.key(name)) {
                by_key.entry(key).or_insert(name);
            }
        }
        Self { scheme, by_key }
    }

    /// What a column of connectors.csv names.
    fn these<'t>(&self, typed: &'t [String]) -> These<'t> {
        let keys = self.scheme.map(|scheme| typed.iter().filter_map(|name| scheme.key_of(name)).collect());
        These { keys: keys.unwrap_or_default(), names: typed.iter().map(String::as_str).collect() }
    }

    /// The sentence on names in a column of connectors.csv that are no cavities of the face.
    fn unknown(&self, column: &str, typed: &[String], lengths: &[u16]) -> Option<String> {
        let scheme = self.scheme?;
        let all: BTreeSet<Key> = scheme
            .numbering
            .parts(scheme.names, lengths)
            .into_iter()
            .map(|(_, letter, number)| scheme.key_at(letter, number))
            .collect();
        let is_unknown = |name: &&String| scheme.key_of(name).is_none_or(|key| !all.contains(&key));
        let unknown: Vec<&str> = typed.iter().filter(is_unknown).map(String::as_str).take(6).collect();
        (!unknown.is_empty()).then(|| {
            format!(
                "the column `{column}` of connectors.csv names {}, which this face does not have",
                unknown.join(", ")
            )
        })
    }
}

/// Names of rows and columns: letters where they have some, else numbers of rows from the top.
fn edge_names(scheme: Option<&Scheme>, lengths: &[u16], arrangement: Arrangement) -> (Vec<String>, Vec<String>) {
    let counted = || (1..=lengths.len()).map(|row| row.to_string()).collect();
    let (Some(scheme), Arrangement::Grid) = (scheme, arrangement) else { return (counted(), Vec::new()) };
    let start = scheme.numbering.start;
    let is_even = lengths.windows(2).all(|pair| pair[0] == pair[1]);
    let columns = usize::from(lengths.first().copied().unwrap_or_default());
    let in_order = |names: Vec<String>, is_turned: bool| -> Vec<String> {
        if is_turned { names.into_iter().rev().collect() } else { names }
    };
    let letters = |count: usize| (0..count).map(|index| scheme.letter(index)).collect::<Vec<_>>();
    let numbers = |count: usize| (0..count).map(|index| scheme.number(index)).collect::<Vec<_>>();
    match scheme.names {
        CavityNames::LetteredRows | CavityNames::RunningOn => {
            let columns =
                if is_even && scheme.names == CavityNames::LetteredRows { numbers(columns) } else { Vec::new() };
            (in_order(letters(lengths.len()), start.is_bottom()), in_order(columns, start.is_right()))
        }
        CavityNames::LetteredColumns => {
            let columns = if is_even { letters(columns) } else { Vec::new() };
            (in_order(numbers(lengths.len()), start.is_bottom()), in_order(columns, start.is_right()))
        }
        CavityNames::Numbers | CavityNames::Letters => (counted(), Vec::new()),
    }
}
