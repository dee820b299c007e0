//! The outside diameter of the wires of a tag: measured, else from the table, else assumed.
//!
//! In: what the list says of each wire ([`Wire`]). Out: a [`Diameter`] that says where it comes from. The table is
//! `templates/wires/outside_diameter.csv`; a row is added there, and nothing here needs to change.

use std::collections::HashMap;
use std::fmt;
use std::sync::LazyLock;

use super::fit::Refusal;
use crate::base::{Conductor, ConductorSize, Insulation, Length};
use crate::labels::Wire;

/// What a user who relies on a table is told.
pub const MEASURE_FIRST: &str = "measure before you shrink";

/// Where the wire's diameter comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Diameter {
    /// The list gives it.
    Measured(Length),
    /// The table gives it for size and insulation.
    Tabled(Length, &'static Tabled),
    /// Nobody knows it: what a flag is made for.
    Assumed(Length),
}

impl Diameter {
    /// What flags are made for when the diameter is not known.
    pub fn assumed() -> Self {
        Self::Assumed(Length::mm(3.0))
    }

    /// The length itself.
    pub const fn length(self) -> Length {
        match self {
            Self::Measured(length) | Self::Tabled(length, _) | Self::Assumed(length) => length,
        }
    }

    /// The row of the table that it is taken from.
    pub const fn row(self) -> Option<&'static Tabled> {
        match self {
            Self::Tabled(_, row) => Some(row),
            Self::Measured(_) | Self::Assumed(_) => None,
        }
    }

    /// The length, for a tag that threads on.
    ///
    /// # Errors
    /// [`Refusal::DiameterUnknown`] when it is only assumed: a tube must go over the wire and hold it.
    pub const fn for_threading(self) -> Result<Length, Refusal> {
        match self {
            Self::Measured(length) | Self::Tabled(length, _) => Ok(length),
            Self::Assumed(_) => Err(Refusal::DiameterUnknown),
        }
    }
}

/// A row of the table of outside diameters.
#[derive(Debug, PartialEq, Eq)]
pub struct Tabled {
    /// Sort of insulation.
    pub insulation: Insulation,
    /// Conductor size, of exactly this system.
    pub size: ConductorSize,
    /// Outside diameter of the finished wire.
    pub diameter: Length,
    /// What the value is.
    pub what: What,
    /// Where it is published, or what it is computed from.
    pub source: &'static str,
    /// How it came to stand in the table.
    pub standing: Standing,
}

/// What a value of the table is. A largest one is taken as it is, because a sleeve must go over the thickest wire that passes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum What {
    /// The thickest the standard lets pass.
    Max,
    /// The standard's middle; a wire may be a little thicker.
    Nominal,
    /// What is commonly met.
    Typical,
}

/// How a value came to stand in the table.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Standing {
    /// Read in the publication.
    Seen,
    /// Worked out from conductor and wall.
    Computed,
    /// Recalled, and found in no text.
    FromMemory,
}

impl What {
    const WORDS: [(&str, Self); 3] = [("max", Self::Max), ("nominal", Self::Nominal), ("typical", Self::Typical)];

    /// Its word in the table.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Max => "max",
            Self::Nominal => "nominal",
            Self::Typical => "typical",
        }
    }
}

impl Standing {
    const WORDS: [(&str, Self); 3] =
        [("seen", Self::Seen), ("computed", Self::Computed), ("from memory", Self::FromMemory)];

    /// Its word in the table.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Seen => "seen",
            Self::Computed => "computed",
            Self::FromMemory => "from memory",
        }
    }
}

/// `SAE J1128 …, nominal, computed`.
impl fmt::Display for Tabled {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}, {}, {}", self.source, self.what.word(), self.standing.word())
    }
}

/// The table as it is compiled in: a comment in lines with `#`, a header, rows.
const TABLE: &str = include_str!("../../templates/wires/outside_diameter.csv");

static ROWS: LazyLock<Vec<Tabled>> = LazyLock::new(|| lines().filter_map(row).collect());

static BY_SIZE: LazyLock<HashMap<(ConductorSize, Insulation), &'static Tabled>> =
    LazyLock::new(|| ROWS.iter().map(|row| ((row.size, row.insulation), row)).collect());

/// The table's lines below its header.
fn lines() -> impl Iterator<Item = &'static str> {
    TABLE.lines().filter(|line| !line.starts_with('#')).skip(1)
}

/// A row of `insulation,size,diameter mm,what,source,standing`.
fn row(line: &'static str) -> Option<Tabled> {
    let cells: Vec<&str> = line.split(',').collect();
    let &[insulation, size, diameter, what, source, standing] = cells.as_slice() else { return None };
    Some(Tabled {
        insulation: Insulation::from_word(insulation)?,
        size: Conductor::from_cell(size, None).ok()?.size(),
        diameter: Length::mm(diameter.parse().ok()?),
        what: What::WORDS.iter().find(|(word, _)| *word == what)?.1,
        source,
        standing: Standing::WORDS.iter().find(|(word, _)| *word == standing)?.1,
    })
}

/// All rows of the table, in its order.
pub fn table() -> &'static [Tabled] {
    &ROWS
}

/// The row of exactly this size and insulation. A size between two rows, or of the other system, has none: nothing is
/// converted and nothing guessed.
pub fn tabled(size: ConductorSize, insulation: Insulation) -> Option<&'static Tabled> {
    BY_SIZE.get(&(size, insulation)).copied()
}

/// How far, by area of the conductor, a row may be from a size to be called near.
const NEAR: f64 = 1.0 / 3.0;

/// What the table has near to a wire that no row is for: `no table value for thin-wall 1.3 mm²; ~1.25 mm² has 2.3 mm`. It may guide
/// whoever measures, and is never used itself. `None` when size or insulation are not known, or nothing is near.
pub fn near(wires: &[Wire], default: Option<Insulation>) -> Option<String> {
    wires.iter().filter(|wire| wire.measured.is_none()).find_map(|wire| {
        let (size, insulation) = (wire.size?, wire.insulation.or(default)?);
        if tabled(size, insulation).is_some() {
            return None;
        }
        let apart = |row: &Tabled| (row.size.square_millimetres() / size.square_millimetres()).ln().abs();
        let rows = ROWS.iter().filter(|row| row.insulation == insulation && apart(row) < NEAR);
        let row = rows.min_by(|one, other| apart(one).total_cmp(&apart(other)))?;
        Some(format!("no table value for {insulation} {size}; ~{} has {}", row.size, row.diameter))
    })
}

/// The diameter that a tag for these wires is made for.
///
/// Of each wire the measured value stands before the table's; the table is asked for the wire's own insulation, else for
/// `default`. Of several wires, as in a doubled cavity, the thickest known one counts, so that the tag goes over each; wires
/// of one cavity are nearly always alike, so one that is not known is taken to be no thicker. When none is known the
/// diameter is assumed.
pub fn diameter(wires: &[Wire], default: Option<Insulation>) -> Diameter {
    let known = wires.iter().filter_map(|wire| {
        let by_table = || {
            let row = tabled(wire.size?, wire.insulation.or(default)?)?;
            Some(Diameter::Tabled(row.diameter, row))
        };
        wire.measured.map(Diameter::Measured).or_else(by_table)
    });
    // Of two alike the measured one is told.
    known.max_by_key(|known| (known.length(), matches!(known, Diameter::Measured(_)))).unwrap_or_else(Diameter::assumed)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn size(typed: &str) -> ConductorSize {
        Conductor::from_cell(typed, None).unwrap().size()
    }

    fn wire(measured: Option<f64>, typed: &str, insulation: Option<Insulation>) -> Wire {
        let size = (!typed.is_empty()).then(|| size(typed));
        Wire { measured: measured.map(Length::mm), size, insulation, slides_over: None }
    }

    #[test]
    fn every_row_is_read_once() {
        assert_eq!(table().len(), lines().count());
        assert_eq!(BY_SIZE.len(), table().len(), "no size stands twice for one insulation");
        for word in Insulation::ALL {
            assert!(table().iter().any(|row| row.insulation == word), "{word} has no row");
        }
    }

    /// Insulation is round the conductor, and thicker wire is thicker. The solid conductor (ASTM B258 for AWG, the nominal area
    /// for mm²) is the least there can be inside.
    #[test]
    fn rows_are_thicker_than_their_conductor_and_grow_with_it() {
        for row in table() {
            assert!(row.diameter > row.size.solid_diameter() + Length::mm(0.2), "{row:?}");
            for other in table().iter().filter(|other| other.insulation == row.insulation) {
                let of_one_system = matches!(
                    (row.size, other.size),
                    (ConductorSize::Awg(_), ConductorSize::Awg(_))
                        | (ConductorSize::CrossSection(_), ConductorSize::CrossSection(_))
                );
                if of_one_system && other.size.square_millimetres() > row.size.square_millimetres() {
                    assert!(other.diameter > row.diameter, "{other:?} above {row:?}");
                }
            }
        }
        let walls = |typed, kinds: &[Insulation]| -> Vec<Length> {
            kinds.iter().map(|kind| tabled(size(typed), *kind).unwrap().diameter).collect()
        };
        use Insulation::{SpecialPurpose, ThickWall, ThinWall, UltraThinWall};
        assert!(walls("0.75 mm²", &[UltraThinWall, ThinWall, ThickWall]).is_sorted());
        assert!(walls("16 AWG", &[ThinWall, ThickWall, SpecialPurpose]).is_sorted());
    }

    #[test]
    fn nothing_is_converted_and_nothing_taken_from_a_neighbour() {
        assert_eq!(tabled(size("16 AWG"), Insulation::ThickWall).unwrap().diameter, Length::mm(2.6));
        assert_eq!(tabled(size("1.3 mm²"), Insulation::ThinWall), None, "between 1.25 and 1.5");
        assert_eq!(tabled(size("1.0"), Insulation::HookUp300), None, "hook-up wire is of AWG sizes");
        assert_eq!(tabled(size("16 AWG"), Insulation::UltraThinWall), None);
        assert_ne!(tabled(size("2.5"), Insulation::ThinWall), tabled(size("2 AWG"), Insulation::ThinWall));
    }

    #[test]
    fn measured_before_tabled_before_assumed() {
        let thin = Some(Insulation::ThinWall);
        let of = |wire, default| diameter(&[wire], default);
        assert_eq!(of(wire(Some(2.4), "0.75", thin), None), Diameter::Measured(Length::mm(2.4)));
        let tabled = of(wire(None, "0.75", thin), None);
        assert!(matches!(tabled, Diameter::Tabled(length, row) if length == Length::mm(1.9) && row.what == What::Max));
        assert_eq!(of(wire(None, "0.75", None), thin), tabled, "the default stands in");
        let thick = of(wire(None, "0.75", Some(Insulation::ThickWall)), thin);
        assert_eq!(thick.length(), Length::mm(2.5), "the wire's own before the default");
        for unknown in [wire(None, "0.75", None), wire(None, "", thin), wire(None, "0.77", thin)] {
            assert_eq!(of(unknown, None), Diameter::assumed());
        }
        assert_eq!(diameter(&[], thin), Diameter::assumed());
        assert_eq!(Diameter::assumed().for_threading(), Err(Refusal::DiameterUnknown));
    }

    /// 16 AWG is 1.309 mm² (ASTM B258).
    #[test]
    fn a_near_size_is_told_as_near() {
        let told = |typed, insulation| near(&[wire(None, typed, None)], insulation);
        let thin = Some(Insulation::ThinWall);
        assert_eq!(told("1.3", thin).as_deref(), Some("no table value for thin-wall 1.3 mm²; ~16 AWG has 2.24 mm"));
        let ultra = Some(Insulation::UltraThinWall);
        let wanted = "no table value for ultra-thin-wall 16 AWG; ~1.25 mm² has 2 mm";
        assert_eq!(told("16 AWG", ultra).as_deref(), Some(wanted));
        for (typed, insulation) in [("1.25", thin), ("300 mm²", thin), ("16 AWG", None), ("", thin)] {
            assert_eq!(told(typed, insulation), None, "{typed}");
        }
        assert_eq!(near(&[wire(Some(2.4), "1.3", thin)], None), None, "measured");
    }

    #[test]
    fn of_several_wires_the_thickest_known_counts() {
        let thin = Some(Insulation::ThinWall);
        let measured = wire(Some(2.4), "", None);
        let pair = |other| diameter(&[measured, other], thin);
        assert_eq!(pair(wire(None, "2.5", None)).length(), Length::mm(3.0));
        assert_eq!(pair(wire(None, "0.5", None)), Diameter::Measured(Length::mm(2.4)));
        assert_eq!(pair(wire(None, "1.5", None)), Diameter::Measured(Length::mm(2.4)), "of two alike the measured one");
        assert_eq!(pair(wire(None, "", None)), Diameter::Measured(Length::mm(2.4)), "an unknown one is no thicker");
    }
}
