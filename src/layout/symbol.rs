//! The symbol of a tag: which one, how large its modules, and whether it can be read where it shall stand.
//!
//! Limits were measured by simulation (12 megapixel phone at 100 to 150 mm, tilt, blur, uneven light).

use std::fmt;
use std::sync::Arc;

use datamatrix::{DataMatrix, SymbolSize};
use fast_qr::{ECL, QRBuilder};
use qrcode::bits::Bits;
use qrcode::{Color, EcLevel, QrCode, Version};

use super::frame::Modules;
use crate::base::Length;

/// QR versions on a tag, as both encoders name them; larger ones have modules too fine for a small face.
const VERSIONS: [(i16, fast_qr::Version); 3] =
    [(1, fast_qr::Version::V01), (2, fast_qr::Version::V02), (3, fast_qr::Version::V03)];

/// Smallest module in mm that a phone reads well, before it is rounded up to whole printer dots.
const SMALLEST_MODULE: f64 = 0.33;

/// Largest module in mm round a wire: a larger one reads no better and takes room from the words.
const LARGEST_MODULE: f64 = 0.7;

/// A symbology, with its size.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum SymbolKind {
    /// QR code of ISO/IEC 18004, error correction level M.
    Qr {
        /// Version 1, 2 or 3: 21, 25 or 29 modules a side.
        version: u8,
    },
    /// Data Matrix of ISO/IEC 16022, 14 by 14 modules.
    DataMatrixSquare,
    /// Data Matrix of ISO/IEC 16022, 8 rows of 18 modules.
    DataMatrixLow,
}

impl SymbolKind {
    /// Modules of a row.
    pub fn columns(self) -> i64 {
        match self {
            Self::DataMatrixLow => 18,
            Self::DataMatrixSquare | Self::Qr { .. } => self.rows(),
        }
    }

    /// Rows of modules.
    pub fn rows(self) -> i64 {
        match self {
            Self::Qr { version } => 17 + 4 * i64::from(version),
            Self::DataMatrixSquare => 14,
            Self::DataMatrixLow => 8,
        }
    }

    /// Quiet zone in modules: 4 round a QR code (ISO/IEC 18004); 1 is asked round a Data Matrix (ISO/IEC 16022), we keep 2.
    pub const fn quiet_modules(self) -> i64 {
        match self {
            Self::Qr { .. } => 4,
            Self::DataMatrixSquare | Self::DataMatrixLow => 2,
        }
    }
}

impl fmt::Display for SymbolKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Qr { version } => write!(f, "QR {version}-M"),
            Self::DataMatrixSquare => f.write_str("Data Matrix 14x14"),
            Self::DataMatrixLow => f.write_str("Data Matrix 8x18"),
        }
    }
}

/// A text turned into modules.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Symbol {
    /// Symbology and size.
    pub kind: SymbolKind,
    /// The dark and light modules.
    pub modules: Arc<Modules>,
    /// What it says.
    pub payload: String,
}

impl Symbol {
    /// The smallest QR code, level M, that holds the text; `None` when version 3 is too small for it. Mixed and single
    /// segment encodings are both tried.
    pub fn qr(payload: &str) -> Option<Self> {
        let (version, modules) = VERSIONS.into_iter().find_map(|version| {
            let modules = in_one_segment(payload, version).or_else(|| in_mixed_segments(payload, version))?;
            Some((version.0, modules))
        })?;
        Some(Self {
            kind: SymbolKind::Qr { version: version as u8 },
            modules: Arc::new(modules),
            payload: payload.to_owned(),
        })
    }

    /// A Data Matrix of this size; `None` when the text does not fit, or the kind is not a Data Matrix.
    pub fn data_matrix(payload: &str, kind: SymbolKind) -> Option<Self> {
        let size = match kind {
            SymbolKind::DataMatrixSquare => SymbolSize::Square14,
            SymbolKind::DataMatrixLow => SymbolSize::Rect8x18,
            SymbolKind::Qr { .. } => return None,
        };
        let bitmap = DataMatrix::encode(payload.as_bytes(), size).ok()?.bitmap();
        let (columns, rows) = (bitmap.width(), bitmap.height());
        let mut dark = vec![false; columns * rows];
        for (x, y) in bitmap.pixels() {
            dark[y * columns + x] = true;
        }
        let modules = Modules { columns: u16::try_from(columns).ok()?, rows: u16::try_from(rows).ok()?, dark };
        Some(Self { kind, modules: Arc::new(modules), payload: payload.to_owned() })
    }
}

/// One segment in the densest mode that holds all of the text: what links and codes come to.
fn in_one_segment(payload: &str, (_, version): (i16, fast_qr::Version)) -> Option<Modules> {
    let code = QRBuilder::new(payload).ecl(ECL::M).version(version).build().ok()?;
    let side = u16::try_from(code.size).ok()?;
    let dark = code.data[..code.size * code.size].iter().map(|module| module.value()).collect();
    Some(Modules { columns: side, rows: side, dark })
}

/// Several segments, each in its own mode, where the text is of mixed kinds.
fn in_mixed_segments(payload: &str, (version, _): (i16, fast_qr::Version)) -> Option<Modules> {
    let mut bits = Bits::new(Version::Normal(version));
    bits.push_optimal_data(payload.as_bytes()).ok()?;
    bits.push_terminator(EcLevel::M).ok()?;
    let code = QrCode::with_bits(bits, EcLevel::M).ok()?;
    let side = u16::try_from(code.width()).ok()?;
    let dark = code.to_colors().into_iter().map(|colour| colour == Color::Dark).collect();
    Some(Modules { columns: side, rows: side, dark })
}

/// Width of one printer dot.
pub fn dot(dpi: u16) -> Length {
    Length::inch(1.0 / f64::from(dpi.max(1)))
}

/// So many printer dots: from the resolution itself, so that dots do not add up their rounding.
pub fn dots(count: i64, dpi: u16) -> Length {
    Length::inch(count as f64 / f64::from(dpi.max(1)))
}

/// Fewest whole printer dots that make a readable module: 3 at 203 dpi (0.375 mm), 4 at 300 and 8 at 600 (0.339 mm).
pub fn smallest_module_dots(dpi: u16) -> i64 {
    (SMALLEST_MODULE * f64::from(dpi.max(1)) / 25.4).ceil() as i64
}

/// Rows of modules that stand round a wire, and the angle in radians that they may fill as seen from its middle. With a larger
/// one the outer rows turn away from a camera that does not look straight at the symbol's middle.
fn round_rule(kind: SymbolKind) -> (f64, f64) {
    let angle = match kind {
        SymbolKind::DataMatrixLow => 0.95,
        SymbolKind::DataMatrixSquare => 1.05,
        SymbolKind::Qr { .. } => 1.02,
    };
    (kind.rows() as f64, angle)
}

/// Whether a symbol of this kind, with modules of this size round a finished tag of this outside diameter, turns so little that a
/// camera sees it whole: `2 n X / D` is no more than the rule's angle. QR codes above version 1 are not put round a wire.
pub fn is_readable_round(kind: SymbolKind, module: Length, diameter: Length) -> bool {
    let (rows, angle) = round_rule(kind);
    let is_put_round = !matches!(kind, SymbolKind::Qr { version: 2.. });
    is_put_round && 2.0 * rows * module.ratio(diameter) <= angle
}

/// The smallest outside diameter over the finished tag round which a symbol with modules of this size can be read, by the angle
/// of [`is_readable_round`]: what a refusal says would do.
pub fn smallest_round_diameter(kind: SymbolKind, module: Length) -> Length {
    let (rows, angle) = round_rule(kind);
    Length::nm((module.as_nm() as f64 * 2.0 * rows / angle).ceil() as i64)
}

/// Whole printer dots of the largest module, up to 0.7 mm, with which a symbol can still be read round a finished tag of this outside
/// diameter; `None` where not even the smallest can.
pub fn largest_readable_module_dots(kind: SymbolKind, diameter: Length, dpi: u16) -> Option<i64> {
    let largest = (LARGEST_MODULE * f64::from(dpi.max(1)) / 25.4).floor() as i64;
    let mut counts = (smallest_module_dots(dpi)..=largest).rev();
    counts.find(|&count| is_readable_round(kind, dots(count, dpi), diameter))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn version(payload: &str) -> Option<SymbolKind> {
        Symbol::qr(payload).map(|symbol| symbol.kind)
    }

    /// Capacities of ISO/IEC 18004, table 7: 14 bytes and 20 alphanumeric characters in 1-M, 26 and 38 in 2-M, 42 and 61 in
    /// 3-M.
    #[test]
    fn capacities_at_their_edges() {
        let qr = |version| Some(SymbolKind::Qr { version });
        for (version_number, bytes, alphanumeric) in [(1, 14, 20), (2, 26, 38), (3, 42, 61)] {
            let after = if version_number < 3 { qr(version_number + 1) } else { None };
            assert_eq!(version(&"a".repeat(bytes)), qr(version_number));
            assert_eq!(version(&"a".repeat(bytes + 1)), after);
            assert_eq!(version(&"A".repeat(alphanumeric)), qr(version_number));
            assert_eq!(version(&"A".repeat(alphanumeric + 1)), after);
        }
    }

    #[test]
    fn mixed_segments_are_used_where_they_are_smaller() {
        // 15 bytes do not fit 1-M as one byte segment; two letters and 13 digits do as two segments.
        assert_eq!(version("ab1234567890123"), Some(SymbolKind::Qr { version: 1 }));
    }

    #[test]
    fn data_matrix_capacity_in_a_code() {
        assert!(Symbol::data_matrix("7KF4", SymbolKind::DataMatrixLow).is_some());
        assert!(Symbol::data_matrix("HTTP://TAGS.EXAMPLE/7KF4/A", SymbolKind::DataMatrixLow).is_none());
        let square = Symbol::data_matrix("7KF4", SymbolKind::DataMatrixSquare).unwrap();
        assert_eq!((square.modules.columns, square.modules.rows), (14, 14));
        let low = Symbol::data_matrix("7KF4", SymbolKind::DataMatrixLow).unwrap();
        assert_eq!((low.modules.columns, low.modules.rows), (18, 8));
    }

    #[test]
    fn every_kind_knows_its_modules() {
        let codes = ["A", &"A".repeat(30), &"A".repeat(50)].map(|text| Symbol::qr(text).unwrap());
        let data = [SymbolKind::DataMatrixSquare, SymbolKind::DataMatrixLow];
        let data = data.map(|kind| Symbol::data_matrix("7KF4", kind).unwrap());
        for Symbol { kind, modules, .. } in codes.into_iter().chain(data) {
            let known = (kind.columns(), kind.rows());
            assert_eq!(known, (i64::from(modules.columns), i64::from(modules.rows)), "{kind}");
        }
    }

    #[test]
    fn modules_are_whole_dots() {
        let module = |dpi| dots(smallest_module_dots(dpi), dpi).as_mm();
        for (dpi, mm) in [(203, 0.375), (300, 0.339), (600, 0.339)] {
            assert!((module(dpi) - mm).abs() < 0.0005, "{dpi}");
        }
    }

    /// 5.7, 9.1 and 14 mm, as the rule states them.
    #[test]
    fn smallest_diameters_at_300_dpi() {
        let module = dots(4, 300);
        for (kind, smallest) in [
            (SymbolKind::DataMatrixLow, 5.704),
            (SymbolKind::DataMatrixSquare, 9.031),
            (SymbolKind::Qr { version: 1 }, 13.945),
        ] {
            let diameter = smallest_round_diameter(kind, module);
            assert!((diameter.as_mm() - smallest).abs() < 0.001, "{kind}: {}", diameter.as_mm());
            assert!(is_readable_round(kind, module, diameter), "{kind}");
            assert!(!is_readable_round(kind, module, diameter - Length::nm(10)), "{kind}");
        }
    }

    #[test]
    fn largest_modules_round_a_wire_at_300_dpi() {
        let largest = |kind, mm| largest_readable_module_dots(kind, Length::mm(mm), 300);
        let qr = |version| SymbolKind::Qr { version };
        for (mm, low, square, qr_1) in [
            (5.6, None, None, None),
            (5.71, Some(4), None, None),
            (9.1, Some(6), Some(4), None),
            (14.0, Some(8), Some(6), Some(4)),
            // 8 dots are 0.677 mm, and more than 0.7 mm is not used.
            (60.0, Some(8), Some(8), Some(8)),
        ] {
            assert_eq!(largest(SymbolKind::DataMatrixLow, mm), low, "{mm}");
            assert_eq!(largest(SymbolKind::DataMatrixSquare, mm), square, "{mm}");
            assert_eq!(largest(qr(1), mm), qr_1, "{mm}");
            assert_eq!(largest(qr(2), mm), None, "{mm}");
        }
    }

    proptest! {
        #[test]
        fn the_smallest_diameter_reads_and_any_smaller_does_not(nm in 100_000i64..2_000_000, which in 0usize..3) {
            let module = Length::nm(nm);
            let kind = [SymbolKind::DataMatrixLow, SymbolKind::DataMatrixSquare, SymbolKind::Qr { version: 1 }][which];
            let smallest = smallest_round_diameter(kind, module);
            prop_assert!(is_readable_round(kind, module, smallest + Length::nm(1)));
            prop_assert!(!is_readable_round(kind, module, smallest - Length::nm(2)));
        }

        #[test]
        fn the_largest_module_reads_and_the_next_does_not(um in 0i64..60_000, dpi in 0u16..1300) {
            let (kind, diameter) = (SymbolKind::DataMatrixLow, Length::nm(um * 1000));
            match largest_readable_module_dots(kind, diameter, dpi) {
                Some(count) => {
                    let module = |count| dots(count, dpi);
                    prop_assert!(is_readable_round(kind, module(count), diameter));
                    let is_next_too_large = module(count + 1) > Length::mm(0.7);
                    prop_assert!(is_next_too_large || !is_readable_round(kind, module(count + 1), diameter));
                }
                None => {
                    let least = dots(smallest_module_dots(dpi), dpi);
                    prop_assert!(least > Length::mm(0.7) || !is_readable_round(kind, least, diameter));
                }
            }
        }

        #[test]
        fn any_text_is_answered(text in ".{0,80}") {
            let _ = Symbol::qr(&text);
            let _ = Symbol::data_matrix(&text, SymbolKind::DataMatrixSquare);
        }
    }
}
