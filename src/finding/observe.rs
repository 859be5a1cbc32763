//! What a reviewed series did in the period, in the few words that hints ask about:
//! rose, fell, stepped, saw-toothed, repeated, unsettled, still.

use crate::characteristic::Characteristic;
use crate::quantity::conformance::Breach;
use crate::review::{SeriesReview, State};
use crate::signal::{Direction, Signal, in_period};
use crate::time::Instant;

/// Signals in turn up and down that make a saw-tooth.
const SAW_SIGNALS: usize = 3;

/// How a level moved.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Pace {
    /// Slowly: a drift with evidence.
    Slow,
    /// In a step, with evidence.
    Step,
    /// Off its centre line, manner unknown.
    Off,
}

/// A level that moved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Level {
    pub(super) up: bool,
    pub(super) pace: Pace,
    pub(super) since: Instant,
}

/// What one series of the cabinet did.
#[derive(Debug)]
pub(super) struct Observation<'a> {
    pub(super) review: &'a SeriesReview<'a>,
    /// Unexplained signals of the period, repeats left out.
    pub(super) signals: Vec<&'a Signal>,
    /// Unexplained repeats of the period.
    pub(super) repeats: Vec<&'a Signal>,
    /// Readings outside the window that no event explains.
    pub(super) breaches: Vec<&'a Breach>,
    /// Readings outside the window that an event explains.
    pub(super) explained_breaches: Vec<&'a Breach>,
    pub(super) level: Option<Level>,
    pub(super) saws: bool,
    /// Whether it was judged and did nothing.
    pub(super) still: bool,
}

impl<'a> Observation<'a> {
    pub(super) fn of(review: &'a SeriesReview<'a>) -> Observation<'a> {
        let told = review
            .signals
            .iter()
            .filter(|s| s.explained_by.is_none() && in_period(s, &review.period));
        let (repeats, signals): (Vec<&Signal>, Vec<&Signal>) =
            told.partition(|s| s.rule == "repeat");
        let outcome = review.conformance.as_ref();
        let (breaches, explained_breaches): (Vec<&Breach>, Vec<&Breach>) = outcome
            .map(|o| o.breaches.iter().partition(|b| b.explained_by.is_none()))
            .unwrap_or_default();
        let saws = saw_tooth(&signals);
        let level = level(review, &signals, saws);
        Observation {
            still: review.state == State::Steady,
            review,
            signals,
            repeats,
            breaches,
            explained_breaches,
            level,
            saws,
        }
    }

    pub(super) fn characteristic(&self) -> &'a Characteristic {
        self.review.chart.series.characteristic()
    }

    /// Whether there is something to tell besides repeats and explained breaches.
    pub(super) fn happened(&self) -> bool {
        !self.breaches.is_empty() || self.level.is_some() || !self.signals.is_empty()
    }

    /// When what it did began: its level's change, else its first signal or breach.
    pub(super) fn since(&self) -> Option<Instant> {
        let at = |index: usize| self.review.chart.series.at().get(index).copied();
        self.level
            .map(|level| level.since)
            .or_else(|| self.signals.iter().filter_map(|s| at(s.start)).min())
            .or_else(|| self.breaches.first().and_then(|b| at(b.index)))
    }
}

/// Signals that go both ways in turn, a see-saw, or several climbs one way.
fn saw_tooth(signals: &[&Signal]) -> bool {
    let toward = |direction| signals.iter().filter(|s| s.direction == direction).count();
    let (up, down) = (toward(Direction::Up), toward(Direction::Down));
    let climbs = |direction| {
        let climbs = signals
            .iter()
            .filter(|s| s.rule == "steady-climb" && s.direction == direction);
        climbs.count()
    };
    signals.iter().any(|s| s.rule == "see-saw")
        || (up > 0 && down > 0 && up + down >= SAW_SIGNALS)
        || climbs(Direction::Up) >= 2
        || climbs(Direction::Down) >= 2
}

fn level(review: &SeriesReview<'_>, signals: &[&Signal], saws: bool) -> Option<Level> {
    if let Some(drift) = &review.drift {
        return Some(Level {
            up: drift.slope_per_day > 0.0,
            pace: Pace::Slow,
            since: drift.since,
        });
    }
    if let Some(shift) = &review.shift {
        return Some(Level {
            up: shift.size > 0.0,
            pace: Pace::Step,
            since: shift.at,
        });
    }
    if saws {
        return None;
    }
    // The way of the latest signal counts; it began with the first signal that way.
    let directed = || signals.iter().filter(|s| s.direction != Direction::Neither);
    let latest = directed().max_by_key(|s| s.last)?;
    let start = directed()
        .filter(|s| s.direction == latest.direction)
        .map(|s| s.start)
        .min()?;
    Some(Level {
        up: latest.direction == Direction::Up,
        pace: Pace::Off,
        since: *review.chart.series.at().get(start)?,
    })
}
