//! Circuits, and what is odd about their lists -> what nobody decided or knows yet, with boxes and lines for the answers.

use super::{boxes, heading};
use crate::base::{Finding, Length, Problem, TagCode, counted};
use crate::circuits::caution::danger_at;
use crate::circuits::{Action, FarEnd, Supply};
use crate::layout::text::Fonts;
use crate::paperwork::{Cell, Column, Harness, Letterhead, Row, Sheet, Table};

/// The sheet; `None` where nothing is open. `problems` are those that somebody has to answer: where lists disagree, what was found
/// otherwise at the bench, what likely moved.
pub fn sheet(harness: &Harness<'_>, problems: &[Problem], letterhead: &Letterhead, fonts: &Fonts) -> Option<Sheet> {
    let ends = harness.circuits.working_order();
    let undecided = ends.iter().filter(|at| harness.end(**at).action == Action::Undecided);
    let unknown = ends.iter().filter(|at| harness.circuit(at.0).far_end(at.1) == FarEnd::Unknown);
    let parts = [
        ("end", "nobody decided", undecided_ends(harness, undecided)),
        ("end", "whose other end is not known", unknown_far_ends(harness, unknown)),
        ("blank", "not assigned", unassigned(&harness.blanks)),
        ("finding", "of the bench", findings(harness, &ends)),
        ("thing", "the lists do not agree on", disagreements(problems)),
    ];
    let width = letterhead.paper.room().width;
    let (mut passages, mut counts) = (Vec::new(), Vec::new());
    for (one, what, table) in parts {
        let count = table.rows.iter().filter(|row| matches!(row, Row::Cells(_))).count();
        if count > 0 {
            let words = format!("{} {what}", counted(count, one));
            passages.push(heading(fonts, width, &words));
            passages.push(table.passage(fonts, width, Length::ZERO));
            counts.push(words);
        }
    }
    (!passages.is_empty()).then(|| Sheet {
        title: letterhead.job.clone(),
        subtitle: counts.join(", "),
        sort: "open questions".to_owned(),
        symbol: None,
        passages,
    })
}

/// `7KF4 A`, the place, and what the wire is.
fn end_cells(harness: &Harness<'_>, at: (usize, usize)) -> Vec<Cell> {
    let (circuit, end) = (harness.circuit(at.0), harness.end(at));
    let (id, place) = (circuit.id().to_string(), end.place.to_string());
    let name = if id == place { String::new() } else { id };
    let what = [Some(name.as_str()), circuit.function.as_deref()];
    let what: Vec<&str> = what.into_iter().flatten().filter(|words| !words.is_empty()).collect();
    let what = what.join(" ");
    vec![Cell::Code(harness.tag(at)), Cell::Code(place), Cell::Words(what), Cell::colour(end.colour.as_ref())]
}

fn end_columns() -> Vec<Column> {
    vec![Column::new("tag").wide(16.0), Column::new("place"), Column::new("circuit"), Column::new("colour")]
}

fn undecided_ends<'e>(harness: &Harness<'_>, ends: impl Iterator<Item = &'e (usize, usize)>) -> Table {
    let mut columns = end_columns();
    columns.extend([Column::new("note of the list"), Column::new("decided").wide(66.0), Column::new("to").wide(14.0)]);
    let mut table = Table::new(columns);
    let mut above = None;
    for at in ends {
        let end = harness.end(*at);
        let id = &end.place.connector;
        if above != Some(id) {
            let name = harness.circuits.connector(id).and_then(|connector| connector.short_name.as_deref());
            table.rows.push(Row::Heading(name.map_or_else(|| id.to_string(), |name| format!("{id} {name}"))));
            above = Some(id);
        }
        let mut cells = end_cells(harness, *at);
        cells.extend([Cell::words(end.note.as_deref()), choices(harness, *at), Cell::Write]);
        table.row(cells);
    }
    table
}

/// What may become of an end; nobody is offered to cut what must not be cut.
fn choices(harness: &Harness<'_>, at: (usize, usize)) -> Cell {
    match danger_at(harness.circuits, at) {
        Some(Supply::HighVoltage) => Cell::Strong("HIGH VOLTAGE: trained people decide".to_owned()),
        Some(Supply::Restraint) => Cell::Strong("RESTRAINT: stays, or goes whole once disarmed".to_owned()),
        _ => boxes(&["keep", "remove", "cut", "move", "reserve"]),
    }
}

fn unknown_far_ends<'e>(harness: &Harness<'_>, ends: impl Iterator<Item = &'e (usize, usize)>) -> Table {
    let mut columns = end_columns();
    columns.extend([Column::new("note of the list"), Column::new("the other end was found at").wide(45.0).growing()]);
    let mut table = Table::new(columns);
    for at in ends {
        let mut cells = end_cells(harness, *at);
        cells.extend([Cell::words(harness.end(*at).note.as_deref()), Cell::Write]);
        table.row(cells);
    }
    table
}

fn unassigned(blanks: &[TagCode]) -> Table {
    let mut table = Table::new(vec![
        Column::new("blank"),
        Column::new("hangs at").wide(70.0),
        Column::new("proved to be").growing(),
    ]);
    for code in blanks {
        table.row(vec![Cell::Code(code.to_string()), Cell::Write, Cell::Write]);
    }
    table
}

/// Findings that no row of a list can be compared with.
fn findings(harness: &Harness<'_>, ends: &[(usize, usize)]) -> Table {
    let mut columns = end_columns();
    columns.extend([Column::new("found"), Column::new("what becomes of it").wide(45.0).growing()]);
    let mut table = Table::new(columns);
    for at in ends {
        for found in &harness.on_bench(*at).found {
            if matches!(found.finding, Finding::Damaged | Finding::Unlisted | Finding::Other) {
                let words = [found.finding.word(), found.value.as_str(), found.remark.as_str()];
                let words: Vec<&str> = words.into_iter().filter(|words| !words.is_empty()).collect();
                let mut cells = end_cells(harness, *at);
                cells.extend([Cell::Words(words.join(" ")), Cell::Write]);
                table.row(cells);
            }
        }
    }
    table
}

fn disagreements(problems: &[Problem]) -> Table {
    let mut table = Table::new(vec![
        Column::new("where").wide(42.0),
        Column::new("what").wide(88.0),
        Column::new("true is").growing(),
    ]);
    for problem in problems {
        let mut places: Vec<String> = problem.origin.iter().map(ToString::to_string).collect();
        places.extend(problem.related.iter().map(|related| related.origin.to_string()));
        let mut what = problem.message.clone();
        for related in &problem.related {
            what.push_str(&format!("\n{} ({})", related.note, related.origin));
        }
        what.extend(problem.remedy.iter().map(|remedy| format!("\n→ {remedy}")));
        places.dedup();
        // Values stand between backticks on a screen; on paper these look like dirt.
        table.row(vec![Cell::Words(places.join("\n")), Cell::Words(what.replace('`', "'")), Cell::Write]);
    }
    table
}

#[cfg(test)]
mod tests {
    use super::super::trial::{Job, letterhead, written};
    use super::*;
    use crate::base::ProblemKind;
    use crate::base::Severity;
    use crate::paperwork::Found;

    /// Ends of the example that say nothing, counted from its circuits one by one.
    #[test]
    fn all_that_is_open_is_asked() {
        let (job, fonts) = (Job::marsh_hen(), Fonts::new());
        let mut harness = job.harness();
        let blank = TagCode::from_typed("7KF4").expect("a code");
        harness.blanks.push(blank);
        harness.on_bench.to_mut()[0][0].found = vec![
            Found { finding: Finding::Damaged, value: String::new(), remark: "seal torn".to_owned(), note: 1 },
            Found { finding: Finding::Colour, value: "BN".to_owned(), remark: String::new(), note: 2 },
        ];
        const KIND: ProblemKind = ProblemKind { id: "charts-disagree", severity: Severity::Warning, meaning: "" };
        let problems = [KIND.says("`J1/14` is `BN` here and `BU` there").remedy("look at the wire")];
        let sheet = sheet(&harness, &problems, &letterhead(), &fonts).expect("much is open");
        let (mut undecided, mut unknown, mut offered) = (0, 0, 0);
        for circuit in job.circuits.all() {
            for (at, end) in circuit.ends().iter().enumerate() {
                undecided += usize::from(end.action.word() == "undecided");
                // C42 is of a restraint system, M27 high voltage, by the supply columns of their lists.
                let must_stay = ["C42", "M27"].contains(&circuit.id().as_str());
                offered += usize::from(end.action.word() == "undecided" && !must_stay);
                unknown += usize::from(circuit.far_end(at) == FarEnd::Unknown);
            }
        }
        assert_eq!(
            sheet.subtitle,
            format!(
                "{undecided} ends nobody decided, {unknown} ends whose other end is not known, 1 blank not assigned, \
                 1 finding of the bench, 1 thing the lists do not agree on"
            )
        );
        let words = written(&sheet, &fonts);
        assert_eq!(words.iter().filter(|words| *words == "reserve").count(), offered);
        for told in ["7KF4", "'J1/14' is 'BN' here and 'BU' there", "→ look at the wire", "damaged seal torn"] {
            assert!(words.iter().any(|words| words == told), "{told}");
        }
    }

    #[test]
    fn nobody_is_offered_to_cut_at_an_airbag_unit() {
        let job = Job::of("connector,cavity,circuit\nA70,1,W1\n", "connector,short name\nA70,airbag control unit\n");
        let fonts = Fonts::new();
        let words = written(&sheet(&job.harness(), &[], &letterhead(), &fonts).expect("undecided"), &fonts);
        assert!(words.iter().any(|words| words.starts_with("RESTRAINT: stays")), "{words:?}");
        assert!(!words.iter().any(|words| words == "cut"), "{words:?}");
    }

    #[test]
    fn where_all_is_decided_nothing_is_asked() {
        let job = Job::of("connector,cavity,circuit,action\nJ1,1,A,keep\nJ2,1,A,keep\n", "connector\n");
        assert!(sheet(&job.harness(), &[], &letterhead(), &Fonts::new()).is_none());
    }
}
