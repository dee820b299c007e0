//! What a path names: typed by hand or scanned, it comes in as text; a code and letters go out.

use crate::base::code::NotACode;
use crate::base::{EndLetter, TagCode};

/// A code, and the ends that are meant; none: the circuit as a whole.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Named {
    pub code: TagCode,
    pub letters: Vec<EndLetter>,
}

impl Named {
    /// As a path: `7KF4/A+B`.
    pub fn path(&self) -> String {
        path(self.code.as_str(), self.letters.iter().map(ToString::to_string))
    }
}

/// `/7KF4/A+B` of a code and letters.
pub fn path(code: &str, letters: impl IntoIterator<Item = String>) -> String {
    let letters: Vec<String> = letters.into_iter().collect();
    if letters.is_empty() { format!("/{code}") } else { format!("/{code}/{}", letters.join("+")) }
}

/// Reads `7KF4`, `7kf4/a`, `7KF4.A`, `7KF4 A+B`, and `7KF4 A-B` as a mark along a wire has it, which names the circuit.
pub fn named(typed: &str) -> Result<Named, NotACode> {
    let typed = typed.trim_matches(|c: char| c.is_whitespace() || c == '/');
    // `A-B` behind a code would make a longer code of it, always with a fitting check character (3 · 7 + 8 = 29): marks go first.
    let separators = typed.char_indices().filter(|(_, c)| c.is_whitespace() || "/-.".contains(*c));
    for (at, separator) in separators {
        let (Ok(code), rest) = (TagCode::from_typed(&typed[..at]), &typed[at + separator.len_utf8()..]) else {
            continue;
        };
        let letters: Option<Vec<EndLetter>> = rest.split('+').map(EndLetter::from_typed).collect();
        if let Some(letters) = letters.filter(|letters| letters.len() > 1) {
            return Ok(Named { code, letters });
        }
        let is_mark = |(one, other): (&str, &str)| {
            EndLetter::from_typed(one).is_some() && (other.is_empty() || EndLetter::from_typed(other).is_some())
        };
        if rest.split_once('-').is_some_and(is_mark) {
            return Ok(Named { code, letters: Vec::new() });
        }
    }
    TagCode::from_typed_with_letter(typed).map(|(code, letter)| Named { code, letters: letter.into_iter().collect() })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn codes_and_letters_however_they_are_typed() {
        let read = |typed: &str| named(typed).map(|named| named.path()).unwrap_or_default();
        for typed in ["7KF4", "7kf4", "7KF4/", " 7kf-4", "7KF4/A-B", "7KF4 A-"] {
            assert_eq!(read(typed), "/7KF4", "{typed}");
        }
        for typed in ["7KF4/A", "7kf4-a", "7KF4.A", "7kf4 a", "7KF4/a/"] {
            assert_eq!(read(typed), "/7KF4/A", "{typed}");
        }
        assert_eq!(read("7kf4/a+b"), "/7KF4/A+B");
        assert_eq!(read("7KF4 A+B"), "/7KF4/A+B");
        for wrong in ["7KF5", "pump", "", "7KF4/what"] {
            assert_eq!(read(wrong), "", "{wrong}");
        }
    }

    proptest! {
        #[test]
        fn whatever_is_typed_is_read_or_refused(typed in "(7KF4|[a-z0-9]{0,3})[-/. +]{0,2}.{0,6}") {
            if let Ok(read) = named(&typed) {
                prop_assert_eq!(named(&read.path()), Ok(read));
            }
        }
    }
}
