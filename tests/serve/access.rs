//! Who may read, and who may write.

use axum::body::Body;
use axum::http::{Request, StatusCode, header};

use crate::kit::JobFolder;
use crate::kit::served::{PIN, Served};

#[test]
fn anyone_reads_and_a_foreign_name_does_not() {
    let job = JobFolder::small();
    let served = Served::of(&job.path());
    assert_eq!(served.get("/").status, StatusCode::OK);
    let by_name = |host: &str| {
        served.send(Request::get("/").header(header::HOST, host).body(Body::empty()).expect("a request")).status
    };
    for host in ["127.0.0.1:7117", "[::1]:7117", "192.168.7.2:7117", "MarshHen.local:7117", "localhost"] {
        assert_eq!(by_name(host), StatusCode::OK, "{host}");
    }
    for host in ["example.com", "localhost.example.com:7117", "127.0.0.1.example.com"] {
        assert_eq!(by_name(host), StatusCode::MISDIRECTED_REQUEST, "{host}");
    }
}

#[test]
fn wrong_pins_are_counted() {
    let job = JobFolder::small();
    let served = Served::of(&job.path());
    for _ in 0..5 {
        assert_eq!(served.post("/unlock", &[("pin", "000000")]).status, StatusCode::UNAUTHORIZED);
    }
    assert_eq!(served.post("/unlock", &[("pin", PIN)]).status, StatusCode::TOO_MANY_REQUESTS);
}

#[test]
fn the_way_back_never_leads_elsewhere() {
    let job = JobFolder::small();
    let served = Served::of(&job.path());
    for (then, to) in [
        ("/circuits?a=b", "/circuits?a=b"),
        ("//example.com", "/"),
        ("/\\example.com", "/"),
        ("https://example.com", "/"),
    ] {
        assert_eq!(served.post("/unlock", &[("pin", PIN), ("then", then)]).to.as_deref(), Some(to));
    }
}
