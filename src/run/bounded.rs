//! Files of the user read whole, but never without end: a list may be a device or a pipe, or a disk image named by mistake.

use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

use crate::circuits::LARGEST_FILE;
use crate::proof::MOST_BYTES;

/// Most that is read of a list, a photograph or a PDF: a byte more than is taken of either, so that those who look at it refuse what is
/// larger, and say so.
const MOST: u64 = if MOST_BYTES > LARGEST_FILE { MOST_BYTES } else { LARGEST_FILE } as u64 + 1;

/// Most that is read of a file of an export, or of a run.json.
const MOST_KEPT: u64 = 256 << 20;

/// Most that is read of a settings file.
const MOST_SETTINGS: u64 = 1 << 20;

/// Reads a list, a photograph or a PDF. Of a larger file one byte more than the limit comes, so that it is known.
///
/// # Errors
/// What the disk says.
pub(super) fn read(path: &Path) -> io::Result<Vec<u8>> {
    start_of(path, MOST)
}

/// Reads a settings file: job.toml, a stock file, a wording.
///
/// # Errors
/// What the disk says, and when the file is larger than 1 MiB.
pub(super) fn read_settings(path: &Path) -> io::Result<Vec<u8>> {
    let bytes = start_of(path, MOST_SETTINGS + 1)?;
    if bytes.len() as u64 > MOST_SETTINGS {
        return Err(io::Error::new(io::ErrorKind::FileTooLarge, "it is larger than 1 MiB, and no settings file is"));
    }
    Ok(bytes)
}

/// Reads a file of an export or a run.json.
///
/// # Errors
/// What the disk says, and when the file is larger than 256 MiB.
pub(super) fn read_kept(path: &Path) -> io::Result<Vec<u8>> {
    let bytes = start_of(path, MOST_KEPT + 1)?;
    if bytes.len() as u64 > MOST_KEPT {
        return Err(io::Error::new(io::ErrorKind::FileTooLarge, "it is larger than 256 MiB"));
    }
    Ok(bytes)
}

#[expect(clippy::disallowed_methods, reason = "`run` reads the files it is asked for")]
fn start_of(path: &Path, most: u64) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    File::open(path)?.take(most).read_to_end(&mut bytes)?;
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_without_end_is_not_read_to_its_end() {
        let endless = Path::new("/dev/zero");
        if endless.exists() {
            assert_eq!(read(endless).expect("reads").len() as u64, MOST);
            assert_eq!(read_settings(endless).expect_err("too large").kind(), io::ErrorKind::FileTooLarge);
        }
    }
}
