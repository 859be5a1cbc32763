//! The two-sample plot: each cabinet's mean of one coupon round against the next.
//!
//! Points along the diagonal are cabinets that corrode more, or less, in both rounds;
//! points away from it did not repeat.

use super::rows::{CAUTION, SMALL, bold, dashed, look, range};
use super::{Chart, Kind};
use crate::report::compare::naming::{Names, is_round};
use crate::report::format::{clean, number, shortened};
use crate::report::plot::PlotError;
use crate::report::plot::axis::Scale;
use crate::report::plot::canvas::{Anchor, At, Canvas, drawing, text_width};
use crate::report::plot::palette::{CENTRE, CONFORMANCE, DATA, GRID, INK, MUTED, SIGNAL};
use crate::report::wire::{ComparedCharacteristic, Comparison};
use std::collections::BTreeMap;

/// Width and height of the plot.
const SIZE: At = (560.0, 550.0);
/// Left, top, right and bottom of its panel.
const PANEL: (f64, f64, f64, f64) = (64.0, 42.0, 508.0, 486.0);
/// Shapes; labs beyond share the last.
const SHAPES: usize = 4;
/// Points with names at most.
const MOST_NAMES: usize = 40;

/// The rounds in pairs, each with the next, oldest first.
pub(in crate::report::compare) fn consecutive_rounds(
    comparison: &Comparison,
) -> Vec<(&ComparedCharacteristic, &ComparedCharacteristic)> {
    let rounds: Vec<&ComparedCharacteristic> = comparison
        .characteristics
        .iter()
        .filter(|c| is_round(c))
        .collect();
    rounds
        .iter()
        .zip(rounds.iter().skip(1))
        .map(|(a, b)| (*a, *b))
        .collect()
}

/// A cabinet that took part in both.
struct Point<'a> {
    name: &'a str,
    lab: usize,
    means: (f64, f64),
}

/// The plot of two rounds; `None` with fewer than two cabinets in both.
pub(in crate::report::compare) fn two_rounds(
    first: &ComparedCharacteristic,
    second: &ComparedCharacteristic,
    names: &Names<'_>,
) -> Result<Option<Chart>, PlotError> {
    let of_second: BTreeMap<&str, f64> = second
        .participants
        .iter()
        .map(|p| (p.id.as_str(), p.mean))
        .collect();
    let mut labs: Vec<&str> = Vec::new();
    let points: Vec<Point<'_>> = first
        .participants
        .iter()
        .filter_map(|p| {
            let mean = of_second.get(p.id.as_str())?;
            let lab = labs.iter().position(|l| *l == p.lab).unwrap_or_else(|| {
                labs.push(&p.lab);
                labs.len() - 1
            });
            Some(Point {
                name: names.of(&p.id),
                lab,
                means: (p.mean, *mean),
            })
        })
        .collect();
    let values = points.iter().flat_map(|p| [p.means.0, p.means.1]);
    let (Some(range), true) = (range(values), points.len() > 1) else {
        return Ok(None);
    };
    let pad = ((range.1 - range.0) * 0.08).max(1e-9);
    let range = (range.0 - pad, range.1 + pad);
    let x = Scale::new(range, PANEL.0, PANEL.2);
    let y = Scale::new(range, PANEL.3, PANEL.1);
    let round = |one: &ComparedCharacteristic| clean(one.round.as_deref().unwrap_or_default());
    let (one, other) = (round(first), round(second));
    let title = format!("Coupons of round {one} against round {other}");
    let description = format!(
        "A mark for each cabinet at its mean mass loss of both rounds, with the diagonal of equal losses. {} {}",
        first.says, second.says
    );
    let unit = &first.unit;
    let svg = drawing(SIZE, &title, &description, |c| {
        c.text(
            (2.0, 11.0),
            &shortened(&title, 76),
            bold(12.0, INK, Anchor::Start),
        );
        frame(c, (x, y), [(&one, unit), (&other, unit)]);
        let assigned = |one: &ComparedCharacteristic| one.assigned.as_ref().map(|a| a.value);
        cross(c, (x, y), (assigned(first), assigned(second)));
        for point in &points {
            mark(c, (x.px(point.means.0), y.px(point.means.1)), point.lab);
        }
        name_points(c, (x, y), &points, (assigned(first), assigned(second)));
        key(c, &labs, names);
    })?;
    let unnamed = points.len().saturating_sub(MOST_NAMES);
    Ok(Some(Chart {
        kind: Kind::TwoRounds,
        svg,
        left_out: if unnamed > 0 {
            "Names stand beside some of the cabinets only; the table has all.".to_owned()
        } else {
            String::new()
        },
    }))
}

fn frame(c: &mut Canvas<'_>, (x, y): (Scale, Scale), captions: [(&str, &str); 2]) {
    let (left, top, right, bottom) = PANEL;
    let (ticks, decimals) = x.ticks(7);
    for tick in &ticks {
        c.line(&[(x.px(*tick), top), (x.px(*tick), bottom)], GRID, 0.75);
        c.line(&[(left, y.px(*tick)), (right, y.px(*tick))], GRID, 0.75);
    }
    dashed(
        c,
        &[(x.px(x.low), y.px(y.low)), (x.px(x.high), y.px(y.high))],
        MUTED,
        1.0,
        &[2.0, 4.0],
    );
    c.line(&[(left, top), (left, bottom), (right, bottom)], MUTED, 0.75);
    for tick in &ticks {
        let text = number(*tick, decimals);
        c.text(
            (x.px(*tick), bottom + 11.0),
            &text,
            look(SMALL, MUTED, Anchor::Middle),
        );
        c.text(
            (left - 6.0, y.px(*tick)),
            &text,
            look(SMALL, MUTED, Anchor::End),
        );
    }
    let [across, up] =
        captions.map(|(round, unit)| shortened(&format!("round {round}, {}", clean(unit)), 44));
    c.text(
        (right, bottom + 28.0),
        &across,
        look(SMALL, INK, Anchor::End),
    );
    c.text((left, top - 9.0), &up, look(SMALL, INK, Anchor::Start));
    c.text(
        (right + 4.0, top - 8.0),
        "equal in both",
        look(SMALL, MUTED, Anchor::Middle),
    );
}

/// The assigned values of both rounds, where there are any.
fn cross(c: &mut Canvas<'_>, (x, y): (Scale, Scale), assigned: (Option<f64>, Option<f64>)) {
    let (left, top, right, bottom) = PANEL;
    if let Some(value) = assigned.0.filter(|v| x.holds(*v)) {
        c.line(&[(x.px(value), top), (x.px(value), bottom)], CENTRE, 1.0);
        c.text(
            (x.px(value) + 4.0, bottom - 8.0),
            "assigned",
            look(SMALL, MUTED, Anchor::Start),
        );
    }
    if let Some(value) = assigned.1.filter(|v| y.holds(*v)) {
        c.line(&[(left, y.px(value)), (right, y.px(value))], CENTRE, 1.0);
        c.text(
            (right - 4.0, y.px(value) - 8.0),
            "assigned",
            look(SMALL, MUTED, Anchor::End),
        );
    }
}

/// A shape a lab; labs beyond the third share the last.
fn mark(c: &mut Canvas<'_>, at: At, lab: usize) {
    match lab {
        0 => c.dot(at, 4.0, DATA),
        1 => c.block(
            (at.0 - 4.0, at.1 - 4.0),
            (at.0 + 4.0, at.1 + 4.0),
            CONFORMANCE,
        ),
        2 => c.diamond(at, 5.0, SIGNAL),
        _ => c.ring(at, 4.0, INK),
    }
}

/// Which shape is which lab, below the plot; nothing where one lab is compared.
fn key(c: &mut Canvas<'_>, labs: &[&str], names: &Names<'_>) {
    if labs.len() < 2 {
        return;
    }
    let mut at = PANEL.0;
    let y = SIZE.1 - 12.0;
    let shown = labs.len().min(SHAPES);
    for (i, lab) in labs.iter().take(SHAPES).enumerate() {
        mark(c, (at + 5.0, y), i);
        let is_shared = i + 1 == SHAPES && labs.len() > SHAPES;
        let name = if is_shared {
            "other labs".to_owned()
        } else {
            // So that all of them fit in one line.
            shortened(&clean(names.lab(lab)), 76 / shown)
        };
        c.text((at + 13.0, y), &name, look(SMALL, INK, Anchor::Start));
        at += 13.0 + text_width(&name, SMALL) * CAUTION + 14.0;
    }
}

/// Names beside the points, each where it meets neither a point nor another name, and no
/// line if that can be; a name without such a place is left to the table.
fn name_points(
    c: &mut Canvas<'_>,
    (x, y): (Scale, Scale),
    points: &[Point<'_>],
    assigned: (Option<f64>, Option<f64>),
) {
    let mut taken: Vec<[f64; 4]> = points
        .iter()
        .map(|p| {
            let (px, py) = (x.px(p.means.0), y.px(p.means.1));
            [px - 5.0, py - 5.0, px + 5.0, py + 5.0]
        })
        .collect();
    let upright = assigned.0.map(|v| x.px(v));
    let level = assigned.1.map(|v| y.px(v));
    let meets_line = |b: &[f64; 4]| {
        // The diagonal falls from the lower left to the upper right corner of the panel.
        let diagonal =
            |px: f64| y.px(x.low + (px - PANEL.0) / (PANEL.2 - PANEL.0) * (x.high - x.low));
        upright.is_some_and(|px| b[0] < px && px < b[2])
            || level.is_some_and(|py| b[1] < py && py < b[3])
            || (diagonal(b[2]) < b[3] && diagonal(b[0]) > b[1])
    };
    for point in points.iter().take(MOST_NAMES) {
        let (px, py) = (x.px(point.means.0), y.px(point.means.1));
        let name = shortened(&clean(point.name), 26);
        let width = text_width(&name, SMALL) * CAUTION;
        let places = [
            (Anchor::Start, px + 8.0, py, px + 8.0),
            (Anchor::End, px - 8.0, py, px - 8.0 - width),
            (Anchor::Middle, px, py - 12.0, px - width / 2.0),
            (Anchor::Middle, px, py + 12.0, px - width / 2.0),
        ];
        let mut free: Vec<(Anchor, At, [f64; 4])> = places
            .into_iter()
            .map(|(anchor, at, level, left)| {
                let area = [left, level - 6.0, left + width, level + 6.0];
                (anchor, (at, level), area)
            })
            .filter(|(_, _, area)| area[0] > PANEL.0 && area[2] < SIZE.0 - 2.0)
            .filter(|(_, _, area)| taken.iter().all(|t| apart(t, area)))
            .collect();
        free.sort_by_key(|(_, _, area)| meets_line(area));
        if let Some((anchor, at, area)) = free.first() {
            c.text(*at, &name, look(SMALL, INK, *anchor));
            taken.push(*area);
        }
    }
}

/// Whether two boxes (left, top, right, bottom) have nothing in common.
fn apart(a: &[f64; 4], b: &[f64; 4]) -> bool {
    a[2] < b[0] || b[2] < a[0] || a[3] < b[1] || b[3] < a[1]
}
