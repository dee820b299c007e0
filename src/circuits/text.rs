//! Bytes -> text: the first step of reading a list. In comes the file as it lies on disk, out goes its text as a
//! [`Source`] with line breaks that editors count, or the problem that says what to save it as.

use std::borrow::Cow;
use std::sync::Arc;

use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};

use super::problems::{FILE_TOO_BIG, UNREADABLE_FILE};
use crate::base::{Origin, Problem, ProblemKind, Source};

/// Largest list that is read, in bytes.
pub const LARGEST_FILE: usize = 64 << 20;

/// First bytes of files that are not lists, and what they are.
const KNOWN_FILES: [(&[u8], &str); 3] = [(b"%PDF", "a PDF"), (b"\x89PNG", "a picture"), (b"\xFF\xD8\xFF", "a picture")];

/// Decodes a file: UTF-8 and UTF-16 by their byte order marks, UTF-16 without one by its zero bytes, UTF-8 without one,
/// anything else as Windows-1252.
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
    let (encoding, mark) = encoding(bytes);
    let body = &bytes[mark..];
    let text = match std::str::from_utf8(body) {
        Ok(text) if encoding == UTF_8 => Cow::Borrowed(text),
        _ => encoding.decode_without_bom_handling(body).0,
    };
    if is_binary(&text) {
        return Err(unreadable(&UNREADABLE_FILE, format!("`{name}` is not text"), SAVE));
    }
    let text = text.trim_start_matches('\u{feff}');
    if text.trim().is_empty() {
        let remedy = "write a header line and one row for each cavity or wire, or take the list out of job.toml";
        return Err(unreadable(&UNREADABLE_FILE, format!("`{name}` is empty"), remedy));
    }
    Ok(Source::new(name, with_counted_lines(text).as_ref()))
}

/// How the bytes of a file are text, and how many of them are its byte order mark.
pub(super) fn encoding(bytes: &[u8]) -> (&'static Encoding, usize) {
    if let Some(marked) = Encoding::for_bom(bytes) {
        return marked;
    }
    if let Some(encoding) = unmarked_utf_16(bytes) {
        return (encoding, 0);
    }
    let is_utf_8 = std::str::from_utf8(bytes).is_ok();
    (if is_utf_8 { UTF_8 } else { WINDOWS_1252 }, 0)
}

/// UTF-16 without a byte order mark: most characters of a list are Latin, separators and digits always, so that every other
/// byte is mostly zero and the bytes between them hardly ever.
fn unmarked_utf_16(bytes: &[u8]) -> Option<&'static Encoding> {
    const LOOKED_AT: usize = 4096;
    let start = bytes.get(..LOOKED_AT).unwrap_or(bytes);
    let pairs = start.len() / 2;
    if !bytes.len().is_multiple_of(2) || pairs < 8 {
        return None;
    }
    let zeros = |first: usize| start.iter().skip(first).step_by(2).filter(|byte| **byte == 0).count();
    let is_half = |zeros: usize| zeros * 2 >= pairs;
    match (zeros(0), zeros(1)) {
        (0, high) if is_half(high) => Some(UTF_16LE),
        (high, 0) if is_half(high) => Some(UTF_16BE),
        _ => None,
    }
}

/// A carriage return without a line feed is a line break to spreadsheets, and so it must be to the line numbers in messages.
fn with_counted_lines(text: &str) -> Cow<'_, str> {
    let is_lone = |at: usize| text.as_bytes().get(at + 1) != Some(&b'\n');
    if !text.match_indices('\r').any(|(at, _)| is_lone(at)) {
        return Cow::Borrowed(text);
    }
    let counted = text.char_indices().map(|(at, c)| if c == '\r' && is_lone(at) { '\n' } else { c });
    Cow::Owned(counted.collect())
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
        for order in [u16::to_le_bytes, u16::to_be_bytes] {
            let bytes = wide(order);
            assert_eq!(text(&bytes[2..]), wanted, "without a byte order mark");
        }
    }

    #[test]
    fn lone_carriage_returns_are_lines() {
        assert_eq!(text(b"a,b\rc,d\r"), "a,b\nc,d\n");
        assert_eq!(text(b"a,b\r\nc,d"), "a,b\r\nc,d");
        assert_eq!(text(b"a,b\rc,d\r\n\"e\rf\"\n\r"), "a,b\nc,d\r\n\"e\nf\"\n\n");
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
