//! What was sent of a record is written, by the same rules as the commands; what speaks against it is told, or asked first.

use axum::extract::{Form, Path, State};
use axum::response::{IntoResponse, Redirect, Response};
use jiff::Timestamp;

use super::named::{Named, named};
use super::{known, unknown};
use crate::base::{Finding, TagCode};
use crate::codes::{Again, Certainty, Joined, Renamed, Said};
use crate::run::assigning::{self, Outcome};
use crate::run::noting::{self, Planned};
use crate::run::{self, Snapshot, joining, renaming};
use crate::serve::access::Visitor;
use crate::serve::desk::Desk;
use crate::serve::fields::Fields;
use crate::serve::kept::or_again;
use crate::serve::noted;
use crate::serve::screen::{Screen, Tab};
use crate::serve::sure::{Question, Reason, Side, Sides};
use crate::serve::trouble::Trouble;

/// What can be sent, as the last part of a path.
pub const WHAT: [&str; 7] = ["done", "undone", "found", "note", "rename", "join", "assign"];

/// A finding that is told by its remark.
pub const OTHER: &str = "other";

/// Writes what was sent of a whole circuit: the last part of the path is one of [`WHAT`].
pub async fn of_circuit(
    State(desk): State<Desk>,
    visitor: Visitor,
    Path((code, what)): Path<(String, String)>,
    Form(fields): Form<Fields>,
) -> Response {
    write(desk, visitor, code, what, fields).await
}

/// The same of one end, or of several that are on one tag.
pub async fn of_end(
    State(desk): State<Desk>,
    visitor: Visitor,
    Path((code, letter, what)): Path<(String, String, String)>,
    Form(fields): Form<Fields>,
) -> Response {
    write(desk, visitor, format!("{code}/{letter}"), what, fields).await
}

async fn write(desk: Desk, visitor: Visitor, typed: String, what: String, fields: Fields) -> Response {
    desk.work(move |desk| {
        let Ok(named) = named(&typed) else { return Err(Trouble::NotFound(unknown::why(&typed))) };
        let sent = Sent { desk, visitor: &visitor, named, fields };
        let came = match what.as_str() {
            // Nothing is typed there.
            "done" | "undone" => return sent.step(&what),
            "found" => sent.finding(),
            "note" => sent.text(),
            "rename" => sent.rename(),
            "join" => sent.join(),
            "assign" => sent.assign(),
            _ => return Err(Trouble::NotFound("there is no such page".to_owned())),
        };
        let action = format!("{}/{what}", desk.link(&sent.named.path()));
        or_again(came, (desk, &visitor), (&action, &sent.fields), |screen| {
            known(screen, &sent.named, "").ok_or_else(|| Trouble::NotFound(unknown::why(&typed)))
        })
    })
    .await
}

/// What was found before, and what is found now.
fn sides(job: &Snapshot, planned: &Planned, now: Timestamp) -> Option<Sides> {
    let before = job.recall.notes().get(planned.otherwise?)?;
    Some(Sides {
        of: planned.about.clone(),
        sides: [
            Side { name: format!("before, note {}", before.number), at: before.at, words: before.note.in_words() },
            Side { name: "now, the newer".to_owned(), at: now, words: planned.note.in_words() },
        ],
    })
}

/// What was sent of a code.
struct Sent<'a> {
    desk: &'a Desk,
    visitor: &'a Visitor,
    named: Named,
    fields: Fields,
}

impl Sent<'_> {
    /// A field, without blanks at its ends; empty where it was not sent.
    fn field(&self, name: &str) -> &str {
        self.fields.text(name)
    }

    /// The names of its ends, as the bench types them.
    fn subjects(&self) -> Vec<String> {
        let code = self.named.code;
        match &self.named.letters[..] {
            [] => vec![code.to_string()],
            letters => letters.iter().map(|letter| format!("{code}/{letter}")).collect(),
        }
    }

    fn back(&self) -> Response {
        Redirect::to(&self.desk.link(&self.named.path())).into_response()
    }

    fn step(&self, sort: &str) -> Result<Response, Trouble> {
        let steps = self.fields.all("step").map(str::to_owned);
        let said: Vec<String> = std::iter::once(sort.to_owned()).chain(steps).collect();
        self.note(sort, [self.subjects(), said].concat(), None)
    }

    fn finding(&self) -> Result<Response, Trouble> {
        let (value, remark) = (self.field("value").to_owned(), self.field("remark"));
        let mut said = vec!["found".to_owned()];
        // What is none of the findings is told by its remark alone.
        let finding = Some(self.field("finding")).filter(|word| *word != OTHER).unwrap_or_default();
        said.extend([finding, &value].into_iter().filter(|word| !word.is_empty()).map(str::to_owned));
        if !remark.is_empty() {
            // The colon keeps a remark from being read as part of the value.
            said.push(if said.len() > 1 { format!(": {remark}") } else { remark.to_owned() });
        }
        let has_value = matches!(self.field("finding"), "colour" | "size" | "place");
        if has_value && value.is_empty() {
            return Err(Trouble::refused(
                format!("which {} was found is not said", self.field("finding")),
                "write it into its field",
            ));
        }
        // A value is no remark, and a cavity that has a colour is not empty.
        if self.field("finding") == Finding::Empty.word() && !value.is_empty() {
            return Err(Trouble::refused(
                format!("an empty cavity has no colour, size or place, but `{value}` is given"),
                "choose what it is of, or write it into the remark",
            ));
        }
        self.note("found", [self.subjects(), said].concat(), None)
    }

    fn text(&self) -> Result<Response, Trouble> {
        let text = vec!["text".to_owned(), self.field("text").to_owned()];
        match self.field("instead") {
            "" => self.note("note", [self.subjects(), text].concat(), None),
            number => {
                let number = number.parse().map_err(|_| {
                    Trouble::refused(format!("`{number}` is no number of a note"), "open the record again")
                })?;
                self.note("note", text, Some(number))
            }
        }
    }

    /// Notes it, and tells what was noted of what, so that a wrong code is noticed. Danger is asked about first.
    fn note(&self, sort: &str, words: Vec<String>, supersedes: Option<u32>) -> Result<Response, Trouble> {
        let job = self.desk.snapshot()?;
        let planned = job.bench().plan(&noting::Asked { words, with: None, supersedes })?;
        let said = planned.iter().map(|planned| format!("{} {}", planned.note.name(), planned.note.in_words()));
        let mut reasons = noted::dangers_of(&planned);
        // A cavity is empty once its wire was cut or pulled: that is no finding.
        for one in planned.iter().filter(|one| one.note.said == Said::Found(Finding::Empty)) {
            let reason = |what: &String| Reason { what: what.clone(), of: vec![one.about.clone()], named: usize::MAX };
            reasons.extend(one.warnings.iter().map(reason));
        }
        reasons.extend(planned.iter().any(|one| one.otherwise.is_some()).then(|| {
            Reason::plain(
                "it was found otherwise before: from now on the newer finding counts, the older stays in the history",
            )
        }));
        let question = Question {
            what: format!("note {}", said.collect::<Vec<_>>().join(", ")),
            reasons,
            sides: planned.iter().filter_map(|one| sides(&job, one, self.desk.now())).collect(),
            shown: noted::others(planned.iter().map(Into::into)),
        };
        if !question.is_settled(&self.fields) {
            return self.ask(sort, &question);
        }
        let numbers = run::note(self.desk.folder(), &planned, self.desk.now())?;
        for (number, planned) in numbers.iter().zip(&planned) {
            self.visitor.tell(format!("note {number}: {}: {}", planned.about, planned.note.in_words()));
        }
        noted::tell_warnings(self.visitor, planned.iter().map(Into::into));
        Ok(self.back())
    }

    fn rename(&self) -> Result<Response, Trouble> {
        let job = self.desk.snapshot()?;
        let code = self.named.code.to_string();
        let old = if self.field("old").is_empty() { code.as_str() } else { self.field("old") };
        let names = (old, self.field("new"));
        let rename = |certainty| renaming::rename(&job.reading, &job.recall, names, certainty, self.desk.now());
        let mut renaming = rename(Certainty::ByPlace)?;
        if let Err(why @ renaming::Refused::NothingInCommon(..)) = &renaming {
            let question = Question {
                what: "rename it all the same".to_owned(),
                reasons: vec![Reason::plain(why.to_string()), Reason::plain("renaming is for ever")],
                ..Question::default()
            };
            if !question.is_settled(&self.fields) {
                return self.ask("rename", &question);
            }
            renaming = rename(Certainty::Sure)?;
        }
        let renaming = renaming.map_err(|why| {
            Trouble::refused(why.to_string(), why.remedy().unwrap_or_else(|| "name it otherwise".into()))
        })?;
        let (former, new) = (&renaming.former, &renaming.designation);
        self.visitor.tell(match renaming.outcome {
            Renamed::Now => format!("{former} is {new} now, its code stays {}", renaming.code),
            Renamed::Joined(other) => {
                format!("{former} is {new} now; {other}, issued for {new} meanwhile, names it too")
            }
            Renamed::Already => format!("it is {new} already"),
        });
        if !renaming.to_change.is_empty() {
            self.visitor.tell(format!("the lists do not say so yet: write {new} at {}", renaming.to_change.join(", ")));
        }
        Ok(self.back())
    }

    fn join(&self) -> Result<Response, Trouble> {
        let job = self.desk.snapshot()?;
        let (keep, typed) = (self.named.code, self.field("other"));
        let other = TagCode::from_typed(typed)
            .map_err(|why| Trouble::refused(format!("`{typed}` is not a code: {why}"), "type it again from the tag"))?;
        let records = [keep, other].map(|code| job.recall.by_code(code, None).map(|found| found.record.in_a_line()));
        let against = joining::objections(&job.recall, keep, other).into_iter();
        let question = Question {
            what: "they are one circuit: join".to_owned(),
            reasons: against.chain(["joining is for ever".to_owned()]).map(Reason::plain).collect(),
            shown: records.into_iter().flatten().collect(),
            ..Question::default()
        };
        if !question.is_settled(&self.fields) {
            return self.ask("join", &question);
        }
        match run::join(self.desk.folder(), keep, other, self.desk.now())? {
            None => return Err(Trouble::refused("no code was issued yet", "print tags first")),
            Some(Joined::Now(printed)) => self
                .visitor
                .tell(format!("{keep} and {other} are one circuit; {printed} is printed from now on, both stay valid")),
            Some(Joined::Already(printed)) => {
                self.visitor.tell(format!("{keep} and {other} were one circuit already; {printed} is printed"));
            }
        }
        Ok(self.back())
    }

    fn assign(&self) -> Result<Response, Trouble> {
        let job = self.desk.snapshot()?;
        let code = self.named.code;
        let given = |name: &str| Some(self.field(name)).filter(|text| !text.is_empty()).map(str::to_owned);
        let (what, new) = (given("what"), given("new"));
        let assign = |is_sure| {
            let again = if self.field("again") == "yes" { Again::Instead } else { Again::Refused };
            let asked = assigning::Asked { code, what: what.as_deref(), new: new.as_deref(), again, is_sure };
            run::assign(&job.reading, &job.recall, asked, self.desk.now())
        };
        let mut outcome = assign(false)?;
        if let Outcome::Objected(against) = &outcome {
            let question = self.objected(against);
            if !question.is_settled(&self.fields) {
                return self.ask("assign", &question);
            }
            outcome = assign(true)?;
        }
        match outcome {
            Outcome::Done(assigned) if assigned.printed == code => {
                self.visitor.tell(format!("{code} is assigned; it is its code from now on, on all its tags"));
            }
            Outcome::Done(assigned) => self.visitor.tell(format!(
                "{code} is assigned; {} stays the code that is printed for it, {code} names it as well",
                assigned.printed
            )),
            // What nobody has seen yet.
            Outcome::Objected(against) => return self.ask("assign", &self.objected(&against)),
            Outcome::NotNamed(why) => {
                let look = || "look it up: the buttons beside the answers name one end each".into();
                return Err(Trouble::refused(why.to_string(), why.remedy().unwrap_or_else(look)));
            }
        }
        if new.is_some() {
            self.visitor
                .tell("no list has this circuit: a row with this designation or place makes the record complete");
        }
        Ok(self.back())
    }

    fn objected(&self, against: &[String]) -> Question {
        Question {
            what: format!("assign {} all the same", self.named.code),
            reasons: against.iter().map(Reason::plain).collect(),
            ..Question::default()
        }
    }

    /// Asks, with what was sent. Nothing is written.
    fn ask(&self, what: &str, question: &Question) -> Result<Response, Trouble> {
        let job = self.desk.snapshot()?;
        let screen = Screen { desk: self.desk, job: &job, visitor: self.visitor };
        let record = self.desk.link(&self.named.path());
        Ok(question.ask(&screen, Tab::Other, &self.fields, (&format!("{record}/{what}"), &record)))
    }
}
