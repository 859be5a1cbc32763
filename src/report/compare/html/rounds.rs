//! Round against round: the two-sample plot of each pair of consecutive coupon rounds.

use super::Page;
use super::figure::Figure;
use super::table::{Table, figure, maybe, name, text};
use crate::report::compare::naming::{Names, decimals};
use crate::report::compare::plot;
use crate::report::html::HtmlError;
use crate::report::wire::ComparedCharacteristic;
use serde::Serialize;
use std::collections::BTreeMap;

/// Pairs of rounds drawn at most: the latest.
const MOST: usize = 4;
/// Rows of a table at most.
const MOST_ROWS: usize = 400;

/// What `compare-rounds.html` places.
#[derive(Serialize)]
pub(super) struct TwoRounds {
    has_rounds: bool,
    figures: Vec<Figure>,
    note: String,
}

impl TwoRounds {
    pub(super) fn new(page: &Page<'_>) -> Result<TwoRounds, HtmlError> {
        let all = plot::consecutive_rounds(page.comparison);
        let shown = all
            .get(all.len().saturating_sub(MOST)..)
            .unwrap_or_default();
        let mut figures = Vec::new();
        for (first, second) in shown {
            let Some(chart) = plot::two_rounds(first, second, &page.names)? else {
                continue;
            };
            let id = |one: &ComparedCharacteristic| one.round.clone().unwrap_or_default();
            figures.push(Figure::with_table(
                page,
                format!("Round {} against round {}", id(first), id(second)),
                "A mark a cabinet, a shape a lab. Along the dotted diagonal lie cabinets that corrode alike in both rounds, whether much or little; away from it, one round did not repeat the other.",
                chart,
                ("Means of both rounds as a table", table(first, second, &page.names)),
            )?);
        }
        Ok(TwoRounds {
            has_rounds: !page.comparison.rounds.is_empty(),
            figures,
            note: if all.len() > MOST {
                format!(
                    "The latest {MOST} of {} pairs of rounds; the others are among the chart files.",
                    all.len()
                )
            } else {
                String::new()
            },
        })
    }
}

fn table(
    first: &ComparedCharacteristic,
    second: &ComparedCharacteristic,
    names: &Names<'_>,
) -> Table {
    let round = |one: &ComparedCharacteristic| {
        format!(
            "#Round {}, {}",
            one.round.as_deref().unwrap_or_default(),
            one.unit
        )
    };
    let (one, other) = (round(first), round(second));
    let decimals = decimals(first);
    let mut table = Table::new("Means of both rounds", &["Cabinet", "Lab", &one, &other]);
    let of_second: BTreeMap<&str, f64> = second
        .participants
        .iter()
        .map(|p| (p.id.as_str(), p.mean))
        .collect();
    for participant in first.participants.iter().take(MOST_ROWS) {
        let other = of_second.get(participant.id.as_str()).copied();
        table.row(vec![
            name(names.of(&participant.id)),
            text(names.lab(&participant.lab)),
            figure(maybe(Some(participant.mean), decimals)),
            figure(maybe(other, decimals)),
        ]);
    }
    table
}
