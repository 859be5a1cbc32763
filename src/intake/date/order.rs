//! Which of day and month comes first, from a column's samples.
//!
//! A figure above 12 decides, and so does a weekday that fits one reading only. That
//! readings run from day to day only suggests.

use super::written::{self, Written};
use crate::intake::words;
use crate::issue::shown;
use crate::lab::DateOrder;
use chrono::{Datelike, NaiveDate, Weekday};
use std::collections::BTreeSet;

/// What samples show about the order of day, month and year.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum OrderEvidence {
    /// No sample needs it: ISO dates, month names, serials, or no dates at all.
    NotNeeded,
    /// One order fits all samples; with the sample that decided it.
    Decided(DateOrder, String),
    /// Several orders fit; with a sample, and the order in which the samples run from
    /// day to day, as a suggestion for a person to confirm.
    Open(String, Option<DateOrder>),
    /// No order fits all: two samples that exclude each other. Cells that can be read
    /// one way only may still be read one by one.
    Contradictory(String, String),
}

/// A sample of three figures and the orders it allows.
struct Sample<'a> {
    text: &'a str,
    written: Written,
    fits: Vec<DateOrder>,
}

const ORDERS: [DateOrder; 3] = [
    DateOrder::DayFirst,
    DateOrder::MonthFirst,
    DateOrder::YearFirst,
];

/// What samples show; cells that are no dates say nothing.
///
/// ```
/// use steadyfog::intake::date::{infer_order, OrderEvidence};
/// use steadyfog::lab::DateOrder::DayFirst;
/// let decided = infer_order(["03/04/2026", "13/04/2026"]);
/// assert_eq!(decided, OrderEvidence::Decided(DayFirst, "13/04/2026".into()));
/// assert!(matches!(infer_order(["03/04/2026"]), OrderEvidence::Open(_, None)));
/// ```
pub fn infer_order<'a>(samples: impl IntoIterator<Item = &'a str>) -> OrderEvidence {
    let samples: Vec<Sample> = samples.into_iter().filter_map(open_sample).collect();
    let mut left = ORDERS.to_vec();
    let mut decider = None;
    for sample in &samples {
        let before = left.len();
        left.retain(|order| sample.fits.contains(order));
        if left.is_empty() {
            return contradiction(&samples, sample);
        }
        if left.len() == 1 && before > 1 {
            decider = Some(sample.text);
        }
    }
    if left.len() > 1 {
        drop_by_variety(&samples, &mut left);
    }
    let Some(example) = samples
        .iter()
        .find(|s| days(s, &left).len() > 1)
        .or(samples.first())
    else {
        return OrderEvidence::NotNeeded;
    };
    match left.as_slice() {
        [only] => OrderEvidence::Decided(*only, shown(decider.unwrap_or(example.text))),
        _ if samples.iter().all(|s| days(s, &left).len() < 2) => OrderEvidence::NotNeeded,
        _ => OrderEvidence::Open(shown(example.text), likelier(&samples, &left)),
    }
}

/// The sample, when its figures leave the order open or decide it.
fn open_sample(text: &str) -> Option<Sample<'_>> {
    // The split works on folded text; the sample is shown as written.
    let folded = words::fold(text);
    let (weekdays, written, _) = written::split(&folded)?;
    let orders = written.orders();
    if orders.len() < 2 {
        return None;
    }
    let fits: Vec<DateOrder> = orders
        .iter()
        .filter(|o| is_day(&written, **o, &weekdays))
        .copied()
        .collect();
    (!fits.is_empty()).then_some(Sample {
        text,
        written,
        fits,
    })
}

fn is_day(written: &Written, order: DateOrder, weekdays: &[Weekday]) -> bool {
    written
        .as_order(order)
        .is_some_and(|day| weekdays.is_empty() || weekdays.contains(&day.weekday()))
}

/// The different days a sample may mean.
fn days(sample: &Sample, orders: &[DateOrder]) -> BTreeSet<NaiveDate> {
    orders
        .iter()
        .filter_map(|o| sample.written.as_order(*o))
        .collect()
}

/// In a column of `26-03-01`, `26-03-02` the figure that changes least is the year.
fn drop_by_variety(samples: &[Sample], left: &mut Vec<DateOrder>) {
    if !left.contains(&DateOrder::YearFirst) {
        return;
    }
    let variety = |pick: usize| {
        samples
            .iter()
            .filter_map(|s| match &s.written {
                Written::Figures { parts, .. } => parts.get(pick).map(|f| f.value),
                _ => None,
            })
            .collect::<BTreeSet<u32>>()
            .len()
    };
    match variety(0).cmp(&variety(2)) {
        std::cmp::Ordering::Less => left.retain(|o| *o == DateOrder::YearFirst),
        std::cmp::Ordering::Greater => left.retain(|o| *o != DateOrder::YearFirst),
        std::cmp::Ordering::Equal => {}
    }
}

/// Two samples that exclude each other.
fn contradiction(samples: &[Sample], last: &Sample) -> OrderEvidence {
    let other = samples
        .iter()
        .find(|s| !s.fits.iter().any(|order| last.fits.contains(order)))
        .or(samples.first())
        .map_or(last.text, |s| s.text);
    OrderEvidence::Contradictory(shown(other), shown(last.text))
}

/// The order in which at least six of ten steps between samples are 0 to 4 days, if it is
/// one only.
fn likelier(samples: &[Sample], left: &[DateOrder]) -> Option<DateOrder> {
    const FEWEST_STEPS: usize = 3;
    let runs = |order: DateOrder| {
        let days: Vec<NaiveDate> = samples
            .iter()
            .filter_map(|s| s.written.as_order(order))
            .collect();
        let steps = days.windows(2).filter_map(|pair| match pair {
            [a, b] => Some(b.signed_duration_since(*a).num_days()),
            _ => None,
        });
        let (short, all) = steps.fold((0, 0), |(short, all), step| {
            (short + usize::from((0..=4).contains(&step)), all + 1)
        });
        all >= FEWEST_STEPS && short * 10 >= all * 6
    };
    let mut running = left.iter().copied().filter(|order| runs(*order));
    match (running.next(), running.next()) {
        (Some(only), None) => Some(only),
        _ => None,
    }
}
