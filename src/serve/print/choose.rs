//! The page on which tags are chosen: how many of which kind on what stock, how they are laid, what is to mind, and how they look.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use axum::extract::{Query, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use maud::{Markup, PreEscaped, html};

use super::asked::Asked;
use super::laid::{pages_of, stock};
use super::press::once;
use super::sheets::{Mark, legend};
use crate::base::{Problem, Purpose, Remedy, TagKind, counted};
use crate::layout::Diameter;
use crate::layout::wire::MEASURE_FIRST;
use crate::pages::Order;
use crate::run::check::{Checkup, check};
use crate::run::connectors::{NamedConnector, named_connector};
use crate::run::preview::first_tag;
use crate::run::preview_pages::MOST_KEPT;
use crate::run::reprinting::{AskedAgain, reprint};
use crate::run::sheets::{Laying, Rest, SheetWish};
use crate::run::shopping::Need;
use crate::run::spoken_of::Chosen;
use crate::run::tally::Tally;
use crate::run::wanted::ACTIONS;
use crate::run::{
    Choice, MOST_COPIES, Refused, RunFailure, Side, likely_renames, no_tags, printed_before, refused_by_purpose,
};
use crate::serve::access::Visitor;
use crate::serve::desk::Desk;
use crate::serve::fields::Fields;
use crate::serve::parts::{self, words};
use crate::serve::screen::{Screen, Tab};
use crate::serve::trouble::Trouble;

/// Dots an inch of their pictures: letters can be read on a screen.
const PICTURE_DPI: u16 = 110;
/// So many refused tags with one reason are named.
const NAMED: usize = 24;

/// The way to the pages beside this one.
pub fn ways(desk: &Desk, current: &str) -> Markup {
    let all = [("/print", "Choose"), ("/print/runs", "Runs"), ("/print/sheets", "Sheets"), ("/print/blanks", "Blanks")];
    html! {
        nav.ways aria-label="printing" {
            @for (path, name) in all {
                a href=(desk.link(path)) aria-current=[(path == current).then_some("page")] { (name) }
            }
        }
    }
}

/// Tags are chosen, and what comes of the choice is shown beside it.
pub async fn page(State(desk): State<Desk>, Query(fields): Query<Fields>, visitor: Visitor) -> Response {
    desk.look_hard(move |desk, job| shown(&Screen { desk, job, visitor: &visitor }, &Asked::of(&fields))).await
}

/// The page with what is asked for, and what comes of that.
///
/// # Errors
/// When the register cannot be read.
pub fn shown(screen: &Screen<'_>, asked: &Asked) -> Result<Markup, Trouble> {
    let body = html! {
        h1 { "Print tags" }
        (ways(screen.desk, "/print"))
        div.press.narrowed[!asked.fields.is_empty()] {
            p.to-choice { a.button.second href="#choose" { "Change the choice" } }
            (form(screen, asked))
            section #outcome aria-live="polite" aria-label="what would be printed" { (outcome(screen, asked)?) }
        }
    };
    Ok(screen.show(Tab::Print, "Print", body))
}

/// Fields that few need.
const FURTHER: [&str; 8] = ["branch", "action", "kind", "circuit", "removed", "apart", "no_connectors", "along"];

fn form(screen: &Screen<'_>, asked: &Asked) -> Markup {
    let reading = &screen.job.reading;
    let checked = |name: &str| asked.fields.has(name);
    let purpose = match (asked.wanted.work, asked.wanted.final_tags) {
        (true, false) => "work",
        (false, true) => "final",
        _ => "",
    };
    let purposes =
        [("", "work and final tags"), ("work", "work tags: before cutting"), ("final", "final tags: at termination")];
    let box_of = |name: &str, words: &str| {
        html! { label.tick { input type="checkbox" name=(name) value="1" checked[checked(name)]; " " (words) } }
    };
    let one_of = |name: &str, word: &str| {
        html! { label.tick { input type="checkbox" name=(name) value=(word) checked[asked.has(name, word)]; " " (word) } }
    };
    let words_of = |name: &str, what: &str, example: &str| {
        html! {
            label {
                (what)
                input type="text" name=(name) value=(asked.typed(name)) placeholder=(example) autocapitalize="off"
                    spellcheck="false";
            }
        }
    };
    let codes =
        [asked.typed("code"), asked.typed("place")].into_iter().filter(|typed| !typed.is_empty()).collect::<Vec<_>>();
    html! {
        form.choice #choose method="get" action=(screen.desk.link("/print")) data-swap="#outcome" data-live {
            h2 { "Which tags" }
            label { "Purpose" select name="purpose" {
                @for (value, words) in purposes { option value=(value) selected[value == purpose] { (words) } }
            } }
            label { "Codes and places" input type="text" name="code" value=(codes.join(", ")) placeholder="7KF4/A, J1/14"
                autocapitalize="off" spellcheck="false"; }
            (words_of("connector", "Connectors", "J1, J2"))
            (box_of("this_end", "not their far ends"))
            (box_of("changed", "only what is new or has changed"))
            (box_of("all", "every end, not only those that lose their housing"))
            details open[FURTHER.iter().any(|name| checked(name))] {
                summary { "Narrow it further" }
                (words_of("branch", "Branches", "aft run"))
                (words_of("circuit", "Circuits by designation", "E14"))
                fieldset { legend { "Actions" }
                    @for word in ACTIONS {
                        (one_of("action", word))
                    }
                }
                fieldset { legend { "Kinds of tag" }
                    @for (word, _) in TagKind::WORDS {
                        (one_of("kind", word))
                    }
                }
                (box_of("removed", "removed ends too"))
                (box_of("apart", "two tags for a doubled cavity"))
                (box_of("no_connectors", "none for connectors that stay whole"))
                (box_of("along", "marks along the wires too"))
            }
            h2 { "How" }
            label { "Copies of each" input type="number" name="copies" min="1" max=(MOST_COPIES) value=(asked.copies); }
            label { "Order" select name="order" {
                option value="" { "as the job has it" }
                @for (word, order) in Order::WORDS {
                    option value=(word) selected[asked.laying.order == Some(order)] { (word.replace('-', " ")) }
                }
            } }
            fieldset { legend { "Sheets of labels" }
                (box_of("new_sheet", "new sheets, although others are begun"))
                label { "or go on with sheet" input type="number" name="sheet" min="1" value=(asked.typed("sheet")); }
                label {
                    "or the first has lost its labels before"
                    input type="number" name="start_at" min="1" value=(asked.typed("start_at"));
                }
            }
            (box_of("headers", "a header label before the tags of each connector"))
            @if reading.has_errors() { (box_of("skip_problems", "leave out the rows that have errors")) }
            button.second.show type="submit" { "Show" }
        }
    }
}

/// What would be printed, or why nothing would.
fn outcome(screen: &Screen<'_>, asked: &Asked) -> Result<Markup, Trouble> {
    let reading = &screen.job.reading;
    if !asked.refused.is_empty() {
        return Ok(in_vain(screen.desk, asked.refused.iter().map(|(what, remedy)| (what.as_str(), remedy))));
    }
    if reading.has_errors() && !asked.skip_problems {
        return Ok(html! {
            p.alarm { "Nothing is printed while errors stand in the lists" }
            p { a href=(screen.desk.link("/problems")) { "Mend them" } ", or leave those rows out: then their ends get no tags." }
        });
    }
    let choice = match asked.choice(reading)? {
        Ok(choice) => choice,
        Err(found) => {
            return Ok(html! {
                (in_vain(screen.desk, found.iter().map(|one| (one.why.as_str(), &one.remedy))))
                (as_said(screen, asked)?)
            });
        }
    };
    if let Some(why) = no_tags(reading, &choice)? {
        return Ok(
            html! { p.mind { "No tags to print: " (parts::remedy(Some(screen.desk), &why.in_words(&choice))) } },
        );
    }
    let before = printed_before(reading, &choice)?;
    // What is usual is worked out once for all who look.
    let is_usual = asked.laying == Laying::default() && choice == Choice { side: Side::Both, ..Choice::default() };
    let own;
    let checkup = if is_usual {
        screen
            .job
            .checkup()
            .map_err(|failure| Trouble::refused(failure.to_string(), failure.remedy().unwrap_or_default()))?
    } else {
        own = match check(reading, &choice, &asked.laying) {
            Ok(checkup) => checkup,
            Err(RunFailure::Sheet(refusal)) => {
                return Ok(html! {
                    p.alarm { (words(&refusal.to_string())) }
                    p { (parts::remedy(Some(screen.desk), &refusal.remedy())) }
                    (usual_sheets(screen, asked))
                });
            }
            Err(failure) => return Err(failure.into()),
        };
        &own
    };
    let renames = likely_renames(reading)?;
    let pages: usize = checkup.needs.iter().map(pages_of).sum();
    let query = asked.query();
    Ok(html! {
        h2 { (headline(&checkup.tally)) }
        @if checkup.tally.kinds.len() > 1 {
            p { (checkup.tally.kinds.iter().map(|(kind, count)| counted(*count, kind.word())).collect::<Vec<_>>().join(", ")) }
        }
        @if let Some(due) = &checkup.due {
            @if due.is_empty() { p { "Nothing is new and nothing has changed since it was printed." } }
        }
        @if let Some(before) = before { p.mind { "Mind that " (parts::remedy(Some(screen.desk), &before.in_words())) "." } }
        @if checkup.tally.tags() > 0 {
            (screen.writing(html! {
                form method="post" action=(screen.desk.link("/print")) {
                    (once())
                    @for (name, value) in asked.fields.iter() { input type="hidden" name=(name) value=(value); }
                    button type="submit" { "Make the PDFs" }
                    span.soft { " every symbol is read back before they count" }
                }
            }))
        }
        (of_connectors(screen, asked))
        (mind(screen, checkup, &renames, &screen.job.chosen_by(&choice)))
        (refusals(screen.desk, &checkup.refused))
        @if !checkup.needs.is_empty() {
            h2 { "On what" }
            (usual_sheets(screen, asked))
            @if checkup.needs.iter().any(|need| matches!(need, Need::Sheets { laid, .. } if !laid.is_empty())) {
                (legend(&marks_of(&checkup.needs)))
            }
            @for need in &checkup.needs { (stock(screen, asked, need)?) }
        }
        @if checkup.tally.tags() > 0 {
            h2 { "One tag at its real size" }
            figure.real {
                img src=(screen.desk.link(&format!("/print/tag?{query}"))) alt="the first of these tags" loading="lazy";
                svg.check width="50mm" height="5mm" viewBox="0 0 50 5" role="img" aria-label="a line of 50 mm" {
                    path d="M0.15 0.5V4.5M49.85 0.5V4.5M0 2.5H50" fill="none" stroke="currentColor" stroke-width="0.3" {}
                }
                figcaption { "This line is 50 mm on paper; screens differ." }
            }
            h2 { (counted(pages, "page")) }
            div.pages {
                @for number in 1..=pages.min(MOST_KEPT) {
                    @let address = screen.desk.link(&format!("/print/page?{query}&n={number}"));
                    a href=(address) { img src=(address) alt=(format!("page {number}")) loading="lazy"; }
                }
            }
            @if pages > MOST_KEPT { p.soft { (pages - MOST_KEPT) " more are not shown; the PDFs have them all." } }
        }
    })
}

/// Tags that no list has any more can be printed as they said.
fn as_said(screen: &Screen<'_>, asked: &Asked) -> Result<Markup, Trouble> {
    let what = asked.wanted.code.clone();
    let purposes = vec![if asked.wanted.final_tags { Purpose::Final } else { Purpose::Work }];
    let again = AskedAgain { what, purposes, along: false, copies: asked.copies };
    let found = if again.what.is_empty() { None } else { Some(reprint(&screen.job.reading, &again)?) };
    let Some(found) = found.filter(|found| found.not_again.is_empty() && !found.as_said.is_empty()) else {
        return Ok(html! {});
    };
    Ok(screen.writing(html! {
        form method="post" action=(screen.desk.link("/print/again")) {
            (once())
            @for code in &again.what { input type="hidden" name="code" value=(code); }
            input type="hidden" name="copies" value=(asked.copies);
            @if asked.wanted.final_tags { input type="hidden" name="purpose" value="final"; }
            @for remark in &found.remarks { p { (words(remark)) } }
            button type="submit" { "Print as it said" }
        }
    }))
}

fn in_vain<'a>(desk: &Desk, found: impl Iterator<Item = (&'a str, &'a Remedy)>) -> Markup {
    html! { @for (why, remedy) in found { p.alarm { (words(why)) } p { (parts::remedy(Some(desk), remedy)) } } }
}

/// The marks that the sheets of these have: of a place that is lost, or where the next run goes on, is told only where one is.
fn marks_of(needs: &[Need]) -> Vec<Mark> {
    let sheets = || {
        needs.iter().flat_map(|need| match need {
            Need::Sheets { laid, .. } => &laid[..],
            _ => &[],
        })
    };
    let mut marks = vec![Mark::Now, Mark::Taken, Mark::Spoilt, Mark::Free];
    marks.extend(sheets().any(|laid| laid.rest == Rest::Kept && laid.left > 0).then_some(Mark::Next));
    marks.extend(sheets().any(|laid| laid.lost() > 0).then_some(Mark::Lost));
    marks
}

/// The way back from sheets that were asked for to those that are usual.
fn usual_sheets(screen: &Screen<'_>, asked: &Asked) -> Markup {
    let what = match asked.laying.sheets {
        SheetWish::Usual => return html! {},
        SheetWish::Number(number) => format!("Sheet {number} was asked for."),
        SheetWish::New => "New sheets were asked for.".to_owned(),
        SheetWish::StartAt(place) => format!("A new sheet was asked for that begins at label {place}."),
    };
    let query = asked.on_sheet(None);
    html! {
        p {
            (what) " "
            a.button.second href=(screen.desk.link(&format!("/print?{query}"))) { "Back to the usual choice of sheets" }
        }
    }
}

fn headline(tally: &Tally) -> String {
    let mut line = counted(tally.tags(), "tag");
    for (count, of) in [(tally.connectors, "of connectors"), (tally.marks, "along wires"), (tally.blanks, "blank")] {
        if count > 0 {
            let _ = write!(line, ", {count} {of}");
        }
    }
    line
}

/// What must be seen of the connectors that were asked for: who tags a wire has the others in his hand.
fn of_connectors(screen: &Screen<'_>, asked: &Asked) -> Markup {
    let job = screen.job;
    let named = asked.wanted.connector.iter().filter_map(|typed| match named_connector(job, typed) {
        NamedConnector::One(id) => Some(id),
        NamedConnector::OneOf(_) | NamedConnector::Unknown(_) => None,
    });
    html! {
        @for id in named.take(NAMED) {
            @for caution in job.near(&id).cautions() { p.alarm { (parts::connector(screen.desk, id.as_str())) ": " (caution) } }
        }
    }
}

/// What to mind before paper is spent.
fn mind(screen: &Screen<'_>, checkup: &Checkup, renames: &[Problem], chosen: &Chosen) -> Markup {
    let tally = &checkup.tally;
    let mut lines = tally.dangers_in_words();
    if tally.assumed > 0 {
        let (flags, assumed) = (counted(tally.assumed, "flag"), Diameter::assumed().length());
        lines.push(format!("{flags} made for a wire of {assumed}, because the diameter is not known"));
    }
    if tally.tabled > 0 {
        lines.push(format!(
            "{} made for a table value of the diameter: {MEASURE_FIRST}",
            counted(tally.tabled, "final tag")
        ));
    }
    for (kind, count) in &tally.no_symbol {
        let why = if kind.is_round() { "the wire is too thin for one" } else { "there is no room for one" };
        lines.push(format!("{} without a symbol: {why}", counted(*count, kind.word())));
    }
    for ((kind, usual), reasons) in &tally.stand_ins {
        let most = reasons.iter().max_by_key(|(_, tags)| tags.len());
        let count = reasons.values().map(Vec::len).sum();
        lines.extend(
            most.map(|(why, _)| format!("{} instead of the usual {usual}: {why}", counted(count, kind.word()))),
        );
    }
    lines.extend(tally.undrawn.iter().map(|(what, tags)| format!("{what} ({})", counted(tags.len(), "tag"))));
    if !tally.of_no_length.is_empty() {
        lines.push(format!(
            "{} without marks along them: their length is not known",
            counted(tally.of_no_length.len(), "wire")
        ));
    }
    if checkup.undecided > 0 {
        lines.push(format!("{} undecided yet", counted(checkup.undecided, "end")));
    }
    let problems = renames.iter().chain(&screen.job.reading.problems);
    html! {
        @if !lines.is_empty() { ul.mind { @for line in &lines { li { (words(line)) } } } }
        (parts::to_be_seen(screen.desk, screen.job, problems, chosen))
    }
}

/// Tags that cannot be made, each reason once.
pub fn refusals(desk: &Desk, refused: &[Refused]) -> Markup {
    let mut reasons: BTreeMap<String, Vec<&Refused>> = BTreeMap::new();
    for tag in refused {
        let near = tag.near.as_ref().map(|near| format!("; {near}")).unwrap_or_default();
        reasons.entry(format!("no {} tag: {}{near}", tag.purpose, tag.refusal)).or_default().push(tag);
    }
    html! {
        @if !refused.is_empty() {
            h2 { (refused_by_purpose(refused)) " that cannot be made" }
            @for (why, tags) in &reasons {
                div.problem {
                    p { (words(why)) }
                    p {
                        @for tag in tags.iter().take(NAMED) { (named(desk, &tag.name)) " " span.soft { (tag.place) } " " }
                        @if tags.len() > NAMED { "and " (tags.len() - NAMED) " more" }
                    }
                }
            }
        }
    }
}

/// A tag by its name as printed: `7KF4 A`, of a doubled cavity `7KF4 A+B`.
pub fn named(desk: &Desk, name: &str) -> Markup {
    match name.split_once(' ') {
        Some((code, letters)) if letters.chars().all(|c| c.is_ascii_uppercase() || c == '+') => {
            let first = letters.split('+').next().unwrap_or(letters);
            html! { a.tag href=(desk.link(&format!("/{code}/{first}"))) { (code) " " span.letter { (letters) } } }
        }
        _ => html! { span.tag { (name) } },
    }
}

/// One page of what would be printed, as a picture.
pub async fn picture(State(desk): State<Desk>, Query(fields): Query<Fields>) -> Response {
    desk.look_hard(move |_, job| {
        let number = fields.given("n").and_then(|number| number.parse().ok()).unwrap_or(1);
        let asked = Asked::of(&fields);
        let choice = asked.choice(&job.reading)?.map_err(|_| nothing())?;
        let drawn = job.page(&choice, &asked.laying, number, PICTURE_DPI)?.ok_or_else(nothing)?;
        Ok(([(header::CONTENT_TYPE, "image/png")], drawn).into_response())
    })
    .await
}

fn nothing() -> Trouble {
    Trouble::NotFound("there is no such page".to_owned())
}

/// The first of the chosen tags, at its real size.
pub async fn tag(State(desk): State<Desk>, Query(fields): Query<Fields>) -> Response {
    desk.look_hard(move |_, job| {
        let choice = Asked::of(&fields).choice(&job.reading)?.map_err(|_| nothing())?;
        let drawn = first_tag(&job.reading, &choice)?.ok_or_else(nothing)?;
        let svg = String::from_utf8(drawn.svg).map_err(|_| Trouble::Broken)?;
        let (width, height) = (drawn.size.width.as_mm(), drawn.size.height.as_mm());
        // A name space of its own keeps the whole tag together, and millimetres its size.
        let start = svg.find("<svg").unwrap_or(0);
        let page = html! {
            svg xmlns="http://www.w3.org/2000/svg" width=(format!("{width:.2}mm")) height=(format!("{height:.2}mm")) {
                (PreEscaped(&svg[start..]))
            }
        };
        Ok(([(header::CONTENT_TYPE, "image/svg+xml")], page.into_string()).into_response())
    })
    .await
}
