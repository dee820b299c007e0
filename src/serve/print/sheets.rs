//! Sheets of labels as they lie before one: which places are used, spoilt or free; and what a person tells of them.

use std::fmt::Write as _;

use axum::extract::{Form, State};
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};

use super::choose::ways;
use super::press::once;
use crate::base::counted;
use crate::codes::{SheetNumber, Telling};
use crate::pages::{Geometry, Sheet, Stock};
use crate::run::sheets::{
    MOST_LASER_PASSES, SheetState, Told, numbers_from_typed, sheets, spoilt_names, tell as tell_of,
};
use crate::serve::access::Visitor;
use crate::serve::desk::Desk;
use crate::serve::fields::Fields;
use crate::serve::kept::or_again;
use crate::serve::screen::{Screen, Tab};
use crate::serve::trouble::Trouble;

/// So many sheets are drawn.
const DRAWN: usize = 24;

/// What is told of sheets and runs.
const TOLD: [(&str, &str); 3] = [
    ("spoilt", "labels are spoilt"),
    ("gone", "the sheet is gone"),
    ("unprinted", "a run never went through the printer"),
];

/// What a place of a sheet is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mark {
    /// It takes a tag.
    Free,
    /// It takes the next one.
    Next,
    /// It is free, and the printer takes its sheet no more.
    Lost,
    /// It gets a tag with this run.
    Now,
    /// It has its tag, or was gone before.
    Taken,
    /// It was told to be spoilt.
    Spoilt,
    /// The printer does not reach it.
    Unreached,
}

impl Mark {
    const fn class(self) -> &'static str {
        match self {
            Self::Free => "free",
            Self::Next => "next",
            Self::Lost => "lost",
            Self::Now => "now",
            Self::Taken => "taken",
            Self::Spoilt => "spoilt",
            Self::Unreached => "unreached",
        }
    }

    const fn words(self) -> &'static str {
        match self {
            Self::Free => "free",
            Self::Next => "free, and the next run goes on here",
            Self::Lost => "lost: the last pass of its sheet",
            Self::Now => "used by this run",
            Self::Taken => "used before",
            Self::Spoilt => "spoilt",
            Self::Unreached => "out of the printer's reach",
        }
    }
}

/// A sheet that is drawn.
pub struct SheetMap<'a> {
    /// Its places.
    pub sheet: &'a Sheet,
    /// What each is, counted from 1.
    pub mark: &'a dyn Fn(u32) -> Mark,
}

impl SheetMap<'_> {
    /// As a picture: what a place is stands in its form, not in its colour alone.
    pub fn draw(&self, name: &str) -> Markup {
        let page = self.sheet.page();
        let (width, height) = (page.width.as_mm(), page.height.as_mm());
        let places = (1..).map_while(|place: u32| Some((place, self.sheet.place(place as usize - 1)?)));
        let all: Vec<_> = places.map(|(place, area)| (place, area, (self.mark)(place))).collect();
        let count = |mark: Mark| all.iter().filter(|(_, _, own)| *own == mark).count();
        let mut words = format!(
            "{name}: {} used now, {} used before, {} spoilt, {} free",
            count(Mark::Now),
            count(Mark::Taken),
            count(Mark::Spoilt),
            count(Mark::Free) + count(Mark::Next)
        );
        let lost = count(Mark::Lost);
        if lost > 0 {
            let _ = write!(words, ", {lost} lost");
        }
        html! {
            svg.sheet viewBox=(format!("-1 -1 {:.1} {:.1}", width + 2.0, height + 2.0)) role="img" aria-label=(words) {
                rect.paper width=(format!("{width:.1}")) height=(format!("{height:.1}")) {}
                @for (_, area, mark) in &all {
                    @let (left, top) = (area.left().as_mm(), area.top().as_mm());
                    @let (right, bottom) = (left + area.size.width.as_mm(), top + area.size.height.as_mm());
                    @let class = mark.class();
                    rect.(class) x=(format!("{:.1}", left + 0.8)) y=(format!("{:.1}", top + 0.8)) rx="1.5"
                        width=(format!("{:.1}", (right - left - 1.6).max(0.5))) height=(format!("{:.1}", (bottom - top - 1.6).max(0.5))) {}
                    @match mark {
                        Mark::Taken => path.line d=(format!("M{left:.1} {bottom:.1}L{right:.1} {top:.1}")) {},
                        Mark::Spoilt => path.line d=(format!("M{left:.1} {bottom:.1}L{right:.1} {top:.1}M{left:.1} {top:.1}L{right:.1} {bottom:.1}")) {},
                        Mark::Next => {
                            circle.dot cx=(format!("{:.1}", (left + right) / 2.0)) cy=(format!("{:.1}", (top + bottom) / 2.0)) r=(format!("{:.1}", ((bottom - top) / 5.0).clamp(1.0, 5.0))) {}
                        },
                        Mark::Free | Mark::Now | Mark::Lost | Mark::Unreached => {},
                    }
                }
            }
        }
    }
}

/// What the forms of places mean.
pub fn legend(marks: &[Mark]) -> Markup {
    html! { ul.legend { @for mark in marks { li { span.key.(mark.class()) {} " " (mark.words()) } } } }
}

/// Sheets of labels that are begun, spoilt or worn out.
pub async fn page(State(desk): State<Desk>, visitor: Visitor) -> Response {
    desk.look(move |desk, job| shown(&Screen { desk, job, visitor: &visitor })).await
}

fn shown(screen: &Screen<'_>) -> Result<Markup, Trouble> {
    let desk = screen.desk;
    let action = desk.link("/print/sheets");
    let typed = screen.visitor.typed(&action);
    let states = sheets(desk.folder())?;
    let (spoilt, marks) = spoilt_names(desk.folder())?;
    let (takes, over): (Vec<&SheetState>, Vec<&SheetState>) = states.iter().partition(|state| state.takes_tags());
    let (open, unprinted): (Vec<&SheetState>, Vec<&SheetState>) =
        takes.into_iter().partition(|state| !state.sheet.runs.is_empty());
    let body = html! {
        h1 { "Sheets of labels" }
        (ways(desk, "/print/sheets"))
        p {
            "The number of a sheet stands in its margin. A run goes on where a begun sheet suits it; put it in again the same way "
            "round, the printed end as it was."
        }
        @if !open.is_empty() { (legend(&[Mark::Taken, Mark::Spoilt, Mark::Free, Mark::Next])) }
        @if open.is_empty() { p { "No sheet is begun that takes more tags." } }
        div.maps { @for state in open.iter().rev().take(DRAWN) { (drawn(desk, state)) } }
        @if open.len() > DRAWN { p.soft { (open.len() - DRAWN) " more that are begun are not drawn" } }
        @if !spoilt.is_empty() {
            h2 { "Spoilt, not printed again yet" }
            p { (spoilt.join(", ")) }
            (screen.writing(html! {
                form method="post" action=(desk.link("/print/again")) {
                    (once())
                    input type="hidden" name="spoilt" value="1";
                    button type="submit" { "Print " (counted(spoilt.len(), "spoilt tag")) " again" }
                }
            }))
        }
        @if !marks.is_empty() { p.soft { (marks.join(", ")) ": marks along wires are printed again with the tags of their wire" } }
        h2 { "Tell of a sheet" }
        (screen.writing(html! {
            form.tell id=[typed.id()] method="post" action=(action) {
                label { "What" select name="what" {
                    @for (what, words) in TOLD { option value=(what) selected[typed.has("what", what)] { (words) } }
                } }
                label { "Sheet, or run" input type="text" inputmode="numeric" name="number" required placeholder="12"
                    value=(typed.value("number", "")); }
                label { "Labels" input type="text" name="labels" placeholder="17, 20-22" value=(typed.value("labels", "")); }
                label.tick { input type="checkbox" name="undo" value="1" checked[typed.has("undo", "1")]; " not so after all" }
                button type="submit" { "Tell" }
            }
            p.soft { "Labels are counted from the top left, row by row, slices each for itself." }
        }))
        @if !unprinted.is_empty() {
            h2 { "Numbered, never printed" }
            ul { @for state in unprinted.iter().rev().take(100) {
                li {
                    "sheet " (state.sheet.number) ", " (state.sheet.stock) ": " (counted(state.free.len(), "label")) " free; "
                    a href=(desk.link(&format!("/print?sheet={}", state.sheet.number))) { "print on this one" }
                }
            } }
        }
        @if !over.is_empty() {
            h2 { "Full, worn out or gone" }
            ul { @for state in over.iter().rev().take(100) {
                li { "sheet " (state.sheet.number) ", " (state.sheet.stock) ": " (standing(state)) }
            } }
        }
    };
    Ok(screen.show(Tab::Print, "Sheets of labels", body))
}

fn standing(state: &SheetState) -> String {
    if state.sheet.is_gone {
        "gone".to_owned()
    } else if state.free.is_empty() {
        "no label is free".to_owned()
    } else {
        format!("went through the laser printer {MOST_LASER_PASSES} times; {} lost", counted(state.free.len(), "label"))
    }
}

fn drawn(desk: &Desk, state: &SheetState) -> Markup {
    let used = &state.sheet;
    let mark = |place: u32| {
        if used.spoilt.contains(&place) {
            Mark::Spoilt
        } else if used.is_taken(place) {
            Mark::Taken
        } else if state.free.last() == Some(&place) {
            Mark::Next
        } else {
            Mark::Free
        }
    };
    html! {
        figure {
            @if let Some(Geometry::Sheet(sheet)) = state.stock.as_ref().map(Stock::geometry) {
                (SheetMap { sheet, mark: &mark }.draw(&format!("sheet {}", used.number)))
            }
            figcaption {
                strong { "sheet " (used.number) } ", " (used.stock) ": " (state.free.len()) " free"
                @if state.printer == Some(crate::pages::PrinterKind::Laser) { ", pass " (used.runs.len()) " of " (MOST_LASER_PASSES) }
                "; run " @for (at, run) in used.runs.iter().enumerate() { @if at > 0 { ", " } a href=(desk.link(&format!("/print/runs/{run}"))) { (run) } }
                br; a href=(desk.link(&format!("/print?sheet={}", used.number))) { "print on this one" }
            }
        }
    }
}

/// Tells of a sheet or a run what only a person can see, or takes it back.
pub async fn tell(State(desk): State<Desk>, visitor: Visitor, Form(fields): Form<Fields>) -> Response {
    desk.work(move |desk| {
        let action = desk.link("/print/sheets");
        or_again(telling(desk, &visitor, &fields), (desk, &visitor), (&action, &fields), shown)
    })
    .await
}

fn telling(desk: &Desk, visitor: &Visitor, fields: &Fields) -> Result<Response, Trouble> {
    let numbers = |name: &str| {
        numbers_from_typed(fields.text(name))
            .map_err(|wanted| Trouble::refused(format!("`{}` is no number", fields.text(name)), wanted))
    };
    let telling = if fields.text("undo").is_empty() { Telling::Holds } else { Telling::TakenBack };
    let sheet = |number: u32| {
        SheetNumber::new(number)
            .ok_or_else(|| Trouble::refused("there is no sheet 0", "the number stands in its margin"))
    };
    let after_all = match telling {
        Telling::Holds => "",
        Telling::TakenBack => " after all: taken back",
    };
    let (told, words) = match fields.text("what") {
        "spoilt" => {
            let number = match numbers("number")?[..] {
                [number] => sheet(number)?,
                _ => {
                    return Err(Trouble::refused(
                        format!("labels are told of one sheet at a time, not of `{}`", fields.text("number")),
                        "tell of each sheet by itself",
                    ));
                }
            };
            let places = numbers("labels")?;
            let words = format!("sheet {number}: {} spoilt{after_all}", counted(places.len(), "label"));
            (Told::Spoilt(number, places), words)
        }
        "gone" => {
            let sheets = numbers("number")?.into_iter().map(sheet).collect::<Result<Vec<_>, _>>()?;
            (Told::Gone(sheets), format!("sheet {} gone{after_all}", fields.text("number")))
        }
        "unprinted" => {
            let words = format!(
                "run {} never printed{after_all}; its labels are free as long as that holds",
                fields.text("number")
            );
            (Told::Unprinted(numbers("number")?), words)
        }
        other => {
            return Err(Trouble::refused(format!("nobody tells `{other}` of a sheet"), "choose one of the list"));
        }
    };
    tell_of(desk.folder(), &told, telling, desk.now()).map_err(sheet_trouble)?;
    visitor.tell(words);
    Ok(Redirect::to(&desk.link("/print/sheets")).into_response())
}

/// A sheet that was named wrongly is no fault of the disk.
fn sheet_trouble(failure: crate::run::RunFailure) -> Trouble {
    match failure {
        crate::run::RunFailure::Sheet(refusal) => Trouble::refused(refusal.to_string(), refusal.remedy()),
        other => other.into(),
    }
}
