//! Trials of lines to write on, as blanks have them: how much room a pen gets.

use proptest::prelude::*;

use super::flag::{self, FlagStock, Posture};
use super::frame::{Frame, Item};
use super::panel::{WRITING_LENGTH, WRITING_STROKE};
use super::samples::{self, Bench, LINK, blank, measured};
use super::tie_on::{self, HoleCount, Holes, Punching, TieOnStock};
use super::wire::Diameter;
use super::{Facts, Fitting};
use crate::base::{Length, Point, Size};

/// The lines to write on, from the top of each face, each from left to right.
fn lines(frame: &Frame) -> Vec<(Point, Point)> {
    let line = |item: &Item| match item {
        Item::Rule { from, to, weight, .. } if *weight == WRITING_STROKE => Some((*from, *to)),
        _ => None,
    };
    frame.items.iter().filter_map(line).collect()
}

/// From one line to the next on the same face, the least.
fn pitch(lines: &[(Point, Point)]) -> Option<Length> {
    let same_face = lines.windows(2).filter(|pair| pair[0].1.x == pair[1].1.x);
    same_face.map(|pair| (pair[1].0.y - pair[0].0.y).abs()).min()
}

fn flag_of(width: f64, height: f64) -> FlagStock {
    let label = Size::new(Length::mm(width), Length::mm(height));
    FlagStock { label, thickness: Length::mm(0.1), posture: Posture::Standing, dpi: 600 }
}

fn plate_of(width: f64, height: f64) -> TieOnStock {
    let holes = Holes { diameter: Length::mm(5.0), inset: Length::mm(6.0), count: HoleCount::One };
    let plate = Size::new(Length::mm(width), Length::mm(height));
    TieOnStock { plate, holes, punching: Punching::ToDo, dpi: 600 }
}

/// The stocks of plain paper, and a usual sheet of labels: all four lines, so far apart, the symbol as asked for, the code large.
#[test]
fn usual_stock_leaves_room_for_a_pen() {
    let (bench, label) = (Bench::new(), blank("7KF4", Some("HTTP://MARSHHEN.LOCAL:7117/7KF4")));
    let fitting = Fitting { diameter: Diameter::assumed(), ..bench.blank(&label) };
    let of_flag = |width, height| flag::fit(&fitting, &flag_of(width, height)).expect("fits");
    for (fitted, apart) in [
        (of_flag(60.0, 24.0), 4.5),
        (of_flag(63.5, 33.9), 6.0),
        (tie_on::fit(&fitting, &plate_of(60.0, 30.0)).expect("fits"), 5.0),
    ] {
        let (Facts { symbol, symbol_note, dropped, .. }, lines) = (fitted.facts, lines(&fitted.frame));
        assert!(symbol.is_some() && symbol_note.is_none() && dropped.is_empty());
        assert_eq!(lines.len(), 4, "function, here, there, colour");
        assert!(pitch(&lines) >= Some(Length::mm(apart)), "{:?} instead of {apart}", pitch(&lines));
        assert!(lines.iter().all(|(from, to)| to.x - from.x >= Length::mm(14.0)), "{lines:?}");
        let codes = fitted.frame.items.iter().filter_map(|item| match item {
            Item::Text(text) if text.face == super::Face::Code => {
                Some(bench.fonts.typeface(text.face).units(bench.fonts.typeface(text.face).cap_height, text.em))
            }
            _ => None,
        });
        assert!(codes.max().expect("a code") >= Length::mm(4.0));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    /// Whatever the stock: what lines there are can be written on, and nothing stands in their way.
    #[test]
    fn lines_are_long_and_far_enough_apart(
        width in 20.0..110.0_f64,
        height in 8.0..70.0_f64,
        diameter in 0.8..9.0_f64,
        has_symbol: bool,
        is_plate: bool,
    ) {
        let (bench, label) = (Bench::new(), blank("7KF4", has_symbol.then_some(LINK)));
        let fitting = Fitting { diameter: measured(diameter), ..bench.blank(&label) };
        let (fitted, stock) = (flag::fit(&fitting, &flag_of(width, height)), flag_of(width, height));
        let fitted = if is_plate { tie_on::fit(&fitting, &plate_of(width, height)) } else { fitted };
        let Ok(fitted) = fitted else { return Ok(()) };
        let faces = flag::Geometry::new(&stock, Length::mm(diameter)).faces().map(|(face, _)| face);
        samples::holds_together(&fitted, &bench, 600, |area| is_plate || faces.iter().any(|face| face.holds(area)));
        let lines = lines(&fitted.frame);
        prop_assert!(lines.iter().all(|(from, to)| to.x - from.x >= WRITING_LENGTH), "{lines:?}");
        prop_assert!(pitch(&lines).is_none_or(|pitch| pitch >= Length::mm(4.2)), "{lines:?}");
    }
}
