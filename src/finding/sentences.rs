//! The sentences of a cabinet's findings.

use super::breach::{breach, exposed};
use super::cabinet::Family;
use super::events::near;
use super::hints::Hint;
use super::matching::{Matched, Scene};
use super::observe::{Observation, Pace};
use super::{CabinetContext, Urgency};
use crate::characteristic::Characteristic;
use crate::signal::SawTooth;
use crate::signal::wording::{self, count, decimals_of_readings, list, two_digits, with_unit};
use crate::time::Instant;

/// What kind of finding a series leads to, the most urgent first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Kind {
    /// Readings outside the window.
    Breach,
    /// A drift that is forecast to leave the window.
    Forecast,
    /// A drift without a forecast.
    Drift,
    /// A step.
    Shift,
    /// Signals toward one side.
    Level,
    /// Signals up and down in turn.
    Saw,
    /// Other signals.
    Unsettled,
}

impl Kind {
    pub(super) fn of(seen: &Observation<'_>) -> Kind {
        if !seen.breaches.is_empty() {
            return Kind::Breach;
        }
        if let Some(drift) = &seen.review.drift {
            return if drift.breach.is_some() {
                Kind::Forecast
            } else {
                Kind::Drift
            };
        }
        match seen.level.map(|level| level.pace) {
            Some(Pace::Step) => Kind::Shift,
            Some(_) => Kind::Level,
            None if seen.saws => Kind::Saw,
            None => Kind::Unsettled,
        }
    }

    pub(super) fn urgency(self) -> Urgency {
        match self {
            Kind::Breach => Urgency::Breach,
            Kind::Forecast => Urgency::HeadingForBreach,
            Kind::Drift | Kind::Shift => Urgency::Changed,
            Kind::Level | Kind::Saw | Kind::Unsettled => Urgency::Unusual,
        }
    }
}

/// The first sentence: what happened to the series that leads.
pub(super) fn lead(cabinet: &CabinetContext<'_>, seen: &Observation<'_>, kind: Kind) -> String {
    let title = cabinet.title();
    let spoken = seen.characteristic().spoken();
    match kind {
        Kind::Breach => {
            let mut text = breach(cabinet, seen, &seen.breaches);
            text.push(' ');
            text.push_str(&exposed(cabinet, seen, &seen.breaches));
            if let Some(drift) = drift_clause(cabinet, seen) {
                text.push_str(&format!(" It {drift}."));
            }
            text
        }
        Kind::Forecast | Kind::Drift => {
            let clause = drift_clause(cabinet, seen).unwrap_or_default();
            let outlook = outlook(cabinet, seen);
            if *seen.characteristic() == Characteristic::CollectionRate {
                format!("{title} {clause}; {outlook}.")
            } else {
                format!("{title}: {spoken} {clause}; {outlook}.")
            }
        }
        Kind::Shift => format!(
            "{title}: {spoken} {}.",
            shift_clause(cabinet, seen).unwrap_or_default()
        ),
        Kind::Level => {
            let side = match seen.level {
                Some(level) if !level.up => "low",
                _ => "high",
            };
            let since = seen.level.map_or(String::new(), |l| cabinet.day(l.since));
            format!(
                "{title}: {spoken} has run unusually {side} since {since}. {}",
                first_signal(seen)
            )
        }
        Kind::Saw => match seen.saw_tooth() {
            Some(saw) => format!("{title}: {spoken} {}.", saw_clause(cabinet, seen, &saw)),
            None => format!(
                "{title}: {spoken} went up and down in turn ({}). {}",
                count(seen.signals.len(), "signal"),
                first_signal(seen)
            ),
        },
        Kind::Unsettled => format!("{title}: {spoken} is unsettled. {}", first_signal(seen)),
    }
}

/// `climbs by 0.034 a day and falls back by 0.40 about every 14 days, 8 times since 3 March`.
fn saw_clause(cabinet: &CabinetContext<'_>, seen: &Observation<'_>, saw: &SawTooth) -> String {
    let series = seen.review.chart.series;
    let (goes, back) = if saw.per_day > 0.0 {
        ("climbs", "falls back")
    } else {
        ("falls", "jumps back up")
    };
    let size = |value: f64| with_unit(&two_digits(value.abs()), series.unit());
    let since = series.at().get(saw.first).copied();
    format!(
        "{goes} by {} a day and {back} by {} about every {:.0} days, {} times since {}",
        size(saw.per_day),
        size(saw.jump),
        saw.period_days,
        saw.jumps,
        since.map_or(String::new(), |at| cabinet.day(at))
    )
}

fn first_signal(seen: &Observation<'_>) -> String {
    let more = match seen.signals.len() {
        0 | 1 => String::new(),
        n => format!(" ({}.)", count(n - 1, "more signal")),
    };
    seen.signals
        .first()
        .map_or(String::new(), |signal| format!("{}{more}", signal.says))
}

/// Decimals of the readings of a series, whether it has limits or not.
pub(super) fn decimals(seen: &Observation<'_>) -> usize {
    let stages = seen.review.chart.stages.iter().rev();
    stages
        .filter_map(|stage| stage.limits.as_ref().ok())
        .map(decimals_of_readings)
        .next()
        .unwrap_or(2)
}

/// `from 9 to 13 March`, or `all on 9 March`.
pub(super) fn between(
    cabinet: &CabinetContext<'_>,
    from: Instant,
    to: Instant,
    same: &str,
    lead: &str,
    link: &str,
) -> String {
    let days = cabinet.days(from, to);
    if days.contains(" to ") {
        format!("{lead} {}", days.replace(" to ", &format!(" {link} ")))
    } else {
        format!("{same} {days}")
    }
}

/// `falls by 0.05 °C a day since about 9 March`; of the collection rate, what it catches.
pub(super) fn drift_clause(cabinet: &CabinetContext<'_>, seen: &Observation<'_>) -> Option<String> {
    let drift = seen.review.drift.as_ref()?;
    let since = cabinet.day(drift.since);
    let slope = two_digits(drift.slope_per_day.abs());
    let falls = drift.slope_per_day < 0.0;
    let leads =
        *seen.characteristic() == Characteristic::CollectionRate && seen.breaches.is_empty();
    Some(if leads {
        let less = if falls { "less" } else { "more" };
        format!("catches {slope} mL/h {less} every day since about {since}")
    } else {
        let way = if falls { "falls" } else { "rises" };
        let by = with_unit(&slope, seen.review.chart.series.unit());
        format!("{way} by {by} a day since about {since}")
    })
}

/// When a drift leaves the window, or that no date can be given.
fn outlook(cabinet: &CabinetContext<'_>, seen: &Observation<'_>) -> String {
    let Some(breach) = seen.review.drift.as_ref().and_then(|d| d.breach.as_ref()) else {
        return match &seen.review.conformance {
            Some(_) => "no date for leaving the window can be given".to_owned(),
            None => "no window is set for it, so there is no forecast".to_owned(),
        };
    };
    match breach.latest {
        Some(latest) => format!(
            "at this pace it leaves the window {}",
            between(cabinet, breach.earliest, latest, "about", "between", "and")
        ),
        None => format!(
            "at this pace it leaves the window on {} at the earliest, most likely about {}, \
             or perhaps not at all",
            cabinet.day(breach.earliest),
            cabinet.day(breach.likely)
        ),
    }
}

/// `stepped up by 0.0021 about 9 March (between 8 and 10 March)`.
pub(super) fn shift_clause(cabinet: &CabinetContext<'_>, seen: &Observation<'_>) -> Option<String> {
    let shift = seen.review.shift.as_ref()?;
    let way = if shift.size < 0.0 { "down" } else { "up" };
    let size = with_unit(
        &two_digits(shift.size.abs()),
        seen.review.chart.series.unit(),
    );
    let dated = if shift.earliest == shift.latest {
        String::new()
    } else {
        format!(
            " ({})",
            between(
                cabinet,
                shift.earliest,
                shift.latest,
                "on",
                "between",
                "and"
            )
        )
    };
    Some(format!(
        "stepped {way} by {size} about {}{dated}",
        cabinet.day(shift.at)
    ))
}

/// The event that explains a step, or that the lab noted near the change; a breach's
/// events are told elsewhere.
pub(super) fn noted(
    cabinet: &CabinetContext<'_>,
    seen: &Observation<'_>,
    kind: Kind,
) -> Option<String> {
    if matches!(kind, Kind::Breach | Kind::Saw) {
        return None;
    }
    if let Some(event) = seen.explained_shift() {
        return Some(format!(
            "The lab's events explain it: “{event}”; if the new level is to stay, let it open a new stage \
             in events.csv."
        ));
    }
    let events = near(&cabinet.events, seen.characteristic(), seen.since()?);
    let nearest = *events.first()?;
    Some(format!(
        "The lab noted “{}” on {}.",
        nearest.what,
        cabinet.day(nearest.at)
    ))
}

/// The other series of the happening, in a sentence, without those of the leading family
/// that the `hint` tells of; `None` when none is left.
pub(super) fn others(seen: &[&Observation<'_>], hint: Option<&Matched>) -> Option<String> {
    let lead = Family::of(seen.first()?.characteristic());
    let told = |o: &Observation<'_>| {
        o.breaches.is_empty()
            && Family::of(o.characteristic()) == lead
            && hint.is_some_and(|m| m.cited.contains(o.characteristic()))
    };
    let spread = |o: &Observation<'_>| *o.characteristic() == Characteristic::CollectionSpread;
    // The rate is their mean: where both go its way, it stands for them.
    let way = |c: &Characteristic| {
        let of = seen.iter().find(|o| o.characteristic() == c)?;
        of.breaches.is_empty().then_some(of.level?.up)
    };
    let rate = way(&Characteristic::CollectionRate);
    let alike = rate.is_some()
        && way(&Characteristic::CollectionNear) == rate
        && way(&Characteristic::CollectionFar) == rate;
    let funnel = |o: &Observation<'_>| {
        matches!(
            o.characteristic(),
            Characteristic::CollectionNear | Characteristic::CollectionFar
        )
    };
    let mut others: Vec<(Vec<&str>, String)> = Vec::new();
    for other in seen.iter().skip(1) {
        // The spread is computed from both funnels: where they are told, it adds nothing.
        let computed = spread(other) && seen.iter().any(|o| funnel(o));
        if told(other) || computed || (alike && funnel(other)) {
            continue;
        }
        let (name, mut does) = (other.characteristic().spoken(), does(other));
        if alike && *other.characteristic() == Characteristic::CollectionRate {
            does.push_str(", near and far alike");
        }
        match others.last_mut() {
            Some((names, same)) if *same == does => names.push(name),
            _ => others.push((vec![name], does)),
        }
    }
    if others.is_empty() {
        return None;
    }
    let others: Vec<String> = others
        .iter()
        .map(|(names, does)| format!("{} {does}", list(names)))
        .collect();
    Some(format!("With it: {}.", others.join("; ")))
}

/// What a series did, after its name: `up by 0.0014`.
fn does(seen: &Observation<'_>) -> String {
    let size = |value: f64| with_unit(&two_digits(value.abs()), seen.review.chart.series.unit());
    if !seen.breaches.is_empty() {
        return "outside its window too".to_owned();
    }
    let way = match seen.level {
        Some(level) if level.up => "up",
        Some(_) => "down",
        None if seen.saws => return "up and down in turn".to_owned(),
        None => return "unsettled".to_owned(),
    };
    match (&seen.review.drift, &seen.review.shift) {
        (Some(drift), _) => format!("{way} by {} a day", size(drift.slope_per_day)),
        (None, Some(shift)) => format!("{way} by {}", size(shift.size)),
        _ => way.to_owned(),
    }
}

/// What the hint sees and where to look first, in a sentence.
pub(super) fn hint(scene: &Scene<'_>, hint: &Hint) -> String {
    let because = hint.because.replace("{faster}", faster(scene));
    format!("{because}: look at {} first.", hint.look)
}

/// Which funnel moves faster, where both drift and their slopes clearly differ.
fn faster(scene: &Scene<'_>) -> &'static str {
    /// Ratio of slopes that is worth a word (common practice).
    const CLEARLY: f64 = 1.25;
    let slope = |c: &Characteristic| {
        let observed = scene.observed.get(c)?;
        observed
            .review
            .drift
            .as_ref()
            .map(|d| d.slope_per_day.abs())
    };
    match (
        slope(&Characteristic::CollectionNear),
        slope(&Characteristic::CollectionFar),
    ) {
        (Some(near), Some(far)) if near > CLEARLY * far => {
            ", the near one faster than the far one,"
        }
        (Some(near), Some(far)) if far > CLEARLY * near => {
            ", the far one faster than the near one,"
        }
        _ => "",
    }
}

/// Places to look that are listed.
const PLACES_LISTED: usize = 4;

/// The list of places to look, most likely first, and last the caution that goes with the
/// first of them.
pub(super) fn look_at(hints: &[Matched]) -> Vec<String> {
    let mut places: Vec<String> = Vec::new();
    for place in hints.iter().flat_map(|matched| matched.hint.places) {
        if places.len() < PLACES_LISTED && !places.iter().any(|p| p == place) {
            places.push((*place).to_owned());
        }
    }
    let caution = hints.iter().find_map(|matched| matched.hint.caution);
    places.extend(caution.map(|caution| caution.says().to_owned()));
    places
}

/// Decimals for a slope's or size's interval: enough to tell its ends apart.
pub(super) fn interval(low: f64, high: f64) -> (String, String) {
    wording::interval(low, high)
}
