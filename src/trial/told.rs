//! Signals as the trial counts them: stretches of checks, told once.

/// A stretch of checks over which something is signalled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Told {
    /// First check.
    pub(super) known: usize,
    /// Last check.
    pub(super) last: usize,
}

/// Log evidence by which a signal must fall before it is over, as in the default set.
const RELEASE: f64 = 2.0;

impl Told {
    /// Overlapping and touching stretches joined: to the reader one alarm.
    pub(super) fn union(mut stretches: Vec<Told>) -> Vec<Told> {
        stretches.sort_by_key(|s| (s.known, s.last));
        let mut joined: Vec<Told> = Vec::with_capacity(stretches.len());
        for stretch in stretches {
            match joined.last_mut() {
                Some(open) if stretch.known <= open.last + 1 => {
                    open.last = open.last.max(stretch.last)
                }
                _ => joined.push(stretch),
            }
        }
        joined
    }

    /// Checks at which something fires, as stretches.
    pub(super) fn of_checks(fires: impl IntoIterator<Item = usize>) -> Vec<Told> {
        let each = fires.into_iter().map(|at| Told {
            known: at,
            last: at,
        });
        Told::union(each.collect())
    }

    /// Stretches from where evidence reaches `threshold` to where it has fallen by [`RELEASE`].
    pub(super) fn of_evidence(evidence: &[f64], judged_from: usize, threshold: f64) -> Vec<Told> {
        let mut told = Vec::new();
        let mut open: Option<Told> = None;
        for (at, &found) in evidence.iter().enumerate().skip(judged_from) {
            if found < threshold - RELEASE {
                told.extend(open.take());
            } else if let Some(stretch) = &mut open {
                stretch.last = at;
            } else if found >= threshold {
                open = Some(Told {
                    known: at,
                    last: at,
                });
            }
        }
        told.extend(open);
        told
    }

    /// Whether a signal was on already when the change came.
    pub(super) fn on_before(told: &[Told], at: usize) -> bool {
        told.iter().any(|t| t.known < at && at <= t.last)
    }

    /// First check of the first signal at or after `at`.
    pub(super) fn first_since(told: &[Told], at: usize) -> Option<usize> {
        told.iter()
            .map(|t| t.known)
            .filter(|known| *known >= at)
            .min()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn neighbours_join_and_evidence_releases_late() {
        let told = Told::of_checks([3, 4, 9, 5]);
        assert_eq!(
            told,
            [Told { known: 3, last: 5 }, Told { known: 9, last: 9 }]
        );
        let told = Told::of_evidence(&[9.0, 1.0, 5.0, 3.5, 2.9, 5.1], 1, 5.0);
        assert_eq!(
            told,
            [Told { known: 2, last: 3 }, Told { known: 5, last: 5 }]
        );
        assert!(Told::on_before(&told, 3) && !Told::on_before(&told, 2));
        assert_eq!(Told::first_since(&told, 3), Some(5));
    }
}
