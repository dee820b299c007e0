//! Bytes -> text: the first step of reading a list. In comes the file as it lies on disk, out goes its text as a
//! [`Source`] with line breaks that editors count, or the problem that says what to save it as.

use std::borrow::Cow;
use std::sync::Arc;

use encoding_rs::{Encoding, UTF_8, WINDOWS_1252};

use super::problems::{FILE_TOO_BIG, UNREADABLE_FILE};
use crate::base::{Origin, Problem, ProblemKind, Source};

/// Largest file that is read.
pub(super) const LARGEST_FILE: usize = 64 * 1024 * 1024;

/// First bytes of files that are not lists, and what they are.
const KNOWN_FILES: [(&[u8], &str); 3] = [(b"%PDF", "a PDF"), (b"\x89PNG", "a picture"), (b"\xFF\xD8\xFF", "a picture")];

/// Decodes a file: UTF-8 and UTF-16 by their byte order marks, UTF-8 without one, anything else as Windows-1252.
pub(super) fn decode(name: &str, bytes: &[u8]) -> Result<Arc<Source>, Box<Problem>> {
    let unreadable = |kind: &ProblemKind, what: String, remedy: &str| {
        Box::new(kind.says(what).at(Origin::whole(&Source::new(name, ""))).remedy(remedy))
    };
    const SAVE: &str = "save the list as CSV (comma separated, UTF-8) and name that file instead";
    if bytes.len() > LARGEST_FILE {
        let what = format!("`{name}` has more than {} MiB", LARGEST_FILE / 1024 / 1024);
        return Err(unreadable(&FILE_TOO_BIG, what, "split the list into several files"));
    }
    if let Some((_, kind)) = KNOWN_FILES.iter().find(|(start, _)| bytes.starts_with(start)) {
        return Err(unreadable(&UNREADABLE_FILE, format!("`{name}` is {kind}, not a list in text form"), SAVE));
    }
    let (encoding, mark) = Encoding::for_bom(bytes).unwrap_or((UTF_8, 0));
    let body = &bytes[mark..];
    let text = if encoding == UTF_8 {
        match std::str::from_utf8(body) {
            Ok(text) => Cow::Borrowed(text),
            Err(_) => WINDOWS_1252.decode_without_bom_handling(body).0,
        }
    } else {
        encoding.decode_without_bom_handling(body).0
    };
    if is_binary(&text) {
        return Err(unreadable(&UNREADABLE_FILE, format!("`{name}` is not text"), SAVE));
    }
    let text = text.trim_start_matches('\u{feff}');
    if text.trim().is_empty() {
        let remedy = "write a header line and one row for each cavity or wire, or take the list out of job.toml";
        return Err(unreadable(&UNREADABLE_FILE, format!("`{name}` is empty"), remedy));
    }
    // Lone carriage returns are line breaks to spreadsheets, and must be to the line numbers in messages.
    if text.contains('\r') && !text.contains('\n') {
        return Ok(Source::new(name, text.replace('\r', "\n")));
    }
    Ok(Source::new(name, text))
}

/// A NUL anywhere, or more than two control characters in a hundred at the start.
fn is_binary(text: &str) -> bool {
    let start = text.chars().take(8192);
    let (controls, all) = start.fold((0, 0), |(controls, all), character| {
        let is_odd = character.is_ascii_control() && !matches!(character, '\t' | '\n' | '\r' | '\u{b}' | '\u{c}');
        (controls + usize::from(is_odd), all + 1)
    });
    controls * 50 > all || text.as_bytes().contains(&0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(bytes: &[u8]) -> String {
        decode("ecu.csv", bytes).expect("readable").text().to_owned()
    }

    fn message(bytes: &[u8]) -> String {
        decode("ecu.csv", bytes).expect_err("not readable").message
    }

    #[test]
    fn encodings_of_the_same_text() {
        let wanted = "Länge;Ø\n";
        assert_eq!(text(wanted.as_bytes()), wanted);
        assert_eq!(text("\u{feff}Länge;Ø\n".as_bytes()), wanted);
        assert_eq!(text(b"L\xe4nge;\xd8\n"), wanted);
        let wide =
            |order: fn(u16) -> [u8; 2]| -> Vec<u8> { "\u{feff}Länge;Ø\n".encode_utf16().flat_map(order).collect() };
        assert_eq!(text(&wide(u16::to_le_bytes)), wanted);
        assert_eq!(text(&wide(u16::to_be_bytes)), wanted);
    }

    #[test]
    fn lone_carriage_returns_are_lines() {
        assert_eq!(text(b"a,b\rc,d\r"), "a,b\nc,d\n");
        assert_eq!(text(b"a,b\r\nc,d"), "a,b\r\nc,d");
    }

    #[test]
    fn what_is_no_list_says_what_it_is() {
        assert_eq!(message(b"%PDF-1.7"), "`ecu.csv` is a PDF, not a list in text form");
        assert_eq!(message(b""), "`ecu.csv` is empty");
        assert_eq!(message(b" \r\n\t\n"), "`ecu.csv` is empty");
        assert_eq!(message(b"a\0b\0"), "`ecu.csv` is not text");
        assert_eq!(message(&[1, 2, 3, 4, 5]), "`ecu.csv` is not text");
        assert!(message(&vec![b'a'; LARGEST_FILE + 1]).contains("64 MiB"));
    }
}
