//! Problems -> text: the full form for people, one line each for editors, JSON for programs. All three from the same value;
//! nothing is printed here.

use std::borrow::Cow;
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
/// Characters shown behind the mark, and before it in a very long line.
const AROUND: usize = 60;
/// Characters before the mark from which a line is cut here; shorter ones are fitted by the renderer.
const LONGEST_BEFORE: usize = 2_000;
/// Characters of a line of the full form.
const WIDTH: usize = 110;
/// What parts the cells of a row of a workbook.
const BETWEEN_CELLS: &str = " | ";
/// Characters of a marked cell that are shown.
const LONGEST_MARK: usize = 80;

/// The full form: for each problem file, line and column, or sheet and cell, the line with the cell underlined, the places
/// that belong to it, and what to do. Many problems of one kind in one file are shown in part and counted; [`one_line`] has them all.
pub fn full(problems: &[Problem], colouring: Colouring) -> String {
    let renderer = match colouring {
        Colouring::Plain => Renderer::plain().term_width(WIDTH),
        Colouring::Coloured => Renderer::styled().decor_style(DecorStyle::Ascii).term_width(WIDTH),
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

/// A place in a file. Line and column count from 1, the column in characters; in a workbook they are row and column.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct PlaceRecord<'a> {
    /// Name of the file.
    pub file: &'a str,
    /// Name of the sheet, in a workbook.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sheet: Option<&'a str>,
    /// The cell by letters and row, in a workbook.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cell: Option<String>,
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
    let (file, sheet, cell) = (origin.file(), origin.sheet(), origin.cell());
    PlaceRecord { file, sheet, cell, line: origin.line(), column: origin.column() }
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
    let title = level(problem.severity).primary_title(problem.message.clone()).id(problem.id);
    let mut cells = Vec::new();
    let mut groups = vec![with_place(Group::with_title(title), problem.origin.as_ref(), &mut cells)];
    for related in problem.related.iter().take(SHOWN_RELATED) {
        let title = Level::NOTE.secondary_title(normalize_untrusted_str(&related.note));
        groups.push(with_place(Group::with_title(title), Some(&related.origin), &mut cells));
    }
    let mut last = Vec::new();
    if problem.related.len() > SHOWN_RELATED {
        last.push(Level::NOTE.message(format!("and {} more places", problem.related.len() - SHOWN_RELATED)));
    }
    last.extend(problem.remedy.as_deref().map(|remedy| Level::HELP.message(normalize_untrusted_str(remedy))));
    if let Some(group) = groups.pop() {
        groups.push(group.elements(last));
    }
    // The renderer puts line and column behind the place, which the name of a cell says already.
    cells.iter().fold(renderer.render(&groups), |text, (as_rendered, cell)| text.replacen(as_rendered, cell, 1))
}

/// Adds a place to a group, and to `cells` how the renderer and people write it where it is a cell of a workbook.
fn with_place(group: Group<'static>, origin: Option<&Origin>, cells: &mut Vec<(String, String)>) -> Group<'static> {
    match origin {
        Some(origin) => match Shown::of(origin) {
            Some(shown) => {
                if origin.sheet().is_some() {
                    let column = shown.text[..shown.mark.start].chars().count() + 1;
                    cells.push((format!("{}:{}:{column}", shown.file, shown.line), shown.file.clone()));
                }
                shown.add_to(group)
            }
            None => group.element(annotate_snippets::Origin::path(one_line_of(&origin.to_string()))),
        },
        None => group,
    }
}

/// The line of an origin, cut to what can be read.
struct Shown {
    file: String,
    line: usize,
    column: usize,
    text: String,
    mark: std::ops::Range<usize>,
    is_whole_before: bool,
}

impl Shown {
    fn of(origin: &Origin) -> Option<Self> {
        let excerpt = origin.excerpt()?;
        let (before, rest) = excerpt.text.split_at(excerpt.marked.start);
        let (marked, after) = rest.split_at(excerpt.marked.len());
        let (mut before, mut after) = (Cow::Borrowed(before), Cow::Borrowed(after));
        if origin.sheet().is_some() {
            before = Cow::Owned(before.replace('\t', BETWEEN_CELLS));
            after = Cow::Owned(after.trim_end().replace('\t', BETWEEN_CELLS));
        }
        let mut text = String::new();
        let length = before.chars().count();
        let is_whole_before = length <= LONGEST_BEFORE;
        let skipped = if is_whole_before { 0 } else { length - AROUND };
        if !is_whole_before {
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
            file: one_line_of(&if origin.sheet().is_some() { origin.to_string() } else { origin.file().to_owned() }),
            line: excerpt.line,
            column: origin.column().unwrap_or(1),
            text,
            mark: start..end,
            is_whole_before,
        })
    }

    /// Adds the line to a group. The renderer counts the column itself, except in a line that is cut before the mark.
    fn add_to(self, group: Group<'static>) -> Group<'static> {
        let snippet = Snippet::source(self.text).line_start(self.line);
        let snippet = snippet.annotation(AnnotationKind::Primary.span(self.mark));
        if self.is_whole_before {
            return group.element(snippet.path(self.file));
        }
        let place = annotate_snippets::Origin::path(self.file).line(self.line).char_column(self.column);
        group.element(place).element(snippet)
    }
}

/// Tabs and control characters as single spaces, so that marks stand under what they mark.
fn printable(character: char) -> char {
    if character.is_control() { ' ' } else { character }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::base::{ProblemKind, Severity, Source};

    const fn error(id: &'static str) -> ProblemKind {
        ProblemKind { id, severity: Severity::Error, meaning: "" }
    }

    #[test]
    fn cells_of_workbooks() {
        let source = Source::sheet("pinouts.xlsx", "engine plugs", "connector\tcavity\taction\n\nJ1\t14\tcutt\t\t");
        let problems = [
            error("unknown-action")
                .says("`cutt` is no action")
                .at(Origin::new(&source, 31..35))
                .remedy("did you mean `cut`?"),
            warning("blank")
                .says("nothing here")
                .at(Origin::new(&source, 36..36))
                .see("under this", Origin::new(&source, 10..16)),
            warning("sheet-not-read").says("no header row").at(Origin::whole(&source)),
        ];
        insta::assert_snapshot!(full(&problems, Colouring::Plain), @r#"
        error[unknown-action]: `cutt` is no action
         --> pinouts.xlsx:'engine plugs'!C3
          |
        3 | J1 | 14 | cutt
          |           ^^^^
          |
          = help: did you mean `cut`?

        warning[blank]: nothing here
         --> pinouts.xlsx:'engine plugs'!D3
          |
        3 | J1 | 14 | cutt | 
          |                  ^
          |
        note: under this
         --> pinouts.xlsx:'engine plugs'!B1
          |
        1 | connector | cavity | action
          |             ^^^^^^

        warning[sheet-not-read]: no header row
        --> pinouts.xlsx:'engine plugs'
        "#);
        let json = serde_json::to_string(&records(&problems[..1])).expect("plain values");
        assert!(json.contains(r#""sheet":"engine plugs","cell":"C3","line":3,"column":3"#), "{json}");
    }

    const fn warning(id: &'static str) -> ProblemKind {
        ProblemKind { id, severity: Severity::Warning, meaning: "" }
    }

    fn unknown_action() -> Problem {
        let source = Source::new("ecu.csv", "connector,cavity,action\nJ1,14,keep\nJ1,15,remvoe\n");
        error("unknown-action")
            .says("`remvoe` is no action")
            .at(Origin::new(&source, 41..47))
            .remedy("did you mean `remove`?")
    }

    fn two_circuits() -> Problem {
        let (one, two) =
            (Source::new("ecu.csv", "connector,cavity\nJ1,14\n"), Source::new("wires.csv", "x\ny;J1;14;z\n"));
        warning("two-circuits-in-one-cavity")
            .says("`J1/14` holds circuits `7` and `8`")
            .at(Origin::new(&two, 7..9))
            .see("circuit `7` here", Origin::new(&one, 20..22))
            .remedy("mend the cavity of one")
    }

    #[test]
    fn full_form() {
        insta::assert_snapshot!(full(&[unknown_action(), two_circuits()], Colouring::Plain), @r#"
        error[unknown-action]: `remvoe` is no action
         --> ecu.csv:3:7
          |
        3 | J1,15,remvoe
          |       ^^^^^^
          |
          = help: did you mean `remove`?

        warning[two-circuits-in-one-cavity]: `J1/14` holds circuits `7` and `8`
         --> wires.csv:2:6
          |
        2 | y;J1;14;z
          |      ^^
          |
        note: circuit `7` here
         --> ecu.csv:2:4
          |
        2 | J1,14
          |    ^^
          = help: mend the cavity of one
        "#);
    }

    #[test]
    fn whole_files_and_long_lines() {
        let middling = Source::new("middling.csv", format!("{}J1,remvoe,{}", "é,".repeat(150), "b,".repeat(150)));
        let long = format!("{}\t{}\u{1b}[31m{}", "a,".repeat(1100), "x".repeat(300), ",b".repeat(500));
        let source = Source::new("long.csv", long);
        let problems = [
            error("unreadable-file").says("`plan.xls` is a workbook").at(Origin::whole(&Source::new("plan.xls", ""))),
            error("cell-too-long").says("this cell is long").at(Origin::new(&source, 2201..2501)).remedy("shorten it"),
            error("unknown-action").says("`remvoe` is no action").at(Origin::new(&middling, 453..459)),
            warning("no-place").says("nothing to point at"),
        ];
        insta::assert_snapshot!(full(&problems, Colouring::Plain), @r#"
        error[unreadable-file]: `plan.xls` is a workbook
        --> plan.xls

        error[cell-too-long]: this cell is long
         --> long.csv:1:2202
          |
         ::: 
        1 | ...,a,a,a,a, xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx…
          |              ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
          |
          = help: shorten it

        error[unknown-action]: `remvoe` is no action
         --> middling.csv:1:304
          |
        1 | ...é,é,é,é,é,é,é,é,é,é,é,é,é,é,é,é,é,é,é,é,é,é,J1,remvoe,b,b,b,b,b,b,b,b,b,b,b,b,b,b,b,b,b,b,b,b,b,b,b,...
          |                                                   ^^^^^^

        warning[no-place]: nothing to point at
        "#);
    }

    #[test]
    fn one_line_form() {
        insta::assert_snapshot!(one_line(&[unknown_action(), two_circuits()]), @r#"
        ecu.csv:3:7: error[unknown-action]: `remvoe` is no action; did you mean `remove`?
        wires.csv:2:6: warning[two-circuits-in-one-cavity]: `J1/14` holds circuits `7` and `8`; mend the cavity of one
        "#);
    }

    #[test]
    fn json_form() {
        let json = serde_json::to_string_pretty(&records(&[two_circuits()])).expect("plain values");
        insta::assert_snapshot!(json, @r#"
        [
          {
            "id": "two-circuits-in-one-cavity",
            "severity": "warning",
            "message": "`J1/14` holds circuits `7` and `8`",
            "place": {
              "file": "wires.csv",
              "line": 2,
              "column": 6
            },
            "related": [
              {
                "note": "circuit `7` here",
                "place": {
                  "file": "ecu.csv",
                  "line": 2,
                  "column": 4
                }
              }
            ],
            "remedy": "mend the cavity of one"
          }
        ]
        "#);
    }

    #[test]
    fn many_of_a_kind_are_counted() {
        let problems = vec![unknown_action(); 1000];
        let text = full(&problems, Colouring::Plain);
        assert_eq!(text.matches("remvoe` is no action").count(), SHOWN_IN_FULL);
        assert!(text.ends_with("error[unknown-action]: 992 more of these in ecu.csv\n\n"), "{text}");
        assert_eq!(one_line(&problems).lines().count(), 1000);
    }

    #[test]
    fn colours_only_when_asked() {
        let codes = |colouring| full(&[unknown_action()], colouring).contains('\u{1b}');
        assert!(!codes(Colouring::Plain) && codes(Colouring::Coloured));
    }

    proptest! {
        #[test]
        fn any_problem_is_rendered(text in any::<String>(), start in 0_usize..40, len in 0_usize..40, name in any::<String>()) {
            let source = match start % 2 {
                0 => Source::new(name, text.clone()),
                _ => Source::sheet(name.clone(), name, text.clone()),
            };
            let origin = Origin::new(&source, start..start + len);
            let problem = error("some-id").says(text.clone()).at(origin.clone()).see(text.clone(), origin).remedy(text);
            let problems = [problem];
            let has_codes = full(&problems, Colouring::Plain).contains('\u{1b}');
            prop_assert!(!has_codes);
            prop_assert_eq!(one_line(&problems).lines().count(), 1);
            prop_assert!(serde_json::to_string(&records(&problems)).is_ok());
        }
    }
}
