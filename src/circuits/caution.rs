//! What plain words say of danger and of protection: restraint, high voltage, protective earth, a capped end. The words stand in
//! `templates/words/cautions.csv`; one is added by adding a line.
//!
//! Danger comes from the supply column or from words, never from the colour of the insulation: the words of the function are of
//! the whole circuit, those of branch and note of the wire whose end has them. Words only ever make it graver: the note of a list
//! counts here also where another was written beside it.

use std::borrow::Cow;
use std::collections::HashMap;
use std::sync::LazyLock;

use super::{Circuit, Circuits, Connector, End, FarEnd, Supply};
use crate::base::{Colour, ConnectorId, WireColour};

/// What is said of every restraint circuit, however short a place for words is.
pub const NEVER: &str = "never cut, probe or tap into; disarm and wait as the maker's manual says";

/// What words can say.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum Meaning {
    Restraint,
    HighVoltage,
    ProtectiveEarth,
    Cap,
}

const MEANINGS: [(&str, Meaning); 4] = [
    ("restraint", Meaning::Restraint),
    ("high-voltage", Meaning::HighVoltage),
    ("protective earth", Meaning::ProtectiveEarth),
    ("cap", Meaning::Cap),
];

/// Where in a text the words count.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Where {
    /// Also as part of a longer word.
    Anywhere,
    /// Where a word begins with them.
    Start,
    /// Only when they stand alone.
    Alone,
}

/// Words that say something.
struct Phrase {
    meaning: Meaning,
    place: Where,
    words: &'static str,
}

/// All of them, by their first two bytes: few places of a text begin like any of them.
struct Phrases {
    by_start: HashMap<[u8; 2], Vec<Phrase>>,
    starts: Vec<bool>,
}

const fn number_of(start: [u8; 2]) -> usize {
    (start[0] as usize) << 8 | start[1] as usize
}

static PHRASES: LazyLock<Phrases> = LazyLock::new(|| {
    let mut phrases = Phrases { by_start: HashMap::new(), starts: vec![false; 1 << 16] };
    for line in include_str!("../../templates/words/cautions.csv").lines().skip(1) {
        let mut cells = line.split(',');
        let (Some(meaning), Some(_language), Some(place), Some(words)) =
            (cells.next(), cells.next(), cells.next(), cells.next())
        else {
            continue;
        };
        let place = match place {
            "anywhere" => Where::Anywhere,
            "start" => Where::Start,
            _ => Where::Alone,
        };
        let Some((_, meaning)) = MEANINGS.iter().find(|(word, _)| *word == meaning) else { continue };
        if let Some(start) = words.as_bytes().first_chunk() {
            phrases.starts[number_of(*start)] = true;
            phrases.by_start.entry(*start).or_default().push(Phrase { meaning: *meaning, place, words });
        }
    }
    phrases
});

/// Whether any words of a text have one of these meanings.
fn says(text: &str, meant: &[Meaning]) -> Option<Meaning> {
    let is_lower = text.bytes().all(|byte| byte.is_ascii() && !byte.is_ascii_uppercase());
    let lower = if is_lower { Cow::Borrowed(text) } else { Cow::Owned(text.to_lowercase()) };
    let (bytes, phrases) = (lower.as_bytes(), &*PHRASES);
    let mut said: Option<Meaning> = None;
    for (at, pair) in bytes.windows(2).enumerate() {
        let start = [pair[0], pair[1]];
        if !phrases.starts[number_of(start)] {
            continue;
        }
        let Some(here) = phrases.by_start.get(&start) else { continue };
        let begins = || !lower[..at].ends_with(char::is_alphanumeric);
        let ends = |words: &str| !lower[at + words.len()..].starts_with(char::is_alphanumeric);
        let holds = |phrase: &&Phrase| {
            bytes[at..].starts_with(phrase.words.as_bytes())
                && meant.contains(&phrase.meaning)
                && match phrase.place {
                    Where::Anywhere => true,
                    Where::Start => begins(),
                    Where::Alone => begins() && ends(phrase.words),
                }
        };
        // The gravest stands first in what is asked for.
        let rank = |meaning: Meaning| meant.iter().position(|one| *one == meaning).unwrap_or(meant.len());
        for phrase in here.iter().filter(holds) {
            if said.is_none_or(|before| rank(phrase.meaning) < rank(before)) {
                said = Some(phrase.meaning);
            }
        }
    }
    said
}

/// High voltage or restraint, where plain words say so.
pub fn said_by(words: &str) -> Option<Supply> {
    match says(words, &[Meaning::HighVoltage, Meaning::Restraint]) {
        Some(Meaning::HighVoltage) => Some(Supply::HighVoltage),
        Some(_) => Some(Supply::Restraint),
        None => None,
    }
}

/// Whether words speak of a protective conductor.
pub(super) fn speaks_of_protective_earth(words: &str) -> bool {
    says(words, &[Meaning::ProtectiveEarth]).is_some()
}

/// Whether words speak of a cap or of insulating an end.
pub fn speaks_of_a_cap(words: &str) -> bool {
    says(words, &[Meaning::Cap]).is_some()
}

/// How a circuit counts for safety: its supply, or what its function's words say where they are graver.
pub fn graver_supply(circuit: &Circuit) -> Option<Supply> {
    graver(circuit.supply, circuit.function.as_deref())
}

/// How the wire of an end counts for safety: as its circuit, or as branch or note of either of its ends say where they are graver.
pub fn graver_supply_at(circuit: &Circuit, end: usize) -> Option<Supply> {
    let far = match circuit.far_end(end) {
        FarEnd::End(far) => Some(far),
        FarEnd::ImpliedSplice | FarEnd::Unknown => None,
    };
    let ends = [Some(end), far].into_iter().flatten().filter_map(|end| circuit.ends().get(end));
    let words = ends.flat_map(|end: &End| [end.branch.as_deref(), end.note.as_deref(), end.note_in_lists()]);
    words.fold(graver_supply(circuit), graver)
}

/// How the wire of an end counts for safety, whatever tells it: as [`graver_supply_at`], or as the short name of the connector at
/// either of its ends says where that is graver. `None` also where there is no such end.
pub fn danger_at(circuits: &Circuits, (circuit, end): (usize, usize)) -> Option<Supply> {
    danger_of(circuits.all().get(circuit)?, end, |id| circuits.connector(id))
}

/// The same of an end of a circuit, where connectors are looked up otherwise.
pub fn danger_of<'c>(
    circuit: &Circuit,
    end: usize,
    connector: impl Fn(&ConnectorId) -> Option<&'c Connector>,
) -> Option<Supply> {
    let far = match circuit.far_end(end) {
        FarEnd::End(far) => Some(far),
        FarEnd::ImpliedSplice | FarEnd::Unknown => None,
    };
    let ends = [Some(end), far].into_iter().flatten().filter_map(|end| circuit.ends().get(end));
    let connectors = ends.filter_map(|end| connector(&end.place.connector));
    connectors.map(|connector| connector.short_name.as_deref()).fold(graver_supply_at(circuit, end), graver)
}

/// A supply, or what words say where they are graver.
fn graver(supply: Option<Supply>, words: Option<&str>) -> Option<Supply> {
    match (supply, words.and_then(said_by)) {
        (Some(Supply::HighVoltage), _) | (_, Some(Supply::HighVoltage)) => Some(Supply::HighVoltage),
        (_, Some(said)) => Some(said),
        (supply, None) => supply,
    }
}

/// From this cross-section on a cable counts as heavy, in mm² (common practice: smaller ones carry signals and lights).
const HEAVY: f64 = 4.0;

/// Whether a wire is heavy and has an orange jacket, as cables of high voltage have in vehicles. The colour sets no mark: it only
/// gives reason to stop until the maker's diagram says what it is.
pub fn is_heavy_orange(end: &End) -> bool {
    let is_orange = end.colour.as_ref().and_then(WireColour::base) == Some(Colour::Orange);
    let is_heavy = end.conductor.as_ref().is_some_and(|conductor| conductor.size().square_millimetres() >= HEAVY);
    is_orange && is_heavy
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn every_line_of_the_table_is_read() {
        let lines = include_str!("../../templates/words/cautions.csv").lines().count() - 1;
        let phrases: usize = PHRASES.by_start.values().map(Vec::len).sum();
        assert_eq!(phrases, lines);
        let words = PHRASES.by_start.values().flatten().map(|phrase| phrase.words);
        assert!(words.into_iter().all(|words| words == words.to_lowercase() && words.as_bytes()[0].is_ascii()));
    }

    #[test]
    fn danger_in_english_and_german() {
        for words in ["Airbag left", "SRS warning lamp", "Gurtstraffer +", "RÜCKHALTESYSTEM", "belt tensioner"] {
            assert_eq!(said_by(words), Some(Supply::Restraint), "{words}");
        }
        for words in ["HV interlock", "Hochvolt-Batterie", "high voltage, airbag", "airbag, high voltage"] {
            assert_eq!(said_by(words), Some(Supply::HighVoltage), "{words}");
        }
        for words in ["", "h", "srsx", "hvac blower", "rail pressure", "bagged air"] {
            assert_eq!(said_by(words), None, "{words}");
        }
    }

    #[test]
    fn caps_and_protective_earth() {
        for note in ["capped", "cap it", "insulate end", "Endkappe drauf", "isoliert", "Heat-shrink over it"] {
            assert!(speaks_of_a_cap(note), "{note}");
        }
        for note in ["capacitor", "uninsulated", "kappen", "für das Boot", "escape", ""] {
            assert!(!speaks_of_a_cap(note), "{note}");
        }
        for words in ["PE", "protective earth", "Schutzleiter", "bonding of the tank", "Potentialausgleich"] {
            assert!(speaks_of_protective_earth(words), "{words}");
        }
        for words in ["pedal", "PEN", "sensor ground", "Herde"] {
            assert!(!speaks_of_protective_earth(words), "{words}");
        }
    }

    proptest! {
        #[test]
        fn any_words_are_answered(words in ".{0,60}") {
            let _ = (said_by(&words), speaks_of_a_cap(&words), speaks_of_protective_earth(&words));
        }
    }
}
