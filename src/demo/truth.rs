//! The truth file: what was planted, and every piece of dirt with its place.

use super::DemoError;
use super::calendar::{Day, date, working_days};
use super::page::Dirt;
use super::plants as planted;
use super::scenario::Cabinet;
use serde::Serialize;

/// The truth about the demo lab.
#[derive(Debug, Serialize)]
struct Truth {
    review_month: &'static str,
    /// Working days with a check, the same for every cabinet.
    checks_per_cabinet: usize,
    cabinets: Vec<&'static str>,
    plant: Vec<Plant>,
    dirt: Vec<Dirt>,
}

/// Something planted in one cabinet.
#[derive(Debug, Serialize)]
struct Plant {
    cabinet: &'static str,
    kind: &'static str,
    characteristics: Vec<&'static str>,
    from: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    to: Option<String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    size: Vec<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    unit: Option<&'static str>,
    says: &'static str,
}

/// The truth file's text.
///
/// # Errors
/// [`DemoError::Truth`] when it cannot be written as TOML.
pub(super) fn text(dirt: Vec<Dirt>) -> Result<String, DemoError> {
    let truth = Truth {
        review_month: planted::REVIEW_MONTH,
        checks_per_cabinet: working_days().len(),
        cabinets: Cabinet::ALL.iter().map(|c| c.name()).collect(),
        plant: plants(),
        dirt,
    };
    let head = "# What was planted in demo-lab/ and what is dirty in its logs: for tests.\n\
                # Made by the code (src/demo/); sizes are parallel to characteristics. The column of\n\
                # a heading of two rows is told by its lower row.\n\n";
    Ok(head.to_owned() + &toml::to_string(&truth)?)
}

fn plants() -> Vec<Plant> {
    let day = |day: Day| date(day).to_string();
    let plant = |cabinet: Cabinet, kind, from: Day, says| Plant {
        cabinet: cabinet.name(),
        kind,
        characteristics: Vec::new(),
        from: day(from),
        to: None,
        size: Vec::new(),
        unit: None,
        says,
    };
    let rate_per_day = Some("mL/h per 80 cm² and day");
    let (near, far) = (
        planted::BLOCKING_NEAR_PER_DAY,
        planted::BLOCKING_FAR_PER_DAY,
    );
    vec![
        Plant {
            characteristics: vec!["collection-near", "collection-far", "collection-rate"],
            size: vec![near, far, (near + far) / 2.0],
            unit: rate_per_day,
            ..plant(
                Cabinet::Plover,
                "drift",
                planted::BLOCKING_FROM,
                "The nozzle slowly blocks; the near funnel falls faster than the far one.",
            )
        },
        Plant {
            characteristics: vec!["collection-near", "collection-far", "collection-rate"],
            size: vec![planted::NEW_NOZZLE_GAIN; 3],
            unit: Some("mL/h per 80 cm²"),
            ..plant(
                Cabinet::Plover,
                "new-stage",
                planted::NEW_NOZZLE_ON,
                "A new nozzle, told in events.csv.",
            )
        },
        Plant {
            characteristics: vec!["air-pressure", "collection-rate"],
            to: Some(day(planted::DRYER_FAILED_ON)),
            ..plant(
                Cabinet::Plover,
                "excluded",
                planted::DRYER_FAILED_ON,
                "A failed air dryer, excluded in events.csv.",
            )
        },
        Plant {
            characteristics: vec!["tower-temperature"],
            size: vec![planted::TOWER_STEP],
            unit: Some("°C"),
            ..plant(
                Cabinet::Dunlin,
                "shift",
                planted::TOWER_STEP_ON,
                "The tower's thermostat slips.",
            )
        },
        Plant {
            characteristics: vec!["salt-concentration"],
            size: vec![planted::TOWER_STEP_SALT * 100.0],
            unit: Some("% by mass"),
            ..plant(
                Cabinet::Dunlin,
                "shift",
                planted::TOWER_STEP_ON,
                "The catch is stronger from then on; its density answers the colder tower.",
            )
        },
        Plant {
            characteristics: vec!["collection-near", "collection-far", "collection-rate"],
            size: vec![planted::TOWER_STEP_CATCH * 100.0; 3],
            unit: Some("% of the catch"),
            ..plant(
                Cabinet::Dunlin,
                "shift",
                planted::TOWER_STEP_ON,
                "The catch is a little smaller from then on; the step is about one standard \
                 deviation and need not be found.",
            )
        },
        Plant {
            characteristics: vec!["cabinet-temperature", "tower-temperature"],
            to: Some(day(planted::OUTAGE.1)),
            ..plant(
                Cabinet::Dunlin,
                "excluded",
                planted::OUTAGE.0,
                "A mains outage, excluded in events.csv.",
            )
        },
        Plant {
            characteristics: vec!["ph"],
            size: vec![planted::PH_CLIMB_PER_DAY],
            unit: Some("pH a day between fills 14 days apart"),
            ..plant(
                Cabinet::Curlew,
                "saw-tooth",
                planted::FIRST_FILL,
                "The pH climbs between reservoir fills and falls back at each.",
            )
        },
        Plant {
            characteristics: vec!["cabinet-temperature"],
            to: Some(day(planted::COLD_SPELL.1)),
            size: vec![planted::COLD_SPELL_DROP],
            unit: Some("°C"),
            ..plant(
                Cabinet::Curlew,
                "breach",
                planted::COLD_SPELL.0,
                "Two cold days, below the window; no event tells why.",
            )
        },
        Plant {
            characteristics: vec!["ph"],
            size: vec![planted::SALT_LOT_PH],
            unit: Some("pH"),
            ..plant(
                Cabinet::Avocet,
                "new-stage",
                planted::SALT_LOT_ON,
                "A new salt lot, told in events.csv.",
            )
        },
        Plant {
            to: Some(day(planted::COPIED.1)),
            ..plant(
                Cabinet::Avocet,
                "copied",
                planted::COPIED.0,
                "Entries copied forward: ten working days equal in every column.",
            )
        },
        Plant {
            to: Some(day(planted::FROZEN_FROM_TO.1)),
            ..plant(
                Cabinet::Knot,
                "frozen-baseline",
                planted::FROZEN_FROM_TO.0,
                "Steady from first to last; limits frozen from these days.",
            )
        },
    ]
}
