//! `see-saw`: readings that go up and down in turn, check after check.
//!
//! Nelson (1984) test 4 (fourteen in a row). Two operators, two shifts or two
//! instruments taking turns look like this. A tie ends it.

use super::counting::{kept, sign};
use super::{Direction, Firing, Rule, RuleInput, Told};

/// `at_least` readings in a row that alternate up and down.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SeeSaw {
    /// Readings in a row, the first included.
    pub at_least: usize,
}

impl Default for SeeSaw {
    fn default() -> Self {
        SeeSaw { at_least: 14 }
    }
}

impl Rule for SeeSaw {
    fn name(&self) -> &'static str {
        "see-saw"
    }

    fn asks(&self) -> String {
        format!(
            "At least {} readings in a row that go up and down in turn; two equal readings end it.",
            self.at_least
        )
    }

    fn judge(&self, input: &RuleInput<'_>, firings: &mut Vec<Firing>) {
        let needed = self.at_least.max(3);
        // Steps in turn so far: one fewer than the readings that make them.
        let (mut last_step, mut steps) = (0_i8, 0);
        // The first comparison is with NaN, which neither rises nor falls.
        let mut previous = f64::NAN;
        for (at, (&value, &after_gap)) in input.value.iter().zip(input.after_gap).enumerate() {
            let step = sign(value, previous) * i8::from(!after_gap);
            steps = kept(steps, step == -last_step) + usize::from(step != 0);
            last_step = step;
            previous = value;
            if steps + 1 >= needed {
                firings.push(Firing {
                    at,
                    start: at - steps,
                    direction: Direction::Neither,
                });
            }
        }
    }

    fn says(&self, told: &Told<'_>) -> String {
        format!(
            "{} readings in a row going up and down in turn, {}",
            told.readings,
            told.span()
        )
    }
}
