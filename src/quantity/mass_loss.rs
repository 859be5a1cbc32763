//! What a coupon lost to corrosion, by area: g/m² from weighings and the exposed area,
//! less what cleaning alone takes off.
//!
//! ISO 9227 evaluates a cabinet by the mass that reference steel loses per unit of exposed
//! area, corrected by an unexposed specimen cleaned alike (the clause from memory). Which
//! blank belongs to which coupon is the lab folder's `coupons.csv`.

use thiserror::Error;

/// A mass on a balance, g.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Grams(pub f64);

/// An area, cm².
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct SquareCentimetres(pub f64);

/// A mass lost per area, g/m².
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct GramsPerSquareMetre(pub f64);

/// Square centimetres in a square metre.
const CM2_PER_M2: f64 = 10_000.0;
/// Square millimetres in a square centimetre.
const MM2_PER_CM2: f64 = 100.0;

/// Lightest and heaviest coupon that is believed, g: a strip of foil and a slab that no
/// laboratory balance weighs to a milligram (common practice, no source).
pub const MASS_RANGE: (f64, f64) = (0.05, 5_000.0);
/// Smallest and largest exposed area that is believed, cm² (common practice, no source).
pub const AREA_RANGE: (f64, f64) = (1.0, 5_000.0);
/// Largest loss that is believed, g/m²: 1.3 mm of steel off one face, more than the
/// reference steels of 0.8 and 1 mm have (common practice, no source).
pub const LARGEST_LOSS: f64 = 10_000.0;

/// Which faces of a flat coupon stood in the fog.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Sides {
    /// One face: length × width; back and edges are covered.
    One,
    /// Both faces and the four edges.
    #[default]
    Both,
}

/// Why weighings give no mass loss.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum MassLossError {
    /// Not a mass that a coupon has.
    #[error("{0} g is not the mass of a coupon: expected {low} to {high} g", low = MASS_RANGE.0, high = MASS_RANGE.1)]
    Mass(f64),
    /// Not an area that a coupon has.
    #[error("{0} cm² is not the exposed area of a coupon: expected {low} to {high} cm²", low = AREA_RANGE.0, high = AREA_RANGE.1)]
    Area(f64),
    /// Heavier after cleaning than before exposure.
    #[error(
        "the coupon weighs {0:.4} g more after cleaning than before exposure: the weighings are swapped, belong to two coupons, or rust was left on it"
    )]
    Gained(f64),
    /// More than such a coupon has to lose.
    #[error(
        "a loss of {0:.0} g/m² is more than {LARGEST_LOSS} g/m², which no steel coupon has to lose"
    )]
    TooLarge(f64),
    /// The blank lost more than the coupon.
    #[error(
        "the coupon lost {loss:.2} g/m² and the blank {blank:.2} g/m²: cleaning alone cannot take off more than corrosion and cleaning together"
    )]
    BlankAbove {
        /// Loss of the coupon, g/m².
        loss: f64,
        /// Loss of the blank, g/m².
        blank: f64,
    },
}

/// The exposed area of a flat coupon of these dimensions, mm.
///
/// [`Sides::One`] is length × width and needs no thickness; [`Sides::Both`] adds the
/// other face and the edges. No range is checked here; [`mass_loss`] does.
///
/// ```
/// use steadyfog::quantity::mass_loss::{Sides, exposed_area};
/// // The reference specimen of ISO 9227, 150 × 70 × 1 mm with its back covered, and bare.
/// assert!((exposed_area(150.0, 70.0, 1.0, Sides::One).0 - 105.0).abs() < 1e-9);
/// assert!((exposed_area(150.0, 70.0, 1.0, Sides::Both).0 - 214.4).abs() < 1e-9);
/// ```
pub fn exposed_area(
    length_mm: f64,
    width_mm: f64,
    thickness_mm: f64,
    sides: Sides,
) -> SquareCentimetres {
    let face = length_mm * width_mm;
    let mm2 = match sides {
        Sides::One => face,
        Sides::Both => 2.0 * (face + (length_mm + width_mm) * thickness_mm),
    };
    SquareCentimetres(mm2 / MM2_PER_CM2)
}

/// The mass lost per exposed area, cleaning included.
///
/// # Errors
/// [`MassLossError`] for masses and areas that no coupon has (NaN among them), a gain,
/// and a loss above [`LARGEST_LOSS`].
///
/// ```
/// use steadyfog::quantity::mass_loss::{Grams, SquareCentimetres, mass_loss};
/// // 0.735 g off 105 cm² is the nominal 70 g/m² of ISO 9227 after 48 h.
/// let loss = mass_loss(Grams(82.500), Grams(81.765), SquareCentimetres(105.0));
/// assert!(loss.is_ok_and(|l| (l.0 - 70.0).abs() < 1e-9));
/// ```
pub fn mass_loss(
    before: Grams,
    after: Grams,
    area: SquareCentimetres,
) -> Result<GramsPerSquareMetre, MassLossError> {
    let within = |value: f64, (low, high): (f64, f64)| (low..=high).contains(&value);
    for mass in [before.0, after.0] {
        if !within(mass, MASS_RANGE) {
            return Err(MassLossError::Mass(mass));
        }
    }
    // Subtracting two decimals leaves binary noise: a thousandth of the finest balance's
    // step (0.01 mg) is no gain.
    let lost = before.0 - after.0;
    if lost < -1e-8 {
        return Err(MassLossError::Gained(-lost));
    }
    per_area(Grams(lost.max(0.0)), area)
}

/// A loss on the balance per area: of a coupon, or of a blank that `coupons.csv` gives in g.
///
/// # Errors
/// [`MassLossError`] for an area that no coupon has, a negative loss and one above
/// [`LARGEST_LOSS`].
pub fn per_area(
    Grams(lost): Grams,
    SquareCentimetres(area): SquareCentimetres,
) -> Result<GramsPerSquareMetre, MassLossError> {
    if !(AREA_RANGE.0..=AREA_RANGE.1).contains(&area) {
        return Err(MassLossError::Area(area));
    }
    if lost.is_nan() || lost < 0.0 {
        return Err(MassLossError::Gained(-lost));
    }
    let loss = lost / area * CM2_PER_M2;
    if loss > LARGEST_LOSS {
        return Err(MassLossError::TooLarge(loss));
    }
    Ok(GramsPerSquareMetre(loss))
}

/// A loss less the blank's.
///
/// # Errors
/// [`MassLossError::BlankAbove`] when the blank lost more.
pub fn blank_corrected(
    GramsPerSquareMetre(loss): GramsPerSquareMetre,
    GramsPerSquareMetre(blank): GramsPerSquareMetre,
) -> Result<GramsPerSquareMetre, MassLossError> {
    if blank > loss {
        return Err(MassLossError::BlankAbove { loss, blank });
    }
    Ok(GramsPerSquareMetre(loss - blank))
}

/// Standard uncertainty of a mass loss from its balance and its area, g/m².
///
/// Two weighings with the standard uncertainty `balance`, taken as independent, and a
/// relative standard uncertainty of the area; the parts add in squares (GUM, JCGM
/// 100:2008, 5.1.2, from memory). Neither cleaning nor the steel's own scatter is in it.
///
/// # Errors
/// [`MassLossError::Area`] for an area that no coupon has.
///
/// ```
/// use steadyfog::quantity::mass_loss::*;
/// let u = uncertainty(GramsPerSquareMetre(70.0), Grams(0.0005), SquareCentimetres(105.0), 0.005);
/// // √2 · 0.5 mg over 105 cm² is 0.067 g/m²; half a percent of 70 is 0.35.
/// assert!(u.is_ok_and(|u| (u.0 - 0.3564).abs() < 1e-4));
/// ```
pub fn uncertainty(
    GramsPerSquareMetre(loss): GramsPerSquareMetre,
    Grams(balance): Grams,
    SquareCentimetres(area): SquareCentimetres,
    area_share: f64,
) -> Result<GramsPerSquareMetre, MassLossError> {
    if !(AREA_RANGE.0..=AREA_RANGE.1).contains(&area) {
        return Err(MassLossError::Area(area));
    }
    let weighing = std::f64::consts::SQRT_2 * balance / area * CM2_PER_M2;
    Ok(GramsPerSquareMetre(weighing.hypot(area_share * loss)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(before: f64, after: f64, area: f64) -> Result<f64, MassLossError> {
        mass_loss(Grams(before), Grams(after), SquareCentimetres(area)).map(|l| l.0)
    }

    #[test]
    fn panel_losses_of_b117_come_out_by_area() {
        // ASTM B117 X3 (from memory): 0.8170 g a panel of 76 × 127 mm in 48 h; per one face
        // our own conversion gives 84.65 g/m².
        let face = exposed_area(127.0, 76.0, 0.8, Sides::One);
        let loss = per_area(Grams(0.8170), face).unwrap();
        assert!((loss.0 - 84.65).abs() < 0.005, "{loss:?}");
    }

    #[test]
    fn what_no_coupon_has_is_refused() {
        assert_eq!(of(0.0, 0.0, 105.0), Err(MassLossError::Mass(0.0)));
        assert_eq!(of(82.0, 9e9, 105.0), Err(MassLossError::Mass(9e9)));
        assert!(of(f64::NAN, 81.0, 105.0).is_err() && of(82.0, f64::INFINITY, 105.0).is_err());
        for area in [0.0, -105.0, 1.05e6] {
            assert_eq!(of(82.0, 81.0, area), Err(MassLossError::Area(area)));
        }
        assert!(of(82.0, 81.0, f64::NAN).is_err());
        let gained = of(81.0, 82.0, 105.0).unwrap_err().to_string();
        assert!(gained.contains("1.0000 g more after cleaning"), "{gained}");
        // 70 g off a hand's width: the area is in m² or dm², or a digit is missing.
        assert!(matches!(
            of(82.0, 2.0, 50.0),
            Err(MassLossError::TooLarge(_))
        ));
        assert!(per_area(Grams(f64::NAN), SquareCentimetres(105.0)).is_err());
    }

    #[test]
    fn no_loss_at_all_is_a_loss_of_zero() {
        assert_eq!(of(82.3, 82.3, 105.0), Ok(0.0));
    }

    #[test]
    fn a_blank_is_taken_off_and_never_more_than_there_is() {
        let g = GramsPerSquareMetre;
        assert_eq!(blank_corrected(g(70.0), g(1.5)), Ok(g(68.5)));
        assert_eq!(blank_corrected(g(1.5), g(1.5)), Ok(g(0.0)));
        let above = blank_corrected(g(1.0), g(1.5)).unwrap_err().to_string();
        assert!(
            above.contains("lost 1.00 g/m² and the blank 1.50 g/m²"),
            "{above}"
        );
    }
}
