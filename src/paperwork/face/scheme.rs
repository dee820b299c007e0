//! What connectors.csv says of a face, and the names in the lists -> how its cavities are named and how many there are in each
//! row. What the file leaves open is inferred from the names, and said.

use super::names::{Parts, common_prefix};
use super::plan::Certainty;
use crate::base::Cavity;
use crate::circuits::Case;
use crate::circuits::face::{
    CavityNames, Columns, ConnectorFace, Course, LETTERS_LEFT_OUT, LeftOut, MOST_CAVITIES, Numbering, letter_index,
    letter_name,
};

/// Letters that are looked through for one that stands in a name.
const MOST_LETTERS: usize = 500;
/// A face of so few cavities is believed whatever share of them the lists name.
const FEW: usize = 12;
/// Of more, the lists must name one in so many, or the names say nothing of the face.
const ONE_IN: usize = 4;
/// Up to so many cavities are guessed to lie in one row.
const ONE_ROW: usize = 4;
/// Columns to a row that more are guessed to have.
const GUESSED_SHAPE: f64 = 8.0;

/// What makes one cavity of a face differ from all others: its letters, and its number.
pub(super) type Key = (String, Option<u64>);

/// How the cavities of a face are named.
#[derive(Clone, Debug)]
pub(super) struct Scheme {
    pub(super) numbering: Numbering,
    pub(super) names: CavityNames,
    /// What stands before every number.
    prefix: String,
    /// Whether the number stands before the letters.
    is_turned: bool,
    left_out: LeftOut,
    /// Whether `a` and `A` are two.
    case: Case,
    /// Whether names that no list has are written in lower case.
    is_lower: bool,
    first: u64,
    /// Digits of a number that begins with zeros.
    digits: usize,
}

/// A face whose positions and names are settled.
#[derive(Clone, Debug)]
pub(super) struct Settled {
    /// `None` where the names tell nothing: then they are laid out in their own order.
    pub(super) scheme: Option<Scheme>,
    /// Positions of each row from the top, or of each ring from the outermost.
    pub(super) lengths: Vec<u16>,
    /// How many of the positions, as they are counted, have a cavity.
    pub(super) count: usize,
    pub(super) certainty: Certainty,
    /// What was inferred, in sentences.
    pub(super) remarks: Vec<String>,
}

/// Letters in names.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Lettered {
    /// They stand alone.
    Alone,
    /// They go with a number.
    WithNumber,
}

/// What the names in the lists are like.
struct Used<'n> {
    names: &'n [Cavity],
    parts: Vec<Parts>,
    prefix: Option<&'n str>,
}

/// Settles how the cavities of a face are named. `names` are those of the lists, each once, in natural order.
pub(super) fn settle(face: &ConnectorFace, names: &[Cavity], case: Case) -> Settled {
    let used = Used {
        names,
        parts: names.iter().map(|name| Parts::of(name.as_str())).collect(),
        prefix: common_prefix(names),
    };
    let numbering = face.numbering.unwrap_or_default();
    let told = face.row_lengths();
    let mut remarks = Vec::new();
    let kind = numbering.names.map(|names| used.refine(names)).or_else(|| used.kind(told.as_deref(), face));
    let Some(kind) = kind else { return listed(face, &used, remarks) };
    let mut scheme = Scheme::new(numbering, kind, &used, case);
    let needed = used.needed(&scheme);
    let certainty =
        if tells_all(face) || needed.is_one() && !face.tells_grid() { Certainty::Told } else { Certainty::Guessed };
    let lengths = told.clone().unwrap_or_else(|| needed.lengths(face, &scheme));
    let positions: usize = lengths.iter().map(|&length| usize::from(length)).sum();
    if told.is_none() && !face.tells_grid() && face.cavities.is_none() && !needed.is_dense(names.len()) {
        return listed(face, &used, remarks);
    }
    scheme.settle_letters(&lengths, &used);
    let count = match face.cavities {
        Some(cavities) => usize::from(cavities),
        None if told.is_none() && !kind.are_pairs() => needed.count,
        None => positions,
    };
    if certainty == Certainty::Guessed {
        remarks.push(match face.tells_grid() {
            true => "rows and columns are partly a guess from the cavity names; both in connectors.csv make them true"
                .to_owned(),
            false => {
                "the grid is a guess from the cavity names; rows and columns in connectors.csv make it true".to_owned()
            }
        });
    }
    if face.numbering.is_none() && positions > 1 && certainty == Certainty::Told {
        remarks.push(format!("connectors.csv names no numbering: taken as {}", in_words(&numbering, kind)));
    }
    let letters = scheme.left_out.letters();
    if kind != CavityNames::Numbers && numbering.left_out.is_none() && !letters.is_empty() {
        let letters: Vec<String> = letters.chars().map(String::from).collect();
        remarks.push(format!("the letters {} are taken as left out, from the names", letters.join(", ")));
    }
    if numbering.first.is_none() && scheme.first == 0 {
        remarks.push("numbers are taken as starting at 0, from the names".to_owned());
    }
    Settled { scheme: Some(scheme), lengths, count, certainty, remarks }
}

/// Names that tell nothing of the face, in their own order.
fn listed(face: &ConnectorFace, used: &Used<'_>, mut remarks: Vec<String>) -> Settled {
    let count = used.names.len().max(1);
    let lengths = rectangle(count, face);
    remarks.push(
        "the cavity names do not tell how the cavities lie: they stand in their own order; rows, columns and numbering in \
         connectors.csv place them"
            .to_owned(),
    );
    Settled { scheme: None, lengths, count, certainty: Certainty::Guessed, remarks }
}

/// Whether rows and columns follow from what is told.
fn tells_all(face: &ConnectorFace) -> bool {
    let divides = |parts: Option<u16>| parts.zip(face.cavities).is_some_and(|(parts, cavities)| cavities % parts == 0);
    let columns = match face.columns {
        Some(Columns::Alike(columns)) => Some(columns),
        _ => None,
    };
    face.row_lengths().is_some() || divides(face.rows) || divides(columns)
}

/// `by rows from top left`.
pub(super) fn in_words(numbering: &Numbering, names: CavityNames) -> String {
    use crate::circuits::face::{Corner, RingsFrom, Rotation, Turns};
    let course = numbering.course.unwrap_or_default();
    let mut words: Vec<&str> = Vec::new();
    match names {
        CavityNames::LetteredRows => words.push("rows lettered"),
        CavityNames::LetteredColumns => words.push("columns lettered"),
        CavityNames::RunningOn => words.push("rows lettered, numbers running on"),
        CavityNames::Letters => words.push("lettered"),
        CavityNames::Numbers => {}
    }
    if !matches!(names, CavityNames::LetteredRows | CavityNames::LetteredColumns) || course == Course::Rings {
        if numbering.turns == Turns::BackAndForth {
            words.push("back and forth");
        }
        words.push(match course {
            Course::Rows => "by rows",
            Course::Columns => "by columns",
            Course::Rings => "by rings",
        });
    }
    if course == Course::Rings {
        words.push(match numbering.rings_from {
            RingsFrom::Outside => "from outside",
            RingsFrom::Inside => "from inside",
        });
        words.push(match numbering.rotation {
            Rotation::Clockwise => "clockwise",
            Rotation::Counterclockwise => "counterclockwise",
        });
    } else {
        words.push(match numbering.start {
            Corner::TopLeft => "from top left",
            Corner::TopRight => "from top right",
            Corner::BottomLeft => "from bottom left",
            Corner::BottomRight => "from bottom right",
        });
    }
    words.join(" ")
}

/// Cavities, or rows and columns of cavities, that the names reach to.
struct Needed {
    count: usize,
    letters: usize,
    numbers: usize,
    are_pairs: bool,
}

impl Needed {
    const fn is_one(&self) -> bool {
        !self.are_pairs && self.count == 1
    }

    /// Whether the lists name enough of the cavities for the others to be believed.
    const fn is_dense(&self, named: usize) -> bool {
        let count = if self.are_pairs { self.letters.saturating_mul(self.numbers) } else { self.count };
        count <= FEW && named * 2 >= count || named.saturating_mul(ONE_IN) >= count
    }

    /// Rows that hold all of these, as far as they are not told.
    fn lengths(&self, face: &ConnectorFace, scheme: &Scheme) -> Vec<u16> {
        if !self.are_pairs {
            let count = face.cavities.map_or(self.count, usize::from);
            return rectangle(count, face);
        }
        let (rows, columns) = match scheme.names {
            CavityNames::LetteredColumns => (self.numbers, self.letters),
            CavityNames::RunningOn => (self.letters, self.numbers.div_ceil(self.letters.max(1))),
            _ => (self.letters, self.numbers),
        };
        let told_columns = match face.columns {
            Some(Columns::Alike(columns)) => Some(columns),
            _ => None,
        };
        let columns = told_columns.unwrap_or_else(|| at_most(columns));
        let rows = usize::from(face.rows.unwrap_or_else(|| at_most(rows)));
        // A name far out, such as A999, makes no larger face than connectors.csv may tell of; it stands apart then.
        let (rows, columns) = match told_columns {
            Some(columns) => (rows.min(MOST_POSITIONS / usize::from(columns.max(1))), columns),
            None => (rows, columns.min(u16::try_from(MOST_POSITIONS / rows.max(1)).unwrap_or(u16::MAX))),
        };
        vec![columns.max(1); rows.max(1)]
    }
}

/// Most positions that names make a face of: as many as connectors.csv may tell.
const MOST_POSITIONS: usize = MOST_CAVITIES as usize;

/// A length of a row, which no list makes longer than connectors may be.
fn at_most(count: usize) -> u16 {
    u16::try_from(count.clamp(1, 999)).unwrap_or(999)
}

/// Rows for so many cavities, as far as they are not told. Of rings there is one.
fn rectangle(count: usize, face: &ConnectorFace) -> Vec<u16> {
    let count = count.clamp(1, MOST_POSITIONS);
    if face.numbering.is_some_and(|numbering| numbering.course == Some(Course::Rings)) && face.rows.is_none() {
        return vec![u16::try_from(count).unwrap_or(MOST_CAVITIES)];
    }
    let rows = match (face.rows, &face.columns) {
        (Some(rows), _) => usize::from(rows),
        (None, Some(Columns::Alike(columns))) => count.div_ceil(usize::from(*columns)),
        _ if count <= ONE_ROW => 1,
        _ => ((count as f64 / GUESSED_SHAPE).sqrt().ceil() as usize).max(2),
    };
    let columns = match face.columns {
        Some(Columns::Alike(columns)) => columns,
        _ => u16::try_from(count.div_ceil(rows)).unwrap_or(MOST_CAVITIES),
    };
    vec![columns; rows]
}

impl Used<'_> {
    /// What is told, made more exact where the names show what is meant: `lettered` of names such as `B7` are lettered rows.
    fn refine(&self, told: CavityNames) -> CavityNames {
        let (_, letters, pairs) = self.sorts();
        if told == CavityNames::Letters && pairs > letters { CavityNames::LetteredRows } else { told }
    }

    /// How many are numbers, letters and pairs.
    fn sorts(&self) -> (usize, usize, usize) {
        let count = |is_it: &dyn Fn(&Parts) -> bool| self.parts.iter().filter(|parts| is_it(parts)).count();
        (
            count(&|parts| matches!(parts, Parts::Number(_))),
            count(&|parts| matches!(parts, Parts::Letters(_))),
            count(&|parts| matches!(parts, Parts::Pair(..) | Parts::TurnedPair(..))),
        )
    }

    /// What most names are made of; numbers where there are none. `None` where most are words.
    fn kind(&self, told: Option<&[u16]>, face: &ConnectorFace) -> Option<CavityNames> {
        if self.names.is_empty() {
            return Some(CavityNames::Numbers);
        }
        let (numbers, letters, pairs) = self.sorts();
        let others = self.parts.len() - numbers - letters - pairs;
        if self.prefix.is_some() && !self.fits_lettered_row(told) {
            return Some(CavityNames::Numbers);
        }
        let most = numbers.max(letters).max(pairs);
        if most < others || most == 0 {
            return face.tells_grid().then_some(CavityNames::Numbers);
        }
        Some(match most {
            _ if most == numbers => CavityNames::Numbers,
            _ if most == pairs => self.pairs(told),
            _ => CavityNames::Letters,
        })
    }

    /// Whether names with one prefix may be of one row of several, or of the only one.
    fn fits_lettered_row(&self, told: Option<&[u16]>) -> bool {
        let Some(lengths) = told else { return false };
        let longest = lengths.iter().copied().max().unwrap_or_default();
        let is_within = |parts: &Parts| match parts {
            Parts::Pair(letters, number) => {
                letter_index(letters, LeftOut::NONE, Case::Same).is_some_and(|row| row < lengths.len())
                    && *number <= u64::from(longest)
            }
            _ => false,
        };
        lengths.len() > 1 && self.parts.iter().all(is_within)
    }

    /// How letters and numbers go together, from the room there is.
    fn pairs(&self, told: Option<&[u16]>) -> CavityNames {
        let Some(lengths) = told else { return CavityNames::LetteredRows };
        let rows = lengths.len();
        let columns = usize::from(lengths.iter().copied().max().unwrap_or_default());
        let positions = lengths.iter().map(|&length| usize::from(length)).sum();
        let left_out = self.left_out(None);
        let (letters, numbers) = self.reach(left_out, Case::Same, Lettered::WithNumber);
        match (letters, numbers) {
            _ if letters <= rows && numbers <= columns => CavityNames::LetteredRows,
            _ if letters <= columns && numbers <= rows => CavityNames::LetteredColumns,
            _ if letters <= rows && numbers <= positions => CavityNames::RunningOn,
            _ => CavityNames::LetteredRows,
        }
    }

    /// Letters and numbers up to the highest that is used. Names of one of both sorts count.
    fn reach(&self, left_out: LeftOut, case: Case, lettered: Lettered) -> (usize, usize) {
        let (mut most_letters, mut most_numbers) = (0, 0);
        for parts in &self.parts {
            let (letters, number) = match parts {
                Parts::Letters(letters) if lettered == Lettered::Alone => (letters, 0),
                Parts::Pair(letters, number) | Parts::TurnedPair(letters, number)
                    if lettered == Lettered::WithNumber =>
                {
                    (letters, *number)
                }
                _ => continue,
            };
            let index = letter_index(letters, left_out, case).unwrap_or(MOST_LETTERS);
            most_letters = most_letters.max(index + 1);
            most_numbers = most_numbers.max(usize::try_from(number).unwrap_or(usize::MAX));
        }
        (most_letters, most_numbers)
    }

    /// Letters that are likely left out: those with which all names have room, or else I and O where later letters are used and
    /// they are not.
    fn left_out(&self, room: Option<(usize, Case)>) -> LeftOut {
        let letters = self.parts.iter().filter_map(|parts| match parts {
            Parts::Letters(letters) | Parts::Pair(letters, _) | Parts::TurnedPair(letters, _) => Some(letters.as_str()),
            _ => None,
        });
        let letters: Vec<&str> = letters.collect();
        let fits = |left_out: &LeftOut| {
            let Some((room, case)) = room else { return false };
            letters.iter().all(|letter| letter_index(letter, *left_out, case).is_some_and(|index| index < room))
        };
        if let Some(left_out) = LETTERS_LEFT_OUT.into_iter().find(fits) {
            return left_out;
        }
        let has =
            |wanted: [&str; 2]| letters.iter().any(|letter| wanted.iter().any(|own| own.eq_ignore_ascii_case(letter)));
        let is_later = |letter: &&str| {
            letter.len() == 1 && !letter.eq_ignore_ascii_case("I") && letter.to_ascii_uppercase().as_str() > "I"
        };
        let is_long = letters.iter().any(is_later);
        if room.is_none() && is_long && !has(["I", "O"]) { LETTERS_LEFT_OUT[1] } else { LeftOut::NONE }
    }

    fn needed(&self, scheme: &Scheme) -> Needed {
        let numbers = || self.names.iter().filter_map(|name| scheme.key(name)?.1);
        match scheme.names {
            CavityNames::Numbers => {
                let most = numbers().max().unwrap_or(0);
                let count =
                    usize::try_from(most.saturating_add(1).saturating_sub(scheme.first)).unwrap_or(usize::MAX).max(1);
                Needed { count, letters: 0, numbers: 0, are_pairs: false }
            }
            CavityNames::Letters => {
                let (letters, _) = self.reach(scheme.left_out, scheme.case, Lettered::Alone);
                Needed { count: letters.max(1), letters, numbers: 0, are_pairs: false }
            }
            _ => {
                let (letters, most) = self.reach(scheme.left_out, scheme.case, Lettered::WithNumber);
                let first = usize::try_from(scheme.first).unwrap_or(1);
                let numbers = most.saturating_add(1).saturating_sub(first).max(1);
                Needed { count: 0, letters: letters.max(1), numbers, are_pairs: true }
            }
        }
    }
}

impl Scheme {
    fn new(numbering: Numbering, names: CavityNames, used: &Used<'_>, case: Case) -> Self {
        let prefix = used.prefix.filter(|_| names == CavityNames::Numbers).unwrap_or_default().to_owned();
        let is_turned = used.parts.iter().any(|parts| matches!(parts, Parts::TurnedPair(..)))
            && !used.parts.iter().any(|parts| matches!(parts, Parts::Pair(..)));
        let letters = |name: &Cavity| name.as_str().chars().any(|character| character.is_ascii_uppercase());
        let mut scheme = Self {
            numbering,
            names,
            prefix,
            is_turned,
            left_out: numbering.left_out.unwrap_or_else(|| used.left_out(None)),
            case,
            is_lower: case == Case::Same && !used.names.is_empty() && !used.names.iter().any(letters),
            first: 1,
            digits: 0,
        };
        let from_zero = used.names.iter().any(|name| scheme.key(name).is_some_and(|(_, number)| number == Some(0)));
        scheme.first = numbering.first.map_or(u64::from(!from_zero), u64::from);
        let zeros = used.names.iter().filter_map(|name| {
            let name = name.as_str();
            let digits = name.trim_start_matches(|character: char| !character.is_ascii_digit());
            let end = digits.find(|character: char| !character.is_ascii_digit()).unwrap_or(digits.len());
            (digits.starts_with('0') && end > 1).then_some(end)
        });
        scheme.digits = zeros.max().unwrap_or(0).min(9);
        scheme
    }

    /// With the rows known, the letters that are left out are those with which all names have room.
    fn settle_letters(&mut self, lengths: &[u16], used: &Used<'_>) {
        let room = match self.names {
            CavityNames::Numbers => return,
            CavityNames::Letters => lengths.iter().map(|&length| usize::from(length)).sum(),
            CavityNames::LetteredColumns => usize::from(lengths.iter().copied().max().unwrap_or_default()),
            CavityNames::LetteredRows | CavityNames::RunningOn => lengths.len(),
        };
        self.left_out = self.numbering.left_out.unwrap_or_else(|| used.left_out(Some((room, self.case))));
    }

    /// What tells the cavity of this name from the others; `None` where the name is of another sort.
    pub(super) fn key(&self, name: &Cavity) -> Option<Key> {
        self.key_of(name.as_str())
    }

    /// The same of a name as typed. A number without the prefix that all names have is one with it.
    pub(super) fn key_of(&self, name: &str) -> Option<Key> {
        let fold =
            |letters: &str| if self.case == Case::Matters { letters.to_owned() } else { letters.to_ascii_uppercase() };
        if self.names == CavityNames::Numbers {
            let has_prefix =
                name.get(..self.prefix.len()).is_some_and(|start| start.eq_ignore_ascii_case(&self.prefix));
            let digits = if has_prefix { &name[self.prefix.len()..] } else { name };
            return match Parts::of(digits) {
                Parts::Number(number) => Some((String::new(), Some(number))),
                _ => None,
            };
        }
        match Parts::of(name) {
            Parts::Letters(letters) if self.names == CavityNames::Letters => Some((fold(&letters), None)),
            Parts::Pair(letters, number) | Parts::TurnedPair(letters, number) if self.names.are_pairs() => {
                Some((fold(&letters), Some(number)))
            }
            _ => None,
        }
    }

    /// The key of a position from its letter and number, both counted from 0.
    pub(super) fn key_at(&self, letter: Option<usize>, number: Option<usize>) -> Key {
        let letters = letter.map(|index| letter_name(index, self.left_out, self.case)).unwrap_or_default();
        (letters, number.map(|number| self.first + number as u64))
    }

    /// The name of a position that no list names.
    pub(super) fn name(&self, key: &Key) -> String {
        let (letters, number) = key;
        let letters = if self.is_lower { letters.to_ascii_lowercase() } else { letters.clone() };
        let digits = self.digits;
        let number = number.map(|number| format!("{number:0digits$}")).unwrap_or_default();
        match self.is_turned {
            true => format!("{number}{letters}"),
            false => format!("{}{letters}{number}", self.prefix),
        }
    }

    /// The number of a row or column, from its index.
    pub(super) fn number(&self, index: usize) -> String {
        let digits = self.digits;
        format!("{:0digits$}", self.first + index as u64)
    }

    /// The letter of a row or column, from its index.
    pub(super) fn letter(&self, index: usize) -> String {
        let letter = letter_name(index, self.left_out, self.case);
        if self.is_lower { letter.to_ascii_lowercase() } else { letter }
    }
}
