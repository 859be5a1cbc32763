//! One thing that could not be used as written, with its place and what to do about it.
//!
//! Issues are results, not failures: readers collect them and go on. The texts are
//! complete sentences for the person who keeps the log; nothing parses them.

use serde::{Deserialize, Serialize};

/// Where in the lab folder something stands.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Place {
    /// Path relative to the lab folder, with `/` between its parts.
    pub path: String,
    /// Sheet of a workbook.
    pub sheet: Option<String>,
    /// Line of a text file or row of a sheet, counted from 1; a record that spans
    /// several lines is told by its first.
    pub line: Option<u64>,
    /// Heading of the column as written, or its letter or number where it has none.
    pub column: Option<String>,
}

/// What became of the input that the issue is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Effect {
    /// The cell was not used; the rest of its row was.
    CellRejected,
    /// Nothing of the row was used.
    RowRejected,
    /// The column was not used until `lab.toml` settles what it is.
    ColumnLeftOut,
    /// Nothing of the file (or sheet) was used.
    FileUnreadable,
    /// The reading was used; the reader should know this of it.
    Kept,
}

impl Effect {
    /// The word of the wire format, as `cell-rejected`.
    pub fn id(self) -> &'static str {
        match self {
            Effect::CellRejected => "cell-rejected",
            Effect::RowRejected => "row-rejected",
            Effect::ColumnLeftOut => "column-left-out",
            Effect::FileUnreadable => "file-unreadable",
            Effect::Kept => "kept",
        }
    }
}

/// One issue of the intake: place, what was found, why it is one, what to do, what became of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Issue {
    /// Where it stands.
    pub place: Place,
    /// The text found, shortened to 80 characters and stripped of control characters.
    pub found: Option<String>,
    /// What was found against what was expected, as a sentence.
    pub problem: String,
    /// What to do: a sentence, or the exact line to add to `lab.toml`.
    pub hint: Option<String>,
    /// What became of it.
    pub effect: Effect,
    /// How many cells, rows or columns it stands for (1, or more where alike ones were folded).
    pub count: u64,
}

/// The text as it may be shown: control characters replaced, at most 80 characters.
///
/// ```
/// use steadyfog::issue::shown;
/// assert_eq!(shown("6.8\u{1b}[31m"), "6.8\u{fffd}[31m");
/// ```
pub fn shown(text: &str) -> String {
    const LONGEST: usize = 80;
    let mut out: String = text
        .chars()
        .take(LONGEST)
        .map(|c| if is_unsafe_to_show(c) { '\u{fffd}' } else { c })
        .collect();
    if text.chars().nth(LONGEST).is_some() {
        out.push('…');
    }
    out
}

/// Control and direction-changing characters, which could rewrite a terminal line or a page.
pub(crate) fn is_unsafe_to_show(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}
