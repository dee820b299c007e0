//! Which of the eight masks a QR code takes: that with the least penalty (ISO/IEC 18004, "Evaluation of data masking results").
//!
//! In: a code drawn but not masked. Out: its modules under the best mask. A row of modules is a word here, a bit a module, so
//! that whole rows are judged at once: judging them one by one, as `qrcode` does, was half of the time of making a flag.

use qrcode::Color;
use qrcode::canvas::{Canvas, MaskPattern};

use super::frame::Modules;

const MASKS: [MaskPattern; 8] = [
    MaskPattern::Checkerboard,
    MaskPattern::HorizontalLines,
    MaskPattern::VerticalLines,
    MaskPattern::DiagonalLines,
    MaskPattern::LargeCheckerboard,
    MaskPattern::Fields,
    MaskPattern::Diamonds,
    MaskPattern::Meadow,
];

/// The modules of a code with so many modules a side, at most 32, under the mask with the least penalty; of equals the first.
pub fn best(canvas: &Canvas, side: u16) -> Modules {
    let masked = MASKS.map(|mask| {
        let mut canvas = canvas.clone();
        canvas.apply_mask(mask);
        let dark = canvas.into_colors().into_iter().map(|colour| colour == Color::Dark).collect();
        Modules { columns: side, rows: side, dark }
    });
    masked.into_iter().min_by_key(penalty).expect("there are eight")
}

fn penalty(modules: &Modules) -> u32 {
    let side = u32::from(modules.columns);
    let line = |dark: &mut dyn Iterator<Item = &bool>| dark.fold(0, |line, &dark| line << 1 | u32::from(dark));
    let width = usize::from(modules.columns);
    let rows: Vec<u32> = modules.dark.chunks(width).map(|row| line(&mut row.iter())).collect();
    let columns: Vec<u32> = (0..width).map(|at| line(&mut modules.dark[at..].iter().step_by(width))).collect();

    let lines = || rows.iter().chain(&columns).copied();
    let runs: u32 = lines().map(|line| runs(line, side)).sum();
    let finders: u32 = lines().map(|line| 40 * finders(line)).sum();
    let blocks: u32 = rows.windows(2).map(|pair| 3 * blocks(pair[0], pair[1], side)).sum();
    // 10 points for each 5 % that the share of dark modules is away from a half, here without rounding to whole steps.
    let dark: u32 = rows.iter().map(|row| row.count_ones()).sum();
    runs + finders + blocks + (dark * 200 / (side * side)).abs_diff(100)
}

/// For each run of five or more equal modules: its length less two.
fn runs(line: u32, side: u32) -> u32 {
    // A bit where a module differs from the next; the last one differs from what is not there.
    let mut ends = (line ^ line >> 1) & !(u32::MAX << (side - 1)) | 1 << (side - 1);
    let (mut points, mut start) = (0, 0);
    while ends != 0 {
        let next = ends.trailing_zeros() + 1;
        if next - start >= 5 {
            points += next - start - 2;
        }
        start = next;
        ends &= ends - 1;
    }
    points
}

/// How often the modules of a finder pattern stand in the line, dark light dark dark dark light dark, with four light ones
/// before or after them. Outside all is light.
fn finders(line: u32) -> u32 {
    let after = |modules: u32| line >> modules;
    let pattern = line & !after(1) & after(2) & after(3) & after(4) & !after(5) & after(6);
    let dark_after = after(7) | after(8) | after(9) | after(10);
    let dark_before = line << 1 | line << 2 | line << 3 | line << 4;
    (pattern & !(dark_before & dark_after)).count_ones()
}

/// How many squares of two by two equal modules two neighbouring rows have.
fn blocks(row: u32, next: u32, side: u32) -> u32 {
    let differ = (row ^ next) | (row ^ next) >> 1 | (row ^ row >> 1);
    (!differ & !(u32::MAX << (side - 1))).count_ones()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use qrcode::bits::Bits;
    use qrcode::{EcLevel, QrCode, Version, ec};

    proptest! {
        /// The crate that draws the code judges masks as well, module by module: both choose the same one.
        #[test]
        fn the_same_mask_as_judged_module_by_module(version in 1..=3_i16, payload in "[ -~]{0,14}") {
            let version = Version::Normal(version);
            let mut bits = Bits::new(version);
            bits.push_byte_data(payload.as_bytes()).unwrap();
            bits.push_terminator(EcLevel::M).unwrap();
            let (data, check) = ec::construct_codewords(&bits.into_bytes(), version, EcLevel::M).unwrap();
            let mut canvas = Canvas::new(version, EcLevel::M);
            canvas.draw_all_functional_patterns();
            canvas.draw_data(&data, &check);

            let theirs = QrCode::with_version(payload.as_bytes(), version, EcLevel::M).unwrap();
            let is_dark = |colour| colour == Color::Dark;
            let theirs_masked: Vec<bool> = canvas.apply_best_mask().into_colors().into_iter().map(is_dark).collect();
            prop_assert_eq!(best(&canvas, theirs.width() as u16).dark, theirs_masked);
        }
    }

    #[test]
    fn penalties_of_single_lines() {
        assert_eq!([0b11111, 0b11110, 0b0].map(|line| runs(line, 5)), [3, 0, 3]);
        assert_eq!(runs(0b0000_0011_1111, 12), 4 + 4);
        assert_eq!(finders(0b1011101), 1);
        assert_eq!(finders(0b0001_1011101_0000), 1, "light after it");
        assert_eq!(finders(0b0001_1011101_1000), 0, "dark on both sides");
        assert_eq!([blocks(0b111, 0b111, 3), blocks(0b000, 0b001, 3), blocks(0b01, 0b10, 2)], [2, 1, 0]);
    }
}
