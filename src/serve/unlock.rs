//! The page that asks for the PIN, and the way on to where it was wanted.
//!
//! A form that was sent without a session comes in and is carried along hidden, so that nothing that was typed is lost: when the PIN
//! is right, it is done as if it had been sent then.

use std::sync::Arc;

use axum::Router;
use axum::body::{Body, Bytes};
use axum::extract::{Form, FromRequest, Query, Request, State};
use axum::http::header::{self, HeaderMap, HeaderValue};
use axum::http::{StatusCode, Uri};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use maud::{Markup, html};
use serde::Deserialize;

use super::access::{self, Door, Visitor, address, own_path, session_cookie};
use super::desk::Shared;
use super::parts::words;
use super::screen;
use super::sessions::Unlocked;
use super::trouble::Trouble;
use crate::base::counted;

pub fn routes(shared: &Arc<Shared>) -> Router {
    // What is sent to `/unlock` is done at the door: it may lead on to any page.
    let router = Router::new().route("/unlock", get(ask)).route("/lock", post(lock));
    router.with_state(Arc::clone(shared))
}

#[derive(Deserialize)]
struct Asked {
    #[serde(default)]
    then: String,
}

#[derive(Deserialize)]
struct Tried {
    #[serde(default)]
    pin: String,
    #[serde(default)]
    then: String,
    /// Where a carried form is to go.
    #[serde(default)]
    to: String,
    /// The carried form, encoded as it was sent.
    #[serde(default)]
    sent: String,
}

impl Tried {
    fn carried(&self) -> Option<(&str, &str)> {
        (!self.to.is_empty()).then_some((&*self.to, &*self.sent))
    }
}

/// The question for the PIN, where something was sent that needs it: a form, which is carried along with where it goes to, or what
/// is too large for that.
pub fn wanted(then: &str, sent: Option<(String, Bytes)>) -> Response {
    let sent = sent.and_then(|(to, bytes)| Some((to, String::from_utf8(bytes.to_vec()).ok()?)));
    let why = html! {
        p { "To write, type the PIN that " code { "loomtag serve" } " shows." }
        @if sent.is_some() {
            p { "Nothing is written yet; what you sent is kept on this page and goes on with the PIN." }
        } @else {
            p.mind { "Nothing was written. Files are not kept: after the PIN, choose and send them again." }
        }
    };
    let carried = sent.as_ref().map(|(to, sent)| (&**to, &**sent));
    (StatusCode::UNAUTHORIZED, screen::bare("PIN", form(then, carried, &why), None)).into_response()
}

async fn ask(Query(asked): Query<Asked>) -> Markup {
    let why = html! { p { "Anyone here may read. To write, type the PIN that " code { "loomtag serve" } " shows." } };
    screen::bare("PIN", form(&asked.then, None, &why), None)
}

fn form(then: &str, carried: Option<(&str, &str)>, why: &Markup) -> Markup {
    html! {
        (why)
        form.stack method="post" action="/unlock" {
            input type="hidden" name="then" value=(then);
            @if let Some((to, sent)) = carried {
                input type="hidden" name="to" value=(to);
                input type="hidden" name="sent" value=(sent);
            }
            label for="pin" { "PIN" }
            input.pin #pin type="text" name="pin" inputmode="numeric" autocomplete="off" pattern="[0-9 ]*" maxlength="15"
                required autofocus;
            button type="submit" { "Unlock" }
        }
    }
}

/// Tries the PIN, and does what was carried along.
pub async fn try_pin(door: &Door, shared: &Arc<Shared>, request: Request) -> Response {
    let (headers, extensions) = (request.headers().clone(), request.extensions().clone());
    let Ok(Form(tried)) = Form::<Tried>::from_request(request, &()).await else {
        return Trouble::refused("the PIN did not arrive whole", "open the page again").into_response();
    };
    let told = |status: StatusCode, why: &str| {
        let why = html! { p.alarm { (words(why)) } };
        (status, screen::bare("PIN", form(&tried.then, tried.carried(), &why), None)).into_response()
    };
    let (pin, from) = (&shared.settings.pin, address(&extensions));
    let token = match shared.sessions.unlock(pin, &tried.pin, from, shared.now()) {
        Ok(Unlocked::Yes(token)) => token,
        Ok(Unlocked::No) => return told(StatusCode::UNAUTHORIZED, "that is not the PIN"),
        Ok(Unlocked::Wait(minutes)) => {
            let why = format!(
                "too many wrong PINs: even the right one is heard only in {}; who sits at the machine can start `loomtag serve` anew instead",
                counted(minutes as usize, "minute")
            );
            return told(StatusCode::TOO_MANY_REQUESTS, &why);
        }
        Err(_) => return Trouble::Broken.into_response(),
    };
    let cookie = HeaderValue::from_str(&session_cookie(&headers, &token));
    let mut answer = match tried.carried() {
        Some((to, sent)) => match resent(&headers, to, sent, &tried.then) {
            Some(mut again) => {
                *again.extensions_mut() = extensions;
                again.extensions_mut().insert(Visitor::unlocked(token, shared, to));
                door.pass(again).await
            }
            None => Trouble::refused("what was sent did not arrive whole", "open its page again").into_response(),
        },
        None => Redirect::to(&own_path(&tried.then)).into_response(),
    };
    // Digits and letters alone make it; a header takes them.
    answer.headers_mut().extend(cookie.ok().map(|cookie| (header::SET_COOKIE, cookie)));
    answer
}

/// A carried form as it would have been sent from its page.
fn resent(headers: &HeaderMap, to: &str, sent: &str, then: &str) -> Option<Request> {
    let uri = own_path(to).parse::<Uri>().ok()?;
    let host = headers.get(header::HOST)?.to_str().ok()?;
    let mut again = Request::post(uri).body(Body::from(sent.to_owned())).ok()?;
    *again.headers_mut() = headers.clone();
    again.headers_mut().insert(header::CONTENT_LENGTH, sent.len().into());
    let from = HeaderValue::from_str(&format!("http://{host}{}", own_path(then))).ok()?;
    again.headers_mut().insert(header::REFERER, from);
    Some(again)
}

async fn lock(State(shared): State<Arc<Shared>>, headers: HeaderMap, visitor: Visitor) -> Response {
    if let Some(token) = visitor.token() {
        shared.sessions.lock(token);
    }
    ([(header::SET_COOKIE, access::no_cookie(&headers))], Redirect::to("/")).into_response()
}
