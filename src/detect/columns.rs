//! The readings of several series side by side, check by check.
//!
//! Which series, and over which stretch, is `combination`'s to say.

use super::together::Member;
use crate::chart::Chart;
use crate::drift::believed_phi;
use crate::time::Instant;
use std::ops::Range;

/// A member's column over the checks `at`; `None` where its stage has no limits, which no member is without.
pub(super) fn member(chart: &Chart<'_>, readings: Range<usize>, at: &[Instant]) -> Option<Member> {
    let stage = chart
        .stages
        .iter()
        .find(|s| s.readings.contains(&readings.start));
    let limits = stage.or(chart.stages.last())?.limits.as_ref().ok()?;
    let series = chart.series;
    let mut next = readings.start;
    let value = at
        .iter()
        .map(|check| {
            let read = next < readings.end && series.at().get(next) == Some(check);
            let index = next;
            next += usize::from(read);
            if read && !series.is_excluded(index) {
                series.values().get(index).copied().unwrap_or(f64::NAN)
            } else {
                f64::NAN
            }
        })
        .collect();
    let rounding = limits.resolution.map_or(0.0, |step| step / 12.0_f64.sqrt());
    Some(Member {
        value,
        centre: limits.centre,
        sigma: limits.sigma.max(rounding),
        phi: believed_phi(limits.lag1.unwrap_or(f64::NAN), limits.n as f64),
        resolution: limits.resolution,
    })
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
