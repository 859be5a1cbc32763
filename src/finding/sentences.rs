//! The sentences of a cabinet's findings.

use super::events::near;
use super::hints::Hint;
use super::matching::{Matched, Scene};
use super::observe::{Observation, Pace};
use super::{CabinetContext, Urgency};
use crate::characteristic::Characteristic;
use crate::lab::Exposure;
use crate::quantity::conformance::Breach;
use crate::signal::wording::{
    self, count, decimals_for, decimals_of_readings, list, number, two_digits, with_unit,
};
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
        Kind::Saw => format!(
            "{title}: {spoken} went up and down in turn ({}). {}",
            count(seen.signals.len(), "signal"),
            first_signal(seen)
        ),
        Kind::Unsettled => format!("{title}: {spoken} is unsettled. {}", first_signal(seen)),
    }
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

/// The window as a sentence names it.
fn window(seen: &Observation<'_>) -> String {
    let unit = seen.review.chart.series.unit();
    let plain = |value: f64| shortest(value);
    match seen.review.conformance.as_ref().map(|o| (o.lower, o.upper)) {
        Some((Some(lower), Some(upper))) => {
            with_unit(&format!("{} to {}", plain(lower), plain(upper)), unit)
        }
        Some((Some(lower), None)) => format!("at least {}", with_unit(&plain(lower), unit)),
        Some((None, Some(upper))) => format!("at most {}", with_unit(&plain(upper), unit)),
        _ => "what the standard asks".to_owned(),
    }
}

/// A limit as the profile writes it: no more decimals than it needs, at most four.
fn shortest(value: f64) -> String {
    (0..4)
        .map(|decimals| number(value, decimals))
        .find(|text| text.parse::<f64>().is_ok_and(|v| (v - value).abs() < 1e-9))
        .unwrap_or_else(|| number(value, 4))
}

/// How many readings were outside, when, and the worst of them.
fn breach(cabinet: &CabinetContext<'_>, seen: &Observation<'_>, breaches: &[&Breach]) -> String {
    let series = seen.review.chart.series;
    let at = |index: usize| series.at().get(index).copied().unwrap_or(Instant(0));
    let value = |index: usize| series.values().get(index).copied().unwrap_or(f64::NAN);
    let (Some(first), Some(last)) = (breaches.first(), breaches.last()) else {
        return String::new();
    };
    let beyond = |b: &Breach| (value(b.index) - b.limit).abs();
    let worst = breaches
        .iter()
        .copied()
        .reduce(|a, b| if beyond(b) > beyond(a) { b } else { a })
        .unwrap_or(first);
    let extreme = match (
        breaches.iter().any(|b| b.high),
        breaches.iter().any(|b| !b.high),
    ) {
        (true, false) => "highest",
        (false, true) => "lowest",
        _ => "farthest out",
    };
    let checked = seen.review.conformance.as_ref().map_or(0, |o| o.checked);
    let profile = cabinet
        .profile
        .map_or(String::new(), |profile| format!(" ({profile})"));
    let worst_text = with_unit(&number(value(worst.index), decimals(seen)), series.unit());
    let (from, to) = (at(first.index), at(last.index));
    let head = format!(
        "{}: {} was outside {}{profile}",
        cabinet.title(),
        seen.characteristic().spoken(),
        window(seen)
    );
    if breaches.len() == 1 {
        format!(
            "{head} in 1 of {}, at {worst_text} on {}.",
            count(checked, "reading"),
            cabinet.day(from)
        )
    } else {
        format!(
            "{head} in {} of {}, {}; the {extreme} was {worst_text} on {}.",
            breaches.len(),
            count(checked, "reading"),
            between(cabinet, from, to, "all on", "from", "to"),
            cabinet.day(at(worst.index))
        )
    }
}

/// Decimals of the readings of a series, whether it has limits or not.
fn decimals(seen: &Observation<'_>) -> usize {
    let stages = seen.review.chart.stages.iter().rev();
    stages
        .filter_map(|stage| stage.limits.as_ref().ok())
        .map(decimals_of_readings)
        .next()
        .unwrap_or(2)
}

/// `from 9 to 13 March`, or `all on 9 March`.
fn between(
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

/// Which exposures ran while readings were outside, and who decides.
fn exposed(cabinet: &CabinetContext<'_>, seen: &Observation<'_>, breaches: &[&Breach]) -> String {
    let series = seen.review.chart.series;
    let at = |b: &Breach| series.at().get(b.index).copied();
    let times: Vec<Instant> = breaches.iter().filter_map(|b| at(b)).collect();
    let ran = |e: &&&Exposure| {
        times
            .iter()
            .any(|&t| e.start <= t && e.end.is_none_or(|end| t <= end))
    };
    let jobs: Vec<&str> = cabinet
        .exposures
        .iter()
        .filter(ran)
        .map(|e| e.job.as_str())
        .collect();
    const SHOWN: usize = 5;
    let decides = "the lab's non-conforming-work procedure decides";
    match jobs.len() {
        0 if cabinet.exposures.is_empty() => {
            format!("If an exposure was running, {decides}.")
        }
        0 => "No listed exposure was running then.".to_owned(),
        1 => format!("Exposure {} was running: {decides}.", jobs.join("")),
        n if n <= SHOWN => format!("Exposures {} were running: {decides}.", list(&jobs)),
        n => format!(
            "{n} exposures were running ({} and {} more): {decides}.",
            jobs.iter()
                .take(SHOWN)
                .copied()
                .collect::<Vec<_>>()
                .join(", "),
            n - SHOWN
        ),
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

/// The event that the lab noted near the change; a breach's events are told elsewhere.
pub(super) fn noted(
    cabinet: &CabinetContext<'_>,
    seen: &Observation<'_>,
    kind: Kind,
) -> Option<String> {
    if kind == Kind::Breach {
        return None;
    }
    let events = near(&cabinet.events, seen.characteristic(), seen.since()?);
    let nearest = *events.first()?;
    Some(format!(
        "The lab noted “{}” on {}.",
        nearest.what,
        cabinet.day(nearest.at)
    ))
}

/// The other series of the happening, in a sentence, without those already `told`;
/// `None` when none is left.
pub(super) fn others(seen: &[&Observation<'_>], told: &[Characteristic]) -> Option<String> {
    let others: Vec<String> = seen
        .iter()
        .skip(1)
        .filter(|o| !o.breaches.is_empty() || !told.contains(o.characteristic()))
        .map(|o| {
            let does = match (o.breaches.is_empty(), o.level) {
                (false, _) => "outside its window too",
                (true, Some(level)) if level.up => "up",
                (true, Some(_)) => "down",
                (true, None) if o.saws => "up and down in turn",
                (true, None) => "unsettled",
            };
            format!("{} ({does})", o.characteristic().spoken())
        })
        .collect();
    if others.is_empty() {
        None
    } else {
        Some(format!("With it: {}.", list(&others)))
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

/// The list of places to look, most telling first, with its cautions last.
pub(super) fn look_at(hints: &[&Matched]) -> Vec<String> {
    let mut places: Vec<String> = Vec::new();
    let mut cautions: Vec<String> = Vec::new();
    for matched in hints {
        let hint = matched.hint;
        for place in std::iter::once(&hint.look).chain(hint.also) {
            let text = format!("{} (common practice)", capital(place));
            if !places.contains(&text) {
                places.push(text);
            }
        }
        if let Some(caution) = hint.caution {
            let text = caution.says().to_owned();
            if !cautions.contains(&text) {
                cautions.push(text);
            }
        }
    }
    places.extend(cautions);
    places
}

/// The text with its first letter large.
fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or(String::new(), |first| {
        first.to_uppercase().chain(chars).collect()
    })
}

/// Breaches that the lab explained.
pub(super) fn explained_breach(cabinet: &CabinetContext<'_>, seen: &Observation<'_>) -> String {
    let mut events: Vec<String> = Vec::new();
    for what in seen
        .explained_breaches
        .iter()
        .filter_map(|b| b.explained_by.as_deref())
    {
        let quoted = format!("“{what}”");
        if !events.contains(&quoted) {
            events.push(quoted);
        }
    }
    format!(
        "{} The lab's events explain it: {}. {}",
        breach(cabinet, seen, &seen.explained_breaches),
        list(&events),
        exposed(cabinet, seen, &seen.explained_breaches)
    )
}

/// Decimals for a slope's or size's interval: enough to tell its ends apart.
pub(super) fn interval(low: f64, high: f64) -> (String, String) {
    let decimals = decimals_for((high - low).abs().max(f64::MIN_POSITIVE));
    (
        wording::number(low, decimals + 1),
        wording::number(high, decimals + 1),
    )
}
