//! The partner's logs through the intake: every check is read, the dirt meets what its
//! kind asks for, and what was planted is what the two labs' logs say.

use super::super::DemoLab;
use super::super::page::DirtKind;
use super::coupons;
use super::scenario::{FIRST_DAY, LAST_DAY, PH_METER_HIGH, RATE_DIFFERENCE, days};
use crate::characteristic::Characteristic;
use crate::demo::calendar::within;
use crate::demo::plants as planted;
use crate::intake::{Intake, read_logs};
use crate::issue::Effect;
use crate::lab::Lab;
use crate::progress::Silent;
use crate::quantity::derive::derive;
use crate::time::Instant;

/// 2026-07-01T08:00:00Z.
const NOW: Instant = Instant(1_782_892_800);

fn read(which: DemoLab) -> (Lab, Intake) {
    let parent = tempfile::tempdir().unwrap();
    let root = parent.path().join("lab");
    which.write(&root).unwrap();
    let lab = Lab::open(&root).unwrap();
    let intake = read_logs(&lab, NOW, &Silent);
    (lab, intake)
}

#[test]
fn every_check_of_every_cabinet_is_read_once() {
    let (lab, intake) = read(DemoLab::Partner);
    assert_eq!(lab.name, "Acabados Orilla Gris");
    // Of the papers only the coupon without an area may be told.
    assert!(lab.issues.iter().all(|i| i.place.path == coupons::PATH));
    let cabinets: Vec<&str> = intake.checks.cabinets().iter().map(|id| &**id).collect();
    assert_eq!(cabinets, ["knot", "sanderling", "turnstone"]);
    for cabinet in 0..cabinets.len() {
        assert_eq!(intake.checks.of(cabinet).unwrap().len(), days().len());
    }
    for file in &intake.files {
        for sheet in &file.sheets {
            assert_eq!(sheet.cells.left_out, 0, "{} {:?}", file.path, sheet.name);
        }
    }
}

#[test]
fn only_the_slip_of_the_pen_is_rejected() {
    let intake = read(DemoLab::Partner).1;
    let rejected: Vec<_> = intake
        .issues
        .iter()
        .filter(|issue| issue.effect != Effect::Kept)
        .collect();
    assert_eq!(rejected.len(), 1, "{rejected:#?}");
    let dirt = super::dirt().unwrap();
    let slip = dirt.iter().find(|d| d.kind == DirtKind::Typo).unwrap();
    assert_eq!(rejected[0].effect, Effect::CellRejected);
    assert_eq!(rejected[0].place.path, slip.path);
    assert_eq!(rejected[0].place.line, Some(slip.line));
    assert_eq!(rejected[0].found.as_deref(), Some(&*slip.found));
    assert!(dirt.iter().any(|d| d.path == coupons::PATH));
}

/// Mean over the lab's cabinets of each one's mean reading over the shared period.
fn level((lab, intake): &(Lab, Intake), characteristic: &Characteristic) -> f64 {
    let means: Vec<f64> = (0..intake.checks.cabinets().len())
        .map(|cabinet| {
            let derived = derive(&intake.checks, cabinet, lab);
            let mut all = derived.series.iter();
            let series = all.find(|s| s.characteristic() == characteristic).unwrap();
            let inside: Vec<f64> = series
                .at()
                .iter()
                .zip(series.values())
                .filter(|(at, _)| {
                    let on = lab.zone.date(**at);
                    within(on, (FIRST_DAY, LAST_DAY)) && !within(on, planted::OUTAGE)
                })
                .map(|(_, value)| *value)
                .collect();
            inside.iter().sum::<f64>() / inside.len() as f64
        })
        .collect();
    means.iter().sum::<f64>() / means.len() as f64
}

/// Through rounding, units, funnels and dialects of both labs.
#[test]
fn the_logs_say_what_was_planted_and_nothing_else() {
    let (home, partner) = (read(DemoLab::Home), read(DemoLab::Partner));
    for (characteristic, planted, near) in [
        (Characteristic::CollectionRate, RATE_DIFFERENCE, 0.01),
        (Characteristic::Ph, PH_METER_HIGH, 0.01),
        (Characteristic::CabinetTemperature, 0.0, 0.05),
        (Characteristic::TowerTemperature, 0.0, 0.05),
        (Characteristic::AirPressure, 0.0, 0.4),
        (Characteristic::CollectionSpread, 0.0, 0.5),
        (Characteristic::SaltConcentration, 0.0, 0.03),
    ] {
        let told = level(&partner, &characteristic) - level(&home, &characteristic);
        assert!(
            (told - planted).abs() < near,
            "{}: {told}",
            characteristic.id()
        );
    }
}
