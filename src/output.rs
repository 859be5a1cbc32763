//! Writing files without leaving half of one or touching one of the user's.
//!
//! A set of files is written beside its destination first and moved into place last;
//! an existing file is refused unless replacing was asked for.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;
use thiserror::Error;

/// A file to write: path relative to the output folder, with `/` between its parts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OutputFile {
    /// Relative path.
    pub path: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// Why files were not written.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum OutputError {
    /// Files that exist would be overwritten.
    #[error("{} already holds {}; choose another folder with --out, or say --replace to write over it", folder.display(), list(existing))]
    Exists {
        /// The output folder.
        folder: PathBuf,
        /// Paths in it that exist, in the order they would have been written.
        existing: Vec<String>,
    },
    /// The place of the output folder is taken by a file.
    #[error("{} is a file, not a folder; choose another folder with --out", path.display())]
    NotAFolder {
        /// The path.
        path: PathBuf,
    },
    /// The system refused.
    #[error("cannot write {}: {source}", path.display())]
    Io {
        /// What was being written.
        path: PathBuf,
        /// Why it failed.
        source: io::Error,
    },
}

fn list(paths: &[String]) -> String {
    match paths {
        [one] => one.clone(),
        [first, rest @ ..] => format!("{first} and {} more", rest.len()),
        [] => "files".to_owned(),
    }
}

/// Refuses early when a report could not be written to `folder`.
///
/// # Errors
/// [`OutputError`] when `folder` is a file, cannot be created or written to, or holds
/// one of `paths` and `replace` is false.
pub fn check(folder: &Path, paths: &[impl AsRef<str>], replace: bool) -> Result<(), OutputError> {
    if folder.exists() && !folder.is_dir() {
        return Err(OutputError::NotAFolder {
            path: folder.to_owned(),
        });
    }
    if !replace {
        let existing: Vec<String> = paths
            .iter()
            .map(AsRef::as_ref)
            .filter(|path| folder.join(path).exists())
            .map(str::to_owned)
            .collect();
        if !existing.is_empty() {
            return Err(OutputError::Exists {
                folder: folder.to_owned(),
                existing,
            });
        }
    }
    // Writing a nameless file is the only test of writability that holds on every system.
    let nearest = nearest_existing(folder);
    tempfile::tempfile_in(&nearest)
        .map(drop)
        .map_err(|source| OutputError::Io {
            path: folder.to_owned(),
            source,
        })
}

/// Writes all files into `folder`, creating it; returns their paths in the order given.
///
/// All bytes are on disk under temporary names before the first file gets its own name.
///
/// # Errors
/// [`OutputError`], as [`check`], and when the disk is full; then none of the new
/// files keeps a temporary name, and no earlier file was touched unless moving
/// itself failed half-way.
pub fn write_all(
    folder: &Path,
    files: &[OutputFile],
    replace: bool,
) -> Result<Vec<PathBuf>, OutputError> {
    let paths: Vec<&str> = files.iter().map(|file| file.path.as_str()).collect();
    let mut staged = Staged::begin(folder, &paths, replace)?;
    for file in files {
        staged.add(&file.path, |to| to.write_all(&file.bytes))?;
    }
    staged.finish()
}

/// A set of files written under temporary names, until [`Staged::finish`] gives them their own.
///
/// Dropped before that, it leaves nothing behind.
#[derive(Debug)]
pub struct Staged<'a> {
    folder: &'a Path,
    replace: bool,
    files: Vec<(NamedTempFile, PathBuf)>,
}

impl<'a> Staged<'a> {
    /// Begins a set of files at `paths` in `folder`.
    ///
    /// # Errors
    /// As [`check`].
    pub fn begin(
        folder: &'a Path,
        paths: &[impl AsRef<str>],
        replace: bool,
    ) -> Result<Staged<'a>, OutputError> {
        check(folder, paths, replace)?;
        Ok(Staged {
            folder,
            replace,
            files: Vec::with_capacity(paths.len()),
        })
    }

    /// Writes one file by `write`, which need not have it whole in memory.
    ///
    /// # Errors
    /// [`OutputError::Io`] when its folder cannot be made or `write` fails.
    pub fn add(
        &mut self,
        path: &str,
        write: impl FnOnce(&mut File) -> io::Result<()>,
    ) -> Result<(), OutputError> {
        let target = self.folder.join(path);
        let parent = target.parent().unwrap_or(self.folder);
        fs::create_dir_all(parent).map_err(io_at(parent))?;
        let mut temporary = tempfile::Builder::new()
            .prefix(".steadyfog-")
            .tempfile_in(parent)
            .map_err(io_at(parent))?;
        write(temporary.as_file_mut()).map_err(io_at(&target))?;
        make_readable(&temporary).map_err(io_at(&target))?;
        self.files.push((temporary, target));
        Ok(())
    }

    /// Gives every file its own name; returns their paths in the order they were added.
    ///
    /// # Errors
    /// [`OutputError::Io`] when a file cannot be moved; those moved before it stay.
    pub fn finish(self) -> Result<Vec<PathBuf>, OutputError> {
        let mut written = Vec::with_capacity(self.files.len());
        for (temporary, target) in self.files {
            let moved = if self.replace {
                temporary.persist(&target).map(drop)
            } else {
                temporary.persist_noclobber(&target).map(drop)
            };
            moved.map_err(|failure| io_at(&target)(failure.error))?;
            written.push(target);
        }
        Ok(written)
    }
}

fn io_at(path: &Path) -> impl FnOnce(io::Error) -> OutputError {
    let path = path.to_owned();
    move |source| OutputError::Io { path, source }
}

/// Temporary files are private to their owner; a report is for everyone the folder is for.
#[cfg(unix)]
fn make_readable(file: &NamedTempFile) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    file.as_file()
        .set_permissions(fs::Permissions::from_mode(0o644))
}

#[cfg(not(unix))]
fn make_readable(_file: &NamedTempFile) -> io::Result<()> {
    Ok(())
}

fn nearest_existing(folder: &Path) -> PathBuf {
    folder
        .ancestors()
        .find(|path| path.is_dir())
        .map_or_else(|| PathBuf::from("."), Path::to_owned)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(path: &str, text: &str) -> OutputFile {
        OutputFile {
            path: path.to_owned(),
            bytes: text.as_bytes().to_vec(),
        }
    }

    #[test]
    fn writes_nested_files_and_leaves_no_temporary_ones() {
        let dir = tempfile::tempdir().unwrap();
        let out = dir.path().join("a/b");
        let files = [file("review.json", "{}"), file("charts/x.svg", "<svg/>")];
        let written = write_all(&out, &files, false).unwrap();
        assert_eq!(written.len(), 2);
        assert_eq!(
            fs::read_to_string(out.join("charts/x.svg")).unwrap(),
            "<svg/>"
        );
        let names: Vec<_> = fs::read_dir(&out)
            .unwrap()
            .map(|e| e.unwrap().file_name())
            .collect();
        assert_eq!(names.len(), 2, "{names:?}");
    }

    #[test]
    fn refuses_to_overwrite_and_replaces_when_asked() {
        let dir = tempfile::tempdir().unwrap();
        write_all(dir.path(), &[file("review.json", "old")], false).unwrap();
        let again = write_all(
            dir.path(),
            &[file("new.txt", ""), file("review.json", "new")],
            false,
        );
        assert!(
            again
                .unwrap_err()
                .to_string()
                .contains("already holds review.json")
        );
        assert!(!dir.path().join("new.txt").exists());
        assert_eq!(
            fs::read_to_string(dir.path().join("review.json")).unwrap(),
            "old"
        );
        write_all(dir.path(), &[file("review.json", "new")], true).unwrap();
        assert_eq!(
            fs::read_to_string(dir.path().join("review.json")).unwrap(),
            "new"
        );
    }

    #[test]
    fn a_file_that_fails_half_way_leaves_nothing() {
        let dir = tempfile::tempdir().unwrap();
        let mut staged = Staged::begin(dir.path(), &["one", "two"], false).unwrap();
        staged.add("one", |to| to.write_all(b"whole")).unwrap();
        let failed = staged.add("two", |to| {
            to.write_all(b"half")?;
            Err(io::Error::other("no more room"))
        });
        let told = failed.unwrap_err().to_string();
        assert!(told.ends_with("two: no more room"), "{told}");
        drop(staged);
        assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 0);
    }

    #[test]
    fn a_file_in_the_place_of_the_folder_is_told() {
        let dir = tempfile::tempdir().unwrap();
        let taken = dir.path().join("taken");
        fs::write(&taken, "").unwrap();
        let error = write_all(&taken, &[file("x", "")], true).unwrap_err();
        assert!(error.to_string().contains("is a file, not a folder"));
    }
}
