//! What can keep a run from being done: disk, register, PDF. Never the user's lists, which give problems instead.

use std::io;
use std::path::{Path, PathBuf};

use thiserror::Error;

use super::job::JobFailure;
use super::sheets::SheetRefusal;
use crate::base::{Page, Remedy};
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
    pub fn remedy(&self) -> Option<Remedy> {
        let import = || Remedy::by("`loomtag import`", Page::Terminal);
        Some(match self {
            Self::Misfit(Misfit::OutOfReach { stock, .. }) => {
                Remedy::by(format!("`loomtag stock trial {stock}`"), Page::Terminal)
                    .words(" shows what the printer reaches; nothing of this run was given a name")
            }
            Self::Job(_) | Self::Misfit(_) | Self::Unreadable { .. } | Self::Pdf { .. } => return self.of_the_disk(),
            Self::NoCodeYet(_) => Remedy::by("name the job folder with --job; ", Page::Words(""))
                .and_by("`loomtag tags`", Page::Print)
                .words(" and ")
                .and_by("`loomtag blanks`", Page::Blanks)
                .words(" issue codes"),
            Self::RegisterLost(_) => import().words(
                " puts it together again from the last export and the print runs; to begin anew, move `prints`, `exports` and \
                 damaged registers away",
            ),
            Self::RegisterBehind { .. } => import()
                .words(" has it learn what it has missed; a register from an old copy would issue codes twice"),
            Self::RegisterHolds(_) => {
                "import it into a job folder of its own; or move `register.db` away first, if the export shall take its place"
                    .into()
            }
            Self::NothingToImport(_) => {
                "name the folder of an export, or put back `prints` or an export from a copy".into()
            }
            Self::ExportTaken(_) => "name a folder that is not there yet; nothing is written over".into(),
            Self::Occupied(_) => Remedy::by("name another folder with --out", Page::Words("print again"))
                .words("; nothing is printed over"),
            Self::Sheet(refusal) => refusal.remedy(),
            Self::Register(failure) => failure.remedy(),
            Self::Disk { .. } | Self::Export { .. } => return self.of_the_disk(),
            Self::NotProved { .. } => Remedy::from("report this as a fault")
                .and_by("; `--no-proof` writes the pages all the same", Page::Words("")),
        })
    }

    /// What to do about a disk that refuses.
    fn of_the_disk(&self) -> Option<Remedy> {
        match self {
            Self::Disk { source, .. } | Self::Pdf { source: PdfFailure::Write(source), .. } => {
                Some(disk_remedy(source.kind(), " with --out"))
            }
            Self::Export { source, .. } => Some(disk_remedy(source.kind(), "")),
            _ => None,
        }
    }
}

/// `option` is what a terminal adds to name the folder that is written to; a page writes into the job folder.
fn disk_remedy(kind: io::ErrorKind, option: &str) -> Remedy {
    let folder = |named: &str, on_page: &'static str| Remedy::by(format!("{named}{option}"), Page::Words(on_page));
    match kind {
        io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
            folder("name a folder that you may write in", "see that the job folder may be written to")
        }
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => Remedy::from("make room on the disk")
            .and(&folder(", or name a folder elsewhere", ""))
            .words("; nothing was left behind"),
        io::ErrorKind::AlreadyExists | io::ErrorKind::NotADirectory => {
            Remedy::from("a file of that name is in the way: ").and(&folder("name a folder", "move it elsewhere"))
        }
        io::ErrorKind::NotFound => "check the path".into(),
        _ => "check the path and the disk".into(),
    }
}
