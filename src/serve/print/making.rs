//! Print runs, reprints and blanks are begun here. Each goes on in the background and leads to the page of its progress.

use std::sync::Arc;

use axum::Extension;
use axum::extract::{Form, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};

use super::asked::Asked;
use super::choose::{self, ways};
use super::press::{self, Ended, FormSent, Press, Turn, Work};
use crate::base::{Length, Purpose, TagKind, counted};
use crate::codes::MOST_BLANKS;
use crate::labels::AsSaid;
use crate::run::recall::blank::origin;
use crate::run::reprinting::{AskedAgain, reprint};
use crate::run::sheets::{Laying, spoilt_names};
use crate::run::{self, Choice, DIAMETERS, NotHeld, Printed, Proving, Reading, Request, RunFailure};
use crate::serve::access::Visitor;
use crate::serve::desk::Desk;
use crate::serve::fields::Fields;
use crate::serve::kept::or_again;
use crate::serve::parts;
use crate::serve::screen::{Screen, Tab};
use crate::serve::trouble::Trouble;

type Pressing = Extension<Arc<Press>>;

/// Where the progress of a work is shown.
pub fn to_progress(desk: &Desk, id: u64) -> Response {
    Redirect::to(&desk.link(&format!("/print/runs/new/{id}"))).into_response()
}

/// Makes what was chosen.
pub async fn tags(
    State(desk): State<Desk>,
    Extension(press): Pressing,
    visitor: Visitor,
    Form(fields): Form<Fields>,
) -> Response {
    let form = FormSent::of(&fields);
    let asked = Asked::of(&fields);
    let own = desk.clone();
    desk.work(move |desk| {
        let job = desk.snapshot()?;
        // What can be told at once is told at once: by the page on which it is chosen, filled as it was.
        let is_withheld = job.reading.has_errors() && !asked.skip_problems;
        if !asked.refused.is_empty() || is_withheld || asked.choice(&job.reading)?.is_err() {
            let page = choose::shown(&Screen { desk, job: &job, visitor: &visitor }, &asked)?;
            return Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response());
        }
        let id = press.start(Turn::Printing, "Tags", form, move |work| {
            making(&own, work, |reading| {
                // The lists may have changed while it waited its turn.
                if reading.has_errors() && !asked.skip_problems {
                    return Ok(Err(Ended::trouble("the lists have errors by now; nothing was printed", None)));
                }
                Ok(asked
                    .choice(reading)?
                    .map(|choice| (choice, Vec::new(), asked.laying.clone(), "tags".to_owned()))
                    .map_err(|in_vain| {
                        let first = in_vain.into_iter().next();
                        first.map_or_else(Ended::default, |one| Ended::trouble(one.why, Some(one.remedy)))
                    }))
            })
        });
        Ok(to_progress(desk, id))
    })
    .await
}

type Ready = (Choice, Vec<AsSaid>, Laying, String);

/// A print run of what is ready.
fn making(desk: &Desk, work: &Work, ready: impl FnOnce(&Reading) -> Result<Result<Ready, Ended>, RunFailure>) -> Ended {
    with_reading(desk, |reading| {
        let (choice, as_said, laying, what) = match ready(reading)? {
            Ok(ready) => ready,
            Err(ended) => return Ok(ended),
        };
        let request = Request { choice, as_said, out: None, proof: Proving::Every, laying, what };
        run::print(reading, &request, desk.now(), work).map(ended)
    })
}

fn with_reading(desk: &Desk, work: impl FnOnce(&Reading) -> Result<Ended, RunFailure>) -> Ended {
    let failed = |failure: &RunFailure| Ended::trouble(failure.to_string(), failure.remedy());
    match desk.held_snapshot() {
        Ok(job) => work(&job.reading).unwrap_or_else(|failure| failed(&failure)),
        Err(NotHeld::Failed(failure)) => failed(&failure),
        Err(why @ NotHeld::Settings(_)) => Ended::trouble(why.to_string(), None),
    }
}

fn ended(printed: Printed) -> Ended {
    let run = printed.run.map(|run| run.get());
    let mut ended = Ended { run, ..Ended::default() };
    if run.is_none() {
        ended.lines.push("nothing was printed".to_owned());
    }
    ended.printed = Some(printed);
    ended
}

/// Prints tags again: those of codes and places, or those of spoilt labels.
pub async fn again(
    State(desk): State<Desk>,
    Extension(press): Pressing,
    visitor: Visitor,
    Form(fields): Form<Fields>,
) -> Response {
    let own = desk.clone();
    desk.work(move |desk| {
        let named = fields.all("code").map(str::trim).filter(|code| !code.is_empty());
        let mut what: Vec<String> = named.map(str::to_owned).collect();
        if fields.given("spoilt").is_some() {
            what.extend(spoilt_names(desk.folder())?.0);
        }
        if what.is_empty() {
            return Err(Trouble::refused(
                "no tag was named to be printed again",
                "name a code, as `7KF4/A`, or a place",
            ));
        }
        let purposes = match fields.given("purpose") {
            Some("final") => vec![Purpose::Final],
            Some("both") => vec![Purpose::Work, Purpose::Final],
            _ => vec![Purpose::Work],
        };
        let of_making = fields.iter().filter(|(name, _)| *name == "copies" || name.contains("sheet"));
        let mut asked = Asked::of(&of_making.collect());
        if let Some((what, remedy)) = asked.refused.pop() {
            return Err(Trouble::refused(what, remedy));
        }
        let again = AskedAgain { what, purposes, along: fields.given("along").is_some(), copies: asked.copies };
        let found = reprint(&desk.snapshot()?.reading, &again)?;
        if let Some(first) = found.not_again.first() {
            let nearest: Vec<String> = first.nearest.iter().map(|near| near.code.to_string()).collect();
            let remedy = match &first.remedy {
                Some(remedy) => remedy.clone(),
                None if nearest.is_empty() => "nothing was printed".into(),
                None => format!("like it: {}", nearest.join(", ")).into(),
            };
            return Err(Trouble::refused(&first.why, remedy));
        }
        found.remarks.iter().for_each(|remark| visitor.tell(remark.as_str()));
        let title = format!("Again: {}", again.what.join(", "));
        let id = press.start(Turn::Printing, title, FormSent::of(&fields), move |work| {
            making(&own, work, |reading| {
                let found = reprint(reading, &again)?;
                Ok(match found.not_again.into_iter().next() {
                    Some(not) => Err(Ended::trouble(not.why, not.remedy)),
                    None => Ok((found.choice, found.as_said, asked.laying, found.what)),
                })
            })
        });
        Ok(to_progress(desk, id))
    })
    .await
}

/// Kinds of tag that are hung on a wire as it is.
const BLANK_KINDS: [TagKind; 3] = [TagKind::Flag, TagKind::Wrap, TagKind::TieOn];

/// Blanks that nobody has assigned, and new ones.
pub async fn blanks_page(State(desk): State<Desk>, visitor: Visitor) -> Response {
    desk.look(move |desk, job| blanks_shown(&Screen { desk, job, visitor: &visitor })).await
}

fn blanks_shown(screen: &Screen<'_>) -> Result<Markup, Trouble> {
    const TOLD: usize = 200;
    let Screen { desk, job, visitor } = *screen;
    let action = desk.link("/print/blanks");
    let typed = visitor.typed(&action);
    let open: Vec<_> = run::blanks(&job.reading)?.into_iter().filter(|blank| blank.assigned.is_none()).collect();
    let body = html! {
        h1 { "Blanks" }
        (ways(desk, "/print/blanks"))
        p { "A blank is a coded tag that belongs to nothing yet: hang one on a wire that is in no chart, and tell later what it proved to be." }
        (screen.writing(html! {
            form.tell id=[typed.id()] method="post" action=(action) {
                (press::once())
                label { "How many" input type="number" name="count" min="1" max=(MOST_BLANKS) value=(typed.value("count", "24")) required; }
                label { "Kind" select name="kind" {
                    option value="" { "the usual work tag" }
                    @for kind in BLANK_KINDS { option value=(kind.word()) selected[typed.has("kind", kind.word())] { (kind.word()) } }
                } }
                label { "For wires of, in mm" input type="text" inputmode="decimal" name="diameter" value=(typed.value("diameter", "")) placeholder="2.0"; }
                button type="submit" { "Print blanks" }
            }
        }))
        h2 { (counted(open.len(), "blank")) " not assigned yet" }
        ul.blanks { @for blank in open.iter().rev().take(TOLD) {
            li { (parts::tag(desk, blank.code.as_str(), None)) " " span.soft { (origin(blank)) } }
        } }
        @if open.len() > TOLD { p.soft { (open.len() - TOLD) " more" } }
    };
    Ok(screen.show(Tab::Print, "Blanks", body))
}

/// Prints blanks.
pub async fn blanks(
    State(desk): State<Desk>,
    Extension(press): Pressing,
    visitor: Visitor,
    Form(fields): Form<Fields>,
) -> Response {
    desk.work(move |desk| {
        let came = begin_blanks(desk, &press, &fields);
        let action = desk.link("/print/blanks");
        or_again(came, (desk, &visitor), (&action, &fields), blanks_shown)
    })
    .await
}

fn begin_blanks(desk: &Desk, press: &Arc<Press>, fields: &Fields) -> Result<Response, Trouble> {
    let own = desk.clone();
    let count = fields.text("count").parse::<u32>().ok().filter(|count| (1..=MOST_BLANKS).contains(count));
    let count = count.ok_or_else(|| {
        Trouble::refused(
            format!("there cannot be `{}` blanks", fields.text("count")),
            format!("ask for 1 to {MOST_BLANKS}"),
        )
    })?;
    let kind = match fields.text("kind") {
        "" => None,
        typed => Some(TagKind::from_word(typed).filter(|kind| BLANK_KINDS.contains(kind)).ok_or_else(|| {
            let kinds = BLANK_KINDS.map(|kind| format!("`{kind}`")).join(", ");
            Trouble::refused(format!("there are no blanks of the kind `{typed}`"), format!("choose one of {kinds}"))
        })?),
    };
    let diameter = match fields.text("diameter").replace(',', ".") {
        typed if typed.is_empty() => None,
        typed => Some(typed.parse().ok().filter(|mm| DIAMETERS.contains(mm)).map(Length::mm).ok_or_else(|| {
            Trouble::refused(
                format!("a wire cannot be `{typed}` mm thick"),
                format!("tell one from {} to {} mm", DIAMETERS.start(), DIAMETERS.end()),
            )
        })?),
    };
    let title = format!("{} to write on", counted(count as usize, "blank"));
    let id = press.start(Turn::Printing, title, FormSent::of(fields), move |work| {
        with_reading(&own, |reading| {
            let of_kind = kind.map(|kind| format!(" --kind {kind}")).unwrap_or_default();
            let (choice, what) = (Choice::default(), format!("blanks {count}{of_kind}"));
            let (laying, proof) = (Laying::default(), Proving::Every);
            let request = Request { choice, as_said: Vec::new(), out: None, proof, laying, what };
            run::print_blanks(reading, count, kind, diameter, &request, own.now(), work).map(ended)
        })
    });
    Ok(to_progress(desk, id))
}
