//! The charts of a review as files: `charts/<cabinet>-<characteristic>.svg`.

use super::{PlotError, Size, chart_name, chart_svg};
use crate::output::OutputFile;
use crate::report::wire::Review;
use std::collections::BTreeSet;

/// One SVG file a series, in the order of the review; none for a series without readings.
///
/// Names are made of the cabinet's and the characteristic's; where two would be the same
/// on a file system that folds case, the later one gets a number.
///
/// # Errors
/// [`PlotError`] when the drawing library fails.
pub fn files(review: &Review) -> Result<Vec<OutputFile>, PlotError> {
    let mut files = ChartFiles::default();
    for series in &review.series {
        let Some(svg) = chart_svg(review, series, Size::default())? else {
            continue;
        };
        files.push(&chart_name(series), svg);
    }
    Ok(files.files)
}

/// Charts that become files, each under a name of its own.
#[derive(Default)]
pub(in crate::report) struct ChartFiles {
    taken: BTreeSet<String>,
    pub(in crate::report) files: Vec<OutputFile>,
}

impl ChartFiles {
    /// Adds `charts/<name>.svg`, with a number after a name that is taken.
    ///
    /// `name` is in lower case, so that names stay apart where a file system folds case.
    pub(in crate::report) fn push(&mut self, name: &str, svg: String) {
        let mut free = name.to_owned();
        let mut number = 2;
        while !self.taken.insert(free.clone()) {
            free = format!("{name}-{number}");
            number += 1;
        }
        self.files.push(OutputFile {
            path: format!("charts/{free}.svg"),
            bytes: svg.into_bytes(),
        });
    }
}
