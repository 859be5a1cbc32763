//! What to check next, in order, from the ranking.
//!
//! Common practice, no source; the two lines on the tower are physics (air leaves a colder
//! tower with less water, and drops dry in it). Hints for a person who decides; the list
//! never says that something is at fault.

use super::explain::{PairExplanation, Row};
use super::input::CouponDifference;
use super::say::sides;

/// A share below this is not worth a check of its own before the rest.
const LEAST_SHARE: f64 = 0.1;
/// A difference of unknown sensitivity that is at least so many standard uncertainties
/// from 0 is worth a look.
const CLEAR: f64 = 2.0;
/// Lines at most.
const MOST_LINES: usize = 9;

/// The list; empty when the coupons show no difference.
pub(super) fn list(
    told: &PairExplanation,
    rows: &[Row<'_>],
    coupons: &CouponDifference,
) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let mut add = |line: String| {
        if !lines.contains(&line) {
            lines.push(line);
        }
    };
    match told.ends {
        Some(ends) if ends.cover_zero() => return Vec::new(),
        Some(_) => {}
        None => add(
            "In the next round expose at least two coupons of one lot in each cabinet: without their scatter \
             chance cannot be told from a difference."
                .to_owned(),
        ),
    }
    let mut found = false;
    for row in rows.iter().filter(|row| !row.part.instruments_explain) {
        let worth = match (row.part.share, row.part.mass_loss) {
            (Some(share), _) => share.point >= LEAST_SHARE,
            (None, Some(mass)) => !mass.ends.cover_zero() && mass.point * told.difference > 0.0,
            (None, None) => row.clearness() >= CLEAR,
        };
        if worth {
            found |= row
                .part
                .mass_loss
                .is_some_and(|mass| !mass.ends.cover_zero());
            hints(row, coupons).into_iter().for_each(&mut add);
        }
    }
    let rest_is_clear = told.unexplained_ends.is_some_and(|ends| !ends.cover_zero());
    // What no daily check sees comes before instruments when the checks explain little.
    let rest = told
        .unexplained
        .is_none_or(|rest| 2.0 * rest.abs() > told.difference.abs());
    let unseen = !found || rest_is_clear || rest;
    if unseen {
        unseen_lines().into_iter().for_each(&mut add);
    }
    for row in rows.iter().filter(|row| row.part.instruments_explain) {
        add(instrument_line(
            &row.part.characteristic,
            &row.from.characteristic.spoken,
            coupons,
        ));
    }
    lines.truncate(MOST_LINES);
    lines
}

/// What no daily check sees.
fn unseen_lines() -> Vec<String> {
    [
        "Coupon lot and cleaning: were all coupons of one lot, and cleaned and blank-corrected alike? (The cleaning \
         acid is corrosive: follow its safety data sheet.)",
        "Place of the coupons in the cabinet: angle, height, shading, distance from the nozzle; exchange places in the \
         next round.",
        "Chemistry that no daily check sees: salt lot, anti-caking agent, copper and organic traces, make-up water; \
         carry-over from another test in the same cabinet.",
    ]
    .map(str::to_owned)
    .into()
}

/// Compare the instruments themselves.
fn instrument_line(id: &str, spoken: &str, coupons: &CouponDifference) -> String {
    let (a, b) = (&coupons.a_name, &coupons.b_name);
    match id {
        "ph" => {
            format!("Read the same sample at the same temperature on the pH meters of {a} and {b}.")
        }
        "specific-gravity" | "salt-concentration" => format!(
            "Read the same sample at the same temperature with the hydrometers of {a} and {b}."
        ),
        "collection-rate" | "collection-near" | "collection-far" | "collection-spread" => {
            format!("Exchange funnels and cylinders between {a} and {b} for a week.")
        }
        "cabinet-temperature" | "tower-temperature" => {
            format!("Put one thermometer into {a} and {b} in turn ({spoken}).")
        }
        "air-pressure" => format!("Read one gauge on {a} and {b} in turn."),
        _ => format!("Measure {spoken} in {a} and {b} with one instrument."),
    }
}

/// Where to look when a characteristic differs: its instruments first, then the machine.
fn hints(row: &Row<'_>, coupons: &CouponDifference) -> Vec<String> {
    let id = row.part.characteristic.as_str();
    let (lower, higher) = sides(row.part.difference, coupons);
    let mut lines = vec![instrument_line(
        id,
        &row.from.characteristic.spoken,
        coupons,
    )];
    let machine = match id {
        "collection-rate" | "collection-near" | "collection-far" => vec![
            format!(
                "Nozzle of {lower}: salt crust, wear, filter, suction line, reservoir level (purge the fog before \
                 opening)."
            ),
            format!(
                "Air pressure of {lower} and {higher} with one gauge; regulator, air filter, water in the line \
                 (release the pressure before work on it)."
            ),
            format!(
                "Tower of {lower}: a cold tower or low water dries the fog; salt then rises as the catch falls (hot \
                 and under pressure: let it cool first)."
            ),
        ],
        "collection-spread" => vec![format!(
            "Nozzle aim and baffle of {lower} and {higher}, specimens that shade a funnel, exhaust draught (purge the \
             fog before opening)."
        )],
        "ph" => vec![format!(
            "Salt lot and make-up water of {lower} and {higher}; carbon dioxide left in a cold or fresh solution; pH of \
             reservoir against catch."
        )],
        "specific-gravity" | "salt-concentration" => vec![
            format!(
                "Weigh a batch of {lower} and {higher}: salt and water as the procedure says, reservoir covered?"
            ),
            format!(
                "Tower of {higher}: too cold or low on water, the air dries the fog and strengthens the catch (hot and \
                 under pressure: let it cool first)."
            ),
        ],
        "cabinet-temperature" => {
            vec![format!(
                "Heater, jacket and lid seal of {lower}; set points of both; room temperature."
            )]
        }
        "tower-temperature" => vec![format!(
            "Set point, heater and water level of the tower of {lower}; does it fit the air pressure? They are judged as \
             a pair (hot and under pressure: let it cool first)."
        )],
        "air-pressure" => vec![format!(
            "Regulator, compressor and air filter of {lower} (release the pressure before work on it)."
        )],
        _ => Vec::new(),
    };
    lines.extend(machine);
    lines
}
