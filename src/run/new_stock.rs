//! A stock of one's own, from a few measured numbers: its file is written out, checked, and put into the job folder.

use std::fmt::Write as _;
use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};

use super::failure::RunFailure;
use super::template::Template;
use super::whole_file;
use crate::base::{Problem, Source};
use crate::pages::Stock;

/// What was measured: keys of a stock file with their values, as they are written there.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Measured {
    /// Name of the stock.
    pub name: String,
    /// `sheet`, `roll` or `tube`.
    pub geometry: &'static str,
    /// Settings at the head of the file.
    pub top: Vec<(&'static str, String)>,
    /// Tables with their settings.
    pub tables: Vec<(&'static str, Vec<(&'static str, String)>)>,
}

/// What came of it.
#[derive(Clone, Debug)]
pub enum NewStock {
    /// The file that was written, and the stock.
    Written(PathBuf, Box<Stock>),
    /// The numbers make no stock: nothing was written.
    Problems(Vec<Problem>),
    /// There is a stock of this name already.
    Exists(PathBuf),
}

/// Writes the file of a stock into the job folder, if its numbers make one.
///
/// # Errors
/// [`RunFailure`] when it cannot be written.
pub fn new_stock(job: &Path, measured: &Measured) -> Result<NewStock, RunFailure> {
    let folder = job.join(Template::Stock.folder());
    let path = folder.join(format!("{}.toml", measured.name));
    if path.exists() {
        return Ok(NewStock::Exists(path));
    }
    let text = text(measured);
    let read = Stock::from_toml(&Source::new(format!("{}.toml", measured.name), text.clone()));
    let Some(stock) = read.value else { return Ok(NewStock::Problems(read.problems)) };
    fs::create_dir_all(&folder).map_err(RunFailure::disk("make the folder", &folder))?;
    let written = || RunFailure::disk("write", &path);
    let mut temporary = whole_file::temporary_in(&folder).map_err(written())?;
    temporary.write_all(text.as_bytes()).map_err(written())?;
    temporary.persist_noclobber(&path).map_err(|error| written()(error.error))?;
    Ok(NewStock::Written(path, Box::new(stock)))
}

fn text(measured: &Measured) -> String {
    let mut text = format!(
        "# Measured by hand; lengths in millimetres. `loomtag stock show {0} --draw {0}.png` draws it.\n\
         name = \"{0}\"\ngeometry = \"{1}\"\n",
        measured.name, measured.geometry
    );
    let settings = |text: &mut String, settings: &[(&str, String)]| {
        for (key, value) in settings {
            // A string takes everything.
            let _ = writeln!(text, "{key} = {value}");
        }
    };
    settings(&mut text, &measured.top);
    for (table, own) in &measured.tables {
        let _ = write!(text, "\n[{table}]\n");
        settings(&mut text, own);
    }
    text
}
