//! Conductor sizes: cross-section in mm² or AWG, kept as typed and never silently converted.

use std::f64::consts::PI;
use std::fmt;

use super::Length;

/// A conductor size as the list gives it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum ConductorSize {
    /// Nominal cross-section, in thousandths of a square millimetre.
    CrossSection(u32),
    /// American wire gauge number; 0 is 1/0, -1 is 2/0, -2 is 3/0, -3 is 4/0.
    Awg(i8),
}

/// The unit that a bare number of a size column has, when the job says so.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum SizeUnit {
    /// Square millimetres.
    SquareMillimetres,
    /// American wire gauge.
    Awg,
}

/// Why a cell is not a conductor size.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotASize {
    /// Neither unit nor number can be made out.
    Unreadable,
    /// A whole number without a unit: 16 may be 16 mm² or 16 AWG.
    AmbiguousUnit,
    /// Outside 0.01 to 1000 mm², or 4/0 to 44 AWG (the range of ASTM B258 that wires are sold in).
    OutOfRange,
}

/// A conductor size together with what was typed.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Conductor {
    size: ConductorSize,
    typed: String,
}

impl Conductor {
    /// Reads `0.75`, `0,75 mm²`, `1.5mm2`, `18 AWG`, `AWG 18`, `2/0`. A bare number with a decimal sign is mm², a fraction
    /// is AWG; a bare whole number takes `bare_unit` and without one is refused.
    ///
    /// # Errors
    /// [`NotASize`] says what is wrong with the text. An empty text is unreadable: ask before calling.
    pub fn from_cell(cell: &str, bare_unit: Option<SizeUnit>) -> Result<Self, NotASize> {
        let typed = cell.trim();
        let lower = typed
            .to_lowercase()
            .replace("mm^2", "mm²")
            .replace("mm2", "mm²")
            .replace("sqmm", "mm²")
            .replace("qmm", "mm²");
        let (number, unit) = if let Some(number) = lower.strip_suffix("mm²") {
            (number, Some(SizeUnit::SquareMillimetres))
        } else if let Some(number) = ["awg", "ga.", "ga", "gauge"].iter().find_map(|unit| lower.strip_suffix(unit)) {
            (number, Some(SizeUnit::Awg))
        } else if let Some(number) = lower.strip_prefix("awg") {
            (number, Some(SizeUnit::Awg))
        } else {
            (lower.as_str(), None)
        };
        let number = number.trim();
        let unit = match unit {
            Some(unit) => unit,
            None if number.contains(['.', ',']) => SizeUnit::SquareMillimetres,
            None if number.contains('/') => SizeUnit::Awg,
            None if number.parse::<u32>().is_ok() => bare_unit.ok_or(NotASize::AmbiguousUnit)?,
            None => return Err(NotASize::Unreadable),
        };
        let size = match unit {
            SizeUnit::SquareMillimetres => cross_section(number)?,
            SizeUnit::Awg => awg(number)?,
        };
        Ok(Self { size, typed: typed.to_owned() })
    }

    /// The size.
    pub const fn size(&self) -> ConductorSize {
        self.size
    }

    /// As the chart writes it.
    pub fn typed(&self) -> &str {
        &self.typed
    }
}

/// As typed, with the unit added where the cell left it out: `0.75 mm²`, `18 AWG`.
impl fmt::Display for Conductor {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let has_unit = self.typed.chars().any(char::is_alphabetic);
        match self.size {
            _ if has_unit => f.write_str(&self.typed),
            ConductorSize::CrossSection(_) => write!(f, "{} mm²", self.typed),
            ConductorSize::Awg(_) => write!(f, "{} AWG", self.typed),
        }
    }
}

fn cross_section(number: &str) -> Result<ConductorSize, NotASize> {
    let value: f64 = number.replace(',', ".").parse().map_err(|_| NotASize::Unreadable)?;
    if (0.01..=1000.0).contains(&value) {
        Ok(ConductorSize::CrossSection((value * 1000.0).round() as u32))
    } else {
        Err(NotASize::OutOfRange)
    }
}

fn awg(number: &str) -> Result<ConductorSize, NotASize> {
    let gauge = match number {
        "0000" | "4/0" => -3,
        "000" | "3/0" => -2,
        "00" | "2/0" => -1,
        "0" | "1/0" => 0,
        _ if number.starts_with('0') => return Err(NotASize::Unreadable),
        _ => number.parse::<u32>().map_err(|_| NotASize::Unreadable)?.try_into().unwrap_or(i8::MAX),
    };
    if gauge <= 44 { Ok(ConductorSize::Awg(gauge)) } else { Err(NotASize::OutOfRange) }
}

impl ConductorSize {
    /// Cross-section in mm²: nominal, or computed from the gauge for a solid wire.
    pub fn square_millimetres(self) -> f64 {
        match self {
            Self::CrossSection(thousandths) => f64::from(thousandths) / 1000.0,
            Self::Awg(_) => {
                let diameter = self.solid_diameter().as_mm();
                PI / 4.0 * diameter * diameter
            }
        }
    }

    /// Diameter of the solid round conductor of this size; ASTM B258: `0.005 in * 92^((36 - n) / 39)`.
    pub fn solid_diameter(self) -> Length {
        match self {
            Self::CrossSection(_) => Length::mm((self.square_millimetres() * 4.0 / PI).sqrt()),
            Self::Awg(gauge) => Length::inch(0.005 * 92_f64.powf((36.0 - f64::from(gauge)) / 39.0)),
        }
    }
}

/// With its unit: `0.75 mm²`, `18 AWG`, `2/0 AWG`.
impl fmt::Display for ConductorSize {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::CrossSection(thousandths) => write!(f, "{} mm²", f64::from(*thousandths) / 1000.0),
            Self::Awg(gauge @ ..=0) => write!(f, "{}/0 AWG", 1 - gauge),
            Self::Awg(gauge) => write!(f, "{gauge} AWG"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn size(cell: &str) -> Result<ConductorSize, NotASize> {
        Conductor::from_cell(cell, None).map(|conductor| conductor.size())
    }

    #[test]
    fn sizes_as_charts_write_them() {
        for cell in ["0.75", "0,75", "0.75 mm²", "0.75mm2", "0.75 MM^2"] {
            assert_eq!(size(cell), Ok(ConductorSize::CrossSection(750)), "{cell}");
        }
        for cell in ["18 AWG", "awg18", "18awg"] {
            assert_eq!(size(cell), Ok(ConductorSize::Awg(18)), "{cell}");
        }
        assert_eq!(size("2/0"), Ok(ConductorSize::Awg(-1)));
        assert_eq!(size("00 AWG"), Ok(ConductorSize::Awg(-1)));
        assert_eq!(size("2 AWG"), Ok(ConductorSize::Awg(2)));
    }

    #[test]
    fn a_bare_whole_number_needs_the_job_to_say_its_unit() {
        assert_eq!(size("16"), Err(NotASize::AmbiguousUnit));
        let awg = Conductor::from_cell("16", Some(SizeUnit::Awg)).expect("unit given");
        assert_eq!((awg.size(), awg.to_string().as_str()), (ConductorSize::Awg(16), "16 AWG"));
    }

    #[test]
    fn nonsense_is_refused() {
        assert_eq!(size("thin"), Err(NotASize::Unreadable));
        assert_eq!(size("1.2.3"), Err(NotASize::Unreadable));
        assert_eq!(size("-4 AWG"), Err(NotASize::Unreadable));
        assert_eq!(size("0.75 AWG"), Err(NotASize::Unreadable));
        assert_eq!(size("99 AWG"), Err(NotASize::OutOfRange));
        assert_eq!(size("99999 AWG"), Err(NotASize::OutOfRange));
        assert_eq!(size("NaN mm²"), Err(NotASize::OutOfRange));
        assert_eq!(size("inf mm2"), Err(NotASize::OutOfRange));
        assert_eq!(size("0 mm²"), Err(NotASize::OutOfRange));
    }

    #[test]
    fn as_typed_and_unit_added() {
        let shown = |cell: &str| Conductor::from_cell(cell, None).map(|c| c.to_string());
        assert_eq!(shown("0,75"), Ok("0,75 mm²".to_owned()));
        assert_eq!(shown("1.5 mm2"), Ok("1.5 mm2".to_owned()));
        for typed in ["0.75 mm²", "10 mm²", "18 AWG", "1/0 AWG", "4/0 AWG"] {
            assert_eq!(size(typed).map(|size| size.to_string()), Ok(typed.to_owned()));
        }
    }
}
