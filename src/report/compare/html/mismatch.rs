//! What goes with the coupon difference of each pair: bars, the rows behind them, the
//! rest, and what to check next.

use super::Page;
use super::figure::Figure;
use super::table::{Table, ends, figure, maybe, name, text};
use crate::report::compare::naming::decimals_for;
use crate::report::compare::plot;
use crate::report::format::{attach, capital, number, percent, shortened, significant, spoken};
use crate::report::html::HtmlError;
use crate::report::wire::{Explanation, Mismatch};
use serde::Serialize;

/// Pairs told at most.
const MOST: usize = 12;
/// Rows of a table at most.
const MOST_ROWS: usize = 24;

/// What `compare-mismatch.html` places.
#[derive(Serialize)]
pub(super) struct Mismatches {
    pairs: Vec<PairView>,
    note: String,
    has_rounds: bool,
}

#[derive(Serialize)]
struct PairView {
    id: String,
    title: String,
    says: String,
    facts: Vec<(String, String)>,
    figure: Option<Figure>,
    table: String,
    rows_note: String,
    check_next: Vec<String>,
    evidence: Vec<EvidenceView>,
}

#[derive(Serialize)]
struct EvidenceView {
    says: String,
    link: Option<String>,
}

impl Mismatches {
    pub(super) fn new(page: &Page<'_>) -> Result<Mismatches, HtmlError> {
        let comparison = page.comparison;
        let all = comparison.explanations.len();
        Ok(Mismatches {
            pairs: comparison
                .explanations
                .iter()
                .take(MOST)
                .enumerate()
                .map(|(i, one)| pair(page, i, one))
                .collect::<Result<_, HtmlError>>()?,
            note: if all > MOST {
                format!("The first {MOST} of {all} pairs; compare.json holds all.")
            } else {
                String::new()
            },
            has_rounds: !comparison.rounds.is_empty(),
        })
    }
}

fn pair(page: &Page<'_>, place: usize, one: &Explanation) -> Result<PairView, HtmlError> {
    let names = &page.names;
    let title = format!("{} less {}", names.of(&one.a), names.of(&one.b));
    let rows = plot::rows_of(page.comparison, one);
    let mut table = Table::new(
        format!("{title}: what goes with the difference"),
        &[
            "Characteristic",
            "#Difference",
            "#95 % interval",
            "#g/m² per unit",
            "#Mass loss, g/m²",
            "#95 % interval",
            "#Share",
            "#95 % interval",
            "Instruments alone",
        ],
    );
    for row in rows.iter().take(MOST_ROWS) {
        table.row_with(cells(row), capital(&row.says));
    }
    let chart = plot::shares(page.comparison, one, names)?;
    let unexplained = match one.unexplained {
        Some(rest) => with_ends(rest, one.unexplained_low, one.unexplained_high),
        None => "not known".to_owned(),
    };
    Ok(PairView {
        id: format!("mismatch-{}", place + 1),
        says: one.says.clone(),
        facts: vec![
            (
                "Coupon difference".to_owned(),
                with_ends(one.difference, one.low, one.high),
            ),
            ("Unexplained rest".to_owned(), unexplained),
            ("Rounds".to_owned(), one.rounds.join(", ")),
            ("Method".to_owned(), one.method_says.clone()),
        ],
        figure: chart.map(|chart| {
            Figure::beside_its_table(
                format!("{}: what goes with the difference", shortened(&title, 80)),
                "Every bar is in g/m²: the coupon difference, the part that goes with each measured difference, and the rest. Whiskers are 95 % intervals; a part that points the other way is drawn so.",
                chart,
            )
        }),
        rows_note: if rows.len() > MOST_ROWS {
            format!("The first {MOST_ROWS} of {} rows; compare.json holds all.", rows.len())
        } else {
            String::new()
        },
        table: table.markup(page)?,
        check_next: one.check_next.clone(),
        evidence: one
            .evidence
            .iter()
            .map(|e| EvidenceView {
                says: e.says.clone(),
                link: e.chart.as_ref().and_then(|c| page.sections.get(c).cloned()),
            })
            .collect(),
        title,
    })
}

/// "−7.9 g/m² (−10.2 to −5.6)".
fn with_ends(value: f64, low: Option<f64>, high: Option<f64>) -> String {
    let text = attach(number(value, 1), "g/m²");
    match (low, high) {
        (Some(_), Some(_)) => format!("{text} (95 %: {})", ends(low, high, 1)),
        _ => format!("{text}, without an interval"),
    }
}

fn cells(row: &Mismatch) -> Vec<super::table::Cell> {
    // The interval tells how many digits of the difference mean something.
    let decimals = decimals_for(row.high - row.low, 2).max(decimals_for(row.difference, 2));
    let sensitivity = match (row.sensitivity, row.sensitivity_u) {
        (Some(value), Some(u)) => format!("{} ± {}", significant(value, 3), significant(u, 2)),
        (Some(value), None) => significant(value, 3),
        _ => "not known".to_owned(),
    };
    let share_ends = match (row.share_low, row.share_high) {
        (Some(low), Some(high)) => format!("{} to {}", percent(low), percent(high)),
        _ => "–".to_owned(),
    };
    vec![
        name(format!(
            "{}. {}",
            row.rank,
            capital(&spoken(&row.characteristic))
        )),
        figure(attach(number(row.difference, decimals), &row.unit)),
        figure(ends(Some(row.low), Some(row.high), decimals)),
        figure(sensitivity),
        figure(maybe(row.mass_loss, 1)),
        figure(ends(row.mass_loss_low, row.mass_loss_high, 1)),
        figure(row.share_explained.map_or_else(|| "–".to_owned(), percent)),
        figure(share_ends),
        text(if row.instruments_explain {
            "cover the difference"
        } else {
            "do not cover it"
        }),
    ]
}
