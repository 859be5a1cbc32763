//! Findings about coupons: a mismatch with what goes with it, and marked results.

use super::{Draft, MOST_OF_A_KIND, heading, round_mark};
use crate::characteristic::Characteristic;
use crate::report::compare::mark;
use crate::report::wire;

/// Coupon differences that chance does not explain, with what goes with them.
pub(super) fn mismatches(
    comparison: &wire::Comparison,
    name: &impl Fn(&str) -> String,
) -> Vec<Draft> {
    comparison
        .explanations
        .iter()
        .filter(|e| e.clear)
        .take(MOST_OF_A_KIND)
        .map(|explanation| {
            let rows: Vec<&wire::Mismatch> = comparison
                .mismatch
                .iter()
                .filter(|row| row.a == explanation.a && row.b == explanation.b)
                .collect();
            let mut evidence: Vec<String> =
                rows.iter().skip(1).map(|row| row.says.clone()).collect();
            evidence.extend(explanation.evidence.iter().map(|e| e.says.clone()));
            Draft {
                urgency: "mismatch",
                id: format!("mismatch-{}-{}", explanation.a, explanation.b),
                cabinet: None,
                characteristic: Some(Characteristic::CouponMassLoss.id().to_owned()),
                sentence: mismatch_sentence(explanation, &rows, name),
                evidence,
                chart: None,
                look_at: explanation.check_next.clone(),
            }
        })
        .collect()
}

fn mismatch_sentence(
    explanation: &wire::Explanation,
    rows: &[&wire::Mismatch],
    name: &impl Fn(&str) -> String,
) -> String {
    let (less, more) = match explanation.difference < 0.0 {
        true => (&explanation.a, &explanation.b),
        false => (&explanation.b, &explanation.a),
    };
    let tenth = |x: f64| crate::report::format::number(x, 1);
    let mut sentence = format!(
        "Coupons lost {} g/m² less at {} than at {}",
        tenth(explanation.difference.abs()),
        name(less),
        name(more)
    );
    if let (Some(low), Some(high)) = (explanation.low, explanation.high) {
        let (low, high) = (low.abs().min(high.abs()), low.abs().max(high.abs()));
        sentence.push_str(&format!(
            " (95 % interval {} to {})",
            tenth(low),
            tenth(high)
        ));
    }
    sentence.push_str(". ");
    match rows.first() {
        Some(first) if explanation.unexplained.is_some() => {
            sentence.push_str(&first.says);
            if let (Some(rest), Some(low), Some(high)) = (
                explanation.unexplained,
                explanation.unexplained_low,
                explanation.unexplained_high,
            ) {
                sentence.push_str(&format!(
                    " Unexplained: {} g/m² ({} to {}). Association, not proof of cause.",
                    tenth(rest),
                    tenth(low),
                    tenth(high)
                ));
            }
        }
        _ => sentence.push_str(&explanation.method_says),
    }
    sentence
}

/// Coupons and cabinets that the outlier tests marked.
pub(super) fn coupons(comparison: &wire::Comparison) -> Vec<Draft> {
    let mut drafts = Vec::new();
    for compared in &comparison.characteristics {
        let marked: Vec<String> = compared
            .participants
            .iter()
            .flat_map(|p| {
                p.coupons.iter().filter_map(|c| {
                    let mark = c.marked.as_ref()?;
                    let mark = mark
                        .replace("cochran", "Cochran")
                        .replace("grubbs", "Grubbs");
                    Some(format!(
                        "coupon {} of {} ({:.1} g/m², {mark})",
                        c.coupon, p.name, c.mass_loss
                    ))
                })
            })
            .collect();
        if marked.is_empty() {
            continue;
        }
        const MOST: usize = 4;
        let told = marked[..marked.len().min(MOST)].join(", ");
        let more = match marked.len().saturating_sub(MOST) {
            0 => String::new(),
            n => format!(" and {n} more"),
        };
        drafts.push(Draft {
            urgency: "unusual",
            id: format!("coupons{}", round_mark(compared)),
            cabinet: None,
            characteristic: Some(compared.characteristic.clone()),
            sentence: format!(
                "{}: {told}{more} marked by the outlier tests; every table is shown with and \
                 without the outliers.",
                heading(compared)
            ),
            evidence: vec![compared.precision_says.clone()],
            chart: Some(mark(compared)),
            look_at: vec![
                "Look at the coupon, its cleaning, its place in the cabinet and the weighing sheet \
                 before anything is left out. Cleaning uses inhibited hydrochloric acid: follow \
                 its safety data sheet."
                    .to_owned(),
            ],
        });
    }
    drafts.truncate(MOST_OF_A_KIND);
    drafts
}
