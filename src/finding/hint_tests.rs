//! Every pattern of the hint table, and which series it joins into one finding.

use super::hints::HINTS;
use super::matching::Scene;
use super::observe::Observation;
use super::sample::{Part, cabinet, event, findings, sawing, slow, stepped, still};
use super::testing::{drift, on_day};
use crate::characteristic::Characteristic as C;
use crate::drift::Drift;
use crate::lab::Event;

/// The hints that hold for a cabinet, with its events.
fn hints(parts: &[Part], events: &[Event]) -> Vec<&'static str> {
    cabinet(parts, events, &[], &[], |context, reviews| {
        let scene = Scene {
            observed: reviews
                .iter()
                .map(|r| (r.chart.series.characteristic(), Observation::of(r)))
                .collect(),
            events: &context.events,
        };
        scene.hints().iter().map(|m| m.hint.id).collect()
    })
}

#[test]
fn every_hint_of_the_table_is_given_for_its_pattern() {
    let (near, far) = (C::CollectionNear, C::CollectionFar);
    let lot = event("salt-lot", "lot 7", 7.0);
    let buffers = event("calibration", "new buffers", 7.0);
    let cases: Vec<(&str, Vec<Part>, Vec<Event>)> = vec![
        (
            "tower-dry",
            vec![
                slow(C::CollectionRate, -0.01),
                slow(C::SaltConcentration, 0.02),
            ],
            vec![],
        ),
        (
            "tower-hot",
            vec![
                slow(C::CollectionRate, 0.01),
                slow(C::SpecificGravity, -0.0001),
            ],
            vec![],
        ),
        (
            "air-falls",
            vec![
                slow(near.clone(), -0.01),
                slow(far.clone(), -0.01),
                slow(C::AirPressure, -0.3),
            ],
            vec![],
        ),
        (
            "air-rises",
            vec![slow(C::CollectionRate, 0.01), stepped(C::AirPressure, 5.0)],
            vec![],
        ),
        (
            "nozzle",
            vec![
                slow(near.clone(), -0.01),
                slow(far.clone(), -0.01),
                still(C::AirPressure),
            ],
            vec![],
        ),
        (
            "nozzle-or-air",
            vec![slow(near.clone(), -0.01), slow(far.clone(), -0.01)],
            vec![],
        ),
        (
            "both-rise",
            vec![slow(near.clone(), 0.01), slow(far.clone(), 0.01)],
            vec![],
        ),
        (
            "near-falls-alone",
            vec![slow(near.clone(), -0.01), slow(far.clone(), 0.01)],
            vec![],
        ),
        (
            "near-rises-alone",
            vec![slow(near.clone(), 0.01), still(far.clone())],
            vec![],
        ),
        (
            "far-alone",
            vec![still(near.clone()), slow(far.clone(), 0.01)],
            vec![],
        ),
        ("spread-moves", vec![slow(C::CollectionSpread, 0.3)], vec![]),
        (
            "reservoir-saw-tooth",
            vec![sawing(C::CollectionRate)],
            vec![],
        ),
        ("catch-falls", vec![slow(C::CollectionRate, -0.01)], vec![]),
        ("catch-rises", vec![slow(C::CollectionRate, 0.01)], vec![]),
        (
            "meters",
            vec![stepped(C::Ph, 0.2), stepped(C::SpecificGravity, 0.002)],
            vec![],
        ),
        (
            "batch-step",
            vec![stepped(C::SpecificGravity, 0.002)],
            vec![],
        ),
        (
            "reservoir-evaporates",
            vec![slow(C::SaltConcentration, 0.02)],
            vec![],
        ),
        (
            "solution-weakens",
            vec![slow(C::SaltConcentration, -0.02)],
            vec![],
        ),
        ("ph-saw-tooth", vec![sawing(C::Ph)], vec![]),
        ("ph-with-lot", vec![stepped(C::Ph, 0.2)], vec![lot]),
        ("ph-with-meter", vec![stepped(C::Ph, 0.2)], vec![buffers]),
        ("ph-step", vec![stepped(C::Ph, 0.2)], vec![]),
        ("ph-moves", vec![slow(C::Ph, 0.02)], vec![]),
        (
            "cabinet-sags",
            vec![slow(C::CabinetTemperature, -0.1)],
            vec![],
        ),
        (
            "cabinet-moves",
            vec![stepped(C::CabinetTemperature, 0.8)],
            vec![],
        ),
        ("tower-saw-tooth", vec![sawing(C::TowerTemperature)], vec![]),
        (
            "tower-moves",
            vec![stepped(C::TowerTemperature, 2.0)],
            vec![],
        ),
        ("air-moves", vec![stepped(C::AirPressure, 5.0)], vec![]),
        (
            "coupon-alone",
            vec![stepped(C::CouponMassLoss, -9.0), still(C::Ph)],
            vec![],
        ),
    ];
    for (id, parts, events) in &cases {
        assert_eq!(hints(parts, events).first(), Some(id));
    }
    // The table holds nothing that no case shows.
    let shown: Vec<&str> = cases.iter().map(|(id, ..)| *id).collect();
    for hint in HINTS {
        assert!(shown.contains(&hint.id), "no case for {}", hint.id);
    }
}

#[test]
fn a_pattern_over_two_measures_joins_them_and_distance_in_time_parts_them() {
    let together = [
        slow(C::CollectionRate, -0.01),
        slow(C::SaltConcentration, 0.02),
    ];
    let found = findings(&together);
    assert_eq!(found.len(), 1);
    assert!(
        found[0]
            .sentence
            .contains("look at the tower's temperature and water level first"),
        "{}",
        found[0].sentence
    );
    assert!(
        found[0]
            .look_at
            .iter()
            .any(|l| l.contains("hot and under pressure"))
    );

    let mut apart = together;
    apart[0].drift = Some(Drift {
        since: on_day(-12.0),
        ..drift(-0.01, 0, None)
    });
    assert_eq!(findings(&apart).len(), 2);
}

#[test]
fn unrelated_changes_are_separate_findings() {
    let found = findings(&[
        slow(C::CollectionRate, -0.01),
        stepped(C::CabinetTemperature, 1.0),
    ]);
    assert_eq!(found.len(), 2);
}
