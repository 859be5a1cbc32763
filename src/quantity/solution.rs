//! Specific gravity and salt of the collected solution, from whatever a check gives:
//! gravity, density, percent by mass or grams a litre.

use super::brine::{BrineAt, fraction_of_grams_per_litre};
use super::derive::{Cabinet, Derived, Tally, push};
use super::gravity::{GravityRead, GravityReader, density_of};
use super::hints;
use super::units::{Celsius, Density};
use crate::characteristic::Characteristic;
use crate::intake::checks::Measure;
use crate::lab::{GravityKind, GravityReference};

/// Temperature at which grams a litre are taken where the check has none, °C. Ten
/// degrees off would change 5 % by mass by 0.015 %, the uncertainty of the model.
const USUAL_CELSIUS: f64 = 25.0;

/// Gravity readings from which no salt could be told, by reason.
#[derive(Debug, Default)]
pub(super) struct NotTold {
    /// No word of what the gravity is relative to.
    pub(super) reference: Tally,
    /// The reference is known but not the temperature.
    pub(super) temperature: Tally,
    /// Outside the model, with what it said first.
    pub(super) model: Tally,
    pub(super) model_says: String,
}

pub(super) fn derive(cabinet: &Cabinet<'_>, out: &mut Derived) {
    let gravity = cabinet.column(&Measure::SpecificGravity);
    let density = cabinet.column(&Measure::Density);
    let celsius = cabinet.column(&Measure::GravityTemperature);
    let percent = cabinet.column(&Measure::SaltMassPercent);
    let grams = cabinet.column(&Measure::SaltGramsPerLitre);
    if [gravity, density, percent, grams]
        .iter()
        .all(Option::is_none)
    {
        return;
    }
    let rows = cabinet.checks.len();
    let pick = |column: Option<&[f64]>, row: usize| {
        let value = column.and_then(|c| c.get(row)).copied();
        value.filter(|v| v.is_finite()).unwrap_or(f64::NAN)
    };
    let has_gravity = gravity.is_some() || density.is_some();
    let mut written = vec![f64::NAN; if has_gravity { rows } else { 0 }];
    let mut salt = vec![f64::NAN; rows];
    if has_gravity {
        out.companions.gravity.reserve_exact(rows);
    }
    out.companions.salt_from_gravity.reserve_exact(rows);
    let mut not_told = NotTold::default();
    let mut reader = GravityReader::default();
    for (run, how) in &cabinet.runs {
        let default_celsius = how.gravity.and_then(|g| g.temperature).unwrap_or(f64::NAN);
        for row in run.clone() {
            let own_celsius = pick(celsius, row);
            let t = if own_celsius.is_nan() {
                default_celsius
            } else {
                own_celsius
            };
            let (sg, rho) = (pick(gravity, row), pick(density, row));
            let mut read = None;
            if !(sg.is_nan() && rho.is_nan()) {
                if let Some(slot) = written.get_mut(row) {
                    *slot = if sg.is_nan() { rho / 1000.0 } else { sg };
                }
                read = understand(sg, rho, t, how.gravity, row, &mut reader, &mut not_told);
                out.companions.gravity.push(read);
            }
            let measured =
                measured_percent(pick(percent, row), pick(grams, row), t, row, &mut not_told);
            let value = if measured.is_nan() {
                read.map_or(f64::NAN, |r| r.fraction.percent())
            } else {
                measured
            };
            if let Some(slot) = salt.get_mut(row) {
                *slot = value;
            }
            if !value.is_nan() {
                out.companions.salt_from_gravity.push(measured.is_nan());
            }
        }
    }
    if has_gravity {
        push(
            cabinet,
            Characteristic::SpecificGravity,
            written.into(),
            out,
        );
    }
    push(cabinet, Characteristic::SaltConcentration, salt.into(), out);
    hints::solution(cabinet, &not_told, &mut out.issues);
}

/// A gravity or density as temperature, density and salt; `None` with the reason tallied.
fn understand(
    sg: f64,
    rho: f64,
    celsius: f64,
    reference: Option<GravityReference>,
    row: usize,
    reader: &mut GravityReader,
    not_told: &mut NotTold,
) -> Option<GravityRead> {
    let kind = match reference {
        // A density in kg/m³ is what it is, whatever the lab's gravities are relative to.
        _ if !rho.is_nan() => GravityKind::Density,
        Some(reference) => reference.relative_to,
        None => {
            not_told.reference.add(row);
            return None;
        }
    };
    if celsius.is_nan() {
        not_told.temperature.add(row);
        return None;
    }
    let density = if rho.is_nan() {
        density_of(sg, kind, Celsius(celsius))
    } else {
        Density(rho)
    };
    match reader.read(Celsius(celsius), density) {
        Ok(read) => Some(read),
        Err(e) => {
            not_told.fail(row, &e);
            None
        }
    }
}

/// Percent by mass that the check itself gives, by titration or refractometer; else NaN.
fn measured_percent(
    percent: f64,
    grams: f64,
    celsius: f64,
    row: usize,
    not_told: &mut NotTold,
) -> f64 {
    if !percent.is_nan() || grams.is_nan() {
        return percent;
    }
    let t = if celsius.is_nan() {
        USUAL_CELSIUS
    } else {
        celsius
    };
    match BrineAt::new(Celsius(t)).and_then(|at| fraction_of_grams_per_litre(&at, grams)) {
        Ok(fraction) => fraction.percent(),
        Err(e) => {
            not_told.fail(row, &e);
            f64::NAN
        }
    }
}

impl NotTold {
    fn fail(&mut self, row: usize, error: &super::brine::BrineError) {
        if self.model.count == 0 {
            self.model_says = error.to_string();
        }
        self.model.add(row);
    }
}
