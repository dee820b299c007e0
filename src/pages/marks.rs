//! Marks on the page itself: cut lines and ticks, knife lines, rulers, and the words in the margins.

use std::collections::{BTreeMap, BTreeSet};

use super::impose::Words;
use crate::base::{Length, Point, Rect, Size};
use crate::layout::frame::Dash;
use crate::layout::{Frame, Item};

/// Width of a cut line or tick: seen by whoever cuts, lost in the cut.
const CUT_WEIGHT: Length = Length::nm(100_000);
/// Dashes of a knife line.
const KNIFE_DASH: Length = Length::nm(1_000_000);
/// Clear space between a cut line's end and its tick, and between labels and anything in the margin.
pub(super) const CLEAR: Length = Length::nm(500_000);
/// Length of the tick that goes on outside where a cut line ends.
const TICK: Length = Length::nm(3_000_000);
/// Room that ticks take outside the labels.
pub(super) const TICK_ROOM: Length = Length::nm(4_000_000);

/// Length of a ruler.
const RULER: Length = Length::nm(100_000_000);
/// Distance of its divisions.
const DIVISION: Length = Length::nm(10_000_000);
/// Length of its division ticks.
const RULER_TICK: Length = Length::nm(1_500_000);
const RULER_WEIGHT: Length = Length::nm(150_000);
/// Height of words in the margin.
const WORDS_HEIGHT: Length = Length::nm(2_800_000);
/// Room for a number beside a ruler: half of it stands out at each end.
const NUMBER: Size = Size::new(Length::nm(6_000_000), WORDS_HEIGHT);
/// Room across for a ruler with its numbers, and for one without.
pub(super) const RULER_ROOM: Length = Length::nm(4_800_000);
pub(super) const UPRIGHT_RULER_ROOM: Length = RULER_TICK;
/// Least width of margin that is worth a title.
const LEAST_TITLE: Length = Length::nm(40_000_000);

const RULER_WORDS: &str = "not 100 mm? stop, print at 100 %";

/// The same item elsewhere.
pub(super) fn moved(item: Item, by: Point) -> Item {
    match item {
        Item::Text(mut text) => {
            text.at = text.at.plus(by);
            text.bounds = text.bounds.moved(by);
            Item::Text(text)
        }
        Item::Symbol(mut symbol) => {
            symbol.area = symbol.area.moved(by);
            Item::Symbol(symbol)
        }
        Item::Fill { area, ink } => Item::Fill { area: area.moved(by), ink },
        Item::Outline { area, weight, radius } => Item::Outline { area: area.moved(by), weight, radius },
        Item::Rule { from, to, weight, dash } => Item::Rule { from: from.plus(by), to: to.plus(by), weight, dash },
        Item::Dot { centre, radius, ink } => Item::Dot { centre: centre.plus(by), radius, ink },
    }
}

/// A solid line to cut along.
pub(super) fn cut_line(from: Point, to: Point) -> Item {
    Item::Rule { from, to, weight: CUT_WEIGHT, dash: Dash::Solid }
}

/// A dashed line across a label, along which a knife splits it.
pub(super) fn knife_line(label: Rect, y: Length) -> Item {
    let (from, to) = (Point::new(label.left(), y), Point::new(label.right(), y));
    Item::Rule { from, to, weight: CUT_WEIGHT, dash: Dash::Dashed(KNIFE_DASH) }
}

/// A straight line by its ends.
type Line = (Point, Point);

/// Lines round all these areas, none of which overlap: one line where two meet, and one where several go on in a row. Where a
/// line ends in the open, a tick goes on outside, kept off the areas and inside `printable`.
pub(super) fn cut_lines(areas: &[Rect], printable: Rect) -> Vec<Item> {
    let (level, upright) = edges(areas);
    let lines: Vec<_> = level.into_iter().chain(upright).collect();
    with_ticks(&lines, areas, printable)
}

/// Lines round strips that lie in rows: between rows one line for a guillotine across all of `block`, with its ticks; within
/// a row a line from one strip to the next.
pub(super) fn row_lines(strips: &[Rect], block: Rect, printable: Rect) -> Vec<Item> {
    let heights: BTreeSet<_> = strips.iter().flat_map(|strip| [strip.top(), strip.bottom()]).collect();
    let level = heights.into_iter().map(|y| (Point::new(block.left(), y), Point::new(block.right(), y)));
    let mut marks = with_ticks(&level.collect::<Vec<_>>(), strips, printable);
    marks.extend(edges(strips).1.into_iter().map(|(from, to)| cut_line(from, to)));
    marks
}

/// The level and the upright edges of areas, each once, those in a row joined.
fn edges(areas: &[Rect]) -> (Vec<Line>, Vec<Line>) {
    let mut level: BTreeMap<Length, Vec<(Length, Length)>> = BTreeMap::new();
    let mut upright: BTreeMap<Length, Vec<(Length, Length)>> = BTreeMap::new();
    for area in areas {
        for y in [area.top(), area.bottom()] {
            level.entry(y).or_default().push((area.left(), area.right()));
        }
        for x in [area.left(), area.right()] {
            upright.entry(x).or_default().push((area.top(), area.bottom()));
        }
    }
    let level = level.into_iter().flat_map(|(y, spans)| {
        joined(spans).into_iter().map(move |(start, end)| (Point::new(start, y), Point::new(end, y)))
    });
    let upright = upright.into_iter().flat_map(|(x, spans)| {
        joined(spans).into_iter().map(move |(start, end)| (Point::new(x, start), Point::new(x, end)))
    });
    (level.collect(), upright.collect())
}

/// Cut lines, and a tick beyond each end where it touches no area and stays inside `printable`.
fn with_ticks(lines: &[Line], areas: &[Rect], printable: Rect) -> Vec<Item> {
    let mut marks: Vec<_> = lines.iter().map(|&(from, to)| cut_line(from, to)).collect();
    for &(from, to) in lines {
        for (near, far) in [tick_beyond(from, to), tick_beyond(to, from)] {
            let tick = span(near, far);
            if printable.holds(&tick) && !areas.iter().any(|area| touches(&tick, area)) {
                marks.push(cut_line(near, far));
            }
        }
    }
    marks
}

/// Spans along a line, joined where they meet or overlap.
fn joined(mut spans: Vec<(Length, Length)>) -> Vec<(Length, Length)> {
    spans.sort_unstable();
    let mut joined: Vec<(Length, Length)> = Vec::new();
    for (start, end) in spans {
        match joined.last_mut() {
            Some(last) if start <= last.1 => last.1 = last.1.max(end),
            _ => joined.push((start, end)),
        }
    }
    joined
}

/// Ends of the tick beyond `end` of an upright or level line that comes from `other`.
fn tick_beyond(end: Point, other: Point) -> Line {
    let way = |end: Length, other: Length| (end - other).as_nm().signum();
    let (x, y) = (way(end.x, other.x), way(end.y, other.y));
    let out = |far: Length| end.plus(Point::new(far * x, far * y));
    (out(CLEAR), out(CLEAR + TICK))
}

/// The area between two corners.
fn span(one: Point, other: Point) -> Rect {
    let (left, top) = (one.x.min(other.x), one.y.min(other.y));
    Rect::new(left, top, (one.x - other.x).abs(), (one.y - other.y).abs())
}

/// Whether two areas share a point, edges included.
fn touches(one: &Rect, other: &Rect) -> bool {
    one.left() <= other.right()
        && other.left() <= one.right()
        && one.top() <= other.bottom()
        && other.top() <= one.bottom()
}

/// What stands in the margins of a page.
pub(super) struct Margin {
    pub(super) marks: Vec<Item>,
    /// Whether one of the titles had room.
    pub(super) has_title: bool,
}

/// The margins above and below the labels.
fn bands(printable: Rect, block: Rect) -> [Rect; 2] {
    let above = block.top() - CLEAR - printable.top();
    let below_from = block.bottom() + CLEAR;
    let below = printable.bottom() - below_from;
    [
        Rect::new(printable.left(), printable.top(), printable.size.width, above),
        Rect::new(printable.left(), below_from, printable.size.width, below),
    ]
}

fn fits(band: &Rect, size: Size) -> bool {
    band.size.width >= size.width && band.size.height >= size.height
}

/// Words in the margin of a sheet that went through the printer so often before: below the labels, where its first pass has printed
/// nothing, each pass to the left of the one before. Nothing where there is no room.
pub(super) fn margin_again(printable: Rect, block: Rect, passes: usize, title: &str, words: Words<'_>) -> Vec<Item> {
    let size = Size::new(LEAST_TITLE, WORDS_HEIGHT);
    let [above, below] = bands(printable, block);
    let before = i64::try_from(passes).unwrap_or(i64::MAX).min(100);
    let left = below.right() - LEAST_TITLE * before.max(1);
    // Ruler and title of the first pass stand below the labels where they have no room above them.
    let first = Size::new(RULER + NUMBER.width + CLEAR + LEAST_TITLE, RULER_ROOM);
    if !fits(&above, first) || !fits(&below, size) || left < below.left() {
        return Vec::new();
    }
    let top = below.top() + (below.size.height - WORDS_HEIGHT).half();
    words_in(Rect::new(left, top, size.width, size.height), title, words)
}

/// A title and 100 mm rulers in the margins round `block`, which holds all labels with their cut marks; each only where there is
/// room between block and the edge of `printable`. Of the titles the first that has room is taken.
pub(super) fn margin(printable: Rect, block: Rect, titles: &[String], words: Words<'_>) -> Margin {
    let mut bands = bands(printable, block);
    let mut marks = Vec::new();

    let ruler = Size::new(RULER + NUMBER.width, RULER_ROOM);
    if let Some(band) = bands.iter_mut().find(|band| fits(band, ruler)) {
        let top = band.top() + (band.size.height - ruler.height).half();
        let zero = Point::new(band.right() - ruler.width + NUMBER.width.half(), top + ruler.height);
        marks.extend(level_ruler(zero, words));
        band.size.width -= ruler.width + CLEAR;
    }
    let roomy = bands.iter().filter(|band| fits(band, Size::new(LEAST_TITLE, WORDS_HEIGHT)));
    let title =
        titles.iter().flat_map(|title| roomy.clone().map(move |band| (title, band))).find_map(|(title, band)| {
            let top = band.top() + (band.size.height - WORDS_HEIGHT).half();
            let room = Rect::new(band.left(), top, band.size.width, WORDS_HEIGHT);
            Some(words_in(room, title, words)).filter(|title| !title.is_empty())
        });
    let has_title = title.is_some();
    marks.extend(title.unwrap_or_default());

    let left = block.left() - CLEAR - printable.left();
    let right = printable.right() - block.right() - CLEAR;
    // The side margins between the bands above and below, which are taken.
    if block.size.height >= RULER + NUMBER.height && left.max(right) >= RULER_TICK {
        let top = block.top() + (block.size.height - RULER).half();
        let (edge, room) = match left >= right {
            true => (block.left() - CLEAR, left),
            false => (printable.right(), right),
        };
        marks.extend(upright_ruler(Point::new(edge, top), room, words));
    }
    Margin { marks, has_title }
}

/// A ruler that runs to the right from its zero, numbers and words above it.
fn level_ruler(zero: Point, words: Words<'_>) -> Vec<Item> {
    let rule = |from: Point, to: Point| Item::Rule { from, to, weight: RULER_WEIGHT, dash: Dash::Solid };
    let at = |along: Length, up: Length| zero.plus(Point::new(along, -up));
    let mut marks = vec![rule(zero, at(RULER, Length::ZERO))];
    for division in 0..=RULER.as_nm() / DIVISION.as_nm() {
        let along = DIVISION * division;
        marks.push(rule(at(along, Length::ZERO), at(along, RULER_TICK)));
    }
    let base = RULER_TICK + CLEAR + NUMBER.height;
    for (number, along) in [("0", Length::ZERO), ("100", RULER)] {
        let frame = words(NUMBER, number);
        let shift = frame.size.width.half();
        let room = Rect { origin: at(along, base).plus(Point::new(-shift, Length::ZERO)), size: NUMBER };
        marks.extend(placed_words(frame, room));
    }
    let inside = RULER - NUMBER.width * 2;
    let room = Rect { origin: at(NUMBER.width, base), size: Size::new(inside, NUMBER.height) };
    marks.extend(words_in(room, RULER_WORDS, words));
    marks
}

/// A ruler that runs down from its zero, its ticks to the left; numbers to the left of the ticks where `room` is wide enough.
fn upright_ruler(zero: Point, room: Length, words: Words<'_>) -> Vec<Item> {
    let rule = |from: Point, to: Point| Item::Rule { from, to, weight: RULER_WEIGHT, dash: Dash::Solid };
    let at = |left: Length, along: Length| zero.plus(Point::new(-left, along));
    let mut marks = vec![rule(zero, at(Length::ZERO, RULER))];
    for division in 0..=RULER.as_nm() / DIVISION.as_nm() {
        let along = DIVISION * division;
        marks.push(rule(at(Length::ZERO, along), at(RULER_TICK, along)));
    }
    let beside = RULER_TICK + CLEAR;
    let size = Size::new(NUMBER.width.min(room - beside), NUMBER.height);
    if size.width >= NUMBER.width.half() {
        for (number, along) in [("0", Length::ZERO), ("100", RULER)] {
            let frame = words(size, number);
            let corner = at(beside + frame.size.width, along - frame.size.height.half());
            marks.extend(placed_words(frame, Rect { origin: corner, size }));
        }
    }
    marks
}

/// Words at the left of a room, in the middle of its height.
pub(super) fn words_in(room: Rect, text: &str, words: Words<'_>) -> Vec<Item> {
    let frame = words(room.size, text);
    let lower = (room.size.height - frame.size.height).half();
    placed_words(frame, Rect { origin: room.origin.plus(Point::new(Length::ZERO, lower)), size: room.size })
}

/// The items of a frame of words, moved to the room's corner; nothing when the frame is larger than the room.
fn placed_words(frame: Frame, room: Rect) -> Vec<Item> {
    if frame.size.width > room.size.width || frame.size.height > room.size.height {
        return Vec::new();
    }
    frame.items.into_iter().map(|item| moved(item, room.origin)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mm(left: i64, top: i64, width: i64, height: i64) -> Rect {
        let mm = |value: i64| Length::nm(value * 1_000_000);
        Rect::new(mm(left), mm(top), mm(width), mm(height))
    }

    fn ends(marks: &[Item]) -> Vec<(f64, f64, f64, f64)> {
        let ends = marks.iter().filter_map(|mark| match mark {
            Item::Rule { from, to, .. } => Some((from.x.as_mm(), from.y.as_mm(), to.x.as_mm(), to.y.as_mm())),
            _ => None,
        });
        ends.collect()
    }

    #[test]
    fn neighbours_share_one_line() {
        let areas = [mm(20, 20, 10, 5), mm(30, 20, 10, 5), mm(20, 25, 10, 5)];
        let marks = cut_lines(&areas, mm(5, 5, 200, 200));
        let lines = &ends(&marks)[..6];
        let expected = [
            (20.0, 20.0, 40.0, 20.0),
            (20.0, 25.0, 40.0, 25.0),
            (20.0, 30.0, 30.0, 30.0),
            (20.0, 20.0, 20.0, 30.0),
            (30.0, 20.0, 30.0, 30.0),
            (40.0, 20.0, 40.0, 25.0),
        ];
        assert_eq!(lines, expected);
        // Twelve line ends, all in the open.
        assert_eq!(marks.len(), 6 + 12);
    }

    #[test]
    fn ticks_keep_off_neighbours_and_edges() {
        // A gap of 1 mm leaves no room for ticks between the two, an edge at 18 mm none on the left.
        let areas = [mm(20, 20, 10, 5), mm(31, 20, 10, 5)];
        let marks = cut_lines(&areas, mm(18, 5, 200, 200));
        let ticks = &ends(&marks)[8..];
        assert!(ticks.iter().all(|tick| tick.0 >= 20.0 && !(tick.0 > 30.0 && tick.2 < 31.0)), "{ticks:?}");
        assert_eq!(ticks.len(), 8 + 2);
    }
}
