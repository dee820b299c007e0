//! The page of a connector: what must be seen first, its face from the wire side or against the mating face, and its work list in the
//! order of the face, each step to be ticked. The facts are those of the bench sheet.

use std::collections::BTreeMap;

use maud::{Markup, html};

use super::drawing::{Pointed, svg};
use super::{Rows, Shown, done_link, link, list, ticked};
use crate::base::{Cavity, ConnectorId, Length, Size, Step};
use crate::circuits::{Action, View};
use crate::paperwork::Harness;
use crate::paperwork::face::{self, FilledFace, Spot};
use crate::paperwork::work_list::{Entry, ToldGroup, ToldList, Totals, WorkLists};
use crate::run::connectors::{alike, connector_summary, named_connector};
use crate::run::left_out::LeftOut;
use crate::serve::access::Visitor;
use crate::serve::address::{connector_link, decide_link, encoded};
use crate::serve::parts::Tick;
use crate::serve::screen::Screen;
use crate::serve::{noted, parts};

/// A screen scrolls: a face is drawn in one piece, however large it is.
const ROOM: Size = Size::new(Length::nm(4_000_000_000), Length::nm(4_000_000_000));
/// No phone shows a wider face as a whole.
const PHONE: Length = Length::nm(64_000_000);
/// No face of more cavities is drawn: a drawing of a thousand is as large as all the rest of a job.
const MOST_DRAWN: usize = 1_000;

/// The page.
pub fn body(screen: &Screen<'_>, id: &ConnectorId, shown: Shown, noted: &str) -> Markup {
    let near = screen.job.near(id);
    let harness = near.harness();
    let told = WorkLists::new(&harness).told(id);
    let summary = connector_summary(screen.job, &harness, told.as_ref(), id);
    let left = screen.job.left_out(id.as_str());
    let page = Page { screen, harness: &harness, id, view: shown.view(), shown, left: left.as_ref() };
    let rows = rows(told.as_ref());
    let what = [Some(list::kind(summary.kind)), list::other_name(&summary)];
    html! {
        div #connector data-fresh {
            h1 { span.id { (id) } " " span.what { (what.into_iter().flatten().collect::<Vec<_>>().join(", ")) } }
            @if screen.visitor.may_write() { (noted::undo(screen.job, &done_link(screen.desk, id, shown), noted, &[])) }
            @for other in alike(screen.job, id) {
                p.mind { "The symbol of a tag does not tell this one from " (parts::connector(screen.desk, other.as_str())) "." }
            }
            @for caution in told.iter().flat_map(|told| &told.cautions) { p.alarm { (caution) } }
            (parts::left_out(screen.desk, left.as_ref()))
            dl.facts {
                @if let Some(branch) = &summary.branch { dt { "branch" } dd { (branch) } }
                dt { "ends" } dd { (summary.totals.ends) }
                @if summary.totals.ends > 0 { dt { "to do" } dd { (list::to_do(&summary)) } }
                dt { "done" } dd { (list::how_far(&summary)) }
                dt { "tags" } dd { (list::standing(&summary)) }
                @if let Some(mates) = harness.circuits.connector(id).and_then(|connector| connector.mates.as_ref()) {
                    dt { "mates with" }
                    dd {
                        @if named_connector(screen.job, mates.as_str()).is_known() { (parts::connector(screen.desk, mates.as_str())) }
                        @else { (mates) span.soft { ", which no list names" } }
                    }
                }
            }
            @if !screen.desk.is_still() && told.is_some() {
                div.row {
                    a.button.second href=(screen.desk.link(&format!("/print?purpose=work&connector={}", encoded(id.as_str())))) {
                        "Print work tags of " (id)
                    }
                    a.button.second href=(screen.desk.link(&format!("/papers?connector={}", encoded(id.as_str())))) { "Bench sheet" }
                }
            }
            @if told.iter().flat_map(|told| told.entries()).any(|entry| page.is_ahead(entry)) { (parts::ahead_words()) }
            @if let Some(face) = face::face_of(&harness, id) { (page.face(&face, told.as_ref(), &rows)) }
            @match &told {
                Some(told) => (page.work(told, &rows)),
                None => p { "No wire ends here by the lists, and none moves here." },
            }
        }
    }
}

/// The number of the first row of each cavity.
fn rows(told: Option<&ToldList>) -> BTreeMap<&Cavity, usize> {
    let mut rows = BTreeMap::new();
    for (nth, entry) in told.iter().flat_map(|told| told.entries()).enumerate() {
        if let Some(cavity) = &entry.cavity {
            rows.entry(cavity).or_insert(nth);
        }
    }
    rows
}

struct Page<'p, 'a> {
    screen: &'p Screen<'p>,
    harness: &'p Harness<'a>,
    id: &'p ConnectorId,
    view: View,
    shown: Shown,
    /// What rows with errors may hide.
    left: Option<&'p LeftOut>,
}

impl Page<'_, '_> {
    /// Whether the code of an entry is not issued yet.
    fn is_ahead(&self, entry: &Entry) -> bool {
        !self.screen.job.codes.contains(&self.harness.issued.circuits[entry.at.0].code)
    }

    fn face(&self, face: &FilledFace, told: Option<&ToldList>, rows: &BTreeMap<&Cavity, usize>) -> Markup {
        if face.plan.spots(self.view).len() > MOST_DRAWN {
            return html! { p.soft { "This face has more than " (MOST_DRAWN) " cavities and is not drawn; the bench sheets show it in parts." } };
        }
        let fonts = self.screen.job.reading.equipment.fonts();
        let drawn = face::drawn(face, self.view, ROOM, fonts);
        if drawn.is_empty() {
            return html! {};
        }
        let views = [View::WireSide, View::MatingFace];
        html! {
            section.face-section aria-labelledby="face" {
                h2 #face { "Face" }
                nav.views aria-label="view" {
                    @for view in views {
                        a.button.second href=(link(self.screen.desk, self.id, self.shown.seen(view))) aria-current=[(view == self.view).then_some("true")] {
                            (view)
                        }
                    }
                }
                @if drawn.iter().any(|drawn| drawn.frame.size.width > PHONE) {
                    label.larger { input type="checkbox"; " larger: push it sideways" }
                }
                @for drawn in &drawn {
                    @let pointed: Vec<Pointed> =
                        drawn.cavities.iter().map(|(spot, _)| self.pointed(face, spot, told, rows)).collect();
                    // What is wider than the screen is scrolled, by keys as well.
                    div.scroll.drawn tabindex="0" role="region" aria-label=(format!("{} of {}", self.view, self.id)) {
                        (svg(drawn, &format!("{}, {}", self.id, self.view), &pointed, &|name| parts::is_ahead(self.screen.job, name)))
                    }
                }
                @if !rows.is_empty() { p.soft { "Tap a cavity to come to its row." } }
            }
        }
    }

    /// What lies over a cavity: `cavity 14, 7KF4 A, rail pressure signal, blue, white stripe, cut, row 2, third from left, wire side`.
    fn pointed(
        &self,
        face: &FilledFace,
        spot: &Spot,
        told: Option<&ToldList>,
        rows: &BTreeMap<&Cavity, usize>,
    ) -> Pointed {
        let Some(cavity) = &spot.cavity else {
            return Pointed { to: None, name: self.id.to_string(), is_done: false, is_open: false };
        };
        let entries: Vec<&Entry> =
            told.iter().flat_map(|told| told.entries()).filter(|entry| entry.cavity.as_ref() == Some(cavity)).collect();
        let mut name = vec![format!("cavity {cavity}")];
        let place = format!("{}/{cavity}", self.id);
        let left: Vec<_> = self.left.iter().flat_map(|left| left.at(&place)).collect();
        for row in &left {
            name.push(format!("row {} has an error and is left out", row.line));
            name.extend(row.supply.iter().map(|supply| format!("its supply: {supply}")));
        }
        if entries.is_empty() && left.is_empty() {
            name.push("no wire in the lists".to_owned());
        }
        for entry in &entries {
            let colour = self.harness.end(entry.at).colour.as_ref().map(|colour| colour.in_words());
            let parts = entry.cautions.iter().cloned().chain([entry.tag.clone(), entry.function.clone()]).chain(colour);
            name.extend(parts.chain([entry.words.clone()]).filter(|part| !part.is_empty()));
        }
        name.extend(face.plan.aid(cavity, self.view));
        let steps = || entries.iter().flat_map(|entry| &entry.steps);
        let is_done = steps().next().is_some() && steps().all(|(_, is_done)| *is_done);
        // A row that is not shown stands on the whole page.
        let is_shown = entries.first().is_none_or(|entry| self.shows(entry));
        let page = if is_shown { String::new() } else { link(self.screen.desk, self.id, self.shown.with(Rows::All)) };
        let to = rows.get(cavity).map(|nth| format!("{page}#row-{nth}"));
        let is_open = entries.iter().any(|entry| is_left(entry));
        Pointed { to, name: name.join(", "), is_done, is_open }
    }

    fn work(&self, told: &ToldList, rows: &BTreeMap<&Cavity, usize>) -> Markup {
        let may_write = self.screen.visitor.may_write();
        let action = done_link(self.screen.desk, self.id, self.shown);
        let list = html! {
            @for (group, before) in told.groups.iter().zip(befores(told)) { (self.group(group, before)) }
        };
        html! {
            h2 { "What to do" }
            @for rule in &told.rules { p.mind { (rule) } }
            nav.row aria-label="rows" {
                @match self.shown.todo {
                    Rows::All => a href={ (link(self.screen.desk, self.id, self.shown.with(Rows::ToDo))) } { "Only what is to do" },
                    Rows::ToDo => a href={ (link(self.screen.desk, self.id, self.shown.with(Rows::All))) } { "All that ends here" },
                }
            }
            @if !told.seen.is_empty() && !rows.is_empty() { p.soft { "Where a cavity sits: " (told.seen) "." } }
            @if may_write {
                form method="post" action=(action) data-swap="#main" {
                    // Enter in a field must not press the first tick.
                    button.none type="submit" name="none" value="" tabindex="-1" aria-hidden="true" {}
                    (list)
                    (bulk(told))
                }
            } @else {
                (list)
                (self.screen.writing(html! {}))
            }
            (totals(&told.totals))
            @for words in &told.cavities { p { (words) } }
        }
    }

    fn group(&self, group: &ToldGroup, before: usize) -> Markup {
        let shown = || group.entries.iter().enumerate().filter(|(_, entry)| self.shows(entry));
        html! {
            @if shown().next().is_some() {
                @if let Some(heading) = &group.heading { h3 { (heading) } }
                ol.work { @for (nth, entry) in shown() { (self.entry(entry, before + nth)) } }
            }
        }
    }

    /// Whether a row is shown: all are, but where only what is to do is asked for, those in which a wire stays and nothing is left.
    fn shows(&self, entry: &Entry) -> bool {
        let stays = self.harness.end(entry.at).action == Action::Keep;
        self.shown.todo == Rows::All || entry.arrives || !stays || is_left(entry)
    }

    /// The way to decide what shall be done with an end, or to decide it otherwise.
    fn decide(&self, entry: &Entry, mark: &str) -> Markup {
        let is_open = self.harness.end(entry.at).action == Action::Undecided;
        html! {
            @if !entry.arrives && !self.screen.desk.is_still() {
                " " a.decide href=(decide_link(self.screen.desk, mark)) {
                    @if is_open { "decide" } @else { "change" }
                    span.hear { " what is done with " (mark) }
                }
            }
        }
    }

    fn entry(&self, entry: &Entry, nth: usize) -> Markup {
        let end = self.harness.end(entry.at);
        let codes = &self.harness.issued.circuits[entry.at.0];
        let (code, letter) = (codes.code.to_string(), codes.letters[entry.at.1].to_string());
        let may_write = self.screen.visitor.may_write();
        let is_done = !entry.steps.is_empty() && entry.steps.iter().all(|(_, is_done)| *is_done);
        let row = format!("row-{nth}");
        // One tag for several ends: what is done with the tag is done at all of them.
        let of_all = match &entry.on_one_tag[..] {
            [] => format!("{code} {letter}"),
            _ => entry.tag.clone(),
        };
        html! {
            li.at-end.done[is_done] id=(row) {
                @for caution in &entry.cautions { p.alarm { (caution) } }
                div.cavity {
                    @if let Some(cavity) = &entry.cavity { strong { (cavity) } }
                    @if let Some(aid) = &entry.aid {
                        span.soft { (aid) }
                        a.to-face href="#face" { "face" span.hear { ": back to it" } }
                    }
                }
                div.wire-facts {
                    @if may_write && !entry.arrives {
                        label.choose { input type="checkbox" name="end" value=(format!("{code} {letter}")); span.hear { "choose " (code) " " (letter) } }
                    }
                    @if !self.is_ahead(entry) { (parts::tag(self.screen.desk, &code, Some(&letter))) }
                    @else { (parts::tag_ahead(self.screen.desk, &code, &letter, &end.place.to_string())) }
                    @if entry.tag != format!("{code} {letter}") { span.ahead[self.is_ahead(entry)] { (entry.tag) } }
                    @if let Some(colour) = &end.colour { (parts::colour(colour.typed())) }
                    @if let Some(size) = &end.conductor { span.soft { (size) } }
                }
                div.function { (entry.function) @if !entry.kinds.is_empty() { span.soft { " " (entry.kinds) } } }
                div.there {
                    span.soft { "there: " }
                    @match &entry.there {
                        Some(there) => (self.there(entry, there)),
                        None => span { "not known" },
                    }
                }
                div.words {
                    strong { (entry.words) }
                    @if !self.is_ahead(entry) { (self.decide(entry, &format!("{code} {letter}"))) }
                }
                div.steps {
                    @for (step, is_done) in &entry.steps {
                        @let tag = if *step == Step::Tagged { of_all.clone() } else { format!("{code} {letter}") };
                        (tick(self.screen.visitor, *step, (*is_done).into(), (&tag, &row)))
                    }
                }
                @if !entry.remark.is_empty() { p.remark { (entry.remark) } }
            }
        }
    }

    /// The place at the other end, leading to its connector.
    fn there(&self, entry: &Entry, there: &str) -> Markup {
        match self.harness.there(entry.at) {
            Some(place) => html! {
                a.place href=(connector_link(self.screen.desk, place.connector.as_str())) { (place) }
            },
            None => html! { (there) },
        }
    }
}

/// Whether a step is left to do.
fn is_left(entry: &Entry) -> bool {
    entry.steps.iter().any(|(_, is_done)| !is_done)
}

/// How many entries stand before each group.
fn befores(told: &ToldList) -> impl Iterator<Item = usize> + '_ {
    told.groups.iter().scan(0, |before, group| {
        let here = *before;
        *before += group.entries.len();
        Some(here)
    })
}

/// A step with its box: a button for whoever may write.
fn tick(visitor: &Visitor, step: Step, tick: Tick, (tag, row): (&str, &str)) -> Markup {
    let (sign, said) = match tick {
        Tick::Done => ("☑", "done"),
        Tick::Open => ("☐", "not done"),
    };
    let is_done = tick == Tick::Done;
    html! {
        @if visitor.may_write() {
            button.step.ticked[is_done] type="submit" name="tick" value=(ticked::value(step, tick, tag))
                id=(format!("{row}-{step}")) aria-pressed=(is_done) aria-label=(format!("{step} {tag}")) {
                span aria-hidden="true" { (sign) " " } (step)
            }
        } @else {
            span.step.ticked[is_done] { span aria-hidden="true" { (sign) " " } (step) span.hear { ": " (said) } }
        }
    }
}

/// The same step for all ends that were chosen.
fn bulk(told: &ToldList) -> Markup {
    let asked = |step: &Step| told.entries().flat_map(|entry| &entry.steps).any(|(known, _)| known == step);
    html! {
        @if told.entries().any(|entry| !entry.steps.is_empty()) {
            fieldset.bulk {
                legend { "Done, for all that are chosen" }
                @for step in Step::ALL.iter().filter(|step| asked(step)) {
                    button.second type="submit" name="all" value=(step) { (step) }
                }
            }
        }
    }
}

fn totals(totals: &Totals) -> Markup {
    let shown = || totals.by_action.iter().zip(Totals::HEADS).filter(|(count, _)| count.of > 0);
    html! {
        h2 { "What it comes to" }
        div.scroll tabindex="0" role="region" aria-label="what it comes to" {
            table.totals {
                thead { tr { th {} @for (_, head) in shown() { th.number { (head) } } th.number { "ends here" } } }
                tbody {
                    tr { th { "planned" } @for (count, _) in shown() { td.number { (count.of) } } td.number { (totals.ends) } }
                    @if shown().any(|(count, _)| count.done > 0) {
                        tr { th { "done by notes" } @for (count, _) in shown() { td.number { (count.done) } } td {} }
                    }
                }
            }
        }
    }
}
