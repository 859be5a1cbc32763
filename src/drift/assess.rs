//! Whether a series drifts or has shifted, decided once, from the readings up to a date.
//!
//! The last readings (at most 400 of the current stage) are searched for steps and slopes
//! under autocorrelated noise; a claim needs more evidence than chance offers over all
//! dates searched. Signals (that something is seen at all) are the rules'; here it is
//! dated, sized and, if it is a drift, carried forward to the conformance limit.

use super::judge::{Judge, Scale};
use super::prepare::{USUAL_PHI, believed_phi, rein_in_lone_outliers, residual_phi, rough_middle};
use super::segments::Search;
use super::theil_sen::{LONGEST, median};
use super::whiten::Whitened;
use super::{Drift, Shift};
use crate::time::Instant;

/// Fewest readings in which anything is claimed.
const FEWEST: usize = 12;

/// Evidence asked for over all dates of a window of 400: about one steady series in 150
/// passes it by chance (seeded simulation, see the tests).
pub(super) const SEARCH: Search = Search {
    enter_first: 15.0,
    enter_next: 15.0,
    most: 3,
    after_step: 3,
    after_ramp: 5,
    before: 5,
    noise_floor: 0.1,
};

/// A stretch of time that holds a date with some level of confidence.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// Early end.
    pub earliest: Instant,
    /// Late end.
    pub latest: Instant,
    /// Level, as 0.9.
    pub level: f64,
}

/// What is claimed of a series, and what is not.
#[derive(Debug, Clone, PartialEq)]
pub struct Assessment {
    /// Slow change that still goes on at the last reading.
    pub drift: Option<Drift>,
    /// Step change that still stands at the last reading.
    pub shift: Option<Shift>,
    /// Confidence set for the start of the drift.
    pub began: Option<Span>,
    /// What is not claimed, and why, in words; empty when there is nothing to add.
    pub not: String,
}

impl Assessment {
    /// Nothing claimed, and why.
    pub fn nothing(why: String) -> Assessment {
        Assessment {
            drift: None,
            shift: None,
            began: None,
            not: why,
        }
    }
}

/// Decides whether there is a drift, a shift, both (one after the other) or neither.
///
/// `at` (never decreasing) and `values` (finite, in the unit of the series) are the valid
/// readings of the current stage up to the end of the period, of equal length; `sigma`
/// is the standard deviation in force (above 0), `phi` the lag-1 autocorrelation of the
/// baseline, which is the first `baseline_end` of them. `lower` and `upper` are the
/// conformance limits for the forecast; `None` where there is none. Only the last 400
/// readings are searched. Most steady series cost one pass over them.
pub fn assess(
    at: &[Instant],
    values: &[f64],
    sigma: f64,
    phi: f64,
    baseline_end: usize,
    lower: Option<f64>,
    upper: Option<f64>,
) -> Assessment {
    let len = at.len().min(values.len());
    let skipped = len.saturating_sub(LONGEST);
    let (Some(at), Some(values)) = (at.get(skipped..len), values.get(skipped..len)) else {
        return Assessment::nothing(String::new());
    };
    if len < FEWEST {
        return Assessment::nothing(format!(
            "{len} readings: too few to tell a change from scatter"
        ));
    }
    if !(sigma > 0.0 && sigma.is_finite()) {
        return Assessment::nothing("no spread to judge a change against".to_owned());
    }
    let Some(&first) = at.first() else {
        return Assessment::nothing(String::new());
    };
    let days: Vec<f64> = at.iter().map(|t| t.days_since(first)).collect();

    let known = baseline_end.min(len) as f64;
    let usable_phi = if phi.is_finite() { phi } else { USUAL_PHI };
    let phi = believed_phi(usable_phi, known, USUAL_PHI);
    // A glance sees the same from any level near the readings, and most series end with it:
    // their median, which takes as long as the glance, is not asked for yet.
    let near = scaled_about(rough_middle(values), values, sigma);
    let white = Whitened::new(&days, &near, phi);
    let glance = SEARCH.glance(&white);
    // The autocorrelation is estimated again below and may turn out weaker, which adds evidence.
    if glance < 0.75 * SEARCH.enter_first {
        return Assessment::nothing(weak(glance));
    }
    let centre = median(values);
    let scaled = scaled_about(centre, values, sigma);
    let white = Whitened::new(&days, &scaled, phi);
    let sketch = SEARCH.sketch(&white);
    let phi = residual_phi(&days, &scaled, &white, &sketch.terms, phi);
    let white = Whitened::new(&days, &scaled, phi);
    let glance = SEARCH.glance(&white);
    if glance < SEARCH.enter_first {
        return Assessment::nothing(weak(glance));
    }
    let model = SEARCH.run(&white);
    let scale = Scale {
        at,
        offset: skipped,
        centre,
        sigma,
        lower,
        upper,
    };
    Judge::new(&white, &scaled, &model).map_or_else(
        || Assessment::nothing(weak(glance)),
        |judge| judge.verdict(&scale),
    )
}

/// Readings in standard deviations from `centre`, lone outliers reined in.
fn scaled_about(centre: f64, values: &[f64], sigma: f64) -> Vec<f64> {
    let mut scaled: Vec<f64> = values.iter().map(|v| (v - centre) / sigma).collect();
    rein_in_lone_outliers(&mut scaled);
    scaled
}

fn weak(evidence: f64) -> String {
    format!(
        "no step or slope stands out: the strongest reaches {:.1} standard errors of the {:.1} asked for over all dates searched",
        evidence.max(0.0).sqrt(),
        SEARCH.enter_first.sqrt()
    )
}
