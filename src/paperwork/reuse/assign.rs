//! Removed wires and wants -> what serves what: an assignment, solved exactly (Kuhn–Munkres), then again for what is left over.
//!
//! In the first round each removed wire serves one want at most, and no other way to match meets more wants, or as many at less
//! cost. What the wants of a round leave of their wires goes into the next one, for the wants that are still unmet, until no
//! more is met. Each round is exact; that several wants share a wire only where wires run short is our choice, for a whole wire
//! is worth more than two halves.

use pathfinding::kuhn_munkres::kuhn_munkres;
use pathfinding::matrix::Matrix;

use super::Reuse;
use super::fit::{ColourMatch, Fit, Route, Suits, Whole, fit, piece};
use super::spare::Spare;
use super::wanted::Wanted;
use crate::base::{Conductor, Length};
use crate::circuits::Circuits;

/// So many wires that might do are told for each want.
const TOLD: usize = 3;

/// A removed wire that serves a want.
#[derive(Clone, Debug, PartialEq)]
pub struct Match {
    /// Index of the removed wire.
    pub spare: usize,
    /// Index of the want.
    pub wanted: usize,
    /// What is cut from it: the way with its slack.
    pub piece: Length,
    /// What was there to cut from.
    pub from: Length,
    /// How its colour suits.
    pub colour: ColourMatch,
    /// What its way and that of the wanted wire have in common.
    pub route: Route,
    /// Families of terminals of the wanted wire that it has on its ends already.
    pub terminals: Vec<String>,
}

impl Match {
    /// What is left of it.
    pub fn rest(&self) -> Length {
        self.from - self.piece
    }
}

/// A removed wire that might serve a want, once what is not known is measured.
#[derive(Clone, Debug, PartialEq)]
pub struct Possible {
    /// Index of the removed wire.
    pub spare: usize,
    /// Index of the want.
    pub wanted: usize,
    /// It does if it is at least so long: where its length is not known.
    pub length_at_least: Option<Length>,
    /// It does if the way is at most so long: where the way is not known.
    pub way_at_most: Option<Length>,
    /// Neither length is known.
    pub is_neither_length_known: bool,
    /// It does if its conductor is at least this: where its size is not known.
    pub size_at_least: Option<Conductor>,
    /// It does if at most this is asked for: where no size is.
    pub size_at_most: Option<Conductor>,
    /// Neither size is known.
    pub is_neither_size_known: bool,
}

/// What is there to cut from.
#[derive(Clone, Debug)]
pub(super) struct Piece {
    spare: usize,
    length: Option<Length>,
    whole: Whole,
}

/// Matches, in the order of the removed wires and their cuts, and what is left of all wires.
pub(super) fn assign(
    circuits: &Circuits,
    spares: &[Spare],
    wanted: &[Wanted],
    slack: Length,
) -> (Vec<Match>, Vec<Piece>) {
    let whole = |(at, spare): (usize, &Spare)| Piece { spare: at, length: spare.length, whole: Whole::Yes };
    let mut pieces: Vec<Piece> = spares.iter().enumerate().map(whole).collect();
    let mut unmet: Vec<usize> = (0..wanted.len()).collect();
    let mut matches = Vec::new();
    loop {
        let suits: Vec<Vec<Option<Suits>>> = unmet
            .iter()
            .map(|&want| {
                let one = |piece: &Piece| {
                    let left = (piece.length, piece.whole);
                    match fit(circuits, &spares[piece.spare], left, &wanted[want], slack) {
                        Fit::Serves(suits) => Some(suits),
                        Fit::IfMeasured(_) | Fit::No => None,
                    }
                };
                pieces.iter().map(one).collect()
            })
            .collect();
        let costs: Vec<Vec<Option<i64>>> =
            suits.iter().map(|row| row.iter().map(|suits| suits.as_ref().map(|suits| suits.cost)).collect()).collect();
        let found = best(&costs);
        let before = matches.len();
        for ((&want, suits), at) in unmet.iter().zip(suits).zip(&found) {
            let Some(at) = *at else { continue };
            let Some(suits) = suits.into_iter().nth(at).flatten() else { continue };
            let piece_of = &mut pieces[at];
            let (Some(way), Some(from)) = (wanted[want].length, piece_of.length) else { continue };
            let cut = piece(way, slack);
            let Suits { colour, route, terminals, .. } = suits;
            matches.push(Match { spare: piece_of.spare, wanted: want, piece: cut, from, colour, route, terminals });
            (piece_of.length, piece_of.whole) = (Some(from - cut), Whole::No);
        }
        if matches.len() == before {
            break;
        }
        unmet.retain(|want| !matches[before..].iter().any(|one| one.wanted == *want));
    }
    matches.sort_by_key(|one| (one.spare, -one.from.as_nm()));
    (matches, pieces)
}

/// For each row the column that it takes, no column twice, so that as many rows as can be have one and the sum of their costs is
/// the least. `None` at row and column: they do not go together. Costs are not negative. Rows must be equally long.
pub fn best(costs: &[Vec<Option<i64>>]) -> Vec<Option<usize>> {
    let (rows, columns) = (costs.len(), costs.first().map_or(0, Vec::len));
    if rows == 0 || columns == 0 {
        return vec![None; rows];
    }
    let dearest = costs.iter().flatten().flatten().copied().max().unwrap_or(0);
    // One more row met is worth more than all costs together.
    let met = i128::from(dearest) * rows as i128 + 1;
    // A column for each row that stays empty-handed, so that none must take what does not go together.
    let weights = Matrix::from_fn(rows, columns + rows, |(row, column)| match costs[row].get(column) {
        Some(Some(cost)) => met - i128::from(*cost),
        Some(None) => -1,
        None => 0,
    });
    let (_, taken) = kuhn_munkres(&weights);
    let is_real = |row: usize, column: usize| costs[row].get(column).is_some_and(Option::is_some);
    taken.into_iter().enumerate().map(|(row, column)| is_real(row, column).then_some(column)).collect()
}

/// For each want that nothing serves, the likeliest of what is left.
pub(super) fn possible(circuits: &Circuits, reuse: &Reuse, pieces: &[Piece], slack: Length) -> Vec<Possible> {
    let mut all = Vec::new();
    for (want, wanted) in reuse.unmet() {
        let mut likely: Vec<(i64, Possible)> = pieces
            .iter()
            .filter_map(|piece| {
                let spare = &reuse.spares[piece.spare];
                match fit(circuits, spare, (piece.length, piece.whole), wanted, slack) {
                    Fit::IfMeasured(suits) => Some((suits.cost, measure(piece, spare, want, wanted, slack))),
                    Fit::Serves(_) | Fit::No => None,
                }
            })
            .collect();
        likely.sort_by_key(|(cost, possible)| (*cost, possible.spare));
        all.extend(likely.into_iter().take(TOLD).map(|(_, possible)| possible));
    }
    all
}

/// What must be measured before it can be told whether a piece does.
fn measure(left: &Piece, spare: &Spare, want: usize, wanted: &Wanted, slack: Length) -> Possible {
    let (length, way) = (left.length, wanted.length);
    let (has, asked) = (&spare.conductor, &wanted.conductor);
    Possible {
        spare: left.spare,
        wanted: want,
        length_at_least: way.filter(|_| length.is_none()).map(|way| piece(way, slack)),
        way_at_most: length.filter(|_| way.is_none()).map(|length| length - slack * 2),
        is_neither_length_known: length.is_none() && way.is_none(),
        size_at_least: asked.clone().filter(|_| has.is_none()),
        size_at_most: has.clone().filter(|_| asked.is_none()),
        is_neither_size_known: has.is_none() && asked.is_none(),
    }
}
