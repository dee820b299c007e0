//! A blank that is not assigned yet: what is known of it, and what it may be.

use maud::{Markup, html};

use super::forms;
use super::named::path;
use crate::codes::Blank;
use crate::run::recall::Found;
use crate::run::recall::blank::origin;
use crate::serve::parts::{colour, moment_named};
use crate::serve::screen::{Screen, Tab};

/// As many answers are offered.
const OFFERED: usize = 12;

pub fn page(screen: &Screen<'_>, blank: &Blank, q: &str) -> Markup {
    let code = blank.code.as_str();
    let words: Vec<String> = q.split_whitespace().map(str::to_owned).collect();
    let (found, count) = screen.job.recall.find_most(&words, OFFERED);
    let events = screen.job.recall.history_of_blank(blank);
    let body = html! {
        article.record {
            h1 { span.tag { (code) } " a blank, not assigned yet" }
            p { (origin(blank)) }
            p.alarm { "nothing is known of its wire: take it as live, and test" }
            @if let Some(typed) = &blank.noted_colour { p.bar { (colour(typed)) " as noted" } }
            h2 { "What is this wire?" }
            form.row method="get" action=(screen.desk.link(&format!("/{code}"))) {
                label { "place, circuit, colour or words " input type="search" name="q" value=(q) autocomplete="off"; }
                button type="submit" { "Look" }
            }
            @if !words.is_empty() && found.is_empty() { p.mind { "nothing matches " code dir="auto" { (q) } } }
            @for one in &found { (offer(screen, code, one)) }
            @if count > found.len() { p.soft { (count - found.len()) " more; add a word to narrow it down" } }
            (screen.writing(html! {
                @let action = screen.desk.link(&format!("/{code}/assign"));
                @let typed = screen.visitor.typed(&action);
                details open[typed.is_kept()] { summary { "No list has it" }
                    form.stack id=[typed.id()] method="post" action=(action) {
                        label { "designation, or place " input name="new" value=(typed.value("new", q)) autocomplete="off" required; }
                        label { "place, if that is known too "
                            input name="what" value=(typed.value("what", "")) autocomplete="off"; }
                        button type="submit" { "Give it this name" }
                    }
                }
            }))
            (forms::of_blank(screen, code))
            h2 { "History" }
            ol.history {
                @for event in events.iter().rev() {
                    li {
                        span.soft { (moment_named(&event.at)) }
                        p.words { bdi { (event.words) } }
                    }
                }
            }
        }
    };
    screen.show(Tab::Other, code, body)
}

/// An answer, with a button for each end that the blank may hang at.
fn offer(screen: &Screen<'_>, blank: &str, found: &Found) -> Markup {
    let record = &found.record;
    html! {
        div.card {
            h3 {
                @if let Some(code) = &record.code { span.tag { (code) } " " }
                bdi { (record.function.as_deref().unwrap_or("function not known")) }
            }
            @for caution in &record.cautions { p.alarm { (caution) } }
            @for &end in &found.ends {
                @let end = &record.ends[end];
                @let name = match (&record.code, &end.letter) {
                    (Some(code), Some(letter)) => path(code, [letter.clone()]).trim_start_matches('/').to_owned(),
                    _ => end.here.clone(),
                };
                div.row {
                    span { (end.here) " " @if let Some(typed) = &end.colour { (colour(typed)) } }
                    @if screen.visitor.may_write() {
                        form method="post" action=(screen.desk.link(&format!("/{blank}/assign"))) {
                            input type="hidden" name="what" value=(name);
                            button.second type="submit" { "It is this end" span.aside { " " (end.here) } }
                        }
                    }
                }
            }
        }
    }
}
