//! Which lines of a label are kept when space is short.
//!
//! Lines of least worth are given up first, of one worth the last first. An extra line is first cut to half its words; before a
//! useful or vital line goes, those that may be shortened lose words, the last of them first.

use crate::labels::{Line, Worth};

/// What is kept: so many lines, those of most worth, without so many words.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Kept {
    /// How many lines.
    pub lines: usize,
    /// How many words are left out of those that may be shortened.
    pub words_cut: usize,
}

/// The lines of a label as far as keeping them is concerned.
#[derive(Clone, Debug, Default)]
pub struct Keeping {
    /// In the order of printing.
    lines: Vec<Kind>,
    /// The same by worth, as places in `lines`: the last is given up first.
    by_worth: Vec<usize>,
}

#[derive(Clone, Copy, Debug)]
struct Kind {
    worth: Worth,
    /// How many words it can lose.
    spare: usize,
    /// Its place in `by_worth`.
    rank: usize,
}

impl Keeping {
    /// Keeping these lines.
    pub fn of<'l>(lines: impl Iterator<Item = &'l Line>) -> Self {
        let kind = |line: &Line| Kind { worth: line.worth(), spare: line.wordings() - 1, rank: 0 };
        let mut lines: Vec<Kind> = lines.map(kind).collect();
        let mut by_worth: Vec<usize> = (0..lines.len()).collect();
        by_worth.sort_by_key(|&line| lines[line].worth);
        for (rank, &line) in by_worth.iter().enumerate() {
            lines[line].rank = rank;
        }
        Self { lines, by_worth }
    }

    /// What may be kept, from everything to nothing, in the order to be tried.
    pub fn tries(&self) -> Vec<Kept> {
        let mut tries = Vec::new();
        for lines in (0..=self.lines.len()).rev() {
            tries.push(Kept { lines, words_cut: 0 });
            let Some(next) = lines.checked_sub(1).map(|last| self.lines[self.by_worth[last]]) else { continue };
            if next.worth == Worth::Extra {
                let half = next.spare.div_ceil(2);
                tries.extend((half > 0).then_some(Kept { lines, words_cut: half }));
            } else {
                let spare: usize = self.by_worth[..lines].iter().map(|&line| self.lines[line].spare).sum();
                tries.extend((1..=spare).map(|words_cut| Kept { lines, words_cut }));
            }
        }
        tries
    }

    /// Whether a line, by its place in the order of printing, is kept.
    pub fn keeps(&self, line: usize, kept: Kept) -> bool {
        self.lines.get(line).is_some_and(|line| line.rank < kept.lines)
    }

    /// Which wording of a kept line is printed: 0 is the full one.
    pub fn wording(&self, line: usize, kept: Kept) -> usize {
        let mut cut = kept.words_cut;
        for &other in self.by_worth[..kept.lines.min(self.by_worth.len())].iter().rev() {
            let here = cut.min(self.lines[other].spare);
            if other == line {
                return here;
            }
            cut -= here;
        }
        0
    }

    /// How many lines are vital.
    pub fn vital(&self) -> usize {
        self.lines.iter().filter(|line| line.worth == Worth::Vital).count()
    }

    /// The worth of the line that would be given up next; `None` when none is left.
    pub fn least_worth(&self, kept: Kept) -> Option<Worth> {
        let last = kept.lines.checked_sub(1)?;
        self.by_worth.get(last).map(|&line| self.lines[line].worth)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::labels::{Field, Look};

    fn lines() -> Vec<Line> {
        let line = |field, worth, text: &str| {
            Line::shortened_by_words(&[field], Look::default(), worth, [text]).expect("has words")
        };
        vec![
            line(Field::Note, Worth::Extra, "left of pump"),
            line(Field::Function, Worth::Vital, "rail pressure signal"),
            line(Field::Supply, Worth::Useful, "signal level"),
        ]
    }

    #[test]
    fn extras_go_first_then_words_then_lines() {
        let keeping = Keeping::of(lines().iter());
        let shown = |kept: Kept| -> String {
            let line = |line: usize| {
                if keeping.keeps(line, kept) { keeping.wording(line, kept).to_string() } else { "-".to_owned() }
            };
            (0..3).map(line).collect::<Vec<_>>().join(" ")
        };
        let tries: Vec<String> = keeping.tries().into_iter().map(shown).collect();
        let wanted = ["0 0 0", "1 0 0", "- 0 0", "- 0 1", "- 1 1", "- 2 1", "- 0 -", "- 1 -", "- 2 -", "- - -"];
        assert_eq!(tries, wanted);
        assert_eq!(keeping.vital(), 1);
        assert_eq!(keeping.least_worth(Kept { lines: 2, words_cut: 0 }), Some(Worth::Useful));
    }
}
