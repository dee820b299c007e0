//! One cavity: its name, and of every wire in it the colour bar, the tag's name and the mark. What does not fit shrinks, and then
//! goes: the word beside the mark first, then the letters of the colour. Name, bar, tag, mark and the word of a danger stay.

use super::filled::{Mark, Occupant};
use super::plan::Standing;
use crate::base::{Length, Point, Rect, Size};
use crate::labels::Band;
use crate::layout::frame::Dash;
use crate::layout::text::Fonts;
use crate::layout::{Face, Ink, Item};
use crate::paperwork::pen::{self, Align, Look, Pen};

/// No letter of a face is lower: what is readable at arm's length under a lamp (common practice for such sheets).
pub(super) const LEAST_CAP: Length = Length::nm(1_300_000);
/// Capitals of the name, the tag and words in the smallest cavity; and the height of a bar.
const NAME: Length = Length::nm(1_900_000);
const TAG: Length = Length::nm(1_400_000);
const WORD: Length = LEAST_CAP;
const BAR: Length = LEAST_CAP;
/// Black round the sign and the word of a stop, beside their height.
const STOP_EDGE: f64 = 0.2;
/// The word of a stop where it has the least room.
const STOP_LOOK: Look = Look { face: Face::Strong, cap: LEAST_CAP, ink: Ink::White };
/// White between lines.
const GAP: Length = Length::nm(720_000);
/// From the pitch's edge to the outline, and from there to what stands in it.
const INSET: Length = Length::nm(250_000);
const PADDING: Length = Length::nm(800_000);
/// Least and most of a cavity's width that the bar has beside the letters of the colour.
const LEAST_BAR: f64 = 0.25;
const MOST_BAR: f64 = 0.45;
/// Letters grow with the cavity, at most so much.
const MOST_GROWTH: f64 = 1.6;
/// Wires of one cavity that are shown; more are counted.
const SHOWN: usize = 2;
/// Least width of a cavity.
const LEAST_WIDTH: Length = Length::nm(8_000_000);

/// The least size of a pitch in which this can be shown: names and tags at the least height.
pub(super) fn least_size(fonts: &Fonts, name: &str, held: &[Occupant]) -> Size {
    let width_of = |words: &str| pen::width(fonts, Look { cap: LEAST_CAP, ..Look::code(0.0) }, words);
    let tags = held.iter().map(|occupant| width_of(&occupant.tag)).max().unwrap_or_default();
    let stop = |occupant: &Occupant| {
        let word = occupant.mark.short_word()?;
        Some(WORD + GAP.half() + pen::width(fonts, STOP_LOOK, word).scaled(1.002))
    };
    let stops = held.iter().filter_map(stop).max().unwrap_or_default();
    let live = if is_live(held) { Mark::Live.width(fonts, LEAST_CAP) + GAP } else { Length::ZERO };
    let border = (INSET + PADDING) * 2;
    let width = (tags.max(width_of(name) + live).max(stops) + border).max(LEAST_WIDTH);
    Size::new(width, height(held.len()))
}

/// Height of a pitch with so many wires in a cavity.
fn height(wires: usize) -> Length {
    let count = i64::try_from(wires.clamp(1, SHOWN)).unwrap_or(1);
    NAME + (GAP + BAR + GAP + TAG + GAP + WORD) * count + (INSET + PADDING) * 2
}

/// Draws a cavity.
pub(super) fn draw(pen: &mut Pen<'_>, pitch: Rect, name: &str, held: &[Occupant], standing: Standing) {
    let area = pitch.inset(INSET);
    outline(pen, area, held, standing);
    let room = area.inset(PADDING);
    let growth = pitch.size.height.ratio(height(held.len())).clamp(1.0, MOST_GROWTH);
    let mut cell = Cell { pen, room, growth, y: room.top() };
    cell.name(name, held);
    if held.is_empty() {
        cell.mark(&Mark::Empty, "");
    }
    // No stop is among those that are only counted.
    let mut shown: Vec<&Occupant> = held.iter().collect();
    shown.sort_by_key(|occupant| !occupant.mark.is_stop());
    for (index, occupant) in shown.into_iter().take(SHOWN).enumerate() {
        cell.colour(occupant);
        cell.tag(occupant);
        let more = held.len().saturating_sub(SHOWN);
        let word = match (index + 1 == SHOWN, more) {
            (true, 1..) => format!("+{more} more"),
            _ => occupant.mark.word(),
        };
        cell.mark(&occupant.mark, &word);
    }
}

/// Whether a wire is fed with the battery on, and no stop says more.
fn is_live(held: &[Occupant]) -> bool {
    held.iter().any(|occupant| occupant.danger == Some(Band::Live))
}

/// Heavy where there is something to do; dashed where the cavity has no place on the face.
fn outline(pen: &mut Pen<'_>, area: Rect, held: &[Occupant], standing: Standing) {
    let is_heavy = held.iter().any(|occupant| occupant.mark.is_heavy());
    let is_apart = standing == Standing::Apart;
    let weight = Length::mm(if is_heavy && !is_apart { 0.5 } else { 0.18 });
    if standing == Standing::OnFace {
        pen.items.push(Item::Outline { area: area.inset(weight.half()), weight, radius: Length::mm(0.7) });
        return;
    }
    let corners = [
        area.origin,
        Point::new(area.right(), area.top()),
        Point::new(area.right(), area.bottom()),
        Point::new(area.left(), area.bottom()),
    ];
    for (index, &from) in corners.iter().enumerate() {
        let to = corners[(index + 1) % corners.len()];
        pen.items.push(Item::Rule { from, to, weight, dash: Dash::Dashed(Length::mm(0.9)) });
    }
}

struct Cell<'p, 'f> {
    pen: &'p mut Pen<'f>,
    room: Rect,
    growth: f64,
    y: Length,
}

impl Cell<'_, '_> {
    /// The name, as large as there is room; it is never left out.
    fn name(&mut self, name: &str, held: &[Occupant]) {
        let cap = if held.is_empty() { NAME.scaled(self.growth.min(1.2)) } else { NAME.scaled(self.growth) };
        let look = Look { cap, ..Look::code(0.0) };
        let fonts = self.pen.fonts();
        let shaped = pen::shape(fonts, look.face, name);
        let (width, fall) = (fonts.width(&shaped, cap), fonts.fall(&shaped, cap));
        let live = is_live(held).then(|| Mark::Live.width(fonts, LEAST_CAP));
        let room = self.room.size.width - live.map_or(Length::ZERO, |live| live + GAP);
        let too_wide = room.ratio(width.max(Length::nm(1))).min(1.0);
        // Letters that hang below the line are set higher, so that what follows stays clear of them.
        let cap = cap.scaled(too_wide.min(cap.ratio(cap + fall)));
        let baseline = self.y + NAME.scaled(self.growth) - fonts.fall(&shaped, cap);
        self.pen.words(Point::new(self.room.left(), baseline), name, Look { cap, ..look }, Align::Left);
        if let Some(live) = live {
            let top = self.y + (NAME.scaled(self.growth) - LEAST_CAP).half();
            Mark::Live.draw(self.pen, Rect::new(self.room.right() - live, top, LEAST_CAP, LEAST_CAP));
        }
        self.y += NAME.scaled(self.growth);
        self.y += GAP.scaled(self.growth);
    }

    /// Bar and letters. In black and white the letters tell more, so that the bar gets what they leave, if that can be seen.
    fn colour(&mut self, occupant: &Occupant) {
        let height = BAR.scaled(self.growth);
        let width = self.room.size.width;
        if let Some(colour) = &occupant.colour {
            let is_understood = colour.base().is_some();
            let bar = if is_understood { width.scaled(LEAST_BAR) + GAP } else { Length::ZERO };
            let letters = self.fitting(Face::Words, WORD, colour.typed(), width - bar);
            let of_letters = letters.map(|look| pen::width(self.pen.fonts(), look, colour.typed()));
            let left = match of_letters {
                Some(of_letters) if is_understood => {
                    let bar = (width - of_letters - GAP).min(width.scaled(MOST_BAR));
                    self.pen.bar(Rect::new(self.room.left(), self.y, bar, height), colour);
                    bar + GAP
                }
                Some(_) => Length::ZERO,
                None => {
                    self.pen.bar(Rect::new(self.room.left(), self.y, width, height), colour);
                    width
                }
            };
            if let Some(look) = letters {
                let at = Point::new(self.room.left() + left, self.y + height);
                self.pen.words(at, colour.typed(), look, Align::Left);
            }
        }
        self.y += height + GAP.scaled(self.growth);
    }

    fn tag(&mut self, occupant: &Occupant) {
        self.y += TAG.scaled(self.growth);
        let wish = Look { cap: LEAST_CAP, ..Look::code(0.0) };
        let look = self.fitting(Face::Code, TAG, &occupant.tag, self.room.size.width).unwrap_or(wish);
        self.pen.words(Point::new(self.room.left(), self.y), &occupant.tag, look, Align::Left);
        self.y += GAP.scaled(self.growth);
    }

    fn mark(&mut self, mark: &Mark, word: &str) {
        let side = WORD.scaled(self.growth);
        let area = Rect::new(self.room.left(), self.y, side, side);
        let left = area.right() + GAP.half();
        if mark.is_stop() {
            let across = Rect::new(area.left(), area.top(), self.room.size.width, side);
            self.pen.fill(across.inset(-side.scaled(STOP_EDGE)), Ink::Black);
        }
        mark.draw(self.pen, area);
        self.y += side;
        if let Some(short) = mark.short_word() {
            let fits = |words: &&str| self.fitting(Face::Strong, WORD, words, self.room.right() - left).is_some();
            let word = [word, short].into_iter().find(fits).unwrap_or(short);
            let look = self.fitting(Face::Strong, WORD, word, self.room.right() - left).unwrap_or(STOP_LOOK);
            self.pen.words(Point::new(left, self.y), word, look.white(), Align::Left);
            self.y += GAP.scaled(self.growth);
            return;
        }
        let face =
            if matches!(mark, Mark::Move(_) | Mark::Arrives(_) | Mark::FoundIn(_)) { Face::Code } else { Face::Words };
        if let Some(look) = self.fitting(face, WORD, word, self.room.right() - left) {
            self.pen.words(Point::new(left, self.y), word, look, Align::Left);
        }
        self.y += GAP.scaled(self.growth);
    }

    /// Words at this height and larger with the cavity, or shrunk to what fits; `None` where they would be lower than the least.
    fn fitting(&self, face: Face, cap: Length, words: &str, width: Length) -> Option<Look> {
        let cap = cap.scaled(self.growth);
        let look = Look { face, cap, ..Look::words(0.0) };
        let needed = pen::width(self.pen.fonts(), look, words);
        let shrunk = if needed > width { cap.scaled(width.ratio(needed) * 0.999) } else { cap };
        (!words.is_empty() && shrunk >= LEAST_CAP).then_some(Look { cap: shrunk, ..look })
    }
}
