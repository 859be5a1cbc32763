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
    /// Readings of the view.
    pub(super) len: usize,
    /// Whether nothing before `from` is judged; otherwise the first few readings must be
    /// quiet, so that no signal reaches into the view from before.
    pub(super) complete: bool,
}

impl JudgedView {
    /// Whether a firing at `at` may belong to a signal that began before the view.
    fn may_be_older(self, at: usize) -> bool {
        !self.complete && at <= self.from + QUIET
    }
}

/// Signals of a change: open from evidence of `fires` on, over when it stays below
/// `releases`. `None` when one may have begun before the view.
pub(super) fn changes(
    evidence: &Evidence<'_>,
    fires: f64,
    releases: f64,
    view: JudgedView,
    out: &mut Vec<Stretch>,
) -> Option<()> {
    let mut open: Option<(Stretch, f64)> = None;
    for at in view.from..view.len {
        let found = evidence.at_if_worth(at).unwrap_or(f64::NEG_INFINITY);
        if found < releases {
            if let Some((stretch, _)) = open.take_if(|(s, _)| at - s.last > QUIET) {
                out.push(stretch);
            }
            continue;
        }
        if view.may_be_older(at) {
            return None;
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

/// Signals of a rule that scores readings one by one. Each item: signed score, whether it
/// fires, and how many readings the pattern spans. `None` as for [`changes`].
pub(super) fn firings(
    rule: &'static str,
    scored: impl Iterator<Item = (f64, bool, usize)>,
    view: JudgedView,
    out: &mut Vec<Stretch>,
) -> Option<()> {
    let mut open: Option<Stretch> = None;
    for (at, (score, fires, span)) in scored.enumerate().skip(view.from) {
        if !fires {
            out.extend(open.take_if(|s| at - s.last > QUIET));
            continue;
        }
        if view.may_be_older(at) {
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
