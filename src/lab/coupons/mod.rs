//! `coupons.csv`: what reference coupons weighed before and after their exposure, as mass
//! loss per area under the blank correction of their round and lab.
//!
//! Columns: `round`, `lab` (nothing for this lab), `cabinet`, `coupon`, `place`, `start`,
//! `hours`, `mass_before_g`, `mass_after_g`, then `area_cm2` or `length_mm`, `width_mm`
//! and `thickness_mm`, and if wanted `sides` and `blank_loss_g`. Dimensions mean both
//! faces and the edges; with `one` under `sides` they mean length × width. `blank` under
//! place or cabinet marks an unexposed coupon cleaned with the batch: the mean loss of a
//! round's and lab's blanks, by area, is taken off each of its coupons; a row's own
//! `blank_loss_g` wins. A coupon that seems to gain mass is left out and told.
//!
//! It compares nothing and judges nothing.

mod numbers;
mod row;
mod together;

#[cfg(test)]
mod hostile_tests;
#[cfg(test)]
mod tests;

use super::Lab;
use super::error::LabError;
use super::listing::Listing;
use crate::issue::{Issue, shown};
use crate::time::Instant;
use numbers::Styles;
use std::sync::Arc;

const FILE: &str = "coupons.csv";
const NEEDED: [&str; 7] = [
    "round",
    "cabinet",
    "coupon",
    "start",
    "hours",
    "mass_before_g",
    "mass_after_g",
];
const OPTIONAL: [&str; 8] = [
    "lab",
    "place",
    "area_cm2",
    "length_mm",
    "width_mm",
    "thickness_mm",
    "sides",
    "blank_loss_g",
];

/// Headings that people write for these, folded. Without its unit a heading is none of
/// them, so that ounces and inches are told and not taken for grams and millimetres.
/// Common practice, no source.
const ALSO: [(&str, &str); 62] = [
    ("runde", "round"),
    ("ringversuch", "round"),
    ("campagne", "round"),
    ("ronda", "round"),
    ("labor", "lab"),
    ("laboratory", "lab"),
    ("laboratoire", "lab"),
    ("laboratorio", "lab"),
    ("chamber", "cabinet"),
    ("kammer", "cabinet"),
    ("prüfkammer", "cabinet"),
    ("enceinte", "cabinet"),
    ("cámara", "cabinet"),
    ("panel", "coupon"),
    ("specimen", "coupon"),
    ("probe", "coupon"),
    ("prüfblech", "coupon"),
    ("éprouvette", "coupon"),
    ("probeta", "coupon"),
    ("position", "place"),
    ("location", "place"),
    ("ort", "place"),
    ("emplacement", "place"),
    ("posición", "place"),
    ("beginn", "start"),
    ("début", "start"),
    ("inicio", "start"),
    ("hours-h", "hours"),
    ("exposure-h", "hours"),
    ("duration-h", "hours"),
    ("stunden", "hours"),
    ("dauer-h", "hours"),
    ("heures", "hours"),
    ("durée-h", "hours"),
    ("horas", "hours"),
    ("initial-mass-g", "mass_before_g"),
    ("weight-before-g", "mass_before_g"),
    ("masse-vorher-g", "mass_before_g"),
    ("masse-avant-g", "mass_before_g"),
    ("masa-antes-g", "mass_before_g"),
    ("final-mass-g", "mass_after_g"),
    ("weight-after-g", "mass_after_g"),
    ("masse-nachher-g", "mass_after_g"),
    ("masse-après-g", "mass_after_g"),
    ("masa-después-g", "mass_after_g"),
    ("fläche-cm2", "area_cm2"),
    ("surface-cm2", "area_cm2"),
    ("aire-cm2", "area_cm2"),
    ("área-cm2", "area_cm2"),
    ("länge-mm", "length_mm"),
    ("longueur-mm", "length_mm"),
    ("largo-mm", "length_mm"),
    ("breite-mm", "width_mm"),
    ("largeur-mm", "width_mm"),
    ("ancho-mm", "width_mm"),
    ("dicke-mm", "thickness_mm"),
    ("épaisseur-mm", "thickness_mm"),
    ("espesor-mm", "thickness_mm"),
    ("seiten", "sides"),
    ("faces", "sides"),
    ("blindwert-g", "blank_loss_g"),
    ("perte-témoin-g", "blank_loss_g"),
];

/// One coupon's result.
#[derive(Debug, Clone, PartialEq)]
pub struct Coupon {
    /// The round, in its first spelling.
    pub round: String,
    /// The lab as written; `None` for the lab whose folder it is.
    pub lab: Option<String>,
    /// Cabinet identifier; another lab's is its written name folded.
    pub cabinet: Arc<str>,
    /// The coupon's mark.
    pub coupon: String,
    /// Where in the cabinet it stood.
    pub place: Option<String>,
    /// Start of its exposure (of the day where only a date is given).
    pub start: Instant,
    /// Hours of exposure.
    pub hours: f64,
    /// Exposed area, cm².
    pub area_cm2: f64,
    /// Mass loss, g/m², blank-corrected where `blank` is given.
    pub mass_loss: f64,
    /// What was taken off for cleaning, g/m²; `None` where there is no blank.
    pub blank: Option<f64>,
    /// Line of `coupons.csv`.
    pub line: u64,
}

/// The blank correction of one round in one lab.
#[derive(Debug, Clone, PartialEq)]
pub struct RoundBlank {
    /// The round.
    pub round: String,
    /// The lab as written; `None` for the lab whose folder it is.
    pub lab: Option<String>,
    /// Losses of its blanks, g/m², in the order of the file.
    pub blanks: Vec<f64>,
    /// Their mean, g/m²; `None` without blanks.
    pub mean: Option<f64>,
    /// Coupons corrected by that mean.
    pub by_round: u64,
    /// Coupons corrected by the `blank_loss_g` of their own row.
    pub by_row: u64,
    /// Coupons without correction.
    pub uncorrected: u64,
}

impl RoundBlank {
    fn of_lab(&self) -> String {
        self.lab
            .as_deref()
            .map_or_else(String::new, |lab| format!(" of lab \"{}\"", shown(lab)))
    }

    /// How the correction was made, in a sentence.
    pub fn says(&self) -> String {
        let coupons = |n: u64| match n {
            1 => "1 coupon".to_owned(),
            n => format!("{n} coupons"),
        };
        let mut parts = Vec::new();
        if let (Some(mean), true) = (self.mean, self.by_round > 0) {
            parts.push(match self.blanks.len() {
                1 => format!("{mean:.2} g/m² (one blank) off {}", coupons(self.by_round)),
                n => format!(
                    "{mean:.2} g/m² (mean of {n} blanks) off {}",
                    coupons(self.by_round)
                ),
            });
        }
        if self.by_row > 0 {
            parts.push(format!(
                "the row's own blank loss off {}",
                coupons(self.by_row)
            ));
        }
        if self.uncorrected > 0 {
            parts.push(format!(
                "nothing off {}, which had no blank",
                coupons(self.uncorrected)
            ));
        }
        format!(
            "Cleaning correction of round {}{}: {}.",
            shown(&self.round),
            self.of_lab(),
            parts.join("; ")
        )
    }
}

/// Reads the coupons of the lab folder into `lab`, by round, lab, cabinet and coupon.
///
/// # Errors
/// [`LabError::Unreadable`] when the file is there but cannot be read.
pub(crate) fn read(lab: &mut Lab) -> Result<(), LabError> {
    let mut issues = Vec::new();
    let listing = Listing::read_also(&lab.root, FILE, &NEEDED, &OPTIONAL, &ALSO, &mut issues)?;
    take(listing.as_ref(), lab, issues);
    Ok(())
}

fn take(listing: Option<&Listing>, lab: &mut Lab, mut issues: Vec<Issue>) {
    if let Some(listing) = listing {
        let styles = Styles::of(listing);
        let mut rows = Vec::new();
        for row in listing.rows() {
            match row::read(&row, lab, &styles, &mut issues) {
                Ok(weighing) => rows.push(together::Entry { row, weighing }),
                Err(issue) => issues.push(*issue),
            }
        }
        let rows = together::once(rows, &mut issues);
        let (mut coupons, blanks) = together::corrected(&rows, &mut issues);
        coupons.sort_by(|a, b| {
            let key = |c: &Coupon| {
                (
                    c.round.clone(),
                    c.lab.clone(),
                    Arc::clone(&c.cabinet),
                    c.coupon.clone(),
                )
            };
            key(a).cmp(&key(b))
        });
        lab.coupons = coupons;
        lab.coupon_blanks = blanks;
        issues.sort_by_key(|issue| issue.place.line);
    }
    lab.issues.append(&mut issues);
}
