//! How far the work is: by step, by connector, by branch. The counts are those of `check` and of the overview sheet.

use maud::{Markup, html};

use crate::base::counted;
use crate::circuits::Action;
use crate::paperwork::overview::COUNTED;
use crate::run::Snapshot;
use crate::run::worked::{Count, Share};
use crate::serve::address::encoded;
use crate::serve::desk::Desk;
use crate::serve::parts::connector;

/// So many connectors stand in the table before the others are folded up; those in which all is kept are folded up at once.
const SHOWN: usize = 40;

/// All three.
pub fn far(desk: &Desk, job: &Snapshot) -> Markup {
    let worked = &job.worked;
    let connectors: Vec<_> =
        worked.connectors.iter().map(|(id, share)| (connector(desk, id.as_str()), share)).collect();
    let branches: Vec<_> = worked
        .branches
        .iter()
        .map(|(name, share)| {
            (html! { a href=(desk.link(&format!("/circuits?branch={}", encoded(name)))) { bdi { (name) } } }, share)
        })
        .collect();
    html! {
        section {
            h2 { "How far" }
            @if worked.steps.is_empty() {
                p.soft { "Nothing is noted yet: what is done at the bench is counted from the notes." }
            } @else {
                div.bars { @for (step, count) in &worked.steps { (of_step(step.word(), count)) } }
            }
            @if !connectors.is_empty() {
                h3 { "By connector" }
                (table("connector", &connectors))
            }
            @if !branches.is_empty() {
                h3 { "By branch" }
                (table("branch", &branches))
            }
        }
    }
}

fn of_step(step: &str, count: &Count) -> Markup {
    let planned = count.done - count.unplanned;
    html! {
        div.bar-of {
            span { (step) }
            @match count.of {
                Some(of) => {
                    (bar(planned, of, step))
                    span.number { (planned) " of " (of) @if count.unplanned > 0 { ", " (count.unplanned) " not planned" } }
                }
                None => { span {} span.number { (counted(count.done, "end")) } }
            }
        }
    }
}

fn bar(done: usize, of: usize, what: &str) -> Markup {
    html! { progress max=(of.max(1)) value=(done.min(of)) aria-label=(what) { (done) " of " (of) } }
}

fn table(what: &str, rows: &[(Markup, &Share)]) -> Markup {
    let is_open = |share: &Share| share.asked > 0 || count(share, Action::Undecided.word()) > 0;
    let (busy, rest): (Vec<_>, Vec<_>) = rows.iter().partition(|(_, share)| is_open(share));
    let (first, more) = busy.split_at(busy.len().min(SHOWN));
    html! {
        @if !first.is_empty() { (part(what, first)) }
        @if !more.is_empty() {
            details { summary { "and " (more.len()) " more" } (part(what, more)) }
        }
        @if !rest.is_empty() {
            details { summary { (rest.len()) " in which nothing is to be done" } (part(what, &rest)) }
        }
    }
}

fn part(what: &str, rows: &[&(Markup, &Share)]) -> Markup {
    let heads = COUNTED.iter().filter(|(_, word)| rows.iter().any(|(_, share)| count(share, word) > 0));
    let heads: Vec<&(&str, &str)> = heads.collect();
    html! {
        div.scroll {
            table.shares {
                thead { tr {
                    th scope="col" { (what) }
                    th scope="col" { "done" }
                    th.number scope="col" { "ends" }
                    @for (head, _) in &heads { th.number scope="col" { (head) } }
                } }
                tbody { @for (name, share) in rows {
                    tr {
                        th scope="row" { (name) }
                        td { @if share.asked > 0 { (bar(share.done, share.asked, "done")) (share.done) " of " (share.asked) " ends" } @else { "–" } }
                        td.number { (share.ends) }
                        @for (_, word) in &heads {
                            @let count = count(share, word);
                            td.number.open[*word == Action::Undecided.word() && count > 0] { @if count > 0 { (count) } }
                        }
                    }
                } }
            }
        }
    }
}

fn count(share: &Share, word: &str) -> usize {
    share.actions.get(word).copied().unwrap_or(0)
}
