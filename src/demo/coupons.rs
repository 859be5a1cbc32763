//! Reference coupons of both demo labs: what a specimen weighed before and after, from
//! the catch that its cabinet truly had while it stood there.
//!
//! How a lab writes them down is each lab's own: [`home_file`] is the home lab's list.
//! The steel, its loss and its noise are invented.

use super::calendar::{Day, date};
use super::daily::Check;
use super::noise::Noise;
use super::page::{to_step, written};
use super::scenario::{Cabinet, checks};
use chrono::NaiveDate;

/// Change of the loss with the catch, g/m² per mL/h per 80 cm², over [`HOURS`].
pub(super) const LOSS_PER_RATE: f64 = 30.0;
/// Loss at [`USUAL_RATE`], g/m².
pub(super) const USUAL_LOSS: f64 = 70.0;
/// The catch that goes with it, mL/h per 80 cm²: the home lab's own in the cabinets that
/// take coupons.
pub(super) const USUAL_RATE: f64 = 1.535;
/// Standard deviation from coupon to coupon in one cabinet, g/m².
pub(super) const COUPON_SD: f64 = 2.0;
/// Length of an exposure, h.
pub(super) const HOURS: u32 = 48;
/// Place of a coupon that was cleaned and not exposed.
pub(super) const BLANK: &str = "blank";
/// Blanks of a round.
const BLANKS: usize = 2;
/// Density of the steel, g/cm³.
const STEEL: f64 = 7.85;
/// Standard deviation of what the cleaning takes, g/m².
const CLEANING_SD: f64 = 0.1;
/// Places in a cabinet, in the order of the coupons.
pub(super) const PLACES: [&str; 4] = ["front left", "front right", "rear left", "rear right"];

/// A round: its name and what its lot of steel loses more than usual, g/m².
#[derive(Debug, Clone, Copy)]
pub(super) struct Lot {
    pub(super) round: &'static str,
    pub(super) loss: f64,
}

/// The three rounds.
pub(super) const LOTS: [Lot; 3] = [
    Lot {
        round: "2026-A",
        loss: 0.6,
    },
    Lot {
        round: "2026-B",
        loss: -1.0,
    },
    Lot {
        round: "2026-C",
        loss: 0.4,
    },
];

/// A cabinet that takes coupons.
#[derive(Debug)]
pub(super) struct Stand {
    /// Its name.
    pub(super) cabinet: &'static str,
    /// What it takes more than its catch tells, g/m².
    pub(super) own_loss: f64,
    /// What truly happened in it.
    pub(super) checks: Vec<Check>,
}

impl Stand {
    /// What its coupons answer before chance and cleaning, g/m².
    pub(super) fn usual_loss(&self, lot: &Lot, start: NaiveDate) -> f64 {
        USUAL_LOSS
            + LOSS_PER_RATE * (rate_over(&self.checks, start) - USUAL_RATE)
            + lot.loss
            + self.own_loss
    }
}

/// A lab that takes part.
#[derive(Debug)]
pub(super) struct Bench {
    /// Its cabinets.
    pub(super) stands: Vec<Stand>,
    /// First day of each round, parallel to [`LOTS`].
    pub(super) starts: [Day; 3],
    /// What the cleaning takes of sound steel, g/m².
    pub(super) cleaning: f64,
    /// First of its three noise streams.
    pub(super) stream: u64,
}

/// A coupon weighed twice.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Coupon {
    /// Its round.
    pub(super) round: &'static str,
    /// Where it stood; none for a blank.
    pub(super) cabinet: Option<&'static str>,
    /// Its mark.
    pub(super) mark: String,
    /// Its place in the cabinet, or [`BLANK`].
    pub(super) place: &'static str,
    /// First day of its exposure.
    pub(super) start: NaiveDate,
    /// Edges as measured, mm.
    pub(super) length: f64,
    pub(super) width: f64,
    pub(super) thickness: f64,
    /// Mass before and after, g.
    pub(super) before: f64,
    pub(super) after: f64,
}

impl Coupon {
    /// Both faces and all edges, cm².
    pub(super) fn area(&self) -> f64 {
        let (a, b, c) = (self.length, self.width, self.thickness);
        2.0 * (a * b + a * c + b * c) / 100.0
    }

    /// What it lost, cleaning included, g/m².
    #[cfg(test)]
    pub(super) fn loss(&self) -> f64 {
        (self.before - self.after) / self.area() * 10_000.0
    }
}

/// The catch of a cabinet over an exposure that starts on that day: the mean of the
/// checks of the two days after it.
pub(super) fn rate_over(checks: &[Check], start: NaiveDate) -> f64 {
    let days = i64::from(HOURS / 24);
    let during: Vec<f64> = checks
        .iter()
        .filter(|check| (1..=days).contains(&(check.on - start).num_days()))
        .map(Check::rate)
        .collect();
    // Every exposure has checks (tested); without one the usual catch stands in.
    if during.is_empty() {
        return USUAL_RATE;
    }
    during.iter().sum::<f64>() / during.len() as f64
}

/// All coupons of a lab: by round, the cabinets' and then the blanks.
pub(super) fn weighed(bench: &Bench) -> Vec<Coupon> {
    let mut scales = Scales {
        edges: Noise::new(bench.stream, 0.0),
        chance: Noise::new(bench.stream + 1, 0.0),
        cleaning: Noise::new(bench.stream + 2, 0.0),
        taken_off: bench.cleaning,
    };
    let mut out = Vec::new();
    for (lot, start) in LOTS.iter().zip(bench.starts) {
        let start = date(start);
        let letter = lot.round.trim_start_matches("2026-");
        let mut number = 0;
        for stand in &bench.stands {
            let usual = stand.usual_loss(lot, start);
            for place in PLACES {
                number += 1;
                let loss = usual + COUPON_SD * scales.chance.step();
                let mut coupon = scales.coupon(loss);
                (coupon.round, coupon.start) = (lot.round, start);
                (coupon.cabinet, coupon.place) = (Some(stand.cabinet), place);
                coupon.mark = format!("{letter}{number:02}");
                out.push(coupon);
            }
        }
        for blank in 1..=BLANKS {
            let mut coupon = scales.coupon(0.0);
            (coupon.round, coupon.start) = (lot.round, start);
            coupon.mark = format!("{letter}-blank-{blank}");
            out.push(coupon);
        }
    }
    out
}

/// What chance does to a coupon while it is cut, exposed and cleaned.
struct Scales {
    edges: Noise,
    chance: Noise,
    cleaning: Noise,
    taken_off: f64,
}

impl Scales {
    /// A coupon that loses so much, g/m², and then some to the cleaning.
    fn coupon(&mut self, loss: f64) -> Coupon {
        let mut edge =
            |usual: f64, sd: f64, step: f64| to_step(usual + sd * self.edges.step(), step);
        let mut coupon = Coupon {
            round: "",
            cabinet: None,
            mark: String::new(),
            place: BLANK,
            start: NaiveDate::MIN,
            length: edge(150.0, 0.15, 0.1),
            width: edge(70.0, 0.1, 0.1),
            thickness: edge(1.0, 0.012, 0.01),
            before: 0.0,
            after: 0.0,
        };
        coupon.before = coupon.length * coupon.width * coupon.thickness / 1000.0 * STEEL;
        let cleaned = self.taken_off + CLEANING_SD * self.cleaning.step();
        coupon.after = coupon.before - (loss + cleaned) * coupon.area() / 10_000.0;
        coupon
    }
}

/// The home lab's part: the four cabinets that run by ISO 9227.
pub(super) fn home() -> Bench {
    let stand = |which: Cabinet, own_loss| Stand {
        cabinet: which.name(),
        own_loss,
        checks: checks(which),
    };
    Bench {
        stands: vec![
            stand(Cabinet::Plover, 0.6),
            stand(Cabinet::Dunlin, -0.8),
            stand(Cabinet::Knot, 0.7),
            stand(Cabinet::Avocet, -0.5),
        ],
        starts: [(2026, 2, 10), (2026, 3, 24), (2026, 4, 21)],
        cleaning: 1.2,
        stream: 1_000,
    }
}

/// The home lab's `coupons.csv`.
pub(super) fn home_file() -> Vec<u8> {
    let mut lines = vec![
        "round,lab,cabinet,coupon,place,start,hours,mass_before_g,mass_after_g,area_cm2".to_owned(),
    ];
    for coupon in weighed(&home()) {
        let (start, hours) = match coupon.cabinet {
            Some(_) => (format!("{} 09:00", coupon.start), HOURS.to_string()),
            None => (String::new(), String::new()),
        };
        lines.push(
            [
                coupon.round.to_owned(),
                "Saltmarsh Bench".to_owned(),
                coupon.cabinet.unwrap_or_default().to_owned(),
                coupon.mark.clone(),
                coupon.place.to_owned(),
                start,
                hours,
                written(coupon.before, 0.0001, 4),
                written(coupon.after, 0.0001, 4),
                written(coupon.area(), 0.01, 2),
            ]
            .join(","),
        );
    }
    (lines.join("\n") + "\n").into_bytes()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mean(values: &[f64]) -> f64 {
        values.iter().sum::<f64>() / values.len() as f64
    }

    #[test]
    fn four_cabinets_of_four_and_two_blanks_a_round_lose_about_seventy() {
        let all = weighed(&home());
        assert_eq!(all.len(), 3 * (4 * 4 + 2));
        let (blank, exposed): (Vec<&Coupon>, Vec<&Coupon>) =
            all.iter().partition(|c| c.place == BLANK);
        let blanks: Vec<f64> = blank.iter().map(|c| c.loss()).collect();
        assert!(blanks.iter().all(|b| (b - 1.2).abs() < 0.4), "{blanks:?}");
        let losses: Vec<f64> = exposed.iter().map(|c| c.loss() - mean(&blanks)).collect();
        // 48 coupons of sd 2, and the catch of two days each: standard error about 0.4.
        assert!(
            (mean(&losses) - USUAL_LOSS).abs() < 1.5,
            "{}",
            mean(&losses)
        );
        assert!(
            losses.iter().all(|l| (58.0..82.0).contains(l)),
            "{losses:?}"
        );
    }

    #[test]
    fn coupons_of_a_cabinet_scatter_as_told() {
        let all = weighed(&home());
        let exposed: Vec<f64> = all
            .iter()
            .filter(|c| c.cabinet.is_some())
            .map(Coupon::loss)
            .collect();
        let within: f64 = exposed
            .chunks(4)
            .map(|four| four.iter().map(|l| (l - mean(four)).powi(2)).sum::<f64>() / 3.0)
            .sum::<f64>()
            / 12.0;
        // 36 degrees of freedom: the standard error of the sd is 12 %.
        assert!((within.sqrt() / COUPON_SD - 1.0).abs() < 0.36, "{within}");
    }

    #[test]
    fn every_exposure_has_a_check_on_both_of_its_days() {
        let bench = home();
        for start in bench.starts {
            for stand in &bench.stands {
                let days: Vec<i64> = stand
                    .checks
                    .iter()
                    .map(|c| (c.on - date(start)).num_days())
                    .filter(|d| (1..=2).contains(d))
                    .collect();
                assert_eq!(days, [1, 2], "{} {start:?}", stand.cabinet);
            }
        }
    }

    #[test]
    fn the_list_gives_the_loss_back() {
        let text = String::from_utf8(home_file()).unwrap();
        let line = text.lines().nth(1).unwrap();
        let cells: Vec<&str> = line.split(',').collect();
        assert_eq!(
            &cells[..5],
            ["2026-A", "Saltmarsh Bench", "Plover", "A01", "front left"]
        );
        let number = |column: usize| cells[column].parse::<f64>().unwrap();
        let loss = (number(7) - number(8)) / number(9) * 10_000.0;
        assert!((loss - weighed(&home())[0].loss()).abs() < 0.01, "{loss}");
        assert!(text.lines().all(|l| l.split(',').count() == 10));
    }
}
