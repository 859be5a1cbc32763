//! What charts with a row a cabinet (or a pair) share: names at the left, a value axis
//! below, words at the right, and lines broken by hand.

use super::WIDTH;
use crate::report::compare::naming::Names;
use crate::report::format::{clean, number, shortened};
use crate::report::plot::axis::Scale;
use crate::report::plot::canvas::{Anchor, At, Canvas, Look, text_width};
use crate::report::plot::palette::{GRID, INK, MUTED};
use crate::report::wire::Participant;
use plotters::style::RGBColor;
use std::collections::BTreeSet;

/// Size of the names.
pub(super) const NAME_SIZE: f64 = 11.0;
/// Size of lesser texts.
pub(super) const SMALL: f64 = 10.0;
/// No font is measured, and some are this much wider than the canvas takes them to be.
pub(super) const CAUTION: f64 = 1.15;
/// Labs whose cabinets are set under a line with the lab's name.
const MOST_GROUPS: usize = 8;
/// Pixels for the heading.
const HEAD: f64 = 24.0;
/// Pixels for what stands between heading and rows.
const ABOVE: f64 = 18.0;
/// Pixels a row.
pub(super) const STEP: f64 = 20.0;
/// Pixels for the values below the rows.
const BELOW: f64 = 38.0;

/// A row, or a line of text that opens a group of rows.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Row<T> {
    /// Heads the rows after it.
    Group(String),
    /// A row with its name.
    Entry(String, T),
}

/// A row a cabinet, those of a lab under a line with its name where several are compared;
/// of many labs the name stands beside the cabinet's.
pub(super) fn by_lab<'a>(
    participants: &[&'a Participant],
    names: &Names<'a>,
) -> Vec<Row<&'a Participant>> {
    let labs: BTreeSet<&str> = participants.iter().map(|p| p.lab.as_str()).collect();
    let mut rows = Vec::new();
    let mut last = None;
    for &participant in participants {
        let lab = names.lab(&participant.lab);
        let name = if names.several_labs() && labs.len() > MOST_GROUPS {
            format!("{} · {lab}", participant.name)
        } else {
            participant.name.clone()
        };
        if names.several_labs() && labs.len() <= MOST_GROUPS && last != Some(&participant.lab) {
            rows.push(Row::Group(lab.to_owned()));
            last = Some(&participant.lab);
        }
        rows.push(Row::Entry(name, participant));
    }
    rows
}

/// A plain look.
pub(super) fn look(size: f64, colour: RGBColor, anchor: Anchor) -> Look {
    Look {
        size,
        colour,
        anchor,
        bold: false,
    }
}

/// A bold look.
pub(super) fn bold(size: f64, colour: RGBColor, anchor: Anchor) -> Look {
    Look {
        bold: true,
        ..look(size, colour, anchor)
    }
}

/// Where things stand in a chart of rows.
#[derive(Debug, Clone, Copy)]
pub(super) struct Layout {
    pub(super) left: f64,
    pub(super) right: f64,
    pub(super) rows: usize,
}

impl Layout {
    pub(super) fn top(&self) -> f64 {
        HEAD + ABOVE
    }

    pub(super) fn bottom(&self) -> f64 {
        self.top() + self.rows as f64 * STEP + 4.0
    }

    pub(super) fn height(&self) -> f64 {
        self.bottom() + BELOW
    }

    /// The middle of a row.
    pub(super) fn y(&self, row: usize) -> f64 {
        self.top() + (row as f64 + 0.5) * STEP + 2.0
    }

    /// A value axis over the width of the panel.
    pub(super) fn scale(&self, range: (f64, f64)) -> Scale {
        Scale::new(range, self.left + 8.0, self.right - 8.0)
    }

    /// Just above the first row: for the names of upright lines.
    pub(super) fn over(&self) -> f64 {
        self.top() - 7.0
    }

    /// The heading of the chart.
    pub(super) fn heading(&self, c: &mut Canvas<'_>, title: &str) {
        c.text(
            (2.0, 11.0),
            &shortened(&clean(title), 110),
            bold(12.0, INK, Anchor::Start),
        );
    }

    /// Grid lines, values and the name of the axis.
    pub(super) fn axis(&self, c: &mut Canvas<'_>, x: Scale, caption: &str) {
        let most = ((self.right - self.left) / 70.0) as usize;
        let (ticks, decimals) = x.ticks(most.max(3));
        for tick in &ticks {
            let px = x.px(*tick);
            c.line(&[(px, self.top()), (px, self.bottom())], GRID, 0.75);
        }
        let bottom = self.bottom();
        c.line(&[(self.left, bottom), (self.right, bottom)], MUTED, 0.75);
        for tick in &ticks {
            let at = (x.px(*tick), bottom + 10.0);
            c.text(
                at,
                &number(*tick, decimals),
                look(SMALL, MUTED, Anchor::Middle),
            );
        }
        let middle = (self.left + self.right) / 2.0;
        c.text(
            (middle, bottom + 26.0),
            &clean(caption),
            look(SMALL, MUTED, Anchor::Middle),
        );
    }

    /// The name of a row at its left, cut to the room there is.
    pub(super) fn name(&self, c: &mut Canvas<'_>, row: usize, name: &str) {
        let at = (self.left - 8.0, self.y(row));
        let room = ((self.left - 10.0) / (text_width("n", NAME_SIZE) * CAUTION)) as usize;
        c.text(
            at,
            &shortened(&clean(name), room),
            look(NAME_SIZE, INK, Anchor::End),
        );
    }

    /// A line of text that opens a group of rows.
    pub(super) fn group(&self, c: &mut Canvas<'_>, row: usize, name: &str) {
        c.text(
            (2.0, self.y(row) + 2.0),
            &shortened(&clean(name), 60),
            bold(SMALL, MUTED, Anchor::Start),
        );
    }

    /// An upright line through all rows, with its name above when there is one.
    pub(super) fn upright(&self, c: &mut Canvas<'_>, px: f64, mark: &Upright<'_>) {
        let line = [(px, self.top()), (px, self.bottom())];
        match mark.dashes {
            Some(pattern) => dashed(c, &line, mark.colour, mark.width, pattern),
            None => c.line(&line, mark.colour, mark.width),
        }
        if !mark.name.is_empty() {
            let at = (px, self.over());
            c.text(at, mark.name, look(SMALL, mark.colour, Anchor::Middle));
        }
    }

    /// A word at the right of a row.
    pub(super) fn word(&self, c: &mut Canvas<'_>, row: usize, text: &str, look: Look) {
        let room = ((WIDTH - self.right - 10.0) / (text_width("n", look.size) * CAUTION)) as usize;
        c.text(
            (self.right + 8.0, self.y(row)),
            &shortened(&clean(text), room),
            look,
        );
    }
}

/// How an upright line looks.
pub(super) struct Upright<'a> {
    pub(super) name: &'a str,
    pub(super) colour: RGBColor,
    pub(super) width: f64,
    pub(super) dashes: Option<&'a [f64]>,
}

/// A line with whiskers: a thin stroke with a small upright at each end.
pub(super) fn whisker(
    c: &mut Canvas<'_>,
    x: Scale,
    y: f64,
    (low, high): (f64, f64),
    colour: RGBColor,
) {
    let (a, b) = (x.clamped(low), x.clamped(high));
    c.line(&[(a, y), (b, y)], colour, 1.25);
    for end in [a, b] {
        c.line(&[(end, y - 3.5), (end, y + 3.5)], colour, 1.25);
    }
}

/// The range of the values given, widened by a share of itself; `None` without values.
pub(super) fn range(values: impl Iterator<Item = f64>) -> Option<(f64, f64)> {
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for value in values.filter(|v| v.is_finite()) {
        low = low.min(value);
        high = high.max(value);
    }
    (low <= high).then(|| {
        let pad = (high - low) * 0.04;
        (low - pad, high + pad)
    })
}

/// A line broken into the strokes and gaps of a pattern, in pixels along it.
pub(super) fn dashed(
    c: &mut Canvas<'_>,
    points: &[At],
    colour: RGBColor,
    width: f64,
    pattern: &[f64],
) {
    for stroke in strokes(points, pattern) {
        c.line(&stroke, colour, width);
    }
}

/// The strokes of a broken line; the whole line for an empty pattern.
fn strokes(points: &[At], pattern: &[f64]) -> Vec<Vec<At>> {
    if pattern.is_empty() || pattern.iter().any(|&part| part <= 0.0) {
        return vec![points.to_vec()];
    }
    let mut all = Vec::new();
    let mut parts = pattern.iter().copied().cycle();
    let mut left = parts.next().unwrap_or(1.0);
    let mut is_stroke = true;
    let mut stroke: Vec<At> = points.iter().take(1).copied().collect();
    for pair in points.windows(2) {
        let [mut from, to] = *pair else { continue };
        loop {
            let length = (to.0 - from.0).hypot(to.1 - from.1);
            if length <= left {
                left -= length;
                if is_stroke {
                    stroke.push(to);
                }
                break;
            }
            let share = left / length;
            from = (
                from.0 + (to.0 - from.0) * share,
                from.1 + (to.1 - from.1) * share,
            );
            if is_stroke {
                stroke.push(from);
                all.push(std::mem::take(&mut stroke));
            } else {
                stroke = vec![from];
            }
            is_stroke = !is_stroke;
            left = parts.next().unwrap_or(1.0);
        }
    }
    if is_stroke {
        all.push(stroke);
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_broken_line_keeps_its_pattern_across_corners() {
        let corner = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0)];
        let made = strokes(&corner, &[6.0, 2.0]);
        assert_eq!(
            made,
            [
                vec![(0.0, 0.0), (6.0, 0.0)],
                vec![(8.0, 0.0), (10.0, 0.0), (10.0, 4.0)],
                vec![(10.0, 6.0), (10.0, 10.0)],
            ]
        );
        assert_eq!(strokes(&corner, &[]), [corner.to_vec()]);
        assert_eq!(strokes(&corner, &[0.0, 2.0]), [corner.to_vec()], "it ends");
    }

    #[test]
    fn a_range_is_of_finite_values() {
        assert_eq!(range([2.0, f64::NAN, 2.0].into_iter()), Some((2.0, 2.0)));
        assert_eq!(range([f64::INFINITY].into_iter()), None);
        let (low, high) = range([0.0, 100.0].into_iter()).unwrap();
        assert_eq!((low, high), (-4.0, 104.0));
    }
}
