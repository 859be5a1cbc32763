//! The charts of a comparison as files: `charts/<characteristic>-<kind>.svg`.

use super::naming::{Names, mark};
use super::plot::{self, Chart};
use crate::output::OutputFile;
use crate::report::plot::{ChartFiles, PlotError};
use crate::report::wire::Comparison;

/// One SVG file a chart, in the order of the page; none for what has nothing to draw.
///
/// Unlike the page it holds the charts of every characteristic and round. Names are made
/// of what was compared and the kind of chart; where two would be the same on a file
/// system that folds case, the later one gets a number.
///
/// # Errors
/// [`PlotError`] when the drawing library fails.
pub fn files(comparison: &Comparison) -> Result<Vec<OutputFile>, PlotError> {
    let names = Names::new(comparison);
    let mut charts = Vec::new();
    for explanation in &comparison.explanations {
        let pair = format!("{}-{}", explanation.a, explanation.b);
        let chart = plot::shares(comparison, explanation, &names)?;
        charts.extend(chart.map(|c| (pair, c)));
    }
    for one in &comparison.characteristics {
        let of_one = plot::all(comparison, one, &names)?;
        charts.extend(of_one.into_iter().map(|c| (mark(one), c)));
    }
    for (first, second) in plot::consecutive_rounds(comparison) {
        let rounds = format!(
            "{}-{}",
            mark(first),
            second.round.as_deref().unwrap_or_default()
        );
        let chart = plot::two_rounds(first, second, &names)?;
        charts.extend(chart.map(|c| (rounds, c)));
    }
    let mut files = ChartFiles::default();
    for (what, Chart { kind, svg, .. }) in charts {
        files.push(&format!("{}-{}", safe(&what), kind.file_name()), svg);
    }
    Ok(files.files)
}

/// A text as part of a file name: lower case, anything but letters, digits and `_` as `-`.
fn safe(text: &str) -> String {
    text.to_lowercase()
        .chars()
        .take(80)
        .map(|c| {
            if c == '_' || (c.is_alphanumeric() && !c.is_control()) {
                c
            } else {
                '-'
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture::{comparison, poisoned_comparison};
    use std::collections::BTreeSet;

    #[test]
    fn files_are_named_by_what_they_show() {
        let files = files(&comparison()).unwrap();
        let names: Vec<&str> = files.iter().map(|f| f.path.as_str()).collect();
        assert_eq!(
            names,
            [
                "charts/tidewrack-saltmarsh-bench-mismatch.svg",
                "charts/tidewrack-knot-saltmarsh-bench-dunlin-mismatch.svg",
                "charts/collection-rate-scores.svg",
                "charts/collection-rate-differences.svg",
                "charts/collection-rate-distributions.svg",
                "charts/collection-rate-consistency.svg",
                "charts/collection-rate-calendar.svg",
                "charts/ph-scores.svg",
                "charts/ph-differences.svg",
                "charts/ph-distributions.svg",
                "charts/ph-consistency.svg",
                "charts/ph-calendar.svg",
                "charts/coupon-mass-loss-2025-11-scores.svg",
                "charts/coupon-mass-loss-2025-11-differences.svg",
                "charts/coupon-mass-loss-2025-11-coupons.svg",
                "charts/coupon-mass-loss-2025-11-consistency.svg",
                "charts/coupon-mass-loss-2026-02-differences.svg",
                "charts/coupon-mass-loss-2026-02-coupons.svg",
                "charts/coupon-mass-loss-2025-11-2026-02-two-rounds.svg",
            ]
        );
    }

    #[test]
    fn hostile_names_stay_in_the_folder_and_apart() {
        let mut comparison = poisoned_comparison();
        for one in &mut comparison.characteristics {
            one.characteristic = "../../\u{202e}x".into();
            one.round = None;
        }
        let files = files(&comparison).unwrap();
        let mut seen = BTreeSet::new();
        for file in &files {
            assert!(file.path.starts_with("charts/") && !file.path.contains(".."));
            assert!(seen.insert(file.path.clone()), "{}", file.path);
        }
        assert!(
            seen.contains("charts/-------x-differences-2.svg"),
            "{seen:?}"
        );
    }
}
