//! Wire colours after IEC 60757, with the text of the chart kept beside them.
//!
//! Only the standard's letter codes and plain names, English and German, are understood. Makers' own letters (`BL`, `GR`, `B`, `G`)
//! mean different colours in different charts: they are kept as typed and never guessed at; who uses the chart may say what
//! they mean.

use std::fmt;

/// A colour of IEC 60757 (code letters read in IEC 757:1983 as GOST 28763-90).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[expect(missing_docs, reason = "each variant is the colour it names")]
pub enum Colour {
    Black,
    Brown,
    Red,
    Orange,
    Yellow,
    Green,
    Blue,
    Violet,
    Grey,
    White,
    Pink,
    Gold,
    Turquoise,
    Silver,
    GreenAndYellow,
}

/// Code letters, names, and a print colour of our own choosing for the colour bar (red, green, blue).
const COLOURS: [(Colour, &str, &[&str], [u8; 3]); 15] = [
    (Colour::Black, "BK", &["black", "schwarz"], [0x1a, 0x1a, 0x1a]),
    (Colour::Brown, "BN", &["brown", "braun"], [0x7b, 0x4a, 0x21]),
    (Colour::Red, "RD", &["red", "rot"], [0xd2, 0x1f, 0x26]),
    (Colour::Orange, "OG", &["orange"], [0xf0, 0x7d, 0x14]),
    (Colour::Yellow, "YE", &["yellow", "gelb"], [0xf7, 0xd5, 0x16]),
    (Colour::Green, "GN", &["green", "grün", "gruen"], [0x1f, 0x8f, 0x3a]),
    (Colour::Blue, "BU", &["blue", "blau"], [0x1f, 0x5f, 0xc4]),
    (Colour::Violet, "VT", &["violet", "purple", "violett", "lila"], [0x7d, 0x3c, 0x98]),
    (Colour::Grey, "GY", &["grey", "gray", "slate", "grau"], [0x8f, 0x94, 0x98]),
    (Colour::White, "WH", &["white", "weiß", "weiss"], [0xff, 0xff, 0xff]),
    (Colour::Pink, "PK", &["pink", "rosa"], [0xf0, 0x8f, 0xb2]),
    (Colour::Gold, "GD", &["gold"], [0xb8, 0x96, 0x2e]),
    (Colour::Turquoise, "TQ", &["turquoise", "türkis", "tuerkis"], [0x22, 0xb5, 0xb0]),
    (Colour::Silver, "SR", &["silver", "silber"], [0xc4, 0xc9, 0xcc]),
    (Colour::GreenAndYellow, "GNYE", &["green-and-yellow", "green and yellow", "grüngelb"], [0x1f, 0x8f, 0x3a]),
];

impl Colour {
    /// Code letters of IEC 60757: `BN`.
    pub fn code(self) -> &'static str {
        self.row().1
    }

    /// English name: `brown`.
    pub fn name(self) -> &'static str {
        self.row().2[0]
    }

    /// What the colour bar is printed in: red, green, blue. Green-and-yellow gives its green; the bar adds the yellow.
    pub fn print_colour(self) -> [u8; 3] {
        self.row().3
    }

    fn row(self) -> &'static (Colour, &'static str, &'static [&'static str], [u8; 3]) {
        COLOURS.iter().find(|row| row.0 == self).expect("every colour has its row")
    }

    /// All names that are understood, English and German.
    pub fn names() -> impl Iterator<Item = &'static str> {
        COLOURS.iter().flat_map(|row| row.2.iter().copied())
    }

    fn from_word(word: &str) -> Option<Self> {
        let matches = |row: &&(Colour, &str, &[&str], [u8; 3])| {
            row.1.eq_ignore_ascii_case(word) || row.2.iter().any(|name| *name == word.to_lowercase())
        };
        COLOURS.iter().find(matches).map(|row| row.0)
    }
}

/// A base colour and its stripe, if there is one.
pub type Colours = (Colour, Option<Colour>);

/// The insulation colour of a wire: base first, then the stripe.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct WireColour {
    typed: String,
    understood: Option<Colours>,
}

impl WireColour {
    /// Reads a cell; `None` when it is empty. `BN/WH`, `BN-WH`, `BNWH`, `brown/white` and `GNYE` are understood; anything
    /// else is kept as typed with [`WireColour::base`] unknown.
    pub fn from_cell(cell: &str) -> Option<Self> {
        Self::from_cell_with(cell, &|_| None)
    }

    /// The same with letters of the user's own, which go before those of the standard: `own` answers for a whole cell and for
    /// its parts.
    pub fn from_cell_with(cell: &str, own: &dyn Fn(&str) -> Option<Colours>) -> Option<Self> {
        let typed = cell.trim();
        if typed.is_empty() {
            return None;
        }
        Some(Self { understood: understand(typed, own), typed: typed.to_owned() })
    }

    /// The letters of the chart, where they are understood only because the user said what they mean.
    pub fn own_letters(&self) -> Option<&str> {
        (self.understood.is_some() && understand(&self.typed, &|_| None) != self.understood).then_some(&self.typed)
    }

    /// As the chart writes it.
    pub fn typed(&self) -> &str {
        &self.typed
    }

    /// The base colour, when the text is understood.
    pub fn base(&self) -> Option<Colour> {
        self.understood.map(|(base, _)| base)
    }

    /// The stripe, when there is one and the text is understood. Green-and-yellow is one colour, not a stripe.
    pub fn stripe(&self) -> Option<Colour> {
        self.understood.and_then(|(_, stripe)| stripe)
    }

    /// What the middle of the colour bar shows: the stripe, or the yellow of green-and-yellow.
    pub fn bar_stripe(&self) -> Option<Colour> {
        match self.base() {
            Some(Colour::GreenAndYellow) => Some(Colour::Yellow),
            _ => self.stripe(),
        }
    }

    /// The colour in words where it is understood, else as typed: `brown, white stripe`.
    pub fn in_words(&self) -> String {
        match self.understood {
            Some((base, Some(stripe))) => format!("{}, {} stripe", base.name(), stripe.name()),
            Some((base, None)) => base.name().to_owned(),
            None => self.typed.clone(),
        }
    }

    /// Whether both name the same colours, however they are spelled.
    pub fn same_as(&self, other: &Self) -> bool {
        match (self.understood, other.understood) {
            (Some(one), Some(two)) => one == two,
            _ => self.typed.eq_ignore_ascii_case(&other.typed),
        }
    }
}

fn understand(typed: &str, own: &dyn Fn(&str) -> Option<Colours>) -> Option<Colours> {
    if let Some(whole) = own(typed).or_else(|| Some((Colour::from_word(typed)?, None))) {
        return Some(whole);
    }
    let word = |word: &str| match own(word) {
        Some((colour, None)) => Some(colour),
        Some(_) => None,
        None => Colour::from_word(word),
    };
    let separators: &[char] = if typed.contains(['/', '-', '+']) { &['/', '-', '+'] } else { &[' '] };
    let mut parts = typed.split(separators).map(str::trim);
    let (first, second, third) = (parts.next()?, parts.next(), parts.next());
    let (base, stripe) = match (second, third) {
        (Some(second), None) => (word(first)?, word(second)?),
        (None, _) if first.len() == 4 && first.is_ascii() => (word(&first[..2])?, word(&first[2..])?),
        _ => return None,
    };
    match (base, stripe) {
        (Colour::Green, Colour::Yellow) => Some((Colour::GreenAndYellow, None)),
        (base, stripe) if base == stripe => Some((base, None)),
        (base, stripe) => Some((base, Some(stripe))),
    }
}

/// `BN/WH` where the colour is understood, else as typed.
impl fmt::Display for WireColour {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.understood {
            Some((base, Some(stripe))) => write!(f, "{}/{}", base.code(), stripe.code()),
            Some((base, None)) => f.write_str(base.code()),
            None => f.write_str(&self.typed),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(cell: &str) -> String {
        WireColour::from_cell(cell).expect("not empty").to_string()
    }

    #[test]
    fn base_first_stripe_second_never_sorted() {
        assert_eq!(shown("BN/WH"), "BN/WH");
        assert_eq!(shown("wh-bn"), "WH/BN");
        assert_eq!(shown("RDBU"), "RD/BU");
        assert_eq!(shown("brown/white"), "BN/WH");
        assert_eq!(shown(" Slate "), "GY");
        assert_eq!(shown("blue yellow"), "BU/YE");
        assert_eq!(shown("weiß/schwarz"), "WH/BK");
        assert_eq!(shown("GRÜN"), "GN");
    }

    #[test]
    fn green_and_yellow_is_one_colour() {
        for spelling in ["GNYE", "GN/YE", "green/yellow"] {
            let colour = WireColour::from_cell(spelling).expect("not empty");
            assert_eq!((colour.base(), colour.stripe()), (Some(Colour::GreenAndYellow), None));
        }
    }

    #[test]
    fn makers_letters_are_kept_and_not_guessed() {
        for cell in ["BL", "GR", "B", "G", "L/BU", "RD/BU/WH", "日本", "ééé"] {
            let colour = WireColour::from_cell(cell).expect("not empty");
            assert_eq!(colour.base(), None, "{cell}");
            assert_eq!(colour.to_string(), cell);
        }
        assert_eq!(WireColour::from_cell("  "), None);
    }

    #[test]
    fn letters_of_ones_own_go_before_the_standards() {
        let own = |word: &str| match word {
            "BL" => Some((Colour::Blue, None)),
            "GR" => Some((Colour::Grey, None)),
            "GN" => Some((Colour::Brown, None)),
            "tracer" => Some((Colour::White, Some(Colour::Red))),
            _ => None,
        };
        let read = |cell| WireColour::from_cell_with(cell, &own).expect("not empty");
        for (cell, shown) in [
            ("BL", "BU"),
            ("BL/GR", "BU/GY"),
            ("BLGR", "BU/GY"),
            ("GN-WH", "BN/WH"),
            ("BL green", "BU/GN"),
            ("tracer", "WH/RD"),
            ("RD", "RD"),
            ("BL/tracer", "BL/tracer"),
            ("L/BU", "L/BU"),
        ] {
            assert_eq!(read(cell).to_string(), shown, "{cell}");
            assert_eq!(read(cell).typed(), cell);
        }
        assert_eq!(
            (read("BL").own_letters(), read("RD").own_letters(), read("L").own_letters()),
            (Some("BL"), None, None)
        );
    }
}
