//! A form that was sent and refused: the page that it came from is shown again, with why, and with what was typed into it.

use std::sync::Arc;

use axum::response::{IntoResponse, Response};
use maud::{Markup, html};

use super::access::Visitor;
use super::desk::Desk;
use super::fields::Fields;
use super::screen::Screen;
use super::trouble::Trouble;

/// Where on a page the form stands that was refused.
pub const AT: &str = "kept";

/// A form as it was sent, and why it was refused.
#[derive(Debug)]
pub struct Kept {
    action: String,
    fields: Fields,
    trouble: Trouble,
}

/// What was typed into a form, where it is the one that was refused.
#[derive(Clone, Copy, Debug)]
pub struct Typed<'k>(Option<&'k Kept>);

impl Kept {
    /// Why it was refused, and the way to the form.
    pub fn told(&self, desk: &Desk) -> Markup {
        html! {
            div.refused role="alert" {
                (self.trouble.told(Some(desk)))
                p { "Nothing was written. " a href={ "#" (AT) } { "What was typed is kept in its form." } }
            }
        }
    }

    /// What was typed into the form that is sent to `action`.
    pub fn typed<'k>(kept: Option<&'k Self>, action: &str) -> Typed<'k> {
        Typed(kept.filter(|kept| kept.action == action))
    }
}

impl<'k> Typed<'k> {
    /// The same, where this field tells it from other forms that are sent to one place.
    pub fn with(self, name: &str, value: &str) -> Self {
        Self(self.0.filter(|_| self.has(name, value)))
    }

    /// Whether this form was refused: it is shown open.
    pub const fn is_kept(self) -> bool {
        self.0.is_some()
    }

    /// The mark of this form, where it was refused.
    pub fn id(self) -> Option<&'static str> {
        self.0.map(|_| AT)
    }

    /// What was typed into a field, or what usually stands there.
    pub fn value<'a>(self, name: &str, usual: &'a str) -> &'a str
    where
        'k: 'a,
    {
        match self.0 {
            Some(kept) => kept.fields.sent(name).unwrap_or_default(),
            None => usual,
        }
    }

    /// Whether a field was sent with this value.
    pub fn has(self, name: &str, value: &str) -> bool {
        self.0.is_some_and(|kept| kept.fields.all(name).any(|own| own == value))
    }
}

/// What came of a form; where it was refused or failed, `page` shows the page of it again, with what was typed.
///
/// # Errors
/// What has nothing to do with the form; or why it was refused, where its page cannot be shown.
pub fn or_again(
    came: Result<Response, Trouble>,
    (desk, visitor): (&Desk, &Visitor),
    (action, fields): (&str, &Fields),
    page: impl FnOnce(&Screen<'_>) -> Result<Markup, Trouble>,
) -> Result<Response, Trouble> {
    let trouble = match came {
        Err(trouble @ (Trouble::Refused { .. } | Trouble::Failed(_))) => trouble,
        other => return other,
    };
    let Ok(job) = desk.snapshot() else { return Err(trouble) };
    let status = trouble.status();
    let kept = Arc::new(Kept { action: action.to_owned(), fields: fields.clone(), trouble });
    let shown = {
        let visitor = visitor.keeping(Arc::clone(&kept));
        page(&Screen { desk, job: &job, visitor: &visitor })
    };
    match (shown, Arc::try_unwrap(kept)) {
        (Ok(page), _) => Ok((status, page).into_response()),
        // Without its page, why it was refused is told alone.
        (Err(_), Ok(kept)) => Err(kept.trouble),
        (Err(trouble), Err(_)) => Err(trouble),
    }
}
