//! The table with its filter, its order and its pages, and what can be done with the selected rows.

use axum::extract::{Query, State};
use axum::response::Response;
use maud::{Markup, html};

use super::forms;
use super::row::{HEADS, Rows};
use super::selected::{on_page, seen};
use super::view::{NO_SUPPLY, View};
use crate::base::Step;
use crate::circuits::{Action, Supply};
use crate::run::Snapshot;
use crate::run::planning::{Chosen, Counts, Filter, Order};
use crate::serve::access::Visitor;
use crate::serve::desk::Desk;
use crate::serve::fields::Fields;
use crate::serve::parts::{ahead_words, words};
use crate::serve::screen::{Screen, Tab};

/// Rows of a page.
pub const ROWS: usize = 200;

/// More connectors than this are typed, not chosen from a list.
const LISTED: usize = 400;

/// The planning table, as its address asks for it.
pub async fn page(State(desk): State<Desk>, Query(asked): Query<Fields>, visitor: Visitor) -> Response {
    desk.look(move |desk, job| Ok(of_view(&Screen { desk, job, visitor: &visitor }, &asked))).await
}

/// The page of what `asked` narrows the table to.
pub fn of_view(screen: &Screen<'_>, asked: &Fields) -> Markup {
    let job = screen.job;
    let mut view = View::of(asked);
    let chosen = job.planning().choose(&view.filter, view.order, job);
    let last = chosen.ends.len().div_ceil(ROWS).max(1);
    if view.page > last {
        view.passed_over.push(format!("there is no page {}: this is the last one", view.page));
        view.page = last;
    }
    let body = html! {
        h1 { "Circuits" }
        (forms::undo(screen, asked, &view))
        @for passed_over in &view.passed_over { p.mind { (words(passed_over)) } }
        (quick_links(screen, &view))
        (filter(screen, &view, &chosen.counts))
        (table(screen, &view, &chosen))
    };
    screen.show(Tab::Circuits, "Circuits", body)
}

/// 1,234.
pub fn count(number: usize) -> String {
    let digits = number.to_string();
    let mut text = String::new();
    for (at, digit) in digits.chars().enumerate() {
        if at > 0 && (digits.len() - at).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}

/// `1 end`, `1,234 ends`.
pub fn ends(number: usize) -> String {
    if number == 1 { "1 end".to_owned() } else { format!("{} ends", count(number)) }
}

/// What one often looks for, over the whole job.
fn quick_links(screen: &Screen<'_>, view: &View) -> Markup {
    let totals = screen.job.planning().totals();
    let link = |filter: Filter| screen.desk.link(&format!("/circuits{}", view.with(filter).query()));
    let undecided = totals.actions.get("undecided").copied().unwrap_or_default();
    let left = totals.left.iter().map(|(&step, &number)| {
        (Filter { left: Some(step), ..Filter::default() }, format!("to {}", step.to_do()), number)
    });
    let others = [
        (Filter { action: Some("undecided"), ..Filter::default() }, "undecided".to_owned(), undecided),
        (Filter { is_stale: true, ..Filter::default() }, "ends with stale tags".to_owned(), totals.stale),
        (Filter { is_otherwise: true, ..Filter::default() }, "found otherwise".to_owned(), totals.otherwise),
    ];
    let all = (Filter::default(), "all".to_owned(), screen.job.planning().all().len());
    let links: Vec<_> = [all].into_iter().chain(others).chain(left).collect();
    html! {
        p.quick {
            @for (filter, words, number) in links {
                @if number > 0 {
                    a href=(link(filter.clone())) aria-current=[(filter == view.filter).then_some("true")] {
                        (words) " (" (count(number)) ")"
                    }
                    " "
                }
            }
            @if screen.job.recall.stale_tags() > totals.stale {
                a href=(screen.desk.link("/overview/tags")) { "all stale tags (" (count(screen.job.recall.stale_tags())) ")" }
                " those of ends gone from the lists too "
            }
            a href=(screen.desk.link("/circuits/decisions")) { "decided here" }
        }
    }
}

/// A choice of one value, with how many ends each leaves.
fn choice(name: &str, label: &str, any: &str, options: &[(String, String, usize)], chosen: Option<&str>) -> Markup {
    let is_known = chosen.is_none_or(|chosen| options.iter().any(|(value, ..)| value == chosen));
    html! {
        label { span { (label) }
            select name=(name) {
                option value="" { (any) }
                @if let Some(chosen) = chosen.filter(|_| !is_known) { option value=(chosen) selected { (chosen) " (0)" } }
                @for (value, words, number) in options {
                    option value=(value) selected[chosen == Some(value.as_str())] { (words) " (" (count(*number)) ")" }
                }
            }
        }
    }
}

fn filter(screen: &Screen<'_>, view: &View, counts: &Counts) -> Markup {
    let planning = screen.job.planning();
    let wanted = &view.filter;
    let named = |names: &mut dyn Iterator<Item = String>, counts: &[usize]| -> Vec<(String, String, usize)> {
        names
            .zip(counts)
            .filter(|(_, number)| **number > 0)
            .map(|(name, &number)| (name.clone(), name, number))
            .collect()
    };
    let connectors = named(&mut planning.connectors.iter().map(ToString::to_string), &counts.connectors);
    let branches = named(&mut planning.branches.iter().cloned(), &counts.branches);
    let of_action =
        |word: &&str| counts.actions.get(word).map(|&number| ((*word).to_owned(), (*word).to_owned(), number));
    let actions: Vec<_> = Action::WORDS.iter().filter_map(of_action).collect();
    let supplies = counts.supplies.iter().map(|(supply, &number)| match supply {
        Some(supply) => (supply.word().to_owned(), supply.word().to_owned(), number),
        None => (NO_SUPPLY.to_owned(), "not known".to_owned(), number),
    });
    let supplies: Vec<_> = supplies.collect();
    let left: Vec<_> =
        counts.left.iter().map(|(&step, &number)| (step.word().to_owned(), step.to_do().to_owned(), number)).collect();
    let supply = wanted.supply.map(|supply| supply.map_or(NO_SUPPLY, Supply::word));
    let orders: Vec<Order> = Order::ALL.to_vec();
    html! {
        form.filter action=(screen.desk.link("/circuits")) method="get" role="search" aria-label="filter" data-swap="#main" {
            label.words { span { "code, place, colour, words" }
                input type="search" name="q" value=(wanted.words) autocomplete="off" spellcheck="false"; }
            @if planning.connectors.len() <= LISTED {
                (choice("connector", "connector", "all", &connectors, wanted.connector.as_ref().map(|id| id.as_str())))
            } @else {
                label { span { "connector" }
                    input type="text" name="connector" value=(wanted.connector.as_ref().map_or("", |id| id.as_str())); }
            }
            @if !planning.branches.is_empty() {
                (choice("branch", "branch", "all", &branches, wanted.branch.as_deref()))
            }
            (choice("action", "action", "any", &actions, wanted.action))
            (choice("supply", "supply", "any", &supplies, supply))
            (choice("left", "left to do", "anything", &left, wanted.left.map(Step::word)))
            label { span { "sorted by" }
                select name="sort" {
                    @for order in orders { option value=(order.word()) selected[order == view.order] { (order.word()) } }
                }
            }
            label.tick { input type="checkbox" name="stale" value="1" checked[wanted.is_stale];
                " ends with stale tags (" (count(counts.stale)) ")" }
            label.tick { input type="checkbox" name="otherwise" value="1" checked[wanted.is_otherwise];
                " found otherwise (" (count(counts.otherwise)) ")" }
            div.go {
                button type="submit" { "Filter" }
                @if !view.is_of_all() { a.button.second href=(screen.desk.link("/circuits")) { "All" } }
            }
        }
    }
}

fn table(screen: &Screen<'_>, view: &View, chosen: &Chosen) -> Markup {
    let (desk, planning) = (screen.desk, screen.job.planning());
    let back = view.query();
    let action = desk.link("/circuits/act");
    let typed = screen.visitor.typed(&action);
    let rows = Rows { desk, job: screen.job, visitor: screen.visitor, back: &back };
    let shown = on_page(&chosen.ends, view.page);
    let from = (view.page - 1).saturating_mul(ROWS);
    if shown.is_empty() {
        return html! {
            p { "No end matches." @if let Some(hint) = hint(screen.job, &view.filter) { " " (words(&hint)) } }
            p { a.button.second href=(desk.link("/circuits")) { "All ends" } }
        };
    }
    html! {
        p.matched role="status" {
            @if chosen.ends.len() > shown.len() {
                (count(from + 1)) " to " (count(from + shown.len())) " of " (ends(chosen.ends.len()))
            } @else { (ends(chosen.ends.len())) }
            @if view.is_of_all() { " in all" } @else { " match of " (count(planning.all().len())) }
        }
        @if shown.iter().any(|&number| !planning.end(number).is_issued) { (ahead_words()) }
        form.chosen id=[typed.id()] method="post" action=(action) {
            input type="hidden" name="back" value=(back);
            input type="hidden" name="seen_shown" value=(seen(screen.job, shown));
            input type="hidden" name="seen_all" value=(seen(screen.job, &chosen.ends));
            div.scroll {
                table.plan {
                    thead { tr {
                        th.pick { label { input type="checkbox" data-all hidden aria-label="tick all rows shown"; } }
                        @for (head, order) in HEADS { (sorting(screen, view, head, order)) }
                        th { span.unseen { "edit" } }
                    } }
                    tbody {
                        @for (at, &number) in shown.iter().enumerate() {
                            @let end = planning.end(number);
                            @if at == 0 || !rows.are_together(planning.end(shown[at - 1]), end, view.order) {
                                @if let Some(heading) = rows.heading(end, view.order) {
                                    tr.group { th colspan=(HEADS.len() + 2) scope="rowgroup" { (heading) } }
                                }
                            }
                            (rows.row(end, typed))
                        }
                    }
                }
            }
            (pages(screen, view, chosen.ends.len()))
            (screen.writing(forms::with_selected(typed, shown.len(), chosen.ends.len())))
        }
    }
}

/// The head of a column, which sorts by it where that makes sense.
fn sorting(screen: &Screen<'_>, view: &View, head: &str, order: Option<Order>) -> Markup {
    let is_sorted = order == Some(view.order);
    html! {
        th scope="col" aria-sort=[is_sorted.then_some("ascending")] {
            @match order {
                Some(order) if !is_sorted => {
                    a href=(screen.desk.link(&format!("/circuits{}", view.sorted(order).query()))) { (head) }
                }
                _ => { (head) @if is_sorted { " ↓" } }
            }
        }
    }
}

fn pages(screen: &Screen<'_>, view: &View, all: usize) -> Markup {
    let last = all.div_ceil(ROWS);
    let link = |page: usize| screen.desk.link(&format!("/circuits{}", view.at_page(page).query()));
    html! {
        @if last > 1 {
            nav.pages aria-label="pages of the table" {
                @if view.page > 1 { a.button.second rel="prev" href=(link(view.page - 1)) { "Before" } }
                span { "page " (view.page) " of " (last) }
                @if view.page < last {
                    a.button.second rel="next" href=(link(view.page + 1)) {
                        (count(all - view.page * ROWS)) " more"
                    }
                }
            }
        }
    }
}

/// Why nothing may match: a word that is known nowhere.
fn hint(job: &Snapshot, filter: &Filter) -> Option<String> {
    let words: Vec<String> = filter.words.split_whitespace().map(str::to_owned).collect();
    let unknown = job.recall.unknown_words(&words);
    let first = unknown.first()?;
    Some(match &first.near {
        Some(near) => format!("`{}` is known nowhere; did you mean `{near}`?", first.word),
        None => format!("`{}` is known nowhere.", first.word),
    })
}
