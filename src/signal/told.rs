//! What a rule may draw on to say in a sentence what it saw.
//!
//! It holds the facts of a signal's first firing, so that the sentence, like
//! `known`, does not change with later readings; how long it went on is added in
//! [`crate::signal::run`].

use super::Direction;
use super::wording::{days, decimals_of_levels, decimals_of_readings, number, with_unit};
use crate::chart::{Chart, Limits};
use crate::time::Zone;

/// The facts of a first firing.
#[derive(Debug, Clone, Copy)]
pub struct Told<'a> {
    /// The chart the rule judged.
    pub chart: &'a Chart<'a>,
    /// Limits of the stage.
    pub limits: &'a Limits,
    /// Zone in which dates are written.
    pub zone: Zone,
    /// Year that dates leave out.
    pub year: i32,
    /// Direction of the firing.
    pub direction: Direction,
    /// Index in the series of the first reading of the pattern.
    pub start: usize,
    /// Index in the series of the reading at which the rule fired.
    pub known: usize,
    /// Readings of the pattern, excluded ones left out.
    pub readings: usize,
}

impl Told<'_> {
    /// `on 9 March` or `from 3 to 13 March`: the days of the pattern.
    pub fn span(&self) -> String {
        let at = self.chart.series.at();
        match (at.get(self.start), at.get(self.known)) {
            (Some(&start), Some(&known)) => {
                let (from, to) = (self.zone.date(start), self.zone.date(known));
                let lead = if from == to { "on" } else { "from" };
                format!("{lead} {}", days(from, to, self.year))
            }
            _ => String::new(),
        }
    }

    /// The reading at `index` with its unit.
    pub fn value(&self, index: usize) -> String {
        with_unit(&self.plain(index), self.chart.series.unit())
    }

    /// The reading at `index` without its unit.
    pub fn plain(&self, index: usize) -> String {
        let value = self.chart.series.values().get(index);
        number(
            value.copied().unwrap_or(f64::NAN),
            decimals_of_readings(self.limits),
        )
    }

    /// A centre line or limit with its unit.
    pub fn level(&self, level: f64) -> String {
        with_unit(&self.bare_level(level), self.chart.series.unit())
    }

    /// A centre line or limit without its unit.
    pub fn bare_level(&self, level: f64) -> String {
        number(level, decimals_of_levels(self.limits))
    }

    /// The moving range at the reading at which the rule fired, without its unit.
    pub fn jump(&self) -> String {
        let range = self.chart.moving_range.get(self.known);
        number(
            range.copied().unwrap_or(f64::NAN),
            decimals_of_readings(self.limits),
        )
    }
}
