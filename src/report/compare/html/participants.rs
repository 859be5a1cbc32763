//! Tables of cabinets, labs and pairs.

use super::table::{Cell, Table, ends, figure, maybe, name, text, verdict};
use crate::report::compare::naming::{Names, decimals, heading, is_round, score, with_room};
use crate::report::format::{capital, count, number, signed, significant};
use crate::report::wire::{ComparedCharacteristic, Pair, Participant};

/// Rows of a table at most.
const MOST: usize = 60;

/// The cabinets that have room: of many, those with the largest scores.
pub(super) fn shown(one: &ComparedCharacteristic) -> Vec<&Participant> {
    with_room(&one.participants, MOST, |p| score(p).map(|s| s.0))
}

/// What the tables of cabinets leave out; empty when nothing.
pub(super) fn note(one: &ComparedCharacteristic, shown: &[&Participant]) -> String {
    if shown.len() == one.participants.len() {
        return String::new();
    }
    format!(
        "The {} of {} cabinets with the largest scores; compare.json holds all.",
        shown.len(),
        one.participants.len()
    )
}

/// What the table of pairs leaves out; empty when nothing.
pub(super) fn pairs_note(one: &ComparedCharacteristic) -> String {
    let shown = one.pairs.len().min(MOST) as u64;
    if shown == one.pair_count.all {
        return String::new();
    }
    format!(
        "{shown} of {} stand here, the clearest differences first; compare.json lists {}.",
        count(one.pair_count.all, "pair", "pairs"),
        one.pair_count.listed
    )
}

/// Results and scores of the cabinets.
pub(super) fn table(
    one: &ComparedCharacteristic,
    shown: &[&Participant],
    names: &Names<'_>,
) -> Table {
    results(one, shown, names, "Cabinet")
}

/// Results and scores of the labs as a whole.
pub(super) fn labs(one: &ComparedCharacteristic, names: &Names<'_>) -> Table {
    let labs: Vec<&Participant> = with_room(&one.labs, MOST, |p| score(p).map(|s| s.0));
    results(one, &labs, names, "Lab as a whole")
}

fn results(
    one: &ComparedCharacteristic,
    shown: &[&Participant],
    names: &Names<'_>,
    who: &str,
) -> Table {
    let decimals = decimals(one);
    // Coupons drift and leave windows in no sense that a day has.
    let drifts = shown.iter().any(|p| p.slope_per_day.is_some());
    let judged = shown.iter().any(|p| p.checked.is_some());
    let of_labs = who != "Cabinet";
    let with_lab = names.several_labs() && !of_labs;
    let mut heads = vec![who];
    if with_lab {
        heads.push("Lab");
    }
    heads.push(match (of_labs, is_round(one)) {
        (true, _) => "#Cabinets",
        (false, true) => "#Coupons",
        (false, false) => "#n (effective)",
    });
    heads.extend(["#Mean ± u", "#SD (95 %)"]);
    if drifts {
        heads.push("#Slope a day (95 %)");
    }
    if judged {
        heads.push("#Outside");
    }
    heads.extend(["#z", "#z′", "#ζ", "#E_n", "Verdict"]);
    let mut table = Table::new(
        format!("{}: results by {}", heading(one), who.to_lowercase()),
        &heads,
    );
    for p in shown {
        let mut cells = vec![name(p.name.clone())];
        if with_lab {
            cells.push(text(names.lab(&p.lab)));
        }
        let n = if of_labs || p.n_effective == p.n as f64 {
            p.n.to_string()
        } else {
            format!("{} ({})", p.n, number(p.n_effective, 1))
        };
        cells.push(figure(n));
        cells.push(figure(match p.u {
            Some(u) => format!("{} ± {}", number(p.mean, decimals), number(u, decimals)),
            None => number(p.mean, decimals),
        }));
        cells.push(with_interval(
            p.sd.map(|sd| number(sd, decimals)),
            ends(p.sd_low, p.sd_high, decimals),
        ));
        if drifts {
            let slope_ends = match (p.slope_low, p.slope_high) {
                (Some(low), Some(high)) => {
                    format!("{} to {}", significant(low, 2), significant(high, 2))
                }
                _ => "–".to_owned(),
            };
            cells.push(with_interval(
                p.slope_per_day.map(|s| significant(s, 2)),
                slope_ends,
            ));
        }
        if judged {
            cells.push(figure(match (p.outside, p.checked) {
                (Some(outside), Some(checked)) => format!("{outside} of {checked}"),
                _ => "–".to_owned(),
            }));
        }
        let signed =
            |value: Option<f64>| figure(value.map_or_else(|| "–".to_owned(), |v| signed(v, 2)));
        cells.extend([signed(p.z), signed(p.z_prime), signed(p.zeta), signed(p.en)]);
        cells.push(verdict(&p.verdict));
        table.row(cells);
    }
    table
}

/// "0.071 (0.059 to 0.090)"; the value alone without an interval.
fn with_interval(value: Option<String>, interval: String) -> Cell {
    figure(match value {
        Some(value) if interval != "–" => format!("{value} ({interval})"),
        Some(value) => value,
        None => "–".to_owned(),
    })
}

/// What the uncertainty of each mean is made of.
pub(super) fn uncertainty(
    one: &ComparedCharacteristic,
    shown: &[&Participant],
    names: &Names<'_>,
) -> Table {
    let decimals = decimals(one) + 1;
    let mut table = Table::new(
        format!("{}: what the uncertainty is made of", heading(one)),
        &[
            "Cabinet",
            "#Robust mean",
            "#Carry-over (lag 1)",
            "#u of chance",
            "#u of the instrument",
            "#u together",
            "Verdict read from",
            "Instrument",
        ],
    );
    for p in shown {
        let from = match (&p.verdict_from, score(p)) {
            (Some(_), Some((_, sign))) => sign.to_owned(),
            (Some(other), None) => other.clone(),
            _ => "–".to_owned(),
        };
        table.row(vec![
            name(names.of(&p.id)),
            figure(maybe(p.robust_mean, decimals - 1)),
            figure(maybe(p.lag1_autocorrelation, 2)),
            figure(maybe(p.u_chance, decimals)),
            figure(maybe(p.u_instrument, decimals)),
            figure(maybe(p.u, decimals)),
            text(from),
            text(p.instrument.clone().unwrap_or_else(|| "–".to_owned())),
        ]);
    }
    table
}

/// Pairs with their intervals; each verdict's sentence stands under its row.
pub(super) fn pairs(one: &ComparedCharacteristic, pairs: &[Pair], names: &Names<'_>) -> Table {
    let decimals = decimals(one);
    let mut table = Table::new(
        format!("{}: pairs", heading(one)),
        &[
            "First less second",
            "#Difference",
            "#Chance",
            "#Instruments (k = 2)",
            "#Chance and instruments",
            "#Agreement (90 %, this pair)",
            "#Ratio of spreads",
            "#More checks that would tell",
            "Verdict",
        ],
    );
    for pair in pairs.iter().take(MOST) {
        table.row_with(
            vec![
                name(format!("{} less {}", names.of(&pair.a), names.of(&pair.b))),
                figure(signed(pair.difference, decimals)),
                figure(ends(pair.low, pair.high, decimals)),
                figure(
                    pair.u_instruments
                        .map_or_else(|| "–".to_owned(), |u| format!("± {}", number(u, decimals))),
                ),
                figure(ends(pair.total_low, pair.total_high, decimals)),
                figure(ends(pair.agreement_low, pair.agreement_high, decimals)),
                with_interval(
                    pair.sd_ratio.map(|r| number(r, 2)),
                    ends(pair.sd_ratio_low, pair.sd_ratio_high, 2),
                ),
                figure(
                    pair.more_checks
                        .map_or_else(|| "–".to_owned(), |n| n.to_string()),
                ),
                verdict(&pair.verdict),
            ],
            capital(&pair.says),
        );
    }
    table
}
