//! Lengths in whole nanometres, so that sums of pitches and gaps close exactly.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};

/// A length, position or distance; whole nanometres inside.
///
/// An `i64` of nanometres spans nine million kilometres, so sums on a sheet of paper cannot overflow.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Length(i64);

const NM_PER_MM: f64 = 1e6;
const NM_PER_INCH: f64 = 25.4e6;
/// PostScript point, 1/72 inch (ISO 32000-1, 8.3.2.3).
const NM_PER_PT: f64 = NM_PER_INCH / 72.0;

impl Length {
    /// No length at all.
    pub const ZERO: Self = Self(0);

    /// From whole nanometres.
    pub const fn nm(nanometres: i64) -> Self {
        Self(nanometres)
    }

    /// From millimetres, rounded to the nearest nanometre.
    pub fn mm(millimetres: f64) -> Self {
        Self((millimetres * NM_PER_MM).round() as i64)
    }

    /// From inches (25.4 mm exactly).
    pub fn inch(inches: f64) -> Self {
        Self((inches * NM_PER_INCH).round() as i64)
    }

    /// From points of 1/72 inch.
    pub fn pt(points: f64) -> Self {
        Self((points * NM_PER_PT).round() as i64)
    }

    /// Whole nanometres.
    pub const fn as_nm(self) -> i64 {
        self.0
    }

    /// Millimetres.
    pub fn as_mm(self) -> f64 {
        self.0 as f64 / NM_PER_MM
    }

    /// Inches.
    pub fn as_inch(self) -> f64 {
        self.0 as f64 / NM_PER_INCH
    }

    /// Points of 1/72 inch.
    pub fn as_pt(self) -> f64 {
        self.0 as f64 / NM_PER_PT
    }

    /// The same length without its sign.
    pub const fn abs(self) -> Self {
        Self(self.0.abs())
    }

    /// This length times a plain factor, rounded to the nearest nanometre.
    pub fn scaled(self, factor: f64) -> Self {
        Self((self.0 as f64 * factor).round() as i64)
    }

    /// How many times `other` goes into this length.
    pub fn ratio(self, other: Self) -> f64 {
        self.0 as f64 / other.0 as f64
    }

    /// The largest whole multiple of `step` that is not longer than this length.
    pub fn floor_to(self, step: Self) -> Self {
        if step.0 <= 0 {
            return self;
        }
        Self(self.0.div_euclid(step.0) * step.0)
    }

    /// Half of this length.
    pub const fn half(self) -> Self {
        Self(self.0 / 2)
    }
}

impl Add for Length {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl Sub for Length {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl Neg for Length {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}

impl Mul<i64> for Length {
    type Output = Self;
    fn mul(self, times: i64) -> Self {
        Self(self.0 * times)
    }
}

impl Div<i64> for Length {
    type Output = Self;
    fn div(self, parts: i64) -> Self {
        Self(self.0 / parts)
    }
}

impl AddAssign for Length {
    fn add_assign(&mut self, other: Self) {
        self.0 += other.0;
    }
}

impl SubAssign for Length {
    fn sub_assign(&mut self, other: Self) {
        self.0 -= other.0;
    }
}

impl Sum for Length {
    fn sum<I: Iterator<Item = Self>>(lengths: I) -> Self {
        lengths.fold(Self::ZERO, Add::add)
    }
}

/// Millimetres with at most two decimals, as a person would write them: `14.6 mm`.
impl fmt::Display for Length {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let hundredths = (self.as_mm() * 100.0).round() / 100.0;
        match f.precision() {
            Some(decimals) => write!(f, "{:.decimals$} mm", self.as_mm()),
            None => write!(f, "{hundredths} mm"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_agree() {
        assert_eq!(Length::inch(1.0), Length::mm(25.4));
        assert_eq!(Length::pt(72.0), Length::inch(1.0));
        assert_eq!(Length::mm(38.1).as_nm(), 38_100_000);
    }

    #[test]
    fn a4_in_points_as_iso_216_gives_it() {
        // 210 x 297 mm are 595.276 x 841.890 pt to a thousandth (computed).
        assert!((Length::mm(210.0).as_pt() - 595.276).abs() < 0.0005);
        assert!((Length::mm(297.0).as_pt() - 841.890).abs() < 0.0005);
    }

    #[test]
    fn floor_goes_to_whole_steps() {
        let dot = Length::inch(1.0 / 300.0);
        assert_eq!(Length::mm(0.35).floor_to(dot), dot * 4);
        assert_eq!(Length::mm(0.35).floor_to(Length::ZERO), Length::mm(0.35));
    }

    #[test]
    fn shown_as_written_by_hand() {
        assert_eq!(Length::mm(14.6).to_string(), "14.6 mm");
        assert_eq!(Length::mm(21.0).to_string(), "21 mm");
        assert_eq!(format!("{:.1}", Length::mm(21.0)), "21.0 mm");
    }
}
