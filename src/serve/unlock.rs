//! The page that asks for the PIN, and the way back to where it was wanted.

use std::sync::Arc;

use axum::extract::{Form, Query, Request, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use axum::{RequestExt, Router};
use maud::{Markup, html};
use serde::Deserialize;

use super::access::{Unlocked, Visitor, address, back, cookie_name};
use super::desk::Shared;
use super::screen;
use super::trouble::Trouble;

pub fn routes(shared: &Arc<Shared>) -> Router {
    let router = Router::new().route("/unlock", get(ask).post(try_pin)).route("/lock", post(lock));
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
}

/// The question for the PIN, where something was sent that needs it.
pub fn wanted(then: &str) -> Response {
    let why = html! { p { "To write, type the PIN that " code { "loomtag serve" } " shows. Nothing was written." } };
    (StatusCode::UNAUTHORIZED, screen::bare("PIN", form(then, &why), None)).into_response()
}

async fn ask(Query(asked): Query<Asked>) -> Markup {
    let why = html! { p { "Anyone here may read. To write, type the PIN that " code { "loomtag serve" } " shows." } };
    screen::bare("PIN", form(&asked.then, &why), None)
}

fn form(then: &str, why: &Markup) -> Markup {
    html! {
        (why)
        form.stack method="post" action="/unlock" {
            input type="hidden" name="then" value=(then);
            label for="pin" { "PIN" }
            input.pin #pin type="text" name="pin" inputmode="numeric" autocomplete="off" pattern="[0-9 ]*" maxlength="15"
                required autofocus;
            button type="submit" { "Unlock" }
        }
    }
}

/// A path of this server, whatever was sent: `//elsewhere` and `/\elsewhere` are none.
fn own_path(then: &str) -> String {
    let is_path = then.starts_with('/') && !then[1..].starts_with(['/', '\\']) && !then.contains(char::is_control);
    if is_path { then.to_owned() } else { "/".to_owned() }
}

async fn try_pin(State(shared): State<Arc<Shared>>, request: Request) -> Response {
    let (from, name) = (address(request.extensions()), cookie_name(request.headers()));
    let Ok(Form(tried)) = request.extract::<Form<Tried>, _>().await else {
        return Trouble::refused("the PIN did not arrive whole", "open the page again").into_response();
    };
    let told = |status: StatusCode, why: &str| {
        let why = html! { p.alarm { (why) } };
        (status, screen::bare("PIN", form(&tried.then, &why), None)).into_response()
    };
    match shared.sessions.unlock(&shared.settings.pin, &tried.pin, from, shared.now()) {
        Ok(Unlocked::Yes(token)) => {
            let cookie = format!("{name}={token}; Path=/; HttpOnly; SameSite=Lax; Max-Age=2592000");
            ([(header::SET_COOKIE, cookie)], Redirect::to(&own_path(&tried.then))).into_response()
        }
        Ok(Unlocked::No) => told(StatusCode::UNAUTHORIZED, "that is not the PIN"),
        Ok(Unlocked::Wait) => told(StatusCode::TOO_MANY_REQUESTS, "too many wrong PINs: wait ten minutes"),
        Err(_) => Trouble::Broken.into_response(),
    }
}

async fn lock(State(shared): State<Arc<Shared>>, visitor: Visitor, headers: HeaderMap) -> Redirect {
    if let Some(token) = visitor.token() {
        shared.sessions.lock(token);
    }
    Redirect::to(&own_path(&back(&headers).unwrap_or_default()))
}
