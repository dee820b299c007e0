//! A page as a content stream (ISO 32000-1, 8 and 9).
//!
//! One matrix at the head of the page turns the axes to ours: millimetres from the top left corner of the paper, y down, and undoes
//! what the printer does to pages. Every tag stands in a matrix of its own, so the numbers in the file are the millimetres of the
//! frame.

use pdf_writer::{Content, Name, Str};

use super::contour::contours;
use super::sink::SETTINGS;
use super::typeface::Typeface;
use crate::base::{Length, Point, Rect, Size, Turn};
use crate::layout::frame::Dash;
use crate::layout::{Face, FontFile, Ink, Item, SymbolItem, TextItem};
use crate::pages::{Landing, Page, Placed};

/// The faces of a document: those of this repository, then the fallbacks in their order.
pub struct Typefaces(Vec<(Face, Typeface)>);

impl Typefaces {
    /// Faces nothing has been drawn with.
    pub fn new(fallbacks: &[FontFile]) -> Self {
        let own = Face::ALL.into_iter().filter_map(|face| Some((face, FontFile::own(face)?)));
        let fallbacks = (0..=u8::MAX).map(Face::Fallback).zip(fallbacks.iter().cloned());
        Self(own.chain(fallbacks).map(|(face, file)| (face, Typeface::new(file))).collect())
    }

    fn of(&mut self, face: Face) -> &mut Typeface {
        let found = self.0.iter_mut().find(|(known, _)| *known == face);
        &mut found.expect("the document was given the fonts that its pages were made with").1
    }

    /// The faces that something has been drawn with.
    pub fn used(&self) -> impl Iterator<Item = (Face, &Typeface)> {
        self.0.iter().filter(|(_, typeface)| !typeface.is_unused()).map(|(face, typeface)| (*face, typeface))
    }
}

/// The operators that draw the page: first the tags in their order, then the marks; so that all lands where the page has it.
pub fn page_content(page: &Page, landing: &Landing, typefaces: &mut Typefaces) -> Vec<u8> {
    let content = Content::with_settings(SETTINGS);
    let mut pen = Pen { content, typefaces, ink: Ink::Black, weight: None, stretch: landing.scale() };
    let (corner, (across, down)) = (landing.sent_for(Point::ORIGIN), landing.scale());
    let per_mm = Length::mm(1.0).as_pt();
    let (x, y) = (points(corner.x), points(page.size.height - corner.y));
    pen.content.transform([(per_mm / across) as f32, 0.0, 0.0, -(per_mm / down) as f32, x, y]);
    for placed in &page.placed {
        pen.placed(placed);
    }
    for item in &page.marks {
        pen.item(item);
    }
    pen.content.finish().as_slice().to_vec()
}

/// A length in points to a ten thousandth, which is 35 nm.
pub fn points(length: Length) -> f32 {
    rounded(length.as_pt(), 1e4)
}

/// Millimetres to the micrometre. A single-precision float keeps that up to 16 m.
fn mm(length: Length) -> f32 {
    rounded(length.as_mm(), 1e3)
}

fn rounded(value: f64, per_unit: f64) -> f32 {
    let rounded = (value * per_unit).round() / per_unit;
    // A PDF has no sign for what is not a finite number.
    if rounded.is_finite() { rounded as f32 } else { 0.0 }
}

/// Draws items and remembers what the graphics state holds, so that nothing is set twice.
struct Pen<'a> {
    content: Content,
    typefaces: &'a mut Typefaces,
    /// Colour of fills and text.
    ink: Ink,
    /// Width of strokes; `None` until the first.
    weight: Option<Length>,
    /// What the printer stretches by along the axes that are drawn in: symbols are stretched alike beforehand, so that they are
    /// sent at their own size.
    stretch: (f64, f64),
}

impl Pen<'_> {
    fn placed(&mut self, placed: &Placed) {
        let (ink, weight, stretch) = (self.ink, self.weight, self.stretch);
        if matches!(placed.turn, Turn::Clockwise | Turn::Anticlockwise) {
            self.stretch = (stretch.1, stretch.0);
        }
        let size = placed.frame.size;
        self.content.save_state().transform(turn_matrix(placed.turn, size, placed.at));
        // The frame's own edge, left unpainted: it can be measured in the file, where the tag's items need not reach it.
        self.content.rect(0.0, 0.0, mm(size.width), mm(size.height)).end_path();
        for item in &placed.frame.items {
            self.item(item);
        }
        self.content.restore_state();
        (self.ink, self.weight, self.stretch) = (ink, weight, stretch);
    }

    fn item(&mut self, item: &Item) {
        match item {
            Item::Text(text) => self.text(text),
            Item::Symbol(symbol) => self.symbol(symbol),
            Item::Fill { area, ink } => {
                self.dip(*ink);
                self.rect(area);
                self.content.fill_nonzero();
            }
            Item::Outline { area, weight, radius } => {
                self.stroke_of(*weight);
                let radius = (*radius).min(area.size.width.half()).min(area.size.height.half());
                if radius > Length::ZERO {
                    self.rounded_rect(area, radius)
                } else {
                    self.rect(area)
                }
                self.content.stroke();
            }
            Item::Rule { from, to, weight, dash } => {
                self.stroke_of(*weight);
                let dash = match dash {
                    Dash::Dashed(length) if *length > Length::ZERO => Some(mm(*length)),
                    Dash::Dashed(_) | Dash::Solid => None,
                };
                if let Some(length) = dash {
                    self.content.set_dash_pattern([length], 0.0);
                }
                self.content.move_to(mm(from.x), mm(from.y)).line_to(mm(to.x), mm(to.y)).stroke();
                if dash.is_some() {
                    self.content.set_dash_pattern([], 0.0);
                }
            }
            Item::Dot { centre, radius, ink } => {
                self.dip(*ink);
                let corner = Point::new(centre.x - *radius, centre.y - *radius);
                self.rounded_rect(&Rect { origin: corner, size: Size::new(*radius * 2, *radius * 2) }, *radius);
                self.content.fill_nonzero();
            }
        }
    }

    /// Takes the ink for fills and text. Black is the printer's black alone: gray, not a mixture.
    fn dip(&mut self, ink: Ink) {
        if self.ink == ink {
            return;
        }
        self.ink = ink;
        match ink {
            Ink::Black => self.content.set_fill_gray(0.0),
            Ink::White => self.content.set_fill_gray(1.0),
            Ink::Colour(rgb) => {
                let [r, g, b] = rgb.map(|part| rounded(f64::from(part) / 255.0, 1e4));
                self.content.set_fill_rgb(r, g, b)
            }
        };
    }

    fn stroke_of(&mut self, weight: Length) {
        if self.weight != Some(weight) {
            self.weight = Some(weight);
            self.content.set_line_width(mm(weight.abs()));
        }
    }

    fn rect(&mut self, area: &Rect) {
        self.content.rect(mm(area.left()), mm(area.top()), mm(area.size.width), mm(area.size.height));
    }

    fn rounded_rect(&mut self, area: &Rect, radius: Length) {
        // Distance of a control point from the corner's tangent point: cubic arcs leave the circle by 0.03 % at most.
        let reach = radius.scaled(4.0 / 3.0 * (std::f64::consts::SQRT_2 - 1.0));
        let (left, top, right, bottom) = (area.left(), area.top(), area.right(), area.bottom());
        let at = |x: Length, y: Length| (mm(x), mm(y));
        let (x, y) = at(left + radius, top);
        self.content.move_to(x, y);
        let corners = [
            (
                (right - radius, top),
                (right - radius + reach, top),
                (right, top + radius - reach),
                (right, top + radius),
            ),
            (
                (right, bottom - radius),
                (right, bottom - radius + reach),
                (right - radius + reach, bottom),
                (right - radius, bottom),
            ),
            (
                (left + radius, bottom),
                (left + radius - reach, bottom),
                (left, bottom - radius + reach),
                (left, bottom - radius),
            ),
            ((left, top + radius), (left, top + radius - reach), (left + radius - reach, top), (left + radius, top)),
        ];
        for (start, one, two, end) in corners {
            let ((x, y), (x1, y1), (x2, y2), (x3, y3)) =
                (at(start.0, start.1), at(one.0, one.1), at(two.0, two.1), at(end.0, end.1));
            self.content.line_to(x, y).cubic_to(x1, y1, x2, y2, x3, y3);
        }
        self.content.close_path();
    }

    /// Draws all dark modules as one path, in a matrix whose unit is one module, so that the corners are whole numbers.
    fn symbol(&mut self, symbol: &SymbolItem) {
        let modules = &*symbol.modules;
        if modules.columns == 0 || modules.rows == 0 {
            return;
        }
        let area = stretched(symbol.area, self.stretch);
        let size = symbol.turn.turned_size(area.size);
        let across = size.width.as_mm() / f64::from(modules.columns);
        let down = size.height.as_mm() / f64::from(modules.rows);
        let [a, b, c, d, e, f] = turn_matrix(symbol.turn, size, area.origin);
        let scaled = |part: f32, by: f64| (f64::from(part) * by) as f32;
        self.dip(Ink::Black);
        self.content.save_state();
        self.content.transform([scaled(a, across), scaled(b, across), scaled(c, down), scaled(d, down), e, f]);
        for corners in contours(modules) {
            let mut corners = corners.into_iter().map(|(x, y)| (f32::from(x), f32::from(y)));
            let Some((x, y)) = corners.next() else { continue };
            self.content.move_to(x, y);
            for (x, y) in corners {
                self.content.line_to(x, y);
            }
            self.content.close_path();
        }
        self.content.fill_nonzero().restore_state();
    }

    /// Draws a run of text, glyph by glyph where shaping put them.
    fn text(&mut self, text: &TextItem) {
        if text.glyphs.is_empty() {
            return;
        }
        self.dip(text.ink);
        let typeface = self.typefaces.of(text.face);
        let per_em = 1000.0 / f64::from(typeface.units_per_em());
        let content = &mut self.content;
        let resource = Typeface::resource(text.face);
        content.begin_text().set_font(Name(resource.as_bytes()), rounded(text.em.as_mm(), 1e5));
        content.set_text_matrix(text_matrix(text));

        // Where shaping wants the pen and where the PDF's own advances have brought it, in thousandths of the em.
        let (mut wanted, mut reached) = (0.0f64, 0.0f64);
        let mut rise = 0;
        let mut glyphs = text.glyphs.iter().peekable();
        let mut codes = Vec::new();
        while let Some(first) = glyphs.peek() {
            // The rise is set between shows only, so each stretch of glyphs at one height is shown on its own.
            let height = first.offset.1;
            if height != rise {
                rise = height;
                let per_mm = text.em.as_mm() / f64::from(typeface.units_per_em());
                content.set_rise(rounded(f64::from(rise) * per_mm, 1e5));
            }
            let mut show = content.show_positioned();
            let mut items = show.items();
            codes.clear();
            while let Some(glyph) = glyphs.next_if(|glyph| glyph.offset.1 == height) {
                let gap = wanted + f64::from(glyph.offset.0) * per_em - reached;
                let adjustment = rounded(-gap, 1e2);
                if adjustment != 0.0 {
                    if !codes.is_empty() {
                        items.show(Str(&codes));
                        codes.clear();
                    }
                    items.adjust(adjustment);
                    reached -= f64::from(adjustment);
                }
                let (number, advance) = typeface.number(glyph);
                codes.extend(number.to_be_bytes());
                wanted += f64::from(glyph.advance) * per_em;
                reached += f64::from(advance);
            }
            items.show(Str(&codes));
        }
        if rise != 0 {
            content.set_rise(0.0);
        }
        content.end_text();
    }
}

/// An area stretched about its middle.
fn stretched(area: Rect, (across, down): (f64, f64)) -> Rect {
    let size = Size::new(area.size.width.scaled(across), area.size.height.scaled(down));
    let by = Point::new((area.size.width - size.width).half(), (area.size.height - size.height).half());
    Rect { origin: area.origin.plus(by), size }
}

/// The matrix that turns a thing of `size` and puts the top left corner of its box at `at`; see [`Turn::turned_point`].
fn turn_matrix(turn: Turn, size: Size, at: Point) -> [f32; 6] {
    let origin = turn.turned_point(Point::ORIGIN, size).plus(at);
    let [a, b, c, d] = match turn {
        Turn::Upright => [1.0, 0.0, 0.0, 1.0],
        Turn::Clockwise => [0.0, 1.0, -1.0, 0.0],
        Turn::Half => [-1.0, 0.0, 0.0, -1.0],
        Turn::Anticlockwise => [0.0, -1.0, 1.0, 0.0],
    };
    [a, b, c, d, mm(origin.x), mm(origin.y)]
}

/// The matrix from the text's own axes, baseline and up, to the frame's, where y grows down.
fn text_matrix(text: &TextItem) -> [f32; 6] {
    let along = rounded(text.stretch.along, 1e6);
    let across = rounded(text.stretch.across, 1e6);
    let [a, b, c, d] = match text.turn {
        Turn::Upright => [along, 0.0, 0.0, -across],
        Turn::Clockwise => [0.0, along, across, 0.0],
        Turn::Half => [-along, 0.0, 0.0, across],
        Turn::Anticlockwise => [0.0, -along, -across, 0.0],
    };
    [a, b, c, d, mm(text.at.x), mm(text.at.y)]
}
