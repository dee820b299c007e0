//! `serve`: the verb, at a real socket of this machine.

use std::io::{Read, Write};
use std::net::{TcpListener, TcpStream};
use std::process::{Command, Stdio};

use crate::kit::JobFolder;
use crate::kit::running::Running;

fn asked(served: &Running, request: &str) -> String {
    let address = served.url.trim_start_matches("http://");
    let mut browser = TcpStream::connect(address).expect("it listens");
    browser.write_all(request.replace("HOST", address).as_bytes()).expect("sent");
    let mut answer = Vec::new();
    browser.read_to_end(&mut answer).expect("it answers");
    String::from_utf8_lossy(&answer).into_owned()
}

/// Port 0 takes a free one, and it is told which.
#[test]
fn it_answers_where_it_says() {
    let job = JobFolder::small();
    let served = Running::serve(&job.path());
    let answer = asked(&served, "GET / HTTP/1.1\r\nHost: HOST\r\nConnection: close\r\n\r\n");
    assert!(answer.starts_with("HTTP/1.1 200") && answer.contains("Marsh Hen bench"), "{answer}");
    let answer = asked(&served, "HEAD / HTTP/1.1\r\nHost: HOST\r\nConnection: close\r\n\r\n");
    assert!(answer.starts_with("HTTP/1.1 200") && answer.ends_with("\r\n\r\n"), "{answer}");
    let answer = asked(&served, "GET / HTTP/1.0\r\n\r\n");
    assert!(answer.starts_with("HTTP/1.0 421"), "{answer}");
}

#[test]
fn what_is_no_request_ends_the_connection_alone() {
    let job = JobFolder::small();
    let served = Running::serve(&job.path());
    let long = "x".repeat(1 << 20);
    for nonsense in [
        "\u{16}\u{3}\u{1}".to_owned(),
        "GET\r\n\r\n".to_owned(),
        format!("GET /{long} HTTP/1.1\r\nHost: HOST\r\n\r\n"),
        format!("GET / HTTP/1.1\r\nHost: HOST\r\nCookie: {long}\r\n\r\n"),
        format!("GET / HTTP/1.1\r\nHost: HOST\r\n{}\r\n", "A: b\r\n".repeat(1000)),
        "POST /scan HTTP/1.1\r\nHost: HOST\r\nContent-Length: -1\r\n\r\n".to_owned(),
    ] {
        let address = served.url.trim_start_matches("http://");
        let mut browser = TcpStream::connect(address).expect("it listens");
        // It may hang up before all is sent.
        let _ = browser.write_all(nonsense.replace("HOST", address).as_bytes());
        let _ = browser.shutdown(std::net::Shutdown::Write);
        let mut answer = Vec::new();
        let _ = browser.read_to_end(&mut answer);
        let answer = String::from_utf8_lossy(&answer).into_owned();
        assert!(answer.is_empty() || answer.starts_with("HTTP/1.1 4"), "{answer}");
    }
    let answer = asked(&served, "GET / HTTP/1.1\r\nHost: HOST\r\nConnection: close\r\n\r\n");
    assert!(answer.starts_with("HTTP/1.1 200"), "{answer}");
}

#[test]
fn a_port_that_is_taken_has_a_remedy() {
    let job = JobFolder::small();
    let taken = TcpListener::bind("127.0.0.1:0").expect("a free port");
    let port = taken.local_addr().expect("bound").port().to_string();
    let answer = job.run(&["serve", "--port", &port]);
    assert_ne!(answer.code, 0);
    assert!(
        answer.err.contains(&format!("cannot listen at port {port}")) && answer.err.contains("--port"),
        "{answer:?}"
    );
}

#[test]
fn a_folder_without_a_job_has_a_remedy() {
    let answer = JobFolder::empty().run(&["serve", "--port", "0"]);
    assert_ne!(answer.code, 0);
    assert!(answer.err.contains("is no job folder") && answer.err.contains("loomtag init"), "{answer:?}");
}

/// All that it says when it starts.
fn said(job: &JobFolder, arguments: &[&str]) -> String {
    let mut child = Command::new(env!("CARGO_BIN_EXE_loomtag"))
        .current_dir(job.path())
        .args(["serve"])
        .args(arguments)
        .stdout(Stdio::piped())
        .spawn()
        .expect("starts");
    let mut out = child.stdout.take().expect("piped");
    let (mut said, mut piece) = (String::new(), [0; 1000]);
    while !said.contains("Ctrl-C") {
        let length = out.read(&mut piece).expect("reads");
        assert!(length > 0, "it ended: {said}");
        said.push_str(&String::from_utf8_lossy(&piece[..length]));
    }
    child.kill().expect("it runs");
    child.wait().expect("it ended");
    said
}

#[test]
fn it_says_where_the_links_of_the_tags_lead() {
    let job = JobFolder::small();
    let out = said(&job, &["--port", "0", "--pin", "27 18 28"]);
    assert!(out.contains("PIN to write: 271828"), "{out}");
    assert!(out.contains("the tags' links lead to http://marshhen.local:7117/: not here"), "{out}");
    let job = JobFolder::small().and("job.toml", "title = \"Bench\"\n");
    let out = said(&job, &["--port", "0"]);
    assert!(out.contains("the tags' symbols are no links"), "{out}");
    let pin = out.lines().find_map(|line| line.strip_prefix("PIN to write: ")).expect("a PIN");
    assert!(pin.len() == 6 && pin.chars().all(|c| c.is_ascii_digit()), "{out}");
}
