//! Titration of the collected solution with silver nitrate, as ASTM B117's note has it:
//! 5 mL of what was caught made up to 100 mL, a 10 mL aliquot of that titrated with 0.1 N.
//!
//! Chloride is taken as sodium chloride. It says nothing of the indicator or the
//! handling of silver salts.

/// Molar mass of sodium chloride, g/mol.
const MOLAR_MASS: f64 = 58.4428;
/// Collected solution in the aliquot, mL: 5 mL in 100, of which 10.
const SAMPLE_ML: f64 = 5.0 * 10.0 / 100.0;
/// Silver nitrate, mol/L.
const NORMALITY: f64 = 0.1;

/// Millilitres of 0.1 N silver nitrate for a solution of that many grams of salt a litre.
///
/// ```
/// use steadyfog::quantity::silver_nitrate::volume_ml;
/// assert!((volume_ml(40.0) - 3.422).abs() < 5e-4);
/// ```
pub fn volume_ml(grams_per_litre: f64) -> f64 {
    grams_per_litre * SAMPLE_ML / MOLAR_MASS / NORMALITY
}

/// Grams of salt a litre of the collected solution that took that many millilitres.
pub fn grams_per_litre(volume_ml: f64) -> f64 {
    volume_ml * NORMALITY * MOLAR_MASS / SAMPLE_ML
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn b117_volumes_stand_for_4_and_6_grams_per_100_ml() {
        // ASTM B117-09, note on titration: 3.4 to 5.1 mL is acceptable (read in open text).
        for (published_ml, grams) in [(3.4, 40.0), (5.1, 60.0)] {
            assert!((volume_ml(grams) - published_ml).abs() < 0.05);
            assert!((grams_per_litre(published_ml) - grams).abs() < 0.5);
            assert!((grams_per_litre(volume_ml(grams)) - grams).abs() < 1e-12);
        }
    }
}
