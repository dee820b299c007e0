//! What is meant: words as typed come in; the ends of the lists and the action that is wished for them go out.

use std::collections::{BTreeSet, HashMap, HashSet};

use super::super::moving::place_of;
use super::super::noting::{Bench, Subject};
use super::super::recall::By;
use super::{AS_LISTED, Deciding, NotDecided, OfThese, Wish, nothing_said, words};
use crate::base::nearest::did_you_mean;
use crate::base::{EndLetter, TagCode};
use crate::circuits::{Action, Circuit, End};

impl Deciding<'_> {
    /// What words wish: ends, then an action. The first words that are an action are it, and where there are none, a note alone may be
    /// wished.
    ///
    /// # Errors
    /// [`NotDecided`] when no action is among them, and none is wished besides.
    pub fn wish(&self, typed: &[String], rest: Wish) -> Result<Wish, NotDecided> {
        let first = usize::from(rest.connectors.is_empty() && rest.ends.is_empty());
        let is_action = |at: &usize| {
            let words = typed[*at..].join(" ");
            words.trim().eq_ignore_ascii_case(AS_LISTED) || self.reading.job.action(&words).is_ok()
        };
        if let Some(at) = (first..typed.len()).find(is_action) {
            return Ok(Wish { ends: typed[..at].to_vec(), action: Some(typed[at..].join(" ")), ..rest });
        }
        if rest.note.is_some() {
            return Ok(Wish { ends: typed.to_vec(), ..rest });
        }
        match typed.get(first..).and_then(<[String]>::last) {
            Some(last) if self.recall.find(std::slice::from_ref(last)).is_empty() => {
                self.action(last)?;
                Err(nothing_said())
            }
            _ => Err(nothing_said()),
        }
    }

    /// The action that was typed; `None` leaves it to the lists.
    pub(super) fn action(&self, typed: &str) -> Result<Option<Action>, NotDecided> {
        let typed = typed.trim();
        if typed.eq_ignore_ascii_case(AS_LISTED) {
            return Ok(None);
        }
        match self.reading.job.action(typed) {
            Ok(Action::Move(None)) => Err(words("`move` names no cavity", "name the one it moves to: `move J2/9`")),
            Ok(Action::Move(Some(place))) => {
                let listed = place_of(self.reading, &place.to_string());
                Ok(Some(Action::Move(Some(listed.unwrap_or(place)))))
            }
            Ok(action) => Ok(Some(action)),
            Err(near) => {
                let all =
                    || format!("type one of {}, or `{AS_LISTED}` for what the lists say", Action::WORDS.join(", "));
                Err(words(&format!("`{typed}` is no action"), near.map_or_else(all, |near| did_you_mean(&near))))
            }
        }
    }

    /// The ends of the lists that a wish names, each once.
    pub(super) fn ends(&self, wish: &Wish) -> Result<Vec<(usize, usize)>, NotDecided> {
        let circuits = self.reading.circuits.all();
        let mut ends: Vec<(usize, usize)> = Vec::new();
        for connector in &wish.connectors {
            let is_named = |end: &End| end.place.connector.as_str().eq_ignore_ascii_case(connector.trim());
            let before = ends.len();
            let order = self.reading.circuits.working_order();
            ends.extend(order.into_iter().filter(|at| is_named(&circuits[at.0].ends()[at.1])));
            if ends.len() == before {
                let known: BTreeSet<&str> = circuits
                    .iter()
                    .flat_map(|circuit| circuit.ends())
                    .map(|end| end.place.connector.as_str())
                    .collect();
                let near = crate::base::nearest::nearest(connector, known);
                let remedy = near.map_or_else(|| "write it as the lists do".to_owned(), did_you_mean);
                return Err(words(&format!("no list has a connector `{connector}`"), remedy));
            }
        }
        ends.extend(wish.at.iter().copied().filter(|at| at.1 < circuits.get(at.0).map_or(0, |it| it.ends().len())));
        let seats = self.seats();
        let named: HashSet<String> =
            circuits.iter().flat_map(Circuit::ends).map(|end| end.place.connector.as_str().to_lowercase()).collect();
        // Whoever chooses many ends from a list names them by their tags, which are looked up and need no search.
        let by_tag = |typed: &String| {
            let (code, letter) = TagCode::from_typed_with_letter(typed).ok()?;
            let is_place = named.contains(&code.as_str().to_lowercase());
            seats.get(&(code, letter?)).copied().filter(|_| !is_place && self.codes.contains(&code))
        };
        let tagged: Option<Vec<(usize, usize)>> = wish.ends.iter().map(by_tag).collect();
        if let (None, Some(typed)) = (&tagged, wish.ends.iter().find(|typed| self.lacks_code(typed))) {
            return Err(NotDecided::NoCode(typed.clone()));
        }
        let others = if tagged.is_some() { &[][..] } else { &wish.ends[..] };
        ends.extend(tagged.unwrap_or_default());
        // Ends may have no letter yet, although their circuit has a code.
        if let Some(at) = ends.iter().find(|at| !self.has_letter(**at)) {
            return Err(NotDecided::NoCode(self.end(*at).place.to_string()));
        }
        let bench = Bench { recall: self.recall, notes: self.recall.notes(), codes: self.codes };
        for subject in bench.subjects(others)? {
            ends.extend(self.of_subject(&subject, &seats)?);
        }
        if ends.is_empty() {
            return Err(words("no code or place is named", "name it first: `J1/14 cut`"));
        }
        let mut seen = HashSet::new();
        ends.retain(|at| seen.insert(*at));
        if wish.of_these == OfThese::Undecided {
            ends.retain(|at| circuits[at.0].ends()[at.1].action == Action::Undecided);
        }
        Ok(ends)
    }

    /// Whether something that is typed names an end of the lists that has no letter yet.
    fn lacks_code(&self, typed: &str) -> bool {
        let found = self.recall.find(&[typed.to_owned()]);
        let named = found.iter().filter(|found| matches!(found.by, By::Place | By::Designation));
        named.flat_map(|found| &found.record.ends).any(|end| end.listed && end.letter.is_none())
    }

    fn has_letter(&self, at: (usize, usize)) -> bool {
        let (code, letter) = self.mark(at);
        self.codes.contains(&code)
            && self
                .recall
                .by_code(code, Some(letter))
                .is_some_and(|found| found.ends.iter().any(|&end| found.record.ends[end].letter.is_some()))
    }

    fn seats(&self) -> HashMap<(TagCode, EndLetter), (usize, usize)> {
        let each = self.issued.circuits.iter().enumerate();
        each.flat_map(|(circuit, codes)| {
            codes.letters.iter().enumerate().map(move |(end, &letter)| ((codes.code, letter), (circuit, end)))
        })
        .collect()
    }

    /// The ends of the lists that something names.
    fn of_subject(
        &self,
        subject: &Subject,
        seats: &HashMap<(TagCode, EndLetter), (usize, usize)>,
    ) -> Result<Vec<(usize, usize)>, NotDecided> {
        let listed: Vec<(usize, usize)> =
            subject.all_marks().iter().filter_map(|mark| seats.get(mark).copied()).collect();
        match listed.is_empty() {
            false => Ok(listed),
            true => Err(NotDecided::CannotBe(format!(
                "{}: no list has it (any more), so nothing can be decided of it",
                subject.about()
            ))),
        }
    }
}
