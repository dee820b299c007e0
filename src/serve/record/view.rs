//! What is told of a record, in the order in which it is needed by somebody who holds the wire.

use jiff::Timestamp;
use maud::{Markup, html};

use super::forms;
use super::named::path;
use crate::base::{EndLetter, Place, Step};
use crate::circuits::Action;
use crate::codes::notes::Progress;
use crate::codes::{Noted, Said, progress};
use crate::paperwork::work_list::AtEnd;
use crate::run::Beside;
use crate::run::recall::{EndRecord, Event, Found, Record, TEST_IT};
use crate::serve::address::{connector_link, decide_link, encoded, place_link, row_link};
use crate::serve::find::answer;
use crate::serve::parts::{self, colour, tag, words};
use crate::serve::screen::{Screen, Tab};

/// As many ends are shown as a whole.
const WHOLE: usize = 6;

/// A record on the screen.
pub struct View<'a> {
    pub screen: &'a Screen<'a>,
    pub found: &'a Found,
}

/// What is known of an end by its notes and the plan.
pub struct Work<'a> {
    /// Where its forms are sent: `/7KF4/A`; `None` where no letter was issued yet.
    pub path: Option<String>,
    /// What the work list tells; `None` where no list has the end.
    pub told: Option<AtEnd>,
    /// Where a tag is noted that several ends share.
    pub tag_path: Option<String>,
    /// All its notes.
    pub notes: Vec<&'a Noted>,
}

impl Work<'_> {
    pub fn progress(&self) -> Progress<'_> {
        progress(self.notes.iter().copied())
    }

    /// When a step was done.
    pub fn done_at(&self, step: Step) -> Option<Timestamp> {
        let stands = |noted: &&&Noted| noted.note.said == Said::Done(step) && noted.superseded_by.is_none();
        self.notes.iter().rev().find(stands).map(|noted| noted.at)
    }
}

impl<'a> View<'a> {
    pub fn page(&self) -> Markup {
        let record = &self.found.record;
        // A ground may have twenty ends: whoever asks for all of them gets them in short.
        let meant = if self.found.ends.len() > WHOLE { &[] } else { &self.found.ends[..] };
        let letters: Vec<&str> = if meant.len() == record.ends.len() && meant.len() > 1 {
            Vec::new()
        } else {
            meant.iter().filter_map(|&end| record.ends[end].letter.as_deref()).collect()
        };
        let others: Vec<usize> = (0..record.ends.len()).filter(|end| !meant.contains(end)).collect();
        // What hangs at ends that no list has is taken off, not printed again.
        let are_gone = !meant.is_empty() && meant.iter().all(|&end| is_gone(record, &record.ends[end]));
        html! {
            article.record {
                h1 {
                    @if let Some(code) = &record.code {
                        span.tag { (code) @if !letters.is_empty() { " " span.letter { (letters.join("+")) } } } " "
                    } @else { span.uncoded { "no code yet" } " " }
                    bdi { (record.function.as_deref().unwrap_or("function not known")) }
                }
                @for caution in self.head_cautions(meant) { p.alarm.caution { (words(caution)) } }
                p.test { (TEST_IT) }
                @if let Some(doubt) = &self.found.doubt { p.alarm { "DOUBT: " (words(doubt)) } }
                @for stale in &record.stale {
                    div.mind.stale {
                        p { (words(stale)) }
                        @if let Some(code) = record.code.as_ref().filter(|_| !are_gone) { (self.print_again(code, &letters)) }
                    }
                }
                @for &end in meant { (self.end(end)) }
                @if !others.is_empty() {
                    h2 { @if meant.is_empty() { "Ends" } @else { "Other ends" } }
                    div.grid { @for end in others { (self.other_end(end)) } }
                }
                h2 { "Circuit" }
                (self.facts(meant))
                @if let Some(code) = record.code.as_ref().filter(|_| !are_gone) {
                    div.row {
                        (self.print_again(code, &letters))
                    }
                }
                (self.history())
                @if let Some(code) = &record.code { (forms::of_circuit(self.screen, record, code)) }
            }
        }
    }

    /// One tap prints the tag again; who may not write yet is shown what would be printed.
    fn print_again(&self, code: &str, letters: &[&str]) -> Markup {
        // One letter of a doubled cavity names its tag.
        let which = letters.first().map_or_else(|| code.to_owned(), |letter| format!("{code}/{letter}"));
        let desk = self.screen.desk;
        let words = if self.is_printed(letters.first().copied()) { "Print this tag again" } else { "Print this tag" };
        html! {
            @if self.screen.visitor.may_write() {
                form method="post" action=(desk.link("/print/again")) {
                    input type="hidden" name="code" value=(which);
                    button.second type="submit" { (words) }
                }
            } @else {
                a.button.second href=(desk.link(&format!("/print?code={}&this_end=1", encoded(&which)))) { (words) }
            }
        }
    }

    /// Whether a tag of an end was printed, or of any end.
    fn is_printed(&self, letter: Option<&str>) -> bool {
        let bears = |ends: &[String]| {
            let letters = || ends.iter().flat_map(|end| end.split(|c: char| !c.is_alphanumeric()));
            ends.is_empty() || letter.is_none_or(|letter| letters().any(|one| one == letter))
        };
        self.found.record.history.iter().any(|event| event.what == "printed" && bears(&event.ends))
    }

    /// The way to the next cavity of the connector in which something is left to do.
    fn next_open(&self, (circuit, end): (usize, usize)) -> Markup {
        let (job, desk) = (self.screen.job, self.screen.desk);
        let place = &job.reading.circuits.all()[circuit].ends()[end].place;
        let codes = &job.issued.circuits[circuit];
        let link = match job.codes.contains(&codes.code) {
            true => desk.link(&path(codes.code.as_str(), [codes.letters[end].to_string()])),
            false => place_link(desk, &place.to_string()),
        };
        html! { p { a.button.second href=(link) { "Next to do in " (place.connector) ": " (place) } } }
    }

    /// The cautions of the record; where one end alone is meant, each in its fuller words for this end.
    fn head_cautions(&self, meant: &[usize]) -> Vec<&str> {
        let record = &self.found.record;
        let own = match meant {
            [end] => record.ends[*end].caution.as_deref(),
            _ => None,
        };
        let fuller = |caution: &'a String| own.filter(|own| own.starts_with(caution.as_str())).unwrap_or(caution);
        record.cautions.iter().map(fuller).collect()
    }

    /// Whether the head says the caution of this end already.
    fn says_fuller(&self, end: &EndRecord) -> bool {
        let record = &self.found.record;
        let is_alone = matches!(self.found.ends[..], [_]);
        is_alone
            && end.caution.as_ref().is_some_and(|own| record.cautions.iter().any(|caution| own.starts_with(caution)))
    }

    /// What is known of an end by its notes and the plan.
    fn work(&self, end: usize, told: Option<(AtEnd, Vec<EndLetter>)>) -> Work<'a> {
        let (record, job) = (&self.found.record, self.screen.job);
        let code = record.code.as_deref();
        let own = code.zip(record.ends[end].letter.clone());
        let tag_path = code.zip(told.as_ref()).filter(|(_, (_, shared))| !shared.is_empty());
        let tag_path = tag_path.map(|(code, (_, shared))| path(code, shared.iter().map(ToString::to_string)));
        Work {
            path: own.map(|(code, letter)| path(code, [letter])),
            told: told.map(|(told, _)| told),
            tag_path,
            notes: job.recall.notes().of_end(&record.codes(), &record.marks(end)),
        }
    }

    fn end(&self, index: usize) -> Markup {
        let (record, screen) = (&self.found.record, self.screen);
        let end = &record.ends[index];
        let listed = screen.job.listed_end(record, index);
        let near = listed.and_then(|at| Some((screen.job.near_end(at)?, at)));
        let near = near.as_ref().map(|(near, at)| (near, *at));
        let work = self.work(index, near.and_then(|(near, at)| near.at_end(at)));
        let next = near.and_then(|(near, at)| near.next_open(at));
        let beside = listed.map(|at| screen.job.beside(at)).unwrap_or_default();
        let standing = work.progress();
        html! {
            section.end.card {
                h2 {
                    @if let Some(letter) = &end.letter { span.letter { (letter) } " " }
                    (self.way(end))
                }
                @if let Some(typed) = &end.colour { p.bar { (colour(typed)) (colour_words(end)) } }
                @if let Some(caution) = end.caution.as_ref().filter(|_| !self.says_fuller(end)) { p.alarm { (words(caution)) } }
                @if let Some(told) = &work.told {
                    @for caution in told.cautions.iter().filter(|one| !is_said(record, end, one)) { p.mind { (words(caution)) } }
                }
                @if is_gone(record, end) {
                    p.mind { "not in the lists any more" }
                    @if let Some(path) = work.path.as_ref().filter(|_| self.is_printed(end.letter.as_deref()) && !standing.done.contains(&Step::Untagged)) {
                        (forms::take_off(screen, path))
                    }
                }
                @for noted in standing.findings { (forms::finding(screen, noted, work.path.as_deref())) }
                (self.end_facts(end))
                (forms::work(screen, &work))
                @if let Some(next) = next { (self.next_open(next)) }
                @if beside.iter().any(Option::is_some) { (self.neighbours(&beside, end)) }
            }
        }
    }

    /// `J1/14 → X3/2`.
    fn way(&self, end: &EndRecord) -> Markup {
        let desk = self.screen.desk;
        html! {
            a.place href=(place_link(desk, &end.here)) { (end.here) } " → "
            @match end.there.as_deref() {
                Some("a splice") => "a splice",
                Some(there) => a.place href=(place_link(desk, there)) { (there) },
                None => span.soft { "not known" },
            }
        }
    }

    fn other_end(&self, index: usize) -> Markup {
        let (record, desk) = (&self.found.record, self.screen.desk);
        let end = &record.ends[index];
        let link = match (&record.code, &end.letter) {
            (Some(code), Some(letter)) => desk.link(&path(code, [letter.clone()])),
            _ => place_link(desk, &end.here),
        };
        let notes = self.screen.job.recall.notes().of_end(&record.codes(), &record.marks(index));
        let done: Vec<&str> = progress(notes).done.into_iter().map(Step::word).collect();
        html! {
            div.card.other {
                h3 {
                    @match (&record.code, &end.letter) {
                        (Some(code), Some(letter)) => (tag(desk, code, Some(letter))),
                        _ => a href=(link) { "open" },
                    }
                    " " (self.way(end))
                }
                p {
                    @if let Some(typed) = &end.colour { (colour(typed)) (colour_words(end)) }
                    @if let Some(size) = &end.size { " " (size) }
                }
                @if let Some(warning) = end.warning() { p.alarm { (words(&warning)) } }
                @for finding in &end.findings { p.mind { (finding) } }
                p.soft {
                    @if let Some(action) = &end.action { "plan: " (action) }
                    @if let Some(by) = &end.decided_by { " (by " (by) ")" }
                    @if !done.is_empty() { ", done: " (done.join(", ")) }
                    @if !end.listed && !record.awaits_list { "not in the lists any more" }
                }
                (also_marked(&others(&end.also, self.own_mark(end).as_deref())))
            }
        }
    }

    fn end_facts(&self, end: &EndRecord) -> Markup {
        let record = &self.found.record;
        let plan = end.action.as_ref().map(|action| match &end.decided_by {
            Some(by) => format!("{action} (by {by})"),
            None => action.clone(),
        });
        let also = others(&end.also, self.own_mark(end).as_deref());
        let also = (!also.is_empty()).then(|| also.join(", "));
        let before = [
            ("size", &end.size),
            ("fuse", &record.fuse),
            ("insulation", &end.insulation),
            ("diameter", &end.diameter),
            ("length", &end.length),
            ("branch", &end.branch),
            ("with", &end.with),
            ("also marked", &also),
        ];
        html! {
            dl.facts {
                @for (name, fact) in before { (fact_of(name, fact.as_deref())) }
                @if let Some(plan) = &plan { dt { "plan" } dd { bdi { (plan) } " " (self.decide(end)) } }
                (fact_of("remark", end.note.as_deref()))
                @if let Some(row) = &end.origin {
                    dt { "row" } dd { a href=(row_link(self.screen.desk, row)) { bdi { (row) } } }
                }
            }
        }
    }

    /// The way to decide what shall be done with an end, or to decide it otherwise.
    fn decide(&self, end: &EndRecord) -> Markup {
        let can_decide = end.listed && !self.screen.desk.is_still();
        let Some(mark) = self.own_mark(end).filter(|_| can_decide) else { return html! {} };
        let is_open = end.action.as_deref() == Some(Action::Undecided.word());
        html! {
            a.decide href=(decide_link(self.screen.desk, &mark)) {
                @if is_open { "decide" } @else { "change" }
                span.aside { " what is done at " (end.here) }
            }
        }
    }

    /// `7KF4 A`.
    fn own_mark(&self, end: &EndRecord) -> Option<String> {
        Some(format!("{} {}", self.found.record.code.as_deref()?, end.letter.as_deref()?))
    }

    fn neighbours(&self, beside: &[Option<Beside>; 2], end: &EndRecord) -> Markup {
        let desk = self.screen.desk;
        let connector = Place::from_typed(&end.here).map(|place| place.connector.to_string());
        html! {
            h3 {
                "Beside it"
                @if let Some(name) = connector { " in " a href=(connector_link(desk, &name)) { (name) } }
            }
            ul.beside {
                @for (found, which) in beside.iter().zip(["before", "behind"]) {
                    @if let Some(found) = found {
                        li {
                            span.soft { (which) } " " a.place href=(place_link(desk, &found.place)) { (found.place) }
                            @if let Some(typed) = &found.colour { " " (colour(typed)) }
                            @if let Some(code) = found.code { " " span.code { (code) } }
                            @if let Some(function) = &found.function { " " bdi { (function) } }
                        }
                    }
                }
            }
        }
    }

    fn facts(&self, meant: &[usize]) -> Markup {
        let record = &self.found.record;
        html! {
            dl.facts {
                @if !record.designations.is_empty() { dt { "circuit" } dd { bdi { (record.designations.join(" = ")) } } }
                @if let Some(name) = &record.renamed { dt { "renamed" } dd { (name) ", which the lists do not say yet" } }
                @if !record.former.is_empty() { dt { "before" } dd { (record.former.join(", ")) } }
                dt { "supply" } dd { (record.supply.as_deref().unwrap_or("not known")) }
                @if let Some(fuse) = record.fuse.as_ref().filter(|_| meant.is_empty()) { dt { "fuse" } dd { (fuse) } }
                @let also: Vec<&str> = others(&record.also, record.code.as_deref());
                @if !also.is_empty() { dt { "also marked" } dd { (also.join(", ")) } }
            }
        }
    }

    fn history(&self) -> Markup {
        let record = &self.found.record;
        html! {
            @if !record.history.is_empty() {
                h2 { "History" }
                ol.history { @for event in record.history.iter().rev() { (self.event(event)) } }
            }
        }
    }

    fn event(&self, event: &Event) -> Markup {
        html! {
            li.superseded[event.superseded_by.is_some()] {
                span.soft {
                    (parts::moment_named(&event.at))
                    @if let Some(number) = event.note { ", note " (number) }
                    @if event.note.is_some() && !event.ends.is_empty() { ", " (event.ends.join(", ")) }
                }
                p.words { bdi { (event.words) } }
                @if let Some(by) = event.superseded_by { p.soft { "superseded by note " (by) } }
                @if let Some(noted) = event.note.and_then(|number| self.screen.job.recall.notes().get(number)) {
                    (forms::instead(self.screen, &self.found.record, noted))
                }
            }
        }
    }
}

/// The circuits at one place, where they are several.
pub fn several(screen: &Screen<'_>, place: &str, found: &[Found]) -> Markup {
    let body = html! {
        h1 { (place) }
        p.mind { (found.len()) " circuits end here, as the lists have it: confirm by the colour which one it is" }
        div.answers { @for one in found { (answer(screen.desk, one)) } }
    };
    screen.show(Tab::Other, place, body)
}

/// Whether no list has an end that one had.
fn is_gone(record: &Record, end: &EndRecord) -> bool {
    !end.listed && !record.awaits_list
}

/// What else is marked: neither the code itself nor its own letter.
fn others<'m>(also: &'m [String], own: Option<&str>) -> Vec<&'m str> {
    let code = own.map(|own| own.split(' ').next().unwrap_or(own));
    also.iter().map(String::as_str).filter(|mark| Some(*mark) != own && Some(*mark) != code).collect()
}

/// The colour in words, where the letters do not say it.
fn colour_words(end: &EndRecord) -> Markup {
    let words = end.colour_in_words.as_deref();
    let words = words.filter(|words| !end.colour.as_deref().is_some_and(|typed| typed.eq_ignore_ascii_case(words)));
    html! {
        @if let Some(words) = words { " " span.soft { "(" (words) ")" } }
        @if let Some(letters) = &end.colour_in_list { ", " code { (letters) } " in the list" }
    }
}

fn also_marked(also: &[&str]) -> Markup {
    html! { @if !also.is_empty() { p.soft { "also marked " (also.join(", ")) } } }
}

fn fact_of(name: &str, fact: Option<&str>) -> Markup {
    html! { @if let Some(fact) = fact { dt { (name) } dd { bdi { (fact) } } } }
}

/// Whether a caution of the work list stands on the page in other words already.
fn is_said(record: &Record, end: &EndRecord, caution: &str) -> bool {
    let first = |words: &str| words.split([' ', ':']).next().unwrap_or_default().to_owned();
    record.cautions.iter().chain(&end.caution).any(|said| first(said) == first(caution))
}
