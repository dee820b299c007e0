//! A removed wire and a wanted one -> whether it serves, at what cost, or what must be measured before that can be told.

use super::spare::{Spare, Standing, area};
use super::wanted::{Wanted, What};
use crate::base::{ConnectorId, Insulation, Length, Place};
use crate::circuits::{Circuits, End};

/// What is lost where a wire has another colour than the one asked for but its base, in millimetres of wire. This and the costs
/// below are our choice: a wire that fits better is taken before one that leaves so much less over.
const BASE_COLOUR_ALONE: i64 = 150;
/// The same for a colour that is another one, or is not known.
const OTHER_COLOUR: i64 = 400;
/// For a wire of which one end stays in its cavity.
const SAME_PLACE: i64 = 50;
/// For a wire of which one end moves to another cavity of its connector.
const SAME_CONNECTOR: i64 = 100;
/// For a wire that lies in the same branch but ends elsewhere.
const SAME_BRANCH: i64 = 300;
/// For a wire that lies elsewhere.
const ELSEWHERE: i64 = 600;
/// For one of a twisted pair or cable, which must be parted.
const OF_A_PAIR: i64 = 500;
/// For a wire of which no list tells the other end.
const UNTRACED: i64 = 200;
/// For an end that needs another family of terminals than any end of the wire has.
const OTHER_TERMINAL: i64 = 50;
/// No wire is worth more: far beyond the longest, and sums of it stay far below what the sums can hold.
const MOST: i64 = 1_000_000_000_000;

/// How the colour of a wire suits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum ColourMatch {
    /// Base and stripe.
    Same,
    /// The base colour.
    Base,
    /// Another one, or one of the two is not known.
    Other,
    /// None is asked for.
    NotAsked,
}

/// What a removed wire's way and that of the wanted one have in common.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Route {
    /// It lies between the two connectors that the wanted wire goes to: it stays in the loom.
    Loom(ConnectorId, ConnectorId),
    /// An end sits in the very place that the wanted wire goes to: it is not pulled at all.
    Place(Place),
    /// An end sits in a connector that the wanted wire goes to: it moves to another cavity there.
    Connector(ConnectorId),
    /// Both lie in this branch.
    Branch(String),
    /// Nothing that the lists tell of.
    Elsewhere,
}

impl Route {
    /// Whether the wire is left in with one end at least.
    pub const fn leaves_it_in(&self) -> bool {
        matches!(self, Self::Loom(..) | Self::Place(_) | Self::Connector(_))
    }

    const fn cost(&self) -> i64 {
        match self {
            Self::Loom(..) => 0,
            Self::Place(_) => SAME_PLACE,
            Self::Connector(_) => SAME_CONNECTOR,
            Self::Branch(_) => SAME_BRANCH,
            Self::Elsewhere => ELSEWHERE,
        }
    }
}

/// Whether a piece is the whole wire, with its ends as they are, or what another want left of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Whole {
    Yes,
    No,
}

/// A wire that serves, or may.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Suits {
    /// What is lost by it, in millimetres of wire of the size that is asked for.
    pub(super) cost: i64,
    pub(super) colour: ColourMatch,
    pub(super) route: Route,
    /// Families of terminals of wanted ends that an end of the wire has already.
    pub(super) terminals: Vec<String>,
}

/// Whether a piece serves.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Fit {
    /// All that is known speaks for it, and length and size are known.
    Serves(Suits),
    /// All that is known speaks for it, but lengths or sizes are not known.
    IfMeasured(Suits),
    /// It is too short, too thin, or of worse insulation.
    No,
}

/// Whether `spare`, of which `length` is left, serves what is `wanted`, with `slack` at both ends.
pub(super) fn fit(
    circuits: &Circuits,
    spare: &Spare,
    (length, whole): (Option<Length>, Whole),
    wanted: &Wanted,
    slack: Length,
) -> Fit {
    if !is_insulation_as_good(spare.insulation, wanted.insulation) {
        return Fit::No;
    }
    // A wire that was cut is at most as long as it was.
    let most = length.or(spare.at_most);
    let piece = wanted.length.map(|way| piece(way, slack));
    if most.zip(piece).is_some_and(|(most, piece)| most < piece) || most.is_some_and(|most| most <= slack * 2) {
        return Fit::No;
    }
    let areas = spare.conductor.as_ref().map(area).zip(wanted.conductor.as_ref().map(area));
    if areas.is_some_and(|(has, asked)| has < asked) {
        return Fit::No;
    }
    let colour = colour_match(spare, wanted);
    let route = match whole {
        Whole::Yes => route(circuits, spare, wanted),
        Whole::No => match route(circuits, spare, wanted) {
            Route::Branch(branch) => Route::Branch(branch),
            _ => branch(circuits, spare, wanted),
        },
    };
    let (terminals, others) = match whole {
        Whole::Yes => terminals(circuits, spare, wanted),
        Whole::No => (Vec::new(), 0),
    };
    let waste = match (length, piece, areas) {
        (Some(length), Some(piece), Some(areas)) => waste(length, piece, areas),
        // What is thicker than it need be, for a metre of it.
        (.., Some((has, asked))) => waste(Length::mm(1000.0), Length::mm(1000.0), (has, asked)),
        _ => 0,
    };
    let preferences = route.cost()
        + match colour {
            ColourMatch::Same | ColourMatch::NotAsked => 0,
            ColourMatch::Base => BASE_COLOUR_ALONE,
            ColourMatch::Other => OTHER_COLOUR,
        }
        + if spare.partner.is_some() { OF_A_PAIR } else { 0 }
        + if spare.is_untraced(circuits) { UNTRACED } else { 0 }
        + OTHER_TERMINAL * others as i64;
    let suits = Suits { cost: (waste + preferences).min(MOST), colour, route, terminals };
    match (length, piece, areas) {
        (Some(_), Some(_), Some(_)) => Fit::Serves(suits),
        _ => Fit::IfMeasured(suits),
    }
}

/// What is cut for a way.
pub(super) fn piece(way: Length, slack: Length) -> Length {
    way + slack * 2
}

/// What is left over and what is thicker than it need be, both as copper: millimetres of wire of the size that is asked for.
fn waste(length: Length, piece: Length, (has, asked): (f64, f64)) -> i64 {
    (length.as_mm() * has / asked - piece.as_mm()).round().clamp(0.0, MOST as f64) as i64
}

/// Whether an insulation does for another. Vehicle wire goes by its wall; boat cable does for vehicle wire but not the other way
/// round, and hook-up wire only for its own kind (common practice). What is not known is not in the way.
fn is_insulation_as_good(has: Option<Insulation>, asked: Option<Insulation>) -> bool {
    let (Some(has), Some(asked)) = (has, asked) else { return true };
    let wall = |insulation| match insulation {
        Insulation::UltraThinWall => Some(0),
        Insulation::ThinWall => Some(1),
        Insulation::ThickWall => Some(2),
        Insulation::SpecialPurpose => Some(3),
        Insulation::BoatCable => Some(4),
        Insulation::HookUp300 | Insulation::HookUp600 => None,
    };
    match (has, asked) {
        (Insulation::HookUp600, Insulation::HookUp300) => true,
        _ if has == asked => true,
        _ => wall(has).zip(wall(asked)).is_some_and(|(has, asked)| has >= asked),
    }
}

fn colour_match(spare: &Spare, wanted: &Wanted) -> ColourMatch {
    let Some(asked) = &wanted.colour else { return ColourMatch::NotAsked };
    match &spare.colour {
        Some(colour) if colour.same_as(asked) => ColourMatch::Same,
        Some(colour) if colour.base().is_some() && colour.base() == asked.base() => ColourMatch::Base,
        _ => ColourMatch::Other,
    }
}

/// What the ways have in common. An end that is pulled already sits nowhere any more, and a wire that is cut lies there in pieces.
fn route(circuits: &Circuits, spare: &Spare, wanted: &Wanted) -> Route {
    let circuit = &circuits.all()[spare.wire.circuit];
    let sitting = spare.wire.ends().filter(|end| !spare.pulled.contains(end) && spare.standing != Standing::Cut);
    let sitting: Vec<&Place> = sitting.map(|end| &circuit.ends()[end].place).collect();
    let goals: Vec<&Place> = goals(circuits, wanted).map(|end| &end.place).collect();
    if let ([one, other], [from, to]) = (&sitting[..], &goals[..]) {
        let lies = |from: &Place, to: &Place| one.connector == from.connector && other.connector == to.connector;
        if lies(from, to) || lies(to, from) {
            return Route::Loom(one.connector.clone(), other.connector.clone());
        }
    }
    if let Some(place) = sitting.iter().find(|place| goals.contains(place)) {
        return Route::Place((*place).clone());
    }
    match sitting.iter().find(|place| goals.iter().any(|goal| goal.connector == place.connector)) {
        Some(place) => Route::Connector(place.connector.clone()),
        None => branch(circuits, spare, wanted),
    }
}

/// The branch that both lie in.
fn branch(circuits: &Circuits, spare: &Spare, wanted: &Wanted) -> Route {
    let circuit = &circuits.all()[spare.wire.circuit];
    let lies_in: Vec<&str> = spare.wire.ends().filter_map(|end| circuit.ends()[end].branch.as_deref()).collect();
    let mut goes_in = goals(circuits, wanted).filter_map(|end| end.branch.as_deref());
    let shared = goes_in.find(|branch| lies_in.contains(branch));
    shared.map_or(Route::Elsewhere, |branch| Route::Branch(branch.to_owned()))
}

/// The ends that the wanted wire arrives at. A piece that makes a wire longer is spliced to it, and arrives where that one was to.
fn goals<'c>(circuits: &'c Circuits, wanted: &Wanted) -> impl Iterator<Item = &'c End> {
    let (one, other) = match wanted.what {
        What::New(wire) => (wire.first, wire.other),
        What::Extension { end, on_to, .. } => (on_to.unwrap_or(end), None),
    };
    let circuit = &circuits.all()[wanted.what.circuit()];
    std::iter::once(one).chain(other).map(|end| &circuit.ends()[end])
}

/// Families of terminals that the wanted wire needs and an end of the spare has, and how many it needs that no end has.
fn terminals(circuits: &Circuits, spare: &Spare, wanted: &Wanted) -> (Vec<String>, usize) {
    let circuit = &circuits.all()[spare.wire.circuit];
    let mut has: Vec<&str> = spare.wire.ends().filter_map(|end| circuit.ends()[end].terminal.as_deref()).collect();
    let (mut fitting, mut others) = (Vec::new(), 0);
    for asked in goals(circuits, wanted).filter_map(|end| end.terminal.as_deref()) {
        match has.iter().position(|family| family.eq_ignore_ascii_case(asked)) {
            Some(at) => fitting.push(has.swap_remove(at).to_owned()),
            None => others += 1,
        }
    }
    (fitting, others)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn walls_of_vehicle_wire_and_boat_cable() {
        use Insulation::{BoatCable, HookUp300, HookUp600, ThickWall, ThinWall, UltraThinWall};
        let as_good = |has, asked| is_insulation_as_good(Some(has), Some(asked));
        for (has, asked) in
            [(ThickWall, ThinWall), (BoatCable, ThickWall), (HookUp600, HookUp300), (ThinWall, ThinWall)]
        {
            assert!(as_good(has, asked) && (has == asked || !as_good(asked, has)), "{has} for {asked}");
        }
        for (has, asked) in [(UltraThinWall, ThinWall), (HookUp600, ThinWall), (BoatCable, HookUp300)] {
            assert!(!as_good(has, asked), "{has} for {asked}");
        }
        assert!(is_insulation_as_good(None, Some(BoatCable)) && is_insulation_as_good(Some(ThinWall), None));
    }

    /// By hand: 2000 mm of 1.5 mm² are as much copper as 3000 mm of 1 mm²; of these 1200 mm are wanted, so that 1800 mm are lost.
    #[test]
    fn waste_is_copper() {
        let mm = Length::mm;
        assert_eq!(waste(mm(2000.0), mm(1200.0), (1.5, 1.0)), 1800);
        assert_eq!(waste(mm(1200.0), mm(1200.0), (1.0, 1.0)), 0);
    }
}
