//! A job held in memory for many questions, and read anew when anything of it has changed on the disk.
//!
//! In: a job folder. Out: the [`Snapshot`] that holds now. Lists, settings and templates are known to be the same by the times,
//! sizes and identities of their files, the register by the count that the database keeps of what others have written.

use std::collections::HashSet;
use std::fs::{self, Metadata};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};
use std::time::SystemTime;

use super::bench_sheets::{add_proposals, on_bench, proposed};
use super::check::{Checkup, check};
use super::choice::{Again, Choice};
use super::connectors::{ConnectorSummary, summaries};
use super::deciding::Deciding;
use super::failure::RunFailure;
use super::job::{JOB_FILE, Job, JobFailure};
use super::likely_renames::likely;
use super::named_lists::LIST_ENDS;
use super::noting::Bench;
use super::planning::Planning;
use super::preview_pages::KeptPages;
use super::reading::{Reading, read_beside};
use super::recall::{Before, Coded, Journal, Recall, Recalled};
use super::register::{self, register_path};
use super::sheets::Laying;
use super::spoken_of::ReadFrom;
use super::template::Template;
use super::worked::{self, Worked};
use crate::base::{Checked, Problem, TagCode};
use crate::circuits::{Action, Circuit};
use crate::codes::{Decisions, Issued, Record, Register};
use crate::paperwork::{Harness, OnBench};

/// A job held in memory. Any number of threads may ask it.
pub struct Held {
    folder: PathBuf,
    kept: Mutex<Option<Kept>>,
}

/// A job as it was at one moment. What is told of it fits together; whoever asks again may get a newer one.
pub struct Snapshot {
    /// Settings, equipment, circuits and the problems of the lists.
    pub reading: Arc<Reading>,
    /// The code of each circuit and the letters of its ends. What the register does not hold is looked ahead at.
    pub issued: Arc<Issued>,
    /// What the register holds of circuits.
    pub records: Arc<Vec<Record>>,
    /// Every code ever issued.
    pub codes: Arc<HashSet<TagCode>>,
    /// Everything that was decided beside the lists, and taken back.
    pub decisions: Decisions,
    /// What can be recalled, with the notes of the bench and the stale tags.
    pub recall: Recall,
    /// How far the work is, by the notes.
    pub worked: Worked,
    /// What the register has against the lists: likely renamings first, designations that were changed, findings.
    pub of_register: Vec<Problem>,
    /// The three above, with what goes with them.
    coded: Coded,
    journal: Arc<Journal>,
    checkup: OnceLock<Checkup>,
    on_bench: OnceLock<Vec<Vec<OnBench>>>,
    wants_wires: OnceLock<bool>,
    connectors: OnceLock<Vec<ConnectorSummary>>,
    due: OnceLock<Checkup>,
    checking: Mutex<()>,
    planning: OnceLock<Planning>,
    read_from: OnceLock<ReadFrom>,
    pages: KeptPages,
}

/// Why there is no snapshot.
#[derive(Debug, thiserror::Error)]
pub enum NotHeld {
    /// Disk or register.
    #[error(transparent)]
    Failed(#[from] RunFailure),
    /// The settings cannot be used.
    #[error("job.toml cannot be used")]
    Settings(Vec<Problem>),
}

impl From<JobFailure> for NotHeld {
    fn from(failure: JobFailure) -> Self {
        Self::Failed(failure.into())
    }
}

struct Kept {
    files: Vec<FileMark>,
    register_file: FileMark,
    register: Register,
    version: i64,
    snapshot: Arc<Snapshot>,
}

/// By what a file is known to be the same.
#[derive(Clone, Debug, PartialEq, Eq)]
struct FileMark {
    path: PathBuf,
    /// When it was written, its size and who it is; `None` while it is not there.
    state: Option<(Option<SystemTime>, u64, u64)>,
}

impl Held {
    /// Holds the job of a folder. Nothing is read yet.
    pub fn new(folder: impl Into<PathBuf>) -> Self {
        Self { folder: folder.into(), kept: Mutex::new(None) }
    }

    /// The job folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// The job as it is now. Whoever asks while it is read anew waits, and so sees what was written before.
    ///
    /// # Errors
    /// [`NotHeld`] when folder or register cannot be read, or the settings cannot be used. The next question tries again.
    pub fn snapshot(&self) -> Result<Arc<Snapshot>, NotHeld> {
        let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        let before = kept.take();
        // The marks are taken first: what changes while it is read is read again the next time.
        let register_file = FileMark::of(&register_path(&self.folder));
        let known = before.as_ref().map(|before| Arc::clone(&before.snapshot));
        let (register, reading) = match before {
            Some(before) => {
                let files = self.marks(&before.snapshot.reading.job);
                let is_read = files == before.files;
                let is_open = register_file.is_same_file(&before.register_file);
                if is_read && is_open && version_of(&before.register)? == before.version {
                    return Ok(Arc::clone(&kept.insert(before).snapshot));
                }
                let reading = is_read.then(|| (files, Arc::clone(&before.snapshot.reading)));
                (is_open.then_some(before.register), reading)
            }
            None => (None, None),
        };
        let register = match register {
            Some(register) => register,
            None => register::open_to_read(&self.folder)?,
        };
        let version = version_of(&register)?;
        // What was decided beside the lists is part of what was read.
        let reading = match reading {
            Some((files, known)) if decides_the_same(&register, &known)? => (files, known),
            _ => self.read(&register)?,
        };
        let (files, reading) = reading;
        let snapshot = Arc::new(register.at_one_moment(|| Snapshot::of(reading, &register, known.as_deref()))?);
        Ok(Arc::clone(&kept.insert(Kept { files, register_file, register, version, snapshot }).snapshot))
    }

    fn read(&self, register: &Register) -> Result<(Vec<FileMark>, Arc<Reading>), NotHeld> {
        let Checked { value: job, problems } = Job::read(&self.folder)?;
        let files = self.marks(&job.ok_or(NotHeld::Settings(problems))?);
        let Checked { value: reading, problems } = read_beside(&self.folder, register)?;
        Ok((files, Arc::new(reading.ok_or(NotHeld::Settings(problems))?)))
    }

    /// The marks of all files that count: job.toml and what it names, other lists, connectors, own stock and templates.
    fn marks(&self, job: &Job) -> Vec<FileMark> {
        let mut files = vec![self.folder.join(JOB_FILE)];
        files.extend(job.list_names().map(|name| self.folder.join(&name.value)));
        files.extend(in_folder(&self.folder).filter(|path| is_table(path)));
        for template in [Template::Stock, Template::Wording] {
            files.extend(in_folder(&self.folder.join(template.folder())));
        }
        files.sort();
        files.dedup();
        files.iter().map(|path| FileMark::of(path)).collect()
    }
}

/// Whether what is decided beside the lists comes to the same ends as when they were read. Places, names and codes by which an end
/// is found are never decided, so that the circuits as they are will do to find it.
fn decides_the_same(register: &Register, known: &Reading) -> Result<bool, NotHeld> {
    Ok(register.decided(&known.circuits).map_err(RunFailure::from)? == known.decided)
}

fn version_of(register: &Register) -> Result<i64, NotHeld> {
    Ok(register.version_seen().map_err(RunFailure::from)?)
}

fn is_table(path: &Path) -> bool {
    let ending = path.extension().and_then(|ending| ending.to_str()).unwrap_or_default();
    LIST_ENDS.iter().any(|table| table.eq_ignore_ascii_case(ending))
}

fn in_folder(folder: &Path) -> impl Iterator<Item = PathBuf> {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    entries.filter(|entry| entry.file_type().is_ok_and(|sort| !sort.is_dir())).map(|entry| entry.path())
}

impl FileMark {
    fn of(path: &Path) -> Self {
        let state = fs::metadata(path).ok().map(|found| (found.modified().ok(), found.len(), identity(&found)));
        Self { path: path.to_owned(), state }
    }

    /// Whether it is the same file, changed or not; a register is a database and is written in place.
    fn is_same_file(&self, other: &Self) -> bool {
        let who = |mark: &Self| mark.state.map(|(_, _, identity)| identity);
        who(self) == who(other)
    }
}

#[cfg(unix)]
fn identity(found: &Metadata) -> u64 {
    std::os::unix::fs::MetadataExt::ino(found)
}

#[cfg(not(unix))]
fn identity(found: &Metadata) -> u64 {
    let since = found.created().ok().and_then(|made| made.duration_since(SystemTime::UNIX_EPOCH).ok());
    since.map_or(0, |since| since.as_secs() ^ u64::from(since.subsec_nanos()))
}

impl Snapshot {
    fn of(reading: Arc<Reading>, register: &Register, known: Option<&Self>) -> Result<Self, RunFailure> {
        // What was known of other lists is of no use.
        let before = known.filter(|known| Arc::ptr_eq(&known.reading, &reading));
        let before = before.map(|Self { coded, recall, journal, .. }| Before { coded: coded.clone(), recall, journal });
        let Recalled { recall, coded, journal } = Recalled::read(&reading, register, before)?;
        let (issued, records, codes) =
            (Arc::clone(&coded.issued), Arc::clone(&coded.records), Arc::clone(&coded.codes));
        let (renames, moves) = &*coded.likely;
        let mut of_register = likely(&reading, renames, moves);
        let worked = worked::worked(&reading.circuits, &issued, &records, recall.notes());
        of_register.extend(worked::old_designations(&reading.circuits, &issued, &register.renamings()?));
        of_register.extend(worked.not_capped.iter().chain(&worked.otherwise).cloned());
        let decisions = register.decisions()?;
        Ok(Self {
            reading,
            issued,
            records,
            codes,
            decisions,
            recall,
            worked,
            of_register,
            coded,
            journal,
            checkup: OnceLock::new(),
            on_bench: OnceLock::new(),
            wants_wires: OnceLock::new(),
            connectors: OnceLock::new(),
            due: OnceLock::new(),
            checking: Mutex::default(),
            planning: OnceLock::new(),
            read_from: OnceLock::new(),
            pages: KeptPages::default(),
        })
    }

    /// What is needed to note something.
    pub fn bench(&self) -> Bench<'_> {
        Bench { recall: &self.recall, notes: self.recall.notes(), codes: &self.codes }
    }

    /// What the register holds of the circuit of a code.
    pub fn record_of(&self, code: TagCode) -> Option<&Record> {
        self.coded.numbers.get(&code).map(|&number| &self.records[number])
    }

    /// What bench sheets are made from: the circuits with what the bench knows of every end, and what removed wires are proposed for.
    /// Free blanks are not in it. Whoever asks for one connector alone is sooner served by [`Snapshot::near`].
    pub fn harness(&self) -> Harness<'_> {
        let (circuits, payload) = (&self.reading.circuits, self.reading.equipment.payload());
        Harness { circuits, issued: &self.issued, payload, on_bench: self.on_bench().into(), blanks: Vec::new() }
    }

    fn on_bench(&self) -> &[Vec<OnBench>] {
        self.on_bench.get_or_init(|| {
            let reading = &self.reading;
            let known =
                on_bench(&reading.sources(&self.issued), &reading.equipment, self.records.iter(), self.recall.notes());
            let mut harness = Harness {
                circuits: &reading.circuits,
                issued: &self.issued,
                payload: reading.equipment.payload(),
                on_bench: known.into(),
                blanks: Vec::new(),
            };
            if let Some(reuse) = self.wants_wires().then(|| proposed(reading, &harness)).flatten() {
                add_proposals(&mut harness, &reuse);
            }
            harness.on_bench.into_owned()
        })
    }

    /// What the wire of an end is proposed for, where it shall be removed.
    pub(super) fn proposals_at(&self, (circuit, end): (usize, usize)) -> &[String] {
        if self.wants_wires() { &self.on_bench()[circuit][end].proposals } else { &[] }
    }

    /// Whether any wire is wanted for which another could be proposed.
    fn wants_wires(&self) -> bool {
        let mut ends = self.reading.circuits.all().iter().flat_map(Circuit::ends);
        *self.wants_wires.get_or_init(|| ends.any(|end| matches!(end.action, Action::Add | Action::Extend)))
    }

    /// Every connector that a list names, that a wire moves to or that is described, in natural order; made when they are asked for
    /// first.
    pub fn connectors(&self) -> &[ConnectorSummary] {
        self.connectors.get_or_init(|| summaries(self))
    }

    /// Every end of the lists as it is planned; made when it is asked for first.
    pub fn planning(&self) -> &Planning {
        self.planning.get_or_init(|| Planning::of(self))
    }

    /// What was read from each row; gathered when it is asked for first.
    pub(super) fn read_from(&self) -> &ReadFrom {
        self.read_from.get_or_init(|| ReadFrom::of(self))
    }

    /// What is needed to decide something beside the lists.
    pub fn deciding(&self) -> Deciding<'_> {
        Deciding { reading: &self.reading, issued: &self.issued, recall: &self.recall, codes: &self.codes }
    }

    /// All problems: of settings and lists, then what the register has against them.
    pub fn problems(&self) -> impl Iterator<Item = &Problem> {
        self.reading.problems.iter().chain(&self.of_register)
    }

    /// How every tag fits, what is stale and what to buy; worked out when it is asked for first, for it takes a while.
    ///
    /// # Errors
    /// When the register cannot be read. The next question tries again.
    pub fn checkup(&self) -> Result<&Checkup, RunFailure> {
        self.checked(&self.checkup, &Choice::default())
    }

    /// A page of the run that this choice would print, counted from 1 over all its PDFs, as a PNG of so many dots an inch; `None`
    /// where there are not so many.
    ///
    /// # Errors
    /// When the register cannot be read, or a wish for sheets cannot be met.
    pub fn page(
        &self,
        choice: &Choice,
        laying: &Laying,
        number: usize,
        dpi: u16,
    ) -> Result<Option<Vec<u8>>, RunFailure> {
        self.pages.picture(&self.reading, choice, laying, number, dpi)
    }

    /// Whether all of that is known already.
    pub fn is_fitted(&self) -> bool {
        self.checkup.get().is_some() && self.due.get().is_some()
    }

    /// The same for a run of new and changed tags alone: which they are, and what it takes. Likewise worked out when it is asked for.
    ///
    /// # Errors
    /// As [`Snapshot::checkup`].
    pub fn due(&self) -> Result<&Checkup, RunFailure> {
        let changed = Choice { again: Again::Changed, ..Choice::default() };
        self.checked(&self.due, &changed)
    }

    /// One works it out, and whoever asks meanwhile waits.
    fn checked<'s>(&self, kept: &'s OnceLock<Checkup>, choice: &Choice) -> Result<&'s Checkup, RunFailure> {
        if let Some(known) = kept.get() {
            return Ok(known);
        }
        let _checking = self.checking.lock().unwrap_or_else(PoisonError::into_inner);
        match kept.get() {
            Some(known) => Ok(known),
            None => {
                let checkup = check(&self.reading, choice, &Laying::default())?;
                Ok(kept.get_or_init(|| checkup))
            }
        }
    }
}
