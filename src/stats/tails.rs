//! Tails and quantiles of the t, chi-square and F distributions.
//!
//! Tails are computed on their own side, so that a small one keeps its digits; the
//! incomplete gamma and beta functions are statrs'. Quantiles are solved here on the
//! logarithm of the tail, since statrs' own are good to a few digits only in the tails.

use super::normal;
use statrs::function::beta::{checked_beta_reg, ln_beta};
use statrs::function::gamma::{checked_gamma_lr, checked_gamma_ur, ln_gamma};

/// Degrees of freedom above which t is taken as normal: the two differ by less than 1e-7
/// of a tail at 5 sigma, and the series for the incomplete beta function grows long.
const T_IS_NORMAL_ABOVE: f64 = 1e7;

/// Share below which an argument of the incomplete beta function is so near 1 that its
/// distance from 1 is lost: the function is then taken from its other end.
const NEAR_NOTHING: f64 = 1e-10;

fn incomplete_beta(a: f64, b: f64, x: f64) -> Option<f64> {
    checked_beta_reg(a, b, x).ok()
}

fn is_freedom(df: f64) -> bool {
    df > 0.0 && df.is_finite()
}

/// P(T > t) for Student's t with `df` degrees of freedom (need not be whole).
///
/// `None` unless `df` is above 0 and finite and `t` is a number.
pub fn t_above(t: f64, df: f64) -> Option<f64> {
    if !is_freedom(df) || t.is_nan() {
        return None;
    }
    if df > T_IS_NORMAL_ABOVE {
        return Some(normal::above(t));
    }
    let square = t * t;
    let tail = if square < NEAR_NOTHING * df {
        0.5 - 0.5 * incomplete_beta(0.5, 0.5 * df, square / (df + square))?
    } else {
        0.5 * incomplete_beta(0.5 * df, 0.5, df / (df + square))?
    };
    Some(if t >= 0.0 { tail } else { 1.0 - tail })
}

/// P(|T| > |t|) for Student's t; `None` as for [`t_above`].
pub fn t_two_sided(t: f64, df: f64) -> Option<f64> {
    t_above(t.abs(), df).map(|tail| (2.0 * tail).min(1.0))
}

/// The t that is exceeded with probability `p`; `None` unless 0 < p < 1 and `df` is above 0.
///
/// ```
/// use steadyfog::stats::tails::t_exceeded;
/// // 2.064 in any printed table.
/// assert!((t_exceeded(0.025, 24.0).unwrap_or(0.0) - 2.0638986).abs() < 1e-7);
/// ```
pub fn t_exceeded(p: f64, df: f64) -> Option<f64> {
    if !(p > 0.0 && p < 1.0 && is_freedom(df)) {
        return None;
    }
    let tail = p.min(1.0 - p);
    let sign = if p <= 0.5 { 1.0 } else { -1.0 };
    let z = -normal::quantile(tail)?;
    if z <= 0.0 || df > T_IS_NORMAL_ABOVE {
        return Some(sign * z.max(0.0));
    }
    let scale = (ln_gamma(0.5 * (df + 1.0)) - ln_gamma(0.5 * df)).exp()
        / (df * std::f64::consts::PI).sqrt();
    let start = z + (z * z * z + z) / (4.0 * df);
    let found = solve_tail(tail, start, Side::Above, |t| {
        let density = scale * (-0.5 * (df + 1.0) * (t * t / df).ln_1p()).exp();
        Some((t_above(t, df)?, density))
    })?;
    Some(sign * found)
}

/// P(X > x) for chi-square with `df` degrees of freedom; `None` unless `df` is above 0
/// and finite and `x` is a number.
pub fn chi_square_above(x: f64, df: f64) -> Option<f64> {
    match () {
        () if !is_freedom(df) || x.is_nan() => None,
        () if x <= 0.0 => Some(1.0),
        () if x.is_infinite() => Some(0.0),
        () => checked_gamma_ur(0.5 * df, 0.5 * x).ok(),
    }
}

/// P(X < x) for chi-square; `None` as for [`chi_square_above`].
pub fn chi_square_below(x: f64, df: f64) -> Option<f64> {
    match () {
        () if !is_freedom(df) || x.is_nan() => None,
        () if x <= 0.0 => Some(0.0),
        () if x.is_infinite() => Some(1.0),
        () => checked_gamma_lr(0.5 * df, 0.5 * x).ok(),
    }
}

/// The chi-square that is exceeded with probability `p`; `None` unless 0 < p < 1 and `df`
/// is above 0.
pub fn chi_square_exceeded(p: f64, df: f64) -> Option<f64> {
    if !(p > 0.0 && p < 1.0 && is_freedom(df)) {
        return None;
    }
    // Wilson & Hilferty (1931).
    let h = 2.0 / (9.0 * df);
    let start = (df * (1.0 - h - normal::quantile(p)? * h.sqrt()).powi(3)).max(1e-3 * df);
    let ln_scale = -0.5 * df * std::f64::consts::LN_2 - ln_gamma(0.5 * df);
    let density = |x: f64| (ln_scale + (0.5 * df - 1.0) * x.ln() - 0.5 * x).exp();
    if p <= 0.5 {
        let upper = |x| Some((chi_square_above(x, df)?, density(x)));
        solve_tail(p, start, Side::Above, upper)
    } else {
        let lower = |x| Some((chi_square_below(x, df)?, density(x)));
        solve_tail(1.0 - p, start, Side::Below, lower)
    }
}

/// P(F > x) with `df1` and `df2` degrees of freedom; `None` unless both are above 0 and
/// finite and `x` is a number.
pub fn f_above(x: f64, df1: f64, df2: f64) -> Option<f64> {
    if !is_freedom(df1) || !is_freedom(df2) || x.is_nan() {
        return None;
    }
    if x <= 0.0 {
        return Some(1.0);
    }
    // Written so that a large x loses no digits, which `1 - df1 x / (df1 x + df2)` does.
    if df1 * x < NEAR_NOTHING * df2 {
        return Some(1.0 - incomplete_beta(0.5 * df1, 0.5 * df2, df1 * x / (df1 * x + df2))?);
    }
    incomplete_beta(0.5 * df2, 0.5 * df1, df2 / (df2 + df1 * x))
}

/// P(F < x); `None` as for [`f_above`].
pub fn f_below(x: f64, df1: f64, df2: f64) -> Option<f64> {
    if x.is_nan() {
        None
    } else if x <= 0.0 {
        f_above(0.0, df1, df2).map(|_| 0.0)
    } else {
        f_above(1.0 / x, df2, df1)
    }
}

/// The F that is exceeded with probability `p`; `None` unless 0 < p < 1 and both degrees
/// of freedom are above 0.
pub fn f_exceeded(p: f64, df1: f64, df2: f64) -> Option<f64> {
    if !(p > 0.0 && p < 1.0 && is_freedom(df1) && is_freedom(df2)) {
        return None;
    }
    let ln_scale = 0.5 * df1 * (df1 / df2).ln() - ln_beta(0.5 * df1, 0.5 * df2);
    let density = |x: f64| {
        (ln_scale + (0.5 * df1 - 1.0) * x.ln() - 0.5 * (df1 + df2) * (df1 * x / df2).ln_1p()).exp()
    };
    if p <= 0.5 {
        let upper = |x| Some((f_above(x, df1, df2)?, density(x)));
        solve_tail(p, 1.0, Side::Above, upper)
    } else {
        let lower = |x| Some((f_below(x, df1, df2)?, density(x)));
        solve_tail(1.0 - p, 1.0, Side::Below, lower)
    }
}

#[derive(Clone, Copy, PartialEq)]
enum Side {
    Above,
    Below,
}

/// The x above 0 whose tail is `p`: Newton on ln(tail) against ln(x), with a bracket that
/// every step must stay inside, else it is halved. `tail` gives the tail and the density.
fn solve_tail(
    p: f64,
    start: f64,
    side: Side,
    tail: impl Fn(f64) -> Option<(f64, f64)>,
) -> Option<f64> {
    // e^±700 spans all that binary64 can hold.
    let (mut low, mut high) = (-700.0_f64, 700.0_f64);
    let mut y = start.ln();
    if !(y > low && y < high) {
        y = 0.0;
    }
    for _ in 0..200 {
        let x = y.exp();
        let (found, density) = tail(x)?;
        if (found > p) == (side == Side::Above) {
            low = y;
        } else {
            high = y;
        }
        let slope = density * x / found;
        let step = (found / p).ln() / slope;
        let mut next = if side == Side::Above {
            y + step
        } else {
            y - step
        };
        if !(next > low && next < high) {
            // A wide-open side is probed one unit at a time before it is halved.
            next = match side {
                _ if high - low <= 4.0 => 0.5 * (low + high),
                _ if low == y => (y + 2.0).min(0.5 * (y + high)),
                _ => (y - 2.0).max(0.5 * (y + low)),
            };
        }
        if (next - y).abs() <= 1e-15 * next.abs().max(1.0) {
            return Some(next.exp());
        }
        y = next;
    }
    Some(y.exp())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::reference::{assert_close, numbers};

    #[test]
    fn t_agrees_with_scipy() {
        for row in numbers(include_str!("../../tests/reference/scipy/t_tail.csv")) {
            let found = t_above(row[1], row[0]).unwrap();
            assert_close(found, row[2], 1e-10, &format!("t tail {row:?}"));
            assert_close(
                t_above(-row[1], row[0]).unwrap(),
                1.0 - row[2],
                1e-10,
                "mirrored",
            );
        }
        for row in numbers(include_str!("../../tests/reference/scipy/t_quantile.csv")) {
            let found = t_exceeded(row[1], row[0]).unwrap();
            // Near the middle of the distribution ten digits of the tail are fewer of t.
            let off = (found - row[2]).abs();
            assert!(off <= 1e-10 * row[2].max(1.0), "{row:?} {found}");
            assert_close(
                t_exceeded(1.0 - row[1], row[0]).unwrap(),
                -row[2],
                1e-3,
                "mirrored",
            );
        }
    }

    #[test]
    fn chi_square_agrees_with_scipy() {
        for row in numbers(include_str!("../../tests/reference/scipy/chi_square.csv")) {
            let [df, x, above, below, p] = row[..] else {
                panic!("{row:?}")
            };
            let what = format!("chi-square {row:?}");
            assert_close(chi_square_above(x, df).unwrap(), above, 2e-11, &what);
            assert_close(chi_square_below(x, df).unwrap(), below, 2e-11, &what);
            assert_close(chi_square_exceeded(p, df).unwrap(), x, 2e-11, &what);
        }
    }

    #[test]
    fn f_agrees_with_scipy() {
        for row in numbers(include_str!("../../tests/reference/scipy/f.csv")) {
            let [a, b, x, above, p] = row[..] else {
                panic!("{row:?}")
            };
            let what = format!("F {row:?}");
            assert_close(f_above(x, a, b).unwrap(), above, 2e-11, &what);
            assert_close(
                f_above(x, a, b).unwrap() + f_below(x, a, b).unwrap(),
                1.0,
                1e-12,
                &what,
            );
            assert_close(f_exceeded(p, a, b).unwrap(), x, 2e-10, &what);
        }
    }

    #[test]
    fn what_is_no_probability_or_freedom_is_refused() {
        for p in [0.0, 1.0, -1.0, f64::NAN] {
            assert_eq!(t_exceeded(p, 5.0), None);
            assert_eq!(chi_square_exceeded(p, 5.0), None);
            assert_eq!(f_exceeded(p, 5.0, 5.0), None);
        }
        for df in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert_eq!(t_above(1.0, df), None);
            assert_eq!(chi_square_above(1.0, df), None);
            assert_eq!(f_above(1.0, df, 3.0), None);
            assert_eq!(f_below(-1.0, 3.0, df), None);
        }
        assert_eq!(t_above(f64::NAN, 3.0), None);
        assert_eq!(t_two_sided(0.0, 3.0), Some(1.0));
        assert_eq!(t_exceeded(0.5, 3.0), Some(0.0));
        assert_eq!(chi_square_above(f64::INFINITY, 3.0), Some(0.0));
        assert_eq!(f_above(f64::INFINITY, 3.0, 3.0), Some(0.0));
    }
}
