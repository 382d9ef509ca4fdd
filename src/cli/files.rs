//! Files are written whole or not at all: into a temporary file beside, which then takes the name. What is cut short by a
//! full disk, by Ctrl-C or by a power cut leaves the file that was there before.

use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::Path;

use tempfile::{Builder, TempPath};

use super::failure::Failure;

/// Writes bytes under a name.
///
/// # Errors
/// When the folder cannot be written to or the disk is full; what was there stays.
pub fn write_whole(path: &Path, bytes: impl AsRef<[u8]>) -> Result<(), Failure> {
    whole(path, |out| out.write_all(bytes.as_ref()))
}

/// Writes under a name what `write` gives.
///
/// # Errors
/// When the folder cannot be written to, the disk is full, or `write` fails; what was there stays.
pub fn whole(path: &Path, write: impl FnOnce(&mut BufWriter<File>) -> io::Result<()>) -> Result<(), Failure> {
    put(path, write).map_err(|e| Failure::write(path, e))
}

/// Writes bytes under a name that is free; `false`, and nothing is written, where it is taken.
///
/// # Errors
/// When the folder cannot be written to or the disk is full; the name stays free.
pub fn write_new(path: &Path, bytes: &[u8]) -> Result<bool, Failure> {
    let written = || {
        let (file, part) = part_of(path)?;
        end(BufWriter::new(file), |out| out.write_all(bytes))?.sync_all()?;
        part.persist_noclobber(path).map_err(|e| e.error)
    };
    match written() {
        Ok(()) => Ok(true),
        Err(e) if e.kind() == io::ErrorKind::AlreadyExists => Ok(false),
        Err(e) => Err(Failure::write(path, e)),
    }
}

fn put(path: &Path, write: impl FnOnce(&mut BufWriter<File>) -> io::Result<()>) -> io::Result<()> {
    // A link stays a link: what it leads to is replaced.
    let path = fs::canonicalize(path).unwrap_or_else(|_| path.to_path_buf());
    if fs::metadata(&path).is_ok_and(|there| !there.is_file()) {
        // A pipe or a device has nothing to be kept.
        return end(BufWriter::new(File::options().write(true).open(&path)?), write).map(drop);
    }
    let (file, part) = part_of(&path)?;
    end(BufWriter::new(file), write)?.sync_all()?;
    part.persist(&path).map_err(|e| e.error)
}

/// A temporary file beside a name, which goes when dropped.
fn part_of(path: &Path) -> io::Result<(File, TempPath)> {
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let mut builder = Builder::new();
    builder.prefix(".doughwright-");
    #[cfg(unix)]
    let builder = {
        use std::os::unix::fs::PermissionsExt;
        // As any other file: readable as far as the user's mask allows.
        builder.permissions(fs::Permissions::from_mode(0o666))
    };
    Ok(builder.tempfile_in(folder)?.into_parts())
}

fn end(
    mut out: BufWriter<File>,
    write: impl FnOnce(&mut BufWriter<File>) -> io::Result<()>,
) -> io::Result<File> {
    write(&mut out)?;
    out.into_inner().map_err(io::IntoInnerError::into_error)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_fails_half_way_leaves_what_was_there() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("report.html");
        write_whole(&path, "before").expect("it can be written");
        let failed = whole(&path, |out| {
            out.write_all(b"half")?;
            Err(io::ErrorKind::StorageFull.into())
        });
        assert!(failed.is_err());
        assert_eq!(fs::read(&path).expect("it is there"), b"before");
        assert_eq!(fs::read_dir(folder.path()).expect("a folder").count(), 1, "nothing is left beside");
        write_whole(&path, "after").expect("it can be written");
        assert_eq!(fs::read(&path).expect("it is there"), b"after");
        assert!(!write_new(&path, b"other").expect("it can be written"), "the name is taken");
        assert_eq!(fs::read(&path).expect("it is there"), b"after");
        assert!(write_new(&folder.path().join("new"), b"new").expect("it can be written"));
        assert_eq!(fs::read_dir(folder.path()).expect("a folder").count(), 2);
    }

    #[cfg(unix)]
    #[test]
    fn a_link_stays_a_link_and_others_may_read() {
        use std::os::unix::fs::{PermissionsExt, symlink};
        let folder = tempfile::tempdir().expect("a folder");
        let (there, link) = (folder.path().join("there"), folder.path().join("link"));
        write_whole(&there, "one").expect("it can be written");
        symlink(&there, &link).expect("a link");
        write_whole(&link, "two").expect("it can be written");
        assert!(fs::symlink_metadata(&link).expect("it is there").is_symlink());
        assert_eq!(fs::read(&there).expect("it is there"), b"two");
        let plain = folder.path().join("plain");
        fs::write(&plain, "").expect("it can be written");
        let mode = |p: &Path| fs::metadata(p).expect("it is there").permissions().mode();
        assert_eq!(mode(&there), mode(&plain));
    }
}
