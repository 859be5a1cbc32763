//! The coupon difference of two cabinets, averaged over the rounds that have both.

use super::input::{CouponDifference, MismatchError, Observation};
use crate::stats::sum;

/// Mass loss of cabinet `a` less cabinet `b`, averaged over the rounds in which both have
/// a usable mass loss, each round counting the same.
///
/// Its uncertainty is that of the coupons' scatter; when the differences of the rounds
/// scatter by more than that, it is enlarged by their ratio (Birge, Physical Review 40
/// (1932) 207, from memory), never made smaller. It is unknown when it is unknown in any
/// of these rounds. Names are the identifiers; set `a_name`, `b_name` and `df` afterwards.
///
/// # Errors
///
/// [`MismatchError::NoCommonRound`] when no round has both.
pub fn coupon_difference(
    observations: &[Observation],
    a: &str,
    b: &str,
) -> Result<CouponDifference, MismatchError> {
    let of = |who: &str, round: &str| {
        observations.iter().find(|one| {
            one.participant == who
                && one.round == round
                && one.mass_loss.is_finite()
                && one.hours.is_finite()
                && one.hours > 0.0
        })
    };
    let mut rounds: Vec<String> = Vec::new();
    let (mut differences, mut hours) = (Vec::new(), Vec::new());
    let mut variances = Some(Vec::new());
    for one in observations {
        if rounds.contains(&one.round) {
            continue;
        }
        let (Some(left), Some(right)) = (of(a, &one.round), of(b, &one.round)) else {
            continue;
        };
        rounds.push(one.round.clone());
        differences.push(left.mass_loss - right.mass_loss);
        hours.push(0.5 * (left.hours + right.hours));
        let variance = match (left.u, right.u) {
            (Some(x), Some(y)) if x.is_finite() && y.is_finite() => Some(x * x + y * y),
            _ => None,
        };
        variances = variances
            .zip(variance)
            .map(|(mut all, one): (Vec<f64>, f64)| {
                all.push(one);
                all
            });
    }
    let (Some(difference), Some(hours)) = (sum::mean(&differences), sum::mean(&hours)) else {
        return Err(MismatchError::NoCommonRound {
            a: a.to_owned(),
            b: b.to_owned(),
        });
    };
    Ok(CouponDifference {
        a: a.to_owned(),
        a_name: a.to_owned(),
        b: b.to_owned(),
        b_name: b.to_owned(),
        hours,
        difference,
        u: variances.map(|variances| uncertainty(&differences, &variances)),
        df: None,
        rounds,
    })
}

/// Standard uncertainty of the plain mean, enlarged when the values scatter by more than
/// their variances say.
fn uncertainty(values: &[f64], variances: &[f64]) -> f64 {
    let count = values.len() as f64;
    let inside = sum::sum(variances).sqrt() / count;
    let outside = sum::standard_deviation(values).map_or(0.0, |sd| sd / count.sqrt());
    inside.max(outside)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeMap;

    fn observation(round: &str, participant: &str, mass_loss: f64, u: Option<f64>) -> Observation {
        Observation {
            round: round.into(),
            participant: participant.into(),
            hours: 48.0,
            mass_loss,
            u,
            values: BTreeMap::new(),
        }
    }

    #[test]
    fn rounds_count_alike_and_only_those_with_both() {
        let all = [
            observation("r1", "x", 70.0, Some(1.5)),
            observation("r1", "y", 60.0, Some(2.0)),
            observation("r2", "x", 72.0, Some(1.5)),
            observation("r2", "y", 64.0, Some(2.0)),
            observation("r3", "x", 99.0, Some(1.5)),
            observation("r4", "x", f64::NAN, Some(1.5)),
            observation("r4", "y", 64.0, Some(2.0)),
        ];
        let found = coupon_difference(&all, "x", "y").unwrap();
        assert_eq!((found.difference, found.rounds.len()), (9.0, 2));
        // √(2 · (1.5² + 2²)) / 2 = 1.768; the rounds' own scatter, √2/√2 = 1, is less.
        assert!((found.u.unwrap() - 12.5_f64.sqrt() / 2.0).abs() < 1e-12);
        let swapped = coupon_difference(&all, "y", "x").unwrap();
        assert_eq!((swapped.difference, swapped.u), (-9.0, found.u));
    }

    #[test]
    fn rounds_that_scatter_more_enlarge_the_uncertainty() {
        let all = [
            observation("r1", "x", 70.0, Some(0.1)),
            observation("r1", "y", 60.0, Some(0.1)),
            observation("r2", "x", 70.0, Some(0.1)),
            observation("r2", "y", 66.0, Some(0.1)),
        ];
        // 10 and 4: standard deviation √18, of the mean of two √9.
        let found = coupon_difference(&all, "x", "y").unwrap();
        assert!((found.u.unwrap() - 3.0).abs() < 1e-12);
    }

    #[test]
    fn one_coupon_leaves_the_uncertainty_unknown_and_no_round_is_an_error() {
        let all = [
            observation("r1", "x", 70.0, None),
            observation("r1", "y", 60.0, Some(0.1)),
        ];
        assert_eq!(coupon_difference(&all, "x", "y").unwrap().u, None);
        let text = coupon_difference(&all, "x", "z").unwrap_err().to_string();
        assert!(text.contains("no coupon round in common"), "{text}");
    }
}
