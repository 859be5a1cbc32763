//! The difference plot: a row a pair, with the interval of chance thick, that of chance
//! and instruments thin, and the margin of agreement shaded around zero.

use super::rows::{Layout, NAME_SIZE, Row, SMALL, bold, look, range, whisker};
use super::{Chart, Kind, WIDTH, left_out};
use crate::report::compare::naming::{Names, heading};
use crate::report::format::{attach, clean, shortened, significant, words};
use crate::report::plot::PlotError;
use crate::report::plot::axis::Scale;
use crate::report::plot::canvas::{Anchor, Canvas, drawing, text_width};
use crate::report::plot::palette::{BASELINE, CENTRE, CONFORMANCE, DATA, INK, MUTED, PAPER};
use crate::report::wire::{ComparedCharacteristic, Pair};

/// Pairs drawn at most: the first of the list, which are the clearest differences.
const MOST: usize = 30;

/// The difference plot; `None` without pairs.
pub(super) fn differences(
    one: &ComparedCharacteristic,
    names: &Names<'_>,
) -> Result<Option<Chart>, PlotError> {
    let cabinets: Vec<&Pair> = one.pairs.iter().take(MOST).collect();
    let labs: Vec<&Pair> = one.lab_pairs.iter().take(MOST).collect();
    let mut rows: Vec<Row<&Pair>> = Vec::new();
    if !labs.is_empty() {
        rows.push(Row::Group("Labs as a whole".to_owned()));
        rows.extend(labs.iter().map(|p| Row::Entry(named(p, names), *p)));
        rows.push(Row::Group("Cabinets".to_owned()));
    }
    rows.extend(cabinets.iter().map(|p| Row::Entry(named(p, names), *p)));
    let ends = labs.iter().chain(&cabinets).flat_map(|p| {
        let ends = [p.low, p.high, p.total_low, p.total_high];
        ends.into_iter().flatten().chain([p.difference])
    });
    let margin = one.margin.into_iter().flat_map(|m| [-m, m]);
    let Some(range) = range(ends.chain(margin).chain([0.0])) else {
        return Ok(None);
    };
    if rows.is_empty() {
        return Ok(None);
    }
    let layout = Layout {
        left: 296.0,
        right: WIDTH - 96.0,
        rows: rows.len(),
    };
    let x = layout.scale(range);
    let title = format!("{}: differences", heading(one));
    let description = format!(
        "Each row is the first less the second of a pair: thick, the interval of chance; thin, chance and instruments together. {} {}",
        one.margin_says, one.says
    );
    let svg = drawing((WIDTH, layout.height()), &title, &description, |c| {
        layout.heading(c, &title);
        if let Some(margin) = one.margin {
            let (a, b) = (x.clamped(-margin), x.clamped(margin));
            c.block((a, layout.top()), (b, layout.bottom()), BASELINE);
        }
        let caption = match one.unit.as_str() {
            "" => "difference".to_owned(),
            unit => format!("difference, {unit}"),
        };
        layout.axis(c, x, &caption);
        if let Some(margin) = one.margin {
            for px in [x.clamped(-margin), x.clamped(margin)] {
                c.line(&[(px, layout.top()), (px, layout.bottom())], CENTRE, 0.75);
            }
            let text = format!("agreement: ± {}", attach(significant(margin, 2), &one.unit));
            let half = text_width(&text, SMALL) / 2.0;
            let middle = x.px(0.0).clamp(half + 2.0, WIDTH - half - 2.0);
            c.text(
                (middle, layout.over()),
                &clean(&text),
                look(SMALL, MUTED, Anchor::Middle),
            );
        }
        let zero = x.px(0.0);
        c.line(&[(zero, layout.top()), (zero, layout.bottom())], INK, 1.25);
        for (i, row) in rows.iter().enumerate() {
            match row {
                Row::Group(name) => layout.group(c, i, name),
                Row::Entry(name, pair) => {
                    layout.name(c, i, name);
                    interval(c, &layout, x, i, pair);
                }
            }
        }
    })?;
    Ok(Some(Chart {
        kind: Kind::Differences,
        svg,
        left_out: left_out(
            cabinets.len(),
            one.pair_count.all as usize,
            "pairs of cabinets",
            "the clearest differences",
        ),
    }))
}

/// "Plover less Knot", each name cut so that both have room.
fn named<'a>(pair: &'a Pair, names: &Names<'a>) -> String {
    let short = |id| shortened(&clean(names.of(id)), 19);
    format!("{} less {}", short(&pair.a), short(&pair.b))
}

fn interval(c: &mut Canvas<'_>, layout: &Layout, x: Scale, row: usize, pair: &Pair) {
    let y = layout.y(row);
    let differs = pair.verdict == "differ";
    let colour = if differs { CONFORMANCE } else { DATA };
    if let (Some(low), Some(high)) = (pair.total_low, pair.total_high) {
        whisker(c, x, y, (low, high), colour);
    }
    if let (Some(low), Some(high)) = (pair.low, pair.high) {
        c.line(&[(x.clamped(low), y), (x.clamped(high), y)], colour, 6.0);
        c.dot((x.clamped(pair.difference), y), 2.0, PAPER);
    } else {
        c.ring((x.clamped(pair.difference), y), 3.5, colour);
    }
    let look = if differs {
        bold(NAME_SIZE, colour, Anchor::Start)
    } else {
        look(NAME_SIZE, INK, Anchor::Start)
    };
    layout.word(c, row, &words(&pair.verdict), look);
}
