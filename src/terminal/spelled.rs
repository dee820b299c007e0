//! Codes as they are read aloud: by the spelling words of aviation and radio.

use crate::base::TagCode;

/// Spelling words of ICAO Annex 10, volume II, 5.2.1.3 (from memory), for the letters that codes have.
const WORDS: [(char, &str); 26] = [
    ('A', "Alfa"),
    ('B', "Bravo"),
    ('C', "Charlie"),
    ('D', "Delta"),
    ('E', "Echo"),
    ('F', "Foxtrot"),
    ('G', "Golf"),
    ('H', "Hotel"),
    ('I', "India"),
    ('J', "Juliett"),
    ('K', "Kilo"),
    ('L', "Lima"),
    ('M', "Mike"),
    ('N', "November"),
    ('O', "Oscar"),
    ('P', "Papa"),
    ('Q', "Quebec"),
    ('R', "Romeo"),
    ('S', "Sierra"),
    ('T', "Tango"),
    ('U', "Uniform"),
    ('V', "Victor"),
    ('W', "Whiskey"),
    ('X', "Xray"),
    ('Y', "Yankee"),
    ('Z', "Zulu"),
];

/// `7 Kilo Foxtrot 4`.
pub fn spelled(code: TagCode) -> String {
    let word = |character: char| {
        let known = WORDS.iter().find(|(letter, _)| *letter == character);
        known.map_or_else(|| character.to_string(), |(_, word)| (*word).to_owned())
    };
    code.as_str().chars().map(word).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_are_words_and_digits_stay() {
        assert_eq!(spelled(TagCode::from_typed("7KF4").unwrap()), "7 Kilo Foxtrot 4");
        assert!(WORDS.is_sorted() && WORDS.iter().all(|(letter, word)| word.starts_with(*letter)));
    }
}
