//! What a reviewed series did in the period, in the few words that hints ask about:
//! rose, fell, stepped, saw-toothed, repeated, unsettled, still.

use super::copied::Copied;
use crate::characteristic::Characteristic;
use crate::quantity::conformance::Breach;
use crate::review::{SeriesReview, State};
use crate::signal::{Direction, SawTooth, Signal, is_news};
use crate::time::Instant;

/// Signals in turn up and down that make a saw-tooth.
const SAW_SIGNALS: usize = 3;

/// Days either side of the estimated start of a slow change within which it may have begun:
/// it is dated to a week or two at best (common practice, no source).
const SLOW_START_DAYS: f64 = 7.0;

/// Days that a date of one series may differ from another's of the same happening: a
/// fog that dries shows in the next day's catch.
const LAG_DAYS: f64 = 2.0;

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
    /// Unexplained signals of the period, repeats and those that rest on copied entries
    /// left out.
    pub(super) signals: Vec<&'a Signal>,
    /// Unexplained signals of the period that rest on copied entries, repeats included.
    pub(super) resting: Vec<&'a Signal>,
    /// Unexplained repeats of the period, those of copied entries left out.
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
    /// `copied` are the stretches of copied entries of the cabinet.
    pub(super) fn of(review: &'a SeriesReview<'a>, copied: &[Copied]) -> Observation<'a> {
        let series = review.chart.series;
        let told = review
            .signals
            .iter()
            .filter(|s| s.explained_by.is_none() && is_news(s, &review.period));
        let (resting, told): (Vec<&Signal>, Vec<&Signal>) =
            told.partition(|s| copied.iter().any(|c| c.bears(series, s)));
        let (repeats, signals): (Vec<&Signal>, Vec<&Signal>) =
            told.into_iter().partition(|s| s.rule == "repeat");
        let outcome = review.conformance.as_ref();
        let (breaches, explained_breaches): (Vec<&Breach>, Vec<&Breach>) = outcome
            .map(|o| o.breaches.iter().partition(|b| b.explained_by.is_none()))
            .unwrap_or_default();
        let saws = review.saw_tooth.is_some() || saw_tooth(&signals);
        let level = level(review, &signals, saws);
        Observation {
            still: review.state == State::Steady,
            review,
            signals,
            resting,
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

    /// The saw-tooth that was recognised.
    pub(super) fn saw_tooth(&self) -> Option<SawTooth> {
        self.review.saw_tooth
    }

    /// The event that explains its step.
    pub(super) fn explained_shift(&self) -> Option<&'a str> {
        let shift = self.review.shift.as_ref()?;
        let step = self.level.is_some_and(|level| level.pace == Pace::Step);
        shift.explained_by.as_deref().filter(|_| step)
    }

    /// Whether there is something to tell besides repeats and explained breaches.
    pub(super) fn happened(&self) -> bool {
        !self.breaches.is_empty()
            || self.level.is_some()
            || !self.signals.is_empty()
            || self.review.saw_tooth.is_some()
    }

    /// The days within which what it did began, by each thing that tells of it.
    pub(super) fn began(&self) -> Vec<(Instant, Instant)> {
        let at = |index: usize| self.review.chart.series.at().get(index).copied();
        let around =
            |from: Instant, to: Instant, days: f64| (from.plus_days(-days), to.plus_days(days));
        if let Some(drift) = &self.review.drift {
            return vec![around(drift.since, drift.since, SLOW_START_DAYS)];
        }
        if let Some(shift) = &self.review.shift {
            return vec![around(shift.earliest, shift.latest, LAG_DAYS)];
        }
        if self.saw_tooth().is_some() {
            return Vec::new();
        }
        let of_signals = self
            .signals
            .iter()
            .filter_map(|s| Some((at(s.start)?, at(s.known)?)));
        let of_breaches = self.breaches.first().and_then(|b| at(b.index));
        of_signals.chain(of_breaches.map(|at| (at, at))).collect()
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
    let directed = || signals.iter().filter(|s| s.direction != Direction::Neither);
    let first = directed().min_by_key(|s| s.start)?;
    // Signals both ways are no level.
    if directed().any(|s| s.direction != first.direction) {
        return None;
    }
    Some(Level {
        up: first.direction == Direction::Up,
        pace: Pace::Off,
        since: *review.chart.series.at().get(first.start)?,
    })
}

/// Signals that overlap, or follow each other at once, are one pattern: how many there are.
pub(super) fn patterns(signals: &[&Signal]) -> usize {
    let mut spans: Vec<(usize, usize)> = signals.iter().map(|s| (s.start, s.last)).collect();
    spans.sort_unstable();
    let mut patterns = 0;
    let mut end = None;
    for (start, last) in spans {
        if end.is_none_or(|end| start > end + 1) {
            patterns += 1;
        }
        end = end.max(Some(last));
    }
    patterns
}
