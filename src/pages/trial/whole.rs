//! The trial page of a whole sheet: combs and frame at the edges, rulers, what to do in words, gauges for wires, and below and behind
//! them the outlines of the labels.

use super::parts::{Drawing, Numbers, STRIP_HEIGHT, Side, Stand, TOOTH, WEDGE, at, mm};
use super::{Gauges, Outlines, Trying, arrow, between, frame_side, label};
use crate::base::{Length, Point, Rect, Size};
use crate::layout::Face;
use crate::pages::Stock;

/// Where words begin, clear of the combs.
const LEFT: Length = Length::nm(27_000_000);
/// Capitals of what must be read, and of the rest.
const CAP: Length = Length::nm(2_000_000);
const SMALL_CAP: Length = Length::nm(1_700_000);

/// Draws all of it.
pub(super) fn sheet(
    drawing: &mut Drawing<'_>,
    stock: &Stock,
    page: Size,
    gauges: &Gauges,
    (trying, outlines): (Trying, Outlines),
    arguments: &str,
) {
    edges(drawing, page, gauges, trying);
    // Lines 3 and 4 are sides of the frame, named where they are measured.
    arrow(drawing, at(Length::ZERO, mm(60.0)), at(gauges.left, mm(60.0)));
    label(drawing, at(gauges.left + mm(1.5), mm(61.2)), Stand::RightOf, "3");
    arrow(drawing, at(mm(36.0), Length::ZERO), at(mm(36.0), gauges.top));
    label(drawing, at(mm(34.8), gauges.top + mm(4.0)), Stand::RightOf, "4");

    let y = title(drawing, stock, page, trying);
    let down = at(page.width - mm(32.0), mm(54.0));
    drawing.white(Rect::new(down.x - mm(12.0), down.y - mm(8.0), mm(14.0), mm(112.0)));
    drawing.ruler_down(down, mm(100.0));
    label(drawing, at(down.x - mm(0.5), down.y - mm(3.0)), Stand::LeftOf, "2");

    let zero = at(LEFT + mm(8.0), y + mm(10.0));
    drawing.ruler_across(zero, mm(100.0), Numbers::Shown);
    label(drawing, at(LEFT, zero.y), Stand::RightOf, "1");

    let y = zero.y + mm(7.0);
    drawing.white(Rect::new(LEFT - mm(1.0), y - mm(1.0), page.width - LEFT - mm(47.0), mm(60.0)));
    let y = to_do(drawing, at(LEFT, y), page.width - LEFT - mm(50.0), gauges, trying, arguments) + mm(6.0);
    wire_gauges(drawing, y, stock, outlines);
}

/// The frame and, where the printer is measured, a comb in each of its sides.
fn edges(drawing: &mut Drawing<'_>, page: Size, gauges: &Gauges, trying: Trying) {
    for side in Side::ALL {
        let pitch = if side.is_upright() { mm(3.0) } else { mm(4.6) };
        let Some(count) = gauges.combs.filter(|_| trying == Trying::Printer) else {
            frame_side(drawing, page, side, gauges.left, None);
            continue;
        };
        let reach = pitch * i64::from(count - 1) + TOOTH;
        // Upright combs stand low, beside nothing else.
        let start = if side.is_upright() { page.height - mm(28.0) - reach } else { (page.width - reach).half() };
        frame_side(drawing, page, side, gauges.left, Some((start, start + reach)));
        let corners = (side.point(page, Length::ZERO, start), side.point(page, mm(19.0), start + reach));
        drawing.white(between(corners.0, corners.1).inset(mm(-1.0)));
        drawing.comb(page, side, count, start, pitch);
        let (point, stand) = match side {
            Side::Left => (at(mm(12.0), start + mm(2.4)), Stand::RightOf),
            Side::Right => (at(page.width - mm(12.0), start + mm(2.4)), Stand::LeftOf),
            Side::Top => (at(start - mm(2.0), mm(7.5)), Stand::LeftOf),
            Side::Bottom => (at(start - mm(2.0), page.height - mm(5.5)), Stand::LeftOf),
        };
        label(drawing, point, stand, &format!("5 {}", side.word()));
    }
}

/// What the page is and how it is printed; gives where that ends.
fn title(drawing: &mut Drawing<'_>, stock: &Stock, page: Size, trying: Trying) -> Length {
    let (top, width) = (mm(20.0), page.width - LEFT - mm(26.0));
    drawing.white(Rect::new(LEFT - mm(1.0), top - mm(1.5), width + mm(2.0), mm(31.0)));
    let (title, words) = match trying {
        Trying::Printer => (
            "Trial page",
            "Not corrected, to measure the printer. Print at 100 % (actual size, not fitted), on plain paper of this size.",
        ),
        Trying::Correction => (
            "Corrected trial page",
            "Corrected by job.toml, to check it. Print at 100 % (actual size, not fitted), on plain paper of this size.",
        ),
    };
    let title = format!("{title} · {}", stock.name());
    drawing.words(Face::Strong, mm(3.2), at(LEFT, top + mm(3.2)), Stand::RightOf, &title);
    drawing.paragraph(Face::Words, CAP, at(LEFT, top + mm(6.6)), width, words)
}

/// What to measure and what to type; gives where it ends.
fn to_do(
    drawing: &mut Drawing<'_>,
    corner: Point,
    width: Length,
    gauges: &Gauges,
    trying: Trying,
    arguments: &str,
) -> Length {
    let (lead, options, end) = match trying {
        Trying::Printer => (
            "Measure with a steel ruler, to 0.2 mm or better:",
            " --edges [5]",
            "Then type this, with what you measured in place of [1] to [5] (edges as left,right,top,bottom):",
        ),
        Trying::Correction => (
            "All is well when, to 0.3 mm:",
            " --corrected",
            "Else type this, with what you measured in place of [1] to [4], and print this page again:",
        ),
    };
    drawing.words(Face::Strong, CAP, at(corner.x, corner.y + CAP), Stand::RightOf, lead);
    let mut y = corner.y + mm(5.0);
    let ten = gauges.left;
    for (number, words, should) in [
        ("1", "ruler across, from 0 to 100".to_owned(), mm(100.0)),
        ("2", "ruler down, from 0 to 100".to_owned(), mm(100.0)),
        ("3", "left edge of the paper to line 3".to_owned(), ten),
        ("4", "top edge of the paper to line 4".to_owned(), ten),
    ] {
        row(drawing, at(corner.x, y), number, &words);
        let line = at(corner.x + mm(62.0), y + CAP);
        match trying {
            Trying::Printer => {
                blank(drawing, line, mm(20.0));
                let words = format!("mm, sent as {:.0}", should.as_mm());
                drawing.words(Face::Words, CAP, at(line.x + mm(21.5), line.y), Stand::RightOf, &words);
            }
            Trying::Correction => {
                drawing.words(Face::Words, CAP, line, Stand::RightOf, &format!("is {:.0} mm", should.as_mm()));
            }
        }
        y += mm(5.4);
    }
    if trying == Trying::Printer {
        row(drawing, at(corner.x, y), "5", "at each edge the smallest number whose line is there in full:");
        y += mm(5.8);
        let mut x = corner.x + mm(5.0);
        for side in Side::ALL {
            drawing.words(Face::Words, CAP, at(x, y + CAP), Stand::RightOf, side.word());
            let from = x + drawing.width(Face::Words, CAP, side.word()) + mm(1.5);
            blank(drawing, at(from, y + CAP), mm(12.0));
            x = from + mm(15.5);
        }
        y += mm(6.4);
    }
    y = drawing.paragraph(Face::Strong, CAP, at(corner.x, y), width, end) + mm(1.0);
    let command =
        format!("loomtag stock measured{arguments} --ruler-x [1] --ruler-y [2] --left [3] --top [4]{options}");
    drawing.paragraph(Face::Words, CAP, at(corner.x, y), width, &command)
}

fn row(drawing: &mut Drawing<'_>, corner: Point, number: &str, words: &str) {
    drawing.words(Face::Code, CAP, at(corner.x, corner.y + CAP), Stand::RightOf, number);
    drawing.words(Face::Words, CAP, at(corner.x + mm(5.0), corner.y + CAP), Stand::RightOf, words);
}

/// A line to write on.
fn blank(drawing: &mut Drawing<'_>, from: Point, length: Length) {
    let y = from.y + mm(0.6);
    drawing.fine(at(from.x, y), at(from.x + length, y));
}

/// The wedge and the strip, each with how it is used.
fn wire_gauges(drawing: &mut Drawing<'_>, top: Length, stock: &Stock, outlines: Outlines) {
    let width = WEDGE.width + mm(6.0);
    drawing.white(Rect::new(LEFT - mm(1.0), top - mm(1.0), width + mm(4.0), mm(64.0)));
    let words = "Wire gauge: lay a straight piece along the dashed line and look from straight above, with one eye. Where both lines \
                 come out from under it stands its outside diameter in mm.";
    let mut y = drawing.paragraph(Face::Words, SMALL_CAP, at(LEFT, top), width, words) + mm(7.0);
    drawing.wedge(at(LEFT - mm(8.0), y));
    y += WEDGE.height - mm(5.0);
    let words = "Fold gauge: cut the strip out and wind it round a wire, printed side out, its left end on top: that end shows the \
                 diameter on the upper scale. The lower scale, from the left end on: how far apart the folds of a flag are on that \
                 wire.";
    y = drawing.paragraph(Face::Words, SMALL_CAP, at(LEFT, y), width, words) + mm(1.5);
    drawing.fold_gauge(at(LEFT, y), stock.thickness());
    if outlines == Outlines::Drawn {
        let words =
            "Outlines with round corners are the labels: hold this page with a sheet of them against the light.";
        drawing.paragraph(Face::Words, SMALL_CAP, at(LEFT, y + STRIP_HEIGHT + mm(3.0)), width, words);
    }
}
