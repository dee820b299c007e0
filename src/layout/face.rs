//! The typefaces of the `fonts` folder: their bytes and the metrics that fitting needs, read from the fonts themselves.

use harfrust::{Font, ShaperFont};

use super::frame::Face;
use crate::base::Length;

impl Face {
    /// All faces.
    pub const ALL: [Self; 3] = [Self::Words, Self::Strong, Self::Code];

    /// The font file.
    pub fn bytes(self) -> &'static [u8] {
        match self {
            Self::Words => include_bytes!("../../fonts/FiraSansCondensed-Medium.ttf"),
            Self::Strong => include_bytes!("../../fonts/FiraSansCondensed-Bold.ttf"),
            Self::Code => include_bytes!("../../fonts/AtkinsonHyperlegibleNext_700Bold.ttf"),
        }
    }
}

/// A face opened for measuring.
pub struct Typeface {
    font: Font,
    /// Units of the em square.
    pub units_per_em: i32,
    /// Height of the letter H above the baseline, in units: point size is not letter height.
    pub cap_height: i32,
    /// How far the lowest common letters (g j p q y) reach below the baseline, in units, as a positive number.
    pub descent: i32,
    /// Width of an upright stem (measured on the vertical bar), in units.
    pub stem: i32,
}

impl Typeface {
    /// Opens the face of this file.
    pub fn open(face: Face) -> Self {
        let font = Font::new(face.bytes(), 0).expect("the fonts of this repository are sound");
        let shaper = ShaperFont::new(&font);
        let extents = |letter: char| {
            let glyph = shaper.nominal_glyph(letter.into()).expect("the fonts of this repository have A to Z");
            shaper.glyph_extents(glyph).expect("letters have an outline")
        };
        let cap_height = extents('H').y_bearing;
        let lowest = |letter| extents(letter).height.abs() - extents(letter).y_bearing;
        let descent = ['g', 'j', 'p', 'q', 'y'].into_iter().map(lowest).max().unwrap_or(0);
        let stem = extents('|').width.abs();
        let units_per_em = i32::from(font.units_per_em());
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
