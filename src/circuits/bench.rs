//! Words typed at the bench -> what was done or found: `cut sealed`, `colour BN/WH "seal is brittle"`.
//!
//! A word or a language is added by adding lines to `templates/words/steps.csv` and `findings.csv`.

use std::sync::LazyLock;

use super::words::Words;
use crate::base::conductor::NotASize;
use crate::base::nearest::did_you_mean;
use crate::base::{Conductor, Finding, Place, Step, WireColour};

static STEPS: LazyLock<Words<Step>> =
    LazyLock::new(|| Words::from_table(include_str!("../../templates/words/steps.csv"), Step::from_word));

static FINDINGS: LazyLock<Words<Finding>> =
    LazyLock::new(|| Words::from_table(include_str!("../../templates/words/findings.csv"), Finding::from_word));

/// As many words a word of the tables has at most: `not listed`.
const LONGEST: usize = 2;

/// Steps, each once, in the order typed, and a remark.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Steps {
    /// What was done.
    pub steps: Vec<Step>,
    /// A remark; empty when there is none.
    pub remark: String,
}

/// A finding with what it names and a remark.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// What was found.
    pub finding: Finding,
    /// The colour, size or place that was found; empty where the finding names none.
    pub value: String,
    /// A remark; empty when there is none.
    pub remark: String,
}

/// Why words of the bench cannot be followed, with what to type instead.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{what}")]
pub struct NotAWord {
    /// What is wrong.
    pub what: String,
    /// What to type instead.
    pub remedy: String,
}

/// Reads steps, as many as there are, then perhaps a remark: one argument of several words, as quotes make it, or one last word
/// that is near to no step.
///
/// # Errors
/// When there is no step, or a single word is nearly one: a slip must not become a remark.
pub fn steps(words: &[String]) -> Result<Steps, NotAWord> {
    let (mut steps, mut remark) = (Vec::new(), Vec::new());
    let mut at = 0;
    while at < words.len() {
        let word = words[at].trim_matches([',', ';', ':']);
        let taken = (1..=LONGEST.min(words.len() - at)).rev().find_map(|count| {
            let typed = words[at..at + count].join(" ");
            Some((count, STEPS.meaning(typed.trim_matches([',', ';', ':']))?))
        });
        let parts: Vec<&str> = word.split([',', '+']).map(str::trim).filter(|part| !part.is_empty()).collect();
        let listed: Option<Vec<Step>> = parts.iter().map(|part| STEPS.meaning(part)).collect();
        if let Some((count, step)) = taken {
            steps.push(step);
            at += count;
            continue;
        } else if let Some(several) = listed.filter(|_| parts.len() > 1) {
            steps.extend(several);
        } else if words[at].contains(char::is_whitespace) || (at + 1 == words.len() && is_remark(&steps, word)) {
            remark.push(words[at].trim());
        } else if !(word.is_empty() || ["and", "und", "+", "&"].contains(&word)) {
            return Err(not_a_step(word));
        }
        at += 1;
    }
    if steps.is_empty() {
        return Err(NotAWord { what: "no step is named".to_owned(), remedy: choose_a_step() });
    }
    let mut distinct: Vec<Step> = Vec::new();
    for step in steps {
        if !distinct.contains(&step) {
            distinct.push(step);
        }
    }
    Ok(Steps { steps: distinct, remark: remark.join(" ") })
}

/// Whether a single word that is the last one behind steps is a remark: the shell takes the quotes of one, so it is a word, and near
/// to no step.
fn is_remark(steps: &[Step], word: &str) -> bool {
    !steps.is_empty() && word.chars().any(char::is_alphanumeric) && STEPS.nearest(word).is_none()
}

/// Reads a finding: its word, the colour, size or place it names, then a remark; or anything else in words.
///
/// # Errors
/// When nothing is said, a value is missing or cannot be read, or a single word is nearly a finding.
pub fn finding(words: &[String]) -> Result<Found, NotAWord> {
    let taken = (1..=LONGEST.min(words.len())).rev().find_map(|count| {
        let typed = words[..count].join(" ");
        Some((count, FINDINGS.meaning(typed.trim_matches([',', ';', ':']))?))
    });
    let Some((count, finding)) = taken else {
        let remark = words.join(" ").trim().to_owned();
        let first = words.first().map(|word| word.trim_matches([',', ';', ':'])).unwrap_or_default();
        if remark.is_empty() {
            return Err(NotAWord { what: "nothing is said to be found".to_owned(), remedy: choose_a_finding() });
        }
        if let Some(near) = FINDINGS.nearest(first).filter(|_| !first.contains(char::is_whitespace)) {
            let what = format!("`{first}` is no finding: {}", did_you_mean(near));
            let remedy = "put other words in quotes, or after `text`".to_owned();
            return Err(NotAWord { what, remedy });
        }
        return Ok(Found { finding: Finding::Other, value: String::new(), remark });
    };
    let rest = &words[count..];
    let (value, left) = if finding.has_value() { value(finding, rest)? } else { (String::new(), rest) };
    let remark = left.join(" ").trim().trim_start_matches([',', ';', ':']).trim().to_owned();
    Ok(Found { finding, value, remark })
}

/// The value of a finding, and the words behind it.
fn value(finding: Finding, words: &[String]) -> Result<(String, &[String]), NotAWord> {
    let joined = |count: usize| words.get(..count).map(|words| words.join(" "));
    let clean = |text: String| text.trim().trim_matches([',', ';', ':']).to_owned();
    let missing = |what: &str, example: &str| NotAWord {
        what: format!("which {what} was found is not said"),
        remedy: format!("type it behind: `found {finding} {example}`"),
    };
    match finding {
        Finding::Colour => {
            let is_known = |text: &str| WireColour::from_cell(text).is_some_and(|colour| colour.base().is_some());
            if let Some(pair) = joined(2).map(|pair| clean(pair.replace(' ', "/"))).filter(|pair| is_known(pair)) {
                return Ok((pair, &words[2..]));
            }
            let one = joined(1).map(clean).filter(|one| !one.is_empty());
            one.map(|one| (one, &words[1..])).ok_or_else(|| missing("colour", "BN/WH"))
        }
        Finding::Size => {
            let size = |count| joined(count).map(clean).filter(|text| Conductor::from_cell(text, None).is_ok());
            if let Some((size, count)) = [2, 1].into_iter().find_map(|count| Some((size(count)?, count))) {
                return Ok((size, &words[count..]));
            }
            let typed = joined(1).map(clean).filter(|one| !one.is_empty()).ok_or_else(|| missing("size", "0.75"))?;
            let remedy = match Conductor::from_cell(&typed, None) {
                Err(NotASize::AmbiguousUnit) => format!("write `\"{typed} AWG\"` or `\"{typed} mm²\"`"),
                _ => "write a cross-section or a gauge: `0.75`, `\"18 AWG\"`".to_owned(),
            };
            Err(NotAWord { what: format!("`{typed}` is no conductor size"), remedy })
        }
        _ => {
            let place = joined(1).map(clean).and_then(|text| Place::from_typed(&text));
            place.map(|place| (place.to_string(), &words[1..])).ok_or_else(|| missing("place", "J1/15"))
        }
    }
}

fn not_a_step(word: &str) -> NotAWord {
    let remedy = STEPS.nearest(word).map_or_else(|| choose_a_step() + ";", did_you_mean);
    NotAWord { what: format!("`{word}` is no step"), remedy: format!("{remedy} a remark stands in quotes") }
}

fn choose_a_step() -> String {
    format!("choose from {}", Step::ALL.map(|step| format!("`{step}`")).join(", "))
}

fn choose_a_finding() -> String {
    let words = Finding::ALL.iter().filter(|finding| **finding != Finding::Other);
    let words: Vec<String> = words.map(|finding| format!("`{finding}`")).collect();
    format!("choose from {}, or say it in your own words", words.join(", "))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn typed(line: &str) -> Vec<String> {
        line.split(' ').map(|word| word.replace('_', " ")).collect()
    }

    #[test]
    fn every_line_of_the_tables_counts() {
        let lines = |table: &str| table.lines().count() - 1;
        assert_eq!(STEPS.words.len(), lines(include_str!("../../templates/words/steps.csv")));
        assert_eq!(FINDINGS.words.len(), lines(include_str!("../../templates/words/findings.csv")));
        let words = STEPS.words.iter().chain(&FINDINGS.words);
        assert!(words.clone().all(|word| word.split(' ').count() <= LONGEST && *word == word.to_lowercase()));
        assert!(Step::ALL.iter().all(|step| STEPS.meaning(step.word()) == Some(*step)));
        let named = Finding::ALL.iter().filter(|finding| **finding != Finding::Other);
        assert!(named.clone().all(|finding| FINDINGS.meaning(finding.word()) == Some(*finding)));
    }

    #[test]
    fn steps_as_people_type_them() {
        let read = |line: &str| steps(&typed(line)).map(|read| (read.steps, read.remark));
        let none = String::new();
        assert_eq!(read("cut"), Ok((vec![Step::Cut], none.clone())));
        for line in [
            "cut sealed",
            "Cut, sealed",
            "cut,sealed",
            "cut + sealed",
            "geschnitten und abgedichtet",
            "CUT cut_off sealed",
        ] {
            assert_eq!(read(line), Ok((vec![Step::Cut, Step::Sealed], none.clone())), "{line}");
        }
        assert_eq!(read("cut off"), Ok((vec![Step::Cut], none)));
        assert_eq!(read("cut sealed_with_a_plug"), Ok((vec![Step::Cut], "sealed with a plug".to_owned())));
        assert!(read("ctu").is_err_and(|why| why.remedy.contains("did you mean `cut`")));
        assert_eq!(read("cut brittle"), Ok((vec![Step::Cut], "brittle".to_owned())));
        assert!(read("cut saeled").is_err_and(|why| why.remedy.contains("did you mean `sealed`")));
        assert!(read("cut brittle sealed").is_err_and(|why| why.what.contains("`brittle` is no step")));
        assert!(read("at_last").is_err_and(|why| why.remedy.contains("`terminated`")));
    }

    #[test]
    fn findings_as_people_type_them() {
        let read = |line: &str| finding(&typed(line)).map(|read| (read.finding, read.value, read.remark));
        let found = |finding, value: &str, remark: &str| Ok((finding, value.to_owned(), remark.to_owned()));
        assert_eq!(read("empty"), found(Finding::Empty, "", ""));
        assert_eq!(read("Kammer leer"), found(Finding::Empty, "", ""));
        assert_eq!(read("colour BN/WH"), found(Finding::Colour, "BN/WH", ""));
        assert_eq!(read("other color: brown white faded"), found(Finding::Colour, "brown/white", "faded"));
        assert_eq!(read("colour brown faded"), found(Finding::Colour, "brown", "faded"));
        assert_eq!(read("size 18 AWG stiff"), found(Finding::Size, "18 AWG", "stiff"));
        assert_eq!(read("size 0,75"), found(Finding::Size, "0,75", ""));
        assert_eq!(read("place J1/15 swapped with 14"), found(Finding::Place, "J1/15", "swapped with 14"));
        assert_eq!(read("damaged, seal torn"), found(Finding::Damaged, "", "seal torn"));
        assert_eq!(read("water in the plug"), found(Finding::Other, "", "water in the plug"));
        assert!(read("size 16").is_err_and(|why| why.remedy.contains("16 AWG")));
        assert!(read("colour").is_err_and(|why| why.what.contains("which colour")));
        assert!(read("emtpy").is_err_and(|why| why.what.contains("did you mean `empty`")));
        assert_eq!(read("emtpy_it_was"), found(Finding::Other, "", "emtpy it was"));
    }

    proptest! {
        #[test]
        fn any_words_are_answered(words in prop::collection::vec(".{0,12}", 0..5)) {
            let _ = (steps(&words), finding(&words));
        }
    }
}
