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
    let mut taken = BTreeSet::new();
    let mut files = Vec::new();
    for series in &review.series {
        let Some(svg) = chart_svg(review, series, Size::default())? else {
            continue;
        };
        let name = chart_name(series);
        let mut free = name.clone();
        let mut number = 2;
        while !taken.insert(free.clone()) {
            free = format!("{name}-{number}");
            number += 1;
        }
        files.push(OutputFile {
            path: format!("charts/{free}.svg"),
            bytes: svg.into_bytes(),
        });
    }
    Ok(files)
}
