//! The find box: what answers a code, place, colour or words. The same answers as the command gives, the best first.

use axum::Router;
use axum::extract::{Query, State};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::get;
use maud::{Markup, html};
use serde::Deserialize;

use super::access::Visitor;
use super::address::{connector_link, find_link, place_link};
use super::desk::Desk;
use super::parts::{colour, cut, left_out, words};
use super::screen::{Screen, Tab};
use crate::base::TagCode;
use crate::base::nearest::did_you_mean;
use crate::codes::Blank;
use crate::run::Snapshot;
use crate::run::left_out::LeftOut;
use crate::run::one_circuit::in_words;
use crate::run::recall::{self, By, EndRecord, Found, Near, Tag, UnknownWord};

/// As many answers are shown; more are counted.
const SHOWN: usize = 30;
/// As many characters of a question stand in the title.
const TITLE: usize = 200;
/// As many ends of an answer are shown.
const ENDS: usize = 3;

pub fn routes() -> Router<Desk> {
    Router::new().route("/find", get(find))
}

#[derive(Deserialize)]
struct Asked {
    #[serde(default)]
    q: String,
    /// Whether the answers alone are wanted, for the box.
    part: Option<u8>,
}

async fn find(State(desk): State<Desk>, visitor: Visitor, Query(asked): Query<Asked>) -> Response {
    desk.look(move |desk, job| {
        let answers = Answers::to(job, &asked.q);
        if asked.part.is_some() {
            return Ok(answers.list(desk).into_response());
        }
        if let Some(path) = answers.one(desk) {
            return Ok(Redirect::to(&path).into_response());
        }
        let screen = Screen { desk, job, visitor: &visitor };
        let title =
            if asked.q.trim().is_empty() { "Find".to_owned() } else { format!("Find: {}", cut(asked.q.trim(), TITLE)) };
        let body = html! {
            h1 { (title) }
            form.row.again action=(desk.link("/find")) {
                label { "code, place, colour, words " input type="search" name="q" value=(asked.q) autocomplete="off"; }
                button type="submit" { "Find" }
            }
            (answers.list(desk))
        };
        Ok(screen.show(Tab::Other, &title, body).into_response())
    })
    .await
}

/// What answers a question.
struct Answers<'a> {
    question: String,
    found: Vec<Found>,
    count: usize,
    /// Tags that were named, those of one circuit together.
    circuits: Vec<Vec<Tag>>,
    blanks: Vec<&'a Blank>,
    /// The connector of this name, with the number of its ends.
    connector: Option<String>,
    nearest: Vec<Near>,
    unknown: Vec<UnknownWord>,
    /// What rows with errors may hide, where nothing was found.
    hidden: Option<LeftOut>,
    /// What is told where only the beginning of the question was looked for.
    left_out: Option<&'static str>,
}

impl<'a> Answers<'a> {
    fn to(job: &'a Snapshot, q: &str) -> Self {
        let recall = &job.recall;
        let words: Vec<String> = q.split_whitespace().map(str::to_owned).collect();
        let circuits = recall.one_circuit(&recall.tags_named(&words));
        let (words, left_out) = if circuits.is_empty() { recall::bounded(words) } else { (words, None) };
        let question = words.join(" ");
        let (found, count) = match &circuits[..] {
            [] => recall.find_most(&words, SHOWN),
            tags => {
                let found: Vec<Found> = tags.iter().filter_map(|tags| recall.record_of(tags)).collect();
                let count = found.len();
                (found.into_iter().take(SHOWN).collect(), count)
            }
        };
        let blanks = recall.blanks_named(&words);
        // Words that are no code and match nothing may be mistyped, or a mistyped code.
        let (nearest, unknown) = if found.is_empty() && !words.is_empty() {
            (recall.by_scanned(&question).nearest().to_vec(), recall.unknown_words(&words))
        } else {
            (Vec::new(), Vec::new())
        };
        let connector = recall.connector_named(&question).map(ToString::to_string);
        let is_nothing = found.is_empty() && blanks.is_empty() && connector.is_none() && !question.is_empty();
        let hidden = if is_nothing { job.left_out(&question) } else { None };
        Self { question, found, count, circuits, blanks, connector, nearest, unknown, hidden, left_out }
    }

    /// Where a whole code or an exact place leads at once.
    fn one(&self, desk: &Desk) -> Option<String> {
        if let ([], [blank]) = (&self.found[..], &self.blanks[..]) {
            return Some(desk.link(&format!("/{}", blank.code)));
        }
        let is_sole = self.connector.is_none() && self.circuits.is_empty() && self.blanks.is_empty();
        let best = self.found.first().filter(|_| is_sole)?;
        let is_meant = match best.by {
            By::Code => best.doubt.is_none() && self.found.get(1).is_none_or(|next| next.by != By::Code),
            By::Place => self.count == 1 && best.ends.iter().all(|&end| best.record.ends[end].here == self.question),
            By::Designation | By::Words => false,
        };
        is_meant.then(|| link(desk, best))
    }

    fn list(&self, desk: &Desk) -> Markup {
        let is_empty = self.found.is_empty() && self.blanks.is_empty() && self.connector.is_none();
        html! {
            div.answers {
                @for same in in_words(&self.circuits) { p.mind { (same) } }
                @if let Some(left_out) = self.left_out { p.mind { (left_out) } }
                @if let Some(name) = &self.connector {
                    a.answer href=(connector_link(desk, name)) { strong { (name) } " " span { "connector" } }
                }
                @for blank in &self.blanks {
                    a.answer href=(desk.link(&format!("/{}", blank.code))) {
                        span.tag { (blank.code) } " " span { "a blank, not assigned yet" }
                    }
                }
                @for one in &self.found { (answer(desk, one)) }
                @if self.count > self.found.len() {
                    p.soft { (self.count - self.found.len()) " more; add a word to narrow it down" }
                }
                @if is_empty && !self.question.is_empty() { (self.nothing(desk)) }
            }
        }
    }

    fn nothing(&self, desk: &Desk) -> Markup {
        let is_single = !self.question.contains(' ');
        html! {
            p.mind { "nothing matches " code dir="auto" { (self.question) } }
            (left_out(desk, self.hidden.as_ref()))
            @for UnknownWord { word, near } in &self.unknown {
                @match (near, TagCode::from_typed_with_letter(word)) {
                    (_, Ok((code, _))) => p { code { (code) } " was never issued in this job" },
                    (Some(near), _) => p {
                        "no circuit has " code dir="auto" { (word) } ": "
                        a href=(find_link(desk, &self.question.replace(word.as_str(), near))) {
                            (words(&did_you_mean(near)))
                        }
                    },
                    (None, _) => @if !is_single { p { "no circuit has " code dir="auto" { (word) } } },
                }
            }
            @if self.unknown.is_empty() && !is_single { p { "each word fits a circuit, but no circuit has them all" } }
            @if !self.nearest.is_empty() {
                p { "codes like it:" }
                @for near in &self.nearest {
                    a.answer href=(desk.link(&format!("/{}", near.code))) { span.tag { (near.code) } " " bdi { (near.what) } }
                }
            }
        }
    }
}

/// Where an answer leads: to its record, the ends that were meant pointed at.
fn link(desk: &Desk, found: &Found) -> String {
    let record = &found.record;
    let is_all = found.ends.len() == record.ends.len();
    let letters: Option<Vec<&str>> = found.ends.iter().map(|&end| record.ends[end].letter.as_deref()).collect();
    match (&record.code, letters) {
        (Some(code), Some(letters)) if !is_all && !letters.is_empty() => {
            desk.link(&format!("/{code}/{}", letters.join("+")))
        }
        (Some(code), _) => desk.link(&format!("/{code}")),
        (None, _) => match found.ends.first().map(|&end| &record.ends[end]).or(record.ends.first()) {
            Some(end) => place_link(desk, &end.here),
            None => desk.link("/circuits"),
        },
    }
}

/// The ends that an answer counts alone, or leaves to its code: what was found there is told all the same.
fn untold(found: &Found) -> impl Iterator<Item = &EndRecord> {
    let is_of_all = found.ends.is_empty();
    let ends = found.record.ends.iter().enumerate();
    let is_left = move |at: &usize| is_of_all || found.ends.iter().skip(ENDS).any(|end| end == at);
    ends.filter(move |(at, _)| is_left(at)).map(|(_, end)| end)
}

/// One answer: code, function, where it goes, colour, and what to mind.
pub fn answer(desk: &Desk, found: &Found) -> Markup {
    let record = &found.record;
    let is_all = found.ends.len() == record.ends.len();
    html! {
        a.answer href=(link(desk, found)) {
            span.head {
                @match &record.code {
                    Some(code) => span.tag {
                        (code)
                        @if !is_all {
                            @for letter in found.ends.iter().filter_map(|&end| record.ends[end].letter.as_deref()).take(ENDS) {
                                " " span.letter { (letter) }
                            }
                        }
                    },
                    None => span.uncoded { "no code yet" },
                }
                " " bdi.what { (record.function.as_deref().unwrap_or("function not known")) }
                @if !record.designations.is_empty() { " " span.soft { bdi { (record.designations.join(" = ")) } } }
            }
            @for &end in found.ends.iter().take(ENDS) {
                @let end = &record.ends[end];
                " " span.way {
                    (end.here) " → " (end.there.as_deref().unwrap_or("not known")) " "
                    @if let Some(typed) = &end.colour { (colour(typed)) }
                }
                @for finding in &end.findings { " " span.mind { (finding) } }
            }
            @if found.ends.len() > ENDS { " " span.soft { "and " (found.ends.len() - ENDS) " more ends" } }
            @for end in untold(found) {
                @for finding in &end.findings { " " span.mind { (end.here) " " (finding) } }
            }
            @for caution in &record.cautions { " " strong.stop { "⚠ " (caution) } }
            @if let Some(doubt) = &found.doubt { " " span.stop { "DOUBT: " (doubt) } }
        }
    }
}
