//! The frame around every page: the job, the find box, the ways to the other pages, what was told, and the caution.

use maud::{DOCTYPE, Markup, html};

use super::access::Visitor;
use super::address::encoded;
use super::assets;
use super::desk::Desk;
use super::parts::words;
use crate::run::Snapshot;
use crate::run::recall::{TEST_IT, moment};

/// The pages that every page leads to, in their order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tab {
    /// How far the work is.
    Overview,
    /// All circuits.
    Circuits,
    /// All connectors.
    Connectors,
    /// The problems of the lists.
    Problems,
    /// The lists.
    Lists,
    /// Tags to print.
    Print,
    /// A page that is none of these.
    Other,
}

const TABS: [(Tab, &str, &str); 6] = [
    (Tab::Overview, "/", "Overview"),
    (Tab::Circuits, "/circuits", "Circuits"),
    (Tab::Connectors, "/connectors", "Connectors"),
    (Tab::Problems, "/problems", "Problems"),
    (Tab::Lists, "/lists", "Lists"),
    (Tab::Print, "/print", "Print"),
];

/// What a page that is a file may load: what lies beside it, on a web space or a memory stick.
const STILL_POLICY: &str = "default-src 'none'; script-src 'self' file:; style-src 'self' file:; font-src 'self' file:; \
    img-src 'self' file: data:; base-uri 'none'; form-action 'none'";

tokio::task_local! {
    /// The page of this server that a request was sent from, for the way back from one that tells of trouble.
    pub static SENT_FROM: Option<String>;
}

/// A page of a job.
pub struct Screen<'a> {
    /// The job's desk.
    pub desk: &'a Desk,
    /// The job.
    pub job: &'a Snapshot,
    /// Who looks.
    pub visitor: &'a Visitor,
}

impl Screen<'_> {
    /// The whole page around `body`, which begins with the heading.
    pub fn show(&self, tab: Tab, title: &str, body: Markup) -> Markup {
        let job = self.job.reading.job.title();
        if self.desk.is_still() {
            return self.still(tab, &format!("{title} · {job}"), body);
        }
        document(
            &format!("{title} · {job}"),
            html! {
                a.skip href="#main" { "to the page" }
                header.top {
                    a.job href=(self.desk.link("/")) { bdi { (job) } }
                    form.find action=(self.desk.link("/find")) role="search" {
                        input #q type="search" name="q" placeholder="code, place, colour, words" aria-label="find"
                            autocomplete="off" autocapitalize="off" spellcheck="false" enterkeyhint="search"
                            data-find=(self.desk.link("/find"));
                        button type="submit" { "Find" }
                    }
                    a.scan href=(self.desk.link("/scan")) { "Scan" }
                }
                nav.tabs aria-label="pages" {
                    @for (known, path, name) in TABS {
                        a href=(self.desk.link(path)) aria-current=[(known == tab).then_some("page")] { (name) }
                    }
                }
                main #main {
                    (told_of(&self.visitor.told()))
                    @if let Some(kept) = self.visitor.kept() { (kept.told(self.desk)) }
                    (body)
                }
                footer.foot {
                    @if self.desk.is_of_several() { a href="/" { "All jobs" } }
                    p { "A tag is a record, not proof that a circuit is dead: " (TEST_IT) "." }
                    @if self.visitor.may_write() {
                        form method="post" action="/lock" { button.plain type="submit" { "Lock writing" } }
                    } @else {
                        a href=(self.unlock()) { "Unlock writing" }
                    }
                }
            },
        )
    }

    /// The same as a file: nothing to fill in but what the first page's own script makes, and when it was written.
    fn still(&self, tab: Tab, title: &str, body: Markup) -> Markup {
        let pages = [(Tab::Overview, "/", "Overview and search"), (Tab::Connectors, "/connectors", "Connectors")];
        html! {
            (DOCTYPE)
            html lang="en" {
                head {
                    meta charset="utf-8";
                    meta http-equiv="Content-Security-Policy" content=(STILL_POLICY);
                    title { (title) }
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    meta name="color-scheme" content="light dark";
                    link rel="icon" href=(assets::link("icon.svg"));
                    link rel="stylesheet" href=(assets::link("style.css"));
                }
                body.still {
                    a.skip href="#main" { "to the page" }
                    header.top { a.job href=(self.desk.link("/")) { (self.job.reading.job.title()) } }
                    nav.tabs aria-label="pages" {
                        @for (known, path, name) in pages {
                            a href=(self.desk.link(path)) aria-current=[(known == tab).then_some("page")] { (name) }
                        }
                    }
                    main #main { (body) }
                    footer.foot {
                        p { "A tag is a record, not proof that a circuit is dead: " (TEST_IT) "." }
                        p { "Written " (moment(self.desk.now())) ": the register may know more by now." }
                    }
                }
            }
        }
    }

    /// Where the PIN is typed, with the way back here.
    pub fn unlock(&self) -> String {
        // Within a folder of several jobs the path that was asked for is the job's own.
        format!("/unlock?then={}", encoded(&self.desk.link(&self.visitor.path)))
    }

    /// What may be written, or the way to the PIN where it was not typed yet.
    pub fn writing(&self, form: Markup) -> Markup {
        if self.visitor.may_write() {
            form
        } else if self.desk.is_still() {
            html! {}
        } else {
            html! { p.locked { a.button href=(self.unlock()) { "Unlock writing" } } }
        }
    }
}

/// More messages than this are folded behind the first.
const TOLD: usize = 3;

/// What was just done: many lines are one, the others behind it; what to mind always stands there.
fn told_of(told: &[String]) -> Markup {
    let (minded, plain): (Vec<&String>, Vec<&String>) = told.iter().partition(|one| one.starts_with("mind: "));
    let shown = if plain.len() > TOLD { 1 } else { plain.len() };
    let (first, others) = plain.split_at(shown);
    html! {
        div.told role="status" {
            @for one in first { p dir="auto" { (words(one)) } }
            @for one in minded { p.warned dir="auto" { (words(one)) } }
            @if !others.is_empty() {
                details {
                    summary { "one by one (" (others.len()) ")" }
                    ul { @for one in others { li dir="auto" { (words(one)) } } }
                }
            }
        }
    }
}

/// A page that belongs to no job, or to one that cannot be read.
pub fn bare(title: &str, body: Markup, home: Option<&str>) -> Markup {
    document(
        title,
        html! {
            main #main.bare {
                h1 { (title) }
                (body)
                @if let Some(home) = home {
                    @let from = SENT_FROM.try_with(Clone::clone).ok().flatten().filter(|from| from != home);
                    p.row { @if let Some(from) = from { a href=(from) { "Back" } } a href=(home) { "Overview" } @if home != "/" { a href="/" { "All jobs" } } }
                }
            }
        },
    )
}

fn document(title: &str, body: Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                title { (title) }
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                link rel="icon" href=(assets::link("icon.svg"));
                link rel="stylesheet" href=(assets::link("style.css"));
                script src=(assets::link("script.js")) defer {}
            }
            body { (body) }
        }
    }
}
