//! Colour letters of a list -> where the user's own words make one colour of two that the list tells apart.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};

use super::own_words::Own;
use super::problems::COLOURS_BLURRED;
use super::words::plain;
use crate::base::colour::Colours;
use crate::base::{Origin, Problem, WireColour};

/// Letters that mean the same colour, by the letters, each with the first cell that has them.
type Alike<'t> = BTreeMap<String, &'t str>;

/// Finds letters of one list that mean the same colour, at least one of them by an own word. `cells` are the texts of its
/// colour column, `place` says where one first stands, and `told` keeps what other lists have told.
pub(super) fn find<'t>(
    cells: impl Iterator<Item = &'t str>,
    own: &Own<Colours>,
    place: &dyn Fn(&str) -> Origin,
    told: &mut BTreeSet<(String, String)>,
) -> Vec<Problem> {
    if own.words().next().is_none() {
        return Vec::new();
    }
    let mut meanings: BTreeMap<Colours, Alike<'t>> = BTreeMap::new();
    for cell in cells {
        for (letters, meaning) in letters_of(cell, own) {
            meanings.entry(meaning).or_default().entry(letters).or_insert(cell);
        }
    }
    let mut problems = Vec::new();
    for alike in meanings.values() {
        let Some((mapped, stated)) = alike.keys().find_map(|letters| Some((letters, own.stated(letters)?))) else {
            continue;
        };
        for other in alike.keys().filter(|other| *other != mapped) {
            if !told.insert((mapped.clone(), other.clone())) {
                continue;
            }
            let (one, two) = (mapped.to_uppercase(), other.to_uppercase());
            let (base, stripe) = stated.value;
            let colour =
                stripe.map_or_else(|| base.name().to_owned(), |stripe| format!("{}/{}", base.name(), stripe.name()));
            let what = format!("`{one}` and `{two}` both become {colour}, but one list has both");
            let problem = stated.point(COLOURS_BLURRED.says(what));
            let problem = problem.see(format!("`{one}` stands here"), place(alike[mapped]));
            let problem = problem.see(format!("`{two}` stands here"), place(alike[other]));
            let problem = match own.stated(other).and_then(|other| other.origin.clone()) {
                Some(origin) => problem.see(format!("`{two}` is said here"), origin),
                None => problem,
            };
            let remedy =
                "if they are two colours, say another for one of them, or leave it out: it is printed as typed then";
            problems.push(problem.remedy(remedy));
        }
    }
    problems
}

/// The letters in a cell, in lower case, that mean a colour. Colours in words are no letters: who writes `blue` beside a
/// maker's `BL` has not told two colours apart.
fn letters_of(cell: &str, own: &Own<Colours>) -> Vec<(String, Colours)> {
    const LONGEST_CODE: usize = 2;
    let found = RefCell::new(Vec::new());
    let note = |word: &str| {
        let mine = own.meaning(word).copied();
        let common = || {
            let colour = WireColour::from_cell(word).filter(|_| word.len() <= LONGEST_CODE)?;
            Some((colour.base()?, colour.stripe()))
        };
        found.borrow_mut().extend(mine.or_else(common).map(|meaning| (plain(word).into_owned(), meaning)));
        mine
    };
    let is_understood = WireColour::from_cell_with(cell, &note).is_some_and(|colour| colour.base().is_some());
    if is_understood { found.into_inner() } else { Vec::new() }
}
