//! A font file: one of this repository, or one that the job names for characters that those lack.
//!
//! In: its bytes. Out: a font that can be shaped, measured and embedded, or the fault that forbids it.

use std::fmt;

use harfrust::Font;
use harfrust::font::Blob;
use thiserror::Error;

use super::frame::Face;

/// A font file, opened. Cloning is cheap.
#[derive(Clone)]
pub struct FontFile {
    bytes: Blob,
    number: u32,
    font: Font,
    outlines: Outlines,
}

/// How the outlines of a font are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outlines {
    /// Quadratic, in a `glyf` table.
    TrueType,
    /// Cubic, in a `CFF` table.
    Compact,
}

/// Why a font file cannot be used.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum FontFault {
    /// It is no font of the OpenType format.
    #[error("is not a font file (.ttf, .otf or .ttc)")]
    NotAFont,
    /// A collection does not have so many faces.
    #[error("has no face number {0}")]
    NoSuchFace(u32),
    /// It has no outlines, or has them in the newer compact format only, which a PDF cannot hold.
    #[error("has no outlines that a PDF can hold")]
    NoOutlines,
    /// Its maker does not allow it to be embedded as a subset of outlines.
    #[error("may not be embedded: its licence bits forbid it")]
    Restricted,
}

impl FontFile {
    /// Opens the face of this number, which is 0 but in collections.
    ///
    /// # Errors
    /// The [`FontFault`] that forbids its use.
    pub fn open(bytes: Vec<u8>, number: u32) -> Result<Self, FontFault> {
        Self::of(bytes.into(), number)
    }

    /// The file of a face of this repository; `None` for a fallback, which the job brings.
    pub fn own(face: Face) -> Option<Self> {
        let bytes = face.bytes()?;
        Some(Self::of(bytes.into(), 0).expect("the fonts of this repository are sound, and a test opens each"))
    }

    fn of(bytes: Blob, number: u32) -> Result<Self, FontFault> {
        let table = |tag| table(&bytes, number, tag);
        if table(b"cmap").is_none() || table(b"head").is_none() {
            let is_font = self::table(&bytes, 0, b"head").is_some();
            return Err(if is_font && number > 0 { FontFault::NoSuchFace(number) } else { FontFault::NotAFont });
        }
        let outlines = match (table(b"glyf"), table(b"CFF ")) {
            (Some(_), _) => Outlines::TrueType,
            (None, Some(_)) => Outlines::Compact,
            (None, None) => return Err(FontFault::NoOutlines),
        };
        if table(b"OS/2").is_some_and(forbids_embedding) {
            return Err(FontFault::Restricted);
        }
        let font = Font::new(bytes.clone(), number).filter(|font| font.num_glyphs() > 0).ok_or(FontFault::NotAFont)?;
        Ok(Self { bytes, number, font, outlines })
    }

    /// The whole file.
    pub fn bytes(&self) -> &[u8] {
        &self.bytes
    }

    /// Number of the face within the file.
    pub const fn number(&self) -> u32 {
        self.number
    }

    /// How its outlines are written.
    pub const fn outlines(&self) -> Outlines {
        self.outlines
    }

    /// The font.
    pub const fn font(&self) -> &Font {
        &self.font
    }

    /// Its name for printers, from its `name` table; only letters, digits and hyphens are taken.
    pub fn postscript_name(&self) -> String {
        let name = self.font.names().get(6.into()).and_then(|name| name.english_or_first());
        let plain = |c: &char| c.is_ascii_alphanumeric() || *c == '-';
        let name: String = name.iter().flat_map(|name| name.name().chars()).filter(plain).take(63).collect();
        if name.is_empty() { "Fallback".to_owned() } else { name }
    }

    /// Whether the font has axes, such as weight. It is drawn at its default location, which often is a thin one.
    pub fn is_variable(&self) -> bool {
        table(&self.bytes, self.number, b"fvar").is_some()
    }
}

impl PartialEq for FontFile {
    fn eq(&self, other: &Self) -> bool {
        self.number == other.number && *self.bytes == *other.bytes
    }
}

impl Eq for FontFile {}

impl fmt::Debug for FontFile {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("FontFile").field("bytes", &self.bytes.len()).field("number", &self.number).finish()
    }
}

/// Whether `fsType` of the OS/2 table (OpenType 1.9, "Embedding permissions") forbids what is done here: bit 1 is a restricted
/// licence unless bit 2 or 3 allows more (versions 0 to 2), bit 8 forbids subsets, bit 9 allows bitmaps only.
fn forbids_embedding(os2: &[u8]) -> bool {
    let Some(&[high, low]) = os2.get(8..10) else { return false };
    let bits = u16::from_be_bytes([high, low]);
    let is_restricted = bits & 0x0002 != 0 && bits & 0x000C == 0;
    is_restricted || bits & 0x0300 != 0
}

/// A table of a font file, or of a face of a collection (OpenType 1.9, "The OpenType font file").
pub fn table<'f>(file: &'f [u8], number: u32, tag: &[u8; 4]) -> Option<&'f [u8]> {
    let word = |at: usize| Some(u32::from_be_bytes(file.get(at..at.checked_add(4)?)?.try_into().ok()?));
    let mut start = 0;
    if file.starts_with(b"ttcf") {
        if number >= word(8)? {
            return None;
        }
        start = word(12 + 4 * usize::try_from(number).ok()?)? as usize;
    } else if number > 0 {
        return None;
    }
    let count = (word(start.checked_add(4)?)? >> 16) as usize;
    let record = (0..count).map(|index| start + 12 + 16 * index).find(|&at| file.get(at..at + 4) == Some(tag))?;
    let (offset, length) = (word(record + 8)? as usize, word(record + 12)? as usize);
    file.get(offset..offset.checked_add(length)?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn own() -> Vec<u8> {
        Face::Words.bytes().expect("one of ours").to_vec()
    }

    /// The file with other licence bits.
    fn licensed(bits: u16) -> Vec<u8> {
        let mut file = own();
        let os2 = table(&file, 0, b"OS/2").expect("has one").as_ptr() as usize - file.as_ptr() as usize;
        file[os2 + 8..os2 + 10].copy_from_slice(&bits.to_be_bytes());
        file
    }

    #[test]
    fn a_font_is_opened_and_what_is_none_is_told() {
        let file = FontFile::open(own(), 0).unwrap();
        assert_eq!((file.outlines(), file.is_variable()), (Outlines::TrueType, false));
        assert_eq!(FontFile::open(own(), 1).unwrap_err(), FontFault::NoSuchFace(1));
        for bytes in [&b""[..], b"connector,cavity\n", b"ttcf\0\x01\0\0\xff\xff\xff\xff", &own()[..200]] {
            assert_eq!(FontFile::open(bytes.to_vec(), 0).unwrap_err(), FontFault::NotAFont);
        }
    }

    #[test]
    fn the_faces_of_this_repository_are_opened() {
        let names = Face::ALL.map(|face| FontFile::own(face).expect("one of ours").postscript_name());
        assert_eq!(names, ["FiraSansCondensed-Medium", "FiraSansCondensed-Bold", "AtkinsonHyperlegibleNext-Bold"]);
    }

    /// A collection (OpenType 1.9, "TTC header"): the files one after the other, the offsets of their tables moved on.
    fn collection(files: &[&[u8]]) -> Vec<u8> {
        let mut whole = [&b"ttcf\0\x01\0\0"[..], &(files.len() as u32).to_be_bytes()].concat();
        let mut start = whole.len() + 4 * files.len();
        for file in files {
            whole.extend((start as u32).to_be_bytes());
            start += file.len().next_multiple_of(4);
        }
        for file in files {
            let start = whole.len() as u32;
            let mut file = file.to_vec();
            for table in 0..usize::from(u16::from_be_bytes([file[4], file[5]])) {
                let at = 12 + 16 * table + 8;
                let offset = u32::from_be_bytes(file[at..at + 4].try_into().unwrap()) + start;
                file[at..at + 4].copy_from_slice(&offset.to_be_bytes());
            }
            file.resize(file.len().next_multiple_of(4), 0);
            whole.extend(file);
        }
        whole
    }

    #[test]
    fn a_face_of_a_collection_is_opened_by_its_number() {
        let bytes = |face: Face| face.bytes().expect("one of ours");
        let whole = collection(&[bytes(Face::Words), bytes(Face::Code)]);
        let name = |number| FontFile::open(whole.clone(), number).map(|file| file.postscript_name());
        assert_eq!(name(0).unwrap(), "FiraSansCondensed-Medium");
        assert_eq!(name(1).unwrap(), "AtkinsonHyperlegibleNext-Bold");
        assert_eq!(name(2), Err(FontFault::NoSuchFace(2)));
        crate::layout::text::Fonts::with_fallbacks(vec![FontFile::open(whole.clone(), 1).unwrap()]);
    }

    #[test]
    fn licence_bits_are_minded() {
        let opened = |bits| FontFile::open(licensed(bits), 0).map(drop);
        for allowed in [0x0000, 0x0004, 0x0008, 0x000A] {
            assert_eq!(opened(allowed), Ok(()), "{allowed:#06x}");
        }
        for forbidden in [0x0002, 0x0100, 0x0200, 0x0104] {
            assert_eq!(opened(forbidden), Err(FontFault::Restricted), "{forbidden:#06x}");
        }
    }

    proptest! {
        #[test]
        fn any_bytes_are_answered(mut start in prop::collection::vec(any::<u8>(), 0..64), keep in 0..4000usize, ttc in any::<bool>(), number in 0..3u32) {
            start.extend(&own()[..keep]);
            if ttc {
                start.splice(0..start.len().min(4), *b"ttcf");
            }
            let _ = FontFile::open(start, number);
        }

        #[test]
        fn a_spoilt_font_is_answered(places in prop::collection::vec((0..200_000usize, any::<u8>()), 1..20)) {
            let mut file = own();
            for (at, byte) in places {
                let at = at % file.len();
                file[at] = byte;
            }
            if let Ok(file) = FontFile::open(file, 0) {
                let fonts = crate::layout::text::Fonts::with_fallbacks(vec![file]);
                let _ = fonts.shape(Face::Words, "א A 油");
            }
        }
    }
}
