//! Units of *differences*, as instruments, sensitivities and margins are stated in:
//! 0.5 °F of a difference is 0.28 °C, whatever the scales' zero points are.
//!
//! Levels are converted elsewhere (`values` for limits, `intake::unit` for logs).

use super::values::mass_percent;
use crate::characteristic::Characteristic;
use crate::intake::unit::{Density, Temperature, Unit, Volume};

/// Grams a litre at which a difference of salt by volume becomes one by mass: the level
/// that the standards ask for.
const NOMINAL_GRAMS_PER_LITRE: f64 = 50.0;

/// What a number in a written unit is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Difference {
    /// That many of the characteristic's charted unit each.
    Charted(f64),
    /// Percent of the reading.
    PercentOfReading,
    /// That many mL of what a cylinder holds each.
    Millilitres(f64),
}

/// The meaning of a unit for differences of a characteristic, charted in `charted`;
/// `None` for a unit that does not fit.
pub(crate) fn of(unit: &str, characteristic: &Characteristic, charted: &str) -> Option<Difference> {
    use Characteristic as C;
    use Difference::{Charted, Millilitres, PercentOfReading};
    if !charted.is_empty() && unit.trim() == charted {
        return Some(Charted(1.0));
    }
    let percent = matches!(Unit::parse(unit), Some(Unit::Percent(_)));
    match (characteristic, Unit::parse(unit)?) {
        (C::CabinetTemperature | C::TowerTemperature, Unit::Temperature(scale)) => {
            Some(Charted(match scale {
                Temperature::Celsius | Temperature::Kelvin => 1.0,
                Temperature::Fahrenheit => 5.0 / 9.0,
            }))
        }
        (C::AirPressure, Unit::Pressure(pressure, _)) => {
            Some(Charted(pressure.to_kilopascal().apply(1.0)))
        }
        (C::CollectionNear | C::CollectionFar | C::CollectionRate, unit) => match unit {
            Unit::Volume(Volume::Millilitre) => Some(Millilitres(1.0)),
            Unit::Volume(Volume::Litre) => Some(Millilitres(1000.0)),
            Unit::NormalisedRate {
                volume: Volume::Millilitre,
                minutes: 60,
                area_mm2: 8000,
            } => Some(Charted(1.0)),
            _ if percent => Some(PercentOfReading),
            _ => None,
        },
        (C::AirPressure | C::CouponMassLoss, _) if percent => Some(PercentOfReading),
        (C::SpecificGravity, Unit::Density(density)) => Some(Charted(match density {
            Density::GramPerCubicCentimetre => 1.0,
            Density::KilogramPerCubicMetre => 1e-3,
        })),
        (C::SaltConcentration, Unit::MassConcentration(_)) if unit.trim() == "g/L" => {
            let c = NOMINAL_GRAMS_PER_LITRE;
            Some(Charted(
                (mass_percent(c + 1.0)? - mass_percent(c - 1.0)?) / 2.0,
            ))
        }
        _ => None,
    }
}

/// The units that fit, for an error.
pub(crate) fn fitting(characteristic: &Characteristic, charted: &str) -> String {
    use Characteristic as C;
    match characteristic {
        C::CabinetTemperature | C::TowerTemperature => "°C, °F, K (of a difference)".into(),
        C::AirPressure => "kPa, bar, psi, MPa, or % of the reading".into(),
        C::CollectionNear | C::CollectionFar | C::CollectionRate => {
            "mL (of what a cylinder holds), mL/h per 80 cm², or % of the reading".into()
        }
        C::SpecificGravity => "g/cm³, kg/m³, or no unit".into(),
        C::SaltConcentration => "% by mass, g/L".into(),
        C::CouponMassLoss => "g/m², or % of the reading".into(),
        C::Ph => "no unit: leave the key out".into(),
        _ if charted.is_empty() => "no unit: leave the key out".into(),
        _ => charted.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn charted(unit: &str, characteristic: Characteristic) -> Option<f64> {
        match of(unit, &characteristic, characteristic.unit())? {
            Difference::Charted(factor) => Some(factor),
            _ => None,
        }
    }

    #[test]
    fn a_difference_knows_no_zero_point() {
        use Characteristic as C;
        let holds = |unit: &str, of: C, factor: f64| {
            let ours = charted(unit, of).unwrap();
            assert!((ours - factor).abs() < 1e-9 * factor, "{unit}: {ours}");
        };
        holds("°F", C::TowerTemperature, 5.0 / 9.0);
        holds("K", C::CabinetTemperature, 1.0);
        holds("psi", C::AirPressure, 6.894_757_293_168_361);
        holds("bar", C::AirPressure, 100.0);
        holds("kg/m³", C::SpecificGravity, 0.001);
        holds("mL/h per 80 cm²", C::CollectionRate, 1.0);
        holds("% by mass", C::SaltConcentration, 1.0);
        holds("g/m²", C::CouponMassLoss, 1.0);
        // 1 g/L is a little less than 0.1 % by mass: 50 g/L is 4.85 %, 51 g/L 4.94 %.
        let salt = charted("g/L", C::SaltConcentration).unwrap();
        assert!((salt - 0.0936).abs() < 5e-4, "{salt}");
    }

    #[test]
    fn relative_and_volume_are_told_apart_and_misfits_refused() {
        use Characteristic as C;
        let meaning = |unit, c: C| of(unit, &c, c.unit());
        assert_eq!(
            meaning("%", C::AirPressure),
            Some(Difference::PercentOfReading)
        );
        assert_eq!(
            meaning("mL", C::CollectionRate),
            Some(Difference::Millilitres(1.0))
        );
        // A bare % of salt could be of the reading or by mass.
        assert_eq!(meaning("%", C::SaltConcentration), None);
        assert_eq!(
            meaning("%", C::CollectionSpread),
            Some(Difference::Charted(1.0))
        );
        assert_eq!(meaning("%", C::CabinetTemperature), None);
        assert_eq!(meaning("°C", C::AirPressure), None);
        assert_eq!(meaning("mL/h", C::CollectionRate), None);
        assert_eq!(meaning("\u{1b}", C::Ph), None);
    }
}
