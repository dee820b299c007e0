//! Addresses within the server: how what users wrote stands in a path or a query, and where the pages are that others lead to.

use super::desk::Desk;

/// A text as one segment of a path (RFC 3986, 3.3).
pub fn encoded(text: &str) -> String {
    let is_plain = |byte: u8| byte.is_ascii_alphanumeric() || b"-._~".contains(&byte);
    text.bytes()
        .map(|byte| if is_plain(byte) { char::from(byte).to_string() } else { format!("%{byte:02X}") })
        .collect()
}

/// The text of a segment of a path; as it stands where it is not encoded as one.
pub fn decoded(segment: &str) -> String {
    let (mut bytes, mut rest) = (Vec::with_capacity(segment.len()), segment.as_bytes());
    while let Some((&first, after)) = rest.split_first() {
        let digits = after.get(..2).and_then(|digits| std::str::from_utf8(digits).ok());
        match digits.and_then(|digits| u8::from_str_radix(digits, 16).ok()).filter(|_| first == b'%') {
            Some(byte) => {
                bytes.push(byte);
                rest = &after[2..];
            }
            None => {
                bytes.push(first);
                rest = after;
            }
        }
    }
    String::from_utf8(bytes).unwrap_or_else(|_| segment.to_owned())
}

/// Names and values as a query has them, without its question mark: `connector=J1&sort=place`.
pub fn query<'p>(pairs: impl IntoIterator<Item = (&'p str, &'p str)>) -> String {
    let pair = |(name, value)| format!("{}={}", encoded(name), encoded(value));
    pairs.into_iter().map(pair).collect::<Vec<_>>().join("&")
}

/// The path of what is known of a place: of `J1/14`, `/at/J1/14`.
pub fn place_path(place: &str) -> String {
    let parts: Vec<String> = place.split('/').map(encoded).collect();
    format!("/at/{}", parts.join("/"))
}

/// The path of a connector's page.
pub fn connector_path(name: &str) -> String {
    format!("/C/{}", encoded(name))
}

/// Where what is known of a place is. It answers also where no code was issued yet.
pub fn place_link(desk: &Desk, place: &str) -> String {
    desk.link(&place_path(place))
}

/// Where a connector's page is.
pub fn connector_link(desk: &Desk, name: &str) -> String {
    desk.link(&connector_path(name))
}

/// Where it is decided what is done with an end: `7KF4 A`.
pub fn decide_link(desk: &Desk, mark: &str) -> String {
    desk.link(&format!("/circuits/edit?end={}", encoded(&mark.replace(' ', "/"))))
}

/// Where the row of a list is shown: it is named as messages and records name it, `j1.csv:14` or `loom.xlsx:Sheet1!D14`.
pub fn row_link(desk: &Desk, named: &str) -> String {
    desk.link(&format!("/rows?at={}", encoded(named)))
}

/// Where a list's page is.
pub fn list_link(desk: &Desk, file: &str) -> String {
    desk.link(&format!("/lists/{}", encoded(file)))
}

/// Where its problems are.
pub fn problems_link(desk: &Desk, file: &str) -> String {
    desk.link(&format!("/problems?file={}", encoded(file)))
}

/// Where words are looked for.
pub fn find_link(desk: &Desk, words: &str) -> String {
    desk.link(&format!("/find?q={}", encoded(words)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_encoded_is_decoded() {
        for name in ["Marsh Hen", "Möwe 50 %", "a.b", "%41", "..", "#?&+"] {
            assert_eq!(decoded(&encoded(name)), name);
        }
        assert_eq!(decoded("M%c3%b6we+%zz"), "Möwe+%zz");
        assert_eq!(decoded("%ff"), "%ff");
    }

    #[test]
    fn paths_and_queries_hold_what_was_written() {
        assert_eq!((place_path("J1/1 4").as_str(), connector_path("X/3").as_str()), ("/at/J1/1%204", "/C/X%2F3"));
        assert_eq!(query([("q", "a&b"), ("sort", "place")]), "q=a%26b&sort=place");
        assert_eq!(query([]), "");
    }
}
