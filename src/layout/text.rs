//! Text shaped and measured with the font's own metrics; never estimated.

use std::cell::RefCell;
use std::collections::HashMap;
use std::rc::Rc;
use std::sync::Arc;

use harfrust::{Buffer, Direction, Script, ShapeOptions, ShapePlan, ShaperFont};
use thiserror::Error;

use super::face::Typeface;
use super::frame::{Face, Frame, Glyph, Ink, Item, Stretch, TextItem};
use crate::base::{Length, Point, Rect, Size, Turn};

/// Shaped lines are remembered: harnesses repeat their words. Past this many the memory is emptied, so that it stays
/// bounded however long the list is.
const REMEMBERED: usize = 4096;

/// A character that none of the faces can draw.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
#[error("the fonts have no `{0}` (U+{code:04X})", code = u32::from(*.0))]
pub struct MissingCharacter(pub char);

/// Text on one baseline, shaped but not yet placed or scaled. All measures are in the face's units.
#[derive(Debug)]
pub struct Shaped {
    face: Face,
    glyphs: Arc<[Glyph]>,
    advance: i32,
    ink: InkBox,
}

/// Extent of the drawn ink from the start of the baseline; up is positive.
#[derive(Clone, Copy, Debug, Default)]
struct InkBox {
    left: i32,
    right: i32,
    top: i32,
    bottom: i32,
}

/// What shaping a line came to.
type Shaping = Result<Rc<Shaped>, MissingCharacter>;

/// The faces of this repository, opened, with the lines shaped so far.
pub struct Fonts {
    faces: Vec<Opened>,
    shaped: RefCell<HashMap<(Face, String), Shaping>>,
}

struct Opened {
    face: Face,
    typeface: Typeface,
    plan: ShapePlan,
}

impl Default for Fonts {
    fn default() -> Self {
        Self::new()
    }
}

impl Fonts {
    /// Opens all faces.
    pub fn new() -> Self {
        let open = |face| {
            let typeface = Typeface::open(face);
            let plan = ShapePlan::new(typeface.font(), Direction::LeftToRight, Some(Script::LATIN), None, &[]);
            Opened { face, typeface, plan }
        };
        Self { faces: Face::ALL.into_iter().map(open).collect(), shaped: RefCell::default() }
    }

    /// A face's metrics.
    pub fn typeface(&self, face: Face) -> &Typeface {
        &self.opened(face).typeface
    }

    fn opened(&self, face: Face) -> &Opened {
        self.faces.iter().find(|opened| opened.face == face).expect("all faces are opened")
    }

    /// Shapes a line of text. Characters that the face lacks are first replaced by near equivalents (a diameter sign by a
    /// slashed O, a non-breaking hyphen by a hyphen, and so on).
    ///
    /// # Errors
    /// [`MissingCharacter`] names the first character that has no equivalent either.
    pub fn shape(&self, face: Face, text: &str) -> Result<Rc<Shaped>, MissingCharacter> {
        let key = (face, text.to_owned());
        if let Some(known) = self.shaped.borrow().get(&key) {
            return known.clone();
        }
        let shaped = self.shape_anew(face, text).map(Rc::new);
        let mut memory = self.shaped.borrow_mut();
        if memory.len() >= REMEMBERED {
            memory.clear();
        }
        memory.insert(key, shaped.clone());
        shaped
    }

    fn shape_anew(&self, face: Face, text: &str) -> Result<Shaped, MissingCharacter> {
        let opened = self.opened(face);
        let font = ShaperFont::new(opened.typeface.font());
        let text = drawable(&font, text)?;
        let mut buffer = Buffer::new();
        buffer.push_str(&text);
        buffer.set_direction(Direction::LeftToRight);
        buffer.set_script(Some(Script::LATIN));
        harfrust::shape(&font, &mut buffer, ShapeOptions::new().plan(Some(&opened.plan)))
            .expect("the plan has the buffer's direction and script");

        let infos = buffer.glyph_infos();
        let mut glyphs = Vec::with_capacity(infos.len());
        let mut ink = InkBox { left: i32::MAX, right: i32::MIN, top: i32::MIN, bottom: i32::MAX };
        let mut pen = 0;
        for (index, (info, position)) in infos.iter().zip(buffer.glyph_positions()).enumerate() {
            let starts_cluster = index == 0 || infos[index - 1].cluster != info.cluster;
            let cluster_end = infos[index..].iter().map(|later| later.cluster).find(|&later| later != info.cluster);
            let cluster = info.cluster as usize..cluster_end.map_or(text.len(), |end| end as usize);
            let glyph_text = if starts_cluster { text.get(cluster).unwrap_or_default() } else { "" };
            if let Some(extents) = font.glyph_extents(info.glyph_id.into())
                && extents.width != 0
            {
                let left = pen + position.x_offset + extents.x_bearing;
                let top = position.y_offset + extents.y_bearing;
                ink.left = ink.left.min(left);
                ink.right = ink.right.max(left + extents.width);
                ink.top = ink.top.max(top);
                ink.bottom = ink.bottom.min(top + extents.height);
            }
            pen += position.x_advance;
            glyphs.push(Glyph {
                id: u16::try_from(info.glyph_id).expect("a font file numbers its glyphs in 16 bits"),
                advance: position.x_advance,
                offset: (position.x_offset, position.y_offset),
                text: glyph_text.to_owned(),
            });
        }
        if ink.left > ink.right {
            ink = InkBox::default();
        }
        Ok(Shaped { face, glyphs: glyphs.into(), advance: pen, ink })
    }

    /// Width of shaped text whose capitals are as high as `cap`: its advances, or its ink where that reaches farther.
    pub fn width(&self, shaped: &Shaped, cap: Length) -> Length {
        let typeface = self.typeface(shaped.face);
        let units = shaped.advance.max(shaped.ink.right) - shaped.ink.left.min(0);
        typeface.units(units, typeface.em_for_cap(cap))
    }

    /// How far the ink rises above the baseline, at least the capitals' height.
    pub fn rise(&self, shaped: &Shaped, cap: Length) -> Length {
        let typeface = self.typeface(shaped.face);
        typeface.units(shaped.ink.top.max(typeface.cap_height), typeface.em_for_cap(cap))
    }

    /// How far the ink falls below the baseline; zero for capitals and digits.
    pub fn fall(&self, shaped: &Shaped, cap: Length) -> Length {
        let typeface = self.typeface(shaped.face);
        typeface.units((-shaped.ink.bottom).max(0), typeface.em_for_cap(cap))
    }

    /// Places shaped text: capitals as high as `cap` before stretching, the ink starting at `at` on the
    /// baseline.
    pub fn place(&self, shaped: &Shaped, cap: Length, at: Point, turn: Turn, stretch: Stretch, ink: Ink) -> TextItem {
        let typeface = self.typeface(shaped.face);
        let em = typeface.em_for_cap(cap);
        let along = |units: i32| typeface.units(units, em).scaled(stretch.along);
        let across = |units: i32| typeface.units(units, em).scaled(stretch.across);
        // Ink that hangs out before the pen, as of a j, moves the pen on: nothing is drawn before `at`.
        let hang = -along(shaped.ink.left.min(0));
        let width = along(shaped.advance.max(shaped.ink.right)) + hang;
        let top = across(shaped.ink.top.max(0));
        let height = top - across(shaped.ink.bottom.min(0));
        let (pen, origin) = match turn {
            Turn::Upright => (Point::new(at.x + hang, at.y), Point::new(at.x, at.y - top)),
            Turn::Clockwise => (Point::new(at.x, at.y + hang), Point::new(at.x + top - height, at.y)),
            Turn::Half => (Point::new(at.x - hang, at.y), Point::new(at.x - width, at.y + top - height)),
            Turn::Anticlockwise => (Point::new(at.x, at.y - hang), Point::new(at.x - top, at.y - width)),
        };
        let bounds = Rect { origin, size: turn.turned_size(Size::new(width, height)) };
        TextItem { face: shaped.face, em, at: pen, turn, stretch, ink, glyphs: Arc::clone(&shaped.glyphs), bounds }
    }
}

/// Words in one line for margins and heads: capitals at most 2 mm high, made smaller down to 1 mm so that they fit the size. The
/// frame is as large as the words; it is empty when they do not fit or cannot be drawn.
pub fn caption(fonts: &Fonts, size: Size, words: &str) -> Frame {
    let Ok(shaped) = fonts.shape(Face::Words, words) else { return Frame::default() };
    let caps = [2.0, 1.8, 1.6, 1.4, 1.2, 1.0].into_iter().map(Length::mm);
    for cap in caps {
        let (rise, fall) = (fonts.rise(&shaped, cap), fonts.fall(&shaped, cap));
        let extent = Size::new(fonts.width(&shaped, cap), rise + fall);
        if extent.width <= size.width && extent.height <= size.height {
            let baseline = Point::new(Length::ZERO, rise);
            let text = fonts.place(&shaped, cap, baseline, Turn::Upright, Stretch::NONE, Ink::Black);
            return Frame { size: extent, items: vec![Item::Text(text)] };
        }
    }
    Frame::default()
}

/// The text with near equivalents for characters that the font lacks.
fn drawable(font: &ShaperFont<'_, '_>, text: &str) -> Result<String, MissingCharacter> {
    let has = |character: char| font.nominal_glyph(character.into()).is_some();
    let mut drawn = String::with_capacity(text.len());
    for character in text.chars() {
        if has(character) {
            drawn.push(character);
            continue;
        }
        let equivalent = near_equivalent(character).filter(|text| text.chars().all(has));
        drawn.push_str(equivalent.ok_or(MissingCharacter(character))?);
    }
    Ok(drawn)
}

fn near_equivalent(character: char) -> Option<&'static str> {
    Some(match character {
        '\u{2300}' => "Ø",
        '\u{2010}' | '\u{2011}' | '\u{2012}' | '\u{2212}' => "-",
        '\u{2032}' => "'",
        '\u{2033}' => "\"",
        '\u{2194}' | '\u{21C4}' | '\u{21D4}' => "<->",
        '\u{2192}' | '\u{21D2}' => "->",
        '\u{03BC}' => "µ",
        '\u{2126}' => "Ω",
        '\u{03A9}' => "\u{2126}",
        '\u{00A0}' | '\u{2000}'..='\u{200A}' | '\u{202F}' | '\u{205F}' | '\u{3000}' | '\t' | '\n' | '\r' => " ",
        '\u{200B}'..='\u{200F}' | '\u{2060}' | '\u{FEFF}' | '\u{00AD}' => "",
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn capitals_are_as_high_as_asked() {
        let fonts = Fonts::new();
        for face in Face::ALL {
            let shaped = fonts.shape(face, "H").unwrap();
            let placed = fonts.place(&shaped, Length::mm(2.5), Point::ORIGIN, Turn::Upright, Stretch::NONE, Ink::Black);
            assert!((placed.bounds.size.height - Length::mm(2.5)).abs() < Length::mm(0.001), "{face:?}");
        }
    }

    #[test]
    fn a_stretch_stretches_the_bounds() {
        let fonts = Fonts::new();
        let shaped = fonts.shape(Face::Words, "Hag").unwrap();
        let place = |stretch| fonts.place(&shaped, Length::mm(2.0), Point::ORIGIN, Turn::Upright, stretch, Ink::Black);
        let plain = place(Stretch::NONE).bounds.size;
        let high = place(Stretch { along: 1.0, across: 1.25 }).bounds.size;
        assert_eq!(plain.width, high.width);
        assert!((high.height.ratio(plain.height) - 1.25).abs() < 1e-4);
    }

    #[test]
    fn all_four_turns_have_the_same_bounds_but_for_place() {
        let fonts = Fonts::new();
        let shaped = fonts.shape(Face::Words, "j rail pressure g").unwrap();
        let at = Point::new(Length::mm(20.0), Length::mm(20.0));
        let bounds = |turn| fonts.place(&shaped, Length::mm(2.0), at, turn, Stretch::NONE, Ink::Black).bounds;
        let upright = bounds(Turn::Upright);
        let size = Size::new(Length::mm(40.0), Length::mm(40.0));
        // The baseline starts in the middle of a square, so a turn of the square turns the text about that point.
        for turn in [Turn::Clockwise, Turn::Half, Turn::Anticlockwise] {
            assert_eq!(bounds(turn), turn.turned_rect(upright, size), "{turn:?}");
        }
    }

    #[test]
    fn equivalents_stand_in_and_what_has_none_is_named() {
        let fonts = Fonts::new();
        assert!(fonts.shape(Face::Words, "⌀ 2\u{2011}4\u{202F}mm ↔").is_ok());
        assert_eq!(fonts.shape(Face::Words, "油圧").map(|_| ()), Err(MissingCharacter('油')));
        assert_eq!(MissingCharacter('油').to_string(), "the fonts have no `油` (U+6CB9)");
    }

    #[test]
    fn clusters_give_the_text_back() {
        let fonts = Fonts::new();
        for text in ["rail pressure signal", "office ffi fl", "Öldruck", "J1/14", ""] {
            let shaped = fonts.shape(Face::Words, text).unwrap();
            let back: String = shaped.glyphs.iter().map(|glyph| glyph.text.as_str()).collect();
            assert_eq!(back, text);
        }
    }

    proptest! {
        #[test]
        fn any_text_is_answered(text in ".{0,30}") {
            let fonts = Fonts::new();
            for face in Face::ALL {
                if let Ok(shaped) = fonts.shape(face, &text) {
                    let _ = fonts.width(&shaped, Length::mm(1.8));
                }
            }
        }
    }
}
