//! Algorithm S: one standard deviation pooled from several, robustly.
//!
//! Standard deviations beyond a limit that chance passes in one of ten cases are pulled in
//! to it; the pooled value is taken again until it stands still. It says nothing of who was
//! pulled in for what reason: that is Cochran's test, elsewhere.
//!
//! Source: ISO 13528 annex C.4 (C.2 of the 2005 edition), ISO 5725-5.

use super::{Course, NoSpread, Refused};
use crate::stats::{quantile, tails};

/// Chance passes the limit in this share of cases.
const PASSES_THE_LIMIT: f64 = 0.1;
/// See Algorithm A.
const STANDS_STILL: f64 = 1e-12;
/// See Algorithm A.
const MOST_ROUNDS: u32 = 10_000;
/// With one there is nothing to pool.
const FEWEST: usize = 2;

/// A participant's standard deviation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpreadResult {
    /// Standard deviation (n − 1), 0 or above; a range over √2 for two results.
    pub deviation: f64,
    /// Its degrees of freedom: results less one.
    pub degrees: u32,
}

/// The factors of Algorithm S for one number of degrees of freedom.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LimitFactors {
    /// η: the limit over the pooled value.
    pub limit: f64,
    /// ξ: makes up for pulling in.
    pub adjustment: f64,
}

/// A pooled standard deviation: finite, 0 or above.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PooledSpread {
    deviation: f64,
    participants: usize,
    course: Course,
    no_spread: Option<NoSpread>,
}

impl PooledSpread {
    /// The pooled standard deviation, in the unit of the results.
    pub fn deviation(&self) -> f64 {
        self.deviation
    }

    /// Standard deviations it rests on.
    pub fn participants(&self) -> usize {
        self.participants
    }

    /// Rounds taken, and whether it settled.
    pub fn course(&self) -> Course {
        self.course
    }

    /// Why it is 0; `None` when it is above.
    pub fn no_spread(&self) -> Option<NoSpread> {
        self.no_spread
    }
}

/// η and ξ for `degrees` of freedom: η² is the 90 % point of χ²/ν, and
/// 1/ξ² = E[min(χ²/ν, η²)]. `None` for 0 degrees.
///
/// ```
/// use steadyfog::compare::robust::limit_factors;
/// // Printed for one degree of freedom: 1.645 and 1.097.
/// let found = limit_factors(1).map(|f| format!("{:.3} {:.3}", f.limit, f.adjustment));
/// assert_eq!(found.as_deref(), Some("1.645 1.097"));
/// ```
pub fn limit_factors(degrees: u32) -> Option<LimitFactors> {
    let nu = f64::from(degrees);
    let point = tails::chi_square_exceeded(PASSES_THE_LIMIT, nu)?;
    // E[χ²; χ² < c] = ν P(χ² with ν + 2 degrees < c).
    let inside = tails::chi_square_below(point, nu + 2.0)?;
    Some(LimitFactors {
        limit: (point / nu).sqrt(),
        adjustment: 1.0 / (inside + PASSES_THE_LIMIT * point / nu).sqrt(),
    })
}

/// Algorithm S over the participants' standard deviations, in any order.
///
/// Starts at their median; when that is 0 while others are not, at their root mean square.
/// With equal degrees of freedom this is the standard's algorithm. With unequal ones each
/// gets its own limit and weighs by its degrees of freedom (ours, no source; the same when
/// they are equal).
///
/// # Errors
/// [`Refused`] below two, when one is not finite or below 0, or has no degree of freedom.
///
/// ```
/// use steadyfog::compare::robust::{SpreadResult, algorithm_s};
/// let of = |deviation| SpreadResult { deviation, degrees: 2 };
/// let found = algorithm_s(&[of(0.8), of(1.1), of(0.9), of(1.0), of(7.0)])?;
/// assert!(found.deviation() < 1.3 && found.course().converged());
/// # Ok::<(), steadyfog::compare::robust::Refused>(())
/// ```
pub fn algorithm_s(spreads: &[SpreadResult]) -> Result<PooledSpread, Refused> {
    let members = Members::new(spreads)?;
    let done = |deviation: f64, course, no_spread| PooledSpread {
        deviation: deviation * members.unit,
        participants: spreads.len(),
        course,
        no_spread,
    };
    if members.unit <= 0.0 {
        return Ok(done(0.0, Course::Finite, Some(NoSpread::AllIdentical)));
    }
    let mut all: Vec<f64> = members.members.iter().map(|m| m.deviation).collect();
    let mut pooled = quantile::median(&mut all).unwrap_or(0.0);
    if pooled <= f64::EPSILON {
        pooled = members.pulled_in(f64::INFINITY);
    }
    for iterations in 1..=MOST_ROUNDS {
        let next = members.pulled_in(pooled);
        if next <= f64::EPSILON {
            let course = Course::Converged { iterations };
            return Ok(done(0.0, course, Some(NoSpread::MostIdentical)));
        }
        let moved = (next - pooled).abs();
        pooled = next;
        if moved <= STANDS_STILL * pooled {
            return Ok(done(pooled, Course::Converged { iterations }, None));
        }
    }
    let iterations = MOST_ROUNDS;
    Ok(done(pooled, Course::Stopped { iterations }, None))
}

struct Member {
    deviation: f64,
    degrees: f64,
    factors: LimitFactors,
}

/// The standard deviations over the largest of them, so that no square overflows.
struct Members {
    unit: f64,
    members: Vec<Member>,
}

impl Members {
    fn new(spreads: &[SpreadResult]) -> Result<Members, Refused> {
        for (position, spread) in spreads.iter().enumerate() {
            if !spread.deviation.is_finite() {
                return Err(Refused::NotFinite { position });
            }
            if spread.deviation < 0.0 {
                return Err(Refused::NegativeSpread { position });
            }
        }
        if spreads.len() < FEWEST {
            return Err(Refused::TooFew {
                found: spreads.len(),
                needed: FEWEST,
            });
        }
        let unit = spreads.iter().map(|s| s.deviation).fold(0.0, f64::max);
        // Few numbers of degrees occur; each pair of factors is solved for once.
        let mut known = std::collections::BTreeMap::<u32, LimitFactors>::new();
        let mut members = Vec::with_capacity(spreads.len());
        for (position, spread) in spreads.iter().enumerate() {
            let factors = match known.get(&spread.degrees) {
                Some(factors) => *factors,
                None => {
                    let found = limit_factors(spread.degrees);
                    let found = found.ok_or(Refused::NoFreedom { position })?;
                    known.insert(spread.degrees, found);
                    found
                }
            };
            members.push(Member {
                deviation: if unit > 0.0 {
                    spread.deviation / unit
                } else {
                    0.0
                },
                degrees: f64::from(spread.degrees),
                factors,
            });
        }
        Ok(Members { unit, members })
    }

    /// The pooled value when those beyond their limit, given `pooled`, are pulled in.
    fn pulled_in(&self, pooled: f64) -> f64 {
        let (mut squares, mut expected) = (0.0, 0.0);
        for member in &self.members {
            let limit = member.factors.limit * pooled;
            squares += member.degrees * member.deviation.min(limit).powi(2);
            expected += member.degrees / member.factors.adjustment.powi(2);
        }
        (squares / expected).sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::{antibody, near, normals};
    use super::*;
    use crate::stats::{reference::numbers, sum};
    use rand::SeedableRng;

    fn of(degrees: u32, deviations: &[f64]) -> Vec<SpreadResult> {
        let one = |&deviation| SpreadResult { deviation, degrees };
        deviations.iter().map(one).collect()
    }

    #[test]
    fn factors_are_the_printed_ones() {
        let table =
            include_str!("../../../tests/reference/interlab-robust/algorithm_s_factors.csv");
        for row in numbers(table) {
            let found = limit_factors(row[0] as u32).unwrap();
            assert!((found.limit - row[1]).abs() < 1e-3, "{row:?}");
            assert!((found.adjustment - row[2]).abs() < 1e-3, "{row:?}");
            assert!((found.limit - row[3]).abs() < 6e-7, "{row:?}");
            assert!((found.adjustment - row[4]).abs() < 6e-7, "{row:?}");
        }
        assert_eq!(limit_factors(0), None);
    }

    /// ISO 13528:2005, 8.6.2: four replicates, printed w* = 0.34 (from memory).
    #[test]
    fn antibody_of_25_laboratories() {
        let spreads: Vec<f64> = antibody().iter().map(|row| row.deviation).collect();
        let found = algorithm_s(&of(3, &spreads)).unwrap();
        assert_eq!(format!("{:.2}", found.deviation()), "0.34");
        assert!(
            (found.deviation() - 0.339_662_785_5).abs() < 1e-6,
            "{found:?}"
        );
        assert!(found.course().converged() && found.participants() == 25);
    }

    #[test]
    fn normal_results_give_their_standard_deviation() {
        let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(31);
        // Equal and unequal numbers of results; with one in ten labs four times as wide the
        // pooled value moves far less than the plain root mean square (1.58).
        for (wide, low, high) in [(false, 0.985, 1.015), (true, 1.0, 1.15)] {
            let spreads: Vec<SpreadResult> = (0..2_000)
                .map(|k| {
                    let degrees = 1 + k % 4;
                    let own = normals(&mut rng, degrees as usize + 1);
                    let times = if wide && k % 10 == 0 { 4.0 } else { 1.0 };
                    let deviation = times * sum::standard_deviation(&own).unwrap();
                    SpreadResult { deviation, degrees }
                })
                .collect();
            let found = algorithm_s(&spreads).unwrap().deviation();
            assert!(found > low && found < high, "{wide} {found}");
        }
    }

    #[test]
    fn nothing_and_hardly_anything() {
        let none = algorithm_s(&of(2, &[0.0; 4])).unwrap();
        assert_eq!(
            (none.deviation(), none.no_spread()),
            (0.0, Some(NoSpread::AllIdentical))
        );
        let mut most = vec![0.0; 30];
        most.push(1.0);
        let most = algorithm_s(&of(2, &most)).unwrap();
        assert_eq!(
            (most.deviation(), most.no_spread()),
            (0.0, Some(NoSpread::MostIdentical))
        );
        let half = algorithm_s(&of(1, &[0.0, 0.0, 0.0, 0.1, 0.1])).unwrap();
        assert!(
            half.deviation() > 0.05 && half.no_spread().is_none(),
            "{half:?}"
        );
        let huge = algorithm_s(&of(2, &[1e300, 1e300])).unwrap();
        assert!(near(
            huge.deviation(),
            1e300 * limit_factors(2).unwrap().adjustment,
            1e-11
        ));
    }

    #[test]
    fn refuses_what_is_no_standard_deviation() {
        let why = |spreads: &[SpreadResult]| algorithm_s(spreads).unwrap_err();
        assert_eq!(
            why(&of(2, &[1.0, -1.0])),
            Refused::NegativeSpread { position: 1 }
        );
        assert_eq!(
            why(&of(2, &[1.0, f64::NAN])),
            Refused::NotFinite { position: 1 }
        );
        assert_eq!(why(&of(0, &[1.0, 1.0])), Refused::NoFreedom { position: 0 });
        assert_eq!(
            why(&of(2, &[1.0])),
            Refused::TooFew {
                found: 1,
                needed: 2
            }
        );
    }
}
