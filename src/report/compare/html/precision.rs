//! Tables of precision, with and without what was marked, and of the outlier tests.

use super::table::{Table, figure, name, text};
use crate::report::compare::naming::{Names, decimals, heading, method};
use crate::report::format::{clean, number, significant};
use crate::report::wire::{ComparedCharacteristic, Precision};

/// Precision over all results, and without what was marked.
pub(super) fn table(one: &ComparedCharacteristic) -> Table {
    let mut table = Table::new(
        format!("{}: precision", heading(one)),
        &[
            "Over",
            "#Participants",
            "#Results",
            "#Mean",
            "#s_r",
            "#s_L",
            "#s_R",
            "#Limit r",
            "#Limit R",
        ],
    );
    let decimals = decimals(one);
    let without = "without what was marked";
    for (what, precision) in [
        ("all results", &one.precision),
        (without, &one.precision_without_outliers),
    ] {
        if let Some(p) = precision {
            row(&mut table, what, p, decimals);
        }
    }
    table
}

fn row(table: &mut Table, what: &str, p: &Precision, decimals: u32) {
    let s_l = if p.s_l_negative {
        format!("{} (estimate negative)", number(p.s_l, 0))
    } else {
        significant(p.s_l, 3)
    };
    table.row(vec![
        name(what),
        figure(p.participants.to_string()),
        figure(p.results.to_string()),
        figure(number(p.mean, decimals)),
        figure(significant(p.s_r, 3)),
        figure(s_l),
        figure(significant(p.s_reproducibility, 3)),
        figure(significant(p.r_limit, 3)),
        figure(significant(p.reproducibility_limit, 3)),
    ]);
}

/// Cochran's and Grubbs' tests of both.
pub(super) fn outliers(one: &ComparedCharacteristic, names: &Names<'_>) -> Table {
    let mut table = Table::new(
        format!("{}: outlier tests", heading(one)),
        &[
            "Test",
            "Concerns",
            "#Statistic",
            "#Critical 5 %",
            "#Critical 1 %",
            "Verdict",
            "Over",
        ],
    );
    for (over, precision) in [
        ("all results", &one.precision),
        ("without what was marked", &one.precision_without_outliers),
    ] {
        let tests = precision
            .iter()
            .flat_map(|p| p.cochran.iter().chain(&p.grubbs));
        for test in tests {
            let who: Vec<String> = test
                .participants
                .iter()
                .map(|id| clean(names.of(id)))
                .collect();
            table.row(vec![
                name(method(&test.test)),
                text(who.join(", ")),
                figure(significant(test.statistic, 4)),
                figure(significant(test.critical.at_5_percent, 4)),
                figure(significant(test.critical.at_1_percent, 4)),
                text(test.verdict.clone()),
                text(over),
            ]);
        }
    }
    table
}
