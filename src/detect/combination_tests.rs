//! Which series make a combination, from when on, and that what it finds stands at the right
//! readings.

use super::*;
use crate::characteristic::Characteristic as C;
use crate::chart::{ChartOptions, chart};
use crate::drift::fixtures::Noise;
use crate::series::{Exclusion, StageStart};

const OPTIONS: ChartOptions = ChartOptions {
    gap_days: 7.0,
    baseline_readings: 30,
    robust: false,
};
const CHECKS: usize = 420;

fn on_day(day: usize) -> Instant {
    Instant(1_767_225_600 + day as i64 * 86_400)
}

/// Daily readings of characteristics that share most of their course; the first two go apart
/// on the days of `apart`. A characteristic is read every `every` days.
fn columns(of: &[(C, usize)], apart: Range<usize>) -> Vec<Series> {
    let mut noise = Noise::new(11);
    let shared = noise.autoregressive(CHECKS, 0.2);
    of.iter()
        .enumerate()
        .map(|(place, (characteristic, every))| {
            let own = noise.autoregressive(CHECKS, 0.2);
            let days: Vec<usize> = (0..CHECKS).step_by(*every).collect();
            let value = days.iter().map(|&day| {
                let off = match place {
                    0 if apart.contains(&day) => 1.6,
                    1 if apart.contains(&day) => -1.6,
                    _ => 0.0,
                };
                ((0.95 * shared[day] + 0.31 * own[day] + off) * 10.0).round() / 10.0
            });
            let at = days.iter().map(|&day| on_day(day)).collect();
            Series::new("Plover", characteristic.clone(), "", at, value.collect()).unwrap()
        })
        .collect()
}

/// What is told in the checks from day `from` on, and how many are judged.
fn told(series: &[Series], from: usize) -> (Vec<TogetherSignal<'static>>, u64, Vec<String>) {
    let charts: Vec<Chart<'_>> = series.iter().map(|s| chart(s, None, &OPTIONS)).collect();
    let charts: Vec<&Chart<'_>> = charts.iter().collect();
    let period = on_day(from)..on_day(CHECKS);
    let found = together_of_period(&charts, Budget::default(), period.clone(), &|_, _| false);
    assert_eq!(found.judged, together_judged(&charts, period));
    let names = |s: &TogetherSignal<'_>| -> Vec<String> {
        let parts = s.parts.iter();
        parts
            .map(|(c, _)| c.series.characteristic().id().to_owned())
            .collect()
    };
    let first = found.signals.first().map(names).unwrap_or_default();
    let bare = found.signals.iter().map(|s| TogetherSignal {
        parts: Vec::new(),
        told: Vec::new(),
        starts_at: s.starts_at,
        known_at: s.known_at,
        last_at: s.last_at,
        ..*s
    });
    (bare.collect(), found.judged, first)
}

#[test]
fn independent_characteristics_are_combined_and_named() {
    let of = [
        (C::CollectionRate, 1),
        (C::Ph, 1),
        (C::CollectionNear, 1),
        (C::SaltConcentration, 1),
        (C::SpecificGravity, 1),
    ];
    let (found, judged, mut names) = told(&columns(&of, 400..403), 390);
    assert_eq!(judged, 30);
    let seen: Vec<_> = found.iter().filter(|s| s.known_at >= on_day(395)).collect();
    assert_eq!(seen.len(), 1, "{found:?}");
    assert!(seen[0].starts_at == on_day(400) && seen[0].last_at <= on_day(403));
    assert!(!seen[0].ongoing && !seen[0].accounted_for);
    let leading: Vec<String> = names.drain(..2).collect();
    assert!(
        leading.contains(&"collection-rate".to_owned()),
        "{leading:?}"
    );
    assert!(leading.contains(&"ph".to_owned()), "{leading:?}");
    assert_eq!(names, ["salt-concentration"]);
}

#[test]
fn what_is_seldom_read_is_left_out() {
    let of = [(C::CollectionRate, 1), (C::Ph, 1), (C::AirPressure, 9)];
    let (found, judged, names) = told(&columns(&of, 400..403), 390);
    assert_eq!((judged, names.len()), (30, 2), "{found:?}");
    let (none, judged, _) = told(&columns(&[(C::Ph, 1), (C::AirPressure, 9)], 0..0), 390);
    assert!(none.is_empty() && judged == 0);
}

#[test]
fn a_new_stage_of_any_member_starts_afresh() {
    let of = [(C::CollectionRate, 1), (C::Ph, 1), (C::AirPressure, 1)];
    let mut series = columns(&of, 330..CHECKS);
    let (_, judged, _) = told(&series, 300);
    assert_eq!(judged, 120);
    let stage = StageStart {
        index: 330,
        at: Some(on_day(330)),
        what: "new nozzle".into(),
    };
    let excluded = Exclusion {
        index: 400,
        reason: "spilled".into(),
    };
    let rate = series
        .remove(0)
        .with_marks(vec![excluded], vec![stage])
        .unwrap();
    series.insert(0, rate);
    let (found, judged, _) = told(&series, 300);
    // Thirty before the stage; afterwards forty make the baseline. The check whose reading is
    // excluded is judged by the rest.
    assert_eq!(judged, 30 + 90 - 40);
    assert!(found.iter().all(|s| s.checks <= 2), "{found:?}");
}

#[test]
fn the_period_and_later_checks_change_nothing_known() {
    let of = [(C::CollectionRate, 1), (C::Ph, 1), (C::AirPressure, 1)];
    let whole = columns(&of, 360..372);
    let cut = |end: usize| -> Vec<Series> {
        whole
            .iter()
            .map(|s| s.clone().before(on_day(end)))
            .collect()
    };
    let known = |found: &[TogetherSignal<'_>]| -> Vec<Instant> {
        found.iter().map(|s| s.known_at).collect()
    };
    let (all, ..) = told(&whole, 0);
    assert!(all.iter().any(|s| s.known_at == on_day(360)), "{all:?}");
    for end in [361, 365, 400] {
        let (early, ..) = told(&cut(end), 0);
        let before: Vec<Instant> = known(&all)
            .into_iter()
            .filter(|t| *t < on_day(end))
            .collect();
        assert_eq!(known(&early), before, "cut at {end}");
    }
    for from in [350, 362, 368, 400] {
        let (late, ..) = told(&whole, from);
        let still = all.iter().filter(|s| s.last_at >= on_day(from));
        assert_eq!(known(&late), still.map(|s| s.known_at).collect::<Vec<_>>());
    }
}
