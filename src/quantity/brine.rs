//! Density of water and of sodium chloride solution, and the way back from a density
//! to the salt in it.
//!
//! Water: M. Tanaka et al., Metrologia 38, 301 (2001). Brine: our fit of 13 terms to
//! the specific volumes of P.S.Z. Rogers & K.S. Pitzer, J. Phys. Chem. Ref. Data 11,
//! 15 (1982), largest residual 0.011 kg/m³, for 10 to 40 °C and up to 3 mol/kg. Good
//! sources spread by 0.05 kg/m³, so no better than 0.1 kg/m³ (about 0.014 % by mass)
//! is claimed. What a written specific gravity means is `gravity`'s.

use super::units::{Celsius, Density, MassFraction};
use thiserror::Error;

/// Lowest temperature of the brine model, °C.
pub const LOWEST_CELSIUS: f64 = 10.0;
/// Highest temperature of the brine model, °C.
pub const HIGHEST_CELSIUS: f64 = 40.0;
/// Highest mass fraction of the brine model (3 mol/kg).
pub const HIGHEST_FRACTION: f64 = 0.149;
/// What the model may be off by, kg/m³ (expanded, about 95 %).
pub const MODEL_UNCERTAINTY: f64 = 0.1;

/// Molar mass of sodium chloride, g/mol.
const MOLAR_MASS: f64 = 58.4428;

/// How far below pure water a density may lie and still be read as no salt, kg/m³:
/// ten times the model's claim, a hydrometer's smallest division.
const BELOW_WATER: f64 = 1.0;

/// Why the brine model does not answer.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum BrineError {
    /// Outside 10 to 40 °C, or not a number.
    #[error(
        "{0} °C is outside the {LOWEST_CELSIUS} to {HIGHEST_CELSIUS} °C for which the density of brine is known"
    )]
    Temperature(f64),
    /// Outside 0 to 14.9 % by mass, or not a number.
    #[error(
        "a mass fraction of {0} is outside the 0 to {HIGHEST_FRACTION} for which the density of brine is known"
    )]
    Fraction(f64),
    /// Lighter than water or heavier than the strongest brine of the model at that temperature.
    #[error(
        "{density:.1} kg/m³ is not the density of a salt solution at {celsius} °C ({lowest:.1} to {highest:.1} kg/m³)"
    )]
    Density {
        /// The density given, kg/m³.
        density: f64,
        /// Temperature, °C.
        celsius: f64,
        /// Density of water there, kg/m³.
        lowest: f64,
        /// Density of the strongest brine there, kg/m³.
        highest: f64,
    },
}

/// Density of air-free water at 101.325 kPa, kg/m³ (Tanaka 2001, 0 to 40 °C).
///
/// A plain function for use in conversions: outside 0 to 40 °C it extrapolates, NaN gives NaN.
///
/// ```
/// use steadyfog::quantity::brine::water_density;
/// assert!((water_density(25.0) - 997.0470).abs() < 5e-5);
/// ```
pub fn water_density(celsius: f64) -> f64 {
    let off_maximum = celsius - 3.983035;
    999.974950
        * (1.0
            - off_maximum * off_maximum * (celsius + 301.797) / (522_528.9 * (celsius + 69.34881)))
}

/// The brine model at one temperature: set up once, then cheap for many densities.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BrineAt {
    celsius: f64,
    water: f64,
    /// Apparent molar volume, cm³/mol, as a cubic in the square root of molality.
    apparent: [f64; 4],
    strongest: f64,
}

impl BrineAt {
    /// The model at that temperature.
    ///
    /// # Errors
    /// [`BrineError::Temperature`] outside 10 to 40 °C and for NaN.
    pub fn new(Celsius(celsius): Celsius) -> Result<BrineAt, BrineError> {
        if !(LOWEST_CELSIUS..=HIGHEST_CELSIUS).contains(&celsius) {
            return Err(BrineError::Temperature(celsius));
        }
        let u = (celsius - 25.0) / 10.0;
        let mut at = BrineAt {
            celsius,
            water: water_density(celsius),
            apparent: [
                16.551539 + u * (0.996578 + u * (-0.190876 + u * 0.013713)),
                1.865368 + u * (-0.25815 + u * (0.037613 + u * -0.002394)),
                0.05744 + u * (0.037266 + u * 0.008206),
                0.004527 + u * -0.019294,
            ],
            strongest: 0.0,
        };
        at.strongest = at.density_of(HIGHEST_FRACTION);
        Ok(at)
    }

    /// Density of a solution of that mass fraction.
    ///
    /// # Errors
    /// [`BrineError::Fraction`] outside 0 to 0.149 and for NaN.
    pub fn density(&self, MassFraction(w): MassFraction) -> Result<Density, BrineError> {
        if !(0.0..=HIGHEST_FRACTION).contains(&w) {
            return Err(BrineError::Fraction(w));
        }
        Ok(Density(self.density_of(w)))
    }

    fn density_of(&self, w: f64) -> f64 {
        let molality = 1000.0 * w / ((1.0 - w) * MOLAR_MASS);
        let s = molality.sqrt();
        let [a0, a1, a2, a3] = self.apparent;
        let apparent = a0 + s * (a1 + s * (a2 + s * a3));
        1000.0 * (1000.0 + molality * MOLAR_MASS) / (1e6 / self.water + molality * apparent)
    }

    /// The mass fraction of a solution of that density.
    ///
    /// Written in the square root s of molality the model is a polynomial in s, which
    /// Newton's method solves without further roots: four steps from the root of its
    /// first two terms reach 1e-12 everywhere in range. Up to 1 kg/m³ below water
    /// reads as no salt.
    ///
    /// # Errors
    /// [`BrineError::Density`] when no solution of the model has that density, and for NaN.
    pub fn mass_fraction(&self, Density(rho): Density) -> Result<MassFraction, BrineError> {
        if !(rho >= self.water - BELOW_WATER && rho <= self.strongest + 1e-9) {
            return Err(BrineError::Density {
                density: rho,
                celsius: self.celsius,
                lowest: self.water,
                highest: self.strongest,
            });
        }
        let constant = 1e6 * (rho / self.water - 1.0);
        if constant <= 0.0 {
            return Ok(MassFraction(0.0));
        }
        let [a0, a1, a2, a3] = self.apparent;
        let square = rho * a0 - 1000.0 * MOLAR_MASS;
        let (cube, fourth, fifth) = (rho * a1, rho * a2, rho * a3);
        let mut s = (-constant / square).sqrt();
        for _ in 0..4 {
            let value = constant + s * s * (square + s * (cube + s * (fourth + s * fifth)));
            let slope =
                s * (2.0 * square + s * (3.0 * cube + s * (4.0 * fourth + s * 5.0 * fifth)));
            s -= value / slope;
        }
        let salt = s * s * MOLAR_MASS;
        Ok(MassFraction(salt / (1000.0 + salt)))
    }

    /// Expanded uncertainty of a mass fraction read from a density whose own expanded
    /// uncertainty is `instrument` kg/m³ (both about 95 %).
    ///
    /// The instrument's and the model's 0.1 kg/m³ add in squares; both are divided by
    /// the slope of the density at that fraction (about 716 kg/m³ per unit fraction at
    /// 5 %, 25 °C, so the model alone gives 0.014 % by mass).
    pub fn fraction_uncertainty(
        &self,
        MassFraction(w): MassFraction,
        instrument: Density,
    ) -> MassFraction {
        let w = w.clamp(0.001, HIGHEST_FRACTION - 0.001);
        let slope = (self.density_of(w + 5e-4) - self.density_of(w - 5e-4)) / 1e-3;
        MassFraction(instrument.0.hypot(MODEL_UNCERTAINTY) / slope)
    }

    /// The temperature it was set up for.
    pub fn temperature(&self) -> Celsius {
        Celsius(self.celsius)
    }
}

/// The mass fraction of a solution that holds that many grams of salt a litre.
///
/// Solved by repeated substitution in w = c / ρ(t, w), which gains two digits a round.
///
/// # Errors
/// [`BrineError::Fraction`] for a negative concentration, one above the model's
/// strongest brine, and NaN.
pub fn fraction_of_grams_per_litre(at: &BrineAt, grams: f64) -> Result<MassFraction, BrineError> {
    let mut w = grams / at.water;
    for _ in 0..8 {
        w = grams / at.density(MassFraction(w))?.0;
    }
    Ok(MassFraction(w))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(text: &str) -> impl Iterator<Item = Vec<&str>> {
        text.lines()
            .filter(|l| !l.starts_with('#'))
            .skip(1)
            .map(|l| l.split(',').collect())
    }

    fn number(text: &str) -> f64 {
        text.parse().unwrap()
    }

    fn brine(t: f64) -> BrineAt {
        BrineAt::new(Celsius(t)).unwrap()
    }

    #[test]
    fn brine_follows_rogers_and_pitzer_1982() {
        let table = include_str!("../../tests/reference/brine/rogers_pitzer_1982.csv");
        let mut held = 0;
        for row in rows(table) {
            let (t, m, v) = (number(row[0]), number(row[1]), number(row[2]));
            let w = m * MOLAR_MASS / (1000.0 + m * MOLAR_MASS);
            if w > HIGHEST_FRACTION {
                continue;
            }
            let off = brine(t).density_of(w) - 1000.0 / v;
            // Asked: 0.05 over 15 to 35 °C and 0 to 10 %; the fit does better, and further out.
            assert!(off.abs() < 0.012, "{t} °C {m} mol/kg: off by {off}");
            held += 1;
        }
        assert!(held >= 25, "only {held} rows were in range");
    }

    #[test]
    fn brine_agrees_with_handbooks_that_the_fit_has_not_seen() {
        let table = include_str!("../../tests/reference/brine/handbook_points.csv");
        for row in rows(table) {
            let (t, percent, published) = (number(row[1]), number(row[2]), number(row[3]));
            let ours = brine(t)
                .density(MassFraction::from_percent(percent))
                .unwrap()
                .0;
            let agrees = (ours - published).abs() <= number(row[4]);
            // The printed 1012.2 (2 %, 20 °C) is 0.3 from all other tables: it must stay told apart.
            assert_eq!(agrees, row[5] != "outlier", "{row:?}: {ours}");
        }
    }

    #[test]
    fn water_follows_tanaka_and_kell() {
        let table = include_str!("../../tests/reference/brine/water_density.csv");
        for row in rows(table) {
            let ours = water_density(number(row[0]));
            assert!((ours - number(row[1])).abs() < 6e-5, "{row:?}");
            assert!((ours - number(row[2])).abs() < 0.004, "{row:?}");
        }
    }

    #[test]
    fn inverse_hits_the_checkpoints() {
        // Bisection of a second, compact fit to the same table; the two fits differ by up
        // to 0.027 kg/m³, which is 0.004 % by mass.
        for (rho, percent) in [(1025.5, 4.020), (1040.0, 6.046)] {
            let ours = brine(25.0).mass_fraction(Density(rho)).unwrap().percent();
            assert!((ours - percent).abs() < 0.004, "{rho}: {ours}");
        }
    }

    #[test]
    fn inverse_undoes_the_density() {
        for t in [10.0, 17.3, 25.0, 33.0, 40.0] {
            for i in 0..=149 {
                let w = f64::from(i) / 1000.0;
                let model = brine(t);
                let back = model.mass_fraction(model.density(MassFraction(w)).unwrap());
                let off = back.unwrap().0 - w;
                assert!(off.abs() < 1e-11, "{t} °C {w}: off by {off}");
            }
        }
    }

    #[test]
    fn out_of_range_is_an_error_with_the_range() {
        assert_eq!(
            BrineAt::new(Celsius(9.9)),
            Err(BrineError::Temperature(9.9))
        );
        assert!(BrineAt::new(Celsius(f64::NAN)).is_err());
        let heavy = brine(25.0).mass_fraction(Density(1150.0)).unwrap_err();
        assert!(
            heavy.to_string().contains("(997.0 to 1105.6 kg/m³)"),
            "{heavy}"
        );
        assert!(brine(25.0).mass_fraction(Density(f64::NAN)).is_err());
        assert!(brine(25.0).density(MassFraction(-0.01)).is_err());
        let none = brine(25.0).mass_fraction(Density(996.5)).unwrap();
        assert_eq!(none, MassFraction(0.0));
    }

    #[test]
    fn model_alone_is_uncertain_by_0_014_percent_by_mass() {
        let u = brine(25.0).fraction_uncertainty(MassFraction(0.05), Density(0.0));
        assert!((u.percent() - 0.014).abs() < 5e-4, "{u:?}");
    }
}
