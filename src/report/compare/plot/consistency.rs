//! Bars of Mandel's h and k side by side, with the critical lines at 5 % and 1 %.

use super::rows::{Layout, Row, SMALL, Upright, by_lab, look};
use super::{Chart, Kind, WIDTH, left_out};
use crate::report::compare::naming::{Names, heading, with_room};
use crate::report::format::{number, signed};
use crate::report::plot::PlotError;
use crate::report::plot::axis::Scale;
use crate::report::plot::canvas::{Anchor, Canvas, drawing};
use crate::report::plot::palette::{DATA, INK, MUTED, SIGNAL};
use crate::report::wire::{ComparedCharacteristic, Critical, Participant};

/// Cabinets drawn at most.
const MOST: usize = 40;

/// Pixels at the right of a panel, for the numbers.
const NUMBERS: f64 = 44.0;

/// One of the two panels.
struct Panel<'a> {
    layout: Layout,
    x: Scale,
    name: &'static str,
    critical: Option<&'a Critical>,
    is_signed: bool,
}

/// The bars of h and k; `None` when there is neither.
pub(super) fn consistency(
    one: &ComparedCharacteristic,
    names: &Names<'_>,
) -> Result<Option<Chart>, PlotError> {
    if one
        .participants
        .iter()
        .all(|p| p.h.is_none() && p.k.is_none())
    {
        return Ok(None);
    }
    let larger = |p: &Participant| match (p.h, p.k) {
        (Some(h), Some(k)) => Some(h.abs().max(k)),
        (h, k) => h.or(k),
    };
    let cabinets = with_room(&one.participants, MOST, larger);
    let of = |value: fn(&Participant) -> Option<f64>, critical: Option<&Critical>| {
        let most = critical.map_or(1.0, |c| c.at_1_percent.max(c.at_5_percent));
        cabinets
            .iter()
            .filter_map(|p| value(p))
            .fold(most, |most, v| most.max(v.abs()))
            * 1.08
    };
    let precision = one.precision.as_ref();
    let h_critical = precision.and_then(|p| p.h_critical.as_ref());
    let k_critical = precision.and_then(|p| p.k_critical.as_ref());
    let rows = by_lab(&cabinets, names);
    let layout = |left, right| Layout {
        left,
        right,
        rows: rows.len(),
    };
    let (left, right) = (layout(200.0, 500.0), layout(526.0, WIDTH - 8.0));
    let (h_most, k_most) = (of(|p| p.h, h_critical), of(|p| p.k, k_critical));
    let panels = [
        Panel {
            layout: left,
            // Room for the numbers at the right.
            x: Scale::new((-h_most, h_most), left.left + 4.0, left.right - NUMBERS),
            name: "h: the mean against the others",
            critical: h_critical,
            is_signed: true,
        },
        Panel {
            layout: right,
            x: Scale::new((0.0, k_most), right.left + 2.0, right.right - NUMBERS),
            name: "k: the spread against the others",
            critical: k_critical,
            is_signed: false,
        },
    ];
    let title = format!("{}: consistency by Mandel's h and k", heading(one));
    let description =
        "Bars of h and k for each cabinet with their critical lines: dashed at 5 %, solid at 1 %.";
    let svg = drawing((WIDTH, left.height()), &title, description, |c| {
        left.heading(c, &title);
        for panel in &panels {
            panel.layout.axis(c, panel.x, panel.name);
            lines(c, panel);
        }
        for (i, row) in rows.iter().enumerate() {
            match row {
                Row::Group(lab) => left.group(c, i, lab),
                Row::Entry(name, participant) => {
                    left.name(c, i, name);
                    for panel in &panels {
                        let of = if panel.is_signed {
                            participant.h
                        } else {
                            participant.k
                        };
                        bar(c, panel, i, of);
                    }
                }
            }
        }
    })?;
    Ok(Some(Chart {
        kind: Kind::Consistency,
        svg,
        left_out: left_out(
            cabinets.len(),
            one.participants.len(),
            "cabinets",
            "those with the largest h or k",
        ),
    }))
}

/// Zero and the critical lines, named where there is room between them.
fn lines(c: &mut Canvas<'_>, panel: &Panel<'_>) {
    let layout = &panel.layout;
    let zero = panel.x.px(0.0);
    c.line(&[(zero, layout.top()), (zero, layout.bottom())], INK, 1.0);
    let Some(critical) = panel.critical else {
        let at = ((layout.left + layout.right) / 2.0, layout.over());
        c.text(at, "no critical values", look(SMALL, MUTED, Anchor::Middle));
        return;
    };
    let signs: &[f64] = if panel.is_signed {
        &[-1.0, 1.0]
    } else {
        &[1.0]
    };
    for sign in signs {
        let (five, one) = (sign * critical.at_5_percent, sign * critical.at_1_percent);
        let (inner, outer) = (panel.x.px(five), panel.x.px(one));
        let names = [("5 %", inner, Some(&[5.0, 3.0][..])), ("1 %", outer, None)];
        for (name, px, dashes) in names {
            let mark = Upright {
                name: "",
                colour: SIGNAL,
                width: 1.0,
                dashes,
            };
            layout.upright(c, px, &mark);
            // Names lean away from each other: the lines may be close.
            let is_inner = px == inner;
            let leans_right = (*sign > 0.0) != is_inner;
            let (shift, anchor) = if leans_right {
                (1.0, Anchor::Start)
            } else {
                (-1.0, Anchor::End)
            };
            c.text(
                (px + shift, layout.over()),
                name,
                look(SMALL, SIGNAL, anchor),
            );
        }
    }
}

fn bar(c: &mut Canvas<'_>, panel: &Panel<'_>, row: usize, value: Option<f64>) {
    let y = panel.layout.y(row);
    let zero = panel.x.px(0.0);
    let at = (panel.layout.right - 2.0, y);
    let Some(value) = value else {
        c.text(at, "none", look(SMALL, MUTED, Anchor::End));
        return;
    };
    c.line(&[(zero, y), (panel.x.clamped(value), y)], DATA, 7.0);
    let text = if panel.is_signed {
        signed(value, 2)
    } else {
        number(value, 2)
    };
    c.text(at, &text, look(SMALL, INK, Anchor::End));
}
