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

/// What is sent with a header of ours, the PIN typed.
fn sent_with(served: &Served, name: header::HeaderName, value: &str) -> StatusCode {
    let request = Request::post("/lock")
        .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
        .header(name, value)
        .body(Body::empty());
    served.send(request.expect("a request")).status
}

/// Only pages of this very server send to it (Fetch, 3.2: the origin is scheme, host and port; `null` hides it).
#[test]
fn a_page_elsewhere_sends_nothing() {
    let job = JobFolder::small();
    let served = Served::unlocked(&job.path());
    for origin in [
        "null",
        "",
        "http://localhost",
        "http://localhost:7118",
        "https://localhost:7117",
        "http://127.0.0.1:7117",
        "http://localhost:7117.example.com",
        "http://example.com",
        "localhost:7117",
    ] {
        assert_eq!(sent_with(&served, header::ORIGIN, origin), StatusCode::FORBIDDEN, "{origin}");
    }
    let fetched = header::HeaderName::from_static("sec-fetch-site");
    for (site, status) in [
        ("cross-site", StatusCode::FORBIDDEN),
        ("same-site", StatusCode::FORBIDDEN),
        ("none", StatusCode::FORBIDDEN),
        ("same-origin", StatusCode::SEE_OTHER),
    ] {
        assert_eq!(sent_with(&served, fetched.clone(), site), status, "{site}");
    }
    let served = Served::unlocked(&job.path());
    assert_eq!(sent_with(&served, header::REFERER, "http://localhost:7117/"), StatusCode::FORBIDDEN);
    assert_eq!(sent_with(&served, header::ORIGIN, "http://LOCALHOST:7117"), StatusCode::SEE_OTHER);
}

#[test]
fn the_host_is_named_once() {
    let job = JobFolder::small();
    let served = Served::of(&job.path());
    let two = Request::get("/").header(header::HOST, "localhost:7117").header(header::HOST, "example.com");
    assert_eq!(served.send(two.body(Body::empty()).expect("a request")).status, StatusCode::MISDIRECTED_REQUEST);
    for (address, status) in
        [("http://example.com/", StatusCode::MISDIRECTED_REQUEST), ("http://localhost:7117/", StatusCode::OK)]
    {
        assert_eq!(served.get(address).status, status, "{address}");
    }
    for host in ["", ":7117", "a@127.0.0.1", "127.0.0.1:1:2", "localhost:x", "0x7f.1", "[::1", "localhost,example.com"]
    {
        let request = Request::get("/").header(header::HOST, host).body(Body::empty()).expect("a request");
        assert_eq!(served.send(request).status, StatusCode::MISDIRECTED_REQUEST, "{host}");
    }
}

#[test]
fn the_cookie_is_for_this_server_alone() {
    let job = JobFolder::small();
    let served = Served::of(&job.path());
    let cookie = |host: &str, proto: &str, origin: &str| {
        let request = Request::post("/unlock")
            .header(header::HOST, host)
            .header(header::ORIGIN, origin)
            .header("x-forwarded-proto", proto)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .body(Body::from(format!("pin={PIN}")))
            .expect("a request");
        served.send(request).headers[header::SET_COOKIE].to_str().expect("text").to_owned()
    };
    let plain = cookie("[::1]:7117", "http", "http://[::1]:7117");
    assert!(plain.starts_with("loomtag-7117=") && plain.contains("; HttpOnly; SameSite=Lax"), "{plain}");
    // A browser throws away a secure cookie that comes by a plain way (RFC 6265bis, 5.7).
    assert!(!plain.contains("Secure") && !plain.contains("Domain"), "{plain}");
    assert!(cookie("[::1]", "http", "http://[::1]").starts_with("loomtag-80="));
    let encrypted = cookie("marshhen.local", "https", "https://marshhen.local");
    assert!(encrypted.starts_with("loomtag-443=") && encrypted.ends_with("; Secure"), "{encrypted}");
}

#[test]
fn locking_ends_the_session() {
    let job = JobFolder::small();
    let served = Served::unlocked(&job.path());
    assert!(served.get("/").text().contains("Lock writing"));
    let came = served.post("/lock", &[]);
    assert!(came.headers[header::SET_COOKIE].to_str().expect("text").contains("Max-Age=0"));
    // The browser of the test keeps its cookie, as a thief would.
    assert!(served.get("/").text().contains("Unlock writing"));
    assert_eq!(served.post("/lock", &[]).status, StatusCode::UNAUTHORIZED);
}

/// What the script asks for in part is thrown away but for that part: messages wait for the next page that is seen.
#[test]
fn messages_are_not_lost_in_parts_of_pages() {
    let job = JobFolder::small();
    let served = Served::unlocked(&job.path());
    let draft = served.upload("/lists/-/send", &[], &[("file", "more.csv", b"Plug,Nr\nX9,1\n")]).to.expect("a draft");
    served.post(&format!("{draft}/drop"), &[]);
    let part = Request::get("/connectors").header("x-part", "1").body(Body::empty()).expect("a request");
    let left = "left: nothing of the job has changed";
    assert!(!served.send(part).text().contains(left));
    assert!(served.get("/connectors").text().contains(left));
    assert!(!served.get("/connectors").text().contains(left));
}

/// Values of hidden fields, by their names.
fn hidden(page: &str) -> Vec<(String, String)> {
    let fields = page.split("<input type=\"hidden\" name=\"").skip(1);
    let plain =
        |text: &str| text.replace("&quot;", "\"").replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&");
    let pair = |field: &str| {
        let (name, rest) = field.split_once("\" value=\"")?;
        Some((name.to_owned(), plain(rest.split_once('"')?.0)))
    };
    fields.filter_map(pair).collect()
}

/// What was typed before the PIN goes on with it, through a wrong PIN too.
#[test]
fn the_pin_loses_nothing_that_was_typed() {
    let job = JobFolder::small();
    let served = Served::of(&job.path());
    let typed = "brown, not \"grey\" & <so> on äö";
    let mut came = served.post("/no/page/of/ours?x=1", &[("note", typed), ("pin", "of the form itself")]);
    for _ in 0..2 {
        assert_eq!(came.status, StatusCode::UNAUTHORIZED);
        let fields = hidden(&came.text());
        let value = |name: &str| &fields.iter().find(|(known, _)| known == name).expect("carried").1;
        assert_eq!(value("to"), "/no/page/of/ours?x=1");
        assert_eq!(value("then"), "/");
        assert!(value("sent").starts_with("%6E%6F%74%65=%62%72%6F%77%6E"), "{fields:?}");
        let mut fields: Vec<(&str, &str)> = fields.iter().map(|(name, value)| (&**name, &**value)).collect();
        fields.push(("pin", "000000"));
        came = served.post("/unlock", &fields);
    }
    let fields = hidden(&came.text());
    let mut fields: Vec<(&str, &str)> = fields.iter().map(|(name, value)| (&**name, &**value)).collect();
    fields.push(("pin", PIN));
    let came = served.post("/unlock", &fields);
    // The page is not there; the session is.
    assert_eq!(came.status, StatusCode::NOT_FOUND);
    assert!(came.headers.contains_key(header::SET_COOKIE));
}

#[test]
fn files_are_to_be_sent_again() {
    let job = JobFolder::small();
    let served = Served::of(&job.path());
    let came = served.upload("/lists", &[], &[("list", "loom.csv", b"connector,cavity\n")]);
    assert_eq!(came.status, StatusCode::UNAUTHORIZED);
    let page = came.text();
    assert!(page.contains("choose and send them again") && !page.contains("name=\"sent\""), "{page}");
    let large = "x".repeat(65 << 10);
    let page = served.post("/lists", &[("text", &large)]).text();
    assert!(page.contains("choose and send them again") && page.len() < 10_000);
}

/// A connector may be called as a page that only reads: what is sent there writes.
#[test]
fn only_the_scan_page_reads_what_it_is_sent() {
    let job = JobFolder::small();
    let served = Served::of(&job.path());
    for path in ["/C/scan", "/C/unlock", "/circuits/scan", "/scan/", "//scan", "/x/scan", "/SCAN", "/%73can"] {
        assert_eq!(served.post(path, &[("a", "b")]).status, StatusCode::UNAUTHORIZED, "{path}");
    }
    assert_ne!(served.post("/scan", &[]).status, StatusCode::UNAUTHORIZED);
    let several = job.path().join("..");
    let served = Served::of(&several);
    assert_ne!(served.post("/job/scan", &[]).status, StatusCode::UNAUTHORIZED);
    assert_ne!(served.post("/scan", &[]).status, StatusCode::UNAUTHORIZED, "tags of any job");
    for path in ["/job/C/scan", "/job/unlock", "/job/x/scan"] {
        assert_eq!(served.post(path, &[("a", "b")]).status, StatusCode::UNAUTHORIZED, "{path}");
    }
}

/// Every answer, whatever it is, forbids what is not ours.
#[test]
fn every_answer_bears_the_rules() {
    let job = JobFolder::small();
    let served = Served::of(&job.path());
    let mut answers = vec![
        served.get("/"),
        served.get("/unlock"),
        served.get("/-/style.css"),
        served.get("/-/none"),
        served.get("/no/such/page/here"),
        served.get("/%FF/%FF"),
        served.post("/lock", &[]),
        served.post("/unlock", &[("pin", "1")]),
        sent(&served, "DELETE", "/"),
        sent(&served, "OPTIONS", "/"),
        sent(&served, "BREW", "/"),
        sent(&served, "HEAD", "/"),
    ];
    answers.push(served.send(Request::get("/").header(header::HOST, "example.com").body(Body::empty()).expect("one")));
    for came in answers {
        let text = |name: header::HeaderName| came.headers[name].to_str().expect("text").to_owned();
        let policy = text(header::CONTENT_SECURITY_POLICY);
        assert!(policy.contains("default-src 'none'") && policy.contains("frame-ancestors 'none'"), "{came:?}");
        assert!(!policy.contains("unsafe"), "{policy}");
        assert_eq!(text(header::X_CONTENT_TYPE_OPTIONS), "nosniff");
        if came.status.is_client_error() {
            assert_eq!(text(header::CONTENT_TYPE), "text/html; charset=utf-8", "{came:?}");
            assert!(came.text().contains("<h1>"), "{came:?}");
        }
    }
}

fn sent(served: &Served, method: &str, path: &str) -> crate::kit::served::Came {
    served.send(Request::builder().method(method).uri(path).body(Body::empty()).expect("a request"))
}

#[test]
fn other_methods_are_told_which_are_known() {
    let job = JobFolder::small();
    let served = Served::unlocked(&job.path());
    for method in ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "CONNECT", "BREW"] {
        let came = sent(&served, method, "/");
        assert_eq!(came.status, StatusCode::METHOD_NOT_ALLOWED, "{method}");
        assert_eq!(came.headers[header::ALLOW], "GET, HEAD, POST");
    }
    let head = sent(&served, "HEAD", "/");
    assert_eq!((head.status, head.bytes.len()), (StatusCode::OK, 0));
}

#[test]
fn what_is_too_large_is_told() {
    let job = JobFolder::small();
    let served = Served::of(&job.path());
    let came = served.upload("/scan", &[], &[("photo", "a.jpg", &vec![0; (32 << 20) + 1])]);
    assert_eq!(came.status, StatusCode::PAYLOAD_TOO_LARGE);
    assert!(came.text().contains("larger than the 32 MiB"), "{}", came.text());
}

/// No name in a path leads out of the job, and none breaks a page.
#[test]
fn no_path_leads_out() {
    let job = JobFolder::small();
    job.write("../secret.txt", "never to be seen");
    job.done(&["tags", "--all", "--work"]);
    let names = [
        "..",
        "%2e%2e",
        "..%2f..",
        "..%2fsecret.txt",
        "%2e%2e%2fsecret.txt",
        "..%5csecret.txt",
        "..\\secret.txt",
        "%00",
        "a%00.csv",
        "%2fetc%2fpasswd",
        "%ff%fe",
        "%",
        "%zz",
        "%C3%28",
        "con",
        "job.toml",
        "register.db",
        "..;",
        "~",
        "%20",
        "%0d%0aSet-Cookie:a=b",
        "%3Cscript%3E",
        "%E2%80%AE",
    ];
    let pages = [
        "/",
        "/-/",
        "/C/",
        "/circuits/",
        "/connectors/",
        "/lists/",
        "/print/",
        "/prints/",
        "/find/",
        "/7KF4/",
        "/scan/",
        "/lists/loom.csv/",
        "/print/run-0001/",
        "/problems/",
        "/C/J1/",
        "/overview/",
    ];
    let served = Served::unlocked(&job.path());
    let several = Served::unlocked(&job.path().join(".."));
    for (served, prefix) in [(&served, ""), (&several, "/job"), (&several, "")] {
        for page in pages {
            for name in names {
                for path in [
                    format!("{prefix}{page}{name}"),
                    format!("{prefix}{page}..{page}{name}"),
                    format!("{prefix}{page}?q={name}&text={name}&with={name}&then={name}"),
                ] {
                    let Ok(request) = Request::get(&path).body(Body::empty()) else { continue };
                    let came = served.send(request);
                    assert!(!came.status.is_server_error(), "{path}: {}", String::from_utf8_lossy(&came.bytes));
                    for secret in ["never to be seen", "root:x:0", "SQLite format"] {
                        assert!(!came.bytes.windows(secret.len()).any(|part| part == secret.as_bytes()), "{path}");
                    }
                    if let Some(to) = &came.to {
                        assert!(to.starts_with('/') && !to.starts_with("//"), "{path} leads to {to}");
                    }
                }
            }
        }
    }
}

/// The symbols of `HTTP://MARSHHEN.LOCAL:7117/HEN` say `/HEN/7KF4/A`.
#[test]
fn the_path_of_the_links_leads_here() {
    let job = JobFolder::small().and("job.toml", "[payload]\nbase = \"HTTP://MARSHHEN.LOCAL:7117/hen\"\n");
    let served = Served::of(&job.path());
    for (path, to) in [("/HEN/7KF4/A", "/7KF4/A"), ("/hen/C/J1?a=b", "/C/J1?a=b"), ("/hen", "/"), ("/hen/", "/")] {
        assert_eq!(served.get(path).to.as_deref(), Some(to), "{path}");
    }
    assert_eq!(served.get("/").status, StatusCode::OK);
    assert_eq!(served.get("/hens/7KF4").to, None);
    // Nothing that stands behind the path leads to another server.
    let elsewhere = served.get("/hen//example.com").to.unwrap_or_default();
    assert!(!elsewhere.starts_with("//"), "{elsewhere}");
}

/// Within a folder of several jobs the way back from the PIN begins with the job's name once.
#[test]
fn the_way_back_keeps_its_job() {
    let job = JobFolder::small();
    let served = Served::of(&job.path().join(".."));
    let page = served.get("/job/?a=b").text();
    assert!(page.contains("/unlock?then=%2Fjob%2F%3Fa%3Db"), "{page}");
}
