//! Counting readings: in an outer zone, one side at a time, which `outer_pair` and
//! `off_centre_cluster` share, and in runs. It knows neither names nor default counts.
//!
//! Which side a steady cabinet's next reading falls on cannot be predicted, so runs
//! are counted without a branch: it halves the time of a review of a whole fleet.

use super::{Direction, Firing, RuleInput};

/// `run` if it goes on, else 0.
pub(super) fn kept(run: usize, goes_on: bool) -> usize {
    run & 0_usize.wrapping_sub(usize::from(goes_on))
}

/// 1 when `value` is above `reference`, −1 when below, 0 when neither (or NaN).
pub(super) fn sign(value: f64, reference: f64) -> i8 {
    i8::from(value > reference) - i8::from(value < reference)
}

/// Appends a firing, without a direction, at every reading that ends a run of at least
/// `at_least` readings in a row for which `belongs` holds; a gap ends a run.
pub(super) fn runs_of(
    input: &RuleInput<'_>,
    at_least: usize,
    belongs: impl Fn(f64) -> bool,
    firings: &mut Vec<Firing>,
) {
    let mut run = 0;
    for (at, (&z, &after_gap)) in input.z.iter().zip(input.after_gap).enumerate() {
        run = kept(run, !after_gap);
        run = if belongs(z) { run + 1 } else { 0 };
        if run >= at_least.max(1) {
            firings.push(Firing {
                at,
                start: at + 1 - run,
                direction: Direction::Neither,
            });
        }
    }
}

/// Appends a firing at every reading that is beyond `beyond` sigma and completes
/// `count` such readings on its side among the latest `of`.
///
/// `of` above 32 is judged as 32, the length of the register that remembers a window.
pub(super) fn count_in_zone(
    input: &RuleInput<'_>,
    count: u32,
    of: u32,
    beyond: f64,
    firings: &mut Vec<Firing>,
) {
    let window = if of >= 32 { u32::MAX } else { (1 << of) - 1 };
    let (mut above, mut below) = (0_u32, 0_u32);
    for (at, (&z, &after_gap)) in input.z.iter().zip(input.after_gap).enumerate() {
        if after_gap {
            (above, below) = (0, 0);
        }
        above = (above << 1 | u32::from(z > beyond)) & window;
        below = (below << 1 | u32::from(z < -beyond)) & window;
        let (register, direction) = if z > beyond {
            (above, Direction::Up)
        } else if z < -beyond {
            (below, Direction::Down)
        } else {
            continue;
        };
        if register.count_ones() >= count.max(1) {
            // The highest set bit is the earliest reading of the window in the zone.
            let back = 31 - register.leading_zeros();
            firings.push(Firing {
                at,
                start: at - back as usize,
                direction,
            });
        }
    }
}
