//! The partner's truth file: what was planted against the home lab, how the cabinets of
//! both truly stood over the shared period, what the coupons answer, and the dirt.

use super::super::DemoError;
use super::super::calendar::{Day, date, within};
use super::super::coupons::{self, Bench, COUPON_SD, HOURS, LOSS_PER_RATE, LOTS};
use super::super::daily::Check;
use super::super::page::Dirt;
use super::super::scenario as home;
use super::scenario::{
    Cabinet, FIRST_DAY, LAST_DAY, PH_METER_HIGH, RATE_DIFFERENCE, bench, checks, days,
};
use serde::Serialize;

/// The month that is reviewed in tests.
const REVIEW_MONTH: &str = "2026-04";

#[derive(Debug, Serialize)]
struct Truth {
    review_month: &'static str,
    /// Days with a check, the same for every cabinet.
    checks_per_cabinet: usize,
    cabinets: Vec<&'static str>,
    plant: Vec<Plant>,
    level: Vec<Level>,
    coupons: Coupons,
    round: Vec<Round>,
    dirt: Vec<Dirt>,
}

/// Something planted: the partner less the home lab.
#[derive(Debug, Serialize)]
struct Plant {
    kind: &'static str,
    characteristic: &'static str,
    from: String,
    to: String,
    size: f64,
    unit: &'static str,
    says: &'static str,
}

/// How a cabinet truly stood over the shared period, before anybody read an instrument.
#[derive(Debug, Serialize)]
struct Level {
    lab: &'static str,
    cabinet: &'static str,
    collection_rate: f64,
    /// Less the mean of its lab's cabinets.
    collection_rate_offset: f64,
    ph: f64,
}

#[derive(Debug, Serialize)]
struct Coupons {
    hours: u32,
    loss_per_collection_rate: f64,
    coupon_sd: f64,
    says: &'static str,
}

#[derive(Debug, Serialize)]
struct Round {
    round: &'static str,
    loss_of_the_lot: f64,
    stand: Vec<Stand>,
}

/// What a cabinet's coupons answer.
#[derive(Debug, Serialize)]
struct Stand {
    lab: &'static str,
    cabinet: &'static str,
    start: String,
    collection_rate: f64,
    own_loss: f64,
    loss: f64,
}

/// The truth file's text.
///
/// # Errors
/// [`DemoError::Truth`] when it cannot be written as TOML.
pub(super) fn text(dirt: Vec<Dirt>) -> Result<String, DemoError> {
    let truth = Truth {
        review_month: REVIEW_MONTH,
        checks_per_cabinet: days().len(),
        cabinets: Cabinet::ALL.iter().map(|c| c.name()).collect(),
        plant: plants(),
        level: levels(),
        coupons: Coupons {
            hours: HOURS,
            loss_per_collection_rate: LOSS_PER_RATE,
            coupon_sd: COUPON_SD,
            says: "Losses are what a cabinet's coupons answer without chance and without the cleaning, g/m².",
        },
        round: rounds(),
        dirt,
    };
    let head = "# What was planted in demo-partner-lab/ against demo-lab/, and what is dirty in it: for\n\
                # tests. Made by the code (src/demo/partner/). Differences are the partner less the home\n\
                # lab; rates in mL/h per 80 cm², losses in g/m².\n\n";
    Ok(format!("{head}{}", toml::to_string(&truth)?))
}

fn plants() -> Vec<Plant> {
    let day = |day: Day| date(day).to_string();
    let plant = |kind, characteristic, size, unit, says| Plant {
        kind,
        characteristic,
        from: day(FIRST_DAY),
        to: day(LAST_DAY),
        size,
        unit,
        says,
    };
    vec![
        plant(
            "lower-catch",
            "collection-rate",
            RATE_DIFFERENCE,
            "mL/h per 80 cm²",
            "The partner's cabinets catch less than the home lab's (means over all cabinets); the coupons answer it.",
        ),
        plant(
            "meter-reads-high",
            "ph",
            PH_METER_HIGH,
            "pH",
            "The partner's pH meter reads high; the pH itself is the same, and the two meters' uncertainty covers it.",
        ),
    ]
}

fn levels() -> Vec<Level> {
    let of_home = home::Cabinet::ALL.map(|which| (which.name(), home::checks(which)));
    let of_partner = Cabinet::ALL.map(|which| (which.name(), checks(which)));
    let mut levels = lab_levels(HOME, &of_home);
    levels.extend(lab_levels(PARTNER, &of_partner));
    levels
}

const HOME: &str = "home";
const PARTNER: &str = "partner";

fn lab_levels(lab: &'static str, cabinets: &[(&'static str, Vec<Check>)]) -> Vec<Level> {
    let over = |all: &[Check], of: fn(&Check) -> f64| {
        let inside = all.iter().filter(|c| within(c.on, (FIRST_DAY, LAST_DAY)));
        mean(inside.map(of))
    };
    let of_lab = mean(cabinets.iter().map(|(_, all)| over(all, Check::rate)));
    cabinets
        .iter()
        .map(|(cabinet, all)| Level {
            lab,
            cabinet,
            collection_rate: rounded(over(all, Check::rate)),
            collection_rate_offset: rounded(over(all, Check::rate) - of_lab),
            ph: rounded(over(all, |c| c.ph)),
        })
        .collect()
}

fn rounds() -> Vec<Round> {
    let (home, partner) = (coupons::home(), bench());
    LOTS.iter()
        .enumerate()
        .map(|(index, lot)| {
            let mut stand = stands(HOME, &home, index);
            stand.extend(stands(PARTNER, &partner, index));
            Round {
                round: lot.round,
                loss_of_the_lot: lot.loss,
                stand,
            }
        })
        .collect()
}

fn stands(lab: &'static str, bench: &Bench, round: usize) -> Vec<Stand> {
    let (Some(start), Some(lot)) = (bench.starts.get(round), LOTS.get(round)) else {
        return Vec::new();
    };
    let start = date(*start);
    bench
        .stands
        .iter()
        .map(|stand| Stand {
            lab,
            cabinet: stand.cabinet,
            start: start.to_string(),
            collection_rate: rounded(coupons::rate_over(&stand.checks, start)),
            own_loss: stand.own_loss,
            loss: rounded(stand.usual_loss(lot, start)),
        })
        .collect()
}

/// Mean; 0 of nothing, which no cabinet is.
fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let (mut sum, mut count) = (0.0, 0.0);
    for value in values {
        sum += value;
        count += 1.0;
    }
    if count > 0.0 { sum / count } else { 0.0 }
}

/// Four decimals, as the nearest binary64 of its text.
fn rounded(value: f64) -> f64 {
    (value * 10_000.0).round() / 10_000.0
}
