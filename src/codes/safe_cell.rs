//! Texts that a spreadsheet takes for texts: what it would run as a formula gets an apostrophe in front, and loses it again
//! when it is read back.
//!
//! OWASP, "CSV Injection" (owasp.org/www-community/attacks/CSV_Injection), names what may begin a formula: `=`, `+`, `-`,
//! `@`, tab, carriage return, line feed and the full-width forms of the first four; and warns that a separator or quote within
//! a text may begin another cell where the file is opened with other settings. So a text is looked at from its start and
//! behind every separator, through spaces and quotes. An apostrophe that stands there already is doubled, which makes the
//! change reversible. NUL is in the list of ASVS 5.0, 1.2.10.

use crate::base::formula::{self, MARK};

/// Whether a formula may begin with this.
const fn may_begin_formula(character: char) -> bool {
    formula::may_begin(character) || matches!(character, '\t' | '\r' | '\n' | '\0')
}

/// Whether a cell may begin behind this, in a spreadsheet of whatever settings.
const fn may_separate(character: char) -> bool {
    matches!(character, ',' | ';' | '|' | '\t' | '\r' | '\n')
}

/// Whether a cell may begin behind a character, given whether one may begin before it.
const fn may_begin_behind(character: char, may_begin: bool) -> bool {
    may_separate(character) || (may_begin && matches!(character, ' ' | '\u{a0}' | '"'))
}

/// A text as it may stand in a cell.
pub(super) fn guarded(text: &str) -> String {
    let mut guarded = String::with_capacity(text.len());
    let mut may_begin = true;
    for character in text.chars() {
        if may_begin && (may_begin_formula(character) || character == MARK) {
            guarded.push(MARK);
        }
        guarded.push(character);
        may_begin = may_begin_behind(character, may_begin);
    }
    guarded
}

/// The text that a cell stands for.
pub(super) fn bare(cell: &str) -> String {
    let mut text = String::with_capacity(cell.len());
    let mut may_begin = true;
    let mut characters = cell.chars();
    while let Some(mut character) = characters.next() {
        if may_begin && character == MARK {
            match characters.next() {
                Some(behind) => character = behind,
                None => break,
            }
        }
        text.push(character);
        may_begin = may_begin_behind(character, may_begin);
    }
    text
}

/// The empty text, where an empty cell would stand for nothing.
pub(super) const EMPTY: &str = "'";

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn formulas_get_an_apostrophe() {
        for (text, cell) in [
            ("rail pressure", "rail pressure"),
            ("J1/14", "J1/14"),
            ("12-14", "12-14"),
            ("=1+2", "'=1+2"),
            ("+12 V", "'+12 V"),
            ("-", "'-"),
            ("@SUM(A1)", "'@SUM(A1)"),
            ("\t=1", "'\t'=1"),
            ("\r\nx", "'\r'\nx"),
            ("  =1", "  '=1"),
            ("\"=1", "\"'=1"),
            ("＝1", "'＝1"),
            ("'tis", "''tis"),
            ("it's", "it's"),
            ("x;=1,-2\n@3", "x;'=1,'-2\n'@3"),
            ("", ""),
        ] {
            assert_eq!(guarded(text), cell);
            assert_eq!(bare(cell), text);
        }
        assert_eq!(bare(EMPTY), "");
    }

    proptest! {
        /// Two examples of the OWASP page are among what is tried: whatever the separator, no cell begins a formula.
        #[test]
        fn any_text_comes_back_and_no_cell_begins_a_formula(text in "[-=+@'\";,| \t\r\na1＝]{0,20}|\\PC{0,20}") {
            let cell = guarded(&text);
            prop_assert_eq!(bare(&cell), text);
            for separator in [',', ';', '|', '\t', '\n'] {
                for part in cell.split(separator).skip(usize::from(cell.is_empty())) {
                    let part = part.trim_start_matches([' ', '"']);
                    prop_assert!(!part.starts_with(['=', '+', '-', '@', '＝', '＋', '－', '＠']), "{:?}", cell);
                }
            }
        }

        #[test]
        fn any_cell_is_read(cell in "['=;, \"a]{0,12}") {
            let _ = bare(&cell);
        }
    }
}
