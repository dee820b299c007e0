//! The fonts, cut down to the glyphs that were drawn.
//!
//! While pages are drawn, each pair of glyph and the characters it stands for is given a number (the character
//! identifier, CID, of a composite font: ISO 32000-1, 9.7); at the end the fonts are written with just these. A glyph
//! that stands for other characters elsewhere (a space for a no-break space) gets a second number, so copied text is what
//! was meant.

use std::io::{self, Write};

use harfrust::GlyphId;
use pdf_writer::types::{CidFontType, FontFlags, SystemInfo, UnicodeCmap};
use pdf_writer::{Filter, Name, Rect, Ref, Str};
use subsetter::GlyphRemapper;

use super::sink::{Digest, Sink};
use super::writer::{PdfFailure, squeezed};
use crate::layout::font_file::{self, Outlines};
use crate::layout::{Face, FontFile, Glyph};

/// Where a font's texts are in Unicode and its glyphs numbered by ourselves.
const IDENTITY: SystemInfo<'static> = SystemInfo { registry: Str(b"Adobe"), ordering: Str(b"Identity"), supplement: 0 };

/// One face and what has been drawn with it.
pub struct Typeface {
    file: FontFile,
    /// Per glyph of the font file: the numbers given, by the characters it stands for.
    numbers: Vec<Vec<(Box<str>, u16)>>,
    /// Per number: the glyph of the font file and the characters.
    drawn: Vec<(u16, Box<str>)>,
    /// Advance of each glyph of the font file in thousandths of the em, as the PDF states it.
    advances: Vec<f32>,
}

impl Typeface {
    /// A face nothing has been drawn with.
    pub fn new(file: FontFile) -> Self {
        let font = file.font();
        let scale = 1000.0 / f32::from(font.units_per_em());
        let count = font.num_glyphs();
        let metrics = font.glyph_metrics();
        let advances = (0..count).map(|glyph| metrics.h_advance(GlyphId::new(glyph)) * scale).collect();
        let numbers = vec![Vec::new(); count as usize];
        // Number 0 is the glyph for what is missing; it stands for nothing.
        Self { file, numbers, drawn: vec![(0, "".into())], advances }
    }

    /// Whether nothing has been drawn with it.
    pub fn is_unused(&self) -> bool {
        self.drawn.len() == 1
    }

    /// The name under which pages use the font.
    pub fn resource(face: Face) -> String {
        match face {
            Face::Words => "W".to_owned(),
            Face::Strong => "S".to_owned(),
            Face::Code => "C".to_owned(),
            Face::Fallback(number) => format!("F{number}"),
        }
    }

    /// Units of the em square.
    pub fn units_per_em(&self) -> u16 {
        self.file.font().units_per_em()
    }

    /// The glyph's number in the PDF and its advance in thousandths of the em. A glyph that the font lacks is drawn as
    /// the font's own sign for a missing one.
    pub fn number(&mut self, glyph: &Glyph) -> (u16, f32) {
        let Some(known) = self.numbers.get_mut(usize::from(glyph.id)) else {
            return (0, self.advances.first().copied().unwrap_or(0.0));
        };
        let advance = self.advances[usize::from(glyph.id)];
        if let Some((_, number)) = known.iter().find(|(text, _)| **text == *glyph.text) {
            return (*number, advance);
        }
        let Ok(number) = u16::try_from(self.drawn.len()) else {
            // Numbers have two bytes. Sixty thousand different clusters are not a label: keep the look, lose the copy.
            return (known.first().map_or(0, |(_, number)| *number), advance);
        };
        let text: Box<str> = glyph.text.as_str().into();
        known.push((text.clone(), number));
        self.drawn.push((glyph.id, text));
        (number, advance)
    }

    /// Writes the font under `id`.
    pub fn write<W: Write>(&self, sink: &mut Sink<W>, id: Ref) -> Result<(), PdfFailure> {
        let mut remapper = GlyphRemapper::new();
        let glyphs: Vec<u16> = self.drawn.iter().map(|&(glyph, _)| remapper.remap(glyph)).collect();
        let subset = subsetter::subset(self.file.bytes(), self.file.number(), &remapper).map_err(PdfFailure::Font)?;
        let name = format!("{}+{}", subset_tag(&subset), self.file.postscript_name());
        let [cid_font, descriptor, file, unicode] = std::array::from_fn(|_| sink.reserve());
        // The subset numbers its glyphs in the order of first use, as we do, until one is used a second time.
        let is_identity = glyphs.iter().enumerate().all(|(number, &glyph)| number == usize::from(glyph));
        let map = (!is_identity).then(|| sink.reserve());
        let outlines = self.file.outlines();

        sink.object(id, |chunk| {
            let mut font = chunk.type0_font(id);
            font.base_font(Name(name.as_bytes()));
            match map.filter(|_| outlines == Outlines::Compact) {
                Some(map) => font.encoding_cmap(map),
                None => font.encoding_predefined(Name(b"Identity-H")),
            };
            font.descendant_font(cid_font).to_unicode(unicode);
        })?;
        sink.object(cid_font, |chunk| {
            let mut font = chunk.cid_font(cid_font);
            font.base_font(Name(name.as_bytes())).system_info(IDENTITY);
            font.font_descriptor(descriptor).default_width(0.0);
            let advance = |glyph: u16| self.advances.get(usize::from(glyph)).copied().unwrap_or(0.0);
            match outlines {
                Outlines::TrueType => {
                    font.subtype(CidFontType::Type2);
                    match map {
                        Some(map) => font.cid_to_gid_map_stream(map),
                        None => font.cid_to_gid_map_predefined(Name(b"Identity")),
                    };
                    font.widths().consecutive(0, self.drawn.iter().map(|&(glyph, _)| advance(glyph)));
                }
                // The glyphs of a CFF font are found by the identifiers in it (9.7.4.2), which the subset numbers as its
                // glyphs; a map leads from our numbers to these before the font is asked.
                Outlines::Compact => {
                    font.subtype(CidFontType::Type0);
                    font.widths().consecutive(0, remapper.remapped_gids().map(advance));
                }
            }
        })?;
        self.write_descriptor(sink, descriptor, file, &name)?;
        let embedded = match outlines {
            Outlines::TrueType => &subset[..],
            Outlines::Compact => font_file::table(&subset, 0, b"CFF ").unwrap_or_default(),
        };
        let squeezed_file = squeezed(embedded);
        sink.object(file, |chunk| {
            let mut stream = chunk.stream(file, &squeezed_file);
            stream.filter(Filter::FlateDecode);
            match outlines {
                Outlines::TrueType => stream.pair(Name(b"Length1"), embedded.len() as i32),
                Outlines::Compact => stream.pair(Name(b"Subtype"), Name(b"CIDFontType0C")),
            };
        })?;
        let characters = squeezed(&self.unicode_map());
        sink.object(unicode, |chunk| {
            chunk.cmap(unicode, &characters).filter(Filter::FlateDecode);
        })?;
        if let Some(map) = map {
            match outlines {
                Outlines::TrueType => {
                    let bytes: Vec<u8> = glyphs.iter().flat_map(|glyph| glyph.to_be_bytes()).collect();
                    let bytes = squeezed(&bytes);
                    sink.object(map, |chunk| {
                        chunk.stream(map, &bytes).filter(Filter::FlateDecode);
                    })?;
                }
                Outlines::Compact => {
                    let text = squeezed(glyph_map(&glyphs).as_bytes());
                    sink.object(map, |chunk| {
                        let mut cmap = chunk.cmap(map, &text);
                        cmap.name(Name(GLYPH_MAP.as_bytes())).system_info(IDENTITY);
                        cmap.filter(Filter::FlateDecode);
                    })?;
                }
            }
        }
        Ok(())
    }

    /// Writes the font's metrics, all from its own tables, in thousandths of the em.
    fn write_descriptor<W: Write>(&self, sink: &mut Sink<W>, id: Ref, file: Ref, name: &str) -> io::Result<()> {
        let scale = 1000.0 / f64::from(self.units_per_em());
        let metrics = self.file.font().metrics();
        let style = self.file.font().style_metrics();
        let bounds = metrics.bounds;
        let bbox = [bounds.x_min, bounds.y_min, bounds.x_max, bounds.y_max].map(|v| (v.to_f64() * scale) as f32);
        let line = metrics.hhea_line;
        let ascent = line.map_or(f64::from(bbox[3]), |line| line.ascender.to_f64() * scale);
        let descent = line.map_or(f64::from(bbox[1]), |line| line.descender.to_f64() * scale);
        let cap_height = metrics.cap_height.map_or(ascent, |height| height.to_f64() * scale);
        let italic_angle = style.italic_angle.map_or(0.0, |angle| angle.to_f64());
        sink.object(id, |chunk| {
            let mut descriptor = chunk.font_descriptor(id);
            descriptor.name(Name(name.as_bytes()));
            // Glyphs numbered by ourselves are in no standard Latin set, which this flag says (9.8.2).
            descriptor.flags(FontFlags::SYMBOLIC);
            descriptor.bbox(Rect::new(bbox[0], bbox[1], bbox[2], bbox[3]));
            descriptor.italic_angle(italic_angle as f32).ascent(ascent as f32).descent(descent as f32);
            descriptor.cap_height(cap_height as f32).stem_v(self.stem(scale));
            match self.file.outlines() {
                Outlines::TrueType => descriptor.font_file2(file),
                Outlines::Compact => descriptor.font_file3(file),
            };
        })
    }

    /// Width of an upright stem in thousandths of the em: that of the dotless i, which is nothing else.
    fn stem(&self, scale: f64) -> f32 {
        let extents = self
            .file
            .font()
            .charmap()
            .map_unicode('ı')
            .and_then(|glyph| self.file.font().glyph_metrics().extents(glyph));
        extents.map_or(0.0, |extents| (f64::from(extents.width) * scale) as f32)
    }

    /// Which characters each number stands for, so that text can be searched and copied.
    fn unicode_map(&self) -> Vec<u8> {
        let mut map = UnicodeCmap::<u16>::new(Name(b"Loomtag"), IDENTITY);
        for (number, (_, text)) in self.drawn.iter().enumerate().skip(1) {
            map.pair_with_multiple(number as u16, text.chars());
        }
        map.finish().as_slice().to_vec()
    }
}

/// Whether a font file can be cut down, tried on a few glyphs: what is broken in it is better told before a run than in it.
///
/// # Errors
/// [`PdfFailure::Font`] says why not.
pub fn can_embed(file: &FontFile) -> Result<(), PdfFailure> {
    let mut remapper = GlyphRemapper::new();
    for letter in ['H', '\u{5D0}', '\u{627}', '\u{3042}', '\u{6C34}'] {
        if let Some(glyph) =
            file.font().charmap().map_unicode(letter).and_then(|glyph| u16::try_from(glyph.to_u32()).ok())
        {
            remapper.remap(glyph);
        }
    }
    subsetter::subset(file.bytes(), file.number(), &remapper).map(drop).map_err(PdfFailure::Font)
}

/// Six capital letters that mark a subset (9.6.4), drawn from its contents.
fn subset_tag(subset: &[u8]) -> String {
    let mut digest = Digest::new();
    digest.take(subset);
    digest.bytes().iter().take(6).map(|byte| char::from(b'A' + byte % 26)).collect()
}

/// Name of the map from numbers to glyphs.
const GLYPH_MAP: &str = "Loomtag-Glyphs";

/// A CMap (9.7.5.3) from our numbers to the glyphs of the subset, in blocks of a hundred, which is the most that one may hold.
fn glyph_map(glyphs: &[u16]) -> String {
    let head = "/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n\
        /CIDSystemInfo 3 dict dup begin /Registry (Adobe) def /Ordering (Identity) def /Supplement 0 def end def\n";
    let mut text = format!(
        "{head}/CMapName /{GLYPH_MAP} def\n/CMapType 1 def\n/WMode 0 def\n\
         1 begincodespacerange\n<0000> <FFFF>\nendcodespacerange\n"
    );
    let pairs: Vec<String> =
        glyphs.iter().enumerate().map(|(number, glyph)| format!("<{number:04X}> {glyph}\n")).collect();
    for block in pairs.chunks(100) {
        text += &format!("{} begincidchar\n{}endcidchar\n", block.len(), block.concat());
    }
    text + "endcmap\nCMapName currentdict /CMap defineresource pop\nend\nend\n"
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn glyph(id: u16, text: &str) -> Glyph {
        Glyph { id, advance: 0, offset: (0, 0), text: text.into() }
    }

    #[test]
    fn every_face_is_read() {
        for face in Face::ALL {
            assert!(Typeface::new(FontFile::own(face).unwrap()).is_unused());
        }
    }

    #[test]
    fn a_glyph_is_numbered_once_for_each_meaning() {
        let mut typeface = Typeface::new(FontFile::own(Face::Words).unwrap());
        let numbers = [(3, " "), (40, "A"), (3, "\u{a0}"), (3, " "), (u16::MAX, "?")];
        let numbers = numbers.map(|(id, text)| typeface.number(&glyph(id, text)).0);
        assert_eq!(numbers, [1, 2, 3, 1, 0]);
    }

    proptest! {
        /// Spoilt font files end in an answer, whatever is drawn with them.
        #[test]
        fn a_spoilt_font_is_written_or_refused(places in prop::collection::vec((0..6000_usize, any::<u8>()), 1..12), anywhere in 0..200_000_usize) {
            let mut bytes = Face::Words.bytes().unwrap().to_vec();
            for (at, byte) in places {
                bytes[at] = byte;
            }
            bytes[anywhere] ^= 0xFF;
            if let Ok(file) = FontFile::open(bytes, 0) {
                let _ = can_embed(&file);
                let mut typeface = Typeface::new(file);
                for id in [0, 1, 3, 40, 41, 300, u16::MAX] {
                    typeface.number(&glyph(id, "A"));
                }
                let mut sink = Sink::new(Vec::new()).unwrap();
                let id = sink.reserve();
                let _ = typeface.write(&mut sink, id);
            }
        }
    }
}
