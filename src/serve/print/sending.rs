//! Files of a run to a printer: the form, and the job while it is followed.

use std::sync::Arc;
use std::time::Duration;

use axum::Extension;
use axum::extract::{Form, State};
use axum::response::Response;
use maud::{Markup, html};

use super::making::to_progress;
use super::press::{Ended, FormSent, Press, Turn, Work, once};
use super::runs;
use crate::base::{PrinterAddress, counted};
use crate::run::past::PastRun;
use crate::run::sendable::{Sendable, sendable};
use crate::run::sheets::{after_printing, before_printing};
use crate::run::trying::Untried;
use crate::run::{Job, Snapshot};
use crate::send::{self, COPIES, SendFailure, Told, Wish};
use crate::serve::access::Visitor;
use crate::serve::desk::Desk;
use crate::serve::fields::Fields;
use crate::serve::kept::or_again;
use crate::serve::parts::moment_named;
use crate::serve::screen::Screen;
use crate::serve::trouble::Trouble;

type Pressing = Extension<Arc<Press>>;

/// So long a job may stand still before it is left to the printer.
const PATIENCE: Duration = Duration::from_secs(10 * 60);

/// What was sent of a run, and how it is sent; or why it cannot be: the rest of its page is good all the same.
pub fn form(screen: &Screen<'_>, past: &PastRun) -> Markup {
    form_of(screen, past)
        .unwrap_or_else(|why| html! { h2 { "It cannot be sent from here" } (why.told(Some(screen.desk))) })
}

fn form_of(screen: &Screen<'_>, past: &PastRun) -> Result<Markup, Trouble> {
    let (desk, job) = (screen.desk, &screen.job.reading.job);
    let there: Vec<_> = past.files.iter().filter(|file| past.pdf(&file.file).is_some()).collect();
    if there.is_empty() {
        return Ok(html! {});
    }
    let sent = past.folder.as_deref().map(send::sent).transpose().map_err(failed)?.unwrap_or_default();
    let sendable = found(job, past.run.number.get())?;
    let address = |name: &str| {
        let file = sendable.files.iter().find(|file| file.name() == name)?;
        Some(file.table().of(job)?.address.as_ref()?.value.to_string())
    };
    let action = desk.link("/print/send");
    let typed = screen.visitor.typed(&action);
    let begins = there.iter().any(|file| !before_printing(file).is_empty());
    Ok(html! {
        h2 { "Send it to a printer" }
        @if !sent.is_empty() {
            ul { @for one in sent.iter().rev().take(10) {
                li {
                    (one.file) ": " (one.ended) ", " (moment_named(&one.at)) ", " (one.printer)
                    @if !one.why.is_empty() { ": " (one.why.join("; ")) }
                }
            } }
        }
        (screen.writing(html! {
            form.tell id=[typed.id()] method="post" action=(action) {
                (once())
                input type="hidden" name="run" value=(past.run.number);
                label { "File" select name="file" {
                    @for file in &there {
                        option value=(file.file) selected[typed.has("file", &file.file)] { (file.file) @if let Some(address) = address(&file.file) { " (" (address) ")" } }
                    }
                } }
                label {
                    "Printer"
                    input type="text" name="printer" value=(typed.value("printer", "")) placeholder="as in job.toml; or ipp://host/ipp/print" inputmode="url"
                        autocapitalize="off" spellcheck="false";
                }
                label { "Copies" input type="number" name="copies" min=(COPIES.start()) max=(COPIES.end()) value=(typed.value("copies", "1")); }
                label.tick { input type="checkbox" name="colour" value="1" checked[typed.has("colour", "1")]; " in colour" }
                label.tick { input type="checkbox" name="again" value="1" checked[typed.has("again", "1")]; " although it was printed already" }
                @if begins {
                    label.tick {
                        input type="checkbox" name="laid" value="1" required; " the begun sheets lie in the printer as told above"
                    }
                }
                div.row {
                    button type="submit" { "Send" }
                    button.second type="submit" name="check" value="1" formnovalidate { "Ask the printer first" }
                    button.second type="submit" formaction=(desk.link("/print/send/find")) formnovalidate { "Look for printers" }
                }
            }
        }))
    })
}

fn failed(failure: SendFailure) -> Trouble {
    Trouble::refused(failure.to_string(), failure.remedy().unwrap_or_default())
}

fn found(job: &Job, run: u32) -> Result<Sendable, Trouble> {
    match sendable(job, Some(&run.to_string()))? {
        Ok(found) => Ok(found),
        Err(Untried::Typed { what, remedy }) => Err(Trouble::refused(what, remedy)),
        Err(Untried::Problems(problems)) => Err(Trouble::Settings(problems)),
    }
}

/// Sends a file, or only asks the printer whether it would take it.
pub async fn send(
    State(desk): State<Desk>,
    Extension(press): Pressing,
    visitor: Visitor,
    Form(fields): Form<Fields>,
) -> Response {
    desk.work(move |desk| {
        let run = fields.given("run").and_then(|run| run.parse().ok());
        let run: u32 = run.ok_or_else(|| Trouble::refused("no run was named", "begin at the page of a run"))?;
        let came = begin(desk, &press, run, &fields);
        let action = desk.link("/print/send");
        or_again(came, (desk, &visitor), (&action, &fields), |screen| runs::shown(screen, &press, run))
    })
    .await
}

fn begin(desk: &Desk, press: &Arc<Press>, run: u32, fields: &Fields) -> Result<Response, Trouble> {
    let own = desk.clone();
    let printer = match fields.text("printer") {
        "" => None,
        typed => Some(PrinterAddress::from_typed(typed).map_err(|why| {
            Trouble::refused(format!("`{typed}` is no address of a printer: {}", why.what), why.remedy)
        })?),
    };
    let copies = match fields.text("copies") {
        "" => 1,
        typed => typed.parse().ok().filter(|copies| COPIES.contains(copies)).ok_or_else(|| {
            Trouble::refused(
                format!("there cannot be `{typed}` copies"),
                format!("ask for {} to {}", COPIES.start(), COPIES.end()),
            )
        })?,
    };
    let is_rehearsal = !fields.text("check").is_empty();
    let job = desk.snapshot()?;
    let mut sendable = found(&job.reading.job, run)?;
    let name = fields.text("file").to_owned();
    sendable.files.retain(|file| file.name() == name);
    let Some(file) = sendable.files.first() else {
        return Err(Trouble::refused(format!("run {run} has no file `{name}`"), "choose one of its files"));
    };
    let must_lie_in = file.record.as_ref().is_some_and(|record| !before_printing(record).is_empty());
    if must_lie_in && !is_rehearsal && fields.text("laid").is_empty() {
        return Err(Trouble::refused("begun sheets must lie in the printer first", "lay them in as told, and say so"));
    }
    let is_again = is_rehearsal || !fields.text("again").is_empty();
    let wish = Wish {
        printer,
        copies,
        is_colour: !fields.text("colour").is_empty(),
        is_again,
        is_rehearsal,
        patience: PATIENCE,
    };
    // A printer may be asked as often as one likes.
    let form = FormSent::of(fields).filter(|_| !is_rehearsal);
    let id = press.start(Turn::Sending, format!("{name} to the printer"), form, move |work| {
        let ended = send_it(&own, &job, sendable, wish, work);
        let ended = ended.unwrap_or_else(|failure| Ended::trouble(failure.to_string(), failure.remedy()));
        Ended { run: Some(run), ..ended }
    });
    Ok(to_progress(desk, id))
}

fn send_it(desk: &Desk, job: &Snapshot, sendable: Sendable, wish: Wish, work: &Work) -> Result<Ended, SendFailure> {
    work.say("the printer is asked what it takes");
    let is_rehearsal = wish.is_rehearsal;
    let plan = send::plan(&job.reading.job, sendable, wish)?;
    let mut lines = Vec::new();
    if is_rehearsal {
        for planned in &plan.files {
            lines.push(format!("{}, {}, as {}", planned.printer, planned.address(), planned.format()));
            lines.extend(planned.notes().iter().cloned());
            let refusal = match &planned.unasked {
                Some(failure) => Some(failure.to_string()),
                None => planned.validate().err().map(|failure| failure.to_string()),
            };
            match refusal {
                Some(why) => {
                    return Ok(Ended {
                        lines,
                        ..Ended::trouble(format!("the printer would not take it: {why}"), None)
                    });
                }
                None => lines.push("the printer would take it; nothing was printed".to_owned()),
            }
        }
        return Ok(Ended { lines, ..Ended::default() });
    }
    if let (Some(last), true) = (plan.left_out.first(), plan.files.is_empty()) {
        let what = format!("`{}` was printed already by {}", last.file, last.printer);
        let remedy = "say that it shall go once more; a second copy of a code must not end on another wire";
        return Ok(Ended::trouble(what, Some(remedy.into())));
    }
    let notes = || plan.files.iter().flat_map(|planned| planned.notes().iter().cloned());
    notes().for_each(|note| work.say(note));
    lines.extend(notes());
    let mut tell = |told: Told| work.say(told.to_string());
    let sent = send::send(&plan, desk.now(), &mut |_| true, &mut tell)?;
    let mut is_done = sent.len() == plan.files.len();
    for (planned, one) in plan.files.iter().zip(&sent) {
        is_done &= one.is_printed();
        lines.push(planned.ended(one));
        lines.extend(planned.file.record.as_ref().and_then(after_printing));
    }
    if is_done {
        return Ok(Ended { lines, ..Ended::default() });
    }
    let remedy = "the run and its codes stay as they are: when the printer is ready, send it again";
    Ok(Ended { lines, ..Ended::trouble("it was not printed", Some(remedy.into())) })
}

/// Looks for printers that tell of themselves.
pub async fn find(State(desk): State<Desk>, Extension(press): Pressing, _visitor: Visitor) -> Response {
    let id = press.start(Turn::Sending, "Printers", None, |work| {
        work.say("printers of this network are asked to tell of themselves");
        match send::find() {
            Ok(found) if found.is_empty() => Ended {
                lines: vec![
                    "no printer tells of itself in this network; it may still be there: its own menu tells its address"
                        .to_owned(),
                ],
                ..Ended::default()
            },
            Ok(found) => {
                let mut lines = vec![format!("{} found", counted(found.len(), "printer"))];
                lines.extend(found.iter().map(|printer| format!("{}: {}", printer.name, printer.address)));
                Ended { lines, ..Ended::default() }
            }
            Err(failure) => Ended::trouble(failure.to_string(), failure.remedy()),
        }
    });
    to_progress(&desk, id)
}
