//! Who was in window when: a row a cabinet, a cell a day, three shapes that can be told
//! apart in grey.
//!
//! A thin bar: all readings inside; a tall block: at least one outside; two rails: no
//! window to judge by; nothing: no reading.

use super::rows::{Layout, Row, SMALL, STEP, by_lab, look};
use super::{Chart, Kind, WIDTH};
use crate::report::compare::naming::{Names, heading};
use crate::report::format::{number, wall};
use crate::report::plot::PlotError;
use crate::report::plot::axis::{Scale, date_ticks, days};
use crate::report::plot::canvas::{Anchor, Canvas, drawing, text_width};
use crate::report::plot::palette::{CONFORMANCE, GRID, INK, MUTED};
use crate::report::wire::{ComparedCharacteristic, Comparison, Participant};
use plotters::style::RGBColor;

/// Readings inside: between readings and grid lines in lightness, so that days outside stand out.
const INSIDE: RGBColor = RGBColor(0x6d, 0xa0, 0xac);
/// Narrowest cell of a day outside: it must be seen among thousands.
const NARROWEST: f64 = 1.25;

/// The calendar; `None` when no cabinet has one.
pub(super) fn calendar(
    comparison: &Comparison,
    one: &ComparedCharacteristic,
    names: &Names<'_>,
) -> Result<Option<Chart>, PlotError> {
    let cabinets: Vec<&Participant> = one
        .participants
        .iter()
        .filter(|p| !p.calendar.is_empty())
        .collect();
    let longest = cabinets.iter().map(|p| p.calendar.chars().count()).max();
    let (Some(longest), Some(first)) = (longest, wall(&comparison.period.from)) else {
        return Ok(None);
    };
    let first = days(first);
    let rows = by_lab(&cabinets, names);
    let layout = Layout {
        left: 200.0,
        right: WIDTH - 96.0,
        rows: rows.len(),
    };
    let x = Scale::new(
        (first, first + longest as f64),
        layout.left + 4.0,
        layout.right - 4.0,
    );
    let title = format!("{}: who was in window when", heading(one));
    let description = "A row a cabinet and a cell a day: a thin bar where all readings were inside the window, a tall block where at least one was outside, two rails without a window, nothing without a reading.";
    let svg = drawing((WIDTH, layout.height()), &title, description, |c| {
        layout.heading(c, &title);
        dates(c, &layout, x);
        key(c, &layout);
        for (i, row) in rows.iter().enumerate() {
            let Row::Entry(name, participant) = row else {
                continue;
            };
            layout.name(c, i, name);
            if let (Some(outside), Some(checked)) = (participant.outside, participant.checked) {
                let text = format!(
                    "{} of {}",
                    number(outside as f64, 0),
                    number(checked as f64, 0)
                );
                layout.word(c, i, &text, look(SMALL, INK, Anchor::Start));
            }
        }
        for (i, row) in rows.iter().enumerate() {
            if let Row::Group(lab) = row {
                layout.group(c, i, lab);
            }
        }
        // One shape at a time over all rows: strokes of one look become one path.
        for letter in ['i', '?', 'o'] {
            for (i, row) in rows.iter().enumerate() {
                let Row::Entry(_, participant) = row else {
                    continue;
                };
                for (from, to) in runs(&participant.calendar, letter) {
                    cell(
                        c,
                        letter,
                        layout.y(i),
                        (x.px(first + from), x.px(first + to)),
                    );
                }
            }
        }
    })?;
    Ok(Some(Chart {
        kind: Kind::Calendar,
        svg,
        left_out: String::new(),
    }))
}

/// The stretches of days with that letter: first day and the day after the last, from 0.
fn runs(calendar: &str, letter: char) -> Vec<(f64, f64)> {
    let mut runs: Vec<(f64, f64)> = Vec::new();
    for (day, found) in calendar.chars().enumerate() {
        if found != letter {
            continue;
        }
        let day = day as f64;
        match runs.last_mut() {
            Some(run) if run.1 == day => run.1 = day + 1.0,
            _ => runs.push((day, day + 1.0)),
        }
    }
    runs
}

fn cell(c: &mut Canvas<'_>, letter: char, y: f64, (from, to): (f64, f64)) {
    match letter {
        'i' => c.line(&[(from, y), (to, y)], INSIDE, 5.0),
        'o' => c.line(
            &[(from, y), (to.max(from + NARROWEST), y)],
            CONFORMANCE,
            14.0,
        ),
        _ => {
            for rail in [y - 4.0, y + 4.0] {
                c.line(&[(from, rail), (to, rail)], MUTED, 1.0);
            }
        }
    }
}

fn dates(c: &mut Canvas<'_>, layout: &Layout, x: Scale) {
    let (top, bottom) = (layout.top(), layout.bottom());
    let room = ((layout.right - layout.left) / 60.0) as usize;
    let ticks = date_ticks(x.low, x.high, room);
    for tick in &ticks {
        c.line(
            &[(x.px(tick.day), top), (x.px(tick.day), bottom)],
            GRID,
            0.75,
        );
    }
    for row in 0..=layout.rows {
        let y = top + 2.0 + row as f64 * STEP;
        c.line(&[(layout.left, y), (layout.right, y)], GRID, 0.5);
    }
    let mut free_from = f64::MIN;
    for tick in &ticks {
        let px = x.px(tick.day);
        let half = text_width(&tick.label, SMALL) / 2.0;
        if px - half > free_from {
            free_from = px + half + 4.0;
            c.text(
                (px, bottom + 10.0),
                &tick.label,
                look(SMALL, INK, Anchor::Middle),
            );
            if let Some(year) = &tick.year {
                c.text(
                    (px, bottom + 24.0),
                    year,
                    look(SMALL, MUTED, Anchor::Middle),
                );
            }
        }
    }
}

/// What the shapes mean, above the rows.
fn key(c: &mut Canvas<'_>, layout: &Layout) {
    let mut at = layout.left + 4.0;
    let y = layout.over() - 2.0;
    for (letter, text) in [
        ('i', "all inside"),
        ('o', "at least one outside"),
        ('?', "no window"),
    ] {
        let scale = (at, at + 14.0);
        cell(c, letter, y, scale);
        c.text((at + 20.0, y), text, look(SMALL, MUTED, Anchor::Start));
        at += 20.0 + text_width(text, SMALL) + 22.0;
    }
    c.text(
        (at, y),
        "blank: no reading",
        look(SMALL, MUTED, Anchor::Start),
    );
    c.text(
        (layout.right + 8.0, y),
        "outside",
        look(SMALL, MUTED, Anchor::Start),
    );
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_of_one_kind_become_one_stroke() {
        assert_eq!(runs("ii..io?", 'i'), [(0.0, 2.0), (4.0, 5.0)]);
        assert_eq!(runs("ii..io?", '?'), [(6.0, 7.0)]);
        assert_eq!(runs("", 'o'), []);
    }
}
