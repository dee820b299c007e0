//! Flags: a label folded round the wire, its two faces back to back.
//!
//! `geometry` says what of the label is wrap and face; `search` finds what the faces hold.

mod geometry;
mod search;
#[cfg(test)]
mod tests;

use std::cell::OnceCell;

use super::fit::{Facts, Fitted, Floors, Refusal, SymbolFacts};
use super::frame::Frame;
use super::panel::Room;
use super::symbol::{Symbol, dots};
use super::text::Fonts;
use super::wire::Diameter;
use super::words::Words;
use crate::base::TagKind;
use crate::labels::{Field, Label};

use geometry::{BEND, EDGE, HAIRLINE};
pub use geometry::{FlagStock, Geometry, Posture, wrap};
use search::{Search, Symbols};

/// Fits a label to a flag on a wire of this diameter.
///
/// Tried in this order, the first that holds is taken: the symbol as asked for, then the code alone in QR 1, then in Data
/// Matrix 14x14 and 8x18, then none; for each all lines, then fewer from the last; for each the wanted letter heights, then
/// smaller ones; for each the whole tag on both faces, then words on one and symbol on the other. What was taken then
/// grows as far as there is room.
///
/// # Errors
/// [`Refusal`] says by how much it fails and what would do.
pub fn fit(
    fonts: &Fonts,
    floors: &Floors,
    label: &Label,
    diameter: Diameter,
    stock: &FlagStock,
) -> Result<Fitted, Refusal> {
    let mut words = Words::of(fonts, label)?;
    let geometry = Geometry::new(stock, diameter.length());
    if geometry.face < floors.face {
        return Err(Refusal::FaceTooShort {
            diameter: diameter.length(),
            face: geometry.face,
            length: geometry.length,
            least: floors.face,
            needed: geometry.wrap + floors.face * 2,
        });
    }
    let panels = geometry.panels();
    words.leave_out_wider(fonts, panels[0].0.size.width, floors.line_least);
    let search = Search {
        fonts,
        floors,
        words: &words,
        dpi: stock.dpi,
        // The ticks of the fold are print too: a quiet zone ends before their stroke begins.
        room: Room { size: panels[0].0.size, border: EDGE.min(BEND) - HAIRLINE },
    };

    let mut symbol_note = None;
    let mut symbols = None;
    if let Some(payload) = &label.payload {
        if geometry.face < floors.face_with_symbol {
            symbol_note = Some(format!(
                "no symbol: faces of {:.2} are below {} (a label {:.1} long would do)",
                geometry.face,
                floors.face_with_symbol,
                geometry.wrap + floors.face_with_symbol * 2
            ));
        } else {
            let asked = Symbol::qr(payload);
            if asked.is_none() {
                symbol_note = Some("the symbol says the code alone: its text is too long".to_owned());
            }
            symbols = Some(Symbols { asked, code: label.name.code.as_str(), lesser: OnceCell::new() });
        }
    }
    let found = search.first(symbols.as_ref()).ok_or_else(|| search.refusal())?;
    if let Some(asked) = symbols.and_then(|symbols| symbols.asked).filter(|asked| found.symbol.as_ref() != Some(asked))
    {
        symbol_note = Some(match &found.symbol {
            Some(taken) => format!("{} with the code alone: the face has no room for {}", taken.kind, asked.kind),
            None => format!("no symbol: the face of {:.1} x {:.1} has no room", geometry.face, geometry.height),
        });
    }

    let mut frame = Frame { size: stock.label, items: geometry.ticks() };
    for ((room, turn), items) in panels.into_iter().zip(&found.faces) {
        let size = turn.turned_size(room.size);
        frame.items.extend(items.iter().map(|item| item.placed(turn, size, room.origin)));
    }
    let fields: Vec<Field> = words.fields().collect();
    let facts = Facts {
        kind: TagKind::Flag,
        diameter,
        code: found.code,
        lines: (found.kept.lines > 0).then_some(found.line),
        symbol: found
            .symbol
            .as_ref()
            .zip(found.module_dots)
            .map(|(symbol, count)| SymbolFacts { kind: symbol.kind, module: dots(count, stock.dpi) }),
        symbol_note,
        dropped: [words.too_wide(), &fields[found.kept.lines.min(fields.len())..]].concat(),
        undrawable: words.undrawable().to_vec(),
        shortened: if found.kept.function > 0 { vec![Field::Function] } else { Vec::new() },
        needs: None,
    };
    Ok(Fitted { frame, facts })
}
