//! An end as a row of the table: what it is, where it goes, what is decided, what is done.

use maud::{Markup, html};

use super::selected;
use crate::base::Step;
use crate::circuits::Naming;
use crate::run::Snapshot;
use crate::run::danger::Danger;
use crate::run::planning::{Order, PlannedEnd};
use crate::run::recall::{EndRecord, Record};
use crate::serve::access::Visitor;
use crate::serve::address::encoded;
use crate::serve::desk::Desk;
use crate::serve::kept::Typed;
use crate::serve::parts;

/// What rows are made from.
pub struct Rows<'a> {
    pub desk: &'a Desk,
    pub job: &'a Snapshot,
    pub visitor: &'a Visitor,
    /// The query to come back to.
    pub back: &'a str,
}

/// The heads of the columns, each with the order that it sorts by.
pub const HEADS: [(&str, Option<Order>); 10] = [
    ("tag", Some(Order::Code)),
    ("circuit", Some(Order::Circuit)),
    ("here", Some(Order::Place)),
    ("there", None),
    ("wire", None),
    ("supply", None),
    ("action", Some(Order::Action)),
    ("steps", None),
    ("note", None),
    ("branch", Some(Order::Branch)),
];

impl Rows<'_> {
    /// What is told of an end: its record, and which of its ends it is.
    fn told(&self, end: &PlannedEnd) -> (&Record, &EndRecord) {
        let record = self.job.recall.record(end.seat.0);
        (record, &record.ends[end.seat.1])
    }

    /// What stands above rows that belong together in this order.
    pub fn heading(&self, end: &PlannedEnd, order: Order) -> Option<Markup> {
        let (circuit, listed) = end.listed(&self.job.reading.circuits);
        let desk = self.desk;
        let connectors = &self.job.reading.circuits;
        Some(match order {
            Order::Place => {
                let connector = &listed.place.connector;
                let short = connectors.connector(connector).and_then(|connector| connector.short_name.as_deref());
                html! { (parts::connector(desk, connector.as_str())) @if let Some(short) = short { " " (short) } }
            }
            Order::Circuit => html! { (circuit.id()) @if let Some(what) = &circuit.function { " " (what) } },
            Order::Action => html! { (end.action) },
            Order::Branch => html! { (listed.branch.as_deref().unwrap_or("no branch")) },
            Order::Code | Order::Function => return None,
        })
    }

    /// Whether two rows stand under one heading.
    pub fn are_together(&self, one: &PlannedEnd, other: &PlannedEnd, order: Order) -> bool {
        let listed = |end: &PlannedEnd| end.listed(&self.job.reading.circuits).1;
        match order {
            Order::Place => listed(one).place.connector == listed(other).place.connector,
            Order::Circuit => one.at.0 == other.at.0,
            Order::Action => one.action == other.action,
            Order::Branch => listed(one).branch == listed(other).branch,
            Order::Code | Order::Function => true,
        }
    }

    /// The row of an end.
    pub fn row(&self, end: &PlannedEnd, typed: Typed<'_>) -> Markup {
        let (record, told) = self.told(end);
        let (circuit, listed) = end.listed(&self.job.reading.circuits);
        let (code, letter) = (end.mark.0.to_string(), end.mark.1.to_string());
        let name = format!("{code} {letter} at {}", told.here);
        let is_named = circuit.naming() == Naming::Designated;
        let value = selected::value_of(end, listed);
        html! {
            tr.end {
                td.pick { label { input type="checkbox" name="end" value=(value) checked[typed.has("end", &value)] aria-label=(name); } }
                td.name {
                    @if end.is_issued { (parts::tag(self.desk, &code, Some(&letter))) }
                    @else { (parts::tag_ahead(self.desk, &code, &letter, &told.here)) }
                    @if end.is_stale { " " a.stale href=(self.desk.link(&format!("/{code}/{letter}"))) { "stale tag" } }
                }
                td data-head="circuit" {
                    @if is_named { span.soft { (circuit.id()) } " " }
                    (circuit.function.as_deref().unwrap_or("–"))
                }
                td data-head="here" { span.place { (told.here) } }
                td data-head="there" { span.place { (told.there.as_deref().unwrap_or("not known")) } }
                td data-head="wire" {
                    @if let Some(colour) = told.colour_in_list.as_deref().or(told.colour.as_deref()) {
                        (self.colour(told, colour)) " "
                    }
                    @if let Some(size) = &told.size { span.size { (size) } }
                    @if told.colour.is_none() && told.size.is_none() { "–" }
                }
                td data-head="supply" {
                    @if let Some(danger) = Danger::of(end.supply) { strong.band { (danger.band()) } " " }
                    @if let Some(supply) = &record.supply { (supply) }
                    @else if end.supply.is_none() { span.soft { "not known" } }
                    @if let Some(fuse) = &record.fuse { " " span.fuse { "fuse " (fuse) } }
                }
                td.action data-head="action" { (self.action(end, told)) }
                td.steps data-head="steps" { (steps(end)) }
                td.note data-head="note" {
                    @if let Some(note) = &told.note { (note) }
                    (note_in_list(told))
                }
                td data-head="branch" { (told.branch.as_deref().unwrap_or("–")) }
                td.go {
                    @if self.visitor.may_write() {
                        a href=(self.edit(end)) aria-label={ "edit " (name) } { "edit" }
                    }
                }
            }
        }
    }

    fn colour(&self, told: &EndRecord, typed: &str) -> Markup {
        // The list's own letters stand beside a picture of what they mean.
        match (&told.colour_in_list, &told.colour) {
            (Some(_), Some(meant)) => html! { (parts::colour(meant)) " " span.soft { "`" (typed) "`" } },
            _ => parts::colour(typed),
        }
    }

    /// Where one end is edited.
    pub fn edit(&self, end: &PlannedEnd) -> String {
        let back = if self.back.is_empty() { String::new() } else { format!("&back={}", encoded(self.back)) };
        self.desk.link(&format!("/circuits/edit?end={}{back}", end.name()))
    }

    /// What is decided, and by whom.
    pub fn action(&self, end: &PlannedEnd, told: &EndRecord) -> Markup {
        let action = told.action.as_deref().unwrap_or("undecided");
        html! {
            @if end.action == "undecided" { span.undecided { "undecided" } } @else { strong { (action) } }
            @if let Some(by) = &told.decided_by { span.by { "by " (by) } }
            @if let Some(caution) = &told.caution { span.mind { (parts::words(caution)) } }
        }
    }
}

/// What the list has where another note was written beside it.
pub fn note_in_list(told: &EndRecord) -> Markup {
    html! {
        @match told.note_in_list.as_deref() {
            None => {}
            Some("") => span.listed { "the list has no note" }
            Some(listed) => span.listed { "the list says: " (listed) }
        }
    }
}

/// What is done, and what is left.
pub fn steps(end: &PlannedEnd) -> Markup {
    html! {
        @if !end.done.is_empty() { span.done { "✓ " (words(&end.done)) } }
        @if let Some(step) = end.left { span.left { "to do: " (step.to_do()) } }
        @if end.is_otherwise { span.mind { "found otherwise" } }
    }
}

/// Steps in a line.
pub fn words(steps: &[Step]) -> String {
    steps.iter().map(|step| step.word()).collect::<Vec<_>>().join(", ")
}
