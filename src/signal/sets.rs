//! Named rule sets: three published ones, our default, and two more of ours.
//!
//! The published sets are as in their source, for readings that are independent and
//! normal; on autocorrelated readings they alarm several times as often.

use super::Rule;
use super::accumulated_beyond_limit::AccumulatedBeyondLimit;
use super::avoiding_centre::AvoidingCentre;
use super::beyond_limit::BeyondLimit;
use super::hugging_centre::HuggingCentre;
use super::off_centre_cluster::OffCentreCluster;
use super::one_sided_run::OneSidedRun;
use super::outer_pair::OuterPair;
use super::range_beyond_limit::RangeBeyondLimit;
use super::repeat::Repeat;
use super::see_saw::SeeSaw;
use super::smoothed_beyond_limit::SmoothedBeyondLimit;
use super::steady_climb::SteadyClimb;
use crate::detect::{self, Budget};
use std::borrow::Cow;
use std::fmt;
use std::sync::Arc;

/// Longest gap that a pattern may span when the lab sets none, days.
const GAP_DAYS: f64 = 7.0;

/// Signals of the default set in 370 readings of a steady series with limits from 30
/// readings, by our own simulation (see [`RuleSet::patterns`]).
const PATTERNS_PER_370: f64 = 1.7;

/// The same of the set with a memory, on the trial's cabinets ([`RuleSet::with_memory`]).
const WITH_MEMORY_PER_370: f64 = 1.0;

/// Mean readings to the first signal of the four tests on independent normal readings with
/// known limits (exact: Champ & Woodall, Technometrics 29 (1987) 393).
const FOUR_TESTS: f64 = 91.75;

/// The same of the eight tests (our own simulation of 6000 runs, standard error 0.9; no
/// exact value is published). Limits from few readings alarm more often than either says.
const EIGHT_TESTS: f64 = 73.0;

/// Rules in the order in which they are run and listed.
#[derive(Clone)]
pub struct RuleSet {
    /// Name, as `steadyfog` or `nelson-1984`.
    pub name: &'static str,
    /// Where the set comes from and how sure that is.
    pub source: Cow<'static, str>,
    /// Its pattern rules; none where the set is the watch.
    pub rules: Vec<Arc<dyn Rule>>,
    /// The watch ([`crate::detect`]) with its false-alarm budget, in place of pattern rules.
    pub watch: Option<Budget>,
    /// Longest gap that a pattern may span, days.
    pub gap_days: f64,
    /// Whether its rules allow for what a short, autocorrelated or rounded baseline leaves
    /// unknown ([`super::Allowance`]); a published set is judged as published.
    pub allowances: bool,
    /// Signals that chance alone brings about, for each judged reading of a steady series;
    /// `None` where it is not known.
    pub false_alarms: Option<f64>,
}

impl fmt::Debug for RuleSet {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let rules: Vec<&str> = self.rules.iter().map(|rule| rule.name()).collect();
        f.debug_struct("RuleSet")
            .field("name", &self.name)
            .field("rules", &rules)
            .field("gap_days", &self.gap_days)
            .finish()
    }
}

/// Names of all sets, the default first.
pub const NAMES: [&str; 6] = [
    "steadyfog",
    "patterns",
    "with-memory",
    "western-electric-1956",
    "nelson-1984",
    "iso-8258-1991",
];

impl RuleSet {
    /// The set of that name; `None` when there is none ([`NAMES`] lists them).
    ///
    /// ```
    /// use steadyfog::signal::RuleSet;
    /// assert_eq!(RuleSet::named("nelson-1984").map(|s| s.rules.len()), Some(8));
    /// assert!(RuleSet::named("nelson").is_none());
    /// ```
    pub fn named(name: &str) -> Option<RuleSet> {
        match name {
            "steadyfog" => Some(RuleSet::steadyfog()),
            "patterns" => Some(RuleSet::patterns()),
            "with-memory" => Some(RuleSet::with_memory()),
            "western-electric-1956" => Some(RuleSet::western_electric_1956()),
            "nelson-1984" => Some(RuleSet::nelson_1984()),
            "iso-8258-1991" => Some(RuleSet::iso_8258_1991()),
            _ => None,
        }
    }

    /// The same set with the lab's own longest gap, days.
    pub fn with_gap_days(mut self, gap_days: f64) -> RuleSet {
        self.gap_days = gap_days;
        self
    }

    /// Our default: the watch, whose rules learn from every reading and share one
    /// false-alarm budget ([`crate::detect`] has what was measured of it).
    pub fn steadyfog() -> RuleSet {
        let budget = Budget::default();
        RuleSet {
            name: "steadyfog",
            source: Cow::Borrowed(
                "ours: rules that learn from every reading, calibrated together by simulation \
                     to one false alarm in 370 checks of a steady series",
            ),
            rules: Vec::new(),
            watch: Some(budget),
            gap_days: GAP_DAYS,
            allowances: false,
            false_alarms: Some(1.0 / budget.checks_per_false_alarm),
        }
    }

    /// The set with another false-alarm budget, which `source` tells from then on; `None`
    /// for pattern rules, whose rate is what it is.
    #[must_use]
    pub fn with_budget(mut self, budget: Budget, source: String) -> Option<RuleSet> {
        self.watch?;
        self.watch = Some(budget);
        self.false_alarms = Some(1.0 / budget.checks_per_false_alarm);
        self.source = Cow::Owned(source);
        Some(self)
    }

    /// Name and meaning of each rule of the set, in order.
    pub fn texts(&self) -> Vec<(String, String)> {
        if self.watch.is_some() {
            let told = detect::RULES.iter();
            return told
                .map(|(n, asks)| ((*n).to_owned(), (*asks).to_owned()))
                .collect();
        }
        let told = self.rules.iter();
        told.map(|rule| (rule.name().to_owned(), rule.asks()))
            .collect()
    }

    /// Pattern tests of ours: few false alarms on logs that are rounded, carry over from check to
    /// check and have short baselines.
    ///
    /// One reading beyond 3 sigma; a run of ten; two of three beyond 2.3 sigma; four of five
    /// beyond 1.2 sigma; a moving range above 1.3 times its limit (at 1 time it alone
    /// alarms once in 80 readings); repeated values. Every distance is widened for what the
    /// baseline leaves unknown and for rounding, and the run grows with carry-over and an
    /// uncertain centre line ([`super::Allowance`]); so a reading may lie outside the limits
    /// drawn without a signal, and the sentence of one that signals says what was allowed
    /// for. Left out: steady climbs, the see-saw and the two centre tests, which mostly
    /// answer to autocorrelation and rounding.
    ///
    /// Signals per 370 readings on steady simulated cabinets with limits from the first 30
    /// readings as the charts set them, mean of autocorrelation 0, 0.25 and 0.5 with steps of
    /// 0.1 and 0.8 sd (our own simulation, seeded, repeated by a test): this set 1.7,
    /// `western-electric-1956` 16.6, `nelson-1984` 16.8. With autocorrelation
    /// 0.25 and steps of 0.8 sd, the first signal comes at the 12th reading (median)
    /// after a step of 1.5 sd, at the 3rd after 3 sd, and at the 20th after
    /// the start of a drift of 0.1 sd a reading.
    pub fn patterns() -> RuleSet {
        RuleSet {
            name: "patterns",
            source: Cow::Borrowed(
                "ours: chosen for few false alarms on rounded, autocorrelated check logs; every \
                     distance is widened for rounding and for limits from few readings",
            ),
            rules: vec![
                Arc::new(BeyondLimit::default()),
                Arc::new(OneSidedRun {
                    at_least: 10,
                    allow_for_autocorrelation: true,
                }),
                Arc::new(OuterPair {
                    beyond: 2.3,
                    ..OuterPair::default()
                }),
                Arc::new(OffCentreCluster {
                    beyond: 1.2,
                    ..OffCentreCluster::default()
                }),
                Arc::new(RangeBeyondLimit { times: 1.3 }),
                Arc::new(Repeat {
                    chance: 1e-4,
                    ..Repeat::default()
                }),
            ],
            watch: None,
            gap_days: GAP_DAYS,
            allowances: true,
            false_alarms: Some(PATTERNS_PER_370 / 370.0),
        }
    }

    /// The classical charts that remember, beside three sigma limits.
    ///
    /// One reading beyond 3 sigma; a moving range above 1.3 times its limit; the smoothed
    /// chart (weight 0.2) beyond 3.1 of its standard deviations; the accumulated chart
    /// (slack 0.5) beyond 5.5 sigma. Both charts run on readings less what carried over from the
    /// one before, start anew with every stage and after a gap, and allow for rounding and a
    /// short baseline as the other two do ([`super::Allowance`]).
    ///
    /// The two widths were chosen together by our own seeded simulation: the trial's steady
    /// cabinets (collection rate, autocorrelation 0 to 0.5, catches rounded to about half a
    /// standard deviation, weekday checks with gaps, limits from the first 30 readings).
    /// On two seeds not tuned on, 8,000 cabinets each, 370 checks brought 1.05 and 0.99 signals,
    /// of which about beyond-limit 0.35, range-beyond-limit 0.06, smoothed and accumulated 0.3
    /// each. Signals that overlap counted as one, about 0.7. The mean hides what carry-over does, since φ
    /// from 30 readings is drawn toward 0.25: about 0.5 at autocorrelation 0, 0.9 at 0.25, 1.9
    /// at 0.5. On the cabinets of [`RuleSet::patterns`], with steps of 0.1 and 0.8 sd: 1.2
    /// (`patterns` 1.7).
    ///
    /// With autocorrelation 0.25 and steps of 0.8 sd, the first signal comes at the 41st
    /// reading (median) after a step of 1 sd, at the 12th after 1.5 sd, at the 3rd
    /// after 3 sd, and at the 21st after the start of a drift of 0.1 sd a reading.
    /// Taking carry-over off costs sight of small steps: with autocorrelation 0.5 and steps
    /// of 0.1 sd a step of 1 sd is seen at the 106th. The default set sees sooner.
    pub fn with_memory() -> RuleSet {
        RuleSet {
            name: "with-memory",
            source: Cow::Borrowed(
                "ours: the smoothed and the accumulated chart beside three sigma limits, widths \
                     chosen together by simulation to one false alarm in 370 checks of a steady \
                     series",
            ),
            rules: vec![
                Arc::new(BeyondLimit::default()),
                Arc::new(RangeBeyondLimit { times: 1.3 }),
                Arc::new(SmoothedBeyondLimit {
                    weight: 0.2,
                    width: 3.1,
                }),
                Arc::new(AccumulatedBeyondLimit {
                    slack: 0.5,
                    decision: 5.5,
                }),
            ],
            watch: None,
            gap_days: GAP_DAYS,
            allowances: true,
            false_alarms: Some(WITH_MEMORY_PER_370 / 370.0),
        }
    }

    /// The four tests of the Western Electric handbook.
    ///
    /// Its further patterns (stratification, mixture, systematic variation) are in the
    /// registry but not in this set, as in Champ & Woodall (1987).
    pub fn western_electric_1956() -> RuleSet {
        RuleSet {
            name: "western-electric-1956",
            source: Cow::Borrowed(
                "Western Electric, Statistical Quality Control Handbook (1956), the four \
                     tests as quoted by Montgomery & Runger, Applied Statistics and Probability \
                     for Engineers",
            ),
            rules: vec![
                Arc::new(BeyondLimit::default()),
                Arc::new(OuterPair::default()),
                Arc::new(OffCentreCluster::default()),
                Arc::new(OneSidedRun {
                    at_least: 8,
                    allow_for_autocorrelation: false,
                }),
            ],
            watch: None,
            gap_days: GAP_DAYS,
            allowances: false,
            false_alarms: Some(1.0 / FOUR_TESTS),
        }
    }

    /// The eight tests of Nelson (1984), in his order.
    pub fn nelson_1984() -> RuleSet {
        RuleSet {
            name: "nelson-1984",
            source: Cow::Borrowed(
                "Nelson, Journal of Quality Technology 16 (1984) 237; counts from memory",
            ),
            rules: eight_tests(),
            watch: None,
            gap_days: GAP_DAYS,
            allowances: false,
            false_alarms: Some(1.0 / EIGHT_TESTS),
        }
    }

    /// The eight tests for assignable causes of ISO 8258:1991, the same as Nelson's.
    pub fn iso_8258_1991() -> RuleSet {
        RuleSet {
            name: "iso-8258-1991",
            source: Cow::Borrowed(
                "ISO 8258:1991 (withdrawn), tests for assignable causes; counts from memory",
            ),
            rules: eight_tests(),
            watch: None,
            gap_days: GAP_DAYS,
            allowances: false,
            false_alarms: Some(1.0 / EIGHT_TESTS),
        }
    }
}

/// Nelson's eight tests with his counts.
fn eight_tests() -> Vec<Arc<dyn Rule>> {
    vec![
        Arc::new(BeyondLimit::default()),
        Arc::new(OneSidedRun::default()),
        Arc::new(SteadyClimb::default()),
        Arc::new(SeeSaw::default()),
        Arc::new(OuterPair::default()),
        Arc::new(OffCentreCluster::default()),
        Arc::new(HuggingCentre::default()),
        Arc::new(AvoidingCentre::default()),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_listed_name_is_a_set_of_that_name() {
        for name in NAMES {
            assert_eq!(RuleSet::named(name).map(|set| set.name), Some(name));
        }
    }
}
