//! What a kind of problem is about: its entry of PROBLEMS.md, from Markdown to a page.

use maud::{Markup, html};

use crate::run::explained::{explained, without_marks};

/// A part of an entry.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Block {
    Paragraph(String),
    Points(Vec<String>),
    Example(String),
}

/// The entry of a kind, folded up.
pub fn details(id: &str) -> Markup {
    let Some((kind, entry)) = explained(id) else { return html! {} };
    html! {
        details.explained {
            summary { code { (kind.id) } ": " (kind.meaning) }
            @for block in blocks(entry.map_or("", |entry| entry.advice.as_str())) {
                @match block {
                    Block::Paragraph(text) => p { (inline(&text)) },
                    Block::Points(points) => ul { @for point in &points { li { (inline(point)) } } },
                    Block::Example(text) => pre { (text) },
                }
            }
        }
    }
}

/// Paragraphs, points of lists and examples, in their order.
fn blocks(markdown: &str) -> Vec<Block> {
    let mut blocks: Vec<Block> = Vec::new();
    let (mut is_example, mut is_open) = (false, false);
    for line in markdown.lines() {
        let add = |text: &mut String| {
            if !text.is_empty() {
                text.push(' ');
            }
            text.push_str(line.trim());
        };
        if line.trim_start().starts_with("```") {
            if !is_example {
                blocks.push(Block::Example(String::new()));
            }
            (is_example, is_open) = (!is_example, false);
            continue;
        }
        match (blocks.last_mut(), line.strip_prefix("- ")) {
            (Some(Block::Example(text)), _) if is_example => {
                text.push_str(line);
                text.push('\n');
            }
            _ if line.trim().is_empty() => {}
            (Some(Block::Points(points)), Some(point)) => points.push(point.trim().to_owned()),
            (_, Some(point)) => blocks.push(Block::Points(vec![point.trim().to_owned()])),
            (Some(Block::Points(points)), None) if is_open => points.iter_mut().next_back().into_iter().for_each(add),
            (Some(Block::Paragraph(text)), None) if is_open => add(text),
            _ => blocks.push(Block::Paragraph(line.trim().to_owned())),
        }
        is_open = !line.trim().is_empty();
    }
    blocks
}

/// Code in backticks; emphasis, and links as their words.
fn inline(text: &str) -> Markup {
    html! {
        @for (at, part) in text.split('`').enumerate() {
            @if at % 2 == 1 { code { (part) } @if let Some(page) = page_of(part) { span.soft { " (here: " (page) ")" } } }
            @else { (without_marks(part)) }
        }
    }
}

/// Where a page does what a command of the entry does.
fn page_of(code: &str) -> Option<&'static str> {
    let mut words = code.strip_prefix("loomtag ")?.split(' ');
    Some(match (words.next()?, words.next()) {
        ("rename" | "join" | "assign", _) => "the page of its tag, Put in order",
        ("note", _) => "the page of its tag, Found different or Put right",
        ("decide", _) => "Circuits, or Decided here",
        ("tags" | "reprint", _) => "Print",
        ("send", _) => "the page of a print run",
        ("stock", Some("sheets" | "spoilt" | "gone" | "unprinted")) => "Print, Sheets",
        _ => "in a terminal",
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::run::explained::all_explained;

    #[test]
    fn markdown_becomes_blocks() {
        let markdown = "See [the **README**](README.md) and `a*b`.\nMore *words*.\n\n- one\n  goes on\n- two\n\n```csv\na,b\n\nc\n```\nLast.\n";
        let parts = blocks(markdown);
        let paragraph = |text: &str| Block::Paragraph(text.to_owned());
        assert_eq!(
            parts,
            [
                paragraph("See [the **README**](README.md) and `a*b`. More *words*."),
                Block::Points(vec!["one goes on".to_owned(), "two".to_owned()]),
                Block::Example("a,b\n\nc\n".to_owned()),
                paragraph("Last."),
            ]
        );
        assert_eq!(
            inline("See [the **README**](README.md), `a*b`.").into_string(),
            "See the README, <code>a*b</code>."
        );
    }

    #[test]
    fn every_entry_has_something_to_say() {
        for entry in all_explained() {
            let blocks = blocks(&entry.advice);
            assert!(
                blocks.iter().all(|block| !matches!(block, Block::Paragraph(text) if text.contains("```"))),
                "{}",
                entry.id
            );
        }
    }
}
