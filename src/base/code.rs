//! The code on a tag, and the letter of an end.
//!
//! Alphabet of 29 characters, a prime: no `0 1 5 I L O S`, which are misread on small print, and all in the alphanumeric
//! set of ISO/IEC 18004. The last character is a check: with `value` the place in the alphabet and `k` counted from the
//! check character (`k = 0`), the sum of `3^k * value` is 0 modulo 29. That catches every single substitution, every
//! adjacent and jump transposition and every twin error in codes of up to six characters (proved in the tests).

use std::fmt;

use thiserror::Error;

/// The alphabet of codes, in the order of its values 0 to 28.
pub const ALPHABET: &[u8; 29] = b"2346789ABCDEFGHJKMNPQRTUVWXYZ";

/// Letters of ends, as printed after the code (`7KF4 A`): the alphabet without its digits.
const END_LETTERS: &[u8; 22] = b"ABCDEFGHJKMNPQRTUVWXYZ";

/// Fewest characters of a code, its check character included.
pub const SHORTEST: usize = 4;
/// Most characters of a code, its check character included: the check is proved up to here.
pub const LONGEST: usize = 6;

/// A checked code. It names one circuit for ever.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct TagCode {
    len: u8,
    characters: [u8; LONGEST],
}

/// Why a typed text is not a code.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum NotACode {
    /// Too few or too many characters.
    #[error("a code has {SHORTEST} to {LONGEST} characters, `{typed}` has {count}")]
    Length {
        /// What was typed, without its separators.
        typed: String,
        /// How many characters that is.
        count: usize,
    },
    /// A character that no code contains.
    #[error("`{character}` never stands in a code")]
    Character {
        /// The character.
        character: char,
    },
    /// The check character does not fit the others.
    #[error("the check character of `{typed}` does not fit: at least one character is wrong")]
    Check {
        /// What was typed, without its separators.
        typed: String,
    },
}

impl TagCode {
    /// Completes `values` (each below 29, three to five of them) with their check character; `None` outside those bounds.
    pub fn from_values(values: &[u8]) -> Option<Self> {
        let len = values.len() + 1;
        if !(SHORTEST..=LONGEST).contains(&len) || values.iter().any(|&value| value >= 29) {
            return None;
        }
        let check = (29 - weighted_sum(values.iter().copied(), 1)) % 29;
        let mut characters = [0; LONGEST];
        for (character, &value) in characters.iter_mut().zip(values.iter().chain([&(check as u8)])) {
            *character = ALPHABET[usize::from(value)];
        }
        Some(Self { len: len as u8, characters })
    }

    /// Reads a code as a person types it: case, spaces, `-`, `.` and `/` do not matter. The whole text must be the code;
    /// see [`TagCode::from_typed_with_letter`] for one with its end letter.
    pub fn from_typed(typed: &str) -> Result<Self, NotACode> {
        let bare: String = typed.chars().filter(|c| !is_separator(*c)).flat_map(char::to_uppercase).collect();
        let mut values = Vec::with_capacity(bare.len());
        for character in bare.chars() {
            values.push(value_of(character).ok_or(NotACode::Character { character })?);
        }
        if !(SHORTEST..=LONGEST).contains(&values.len()) {
            return Err(NotACode::Length { count: values.len(), typed: bare });
        }
        if weighted_sum(values.iter().copied(), 0) != 0 {
            return Err(NotACode::Check { typed: bare });
        }
        Self::from_values(&values[..values.len() - 1]).ok_or(NotACode::Check { typed: bare })
    }

    /// Reads `7KF4 A`, `7kf4/a` or `7KF4`: a code, then perhaps an end letter behind a separator.
    pub fn from_typed_with_letter(typed: &str) -> Result<(Self, Option<EndLetter>), NotACode> {
        let typed = typed.trim();
        if let Some((code, letter)) = typed.rsplit_once(is_separator)
            && let Some(letter) = EndLetter::from_typed(letter)
            && let Ok(code) = Self::from_typed(code)
        {
            return Ok((code, Some(letter)));
        }
        Self::from_typed(typed).map(|code| (code, None))
    }

    /// The characters, check character last.
    pub fn as_str(&self) -> &str {
        std::str::from_utf8(&self.characters[..usize::from(self.len)]).expect("the alphabet is ASCII")
    }
}

/// Whether a person may type this between the characters of a code.
fn is_separator(character: char) -> bool {
    character.is_whitespace() || matches!(character, '-' | '.' | '/')
}

/// The value of a character of the alphabet, 0 to 28.
pub fn value_of(character: char) -> Option<u8> {
    let byte = u8::try_from(character).ok()?;
    ALPHABET.iter().position(|&known| known == byte).map(|value| value as u8)
}

/// Sum of `3^k * value` modulo 29, where the last value has `k = first_k`.
fn weighted_sum(values: impl DoubleEndedIterator<Item = u8>, first_k: u32) -> u32 {
    let mut weight = 3_u32.pow(first_k) % 29;
    let mut sum = 0;
    for value in values.rev() {
        sum = (sum + weight * u32::from(value)) % 29;
        weight = weight * 3 % 29;
    }
    sum
}

impl fmt::Display for TagCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.as_str())
    }
}

impl fmt::Debug for TagCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "TagCode({})", self.as_str())
    }
}

/// The letter of one end of a circuit: A B C D E F G H J K M N P Q R T U V W X Y Z, then AA AB …
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct EndLetter(u16);

impl EndLetter {
    /// The first letter, `A`.
    pub const FIRST: Self = Self(0);

    /// The letter with this ordinal; 0 is `A`. A circuit with more than 65,536 ends does not exist.
    pub const fn nth(ordinal: u16) -> Self {
        Self(ordinal)
    }

    /// The ordinal; `A` is 0.
    pub const fn ordinal(self) -> u16 {
        self.0
    }

    /// Reads `A` or `aa`; `None` for anything else.
    pub fn from_typed(typed: &str) -> Option<Self> {
        let typed = typed.trim();
        if typed.is_empty() || typed.len() > 4 {
            return None;
        }
        let mut ordinal = 0_u32;
        for character in typed.chars() {
            let byte = u8::try_from(character.to_ascii_uppercase()).ok()?;
            let digit = END_LETTERS.iter().position(|&letter| letter == byte)? as u32;
            ordinal = ordinal * 22 + digit + 1;
        }
        u16::try_from(ordinal - 1).ok().map(Self)
    }
}

impl fmt::Display for EndLetter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut letters = Vec::new();
        let mut rest = u32::from(self.0) + 1;
        while rest > 0 {
            rest -= 1;
            letters.push(char::from(END_LETTERS[(rest % 22) as usize]));
            rest /= 22;
        }
        f.pad(&letters.iter().rev().collect::<String>())
    }
}

impl fmt::Debug for EndLetter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "EndLetter({self})")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_design_example_is_valid() {
        let code = TagCode::from_typed("7KF4").expect("7KF4 is valid");
        assert_eq!(code.as_str(), "7KF4");
        for careless in ["7kf4", " 7-k.f/4 ", "7 K F 4"] {
            assert_eq!(TagCode::from_typed(careless), Ok(code));
        }
    }

    #[test]
    fn what_is_not_a_code_says_why() {
        assert_eq!(TagCode::from_typed("7KO4"), Err(NotACode::Character { character: 'O' }));
        assert!(matches!(TagCode::from_typed("7KF6"), Err(NotACode::Check { .. })));
        assert!(matches!(TagCode::from_typed("7K"), Err(NotACode::Length { count: 2, .. })));
        assert!(TagCode::from_typed("").is_err());
        assert!(TagCode::from_typed("ß7KF").is_err());
    }

    #[test]
    fn an_end_letter_may_follow() {
        let code = TagCode::from_typed("7KF4").expect("valid");
        for typed in ["7KF4 A", "7kf4/a", "7KF4-A"] {
            assert_eq!(TagCode::from_typed_with_letter(typed), Ok((code, Some(EndLetter::FIRST))));
        }
        assert_eq!(TagCode::from_typed_with_letter("7KF4"), Ok((code, None)));
    }

    #[test]
    fn letters_skip_what_is_misread_and_go_on_after_z() {
        let first: String = (0..22).map(|n| EndLetter::nth(n).to_string()).collect();
        assert_eq!(first, "ABCDEFGHJKMNPQRTUVWXYZ");
        assert_eq!(EndLetter::nth(22).to_string(), "AA");
        assert_eq!(EndLetter::nth(23).to_string(), "AB");
        for ordinal in 0..20_000 {
            let letter = EndLetter::nth(ordinal);
            assert_eq!(EndLetter::from_typed(&letter.to_string()), Some(letter));
        }
    }

    /// Every error of the four kinds in every code of four characters, tried one by one.
    #[test]
    fn four_characters_catch_all_common_errors() {
        for n in 0..29_u32.pow(3) {
            let values = [(n / 841) as u8, (n / 29 % 29) as u8, (n % 29) as u8];
            let code = TagCode::from_values(&values).expect("three values below 29");
            let right: Vec<u8> = code.as_str().chars().filter_map(value_of).collect();
            let is_caught = |wrong: &[u8]| weighted_sum(wrong.iter().copied(), 0) != 0;
            for at in 0..4 {
                for other in (0..29).filter(|&other| other != right[at]) {
                    let mut wrong = right.clone();
                    wrong[at] = other;
                    assert!(is_caught(&wrong), "substitution in {code}");
                    if at + 1 < 4 && right[at] == right[at + 1] {
                        wrong[at + 1] = other;
                        assert!(is_caught(&wrong), "twin error in {code}");
                    }
                }
                for distance in [1, 2] {
                    if at + distance < 4 && right[at] != right[at + distance] {
                        let mut wrong = right.clone();
                        wrong.swap(at, at + distance);
                        assert!(is_caught(&wrong), "transposition in {code}");
                    }
                }
            }
        }
    }

    /// The same for up to six characters, from the weights: an error is caught when its weight is not 0 modulo 29.
    #[test]
    fn weights_catch_all_common_errors_up_to_six_characters() {
        let weight = |k: u32| 3_i64.pow(k) % 29;
        for k in 0..LONGEST as u32 {
            assert_ne!(weight(k), 0, "substitution");
            assert_ne!((weight(k) + weight(k + 1)) % 29, 0, "twin error");
            assert_ne!((weight(k) - weight(k + 1)) % 29, 0, "adjacent transposition");
            assert_ne!((weight(k) - weight(k + 2)) % 29, 0, "jump transposition");
        }
    }

    proptest! {
        #[test]
        fn any_typed_text_is_answered(typed in ".{0,12}") {
            let _ = TagCode::from_typed(&typed);
            let _ = TagCode::from_typed_with_letter(&typed);
            let _ = EndLetter::from_typed(&typed);
        }

        #[test]
        fn codes_read_back(values in prop::collection::vec(0_u8..29, 3..=5)) {
            let code = TagCode::from_values(&values).expect("in bounds");
            prop_assert_eq!(TagCode::from_typed(&code.to_string().to_lowercase()), Ok(code));
        }
    }
}
