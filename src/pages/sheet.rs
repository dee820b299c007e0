//! A sheet of labels by its measures: groups of equal labels in columns and rows, perhaps split by knife lines.
//!
//! In: measures along both axes. Out: where each label lies, by the number of its place. Places are counted through all groups, the
//! first group first.

use std::ops::Range;

use thiserror::Error;

use super::form::LabelForm;
use crate::base::{Length, Point, Rect, Size};

/// How closely the sum of margins, labels and gaps must meet the page: rulers and data sheets give hundredths.
pub(super) const CLOSES_WITHIN: Length = Length::nm(10_000);

/// Most labels in a row or column: a bound for misprints, far above any sheet.
pub const MOST_LABELS: i32 = 1_000;
/// Most slices of one label.
pub const MOST_SLICES: i32 = 50;

/// How labels come apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Cut {
    /// Die-cut: the label peels off along its outline.
    Die,
    /// Plain paper: cut lines are printed.
    Lines,
}

/// The distance from one label to the next along an axis.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spacing {
    /// From the end of one to the start of the next.
    Gap(Length),
    /// From start to start.
    Pitch(Length),
}

/// Where the labels begin along an axis.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Margin {
    /// The same margin before the first and behind the last label: the sum with labels and gaps must be the page.
    Both(Length),
    /// The margin before the first label; what remains lies behind the last.
    Leading(Length),
    /// Not given: the labels lie in the middle.
    Centred,
}

/// Measures along one axis of a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Axis {
    /// Extent of the page.
    pub page: Length,
    /// Extent of a label.
    pub label: Length,
    /// Number of labels.
    pub count: u32,
    /// Distance between them.
    pub spacing: Spacing,
    /// Where they begin.
    pub margin: Margin,
}

/// Why the measures of an axis make no sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum AxisFault {
    /// An extent or count that is nothing or less, or a gap or margin below zero.
    #[error("every extent must be more than nothing")]
    Nothing,
    /// Labels lie over one another.
    #[error("labels overlap: the pitch of {pitch} is less than the label's {label}")]
    Overlap {
        /// From start to start.
        pitch: Length,
        /// Extent of a label.
        label: Length,
    },
    /// Margins, labels and gaps do not add up to the page.
    #[error("labels, the gaps between them and two margins make {total}, but the page has {page}")]
    Sum {
        /// What they make.
        total: Length,
        /// Extent of the page.
        page: Length,
        /// The margin that closes the sum; `None` when the labels alone are longer than the page.
        closing: Option<Length>,
    },
    /// The last label ends beyond the page.
    #[error("the last label ends {by} beyond the page")]
    OffPage {
        /// How far.
        by: Length,
        /// Where the first label may begin at the latest; `None` when the labels alone are longer than the page.
        latest: Option<Length>,
        /// How many labels there is room for on the whole page.
        most: i64,
    },
}

impl Axis {
    /// How many labels have room when the first begins there.
    pub fn room_for(&self, start: Length) -> i64 {
        let pitch = match self.spacing {
            Spacing::Gap(gap) => self.label + gap,
            Spacing::Pitch(pitch) => pitch,
        };
        let room = self.page - self.label - start;
        if room < Length::ZERO { 0 } else { room.as_nm() / pitch.as_nm().max(1) + 1 }
    }

    /// Start of the first label and distance from label to label.
    fn resolve(&self) -> Result<(Length, Length), AxisFault> {
        let pitch = match self.spacing {
            Spacing::Gap(gap) => self.label + gap,
            Spacing::Pitch(pitch) => pitch,
        };
        let least = self.page.min(self.label);
        if least <= Length::ZERO || self.count == 0 {
            return Err(AxisFault::Nothing);
        }
        if pitch < self.label && self.count > 1 {
            return Err(AxisFault::Overlap { pitch, label: self.label });
        }
        let span = pitch * i64::from(self.count - 1) + self.label;
        let spare = self.page - span;
        let closing = (spare >= Length::ZERO).then_some(spare.half());
        let start = match (self.margin, closing) {
            (Margin::Both(margin), _) if margin < Length::ZERO => return Err(AxisFault::Nothing),
            (Margin::Leading(margin), _) if margin < Length::ZERO => return Err(AxisFault::Nothing),
            // A sum that closes within the tolerance is closed exactly.
            (Margin::Both(margin), Some(exact)) if (spare - margin * 2).abs() <= CLOSES_WITHIN => exact,
            (Margin::Both(margin), closing) => {
                let total = margin * 2 + span;
                return Err(AxisFault::Sum { total, page: self.page, closing });
            }
            (Margin::Leading(margin), _) => margin,
            (Margin::Centred, Some(exact)) => exact,
            (Margin::Centred, None) => Length::ZERO,
        };
        let over = start + span - self.page;
        if over > Length::ZERO {
            let most = self.room_for(Length::ZERO);
            return Err(AxisFault::OffPage { by: over, latest: closing.map(|_| spare), most });
        }
        Ok((start, pitch))
    }
}

/// Equal labels in columns and rows: one group of a sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Labels {
    page: Size,
    first: Rect,
    pitch: Size,
    columns: u32,
    rows: u32,
    split: u32,
    corner_radius: Length,
    form: LabelForm,
}

/// Labels of two groups lie over one another.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
#[error("label {one} of group {first} and label {other} of group {second} lie over one another")]
pub struct GroupsOverlap {
    /// Number of the earlier group, from 1.
    pub first: usize,
    /// One of its labels, from 1.
    pub one: usize,
    /// Number of the later group, from 1.
    pub second: usize,
    /// The label of it that overlaps, from 1.
    pub other: usize,
}

/// A sheet with its groups of labels, of which none overlap.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sheet {
    page: Size,
    groups: Vec<Labels>,
    cut: Cut,
}

impl Labels {
    /// Labels from their measures across and down; a fault comes with the axis it lies on (`across`, `down`).
    ///
    /// `split` cuts each label into that many slices along its height; the corner radius is kept below half a label.
    pub fn new(
        across: Axis,
        down: Axis,
        split: u32,
        corner_radius: Length,
    ) -> Result<Self, (Option<AxisFault>, Option<AxisFault>)> {
        match (across.resolve(), down.resolve()) {
            (Ok((left, pitch_x)), Ok((top, pitch_y))) => Ok(Self {
                page: Size::new(across.page, down.page),
                first: Rect::new(left, top, across.label, down.label),
                pitch: Size::new(pitch_x, pitch_y),
                columns: across.count,
                rows: down.count,
                split: split.clamp(1, MOST_SLICES as u32),
                corner_radius: corner_radius.clamp(Length::ZERO, across.label.min(down.label).half()),
                form: LabelForm::Plain,
            }),
            (across, down) => Err((across.err(), down.err())),
        }
    }

    /// The same labels, made for this.
    pub fn with_form(self, form: LabelForm) -> Self {
        Self { form, ..self }
    }

    /// Size of a whole label.
    pub fn label(&self) -> Size {
        self.first.size
    }

    /// Size of the piece that takes one tag: a slice of a split label, else the label.
    pub fn slice(&self) -> Size {
        Size::new(self.first.size.width, self.first.size.height / i64::from(self.split))
    }

    /// Number of slices that knife lines make of a label.
    pub fn split(&self) -> u32 {
        self.split
    }

    /// Radius of the label's corners.
    pub fn corner_radius(&self) -> Length {
        self.corner_radius
    }

    /// What they are made for.
    pub fn form(&self) -> LabelForm {
        self.form
    }

    /// Size of the page they are measured on.
    pub fn page(&self) -> Size {
        self.page
    }

    /// Number of columns.
    pub fn columns(&self) -> u32 {
        self.columns
    }

    /// Number of rows.
    pub fn rows(&self) -> u32 {
        self.rows
    }

    /// From the start of a label to the start of the next, across and down.
    pub fn pitch(&self) -> Size {
        self.pitch
    }

    /// The rectangle round them all.
    pub fn block(&self) -> Rect {
        let width = self.pitch.width * i64::from(self.columns - 1) + self.first.size.width;
        let height = self.pitch.height * i64::from(self.rows - 1) + self.first.size.height;
        Rect { origin: self.first.origin, size: Size::new(width, height) }
    }

    fn whole_labels(&self) -> usize {
        self.columns as usize * self.rows as usize
    }

    fn places(&self) -> usize {
        self.whole_labels() * self.split as usize
    }

    fn label_at(&self, index: usize) -> Rect {
        let (column, row) = (index % self.columns as usize, index / self.columns as usize);
        self.first.moved(Point::new(self.pitch.width * column as i64, self.pitch.height * row as i64))
    }

    /// The place with this number within the group.
    fn place(&self, number: usize) -> Rect {
        let split = self.split as usize;
        let label = self.label_at(number / split);
        // Each slice starts at its exact share, so that rounding never adds up.
        let start = label.size.height * (number % split) as i64 / i64::from(self.split);
        Rect { origin: label.origin.plus(Point::new(Length::ZERO, start)), size: self.slice() }
    }

    /// A label of each group that overlap. Both lie in columns and rows, so that they do where a column of one shares a stretch with
    /// a column of the other, and a row with a row.
    fn overlap(&self, other: &Self) -> Option<(usize, usize)> {
        let (column, others_column) = shared(self.stretches_across(), other.stretches_across())?;
        let (row, others_row) = shared(self.stretches_down(), other.stretches_down())?;
        Some((row * self.columns as usize + column, others_row * other.columns as usize + others_column))
    }

    fn stretches_across(&self) -> Stretches {
        Stretches {
            start: self.first.left(),
            extent: self.first.size.width,
            pitch: self.pitch.width,
            count: self.columns,
        }
    }

    fn stretches_down(&self) -> Stretches {
        Stretches {
            start: self.first.top(),
            extent: self.first.size.height,
            pitch: self.pitch.height,
            count: self.rows,
        }
    }
}

/// Equal stretches along an axis.
#[derive(Clone, Copy)]
struct Stretches {
    start: Length,
    extent: Length,
    pitch: Length,
    count: u32,
}

impl Stretches {
    fn start_of(&self, index: u32) -> Length {
        self.start + self.pitch * i64::from(index)
    }
}

/// The first stretches of both that share more than an end.
fn shared(one: Stretches, other: Stretches) -> Option<(usize, usize)> {
    let (mut i, mut j) = (0, 0);
    while i < one.count && j < other.count {
        let (starts, other_starts) = (one.start_of(i), other.start_of(j));
        let (ends, other_ends) = (starts + one.extent, other_starts + other.extent);
        if starts < other_ends && other_starts < ends {
            return Some((i as usize, j as usize));
        }
        if ends <= other_ends { i += 1 } else { j += 1 }
    }
    None
}

impl Sheet {
    /// A sheet with these groups of labels, in the order in which their places are counted. All are measured on one page: that of the
    /// first.
    ///
    /// # Errors
    /// When labels of two groups overlap.
    pub fn new(groups: Vec<Labels>, cut: Cut) -> Result<Self, GroupsOverlap> {
        for (second, later) in groups.iter().enumerate() {
            for (first, earlier) in groups[..second].iter().enumerate() {
                if let Some((one, other)) = earlier.overlap(later) {
                    let [first, one, second, other] = [first, one, second, other].map(|index| index + 1);
                    return Err(GroupsOverlap { first, one, second, other });
                }
            }
        }
        let page = groups.first().map(|labels| labels.page).unwrap_or_default();
        Ok(Self { page, groups, cut })
    }

    /// Size of the paper.
    pub fn page(&self) -> Size {
        self.page
    }

    /// The groups of labels; [`super::Piece::labels`] counts them from 0.
    pub fn groups(&self) -> &[Labels] {
        &self.groups
    }

    /// How labels come apart.
    pub fn cut(&self) -> Cut {
        self.cut
    }

    /// Number of tags that a sheet takes.
    pub fn places(&self) -> usize {
        self.groups.iter().map(Labels::places).sum()
    }

    /// Numbers of the places of a group; none where there is no such group.
    pub fn places_of(&self, labels: usize) -> Range<usize> {
        let first = self.groups.iter().take(labels).map(Labels::places).sum();
        first..first + self.groups.get(labels).map_or(0, Labels::places)
    }

    /// The group that has the place with this number; `None` past the last.
    pub fn labels_of(&self, place: usize) -> Option<usize> {
        (0..self.groups.len()).find(|labels| self.places_of(*labels).contains(&place))
    }

    /// The place with this number, counted label by label and within a label from its top; `None` past the last.
    pub fn place(&self, number: usize) -> Option<Rect> {
        self.in_group(number).map(|(labels, within)| labels.place(within))
    }

    /// The whole label that holds the place with this number; `None` past the last.
    pub fn label_of(&self, number: usize) -> Option<Rect> {
        self.in_group(number).map(|(labels, within)| labels.label_at(within / labels.split as usize))
    }

    /// Numbers of all places on the label that holds the place with this number: one, unless it is split.
    pub fn slices_of(&self, number: usize) -> Range<usize> {
        let Some((labels, within)) = self.in_group(number) else { return number..number };
        let split = labels.split as usize;
        let first = number - within % split;
        first..first + split
    }

    /// What the place with this number is made for; plain past the last.
    pub fn form_of(&self, number: usize) -> LabelForm {
        self.in_group(number).map_or(LabelForm::Plain, |(labels, _)| labels.form)
    }

    /// All whole labels with the radius of their corners, group by group, row by row from the top left.
    pub fn outlines(&self) -> impl Iterator<Item = (Rect, Length)> + '_ {
        self.groups.iter().flat_map(|labels| {
            (0..labels.whole_labels()).map(move |index| (labels.label_at(index), labels.corner_radius))
        })
    }

    /// The rectangle round all labels.
    pub fn block(&self) -> Rect {
        self.groups.iter().map(Labels::block).reduce(around).unwrap_or_default()
    }

    /// The group of a place, and the number of the place within it.
    fn in_group(&self, number: usize) -> Option<(&Labels, usize)> {
        let mut within = number;
        for labels in &self.groups {
            if within < labels.places() {
                return Some((labels, within));
            }
            within -= labels.places();
        }
        None
    }
}

/// The rectangle round two.
fn around(one: Rect, other: Rect) -> Rect {
    let (left, top) = (one.left().min(other.left()), one.top().min(other.top()));
    let (right, bottom) = (one.right().max(other.right()), one.bottom().max(other.bottom()));
    Rect::new(left, top, right - left, bottom - top)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn axis(page: f64, label: f64, count: u32, gap: f64, margin: Margin) -> Axis {
        let spacing = Spacing::Gap(Length::mm(gap));
        Axis { page: Length::mm(page), label: Length::mm(label), count, spacing, margin }
    }

    #[test]
    fn the_sum_must_close_to_a_hundredth() {
        let closed = |margin| axis(210.0, 38.1, 5, 2.54, Margin::Both(Length::mm(margin))).resolve();
        assert_eq!(closed(4.67), Ok((Length::mm(4.67), Length::mm(40.64))));
        assert_eq!(closed(4.674), Ok((Length::mm(4.67), Length::mm(40.64))));
        let closing = Some(Length::mm(4.67));
        let (total, page) = (Length::mm(209.86), Length::mm(210.0));
        assert_eq!(closed(4.6), Err(AxisFault::Sum { total, page, closing }));
    }

    #[test]
    fn labels_neither_overlap_nor_leave_the_page() {
        let leading = |margin| Margin::Leading(Length::mm(margin));
        assert!(axis(210.0, 70.0, 3, 0.0, leading(0.0)).resolve().is_ok());
        let by = Length::mm(1.0);
        let off = |latest, most| Err(AxisFault::OffPage { by, latest, most });
        assert_eq!(axis(210.0, 70.0, 3, 0.0, leading(1.0)).resolve(), off(Some(Length::ZERO), 3));
        assert_eq!(axis(209.0, 70.0, 3, 0.0, Margin::Centred).resolve(), off(None, 2));
        assert!(matches!(axis(210.0, 20.0, 3, -1.0, leading(1.0)).resolve(), Err(AxisFault::Overlap { .. })));
        assert_eq!(axis(210.0, 20.0, 3, 0.0, leading(-1.0)).resolve(), Err(AxisFault::Nothing));
        assert_eq!(axis(210.0, 20.0, 0, 0.0, leading(1.0)).resolve(), Err(AxisFault::Nothing));
        assert_eq!(axis(210.0, 20.0, 1, -1.0, leading(1.0)).resolve(), Ok((Length::mm(1.0), Length::mm(19.0))));
    }

    #[test]
    fn slices_fill_their_label_from_its_top() {
        let across = axis(210.0, 99.1, 2, 2.54, Margin::Centred);
        let down = axis(297.0, 38.1, 7, 0.0, Margin::Centred);
        let labels = Labels::new(across, down, 2, Length::mm(2.5)).expect("closes");
        assert_eq!(labels.slice(), Size::new(Length::mm(99.1), Length::mm(19.05)));
        let sheet = Sheet::new(vec![labels], Cut::Die).expect("one group");
        assert_eq!(sheet.places(), 28);
        let second = sheet.place(1).expect("there");
        assert_eq!((second.left(), second.top()), (Length::mm(4.63), Length::mm(15.15 + 19.05)));
        assert_eq!(sheet.place(2).map(|place| place.top()), Some(Length::mm(15.15)));
        assert_eq!(sheet.place(28), None);
    }

    proptest! {
        /// Whatever measures are accepted, no two places overlap and all lie on the page.
        #[test]
        fn accepted_sheets_hold(
            page in (1_i64..400, 1_i64..400), label in (1_i64..100, 1_i64..100), count in (1_u32..8, 1_u32..8),
            gap in (-3_i64..10, -3_i64..10), margin in (-2_i64..20, -2_i64..20), split in 1_u32..5,
        ) {
            let axis = |page, label, count, gap, margin: i64| {
                let margin = if margin == 19 { Margin::Centred } else { Margin::Leading(Length::nm(margin * 1_000_003)) };
                let spacing = Spacing::Gap(Length::nm(gap * 999_983));
                Axis { page: Length::nm(page * 1_000_000), label: Length::nm(label * 1_000_001), count, spacing, margin }
            };
            let across = axis(page.0, label.0, count.0, gap.0, margin.0);
            let down = axis(page.1, label.1, count.1, gap.1, margin.1);
            if let Ok(labels) = Labels::new(across, down, split, Length::mm(1.0)) {
                let sheet = Sheet::new(vec![labels], Cut::Die).expect("one group");
                let whole = Rect { origin: Point::ORIGIN, size: sheet.page() };
                let places: Vec<_> = (0..sheet.places()).filter_map(|number| sheet.place(number)).collect();
                prop_assert_eq!(places.len(), sheet.places());
                for (index, place) in places.iter().enumerate() {
                    prop_assert!(whole.holds(place) && sheet.label_of(index).is_some_and(|label| label.holds(place)) && sheet.block().holds(place));
                    prop_assert!(places[..index].iter().all(|other| !other.overlaps(place)));
                }
            }
        }
    }
}
