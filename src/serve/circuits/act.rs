//! Doing something with selected ends, at once where it is small and harmless, else when it was said that it is meant; and undoing it.

use axum::extract::{Form, State};
use axum::response::{IntoResponse, Redirect, Response};

use super::edit;
use super::forms::holding;
use super::page::{self, count, ends};
use super::row::words;
use super::selected::{named, selected};
use super::view::{View, fields};
use crate::base::{EndLetter, Step, TagCode};
use crate::codes::{Made, Undo};
use crate::run::danger::Danger;
use crate::run::deciding::told::holds_now;
use crate::run::deciding::{AS_LISTED, Change, Decided, NotDecided, Wish};
use crate::run::noting::Planned;
use crate::run::planning::PlannedEnd;
use crate::run::{self, Snapshot};
use crate::serve::access::Visitor;
use crate::serve::address::encoded;
use crate::serve::desk::Desk;
use crate::serve::fields::Fields;
use crate::serve::kept::or_again;
use crate::serve::noted;
use crate::serve::screen::{Screen, Tab};
use crate::serve::sure::{Question, Reason};
use crate::serve::trouble::Trouble;

/// More ends than this are asked about before anything is done with them.
const MANY: usize = 25;
/// Most ends named one by one: the others are counted.
const NAMED: usize = 20;
/// So many places are told of what was decided.
const TOLD: usize = 6;
/// Most ends whose tags are asked for by their codes: an address may not be longer.
const PRINTED: usize = 500;

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

/// Decides, notes or prints what was chosen for the ends that are selected.
pub async fn act(State(desk): State<Desk>, visitor: Visitor, Form(form): Form<Fields>) -> Response {
    desk.work(move |desk| {
        let action = desk.link("/circuits/act");
        or_again(acted(desk, &visitor, &form), (desk, &visitor), (&action, &form), |screen| {
            // Of one end by itself no rows can be chosen.
            if form.given("which").is_none() {
                return edit::page(screen, &form);
            }
            Ok(page::of_view(screen, &fields(form.text("back"))))
        })
    })
    .await
}

fn acted(desk: &Desk, visitor: &Visitor, form: &Fields) -> Result<Response, Trouble> {
    let job = desk.snapshot()?;
    let chosen = selected(&job, form)?;
    if form.given("do") == Some("print") {
        return print(desk, &job, &chosen);
    }
    let asked = Asked::of(form)?;
    let question = asked.question(&job, &chosen)?;
    if !question.is_settled(form) {
        let screen = Screen { desk, job: &job, visitor };
        let back = View::of(&fields(form.text("back"))).query();
        let ways = (desk.link("/circuits/act"), desk.link(&format!("/circuits{back}")));
        return Ok(question.ask(&screen, Tab::Circuits, form, (&ways.0, &ways.1)));
    }
    let done = asked.carry_out(desk, &job, &chosen, visitor)?;
    Ok(back(desk, form, Some(&done)).into_response())
}

/// The page one came from, with what was done where it can be undone there.
fn back(desk: &Desk, form: &Fields, done: Option<&str>) -> Redirect {
    // Read and written again: whatever is no question of ours does not get through.
    let query = View::of(&fields(form.text("back"))).query();
    let done = done.filter(|done| !done.is_empty());
    let done = done.map(|done| format!("{}{done}", if query.is_empty() { "?" } else { "&" })).unwrap_or_default();
    Redirect::to(&desk.link(&format!("/circuits{query}{done}")))
}

fn print(desk: &Desk, job: &Snapshot, chosen: &[usize]) -> Result<Response, Trouble> {
    if chosen.len() > PRINTED {
        let what = format!("the tags of {} cannot be asked for one by one", ends(chosen.len()));
        return Err(Trouble::refused(what, "choose connectors, branches or actions on the page Print"));
    }
    let mut asked: Vec<String> = Vec::with_capacity(chosen.len() + 1);
    for &number in chosen {
        let end = job.planning().end(number);
        // A code that is looked ahead at is nobody's yet: its place is asked for.
        let one = match end.is_issued {
            true => format!("code={}", encoded(&end.name())),
            false => format!("place={}", encoded(&end.listed(&job.reading.circuits).1.place.to_string())),
        };
        // Two wires of one cavity have one place.
        if asked.last() != Some(&one) {
            asked.push(one);
        }
    }
    asked.push("this_end=1".to_owned());
    Ok(Redirect::to(&desk.link(&format!("/print?{}", asked.join("&")))).into_response())
}

impl Asked {
    fn of(form: &Fields) -> Result<Self, Trouble> {
        if form.given("do") == Some("done") { Self::of_steps(form) } else { Self::of_decision(form) }
    }

    fn of_decision(form: &Fields) -> Result<Self, Trouble> {
        // What was there before is not decided again: somebody else may have decided something meanwhile.
        let (set, to) = (form.given("set"), form.text("to"));
        let was = (form.given("set_was"), form.text("to_was"));
        let action = match set {
            None => None,
            Some("move") if was == (Some("move"), to) => None,
            Some("move") if to.is_empty() => Some("move".to_owned()),
            Some("move") => Some(format!("move to {to}")),
            set if set == was.0 => None,
            Some(set) => Some(set.to_owned()),
        };
        let typed = form.text("note").to_owned();
        let note = match (form.given("note_is"), form.sent("note_was")) {
            (Some(AS_LISTED), _) => Some(Note::AsListed),
            (Some("none"), _) => Some(Note::Write(String::new())),
            (_, Some(was)) => Some(typed).filter(|typed| typed != was.trim()).map(Note::Write),
            (_, None) => Some(typed).filter(|typed| !typed.is_empty()).map(Note::Write),
        };
        if action.is_none() && note.is_none() {
            return Err(Trouble::refused("nothing is changed", "choose an action, or write a note"));
        }
        Ok(Self::Decide { action, note })
    }

    fn of_steps(form: &Fields) -> Result<Self, Trouble> {
        let steps = form.all("step").filter_map(Step::from_word);
        let mut steps: Vec<Step> = steps.collect();
        steps.sort_unstable();
        steps.dedup();
        if steps.is_empty() {
            return Err(Trouble::refused("no step is named", "tick what was done"));
        }
        Ok(Self::Done { steps, remark: form.text("remark").to_owned() })
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

    /// What is to be asked before it is done.
    fn question(&self, job: &Snapshot, chosen: &[usize]) -> Result<Question, Trouble> {
        let planning = job.planning();
        let mut reasons: Vec<Reason> = Vec::new();
        let mut shown: Vec<String> = Vec::new();
        let of_those = |what: &str, is_it: &dyn Fn(&PlannedEnd) -> bool| -> Option<Reason> {
            let those = chosen.iter().filter(|&&number| is_it(planning.end(number)));
            let of: Vec<String> = those.map(|&number| told(job, number)).collect();
            (!of.is_empty()).then(|| Reason { what: format!("{what}: {}", ends(of.len())), of, named: NAMED })
        };
        match self {
            Self::Done { steps, remark } => {
                let planned = planned(job, chosen, steps, remark)?;
                reasons.extend(noted::dangers_of(&planned));
                let is_done = |end: &PlannedEnd| steps.iter().any(|step| end.done.contains(step));
                reasons.extend(of_those("some of it was noted as done before", &is_done));
                shown = noted::others(planned.iter().map(Into::into));
            }
            Self::Decide { action, note } => {
                if let Some(action) = action {
                    reasons.extend(noted::dangers(
                        chosen.iter().filter_map(|&number| {
                            Some((danger(job, planning.end(number), action)?, told(job, number)))
                        }),
                    ));
                    let word = action.split(' ').next().unwrap_or_default();
                    let is_begun =
                        |end: &PlannedEnd| end.action != word && end.done.iter().any(|step| *step != Step::Tagged);
                    reasons.extend(of_those("something was done already", &is_begun));
                }
                // Where no codes were issued yet, nothing more is known; whatever cannot be followed is refused when it is done.
                let wishes = Self::wishes(action.as_ref(), note.as_ref(), job, chosen);
                if let Ok(decided) = job.deciding().plan(&wishes) {
                    shown = noted::others(decided.changes.iter().map(Into::into));
                }
            }
        }
        if chosen.len() > MANY {
            reasons.push(Reason::plain(format!("it concerns {}", ends(chosen.len()))));
        }
        Ok(Question {
            what: format!("{} for {}", self.in_words(), ends(chosen.len())),
            reasons,
            shown,
            ..Question::default()
        })
    }

    /// Does it; what undoes it, as a part of a query.
    fn carry_out(&self, desk: &Desk, job: &Snapshot, chosen: &[usize], visitor: &Visitor) -> Result<String, Trouble> {
        match self {
            Self::Done { steps, remark } => {
                let planned = planned(job, chosen, steps, remark)?;
                let numbers = run::note(desk.folder(), &planned, desk.now())?;
                visitor.tell(format!("noted: {} at {}", words(steps), ends(chosen.len())));
                noted::tell_warnings(visitor, planned.iter().map(Into::into));
                Ok(noted::in_address(&numbers))
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
    Trouble::refused(why.to_string(), why.remedy().unwrap_or_else(|| "look at the table again".into()))
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
    noted::tell_warnings(visitor, decided.changes.iter().map(Into::into));
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
    Ok(job.bench().done_at(&marks, steps, remark)?)
}

/// What may hurt somebody when an action is decided for an end, or this is left to the lists.
fn danger(job: &Snapshot, end: &PlannedEnd, action: &str) -> Option<Danger> {
    if action != AS_LISTED {
        return end.danger_to(&job.reading.job.action(action).ok()?);
    }
    let listed = end.listed(&job.reading.circuits).1;
    let action = listed.decided_instead().map(|instead| &instead.listed.0)?;
    end.danger_to(action).filter(|_| *action != listed.action)
}

/// An end in a line: `7KF4 A at J1/14, rail pressure signal, done: cut`.
fn told(job: &Snapshot, number: usize) -> String {
    let end = job.planning().end(number);
    let (circuit, listed) = end.listed(&job.reading.circuits);
    let function = circuit.function.as_deref().unwrap_or("function not known");
    let done = if end.done.is_empty() { String::new() } else { format!(", done: {}", words(&end.done)) };
    format!("{} {} at {}, {function}{done}", end.mark.0, end.mark.1, listed.place)
}

/// Which decisions are to be taken back.
fn undone(form: &Fields) -> Option<Undo> {
    let number = |name: &str| form.given(name)?.parse().ok();
    number("act").map(Undo::Act).or_else(|| number("decision").map(Undo::Number))
}

/// Takes back an act, a single decision, or notes that were made in one go.
pub async fn undo(State(desk): State<Desk>, visitor: Visitor, Form(form): Form<Fields>) -> Response {
    desk.work(move |desk| {
        let job = desk.snapshot()?;
        if let Some(what) = undone(&form) {
            let is_left = match what {
                Undo::Act(act) => holding(&job, act) > 0,
                Undo::Number(number) => job.decisions.get(number).is_some_and(Made::holds),
                Undo::Last => true,
            };
            if !is_left {
                return Err(Trouble::refused("it is undone already", "look at the table again"));
            }
            let taken = run::undo(desk.folder(), what, desk.now())?;
            let number = taken.len();
            visitor.tell(match number {
                1 => "taken back: 1 decision".to_owned(),
                _ => format!("taken back: {} decisions", count(number)),
            });
            // An older decision may hold again, or what the lists say.
            let by_now = desk.snapshot()?;
            for holds in taken.iter().take(NAMED).filter_map(|made| holds_now(&by_now.recall, made)) {
                visitor.tell(format!("now {holds}"));
            }
            if number > NAMED {
                visitor.tell(format!("and {} more, as the table shows", count(number - NAMED)));
            }
            return Ok(match form.given("from") {
                Some("decisions") => Redirect::to(&desk.link("/circuits/decisions")),
                _ => back(desk, &form, None),
            });
        }
        let range = form.given("noted");
        let range =
            range.ok_or_else(|| Trouble::refused("nothing is named to be undone", "look at the table again"))?;
        noted::take_back(desk, &visitor, range)?;
        Ok(back(desk, &form, None))
    })
    .await
}

/// The end that a query or a form names alone.
///
/// # Errors
/// When there is none of that name.
pub fn one(job: &Snapshot, form: &Fields) -> Result<usize, Trouble> {
    let name = form.text("end");
    named(job, name).ok_or_else(|| Trouble::NotFound(format!("there is no end `{name}` in the lists")))
}
