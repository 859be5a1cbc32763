//! Coupons of a round: every result by cabinet, marked ones hollow, with the mean, the
//! assigned value and the window.

use super::rows::{Layout, NAME_SIZE, Row, SMALL, Upright, by_lab, dashed, look, range};
use super::{Chart, Kind, WIDTH, left_out};
use crate::report::compare::naming::{Names, decimals, heading, with_room};
use crate::report::format::{count, number};
use crate::report::plot::PlotError;
use crate::report::plot::axis::Scale;
use crate::report::plot::canvas::{Anchor, Canvas, drawing, text_width};
use crate::report::plot::palette::{CENTRE, CONFORMANCE, DATA, INK, SIGNAL};
use crate::report::wire::{ComparedCharacteristic, Participant};

/// Cabinets drawn at most.
const MOST: usize = 40;

/// The results of a round; `None` without coupons.
pub(super) fn coupons(
    one: &ComparedCharacteristic,
    names: &Names<'_>,
) -> Result<Option<Chart>, PlotError> {
    if one.participants.iter().all(|p| p.coupons.is_empty()) {
        return Ok(None);
    }
    let centre = one.assigned.as_ref().map(|a| a.value);
    let cabinets = with_room(&one.participants, MOST, |p| {
        centre.map_or(Some(p.mean), |c| Some(p.mean - c))
    });
    let results = cabinets
        .iter()
        .flat_map(|p| p.coupons.iter().map(|c| c.mass_loss).chain([p.mean]));
    let Some(of_results) = range(results.chain(centre)) else {
        return Ok(None);
    };
    let rows = by_lab(&cabinets, names);
    let layout = Layout {
        left: 200.0,
        right: WIDTH - 160.0,
        rows: rows.len(),
    };
    let limits: Vec<(f64, &str)> = one
        .window
        .iter()
        .flat_map(|w| [w.lower.map(|v| (v, "lower")), w.upper.map(|v| (v, "upper"))])
        .flatten()
        .collect();
    let x = layout.scale(with_near(of_results, limits.iter().map(|l| l.0)));
    let title = format!("{}: results by cabinet", heading(one));
    let description = format!(
        "A dot for each coupon, hollow where it is marked; an upright stroke for the mean. {}",
        one.says
    );
    let decimals = decimals(one);
    let svg = drawing((WIDTH, layout.height()), &title, &description, |c| {
        layout.heading(c, &title);
        layout.axis(c, x, &format!("mass loss, {}", one.unit));
        uprights(c, &layout, x, &limits, centre, decimals);
        for (i, one) in rows.iter().enumerate() {
            match one {
                Row::Group(lab) => layout.group(c, i, lab),
                Row::Entry(name, participant) => {
                    layout.name(c, i, name);
                    row(c, &layout, x, i, participant);
                }
            }
        }
    })?;
    Ok(Some(Chart {
        kind: Kind::Coupons,
        svg,
        left_out: left_out(
            cabinets.len(),
            one.participants.len(),
            "cabinets",
            "those farthest from the assigned value",
        ),
    }))
}

/// The range of the results, stretched to the limits that lie within reach of it.
fn with_near((low, high): (f64, f64), limits: impl Iterator<Item = f64>) -> (f64, f64) {
    let reach = (high - low).max(low.abs() * 0.02) * 0.4;
    limits
        .filter(|&l| l >= low - reach && l <= high + reach)
        .fold((low, high), |(a, b), l| (a.min(l), b.max(l)))
}

/// The limits within the panel and the assigned value, named above; no two names meet.
fn uprights(
    c: &mut Canvas<'_>,
    layout: &Layout,
    x: Scale,
    limits: &[(f64, &str)],
    centre: Option<f64>,
    decimals: u32,
) {
    let assigned = centre.map(|v| (v, format!("assigned {}", number(v, decimals)), CENTRE, 1.25));
    let limits = limits.iter().map(|(v, side)| {
        (
            *v,
            format!("{side} limit {}", number(*v, 1)),
            CONFORMANCE,
            2.0,
        )
    });
    let mut taken: Vec<(f64, f64)> = Vec::new();
    for (value, name, colour, width) in assigned.into_iter().chain(limits) {
        if !x.holds(value) {
            continue;
        }
        let px = x.px(value);
        let half = text_width(&name, SMALL) / 2.0 + 4.0;
        let is_free = taken.iter().all(|(a, b)| px + half < *a || px - half > *b);
        if is_free {
            taken.push((px - half, px + half));
        }
        let mark = Upright {
            name: if is_free { &name } else { "" },
            colour,
            width,
            dashes: None,
        };
        layout.upright(c, px, &mark);
    }
}

fn row(c: &mut Canvas<'_>, layout: &Layout, x: Scale, row: usize, participant: &Participant) {
    let y = layout.y(row);
    let marked = participant
        .coupons
        .iter()
        .filter(|c| c.marked.is_some())
        .count() as u64;
    let mean = x.clamped(participant.mean);
    c.line(&[(mean, y - 7.0), (mean, y + 7.0)], INK, 1.5);
    if let (Some(first), Some(last)) = (
        participant
            .coupons
            .iter()
            .map(|c| c.mass_loss)
            .reduce(f64::min),
        participant
            .coupons
            .iter()
            .map(|c| c.mass_loss)
            .reduce(f64::max),
    ) {
        dashed(
            c,
            &[(x.clamped(first), y), (x.clamped(last), y)],
            DATA,
            0.75,
            &[1.5, 2.5],
        );
    }
    for coupon in &participant.coupons {
        let at = (x.clamped(coupon.mass_loss), y);
        if coupon.marked.is_some() {
            c.ring(at, 4.0, SIGNAL);
        } else {
            c.dot(at, 3.0, DATA);
        }
    }
    let mut words = count(participant.coupons.len() as u64, "coupon", "coupons");
    if marked > 0 {
        words.push_str(&format!(", {marked} marked"));
    }
    layout.word(c, row, &words, look(NAME_SIZE, INK, Anchor::Start));
}
