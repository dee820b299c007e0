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

/// Smallest module that a phone reads well, before it is rounded up to whole printer dots.
const SMALLEST_MODULE: f64 = 0.33;

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

/// Whether a symbol of this kind, with so many rows of modules of this size round a finished tag of this outside diameter,
/// turns so little that a camera sees it whole. The angle is `2 n X / D` in radians.
pub fn is_readable_round(kind: SymbolKind, module: Length, diameter: Length) -> bool {
    let (rows, limit) = match kind {
        SymbolKind::DataMatrixLow => (8.0, 0.95),
        SymbolKind::DataMatrixSquare => (14.0, 1.05),
        SymbolKind::Qr { version: 1 } => (21.0, 1.02),
        SymbolKind::Qr { .. } => return false,
    };
    2.0 * rows * module.ratio(diameter) <= limit
}

/// The largest module, in whole dots, of a symbol that is still readable round this diameter.
pub fn largest_readable_module_dots(kind: SymbolKind, diameter: Length, dpi: u16) -> Option<i64> {
    let least = smallest_module_dots(dpi);
    let most = (0.7 * f64::from(dpi) / 25.4).floor() as i64;
    (least..=most).rev().find(|&count| is_readable_round(kind, dots(count, dpi), diameter))
}

/// The smallest diameter round which it is readable.
pub fn smallest_round_diameter(kind: SymbolKind, module: Length) -> Length {
    let (rows, limit) = match kind {
        SymbolKind::DataMatrixLow => (8.0, 0.95),
        SymbolKind::DataMatrixSquare => (14.0, 1.05),
        SymbolKind::Qr { .. } => (21.0, 1.02),
    };
    module.scaled(2.0 * rows / limit)
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
    fn modules_are_whole_dots() {
        let module = |dpi| dots(smallest_module_dots(dpi), dpi).as_mm();
        for (dpi, mm) in [(203, 0.375), (300, 0.339), (600, 0.339)] {
            assert!((module(dpi) - mm).abs() < 0.0005, "{dpi}");
        }
    }

    #[test]
    fn smallest_diameters_at_300_dpi() {
        let module = dots(4, 300);
        for (kind, smallest) in [
            (SymbolKind::DataMatrixLow, 5.71),
            (SymbolKind::DataMatrixSquare, 9.04),
            (SymbolKind::Qr { version: 1 }, 13.95),
        ] {
            assert!(is_readable_round(kind, module, Length::mm(smallest)), "{kind}");
            assert!(!is_readable_round(kind, module, Length::mm(smallest - 0.02)), "{kind}");
        }
    }

    proptest! {
        #[test]
        fn any_text_is_answered(text in ".{0,80}") {
            let _ = Symbol::qr(&text);
            let _ = Symbol::data_matrix(&text, SymbolKind::DataMatrixSquare);
        }
    }
}
