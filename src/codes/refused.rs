//! Codes that are never issued: those that read like wire numbers, and words.
//!
//! Pure, and frozen together with [`super::mint`]: to add a word is to move every code that stands after it.

use crate::base::TagCode;

/// Words that nobody shall find on a tag, or that would say something untrue about the wire (`DEAD`). Our own list, English
/// and German, of words that the alphabet of codes can spell; found anywhere in a code.
const WORDS: [&str; 29] = [
    "BUTT", "CRAP", "CUM", "CUNT", "DAMN", "DEAD", "DUMM", "DYKE", "EARTH", "FAG", "FCK", "FUCK", "FUK", "FUT", "HURE",
    "KACK", "KKK", "KUNT", "NAZ", "NEGER", "NEGR", "NUTTE", "PUKE", "RAPE", "TURD", "TWAT", "VAG", "WANK", "WTF",
];

/// Whether this code is never issued.
pub fn is_refused(code: TagCode) -> bool {
    let text = code.as_str().as_bytes();
    reads_like_a_wire_number(text) || spells_a_word(text)
}

/// `[A-Z]{0,3}[0-9]+[A-Z]{0,2}` as a whole: `R24`, `7`, `2468`, `EGK7AB`. Wires and terminals are numbered in such forms
/// (common practice; DIN 72552 terminal designations such as `30`, `49a` and `87` read so too).
fn reads_like_a_wire_number(text: &[u8]) -> bool {
    let before = text.iter().take_while(|c| c.is_ascii_uppercase()).count();
    let digits = text[before..].iter().take_while(|c| c.is_ascii_digit()).count();
    let after = &text[before + digits..];
    before <= 3 && digits >= 1 && after.len() <= 2 && after.iter().all(u8::is_ascii_uppercase)
}

/// Whether a word of the list stands in the code, also with its digits read as letters.
fn spells_a_word(text: &[u8]) -> bool {
    let mut read = [0; crate::base::code::LONGEST];
    for (letter, &character) in read.iter_mut().zip(text) {
        *letter = as_letter(character);
    }
    let read = &read[..text.len()];
    WORDS.iter().any(|word| read.windows(word.len()).any(|part| part == word.as_bytes()))
}

/// The letter that a digit looks like.
const fn as_letter(character: u8) -> u8 {
    match character {
        b'2' => b'Z',
        b'3' => b'E',
        b'4' => b'A',
        b'6' | b'9' => b'G',
        b'7' => b'T',
        b'8' => b'B',
        other => other,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::code::{ALPHABET, value_of};

    #[test]
    fn wire_numbers_are_told_from_codes() {
        for number in ["2468", "R247", "AB47", "ABC7", "7AB", "47AB", "A7B", "ABC24", "2A"] {
            assert!(reads_like_a_wire_number(number.as_bytes()), "{number}");
        }
        for other in ["7KF4", "ABCD", "A2B3", "7ABC", "ABCD7", "A7B4", ""] {
            assert!(!reads_like_a_wire_number(other.as_bytes()), "{other}");
        }
    }

    #[test]
    fn words_are_found_anywhere_and_with_digits_for_letters() {
        for word in ["CUNT", "CUN7", "FUK7", "XFUK", "KKKZ", "F46G", "F49X", "DEAD", "D34D"] {
            assert!(spells_a_word(word.as_bytes()), "{word}");
        }
        assert!(!spells_a_word(b"7KF4"));
    }

    #[test]
    fn every_word_can_be_spelled_with_the_alphabet() {
        for word in WORDS {
            let is_spelled = |letter: u8| ALPHABET.iter().any(|&c| c == letter || as_letter(c) == letter);
            assert!(word.bytes().all(is_spelled), "{word}");
            assert!(word.chars().all(|c| value_of(c).is_some()), "{word}");
        }
        assert!(WORDS.is_sorted());
    }

    /// Counted apart from this code as well: the regular expression over all products of the alphabet.
    #[test]
    fn of_24389_codes_10765_read_like_wire_numbers() {
        let codes = (0..24_389_u32).map(|n| {
            let values = [(n / 841) as u8, (n / 29 % 29) as u8, (n % 29) as u8];
            TagCode::from_values(&values).expect("three values below 29")
        });
        let refused = codes.filter(|code| reads_like_a_wire_number(code.as_str().as_bytes())).count();
        assert_eq!((refused, 24_389 - refused), (10_765, 13_624));
    }
}
