//! What a printer answers (RFC 8010), held to limits before a library reads it: the printer may be broken, or no printer.

use std::io::Cursor;

use ipp::attribute::IppAttributes;
use ipp::model::DelimiterTag;
use ipp::parser::IppParser;
use ipp::reader::IppReader;
use ipp::value::IppValue;

/// Most bytes of an answer. Printers that tell all of themselves send some 100 KiB.
pub(super) const MOST_BYTES: u64 = 1 << 20;
/// Collections within collections: `media-col` has two.
const DEEPEST: usize = 8;
/// Longest text of a printer that is shown.
const LONGEST_SHOWN: usize = 200;

/// An answer, taken apart.
#[derive(Clone, Debug)]
pub(super) struct Answer {
    /// `status-code` (RFC 8011, 4.1.6).
    pub(super) status: u16,
    attributes: IppAttributes,
}

impl Answer {
    /// Reads an answer; else why it is none.
    pub(super) fn read(bytes: Vec<u8>) -> Result<Self, String> {
        check(&bytes)?;
        let parser = IppParser::new(IppReader::new(Cursor::new(bytes)));
        let (header, attributes, _) = parser.parse_parts().map_err(|why| plain(&why.to_string()))?;
        Ok(Self { status: header.operation_or_status as u16, attributes })
    }

    /// All values of an attribute, also where its name or its group stands more than once.
    pub(super) fn values(&self, group: DelimiterTag, name: &str) -> Vec<&IppValue> {
        let groups = self.attributes.groups_of(group);
        let named = groups.flat_map(|group| group.attributes()).filter(|attribute| attribute.name().as_str() == name);
        named
            .flat_map(|attribute| match attribute.value() {
                IppValue::Array(values) => values.iter().collect(),
                value => vec![value],
            })
            .collect()
    }

    /// The values that are keywords, names or texts.
    pub(super) fn words(&self, group: DelimiterTag, name: &str) -> Vec<String> {
        self.values(group, name).into_iter().filter_map(word).collect()
    }

    /// The first value that is a number.
    pub(super) fn number(&self, group: DelimiterTag, name: &str) -> Option<i32> {
        self.values(group, name).into_iter().find_map(number)
    }

    /// What the printer says of a refusal, and the names of what it does not support.
    pub(super) fn refusal(&self) -> (Option<String>, Vec<String>) {
        let message = self.words(DelimiterTag::OperationAttributes, "status-message").into_iter().next();
        let groups = self.attributes.groups_of(DelimiterTag::UnsupportedAttributes);
        let mut names: Vec<String> = groups
            .flat_map(|group| group.attributes())
            .map(|attribute| plain(attribute.name().as_str()))
            .filter(|name| !name.is_empty())
            .collect();
        names.dedup();
        names.truncate(20);
        (message.map(|message| plain(&message)).filter(|message| !message.is_empty()), names)
    }
}

/// A keyword, name or text.
pub(super) fn word(value: &IppValue) -> Option<String> {
    match value {
        IppValue::Keyword(word) => Some(word.as_str().to_owned()),
        IppValue::NameWithoutLanguage(name) | IppValue::NameWithLanguage { name, .. } => Some(name.as_str().to_owned()),
        IppValue::TextWithoutLanguage(_) => Some(value.to_string()),
        IppValue::TextWithLanguage { text, .. } => Some(IppValue::TextWithoutLanguage(text.clone()).to_string()),
        IppValue::MimeMediaType(word) => Some(word.as_str().to_owned()),
        IppValue::Uri(word) => Some(word.as_str().to_owned()),
        _ => None,
    }
}

/// An `integer` or `enum`.
pub(super) const fn number(value: &IppValue) -> Option<i32> {
    match value {
        IppValue::Integer(number) | IppValue::Enum(number) => Some(*number),
        _ => None,
    }
}

/// A text of a printer as it may stand on a terminal: one line, no control signs, not without end.
pub(super) fn plain(text: &str) -> String {
    let signs = text.chars().map(|sign| if sign.is_control() { ' ' } else { sign });
    let text: String = signs.take(LONGEST_SHOWN).collect();
    text.trim().to_owned()
}

/// Walks over the values without keeping any, for what the library does not look at: collections within one another without end
/// would overflow the stack of whoever takes them apart by recursion, and a text with its language holds lengths of its own, which
/// must not lead beyond it (RFC 8010, 3.9).
fn check(bytes: &[u8]) -> Result<(), String> {
    const HEADER: usize = 8;
    const END_OF_ATTRIBUTES: u8 = 0x03;
    const BEGIN_COLLECTION: u8 = 0x34;
    const END_COLLECTION: u8 = 0x37;
    const WITH_LANGUAGE: [u8; 2] = [0x35, 0x36];
    let short = || "the answer breaks off".to_owned();
    let mut rest = bytes.get(HEADER..).ok_or_else(short)?;
    // A group that begins in the middle of a collection ends none: only their ends count.
    let mut depth = 0_usize;
    loop {
        let (tag, behind) = rest.split_first().ok_or_else(short)?;
        rest = behind;
        match *tag {
            END_OF_ATTRIBUTES => return Ok(()),
            0x00..=0x0f => {}
            tag => {
                let (_name, behind) = measured(rest).ok_or_else(short)?;
                let (value, behind) = measured(behind).ok_or_else(short)?;
                rest = behind;
                match tag {
                    BEGIN_COLLECTION => depth += 1,
                    END_COLLECTION => depth = depth.saturating_sub(1),
                    _ if WITH_LANGUAGE.contains(&tag) => {
                        let text = measured(value).and_then(|(_language, text)| measured(text));
                        text.ok_or("a text of its answer is not as long as it says")?;
                    }
                    _ => {}
                }
                if depth > DEEPEST {
                    return Err("its answer is nested without end".to_owned());
                }
            }
        }
    }
}

/// Bytes that stand behind their length, and what follows them.
fn measured(bytes: &[u8]) -> Option<(&[u8], &[u8])> {
    let (length, rest) = bytes.split_at_checked(2)?;
    rest.split_at_checked(usize::from(u16::from_be_bytes([length[0], length[1]])))
}
