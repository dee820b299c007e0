//! What a list comes to: how many ends are pulled, cut and so on, and how much of it is done by notes.

use super::contents::Content;
use super::number;
use crate::base::Step;
use crate::circuits::Action;
use crate::paperwork::Harness;
use crate::paperwork::table::{Cell, Column, Table};

/// One number of the totals.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Count {
    /// How many ends of the plan.
    pub of: usize,
    /// At how many of them the step is done by notes.
    pub done: usize,
}

/// What a list comes to.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Totals {
    /// By action, in the order of [`Totals::HEADS`].
    pub by_action: [Count; 9],
    /// All ends in the connector; those that arrive are none of them.
    pub ends: usize,
}

impl Totals {
    /// What is counted. Moves in are counted in the connector that they leave, too, as moves out.
    pub const HEADS: [&'static str; 9] =
        ["pulls", "cuts", "moves out", "moves in", "adds", "extends", "reserves", "keeps", "undecided"];

    /// Of a list.
    pub(super) fn of(harness: &Harness<'_>, content: Content<'_>) -> Self {
        let mut totals = Self { ends: content.ends.len(), ..Self::default() };
        for &at in content.ends {
            let nth = match &harness.end(at).action {
                Action::Remove => 0,
                Action::Cut => 1,
                Action::Move(_) => 2,
                Action::Add => 4,
                Action::Extend => 5,
                Action::Reserve => 6,
                Action::Keep => 7,
                Action::Undecided => 8,
            };
            let step = harness.end(at).action.step();
            let is_done = step.is_some_and(|step| harness.on_bench(at).done.contains(&step));
            totals.by_action[nth].of += 1;
            totals.by_action[nth].done += usize::from(is_done);
        }
        for &at in content.arrivals {
            totals.by_action[3].of += 1;
            totals.by_action[3].done += usize::from(harness.on_bench(at).done.contains(&Step::Moved));
        }
        totals
    }

    /// As a table: what is planned, and what is done, where anything is.
    pub(super) fn table(&self) -> Table {
        let mut columns = vec![Column::new("")];
        columns.extend(Self::HEADS.map(|head| Column::new(head).right()));
        columns.push(Column::new("ends here").right());
        let mut table = Table::new(columns);
        let row = |name: &str, numbers: [usize; 9], ends: Cell| {
            let mut cells = vec![Cell::Strong(name.to_owned())];
            cells.extend(numbers.map(number));
            cells.push(ends);
            cells
        };
        table.row(row("planned", self.by_action.map(|count| count.of), Cell::Strong(self.ends.to_string())));
        if self.by_action.iter().any(|count| count.done > 0) {
            table.row(row("done by notes", self.by_action.map(|count| count.done), Cell::Empty));
        }
        table
    }
}
