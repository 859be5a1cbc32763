//! Tables of the page: headings, cells and the sentences under a row, through one
//! template.

use super::Page;
use crate::report::compare::naming::class_of;
use crate::report::format::{number, words};
use crate::report::html::HtmlError;
use serde::Serialize;

/// A table before it becomes text.
#[derive(Serialize)]
pub(super) struct Table {
    label: String,
    class: &'static str,
    head: Vec<Head>,
    rows: Vec<Row>,
}

#[derive(Serialize)]
struct Head {
    text: String,
    is_number: bool,
}

#[derive(Serialize)]
struct Row {
    cells: Vec<Cell>,
    /// A sentence below the row; empty for none.
    under: String,
}

/// A cell.
#[derive(Serialize)]
pub(super) struct Cell {
    text: String,
    kind: &'static str,
    /// A class of ours for a verdict; empty for plain text.
    state: &'static str,
}

/// A cell of text.
pub(super) fn text(text: impl Into<String>) -> Cell {
    Cell {
        text: text.into(),
        kind: "text",
        state: "",
    }
}

/// A cell that names its row.
pub(super) fn name(text: impl Into<String>) -> Cell {
    Cell {
        text: text.into(),
        kind: "name",
        state: "",
    }
}

/// A cell with a number already written.
pub(super) fn figure(text: impl Into<String>) -> Cell {
    Cell {
        text: text.into(),
        kind: "number",
        state: "",
    }
}

/// A verdict in words with its class.
pub(super) fn verdict(verdict: &str) -> Cell {
    Cell {
        text: words(verdict),
        kind: "text",
        state: class_of(verdict),
    }
}

/// A number where there is one, a dash where there is none.
pub(super) fn maybe(value: Option<f64>, decimals: u32) -> String {
    value.map_or_else(|| "–".to_owned(), |v| number(v, decimals))
}

/// "0.31 to 0.42"; a dash unless both ends are there.
pub(super) fn ends(low: Option<f64>, high: Option<f64>, decimals: u32) -> String {
    match (low, high) {
        (Some(low), Some(high)) => {
            format!("{} to {}", number(low, decimals), number(high, decimals))
        }
        _ => "–".to_owned(),
    }
}

impl Table {
    /// A table with that accessible name; a heading that begins with `#` is one of numbers.
    pub(super) fn new(label: impl Into<String>, heads: &[&str]) -> Table {
        Table {
            label: label.into(),
            class: "",
            head: heads
                .iter()
                .map(|text| Head {
                    text: text.trim_start_matches('#').to_owned(),
                    is_number: text.starts_with('#'),
                })
                .collect(),
            rows: Vec::new(),
        }
    }

    /// Gives the table a class of the style sheet.
    pub(super) fn class(mut self, class: &'static str) -> Table {
        self.class = class;
        self
    }

    /// Adds a row.
    pub(super) fn row(&mut self, cells: Vec<Cell>) {
        self.row_with(cells, String::new());
    }

    /// Adds a row with a sentence under it.
    pub(super) fn row_with(&mut self, cells: Vec<Cell>, under: String) {
        self.rows.push(Row { cells, under });
    }

    pub(super) fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// The table as markup; empty without rows.
    pub(super) fn markup(&self, page: &Page<'_>) -> Result<String, HtmlError> {
        if self.is_empty() {
            return Ok(String::new());
        }
        page.draw("compare-table.html", self)
    }
}
