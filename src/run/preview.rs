//! Tags seen before they are printed: each a PNG, as the run would print it on its stock.
//!
//! In: places or codes as typed. Out: where each picture lies and how its tag fits, or why there is none. Nothing is issued or
//! journalled; codes that are not issued yet are those that would be issued now.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use super::check::Fit;
use super::choice::{Choice, Side};
use super::failure::RunFailure;
use super::named::{Named, NotNamed};
use super::picture::{self, Drawn, Format};
use super::print::Refused;
use super::reading::Reading;
use super::recall::recall;
use super::register;
use crate::base::{Size, TagKind};
use crate::labels::{Label, Reach};

/// Folder for previews in a job folder when none is named.
const FOLDER: &str = "preview";

/// What came of a preview.
#[derive(Clone, Debug, Default)]
pub struct Previews {
    /// The tags that were drawn, in the order in which they were typed.
    pub shown: Vec<Preview>,
    /// Tags that cannot be made.
    pub refused: Vec<Refused>,
    /// What was typed and names nothing, with the reason.
    pub unknown: Vec<(String, NotNamed)>,
    /// Why ends have no tag of a purpose at all.
    pub none: Vec<String>,
}

/// One tag, drawn.
#[derive(Clone, Debug)]
pub struct Preview {
    /// How it fits.
    pub fit: Fit,
    /// Dots an inch of its printer, and of the picture.
    pub dpi: u16,
    /// The picture.
    pub path: PathBuf,
    /// What it shows.
    pub drawn: Drawn,
}

/// Draws the tags of what was typed, of the purposes and with the grouping of `choice`; its reach does not matter, since whoever
/// names an end means it.
///
/// # Errors
/// [`RunFailure`] when the register or the disk fails.
pub fn preview(
    reading: &Reading,
    choice: &Choice,
    typed: &[String],
    out: Option<&Path>,
) -> Result<Previews, RunFailure> {
    let register = register::open_to_read(reading.job.folder())?;
    let issued = register.preview(&reading.circuits)?;
    let recall = recall(reading)?;
    let folder = out.map_or_else(|| own_folder(reading.job.folder()), Path::to_owned);
    let mut previews = Previews::default();
    let mut drawn = BTreeSet::new();
    for typed in typed {
        let named = match Named::from_typed(typed, &reading.circuits, &recall) {
            Err(NotNamed::Unknown(_)) => Named::looked_ahead(typed, &reading.circuits, &issued),
            known => known,
        };
        let named = match named {
            Ok(named) => named,
            Err(why) => {
                previews.unknown.push((typed.clone(), why));
                continue;
            }
        };
        for &purpose in &choice.purposes {
            let only = vec![vec![named.only.clone()]];
            let wanted = Choice { reach: Reach::All, only, side: Side::This, ..choice.clone() };
            let subjects = wanted.select(&reading.circuits, &issued, purpose).subjects;
            if subjects.is_empty() {
                let why = named.no_final_tag().unwrap_or_else(|| format!("`{typed}` has no {purpose} tag"));
                previews.none.push(why);
            }
            for subject in &subjects {
                let label = reading.sources(&issued).label(purpose, subject);
                // Marks of one wire have one name.
                let distance = label.at.as_ref().map(|at| at.distance);
                if drawn.insert((label.name.to_string(), distance, purpose)) {
                    previews.show(reading, &label, &folder)?;
                }
            }
        }
    }
    Ok(previews)
}

/// A tag as it comes out, drawn as curves.
#[derive(Clone, Debug)]
pub struct DrawnTag {
    /// How it fits.
    pub fit: Fit,
    /// The piece of stock that is drawn.
    pub size: Size,
    /// An SVG of that size.
    pub svg: Vec<u8>,
}

/// Draws the first tag of a choice that can be made; `None` where it has none.
///
/// # Errors
/// [`RunFailure`] when the register cannot be read.
pub fn first_tag(reading: &Reading, choice: &Choice) -> Result<Option<DrawnTag>, RunFailure> {
    let register = register::open_to_read(reading.job.folder())?;
    let issued = register.preview(&reading.circuits)?;
    let equipment = &reading.equipment;
    for &purpose in &choice.purposes {
        for subject in choice.select(&reading.circuits, &issued, purpose).subjects {
            let label = reading.sources(&issued).label(purpose, &subject);
            let Some(made) = equipment.make(&label).ok().filter(|made| choice.wants(made.tag.facts.kind)) else {
                continue;
            };
            let (in_use, name) = (&equipment.stocks()[made.stock], label.name.to_string());
            let page = picture::page_of((&in_use.stock, made.labels), &made.tag.frame, &name)?;
            let svg = picture::page_bytes(&page, &name, Format::Svg, equipment.font_files())?;
            let fit = Fit::new(&label, in_use.stock.name().to_owned(), made.tag.facts, equipment);
            return Ok(Some(DrawnTag { fit, size: page.size, svg }));
        }
    }
    Ok(None)
}

pub(super) fn own_folder(job: &Path) -> PathBuf {
    if job == Path::new(".") { PathBuf::from(FOLDER) } else { job.join(FOLDER) }
}

impl Previews {
    fn show(&mut self, reading: &Reading, label: &Label, folder: &Path) -> Result<(), RunFailure> {
        let name = label.name.to_string();
        let equipment = &reading.equipment;
        let made = match equipment.make(label) {
            Ok(made) => made,
            Err(refusal) => {
                self.refused.push(Refused::new(label, refusal, equipment));
                return Ok(());
            }
        };
        fs::create_dir_all(folder).map_err(RunFailure::disk("make the folder", folder))?;
        let in_use = &equipment.stocks()[made.stock];
        let path = folder.join(file_name(label, made.tag.facts.kind));
        let drawn = picture::draw(
            (&in_use.stock, made.labels),
            &made.tag.frame,
            &name,
            in_use.dpi(),
            equipment.font_files(),
            &path,
        )?;
        let stock = in_use.stock.name().to_owned();
        let fit = Fit::new(label, stock, made.tag.facts, equipment);
        self.shown.push(Preview { fit, dpi: in_use.dpi(), path, drawn });
        Ok(())
    }
}

/// `7KF4-A-flag.png`, `7KF4-A-B-359mm-flag.png` of a mark along a wire.
fn file_name(label: &Label, kind: TagKind) -> String {
    let name = plain(&label.name.to_string());
    let at = label.at.as_ref().map(|at| format!("{:.0}mm-", at.distance.as_mm())).unwrap_or_default();
    format!("{name}-{at}{}.png", plain(&kind.to_string()))
}

/// What no file name can hold everywhere becomes `_`.
fn plain(name: &str) -> String {
    let plain = |c: char| if c.is_alphanumeric() || matches!(c, '+' | '-') { c } else { '_' };
    name.chars().map(|c| if c == ' ' { '-' } else { plain(c) }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn file_names_are_plain() {
        assert_eq!(plain("7KF4 A+B"), "7KF4-A+B");
        assert_eq!(plain("../J1"), "___J1");
    }
}
