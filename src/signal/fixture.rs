//! Series and charts with given limits, for tests of signals and findings.

use crate::characteristic::Characteristic;
use crate::chart::{Chart, ChartOptions, ChartedStage, Limits, MovingRanges, Origin, SigmaMethod};
use crate::series::Series;
use crate::time::Instant;
use std::f64::consts::PI;

/// 2026-03-02T07:30Z, a Monday.
pub(crate) const MONDAY: Instant = Instant(1_772_436_600);

/// Readings once a day from [`MONDAY`] on.
pub(crate) fn daily(cabinet: &str, characteristic: Characteristic, values: &[f64]) -> Series {
    let at = (0..values.len())
        .map(|i| MONDAY.plus_days(i as f64))
        .collect();
    let unit = characteristic.unit();
    Series::new(cabinet, characteristic, unit, at, values.to_vec()).unwrap()
}

/// Limits with that centre line and sigma, as from 30 independent, unrounded readings.
pub(crate) fn limits(centre: f64, sigma: f64) -> Limits {
    let moving_range_mean = sigma * 2.0 / PI.sqrt();
    Limits {
        origin: Origin::Frozen,
        n: 30,
        from: MONDAY.plus_days(-60.0),
        to: MONDAY.plus_days(-30.0),
        centre,
        sigma,
        sigma_method: SigmaMethod::MovingRange,
        lower: centre - 3.0 * sigma,
        upper: centre + 3.0 * sigma,
        moving_range_mean,
        moving_range_upper: 3.266_531_919 * moving_range_mean,
        lag1: Some(-0.2),
        resolution: None,
        plain_sigma: sigma,
        plain_centre: centre,
        moving_ranges: 29,
        moving_ranges_skipped: 0,
        screened: Vec::new(),
    }
}

/// A chart in one stage judged from its first reading.
pub(crate) fn chart(series: &Series, limits: Limits) -> Chart<'_> {
    let options = ChartOptions {
        gap_days: 1e6,
        baseline_readings: 30,
        robust: false,
    };
    Chart {
        series,
        stages: vec![ChartedStage {
            readings: 0..series.len(),
            opened_by: None,
            limits: Ok(limits),
            judged_from: 0,
        }],
        moving_ranges: MovingRanges::new(series, &options),
    }
}
