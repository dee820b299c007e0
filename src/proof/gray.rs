//! Gray pixels.

/// A rectangle of whole pixels, its right and bottom edges not included.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pixels {
    /// First column.
    pub left: usize,
    /// First row.
    pub top: usize,
    /// Column after the last.
    pub right: usize,
    /// Row after the last.
    pub bottom: usize,
}

impl Pixels {
    /// Number of columns.
    pub fn width(&self) -> usize {
        self.right.saturating_sub(self.left)
    }

    /// Number of rows.
    pub fn height(&self) -> usize {
        self.bottom.saturating_sub(self.top)
    }

    /// The smallest rectangle that holds both.
    pub fn with(&self, other: &Self) -> Self {
        Self {
            left: self.left.min(other.left),
            top: self.top.min(other.top),
            right: self.right.max(other.right),
            bottom: self.bottom.max(other.bottom),
        }
    }
}

/// A gray picture: 0 is black, 255 is white.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Gray {
    /// Pixels a row.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// Row by row from the top left.
    pub luma: Vec<u8>,
}

impl Gray {
    /// The gray of a colour, by how bright each part looks (ITU-R BT.601).
    pub fn of_rgb([red, green, blue]: [u8; 3]) -> u8 {
        ((u32::from(red) * 77 + u32::from(green) * 150 + u32::from(blue) * 29) >> 8) as u8
    }

    /// One row of the rectangle's pixels.
    pub fn row(&self, row: usize, left: usize, right: usize) -> &[u8] {
        &self.luma[row * self.width + left..row * self.width + right]
    }

    /// The picture at half the size: each pixel the mean of four.
    pub fn halved(&self) -> Self {
        let (width, height) = (self.width / 2, self.height / 2);
        let mut luma = Vec::with_capacity(width * height);
        for row in 0..height {
            let upper = self.row(row * 2, 0, width * 2).chunks_exact(2);
            let lower = self.row(row * 2 + 1, 0, width * 2).chunks_exact(2);
            luma.extend(upper.zip(lower).map(|(upper, lower)| {
                // Spelled out: tests halve many pictures in a build that is not optimised.
                let sum = u16::from(upper[0]) + u16::from(upper[1]) + u16::from(lower[0]) + u16::from(lower[1]);
                ((sum + 2) / 4) as u8
            }));
        }
        Self { width, height, luma }
    }

    /// Paints a rectangle white; what lies outside the picture is left out.
    pub fn whiten(&mut self, area: &Pixels) {
        let right = area.right.min(self.width);
        if area.left >= right {
            return;
        }
        for row in area.top..area.bottom.min(self.height) {
            self.luma[row * self.width + area.left..row * self.width + right].fill(255);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn halving_takes_the_mean_and_drops_the_odd_edge() {
        let gray = Gray { width: 3, height: 2, luma: vec![0, 100, 9, 100, 200, 9] };
        assert_eq!(gray.halved(), Gray { width: 1, height: 1, luma: vec![100] });
    }

    #[test]
    fn whitening_stays_inside() {
        let mut gray = Gray { width: 2, height: 2, luma: vec![0; 4] };
        gray.whiten(&Pixels { left: 1, top: 1, right: 9, bottom: 9 });
        gray.whiten(&Pixels { left: 5, top: 0, right: 9, bottom: 9 });
        assert_eq!(gray.luma, [0, 0, 0, 255]);
    }
}
