//! Files that get their names only when they are whole.

use std::io;
use std::path::Path;

use tempfile::NamedTempFile;

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
