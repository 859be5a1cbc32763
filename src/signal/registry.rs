//! The registry: every pattern test there is, in the order in which reports list them.
//!
//! To add a rule: one file with its struct and `Rule`, one line here, a vector in
//! `tests/reference/run-length/`, and its place in a set.

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
use std::sync::Arc;

/// Every rule with its default parameters, in report order; names are unique.
pub fn all() -> Vec<Arc<dyn Rule>> {
    vec![
        Arc::new(BeyondLimit::default()),
        Arc::new(OneSidedRun::default()),
        Arc::new(SteadyClimb::default()),
        Arc::new(OuterPair::default()),
        Arc::new(OffCentreCluster::default()),
        Arc::new(HuggingCentre::default()),
        Arc::new(SeeSaw::default()),
        Arc::new(AvoidingCentre::default()),
        Arc::new(RangeBeyondLimit::default()),
        Arc::new(SmoothedBeyondLimit::default()),
        Arc::new(AccumulatedBeyondLimit::default()),
        Arc::new(Repeat::default()),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn names_are_unique_words_and_every_rule_says_what_it_asks() {
        let rules = all();
        let names: BTreeSet<&str> = rules.iter().map(|r| r.name()).collect();
        assert_eq!(names.len(), rules.len());
        for rule in rules {
            assert!(
                rule.name()
                    .chars()
                    .all(|c| c.is_ascii_lowercase() || c == '-')
            );
            assert!(rule.asks().ends_with('.'), "{}", rule.asks());
        }
    }
}
