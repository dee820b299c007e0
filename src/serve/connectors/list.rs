//! All connectors: what each is, what is to be done there, and how far that is.

use maud::{Markup, html};

use crate::circuits::ConnectorKind;
use crate::labels::connector::{NotWhole, words_on_connector};
use crate::paperwork::work_list::Totals;
use crate::run::connectors::ConnectorSummary;
use crate::serve::parts;
use crate::serve::screen::Screen;

/// The page; `asked` are words that all must stand in what is said of a connector.
pub fn body(screen: &Screen<'_>, asked: &str) -> Markup {
    let all = screen.job.connectors();
    let words: Vec<String> = asked.split_whitespace().map(str::to_lowercase).collect();
    let shown: Vec<&ConnectorSummary> = all.iter().filter(|one| fits(one, &words)).collect();
    html! {
        h1 { "Connectors" }
        @if !screen.desk.is_still() {
            form.row.filter action=(screen.desk.link("/connectors")) {
                label { "show only " input type="search" name="q" value=(asked) data-filter="#connectors tbody tr" autocomplete="off"; }
                button.second type="submit" { "Show" }
            }
        }
        @if shown.is_empty() {
            p { @if all.is_empty() { "No list names a connector yet." } @else { "None of " (all.len()) " fits these words." } }
        } @else {
            div.scroll {
                table #connectors {
                    thead { tr {
                        th { "connector" } th { "what it is" } th { "branch" } th.number { "ends" } th { "to do" } th { "done" } th { "tags" }
                    } }
                    tbody { @for one in &shown { (row(screen, one)) } }
                }
            }
            @if shown.len() < all.len() { p.soft { (shown.len()) " of " (all.len()) " connectors" } }
        }
    }
}

fn row(screen: &Screen<'_>, one: &ConnectorSummary) -> Markup {
    html! {
        tr {
            td { (parts::connector(screen.desk, one.id.as_str())) }
            td { (kind(one.kind)) @if let Some(name) = other_name(one) { br; (name) } }
            td { (one.branch.as_deref().unwrap_or_default()) }
            td.number { (one.totals.ends) }
            td { (to_do(one)) }
            td { (how_far(one)) }
            td { (standing(one)) }
        }
    }
}

/// The kind in the word of its column.
pub fn kind(kind: ConnectorKind) -> &'static str {
    ConnectorKind::WORDS[kind as usize]
}

/// The short name, where it says more than the kind.
pub fn other_name(one: &ConnectorSummary) -> Option<&str> {
    one.short_name.as_deref().filter(|name| *name != kind(one.kind))
}

/// What is to be done: `3 pulls, 2 cuts`.
pub fn to_do(one: &ConnectorSummary) -> String {
    let counts = one.totals.by_action.iter().zip(Totals::HEADS).filter(|(count, _)| count.of > 0);
    // `1 pull`, `1 move out`.
    let one = |head: &str| {
        let (first, rest) = head.split_at(head.find(' ').unwrap_or(head.len()));
        format!("1 {}{rest}", first.trim_end_matches('s'))
    };
    let told = counts.map(|(count, head)| if count.of == 1 { one(head) } else { format!("{} {head}", count.of) });
    told.collect::<Vec<_>>().join(", ")
}

/// How many of the steps are done, in numbers and as a bar.
pub fn how_far(one: &ConnectorSummary) -> Markup {
    let (asked, done) = one.steps;
    html! {
        @if asked > 0 {
            span.far {
                progress max=(asked) value=(done) aria-label=(format!("{done} of {asked} steps done")) {}
                span { (done) " of " (asked) " steps" }
            }
        } @else { span.soft { "nothing asked" } }
    }
}

/// Whether it stays whole, what danger it bears, and whether its tags are right.
pub fn standing(one: &ConnectorSummary) -> Markup {
    html! {
        @match &one.whole {
            Ok(whole) => {
                "stays whole"
                @if let Some(danger) = whole.danger { " " strong.danger { (words_on_connector(danger)) } }
            }
            Err(NotWhole::Opened(place, action)) => { "opened: " (place) " " (action.word()) }
            Err(NotWhole::NoCavities) => { span.soft { "tagged end by end" } }
            Err(NotWhole::Empty) => { span.soft { "no wire in the lists" } }
        }
        @if one.stale > 0 { br; strong.mind-word { "stale tags: " (one.stale) } }
    }
}

fn fits(one: &ConnectorSummary, words: &[String]) -> bool {
    let said = [
        one.id.as_str(),
        kind(one.kind),
        one.short_name.as_deref().unwrap_or_default(),
        one.branch.as_deref().unwrap_or_default(),
        &to_do(one),
        if one.whole.is_ok() { "stays whole" } else { "" },
        if one.stale > 0 { "stale" } else { "" },
    ];
    let said = said.join("\n").to_lowercase();
    words.iter().all(|word| said.contains(word))
}
