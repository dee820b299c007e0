//! The ways to have a tag read: a photograph, the camera live, its text.

use maud::{Markup, html};

use super::Asked;
use crate::run::recall::Tag;
use crate::serve::parts;
use crate::serve::screen::Screen;

/// All of them, perhaps beside a tag that is held.
pub fn ways(screen: &Screen<'_>, held: Option<Tag>, typed: &str) -> Markup {
    let desk = screen.desk;
    html! {
        @if let Some((code, letter)) = held {
            p.held {
                "Held: " (parts::tag(desk, &code.to_string(), letter.map(|letter| letter.to_string()).as_deref()))
                " · " a href=(desk.link("/scan")) { "let go" }
            }
        }
        (forms(&desk.link("/scan"), held, typed))
    }
}

/// The forms of all ways; what they send goes to `scan`.
pub fn forms(scan: &str, held: Option<Tag>, typed: &str) -> Markup {
    let address = format!("{scan}{}", Asked::with(held));
    html! {
        form.scan-photo method="post" enctype="multipart/form-data" action=(address) {
            div.scan-shot {
                label.button for="shot" { "Photograph a tag" }
                input #shot type="file" name="photo" accept="image/*" capture="environment" multiple;
            }
            div.scan-file {
                label for="files" { "or photographs and PDFs that are there already" }
                input #files type="file" name="photo" accept="image/jpeg,image/png,image/*,application/pdf" multiple;
            }
            button.scan-send type="submit" { "Read" }
            p.soft { "Near enough that the symbol fills a third of the picture; several tags may be in it." }
            p.scan-works role="status" hidden {}
            div.scan-thumbs {}
        }
        section.scan-live hidden {
            h2 { "Live camera" }
            video muted playsinline hidden {}
            p { button.second type="button" { "Start the camera" } }
            p.mind.scan-why hidden {
                "Browsers let a page use the camera live only over https, or on the machine itself (localhost). "
                "The button “Photograph a tag” above works here too."
            }
            p.mind.scan-refused hidden { "The browser was not given the camera: allow it in its settings, or photograph the tag." }
        }
        section {
            h2 { "Or what its symbol says" }
            form.row action=(scan) {
                @if held.is_some() { input type="hidden" name="with" value=(Asked::with(held).trim_start_matches("?with=")); }
                div.stack {
                    label for="text" { "text or link of a symbol, or a code" }
                    input #text name="text" value=(typed) autocomplete="off" autocapitalize="off" spellcheck="false" maxlength="2000"
                        required;
                }
                button.second type="submit" { "Tell" }
            }
        }
    }
}
