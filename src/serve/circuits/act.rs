//! Doing something with selected ends, at once where it is small and harmless, else when it was said that it is meant; and undoing it.

use axum::extract::{Form, State};
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};

use super::forms::{holding, range, standing};
use super::page::{count, ends};
use super::row::{band, words};
use super::selected::{named, selected};
use super::view::{Pairs, View, pairs, value};
use crate::base::{EndLetter, Step, TagCode};
use crate::codes::{Made, Undo};
use crate::run::deciding::{AS_LISTED, Change, Decided, NotDecided, Wish};
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
    /// Something is decided.
    Decide { action: Option<String>, note: Option<Note> },
    /// Steps are done.
    Done { steps: Vec<Step>, remark: String },
}

/// What shall become of notes.
enum Note {
    /// These words, perhaps none.
    Write(String),
    /// What the list has of each end.
    AsListed,
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
    let done = done.filter(|done| !done.is_empty());
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
        if value(form, "do") == Some("done") { Self::of_steps(form) } else { Self::of_decision(form) }
    }

    fn of_decision(form: &Pairs) -> Result<Self, Trouble> {
        // What was there before is not decided again: somebody else may have decided something meanwhile.
        let (set, to) = (value(form, "set"), value(form, "to").unwrap_or_default());
        let was = (value(form, "set_was"), value(form, "to_was").unwrap_or_default());
        let action = match set {
            None => None,
            Some("move") if was == (Some("move"), to) => None,
            Some("move") if to.is_empty() => Some("move".to_owned()),
            Some("move") => Some(format!("move to {to}")),
            set if set == was.0 => None,
            Some(set) => Some(set.to_owned()),
        };
        let typed = value(form, "note").unwrap_or_default().to_owned();
        let note = match (value(form, "note_is"), form.iter().find(|(name, _)| name == "note_was")) {
            (Some(AS_LISTED), _) => Some(Note::AsListed),
            (Some("none"), _) => Some(Note::Write(String::new())),
            (_, Some((_, was))) => Some(typed).filter(|typed| typed != was.trim()).map(Note::Write),
            (_, None) => Some(typed).filter(|typed| !typed.is_empty()).map(Note::Write),
        };
        if action.is_none() && note.is_none() {
            return Err(Trouble::refused("nothing is changed", "choose an action, or write a note"));
        }
        Ok(Self::Decide { action, note })
    }

    fn of_steps(form: &Pairs) -> Result<Self, Trouble> {
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
            Self::Decide { action, note } => {
                let action = action.as_deref().map(|action| match action {
                    AS_LISTED => "leave the action to the lists".to_owned(),
                    action => format!("decide `{action}`"),
                });
                let note = note.as_ref().map(|note| match note {
                    Note::Write(note) if note.is_empty() => "have no note".to_owned(),
                    Note::Write(note) => format!("write the note `{note}`"),
                    Note::AsListed => "leave the note to the lists".to_owned(),
                });
                action.into_iter().chain(note).collect::<Vec<_>>().join(" and ")
            }
        }
    }

    /// What is wished of these ends.
    fn wishes(action: Option<&String>, note: Option<&Note>, job: &Snapshot, chosen: &[usize]) -> Vec<Wish> {
        let at: Vec<(usize, usize)> = chosen.iter().map(|&number| job.planning().end(number).at).collect();
        let wish = |at: Vec<(usize, usize)>, note: Option<String>| Wish { at, note, ..Wish::default() };
        match note {
            // Of each end what its own row has.
            Some(Note::AsListed) => {
                let ends = at.iter().map(|&(circuit, end)| &job.reading.circuits.all()[circuit].ends()[end]);
                let notes = ends.map(|end| end.note_in_lists().unwrap_or_default().to_owned());
                at.iter()
                    .zip(notes)
                    .map(|(&at, note)| Wish { action: action.cloned(), ..wish(vec![at], Some(note)) })
                    .collect()
            }
            Some(Note::Write(note)) => vec![Wish { action: action.cloned(), ..wish(at, Some(note.clone())) }],
            None => vec![Wish { action: action.cloned(), ..wish(at, None) }],
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
        if let Self::Done { steps, .. } = self {
            let is_dangerous = |end: &PlannedEnd| steps.iter().any(|&step| end.is_dangerous_when(step));
            doubt("live, restraint or high-voltage wires are among them", those(&is_dangerous));
            let is_done = |end: &PlannedEnd| steps.iter().any(|step| end.done.contains(step));
            doubt("some of it was noted as done before", those(&is_done));
        }
        if let Self::Decide { action: Some(action), .. } = self {
            let is_touched = |end: &PlannedEnd| match action.as_str() {
                AS_LISTED => {
                    let listed = end.listed(&job.reading.circuits).1;
                    let action = listed.decided_instead().map_or(&listed.action, |instead| &instead.listed.0);
                    *action != listed.action && end.is_dangerous_to(action)
                }
                action => job.reading.job.action(action).is_ok_and(|action| end.is_dangerous_to(&action)),
            };
            doubt("live, restraint or high-voltage wires are among them", those(&is_touched));
            let word = action.split(' ').next().unwrap_or_default();
            doubt(
                "something was done already at",
                those(&|end| end.action != word && end.done.iter().any(|step| *step != Step::Tagged)),
            );
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
            Self::Decide { action, note } => {
                let wishes = Self::wishes(action.as_ref(), note.as_ref(), job, chosen);
                let decided = job.deciding().decide(&wishes, desk.now())?.map_err(not_decided)?;
                tell_decided(visitor, &decided);
                Ok(decided.act.map(|act| format!("act={act}")).unwrap_or_default())
            }
        }
    }
}

fn not_decided(why: NotDecided) -> Trouble {
    Trouble::refused(why.to_string(), why.remedy().unwrap_or("look at the table again"))
}

fn tell_decided(visitor: &Visitor, decided: &Decided) {
    let mut ends: Vec<(usize, usize)> = decided.changes.iter().map(|change| change.at).collect();
    ends.dedup();
    match &decided.changes[..] {
        [] => visitor.tell("it was so already: nothing is changed"),
        [one] => visitor.tell(format!("decided: `{}` for {}; before: `{}`", one.after, one.about, one.before)),
        [first, ..] => {
            let is_one = decided.changes.iter().all(|change| change.after == first.after);
            let what = |change: &Change| match is_one {
                true => change.place.to_string(),
                false => format!("{} `{}`", change.place, change.after),
            };
            let named: Vec<String> = decided.changes.iter().take(TOLD).map(what).collect();
            let more = decided.changes.len().saturating_sub(TOLD);
            let more = if more > 0 { format!(" and {} more", count(more)) } else { String::new() };
            let after = if is_one { format!(" `{}`", first.after) } else { String::new() };
            visitor.tell(format!("decided{after} for {}: {}{more}", self::ends(ends.len()), named.join(", ")));
        }
    }
    if decided.unchanged > 0 && !decided.changes.is_empty() {
        visitor.tell(format!("{} were so already", self::ends(decided.unchanged)));
    }
    if decided.issued > 0 {
        visitor.tell(format!("{} codes were issued for it, as tags will bear them", count(decided.issued)));
    }
    let warnings = || decided.changes.iter().flat_map(|one| one.warnings.iter().map(move |warning| (one, warning)));
    for (one, warning) in warnings().take(TOLD) {
        visitor.tell(format!("mind: {}: {warning}", one.about));
    }
    let more = warnings().count().saturating_sub(TOLD);
    if more > 0 {
        visitor.tell(format!("mind: and {} more warnings", count(more)));
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
        visitor.tell(format!("mind: {}: {warning}", one.about));
    }
    let more = warnings().count().saturating_sub(TOLD);
    if more > 0 {
        visitor.tell(format!("mind: and {} more warnings", count(more)));
    }
}

/// What is about to be done, and why it is asked about.
fn confirm(screen: &Screen<'_>, form: &Pairs, asked: &Asked, chosen: &[usize], doubts: &[Doubt]) -> Markup {
    let what = asked.in_words();
    let title = format!("{} of {}", ends(chosen.len()), "the table");
    let warned: Vec<(String, Vec<String>)> = match asked {
        Asked::Done { steps, remark } => planned(screen.job, chosen, steps, remark)
            .unwrap_or_default()
            .into_iter()
            .map(|planned| (planned.about, planned.warnings))
            .collect(),
        Asked::Decide { action, note } => {
            let wishes = Asked::wishes(action.as_ref(), note.as_ref(), screen.job, chosen);
            let changes = screen.job.deciding().plan(&wishes).unwrap_or_default().changes;
            changes.into_iter().map(|change| (change.about, change.warnings)).collect()
        }
    };
    let warned: Vec<_> = warned.iter().filter(|(_, warnings)| !warnings.is_empty()).collect();
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
                @for (about, warnings) in warned.iter().take(NAMED) {
                    @for warning in warnings { li { (about) ": " (warning) } }
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

/// Which decisions are to be taken back.
fn undone(form: &Pairs) -> Option<Undo> {
    let number = |name: &str| value(form, name)?.parse().ok();
    number("act").map(Undo::Act).or_else(|| number("decision").map(Undo::Number))
}

pub async fn undo(State(desk): State<Desk>, visitor: Visitor, Form(form): Form<Pairs>) -> Response {
    desk.work(move |desk| {
        let job = desk.snapshot()?;
        let gone = || Trouble::refused("it is undone already", "look at the table again");
        if let Some(what) = undone(&form) {
            let is_left = match what {
                Undo::Act(act) => holding(&job, act) > 0,
                Undo::Number(number) => job.decisions.get(number).is_some_and(Made::holds),
                Undo::Last => true,
            };
            if !is_left {
                return Err(gone());
            }
            let taken = run::undo(desk.folder(), what, desk.now())?;
            let taken =
                if taken.len() == 1 { "1 decision".to_owned() } else { format!("{} decisions", count(taken.len())) };
            visitor.tell(format!("taken back: {taken}"));
            return Ok(match value(&form, "from") {
                Some("decisions") => Redirect::to(&desk.link("/circuits/decisions")),
                _ => back(desk, &form, None),
            });
        }
        let range = value(&form, "noted").and_then(range);
        let range =
            range.ok_or_else(|| Trouble::refused("nothing is named to be undone", "look at the table again"))?;
        let planned = job.bench().taken_back(standing(&job, range));
        if planned.is_empty() {
            return Err(gone());
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
