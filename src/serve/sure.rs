//! Asking before something is written that may hurt somebody, or that cannot be taken back: what was sent and what speaks against it come
//! in; a page that asks goes out, and whether just that was answered. The bench is right: whoever is sure gets it written.

use std::hash::{DefaultHasher, Hash, Hasher};

use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use jiff::Timestamp;
use maud::html;

use super::fields::Fields;
use super::parts::{moment, words};
use super::screen::{Screen, Tab};

/// The names of the fields of an answer: that it is meant, and the mark of what was asked.
const ANSWER: [&str; 2] = ["sure", "asked"];

/// What is asked.
#[derive(Clone, Debug, Default, Hash)]
pub struct Question {
    /// What is about to be done, behind "Yes".
    pub what: String,
    /// What speaks against it, the gravest first; nothing: it is not asked.
    pub reasons: Vec<Reason>,
    /// What is compared, side by side.
    pub sides: Vec<Sides>,
    /// What else should be known.
    pub shown: Vec<String>,
}

/// Two that differ.
#[derive(Clone, Debug, Hash)]
pub struct Sides {
    /// Of what.
    pub of: String,
    /// The older, and the newer.
    pub sides: [Side; 2],
}

/// One of them.
#[derive(Clone, Debug)]
pub struct Side {
    /// What it is called.
    pub name: String,
    /// When it was told.
    pub at: Timestamp,
    /// What it says.
    pub words: String,
}

/// The moment of one that is told just now is another when it is answered.
impl Hash for Side {
    fn hash<H: Hasher>(&self, state: &mut H) {
        (&self.name, &self.words).hash(state);
    }
}

/// What speaks against something.
#[derive(Clone, Debug, Hash)]
pub struct Reason {
    /// In words.
    pub what: String,
    /// Of what.
    pub of: Vec<String>,
    /// How many of these are named; the others are counted.
    pub named: usize,
}

impl Reason {
    /// A reason that stands for itself.
    pub fn plain(what: impl Into<String>) -> Self {
        Self { what: what.into(), of: Vec::new(), named: 0 }
    }
}

impl Question {
    /// Tells it from any other: whoever answers has seen just these reasons.
    fn mark(&self) -> String {
        let mut hasher = DefaultHasher::new();
        self.hash(&mut hasher);
        format!("{:016x}", hasher.finish())
    }

    /// Whether there is nothing to ask, or it was answered.
    pub fn is_settled(&self, sent: &Fields) -> bool {
        let [sure, asked] = ANSWER;
        self.reasons.is_empty() || sent.sent(sure) == Some("yes") && sent.sent(asked) == Some(self.mark().as_str())
    }

    /// The page that asks, with what was sent. Nothing is written.
    pub fn ask(&self, screen: &Screen<'_>, tab: Tab, sent: &Fields, (action, back): (&str, &str)) -> Response {
        let was_asked = sent.given(ANSWER[1]).is_some();
        let body = html! {
            h1 { "Is this meant?" }
            p.what { strong { (words(&self.what)) } }
            @if was_asked { p.mind { "What speaks against it is not the same any more: look again." } }
            @for reason in &self.reasons {
                div.doubt {
                    p.alarm { (words(&reason.what)) }
                    @if !reason.of.is_empty() {
                        ul {
                            @for one in reason.of.iter().take(reason.named) { li { bdi { (words(one)) } } }
                            @if reason.of.len() > reason.named { li { "and " (reason.of.len() - reason.named) " more" } }
                        }
                    }
                }
            }
            @for Sides { of, sides } in &self.sides {
                p { bdi { (words(of)) } }
                div.sides { @for side in sides {
                    div.card {
                        h2 { (side.name) }
                        p { strong { (words(&side.words)) } }
                        p.soft { (moment(side.at)) }
                    }
                } }
            }
            @if !self.shown.is_empty() { ul.warnings { @for line in &self.shown { li { bdi { (words(line)) } } } } }
            form.stack method="post" action=(action) {
                @for (name, value) in sent.iter().filter(|(name, _)| !ANSWER.contains(name)) {
                    input type="hidden" name=(name) value=(value);
                }
                input type="hidden" name=(ANSWER[0]) value="yes";
                input type="hidden" name=(ANSWER[1]) value=(self.mark());
                div.row {
                    button.stop type="submit" { "Yes, " (words(&self.what)) }
                    a.button.second href=(back) { "No, back" }
                }
            }
        };
        (StatusCode::CONFLICT, screen.show(tab, "Is this meant?", body)).into_response()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_answer_counts_for_what_was_asked_alone() {
        let question = |reasons: &[&str]| Question {
            what: "join".to_owned(),
            reasons: reasons.iter().map(|reason| Reason::plain(*reason)).collect(),
            ..Question::default()
        };
        let answer = |pairs: &[(&str, &str)]| -> Fields { pairs.iter().copied().collect() };
        let (one, two) = (question(&["for ever"]), question(&["for ever", "of other colours"]));
        let (sure, asked) = (("sure", "yes"), one.mark());
        let whole = answer(&[sure, ("asked", &asked)]);
        assert!(one.is_settled(&whole) && !two.is_settled(&whole));
        assert!(!one.is_settled(&answer(&[sure])) && !one.is_settled(&answer(&[("asked", &asked)])));
        assert!(question(&[]).is_settled(&Fields::default()));
    }
}
