//! `off-centre-cluster`: four of five readings off centre on the same side.
//!
//! Western Electric (1956) test 3; Nelson (1984) test 6.

use super::counting::count_in_zone;
use super::outer_pair::zone_sentence;
use super::{Firing, Rule, RuleInput, Told};

/// `count` of `of` readings in a row beyond `beyond` sigma on the same side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OffCentreCluster {
    /// Readings in the zone.
    pub count: u32,
    /// Length of the window, at most 32.
    pub of: u32,
    /// Inner edge of the zone, in sigma.
    pub beyond: f64,
}

impl Default for OffCentreCluster {
    fn default() -> Self {
        OffCentreCluster {
            count: 4,
            of: 5,
            beyond: 1.0,
        }
    }
}

impl Rule for OffCentreCluster {
    fn name(&self) -> &'static str {
        "off-centre-cluster"
    }

    fn asks(&self) -> String {
        format!(
            "{} of {} readings in a row more than {} sigma from the centre line, on the same side.",
            self.count, self.of, self.beyond
        )
    }

    fn judge(&self, input: &RuleInput<'_>, firings: &mut Vec<Firing>) {
        count_in_zone(input, self.count, self.of, self.beyond, firings);
    }

    fn says(&self, told: &Told<'_>) -> String {
        zone_sentence(told, self.count, self.of, self.beyond)
    }
}
