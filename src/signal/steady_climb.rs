//! `steady-climb`: a run of readings that only rises, or only falls.
//!
//! Nelson (1984) test 3 (six in a row: six readings, five rises). A tie ends it.

use super::counting::{kept, sign};
use super::{Direction, Firing, Rule, RuleInput, Told};

/// `at_least` readings in a row, each above (or each below) the one before it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SteadyClimb {
    /// Readings in a row, the first included.
    pub at_least: usize,
}

impl Default for SteadyClimb {
    fn default() -> Self {
        SteadyClimb { at_least: 6 }
    }
}

impl Rule for SteadyClimb {
    fn name(&self) -> &'static str {
        "steady-climb"
    }

    fn asks(&self) -> String {
        format!(
            "At least {} readings in a row that only rise, or only fall; two equal readings end it.",
            self.at_least
        )
    }

    fn judge(&self, input: &RuleInput<'_>, firings: &mut Vec<Firing>) {
        let needed = self.at_least.max(2);
        // Steps one way so far: one fewer than the readings that make them.
        let (mut going, mut steps) = (0_i8, 0);
        // The first comparison is with NaN, which neither rises nor falls.
        let mut previous = f64::NAN;
        for (at, (&value, &after_gap)) in input.value.iter().zip(input.after_gap).enumerate() {
            let step = sign(value, previous) * i8::from(!after_gap);
            steps = kept(steps, step == going) + usize::from(step != 0);
            going = step;
            previous = value;
            if steps + 1 >= needed {
                firings.push(Firing {
                    at,
                    start: at - steps,
                    direction: if going > 0 {
                        Direction::Up
                    } else {
                        Direction::Down
                    },
                });
            }
        }
    }

    fn says(&self, told: &Told<'_>) -> String {
        let way = match told.direction {
            Direction::Down => "falling",
            _ => "rising",
        };
        format!(
            "{} readings in a row {way}, {} to {}, {}",
            told.readings,
            told.plain(told.start),
            told.value(told.known),
            told.span()
        )
    }
}
