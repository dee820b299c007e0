//! The finished hand-over type of this step: circuits, their ends and their wires, checked.

use std::fmt;

use super::edits::Edited;
use super::face::ConnectorFace;
use crate::base::{CircuitId, Conductor, ConnectorId, Insulation, Length, Origin, Place, Step, TagKind, WireColour};

/// What shall be done with an end.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
pub enum Action {
    /// Nothing decided yet.
    #[default]
    Undecided,
    /// Stays where it is.
    Keep,
    /// Pulled; leaves the harness.
    Remove,
    /// Loses its housing here, terminated later.
    Cut,
    /// To another cavity; which one may not be known yet.
    Move(Option<Place>),
    /// A new wire into a cavity.
    Add,
    /// Too short: spliced longer.
    Extend,
    /// Stays for a possible use, insulated.
    Reserve,
}

impl Action {
    /// The words of the action column, in the order of the actions.
    pub const WORDS: [&'static str; 8] = ["undecided", "keep", "remove", "cut", "move", "add", "extend", "reserve"];

    /// The trade word, as the action column has it.
    pub const fn word(&self) -> &'static str {
        match self {
            Self::Undecided => "undecided",
            Self::Keep => "keep",
            Self::Remove => "remove",
            Self::Cut => "cut",
            Self::Move(_) => "move",
            Self::Add => "add",
            Self::Extend => "extend",
            Self::Reserve => "reserve",
        }
    }

    /// Whether an end with this action loses its housing, and with it the only thing it is known by.
    pub const fn loses_housing(&self) -> bool {
        matches!(self, Self::Cut | Self::Move(_) | Self::Add | Self::Extend | Self::Reserve)
    }

    /// The step of the work that it asks for, beside those that come before and after.
    pub const fn step(&self) -> Option<Step> {
        match self {
            Self::Cut => Some(Step::Cut),
            Self::Remove => Some(Step::Pulled),
            Self::Move(_) => Some(Step::Moved),
            Self::Add => Some(Step::Added),
            Self::Extend => Some(Step::Extended),
            Self::Undecided | Self::Keep | Self::Reserve => None,
        }
    }

    /// Whether an end with this action is in its cavity still when the work is done, as far as is decided.
    pub const fn stays_in_its_cavity(&self) -> bool {
        matches!(self, Self::Undecided | Self::Keep | Self::Extend | Self::Add | Self::Reserve)
    }

    /// Whether the end is free for a while, so that a sleeve can be threaded on it.
    pub const fn frees_the_end(&self) -> bool {
        self.loses_housing()
    }
}

impl fmt::Display for Action {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Move(Some(place)) => write!(f, "move to {place}"),
            other => f.pad(other.word()),
        }
    }
}

/// How a circuit is fed or what it carries, from the supply column alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Supply {
    /// Fed from the battery with every switch off (DIN 72552: 30).
    Constant,
    /// Fed through the main or ignition switch (DIN 72552: 15).
    Switched,
    /// Fed while starting (DIN 72552: 50).
    Start,
    /// Battery negative (DIN 72552: 31).
    Ground,
    /// Lighting (DIN 72552: 58).
    Lighting,
    /// A measured or switched signal.
    Signal,
    /// A data bus.
    Data,
    /// Airbag or belt tensioner: never cut, probe or tap into.
    Restraint,
    /// High voltage: trained persons only.
    HighVoltage,
}

impl Supply {
    /// All supplies, in the order of the documentation.
    pub const ALL: [Self; 9] = [
        Self::Constant,
        Self::Switched,
        Self::Start,
        Self::Ground,
        Self::Lighting,
        Self::Signal,
        Self::Data,
        Self::Restraint,
        Self::HighVoltage,
    ];

    /// The word of the supply column.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Constant => "constant",
            Self::Switched => "switched",
            Self::Start => "start",
            Self::Ground => "ground",
            Self::Lighting => "lighting",
            Self::Signal => "signal",
            Self::Data => "data",
            Self::Restraint => "restraint",
            Self::HighVoltage => "high-voltage",
        }
    }
}

impl fmt::Display for Supply {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

/// The fuse of a circuit as the list gives it: a rating, a position, or both.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Fuse {
    typed: String,
    milliamperes: Option<u32>,
}

impl Fuse {
    /// Reads `15 A`, `15A`, `7.5`, `F12 15A` or `F12`; `None` when the cell is empty. A number that stands alone or before
    /// an `A` is the rating.
    pub fn from_cell(cell: &str) -> Option<Self> {
        let typed = cell.trim();
        if typed.is_empty() {
            return None;
        }
        let rating = |word: &str| {
            let number = word.trim_end_matches(['A', 'a']).replace(',', ".");
            let amperes: f64 = number.parse().ok()?;
            (amperes > 0.0 && amperes <= 10_000.0).then_some((amperes * 1000.0).round() as u32)
        };
        let glued = typed.replace(" A", "A").replace(" a", "a");
        let milliamperes = glued.split_whitespace().find_map(rating);
        Some(Self { typed: typed.to_owned(), milliamperes })
    }

    /// As the chart writes it.
    pub fn typed(&self) -> &str {
        &self.typed
    }

    /// The rating in thousandths of an ampere, when the cell names one.
    pub const fn milliamperes(&self) -> Option<u32> {
        self.milliamperes
    }

    /// The rating in amperes, when the cell names one.
    pub fn amperes(&self) -> Option<f64> {
        self.milliamperes.map(|rating| f64::from(rating) / 1000.0)
    }
}

impl fmt::Display for Fuse {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.milliamperes {
            Some(_) if !self.typed.contains(['A', 'a']) => write!(f, "{} A", self.typed),
            _ => f.pad(&self.typed),
        }
    }
}

/// The kinds of tags an end shall have whatever the job's rule says; `None` leaves it to the rule.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct TagWish {
    /// A kind that goes on sideways before cutting.
    pub work: Option<TagKind>,
    /// A kind that threads on at termination.
    pub final_tag: Option<TagKind>,
}

/// Who decided what shall be done with an end.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Decided {
    /// Nobody yet.
    #[default]
    Nobody,
    /// Its own row.
    Row,
    /// The rule of this index.
    Rule(usize),
    /// What connectors.csv says of all cavities of its connector.
    Connector,
    /// What job.toml says of all rows of its list that say nothing.
    List,
    /// Somebody, beside the lists: [`End::decided_instead`] has what these say.
    Person,
}

/// Where a wire arrives.
#[derive(Clone, Debug)]
pub struct End {
    /// The cavity, stud or splice it sits in.
    pub place: Place,
    /// Tells ends of one circuit with the same place and colour apart (a doubled cavity): 0, 1, …
    pub ordinal: u16,
    /// Insulation colour.
    pub colour: Option<WireColour>,
    /// Conductor size as typed.
    pub conductor: Option<Conductor>,
    /// Sort of insulation: the cell's, else the list's.
    pub insulation: Option<Insulation>,
    /// Measured outside diameter of the wire.
    pub diameter: Option<Length>,
    /// Outside diameter of what a threaded tag must pass at this end: terminal, seal, crimp.
    pub slides_over: Option<Length>,
    /// Length of the wire that ends here.
    pub length: Option<Length>,
    /// Family of the terminal on it, or of the one that its cavity takes.
    pub terminal: Option<String>,
    /// How much longer it shall become, where it is extended.
    pub extend_by: Option<Length>,
    /// What shall be done with it.
    pub action: Action,
    /// Who says so.
    pub decided: Decided,
    /// Whether its row says in words that it is undecided (`?`, `tbd`): rules decide all the same, and tell of it.
    pub is_marked_undecided: bool,
    /// The kinds of tags it shall have, where the list says so.
    pub tag: TagWish,
    /// The leg of the harness it lies in.
    pub branch: Option<String>,
    /// Partner of a twisted pair, or the screen of its cable.
    pub partner: Option<String>,
    /// The list's own remark, or what was written in its place.
    pub note: Option<String>,
    /// What was decided beside its row, where that says something else.
    pub edited: Option<Box<Edited>>,
    /// The row it was read from.
    pub origin: Origin,
}

/// What lies at the other end of the wire that an end belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FarEnd {
    /// Another end of the same circuit, by its index in [`Circuit::ends`].
    End(usize),
    /// A splice that no list names, implied by a circuit of three or more ends.
    ImpliedSplice,
    /// Not known yet.
    Unknown,
}

/// Conductors that are electrically one, under one designation.
#[derive(Clone, Debug)]
pub struct Circuit {
    id: CircuitId,
    naming: Naming,
    /// What the circuit does, in words.
    pub function: Option<String>,
    /// How it is fed.
    pub supply: Option<Supply>,
    /// Its fuse.
    pub fuse: Option<Fuse>,
    /// Where the fuse is written.
    pub fuse_at: Option<Origin>,
    ends: Vec<End>,
    far: Vec<FarEnd>,
}

/// Whether the lists name a circuit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Naming {
    /// A list gives the designation.
    Designated,
    /// No list does: the designation is the place.
    ByPlace,
}

impl Circuit {
    /// A circuit from its ends and, for each of them, what lies at the other end of its wire. The two must be equally long
    /// and each [`FarEnd::End`] must point back; otherwise `None`.
    pub fn new(id: CircuitId, naming: Naming, ends: Vec<End>, far: Vec<FarEnd>) -> Option<Self> {
        let is_mutual = far.iter().enumerate().all(|(index, end)| match end {
            FarEnd::End(other) => *other != index && far.get(*other) == Some(&FarEnd::End(index)),
            FarEnd::ImpliedSplice | FarEnd::Unknown => true,
        });
        (ends.len() == far.len() && is_mutual).then_some(Self {
            id,
            naming,
            function: None,
            supply: None,
            fuse: None,
            fuse_at: None,
            ends,
            far,
        })
    }

    /// The designation.
    pub const fn id(&self) -> &CircuitId {
        &self.id
    }

    /// Whether a list gives the designation.
    pub const fn naming(&self) -> Naming {
        self.naming
    }

    /// All its ends, in the order of their places.
    pub fn ends(&self) -> &[End] {
        &self.ends
    }

    /// Decides what shall be done with an end.
    pub(super) fn decide(&mut self, end: usize, action: Action, decided: Decided) {
        (self.ends[end].action, self.ends[end].decided) = (action, decided);
    }

    /// Changes what is said of an end; its place, colour and the like stay, for its codes are found by them.
    pub(super) fn edit(&mut self, end: usize, edit: impl FnOnce(&mut End)) {
        edit(&mut self.ends[end]);
    }

    /// What lies at the other end of the wire of this end.
    pub fn far_end(&self, end: usize) -> FarEnd {
        self.far.get(end).copied().unwrap_or(FarEnd::Unknown)
    }
}

/// What sort of place a connector is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum ConnectorKind {
    /// A plug with cavities.
    #[default]
    Plug,
    /// One half of a pair that mates cavity for cavity.
    Inline,
    /// A relay socket.
    Relay,
    /// A fuse box.
    FuseBox,
    /// A stud or ground point.
    Stud,
    /// A splice.
    Splice,
}

impl ConnectorKind {
    /// The words of the kind column, in the order of the kinds.
    pub const WORDS: [&'static str; 6] = ["plug", "inline", "relay", "fuse box", "stud", "splice"];
}

/// What upper and lower case mean in the cavity names of a connector.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Case {
    /// `a` and `A` are two cavities, as on round connectors.
    Matters,
    /// They are one.
    Same,
}

/// A connector as connectors.csv describes it.
#[derive(Clone, Debug)]
pub struct Connector {
    /// Its designation.
    pub id: ConnectorId,
    /// What sort of place it is.
    pub kind: ConnectorKind,
    /// Short name for a tag or a heading.
    pub short_name: Option<String>,
    /// How its cavities lie and are named.
    pub face: ConnectorFace,
    /// The other half of an inline pair.
    pub mates: Option<ConnectorId>,
    /// The leg of the harness it hangs on.
    pub branch: Option<String>,
    /// What closes an empty cavity.
    pub plug_type: Option<String>,
    /// Action for all its cavities that have none of their own.
    pub action: Option<Action>,
    /// What case means in the names of its cavities, where that is settled.
    pub case: Option<Case>,
    /// The row it was read from.
    pub origin: Origin,
}
