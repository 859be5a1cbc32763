//! What really happened in the partner's three cabinets: like the home lab's in all but
//! the catch. Its pH meter reads high; the pH itself does not differ.
//!
//! The levels are told against the home lab's, which a test holds against its scenario.

use super::super::calendar::{Day, open_days};
use super::super::coupons::{Bench, Stand};
use super::super::daily::{self, Check, Habit, STREAMS};
use chrono::{NaiveDate, Weekday};

/// First day of the logs.
pub(super) const FIRST_DAY: Day = (2026, 1, 5);
/// Last day of the logs: before the home lab's changes of 18 May and June.
pub(super) const LAST_DAY: Day = (2026, 5, 15);
/// Days without checks: the first of May.
const CLOSED: [(Day, Day); 1] = [((2026, 5, 1), (2026, 5, 1))];
/// Weekdays with a check.
const WEEKDAYS: [Weekday; 4] = [Weekday::Mon, Weekday::Wed, Weekday::Fri, Weekday::Sat];

/// Mean catch of the home lab's five cabinets over these days, mL/h per 80 cm².
const HOME_RATE: f64 = 1.5146;
/// Mean pH of the home lab's five cabinets over these days.
const HOME_PH: f64 = 6.825;
/// Planted: the partner's catch less the home lab's, mL/h per 80 cm².
pub(super) const RATE_DIFFERENCE: f64 = -0.25;
/// Planted: what the partner's pH meter reads above the true pH.
pub(super) const PH_METER_HIGH: f64 = 0.08;

/// First noise stream of the partner's cabinets, beyond every other of the demo. Chosen so
/// that chance takes little from what is planted (0.001 mL/h and pH) and lets no rule fire.
const FIRST_STREAM: u64 = 103 * STREAMS;

/// A cabinet of the partner.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Cabinet {
    /// Catches a little more than its neighbours.
    Turnstone,
    /// Shares its name with a cabinet of the home lab.
    Knot,
    /// In between.
    Sanderling,
}

/// How a cabinet departs from its lab's levels.
#[derive(Debug, Clone, Copy)]
struct Own {
    rate: f64,
    /// Half of what the near funnel catches more than the far one.
    half_gap: f64,
    ph: f64,
    pressure: f64,
    tower: f64,
    salt: f64,
    coupon_loss: f64,
}

impl Cabinet {
    /// All of them.
    pub(super) const ALL: [Cabinet; 3] = [Cabinet::Turnstone, Cabinet::Knot, Cabinet::Sanderling];

    /// Its name in the logs.
    pub(super) fn name(self) -> &'static str {
        match self {
            Cabinet::Turnstone => "Turnstone",
            Cabinet::Knot => "Knot",
            Cabinet::Sanderling => "Sanderling",
        }
    }

    fn own(self) -> Own {
        match self {
            Cabinet::Turnstone => Own {
                rate: 0.02,
                half_gap: 0.025,
                ph: -0.03,
                pressure: 98.5,
                tower: 47.8,
                salt: 0.0499,
                coupon_loss: 0.5,
            },
            Cabinet::Knot => Own {
                rate: -0.02,
                half_gap: 0.022,
                ph: 0.03,
                pressure: 100.0,
                tower: 48.1,
                salt: 0.0501,
                coupon_loss: -0.9,
            },
            Cabinet::Sanderling => Own {
                rate: 0.0,
                half_gap: 0.023,
                ph: 0.0,
                pressure: 100.0,
                tower: 48.0,
                salt: 0.0500,
                coupon_loss: 0.4,
            },
        }
    }

    fn habit(self) -> Habit {
        let own = self.own();
        let rate = HOME_RATE + RATE_DIFFERENCE + own.rate;
        Habit {
            pressure: own.pressure,
            tower: own.tower,
            near: rate + own.half_gap,
            far: rate - own.half_gap,
            ph: HOME_PH + own.ph,
            ph_sd: 0.05,
            salt: own.salt,
        }
    }
}

/// The days with a check.
pub(super) fn days() -> Vec<NaiveDate> {
    open_days((FIRST_DAY, LAST_DAY), &WEEKDAYS, &CLOSED)
}

/// All checks of a cabinet in time order.
pub(super) fn checks(which: Cabinet) -> Vec<Check> {
    let stream = FIRST_STREAM + which as u64 * STREAMS;
    daily::run(&which.habit(), stream, &days())
}

/// The partner's part in the coupon rounds, begun two days after the home lab's.
pub(super) fn bench() -> Bench {
    Bench {
        stands: Cabinet::ALL
            .iter()
            .map(|which| Stand {
                cabinet: which.name(),
                own_loss: which.own().coupon_loss,
                checks: checks(*which),
            })
            .collect(),
        starts: [(2026, 2, 12), (2026, 3, 26), (2026, 4, 23)],
        cleaning: 1.5,
        stream: 1_100,
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::calendar::{date, within};
    use super::super::super::plants as planted;
    use super::super::super::scenario as home;
    use super::*;

    fn mean(values: &[f64]) -> f64 {
        values.iter().sum::<f64>() / values.len() as f64
    }

    /// Mean over cabinets of each cabinet's mean over the partner's days.
    fn labs(of: impl Fn(&Check) -> f64) -> [f64; 2] {
        let over = |all: Vec<Check>| -> f64 {
            // The outage is excluded by an event.
            let inside =
                |c: &&Check| within(c.on, (FIRST_DAY, LAST_DAY)) && !within(c.on, planted::OUTAGE);
            mean(&all.iter().filter(inside).map(&of).collect::<Vec<_>>())
        };
        let home: Vec<f64> = home::Cabinet::ALL
            .iter()
            .map(|which| over(home::checks(*which)))
            .collect();
        let here: Vec<f64> = Cabinet::ALL
            .iter()
            .map(|which| over(checks(*which)))
            .collect();
        [mean(&home), mean(&here)]
    }

    #[test]
    fn the_catch_is_lower_by_what_is_planted_and_all_else_is_alike() {
        let [home, here] = labs(Check::rate);
        assert!(
            (here - home - RATE_DIFFERENCE).abs() < 0.003,
            "{home} {here}"
        );
        // Two standard errors of a lab's mean, with its carry-over, or a little less.
        type Reading = fn(&Check) -> f64;
        let alike: [(&str, Reading, f64); 6] = [
            ("cabinet", |c| c.cabinet, 0.05),
            ("tower", |c| c.tower, 0.05),
            ("pressure", |c| c.pressure, 0.4),
            ("ph", |c| c.ph, 0.005),
            ("salt", |c| c.salt, 0.0001),
            ("imbalance", |c| (c.near - c.far) / c.rate(), 0.004),
        ];
        for (name, of, near) in alike {
            let [home, here] = labs(of);
            assert!((here - home).abs() < near, "{name}: {home} {here}");
        }
    }

    #[test]
    fn the_partner_stays_inside_its_window() {
        for which in Cabinet::ALL {
            for c in checks(which) {
                assert!((33.0..37.0).contains(&c.cabinet));
                assert!(c.far > 1.05 && c.near < 1.6, "{which:?} {c:?}");
                assert!((6.5..7.2).contains(&(c.ph + PH_METER_HIGH)), "{c:?}");
            }
        }
    }

    #[test]
    fn checks_fall_on_other_weekdays_and_end_before_the_home_labs_changes() {
        let days = days();
        assert_eq!(days.first(), Some(&date(FIRST_DAY)));
        assert_eq!(days.last(), Some(&date(LAST_DAY)));
        // 19 weeks of four checks, less Saturday 16 May and the closed day.
        assert_eq!(days.len(), 19 * 4 - 2);
        assert!(date(LAST_DAY) < date(planted::BLOCKING_FROM));
        assert!(date(LAST_DAY) < date(planted::TOWER_STEP_ON));
    }

    #[test]
    fn every_exposure_of_coupons_has_two_checks() {
        let bench = bench();
        for start in bench.starts {
            for stand in &bench.stands {
                let inside = |c: &&Check| (1..=2).contains(&(c.on - date(start)).num_days());
                assert_eq!(stand.checks.iter().filter(inside).count(), 2, "{start:?}");
            }
        }
    }
}
