//! The served job under load, and with very many circuits, measured through sockets of this machine.
//!
//! In: nothing; the example job is copied and a harness of 100,000 circuits is made up. Out: a table for a person to read. Times of pages stand
//! beside those of a file that the program only hands out, asked for in the same way in the same run.
//!
//! ```text
//! cargo bench --bench serve          all of it
//! cargo bench --bench serve -- many  only parts whose name begins so
//! ```

#[expect(dead_code, reason = "the bench of tags asks for more of it")]
mod kit;

use std::env;
use std::fs;
use std::net::Ipv4Addr;
use std::path::Path;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use jiff::Timestamp;
use loomtag::run::{self, register};
use loomtag::serve::{self, Jobs, Pin, Reach, Settings};
use tempfile::TempDir;
use tokio::net::TcpListener;
use tokio::runtime::Runtime;
use ureq::Agent;

use kit::harness;
use kit::measure;
use kit::table::{heading, row};

const PIN: &str = "271828";

/// Browsers that read and that write, and for how long.
const READERS: usize = 50;
const WRITERS: usize = 5;
const LOADED: Duration = Duration::from_secs(30);
/// How long the file alone is asked for.
const ALONE: Duration = Duration::from_secs(10);

/// Circuits of the large job, and what a page of it may take.
const MANY: usize = 100_000;
const MOST_TIME: Duration = Duration::from_millis(50);
/// So often something is noted.
const TIMES: u32 = 5;

fn main() {
    let arguments: Vec<String> = env::args().skip(1).filter(|argument| argument != "--bench").collect();
    let parts: [(&str, fn()); 2] = [("load", load), ("many", many)];
    for (name, part) in parts {
        if arguments.is_empty() || arguments.iter().any(|wanted| name.starts_with(wanted.as_str())) {
            part();
        }
    }
}

// --- a server of this machine ---------------------------------------------------------------------------------------------

struct Server {
    url: String,
    _runtime: Runtime,
}

impl Server {
    fn of(folder: &Path) -> Self {
        let settings =
            Settings { pin: Pin::from_typed(PIN).expect("a PIN"), reach: Reach::default(), clock: Timestamp::now };
        let router = serve::router(Jobs::of(folder).expect("a job"), settings);
        let runtime = Runtime::new().expect("a runtime");
        let listener = runtime.block_on(TcpListener::bind((Ipv4Addr::LOCALHOST, 0))).expect("a free port");
        let url = format!("http://127.0.0.1:{}", listener.local_addr().expect("bound").port());
        runtime.spawn(serve::serve(listener, router, std::future::pending()));
        Self { url, _runtime: runtime }
    }
}

/// One browser: it keeps its connection.
fn browser() -> Agent {
    Agent::config_builder().max_redirects(0).http_status_as_error(false).build().into()
}

fn ask(browser: &Agent, address: &str) -> Result<usize, String> {
    let mut answer = browser.get(address).call().map_err(|error| format!("{address}: {error}"))?;
    let body = answer.body_mut().with_config().limit(64 << 20).read_to_vec().map_err(|error| error.to_string())?;
    if answer.status() == 200 { Ok(body.len()) } else { Err(format!("{address}: {}", answer.status())) }
}

fn unlocked(browser: &Agent, url: &str) -> String {
    let answer = browser
        .post(format!("{url}/unlock"))
        .header("origin", url)
        .send_form([("pin", PIN), ("then", "/")])
        .expect("the PIN is taken");
    let cookie = answer.headers().get("set-cookie").expect("a session").to_str().expect("text");
    cookie.split(';').next().expect("its name and value").to_owned()
}

// --- the example under load -----------------------------------------------------------------------------------------------

/// What a crowd found: how long each question took, and what went wrong.
#[derive(Default)]
struct Crowd {
    times: Vec<Duration>,
    errors: Vec<String>,
}

impl Crowd {
    fn join(crowds: impl IntoIterator<Item = Self>) -> Self {
        let mut all = crowds.into_iter().fold(Self::default(), |mut all, one| {
            all.times.extend(one.times);
            all.errors.extend(one.errors);
            all
        });
        all.times.sort();
        all
    }

    fn part(&self, of_hundred: usize) -> Duration {
        self.times.get(self.times.len().saturating_sub(1) * of_hundred / 100).copied().unwrap_or_default()
    }

    fn told(&self, lasting: Duration) -> String {
        let ms = |time: Duration| time.as_secs_f64() * 1e3;
        format!(
            "{:6.1} ms half, {:6.1} ms p99, {:6.1} ms most; {:.0} a second, {} errors",
            ms(self.part(50)),
            ms(self.part(99)),
            ms(self.part(100)),
            self.times.len() as f64 / lasting.as_secs_f64(),
            self.errors.len()
        )
    }
}

/// Asks one thing after the other until the time is up.
#[expect(clippy::disallowed_methods, reason = "this is where time is measured")]
fn for_a_while(lasting: Duration, mut one: impl FnMut(usize) -> Result<(), String>) -> Crowd {
    let (start, mut crowd) = (Instant::now(), Crowd::default());
    for number in 0.. {
        let begun = Instant::now();
        if begun.duration_since(start) >= lasting {
            break;
        }
        crowd.errors.extend(one(number).err());
        crowd.times.push(begun.elapsed());
    }
    crowd
}

fn load() {
    heading(&format!(
        "The example served to {READERS} readers and {WRITERS} writers without pause, clients and server on one machine"
    ));
    let folder = example();
    let read = run::read(folder.path()).expect("the example reads").value.expect("it is usable");
    let issued = register::open(folder.path())
        .and_then(|mut register| Ok(register.issue(&read.circuits, Timestamp::now())?))
        .expect("codes are issued");
    let codes: Vec<String> = issued
        .circuits
        .iter()
        .flat_map(|codes| codes.letters.iter().map(move |letter| format!("{}/{letter}", codes.code)))
        .collect();
    let server = Server::of(folder.path());
    let url = server.url.as_str();
    let asset = {
        let mut page = browser().get(format!("{url}/")).call().expect("answers");
        let page = page.body_mut().read_to_string().expect("text");
        let at = page.find("/-/style.css").expect("a style");
        page[at..].split('"').next().expect("its address").to_owned()
    };
    let file = format!("{url}{asset}");
    let crowd = |count: usize, lasting: Duration, one: &(dyn Fn(usize, &Agent, usize) -> Result<(), String> + Sync)| {
        let crowds: Vec<Crowd> = thread::scope(|scope| {
            let each: Vec<_> = (0..count)
                .map(|who| {
                    scope.spawn(move || {
                        let browser = browser();
                        for_a_while(lasting, |number| one(who, &browser, number))
                    })
                })
                .collect();
            each.into_iter().map(|one| one.join().expect("no client falls over")).collect()
        });
        Crowd::join(crowds)
    };
    let alone = crowd(READERS, ALONE, &|_, browser, _| ask(browser, &file).map(drop));
    row("the style sheet alone, to as many readers", alone.told(ALONE));

    let written = AtomicUsize::new(0);
    let (read, wrote) = thread::scope(|scope| {
        let reading = scope.spawn(|| {
            crowd(READERS, LOADED, &|who, browser, number| {
                let code = &codes[(who * 31 + number * 7) % codes.len()];
                let address = match number % 4 {
                    0 | 1 => format!("{url}/{code}"),
                    2 => format!("{url}/find?part=1&q=pump"),
                    _ => format!("{url}/C/J1"),
                };
                ask(browser, &address).map(drop)
            })
        });
        let writing = scope.spawn(|| {
            let cookies: Vec<String> = (0..WRITERS).map(|_| unlocked(&browser(), url)).collect();
            crowd(WRITERS, LOADED, &|who, browser, number| {
                let code = &codes[(who * 53 + number) % codes.len()];
                let answer = browser
                    .post(format!("{url}/{code}/note"))
                    .header("origin", url)
                    .header("cookie", &cookies[who])
                    .send_form([("text", format!("looked at by {who}, time {number}"))])
                    .map_err(|error| error.to_string())?;
                if answer.status() != 303 {
                    return Err(format!("{code}: {}", answer.status()));
                }
                written.fetch_add(1, Ordering::Relaxed);
                Ok(())
            })
        });
        (reading.join().expect("reads"), writing.join().expect("writes"))
    });
    row("pages, while five write", read.told(LOADED));
    row("notes written", wrote.told(LOADED));
    row("p99 of pages as a multiple of the file's", format!("{:6.1}", read.part(99).div_duration_f64(alone.part(99))));
    let kept = register::open_to_read(folder.path()).and_then(|register| Ok(register.notes()?.all().len()));
    let (kept, written) = (kept.expect("the register reads"), written.into_inner());
    row("notes acknowledged, and kept", format!("{written}, {kept}  {}", verdict(kept == written)));
    let errors: Vec<&String> = alone.errors.iter().chain(&read.errors).chain(&wrote.errors).take(5).collect();
    row("no error", format!("{errors:?}  {}", verdict(errors.is_empty())));
}

fn verdict(is_met: bool) -> &'static str {
    if is_met { "PASS" } else { "FAIL" }
}

fn example() -> TempDir {
    let folder = TempDir::new().expect("a temporary folder");
    for entry in fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/marsh-hen")).expect("listed") {
        let path = entry.expect("listed").path();
        fs::copy(&path, folder.path().join(path.file_name().expect("a name"))).expect("copied");
    }
    folder
}

// --- very many circuits -----------------------------------------------------------------------------------------------------

#[expect(clippy::disallowed_methods, reason = "the disk is set up, and time is measured")]
fn many() {
    heading(&format!("A job of {MANY} circuits, one browser"));
    let folder = TempDir::new().expect("a temporary folder");
    fs::write(folder.path().join("job.toml"), "title = \"Marsh Hen, many times\"\n").expect("written");
    // Eight circuits of nine have two ends.
    fs::write(folder.path().join("chart.csv"), harness::chart(MANY * 17 / 9)).expect("written");
    let read = run::read(folder.path()).expect("reads").value.expect("is usable");
    let circuits = read.circuits.all().len();
    let issued = register::open(folder.path())
        .and_then(|mut register| Ok(register.issue(&read.circuits, Timestamp::now())?))
        .expect("codes are issued");
    let code = |at: usize| issued.circuits[at].code.to_string();
    drop(read);
    let server = Server::of(folder.path());
    let (browser, url) = (browser(), server.url.as_str());
    let begun = Instant::now();
    ask(&browser, &format!("{url}/{}", code(0))).expect("answers");
    row(format!("{circuits} circuits read for the first page"), format!("{:6.2} s", begun.elapsed().as_secs_f64()));
    if let Some(memory) = measure::memory() {
        row("memory in use then", format!("{:6.0} MiB", memory as f64 / f64::from(1 << 20)));
    }
    let middle = circuits / 2;
    let questions = [
        ("record", format!("/{}", code(middle))),
        ("record of an end", format!("/{}/A", code(middle + 1))),
        ("record that is mistyped", "/7KF5".to_owned()),
        ("find a code", format!("/find?part=1&q={}", code(middle + 2))),
        ("find a place", "/find?part=1&q=J17/14".to_owned()),
        ("find a circuit", "/find?part=1&q=E05000".to_owned()),
        ("find a colour", "/find?part=1&q=brown".to_owned()),
        ("find words", "/find?part=1&q=bilge+pump+return".to_owned()),
        ("find a letter", "/find?part=1&q=b".to_owned()),
        ("find nothing", "/find?part=1&q=bulkhaed+pumq".to_owned()),
        ("a connector", "/C/J17".to_owned()),
    ];
    // What is not there is answered too.
    let look = |path: &str| {
        let answer = browser.get(format!("{url}{path}")).call();
        drop(answer.map(|mut answer| answer.body_mut().read_to_vec()));
    };
    for (what, path) in questions {
        look(&path);
        let time = measure::median(9, || look(&path));
        row(what, format!("{:6.1} ms  {}", time.as_secs_f64() * 1e3, verdict(time <= MOST_TIME)));
    }
    let cookie = unlocked(&browser, url);
    let code = code(middle);
    let note = || {
        let sent = browser.post(format!("{url}/{code}/note")).header("origin", url).header("cookie", &cookie);
        drop(sent.send_form([("text", "looked at")]).expect("it is noted"));
    };
    let pages = [
        ("circuits, filtered", "/circuits?q=pump&connector=J17"),
        ("overview", "/"),
        ("problems", "/problems"),
        ("all connectors", "/connectors"),
    ];
    for (what, path) in [("record", format!("/{code}")), ("a connector", "/C/J17".to_owned())] {
        let (mut noting, mut looking) = (Duration::ZERO, Duration::ZERO);
        for _ in 0..TIMES {
            let begun = Instant::now();
            note();
            noting += begun.elapsed();
            let begun = Instant::now();
            look(&path);
            looking += begun.elapsed();
        }
        let each = |time: Duration| time.as_secs_f64() * 1e3 / f64::from(TIMES);
        row(format!("a note, then the first {what}"), format!("{:6.1} ms, {:6.1} ms", each(noting), each(looking)));
    }
    for (what, path) in pages {
        let begun = Instant::now();
        look(path);
        let first = begun.elapsed();
        let again = measure::median(3, || look(path));
        row(
            format!("{what}, first and again"),
            format!("{:6.1} ms, {:6.1} ms", first.as_secs_f64() * 1e3, again.as_secs_f64() * 1e3),
        );
    }
}
