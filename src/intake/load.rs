//! Files of the lab folder: which are logs, their bytes and their SHA-256.
//!
//! A file is hashed as it is read. What the bytes mean is the readers' concern.

use sha2::{Digest, Sha256};
use std::fmt::Write as _;
use std::fs;
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::sync::Mutex;

/// Longest line of a text log, in bytes: a longer one is not a log line, and holding
/// several copies of it could exhaust memory.
pub(crate) const LONGEST_LINE: usize = 1 << 20;

/// How a log is stored.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Format {
    /// Delimited text.
    Text,
    /// Workbook in a ZIP container with the Office Open XML parts.
    Xlsx,
    /// Binary workbook.
    Xls,
    /// OpenDocument spreadsheet.
    Ods,
    /// Parquet.
    Parquet,
}

impl Format {
    /// The format that a file name's extension says, if it is one of a log.
    pub(crate) fn of(path: &Path) -> Option<Format> {
        let extension = path.extension()?.to_str()?.to_ascii_lowercase();
        match extension.as_str() {
            "csv" | "tsv" | "txt" => Some(Format::Text),
            "xlsx" | "xlsm" => Some(Format::Xlsx),
            "xls" => Some(Format::Xls),
            "ods" => Some(Format::Ods),
            "parquet" => Some(Format::Parquet),
            _ => None,
        }
    }
}

/// A file to read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Found {
    /// Path on disk.
    pub(crate) full: PathBuf,
    /// Path relative to the lab folder, with `/` between its parts.
    pub(crate) path: String,
    /// How it is stored.
    pub(crate) format: Format,
    /// Size in bytes, as the system tells it.
    pub(crate) size: u64,
}

/// What a folder holds.
#[derive(Debug, Default)]
pub(crate) struct Listing {
    /// Logs in order of their path.
    pub(crate) logs: Vec<Found>,
    /// Files passed over, with the reason.
    pub(crate) passed_over: Vec<(String, &'static str)>,
    /// Why the folder could not be listed.
    pub(crate) error: Option<String>,
}

/// Files at the top of a lab folder that are not check logs though their name looks like one.
const NOT_LOGS: [&str; 3] = ["events.csv", "coupons.csv", "exposures.csv"];

/// The check logs of a lab folder: those under `logs/`, else those directly in it.
pub(crate) fn list_logs(root: &Path) -> Listing {
    let logs = root.join("logs");
    if logs.is_dir() {
        list(root, &logs, &[])
    } else {
        list(root, root, &NOT_LOGS)
    }
}

/// The logger exports of a lab folder; empty where it has none.
pub(crate) fn list_logger(root: &Path) -> Listing {
    let folder = root.join("logger");
    if folder.is_dir() {
        list(root, &folder, &[])
    } else {
        Listing::default()
    }
}

fn list(root: &Path, folder: &Path, not_logs: &[&str]) -> Listing {
    let mut listing = Listing::default();
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) => {
            listing.error = Some(format!("The folder could not be listed: {error}."));
            return listing;
        }
    };
    for entry in entries.flatten() {
        let full = entry.path();
        // `metadata` follows links; a link that leads nowhere is told, not followed.
        let Ok(metadata) = fs::metadata(&full) else {
            let path = relative(root, &full);
            listing
                .passed_over
                .push((path, "it is a link that leads nowhere"));
            continue;
        };
        let name = entry.file_name().to_string_lossy().into_owned();
        if !metadata.is_file() || not_logs.contains(&name.as_str()) {
            continue;
        }
        let Some(format) = Format::of(&full) else {
            if !name.starts_with('.') && folder != root {
                listing
                    .passed_over
                    .push((relative(root, &full), "its name does not end like a log's"));
            }
            continue;
        };
        let path = relative(root, &full);
        if name.starts_with("~$") || name.starts_with(".~lock") {
            listing
                .passed_over
                .push((path, "it is the lock of a workbook that is open elsewhere"));
        } else if name.starts_with('.') {
            listing.passed_over.push((path, "it is a hidden file"));
        } else {
            listing.logs.push(Found {
                full,
                path,
                format,
                size: metadata.len(),
            });
        }
    }
    listing.logs.sort_by(|a, b| a.path.cmp(&b.path));
    listing.passed_over.sort();
    listing
}

/// The path from `root` on, with `/` between its parts.
pub(crate) fn relative(root: &Path, full: &Path) -> String {
    let path = full.strip_prefix(root).unwrap_or(full);
    let parts: Vec<_> = path
        .components()
        .map(|part| part.as_os_str().to_string_lossy())
        .collect();
    parts.join("/")
}

/// The bytes of a file and their digest.
#[derive(Debug)]
pub(crate) struct Loaded {
    /// The bytes; `None` where a line is too long, with that line's number in `long_line`.
    pub(crate) bytes: Option<Vec<u8>>,
    /// SHA-256 of all bytes, hexadecimal.
    pub(crate) sha256: String,
    /// First line longer than [`LONGEST_LINE`], from 1, for text logs.
    pub(crate) long_line: Option<u64>,
}

/// Memory of files that were read, for the next ones: getting fresh memory from the system
/// page by page takes longer than reading a file into it.
#[derive(Debug, Default)]
pub(crate) struct Buffers(Mutex<Vec<Vec<u8>>>);

impl Buffers {
    fn take(&self) -> Vec<u8> {
        let free = self.0.lock().ok().and_then(|mut free| free.pop());
        free.unwrap_or_default()
    }

    /// Takes back the memory of a file that is no longer needed.
    pub(crate) fn give(&self, buffer: Vec<u8>) {
        if let Ok(mut free) = self.0.lock() {
            free.push(buffer);
        }
    }
}

/// Reads a file once, hashing on the way; stops keeping bytes at a line that is too long.
///
/// # Errors
/// The operating system's, when the file cannot be opened or read.
pub(crate) fn load(found: &Found, buffers: &Buffers) -> io::Result<Loaded> {
    load_from(
        &mut fs::File::open(&found.full)?,
        found.size,
        found.format == Format::Text,
        buffers.take(),
    )
}

/// The digest in hexadecimal figures.
pub(super) fn hexadecimal(hasher: Sha256) -> String {
    let mut text = String::with_capacity(64);
    for byte in hasher.finalize() {
        // Writing to a String cannot fail.
        let _ = write!(text, "{byte:02x}");
    }
    text
}

fn load_from(
    source: &mut dyn Read,
    size: u64,
    by_lines: bool,
    mut bytes: Vec<u8>,
) -> io::Result<Loaded> {
    // Far below LONGEST_LINE, which the look at lines relies on.
    const CHUNK: usize = 1 << 18;
    // The size told by the system is a hint: a huge sparse file must not be allocated up front.
    let hint = usize::try_from(size.min(1 << 28)).unwrap_or(0);
    bytes.reserve((hint + CHUNK).saturating_sub(bytes.len()));
    let mut filled = 0;
    let mut hasher = Sha256::new();
    let mut line_length = 0_usize;
    let mut long_line = None;
    loop {
        // What an earlier file left in the memory is written over.
        if bytes.len() < filled + CHUNK {
            bytes.resize(filled + CHUNK, 0);
        }
        let free = bytes.get_mut(filled..).unwrap_or_default();
        let n = match source.read(free.get_mut(..CHUNK).unwrap_or_default()) {
            Ok(0) => break,
            Ok(n) => n,
            Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
            Err(error) => return Err(error),
        };
        let (before, part) = bytes.split_at(filled);
        let part = part.get(..n).unwrap_or_default();
        hasher.update(part);
        if long_line.is_some() {
            continue;
        }
        if by_lines {
            // Lines within one chunk are short; only one that runs over its ends can be long.
            let open = line_length;
            let first = memchr::memchr2(b'\n', b'\r', part);
            let last = memchr::memrchr2(b'\n', b'\r', part);
            line_length = match last {
                Some(last) => n - last - 1,
                None => open + n,
            };
            let closed = first.map_or(0, |first| open + first);
            if closed.max(line_length) > LONGEST_LINE {
                // It began in an earlier chunk, so every line before it is among `bytes`.
                let lines = memchr::memchr_iter(b'\n', before).count();
                long_line = Some(1 + lines as u64);
                bytes = Vec::new();
                filled = 0;
                continue;
            }
        }
        filled += n;
    }
    bytes.truncate(filled);
    Ok(Loaded {
        bytes: long_line.is_none().then_some(bytes),
        sha256: hexadecimal(hasher),
        long_line,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digest_is_that_of_fips_180_for_abc() {
        // FIPS 180-4 (2015), example for SHA-256 of the message "abc".
        let loaded = load_from(&mut &b"abc"[..], 3, true, Vec::new()).unwrap();
        assert_eq!(
            loaded.sha256,
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
        assert_eq!(loaded.bytes.as_deref(), Some(&b"abc"[..]));
    }

    #[test]
    fn a_line_too_long_is_refused_without_being_kept() {
        let mut text = b"date;pH\n2026-01-05;".to_vec();
        text.resize(text.len() + LONGEST_LINE + 1, b'7');
        text.extend_from_slice(b"\n2026-01-06;6.8\n");
        let loaded = load_from(&mut text.as_slice(), text.len() as u64, true, Vec::new()).unwrap();
        assert_eq!(loaded.long_line, Some(2));
        assert!(loaded.bytes.is_none());
        assert_eq!(loaded.sha256.len(), 64);
    }

    #[test]
    fn many_short_lines_are_kept() {
        let text = b"2026-01-05;6.8\n".repeat(200_000);
        let loaded = load_from(&mut text.as_slice(), 0, true, Vec::new()).unwrap();
        assert_eq!(loaded.long_line, None);
        assert_eq!(loaded.bytes.map(|b| b.len()), Some(text.len()));
    }

    #[test]
    fn lists_logs_in_path_order_and_tells_what_it_passes_over() {
        let folder = tempfile::tempdir().unwrap();
        fs::create_dir(folder.path().join("logs")).unwrap();
        for name in ["b.csv", "A.XLSX", "~$A.xlsx", ".hidden.csv", "notes.docx"] {
            fs::write(folder.path().join("logs").join(name), "x").unwrap();
        }
        let listing = list_logs(folder.path());
        let paths: Vec<_> = listing.logs.iter().map(|f| f.path.as_str()).collect();
        assert_eq!(paths, ["logs/A.XLSX", "logs/b.csv"]);
        let passed: Vec<_> = listing.passed_over.iter().map(|p| p.0.as_str()).collect();
        assert_eq!(
            passed,
            ["logs/.hidden.csv", "logs/notes.docx", "logs/~$A.xlsx"]
        );
    }

    #[test]
    fn a_folder_without_logs_folder_is_read_itself() {
        let folder = tempfile::tempdir().unwrap();
        for name in ["checks.csv", "events.csv", "lab.toml"] {
            fs::write(folder.path().join(name), "x").unwrap();
        }
        let listing = list_logs(folder.path());
        assert_eq!(listing.logs.len(), 1);
        assert!(listing.passed_over.is_empty());
    }
}
