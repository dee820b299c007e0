//! Flags: a label folded round the wire, its two faces back to back.
//!
//! `geometry` says what of the label is wrap and face.

mod geometry;
#[cfg(test)]
mod tests;

use super::fit::{Fitted, Fitting, Refusal};
use super::flat::{self, Flat};
use super::frame::Frame;
use super::panel::Room;
use super::search::largest_flat_module;
use crate::base::TagKind;

use geometry::{BEND, EDGE, HAIRLINE};
pub use geometry::{FlagStock, Geometry, Posture, wrap};

/// Whether a label surely fits a flag, which is quicker known than how.
pub fn surely_fits(fitting: &Fitting<'_>, stock: &FlagStock) -> bool {
    let geometry = Geometry::new(stock, fitting.diameter.length());
    geometry.face >= fitting.floors.face && flat::holds(fitting, room(&geometry), stock.dpi)
}

/// What each face takes. The ticks of the fold are print too: a quiet zone ends before their stroke begins.
fn room(geometry: &Geometry) -> Room {
    Room { size: geometry.panels()[0].0.size, border: EDGE.min(BEND) - HAIRLINE }
}

/// Fits a label to a flag.
///
/// # Errors
/// [`Refusal`] says by how much it fails and what would do: a larger label, or the other posture.
pub fn fit(fitting: &Fitting<'_>, stock: &FlagStock) -> Result<Fitted, Refusal> {
    fit_as_it_is(fitting, stock).map_err(|refusal| {
        let (posture, word) = match stock.posture {
            Posture::Standing => (Posture::Hanging, "a hanging flag (`posture = \"hanging\"`)"),
            Posture::Hanging => (Posture::Standing, "a standing flag (`posture = \"standing\"`)"),
        };
        if surely_fits(fitting, &FlagStock { posture, ..*stock }) { refusal.otherwise(word) } else { refusal }
    })
}

fn fit_as_it_is(fitting: &Fitting<'_>, stock: &FlagStock) -> Result<Fitted, Refusal> {
    let floors = fitting.floors;
    let diameter = fitting.diameter.length();
    let geometry = Geometry::new(stock, diameter);
    if geometry.face < floors.face {
        return Err(Refusal::FaceTooShort {
            diameter,
            face: geometry.face,
            length: geometry.length,
            least: floors.face,
            needed: geometry.wrap + floors.face * 2,
        }
        .resting_on(fitting.diameter));
    }
    let no_symbol = (geometry.face < floors.face_with_symbol).then(|| {
        format!(
            "no symbol: faces of {:.2} are below {} (a label {:.1} long would do)",
            geometry.face,
            floors.face_with_symbol,
            geometry.wrap + floors.face_with_symbol * 2
        )
    });
    let panels = geometry.panels();
    let (faces, facts) = flat::fill(
        fitting,
        Flat {
            kind: TagKind::Flag,
            room: room(&geometry),
            dpi: stock.dpi,
            sharings: flat::two_faces(fitting.wording.faces()),
            most_dots: &|_| Some(largest_flat_module(stock.dpi)),
            no_symbol,
        },
    )?;
    let mut frame = Frame { size: stock.label, items: geometry.ticks() };
    for ((room, turn), items) in panels.into_iter().zip(&faces) {
        let size = turn.turned_size(room.size);
        frame.items.extend(items.iter().map(|item| item.placed(turn, size, room.origin)));
    }
    Ok(Fitted { frame, facts })
}
