//! What funnels catch, brought to the standards' unit: millilitres an hour per 80 cm².
//!
//! Funnels differ (100 mm: 78.5 cm², 4 in: 81.1 cm²), so mL/h as read off the cylinder
//! is not the standard's number. Which funnel and how many hours is the lab's to say;
//! nothing here assumes either.

use std::f64::consts::PI;

/// The collecting area that the standards refer to, cm².
pub const REFERENCE_AREA_CM2: f64 = 80.0;

/// Collecting area of a round funnel, cm², from its inner diameter, cm.
pub fn disc_area_cm2(diameter_cm: f64) -> f64 {
    PI / 4.0 * diameter_cm * diameter_cm
}

/// mL/h per 80 cm² from mL/h caught by a funnel of that area, cm²; NaN passes through.
///
/// ```
/// use steadyfog::quantity::collection::{disc_area_cm2, per_80_cm2};
/// // 2 mL/h in a 4-inch funnel.
/// assert!((per_80_cm2(2.0, disc_area_cm2(4.0 * 2.54)) - 1.9735).abs() < 5e-5);
/// ```
pub fn per_80_cm2(ml_per_hour: f64, area_cm2: f64) -> f64 {
    ml_per_hour * REFERENCE_AREA_CM2 / area_cm2
}

/// Far minus near over their mean, percent; NaN when either is missing or both are zero.
pub fn spread_percent(near: f64, far: f64) -> f64 {
    let mean = (near + far) / 2.0;
    if mean > 0.0 {
        (far - near) / mean * 100.0
    } else {
        f64::NAN
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn usual_funnels_have_the_areas_that_the_trade_quotes() {
        // Common practice, no source: 100 mm is 78.5 cm², 4 in is 81.1 cm².
        assert!((disc_area_cm2(10.0) - 78.54).abs() < 0.005);
        assert!((disc_area_cm2(10.16) - 81.07).abs() < 0.005);
    }

    #[test]
    fn spread_is_signed_and_missing_without_both() {
        assert!((spread_percent(1.4, 1.6) - 13.333_333).abs() < 1e-6);
        assert!((spread_percent(1.6, 1.4) + 13.333_333).abs() < 1e-6);
        assert!(spread_percent(f64::NAN, 1.4).is_nan());
        assert!(spread_percent(0.0, 0.0).is_nan());
    }
}
