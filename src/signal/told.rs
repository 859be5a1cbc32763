//! What a rule may draw on to say in a sentence what it saw.
//!
//! It holds the facts of a signal's first firing, so that the sentence, like
//! `known`, does not change with later readings; how long it went on is added in
//! [`crate::signal::run`].

use super::wording::{days, decimals_of_levels, decimals_of_readings, number, with_unit};
use super::{Allowance, Direction};
use crate::chart::{Chart, Limits};
use crate::time::Zone;

/// Decimals that a comparison may need beyond the usual ones.
const MOST_MORE_DECIMALS: usize = 4;

/// The facts of a first firing.
#[derive(Debug, Clone, Copy)]
pub struct Told<'a> {
    /// The chart the rule judged.
    pub chart: &'a Chart<'a>,
    /// Limits of the stage.
    pub limits: &'a Limits,
    /// What the rule allowed for.
    pub allowance: Allowance,
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

    /// The moving range at the reading at which the rule fired; NaN where none is taken.
    pub fn range(&self) -> f64 {
        self.chart.moving_ranges.at(self.known)
    }

    /// The reading at which the rule fired; NaN outside the series.
    pub fn reading(&self) -> f64 {
        let value = self.chart.series.values().get(self.known);
        value.copied().unwrap_or(f64::NAN)
    }

    /// A reading (or range) and the levels it is compared with, written with as many
    /// decimals as the comparisons need to hold as printed. None has a unit.
    pub fn compared(&self, value: f64, levels: &[f64]) -> (String, Vec<String>) {
        let of_reading = decimals_of_readings(self.limits);
        let of_levels = decimals_of_levels(self.limits);
        // First only the levels gain decimals: a reading is best told as it was written.
        let finer = (0..=MOST_MORE_DECIMALS).map(|more| (of_reading, of_levels + more));
        let both = (1..=MOST_MORE_DECIMALS).map(|more| (of_reading + more, of_levels + more));
        let mut written = (String::new(), Vec::new());
        for (decimals, decimals_of_levels) in finer.chain(both) {
            let text = number(value, decimals);
            let levels_text: Vec<String> = levels
                .iter()
                .map(|level| number(*level, decimals_of_levels))
                .collect();
            let printed = text.parse::<f64>().unwrap_or(f64::NAN);
            let holds = levels.iter().zip(&levels_text).all(|(level, text)| {
                let shown = text.parse::<f64>().unwrap_or(f64::NAN);
                (value > *level) == (printed > shown) && (value < *level) == (printed < shown)
            });
            written = (text, levels_text);
            if holds {
                break;
            }
        }
        written
    }

    /// `, also with the allowance for limits from 30 readings (6.97)`; empty where nothing
    /// is allowed for. `level` is the level with the allowance, as written.
    pub fn allowing(&self, level: &str) -> String {
        match self.allowance.says() {
            Some(what) => format!(
                ", also with the allowance for {what} ({})",
                with_unit(level, self.chart.series.unit())
            ),
            None => String::new(),
        }
    }
}
