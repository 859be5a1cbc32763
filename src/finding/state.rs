//! The state of a series: decided here and nowhere else.
//!
//! It weighs what other parts found; it looks at no reading itself.

use crate::chart::{Chart, NoLimits};
use crate::drift::{Drift, Shift};
use crate::quantity::conformance::Outcome;
use crate::review::State;
use crate::signal::wording::{count, day, number, two_digits, with_unit};
use crate::signal::{Signal, in_period};
use crate::time::{Instant, Zone};
use chrono::Datelike;
use std::ops::Range;

/// What was found of a series.
#[derive(Debug, Clone, Copy)]
pub struct Found<'a> {
    /// Its chart.
    pub chart: &'a Chart<'a>,
    /// Indices of the readings of the period.
    pub period: &'a Range<usize>,
    /// Its signals, of any date up to the end of the period.
    pub signals: &'a [Signal],
    /// The period against the standard's window; `None` without one.
    pub conformance: Option<&'a Outcome>,
    /// Slow change with evidence.
    pub drift: Option<&'a Drift>,
    /// Step change with evidence.
    pub shift: Option<&'a Shift>,
    /// Zone of the wall clock.
    pub zone: Zone,
}

/// The state, and why, in a sentence.
///
/// The most urgent that holds, in this order: `breached` when a reading of the period is
/// outside the window and no event explains it; `drifting`; `shifted`; `unsteady` when a
/// signal of the period is explained by no event; `too-few` when nothing of the period
/// could be judged; `steady`.
pub fn decide(found: &Found<'_>) -> (State, String) {
    let series = found.chart.series;
    let unit = series.unit();
    let year = series
        .at()
        .get(found.period.end.saturating_sub(1))
        .map_or(0, |&at| found.zone.date(at).year());
    let date = |at: Instant| day(found.zone.date(at), year);

    if let Some(outcome) = found.conformance {
        let outside = outcome.breaches.iter().filter(|b| b.explained_by.is_none());
        let outside = outside.count();
        if outside > 0 {
            let be = if outside == 1 { "is" } else { "are" };
            return (
                State::Breached,
                format!(
                    "{outside} of {} of the period {be} outside the conformance limits, and no event explains {}.",
                    count(outcome.checked, "reading"),
                    if outside == 1 { "it" } else { "them" }
                ),
            );
        }
    }
    if let Some(drift) = found.drift {
        let way = if drift.slope_per_day < 0.0 {
            "Falls"
        } else {
            "Rises"
        };
        let slope = with_unit(&two_digits(drift.slope_per_day.abs()), unit);
        return (
            State::Drifting,
            format!("{way} by {slope} a day since about {}.", date(drift.since)),
        );
    }
    if let Some(shift) = found.shift {
        let way = if shift.size < 0.0 { "down" } else { "up" };
        let size = with_unit(&two_digits(shift.size.abs()), unit);
        return (
            State::Shifted,
            format!("Stepped {way} by {size} about {}.", date(shift.at)),
        );
    }
    let told = found.signals.iter().filter(|s| in_period(s, found.period));
    let (explained, unexplained): (Vec<&Signal>, Vec<&Signal>) =
        told.partition(|s| s.explained_by.is_some());
    if let Some(first) = unexplained.first() {
        let says = if unexplained.len() == 1 {
            format!("One signal that no event explains. {}", first.says)
        } else {
            format!(
                "{} signals that no event explains. The first: {}",
                unexplained.len(),
                first.says
            )
        };
        return (State::Unsteady, says);
    }
    if let Some(why) = not_judged(found) {
        return (State::TooFew, why);
    }
    let says = match explained.len() {
        0 => "No signal in the period.".to_owned(),
        1 => "One signal in the period, explained by an event.".to_owned(),
        n => format!("{n} signals in the period, all explained by events."),
    };
    (State::Steady, says)
}

/// Why no reading of the period could be judged; `None` when one could.
fn not_judged(found: &Found<'_>) -> Option<String> {
    if found.period.is_empty() {
        return Some("No reading falls in the period.".to_owned());
    }
    // The stage in force at the end of the period.
    let stage = found
        .chart
        .stages
        .iter()
        .rfind(|stage| stage.readings.start < found.period.end)?;
    match &stage.limits {
        Err(NoLimits::TooFew { n }) => Some(format!(
            "{} that can be used: control limits need at least 8.",
            count(*n, "reading")
        )),
        Err(NoLimits::NoSpread { n, value }) => Some(format!(
            "All {n} readings are {}: there is no spread to set control limits from.",
            with_unit(&shortest(*value), found.chart.series.unit())
        )),
        Ok(limits) if stage.judged_from >= found.period.end => Some(format!(
            "The control limits rest on {}, the latest included: none is left to judge.",
            count(limits.n, "reading")
        )),
        Ok(_) => None,
    }
}

/// The number as it was read: no more decimals than it needs, at most four.
fn shortest(value: f64) -> String {
    (0..4)
        .map(|decimals| (decimals, number(value, decimals)))
        .find(|(_, text)| text.parse::<f64>().is_ok_and(|v| (v - value).abs() < 1e-9))
        .map_or_else(|| number(value, 4), |(_, text)| text)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::characteristic::Characteristic;
    use crate::finding::testing::{drift, outcome, shift, signal};
    use crate::signal::fixture::{chart, daily, limits};

    /// The verdict on ten readings, the last five in the period.
    fn verdict(change: impl for<'a> FnOnce(&mut Found<'a>)) -> (State, String) {
        let series = daily("Plover", Characteristic::CollectionRate, &[1.5; 10]);
        let chart = chart(&series, limits(1.5, 0.05));
        let mut found = Found {
            chart: &chart,
            period: &(5..10),
            signals: &[],
            conformance: None,
            drift: None,
            shift: None,
            zone: Zone::AS_WRITTEN,
        };
        change(&mut found);
        decide(&found)
    }

    #[test]
    fn nothing_to_see_is_steady() {
        assert_eq!(
            verdict(|_| ()),
            (State::Steady, "No signal in the period.".to_owned())
        );
    }

    #[test]
    fn the_most_urgent_state_wins() {
        let outside = outcome(&[7], &[]);
        let drift = drift(-0.012, 3, None);
        let shift = shift(0.21, 4);
        let signals = [signal("one-sided-run", -1, 2, 6, 9)];
        assert_eq!(
            decide_all(Some(&outside), Some(&drift), Some(&shift), &signals),
            (
                State::Breached,
                "1 of 5 readings of the period is outside the conformance limits, and no event explains it."
                    .to_owned()
            )
        );
        let explained = outcome(&[], &[7]);
        assert_eq!(
            decide_all(Some(&explained), Some(&drift), Some(&shift), &signals),
            (
                State::Drifting,
                "Falls by 0.012 mL/h per 80 cm² a day since about 5 March.".to_owned()
            )
        );
        assert_eq!(
            decide_all(None, None, Some(&shift), &signals),
            (
                State::Shifted,
                "Stepped up by 0.21 mL/h per 80 cm² about 6 March.".to_owned()
            )
        );
        assert_eq!(
            decide_all(None, None, None, &signals),
            (
                State::Unsteady,
                "One signal that no event explains. Signal of one-sided-run.".to_owned()
            )
        );
    }

    fn decide_all(
        conformance: Option<&Outcome>,
        drift: Option<&Drift>,
        shift: Option<&Shift>,
        signals: &[Signal],
    ) -> (State, String) {
        let series = daily("Plover", Characteristic::CollectionRate, &[1.5; 10]);
        let chart = chart(&series, limits(1.5, 0.05));
        decide(&Found {
            chart: &chart,
            period: &(5..10),
            signals,
            conformance,
            drift,
            shift,
            zone: Zone::AS_WRITTEN,
        })
    }

    #[test]
    fn explained_and_ended_signals_leave_a_series_steady() {
        let mut explained = signal("beyond-limit", 1, 7, 7, 7);
        explained.explained_by = Some("new nozzle".to_owned());
        let ended = signal("beyond-limit", 1, 2, 2, 3);
        assert_eq!(
            decide_all(None, None, None, &[explained, ended]),
            (
                State::Steady,
                "One signal in the period, explained by an event.".to_owned()
            )
        );
    }

    #[test]
    fn what_could_not_be_judged_is_too_few() {
        let series = daily("Plover", Characteristic::CabinetTemperature, &[35.0; 10]);
        let verdict = |limits, judged_from, period: Range<usize>| {
            let mut chart = chart(&series, crate::signal::fixture::limits(35.0, 0.1));
            chart.stages[0].limits = limits;
            chart.stages[0].judged_from = judged_from;
            decide(&Found {
                chart: &chart,
                period: &period,
                signals: &[],
                conformance: None,
                drift: None,
                shift: None,
                zone: Zone::AS_WRITTEN,
            })
        };
        let too_few = |says: &str| (State::TooFew, says.to_owned());
        assert_eq!(
            verdict(Err(NoLimits::TooFew { n: 7 }), 10, 5..10),
            too_few("7 readings that can be used: control limits need at least 8.")
        );
        assert_eq!(
            verdict(Err(NoLimits::NoSpread { n: 10, value: 35.0 }), 10, 5..10),
            too_few("All 10 readings are 35 °C: there is no spread to set control limits from.")
        );
        assert_eq!(
            verdict(Ok(limits(35.0, 0.1)), 10, 5..10),
            too_few(
                "The control limits rest on 30 readings, the latest included: none is left to judge."
            )
        );
        assert_eq!(
            verdict(Ok(limits(35.0, 0.1)), 0, 10..10),
            too_few("No reading falls in the period.")
        );
    }
}
