//! What participants of a characteristic are scored against: assigned value and σ_pt.
//!
//! As the settings choose it; where that cannot be had, the participants' own spread, said so.

use super::fill::Task;
use crate::compare::precision::Screening;
use crate::compare::robust::RobustEstimate;
use crate::compare::score::{
    AssignedValue, DEFAULT_SHARE_OF_HALF_WINDOW, RepeatabilityPart, SigmaPt, Uncertainty,
    UncertaintyCheck,
};
use crate::lab::SigmaChoice;
use crate::report::wire;

pub(super) fn assigned(
    task: &Task<'_>,
    consensus: Option<&RobustEstimate>,
) -> Result<AssignedValue, String> {
    // Mass loss has no reference value of its own: a round's lot differs from the next.
    if let (Some(reference), None) = (task.settings.assigned.get(task.characteristic), &task.round)
    {
        let u = Uncertainty::standard(reference.u).map_err(|e| e.to_string())?;
        return AssignedValue::reference(reference.value, u).map_err(|e| e.to_string());
    }
    let consensus = consensus.ok_or_else(|| "there are too few participants".to_owned())?;
    AssignedValue::consensus(consensus).map_err(|e| e.to_string())
}

pub(super) fn assigned_on_wire(
    assigned: &AssignedValue,
    sigma: Option<&SigmaPt>,
) -> wire::Assigned {
    let check = sigma.map(|sigma| assigned.check(sigma));
    wire::Assigned {
        value: assigned.value(),
        u: assigned.u().value(),
        method: assigned.source().id().to_owned(),
        u_negligible: check == Some(UncertaintyCheck::Negligible),
        says: sigma.map_or_else(
            || "Without a standard deviation for the scores nothing can be scored.".to_owned(),
            |sigma| assigned.says(sigma),
        ),
    }
}

/// σ_pt as the settings choose it, else the participants' robust spread, and why.
pub(super) fn sigma(
    task: &Task<'_>,
    screening: Option<&Screening>,
    consensus: Option<&RobustEstimate>,
) -> (Option<SigmaPt>, String) {
    let chosen = match task.settings.sigma {
        SigmaChoice::Window => match &task.window {
            Some((w, _)) => {
                SigmaPt::share_of_window(w.lower, w.upper, DEFAULT_SHARE_OF_HALF_WINDOW)
                    .map_err(|e| e.to_string())
            }
            None => Err("No conformance window is known for it.".to_owned()),
        },
        SigmaChoice::Precision => from_precision(task, screening),
        SigmaChoice::Robust => Err(String::new()),
    };
    match chosen {
        Ok(sigma) => (Some(sigma), sigma.says()),
        Err(why) => {
            let robust = consensus
                .ok_or_else(|| "There are too few participants for their own spread.".to_owned())
                .and_then(|c| SigmaPt::from_robust_spread(c).map_err(|e| e.to_string()));
            match robust {
                Ok(sigma) => (
                    Some(sigma),
                    format!("{why} {}", sigma.says()).trim().to_owned(),
                ),
                Err(reason) => (None, format!("{why} {reason}").trim().to_owned()),
            }
        }
    }
}

fn from_precision(task: &Task<'_>, screening: Option<&Screening>) -> Result<SigmaPt, String> {
    let screening = screening.ok_or_else(|| "There is no precision to take it from.".to_owned())?;
    let from = screening
        .without_outliers
        .as_ref()
        .unwrap_or(&screening.all);
    let variances = from.variances.as_ref().map_err(ToString::to_string)?;
    // Daily readings carry over: as many count as are independent.
    let results = match task.round {
        Some(_) => variances.mean_replicates,
        None => {
            let all: f64 = task.sides.iter().map(|s| s.level.n_effective).sum();
            all / task.sides.len().max(1) as f64
        }
    };
    SigmaPt::from_precision(
        variances.s_reproducibility,
        RepeatabilityPart {
            deviation: variances.s_r,
            results: results.round().clamp(1.0, 1e6) as u32,
        },
    )
    .map_err(|e| e.to_string())
}
