//! The rules of `lab.toml` that hold for one file or sheet, put together.

use crate::lab::{ColumnRule, DateOrder, GravityReference, Lab};
use std::sync::Arc;

/// What `lab.toml` says of one file or sheet; later rules win.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Rules {
    pub(crate) cabinet: Option<Arc<str>>,
    pub(crate) dates: Option<DateOrder>,
    pub(crate) decimal: Option<char>,
    pub(crate) delimiter: Option<char>,
    pub(crate) encoding: Option<String>,
    pub(crate) columns: Vec<ColumnRule>,
    pub(crate) collection_hours: Option<f64>,
    pub(crate) funnel_area_cm2: Option<f64>,
    pub(crate) gravity: Option<GravityReference>,
}

impl Rules {
    /// The rules for a path and, in a workbook, a sheet.
    pub(crate) fn of(lab: &Lab, path: &str, sheet: Option<&str>) -> Rules {
        let mut all = Rules::default();
        for rule in &lab.logs {
            if !rule.covers(path, sheet) {
                continue;
            }
            all.cabinet = rule.cabinet.clone().or(all.cabinet);
            all.dates = rule.dates.or(all.dates);
            all.decimal = rule.decimal.or(all.decimal);
            all.delimiter = rule.delimiter.or(all.delimiter);
            all.encoding = rule.encoding.clone().or(all.encoding);
            all.columns.extend(rule.columns.iter().cloned());
            all.collection_hours = rule.collection_hours.or(all.collection_hours);
            all.funnel_area_cm2 = rule.funnel_area_cm2.or(all.funnel_area_cm2);
            all.gravity = rule.gravity.or(all.gravity);
        }
        all
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::lab;
    use super::*;
    use crate::lab::LogRule;

    #[test]
    fn later_rules_win_and_sheets_are_told_apart() {
        let mut lab = lab();
        lab.logs = vec![
            LogRule {
                files: "logs/*.xlsx".into(),
                decimal: Some(','),
                cabinet: Some("plover".into()),
                ..LogRule::default()
            },
            LogRule {
                files: "logs/2026*".into(),
                sheet: Some("D*".into()),
                cabinet: Some("dunlin".into()),
                ..LogRule::default()
            },
        ];
        let rules = Rules::of(&lab, "logs/2026.xlsx", Some("Dunlin"));
        assert_eq!(rules.cabinet.as_deref(), Some("dunlin"));
        assert_eq!(rules.decimal, Some(','));
        let other = Rules::of(&lab, "logs/2026.xlsx", Some("Plover"));
        assert_eq!(other.cabinet.as_deref(), Some("plover"));
        assert_eq!(Rules::of(&lab, "logs/a.csv", None), Rules::default());
    }
}
