//! A label -> the tag that is made of it: which kind, fitted to its stock.
//!
//! What a row or a rule asks for is made or refused. Where the usual kind is refused, the others of the same purpose that are at
//! hand are tried in the order flag, wrap, tie-on, or sleeve, strip; the tag then says in whose place it stands, and why.

use super::equipment::Equipment;
use super::kinds::{self, Chosen, ChosenBy};
use crate::base::{Purpose, TagKind};
use crate::labels::{Label, TagName, Wording};
use crate::layout::flag::{self, FlagStock};
use crate::layout::sleeve::{self, SleeveStock};
use crate::layout::strip::{self, StripStock};
use crate::layout::tie_on::{self, TieOnStock};
use crate::layout::wrap::{self, WrapStock};
use crate::layout::{Fitted, Fitting, Floors, Refusal, wire};

/// A tag fitted, and the stock it goes on by its place in [`Equipment::stocks`].
#[derive(Clone, Debug, PartialEq)]
pub struct Made {
    /// Frame and facts.
    pub tag: Fitted,
    /// Index of the stock.
    pub stock: usize,
    /// The group of its labels.
    pub labels: usize,
}

/// What tags of each kind are made of.
pub(super) struct AtHand {
    pub(super) flags: On<FlagStock>,
    pub(super) wraps: Option<On<WrapStock>>,
    pub(super) tie_ons: On<TieOnStock>,
    /// Whether a tie-on may stand in for another kind. Plates of plain paper may, where an office printer prints them.
    pub(super) tie_ons_stand_in: bool,
    /// The tubes lie in a row from the index on.
    pub(super) sleeves: Option<On<SleeveStock>>,
    pub(super) strips: On<StripStock>,
}

/// Stock for one kind of tag.
pub(super) struct On<T> {
    pub(super) stock: T,
    /// Its place in [`Equipment::stocks`].
    pub(super) index: usize,
    /// The group of its labels.
    pub(super) labels: usize,
    /// Letter heights on its printer.
    pub(super) floors: Floors,
}

impl AtHand {
    /// The kinds that may stand in for another one, in the order to be tried.
    fn stand_ins(&self, purpose: Purpose) -> impl Iterator<Item = TagKind> {
        let order = TagKind::WORDS.map(|(_, kind)| kind);
        let (wraps, tie_ons, sleeves) = (self.wraps.is_some(), self.tie_ons_stand_in, self.sleeves.is_some());
        order.into_iter().filter(move |kind| {
            let is_at_hand = match kind {
                TagKind::Flag | TagKind::Strip => true,
                TagKind::Wrap => wraps,
                TagKind::TieOn => tie_ons,
                TagKind::Sleeve => sleeves,
            };
            kind.purpose() == purpose && is_at_hand
        })
    }

    /// Fits a label to the stock of a kind.
    fn fit(&self, kind: TagKind, fitting: &Fitting<'_>) -> Result<Made, Refusal> {
        let made = |tag, stock, labels| Made { tag, stock, labels };
        match kind {
            TagKind::Flag => {
                let flags = &self.flags;
                Ok(made(flag::fit(&flags.fitting(fitting), &flags.stock)?, flags.index, flags.labels))
            }
            TagKind::Wrap => {
                let remedy = "name a `wrap_stock` in [tags]";
                let wraps = self.wraps.as_ref().ok_or(Refusal::NotAtHand { kind, remedy })?;
                Ok(made(wrap::fit(&wraps.fitting(fitting), &wraps.stock)?, wraps.index, wraps.labels))
            }
            TagKind::TieOn => {
                let plates = &self.tie_ons;
                Ok(made(tie_on::fit(&plates.fitting(fitting), &plates.stock)?, plates.index, plates.labels))
            }
            TagKind::Sleeve => {
                let remedy = "add a table [sleeve_printer]";
                let sleeves = self.sleeves.as_ref().ok_or(Refusal::NotAtHand { kind, remedy })?;
                let sleeve = sleeve::fit(&sleeves.fitting(fitting), &sleeves.stock)?;
                Ok(made(sleeve.tag, sleeves.index + sleeve.tube, 0))
            }
            TagKind::Strip => {
                let strips = &self.strips;
                Ok(made(strip::fit(&strips.fitting(fitting), &strips.stock)?, strips.index, 0))
            }
        }
    }

    /// The stock of a kind, where a look shows that the label surely fits it.
    fn at_a_look(&self, kind: TagKind, fitting: &Fitting<'_>) -> Option<usize> {
        match kind {
            TagKind::Flag => {
                let flags = &self.flags;
                flag::surely_fits(&flags.fitting(fitting), &flags.stock).then_some(flags.index)
            }
            TagKind::Wrap => {
                let wraps = self.wraps.as_ref()?;
                wrap::surely_fits(&wraps.fitting(fitting), &wraps.stock).then_some(wraps.index)
            }
            TagKind::TieOn => {
                let plates = &self.tie_ons;
                tie_on::surely_fits(&plates.fitting(fitting), &plates.stock).then_some(plates.index)
            }
            // The tube is known only by fitting.
            TagKind::Sleeve | TagKind::Strip => None,
        }
    }
}

impl<T> On<T> {
    fn fitting<'a>(&'a self, fitting: &Fitting<'a>) -> Fitting<'a> {
        Fitting { floors: &self.floors, ..*fitting }
    }
}

impl Equipment {
    /// Makes the tag of a label.
    ///
    /// # Errors
    /// The [`Refusal`] of the kind that was asked for, with the kinds that would do; or of all kinds that were tried.
    pub fn make(&self, label: &Label) -> Result<Made, Refusal> {
        self.make_in(label, self.wording_of(label))
    }

    /// Makes the tag of a label in a wording of its own.
    ///
    /// # Errors
    /// As [`Equipment::make`].
    pub fn make_in(&self, label: &Label, wording: &Wording) -> Result<Made, Refusal> {
        let fitting = self.fitting(label, wording);
        let Chosen { kind, by } = self.chosen(&fitting);
        let refusal = match self.at_hand.fit(kind, &fitting) {
            Ok(made) => return Ok(made),
            Err(refusal) => refusal,
        };
        let others = self.at_hand.stand_ins(label.purpose).filter(|other| *other != kind);
        if by != ChosenBy::Usual {
            let would_do = others.filter(|other| self.at_hand.fit(*other, &fitting).is_ok());
            return Err(would_do.fold(refusal, |refusal, other| refusal.otherwise(format!("a {other}"))));
        }
        let mut refused = vec![(kind, refusal)];
        for other in others {
            match self.at_hand.fit(other, &fitting) {
                Ok(mut made) => {
                    made.tag.facts.instead_of = Some((kind, told(refused)));
                    return Ok(made);
                }
                Err(refusal) => refused.push((other, refusal)),
            }
        }
        Err(match refused.pop() {
            Some((_, only)) if refused.is_empty() => only,
            last => Refusal::Each(refused.into_iter().chain(last).collect()),
        })
    }

    /// The stock that the tag of a label goes on, by its place in [`Equipment::stocks`]. Most work tags need not be fitted for
    /// that, so that they are fitted once, when they are drawn.
    ///
    /// # Errors
    /// As [`Equipment::make`].
    pub fn stock_for(&self, label: &Label) -> Result<usize, Refusal> {
        let fitting = self.fitting(label, self.wording_of(label));
        let Chosen { kind, .. } = self.chosen(&fitting);
        match self.at_hand.at_a_look(kind, &fitting) {
            Some(stock) => Ok(stock),
            None => self.make(label).map(|made| made.stock),
        }
    }

    /// The kind of tag that a label comes out as; `None` where none can be made.
    pub fn kind_for(&self, label: &Label) -> Option<TagKind> {
        let fitting = self.fitting(label, self.wording_of(label));
        let Chosen { kind, .. } = self.chosen(&fitting);
        match self.at_hand.at_a_look(kind, &fitting) {
            Some(_) => Some(kind),
            None => self.make(label).ok().map(|made| made.tag.facts.kind),
        }
    }

    /// The kind of tag that a label asks for, by its row, a rule or what is usual, whatever it comes out as.
    pub fn kind_asked(&self, label: &Label) -> TagKind {
        self.chosen(&self.fitting(label, self.wording_of(label))).kind
    }

    fn chosen(&self, fitting: &Fitting<'_>) -> Chosen {
        let usual = match (&fitting.label.name, fitting.label.purpose) {
            (TagName::Connector(_), _) => self.usual.connectors,
            (_, Purpose::Work) => self.usual.work,
            (_, Purpose::Final) => self.usual.finals,
        };
        kinds::choose(fitting.label, fitting.diameter, &self.rules, usual)
    }

    /// What the tag of a label says, and how.
    pub fn wording_of(&self, label: &Label) -> &Wording {
        self.wording_for(&label.name, label.purpose)
    }

    /// What a tag of this name and purpose says, and how.
    pub fn wording_for(&self, name: &TagName, purpose: Purpose) -> &Wording {
        match (name, purpose) {
            (TagName::Connector(_), _) => &self.wordings.connector,
            (TagName::Between { .. }, _) => &self.wordings.along,
            (TagName::Blank(_), _) => &self.wordings.blank,
            (TagName::Ends { .. }, Purpose::Work) => &self.wordings.flat,
            (TagName::Ends { .. }, Purpose::Final) => &self.wordings.round,
        }
    }

    fn fitting<'a>(&'a self, label: &'a Label, wording: &'a Wording) -> Fitting<'a> {
        let diameter = wire::diameter(&label.wires, self.insulation);
        Fitting { fonts: &self.fonts, floors: &self.at_hand.flags.floors, label, wording, diameter }
    }
}

/// Why the usual kind is not made; kinds that were tried after it are told with their names.
fn told(refused: Vec<(TagKind, Refusal)>) -> String {
    let mut refused = refused.into_iter();
    let first = refused.next().map(|(_, refusal)| refusal.to_string());
    let others = refused.map(|(kind, refusal)| format!("no {kind}: {refusal}"));
    first.into_iter().chain(others).collect::<Vec<_>>().join("; ")
}
