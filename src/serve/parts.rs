//! What several pages show in the same way: a code as on its tag, a wire's colours, a problem with its row.

use std::borrow::Cow;

use jiff::Timestamp;
use maud::{Markup, html};

use super::address::{connector_link, place_link, row_link};
use super::desk::Desk;
use crate::base::origin::Excerpt;
use crate::base::remedy::Part;
use crate::base::{Colour, Origin, Page, Problem, Remedy, Severity, TagCode, WireColour, counted};
use crate::run::left_out::LeftOut;
use crate::run::rows::line_name;
use crate::run::spoken_of::Chosen;
use crate::run::{Snapshot, must_be_seen, recall};

/// A code with its letter, as it stands on the tag, leading to its record.
pub fn tag(desk: &Desk, code: &str, letter: Option<&str>) -> Markup {
    let path = letter.map_or_else(|| format!("/{code}"), |letter| format!("/{code}/{letter}"));
    html! {
        a.tag href=(desk.link(&path)) {
            (code) @if let Some(letter) = letter { " " span.letter { (letter) } }
        }
    }
}

/// A code that is not issued yet, as it will stand on the tag, leading to what is known of its place.
pub fn tag_ahead(desk: &Desk, code: &str, letter: &str, place: &str) -> Markup {
    name_ahead(desk, &format!("{code} {letter}"), place)
}

/// The same of the whole name of a tag: `7KF4 A+B`.
pub fn name_ahead(desk: &Desk, name: &str, place: &str) -> Markup {
    html! { a.ahead href=(place_link(desk, place)) title="not issued yet: printing its tag issues it" { (name) } }
}

/// Whether the code in the name of a tag is not issued yet.
pub fn is_ahead(job: &Snapshot, name: &str) -> bool {
    let code = name.split(' ').next().and_then(|code| TagCode::from_typed(code).ok());
    code.is_some_and(|code| !job.codes.contains(&code))
}

/// Said wherever codes stand that are not issued yet.
pub fn ahead_words() -> Markup {
    html! { p.soft.ahead-words { "Codes in dashes come with the print and may still change: write them on nothing." } }
}

/// Rows with errors, which are left out: those that name what was asked for first, then how many there are.
pub fn left_out(desk: &Desk, left: Option<&LeftOut>) -> Markup {
    let Some(left) = left else { return html! {} };
    let most = left.naming.len().min(SPOKEN_OF);
    html! {
        @for row in &left.naming[..most] {
            p.alarm {
                "row " a href=(row_link(desk, &row.line)) { code dir="auto" { (row.line) } } " names " bdi { (row.place) }
                " and has an error: it is left out until it is put right"
                @if let Some(supply) = &row.supply { "; its supply: " strong { bdi { (cut(supply, AROUND)) } } }
            }
        }
        p.mind {
            a href=(desk.link("/problems?which=errors")) { (counted(left.errors, "error")) }
            " in settings and lists: "
            @match left.rows {
                0 => "what they concern may be missing here",
                1 => "1 row is left out and may be missing here",
                rows => { (rows) " rows are left out and may be missing here" }
            }
        }
    }
}

/// A connector, leading to its page.
pub fn connector(desk: &Desk, name: &str) -> Markup {
    html! { a.place href=(connector_link(desk, name)) { (name) } }
}

/// The insulation colours of a wire: a piece of it, its letters, and its words for those who do not see it.
pub fn colour(typed: &str) -> Markup {
    let Some(colour) = WireColour::from_cell(typed) else { return html! {} };
    html! {
        span.colour title=(colour.in_words()) {
            @if let Some(base) = colour.base() { (wire(base, colour.bar_stripe(), &colour.in_words())) }
            (typed)
        }
    }
}

fn wire(base: Colour, stripe: Option<Colour>, words: &str) -> Markup {
    let fill = |colour: Colour| {
        let [red, green, blue] = colour.print_colour();
        format!("#{red:02x}{green:02x}{blue:02x}")
    };
    html! {
        svg.wire viewBox="0 0 36 12" width="36" height="12" role="img" aria-label=(words) {
            rect x="0.5" y="0.5" width="35" height="11" rx="2" fill=(fill(base)) stroke="#555" {}
            @if let Some(stripe) = stripe { rect x="1" y="4" width="34" height="4" fill=(fill(stripe)) {} }
        }
    }
}

/// A message: what stands in backticks is the user's own, and set apart.
pub fn words(text: &str) -> Markup {
    html! {
        @for (at, part) in text.split('`').enumerate() {
            @if at % 2 == 1 { code dir="auto" { (part) } } @else { (part) }
        }
    }
}

/// What to do: where a terminal has a command, the page on which it is done. `desk` is none where no job is at hand: then pages have
/// their names alone.
pub fn remedy(desk: Option<&Desk>, remedy: &Remedy) -> Markup {
    html! {
        @for part in remedy.parts() {
            @match part {
                Part::Words(text) => (words(text)),
                Part::Means(terminal, page) => (means(desk, terminal, page)),
            }
        }
    }
}

fn means(desk: Option<&Desk>, terminal: &str, page: &Page) -> Markup {
    let way = |path: &str, name: &str| {
        let link = desk.map(|desk| desk.link(path));
        html! { @match link { Some(link) => a href=(link) { (name) }, None => strong { (name) } } }
    };
    match page {
        Page::Print => way("/print", "Print"),
        Page::PrintOnNewSheets => way("/print?new_sheet=1", "on new sheets"),
        Page::Sheets => way("/print/sheets", "Sheets"),
        Page::Blanks => way("/print/blanks", "Blanks"),
        Page::Circuits => way("/circuits", "Circuits"),
        Page::Decided => way("/circuits/decisions", "Decided here"),
        Page::Problems => way("/problems", "Problems"),
        Page::Record(code) => way(&format!("/{code}"), &format!("the record of {code}")),
        Page::OnRecord(code, what) => {
            html! { strong { (what) } " at " (way(&format!("/{code}"), &format!("the record of {code}"))) }
        }
        Page::Find => html! { "the find box above" },
        Page::Here(name) => html! { strong { (name) } },
        Page::Words(text) => words(text),
        Page::Terminal => html! { (words(terminal)) " in a terminal" },
    }
}

/// A place in a list, leading to its row.
pub fn place_in_list(desk: &Desk, origin: &Origin) -> Markup {
    html! {
        @match line_name(origin) {
            Some(line) => a href=(row_link(desk, &line)) { code dir="auto" { (origin) } },
            None => code dir="auto" { (origin) },
        }
    }
}

/// A moment, in universal time; the script of a page turns it into the browser's own time.
pub fn moment(at: Timestamp) -> Markup {
    html! { time datetime=(at) { (recall::moment(at)) } }
}

/// A moment as records keep it.
pub fn moment_named(at: &str) -> Markup {
    at.parse().map_or_else(|_| html! { (at) }, moment)
}

/// Severity in a word.
pub const fn severity(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
    }
}

/// A problem of the job: what is wrong and where, its line with the cell marked, what it speaks of, and what to do.
pub fn problem(desk: &Desk, job: &Snapshot, problem: &Problem) -> Markup {
    whole(problem, Some((desk, job)))
}

/// The same where no job has the rows: of settings that cannot be read, or of a list that is not taken yet.
pub fn problem_alone(problem: &Problem) -> Markup {
    whole(problem, None)
}

fn whole(problem: &Problem, of: Option<(&Desk, &Snapshot)>) -> Markup {
    let severity = severity(problem.severity);
    let place = |origin: &Origin| match of {
        Some((desk, _)) => place_in_list(desk, origin),
        None => html! { code dir="auto" { (origin) } },
    };
    html! {
        article.problem.(severity) {
            p {
                strong { (severity) } " "
                @if let Some(origin) = &problem.origin { (place(origin)) ": " }
                (words(&problem.message))
            }
            @if let Some(origin) = &problem.origin { (excerpt(origin)) }
            @for related in &problem.related {
                p.soft { (words(&related.note)) ": " (place(&related.origin)) }
            }
            @if let Some((desk, job)) = of { (spoken_of(desk, job, problem)) }
            @if let Some(remedy) = &problem.remedy { p.remedy { (self::remedy(of.map(|(desk, _)| desk), remedy)) } }
        }
    }
}

/// So many problems are shown before something is printed.
const SEEN: usize = 24;

/// What must be seen before these are printed: what touches them as a whole, the others in one line.
pub fn to_be_seen<'p>(
    desk: &Desk,
    job: &Snapshot,
    problems: impl Iterator<Item = &'p Problem>,
    chosen: &Chosen,
) -> Markup {
    let (own, others): (Vec<&Problem>, Vec<&Problem>) =
        problems.filter(|problem| must_be_seen(problem)).partition(|problem| job.touches(chosen, problem));
    let more = own.len().saturating_sub(SEEN);
    html! {
        @for one in own.iter().take(SEEN) { (problem(desk, job, one)) }
        @if more + others.len() > 0 {
            p.seen {
                a href=(desk.link("/problems?which=seen")) {
                    @if more > 0 { (counted(more, "more warning")) @if !others.is_empty() { ", and " } }
                    @if !others.is_empty() { (counted(others.len(), "warning")) " of other ends" }
                }
            }
        }
    }
}

/// So many ends and connectors that a problem speaks of are named.
const SPOKEN_OF: usize = 6;

/// The ends and connectors that a problem speaks of, each leading to its page.
pub fn spoken_of(desk: &Desk, job: &Snapshot, problem: &Problem) -> Markup {
    let spoken = job.spoken_of(problem);
    let ends = spoken.ends.iter().map(|&(circuit, end)| {
        let place = job.reading.circuits.all()[circuit].ends()[end].place.to_string();
        let codes = &job.issued.circuits[circuit];
        let is_issued = job.codes.contains(&codes.code);
        html! {
            @if is_issued { (tag(desk, codes.code.as_str(), Some(&codes.letters[end].to_string()))) " " }
            a.place href=(place_link(desk, &place)) { bdi { (place) } }
        }
    });
    let all: Vec<Markup> = spoken.connectors.iter().map(|id| connector(desk, id.as_str())).chain(ends).collect();
    html! {
        @if !all.is_empty() {
            p.spoken {
                @for (at, one) in all.iter().take(SPOKEN_OF).enumerate() { @if at > 0 { " · " } (one) }
                @if all.len() > SPOKEN_OF { " and " (all.len() - SPOKEN_OF) " more" }
            }
        }
    }
}

/// Characters of a line that are shown before a mark, within it, and behind it.
const AROUND: usize = 60;

/// The line of a place, the place marked; nothing of a file as a whole.
pub fn excerpt(origin: &Origin) -> Markup {
    let Some(Excerpt { text, marked, .. }) = origin.excerpt() else { return html! {} };
    let (before, marked, after) = (&text[..marked.start], &text[marked.clone()], &text[marked.end..]);
    let first = before.char_indices().rev().nth(AROUND - 1).map_or(0, |(at, _)| at);
    html! {
        pre.excerpt dir="auto" {
            @if first > 0 { "…" }
            (&before[first..]) mark { (cut(marked, 2 * AROUND)) } (cut(after, AROUND))
        }
    }
}

/// A text of at most so many characters.
pub fn cut(text: &str, most: usize) -> Cow<'_, str> {
    match text.char_indices().nth(most) {
        Some((at, _)) => Cow::Owned(format!("{}…", &text[..at])),
        None => Cow::Borrowed(text),
    }
}

/// The box of a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tick {
    /// The step is to be done.
    Open,
    /// It is done, by the notes that stand.
    Done,
}

impl From<bool> for Tick {
    fn from(is_done: bool) -> Self {
        if is_done { Self::Done } else { Self::Open }
    }
}
