//! Overlaps in words.

use super::Found;
use crate::intake::checks::{Measure, SheetName, Source};
use crate::intake::measure::{measure_name, measure_unit};
use crate::issue::{Effect, Issue, Place};
use std::collections::BTreeMap;

/// Says what overlaps.
pub(super) struct Teller<'a> {
    pub(super) sheets: &'a [SheetName],
}

impl Teller<'_> {
    fn sheet(&self, index: u32) -> String {
        match self.sheets.get(index as usize) {
            Some(name) => match &name.sheet {
                Some(sheet) => format!("{}, sheet {}", name.path, crate::issue::shown(sheet)),
                None => name.path.to_string(),
            },
            None => String::new(),
        }
    }

    fn place(&self, source: Source, line: Option<u64>, column: Option<String>) -> Place {
        let name = self.sheets.get(source.sheet as usize);
        Place {
            path: name.map(|n| n.path.to_string()).unwrap_or_default(),
            sheet: name
                .and_then(|n| n.sheet.as_deref())
                .map(crate::issue::shown),
            line,
            column,
        }
    }

    pub(super) fn issues(&self, found: &Found) -> Vec<Issue> {
        let mut issues = Vec::new();
        for ((a, b, completes), (count, line)) in &found.pairs {
            let source = Source {
                sheet: *b,
                line: *line,
            };
            let also = if a == b {
                "further up".to_owned()
            } else {
                format!("in {}", self.sheet(*a))
            };
            let problem = if *completes {
                format!(
                    "{count} check(s) stand here and {also}, each with cells the other lacks; they were joined. The first is on line {line}."
                )
            } else {
                format!(
                    "{count} check(s) stand here and {also}; each was used once. The first is on line {line}."
                )
            };
            issues.push(kept(self.place(source, None, None), problem, None, *count));
        }
        for (sheet, (count, line)) in &found.same_day {
            let source = Source {
                sheet: *sheet,
                line: *line,
            };
            issues.push(kept(
                self.place(source, None, None),
                format!("{count} row(s) repeat an earlier row of the same date, with every reading equal and no time of day; each was used as a check of its own. The first is on line {line}."),
                Some("If a row was pasted twice, delete one; if two checks were made that day, write their times.".into()),
                *count,
            ));
        }
        let mut singly: BTreeMap<(u32, u32, &Measure), u64> = BTreeMap::new();
        for one in &found.singly {
            let (a, x) = (one.earlier, one.earlier_value);
            let (b, y) = (one.later, one.later_value);
            let key = (a.sheet, b.sheet, &one.measure);
            *singly.entry(key).or_default() += 1;
            let (name, unit) = (measure_name(&one.measure), measure_unit(&one.measure));
            let other = if x.is_nan() {
                format!(
                    "other rows of this check, from {} line {} on, contradict each other",
                    self.sheet(a.sheet),
                    a.line
                )
            } else {
                format!(
                    "{} line {} says {}",
                    self.sheet(a.sheet),
                    a.line,
                    amount(x, unit)
                )
            };
            issues.push(Issue {
                place: self.place(b, Some(u64::from(b.line)), Some(name)),
                found: Some(amount(y, unit)),
                problem: format!(
                    "The same check of cabinet {} stands twice with different readings: here {}, but {other}. Neither was used.",
                    one.cabinet,
                    amount(y, unit),
                ),
                hint: Some("Correct the reading in one of the two places, or delete the wrong row.".into()),
                effect: Effect::CellRejected,
                // Both readings are left out, unless the other is already counted.
                count: if x.is_nan() { 1 } else { 2 },
            });
        }
        for ((a, b, measure), count) in &found.told {
            let rest = count - singly.get(&(*a, *b, measure)).copied().unwrap_or(0);
            if rest > 0 {
                let source = Source { sheet: *b, line: 0 };
                let name = measure_name(measure);
                issues.push(Issue {
                    place: self.place(source, None, Some(name)),
                    found: None,
                    problem: format!("{rest} more reading(s) contradict those of the same checks in {}. Neither was used.", self.sheet(*a)),
                    hint: Some("Keep one of the two files, or correct the one that is wrong.".into()),
                    effect: Effect::CellRejected,
                    count: rest,
                });
            }
        }
        issues
    }
}

fn kept(place: Place, problem: String, hint: Option<String>, count: u64) -> Issue {
    Issue {
        place,
        found: None,
        problem,
        hint,
        effect: Effect::Kept,
        count,
    }
}

fn amount(value: f64, unit: &str) -> String {
    // Six significant digits: more are the rounding of a unit conversion.
    let digits = 5 - value.abs().max(1e-6).log10().floor() as i64;
    let scale = 10_f64.powi(i32::try_from(digits.clamp(0, 9)).unwrap_or(0));
    let text = ((value * scale).round() / scale).to_string();
    if unit.is_empty() {
        text
    } else {
        format!("{text} {unit}")
    }
}
