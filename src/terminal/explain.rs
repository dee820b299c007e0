//! `explain`: the entry of a problem in PROBLEMS.md, which is compiled in, rendered for a terminal.

use serde_json::json;

use super::Ending;
use super::args::{Answer, Explain};
use super::complaint::Complaint;
use super::output::Output;
use crate::base::ProblemKind;
use crate::base::Severity;
use crate::base::nearest::{did_you_mean, nearest};
use crate::run::all_problem_kinds;
use crate::run::explained::{Explained, all_explained, explained, without_marks};

/// Characters of a line.
const WIDTH: usize = 88;

/// Shows one entry, or lists all.
pub fn run(asked: &Explain, output: &mut Output) -> Result<Ending, Complaint> {
    match asked.id.as_deref() {
        None => list(asked.answer, output),
        Some(id) => show(id, asked.answer, output),
    }
}

fn show(typed: &str, answer: Answer, output: &mut Output) -> Result<Ending, Complaint> {
    // As it stands in messages, with its brackets, and with other separators.
    let id = typed.trim().trim_start_matches("error").trim_start_matches("warning");
    let id = id.trim_matches(['[', ']', ':', '`', ' ']).to_lowercase().replace(['_', ' '], "-");
    let Some((kind, entry)) = explained(&id) else {
        let remedy = nearest(&id, all_problem_kinds().map(|kind| kind.id)).map(did_you_mean);
        return Err(Complaint::Typed {
            what: format!("there is no problem `{typed}`"),
            remedy: remedy.unwrap_or_else(|| "`loomtag explain` lists them all".to_owned()),
        });
    };
    let advice = entry.map(|entry| plain(&entry.advice)).unwrap_or_default();
    if answer.json {
        let mut record = record(kind, entry);
        record["advice"] = advice.into();
        output.json(&record)?;
        return Ok(Ending::Done);
    }
    output.line(format!("{}[{}]: {}", severity(kind), kind.id, kind.meaning))?;
    if !advice.is_empty() {
        output.line("")?;
        output.line(advice)?;
    }
    Ok(Ending::Done)
}

fn list(answer: Answer, output: &mut Output) -> Result<Ending, Complaint> {
    if answer.json {
        let all = all_explained().iter().filter_map(|entry| Some(record(explained(entry.id)?.0, Some(entry))));
        output.json(&all.collect::<Vec<_>>())?;
        return Ok(Ending::Done);
    }
    let mut section = "";
    for entry in all_explained() {
        let Some((kind, _)) = explained(entry.id) else { continue };
        if entry.section != section {
            if !section.is_empty() {
                output.line("")?;
            }
            output.line(entry.section)?;
            section = entry.section;
        }
        output.line(format!("  {}[{}]: {}", severity(kind), kind.id, kind.meaning))?;
    }
    output.line("")?;
    output.line("`loomtag explain NAME` shows an example and what to do")?;
    Ok(Ending::Done)
}

fn record(kind: &ProblemKind, entry: Option<&Explained>) -> serde_json::Value {
    let section = entry.map(|entry| entry.section);
    json!({ "id": kind.id, "severity": severity(kind), "meaning": kind.meaning, "section": section })
}

const fn severity(kind: &ProblemKind) -> &'static str {
    match kind.severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
    }
}

/// Markdown as a terminal shows it: paragraphs wrapped, code set in, emphasis and the addresses of links gone.
fn plain(markdown: &str) -> String {
    let mut lines: Vec<String> = Vec::new();
    let mut paragraph = String::new();
    let mut is_code = false;
    let flush = |paragraph: &mut String, lines: &mut Vec<String>| {
        if !paragraph.is_empty() {
            lines.extend(wrapped(paragraph));
            paragraph.clear();
        }
    };
    for line in markdown.lines() {
        if line.trim_start().starts_with("```") {
            flush(&mut paragraph, &mut lines);
            is_code = !is_code;
        } else if is_code {
            lines.push(if line.is_empty() { String::new() } else { format!("    {line}") });
        } else if line.trim().is_empty() {
            flush(&mut paragraph, &mut lines);
            if lines.last().is_some_and(|last| !last.is_empty()) {
                lines.push(String::new());
            }
        } else {
            if line.starts_with("- ") {
                flush(&mut paragraph, &mut lines);
            }
            if !paragraph.is_empty() {
                paragraph.push(' ');
            }
            paragraph.push_str(&plain_line(line.trim()));
        }
    }
    flush(&mut paragraph, &mut lines);
    while lines.last().is_some_and(String::is_empty) {
        lines.pop();
    }
    lines.join("\n")
}

/// A line of Markdown without its marks; what stands in backticks is left alone.
fn plain_line(line: &str) -> String {
    let part = |(at, part): (usize, &str)| if at % 2 == 1 { part.to_owned() } else { without_marks(part) };
    line.split('`').enumerate().map(part).collect::<Vec<_>>().join("`")
}

/// Lines of at most [`WIDTH`] characters; those below the first of a list's point are set in.
fn wrapped(paragraph: &str) -> Vec<String> {
    let indent = if paragraph.starts_with("- ") { "  " } else { "" };
    let mut lines = vec![String::new()];
    for word in paragraph.split_whitespace() {
        let line = lines.last_mut().expect("there is one line at least");
        if !line.trim().is_empty() && line.chars().count() + 1 + word.chars().count() > WIDTH {
            lines.push(format!("{indent}{word}"));
        } else {
            if !line.trim().is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::run::explained::entries;

    #[test]
    fn markdown_becomes_plain() {
        let page = "# Page\n\nWords.\n\n## Lists\n\n### a-b\n\n**error**: it is so.\n\nSee [the **README**](README.md) and `a*b`.\nMore \
                    *words*.\n\n- one\n- two\n\n```csv\na,b\n\nc\n```\n\n## Next\n\nWords.\n\n### c-d\n\n**warning**: it is.\n";
        let entries = entries(page);
        assert_eq!(
            entries.iter().map(|entry| (entry.section, entry.id)).collect::<Vec<_>>(),
            [("Lists", "a-b"), ("Next", "c-d")]
        );
        assert_eq!(
            plain(&entries[0].advice),
            "See the README and `a*b`. More words.\n\n- one\n- two\n\n    a,b\n\n    c"
        );
        assert_eq!(plain(&entries[1].advice), "");
        let long = plain(&format!("- {}", "word ".repeat(60)));
        assert!(
            long.lines().all(|line| line.len() <= WIDTH) && long.lines().skip(1).all(|line| line.starts_with("  w"))
        );
    }
}
