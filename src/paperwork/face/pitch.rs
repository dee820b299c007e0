//! Measures on a face in pitches: from one cavity to the next is one. How large a pitch is on paper is for the drawing to say.

use std::ops::{Add, Div, Mul, Sub};

/// A measure in pitches; whole thousandths inside, so that mirroring twice gives the same again.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Pitches(i64);

impl Pitches {
    /// None at all.
    pub const ZERO: Self = Self(0);
    /// From one cavity to the next.
    pub const ONE: Self = Self(1000);
    /// Half of that.
    pub const HALF: Self = Self(500);

    /// From thousandths of a pitch.
    pub const fn thousandths(thousandths: i64) -> Self {
        Self(thousandths)
    }

    /// From a number of pitches, rounded to the nearest thousandth.
    pub fn of(pitches: f64) -> Self {
        Self((pitches * 1000.0).round() as i64)
    }

    /// As a number of pitches.
    pub fn count(self) -> f64 {
        self.0 as f64 / 1000.0
    }
}

impl Add for Pitches {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl Sub for Pitches {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl Mul<i64> for Pitches {
    type Output = Self;
    fn mul(self, times: i64) -> Self {
        Self(self.0 * times)
    }
}

impl Div<i64> for Pitches {
    type Output = Self;
    fn div(self, parts: i64) -> Self {
        Self(self.0 / parts)
    }
}

/// The place of a cavity on a face.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct PitchArea {
    /// From the left edge of the face.
    pub left: Pitches,
    /// From its top edge.
    pub top: Pitches,
    /// Width.
    pub width: Pitches,
    /// Height.
    pub height: Pitches,
}

impl PitchArea {
    /// Its right edge.
    pub fn right(&self) -> Pitches {
        self.left + self.width
    }

    /// Its bottom edge.
    pub fn bottom(&self) -> Pitches {
        self.top + self.height
    }

    /// From the left edge of the face to its middle.
    pub const fn middle_across(&self) -> Pitches {
        Pitches(self.left.0 + self.width.0 / 2)
    }

    /// From the top edge of the face to its middle.
    pub const fn middle_down(&self) -> Pitches {
        Pitches(self.top.0 + self.height.0 / 2)
    }

    /// The same place on a face of this width, as seen from the other side.
    #[must_use]
    pub fn mirrored(&self, face: Pitches) -> Self {
        Self { left: face - self.right(), ..*self }
    }

    /// Whether the two share more than an edge.
    pub fn overlaps(&self, other: &Self) -> bool {
        self.left < other.right() && other.left < self.right() && self.top < other.bottom() && other.top < self.bottom()
    }
}
