//! How to count to a cavity, in words: `row 2, third from the latch, wire side`.

use super::plan::{Arrangement, Certainty, FacePlan, Spot, Standing};
use crate::base::Cavity;
use crate::circuits::View;
use crate::circuits::face::Side;

const ORDINALS: [&str; 12] = [
    "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth", "eleventh",
    "twelfth",
];

impl FacePlan {
    /// How to count to a cavity as the connector is looked at: `row 2, third from the latch, wire side`, or with the latch above
    /// the rows `row 2, third from left, latch up, wire side`. It is counted from the nearer side, and positions without a cavity
    /// do not count. `None` where counting could mislead or there is nothing to count: the face is a guess, the cavity stands
    /// apart, or the place is a stud, a splice or a relay.
    pub fn aid(&self, cavity: &Cavity, view: View) -> Option<String> {
        let is_countable = matches!(self.arrangement, Arrangement::Grid | Arrangement::Rings);
        if self.certainty == Certainty::Guessed || !is_countable {
            return None;
        }
        let spots = self.spots(view);
        let spot = spots.iter().find(|spot| spot.cavity.as_ref() == Some(cavity))?;
        if spot.standing == Standing::Apart {
            return None;
        }
        let beside: Vec<&Spot> =
            spots.iter().filter(|other| other.row == spot.row && other.standing == Standing::OnFace).collect();
        let before = beside.iter().position(|other| other.place == spot.place)?;
        let latch = self.latch(view);
        let mut words = match self.arrangement {
            Arrangement::Rings => self.ring_words(spot, &beside, latch),
            _ => self.row_words(spot, before, beside.len(), latch),
        };
        words.push(view.to_string());
        Some(words.join(", "))
    }

    fn row_words(&self, spot: &Spot, before: usize, count: usize, latch: Option<Side>) -> Vec<String> {
        let mut words = Vec::new();
        if self.lengths.len() > 1 {
            let name = self.row_names.get(spot.row).cloned().unwrap_or_default();
            words.push(format!("row {name}"));
        }
        let after = count - 1 - before;
        let side = |side: Side, words: &'static str| if latch == Some(side) { "the latch" } else { words };
        words.push(match (before, after) {
            (0, 0) => "the only one".to_owned(),
            (before, after) if before < after || before == after && latch != Some(Side::Right) => {
                format!("{} from {}", ordinal(before), side(Side::Left, "left"))
            }
            (_, after) => format!("{} from {}", ordinal(after), side(Side::Right, "right")),
        });
        match latch {
            Some(Side::Top) => words.push("latch up".to_owned()),
            Some(Side::Bottom) => words.push("latch down".to_owned()),
            Some(Side::Left) if after < before => words.push("latch left".to_owned()),
            Some(Side::Right) if before < after => words.push("latch right".to_owned()),
            Some(Side::Left | Side::Right) | None => {}
        }
        words
    }

    /// Rings are counted from the top, whether or not there is a cavity: a key is named only where it is told.
    fn ring_words(&self, spot: &Spot, ring: &[&Spot], key: Option<Side>) -> Vec<String> {
        let mut words = Vec::new();
        match (self.lengths.len(), spot.row) {
            (1, _) => {}
            (_, 0) => words.push("outer ring".to_owned()),
            (rings, ring) if ring + 1 == rings => words.push("inner ring".to_owned()),
            (_, ring) => words.push(format!("{} ring from outside", ordinal(ring))),
        }
        let between = |from: usize, to: usize| ring.iter().filter(|other| (from..to).contains(&other.place)).count();
        let (on, back) = (between(1, spot.place), between(spot.place + 1, usize::MAX));
        words.push(match (spot.place, ring.len()) {
            (_, 1) => "the only one".to_owned(),
            (0, _) => "at the top".to_owned(),
            _ if on <= back => format!("{} clockwise after the top", ordinal(on)),
            _ => format!("{} counterclockwise after the top", ordinal(back)),
        });
        words.extend(key.map(|side| {
            let key = match side {
                Side::Top => "key up",
                Side::Bottom => "key down",
                Side::Left => "key left",
                Side::Right => "key right",
            };
            key.to_owned()
        }));
        words
    }
}

/// `third`, from 2.
fn ordinal(index: usize) -> String {
    let number = index + 1;
    let ending = match (number % 10, number % 100) {
        (_, 11..=13) => "th",
        (1, _) => "st",
        (2, _) => "nd",
        (3, _) => "rd",
        _ => "th",
    };
    ORDINALS.get(index).map_or_else(|| format!("{number}{ending}"), |word| (*word).to_owned())
}
