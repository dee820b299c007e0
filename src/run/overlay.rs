//! A JOB FOLDER AND OTHER FILES -> THE JOB AS IT WOULD BE, before any of them is put there.
//!
//! In: files by name, and names that are gone. Out: whoever reads the folder with this overlay finds them so. The disk is not
//! touched.

use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::Path;
use std::sync::Arc;

use super::bounded;

/// Files laid over those of a job folder, job.toml among them.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Overlay {
    files: BTreeMap<String, Option<Arc<[u8]>>>,
}

impl Overlay {
    /// Lays a file there, over the one of that name if there is one.
    pub fn put(&mut self, name: impl Into<String>, bytes: impl Into<Arc<[u8]>>) {
        self.files.insert(name.into(), Some(bytes.into()));
    }

    /// Takes a file away.
    pub fn remove(&mut self, name: impl Into<String>) {
        self.files.insert(name.into(), None);
    }

    /// The file that is laid there under this name.
    pub fn get(&self, name: &str) -> Option<&Arc<[u8]>> {
        self.files.get(name)?.as_ref()
    }

    /// Whether nothing is laid over or taken away.
    pub fn is_empty(&self) -> bool {
        self.files.is_empty()
    }

    /// All names with what lies there; `None` where it is taken away.
    pub fn files(&self) -> impl Iterator<Item = (&str, Option<&Arc<[u8]>>)> {
        self.files.iter().map(|(name, bytes)| (name.as_str(), bytes.as_ref()))
    }

    /// Whether there is a file of this name.
    pub(super) fn has(&self, folder: &Path, name: &str) -> bool {
        self.files.get(name).map_or_else(|| folder.join(name).exists(), Option::is_some)
    }

    /// Reads a file as it lies in the folder with this laid over it.
    ///
    /// # Errors
    /// What the disk says; a file that is taken away is not found.
    pub(super) fn read(&self, folder: &Path, name: &str) -> io::Result<Vec<u8>> {
        match self.files.get(name) {
            Some(Some(bytes)) => Ok(bytes.to_vec()),
            Some(None) => Err(io::ErrorKind::NotFound.into()),
            None => bounded::read(&folder.join(name)),
        }
    }

    /// Makes the names of a folder's files those that there would be.
    pub(super) fn apply(&self, names: &mut Vec<String>, is_wanted: impl Fn(&str) -> bool) {
        for (name, bytes) in &self.files {
            names.retain(|known| known != name);
            if bytes.is_some() && is_wanted(name) {
                names.push(name.clone());
            }
        }
    }

    /// The same without what lies there just so already.
    #[must_use]
    pub(super) fn without_the_same(mut self, folder: &Path) -> Self {
        self.files.retain(|name, bytes| {
            let path = folder.join(name);
            let Some(bytes) = bytes else { return path.exists() };
            let is_as_long = fs::metadata(&path).is_ok_and(|found| found.len() == bytes.len() as u64);
            !is_as_long || bounded::read(&path).map_or(true, |known| known != **bytes)
        });
        self
    }
}
