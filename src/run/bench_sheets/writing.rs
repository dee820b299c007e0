//! Sheets -> a PDF, each laid out and written before the next one is made. It gets its name when it is whole.

use std::fs::{self, File};
use std::io::BufWriter;
use std::path::{Path, PathBuf};
use std::slice;

use rayon::prelude::*;
use tempfile::NamedTempFile;

use super::wish::Shown;
use crate::pages::Page;
use crate::paperwork::{Letterhead, Sheet, letterhead};
use crate::pdf::{Document, Writer};
use crate::run::failure::RunFailure;
use crate::run::reading::Reading;
use crate::run::whole_file::{folder_of, temporary_in};

/// Parts that each thread makes before they are written: enough that none waits long for another.
const AT_A_TIME: usize = 4;

/// A PDF that is being written.
pub(super) struct Writing<'a> {
    pub(super) reading: &'a Reading,
    pub(super) letterhead: &'a Letterhead,
    path: PathBuf,
    /// What is said of every sheet behind its sort: that it shows what is.
    shows: Option<String>,
    temporary: NamedTempFile,
    writer: Writer<BufWriter<File>>,
    /// Title, sort and number of pages of each sheet.
    sheets: Vec<(String, String, usize)>,
}

impl<'a> Writing<'a> {
    /// Begins a file that shall have this path.
    ///
    /// # Errors
    /// [`RunFailure`] when the disk refuses.
    pub(super) fn begin(
        reading: &'a Reading,
        letterhead: &'a Letterhead,
        shown: Shown,
        path: &Path,
    ) -> Result<Self, RunFailure> {
        let folder = folder_of(path);
        fs::create_dir_all(folder).map_err(RunFailure::disk("make the folder", folder))?;
        let temporary = temporary_in(folder).map_err(RunFailure::disk("write", path))?;
        let file = temporary.as_file().try_clone().map_err(RunFailure::disk("write", path))?;
        let (what, shows) = match shown {
            Shown::Plan => ("bench sheets", None),
            Shown::AsBuilt => ("as built", Some(format!("as built {}", letterhead.date))),
        };
        let title = format!("{} · {what}", letterhead.job);
        let document = Document { title, fallbacks: reading.equipment.font_files().to_vec(), ..Document::default() };
        let failed = |source| RunFailure::Pdf { path: path.to_owned(), source };
        let writer = Writer::new(BufWriter::new(file), &document).map_err(failed)?;
        Ok(Self { reading, letterhead, path: path.to_owned(), shows, temporary, writer, sheets: Vec::new() })
    }

    /// Makes parts of the document, lays them out and writes their pages, in this order. A few are made at a time, each on a thread
    /// of its own, so that no more than these are in memory.
    ///
    /// # Errors
    /// [`RunFailure`] when the disk refuses.
    pub(super) fn add<P: Sync>(
        &mut self,
        parts: &[P],
        make: impl Fn(&P) -> Vec<Sheet> + Sync,
    ) -> Result<(), RunFailure> {
        let (letterhead, fonts) = (self.letterhead, self.reading.equipment.fonts());
        let shows = self.shows.as_deref();
        let laid_out = |mut sheet: Sheet| {
            if let Some(shows) = shows {
                sheet.sort = format!("{}, {shows}", sheet.sort);
            }
            let pages = letterhead::pages(slice::from_ref(&sheet), letterhead, fonts);
            (sheet.title, sheet.sort, pages)
        };
        for few in parts.chunks(AT_A_TIME * rayon::current_num_threads()) {
            let made: Vec<Vec<(String, String, Vec<Page>)>> =
                few.par_iter().map(|part| make(part).into_iter().map(laid_out).collect()).collect();
            for (title, sort, pages) in made.into_iter().flatten() {
                for page in &pages {
                    self.writer.page(page).map_err(|source| RunFailure::Pdf { path: self.path.clone(), source })?;
                }
                if !pages.is_empty() {
                    self.sheets.push((title, sort, pages.len()));
                }
            }
        }
        Ok(())
    }

    /// Gives the file its name; where nothing was written there is none.
    ///
    /// # Errors
    /// [`RunFailure`] when the disk refuses.
    pub(super) fn finish(self) -> Result<Vec<(String, String, usize)>, RunFailure> {
        let Self { path, writer, sheets, temporary, .. } = self;
        if sheets.is_empty() {
            return Ok(sheets);
        }
        writer.finish().map_err(|source| RunFailure::Pdf { path: path.clone(), source })?;
        temporary.persist(&path).map_err(|error| RunFailure::disk("write", &path)(error.error))?;
        Ok(sheets)
    }
}
