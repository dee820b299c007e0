//! What every kind of problem is about and what to do: the entries of PROBLEMS.md, which is compiled in.

use std::sync::LazyLock;

use super::problems::all_problem_kinds;
use crate::base::ProblemKind;

const PAGE: &str = include_str!("../../PROBLEMS.md");

/// One entry of the page.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Explained {
    /// The heading above it and others: which file or step it is about.
    pub section: &'static str,
    /// The id of its kind.
    pub id: &'static str,
    /// An example or what to do, in Markdown.
    pub advice: String,
}

/// The entries in the order of the page.
static ENTRIES: LazyLock<Vec<Explained>> = LazyLock::new(|| entries(PAGE));

/// All entries, in the order of the page.
pub fn all_explained() -> &'static [Explained] {
    &ENTRIES
}

/// The kind of this id, and its entry.
pub fn explained(id: &str) -> Option<(&'static ProblemKind, Option<&'static Explained>)> {
    let kind = all_problem_kinds().find(|kind| kind.id == id)?;
    Some((kind, ENTRIES.iter().find(|entry| entry.id == id)))
}

/// The entries of a page: `## section`, `### id`, a paragraph with severity and meaning, and what stands below it.
pub(crate) fn entries(page: &'static str) -> Vec<Explained> {
    let mut entries: Vec<Explained> = Vec::new();
    let mut section = "";
    let mut is_below_meaning = false;
    let mut is_entry = false;
    for line in page.lines() {
        if let Some(heading) = line.strip_prefix("## ") {
            (section, is_entry) = (heading.trim(), false);
        } else if let Some(id) = line.strip_prefix("### ") {
            entries.push(Explained { section, id: id.trim(), advice: String::new() });
            (is_entry, is_below_meaning) = (true, false);
        } else if let Some(entry) = entries.last_mut().filter(|_| is_entry) {
            if is_below_meaning {
                entry.advice.push_str(line);
                entry.advice.push('\n');
            }
            is_below_meaning |= line.starts_with("**error**") || line.starts_with("**warning**");
        }
    }
    entries
}

/// A stretch of Markdown without backticks as plain words: no emphasis, links as their words.
pub fn without_marks(part: &str) -> String {
    let (mut text, mut rest) = (String::new(), part);
    while let Some((before, after)) = rest.split_once('[') {
        let Some((words, (_, behind))) =
            after.split_once("](").and_then(|(words, tail)| Some((words, tail.split_once(')')?)))
        else {
            break;
        };
        text.push_str(before);
        text.push_str(words);
        rest = behind;
    }
    text.push_str(rest);
    text.replace('*', "")
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn the_page_and_the_program_know_the_same_problems() {
        let of_page: Vec<&str> = all_explained().iter().map(|entry| entry.id).collect();
        let of_program: BTreeSet<&str> = all_problem_kinds().map(|kind| kind.id).collect();
        assert_eq!(of_page.iter().copied().collect::<BTreeSet<_>>(), of_program);
        assert_eq!(of_page.len(), of_program.len(), "each once");
        assert!(all_explained().iter().all(|entry| !entry.section.is_empty()));
    }
}
