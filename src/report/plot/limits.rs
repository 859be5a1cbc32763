//! The lines and shades of a chart: conformance and control limits per stage, centre,
//! baseline stretch, drift and forecast, each named where it ends.

use super::axis::Scale;
use super::canvas::{Anchor, At, Canvas, text_width};
use super::chart::{Picture, day_of, look};
use super::marks::spread;
use super::palette::{
    BASELINE, CENTRE, CONFORMANCE, CONTROL, COURSE, FORECAST, INK, MUTED, SIGNAL, STEP,
};
use crate::report::format::{date, dates, decimals_of, number, percent, signed};
use crate::report::wire::{Drift, ForecastBreach, Limits, Series};
use plotters::style::RGBColor;

/// Distance between the names of lines.
const APART: f64 = 12.5;

/// Values to show in the panel of individuals.
///
/// Readings that count, control limits of every stage, a limit that a drift is heading
/// for; the conformance limits too, unless they lie so far off that the readings would
/// become a flat line. Excluded readings and stray ones may lie beyond: they are drawn
/// at the edge.
pub(super) fn range(series: &Series) -> (f64, f64) {
    let mut span = Span::default();
    for point in series.points.iter().filter(|p| p.excluded.is_none()) {
        span.take(point.value);
    }
    let stages = series.stages.iter().filter_map(|s| s.limits.as_ref());
    for limits in stages.chain(&series.limits) {
        span.take(limits.lower);
        span.take(limits.upper);
    }
    if let Some(breach) = series.drift.as_ref().and_then(|d| d.breach.as_ref()) {
        span.take(breach.limit);
    }
    let width = span.width();
    let near = (span.low - 2.0 * width, span.high + 2.0 * width);
    let window = series.conformance.iter().flat_map(|w| [w.lower, w.upper]);
    let excluded = series.points.iter().filter(|p| p.excluded.is_some());
    for value in window.flatten() {
        // Without control limits the window is all there is to compare with.
        if width <= 0.0 || series.limits.is_none() || (near.0..=near.1).contains(&value) {
            span.take(value);
        }
    }
    let near = (
        span.low - 0.3 * span.width(),
        span.high + 0.3 * span.width(),
    );
    for value in excluded.map(|p| p.value) {
        if (near.0..=near.1).contains(&value) {
            span.take(value);
        }
    }
    let pad = span.width() * 0.06;
    (span.low - pad, span.high + pad)
}

/// Values to show in the panel of moving ranges: those taken and the limit of every stage.
pub(super) fn moving_range(series: &Series) -> (f64, f64) {
    let taken = series.points.iter().filter_map(|p| p.moving_range);
    let stages = series.stages.iter().filter_map(|s| s.limits.as_ref());
    let limits = stages.chain(&series.limits).map(|l| l.moving_range_upper);
    let top = taken.chain(limits).fold(0.0, f64::max);
    (0.0, if top > 0.0 { top * 1.08 } else { 1.0 })
}

/// The smallest range that holds the values taken; empty as (0, 0).
#[derive(Debug, Default)]
struct Span {
    low: f64,
    high: f64,
    any: bool,
}

impl Span {
    fn take(&mut self, value: f64) {
        if !self.any {
            (self.low, self.high, self.any) = (value, value, true);
        }
        self.low = self.low.min(value);
        self.high = self.high.max(value);
    }

    fn width(&self) -> f64 {
        self.high - self.low
    }
}

/// What lies under everything else: the baseline stretch, the dates a step may have, and
/// the forecast.
pub(super) fn shades(c: &mut Canvas<'_>, p: &Picture<'_>) {
    let mut strip_free_from = p.edges.0;
    if let Some(limits) = &p.series.limits {
        let (from, to) = (day_of(&limits.from), day_of(&limits.to));
        let name = match limits.origin.as_str() {
            "frozen" => "frozen baseline",
            "trial" => "trial baseline",
            _ => "baseline",
        };
        strip_free_from = stretch(c, p, (from, to), (BASELINE, name), strip_free_from);
    }
    if let Some(shift) = &p.series.shift {
        let ends = (day_of(&shift.earliest), day_of(&shift.latest));
        let size = signed(shift.size, p.series.decimals);
        let name = format!("step {size} about {}", date(&shift.at));
        stretch(c, p, ends, (STEP, &name), strip_free_from);
    }
    if let Some(drift) = &p.series.drift {
        forecast(c, p, drift);
    }
}

/// Shades a stretch of days and names it in the strip below the panel, right of
/// `free_from`; gives where the strip is free after it.
fn stretch(
    c: &mut Canvas<'_>,
    p: &Picture<'_>,
    ends: (Option<f64>, Option<f64>),
    (shade, name): (RGBColor, &str),
    free_from: f64,
) -> f64 {
    let (Some(from), Some(to)) = ends else {
        return free_from;
    };
    let (a, b) = (p.x.clamped(from), p.x.clamped(to));
    let y = p.upper_panel.1 + 9.0;
    // A baseline may lie wholly before the readings shown.
    if to < p.x.low {
        let text = format!("◂ {name}");
        c.text((free_from, y), &text, look(10.0, MUTED, Anchor::Start));
        return free_from + text_width(&text, 10.0) + 10.0;
    }
    if from > p.x.high {
        return free_from;
    }
    let b = b.max(a + 3.0);
    let bottom = p.upper_panel.1;
    c.block((a, p.upper_panel.0), (b, bottom), shade);
    let bracket = [
        (a, bottom - 3.0),
        (a, bottom),
        (b, bottom),
        (b, bottom - 3.0),
    ];
    c.line(&bracket, MUTED, 0.75);
    let half = text_width(name, 10.0) / 2.0;
    let middle = ((a + b) / 2.0).min(p.edges.1 - half).max(free_from + half);
    c.text((middle, y), name, look(10.0, MUTED, Anchor::Middle));
    middle + half + 10.0
}

/// Where the straight line from `from` towards `to` ends, cut at the right edge.
fn ray(from: At, to: At, edge: f64) -> At {
    if to.0 <= edge || to.0 <= from.0 {
        to
    } else {
        let share = (edge - from.0) / (to.0 - from.0);
        (edge, from.1 + share * (to.1 - from.1))
    }
}

fn forecast(c: &mut Canvas<'_>, p: &Picture<'_>, drift: &Drift) {
    let (Some(last), Some(breach)) = (p.dots.last(), &drift.breach) else {
        return;
    };
    let edge = p.edges.1;
    let start = (p.x.px(last.day), p.upper.clamped(drift.now));
    let limit = p.upper.clamped(breach.limit);
    let target = |day: f64| (p.x.px(day), limit);
    let Some(earliest) = day_of(&breach.earliest).map(target) else {
        return;
    };
    // An open end: the level may also stay where it is.
    let latest = breach.latest.as_deref().and_then(day_of).map(target);
    let late = latest.map_or((edge, start.1), |to| ray(start, to, edge));
    let mut shape = vec![start, ray(start, earliest, edge)];
    if earliest.0 < edge {
        let corner = latest.map_or(edge, |to| to.0.min(edge));
        shape.push((corner, limit));
    }
    shape.push(late);
    c.polygon(&shape, FORECAST);
}

/// All lines, and their names at the right.
pub(super) fn lines(c: &mut Canvas<'_>, p: &Picture<'_>) {
    let mut names: Vec<(f64, String, RGBColor)> = Vec::new();
    // Conformance first: where a control limit coincides, its dashes show on the heavy line.
    conformance(c, p, &mut names);
    stages(c, p);
    let decimals = p.series.decimals + 1;
    if let Some(limits) = &p.series.limits {
        for (value, name, colour) in [
            (limits.upper, "upper control", CONTROL),
            (limits.centre, "centre", MUTED),
            (limits.lower, "lower control", CONTROL),
        ] {
            let text = format!("{name} {}", number(value, decimals));
            names.push((p.upper.clamped(value), text, colour));
        }
    }
    name_lines(c, p, &names, p.upper_panel);
    if let Some(limits) = &p.series.limits {
        let names = [
            (limits.moving_range_upper, "upper control", CONTROL),
            (limits.moving_range_mean, "mean", MUTED),
        ]
        .map(|(value, name, colour)| {
            let text = format!("{name} {}", number(value, decimals));
            (p.lower.clamped(value), text, colour)
        });
        name_lines(c, p, &names, p.lower_panel);
    }
    if let Some(drift) = &p.series.drift {
        drift_line(c, p, drift);
    }
}

fn conformance(c: &mut Canvas<'_>, p: &Picture<'_>, names: &mut Vec<(f64, String, RGBColor)>) {
    if let Some(window) = &p.series.conformance {
        for (value, name) in [(window.upper, "upper"), (window.lower, "lower")] {
            let Some(value) = value else { continue };
            let y = p.upper.clamped(value);
            let figure = number(value, decimals_of(value, p.series.decimals));
            let text = if p.upper.holds(value) {
                c.line(&[(p.edges.0, y), (p.edges.1, y)], CONFORMANCE, 2.0);
                format!("{name} conformance {figure}")
            } else {
                let arrow = if value > p.upper.high { "↑" } else { "↓" };
                format!("{arrow} conformance {figure}")
            };
            names.push((y, text, CONFORMANCE));
        }
    }
}

/// Control limits and centre of each stage over its own stretch; the last one's go on to
/// the right edge.
fn stages(c: &mut Canvas<'_>, p: &Picture<'_>) {
    let count = p.series.stages.len();
    for (i, stage) in p.series.stages.iter().enumerate() {
        let current = i + 1 == count;
        let limits = if current {
            p.series.limits.as_ref()
        } else {
            stage.limits.as_ref()
        };
        let (Some(limits), Some(from), Some(to)) = (limits, day_of(&stage.from), day_of(&stage.to))
        else {
            continue;
        };
        let a = p.x.clamped(from);
        let b = if current { p.edges.1 } else { p.x.clamped(to) };
        control_lines(c, p, limits, (a, b));
    }
    if let (0, Some(limits)) = (count, &p.series.limits) {
        control_lines(c, p, limits, p.edges);
    }
}

fn control_lines(c: &mut Canvas<'_>, p: &Picture<'_>, limits: &Limits, (a, b): (f64, f64)) {
    let mut level = |scale: Scale, value: f64, colour, width| {
        let y = scale.clamped(value);
        c.line(&[(a, y), (b, y)], colour, width);
    };
    level(p.upper, limits.centre, CENTRE, 1.0);
    level(p.upper, limits.lower, CONTROL, 1.25);
    level(p.upper, limits.upper, CONTROL, 1.25);
    level(p.lower, limits.moving_range_mean, CENTRE, 1.0);
    level(p.lower, limits.moving_range_upper, CONTROL, 1.25);
}

fn name_lines(
    c: &mut Canvas<'_>,
    p: &Picture<'_>,
    names: &[(f64, String, RGBColor)],
    (top, bottom): (f64, f64),
) {
    let wanted: Vec<f64> = names.iter().map(|n| n.0).collect();
    let placed = spread(&wanted, APART, top + 2.0, bottom - 4.0);
    let edge = p.edges.1;
    for ((y, text, colour), at) in names.iter().zip(placed) {
        c.line(&[(edge, *y), (edge + 7.0, at)], *colour, 0.75);
        c.text((edge + 10.0, at), text, look(10.0, *colour, Anchor::Start));
    }
}

/// The drift as a straight line through its present level, and the likely course after it.
fn drift_line(c: &mut Canvas<'_>, p: &Picture<'_>, drift: &Drift) {
    let (Some(last), Some(since)) = (p.dots.last(), day_of(&drift.since)) else {
        return;
    };
    let now = (p.x.px(last.day), p.upper.clamped(drift.now));
    let then = drift.now - drift.slope_per_day * (last.day - since);
    c.line(
        &[(p.x.clamped(since), p.upper.clamped(then)), now],
        SIGNAL,
        1.75,
    );
    let Some(breach) = &drift.breach else { return };
    let limit = p.upper.clamped(breach.limit);
    if let Some(earliest) = day_of(&breach.earliest).map(|day| p.x.px(day)) {
        // The dates of the forecast, on the limit itself; an open end runs to the edge.
        let latest = breach.latest.as_deref().and_then(day_of);
        let end = latest.map_or(p.edges.1, |day| p.x.px(day).min(p.edges.1));
        if earliest < end {
            c.line(&[(earliest, limit), (end, limit)], SIGNAL, 4.0);
        }
    }
    if let Some(likely) = day_of(&breach.likely) {
        let end = ray(now, (p.x.px(likely), limit), p.edges.1);
        c.line(&[now, end], COURSE, 1.25);
        if end.0 < p.edges.1 {
            c.ring(end, 3.0, SIGNAL);
        }
    }
    // On the side of the limit that lies inside the window, left of the shade.
    let inside = if drift.slope_per_day < 0.0 {
        -10.0
    } else {
        10.0
    };
    let text = forecast_text(breach);
    let (at, anchor) = if now.0 - text_width(&text, 10.0) > p.edges.0 {
        (now.0 - 4.0, Anchor::End)
    } else {
        (p.edges.0 + 4.0, Anchor::Start)
    };
    c.text((at, limit + inside), &text, look(10.0, INK, anchor));
}

fn forecast_text(breach: &ForecastBreach) -> String {
    let when = match &breach.latest {
        Some(latest) => dates(&breach.earliest, latest),
        None => format!("{} or later", date(&breach.earliest)),
    };
    format!("forecast: {when} ({})", percent(breach.level))
}
