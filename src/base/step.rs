//! What is done and what is found at an end: the words of the bench.

use std::fmt;

/// A step of the work at an end.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Step {
    /// A tag hangs there.
    Tagged,
    /// Cut off its housing.
    Cut,
    /// Its terminal is out of the cavity.
    Pulled,
    /// It sits in another cavity.
    Moved,
    /// A new wire is in place.
    Added,
    /// Spliced longer.
    Extended,
    /// Spliced.
    Spliced,
    /// The cavity it left is closed with a plug.
    Sealed,
    /// The bare end is insulated.
    Capped,
    /// A new terminal is on it.
    Terminated,
    /// Tried: continuity, voltage, function.
    Tested,
    /// The tag that hung there is off.
    Untagged,
}

impl Step {
    /// All steps, in the order of the work.
    pub const ALL: [Self; 12] = [
        Self::Tagged,
        Self::Cut,
        Self::Pulled,
        Self::Moved,
        Self::Added,
        Self::Extended,
        Self::Spliced,
        Self::Sealed,
        Self::Capped,
        Self::Terminated,
        Self::Tested,
        Self::Untagged,
    ];

    /// It while it is still to be done, as one says it.
    pub const fn to_do(self) -> &'static str {
        match self {
            Self::Tagged => "tag",
            Self::Cut => "cut",
            Self::Pulled => "pull",
            Self::Moved => "move",
            Self::Added => "add",
            Self::Extended => "extend",
            Self::Spliced => "splice",
            Self::Sealed => "seal",
            Self::Capped => "cap",
            Self::Terminated => "terminate",
            Self::Tested => "test",
            Self::Untagged => "take the tag off",
        }
    }

    /// Its word, as the register keeps it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Tagged => "tagged",
            Self::Cut => "cut",
            Self::Pulled => "pulled",
            Self::Moved => "moved",
            Self::Added => "added",
            Self::Extended => "extended",
            Self::Spliced => "spliced",
            Self::Sealed => "sealed",
            Self::Capped => "capped",
            Self::Terminated => "terminated",
            Self::Tested => "tested",
            Self::Untagged => "untagged",
        }
    }

    /// The step of this word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|step| step.word() == word)
    }
}

impl fmt::Display for Step {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

/// A surprise at an end, against what the lists say.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Finding {
    /// The cavity is empty.
    Empty,
    /// The wire has this colour.
    Colour,
    /// The wire has this size.
    Size,
    /// The wire sits in this place.
    Place,
    /// Wire, seal or terminal is damaged.
    Damaged,
    /// A wire where the lists have none.
    Unlisted,
    /// Something else, in words.
    Other,
}

impl Finding {
    /// All findings.
    pub const ALL: [Self; 7] =
        [Self::Empty, Self::Colour, Self::Size, Self::Place, Self::Damaged, Self::Unlisted, Self::Other];

    /// Its word, as the register keeps it; empty where words alone tell.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Empty => "empty",
            Self::Colour => "colour",
            Self::Size => "size",
            Self::Place => "place",
            Self::Damaged => "damaged",
            Self::Unlisted => "unlisted",
            Self::Other => "",
        }
    }

    /// The finding of this word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|finding| finding.word() == word)
    }

    /// Whether it names something: which colour, size or place was found.
    pub const fn has_value(self) -> bool {
        matches!(self, Self::Colour | Self::Size | Self::Place)
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_read_back() {
        assert!(Step::ALL.iter().all(|step| Step::from_word(step.word()) == Some(*step)));
        assert!(Finding::ALL.iter().all(|finding| Finding::from_word(finding.word()) == Some(*finding)));
        assert_eq!((Step::from_word("done"), Finding::from_word("done")), (None, None));
    }
}
