//! Why a lab folder cannot be used: typed, with file, line and column where there is one.
//!
//! Only what must not be guessed around is an error here (settings, profiles, frozen
//! limits). A bad row of `events.csv` is an [`crate::issue::Issue`].

use std::fmt;
use std::io;
use std::path::PathBuf;
use std::sync::Arc;
use thiserror::Error;

/// A place in a text file of the lab folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct At {
    /// Path relative to the lab folder, with `/` between its parts.
    pub file: Arc<str>,
    /// Line, from 1.
    pub line: u32,
    /// Column in characters, from 1.
    pub column: u32,
}

impl fmt::Display for At {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}:{}", self.file, self.line, self.column)
    }
}

/// Why a lab folder cannot be opened.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum LabError {
    /// The path given is not a folder, or does not exist.
    #[error("{}: there is no such folder; give the lab folder, the one that holds logs/", .0.display())]
    NotAFolder(PathBuf),
    /// A file is there but cannot be read.
    #[error("{file}: cannot be read ({source})")]
    Unreadable {
        /// Path relative to the lab folder.
        file: String,
        /// What the system said.
        source: io::Error,
    },
    /// A settings file is not UTF-8.
    #[error("{0}: is not UTF-8 text here; save the file as UTF-8")]
    NotUtf8(At),
    /// Not TOML.
    #[error("{at}: {message}")]
    Syntax {
        /// Where.
        at: At,
        /// What the parser found and expected.
        message: String,
    },
    /// A key that means nothing there.
    #[error("{at}: unknown key \"{key}\"{}", meant(.nearest.as_deref(), .known))]
    UnknownKey {
        /// Where.
        at: At,
        /// The key as written.
        key: String,
        /// The nearest known key, when one is near.
        nearest: Option<String>,
        /// All keys known there.
        known: Vec<String>,
    },
    /// A key that is needed is missing.
    #[error("{at}: {within} needs the key \"{key}\": {expected}")]
    MissingKey {
        /// The table that lacks it.
        at: At,
        /// The table's name.
        within: String,
        /// The key.
        key: &'static str,
        /// What it should hold.
        expected: String,
    },
    /// A value of the wrong type.
    #[error("{at}: \"{key}\" must be {expected}, not {found}")]
    WrongType {
        /// Where.
        at: At,
        /// The key.
        key: String,
        /// What was expected, with an example.
        expected: String,
        /// The type found.
        found: &'static str,
    },
    /// A value of the right type that makes no sense.
    #[error("{at}: \"{key}\" is {found}; expected {expected}{}", did_you_mean(.nearest.as_deref()))]
    BadValue {
        /// Where.
        at: At,
        /// The key.
        key: String,
        /// The value as written.
        found: String,
        /// What was expected.
        expected: String,
        /// The nearest accepted value, when one is near.
        nearest: Option<String>,
    },
    /// A profile that is neither shipped nor in `profiles/`.
    #[error("{at}: unknown profile \"{name}\"{}", meant(.nearest.as_deref(), .known))]
    UnknownProfile {
        /// Where it is named.
        at: At,
        /// The name as written.
        name: String,
        /// The nearest known profile, when one is near.
        nearest: Option<String>,
        /// All profiles known to this lab.
        known: Vec<String>,
    },
    /// Two things with one name.
    #[error("{at}: {what} \"{name}\" is already {taken_by}")]
    Duplicate {
        /// Where the second stands.
        at: At,
        /// What kind of name.
        what: &'static str,
        /// The name as written.
        name: String,
        /// What has it, and where.
        taken_by: String,
    },
}

fn did_you_mean(nearest: Option<&str>) -> String {
    nearest.map_or_else(String::new, |n| format!("; did you mean \"{n}\"?"))
}

fn meant(nearest: Option<&str>, known: &[String]) -> String {
    match nearest {
        Some(nearest) => format!("; did you mean \"{nearest}\"?"),
        None => format!("; expected one of: {}", known.join(", ")),
    }
}

/// The candidate most like `written`, when one is like enough to be worth naming.
pub(crate) fn nearest<'a>(
    written: &str,
    candidates: impl IntoIterator<Item = &'a str>,
) -> Option<String> {
    let folded = super::names::fold_name(written);
    candidates
        .into_iter()
        .map(|c| {
            let likeness = strsim::jaro_winkler(&folded, &super::names::fold_name(c));
            (likeness, c)
        })
        .filter(|(likeness, _)| *likeness > 0.84)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, c)| c.to_owned())
}
