//! A face as on the bench sheets -> an SVG within a page: the same drawing, item by item, its words as text, and over every cavity
//! a link with a name for those who do not see it.

use maud::{Markup, html};

use crate::base::{Length, Point, Rect, Turn};
use crate::layout::frame::Dash;
use crate::layout::{Face, Frame, Ink, Item, TextItem};
use crate::paperwork::face::DrawnFace;

/// Pixels a millimetre: the least cavity is wider than a thumb needs (44 pixels).
const SCREEN: f64 = 5.0;
/// White round the drawing, in millimetres.
const AROUND: f64 = 2.0;
/// White between a name and the dashes round it, in millimetres.
const NEAR: f64 = 0.3;

/// What lies over a cavity.
pub struct Pointed {
    /// Where it leads; nowhere where the cavity has no row.
    pub to: Option<String>,
    /// What it is, in words.
    pub name: String,
    /// Whether all that was to do is done.
    pub is_done: bool,
    /// Whether something is left to do.
    pub is_open: bool,
}

/// The drawing; `pointed` says of each of its cavities what lies over it, `is_ahead` of the name of a tag whether its code is not issued
/// yet: such a name stands in dashes, as elsewhere.
pub fn svg(drawn: &DrawnFace, name: &str, pointed: &[Pointed], is_ahead: &dyn Fn(&str) -> bool) -> Markup {
    let Frame { size, items } = &drawn.frame;
    let (width, height) = (mm(size.width) + AROUND * 2.0, mm(size.height) + AROUND * 2.0);
    let view_box = format!("{} {} {} {}", -AROUND, -AROUND, short(width), short(height));
    html! {
        svg.face viewBox=(view_box) width=(short(width * SCREEN)) height=(short(height * SCREEN)) role="group" aria-label=(name) {
            g aria-hidden="true" { @for one in items { (item(one)) (dashes(one, is_ahead)) } }
            @for ((_, area), pointed) in drawn.cavities.iter().zip(pointed) {
                @match &pointed.to {
                    Some(to) => a href=(to) data-todo[pointed.is_open] aria-label=(pointed.name) { (over(*area, pointed)) },
                    None => g role="img" aria-label=(pointed.name) { (over(*area, pointed)) },
                }
            }
        }
    }
}

/// The title is what a pointer shows.
fn over(area: Rect, pointed: &Pointed) -> Markup {
    let (right, bottom) = (mm(area.right()), mm(area.bottom()));
    let tick = format!("M{} {}l0.9 0.9l1.5 -1.9", short(right - 3.2), short(bottom - 2.0));
    html! {
        title { (pointed.name) }
        rect x=(length(area.left())) y=(length(area.top())) width=(length(area.size.width)) height=(length(area.size.height))
            rx="0.7" fill="transparent" {}
        @if pointed.is_done {
            circle cx=(short(right - 2.0)) cy=(short(bottom - 2.0)) r="1.9" fill="#1c6b3a" stroke="#fff" stroke-width="0.3" {}
            path d=(tick) fill="none" stroke="#fff" stroke-width="0.6" {}
        }
    }
}

fn item(item: &Item) -> Markup {
    match item {
        Item::Text(text) => words(text),
        Item::Fill { area, ink } => html! {
            rect x=(length(area.left())) y=(length(area.top())) width=(length(area.size.width))
                height=(length(area.size.height)) fill=(colour(*ink)) {}
        },
        Item::Outline { area, weight, radius } => html! {
            rect x=(length(area.left())) y=(length(area.top())) width=(length(area.size.width))
                height=(length(area.size.height)) rx=[(*radius > Length::ZERO).then(|| length(*radius))]
                fill="none" stroke="#000" stroke-width=(length(*weight)) {}
        },
        Item::Rule { from, to, weight, dash } => {
            let dashes = match dash {
                Dash::Solid => None,
                Dash::Dashed(dash) => Some(length(*dash)),
            };
            let path = format!("M{}L{}", point(*from), point(*to));
            html! { path d=(path) stroke="#000" stroke-width=(length(*weight)) stroke-dasharray=[dashes] {} }
        }
        Item::Dot { centre, radius, ink } => html! {
            circle cx=(length(centre.x)) cy=(length(centre.y)) r=(length(*radius)) fill=(colour(*ink)) {}
        },
        // No face bears one.
        Item::Symbol(_) => html! {},
    }
}

/// What stands round the name of a tag whose code is not issued yet.
fn dashes(item: &Item, is_ahead: &dyn Fn(&str) -> bool) -> Markup {
    // The name of a cavity is no tag's: those have a letter.
    let is_tag = |name: &str| name.contains(' ') && is_ahead(name);
    let is_name = |text: &TextItem| text.face == Face::Code && is_tag(&said(text));
    match item {
        Item::Text(text) if is_name(text) => {
            let Rect { origin, size } = text.bounds;
            html! {
                rect.ahead x=(short(mm(origin.x) - NEAR)) y=(short(mm(origin.y) - NEAR)) width=(short(mm(size.width) + 2.0 * NEAR))
                    height=(short(mm(size.height) + 2.0 * NEAR)) rx="0.3" fill="none" stroke="#000" stroke-width="0.15" stroke-dasharray="0.7 0.5" {}
            }
        }
        _ => html! {},
    }
}

/// Words as text, as wide as they were measured: whatever face the browser has, they stay in their cavity.
fn words(text: &TextItem) -> Markup {
    let class = match text.face {
        Face::Words | Face::Fallback(_) => "words",
        Face::Strong => "strong",
        Face::Code => "code",
    };
    let (along, degrees) = match text.turn {
        Turn::Upright => (text.bounds.size.width, None),
        Turn::Half => (text.bounds.size.width, Some(180)),
        Turn::Clockwise => (text.bounds.size.height, Some(90)),
        Turn::Anticlockwise => (text.bounds.size.height, Some(-90)),
    };
    let turned = degrees.map(|degrees| format!("rotate({degrees} {})", point(text.at)));
    html! {
        text.(class) x=(length(text.at.x)) y=(length(text.at.y)) font-size=(length(text.em)) textLength=(length(along))
            lengthAdjust="spacingAndGlyphs" fill=(colour(text.ink)) transform=[turned] { (said(text)) }
    }
}

/// The characters in the order in which they are read; glyphs lie in the order in which they are drawn.
fn said(text: &TextItem) -> String {
    let is_from_right = |c: char| matches!(u32::from(c), 0x590..=0x8ff | 0xfb1d..=0xfdff | 0xfe70..=0xfeff);
    let glyphs = || text.glyphs.iter().map(|glyph| glyph.text.as_str());
    if glyphs().any(|text| text.chars().any(is_from_right)) { glyphs().rev().collect() } else { glyphs().collect() }
}

fn colour(ink: Ink) -> String {
    let [red, green, blue] = match ink {
        Ink::Black => [0; 3],
        Ink::White => [255; 3],
        Ink::Colour(parts) => parts,
    };
    format!("#{red:02x}{green:02x}{blue:02x}")
}

fn point(point: Point) -> String {
    format!("{} {}", length(point.x), length(point.y))
}

fn length(length: Length) -> String {
    short(mm(length))
}

fn mm(length: Length) -> f64 {
    length.as_nm() as f64 / 1e6
}

/// Hundredths, without zeros at the end.
fn short(number: f64) -> String {
    let text = format!("{number:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short() {
        let all = [0.0, -0.001, 1.0, 10.0, 1.5, -2.25, 100.004];
        assert_eq!(all.map(short), ["0", "0", "1", "10", "1.5", "-2.25", "100"]);
    }
}
