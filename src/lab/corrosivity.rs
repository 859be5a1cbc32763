//! How corrosive a round of coupons found its cabinets: against the profile's window of
//! mass loss, and against a precision that was published.
//!
//! The window is ISO 9227's and holds for its own hours of exposure only. The precision is
//! ASTM B117's (appendix X3, from memory): a comparison of size, no verdict, since steel,
//! panel and cleaning differ. Mean and precision of the round come from elsewhere.

use super::Profile;
use super::error::LabError;
use super::reader::{Field, Table, Text};
use crate::characteristic::Characteristic;
use std::sync::LazyLock;

/// How far an exposure may be from the hours that a value is stated for and still be judged
/// by it: an hour in 48. Mass loss grows about as the hours do, so 2 % of them is 2 % of the
/// loss, far inside every window (common practice, no source).
pub const HOURS_AGREE: f64 = 0.02;

/// What a round, or a cabinet in it, found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RoundResult<'a> {
    /// Shortest exposure, h.
    pub hours_least: f64,
    /// Longest exposure, h.
    pub hours_most: f64,
    /// Mass losses of the coupons, g/m².
    pub losses: &'a [f64],
    /// Their general mean, g/m².
    pub mean: f64,
    /// Repeatability standard deviation, g/m²; `None` where it cannot be given.
    pub s_r: Option<f64>,
    /// Reproducibility standard deviation, g/m²; `None` where it cannot be given.
    pub s_reproducibility: Option<f64>,
}

impl RoundResult<'_> {
    fn stood_for(&self, hours: f64) -> bool {
        let near = |h: f64| (h / hours - 1.0).abs() <= HOURS_AGREE + 1e-12;
        near(self.hours_least) && near(self.hours_most)
    }

    fn hours(&self) -> String {
        if self.hours_least == self.hours_most {
            format!("{} h", self.hours_least)
        } else {
            format!("{} to {} h", self.hours_least, self.hours_most)
        }
    }

    fn percent(&self, spread: Option<f64>) -> Option<f64> {
        spread
            .filter(|s| s.is_finite() && self.mean > 0.0)
            .map(|s| s / self.mean * 100.0)
    }
}

/// Where a mean lies against a window.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// Below its lower limit.
    Below,
    /// Within it, limits included.
    Inside,
    /// Above its upper limit.
    Above,
    /// Not judged: no window, or stated for other hours.
    NotJudged,
}

/// A round against the window of mass loss.
#[derive(Debug, Clone, PartialEq)]
pub struct AgainstWindow {
    /// Where the mean lies.
    pub standing: Standing,
    /// Coupons outside; `None` where not judged.
    pub outside: Option<usize>,
    /// The result, or why there is none, in a sentence.
    pub says: String,
}

/// Holds a round against the profile's window of mass loss.
///
/// Judged only when every exposure lasted the window's hours within 2 %.
///
/// ```
/// use steadyfog::lab::{RoundResult, Standing, against_window, shipped_profile};
/// let losses = [66.0, 70.0, 74.0, 92.0];
/// let round = RoundResult {
///     hours_least: 48.0, hours_most: 48.5, losses: &losses, mean: 75.5,
///     s_r: None, s_reproducibility: None,
/// };
/// let iso = shipped_profile("iso-9227-nss").ok().flatten();
/// let held = against_window(iso.as_deref(), &round);
/// assert_eq!((held.standing, held.outside), (Standing::Inside, Some(1)));
/// ```
pub fn against_window(profile: Option<&Profile>, round: &RoundResult<'_>) -> AgainstWindow {
    let not_judged = |says: String| AgainstWindow {
        standing: Standing::NotJudged,
        outside: None,
        says,
    };
    let window = profile.and_then(|p| {
        let window = p.windows.get(&Characteristic::CouponMassLoss)?;
        Some((p, window))
    });
    let Some((profile, window)) = window else {
        return not_judged(match profile {
            Some(p) => format!(
                "The profile \"{}\" has no window for coupon mass loss.",
                p.title
            ),
            None => "No profile is named, so there is no window for coupon mass loss.".into(),
        });
    };
    let limits = match (window.lower, window.upper) {
        (Some(l), Some(u)) => format!("{l} to {u} g/m²"),
        (Some(l), None) => format!("at least {l} g/m²"),
        (None, Some(u)) => format!("at most {u} g/m²"),
        (None, None) => {
            return not_judged("The window for coupon mass loss has no limit.".into());
        }
    };
    let Some(hours) = profile.coupon_hours else {
        return not_judged(format!(
            "The window of {limits} does not say for how many hours of exposure it holds, so nothing \
             is judged by it: add hours to coupon-mass-loss under [conformance] in lab.toml."
        ));
    };
    if !round.stood_for(hours) {
        return not_judged(format!(
            "The window of {limits} holds for {hours} h of exposure; these coupons stood {}, so they \
             are not judged by it.",
            round.hours()
        ));
    }
    if !round.mean.is_finite() {
        return not_judged("There is no mean to hold against the window.".into());
    }
    let place = |loss: f64| {
        if window.lower.is_some_and(|l| loss < l) {
            Standing::Below
        } else if window.upper.is_some_and(|u| loss > u) {
            Standing::Above
        } else {
            Standing::Inside
        }
    };
    let standing = place(round.mean);
    let outside = round
        .losses
        .iter()
        .filter(|l| place(**l) != Standing::Inside);
    let outside = outside.count();
    let where_ = match standing {
        Standing::Below => "below",
        Standing::Above => "above",
        Standing::Inside | Standing::NotJudged => "within",
    };
    let coupons = match (outside, round.losses.len()) {
        (_, 0) => String::new(),
        (0, 1) => "; so does the one coupon".to_owned(),
        (0, n) => format!("; none of the {n} coupons lies outside"),
        (_, 1) => "; the one coupon lies outside".to_owned(),
        (1, n) => format!("; 1 of the {n} coupons lies outside"),
        (k, n) => format!("; {k} of the {n} coupons lie outside"),
    };
    let says = format!(
        "The mean of {:.1} g/m² after {} lies {where_} the window of {limits} for {hours} h{coupons} \
         ({}).",
        round.mean,
        round.hours(),
        window.source
    );
    AgainstWindow {
        standing,
        outside: Some(outside),
        says,
    }
}

/// One row of a published table of precision.
#[derive(Debug, Clone, PartialEq)]
pub struct PublishedPrecision {
    /// The kind of panel.
    pub panel: String,
    /// Hours of exposure.
    pub hours: f64,
    /// Laboratories.
    pub laboratories: usize,
    /// Mean loss, g a panel.
    pub mean: f64,
    /// Repeatability standard deviation, g a panel.
    pub s_r: f64,
    /// Reproducibility standard deviation, g a panel.
    pub s_reproducibility: f64,
    /// Repeatability limit as published, g a panel.
    pub r_limit: f64,
    /// Reproducibility limit as published, g a panel.
    pub reproducibility_limit: f64,
}

/// The shipped table.
#[derive(Debug, Clone, PartialEq, Default)]
struct PublishedTable {
    source: String,
    face_cm2: f64,
    rows: Vec<PublishedPrecision>,
}

static SHIPPED: LazyLock<PublishedTable> =
    // The tests rule out that the shipped file is broken; without rows nothing is compared.
    LazyLock::new(|| parse(include_str!("../../data/corrosivity.toml")).unwrap_or_default());

/// ASTM B117's precision of mass loss (appendix X3, from memory).
pub fn published_precision() -> &'static [PublishedPrecision] {
    &SHIPPED.rows
}

fn parse(text: &str) -> Result<PublishedTable, LabError> {
    let text = Text::new("corrosivity.toml", text);
    let document = text.parse()?;
    let root = Table::root(&text, &document);
    root.only(&["source", "panel_face_cm2", "precision"])?;
    let mut rows = Vec::new();
    for table in root.need("precision", "rows")?.tables()? {
        let number = |key| table.need(key, "a number above 0")?.positive();
        rows.push(PublishedPrecision {
            panel: table.need("panel", "its name")?.string()?.to_owned(),
            hours: number("hours")?,
            laboratories: table.need("laboratories", "how many")?.count(1)?,
            mean: number("mean_g")?,
            s_r: number("s_r_g")?,
            s_reproducibility: number("s_R_g")?,
            r_limit: number("r_g")?,
            reproducibility_limit: number("R_g")?,
        });
    }
    Ok(PublishedTable {
        source: root.need("source", "where from")?.string()?.to_owned(),
        face_cm2: root
            .need("panel_face_cm2", "an area")
            .and_then(|f: Field<'_>| f.positive())?,
        rows,
    })
}

/// A round against the published precision.
#[derive(Debug, Clone, PartialEq)]
pub struct AgainstPrecision {
    /// The round's repeatability standard deviation, percent of its mean.
    pub s_r_percent: Option<f64>,
    /// The round's reproducibility standard deviation, percent of its mean.
    pub s_reproducibility_percent: Option<f64>,
    /// Published rows for these hours; empty when there are none.
    pub rows: Vec<PublishedPrecision>,
    /// Both side by side, or why not, in a sentence.
    pub says: String,
}

/// Sets a round beside ASTM B117's precision of mass loss for the same hours.
///
/// Spreads are compared in percent of the mean, which asks for no area. It decides nothing.
pub fn against_precision(round: &RoundResult<'_>) -> AgainstPrecision {
    let rows: Vec<PublishedPrecision> = SHIPPED
        .rows
        .iter()
        .filter(|row| round.stood_for(row.hours))
        .cloned()
        .collect();
    let s_r = round.percent(round.s_r);
    let s_reproducibility = round.percent(round.s_reproducibility);
    let says = match rows.first() {
        None => format!(
            "The published precision ({}) is for 48, 96 and 168 h; these coupons stood {}, so there \
             is none to set beside theirs.",
            SHIPPED.source,
            round.hours()
        ),
        Some(first) => beside(round, first.hours, &rows, s_r, s_reproducibility),
    };
    AgainstPrecision {
        s_r_percent: s_r,
        s_reproducibility_percent: s_reproducibility,
        rows,
        says,
    }
}

fn beside(
    round: &RoundResult<'_>,
    hours: f64,
    rows: &[PublishedPrecision],
    s_r: Option<f64>,
    s_reproducibility: Option<f64>,
) -> String {
    let range = |of: &dyn Fn(&PublishedPrecision) -> f64| {
        rows.iter()
            .map(of)
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| {
                (low.min(v), high.max(v))
            })
    };
    let part = |name: &str, ours: Option<f64>, (low, high): (f64, f64)| match ours {
        None => format!("{name} cannot be given, published {low:.1} to {high:.1} %"),
        Some(s) => {
            let how = if s < low {
                "less than"
            } else if s > high {
                "more than"
            } else {
                "within"
            };
            format!("{name} is {s:.1} % of the mean, {how} the published {low:.1} to {high:.1} %")
        }
    };
    let (low, high) = range(&|row| row.mean / SHIPPED.face_cm2 * 1e4);
    format!(
        "For {hours} h, {}; {}. The published panels lost {low:.0} to {high:.0} g/m² if one face \
         was open (own conversion), these {:.0} g/m². Source: {}; {} kinds of panel, other steel \
         and cleaning: a comparison of size, no verdict.",
        part(
            "repeatability s_r",
            s_r,
            range(&|row| row.s_r / row.mean * 100.0)
        ),
        part(
            "reproducibility s_R",
            s_reproducibility,
            range(&|row| row.s_reproducibility / row.mean * 100.0)
        ),
        round.mean,
        SHIPPED.source,
        rows.len(),
    )
}

#[cfg(test)]
#[path = "corrosivity_tests.rs"]
mod tests;
