//! The text inside the symbol, made from code and letters or from a connector's name, and read back from what a scanner says.
//!
//! Everything is upper case: the alphanumeric mode of ISO/IEC 18004 (digits, `A`-`Z`, space and `$%*+-./:`) packs two
//! characters into 11 bits, so that `HTTP://TAGS.EXAMPLE/7KF4/A` fits a small symbol. Scheme and host do not mind
//! (RFC 3986, 3.1 and 3.2.2); whatever answers at the address must not mind the case of the path either.

use std::fmt;

use thiserror::Error;

use crate::base::{ConnectorId, EndLetter, TagCode};

/// What stands before a connector's name in a link, where the code of a circuit would: no code is that short.
const CONNECTOR: &str = "C";

/// What the symbols of a job carry.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Payload {
    /// A link under an address that lasts: `HTTP://TAGS.EXAMPLE/7KF4/A`.
    Link {
        /// The address.
        base: LinkBase,
    },
    /// Short text that any phone shows without network, the code first: `7KF4 A RAIL PRESSURE SIG J1/14-X3/2`.
    Text,
    /// The code and its letters alone: `7KF4 A`.
    Code,
}

impl Payload {
    /// The text of the symbol. `letters` are those on the tag; a link names the first one. `phrases` are the words for
    /// [`Payload::Text`], the function first, then the places: from the end of the first phrase words are left out until the
    /// whole has at most `limit` characters, then whole phrases. The code is always there, whatever the limit.
    pub fn text(&self, code: TagCode, letters: &[EndLetter], phrases: &[&str], limit: usize) -> String {
        match self {
            Self::Link { base } => match letters.first() {
                Some(letter) => format!("{base}/{code}/{letter}"),
                None => format!("{base}/{code}"),
            },
            Self::Text => with_words(name(code, letters), before_words(letters), phrases, limit),
            Self::Code => name(code, letters),
        }
    }

    /// The text of the symbol of a mark along a wire, between ends of these letters: `HTTP://TAGS.EXAMPLE/7KF4`, or as
    /// [`Payload::text`] has it with `7KF4 A-B` for a name. It names the circuit and none of its ends.
    pub fn mark_text(&self, code: TagCode, letters: &[EndLetter], phrases: &[&str], limit: usize) -> String {
        let name = format!("{code} {}", between(letters)).trim_end().to_owned();
        match self {
            Self::Link { .. } => self.text(code, &[], &[], limit),
            Self::Text => with_words(name, before_words(letters), phrases, limit),
            Self::Code => name,
        }
    }

    /// The text of a connector's symbol: `HTTP://TAGS.EXAMPLE/C/J1`, `J1: ENGINE CONTROL UNIT`, or `J1`. `phrases` and `limit`
    /// are those of [`Payload::text`]; the name is always whole.
    pub fn connector_text(&self, connector: &ConnectorId, phrases: &[&str], limit: usize) -> String {
        let name = connector.as_str().to_uppercase();
        match self {
            Self::Link { base } => format!("{base}/{CONNECTOR}/{}", percent_encoded(&name)),
            Self::Text => with_words(format!("{name}:"), " ", phrases, limit),
            Self::Code => name,
        }
    }
}

/// `7KF4 A+B`, or `7KF4`.
fn name(code: TagCode, letters: &[EndLetter]) -> String {
    let letters: Vec<String> = letters.iter().map(ToString::to_string).collect();
    format!("{code} {}", letters.join("+")).trim_end().to_owned()
}

/// Letters of the ends of a wire, on a mark between them: `A-B`, or `A-` while the other end is not known.
pub fn between(letters: &[EndLetter]) -> String {
    match letters {
        [only] => format!("{only}-"),
        _ => letters.iter().map(ToString::to_string).collect::<Vec<_>>().join("-"),
    }
}

/// Whether the second word is the lettering of a mark along a wire: `7KF4 A-B`, `7KF4 A-`.
pub fn names_mark(text: &str) -> bool {
    let letters = text.split_whitespace().nth(1).and_then(|letters| letters.split_once('-'));
    let is_letter = |letter| EndLetter::from_typed(letter).is_some();
    letters.is_some_and(|(first, other)| is_letter(first) && (other.is_empty() || is_letter(other)))
}

/// A text as one segment of a path (RFC 3986, 2.1 and 3.3), in the characters of the alphanumeric mode.
fn percent_encoded(text: &str) -> String {
    let is_plain = |byte: u8| byte.is_ascii_uppercase() || byte.is_ascii_digit() || b"$*+-.:".contains(&byte);
    let encoded = |byte: u8| if is_plain(byte) { char::from(byte).to_string() } else { format!("%{byte:02X}") };
    text.bytes().map(encoded).collect()
}

/// The text of a segment of a path; `None` when it was not encoded as one.
fn percent_decoded(segment: &str) -> Option<String> {
    let mut bytes = Vec::with_capacity(segment.len());
    let mut rest = segment.as_bytes();
    while let Some((&first, after)) = rest.split_first() {
        if first == b'%' {
            let digits = after.get(..2).and_then(|digits| std::str::from_utf8(digits).ok())?;
            bytes.push(u8::from_str_radix(digits, 16).ok()?);
            rest = &after[2..];
        } else {
            bytes.push(first);
            rest = after;
        }
    }
    String::from_utf8(bytes).ok()
}

/// What stands between a name and its words: a dash keeps the first word from being read as an end letter where there is none.
const fn before_words(letters: &[EndLetter]) -> &'static str {
    if letters.is_empty() { " - " } else { " " }
}

fn with_words(name: String, between: &str, phrases: &[&str], limit: usize) -> String {
    let mut phrases: Vec<Vec<String>> = phrases
        .iter()
        .map(|phrase| phrase.to_uppercase().split_whitespace().map(str::to_owned).collect::<Vec<_>>())
        .filter(|words| !words.is_empty())
        .collect();
    loop {
        let words = phrases.concat().join(" ");
        if words.is_empty() {
            return name;
        }
        let text = format!("{name}{between}{words}");
        if text.chars().count() <= limit {
            return text;
        }
        match phrases.first_mut() {
            Some(first) if first.len() > 1 => drop(first.pop()),
            _ => drop(phrases.pop()),
        }
    }
}

/// The address under which a job's tags are found, in upper case and without a slash at its end.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LinkBase(String);

/// Why a text cannot be the address that links begin with.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum NotABase {
    /// Neither `http://` nor `https://` begins it.
    #[error("`{typed}` does not begin with `http://` or `https://`")]
    Scheme {
        /// What was typed.
        typed: String,
    },
    /// No host, or one that is not written as RFC 1123 has it.
    #[error("`{host}` is not a host name")]
    Host {
        /// What stands there.
        host: String,
    },
    /// A port that is no number from 1 to 65535.
    #[error("`{port}` is not a port")]
    Port {
        /// What stands there.
        port: String,
    },
    /// User name, query or fragment, which have no place before the code.
    #[error("`{character}` has no place in the address of tags")]
    Part {
        /// The sign that begins that part.
        character: char,
    },
    /// It ends where the name of a connector would begin.
    #[error("an address of tags cannot end in `/{CONNECTOR}`, behind which the names of connectors stand")]
    Connector,
    /// A character that would make every symbol larger.
    #[error("`{character}` is not among the characters that keep a symbol small")]
    Character {
        /// The character.
        character: char,
    },
}

impl NotABase {
    /// What to type instead, as one short sentence.
    pub fn remedy(&self) -> &'static str {
        match self {
            Self::Scheme { .. } => "type the whole address, such as `http://tags.example`",
            Self::Host { .. } => "use letters, digits, `-` and `.`; write a name with other letters in its `xn--` form",
            Self::Port { .. } => "leave it out, or type a number from 1 to 65535",
            Self::Connector => "let it end otherwise, or leave the last part out",
            Self::Part { .. } => "leave out user names, `?` and `#`: the code is added at the end of the address",
            Self::Character { .. } => "use letters, digits, `-`, `.`, `/` and `:` only",
        }
    }
}

impl LinkBase {
    /// Reads the address as job.toml has it; it is upper-cased whole, and slashes at its end do not matter.
    ///
    /// # Errors
    /// When it is no web address, or holds what would make the symbols larger.
    pub fn from_typed(typed: &str) -> Result<Self, NotABase> {
        let typed = typed.trim();
        let upper = typed.to_uppercase();
        let rest = ["HTTP://", "HTTPS://"].iter().find_map(|scheme| upper.strip_prefix(scheme));
        let rest = rest.ok_or_else(|| NotABase::Scheme { typed: typed.to_owned() })?;
        if let Some(character) = rest.chars().find(|c| matches!(c, '?' | '#' | '@')) {
            return Err(NotABase::Part { character });
        }
        let authority = rest.split('/').next().unwrap_or_default();
        let (host, port) = match authority.split_once(':') {
            Some((host, port)) => (host, Some(port)),
            None => (authority, None),
        };
        // RFC 1123, 2.1: labels of letters, digits and hyphens, none of which begins or ends with a hyphen.
        let is_label = |label: &str| {
            let is_inside = |c: char| c.is_ascii_alphanumeric() || c == '-';
            (1..=63).contains(&label.len())
                && label.chars().all(is_inside)
                && !label.starts_with('-')
                && !label.ends_with('-')
        };
        if host.len() > 253 || !host.split('.').all(is_label) {
            return Err(NotABase::Host { host: host.to_owned() });
        }
        if let Some(port) = port
            && (!port.bytes().all(|b| b.is_ascii_digit()) || port.parse::<u16>().unwrap_or(0) == 0)
        {
            return Err(NotABase::Port { port: port.to_owned() });
        }
        if let Some(character) = upper.chars().find(|&c| !is_alphanumeric(c) || c == ' ') {
            return Err(NotABase::Character { character });
        }
        let base = upper.trim_end_matches('/');
        if rest.contains('/') && base.ends_with(&format!("/{CONNECTOR}")) {
            return Err(NotABase::Connector);
        }
        Ok(Self(base.to_owned()))
    }
}

impl fmt::Display for LinkBase {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

/// Whether the alphanumeric mode has this character (ISO/IEC 18004, table 5).
pub const fn is_alphanumeric(character: char) -> bool {
    matches!(character, '0'..='9' | 'A'..='Z' | ' ' | '$' | '%' | '*' | '+' | '-' | '.' | '/' | ':')
}

/// What a scanned text names.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Meaning {
    /// A circuit by its code, and perhaps one of its ends.
    Circuit(TagCode, Option<EndLetter>),
    /// A connector, in whatever case the symbol has it.
    Connector(ConnectorId),
}

impl Meaning {
    /// Code and letter, where it is a circuit.
    pub fn circuit(self) -> Option<(TagCode, Option<EndLetter>)> {
        match self {
            Self::Circuit(code, letter) => Some((code, letter)),
            Self::Connector(_) => None,
        }
    }
}

/// What a scanner read, of all kinds of payload: a code with a fitting check character and perhaps a letter, or a connector's
/// name where it stands in a link or before a colon; `None` when nothing of the kind stands where it should. Case, white
/// space, slashes at the end, a query or a fragment do not matter.
pub fn from_scanned(text: &str) -> Option<Meaning> {
    let text = text.trim();
    match text.split_once("://") {
        Some((_, address)) => from_link(address),
        None => from_words(text).map(|(code, letter)| Meaning::Circuit(code, letter)).or_else(|| before_colon(text)),
    }
}

/// The last parts of an address behind its host: a code, a code and a letter, or a connector.
fn from_link(address: &str) -> Option<Meaning> {
    let path = address.split(['?', '#']).next().unwrap_or_default();
    let parts: Vec<&str> = path.split('/').map(str::trim).filter(|part| !part.is_empty()).skip(1).collect();
    if let [.., before, last] = parts.as_slice() {
        if before.eq_ignore_ascii_case(CONNECTOR) {
            return ConnectorId::from_cell(&percent_decoded(last)?).map(Meaning::Connector);
        }
        if let Some(letter) = EndLetter::from_typed(last)
            && let Some(code) = whole_code(before)
            && whole_code(last).is_none()
        {
            return Some(Meaning::Circuit(code, Some(letter)));
        }
    }
    whole_code(parts.last()?).map(|code| Meaning::Circuit(code, None))
}

/// `J1: ENGINE CONTROL UNIT`, or `J1:`.
fn before_colon(text: &str) -> Option<Meaning> {
    let (name, _) = text.split_once(": ").or_else(|| text.strip_suffix(':').map(|name| (name, "")))?;
    ConnectorId::from_cell(name).map(Meaning::Connector)
}

/// The first word is the code; the second its letters, or nothing of the kind.
fn from_words(text: &str) -> Option<(TagCode, Option<EndLetter>)> {
    let mut words = text.split_whitespace();
    let first = words.next()?;
    let Ok((code, letter)) = TagCode::from_typed_with_letter(first) else {
        return TagCode::from_typed_with_letter(text).ok();
    };
    let second = words.next().and_then(|word| word.split('+').next()).and_then(EndLetter::from_typed);
    Some((code, letter.or(second)))
}

fn whole_code(part: &str) -> Option<TagCode> {
    part.chars().all(char::is_alphanumeric).then(|| TagCode::from_typed(part).ok()).flatten()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::codes::mint;
    use proptest::prelude::*;

    fn base(typed: &str) -> LinkBase {
        LinkBase::from_typed(typed).expect("an address")
    }

    fn code() -> TagCode {
        TagCode::from_typed("7KF4").expect("a code")
    }

    const A: EndLetter = EndLetter::FIRST;
    const B: EndLetter = EndLetter::nth(1);

    #[test]
    fn the_design_examples() {
        let link = Payload::Link { base: base("http://tags.example/") };
        assert_eq!(link.text(code(), &[A], &[], 0), "HTTP://TAGS.EXAMPLE/7KF4/A");
        assert_eq!(link.text(code(), &[A, B], &[], 0), "HTTP://TAGS.EXAMPLE/7KF4/A");
        assert_eq!(link.text(code(), &[], &[], 0), "HTTP://TAGS.EXAMPLE/7KF4");
        let words = ["rail pressure sig", "J1/14-X3/2"];
        assert_eq!(Payload::Text.text(code(), &[A], &words, 38), "7KF4 A RAIL PRESSURE SIG J1/14-X3/2");
        assert_eq!(Payload::Code.text(code(), &[A, B], &words, 38), "7KF4 A+B");
    }

    #[test]
    fn words_are_left_out_whole() {
        let text = |limit| Payload::Text.text(code(), &[A], &["rail pressure sig", "J1/14-X3/2"], limit);
        assert_eq!(text(34), "7KF4 A RAIL PRESSURE J1/14-X3/2");
        assert_eq!(text(30), "7KF4 A RAIL J1/14-X3/2");
        assert_eq!(text(21), "7KF4 A RAIL");
        assert_eq!(text(10), "7KF4 A");
        assert_eq!(text(0), "7KF4 A");
        assert_eq!(Payload::Text.text(code(), &[], &["fan relay"], 38), "7KF4 - FAN RELAY");
    }

    #[test]
    fn addresses_that_would_not_work_say_why() {
        assert!(matches!(LinkBase::from_typed("tags.example"), Err(NotABase::Scheme { .. })));
        assert!(matches!(LinkBase::from_typed("ftp://tags.example"), Err(NotABase::Scheme { .. })));
        for host in ["http://", "http:///x", "http://-a.example", "http://ä.example", "http://a..b", "http://[::1]"] {
            assert!(matches!(LinkBase::from_typed(host), Err(NotABase::Host { .. })), "{host}");
        }
        for port in ["http://a:", "http://a:0", "http://a:70000", "http://a:+7", "http://a:80:90"] {
            assert!(matches!(LinkBase::from_typed(port), Err(NotABase::Port { .. })), "{port}");
        }
        for part in ["http://a/?q", "http://a/#x", "http://me@a/"] {
            assert!(matches!(LinkBase::from_typed(part), Err(NotABase::Part { .. })), "{part}");
        }
        for character in ["http://a/~me", "http://a/my_boat", "http://a/a b", "http://a/ä"] {
            assert!(matches!(LinkBase::from_typed(character), Err(NotABase::Character { .. })), "{character}");
        }
        for taken in ["http://a/c", "http://a.example/boats/C/"] {
            assert_eq!(LinkBase::from_typed(taken), Err(NotABase::Connector), "{taken}");
        }
        assert_eq!(base("http://c").to_string(), "HTTP://C");
        assert_eq!(base(" http://marshhen.local:7117/ ").to_string(), "HTTP://MARSHHEN.LOCAL:7117");
        assert_eq!(base("https://a.example/boats/hen//").to_string(), "HTTPS://A.EXAMPLE/BOATS/HEN");
    }

    #[test]
    fn scans_are_read_forgivingly() {
        for text in [
            "HTTP://TAGS.EXAMPLE/7KF4/A",
            "http://tags.example/7kf4/a/",
            "https://x.example:80/boats/7KF4/A//?seen=1#top",
            "7KF4 A RAIL PRESSURE SIG J1/14-X3/2",
            "7kf4 a",
            " 7KF4 A+B OIL\n",
            "7KF4/A",
            "7KF4-A",
        ] {
            assert_eq!(from_scanned(text), Some(Meaning::Circuit(code(), Some(A))), "{text}");
        }
        for text in ["7KF4", "HTTP://TAGS.EXAMPLE/7KF4", "HTTP://TAGS.EXAMPLE/7KF4/", "7KF4 - FAN RELAY", "7 K F 4"] {
            assert_eq!(from_scanned(text), Some(Meaning::Circuit(code(), None)), "{text}");
        }
        for text in ["", "HTTP://7KF4", "HTTP://TAGS.EXAMPLE/7KF6/A", "7KF6 A", "WIFI:S:BOAT;;", "HTTP://A/A", "://"] {
            assert_eq!(from_scanned(text), None, "{text}");
        }
    }

    #[test]
    fn marks_name_the_circuit_and_no_end() {
        let link = Payload::Link { base: base("http://tags.example/") };
        let words = ["rail pressure sig", "J1/14-X3/2"];
        assert_eq!(link.mark_text(code(), &[A, B], &words, 38), "HTTP://TAGS.EXAMPLE/7KF4");
        assert_eq!(Payload::Text.mark_text(code(), &[A, B], &words, 38), "7KF4 A-B RAIL PRESSURE SIG J1/14-X3/2");
        assert_eq!(Payload::Text.mark_text(code(), &[A], &words, 21), "7KF4 A- RAIL");
        assert_eq!(Payload::Code.mark_text(code(), &[A, B], &words, 38), "7KF4 A-B");
        for text in ["7KF4 A-B RAIL", "7KF4 A- RAIL", "7kf4 a-b", "7KF4 A-", "HTTP://TAGS.EXAMPLE/7KF4"] {
            assert_eq!(from_scanned(text), Some(Meaning::Circuit(code(), None)), "{text}");
            assert_eq!(names_mark(text), !text.contains('/'), "{text}");
        }
        for other in ["7KF4 A", "7KF4 A+B", "7KF4 -", "7KF4 - FAN", "7KF4-A", "J1-7 A", "7KF4 -B", "7KF4 A-1"] {
            assert!(!names_mark(other), "{other}");
        }
    }

    fn connector(name: &str) -> ConnectorId {
        ConnectorId::from_cell(name).expect("a name")
    }

    #[test]
    fn connectors_go_by_their_name() {
        let link = Payload::Link { base: base("http://tags.example/") };
        let words = ["engine control unit", "mates X3S"];
        assert_eq!(link.connector_text(&connector("J1"), &words, 38), "HTTP://TAGS.EXAMPLE/C/J1");
        assert_eq!(link.connector_text(&connector("X 3/b+ä"), &words, 38), "HTTP://TAGS.EXAMPLE/C/X%203%2FB+%C3%84");
        assert_eq!(Payload::Text.connector_text(&connector("J1"), &words, 38), "J1: ENGINE CONTROL UNIT MATES X3S");
        assert_eq!(Payload::Text.connector_text(&connector("J1"), &words, 24), "J1: ENGINE MATES X3S");
        assert_eq!(Payload::Text.connector_text(&connector("j1"), &[], 38), "J1:");
        assert_eq!(Payload::Code.connector_text(&connector("J1"), &words, 38), "J1");
        for text in ["HTTP://TAGS.EXAMPLE/C/J1", "https://x/boats/c/J1/?seen=1", "J1: ENGINE", "J1:", " J1:\n"] {
            assert_eq!(from_scanned(text), Some(Meaning::Connector(connector("J1"))), "{text}");
        }
        // A code stands before all else, and a letter C is no connector.
        assert_eq!(from_scanned("7KF4 PUMP: LEFT"), Some(Meaning::Circuit(code(), None)));
        assert_eq!(from_scanned("HTTP://A/7KF4/C").and_then(Meaning::circuit), Some((code(), Some(EndLetter::nth(2)))));
        for text in ["HTTP://A/C/%", "HTTP://A/C/%FF", "HTTP://A/C/%4", "HTTP://A/C", ": J1", ":"] {
            assert_eq!(from_scanned(text), None, "{text}");
        }
    }

    proptest! {
        #[test]
        fn connectors_read_back(name in "[A-Z0-9+/%:ÄÖ ._-]{1,12}", path in "(/[A-Z0-9]{2,5}){0,2}") {
            prop_assume!(!name.trim().is_empty() && name.trim() == name);
            let link = Payload::Link { base: base(&format!("http://tags.example{path}")) };
            let text = link.connector_text(&connector(&name), &[], 0);
            prop_assert!(text.chars().all(is_alphanumeric), "{}", text);
            prop_assert_eq!(from_scanned(&text), Some(Meaning::Connector(connector(&name))), "{}", text);
        }

        #[test]
        fn all_three_read_back(
            n in 0_u32..531_040,
            letters in prop::collection::vec(0_u16..500, 0..3),
            words in prop::collection::vec("[a-zA-Z0-9äß/+ -]{0,12}", 0..3),
            limit in 0_usize..60,
            path in "(/[A-Za-z0-9.-]{2,5}){0,2}",
        ) {
            let code = mint::nth(n).expect("not used up");
            let letters: Vec<EndLetter> = letters.into_iter().map(EndLetter::nth).collect();
            let words: Vec<&str> = words.iter().map(String::as_str).collect();
            let link = Payload::Link { base: base(&format!("http://tags.example:7117{path}")) };
            for payload in [link, Payload::Text, Payload::Code] {
                let text = payload.text(code, &letters, &words, limit);
                let want = Some(Meaning::Circuit(code, letters.first().copied()));
                prop_assert_eq!(from_scanned(&text), want.clone(), "{}", text);
                prop_assert_eq!(from_scanned(&text.to_lowercase()), want, "{}", text);
                if payload == Payload::Text {
                    prop_assert!(text.chars().count() <= limit.max(name(code, &letters).len()));
                }
            }
        }

        #[test]
        fn any_text_is_answered(text in ".{0,40}") {
            let _ = (from_scanned(&text), LinkBase::from_typed(&text));
        }
    }
}
