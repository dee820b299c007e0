//! What can keep a run from being done: disk, register, PDF. Never the user's lists, which give problems instead.

use std::io;
use std::path::{Path, PathBuf};

use thiserror::Error;

use super::job::JobFailure;
use super::sheets::SheetRefusal;
use crate::codes::RegisterFailure;
use crate::pages::Misfit;
use crate::pdf::PdfFailure;
use crate::proof::{Miss, ProofFailure};

/// Why a run could not be done.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum RunFailure {
    /// The job folder.
    #[error(transparent)]
    Job(#[from] JobFailure),
    /// The register.
    #[error(transparent)]
    Register(#[from] RegisterFailure),
    /// There is no register yet, where codes of it are wanted.
    #[error("no code was issued in `{}` yet", .0.display())]
    NoCodeYet(PathBuf),
    /// A file of the run could not be written or read.
    #[error("cannot {what} `{}`: {source}", path.display())]
    Disk {
        /// What was to be done with it.
        what: &'static str,
        /// The file or folder.
        path: PathBuf,
        /// Why not.
        source: io::Error,
    },
    /// The disk refused to take an export.
    #[error("cannot {what} `{}`: {source}", path.display())]
    Export {
        /// What was to be done with it.
        what: &'static str,
        /// The folder.
        path: PathBuf,
        /// Why not.
        source: io::Error,
    },
    /// There is no register, or an empty one, where codes were issued before.
    #[error("the register `{}` is gone or empty, but codes were issued in this job", .0.display())]
    RegisterLost(PathBuf),
    /// The register is older than print runs that are there.
    #[error("the register `{}` knows print runs up to {known}, but run {printed} was printed", path.display())]
    RegisterBehind {
        /// The register's file.
        path: PathBuf,
        /// The last run that it knows.
        known: u32,
        /// The last run in the job folder.
        printed: u32,
    },
    /// Something shall be imported over a register that holds something else.
    #[error("the register `{}` is in order and does not hold what the export holds: it stays as it is", .0.display())]
    RegisterHolds(PathBuf),
    /// There is no export and no run.json.
    #[error("there is no export and no run.json in `{}`", .0.display())]
    NothingToImport(PathBuf),
    /// The folder for an export is taken.
    #[error("`{}` is there already and not empty", .0.display())]
    ExportTaken(PathBuf),
    /// The run cannot go on the sheet of labels that was asked for.
    #[error(transparent)]
    Sheet(#[from] SheetRefusal),
    /// The folder for the PDFs holds those of another run.
    #[error("`{}` holds the PDFs of another print run", .0.display())]
    Occupied(PathBuf),
    /// A PDF could not be written.
    #[error("`{}`: {source}", path.display())]
    Pdf {
        /// The PDF.
        path: PathBuf,
        /// Why not.
        source: PdfFailure,
    },
    /// A tag does not fit the stock it was fitted for.
    #[error(transparent)]
    Misfit(#[from] Misfit),
    /// A PDF or photograph could not be looked at.
    #[error("`{}`: {source}", path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// Why not.
        source: ProofFailure,
    },
    /// Symbols did not read back: the PDF is withheld.
    #[error("`{}` is withheld: {} of its symbols did not read back: {}", path.display(), misses.len(), listed(misses))]
    NotProved {
        /// The PDF that would have been.
        path: PathBuf,
        /// What was missed.
        misses: Vec<Miss>,
    },
}

/// The first few misses in words.
fn listed(misses: &[Miss]) -> String {
    let shown: Vec<String> = misses.iter().take(5).map(ToString::to_string).collect();
    let more = misses.len() - shown.len();
    if more > 0 { format!("{}; and {more} more", shown.join("; ")) } else { shown.join("; ") }
}

impl RunFailure {
    /// Whether somebody else did the same first, or took it back: nothing is broken, and the job is to be looked at again.
    pub fn is_overtaken(&self) -> bool {
        use RegisterFailure::{NothingToUndo, SupersededAlready, UndoneAlready};
        matches!(self, Self::Register(SupersededAlready { .. } | UndoneAlready { .. } | NothingToUndo))
    }

    /// Why something could not be done with a file.
    pub(super) fn disk(what: &'static str, path: &Path) -> impl FnOnce(io::Error) -> Self {
        let path = path.to_owned();
        move |source| Self::Disk { what, path, source }
    }

    /// The same for the folder of an export, which is no option.
    pub(super) fn export(what: &'static str, path: &Path) -> impl FnOnce(io::Error) -> Self {
        let path = path.to_owned();
        move |source| Self::Export { what, path, source }
    }

    /// What to do about it.
    pub fn remedy(&self) -> Option<String> {
        match self {
            Self::Misfit(Misfit::OutOfReach { stock, .. }) => Some(format!(
                "`loomtag stock trial {stock}` shows what the printer reaches; nothing of this run was given a name"
            )),
            Self::Job(_) | Self::Misfit(_) | Self::Unreadable { .. } => None,
            Self::NoCodeYet(_) => {
                Some("name the job folder with --job; `loomtag tags` and `loomtag blanks` issue codes".to_owned())
            }
            Self::RegisterLost(_) => Some(
                "`loomtag import` puts it together again from the last export and the print runs; to begin anew, move `prints`, \
                 `exports` and damaged registers away"
                    .to_owned(),
            ),
            Self::RegisterBehind { .. } => Some(
                "`loomtag import` has it learn what it has missed; a register from an old copy would issue codes twice".to_owned(),
            ),
            Self::RegisterHolds(_) => Some(
                "import it into a job folder of its own; or move `register.db` away first, if the export shall take its place"
                    .to_owned(),
            ),
            Self::NothingToImport(_) => {
                Some("name the folder of an export, or put back `prints` or an export from a copy".to_owned())
            }
            Self::ExportTaken(_) => Some("name a folder that is not there yet; nothing is written over".to_owned()),
            Self::Occupied(_) => Some("name another folder with --out; nothing is printed over".to_owned()),
            Self::Sheet(refusal) => Some(refusal.remedy().to_owned()),
            Self::Register(failure) => Some(failure.remedy().to_owned()),
            Self::Disk { source, .. } => Some(disk_remedy(source.kind()).to_owned()),
            Self::Export { source, .. } => Some(disk_remedy(source.kind()).replace(" with --out", "")),
            Self::Pdf { source: PdfFailure::Write(source), .. } => Some(disk_remedy(source.kind()).to_owned()),
            Self::Pdf { .. } => None,
            Self::NotProved { .. } => {
                Some("report this as a fault; `--no-proof` writes the pages all the same".to_owned())
            }
        }
    }
}

fn disk_remedy(kind: io::ErrorKind) -> &'static str {
    match kind {
        io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
            "name a folder that you may write in with --out"
        }
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => {
            "make room on the disk, or name a folder elsewhere with --out; nothing was left behind"
        }
        io::ErrorKind::AlreadyExists | io::ErrorKind::NotADirectory => {
            "a file of that name is in the way: name a folder with --out"
        }
        io::ErrorKind::NotFound => "check the path",
        _ => "check the path and the disk",
    }
}
