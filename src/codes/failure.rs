//! What can go wrong with the register itself: disk, database, or no codes left.

use std::path::PathBuf;

use thiserror::Error;

use crate::base::{CircuitId, EndLetter, Page, Remedy, TagCode};

/// Why the register could not be opened, read or written. Nothing was issued when one of these is returned.
#[derive(Debug, Error)]
pub enum RegisterFailure {
    /// The file cannot be opened or created.
    #[error("the register `{}` cannot be opened", path.display())]
    CannotOpen {
        /// The register's file.
        path: PathBuf,
        /// What the database says.
        source: rusqlite::Error,
    },
    /// The file or its folder cannot be written to.
    #[error("the register `{}` cannot be written to", path.display())]
    ReadOnly {
        /// The register's file.
        path: PathBuf,
        /// What the database says.
        source: rusqlite::Error,
    },
    /// The file is something else.
    #[error("`{}` is not a register of loomtag", path.display())]
    NotARegister {
        /// The file.
        path: PathBuf,
    },
    /// A newer program has written it.
    #[error("the register `{}` is of version {found}, this program knows versions up to {known}", path.display())]
    Newer {
        /// The register's file.
        path: PathBuf,
        /// Its version.
        found: i64,
        /// The newest version known here.
        known: i64,
    },
    /// The file is damaged.
    #[error("the register `{}` is damaged: {what}", path.display())]
    Damaged {
        /// The register's file.
        path: PathBuf,
        /// What is wrong with it.
        what: String,
    },
    /// Another program writes to it for longer than can be waited.
    #[error("the register `{}` is in use by another program", path.display())]
    Busy {
        /// The register's file.
        path: PathBuf,
        /// What the database says.
        source: rusqlite::Error,
    },
    /// No room on the disk.
    #[error("the disk that holds the register `{}` is full", path.display())]
    Full {
        /// The register's file.
        path: PathBuf,
        /// What the database says.
        source: rusqlite::Error,
    },
    /// The disk takes nothing more: a quota or a limit is reached, or it fails.
    #[error("the disk does not take what is written to the register `{}`", path.display())]
    Refused {
        /// The register's file.
        path: PathBuf,
        /// What the database says.
        source: rusqlite::Error,
    },
    /// Any other failure of disk or database.
    #[error("the register `{}` failed", path.display())]
    Database {
        /// The register's file.
        path: PathBuf,
        /// What the database says.
        source: rusqlite::Error,
    },
    /// All codes of four and five characters are used up.
    #[error("all codes are used up")]
    NoCodesLeft,
    /// A circuit with more ends than there are letters for.
    #[error("the circuit with code `{code}` has more than 65,536 ends")]
    TooManyEnds {
        /// The code that is printed for it.
        code: TagCode,
    },
    /// Two circuits were handed over under one designation.
    #[error("two circuits have the designation `{designation}`")]
    TwoCircuits {
        /// The designation.
        designation: CircuitId,
    },
    /// A sheet on which a run wanted to print, and another one has meanwhile.
    #[error("another run has used sheet {sheet} meanwhile: nothing was printed")]
    SheetTaken {
        /// The number in its margin.
        sheet: u32,
    },
    /// A run that shall have been printed after all, while another one has its labels.
    #[error("run {since} has been printed on labels of sheet {sheet} that were those of run {run}")]
    LabelsUsedSince {
        /// The run.
        run: u32,
        /// The number in the margin of the sheet.
        sheet: u32,
        /// The run that has its labels.
        since: u32,
    },
    /// A code that was never issued here.
    #[error("code `{code}` is not in the register")]
    UnknownCode {
        /// The code.
        code: TagCode,
    },
    /// A code that belongs to nothing yet, where one of a circuit is wanted.
    #[error("`{code}` is a blank that is not assigned yet")]
    Unassigned {
        /// The code.
        code: TagCode,
    },
    /// A code that was issued for a circuit, where a blank is wanted.
    #[error("`{code}` is no blank: it was issued for a circuit of the lists")]
    NotABlank {
        /// The code.
        code: TagCode,
    },
    /// A blank that was assigned to something else.
    #[error("`{code}` is assigned to something else already")]
    AssignedAlready {
        /// The code.
        code: TagCode,
    },
    /// A code whose circuit has no end of that letter.
    #[error("`{code}` has no end {letter}")]
    NoSuchEnd {
        /// The code.
        code: TagCode,
        /// The letter.
        letter: EndLetter,
    },
    /// A designation for a new circuit that a known one has or had.
    #[error("the register knows a circuit `{designation}` already")]
    NameTaken {
        /// The designation.
        designation: CircuitId,
    },
    /// A blank that cannot be taken from its circuit, because that has other tags with its code.
    #[error(
        "`{code}` stays where it is: run {run} printed tags of its circuit with it, and a code never names two circuits"
    )]
    OnOtherTags {
        /// The code.
        code: TagCode,
        /// The run.
        run: u32,
    },
    /// A blank that cannot be taken from its circuit, because it was joined with another code.
    #[error("`{code}` stays where it is: it was joined with another code, and joining is for ever")]
    JoinedForEver {
        /// The code.
        code: TagCode,
    },
    /// A blank that cannot be taken from its circuit, because ends of that were noted by its code and a letter.
    #[error("`{code}` stays where it is: something was noted by it of an end of its circuit")]
    EndsNoted {
        /// The code.
        code: TagCode,
    },
    /// A print run that was never begun here, or has ended already.
    #[error("print run {run} is not open in the register")]
    NoSuchRun {
        /// Its number.
        run: u32,
    },
    /// A note that was never made here.
    #[error("there is no note {number}")]
    NoSuchNote {
        /// Its number.
        number: u32,
    },
    /// A decision that was never made here.
    #[error("there is no decision {number}")]
    NoSuchDecision {
        /// Its number.
        number: u32,
    },
    /// A decision that is taken back already.
    #[error("decision {number} is taken back already, by {by}")]
    UndoneAlready {
        /// Its number.
        number: u32,
        /// The number of the row that takes it back.
        by: u32,
    },
    /// Something that takes a decision back, which cannot itself be taken back.
    #[error("{number} takes decision {of} back, and stays")]
    IsAnUndo {
        /// Its number.
        number: u32,
        /// The decision that it takes back.
        of: u32,
    },
    /// Nothing is decided that could be taken back.
    #[error("there is no decision left to take back")]
    NothingToUndo,
    /// A note in whose place another one stands already.
    #[error("note {number} is superseded already, by note {by}")]
    SupersededAlready {
        /// Its number.
        number: u32,
        /// The number of the one that stands in its place.
        by: u32,
    },
}

impl RegisterFailure {
    /// What the person can do about it, as one short sentence.
    pub fn remedy(&self) -> Remedy {
        let again = || Remedy::by("run the same command again", Page::Words("try it again"));
        let words = match self {
            Self::CannotOpen { .. } => "see that the job folder exists and that you may open files in it",
            Self::ReadOnly { .. } => {
                "see that you may write to the job folder, or copy the job to a folder of your own"
            }
            Self::NotARegister { .. } => {
                return Remedy::from("name the job folder that holds the right `register.db`; if this was one, ")
                    .and_by("`loomtag import`", Page::Terminal)
                    .words(" puts it aside and rebuilds it");
            }
            Self::Newer { .. } => "use the newer version of loomtag that wrote it; it has not been changed",
            Self::Damaged { .. } => {
                return Remedy::from("run ").and_by("`loomtag import`", Page::Terminal).words(
                    ": it puts the file aside and rebuilds the register from the last export and the print runs",
                );
            }
            Self::Busy { .. } => return Remedy::from("wait until the other program has finished, then ").and(&again()),
            Self::Full { .. } => {
                return Remedy::from("make room on the disk, then ").and(&again()).words("; nothing was issued");
            }
            Self::Refused { .. } => {
                let words = "see whether the disk is full, over its quota or failing, then ";
                return Remedy::from(words).and(&again()).words("; nothing was issued");
            }
            Self::Database { .. } => return Remedy::from("see that the disk is in order, then ").and(&again()),
            Self::NoCodesLeft => "begin a new job folder for the next harness",
            Self::TooManyEnds { .. } => "see whether the circuit column holds the same word in every row",
            Self::TwoCircuits { .. } => "give each circuit its own designation",
            Self::SheetTaken { .. } => return again().words("; codes stay as they are"),
            Self::LabelsUsedSince { .. } => {
                return Remedy::from("if both went through the printer, these labels are spoilt: tell so with ")
                    .and_by("`loomtag stock spoilt`", Page::Sheets)
                    .words(", and their tags can be printed again");
            }
            Self::UnknownCode { .. } => "check each character, or look the circuit up by its place",
            Self::Unassigned { code } => {
                return Remedy::from("tell what it proved to be with ")
                    .and_by("`loomtag assign`", Page::Record(code.to_string()));
            }
            Self::NotABlank { code } => {
                let join = Page::OnRecord(code.to_string(), "Another code is the same circuit");
                return Remedy::from("two codes that prove to be one circuit are joined with ")
                    .and_by("`loomtag join`", join);
            }
            Self::AssignedAlready { code, .. } => {
                let otherwise = Page::OnRecord(code.to_string(), "The blank was something else");
                return Remedy::from("if that was wrong, ").and_by("add --instead", otherwise);
            }
            Self::NoSuchEnd { code, .. } => {
                return Remedy::by("`loomtag find` with the code", Page::Record(code.to_string()))
                    .words(" shows its ends");
            }
            Self::NameTaken { .. } => {
                return Remedy::by("leave --new out", Page::Words("look it up and choose one of its ends"))
                    .words(" to assign to that circuit, or name the new one otherwise");
            }
            Self::OnOtherTags { .. } | Self::JoinedForEver { .. } | Self::EndsNoted { .. } => {
                "take the tag off that wire and hang another blank on it; this one names its circuit for ever"
            }
            Self::NoSuchRun { .. } => "begin a print run first",
            Self::NoSuchDecision { .. } | Self::NothingToUndo => {
                return Remedy::by("`loomtag decide --list`", Page::Decided).words(" shows what stands");
            }
            Self::UndoneAlready { .. } => {
                return Remedy::by("`loomtag decide --list`", Page::Decided)
                    .words(" shows what stands")
                    .and_by(", and `--all` what was taken back", Page::Words(""));
            }
            Self::IsAnUndo { .. } => "decide it again: name the end and what shall be done",
            Self::NoSuchNote { .. } => {
                let pages = Page::Words("the history of each record");
                return Remedy::by("`loomtag note --list`", pages).words(" shows all notes with their numbers");
            }
            Self::SupersededAlready { .. } => "supersede that one",
        };
        words.into()
    }

    /// Sorts an error of the database into what it means for the person.
    pub(super) fn from_database(path: &std::path::Path, source: rusqlite::Error) -> Self {
        use rusqlite::ErrorCode as Code;
        let path = path.to_owned();
        match source.sqlite_error_code() {
            Some(Code::DatabaseBusy | Code::DatabaseLocked | Code::FileLockingProtocolFailed) => {
                Self::Busy { path, source }
            }
            Some(Code::ReadOnly | Code::PermissionDenied) => Self::ReadOnly { path, source },
            Some(Code::CannotOpen) => Self::CannotOpen { path, source },
            Some(Code::DiskFull) => Self::Full { path, source },
            Some(Code::NotADatabase) => Self::NotARegister { path },
            // The program never breaks the rules of its own tables, so that rows or an index are not what they were.
            Some(Code::DatabaseCorrupt | Code::ConstraintViolation) => {
                Self::Damaged { path, what: not_as_written(&source) }
            }
            // The index of the log cannot grow.
            Some(Code::SystemIoFailure) if extended(&source) == rusqlite::ffi::SQLITE_IOERR_SHMSIZE => {
                Self::Full { path, source }
            }
            Some(Code::SystemIoFailure) if is_refusal(&source) => Self::Refused { path, source },
            None if is_strange_value(&source) => Self::Damaged { path, what: not_as_written(&source) },
            _ => Self::Database { path, source },
        }
    }
}

/// What a database says of a file that is not what this program wrote, in words for everybody.
fn not_as_written(source: &rusqlite::Error) -> String {
    format!("what it holds is not what was written into it ({source})")
}

/// Whether the disk has refused to take something, and not to give it.
fn is_refusal(error: &rusqlite::Error) -> bool {
    use rusqlite::ffi;
    let refusals = [
        ffi::SQLITE_IOERR_WRITE,
        ffi::SQLITE_IOERR_FSYNC,
        ffi::SQLITE_IOERR_DIR_FSYNC,
        ffi::SQLITE_IOERR_TRUNCATE,
        ffi::SQLITE_IOERR_SHMMAP,
    ];
    refusals.contains(&extended(error))
}

/// What the database says in detail.
fn extended(error: &rusqlite::Error) -> i32 {
    error.sqlite_error().map_or(0, |error| error.extended_code)
}

/// Whether a row holds a value of another sort than its column.
const fn is_strange_value(error: &rusqlite::Error) -> bool {
    use rusqlite::Error;
    matches!(
        error,
        Error::InvalidColumnType(..)
            | Error::IntegralValueOutOfRange(..)
            | Error::FromSqlConversionFailure(..)
            | Error::Utf8Error(..)
    )
}
