//! Runs the scenarios and counts.

use super::cabinet::{Cabinet, Change, LOWER, UPPER};
use super::oracle::{Knows, evidence, forecast_width, threshold};
use super::told::Told;
use super::{
    Contestant, Dates, FalseAlarms, Forecasts, Outcome, Ramps, Settings, Steps, published,
};
use crate::detect::{Budget, Readings, Stretch, watch};
use crate::drift::{Assessment, assess, theil_sen};
use crate::progress::Progress;
use crate::signal::RuleSet;

/// Checks for which a step is watched.
const WATCHED: usize = 100;
/// Checks after a step at which its date is told.
const TOLD_AFTER: usize = 40;

/// Runs the trial; one step of `progress` a scenario.
pub fn run(settings: &Settings, progress: &dyn Progress) -> Outcome {
    let settings = &Settings {
        cabinets: settings.cabinets.max(1),
        checks: settings.checks.max(1),
        baseline: settings.baseline.max(15),
        ..settings.clone()
    };
    let trial = Trial {
        settings,
        western_electric: RuleSet::named("western-electric-1956"),
    };
    progress.begin("trial", settings.slopes.len() as u64 + 2);
    let steady: Vec<Cabinet> =
        trial.cabinets(0, |_| settings.baseline + settings.checks, |_| Change::None);
    let false_alarms = trial.false_alarms(&steady);
    progress.advance(1);
    let (mut ramps, mut forecasts) = (Vec::new(), Vec::new());
    for (place, &slope) in settings.slopes.iter().enumerate() {
        let cabinets = trial.ramps(2 + place as u64, slope);
        ramps.extend(trial.judge_ramps(&steady, &cabinets, slope));
        forecasts.push(trial.forecasts(&cabinets, slope));
        progress.advance(1);
    }
    let stepped = trial.cabinets(
        1,
        |change| change.at() + WATCHED,
        |dice| Change::Step {
            at: settings.baseline + dice.between([10.0, 90.0]) as usize,
            sds: dice.between(settings.steps),
        },
    );
    let steps = trial.judge_steps(&steady, &stepped);
    let dates = trial.dates(&stepped);
    progress.advance(1);
    progress.end();
    Outcome {
        schema: "steadyfog.trial/1".to_owned(),
        settings: settings.clone(),
        steady: false_alarms,
        ramps,
        steps,
        dates,
        forecasts,
    }
}

struct Trial<'a> {
    settings: &'a Settings,
    western_electric: Option<RuleSet>,
}

impl Trial<'_> {
    fn cabinets(
        &self,
        scenario: u64,
        checks: impl Fn(Change) -> usize,
        change: impl Fn(&mut super::cabinet::Dice) -> Change,
    ) -> Vec<Cabinet> {
        (0..self.settings.cabinets)
            .map(|index| Cabinet::new(self.settings, scenario, index, &checks, &change))
            .collect()
    }

    fn ramps(&self, scenario: u64, slope: f64) -> Vec<Cabinet> {
        let way = (UPPER - super::cabinet::LEVEL) / slope;
        self.cabinets(
            scenario,
            |change| change.at() + (way * 5.0 / 7.0) as usize + 3,
            |dice| Change::Ramp {
                at: self.settings.baseline + dice.between([10.0, 90.0]) as usize,
                slope,
            },
        )
    }

    /// Standard deviation and lag-1 autocorrelation of the baseline, as a chart has them.
    fn baseline(&self, cabinet: &Cabinet) -> (f64, f64) {
        let first = cabinet.value.get(..self.settings.baseline).unwrap_or(&[]);
        let n = first.len() as f64;
        let mean = first.iter().sum::<f64>() / n;
        let square: f64 = first.iter().map(|v| (v - mean).powi(2)).sum();
        let product: f64 = first
            .windows(2)
            .map(|pair| match pair {
                [a, b] => (a - mean) * (b - mean),
                _ => 0.0,
            })
            .sum();
        let rounding = self.settings.resolution / 12.0_f64.sqrt();
        let lag1 = if square > 0.0 { product / square } else { 0.0 };
        let corrected = lag1 + (1.0 + 3.0 * lag1) / n;
        ((square / (n - 1.0)).sqrt().max(rounding), corrected)
    }

    fn watched(&self, cabinet: &Cabinet) -> Vec<Stretch> {
        let readings = Readings {
            at: &cabinet.at,
            value: &cabinet.value,
            sigma: self.baseline(cabinet).0,
            resolution: Some(self.settings.resolution),
            judged_from: self.settings.baseline,
        };
        let budget = Budget {
            checks_per_false_alarm: self.settings.checks_per_false_alarm,
        };
        watch(&readings, 0, budget)
    }

    fn assessed(&self, cabinet: &Cabinet) -> Assessment {
        let (sigma, phi) = self.baseline(cabinet);
        let baseline = self.settings.baseline;
        let (lower, upper) = (Some(LOWER), Some(UPPER));
        assess(
            &cabinet.at,
            &cabinet.value,
            sigma,
            phi,
            baseline,
            lower,
            upper,
        )
    }

    /// Alarms of a contestant that needs no threshold of its own.
    fn alarms(&self, contestant: Contestant, cabinet: &Cabinet) -> Vec<Told> {
        let baseline = self.settings.baseline;
        match (contestant, &self.western_electric) {
            (Contestant::Steadyfog, _) => told_of(&self.watched(cabinet)),
            (Contestant::ThreeSigma, _) => published::three_sigma(cabinet, baseline),
            (Contestant::WesternElectric, Some(set)) => {
                published::pattern_tests(cabinet, baseline, set)
            }
            (Contestant::WesternElectric | Contestant::Oracle, _) => Vec::new(),
        }
    }

    fn false_alarms(&self, steady: &[Cabinet]) -> Vec<FalseAlarms> {
        let checks = (steady.len() * self.settings.checks) as f64;
        let [low, high] = self.settings.phi;
        NO_ORACLE
            .into_iter()
            .map(|contestant| {
                let (mut alarms, mut signals) = (0, 0);
                let mut thirds = [(0, 0); 3];
                for cabinet in steady {
                    let told = self.alarms(contestant, cabinet).len();
                    alarms += told;
                    signals += match contestant {
                        Contestant::Steadyfog => self.watched(cabinet).len(),
                        _ => told,
                    };
                    let place = (3.0 * (cabinet.phi - low) / (high - low).max(1e-9)) as usize;
                    if let Some(third) = thirds.get_mut(place.min(2)) {
                        *third = (third.0 + told, third.1 + self.settings.checks);
                    }
                }
                FalseAlarms {
                    contestant,
                    per_370: 370.0 * alarms as f64 / checks,
                    signals_per_370: 370.0 * signals as f64 / checks,
                    per_370_by_phi: thirds.map(|(told, of)| 370.0 * told as f64 / of.max(1) as f64),
                }
            })
            .collect()
    }

    /// Alarms of every contestant on changed cabinets; the oracle's threshold is set on the
    /// steady ones, at the rate that the default set is asked for.
    fn everyones_alarms(
        &self,
        steady: &[Cabinet],
        changed: &[Cabinet],
    ) -> Vec<(Contestant, Vec<Vec<Told>>)> {
        let mut all: Vec<(Contestant, Vec<Vec<Told>>)> = NO_ORACLE
            .into_iter()
            .map(|c| {
                (
                    c,
                    changed
                        .iter()
                        .map(|cabinet| self.alarms(c, cabinet))
                        .collect(),
                )
            })
            .collect();
        let (resolution, from) = (self.settings.resolution, self.settings.baseline);
        let knows: Vec<Knows> = changed.iter().filter_map(|c| Knows::of(c.change)).collect();
        let quiet: Vec<Vec<f64>> = steady
            .iter()
            .zip(&knows)
            .map(|(cabinet, knows)| evidence(cabinet, *knows, resolution))
            .collect();
        let per_cabinet = self.settings.checks as f64 / self.settings.checks_per_false_alarm;
        let bar = threshold(&quiet, from, per_cabinet);
        let told = changed.iter().zip(&knows).map(|(cabinet, knows)| {
            Told::of_evidence(&evidence(cabinet, *knows, resolution), from, bar)
        });
        all.push((Contestant::Oracle, told.collect()));
        all
    }

    fn judge_ramps(&self, steady: &[Cabinet], changed: &[Cabinet], slope: f64) -> Vec<Ramps> {
        self.everyones_alarms(steady, changed)
            .into_iter()
            .map(|(contestant, alarms)| {
                let (mut left, mut caught) = (Vec::new(), 0);
                for (cabinet, told) in changed.iter().zip(&alarms) {
                    let at = cabinet.change.at();
                    if Told::on_before(told, at) {
                        continue;
                    }
                    let way = cabinet.breach_day() - cabinet.day(at);
                    let seen = Told::first_since(told, at)
                        .map(|known| (cabinet.breach_day() - cabinet.day(known)) / way)
                        .filter(|left| *left > 0.0);
                    caught += usize::from(seen.is_some());
                    left.push(seen.unwrap_or(0.0));
                }
                Ramps {
                    slope,
                    contestant,
                    counted: left.len(),
                    caught: caught as f64 / left.len().max(1) as f64,
                    way_left: median(&left),
                }
            })
            .collect()
    }

    fn judge_steps(&self, steady: &[Cabinet], changed: &[Cabinet]) -> Vec<Steps> {
        self.everyones_alarms(steady, changed)
            .into_iter()
            .map(|(contestant, alarms)| {
                let mut days = Vec::new();
                for (cabinet, told) in changed.iter().zip(&alarms) {
                    let at = cabinet.change.at();
                    if !Told::on_before(told, at) {
                        let seen = Told::first_since(told, at);
                        days.push(seen.map_or(f64::INFINITY, |k| cabinet.day(k) - cabinet.day(at)));
                    }
                }
                let caught = days.iter().filter(|d| d.is_finite()).count();
                Steps {
                    contestant,
                    counted: days.len(),
                    caught: caught as f64 / days.len().max(1) as f64,
                    days: median(&days),
                }
            })
            .collect()
    }

    fn dates(&self, changed: &[Cabinet]) -> Dates {
        let (mut of_signal, mut of_shift) = (Vec::new(), Vec::new());
        for cabinet in changed {
            let at = cabinet.change.at();
            let off = |index: usize| (cabinet.day(index) - cabinet.day(at)).abs();
            let signal = self.watched(cabinet).into_iter();
            let signal = signal
                .filter(|s| s.rule == "ramp" && s.known >= at)
                .min_by_key(|s| s.known);
            of_signal.extend(signal.map(|s| off(s.start)));
            let shift = self.assessed(&cabinet.before(at + TOLD_AFTER)).shift;
            of_shift.extend(shift.map(|s| off(s.at_index)));
        }
        Dates {
            of_signal: median(&of_signal),
            of_shift: median(&of_shift),
            shifts_told: of_shift.len() as f64 / changed.len().max(1) as f64,
        }
    }

    fn forecasts(&self, changed: &[Cabinet], slope: f64) -> Forecasts {
        let (mut widths, mut oracle_widths) = (Vec::new(), Vec::new());
        let (mut covered, mut told) = (0, 0);
        for cabinet in changed {
            let half_way = 0.5 * (cabinet.day(cabinet.change.at()) + cabinet.breach_day());
            let so_far = cabinet.before(cabinet.days.partition_point(|d| *d <= half_way));
            let Some(breach) = self.assessed(&so_far).drift.and_then(|d| d.breach) else {
                continue;
            };
            told += 1;
            let Some(&first) = cabinet.at.first() else {
                continue;
            };
            // Days since the first Monday, as the cabinet counts them.
            let day = |at: crate::time::Instant| at.days_since(first) + cabinet.day(0);
            let (early, late) = (
                day(breach.earliest),
                breach.latest.map_or(f64::INFINITY, day),
            );
            let truth = cabinet.breach_day();
            covered += i32::from(early <= truth && truth <= late);
            widths.push(late - early);
            oracle_widths.extend(forecast_width(
                &so_far,
                self.settings.resolution,
                [LOWER, UPPER],
            ));
        }
        Forecasts {
            slope,
            told: f64::from(told) / changed.len().max(1) as f64,
            covered: (told > 0).then(|| f64::from(covered) / f64::from(told)),
            width: median(&widths),
            oracle_width: median(&oracle_widths),
        }
    }
}

/// Those who are measured on steady cabinets; the oracle is set to the rate asked for.
const NO_ORACLE: [Contestant; 3] = [
    Contestant::Steadyfog,
    Contestant::ThreeSigma,
    Contestant::WesternElectric,
];

/// Median; `None` of nothing, or when half of the numbers are infinite.
fn median(numbers: &[f64]) -> Option<f64> {
    (!numbers.is_empty())
        .then(|| theil_sen::median(numbers))
        .filter(|middle| middle.is_finite())
}

fn told_of(stretches: &[Stretch]) -> Vec<Told> {
    let each = stretches.iter().map(|s| Told {
        known: s.known,
        last: s.last,
    });
    Told::union(each.collect())
}
