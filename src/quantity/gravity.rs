//! From a written specific gravity to a density and the salt in the solution.
//!
//! A number near 1.03 is ambiguous by half a percent of salt until it is said at which
//! temperature it was read and whether it is a density or relative to water at which
//! temperature. Nothing here assumes either.

use super::brine::{BrineAt, BrineError, water_density};
use super::units::{Celsius, Density, MassFraction};
use crate::lab::{GravityKind, GravityReference};

/// A gravity reading understood: its temperature, density and salt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GravityRead {
    /// Temperature of the solution.
    pub temperature: Celsius,
    /// Its density.
    pub density: Density,
    /// Salt in it.
    pub fraction: MassFraction,
}

/// Density of a solution whose gravity was written as `written` at that temperature.
pub fn density_of(written: f64, kind: GravityKind, Celsius(t): Celsius) -> Density {
    Density(match kind {
        GravityKind::Density => written * 1000.0,
        GravityKind::Water(reference) => written * water_density(reference),
        GravityKind::WaterAtSame => written * water_density(t),
    })
}

/// What a gravity would be written as, for a solution of that density.
pub fn written_as(Density(rho): Density, kind: GravityKind, Celsius(t): Celsius) -> f64 {
    match kind {
        GravityKind::Density => rho / 1000.0,
        GravityKind::Water(reference) => rho / water_density(reference),
        GravityKind::WaterAtSame => rho / water_density(t),
    }
}

/// Salt in a solution whose gravity was written under a full reference.
///
/// `None` when the reference leaves the temperature open.
///
/// # Errors
/// [`BrineError`] outside the model's temperatures and densities.
pub fn fraction_of(
    written: f64,
    reference: GravityReference,
) -> Result<Option<MassFraction>, BrineError> {
    let Some(t) = reference.temperature.map(Celsius) else {
        return Ok(None);
    };
    BrineAt::new(t)?
        .mass_fraction(density_of(written, reference.relative_to, t))
        .map(Some)
}

/// Readings kept by [`GravityReader`]; a power of two.
const KEPT: usize = 64;

/// Reads many gravities. The model is set up anew only when the temperature changes,
/// and not solved again for a reading seen lately: a hydrometer has few divisions.
#[derive(Debug)]
pub struct GravityReader {
    model: Option<BrineAt>,
    seen: [Option<GravityRead>; KEPT],
}

impl Default for GravityReader {
    fn default() -> GravityReader {
        GravityReader {
            model: None,
            seen: [None; KEPT],
        }
    }
}

impl GravityReader {
    /// The salt in a solution of that density and temperature.
    ///
    /// # Errors
    /// [`BrineError`] outside the model's temperatures and densities, and for NaN.
    pub fn read(
        &mut self,
        temperature: Celsius,
        density: Density,
    ) -> Result<GravityRead, BrineError> {
        // Fibonacci hashing: the top bits of a product by 2^64/φ spread neighbours well.
        let key = density.0.to_bits() ^ temperature.0.to_bits().rotate_left(21);
        let slot = (key.wrapping_mul(0x9e37_79b9_7f4a_7c15) >> (64 - KEPT.ilog2())) as usize;
        if let Some(Some(seen)) = self.seen.get(slot)
            && seen.temperature == temperature
            && seen.density == density
        {
            return Ok(*seen);
        }
        let model = match self.model {
            Some(model) if model.temperature() == temperature => model,
            _ => *self.model.insert(BrineAt::new(temperature)?),
        };
        let read = GravityRead {
            temperature,
            density,
            fraction: model.mass_fraction(density)?,
        };
        if let Some(slot) = self.seen.get_mut(slot) {
            *slot = Some(read);
        }
        Ok(read)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn percent(written: f64, relative_to: GravityKind) -> f64 {
        let reference = GravityReference {
            temperature: Some(25.0),
            relative_to,
        };
        fraction_of(written, reference).unwrap().unwrap().percent()
    }

    #[test]
    fn the_reference_decides_how_much_salt_a_gravity_means() {
        // Own computation by a second, compact fit, rounded to 0.01 %: 1.0255 and 1.0400 at 25 °C.
        let holds = |kind, low: f64, high: f64| {
            assert!((percent(1.0255, kind) - low).abs() < 0.01, "{kind:?}");
            assert!((percent(1.0400, kind) - high).abs() < 0.01, "{kind:?}");
        };
        holds(GravityKind::Density, 4.02, 6.05);
        holds(GravityKind::Water(20.0), 3.77, 5.79);
        holds(GravityKind::WaterAtSame, 3.60, 5.62);
    }

    #[test]
    fn writing_undoes_reading() {
        for kind in [
            GravityKind::Density,
            GravityKind::Water(4.0),
            GravityKind::WaterAtSame,
        ] {
            let t = Celsius(23.0);
            let back = written_as(density_of(1.031, kind, t), kind, t);
            assert!((back - 1.031).abs() < 1e-15);
        }
    }

    #[test]
    fn a_reader_remembers_only_what_is_the_same() {
        let mut reader = GravityReader::default();
        for round in 0..2 {
            for i in 0..500 {
                let t = Celsius(20.0 + f64::from(i % 7));
                let rho = Density(1020.0 + f64::from(i) * 0.05);
                let fresh = BrineAt::new(t).unwrap().mass_fraction(rho).unwrap();
                let read = reader.read(t, rho).unwrap();
                assert_eq!(
                    (read.temperature, read.density, read.fraction),
                    (t, rho, fresh),
                    "{round}"
                );
            }
        }
        assert!(reader.read(Celsius(50.0), Density(1030.0)).is_err());
    }

    #[test]
    fn no_temperature_no_answer() {
        let open = GravityReference {
            temperature: None,
            relative_to: GravityKind::Density,
        };
        assert_eq!(fraction_of(1.03, open), Ok(None));
    }
}
