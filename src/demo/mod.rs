//! The demo labs: an invented scenario, seeded, written as lab folders.
//!
//! "Saltmarsh Bench" keeps five cabinets named after shore birds; a partner that it
//! compares itself with keeps three. Nobody and nothing in them exists.
//! [`DemoLab::files`] makes a folder in memory, the same bytes on every run;
//! [`DemoLab::write`] puts it on disk; [`DemoLab::truth`] tells what was planted, for
//! tests; [`fleet`] makes the large plain logs that the benchmark reads.

mod calendar;
mod coupons;
mod daily;
pub mod fleet;
mod french;
mod german;
#[cfg(test)]
mod intake_tests;
mod noise;
mod page;
mod papers;
mod partner;
mod plants;
mod scenario;
mod truth;
mod workbook;

use crate::quantity::brine::BrineError;
use page::Page;
use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// Why the demo lab could not be made or written.
#[derive(Debug, thiserror::Error)]
pub enum DemoError {
    /// The folder holds something already; nothing was written.
    #[error("{} is not empty: give the name of a new folder, so that nothing is overwritten", .0.display())]
    NotEmpty(PathBuf),
    /// A file or folder could not be written.
    #[error("cannot write {}: {source}", path.display())]
    Io {
        /// The file or folder.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// The workbook could not be put together.
    #[error("cannot make the demo workbook: {0}")]
    Workbook(#[from] rust_xlsxwriter::XlsxError),
    /// The scenario left the range of the brine model.
    #[error("cannot make the demo's densities: {0}")]
    Brine(#[from] BrineError),
    /// The truth file could not be put together.
    #[error("cannot write down what the demo holds: {0}")]
    Truth(#[from] toml::ser::Error),
}

/// A lab of the demo.
///
/// ```
/// use steadyfog::demo::DemoLab;
/// let files = DemoLab::Partner.files()?;
/// assert!(files.contains_key("logs/control-knot.txt") && files.contains_key("coupons.csv"));
/// # Ok::<(), steadyfog::demo::DemoError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DemoLab {
    /// "Saltmarsh Bench", whose months are reviewed.
    Home,
    /// "Acabados Orilla Gris", which gets less corrosion on the same steel.
    Partner,
}

impl DemoLab {
    /// The lab's files by path relative to its folder (`/` between parts).
    ///
    /// # Errors
    /// [`DemoError::Workbook`] and [`DemoError::Brine`], should the scenario be changed so
    /// that its files cannot be made.
    pub fn files(self) -> Result<BTreeMap<String, Vec<u8>>, DemoError> {
        if self == DemoLab::Partner {
            return partner::files();
        }
        let mut files = papers::files();
        files.insert("coupons.csv".to_owned(), coupons::home_file());
        for page in pages()? {
            files.insert(page.path, page.bytes);
        }
        Ok(files)
    }

    /// What was planted in the lab and what is dirty in it, as TOML.
    ///
    /// # Errors
    /// As [`DemoLab::files`]; [`DemoError::Truth`] when the text cannot be made.
    pub fn truth(self) -> Result<String, DemoError> {
        if self == DemoLab::Partner {
            return partner::truth();
        }
        let dirt = pages()?.into_iter().flat_map(|page| page.dirt).collect();
        truth::text(dirt)
    }

    /// Writes the lab into a folder, which is made if need be, and returns its files.
    ///
    /// # Errors
    /// [`DemoError::NotEmpty`] when the folder holds anything; [`DemoError::Io`] when
    /// something cannot be written; else as [`DemoLab::files`].
    pub fn write(self, dir: &Path) -> Result<Vec<PathBuf>, DemoError> {
        let files = self.files()?;
        make_empty(dir)?;
        let mut written = Vec::new();
        for (name, bytes) in &files {
            let path = dir.join(name);
            if let Some(parent) = path.parent() {
                fs::create_dir_all(parent).map_err(|source| failed(parent, source))?;
            }
            fs::write(&path, bytes).map_err(|source| failed(&path, source))?;
            written.push(path);
        }
        Ok(written)
    }
}

/// Makes the folder, or finds that it is there and empty.
fn make_empty(dir: &Path) -> Result<(), DemoError> {
    fs::create_dir_all(dir).map_err(|source| failed(dir, source))?;
    let mut entries = fs::read_dir(dir).map_err(|source| failed(dir, source))?;
    match entries.next() {
        None => Ok(()),
        Some(_) => Err(DemoError::NotEmpty(dir.to_owned())),
    }
}

fn failed(path: &Path, source: io::Error) -> DemoError {
    DemoError::Io {
        path: path.to_owned(),
        source,
    }
}

/// All logs of the home lab.
fn pages() -> Result<Vec<Page>, DemoError> {
    let mut pages = german::pages()?;
    pages.push(workbook::page()?);
    pages.push(french::page()?);
    Ok(pages)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The files under a folder by relative path.
    fn read_tree(root: &Path) -> BTreeMap<String, Vec<u8>> {
        fn walk(root: &Path, dir: &Path, into: &mut BTreeMap<String, Vec<u8>>) {
            for entry in fs::read_dir(dir).unwrap() {
                let path = entry.unwrap().path();
                if path.is_dir() {
                    walk(root, &path, into);
                } else {
                    let parts: Vec<_> = path
                        .strip_prefix(root)
                        .unwrap()
                        .iter()
                        .map(|part| part.to_str().unwrap())
                        .collect();
                    into.insert(parts.join("/"), fs::read(&path).unwrap());
                }
            }
        }
        let mut tree = BTreeMap::new();
        walk(root, root, &mut tree);
        tree
    }

    /// With RENEW_DEMO set, writes the shipped folders anew instead of comparing.
    #[test]
    fn the_shipped_demo_labs_are_what_the_code_makes() {
        let data = Path::new(env!("CARGO_MANIFEST_DIR")).join("data");
        for (lab, name) in [
            (DemoLab::Home, "demo-lab"),
            (DemoLab::Partner, "demo-partner-lab"),
        ] {
            let (folder, truth) = (data.join(name), data.join(format!("{name}-truth.toml")));
            if std::env::var_os("RENEW_DEMO").is_some() {
                if folder.exists() {
                    fs::remove_dir_all(&folder).unwrap();
                }
                lab.write(&folder).unwrap();
                fs::write(&truth, lab.truth().unwrap()).unwrap();
            }
            let (made, shipped) = (lab.files().unwrap(), read_tree(&folder));
            assert_eq!(
                made.keys().collect::<Vec<_>>(),
                shipped.keys().collect::<Vec<_>>()
            );
            for (file, bytes) in &made {
                assert!(&shipped[file] == bytes, "data/{name}/{file} is not current");
            }
            let told = fs::read_to_string(truth).unwrap();
            assert_eq!(told, lab.truth().unwrap());
        }
    }

    #[test]
    fn two_runs_make_the_same_bytes() {
        for lab in [DemoLab::Home, DemoLab::Partner] {
            assert!(lab.files().unwrap() == lab.files().unwrap());
        }
    }

    #[test]
    fn writing_refuses_a_folder_that_holds_something() {
        let parent = tempfile::tempdir().unwrap();
        let dir = parent.path().join("new").join("lab");
        let written = DemoLab::Home.write(&dir).unwrap();
        assert_eq!(written.len(), DemoLab::Home.files().unwrap().len());
        assert_eq!(read_tree(&dir), DemoLab::Home.files().unwrap());
        let again = DemoLab::Partner.write(&dir).unwrap_err();
        assert!(matches!(again, DemoError::NotEmpty(_)), "{again}");
        assert!(again.to_string().contains("not empty"));
    }

    #[test]
    fn a_file_in_the_way_is_told() {
        let parent = tempfile::tempdir().unwrap();
        let file = parent.path().join("file");
        fs::write(&file, "x").unwrap();
        assert!(matches!(
            DemoLab::Home.write(&file),
            Err(DemoError::Io { .. })
        ));
    }
}
