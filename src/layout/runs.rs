//! A line of text -> runs, each of one direction, one script and one face, in the order in which they stand from left to right.
//!
//! Directions follow the Unicode Bidirectional Algorithm (UAX #9); the first strong character decides how the line as a
//! whole reads. Scripts follow UAX #24: characters common to several scripts go with their neighbours. Which face draws a
//! character is asked of the caller.

use std::borrow::Cow;
use std::ops::Range;

use harfrust::{Direction, Script, unicode};
use unicode_bidi::{BidiClass, Level, ParagraphBidiInfo, bidi_class, get_base_direction};

use super::frame::Face;

/// A line of text broken into runs.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Line {
    /// The characters that are drawn, in the order in which they are read.
    pub text: String,
    /// The runs from left to right.
    pub runs: Vec<Run>,
}

/// Which way a line reads as a whole.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Reads {
    /// From left to right.
    #[default]
    Rightwards,
    /// From right to left.
    Leftwards,
}

impl Reads {
    /// How a text reads by its first strong character (UAX #9, rules P2 and P3).
    pub fn of(text: &str) -> Self {
        let is_leftwards = !is_plain(text) && get_base_direction(text) == unicode_bidi::Direction::Rtl;
        if is_leftwards { Self::Leftwards } else { Self::Rightwards }
    }
}

/// A run within [`Line::text`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Run {
    pub range: Range<usize>,
    pub face: Face,
    pub direction: Direction,
    pub script: Script,
}

/// Whether a text needs no breaking: Latin letters, digits, signs common to all scripts, nothing that reads leftwards.
pub(super) fn is_plain(text: &str) -> bool {
    text.chars().all(|character| {
        // Up to Latin Extended and the spacing modifiers; dashes to primes; superscripts, currencies, arrows, mathematical
        // and technical signs. Between them lie only joiners and marks of direction.
        matches!(character, '\0'..='\u{2E9}' | '\u{2010}'..='\u{2027}' | '\u{202F}'..='\u{205E}' | '\u{2070}'..='\u{20CF}')
            || matches!(character, '\u{2100}'..='\u{27FF}')
    })
}

/// A character and the marks on it, which are never parted.
struct Cluster {
    /// Its place in the text that is drawn.
    range: Range<usize>,
    level: Level,
    face: Face,
}

/// Breaks a line into runs. `draws` tells of a character with its marks which face draws it, and what it draws for it.
///
/// # Errors
/// The first error of `draws`.
pub(super) fn line<'t, E>(
    text: &'t str,
    draws: impl Fn(&'t str) -> Result<(Face, Cow<'t, str>), E>,
) -> Result<Line, E> {
    let bidi = ParagraphBidiInfo::new(text, None);
    let levels = bidi.reordered_levels(0..text.len());
    let mut drawn = String::with_capacity(text.len());
    let mut clusters: Vec<Cluster> = Vec::new();
    for range in cluster_ranges(text) {
        let level = levels[range.start];
        let (face, what) = draws(&text[range])?;
        let start = drawn.len();
        drawn.push_str(&what);
        if drawn.len() > start {
            clusters.push(Cluster { range: start..drawn.len(), level, face });
        }
    }

    let mut runs: Vec<(Level, Run)> = Vec::new();
    for alike in clusters.chunk_by(|one, next| (one.level, one.face) == (next.level, next.face)) {
        let (level, face) = (alike[0].level, alike[0].face);
        let direction = if level.is_rtl() { Direction::RightToLeft } else { Direction::LeftToRight };
        let whole = alike[0].range.start..alike[alike.len() - 1].range.end;
        for (range, script) in script_ranges(&drawn, whole, face) {
            runs.push((level, Run { range, face, direction, script }));
        }
    }
    let levels: Vec<Level> = runs.iter().map(|(level, _)| *level).collect();
    let order = ParagraphBidiInfo::reorder_visual(&levels);
    let runs = order.into_iter().map(|index| runs[index].1.clone()).collect();
    Ok(Line { text: drawn, runs })
}

/// Characters with their marks and joiners. Marks of direction and the like, which steer and are not drawn, are left out.
fn cluster_ranges(text: &str) -> impl Iterator<Item = Range<usize>> {
    let mut characters = text.char_indices().filter(|(_, character)| !steers(*character)).peekable();
    std::iter::from_fn(move || {
        let (start, first) = characters.next()?;
        let mut end = start + first.len_utf8();
        while let Some((at, mark)) = characters.next_if(|(at, mark)| *at == end && follows(*mark)) {
            end = at + mark.len_utf8();
        }
        Some(start..end)
    })
}

/// Whether a character only steers direction or line breaks: the controls of UAX #9, zero-width spaces, the soft hyphen.
fn steers(character: char) -> bool {
    matches!(character, '\u{AD}' | '\u{61C}' | '\u{200B}' | '\u{200E}' | '\u{200F}' | '\u{202A}'..='\u{202E}')
        || matches!(character, '\u{2060}'..='\u{206F}' | '\u{FEFF}')
}

/// Whether a character stays with the one before it: marks, joiners, variation selectors.
fn follows(character: char) -> bool {
    is_joiner(character) || bidi_class(character) == BidiClass::NSM
}

/// Whether a character is not drawn itself but chooses how its neighbours are: joiners and variation selectors.
pub(super) fn is_joiner(character: char) -> bool {
    matches!(character, '\u{200C}' | '\u{200D}' | '\u{FE00}'..='\u{FE0F}' | '\u{E0100}'..='\u{E01EF}')
}

/// The parts of one script each. A common character goes with the script before it, at the start with the one after.
fn script_ranges(text: &str, whole: Range<usize>, face: Face) -> Vec<(Range<usize>, Script)> {
    let own = |character: char| {
        let script = unicode::script(character.into());
        (![Script::COMMON, Script::INHERITED, Script::UNKNOWN].contains(&script)).then_some(script)
    };
    // Digits and signs alone: the faces of this repository are Latin ones.
    let alone = if matches!(face, Face::Fallback(_)) { Script::COMMON } else { Script::LATIN };
    let first = text[whole.clone()].chars().find_map(own).unwrap_or(alone);
    let mut parts = vec![(whole.start..whole.end, first)];
    for (at, character) in text[whole.clone()].char_indices() {
        let (range, script) = parts.last_mut().expect("there is a first part");
        if let Some(other) = own(character).filter(|other| other != script) {
            range.end = whole.start + at;
            parts.push((whole.start + at..whole.end, other));
        }
    }
    parts
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// A face of this repository for Latin letters, digits, signs and spaces; the fallback for everything else.
    fn runs(text: &str) -> Vec<(&'static str, String)> {
        let draws = |cluster: &str| {
            let is_own = is_plain(cluster);
            Ok::<_, ()>((if is_own { Face::Words } else { Face::Fallback(0) }, Cow::Owned(cluster.to_owned())))
        };
        let line = line(text, draws).expect("all is drawn");
        let kind = |run: &Run| match (run.direction, run.script) {
            (Direction::LeftToRight, Script::LATIN) => "latin",
            (Direction::RightToLeft, Script::LATIN) => "latin leftwards",
            (Direction::RightToLeft, Script::ARABIC) => "arabic",
            (Direction::RightToLeft, Script::HEBREW) => "hebrew",
            (Direction::LeftToRight, Script::HAN) => "han",
            (Direction::LeftToRight, Script::KATAKANA) => "katakana",
            (Direction::LeftToRight, Script::COMMON) => "common",
            other => panic!("{other:?}"),
        };
        line.runs.iter().map(|run| (kind(run), line.text[run.range.clone()].to_owned())).collect()
    }

    fn owned(runs: &[(&'static str, &str)]) -> Vec<(&'static str, String)> {
        runs.iter().map(|(kind, text)| (*kind, (*text).to_owned())).collect()
    }

    #[test]
    fn latin_stays_whole() {
        assert_eq!(runs("rail pressure 0.75 mm²"), owned(&[("latin", "rail pressure 0.75 mm²")]));
    }

    #[test]
    fn scripts_and_common_signs() {
        assert_eq!(runs("油圧ポンプー 2"), owned(&[("han", "油圧"), ("katakana", "ポンプー"), ("latin", " 2")]));
        assert_eq!(runs("、油"), owned(&[("han", "、油")]));
        assert_eq!(runs("。"), owned(&[("common", "。")]));
    }

    /// Worked by hand after UAX #9: a leftward line, its Latin words and numbers in their own direction.
    #[test]
    fn leftward_lines_keep_latin_and_digits_rightward() {
        assert_eq!(runs("صمام F3 5 A"), owned(&[("latin", "F3 5 A"), ("latin leftwards", " "), ("arabic", "صمام")]));
        assert_eq!(
            runs("חיישן 12 (לחץ)"),
            owned(&[
                ("latin leftwards", ")"),
                ("hebrew", "לחץ"),
                ("latin leftwards", " ("),
                ("latin", "12"),
                ("latin leftwards", " "),
                ("hebrew", "חיישן"),
            ])
        );
        assert_eq!(runs("pump חיישן"), owned(&[("latin", "pump "), ("hebrew", "חיישן")]));
    }

    #[test]
    fn marks_stay_with_their_letters_and_controls_are_not_drawn() {
        assert_eq!(runs("ב\u{5BC}א"), owned(&[("hebrew", "ב\u{5BC}א")]));
        assert_eq!(runs("\u{200F}A\u{200B}"), owned(&[("latin", "A")]));
    }

    #[test]
    fn the_first_letter_decides_how_a_line_reads() {
        for text in ["", "A א", "(5)", "\u{200E}א"] {
            assert_eq!(Reads::of(text), Reads::Rightwards, "{text}");
        }
        for text in ["5 א", "א A", "\u{200F}A", "(ص"] {
            assert_eq!(Reads::of(text), Reads::Leftwards, "{text}");
        }
    }

    proptest! {
        /// Every drawn character stands in one run.
        #[test]
        fn runs_cover_the_line(text in "(\\PC|[a-c1-3 ()]|[א-ת]|[ا-ي]|[\u{200B}-\u{200F}]|[\u{202A}-\u{202E}]|\n|油|\u{301}){0,24}") {
            let line = line(&text, |c| Ok::<_, ()>((Face::Words, Cow::Owned(c.to_owned())))).expect("all is drawn");
            let mut ranges: Vec<_> = line.runs.iter().map(|run| run.range.clone()).collect();
            ranges.sort_by_key(|range| range.start);
            let mut end = 0;
            for range in ranges {
                prop_assert_eq!(range.start, end);
                prop_assert!(range.end > range.start);
                end = range.end;
            }
            prop_assert_eq!(end, line.text.len());
            prop_assert!(text.chars().filter(|c| !steers(*c)).eq(line.text.chars()));
        }
    }
}
