//! What would change, in counts first, then one by one.

use maud::{Markup, html};

use super::shown;
use crate::base::{Problem, counted};
use crate::run::difference::{Changed, Changes, Named};
use crate::run::outlook::Outlook;
use crate::run::stale::{LeftCode, StaleTag};
use crate::serve::parts::words;

/// Most that is shown of one sort.
const MOST: usize = 200;

/// All that would.
pub fn changes(outlook: &Outlook) -> Markup {
    let Outlook { difference, stale, left, due, refused, refused_now, likely } = outlook;
    let (new, gone): (Vec<&Problem>, Vec<&Problem>) =
        (difference.new_problems.iter().collect(), difference.gone_problems.iter().collect());
    html! {
        @if outlook.is_empty() { p { "Nothing: the circuits, the tags and the problems stay as they are." } }
        @else { (counts(outlook)) }
        @if !likely.is_empty() {
            h2 #likely { "Likely the same, called otherwise or moved" }
            p.mind { "Settle these before anything is printed: a circuit that only changed its name keeps its code when it is renamed." }
            (shown::problems(&likely.iter().collect::<Vec<_>>(), None))
        }
        @if !stale.is_empty() || !left.is_empty() {
            h2 #stale { "Tags on wires that would no longer be true" }
            ul.changes {
                @for tag in stale.iter().take(MOST) { (stale_tag(tag)) }
                @for code in left.iter().take(MOST) { (left_code(code)) }
            }
            (more(stale.len().max(left.len())))
        }
        (sort("circuits", "Circuits", &difference.circuits))
        (sort("ends", "Ends", &difference.ends))
        (sort("connectors", "Connectors", &difference.connectors))
        @if due.1 > 0 || due.0 > 0 {
            h2 #print { "To print" }
            p { (counted(due.1 - refused.len(), "tag")) ", new or changed; as the lists are now, " (due.0 - refused_now) "." }
            @if !refused.is_empty() {
                p { (counted(refused.len(), "more tag")) " cannot be made as it is" @if *refused_now > 0 { " (" (refused_now) " now)" } ":" }
                ul.changes { @for why in refused.iter().take(MOST) { li { (words(why)) } } }
            }
        }
        @if difference.some_wait { p.mind { "Some checks wait until the errors are mended; what they found or would find is not compared here." } }
        @if !new.is_empty() { h2 #problems { "Problems that come with it" } (shown::problems(&new, None)) }
        @if !gone.is_empty() {
            h2 #solved { "Problems that go" }
            details { summary { (counted(gone.len(), "problem")) } (shown::problems(&gone, None)) }
        }
    }
}

/// A count, its words, `*` for the end of their plural, and where on the page it is told.
type Counted = (usize, &'static str, &'static str);

fn counts(outlook: &Outlook) -> Markup {
    let Outlook { difference, stale, left, likely, .. } = outlook;
    let of = |changes: &Changes| (changes.new.len(), changes.changed.len(), changes.gone.len());
    let ((new, changed, gone), ends) = (of(&difference.circuits), of(&difference.ends));
    let tags = stale.len() + left.iter().map(|left| left.tags.len()).sum::<usize>();
    let all: [Counted; 11] = [
        (likely.len(), "likely renamed or moved", "#likely"),
        (tags, "tag* on wires no longer true", "#stale"),
        (new, "circuit* new", "#circuits"),
        (changed, "circuit* changed", "#circuits"),
        (gone, "circuit* gone", "#circuits"),
        (ends.0, "end* new", "#ends"),
        (ends.1, "end* changed", "#ends"),
        (ends.2, "end* gone", "#ends"),
        (difference.connectors.count(), "connector* otherwise", "#connectors"),
        (difference.new_problems.len(), "problem* new", "#problems"),
        (difference.gone_problems.len(), "problem* gone", "#solved"),
    ];
    html! {
        ul.counts {
            @for (count, words, to) in all.into_iter().filter(|(count, ..)| *count > 0) {
                li { a href=(to) { strong { (count) } " " (words.replace('*', if count == 1 { "" } else { "s" })) } }
            }
        }
    }
}

fn more(all: usize) -> Markup {
    html! { @if all > MOST { p.soft { "and " (all - MOST) " more" } } }
}

fn sort(id: &str, title: &str, changes: &Changes) -> Markup {
    let Changes { new, gone, changed } = changes;
    html! {
        @if !changes.is_empty() {
            h2 id=(id) { (title) }
            @if !changed.is_empty() { h3 { (changed.len()) " changed" } (facts(changed)) }
            @if !gone.is_empty() { h3 { (gone.len()) " gone" } (names(gone, "gone")) }
            @if !new.is_empty() { h3 { (new.len()) " new" } (names(new, "new")) }
        }
    }
}

fn names(all: &[Named], class: &str) -> Markup {
    html! {
        ul.changes.(class) {
            @for one in all.iter().take(MOST) { li { strong { (one.name) } " " span.soft { (one.words) } } }
        }
        (more(all.len()))
    }
}

fn facts(all: &[Changed]) -> Markup {
    html! {
        ul.changes {
            @for one in all.iter().take(MOST) {
                li {
                    strong { (one.name) }
                    @for fact in &one.facts {
                        span.fact { (fact.what) ": " del { (or_nothing(&fact.before)) } " → " ins { (or_nothing(&fact.after)) } }
                    }
                }
            }
        }
        (more(all.len()))
    }
}

fn or_nothing(said: &str) -> &str {
    if said.is_empty() { "nothing" } else { said }
}

fn stale_tag(tag: &StaleTag) -> Markup {
    html! {
        li {
            strong { (tag.tag) } " at " (tag.place) ", " (tag.purpose) " tag of run " (tag.run) (tag.standing.in_words())
            @for change in &tag.changes { span.fact { (change) } }
        }
    }
}

fn left_code(left: &LeftCode) -> Markup {
    html! {
        li {
            strong { (left.code) } " " (left.designations.join(", ")) " would be in no list; "
            @match &left.likely_renamed {
                Some(new) => { "likely " strong { (new) } " now" }
                None => { "tags to take off: " (left.tags.iter().map(|tag| format!("{} at {}", tag.tag, tag.place)).collect::<Vec<_>>().join(", ")) }
            }
        }
    }
}
