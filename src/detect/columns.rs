//! The readings of several series side by side, check by check.
//!
//! Which series, and over which stretch, is `combination`'s to say.

use super::together::Member;
use crate::chart::Chart;
use crate::drift::believed_phi;
use crate::series::Series;
use crate::time::Instant;
use std::ops::Range;

/// A member's column over the checks `at`; `None` where its stage has no limits, which no member is without.
pub(super) fn member(chart: &Chart<'_>, readings: Range<usize>, at: &[Instant]) -> Option<Member> {
    let stage = chart
        .stages
        .iter()
        .find(|s| s.readings.contains(&readings.start));
    let limits = stage.or(chart.stages.last())?.limits.as_ref().ok()?;
    let rounding = limits.resolution.map_or(0.0, |step| step / 12.0_f64.sqrt());
    Some(Member {
        value: column(chart.series, readings, at),
        centre: limits.centre,
        sigma: limits.sigma.max(rounding),
        phi: believed_phi(limits.lag1.unwrap_or(f64::NAN), limits.n as f64),
        resolution: limits.resolution,
    })
}

/// Readings of a series at the checks `at`; NaN where it has none that is valid.
fn column(series: &Series, readings: Range<usize>, at: &[Instant]) -> Vec<f64> {
    let excluded = |index: usize| series.is_excluded(index);
    // Most series are read at every check.
    if series.at().get(readings.clone()) == Some(at) && !readings.clone().any(excluded) {
        return series.values().get(readings).unwrap_or(&[]).to_vec();
    }
    let mut next = readings.start;
    at.iter()
        .map(|check| {
            let read = next < readings.end && series.at().get(next) == Some(check);
            let index = next;
            next += usize::from(read);
            if read && !excluded(index) {
                series.values().get(index).copied().unwrap_or(f64::NAN)
            } else {
                f64::NAN
            }
        })
        .collect()
}

/// The times at which any of several series has a reading, in order; readings of one time
/// are one check.
pub(super) struct Merge<'a>(Vec<&'a [Instant]>);

impl<'a> Merge<'a> {
    pub(super) fn new(charts: &[&'a Chart<'_>], readings: &[Range<usize>]) -> Merge<'a> {
        let rows = charts.iter().zip(readings);
        let times = |(c, r): (&&'a Chart<'_>, &Range<usize>)| c.series.at().get(r.clone());
        Merge(rows.map(|row| times(row).unwrap_or(&[])).collect())
    }

    /// All of them.
    pub(super) fn times(self) -> Vec<Instant> {
        // Most cabinets have every reading at every check.
        match self.0.split_first() {
            Some((first, rest)) if rest.iter().all(|other| other == first) => first.to_vec(),
            _ => self.collect(),
        }
    }
}

impl Iterator for Merge<'_> {
    type Item = Instant;

    fn next(&mut self) -> Option<Instant> {
        let now = self.0.iter().filter_map(|at| at.first()).min().copied()?;
        for at in &mut self.0 {
            if let Some((first, rest)) = at.split_first()
                && *first == now
            {
                *at = rest;
            }
        }
        Some(now)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::characteristic::Characteristic;
    use crate::series::Exclusion;

    fn days(days: &[i64]) -> Vec<Instant> {
        days.iter().map(|day| Instant(day * 86_400)).collect()
    }

    #[test]
    fn the_same_checks_are_merged_like_any_others() {
        let (all, some) = (days(&[1, 2, 4, 7]), days(&[2, 4, 5]));
        assert_eq!(Merge(vec![&all, &all]).times(), all);
        assert_eq!(Merge(vec![&all, &some]).times(), days(&[1, 2, 4, 5, 7]));
        assert_eq!(
            Merge(vec![&all, &all, &some]).times(),
            days(&[1, 2, 4, 5, 7])
        );
        assert_eq!(Merge(vec![&[], &some]).times(), some);
        assert_eq!(Merge(vec![]).times(), []);
    }

    #[test]
    fn a_column_has_the_valid_readings_at_their_checks() {
        let at = days(&[1, 2, 4, 7]);
        let series = Series::new(
            "Plover",
            Characteristic::Ph,
            "",
            at.clone(),
            vec![6.5, 6.6, 6.7, 6.8],
        );
        let series = series.unwrap();
        assert_eq!(column(&series, 1..4, &at[1..]), [6.6, 6.7, 6.8]);
        let more = column(&series, 1..4, &days(&[2, 3, 4, 7]));
        assert!(more[1].is_nan() && [more[0], more[2], more[3]] == [6.6, 6.7, 6.8]);
        let excluded = Exclusion {
            index: 2,
            reason: "spilled".into(),
        };
        let series = series.with_marks(vec![excluded], vec![]).unwrap();
        let valid = column(&series, 1..4, &at[1..]);
        assert!(valid[1].is_nan() && [valid[0], valid[2]] == [6.6, 6.8]);
    }
}
