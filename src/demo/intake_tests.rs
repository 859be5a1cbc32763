//! The demo lab through the intake: every check is read, and every piece of dirt meets
//! the treatment its kind asks for, at the place the truth file tells.

use super::page::{Dirt, DirtKind};
use super::{DemoLab, pages};
use crate::intake::{Intake, read_logs};
use crate::issue::{Effect, Issue};
use crate::lab::Lab;
use crate::lab::baseline_file::digest;
use crate::progress::Silent;
use crate::quantity::derive::derive;
use crate::time::Instant;

/// 2026-07-01T08:00:00Z.
const NOW: Instant = Instant(1_782_892_800);

fn lab_and_intake() -> (Lab, Intake) {
    let parent = tempfile::tempdir().unwrap();
    let root = parent.path().join("lab");
    DemoLab::Home.write(&root).unwrap();
    let lab = Lab::open(&root).unwrap();
    let intake = read_logs(&lab, NOW, &Silent);
    (lab, intake)
}

fn intake() -> Intake {
    lab_and_intake().1
}

fn dirt() -> Vec<Dirt> {
    pages()
        .unwrap()
        .into_iter()
        .flat_map(|page| page.dirt)
        .collect()
}

/// Issues at the place of the dirt, in whatever words.
fn issues_at<'a>(intake: &'a Intake, dirt: &Dirt) -> Vec<&'a Issue> {
    intake
        .issues
        .iter()
        .filter(|issue| {
            issue.place.path == dirt.path
                && issue.place.sheet == dirt.sheet
                && issue.place.line == Some(dirt.line)
        })
        .collect()
}

#[test]
fn every_check_of_every_cabinet_is_read_once() {
    let intake = intake();
    let cabinets: Vec<&str> = intake.checks.cabinets().iter().map(|id| &**id).collect();
    assert_eq!(cabinets, ["avocet", "curlew", "dunlin", "knot", "plover"]);
    let days = super::calendar::working_days().len();
    for cabinet in 0..cabinets.len() {
        assert_eq!(intake.checks.of(cabinet).unwrap().len(), days);
    }
}

#[test]
fn no_column_is_left_out() {
    for file in &intake().files {
        for sheet in &file.sheets {
            assert_eq!(sheet.cells.left_out, 0, "{} {:?}", file.path, sheet.name);
            assert_eq!(sheet.tables.len(), 1, "{} {:?}", file.path, sheet.name);
        }
    }
}

#[test]
fn dirt_meets_what_its_kind_asks_for() {
    let intake = intake();
    for dirt in dirt() {
        let found = issues_at(&intake, &dirt);
        let effects: Vec<Effect> = found.iter().map(|issue| issue.effect).collect();
        match dirt.kind {
            DirtKind::BelowRange | DirtKind::Typo | DirtKind::Contradiction => {
                assert_eq!(effects, [Effect::CellRejected], "{dirt:?}");
            }
            DirtKind::Marked => assert_eq!(effects, [Effect::Kept], "{dirt:?}"),
            DirtKind::NotAvailable | DirtKind::UnitBeside | DirtKind::BlankRow => {
                assert_eq!(effects, [], "{dirt:?}");
            }
            DirtKind::MissingArea | DirtKind::Outlier => panic!("no log has that: {dirt:?}"),
            // Told once a sheet, not row by row.
            DirtKind::RepeatedHeading | DirtKind::TotalsRow => {
                assert!(effects.iter().all(|e| *e == Effect::Kept), "{dirt:?}");
            }
        }
    }
}

#[test]
fn nothing_is_rejected_but_the_dirt() {
    let intake = intake();
    let planted = dirt()
        .iter()
        .filter(|dirt| {
            matches!(
                dirt.kind,
                DirtKind::BelowRange | DirtKind::Typo | DirtKind::Contradiction
            )
        })
        .count();
    let rejected: Vec<&Issue> = intake
        .issues
        .iter()
        .filter(|issue| issue.effect != Effect::Kept)
        .collect();
    assert_eq!(rejected.len(), planted, "{rejected:#?}");
}

/// The frozen limits were computed from these very readings: each carries their digest.
#[test]
fn the_frozen_baseline_is_of_the_logs_as_they_are() {
    let (lab, intake) = lab_and_intake();
    let frozen = &lab.baselines["knot"];
    let knot = intake
        .checks
        .cabinets()
        .iter()
        .position(|id| &**id == "knot");
    let derived = derive(&intake.checks, knot.unwrap(), &lab);
    assert_eq!(frozen.len(), derived.series.len());
    for series in &derived.series {
        let limits = &frozen[series.characteristic()];
        let used: Vec<usize> = (0..series.len())
            .filter(|i| (limits.limits.from..=limits.limits.to).contains(&series.at()[*i]))
            .collect();
        let at: Vec<Instant> = used.iter().map(|i| series.at()[*i]).collect();
        let value: Vec<f64> = used.iter().map(|i| series.values()[*i]).collect();
        assert_eq!(
            limits.digest,
            digest(&at, &value),
            "{}",
            series.characteristic()
        );
    }
}
