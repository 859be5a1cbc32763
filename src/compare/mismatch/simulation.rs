//! Two invented labs with a known mismatch: how often the explanation finds it.
//!
//! Four cabinets against three. The partner's catch is lower by a stated amount, its pH
//! meter reads high, pH itself goes with nothing. `MISMATCH_RUNS=2000 cargo test
//! mismatch::simulation -- --nocapture` prints the figures of more runs.

use super::*;
use crate::stats::sum::{mean, sum};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::collections::BTreeMap;

struct Noise(ChaCha8Rng);

impl Noise {
    fn uniform(&mut self) -> f64 {
        self.0.random()
    }
    fn normal(&mut self) -> f64 {
        let (u, v) = (1.0 - self.uniform(), self.uniform());
        (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
    }
}

#[derive(Debug, Clone, Copy)]
struct World {
    rounds: usize,
    /// Catch of the partner less that of the bench, mL/h.
    catch_offset: f64,
    /// Reading error of the partner's pH meter.
    ph_offset: f64,
    /// Spread of what sets a cabinet apart and no check sees, g/m².
    other: f64,
    /// Whether cabinets of a lab differ in their catch.
    cabinets_differ: bool,
    /// Whether the sensitivity is drawn from the stated distribution, not from 25 to 35.
    sensitivity_as_stated: bool,
    /// Whether the lab states the sensitivity.
    stated: bool,
    /// Whether the labs are compared; else the first cabinet of each.
    labs: bool,
}

/// The planted mismatch of the demo.
///
/// The sensitivity is stated as 30 ± 8 and truly lies between 25 and 35, so intervals
/// that rest on the statement hold the truth more often than 95 %.
const DEMO: World = World {
    rounds: 3,
    catch_offset: -0.25,
    ph_offset: 0.08,
    other: 0.0,
    cabinets_differ: true,
    sensitivity_as_stated: false,
    stated: true,
    labs: false,
};

/// What the instruments' difference is uncertain by: catch, and pH (U = 0.1).
const U_CYLINDERS: f64 = 0.02;
const U_METERS: f64 = 0.05;
const U_CATCH_MEAN: f64 = 0.015;
const U_PH_MEAN: f64 = 0.005;
const BENCH: usize = 4;
const CABINETS: usize = 7;

pub(super) fn named() -> Vec<Named> {
    [
        ("collection-rate", "collection rate", "mL/h per 80 cm²"),
        ("ph", "pH", ""),
    ]
    .map(|(id, spoken, unit)| Named {
        id: id.into(),
        spoken: spoken.into(),
        unit: unit.into(),
    })
    .into()
}

fn stated() -> StatedSensitivity {
    StatedSensitivity {
        characteristic: "collection-rate".into(),
        per_unit: 30.0,
        uncertainty: 8.0,
        hours: 48.0,
        source: "own trial".into(),
    }
}

struct Told {
    pair: PairExplanation,
    true_share: f64,
    true_sensitivity: f64,
    known: Sensitivities,
}

fn average(values: impl Iterator<Item = f64>) -> f64 {
    mean(&values.collect::<Vec<_>>()).unwrap()
}

fn run(world: World, seed: u64) -> Told {
    let mut noise = Noise(ChaCha8Rng::seed_from_u64(seed));
    let slope = if world.sensitivity_as_stated {
        30.0 + 8.0 * noise.normal()
    } else {
        25.0 + 10.0 * noise.uniform()
    };
    let lab = |cabinet: usize| usize::from(cabinet >= BENCH);
    let other: Vec<f64> = (0..CABINETS)
        .map(|_| world.other * noise.normal())
        .collect();
    let differ = f64::from(u8::from(world.cabinets_differ));
    let own: Vec<f64> = (0..CABINETS)
        .map(|_| 0.04 * differ * noise.normal())
        .collect();
    let cylinders = [0, 1].map(|_| U_CYLINDERS / 2.0_f64.sqrt() * noise.normal());
    let coupon_sd = 2.0 + noise.uniform();
    let (mut observations, mut truth) = (Vec::new(), Vec::new());
    let (mut squares, mut degrees) = (Vec::new(), 0.0);
    for round in 0..world.rounds {
        let level = 70.0 + 3.0 * noise.normal();
        for cabinet in 0..CABINETS {
            let partner = lab(cabinet) as f64;
            let catch =
                1.5 + world.catch_offset * partner + own[cabinet] + 0.03 * differ * noise.normal();
            let real = level + slope * (catch - 1.5) + other[cabinet];
            let coupons = 3 + usize::from(noise.uniform() > 0.5);
            let losses: Vec<f64> = (0..coupons)
                .map(|_| real + coupon_sd * noise.normal())
                .collect();
            let middle = mean(&losses).unwrap();
            squares.push(losses.iter().map(|x| (x - middle).powi(2)).sum::<f64>());
            degrees += (coupons - 1) as f64;
            let seen = catch + cylinders[lab(cabinet)] + U_CATCH_MEAN * noise.normal();
            let ph = 6.8 + world.ph_offset * partner + 0.01 * noise.normal();
            let level_of = |mean, u_chance, instruments: f64| Level {
                mean,
                u_chance,
                u_instrument: instruments / 2.0_f64.sqrt(),
            };
            truth.push((cabinet, catch, real));
            observations.push(Observation {
                round: format!("r{round}"),
                participant: format!("c{cabinet}"),
                hours: 48.0,
                mass_loss: middle,
                u: Some(1.0 / (coupons as f64).sqrt()),
                values: BTreeMap::from([
                    (
                        "collection-rate".into(),
                        level_of(seen, U_CATCH_MEAN, U_CYLINDERS),
                    ),
                    ("ph".into(), level_of(ph, U_PH_MEAN, U_METERS)),
                ]),
            });
        }
    }
    let pooled = (sum(&squares) / degrees).sqrt();
    observations
        .iter_mut()
        .for_each(|one| one.u = one.u.map(|u| u * pooled));
    let side = |cabinet: usize| match (world.labs, cabinet) {
        (true, _) => Some(lab(cabinet)),
        (false, 0) => Some(0),
        (false, BENCH) => Some(1),
        _ => None,
    };
    let number = |one: &Observation| one.participant[1..].parse::<usize>().unwrap();
    let of_side = |which: usize| {
        observations
            .iter()
            .filter(move |one| side(number(one)) == Some(which))
    };
    let difference = |value: &dyn Fn(&Observation) -> f64| {
        average(of_side(1).map(value)) - average(of_side(0).map(value))
    };
    let u_of = |which: usize| {
        let all: Vec<f64> = of_side(which).map(|one| one.u.unwrap().powi(2)).collect();
        sum(&all).sqrt() / all.len() as f64
    };
    let true_of = |value: fn(&(usize, f64, f64)) -> f64| {
        let of = |which| average(truth.iter().filter(|t| side(t.0) == Some(which)).map(value));
        of(1) - of(0)
    };
    let cells = [0, 1].map(|which| of_side(which).count() as f64);
    let chance = |u: f64| u * (1.0 / cells[0] + 1.0 / cells[1]).sqrt();
    let names = named();
    let stated: Vec<StatedSensitivity> = world.stated.then(stated).into_iter().collect();
    let known = sensitivities(&observations, &stated, &names, 48.0);
    let coupons = CouponDifference {
        a: "partner".into(),
        a_name: "Partner".into(),
        b: "bench".into(),
        b_name: "Bench".into(),
        rounds: (0..world.rounds).map(|r| format!("r{r}")).collect(),
        hours: 48.0,
        difference: difference(&|one| one.mass_loss),
        u: Some(u_of(0).hypot(u_of(1))),
        df: Some(degrees),
    };
    let differences = [
        ("collection-rate", U_CATCH_MEAN, U_CYLINDERS),
        ("ph", U_PH_MEAN, U_METERS),
    ]
    .into_iter()
    .zip(names)
    .map(|((id, u, u_instruments), characteristic)| Difference {
        characteristic,
        difference: difference(&|one| one.values[id].mean),
        u_chance: chance(u),
        u_instruments,
    });
    let differences: Vec<Difference> = differences.collect();
    Told {
        pair: explain(&coupons, &differences, &known).unwrap(),
        true_share: slope * true_of(|t| t.1) / true_of(|t| t.2),
        true_sensitivity: slope,
        known,
    }
}

/// Shares of runs, 0 to 1.
#[derive(Debug, Default)]
struct Figures {
    catch_first: f64,
    ph_laid_to_meters: f64,
    share_given: f64,
    share_covered: f64,
    slope_covered: f64,
    from_rounds: f64,
    width: f64,
    /// The interval of a part leaves out 0.
    something_laid: f64,
}

fn figures(world: World, runs: u64) -> Figures {
    let runs = std::env::var("MISMATCH_RUNS")
        .ok()
        .and_then(|n| n.parse().ok())
        .unwrap_or(runs);
    let mut found = Figures::default();
    let one = 1.0 / runs as f64;
    for seed in 0..runs {
        let told = run(world, 1_000 + seed);
        let part = |id: &str| {
            told.pair
                .parts
                .iter()
                .find(|part| part.characteristic == id)
                .unwrap()
        };
        let catch = part("collection-rate");
        let tally = |slot: &mut f64, yes: bool| *slot += if yes { one } else { 0.0 };
        tally(
            &mut found.catch_first,
            catch.rank == 1 && !catch.instruments_explain,
        );
        tally(&mut found.ph_laid_to_meters, part("ph").instruments_explain);
        tally(&mut found.from_rounds, told.known.method == Method::Rounds);
        tally(
            &mut found.something_laid,
            told.pair
                .parts
                .iter()
                .any(|p| p.share.is_some_and(|s| !s.ends.cover_zero())),
        );
        if let Some(share) = catch.share {
            found.share_given += one;
            found.width += one * (share.ends.high - share.ends.low);
            let inside = (share.ends.low..=share.ends.high).contains(&told.true_share);
            tally(&mut found.share_covered, inside);
        }
        if let Some(slope) = told.known.known.get("collection-rate") {
            let inside = (slope.ends.low..=slope.ends.high).contains(&told.true_sensitivity);
            tally(&mut found.slope_covered, inside);
        }
    }
    found.share_covered /= found.share_given.max(one);
    found.width /= found.share_given.max(one);
    println!("{world:?}\n  {runs} runs: {found:.3?}");
    found
}

const CALIBRATED: World = World {
    other: 1.5,
    sensitivity_as_stated: true,
    ..DEMO
};

#[test]
fn the_planted_mismatch_is_found_and_ph_is_laid_to_the_meters() {
    let found = figures(DEMO, 30);
    assert!(found.catch_first >= 0.9, "{found:?}");
    assert!(found.ph_laid_to_meters >= 0.9, "{found:?}");
}

#[test]
fn the_interval_of_the_share_holds_the_truth() {
    // 60 runs at 95 %: standard error 2.8 %; seeded, so that the figures stand.
    let found = figures(CALIBRATED, 60);
    assert!(found.share_covered >= 0.88, "{found:?}");
    assert!(found.slope_covered >= 0.88, "{found:?}");
}

#[test]
fn noise_is_not_explained() {
    for labs in [false, true] {
        let nothing = World {
            catch_offset: 0.0,
            ph_offset: 0.0,
            cabinets_differ: false,
            labs,
            ..DEMO
        };
        let found = figures(nothing, 25);
        assert!(found.share_given <= 0.12, "{found:?}");
        assert!(found.something_laid <= 0.05, "{found:?}");
    }
}

#[test]
fn other_worlds_hold_too() {
    let small = if std::env::var("MISMATCH_RUNS").is_ok() {
        1
    } else {
        3
    };
    for rounds in [1, 3, 6] {
        for (stated, labs) in [(true, false), (true, true), (false, false)] {
            for world in [DEMO, CALIBRATED] {
                let found = figures(
                    World {
                        rounds,
                        stated,
                        labs,
                        ..world
                    },
                    small,
                );
                let answerable = stated || rounds > 1;
                assert!(!answerable || found.catch_first >= 0.5, "{found:?}");
            }
        }
    }
}
