//! One-way analysis of variance and what ISO 5725-2:1994 7.4 makes of it.
//!
//! It turns sums into standard deviations and limits; the sums themselves are in
//! [`super::cells`].

use super::cells::{Cells, Pooled};
use crate::stats::tails;
use thiserror::Error;

/// The factor of the repeatability and reproducibility limits: 1.96·√2 = 2.77, rounded to
/// 2.8 as ISO 5725-6:1994 4.1.4 has it (from memory).
pub const LIMIT_FACTOR: f64 = 2.8;

/// The variances of an experiment, in the unit of the results.
#[derive(Debug, Clone, PartialEq)]
pub struct Variances {
    /// Repeatability standard deviation.
    pub s_r: f64,
    /// Between-participant standard deviation; 0 when the estimate of its square is negative.
    pub s_l: f64,
    /// Whether the estimate of s_L² was negative.
    pub s_l_negative: bool,
    /// The estimate of s_L² itself, which may be negative; squared unit.
    pub s_l_squared_estimate: f64,
    /// Reproducibility standard deviation, √(s_r² + s_L²).
    pub s_reproducibility: f64,
    /// Repeatability limit, [`LIMIT_FACTOR`] · s_r.
    pub r_limit: f64,
    /// Reproducibility limit, [`LIMIT_FACTOR`] · s_R.
    pub reproducibility_limit: f64,
    /// n̄, the number of results each that the unequal numbers stand for.
    pub mean_replicates: f64,
    /// The analysis of variance behind it.
    pub anova: Anova,
}

/// A one-way analysis of variance; sums of squares in the squared unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Anova {
    /// Participants less one.
    pub df_between: f64,
    /// Results less participants.
    pub df_within: f64,
    /// Sum of squares between participants.
    pub ss_between: f64,
    /// Sum of squares within participants.
    pub ss_within: f64,
    /// Ratio of the mean squares; `None` when there is no spread within participants.
    pub f: Option<f64>,
    /// Chance of an F as large when all participants have one true mean; `None` without F.
    pub p: Option<f64>,
    /// Share of the spread that lies between participants; `None` when all results are equal.
    pub r_squared: Option<f64>,
}

/// Why s_r, and with it s_L and s_R, cannot be given.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum NoRepeatability {
    /// No participant has two results.
    #[error(
        "Repeatability cannot be given, and reproducibility with it: no participant has two results."
    )]
    OneResultEach,
}

pub(super) fn variances(cells: &Cells, pooled: &Pooled) -> Result<Variances, NoRepeatability> {
    let df_between = pooled.participants - 1.0;
    let df_within = pooled.results - pooled.participants;
    if df_within < 1.0 {
        return Err(NoRepeatability::OneResultEach);
    }
    let (between, within) = (
        pooled.squares_between / df_between,
        pooled.squares_within / df_within,
    );
    let estimate = (between - within) / pooled.mean_replicates;
    let unit = cells.unit;
    let s_r = within.sqrt() * unit;
    let s_l = estimate.max(0.0).sqrt() * unit;
    let s_reproducibility = (within + estimate.max(0.0)).sqrt() * unit;
    let f = (within > 0.0).then(|| between / within);
    let all = pooled.squares_between + pooled.squares_within;
    Ok(Variances {
        s_r,
        s_l,
        s_l_negative: estimate < 0.0,
        s_l_squared_estimate: estimate * unit * unit,
        s_reproducibility,
        r_limit: LIMIT_FACTOR * s_r,
        reproducibility_limit: LIMIT_FACTOR * s_reproducibility,
        mean_replicates: pooled.mean_replicates,
        anova: Anova {
            df_between,
            df_within,
            ss_between: pooled.squares_between * unit * unit,
            ss_within: pooled.squares_within * unit * unit,
            f,
            p: f.and_then(|f| tails::f_above(f, df_between, df_within)),
            r_squared: (all > 0.0).then(|| pooled.squares_between / all),
        },
    })
}
