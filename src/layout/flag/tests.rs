//! Flags folded in arithmetic, and properties of what stands on them.

use super::*;
use crate::base::{Length, Size, Turn};
use crate::labels::Field;
use crate::layout::Diameter;
use crate::layout::frame::Item;
use crate::layout::samples::{self, Bench, LINK, label, measured};
use proptest::prelude::*;

fn stock(width: f64, height: f64, posture: Posture) -> FlagStock {
    let label = Size::new(Length::mm(width), Length::mm(height));
    FlagStock { label, thickness: Length::mm(0.1), posture, dpi: 600 }
}

/// The worked label of the design: 38.1 x 21.2 mm, 0.1 mm thick, on a wire of 2.4 mm.
#[test]
fn a_small_label_stands_but_does_not_hang() {
    let across = Geometry::new(&stock(38.1, 21.2, Posture::Standing), Length::mm(2.4));
    let hanging = Geometry::new(&stock(38.1, 21.2, Posture::Hanging), Length::mm(2.4));
    assert_eq!(format!("{:.1} {:.1}", across.face, hanging.face), "14.6 mm 6.2 mm");
    let bench = Bench::new();
    let label = label("rail pressure signal", Some(LINK));
    let standing = fit(&bench.flat(&label), &stock(38.1, 21.2, Posture::Standing));
    assert!(standing.is_ok(), "{standing:?}");
    let refusal = fit(&bench.flat(&label), &stock(38.1, 21.2, Posture::Hanging)).unwrap_err();
    assert_eq!(
        refusal.to_string(),
        "a wire of 2.4 mm leaves faces of 6.2 mm on a label 21.2 mm long; a flag needs faces of 12 mm, that is a \
         label at least 32.9 mm long; a standing flag (`posture = \"standing\"`) would do"
    );
    let upright = fit(&bench.flat(&label), &stock(21.2, 38.1, Posture::Standing)).unwrap_err().to_string();
    assert!(upright.ends_with("; a hanging flag (`posture = \"hanging\"`) would do"), "{upright}");
    let small = fit(&bench.flat(&label), &stock(21.2, 20.0, Posture::Standing)).unwrap_err().to_string();
    assert!(!small.contains("would do;") && !small.contains("posture"), "{small}");
}

/// Folds the label in arithmetic: the plane of the print, its right and its up are turned about the wire by half a
/// turn for the far face, and whoever looks at that face from behind must see text upright.
#[test]
fn both_faces_read_upright_after_folding() {
    let bench = Bench::new();
    for posture in [Posture::Standing, Posture::Hanging] {
        let stock = stock(63.5, 63.5, posture);
        let label = label("rail pressure signal", Some(LINK));
        let geometry = Geometry::new(&stock, Length::mm(2.4));
        let fitted = fit(&bench.flat(&label), &stock).unwrap();
        let [near, far] = geometry.faces();
        let mut seen = [0, 0];
        for item in &fitted.frame.items {
            let Item::Text(text) = item else { continue };
            // Right and up of the text in the flat label, y downwards, z out of the print.
            let (right, up) = match text.turn {
                Turn::Upright => ([1, 0], [0, -1]),
                Turn::Clockwise => ([0, 1], [1, 0]),
                Turn::Half => ([-1, 0], [0, 1]),
                Turn::Anticlockwise => ([0, -1], [-1, 0]),
            };
            let is_near = near.0.holds(&text.bounds);
            assert!(is_near || far.0.holds(&text.bounds), "text stays on its face");
            // Folding about the wire mirrors the coordinate across it; whoever walks round to the back sees left and
            // right exchanged once more.
            let seen_by_reader = |v: [i32; 2]| match (is_near, posture) {
                (true, _) => v,
                (false, Posture::Standing) => [-(-v[0]), v[1]],
                (false, Posture::Hanging) => [-v[0], -v[1]],
            };
            assert_eq!((seen_by_reader(right), seen_by_reader(up)), ([1, 0], [0, -1]), "{posture:?}");
            seen[usize::from(!is_near)] += 1;
        }
        assert!(seen[0] > 2 && seen[1] > 2, "both faces carry text: {seen:?}");
    }
}

#[test]
fn an_unknown_diameter_is_assumed_and_told() {
    let (bench, label) = (Bench::new(), label("rail pressure signal", None));
    let fitting = Fitting { diameter: Diameter::assumed(), ..bench.flat(&label) };
    let fitted = fit(&fitting, &stock(63.5, 33.9, Posture::Standing)).unwrap();
    assert_eq!(fitted.facts.diameter, Diameter::Assumed(Length::mm(3.0)));
}

#[test]
fn a_line_that_cannot_be_drawn_is_left_out_and_told() {
    let fitted = fit(&Bench::new().flat(&label("油圧", None)), &stock(63.5, 33.9, Posture::Standing));
    let facts = fitted.unwrap().facts;
    let told: Vec<String> = facts.undrawable.iter().map(|(field, why)| format!("{}: {why}", field.word())).collect();
    assert_eq!(
        told,
        [
            "function: the fonts have no `油` (U+6CB9); name a font file that has it under `[fonts] fallback` in job.toml"
        ]
    );
}

#[test]
fn a_word_too_long_takes_no_other_line_along() {
    let long = "Kraftstoffvorlaufdrucküberwachungsschalter".repeat(3);
    let fitted = fit(&Bench::new().flat(&label(&long, None)), &stock(63.5, 33.9, Posture::Standing));
    assert_eq!(fitted.unwrap().facts.dropped, [Field::Function]);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn a_fitted_flag_holds_together(
        width in 20.0..110.0_f64,
        height in 8.0..70.0_f64,
        diameter in 0.8..9.0_f64,
        words in "[a-zA-Zäöü]{1,12}( [a-z]{1,10}){0,6}",
        has_symbol: bool,
        hangs: bool,
        dpi in prop::sample::select(vec![203_u16, 300, 600]),
    ) {
        let posture = if hangs { Posture::Hanging } else { Posture::Standing };
        let stock = FlagStock { dpi, ..stock(width, height, posture) };
        let label = label(&words, has_symbol.then_some(LINK));
        let bench = Bench::new();
        let fitting = Fitting { diameter: measured(diameter), ..bench.flat(&label) };
        let fitted = fit(&fitting, &stock);
        prop_assert_eq!(fitted.is_ok(), surely_fits(&fitting, &stock));
        let Ok(fitted) = fitted else { return Ok(()) };

        let faces = Geometry::new(&stock, Length::mm(diameter)).faces().map(|(face, _)| face);
        samples::holds_together(&fitted, &bench, dpi, |area| faces.iter().any(|face| face.holds(area)));
    }

    #[test]
    fn a_larger_label_never_says_less(
        width in 36.0..80.0_f64,
        height in 12.0..50.0_f64,
        wider in 0.0..20.0_f64,
        higher in 0.0..20.0_f64,
    ) {
        let bench = Bench::new();
        let label = label("rail pressure sensor signal to control unit", Some(LINK));
        let fit = |width, height| fit(&bench.flat(&label), &stock(width, height, Posture::Standing)).ok();
        if let Some(small) = fit(width, height) {
            let large = fit(width + wider, height + higher).expect("a larger label fits too");
            prop_assert!(large.facts.dropped.len() <= small.facts.dropped.len());
            prop_assert!(large.facts.symbol.is_some() >= small.facts.symbol.is_some());
        }
    }
}
