//! Telling a stretch of firing once: when a signal opens, goes on, turns and is over.

use super::change::Evidence;
use super::watch::Stretch;
use crate::signal::Direction;

/// Quiet readings after which a rule that fires again is a new signal.
pub(super) const QUIET: usize = 3;

/// The readings of a view that are judged.
#[derive(Debug, Clone, Copy)]
pub(super) struct JudgedView {
    /// First of them.
    pub(super) from: usize,
    /// First whose signals are asked for.
    pub(super) asked: usize,
    /// Readings of the view.
    pub(super) len: usize,
    /// Whether nothing before `from` is judged; otherwise a few readings before those asked
    /// for must be quiet, so that no signal reaches into them from before the view.
    pub(super) complete: bool,
}

/// Signals of a change that touch the readings asked for: open from evidence of `fires` on,
/// over when it stays below `releases`. `None` when one may have begun before the view.
pub(super) fn changes(
    evidence: &Evidence<'_>,
    fires: f64,
    releases: f64,
    view: JudgedView,
    out: &mut Vec<Stretch>,
) -> Option<()> {
    let mut open: Option<(Stretch, f64)> = None;
    let worth = evidence.worth_a_look(view.from..view.len);
    let at_if_worth = |at: usize| {
        let worth = worth.get(at - view.from).is_some_and(|worth| *worth);
        let found = worth.then(|| evidence.at(at)).flatten();
        found.unwrap_or(f64::NEG_INFINITY)
    };
    // Back from the first reading asked for to where no signal can be open any more.
    let mut lead: Vec<f64> = Vec::with_capacity(view.asked - view.from);
    let mut quiet = 0;
    while quiet <= QUIET && view.from + lead.len() < view.asked {
        let found = at_if_worth(view.asked - 1 - lead.len());
        quiet = if found < releases { quiet + 1 } else { 0 };
        lead.push(found);
    }
    if quiet <= QUIET && !view.complete {
        return None;
    }
    for at in view.asked - lead.len()..view.len {
        let known = view
            .asked
            .checked_sub(at + 1)
            .and_then(|place| lead.get(place));
        let found = known.copied().unwrap_or_else(|| at_if_worth(at));
        if found < releases {
            if let Some((stretch, _)) = open.take_if(|(s, _)| at - s.last > QUIET) {
                out.push(stretch);
            }
            continue;
        }
        if let Some((stretch, _)) = &mut open {
            stretch.last = at;
        }
        let opening = open.is_none() && found >= fires;
        let stronger = open.as_ref().is_some_and(|(_, most)| found > *most);
        if !opening && !stronger {
            continue;
        }
        let Some(start) = evidence.start(at) else {
            continue;
        };
        let direction = if start.upward {
            Direction::Up
        } else {
            Direction::Down
        };
        match &mut open {
            Some((stretch, most)) if stretch.direction == direction => {
                stretch.start = start.index.min(stretch.known);
                *most = found;
            }
            Some(_) if found < fires => {}
            // The other way now: what was seen before is over, this is new.
            _ => {
                let stretch = Stretch {
                    rule: "ramp",
                    direction,
                    known: at,
                    start: start.index,
                    last: at,
                    ongoing: false,
                };
                if let Some((mut over, _)) = open.replace((stretch, found)) {
                    over.last = at - 1;
                    out.push(over);
                }
            }
        }
    }
    if let Some((mut stretch, _)) = open {
        stretch.ongoing = stretch.last + 1 == view.len;
        out.push(stretch);
    }
    Some(())
}

/// Signals of a rule that scores readings one by one. Each item, from the first judged on:
/// signed score, whether it fires, and how many readings the pattern spans. `None` as for
/// [`changes`].
pub(super) fn firings(
    rule: &'static str,
    scored: impl Iterator<Item = (f64, bool, usize)>,
    view: JudgedView,
    out: &mut Vec<Stretch>,
) -> Option<()> {
    let mut open: Option<Stretch> = None;
    for (at, (score, fires, span)) in (view.from..).zip(scored) {
        if !fires {
            out.extend(open.take_if(|s| at - s.last > QUIET));
            continue;
        }
        // A firing at the first readings may belong to a signal that began before the view.
        if !view.complete && at <= view.from + QUIET {
            return None;
        }
        let direction = if score > 0.0 {
            Direction::Up
        } else if score < 0.0 {
            Direction::Down
        } else {
            Direction::Neither
        };
        match &mut open {
            Some(stretch) if stretch.direction == direction => stretch.last = at,
            _ => out.extend(open.replace(Stretch {
                rule,
                direction,
                known: at,
                start: (at + 1).saturating_sub(span),
                last: at,
                ongoing: false,
            })),
        }
    }
    if let Some(mut stretch) = open {
        stretch.ongoing = stretch.last + 1 == view.len;
        out.push(stretch);
    }
    Some(())
}
