//! Codes nearest to a mistyped text: what comes in may be anything, what goes out are codes that exist.

use std::sync::LazyLock;

use crate::base::TagCode;
use crate::base::code::LONGEST;
use crate::base::nearest::{Costs, distance};

/// What one wrong, missing or superfluous character costs.
const WRONG: u32 = 10;
/// A character read as one that looks like it.
const LOOK_ALIKE: u32 = 4;
/// Two neighbours exchanged are a likelier slip than one wrong character.
const COSTS: Costs = Costs { missing: WRONG, exchanged: 6, replaced };
/// What lies further away is no help: more than two wrong characters.
const FURTHEST: u32 = 2 * WRONG;

/// Characters that are taken for one another on small or dirty print, or in handwriting (common practice). A text may
/// hold characters that no code has, `0` or `O`.
const LOOK_ALIKES: [&str; 13] =
    ["0ODQ", "1I7LJT", "5S6", "8B3", "2Z", "4A", "6G9", "UVW", "VY", "EF", "MNH", "PRB", "CG"];

/// The codes nearest to `typed`, at most `most`, the nearest first and in order of their text where equally near. An end
/// letter behind the code does no harm. Nothing comes back for a text that is far from every code.
pub fn nearest(typed: &str, codes: impl IntoIterator<Item = TagCode>, most: usize) -> Vec<TagCode> {
    let readings = readings(typed);
    let mut characters: Vec<char> = Vec::new();
    let mut near: Vec<(u32, TagCode)> = Vec::new();
    for code in codes {
        characters.clear();
        characters.extend(code.as_str().chars());
        let possible = readings.iter().filter(|reading| !is_far(reading, &characters));
        let distance = possible.map(|reading| distance(reading, &characters, &COSTS)).min();
        near.extend(distance.filter(|distance| *distance <= FURTHEST).map(|distance| (distance, code)));
    }
    near.sort();
    near.dedup();
    near.into_iter().take(most).map(|(_, code)| code).collect()
}

/// What the code in a typed text may be: all of it, and all but a short last word, which may be the end letter.
fn readings(typed: &str) -> Vec<Vec<char>> {
    let words: Vec<&str> =
        typed.split(|c: char| c.is_whitespace() || matches!(c, '-' | '.' | '/')).filter(|w| !w.is_empty()).collect();
    let mut readings = vec![words.concat()];
    if let [before @ .., last] = words.as_slice()
        && !before.is_empty()
        && last.chars().count() <= 2
    {
        readings.push(before.concat());
    }
    let upper = readings.iter().map(|reading| reading.chars().flat_map(char::to_uppercase).take(2 * LONGEST).collect());
    upper.collect()
}

/// Whether too much is wrong at the first look: a character that is neither in the code nor like one of its own costs a whole slip.
fn is_far(reading: &[char], characters: &[char]) -> bool {
    let most = (FURTHEST / WRONG) as usize;
    let is_wrong = |one: &&char| characters.iter().all(|other| replaced(**one, *other) == WRONG);
    reading.len().abs_diff(characters.len()) > most || reading.iter().filter(is_wrong).count() > most
}

fn replaced(one: char, other: char) -> u32 {
    if one == other {
        0
    } else if groups(one) & groups(other) != 0 {
        LOOK_ALIKE
    } else {
        WRONG
    }
}

/// The groups of look-alikes that a character belongs to, a bit each.
fn groups(character: char) -> u16 {
    static GROUPS: LazyLock<[u16; 128]> = LazyLock::new(|| {
        let mut groups = [0; 128];
        for (group, alike) in LOOK_ALIKES.iter().enumerate() {
            for byte in alike.bytes() {
                groups[usize::from(byte)] |= 1 << group;
            }
        }
        groups
    });
    GROUPS.get(character as usize).copied().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::code::ALPHABET;
    use crate::codes::mint;
    use proptest::prelude::*;

    fn code(typed: &str) -> TagCode {
        TagCode::from_typed(typed).expect("a code")
    }

    #[test]
    fn look_alikes_come_before_others() {
        let codes: Vec<TagCode> = (0..400).filter_map(mint::nth).collect();
        // FQGB: a 0 for the Q, a 6 for the G, an 8 for the B, a transposition.
        for typed in ["F0GB", "FQ6B", "fqg8", "QFGB", "F0GB A", "F0GB/a", "FQGBX", "FQG"] {
            assert_eq!(nearest(typed, codes.clone(), 3).first(), Some(&code("FQGB")), "{typed}");
        }
    }

    #[test]
    fn what_is_far_from_every_code_finds_none() {
        let codes: Vec<TagCode> = (0..400).filter_map(mint::nth).collect();
        for typed in ["", "the bilge pump of the boat", "日本日本", "1", "----"] {
            assert_eq!(nearest(typed, codes.clone(), 3), [], "{typed}");
        }
    }

    /// In a register of up to 400 circuits one wrong character of four always leads back to the right code first, look-alikes
    /// of other codes aside: then the right one is among the first three.
    #[test]
    fn one_wrong_character_leads_back() {
        let codes: Vec<TagCode> = (0..400).filter_map(mint::nth).collect();
        let (mut tried, mut first) = (0, 0);
        for &right in codes.iter().step_by(10) {
            for at in 0..4 {
                for &wrong in ALPHABET.iter().filter(|&&c| c != right.as_str().as_bytes()[at]) {
                    let mut typed = right.as_str().to_owned().into_bytes();
                    typed[at] = wrong;
                    let typed = String::from_utf8(typed).expect("ASCII");
                    let near = nearest(&typed, codes.clone(), 3);
                    assert!(near.contains(&right), "{typed} for {right}: {near:?}");
                    tried += 1;
                    first += usize::from(near.first() == Some(&right));
                }
            }
        }
        assert!(first * 100 >= tried * 95, "{first} of {tried}");
    }

    proptest! {
        #[test]
        fn any_text_is_answered_and_order_does_not_matter(typed in ".{0,12}", most in 0_usize..5) {
            let codes: Vec<TagCode> = (0..60).filter_map(mint::nth).collect();
            let near = nearest(&typed, codes.clone(), most);
            prop_assert!(near.len() <= most);
            prop_assert_eq!(near, nearest(&typed, codes.into_iter().rev(), most));
        }
    }
}
