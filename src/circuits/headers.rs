//! The columns that lists and connectors.csv may have, and the headers that name them: in several spellings and languages
//! (`templates/words/columns.csv`), some with the unit of what stands below.

use std::collections::{BTreeMap, HashMap};
use std::sync::LazyLock;

use crate::base::conductor::SizeUnit;
use crate::base::nearest::nearest;

/// Which columns a table may have.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum TableKind {
    /// A chart or a wire list.
    List,
    /// connectors.csv.
    Connectors,
}

macro_rules! columns {
    ($($column:ident $name:literal)*) => {
        /// Our columns.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
        pub(super) enum Column { $($column),* }

        impl Column {
            /// All columns.
            pub(super) const ALL: &[Self] = &[$(Self::$column),*];

            /// Its name in messages and in job.toml.
            pub(super) const fn name(self) -> &'static str {
                match self { $(Self::$column => $name),* }
            }
        }
    };
}

columns! {
    Connector "connector"
    Cavity "cavity"
    Place "place"
    Circuit "circuit"
    Function "function"
    Colour "colour"
    Size "size"
    Insulation "insulation"
    Supply "supply"
    Fuse "fuse"
    Action "action"
    Tag "tag"
    Length "length"
    Diameter "diameter"
    SlidesOver "slides over"
    TerminalFamily "terminal family"
    ExtendBy "extend by"
    Branch "branch"
    With "with"
    Note "note"
    FromConnector "from connector"
    FromCavity "from cavity"
    FromPlace "from place"
    FromAction "from action"
    FromTag "from tag"
    ToConnector "to connector"
    ToCavity "to cavity"
    ToPlace "to place"
    ToAction "to action"
    ToTag "to tag"
    Kind "kind"
    ShortName "short name"
    Rows "rows"
    Columns "columns"
    Cavities "cavities"
    Numbering "numbering"
    Latch "latch"
    View "view"
    Stagger "stagger"
    Missing "missing"
    Large "large"
    Mates "mates"
    PlugType "plug type"
    Case "case"
}

impl Column {
    pub(super) fn from_name(name: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|column| column.name() == name)
    }

    /// Whether its cells name a connector, a cavity, a place or a circuit.
    pub(super) const fn is_designation(self) -> bool {
        matches!(
            self,
            Self::Connector
                | Self::Cavity
                | Self::Place
                | Self::Circuit
                | Self::With
                | Self::Mates
                | Self::Missing
                | Self::Large
                | Self::FromConnector
                | Self::FromCavity
                | Self::FromPlace
                | Self::ToConnector
                | Self::ToCavity
                | Self::ToPlace
        )
    }

    /// Whether its cells are words that are printed as they are.
    pub(super) const fn is_words(self) -> bool {
        matches!(
            self,
            Self::Function
                | Self::Fuse
                | Self::Branch
                | Self::Note
                | Self::TerminalFamily
                | Self::ShortName
                | Self::PlugType
        )
    }
}

/// Names of the columns that charts and wire lists may have, as messages and the `columns` setting of job.toml write them.
pub fn list_columns() -> impl Iterator<Item = &'static str> + Clone {
    names(TableKind::List)
}

/// Names of the columns of such a table: those that the words know by their own name there.
fn names(kind: TableKind) -> impl Iterator<Item = &'static str> + Clone {
    Column::ALL.iter().map(|column| column.name()).filter(move |name| spellings(kind).contains_key(name))
}

/// A unit that a header gives to the bare numbers below it: `length [m]`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum HeaderUnit {
    /// A unit of length, as typed in lower case.
    Length(&'static str),
    /// A unit of conductor sizes.
    Size(SizeUnit),
    /// Amperes, which a bare number of the fuse column is in any case.
    Amperes,
}

const UNITS: [(&str, HeaderUnit); 14] = [
    ("mm", HeaderUnit::Length("mm")),
    ("cm", HeaderUnit::Length("cm")),
    ("m", HeaderUnit::Length("m")),
    ("in", HeaderUnit::Length("in")),
    ("inch", HeaderUnit::Length("in")),
    ("ft", HeaderUnit::Length("ft")),
    ("feet", HeaderUnit::Length("ft")),
    ("mm²", HeaderUnit::Size(SizeUnit::SquareMillimetres)),
    ("mm2", HeaderUnit::Size(SizeUnit::SquareMillimetres)),
    ("sqmm", HeaderUnit::Size(SizeUnit::SquareMillimetres)),
    ("qmm", HeaderUnit::Size(SizeUnit::SquareMillimetres)),
    ("awg", HeaderUnit::Size(SizeUnit::Awg)),
    ("a", HeaderUnit::Amperes),
    ("amp", HeaderUnit::Amperes),
];

type Spellings = HashMap<&'static str, Column>;

/// Spellings in lists and in connectors.csv.
static SPELLINGS: LazyLock<(Spellings, Spellings)> = LazyLock::new(|| {
    let (mut lists, mut connectors) = (HashMap::new(), HashMap::new());
    for line in include_str!("../../templates/words/columns.csv").lines().skip(1) {
        let mut cells = line.split(',');
        if let (Some(table), Some(column), Some(_language), Some(header)) =
            (cells.next(), cells.next().and_then(Column::from_name), cells.next(), cells.next())
        {
            let spellings = if table == "connectors" { &mut connectors } else { &mut lists };
            spellings.insert(header, column);
        }
    }
    (lists, connectors)
});

fn spellings(kind: TableKind) -> &'static Spellings {
    match kind {
        TableKind::List => &SPELLINGS.0,
        TableKind::Connectors => &SPELLINGS.1,
    }
}

/// Lower case, words parted by single spaces, all other characters gone.
pub(super) fn plain(header: &str) -> String {
    let words = header.split(|character: char| !character.is_alphanumeric()).filter(|word| !word.is_empty());
    words.collect::<Vec<_>>().join(" ").to_lowercase()
}

/// A column that a header names, and the unit in it.
pub(super) type Named = (Column, Option<HeaderUnit>);

/// The column that a header names: `Pin-Nr.`, `WireColour`, `Size [mm²]`.
pub(super) fn known(kind: TableKind, header: &str) -> Option<Named> {
    known_plain(kind, &plain(header)).or_else(|| known_plain(kind, &plain(&parted(header)?)))
}

fn known_plain(kind: TableKind, header: &str) -> Option<Named> {
    let spellings = spellings(kind);
    if let Some(&column) = spellings.get(header) {
        return Some((column, None));
    }
    let unit_of = |word: &str| UNITS.iter().find(|(name, _)| *name == word).map(|(_, unit)| *unit);
    // `mm^2` and `mm 2`.
    let (name, unit) = match header.strip_suffix("mm 2") {
        Some(name) => (name.trim_end(), "mm2"),
        None => header.rsplit_once(' ').unwrap_or(("", header)),
    };
    let unit = unit_of(unit)?;
    if name.is_empty() {
        let is_size = matches!(unit, HeaderUnit::Size(_)) && kind == TableKind::List;
        return is_size.then_some((Column::Size, Some(unit)));
    }
    // `length in mm`.
    let &column = spellings.get(name).or_else(|| spellings.get(name.strip_suffix(" in")?))?;
    takes(column, unit).then_some((column, Some(unit)))
}

/// Whether the bare numbers of a column may have this unit.
const fn takes(column: Column, unit: HeaderUnit) -> bool {
    match unit {
        HeaderUnit::Length(_) => {
            matches!(column, Column::Length | Column::Diameter | Column::SlidesOver | Column::ExtendBy)
        }
        HeaderUnit::Size(_) => matches!(column, Column::Size),
        HeaderUnit::Amperes => matches!(column, Column::Fuse),
    }
}

/// `FromConnector` as `From Connector`: databases write headers so. `None` where nothing is to be parted.
fn parted(header: &str) -> Option<String> {
    let mut parted = String::with_capacity(header.len() + 4);
    let mut before = ' ';
    for character in header.chars() {
        if before.is_lowercase() && character.is_uppercase() {
            parted.push(' ');
        }
        parted.push(character);
        before = character;
    }
    (parted.len() > header.len()).then_some(parted)
}

/// Whether a header is the one the job names; `#` has no letters to compare and must be the same as it stands.
pub(super) fn is_same(header: &str, own: &str) -> bool {
    let header_plain = plain(header);
    header == own.trim() && !header.is_empty() || (!header_plain.is_empty() && header_plain == plain(own))
}

/// Whether a text is a header of such a table; for finding the separator.
pub(super) fn is_header(kind: TableKind, named: &BTreeMap<String, String>, header: &str) -> bool {
    known(kind, header).is_some() || named.values().any(|own| is_same(header, own))
}

/// The column name nearest to a header that is none.
pub(super) fn nearest_header(kind: TableKind, header: &str) -> Option<&'static str> {
    // Of the spellings only those that are column names themselves, so that the answer is one of ours.
    nearest(&plain(header), names(kind))
}

/// The column of lists that a header may mean: one whose spelling is near, or stands in it as whole words. Only columns that
/// are free are thought of.
pub(super) fn guess(header: &str, is_free: &dyn Fn(Column) -> bool) -> Option<Column> {
    let header = plain(header);
    let mut known: Vec<(&str, Column)> = SPELLINGS
        .0
        .iter()
        .map(|(spelling, column)| (*spelling, *column))
        .filter(|(_, column)| is_free(*column))
        .collect();
    // Longer spellings first, so that `wire colour` goes before `wire`.
    known.sort_unstable_by_key(|(spelling, _)| (std::cmp::Reverse(spelling.len()), *spelling));
    let near = nearest(&header, known.iter().map(|(spelling, _)| *spelling));
    let column_of = |spelling: &str| known.iter().find(|(known, _)| *known == spelling).map(|(_, column)| *column);
    let within = format!(" {header} ");
    near.and_then(column_of).or_else(|| {
        known.iter().find(|(spelling, _)| within.contains(&format!(" {spelling} "))).map(|(_, column)| *column)
    })
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn every_spelling_is_in_the_table_once_and_plain() {
        let table = include_str!("../../templates/words/columns.csv");
        assert_eq!(SPELLINGS.0.len() + SPELLINGS.1.len(), table.lines().count() - 1);
        for header in SPELLINGS.0.keys().chain(SPELLINGS.1.keys()) {
            assert_eq!(plain(header), *header);
        }
        for column in Column::ALL {
            let is_known = [TableKind::List, TableKind::Connectors]
                .iter()
                .any(|&kind| known(kind, column.name()) == Some((*column, None)));
            assert!(is_known, "{column:?} is known by its own name");
        }
    }

    /// A column that the words table knows in lists is one that job.toml may name, and the other way round.
    #[test]
    fn the_words_table_and_the_columns_agree() {
        let in_table = |kind: &str| -> BTreeSet<&str> {
            let rows = include_str!("../../templates/words/columns.csv").lines().skip(1);
            let row = |line: &'static str| line.strip_prefix(kind)?.strip_prefix(',')?.split(',').next();
            rows.filter_map(row).collect()
        };
        let (lists, connectors): (BTreeSet<_>, BTreeSet<_>) =
            (list_columns().collect(), names(TableKind::Connectors).collect());
        assert_eq!((&in_table("list"), &in_table("connectors")), (&lists, &connectors));
        assert_eq!(lists.union(&connectors).count(), Column::ALL.len());
    }

    /// No spelling may be read in two ways: not with a unit behind it, not parted or run together, not in other letters.
    #[test]
    fn no_spelling_is_ambiguous() {
        for kind in [TableKind::List, TableKind::Connectors] {
            let mut without_spaces = HashMap::new();
            for (&header, &column) in spellings(kind) {
                assert_eq!(known(kind, &header.to_uppercase()).map(|(column, _)| column), Some(column), "{header}");
                let together = header.replace(' ', "");
                let other = *without_spaces.entry(together).or_insert(column);
                assert_eq!(other, column, "`{header}` run together is another column");
                for (word, unit) in UNITS.iter().filter(|(_, unit)| takes(column, *unit)) {
                    let with_unit = format!("{header} {word}");
                    assert_eq!(known(kind, &with_unit), Some((column, Some(*unit))), "{with_unit}");
                }
            }
            // An umlaut is one word with its spelling in two letters.
            for (&header, &column) in spellings(kind) {
                let spelt = header.replace('ä', "ae").replace('ö', "oe").replace('ü', "ue").replace('ß', "ss");
                assert_eq!(spellings(kind).get(spelt.as_str()), Some(&column), "`{header}` as `{spelt}`");
            }
        }
    }

    #[test]
    fn headers_as_people_write_them() {
        use Column::{
            Branch, Cavity, Circuit, Colour, Connector, Diameter, FromCavity, FromConnector, Function, Fuse, Length,
            Note, Size, ToCavity, ToConnector, ToPlace,
        };
        for (header, column) in [
            ("PIN", Cavity),
            ("Pin-Nr.", Cavity),
            ("Pin #", Cavity),
            ("Cav.", Cavity),
            ("Kammer-Nr.", Cavity),
            ("Kontakt", Cavity),
            ("Conn.", Connector),
            ("Stecker-Nr.", Connector),
            ("CCT", Circuit),
            ("Cct. no.", Circuit),
            ("Wire No.", Circuit),
            ("WIRE_ID", Circuit),
            ("WireNo", Circuit),
            ("Leitung", Circuit),
            ("Leitungs-Nr.", Circuit),
            ("Fn.", Function),
            ("Description", Function),
            ("Col.", Colour),
            ("Colour code", Colour),
            ("WireColor", Colour),
            ("Farbe", Colour),
            ("Gauge", Size),
            ("ga.", Size),
            ("Querschnitt", Size),
            ("Querschnitt [mm²]", Size),
            ("Size (mm^2)", Size),
            ("CSA / sqmm", Size),
            ("AWG", Size),
            ("mm²", Size),
            ("Sicherung [A]", Fuse),
            ("Fuse (A)", Fuse),
            ("Länge in m", Length),
            ("Laenge_mm", Length),
            ("O.D. (mm)", Diameter),
            ("Kabelbaum", Branch),
            ("Bem.", Note),
            ("FromConnector", FromConnector),
            ("from-pin", FromCavity),
            ("Connector (from)", FromConnector),
            ("Ziel", ToPlace),
            ("Zielstecker", ToConnector),
            ("ToPin", ToCavity),
        ] {
            assert_eq!(known(TableKind::List, header).map(|(column, _)| column), Some(column), "{header}");
        }
        // Each of these may be two things.
        for header in ["Terminal", "Ader", "No.", "Type", "Pos.", "Signal no.", "A", "m", "Color 2", "Klemme Nr."] {
            assert_eq!(known(TableKind::List, header), None, "{header}");
        }
    }
}
