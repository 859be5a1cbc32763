//! Pairs held against scipy, against what must hold of any pair, and worded.

use super::*;
use crate::compare::level::tests::{options, reference_series};
use crate::compare::level::{CarryOver, level};
use crate::stats::reference::{assert_close, numbers};

fn instrument(id: &str, standard_uncertainty: f64) -> Instrument {
    Instrument {
        id: Some(id.to_owned()),
        standard_uncertainty,
        own_uncertainty: 0.0,
    }
}

pub(super) fn settings(characteristics: usize, margin: Option<f64>) -> Settings {
    Settings {
        characteristics,
        margin,
        listed: 100,
        unit: "mL/h".to_owned(),
        instrument: "cylinder".to_owned(),
        instruments: "cylinders".to_owned(),
    }
}

/// A level made by hand: `n` independent-looking readings about `mean`.
fn made(n: u32, mean: f64, sd: f64, turn: u32) -> Level {
    let days: Vec<f64> = (0..n).map(f64::from).collect();
    let shape = |i: u32| f64::from((i * i * 7 + i * turn + 3) % 23) / 11.0 - 1.0;
    let raw: Vec<f64> = (0..n).map(shape).collect();
    let (centre, spread) = crate::stats::sum::mean_and_deviation(&raw).unwrap();
    let values: Vec<f64> = raw
        .iter()
        .map(|x| mean + sd * (x - centre) / spread)
        .collect();
    level(&days, &values, options(CarryOver::Excluded, None)).unwrap()
}

fn judge_two(a: &Level, b: &Level, u: [f64; 2], margin: Option<f64>) -> Pair {
    let instruments = [instrument("one", u[0]), instrument("two", u[1])];
    let cabinets = [
        Cabinet {
            level: a,
            instrument: &instruments[0],
        },
        Cabinet {
            level: b,
            instrument: &instruments[1],
        },
    ];
    let pairs = judge_cabinets(&cabinets, &settings(6, margin), &mut FactorStore::new()).unwrap();
    assert_eq!((pairs.all, pairs.listed.len()), (1, 1));
    pairs.listed[0].clone()
}

fn reference_levels() -> Vec<Level> {
    (0..4)
        .map(|cabinet| {
            let (days, values) = reference_series(cabinet);
            level(&days, &values, options(CarryOver::Excluded, None)).unwrap()
        })
        .collect()
}

/// Two cabinets, one characteristic, no carry-over: Welch's t interval.
#[test]
fn two_cabinets_have_the_welch_interval_of_scipy() {
    let levels = reference_levels();
    let none = instrument("none", 0.0);
    let mut store = FactorStore::new();
    let table = include_str!("../../../tests/reference/scipy/pairs_welch.csv");
    for row in numbers(table) {
        let cabinets = [row[0], row[1]].map(|cabinet| Cabinet {
            level: &levels[cabinet as usize],
            instrument: &none,
        });
        let pair = judge_pair(&cabinets, 0, 1, &settings(1, None), &mut store)
            .unwrap()
            .unwrap();
        let chance = pair.chance.unwrap();
        assert_close(pair.difference, row[2], 1e-12, "difference");
        assert_close(chance.high - chance.low, row[4] - row[3], 5e-6, "width");
        assert_close(chance.low, row[3], 5e-5, "low");
        assert_close(chance.high, row[4], 5e-5, "high");
        assert_eq!((chance.level, pair.total), (0.95, pair.chance));
    }
}

/// Four cabinets, one characteristic, no carry-over: Games & Howell by scipy's
/// `tukey_hsd(…, equal_var=False)`.
#[test]
fn four_cabinets_have_the_games_howell_intervals_of_scipy() {
    let levels = reference_levels();
    let none = instrument("none", 0.0);
    let cabinets: Vec<Cabinet<'_>> = levels
        .iter()
        .map(|level| Cabinet {
            level,
            instrument: &none,
        })
        .collect();
    let pairs = judge_cabinets(&cabinets, &settings(1, None), &mut FactorStore::new()).unwrap();
    let table = include_str!("../../../tests/reference/scipy/pairs_games_howell.csv");
    let rows = numbers(table);
    assert_eq!(rows.len() as u64, pairs.all);
    for row in rows {
        let pair = pairs
            .listed
            .iter()
            .find(|pair| (pair.a as f64, pair.b as f64) == (row[0], row[1]))
            .unwrap();
        let chance = pair.chance.unwrap();
        assert!((chance.low - row[2]).abs() < 1e-6, "{row:?} {chance:?}");
        assert!((chance.high - row[3]).abs() < 1e-6, "{row:?} {chance:?}");
        let excludes = row[2] > 0.0 || row[3] < 0.0;
        assert_eq!(pair.verdict == Verdict::Differ, excludes);
    }
    let clearness: Vec<f64> = pairs
        .listed
        .iter()
        .map(|p| p.difference.abs() / (p.total.unwrap().high - p.difference))
        .collect();
    assert!(
        clearness.windows(2).all(|two| two[0] >= two[1]),
        "{clearness:?}"
    );
    assert_eq!(pairs.differ + pairs.agree + pairs.cannot_tell, pairs.all);
    let few = Settings {
        listed: 2,
        ..settings(1, None)
    };
    let fewer = judge_cabinets(&cabinets, &few, &mut FactorStore::new()).unwrap();
    assert_eq!(fewer.listed, pairs.listed[..2]);
    assert_eq!(fewer.differ, pairs.differ);
}

#[test]
fn swapping_a_pair_swaps_its_signs() {
    let (a, b) = (made(40, 1.5, 0.05, 3), made(60, 1.4, 0.08, 5));
    let none = instrument("none", 0.0);
    let cabinets = [&a, &b].map(|level| Cabinet {
        level,
        instrument: &none,
    });
    let mut store = FactorStore::new();
    let mut of = |x, y| {
        judge_pair(&cabinets, x, y, &settings(2, None), &mut store)
            .unwrap()
            .unwrap()
    };
    let (one, other) = (of(0, 1), of(1, 0));
    assert_eq!(one.difference, -other.difference);
    assert_close(
        one.total.unwrap().low,
        -other.total.unwrap().high,
        1e-12,
        "ends",
    );
    let (up, down) = (one.sd_ratio.unwrap(), other.sd_ratio.unwrap());
    assert_close(up.low, 1.0 / down.high, 1e-12, "ratio");
    assert!(up.low < 0.05 / 0.08 && up.high > 0.05 / 0.08);
    assert!(
        judge_pair(&cabinets, 1, 1, &settings(2, None), &mut store)
            .unwrap()
            .is_none()
    );
}

#[test]
fn what_the_instruments_explain_is_no_difference() {
    let (a, b) = (made(60, 7.08, 0.03, 3), made(60, 7.00, 0.03, 5));
    let exact = judge_two(&a, &b, [0.0, 0.0], None);
    assert_eq!(exact.verdict, Verdict::Differ);
    assert!(
        exact
            .says
            .ends_with("the two cylinders were taken as exact."),
        "{}",
        exact.says
    );
    let meters = judge_two(&a, &b, [0.035, 0.035], None);
    assert_eq!(
        (meters.verdict, meters.more_checks),
        (Verdict::CannotTell, None)
    );
    assert_close(
        meters.u_instruments,
        2.0 * 0.035 * 2f64.sqrt(),
        1e-12,
        "expanded",
    );
    assert_eq!(
        meters.says,
        "The difference of 0.08 mL/h is within what the two cylinders explain (up to 0.10 mL/h); \
         no number of checks would tell: calibrate the two cylinders against one standard, or \
         exchange them, and compare again."
    );
    // One instrument on both sides: its offset cancels, however large.
    let same = instrument("same", 5.0);
    let cabinets = [&a, &b].map(|level| Cabinet {
        level,
        instrument: &same,
    });
    let mut store = FactorStore::new();
    let pairs = judge_cabinets(&cabinets, &settings(6, None), &mut store).unwrap();
    assert_eq!(pairs.listed[0].u_instruments, 0.0);
    assert_eq!(pairs.listed[0].verdict, Verdict::Differ);
    assert!(
        pairs.listed[0]
            .says
            .ends_with("one cylinder read both and explains none of it.")
    );
    let funnels = Instrument {
        own_uncertainty: 0.005,
        ..same.clone()
    };
    let cabinets = [&a, &b].map(|level| Cabinet {
        level,
        instrument: &funnels,
    });
    let pairs = judge_cabinets(&cabinets, &settings(6, None), &mut store).unwrap();
    assert!(
        pairs.listed[0].says.ends_with(
            "one cylinder read both and the parts that each cabinet has of its own explain up \
             to 0.014 mL/h of it."
        ),
        "{}",
        pairs.listed[0].says
    );
    // Two that nobody named are not the same one.
    let unnamed = Instrument {
        id: None,
        standard_uncertainty: 0.035,
        own_uncertainty: 0.0,
    };
    let cabinets = [&a, &b].map(|level| Cabinet {
        level,
        instrument: &unnamed,
    });
    let pairs = judge_cabinets(&cabinets, &settings(6, None), &mut store).unwrap();
    assert_eq!(pairs.listed[0].u_instruments, meters.u_instruments);
}

#[test]
fn verdicts_are_worded_with_digits_that_mean_something() {
    let (a, b) = (made(60, 1.65, 0.05, 3), made(60, 1.40, 0.05, 5));
    let far = judge_two(&a, &b, [0.02, 0.015], Some(0.12));
    assert_eq!(
        far.says,
        "They differ by more than instruments and chance explain: 0.25 mL/h, 0.23 to 0.27 by \
         chance; the two cylinders explain up to 0.05 mL/h of it."
    );
    let near = judge_two(&made(60, 1.43, 0.05, 3), &b, [0.02, 0.02], Some(0.12));
    assert_eq!(near.verdict, Verdict::Agree);
    assert_eq!(
        near.says,
        "They agree within ± 0.12 mL/h: the difference is 0.03 mL/h, at most 0.08 mL/h with \
         chance and instruments counted."
    );
    let small = judge_two(&made(60, 1.45, 0.05, 3), &b, [0.0, 0.0], Some(0.12));
    assert_eq!(small.verdict, Verdict::Agree);
    assert!(
        small.says.contains("and too small to matter here"),
        "{}",
        small.says
    );
    let open = judge_two(
        &made(12, 1.44, 0.05, 3),
        &made(12, 1.40, 0.05, 5),
        [0.0, 0.0],
        None,
    );
    assert_eq!(open.verdict, Verdict::CannotTell);
    let more = open.more_checks.unwrap();
    assert!((5..60).contains(&more), "{more}");
    assert!(
        open.says
            .starts_with("It cannot be told with these data whether they differ: 0.04 mL/h, "),
        "{}",
        open.says
    );
    assert!(
        open.says.ends_with("more checks of each would tell."),
        "{}",
        open.says
    );
}

#[test]
fn the_checks_asked_for_would_tell_and_one_fewer_would_not() {
    let (a, b) = (made(20, 1.43, 0.05, 3), made(30, 1.40, 0.05, 5));
    let pair = judge_two(&a, &b, [0.004, 0.004], Some(0.02));
    let more = pair.more_checks.unwrap();
    assert!(more > 1 && more < 1000, "{more}");
    let factors = factors::Factors::new(2, 6).unwrap();
    let (a, b) = (side::Side::of(&a), side::Side::of(&b));
    let after = |more: u64| {
        let (a, b) = (a.after(more as f64), b.after(more as f64));
        verdict::judge(&a, &b, 2.0 * 0.004f64.powi(2), Some(0.02), &factors).verdict
    };
    assert_ne!(after(more), Verdict::CannotTell);
    assert_eq!(after(more - 1), Verdict::CannotTell);
    // Nothing added leaves the side as it is.
    let same = a.after(0.0);
    assert_close(same.variance, a.variance, 1e-12, "variance");
    assert_close(same.freedom, a.freedom, 1e-12, "freedom");
}

#[test]
fn the_total_interval_is_never_narrower_than_chance() {
    for n in [8, 9, 12, 40] {
        for u in [0.0, 0.001, 0.01, 0.05, 0.2] {
            let pair = judge_two(
                &made(n, 1.5, 0.05, 3),
                &made(n, 1.5, 0.02, 5),
                [u, 0.0],
                None,
            );
            let (chance, total) = (pair.chance.unwrap(), pair.total.unwrap());
            assert!(
                total.low <= chance.low && total.high >= chance.high,
                "{n} {u}"
            );
        }
    }
}

#[test]
fn series_without_spread_and_copies_are_told_in_words() {
    let days: Vec<f64> = (0..20).map(f64::from).collect();
    let flat =
        |value: f64, step| level(&days, &[value; 20], options(CarryOver::Estimated, step)).unwrap();
    let unknown = judge_two(&flat(6.9, None), &flat(7.0, None), [0.0, 0.0], Some(0.5));
    assert_eq!(unknown.verdict, Verdict::CannotTell);
    assert_eq!(
        (unknown.chance, unknown.sd_ratio, unknown.more_checks),
        (None, None, None)
    );
    assert!(
        unknown
            .says
            .contains("state the resolution of its instrument")
    );
    let one_sided = judge_two(&flat(6.9, None), &made(40, 7.4, 0.05, 3), [0.0, 0.0], None);
    assert_eq!(one_sided.verdict, Verdict::CannotTell);
    let rounded = judge_two(
        &flat(6.9, Some(0.1)),
        &flat(7.4, Some(0.1)),
        [0.0, 0.0],
        Some(0.2),
    );
    assert_eq!(rounded.verdict, Verdict::Differ);
    let near = judge_two(
        &flat(7.0, Some(0.1)),
        &flat(7.0, Some(0.1)),
        [0.0, 0.0],
        Some(0.2),
    );
    assert_eq!(near.verdict, Verdict::Agree);
    let step = judge_two(
        &flat(6.9, Some(0.1)),
        &flat(7.0, Some(0.1)),
        [0.0, 0.0],
        None,
    );
    assert_eq!(
        (step.verdict, step.more_checks),
        (Verdict::CannotTell, None)
    );
    assert!(
        step.says
            .ends_with("no number of checks would tell so small a difference.")
    );
    let series = made(40, 7.4, 0.05, 3);
    let copy = judge_two(&series, &series.clone(), [0.0, 0.0], Some(0.5));
    assert_eq!(copy.verdict, Verdict::CannotTell);
    assert!(
        copy.says.contains("equal reading by reading"),
        "{}",
        copy.says
    );
}

#[test]
fn one_participant_is_no_family() {
    let lone = made(40, 7.4, 0.05, 3);
    let meter = instrument("one", 0.0);
    let cabinets = [Cabinet {
        level: &lone,
        instrument: &meter,
    }];
    let mut store = FactorStore::new();
    let error = judge_cabinets(&cabinets, &settings(1, None), &mut store).unwrap_err();
    assert_eq!(error, NoPairs::OneParticipant);
    assert!(error.to_string().contains("nobody to be compared with"));
    assert_eq!(
        judge_cabinets(&[], &settings(1, None), &mut store),
        Err(NoPairs::Nobody)
    );
    let many = vec![cabinets[0]; 10_001];
    let error = judge_cabinets(&many, &settings(1, None), &mut store).unwrap_err();
    assert!(
        error.to_string().contains("compare at most 10000"),
        "{error}"
    );
}

#[test]
fn labs_are_held_against_their_cabinets() {
    let levels = [
        [1.40, 1.46, 1.52, 1.43].map(|mean| made(60, mean, 0.02, 3)),
        [1.50, 1.41, 1.56, 1.47].map(|mean| made(60, mean, 0.02, 5)),
    ];
    let shared = instrument("shared", 0.1);
    let labs: Vec<Lab<'_>> = levels
        .iter()
        .map(|of| Lab {
            cabinets: of
                .iter()
                .map(|level| Cabinet {
                    level,
                    instrument: &shared,
                })
                .collect(),
        })
        .collect();
    let mut store = FactorStore::new();
    let pairs = judge_labs(&labs, &settings(1, None), &mut store).unwrap();
    let pair = &pairs.listed[0];
    // Welch's t on four means each: scipy.stats.ttest_ind(…, equal_var=False), 1.17.1.
    let chance = pair.chance.unwrap();
    assert_close(pair.difference, -0.0325, 1e-9, "difference");
    assert_close(chance.low, -0.132_249_616_971_607_78, 1e-5, "low");
    assert_close(chance.high, 0.067_249_616_971_607_39, 1e-5, "high");
    assert_eq!(pair.u_instruments, 0.0);
    assert!(pair.says.contains("more cabinets might"), "{}", pair.says);
    // Single cabinets: chance only, and said.
    let single: Vec<Lab<'_>> = labs
        .iter()
        .map(|lab| Lab {
            cabinets: lab.cabinets[..1].to_vec(),
        })
        .collect();
    let pairs = judge_labs(&single, &settings(1, None), &mut store).unwrap();
    assert_eq!(pairs.listed[0].verdict, Verdict::Differ);
    assert!(
        pairs.listed[0]
            .says
            .contains("Each lab has a single cabinet")
    );
    let empty = [
        labs[0].clone(),
        Lab {
            cabinets: Vec::new(),
        },
    ];
    assert_eq!(
        judge_labs(&empty, &settings(1, None), &mut store),
        Err(NoPairs::EmptyLab)
    );
}
