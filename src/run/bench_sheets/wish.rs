//! Which bench sheets are asked for.

use std::path::PathBuf;

use crate::base::{ConnectorId, Size};
use crate::paperwork::Paper;
use crate::paperwork::whole_job::SortedBy;
use crate::run::picture::Format;

/// A sort of sheets.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Sort {
    /// What there is to do in every connector.
    Overview,
    /// Where what is differs from what was planned.
    Differences,
    /// Cautions, and the circuits that they are about.
    Safety,
    /// What to buy.
    Shopping,
    /// Which removed wire is for what.
    Reuse,
    /// What nobody decided or knows yet.
    Questions,
    /// Pictures of connectors, against the mating face and from the wire side.
    Faces,
    /// What there is to do at every end of a connector.
    WorkLists,
    /// How many wires lie in each leg.
    Branches,
    /// A row for each circuit.
    Schedule,
    /// What each fuse feeds.
    Fuses,
    /// How the records are opened.
    LidCard,
}

impl Sort {
    /// All sorts with their words, in the order of the document.
    pub const WORDS: [(&str, Self); 12] = [
        ("overview", Self::Overview),
        ("differences", Self::Differences),
        ("safety", Self::Safety),
        ("shopping", Self::Shopping),
        ("reuse", Self::Reuse),
        ("questions", Self::Questions),
        ("faces", Self::Faces),
        ("work-lists", Self::WorkLists),
        ("branches", Self::Branches),
        ("schedule", Self::Schedule),
        ("fuses", Self::Fuses),
        ("lid-card", Self::LidCard),
    ];

    /// Why a sheet that was asked for by name is not there.
    pub const fn why_none(self) -> &'static str {
        match self {
            Self::Differences => "nothing differs from the plan",
            Self::Shopping => "nothing is to be bought",
            Self::Reuse => "no wire is removed, added or extended",
            Self::Questions => "no question is open",
            Self::Fuses => "no list names a fuse",
            Self::Faces => "no connector has a face to draw",
            Self::Branches => "no row has a branch",
            Self::Overview | Self::Safety | Self::WorkLists | Self::Schedule | Self::LidCard => {
                "the lists name no end that it could show"
            }
        }
    }

    /// Whether it can be made for some connectors alone.
    pub fn takes_connectors(self) -> bool {
        self.is_of_connector() || self == Self::Fuses
    }

    /// Whether there is one for each connector.
    pub const fn is_of_connector(self) -> bool {
        match self {
            Self::Overview
            | Self::Differences
            | Self::Safety
            | Self::Shopping
            | Self::Reuse
            | Self::Questions
            | Self::Branches
            | Self::Schedule
            | Self::Fuses
            | Self::LidCard => false,
            Self::Faces | Self::WorkLists => true,
        }
    }
}

/// What sheets show.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Shown {
    /// What is planned.
    #[default]
    Plan,
    /// What is, by the notes of the bench.
    AsBuilt,
}

impl Shown {
    /// Whether a sheet of this sort is among those that nobody asked for by name: what is left to buy, to decide or to use again is of
    /// the plan, and differences are of what is.
    const fn has(self, sort: Sort) -> bool {
        match self {
            Self::Plan => !matches!(sort, Sort::Differences),
            Self::AsBuilt => !matches!(sort, Sort::Shopping | Sort::Reuse | Sort::Questions),
        }
    }
}

/// What is asked for.
#[derive(Clone, Debug)]
pub struct SheetsWish {
    /// What they show.
    pub shown: Shown,
    /// The folder for charts of what is.
    pub charts: Option<PathBuf>,
    /// The sorts of sheets; none: all.
    pub sorts: Vec<Sort>,
    /// The connectors whose own sheets are wanted; none: all, and the sheets of the whole job.
    pub connectors: Vec<ConnectorId>,
    /// The paper.
    pub paper: Paper,
    /// The PDF; without one, a file below `sheets` in the job folder.
    pub out: Option<PathBuf>,
    /// The order of the circuit schedule.
    pub sorted_by: SortedBy,
    /// Size of a face of a fuse legend.
    pub legend: Size,
    /// Whether the faces are drawn as pictures too, and how.
    pub pictures: Option<Format>,
}

impl SheetsWish {
    /// Whether sheets of this sort are wanted: of chosen connectors, unless sorts are named, their own alone.
    pub fn wants(&self, sort: Sort) -> bool {
        match self.sorts.is_empty() {
            true => self.shown.has(sort) && (self.connectors.is_empty() || sort.is_of_connector()),
            false => self.sorts.contains(&sort),
        }
    }
}
