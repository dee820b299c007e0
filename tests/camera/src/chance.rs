//! Numbers drawn from a seed: SplitMix64 (Steele, Lea, Flood 2014), whose few lines give the same numbers everywhere.

use crate::Range;

pub struct Chance {
    state: u64,
}

impl Chance {
    pub fn new(seed: u64) -> Self {
        Self { state: seed.wrapping_mul(0xd134_2543_de82_ef95) }
    }

    pub fn bits(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mixed = (self.state ^ (self.state >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// From 0 to below 1.
    pub fn share(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }

    pub fn within(&mut self, (from, to): Range) -> f64 {
        from + (to - from) * self.share()
    }

    /// Nearly normal, mean 0 and standard deviation 1: the sum of four even 16 bit numbers.
    pub fn normal(&mut self) -> f64 {
        let bits = self.bits();
        let sum = (bits & 0xffff) + (bits >> 16 & 0xffff) + (bits >> 32 & 0xffff) + (bits >> 48);
        // Four even numbers have the variance 4/12.
        (sum as f64 / 65536.0 - 2.0) * 3f64.sqrt()
    }
}
