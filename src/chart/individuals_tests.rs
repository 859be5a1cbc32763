//! Tests of charts: published examples and which readings count; general properties are in
//! `individuals_properties`.

use super::*;
use crate::chart::constants::{D2_OF_TWO, D4_OF_TWO};
use crate::chart::tests_support::{OPTIONS, daily, noisy};
use crate::chart::{SigmaMethod, limits::FEWEST_FOR_USE};
use crate::series::StageStart;
use crate::stats::reference::{assert_close, numbers};

pub(super) fn only_limits(chart: &Chart<'_>) -> Limits {
    assert_eq!(chart.stages.len(), 1);
    chart.stages[0].limits.clone().unwrap()
}

fn column(text: &str) -> Vec<f64> {
    numbers(text).into_iter().map(|row| row[1]).collect()
}

fn stage(index: usize, what: &str) -> StageStart {
    StageStart {
        index,
        at: None,
        what: what.into(),
    }
}

pub(super) fn excluded(indices: &[usize]) -> Vec<Exclusion> {
    let one = |index: &usize| Exclusion {
        index: *index,
        reason: "door open".into(),
    };
    indices.iter().map(one).collect()
}

#[test]
fn the_flow_rate_of_the_nist_handbook_reproduces() {
    // NIST/SEMATECH e-Handbook 6.3.2.2.
    let values = column(include_str!(
        "../../tests/reference/handbook/imr_flowrate.csv"
    ));
    let series = daily(&values);
    let limits = only_limits(&chart(&series, None, &OPTIONS));
    assert_eq!((limits.n, limits.origin), (10, Origin::Trial));
    assert_close(limits.plain_centre, 50.81, 1e-12, "mean");
    let range_mean = limits.plain_sigma * D2_OF_TWO;
    assert!((range_mean - 1.8778).abs() < 5e-5);
    // The page divides by the rounded d2 = 1.128.
    assert!((50.81 + 3.0 * range_mean / 1.128 - 55.8041).abs() < 5e-5);
    assert!((50.81 - 3.0 * range_mean / 1.128 - 45.8159).abs() < 5e-5);
    assert_eq!(limits.sigma_method, SigmaMethod::MovingRange);
    assert!((limits.upper - 55.8024).abs() < 5e-5, "{limits:?}");
    assert!((limits.lower - 45.8176).abs() < 5e-5);
    assert_close(
        limits.moving_range_upper,
        6.1338210484,
        1e-9,
        "moving-range limit",
    );
    assert_close(limits.resolution.unwrap(), 0.1, 1e-9, "resolution");
}

#[test]
fn the_concentration_of_montgomery_and_runger_reproduces() {
    // Applied Statistics and Probability for Engineers, 3rd ed., Table 16-3: mean 99.1 and
    // mean moving range 2.59, both rounded before the limits 105.99 and 92.21 are formed.
    let text = include_str!("../../tests/reference/handbook/imr_montgomery_runger_16_3.csv");
    let series = daily(&column(text));
    let charted = chart(&series, None, &OPTIONS);
    let limits = only_limits(&charted);
    assert_eq!(
        (limits.n, limits.origin),
        (FEWEST_FOR_USE, Origin::OwnBaseline)
    );
    let printed = [
        7.2, 3.5, 0.1, 3.6, 3.5, 0.5, 1.3, 2.3, 1.9, 3.2, 2.6, 2.4, 2.7, 1.4, 0.3, 3.6, 1.1, 4.2,
        3.8,
    ];
    for (found, printed) in charted
        .moving_ranges
        .of(1..series.len())
        .iter()
        .zip(printed)
    {
        assert!((found - printed).abs() < 1e-9, "{found} {printed}");
    }
    assert!((limits.plain_centre - 99.1).abs() < 0.01);
    assert!((limits.plain_sigma * D2_OF_TWO - 2.59).abs() < 0.01);
    assert!((limits.plain_centre + 3.0 * limits.plain_sigma - 105.99).abs() < 0.015);
    assert!((limits.plain_centre - 3.0 * limits.plain_sigma - 92.21).abs() < 0.01);
    assert!((limits.upper - 105.9795839051).abs() < 1e-9, "{limits:?}");
}

#[test]
fn the_baseline_is_the_first_thirty_and_later_readings_never_matter() {
    let mut values = noisy(60, 0.0);
    let before = only_limits(&chart(&daily(&values), None, &OPTIONS));
    values[30..].iter_mut().for_each(|v| *v += 100.0);
    let series = daily(&values);
    let charted = chart(&series, None, &OPTIONS);
    assert_eq!(only_limits(&charted), before);
    assert_eq!(charted.stages[0].judged_from, 30);
    assert_eq!(before.to, series.at()[29]);
}

#[test]
fn a_forming_baseline_judges_nothing() {
    for (n, origin) in [
        (8, Origin::Trial),
        (19, Origin::Trial),
        (20, Origin::OwnBaseline),
        (29, Origin::OwnBaseline),
    ] {
        let series = daily(&noisy(n, 0.0));
        let charted = chart(&series, None, &OPTIONS);
        assert_eq!(only_limits(&charted).origin, origin);
        assert_eq!(charted.stages[0].judged_from, n);
    }
    let series = daily(&noisy(7, 0.0));
    assert_eq!(
        chart(&series, None, &OPTIONS).stages[0].limits,
        Err(NoLimits::TooFew { n: 7 })
    );
    let series = daily(&[35.0; 31]);
    let none = chart(&series, None, &OPTIONS).stages[0].limits.clone();
    assert_eq!(none, Err(NoLimits::NoSpread { n: 30, value: 35.0 }));
    assert_eq!(
        chart(&daily(&[]), None, &OPTIONS).stages[0].limits,
        Err(NoLimits::TooFew { n: 0 })
    );
}

#[test]
fn every_stage_has_its_own_baseline_and_no_range_spans_the_event() {
    let mut values = noisy(80, 0.0);
    values[40..].iter_mut().for_each(|v| *v += 10.0);
    let series = daily(&values)
        .with_marks(vec![], vec![stage(40, "new nozzle")])
        .unwrap();
    let charted = chart(&series, None, &OPTIONS);
    let [first, second] = &charted.stages[..] else {
        panic!("{:?}", charted.stages)
    };
    assert_eq!(
        (first.readings.clone(), second.readings.clone()),
        (0..40, 40..80)
    );
    assert_eq!((first.judged_from, second.judged_from), (30, 70));
    assert_eq!(
        (first.opened_by.as_deref(), second.opened_by.as_deref()),
        (None, Some("new nozzle"))
    );
    assert!(charted.moving_ranges.at(40).is_nan());
    let (first, second) = (
        first.limits.clone().unwrap(),
        second.limits.clone().unwrap(),
    );
    assert!(second.centre - first.centre > 9.0);
    assert_eq!((first.moving_ranges, first.moving_ranges_skipped), (29, 0));
    assert_eq!(
        (second.moving_ranges, second.moving_ranges_skipped),
        (29, 1)
    );
}

#[test]
fn frozen_limits_hold_for_their_stage_only() {
    let series = daily(&noisy(120, 0.0))
        .with_marks(vec![], vec![stage(40, "repair"), stage(80, "salt lot")])
        .unwrap();
    let frozen = limits_of(&series, 40..75, &OPTIONS).unwrap();
    assert_eq!(
        (frozen.n, frozen.from, frozen.to),
        (35, series.at()[40], series.at()[74])
    );
    let charted = chart(&series, Some(&frozen), &OPTIONS);
    let origins: Vec<_> = charted
        .stages
        .iter()
        .map(|s| s.limits.as_ref().unwrap().origin)
        .collect();
    assert_eq!(
        origins,
        [Origin::OwnBaseline, Origin::Frozen, Origin::OwnBaseline]
    );
    assert_eq!(charted.stages[1].judged_from, 75);
    assert_eq!(
        charted.stages[1].limits.as_ref().unwrap().centre,
        frozen.centre
    );
    // Frozen from readings that are no longer in the logs: everything is judged.
    let old = Limits {
        to: Instant(-86_400),
        from: Instant(-86_400 * 40),
        ..frozen.clone()
    };
    let charted = chart(&series, Some(&old), &OPTIONS);
    assert_eq!(
        charted.stages[0].limits.as_ref().unwrap().origin,
        Origin::Frozen
    );
    assert_eq!(charted.stages[0].judged_from, 0);
    assert_eq!(
        charted.stages[1].limits.as_ref().unwrap().origin,
        Origin::OwnBaseline
    );
    // The event's own time decides, not the first reading after it.
    let mut late = stage(80, "salt lot");
    late.at = Some(Instant(frozen.to.0));
    let series = series
        .with_marks(vec![], vec![stage(40, "repair"), late])
        .unwrap();
    let charted = chart(&series, Some(&frozen), &OPTIONS);
    assert_eq!(
        charted.stages[2].limits.as_ref().unwrap().origin,
        Origin::Frozen
    );
    assert_eq!(charted.stages[2].judged_from, 80);
}

#[test]
fn gaps_and_exclusions_take_no_moving_range() {
    let values = noisy(40, 0.0);
    let mut at: Vec<Instant> = (0..40).map(|d| Instant(d * 86_400)).collect();
    at[10..].iter_mut().for_each(|t| t.0 += 86_400 * 7);
    let series = Series::new(
        "Plover",
        crate::characteristic::Characteristic::Ph,
        "",
        at,
        values,
    )
    .unwrap();
    let series = series.with_marks(excluded(&[0, 20, 21]), vec![]).unwrap();
    let charted = chart(&series, None, &OPTIONS);
    let missing: Vec<usize> = (0..40)
        .filter(|i| charted.moving_ranges.at(*i).is_nan())
        .collect();
    assert_eq!(missing, [0, 1, 10, 20, 21, 22]);
    let limits = only_limits(&charted);
    assert_eq!(
        (limits.n, limits.moving_ranges, limits.moving_ranges_skipped),
        (30, 27, 3)
    );
    assert_eq!(
        (limits.from, charted.stages[0].judged_from),
        (series.at()[1], 33)
    );
}

#[test]
fn weekly_checks_still_have_moving_ranges() {
    let values = noisy(30, 0.0);
    let at = (0..30).map(|i| Instant(i * 14 * 86_400)).collect();
    let what = crate::characteristic::Characteristic::CouponMassLoss;
    let series = Series::new("Plover", what, "g/m²", at, values).unwrap();
    assert_eq!(gap_days_in_force(&series, 0..30, &OPTIONS), 28.0);
    assert_eq!(
        only_limits(&chart(&series, None, &OPTIONS)).moving_ranges,
        29
    );
    let series = daily(&noisy(30, 0.0));
    assert_eq!(gap_days_in_force(&series, 0..30, &OPTIONS), 7.0);
    let none = ChartOptions {
        gap_days: f64::NAN,
        ..OPTIONS
    };
    assert!(
        chart(&series, None, &none).stages[0].limits.is_ok(),
        "the usual spacing is left"
    );
}

#[test]
fn robust_limits_shrug_off_two_odd_readings() {
    let mut values = noisy(30, 0.0);
    let robust = ChartOptions {
        robust: true,
        ..OPTIONS
    };
    let before = only_limits(&chart(&daily(&values), None, &robust));
    assert_eq!(before.sigma_method, SigmaMethod::MedianMovingRange);
    values[9] += 20.0;
    values[19] += 20.0;
    let series = daily(&values);
    let after = only_limits(&chart(&series, None, &robust));
    let plain = only_limits(&chart(&series, None, &OPTIONS));
    assert!(after.sigma < 1.5 * before.sigma && plain.plain_sigma > 3.0 * before.plain_sigma);
    assert_close(
        after.moving_range_upper,
        D4_OF_TWO * after.moving_range_mean,
        1e-12,
        "D4",
    );
    // Named, not dropped.
    let named: Vec<Instant> = plain.screened.iter().map(|(at, _)| *at).collect();
    assert_eq!(named, [series.at()[9], series.at()[19]]);
    assert_eq!(plain.n, 30);
}

#[test]
fn coarse_readings_are_fitted_as_intervals() {
    let rounded: Vec<f64> = noisy(30, 0.0).iter().map(|v| v.round()).collect();
    let limits = only_limits(&chart(&daily(&rounded), None, &OPTIONS));
    assert_eq!(
        (limits.sigma_method, limits.resolution),
        (SigmaMethod::IntervalCensored, Some(1.0))
    );
    assert!(limits.sigma > 0.4 && limits.sigma < 0.8, "{limits:?}");
    let fine: Vec<f64> = noisy(30, 0.0)
        .iter()
        .map(|v| (v * 10.0).round() / 10.0)
        .collect();
    let limits = only_limits(&chart(&daily(&fine), None, &OPTIONS));
    assert_eq!(limits.sigma_method, SigmaMethod::MovingRange);
}

#[test]
fn carry_over_widens_limits_and_the_plain_figure_stays() {
    let series = daily(&noisy(30, 0.8));
    let limits = only_limits(&chart(&series, None, &OPTIONS));
    assert_eq!(limits.sigma_method, SigmaMethod::MovingRangeAutocorrelated);
    assert!(
        limits.lag1.unwrap() > 0.5 && limits.sigma > 1.2 * limits.plain_sigma,
        "{limits:?}"
    );
    assert_close(
        limits.moving_range_mean,
        limits.plain_sigma * D2_OF_TWO,
        1e-12,
        "plain range",
    );
}

#[path = "individuals_properties.rs"]
mod properties;
