//! What a tag can tell, field by field.

use std::fmt;

/// One thing that a tag can tell. Wording files name fields by [`Field::WORDS`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Field {
    /// What the circuit does; the short name of a connector.
    Function,
    /// This end's place.
    Here,
    /// The place of the wire's other end; the connector that a connector mates.
    There,
    /// The place it shall be moved to.
    Move,
    /// Where on the wire a mark sits: `359 mm from J1/14`.
    At,
    /// Colour and size; of several unlike wires each with its letter.
    Conductor,
    /// Colour alone.
    Colour,
    /// Conductor size alone.
    Size,
    /// The fuse.
    Fuse,
    /// How the circuit is fed.
    Supply,
    /// Length of the wire.
    Length,
    /// Partner of a twisted pair, or the screen of its cable.
    Partner,
    /// How many wires a connector holds.
    Wires,
    /// Designation of the circuit.
    Circuit,
    /// Leg of the harness.
    Branch,
    /// The list's own remark.
    Note,
    /// Title of the job.
    Job,
}

impl Field {
    /// All fields, by the word that wording files and messages use.
    pub const WORDS: [(&str, Self); 17] = [
        ("function", Self::Function),
        ("here", Self::Here),
        ("there", Self::There),
        ("move to", Self::Move),
        ("at", Self::At),
        ("conductor", Self::Conductor),
        ("colour", Self::Colour),
        ("size", Self::Size),
        ("fuse", Self::Fuse),
        ("supply", Self::Supply),
        ("length", Self::Length),
        ("with", Self::Partner),
        ("wires", Self::Wires),
        ("circuit", Self::Circuit),
        ("branch", Self::Branch),
        ("note", Self::Note),
        ("job", Self::Job),
    ];

    /// What the field is called in messages and wording files.
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(_, field)| *field == self).map_or("", |(word, _)| word)
    }

    /// Whether it names a place, which is never broken and may lose the blanks round its slash.
    pub const fn is_place(self) -> bool {
        matches!(self, Self::Here | Self::There | Self::Move)
    }
}

impl fmt::Display for Field {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_field_has_a_word_of_its_own() {
        for (word, field) in Field::WORDS {
            assert_eq!(field.word(), word);
        }
    }
}
