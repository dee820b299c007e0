//! Whether a scanned tag is of this job: the text in its symbol comes in, what speaks against it goes out.
//!
//! Every job issues the same codes in the same order, so a code that is known here says nothing of where the tag comes from.
//! What stands beside the code does: the address of a link, or the words. A tag that carries its code alone cannot be told
//! from that of another job; nor can the tag of a connector that says no more than its name.

use std::collections::{HashMap, HashSet};

use rayon::iter::{IntoParallelIterator, ParallelIterator};

use crate::base::{ConnectorId, EndLetter, Purpose, TagCode};
use crate::circuits::Circuits;
use crate::codes::link::{self, Payload};
use crate::codes::{self, Issued};
use crate::labels::{self, Doubled, Reach, Selected, along, connector};

/// What the symbols of this job say, and said.
#[derive(Debug, Default)]
pub struct TagTexts {
    /// The address that its links begin with.
    base: Option<String>,
    /// What the tag of an end says in words; two texts where it may share its tag.
    words: HashMap<(TagCode, EndLetter), Vec<String>>,
    /// What marks along its wires say in words.
    between: HashMap<TagCode, Vec<String>>,
    /// The connectors that lists name, by their names in upper case, each with what its tag says in words.
    connectors: HashMap<String, (ConnectorId, String)>,
    /// What was ever printed, as it is compared.
    printed: HashSet<String>,
}

impl TagTexts {
    /// From circuits and codes, what symbols carry now, and the texts of all symbols that were printed.
    pub fn new(
        circuits: &Circuits,
        issued: &Issued,
        records: &[codes::Record],
        payload: &Payload,
        printed: impl IntoIterator<Item = String>,
    ) -> Self {
        let base = match payload {
            Payload::Link { base } => Some(base.to_string()),
            Payload::Text | Payload::Code => None,
        };
        let printed = printed.into_iter().map(|text| compared(&text)).collect();
        let mut texts = Self { base, printed, ..Self::default() };
        texts.connectors = circuits
            .by_connector()
            .map(|(id, _)| {
                let says = compared(&connector::symbol_text(circuits, &Payload::Text, id));
                (id.as_str().to_uppercase(), (id.clone(), says))
            })
            .collect();
        texts.add(circuits, issued, |_, _| true);
        for (other, ends) in other_codes(issued, records) {
            texts.add(circuits, &other, |circuit, end| ends.contains(&(circuit, end)));
        }
        texts
    }

    /// Adds what every tag says that carries these codes and letters, and all of whose ends are named by them.
    fn add(&mut self, circuits: &Circuits, issued: &Issued, is_named: impl Fn(usize, usize) -> bool) {
        // Nearly all ends have one tag either way.
        let mut seen: HashSet<(usize, std::ops::Range<usize>)> = HashSet::new();
        let mut each: Vec<Selected> = [Doubled::Together, Doubled::Apart]
            .into_iter()
            .flat_map(|doubled| labels::select(circuits, Purpose::Work, Reach::All, doubled))
            .collect();
        each.retain(|selected| {
            let is_new = seen.insert((selected.circuit, selected.ends.clone()));
            is_new && selected.ends.clone().all(|end| is_named(selected.circuit, end))
        });
        let says = |selected: Selected| -> Option<(TagCode, Vec<EndLetter>, String)> {
            let label = labels::label(circuits, issued, &Payload::Text, Purpose::Work, &selected);
            Some((label.name.code()?, label.name.letters().to_vec(), label.payload.as_deref().map(compared)?))
        };
        let each: Vec<_> = each.into_par_iter().filter_map(says).collect();
        for (code, letters, text) in each {
            for letter in letters {
                let known = self.words.entry((code, letter)).or_default();
                if !known.contains(&text) {
                    known.push(text.clone());
                }
            }
        }
        for wire in along::wires(circuits).filter(|wire| wire.ends().all(|end| is_named(wire.circuit, end))) {
            let text = compared(&along::mark_text(circuits, issued, &Payload::Text, wire));
            self.between.entry(issued.circuits[wire.circuit].code).or_default().push(text);
        }
    }

    /// The connector of this name, in whatever case, as the lists write it.
    pub fn listed_connector(&self, name: &str) -> Option<&ConnectorId> {
        self.connectors.get(&name.to_uppercase()).map(|(id, _)| id)
    }

    /// What speaks against the tag being that of a connector of this job; `None` when nothing does.
    pub fn connector_doubt(&self, scanned: &str, connector: &str) -> Option<String> {
        let text = compared(scanned);
        if text.contains("://") {
            let base = text.rsplitn(3, '/').nth(2).unwrap_or(&text);
            return self.doubt_of_address(&text, base);
        }
        let (_, wanted) = self.connectors.get(&connector.to_uppercase())?;
        let is_name_alone = text.trim_end_matches(':') == connector.to_uppercase();
        (text != *wanted && !is_name_alone).then(|| {
            let or_another = if self.printed.contains(&text) { "" } else { ", or another job's tag" };
            format!("the tag says `{text}`, that of this connector would say `{wanted}`: it is stale{or_another}")
        })
    }

    /// What speaks against the tag being one of this job whose record is up to date; `None` when nothing does, as with a
    /// code alone.
    pub fn doubt(&self, scanned: &str, code: TagCode, letter: Option<EndLetter>) -> Option<String> {
        let text = compared(scanned);
        if let Some(base) = address(&text, code, letter) {
            return self.doubt_of_address(&text, base);
        }
        if is_code_alone(&text) {
            return None;
        }
        let wanted = match letter {
            None if link::names_mark(&text) => self.between.get(&code),
            letter => self.words.get(&(code, letter.unwrap_or(EndLetter::FIRST))),
        };
        let was_printed = self.printed.contains(&text);
        match wanted {
            Some(wanted) if wanted.contains(&text) => None,
            Some(wanted) => Some(format!(
                "the tag says `{text}`, this record would say `{}`: it is stale{}",
                wanted.iter().find(|wanted| lettering(wanted) == lettering(&text)).unwrap_or(&wanted[0]),
                if was_printed { "" } else { ", or another job's tag" }
            )),
            None if was_printed => None,
            None => Some(format!(
                "the tag says `{text}`, and the lists have nothing to compare it with: it may be another job's tag"
            )),
        }
    }

    /// What speaks against the tag being a blank of this job; `None` when nothing does: a blank says its code and no more.
    pub fn doubt_of_blank(&self, scanned: &str, code: TagCode, letter: Option<EndLetter>) -> Option<String> {
        let text = compared(scanned);
        let was_printed = self.printed.contains(&text);
        match address(&text, code, letter) {
            Some(base) => self.doubt_of_address(&text, base),
            None if letter.is_none() && is_code_alone(&text) || was_printed => None,
            None => Some(format!("the tag says `{text}`, a blank would say `{code}`: it may be another job's tag")),
        }
    }

    fn doubt_of_address(&self, text: &str, base: &str) -> Option<String> {
        if self.base.as_deref() == Some(base) || self.printed.contains(text) {
            return None;
        }
        let own = self.base.as_ref().map_or_else(
            || "the tags of this job carry no address".to_owned(),
            |own| format!("the tags of this job lead to `{own}`"),
        );
        Some(format!("this tag leads to `{base}`, {own}: it may be another job's tag"))
    }
}

/// What tags say that carry another code of their record than the printed one: for each number of such codes, all codes and
/// letters with that one in its place, and the ends, by circuit and end, that it names.
fn other_codes(issued: &Issued, records: &[codes::Record]) -> Vec<(Issued, HashSet<(usize, usize)>)> {
    let records: HashMap<TagCode, &codes::Record> = records.iter().map(|record| (record.code, record)).collect();
    let most = issued.circuits.iter().map(|circuit| circuit.also.len()).max().unwrap_or(0);
    let mut all = Vec::new();
    for number in 0..most {
        let (mut other, mut named) = (issued.clone(), HashSet::new());
        for (index, circuit) in other.circuits.iter_mut().enumerate() {
            let (Some(&code), Some(record)) = (circuit.also.get(number), records.get(&circuit.code)) else { continue };
            for (end, letter) in circuit.letters.iter_mut().enumerate() {
                let recorded = record.ends.iter().find(|recorded| recorded.letter == *letter);
                let mark = recorded.and_then(|recorded| recorded.also.iter().find(|(other, _)| *other == code));
                if let Some((_, other)) = mark {
                    *letter = *other;
                    named.insert((index, end));
                }
            }
            circuit.code = code;
        }
        all.push((other, named));
    }
    all
}

/// A text as it is compared: upper case, every white space alike; a link without what phones and servers add.
fn compared(text: &str) -> String {
    let upper = text.split_whitespace().collect::<Vec<_>>().join(" ").to_uppercase();
    match upper.contains("://") {
        true => upper.split(['?', '#']).next().unwrap_or_default().trim_end_matches('/').to_owned(),
        false => upper,
    }
}

/// What stands before code and letter in a link.
fn address<'t>(text: &'t str, code: TagCode, letter: Option<EndLetter>) -> Option<&'t str> {
    if !text.contains("://") {
        return None;
    }
    let without = |rest: &'t str, last: &str| rest.strip_suffix(last).map(|rest| rest.trim_end_matches('/'));
    let rest = letter.map_or(Some(text), |letter| without(text, &letter.to_string()));
    Some(rest.and_then(|rest| without(rest, code.as_str())).unwrap_or(text))
}

/// The second word: the letters of a tag.
fn lettering(text: &str) -> Option<&str> {
    text.split_whitespace().nth(1)
}

/// Whether there is nothing but a code and its letters.
fn is_code_alone(text: &str) -> bool {
    let mut words = text.split(' ');
    let first = words.next().unwrap_or_default();
    let Ok((_, letter)) = TagCode::from_typed_with_letter(first) else {
        return TagCode::from_typed_with_letter(text).is_ok();
    };
    let rest: Vec<&str> = words.collect();
    let are_letters = |word: &str| word.split('+').all(|letter| EndLetter::from_typed(letter).is_some());
    let are_letters = |word: &str| are_letters(word) || link::names_mark(text);
    match rest[..] {
        [] => true,
        [letters] => letter.is_none() && are_letters(letters),
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::codes::Register;
    use crate::codes::link::LinkBase;
    use crate::codes::samples::{self, NOW};

    fn code(typed: &str) -> TagCode {
        TagCode::from_typed(typed).expect("a code")
    }

    fn link() -> Payload {
        Payload::Link { base: LinkBase::from_typed("http://marshhen.local:7117").expect("an address") }
    }

    fn harness() -> Circuits {
        let mut pump = samples::circuit("W12", &["J1/14", "X3/2"]);
        pump.function = Some("bilge pump feed".to_owned());
        samples::circuits([pump, samples::circuit("W13", &["J2/1", "J2/1"])])
    }

    /// W12 is FQGB, W13 RTCQ.
    fn texts(payload: &Payload, printed: &[&str]) -> TagTexts {
        let mut register = Register::in_memory().expect("in memory");
        let issued = register.issue(&harness(), NOW).expect("issues");
        let records = register.records().expect("reads");
        TagTexts::new(&harness(), &issued, &records, payload, printed.iter().map(|text| (*text).to_owned()))
    }

    fn doubt(texts: &TagTexts, scanned: &str) -> Option<String> {
        let (code, letter) = link::from_scanned(scanned).and_then(link::Meaning::circuit).expect("a code");
        texts.doubt(scanned, code, letter)
    }

    #[test]
    fn an_address_tells_the_job() {
        let texts = texts(&link(), &["HTTP://OLD.EXAMPLE/FQGB/A"]);
        for own in [
            "HTTP://MARSHHEN.LOCAL:7117/FQGB/A",
            "http://marshhen.local:7117/fqgb/a/?seen=1",
            "HTTP://MARSHHEN.LOCAL:7117/FQGB",
            // The address was another one once.
            "http://old.example/FQGB/A",
        ] {
            assert_eq!(doubt(&texts, own), None, "{own}");
        }
        assert_eq!(
            doubt(&texts, "HTTP://BENCH.EXAMPLE/BOATS/FQGB/A").as_deref(),
            Some(
                "this tag leads to `HTTP://BENCH.EXAMPLE/BOATS`, the tags of this job lead to \
                 `HTTP://MARSHHEN.LOCAL:7117`: it may be another job's tag"
            )
        );
        let none = super::tests::texts(&Payload::Code, &[]);
        assert!(doubt(&none, "HTTP://BENCH.EXAMPLE/FQGB/A").is_some_and(|why| why.contains("carry no address")));
    }

    #[test]
    fn words_tell_the_job_and_a_code_alone_does_not() {
        for payload in [link(), Payload::Text, Payload::Code] {
            let texts = texts(&payload, &["FQGB A OLD PUMP J1/14-X3/2", "8GMK A GONE"]);
            // The far ends are not known in this sample, so one place stands there.
            for own in ["FQGB A BILGE PUMP FEED J1/14", "fqgb b bilge pump feed  x3/2", "RTCQ A+B J2/1", "RTCQ B J2/1"]
            {
                assert_eq!(doubt(&texts, own), None, "{own}");
            }
            for bare in ["FQGB", "fqgb a", "FQGB/B", "RTCQ A+B", "F Q G B"] {
                assert_eq!(doubt(&texts, bare), None, "{bare}");
            }
            assert_eq!(
                doubt(&texts, "FQGB A HORN D1/A1").as_deref(),
                Some(
                    "the tag says `FQGB A HORN D1/A1`, this record would say `FQGB A BILGE PUMP FEED J1/14`: it is \
                     stale, or another job's tag"
                )
            );
            let stale = doubt(&texts, "FQGB A OLD PUMP J1/14-X3/2").expect("it says something else");
            assert!(stale.ends_with(": it is stale"), "{stale}");
            // Of what the lists no longer have, only the journal of print runs knows.
            assert_eq!(doubt(&texts, "8GMK A GONE"), None);
            assert!(doubt(&texts, "8GMK A HORN").is_some_and(|why| why.contains("nothing to compare it with")));
        }
    }

    #[test]
    fn a_joined_code_is_compared_by_its_own() {
        let mut register = Register::in_memory().expect("in memory");
        register.issue(&harness(), NOW).expect("issues");
        register.join(code("RTCQ"), code("FQGB"), NOW).expect("joins");
        let issued = register.preview(&harness()).expect("previews");
        let records = register.records().expect("reads");
        let texts = TagTexts::new(&harness(), &issued, &records, &Payload::Text, []);
        assert_eq!(doubt(&texts, "FQGB A BILGE PUMP FEED J1/14"), None);
        assert_eq!(doubt(&texts, "RTCQ A+B J2/1"), None);
        for false_one in ["FQGB B BILGE PUMP FEED J1/14", "FQGB A+B J2/1", "RTCQ A BILGE PUMP FEED J1/14"] {
            assert!(doubt(&texts, false_one).is_some(), "{false_one}");
        }
    }
}
