//! What really happened in the demo lab's five cabinets, day by day, before anybody
//! read an instrument: true values in canonical units, without rounding or dirt.
//!
//! Levels follow the trade: tower temperature by the ISO 9227 and ASTM B117 tables of
//! temperature against pressure (from memory), catch near 1.5 mL/h per 80 cm², about
//! 5 % salt. A day with a larger catch has a weaker one, and more air carries more fog.

use super::calendar::{date, days_since, within, working_days};
use super::daily::{self, Check, Habit, STREAMS};
use super::plants as planted;
use chrono::NaiveDate;

/// A cabinet of the demo lab.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Cabinet {
    /// The nozzle slowly blocks.
    Plover,
    /// The tower's thermostat slips.
    Dunlin,
    /// The pH climbs between reservoir fills; a short breach.
    Curlew,
    /// Plainly steady.
    Knot,
    /// A new salt lot; entries copied forward.
    Avocet,
}

impl Cabinet {
    /// All of them.
    pub(super) const ALL: [Cabinet; 5] = [
        Cabinet::Plover,
        Cabinet::Dunlin,
        Cabinet::Curlew,
        Cabinet::Knot,
        Cabinet::Avocet,
    ];

    /// Its name in the logs.
    pub(super) fn name(self) -> &'static str {
        match self {
            Cabinet::Plover => "Plover",
            Cabinet::Dunlin => "Dunlin",
            Cabinet::Curlew => "Curlew",
            Cabinet::Knot => "Knot",
            Cabinet::Avocet => "Avocet",
        }
    }

    /// How it runs when nothing special happens.
    fn habit(self) -> Habit {
        match self {
            Cabinet::Plover => Habit {
                pressure: 98.0,
                tower: 48.0,
                near: 1.50,
                far: 1.44,
                ph: 6.83,
                ph_sd: 0.05,
                salt: 0.0500,
            },
            Cabinet::Dunlin => Habit {
                pressure: 100.0,
                tower: 48.2,
                near: 1.55,
                far: 1.50,
                ph: 6.90,
                ph_sd: 0.05,
                salt: 0.0496,
            },
            Cabinet::Curlew => Habit {
                pressure: 103.0,
                tower: 47.6,
                near: 1.46,
                far: 1.40,
                ph: 6.58,
                ph_sd: 0.012,
                salt: 0.0502,
            },
            Cabinet::Knot => Habit {
                pressure: 98.0,
                tower: 47.9,
                near: 1.52,
                far: 1.49,
                ph: 6.84,
                ph_sd: 0.05,
                salt: 0.0500,
            },
            Cabinet::Avocet => Habit {
                pressure: 98.5,
                tower: 48.1,
                near: 1.60,
                far: 1.52,
                ph: 6.72,
                ph_sd: 0.05,
                salt: 0.0501,
            },
        }
    }
}

/// All checks of a cabinet in time order.
pub(super) fn checks(which: Cabinet) -> Vec<Check> {
    let mut out: Vec<Check> = Vec::new();
    for mut check in daily::run(&which.habit(), which as u64 * STREAMS, &working_days()) {
        happen(which, &mut check);
        if which == Cabinet::Avocet
            && within(check.on, planted::COPIED)
            && let Some(before) = out.last()
            && within(before.on, planted::COPIED)
        {
            check = Check {
                on: check.on,
                ..*before
            };
        }
        out.push(check);
    }
    out
}

/// Applies what was planted in that cabinet to the day's truth.
fn happen(which: Cabinet, check: &mut Check) {
    match which {
        Cabinet::Plover => block_the_nozzle(check),
        Cabinet::Dunlin => slip_the_thermostat(check),
        Cabinet::Curlew => climb_and_chill(check),
        Cabinet::Knot => {}
        Cabinet::Avocet => {
            if check.on >= date(planted::SALT_LOT_ON) {
                check.ph += planted::SALT_LOT_PH;
            }
        }
    }
}

/// Plover: a new nozzle in January that starts to block in May; a failed dryer in November.
fn block_the_nozzle(check: &mut Check) {
    if check.on >= date(planted::NEW_NOZZLE_ON) {
        check.near += planted::NEW_NOZZLE_GAIN;
        check.far += planted::NEW_NOZZLE_GAIN;
    }
    let blocking_days = days_since(check.on, planted::BLOCKING_FROM).max(0.0);
    check.near += planted::BLOCKING_NEAR_PER_DAY * blocking_days;
    check.far += planted::BLOCKING_FAR_PER_DAY * blocking_days;
    if check.on == date(planted::DRYER_FAILED_ON) {
        check.pressure = 71.0;
        check.near = 0.91;
        check.far = 0.83;
    }
}

/// Dunlin: a colder tower dries the fog; a mains outage left the cabinet cold in February.
fn slip_the_thermostat(check: &mut Check) {
    if check.on >= date(planted::TOWER_STEP_ON) {
        check.tower += planted::TOWER_STEP;
        check.salt += planted::TOWER_STEP_SALT;
        check.near *= 1.0 + planted::TOWER_STEP_CATCH;
        check.far *= 1.0 + planted::TOWER_STEP_CATCH;
    }
    if within(check.on, planted::OUTAGE) {
        let first = check.on == date(planted::OUTAGE.0);
        check.cabinet = if first { 26.4 } else { 31.9 };
        check.tower = if first { 31.2 } else { 42.6 };
    }
}

/// Curlew: carbon dioxide leaves the reservoir between fills; two cold days in June.
fn climb_and_chill(check: &mut Check) {
    let since_fill = (check.on - date(planted::FIRST_FILL))
        .num_days()
        .rem_euclid(planted::FILL_EVERY_DAYS);
    check.ph += planted::PH_CLIMB_PER_DAY * since_fill as f64;
    if within(check.on, planted::COLD_SPELL) {
        check.cabinet += planted::COLD_SPELL_DROP;
    }
}

/// Whether the reservoir of Curlew is filled on that day.
pub(super) fn curlew_is_filled(on: NaiveDate) -> bool {
    (on - date(planted::FIRST_FILL))
        .num_days()
        .rem_euclid(planted::FILL_EVERY_DAYS)
        == 0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mean(values: impl Iterator<Item = f64>) -> f64 {
        let values: Vec<f64> = values.collect();
        values.iter().sum::<f64>() / values.len() as f64
    }

    #[test]
    fn the_nozzle_blocks_towards_the_limit_but_is_not_out_by_the_end() {
        let plover = checks(Cabinet::Plover);
        let before = mean(
            plover
                .iter()
                .filter(|c| within(c.on, ((2026, 4, 1), (2026, 5, 15))))
                .map(|c| (c.near + c.far) / 2.0),
        );
        let end = mean(
            plover
                .iter()
                .filter(|c| c.on >= date((2026, 6, 24)))
                .map(|c| (c.near + c.far) / 2.0),
        );
        assert!((1.50..1.60).contains(&before), "{before}");
        assert!((1.14..1.26).contains(&end), "{end}");
        let lowest = plover
            .iter()
            .filter(|c| c.on > date((2026, 1, 12)))
            .map(|c| c.near.min(c.far))
            .fold(f64::INFINITY, f64::min);
        assert!(
            lowest > 1.02,
            "no single funnel may breach by itself: {lowest}"
        );
    }

    #[test]
    fn copied_entries_are_equal_and_only_there() {
        let avocet = checks(Cabinet::Avocet);
        let same: Vec<NaiveDate> = avocet
            .windows(2)
            .filter(|pair| {
                Check {
                    on: pair[0].on,
                    ..pair[1]
                } == pair[0]
            })
            .map(|pair| pair[1].on)
            .collect();
        assert_eq!(same.len(), 9);
        assert!(same.iter().all(|on| within(*on, planted::COPIED)));
    }

    #[test]
    fn the_steady_cabinet_stays_inside_every_window() {
        for c in checks(Cabinet::Knot) {
            assert!((33.0..37.0).contains(&c.cabinet));
            assert!((1.2..1.8).contains(&c.near) && (1.2..1.8).contains(&c.far));
            assert!((6.5..7.2).contains(&c.ph));
            assert!((0.045..0.055).contains(&c.salt));
        }
    }

    #[test]
    fn every_planted_date_exists() {
        for stretch in [
            planted::OUTAGE,
            planted::COLD_SPELL,
            planted::COPIED,
            planted::FROZEN_FROM_TO,
        ] {
            assert!(date(stretch.0) < date(stretch.1) && date(stretch.1) < NaiveDate::MAX);
        }
        for day in [
            planted::BLOCKING_FROM,
            planted::TOWER_STEP_ON,
            planted::SALT_LOT_ON,
            planted::NEW_NOZZLE_ON,
        ] {
            assert!(working_days().contains(&date(day)), "{day:?}");
        }
    }
}
