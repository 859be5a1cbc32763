//! One attempt at a regression over the rounds: priors, fit, and what it tells.
//!
//! Whether it is used, and what else could be, `sensitivity` decides.

use super::draws::{self, Draws, Ends};
use super::input::StatedSensitivity;
use super::model::{self, NoFit, Prior};
use super::needs;
use super::sensitivity::{FEWEST_BETWEEN, FEWEST_DEGREES, Sensitivity};
use super::table::{Column, Design, Table};
use std::collections::BTreeMap;

/// Share of the prior variance that the rounds must take away before they count as
/// telling something (own choice).
const LEAST_TOLD: f64 = 0.1;
/// The same for a characteristic without a stated sensitivity, whose prior is ours.
const LEAST_TOLD_UNSTATED: f64 = 0.5;
/// Smallest prior spread in scaled units: a stated uncertainty of 0 stays computable.
const LEAST_SPREAD: f64 = 1e-6;
/// Prior spread, in scaled units, that leaves the word to the rounds: a sensitivity can
/// hardly be more than 1 without others that undo it.
const VAGUE: f64 = 3.0;

/// What a regression found.
pub(super) struct Fitted {
    pub(super) known: BTreeMap<String, Sensitivity>,
    pub(super) too_little: Vec<String>,
    /// Stated sensitivities that the rounds contradict.
    pub(super) contradicted: Vec<String>,
    pub(super) blurred: Vec<(String, f64)>,
    pub(super) observations: usize,
    pub(super) rounds: usize,
    pub(super) participants: usize,
}

/// Fits the columns, or says why not: the middle of a sentence.
pub(super) fn regress(
    table: &Table,
    columns: &[Column],
    stated: &BTreeMap<String, StatedSensitivity>,
) -> Result<Fitted, String> {
    if columns.is_empty() {
        return Err(needs::nothing_to_fit(table));
    }
    let (design, columns) = table.design(columns)?;
    let unknowns = design.rounds + columns.len();
    if design.cells.len() < unknowns + FEWEST_DEGREES
        || design.participants < 1 + columns.len() + FEWEST_BETWEEN
    {
        return Err(needs::too_few(&design, columns.len()));
    }
    let priors: Vec<Prior> = columns
        .iter()
        .map(|column| match stated.get(&column.id) {
            Some(one) => Prior {
                mean: one.per_unit * column.spread / design.spread,
                sd: (one.uncertainty * column.spread / design.spread).max(LEAST_SPREAD),
            },
            None => Prior { mean: 0.0, sd: 1.0 },
        })
        .collect();
    let fit = model::fit(&design.cells, design.rounds, &priors).map_err(|why| match why {
        NoFit::NoScatter => {
            "the mass losses follow the characteristics without any scatter, so that no uncertainty can be told"
                .to_owned()
        }
        NoFit::Undetermined => "the characteristics move together, so that they cannot be told apart".to_owned(),
    })?;
    let mut fitted = Fitted {
        known: BTreeMap::new(),
        too_little: Vec::new(),
        contradicted: Vec::new(),
        blurred: Vec::new(),
        observations: design.cells.len(),
        rounds: design.rounds,
        participants: design.participants,
    };
    fitted.contradicted = contradicted(&design, &columns, stated, &priors);
    let mut told_something = false;
    let parts = columns
        .iter()
        .zip(&priors)
        .zip(fit.mean.iter().zip(&fit.sd));
    for (((column, prior), (&mean, &sd)), (scaled, stream)) in
        parts.zip(draws::of_fit(&fit).into_iter().zip(100u64..))
    {
        let told = (1.0 - (sd / prior.sd).powi(2)).clamp(0.0, 1.0);
        let is_stated = stated.contains_key(&column.id);
        if column.reliability < 0.9 {
            fitted.blurred.push((column.id.clone(), column.reliability));
        }
        if told < LEAST_TOLD_UNSTATED && !is_stated {
            fitted.too_little.push(column.id.clone());
            continue;
        }
        told_something |= told >= LEAST_TOLD;
        let scale = design.spread / column.spread;
        let mut stretch = Draws::stream(stream);
        let draws: Vec<f64> = scaled
            .iter()
            .map(|draw| draw * scale * (1.0 + column.stretch * stretch.normal()))
            .collect();
        let value = mean * scale;
        let ends = draws::ends(draws.clone()).unwrap_or(Ends {
            low: value,
            high: value,
        });
        fitted.known.insert(
            column.id.clone(),
            Sensitivity {
                value,
                u: scale * sd.hypot(column.stretch * mean.hypot(sd)),
                ends,
                stated: is_stated,
                told_by_rounds: Some(told),
                reliability: Some(column.reliability),
                draws,
            },
        );
    }
    if told_something {
        Ok(fitted)
    } else {
        Err("they scatter too much to tell a sensitivity better than was known before".to_owned())
    }
}

/// The stated sensitivities that lie more than two standard uncertainties from what the
/// rounds alone say; none when the rounds alone say nothing.
fn contradicted(
    design: &Design,
    columns: &[Column],
    stated: &BTreeMap<String, StatedSensitivity>,
    priors: &[Prior],
) -> Vec<String> {
    if !columns.iter().any(|column| stated.contains_key(&column.id)) {
        return Vec::new();
    }
    let vague = vec![
        Prior {
            mean: 0.0,
            sd: VAGUE
        };
        columns.len()
    ];
    let Ok(alone) = model::fit(&design.cells, design.rounds, &vague) else {
        return Vec::new();
    };
    let found = columns
        .iter()
        .zip(priors)
        .zip(alone.mean.iter().zip(&alone.sd));
    found
        .filter(|((column, prior), (mean, sd))| {
            stated.contains_key(&column.id) && (*mean - prior.mean).abs() > 2.0 * sd.hypot(prior.sd)
        })
        .map(|((column, _), _)| column.id.clone())
        .collect()
}
