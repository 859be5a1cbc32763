//! Cabinets that settings and lists name and no log does: most often a slip of the pen,
//! which would leave an event or a frozen baseline without effect and without a word.

use super::Lab;
use super::error::nearest;
use crate::issue::{Effect, Issue, Place, shown};
use std::collections::BTreeMap;
use std::sync::Arc;

const COUPONS: &str = "coupons.csv";

impl Lab {
    /// One issue for each cabinet that `lab.toml`, events, exposures, coupons or baselines
    /// name and that is not among `logged`, the cabinets of the checks. Coupons of other
    /// labs are left out: their logs are elsewhere.
    ///
    /// Ordered by file, then cabinet.
    pub fn unmatched(&self, logged: &[Arc<str>]) -> Vec<Issue> {
        let mut named: BTreeMap<(&str, &str), u64> = BTreeMap::new();
        let events = self.events.iter().filter_map(|e| e.cabinet.as_deref());
        let all = events
            .map(|c| ("events.csv", c))
            .chain(
                self.exposures
                    .iter()
                    .map(|e| ("exposures.csv", &*e.cabinet)),
            )
            .chain(
                self.coupons
                    .iter()
                    .filter(|c| c.lab.is_none())
                    .map(|c| (COUPONS, &*c.cabinet)),
            )
            .chain(self.baselines.keys().map(|c| ("baselines", &**c)))
            .chain(self.cabinets.iter().map(|c| ("lab.toml", &*c.id)))
            .chain(
                self.instruments
                    .iter()
                    .flat_map(|i| &i.cabinets)
                    .map(|c| ("lab.toml", &**c)),
            );
        for (file, cabinet) in all.filter(|(_, c)| !logged.iter().any(|l| &**l == *c)) {
            *named.entry((file, cabinet)).or_default() += 1;
        }
        named
            .into_iter()
            .map(|((file, cabinet), count)| Issue {
                place: Place {
                    path: file.to_owned(),
                    ..Place::default()
                },
                found: Some(shown(cabinet)),
                problem: format!(
                    "No log has a check of cabinet \"{}\", so {}.",
                    shown(cabinet),
                    if file == COUPONS {
                        "its coupons stand by themselves: nothing measured can go with them"
                    } else {
                        "what is said of it here has no effect"
                    }
                ),
                hint: nearest(cabinet, logged.iter().map(|l| &**l))
                    .map(|n| format!("Did you mean \"{n}\"? Else give the cabinet this name under aliases in lab.toml.")),
                effect: Effect::Kept,
                count,
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lab::{Coupon, Event, EventEffect};
    use crate::time::Instant;

    #[test]
    fn misspelt_cabinets_are_told_once_a_file() {
        let mut lab = Lab::bare("lab");
        for name in ["plovr", "plover", "plovr"] {
            lab.events.push(Event {
                at: Instant(0),
                cabinet: Some(name.into()),
                characteristic: None,
                kind: String::new(),
                what: "nozzle".into(),
                effect: EventEffect::NewStage,
            });
        }
        let told = lab.unmatched(&["plover".into()]);
        assert_eq!(told.len(), 1);
        assert_eq!(
            (told[0].place.path.as_str(), told[0].count),
            ("events.csv", 2)
        );
        assert!(
            told[0]
                .hint
                .as_deref()
                .unwrap()
                .starts_with("Did you mean \"plover\"?")
        );
    }

    #[test]
    fn coupons_of_a_cabinet_without_checks_are_told_other_labs_are_not() {
        let coupon = |lab: Option<&str>, cabinet: &str| Coupon {
            round: "R1".into(),
            lab: lab.map(str::to_owned),
            cabinet: cabinet.into(),
            coupon: "P1".into(),
            place: None,
            start: Instant(0),
            hours: 48.0,
            area_cm2: 105.0,
            mass_loss: 70.0,
            blank: None,
            line: 2,
        };
        let mut lab = Lab::bare("lab");
        lab.coupons = vec![
            coupon(None, "plovr"),
            coupon(None, "plover"),
            coupon(Some("Fen Works"), "heron"),
        ];
        let told = lab.unmatched(&["plover".into()]);
        assert_eq!(told.len(), 1);
        assert_eq!(told[0].place.path, "coupons.csv");
        assert!(
            told[0]
                .problem
                .ends_with("nothing measured can go with them.")
        );
    }
}
