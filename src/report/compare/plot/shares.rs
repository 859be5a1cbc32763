//! The coupon difference of a pair, what goes with it, and the rest: bars with intervals
//! on one axis, so that lengths can be compared.

use super::rows::{Layout, NAME_SIZE, Upright, bold, look, range, whisker};
use super::{Chart, Kind, WIDTH};
use crate::report::compare::naming::Names;
use crate::report::format::{capital, number, percent, spoken};
use crate::report::plot::PlotError;
use crate::report::plot::axis::Scale;
use crate::report::plot::canvas::{Anchor, Canvas, drawing};
use crate::report::plot::palette::{CENTRE, INK, MUTED};
use crate::report::wire::{Comparison, Explanation, Mismatch};
use plotters::style::RGBColor;

/// Characteristics drawn at most: those that go with most of the difference.
const MOST: usize = 12;

/// Bars are light, so that the whiskers are seen on them.
const WHOLE: RGBColor = RGBColor(0xb4, 0xbd, 0xc1);
const PART: RGBColor = RGBColor(0x8f, 0xb4, 0xca);

/// What a row is.
enum Bar<'a> {
    /// The coupon difference itself.
    Whole,
    /// A characteristic's part.
    Part(&'a Mismatch),
    /// What no characteristic accounts for.
    Rest,
}

/// The rows of the mismatch that belong to an explanation, by rank.
pub(in crate::report::compare) fn rows_of<'a>(
    comparison: &'a Comparison,
    explanation: &Explanation,
) -> Vec<&'a Mismatch> {
    let mut rows: Vec<&Mismatch> = comparison
        .mismatch
        .iter()
        .filter(|m| m.a == explanation.a && m.b == explanation.b)
        .collect();
    rows.sort_by_key(|m| m.rank);
    rows
}

/// The bars of an explanation.
pub(in crate::report::compare) fn shares(
    comparison: &Comparison,
    explanation: &Explanation,
    names: &Names<'_>,
) -> Result<Option<Chart>, PlotError> {
    let parts = rows_of(comparison, explanation);
    let left_out = super::left_out(
        parts.len().min(MOST),
        parts.len(),
        "characteristics",
        "those that go with most of the difference",
    );
    let mut bars = vec![Bar::Whole];
    bars.extend(parts.into_iter().take(MOST).map(Bar::Part));
    bars.push(Bar::Rest);
    let values = bars.iter().flat_map(|bar| {
        let (value, low, high) = values(bar, explanation);
        [value, low, high].into_iter().flatten()
    });
    let Some(range) = range(values.chain([0.0])) else {
        return Ok(None);
    };
    let layout = Layout {
        left: 220.0,
        right: WIDTH - 150.0,
        rows: bars.len(),
    };
    let x = layout.scale(range);
    let title = format!(
        "Coupons of {} less those of {}: what goes with the difference",
        names.of(&explanation.a),
        names.of(&explanation.b)
    );
    let description = format!("Bars with 95 % intervals in g/m². {}", explanation.says);
    let svg = drawing((WIDTH, layout.height()), &title, &description, |c| {
        layout.heading(c, &title);
        layout.axis(c, x, "mass loss, g/m²");
        let mark = Upright {
            name: "coupon difference",
            colour: CENTRE,
            width: 1.0,
            dashes: Some(&[5.0, 3.0]),
        };
        layout.upright(c, x.px(explanation.difference), &mark);
        let zero = x.px(0.0);
        c.line(&[(zero, layout.top()), (zero, layout.bottom())], INK, 1.25);
        for (i, bar) in bars.iter().enumerate() {
            row(c, &layout, x, i, bar, explanation);
        }
    })?;
    Ok(Some(Chart {
        kind: Kind::Mismatch,
        svg,
        left_out,
    }))
}

fn values(bar: &Bar<'_>, whole: &Explanation) -> (Option<f64>, Option<f64>, Option<f64>) {
    match bar {
        Bar::Whole => (Some(whole.difference), whole.low, whole.high),
        Bar::Part(part) => (part.mass_loss, part.mass_loss_low, part.mass_loss_high),
        Bar::Rest => (
            whole.unexplained,
            whole.unexplained_low,
            whole.unexplained_high,
        ),
    }
}

/// What stands for a bar whose difference the instruments cover.
const WITHIN_INSTRUMENTS: &str = "within the instruments";

fn row(
    c: &mut Canvas<'_>,
    layout: &Layout,
    x: Scale,
    row: usize,
    bar: &Bar<'_>,
    whole: &Explanation,
) {
    let y = layout.y(row);
    let (name, colour, weight) = match bar {
        Bar::Whole => ("Coupon difference".to_owned(), WHOLE, 12.0),
        Bar::Part(part) => (capital(&spoken(&part.characteristic)), PART, 12.0),
        Bar::Rest => ("Unexplained rest".to_owned(), MUTED, 1.25),
    };
    layout.name(c, row, &name);
    let (value, low, high) = values(bar, whole);
    let Some(value) = value else {
        c.ring((x.px(0.0), y), 3.0, MUTED);
        let covered = matches!(bar, Bar::Part(part) if part.instruments_explain);
        let words = if covered {
            WITHIN_INSTRUMENTS
        } else {
            "not known"
        };
        layout.word(c, row, words, look(NAME_SIZE, MUTED, Anchor::Start));
        return;
    };
    let (from, to) = (x.px(0.0), x.clamped(value));
    if matches!(bar, Bar::Rest) {
        // Hollow: nothing measured stands behind it.
        let outline = [
            (from, y - 6.0),
            (to, y - 6.0),
            (to, y + 6.0),
            (from, y + 6.0),
        ];
        c.line(&outline, colour, weight);
    } else {
        c.line(&[(from, y), (to, y)], colour, weight);
    }
    if let (Some(low), Some(high)) = (low, high) {
        whisker(c, x, y, (low, high), INK);
    }
    let amount = number(value, 1);
    let (words, looks) = match bar {
        Bar::Part(part) => (
            match part.share_explained {
                Some(share) => format!("{amount}: {} of it", percent(share)),
                None => amount,
            },
            look(NAME_SIZE, INK, Anchor::Start),
        ),
        Bar::Whole => (amount, bold(NAME_SIZE, INK, Anchor::Start)),
        Bar::Rest => (amount, look(NAME_SIZE, INK, Anchor::Start)),
    };
    layout.word(c, row, &words, looks);
}
