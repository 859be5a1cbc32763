//! When something changed: maximum-likelihood date with a confidence set, and Pettitt's test.
//!
//! It dates one change that is taken to be there; whether it is, `assess` decides.

use super::whiten::{Basis, Kind, Whitened};

/// Dated change, by index of the reading.
#[derive(Debug, Clone, PartialEq)]
pub struct ChangeDate {
    /// Most likely reading: the first after a step, the last before a slope.
    pub index: usize,
    /// First reading of the confidence set.
    pub earliest: usize,
    /// Last reading of the confidence set.
    pub latest: usize,
    /// Level of the set.
    pub level: f64,
    /// Likelihood-ratio statistic of the change against none, readings whitened.
    pub gain: f64,
    /// Share of the likelihood of each date that carries any: (index, share), by index.
    pub shares: Vec<(usize, f64)>,
}

/// Dates one change of `kind` in `values` on ascending `days`, noise of lag-1 autocorrelation `phi`.
///
/// Equal lengths, all finite; `phi` below 0 counts as 0. At least `apart` readings lie
/// on either side of the date. The set holds the dates of the largest normalised
/// profile likelihood that together reach `level`, and its hull is given. `None` below
/// 2·`apart` + 1 readings or without any spread.
///
/// Source: conditional solution of Cobb, Biometrika 65, 243 (1978), with first-order
/// autoregressive noise.
pub fn date(
    days: &[f64],
    values: &[f64],
    phi: f64,
    kind: Kind,
    apart: usize,
    level: f64,
) -> Option<ChangeDate> {
    let n = values.len();
    if days.len() != n || n < 2 * apart.max(1) + 1 {
        return None;
    }
    let white = Whitened::new(days, values, phi.clamp(0.0, 0.95));
    date_given(&white, &Basis::level(&white), kind, apart, level)
}

/// As [`date`], given other changes already fitted in `basis`.
pub(crate) fn date_given(
    white: &Whitened,
    basis: &Basis,
    kind: Kind,
    apart: usize,
    level: f64,
) -> Option<ChangeDate> {
    let gains = white.gains(basis);
    let before = apart.max(1);
    let after = apart.max(1) + usize::from(kind == Kind::Ramp);
    let (index, gain) = gains.best(kind, before, after)?;
    let total = basis.residual_square();
    let freedom = white.len() as f64 - basis.columns.len() as f64 - 2.0;
    if gain <= 0.0 || freedom < 1.0 || total - gain <= 0.0 {
        return None;
    }
    let noise = (total - gain) / freedom;
    let end = white.len() - after;
    let candidates = gains.of(kind).iter().enumerate().take(end).skip(before);
    let mut shares: Vec<(usize, f64)> = candidates
        .map(|(i, g)| (i, (0.5 * (g - gain) / noise).exp()))
        .filter(|(_, share)| *share > 1e-4)
        .collect();
    let sum: f64 = shares.iter().map(|(_, share)| share).sum();
    shares.iter_mut().for_each(|(_, share)| *share /= sum);
    let mut by_share = shares.clone();
    by_share.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    let (mut earliest, mut latest, mut held) = (index, index, 0.0);
    for (i, share) in by_share {
        if held >= level {
            break;
        }
        held += share;
        earliest = earliest.min(i);
        latest = latest.max(i);
    }
    Some(ChangeDate {
        index,
        earliest,
        latest,
        level,
        gain: gain / noise,
        shares,
    })
}

/// Outcome of Pettitt's test for one change of location.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pettitt {
    /// Largest absolute U.
    pub k: f64,
    /// Approximate two-sided probability without a change.
    pub p: f64,
    /// Readings before the change.
    pub after: usize,
}

/// Pettitt's rank test on `values` in time order, finite, independent; ties count as half.
///
/// `None` below 2 readings.
///
/// Source: Pettitt, Appl. Statist. 28, 126 (1979): p ≈ 2·exp(−6K²/(n³ + n²)).
pub fn pettitt(values: &[f64]) -> Option<Pettitt> {
    let n = values.len();
    if n < 2 {
        return None;
    }
    let (mut u, mut k, mut after) = (0.0, -1.0_f64, 1);
    for (t, value) in values.iter().enumerate().take(n - 1) {
        let wins: f64 = values
            .iter()
            .map(|other| f64::from(value > other) - f64::from(value < other))
            .sum();
        u += wins;
        if u.abs() > k {
            (k, after) = (u.abs(), t + 1);
        }
    }
    let size = n as f64;
    let p = (2.0 * (-6.0 * k * k / (size.powi(3) + size.powi(2))).exp()).min(1.0);
    Some(Pettitt { k, p, after })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drift::fixtures::{NILE, PAGE};

    fn years() -> Vec<f64> {
        (0..100).map(f64::from).collect()
    }

    /// Pettitt (1979): K 232, p 0.0146, change after reading 17.
    #[test]
    fn pettitt_of_pages_forty_values() {
        let outcome = pettitt(&PAGE).unwrap();
        assert_eq!((outcome.k, outcome.after), (232.0, 17));
        assert!((outcome.p - 0.0146).abs() < 5e-5);
    }

    /// Nile: the level falls after 1898 (Cobb 1978; Zeileis et al., Comput. Statist. Data
    /// Anal. 44, 109 (2003)); two-segment residual sum of squares 1597457.
    #[test]
    fn nile_falls_after_1898() {
        let found = date(&years(), &NILE, 0.0, Kind::Step, 5, 0.9).unwrap();
        assert_eq!(1871 + found.index - 1, 1898);
        assert!(found.earliest >= 24 && found.latest <= 32 && found.earliest <= found.index);
        let rss = 2835156.75 / (1.0 + found.gain / 97.0);
        assert!((rss - 1597457.0).abs() < 1.0, "{rss}");
        assert_eq!(pettitt(&NILE).unwrap().after, 28);
        let mild = date(&years(), &NILE, 0.3, Kind::Step, 5, 0.9).unwrap();
        assert_eq!(1871 + mild.index - 1, 1898);
        assert!(mild.gain < found.gain);
    }

    /// Over many noisy steps the 90 % set must hold the true date about as often as it says.
    #[test]
    fn the_confidence_set_is_honest() {
        let mut noise = crate::drift::fixtures::Noise::new(7);
        let days: Vec<f64> = (0..120).map(f64::from).collect();
        let (mut held, rounds) = (0, 400);
        for _ in 0..rounds {
            let errors = noise.autoregressive(120, 0.3);
            let values: Vec<f64> = errors
                .iter()
                .enumerate()
                .map(|(i, e)| e + if i >= 70 { 1.5 } else { 0.0 })
                .collect();
            let found = date(&days, &values, 0.3, Kind::Step, 3, 0.9).unwrap();
            held += usize::from((found.earliest..=found.latest).contains(&70));
        }
        let share = held as f64 / rounds as f64;
        assert!((0.86..=0.98).contains(&share), "{share}");
    }
}
