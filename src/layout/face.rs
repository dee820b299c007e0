//! The typefaces of the `fonts` folder: their bytes; and the metrics that fitting needs, read from the fonts themselves.

use harfrust::{Font, ShaperFont};

use super::frame::Face;
use crate::base::Length;

impl Face {
    /// All faces of the repository.
    pub const ALL: [Self; 3] = [Self::Words, Self::Strong, Self::Code];

    /// The font file; `None` for a fallback, which the job brings.
    pub const fn bytes(self) -> Option<&'static [u8]> {
        match self {
            Self::Words => Some(include_bytes!("../../fonts/FiraSansCondensed-Medium.ttf")),
            Self::Strong => Some(include_bytes!("../../fonts/FiraSansCondensed-Bold.ttf")),
            Self::Code => Some(include_bytes!("../../fonts/AtkinsonHyperlegibleNext_700Bold.ttf")),
            Self::Fallback(_) => None,
        }
    }
}

/// A face opened for measuring.
pub struct Typeface {
    font: Font,
    /// Units of the em square.
    pub units_per_em: i32,
    /// Height of the letter H above the baseline, in units: point size is not letter height.
    ///
    /// A face without an H is set so that it goes with the capitals of others: by the height that its OS/2 table gives for
    /// capitals, else by its ideographs, see [`IDEOGRAPH`], else by [`USUAL_CAP`].
    pub cap_height: i32,
    /// How far the lowest common letters (g j p q y) reach below the baseline, in units, as a positive number.
    pub descent: i32,
    /// Width of an upright stem (measured on the vertical bar), in units; zero in a face without one.
    pub stem: i32,
}

/// Ink of an ideograph (U+6C34) against capitals' height, as in faces that have both (1.15 to 1.25, common practice): an
/// ideograph needs more room than a capital to be read.
const IDEOGRAPH: f64 = 1.2;
/// Capitals' height against the em where a face tells nothing (common practice).
const USUAL_CAP: f64 = 0.7;

impl Typeface {
    /// Measures a font.
    pub fn new(font: Font) -> Self {
        let shaper = ShaperFont::new(&font);
        let extents = |letter: char| shaper.nominal_glyph(letter.into()).and_then(|glyph| shaper.glyph_extents(glyph));
        let units_per_em = i32::from(font.units_per_em());
        let of_em = |height: i32| f64::from(height) / f64::from(units_per_em);
        let heights = [
            extents('H').map(|extents| extents.y_bearing),
            font.metrics().cap_height.map(|height| height.to_f64() as i32),
            extents('\u{6C34}').map(|extents| (f64::from(extents.height.saturating_abs()) / IDEOGRAPH) as i32),
        ];
        // What is far from any letter's height is an error of the file, or a sign in the letter's place.
        let sound = heights.into_iter().flatten().find(|&height| (0.3..=1.5).contains(&of_em(height)));
        let cap_height = sound.unwrap_or((f64::from(units_per_em) * USUAL_CAP) as i32);
        let lowest =
            |letter| extents(letter).map(|extents| extents.height.saturating_abs().saturating_sub(extents.y_bearing));
        let descent = ['g', 'j', 'p', 'q', 'y'].into_iter().filter_map(lowest).max().unwrap_or(0);
        let stem = extents('|').map_or(0, |extents| extents.width.saturating_abs());
        Self { units_per_em, cap_height, descent, stem, font }
    }

    /// The font.
    pub const fn font(&self) -> &Font {
        &self.font
    }

    /// Size of the em square at which capitals are as high as `cap`.
    pub fn em_for_cap(&self, cap: Length) -> Length {
        cap.scaled(f64::from(self.units_per_em) / f64::from(self.cap_height))
    }

    /// A distance of so many units when the em square has this size.
    pub fn units(&self, units: i32, em: Length) -> Length {
        em.scaled(f64::from(units) / f64::from(self.units_per_em))
    }
}
