//! Flat faces of a tag: one or two equal panels, filled by the search, and the facts about what came out.
//!
//! In: what to fit, the room of a panel, and which symbols can be read there. Out: the items of both faces and [`Facts`]. Flags,
//! wraps and tie-ons are made of these.

use std::cell::OnceCell;

use super::fit::{Facts, Fitting, Refusal, SymbolFacts};
use super::frame::Item;
use super::panel::{Arrangement, Room};
use super::search::{Search, Sharing, Symbols};
use super::symbol::{Symbol, SymbolKind, dots, smallest_module_dots};
use super::words::Words;
use crate::base::{Length, Size, TagKind};
use crate::labels::Faces;

/// White at the free edges of flags, wraps and tie-ons: what of a label no tag prints on, ticks alone excepted.
pub const LABEL_EDGE: Length = Length::nm(1_500_000);

/// Symbol and words on one face.
pub(super) const ONE_FACE: [Sharing; 2] = [Sharing::Whole(Arrangement::Beside), Sharing::Whole(Arrangement::Stacked)];
/// Symbol and words on two faces.
const TWO_FACES: [Sharing; 3] =
    [Sharing::Whole(Arrangement::Beside), Sharing::Whole(Arrangement::Stacked), Sharing::Split];

/// The faces of a tag and what they allow.
pub(super) struct Flat<'a> {
    /// Kind of the tag, for the facts.
    pub(super) kind: TagKind,
    /// Room on each face.
    pub(super) room: Room,
    /// Resolution of the printer.
    pub(super) dpi: u16,
    /// How words and symbol may share the faces.
    pub(super) sharings: &'a [Sharing],
    /// The largest module, in dots, of a symbol of this kind that can be read on the face; `None` where none can.
    pub(super) most_dots: &'a dyn Fn(SymbolKind) -> Option<i64>,
    /// Why no symbol at all is tried.
    pub(super) no_symbol: Option<String>,
}

/// The ways that two faces may be shared, as the wording has it.
pub(super) fn two_faces(faces: Faces) -> &'static [Sharing] {
    match faces {
        Faces::Any => &TWO_FACES,
        Faces::Same => &ONE_FACE,
        Faces::Split => &TWO_FACES[2..],
    }
}

/// Why no symbol stands beside the words, in numbers.
fn no_room(room: Size, dpi: u16) -> String {
    let kind = SymbolKind::DataMatrixLow;
    let modules = |count: i64| dots((count + 2 * kind.quiet_modules()) * smallest_module_dots(dpi), dpi);
    format!(
        "no symbol: the face has {:.1} x {:.1} for code, marks and symbol, and the least symbol, {kind}, takes {:.1} x {:.1}",
        room.width,
        room.height,
        modules(kind.columns()),
        modules(kind.rows())
    )
}

/// What must be larger for a tag of this kind to hold more.
const fn larger(kind: TagKind) -> &'static str {
    match kind {
        TagKind::TieOn => "a plate",
        TagKind::Wrap => "a printed block",
        _ => "faces",
    }
}

/// Whether [`fill`] surely finds something, which is quickly known.
pub(super) fn holds(fitting: &Fitting<'_>, room: Room, dpi: u16) -> bool {
    let Fitting { fonts, floors, label, .. } = *fitting;
    let Ok(words) = Words::of(fonts, label, Vec::new()) else { return false };
    Search { fonts, floors, words: &words, dpi, room, sharings: &ONE_FACE }.holds()
}

/// Fills the faces.
///
/// Tried in this order, the first that holds is taken: the symbol as asked for, then the code alone in QR 1, then in Data
/// Matrix 14x14 and 8x18, then none; for each all lines, then fewer from the least; for each the wanted letter heights, then
/// smaller ones; for each the whole tag on a face, then words on one and symbol on the other. What was taken then grows as
/// far as there is room.
///
/// # Errors
/// [`Refusal`] when not even code and marks fit.
pub(super) fn fill(fitting: &Fitting<'_>, flat: Flat<'_>) -> Result<([Vec<Item>; 2], Facts), Refusal> {
    let Fitting { fonts, floors, label, wording, diameter } = *fitting;
    let mut words = Words::of(fonts, label, wording.lines(label))?;
    words.leave_out_wider(fonts, flat.room.size.width, floors.line_least);
    let search = Search { fonts, floors, words: &words, dpi: flat.dpi, room: flat.room, sharings: flat.sharings };

    let payload = wording.payload(label);
    let mut symbol_note = payload.and(flat.no_symbol);
    let mut symbols = None;
    if let Some(payload) = payload
        && symbol_note.is_none()
    {
        let asked = Symbol::qr(payload);
        if asked.is_none() {
            symbol_note = Some("the symbol says the code alone: its text is too long".to_owned());
        }
        let lesser = OnceCell::new();
        symbols = Some(Symbols { asked, code: label.name.least(), most_dots: flat.most_dots, lesser });
    }
    let found = search.first(symbols.as_ref()).ok_or_else(|| search.refusal(larger(flat.kind)))?;
    if let Some(asked) = symbols.and_then(|symbols| symbols.asked).filter(|asked| found.symbol.as_ref() != Some(asked))
    {
        symbol_note = Some(match &found.symbol {
            Some(taken) if (flat.most_dots)(asked.kind).is_none() => {
                format!("{} with the code alone: {} is not read round so thin a wire", taken.kind, asked.kind)
            }
            Some(taken) => format!("{} with the code alone: the face has no room for {}", taken.kind, asked.kind),
            None => no_room(flat.room.size, flat.dpi),
        });
    }

    let marks = label.bands.iter().map(|(_, words)| words.clone());
    let facts = Facts {
        kind: flat.kind,
        diameter,
        code: found.code,
        lines: (found.kept.lines > 0).then_some(found.line),
        symbol: found
            .symbol
            .as_ref()
            .zip(found.module_dots)
            .map(|(symbol, count)| SymbolFacts { kind: symbol.kind, module: dots(count, flat.dpi) }),
        symbol_note,
        said: marks.chain(words.said(found.kept)).collect(),
        dropped: words.dropped(found.kept),
        undrawable: words.undrawable().to_vec(),
        shortened: words.shortened(found.kept),
        tube: None,
        instead_of: None,
    };
    Ok((found.faces, facts))
}
