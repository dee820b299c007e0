//! Problems -> text: the full form for people, one line each for editors, JSON for programs. All three from the same value;
//! nothing is printed here.

use std::collections::HashMap;
use std::fmt::Write;

use annotate_snippets::renderer::DecorStyle;
use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet, normalize_untrusted_str};
use serde::Serialize;

use crate::base::{Origin, Problem, Severity};

/// Whether the terminal is to show colours.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Colouring {
    /// Plain text.
    Plain,
    /// With the terminal's colour codes.
    Coloured,
}

/// How many problems of one kind in one file are shown in full; the others are counted.
const SHOWN_IN_FULL: usize = 8;
/// How many related places are shown with one problem.
const SHOWN_RELATED: usize = 3;
/// Characters of a line shown on each side of the mark.
const AROUND: usize = 60;
/// Characters of a marked cell that are shown.
const LONGEST_MARK: usize = 80;

/// The full form: for each problem file, line and column, the line with the cell underlined, the places that belong to it,
/// and what to do. Many problems of one kind in one file are shown in part and counted; [`one_line`] has them all.
pub fn full(problems: &[Problem], colouring: Colouring) -> String {
    let renderer = match colouring {
        Colouring::Plain => Renderer::plain(),
        Colouring::Coloured => Renderer::styled().decor_style(DecorStyle::Ascii),
    };
    let mut text = String::new();
    let mut seen: HashMap<(&str, &str), usize> = HashMap::new();
    let file = |problem: &Problem| problem.origin.as_ref().map(|origin| origin.file().to_owned()).unwrap_or_default();
    let files: Vec<String> = problems.iter().map(file).collect();
    let mut rest: Vec<((&str, &str), Severity)> = Vec::new();
    for (problem, file) in problems.iter().zip(&files) {
        let count = seen.entry((problem.id, file)).or_default();
        *count += 1;
        if *count <= SHOWN_IN_FULL {
            text.push_str(&rendered(problem, &renderer));
            text.push_str("\n\n");
        } else if *count == SHOWN_IN_FULL + 1 {
            rest.push(((problem.id, file), problem.severity));
        }
    }
    for (key, severity) in rest {
        let more = seen.get(&key).copied().unwrap_or_default() - SHOWN_IN_FULL;
        let (id, file) = key;
        let place = if file.is_empty() { String::new() } else { format!(" in {}", one_line_of(file)) };
        let line = level(severity).primary_title(format!("{more} more of these{place}")).id(id);
        text.push_str(&renderer.render(&[Group::with_title(line)]));
        text.push_str("\n\n");
    }
    text
}

/// One line each: `ecu.csv:14:3: error[unknown-action]: …; did you mean `remove`?`.
pub fn one_line(problems: &[Problem]) -> String {
    let mut text = String::new();
    for problem in problems {
        if let Some(origin) = &problem.origin {
            text.push_str(&one_line_of(&origin.to_string()));
            text.push_str(": ");
        }
        let (word, message) = (word(problem.severity), one_line_of(&problem.message));
        let remedy = problem.remedy.as_deref().map(one_line_of).map(|remedy| format!("; {remedy}")).unwrap_or_default();
        writeln!(text, "{word}[{}]: {message}{remedy}", problem.id).expect("memory can be written to");
    }
    text
}

/// A problem as programs read it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ProblemRecord<'a> {
    /// Stable name of its kind.
    pub id: &'a str,
    /// `error` or `warning`.
    pub severity: &'static str,
    /// What is wrong.
    pub message: &'a str,
    /// Where.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub place: Option<PlaceRecord<'a>>,
    /// Other places that belong to it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub related: Vec<RelatedRecord<'a>>,
    /// What to type or do instead.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub remedy: Option<&'a str>,
}

/// A place in a file. Line and column count from 1, the column in characters.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct PlaceRecord<'a> {
    /// Name of the file.
    pub file: &'a str,
    /// Line; absent when the file as a whole is meant.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<usize>,
    /// Column.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub column: Option<usize>,
}

/// Another place that belongs to a problem.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct RelatedRecord<'a> {
    /// What is to be seen there.
    pub note: &'a str,
    /// Where.
    pub place: PlaceRecord<'a>,
}

/// All problems as programs read them.
pub fn records(problems: &[Problem]) -> Vec<ProblemRecord<'_>> {
    let place = |origin: &'_ Origin| -> PlaceRecord<'_> { PlaceRecord { file: "", line: origin.line(), column: origin.column() } };
    let _ = place;
    problems.iter().map(record).collect()
}

fn record(problem: &Problem) -> ProblemRecord<'_> {
    ProblemRecord {
        id: problem.id,
        severity: word(problem.severity),
        message: &problem.message,
        place: problem.origin.as_ref().map(place),
        related: problem
            .related
            .iter()
            .map(|related| RelatedRecord { note: &related.note, place: place(&related.origin) })
            .collect(),
        remedy: problem.remedy.as_deref(),
    }
}

fn place(origin: &Origin) -> PlaceRecord<'_> {
    PlaceRecord { file: origin.file(), line: origin.line(), column: origin.column() }
}

const fn word(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
    }
}

fn level(severity: Severity) -> Level<'static> {
    match severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
    }
}

/// A text that cannot break the line it stands in, nor steer the terminal.
fn one_line_of(text: &str) -> String {
    if text.chars().any(char::is_control) {
        text.chars().map(|character| if character.is_control() { ' ' } else { character }).collect()
    } else {
        text.to_owned()
    }
}

fn rendered(problem: &Problem, renderer: &Renderer) -> String {
    let mut main = Group::with_title(level(problem.severity).primary_title(problem.message.as_str()).id(problem.id));
    let mut others = Vec::new();
    if let Some(origin) = &problem.origin {
        main = match Shown::of(origin) {
            Some(shown) => main.element(shown.snippet(AnnotationKind::Primary, None)),
            None => main.element(annotate_snippets::Origin::path(one_line_of(origin.file()))),
        };
    }
    for related in problem.related.iter().take(SHOWN_RELATED) {
        let note = normalize_untrusted_str(&related.note);
        match Shown::of(&related.origin) {
            Some(shown) => {
                let group = Group::with_title(Level::NOTE.secondary_title(note));
                others.push(group.element(shown.snippet(AnnotationKind::Primary, None)));
            }
            None => main = main.element(Level::NOTE.message(format!("{note}: {}", one_line_of(related.origin.file())))),
        }
    }
    if problem.related.len() > SHOWN_RELATED {
        let more = problem.related.len() - SHOWN_RELATED;
        main = main.element(Level::NOTE.message(format!("and {more} more places")));
    }
    if let Some(remedy) = &problem.remedy {
        main = main.element(Level::HELP.message(normalize_untrusted_str(remedy)));
    }
    let groups: Vec<Group<'_>> = std::iter::once(main).chain(others).collect();
    renderer.render(&groups)
}

/// The line of an origin, cut to what can be read.
struct Shown {
    file: String,
    line: usize,
    column: usize,
    text: String,
    mark: std::ops::Range<usize>,
}

impl Shown {
    fn of(origin: &Origin) -> Option<Self> {
        let excerpt = origin.excerpt()?;
        let (before, rest) = excerpt.text.split_at(excerpt.marked.start);
        let (marked, after) = rest.split_at(excerpt.marked.len());
        let mut text = String::new();
        let skipped = before.chars().count().saturating_sub(AROUND);
        if skipped > 0 {
            text.push('…');
        }
        text.extend(before.chars().skip(skipped).map(printable));
        let start = text.len();
        text.extend(marked.chars().take(LONGEST_MARK).map(printable));
        let end = text.len();
        let is_mark_cut = marked.chars().nth(LONGEST_MARK).is_some();
        if !is_mark_cut {
            text.extend(after.chars().take(AROUND).map(printable));
        }
        if is_mark_cut || after.chars().nth(AROUND).is_some() {
            text.push('…');
        }
        Some(Self {
            file: one_line_of(origin.file()),
            line: excerpt.line,
            column: origin.column().unwrap_or(1),
            text,
            mark: start..end,
        })
    }

    fn snippet<'a>(
        self,
        kind: AnnotationKind,
        label: Option<&'a str>,
    ) -> Snippet<'a, annotate_snippets::Annotation<'a>> {
        Snippet::source(self.text)
            .path(self.file)
            .line_start(self.line)
            .annotation(kind.span(self.mark).label(label))
    }
}

/// Tabs and control characters as single spaces, so that marks stand under what they mark.
fn printable(character: char) -> char {
    if character.is_control() { ' ' } else { character }
}
