//! Where to look first when cabinets differ: hints, never verdicts.
//!
//! Common practice, no source. First the instruments, since they are the easier to exchange.

/// The hints for a characteristic; those about instruments only when two read it.
pub(super) fn look_at(characteristic: &str, two_instruments: bool) -> Vec<String> {
    let (instruments, cabinets): (Option<&str>, Option<&str>) = match characteristic {
        "collection-rate" | "collection-near" | "collection-far" => (
            Some(
                "Exchange funnels and cylinders between the cabinets for a week, and compare \
                 funnel diameters and hours of collection.",
            ),
            Some(
                "Nozzle, air pressure and saturator tower. Purge the fog before opening; the \
                 tower is hot and under pressure.",
            ),
        ),
        "collection-spread" => (
            None,
            Some("Nozzle aim, baffle, and whether specimens shade a funnel."),
        ),
        "ph" => (
            Some("Read one sample on both meters, at one temperature, in fresh buffers."),
            Some("Water quality, salt lot, and how long the solution stands before it is used."),
        ),
        "salt-concentration" | "specific-gravity" => (
            Some(
                "Read one sample with both hydrometers, and check the reference temperature of \
                 each.",
            ),
            Some("Mixing of the batch, and the tower: too cold, it makes the catch stronger."),
        ),
        "cabinet-temperature" => (
            Some("Put one calibrated thermometer beside each cabinet's own, in the exposure zone."),
            Some("Room temperature, heater, lid seal and jacket water."),
        ),
        "tower-temperature" | "air-pressure" => (
            Some("Check gauge and thermometer against a reference."),
            Some(
                "Judge tower temperature and air pressure as a pair, by the standard's table. The \
                 tower is hot and under pressure: release it before any work on it.",
            ),
        ),
        "coupon-mass-loss" => (
            None,
            Some("Coupon lot, cleaning and blanks, places in the cabinets, hours of exposure."),
        ),
        _ => (None, None),
    };
    instruments
        .filter(|_| two_instruments)
        .into_iter()
        .chain(cabinets)
        .map(str::to_owned)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::characteristic::Characteristic;

    #[test]
    fn one_meter_that_read_both_is_not_looked_at() {
        assert_eq!(look_at("ph", true).len(), 2);
        assert!(!look_at("ph", false)[0].contains("meters"));
        for characteristic in Characteristic::BUILT_IN {
            assert!(
                !look_at(characteristic.id(), false).is_empty(),
                "{characteristic}"
            );
        }
        assert!(look_at("reservoir-level", true).is_empty());
    }
}
