//! A LIST THAT WAS SENT -> THE JOB WITH IT: looked at first, then compared, and taken only when it is wanted so.
//!
//! - `names`: under which name it would lie in the job folder
//! - `edit`: what job.toml would say of it
//! - `understood`: how its columns and first rows are understood
//! - `of_job`: the same of the lists that the job has
//! - `keep`: the files written; whatever they take the place of is kept
//!
//! In: bytes with a name, and what was chosen. Out: an [`Overlay`], with which the job is read as it would be; the same overlay is
//! what is written, so that nothing is taken but what was seen.

use std::collections::BTreeMap;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::path::Path;
use std::sync::Arc;

use super::bounded;
use super::failure::RunFailure;
use super::job::{JOB_FILE, Job};
use super::named_lists::{CONNECTORS_FILES, file_names, lists_in};
use super::overlay::Overlay;
use crate::base::conductor::SizeUnit;
use crate::base::{ConnectorId, Stated};
use crate::circuits::{Form, List, ListSettings, connector_named_by, look, sheet_names};

mod before;
mod edit;
mod keep;
mod names;
mod of_job;
mod understood;

pub use before::{Before, before, put_back};
pub use keep::{KEPT_IN, Taken, take};
pub use of_job::{OfJob, of_job};
pub use understood::{OfPart, RowUnderstood, Understood, understood};

/// A file that was sent.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sent {
    /// Its name in the job folder.
    pub name: String,
    /// The name it was sent with, where that is another.
    pub sent_as: Option<String>,
    /// Its bytes, which are never changed.
    pub bytes: Arc<[u8]>,
}

/// What is chosen for a file that was sent.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wish {
    /// The file.
    pub sent: Sent,
    /// The list of the job that it takes the place of.
    pub instead: Option<String>,
    /// What it is read as: one part, or one for each sheet of a workbook; none for connectors.csv.
    pub parts: Vec<Part>,
}

/// A list in text form, or a sheet of a workbook.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Part {
    /// The sheet, in a workbook.
    pub sheet: Option<String>,
    /// Whether it is read.
    pub is_read: bool,
    /// What is said of reading it.
    pub said: Said,
}

/// What is said of reading a list, of all that job.toml may say, as far as a list that is new needs it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Said {
    /// The form; otherwise recognised from the columns.
    pub form: Option<Form>,
    /// The connector of rows that name none.
    pub connector: Option<ConnectorId>,
    /// Whether rows that name no connector are of the one above.
    pub connector_above: bool,
    /// The unit of bare sizes.
    pub size_unit: Option<SizeUnit>,
    /// Our column to the list's own header.
    pub columns: BTreeMap<String, String>,
    /// Headers that are not read.
    pub ignored: Vec<String>,
}

/// Why something cannot be taken so.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{what}")]
pub struct NotTaken {
    /// What is in the way.
    pub what: String,
    /// What to do.
    pub remedy: String,
}

impl Sent {
    /// A file that was sent under this name.
    pub fn new(folder: &Path, sent_as: &str, bytes: impl Into<Arc<[u8]>>) -> Self {
        let bytes = bytes.into();
        let name = names::safe(folder, sent_as, &bytes);
        Self { sent_as: (name != sent_as).then(|| sent_as.to_owned()), name, bytes }
    }

    /// A file that lies elsewhere on this machine.
    ///
    /// # Errors
    /// [`RunFailure`] when it cannot be read.
    pub fn from_disk(folder: &Path, path: &Path) -> Result<Self, RunFailure> {
        let bytes = bounded::read(path).map_err(RunFailure::disk("read", path))?;
        let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        Ok(Self::new(folder, &name, bytes))
    }

    /// A list that lies in the job folder, to be read otherwise. `None` where the job has none of this name.
    pub fn of_job(job: &Job, file: &str) -> Option<Self> {
        let is_named = job.list_names().any(|name| name.value == file);
        let is_there = || {
            lists_in(job.folder(), &Overlay::default())
                .map(file_names)
                .is_ok_and(|all| all.iter().any(|name| name == file))
        };
        if !is_named && !CONNECTORS_FILES.contains(&file) && !is_there() {
            return None;
        }
        let bytes = bounded::read(&job.folder().join(file)).ok()?;
        Some(Self { name: file.to_owned(), sent_as: None, bytes: bytes.into() })
    }

    /// Whether it describes the connectors.
    pub fn is_connectors(&self) -> bool {
        CONNECTORS_FILES.contains(&self.name.as_str())
    }

    fn list(&self, settings: ListSettings) -> List {
        List { name: self.name.clone(), bytes: self.bytes.to_vec(), settings }
    }
}

impl Said {
    fn of(settings: &ListSettings) -> Self {
        Self {
            form: settings.form,
            connector: settings.connector.clone(),
            connector_above: settings.connector_above,
            size_unit: settings.size_unit,
            columns: settings.columns.clone(),
            ignored: settings.ignored.clone(),
        }
    }

    /// Has a header name a column of ours, or none.
    pub fn name(&mut self, header: &str, column: Option<&str>) {
        self.columns.retain(|_, own| own != header);
        self.ignored.retain(|own| own != header);
        match column {
            Some(column) => {
                self.columns.insert(column.to_owned(), header.to_owned());
            }
            None => self.ignored.push(header.to_owned()),
        }
    }
}

impl Part {
    /// The settings that it is read with, beside what a table of job.toml says besides.
    fn settings(&self) -> ListSettings {
        let Said { form, connector, connector_above, size_unit, columns, ignored } = self.said.clone();
        let sheet = self.sheet.clone().map(Stated::default);
        ListSettings { sheet, form, connector, connector_above, columns, ignored, size_unit, ..ListSettings::default() }
    }
}

impl Wish {
    /// What is proposed for a file: as the list of the same name, or the one it takes the place of, is read; else as its columns and
    /// its name tell.
    pub fn first(job: &Job, sent: Sent, instead: Option<String>) -> Self {
        let is_named = |file: &str| job.list_names().any(|name| name.value == file);
        let instead = instead.filter(|file| is_named(file)).or_else(|| is_named(&sent.name).then(|| sent.name.clone()));
        let mut wish = Self { sent, instead, parts: Vec::new() };
        wish.propose(job);
        wish
    }

    /// Chooses the list that it takes the place of, and proposes anew.
    pub fn take_place_of(&mut self, job: &Job, instead: Option<String>) {
        let is_known = |file: &String| job.list_names().any(|name| name.value == *file);
        let instead = instead.filter(is_known).or_else(|| Some(self.sent.name.clone()).filter(is_known));
        if instead != self.instead {
            self.instead = instead;
            self.propose(job);
        }
    }

    fn propose(&mut self, job: &Job) {
        if self.sent.is_connectors() {
            return;
        }
        let known: Vec<&ListSettings> = match &self.instead {
            Some(file) => {
                job.named_lists().iter().filter(|list| list.file.value == *file).map(|list| &list.settings).collect()
            }
            None => Vec::new(),
        };
        let list = self.sent.list(ListSettings::default());
        let sheets = sheet_names(&list).unwrap_or_default();
        let (looked, _) = look(&list);
        let of_sheet = |sheet: Option<&str>| {
            let known_of = known.iter().find(|known| known.sheet.as_ref().map(|sheet| sheet.value.as_str()) == sheet);
            // One table may be of all sheets, and what was a workbook may be a list in text form now.
            let whole = || known.iter().find(|known| known.sheet.is_none() || known.sheet.is_some() != sheet.is_some());
            let known = known_of.or_else(whole);
            let looked = looked.iter().find(|looked| looked.sheet.as_deref() == sheet);
            let said = match (known, looked) {
                (Some(known), _) => Said::of(known),
                (None, Some(looked)) => {
                    let named = || sheet.and_then(connector_named_by).or_else(|| connector_named_by(&self.sent.name));
                    Said {
                        connector: if looked.lacks_connector { named() } else { None },
                        connector_above: looked.connector_above,
                        size_unit: looked.likely_unit(),
                        ..Said::default()
                    }
                }
                (None, None) => Said::default(),
            };
            let is_read = known_of.is_some() || looked.is_some() || sheet.is_none();
            Part { sheet: sheet.map(str::to_owned), is_read, said }
        };
        self.parts = match &sheets[..] {
            [] => vec![of_sheet(None)],
            sheets => sheets.iter().map(|(name, _)| of_sheet(Some(name))).collect(),
        };
    }

    /// The job's files as they would be.
    ///
    /// # Errors
    /// [`NotTaken`] where job.toml cannot say it without losing something.
    pub fn overlay(&self, job: &Job) -> Result<Overlay, NotTaken> {
        let mut overlay = Overlay::default();
        let name = &self.sent.name;
        overlay.put(name.clone(), Arc::clone(&self.sent.bytes));
        if self.sent.is_connectors() {
            // The one that is read is the first that is there.
            for other in CONNECTORS_FILES.into_iter().filter(|other| other != name) {
                overlay.remove(other);
            }
            return Ok(overlay.without_the_same(job.folder()));
        }
        if let Some(old) = self.instead.as_ref().filter(|old| *old != name) {
            overlay.remove(old.clone());
        }
        let tables =
            edit::Tables { old: self.instead.as_deref(), file: name, parts: &self.parts, others: &self.others(job) };
        if names_lists(job) || !self.says_nothing() {
            put_job(job, &tables, &mut overlay)?;
        }
        Ok(overlay.without_the_same(job.folder()))
    }

    /// The lists of a job that names none, which must be named with this one.
    fn others(&self, job: &Job) -> Vec<String> {
        if names_lists(job) {
            return Vec::new();
        }
        let names = job.list_names().map(|name| name.value.clone());
        names.filter(|name| *name != self.sent.name && self.instead.as_ref() != Some(name)).collect()
    }

    /// Whether it is read by itself as it is wished.
    fn says_nothing(&self) -> bool {
        let list = self.sent.list(ListSettings::default());
        let is_default = |part: &Part| !part.is_read || part.said == Said::default();
        let (looked, _) = look(&list);
        let of_itself = |part: &Part| {
            part.sheet.is_none() || part.is_read == looked.iter().any(|looked| looked.sheet == part.sheet)
        };
        self.parts.iter().all(|part| is_default(part) && of_itself(part))
    }
}

/// Whether job.toml itself names its lists.
fn names_lists(job: &Job) -> bool {
    job.list_names().any(|name| name.origin.is_some())
}

/// The job without a list.
///
/// # Errors
/// [`NotTaken`] where job.toml cannot be changed without losing something, or the job has no such list.
pub fn without(job: &Job, file: &str) -> Result<Overlay, NotTaken> {
    let mut overlay = Overlay::default();
    let is_list = job.list_names().any(|name| name.value == file);
    if !is_list && !CONNECTORS_FILES.contains(&file) {
        let what = format!("the job has no list `{file}`");
        return Err(NotTaken { what, remedy: "look at the lists again: it may be gone already".to_owned() });
    }
    overlay.remove(file);
    if is_list && names_lists(job) {
        put_job(job, &edit::Tables { old: Some(file), file, parts: &[], others: &[] }, &mut overlay)?;
    }
    Ok(overlay.without_the_same(job.folder()))
}

fn put_job(job: &Job, tables: &edit::Tables<'_>, overlay: &mut Overlay) -> Result<(), NotTaken> {
    let old = job.source().text();
    let new = edit::with_tables(old, tables).filter(|new| says(job, new, tables));
    let Some(new) = new else {
        let what = format!("`{JOB_FILE}` is written in a way that is not changed safely, and stays as it is");
        let remedy = match tables.parts {
            [] => format!("take the [[list]] of `{}` out of it by hand", tables.file),
            _ => format!("write into it by hand: {}", edit::as_lines(tables)),
        };
        return Err(NotTaken { what, remedy });
    };
    if new != old {
        overlay.put(JOB_FILE, new.into_bytes());
    }
    Ok(())
}

/// Whether a new text says of the file just what is wished.
fn says(job: &Job, new: &str, tables: &edit::Tables<'_>) -> bool {
    let Some(read) = Job::from_text(job.folder(), new).value else { return false };
    let of_file = read.named_lists().iter().filter(|list| list.file.value == tables.file);
    let mut found: Vec<(Option<String>, Said)> = of_file
        .map(|list| (list.settings.sheet.as_ref().map(|sheet| sheet.value.clone()), Said::of(&list.settings)))
        .collect();
    let wished = tables.parts.iter().filter(|part| part.is_read);
    wished.into_iter().all(|part| {
        let at = found.iter().position(|(sheet, said)| *sheet == part.sheet && *said == part.said);
        at.map(|at| found.remove(at)).is_some()
    }) && found.is_empty()
}

/// A number that is another one as soon as job.toml or any list of the job is: what was compared then need not be so any more.
pub fn state(job: &Job) -> u64 {
    let mut hash = DefaultHasher::new();
    let named = job.list_names().map(|name| name.value.clone());
    let there = lists_in(job.folder(), &Overlay::default()).map(file_names).unwrap_or_default();
    let mut names: Vec<String> = named.chain(there).collect();
    names.extend(CONNECTORS_FILES.map(str::to_owned));
    names.push(JOB_FILE.to_owned());
    names.sort();
    names.dedup();
    for name in names {
        (&name, bounded::read(&job.folder().join(&name)).ok()).hash(&mut hash);
    }
    hash.finish()
}

/// A number that is another one as soon as other files would be written.
pub fn mark(overlay: &Overlay) -> u64 {
    let mut hash = DefaultHasher::new();
    for (name, bytes) in overlay.files() {
        (name, bytes).hash(&mut hash);
    }
    hash.finish()
}
