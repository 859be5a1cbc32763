//! Points in time, and the lab's clock zone.
//!
//! Logs carry wall-clock times; everything after the intake works on
//! [`Instant`], seconds since 1970-01-01T00:00:00Z. A lab that names no zone is
//! read as if its wall clock were UTC, and its times print with `Z`.
//! Nothing here reads the machine's clock: the caller passes "now" in.

use chrono::{DateTime, NaiveDate, NaiveDateTime, Offset, SecondsFormat, TimeZone, Utc};
use serde::{Deserialize, Serialize};

/// Seconds in a day, for turning [`Instant`] differences into days.
pub const SECONDS_PER_DAY: f64 = 86_400.0;

/// A point in time, in whole seconds since 1970-01-01T00:00:00Z.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Instant(pub i64);

impl Instant {
    /// Days from `earlier` to `self`; negative when `self` comes first.
    ///
    /// ```
    /// use steadyfog::time::Instant;
    /// assert_eq!(Instant(43_200).days_since(Instant(0)), 0.5);
    /// ```
    pub fn days_since(self, earlier: Instant) -> f64 {
        (self.0 - earlier.0) as f64 / SECONDS_PER_DAY
    }

    /// The instant `days` later, rounded to the second.
    pub fn plus_days(self, days: f64) -> Instant {
        Instant(
            self.0
                .saturating_add((days * SECONDS_PER_DAY).round() as i64),
        )
    }

    /// The UTC date and time; `None` outside the years that chrono represents.
    pub fn utc(self) -> Option<DateTime<Utc>> {
        DateTime::from_timestamp(self.0, 0)
    }
}

/// What a wall-clock time means in the lab's zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WallTime {
    /// Exactly one instant.
    Single(Instant),
    /// The clock showed it twice (autumn change); the first is taken.
    Twice(Instant),
    /// The clock never showed it (spring change); read with the offset before the change.
    Skipped(Instant),
}

impl WallTime {
    /// The instant taken, whatever the doubt about it.
    pub fn instant(self) -> Instant {
        match self {
            WallTime::Single(at) | WallTime::Twice(at) | WallTime::Skipped(at) => at,
        }
    }
}

/// The zone of the lab's wall clock: an IANA zone, or none (wall clock read as UTC).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Zone(Option<chrono_tz::Tz>);

impl Zone {
    /// The zone in which the wall clock is taken as UTC.
    pub const AS_WRITTEN: Zone = Zone(None);

    /// The zone of that IANA name.
    ///
    /// # Errors
    /// The name itself, when it is not an IANA zone.
    pub fn named(name: &str) -> Result<Zone, String> {
        name.parse::<chrono_tz::Tz>()
            .map(|tz| Zone(Some(tz)))
            .map_err(|_| name.to_owned())
    }

    /// The IANA name, or `None` when times are taken as written.
    pub fn name(&self) -> Option<&'static str> {
        self.0.map(|tz| tz.name())
    }

    /// The instant of a wall-clock time.
    ///
    /// ```
    /// use chrono::NaiveDate;
    /// use steadyfog::time::{Instant, WallTime, Zone};
    /// let noon = NaiveDate::from_ymd_opt(2026, 1, 1).and_then(|d| d.and_hms_opt(12, 0, 0));
    /// let reading = noon.map(|t| Zone::AS_WRITTEN.instant(t));
    /// assert_eq!(reading, Some(WallTime::Single(Instant(1_767_268_800))));
    /// ```
    pub fn instant(&self, wall: NaiveDateTime) -> WallTime {
        let as_utc = Instant(wall.and_utc().timestamp());
        let Some(tz) = self.0 else {
            return WallTime::Single(as_utc);
        };
        match tz.from_local_datetime(&wall) {
            chrono::LocalResult::Single(t) => WallTime::Single(Instant(t.timestamp())),
            chrono::LocalResult::Ambiguous(first, _) => WallTime::Twice(Instant(first.timestamp())),
            chrono::LocalResult::None => {
                // One day earlier lies safely before the change, so its offset is the old one.
                let before = tz.offset_from_utc_datetime(&(wall - chrono::Duration::days(1)));
                let offset = i64::from(before.fix().local_minus_utc());
                WallTime::Skipped(Instant(as_utc.0 - offset))
            }
        }
    }

    /// The wall-clock time of an instant.
    pub fn wall(&self, at: Instant) -> NaiveDateTime {
        let utc = at.utc().unwrap_or(DateTime::UNIX_EPOCH);
        match self.0 {
            None => utc.naive_utc(),
            Some(tz) => utc.with_timezone(&tz).naive_local(),
        }
    }

    /// The wall-clock date of an instant.
    pub fn date(&self, at: Instant) -> NaiveDate {
        self.wall(at).date()
    }

    /// Days from 1970-01-01 to the wall-clock date of an instant.
    ///
    /// ```
    /// use steadyfog::time::{Instant, Zone};
    /// assert_eq!(Zone::AS_WRITTEN.day_number(Instant(-1)), -1);
    /// ```
    pub fn day_number(&self, at: Instant) -> i64 {
        match self.0 {
            None => at.0.div_euclid(86_400),
            Some(_) => self.wall(at).and_utc().timestamp().div_euclid(86_400),
        }
    }

    /// RFC 3339 with the zone's offset, for the wire format: `2026-03-09T07:30:00+01:00`.
    pub fn rfc3339(&self, at: Instant) -> String {
        let utc = at.utc().unwrap_or(DateTime::UNIX_EPOCH);
        match self.0 {
            None => utc.to_rfc3339_opts(SecondsFormat::Secs, true),
            Some(tz) => utc
                .with_timezone(&tz)
                .to_rfc3339_opts(SecondsFormat::Secs, false),
        }
    }
}
