//! Cells -> lengths: `1200`, `1,2 m`, `47 in`, `85 cm`, `6 ft`, `6' 3"`.

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

const FOOT: f64 = 304.8;

const UNITS: [(&str, f64); 15] = [
    ("mm", 1.0),
    ("cm", 10.0),
    ("in.", 25.4),
    ("in", 25.4),
    ("inch", 25.4),
    ("\"", 25.4),
    ("inches", 25.4),
    ("″", 25.4),
    ("ft.", FOOT),
    ("ft", FOOT),
    ("foot", FOOT),
    ("feet", FOOT),
    ("'", FOOT),
    ("′", FOOT),
    // Last, as `mm` and `cm` end in it.
    ("m", 1000.0),
];

/// Reads a length. A bare number has `bare_unit`, else millimetres; the decimal sign may be a point or a comma.
pub(super) fn length(cell: &str, bare_unit: Option<&str>, bounds: Bounds) -> Result<Length, NotALength> {
    let typed = cell.trim();
    let lower = typed.to_lowercase();
    if let Some((feet, inches)) = feet_and_inches(&lower) {
        return within(number(feet)?.value * FOOT + number(inches)?.value * 25.4, bounds);
    }
    let stated = UNITS.iter().find_map(|(unit, factor)| lower.strip_suffix(unit).map(|text| (text, *factor)));
    let (text, factor) = stated.unwrap_or_else(|| {
        let unit = UNITS.iter().find(|(unit, _)| Some(*unit) == bare_unit);
        (lower.as_str(), unit.map_or(1.0, |(_, factor)| *factor))
    });
    let Number { value, whole, decimals } = number(text)?;
    let may_be_thousands = decimals.len() == 3 && (1..=3).contains(&whole.len()) && !whole.starts_with('0');
    if may_be_thousands && !bounds.has_thousandths && factor == 1.0 {
        return Err(NotALength::MaybeThousands);
    }
    within(value * factor, bounds)
}

/// `6 ft 3 in` or `6' 3"`: the numbers before the sign of feet and before that of inches.
fn feet_and_inches(lower: &str) -> Option<(&str, &str)> {
    let of_factor = |factor: f64| UNITS.iter().filter(move |(_, own)| *own == factor).map(|(unit, _)| *unit);
    let inches = of_factor(25.4).filter_map(|unit| lower.strip_suffix(unit)).min_by_key(|rest| rest.len())?;
    let (feet, inches) =
        of_factor(FOOT).filter_map(|unit| inches.split_once(unit)).min_by_key(|(_, rest)| rest.len())?;
    Some((feet, inches))
}

/// A number without sign and exponent, and the digits on both sides of its decimal sign.
struct Number<'t> {
    value: f64,
    whole: &'t str,
    decimals: &'t str,
}

/// Reads a number; the decimal sign may be a point or a comma.
fn number(text: &str) -> Result<Number<'_>, NotALength> {
    let number = text.trim();
    let is_number = number.bytes().all(|byte| byte.is_ascii_digit() || matches!(byte, b'.' | b','));
    let (whole, decimals) = number.split_once(['.', ',']).unwrap_or((number, ""));
    if !is_number || decimals.contains(['.', ',']) || (whole.is_empty() && decimals.is_empty()) {
        return Err(NotALength::Unreadable);
    }
    let value = number.replace(',', ".").parse().map_err(|_| NotALength::Unreadable)?;
    Ok(Number { value, whole, decimals })
}

fn within(millimetres: f64, bounds: Bounds) -> Result<Length, NotALength> {
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

    /// The foot is 12 inches.
    #[test]
    fn feet() {
        for cell in
            ["6 ft", "6ft", "6 FT.", "6 feet", "6'", "6′", "6.0 ft", "72 in", "72\"", "5 ft 12 in", "5' 12\"", "5'12″"]
        {
            assert_eq!(wire(cell), Ok(Length::inch(72.0)), "{cell}");
        }
        for cell in
            ["6 ft 3 in", "6' 3\"", "6'3\"", "6ft 3in", "6 feet 3 inches", "6 ft. 3 in.", "6 foot 3 inch", "75 in"]
        {
            assert_eq!(wire(cell), Ok(Length::inch(75.0)), "{cell}");
        }
        assert_eq!(wire("47\""), Ok(Length::inch(47.0)));
        assert_eq!(wire("6' 3,5\""), Ok(Length::inch(75.5)));
        assert_eq!(length("6", Some("ft"), WIRE_LENGTH), Ok(Length::inch(72.0)));
        assert_eq!(length("6 in", Some("ft"), WIRE_LENGTH), Ok(Length::inch(6.0)));
        for cell in ["6 ft 3", "' 3\"", "6' \"", "6'' 3\"", "6 ft 3 ft", "3 in 6 ft", "6' -3\"", "ft", "six ft"] {
            assert_eq!(wire(cell), Err(NotALength::Unreadable), "{cell}");
        }
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

        #[test]
        fn any_feet_and_inches_are_answered(cell in "([0-9]{1,2}|[.,'′\"″ ]|ft|in|m){0,8}") {
            let _ = (wire(&cell), length(&cell, Some("ft"), WIRE_LENGTH));
        }
    }
}
