//! The sentences of readings outside the window, and of the exposures that they may touch.

use super::CabinetContext;
use super::observe::Observation;
use super::sentences::{between, decimals};
use crate::lab::Exposure;
use crate::quantity::conformance::Breach;
use crate::signal::wording::{count, list, number, with_unit};
use crate::time::Instant;

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
pub(super) fn breach(
    cabinet: &CabinetContext<'_>,
    seen: &Observation<'_>,
    breaches: &[&Breach],
) -> String {
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

/// Which exposures ran while readings were outside, and who decides.
pub(super) fn exposed(
    cabinet: &CabinetContext<'_>,
    seen: &Observation<'_>,
    breaches: &[&Breach],
) -> String {
    let series = seen.review.chart.series;
    let at = |b: &Breach| series.at().get(b.index).copied();
    let times: Vec<Instant> = breaches.iter().filter_map(|b| at(b)).collect();
    exposed_at(cabinet, &times)
}

/// Which exposures ran at those times, and who decides.
pub(super) fn exposed_at(cabinet: &CabinetContext<'_>, times: &[Instant]) -> String {
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
