//! MODULES OF A SYMBOL -> WHAT A PHONE SEES OF THEM.
//!
//! The readability trial of `loomtag` asks how often a tag that is just within the rules can be read. This crate makes the
//! pictures, gray and one byte a pixel, from a seed: the same seed gives the same picture. It is a crate of its own only so that its
//! loops over pixels are optimised where the tests are not, and it depends on nothing.
//!
//! One model serves all kinds of symbols; its ranges are in [`CONDITIONS`], each with its reason.
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
type Range = (f64, f64);

/// In what way print, hand and phone fall short. A picture draws one value out of each range.
struct Conditions {
    /// Width by which ink goes over its edge (or stays behind it), mm.
    gain: Range,
    /// Standard deviation of each dot's own edge, mm.
    ragged: Range,
    /// Share of dots that stayed white.
    lost_dots: Range,
    /// Reflectance of paper, film or tube.
    paper: Range,
    /// Reflectance of ink.
    ink: Range,
    /// By what factor a sleeve's circumference shrinks on its wire.
    shrink: Range,
    /// By what factor it comes out larger or smaller round the wire than reckoned.
    shrink_error: Range,
    /// By what factor a sleeve's length changes.
    length_change: Range,
    /// Distance of the lens, mm.
    distance: Range,
    /// Width of the picture by the distance.
    field: Range,
    /// Angle by which the lens is not straight above the middle of the symbol, degrees; its direction is any.
    tilt: Range,
    /// Angle by which the phone is turned from level or upright, degrees.
    roll: Range,
    /// Width of the lens's opening, mm.
    opening: f64,
    /// Distance between what is in focus and the tag, mm.
    focus_error: Range,
    /// Way of the tag before the lens while the shutter is open, mm; its direction is any.
    motion: Range,
    /// Standard deviation of the lens's and the sensor's own blur, pixels.
    softness: Range,
    /// By how much of its mean the light changes over 10 mm.
    gradient: Range,
    /// How much of the light the edge of a shadow across the tag takes.
    shadow: Range,
    /// Angle between lamp and lens, degrees.
    lamp: Range,
    /// Share of the light that comes from all sides.
    ambient: Range,
    /// Light that the gloss of film or tube throws back at the worst angle, by that of a white surface.
    gloss: Range,
    /// How bright the lightest part of the tag may be in the picture, of the most the sensor can tell.
    exposure: Range,
    /// Standard deviation of the noise in white, of white. In black it is half of that.
    noise: Range,
}

/// A careful user with the tag in one hand and a phone in the other, on a poor day: no picture is sharp, the blur is the
/// upper part of what such a user gets. "From memory" and "computed" say where a range is from.
const CONDITIONS: Conditions = Conditions {
    // Toner and ink spread by 10 to 40 µm, a thin thermal print loses 10 (from memory).
    gain: (-0.01, 0.04),
    // Grains of toner have 5 to 10 µm and lie in clumps (from memory).
    ragged: (0.005, 0.02),
    // A worn ribbon, dust (from memory).
    lost_dots: (0.0, 0.01),
    // White paper 0.85, white and yellow tube 0.6 to 0.8; toner 0.05, thin ribbon print 0.15 (from memory).
    paper: (0.6, 0.85),
    ink: (0.05, 0.15),
    // 2:1 tube within its good fit (computed).
    shrink: (0.5, 0.85),
    // Walls and diameters of tube and wire vary by some per cent (from memory). The rounding of a stretched module to whole dots
    // comes on top of it.
    shrink_error: (0.92, 1.08),
    // Tube standards allow 5 % and more (from memory).
    length_change: (0.95, 1.05),
    // Nearer, phones do not focus; farther, the user was told to come near.
    distance: (100.0, 150.0),
    // Lenses of 29 to 26 mm in terms of 35 mm film (computed): 20 to 33 pixels a mm.
    field: (1.2, 1.35),
    // The user turns the tag to the lens. Flags stand far more; round a wire 14x14 and QR 1 do not: see the trial.
    tilt: (0.0, 8.0),
    roll: (-15.0, 15.0),
    // Between 4.2 mm at f/1.8 and 5.7 mm at f/1.6 (computed).
    opening: 2.9,
    // Focus is set in steps and hands move on: about 10 mm in all (from memory). With this opening a point becomes
    // a disc of 0.15 to 0.32 mm.
    focus_error: (8.0, 11.0),
    // 6 to 10 mm/s of unsupported hands for 1/60 to 1/50 s (from memory).
    motion: (0.1, 0.2),
    // A colour filter of 2 by 2 pixels, smoothed over (common practice).
    softness: (0.7, 1.0),
    gradient: (0.0, 0.3),
    // That of the phone itself.
    shadow: (0.0, 0.4),
    lamp: (10.0, 60.0),
    // A lamp over a bench in a light room (from memory).
    ambient: (0.3, 0.7),
    // Satin, not shining, film and tube (from memory).
    gloss: (0.0, 0.2),
    exposure: (0.6, 1.0),
    // A phone indoors, before it smooths (from memory).
    noise: (0.01, 0.03),
};

/// Pixels of the picture's longer side: 12 megapixels, 4 to 3.
const PIXELS_ACROSS: f64 = 4000.0;

/// What the phone sees of the symbol and of 2 mm round it: that part of the picture.
pub fn photograph(symbol: &Symbol, ground: Ground, seed: u64) -> Picture {
    let mut chance = Chance::new(seed);
    let printed = print::print(symbol, ground, &CONDITIONS, &mut chance);
    let scene = scene::Scene::arrange(&printed, ground, &CONDITIONS, &mut chance);
    exposure::expose(&scene, &CONDITIONS, &mut chance)
}
