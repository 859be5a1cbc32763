//! Cabinets and labs of one characteristic as participants on the wire, scored.

use super::entrants::Field;
use super::fill::Side;
use crate::compare::pair;
use crate::compare::score::{Scoring, Uncertainty};
use crate::report::wire;
use crate::stats::sum;

pub(super) fn participant(
    side: &Side,
    field: &Field<'_>,
    scoring: Option<&Scoring>,
) -> wire::Participant {
    let entry = &field.cabinets[side.cabinet];
    let level = &side.level;
    let instrument = side.instrument.standard();
    let u = level.standard_error.hypot(instrument);
    let slope = level.slope_per_day;
    let mut on_wire = wire::Participant {
        id: entry.id.clone(),
        lab: field.labs[entry.lab].id.clone(),
        cabinet: Some(entry.own_id.as_ref().to_owned()),
        name: entry.name.clone(),
        n: level.n as u64,
        n_effective: level.n_effective,
        mean: level.mean,
        sd: (level.n > 1).then_some(level.sd),
        sd_low: level.sd_interval.map(|i| i.low),
        sd_high: level.sd_interval.map(|i| i.high),
        robust_mean: Some(level.robust_mean),
        u: Some(u),
        u_chance: Some(level.standard_error),
        u_instrument: Some(instrument),
        instrument: side.instrument_says.clone(),
        lag1_autocorrelation: level.lag1_autocorrelation,
        slope_per_day: slope.map(|s| s.point),
        slope_low: slope.map(|s| s.low),
        slope_high: slope.map(|s| s.high),
        outside: side.outside.map(|(outside, _)| outside),
        checked: side.outside.map(|(_, checked)| checked),
        quantiles: match side.drawn {
            true => level.quantiles.clone(),
            false => Vec::new(),
        },
        calendar: side.calendar.clone(),
        coupons: side.coupons.clone(),
        ..not_scored()
    };
    score(&mut on_wire, scoring);
    on_wire
}

/// A participant of whom nothing is known yet.
fn not_scored() -> wire::Participant {
    wire::Participant {
        id: String::new(),
        lab: String::new(),
        cabinet: None,
        name: String::new(),
        n: 0,
        n_effective: 0.0,
        mean: 0.0,
        sd: None,
        sd_low: None,
        sd_high: None,
        robust_mean: None,
        u: None,
        u_chance: None,
        u_instrument: None,
        instrument: None,
        lag1_autocorrelation: None,
        slope_per_day: None,
        slope_low: None,
        slope_high: None,
        outside: None,
        checked: None,
        z: None,
        z_prime: None,
        zeta: None,
        en: None,
        h: None,
        k: None,
        verdict: "not scored".to_owned(),
        verdict_from: None,
        quantiles: Vec::new(),
        calendar: String::new(),
        coupons: Vec::new(),
    }
}

fn score(participant: &mut wire::Participant, scoring: Option<&Scoring>) {
    let Some(scoring) = scoring else { return };
    let u = participant.u.and_then(|u| Uncertainty::standard(u).ok());
    let Ok(scores) = scoring.score(participant.mean, u) else {
        return;
    };
    participant.z = Some(scores.z().value());
    participant.z_prime = Some(scores.z_prime().value());
    participant.zeta = scores.zeta().ok().map(|s| s.value());
    participant.en = scores.en().ok().map(|s| s.value());
    participant.verdict = scores.verdict().words().to_owned();
    participant.verdict_from = Some(scores.read().kind().id().to_owned());
}

/// A lab as a whole: the mean of its cabinets' means.
pub(super) struct LabSide {
    pub(super) lab: usize,
    /// Places among the task's sides.
    pub(super) members: Vec<usize>,
    mean: f64,
    between: Option<f64>,
    pub(super) u_chance: f64,
    u_instrument: f64,
    slope: Option<f64>,
    outside: Option<(u64, u64)>,
}

impl LabSide {
    /// The labs with a participant, in order; none when there is only one lab.
    pub(super) fn of(sides: &[Side], field: &Field<'_>) -> Vec<LabSide> {
        if field.labs.len() < 2 {
            return Vec::new();
        }
        let of_lab = |lab: usize| -> Vec<usize> {
            (0..sides.len())
                .filter(|&i| field.cabinets[sides[i].cabinet].lab == lab)
                .collect()
        };
        (0..field.labs.len())
            .map(|lab| (lab, of_lab(lab)))
            .filter(|(_, members)| !members.is_empty())
            .map(|(lab, members)| LabSide::new(lab, members, sides))
            .collect()
    }

    fn new(lab: usize, members: Vec<usize>, sides: &[Side]) -> LabSide {
        let of = || members.iter().map(|&i| &sides[i]);
        let count = members.len() as f64;
        let means: Vec<f64> = of().map(|s| s.level.mean).collect();
        let mean = sum::mean(&means).unwrap_or(f64::NAN);
        let between = sum::standard_deviation(&means);
        let chance = of()
            .map(|s| s.level.standard_error.powi(2))
            .sum::<f64>()
            .sqrt()
            / count;
        let instruments: Vec<&pair::Instrument> = of().map(|s| &s.instrument).collect();
        let outside = of()
            .filter_map(|s| s.outside)
            .reduce(|a, b| (a.0 + b.0, a.1 + b.1));
        let slopes: Vec<f64> = of()
            .filter_map(|s| s.level.slope_per_day)
            .map(|s| s.point)
            .collect();
        LabSide {
            lab,
            mean,
            between,
            u_chance: between.map_or(chance, |sd| (sd / count.sqrt()).max(chance)),
            u_instrument: pair::uncertainty_of_mean(&instruments),
            slope: sum::mean(&slopes),
            outside,
            members,
        }
    }

    pub(super) fn participant(
        &self,
        field: &Field<'_>,
        scoring: Option<&Scoring>,
    ) -> wire::Participant {
        let lab = &field.labs[self.lab];
        let mut on_wire = wire::Participant {
            id: lab.id.clone(),
            lab: lab.id.clone(),
            name: lab.name.clone(),
            n: self.members.len() as u64,
            n_effective: self.members.len() as f64,
            mean: self.mean,
            sd: self.between,
            u: Some(self.u_chance.hypot(self.u_instrument)),
            u_chance: Some(self.u_chance),
            u_instrument: Some(self.u_instrument),
            slope_per_day: self.slope,
            outside: self.outside.map(|(outside, _)| outside),
            checked: self.outside.map(|(_, checked)| checked),
            ..not_scored()
        };
        score(&mut on_wire, scoring);
        on_wire
    }
}
