//! How the limits of a stage came about, in plain sentences for the reader of a chart.

use super::autocorrelation::MOST_CARRY_OVER;
use super::constants::D2_OF_TWO;
use super::limits::{FEWEST_FOR_USE, FEWEST_READINGS};
use super::resolution::{decimals_of_step, gap_words, two_digits};
use super::{
    Chart, ChartOptions, ChartedStage, Limits, NoLimits, Origin, SigmaMethod, gap_days_in_force,
};
use crate::time::{Instant, Zone};
use std::fmt::Write as _;

/// How the limits of a stage came about, or why there are none: one to three sentences.
///
/// Dates are those of the lab's `zone`; values carry the unit of the series.
pub fn limits_say(
    chart: &Chart<'_>,
    stage: &ChartedStage,
    options: &ChartOptions,
    zone: &Zone,
) -> String {
    match &stage.limits {
        Ok(limits) => {
            let unit = chart.series.unit();
            let mut text = origin(limits, stage, options, zone);
            text.push(' ');
            text.push_str(&sigma(limits, unit));
            if let Some(kept) = left_over(
                limits,
                gap_days_in_force(chart.series, stage.readings.clone(), options),
            ) {
                text.push(' ');
                text.push_str(&kept);
            }
            text
        }
        Err(none) => no_limits_say(none, chart.series.unit()),
    }
}

fn day(at: Instant, zone: &Zone) -> String {
    zone.date(at).format("%-d %B %Y").to_string()
}

fn origin(limits: &Limits, stage: &ChartedStage, options: &ChartOptions, zone: &Zone) -> String {
    let n = limits.n;
    let (from, to) = (day(limits.from, zone), day(limits.to, zone));
    let whose = if stage.opened_by.is_some() {
        "this stage"
    } else {
        "the series"
    };
    let wanted = options.baseline_readings.max(FEWEST_READINGS);
    match limits.origin {
        Origin::Frozen => {
            format!("The limits were frozen from {n} readings between {from} and {to}.")
        }
        _ if n < wanted => {
            let trial = if limits.origin == Origin::Trial {
                format!(", a trial until there are {FEWEST_FOR_USE}")
            } else {
                String::new()
            };
            format!(
                "Nothing was frozen: the limits rest on all {n} readings of {whose} so far \
                 ({from} to {to}){trial}, and judge nothing before the baseline of {wanted} is complete."
            )
        }
        _ => format!(
            "Nothing was frozen: the limits come from the first {n} readings of {whose}, {from} to {to}, \
             and judge the readings after them."
        ),
    }
}

fn sigma(limits: &Limits, unit: &str) -> String {
    let value = |x: f64| with_unit(&two_digits(x), unit);
    let now = value(limits.sigma);
    let plain = value(limits.plain_sigma);
    match limits.sigma_method {
        SigmaMethod::MovingRange => {
            format!("Sigma {now} is the mean moving range over {D2_OF_TWO:.3}.")
        }
        SigmaMethod::MedianMovingRange => format!(
            "Sigma {now} comes from the median moving range and the centre is the median, so that single \
             odd readings count little; the mean moving range would give {plain}."
        ),
        SigmaMethod::MovingRangeAutocorrelated => {
            let lag1 = limits.lag1.unwrap_or(0.0);
            let from_ranges = limits.moving_range_mean / D2_OF_TWO;
            let used = 1.0 - (from_ranges / limits.sigma).powi(2);
            let part = if used > MOST_CARRY_OVER - 1e-9 {
                format!(
                    "correlation {lag1:.2}; no more than {MOST_CARRY_OVER} of it is allowed for, \
                     since so much may be a drift in the baseline"
                )
            } else {
                format!("correlation {lag1:.2}, of which {used:.2} is sure enough to allow for")
            };
            format!(
                "Readings carry over from check to check ({part}), so sigma was widened from {} to {now}; \
                 plain limits would alarm too often.",
                value(from_ranges)
            )
        }
        SigmaMethod::IntervalCensored => {
            let step = limits.resolution.unwrap_or(0.0);
            let decimals = decimals_of_step(step) as usize;
            format!(
                "The readings are rounded to {}, coarse beside their spread, so centre and sigma ({now}) were \
                 fitted to the rounded values; the mean moving range would give {plain}.",
                with_unit(&format!("{step:.decimals$}"), unit)
            )
        }
    }
}

/// What was not used, and what stands out in the baseline; `None` when nothing.
fn left_over(limits: &Limits, gap_days: f64) -> Option<String> {
    let mut text = String::new();
    match limits.moving_ranges_skipped {
        0 => {}
        1 => text.push_str("One moving range was not taken"),
        many => {
            // Writing to a String cannot fail.
            let _ = write!(text, "{many} moving ranges were not taken");
        }
    }
    if !text.is_empty() {
        let _ = write!(
            text,
            ", across an excluded reading, the start of a stage or a gap of more than {}",
            gap_words(gap_days)
        );
    }
    if !limits.screened.is_empty() {
        text.push_str(if text.is_empty() { "" } else { "; " });
        let (subject, verb, them) = match limits.screened.len() {
            1 => ("one reading".to_owned(), "lies", "it was"),
            many => (format!("{many} readings"), "lie", "they were"),
        };
        let _ = write!(
            text,
            "{subject} of the baseline {verb} outside its own screening limits: {them} kept, look whether an \
             event explains it"
        );
    }
    if text.is_empty() {
        return None;
    }
    text.push('.');
    let mut letters = text.chars();
    let first = letters.next()?;
    Some(first.to_uppercase().chain(letters).collect())
}

/// Why there are no limits, in a sentence.
pub fn no_limits_say(none: &NoLimits, unit: &str) -> String {
    match none {
        NoLimits::TooFew { n } if *n < FEWEST_READINGS => {
            let readings = match n {
                0 => "no reading".to_owned(),
                1 => "1 reading".to_owned(),
                _ => format!("{n} readings"),
            };
            format!(
                "There are no limits: {readings} so far, and {FEWEST_READINGS} are the fewest that limits can rest on."
            )
        }
        NoLimits::TooFew { n } => format!(
            "There are no limits: of {n} readings too few follow one another closely enough for moving ranges."
        ),
        NoLimits::NoSpread { n, value } => format!(
            "There are no limits: all {n} readings of the baseline are {}, so nothing tells how much they vary; \
             write the readings down with one more decimal.",
            with_unit(&shortest(*value), unit)
        ),
    }
}

/// A value without the digits that a unit conversion leaves behind.
fn shortest(value: f64) -> String {
    let text = format!("{value:.4}");
    let short = text.trim_end_matches('0').trim_end_matches('.');
    short.to_owned()
}

fn with_unit(number: &str, unit: &str) -> String {
    match unit {
        "" => number.to_owned(),
        "%" => format!("{number} %"),
        _ => format!("{number} {unit}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::chart;
    use crate::chart::tests_support::{OPTIONS, daily, noisy};
    use crate::series::{Exclusion, StageStart};

    fn say(series: &crate::series::Series, options: &ChartOptions) -> String {
        let charted = chart(series, None, options);
        limits_say(
            &charted,
            &charted.stages[charted.stages.len() - 1],
            options,
            &Zone::AS_WRITTEN,
        )
    }

    #[test]
    fn an_own_baseline_says_that_nothing_was_frozen() {
        let text = say(&daily(&noisy(40, 0.0)), &OPTIONS);
        assert!(text.starts_with(
            "Nothing was frozen: the limits come from the first 30 readings of the series, 1 January 1970 to \
             30 January 1970, and judge the readings after them. Sigma "
        ), "{text}");
        assert!(
            text.contains(" °C is the mean moving range over 1.128."),
            "{text}"
        );
        assert!(!text.contains("not taken"), "{text}");
    }

    #[test]
    fn a_forming_baseline_says_that_it_is_a_trial() {
        let text = say(&daily(&noisy(12, 0.0)), &OPTIONS);
        assert!(
            text.contains("all 12 readings of the series so far"),
            "{text}"
        );
        assert!(text.contains("a trial until there are 20"), "{text}");
        let text = say(&daily(&noisy(25, 0.0)), &OPTIONS);
        assert!(
            text.contains("baseline of 30 is complete") && !text.contains("trial"),
            "{text}"
        );
    }

    #[test]
    fn carry_over_and_rounding_give_the_plain_figure_too() {
        let text = say(&daily(&noisy(40, 0.8)), &OPTIONS);
        assert!(text.contains("so sigma was widened from "), "{text}");
        let rounded: Vec<f64> = noisy(40, 0.0).iter().map(|v| v.round()).collect();
        let text = say(&daily(&rounded), &OPTIONS);
        assert!(
            text.contains("rounded to 1 °C, coarse beside their spread"),
            "{text}"
        );
        assert!(text.contains("the mean moving range would give "), "{text}");
        let robust = ChartOptions {
            robust: true,
            ..OPTIONS
        };
        assert!(say(&daily(&noisy(40, 0.0)), &robust).contains("from the median moving range"));
    }

    #[test]
    fn what_was_left_out_is_counted() {
        let mut values = noisy(40, 0.0);
        values[20] += 30.0;
        let reason = "door open".into();
        let exclusions = vec![Exclusion { index: 5, reason }];
        let later = vec![StageStart {
            index: 2,
            at: None,
            what: "new nozzle".into(),
        }];
        let series = daily(&values).with_marks(exclusions, later).unwrap();
        let text = say(&series, &OPTIONS);
        assert!(text.contains("first 30 readings of this stage"), "{text}");
        assert!(text.contains("2 moving ranges were not taken, across an excluded reading, the start of a stage or a gap of more than 7 days; one reading of the baseline lies outside its own screening limits: it was kept"), "{text}");
    }

    #[test]
    fn no_limits_say_why() {
        assert!(
            say(&daily(&[6.8; 3]), &OPTIONS).contains("3 readings so far, and 8 are the fewest")
        );
        assert!(say(&daily(&[]), &OPTIONS).contains("no reading so far"));
        assert!(
            say(&daily(&[35.0; 30]), &OPTIONS)
                .contains("all 30 readings of the baseline are 35 °C")
        );
    }
}
