//! Which begun sheets of labels a run is laid on: those of which least is lost.
//!
//! In: the free labels of each begun sheet, how many tags there are, and what becomes of labels that stay free. Out: the sheets to lay
//! in. All but the last are filled; what they do not take goes on new sheets. The best choice is found exactly: there are few sheets.

use std::cmp::Reverse;

/// So many begun sheets somebody keeps at hand for a run that suits them better; beyond it a new one is begun only where the begun
/// ones do not do (our choice).
const MOST_KEPT: usize = 3;

/// More states than any job has; beyond them sheets are taken as they come.
const MOST_STATES: usize = 5_000_000;

/// What becomes of the labels that a run leaves free on a sheet that was begun before.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Rest {
    /// The next run takes them.
    Kept,
    /// They are lost: the sheet goes through the printer no more.
    Lost,
}

/// By what choices are compared, best first: what they cost in labels, how many tags go on begun sheets, how many of these are laid in,
/// and how many labels they have.
type Worth = (usize, Reverse<usize>, usize, usize);

/// What it costs in labels to put the tags on begun sheets that have so many free labels in all, and on as many new ones as the rest
/// takes. A new sheet that is begun has spent one of its two passes, half of what it is worth.
fn cost(sum: usize, tags: usize, new: usize, begun: usize, rest: Rest) -> usize {
    let opened = if begun > MOST_KEPT { new } else { new.div_ceil(2) };
    match (sum >= tags, rest) {
        (false, _) => opened * (tags - sum).div_ceil(new),
        (true, Rest::Lost) => sum - tags,
        (true, Rest::Kept) => 0,
    }
}

/// The numbers in `free` of the sheets to lay in, in their order; `new` are the labels of a new sheet.
pub(super) fn picked(free: &[usize], tags: usize, new: usize, rest: Rest) -> Vec<usize> {
    let all = || (0..free.len()).filter(|at| free[*at] > 0).collect();
    // More than this, and one of them would stay as it is.
    let most = tags.saturating_add(free.iter().copied().max().unwrap_or(0));
    let begun = free.iter().filter(|free| **free > 0).count();
    if tags == 0 || new == 0 || free.iter().sum::<usize>() <= tags || free.len().saturating_mul(most) > MOST_STATES {
        return all();
    }
    // From the last sheet to the first: for each sum of free labels, the fewest sheets that have it, and whether this one is among
    // them. Of as many the earlier ones are taken.
    let mut fewest: Vec<Option<usize>> = vec![None; most + 1];
    fewest[0] = Some(0);
    let mut choices: Vec<Vec<bool>> = Vec::with_capacity(free.len());
    for &labels in free.iter().rev() {
        let mut choice = vec![false; most + 1];
        for sum in (labels.max(1)..=most).rev().filter(|_| labels > 0) {
            let Some(with) = fewest[sum - labels].map(|count| count + 1) else { continue };
            if fewest[sum].is_none_or(|without| with <= without) {
                (fewest[sum], choice[sum]) = (Some(with), true);
            }
        }
        choices.push(choice);
    }
    choices.reverse();
    let worth = |(sum, count): (usize, &Option<usize>)| -> Option<(Worth, usize)> {
        Some(((cost(sum, tags, new, begun, rest), Reverse(sum.min(tags)), (*count)?, sum), sum))
    };
    let mut sum = fewest.iter().enumerate().filter_map(worth).min().map_or(0, |(_, sum)| sum);
    let mut picked = Vec::new();
    for (at, choice) in choices.iter().enumerate() {
        if choice[sum] {
            picked.push(at);
            sum -= free[at];
        }
    }
    picked
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn a_small_run_burns_no_sheet() {
        let lost = |free: &[usize], tags| picked(free, tags, 24, Rest::Lost);
        assert_eq!(lost(&[21, 2], 1), [1], "of the one that has two free labels one is lost, of the other twenty");
        assert_eq!(lost(&[21], 1), [0; 0], "a new sheet is begun");
        assert_eq!(lost(&[21], 11), [0], "it uses more than it loses");
        assert_eq!(lost(&[21, 20, 19, 18], 1), [3], "one has enough begun sheets at hand");
        assert_eq!(lost(&[21, 5, 7], 12), [1, 2]);
        assert_eq!(lost(&[21, 5], 40), [0, 1], "what is filled loses nothing");
        let kept = |free: &[usize], tags| picked(free, tags, 24, Rest::Kept);
        assert_eq!(kept(&[21, 2], 1), [1]);
        assert_eq!(kept(&[21, 2, 1], 3), [0], "one sheet rather than two");
        assert_eq!(kept(&[21], 1), [0]);
    }

    proptest! {
        /// Compared with every choice of sheets.
        #[test]
        fn no_other_choice_is_better(
            free in prop::collection::vec(0_usize..26, 0..9), tags in 0_usize..90, new in 0_usize..26, is_lost in any::<bool>(),
        ) {
            let rest = if is_lost { Rest::Lost } else { Rest::Kept };
            let begun = free.iter().filter(|free| **free > 0).count();
            let choices = (0..1_u32 << free.len()).map(|bits| -> Vec<usize> {
                (0..free.len()).filter(|at| bits >> at & 1 == 1).collect()
            });
            let picked = picked(&free, tags, new, rest);
            if tags == 0 || new == 0 {
                prop_assert_eq!(picked.len(), begun);
                return Ok(());
            }
            let best = choices.filter(|choice| choice.iter().all(|at| free[*at] > 0)).min_by_key(|choice| {
                let sum: usize = choice.iter().map(|at| free[*at]).sum();
                (cost(sum, tags, new, begun, rest), Reverse(sum.min(tags)), choice.len(), sum, choice.clone())
            });
            prop_assert_eq!(Some(&picked), best.as_ref());
            let sum: usize = picked.iter().map(|at| free[*at]).sum();
            prop_assert!(picked.iter().all(|at| sum - free[*at] < tags), "every sheet that is laid in takes a tag");
        }
    }
}
