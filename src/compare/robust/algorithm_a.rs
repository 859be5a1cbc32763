//! Algorithm A: Huber's estimates of centre and spread together.
//!
//! Results beyond 1.5 s* of the centre count as if they stood there; centre and spread are
//! taken again until they stand still. It keeps 96 % of the mean's efficiency on normal
//! results (computed from its definition); one-sided wild results still pull it a little, see the tests.

use super::sample::Sample;
use super::{Constants, Course, FEWEST_PARTICIPANTS, Method, Refused, RobustEstimate};
use crate::stats::normal;

/// Results farther from the centre than this many s* are pulled in (ISO 13528 annex C.3).
const PULLED_IN_BEYOND: f64 = 1.5;
/// The iteration stands still when no round moves it by more than this share of the
/// spread. The standard stops at the third significant figure; a report shows more.
const STANDS_STILL: f64 = 1e-12;
/// Many results take about 30 rounds, a handful at times some hundred. Only results of which
/// so many are the same that the spread creeps towards nothing come near this.
const MOST_ROUNDS: u32 = 10_000;

/// The factor that makes up for pulling in, on normal results: 1/√E[min(Z², 1.5²)].
///
/// ```
/// use steadyfog::compare::robust::{Constants, algorithm_a_factor};
/// assert!((algorithm_a_factor(Constants::Exact) - 1.133392655462).abs() < 1e-11);
/// assert_eq!(algorithm_a_factor(Constants::AsPrinted), 1.134);
/// ```
pub fn algorithm_a_factor(constants: Constants) -> f64 {
    let c = PULLED_IN_BEYOND;
    match constants {
        Constants::AsPrinted => 1.134,
        Constants::Exact => {
            let inside = normal::between(-c, c) - 2.0 * c * normal::density(c);
            1.0 / (inside + 2.0 * c * c * normal::above(c)).sqrt()
        }
    }
}

/// Algorithm A over `values`, one per participant, in any order.
///
/// Starts at the median and the scaled median absolute deviation. When more than half of
/// the results are the same that start would stay at 0 for ever, so it starts at the
/// standard deviation then, as a note of the standard allows (from memory); the result may
/// still be a spread of 0, and says so.
/// Source: ISO 13528 annex C.3 (C.1 of the 2005 edition); the fixed point is Huber's
/// proposal 2 with k = 1.5.
///
/// # Errors
/// [`Refused`] below three results, and when one is not finite.
///
/// ```
/// use steadyfog::compare::robust::{Constants, algorithm_a};
/// let found = algorithm_a(&[7.1, 7.0, 7.2, 6.9, 7.0, 9.6], Constants::Exact)?;
/// assert!(found.course().converged());
/// assert!((found.centre() - 7.1027).abs() < 1e-4 && found.spread() < 0.21);
/// # Ok::<(), steadyfog::compare::robust::Refused>(())
/// ```
pub fn algorithm_a(values: &[f64], constants: Constants) -> Result<RobustEstimate, Refused> {
    let sample = Sample::new(values, FEWEST_PARTICIPANTS)?;
    if sample.all_identical() {
        return Ok(sample.identical_estimate(Method::AlgorithmA));
    }
    let deviations = sample.deviations();
    let factor = algorithm_a_factor(constants);
    let mut centre = 0.0;
    let mut spread = constants.median_deviation_factor() * sample.median_deviation();
    if spread <= 0.0 {
        spread = crate::stats::sum::standard_deviation(deviations).unwrap_or(0.0);
    }
    let done =
        |centre, spread, course| Ok(sample.estimate(Method::AlgorithmA, centre, spread, course));
    for iterations in 1..=MOST_ROUNDS {
        let next = pulled_in(deviations, centre, PULLED_IN_BEYOND * spread);
        let next_spread = factor * next.deviation;
        if next_spread <= sample.resolution() {
            // Nothing is left but the value that most results have: the median, 0 here.
            return done(0.0, 0.0, Course::Converged { iterations });
        }
        let moved = (next.mean - centre).abs().max((next_spread - spread).abs());
        (centre, spread) = (next.mean, next_spread);
        if moved <= STANDS_STILL * spread {
            return done(centre, spread, Course::Converged { iterations });
        }
    }
    let iterations = MOST_ROUNDS;
    done(centre, spread, Course::Stopped { iterations })
}

struct PulledIn {
    mean: f64,
    deviation: f64,
}

/// Mean and standard deviation (n − 1) of the values, those farther than `limit` from
/// `centre` pulled in to there.
fn pulled_in(values: &[f64], centre: f64, limit: f64) -> PulledIn {
    let (low, high) = (centre - limit, centre + limit);
    let n = values.len() as f64;
    let mean = values.iter().map(|x| x.max(low).min(high)).sum::<f64>() / n;
    let squares: f64 = values
        .iter()
        .map(|x| (x.max(low).min(high) - mean).powi(2))
        .sum();
    PulledIn {
        mean,
        deviation: (squares / (n - 1.0)).sqrt(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::NoSpread;
    use super::super::testing::{COPPER, antibody, huber_cases, near};
    use super::*;

    /// AMC, Analyst 114, 1693 (1989), from memory: 3.21 and 0.67; with the printed factors
    /// (the iteration carried on to its end) 3.2055659 and 0.6741501.
    #[test]
    fn copper_in_flour() {
        let printed = algorithm_a(&COPPER, Constants::AsPrinted).unwrap();
        assert!((printed.centre() - 3.2055659).abs() < 5e-8, "{printed:?}");
        assert!((printed.spread() - 0.6741501).abs() < 5e-8, "{printed:?}");
        let exact = algorithm_a(&COPPER, Constants::Exact).unwrap();
        for found in [printed, exact] {
            assert_eq!(
                format!("{:.2} {:.2}", found.centre(), found.spread()),
                "3.21 0.67"
            );
            assert!(found.course().converged() && found.course().iterations() < 100);
            assert_eq!(found.participants(), 24);
        }
        assert!((exact.spread() - printed.spread()).abs() > 4e-4);
    }

    /// ISO 13528:2005, 8.6.2: 25 laboratories' means of four; the printed x* is 1.57 (data
    /// from an open copy, result from memory).
    #[test]
    fn antibody_of_25_laboratories() {
        let means: Vec<f64> = antibody().iter().map(|row| row.mean).collect();
        let found = algorithm_a(&means, Constants::AsPrinted).unwrap();
        assert_eq!(format!("{:.2}", found.centre()), "1.57");
        assert!((found.centre() - 1.568_642_669_8).abs() < 1e-9);
        assert!((found.spread() - 0.464_949_384).abs() < 1e-8);
    }

    #[test]
    fn is_hubers_proposal_2_of_statsmodels() {
        for case in huber_cases() {
            let found = algorithm_a(&case.values, Constants::Exact).unwrap();
            // Both stop when a round moves less than 1e-12 of the spread; near a million the
            // library, which works on the plain values, keeps ten digits of the spread.
            let allowed = 2e-11 + 1e-15 * case.centre.abs() / case.spread;
            let off = (found.centre() - case.centre).abs() / case.spread;
            assert!(off <= allowed, "{} {off:e}", case.name);
            assert!(near(found.spread(), case.spread, allowed), "{}", case.name);
        }
    }

    /// What makes it Huber's estimate: at the end the pulled-in results average to the
    /// centre, and their variance is the spread's, less the factor.
    #[test]
    fn stands_at_its_fixed_point() {
        for case in huber_cases() {
            let found = algorithm_a(&case.values, Constants::Exact).unwrap();
            let (x, s) = (found.centre(), found.spread());
            let theta = algorithm_a_factor(Constants::Exact).powi(-2);
            let psi = |v: &f64| ((v - x) / s).clamp(-1.5, 1.5);
            let n = case.values.len() as f64;
            let first: f64 = case.values.iter().map(psi).sum::<f64>() / n;
            let second: f64 = case.values.iter().map(|v| psi(v).powi(2)).sum();
            assert!(first.abs() < 1e-8, "{}: {first:e}", case.name);
            assert!((second / (n - 1.0) - theta).abs() < 1e-8, "{}", case.name);
        }
    }

    #[test]
    fn same_results_are_an_answer_and_say_that_they_have_no_spread() {
        let same = algorithm_a(&[6.8; 5], Constants::Exact).unwrap();
        assert_eq!((same.centre(), same.spread()), (6.8, 0.0));
        assert_eq!(same.no_spread(), Some(NoSpread::AllIdentical));
        // One of many differs: the spread shrinks to nothing.
        let mut values = vec![6.8; 20];
        values.push(7.4);
        let most = algorithm_a(&values, Constants::Exact).unwrap();
        assert_eq!((most.centre(), most.spread()), (6.8, 0.0));
        assert_eq!(most.no_spread(), Some(NoSpread::MostIdentical));
        assert!(most.course().converged());
        // Six of ten are the same and the rest tells of a spread: the MAD would say 0.
        let values = [6.8, 6.8, 6.8, 6.8, 6.8, 6.8, 6.7, 6.9, 6.6, 7.0];
        let some = algorithm_a(&values, Constants::Exact).unwrap();
        assert!(
            some.spread() > 0.05 && some.course().converged(),
            "{some:?}"
        );
    }
}
