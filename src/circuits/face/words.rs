//! Cells of connectors.csv -> what they mean: numbering, latch, view, stagger, names of cavities.

use std::sync::LazyLock;

use super::{
    CavityNames, Corner, Course, LETTERS_LEFT_OUT, Latch, LeftOut, MOST_CAVITIES, Numbering, RingsFrom, Rotation, Side,
    Stagger, Turns, View,
};
use crate::base::nearest::nearest;
use crate::circuits::words::{Words, plain};

/// What a word of the numbering column says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Said {
    Names(CavityNames),
    Course(Course),
    BackAndForth,
    Start(Corner),
    Rotation(Rotation),
    RingsFrom(RingsFrom),
    LeftOut(LeftOut),
    First(u8),
    View(View),
}

static NUMBERINGS: LazyLock<Words<Said>> =
    LazyLock::new(|| Words::from_table(include_str!("../../../templates/words/numberings.csv"), said_by));
static VIEWS: LazyLock<Words<View>> = LazyLock::new(|| {
    let view = |word: &str| View::ALL.into_iter().find(|view| view.to_string() == word);
    Words::from_table(include_str!("../../../templates/words/views.csv"), view)
});
static LATCHES: LazyLock<Words<Latch>> = LazyLock::new(|| {
    let latch = |word: &str| {
        Some(match word {
            "top" => Latch::At(Side::Top),
            "bottom" => Latch::At(Side::Bottom),
            "left" => Latch::At(Side::Left),
            "right" => Latch::At(Side::Right),
            "none" => Latch::Absent,
            _ => return None,
        })
    };
    Words::from_table(include_str!("../../../templates/words/latches.csv"), latch)
});
static STAGGERS: LazyLock<Words<Stagger>> = LazyLock::new(|| {
    let stagger = |word: &str| match word {
        "right" => Some(Stagger::Right),
        "left" => Some(Stagger::Left),
        "none" => Some(Stagger::Straight),
        _ => None,
    };
    Words::from_table(include_str!("../../../templates/words/staggers.csv"), stagger)
});

fn said_by(meaning: &str) -> Option<Said> {
    let [all, io, i, ioq] = LETTERS_LEFT_OUT;
    Some(match meaning {
        "numbers" => Said::Names(CavityNames::Numbers),
        "letters" => Said::Names(CavityNames::Letters),
        "lettered rows" => Said::Names(CavityNames::LetteredRows),
        "lettered columns" => Said::Names(CavityNames::LetteredColumns),
        "running on" => Said::Names(CavityNames::RunningOn),
        "by rows" => Said::Course(Course::Rows),
        "by columns" => Said::Course(Course::Columns),
        "rings" => Said::Course(Course::Rings),
        "back and forth" => Said::BackAndForth,
        "top left" => Said::Start(Corner::TopLeft),
        "top right" => Said::Start(Corner::TopRight),
        "bottom left" => Said::Start(Corner::BottomLeft),
        "bottom right" => Said::Start(Corner::BottomRight),
        "clockwise" => Said::Rotation(Rotation::Clockwise),
        "counterclockwise" => Said::Rotation(Rotation::Counterclockwise),
        "from outside" => Said::RingsFrom(RingsFrom::Outside),
        "from inside" => Said::RingsFrom(RingsFrom::Inside),
        "all letters" => Said::LeftOut(all),
        "without I" => Said::LeftOut(i),
        "without I O" => Said::LeftOut(io),
        "without I O Q" => Said::LeftOut(ioq),
        "from 0" => Said::First(0),
        "from 1" => Said::First(1),
        _ => return None,
    })
}

/// Why a cell of the numbering column cannot be followed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(in crate::circuits) enum NotANumbering {
    /// A word that says nothing of a numbering, with the nearest that does.
    Unknown(String, Option<&'static str>),
    /// It says two things of one sort: the first and the second.
    Twofold(String, String),
}

/// Reads `by rows`, `rows lettered, without I and O`, `back and forth by columns from top right, wire side`; and the view, where
/// the cell names one.
pub(in crate::circuits) fn numbering(cell: &str) -> Result<(Numbering, Option<View>), NotANumbering> {
    let (mut numbering, mut view) = (Numbering::default(), None);
    let mut heard: Vec<(Said, &str)> = Vec::new();
    let phrases: Vec<String> =
        cell.split([',', ';', '/', '(', ')', '+']).map(|phrase| phrase.replace('-', " ")).collect();
    let phrases: Vec<String> = phrases.iter().map(|phrase| plain(phrase).into_owned()).collect();
    for phrase in &phrases {
        let mut rest = phrase.as_str();
        while !rest.is_empty() {
            let (said, words) = longest(rest).ok_or_else(|| {
                NotANumbering::Unknown(
                    phrase.clone(),
                    nearest(phrase, all_words()).or_else(|| nearest(rest, all_words())),
                )
            })?;
            let first = heard.iter().find(|(other, _)| is_of_one_sort(*other, said) && *other != said);
            if let Some((_, first)) = first {
                return Err(NotANumbering::Twofold((*first).to_owned(), words.to_owned()));
            }
            heard.push((said, words));
            match said {
                // Rows or columns that are lettered stay so, whatever else says that there are letters.
                Said::Names(names) => numbering.names = Some(names),
                Said::Course(course) => numbering.course = Some(course),
                Said::BackAndForth => numbering.turns = Turns::BackAndForth,
                Said::Start(corner) => numbering.start = corner,
                Said::Rotation(rotation) => numbering.rotation = rotation,
                Said::RingsFrom(from) => numbering.rings_from = from,
                Said::LeftOut(left_out) => numbering.left_out = Some(left_out),
                Said::First(first) => numbering.first = Some(first),
                Said::View(told) => view = Some(told),
            }
            rest = rest[words.len()..].trim_start();
        }
    }
    // `rows lettered, numbers run on`: the later word says more.
    Ok((numbering, view))
}

/// The longest run of whole words at the start of a phrase that says something.
fn longest(phrase: &str) -> Option<(Said, &str)> {
    let ends = phrase.match_indices(' ').map(|(at, _)| at).chain([phrase.len()]);
    let known = |words: &str| NUMBERINGS.meaning(words).or_else(|| VIEWS.meaning(words).map(Said::View));
    ends.rev().find_map(|end| Some((known(&phrase[..end])?, &phrase[..end])))
}

fn all_words() -> impl Iterator<Item = &'static str> {
    NUMBERINGS.words.iter().chain(&VIEWS.words).copied()
}

/// Whether only one of the two can be so. Lettered rows whose numbers run on are both.
fn is_of_one_sort(one: Said, other: Said) -> bool {
    let runs_on =
        |one, other| (one, other) == (Said::Names(CavityNames::LetteredRows), Said::Names(CavityNames::RunningOn));
    std::mem::discriminant(&one) == std::mem::discriminant(&other) && !runs_on(one, other)
}

/// Reads `top`, `left, wire side`, `none`; `Err` names the nearest known word when there is one.
pub(in crate::circuits) fn latch(cell: &str) -> Result<(Latch, Option<View>), Option<&'static str>> {
    let (mut latch, mut told) = (None, None);
    for phrase in cell.split([',', ';', '/', '(', ')']).map(str::trim).filter(|phrase| !phrase.is_empty()) {
        match (LATCHES.meaning(phrase), VIEWS.meaning(phrase)) {
            (Some(side), _) if latch.is_none() => latch = Some(side),
            (None, Some(view)) if told.is_none() => told = Some(view),
            _ => return Err(LATCHES.nearest(phrase)),
        }
    }
    latch.map(|latch| (latch, told)).ok_or(None)
}

/// Reads `mating face` or `wire side`; `Err` names the nearest known word when there is one.
pub(in crate::circuits) fn view(cell: &str) -> Result<View, Option<&'static str>> {
    VIEWS.meaning(cell).ok_or_else(|| VIEWS.nearest(cell))
}

/// Reads `right`, `left` or `no`; `Err` names the nearest known word when there is one.
pub(in crate::circuits) fn stagger(cell: &str) -> Result<Stagger, Option<&'static str>> {
    STAGGERS.meaning(cell).ok_or_else(|| STAGGERS.nearest(cell))
}

/// Reads names of cavities: `7 8`, `1, 2, 15`, `B7`, `7-12`. More than a connector may have are not read.
pub(in crate::circuits) fn cavities(cell: &str) -> Vec<String> {
    let names = cell.split([' ', ',', ';', '\n', '\t']).map(str::trim).filter(|name| !name.is_empty());
    let each = names.flat_map(|name| range(name).unwrap_or_else(|| vec![name.to_owned()]));
    each.take(MOST_CAVITIES.into()).collect()
}

/// `7-12` as the names of its cavities.
fn range(name: &str) -> Option<Vec<String>> {
    let (first, last) = name.split_once(['-', '–', '…'])?;
    let (first, last): (u32, u32) = (first.parse().ok()?, last.parse().ok()?);
    let is_range = first < last && last <= u32::from(MOST_CAVITIES);
    is_range.then(|| (first..=last).map(|number| number.to_string()).collect())
}

/// Reads cavities a row: `8`, or `8 7 8` of each row by itself; `None` where it is neither.
pub(in crate::circuits) fn columns(cell: &str, most: u16) -> Option<super::Columns> {
    let parts = cell.split([' ', ',', ';', '+', '/']).filter(|part| !part.is_empty());
    let lengths: Option<Vec<u16>> =
        parts.map(|part| part.parse().ok().filter(|length| (1..=most).contains(length))).collect();
    match lengths?.as_slice() {
        [] => None,
        [one] => Some(super::Columns::Alike(*one)),
        lengths => (lengths.len() <= usize::from(most)).then(|| super::Columns::OfRows(lengths.to_vec())),
    }
}

#[cfg(test)]
mod tests {
    use super::super::Columns;
    use super::*;

    #[test]
    fn every_line_of_every_table_counts() {
        let lines = |table: &str| table.lines().count() - 1;
        assert_eq!(NUMBERINGS.words.len(), lines(include_str!("../../../templates/words/numberings.csv")));
        assert_eq!(VIEWS.words.len(), lines(include_str!("../../../templates/words/views.csv")));
        assert_eq!(LATCHES.words.len(), lines(include_str!("../../../templates/words/latches.csv")));
        assert_eq!(STAGGERS.words.len(), lines(include_str!("../../../templates/words/staggers.csv")));
        for word in all_words().chain(LATCHES.words.iter().copied()).chain(STAGGERS.words.iter().copied()) {
            assert_eq!(plain(word), word, "tables hold plain words");
        }
        for word in all_words() {
            assert!(longest(word).is_some_and(|(_, whole)| whole == word), "{word}");
        }
    }

    #[test]
    fn numberings_as_people_write_them() {
        let plain = Numbering::default();
        let by = |course| Numbering { course: Some(course), ..plain };
        let named = |names| Numbering { names: Some(names), ..plain };
        let forth = Numbering { turns: Turns::BackAndForth, ..plain };
        let io = LETTERS_LEFT_OUT[1];
        for (cell, expected, view) in [
            ("by rows", by(Course::Rows), None),
            ("rows lettered", named(CavityNames::LetteredRows), None),
            ("lettered", named(CavityNames::Letters), None),
            ("By columns, from bottom right", Numbering { start: Corner::BottomRight, ..by(Course::Columns) }, None),
            ("reihenweise von oben rechts", Numbering { start: Corner::TopRight, ..by(Course::Rows) }, None),
            ("serpentine", forth, None),
            ("back-and-forth by columns", Numbering { course: Some(Course::Columns), ..forth }, None),
            ("hin und her (Kabelseite)", forth, Some(View::WireSide)),
            (
                "lettered by columns without I and O",
                Numbering { left_out: Some(io), course: Some(Course::Columns), ..named(CavityNames::Letters) },
                None,
            ),
            ("rows lettered, numbers run on", named(CavityNames::RunningOn), None),
            (
                "rings, counterclockwise, from inside",
                Numbering { rotation: Rotation::Counterclockwise, rings_from: RingsFrom::Inside, ..by(Course::Rings) },
                None,
            ),
            ("by rows from 0, wire side", Numbering { first: Some(0), ..by(Course::Rows) }, Some(View::WireSide)),
        ] {
            assert_eq!(numbering(cell), Ok((expected, view)), "{cell}");
        }
    }

    #[test]
    fn what_is_no_numbering() {
        let unknown = |words: &str, near| Err(NotANumbering::Unknown(words.to_owned(), near));
        assert_eq!(numbering("by rowes"), unknown("by rowes", Some("by rows")));
        assert_eq!(numbering("see the manual"), unknown("see the manual", None));
        let twofold = Err(NotANumbering::Twofold("by rows".to_owned(), "by columns".to_owned()));
        assert_eq!(numbering("by rows by columns"), twofold);
    }

    #[test]
    fn the_other_columns() {
        assert_eq!(latch("top"), Ok((Latch::At(Side::Top), None)));
        assert_eq!(latch("Links, Kabelseite"), Ok((Latch::At(Side::Left), Some(View::WireSide))));
        assert_eq!(latch("none"), Ok((Latch::Absent, None)));
        assert_eq!(latch("botom"), Err(Some("bottom")));
        assert_eq!(latch("top, left"), Err(Some("left")));
        assert_eq!(stagger("yes"), Ok(Stagger::Right));
        assert_eq!(view("Steckseite"), Ok(View::MatingFace));
        assert_eq!(cavities("1, 2 B7 10-12"), ["1", "2", "B7", "10", "11", "12"]);
        assert_eq!(cavities(&"1-9999 ".repeat(20)).len(), 9_999);
        assert_eq!(columns("8", 999), Some(Columns::Alike(8)));
        assert_eq!(columns("8 7 8", 999), Some(Columns::OfRows(vec![8, 7, 8])));
        assert_eq!(columns("8 x", 999), None);
        assert_eq!(columns("0", 999), None);
    }
}
