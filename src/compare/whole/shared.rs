//! The days that are compared: those that lie within everybody's logs, or those asked for.

use super::entrants::{Field, NotComparable};
use crate::review::Period;
use crate::time::Instant;
use chrono::NaiveDate;

/// The days compared and how they came about.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Shared {
    pub(super) period: Period,
    pub(super) says: String,
    /// First and last day with a check, by lab.
    pub(super) spans: Vec<Option<Period>>,
}

/// First and last day with a check of somebody.
struct Span {
    name: String,
    days: Period,
}

/// The period of a comparison: the days asked for, else those within everybody's logs.
///
/// Several labs are held together by lab, so that a cabinet bought late does not shorten
/// the comparison; the cabinets of one lab by cabinet.
///
/// # Errors
/// [`NotComparable`] when no day is shared. Labs that only coupons tell of do not count;
/// `None` when nobody has a check. Checks after `now` do not count.
pub(super) fn shared(
    field: &Field<'_>,
    asked: Option<Period>,
    now: Instant,
) -> Result<Option<Shared>, NotComparable> {
    let spans = spans_of_labs(field, now);
    let with_logs = spans.iter().flatten().count();
    let parts: Vec<Span> = if with_logs > 1 {
        (field.labs.iter().zip(&spans))
            .filter_map(|(lab, span)| Some(named(&lab.name, (*span)?)))
            .collect()
    } else {
        spans_of_cabinets(field, now)
    };
    if parts.is_empty() {
        return Ok(None);
    }
    let told: Vec<String> = parts
        .iter()
        .map(|p| format!("{} {}", p.name, words(p.days)))
        .collect();
    let told = shortened(&told);
    if let Some(period) = asked {
        return Ok(Some(Shared {
            period,
            says: format!(
                "The days asked for: {}. The logs hold: {told}.",
                words(period)
            ),
            spans,
        }));
    }
    let from = parts.iter().map(|p| p.days.from()).max();
    let to = parts.iter().map(|p| p.days.to()).min();
    let period = from
        .zip(to)
        .and_then(|(from, to)| Period::new(from, to))
        .ok_or(NotComparable::NoSharedTime(told.clone()))?;
    Ok(Some(Shared {
        period,
        says: format!(
            "The days that lie within all logs: {}. Checks on other days were not compared. The logs hold: {told}.",
            words(period)
        ),
        spans,
    }))
}

fn named(name: &str, days: Period) -> Span {
    Span {
        name: name.to_owned(),
        days,
    }
}

fn spans_of_labs(field: &Field<'_>, now: Instant) -> Vec<Option<Period>> {
    let mut spans: Vec<Option<Period>> = vec![None; field.labs.len()];
    for (cabinet, days) in days_of_cabinets(field, now) {
        let span = &mut spans[field.cabinets[cabinet].lab];
        let wider = span.map_or(Some(days), |s| {
            Period::new(s.from().min(days.from()), s.to().max(days.to()))
        });
        *span = wider;
    }
    spans
}

fn spans_of_cabinets(field: &Field<'_>, now: Instant) -> Vec<Span> {
    days_of_cabinets(field, now)
        .map(|(cabinet, days)| named(&field.cabinets[cabinet].name, days))
        .collect()
}

/// Cabinets with checks up to the clock, and their first and last day.
fn days_of_cabinets<'f>(
    field: &'f Field<'_>,
    now: Instant,
) -> impl Iterator<Item = (usize, Period)> + 'f {
    field
        .cabinets
        .iter()
        .enumerate()
        .filter_map(move |(index, c)| {
            let entrant = field.labs.get(c.lab)?.entrant?;
            let at = entrant.intake.checks.of(c.checks?)?.at();
            let at = &at[..at.partition_point(|&t| t <= now)];
            let zone = entrant.lab.zone;
            let days = Period::new(zone.date(*at.first()?), zone.date(*at.last()?))?;
            Some((index, days))
        })
}

/// `5 January to 15 May 2026`.
pub(super) fn words(period: Period) -> String {
    let day = |d: NaiveDate, form: &str| d.format(form).to_string();
    let (from, to) = period.days();
    let same_year = chrono::Datelike::year(&from) == chrono::Datelike::year(&to);
    let first = if same_year { "%-d %B" } else { "%-d %B %Y" };
    if from == to {
        return day(from, "%-d %B %Y");
    }
    format!("{} to {}", day(from, first), day(to, "%-d %B %Y"))
}

/// The first of a long list, and how many more there are.
fn shortened(parts: &[String]) -> String {
    const MOST: usize = 6;
    if parts.len() <= MOST {
        return parts.join("; ");
    }
    format!(
        "{}; and {} more",
        parts[..MOST].join("; "),
        parts.len() - MOST
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn period(from: &str, to: &str) -> Period {
        Period::new(from.parse().unwrap(), to.parse().unwrap()).unwrap()
    }

    #[test]
    fn a_period_is_told_as_short_as_it_can_be() {
        assert_eq!(
            words(period("2026-01-05", "2026-05-15")),
            "5 January to 15 May 2026"
        );
        assert_eq!(
            words(period("2025-12-05", "2026-05-15")),
            "5 December 2025 to 15 May 2026"
        );
        assert_eq!(words(period("2026-05-15", "2026-05-15")), "15 May 2026");
    }
}
