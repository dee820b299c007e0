//! PWG Raster (PWG 5102.4-2012), the picture format that every printer of IPP takes which does not take PDF.
//!
//! In: rows of pixels. Out: the format's bytes: a word, and for each page a head of 1796 bytes and its rows, packed.

use crate::base::Size;

/// The first four bytes of a file (PWG 5102.4, 4.2).
pub(super) const SYNC: [u8; 4] = *b"RaS2";
/// Length of the head of a page (PWG 5102.4, 4.3).
const HEAD: usize = 1796;

/// How pixels are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum PixelType {
    /// A bit a pixel, 1 is black.
    Black1,
    /// A byte a pixel, 255 is white.
    Gray8,
    /// Three bytes a pixel.
    Rgb8,
}

impl PixelType {
    /// Keywords of `pwg-raster-document-type-supported` (PWG 5102.4, 6.1).
    pub(super) const WORDS: [(&str, Self); 3] =
        [("black_1", Self::Black1), ("sgray_8", Self::Gray8), ("srgb_8", Self::Rgb8)];

    pub(super) fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(_, known)| *known == self).map_or("", |(word, _)| word)
    }

    /// Bits a pixel, colours a pixel, and the number of the colour space (PWG 5102.4, table 3).
    const fn numbers(self) -> (u32, u32, u32) {
        match self {
            Self::Black1 => (1, 1, 3),
            Self::Gray8 => (8, 1, 18),
            Self::Rgb8 => (24, 3, 19),
        }
    }

    /// Bytes of a row of so many pixels.
    pub(super) const fn row_bytes(self, width: usize) -> usize {
        match self {
            Self::Black1 => width.div_ceil(8),
            Self::Gray8 => width,
            Self::Rgb8 => width * 3,
        }
    }

    /// Bytes that are repeated together when a row is packed (PWG 5102.4, 4.4).
    const fn unit(self) -> usize {
        match self {
            Self::Black1 | Self::Gray8 => 1,
            Self::Rgb8 => 3,
        }
    }

    /// A row of red, green and blue as this type writes it.
    pub(super) fn row(self, rgb: &[u8]) -> Vec<u8> {
        let gray = |pixel: &[u8]| {
            let [red, green, blue] = [0, 1, 2].map(|part| u32::from(pixel[part]));
            ((red * 77 + green * 150 + blue * 29) >> 8) as u8
        };
        match self {
            Self::Rgb8 => rgb.to_vec(),
            Self::Gray8 => rgb.chunks_exact(3).map(gray).collect(),
            Self::Black1 => {
                let pixels: Vec<bool> = rgb.chunks_exact(3).map(|pixel| gray(pixel) < 128).collect();
                let byte = |bits: &[bool]| {
                    bits.iter().enumerate().fold(0, |byte, (bit, black)| byte | (u8::from(*black) << (7 - bit)))
                };
                pixels.chunks(8).map(byte).collect()
            }
        }
    }
}

/// What the head of a page tells.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct PageHead<'a> {
    pub(super) pixels: PixelType,
    pub(super) dpi: u16,
    /// Pixels across and down.
    pub(super) dots: (usize, usize),
    pub(super) size: Size,
    /// Name of the media size.
    pub(super) media: &'a str,
    /// How many pages follow in all.
    pub(super) pages: usize,
}

impl PageHead<'_> {
    /// The head's bytes; offsets are those of PWG 5102.4, table 2.
    pub(super) fn bytes(&self) -> Vec<u8> {
        let mut head = vec![0_u8; HEAD];
        let mut text = |at: usize, text: &str| {
            let text = &text.as_bytes()[..text.len().min(63)];
            head[at..at + text.len()].copy_from_slice(text);
        };
        text(0, "PwgRaster");
        text(1732, self.media);
        let mut number = |at: usize, value: u32| head[at..at + 4].copy_from_slice(&value.to_be_bytes());
        let whole = |value: usize| u32::try_from(value).unwrap_or(u32::MAX);
        let (bits, colours, space) = self.pixels.numbers();
        let points = |length: crate::base::Length| length.as_pt().round().max(0.0) as u32;
        number(276, self.dpi.into());
        number(280, self.dpi.into());
        number(352, points(self.size.width));
        number(356, points(self.size.height));
        number(372, whole(self.dots.0));
        number(376, whole(self.dots.1));
        number(384, bits / colours);
        number(388, bits);
        number(392, whole(self.pixels.row_bytes(self.dots.0)));
        number(400, space);
        number(420, colours);
        number(452, whole(self.pages));
        // Across and along the feed as it is: 1 means not mirrored.
        number(456, 1);
        number(460, 1);
        head
    }
}

/// Packs rows of one page as they come; equal rows that follow each other are written once.
#[derive(Debug)]
pub(super) struct Packer {
    pixels: PixelType,
    last: Option<(Vec<u8>, u8)>,
}

impl Packer {
    pub(super) const fn new(pixels: PixelType) -> Self {
        Self { pixels, last: None }
    }

    /// Takes a row.
    pub(super) fn row(&mut self, row: Vec<u8>, out: &mut Vec<u8>) {
        match &mut self.last {
            Some((last, again)) if *last == row && *again < u8::MAX => *again += 1,
            _ => {
                self.finish(out);
                self.last = Some((row, 0));
            }
        }
    }

    /// Writes what is held back.
    pub(super) fn finish(&mut self, out: &mut Vec<u8>) {
        if let Some((row, again)) = self.last.take() {
            out.push(again);
            pack(&row, self.pixels.unit(), out);
        }
    }
}

/// Packs a row (PWG 5102.4, 4.4.1): 0 to 127 before a unit repeats it once to 128 times, 129 to 255 goes before 128 to 2 units
/// that differ.
fn pack(row: &[u8], unit: usize, out: &mut Vec<u8>) {
    const MOST: usize = 128;
    let units: Vec<&[u8]> = row.chunks_exact(unit).collect();
    let mut at = 0;
    while at < units.len() {
        let same = units[at..].iter().take(MOST).take_while(|next| **next == units[at]).count();
        if same > 1 {
            out.push((same - 1) as u8);
            out.extend_from_slice(units[at]);
            at += same;
            continue;
        }
        // As many as differ from their neighbours.
        let rest = &units[at..units.len().min(at + MOST)];
        let pairs = rest.windows(2).take_while(|pair| pair[0] != pair[1]).count();
        let differing = if pairs + 1 == rest.len() { rest.len() } else { pairs.max(1) };
        if differing == 1 {
            out.push(0);
        } else {
            out.push((257 - differing) as u8);
        }
        out.extend(units[at..at + differing].iter().flat_map(|unit| unit.iter().copied()));
        at += differing;
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::base::Length;

    /// A reader of packed rows, written after the standard alone.
    fn unpack(mut packed: &[u8], row_bytes: usize, unit: usize) -> Vec<u8> {
        let mut rows = Vec::new();
        while let Some((again, rest)) = packed.split_first() {
            packed = rest;
            let mut row = Vec::new();
            while row.len() < row_bytes {
                let control = usize::from(packed[0]);
                packed = &packed[1..];
                assert_ne!(control, 128, "reserved");
                let (units, times) = if control < 128 { (1, control + 1) } else { (257 - control, 1) };
                for _ in 0..times {
                    row.extend_from_slice(&packed[..units * unit]);
                }
                packed = &packed[units * unit..];
            }
            assert_eq!(row.len(), row_bytes);
            for _ in 0..=*again {
                rows.extend_from_slice(&row);
            }
        }
        rows
    }

    /// The rows of the worked picture are our own; the form of the packed bytes is that of PWG 5102.4, 4.4.1.
    #[test]
    fn rows_are_packed_as_the_standard_says() {
        let mut packer = Packer::new(PixelType::Gray8);
        let mut out = Vec::new();
        for row in [[255, 255, 255, 255], [255, 255, 255, 255], [0, 1, 2, 2]] {
            packer.row(row.to_vec(), &mut out);
        }
        packer.finish(&mut out);
        assert_eq!(out, [1, 3, 255, 0, 255, 0, 1, 1, 2]);
    }

    #[test]
    fn dots_become_bits() {
        let rgb = [[0; 3], [255; 3], [127; 3], [128; 3], [255, 0, 0], [255; 3], [255; 3], [0; 3], [0; 3]].concat();
        assert_eq!(PixelType::Black1.row(&rgb), [0b1010_1001, 0b1000_0000]);
        assert_eq!(PixelType::Gray8.row(&rgb)[..2], [0, 255]);
    }

    #[test]
    fn the_head_has_its_length_and_names() {
        let size = Size { width: Length::mm(62.0), height: Length::mm(29.0) };
        let (pixels, media) = (PixelType::Black1, "custom_tag_62x29mm");
        let head = PageHead { pixels, dpi: 300, dots: (732, 342), size, media, pages: 3 }.bytes();
        assert_eq!(head.len(), HEAD);
        assert!(head.starts_with(b"PwgRaster\0") && head[1732..].starts_with(b"custom_tag_62x29mm\0"));
    }

    proptest! {
        #[test]
        fn packed_rows_read_back(width in 1_usize..300, rows in prop::collection::vec(prop::collection::vec(0_u8..3, 900), 1..6), again in 0_usize..400, rgb: bool) {
            let pixels = if rgb { PixelType::Rgb8 } else { PixelType::Gray8 };
            let row_bytes = pixels.row_bytes(width);
            let mut packer = Packer::new(pixels);
            let (mut out, mut plain): (Vec<u8>, Vec<u8>) = (Vec::new(), Vec::new());
            for row in rows.iter().chain(std::iter::repeat_n(&rows[0], again)) {
                plain.extend_from_slice(&row[..row_bytes]);
                packer.row(row[..row_bytes].to_vec(), &mut out);
            }
            packer.finish(&mut out);
            prop_assert_eq!(unpack(&out, row_bytes, pixels.unit()), plain);
        }
    }
}
