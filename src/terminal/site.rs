//! `site`: the records as plain pages in a folder.

use std::path::{Path, PathBuf};

use clap::Args as Arguments;
use jiff::Timestamp;
use serde_json::json;

use super::Ending;
use super::args::Answer;
use super::complaint::Complaint;
use super::output::Output;
use crate::run::whole_folder::NotBegun;
use crate::serve::{self, SiteFailure};

#[derive(Debug, Arguments)]
#[command(
    after_help = "The pages need no program: copy the folder to any web space, so that printed links work while this machine is off, or to \
    a memory stick, where index.html opens them. They are as of now; write them again when the register knows more.\n\n\
    Examples:\n  loomtag site records\n  loomtag site /media/stick/marsh-hen --job marsh-hen"
)]
pub struct Site {
    /// The folder: a new one, or one that `site` has written before, which is replaced whole
    #[arg(value_name = "DIR")]
    pub folder: PathBuf,
    #[command(flatten)]
    pub answer: Answer,
}

/// Writes them.
pub fn run(job: &Path, asked: &Site, output: &mut Output) -> Result<Ending, Complaint> {
    let site = match serve::site(job, &asked.folder, Timestamp::now) {
        Ok(site) => site,
        Err(SiteFailure::NotBegun(NotBegun::Failed(failure)) | SiteFailure::Failed(failure)) => {
            return Err(failure.into());
        }
        Err(SiteFailure::Settings(problems)) => {
            output.problems(&problems);
            return Ok(Ending::Problems);
        }
        Err(why @ SiteFailure::NotBegun(NotBegun::Taken(_))) => {
            let remedy = "name a new folder, or one that `site` has written".to_owned();
            return Err(Complaint::Typed { what: why.to_string(), remedy });
        }
        Err(why @ SiteFailure::Unmade(_)) => {
            let remedy = "run `loomtag serve` and open that page to see why; the folder is as it was".to_owned();
            return Err(Complaint::Typed { what: why.to_string(), remedy });
        }
        Err(SiteFailure::Io(error)) => return Err(Complaint::Output(error)),
    };
    if asked.answer.json {
        let told = json!({ "index": site.index, "files": site.files, "bytes": site.bytes, "codes": site.codes });
        output.json(&told)?;
        return Ok(Ending::Done);
    }
    output.line(site.index.display().to_string())?;
    let size = site.bytes.div_ceil(1000);
    output.line(format!("{} files, {size} kB: records of {} codes", site.files, site.codes))?;
    if site.codes == 0 {
        output.line("no code is issued yet: print tags or bench sheets first, and write the pages again")?;
    }
    Ok(Ending::Done)
}
