//! The chart of one series: individuals above moving range over one time axis.
//!
//! Lays out what the review holds; the only arithmetic is that of lines on paper.

use super::axis::{Scale, date_ticks, days};
use super::canvas::{Anchor, At, Canvas, Look, drawing, text_width};
use super::marks::{Bars, Flag, Flags};
use super::palette::{CONFORMANCE, DATA, GRID, INK, MUTED, SIGNAL};
use super::{PlotError, limits};
use crate::report::format::{clean, count, dates, wall, words};
use crate::report::wire::{Event, Point, Review, Series};
use std::collections::BTreeSet;

/// Readings beyond which only the notable ones get a dot; the line shows the others.
const MOST_DOTS: usize = 420;
/// Days drawn at most, the latest: a month among years would be a sliver.
const MOST_DAYS: f64 = 400.0;
/// Pixels left of the panels, for values.
const LEFT: f64 = 58.0;
/// Pixels right of the panels, for the names of lines.
const RIGHT: f64 = 148.0;
/// Pixels between the panels: the names of stretches, and under them that of the lower panel.
const BETWEEN: f64 = 32.0;
/// Pixels below, for dates.
const BELOW: f64 = 34.0;
/// Pixels for the heading.
const HEAD: f64 = 22.0;

/// Width of a chart and height of its two panels together, in CSS pixels; flags and
/// signal bars add to the height as they need.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Size {
    /// Width of the whole chart.
    pub width: f64,
    /// Height of both panels, without what stands above and below them.
    pub panels: f64,
}

impl Default for Size {
    fn default() -> Size {
        Size {
            width: 800.0,
            panels: 250.0,
        }
    }
}

/// A reading with its place on the time axis.
pub(super) struct Dot<'a> {
    pub(super) day: f64,
    pub(super) point: &'a Point,
}

/// What the parts of a chart need to know of it.
pub(super) struct Picture<'a> {
    pub(super) review: &'a Review,
    pub(super) series: &'a Series,
    pub(super) dots: Vec<Dot<'a>>,
    pub(super) x: Scale,
    /// Left and right edge of the panels.
    pub(super) edges: (f64, f64),
    /// Individuals: values to pixels.
    pub(super) upper: Scale,
    /// Moving ranges: values to pixels.
    pub(super) lower: Scale,
    /// Top and bottom of the panel of individuals.
    pub(super) upper_panel: (f64, f64),
    /// Top and bottom of the panel of moving ranges.
    pub(super) lower_panel: (f64, f64),
}

/// A wire time in days since 1970, by the lab's clock.
pub(super) fn day_of(text: &str) -> Option<f64> {
    wall(text).map(days)
}

/// A plain look.
pub(super) fn look(size: f64, colour: plotters::style::RGBColor, anchor: Anchor) -> Look {
    Look {
        size,
        colour,
        anchor,
        bold: false,
    }
}

/// The chart of a series of the review as SVG; `None` when it holds no readings
/// (`--points none`).
///
/// Values in the unit of the series, times by the lab's clock; a line breaks where no
/// moving range was taken (gap, stage, exclusion). Of a longer history the latest 400
/// days are drawn, and the chart says how many readings lie before them.
///
/// # Errors
/// [`PlotError`] when the drawing library fails.
pub fn chart_svg(
    review: &Review,
    series: &Series,
    size: Size,
) -> Result<Option<String>, PlotError> {
    let (latest, earlier) = latest(series);
    let series = latest.as_ref().unwrap_or(series);
    let dots: Vec<Dot<'_>> = series
        .points
        .iter()
        .filter_map(|point| day_of(&point.at).map(|day| Dot { day, point }))
        .collect();
    let (Some(first), Some(last)) = (dots.first(), dots.last()) else {
        return Ok(None);
    };
    let span = time_span(review, series, first.day, last.day);
    let edges = (LEFT, (size.width - RIGHT).max(LEFT + 100.0));
    let x = Scale::new(span, edges.0 + 6.0, edges.1 - 6.0);
    let flags = Flags::new(
        flags_of(review, series, span),
        x,
        (edges.0, size.width - 4.0),
    );
    let bars = Bars::new(&series.signals, x, (edges.0, size.width - 4.0), day_of);
    let top = HEAD + flags.height() + bars.height() + 4.0;
    let upper_panel = (top, top + size.panels * 0.68);
    let lower_panel = (upper_panel.1 + BETWEEN, top + size.panels + BETWEEN);
    let picture = Picture {
        upper: Scale::new(limits::range(series), upper_panel.1, upper_panel.0),
        lower: Scale::new(limits::moving_range(series), lower_panel.1, lower_panel.0),
        review,
        series,
        dots,
        x,
        edges,
        upper_panel,
        lower_panel,
    };
    let height = lower_panel.1 + BELOW;
    let (title, description) = told(review, series);
    drawing((size.width, height), &title, &description, |c| {
        limits::shades(c, &picture);
        frame(c, &picture);
        let heading = Look {
            bold: true,
            ..look(12.0, INK, Anchor::Start)
        };
        c.text((LEFT, 11.0), &title, heading);
        if earlier > 0 {
            let more = count(earlier as u64, "earlier reading", "earlier readings");
            let look = look(10.0, MUTED, Anchor::End);
            c.text(
                (size.width - 4.0, 11.0),
                &format!("◂ {more} not drawn"),
                look,
            );
        }
        // Signals above flags: no pole crosses their names.
        bars.draw(c, HEAD, edges.1);
        flags.draw(c, HEAD + bars.height(), upper_panel.0, lower_panel.1);
        limits::lines(c, &picture);
        readings(c, &picture);
    })
    .map(Some)
}

/// The series cut to the days that are drawn, and how many readings that leaves out;
/// `None` and 0 when all are drawn.
fn latest(series: &Series) -> (Option<Series>, usize) {
    let Some(last) = series.points.last().and_then(|p| day_of(&p.at)) else {
        return (None, 0);
    };
    let is_shown = |at: &str| day_of(at).is_none_or(|day| day >= last - MOST_DAYS);
    let earlier = series.points.partition_point(|p| !is_shown(&p.at));
    if earlier == 0 {
        return (None, 0);
    }
    let mut cut = series.clone();
    cut.points.drain(..earlier);
    cut.stages.retain(|s| is_shown(&s.to));
    cut.signals.retain(|s| is_shown(&s.last_at));
    cut.from = cut.points.first().map(|p| p.at.clone());
    (Some(cut), earlier)
}

/// First and last day to show: the readings, the period and a forecast within reach.
fn time_span(review: &Review, series: &Series, first: f64, last: f64) -> (f64, f64) {
    let mut end = day_of(&review.period.to).map_or(last, |d| last.max(d + 1.0));
    let forecast = series.drift.as_ref().and_then(|d| d.breach.as_ref());
    if let Some(breach) = forecast {
        // A forecast may take a good third of the width; what lies beyond runs off the edge.
        let reach = last + ((last - first) * 0.6).max(14.0);
        let wanted = breach.latest.as_ref().unwrap_or(&breach.likely);
        end = day_of(wanted).map_or(end, |d| end.max((d + 2.0).min(reach)));
    }
    (first, end)
}

fn told(review: &Review, series: &Series) -> (String, String) {
    let cabinet = review
        .cabinets
        .iter()
        .find(|c| c.id == series.cabinet)
        .map_or(series.cabinet.as_str(), |c| c.name.as_str());
    let unit = if series.unit.is_empty() {
        String::new()
    } else {
        format!(", {}", series.unit)
    };
    let title = format!("{}: {}{unit}", clean(cabinet), clean(&series.spoken));
    let when = match (&series.from, &series.to) {
        (Some(from), Some(to)) => format!(" from {}", dates(from, to)),
        _ => String::new(),
    };
    let description = format!(
        "Individual readings above their moving ranges{when}. State: {}. {}",
        words(&series.state),
        clean(&series.state_says)
    );
    (title, description)
}

/// Events of this series inside the time axis, and the stages it went through.
fn flags_of(review: &Review, series: &Series, (first, last): (f64, f64)) -> Vec<Flag> {
    let concerns = |event: &&Event| {
        event.cabinet.as_ref().is_none_or(|c| *c == series.cabinet)
            && event
                .characteristic
                .as_ref()
                .is_none_or(|c| *c == series.characteristic)
    };
    let mut flags: Vec<Flag> = review
        .events
        .iter()
        .filter(concerns)
        .filter_map(|event| {
            Some(Flag {
                day: day_of(&event.at)?,
                what: clean(&event.what),
                opens_stage: event.effect == "new-stage",
            })
        })
        .collect();
    for stage in &series.stages {
        let (Some(day), Some(what)) = (day_of(&stage.from), &stage.opened_by) else {
            continue;
        };
        // The event stands on its own day, the stage on the first reading after it.
        let already = flags
            .iter()
            .any(|f| f.opens_stage && (f.what == clean(what) || (f.day - day).abs() < 1.0));
        if !already {
            flags.push(Flag {
                day,
                what: clean(what),
                opens_stage: true,
            });
        }
    }
    flags.retain(|f| f.day >= first - 1.0 && f.day <= last);
    flags.sort_by(|a, b| a.day.total_cmp(&b.day).then_with(|| a.what.cmp(&b.what)));
    flags
}

/// Grid, values, dates, and the period reviewed along the bottom.
fn frame(c: &mut Canvas<'_>, p: &Picture<'_>) {
    let (left, right) = p.edges;
    let axes = [(p.upper, 6), (p.lower, 3)].map(|(scale, most)| (scale, scale.ticks(most)));
    for (scale, (ticks, _)) in &axes {
        for tick in ticks {
            let y = scale.px(*tick);
            c.line(&[(left, y), (right, y)], GRID, 0.75);
        }
    }
    for (scale, (ticks, decimals)) in &axes {
        for tick in ticks {
            let text = crate::report::format::number(*tick, *decimals);
            let at = (left - 6.0, scale.px(*tick));
            c.text(at, &text, look(10.0, MUTED, Anchor::End));
        }
    }
    let caption = look(10.0, MUTED, Anchor::Start);
    c.text((left, p.lower_panel.0 - 8.0), "moving range", caption);
    let bottom = p.lower_panel.1;
    c.line(&[(left, bottom), (right, bottom)], MUTED, 0.75);
    let room = ((right - left) / 66.0) as usize;
    let mut free_from = f64::MIN;
    for tick in date_ticks(p.x.low, p.x.high, room.max(2)) {
        let px = p.x.px(tick.day);
        c.line(&[(px, bottom), (px, bottom + 4.0)], MUTED, 0.75);
        let half = text_width(&tick.label, 10.0) / 2.0;
        if px - half > free_from {
            free_from = px + half + 4.0;
            let label = look(10.0, INK, Anchor::Middle);
            c.text((px, bottom + 12.0), &tick.label, label);
        }
        if let Some(year) = &tick.year {
            let label = look(10.0, MUTED, Anchor::Middle);
            c.text((px, bottom + 25.0), year, label);
        }
    }
    let period = (day_of(&p.review.period.from), day_of(&p.review.period.to));
    if let (Some(from), Some(to)) = period {
        let (a, b) = (p.x.clamped(from), p.x.clamped(to + 1.0));
        if b > a {
            c.block((a, bottom - 1.0), (b, bottom + 2.0), INK);
            let label = look(10.0, INK, Anchor::Start);
            c.text((right + 6.0, bottom), "◂ period reviewed", label);
        }
    }
}

/// The readings and what is notable about each.
fn readings(c: &mut Canvas<'_>, p: &Picture<'_>) {
    let series = p.series;
    let breaches: BTreeSet<&str> = series
        .conformance
        .iter()
        .flat_map(|w| w.breaches.iter().map(|b| b.at.as_str()))
        .collect();
    let known: BTreeSet<(&str, bool)> = series
        .signals
        .iter()
        .map(|s| (s.known_at.as_str(), s.rule == "range-beyond-limit"))
        .collect();
    let every = p.dots.len() <= MOST_DOTS;
    joined(c, p, every);
    if every {
        dots(c, p, &breaches);
    }
    for dot in &p.dots {
        let at = (p.x.px(dot.day), p.upper.clamped(dot.point.value));
        if !p.upper.holds(dot.point.value) {
            off_panel(c, at, dot.point.value > p.upper.high);
        } else if dot.point.excluded.is_some() {
            c.ring(at, 3.0, MUTED);
        } else if breaches.contains(dot.point.at.as_str()) {
            c.block(
                (at.0 - 3.0, at.1 - 3.0),
                (at.0 + 3.0, at.1 + 3.0),
                CONFORMANCE,
            );
        }
        if known.contains(&(dot.point.at.as_str(), false)) {
            c.diamond(at, 6.0, SIGNAL);
        }
        if let (true, Some(range)) = (
            known.contains(&(dot.point.at.as_str(), true)),
            dot.point.moving_range,
        ) {
            c.diamond((at.0, p.lower.clamped(range)), 5.0, SIGNAL);
        }
    }
}

/// The lines between readings, and between moving ranges, that follow one another; a
/// reading with no neighbour gets a dot where the others have none.
fn joined(c: &mut Canvas<'_>, p: &Picture<'_>, every: bool) {
    let mut runs: Vec<Vec<At>> = vec![Vec::new()];
    let mut range_runs: Vec<Vec<At>> = vec![Vec::new()];
    let mut before: Option<f64> = None;
    for dot in &p.dots {
        let (x, value) = (p.x.px(dot.day), dot.point.value);
        if !follows(before, dot.point) {
            runs.push(Vec::new());
            range_runs.push(Vec::new());
        }
        before = Some(value);
        if let (None, Some(run)) = (&dot.point.excluded, runs.last_mut()) {
            run.push((x, p.upper.clamped(value)));
        }
        if let (Some(range), Some(run)) = (dot.point.moving_range, range_runs.last_mut()) {
            run.push((x, p.lower.clamped(range)));
        }
    }
    for (runs, width, radius) in [(runs, 1.1, 1.75), (range_runs, 0.9, 1.25)] {
        for run in &runs {
            match run.as_slice() {
                [lone] if !every => c.dot(*lone, radius, DATA),
                run => c.line(run, DATA, width),
            }
        }
    }
}

/// A dot for each reading that has no other mark, and for each moving range.
fn dots(c: &mut Canvas<'_>, p: &Picture<'_>, breaches: &BTreeSet<&str>) {
    for dot in &p.dots {
        let point = dot.point;
        let marked = !p.upper.holds(point.value)
            || point.excluded.is_some()
            || breaches.contains(point.at.as_str());
        if !marked {
            c.dot((p.x.px(dot.day), p.upper.clamped(point.value)), 1.75, DATA);
        }
    }
    for dot in &p.dots {
        if let Some(range) = dot.point.moving_range {
            c.dot((p.x.px(dot.day), p.lower.clamped(range)), 1.25, DATA);
        }
    }
}

/// Whether the reading follows the one drawn before it: a moving range was taken between
/// them. With `--points signals` readings are missing in between, which shows in a moving
/// range that is not their distance.
fn follows(before: Option<f64>, point: &Point) -> bool {
    match (before, point.moving_range) {
        (Some(before), Some(range)) => {
            let distance = (point.value - before).abs();
            (distance - range).abs() <= 1e-9 * (1.0 + point.value.abs())
        }
        _ => false,
    }
}

/// A reading beyond the panel: a hollow arrow that touches its edge from inside.
fn off_panel(c: &mut Canvas<'_>, (x, edge): At, above: bool) {
    let y = if above { edge + 6.0 } else { edge - 6.0 };
    let outline = [(x - 4.0, y), (x, edge), (x + 4.0, y), (x - 4.0, y)];
    c.line(&outline, MUTED, 1.2);
}
