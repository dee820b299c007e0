//! What can be done with selected ends: decide, mark steps done, print tags; and the button that undoes it.

use maud::{Markup, html};

use super::page::count;
use super::view::View;
use crate::base::Step;
use crate::circuits::Action;
use crate::run::Snapshot;
use crate::run::deciding::AS_LISTED;
use crate::serve::fields::Fields;
use crate::serve::kept::Typed;
use crate::serve::noted;
use crate::serve::screen::Screen;

/// The steps that one marks done by the dozen, in the order of the work; the others stand behind them.
const USUAL: [Step; 4] = [Step::Tagged, Step::Pulled, Step::Cut, Step::Sealed];

/// The choice of an action, `chosen` beforehand.
pub fn actions(chosen: Option<&str>, first: &str) -> Markup {
    html! {
        select name="set" data-moves {
            option value="" { (first) }
            @for word in Action::WORDS {
                option value=(word) selected[chosen == Some(word)] { @if word == "move" { "move to …" } @else { (word) } }
            }
            option value=(AS_LISTED) selected[chosen == Some(AS_LISTED)] { "back to what the lists say" }
        }
    }
}

/// What is done with selected rows.
pub fn with_selected(typed: Typed<'_>, shown: usize, all: usize) -> Markup {
    let which = typed.value("which", "ticked");
    html! {
        section.with aria-label="with the selected ends" {
            fieldset.which {
                legend { "With" }
                label.tick { input type="radio" name="which" value="ticked" checked[!["shown", "all"].contains(&which)]; " the ticked rows " span data-ticked {} }
                label.tick { input type="radio" name="which" value="shown" checked[which == "shown"]; " all " (count(shown)) " shown" }
                @if all > shown {
                    label.tick { input type="radio" name="which" value="all" checked[which == "all"]; " all " (count(all)) " that match" }
                }
            }
            details open {
                summary { "Decide" }
                div.fields {
                    label { span { "action" } (actions(Some(typed.value("set", "")), "leave as it is")) }
                    label.to { span { "move to" } input type="text" name="to" value=(typed.value("to", "")) placeholder="J1/14" autocomplete="off" spellcheck="false"; }
                    label { span { "note" }
                        select name="note_is" {
                            option value="" { "leave as it is" }
                            option value="write" selected[typed.has("note_is", "write")] { "write" }
                            option value="none" selected[typed.has("note_is", "none")] { "no note" }
                            option value=(AS_LISTED) selected[typed.has("note_is", AS_LISTED)] { "back to the list's own" }
                        }
                    }
                    label.wide { span { "its words" } input type="text" name="note" value=(typed.value("note", "")) autocomplete="off"; }
                    button type="submit" name="do" value="decide" { "Decide" }
                }
            }
            details open[typed.has("do", "done")] {
                summary { "Mark done" }
                div.fields {
                    (steps(typed))
                    label.wide { span { "remark" } input type="text" name="remark" value=(typed.value("remark", "")) autocomplete="off"; }
                    button type="submit" name="do" value="done" { "Mark done" }
                }
            }
            p.print { button.second type="submit" name="do" value="print" { "Print their tags" } }
        }
        details.keys {
            summary { "Keys: ?" }
            p { kbd { "j" } " " kbd { "k" } " next and previous row · " kbd { "x" } " tick it · " kbd { "e" } " edit it · "
                kbd { "Enter" } " its record · " kbd { "/" } " find" }
        }
    }
}

/// The steps that can be marked done.
pub fn steps(typed: Typed<'_>) -> Markup {
    let others = Step::ALL.into_iter().filter(|step| !USUAL.contains(step));
    html! {
        fieldset.steps {
            legend { "done" }
            @for step in USUAL.into_iter().chain(others) {
                label.tick { input type="checkbox" name="step" value=(step.word()) checked[typed.has("step", step.word())]; " " (step.word()) }
            }
        }
    }
}

/// The decisions of an act that hold.
pub fn holding(job: &Snapshot, act: u32) -> usize {
    job.decisions.all().iter().filter(|made| made.act == act && made.holds()).count()
}

/// The button that takes back what was just done, where that stands.
pub fn undo(screen: &Screen<'_>, asked: &Fields, view: &View) -> Markup {
    let act = asked.given("act").and_then(|act| act.parse().ok()).map(|act: u32| (act, holding(screen.job, act)));
    html! {
        @if let Some((act, number)) = act.filter(|(_, number)| *number > 0 && screen.visitor.may_write()) {
            form.undo method="post" action=(screen.desk.link("/circuits/undo")) {
                input type="hidden" name="back" value=(view.query());
                input type="hidden" name="act" value=(act);
                button.second type="submit" { "Undo: take back " @if number == 1 { "the decision" } @else { "all " (count(number)) " decisions" } }
            }
        }
        @if let Some(range) = asked.given("noted").filter(|_| screen.visitor.may_write()) {
            (noted::undo(screen.job, &screen.desk.link("/circuits/undo"), range, &[("back", &view.query())]))
        }
    }
}
