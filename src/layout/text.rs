//! Text shaped and measured with the font's own metrics; never estimated.

use std::borrow::Cow;
use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError, RwLock};

use harfrust::{Buffer, ClusterLevel, Direction, Font, Script, ShapeOptions, ShapePlan, ShaperFont};
use thiserror::Error;

use super::face::Typeface;
use super::font_file::FontFile;
use super::frame::{Face, Frame, Glyph, Ink, Item, Stretch, TextItem};
pub use super::runs::Reads;
use super::runs::{self, Line, Run, is_joiner};
use crate::base::{Length, Point, Rect, Size, Turn};

/// Shaped lines are remembered: harnesses repeat their words. Past this many of a face its memory is emptied, so that it stays
/// bounded however long the list is.
const REMEMBERED: usize = 4096;

/// A character that none of the faces can draw.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
#[error(
    "the fonts have no `{0}` (U+{code:04X}); name a font file that has it under `[fonts] fallback` in job.toml",
    code = u32::from(*.0)
)]
pub struct MissingCharacter(pub char);

/// Text on one baseline, shaped but not yet placed or scaled.
#[derive(Debug)]
pub struct Shaped {
    /// From left to right; never none.
    runs: Vec<ShapedRun>,
}

/// A run of one face, direction and script. All measures are in the face's units.
#[derive(Debug)]
struct ShapedRun {
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
type Shaping = Result<Arc<Shaped>, MissingCharacter>;

/// The faces of this repository and the fallbacks of the job, opened, with the lines shaped so far. Threads may share them.
pub struct Fonts {
    faces: Vec<Opened>,
    shaped: RwLock<HashMap<Face, HashMap<String, Shaping>>>,
}

struct Opened {
    face: Face,
    typeface: Typeface,
    /// How most runs are shaped.
    latin: ShapePlan,
    /// How runs of other directions and scripts are, as they come up.
    plans: Mutex<Vec<Arc<ShapePlan>>>,
}

impl Opened {
    fn new(face: Face, font: Font) -> Self {
        let latin = ShapePlan::new(&font, Direction::LeftToRight, Some(Script::LATIN), None, &[]);
        Self { face, typeface: Typeface::new(font), latin, plans: Mutex::default() }
    }

    fn plan(&self, direction: Direction, script: Script) -> Arc<ShapePlan> {
        // Whoever panicked over it left it whole; so with the memory below.
        let mut plans = self.plans.lock().unwrap_or_else(PoisonError::into_inner);
        let is_it = |plan: &&Arc<ShapePlan>| plan.direction() == direction && plan.script() == Some(script);
        if let Some(plan) = plans.iter().find(is_it) {
            return Arc::clone(plan);
        }
        let plan = Arc::new(ShapePlan::new(self.typeface.font(), direction, Some(script), None, &[]));
        plans.push(Arc::clone(&plan));
        plan
    }
}

impl Default for Fonts {
    fn default() -> Self {
        Self::new()
    }
}

impl Fonts {
    /// Opens all faces of this repository.
    pub fn new() -> Self {
        Self::with_fallbacks(Vec::new())
    }

    /// Opens all faces, and font files for the characters that they lack, the preferred one first. Of more than 256 files
    /// the others are not used.
    pub fn with_fallbacks(files: Vec<FontFile>) -> Self {
        let own = Face::ALL.into_iter().filter_map(|face| Some((face, FontFile::own(face)?)));
        let fallbacks = (0..=u8::MAX).map(Face::Fallback).zip(files);
        let open = |(face, file): (Face, FontFile)| Opened::new(face, file.font().clone());
        Self { faces: own.chain(fallbacks).map(open).collect(), shaped: RwLock::default() }
    }

    /// A face's metrics.
    ///
    /// # Panics
    /// For a fallback that these fonts were not opened with.
    pub fn typeface(&self, face: Face) -> &Typeface {
        &self.opened(face).typeface
    }

    fn opened(&self, face: Face) -> &Opened {
        self.faces.iter().find(|opened| opened.face == face).expect("shaping gives only faces that are opened")
    }

    /// The least height of capitals at which an upright stem is a dot wide at this resolution: below it, stems are printed
    /// unevenly or not at all.
    pub fn least_cap(&self, face: Face, dpi: u16) -> Length {
        let typeface = self.typeface(face);
        let dots_a_cap = f64::from(typeface.cap_height) / f64::from(typeface.stem.max(1));
        super::symbol::dots(1, dpi).scaled(dots_a_cap)
    }

    /// Shapes a line of text. Characters that the face lacks are first replaced by near equivalents (a diameter sign by a
    /// slashed O, a non-breaking hyphen by a hyphen, and so on), then drawn by the bold face or the first fallback that has them.
    ///
    /// # Errors
    /// [`MissingCharacter`] names the first character that has no equivalent and stands in no fallback.
    pub fn shape(&self, face: Face, text: &str) -> Result<Arc<Shaped>, MissingCharacter> {
        let known = self.shaped.read().unwrap_or_else(PoisonError::into_inner);
        if let Some(known) = known.get(&face).and_then(|known| known.get(text)) {
            return known.clone();
        }
        drop(known);
        let shaped = self.shape_anew(face, text).map(Arc::new);
        let mut memory = self.shaped.write().unwrap_or_else(PoisonError::into_inner);
        let memory = memory.entry(face).or_default();
        if memory.len() >= REMEMBERED {
            memory.clear();
        }
        memory.insert(text.to_owned(), shaped.clone());
        shaped
    }

    /// Shapes a row of a line that reads this way as a whole, whatever the row itself begins with.
    ///
    /// # Errors
    /// As [`Fonts::shape`].
    pub fn shape_row(&self, face: Face, row: &str, reads: Reads) -> Result<Arc<Shaped>, MissingCharacter> {
        // The invisible marks of UAX #9: a first letter of that direction.
        match reads {
            Reads::Rightwards if runs::is_plain(row) => self.shape(face, row),
            Reads::Rightwards => self.shape(face, &format!("\u{200E}{row}")),
            Reads::Leftwards => self.shape(face, &format!("\u{200F}{row}")),
        }
    }

    fn shape_anew(&self, face: Face, text: &str) -> Result<Shaped, MissingCharacter> {
        let opened = self.opened(face);
        // Nearly all lines are Latin and need no breaking.
        if runs::is_plain(text)
            && let Ok(drawn) = drawable(&ShaperFont::new(opened.typeface.font()), text)
        {
            return Ok(Shaped { runs: vec![opened.shape_latin(&drawn)] });
        }
        let line = runs::line(text, |cluster| self.face_for(face, cluster))?;
        let mut runs: Vec<ShapedRun> = line.runs.iter().map(|run| self.opened(run.face).shape(&line, run)).collect();
        if runs.is_empty() {
            runs.push(opened.shape_latin(""));
        }
        Ok(Shaped { runs })
    }

    /// The face that draws a character with its marks, and what is drawn for it: the asked face, if need be with near
    /// equivalents, else the bold face or the first fallback that has them all.
    fn face_for<'t>(&self, asked: Face, cluster: &'t str) -> Result<(Face, Cow<'t, str>), MissingCharacter> {
        let missing = match drawable(&ShaperFont::new(self.opened(asked).font()), cluster) {
            Ok(drawn) => return Ok((asked, drawn)),
            Err(missing) => missing,
        };
        // The bold face has Cyrillic and more that the code's face lacks.
        let fallbacks = || self.faces.iter().filter(|opened| matches!(opened.face, Face::Strong | Face::Fallback(_)));
        let has_in = |opened: &Opened, character| has(&ShaperFont::new(opened.font()), character);
        if let Some(fallback) = fallbacks().find(|opened| cluster.chars().all(|character| has_in(opened, character))) {
            return Ok((fallback.face, Cow::Borrowed(cluster)));
        }
        let is_nowhere = |character: &char| !fallbacks().any(|opened| has_in(opened, *character));
        let nowhere = cluster.chars().skip_while(|&character| character != missing.0).find(is_nowhere);
        Err(nowhere.map_or(missing, MissingCharacter))
    }

    /// Width of shaped text whose capitals are as high as `cap`: its advances, or its ink where that reaches farther.
    pub fn width(&self, shaped: &Shaped, cap: Length) -> Length {
        if let [run] = &shaped.runs[..] {
            let typeface = self.typeface(run.face);
            let units = run.advance.max(run.ink.right) - run.ink.left.min(0);
            return typeface.units(units, typeface.em_for_cap(cap));
        }
        let [left, right] = self.reach(shaped, cap, 1.0);
        right - left
    }

    /// How far shaped text reaches left (not right of zero) and right of where its pen begins.
    fn reach(&self, shaped: &Shaped, cap: Length, stretch: f64) -> [Length; 2] {
        let (mut pen, mut left, mut right) = (Length::ZERO, Length::ZERO, Length::ZERO);
        for run in &shaped.runs {
            let typeface = self.typeface(run.face);
            let em = typeface.em_for_cap(cap);
            let along = |units: i32| typeface.units(units, em).scaled(stretch);
            left = left.min(pen + along(run.ink.left));
            right = right.max(pen + along(run.advance.max(run.ink.right)));
            pen += along(run.advance);
        }
        [left, right]
    }

    /// How far the ink rises above the baseline, at least the capitals' height.
    pub fn rise(&self, shaped: &Shaped, cap: Length) -> Length {
        let rise = |run: &ShapedRun| {
            let typeface = self.typeface(run.face);
            typeface.units(run.ink.top.max(typeface.cap_height), typeface.em_for_cap(cap))
        };
        shaped.runs.iter().map(rise).max().unwrap_or(cap)
    }

    /// How far the ink falls below the baseline; zero for capitals and digits.
    pub fn fall(&self, shaped: &Shaped, cap: Length) -> Length {
        let fall = |run: &ShapedRun| {
            let typeface = self.typeface(run.face);
            typeface.units(run.ink.bottom.saturating_neg().max(0), typeface.em_for_cap(cap))
        };
        shaped.runs.iter().map(fall).max().unwrap_or_default()
    }

    /// Places shaped text: capitals as high as `cap` before stretching, the ink starting at `at` on the baseline. There is
    /// an item for each run, from left to right.
    pub fn place(&self, shaped: &Shaped, cap: Length, at: Point, turn: Turn, stretch: Stretch, ink: Ink) -> Vec<Item> {
        let [left, _] = self.reach(shaped, cap, stretch.along);
        // Ink that hangs out before the pen, as of a j, moves the pen on: nothing is drawn before `at`.
        let mut pen = -left;
        let mut items = Vec::with_capacity(shaped.runs.len());
        for run in &shaped.runs {
            let typeface = self.typeface(run.face);
            let em = typeface.em_for_cap(cap);
            let along = |units: i32| typeface.units(units, em).scaled(stretch.along);
            let across = |units: i32| typeface.units(units, em).scaled(stretch.across);
            let (first, last) = (pen + along(run.ink.left.min(0)), pen + along(run.advance.max(run.ink.right)));
            let (top, bottom) = (across(run.ink.top.max(0)), across(run.ink.bottom.min(0)));
            let (start, origin) = match turn {
                Turn::Upright => (Point::new(at.x + pen, at.y), Point::new(at.x + first, at.y - top)),
                Turn::Clockwise => (Point::new(at.x, at.y + pen), Point::new(at.x + bottom, at.y + first)),
                Turn::Half => (Point::new(at.x - pen, at.y), Point::new(at.x - last, at.y + bottom)),
                Turn::Anticlockwise => (Point::new(at.x, at.y - pen), Point::new(at.x - top, at.y - last)),
            };
            let bounds = Rect { origin, size: turn.turned_size(Size::new(last - first, top - bottom)) };
            let glyphs = Arc::clone(&run.glyphs);
            items.push(Item::Text(TextItem { face: run.face, em, at: start, turn, stretch, ink, glyphs, bounds }));
            pen += along(run.advance);
        }
        items
    }
}

impl Opened {
    const fn font(&self) -> &Font {
        self.typeface.font()
    }

    fn shape_latin(&self, text: &str) -> ShapedRun {
        let mut buffer = Buffer::new();
        buffer.push_str(text);
        self.shape_with(&self.latin, buffer, text)
    }

    fn shape(&self, line: &Line, run: &Run) -> ShapedRun {
        let text = &line.text[run.range.clone()];
        let mut buffer = Buffer::new();
        buffer.push_str(text);
        // Letters join with those of neighbouring runs too.
        buffer.set_pre_context(&line.text[..run.range.start]);
        buffer.set_post_context(&line.text[run.range.end..]);
        self.shape_with(&self.plan(run.direction, run.script), buffer, text)
    }

    fn shape_with(&self, plan: &ShapePlan, mut buffer: Buffer, text: &str) -> ShapedRun {
        let font = ShaperFont::new(self.font());
        buffer.set_direction(plan.direction());
        buffer.set_script(plan.script());
        let is_leftwards = plan.direction() == Direction::RightToLeft;
        if is_leftwards {
            // Marks keep their own characters: readers of PDFs turn leftward text round glyph by glyph.
            buffer.set_cluster_level(ClusterLevel::MonotoneCharacters);
        }
        harfrust::shape(&font, &mut buffer, ShapeOptions::new().plan(Some(plan)))
            .expect("the plan has the buffer's direction and script");

        let infos = buffer.glyph_infos();
        // Clusters by where they start, in reading order: glyphs that go leftwards come in the opposite one.
        let mut starts: Vec<usize> = infos.iter().map(|info| info.cluster as usize).collect();
        starts.dedup();
        if is_leftwards {
            starts.reverse();
        }
        let mut glyphs = Vec::with_capacity(infos.len());
        let mut ink = InkBox { left: i32::MAX, right: i32::MIN, top: i32::MIN, bottom: i32::MAX };
        let mut pen = 0_i32;
        for (index, (info, position)) in infos.iter().zip(buffer.glyph_positions()).enumerate() {
            let start = info.cluster as usize;
            // The glyph that is read first carries the characters of its cluster.
            let before =
                if is_leftwards { infos.get(index + 1) } else { index.checked_sub(1).map(|index| &infos[index]) };
            let starts_cluster = before.is_none_or(|before| before.cluster != info.cluster);
            let end = starts.get(starts.partition_point(|&other| other <= start)).copied();
            let glyph_text = text.get(start..end.unwrap_or(text.len())).filter(|_| starts_cluster).unwrap_or_default();
            if let Some(extents) = font.glyph_extents(info.glyph_id.into())
                && extents.width != 0
            {
                let left = pen.saturating_add(position.x_offset).saturating_add(extents.x_bearing);
                let top = position.y_offset.saturating_add(extents.y_bearing);
                ink.left = ink.left.min(left);
                ink.right = ink.right.max(left.saturating_add(extents.width));
                ink.top = ink.top.max(top);
                ink.bottom = ink.bottom.min(top.saturating_add(extents.height));
            }
            pen = pen.saturating_add(position.x_advance);
            glyphs.push(Glyph {
                // A font file numbers its glyphs in 16 bits; 0 is its sign for a missing one.
                id: u16::try_from(info.glyph_id).unwrap_or(0),
                advance: position.x_advance,
                offset: (position.x_offset, position.y_offset),
                text: glyph_text.to_owned(),
            });
        }
        if ink.left > ink.right {
            ink = InkBox::default();
        }
        ShapedRun { face: self.face, glyphs: glyphs.into(), advance: pen, ink }
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
            let items = fonts.place(&shaped, cap, baseline, Turn::Upright, Stretch::NONE, Ink::Black);
            return Frame { size: extent, items };
        }
    }
    Frame::default()
}

/// The text with near equivalents for characters that the font lacks.
fn drawable<'t>(font: &ShaperFont<'_, '_>, text: &'t str) -> Result<Cow<'t, str>, MissingCharacter> {
    let Some(first) = text.find(|character| !has(font, character)) else { return Ok(Cow::Borrowed(text)) };
    let mut drawn = text[..first].to_owned();
    for character in text[first..].chars() {
        if has(font, character) {
            drawn.push(character);
            continue;
        }
        let equivalent = near_equivalent(character).filter(|text| text.chars().all(|other| has(font, other)));
        drawn.push_str(equivalent.ok_or(MissingCharacter(character))?);
    }
    Ok(Cow::Owned(drawn))
}

/// Whether a font draws a character, or need not.
fn has(font: &ShaperFont<'_, '_>, character: char) -> bool {
    font.nominal_glyph(character.into()).is_some() || is_joiner(character)
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

    /// The items' bounds together.
    fn bounds_of(items: &[Item]) -> Rect {
        let bounds = items.iter().map(|item| match item {
            Item::Text(text) => text.bounds,
            other => panic!("{other:?}"),
        });
        bounds
            .reduce(|one, other| {
                let (left, top) = (one.left().min(other.left()), one.top().min(other.top()));
                let (right, bottom) = (one.right().max(other.right()), one.bottom().max(other.bottom()));
                Rect::new(left, top, right - left, bottom - top)
            })
            .expect("there is one")
    }

    #[test]
    fn capitals_are_as_high_as_asked() {
        let fonts = Fonts::new();
        for face in Face::ALL {
            let shaped = fonts.shape(face, "H").unwrap();
            let placed = fonts.place(&shaped, Length::mm(2.5), Point::ORIGIN, Turn::Upright, Stretch::NONE, Ink::Black);
            assert!((bounds_of(&placed).size.height - Length::mm(2.5)).abs() < Length::mm(0.001), "{face:?}");
        }
    }

    #[test]
    fn a_stretch_stretches_the_bounds() {
        let fonts = Fonts::new();
        let shaped = fonts.shape(Face::Words, "Hag").unwrap();
        let place = |stretch| fonts.place(&shaped, Length::mm(2.0), Point::ORIGIN, Turn::Upright, stretch, Ink::Black);
        let plain = bounds_of(&place(Stretch::NONE)).size;
        let high = bounds_of(&place(Stretch { along: 1.0, across: 1.25 })).size;
        assert_eq!(plain.width, high.width);
        assert!((high.height.ratio(plain.height) - 1.25).abs() < 1e-4);
    }

    #[test]
    fn all_four_turns_have_the_same_bounds_but_for_place() {
        let fonts = Fonts::new();
        let shaped = fonts.shape(Face::Words, "j rail pressure g").unwrap();
        let at = Point::new(Length::mm(20.0), Length::mm(20.0));
        let bounds = |turn| bounds_of(&fonts.place(&shaped, Length::mm(2.0), at, turn, Stretch::NONE, Ink::Black));
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
        assert_eq!(
            MissingCharacter('油').to_string(),
            "the fonts have no `油` (U+6CB9); name a font file that has it under `[fonts] fallback` in job.toml"
        );
    }

    #[test]
    fn what_the_face_of_codes_lacks_the_bold_one_draws() {
        let fonts = Fonts::new();
        let shaped = fonts.shape(Face::Code, "ХР1/14").unwrap();
        let faces: Vec<Face> = shaped.runs.iter().map(|run| run.face).collect();
        assert_eq!(faces, [Face::Strong, Face::Code]);
        let cap = Length::mm(2.0);
        let apart = fonts.width(&fonts.shape(Face::Strong, "ХР").unwrap(), cap)
            + fonts.width(&fonts.shape(Face::Code, "1/14").unwrap(), cap);
        assert!((fonts.width(&shaped, cap) - apart).abs() < Length::mm(0.1));
    }

    #[test]
    fn a_row_keeps_the_direction_of_its_line() {
        let fonts = Fonts::with_fallbacks(vec![FontFile::own(Face::Words).unwrap()]);
        let drawn = |row, reads| -> String {
            let shaped = fonts.shape_row(Face::Words, row, reads).unwrap();
            shaped.runs.iter().flat_map(|run| run.glyphs.iter().map(|glyph| glyph.text.clone())).collect()
        };
        assert_eq!(drawn("F3 5 A:", Reads::Rightwards), "F3 5 A:");
        // What ends a line that reads leftwards is at its left; words and numbers within keep their own direction.
        assert_eq!(drawn("F3 5 A:", Reads::Leftwards), ":F3 5 A");
    }

    #[test]
    fn clusters_give_the_text_back() {
        let fonts = Fonts::new();
        for text in ["rail pressure signal", "office ffi fl", "Öldruck", "J1/14", ""] {
            let shaped = fonts.shape(Face::Words, text).unwrap();
            let back: String = shaped.runs[0].glyphs.iter().map(|glyph| glyph.text.as_str()).collect();
            assert_eq!(back, text);
        }
    }

    proptest! {
        #[test]
        fn any_text_is_answered(text in ".{0,30}") {
            let fonts = Fonts::with_fallbacks(vec![FontFile::own(Face::Words).expect("one of ours")]);
            for face in Face::ALL {
                if let Ok(shaped) = fonts.shape(face, &text) {
                    let _ = fonts.width(&shaped, Length::mm(1.8));
                }
            }
        }
    }
}
