//! Heat-shrink tube: which size goes on a wire, and how print on it shrinks.

use std::f64::consts::PI;

use crate::base::Length;

/// Edge of pressed-flat tube that takes no print: the fold is round there (common practice).
const FLAT_EDGE: Length = Length::nm(500_000);

/// A size of heat-shrink tube.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct TubeSize {
    /// Plain name of the size: `1/8 in 2:1`.
    pub name: String,
    /// Smallest inside diameter as supplied.
    pub expanded: Length,
    /// Largest inside diameter after free shrinking.
    pub recovered: Length,
    /// Nominal wall after free shrinking.
    pub recovered_wall: Length,
}

/// How well a tube suits a diameter.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum TubeFit {
    /// Does not go over, or does not shrink tight.
    No,
    /// Goes over and shrinks tight, but with little to spare.
    Hard,
    /// Shrinks by at least 20 % of the supplied size and keeps at least 10 % of its recovery unused.
    Good,
}

impl TubeSize {
    /// Whether the tube goes over a wire of this diameter and holds it.
    ///
    /// The hard rule is NASA-STD-8739.4 (change 6), 9.8.1: larger than the largest diameter of the object, and a tight fit
    /// after shrinking. The good fit, `1.1 recovered <= d <= 0.8 expanded`, is from a tubing maker's white paper, whose
    /// worked value is a 1 inch tube on 0.55 to 0.80 inch.
    pub fn fit(&self, diameter: Length) -> TubeFit {
        if !(self.recovered < diameter && diameter < self.expanded) {
            TubeFit::No
        } else if self.recovered.scaled(1.1) <= diameter && diameter <= self.expanded.scaled(0.8) {
            TubeFit::Good
        } else {
            TubeFit::Hard
        }
    }

    /// Wall when the inside has this diameter: the cross-section of the recovered tube, spread round it.
    pub fn wall_at(&self, inside: Length) -> Length {
        let (recovered, wall) = (self.recovered.as_mm(), self.recovered_wall.as_mm());
        // Area of a ring over pi is `wall (inside + wall)`, equal before and after.
        let ring = wall * (recovered + wall);
        let inside = inside.as_mm();
        Length::mm(((inside * inside + 4.0 * ring).sqrt() - inside) / 2.0)
    }

    /// Outside diameter over the finished sleeve on a wire of this diameter.
    pub fn outside_on(&self, diameter: Length) -> Length {
        diameter + self.wall_at(diameter) * 2
    }

    /// The factor by which print shrinks round the wire: outside circumference after shrinking over before.
    pub fn shrink_on(&self, diameter: Length) -> f64 {
        self.outside_on(diameter).ratio(self.outside_on(self.expanded))
    }

    /// Width of the room inside the tube when it is pressed flat.
    pub fn inner_lay_flat(&self) -> Length {
        self.expanded.scaled(PI / 2.0)
    }

    /// Width of the tube pressed flat, walls included.
    pub fn lay_flat(&self) -> Length {
        self.inner_lay_flat() + self.wall_at(self.expanded) * 2
    }

    /// Height of the area that takes print, in the middle of the flat tube.
    pub fn print_height(&self) -> Length {
        (self.inner_lay_flat() - FLAT_EDGE * 2).max(Length::ZERO)
    }
}

/// The best of some tubes for a diameter: a good fit before a hard one, the larger before the smaller. What it must slide over on
/// its way (a terminal, a seal) is smaller than the tube as supplied (NASA-STD-8739.4, 9.8.1).
pub fn choose(tubes: &[TubeSize], diameter: Length, slides_over: Option<Length>) -> Option<&TubeSize> {
    let passes = |tube: &&TubeSize| slides_over.is_none_or(|thing| thing < tube.expanded);
    let fitting = tubes.iter().filter(|tube| tube.fit(diameter) != TubeFit::No).filter(passes);
    fitting.max_by_key(|tube| (tube.fit(diameter), tube.expanded))
}

/// What to say when no tube at hand fits: what its two diameters would have to be.
pub fn wanted_for(diameter: Length, slides_over: Option<Length>) -> String {
    let expanded = diameter.scaled(1.0 / 0.8);
    let recovered = diameter.scaled(1.0 / 1.1);
    match slides_over.filter(|thing| *thing > expanded) {
        Some(thing) => format!(
            "a tube of more than {thing:.1} as supplied, to slide over what is there, that recovers to at most {recovered:.1} \
             would do"
        ),
        None => {
            format!("a tube of at least {expanded:.1} as supplied that recovers to at most {recovered:.1} would do")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tube(expanded: f64, recovered: f64, wall: f64) -> TubeSize {
        TubeSize {
            name: String::new(),
            expanded: Length::inch(expanded),
            recovered: Length::inch(recovered),
            recovered_wall: Length::inch(wall),
        }
    }

    /// Worked value of the white paper: a 1 inch tube covers 0.55 to 0.80 inch.
    #[test]
    fn good_fit_of_the_inch_tube() {
        let inch = tube(1.0, 0.5, 0.035);
        let fit = |diameter| inch.fit(Length::inch(diameter));
        assert_eq!((fit(0.55), fit(0.80)), (TubeFit::Good, TubeFit::Good));
        assert_eq!((fit(0.54), fit(0.81)), (TubeFit::Hard, TubeFit::Hard));
        assert_eq!((fit(0.50), fit(1.00)), (TubeFit::No, TubeFit::No));
    }

    /// A 1/8 inch tube (0.125/0.062/0.020) on a wire of 2.4 mm: print shrinks to 0.835 round the wire.
    #[test]
    fn shrink_of_the_eighth_inch_tube() {
        let eighth = tube(0.125, 0.062, 0.020);
        let shrink = eighth.shrink_on(Length::mm(2.4));
        assert!((shrink - 0.835).abs() < 0.001, "{shrink}");
        assert!((eighth.inner_lay_flat().as_mm() - 4.99).abs() < 0.005);
    }

    #[test]
    fn the_largest_good_fit_is_taken() {
        let tubes = [tube(0.125, 0.062, 0.020), tube(0.187, 0.093, 0.020), tube(0.250, 0.125, 0.025)];
        let chosen = |mm| choose(&tubes, Length::mm(mm), None).map(|tube| tube.expanded);
        assert_eq!(chosen(2.4), Some(Length::inch(0.125)));
        assert_eq!(chosen(3.6), Some(Length::inch(0.250)));
        assert_eq!(chosen(2.57), Some(Length::inch(0.187)), "only hard fits: the larger one");
        assert_eq!(chosen(9.0), None);
    }

    /// NASA-STD-8739.4 (change 6), 9.8.1: sleeving is larger than the largest diameter of the object it goes over.
    #[test]
    fn a_tube_passes_what_it_must_slide_over() {
        let tubes = [tube(0.125, 0.062, 0.020), tube(0.187, 0.093, 0.020), tube(0.250, 0.125, 0.025)];
        let chosen = |over: f64| choose(&tubes, Length::mm(2.4), Some(Length::mm(over))).map(|tube| tube.expanded);
        assert_eq!(chosen(3.0), Some(Length::inch(0.125)));
        assert_eq!(chosen(3.4), Some(Length::inch(0.187)), "a good fit no more, but it passes");
        assert_eq!(chosen(5.0), None, "the one that passes does not shrink tight");
        assert!(
            wanted_for(Length::mm(2.4), Some(Length::mm(5.0))).starts_with("a tube of more than 5.0 mm as supplied")
        );
    }

    /// The 2:1 sizes of `tests/data/heat_shrink.csv` (its source is named there) and both lay-flat columns.
    #[test]
    fn lay_flat_width_as_tabled() {
        let table = include_str!("../../tests/data/heat_shrink.csv");
        let mut rows = 0;
        for row in table.lines().filter(|line| line.contains(",2:1,")) {
            let cells: Vec<_> = row.split(',').collect();
            let mm = |column: usize| cells[column].parse::<f64>().expect("a number");
            let size = TubeSize {
                name: cells[0].to_owned(),
                expanded: Length::inch(mm(2)),
                recovered: Length::inch(mm(3)),
                recovered_wall: Length::inch(mm(7)),
            };
            assert!((size.inner_lay_flat().as_mm() - mm(12)).abs() < 0.006, "{row}: {}", size.inner_lay_flat());
            assert!((size.lay_flat().as_mm() - mm(13)).abs() < 0.006, "{row}: {}", size.lay_flat());
            rows += 1;
        }
        assert_eq!(rows, 12);
    }
}
