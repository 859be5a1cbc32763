//! One characteristic of all participants, or one coupon round, put on the wire.
//!
//! Levels come in; scores, precision and pairs are asked of the modules that decide them.

use super::entrants::Field;
use crate::characteristic::Characteristic;
use crate::compare::level::Level;
use crate::compare::pair::{self, FactorStore, Pairs};
use crate::compare::precision::{self, Screening, Table};
use crate::compare::robust::{Constants, RobustEstimate, algorithm_a, median_nmad, q_hampel};
use crate::compare::score::{
    AssignedValue, DEFAULT_SHARE_OF_HALF_WINDOW, RepeatabilityPart, Scoring, SigmaPt, Uncertainty,
};
use crate::lab::{CompareSettings, SigmaChoice, Window};
use crate::report::wire;

/// Pairs listed of each characteristic; all are judged and counted.
const MOST_PAIRS: usize = 200;

/// Chance errors from which on a difference is worth asking the instruments about: about
/// the 95 % of one pair alone (common practice).
const BEYOND_CHANCE: f64 = 2.0;

/// A cabinet with its level.
pub(super) struct Side {
    /// Index of the cabinet.
    pub(super) cabinet: usize,
    pub(super) level: Level,
    pub(super) instrument: pair::Instrument,
    pub(super) instrument_says: Option<String>,
    /// Its readings or coupons.
    pub(super) results: Vec<f64>,
    pub(super) outside: Option<(u64, u64)>,
    pub(super) calendar: String,
    pub(super) coupons: Vec<wire::Coupon>,
    /// Whether its distribution is put on the wire.
    pub(super) drawn: bool,
}

/// What all participants of a characteristic share.
pub(super) struct Task<'a> {
    pub(super) characteristic: &'a Characteristic,
    pub(super) round: Option<String>,
    pub(super) unit: String,
    pub(super) window: Option<(&'a Window, String)>,
    pub(super) settings: &'a CompareSettings,
    /// Characteristics that share the error rate.
    pub(super) family: usize,
    pub(super) sides: Vec<Side>,
    /// Cabinets without a level, and why.
    pub(super) without: Vec<(usize, String)>,
}

/// One or two of the instrument in words.
fn instrument_words(characteristic: &Characteristic) -> (&'static str, &'static str) {
    match characteristic {
        Characteristic::CabinetTemperature | Characteristic::TowerTemperature => {
            ("thermometer", "thermometers")
        }
        Characteristic::AirPressure => ("pressure gauge", "pressure gauges"),
        Characteristic::CollectionNear
        | Characteristic::CollectionFar
        | Characteristic::CollectionRate
        | Characteristic::CollectionSpread => ("set of collectors", "sets of collectors"),
        Characteristic::Ph => ("pH meter", "pH meters"),
        Characteristic::SpecificGravity | Characteristic::SaltConcentration => {
            ("hydrometer", "hydrometers")
        }
        Characteristic::CouponMassLoss => ("balance", "balances"),
        Characteristic::Own(_) => ("instrument", "instruments"),
    }
}

/// The wire entry of a task.
pub(super) fn fill(
    task: Task<'_>,
    field: &Field<'_>,
    store: &mut FactorStore,
) -> wire::ComparedCharacteristic {
    let means: Vec<f64> = task.sides.iter().map(|s| s.level.mean).collect();
    let consensus = algorithm_a(&means, Constants::Exact).ok();
    let robust = [
        consensus,
        median_nmad(&means, Constants::Exact).ok(),
        q_hampel(&means).ok(),
    ];
    let screening = screening(&task);
    let (sigma, sigma_says) = sigma(&task, screening.as_ref().ok(), consensus.as_ref());
    let assigned = assigned(&task, consensus.as_ref());
    let scoring = match (&assigned, &sigma) {
        (Ok(assigned), Some(sigma)) => Some(Scoring {
            assigned: *assigned,
            sigma: *sigma,
        }),
        _ => None,
    };
    let margin = task
        .settings
        .margin(task.characteristic, task.window.as_ref().map(|(w, _)| *w));
    let how = pair_settings(&task, margin.value);
    let cabinets: Vec<pair::Cabinet<'_>> = task.sides.iter().map(cabinet).collect();
    let pairs = pair::judge_cabinets(&cabinets, &how, store);
    let lab_sides = LabSide::of(&task.sides, field);
    let lab_pairs = lab_pairs(&task.sides, &lab_sides, &how, store);
    let ids: Vec<&str> = (task.sides.iter())
        .map(|s| field.cabinets[s.cabinet].id.as_str())
        .collect();
    let mut participants: Vec<wire::Participant> = task
        .sides
        .iter()
        .map(|side| participant(side, field, scoring.as_ref()))
        .collect();
    if let Ok(screening) = &screening {
        for (participant, cell) in participants.iter_mut().zip(&screening.all.cells) {
            participant.h = cell.h.ok();
            participant.k = cell.k.ok();
        }
        mark_coupons(&mut participants, screening);
    }
    let independent = task.round.is_some();
    let on_wire = |p: &precision::Precision, left_out: &[usize]| {
        precision_on_wire(p, &ids, left_out, independent)
    };
    let pair_count = pair_count(pairs.as_ref().ok());
    let lab_ids: Vec<&str> = lab_sides
        .iter()
        .map(|l| field.labs[l.lab].id.as_str())
        .collect();
    let lab_errors: Vec<f64> = lab_sides.iter().map(|l| l.u_chance).collect();
    let lab_pairs = lab_pairs.map_or_else(Vec::new, |p| pairs_on_wire(&p, &lab_ids, &lab_errors));
    let errors: Vec<f64> = (task.sides.iter())
        .map(|s| s.level.standard_error)
        .collect();
    let window = task.window.as_ref().map(|(w, source)| wire::Window {
        lower: w.lower,
        upper: w.upper,
        source: source.clone(),
    });
    wire::ComparedCharacteristic {
        characteristic: task.characteristic.id().to_owned(),
        round: task.round.clone(),
        unit: task.unit.clone(),
        window,
        robust: robust.iter().flatten().map(estimate).collect(),
        assigned: assigned
            .as_ref()
            .ok()
            .map(|a| assigned_on_wire(a, sigma.as_ref())),
        sigma_p: sigma.as_ref().map(SigmaPt::value),
        sigma_p_says: sigma_says,
        labs: lab_sides
            .iter()
            .map(|lab| lab.participant(field, scoring.as_ref()))
            .collect(),
        precision: (screening.as_ref().ok()).and_then(|s| on_wire(&s.all, &[])),
        precision_without_outliers: screening.as_ref().ok().and_then(|s| {
            let without = s.without_outliers.as_ref()?;
            on_wire(without, &s.left_out)
        }),
        precision_says: precision_says(&task, &screening, field),
        margin: margin.value,
        margin_says: margin.says,
        says: says(&task, field, &pairs, &pair_count),
        pairs: pairs.map_or_else(|_| Vec::new(), |p| pairs_on_wire(&p, &ids, &errors)),
        lab_pairs,
        pair_count,
        participants,
    }
}

fn cabinet(side: &Side) -> pair::Cabinet<'_> {
    pair::Cabinet {
        level: &side.level,
        instrument: &side.instrument,
    }
}

fn pair_settings(task: &Task<'_>, margin: Option<f64>) -> pair::Settings {
    let (instrument, instruments) = instrument_words(task.characteristic);
    pair::Settings {
        characteristics: task.family,
        margin,
        listed: MOST_PAIRS,
        unit: task.unit.clone(),
        instrument: instrument.to_owned(),
        instruments: instruments.to_owned(),
    }
}

fn estimate(found: &RobustEstimate) -> wire::RobustEstimate {
    wire::RobustEstimate {
        method: found.method().id().to_owned(),
        centre: found.centre(),
        spread: found.spread(),
    }
}

fn assigned(task: &Task<'_>, consensus: Option<&RobustEstimate>) -> Result<AssignedValue, String> {
    // Mass loss has no reference value of its own: a round's lot differs from the next.
    if let (Some(reference), None) = (task.settings.assigned.get(task.characteristic), &task.round)
    {
        let u = Uncertainty::standard(reference.u).map_err(|e| e.to_string())?;
        return AssignedValue::reference(reference.value, u).map_err(|e| e.to_string());
    }
    let consensus = consensus.ok_or_else(|| "there are too few participants".to_owned())?;
    AssignedValue::consensus(consensus).map_err(|e| e.to_string())
}

fn assigned_on_wire(assigned: &AssignedValue, sigma: Option<&SigmaPt>) -> wire::Assigned {
    let check = sigma.map(|sigma| assigned.check(sigma));
    wire::Assigned {
        value: assigned.value(),
        u: assigned.u().value(),
        method: assigned.source().id().to_owned(),
        u_negligible: check == Some(crate::compare::score::UncertaintyCheck::Negligible),
        says: sigma.map_or_else(
            || "Without a standard deviation for the scores nothing can be scored.".to_owned(),
            |sigma| assigned.says(sigma),
        ),
    }
}

/// σ_pt as the settings choose it, else the participants' robust spread, and why.
fn sigma(
    task: &Task<'_>,
    screening: Option<&Screening>,
    consensus: Option<&RobustEstimate>,
) -> (Option<SigmaPt>, String) {
    let chosen = match task.settings.sigma {
        SigmaChoice::Window => match &task.window {
            Some((w, _)) => {
                SigmaPt::share_of_window(w.lower, w.upper, DEFAULT_SHARE_OF_HALF_WINDOW)
                    .map_err(|e| e.to_string())
            }
            None => Err("No conformance window is known for it.".to_owned()),
        },
        SigmaChoice::Precision => from_precision(task, screening),
        SigmaChoice::Robust => Err(String::new()),
    };
    match chosen {
        Ok(sigma) => (Some(sigma), sigma.says()),
        Err(why) => {
            let robust = consensus
                .ok_or_else(|| "There are too few participants for their own spread.".to_owned())
                .and_then(|c| SigmaPt::from_robust_spread(c).map_err(|e| e.to_string()));
            match robust {
                Ok(sigma) => (
                    Some(sigma),
                    format!("{why} {}", sigma.says()).trim().to_owned(),
                ),
                Err(reason) => (None, format!("{why} {reason}").trim().to_owned()),
            }
        }
    }
}

fn from_precision(task: &Task<'_>, screening: Option<&Screening>) -> Result<SigmaPt, String> {
    let screening = screening.ok_or_else(|| "There is no precision to take it from.".to_owned())?;
    let from = screening
        .without_outliers
        .as_ref()
        .unwrap_or(&screening.all);
    let variances = from.variances.as_ref().map_err(ToString::to_string)?;
    // Daily readings carry over: as many count as are independent.
    let results = match task.round {
        Some(_) => variances.mean_replicates,
        None => {
            let all: f64 = task.sides.iter().map(|s| s.level.n_effective).sum();
            all / task.sides.len().max(1) as f64
        }
    };
    SigmaPt::from_precision(
        variances.s_reproducibility,
        RepeatabilityPart {
            deviation: variances.s_r,
            results: results.round().clamp(1.0, 1e6) as u32,
        },
    )
    .map_err(|e| e.to_string())
}

fn participant(side: &Side, field: &Field<'_>, scoring: Option<&Scoring>) -> wire::Participant {
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
struct LabSide {
    lab: usize,
    /// Places among the task's sides.
    members: Vec<usize>,
    mean: f64,
    between: Option<f64>,
    u_chance: f64,
    u_instrument: f64,
    slope: Option<f64>,
    outside: Option<(u64, u64)>,
}

impl LabSide {
    /// The labs with a participant, in order; none when there is only one lab.
    fn of(sides: &[Side], field: &Field<'_>) -> Vec<LabSide> {
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
        let mean = crate::stats::sum::mean(&means).unwrap_or(f64::NAN);
        let between = crate::stats::sum::standard_deviation(&means);
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
            slope: crate::stats::sum::mean(&slopes),
            outside,
            members,
        }
    }

    fn participant(&self, field: &Field<'_>, scoring: Option<&Scoring>) -> wire::Participant {
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

fn lab_pairs(
    sides: &[Side],
    labs: &[LabSide],
    how: &pair::Settings,
    store: &mut FactorStore,
) -> Option<Pairs> {
    let labs: Vec<pair::Lab<'_>> = labs
        .iter()
        .map(|lab| pair::Lab {
            cabinets: lab.members.iter().map(|&i| cabinet(&sides[i])).collect(),
        })
        .collect();
    pair::judge_labs(&labs, how, store).ok()
}

/// `errors` are the chance errors of the participants, parallel to `ids`.
fn pairs_on_wire(pairs: &Pairs, ids: &[&str], errors: &[f64]) -> Vec<wire::Pair> {
    let id = |index: usize| ids.get(index).copied().unwrap_or_default().to_owned();
    let error = |index: usize| errors.get(index).copied().unwrap_or(0.0);
    pairs
        .listed
        .iter()
        .map(|pair| wire::Pair {
            a: id(pair.a),
            b: id(pair.b),
            difference: pair.difference,
            low: pair.chance.map(|i| i.low),
            high: pair.chance.map(|i| i.high),
            u_instruments: Some(pair.u_instruments),
            instruments_explain: {
                let size = pair.difference.abs();
                size > BEYOND_CHANCE * error(pair.a).hypot(error(pair.b))
                    && size <= pair.u_instruments
            },
            total_low: pair.total.map(|i| i.low),
            total_high: pair.total.map(|i| i.high),
            sd_ratio: pair.sd_ratio.map(|i| i.point),
            sd_ratio_low: pair.sd_ratio.map(|i| i.low),
            sd_ratio_high: pair.sd_ratio.map(|i| i.high),
            verdict: pair.verdict.id().to_owned(),
            more_checks: pair.more_checks,
            says: pair.says.clone(),
        })
        .collect()
}

fn pair_count(pairs: Option<&Pairs>) -> wire::PairCount {
    pairs.map_or(
        wire::PairCount {
            all: 0,
            listed: 0,
            differ: 0,
            agree: 0,
            cannot_tell: 0,
        },
        |p| wire::PairCount {
            all: p.all,
            listed: p.listed.len() as u64,
            differ: p.differ,
            agree: p.agree,
            cannot_tell: p.cannot_tell,
        },
    )
}

/// The precision experiment of the results: screened for coupons, as it is for daily
/// readings, whose carry-over the outlier tests do not know.
fn screening(task: &Task<'_>) -> Result<Screening, String> {
    let results: Vec<Vec<f64>> = task.sides.iter().map(|s| s.results.clone()).collect();
    let table = Table::new(results).map_err(|e| e.to_string())?;
    if task.round.is_some() {
        return Ok(precision::screen(&table));
    }
    Ok(Screening {
        all: precision::analyse(&table),
        marks: Vec::new(),
        left_out: Vec::new(),
        without_outliers: None,
        stopped: None,
    })
}

/// `left_out` are the places of `ids` that the analysis is without.
fn precision_on_wire(
    precision: &precision::Precision,
    ids: &[&str],
    left_out: &[usize],
    independent: bool,
) -> Option<wire::Precision> {
    debug_assert_eq!(precision.participants + left_out.len(), ids.len());
    let variances = precision.variances.as_ref().ok()?;
    let test = |test: &precision::OutlierTest| wire::OutlierTest {
        test: test.test.name().to_owned(),
        participants: (test.participants.iter())
            .filter_map(|&i| ids.get(i).map(|id| (*id).to_owned()))
            .collect(),
        statistic: test.statistic,
        critical: critical(&test.critical),
        verdict: test.verdict.name().to_owned(),
    };
    Some(wire::Precision {
        participants: precision.participants as u64,
        results: precision.results as u64,
        mean: precision.mean,
        s_r: variances.s_r,
        s_l: variances.s_l,
        s_l_negative: variances.s_l_negative,
        s_reproducibility: variances.s_reproducibility,
        r_limit: variances.r_limit,
        reproducibility_limit: variances.reproducibility_limit,
        h_critical: precision.h_critical.as_ref().map(critical),
        k_critical: (precision.k_critical.as_ref().map(critical)).filter(|_| independent),
        cochran: (precision.cochran.as_ref().ok())
            .filter(|_| independent)
            .map(|c| test(&c.test)),
        grubbs: precision.grubbs.iter().map(test).collect(),
    })
}

fn critical(values: &precision::Critical) -> wire::Critical {
    wire::Critical {
        at_5_percent: values.at_5_percent,
        at_1_percent: values.at_1_percent,
    }
}

/// Writes on the coupons what their participant was marked for: Cochran's test on the one
/// farthest from the others, Grubbs' on all.
fn mark_coupons(participants: &mut [wire::Participant], screening: &Screening) {
    for mark in &screening.marks {
        let cochran = mark.test.test == precision::Test::Cochran;
        let words = format!(
            "{} {}",
            if cochran { "cochran" } else { "grubbs" },
            mark.test.verdict.name()
        );
        for &place in &mark.test.participants {
            let Some(participant) = participants.get_mut(place) else {
                continue;
            };
            let farthest = farthest(&participant.coupons);
            for (index, coupon) in participant.coupons.iter_mut().enumerate() {
                if (!cochran || Some(index) == farthest) && coupon.marked.is_none() {
                    coupon.marked = Some(words.clone());
                }
            }
        }
    }
}

/// The coupon farthest from the median of its cabinet's.
fn farthest(coupons: &[wire::Coupon]) -> Option<usize> {
    let mut losses: Vec<f64> = coupons.iter().map(|c| c.mass_loss).collect();
    let median = crate::stats::quantile::median(&mut losses)?;
    let off = |c: &wire::Coupon| (c.mass_loss - median).abs();
    (0..coupons.len()).max_by(|&a, &b| off(&coupons[a]).total_cmp(&off(&coupons[b])))
}

fn precision_says(
    task: &Task<'_>,
    screening: &Result<Screening, String>,
    field: &Field<'_>,
) -> String {
    let screening = match screening {
        Ok(screening) => screening,
        Err(why) => return why.clone(),
    };
    if let Err(why) = &screening.all.variances {
        return why.to_string();
    }
    if task.round.is_none() {
        return "Each cabinet counts as a participant. For daily checks s_r is the spread from \
                check to check within a cabinet, not repeatability. Cochran's test and the \
                limits of k ask for independent results and are not given for readings that \
                carry over."
            .to_owned();
    }
    let labs: std::collections::BTreeSet<usize> = (task.sides.iter())
        .map(|s| field.cabinets[s.cabinet].lab)
        .collect();
    let mut says = "ISO 5725-2 with each cabinet as a participant.".to_owned();
    if labs.len() < 2 {
        says.push_str(
            " One lab took part: s_R holds the differences between its cabinets, not between labs.",
        );
    }
    let named = |marks: &[usize]| -> String {
        let names: Vec<&str> = (marks.iter())
            .filter_map(|&i| task.sides.get(i))
            .map(|s| field.cabinets[s.cabinet].name.as_str())
            .collect();
        names.join(", ")
    };
    for mark in &screening.marks {
        says.push_str(&format!(
            " {}: {} by {}{}.",
            named(&mark.test.participants),
            mark.test.verdict.name(),
            mark.test.test.name().replace('-', " "),
            if mark.left_out {
                ", left out of the second analysis"
            } else {
                ", kept"
            }
        ));
    }
    if let Some(stop) = &screening.stopped {
        says.push_str(&format!(" {stop}"));
    }
    if screening.all.numbers_differ_much {
        says.push_str(
            " The numbers of coupons differ much, so that the outlier tests of means mark more \
             often than they say.",
        );
    }
    says
}

fn says(
    task: &Task<'_>,
    field: &Field<'_>,
    pairs: &Result<Pairs, pair::NoPairs>,
    count: &wire::PairCount,
) -> String {
    let mut says = match pairs {
        Err(why) => {
            let text = why.to_string();
            format!("{}.", crate::report::format::capital(&text))
        }
        Ok(_) if count.all == 1 => String::new(),
        Ok(_) => format!(
            "Of {} pairs of cabinets, {} differ by more than instruments and chance explain, {} \
             agree within the margin, and of {} it cannot be told.",
            count.all, count.differ, count.agree, count.cannot_tell
        ),
    };
    if let (Ok(pairs), 1) = (pairs, count.all)
        && let Some(pair) = pairs.listed.first()
    {
        let name = |i: usize| {
            let side = task.sides.get(i);
            side.map_or("", |s| field.cabinets[s.cabinet].name.as_str())
        };
        says = format!("{} and {}: {}", name(pair.a), name(pair.b), pair.says);
    }
    if !task.without.is_empty() {
        const MOST: usize = 4;
        let told: Vec<String> = task
            .without
            .iter()
            .take(MOST)
            .map(|(cabinet, why)| format!("{} ({why})", field.cabinets[*cabinet].name))
            .collect();
        let more = task.without.len().saturating_sub(MOST);
        says.push_str(&format!(" Left out: {}", told.join("; ")));
        match more {
            0 => says.push('.'),
            more => says.push_str(&format!("; and {more} more.")),
        }
    }
    says.trim().to_owned()
}
