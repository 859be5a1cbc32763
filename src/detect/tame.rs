//! Wild readings reined in: what the rules read, so that one typing error does not blind them
//! for a year.
//!
//! Which rule reads how far is `watch`'s; that a reading is wild is told by `outlier`.

/// A reading counts for at most this many standard deviations from the median of the seven
/// before as a reference of other readings, which it must not spoil.
pub(super) const FAR_REACH: f64 = 6.0;

/// Readings with wild ones moved in to within a reach of the median of the seven before them.
pub(super) struct Tamed {
    pub(super) near: Vec<f64>,
    /// The same for a reach that is not shorter; `None` where no reading is beyond it.
    pub(super) far: Option<Vec<f64>>,
}

impl Tamed {
    /// One pass for both reaches: a reading that the shorter one leaves alone is within the
    /// longer one too.
    pub(super) fn of(values: &[f64], reach: f64, far_reach: f64) -> Tamed {
        let mut near = values.to_vec();
        let mut far: Option<Vec<f64>> = None;
        for (at, value, middle) in wild(values, reach) {
            if let Some(slot) = near.get_mut(at) {
                *slot = value.clamp(middle - reach, middle + reach);
            }
            let last = values.get(at - 1).copied().unwrap_or(value);
            if (value - last).abs() <= 0.5 * far_reach {
                continue;
            }
            let bounded = value.clamp(middle - far_reach, middle + far_reach);
            if bounded != value
                && let Some(slot) = far.get_or_insert_with(|| values.to_vec()).get_mut(at)
            {
                *slot = bounded;
            }
        }
        Tamed { near, far }
    }
}

/// Wild readings moved in to `reach` from the median of the seven before them, so that one
/// typing error does not blind the rules for a year.
pub(super) fn tamed(values: &[f64], reach: f64) -> Vec<f64> {
    let mut tame = values.to_vec();
    for (at, value, middle) in wild(values, reach) {
        if let Some(slot) = tame.get_mut(at) {
            *slot = value.clamp(middle - reach, middle + reach);
        }
    }
    tame
}

/// Readings further than half of `reach` from the one before, and than `reach` from the median
/// of the seven before: index, reading and median. None where `reach` is not above 0.
fn wild(values: &[f64], reach: f64) -> impl Iterator<Item = (usize, f64, f64)> {
    let pairs = if reach > 0.0 { values } else { &[] };
    pairs
        .windows(2)
        .enumerate()
        .filter_map(move |(before, pair)| {
            let (last, value) = match pair {
                [last, value] => (*last, *value),
                _ => return None,
            };
            if (value - last).abs() <= 0.5 * reach {
                return None;
            }
            let around = values.get((before + 1).saturating_sub(7)..=before)?;
            // Of most readings seven lie before them: a fixed number is compared side by side.
            let near = match <&[f64; 7]>::try_from(around) {
                Ok(seven) => median_is_near(seven, value, reach),
                Err(_) => median_is_near(around, value, reach),
            };
            if near {
                return None;
            }
            Some((before + 1, value, middle_of(around).unwrap_or(value)))
        })
}

/// Whether `value` is within `reach` of the median of `around`: enough of them are near enough on
/// either side.
#[inline(always)]
fn median_is_near(around: &[f64], value: f64, reach: f64) -> bool {
    let (mut reached_up, mut reached_down) = (0_u32, 0_u32);
    for v in around {
        reached_up += u32::from(v - reach <= value);
        reached_down += u32::from(value <= v + reach);
    }
    let (middle, len) = (around.len() / 2, around.len());
    reached_up as usize > middle && reached_down as usize >= len - middle
}

/// Median of at most seven values, the upper one of an even number.
fn middle_of(values: &[f64]) -> Option<f64> {
    let mut sorted = [0.0; 7];
    let sorted = sorted.get_mut(..values.len())?;
    sorted.copy_from_slice(values);
    sorted.sort_unstable_by(f64::total_cmp);
    sorted.get(values.len() / 2).copied()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drift::fixtures::Noise;

    /// Noise rounded coarsely, with a wild reading or two now and then.
    fn readings(seed: u64, n: usize) -> Vec<f64> {
        let mut noise = Noise::new(seed);
        (0..n)
            .map(|i| {
                let wild = if i % 29 < 2 {
                    5.0 * noise.normal()
                } else {
                    0.0
                };
                ((noise.normal() + wild) / 0.4).round() * 0.4
            })
            .collect()
    }

    /// The sorted median, without looking whether it is needed.
    fn plain(value: &[f64], reach: f64) -> Vec<f64> {
        let one = |i: usize| {
            if i == 0 || (value[i] - value[i - 1]).abs() <= 0.5 * reach {
                return value[i];
            }
            let mut before = value[i.saturating_sub(7)..i].to_vec();
            before.sort_by(f64::total_cmp);
            let middle = before[before.len() / 2];
            value[i].clamp(middle - reach, middle + reach)
        };
        (0..value.len()).map(one).collect()
    }

    #[test]
    fn wild_readings_are_reined_in_to_the_median_before() {
        let value = readings(12, 600);
        for reach in [0.8, 2.0, 3.5, 6.0] {
            let tame = tamed(&value, reach);
            assert_eq!(tame, plain(&value, reach), "reach {reach}");
            let moved = tame.iter().zip(&value).filter(|(a, b)| a != b).count();
            assert!(moved > 5, "reach {reach}: {moved}");
        }
    }

    #[test]
    fn both_reaches_at_once_are_each_by_itself() {
        let mut none_far = 0;
        for seed in 0..60 {
            let value = readings(seed, 3 + 2 * seed as usize);
            for (reach, far_reach) in [(0.0, 0.0), (0.8, 0.8), (1.0, 1.7), (3.5, 6.0)] {
                let both = Tamed::of(&value, reach, far_reach);
                assert_eq!(both.near, tamed(&value, reach));
                none_far += usize::from(both.far.is_none());
                let far = both.far.unwrap_or_else(|| value.clone());
                assert_eq!(far, tamed(&value, far_reach), "seed {seed}: {far_reach}");
            }
        }
        assert!((70..170).contains(&none_far), "{none_far}");
    }
}
