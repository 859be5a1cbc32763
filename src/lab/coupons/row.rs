//! One row of `coupons.csv` as a weighing: a coupon's, or a blank's.
//!
//! Everything that a row can get wrong by itself is told here; what rows say together
//! (repeats, blanks) is `together`'s.

use super::numbers::{self, Styles};
use crate::issue::Issue;
use crate::lab::Lab;
use crate::lab::listing::Row;
use crate::lab::names::fold_name;
use crate::quantity::mass_loss::{
    Grams, GramsPerSquareMetre, Sides, SquareCentimetres, exposed_area, mass_loss, per_area,
};
use crate::time::Instant;
use std::sync::Arc;

/// What may stand under `place` or `cabinet` for an unexposed coupon cleaned with the batch.
const BLANK_WORDS: [&str; 8] = [
    "blank",
    "blank-coupon",
    "blind",
    "blindprobe",
    "blindwert",
    "témoin",
    "blanco",
    "bianco",
];

/// How far an area may lie from its dimensions before one of them is a slip.
const AREA_AGREES: f64 = 0.02;

/// A row that could be read.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Weighing {
    /// The round as written, and folded for comparison.
    pub(super) round: String,
    pub(super) round_key: String,
    /// The lab as written, and folded; `None` for this lab.
    pub(super) lab: Option<String>,
    pub(super) lab_key: Option<String>,
    pub(super) specimen: Specimen,
    pub(super) coupon: String,
    /// The weighings, g.
    pub(super) before: f64,
    pub(super) after: f64,
    pub(super) area_cm2: f64,
    /// Loss with what cleaning took off.
    pub(super) loss: GramsPerSquareMetre,
    /// The blank loss that the row itself gives.
    pub(super) own_blank: Option<GramsPerSquareMetre>,
}

/// What was weighed.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Specimen {
    /// Stood in no fog.
    Blank,
    /// Stood in a cabinet.
    Exposed {
        cabinet: Arc<str>,
        place: Option<String>,
        start: Instant,
        hours: f64,
    },
}

impl Weighing {
    /// What two rows of the same coupon share.
    pub(super) fn key(&self) -> (&str, Option<&str>, &str, String) {
        let cabinet = match &self.specimen {
            Specimen::Blank => "",
            Specimen::Exposed { cabinet, .. } => cabinet,
        };
        let coupon = match fold_name(&self.coupon) {
            folded if folded.is_empty() => self.coupon.clone(),
            folded => folded,
        };
        (&self.round_key, self.lab_key.as_deref(), cabinet, coupon)
    }
}

/// Reads one row; what was kept but should be known goes to `told`.
pub(super) fn read(
    row: &Row<'_>,
    lab: &Lab,
    styles: &Styles,
    told: &mut Vec<Issue>,
) -> Result<Weighing, Box<Issue>> {
    if row.spills_over() {
        return Err(row.rejected(
            "coupon",
            "The row has more cells than the heading line.".into(),
            Some(
                "Put decimal commas in quotation marks, or delimit the file with semicolons."
                    .into(),
            ),
        ));
    }
    let round = row.cell("round");
    if round.is_empty() {
        return Err(row.rejected(
            "round",
            "Expected the round's name, as 2026-1.".into(),
            None,
        ));
    }
    let (before, after) = (
        need(row, styles, numbers::BEFORE, told)?,
        need(row, styles, numbers::AFTER, told)?,
    );
    let area = area(row, styles, told)?;
    let refused = |heading: &str| {
        let row = *row;
        let heading = heading.to_owned();
        move |e: crate::quantity::mass_loss::MassLossError| {
            row.rejected(&heading, numbers::sentence(&e.to_string()), None)
        }
    };
    let loss = mass_loss(Grams(before), Grams(after), area).map_err(refused("mass_after_g"))?;
    let own_blank = styles
        .number(row, numbers::BLANK_LOSS, told)?
        .map(|grams| per_area(Grams(grams), area))
        .transpose()
        .map_err(refused("blank_loss_g"))?;
    let (lab_written, lab_key) = of_lab(row, lab);
    let specimen = specimen(row, lab, lab_key.is_none(), styles, told)?;
    let coupon = row.cell("coupon");
    if coupon.is_empty() && specimen != Specimen::Blank {
        return Err(row.rejected("coupon", "Expected the coupon's mark, as P3.".into(), None));
    }
    Ok(Weighing {
        round: round.to_owned(),
        round_key: key_of(round),
        lab: lab_written,
        lab_key,
        specimen,
        coupon: coupon.to_owned(),
        before,
        after,
        area_cm2: area.0,
        loss,
        own_blank,
    })
}

/// A name folded, or as it stands where it holds no letter or digit.
fn key_of(written: &str) -> String {
    match fold_name(written) {
        folded if folded.is_empty() => written.to_owned(),
        folded => folded,
    }
}

/// The lab as written and folded; nothing for this one.
fn of_lab(row: &Row<'_>, lab: &Lab) -> (Option<String>, Option<String>) {
    let written = row.cell("lab");
    let folded = key_of(written);
    if written.is_empty() || folded == key_of(&lab.name) {
        return (None, None);
    }
    (Some(written.to_owned()), Some(folded))
}

fn specimen(
    row: &Row<'_>,
    lab: &Lab,
    of_this_lab: bool,
    styles: &Styles,
    told: &mut Vec<Issue>,
) -> Result<Specimen, Box<Issue>> {
    let is_blank = |heading: &str| BLANK_WORDS.contains(&fold_name(row.cell(heading)).as_str());
    if is_blank("place") || is_blank("cabinet") {
        return Ok(Specimen::Blank);
    }
    let written = row.cell("cabinet");
    let folded = fold_name(written);
    if folded.is_empty() {
        return Err(row.rejected(
            "cabinet",
            "Expected a cabinet's name, or blank for an unexposed coupon.".into(),
            None,
        ));
    }
    // Another lab's cabinet may bear the name of one of this lab's: its aliases are unknown here.
    let known = of_this_lab.then(|| lab.cabinet_id(written)).flatten();
    let hours = need(row, styles, numbers::HOURS, told)?;
    let place = row.cell("place");
    Ok(Specimen::Exposed {
        cabinet: known.unwrap_or_else(|| folded.into()),
        place: (!place.is_empty()).then(|| place.to_owned()),
        start: row.moment("start", &lab.zone)?.start,
        hours,
    })
}

/// The exposed area, by itself or from the dimensions.
fn area(
    row: &Row<'_>,
    styles: &Styles,
    told: &mut Vec<Issue>,
) -> Result<SquareCentimetres, Box<Issue>> {
    let given = styles.number(row, numbers::AREA, told)?;
    let length = styles.number(row, numbers::LENGTH, told)?;
    let width = styles.number(row, numbers::WIDTH, told)?;
    let thickness = styles.number(row, numbers::THICKNESS, told)?;
    let sides = sides(row)?;
    let reckoned = match (length, width, thickness) {
        (Some(l), Some(w), Some(t)) => Some(exposed_area(l, w, t, sides)),
        (Some(l), Some(w), None) if sides == Sides::One => Some(exposed_area(l, w, 0.0, sides)),
        _ => None,
    };
    match (given, reckoned) {
        (Some(area), Some(reckoned)) if (area / reckoned.0 - 1.0).abs() > AREA_AGREES => {
            Err(row.rejected(
                "area_cm2",
                format!(
                    "The area says {area} cm² and the dimensions {:.1} cm² ({}).",
                    reckoned.0,
                    match sides {
                        Sides::One => "one side",
                        Sides::Both => "both sides and the edges",
                    }
                ),
                Some("Write one of the two, or say under \"sides\" whether one or both stood in the fog.".into()),
            ))
        }
        (Some(area), _) => Ok(SquareCentimetres(area)),
        (None, Some(reckoned)) => Ok(reckoned),
        (None, None) => Err(no_area(row, length, width)),
    }
}

fn no_area(row: &Row<'_>, length: Option<f64>, width: Option<f64>) -> Box<Issue> {
    let problem = match (length, width) {
        (Some(_), Some(_)) => {
            "The exposed area is missing: both sides and the edges need the thickness too."
        }
        (None, None) => "The exposed area is missing: without it there is no mass loss by area.",
        _ => "The exposed area is missing: length and width are needed together.",
    };
    let hint = "Write area_cm2, or length_mm, width_mm and thickness_mm; \
                with sides one (its back covered) length and width do.";
    row.rejected("area_cm2", problem.into(), Some(hint.into()))
}

fn sides(row: &Row<'_>) -> Result<Sides, Box<Issue>> {
    match fold_name(row.cell("sides")).as_str() {
        "" | "both" | "2" | "two" => Ok(Sides::Both),
        "one" | "1" => Ok(Sides::One),
        _ => Err(row.rejected(
            "sides",
            "Expected one or both: how many faces stood in the fog.".into(),
            None,
        )),
    }
}

/// A number that must be there.
fn need(
    row: &Row<'_>,
    styles: &Styles,
    column: numbers::Column,
    told: &mut Vec<Issue>,
) -> Result<f64, Box<Issue>> {
    styles.number(row, column, told)?.ok_or_else(|| {
        row.rejected(
            column.heading,
            format!(
                "{} is missing, and no mass loss comes without it.",
                column.heading
            ),
            None,
        )
    })
}
