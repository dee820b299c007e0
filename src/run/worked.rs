//! What the notes of the bench tell of the work as a whole: how far each step is, which findings stand, and where they speak against the
//! lists. Circuits, codes and notes come in; counts and problems at the rows of the lists go out.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use super::problems::{FOUND_OTHERWISE, LIVE_NOT_CAPPED, OLD_DESIGNATION};
use crate::base::{Conductor, ConnectorId, EndLetter, Finding, Page, Problem, Remedy, Step, WireColour};
use crate::circuits::caution::danger_at;
use crate::circuits::{Circuits, End, FarEnd, Supply};
use crate::codes::{CircuitCodes, Issued, Noted, Notes, Record, RecordedEnd, Renaming, Said, progress};

/// How far one step is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Count {
    /// Ends at which it is done.
    pub done: usize,
    /// Ends of the lists at which it shall be done; `None` where no action asks for it.
    pub of: Option<usize>,
    /// Ends at which it is done although the plan is another.
    pub unplanned: usize,
}

/// How far the work is in a part of the harness: a connector, or a branch.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Share {
    /// Its ends.
    pub ends: usize,
    /// How many ends have each action, by its word, as the overview sheet counts them.
    pub actions: BTreeMap<&'static str, usize>,
    /// Ends at which an action asks for a step.
    pub asked: usize,
    /// Those of them at which it is done; where a live end hangs free without a cap, it is not.
    pub done: usize,
}

/// How far the work is, by the notes.
#[derive(Clone, Debug, Default)]
pub struct Worked {
    /// The steps that are asked for or done, in the order of the work; nothing as long as nothing is noted.
    pub steps: BTreeMap<Step, Count>,
    /// How often each finding stands at an end of the lists.
    pub findings: BTreeMap<Finding, usize>,
    /// Ends that are fed with every switch off, hang free and have no cap by the notes, at their rows.
    pub not_capped: Vec<Problem>,
    /// Findings that the lists speak against, at their rows.
    pub otherwise: Vec<Problem>,
    /// How far it is in each connector.
    pub connectors: BTreeMap<ConnectorId, Share>,
    /// How far it is in each branch that a row or connectors.csv names.
    pub branches: BTreeMap<String, Share>,
}

/// How far the work at the ends of the lists is.
pub fn worked(circuits: &Circuits, issued: &Issued, records: &[Record], notes: &Notes) -> Worked {
    let mut worked = Worked::default();
    let by_code: HashMap<_, &Record> = records.iter().map(|record| (record.code, record)).collect();
    for (nth, (circuit, codes)) in circuits.all().iter().zip(&issued.circuits).enumerate() {
        let record = by_code.get(&codes.code).copied();
        for (index, (end, letter)) in circuit.ends().iter().zip(&codes.letters).enumerate() {
            let noted = record.map(|record| of_end(record, *letter, notes)).unwrap_or_default();
            let not_capped = record.and_then(|record| not_capped(circuits, (nth, index), codes, record, notes));
            worked.add(end, &noted, not_capped);
        }
    }
    match notes.all() {
        [] => worked.steps.clear(),
        _ => worked.steps.retain(|_, count| count.done > 0 || count.of.is_some()),
    }
    worked
}

/// The notes of an end of a record.
pub(super) fn of_end<'n>(record: &Record, letter: EndLetter, notes: &'n Notes) -> Vec<&'n Noted> {
    // Mostly there is none, which is soon seen: every mark of an end is of one of the codes.
    if !std::iter::once(&record.code).chain(&record.also).any(|code| notes.are_of(*code)) {
        return Vec::new();
    }
    let codes: Vec<_> = std::iter::once(record.code).chain(record.also.iter().copied()).collect();
    // Ends of a record are in the order of their letters.
    let end: Option<&RecordedEnd> =
        record.ends.binary_search_by_key(&letter, |end| end.letter).ok().map(|at| &record.ends[at]);
    let also = end.into_iter().flat_map(|end| end.also.iter().copied());
    let marks: Vec<_> = std::iter::once((record.code, letter)).chain(also).collect();
    notes.of_end(&codes, &marks)
}

impl Worked {
    fn add(&mut self, end: &End, noted: &[&Noted], not_capped: Option<Problem>) {
        let planned = end.action.step();
        if let Some(step) = planned {
            *self.steps.entry(step).or_default().of.get_or_insert(0) += 1;
        }
        let now = progress(noted.iter().copied());
        let is_done = planned.is_some_and(|step| now.done.contains(&step)) && not_capped.is_none();
        self.not_capped.extend(not_capped);
        let branch = end.branch.as_ref().map(|branch| share_of(&mut self.branches, branch));
        let connector = share_of(&mut self.connectors, &end.place.connector);
        for share in [connector].into_iter().chain(branch) {
            share.ends += 1;
            *share.actions.entry(end.action.word()).or_default() += 1;
            share.asked += usize::from(planned.is_some());
            share.done += usize::from(is_done);
        }
        for step in now.done {
            let count = self.steps.entry(step).or_default();
            count.done += 1;
            let is_asked = matches!(step, Step::Cut | Step::Pulled | Step::Moved | Step::Added | Step::Extended);
            count.unplanned += usize::from(is_asked && planned != Some(step));
        }
        for noted in now.findings {
            if let Said::Found(finding) = noted.note.said {
                *self.findings.entry(finding).or_default() += 1;
            }
            self.otherwise.extend(otherwise(end, noted));
        }
    }
}

/// The share of a part of the harness.
fn share_of<'s, K: Ord + Clone>(shares: &'s mut BTreeMap<K, Share>, part: &K) -> &'s mut Share {
    if !shares.contains_key(part) {
        shares.insert(part.clone(), Share::default());
    }
    shares.get_mut(part).expect("it was put there if need be")
}

/// That an end is live and hangs free without a cap, by the notes.
fn not_capped(
    circuits: &Circuits,
    at: (usize, usize),
    codes: &CircuitCodes,
    record: &Record,
    notes: &Notes,
) -> Option<Problem> {
    let done = |end: usize| progress(of_end(record, codes.letters[end], notes)).done;
    let step = hangs_live(circuits, at, &done(at.1), done)?;
    let (place, tag) = (&circuits.all()[at.0].ends()[at.1].place, format!("{}/{}", codes.code, codes.letters[at.1]));
    let what = format!("`{place}` is noted as {step}, is LIVE WITH BATTERY ON, and no cap is noted");
    let remedy = Remedy::from("cap it at once, one end at a time, and note it: ")
        .and_by(format!("`loomtag note {tag} done capped`"), Page::OnRecord(tag, "capped"));
    Some(LIVE_NOT_CAPPED.says(what).at(circuits.all()[at.0].ends()[at.1].origin.clone()).remedy(remedy))
}

/// The step by which an end came free that is fed with every switch off, as long as nothing is noted of a cap or of what closes it for
/// good. A wire whose other end is pulled is out.
pub(super) fn hangs_live(
    circuits: &Circuits,
    at: (usize, usize),
    done: &BTreeSet<Step>,
    done_there: impl Fn(usize) -> BTreeSet<Step>,
) -> Option<Step> {
    const CLOSED: [Step; 6] = [Step::Capped, Step::Terminated, Step::Moved, Step::Added, Step::Extended, Step::Spliced];
    let freed = [Step::Cut, Step::Pulled].into_iter().find(|step| done.contains(step))?;
    let is_out = match circuits.all()[at.0].far_end(at.1) {
        FarEnd::End(far) => done_there(far).contains(&Step::Pulled),
        FarEnd::ImpliedSplice | FarEnd::Unknown => false,
    };
    let is_closed = CLOSED.iter().any(|step| done.contains(step));
    (!is_closed && !is_out && danger_at(circuits, at) == Some(Supply::Constant)).then_some(freed)
}

/// That a finding speaks against the row of its end.
pub(super) fn otherwise(end: &End, noted: &Noted) -> Option<Problem> {
    let Said::Found(finding) = noted.note.said else { return None };
    let (value, place, number) = (&noted.note.value, &end.place, noted.number);
    let (agrees, listed) = match finding {
        Finding::Empty => (false, None),
        Finding::Colour => {
            let found = WireColour::from_cell(value);
            let agrees = end.colour.as_ref().zip(found.as_ref()).is_some_and(|(one, two)| one.same_as(two));
            // The list's own letters, which job.toml gives a meaning, say the same as well.
            let own = end.colour.as_ref().and_then(WireColour::own_letters);
            let agrees = agrees || own.is_some_and(|own| own.eq_ignore_ascii_case(value));
            (agrees, end.colour.as_ref().map(ToString::to_string))
        }
        Finding::Size => {
            let found = Conductor::from_cell(value, None).ok();
            let agrees = end.conductor.as_ref().zip(found.as_ref()).is_some_and(|(one, two)| one.size() == two.size());
            (agrees, end.conductor.as_ref().map(ToString::to_string))
        }
        Finding::Place => (place.to_string().eq_ignore_ascii_case(value), Some(place.to_string())),
        Finding::Damaged | Finding::Unlisted | Finding::Other => return None,
    };
    if agrees {
        return None;
    }
    let what = match (finding, listed) {
        (Finding::Empty, _) => format!("`{place}` was found empty (note {number}), but the list has a wire there"),
        (Finding::Place, _) => format!("the wire of `{place}` was found at `{value}` (note {number})"),
        (_, Some(listed)) => {
            format!("`{place}` was found to have {finding} `{value}` (note {number}), the list says `{listed}`")
        }
        (_, None) => format!("`{place}` was found to have {finding} `{value}` (note {number}), the list says none"),
    };
    let right = match finding {
        Finding::Place => "put the row right, and the end keeps its letter and its notes",
        _ => "put the row right",
    };
    let code = noted.note.code;
    let tag = noted.note.letter.map_or_else(|| code.to_string(), |letter| format!("{code}/{letter}"));
    let put_right = Page::OnRecord(tag, "Put right");
    let remedy = Remedy::from(format!("{right}; if the note is wrong, "))
        .and_by(format!("`loomtag note --instead {number}` and what is true"), put_right);
    Some(FOUND_OTHERWISE.says(what).at(end.origin.clone()).remedy(remedy))
}

/// Rows that still give a designation which was changed by `rename`, and not the new one.
pub fn old_designations(circuits: &Circuits, issued: &Issued, renamings: &[Renaming]) -> Vec<Problem> {
    let mut problems = Vec::new();
    for (circuit, codes) in circuits.all().iter().zip(&issued.circuits).filter(|_| !renamings.is_empty()) {
        let is_its = |renaming: &&Renaming| codes.code == renaming.code || codes.also.contains(&renaming.code);
        let Some(last) = renamings.iter().rev().find(is_its) else { continue };
        if last.former != *circuit.id() || circuits.get(&last.designation).is_some() {
            continue;
        }
        let mut origins = circuit.ends().iter().map(|end| &end.origin);
        let Some(first) = origins.next() else { continue };
        let what =
            format!("circuit `{}` was renamed `{}`, the list does not say so yet", circuit.id(), last.designation);
        let mut problem = OLD_DESIGNATION.says(what).at(first.clone());
        let mut before = first;
        for origin in origins {
            if origin != before {
                problem = problem.see("and here", origin.clone());
            }
            before = origin;
        }
        let (old, new) = (circuit.id(), &last.designation);
        problems.push(
            problem.remedy(
                Remedy::from(format!("write `{new}`, or "))
                    .and_by(format!("`loomtag rename {new} {old}`"), Page::OnRecord(codes.code.to_string(), "Rename"))
                    .words(format!(" if it shall stay `{old}`")),
            ),
        );
    }
    problems
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::TagCode;
    use crate::circuits::{Action, Circuit, FarEnd};
    use crate::codes::samples::{self, NOW};
    use crate::codes::{Note, Register};

    /// Two ends to cut, one to pull, one to keep, and codes for all.
    fn job() -> (Register, Circuits) {
        let plain = samples::circuit("W1", &["J1/1 BN", "J1/2 BN", "J1/3 RD", "J1/4"]);
        let mut ends = plain.ends().to_vec();
        for (end, action) in ends.iter_mut().zip([Action::Cut, Action::Cut, Action::Remove, Action::Keep]) {
            end.action = action;
        }
        let far = vec![FarEnd::ImpliedSplice; ends.len()];
        let circuit = Circuit::new(plain.id().clone(), plain.naming(), ends, far).expect("equally long");
        let circuits = samples::circuits([circuit]);
        let mut register = Register::in_memory().expect("in memory");
        register.issue(&circuits, NOW).expect("issues");
        (register, circuits)
    }

    fn note(letter: u16, said: Said, value: &str) -> Note {
        let code = TagCode::from_typed("FQGB").expect("a code");
        let letter = Some(EndLetter::nth(letter));
        Note { code, letter, said, value: value.to_owned(), remark: String::new(), other: None, supersedes: None }
    }

    fn look(register: &Register, circuits: &Circuits) -> Worked {
        let issued = register.preview(circuits).expect("previews");
        worked(circuits, &issued, &register.records().expect("reads"), &register.notes().expect("reads"))
    }

    #[test]
    fn steps_are_counted_against_the_plan() {
        let (mut register, circuits) = job();
        let before = look(&register, &circuits);
        assert!(before.steps.is_empty());
        let share =
            |done| Share { ends: 4, actions: BTreeMap::from([("cut", 2), ("keep", 1), ("remove", 1)]), asked: 3, done };
        assert_eq!(before.connectors.values().collect::<Vec<_>>(), [&share(0)]);
        let cut = |letter| note(letter, Said::Done(Step::Cut), "");
        let whole = Note { letter: None, ..note(0, Said::Done(Step::Tagged), "") };
        register.note(&[cut(0), cut(3), cut(0), whole], NOW).expect("notes");
        let steps = look(&register, &circuits).steps;
        let count = |done, of, unplanned| Count { done, of, unplanned };
        assert_eq!(steps[&Step::Cut], count(2, Some(2), 1));
        assert_eq!(steps[&Step::Pulled], count(0, Some(1), 0));
        assert_eq!(steps[&Step::Tagged], count(4, None, 0));
        assert_eq!(steps.len(), 3);
        // What is done at an end beside the plan does not count for its connector.
        assert_eq!(look(&register, &circuits).connectors.values().collect::<Vec<_>>(), [&share(1)]);
    }

    #[test]
    fn findings_are_told_until_the_list_says_the_same() {
        let (mut register, circuits) = job();
        let found = |letter, finding, value| note(letter, Said::Found(finding), value);
        let all = [
            found(0, Finding::Colour, "brown"),
            found(1, Finding::Colour, "BN/WH"),
            found(2, Finding::Empty, ""),
            found(3, Finding::Size, "0.75"),
            found(3, Finding::Place, "J1/5"),
            found(3, Finding::Damaged, ""),
        ];
        register.note(&all, NOW).expect("notes");
        let told: Vec<String> =
            look(&register, &circuits).otherwise.into_iter().map(|problem| problem.message).collect();
        assert_eq!(
            told,
            [
                "`J1/2` was found to have colour `BN/WH` (note 2), the list says `BN`",
                "`J1/3` was found empty (note 3), but the list has a wire there",
                "`J1/4` was found to have size `0.75` (note 4), the list says none",
                "the wire of `J1/4` was found at `J1/5` (note 5)",
            ]
        );
        let instead = Note { supersedes: Some(3), ..note(2, Said::Text, "") };
        register.note(&[instead], NOW).expect("notes");
        let later = look(&register, &circuits);
        assert_eq!((later.otherwise.len(), later.findings[&Finding::Colour]), (3, 2));
        assert_eq!(later.findings.get(&Finding::Empty), None);
    }

    /// A wire fed with every switch off, cut at both ends by the plan.
    fn live() -> (Register, Circuits) {
        let plain = samples::circuit("W1", &["J1/1 RD", "J2/1 RD"]);
        let mut ends = plain.ends().to_vec();
        ends.iter_mut().for_each(|end| end.action = Action::Cut);
        let mut circuit = Circuit::new(plain.id().clone(), plain.naming(), ends, vec![FarEnd::End(1), FarEnd::End(0)])
            .expect("equally long");
        circuit.supply = Some(Supply::Constant);
        let circuits = samples::circuits([circuit]);
        let mut register = Register::in_memory().expect("in memory");
        register.issue(&circuits, NOW).expect("issues");
        (register, circuits)
    }

    #[test]
    fn a_live_end_that_hangs_free_is_not_done() {
        let (mut register, circuits) = live();
        let mut steps = |steps: &[(u16, Step)]| -> (usize, Vec<String>) {
            let notes: Vec<Note> = steps.iter().map(|&(letter, step)| note(letter, Said::Done(step), "")).collect();
            register.note(&notes, NOW).expect("notes");
            let worked = look(&register, &circuits);
            let done = worked.connectors.values().map(|share| share.done).sum();
            (done, worked.not_capped.into_iter().map(|problem| problem.message).collect())
        };
        assert_eq!(steps(&[(0, Step::Tagged), (1, Step::Tagged)]), (0, Vec::new()));
        let (done, told) = steps(&[(0, Step::Cut)]);
        assert_eq!(
            (done, told),
            (0, vec!["`J1/1` is noted as cut, is LIVE WITH BATTERY ON, and no cap is noted".to_owned()])
        );
        assert_eq!(steps(&[(0, Step::Capped)]), (1, Vec::new()));
        let (done, told) = steps(&[(1, Step::Cut)]);
        assert_eq!((done, told.len()), (1, 1));
        // The other end is pulled: the wire is out.
        assert_eq!(steps(&[(0, Step::Pulled)]), (2, Vec::new()));
    }
}
