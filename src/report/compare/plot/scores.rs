//! Score bars: how far each cabinet, and each lab, lies from the assigned value, against
//! the lines at 2 and 3.

use super::rows::{Layout, NAME_SIZE, Row, Upright, bold, by_lab, look};
use super::{Chart, Kind, WIDTH, left_out};
use crate::report::compare::naming::{Names, heading, score, with_room};
use crate::report::format::{capital, number, signed};
use crate::report::plot::PlotError;
use crate::report::plot::axis::Scale;
use crate::report::plot::canvas::{Anchor, Canvas, drawing};
use crate::report::plot::palette::{CONFORMANCE, DATA, INK, MUTED, SIGNAL};
use crate::report::wire::{ComparedCharacteristic, Participant};

/// Bars drawn at most.
const MOST: usize = 40;
/// Scores beyond this leave the panel; their number stands at the right all the same.
const FARTHEST: f64 = 8.0;

/// The score bars; `None` when nobody is scored.
pub(super) fn scores(
    one: &ComparedCharacteristic,
    names: &Names<'_>,
) -> Result<Option<Chart>, PlotError> {
    let all = one.participants.iter().chain(&one.labs);
    let largest = all
        .filter_map(score)
        .map(|(z, _)| z.abs())
        .fold(None, |most: Option<f64>, z| {
            Some(most.map_or(z, |m| m.max(z)))
        });
    let Some(largest) = largest else {
        return Ok(None);
    };
    let size = |p: &Participant| score(p).map(|s| s.0);
    let cabinets = with_room(&one.participants, MOST, size);
    let labs = with_room(&one.labs, MOST, size);
    let left_out = left_out(
        cabinets.len(),
        one.participants.len(),
        "cabinets",
        "those with the largest scores",
    );
    let mut rows = by_lab(&cabinets, names);
    if !labs.is_empty() {
        rows.push(Row::Group("Labs as a whole".to_owned()));
        rows.extend(labs.iter().map(|lab| Row::Entry(lab.name.clone(), *lab)));
    }
    let layout = Layout {
        left: 240.0,
        right: WIDTH - 176.0,
        rows: rows.len(),
    };
    let reach = largest.clamp(3.2, FARTHEST) * 1.06;
    let x = layout.scale((-reach, reach));
    let title = format!("{}: scores", heading(one));
    let description = format!(
        "Bars from the assigned value, lines at plus and minus 2 and 3. {}",
        one.says
    );
    let svg = drawing((WIDTH, layout.height()), &title, &description, |c| {
        layout.heading(c, &title);
        layout.axis(c, x, "score: distance from the assigned value in sigma");
        for (at, name, dashes) in [
            (-3.0, "−3", None),
            (-2.0, "−2", Some(&[5.0, 3.0][..])),
            (2.0, "+2", Some(&[5.0, 3.0][..])),
            (3.0, "+3", None),
        ] {
            let mark = Upright {
                name,
                colour: SIGNAL,
                width: 1.0,
                dashes,
            };
            layout.upright(c, x.px(at), &mark);
        }
        let zero = x.px(0.0);
        c.line(&[(zero, layout.top()), (zero, layout.bottom())], INK, 1.0);
        for (i, row) in rows.iter().enumerate() {
            match row {
                Row::Group(name) => layout.group(c, i, name),
                Row::Entry(name, participant) => {
                    layout.name(c, i, name);
                    bar(c, &layout, x, i, participant);
                }
            }
        }
    })?;
    Ok(Some(Chart {
        kind: Kind::Scores,
        svg,
        left_out,
    }))
}

/// A bar with its number and the verdict in words; only the words where there is no score.
fn bar(c: &mut Canvas<'_>, layout: &Layout, x: Scale, row: usize, participant: &Participant) {
    let (colour, weight) = match participant.verdict.as_str() {
        "action signal" => (CONFORMANCE, 13.0),
        "warning signal" => (SIGNAL, 9.0),
        _ => (DATA, 6.0),
    };
    let y = layout.y(row);
    let words = match score(participant) {
        Some((value, sign)) => {
            let end = x.clamped(value);
            c.line(&[(x.px(0.0), y), (end, y)], colour, weight);
            if !x.holds(value) {
                // An open arrow: the bar goes on beyond the panel.
                let tip = if value > 0.0 { 9.0 } else { -9.0 };
                let arrow = [(end, y - 6.0), (end + tip, y), (end, y + 6.0)];
                c.line(&arrow, colour, 1.5);
            }
            format!("{sign} {}  {}", signed(value, 2), participant.verdict)
        }
        None => {
            c.ring((x.px(0.0), y), 3.0, MUTED);
            format!(
                "{}, n = {}",
                capital(&participant.verdict),
                number(participant.n as f64, 0)
            )
        }
    };
    let looks = match participant.verdict.as_str() {
        "action signal" | "warning signal" => bold(NAME_SIZE, colour, Anchor::Start),
        _ => look(NAME_SIZE, INK, Anchor::Start),
    };
    layout.word(c, row, &words, looks);
}
