//! Folders that get their names only when they are whole, and replace none but their own kind.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use tempfile::TempDir;

use super::failure::RunFailure;

/// By this file a folder is known to have been made here.
pub const MARK: &str = "made-by-loomtag.txt";

/// A folder without its name yet; it is gone with the value unless it is given one.
#[derive(Debug)]
pub struct WholeFolder {
    path: PathBuf,
    made: TempDir,
    files: usize,
    bytes: u64,
}

/// Why none is begun.
#[derive(Debug, thiserror::Error)]
pub enum NotBegun {
    /// There is something else.
    #[error("`{}` holds something else", .0.display())]
    Taken(PathBuf),
    /// The disk refuses.
    #[error(transparent)]
    Failed(#[from] RunFailure),
}

impl WholeFolder {
    /// Begins a folder that is to lie at this path: where nothing lies, an empty folder, or one that was made here.
    ///
    /// # Errors
    /// [`NotBegun::Taken`] where something else lies there, which is left alone.
    pub fn begin(path: &Path) -> Result<Self, NotBegun> {
        let path = std::path::absolute(path).map_err(RunFailure::disk("find", path))?;
        if !is_ours(&path) {
            return Err(NotBegun::Taken(path));
        }
        let beside = path.parent().unwrap_or(&path);
        fs::create_dir_all(beside).map_err(RunFailure::disk("make the folder", beside))?;
        let mut builder = tempfile::Builder::new();
        #[cfg(unix)]
        {
            use std::fs::Permissions;
            use std::os::unix::fs::PermissionsExt;
            // As any new folder, within the user's own mask: a web server must be able to read it.
            builder.permissions(Permissions::from_mode(0o777));
        }
        let made = builder.prefix(".loomtag-").tempdir_in(beside).map_err(RunFailure::disk("write in", beside))?;
        Ok(Self { path, made, files: 0, bytes: 0 })
    }

    /// Puts a file into it; `name` is its path below the folder, with `/`.
    ///
    /// # Errors
    /// [`RunFailure`] when the disk refuses.
    #[expect(clippy::disallowed_methods, reason = "`run` writes the folders it is asked for")]
    pub fn put(&mut self, name: &str, bytes: &[u8]) -> Result<(), RunFailure> {
        let path = self.made.path().join(name);
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder).map_err(RunFailure::disk("make the folder", folder))?;
        }
        fs::write(&path, bytes).map_err(RunFailure::disk("write", &path))?;
        self.files += 1;
        self.bytes += bytes.len() as u64;
        Ok(())
    }

    /// Gives it its name, in the place of an older one; how many files and bytes it holds.
    ///
    /// # Errors
    /// [`NotBegun`] when something else came to lie there, or the disk refuses; the older one is there then as it was.
    pub fn finish(self) -> Result<(usize, u64), NotBegun> {
        let path = &self.path;
        if !is_ours(path) {
            return Err(NotBegun::Taken(self.path));
        }
        let failed = || RunFailure::disk("write", path);
        // The older one steps aside, and is gone only when the new one has its name.
        let aside = self.made.path().with_extension("old");
        let has_older = match fs::rename(path, &aside) {
            Ok(()) => true,
            Err(error) if error.kind() == io::ErrorKind::NotFound => false,
            Err(error) => return Err(failed()(error).into()),
        };
        if let Err(error) = fs::rename(self.made.path(), path) {
            if has_older {
                fs::rename(&aside, path).map_err(failed())?;
            }
            return Err(failed()(error).into());
        }
        // It has another name by now: there is nothing to clear away.
        let _ = self.made.keep();
        if has_older {
            fs::remove_dir_all(&aside).map_err(RunFailure::disk("remove the older", &aside))?;
        }
        Ok((self.files, self.bytes))
    }
}

/// Whether nothing lies there that would be lost.
fn is_ours(path: &Path) -> bool {
    let Ok(found) = fs::symlink_metadata(path) else { return true };
    let is_empty = || fs::read_dir(path).is_ok_and(|mut entries| entries.next().is_none());
    found.is_dir() && (path.join(MARK).is_file() || is_empty())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_is_whole_and_replaces_its_own_kind_alone() {
        let place = tempfile::tempdir().expect("a folder");
        let path = place.path().join("records");
        let write = |names: &[&str]| -> Result<(usize, u64), NotBegun> {
            let mut folder = WholeFolder::begin(&path)?;
            for name in names {
                folder.put(name, b"x")?;
            }
            folder.finish()
        };
        assert_eq!(write(&[MARK, "a/b/c", "old"]).expect("writes"), (3, 3));
        assert!(path.join("a/b/c").is_file());
        assert_eq!(write(&[MARK, "new"]).expect("writes"), (2, 2));
        assert!(path.join("new").is_file() && !path.join("old").exists());
        let half = WholeFolder::begin(&path).expect("begins");
        drop(half);
        fs::remove_file(path.join(MARK)).expect("removes");
        assert!(matches!(write(&[MARK]), Err(NotBegun::Taken(_))));
        assert!(path.join("new").is_file());
        assert_eq!(fs::read_dir(place.path()).expect("reads").count(), 1);
    }
}
