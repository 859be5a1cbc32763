//! `one-sided-run`: a run of readings on one side of the centre line.
//!
//! Western Electric (1956) test 4 (eight in a row); Nelson (1984) test 2 (nine).
//! Two allowances are ours. A reading within half a resolution of the centre line ends
//! the run: as it was rounded, its side is not known, so equal rounded values beside
//! the line cannot pass for a run. And readings that carry over from check to check stay on
//! one side longer by chance, so the run may be asked to grow with the
//! autocorrelation until it is as unlikely as `at_least` independent readings.

use super::counting::kept;
use super::{Direction, Firing, Rule, RuleInput, Told};

/// `at_least` readings in a row on one side of the centre line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OneSidedRun {
    /// Readings in a row when they are independent.
    pub at_least: usize,
    /// Whether autocorrelated readings must make a longer run.
    pub allow_for_autocorrelation: bool,
}

impl Default for OneSidedRun {
    fn default() -> Self {
        OneSidedRun {
            at_least: 9,
            allow_for_autocorrelation: false,
        }
    }
}

impl OneSidedRun {
    /// Readings asked for at that lag-1 autocorrelation.
    ///
    /// Two neighbours of a normal series with autocorrelation φ lie on the same side
    /// with probability ½ + asin(φ)/π (the orthant probability of a bivariate normal,
    /// Sheppard 1899); taking the signs as a two-state chain, a run of k has the odds
    /// of `at_least` independent readings when p^(k−1) = ½^(at_least−1).
    pub fn needed(&self, lag1: f64) -> usize {
        if !self.allow_for_autocorrelation || lag1 <= 0.0 {
            return self.at_least;
        }
        let stays = 0.5 + lag1.min(0.95).asin() / std::f64::consts::PI;
        let steps = (self.at_least.saturating_sub(1)) as f64 * 0.5_f64.ln() / stays.ln();
        1 + steps.ceil() as usize
    }
}

impl Rule for OneSidedRun {
    fn name(&self) -> &'static str {
        "one-sided-run"
    }

    fn asks(&self) -> String {
        let more = if self.allow_for_autocorrelation {
            "; more where readings carry over from check to check, as many as are equally unlikely"
        } else {
            ""
        };
        format!(
            "At least {} readings in a row on one side of the centre line{more}. \
             A reading that rounding leaves on neither side ends the run.",
            self.at_least
        )
    }

    fn judge(&self, input: &RuleInput<'_>, firings: &mut Vec<Firing>) {
        let needed = self.needed(input.lag1).max(1);
        // A hair more than half a step, so that a reading exactly half a step away is undecided.
        let undecided = 0.5 * input.resolution.unwrap_or(0.0) * (1.0 + 1e-9);
        let (mut side, mut run) = (0_i8, 0);
        for (at, (&z, &after_gap)) in input.z.iter().zip(input.after_gap).enumerate() {
            let now = i8::from(z > undecided) - i8::from(z < -undecided);
            run = kept(run, now == side && !after_gap) + 1;
            side = now;
            if run >= needed && side != 0 {
                firings.push(Firing {
                    at,
                    start: at + 1 - run,
                    direction: if side > 0 {
                        Direction::Up
                    } else {
                        Direction::Down
                    },
                });
            }
        }
    }

    fn says(&self, told: &Told<'_>) -> String {
        let side = match told.direction {
            Direction::Down => "below",
            _ => "above",
        };
        format!(
            "{} readings in a row {side} the centre line {}, {}",
            told.readings,
            told.level(told.limits.centre),
            told.span()
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn longer_runs_are_asked_of_autocorrelated_readings() {
        let rule = OneSidedRun {
            at_least: 9,
            allow_for_autocorrelation: true,
        };
        assert_eq!(rule.needed(0.0), 9);
        assert_eq!(rule.needed(-0.3), 9);
        // phi 0.5: neighbours share a side with probability 2/3 exactly, and
        // 8 ln 2 / ln 1.5 = 13.68.
        assert_eq!(rule.needed(0.5), 15);
        assert_eq!(OneSidedRun::default().needed(0.5), 9);
    }
}
