//! The sheets of labels that a run goes on, as they are laid into the printer: sheets that are begun first, then new ones.

use std::collections::BTreeSet;

/// Sheets in the order in which they are laid into the printer. Plain paper, which is cut up, needs none.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Tray {
    /// Sheets that are begun.
    pub begun: Vec<BegunSheet>,
    /// Which of these are taken.
    pub taking: Taking,
    /// Numbers of new sheets to be given first: they were given before, and nothing came to be printed.
    pub blank: Vec<u32>,
    /// Number of the first new sheet after these; `None`: sheets are not numbered.
    pub next: Option<u32>,
    /// Places of the first new sheet that are gone already, counted from its first.
    pub gone: usize,
}

/// Which sheets that are begun a run is laid on. Where a sheet has labels of several groups, all are taken in their order.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Taking {
    /// All, in their order.
    #[default]
    InOrder,
    /// Those that suit the number of tags; what stays free on them is for a later run.
    Fitting,
    /// Those of which least is lost: what stays free on them is lost, for it is their last pass.
    LastPass,
}

/// A sheet that is used in part.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BegunSheet {
    /// The number in its margin.
    pub number: u32,
    /// Places that are used or spoilt, counted from 0.
    pub taken: BTreeSet<usize>,
    /// How often it went through the printer.
    pub passes: usize,
}

/// The sheet that a page is printed on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OnSheet {
    /// The number in its margin.
    pub number: u32,
    /// Whether it is new, and how its number comes onto it.
    pub standing: SheetStanding,
    /// Places that still take a tag after this page, as far as the printer reaches them.
    pub left: usize,
}

/// Whether a sheet bears its number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SheetStanding {
    /// It was printed on before.
    Begun,
    /// It is new, and this page prints its number.
    Numbered,
    /// It is new, and its margins have no room for the number: a person writes it on.
    Unnumbered,
}

/// A sheet as it is laid in.
#[derive(Default)]
pub(super) struct LaidIn {
    /// Its number.
    pub(super) number: Option<u32>,
    /// Places that are gone.
    pub(super) gone: BTreeSet<usize>,
    /// How often it went through the printer before; `None`: it is new.
    pub(super) before: Option<usize>,
}

impl Tray {
    /// Takes the next sheet.
    pub(super) fn take(&mut self) -> LaidIn {
        if !self.begun.is_empty() {
            let BegunSheet { number, taken, passes } = self.begun.remove(0);
            return LaidIn { number: Some(number), gone: taken, before: Some(passes) };
        }
        if !self.blank.is_empty() {
            return LaidIn { number: Some(self.blank.remove(0)), ..LaidIn::default() };
        }
        let number = self.next;
        self.next = number.map(|number| number.saturating_add(1));
        LaidIn { number, gone: (0..std::mem::take(&mut self.gone)).collect(), before: None }
    }
}
