//! Rows and a numbering -> the name of every position.

use super::super::circuit::Case;
use super::{CavityNames, Course, LeftOut, Numbering, RingsFrom, Rotation, Turns};

/// Sets of letters that connectors leave out, because they look like digits or like each other (common practice), from none
/// to most.
pub const LETTERS_LEFT_OUT: [LeftOut; 4] = [LeftOut::NONE, LeftOut("IO"), LeftOut("I"), LeftOut("IOQ")];

/// A position: its row from the top, and its place in it from the left, both from 0. Of rings: the ring from the outermost, and
/// the place in it clockwise from the top.
pub type Position = (usize, usize);

impl Numbering {
    /// All positions in the order in which they are counted. `lengths` are the positions of each row from the top, or of each
    /// ring from the outermost.
    pub fn order(&self, lengths: &[u16]) -> Vec<Position> {
        match self.course.unwrap_or_default() {
            Course::Rows => self.along_rows(lengths),
            Course::Columns => self.along_columns(lengths),
            Course::Rings => self.along_rings(lengths),
        }
    }

    fn along_rows(&self, lengths: &[u16]) -> Vec<Position> {
        let in_row = |(index, row): (usize, usize)| {
            let length = usize::from(lengths[row]);
            let is_leftward = self.start.is_right() != self.turns_at(index);
            (0..length).map(move |place| (row, if is_leftward { length - 1 - place } else { place }))
        };
        self.rows_from_start(lengths).into_iter().enumerate().flat_map(in_row).collect()
    }

    /// A column holds the first of every row, the next the second, counted from the side of the start.
    fn along_columns(&self, lengths: &[u16]) -> Vec<Position> {
        let longest = lengths.iter().copied().max().unwrap_or_default();
        let rows = self.rows_from_start(lengths);
        let mut order = Vec::new();
        for column in 0..usize::from(longest) {
            let mut rows = rows.clone();
            if self.turns_at(column) {
                rows.reverse();
            }
            let has_column = |row: &usize| column < usize::from(lengths[*row]);
            order.extend(rows.into_iter().filter(has_column).map(|row| (row, self.place_of(column, lengths[row]))));
        }
        order
    }

    fn along_rings(&self, lengths: &[u16]) -> Vec<Position> {
        let mut rings: Vec<usize> = (0..lengths.len()).collect();
        if self.rings_from == RingsFrom::Inside {
            rings.reverse();
        }
        let in_ring = |ring: usize| {
            let length = usize::from(lengths[ring]);
            (0..length).map(move |step| match self.rotation {
                Rotation::Clockwise => (ring, step),
                Rotation::Counterclockwise => (ring, (length - step) % length),
            })
        };
        rings.into_iter().flat_map(in_ring).collect()
    }

    fn rows_from_start(&self, lengths: &[u16]) -> Vec<usize> {
        let mut rows: Vec<usize> = (0..lengths.len()).collect();
        if self.start.is_bottom() {
            rows.reverse();
        }
        rows
    }

    /// The place from the left of what is the `index`th from the side of the start.
    fn place_of(&self, index: usize, length: u16) -> usize {
        if self.start.is_right() { usize::from(length) - 1 - index } else { index }
    }

    const fn turns_at(&self, index: usize) -> bool {
        matches!(self.turns, Turns::BackAndForth) && index % 2 == 1
    }

    /// The letter and the number of every position, in the order of [`Numbering::order`]: which row or column the letter is of,
    /// and what the number is, both from 0. Letters alone have no number, and numbers no letter.
    pub fn parts(&self, names: CavityNames, lengths: &[u16]) -> Vec<(Position, Option<usize>, Option<usize>)> {
        let rows = lengths.len();
        let part = |(index, (row, place)): (usize, Position)| {
            let length = usize::from(lengths[row]);
            let (from_start, column) = match self.course {
                Some(Course::Rings) => (
                    if self.rings_from == RingsFrom::Inside { rows - 1 - row } else { row },
                    if self.rotation == Rotation::Clockwise { place } else { (length - place) % length },
                ),
                _ => (if self.start.is_bottom() { rows - 1 - row } else { row }, self.place_of(place, lengths[row])),
            };
            let (letter, number) = match names {
                CavityNames::Numbers => (None, Some(index)),
                CavityNames::Letters => (Some(index), None),
                CavityNames::LetteredRows => (Some(from_start), Some(column)),
                CavityNames::LetteredColumns => (Some(column), Some(from_start)),
                CavityNames::RunningOn => (Some(from_start), Some(index)),
            };
            ((row, place), letter, number)
        };
        self.order(lengths).into_iter().enumerate().map(part).collect()
    }
}

/// The name of the `index`th letter, from 0: A to Z, then a to z where case matters, then AA, BB …
pub fn letter_name(index: usize, left_out: LeftOut, case: Case) -> String {
    let upper: Vec<char> = ('A'..='Z').filter(|&letter| !left_out.letters().contains(letter)).collect();
    if let Some(letter) = upper.get(index) {
        return letter.to_string();
    }
    let index = index - upper.len();
    let index = match (case, upper.get(index)) {
        (Case::Matters, Some(letter)) => return letter.to_ascii_lowercase().to_string(),
        (Case::Matters, None) => index - upper.len(),
        (Case::Same, _) => index,
    };
    let letter = upper[index % upper.len()];
    letter.to_string().repeat(index / upper.len() + 2)
}

/// The index of a letter, from 0: what [`letter_name`] gives a name to.
pub fn letter_index(letters: &str, left_out: LeftOut, case: Case) -> Option<usize> {
    let first = letters.chars().next()?;
    let is_upper = first.is_ascii_uppercase() || case == Case::Same;
    let upper = first.to_ascii_uppercase();
    let is_same = |character: char| match case {
        Case::Matters => character == first,
        Case::Same => character.eq_ignore_ascii_case(&upper),
    };
    if !letters.chars().all(is_same) || !upper.is_ascii_uppercase() || left_out.letters().contains(upper) {
        return None;
    }
    let all = 26 - left_out.letters().len();
    let place = ('A'..upper).filter(|&letter| !left_out.letters().contains(letter)).count();
    let before = match case {
        Case::Matters => 2,
        Case::Same => 1,
    };
    match (letters.len(), is_upper) {
        (1, true) => Some(place),
        (1, false) => Some(all + place),
        (repeated, true) => Some((before + repeated - 2) * all + place),
        (_, false) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::super::Corner;
    use super::*;
    use proptest::prelude::*;

    /// The names of the rows from the top, as they stand on the face.
    fn drawn(numbering: Numbering, names: CavityNames, lengths: &[u16]) -> Vec<String> {
        let mut rows: Vec<Vec<String>> =
            lengths.iter().map(|&length| vec![String::new(); usize::from(length)]).collect();
        for ((row, place), letter, number) in numbering.parts(names, lengths) {
            let letter = letter.map(|index| letter_name(index, LeftOut::NONE, Case::Same)).unwrap_or_default();
            rows[row][place] = letter + &number.map(|number| (number + 1).to_string()).unwrap_or_default();
        }
        rows.iter().map(|row| row.join(" ")).collect()
    }

    /// Written by hand, as such faces are numbered (common practice).
    #[test]
    fn faces_by_hand() {
        let plain = Numbering::default();
        let by_columns = Numbering { course: Some(Course::Columns), ..plain };
        let forth = Numbering { turns: Turns::BackAndForth, ..plain };
        let forth_columns = Numbering { turns: Turns::BackAndForth, ..by_columns };
        let from = |start, numbering| Numbering { start, ..numbering };
        use CavityNames::{LetteredColumns, LetteredRows, Letters, Numbers, RunningOn};
        for (numbering, names, lengths, rows) in [
            (plain, Numbers, &[4, 4][..], &["1 2 3 4", "5 6 7 8"][..]),
            (from(Corner::TopRight, plain), Numbers, &[3, 3], &["3 2 1", "6 5 4"]),
            (from(Corner::BottomLeft, plain), Numbers, &[3, 3], &["4 5 6", "1 2 3"]),
            (from(Corner::BottomRight, plain), Numbers, &[3, 3], &["6 5 4", "3 2 1"]),
            (by_columns, Numbers, &[4, 4], &["1 3 5 7", "2 4 6 8"]),
            (from(Corner::BottomRight, by_columns), Numbers, &[3, 3], &["6 4 2", "5 3 1"]),
            (forth, Numbers, &[4, 4, 4], &["1 2 3 4", "8 7 6 5", "9 10 11 12"]),
            (from(Corner::TopRight, forth), Numbers, &[3, 3], &["3 2 1", "4 5 6"]),
            (forth_columns, Numbers, &[3, 3], &["1 4 5", "2 3 6"]),
            (plain, Numbers, &[3, 2, 3], &["1 2 3", "4 5", "6 7 8"]),
            (by_columns, Numbers, &[3, 2, 3], &["1 4 7", "2 5", "3 6 8"]),
            (plain, Letters, &[4, 4], &["A B C D", "E F G H"]),
            (by_columns, Letters, &[4, 4], &["A C E G", "B D F H"]),
            (plain, LetteredRows, &[3, 3], &["A1 A2 A3", "B1 B2 B3"]),
            (from(Corner::BottomRight, plain), LetteredRows, &[3, 3], &["B3 B2 B1", "A3 A2 A1"]),
            (plain, LetteredColumns, &[3, 3], &["A1 B1 C1", "A2 B2 C2"]),
            (plain, RunningOn, &[3, 3], &["A1 A2 A3", "B4 B5 B6"]),
        ] {
            assert_eq!(drawn(numbering, names, lengths), rows, "{numbering:?} {names:?}");
        }
    }

    /// Six round one: clockwise from the top, the middle last; a clock counts the same way.
    #[test]
    fn rings_by_hand() {
        let rings = Numbering { course: Some(Course::Rings), ..Numbering::default() };
        let counter = Numbering { rotation: Rotation::Counterclockwise, ..rings };
        let inside = Numbering { rings_from: RingsFrom::Inside, ..rings };
        let lengths = [6, 1];
        assert_eq!(drawn(rings, CavityNames::Numbers, &lengths), ["1 2 3 4 5 6", "7"]);
        assert_eq!(drawn(counter, CavityNames::Numbers, &lengths), ["1 6 5 4 3 2", "7"]);
        assert_eq!(drawn(inside, CavityNames::Letters, &lengths), ["B C D E F G", "A"]);
    }

    #[test]
    fn letters_as_connectors_have_them() {
        let at = |index| letter_name(index, LETTERS_LEFT_OUT[1], Case::Matters);
        assert_eq!([at(7), at(8), at(13), at(23)], ["H", "J", "P", "Z"], "without I and O there are 24");
        assert_eq!([at(24), at(31), at(32), at(48), at(49)], ["a", "h", "j", "AA", "BB"]);
        assert_eq!(letter_name(26, LeftOut::NONE, Case::Same), "AA");
        assert_eq!(letter_name(52, LeftOut::NONE, Case::Same), "AAA");
    }

    fn any_numbering() -> impl Strategy<Value = Numbering> {
        (0..3_usize, any::<bool>(), 0..4_usize, any::<bool>(), any::<bool>()).prop_map(
            |(course, forth, corner, counter, inside)| Numbering {
                course: Some([Course::Rows, Course::Columns, Course::Rings][course]),
                turns: if forth { Turns::BackAndForth } else { Turns::SameWay },
                start: [Corner::TopLeft, Corner::TopRight, Corner::BottomLeft, Corner::BottomRight][corner],
                rotation: if counter { Rotation::Counterclockwise } else { Rotation::Clockwise },
                rings_from: if inside { RingsFrom::Inside } else { RingsFrom::Outside },
                ..Numbering::default()
            },
        )
    }

    proptest! {
        #[test]
        fn every_position_is_counted_once(
            numbering in any_numbering(),
            lengths in proptest::collection::vec(1_u16..30, 1..12),
        ) {
            let mut positions = numbering.order(&lengths);
            positions.sort_unstable();
            let all: Vec<_> =
                lengths.iter().enumerate().flat_map(|(row, &n)| (0..usize::from(n)).map(move |at| (row, at))).collect();
            prop_assert_eq!(positions, all);
        }

        #[test]
        fn every_name_stands_once(
            numbering in any_numbering(),
            which in 0..5_usize,
            lengths in proptest::collection::vec(1_u16..30, 1..12),
        ) {
            use CavityNames::{LetteredColumns, LetteredRows, Letters, Numbers, RunningOn};
            let names = [Numbers, Letters, LetteredRows, LetteredColumns, RunningOn][which];
            let mut parts: Vec<_> =
                numbering.parts(names, &lengths).into_iter().map(|(_, letter, number)| (letter, number)).collect();
            let all = parts.len();
            parts.sort_unstable();
            parts.dedup();
            prop_assert_eq!(parts.len(), all);
        }

        #[test]
        fn letters_never_repeat(one in 0..400_usize, other in 0..400_usize, which in 0..4_usize, lower: bool) {
            let case = if lower { Case::Matters } else { Case::Same };
            let name = |index| letter_name(index, LETTERS_LEFT_OUT[which], case);
            prop_assert_eq!(name(one) == name(other), one == other);
            prop_assert_eq!(letter_index(&name(one), LETTERS_LEFT_OUT[which], case), Some(one));
        }
    }
}
