//! The faces of connectors as pictures, one for each view, to look at on a screen or to put into other papers.

use std::fs;
use std::path::{Path, PathBuf};

use super::failure::RunFailure;
use super::picture::{Format, write_page};
use super::reading::Reading;
use crate::base::{ConnectorId, Length, Point, Size, Turn};
use crate::circuits::View;
use crate::layout::Frame;
use crate::pages::Page;
use crate::paperwork::face::{self, FilledFace};
use crate::paperwork::{Harness, Paper};

/// White round a picture.
const AROUND: Length = Length::nm(3_000_000);
/// Dots an inch of PNGs: small letters can be read on a screen.
pub const DPI: u16 = 200;

/// Writes a picture of each view of these connectors, of all where none is named, into a folder; larger connectors are several
/// pictures. Gives their files, in natural order of the connectors; those of an earlier run under the same names are replaced.
///
/// # Errors
/// [`RunFailure`] when the disk refuses.
pub(super) fn face_pictures(
    reading: &Reading,
    harness: &Harness<'_>,
    connectors: &[ConnectorId],
    paper: Paper,
    format: Format,
    folder: &Path,
) -> Result<Vec<PathBuf>, RunFailure> {
    fs::create_dir_all(folder).map_err(RunFailure::disk("make the folder", folder))?;
    let fonts = reading.equipment.fonts();
    let mut written = Vec::new();
    let is_meant = |face: &&FilledFace| connectors.is_empty() || connectors.contains(&face.id);
    for face in face::faces(harness).values().filter(is_meant) {
        for view in View::ALL {
            let frames = face::drawings(face, &[view], paper.room(), fonts);
            let count = frames.len();
            for (nth, frame) in frames.into_iter().enumerate() {
                let part = if count > 1 { format!("-{}", nth + 1) } else { String::new() };
                let view = view.to_string().replace(' ', "-");
                let name = format!("{}-{view}{part}.{}", file_name(&face.id), format.ending());
                let mut path = folder.join(name);
                // Two designations may come to one file name.
                while written.contains(&path) {
                    path = path.with_extension(format!("more.{}", format.ending()));
                }
                let title = format!("{} {}", face.id, view.replace('-', " "));
                write_page(&page(&frame), &title, format, reading.equipment.font_files(), &path)?;
                written.push(path);
            }
        }
    }
    Ok(written)
}

/// A page as large as a drawing and the white round it.
fn page(frame: &Frame) -> Page {
    let size = Size::new(frame.size.width + AROUND * 2, frame.size.height + AROUND * 2);
    let corner = Point::new(AROUND, AROUND);
    let marks = frame.items.iter().map(|item| item.placed(Turn::Upright, frame.size, corner)).collect();
    Page { size, marks, ..Page::default() }
}

/// A designation as a part of a file name: what no file name may hold is a `_`.
pub(super) fn file_name(id: &ConnectorId) -> String {
    id.as_str().chars().map(|c| if c.is_alphanumeric() || "+-._".contains(c) { c } else { '_' }).collect()
}
