//! The kinds of tags, and when in the work each goes on.

use std::fmt;

/// The sort of a tag.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum TagKind {
    /// Folded round the wire, two faces back to back.
    Flag,
    /// Wound round the wire: a printed block, and a clear tail over it.
    Wrap,
    /// A plate with holes, tied to wire, branch or connector.
    TieOn,
    /// Printed heat-shrink tube.
    Sleeve,
    /// A printed strip under clear heat-shrink tube.
    Strip,
}

/// Whether a tag goes on before cutting or at termination.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Purpose {
    /// Goes on sideways before cutting.
    Work,
    /// Threads on a free end at termination.
    Final,
}

impl TagKind {
    /// All kinds, by the word that lists and settings use.
    pub const WORDS: [(&str, Self); 5] = [
        ("flag", Self::Flag),
        ("wrap", Self::Wrap),
        ("tie-on", Self::TieOn),
        ("sleeve", Self::Sleeve),
        ("strip", Self::Strip),
    ];

    /// What tags of this kind are for: those that go on sideways are work tags, those that thread on are final tags.
    pub const fn purpose(self) -> Purpose {
        match self {
            Self::Flag | Self::Wrap | Self::TieOn => Purpose::Work,
            Self::Sleeve | Self::Strip => Purpose::Final,
        }
    }

    /// Whether its print goes round the wire, so that a symbol turns away from the camera.
    pub const fn is_round(self) -> bool {
        match self {
            Self::Flag | Self::TieOn => false,
            Self::Wrap | Self::Sleeve | Self::Strip => true,
        }
    }

    /// The kind of this word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::WORDS.iter().find(|(known, _)| *known == word).map(|(_, kind)| *kind)
    }

    /// Its word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Flag => "flag",
            Self::Wrap => "wrap",
            Self::TieOn => "tie-on",
            Self::Sleeve => "sleeve",
            Self::Strip => "strip",
        }
    }
}

impl fmt::Display for TagKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

impl fmt::Display for Purpose {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Work => "work",
            Self::Final => "final",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_has_its_word() {
        for (word, kind) in TagKind::WORDS {
            assert_eq!(kind.to_string(), word);
        }
    }
}
