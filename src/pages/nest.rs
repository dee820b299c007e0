//! Lengths cut from pieces of stock so that least is wasted: sleeves from tube, strips from rows of paper.
//!
//! This is cutting stock in one dimension. Few lengths are packed exactly; of many, each piece is filled as full as a bounded search
//! can, the longest length first, which leaves next to nothing where there are short lengths among them.

use crate::base::Length;

/// Steps of the search for the best filling of one piece. Sleeves are short beside their tube: a filling without waste is found
/// within some hundred steps.
const FILLING_STEPS: usize = 20_000;
/// As many lengths are packed exactly, within [`EXACT_STEPS`].
const EXACT_COUNT: usize = 32;
/// Steps of the exact search, a tenth of a second; where they do not suffice, the best that was found stands.
const EXACT_STEPS: usize = 400_000;

/// Which lengths, by their indices, are cut from each piece: first from the pieces of `first`, each once, then from as many as are
/// needed of length `piece`. Within a piece they keep their order. A length that no piece holds is left out.
pub fn nest(lengths: &[Length], first: &[Length], piece: Length) -> Vec<Vec<usize>> {
    let mut left: Vec<usize> = (0..lengths.len()).filter(|at| lengths[*at] <= piece).collect();
    // Longest first; equal ones in their order.
    left.sort_by_key(|at| (std::cmp::Reverse(lengths[*at]), *at));
    let mut pieces = Vec::new();
    for &capacity in first {
        pieces.push(fill(lengths, &mut left, capacity, Least::Fitting));
    }
    let mut rest = packed(lengths, left, piece);
    // The fullest first: what is left over lies on the last piece, and stays whole.
    rest.sort_by_key(|cut| (std::cmp::Reverse(total(lengths, cut)), cut.first().copied()));
    pieces.extend(rest);
    for cut in &mut pieces {
        cut.sort_unstable();
    }
    pieces
}

/// So many pieces at least: all lengths together, and none less for those that cannot share one.
pub fn least_pieces(lengths: &[Length], piece: Length) -> usize {
    let fitting = || lengths.iter().filter(|length| **length <= piece);
    let sum: u64 = fitting().map(|length| length.as_nm().unsigned_abs()).sum();
    let by_sum = sum.div_ceil(piece.as_nm().unsigned_abs().max(1));
    let alone = fitting().filter(|length| **length * 2 > piece).count();
    usize::try_from(by_sum).unwrap_or(0).max(alone)
}

fn total(lengths: &[Length], cut: &[usize]) -> Length {
    cut.iter().fold(Length::ZERO, |sum, at| sum + lengths[*at])
}

/// Lengths, longest first, packed onto pieces of one length.
fn packed(lengths: &[Length], left: Vec<usize>, piece: Length) -> Vec<Vec<usize>> {
    let mut best = first_fit(lengths, &left, piece);
    let own: Vec<Length> = left.iter().map(|at| lengths[*at]).collect();
    let least = least_pieces(&own, piece);
    if best.len() > least {
        let mut rest = left.clone();
        let mut filled = Vec::new();
        while !rest.is_empty() {
            filled.push(fill(lengths, &mut rest, piece, Least::WithLongest));
        }
        if filled.len() < best.len() {
            best = filled;
        }
    }
    if best.len() > least && left.len() <= EXACT_COUNT {
        let mut search = Exact { lengths, left: &left, piece, least, best, steps: EXACT_STEPS };
        search.go(0, &mut Vec::new());
        best = search.best;
    }
    best
}

/// Each length, longest first, onto the first piece that has room for it.
fn first_fit(lengths: &[Length], left: &[usize], piece: Length) -> Vec<Vec<usize>> {
    let mut pieces: Vec<(Length, Vec<usize>)> = Vec::new();
    for &at in left {
        match pieces.iter_mut().find(|(room, _)| *room >= lengths[at]) {
            Some((room, cut)) => {
                *room -= lengths[at];
                cut.push(at);
            }
            None => pieces.push((piece - lengths[at], vec![at])),
        }
    }
    pieces.into_iter().map(|(_, cut)| cut).collect()
}

/// What a piece must hold at least.
#[derive(Clone, Copy, PartialEq)]
enum Least {
    /// The longest length that is left: so every piece gets one that is hard to place.
    WithLongest,
    /// Anything that fits.
    Fitting,
}

/// Fills a piece as full as can be with lengths that are left, and takes them away.
fn fill(lengths: &[Length], left: &mut Vec<usize>, piece: Length, least: Least) -> Vec<usize> {
    let mut filling = Filling { lengths, left, best: Vec::new(), best_room: piece, steps: FILLING_STEPS };
    let mut chosen = Vec::new();
    let start = match least {
        Least::WithLongest => {
            chosen.push(0);
            1
        }
        Least::Fitting => 0,
    };
    let room = chosen.iter().fold(piece, |room, at| room - lengths[left[*at]]);
    filling.go(start, room, &mut chosen);
    let best = if filling.best.is_empty() { chosen } else { filling.best };
    let cut = best.iter().map(|at| left[*at]).collect();
    for at in best.into_iter().rev() {
        left.remove(at);
    }
    cut
}

/// The search for the fullest filling, longest lengths first.
struct Filling<'a> {
    lengths: &'a [Length],
    left: &'a [usize],
    /// Places in `left`, in their order.
    best: Vec<usize>,
    best_room: Length,
    steps: usize,
}

impl Filling<'_> {
    fn go(&mut self, from: usize, room: Length, chosen: &mut Vec<usize>) {
        if room < self.best_room {
            (self.best, self.best_room) = (chosen.clone(), room);
        }
        // Longest first: all that is too long lies before the first that fits, and alike ones side by side.
        let mut at = from + self.left[from..].partition_point(|at| self.lengths[*at] > room);
        while at < self.left.len() {
            if self.steps == 0 || self.best_room == Length::ZERO {
                return;
            }
            let length = self.lengths[self.left[at]];
            self.steps -= 1;
            chosen.push(at);
            self.go(at + 1, room - length, chosen);
            chosen.pop();
            // A length that was tried here brings nothing new.
            at += self.left[at..].partition_point(|other| self.lengths[*other] >= length);
        }
    }
}

/// Every way to pack, by branch and bound.
struct Exact<'a> {
    lengths: &'a [Length],
    left: &'a [usize],
    piece: Length,
    least: usize,
    best: Vec<Vec<usize>>,
    steps: usize,
}

impl Exact<'_> {
    fn go(&mut self, next: usize, pieces: &mut Vec<(Length, Vec<usize>)>) {
        if next == self.left.len() {
            if pieces.len() < self.best.len() {
                self.best = pieces.iter().map(|(_, cut)| cut.clone()).collect();
            }
            return;
        }
        // What is still to come, less the room there is, takes more pieces.
        let to_come: u64 = self.left[next..].iter().map(|at| self.lengths[*at].as_nm().unsigned_abs()).sum();
        let room: u64 = pieces.iter().map(|(room, _)| room.as_nm().unsigned_abs()).sum();
        let more = to_come.saturating_sub(room).div_ceil(self.piece.as_nm().unsigned_abs().max(1));
        if pieces.len() + usize::try_from(more).unwrap_or(0) >= self.best.len() {
            return;
        }
        let (at, length) = (self.left[next], self.lengths[self.left[next]]);
        let mut tried = Vec::new();
        for open in 0..pieces.len() {
            if self.steps == 0 || self.best.len() == self.least {
                return;
            }
            let room = pieces[open].0;
            if room < length || tried.contains(&room) {
                continue;
            }
            tried.push(room);
            self.steps -= 1;
            pieces[open].0 = room - length;
            pieces[open].1.push(at);
            self.go(next + 1, pieces);
            pieces[open].1.pop();
            pieces[open].0 = room;
        }
        if self.steps > 0 && pieces.len() + 1 < self.best.len() {
            self.steps -= 1;
            pieces.push((self.piece - length, vec![at]));
            self.go(next + 1, pieces);
            pieces.pop();
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn mm(values: &[i64]) -> Vec<Length> {
        values.iter().map(|value| Length::nm(value * 1_000_000)).collect()
    }

    fn check(lengths: &[Length], first: &[Length], piece: Length) -> Vec<Vec<usize>> {
        let cuts = nest(lengths, first, piece);
        let mut all: Vec<usize> = cuts.iter().flatten().copied().collect();
        all.sort_unstable();
        let fitting: Vec<usize> = (0..lengths.len()).filter(|at| lengths[*at] <= piece).collect();
        assert_eq!(all, fitting, "each length once");
        for (at, cut) in cuts.iter().enumerate() {
            let room = first.get(at).copied().unwrap_or(piece);
            assert!(total(lengths, cut) <= room && cut.is_sorted());
        }
        cuts
    }

    /// First-fit needs three pieces here, two will do.
    #[test]
    fn few_lengths_are_packed_exactly() {
        let (lengths, piece) = (mm(&[9, 7, 7, 6, 5, 3, 3]), Length::mm(20.0));
        assert_eq!(first_fit(&lengths, &[0, 1, 2, 3, 4, 5, 6], piece).len(), 3);
        assert_eq!(check(&lengths, &[], piece).len(), 2);
        assert_eq!(least_pieces(&lengths, piece), 2);
    }

    #[test]
    fn off_cuts_go_first() {
        let cuts = check(&mm(&[30, 50, 20, 40]), &mm(&[70, 10]), Length::mm(100.0));
        assert_eq!(cuts.iter().map(Vec::len).collect::<Vec<_>>(), [2, 0, 2]);
        assert_eq!(total(&mm(&[30, 50, 20, 40]), &cuts[0]), Length::mm(70.0));
    }

    #[test]
    fn what_no_piece_holds_is_left_out() {
        assert_eq!(check(&mm(&[30, 200]), &[], Length::mm(100.0)), [vec![0]]);
        assert!(nest(&[], &[], Length::mm(100.0)).is_empty());
    }

    /// The number of pieces by trying every partition: nothing that the packing itself does.
    fn brute(lengths: &[i64], piece: i64) -> usize {
        fn go(lengths: &[i64], rooms: &mut Vec<i64>, piece: i64, best: &mut usize) {
            let Some((first, rest)) = lengths.split_first() else {
                *best = rooms.len().min(*best);
                return;
            };
            for at in 0..rooms.len() {
                if rooms[at] >= *first {
                    rooms[at] -= first;
                    go(rest, rooms, piece, best);
                    rooms[at] += first;
                }
            }
            rooms.push(piece - first);
            go(rest, rooms, piece, best);
            rooms.pop();
        }
        let mut best = lengths.len();
        go(lengths, &mut Vec::new(), piece, &mut best);
        best
    }

    proptest! {
        #[test]
        fn small_cases_are_as_good_as_can_be(lengths in prop::collection::vec(1_i64..100, 0..9)) {
            let cuts = check(&mm(&lengths), &[], Length::mm(100.0));
            prop_assert_eq!(cuts.len(), brute(&lengths, 100));
        }

        #[test]
        fn any_lengths_are_answered(
            lengths in prop::collection::vec(0_i64..400, 0..200), first in prop::collection::vec(0_i64..300, 0..4), piece in 1_i64..300,
        ) {
            let cuts = check(&mm(&lengths), &mm(&first), Length::nm(piece * 1_000_000));
            let bound = least_pieces(&mm(&lengths), Length::nm(piece * 1_000_000));
            prop_assert!(cuts.len() >= bound.min(cuts.len()));
        }
    }
}
