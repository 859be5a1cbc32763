//! What `review` and `compare` share of their outputs: which were asked for, which files
//! they make, and how those written are listed.

use super::CommandError;
use super::args::Output;
use super::console::Console;
use crate::output::OutputFile;
use crate::report::terminal::Style;
use crate::review::Period;
use crate::signal::wording::count;
use chrono::NaiveDate;
use std::path::PathBuf;

/// The outputs asked for, in order; all of them when none is named.
pub(super) fn wanted(only: &[Output]) -> Vec<Output> {
    if only.is_empty() {
        return vec![Output::Json, Output::Html, Output::Charts];
    }
    let mut only = only.to_vec();
    only.sort_unstable();
    only.dedup();
    only
}

/// Files that a report named `name` has with these outputs: known before any log is read.
pub(super) fn first_files(name: &str, wanted: &[Output]) -> Vec<String> {
    wanted.iter().map(|output| output.file(name)).collect()
}

impl Output {
    /// Its file in a report named `name`; the folder for charts.
    pub(super) fn file(self, name: &str) -> String {
        match self {
            Output::Json => format!("{name}.json"),
            Output::Html => format!("{name}.html"),
            Output::Charts => "charts".to_owned(),
        }
    }
}

/// The names of `files` in the output folder.
pub(super) fn names(files: &[OutputFile]) -> Vec<String> {
    files.iter().map(|file| file.path.clone()).collect()
}

/// The days from `from` to `to`.
pub(super) fn period(from: NaiveDate, to: NaiveDate) -> Result<Period, CommandError> {
    Period::new(from, to).ok_or_else(|| {
        CommandError::Other(format!("the period ends ({to}) before it begins ({from})"))
    })
}

/// A fault of the program, told rather than panicked over.
pub(super) fn fault(error: impl std::fmt::Display) -> CommandError {
    CommandError::Other(error.to_string())
}

/// Prints the summary that `render` makes and the list of files written (their names in
/// the output folder, and their paths); nothing when quiet.
pub(super) fn print_summary(
    console: &Console,
    render: impl FnOnce(Style) -> String,
    names: &[String],
    paths: &[PathBuf],
) -> Result<(), CommandError> {
    if console.is_quiet() {
        return Ok(());
    }
    let style = Style {
        colour: console.colours(),
        width: console.width(),
    };
    console.print(&(render(style) + &written(names, paths)))?;
    Ok(())
}

/// The list of files written, charts as one line.
fn written(names: &[String], paths: &[PathBuf]) -> String {
    let mut text = String::from("\nWritten:\n");
    let is_chart = |name: &str| name.starts_with("charts/");
    for (_, path) in names.iter().zip(paths).filter(|(name, _)| !is_chart(name)) {
        text.push_str(&format!("  {}\n", path.display()));
    }
    let mut charts = names.iter().zip(paths).filter(|(name, _)| is_chart(name));
    if let Some(folder) = charts.next().and_then(|(_, path)| path.parent()) {
        let count = count(1 + charts.count(), "chart");
        text.push_str(&format!("  {} ({count})\n", folder.display()));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn outputs_named_twice_or_in_any_order_are_made_once() {
        let only = [Output::Charts, Output::Json, Output::Charts];
        assert_eq!(wanted(&only), [Output::Json, Output::Charts]);
        assert_eq!(wanted(&[]).len(), 3);
        let files = first_files("compare", &wanted(&only));
        assert_eq!(files, ["compare.json", "charts"]);
    }
}
