//! A tag as the journal has it -> a label and a wording that say the same again, for ends that no list has any more.
//!
//! The journal keeps lines, not what they tell. That is guessed where it matters for how a line is set: here and there with their
//! small words, the function, the colours of the wire. The words themselves are never touched.

use super::caution;
use super::end::spaced;
use super::field::Field;
use super::label::{Label, TagName};
use super::line::{Look, Worth};
use super::wording::{LineRule, Shorten, SymbolWish, Unknown, Wording};
use crate::base::{Place, Purpose, WireColour};

/// What a tag said when it was printed, with the wording that says it again.
#[derive(Clone, Debug, PartialEq)]
pub struct AsSaid {
    /// All that it said.
    pub label: Label,
    /// Its lines, each for itself.
    pub wording: Wording,
}

/// What lines of which nobody knows what they tell are called: each needs a field of its own.
const UNKNOWN: [Field; 11] = [
    Field::Note,
    Field::Circuit,
    Field::Branch,
    Field::Fuse,
    Field::Partner,
    Field::Length,
    Field::Supply,
    Field::Size,
    Field::Colour,
    Field::Wires,
    Field::Job,
];

/// The label and the wording of a tag of this name that said these words, marks first; `usual` is the wording of its kind now.
pub fn as_said(
    name: TagName,
    purpose: Purpose,
    place: Place,
    words: &[String],
    payload: Option<&str>,
    usual: &Wording,
) -> AsSaid {
    let marks = words.iter().map_while(|line| Some((caution::mark_of(line)?, line.clone())));
    let bands: Vec<_> = marks.collect();
    let lines = &words[bands.len()..];
    let mut fields: Vec<(Field, Vec<String>)> = Vec::new();
    let mut rules = Vec::new();
    for (at, line) in lines.iter().enumerate() {
        let told = told_by(at, lines, &place, usual).filter(|field| fields.iter().all(|(known, _)| known != field));
        let is_free = |field: &&Field| fields.iter().all(|(known, _)| known != *field);
        let Some(field) = told.or_else(|| UNKNOWN.iter().find(is_free).copied()) else {
            // More lines than a tag can have: they go on in the last one.
            if let Some((_, parts)) = fields.last_mut() {
                parts.push(line.clone());
            }
            continue;
        };
        let rule = usual.lines.iter().find(|rule| told.is_some_and(|told| rule.fields.contains(&told)));
        let (mut look, worth) = rule.map_or((Look::default(), Worth::Extra), |rule| (rule.look.clone(), rule.worth));
        if purpose == Purpose::Final {
            // Round a wire the small word is part of the line.
            look.lead = None;
        }
        rules.push(LineRule { fields: vec![field], look, worth, shorten: Shorten::Never, unknown: Unknown::LeftOut });
        let parts = if field.is_place() { vec![line.clone()] } else { line.split(' ').map(str::to_owned).collect() };
        fields.push((field, parts));
    }
    let colour = fields.iter().find(|(field, _)| *field == Field::Conductor).and_then(|(_, parts)| colour(parts));
    let symbol = if payload.is_some() { SymbolWish::Full } else { SymbolWish::None };
    let wording = Wording { name: usual.name.clone(), symbol, faces: usual.faces, lines: rules };
    let label = Label {
        payload: payload.map(str::to_owned),
        name,
        purpose,
        place: Some(place),
        at: None,
        fields,
        colour,
        bands,
        // Nothing is known of the wire any more.
        wires: Vec::new(),
        wish: None,
        action: None,
        supply: None,
    };
    AsSaid { label, wording }
}

/// What a line tells, where its place among the lines or its shape shows it.
fn told_by(at: usize, lines: &[String], place: &Place, usual: &Wording) -> Option<Field> {
    let is_here = |line: &String| *line == spaced(place) || *line == place.to_string();
    let here = lines.iter().position(is_here);
    let follows = |field: Field, next: Field| {
        let tells = |rule: &LineRule, field| rule.fields == [field];
        usual.lines.windows(2).any(|rules| tells(&rules[0], field) && tells(&rules[1], next))
    };
    match here {
        Some(here) if at == here => Some(Field::Here),
        Some(here) if at == here + 1 && follows(Field::Here, Field::There) => Some(Field::There),
        Some(here) if at == 0 && here == 1 => Some(Field::Function),
        _ => colour(&lines[at].split(' ').map(str::to_owned).collect::<Vec<_>>()).map(|_| Field::Conductor),
    }
}

/// The colour that a line begins with.
fn colour(parts: &[String]) -> Option<WireColour> {
    WireColour::from_cell(parts.first()?).filter(|colour| colour.base().is_some())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::TagCode;
    use crate::labels::Band;

    fn said(purpose: Purpose, words: &[&str]) -> AsSaid {
        let words: Vec<String> = words.iter().map(|line| (*line).to_owned()).collect();
        let name = TagName::Ends { code: TagCode::from_typed("7KF4").expect("a code"), letters: Vec::new() };
        let place = Place::from_typed("J1/14").expect("a place");
        let usual = Wording::builtin(if purpose == Purpose::Work { "flat" } else { "round" }).expect("it is there");
        as_said(name, purpose, place, &words, Some("7KF4"), &usual)
    }

    /// All words come back, in their order, whatever is guessed of them.
    #[test]
    fn every_line_is_said_again() {
        let many: Vec<String> = (0..15).map(|at| format!("line {at}")).collect();
        let many: Vec<&str> = many.iter().map(String::as_str).collect();
        let flat = ["oil pressure", "J1 / 14", "X3 / 2 + ________", "BU/WH 0.5 mm² fuse F1", "E14", "behind the pump…"];
        let round = ["oil pressure", "J1/14", "to X3/2", "BU 0.5 mm²", "BU", "X3 / 2"];
        for (purpose, words) in [
            (Purpose::Work, &flat[..]),
            (Purpose::Final, &round),
            (Purpose::Work, &[]),
            (Purpose::Work, &["OUTER LIGHT", "BU"]),
            (Purpose::Work, &many[..11]),
        ] {
            let said = said(purpose, words);
            let lines: Vec<String> = said.wording.lines(&said.label).iter().map(|line| line.text()).collect();
            assert_eq!(lines, words);
            assert_eq!(said.wording.payload(&said.label), Some("7KF4"));
            assert!(said.label.bands.is_empty());
        }
        let said = said(Purpose::Work, &many);
        assert_eq!(
            said.wording.lines(&said.label).iter().map(|line| line.text()).collect::<Vec<_>>().join(" "),
            many.join(" ")
        );
    }

    #[test]
    fn marks_are_known_by_their_words() {
        for (words, mark) in [
            ("HIGH VOLTAGE DO NOT CUT", Some(Band::HighVoltage)),
            ("HIGH VOLTAGE DO NOT OPEN", Some(Band::HighVoltage)),
            ("RESTRAINT DO NOT CUT", Some(Band::Restraint)),
            ("RESTRAINT DO NOT OPEN", Some(Band::Restraint)),
            ("LIVE WITH BATTERY ON", Some(Band::Live)),
            ("LIVE WITH BATTERY ON: CAP THIS END", Some(Band::LiveCap)),
            ("OUT 680 mm", Some(Band::Out)),
            ("NEW", Some(Band::New)),
            ("SPARE", Some(Band::Spare)),
            ("OUT OF USE", None),
            ("RESTRAINT SWITCH", None),
        ] {
            assert_eq!(caution::mark_of(words), mark, "{words}");
        }
    }

    #[test]
    fn marks_stay_marks_and_places_keep_their_small_words() {
        let said = said(
            Purpose::Work,
            &[
                "LIVE WITH BATTERY ON: CAP THIS END",
                "OUT ____ mm",
                "oil pressure",
                "J1 / 14",
                "X3 / 2",
                "BU/WH 0.5 mm²",
            ],
        );
        assert_eq!(said.label.bands.iter().map(|(band, _)| *band).collect::<Vec<_>>(), [Band::LiveCap, Band::Out]);
        let lines = said.wording.lines(&said.label);
        let leads: Vec<Option<&str>> = lines.iter().map(|line| line.look().lead.as_deref()).collect();
        assert_eq!(leads, [None, Some("here"), Some("there"), None]);
        assert_eq!(said.label.colour, WireColour::from_cell("BU/WH"));
        assert!(lines[3].look().colour_bar);
    }
}
