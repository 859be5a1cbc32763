//! Observations as a table: rounds removed, spreads taken, reliability of each column.
//!
//! It decides which observations and characteristics can enter a regression, and scales
//! them; it fits nothing.

use super::input::{Level, Observation};
use super::model::Cell;
use std::collections::{BTreeMap, BTreeSet};

/// Share of the observations that must have a characteristic before it enters.
const LEAST_PRESENT: f64 = 0.75;
/// A spread below this share of the size of the numbers is rounding.
const ROUNDING: f64 = 1e-12;

/// Usable observations.
pub(super) struct Table<'a> {
    rows: Vec<&'a Observation>,
    hours: f64,
    /// Mean hours of each round: one factor a round, so that a constant added to a
    /// characteristic drops out with the round.
    round_hours: BTreeMap<&'a String, f64>,
    /// A note on each kind of observation left out.
    pub(super) left_out: Vec<String>,
}

/// A characteristic that can enter.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Column {
    /// Identifier.
    pub(super) id: String,
    /// Standard deviation within rounds, scaled to the hours of the table.
    pub(super) spread: f64,
    /// Share of its square that is not uncertainty, 0 to 1.
    pub(super) reliability: f64,
    /// Relative uncertainty that shared instruments give a sensitivity. Cabinets that
    /// share an instrument share its error, which no number of them averages out. Worst
    /// case: two instruments, each on half of the cabinets, and the characteristic differs
    /// just between the halves; then it is u/(s √2), s the spread (own derivation: with a
    /// share p of the cabinets on one of them the squared factor is 2 p (1 − p)).
    pub(super) stretch: f64,
}

/// Why a characteristic cannot enter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum NoColumn {
    /// Too few observations have it.
    Missing,
    /// The same everywhere within each round.
    Constant,
}

impl NoColumn {
    pub(super) fn says(self) -> &'static str {
        match self {
            NoColumn::Missing => {
                "no sensitivity is stated, and too few cabinets of the rounds have checks of it"
            }
            NoColumn::Constant => {
                "no sensitivity is stated, and it was the same in all cabinets of each round"
            }
        }
    }
}

/// What is fitted.
pub(super) struct Design {
    pub(super) cells: Vec<Cell>,
    pub(super) rounds: usize,
    pub(super) participants: usize,
    /// Standard deviation of the mass loss within rounds, g/m².
    pub(super) spread: f64,
}

impl<'a> Table<'a> {
    /// The usable observations; `hours` is the exposure that sensitivities are for.
    pub(super) fn of(observations: &'a [Observation], hours: f64) -> Table<'a> {
        let (mut rows, mut seen): (Vec<&Observation>, _) = (Vec::new(), BTreeSet::new());
        let (mut unusable, mut twice) = (0, 0);
        for one in observations {
            if !(one.mass_loss.is_finite() && one.hours.is_finite() && one.hours > 0.0) {
                unusable += 1;
            } else if !seen.insert((&one.round, &one.participant)) {
                twice += 1;
            } else {
                rows.push(one);
            }
        }
        let before = rows.len();
        rows = in_company(rows);
        let alone = before - rows.len();
        let notes = [
            (unusable, "without a usable mass loss or exposure time"),
            (twice, "of a cabinet that the round already has"),
            (alone, "of a cabinet alone in its round"),
        ];
        Table {
            round_hours: hours_by_round(&rows),
            rows,
            hours,
            left_out: notes
                .iter()
                .filter(|(count, _)| *count > 0)
                .map(|(count, what)| match count {
                    1 => format!("One observation {what} was left out."),
                    _ => format!("{count} observations {what} were left out."),
                })
                .collect(),
        }
    }

    /// Usable observations.
    pub(super) fn observations(&self) -> usize {
        self.rows.len()
    }

    /// Rounds with at least two cabinets.
    pub(super) fn rounds(&self) -> usize {
        self.rows
            .iter()
            .map(|row| &row.round)
            .collect::<BTreeSet<_>>()
            .len()
    }

    /// Cabinets in them.
    pub(super) fn participants(&self) -> usize {
        self.rows
            .iter()
            .map(|row| &row.participant)
            .collect::<BTreeSet<_>>()
            .len()
    }

    fn factor(&self, row: &Observation) -> f64 {
        self.round_hours
            .get(&row.round)
            .copied()
            .unwrap_or(self.hours)
            / self.hours
    }

    fn level(row: &Observation, id: &str) -> Option<Level> {
        row.values.get(id).copied().filter(|level| {
            let sizes = [level.u_chance, level.u_instrument];
            level.mean.is_finite() && sizes.iter().all(|u| u.is_finite() && *u >= 0.0)
        })
    }

    /// Spread and reliability of a characteristic over the observations that have it.
    pub(super) fn column(&self, id: &str) -> Result<Column, NoColumn> {
        let rows: Vec<&Observation> = self
            .rows
            .iter()
            .copied()
            .filter(|row| Self::level(row, id).is_some())
            .collect();
        if rows.is_empty() || (rows.len() as f64) < LEAST_PRESENT * self.rows.len() as f64 {
            return Err(NoColumn::Missing);
        }
        let rows = in_company(rows);
        let values: Vec<f64> = rows
            .iter()
            .map(|row| Self::level(row, id).map_or(0.0, |l| l.mean * self.factor(row)))
            .collect();
        let mean_square = |of: fn(Level) -> f64| {
            let all: f64 = rows
                .iter()
                .filter_map(|row| Some(of(Self::level(row, id)?) * self.factor(row).powi(2)))
                .sum();
            all / rows.len() as f64
        };
        let spread = spread(&centred(&rows, &values), &rows).ok_or(NoColumn::Constant)?;
        let size = values.iter().fold(0.0_f64, |most, v| most.max(v.abs()));
        if spread <= ROUNDING * size {
            return Err(NoColumn::Constant);
        }
        let uncertain = mean_square(Level::variance);
        let instruments = mean_square(|level| level.u_instrument * level.u_instrument);
        Ok(Column {
            id: id.to_owned(),
            spread,
            reliability: (1.0 - uncertain / (spread * spread)).clamp(0.0, 1.0),
            stretch: (0.5 * instruments).sqrt() / spread,
        })
    }

    /// Scaled cells of the observations that have all `columns`, and these columns with
    /// their spread and reliability among those observations; else why not.
    pub(super) fn design(&self, columns: &[Column]) -> Result<(Design, Vec<Column>), String> {
        let has_all = |row: &Observation| columns.iter().all(|c| Self::level(row, &c.id).is_some());
        let rows: Vec<&Observation> = self
            .rows
            .iter()
            .copied()
            .filter(|row| has_all(row))
            .collect();
        let rows = in_company(rows);
        let complete = Table {
            round_hours: hours_by_round(&rows),
            rows,
            hours: self.hours,
            left_out: Vec::new(),
        };
        let rows = &complete.rows;
        let mut own = Vec::with_capacity(columns.len());
        for column in columns {
            own.push(complete.column(&column.id).map_err(|_| {
                format!(
                    "too few observations have all characteristics ({} of {})",
                    rows.len(),
                    self.rows.len()
                )
            })?);
        }
        let losses: Vec<f64> = rows.iter().map(|row| row.mass_loss).collect();
        let y = centred(rows, &losses);
        let size = losses.iter().fold(0.0_f64, |most, v| most.max(v.abs()));
        let spread = spread(&y, rows)
            .filter(|spread| *spread > ROUNDING * size)
            .ok_or("the mass losses are the same in all cabinets of each round")?;
        let mut x = vec![Vec::with_capacity(own.len()); rows.len()];
        for column in &own {
            let values: Vec<f64> = rows
                .iter()
                .map(|row| Self::level(row, &column.id).map_or(0.0, |l| l.mean * self.factor(row)))
                .collect();
            for (cell, value) in x.iter_mut().zip(centred(rows, &values)) {
                cell.push(column.reliability * value / column.spread);
            }
        }
        let (rounds, participants) = (
            numbers(rows, |r| &r.round),
            numbers(rows, |r| &r.participant),
        );
        let number = |of: &BTreeMap<&String, usize>, key| of.get(key).copied().unwrap_or(0);
        let cells = rows
            .iter()
            .zip(y)
            .zip(x)
            .map(|((row, y), x)| Cell {
                round: number(&rounds, &row.round),
                participant: number(&participants, &row.participant),
                y: y / spread,
                x,
            })
            .collect();
        let design = Design {
            cells,
            rounds: rounds.len(),
            participants: participants.len(),
            spread,
        };
        Ok((design, own))
    }
}

/// The rows whose round has another row.
fn in_company(rows: Vec<&Observation>) -> Vec<&Observation> {
    let mut counts: BTreeMap<&String, usize> = BTreeMap::new();
    for row in &rows {
        *counts.entry(&row.round).or_default() += 1;
    }
    let company = |row: &&Observation| counts.get(&row.round).is_some_and(|n| *n > 1);
    rows.iter().copied().filter(company).collect()
}

fn hours_by_round<'a>(rows: &[&'a Observation]) -> BTreeMap<&'a String, f64> {
    let mut sums: BTreeMap<&String, (f64, f64)> = BTreeMap::new();
    for row in rows {
        let (total, count) = sums.entry(&row.round).or_default();
        *total += row.hours;
        *count += 1.0;
    }
    sums.into_iter()
        .map(|(round, (total, count))| (round, total / count))
        .collect()
}

fn numbers<'a>(
    rows: &[&'a Observation],
    key: impl Fn(&'a Observation) -> &'a String,
) -> BTreeMap<&'a String, usize> {
    let keys: BTreeSet<&String> = rows.iter().map(|row| key(row)).collect();
    keys.into_iter().zip(0..).collect()
}

/// Values less the mean of their round.
fn centred(rows: &[&Observation], values: &[f64]) -> Vec<f64> {
    let mut groups: BTreeMap<&String, Vec<f64>> = BTreeMap::new();
    for (row, &value) in rows.iter().zip(values) {
        groups.entry(&row.round).or_default().push(value);
    }
    let means: BTreeMap<&String, f64> = groups
        .into_iter()
        .filter_map(|(round, group)| Some((round, crate::stats::sum::mean(&group)?)))
        .collect();
    rows.iter()
        .zip(values)
        .map(|(row, value)| value - means.get(&row.round).copied().unwrap_or(0.0))
        .collect()
}

/// Root mean square of centred values, one degree of freedom a round lost; `None` without any.
fn spread(centred: &[f64], rows: &[&Observation]) -> Option<f64> {
    let rounds = rows
        .iter()
        .map(|row| &row.round)
        .collect::<BTreeSet<_>>()
        .len();
    let degrees = rows.len().checked_sub(rounds).filter(|d| *d > 0)?;
    Some((centred.iter().map(|v| v * v).sum::<f64>() / degrees as f64).sqrt())
}
