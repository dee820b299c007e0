//! Who may what: anyone who reaches the server may read, whoever has typed the PIN may write.
//!
//! A request comes in and is turned away, or goes on with its [`Visitor`]. The rules, in this order:
//! - the host that the browser names is this machine by number or by a name of its own, else a page elsewhere could be made to
//!   speak to it under a foreign name;
//! - whatever is not a question (GET, HEAD) comes from a page of this server: its `Origin`, or `Sec-Fetch-Site`, says so;
//! - it comes from a session that the PIN has opened, except where a page only reads what it is sent.
//!
//! Every answer forbids scripts, styles, pictures and frames from anywhere else.

use std::collections::HashMap;
use std::fmt;
use std::net::{IpAddr, SocketAddr};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use axum::Router;
use axum::extract::{ConnectInfo, FromRequestParts, Request, State};
use axum::http::header::{self, HeaderMap, HeaderName, HeaderValue};
use axum::http::request::Parts;
use axum::http::{Method, StatusCode};
use axum::middleware::{self, Next};
use axum::response::{IntoResponse, Response};
use jiff::{SignedDuration, Timestamp};
use maud::html;

use super::desk::Shared;
use super::screen;
use super::unlock;

/// The digits that let a browser write.
#[derive(Clone, PartialEq, Eq)]
pub struct Pin(String);

/// How many digits a PIN has.
const PIN_DIGITS: usize = 6;

impl Pin {
    /// A new one by chance.
    ///
    /// # Errors
    /// When the system has no chance to give.
    pub fn by_chance() -> Result<Self, getrandom::Error> {
        // Of 2^64 values the first million is not favoured by more than one in ten thousand million.
        let number = getrandom::u64()? % 10_u64.pow(PIN_DIGITS as u32);
        Ok(Self(format!("{number:0PIN_DIGITS$}")))
    }

    /// One that was chosen: 4 to 12 digits.
    pub fn from_typed(typed: &str) -> Option<Self> {
        let digits: String = typed.chars().filter(|c| !c.is_whitespace()).collect();
        let is_pin = (4..=12).contains(&digits.len()) && digits.chars().all(|c| c.is_ascii_digit());
        is_pin.then_some(Self(digits))
    }

    fn is(&self, typed: &str) -> bool {
        Self::from_typed(typed).is_some_and(|typed| typed == *self)
    }
}

impl fmt::Display for Pin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl fmt::Debug for Pin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Pin(…)")
    }
}

/// Which hosts a browser may name.
#[derive(Clone, Debug, Default)]
pub struct Reach {
    /// Names of this machine, beside `localhost`, in lower case and without a port.
    pub names: Vec<String>,
}

impl Reach {
    fn allows(&self, host: &str) -> bool {
        let name = match host.rsplit_once(':') {
            Some((name, port)) if port.chars().all(|c| c.is_ascii_digit()) => name,
            _ => host,
        };
        let name = name.trim_end_matches('.').to_lowercase();
        let number = name.trim_start_matches('[').trim_end_matches(']');
        number.parse::<IpAddr>().is_ok() || name == "localhost" || self.names.contains(&name)
    }
}

/// Wrong PINs within [`MEMORY`] after which one address, or all together, must wait.
const MOST_WRONG: usize = 5;
const MOST_WRONG_OF_ALL: usize = 50;
/// How long wrong PINs are remembered.
const MEMORY: SignedDuration = SignedDuration::from_mins(10);
/// How long a session lasts after its last use.
const LASTING: SignedDuration = SignedDuration::from_hours(24 * 30);
/// Most sessions at once; the one longest unused makes room.
const MOST_SESSIONS: usize = 1_000;

/// The sessions that the PIN has opened, and the wrong tries.
#[derive(Default)]
pub struct Sessions {
    open: Mutex<HashMap<String, Session>>,
    wrong: Mutex<Vec<(Option<IpAddr>, Timestamp)>>,
}

#[derive(Debug)]
struct Session {
    used: Timestamp,
    told: Vec<String>,
}

/// How a try to unlock ended.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unlocked {
    /// The token of a new session.
    Yes(String),
    /// The PIN is another.
    No,
    /// There were too many tries.
    Wait,
}

impl Sessions {
    fn open(&self) -> MutexGuard<'_, HashMap<String, Session>> {
        self.open.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Tries a PIN.
    ///
    /// # Errors
    /// When the system has no chance to give for a token.
    pub fn unlock(
        &self,
        pin: &Pin,
        typed: &str,
        from: Option<IpAddr>,
        now: Timestamp,
    ) -> Result<Unlocked, getrandom::Error> {
        let mut wrong = self.wrong.lock().unwrap_or_else(PoisonError::into_inner);
        wrong.retain(|(_, at)| now.duration_since(*at) < MEMORY);
        let own = wrong.iter().filter(|(address, _)| *address == from).count();
        if own >= MOST_WRONG || wrong.len() >= MOST_WRONG_OF_ALL {
            return Ok(Unlocked::Wait);
        }
        if !pin.is(typed) {
            wrong.push((from, now));
            return Ok(Unlocked::No);
        }
        wrong.retain(|(address, _)| *address != from);
        drop(wrong);
        let mut bytes = [0_u8; 16];
        getrandom::fill(&mut bytes)?;
        let token: String = bytes.iter().map(|byte| format!("{byte:02x}")).collect();
        let mut open = self.open();
        if open.len() >= MOST_SESSIONS
            && let Some(oldest) = open.iter().min_by_key(|(_, session)| session.used).map(|(token, _)| token.clone())
        {
            open.remove(&oldest);
        }
        open.insert(token.clone(), Session { used: now, told: Vec::new() });
        Ok(Unlocked::Yes(token))
    }

    /// Ends a session.
    pub fn lock(&self, token: &str) {
        self.open().remove(token);
    }

    fn is_open(&self, token: &str, now: Timestamp) -> bool {
        let mut open = self.open();
        open.retain(|_, session| now.duration_since(session.used) < LASTING);
        open.get_mut(token).map(|session| session.used = now).is_some()
    }
}

/// Who asks.
#[derive(Clone)]
pub struct Visitor {
    token: Option<String>,
    shared: Arc<Shared>,
    /// The path that was asked for, with its query, to come back to.
    pub path: String,
}

impl Visitor {
    /// Somebody who reads, and to whom nothing is told.
    pub fn reader(shared: Arc<Shared>, path: &str) -> Self {
        Self { token: None, shared, path: path.to_owned() }
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
        let mut open = self.shared.sessions.open();
        let session = self.token.as_ref().and_then(|token| open.get_mut(token));
        session.map(|session| std::mem::take(&mut session.told)).unwrap_or_default()
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

/// Everything behind the rules of this module.
pub fn guarded(router: Router, shared: Arc<Shared>) -> Router {
    router.layer(middleware::from_fn_with_state(shared, guard))
}

/// The last part of paths that only read what they are sent.
const READING_POSTS: [&str; 2] = ["unlock", "scan"];

async fn guard(State(shared): State<Arc<Shared>>, mut request: Request, next: Next) -> Response {
    let answer = match turned_away(&shared, &request) {
        Some(answer) => answer,
        None => {
            let now = shared.now();
            let token = cookie(request.headers(), &cookie_name(request.headers()));
            let token = token.filter(|token| shared.sessions.is_open(token, now));
            let path = request.uri().path_and_query().map_or("/", |path| path.as_str()).to_owned();
            let last = request.uri().path().rsplit('/').next().unwrap_or_default();
            let is_question = matches!(*request.method(), Method::GET | Method::HEAD);
            if !is_question && token.is_none() && !READING_POSTS.contains(&last) {
                unlock::wanted(&back(request.headers()).unwrap_or_else(|| "/".to_owned()))
            } else {
                request.extensions_mut().insert(Visitor { token, shared: Arc::clone(&shared), path });
                next.run(request).await
            }
        }
    };
    with_headers(answer)
}

fn turned_away(shared: &Shared, request: &Request) -> Option<Response> {
    let refused = |status: StatusCode, what: &str, remedy: &str| {
        Some((status, screen::bare("Not here", html! { p.alarm { (what) } p { (remedy) } }, None)).into_response())
    };
    let headers = request.headers();
    let host = text(headers, &header::HOST).or_else(|| request.uri().host());
    let Some(host) = host.filter(|host| shared.settings.reach.allows(host)) else {
        let remedy = "open it by its number or name as `loomtag serve` shows them, or start that with `--name`";
        return refused(StatusCode::MISDIRECTED_REQUEST, "this server is not known by that name", remedy);
    };
    match *request.method() {
        Method::GET | Method::HEAD => None,
        Method::POST => {
            let origin = text(headers, &header::ORIGIN).and_then(|origin| origin.split_once("://"));
            let is_own = match origin {
                Some((_, origin)) => origin.eq_ignore_ascii_case(host),
                None => text(headers, &HeaderName::from_static("sec-fetch-site")) == Some("same-origin"),
            };
            let remedy = "open the page here and send it again";
            (!is_own).then(|| refused(StatusCode::FORBIDDEN, "this was sent from a page elsewhere", remedy)).flatten()
        }
        _ => {
            refused(StatusCode::METHOD_NOT_ALLOWED, "pages are asked for or sent, nothing else", "open the page again")
        }
    }
}

fn text<'h>(headers: &'h HeaderMap, name: &HeaderName) -> Option<&'h str> {
    headers.get(name)?.to_str().ok()
}

/// The page that a request was sent from, to come back to: its path, never another host.
pub fn back(headers: &HeaderMap) -> Option<String> {
    let (_, rest) = text(headers, &header::REFERER)?.split_once("://")?;
    let (host, path) = rest.split_once('/')?;
    let is_own = text(headers, &header::HOST).is_some_and(|own| own.eq_ignore_ascii_case(host));
    is_own.then(|| format!("/{path}"))
}

/// The name of the session's cookie. Cookies do not know ports, so two servers of one machine tell theirs apart by name.
pub fn cookie_name(headers: &HeaderMap) -> String {
    let port = text(headers, &header::HOST).and_then(|host| host.rsplit_once(':')).map_or("80", |(_, port)| port);
    let port: String = port.chars().filter(char::is_ascii_digit).collect();
    format!("loomtag-{port}")
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
