//! Doing something with selected ends, at once where it is small and harmless, else when it was said that it is meant; and undoing it.

use axum::extract::{Form, State};
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};

use super::forms::{range, standing};
use super::page::{count, ends};
use super::row::{band, words};
use super::selected::{named, selected};
use super::view::{Pairs, View, pairs, value};
use crate::base::{EndLetter, Step, TagCode};
use crate::run::noting::Planned;
use crate::run::planning::PlannedEnd;
use crate::run::{self, Snapshot};
use crate::serve::access::Visitor;
use crate::serve::desk::Desk;
use crate::serve::jobs::encoded;
use crate::serve::screen::{Screen, Tab};
use crate::serve::trouble::Trouble;

/// More ends than this are asked about before anything is done with them.
const MANY: usize = 25;
/// Most ends named one by one: the others are counted.
const NAMED: usize = 20;
/// Most ends whose tags are asked for by their codes: an address may not be longer.
const PRINTED: usize = 500;
/// Most warnings told after something was noted.
const TOLD: usize = 5;

/// What shall be done.
enum Asked {
    /// Steps are done.
    Done { steps: Vec<Step>, remark: String },
}

/// Why it is asked again, with the ends that give reason to.
struct Doubt {
    what: String,
    ends: Vec<usize>,
}

pub async fn act(State(desk): State<Desk>, visitor: Visitor, Form(form): Form<Pairs>) -> Response {
    desk.work(move |desk| {
        let job = desk.snapshot()?;
        let chosen = selected(&job, &form)?;
        if value(&form, "do") == Some("print") {
            return print(desk, &job, &chosen);
        }
        let asked = Asked::of(&form)?;
        let doubts = asked.doubts(&job, &chosen);
        if !doubts.is_empty() && value(&form, "sure").is_none() {
            let screen = Screen { desk, job: &job, visitor: &visitor };
            return Ok(confirm(&screen, &form, &asked, &chosen, &doubts).into_response());
        }
        let done = asked.carry_out(desk, &job, &chosen, &visitor)?;
        Ok(back(desk, &form, Some(&done)).into_response())
    })
    .await
}

/// The page one came from, with what was done where it can be undone there.
fn back(desk: &Desk, form: &Pairs, done: Option<&str>) -> Redirect {
    // Read and written again: whatever is no question of ours does not get through.
    let query = View::of(&pairs(value(form, "back").unwrap_or_default())).query();
    let done = done.map(|done| format!("{}{done}", if query.is_empty() { "?" } else { "&" })).unwrap_or_default();
    Redirect::to(&desk.link(&format!("/circuits{query}{done}")))
}

fn print(desk: &Desk, job: &Snapshot, chosen: &[usize]) -> Result<Response, Trouble> {
    if chosen.len() > PRINTED {
        let what = format!("the tags of {} cannot be asked for one by one", ends(chosen.len()));
        return Err(Trouble::refused(what, "choose connectors, branches or actions on the page Print"));
    }
    let codes = chosen.iter().map(|&number| format!("code={}", encoded(&job.planning().end(number).name())));
    let codes: Vec<String> = codes.collect();
    Ok(Redirect::to(&desk.link(&format!("/print?{}", codes.join("&")))).into_response())
}

impl Asked {
    fn of(form: &Pairs) -> Result<Self, Trouble> {
        let steps = form.iter().filter(|(name, _)| name == "step").filter_map(|(_, word)| Step::from_word(word));
        let mut steps: Vec<Step> = steps.collect();
        steps.sort_unstable();
        steps.dedup();
        if steps.is_empty() {
            return Err(Trouble::refused("no step is named", "tick what was done"));
        }
        Ok(Self::Done { steps, remark: value(form, "remark").unwrap_or_default().to_owned() })
    }

    /// It in words: `mark pulled, sealed as done`.
    fn in_words(&self) -> String {
        match self {
            Self::Done { steps, .. } => format!("mark {} as done", words(steps)),
        }
    }

    fn doubts(&self, job: &Snapshot, chosen: &[usize]) -> Vec<Doubt> {
        let planning = job.planning();
        let those = |is_it: &dyn Fn(&PlannedEnd) -> bool| -> Vec<usize> {
            chosen.iter().copied().filter(|&number| is_it(planning.end(number))).collect()
        };
        let mut doubts = Vec::new();
        let mut doubt = |what: &str, ends: Vec<usize>| {
            if !ends.is_empty() {
                doubts.push(Doubt { what: what.to_owned(), ends });
            }
        };
        match self {
            Self::Done { steps, .. } => {
                let is_dangerous = |end: &PlannedEnd| steps.iter().any(|&step| end.is_dangerous_when(step));
                doubt("live, restraint or high-voltage wires are among them", those(&is_dangerous));
                let is_done = |end: &PlannedEnd| steps.iter().any(|step| end.done.contains(step));
                doubt("some of it was noted as done before", those(&is_done));
            }
        }
        if chosen.len() > MANY {
            doubts.insert(0, Doubt { what: format!("it concerns {}", ends(chosen.len())), ends: Vec::new() });
        }
        doubts
    }

    /// Does it; what undoes it, as a part of a query.
    fn carry_out(&self, desk: &Desk, job: &Snapshot, chosen: &[usize], visitor: &Visitor) -> Result<String, Trouble> {
        match self {
            Self::Done { steps, remark } => {
                let planned = planned(job, chosen, steps, remark)?;
                let numbers = run::note(desk.folder(), &planned, desk.now())?;
                visitor.tell(format!("noted: {} at {}", words(steps), ends(chosen.len())));
                tell_warnings(visitor, &planned);
                let (first, last) = (numbers.first().copied(), numbers.last().copied());
                Ok(format!("noted={}-{}", first.unwrap_or_default(), last.unwrap_or_default()))
            }
        }
    }
}

/// The notes that steps are done at these ends.
fn planned(job: &Snapshot, chosen: &[usize], steps: &[Step], remark: &str) -> Result<Vec<Planned>, Trouble> {
    let planning = job.planning();
    let without = chosen.iter().filter(|&&number| !planning.end(number).is_issued).count();
    if without > 0 {
        let what = format!("no code was issued yet for {} of them, and a note belongs to a code", count(without));
        return Err(Trouble::refused(what, "print their tags first, or select ends whose tags were printed"));
    }
    let marks: Vec<(TagCode, EndLetter)> = chosen.iter().map(|&number| planning.end(number).mark).collect();
    let planned = job.bench().done_at(&marks, steps, remark);
    planned.map_err(|why| Trouble::refused(why.to_string(), "look at the table again"))
}

fn tell_warnings(visitor: &Visitor, planned: &[Planned]) {
    let warnings = || planned.iter().flat_map(|one| one.warnings.iter().map(move |warning| (one, warning)));
    for (one, warning) in warnings().take(TOLD) {
        visitor.tell(format!("{}: {warning}", one.about));
    }
    let more = warnings().count().saturating_sub(TOLD);
    if more > 0 {
        visitor.tell(format!("and {} more warnings", count(more)));
    }
}

/// What is about to be done, and why it is asked about.
fn confirm(screen: &Screen<'_>, form: &Pairs, asked: &Asked, chosen: &[usize], doubts: &[Doubt]) -> Markup {
    let what = asked.in_words();
    let title = format!("{} of {}", ends(chosen.len()), "the table");
    let warnings = match asked {
        Asked::Done { steps, remark } => planned(screen.job, chosen, steps, remark).unwrap_or_default(),
    };
    let warned: Vec<_> = warnings.iter().filter(|planned| !planned.warnings.is_empty()).collect();
    let body = html! {
        h1 { "Is this meant?" }
        p.what { strong { (what) } " for " (ends(chosen.len())) }
        @for doubt in doubts {
            div.doubt {
                p.alarm { (doubt.what) @if !doubt.ends.is_empty() { ": " (ends(doubt.ends.len())) } }
                @if !doubt.ends.is_empty() { (list(screen.job, &doubt.ends)) }
            }
        }
        @if !warned.is_empty() {
            ul.warnings {
                @for planned in warned.iter().take(NAMED) {
                    @for warning in &planned.warnings { li { (planned.about) ": " (warning) } }
                }
                @if warned.len() > NAMED { li { "and " (count(warned.len() - NAMED)) " more" } }
            }
        }
        form.stack method="post" action=(screen.desk.link("/circuits/act")) {
            @for (name, value) in form.iter().filter(|(name, _)| name != "sure") {
                input type="hidden" name=(name) value=(value);
            }
            input type="hidden" name="sure" value="yes";
            div.row {
                button.stop type="submit" { "Yes, " (what) }
                a.button.second href={ (screen.desk.link("/circuits")) (View::of(&pairs(value(form, "back").unwrap_or_default())).query()) } {
                    "No, back"
                }
            }
        }
    };
    screen.show(Tab::Circuits, &title, body)
}

/// Ends by name, the first of them.
fn list(job: &Snapshot, numbers: &[usize]) -> Markup {
    let circuits = &job.reading.circuits;
    html! {
        ul {
            @for &number in numbers.iter().take(NAMED) {
                @let end = job.planning().end(number);
                @let (circuit, listed) = end.listed(circuits);
                li {
                    span.tag { (end.mark.0) " " (end.mark.1) } " " (listed.place) ", "
                    (circuit.function.as_deref().unwrap_or("function not known"))
                    @if let Some(band) = band(end.supply) { " " strong.band { (band) } }
                    @if !end.done.is_empty() { ", done: " (words(&end.done)) }
                }
            }
            @if numbers.len() > NAMED { li { "and " (count(numbers.len() - NAMED)) " more" } }
        }
    }
}

pub async fn undo(State(desk): State<Desk>, visitor: Visitor, Form(form): Form<Pairs>) -> Response {
    desk.work(move |desk| {
        let job = desk.snapshot()?;
        let range = value(&form, "noted").and_then(range);
        let range =
            range.ok_or_else(|| Trouble::refused("nothing is named to be undone", "look at the table again"))?;
        let planned = job.bench().taken_back(standing(&job, range));
        if planned.is_empty() {
            return Err(Trouble::refused("it is undone already", "look at the table again"));
        }
        run::note(desk.folder(), &planned, desk.now())?;
        let taken = if planned.len() == 1 { "1 note".to_owned() } else { format!("{} notes", count(planned.len())) };
        visitor.tell(format!("taken back: {taken}"));
        Ok(back(desk, &form, None))
    })
    .await
}

/// The end that a query or a form names alone.
///
/// # Errors
/// When there is none of that name.
pub fn one(job: &Snapshot, form: &Pairs) -> Result<usize, Trouble> {
    let name = value(form, "end").unwrap_or_default();
    named(job, name).ok_or_else(|| Trouble::NotFound(format!("there is no end `{name}` in the lists")))
}
