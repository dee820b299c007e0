//! Which groups of tags begin a new sheet, so that as few as can be are torn apart and no sheet more is used.
//!
//! The number of sheets is the least there is; what they have to spare may be left free where a group would else straddle. Which
//! gaps to leave is found exactly: there are few groups, and less to spare than a sheet has labels.

use super::picking::Rest;

/// Free labels of the sheets in their order: those that are begun, then as many new ones as are needed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Sheets {
    pub(super) begun: Vec<usize>,
    pub(super) new: usize,
    /// What becomes of labels that are left free on those that are begun.
    pub(super) rest: Rest,
}

impl Sheets {
    fn of(&self, number: usize) -> usize {
        self.begun.get(number).copied().unwrap_or(self.new)
    }

    /// The sheet and the label on it, where a number of labels lies before it; and how many more the sheet has.
    fn at(&self, mut labels: usize) -> (usize, usize) {
        let mut number = 0;
        while number < self.begun.len() {
            if labels < self.begun[number] {
                return (number, self.begun[number] - labels);
            }
            labels -= self.begun[number];
            number += 1;
        }
        let new = self.new.max(1);
        (number + labels / new, new - labels % new)
    }

    /// How many sheets it takes to have so many labels, and how many labels they have in all.
    fn least(&self, labels: usize) -> usize {
        let (mut number, mut sum) = (0, 0);
        while sum < labels && (number < self.begun.len() || self.new > 0) {
            sum += self.of(number);
            number += 1;
        }
        sum
    }
}

/// For each group, whether it begins a new sheet; groups come in order, by how many tags they have.
pub(super) fn breaks(groups: &[usize], sheets: &Sheets) -> Vec<bool> {
    let tags: usize = groups.iter().sum();
    let spare = sheets.least(tags).saturating_sub(tags);
    let none = vec![false; groups.len()];
    if sheets.new == 0 || groups.len().saturating_mul(spare + 1) > MOST_STATES {
        return none;
    }
    // From the last group to the first: for so much to spare that is left, how many sheets the rest touches at least, each
    // group counted for itself, and whether the next group begins a new one.
    let mut before: Vec<usize> = Vec::with_capacity(groups.len());
    let mut sum = 0;
    for group in groups {
        before.push(sum);
        sum += group;
    }
    let mut touched = vec![0_usize; spare + 1];
    let mut choices: Vec<Vec<bool>> = Vec::with_capacity(groups.len());
    for (group, before) in groups.iter().zip(&before).rev() {
        let mut now = vec![usize::MAX; spare + 1];
        let mut choice = vec![false; spare + 1];
        for used in 0..=spare {
            let start = before + used;
            let (_, left) = sheets.at(start);
            let is_at_head = start == 0 || sheets.at(start - 1).0 != sheets.at(start).0;
            let going_on = touches(*group, start, sheets).saturating_add(touched[used]);
            now[used] = going_on;
            // Of begun sheets that go through the printer no more, no label is left free.
            let may_leave = sheets.rest == Rest::Kept || sheets.at(start).0 >= sheets.begun.len();
            if !is_at_head && may_leave && used + left <= spare {
                let anew = touches(*group, start + left, sheets).saturating_add(touched[used + left]);
                if anew < going_on {
                    (now[used], choice[used]) = (anew, true);
                }
            }
        }
        touched = now;
        choices.push(choice);
    }
    choices.reverse();
    let mut used = 0;
    let mut breaks = none;
    for (at, choice) in choices.iter().enumerate() {
        if choice[used] {
            breaks[at] = true;
            used += sheets.at(before[at] + used).1;
        }
    }
    breaks
}

/// More states than any job has; beyond them groups lie where they come to lie.
const MOST_STATES: usize = 20_000_000;

/// How many sheets a group touches that begins behind so many labels.
fn touches(group: usize, start: usize, sheets: &Sheets) -> usize {
    if group == 0 { 0 } else { sheets.at(start + group - 1).0 - sheets.at(start).0 + 1 }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// Sheets used, groups torn apart (for each group counted by the sheets beyond those it needs), and labels of begun sheets that
    /// are passed over.
    fn laid(groups: &[usize], breaks: &[bool], sheets: &Sheets) -> (usize, usize, usize) {
        let (mut at, mut touched, mut left) = (0, 0, 0);
        for (group, is_new) in groups.iter().zip(breaks) {
            if *is_new && at > 0 && sheets.at(at - 1).0 == sheets.at(at).0 {
                left += if sheets.at(at).0 < sheets.begun.len() { sheets.at(at).1 } else { 0 };
                at += sheets.at(at).1;
            }
            touched += touches(*group, at, sheets);
            at += group;
        }
        (if at == 0 { 0 } else { sheets.at(at - 1).0 + 1 }, touched, left)
    }

    #[test]
    fn a_connector_begins_a_new_sheet_where_that_costs_none() {
        let sheets = Sheets { begun: Vec::new(), new: 24, rest: Rest::Kept };
        assert_eq!(breaks(&[20, 10, 10], &sheets), [false, true, false]);
        // 48 labels for 45 tags: 4 would be left free.
        assert_eq!(breaks(&[20, 25], &sheets), [false, false]);
        assert_eq!(breaks(&[22, 23], &sheets), [false, true]);
        let begun = Sheets { begun: vec![3, 7], new: 24, rest: Rest::Kept };
        assert_eq!(breaks(&[5, 4], &begun), [true, false].map(|_| false), "nothing to spare before a new sheet");
        let sheets = |rest| Sheets { begun: vec![21], new: 24, rest };
        assert_eq!(breaks(&[15, 15, 15], &sheets(Rest::Kept)), [false; 3]);
        assert_eq!(breaks(&[15, 15], &sheets(Rest::Kept)), [false, true]);
        assert_eq!(breaks(&[15, 15], &sheets(Rest::Lost)), [false, false], "six labels would be lost");
    }

    proptest! {
        /// Compared with every way to begin new sheets.
        #[test]
        fn no_more_sheets_and_as_few_torn_as_can_be(
            groups in prop::collection::vec(0_usize..12, 0..9), begun in prop::collection::vec(1_usize..8, 0..3), new in 1_usize..10,
            is_lost in any::<bool>(),
        ) {
            let rest = if is_lost { Rest::Lost } else { Rest::Kept };
            let sheets = Sheets { begun, new, rest };
            let none = vec![false; groups.len()];
            let (least, ..) = laid(&groups, &none, &sheets);
            let (used, touched, left) = laid(&groups, &breaks(&groups, &sheets), &sheets);
            prop_assert_eq!(used, least);
            prop_assert!(left == 0 || rest == Rest::Kept);
            let every = (0..1_u32 << groups.len()).map(|bits| {
                let ways: Vec<bool> = (0..groups.len()).map(|at| bits >> at & 1 == 1).collect();
                laid(&groups, &ways, &sheets)
            });
            let best = every
                .filter(|(used, _, left)| *used == least && (*left == 0 || rest == Rest::Kept))
                .map(|(_, touched, _)| touched)
                .min();
            prop_assert_eq!(Some(touched), best);
        }
    }
}
