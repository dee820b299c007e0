//! Danger of a deed: how a wire counts for safety, and a step or an action at its end, come in; what may hurt somebody goes out.
//!
//! Notes of what happened are never refused for it: it is told with them, and a page asks before it writes.

use crate::base::Step;
use crate::circuits::{Action, Supply};

/// What may hurt somebody, the gravest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Danger {
    /// A high-voltage wire is touched.
    HighVoltage,
    /// A wire of an airbag or a belt tensioner is touched.
    Restraint,
    /// An end that is fed with every switch off hangs free.
    Live,
}

impl Danger {
    /// All of them, the gravest first.
    pub const ALL: [Self; 3] = [Self::HighVoltage, Self::Restraint, Self::Live];

    /// That of a wire itself, whatever is done.
    pub const fn of(supply: Option<Supply>) -> Option<Self> {
        match supply {
            Some(Supply::HighVoltage) => Some(Self::HighVoltage),
            Some(Supply::Restraint) => Some(Self::Restraint),
            Some(Supply::Constant) => Some(Self::Live),
            _ => None,
        }
    }

    /// That of an action: a restraint or high-voltage wire leaves its cavity, or a constant-fed end loses its housing.
    pub fn of_action(supply: Option<Supply>, action: &Action) -> Option<Self> {
        let leaves = action.loses_housing() || *action == Action::Remove;
        Self::of(supply).filter(|danger| if *danger == Self::Live { action.loses_housing() } else { leaves })
    }

    /// The same of a step that is noted.
    pub fn of_step(supply: Option<Supply>, step: Step) -> Option<Self> {
        let leaves = matches!(step, Step::Cut | Step::Pulled | Step::Moved | Step::Extended | Step::Spliced);
        Self::of(supply).filter(|danger| if *danger == Self::Live { step == Step::Cut } else { leaves })
    }

    /// Its band on a tag.
    pub const fn band(self) -> &'static str {
        match self {
            Self::HighVoltage => "HIGH VOLTAGE",
            Self::Restraint => "RESTRAINT",
            Self::Live => "LIVE",
        }
    }

    /// What to mind.
    pub const fn words(self) -> &'static str {
        match self {
            Self::HighVoltage => "HIGH VOLTAGE: stop, trained persons only",
            Self::Restraint => {
                "RESTRAINT: never cut, probe or tap into: disarm and wait as the maker's manual says, and take it out whole"
            }
            Self::Live => "LIVE WITH BATTERY ON: cap this end at once, and note `capped`",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_leaves_its_cavity_is_dangerous_and_what_stays_is_not() {
        for (supply, danger) in [(Supply::HighVoltage, Danger::HighVoltage), (Supply::Restraint, Danger::Restraint)] {
            for step in [Step::Cut, Step::Pulled, Step::Moved, Step::Extended, Step::Spliced] {
                assert_eq!(Danger::of_step(Some(supply), step), Some(danger), "{step:?}");
            }
            assert_eq!(Danger::of_step(Some(supply), Step::Tagged), None);
            assert_eq!(Danger::of_action(Some(supply), &Action::Remove), Some(danger));
            assert_eq!(Danger::of_action(Some(supply), &Action::Keep), None);
        }
        assert_eq!(Danger::of_step(Some(Supply::Constant), Step::Cut), Some(Danger::Live));
        assert_eq!(Danger::of_step(Some(Supply::Constant), Step::Pulled), None);
        assert_eq!(Danger::of_action(Some(Supply::Constant), &Action::Remove), None);
        assert_eq!(Danger::of_step(Some(Supply::Signal), Step::Cut), None);
        assert!(Danger::ALL.is_sorted());
    }
}
