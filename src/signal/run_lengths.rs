//! Run lengths of the rules by seeded simulation, against published and exact values.
//!
//! A run length is the number of readings up to and including the first firing; its
//! distribution is close to geometric, so the mean of `n` of them has a standard
//! error near mean/√n. Bounds are four measured standard errors.

use super::avoiding_centre::AvoidingCentre;
use super::beyond_limit::BeyondLimit;
use super::hugging_centre::HuggingCentre;
use super::off_centre_cluster::OffCentreCluster;
use super::one_sided_run::OneSidedRun;
use super::outer_pair::OuterPair;
use super::range_beyond_limit::RangeBeyondLimit;
use super::see_saw::SeeSaw;
use super::steady_climb::SteadyClimb;
use super::{Allowance, Firing, Rule, RuleInput};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::f64::consts::PI;

/// Standard normal deviates in pairs (Box & Muller 1958).
pub(super) struct Normals {
    rng: ChaCha8Rng,
    spare: Option<f64>,
}

impl Normals {
    pub(super) fn seeded(seed: u64) -> Normals {
        Normals {
            rng: ChaCha8Rng::seed_from_u64(seed),
            spare: None,
        }
    }

    pub(super) fn next(&mut self) -> f64 {
        if let Some(spare) = self.spare.take() {
            return spare;
        }
        let radius = (-2.0 * (1.0 - self.rng.random::<f64>()).ln()).sqrt();
        let (sin, cos) = (2.0 * PI * self.rng.random::<f64>()).sin_cos();
        self.spare = Some(radius * sin);
        radius * cos
    }
}

/// A mean with its standard error.
struct Estimate {
    mean: f64,
    se: f64,
}

impl Estimate {
    fn of(runs: &[f64]) -> Estimate {
        let n = runs.len() as f64;
        let mean = runs.iter().sum::<f64>() / n;
        let variance = runs.iter().map(|r| (r - mean).powi(2)).sum::<f64>() / (n - 1.0);
        Estimate {
            mean,
            se: (variance / n).sqrt(),
        }
    }

    #[track_caller]
    fn agrees_with(&self, expected: f64, what: &str) {
        assert!(
            (self.mean - expected).abs() < 4.0 * self.se,
            "{what}: {} ± {} against {expected}",
            self.mean,
            self.se
        );
    }
}

/// Run lengths of rules together on normal readings shifted by `shift` sigma.
fn run_lengths(rules: &[&dyn Rule], shift: f64, runs: usize, seed: u64) -> Vec<f64> {
    let mut normals = Normals::seeded(seed);
    let range_limit = 3.266_531_919 * 2.0 / PI.sqrt();
    let (mut z, mut ratio, mut gap) = (Vec::new(), Vec::new(), Vec::new());
    let mut even = Vec::new();
    let mut firings: Vec<Firing> = Vec::new();
    (0..runs)
        .map(|_| {
            z.clear();
            ratio.clear();
            let mut target = 256;
            loop {
                while z.len() < target {
                    let next = normals.next() + shift;
                    let before = z.last().copied().unwrap_or(f64::NAN);
                    ratio.push((next - before).abs() / range_limit);
                    z.push(next);
                }
                gap.resize(target, false);
                even.resize(target, 1.0);
                let input = RuleInput {
                    z: &z,
                    value: &z,
                    range_ratio: &ratio,
                    after_gap: &gap[..target],
                    spacing: &even[..target],
                    resolution: None,
                    allowance: Allowance::NONE,
                };
                let mut first = usize::MAX;
                for rule in rules {
                    firings.clear();
                    rule.judge(&input, &mut firings);
                    first = first.min(firings.first().map_or(usize::MAX, |f| f.at));
                }
                if first < usize::MAX {
                    return (first + 1) as f64;
                }
                target *= 2;
            }
        })
        .collect()
}

fn run_of(at_least: usize) -> OneSidedRun {
    OneSidedRun {
        at_least,
        allow_for_autocorrelation: false,
    }
}

#[test]
fn each_test_alone_runs_as_long_as_computed() {
    const EXACT: &str =
        include_str!("../../tests/reference/run-length/single_pattern_tests_in_control.csv");
    let mut reader = csv::Reader::from_reader(EXACT.as_bytes());
    let mut seen = 0;
    for record in reader.records() {
        let record = record.unwrap();
        let rule: Box<dyn Rule> = match &record[0] {
            "1" => Box::new(BeyondLimit::default()),
            "2" => Box::new(run_of(9)),
            "2b" => Box::new(run_of(8)),
            "2c" => Box::new(run_of(7)),
            "3" => Box::new(SteadyClimb { at_least: 6 }),
            "3b" => Box::new(SteadyClimb { at_least: 7 }),
            "4" => Box::new(SeeSaw::default()),
            "5" => Box::new(OuterPair::default()),
            "6" => Box::new(OffCentreCluster::default()),
            "7" => Box::new(HuggingCentre::default()),
            "8" => Box::new(AvoidingCentre::default()),
            other => panic!("unknown test {other}"),
        };
        let exact: f64 = record[2].parse().unwrap();
        // The long run lengths would take most of the time; their bound is wider.
        let runs = if exact > 2000.0 { 400 } else { 4000 };
        let found = Estimate::of(&run_lengths(&[rule.as_ref()], 0.0, runs, 11 + seen));
        assert!(found.se < 0.06 * exact);
        found.agrees_with(exact, &record[1]);
        seen += 1;
    }
    assert_eq!(seen, 11);
}

#[test]
fn tests_together_run_as_long_as_champ_and_woodall_published() {
    const PUBLISHED: &str = include_str!("../../tests/reference/run-length/runs_rules_arl.csv");
    let c1 = BeyondLimit::default();
    let c2 = OuterPair::default();
    let c3 = OffCentreCluster::default();
    let c4 = run_of(8);
    let nine = run_of(9);
    let combinations: [&[&dyn Rule]; 9] = [
        &[&c1],
        &[&c1, &c2],
        &[&c1, &c3],
        &[&c1, &c4],
        &[&c1, &c2, &c3],
        &[&c1, &c2, &c4],
        &[&c1, &c3, &c4],
        &[&c1, &c2, &c3, &c4],
        &[&c1, &nine],
    ];
    let mut reader = csv::Reader::from_reader(PUBLISHED.as_bytes());
    let headings = reader.headers().unwrap().clone();
    let mut compared = 0;
    for record in reader.records() {
        let record = record.unwrap();
        let shift: f64 = record[0].parse().unwrap();
        // In control, and one shift of each size that matters.
        if ![0.0, 0.6, 1.0, 2.0].contains(&shift) {
            continue;
        }
        for (column, rules) in combinations.iter().enumerate() {
            let expected: f64 = record[column + 1].parse().unwrap();
            let runs = run_lengths(rules, shift, 6000, 100 + compared);
            Estimate::of(&runs).agrees_with(
                expected,
                &format!("{} at shift {shift}", &headings[column + 1]),
            );
            compared += 1;
        }
    }
    assert_eq!(compared, 36);
}

#[test]
fn reading_and_range_together_run_as_long_as_computed() {
    // Limits at 3 sigma and at D4 times the mean moving range, known parameters, by
    // the method of Crowder, J Qual Technol 19 (1987) 98; values computed by us.
    let rules: [&dyn Rule; 2] = [&BeyondLimit::default(), &RangeBeyondLimit::default()];
    Estimate::of(&run_lengths(&rules, 0.0, 6000, 7)).agrees_with(105.331, "no shift");
    Estimate::of(&run_lengths(&rules, 1.0, 6000, 8)).agrees_with(37.464, "one sigma");
}

#[test]
fn an_autocorrelated_series_needs_the_longer_run_to_alarm_as_rarely() {
    // phi 0.5, limits from the true level: nine in a row comes far too often; the
    // longer run restores the rate within what the two-state approximation gives.
    let phi: f64 = 0.5;
    let mut normals = Normals::seeded(21);
    let mut z = vec![normals.next()];
    for _ in 1..200_000 {
        let next = phi * z[z.len() - 1] + (1.0 - phi * phi).sqrt() * normals.next();
        z.push(next);
    }
    let starts = |allow| {
        let rule = OneSidedRun {
            at_least: 9,
            allow_for_autocorrelation: allow,
        };
        let mut firings = Vec::new();
        let input = RuleInput {
            z: &z,
            value: &z,
            range_ratio: &[],
            after_gap: &vec![false; z.len()],
            spacing: &vec![1.0; z.len()],
            resolution: None,
            allowance: Allowance {
                lag1: phi,
                ..Allowance::NONE
            },
        };
        rule.judge(&input, &mut firings);
        let mut runs: Vec<usize> = firings.iter().map(|f| f.start).collect();
        runs.dedup();
        runs.len() as f64 / z.len() as f64
    };
    let independent = 0.5_f64.powi(9);
    assert!(starts(false) > 4.0 * independent);
    let allowed = starts(true);
    assert!(
        allowed > 0.5 * independent && allowed < 1.5 * independent,
        "{allowed} against {independent}"
    );
}
