//! What to do with each column of a table, decided before its rows are read.
//!
//! Roles and units are the recogniser's; here the samples decide how numbers and dates
//! are written, columns that say the same are refused, and everything left out gets its
//! reason.

use super::checks::Measure;
use super::date::{self, DateStyle, Epoch, OrderEvidence};
use super::grid::column_letter;
use super::heading::{self, ColumnReading, RowContext, Samples};
use super::number::{self, Evidence, Style};
use super::plausible::{self, Range};
use super::role::Role;
use super::rules::Rules;
use super::unit::{Conversion, Unit};
use crate::lab::OwnCharacteristic;

/// What a column is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    /// Readings: index into [`Plan::measured`].
    Measured(usize),
    /// The date of the check.
    Date,
    /// The time of day.
    Time,
    /// The cabinet.
    Cabinet,
    /// Left out until `lab.toml` settles it.
    LeftOut,
    /// Of no use to the review.
    Aside,
}

/// A column of readings.
#[derive(Debug, Clone)]
pub(crate) struct Measured {
    /// Index of the column.
    pub(crate) column: usize,
    /// What it measures.
    pub(crate) measure: Measure,
    /// From written to canonical.
    pub(crate) conversion: Conversion,
    /// How its numbers are written.
    pub(crate) style: Style,
    /// What a reading can be at all.
    pub(crate) range: Option<Range>,
    /// Its unit.
    pub(crate) unit: Option<Unit>,
    /// Its role.
    pub(crate) role: Role,
}

/// A reason why a column is not used, and what settles it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Open {
    pub(crate) problem: String,
    pub(crate) hint: String,
}

/// The columns of a table.
#[derive(Debug, Clone)]
pub(crate) struct Plan {
    /// Headings as issues name them.
    pub(crate) labels: Vec<String>,
    /// Headings as written.
    pub(crate) headings: Vec<String>,
    /// What the recogniser understood.
    pub(crate) readings: Vec<ColumnReading>,
    /// What each column is for.
    pub(crate) kinds: Vec<Kind>,
    /// Why each column is read so (decimal sign included), by column.
    pub(crate) whys: Vec<String>,
    /// Why a column is left out, by column.
    pub(crate) open: Vec<Option<Open>>,
    /// Columns of readings.
    pub(crate) measured: Vec<Measured>,
    /// Column of the date; `None` when no column gives a date that can be read.
    pub(crate) date: Option<usize>,
    /// Column of the time of day.
    pub(crate) time: Option<usize>,
    /// Column of the cabinet.
    pub(crate) cabinet: Option<usize>,
    /// How dates are written.
    pub(crate) date_style: DateStyle,
}

/// What a plan is made from.
pub(crate) struct Given<'a> {
    pub(crate) path: &'a str,
    pub(crate) headings: Vec<String>,
    /// First rows below the heading, as texts.
    pub(crate) samples: &'a [Vec<String>],
    pub(crate) rules: &'a Rules,
    pub(crate) own: &'a [OwnCharacteristic],
    pub(crate) since_1904: bool,
    /// All different cells of a column, for when the samples do not settle it.
    pub(crate) all: &'a dyn Fn(usize) -> Vec<String>,
}

impl Plan {
    /// Decides what each column is for.
    pub(crate) fn of(given: Given<'_>) -> Plan {
        let width = given.headings.len();
        let sample = |column: usize| {
            given
                .samples
                .iter()
                .filter_map(move |row| row.get(column).map(String::as_str))
                .filter(|cell| !cell.trim().is_empty())
        };
        let evidence: Vec<Evidence> = (0..width).map(|c| number::infer(sample(c))).collect();
        let samples: Vec<Samples> = (0..width)
            .map(|column| {
                let style = style_of(evidence.get(column), given.rules.decimal);
                samples_of(sample(column), style)
            })
            .collect();
        let context = RowContext {
            files: given.path,
            own: given.own,
            rules: &given.rules.columns,
            samples: &samples,
        };
        let readings = heading::recognise_row(&given.headings, &context);
        let mut plan = Plan {
            labels: labels(&given.headings),
            kinds: vec![Kind::Aside; width],
            whys: readings.iter().map(|r| r.reading.why.clone()).collect(),
            open: vec![None; width],
            measured: Vec::new(),
            date: None,
            time: None,
            cabinet: None,
            date_style: DateStyle {
                order: given.rules.dates,
                epoch: if given.since_1904 {
                    Epoch::Y1904
                } else {
                    Epoch::Y1900
                },
            },
            readings,
            headings: given.headings.clone(),
        };
        plan.assign_roles();
        plan.leave_out_doubles(given.path);
        plan.settle_dates(&given, &|c| sample(c).map(str::to_owned).collect());
        let all_evidence = rest_evidence(&plan, &evidence);
        for column in 0..width {
            plan.settle_numbers(column, &given, &evidence, &all_evidence, &|c| {
                sample(c).map(str::to_owned).collect()
            });
        }
        plan
    }

    fn assign_roles(&mut self) {
        for (column, reading) in self.readings.iter().enumerate() {
            let kind = match &reading.outcome {
                heading::Outcome::LeftOut { problem, hint } => {
                    if let Some(open) = self.open.get_mut(column) {
                        *open = Some(Open {
                            problem: problem.clone(),
                            hint: hint.clone(),
                        });
                    }
                    Kind::LeftOut
                }
                heading::Outcome::Measured {
                    measure,
                    conversion,
                } => {
                    self.measured.push(Measured {
                        column,
                        measure: measure.clone(),
                        conversion: *conversion,
                        style: Style::PER_CELL,
                        range: plausible::possible(measure),
                        unit: reading.reading.unit,
                        role: reading.reading.role.clone().unwrap_or(Role::Ignore),
                    });
                    Kind::Measured(self.measured.len() - 1)
                }
                heading::Outcome::Ignored => Kind::Aside,
                heading::Outcome::Context => match reading.role() {
                    Some(Role::Date | Role::DateTime) if self.date.is_none() => {
                        self.date = Some(column);
                        Kind::Date
                    }
                    Some(Role::Time) if self.time.is_none() => {
                        self.time = Some(column);
                        Kind::Time
                    }
                    Some(Role::Cabinet) if self.cabinet.is_none() => {
                        self.cabinet = Some(column);
                        Kind::Cabinet
                    }
                    _ => Kind::Aside,
                },
            };
            if let Some(slot) = self.kinds.get_mut(column) {
                *slot = kind;
            }
        }
    }

    /// Leaves a column out, with its reason.
    fn leave_out(&mut self, column: usize, open: Open) {
        if let Some(kind) = self.kinds.get_mut(column) {
            *kind = Kind::LeftOut;
        }
        if let Some(slot) = self.open.get_mut(column) {
            *slot = Some(open);
        }
        self.measured.retain(|m| m.column != column);
        for (index, measured) in self.measured.iter().enumerate() {
            if let Some(kind) = self.kinds.get_mut(measured.column) {
                *kind = Kind::Measured(index);
            }
        }
    }

    /// Of columns that say the same measure none is used: nothing tells which is right.
    fn leave_out_doubles(&mut self, path: &str) {
        let doubles: Vec<(usize, Role, String)> = self
            .measured
            .iter()
            .filter_map(|m| {
                let twin = self
                    .measured
                    .iter()
                    .find(|other| other.measure == m.measure && other.column != m.column)?;
                let label = self.labels.get(twin.column).cloned().unwrap_or_default();
                Some((m.column, m.role.clone(), label))
            })
            .collect();
        for (column, role, twin) in doubles {
            let heading = self.headings.get(column).cloned().unwrap_or_default();
            self.leave_out(
                column,
                Open {
                    problem: format!(
                        "This column and {twin} both read as {}; nothing tells which to use.",
                        role.spoken()
                    ),
                    hint: heading::snippet(path, &heading, &Role::Ignore, None),
                },
            );
        }
    }

    fn settle_dates(&mut self, given: &Given<'_>, sample: &dyn Fn(usize) -> Vec<String>) {
        let Some(column) = self.date else {
            return;
        };
        if self.date_style.order.is_some() {
            return;
        }
        let texts = sample(column);
        let mut evidence = date::infer_order(texts.iter().map(String::as_str));
        if matches!(evidence, OrderEvidence::Open(..))
            || (matches!(evidence, OrderEvidence::Decided(..)))
        {
            // A date further down may decide it, or contradict the first ones.
            let all = (given.all)(column);
            evidence = date::infer_order(all.iter().map(String::as_str));
        }
        let line = |order: &str| {
            format!(
                "[[log]]\nfiles = {}\ndates = \"{order}\"",
                toml_text(given.path)
            )
        };
        match evidence {
            OrderEvidence::NotNeeded => {}
            OrderEvidence::Decided(order, example) => {
                self.date_style.order = Some(order);
                if let Some(why) = self.whys.get_mut(column) {
                    why.push_str(&format!(
                        "; {} ({example} decides it)",
                        order_name(order).replace('-', " ")
                    ));
                }
            }
            OrderEvidence::Open(example, suggestion) => {
                let suggested = suggestion.unwrap_or(crate::lab::DateOrder::DayFirst);
                let other = if suggested == crate::lab::DateOrder::MonthFirst {
                    crate::lab::DateOrder::DayFirst
                } else {
                    crate::lab::DateOrder::MonthFirst
                };
                let more = match suggestion {
                    Some(order) => format!(
                        "; the rows follow each other day by day when read {}",
                        order_name(order)
                    ),
                    None => String::new(),
                };
                self.date = None;
                self.leave_out(
                    column,
                    Open {
                        problem: format!(
                            "In all its dates, such as {}, day and month can be exchanged{more}. Expected an order that one date at least settles.",
                            crate::issue::shown(&example)
                        ),
                        hint: format!(
                            "{}\n# if it is the other way round: dates = \"{}\"",
                            line(order_name(suggested)),
                            order_name(other)
                        ),
                    },
                );
            }
            OrderEvidence::Contradictory(a, b) => {
                if let Some(why) = self.whys.get_mut(column) {
                    why.push_str(&format!(
                        "; no order of day and month fits both {} and {}, so dates that can be read two ways are rejected",
                        crate::issue::shown(&a),
                        crate::issue::shown(&b)
                    ));
                }
            }
        }
    }

    fn settle_numbers(
        &mut self,
        column: usize,
        given: &Given<'_>,
        evidence: &[Evidence],
        all_evidence: &Evidence,
        sample: &dyn Fn(usize) -> Vec<String>,
    ) {
        let Some(&Kind::Measured(index)) = self.kinds.get(column) else {
            return;
        };
        let Some(measured) = self.measured.get(index) else {
            return;
        };
        let mut texts = sample(column);
        let mut own = evidence.get(column).cloned().unwrap_or(Evidence::Either);
        if matches!(own, Evidence::Ambiguous(_)) {
            texts = (given.all)(column);
            own = number::infer(texts.iter().map(String::as_str));
        }
        let measure = measured.range.map(|range| (range, measured.conversion));
        let settled = number::settle(
            &own,
            all_evidence,
            given.rules.decimal,
            measure,
            texts.iter().map(String::as_str),
        );
        match settled {
            Ok((style, why)) => {
                if let Some(measured) = self.measured.get_mut(index) {
                    measured.style = style;
                }
                let told = !matches!(own, Evidence::Either);
                if let Some(text) = self.whys.get_mut(column).filter(|_| told) {
                    text.push_str("; ");
                    text.push_str(&why);
                }
            }
            Err(problem) => {
                let hint = format!(
                    "[[log]]\nfiles = {}\ndecimal = \",\"\nor, if a point is the decimal sign, decimal = \".\"",
                    toml_text(given.path)
                );
                self.leave_out(column, Open { problem, hint });
            }
        }
    }
}

/// Evidence of all columns of readings together.
fn rest_evidence(plan: &Plan, evidence: &[Evidence]) -> Evidence {
    let of = |wanted: &Evidence| {
        plan.measured
            .iter()
            .filter(|m| evidence.get(m.column) == Some(wanted))
            .count()
    };
    match (of(&Evidence::Point), of(&Evidence::Comma)) {
        (0, 0) => Evidence::Either,
        (_, 0) => Evidence::Point,
        (0, _) => Evidence::Comma,
        _ => Evidence::Either,
    }
}

fn style_of(evidence: Option<&Evidence>, declared: Option<char>) -> Style {
    declared
        .and_then(Style::declared)
        .unwrap_or(match evidence {
            Some(Evidence::Point) => Style::POINT,
            Some(Evidence::Comma) => Style::COMMA,
            _ => Style::PER_CELL,
        })
}

/// Numbers of the samples, and the unit that every one of them has beside it.
fn samples_of<'a>(cells: impl Iterator<Item = &'a str>, style: Style) -> Samples {
    let mut samples = Samples::default();
    let mut units: Vec<Option<Unit>> = Vec::new();
    for cell in cells {
        match number::read(cell, style) {
            number::Reading::Value(value) => {
                samples.values.push(value);
                units.push(None);
            }
            number::Reading::Marked(marked) => {
                samples.values.push(marked.value);
                units.push(marked.unit);
            }
            number::Reading::Missing | number::Reading::Refused(_) => {}
        }
    }
    let first = units.first().copied().flatten();
    samples.unit = first.filter(|_| units.iter().all(|unit| *unit == first));
    samples
}

/// Headings as issues name them: the letter of the column where there is none.
fn labels(headings: &[String]) -> Vec<String> {
    headings
        .iter()
        .enumerate()
        .map(|(column, heading)| {
            if heading.trim().is_empty() {
                format!("column {}", column_letter(column))
            } else {
                crate::issue::shown(heading.trim())
            }
        })
        .collect()
}

fn order_name(order: crate::lab::DateOrder) -> &'static str {
    match order {
        crate::lab::DateOrder::DayFirst => "day-first",
        crate::lab::DateOrder::MonthFirst => "month-first",
        crate::lab::DateOrder::YearFirst => "year-first",
    }
}

/// The text as a basic string of TOML.
pub(crate) fn toml_text(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}
