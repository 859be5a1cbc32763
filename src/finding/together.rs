//! Findings about readings that do not go together as usual: one a cabinet. The sentence of
//! each combination comes with it; which instrument is wrong, if any, nobody here knows.

use super::{CabinetContext, Draft, Urgency};
use crate::report::wire::{Evidence, Together};
use crate::signal::wording::{list, number, two_digits, with_unit};

/// Chance below which one check is no matter of chance.
const BEYOND_CHANCE: f64 = 1e-5;
/// Combinations told in the sentence; all are evidence.
const TOLD: usize = 2;
/// Characteristics of a combination that are evidence.
const PARTS: usize = 3;
/// Place among unusual findings: after signals of single series with more behind them.
const ORDER: f64 = 1.5;

/// The finding about the unexplained combinations of a cabinet; `None` when there is none.
pub(super) fn of_cabinet(cabinet: &CabinetContext<'_>) -> Option<Draft> {
    let unexplained: Vec<&Together> = cabinet
        .together
        .iter()
        .filter(|t| t.explained_by.is_none())
        .collect();
    let first = unexplained.first()?;
    let says: Vec<&str> = unexplained
        .iter()
        .take(TOLD)
        .map(|t| t.says.as_str())
        .collect();
    let mut sentence = format!("{}: {}", cabinet.title(), says.join(" "));
    if unexplained.len() > TOLD {
        sentence.push_str(&format!(
            " So on {} more occasions.",
            unexplained.len() - TOLD
        ));
    }
    let by_chance = |t: &&Together| t.checks == 1 && t.chance > BEYOND_CHANCE;
    if unexplained.iter().all(by_chance)
        && let Some(checks) = cabinet.checks_per_false_alarm
    {
        sentence.push_str(&format!(
            " Chance brings one such check about once in {:.0}: watch whether it comes again.",
            10.0 * (checks / 10.0).round()
        ));
    }
    let names: Vec<&str> = first
        .contributions
        .iter()
        .take(2)
        .map(|c| c.spoken.as_str())
        .collect();
    Some(Draft {
        id: format!("{}/unusual/together", cabinet.id),
        urgency: Urgency::Unusual,
        order: ORDER,
        cabinet: Some(cabinet.id.to_owned()),
        cabinet_name: Some(cabinet.name.to_owned()),
        characteristic: None,
        sentence,
        evidence: unexplained
            .iter()
            .flat_map(|t| evidence(cabinet, t))
            .collect(),
        look_at: vec![
            format!(
                "Read {} again, and how they were written down",
                list(&names)
            ),
            "The instruments they were read with".to_owned(),
            "What was done at the cabinet that day".to_owned(),
        ],
        changes: Vec::new(),
    })
}

/// How far the combination is out, and each main part on its chart.
fn evidence(cabinet: &CabinetContext<'_>, together: &Together) -> Vec<Evidence> {
    let mut evidence = vec![Evidence {
        says: format!(
            "{}: T² {} against a limit of {} ({} characteristics)",
            together.rule,
            number(together.statistic, 1),
            number(together.limit, 1),
            together.contributions.len()
        ),
        signal: Some(together.id.clone()),
        chart: None,
    }];
    let parts = together.contributions.iter().take(PARTS);
    evidence.extend(parts.map(|part| Evidence {
        says: format!(
            "{}: {} {} than expected; without it {:.0} % of T² goes",
            part.spoken,
            with_unit(&two_digits((part.value - part.expected).abs()), &part.unit),
            if part.direction == "up" {
                "more"
            } else {
                "less"
            },
            100.0 * part.share
        ),
        signal: None,
        chart: Some(format!("{}/{}", cabinet.id, part.characteristic)),
    }));
    evidence
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finding::sample::cabinet;
    use crate::report::wire::Contribution;

    fn part(characteristic: &str, spoken: &str, share: f64, value: f64) -> Contribution {
        Contribution {
            characteristic: characteristic.to_owned(),
            spoken: spoken.to_owned(),
            share,
            direction: if value > 1.0 { "up" } else { "down" }.to_owned(),
            value,
            expected: 1.0,
            unit: String::new(),
        }
    }

    fn together(day: u32, checks: u64, chance: f64) -> Together {
        let at = format!("2026-03-{day:02}T07:30:00");
        Together {
            id: format!("Plover/unusual-together@{at}"),
            rule: "unusual-together".to_owned(),
            known_at: at.clone(),
            starts_at: at.clone(),
            last_at: at,
            ongoing: false,
            checks,
            statistic: 24.31,
            limit: 15.52,
            chance,
            contributions: vec![
                part("ph", "pH", 0.81, 1.25),
                part("collection-rate", "collection rate", 0.77, 0.8),
                part("air-pressure", "air pressure", 0.02, 1.1),
            ],
            says: format!("On {day} March the readings did not go together as usual."),
            explained_by: None,
        }
    }

    fn told(together: &[Together]) -> Option<Draft> {
        cabinet(&[], &[], &[], &[], |context, _| {
            of_cabinet(&CabinetContext {
                together,
                ..context.clone()
            })
        })
    }

    #[test]
    fn one_check_is_told_with_its_parts_and_what_chance_brings() {
        let found = told(&[together(9, 1, 1e-3)]).unwrap();
        assert_eq!(
            found.sentence,
            "Cabinet Plover: On 9 March the readings did not go together as usual. Chance brings one such \
             check about once in 190: watch whether it comes again."
        );
        assert_eq!(found.urgency, Urgency::Unusual);
        let says: Vec<&str> = found.evidence.iter().map(|e| e.says.as_str()).collect();
        assert_eq!(
            says[..3],
            [
                "unusual-together: T² 24.3 against a limit of 15.5 (3 characteristics)",
                "pH: 0.25 more than expected; without it 81 % of T² goes",
                "collection rate: 0.20 less than expected; without it 77 % of T² goes",
            ]
        );
        assert_eq!(found.evidence[1].chart.as_deref(), Some("Plover/ph"));
        assert!(found.look_at[0].starts_with("Read pH and collection rate again"));
    }

    #[test]
    fn what_lasts_or_is_far_out_is_not_put_down_to_chance() {
        for lasting in [together(9, 3, 1e-3), together(9, 1, 1e-9)] {
            let sentence = told(&[lasting]).unwrap().sentence;
            assert!(!sentence.contains("Chance"), "{sentence}");
        }
        let many: Vec<Together> = (1..5).map(|day| together(day, 1, 1e-3)).collect();
        let sentence = told(&many).unwrap().sentence;
        assert!(sentence.contains("So on 2 more occasions."), "{sentence}");
    }

    #[test]
    fn what_is_explained_is_no_finding() {
        let mut explained = together(9, 1, 1e-3);
        explained.explained_by = Some("new nozzle".to_owned());
        assert_eq!(told(&[explained]), None);
        assert_eq!(told(&[]), None);
    }
}
