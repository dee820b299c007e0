//! The sheets of labels that a run goes on, as they are laid into the printer: sheets that are begun first, then new ones.

use std::collections::BTreeSet;

/// Sheets in the order in which they are laid into the printer. Plain paper, which is cut up, needs none.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Tray {
    /// Sheets that are begun.
    pub begun: Vec<BegunSheet>,
    /// Numbers of new sheets to be given first: they were given before, and nothing came to be printed.
    pub blank: Vec<u32>,
    /// Number of the first new sheet after these; `None`: sheets are not numbered.
    pub next: Option<u32>,
    /// Places of the first new sheet that are gone already, counted from its first.
    pub gone: usize,
}

/// A sheet that is used in part.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BegunSheet {
    /// The number in its margin.
    pub number: u32,
    /// Places that are used or spoilt, counted from 0.
    pub taken: BTreeSet<usize>,
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

impl Tray {
    /// Takes the next sheet: its number, the places that are gone, and whether it is new.
    pub(super) fn take(&mut self) -> (Option<u32>, BTreeSet<usize>, bool) {
        if !self.begun.is_empty() {
            let BegunSheet { number, taken } = self.begun.remove(0);
            return (Some(number), taken, false);
        }
        if !self.blank.is_empty() {
            return (Some(self.blank.remove(0)), BTreeSet::new(), true);
        }
        let number = self.next;
        self.next = number.map(|number| number.saturating_add(1));
        (number, (0..std::mem::take(&mut self.gone)).collect(), true)
    }
}
