//! Issues of one sheet as they are found: counted without limit, told with one.
//!
//! Alike issues (same column, same kind) are told singly up to [`TOLD_SINGLY`] times;
//! the rest become one issue with their number, so a long log in a strange dialect
//! cannot fill memory or the report.

use crate::issue::{Effect, Issue, Place, shown};
use std::collections::BTreeMap;
use std::sync::Arc;

/// How many alike issues are told one by one.
pub(crate) const TOLD_SINGLY: u64 = 50;

/// What an issue says, apart from its place.
#[derive(Debug, Clone)]
pub(crate) struct Says {
    /// What was found against what was expected, as a sentence.
    pub(crate) problem: String,
    /// What to do.
    pub(crate) hint: Option<String>,
    /// What became of it.
    pub(crate) effect: Effect,
}

/// Where in the sheet, and what stands there.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Spot<'a> {
    /// Line or row, from 1.
    pub(crate) line: u64,
    /// Heading of the column as written.
    pub(crate) column: Option<&'a str>,
    /// The cell as written.
    pub(crate) found: Option<&'a str>,
}

/// The rest of a kind, beyond those told singly.
#[derive(Debug)]
struct Rest {
    seen: u64,
    folded: Option<Issue>,
}

/// The issues of one sheet (or file).
#[derive(Debug)]
pub(crate) struct Tally {
    path: Arc<str>,
    sheet: Option<Arc<str>>,
    kinds: BTreeMap<(Option<Box<str>>, &'static str), Rest>,
    issues: Vec<Issue>,
}

impl Tally {
    /// No issue yet, for that file and sheet.
    pub(crate) fn new(path: Arc<str>, sheet: Option<Arc<str>>) -> Tally {
        Tally {
            path,
            sheet,
            kinds: BTreeMap::new(),
            issues: Vec::new(),
        }
    }

    /// One more issue of that kind at that spot; `says` runs only when it is told singly
    /// or opens the fold.
    pub(crate) fn at(&mut self, kind: &'static str, spot: Spot<'_>, says: impl FnOnce() -> Says) {
        let key = (spot.column.map(Box::from), kind);
        let rest = self.kinds.entry(key).or_insert(Rest {
            seen: 0,
            folded: None,
        });
        rest.seen += 1;
        if let Some(folded) = &mut rest.folded {
            folded.count += 1;
            return;
        }
        let Says {
            problem,
            hint,
            effect,
        } = says();
        let issue = Issue {
            place: Place {
                path: self.path.to_string(),
                sheet: self.sheet.as_deref().map(shown),
                line: Some(spot.line),
                column: spot.column.map(shown),
            },
            found: spot.found.map(shown),
            problem,
            hint,
            effect,
            count: 1,
        };
        if rest.seen <= TOLD_SINGLY {
            self.issues.push(issue);
        } else {
            rest.folded = Some(issue);
        }
    }

    /// An issue of the whole sheet or of a column, standing for `count` cells or rows.
    pub(crate) fn whole(&mut self, column: Option<&str>, count: u64, says: Says) {
        self.issues.push(Issue {
            place: Place {
                path: self.path.to_string(),
                sheet: self.sheet.as_deref().map(shown),
                line: None,
                column: column.map(shown),
            },
            found: None,
            problem: says.problem,
            hint: says.hint,
            effect: says.effect,
            count,
        });
    }

    /// All issues: those of the whole sheet first, then by line.
    pub(crate) fn finish(mut self) -> Vec<Issue> {
        for rest in self.kinds.into_values() {
            if let Some(mut folded) = rest.folded {
                if folded.count > 1 {
                    folded.problem =
                        format!("{} (and {} more like it)", folded.problem, folded.count - 1);
                }
                self.issues.push(folded);
            }
        }
        // Stable: issues of one line keep the order of their columns.
        self.issues.sort_by_key(|issue| issue.place.line);
        self.issues
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn says() -> Says {
        Says {
            problem: "It is no number.".into(),
            hint: None,
            effect: Effect::CellRejected,
        }
    }

    #[test]
    fn alike_issues_fold_and_none_is_lost() {
        let mut tally = Tally::new("logs/a.csv".into(), None);
        for line in 1..=1000 {
            let spot = Spot {
                line,
                column: Some("pH"),
                found: Some("x"),
            };
            tally.at("no-number", spot, says);
        }
        let spot = Spot {
            line: 7,
            column: Some("T"),
            found: Some("y\u{1b}"),
        };
        tally.at("no-number", spot, says);
        let issues = tally.finish();
        assert_eq!(issues.len() as u64, TOLD_SINGLY + 2);
        assert_eq!(issues.iter().map(|i| i.count).sum::<u64>(), 1001);
        assert!(
            issues
                .windows(2)
                .all(|w| w[0].place.line <= w[1].place.line)
        );
        assert!(
            issues
                .iter()
                .any(|i| i.found.as_deref() == Some("y\u{fffd}"))
        );
    }
}
