//! Passages -> what stands on each page: strips one below the other, heads repeated, and strips that belong together not torn.

use crate::base::{Length, Point, Turn};
use crate::layout::{Frame, Item};

/// Whether a strip may stand last on a page while more of its passage follow.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Binding {
    /// It may.
    #[default]
    Free,
    /// It stays on one page with the next strip, be it of the next passage.
    WithNext,
}

/// A part of a passage that is never broken: a row of a table, a paragraph, a drawing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Strip {
    /// What it shows, as wide as it likes.
    pub frame: Frame,
    /// Whether it stays with the next one.
    pub binding: Binding,
}

/// Strips that follow one another, with a head that stands above them on every page.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Passage {
    /// The head of a table.
    pub head: Option<Frame>,
    /// The strips.
    pub strips: Vec<Strip>,
    /// White above it, unless it begins a page.
    pub before: Length,
    /// Whether it begins a new page.
    pub begins_page: bool,
}

impl Passage {
    /// One drawing or paragraph.
    pub fn of(frame: Frame, before: Length, binding: Binding) -> Self {
        Self { strips: vec![Strip { frame, binding }], before, ..Self::default() }
    }

    /// The same, staying with what follows it.
    #[must_use]
    pub fn with_next(mut self) -> Self {
        if let Some(last) = self.strips.last_mut() {
            last.binding = Binding::WithNext;
        }
        self
    }

    /// The same, with no strip alone at the foot of a page below the head, and none alone at the top of the next.
    #[must_use]
    pub fn without_orphans(mut self) -> Self {
        let count = self.strips.len();
        if count > 1 {
            self.strips[0].binding = Binding::WithNext;
            self.strips[count - 2].binding = Binding::WithNext;
        }
        self
    }
}

/// Lays passages out on pages of this height; items keep their places from the left, and the top of the room is zero. A bound
/// group that is higher than a page is torn where the page ends; a strip that is higher than a page has one of its own, and leaves it
/// at the foot: whoever makes strips keeps them lower.
pub fn flow(passages: &[Passage], height: Length) -> Vec<Vec<Item>> {
    let mut pages = Laying { pages: Vec::new(), items: Vec::new(), used: Length::ZERO, height };
    let strips: Vec<(&Passage, usize)> =
        passages.iter().flat_map(|passage| (0..passage.strips.len()).map(move |at| (passage, at))).collect();
    let mut begin = 0;
    while begin < strips.len() {
        let bound = |(passage, at): &(&Passage, usize)| passage.strips[*at].binding == Binding::WithNext;
        let end = begin + strips[begin..].iter().take_while(|strip| bound(strip)).count() + 1;
        let group = &strips[begin..end.min(strips.len())];
        pages.add(group);
        begin += group.len();
    }
    pages.end_page();
    pages.pages
}

struct Laying {
    pages: Vec<Vec<Item>>,
    items: Vec<Item>,
    used: Length,
    height: Length,
}

/// Where a group of strips stands on its page.
#[derive(Clone, Copy, PartialEq, Eq)]
enum OnPage {
    First,
    Below,
}

impl Laying {
    fn end_page(&mut self) {
        if !self.items.is_empty() || self.used > Length::ZERO {
            self.pages.push(std::mem::take(&mut self.items));
        }
        self.used = Length::ZERO;
    }

    /// Height that a group takes.
    fn height_of(group: &[(&Passage, usize)], on: OnPage) -> Length {
        let mut sum = Length::ZERO;
        for (nth, (passage, at)) in group.iter().enumerate() {
            let is_first = on == OnPage::First && nth == 0;
            if *at == 0 && !is_first {
                sum += passage.before;
            }
            if *at == 0 || is_first {
                sum += passage.head.as_ref().map_or(Length::ZERO, |head| head.size.height);
            }
            sum += passage.strips[*at].frame.size.height;
        }
        sum
    }

    fn add(&mut self, group: &[(&Passage, usize)]) {
        let wants_page = group.iter().any(|(passage, at)| *at == 0 && passage.begins_page);
        let is_at_top = self.used == Length::ZERO;
        if !is_at_top && (wants_page || self.used + Self::height_of(group, OnPage::Below) > self.height) {
            let fits_alone = Self::height_of(group, OnPage::First) <= self.height;
            if wants_page || fits_alone || group.len() == 1 {
                self.end_page();
            }
        }
        for strip in group {
            self.put(strip);
        }
    }

    fn put(&mut self, strip: &(&Passage, usize)) {
        let (passage, at) = *strip;
        if self.used > Length::ZERO && self.used + Self::height_of(&[*strip], OnPage::Below) > self.height {
            self.end_page();
        }
        let begins_page = self.used == Length::ZERO;
        if at == 0 && !begins_page {
            self.used += passage.before;
        }
        if (at == 0 || begins_page)
            && let Some(head) = &passage.head
        {
            self.draw(head);
        }
        self.draw(&passage.strips[at].frame);
    }

    fn draw(&mut self, frame: &Frame) {
        let corner = Point::new(Length::ZERO, self.used);
        self.items.extend(frame.items.iter().map(|item| item.placed(Turn::Upright, frame.size, corner)));
        self.used += frame.size.height;
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::base::{Rect, Size};
    use crate::layout::Ink;

    /// A strip of this height in millimetres, known again by the width of its fill.
    fn frame(name: i64, height_mm: i64) -> Frame {
        let size = Size::new(Length::mm(name as f64), Length::mm(height_mm as f64));
        Frame { size, items: vec![Item::Fill { area: Rect { origin: Point::ORIGIN, size }, ink: Ink::Black }] }
    }

    /// Names and tops of what stands on each page.
    fn laid(passages: &[Passage], height_mm: f64) -> Vec<Vec<(i64, i64)>> {
        let told = |item: &Item| match item {
            Item::Fill { area, .. } => (area.size.width.as_mm().round() as i64, area.top().as_mm().round() as i64),
            _ => (0, 0),
        };
        flow(passages, Length::mm(height_mm)).iter().map(|page| page.iter().map(told).collect()).collect()
    }

    fn table(head: i64, rows: std::ops::Range<i64>) -> Passage {
        let strips = rows.map(|row| Strip { frame: frame(row, 10), binding: Binding::Free }).collect();
        Passage { head: Some(frame(head, 5)), strips, before: Length::mm(5.0), begins_page: false }.without_orphans()
    }

    #[test]
    fn heads_are_repeated_and_no_row_stands_alone() {
        // A page of 40 takes the head and three rows; the last two of seven stay together.
        let pages = laid(&[table(100, 1..8)], 40.0);
        assert_eq!(
            pages,
            [
                vec![(100, 0), (1, 5), (2, 15), (3, 25)],
                vec![(100, 0), (4, 5), (5, 15)],
                vec![(100, 0), (6, 5), (7, 15)],
            ]
        );
        // Below the first table there is room for head and one row only: the second begins a page.
        let pages = laid(&[table(100, 1..3), table(200, 3..5)], 47.0);
        assert_eq!(pages, [vec![(100, 0), (1, 5), (2, 15)], vec![(200, 0), (3, 5), (4, 15)]]);
    }

    proptest! {
        #[test]
        fn every_strip_is_laid_once_in_order_and_inside(
            heights in proptest::collection::vec((1..30i64, any::<bool>(), any::<bool>()), 1..40),
            height in 30..80i64,
        ) {
            let mut passages: Vec<Passage> = Vec::new();
            for (name, (tall, is_bound, begins)) in heights.iter().enumerate() {
                let binding = if *is_bound { Binding::WithNext } else { Binding::Free };
                let strip = Strip { frame: frame(name as i64 + 1, *tall), binding };
                match passages.last_mut() {
                    Some(passage) if !begins => passage.strips.push(strip),
                    _ => passages.push(Passage { strips: vec![strip], before: Length::mm(3.0), ..Passage::default() }),
                }
            }
            let pages = laid(&passages, height as f64);
            let names: Vec<i64> = pages.iter().flatten().map(|(name, _)| *name).collect();
            prop_assert_eq!(names, (1..=heights.len() as i64).collect::<Vec<_>>());
            for page in &pages {
                let mut free = 0;
                for (name, top) in page {
                    prop_assert!(*top >= free);
                    free = top + heights[*name as usize - 1].0;
                    prop_assert!(free <= height);
                }
            }
        }
    }
}
