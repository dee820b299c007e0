//! Trial pages of small stock: labels of a roll, tube, sheets that are no whole ones. They get what has room.

use super::parts::{Drawing, NUMBER, Numbers, Side, Stand, TOOTH, at, mm};
use super::{Gauges, Trying, arrow, between, frame_side, label as name};
use crate::base::{Length, Rect, Size};
use crate::layout::Face;

/// Least height of tube that has room for numbers.
const NUMBERED: Length = Length::nm(9_000_000);
/// On a side shorter than this the comb stands at its end, so that something is left of the frame.
const SHORT_SIDE: Length = Length::nm(28_000_000);

/// A label or a small sheet: a frame, combs, rulers, and as many words as fit.
pub(super) fn label(drawing: &mut Drawing<'_>, page: Size, gauges: &Gauges, stock: &str, trying: Trying) {
    let combs = gauges.combs.filter(|_| trying == Trying::Printer);
    let (pitch_down, pitch_across) = (mm(2.6), mm(3.6));
    for side in Side::ALL {
        let (extent, pitch) = if side.is_upright() { (page.height, pitch_down) } else { (page.width, pitch_across) };
        let inset = if side.is_upright() { gauges.left } else { gauges.top };
        let combed = combs.map(|count| {
            let (start, end) = comb_span(extent, pitch, count);
            let deep = mm(f64::from(count) + 4.0);
            drawing.white(between(side.point(page, Length::ZERO, start), side.point(page, deep, end)));
            drawing.comb(page, side, count, start, pitch);
            (start, end)
        });
        frame_side(drawing, page, side, inset, combed);
    }
    let inside = Rect::new(gauges.left, gauges.top, page.width - gauges.left * 2, page.height - gauges.top * 2);
    // Lines 3 and 4, each with the way it is measured.
    let (corner, arm) = (inside.origin, mm(1.6));
    arrow(drawing, at(Length::ZERO, corner.y + arm), at(corner.x, corner.y + arm));
    name(drawing, at(corner.x + mm(0.8), corner.y + mm(3.4)), Stand::RightOf, "3");
    let clear = combs.map(|count| comb_span(page.width, pitch_across, count).0 - mm(1.6));
    let down = clear.map_or(corner.x + mm(5.6), |clear| clear.min(corner.x + mm(5.6)));
    arrow(drawing, at(down, Length::ZERO), at(down, corner.y));
    name(drawing, at(down - mm(0.3), corner.y + mm(3.4)), Stand::RightOf, "4");

    // Words stand below these, beside the combs where they would run into them.
    let reach = mm(combs.map_or(0.0, |count| f64::from(count) + 4.0));
    let mut top = inside.top() + mm(5.0);
    let runs_in = combs.is_some_and(|count| top + mm(8.0) > comb_span(page.height, pitch_down, count).0);
    let left = if runs_in { inside.left().max(reach) } else { inside.left() } + mm(1.0);
    let right = inside.right().min(page.width - reach) - mm(1.0);
    let bottom = inside.bottom().min(page.height - reach) - mm(0.5);
    let mut bottom = bottom;
    if let Some(length) = gauges.across {
        let zero = at((page.width - length).half(), bottom);
        drawing.white(Rect::new(zero.x - mm(2.0), zero.y - mm(6.0), length + mm(4.0), mm(7.0)));
        drawing.ruler_across(zero, length, Numbers::Shown);
        name(drawing, at(zero.x - mm(1.5), zero.y), Stand::LeftOf, "1");
        bottom -= mm(3.0) + NUMBER + mm(2.0);
    }
    let mut right = right;
    if let Some(length) = gauges.down {
        let zero = at(right, (page.height - length).half());
        drawing.white(Rect::new(zero.x - mm(8.0), zero.y - mm(2.0), mm(9.0), length + mm(4.0)));
        drawing.ruler_down(zero, length);
        name(drawing, at(zero.x, zero.y - mm(1.5)), Stand::Middle, "2");
        right -= mm(3.0) + NUMBER * 2 + mm(2.0);
    }
    let what = match trying {
        Trying::Printer => "not corrected",
        Trying::Correction => "corrected",
    };
    let cap = mm(1.5);
    // Each is there as a whole or not at all: half of one may say the opposite.
    for words in ["print at 100 %", &format!("trial page, {what}"), stock] {
        let lines = drawing.broken(Face::Words, cap, right - left, words);
        let height = cap.scaled(1.7) * lines.len() as i64;
        let is_narrow = lines.iter().all(|line| drawing.width(Face::Words, cap, line) <= right - left);
        if top + height <= bottom && is_narrow {
            let wide = lines.iter().map(|line| drawing.width(Face::Words, cap, line)).max().unwrap_or_default();
            drawing.white(Rect::new(left, top, wide, height));
            top = drawing.paragraph(Face::Words, cap, at(left, top), right - left, words);
        }
    }
}

/// Where a comb begins and ends along its side.
fn comb_span(side: Length, pitch: Length, count: u16) -> (Length, Length) {
    let reach = pitch * i64::from(count - 1) + TOOTH;
    let start = if side < SHORT_SIDE { side - reach - mm(1.5) } else { (side - reach).half() };
    (start, start + reach)
}

/// A piece of tube: a comb from its leading end, whose line at 10 mm is line 3; the middle as line 4; a ruler along it.
pub(super) fn tube(drawing: &mut Drawing<'_>, page: Size, gauges: &Gauges, stock: &str) {
    let middle = gauges.top;
    let height = (page.height - mm(1.0)).min(mm(5.0)).max(mm(1.0));
    for number in 1..=15_i64 {
        let long = if number % 5 == 0 { height } else { height.half() };
        let x = mm(1.0) * number;
        drawing.rule(at(x, middle - long.half()), at(x, middle + long.half()));
        if number % 5 == 0 && page.height >= NUMBERED {
            let above = at(x, middle - height.half() - mm(0.4));
            drawing.words(Face::Code, mm(1.2), above, Stand::Middle, &number.to_string());
        }
    }
    drawing.rule(at(mm(18.0), middle), at(mm(32.0), middle));
    let length = gauges.across.unwrap_or_default();
    let zero = at(mm(40.0), middle + mm(1.5).min(page.height / 4));
    let numbers = if page.height >= NUMBERED { Numbers::Shown } else { Numbers::LeftOut };
    if page.height >= NUMBERED {
        drawing.ruler_across(zero, length, numbers);
    } else {
        drawing.rule(at(zero.x, middle), at(zero.x + length, middle));
        for tens in 0..=10_i64 {
            let x = zero.x + mm(10.0) * tens;
            drawing.rule(at(x, middle - height.half()), at(x, middle + height.half()));
        }
    }
    if page.height >= mm(14.0) {
        drawing.words(Face::Words, mm(1.5), at(zero.x, zero.y + mm(3.5)), Stand::RightOf, stock);
        name(drawing, at(mm(10.0), middle + height.half() + mm(3.0)), Stand::Middle, "3");
        name(drawing, at(mm(25.0), middle + height.half() + mm(3.0)), Stand::Middle, "4");
        name(drawing, at(zero.x - mm(1.5), zero.y), Stand::LeftOf, "1");
    }
}
