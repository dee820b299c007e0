//! SHEETS OF THE WHOLE JOB: what closes it, and what goes along with the work.
//!
//! In: a [`Harness`], and as plain values what only the caller knows (what a print run takes, problems of the lists). Out: a
//! [`Sheet`] each, or none where there is nothing to show.
//!
//! ```text
//! branches       circuits         -> how many wires lie in each leg, and what becomes of them
//! card           faces            -> a card that is cut out and folded
//! fuses          circuits         -> legends of fuse boxes, and fuses that sit elsewhere
//! lid_card       the job          -> a card that tells how to open the records
//! questions      circuits, lists  -> what nobody decided or knows yet, with lines for the answers
//! safety         circuits         -> cautions as the work goes, and the circuits they are about
//! schedule       circuits         -> a row for each circuit
//! shopping_list  circuits, a run  -> what to buy
//! ```

pub mod branches;
pub mod card;
pub mod fuses;
pub mod lid_card;
pub mod questions;
pub mod safety;
pub mod schedule;
pub mod shopping_list;
#[cfg(test)]
mod trial;

use super::flow::{Binding, Passage};
use super::pen::{self, Look};
use super::table::{CAP, Cell, Tick};
use crate::base::Length;
use crate::circuits::caution::danger_at;
use crate::circuits::{Circuits, Supply};
use crate::layout::text::Fonts;

pub use schedule::SortedBy;
pub use shopping_list::ToBuy;

/// White above a table or paragraph.
const BEFORE: Length = Length::nm(5_000_000);
/// Height of the capitals of a heading, in millimetres.
const HEADING_CAP: f64 = 2.6;

/// A heading inside a sheet, which stays with what follows.
fn heading(fonts: &Fonts, width: Length, words: &str) -> Passage {
    let frame = pen::paragraph(fonts, width, words, Look::strong(HEADING_CAP));
    Passage::of(frame, BEFORE, Binding::WithNext)
}

/// A paragraph.
fn words(fonts: &Fonts, width: Length, words: &str, binding: Binding) -> Passage {
    Passage::of(pen::paragraph(fonts, width, words, Look::words(CAP)), Length::ZERO, binding)
}

/// Boxes to tick, none of them ticked.
fn boxes(words: &[&str]) -> Cell {
    Cell::Ticks(words.iter().map(|word| Tick { word: (*word).to_owned(), is_done: false }).collect())
}

/// The gravest that is said of any wire of a circuit; signal and the like where nothing is grave.
fn gravest(circuits: &Circuits, index: usize) -> Option<Supply> {
    let rank = |supply: &Supply| match supply {
        Supply::HighVoltage => 3,
        Supply::Restraint => 2,
        Supply::Constant => 1,
        _ => 0,
    };
    let circuit = &circuits.all()[index];
    let of_ends = (0..circuit.ends().len()).filter_map(|end| danger_at(circuits, (index, end)));
    of_ends.chain(circuit.supply).max_by_key(rank)
}
