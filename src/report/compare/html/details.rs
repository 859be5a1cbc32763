//! Tables that are folded away below a chart: what it draws, in numbers.

use super::table::{Table, figure, maybe, name, text};
use crate::report::compare::naming::{Names, decimals, heading};
use crate::report::format::{count, number, wall};
use crate::report::wire::{ComparedCharacteristic, Comparison, Participant};
use chrono::{Days, NaiveDate};

/// Rows of a table at most.
const MOST: usize = 400;
/// Days listed of a cabinet at most.
const MOST_DAYS: usize = 60;

/// Results of the coupons, those of a cabinet together.
pub(super) fn coupons(one: &ComparedCharacteristic, names: &Names<'_>) -> Table {
    let decimals = decimals(one).max(1);
    let mut table = Table::new(
        format!("{}: coupons", heading(one)),
        &["Cabinet", "Lab", "Coupon", "Place", "#Mass loss", "Marked"],
    );
    let all = one
        .participants
        .iter()
        .flat_map(|p| p.coupons.iter().map(move |c| (p, c)));
    for (participant, coupon) in all.take(MOST) {
        table.row(vec![
            name(names.of(&participant.id)),
            text(names.lab(&participant.lab)),
            text(coupon.coupon.clone()),
            text(
                coupon
                    .place
                    .clone()
                    .unwrap_or_else(|| "not said".to_owned()),
            ),
            figure(number(coupon.mass_loss, decimals)),
            text(coupon.marked.clone().unwrap_or_default()),
        ]);
    }
    table
}

/// The quantiles that the curves are drawn through: a row a share, a column a cabinet.
pub(super) fn quantiles(one: &ComparedCharacteristic, names: &Names<'_>) -> Table {
    let decimals = decimals(one);
    let cabinets: Vec<&Participant> = one
        .participants
        .iter()
        .filter(|p| !p.quantiles.is_empty())
        .collect();
    let mut heads = vec!["#Share at or below".to_owned()];
    heads.extend(cabinets.iter().map(|p| format!("#{}", names.of(&p.id))));
    let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
    let mut table = Table::new(format!("{}: quantiles", heading(one)), &heads);
    let longest = cabinets
        .iter()
        .map(|p| p.quantiles.len())
        .max()
        .unwrap_or(0);
    for i in 0..longest {
        let mut cells = vec![name(format!("{} %", i * 5))];
        cells.extend(
            cabinets
                .iter()
                .map(|p| figure(maybe(p.quantiles.get(i).copied(), decimals))),
        );
        table.row(cells);
    }
    table
}

/// h and k with their critical values.
pub(super) fn consistency(one: &ComparedCharacteristic, names: &Names<'_>) -> Table {
    let mut table = Table::new(
        format!("{}: h and k", heading(one)),
        &[
            "Cabinet",
            "#h",
            "#h critical 5 %",
            "#h critical 1 %",
            "#k",
            "#k critical 5 %",
            "#k critical 1 %",
        ],
    );
    let precision = one.precision.as_ref();
    let h = precision.and_then(|p| p.h_critical.as_ref());
    let k = precision.and_then(|p| p.k_critical.as_ref());
    let critical = [
        (h.map(|c| c.at_5_percent), h.map(|c| c.at_1_percent)),
        (k.map(|c| c.at_5_percent), k.map(|c| c.at_1_percent)),
    ];
    for participant in one.participants.iter().take(MOST) {
        let mut cells = vec![name(names.of(&participant.id))];
        for (value, (five, one)) in [participant.h, participant.k].into_iter().zip(critical) {
            cells.extend([value, five, one].map(|v| figure(maybe(v, 2))));
        }
        table.row(cells);
    }
    table
}

/// For each cabinet its days by kind; those with a reading outside one by one.
pub(super) fn calendar(
    comparison: &Comparison,
    one: &ComparedCharacteristic,
    names: &Names<'_>,
) -> Table {
    let first = wall(&comparison.period.from).map(|t| t.date());
    let mut table = Table::new(
        format!("{}: days in and out of window", heading(one)),
        &[
            "Cabinet",
            "Days with a reading outside",
            "Days as letters, from the first of the period",
        ],
    )
    .class("days");
    for participant in one.participants.iter().filter(|p| !p.calendar.is_empty()) {
        table.row(vec![
            name(names.of(&participant.id)),
            text(outside(&participant.calendar, first)),
            text(letters(&participant.calendar)),
        ]);
    }
    table
}

fn outside(calendar: &str, first: Option<NaiveDate>) -> String {
    let days: Vec<usize> = calendar
        .chars()
        .enumerate()
        .filter(|(_, c)| *c == 'o')
        .map(|(i, _)| i)
        .collect();
    if days.is_empty() {
        return if calendar.contains('i') {
            "none"
        } else {
            "not judged"
        }
        .to_owned();
    }
    let mut told: Vec<String> = days
        .iter()
        .take(MOST_DAYS)
        .map(|&day| {
            let date = first.and_then(|f| f.checked_add_days(Days::new(day as u64)));
            date.map_or_else(
                || format!("day {}", day + 1),
                |d| d.format("%-d %b").to_string(),
            )
        })
        .collect();
    if days.len() > MOST_DAYS {
        told.push("…".to_owned());
    }
    format!(
        "{}: {}",
        count(days.len() as u64, "day", "days"),
        told.join(", ")
    )
}

/// The letters in groups of seven, so that a reader can count.
fn letters(calendar: &str) -> String {
    let letters: Vec<char> = calendar.chars().collect();
    let weeks: Vec<String> = letters
        .chunks(7)
        .map(|week| week.iter().collect())
        .collect();
    weeks.join(" ")
}
