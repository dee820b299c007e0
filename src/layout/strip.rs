//! Strips: paper or film cut from a sheet, laid along the wire under clear heat-shrink tube.

use std::f64::consts::PI;

use super::along::AlongWords;
use super::fit::{Diameter, Facts, Fitted, Floors, Kind, Refusal};
use super::frame::{Frame, Stretch};
use super::text::Fonts;
use super::tube::{self, TubeSize};
use crate::base::{Length, Point, Size};
use crate::labels::{Field, Label};

/// White at both ends of a strip.
const MARGIN: Length = Length::nm(1_500_000);
/// White along both sides, so that a cut a little off takes no ink.
const SIDE: Length = Length::nm(250_000);
/// The clear tube reaches this far beyond each end of the strip.
const TUBE_BEYOND: Length = Length::nm(4_000_000);
/// A strip wider than this gains nothing: the line is as high as is wanted.
const WIDEST: Length = Length::nm(6_000_000);
/// Strips are cut to whole half millimetres, so that many share a guillotine line.
const CUT_STEP: Length = Length::nm(500_000);

/// Paper and clear tubes for strips.
#[derive(Clone, Debug)]
pub struct StripStock {
    /// Thickness of the paper or film.
    pub thickness: Length,
    /// Clear tubes at hand.
    pub clear_tubes: Vec<TubeSize>,
    /// Longest strip, before words are given up.
    pub longest: Length,
}

/// Fits a label to a strip half the wire's circumference wide: a wider one springs open.
///
/// # Errors
/// [`Refusal`] says why there can be no strip and what would do.
pub fn fit(fonts: &Fonts, floors: &Floors, label: &Label, stock: &StripStock) -> Result<Fitted, Refusal> {
    let words = AlongWords::of(fonts, label)?;
    let diameter = label.diameter.ok_or(Refusal::DiameterUnknown)?;
    let over_strip = diameter + stock.thickness * 2;
    let clear_tube = tube::choose(&stock.clear_tubes, over_strip).ok_or_else(|| Refusal::NoTube {
        diameter: over_strip,
        remedy: format!("clear: {}", tube::wanted_for(over_strip)),
    })?;
    let widest = diameter.scaled(0.5 * PI).min(WIDEST).floor_to(CUT_STEP);
    let room = Size::new(stock.longest - MARGIN * 2, widest - SIDE * 2);

    let (caps, kept) = words.largest(fonts, floors, room).ok_or_else(|| Refusal::CodeDoesNotFit {
        width: room.width,
        height: room.height,
        least: floors.round_least,
        remedy: "use a flag".to_owned(),
    })?;
    let measured = words.measure(fonts, kept, caps);
    let needed = measured.rise + measured.fall + SIDE * 2;
    let width = if needed.floor_to(CUT_STEP) == needed { needed } else { needed.floor_to(CUT_STEP) + CUT_STEP };
    let width = width.min(widest);
    let length = measured.length + MARGIN * 2;
    let baseline = (width - measured.rise - measured.fall).half() + measured.rise;
    let items = words.draw(fonts, kept, caps, Point::new(MARGIN, baseline), Stretch::NONE);
    let facts = Facts {
        kind: Kind::Strip,
        diameter: Diameter::Measured(diameter),
        code: caps.code,
        lines: (kept.lines > 0).then_some(caps.words),
        symbol: None,
        symbol_note: label.payload.is_some().then(|| format!("no symbol: a strip is {width} wide")),
        dropped: words.dropped(kept),
        undrawable: words.undrawable().to_vec(),
        shortened: if kept.function > 0 { vec![Field::Function] } else { Vec::new() },
        needs: Some(format!("clear {} tube, {:.0}", clear_tube.name, length + TUBE_BEYOND * 2)),
    };
    Ok(Fitted { frame: Frame { size: Size::new(length, width), items }, facts })
}
