//! MODULES OF A SYMBOL -> WHAT A PHONE SEES OF THEM.
//!
//! The readability trial of `loomtag` asks how often a tag that is just within the rules can be read. This crate makes the
//! pictures, gray and one byte a pixel, from a seed: the same seed gives the same picture. It is a crate of its own only so that its
//! loops over pixels are optimised where the tests are not, and it depends on nothing.
//!
//! One model serves all kinds of symbols; its ranges are in [`Conditions`], each with its reason.
//!
//! - `chance`: numbers drawn from a seed
//! - `print`: modules to ink on dots
//! - `scene`: the printed surface, flat or round a wire, as a ray from the lens meets it
//! - `exposure`: blur, light, noise: what the sensor makes of the scene

mod chance;
mod exposure;
mod print;
mod scene;

use chance::Chance;

/// A symbol as it is handed to the printer.
#[derive(Clone, Debug)]
pub struct Symbol<'a> {
    /// Modules a row.
    pub columns: usize,
    /// Rows.
    pub rows: usize,
    /// Row by row from the top left.
    pub dark: &'a [bool],
    /// Modules that are kept free round it.
    pub quiet: usize,
    /// Size of a module, mm: on the finished tag.
    pub module: f64,
    /// Printer dots that make a module. Where they are not whole, modules are drawn with the dots whose middles they hold.
    pub module_dots: f64,
}

/// What the symbol stands on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Ground {
    /// The face of a flag.
    Flat,
    /// A shrunk sleeve; the rows of the symbol run along the wire.
    Round {
        /// Outside diameter of the finished sleeve, mm.
        diameter: f64,
    },
}

/// Gray pixels, row by row from the top left.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Picture {
    /// Pixels a row.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// 0 is black, 255 is white.
    pub luma: Vec<u8>,
}

/// From and to: anything between is as likely.
pub type Range = (f64, f64);

/// In what way print, hand and phone fall short. A picture draws one value out of each range.
#[derive(Clone, Debug)]
pub struct Conditions {
    /// Width by which ink goes over its edge (or stays behind it), mm. Toner and ink spread by 10 to 40 µm, a thin thermal
    /// print loses 10 (from memory).
    pub gain: Range,
    /// Standard deviation of each dot's own edge, mm (from memory: toner grains have 5 to 10 µm and lie in clumps).
    pub ragged: Range,
    /// Share of dots that stayed white (a worn ribbon, dust).
    pub lost_dots: Range,
    /// Reflectance of paper, film or tube: white paper has 0.85, white and yellow tube 0.6 to 0.8 (from memory).
    pub paper: Range,
    /// Reflectance of ink: toner 0.05, thin ribbon print 0.15 (from memory).
    pub ink: Range,
    /// By what factor a sleeve's circumference shrinks on its wire: 2:1 tube within its good fit, computed.
    pub shrink: Range,
    /// By what factor it comes out larger or smaller than reckoned, round the wire (walls and fits of tubes vary by as much).
    pub shrink_error: Range,
    /// By what factor its length changes (tube standards allow 5 % and more).
    pub length_change: Range,
    /// Distance of the lens, mm.
    pub distance: Range,
    /// Width of the picture by the distance: 1.2 to 1.35 is a lens of 29 to 26 mm in terms of 35 mm film, computed.
    pub field: Range,
    /// Angle by which the phone is not held straight above, degrees; its direction is any.
    pub tilt: Range,
    /// Angle by which the phone is turned from level or upright, degrees.
    pub roll: Range,
    /// Width of the lens's opening, mm: 4.2 mm at f/1.8 up to 5.7 mm at f/1.6, computed.
    pub opening: Range,
    /// Distance between what is in focus and the tag, mm.
    pub focus_error: Range,
    /// Way of the tag in the picture while the shutter is open, mm: 10 mm/s of two unsupported hands times 1/100 to 1/30 s.
    pub motion: Range,
    /// Standard deviation of the lens's and the sensor's own blur, pixels (colour filter of 2 by 2, common practice).
    pub softness: Range,
    /// By how much of its mean the light changes over 10 mm.
    pub gradient: Range,
    /// How much of the light a shadow's edge across the tag takes.
    pub shadow: Range,
    /// Angle between lamp and lens, degrees.
    pub lamp: Range,
    /// Share of the light that comes from all sides.
    pub ambient: Range,
    /// Light that the gloss of film or tube throws back at the worst angle, by that of a white surface.
    pub gloss: Range,
    /// How bright the lightest part of the tag is in the picture, of the most the sensor can tell.
    pub exposure: Range,
    /// Standard deviation of the noise in white, of white. In black it is half of that.
    pub noise: Range,
}

/// Pixels of the picture's longer side: 12 megapixels, 4 to 3.
const PIXELS_ACROSS: f64 = 4000.0;

/// What the phone sees of the symbol and of 2 to 3 mm round its quiet zone.
pub fn photograph(symbol: &Symbol, ground: Ground, conditions: &Conditions, seed: u64) -> Picture {
    let mut chance = Chance::new(seed);
    let printed = print::print(symbol, ground, conditions, &mut chance);
    let scene = scene::Scene::arrange(&printed, ground, conditions, &mut chance);
    exposure::expose(&scene, conditions, &mut chance)
}
