//! Findings of the lab: what several cabinets share, and what of the input was not used.

use super::*;
use crate::finding::rank;
use crate::finding::testing::on_day;
use crate::issue::{Issue, Place};
use crate::time::Zone;
use chrono::NaiveDate;

fn lab(cabinets: usize, issues: &[Issue]) -> LabContext<'_> {
    LabContext {
        zone: Zone::AS_WRITTEN,
        period: (
            NaiveDate::from_ymd_opt(2026, 3, 1).unwrap(),
            NaiveDate::from_ymd_opt(2026, 3, 31).unwrap(),
        ),
        cabinets,
        issues,
    }
}

fn changed(cabinet: &str, characteristic: Characteristic, up: bool, day: f64) -> Draft {
    Draft {
        id: format!("{cabinet}/changed/{}", characteristic.id()),
        urgency: Urgency::Changed,
        order: 0.0,
        cabinet: Some(cabinet.to_owned()),
        cabinet_name: Some(cabinet.to_owned()),
        characteristic: Some(characteristic.clone()),
        sentence: String::new(),
        evidence: Vec::new(),
        look_at: Vec::new(),
        changes: vec![Change {
            characteristic,
            up,
            since: on_day(day),
        }],
    }
}

#[test]
fn cabinets_that_change_together_suggest_a_shared_cause() {
    let drafts = [
        changed("Plover", Characteristic::Ph, true, 7.0),
        changed("Dunlin", Characteristic::Ph, true, 9.5),
        changed("Knot", Characteristic::Ph, true, 20.0),
        changed("Turnstone", Characteristic::Ph, false, 8.0),
        changed("Turnstone", Characteristic::AirPressure, true, 8.0),
    ];
    let found = of_lab(&lab(5, &[]), &drafts);
    assert_eq!(found.len(), 1);
    assert_eq!(
        found[0].sentence,
        "The pH went up in 2 cabinets at about the same time (9 to 11 March): Dunlin and Plover. A cause they \
         share is likely: look at the pH meter and its buffers, the salt lot and the water first."
    );
    assert_eq!(found[0].id, "lab/shared-change/ph-up/2026-03-09");
    assert_eq!(found[0].cabinet, None);
    assert_eq!(found[0].evidence[1].chart.as_deref(), Some("Dunlin/ph"));
    // A lab-level finding stands before those of the cabinets it is about.
    let mut all = drafts.to_vec();
    all.extend(found);
    assert_eq!(rank(all)[0].cabinet, None);
}

#[test]
fn one_cabinet_twice_or_few_of_many_are_no_shared_cause() {
    let twice = [
        changed("Plover", Characteristic::CollectionNear, false, 7.0),
        changed("Plover", Characteristic::CollectionFar, false, 7.0),
    ];
    assert!(of_lab(&lab(5, &[]), &twice).is_empty());
    let two = [
        changed("Plover", Characteristic::Ph, true, 7.0),
        changed("Dunlin", Characteristic::Ph, true, 7.0),
    ];
    assert!(of_lab(&lab(1000, &[]), &two).is_empty());
    assert_eq!(of_lab(&lab(20, &[]), &two).len(), 1);
}

#[test]
fn what_was_not_used_is_counted_by_kind_and_file() {
    let issue = |path: &str, effect, count| Issue {
        place: Place {
            path: path.to_owned(),
            ..Place::default()
        },
        found: None,
        problem: String::new(),
        hint: None,
        effect,
        count,
    };
    let issues = [
        issue("logs/a.csv", Effect::CellRejected, 3),
        issue("logs/a.csv", Effect::Kept, 9),
        issue("logs/b.csv", Effect::ColumnLeftOut, 1),
    ];
    let found = of_lab(&lab(2, &issues), &[]);
    assert_eq!(
        found[0].sentence,
        "Of the input, 1 column and 3 cells were not used; the list of issues says where and what to do."
    );
    let says: Vec<&str> = found[0].evidence.iter().map(|e| e.says.as_str()).collect();
    assert_eq!(says, ["logs/a.csv: 3", "logs/b.csv: 1"]);
    assert!(of_lab(&lab(2, &issues[1..2]), &[]).is_empty());
}
