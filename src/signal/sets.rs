//! Named rule sets: three published ones, and our default.
//!
//! The published sets are as in their source, for readings that are independent and
//! normal; on autocorrelated readings they alarm several times as often.

use super::Rule;
use super::avoiding_centre::AvoidingCentre;
use super::beyond_limit::BeyondLimit;
use super::hugging_centre::HuggingCentre;
use super::off_centre_cluster::OffCentreCluster;
use super::one_sided_run::OneSidedRun;
use super::outer_pair::OuterPair;
use super::range_beyond_limit::RangeBeyondLimit;
use super::repeat::Repeat;
use super::see_saw::SeeSaw;
use super::steady_climb::SteadyClimb;
use std::fmt;
use std::sync::Arc;

/// Longest gap that a pattern may span when the lab sets none, days.
const GAP_DAYS: f64 = 7.0;

/// Rules in the order in which they are run and listed.
#[derive(Clone)]
pub struct RuleSet {
    /// Name, as `steadyfog` or `nelson-1984`.
    pub name: &'static str,
    /// Where the set comes from and how sure that is.
    pub source: &'static str,
    /// Its rules.
    pub rules: Vec<Arc<dyn Rule>>,
    /// Longest gap that a pattern may span, days.
    pub gap_days: f64,
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
pub const NAMES: [&str; 4] = [
    "steadyfog",
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

    /// Our default: few false alarms on logs that are rounded and carry over from
    /// check to check.
    ///
    /// Beyond-limit at 3 sigma, so that the points it marks are those outside the limits
    /// drawn; a run of nine, longer by as much as the readings carry over; a climb of
    /// seven; the outer pair beyond 2.5 sigma; a moving range above 1.3 times its limit
    /// (at 1 time it alone alarms once in 80 readings); repeated values. Left out: four
    /// of five off centre, the see-saw and the two centre tests, which mostly answer to
    /// autocorrelation and rounding.
    ///
    /// Signals per 370 readings on steady simulated cabinets, mean of autocorrelation
    /// 0, 0.25 and 0.5 with steps of 0.1 and 0.8 sd (our own simulation, seeded, repeated
    /// by a test), with true limits / with limits from 30 readings: this set 2.0 / 5.6,
    /// `western-electric-1956` 10.1 / 14.8, `nelson-1984` 10.1 / 15.2. With limits from 30
    /// readings, autocorrelation 0.25 and steps of 0.8 sd, the median delay of the first
    /// signal is 7 readings after a step of 1.5 sd, 1 after 3 sd, and 17 after the start
    /// of a drift of 0.1 sd a reading.
    pub fn steadyfog() -> RuleSet {
        RuleSet {
            name: "steadyfog",
            source: "ours: chosen for few false alarms on rounded, autocorrelated check logs",
            rules: vec![
                Arc::new(BeyondLimit::default()),
                Arc::new(OneSidedRun {
                    at_least: 9,
                    allow_for_autocorrelation: true,
                }),
                Arc::new(SteadyClimb { at_least: 7 }),
                Arc::new(OuterPair {
                    beyond: 2.5,
                    ..OuterPair::default()
                }),
                Arc::new(RangeBeyondLimit { times: 1.3 }),
                Arc::new(Repeat::default()),
            ],
            gap_days: GAP_DAYS,
        }
    }

    /// The four tests of the Western Electric handbook.
    ///
    /// Its further patterns (stratification, mixture, systematic variation) are in the
    /// registry but not in this set, as in Champ & Woodall (1987).
    pub fn western_electric_1956() -> RuleSet {
        RuleSet {
            name: "western-electric-1956",
            source: "Western Electric, Statistical Quality Control Handbook (1956), the four \
                     tests as quoted by Montgomery & Runger, Applied Statistics and Probability \
                     for Engineers",
            rules: vec![
                Arc::new(BeyondLimit::default()),
                Arc::new(OuterPair::default()),
                Arc::new(OffCentreCluster::default()),
                Arc::new(OneSidedRun {
                    at_least: 8,
                    allow_for_autocorrelation: false,
                }),
            ],
            gap_days: GAP_DAYS,
        }
    }

    /// The eight tests of Nelson (1984), in his order.
    pub fn nelson_1984() -> RuleSet {
        RuleSet {
            name: "nelson-1984",
            source: "Nelson, Journal of Quality Technology 16 (1984) 237; counts from memory",
            rules: eight_tests(),
            gap_days: GAP_DAYS,
        }
    }

    /// The eight tests for assignable causes of ISO 8258:1991, the same as Nelson's.
    pub fn iso_8258_1991() -> RuleSet {
        RuleSet {
            name: "iso-8258-1991",
            source: "ISO 8258:1991 (withdrawn), tests for assignable causes; counts from memory",
            rules: eight_tests(),
            gap_days: GAP_DAYS,
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
