//! How a cabinet runs from day to day when nothing special happens: its levels and the
//! noise around them, in canonical units, without rounding or dirt.
//!
//! What is planted in a cabinet is not known here; the scenarios add it.

use super::noise::Noise;
use chrono::NaiveDate;

/// Long-run levels of a cabinet.
#[derive(Debug, Clone, Copy)]
pub(super) struct Habit {
    /// Gauge pressure, kPa.
    pub(super) pressure: f64,
    /// Tower, °C.
    pub(super) tower: f64,
    /// Catch near the nozzle, mL/h per 80 cm².
    pub(super) near: f64,
    /// Catch far from it, mL/h per 80 cm².
    pub(super) far: f64,
    /// pH of the catch.
    pub(super) ph: f64,
    /// Standard deviation of the pH from check to check.
    pub(super) ph_sd: f64,
    /// Salt in the catch, mass fraction.
    pub(super) salt: f64,
}

/// The truth of one check.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Check {
    /// The day.
    pub(super) on: NaiveDate,
    /// Cabinet, °C.
    pub(super) cabinet: f64,
    /// Tower, °C.
    pub(super) tower: f64,
    /// Gauge pressure, kPa.
    pub(super) pressure: f64,
    /// Catch near the nozzle, mL/h per 80 cm².
    pub(super) near: f64,
    /// Catch far from it, mL/h per 80 cm².
    pub(super) far: f64,
    /// pH.
    pub(super) ph: f64,
    /// Salt, mass fraction.
    pub(super) salt: f64,
    /// Error of reading the hydrometer, kg/m³.
    pub(super) hydrometer_error: f64,
    /// Temperature of the solution when its density was read, °C.
    pub(super) solution: f64,
}

impl Check {
    /// Mean of the two catches, mL/h per 80 cm².
    pub(super) fn rate(&self) -> f64 {
        (self.near + self.far) / 2.0
    }
}

/// Noise streams that one cabinet may take, from its first.
pub(super) const STREAMS: u64 = 16;

/// One check a day of a cabinet with that habit; its noise starts at stream `stream`.
pub(super) fn run(habit: &Habit, stream: u64, days: &[NaiveDate]) -> Vec<Check> {
    let mut cabinet = Noise::new(stream, 0.3);
    let mut tower = Noise::new(stream + 1, 0.3);
    let mut pressure = Noise::new(stream + 2, 0.25);
    let mut fog = Noise::new(stream + 3, 0.35);
    let mut near = Noise::new(stream + 4, 0.2);
    let mut far = Noise::new(stream + 5, 0.2);
    let mut ph = Noise::new(stream + 6, 0.3);
    let mut salt = Noise::new(stream + 7, 0.4);
    let mut hydrometer = Noise::new(stream + 8, 0.0);
    let mut room = Noise::new(stream + 9, 0.4);
    days.iter()
        .map(|on| {
            let air = 1.6 * pressure.step();
            // More air carries more fog: common practice, no source.
            let thick = 0.022 * fog.step() + 0.4 * air / habit.pressure;
            Check {
                on: *on,
                cabinet: 35.0 + 0.28 * cabinet.step(),
                tower: habit.tower + 0.30 * tower.step(),
                pressure: habit.pressure + air,
                near: habit.near * (1.0 + thick + 0.012 * near.step()),
                far: habit.far * (1.0 + thick + 0.012 * far.step()),
                ph: habit.ph + habit.ph_sd * ph.step(),
                salt: habit.salt * (1.0 - 0.15 * thick) + 0.00025 * salt.step(),
                hydrometer_error: 0.3 * hydrometer.step(),
                solution: 25.0 + 0.6 * room.step(),
            }
        })
        .collect()
}
