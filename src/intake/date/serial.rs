//! Day numbers of spreadsheets: 1900 with its 29 February that never was, and 1904.

use super::{DateRefusal, Stamp};
use chrono::{Days, NaiveDate, NaiveTime};

/// First day of a spreadsheet's serials.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Epoch {
    /// Serial 1 is 1 January 1900, and serial 60 a 29 February 1900 that never was.
    #[default]
    Y1900,
    /// Serial 0 is 1 January 1904.
    Y1904,
}

/// Seconds in a day.
const DAY: u32 = 86_400;

/// Last serial read: the end of the year 2199 in the 1900 system.
const LAST: f64 = 109_574.0;

/// The wall-clock stamp of a serial: whole numbers are days, fractions add a time
/// rounded to the second.
///
/// # Errors
/// [`DateRefusal::Serial`] for NaN, for anything outside 1900–2199, and for serial 60 of
/// 1900.
pub fn from_serial(serial: f64, epoch: Epoch) -> Result<Stamp, DateRefusal> {
    // NaN fails the comparison too.
    if !(0.0..LAST).contains(&serial) {
        return Err(DateRefusal::Serial);
    }
    let whole = serial.floor();
    let seconds = ((serial - whole) * f64::from(DAY)).round() as u32;
    let mut days = whole as u64;
    let (seconds, carry) = (seconds % DAY, u64::from(seconds / DAY));
    days += carry;
    let first = match epoch {
        Epoch::Y1904 => NaiveDate::from_ymd_opt(1904, 1, 1),
        Epoch::Y1900 => {
            if days == 0 || days == 60 {
                return Err(DateRefusal::Serial);
            }
            // Past the day that never was, all serials are one too high.
            days -= u64::from(days > 60);
            NaiveDate::from_ymd_opt(1899, 12, 31)
        }
    };
    let day = first
        .and_then(|f| f.checked_add_days(Days::new(days)))
        .ok_or(DateRefusal::Serial)?;
    if serial == whole {
        return Ok(Stamp::Day(day));
    }
    time_of(seconds)
        .map(|time| Stamp::Wall(day.and_time(time)))
        .ok_or(DateRefusal::Serial)
}

/// The time of day of a serial's fraction, rounded to the second.
///
/// # Errors
/// [`DateRefusal::NotATime`] for NaN, negative or infinite serials.
pub fn time_from_serial(serial: f64) -> Result<NaiveTime, DateRefusal> {
    if !(0.0..LAST).contains(&serial) {
        return Err(DateRefusal::NotATime);
    }
    let seconds = ((serial - serial.floor()) * f64::from(DAY)).round() as u32;
    time_of(seconds % DAY).ok_or(DateRefusal::NotATime)
}

fn time_of(seconds: u32) -> Option<NaiveTime> {
    NaiveTime::from_num_seconds_from_midnight_opt(seconds, 0)
}
