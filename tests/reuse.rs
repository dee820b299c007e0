//! Removed wires given to wants, against an outside solver: scipy's `linear_sum_assignment`.

use std::time::Instant;

use loomtag::paperwork::reuse::{MOST_WIRES, best};
use serde_json::{Value, json};

use crate::kit::script;
use crate::nesting::Numbers;

type Costs = Vec<Vec<Option<i64>>>;

fn costs(numbers: &mut Numbers, rows: i64, columns: i64, apart_percent: i64) -> Costs {
    let mut cost = || (numbers.between(1, 100) > apart_percent).then(|| numbers.between(0, 100_000));
    (0..rows).map(|_| (0..columns).map(|_| cost()).collect()).collect()
}

/// How many rows are met, and what they cost together.
fn worth(costs: &Costs, taken: &[Option<usize>]) -> (usize, i64) {
    let met: Vec<i64> = costs.iter().zip(taken).filter_map(|(row, column)| row[(*column)?]).collect();
    (met.len(), met.iter().sum())
}

fn told(cases: &[(Costs, (usize, i64))]) -> String {
    let case = |(costs, (met, cost)): &(Costs, (usize, i64))| json!({ "costs": costs, "met": met, "cost": cost });
    script("assign.py", &[&Value::Array(cases.iter().map(case).collect()).to_string()])
}

/// More wants than wires, fewer, and as many; most pairs apart, and few.
#[test]
fn sixty_assignments_are_the_best_there_can_be() {
    let mut numbers = Numbers(2026);
    let mut case = |at: i64| {
        let (rows, columns) = (numbers.between(1, 24), numbers.between(1, 24));
        let costs = costs(&mut numbers, rows, columns, [10, 50, 85][at as usize % 3]);
        let worth = worth(&costs, &best(&costs));
        (costs, worth)
    };
    let cases: Vec<_> = (0..60).map(&mut case).collect();
    assert!(told(&cases).contains("60 of 60 are the best there can be"), "{}", told(&cases));
}

/// The solver finds fault where there is some: taking the cheapest pair first leaves the second row with nothing.
#[test]
fn the_solver_sees_a_greedy_choice() {
    let costs = vec![vec![Some(1), Some(2)], vec![Some(1), None]];
    assert_eq!(best(&costs), [Some(1), Some(0)]);
    assert!(told(&[(costs.clone(), (1, 1))]).contains("0 of 1 are"));
    assert!(told(&[(costs, (2, 3))]).contains("1 of 1 are"));
}

/// As many as are compared at once, all of which go together.
#[test]
fn the_largest_assignment_takes_a_moment() {
    let count = MOST_WIRES as i64;
    let costs = costs(&mut Numbers(1), count, count, 0);
    let began = Instant::now();
    let taken = best(&costs);
    let took = began.elapsed();
    assert!(taken.iter().all(Option::is_some) && took.as_secs() < 20, "{took:?}");
}
