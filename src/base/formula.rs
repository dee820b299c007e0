//! Texts that a spreadsheet would take for formulas, and the apostrophe by which it takes them for texts: `=A1`, which designations
//! may begin with, is written `'=A1`.
//!
//! OWASP, "CSV Injection" (owasp.org/www-community/attacks/CSV_Injection), names what may begin a formula, and warns that a separator
//! within a text may begin another cell where the file is opened with other settings.

use std::borrow::Cow;

/// What marks the text behind it as a text.
pub const MARK: char = '\'';

/// Whether a formula may begin with this.
pub const fn may_begin(character: char) -> bool {
    matches!(character, '=' | '+' | '-' | '@' | '＝' | '＋' | '－' | '＠')
}

/// A text as it may stand in a cell of a file with commas: marked at its start, and behind the other separators of spreadsheets.
pub fn marked(text: &str) -> Cow<'_, str> {
    if !text.contains(may_begin) {
        return Cow::Borrowed(text);
    }
    let mut marked = String::with_capacity(text.len() + 1);
    let mut begins = true;
    for character in text.chars() {
        if begins && may_begin(character) {
            marked.push(MARK);
        }
        marked.push(character);
        begins = matches!(character, ';' | '|' | '\t' | '\r' | '\n')
            || (begins && matches!(character, ' ' | '\u{a0}' | '"'));
    }
    Cow::Owned(marked)
}

/// The text of a cell: an apostrophe at its start that marks a formula as a text is not part of it.
pub fn unmarked(cell: &str) -> &str {
    match cell.strip_prefix(MARK) {
        Some(text) if text.starts_with(may_begin) => text,
        _ => cell,
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn formulas_are_marked_as_texts() {
        for (text, cell) in [
            ("rail pressure", "rail pressure"),
            ("12-14", "12-14"),
            ("=A1-X1", "'=A1-X1"),
            ("+12 V", "'+12 V"),
            ("-", "'-"),
            ("＝1", "'＝1"),
            ("'tis", "'tis"),
            ("it's -", "it's -"),
            ("see A, -X1", "see A, -X1"),
        ] {
            assert_eq!(marked(text), cell);
            assert_eq!(unmarked(cell), text);
        }
        assert_eq!(marked("x; =1"), "x; '=1");
        assert_eq!(unmarked("'A'"), "'A'");
    }

    proptest! {
        #[test]
        fn no_cell_begins_a_formula_and_texts_come_back(text in "[-=+@'\";,| \t1a＝]{0,16}") {
            let cell = marked(&text);
            for separator in [';', '|', '\t'] {
                for part in cell.split(separator) {
                    prop_assert!(!part.trim_start_matches([' ', '"']).starts_with(may_begin), "{cell:?}");
                }
            }
            let plain = text.trim_start_matches([' ', '"']);
            if !text.contains([';', '|', '\t', '\'']) && plain == text {
                prop_assert_eq!(unmarked(&cell), &text);
            }
        }
    }
}
