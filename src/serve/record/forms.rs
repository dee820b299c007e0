//! What can be written of a record: ticks first, then what is found and noted, then what is done once in a while.

use maud::{Markup, html};

use super::named::path;
use super::view::Work;
use super::writes::OTHER;
use crate::base::{Finding, Step};
use crate::codes::{Noted, Said};
use crate::run::recall::Record;
use crate::serve::parts::{Tick, moment};
use crate::serve::screen::Screen;

/// What is left to do at an end, what is done, and what else can be noted of it.
pub fn work(screen: &Screen<'_>, work: &Work<'_>) -> Markup {
    let asked: &[(Step, bool)] = work.told.as_ref().map_or(&[], |told| &told.steps);
    let done = work.progress().done;
    let also: Vec<Step> = done.iter().copied().filter(|step| !asked.iter().any(|(asked, _)| asked == step)).collect();
    let Some(own) = &work.path else {
        return html! {
            @if let Some(told) = &work.told { h3 { "To do: " (told.words) } }
            p.soft { "no code was issued for this end yet: " a href=(screen.desk.link("/print")) { "print its tag" } }
        };
    };
    let place_of = |step: Step| if step == Step::Tagged { work.tag_path.as_ref().unwrap_or(own) } else { own };
    html! {
        @if let Some(told) = &work.told { h3 { "To do: " (told.words) } }
        @if asked.iter().any(|(_, is_done)| !is_done) {
            @for rule in work.told.iter().flat_map(|told| &told.rules) { p.mind { (rule) } }
        }
        ol.steps {
            @for &(step, is_done) in asked { (tick(screen, place_of(step), step, is_done.into(), work)) }
            @for step in also { (tick(screen, place_of(step), step, Tick::Done, work)) }
        }
        (screen.writing(more(screen, own)))
    }
}

/// Of an end that no list has any more: its tag comes off before anything else.
pub fn take_off(screen: &Screen<'_>, path: &str) -> Markup {
    html! {
        div.mind.take-off {
            p { "Its tag names a wire that is not in the lists any more: take the tag off." }
            @if screen.visitor.may_write() {
                form method="post" action=(screen.desk.link(&format!("{path}/done"))) data-swap="#main" {
                    input type="hidden" name="step" value=(Step::Untagged);
                    button.tick type="submit" { "☐ The tag is off" }
                }
            }
        }
    }
}

/// One step: a large button while it is to be done, else when it was done and the way back.
fn tick(screen: &Screen<'_>, path: &str, step: Step, tick: Tick, work: &Work<'_>) -> Markup {
    let form = |what: &str, button: Markup| {
        html! {
            form method="post" action=(screen.desk.link(&format!("{path}/{what}"))) data-swap="#main" {
                input type="hidden" name="step" value=(step);
                (button)
            }
        }
    };
    html! {
        li.done[tick == Tick::Done] {
            @if tick == Tick::Done {
                span { "✓ " (step) " " @if let Some(at) = work.done_at(step) { span.soft { (moment(at)) } } }
                @if screen.visitor.may_write() {
                    (form("undone", html! { button.plain type="submit" { "Undo" span.aside { " " (step) } } }))
                }
            } @else if screen.visitor.may_write() {
                (form("done", html! { button.tick type="submit" { "☐ " (step) } }))
            } @else {
                span { "☐ " (step) }
            }
        }
    }
}

/// What is noted less often.
fn more(screen: &Screen<'_>, path: &str) -> Markup {
    let action = |what: &str| screen.desk.link(&format!("{path}/{what}"));
    let found = screen.visitor.typed(&action("found"));
    let noted = screen.visitor.typed(&action("note")).with("instead", "");
    html! {
        details open[found.is_kept()] { summary { "Found different" }
            form.stack id=[found.id()] method="post" action=(action("found")) {
                label { "what is different " select name="finding" required {
                    option value="" { "choose…" }
                    @for finding in Finding::ALL {
                        @let word = if finding == Finding::Other { OTHER } else { finding.word() };
                        option value=(word) data-value[finding.has_value()] selected[found.has("finding", word)] {
                            (offered(finding))
                        }
                    }
                } }
                label { "colour, size or place that was found "
                    input name="value" value=(found.value("value", "")) autocomplete="off"; }
                label { "remark " input name="remark" value=(found.value("remark", "")) autocomplete="off"; }
                button type="submit" { "Note it" }
            }
        }
        details open[noted.is_kept()] { summary { "Note" }
            form.stack id=[noted.id()] method="post" action=(action("note")) {
                input type="hidden" name="instead" value="";
                label { "words " textarea name="text" rows="3" required { (noted.value("text", "")) } }
                button type="submit" { "Note it" }
            }
        }
        details { summary { "Another step" }
            form.row method="post" action=(action("done")) {
                label { "step " select name="step" { @for step in Step::ALL { option value=(step) { (step) } } } }
                button type="submit" { "Done" }
            }
        }
    }
}

fn offered(finding: Finding) -> &'static str {
    match finding {
        Finding::Empty => "the cavity is empty",
        Finding::Colour => "another colour",
        Finding::Size => "another size",
        Finding::Place => "another place",
        Finding::Damaged => "damaged",
        Finding::Unlisted => "a wire that no list has",
        Finding::Other => "something else, see the remark",
    }
}

/// Notes of a code that has no end to be noted of: a blank.
pub fn of_blank(screen: &Screen<'_>, code: &str) -> Markup {
    screen.writing(more(screen, &format!("/{code}")))
}

/// A finding that stands, and the way to take it back.
pub fn finding(screen: &Screen<'_>, noted: &Noted, path: Option<&str>) -> Markup {
    html! {
        div.mind.finding {
            p { (noted.note.in_words()) " " span.soft { "(note " (noted.number) ", " (moment(noted.at)) ")" } }
            @if let Some(path) = path.filter(|_| screen.visitor.may_write()) { (take_back(screen, noted, path)) }
        }
    }
}

fn take_back(screen: &Screen<'_>, noted: &Noted, path: &str) -> Markup {
    html! {
        form method="post" action=(screen.desk.link(&format!("{path}/note"))) data-swap="#main" {
            input type="hidden" name="instead" value=(noted.number);
            input type="hidden" name="text" value="taken back";
            button.plain type="submit" { "Take note " (noted.number) " back" }
        }
    }
}

/// Another text in the place of a note that stands.
pub fn instead(screen: &Screen<'_>, record: &Record, noted: &Noted) -> Markup {
    let is_open = noted.superseded_by.is_none() && matches!(noted.note.said, Said::Text | Said::Found(_));
    let Some(code) = record.code.as_deref().filter(|_| is_open && screen.visitor.may_write()) else {
        return html! {};
    };
    let number = noted.number.to_string();
    let path =
        path(code, noted.note.letter.map(|letter| letter.to_string()).filter(|_| noted.note.code.as_str() == code));
    html! {
        @let action = screen.desk.link(&format!("{path}/note"));
        @let typed = screen.visitor.typed(&action).with("instead", &number);
        details open[typed.is_kept()] { summary { "Put right" }
            form.stack id=[typed.id()] method="post" action=(action) {
                input type="hidden" name="instead" value=(number);
                label { "words in the place of note " (number) " "
                    textarea name="text" rows="2" required { (typed.value("text", &noted.note.remark)) }
                }
                button type="submit" { "Note it" }
            }
            (take_back(screen, noted, &path))
        }
    }
}

/// What is done once in a while with a circuit.
pub fn of_circuit(screen: &Screen<'_>, record: &Record, code: &str) -> Markup {
    let action = |what: &str| screen.desk.link(&format!("/{code}/{what}"));
    let is_assigned = record.codes().into_iter().any(|code| screen.job.recall.assigned(code).is_some());
    let typed = |what: &str| screen.visitor.typed(&action(what));
    let (renamed, joined, assigned) = (typed("rename"), typed("join"), typed("assign"));
    let form = html! {
        details open[renamed.is_kept()] { summary { "Rename" }
            form.stack id=[renamed.id()] method="post" action=(action("rename")) {
                @if record.designations.len() > 1 {
                    label { "which " select name="old" {
                        @for name in &record.designations { option value=(name) selected[renamed.has("old", name)] { (name) } }
                    } }
                }
                label { "new designation " input name="new" value=(renamed.value("new", "")) autocomplete="off" required; }
                button type="submit" { "Rename" }
            }
        }
        details open[joined.is_kept()] { summary { "Another code is the same circuit" }
            form.stack id=[joined.id()] method="post" action=(action("join")) {
                label { "its code " input name="other" value=(joined.value("other", "")) autocomplete="off" autocapitalize="characters" required; }
                p.soft { "Nothing is printed again: both codes stay valid. What speaks against it is told first." }
                button type="submit" { "Join" }
            }
        }
        @if is_assigned {
            details open[assigned.is_kept()] { summary { "The blank was something else" }
                form.stack id=[assigned.id()] method="post" action=(action("assign")) {
                    input type="hidden" name="again" value="yes";
                    label { "circuit, place or code "
                        input name="what" value=(assigned.value("what", "")) autocomplete="off" required; }
                    button type="submit" { "Assign" }
                }
            }
        }
    };
    html! { h2 { "Put in order" } (screen.writing(form)) }
}
