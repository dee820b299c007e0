//! Sorts of wire insulation, as far as they say how thick the wall is: trade and standard terms.
//!
//! Walls of vehicle wire are named twice: ISO 6722-1 by thickness for sizes in mm², SAE J1128 by type letters for sizes in
//! AWG. Both are one word here, as a size is always of one system only and a size of the other has no row in that
//! system's table. `templates/words/insulations.csv` holds which word or type letters mean which of these.

use std::fmt;

/// The sort of a wire's insulation: with the conductor size it gives the outside diameter.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Insulation {
    /// ISO 6722-1 ultra-thin wall.
    UltraThinWall,
    /// ISO 6722-1 thin wall; SAE J1128 thin wall (TXL).
    ThinWall,
    /// ISO 6722-1 thick wall; SAE J1128 general purpose (GPT, GXL).
    ThickWall,
    /// SAE J1128 special purpose (SXL): thicker than general purpose.
    SpecialPurpose,
    /// Hook-up wire for 300 V with a wall of 15 mil (UL AWM style 1007).
    HookUp300,
    /// Hook-up wire for 600 V with a wall of 30 mil (UL AWM style 1015).
    HookUp600,
    /// Boat cable (UL 1426).
    BoatCable,
}

impl Insulation {
    /// All of them, in the order of the documentation.
    pub const ALL: [Self; 7] = [
        Self::UltraThinWall,
        Self::ThinWall,
        Self::ThickWall,
        Self::SpecialPurpose,
        Self::HookUp300,
        Self::HookUp600,
        Self::BoatCable,
    ];

    /// Its word in lists, in job.toml and in the tables.
    pub const fn word(self) -> &'static str {
        match self {
            Self::UltraThinWall => "ultra-thin-wall",
            Self::ThinWall => "thin-wall",
            Self::ThickWall => "thick-wall",
            Self::SpecialPurpose => "special-purpose",
            Self::HookUp300 => "hook-up 300 V",
            Self::HookUp600 => "hook-up 600 V",
            Self::BoatCable => "boat cable",
        }
    }

    /// The insulation of this word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|insulation| insulation.word() == word)
    }
}

impl fmt::Display for Insulation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}
