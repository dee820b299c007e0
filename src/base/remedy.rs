//! What to do about something, in words, with the means that do it: a command in a terminal, a page in a browser.
//!
//! A remedy is written once, for both. As a text it reads as the terminal has it; whoever shows pages asks for its [parts](Remedy::parts)
//! and puts the page in the place of the command.

use std::fmt;
use std::ops::{Deref, Range};

/// Where in a browser something is done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Page {
    /// Where tags are chosen to be printed.
    Print,
    /// The same, on new sheets alone.
    PrintOnNewSheets,
    /// Where sheets of labels are told of.
    Sheets,
    /// Blanks.
    Blanks,
    /// What is known of a circuit or end, by its code or mark: `7KF4`, `7KF4/A`.
    Record(String),
    /// Something that is done on such a page, and its name there.
    OnRecord(String, &'static str),
    /// The table of all ends.
    Circuits,
    /// What was decided beside the lists.
    Decided,
    /// The problems.
    Problems,
    /// The find box.
    Find,
    /// A button or field of the page that is looked at, by its name.
    Here(&'static str),
    /// Other words, or none, where a page has no such means.
    Words(&'static str),
    /// Nothing: it is done in a terminal alone.
    Terminal,
}

/// What to do about something.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Remedy {
    text: String,
    /// The stretches of the text that are a terminal's, in their order.
    means: Vec<(Range<usize>, Page)>,
}

/// A part of a remedy.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part<'r> {
    /// Words for everybody.
    Words(&'r str),
    /// What is done: as a terminal has it, and where in a browser.
    Means(&'r str, &'r Page),
}

impl Remedy {
    /// One that begins with a means, as a terminal has it, backticks included.
    pub fn by(terminal: impl AsRef<str>, page: Page) -> Self {
        Self::default().and_by(terminal, page)
    }

    /// With these words behind it.
    #[must_use]
    pub fn words(mut self, words: impl AsRef<str>) -> Self {
        self.text.push_str(words.as_ref());
        self
    }

    /// With a means behind it.
    #[must_use]
    pub fn and_by(mut self, terminal: impl AsRef<str>, page: Page) -> Self {
        let start = self.text.len();
        self.text.push_str(terminal.as_ref());
        self.means.push((start..self.text.len(), page));
        self
    }

    /// With another remedy behind it.
    #[must_use]
    pub fn and(mut self, other: &Self) -> Self {
        let start = self.text.len();
        self.text.push_str(&other.text);
        let moved = other.means.iter().map(|(range, page)| (range.start + start..range.end + start, page.clone()));
        self.means.extend(moved);
        self
    }

    /// Its parts, in their order.
    pub fn parts(&self) -> Vec<Part<'_>> {
        let (mut parts, mut at) = (Vec::new(), 0);
        for (range, page) in &self.means {
            parts.push(Part::Words(&self.text[at..range.start]));
            parts.push(Part::Means(&self.text[range.clone()], page));
            at = range.end;
        }
        parts.push(Part::Words(&self.text[at..]));
        parts.retain(|part| *part != Part::Words(""));
        parts
    }
}

/// The text, as a terminal has it.
impl Deref for Remedy {
    type Target = str;

    fn deref(&self) -> &str {
        &self.text
    }
}

impl fmt::Display for Remedy {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.text.fmt(f)
    }
}

impl From<&str> for Remedy {
    fn from(words: &str) -> Self {
        Self::default().words(words)
    }
}

impl From<String> for Remedy {
    fn from(text: String) -> Self {
        Self { text, means: Vec::new() }
    }
}

impl From<Remedy> for String {
    fn from(remedy: Remedy) -> Self {
        remedy.text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_remedy_is_one_text_and_knows_its_means() {
        let first = Remedy::from("put it right; ").and_by("`loomtag stock sheets`", Page::Sheets).words(" lists them");
        assert_eq!(&*first, "put it right; `loomtag stock sheets` lists them");
        let parts = first.parts();
        assert_eq!(parts[1], Part::Means("`loomtag stock sheets`", &Page::Sheets));
        assert_eq!((parts[0], parts[2]), (Part::Words("put it right; "), Part::Words(" lists them")));
        let both = Remedy::from("or ").and(&first);
        assert_eq!(both.parts()[1], parts[1]);
        assert_eq!(Remedy::from("nothing").parts(), [Part::Words("nothing")]);
    }
}
