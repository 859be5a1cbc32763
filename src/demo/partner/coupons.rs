//! The partner's `coupons.csv`: semicolons, decimal commas, edges in place of an area;
//! one coupon whose thickness nobody wrote down, and one that lost far too much.

use super::super::coupons::{Coupon, HOURS, weighed};
use super::super::page::{Dirt, DirtKind, written};
use super::scenario::bench;

/// Path relative to the lab folder.
pub(super) const PATH: &str = "coupons.csv";
/// The coupon without a thickness, and so without an area.
const WITHOUT_AREA: &str = "A07";
/// The coupon that lost far too much: its edges were left bare.
pub(super) const OUTLIER: &str = "B10";
/// How much more it lost, g/m².
pub(super) const OUTLIER_LOSS: f64 = 16.0;

const HEADING: [&str; 12] = [
    "round",
    "lab",
    "cabinet",
    "coupon",
    "place",
    "start",
    "hours",
    "mass_before_g",
    "mass_after_g",
    "length_mm",
    "width_mm",
    "thickness_mm",
];
const THICKNESS: usize = 11;

/// The list, and what is dirty in it.
pub(super) fn file() -> (Vec<u8>, Vec<Dirt>) {
    let mut lines = vec![HEADING.join(";")];
    let mut dirt = Vec::new();
    let mut soil = |line: usize, column: usize, found: &str, kind| {
        dirt.push(Dirt {
            path: PATH.to_owned(),
            sheet: None,
            line: line as u64 + 1,
            column: HEADING.get(column).map(|h| (*h).to_owned()),
            found: found.to_owned(),
            kind,
        });
    };
    for mut coupon in weighed(&bench()) {
        if coupon.mark == OUTLIER {
            coupon.after -= OUTLIER_LOSS * coupon.area() / 10_000.0;
        }
        let mut cells = row(&coupon);
        if coupon.mark == OUTLIER {
            soil(lines.len(), 8, &cells[8], DirtKind::Outlier);
        }
        if coupon.mark == WITHOUT_AREA {
            cells[THICKNESS] = String::new();
            soil(lines.len(), THICKNESS, "", DirtKind::MissingArea);
        }
        lines.push(cells.join(";"));
    }
    ((lines.join("\r\n") + "\r\n").into_bytes(), dirt)
}

fn row(coupon: &Coupon) -> [String; 12] {
    let (start, hours) = match coupon.cabinet {
        Some(_) => (format!("{} 10:30", coupon.start), HOURS.to_string()),
        None => (String::new(), String::new()),
    };
    let comma =
        |value: f64, step: f64, decimals: usize| written(value, step, decimals).replace('.', ",");
    [
        coupon.round.to_owned(),
        "Acabados Orilla Gris".to_owned(),
        coupon.cabinet.unwrap_or_default().to_owned(),
        coupon.mark.clone(),
        coupon.place.to_owned(),
        start,
        hours,
        comma(coupon.before, 0.0001, 4),
        comma(coupon.after, 0.0001, 4),
        comma(coupon.length, 0.1, 1),
        comma(coupon.width, 0.1, 1),
        comma(coupon.thickness, 0.01, 2),
    ]
}

#[cfg(test)]
mod tests {
    use super::super::super::coupons::{BLANK, COUPON_SD, home};
    use super::*;

    fn mean(values: &[f64]) -> f64 {
        values.iter().sum::<f64>() / values.len() as f64
    }

    /// Mean loss of a lab's exposed coupons less that of its blanks.
    fn level(all: &[Coupon]) -> f64 {
        let (blank, exposed): (Vec<&Coupon>, Vec<&Coupon>) =
            all.iter().partition(|c| c.place == BLANK);
        let of = |some: Vec<&Coupon>| mean(&some.iter().map(|c| c.loss()).collect::<Vec<_>>());
        of(exposed) - of(blank)
    }

    #[test]
    fn the_partner_loses_less_as_its_catch_tells() {
        let (home, here) = (level(&weighed(&home())), level(&weighed(&bench())));
        // 0.27 mL/h less than the four cabinets that take coupons at home, times 30.
        assert!((here - home + 8.1).abs() < 1.5, "{home} {here}");
    }

    #[test]
    fn one_area_is_missing_and_one_coupon_lost_far_too_much() {
        let (bytes, dirt) = file();
        let text = String::from_utf8(bytes).unwrap();
        let lines: Vec<Vec<&str>> = text.lines().map(|l| l.split(';').collect()).collect();
        assert_eq!(lines.len(), 1 + 3 * (3 * 4 + 2));
        assert!(lines.iter().all(|cells| cells.len() == 12));
        assert_eq!(dirt.len(), 2);
        for dirt in dirt {
            let cells = &lines[dirt.line as usize - 1];
            let column = HEADING
                .iter()
                .position(|h| Some(*h) == dirt.column.as_deref());
            assert_eq!(cells[column.unwrap()], dirt.found);
            match dirt.kind {
                DirtKind::MissingArea => assert_eq!(cells[3], WITHOUT_AREA),
                _ => assert_eq!(cells[3], OUTLIER),
            }
        }
        let number = |cell: &str| cell.replace(',', ".").parse::<f64>().unwrap();
        let lost = |mark: &str| {
            let cells = lines.iter().find(|cells| cells[3] == mark).unwrap();
            (number(cells[7]) - number(cells[8])) / 214.4 * 10_000.0
        };
        let neighbours = mean(&["B09", "B11", "B12"].map(lost));
        assert!(lost(OUTLIER) - neighbours > 6.0 * COUPON_SD);
    }
}
