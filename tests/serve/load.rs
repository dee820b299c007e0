//! Many browsers at once, through sockets of this machine: nothing fails, and every note that was acknowledged is kept, once.
//!
//! `benches/serve.rs` measures the same with more of them and for longer.

use std::collections::BTreeSet;
use std::io::{Read, Write};
use std::net::{Ipv4Addr, SocketAddr, TcpStream};
use std::thread;
use std::time::{Duration, Instant};

use loomtag::run::register;
use loomtag::serve::{self, Jobs, Pin, Reach, Settings};
use tokio::net::TcpListener;

use crate::kit::JobFolder;
use crate::kit::served::PIN;

const READERS: usize = 10;
const WRITERS: usize = 3;
const LASTING: Duration = Duration::from_secs(3);
/// How long an answer may take on a busy machine.
const PATIENCE: Duration = Duration::from_secs(60);

/// Sends a request on a connection of its own, as RFC 9112 has it; the status and the whole answer.
fn ask(server: SocketAddr, head: &str, body: &str) -> (u16, String) {
    ask_as(server, head, "none=", body)
}

/// The same with a cookie.
fn ask_as(server: SocketAddr, head: &str, cookie: &str, body: &str) -> (u16, String) {
    let mut stream = TcpStream::connect(server).expect("it listens");
    stream.set_read_timeout(Some(PATIENCE)).expect("a time");
    let length = body.len();
    let request = format!(
        "{head} HTTP/1.1\r\nHost: {server}\r\nOrigin: http://{server}\r\nCookie: {cookie}\r\nConnection: close\r\n\
         Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {length}\r\n\r\n{body}"
    );
    stream.write_all(request.as_bytes()).expect("is taken");
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer).expect("a whole answer");
    let answer = String::from_utf8_lossy(&answer).into_owned();
    let status = answer.split(' ').nth(1).and_then(|status| status.parse().ok()).expect("a status line");
    (status, answer)
}

/// Does one thing after the other until the time is up; what it answered.
fn for_a_while<T>(mut one: impl FnMut(usize) -> T) -> Vec<T> {
    let begun = Instant::now();
    (0..).take_while(|_| begun.elapsed() < LASTING).map(&mut one).collect()
}

#[test]
fn a_crowd_is_answered_and_every_note_is_kept_once() {
    let job = JobFolder::small();
    job.done(&["tags"]);
    let codes: BTreeSet<String> = job.tags("prints/run-0001").iter().map(|tag| tag.code()).collect();
    let codes: Vec<String> = codes.into_iter().collect();
    let settings =
        Settings { pin: Pin::from_typed(PIN).expect("a PIN"), reach: Reach::default(), clock: jiff::Timestamp::now };
    let router = serve::router(Jobs::of(&job.path()).expect("a job"), settings);
    let runtime = tokio::runtime::Runtime::new().expect("a runtime");
    let listener = runtime.block_on(TcpListener::bind((Ipv4Addr::LOCALHOST, 0))).expect("a free port");
    let server = listener.local_addr().expect("is bound");
    runtime.spawn(serve::serve(listener, router, std::future::pending()));

    let (_, unlocked) = ask(server, "POST /unlock", &format!("pin={PIN}&then=/"));
    let cookie = unlocked.lines().find_map(|line| line.strip_prefix("set-cookie: ")).expect("a session");
    let cookie = cookie.split(';').next().expect("its name and value").to_owned();
    let (read, wrote) = thread::scope(|scope| {
        let reading = (0..READERS).map(|who| {
            let codes = &codes;
            scope.spawn(move || {
                for_a_while(|number| {
                    let code = &codes[(who + number) % codes.len()];
                    let path = [format!("/{code}"), "/find?part=1&q=a".to_owned(), "/".to_owned()][number % 3].clone();
                    (ask(server, &format!("GET {path}"), "").0, path)
                })
            })
        });
        let reading: Vec<_> = reading.collect();
        let writing = (0..WRITERS).map(|who| {
            let (codes, cookie) = (&codes, &cookie);
            scope.spawn(move || {
                for_a_while(|number| {
                    let (code, words) = (&codes[(who + number) % codes.len()], format!("seen-by-{who}-time-{number}"));
                    let head = format!("POST /{code}/note");
                    let (status, _) = ask_as(server, &head, cookie, &format!("text={words}"));
                    (status, words)
                })
            })
        });
        let writing: Vec<_> = writing.collect();
        let read: Vec<_> = reading.into_iter().flat_map(|one| one.join().expect("reads")).collect();
        (read, writing.into_iter().flat_map(|one| one.join().expect("writes")).collect::<Vec<_>>())
    });
    let failed: Vec<_> = read.iter().filter(|(status, _)| *status != 200).collect();
    assert!(failed.is_empty(), "{failed:?}");
    let failed: Vec<_> = wrote.iter().filter(|(status, _)| *status != 303).collect();
    assert!(failed.is_empty(), "{failed:?}");
    let register = register::open_to_read(&job.path()).expect("opens");
    let mut kept: Vec<String> =
        register.notes().expect("reads").all().iter().map(|noted| noted.note.in_words()).collect();
    let mut acknowledged: Vec<String> = wrote.into_iter().map(|(_, words)| words).collect();
    kept.sort();
    acknowledged.sort();
    assert_eq!(kept, acknowledged);
    assert!(read.len() > READERS && kept.len() > WRITERS, "{} pages, {} notes", read.len(), kept.len());
}
