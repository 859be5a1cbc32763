//! The precision of one characteristic on the wire, and the marks on its coupons.

use super::entrants::Field;
use super::fill::Task;
use crate::compare::precision::{
    Critical, OutlierTest, Precision, Screening, Table, Test, analyse, screen,
};
use crate::report::wire;
use std::collections::BTreeSet;

/// The precision experiment of the results: screened for coupons, as it is for daily
/// readings, whose carry-over the outlier tests do not know.
pub(super) fn screening(task: &Task<'_>) -> Result<Screening, String> {
    let results: Vec<Vec<f64>> = task.sides.iter().map(|s| s.results.clone()).collect();
    let table = Table::new(results).map_err(|e| e.to_string())?;
    if task.round.is_some() {
        return Ok(screen(&table));
    }
    Ok(Screening {
        all: analyse(&table),
        marks: Vec::new(),
        left_out: Vec::new(),
        without_outliers: None,
        stopped: None,
    })
}

/// `left_out` are the places of `ids` that the analysis is without.
pub(super) fn precision_on_wire(
    precision: &Precision,
    ids: &[&str],
    left_out: &[usize],
    independent: bool,
) -> Option<wire::Precision> {
    debug_assert_eq!(precision.participants + left_out.len(), ids.len());
    let variances = precision.variances.as_ref().ok()?;
    let test = |test: &OutlierTest| wire::OutlierTest {
        test: test.test.name().to_owned(),
        participants: (test.participants.iter())
            .filter_map(|&i| ids.get(i).map(|id| (*id).to_owned()))
            .collect(),
        statistic: test.statistic,
        critical: critical(&test.critical),
        verdict: test.verdict.name().to_owned(),
    };
    Some(wire::Precision {
        participants: precision.participants as u64,
        results: precision.results as u64,
        mean: precision.mean,
        s_r: variances.s_r,
        s_l: variances.s_l,
        s_l_negative: variances.s_l_negative,
        s_reproducibility: variances.s_reproducibility,
        r_limit: variances.r_limit,
        reproducibility_limit: variances.reproducibility_limit,
        h_critical: precision.h_critical.as_ref().map(critical),
        k_critical: (precision.k_critical.as_ref().map(critical)).filter(|_| independent),
        cochran: (precision.cochran.as_ref().ok())
            .filter(|_| independent)
            .map(|c| test(&c.test)),
        grubbs: precision.grubbs.iter().map(test).collect(),
    })
}

fn critical(values: &Critical) -> wire::Critical {
    wire::Critical {
        at_5_percent: values.at_5_percent,
        at_1_percent: values.at_1_percent,
    }
}

/// Writes on the coupons what their participant was marked for: Cochran's test on the one
/// farthest from the others, Grubbs' on all.
pub(super) fn mark_coupons(participants: &mut [wire::Participant], screening: &Screening) {
    for mark in &screening.marks {
        let cochran = mark.test.test == Test::Cochran;
        let words = format!(
            "{} {}",
            if cochran { "cochran" } else { "grubbs" },
            mark.test.verdict.name()
        );
        for &place in &mark.test.participants {
            let Some(participant) = participants.get_mut(place) else {
                continue;
            };
            let farthest = farthest(&participant.coupons);
            for (index, coupon) in participant.coupons.iter_mut().enumerate() {
                if (!cochran || Some(index) == farthest) && coupon.marked.is_none() {
                    coupon.marked = Some(words.clone());
                }
            }
        }
    }
}

/// The coupon farthest from the median of its cabinet's.
fn farthest(coupons: &[wire::Coupon]) -> Option<usize> {
    let mut losses: Vec<f64> = coupons.iter().map(|c| c.mass_loss).collect();
    let median = crate::stats::quantile::median(&mut losses)?;
    let off = |c: &wire::Coupon| (c.mass_loss - median).abs();
    (0..coupons.len()).max_by(|&a, &b| off(&coupons[a]).total_cmp(&off(&coupons[b])))
}

pub(super) fn precision_says(
    task: &Task<'_>,
    screening: &Result<Screening, String>,
    field: &Field<'_>,
) -> String {
    let screening = match screening {
        Ok(screening) => screening,
        Err(why) => return why.clone(),
    };
    if let Err(why) = &screening.all.variances {
        return why.to_string();
    }
    if task.round.is_none() {
        return "Each cabinet counts as a participant. For daily checks s_r is the spread from \
                check to check within a cabinet, not repeatability. Cochran's test and the \
                limits of k ask for independent results and are not given for readings that \
                carry over."
            .to_owned();
    }
    let labs: BTreeSet<usize> = (task.sides.iter())
        .map(|s| field.cabinets[s.cabinet].lab)
        .collect();
    let mut says = "ISO 5725-2 with each cabinet as a participant.".to_owned();
    if labs.len() < 2 {
        says.push_str(
            " One lab took part: s_R holds the differences between its cabinets, not between labs.",
        );
    }
    let named = |marks: &[usize]| -> String {
        let names: Vec<&str> = (marks.iter())
            .filter_map(|&i| task.sides.get(i))
            .map(|s| field.cabinets[s.cabinet].name.as_str())
            .collect();
        names.join(", ")
    };
    for mark in &screening.marks {
        says.push_str(&format!(
            " {}: {} by {}{}.",
            named(&mark.test.participants),
            mark.test.verdict.name(),
            mark.test.test.name().replace('-', " "),
            if mark.left_out {
                ", left out of the second analysis"
            } else {
                ", kept"
            }
        ));
    }
    if let Some(stop) = &screening.stopped {
        says.push_str(&format!(" {stop}"));
    }
    if screening.all.numbers_differ_much {
        says.push_str(
            " The numbers of coupons differ much, so that the outlier tests of means mark more \
             often than they say.",
        );
    }
    says
}
