//! One-step residuals of a cabinet's checks, and the moving window they are compared with.
//!
//! Each reading is held against what its own reading before leads to expect, under the
//! autocorrelation believed of its series. What is unusual is `together`'s to say.

use super::hotelling::Moments;
use super::tame::{FAR_REACH, tamed};
use super::together::{Checks, DELAY, MEMORY, Member};
use crate::drift::whiten::{GAP_EXPONENT, usual_spacing};
use crate::time::Instant;

/// Two checks written with the same time still count as a quarter of a day apart.
const SHORTEST: f64 = 0.25;

/// How a reading follows the one before it.
#[derive(Clone, Copy)]
pub(super) struct Step {
    rho: f64,
    pub(super) scale: f64,
}

impl Step {
    const FIRST: Step = Step {
        rho: 0.0,
        scale: 1.0,
    };

    /// Of readings `gap` usual spacings apart, of autocorrelation `phi`.
    fn across(gap: f64, phi: f64) -> Step {
        let rho = if phi <= 0.0 {
            0.0
        } else if gap == 1.0 {
            phi
        } else {
            phi.powf(gap.powf(GAP_EXPONENT))
        };
        Step {
            rho,
            scale: (1.0 - rho * rho).sqrt().recip(),
        }
    }
}

impl Checks {
    /// How a member's reading at a check follows the one before it.
    pub(super) fn step(&self, member: &Member, check: usize) -> Step {
        let read = |i: &usize| member.value.get(*i).is_some_and(|v| !v.is_nan());
        let before = (0..check).rev().take(MEMORY).find(read);
        let gap = before.and_then(|before| self.gap(before, check));
        gap.map_or(Step::FIRST, |gap| Step::across(gap, member.phi))
    }

    /// Usual spacings between two checks.
    fn gap(&self, before: usize, check: usize) -> Option<f64> {
        let days = self.at.get(check)?.days_since(*self.at.get(before)?);
        Some((days / self.spacing).max(SHORTEST))
    }
}

/// One-step residuals of every check, in standard deviations, check by check.
pub(super) struct Whitened {
    /// As read, for the check judged.
    pub(super) raw: Vec<f64>,
    /// Wild readings reined in, for the reference.
    tame: Vec<f64>,
    members: usize,
    /// Checks that have every member.
    complete: Vec<usize>,
}

impl Whitened {
    pub(super) fn of(checks: &Checks) -> Whitened {
        let (len, members) = (checks.at.len(), checks.members.len());
        let mut raw = vec![f64::NAN; members * len];
        let mut tame = raw.clone();
        // Before each check: most readings follow that of the check before, all members alike.
        let gaps: Vec<Option<f64>> = (0..len)
            .map(|check| checks.gap(check.checked_sub(1)?, check))
            .collect();
        for (place, member) in checks.members.iter().enumerate() {
            let (mut read, mut scaled) = (Vec::with_capacity(len), Vec::with_capacity(len));
            for (check, value) in member.value.iter().enumerate().take(len) {
                if !value.is_nan() {
                    read.push(check);
                    scaled.push((value - member.centre) / member.sigma);
                }
            }
            let reined = tamed(&scaled, FAR_REACH);
            let mut before = 0.0;
            let mut last_check: Option<usize> = None;
            let (mut last_gap, mut of_last_gap) = (1.0, Step::across(1.0, member.phi));
            for ((&check, scaled), reined) in read.iter().zip(&scaled).zip(&reined) {
                let gap = last_check
                    .filter(|last| check - last <= MEMORY)
                    .and_then(|last| match check - last {
                        1 => *gaps.get(check)?,
                        _ => checks.gap(last, check),
                    });
                let step = match gap {
                    None => Step::FIRST,
                    Some(gap) => {
                        if gap != last_gap {
                            (last_gap, of_last_gap) = (gap, Step::across(gap, member.phi));
                        }
                        of_last_gap
                    }
                };
                let residual = |now: f64| (now - step.rho * before) * step.scale;
                let cell = check * members + place;
                if let (Some(a), Some(b)) = (raw.get_mut(cell), tame.get_mut(cell)) {
                    (*a, *b) = (residual(*scaled), residual(*reined));
                }
                (before, last_check) = (*reined, Some(check));
            }
        }
        let complete = (0..len)
            .zip(tame.chunks_exact(members.max(1)))
            .filter(|(_, row)| row.iter().all(|x| !x.is_nan()))
            .map(|(check, _)| check)
            .collect();
        Whitened {
            raw,
            tame,
            members,
            complete,
        }
    }

    pub(super) fn row<'a>(&self, rows: &'a [f64], check: usize) -> Option<&'a [f64]> {
        rows.get(check * self.members..(check + 1) * self.members)
    }

    /// Complete checks before a check.
    pub(super) fn complete_before(&self, check: usize) -> usize {
        self.complete.partition_point(|&i| i < check)
    }
}

/// The moving window of checks that a check is compared with.
pub(super) struct Reference<'a> {
    white: &'a Whitened,
    moments: Moments,
    /// Complete checks in the window.
    window: std::ops::Range<usize>,
}

impl<'a> Reference<'a> {
    pub(super) fn new(white: &'a Whitened, members: usize) -> Reference<'a> {
        Reference {
            white,
            moments: Moments::new(members),
            window: 0..0,
        }
    }

    /// The reference of `check`; those asked for must not go back.
    pub(super) fn at(&mut self, check: usize, judged_from: usize, complete: bool) -> &Moments {
        let delayed = self.white.complete_before(check).saturating_sub(DELAY);
        let baseline = if complete {
            self.white.complete_before(judged_from)
        } else {
            0
        };
        let end = delayed.max(baseline);
        let start = end.saturating_sub(MEMORY);
        if self.window.is_empty() {
            self.window = start..start;
        }
        let row = |place: usize| {
            let check = self.white.complete.get(place)?;
            self.white.row(&self.white.tame, *check)
        };
        for place in self.window.end..end {
            row(place).inspect(|row| self.moments.add(row, 1.0));
        }
        for place in self.window.start..start {
            row(place).inspect(|row| self.moments.add(row, -1.0));
        }
        self.window = start..end;
        &self.moments
    }
}

/// Days that usually lie between two of the checks; 1 when there are too few to tell.
pub(super) fn spacing_of(at: &[Instant]) -> f64 {
    let origin = at.first().copied().unwrap_or(Instant(0));
    let days: Vec<f64> = at.iter().map(|t| t.days_since(origin)).collect();
    usual_spacing(&days)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drift::fixtures::Noise;

    /// Every residual by the definition: what the reading before, however long ago, leads to
    /// expect.
    #[test]
    fn residuals_are_those_of_each_reading_and_the_one_before() {
        let at: Vec<Instant> = (0_i64..)
            .filter(|day| day % 7 < 5 && day % 50 > 2)
            .take(700)
            .map(|day| Instant(day * 86_400))
            .collect();
        let mut noise = Noise::new(4);
        let members: Vec<Member> = [0.0, 0.3, 0.6]
            .iter()
            .enumerate()
            .map(|(m, &phi)| {
                let mut value = noise.autoregressive(at.len(), phi);
                for (i, value) in value.iter_mut().enumerate() {
                    // The last member pauses for longer than is remembered.
                    if (i * 7 + m) % 11 == 0 || m == 2 && (100..400).contains(&i) {
                        *value = f64::NAN;
                    }
                }
                Member {
                    value,
                    centre: 0.5,
                    sigma: 2.0,
                    phi,
                    resolution: None,
                }
            })
            .collect();
        let checks = Checks {
            spacing: spacing_of(&at),
            at,
            members,
            judged_from: 30,
            complete: true,
        };
        let white = Whitened::of(&checks);
        for (place, member) in checks.members.iter().enumerate() {
            let mut before = 0.0;
            for (check, value) in member.value.iter().enumerate() {
                let found = white.row(&white.raw, check).unwrap()[place];
                if value.is_nan() {
                    assert!(found.is_nan());
                    continue;
                }
                let scaled = (value - member.centre) / member.sigma;
                let step = checks.step(member, check);
                assert_eq!(found, (scaled - step.rho * before) * step.scale, "{check}");
                before = scaled;
            }
        }
    }
}
