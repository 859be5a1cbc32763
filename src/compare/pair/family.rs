//! All pairs of a family judged, the clearest listed.
//!
//! Half a million pairs are judged without being kept: only counts, and the clearest ones.

use super::factors::Factors;
use super::offsets::{Offset, instruments_between};
use super::says::{Case, says};
use super::side::Side;
use super::verdict::{Judged, Reach, foregone, judge, more_checks};
use super::{
    COVERAGE_FACTOR, Cabinet, FactorStore, NoPairs, Pair, Pairs, Settings, Verdict, spread,
};
use crate::compare::level::Level;
use crate::stats::Interval;

use std::cmp::{Ordering, Reverse};
use std::collections::{BTreeMap, BinaryHeap};

/// Judges all pairs of `cabinets` in one characteristic.
///
/// Cabinets without a level are left out beforehand: they are no part of the family.
///
/// # Errors
///
/// [`NoPairs`] with fewer than two cabinets, or too many.
///
/// ```
/// use steadyfog::compare::level::{CarryOver, LevelOptions, level};
/// use steadyfog::compare::pair::{
///     Cabinet, FactorStore, Instrument, Settings, Verdict, judge_cabinets,
/// };
/// let days: Vec<f64> = (0..60).map(f64::from).collect();
/// let wave = |i: i32| 0.04 * f64::from((i * 7 + i * i) % 11 - 5) / 5.0;
/// let low: Vec<f64> = (0..60).map(|i| 1.40 + wave(i)).collect();
/// let high: Vec<f64> = (0..60).map(|i| 1.65 + wave(i + 3)).collect();
/// let options = LevelOptions { resolution: None, carry_over: CarryOver::Estimated };
/// let levels = [level(&days, &high, options)?, level(&days, &low, options)?];
/// let cylinders = ["C1", "C2"].map(|id| Instrument {
///     id: Some(id.to_owned()),
///     standard_uncertainty: 0.02,
///     own_uncertainty: 0.0,
/// });
/// let cabinets = [
///     Cabinet { level: &levels[0], instrument: &cylinders[0] },
///     Cabinet { level: &levels[1], instrument: &cylinders[1] },
/// ];
/// let settings = Settings {
///     characteristics: 6,
///     margin: Some(0.12),
///     listed: 20,
///     unit: "mL/h".to_owned(),
///     instrument: "cylinder".to_owned(),
///     instruments: "cylinders".to_owned(),
/// };
/// let pairs = judge_cabinets(&cabinets, &settings, &mut FactorStore::new())?;
/// assert_eq!(pairs.listed[0].verdict, Verdict::Differ);
/// assert!(pairs.listed[0].says.contains("the two cylinders explain up to 0.06 mL/h"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn judge_cabinets(
    cabinets: &[Cabinet<'_>],
    settings: &Settings,
    store: &mut FactorStore,
) -> Result<Pairs, NoPairs> {
    let members = members(cabinets);
    let how = Judge {
        settings,
        of_labs: false,
    };
    judge_all(&members, &how, store)
}

/// One pair of the family that `judge_cabinets` judges: for a pair that is not listed.
///
/// # Errors
///
/// [`NoPairs`] as for [`judge_cabinets`]; `None` inside when `a` or `b` is no cabinet or
/// both are one.
pub fn judge_pair(
    cabinets: &[Cabinet<'_>],
    a: usize,
    b: usize,
    settings: &Settings,
    store: &mut FactorStore,
) -> Result<Option<Pair>, NoPairs> {
    let factors = factors(cabinets.len(), settings, store)?;
    let members = members(cabinets);
    let how = Judge {
        settings,
        of_labs: false,
    };
    let pair = match (members.get(a), members.get(b)) {
        (Some(one), Some(other)) if a != b => Some(told(a, b, one, other, &how, factors)),
        _ => None,
    };
    Ok(pair)
}

fn members<'a>(cabinets: &[Cabinet<'a>]) -> Vec<Member<'a>> {
    let mut known = BTreeMap::new();
    cabinets
        .iter()
        .map(|cabinet| Member {
            side: Side::of(cabinet.level),
            offsets: vec![Offset::of(cabinet.instrument, 1.0, &mut known)],
            level: Some(cabinet.level),
            without_chance: cabinet.level.standard_error <= 0.0,
            single: false,
        })
        .collect()
}

/// A participant of a family, ready to be judged.
#[derive(Debug)]
pub(super) struct Member<'a> {
    pub(super) side: Side,
    /// The instruments' offsets in its mean.
    pub(super) offsets: Vec<Offset>,
    /// The readings' level; `None` for a lab.
    pub(super) level: Option<&'a Level>,
    /// Whether nothing is known of its chance error.
    pub(super) without_chance: bool,
    /// Whether it is a lab with one cabinet.
    pub(super) single: bool,
}

/// How a family is judged.
pub(super) struct Judge<'a> {
    pub(super) settings: &'a Settings,
    pub(super) of_labs: bool,
}

fn factors<'s>(
    participants: usize,
    settings: &Settings,
    store: &'s mut FactorStore,
) -> Result<&'s Factors, NoPairs> {
    match participants {
        0 => Err(NoPairs::Nobody),
        1 => Err(NoPairs::OneParticipant),
        _ => store
            .of(participants, settings.characteristics)
            .ok_or(NoPairs::TooMany { participants }),
    }
}

impl Pairs {
    fn count(&mut self, verdict: Verdict) {
        match verdict {
            Verdict::Differ => self.differ += 1,
            Verdict::Agree => self.agree += 1,
            Verdict::CannotTell => self.cannot_tell += 1,
        }
    }
}

/// A pair's place in the list: the clearest first, then as given.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Place {
    /// Difference over the half width of its total interval; 0 when chance is not known.
    clearness: f64,
    a: usize,
    b: usize,
}

impl Eq for Place {}
impl PartialOrd for Place {
    fn partial_cmp(&self, other: &Place) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Place {
    fn cmp(&self, other: &Place) -> Ordering {
        self.clearness
            .total_cmp(&other.clearness)
            .then((other.a, other.b).cmp(&(self.a, self.b)))
    }
}

/// The clearest pairs so far.
struct Clearest {
    /// The least clear of those kept stands on top.
    kept: BinaryHeap<Reverse<Place>>,
    most: usize,
}

impl Clearest {
    fn new(most: usize) -> Clearest {
        Clearest {
            kept: BinaryHeap::new(),
            most,
        }
    }

    /// A later pair that is no clearer than this is not kept.
    fn bar(&self) -> f64 {
        match self.kept.peek() {
            _ if self.most == 0 => f64::INFINITY,
            Some(Reverse(least)) if self.kept.len() == self.most => least.clearness,
            _ => f64::NEG_INFINITY,
        }
    }

    fn offer(&mut self, place: Place) {
        if self.kept.len() < self.most {
            self.kept.push(Reverse(place));
        } else if let Some(mut least) = self.kept.peek_mut()
            && place > least.0
        {
            *least = Reverse(place);
        }
    }
}

/// Judges every pair of `members`.
pub(super) fn judge_all(
    members: &[Member<'_>],
    how: &Judge<'_>,
    store: &mut FactorStore,
) -> Result<Pairs, NoPairs> {
    let factors = factors(members.len(), how.settings, store)?;
    let mut pairs = Pairs {
        all: 0,
        differ: 0,
        agree: 0,
        cannot_tell: 0,
        listed: Vec::new(),
    };
    let mut clearest = Clearest::new(how.settings.listed);
    let reaches: Vec<Reach> = members
        .iter()
        .map(|member| Reach::of(&member.side, factors))
        .collect();
    let least = Reach::of(&Side::exact(), factors);
    let ready = || members.iter().zip(&reaches).enumerate();
    for (a, (one, reach_a)) in ready() {
        for (b, (other, reach_b)) in ready().skip(a + 1) {
            pairs.all += 1;
            let possible = can_be_judged(one, other);
            if possible {
                let instruments = instruments_between(&one.offsets, &other.offsets);
                let foregone = foregone(
                    (&one.side, reach_a),
                    (&other.side, reach_b),
                    instruments,
                    how.settings.margin,
                    &least,
                );
                if let Some(verdict) = foregone.verdict
                    && foregone.clearest <= clearest.bar()
                {
                    pairs.count(verdict);
                    continue;
                }
            }
            let judged = judged(one, other, how, factors);
            pairs.count(judged.map_or(Verdict::CannotTell, |judged| judged.verdict));
            let clearness = judged
                .filter(|judged| judged.total > 0.0)
                .map_or(0.0, |judged| judged.difference.abs() / judged.total);
            clearest.offer(Place { clearness, a, b });
        }
    }
    pairs.listed = clearest
        .kept
        .into_sorted_vec()
        .into_iter()
        .filter_map(|Reverse(Place { a, b, .. })| {
            Some(told(a, b, members.get(a)?, members.get(b)?, how, factors))
        })
        .collect();
    Ok(pairs)
}

/// The pair judged; `None` when chance cannot be.
fn judged(
    one: &Member<'_>,
    other: &Member<'_>,
    how: &Judge<'_>,
    factors: &Factors,
) -> Option<Judged> {
    if !can_be_judged(one, other) {
        return None;
    }
    let instruments = instruments_between(&one.offsets, &other.offsets);
    Some(judge(
        &one.side,
        &other.side,
        instruments,
        how.settings.margin,
        factors,
    ))
}

fn can_be_judged(one: &Member<'_>, other: &Member<'_>) -> bool {
    !(one.without_chance || other.without_chance || copies(one, other))
}

fn copies(one: &Member<'_>, other: &Member<'_>) -> bool {
    match (one.level, other.level) {
        (Some(a), Some(b)) => a.is_copy_of(b),
        _ => false,
    }
}

/// The pair with everything that is told of it.
fn told(
    a: usize,
    b: usize,
    one: &Member<'_>,
    other: &Member<'_>,
    how: &Judge<'_>,
    factors: &Factors,
) -> Pair {
    let margin = how.settings.margin;
    let instruments = instruments_between(&one.offsets, &other.offsets);
    let judged = judged(one, other, how, factors);
    let more = judged
        .filter(|judged| judged.verdict == Verdict::CannotTell)
        .and_then(|_| more_checks(&one.side, &other.side, instruments, margin, factors));
    let difference = one.side.mean - other.side.mean;
    let about = |half: f64, level: f64| Interval {
        point: difference,
        low: difference - half,
        high: difference + half,
        level,
    };
    let u_instruments = COVERAGE_FACTOR * instruments.sqrt();
    let one_instrument = match (one.offsets.as_slice(), other.offsets.as_slice()) {
        ([x], [y]) => x.id.is_some() && x.id == y.id,
        _ => false,
    };
    let case = Case {
        judged,
        difference,
        u_instruments,
        one_instrument,
        copies: copies(one, other),
        single_result: [one, other]
            .iter()
            .any(|member| member.level.is_some_and(|level| level.n == 1)),
        more_checks: more,
        of_labs: how.of_labs,
        single: usize::from(one.single) + usize::from(other.single),
    };
    Pair {
        a,
        b,
        difference,
        chance: judged.map(|judged| about(judged.chance, factors.level)),
        u_instruments,
        total: judged.map(|judged| about(judged.total, factors.level)),
        equivalence: judged.map(|judged| about(judged.equivalence, super::EQUIVALENCE_LEVEL)),
        sd_ratio: match (one.level, other.level) {
            (Some(one), Some(other)) => spread::ratio(one, other, factors),
            _ => None,
        },
        verdict: judged.map_or(Verdict::CannotTell, |judged| judged.verdict),
        more_checks: more,
        says: says(&case, how.settings),
    }
}
