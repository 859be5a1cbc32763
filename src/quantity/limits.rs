//! The conformance limits of each single reading: a fixed window, the tower table at
//! the reading's own pressure, or a gravity window carried over to the reading's own
//! temperature and reference.
//!
//! It sets limits only; `conformance` compares.

use super::brine::BrineAt;
use super::derive::Companions;
use super::gravity::{GravityRead, fraction_of};
use super::tower::expected;
use super::units::{Kilopascals, MassFraction};
use crate::characteristic::Characteristic;
use crate::lab::{Profile, Window};
use crate::series::Series;
use std::ops::Range;

/// Limits of one reading in the unit of its series.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Bounds {
    pub(super) lower: Option<f64>,
    pub(super) upper: Option<f64>,
}

/// The limits of a period's readings.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct PeriodLimits {
    /// Parallel to the period; `None` where a reading is not judged.
    pub(super) each: Vec<Option<Bounds>>,
    /// One pair of limits that stands for the period in charts and forecasts.
    pub(super) shown: Bounds,
    /// Where the limits come from.
    pub(super) source: String,
    /// How they came about, when not a fixed window.
    pub(super) says: Option<String>,
}

impl From<&Window> for Bounds {
    fn from(window: &Window) -> Bounds {
        Bounds {
            lower: window.lower,
            upper: window.upper,
        }
    }
}

/// The limits of a series' readings in the period; `None` when the profile sets none.
pub(super) fn of_period(
    series: &Series,
    period: Range<usize>,
    companions: &Companions,
    profile: &Profile,
) -> Option<PeriodLimits> {
    let window = profile.windows.get(series.characteristic());
    match series.characteristic() {
        Characteristic::TowerTemperature if !profile.tower.is_empty() => {
            Some(tower(period, companions, profile, window))
        }
        Characteristic::SpecificGravity => {
            Some(gravity(series, period, companions, profile, window?))
        }
        Characteristic::SaltConcentration => salt(period, companions, profile, window),
        _ => Some(fixed(period.len(), window?)),
    }
}

fn fixed(len: usize, window: &Window) -> PeriodLimits {
    PeriodLimits {
        each: vec![Some(window.into()); len],
        shown: window.into(),
        source: window.source.clone(),
        says: None,
    }
}

/// The tower by the pair with the pressure of the same check; by the fixed range
/// where no pressure was read; not at all outside the table.
fn tower(
    period: Range<usize>,
    companions: &Companions,
    profile: &Profile,
    window: Option<&Window>,
) -> PeriodLimits {
    let tolerance = profile.tower_tolerance;
    let around = |t: f64| Bounds {
        lower: Some(t - tolerance),
        upper: Some(t + tolerance),
    };
    let mut each = Vec::with_capacity(period.len());
    let mut judged: Vec<f64> = Vec::new();
    let (mut outside, mut alone) = (0_usize, 0_usize);
    for index in period {
        let pressure = companions.tower_pressure.get(index).copied();
        let pressure = pressure.filter(|p| !p.is_nan());
        each.push(match pressure {
            None => {
                alone += 1;
                window.map(Bounds::from)
            }
            Some(p) => match expected(&profile.tower, Kilopascals(p)) {
                None => {
                    outside += 1;
                    None
                }
                Some(t) => {
                    judged.push(p);
                    Some(around(t.0))
                }
            },
        });
    }
    let mut says = Vec::new();
    let mut shown = window.map(Bounds::from).unwrap_or_default();
    judged.sort_by(f64::total_cmp);
    if let Some(median) = judged.get(judged.len() / 2).copied()
        && let Some(t) = expected(&profile.tower, Kilopascals(median))
    {
        shown = around(t.0);
        says.push(format!(
                "Judged by the pair with the air pressure of the same check: at the period's median pressure of {median:.0} kPa the table asks for {:.1} ± {tolerance} °C.",
                t.0
            ));
    }
    if let (Some(first), Some(last), true) =
        (profile.tower.first(), profile.tower.last(), outside > 0)
    {
        says.push(format!(
            "Not judged, because their pressure is outside the table's {} to {} kPa: {outside}.",
            first.pressure, last.pressure
        ));
    }
    match window {
        Some(Window {
            lower: Some(l),
            upper: Some(u),
            ..
        }) if alone > 0 => says.push(format!(
            "Without a pressure and so judged by {l:.1} to {u:.1} °C alone: {alone}."
        )),
        None if alone > 0 => says.push(format!(
            "Not judged, because no pressure was read: {alone}."
        )),
        _ => {}
    }
    PeriodLimits {
        each,
        shown,
        source: profile.tower_source.clone(),
        says: (!says.is_empty()).then(|| says.join(" ")),
    }
}

/// The salt that a profile's gravity window asks for; `None` where its reference is open.
fn window_fractions(profile: &Profile, window: &Window) -> Option<[Option<MassFraction>; 2]> {
    let reference = profile.gravity?;
    let fraction = |limit: Option<f64>| match limit {
        None => Some(None),
        Some(limit) => fraction_of(limit, reference).ok().flatten().map(Some),
    };
    Some([fraction(window.lower)?, fraction(window.upper)?])
}

/// A gravity window carried over to each reading's own temperature and reference, so
/// that reading and window are compared as salt by mass.
fn gravity(
    series: &Series,
    period: Range<usize>,
    companions: &Companions,
    profile: &Profile,
    window: &Window,
) -> PeriodLimits {
    let fractions = window_fractions(profile, window);
    let mut as_written = 0_usize;
    let mut shown = Bounds::from(window);
    let mut carried = false;
    let mut each = Vec::with_capacity(period.len());
    for (index, written) in series
        .values()
        .iter()
        .enumerate()
        .take(period.end)
        .skip(period.start)
    {
        let read = companions.gravity.get(index).copied().flatten();
        let bounds = match (read, fractions) {
            (Some(read), Some(fractions)) => {
                let own = carry(&read, *written, window, fractions);
                shown = own;
                carried |= own != Bounds::from(window);
                own
            }
            _ => {
                as_written += 1;
                window.into()
            }
        };
        each.push(Some(bounds));
    }
    let mut says = Vec::new();
    if carried {
        let percent = |f: Option<MassFraction>| {
            f.map_or_else(|| "any".to_owned(), |f| format!("{:.2}", f.percent()))
        };
        let [low, high] = fractions.unwrap_or_default();
        says.push(format!(
            "Compared as salt by mass, {} to {} %: the window and the readings have different references.",
            percent(low),
            percent(high)
        ));
    }
    if as_written > 0 {
        says.push(format!(
            "Compared as written, because what the readings{} are relative to is not known: {as_written}.",
            if fractions.is_none() {
                " or the limits"
            } else {
                ""
            }
        ));
    }
    PeriodLimits {
        each,
        shown,
        source: window.source.clone(),
        says: (!says.is_empty()).then(|| says.join(" ")),
    }
}

/// The window's limits as this reading would be written at them.
fn carry(
    read: &GravityRead,
    written: f64,
    window: &Window,
    fractions: [Option<MassFraction>; 2],
) -> Bounds {
    /// Far below any hydrometer's division, far above the rounding of the inversion.
    const SAME: f64 = 1e-8;
    let model = BrineAt::new(read.temperature).ok();
    let limit = |fraction: Option<MassFraction>, given: Option<f64>| {
        let density = model?.density(fraction?).ok()?;
        let own = density.0 * written / read.density.0;
        // Under the window's own reference the limit is the printed one.
        given.filter(|g| (g - own).abs() < SAME).or(Some(own))
    };
    let [low, high] = fractions;
    Bounds {
        lower: limit(low, window.lower),
        upper: limit(high, window.upper),
    }
}

/// Salt told from gravity stands against the gravity window, so that one reading gets
/// one verdict; salt that was measured, against the salt window.
fn salt(
    period: Range<usize>,
    companions: &Companions,
    profile: &Profile,
    window: Option<&Window>,
) -> Option<PeriodLimits> {
    let by_gravity = profile
        .windows
        .get(&Characteristic::SpecificGravity)
        .and_then(|w| Some((w, window_fractions(profile, w)?)));
    let Some((gravity_window, [low, high])) = by_gravity else {
        return Some(fixed(period.len(), window?));
    };
    let from_gravity = Bounds {
        lower: low.map(MassFraction::percent),
        upper: high.map(MassFraction::percent),
    };
    let own = window.map(Bounds::from);
    let mut each = Vec::with_capacity(period.len());
    let (mut derived, mut measured) = (0_usize, 0_usize);
    for index in period {
        if companions.salt_from_gravity.get(index) == Some(&true) {
            derived += 1;
            each.push(Some(from_gravity));
        } else {
            measured += 1;
            each.push(own);
        }
    }
    let only_derived = measured == 0 || own.is_none();
    let says = (derived > 0).then(|| {
        let own_says = match (own, only_derived) {
            (Some(Bounds { lower: Some(l), upper: Some(u) }), true) => {
                format!("; for measured salt it is {l:.2} to {u:.2} %")
            }
            _ => String::new(),
        };
        format!(
            "Salt told from gravity stands against the specific-gravity window, as {} to {} % by mass{own_says} (readings: {derived}).",
            from_gravity.lower.map_or_else(|| "any".into(), |l| format!("{l:.2}")),
            from_gravity.upper.map_or_else(|| "any".into(), |u| format!("{u:.2}")),
        )
    });
    Some(PeriodLimits {
        each,
        shown: if only_derived {
            from_gravity
        } else {
            own.unwrap_or(from_gravity)
        },
        source: match (only_derived, window) {
            (false, Some(window)) => window.source.clone(),
            _ => gravity_window.source.clone(),
        },
        says,
    })
}
