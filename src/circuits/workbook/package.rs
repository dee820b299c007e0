//! Bytes -> parts: a workbook is a zip file of XML parts. What is really unpacked is measured, whatever the file declares,
//! and reading stops at [`MOST_UNPACKED`].

use std::cell::Cell;
use std::collections::HashMap;
use std::io::{self, BufReader, Cursor, Read};
use std::rc::Rc;

use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};
use zip::ZipArchive;
use zip::result::ZipError;

use crate::base::Problem;

/// Most bytes that are unpacked of one workbook.
pub(super) const MOST_UNPACKED: u64 = 256 * 1024 * 1024;
/// Most parts of a workbook; those of a thousand sheets with drawings and comments are a few thousand.
pub(super) const MOST_PARTS: usize = 20_000;
/// Most bytes of one tag, or of a text without tags in it; a cell of a workbook holds some 32,000 characters at most.
const LONGEST_EVENT: u64 = 8 * 1024 * 1024;
/// Bytes of a text from which on nothing is added to it: it is far too long for a cell by then.
const LONGEST_TEXT: usize = 1024 * 1024;
/// Most sheets of a workbook.
pub(super) const MOST_SHEETS: usize = 1_000;
/// Deepest nesting of elements; workbooks have some twenty.
const DEEPEST: usize = 200;

/// Why a workbook, or a sheet of it, is not read.
#[derive(Debug)]
pub(super) enum Trouble {
    /// It unpacks to more than [`MOST_UNPACKED`].
    TooBig,
    /// It has a password.
    Encrypted,
    /// It is broken; what is wrong.
    Damaged(String),
    /// It is beyond another limit.
    Beyond(Box<Problem>),
}

impl Trouble {
    pub(super) fn damaged(what: &str) -> Self {
        Self::Damaged(what.to_owned())
    }

    pub(super) fn too_many_sheets() -> Self {
        Self::Damaged(format!("it has more than {MOST_SHEETS} sheets"))
    }
}

impl From<ZipError> for Trouble {
    fn from(error: ZipError) -> Self {
        match error {
            ZipError::UnsupportedArchive(ZipError::PASSWORD_REQUIRED) | ZipError::InvalidPassword => Self::Encrypted,
            ZipError::CompressionMethodNotSupported(_) => Self::damaged("it is packed in a way that is not read"),
            _ => Self::damaged("the zip file is cut off or overwritten"),
        }
    }
}

/// A zip file with its parts.
pub(super) struct Package<'b> {
    archive: ZipArchive<Cursor<&'b [u8]>>,
    /// Index of each part by its name in small letters.
    parts: HashMap<String, usize>,
    /// Bytes that may still be unpacked.
    left: Rc<Cell<u64>>,
}

impl<'b> Package<'b> {
    pub(super) fn open(bytes: &'b [u8]) -> Result<Self, Trouble> {
        // Every part has an entry in the list at the end, which is read as a whole.
        let mut rest = bytes;
        let mut count = 0;
        while let Some(at) = find(rest, b"PK\x01\x02") {
            count += 1;
            rest = &rest[at + 4..];
        }
        if count > MOST_PARTS {
            return Err(Trouble::damaged("it has too many parts"));
        }
        let archive = ZipArchive::new(Cursor::new(bytes))?;
        let mut parts = HashMap::with_capacity(archive.len());
        for index in 0..archive.len() {
            if let Some(Ok(name)) = archive.name_for_index(index) {
                parts.entry(plain_name(&name)).or_insert(index);
            }
        }
        Ok(Self { archive, parts, left: Rc::new(Cell::new(MOST_UNPACKED)) })
    }

    pub(super) fn has(&self, name: &str) -> bool {
        self.parts.contains_key(&plain_name(name))
    }

    /// Opens a part; `None` where there is none of that name.
    pub(super) fn part(&mut self, name: &str) -> Result<Option<Part<'_>>, Trouble> {
        let Some(&index) = self.parts.get(&plain_name(name)) else { return Ok(None) };
        let file = self.archive.by_index(index)?;
        let (left, event_left) = (Rc::clone(&self.left), Rc::new(Cell::new(LONGEST_EVENT)));
        let measured = Measured { file: Box::new(file), left: Rc::clone(&left), event_left: Rc::clone(&event_left) };
        let mut reader = Reader::from_reader(BufReader::with_capacity(64 * 1024, measured));
        let config = reader.config_mut();
        config.check_end_names = false;
        config.check_comments = false;
        Ok(Some(Part { reader, left, event_left, buffer: Vec::with_capacity(1024), depth: 0 }))
    }

    /// The first bytes of a part.
    pub(super) fn start_of(&mut self, name: &str) -> Result<Option<Vec<u8>>, Trouble> {
        let Some(&index) = self.parts.get(&plain_name(name)) else { return Ok(None) };
        let mut start = Vec::new();
        let file = self.archive.by_index(index)?;
        file.take(100).read_to_end(&mut start).map_err(|_| Trouble::damaged("a part of it cannot be unpacked"))?;
        Ok(Some(start))
    }
}

fn find(bytes: &[u8], wanted: &[u8; 4]) -> Option<usize> {
    let mut from = 0;
    while let Some(at) = bytes[from..].iter().position(|byte| *byte == wanted[0]) {
        from += at;
        if bytes[from..].starts_with(wanted) {
            return Some(from);
        }
        from += 1;
    }
    None
}

/// Some writers begin names with a slash, write them with backslashes, or in other cases than they refer to them.
fn plain_name(name: &str) -> String {
    name.trim_start_matches('/').replace('\\', "/").to_lowercase()
}

/// A part as it is unpacked.
struct Measured<'p> {
    file: Box<dyn Read + 'p>,
    left: Rc<Cell<u64>>,
    event_left: Rc<Cell<u64>>,
}

impl Read for Measured<'_> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let count = self.file.read(into)?;
        for left in [&self.left, &self.event_left] {
            let still = left.get().checked_sub(count as u64);
            left.set(still.unwrap_or(0));
            if still.is_none() {
                return Err(io::Error::other("more than may be unpacked"));
            }
        }
        Ok(count)
    }
}

/// An XML part, read event by event.
pub(super) struct Part<'p> {
    reader: Reader<BufReader<Measured<'p>>>,
    left: Rc<Cell<u64>>,
    event_left: Rc<Cell<u64>>,
    buffer: Vec<u8>,
    depth: usize,
}

impl Part<'_> {
    /// The next event. An element without content comes as [`Event::Empty`].
    pub(super) fn next(&mut self) -> Result<Event<'_>, Trouble> {
        self.buffer.clear();
        self.event_left.set(LONGEST_EVENT);
        let (left, event_left) = (&self.left, &self.event_left);
        let event = self.reader.read_event_into(&mut self.buffer).map_err(|error| match error {
            _ if left.get() == 0 => Trouble::TooBig,
            _ if event_left.get() == 0 => Trouble::damaged("one of its texts is far too long"),
            quick_xml::Error::Io(_) => Trouble::damaged("a part of it cannot be unpacked"),
            _ => Trouble::damaged("a part of it is no XML"),
        })?;
        match event {
            Event::Start(_) => {
                self.depth += 1;
                if self.depth > DEEPEST {
                    return Err(Trouble::damaged("its elements are nested too deep"));
                }
            }
            Event::End(_) => self.depth = self.depth.saturating_sub(1),
            _ => {}
        }
        Ok(event)
    }

    /// Skips to the end of the element whose start was read last.
    pub(super) fn skip(&mut self) -> Result<(), Trouble> {
        let depth = self.depth;
        loop {
            let (is_end, is_all) = match self.next()? {
                Event::End(_) => (true, false),
                event => (false, matches!(event, Event::Eof)),
            };
            if is_all {
                return Err(Trouble::damaged("it ends too early"));
            }
            if is_end && self.depth < depth {
                return Ok(());
            }
        }
    }
}

/// The attributes of an element, entities in their values as they are.
pub(super) fn attributes<'e>(element: &'e BytesStart<'_>) -> impl Iterator<Item = (&'e str, &'e str)> {
    let mut rest = element.attributes_raw();
    std::iter::from_fn(move || {
        let (key, behind) = rest.split_once('=')?;
        let behind = behind.trim_start();
        let quote = behind.chars().next().filter(|quote| matches!(quote, '"' | '\''))?;
        let (value, behind) = behind[1..].split_once(quote)?;
        rest = behind;
        Some((key.trim(), value))
    })
}

/// A raw attribute by its full name.
pub(super) fn raw<'e>(element: &'e BytesStart<'_>, name: &str) -> Option<&'e str> {
    attributes(element).find(|(key, _)| *key == name).map(|(_, value)| value)
}

/// An attribute by its full name, its entities resolved.
pub(super) fn attribute(element: &BytesStart<'_>, name: &str) -> Option<String> {
    raw(element, name).map(|value| match quick_xml::escape::unescape(value) {
        Ok(value) => value.into_owned(),
        Err(_) => value.to_owned(),
    })
}

/// A whole number in an attribute.
pub(super) fn number(element: &BytesStart<'_>, name: &str) -> Option<u32> {
    raw(element, name)?.trim().parse().ok()
}

/// Adds the text of an event, if it has any.
pub(super) fn push_text(event: &Event<'_>, text: &mut String) {
    if text.len() > LONGEST_TEXT {
        return;
    }
    match event {
        Event::Text(part) => text.push_str(&part.xml10_content()),
        Event::CData(part) => text.push_str(&part.xml10_content()),
        Event::GeneralRef(part) => match part.resolve_char_ref() {
            Ok(Some(character)) => text.push(character),
            _ => match quick_xml::escape::resolve_predefined_entity(part) {
                Some(predefined) => text.push_str(predefined),
                None => {
                    text.push('&');
                    text.push_str(part);
                    text.push(';');
                }
            },
        },
        _ => {}
    }
}
