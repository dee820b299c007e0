//! Which lines stand on a tag of a kind, how they are set, and in which order they may be given up.
//!
//! In: a [`Label`], which holds all that is known. Out: its [`Line`]s as a [`Wording`] has them. Wordings come from TOML files
//! (`wording_file`): those of the program in `templates/wording`, a job's own in its folder.

use std::sync::Arc;

use super::field::Field;
use super::label::Label;
use super::line::{Line, Look, Worth};
use super::wording_file;
use crate::base::{Checked, Source};

/// What tags of a kind say, and how.
#[derive(Clone, Debug, PartialEq)]
pub struct Wording {
    // Written by `wording_file` alone, which checks them.
    pub(super) name: String,
    pub(super) symbol: SymbolWish,
    pub(super) faces: Faces,
    pub(super) lines: Vec<LineRule>,
}

/// What the symbol of a tag says.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum SymbolWish {
    /// What the job's payload settings have it say.
    #[default]
    Full,
    /// The code alone, so that the symbol is as small as can be.
    Code,
    /// There is none.
    None,
}

/// What stands on the two faces of a flag.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Faces {
    /// Whichever holds more.
    #[default]
    Any,
    /// The whole tag on both.
    Same,
    /// Words on one, symbol with code on the other.
    Split,
}

/// One line of a wording.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct LineRule {
    pub(super) fields: Vec<Field>,
    pub(super) look: Look,
    pub(super) worth: Worth,
    pub(super) shorten: Shorten,
    pub(super) unknown: Unknown,
}

/// Whether a line may lose words.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Shorten {
    /// From its end, word by word.
    ByWords,
    /// It is all or nothing.
    Never,
}

/// What stands in a line of which nothing is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Unknown {
    /// Nothing: there is no such line.
    LeftOut,
    /// A line to write on.
    Written,
}

/// The wordings that come with the program, by name.
const BUILTIN: [(&str, &str); 5] = [
    ("flat", include_str!("../../templates/wording/flat.toml")),
    ("round", include_str!("../../templates/wording/round.toml")),
    ("connector", include_str!("../../templates/wording/connector.toml")),
    ("along", include_str!("../../templates/wording/along.toml")),
    ("blank", include_str!("../../templates/wording/blank.toml")),
];

impl Wording {
    /// Reads a wording file. The value is withheld while errors stand; each problem points into the file.
    pub fn from_toml(source: &Arc<Source>) -> Checked<Option<Self>> {
        wording_file::read(source)
    }

    /// The wording of this name that comes with the program.
    pub fn builtin(name: &str) -> Option<Self> {
        let (name, text) = BUILTIN.iter().find(|(known, _)| *known == name)?;
        Self::from_toml(&Source::new(format!("{name}.toml"), *text)).value
    }

    /// The files of all wordings that come with the program: name and text.
    pub const fn builtins() -> &'static [(&'static str, &'static str)] {
        &BUILTIN
    }

    /// Its name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// What the symbol says.
    pub const fn symbol(&self) -> SymbolWish {
        self.symbol
    }

    /// What stands on the faces of a flag.
    pub const fn faces(&self) -> Faces {
        self.faces
    }

    /// The lines of a label, in the order in which they are printed. Lines of which nothing is known are left out, or are lines
    /// to write on.
    pub fn lines(&self, label: &Label) -> Vec<Line> {
        let line = |rule: &LineRule| {
            let parts = rule.fields.iter().flat_map(|&field| label.says(field));
            let (fields, look, worth) = (&rule.fields, rule.look.clone(), rule.worth);
            let known = match rule.shorten {
                Shorten::ByWords => Line::shortened_by_words(fields, look, worth, parts),
                Shorten::Never => Line::whole(fields, look, worth, parts),
            };
            known.or_else(|| {
                (rule.unknown == Unknown::Written).then(|| Line::to_write_on(fields, rule.look.clone(), worth))
            })
        };
        self.lines.iter().filter_map(line).collect()
    }

    /// What the symbol of a label says by this wording; `None` when there is none.
    pub fn payload<'l>(&self, label: &'l Label) -> Option<&'l str> {
        let full = label.payload.as_deref()?;
        match self.symbol {
            SymbolWish::Full => Some(full),
            SymbolWish::Code => Some(label.name.least()),
            SymbolWish::None => None,
        }
    }
}
