//! The small line chart of the matrix: the latest readings against the window.

use super::PlotError;
use super::axis::Scale;
use super::canvas::{At, drawing};
use super::chart::day_of;
use super::limits;
use super::palette::{CENTRE, CONFORMANCE, DATA, EARLIER};
use crate::report::format::{clean, words};
use crate::report::wire::{Review, Series};

/// Readings shown at most: the latest ones.
const MOST_READINGS: usize = 120;
/// Width and height, in CSS pixels.
const SIZE: At = (116.0, 34.0);

/// The small chart of a series as SVG; `None` when it holds no readings.
///
/// The latest 120 readings that are not excluded, those of the period darker, the last one
/// as a dot; conformance limits as heavy lines where they are within reach, the centre
/// line thin.
///
/// # Errors
/// [`PlotError`] when the drawing library fails.
pub fn spark_svg(review: &Review, series: &Series) -> Result<Option<String>, PlotError> {
    let kept: Vec<_> = series
        .points
        .iter()
        .filter(|p| p.excluded.is_none())
        .filter_map(|p| day_of(&p.at).map(|day| (day, p.value)))
        .collect();
    let shown = kept
        .get(kept.len().saturating_sub(MOST_READINGS)..)
        .unwrap_or_default();
    let (Some(&(first, _)), Some(&(last, _))) = (shown.first(), shown.last()) else {
        return Ok(None);
    };
    let x = Scale::new((first, last), 3.0, SIZE.0 - 5.0);
    let y = Scale::new(limits::range(series), SIZE.1 - 2.0, 2.0);
    let period = day_of(&review.period.from).unwrap_or(f64::MIN);
    let title = format!("{}, {}", clean(&series.cabinet), clean(&series.spoken));
    let state = words(&series.state);
    drawing(SIZE, &title, &state, |c| {
        let window = series.conformance.iter().flat_map(|w| [w.lower, w.upper]);
        for limit in window.flatten().filter(|&v| y.holds(v)) {
            c.line(
                &[(0.0, y.px(limit)), (SIZE.0, y.px(limit))],
                CONFORMANCE,
                1.0,
            );
        }
        if let Some(limits) = &series.limits {
            let level = y.clamped(limits.centre);
            c.line(&[(0.0, level), (SIZE.0, level)], CENTRE, 0.5);
        }
        let at = |&(day, value): &(f64, f64)| (x.px(day), y.clamped(value));
        let split = shown.partition_point(|&(day, _)| day < period);
        // The parts share a reading, so that the line has no hole.
        let before: Vec<At> = shown.iter().take(split + 1).map(at).collect();
        let within: Vec<At> = shown.iter().skip(split).map(at).collect();
        c.line(&before, EARLIER, 1.0);
        c.line(&within, DATA, 1.25);
        if let Some(end) = shown.last().map(at) {
            c.dot(end, 2.25, DATA);
        }
    })
    .map(Some)
}
