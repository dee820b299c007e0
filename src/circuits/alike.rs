//! What counts as alike where two lists write one thing in two ways: functions in words, lengths, sizes, designations.

use std::hash::{DefaultHasher, Hasher as _};

use crate::base::{ConductorSize, Length};

/// Words with as few letters are not taken for an abbreviation of a longer one.
const SHORTEST_ABBREVIATION: usize = 3;

/// Whether two texts say different things: more differs than case, punctuation, the order of words, words that are shortened,
/// or words that only one of them adds.
pub(super) fn differ_in_words(one: &str, other: &str) -> bool {
    if one == other {
        return false;
    }
    let (one, other) = (words(one), words(other));
    let is_said = |word: &String, by: &[String]| by.iter().any(|other| is_short_for(word, other));
    let covers = |these: &[String], those: &[String]| these.iter().all(|word| is_said(word, those));
    !covers(&one, &other) && !covers(&other, &one)
}

/// More words than any function has are not compared, as the work grows with the square.
const MOST_WORDS: usize = 40;

/// The words of a text, in lower case; `+` and `-` that stand alone or end a word count, as they name a side.
fn words(text: &str) -> Vec<String> {
    let mut words = Vec::new();
    for part in text.split_whitespace().take(MOST_WORDS) {
        let plain = part.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
        words.extend(plain.map(str::to_lowercase));
        words.extend(part.chars().next_back().filter(|c| matches!(c, '+' | '-')).map(String::from));
    }
    words.truncate(MOST_WORDS);
    words
}

fn is_short_for(one: &str, other: &str) -> bool {
    let is_start = |short: &str, long: &str| {
        short.chars().count() >= SHORTEST_ABBREVIATION
            && short.chars().all(char::is_alphabetic)
            && long.starts_with(short)
    };
    one == other || is_start(one, other) || is_start(other, one)
}

/// Whether two lengths are more apart than inches and millimetres round: 1 %, and 5 mm.
pub(super) fn differ_in_length(one: Length, other: Length) -> bool {
    let (one, other) = (one.as_mm(), other.as_mm());
    (one - other).abs() > 5.0_f64.max(one.max(other) / 100.0)
}

/// The characters that tell designations apart once case, spaces and punctuation do not count. A separator between digits
/// stays, as `1-1` is not `11`; so do `+`, and `-` at the end, as `B+` and `B-` are two.
pub(super) fn folded(designation: &str) -> impl Iterator<Item = char> {
    let is_separator = |c: char| c.is_whitespace() || matches!(c, '-' | '_' | '.' | '/' | ':' | ',');
    let mut rest = designation.trim().chars().peekable();
    let mut before: Option<char> = None;
    let mut waiting: Option<char> = None;
    let kept = std::iter::from_fn(move || {
        if let Some(next) = waiting.take() {
            return Some(next);
        }
        let mut separator = None;
        while let Some(c) = rest.next_if(|c| is_separator(*c)) {
            separator = Some(c);
        }
        let next = rest.next();
        let parts_digits = separator.is_some()
            && before.is_some_and(|c| c.is_ascii_digit())
            && next.is_some_and(|c| c.is_ascii_digit());
        before = next;
        match (next, separator) {
            (None, Some('-')) => Some('-'),
            (Some(_), _) if parts_digits => {
                waiting = next;
                Some(' ')
            }
            (next, _) => next,
        }
    });
    kept.flat_map(char::to_lowercase)
}

/// A number that is the same for designations that differ in case, spaces and punctuation only; compare [`folded`] where two
/// have one number.
pub(super) fn number_of(designation: &str) -> u64 {
    let mut hasher = DefaultHasher::new();
    folded(designation).for_each(|c| hasher.write_u32(c.into()));
    hasher.finish()
}

/// Sizes in the same unit that are not the same. Across units nothing is converted, so nothing is compared.
pub(super) fn differ_in_size(one: ConductorSize, other: ConductorSize) -> bool {
    match (one, other) {
        (ConductorSize::CrossSection(one), ConductorSize::CrossSection(other)) => one != other,
        (ConductorSize::Awg(one), ConductorSize::Awg(other)) => one != other,
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn functions_that_say_the_same() {
        for (one, other) in [
            ("rail pressure signal", "Signal, rail pressure"),
            ("rail pressure", "rail pressure signal"),
            ("oil press. sender", "oil pressure sender"),
            ("ground", "engine ground"),
            ("glow plug 1", "Glow-plug 1"),
        ] {
            assert!(!differ_in_words(one, other) && !differ_in_words(other, one), "{one} / {other}");
        }
        for (one, other) in [
            ("glow plug 1", "glow plug 2"),
            ("battery +", "battery -"),
            ("horn", "wiper"),
            ("injector 1 high side", "injector 1 low side"),
        ] {
            assert!(differ_in_words(one, other) && differ_in_words(other, one), "{one} / {other}");
        }
    }

    #[test]
    fn lengths_that_are_the_same() {
        assert!(!differ_in_length(Length::mm(680.0), Length::inch(26.8)));
        assert!(!differ_in_length(Length::mm(2_000.0), Length::mm(2_018.0)));
        assert!(differ_in_length(Length::mm(680.0), Length::mm(700.0)));
        assert!(!differ_in_length(Length::mm(10.0), Length::mm(14.0)));
    }

    #[test]
    fn designations_without_case_and_punctuation() {
        let shown = |designation: &str| folded(designation).collect::<String>();
        for (typed, plain) in [
            ("J 1", "j1"),
            ("E-14", "e14"),
            ("gnd_1", "gnd1"),
            ("1-1", "1 1"),
            ("1 . 1", "1 1"),
            ("B+", "b+"),
            ("B-", "b-"),
            ("CAN-H", "canh"),
            ("-", "-"),
            ("", ""),
        ] {
            assert_eq!(shown(typed), plain, "{typed}");
        }
        assert_eq!(number_of("J1"), number_of(" j-1"));
        assert_ne!(number_of("J11"), number_of("J1.1"));
    }

    proptest! {
        #[test]
        fn folding_twice_is_folding_once(typed in "[A-Ca-c0-2 ._/+-]{0,12}") {
            let once: String = folded(&typed).collect();
            prop_assert_eq!(folded(&once).collect::<String>(), once);
        }

        #[test]
        fn no_text_differs_from_itself_and_none_is_in_the_way(one in ".{0,40}", other in ".{0,40}") {
            prop_assert!(!differ_in_words(&one, &one));
            prop_assert_eq!(differ_in_words(&one, &other), differ_in_words(&other, &one));
        }
    }
}
