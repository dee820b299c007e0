//! The n-th code: a number comes in, a code goes out, and the same one for ever.
//!
//! Codes of one harness lie side by side in a bundle, so those that are issued one after the other must differ widely. Write
//! a code as values `v`, with `k` counted from the check character (`k = 0`). Every code has `sum 3^k v = 0` modulo 29
//! ([`crate::base::code`]). All codes that share the value of the second sum, `sum 9^k v`, differ from one another in at
//! least three characters: both sums together are the check of a Reed-Solomon code of distance three, because the factors
//! `3^k` are distinct. So the codes are issued in 29 blocks, one for each value of the second sum, and scattered inside
//! their block: about 470 neighbours differ pairwise in three of four characters, and a code with one wrong character is
//! nearest to the right one.
//!
//! Four characters come first, then five. The refused codes are left out.

use std::collections::HashMap;
use std::sync::LazyLock;

use super::refused::is_refused;
use crate::base::TagCode;

static FOUR: LazyLock<Vec<TagCode>> = LazyLock::new(|| FOUR_CHARACTERS.codes());
static FIVE: LazyLock<Vec<TagCode>> = LazyLock::new(|| FIVE_CHARACTERS.codes());

/// The n-th code, from 0; `None` once all codes of four and five characters are used up. FROZEN: printed tags depend on it.
pub fn nth(n: u32) -> Option<TagCode> {
    let n = usize::try_from(n).ok()?;
    match n.checked_sub(FOUR.len()) {
        None => FOUR.get(n).copied(),
        Some(n) => FIVE.get(n).copied(),
    }
}

/// Which code this is: the n for which [`nth`] gives it; `None` for one that is never issued.
pub fn number(code: TagCode) -> Option<u32> {
    static FOURS: LazyLock<HashMap<TagCode, u32>> = LazyLock::new(|| (0..).zip(&*FOUR).map(|(n, &c)| (c, n)).collect());
    static FIVES: LazyLock<HashMap<TagCode, u32>> =
        LazyLock::new(|| (FOUR.len() as u32..).zip(&*FIVE).map(|(n, &c)| (c, n)).collect());
    match code.as_str().len() {
        4 => FOURS.get(&code).copied(),
        _ => FIVES.get(&code).copied(),
    }
}

/// In which order the codes of one length are issued.
struct Order {
    /// Characters that are chosen freely; the last two follow from the two sums.
    free: u32,
    /// Factor of the place in a block; not a multiple of 29.
    scatter: u32,
    /// How much further each block begins.
    shift: u32,
    /// How much the second sum grows from block to block; 1 to 28.
    sum_step: u32,
    /// The second sum of the first block.
    first_sum: u32,
}

/// The numbers were searched for so that codes on both sides of a block's border differ in three characters as well.
const FOUR_CHARACTERS: Order = Order { free: 2, scatter: 368, shift: 583, sum_step: 27, first_sum: 24 };
const FIVE_CHARACTERS: Order = Order { free: 3, scatter: 9029, shift: 7011, sum_step: 27, first_sum: 24 };

impl Order {
    /// All codes that may be issued, in order.
    fn codes(&self) -> Vec<TagCode> {
        let block_size = 29_u32.pow(self.free);
        (0..29 * block_size).map(|n| self.code(n / block_size, n % block_size)).filter(|&c| !is_refused(c)).collect()
    }

    /// The code at a place of a block.
    fn code(&self, block: u32, place: u32) -> TagCode {
        let second_sum = (self.sum_step * block + self.first_sum) % 29;
        let scattered = (self.scatter * place + self.shift * block) % 29_u32.pow(self.free);
        let mut values: Vec<u8> = (0..self.free).rev().map(|at| (scattered / 29_u32.pow(at) % 29) as u8).collect();
        // With `v` the value before the check character: subtracting the first sum from the second leaves
        // `sum (9^k - 3^k) v_k`, which is free of the check character and holds 6 v; 5 is the inverse of 6 modulo 29.
        let of_the_free = values.iter().zip((2..self.free + 2).rev()).fold(0, |sum, (&value, k)| {
            let weight = (9_u32.pow(k) - 3_u32.pow(k)) % 29;
            (sum + weight * u32::from(value)) % 29
        });
        values.push((5 * (29 + second_sum - of_the_free) % 29) as u8);
        TagCode::from_values(&values).expect("three or four values below 29")
    }
}

#[cfg(test)]
mod tests {
    use std::collections::HashSet;

    use super::*;

    /// Codes of four characters, and of both lengths together.
    const FOUR: u32 = 13_607;
    const ALL: u32 = 531_040;

    fn text(n: u32) -> String {
        nth(n).map_or_else(String::new, |code| code.to_string())
    }

    fn distance(one: &str, other: &str) -> usize {
        assert_eq!(one.len(), other.len());
        one.bytes().zip(other.bytes()).filter(|(a, b)| a != b).count()
    }

    /// THIS TEST MUST NEVER BE CHANGED. Tags hang on wires with these codes; a register that goes on with another order would
    /// issue one code twice. The values were computed by a second program as well, apart from this one.
    #[test]
    fn the_order_is_frozen_for_ever() {
        assert_eq!([0, 1, 2, 3, 4, 5].map(text), ["FQGB", "RTCQ", "8GMK", "3V86", "HJGZ", "UMCE"]);
        assert_eq!([99, 9_999, FOUR - 1].map(text), ["8V3U", "8WEG", "4VHA"]);
        assert_eq!([FOUR, FOUR + 1, FOUR + 2].map(text), ["DRDWV", "RGQD2", "GYEJM"]);
        // FNV-1a, 64 bits, over the first 10,000 codes written one after the other.
        let digest = (0..10_000)
            .flat_map(|n| text(n).into_bytes())
            .fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3));
        assert_eq!(digest, 0xd046_2441_b23b_2eb5);
    }

    #[test]
    fn every_unrefused_code_is_issued_once_short_ones_first() {
        let mut seen = HashSet::new();
        for n in 0..ALL {
            let code = nth(n).expect("not used up yet");
            assert_eq!(code.as_str().len(), if n < FOUR { 4 } else { 5 });
            assert!(!is_refused(code));
            assert!(seen.insert(code), "{code} twice");
        }
        assert_eq!(nth(ALL), None);
        assert_eq!(nth(u32::MAX), None);
        let four = (0..24_389_u32).filter_map(|n| {
            TagCode::from_values(&[(n / 841) as u8, (n / 29 % 29) as u8, (n % 29) as u8]).filter(|c| !is_refused(*c))
        });
        assert!(four.into_iter().all(|code| seen.contains(&code)));
    }

    #[test]
    fn every_code_knows_its_number() {
        for n in (0..FOUR + 3).chain([ALL - 1]) {
            assert_eq!(nth(n).and_then(number), Some(n));
        }
        let refused = |values: [u8; 3]| TagCode::from_values(&values).filter(|code| is_refused(*code));
        let refused = (0..24_389_u32).find_map(|n| refused([(n / 841) as u8, (n / 29 % 29) as u8, (n % 29) as u8]));
        assert_eq!(number(refused.expect("some are")), None);
    }

    /// A harness of some hundred circuits takes neighbours: any two of 25 differ in three characters of four, without
    /// exception, and so do neighbours of five characters.
    #[test]
    fn neighbours_differ_in_three_characters_or_more() {
        let four: Vec<String> = (0..FOUR).map(text).collect();
        for window in four.windows(25) {
            assert!(window[1..].iter().all(|other| distance(&window[0], other) >= 3), "{window:?}");
        }
        let five: Vec<String> = (FOUR..ALL).map(text).collect();
        assert!(five.windows(2).all(|pair| distance(&pair[0], &pair[1]) >= 3));
    }

    #[test]
    fn the_first_400_circuits_differ_pairwise_in_three_characters() {
        let first: Vec<String> = (0..400).map(text).collect();
        for (at, one) in first.iter().enumerate() {
            assert!(first[at + 1..].iter().all(|other| distance(one, other) >= 3), "{one}");
        }
    }
}
