//! Charts as SVG text: individuals above moving range, and small ones for the matrix.
//!
//! Own layout and palette over the plotting library's drawing area and value axes.
//! Shape, line style and words carry every meaning; colour only repeats it. Text is
//! real text in a generic family, so it can be searched, scaled and read aloud.

pub(in crate::report) mod axis;
pub(in crate::report) mod canvas;
mod chart;
mod compact;
mod files;
mod limits;
mod marks;
pub(in crate::report) mod palette;
mod spark;
#[cfg(test)]
mod tests;

pub use chart::{Size, chart_svg};
pub(in crate::report) use files::ChartFiles;
pub use files::files;
pub use spark::spark_svg;

use thiserror::Error;

/// A chart that could not be drawn.
#[derive(Debug, Error)]
#[error("the chart could not be drawn: {0}")]
pub struct PlotError(String);

/// The file name of a series' chart: cabinet and characteristic in lower case, anything
/// but letters, digits, `.` and `_` turned into `-`, without an extension.
///
/// Different cabinets may share a name so made ("A 1", "a-1"): the caller tells them apart.
pub fn chart_name(series: &super::wire::Series) -> String {
    let safe = |text: &str| -> String {
        text.to_lowercase()
            .chars()
            .take(60)
            .map(|c| {
                if c.is_ascii_alphanumeric() || c == '_' || (c.is_alphabetic() && !c.is_control()) {
                    c
                } else {
                    '-'
                }
            })
            .collect()
    };
    format!("{}-{}", safe(&series.cabinet), safe(&series.characteristic))
}

/// The mark by which evidence names a chart: `plover/collection-rate`.
pub fn chart_mark(series: &super::wire::Series) -> String {
    format!("{}/{}", series.cabinet, series.characteristic)
}
