//! A job served without a socket: requests go to the router as a browser would send them.

use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{Request, StatusCode, header};
use jiff::Timestamp;
use loomtag::serve::{self, Jobs, Pin, Reach, Settings};
use std::path::Path;
use tower::ServiceExt;

/// The PIN of served jobs.
pub const PIN: &str = "271828";

/// The moment at which everything happens.
fn noon() -> Timestamp {
    "2026-11-28T12:00:00Z".parse().expect("a moment")
}

/// A browser before a served job.
pub struct Served {
    router: Router,
    cookie: Option<String>,
    runtime: tokio::runtime::Runtime,
}

/// What came back.
#[derive(Debug)]
pub struct Came {
    /// The status.
    pub status: StatusCode,
    /// Where it leads on to, if it does.
    pub to: Option<String>,
    /// Its headers.
    pub headers: axum::http::HeaderMap,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

impl Came {
    /// It as text.
    pub fn text(&self) -> String {
        String::from_utf8(self.bytes.clone()).expect("pages are UTF-8")
    }
}

impl Served {
    /// The job of a folder, or the jobs in it. Nobody has typed the PIN yet.
    pub fn of(folder: &Path) -> Self {
        let settings = Settings {
            pin: Pin::from_typed(PIN).expect("a PIN"),
            reach: Reach { names: vec!["marshhen.local".to_owned()] },
            clock: noon,
        };
        let router = serve::router(Jobs::of(folder).expect("there are jobs"), settings);
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().expect("a runtime");
        Self { router, cookie: None, runtime }
    }

    /// The same, the PIN typed.
    pub fn unlocked(folder: &Path) -> Self {
        let mut served = Self::of(folder);
        served.unlock();
        served
    }

    /// Another browser before the same server.
    pub fn another(&self) -> Self {
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().expect("a runtime");
        Self { router: self.router.clone(), cookie: None, runtime }
    }

    /// Types the PIN.
    pub fn unlock(&mut self) {
        let came = self.post("/unlock", &[("pin", PIN)]);
        let cookie = came.headers.get(header::SET_COOKIE).expect("a cookie").to_str().expect("text");
        self.cookie = cookie.split(';').next().map(str::to_owned);
    }

    /// Sends any request; host, origin and cookie are added where it has none.
    pub fn send(&self, mut request: Request<Body>) -> Came {
        let headers = request.headers_mut();
        headers.entry(header::HOST).or_insert("localhost:7117".parse().expect("a header"));
        if let Some(cookie) = &self.cookie {
            headers.entry(header::COOKIE).or_insert(cookie.parse().expect("a header"));
        }
        self.runtime.block_on(async {
            let answer = self.router.clone().oneshot(request).await.expect("a router always answers");
            let (parts, body) = answer.into_parts();
            let bytes = to_bytes(body, usize::MAX).await.expect("a whole answer").to_vec();
            let to = parts.headers.get(header::LOCATION).map(|to| to.to_str().expect("text").to_owned());
            Came { status: parts.status, to, headers: parts.headers, bytes }
        })
    }

    /// Asks for a page.
    pub fn get(&self, path: &str) -> Came {
        self.send(Request::get(path).body(Body::empty()).expect("a request"))
    }

    /// Sends a form from a page of the server.
    pub fn post(&self, path: &str, fields: &[(&str, &str)]) -> Came {
        let encode = |text: &str| -> String { text.bytes().map(|byte| format!("%{byte:02X}")).collect() };
        let pairs: Vec<String> =
            fields.iter().map(|(name, value)| format!("{}={}", encode(name), encode(value))).collect();
        let request = Request::post(path)
            .header(header::ORIGIN, "http://localhost:7117")
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .body(Body::from(pairs.join("&")));
        self.send(request.expect("a request"))
    }

    /// Sends a form with files: each is the name of its field, its file's name and its bytes.
    pub fn upload(&self, path: &str, fields: &[(&str, &str)], files: &[(&str, &str, &[u8])]) -> Came {
        let mut body = Vec::new();
        for (name, value) in fields {
            body.extend(
                format!("--border\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n").bytes(),
            );
        }
        for (name, file, bytes) in files {
            let head = format!(
                "--border\r\nContent-Disposition: form-data; name=\"{name}\"; filename=\"{file}\"\r\n\
                 Content-Type: application/octet-stream\r\n\r\n"
            );
            body.extend(head.bytes());
            body.extend(*bytes);
            body.extend(*b"\r\n");
        }
        body.extend(*b"--border--\r\n");
        let request = Request::post(path)
            .header(header::ORIGIN, "http://localhost:7117")
            .header(header::CONTENT_TYPE, "multipart/form-data; boundary=border")
            .body(Body::from(body));
        self.send(request.expect("a request"))
    }
}
