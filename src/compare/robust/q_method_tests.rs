//! The Q method against its definition written out pair by pair, and on edge cases.

use super::super::testing::{COPPER, antibody, near, normals};
use super::super::{NoSpread, Refused};
use super::*;
use rand::{RngExt, SeedableRng};

/// The definition, pair by pair, on differences counted in whole grid steps, so that ties
/// are ties: no tolerance, no search.
fn spelt_out(participants: &[Vec<i64>]) -> f64 {
    let p = participants.len() as f64;
    let mut steps = std::collections::BTreeMap::<i64, f64>::new();
    for (j, other) in participants.iter().enumerate() {
        for own in &participants[..j] {
            let weight = 1.0 / (own.len() * other.len()) as f64 / (0.5 * p * (p - 1.0));
            for (a, b) in own.iter().flat_map(|a| other.iter().map(move |b| (a, b))) {
                *steps.entry((a - b).abs()).or_default() += weight;
            }
        }
    }
    let ties = steps.get(&0).copied().unwrap_or(0.0);
    let target = 0.25 + 0.75 * ties;
    let (mut before, mut at_before, mut smoothed_before) = (ties, 0.0, 0.0);
    for (&at, weight) in steps.range(1..) {
        let smoothed = before + 0.5 * weight;
        if smoothed >= target {
            let share = (target - smoothed_before) / (smoothed - smoothed_before);
            let difference = at_before + share * (at as f64 - at_before);
            let scale = 2f64.sqrt() * normal::quantile(0.625 + 0.375 * ties).unwrap();
            return difference / scale;
        }
        (before, at_before, smoothed_before) = (before + weight, at as f64, smoothed);
    }
    0.0
}

fn on_a_grid(participants: &[Vec<i64>], step: f64, from: f64) -> Vec<Vec<f64>> {
    let place = |k: &i64| from + step * *k as f64;
    participants
        .iter()
        .map(|own| own.iter().map(place).collect())
        .collect()
}

fn of_replicates(participants: &[Vec<f64>]) -> RobustEstimate {
    let slices: Vec<&[f64]> = participants.iter().map(Vec::as_slice).collect();
    q_hampel_of_replicates(&slices).unwrap()
}

#[test]
fn counting_gives_what_the_definition_gives() {
    let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(11);
    for round in 0..300 {
        let p = rng.random_range(3..25);
        let most = [3, 8, 40, 100_000][round % 4];
        let participants: Vec<Vec<i64>> = (0..p)
            .map(|_| {
                let n = if round % 3 == 0 {
                    1
                } else {
                    rng.random_range(1..6)
                };
                (0..n).map(|_| rng.random_range(-most..=most)).collect()
            })
            .collect();
        // Steps that binary fractions cannot hold, also far from zero.
        let (step, from) = [(1.0, 0.0), (0.1, 6.8), (0.01, 1000.0), (0.03, -35.0)][round / 4 % 4];
        let found = of_replicates(&on_a_grid(&participants, step, from)).spread();
        let expected = step * spelt_out(&participants);
        let allowed = 1e-10 + 1e-13 * from.abs() / step;
        assert!(
            near(found, expected, allowed),
            "round {round}: {found} {expected} {participants:?}"
        );
    }
}

#[test]
fn one_result_each_is_the_same_both_ways() {
    let single = q_hampel(&COPPER).unwrap();
    let each: Vec<Vec<f64>> = COPPER.iter().map(|x| vec![*x]).collect();
    let replicates = of_replicates(&each);
    assert_eq!(single.spread(), replicates.spread());
    assert_eq!(single.centre(), replicates.centre());
    let counted: Vec<Vec<i64>> = COPPER
        .iter()
        .map(|x| vec![(x * 100.0).round() as i64])
        .collect();
    assert!(near(single.spread(), 0.01 * spelt_out(&counted), 1e-12));
    assert!(single.centre() > 2.9 && single.centre() < 3.3, "{single:?}");
}

#[test]
fn by_hand() {
    // Differences 1, 2, 4, 3, 6, 7 in sixths: H = 1/6, … ; G(1) = 1/12, G(2) = 3/12, which
    // is the target, so that the difference is 2; scale √2 Φ⁻¹(0.625) = 0.4506241
    // (Φ⁻¹(0.625) = 0.3186394 in any table of the normal distribution).
    let found = q_hampel(&[0.0, 1.0, 3.0, 7.0]).unwrap();
    assert!(near(found.spread(), 2.0 / 0.450_624_1, 1e-6), "{found:?}");
    // Three results: G(1) = 1/6, G(2) = 1/2, and 0.25 lies a quarter of the way.
    let found = q_hampel(&[0.0, 1.0, 3.0]).unwrap();
    assert!(near(found.spread(), 1.25 / 0.450_624_1, 1e-6), "{found:?}");
}

/// The 25 laboratories of ISO 13528:2005, 8.6.2, fall into two groups, so that the methods
/// need not agree; no published result of this one was at hand, the definition is.
#[test]
fn antibody_of_25_laboratories() {
    let means: Vec<f64> = antibody().iter().map(|row| row.mean).collect();
    let counted: Vec<Vec<i64>> = means
        .iter()
        .map(|x| vec![(x * 100.0).round() as i64])
        .collect();
    let found = q_hampel(&means).unwrap();
    assert!(
        near(found.spread(), 0.01 * spelt_out(&counted), 1e-12),
        "{found:?}"
    );
    // Nothing lies beyond 4.5 spreads; the centre is near that of Algorithm A, 1.57.
    assert_eq!(format!("{:.2}", found.centre()), "1.57");
}

#[test]
fn ties_leave_a_spread_as_long_as_something_differs() {
    let mut values = vec![6.8; 9];
    values.push(6.9);
    let found = q_hampel(&values).unwrap();
    assert!(found.spread() > 0.0 && found.no_spread().is_none());
    let same = q_hampel(&[6.8; 10]).unwrap();
    assert_eq!((same.centre(), same.spread()), (6.8, 0.0));
    assert_eq!(same.no_spread(), Some(NoSpread::AllIdentical));
    // Within participants results differ, between them as well: a spread of single results.
    let replicates = of_replicates(&[vec![1.0, 2.0], vec![1.0, 2.0], vec![1.0, 2.0]]);
    assert!(replicates.spread() > 0.0 && near(replicates.centre(), 1.5, 1e-15));
    assert_eq!(replicates.participants(), 3);
}

#[test]
fn refuses_participants_it_cannot_use() {
    let refused = |participants: &[&[f64]]| q_hampel_of_replicates(participants).unwrap_err();
    assert_eq!(
        refused(&[&[1.0], &[], &[2.0]]),
        Refused::NoResult { position: 1 }
    );
    assert_eq!(
        refused(&[&[1.0], &[2.0], &[2.0, f64::NAN]]),
        Refused::NotFinite { position: 2 }
    );
    // Many results of two participants are still two participants.
    assert_eq!(
        refused(&[&[1.0, 2.0, 3.0], &[2.0, 3.0]]),
        Refused::TooFew {
            found: 2,
            needed: 3
        }
    );
}

#[test]
fn a_thousand_participants_agree_with_a_plain_sort() {
    let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(12);
    let values = normals(&mut rng, 1_000);
    let mut differences = Vec::new();
    for (j, a) in values.iter().enumerate() {
        differences.extend(values[..j].iter().map(|b| (a - b).abs()));
    }
    assert_eq!(differences.len(), 499_500);
    // Without ties G is 0.25 a half step beyond the 124,875th: between it and the next.
    let (_, &mut at, rest) = differences.select_nth_unstable_by(124_874, f64::total_cmp);
    let next = rest.iter().copied().fold(f64::INFINITY, f64::min);
    let scale = 2f64.sqrt() * normal::quantile(0.625).unwrap();
    let found = q_hampel(&values).unwrap().spread();
    assert!(near(found, 0.5 * (at + next) / scale, 1e-12), "{found}");
}
