//! The times of a view, and what whitening makes of them: shared by all that were read then.
//!
//! The series of a cabinet are read at the same checks, and what depends on the times only is
//! half of the work of preparing one. No readings here, and no statistics.

use crate::drift::whiten::{GAP_EXPONENT, usual_spacing};
use crate::time::Instant;
use std::cell::OnceCell;
use std::rc::Rc;

/// Strengths of lag-1 autocorrelation that readings are whitened for.
pub(super) const PHI: [f64; 4] = [0.0, 0.2, 0.4, 0.6];
/// Two checks written with the same time still count as a quarter of a day apart.
const SHORTEST_DAYS: f64 = 0.25;

/// Gap before each reading of ascending `days`, in the spacings it counts for; infinite
/// before the first.
pub(super) fn gaps(days: &[f64]) -> Vec<f64> {
    let mut gaps = Vec::with_capacity(days.len());
    gaps.extend(days.first().map(|_| f64::INFINITY));
    let (mut last, mut of_last) = (1.0, 1.0);
    gaps.extend(days.windows(2).map(|pair| {
        let apart = match pair {
            [a, b] => (b - a).max(SHORTEST_DAYS),
            _ => 1.0,
        };
        if apart == 1.0 {
            return 1.0;
        }
        if apart != last {
            (last, of_last) = (apart, apart.powf(GAP_EXPONENT));
        }
        of_last
    }));
    gaps
}

/// Whitened columns of ones and of days for one strength of autocorrelation.
///
/// Four fields have an entry for each reading and the others one more: sums over the
/// readings before an index.
#[derive(Debug, Clone, Default)]
pub(super) struct Whitening {
    /// How much of the reading before each is taken off it, and what it is then scaled by.
    pub(super) rho: Vec<f64>,
    pub(super) scale: Vec<f64>,
    pub(super) one: Vec<f64>,
    pub(super) day: Vec<f64>,
    pub(super) one_one: Vec<f64>,
    pub(super) one_day: Vec<f64>,
    pub(super) day_day: Vec<f64>,
    /// Logarithms of the scales.
    pub(super) log_scale: Vec<f64>,
    /// What a step that begins with a reading adds, beyond the sums from it on, to its own
    /// square and to its product with the ones.
    pub(super) onset_square: Vec<f64>,
    pub(super) onset_one: Vec<f64>,
}

impl Whitening {
    /// For ascending `days` with their [`gaps`] and lag-1 autocorrelation `phi`.
    fn new(days: &[f64], gaps: &[f64], phi: f64) -> Whitening {
        let row = || Vec::with_capacity(days.len() + 1);
        let mut white = Whitening {
            rho: row(),
            scale: row(),
            one: row(),
            day: row(),
            one_one: row(),
            one_day: row(),
            day_day: row(),
            log_scale: row(),
            onset_square: row(),
            onset_one: row(),
        };
        let whitening = |rho: f64| {
            let scale = (1.0 - rho * rho).sqrt().recip();
            (rho, scale, scale.ln())
        };
        let usual = whitening(phi);
        // Most gaps are weekends, all alike.
        let (mut last_gap, mut of_last_gap) = (1.0, usual);
        let (mut one_one, mut one_day, mut day_day, mut log_scale) = (0.0, 0.0, 0.0, 0.0);
        let mut day_before = 0.0;
        for (&day, &gap) in days.iter().zip(gaps) {
            let (rho, scale, log_of_scale) = if gap == 1.0 {
                usual
            } else if phi <= 0.0 || gap == f64::INFINITY {
                (0.0, 1.0, 0.0)
            } else {
                if gap != last_gap {
                    (last_gap, of_last_gap) = (gap, whitening(phi.powf(gap)));
                }
                of_last_gap
            };
            let one = (1.0 - rho) * scale;
            let jump = rho * scale;
            let white_day = (day - rho * day_before) * scale;
            white.rho.push(rho);
            white.scale.push(scale);
            white.one.push(one);
            white.day.push(white_day);
            white.onset_square.push(jump * (2.0 * one + jump));
            white.onset_one.push(one * jump);
            white.one_one.push(one_one);
            white.one_day.push(one_day);
            white.day_day.push(day_day);
            white.log_scale.push(log_scale);
            one_one += one * one;
            one_day += one * white_day;
            day_day += white_day * white_day;
            log_scale += log_of_scale;
            day_before = day;
        }
        white.one_one.push(one_one);
        white.one_day.push(one_day);
        white.day_day.push(day_day);
        white.log_scale.push(log_scale);
        white
    }
}

/// The times of a view.
#[derive(Debug)]
pub(super) struct Times {
    /// Since the first, in usual spacings.
    pub(super) days: Vec<f64>,
    gaps: Vec<f64>,
    /// One for each of [`PHI`], made when first asked for: most series need the one of the
    /// quick look only.
    whitening: [OnceCell<Whitening>; PHI.len()],
}

impl Times {
    /// Of ascending `days`, in usual spacings.
    pub(super) fn new(days: Vec<f64>) -> Times {
        Times {
            gaps: gaps(&days),
            days,
            whitening: Default::default(),
        }
    }

    /// Of `at`; `early` are those that tell the usual spacing.
    fn of(at: &[Instant], early: &[Instant]) -> Times {
        let origin = at.first().copied().unwrap_or(Instant(0));
        let early: Vec<f64> = early.iter().map(|t| t.days_since(origin)).collect();
        let spacing = usual_spacing(&early);
        let in_spacings = |t: &Instant| t.days_since(origin) / spacing;
        Times::new(at.iter().map(in_spacings).collect())
    }

    /// What whitening for the strength at that place of [`PHI`] makes of them.
    pub(super) fn whitening(&self, place: usize) -> Option<&Whitening> {
        let phi = PHI.get(place)?;
        let cell = self.whitening.get(place)?;
        Some(cell.get_or_init(|| Whitening::new(&self.days, &self.gaps, *phi)))
    }
}

/// The times looked at last, so that series that were read at the same times share them.
///
/// It changes what a look costs and never what it finds.
#[derive(Debug, Default)]
pub struct Almanac {
    /// The latest last.
    known: Vec<Entry>,
}

#[derive(Debug)]
struct Entry {
    at: Vec<Instant>,
    early: Vec<Instant>,
    times: Rc<Times>,
}

/// Views remembered: the series of a cabinet that lack a reading or began otherwise have their own.
const REMEMBERED: usize = 4;

impl Almanac {
    /// The times `at`; `early` are those that tell the usual spacing.
    pub(super) fn times(&mut self, at: &[Instant], early: &[Instant]) -> Rc<Times> {
        let same = |entry: &&Entry| entry.at == at && entry.early == early;
        if let Some(entry) = self.known.iter().rev().find(same) {
            return Rc::clone(&entry.times);
        }
        if self.known.len() >= REMEMBERED {
            self.known.remove(0);
        }
        let times = Rc::new(Times::of(at, early));
        self.known.push(Entry {
            at: at.to_vec(),
            early: early.to_vec(),
            times: Rc::clone(&times),
        });
        times
    }
}
