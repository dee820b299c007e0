//! Files that get their names only when they are whole.

use std::io::{self, Write as _};
use std::path::Path;

use tempfile::NamedTempFile;

use super::failure::RunFailure;

/// A file in this folder without a name of its own yet; it is gone with the value unless it is given one.
pub(super) fn temporary_in(folder: &Path) -> io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    #[cfg(unix)]
    {
        use std::fs::Permissions;
        use std::os::unix::fs::PermissionsExt;
        // Readable by all whom the user's own mask lets read, as any new file; a temporary file alone is private.
        builder.permissions(Permissions::from_mode(0o666));
    }
    builder.prefix(".loomtag-").tempfile_in(folder)
}

/// Writes a file whole under its name; one of that name is replaced.
///
/// # Errors
/// [`RunFailure`] when the disk refuses.
pub(super) fn put(path: &Path, bytes: &[u8]) -> Result<(), RunFailure> {
    let written = || RunFailure::disk("write", path);
    let mut temporary = temporary_in(folder_of(path)).map_err(written())?;
    temporary.write_all(bytes).map_err(written())?;
    temporary.persist(path).map_err(|error| written()(error.error))?;
    Ok(())
}

/// The folder that a file lies in, also where its path is a name alone.
pub(super) fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}
