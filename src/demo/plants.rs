//! What is planted in the demo lab, in one place: the dates and sizes that the
//! scenario uses and that the truth file tells.

use super::calendar::Day;

/// First day of the logs.
pub(super) const FIRST_DAY: Day = (2025, 10, 1);
/// Last day of the logs, and of the month under review.
pub(super) const LAST_DAY: Day = (2026, 6, 30);
/// The month that tells most.
pub(super) const REVIEW_MONTH: &str = "2026-06";

/// Working days without checks: the year's end, New Year and the first of May.
pub(super) const CLOSED: [(Day, Day); 2] =
    [((2025, 12, 24), (2026, 1, 2)), ((2026, 5, 1), (2026, 5, 1))];

/// Plover: the nozzle starts to block; the near funnel falls faster than the far one.
pub(super) const BLOCKING_FROM: Day = (2026, 5, 18);
/// Plover: change of the near catch from then on, mL/h per 80 cm² and day.
pub(super) const BLOCKING_NEAR_PER_DAY: f64 = -0.0115;
/// Plover: change of the far catch from then on, mL/h per 80 cm² and day.
pub(super) const BLOCKING_FAR_PER_DAY: f64 = -0.0065;
/// Plover: a new nozzle, with an event; catch a little larger afterwards.
pub(super) const NEW_NOZZLE_ON: Day = (2026, 1, 12);
/// Plover: gain of both catches with the new nozzle, mL/h per 80 cm².
pub(super) const NEW_NOZZLE_GAIN: f64 = 0.08;
/// Plover: the air dryer failed for a day; excluded with a reason.
pub(super) const DRYER_FAILED_ON: Day = (2025, 11, 19);

/// Dunlin: the tower's thermostat slips.
pub(super) const TOWER_STEP_ON: Day = (2026, 6, 11);
/// Dunlin: the tower's step, °C.
pub(super) const TOWER_STEP: f64 = -1.6;
/// Dunlin: the salt fraction's answer to it (colder air dries the fog), mass fraction.
pub(super) const TOWER_STEP_SALT: f64 = 0.0020;
/// Dunlin: the catch's answer to it, as a share of the catch.
pub(super) const TOWER_STEP_CATCH: f64 = -0.035;
/// Dunlin: readings after a mains outage, first and last day; excluded with a reason.
pub(super) const OUTAGE: (Day, Day) = ((2026, 2, 3), (2026, 2, 4));

/// Curlew: the reservoir is filled every second Monday from this day on.
pub(super) const FIRST_FILL: Day = (2025, 9, 29);
/// Curlew: days between fills.
pub(super) const FILL_EVERY_DAYS: i64 = 14;
/// Curlew: rise of the pH a day between fills.
pub(super) const PH_CLIMB_PER_DAY: f64 = 0.035;
/// Curlew: the cabinet runs cold for two days: a true, short breach.
pub(super) const COLD_SPELL: (Day, Day) = ((2026, 6, 16), (2026, 6, 17));
/// Curlew: how much colder, °C.
pub(super) const COLD_SPELL_DROP: f64 = -2.7;

/// Avocet: a new salt lot, with an event that opens a new stage for the pH.
pub(super) const SALT_LOT_ON: Day = (2026, 3, 16);
/// Avocet: the pH's step with it.
pub(super) const SALT_LOT_PH: f64 = 0.18;
/// Avocet: entries copied forward, first and last day: equal in every column.
pub(super) const COPIED: (Day, Day) = ((2026, 6, 8), (2026, 6, 19));

/// Knot: plainly steady from first to last; its limits are frozen from these days.
pub(super) const FROZEN_FROM_TO: (Day, Day) = ((2025, 10, 1), (2025, 12, 23));
