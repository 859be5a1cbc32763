//! The validated series: one characteristic of one cabinet, in time order, all finite.
//!
//! Constructors are the only way in, so every function that takes a [`Series`] may
//! rely on order and finiteness. It holds what was measured; limits and verdicts
//! live in `chart` and `signal`.

use crate::characteristic::Characteristic;
use crate::time::Instant;
use std::borrow::Cow;
use std::sync::Arc;
use thiserror::Error;

/// Why readings do not make a series.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum SeriesError {
    /// A value is NaN or infinite.
    #[error("reading {index} is {value}, not a finite number")]
    NotFinite {
        /// Index of the reading, from 0.
        index: usize,
        /// What it is.
        value: f64,
    },
    /// A reading is earlier than the one before it.
    #[error("reading {index} is earlier than the reading before it")]
    NotOrdered {
        /// Index of the reading, from 0.
        index: usize,
    },
    /// The columns differ in length.
    #[error("{times} times but {values} values")]
    Lengths {
        /// Number of times.
        times: usize,
        /// Number of values.
        values: usize,
    },
    /// An exclusion or stage points past the end, or they are not in order.
    #[error("{what} at reading {index} is out of range or out of order")]
    Mark {
        /// "exclusion" or "stage".
        what: &'static str,
        /// The index it names.
        index: usize,
    },
}

/// A reading left out of limits and rules, but still shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Exclusion {
    /// Index of the reading in its series.
    pub index: usize,
    /// Why, in the words of `events.csv`.
    pub reason: Arc<str>,
}

/// A stretch between two events after which limits may rightly differ.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StageStart {
    /// Index of the first reading of the stage.
    pub index: usize,
    /// When the event that opened the stage happened; `None` for the first stage.
    pub at: Option<Instant>,
    /// What happened, in the words of `events.csv`; empty for the first stage.
    pub what: Arc<str>,
}

/// Times that never go back, which the series of a cabinet may share.
#[derive(Debug, Clone)]
pub struct Times {
    all: Arc<Vec<Instant>>,
    /// How many of them count, from the first.
    len: usize,
}

impl Times {
    /// The times of readings; equal ones are allowed.
    ///
    /// # Errors
    /// [`SeriesError::NotOrdered`] when a time is earlier than the one before it.
    pub fn new(at: Vec<Instant>) -> Result<Times, SeriesError> {
        if let Some(index) = at.windows(2).position(|pair| pair[1] < pair[0]) {
            return Err(SeriesError::NotOrdered { index: index + 1 });
        }
        Ok(Times {
            len: at.len(),
            all: Arc::new(at),
        })
    }

    /// The times where each is later than the one before it; `None` for any others.
    pub(crate) fn ascending(at: &Arc<Vec<Instant>>) -> Option<Times> {
        at.is_sorted_by(|a, b| a < b).then(|| Times {
            len: at.len(),
            all: Arc::clone(at),
        })
    }

    /// Whether both are one list, which tells that they are equal without looking at them.
    pub(crate) fn is_shared_with(&self, other: &Times) -> bool {
        self.len == other.len && Arc::ptr_eq(&self.all, &other.all)
    }

    /// The times sorted.
    pub(crate) fn sorted(mut at: Vec<Instant>) -> Times {
        at.sort();
        Times {
            len: at.len(),
            all: Arc::new(at),
        }
    }

    /// The times, never decreasing.
    pub fn at(&self) -> &[Instant] {
        self.all.get(..self.len).unwrap_or(&self.all)
    }
}

impl PartialEq for Times {
    fn eq(&self, other: &Times) -> bool {
        self.at() == other.at()
    }
}

/// Values that were all found finite, so that no one needs to look again.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Finite(Vec<f64>);

impl Finite {
    /// Values copied and looked at a piece at a time.
    const AT_ONCE: usize = 512;

    /// The values when all are finite, copied where they are borrowed.
    ///
    /// # Errors
    /// The values as given when one is not finite.
    pub(crate) fn new(values: Cow<'_, [f64]>) -> Result<Finite, Cow<'_, [f64]>> {
        match values {
            Cow::Owned(owned) if all_finite(&owned) => Ok(Finite(owned)),
            Cow::Owned(owned) => Err(Cow::Owned(owned)),
            Cow::Borrowed(borrowed) => Finite::copied(borrowed).ok_or(values),
        }
    }

    /// A piece that was looked at is copied while it is near: a fleet's columns are fetched
    /// from memory once, not twice.
    fn copied(values: &[f64]) -> Option<Finite> {
        let mut copy = Vec::with_capacity(values.len());
        for piece in values.chunks(Finite::AT_ONCE) {
            if !all_finite(piece) {
                return None;
            }
            copy.extend_from_slice(piece);
        }
        Some(Finite(copy))
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

/// One characteristic of one cabinet: ordered in time, all values finite.
#[derive(Debug, Clone, PartialEq)]
pub struct Series {
    cabinet: Arc<str>,
    characteristic: Characteristic,
    unit: Arc<str>,
    times: Times,
    value: Vec<f64>,
    exclusions: Vec<Exclusion>,
    stages: Vec<StageStart>,
}

impl Series {
    /// A series without exclusions, in one stage.
    ///
    /// `at` and `value` have equal length; equal times are allowed (two checks that
    /// were written with a date only), earlier ones are not. `unit` is that of every
    /// value. There is no missing value: a check without this characteristic has no
    /// reading here.
    ///
    /// # Errors
    /// [`SeriesError`] when lengths differ, a value is not finite or a time goes back.
    ///
    /// ```
    /// use steadyfog::{characteristic::Characteristic, series::Series, time::Instant};
    /// let s = Series::new("Plover", Characteristic::Ph, "", vec![Instant(0), Instant(86_400)], vec![6.8, 6.9])?;
    /// assert_eq!(s.len(), 2);
    /// assert!(Series::new("Plover", Characteristic::Ph, "", vec![Instant(0)], vec![f64::NAN]).is_err());
    /// # Ok::<(), steadyfog::series::SeriesError>(())
    /// ```
    pub fn new(
        cabinet: impl Into<Arc<str>>,
        characteristic: Characteristic,
        unit: impl Into<Arc<str>>,
        at: Vec<Instant>,
        value: Vec<f64>,
    ) -> Result<Series, SeriesError> {
        check_values(&value, at.len())?;
        let times = Times::new(at)?;
        Ok(Series::of(cabinet, characteristic, unit, times, value))
    }

    /// As [`Series::new`], at times that were found in order before and may be shared, of
    /// values that were found finite.
    ///
    /// # Errors
    /// [`SeriesError::Lengths`] when lengths differ.
    pub(crate) fn at_times(
        cabinet: impl Into<Arc<str>>,
        characteristic: Characteristic,
        unit: impl Into<Arc<str>>,
        times: Times,
        Finite(value): Finite,
    ) -> Result<Series, SeriesError> {
        check_lengths(&value, times.len)?;
        Ok(Series::of(cabinet, characteristic, unit, times, value))
    }

    /// Of parts that were checked.
    fn of(
        cabinet: impl Into<Arc<str>>,
        characteristic: Characteristic,
        unit: impl Into<Arc<str>>,
        times: Times,
        value: Vec<f64>,
    ) -> Series {
        let first_stage = StageStart {
            index: 0,
            at: None,
            what: Arc::from(""),
        };
        Series {
            cabinet: cabinet.into(),
            characteristic,
            unit: unit.into(),
            times,
            value,
            exclusions: Vec::new(),
            stages: vec![first_stage],
        }
    }

    /// The same readings with exclusions (by ascending index) and later stages.
    ///
    /// `later_stages` are those after the first, by ascending index, each above 0 and
    /// below the length.
    ///
    /// # Errors
    /// [`SeriesError::Mark`] when an index is out of range or not above the one before it.
    pub fn with_marks(
        mut self,
        exclusions: Vec<Exclusion>,
        later_stages: Vec<StageStart>,
    ) -> Result<Series, SeriesError> {
        let len = self.len();
        let mut next_allowed = 0;
        for exclusion in &exclusions {
            if exclusion.index < next_allowed || exclusion.index >= len {
                return Err(SeriesError::Mark {
                    what: "exclusion",
                    index: exclusion.index,
                });
            }
            next_allowed = exclusion.index + 1;
        }
        next_allowed = 1;
        for stage in &later_stages {
            if stage.index < next_allowed || stage.index >= len {
                return Err(SeriesError::Mark {
                    what: "stage",
                    index: stage.index,
                });
            }
            next_allowed = stage.index + 1;
        }
        self.exclusions = exclusions;
        self.stages.truncate(1);
        self.stages.extend(later_stages);
        Ok(self)
    }

    /// The readings before `end`, with the exclusions and stages that lie before it.
    ///
    /// A review of a past month must not know what came later.
    #[must_use]
    pub fn before(mut self, end: Instant) -> Series {
        let len = self.at().partition_point(|&at| at < end);
        self.times.len = len;
        self.value.truncate(len);
        self.exclusions.retain(|e| e.index < len);
        self.stages.retain(|s| s.index < len.max(1));
        self
    }

    /// The cabinet's identifier.
    pub fn cabinet(&self) -> &str {
        &self.cabinet
    }
    /// What was measured.
    pub fn characteristic(&self) -> &Characteristic {
        &self.characteristic
    }
    /// The unit of every value; empty where there is none.
    pub fn unit(&self) -> &str {
        &self.unit
    }
    /// Number of readings, excluded ones included.
    pub fn len(&self) -> usize {
        self.value.len()
    }
    /// Whether there is no reading.
    pub fn is_empty(&self) -> bool {
        self.value.is_empty()
    }
    /// When each reading was taken; never decreasing.
    pub fn at(&self) -> &[Instant] {
        self.times.at()
    }
    /// The readings, all finite.
    pub fn values(&self) -> &[f64] {
        &self.value
    }
    /// The excluded readings by ascending index.
    pub fn exclusions(&self) -> &[Exclusion] {
        &self.exclusions
    }
    /// Whether the reading at `index` is excluded.
    pub fn is_excluded(&self, index: usize) -> bool {
        self.exclusions
            .binary_search_by_key(&index, |e| e.index)
            .is_ok()
    }
    /// The stages by ascending first index; the first starts at 0. Never empty.
    pub fn stages(&self) -> &[StageStart] {
        &self.stages
    }
}

/// That there are as many values as times.
fn check_lengths(values: &[f64], times: usize) -> Result<(), SeriesError> {
    let values = values.len();
    if values == times {
        return Ok(());
    }
    Err(SeriesError::Lengths { times, values })
}

/// That there are as many values as times, all finite.
fn check_values(values: &[f64], times: usize) -> Result<(), SeriesError> {
    check_lengths(values, times)?;
    if all_finite(values) {
        return Ok(());
    }
    let bad = values.iter().enumerate().find(|(_, v)| !v.is_finite());
    bad.map_or(Ok(()), |(index, &value)| {
        Err(SeriesError::NotFinite { index, value })
    })
}

/// Whether every value is finite; looked at together, in a quarter of the time of one by one.
pub(crate) fn all_finite(values: &[f64]) -> bool {
    values.iter().fold(true, |all, v| all & v.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_found_finite_wherever_the_other_one_stands() {
        for len in [0, 1, 511, 512, 513, 1300] {
            let values: Vec<f64> = (0..len).map(f64::from).collect();
            let whole = Finite(values.clone());
            assert_eq!(Finite::new(Cow::Borrowed(&values)), Ok(whole.clone()));
            assert_eq!(Finite::new(Cow::Owned(values.clone())), Ok(whole));
            for odd in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
                for at in [0, 511, 512, 1299] {
                    let mut values = values.clone();
                    let Some(slot) = values.get_mut(at) else {
                        continue;
                    };
                    *slot = odd;
                    let refused = Finite::new(Cow::Borrowed(&values)).unwrap_err();
                    assert!(matches!(refused, Cow::Borrowed(same) if same.len() == values.len()));
                    assert!(Finite::new(Cow::Owned(values)).is_err());
                }
            }
        }
    }

    #[test]
    fn finite_values_still_need_as_many_times() {
        let values = Finite::new(Cow::Borrowed(&[6.8, 6.9])).unwrap();
        let times = Times::sorted(vec![Instant(0)]);
        let series = Series::at_times("Plover", Characteristic::Ph, "", times, values);
        let lengths = SeriesError::Lengths {
            times: 1,
            values: 2,
        };
        assert_eq!(series, Err(lengths));
    }
}
