//! A tag to try a stock with: words of the example job, fitted to any stock.
//!
//! In: a stock. Out: the tag that this stock is for: a flag, wrap or tie-on on labels, a sleeve on tube, a strip on
//! paper; or why there can be none.

use std::path::Path;

use super::failure::RunFailure;
use super::picture::{self, Drawn};
use super::settings::{LONGEST_SLEEVE, LONGEST_STRIP};
use crate::base::{EndLetter, Length, Place, Purpose, Size, TagCode, WireColour};
use crate::codes::link::Payload;
use crate::labels::{Field, Label, TagName, Wire, Wording};
use crate::layout::flag::{self, FlagStock, Posture};
use crate::layout::sleeve::{self, SleeveStock};
use crate::layout::strip::{self, StripStock};
use crate::layout::text::Fonts;
use crate::layout::tie_on::{self, TieOnStock};
use crate::layout::wrap::{self, WrapStock};
use crate::layout::{Facts, Fitted, Fitting, Floors, Refusal, wire};
use crate::pages::{self, Geometry, LabelForm, Stock};

/// Diameter of the wire that flags are tried on: thin-wall 0.75 mm² is about as thick (common practice).
const FLAG_ON: Length = Length::nm(2_400_000);
/// Diameter of the wire that strips are tried on: thick enough for more than the code.
const STRIP_ON: Length = Length::nm(5_000_000);

/// What a sample shows.
#[derive(Clone, Debug)]
pub struct Sample {
    /// How it fits.
    pub facts: Facts,
    /// What was drawn.
    pub drawn: Drawn,
}

/// Draws a sample on a stock, as a PNG.
///
/// # Errors
/// [`RunFailure`] when the file cannot be written. The answer itself is a [`Refusal`] where the stock takes no tag.
pub fn draw(stock: &Stock, dpi: u16, path: &Path) -> Result<Result<Sample, Refusal>, RunFailure> {
    let (label, fitted) = made(stock, dpi);
    let Fitted { frame, facts } = match fitted {
        Ok(fitted) => fitted,
        Err(refusal) => return Ok(Err(refusal)),
    };
    let drawn = picture::draw((stock, 0), &frame, &label.name.to_string(), dpi, &[], path)?;
    Ok(Ok(Sample { facts, drawn }))
}

/// The sample on the first wire on which it can be made.
fn made(stock: &Stock, dpi: u16) -> (Label, Result<Fitted, Refusal>) {
    let made = |diameter| {
        let label = label(stock, diameter);
        let fitted = fit(stock, &label, dpi);
        (label, fitted)
    };
    let [first, others @ ..] = wires(stock);
    others.into_iter().fold(made(first), |best, diameter| if best.1.is_ok() { best } else { made(diameter) })
}

/// Diameters of wires to try it on.
fn wires(stock: &Stock) -> [Length; 2] {
    match (stock.geometry(), stock.form(0)) {
        (Geometry::Sheet(_) | Geometry::Roll(_), LabelForm::Plain | LabelForm::Plate(_)) => [FLAG_ON; 2],
        // The printed block goes round it once.
        (Geometry::Sheet(_) | Geometry::Roll(_), LabelForm::Wrap { print }) => {
            [print.scaled(1.0 / std::f64::consts::PI) - stock.thickness(); 2]
        }
        // The middle of what the tube fits well, then its end (`TubeSize::fit`): the finest tube has room for letters only there.
        (Geometry::Tube(tube), _) => {
            let [least, most] = [tube.size().recovered.scaled(1.1), tube.size().expanded.scaled(0.8)];
            [(least + most).half(), most]
        }
        (Geometry::Paper(_), _) => [STRIP_ON; 2],
    }
}

fn fit(stock: &Stock, label: &Label, dpi: u16) -> Result<Fitted, Refusal> {
    let fonts = Fonts::new();
    let floors = Floors::default().at(dpi, &fonts);
    let named = if label.purpose == Purpose::Work { "flat" } else { "round" };
    let wording = Wording::builtin(named).expect("it comes with the program");
    let diameter = wire::diameter(&label.wires, None);
    let fitting = Fitting { fonts: &fonts, floors: &floors, label, wording: &wording, diameter };
    match stock.geometry() {
        Geometry::Sheet(sheet) => fit_label(&fitting, stock, sheet.groups()[0].slice(), dpi),
        Geometry::Roll(roll) => fit_label(&fitting, stock, roll.label(), dpi),
        Geometry::Tube(tube) => {
            let tubes = vec![tube.size().clone()];
            sleeve::fit(&fitting, &SleeveStock { tubes, longest: LONGEST_SLEEVE, dpi }).map(|sleeve| sleeve.tag)
        }
        Geometry::Paper(_) => {
            let tubes = pages::builtin().iter().filter_map(|(name, _)| Stock::builtin(name));
            let clear_tubes = tubes.filter_map(|stock| Some(stock.tube()?.size().clone())).collect();
            strip::fit(&fitting, &StripStock { thickness: stock.thickness(), clear_tubes, longest: LONGEST_STRIP, dpi })
        }
    }
}

fn fit_label(fitting: &Fitting<'_>, stock: &Stock, label: Size, dpi: u16) -> Result<Fitted, Refusal> {
    let (thickness, punching) = (stock.thickness(), stock.punching());
    match stock.form(0) {
        LabelForm::Plain => flag::fit(fitting, &FlagStock { label, thickness, posture: Posture::Standing, dpi }),
        LabelForm::Wrap { print } => wrap::fit(fitting, &WrapStock { label, print, thickness, dpi }),
        LabelForm::Plate(holes) => tie_on::fit(fitting, &TieOnStock { plate: label, holes, punching, dpi }),
    }
}

/// The example's rail pressure signal at the engine control unit.
fn label(stock: &Stock, diameter: Length) -> Label {
    let purpose = if stock.label(0).is_some() { Purpose::Work } else { Purpose::Final };
    let code = TagCode::from_typed("7KF4").expect("it is a code");
    let letters = vec![EndLetter::FIRST];
    let (function, place, route) = ("rail pressure signal", "J1/14", "J1/14-X3P/2");
    let fields = [
        (Field::Function, vec![function]),
        (Field::Here, vec!["J1 / 14"]),
        (Field::There, vec!["X3P / 2"]),
        (Field::Conductor, vec!["BU/WH", "0.5 mm²"]),
        (Field::Circuit, vec!["E14"]),
        (Field::Branch, vec!["ENG-LOOM"]),
    ];
    let parts = |parts: Vec<&str>| parts.into_iter().map(str::to_owned).collect();
    Label {
        payload: Some(Payload::Text.text(code, &letters, &[function, route], 38)),
        name: TagName::Ends { code, letters },
        purpose,
        place: Place::from_typed(place),
        fields: fields.into_iter().map(|(field, known)| (field, parts(known))).collect(),
        colour: WireColour::from_cell("BU/WH"),
        bands: Vec::new(),
        wires: vec![Wire { measured: Some(diameter), ..Wire::default() }],
        at: None,
        wish: None,
        action: None,
        supply: None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every stock that comes with the program takes a tag, but for the smallest labels.
    #[test]
    fn every_stock_takes_the_sample() {
        for (name, _) in pages::builtin() {
            let stock = Stock::builtin(name).expect("builtin");
            for dpi in [203, 600] {
                let (_, fitted) = made(&stock, dpi);
                // Too short to be folded round a wire; they are good for hand-written codes.
                let is_small = ["a4-189-25x10"].contains(name);
                assert_eq!(fitted.is_ok(), !is_small, "{name} at {dpi}: {fitted:?}");
            }
        }
    }
}
