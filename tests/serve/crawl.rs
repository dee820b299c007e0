//! Every page that links lead to from the first, and what must hold of each: it is there, loads and does nothing that is not its
//! own, and what users have written is text in it.

use std::collections::{BTreeSet, VecDeque};

use axum::http::{StatusCode, header};

use crate::kit::served::{Came, Served};

/// More pages are not followed: each job of the tests has fewer.
const MOST: usize = 1_500;

/// An element as it begins: its name and its attributes, the values unescaped.
#[derive(Debug)]
pub struct Element {
    pub name: String,
    pub attributes: Vec<(String, String)>,
}

impl Element {
    /// The value of an attribute.
    pub fn get(&self, name: &str) -> Option<&str> {
        self.attributes.iter().find(|(known, _)| known == name).map(|(_, value)| value.as_str())
    }
}

/// The elements of a page in their order. It knows as much of HTML as a browser must to be led astray: whatever `<` begins before a
/// letter is an element.
pub fn elements(page: &str) -> Vec<Element> {
    let mut all = Vec::new();
    let mut rest = page;
    while let Some(at) = rest.find('<') {
        rest = &rest[at + 1..];
        if !rest.starts_with(|c: char| c.is_ascii_alphabetic()) {
            continue;
        }
        let end = rest.find(|c: char| c.is_whitespace() || c == '>' || c == '/').expect("an element ends");
        let name = rest[..end].to_ascii_lowercase();
        rest = &rest[end..];
        let mut attributes = Vec::new();
        loop {
            rest = rest.trim_start_matches(|c: char| c.is_whitespace() || c == '/');
            if let Some(after) = rest.strip_prefix('>') {
                rest = after;
                break;
            }
            let end = rest.find(|c: char| c.is_whitespace() || "=>/".contains(c)).expect("an attribute ends");
            let attribute = rest[..end].to_ascii_lowercase();
            rest = &rest[end..];
            let mut value = "";
            if let Some(after) = rest.strip_prefix('=') {
                let inside =
                    after.strip_prefix('"').unwrap_or_else(|| panic!("`{attribute}` of `{name}` is not quoted"));
                let end = inside.find('"').expect("a quote is closed");
                (value, rest) = (&inside[..end], &inside[end + 1..]);
            }
            attributes.push((attribute, unescaped(value)));
        }
        all.push(Element { name, attributes });
    }
    all
}

fn unescaped(text: &str) -> String {
    text.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&")
}

/// Follows all links from `from`, and looks at every page; the paths of the pages.
#[track_caller]
pub fn crawl(served: &Served, from: &[&str]) -> BTreeSet<String> {
    crawl_within(served, from, "/")
}

/// The same of the pages whose paths begin with `within`: other links are among the paths, but are not followed.
#[track_caller]
pub fn crawl_within(served: &Served, from: &[&str], within: &str) -> BTreeSet<String> {
    let mut seen: BTreeSet<String> = from.iter().map(|path| (*path).to_owned()).collect();
    let mut open: VecDeque<(String, String)> =
        from.iter().map(|path| ((*path).to_owned(), "the test".to_owned())).collect();
    while let Some((path, by)) = open.pop_front() {
        let came = served.get(&path);
        let mut next = Vec::new();
        match &came.to {
            Some(to) => {
                assert!(to.starts_with('/') && !to.starts_with("//"), "`{path}` leads to `{to}`");
                next.push(to.clone());
            }
            None => {
                assert_eq!(
                    came.status,
                    StatusCode::OK,
                    "`{path}`, to which {by} leads:\n{}",
                    String::from_utf8_lossy(&came.bytes)
                );
                if is_page(&came) {
                    next = links(&path, &came);
                }
            }
        }
        for link in next {
            let link = link.split('#').next().unwrap_or_default().to_owned();
            let is_new = seen.len() < MOST && link.starts_with('/') && seen.insert(link.clone());
            if is_new && link.starts_with(within) {
                open.push_back((link, format!("`{path}`")));
            }
        }
    }
    seen
}

fn is_page(came: &Came) -> bool {
    let sort = came.headers.get(header::CONTENT_TYPE).and_then(|sort| sort.to_str().ok()).unwrap_or_default();
    sort.starts_with("text/html")
}

/// Looks at a page; the links in it.
#[track_caller]
fn links(path: &str, came: &Came) -> Vec<String> {
    let page = came.text();
    let policy = came.headers[header::CONTENT_SECURITY_POLICY].to_str().expect("text");
    assert!(!policy.contains("unsafe"), "{path}");
    let mut links = Vec::new();
    for element in elements(&page) {
        assert!(!element.name.contains("pwned"), "`{path}` has an element of a user's text");
        assert_ne!(element.name, "style", "`{path}` has a style of its own");
        if element.name == "script" {
            assert!(element.get("src").is_some_and(|src| src.starts_with("/-/")), "`{path}` has a script of its own");
        }
        for (attribute, value) in &element.attributes {
            assert!(!attribute.starts_with("on"), "`{path}`: `{attribute}` of `{}`", element.name);
            assert!(
                attribute != "style" && !attribute.contains("pwned"),
                "`{path}`: `{attribute}` of `{}`",
                element.name
            );
            if ["href", "src", "action", "formaction", "data-load", "data-find"].contains(&attribute.as_str()) {
                let is_own = value.starts_with(['#', '?']) || value.starts_with('/') && !value.starts_with("//");
                let is_picture = element.name == "img" && value.starts_with("data:image/");
                assert!(is_own || is_picture, "`{path}` leads to `{value}`");
                assert!(
                    !value.chars().any(|c| c.is_control() || c.is_whitespace()),
                    "`{path}`: `{value}` is not encoded"
                );
            }
            let is_asked =
                matches!(attribute.as_str(), "href" | "data-load") || element.name == "img" && attribute == "src";
            if is_asked && !value.starts_with("/-/") && !value.starts_with("data:") {
                links.push(if value.starts_with('?') {
                    format!("{}{value}", path.split('?').next().unwrap_or("/"))
                } else {
                    value.clone()
                });
            }
        }
    }
    links
}

#[test]
fn elements_are_found() {
    let page = "<!DOCTYPE html><a  class=\"x\" href=\"/a?b=1&amp;c=&quot;\" hidden>1 < 2</a><br/><Svg onload=\"x\">";
    let all = elements(page);
    assert_eq!(all.iter().map(|element| element.name.as_str()).collect::<Vec<_>>(), ["a", "br", "svg"]);
    assert_eq!(all[0].get("href"), Some("/a?b=1&c=\""));
    assert_eq!((all[0].get("hidden"), all[2].get("onload")), (Some(""), Some("x")));
}
