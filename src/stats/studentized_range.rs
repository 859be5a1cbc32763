//! The studentized range: how far apart the extremes of several means lie by chance.
//!
//! P(Q < q) for the range of k standard normal values over an independent standard
//! deviation with ν degrees of freedom, and its quantile, by numerical integration. The
//! range without its divisor is tabulated once for a k, so that many ν cost little. What a
//! family of comparisons is, is the callers' business.

use super::integrate::gauss_legendre;
use super::normal;
use statrs::function::gamma::ln_gamma;

/// Most values whose range is asked for; tables and tests end there.
pub const MOST_VALUES: usize = 10_000;
/// Degrees of freedom above which the divisor is taken as exact: q changes by less than
/// q³/(4ν), in relative terms below 1e-7 for the largest q in use.
const EXACT_ABOVE: f64 = 1e9;
/// Steps of the table per unit of the range.
const STEPS: f64 = 16.0;
/// Points of each local interpolation.
const POINTS: usize = 8;
/// Beyond this range nothing is left of 10,000 values: k² · P(|N(0, 2)| > 14) < 1e-14.
const WIDEST: f64 = 14.0;
/// Standard normal values beyond it are left out: their probability is below 1e-17.
const FARTHEST: f64 = 8.6;

/// The distribution of the studentized range of one number of values.
#[derive(Debug, Clone)]
pub struct StudentizedRange {
    /// P(range of k standard normal values < i/STEPS).
    table: Vec<f64>,
}

impl StudentizedRange {
    /// For the range of `values` means; `None` below 2 and above [`MOST_VALUES`].
    ///
    /// ```
    /// use steadyfog::stats::studentized_range::StudentizedRange;
    /// let three = StudentizedRange::new(3).ok_or("three means have a range")?;
    /// // 3.877 in printed tables of the upper 5 % points (from memory).
    /// let q = three.exceeded(0.05, 10.0).ok_or("a quantile")?;
    /// assert!((q - 3.877).abs() < 5e-4);
    /// # Ok::<(), &str>(())
    /// ```
    pub fn new(values: usize) -> Option<StudentizedRange> {
        if !(2..=MOST_VALUES).contains(&values) {
            return None;
        }
        let points = (WIDEST * STEPS) as usize + POINTS;
        let table = (0..points)
            .map(|i| range_below(i as f64 / STEPS, values as f64))
            .collect();
        Some(StudentizedRange { table })
    }

    /// P(Q > q) with `df` degrees of freedom of the divisor, which may be infinite and need
    /// not be whole; good to about 1e-11 (2e-9 of a tail of 0.001). `None` unless `df` is at least 1 and `q` a number.
    pub fn above(&self, q: f64, df: f64) -> Option<f64> {
        if q.is_nan() || df.is_nan() || df < 1.0 {
            return None;
        }
        if q <= 0.0 {
            return Some(1.0);
        }
        if df > EXACT_ABOVE {
            return Some(1.0 - self.below(q));
        }
        // Over u = ln s, where s² is chi-square over its degrees of freedom. From 9 (below
        // 12: the long side) standard deviations of u on, less than 1e-17 is left.
        let half = 0.5 * df;
        let ln_scale = std::f64::consts::LN_2 + half * half.ln() - ln_gamma(half);
        let density = |u: f64| (ln_scale + df * u - half * (2.0 * u).exp()).exp();
        let width = (2.0 * df).sqrt().recip();
        let low = -(12.0 * width + 38.0 / df);
        let high = (9.0 * width).min(2.5);
        // Where s is so large that no range reaches q·s, nothing is added.
        let end = high.min((WIDEST / q).ln());
        if end <= low {
            return Some(0.0);
        }
        // At most 0.2: the range of many values hardly varies, a step that panels must resolve.
        let panels = ((end - low) / (2.0 * width).min(0.2))
            .ceil()
            .clamp(1.0, 500.0) as usize;
        let tail = gauss_legendre(low, end, panels, |u| {
            density(u) * (1.0 - self.below(q * u.exp()))
        });
        Some(tail.clamp(0.0, 1.0))
    }

    /// The q that is exceeded with probability `p`; `df` as for [`StudentizedRange::above`].
    ///
    /// `None` unless 1e-8 ≤ p ≤ 0.999 and `df` is at least 1.
    pub fn exceeded(&self, p: f64, df: f64) -> Option<f64> {
        if !(1e-8..=0.999).contains(&p) {
            return None;
        }
        // On ln q against ln of the tail, which is nearly straight: bracket, then the
        // secant; a step that leaves the bracket or shrinks it too little becomes a halving.
        let target = p.ln();
        let off = |y: f64| Some(self.above(y.exp(), df)?.max(1e-300).ln() - target);
        let (mut low, mut high) = (1.0_f64, 2.0_f64);
        while off(low)? < 0.0 && low > -30.0 {
            (low, high) = (low - 2.0, low);
        }
        while off(high)? > 0.0 && high < 60.0 {
            (low, high) = (high, high + 1.0);
        }
        let (mut at_low, mut at_high) = (off(low)?, off(high)?);
        for round in 0..200 {
            let width = high - low;
            let mut next = (low * at_high - high * at_low) / (at_high - at_low);
            if round % 3 == 2 || !(next > low && next < high) {
                next = 0.5 * (low + high);
            }
            if width < 1e-13 {
                break;
            }
            let at_next = off(next)?;
            if at_next.abs() < 1e-12 {
                return Some(next.exp());
            }
            if at_next > 0.0 {
                (low, at_low) = (next, at_next);
            } else {
                (high, at_high) = (next, at_next);
            }
        }
        Some((0.5 * (low + high)).exp())
    }

    /// P(range < w) from the table, by interpolation through the nearest points.
    fn below(&self, w: f64) -> f64 {
        let place = w * STEPS;
        if place <= 0.0 {
            return 0.0;
        }
        if w >= WIDEST {
            return 1.0;
        }
        let first = (place as usize).saturating_sub(POINTS / 2 - 1);
        let Some(near) = self.table.get(first..first + POINTS) else {
            return 1.0;
        };
        // Barycentric form; weights are alternating binomials.
        const WEIGHTS: [f64; POINTS] = [-1.0, 7.0, -21.0, 35.0, -35.0, 21.0, -7.0, 1.0];
        let offset = place - first as f64;
        let (mut above, mut beneath) = (0.0, 0.0);
        for ((i, value), weight) in near.iter().enumerate().zip(WEIGHTS) {
            let apart = offset - i as f64;
            if apart == 0.0 {
                return *value;
            }
            let share = weight / apart;
            above += share * value;
            beneath += share;
        }
        (above / beneath).clamp(0.0, 1.0)
    }
}

/// P(range of k standard normal values < w).
///
/// Hartley's form, Biometrika 32 (1942) 334 (from memory):
/// (2Φ(w/2) − 1)^k + 2k ∫ φ(z) (Φ(z) − Φ(z − w))^(k−1) dz over z from w/2.
fn range_below(w: f64, k: f64) -> f64 {
    let start = 0.5 * w;
    let middle = normal::between(-start, start).powf(k);
    if start >= FARTHEST {
        return middle;
    }
    let rest = gauss_legendre(start, FARTHEST, 12, |z| {
        normal::density(z) * normal::between(z - w, z).powf(k - 1.0)
    });
    (middle + 2.0 * k * rest).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::reference::{assert_close, numbers};
    use crate::stats::tails;

    #[test]
    fn tails_and_quantiles_agree_with_scipy() {
        let table = include_str!("../../tests/reference/scipy/studentized_range.csv");
        let rows = numbers(table);
        let mut ready: Option<(f64, StudentizedRange)> = None;
        for row in &rows {
            let [k, df, p, q, tail] = row[..] else {
                panic!("{row:?}")
            };
            if ready.as_ref().is_none_or(|(of, _)| *of != k) {
                ready = Some((k, StudentizedRange::new(k as usize).unwrap()));
            }
            let (_, range) = ready.as_ref().unwrap();
            let what = format!("studentized range {row:?}");
            assert_close(range.above(q, df).unwrap(), tail, 5e-9, &what);
            assert_close(range.exceeded(p, df).unwrap(), q, 5e-9, &what);
        }
        assert!(rows.len() > 100);
    }

    /// The range of two is √2 times the size of their difference: Student's t.
    #[test]
    fn two_means_are_students_t() {
        let two = StudentizedRange::new(2).unwrap();
        for df in [1.0, 2.5, 7.0, 40.0, 1e4, 1e7] {
            for p in [0.2, 0.05, 0.001, 1e-5] {
                let t = tails::t_exceeded(0.5 * p, df).unwrap();
                let q = two.exceeded(p, df).unwrap();
                assert_close(q, t * std::f64::consts::SQRT_2, 1e-7, &format!("{df} {p}"));
            }
        }
        let q = two.exceeded(0.05, f64::INFINITY).unwrap();
        assert_close(
            q,
            1.959_963_984_540_054 * std::f64::consts::SQRT_2,
            1e-9,
            "normal",
        );
    }

    #[test]
    fn quantile_and_tail_undo_each_other() {
        for k in [2, 4, 45, 10_000] {
            let range = StudentizedRange::new(k).unwrap();
            for df in [1.0, 4.0, 33.3, f64::INFINITY] {
                for p in [0.9, 0.05, 1e-4, 1e-7] {
                    let q = range.exceeded(p, df).unwrap();
                    assert_close(
                        range.above(q, df).unwrap(),
                        p,
                        1e-6,
                        &format!("{k} {df} {p}"),
                    );
                }
            }
        }
    }

    #[test]
    fn what_has_no_range_is_refused() {
        assert!(StudentizedRange::new(1).is_none());
        assert!(StudentizedRange::new(MOST_VALUES + 1).is_none());
        let range = StudentizedRange::new(3).unwrap();
        for df in [0.0, 0.5, -1.0, f64::NAN] {
            assert_eq!(range.above(3.0, df), None);
            assert_eq!(range.exceeded(0.05, df), None);
        }
        for p in [0.0, 1.0, -0.1, f64::NAN] {
            assert_eq!(range.exceeded(p, 9.0), None);
        }
        assert_eq!(range.above(f64::NAN, 9.0), None);
        assert_eq!(range.above(-1.0, 9.0), Some(1.0));
        assert_eq!(range.above(f64::INFINITY, 9.0), Some(0.0));
    }
}
