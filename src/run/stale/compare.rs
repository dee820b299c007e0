//! What a tag says beside what is true now: lines and symbol as printed and the label of today come in, differences go out.
//!
//! A line is true when the label can say it, whole or as part of another line, whatever the wording: a line that was given up or
//! shortened for want of room makes no tag untrue, nor does one that is set otherwise now. A line to write on is true, too:
//! somebody may have written on it. But marks are never given up, so a tag without a mark that its wire has now is untrue. What
//! the lists have learnt since makes no tag untrue either; it makes it worth printing again, and so do blanks that can be filled.

use std::collections::BTreeSet;
use std::fmt;

use serde::Serialize;

use crate::base::Purpose;
use crate::labels::{Field, Label, Wording, caution};

/// What a tag says, as the journal has it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Said<'a> {
    /// Its marks and lines.
    pub(super) words: &'a [String],
    /// The text of its symbol.
    pub(super) payload: Option<&'a str>,
}

/// One thing that a tag says otherwise than it would now.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Change {
    /// What it is: `function`, `there`, `mark`, `symbol`, `place`; empty where nobody knows.
    pub what: String,
    /// What the tag says; `None` where it says nothing of it.
    pub said: Option<String>,
    /// What is true now; `None` where the lists say nothing of it any more.
    pub now: Option<String>,
}

impl Change {
    pub(super) fn new(what: &str, said: Option<&str>, now: Option<&str>) -> Self {
        Self { what: what.to_owned(), said: said.map(str::to_owned), now: now.map(str::to_owned) }
    }
}

/// `function: "oil pressure" -> "oil pressure switch"`.
impl fmt::Display for Change {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if !self.what.is_empty() {
            write!(f, "{}: ", self.what)?;
        }
        match (&self.said, &self.now) {
            (Some(said), Some(now)) => write!(f, "`{said}` -> `{now}`"),
            (Some(said), None) => write!(f, "`{said}` -> no longer in the lists"),
            (None, Some(now)) => write!(f, "not on the tag -> `{now}`"),
            (None, None) => f.write_str("no longer in the lists"),
        }
    }
}

/// Something that a label says now.
struct Statement {
    what: String,
    text: String,
    is_mark: bool,
}

/// What stands where something is to be written.
const BLANK: &str = "____";

/// What is called a mark in changes.
const MARK: &str = "mark";

/// The lines of a tag that are not true of this label, and the marks it lacks.
pub(super) fn untrue_words(said: Said<'_>, label: &Label, wording: &Wording) -> Vec<Change> {
    let now = statements(label, wording);
    if says_it_all_plainly(said, label, &now) {
        return Vec::new();
    }
    let truths = truths(said, label, &now);
    let is_off_wire = |line: &str| label.at.is_none() && is_position(line);
    let mut told = vec![false; now.len()];
    let mut untrue: Vec<(usize, &str)> = Vec::new();
    let mut after = 0;
    for line in said.words {
        let is_true = |text: &String| truths.contains(text);
        let same = now.iter().position(|statement| tells(line, &statement.text) && is_true(&statement.text));
        let blank = || (0..now.len()).find(|&at| !told[at] && fills(line, &now[at].text));
        match same.or_else(blank) {
            Some(at) => {
                told[at] = true;
                after = at + 1;
            }
            None if is_made_of(line, &truths) || line.contains(BLANK) || is_off_wire(line) => {}
            None => untrue.push((after, line)),
        }
    }
    let mut changes = Vec::new();
    for (after, line) in untrue {
        let until = (after..now.len()).find(|&at| told[at]).unwrap_or(now.len());
        let is_mark = caution::mark_of(line).is_some();
        let may_be = |at: &usize| now[*at].is_mark == is_mark && now[*at].text != line;
        // The first is meant, unless another has more words of the line.
        let counterpart = (after..until).filter(may_be).rev().max_by_key(|&at| shared_words(line, &now[at].text));
        let counterpart = counterpart.inspect(|&at| told[at] = true).map(|at| &now[at]);
        let what = counterpart.map_or(if is_mark { MARK } else { "" }, |now| now.what.as_str());
        changes.push(Change::new(what, Some(line), counterpart.map(|now| now.text.as_str())));
    }
    let lacking = now.iter().zip(&told).filter(|(now, told)| now.is_mark && !**told);
    changes.extend(lacking.map(|(now, _)| Change::new(MARK, None, Some(&now.text))));
    changes
}

/// Whether a tag has the marks of today and no line but those of today, which is soon seen: so it is with nearly all tags.
fn says_it_all_plainly(said: Said<'_>, label: &Label, now: &[Statement]) -> bool {
    let is_told = |statement: &Statement| said.words.contains(&statement.text);
    label.says(Field::Move).is_empty()
        && said.words.iter().all(|line| now.iter().any(|statement| statement.text == *line))
        && now.iter().filter(|statement| statement.is_mark).all(is_told)
}

/// Whether the symbol of a tag says something else than that of the label would, with `in_words` the text of a symbol in words.
pub(super) fn changed_symbol(
    said: Said<'_>,
    label: &Label,
    wording: &Wording,
    in_words: impl FnOnce() -> Option<String>,
) -> Option<SymbolChange> {
    let payload = said.payload?;
    let full = label.payload.as_deref();
    let name = label.name.to_string();
    if full == Some(payload) || payload == label.name.least() || payload == name {
        return None;
    }
    let now = wording.payload(label);
    let change = Change::new("symbol", Some(payload), now);
    let is_link = |text: &str| text.contains("://");
    // An address that is not this job's any more leads nowhere; where symbols carry none now, it may still be answered.
    let is_true = match (is_link(payload), full.is_some_and(is_link)) {
        (true, is_link_now) => !is_link_now,
        (false, _) => in_words().as_deref() == Some(payload),
    };
    Some(if is_true { SymbolChange::Other(change) } else { SymbolChange::Untrue(change) })
}

/// How the symbol of a tag differs from what it would be now.
pub(super) enum SymbolChange {
    /// What it says is not so any more.
    Untrue(Change),
    /// It says something else that is as true.
    Other(Change),
}

/// Blanks of a tag that the lists can fill by now.
pub(super) fn filled(said: Said<'_>, label: &Label, wording: &Wording) -> Vec<Change> {
    let now = statements(label, wording);
    let blank = |line: &&String| line.contains(BLANK) && !now.iter().any(|statement| statement.text == **line);
    let change = |line: &String| {
        let filled = now.iter().find(|statement| {
            fills(line, &statement.text) && !said.words.iter().any(|line| tells(line, &statement.text))
        })?;
        Some(Change::new(&filled.what, Some(line), Some(&filled.text)))
    };
    said.words.iter().filter(blank).filter_map(change).collect()
}

/// Lines that a tag would have now, as fitted, and does not have.
pub(super) fn learnt(said: Said<'_>, fitted: &[String], label: &Label, wording: &Wording) -> Vec<Change> {
    let now = statements(label, wording);
    let is_told = |line: &String| said.words.iter().any(|old| tells(old, line) || tells(line, old));
    let change = |line: &String| {
        let what = now.iter().find(|statement| tells(line, &statement.text)).map_or("", |now| now.what.as_str());
        Change::new(what, None, Some(line))
    };
    fitted.iter().filter(|line| !is_told(line)).map(change).collect()
}

/// Whether a tag already has all that its label could say, so that no fit can add anything.
pub(super) fn says_all(said: Said<'_>, label: &Label, wording: &Wording) -> bool {
    let has = |statement: &Statement| said.words.contains(&statement.text);
    statements(label, wording).iter().all(has) && said.payload == wording.payload(label)
}

/// Whether a line tells where on a wire its tag sits: `359 mm from J1/14`.
pub(super) fn is_position(line: &str) -> bool {
    let distance = line.split_once(" mm from ").map(|(distance, _)| distance);
    distance.is_some_and(|distance| !distance.is_empty() && distance.bytes().all(|byte| byte.is_ascii_digit()))
}

/// Marks and lines of a label, in the order of printing and as the journal has them: with their small words, and places without
/// blanks, round a wire; without small words on flat tags.
fn statements(label: &Label, wording: &Wording) -> Vec<Statement> {
    let mark = |text: &String| Statement { what: MARK.to_owned(), text: text.clone(), is_mark: true };
    let marks = label.bands.iter().map(|(_, text)| mark(text));
    let lines = wording.lines(label).into_iter().map(|line| {
        let fields = line.fields().iter().filter(|field| !label.says(**field).is_empty());
        let what = fields.map(|field| field.word()).collect::<Vec<_>>().join(", ");
        let is_place = line.fields().iter().all(|field| field.is_place());
        let text = match (label.purpose, &line.look().lead) {
            (Purpose::Work, _) => line.text(),
            (Purpose::Final, lead) => {
                let text = if is_place { compact(&line.text()) } else { line.text() };
                lead.iter().cloned().chain([text]).collect::<Vec<_>>().join(" ")
            }
        };
        Statement { what, text, is_mark: false }
    });
    marks.chain(lines).collect()
}

/// All that is true of a label: its marks, its lines, and every field, whole and in its parts.
///
/// A line of a flat tag does not tell its field. A place that the wire goes to is no truth because the end shall be moved there: a
/// tag that does not say where the wire goes now may mean that.
fn truths(said: Said<'_>, label: &Label, now: &[Statement]) -> BTreeSet<String> {
    let there = compact(&label.text(Field::There));
    let says_there = there.is_empty() || said.words.iter().any(|line| compact(line).ends_with(&there));
    let target = (!says_there).then(|| clean(&label.text(Field::Move)));
    let fields = label.fields.iter().filter(|(field, _)| *field != Field::Move || says_there);
    let parts = fields.flat_map(|(_, parts)| parts.iter().cloned().chain([parts.join(" ")])).map(|text| clean(&text));
    let parts = parts.flat_map(|text| [compact(&text), text]);
    let now = now.iter().map(|statement| statement.text.clone()).filter(|text| Some(text) != target.as_ref());
    parts.chain(now).collect()
}

/// A place without the blanks round its slash.
fn compact(place: &str) -> String {
    place.replace(" / ", "/")
}

/// One blank between words, as lines have it.
fn clean(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Whether a line is this text, or the beginning of it with an ellipsis for the words that were left out.
fn tells(line: &str, text: &str) -> bool {
    let is_beginning = |stem: &str| text.strip_prefix(stem).is_some_and(|rest| rest.starts_with(' '));
    line == text || line.strip_suffix('…').is_some_and(is_beginning)
}

/// Whether a line is made of nothing but these texts, the last one perhaps shortened.
fn is_made_of(line: &str, texts: &BTreeSet<String>) -> bool {
    let (mut open, mut seen) = (vec![line], BTreeSet::new());
    while let Some(rest) = open.pop() {
        if texts.iter().any(|text| tells(rest, text)) {
            return true;
        }
        let behind = |text: &String| rest.strip_prefix(text.as_str())?.strip_prefix(' ');
        open.extend(texts.iter().filter_map(behind).filter(|rest| seen.insert(rest.len())));
    }
    false
}

/// Whether a line with blanks becomes this text when they are filled.
fn fills(line: &str, text: &str) -> bool {
    if !line.contains(BLANK) {
        return false;
    }
    let known: Vec<&str> = line.split('_').filter(|part| !part.is_empty()).collect();
    let mut rest = text;
    let (begins_blank, ends_blank) = (line.starts_with('_'), line.ends_with('_'));
    for (at, part) in known.iter().enumerate() {
        let found = match at {
            0 if !begins_blank => rest.starts_with(part).then_some(0),
            at if at + 1 == known.len() && !ends_blank => rest.ends_with(part).then(|| rest.len() - part.len()),
            _ => rest.find(part),
        };
        let Some(found) = found else { return false };
        rest = &rest[found + part.len()..];
    }
    true
}

fn shared_words(one: &str, other: &str) -> usize {
    one.split(' ').filter(|word| other.split(' ').any(|other| other == *word)).count()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuits::{self, JobLists, List, ListSettings};
    use crate::codes::{Payload, Register, samples};
    use crate::labels::{Doubled, Reach, Sources, Subject, select};

    /// The label of the first tag of a chart with these rows, under `connector,cavity,circuit,function,colour,size,supply,fuse,action`.
    fn label(rows: &str, purpose: Purpose) -> Label {
        let text = format!("connector,cavity,circuit,function,colour,size,supply,fuse,action,length\n{rows}");
        let list = List { name: "loom.csv".to_owned(), bytes: text.into_bytes(), settings: ListSettings::default() };
        let circuits = circuits::read(&JobLists::of(&[list])).value;
        let issued = Register::in_memory().and_then(|mut register| register.issue(&circuits, samples::NOW));
        let issued = issued.expect("issues");
        let selected = select(&circuits, purpose, Reach::All, Doubled::Together).remove(0);
        let sources = Sources { circuits: &circuits, issued: &issued, payload: &Payload::Text, title: "Marsh Hen" };
        sources.label(purpose, &Subject::Ends(selected))
    }

    const ROWS: &str = "J1,14,E14,rail pressure signal,BU/WH,0.5,,F1,cut,\nX3,2,E14,,BU/WH,0.5,,,keep,\n";

    fn wording(purpose: Purpose) -> Wording {
        Wording::builtin(if purpose == Purpose::Work { "flat" } else { "round" }).expect("it is there")
    }

    fn untrue(words: &[&str], rows: &str, purpose: Purpose) -> Vec<String> {
        let words: Vec<String> = words.iter().map(|line| (*line).to_owned()).collect();
        let said = Said { words: &words, payload: None };
        let changes = untrue_words(said, &label(rows, purpose), &wording(purpose));
        changes.iter().map(ToString::to_string).collect()
    }

    const WORDS: [&str; 5] = ["rail pressure signal", "J1 / 14", "X3 / 2", "BU/WH 0.5 mm² fuse F1", "E14"];

    #[test]
    fn what_is_said_in_fewer_words_or_on_other_lines_is_as_true() {
        for words in [
            &WORDS[..],
            &WORDS[..2],
            &[],
            &["rail pressure…", "X3 / 2"],
            &["rail…"],
            // As other wordings have it.
            &["E14 rail pressure signal", "BU/WH", "0.5 mm²", "J1/14 X3/2"],
            &["fuse F1 E14 rail…"],
            // Lines to write on.
            &["rail pressure signal", "J1 / 14", "________", "____ mm"],
            // Where on its wire it sits.
            &["rail pressure signal", "76 mm from J1/14"],
        ] {
            assert_eq!(untrue(words, ROWS, Purpose::Work), Vec::<String>::new(), "{words:?}");
        }
        assert_eq!(
            untrue(&["rail pressure signal", "J1/14", "to X3/2", "BU/WH 0.5 mm² fuse F1"], ROWS, Purpose::Final),
            Vec::<String>::new()
        );
    }

    #[test]
    fn what_is_not_so_is_told_with_what_is() {
        for (from, to, changes) in [
            ("rail pressure signal", "oil pressure", &["function: `rail pressure signal` -> `oil pressure`"][..]),
            ("rail pressure signal", "", &["`rail pressure signal` -> no longer in the lists"]),
            ("X3,2", "X3,3", &["there: `X3 / 2` -> `X3 / 3`"]),
            ("BU/WH,0.5", "BU/WH,0.75", &["conductor, fuse: `BU/WH 0.5 mm² fuse F1` -> `BU/WH 0.75 mm² fuse F1`"]),
            ("E14", "E15", &["circuit: `E14` -> `E15`"]),
            (",,F1,cut", ",constant,F1,cut", &["mark: not on the tag -> `LIVE WITH BATTERY ON: CAP THIS END`"]),
            (
                "signal,BU/WH,0.5,,F1",
                "switch,GN,0.5,,F1",
                &[
                    "function: `rail pressure signal` -> `rail pressure switch`",
                    "conductor, fuse: `BU/WH 0.5 mm² fuse F1` -> `GN 0.5 mm² fuse F1`",
                ],
            ),
        ] {
            let rows = ROWS.replace(from, to);
            assert_eq!(untrue(&WORDS, &rows, Purpose::Work), changes, "{from} {to}");
        }
        // The mark of a supply that was put right.
        let words = [&["LIVE WITH BATTERY ON: CAP THIS END"], &WORDS[..]].concat();
        let told = ["mark: `LIVE WITH BATTERY ON: CAP THIS END` -> no longer in the lists"];
        assert_eq!(untrue(&words, ROWS, Purpose::Work), told);
        let kept = ROWS.replace(",,F1,cut", ",constant,F1,keep");
        let told = ["mark: `LIVE WITH BATTERY ON: CAP THIS END` -> `LIVE WITH BATTERY ON`"];
        assert_eq!(untrue(&words, &kept, Purpose::Work), told);
        assert_eq!(untrue(&["J1/14", "to X3/3"], ROWS, Purpose::Final), ["there: `to X3/3` -> `to X3/2`"]);
    }

    /// Lines do not say what they tell: the old far end may be the place that the end moves to now.
    #[test]
    fn a_far_end_is_not_true_because_the_end_moves_there() {
        let rows = "J1,14,E14,rail pressure signal,,,,,move X3/2,\n";
        assert_eq!(untrue(&["J1 / 14", "X3 / 2"], rows, Purpose::Work), ["there: `X3 / 2` -> `________`"]);
        assert_eq!(untrue(&["J1 / 14", "________", "X3 / 2"], rows, Purpose::Work), Vec::<String>::new());
    }

    #[test]
    fn blanks_are_filled() {
        let rows = "J1,14,E14,rail pressure signal,BU/WH,0.5,,F1,remove,680\nX3,2,E14,,BU/WH,0.5,,,keep,\n";
        let words: Vec<String> =
            ["OUT ____ mm", "rail pressure signal", "J1 / 14", "________"].map(str::to_owned).into();
        let (label, wording) = (label(rows, Purpose::Work), wording(Purpose::Work));
        let said = Said { words: &words, payload: None };
        assert_eq!(untrue_words(said, &label, &wording), []);
        let filled: Vec<String> = filled(said, &label, &wording).iter().map(ToString::to_string).collect();
        assert_eq!(filled[0], "mark: `OUT ____ mm` -> `OUT 680 mm`");
        assert!(fills("X3 / 2 + ________", "X3 / 2 + J9 / 1") && !fills("X3 / 2 + ________", "X3 / 4 + J9 / 1"));
        assert!(!fills("X3 / 2", "X3 / 2") && fills("________", "anything") && !fills("____ mm", "680 in"));
    }

    #[test]
    fn symbols_are_compared_by_what_they_lead_to() {
        let base =
            |address: &str| Payload::Link { base: crate::codes::LinkBase::from_typed(address).expect("an address") };
        let mut own = label(ROWS, Purpose::Work);
        let in_words = own.payload.clone();
        let code = own.name.code().expect("it has one");
        let wording = wording(Purpose::Work);
        let own_link = base("http://hen.local").text(code, own.name.letters(), &[], 0);
        own.payload = Some(own_link.clone());
        let compared = |payload: &str, label: &Label| {
            let said = Said { words: &[], payload: Some(payload) };
            match changed_symbol(said, label, &wording, || in_words.clone()) {
                None => "same",
                Some(SymbolChange::Other(_)) => "other",
                Some(SymbolChange::Untrue(_)) => "untrue",
            }
        };
        let words = in_words.clone().expect("it has words");
        for (payload, answer) in [
            (own_link.as_str(), "same"),
            (code.as_str(), "same"),
            ("HTTP://OLD.LOCAL/9C3M/A", "untrue"),
            (words.as_str(), "other"),
            ("7KF4 A OIL PRESSURE J1/14", "untrue"),
        ] {
            assert_eq!(compared(payload, &own), answer, "{payload}");
        }
        let plain = Label { payload: Some(words.clone()), ..own.clone() };
        assert_eq!(compared(&words, &plain), "same");
        assert_eq!(compared(&own_link, &plain), "other", "somebody may still answer there");
    }
}
