//! Distributions overlaid: the share of readings up to each value, a line a cabinet, told
//! apart by dashes and by the names on the lines.
//!
//! Drawn from the 21 quantiles. More cabinets than fit one panel get further panels over
//! the same axis, with the others in the background.

use super::curve_labels::{self, Wanted};
use super::rows::{SMALL, bold, dashed, look, range};
use super::{Chart, Kind, WIDTH};
use crate::report::compare::naming::heading;
use crate::report::format::{clean, number, shortened};
use crate::report::plot::PlotError;
use crate::report::plot::axis::Scale;
use crate::report::plot::canvas::{Anchor, At, Canvas, drawing, text_width};
use crate::report::plot::palette::{CONFORMANCE, DATA, EARLIER, GRID, INK, MUTED, SIGNAL};
use crate::report::wire::{ComparedCharacteristic, Participant};
use plotters::style::RGBColor;

/// Quantiles a participant: 0 % to 100 % in steps of 5 %.
const QUANTILES: usize = 21;
/// Colours with the dashes that go with them, one a line of a panel. None of the colours
/// is among those that the canvas breaks by itself.
const LOOKS: [(RGBColor, &[f64]); 6] = [
    (DATA, &[]),
    (CONFORMANCE, &[10.0, 4.0]),
    (SIGNAL, &[2.5, 3.0]),
    (INK, &[12.0, 3.0, 2.5, 3.0]),
    (RGBColor(0x5d, 0x6b, 0x14), &[5.0, 3.0]),
    (RGBColor(0x54, 0x59, 0xa6), &[14.0, 3.0, 2.0, 3.0, 2.0, 3.0]),
];
/// Height of a panel.
const PANEL: f64 = 220.0;
/// Pixels above the first panel, between panels, and below the last.
const HEAD: f64 = 38.0;
const BETWEEN: f64 = 14.0;
const BELOW: f64 = 38.0;
const LEFT: f64 = 58.0;
const RIGHT: f64 = WIDTH - 12.0;

/// The overlaid distributions; `None` when no cabinet has quantiles.
pub(super) fn distributions(one: &ComparedCharacteristic) -> Result<Option<Chart>, PlotError> {
    let cabinets: Vec<&Participant> = one
        .participants
        .iter()
        .filter(|p| p.quantiles.len() == QUANTILES)
        .collect();
    let Some(range) = range(cabinets.iter().flat_map(|p| p.quantiles.iter().copied())) else {
        return Ok(None);
    };
    // Panels of equal size: one cabinet alone in the last would be hard to compare.
    let number_of_panels = cabinets.len().div_ceil(LOOKS.len()).max(1);
    let in_each = cabinets.len().div_ceil(number_of_panels).max(1);
    let panels: Vec<&[&Participant]> = cabinets.chunks(in_each).collect();
    let top = |panel: usize| HEAD + panel as f64 * (PANEL + BETWEEN);
    let bottom = top(panels.len()) - BETWEEN;
    let x = Scale::new(range, LEFT, RIGHT);
    let title = format!("{}: distributions", heading(one));
    let description = format!(
        "For each cabinet the share of its readings that lie at or below a value. {}",
        one.says
    );
    let svg = drawing((WIDTH, bottom + BELOW), &title, &description, |c| {
        c.text(
            (2.0, 11.0),
            &shortened(&title, 110),
            bold(12.0, INK, Anchor::Start),
        );
        for (i, panel) in panels.iter().enumerate() {
            let y = Scale::new((0.0, 100.0), top(i) + PANEL, top(i));
            frame(c, x, y);
            window(c, one, x, (top(i), top(i) + PANEL), i == 0);
            if panels.len() > 1 {
                for participant in &cabinets {
                    c.line(&curve(participant, x, y), EARLIER, 0.5);
                }
            }
            lines(c, panel, (x, y));
        }
        let (ticks, decimals) = x.ticks(9);
        for tick in &ticks {
            let at = (x.px(*tick), bottom + 10.0);
            c.text(
                at,
                &number(*tick, decimals),
                look(SMALL, MUTED, Anchor::Middle),
            );
        }
        let caption = if one.unit.is_empty() {
            "value"
        } else {
            &one.unit
        };
        let middle = ((LEFT + RIGHT) / 2.0, bottom + 26.0);
        c.text(middle, &clean(caption), look(SMALL, MUTED, Anchor::Middle));
    })?;
    Ok(Some(Chart {
        kind: Kind::Distributions,
        svg,
        left_out: String::new(),
    }))
}

fn curve(participant: &Participant, x: Scale, y: Scale) -> Vec<At> {
    participant
        .quantiles
        .iter()
        .enumerate()
        .map(|(i, &value)| (x.px(value), y.px(i as f64 * 5.0)))
        .collect()
}

fn frame(c: &mut Canvas<'_>, x: Scale, y: Scale) {
    let (top, bottom) = (y.px(100.0), y.px(0.0));
    for tick in x.ticks(9).0 {
        c.line(&[(x.px(tick), top), (x.px(tick), bottom)], GRID, 0.75);
    }
    for share in [0.0, 25.0, 50.0, 75.0, 100.0] {
        c.line(&[(LEFT, y.px(share)), (RIGHT, y.px(share))], GRID, 0.75);
        let text = format!("{} %", number(share, 0));
        c.text(
            (LEFT - 6.0, y.px(share)),
            &text,
            look(SMALL, MUTED, Anchor::End),
        );
    }
    c.line(&[(LEFT, bottom), (RIGHT, bottom)], MUTED, 0.75);
}

/// The conformance limits within the panel, named above the first.
fn window(
    c: &mut Canvas<'_>,
    one: &ComparedCharacteristic,
    x: Scale,
    (top, bottom): (f64, f64),
    is_named: bool,
) {
    let Some(window) = &one.window else { return };
    for (limit, side) in [(window.lower, "lower"), (window.upper, "upper")] {
        let Some(limit) = limit.filter(|l| x.holds(*l)) else {
            continue;
        };
        let px = x.px(limit);
        c.line(&[(px, top), (px, bottom)], CONFORMANCE, 2.0);
        if is_named {
            let text = format!("{side} limit {}", number(limit, 2));
            let half = text_width(&text, SMALL) / 2.0;
            let at = (px.clamp(LEFT + half, RIGHT - half), top - 8.0);
            c.text(at, &text, look(SMALL, CONFORMANCE, Anchor::Middle));
        }
    }
}

fn lines(c: &mut Canvas<'_>, panel: &[&Participant], (x, y): (Scale, Scale)) {
    let wanted: Vec<Wanted> = panel
        .iter()
        .map(|p| Wanted {
            name: shortened(&clean(&p.name), 34),
            curve: curve(p, x, y),
        })
        .collect();
    for (one, (colour, pattern)) in wanted.iter().zip(LOOKS) {
        dashed(c, &one.curve, colour, 1.75, pattern);
    }
    let area = [LEFT + 4.0, y.px(100.0) + 4.0, RIGHT - 4.0, y.px(0.0) - 4.0];
    let labels = curve_labels::place(&wanted, area);
    for ((one, label), (colour, pattern)) in wanted.iter().zip(labels).zip(LOOKS) {
        if let Some(sample) = label.sample {
            dashed(c, &sample, colour, 1.75, pattern);
        }
        c.text(label.at, &one.name, bold(SMALL, colour, label.anchor));
    }
}
