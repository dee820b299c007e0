//! Cells -> lengths: `1200`, `1,2 m`, `47 in`, `85 cm`.

use crate::base::Length;

/// Why a cell is not a length.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum NotALength {
    /// Neither number nor unit can be made out.
    Unreadable,
    /// `1.200` may be 1200 with a mark for thousands, or 1.2.
    MaybeThousands,
    /// Below or above what there is.
    OutOfRange,
}

/// How long a thing may be, and whether three decimals of millimetres are to be expected of it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Bounds {
    shortest_mm: f64,
    longest_mm: f64,
    has_thousandths: bool,
}

/// Lengths of wires: a millimetre to a kilometre.
pub(super) const WIRE_LENGTH: Bounds = Bounds { shortest_mm: 1.0, longest_mm: 1e6, has_thousandths: false };
/// Outside diameters of wires and cables: a tenth of a millimetre to ten centimetres.
pub(super) const WIRE_DIAMETER: Bounds = Bounds { shortest_mm: 0.1, longest_mm: 100.0, has_thousandths: true };

const UNITS: [(&str, f64); 8] = [
    ("mm", 1.0),
    ("cm", 10.0),
    ("in.", 25.4),
    ("in", 25.4),
    ("inch", 25.4),
    ("\"", 25.4),
    ("″", 25.4),
    // Last, as `mm` and `cm` end in it.
    ("m", 1000.0),
];

/// Reads a length. A bare number has `bare_unit`, else millimetres; the decimal sign may be a point or a comma.
pub(super) fn length(cell: &str, bare_unit: Option<&str>, bounds: Bounds) -> Result<Length, NotALength> {
    let typed = cell.trim();
    let lower = typed.to_lowercase();
    let stated = UNITS.iter().find_map(|(unit, factor)| lower.strip_suffix(unit).map(|number| (number, *factor)));
    let (number, factor) = stated.unwrap_or_else(|| {
        let unit = UNITS.iter().find(|(unit, _)| Some(*unit) == bare_unit);
        (lower.as_str(), unit.map_or(1.0, |(_, factor)| *factor))
    });
    let number = number.trim();
    let is_number = number.bytes().all(|byte| byte.is_ascii_digit() || matches!(byte, b'.' | b','));
    let (whole, decimals) = number.split_once(['.', ',']).unwrap_or((number, ""));
    if !is_number || decimals.contains(['.', ',']) || (whole.is_empty() && decimals.is_empty()) {
        return Err(NotALength::Unreadable);
    }
    let may_be_thousands = decimals.len() == 3 && (1..=3).contains(&whole.len()) && !whole.starts_with('0');
    if may_be_thousands && !bounds.has_thousandths && factor == 1.0 {
        return Err(NotALength::MaybeThousands);
    }
    let value: f64 = number.replace(',', ".").parse().map_err(|_| NotALength::Unreadable)?;
    let millimetres = value * factor;
    if (bounds.shortest_mm..=bounds.longest_mm).contains(&millimetres) {
        Ok(Length::mm(millimetres))
    } else {
        Err(NotALength::OutOfRange)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn wire(cell: &str) -> Result<Length, NotALength> {
        length(cell, None, WIRE_LENGTH)
    }

    /// The inch is 25.4 mm exactly (international yard and pound agreement, 1959; common knowledge).
    #[test]
    fn units_and_decimal_signs() {
        for cell in ["1200", "1200 mm", "1200mm", "120 cm", "1.2 m", "1,2 m", "1,2M", "1200.0", " 1200,00 MM "] {
            assert_eq!(wire(cell), Ok(Length::mm(1200.0)), "{cell}");
        }
        for cell in ["10 in", "10in", "10\"", "10 inch", "254 mm", "10 in."] {
            assert_eq!(wire(cell), Ok(Length::inch(10.0)), "{cell}");
        }
        assert_eq!(length("120", Some("cm"), WIRE_LENGTH), Ok(Length::mm(1200.0)));
        assert_eq!(length("120 mm", Some("cm"), WIRE_LENGTH), Ok(Length::mm(120.0)));
        assert_eq!(length("2,4", None, WIRE_DIAMETER), Ok(Length::mm(2.4)));
        assert_eq!(length("1.250", None, WIRE_DIAMETER), Ok(Length::mm(1.25)));
    }

    #[test]
    fn what_is_no_length() {
        for cell in ["", "mm", "long", "-5", "1.2.3", "3E5", "NaN", "inf", "12 km x", ".", ",", "½", "1 200"] {
            assert_eq!(wire(cell), Err(NotALength::Unreadable), "{cell}");
        }
        assert_eq!(wire("1.200"), Err(NotALength::MaybeThousands));
        assert_eq!(wire("1,200 mm"), Err(NotALength::MaybeThousands));
        assert_eq!(wire("1,200 m"), Ok(Length::mm(1200.0)));
        assert_eq!(wire("0"), Err(NotALength::OutOfRange));
        assert_eq!(wire("99999999999999999999"), Err(NotALength::OutOfRange));
    }

    proptest! {
        #[test]
        fn any_cell_is_answered(cell in ".{0,12}") {
            let _ = (wire(&cell), length(&cell, Some("in"), WIRE_DIAMETER));
        }
    }
}
