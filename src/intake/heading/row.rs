//! A whole heading row together: what one heading leaves open, its neighbours, the
//! samples below it or `lab.toml` may settle.

use super::{HeadingReading, neighbours, snippet};
use crate::intake::checks::Measure;
use crate::intake::role::Role;
use crate::intake::unit::{Conversion, Unit};
use crate::intake::{number, plausible, words};
use crate::issue::shown;
use crate::lab::{ColumnRule, GravityKind, GravityReference, OwnCharacteristic};
use std::collections::BTreeSet;
use std::sync::Arc;

/// The first cells below a heading, as far as they are numbers.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Samples {
    /// Numbers as written, in the unit of the column.
    pub values: Vec<f64>,
    /// The unit that every one of them has beside it.
    pub unit: Option<Unit>,
}

impl Samples {
    /// The numbers of the first cells of a column; other cells say nothing.
    pub fn read<'a>(cells: impl IntoIterator<Item = &'a str>, style: number::Style) -> Samples {
        let mut values = Vec::new();
        let mut units = BTreeSet::new();
        for reading in cells.into_iter().map(|cell| number::read(cell, style)) {
            if let Some(value) = reading.value() {
                values.push(value);
                units.insert(match reading {
                    number::Reading::Marked(marked) => marked.unit,
                    _ => None,
                });
            }
        }
        let mut units = units.into_iter();
        let unit = match (units.next(), units.next()) {
            (Some(only), None) => only,
            _ => None,
        };
        Samples { values, unit }
    }
}

/// What is known around a heading row.
#[derive(Debug, Clone, Copy, Default)]
pub struct RowContext<'a> {
    /// Path of the log relative to the lab folder, for hints.
    pub files: &'a str,
    /// Characteristics of the lab's own.
    pub own: &'a [OwnCharacteristic],
    /// Column rules of `lab.toml` that hold for this log, the last one wins.
    pub rules: &'a [ColumnRule],
    /// Samples by column; may be shorter than the row.
    pub samples: &'a [Samples],
}

/// What becomes of a column.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// Readings of a measure; written numbers go through the conversion.
    Measured {
        /// What it measures, in which canonical unit.
        measure: Measure,
        /// From written to canonical.
        conversion: Conversion,
    },
    /// Which cabinet, when, who, remarks.
    Context,
    /// Known, and of no use to the review.
    Ignored,
    /// Left out until `lab.toml` settles it.
    LeftOut {
        /// What was found against what was expected, as a sentence.
        problem: String,
        /// The lines of `lab.toml` that settle it, or what else to do.
        hint: String,
    },
}

/// What was understood of one column.
#[derive(Debug, Clone, PartialEq)]
pub struct ColumnReading {
    /// The heading as written.
    pub heading: String,
    /// What the heading says, after its neighbours and `lab.toml` were heard.
    pub reading: HeadingReading,
    /// What becomes of the column.
    pub outcome: Outcome,
}

impl ColumnReading {
    /// The role, unless it is left out.
    pub fn role(&self) -> Option<&Role> {
        match self.outcome {
            Outcome::LeftOut { .. } => None,
            _ => self.reading.role.as_ref(),
        }
    }

    /// The reference of its gravity.
    pub fn gravity(&self) -> Option<GravityReference> {
        self.reading.gravity
    }
}

/// Recognises a whole heading row: one reading a column, in order.
///
/// Rules of `lab.toml` come first, then the lab's own characteristics, then the words.
/// A bare `Temp.` is the cabinet's where another column is clearly the tower's. A column
/// without a unit, one that may be two things, and two columns that claim to be the same
/// are left out, each with the lines of `lab.toml` that settle it.
///
/// ```
/// use steadyfog::intake::heading::{recognise_row, Outcome, RowContext, Samples};
/// let samples = [Samples::default(), Samples { values: vec![94.5, 95.0], unit: None }];
/// let context = RowContext { files: "logs/a.csv", samples: &samples, ..RowContext::default() };
/// let row = recognise_row(&["Date".into(), "Chamber temp.".into()], &context);
/// assert_eq!(row[0].outcome, Outcome::Context);
/// assert!(matches!(&row[1].outcome, Outcome::LeftOut { hint, .. }
///     if hint.ends_with("\"Chamber temp.\" = { is = \"cabinet-temperature\", unit = \"°F\" }")));
/// ```
pub fn recognise_row(headings: &[String], context: &RowContext) -> Vec<ColumnReading> {
    let mut columns: Vec<Column> = headings
        .iter()
        .enumerate()
        .map(|(index, heading)| Column::read(heading, index, context))
        .collect();
    neighbours::settle(&mut columns);
    neighbours::part_claims(&mut columns);
    columns
        .into_iter()
        .map(|column| column.finish(context))
        .collect()
}

/// A column on its way to a reading.
#[derive(Debug)]
pub(super) struct Column<'a> {
    pub(super) heading: &'a str,
    pub(super) reading: HeadingReading,
    pub(super) samples: Option<&'a Samples>,
    /// Whether `lab.toml` says what it is.
    pub(super) ruled: bool,
    /// A problem found on the way, and a hint where it is not the usual line.
    pub(super) problem: Option<(String, Option<String>)>,
}

impl<'a> Column<'a> {
    fn read(heading: &'a str, index: usize, context: &RowContext<'a>) -> Column<'a> {
        let samples = context.samples.get(index);
        let mut column = Column {
            heading,
            reading: super::read(heading),
            samples,
            ruled: false,
            problem: None,
        };
        let key = words::heading_key(heading);
        if key.is_empty() {
            column.reading = HeadingReading::default();
            if samples.is_some_and(|s| !s.values.is_empty()) {
                column.problem = Some((
                    "a column of numbers without a heading".into(),
                    Some("give the column a heading in the log".into()),
                ));
            } else {
                column.reading.role = Some(Role::Ignore);
                column.reading.why = "it has no heading and no numbers".into();
            }
            return column;
        }
        let rule = context
            .rules
            .iter()
            .rev()
            .find(|r| words::heading_key(&r.heading) == key);
        if let Some(rule) = rule {
            column.obey(rule, context.own);
        } else if let Some(own) = context.own.iter().find(|o| means_own(o, heading, &key)) {
            column.reading.role = Some(Role::Own(Arc::clone(&own.id)));
            column.reading.alternatives.clear();
            column.reading.why = format!("lab.toml defines it as {}", own.id);
        }
        if column.reading.unit.is_none()
            && column.problem.is_none()
            && let Some(unit) = samples.and_then(|s| s.unit)
        {
            column.reading.unit = Some(unit);
            column
                .reading
                .why
                .push_str(&format!("; its cells state {unit}"));
            // `Kammer` over cells of `35,1 °C` is no cabinet's name.
            if column.reading.role == Some(Role::Cabinet) && matches!(unit, Unit::Temperature(_)) {
                column.reading.role = Some(Role::CabinetTemperature);
            }
        }
        column
    }

    /// Applies a rule of `lab.toml`.
    fn obey(&mut self, rule: &ColumnRule, own: &[OwnCharacteristic]) {
        self.ruled = true;
        let role = match Role::named(&rule.is, own) {
            Ok(role) => role,
            Err(near) => {
                let near = if near.is_empty() {
                    String::new()
                } else {
                    format!("; the nearest known: {}", near.join(", "))
                };
                self.reading.role = None;
                self.problem = Some((
                    format!(
                        "lab.toml calls it {}, which is no role{near}",
                        shown(&rule.is)
                    ),
                    Some("correct the name in lab.toml".into()),
                ));
                return;
            }
        };
        if let Some(text) = &rule.unit {
            match (Unit::parse(text), &role) {
                (Some(unit), _) => self.reading.unit = Some(unit),
                // The unit of an own characteristic may be anything.
                (None, Role::Own(_)) => self.reading.unit = None,
                (None, _) => {
                    self.problem = Some((
                        format!(
                            "lab.toml gives it the unit {}, which is not known",
                            shown(text)
                        ),
                        Some("correct the unit in lab.toml".into()),
                    ));
                }
            }
        }
        if role == Role::SpecificGravity
            && self.reading.gravity.is_none()
            && matches!(self.reading.unit, Some(Unit::Density(_)))
        {
            self.reading.gravity = Some(GravityReference {
                temperature: self.reading.gravity_temperature,
                relative_to: GravityKind::Density,
            });
        }
        self.reading.why = format!("lab.toml says it is {}", role.spoken());
        self.reading.alternatives.clear();
        self.reading.role = Some(role);
    }

    /// Leaves the column out for that reason.
    pub(super) fn refuse(&mut self, problem: String) {
        self.problem = Some((problem, None));
    }

    fn finish(self, context: &RowContext) -> ColumnReading {
        let outcome = self.outcome(context);
        let mut reading = self.reading;
        if let (Outcome::Measured { .. }, Some(note)) =
            (&outcome, reading.unit.and_then(|u| u.assumption()))
        {
            reading.why.push_str("; ");
            reading.why.push_str(note);
        }
        ColumnReading {
            heading: self.heading.to_owned(),
            reading,
            outcome,
        }
    }

    fn outcome(&self, context: &RowContext) -> Outcome {
        let left_out = |problem: String, role: &Role, unit: Option<Unit>| Outcome::LeftOut {
            problem,
            hint: snippet(context.files, self.heading, role, unit),
        };
        let likeliest = self
            .reading
            .alternatives
            .first()
            .or(self.reading.role.as_ref());
        if let Some((problem, hint)) = &self.problem {
            return match hint {
                Some(hint) => Outcome::LeftOut {
                    problem: problem.clone(),
                    hint: hint.clone(),
                },
                None => {
                    let role = likeliest.unwrap_or(&Role::Ignore);
                    left_out(problem.clone(), role, self.unit_to_show(role))
                }
            };
        }
        let Some(role) = &self.reading.role else {
            let Some(first) = likeliest else {
                return left_out(
                    "the heading is not recognised, so the column is not used".into(),
                    &Role::Ignore,
                    None,
                );
            };
            let names: Vec<String> = self.reading.alternatives.iter().map(Role::name).collect();
            let problem = format!("{}: {}", self.reading.why, names.join(" or "));
            return left_out(problem, first, self.unit_to_show(first));
        };
        match role {
            Role::Ignore | Role::Weekday | Role::Sequence => Outcome::Ignored,
            role if !role.is_measured() => Outcome::Context,
            Role::Own(id) => self.own_outcome(id, context),
            role => self.measured(role, context),
        }
    }

    /// A built-in measured role.
    fn measured(&self, role: &Role, context: &RowContext) -> Outcome {
        let values = self.samples.map_or(&[][..], |s| &s.values);
        let left_out = |problem: String, unit: Option<Unit>| Outcome::LeftOut {
            problem,
            hint: snippet(context.files, self.heading, role, unit),
        };
        let unit = match (self.reading.unit, role) {
            (Some(unit), _) => unit,
            (None, Role::SpecificGravity) => {
                let likely = plausible::likely_units(role, values);
                if let ([first, ..], false) = (likely.as_slice(), likely.contains(&Unit::One)) {
                    let problem = format!(
                        "its values, such as {}, are no relative densities; they would fit {first}",
                        example(values)
                    );
                    return left_out(problem, Some(*first));
                }
                Unit::One
            }
            (None, Role::Ph) => Unit::One,
            (None, _) => {
                let likely = plausible::likely_units(role, values);
                let fits: Vec<String> = likely.iter().map(Unit::to_string).collect();
                let problem = if values.is_empty() {
                    "neither the heading nor any cell states a unit".to_owned()
                } else if fits.is_empty() {
                    format!(
                        "no unit is stated, and its values, such as {}, fit none that is usual for {}",
                        example(values),
                        role.spoken()
                    )
                } else {
                    format!(
                        "no unit is stated; its values, such as {}, would fit {}",
                        example(values),
                        fits.join(" or ")
                    )
                };
                return left_out(problem, self.unit_to_show(role));
            }
        };
        match role.measure(unit) {
            Some(Ok((measure, conversion))) => Outcome::Measured {
                measure,
                conversion,
            },
            Some(Err(mismatch)) => {
                let role = match mismatch {
                    // No unit can mend these; the column itself has to change.
                    crate::intake::unit::UnitMismatch::Absolute { .. } => &Role::Ignore,
                    _ => role,
                };
                Outcome::LeftOut {
                    problem: mismatch.to_string(),
                    hint: snippet(context.files, self.heading, role, canonical(role)),
                }
            }
            None => Outcome::Context,
        }
    }

    /// A characteristic of the lab's own: read in the unit that `lab.toml` gives it.
    fn own_outcome(&self, id: &Arc<str>, context: &RowContext) -> Outcome {
        let own_unit = context
            .own
            .iter()
            .find(|o| o.id == *id)
            .map_or("", |o| o.unit.as_str());
        match (self.reading.unit, Unit::parse(own_unit)) {
            (Some(stated), Some(own)) if stated != own => Outcome::LeftOut {
                problem: format!("it states {stated}, but lab.toml gives {id} in {own}"),
                hint: format!("write the column in {own}, or change the unit of {id} in lab.toml"),
            },
            _ => Outcome::Measured {
                measure: Measure::Own(Arc::clone(id)),
                conversion: Conversion::SAME,
            },
        }
    }

    /// The unit a hint shows: the stated one, else the likeliest by the samples, else the
    /// canonical one.
    fn unit_to_show(&self, role: &Role) -> Option<Unit> {
        if role.needs_no_unit() {
            return self.reading.unit.filter(|_| *role == Role::SpecificGravity);
        }
        let values = self.samples.map_or(&[][..], |s| &s.values);
        self.reading
            .unit
            .filter(|unit| matches!(role.measure(*unit), Some(Ok(_))))
            .or_else(|| plausible::likely_units(role, values).first().copied())
            .or_else(|| canonical(role))
    }
}

/// Whether a heading means an own characteristic, with or without a unit in brackets.
fn means_own(own: &OwnCharacteristic, heading: &str, key: &str) -> bool {
    let bare = heading
        .split(['(', '['])
        .next()
        .map(words::heading_key)
        .unwrap_or_default();
    own.headings
        .iter()
        .map(|h| words::heading_key(h))
        .chain([words::heading_key(&own.id)])
        .any(|h| !h.is_empty() && (h == key || h == bare))
}

/// The unit a role is charted in.
fn canonical(role: &Role) -> Option<Unit> {
    plausible::usual_unit(role)
}

/// The lowest and highest sample, as written.
fn example(values: &[f64]) -> String {
    let low = values.iter().copied().fold(f64::INFINITY, f64::min);
    let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if low == high {
        format!("{low}")
    } else {
        format!("{low} to {high}")
    }
}
