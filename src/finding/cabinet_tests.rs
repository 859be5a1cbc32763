//! Exact findings for literal cabinets: one for each urgency.

use super::sample::{Part, cabinet, event, exposure, findings, signalled, slow, stepped, still};
use super::testing::{drift, on_day, outcome, review, shift, signal};
use super::*;
use crate::characteristic::Characteristic as C;
use crate::drift::Shift;
use crate::signal::fixture::{chart, daily, limits};

#[test]
fn a_steady_cabinet_has_nothing_to_tell() {
    assert!(findings(&[still(C::CollectionRate), still(C::Ph)]).is_empty());
}

#[test]
fn a_breach_says_how_often_how_far_when_and_who_decides() {
    let parts = [Part {
        conformance: Some(outcome(&[17, 18, 19], &[])),
        ..still(C::CollectionRate)
    }];
    let with_jobs = |jobs: &[Exposure]| {
        cabinet(&parts, &[], jobs, &[], |context, reviews| {
            let mut found = of_cabinet(context, reviews, &[]);
            assert_eq!(found.len(), 1);
            found.remove(0)
        })
    };
    let found = with_jobs(&[
        exposure("J-101", 0.0, Some(18.5)),
        exposure("J-104", 19.0, None),
        exposure("J-090", 0.0, Some(16.0)),
    ]);
    assert_eq!(
        found.sentence,
        "Cabinet Plover: collection rate was outside 1 to 2 mL/h per 80 cm² (ISO 9227 NSS) in 3 of 5 \
         readings, from 19 to 21 March; the lowest was 0.93 mL/h per 80 cm² on 21 March. Exposures J-101 \
         and J-104 were running: the lab's non-conforming-work procedure decides."
    );
    assert_eq!(found.id, "Plover/breach/collection-rate");
    assert_eq!(found.urgency, Urgency::Breach);
    assert_eq!(
        found.evidence[0].says,
        "collection rate: 3 of 5 readings outside, 19 to 21 March; limits from ISO 9227 (from memory)"
    );
    assert_eq!(
        found.evidence[0].chart.as_deref(),
        Some("Plover/collection-rate")
    );

    let ended = with_jobs(&[exposure("J-090", 0.0, Some(16.0))]).sentence;
    assert!(
        ended.ends_with("No listed exposure was running then."),
        "{ended}"
    );
    let unknown = with_jobs(&[]).sentence;
    assert!(
        unknown.ends_with(
            "If an exposure was running, the lab's non-conforming-work procedure decides."
        ),
        "{unknown}"
    );
}

#[test]
fn near_far_and_rate_drifting_together_are_one_finding_with_its_forecast() {
    let rate = Part {
        conformance: Some(outcome(&[], &[])),
        drift: Some(drift(-0.012, 7, Some((32.0, 37.0, Some(43.0))))),
        ..still(C::CollectionRate)
    };
    let found = findings(&[
        still(C::AirPressure),
        slow(C::CollectionNear, -0.016),
        slow(C::CollectionFar, -0.008),
        rate,
    ]);
    assert_eq!(found.len(), 1);
    let found = &found[0];
    assert_eq!(
        found.sentence,
        "Cabinet Plover catches 0.012 mL/h less every day since about 9 March; at this pace it leaves the \
         window between 3 and 14 April. Both funnels fall, the near one faster than the far one, while the \
         air pressure is steady: look at the nozzle and its suction line first."
    );
    assert_eq!(found.urgency, "heading-for-breach");
    assert_eq!(found.characteristic, None);
    let charts: Vec<_> = found.evidence.iter().map(|e| e.chart.as_deref()).collect();
    assert_eq!(
        charts,
        [
            Some("Plover/collection-rate"),
            Some("Plover/collection-near"),
            Some("Plover/collection-far")
        ]
    );
    assert_eq!(
        found.evidence[0].says,
        "collection rate: −0.012 mL/h per 80 cm² a day (−0.015 to −0.009, 90 %), since about 9 March; \
         reaches 1 mL/h per 80 cm² on 3 April at the earliest, most likely about 8 April, at the latest 14 April (80 %)"
    );
    assert_eq!(
        found.look_at.first().map(String::as_str),
        Some("Nozzle: wear or salt crust")
    );
    assert!(
        found
            .look_at
            .last()
            .unwrap()
            .starts_with("Caution: purge the fog")
    );
}

#[test]
fn a_drift_without_a_forecast_says_so() {
    let sentence = |part: Part| findings(&[part])[0].sentence.clone();
    assert_eq!(
        sentence(slow(C::CabinetTemperature, -0.05)),
        "Cabinet Plover: cabinet temperature falls by 0.050 °C a day since about 9 March; no window is set for \
         it, so there is no forecast. The cabinet's temperature sags: look at the room's temperature and the \
         heater first."
    );
    let open_ended = Part {
        conformance: Some(outcome(&[], &[])),
        drift: Some(drift(-0.01, 7, Some((32.0, 49.0, None)))),
        ..still(C::Ph)
    };
    assert_eq!(
        sentence(open_ended),
        "Cabinet Plover: pH falls by 0.010 a day since about 9 March; at this pace it leaves the window on 3 April \
         at the earliest, most likely about 20 April, or perhaps not at all. The pH moved: look at the make-up \
         water and the electrode first."
    );
    let no_date = Part {
        conformance: Some(outcome(&[], &[])),
        ..slow(C::Ph, -0.01)
    };
    let text = sentence(no_date);
    assert!(
        text.contains("; no date for leaving the window can be given."),
        "{text}"
    );
}

#[test]
fn a_step_beside_an_event_names_the_event() {
    let parts = [stepped(C::SaltConcentration, 0.41)];
    let events = [event("salt-lot", "salt lot 7 opened", 6.2)];
    let found = cabinet(&parts, &events, &[], &[], |context, reviews| {
        rank(of_cabinet(context, reviews, &[]))
    });
    assert_eq!(
        found[0].sentence,
        "Cabinet Plover: salt concentration stepped up by 0.41 % by mass about 9 March (between 8 and 10 March). \
         The lab noted “salt lot 7 opened” on 8 March. The density stepped: look at how the batch was mixed first."
    );
    assert_eq!(found[0].urgency, "changed");
    assert_eq!(
        found[0].evidence.last().map(|e| e.says.as_str()),
        Some("event of 8 March: salt lot 7 opened")
    );
}

#[test]
fn signals_alone_are_unusual_and_cited_one_by_one() {
    let found = findings(&[signalled(
        C::TowerTemperature,
        &[
            signal("outer-pair", -1, 9, 11, 11),
            signal("one-sided-run", -1, 8, 11, 19),
        ],
    )]);
    assert_eq!(
        found[0].sentence,
        "Cabinet Plover: tower temperature has run unusually low since 10 March. Signal of outer-pair. (1 more \
         signal.) The tower's temperature moved: look at the tower's set point and water level first."
    );
    assert_eq!(found[0].urgency, "unusual");
    let cited: Vec<_> = found[0]
        .evidence
        .iter()
        .filter_map(|e| e.signal.as_deref())
        .collect();
    assert_eq!(
        cited,
        [
            "Plover/tower-temperature/outer-pair-down@11",
            "Plover/tower-temperature/one-sided-run-down@11"
        ]
    );
}

#[test]
fn single_weak_patterns_of_a_cabinet_are_one_finding_that_says_how_often_chance_brings_them() {
    let conductivity = signalled(
        C::Own("conductivity".into()),
        &[signal("range-beyond-limit", 0, 12, 12, 12)],
    );
    let found = findings(std::slice::from_ref(&conductivity));
    assert_eq!(
        found[0].sentence,
        "Cabinet Plover: 1 weak pattern, such as chance brings about once in 190 checks of a series: conductivity \
         unsettled (14 March). Watch whether it comes again."
    );
    let pair = signalled(
        C::Ph,
        &[
            signal("outer-pair", -1, 16, 17, 17),
            signal("off-centre-cluster", -1, 17, 17, 17),
        ],
    );
    let found = findings(&[conductivity.clone(), pair.clone()]);
    assert_eq!(found.len(), 1);
    assert_eq!(
        found[0].sentence,
        "Cabinet Plover: 2 weak patterns, each of which chance brings about once in 190 checks of a series: pH low \
         (18 to 19 March) and conductivity unsettled (14 March). Watch whether it comes again."
    );
    assert_eq!(found[0].evidence.len(), 3);
    assert!(found[0].look_at.is_empty());
    // On the day of a breach it stays apart, unless a hint speaks of both.
    let breached = |characteristic| Part {
        conformance: Some(outcome(&[17], &[])),
        ..still(characteristic)
    };
    let low = [signal("outer-pair", -1, 16, 17, 17)];
    assert_eq!(findings(&[breached(C::CabinetTemperature), pair]).len(), 2);
    let colder = Part {
        signals: vec![signal("off-centre-cluster", -1, 15, 17, 17)],
        ..breached(C::TowerTemperature)
    };
    let found = findings(&[colder, signalled(C::CollectionRate, &low)]);
    assert_eq!(found.len(), 1);
    assert!(
        found[0]
            .sentence
            .contains("With it: collection rate down. A colder tower"),
        "{}",
        found[0].sentence
    );
}

#[test]
fn signals_both_ways_are_no_level() {
    let found = findings(&[signalled(
        C::AirPressure,
        &[
            signal("outer-pair", -1, 10, 11, 11),
            signal("beyond-limit", 1, 17, 17, 17),
        ],
    )]);
    assert_eq!(
        found[0].sentence,
        "Cabinet Plover: air pressure is unsettled. Signal of outer-pair. (1 more signal.)"
    );
}

#[test]
fn a_colder_tower_and_what_follows_from_it_are_one_happening() {
    let loosely_dated = Part {
        shift: Some(Shift {
            earliest: on_day(-100.0),
            at: on_day(-30.0),
            ..shift(-0.04, 7)
        }),
        ..still(C::CollectionFar)
    };
    let found = findings(&[
        stepped(C::SpecificGravity, 0.0014),
        stepped(C::SaltConcentration, 0.19),
        loosely_dated,
        stepped(C::TowerTemperature, -1.6),
        still(C::AirPressure),
    ]);
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(
        found[0].sentence,
        "Cabinet Plover: tower temperature stepped down by 1.6 °C about 9 March (between 8 and 10 March). With it: \
         catch far from the nozzle down by 0.040 mL/h per 80 cm²; specific gravity up by 0.0014; salt \
         concentration up by 0.19 % by mass. A colder tower leaves the air unsaturated and dries the fog, so the \
         catch gets stronger and smaller: look at the tower first."
    );
    assert_eq!(found[0].look_at.len(), 5);
    let cautions = |list: &[String]| list.iter().filter(|l| l.starts_with("Caution")).count();
    assert_eq!(cautions(&found[0].look_at), 1);
}

#[test]
fn an_explained_step_names_its_event_and_comes_after_unexplained_ones() {
    let lot = Part {
        shift: Some(Shift {
            explained_by: Some("new salt lot".to_owned()),
            ..shift(0.2, 17)
        }),
        ..still(C::Ph)
    };
    let found = findings(&[lot, stepped(C::AirPressure, 5.0)]);
    assert_eq!(found.len(), 2);
    assert_eq!(found[0].characteristic.as_deref(), Some("air-pressure"));
    assert!(
        found[1].sentence.contains(
            "The lab's events explain it: “new salt lot”; if the new level is to stay, let it open a new stage in \
             events.csv."
        ),
        "{}",
        found[1].sentence
    );
}

#[test]
fn a_saw_tooth_is_told_with_its_period() {
    let series = daily("Plover", C::Ph, &[6.8; 20]);
    let mut reviews = [review(
        chart(&series, limits(6.8, 0.05)),
        vec![],
        None,
        None,
        None,
    )];
    reviews[0].saw_tooth = Some(crate::signal::SawTooth {
        period_days: 14.0,
        per_day: 0.034,
        jump: -0.4,
        jumps: 8,
        first: 0,
        last: 19,
    });
    let found = cabinet(&[], &[], &[], &[], |context, _| {
        rank(of_cabinet(context, &reviews, &[]))
    });
    assert_eq!(
        found[0].sentence,
        "Cabinet Plover: pH climbs by 0.034 a day and falls back by 0.40 about every 14 days, 8 times since 2 March. \
         The pH climbs and falls back in turn, as between fills: look at what happens at each fill first."
    );
    assert_eq!(found[0].urgency, "unusual");
}

#[test]
fn explained_signals_are_silent_and_explained_breaches_are_not() {
    let mut explained = signal("beyond-limit", 1, 12, 12, 12);
    explained.explained_by = Some("new nozzle".to_owned());
    assert!(findings(&[signalled(C::Ph, &[explained])]).is_empty());
    let found = findings(&[Part {
        conformance: Some(outcome(&[], &[18])),
        ..still(C::CollectionRate)
    }]);
    assert_eq!(
        found[0].sentence,
        "Cabinet Plover: collection rate was outside 1 to 2 mL/h per 80 cm² (ISO 9227 NSS) in 1 of 5 readings, \
         at 0.96 mL/h per 80 cm² on 20 March. The lab's events explain it: “heater replaced”. If an exposure was \
         running, the lab's non-conforming-work procedure decides."
    );
    assert_eq!(found[0].urgency, "changed");
}

#[test]
fn the_records_of_a_cabinet_come_last() {
    let parts = [
        signalled(C::CabinetTemperature, &[signal("repeat", 0, 10, 14, 19)]),
        slow(C::Ph, 0.01),
    ];
    let missing: Vec<NaiveDate> = [4, 5, 19]
        .map(|d| NaiveDate::from_ymd_opt(2026, 3, d).unwrap())
        .to_vec();
    let found = cabinet(&parts, &[], &[], &missing, |context, reviews| {
        rank(of_cabinet(context, reviews, &[]))
    });
    let told: Vec<_> = found
        .iter()
        .map(|f| (f.rank, f.urgency.as_str(), f.id.as_str()))
        .collect();
    assert_eq!(
        told,
        [
            (1, "changed", "Plover/changed/ph"),
            (2, "records", "Plover/records/identical-values"),
            (3, "records", "Plover/records/missing-days"),
        ]
    );
    assert_eq!(
        found[1].sentence,
        "Cabinet Plover: identical readings of cabinet temperature in a row, more than rounding explains. Signal \
         of repeat. Look at a stuck sensor and at entries copied forward first."
    );
    assert_eq!(
        found[2].sentence,
        "Cabinet Plover: no check on 3 working days of the period (4 March, 5 March and 19 March)."
    );
}

#[test]
fn a_series_that_could_not_be_judged_is_named_with_its_reason() {
    let series = daily("Plover", C::Ph, &[6.8; 6]);
    let mut chart = chart(&series, limits(6.8, 0.05));
    chart.stages[0].limits = Err(crate::chart::NoLimits::TooFew { n: 6 });
    let reviews = [review(chart, vec![], None, None, None)];
    let found = cabinet(&[], &[], &[], &[], |context, _| {
        of_cabinet(context, &reviews, &[])
    });
    assert_eq!(
        found[0].sentence,
        "Cabinet Plover: pH could not be judged in this period."
    );
    assert_eq!(
        found[0].evidence[0].says,
        "pH: 6 readings that can be used: control limits need at least 8."
    );
}

#[test]
fn ranking_does_not_depend_on_the_order_of_drafts() {
    let parts = [
        Part {
            conformance: Some(outcome(&[18], &[])),
            ..still(C::CollectionRate)
        },
        slow(C::Ph, 0.01),
        stepped(C::TowerTemperature, 1.0),
        signalled(C::CabinetTemperature, &[signal("repeat", 0, 10, 14, 19)]),
    ];
    cabinet(&parts, &[], &[], &[], |context, reviews| {
        let drafts = of_cabinet(context, reviews, &[]);
        let forward = rank(drafts.clone());
        let backward = rank(drafts.into_iter().rev().collect());
        assert_eq!(forward, backward);
        // The pH and the tower moved at the same time.
        assert_eq!(forward.len(), 3);
        assert_eq!(forward[0].urgency, "breach");
    });
}
