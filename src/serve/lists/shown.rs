//! Columns and rows of a list, and its problems, as the pages of lists and of drafts show them.

use maud::{Markup, html};

use crate::base::{Problem, counted};
use crate::circuits::{Standing, list_columns};
use crate::run::Snapshot;
use crate::run::proposal::ProposedEnd;
use crate::run::taking::{OfPart, RowUnderstood};
use crate::serve::desk::Desk;
use crate::serve::parts::{colour, problem, problem_alone};

/// Most problems that are shown of a list.
const MOST_PROBLEMS: usize = 30;
/// Most cells of a column that are shown beside its header.
const EXAMPLES: usize = 3;

/// The columns of a list: each header with what it is read as, and a few of its cells. With a `field`, that is chosen.
pub fn columns(standing: &Standing, field: Option<usize>) -> Markup {
    let examples = |at: usize| -> Vec<&str> {
        let cells = standing.rows.iter().filter_map(|row| row.cells.get(at)).map(String::as_str);
        cells.filter(|cell| !cell.is_empty()).take(EXAMPLES).collect()
    };
    let is_again = |at: usize| standing.columns[..at].iter().any(|other| other.header == standing.columns[at].header);
    html! {
        table.columns {
            thead { tr { th { "their column" } th { "is read as" } th { "holds" } } }
            tbody {
                @for (at, column) in standing.columns.iter().enumerate() {
                    tr {
                        th scope="row" { @if column.header.is_empty() { span.soft { "no header" } } @else { (column.header) } }
                        td {
                            @if column.header.is_empty() { span.soft { "not read: it has no header" } }
                            @else if is_again(at) { span.soft { "not read: another column has this header" } }
                            @else if let Some(part) = field {
                                select #{ "c" (part) "-" (at) } name={ "c" (part) "-" (at) }
                                    aria-label={ "what " (column.header) " is read as" } {
                                    option value="" selected[column.ours.is_none()] { "ignore" }
                                    @for ours in list_columns() {
                                        option value=(ours) selected[column.ours == Some(ours)] { (ours) }
                                    }
                                }
                                @if let Some(guess) = column.guess { p.soft { "perhaps " (guess) "?" } }
                            }
                            @else if let Some(ours) = column.ours { (ours) }
                            @else { span.soft { "not read" } }
                        }
                        td.soft {
                            @for (index, cell) in examples(at).into_iter().enumerate() { @if index > 0 { " · " } span.cell { (cell) } }
                        }
                    }
                }
            }
        }
    }
}

/// The first rows: as they stand, and beside that as they are understood.
pub fn rows(part: &OfPart) -> Markup {
    let Some(standing) = &part.standing else { return html! {} };
    html! {
        table.rows {
            thead { tr { th { "row" } th { "as it stands" } th { "as it is understood" } } }
            tbody {
                @for row in &standing.rows {
                    tr {
                        th scope="row" .number { (row.line) }
                        td.stands {
                            @for cell in &row.cells { span.cell { @if cell.is_empty() { span.soft { "·" } } @else { (cell) } } " " }
                        }
                        td {
                            @match part.rows.get(&row.line) {
                                None => { span.soft { "nothing is read of it" } }
                                Some(ends) => { @for end in ends { (understood(end)) } }
                            }
                        }
                    }
                }
            }
        }
        @if standing.count > standing.rows.len() {
            p.soft { "and " (counted(standing.count - standing.rows.len(), "row")) " more" }
        }
    }
}

fn understood(row: &RowUnderstood) -> Markup {
    match row {
        RowUnderstood::Connector(name, words) => html! { p { strong { (name) } " " (words) } },
        RowUnderstood::End(end) => {
            let ProposedEnd { place, circuit, function, colour: typed, size, supply, action } = &**end;
            html! {
                p {
                    strong { (place) } " circuit " (circuit)
                    @if !function.is_empty() { ", " (function) }
                    @if !typed.is_empty() { ", " (colour(typed)) }
                    @for said in [size, supply, action] { @if !said.is_empty() { ", " (said) } }
                }
            }
        }
    }
}

/// Problems, the first of many; `of` the job that has their rows, where it has them already.
pub fn problems(all: &[&Problem], of: Option<(&Desk, &Snapshot)>) -> Markup {
    html! {
        @for one in all.iter().take(MOST_PROBLEMS) {
            @match of { Some((desk, job)) => (problem(desk, job, one)), None => (problem_alone(one)) }
        }
        @if all.len() > MOST_PROBLEMS { p.soft { "and " (all.len() - MOST_PROBLEMS) " more" } }
    }
}
