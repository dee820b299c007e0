//! Who may what: anyone who reaches the server may read, whoever has typed the PIN may write.
//!
//! A request comes in and is turned away, or goes on with its [`Visitor`]. The rules, in this order:
//! - the host that the browser names is this machine by number or by a name of its own, else a page elsewhere could be made to
//!   speak to it under a foreign name;
//! - whatever is not a question (GET, HEAD) comes from a page of this server: its `Origin`, or `Sec-Fetch-Site`, says so;
//! - it comes from a session that the PIN has opened, except where a page only reads what it is sent.
//!
//! Every answer forbids scripts, styles, pictures and frames from anywhere else.

use std::net::{IpAddr, SocketAddr};
use std::sync::Arc;

use axum::Router;
use axum::body::Body;
use axum::extract::{ConnectInfo, FromRequestParts, Request, State};
use axum::http::header::{self, HeaderMap, HeaderName, HeaderValue};
use axum::http::request::Parts;
use axum::http::{Method, StatusCode};
use axum::response::{IntoResponse, Response};
use maud::html;
use tokio::sync::Semaphore;
use tower::ServiceExt;

use super::body::{self, NoBody, PATIENCE};
use super::desk::Shared;
use super::jobs::Jobs;
use super::kept::{Kept, Typed};
use super::screen::{self, SENT_FROM};
use super::trouble::Trouble;
use super::unlock;
use crate::circuits::LARGEST_FILE;

/// Which hosts a browser may name.
#[derive(Clone, Debug, Default)]
pub struct Reach {
    /// Names of this machine, beside `localhost`, in lower case and without a port.
    pub names: Vec<String>,
}

impl Reach {
    fn allows(&self, host: &str) -> bool {
        let (name, _) = split_port(host);
        let name = name.trim_end_matches('.').to_lowercase();
        let number = name.trim_start_matches('[').trim_end_matches(']');
        number.parse::<IpAddr>().is_ok() || name == "localhost" || self.names.contains(&name)
    }
}

/// Who asks.
#[derive(Clone)]
pub struct Visitor {
    token: Option<String>,
    shared: Arc<Shared>,
    /// Whether the answer is a part of a page, on which no message is seen: those wait for the next whole one.
    is_part: bool,
    /// A form that was refused, for the page that shows it again.
    kept: Option<Arc<Kept>>,
    /// The path that was asked for, with its query, to come back to.
    pub path: String,
}

impl Visitor {
    /// Somebody who reads, and to whom nothing is told.
    pub fn reader(shared: Arc<Shared>, path: &str) -> Self {
        Self { token: None, shared, is_part: false, kept: None, path: path.to_owned() }
    }

    /// Who has just typed the PIN.
    pub fn unlocked(token: String, shared: &Arc<Shared>, path: &str) -> Self {
        Self { token: Some(token), shared: Arc::clone(shared), is_part: false, kept: None, path: path.to_owned() }
    }

    /// Whether the PIN was typed here.
    pub const fn may_write(&self) -> bool {
        self.token.is_some()
    }

    /// Tells something on the next page that is shown here.
    pub fn tell(&self, what: impl Into<String>) {
        let mut open = self.shared.sessions.open();
        if let Some(session) = self.token.as_ref().and_then(|token| open.get_mut(token)) {
            session.told.push(what.into());
        }
    }

    /// What is to be told, once.
    pub fn told(&self) -> Vec<String> {
        if self.is_part {
            return Vec::new();
        }
        let mut open = self.shared.sessions.open();
        let session = self.token.as_ref().and_then(|token| open.get_mut(token));
        session.map(|session| std::mem::take(&mut session.told)).unwrap_or_default()
    }

    /// The same with a form that was refused.
    #[must_use]
    pub fn keeping(&self, kept: Arc<Kept>) -> Self {
        Self { kept: Some(kept), ..self.clone() }
    }

    /// The form that was refused.
    pub fn kept(&self) -> Option<&Kept> {
        self.kept.as_deref()
    }

    /// What was typed into the form that is sent to `action`, where it was refused.
    pub fn typed(&self, action: &str) -> Typed<'_> {
        Kept::typed(self.kept(), action)
    }

    /// The token of its session.
    pub fn token(&self) -> Option<&str> {
        self.token.as_deref()
    }
}

impl<S: Send + Sync> FromRequestParts<S> for Visitor {
    type Rejection = StatusCode;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, StatusCode> {
        // The guard puts it there; a router without it shows nothing.
        parts.extensions.get::<Self>().cloned().ok_or(StatusCode::INTERNAL_SERVER_ERROR)
    }
}

/// Where the request comes from, where that is known.
pub fn address(parts: &axum::http::Extensions) -> Option<IpAddr> {
    parts.get::<ConnectInfo<SocketAddr>>().map(|ConnectInfo(address)| address.ip())
}

/// The header with which our script asks for a part of a page.
const PART: &str = "x-part";

/// What the guard knows.
pub struct Door {
    pages: Router,
    shared: Arc<Shared>,
    /// Whether paths begin with the name of a job.
    below_names: bool,
    /// Turns for large requests of those who may write, so that not everybody fills the memory at once.
    writing: Semaphore,
    /// Turns for those of all others: who only reads keeps nobody from writing.
    reading: Semaphore,
}

/// Everything behind the rules of this module.
pub fn guarded(router: Router, shared: Arc<Shared>, jobs: &Jobs) -> Router {
    let below_names = matches!(jobs, Jobs::In(_));
    let turns = || Semaphore::new(MOST_LARGE_AT_ONCE);
    let door = Door { pages: router, shared, below_names, writing: turns(), reading: turns() };
    Router::new().fallback(guard).with_state(Arc::new(door))
}

/// As many requests above [`MOST_UNLOCKING`] are read and answered at once, of each sort.
const MOST_LARGE_AT_ONCE: usize = 4;
/// Largest form that is carried through the PIN.
pub const MOST_CARRIED: usize = 64 << 10;
/// The form of the PIN, with a carried form encoded once more.
const MOST_UNLOCKING: usize = 4 * MOST_CARRIED;
/// Largest request with photographs.
pub const MOST_SCANNED: usize = 32 << 20;
/// Largest request that writes: that with the largest list.
const MOST_WRITTEN: usize = LARGEST_FILE + MOST_CARRIED;

/// What something that was sent is for.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Sent {
    /// The PIN.
    Unlocks,
    /// Photographs to be read.
    Reads,
    /// All else.
    Writes,
}

impl Door {
    /// Hands a request that may pass to its page.
    pub async fn pass(&self, request: Request) -> Response {
        // A router fails in no way of its own.
        self.pages.clone().oneshot(request).await.unwrap_or_else(|never| match never {})
    }

    /// Only whole paths are known by name: a connector may be called `scan`, and what is sent to its page writes.
    fn sent_to(&self, path: &str) -> Sent {
        let scan = match (self.below_names, path.strip_prefix('/').and_then(|path| path.split_once('/'))) {
            (true, Some((_, rest))) => rest == "scan",
            (true, None) => path == "/scan",
            (false, _) => path == "/scan",
        };
        match path {
            "/unlock" => Sent::Unlocks,
            _ if scan => Sent::Reads,
            _ => Sent::Writes,
        }
    }
}

async fn guard(State(door): State<Arc<Door>>, request: Request) -> Response {
    // On a task of its own: a fault of a page ends that task alone, and who hangs up breaks off nothing half-way.
    let from = back(request.headers());
    let answer = tokio::spawn(SENT_FROM.scope(from, async move { answer(&door, request).await })).await;
    with_headers(as_page(answer.unwrap_or_else(|_| Trouble::Broken.into_response())))
}

async fn answer(door: &Door, mut request: Request) -> Response {
    let shared = &door.shared;
    if let Some(answer) = turned_away(shared, &request) {
        return answer;
    }
    let token = cookie(request.headers(), &cookie_name(request.headers()));
    let token = token.filter(|token| shared.sessions.is_open(token, shared.now()));
    let path = request.uri().path_and_query().map_or("/", |path| path.as_str()).to_owned();
    // What is kept of a large body is kept until it is answered.
    let _turn;
    if *request.method() == Method::POST {
        let sent = door.sent_to(request.uri().path());
        let is_form = text(request.headers(), &header::CONTENT_TYPE)
            .is_some_and(|sort| sort.to_ascii_lowercase().starts_with("application/x-www-form-urlencoded"));
        let most = match (sent, &token) {
            (Sent::Unlocks, _) => MOST_UNLOCKING,
            (Sent::Reads, _) => MOST_SCANNED,
            (Sent::Writes, Some(_)) => MOST_WRITTEN,
            (Sent::Writes, None) if is_form => MOST_CARRIED,
            (Sent::Writes, None) => 0,
        };
        let (parts, body) = request.into_parts();
        let length = text(&parts.headers, &header::CONTENT_LENGTH).and_then(|length| length.parse::<usize>().ok());
        // What is thrown away anyhow fills nothing, and takes nobody's turn.
        let is_large = most > MOST_UNLOCKING && length.is_none_or(|length| length > MOST_UNLOCKING);
        let turns = if token.is_some() { &door.writing } else { &door.reading };
        _turn = if is_large { turns.acquire().await.ok() } else { None };
        let read = body::read(body, most, PATIENCE).await;
        let then = || back(&parts.headers).unwrap_or_else(|| "/".to_owned());
        let bytes = match read {
            Ok(bytes) if sent == Sent::Writes && token.is_none() => {
                return unlock::wanted(&then(), is_form.then_some((path, bytes)));
            }
            Err(NoBody::TooLarge) if sent == Sent::Writes && token.is_none() => return unlock::wanted(&then(), None),
            Err(why) => return no_body(why, most),
            Ok(bytes) => bytes,
        };
        request = Request::from_parts(parts, Body::from(bytes));
        if sent == Sent::Unlocks {
            return unlock::try_pin(door, shared, request).await;
        }
    }
    let is_part = request.headers().contains_key(PART);
    request.extensions_mut().insert(Visitor { token, shared: Arc::clone(shared), is_part, kept: None, path });
    door.pass(request).await
}

fn no_body(why: NoBody, most: usize) -> Response {
    let (status, what, remedy) = match why {
        NoBody::TooLarge => (
            StatusCode::PAYLOAD_TOO_LARGE,
            format!("what was sent is larger than the {} MiB that are taken at once", most.div_ceil(1 << 20)),
            "send fewer or smaller files",
        ),
        NoBody::TooSlow => (
            StatusCode::REQUEST_TIMEOUT,
            "it took too long to arrive".to_owned(),
            "go nearer to the access point and send it again",
        ),
        NoBody::Broken => (StatusCode::BAD_REQUEST, "it did not arrive whole".to_owned(), "send it again"),
    };
    (status, screen::bare("It did not arrive", html! { p.alarm { (what) } p { (remedy) } }, None)).into_response()
}

/// What was refused below the pages, in words: an answer without any, or with those of a library, becomes a page.
fn as_page(answer: Response) -> Response {
    let status = answer.status();
    let sort = text(answer.headers(), &header::CONTENT_TYPE).unwrap_or("text/plain");
    if !(status.is_client_error() || status.is_server_error()) || !sort.starts_with("text/plain") {
        return answer;
    }
    let (title, what) = match status {
        StatusCode::NOT_FOUND => ("Not found", "there is no such page"),
        StatusCode::METHOD_NOT_ALLOWED => {
            ("This cannot be done", "this page is asked for and takes nothing, or the other way round")
        }
        StatusCode::PAYLOAD_TOO_LARGE => {
            ("It did not arrive", "what was sent is larger than this page takes: send fewer or smaller files")
        }
        _ if status.is_client_error() => {
            ("This cannot be done", "what was asked or sent cannot be understood: open the page again")
        }
        _ => return Trouble::Broken.into_response(),
    };
    let mut page = (status, screen::bare(title, html! { p.alarm { (what) } }, Some("/"))).into_response();
    for name in [header::ALLOW, header::SET_COOKIE] {
        let kept = answer.headers().get(&name).cloned();
        page.headers_mut().extend(kept.map(|kept| (name, kept)));
    }
    page
}

fn turned_away(shared: &Shared, request: &Request) -> Option<Response> {
    let refused = |status: StatusCode, what: &str, remedy: &str| {
        Some((status, screen::bare("Not here", html! { p.alarm { (what) } p { (remedy) } }, None)).into_response())
    };
    let headers = request.headers();
    let mut hosts = headers.get_all(header::HOST).iter().map(|host| host.to_str().unwrap_or_default());
    let host = hosts.next().or_else(|| request.uri().host());
    // Two hosts, or another one in the address itself (RFC 9112, 3.2), are nothing that a browser sends.
    let is_one = hosts.next().is_none()
        && request
            .uri()
            .authority()
            .is_none_or(|named| host.is_some_and(|host| named.as_str().eq_ignore_ascii_case(host)));
    let Some(host) = host.filter(|host| is_one && shared.settings.reach.allows(host)) else {
        let remedy = "open it by its number or name as `loomtag serve` shows them, or start that with `--name`";
        return refused(StatusCode::MISDIRECTED_REQUEST, "this server is not known by that name", remedy);
    };
    match *request.method() {
        Method::GET | Method::HEAD => None,
        Method::POST => {
            let is_own =
                match headers.get(header::ORIGIN) {
                    // `null` is the origin of a page that hides where it is from.
                    Some(origin) => origin.to_str().ok().and_then(|origin| origin.split_once("://")).is_some_and(
                        |(scheme, origin)| scheme == self::scheme(headers) && origin.eq_ignore_ascii_case(host),
                    ),
                    None => text(headers, &HeaderName::from_static("sec-fetch-site")) == Some("same-origin"),
                };
            let remedy = "open the page here and send it again";
            (!is_own).then(|| refused(StatusCode::FORBIDDEN, "this was sent from a page elsewhere", remedy)).flatten()
        }
        _ => {
            let remedy = "open the page again";
            let mut answer =
                refused(StatusCode::METHOD_NOT_ALLOWED, "pages are asked for or sent, nothing else", remedy)?;
            answer.headers_mut().insert(header::ALLOW, HeaderValue::from_static("GET, HEAD, POST"));
            Some(answer)
        }
    }
}

/// How the browser came here: what is served is plain, unless something before it that encrypts says so. A page elsewhere cannot
/// say it, for browsers ask before they send such a header across.
fn scheme(headers: &HeaderMap) -> &'static str {
    let forwarded = text(headers, &HeaderName::from_static("x-forwarded-proto"));
    if forwarded.is_some_and(|scheme| scheme.eq_ignore_ascii_case("https")) { "https" } else { "http" }
}

fn text<'h>(headers: &'h HeaderMap, name: &HeaderName) -> Option<&'h str> {
    headers.get(name)?.to_str().ok()
}

/// The page that a request was sent from, to come back to: its path, never another host.
pub fn back(headers: &HeaderMap) -> Option<String> {
    let (_, rest) = text(headers, &header::REFERER)?.split_once("://")?;
    let (host, path) = rest.split_once('/')?;
    let is_own = text(headers, &header::HOST).is_some_and(|own| own.eq_ignore_ascii_case(host));
    is_own.then(|| own_path(&format!("/{path}")))
}

/// A path of this server, whatever was sent: `//elsewhere` and `/\elsewhere` are none.
pub fn own_path(then: &str) -> String {
    let is_path =
        then.starts_with('/') && !then[1..].starts_with(['/', '\\']) && then.chars().all(|c| c.is_ascii_graphic());
    if is_path { then.to_owned() } else { "/".to_owned() }
}

/// The name of the session's cookie. Cookies do not know ports, so two servers of one machine tell theirs apart by name.
fn cookie_name(headers: &HeaderMap) -> String {
    let port = text(headers, &header::HOST).and_then(|host| split_port(host).1);
    format!("loomtag-{}", port.unwrap_or(if scheme(headers) == "https" { "443" } else { "80" }))
}

/// What sets the cookie of a session. Only the server reads it; it goes along from nowhere else, but for links that are followed,
/// such as those of a phone's scanner. It can be kept to encrypted ways only where the browser came by one.
pub fn session_cookie(headers: &HeaderMap, token: &str) -> String {
    let secure = if scheme(headers) == "https" { "; Secure" } else { "" };
    format!("{}={token}; Path=/; HttpOnly; SameSite=Lax; Max-Age={COOKIE_LASTS}{secure}", cookie_name(headers))
}

/// What takes it away.
pub fn no_cookie(headers: &HeaderMap) -> String {
    format!("{}=; Path=/; HttpOnly; SameSite=Lax; Max-Age=0", cookie_name(headers))
}

/// Seconds that a browser keeps the cookie: thirty days, as long as an unused session.
const COOKIE_LASTS: u32 = 30 * 24 * 3600;

/// Host and port: `[::1]:7117` and `bench.local` alike.
fn split_port(host: &str) -> (&str, Option<&str>) {
    match host.rsplit_once(':') {
        Some((name, port)) if !port.is_empty() && port.chars().all(|c| c.is_ascii_digit()) => (name, Some(port)),
        _ => (host, None),
    }
}

fn cookie(headers: &HeaderMap, name: &str) -> Option<String> {
    let all = headers.get_all(header::COOKIE).iter().filter_map(|value| value.to_str().ok());
    let mut pairs = all.flat_map(|line| line.split(';')).filter_map(|pair| pair.trim().split_once('='));
    pairs.find(|(known, _)| *known == name).map(|(_, value)| value.to_owned())
}

/// What a page may load and do.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; font-src 'self'; img-src 'self' data: blob:; \
    connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'; object-src 'none'";

fn with_headers(mut answer: Response) -> Response {
    let headers = answer.headers_mut();
    let fixed = [
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::X_FRAME_OPTIONS, "DENY"),
        (header::REFERRER_POLICY, "same-origin"),
        (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
        (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
        (HeaderName::from_static("permissions-policy"), "camera=(self), microphone=(), geolocation=()"),
    ];
    for (name, value) in fixed {
        headers.insert(name, HeaderValue::from_static(value));
    }
    headers.entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    answer
}
