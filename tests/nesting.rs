//! Lengths cut from pieces, against an outside solver: HiGHS, by way of scipy's `milp`.

use loomtag::base::Length;
use loomtag::pages::{least_pieces, nest};
use serde_json::{Value, json};

use crate::kit::script;

/// Numbers without end, the same every time (Knuth's MMIX generator).
pub struct Numbers(pub u64);

impl Numbers {
    pub fn between(&mut self, least: i64, most: i64) -> i64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        least + (self.0 >> 33) as i64 % (most - least + 1)
    }
}

/// 30 cases of few lengths that hardly fit, 20 of as many sleeves as a job has. In micrometres.
fn cases() -> Vec<(Vec<i64>, i64)> {
    let mut numbers = Numbers(2026);
    let mut case = |count: (i64, i64), length: (i64, i64), piece: (i64, i64)| {
        let count = numbers.between(count.0, count.1);
        let lengths = (0..count).map(|_| numbers.between(length.0 * 1000, length.1 * 1000)).collect();
        (lengths, numbers.between(piece.0, piece.1) * 1000)
    };
    let few = (0..30).map(|_| case((6, 16), (20, 75), (80, 200))).collect::<Vec<_>>();
    let many = (0..20).map(|_| case((40, 800), (15, 60), (300, 1200))).collect::<Vec<_>>();
    few.into_iter().chain(many).collect()
}

/// Within 3 % of the bound that all lengths together give, or as few pieces as can be.
#[test]
fn fifty_cases_waste_next_to_nothing() {
    let mm = |micrometres: &i64| Length::nm(micrometres * 1000);
    let (mut to_solve, mut worst) = (Vec::new(), 0.0_f64);
    for (lengths, piece) in cases() {
        let all: Vec<Length> = lengths.iter().map(mm).collect();
        let pieces = nest(&all, &[], mm(&piece)).len();
        let least = least_pieces(&all, mm(&piece));
        assert!(pieces >= least);
        let over = pieces as f64 / least as f64 - 1.0;
        if over > 0.03 {
            to_solve.push(json!({ "lengths": lengths, "piece": piece, "pieces": pieces }));
        } else {
            worst = worst.max(over);
        }
    }
    assert!(to_solve.len() < 20, "{} of 50 are over the bound", to_solve.len());
    let told = script("cut.py", &[&Value::Array(to_solve.clone()).to_string()]);
    assert!(told.contains(&format!("{} of {} are the least there can be", to_solve.len(), to_solve.len())), "{told}");
    assert!(worst <= 0.03);
}

/// The solver finds fault where there is some.
#[test]
fn the_solver_sees_a_wasted_piece() {
    let wasted = json!([{ "lengths": [9000, 7000, 7000, 6000, 5000, 3000, 3000], "piece": 20000, "pieces": 3 }]);
    assert!(script("cut.py", &[&wasted.to_string()]).contains("0 of 1 are the least"));
}

/// As many sleeves as no job has, of six lengths and of any length.
#[test]
fn five_thousand_sleeves_are_nested_at_once() {
    let mut numbers = Numbers(5000);
    let any: Vec<Length> = (0..5000).map(|_| Length::nm(numbers.between(15_000_000, 60_000_000))).collect();
    let six: Vec<Length> = (0..5000).map(|_| Length::mm(15.0 + 9.0 * numbers.between(0, 5) as f64)).collect();
    for lengths in [any, six] {
        let (piece, began) = (Length::mm(1135.0), std::time::Instant::now());
        let pieces = nest(&lengths, &[], piece).len();
        let took = began.elapsed();
        let least = least_pieces(&lengths, piece);
        assert!(pieces as f64 <= least as f64 * 1.03 && took.as_secs() < 20, "{pieces} of {least} in {took:?}");
    }
}
