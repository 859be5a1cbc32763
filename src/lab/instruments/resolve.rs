//! Which instrument reads a characteristic of a cabinet, and what its reading is good for
//! once hours, funnel and temperature have had their part in it.

use super::super::Lab;
use super::super::difference::{self, Difference};
use super::super::names::fold_name;
use super::defaults::{Assumed, assumed};
use super::{COVERAGE, Identity, Instrument, InstrumentConfig, Origin, Part, Size};
use crate::characteristic::Characteristic;
use crate::issue::shown;
use crate::quantity::brine::{BrineAt, HIGHEST_CELSIUS, LOWEST_CELSIUS};
use crate::quantity::collection::{REFERENCE_AREA_CM2, per_80_cm2};
use crate::quantity::units::{Celsius, MassFraction};
use std::f64::consts::SQRT_2;
use std::sync::Arc;

/// Collection period where neither the cabinet nor its profile tells it, h: the shortest
/// that a standard asks for (ASTM B117, from memory), in which a slip of the cylinder
/// counts most.
const SHORTEST_PERIOD: f64 = 16.0;
/// The middle of every standard's window of the collection rate, mL/h per 80 cm², at which
/// the spread's uncertainty is reckoned.
const TYPICAL_RATE: f64 = 1.5;
/// The middle of the salt window, % by mass, at which the solution's thermal expansion is.
const TYPICAL_SALT: f64 = 5.0;
/// Exposed area for the balance's part in a mass loss, cm²: ISO 9227's 150 × 70 mm, back
/// covered (read for the CASS clause).
const TYPICAL_COUPON_CM2: f64 = 105.0;

impl Lab {
    /// The instrument that reads a characteristic in a cabinet: the one that `lab.toml`
    /// states for that cabinet, else the one for the whole lab, else the shipped default.
    ///
    /// Derived characteristics follow from what is read: the collection rate (near, far and
    /// mean) from cylinder, period and funnel, the spread from the same, salt from the
    /// hydrometer and its temperature, coupon mass loss from balance and area, unless the
    /// lab states them directly. `None` for a characteristic of the lab's own that no
    /// `[[instrument]]` names.
    pub fn instrument(&self, cabinet: &str, characteristic: &Characteristic) -> Option<Instrument> {
        use Characteristic as C;
        let stated = self.stated(cabinet, characteristic);
        match characteristic {
            C::CollectionNear | C::CollectionFar | C::CollectionRate => {
                // One kind of cylinder stands under all funnels.
                let family = [C::CollectionRate, C::CollectionNear, C::CollectionFar];
                let kin = family.iter().find_map(|c| self.stated(cabinet, c));
                self.catch(cabinet, characteristic, stated.or(kin))
            }
            C::CollectionSpread if stated.is_none() => self.spread(cabinet),
            C::SaltConcentration if stated.is_none() => self.salt(cabinet),
            C::CouponMassLoss if stated.is_none() => self.coupon(cabinet),
            _ => self.plain(cabinet, characteristic, stated),
        }
    }

    fn stated(&self, cabinet: &str, characteristic: &Characteristic) -> Option<&InstrumentConfig> {
        let reads = |i: &&InstrumentConfig| i.characteristics.contains(characteristic);
        let of_cabinet = |i: &&InstrumentConfig| i.cabinets.iter().any(|c| &**c == cabinet);
        let own = self.instruments.iter().filter(reads).find(of_cabinet);
        own.or_else(|| {
            let mut lab_wide = self.instruments.iter().filter(reads);
            lab_wide.find(|i| i.cabinets.is_empty())
        })
    }

    /// A stated instrument, or a default under no name.
    fn named(
        &self,
        cabinet: &str,
        characteristic: &Characteristic,
        stated: Option<&InstrumentConfig>,
        parts: Vec<Part>,
        says: String,
    ) -> Instrument {
        let identity = match stated {
            None => Identity::Unstated(
                self.root.clone(),
                Arc::from(cabinet),
                characteristic.clone(),
            ),
            Some(i) if i.travels => Identity::Travelling(fold_name(&i.id)),
            Some(i) => Identity::OfLab(self.root.clone(), fold_name(&i.id)),
        };
        Instrument {
            id: stated.map(|i| i.id.clone()),
            identity,
            origin: match stated {
                Some(_) => Origin::Stated,
                None => Origin::Default,
            },
            parts,
            says,
        }
    }

    /// A characteristic that an instrument shows directly.
    fn plain(
        &self,
        cabinet: &str,
        characteristic: &Characteristic,
        stated: Option<&InstrumentConfig>,
    ) -> Option<Instrument> {
        let (expanded, unit, says) = match stated {
            Some(i) => (i.expanded, i.unit.as_deref().unwrap_or(""), i.says()),
            None => {
                let default = assumed(characteristic.id())?;
                (default.expanded, default.unit.as_str(), default.instead())
            }
        };
        let size = size(expanded, unit, characteristic, self.unit_of(characteristic))?;
        let part = own_part("instrument", size);
        Some(self.named(cabinet, characteristic, stated, vec![part], says))
    }

    /// What a funnel catches: cylinder over period and area.
    fn catch(
        &self,
        cabinet: &str,
        characteristic: &Characteristic,
        stated: Option<&InstrumentConfig>,
    ) -> Option<Instrument> {
        let (cylinder, ml) = (assumed("cylinder")?, "mL");
        let (expanded, unit, mut says) = match stated {
            Some(i) => (i.expanded, i.unit.as_deref().unwrap_or(ml), i.says()),
            None => (
                cylinder.expanded,
                cylinder.unit.as_str(),
                cylinder.instead(),
            ),
        };
        let charted = characteristic.unit();
        let millilitres = match difference::of(unit, characteristic, charted)? {
            Difference::Millilitres(factor) => expanded * factor,
            // Stated for the rate itself or relative to it: the whole of it.
            _ => {
                let size = size(expanded, unit, characteristic, charted)?;
                let parts = vec![own_part("instrument", size)];
                return Some(self.named(cabinet, characteristic, stated, parts, says));
            }
        };
        let how = self.period_and_funnel(cabinet);
        let (period, funnel) = (assumed("collection-period")?, assumed("funnel")?);
        let volume = per_80_cm2(millilitres / how.hours, how.area_cm2) / COVERAGE;
        let parts = vec![
            own_part("cylinder", Size::Charted(volume)),
            cabinet_part(
                "period",
                Size::Share(period.expanded / how.hours / COVERAGE),
            ),
            cabinet_part(
                "funnel area",
                Size::Share(funnel.expanded / 100.0 / COVERAGE),
            ),
        ];
        says.push_str(&format!(
            "; over {} h{} in a funnel of {:.1} cm²{}, with period ± {} {} and funnel area ± {} {} \
             by default ({})",
            how.hours,
            taken(how.hours_taken),
            how.area_cm2,
            taken(how.area_taken),
            period.expanded,
            period.unit,
            funnel.expanded,
            funnel.unit,
            funnel.source,
        ));
        Some(self.named(cabinet, characteristic, stated, parts, says))
    }

    /// Far less near over their mean, percent: the two cylinders' and funnels' relative
    /// uncertainties in squares; the period is the same for both.
    fn spread(&self, cabinet: &str) -> Option<Instrument> {
        let rate = self.instrument(cabinet, &Characteristic::CollectionRate)?;
        let of_one: f64 = rate
            .parts
            .iter()
            .filter(|p| p.what != "period")
            .map(|p| (p.size.at(TYPICAL_RATE) / TYPICAL_RATE).powi(2))
            .sum();
        // The two cylinders of a check are read apart, so nothing cancels between cabinets.
        let part = cabinet_part(
            "both catches",
            Size::Charted(100.0 * SQRT_2 * of_one.sqrt()),
        );
        let says = format!(
            "{}; twice, near and far, at {TYPICAL_RATE} {}",
            rate.says,
            Characteristic::CollectionRate.unit()
        );
        Some(Instrument {
            parts: vec![part],
            says,
            ..rate
        })
    }

    /// Salt told from the hydrometer: its density and the temperature's part in it.
    fn salt(&self, cabinet: &str) -> Option<Instrument> {
        let hydrometer = self.instrument(cabinet, &Characteristic::SpecificGravity)?;
        let thermometer = assumed("gravity-temperature")?;
        let config = self.cabinet(cabinet);
        let reference = config.and_then(|c| c.gravity).or(self.defaults.gravity);
        let celsius = reference
            .and_then(|g| g.temperature)
            .filter(|t| (LOWEST_CELSIUS + 0.5..=HIGHEST_CELSIUS - 0.5).contains(t))
            .unwrap_or(25.0);
        let density = hydrometer.standard_uncertainty(1.03) * 1000.0;
        let by_temperature = expansion(celsius)? * thermometer.expanded / COVERAGE;
        let part = own_part(
            "density of the solution",
            Size::OfDensity {
                density: density.hypot(by_temperature),
                celsius,
            },
        );
        let says = format!(
            "{}; salt told from it at {celsius} °C ± {} {} ({}), with the density model's own part",
            hydrometer.says, thermometer.expanded, thermometer.unit, thermometer.source
        );
        Some(Instrument {
            parts: vec![part],
            says,
            ..hydrometer
        })
    }

    /// Mass loss: two weighings over an area.
    fn coupon(&self, cabinet: &str) -> Option<Instrument> {
        let (balance, area) = (assumed("balance")?, assumed("coupon-area")?);
        let weighings = SQRT_2 * balance.expanded / COVERAGE / TYPICAL_COUPON_CM2 * 1e4;
        let parts = vec![
            own_part("balance", Size::Charted(weighings)),
            cabinet_part("coupon area", Size::Share(area.expanded / 100.0 / COVERAGE)),
        ];
        let says = format!(
            "{}; over {TYPICAL_COUPON_CM2} cm² ± {} {} ({})",
            balance.instead(),
            area.expanded,
            area.unit,
            area.source
        );
        Some(self.named(cabinet, &Characteristic::CouponMassLoss, None, parts, says))
    }

    fn period_and_funnel(&self, cabinet: &str) -> Catch {
        let config = self.cabinet(cabinet);
        let hours = config
            .and_then(|c| c.collection_hours)
            .or(self.defaults.collection_hours);
        let area = config
            .and_then(|c| c.funnel_area_cm2)
            .or(self.defaults.funnel_area_cm2);
        let least = self
            .profile_of(cabinet)
            .and_then(|p| p.collection_hours_min);
        Catch {
            hours: hours.or(least).unwrap_or(SHORTEST_PERIOD),
            hours_taken: hours.is_none(),
            area_cm2: area.unwrap_or(REFERENCE_AREA_CM2),
            area_taken: area.is_none(),
        }
    }
}

/// Period and funnel of a cabinet, and whether `lab.toml` says them.
struct Catch {
    hours: f64,
    hours_taken: bool,
    area_cm2: f64,
    area_taken: bool,
}

fn taken(taken: bool) -> &'static str {
    if taken { " (taken)" } else { "" }
}

/// kg/m³ that a solution of 5 % by mass loses a degree.
fn expansion(celsius: f64) -> Option<f64> {
    let at = |t: f64| {
        let model = BrineAt::new(Celsius(t)).ok()?;
        let density = model
            .density(MassFraction::from_percent(TYPICAL_SALT))
            .ok()?;
        Some(density.0)
    };
    Some((at(celsius - 0.5)? - at(celsius + 0.5)?).abs())
}

fn own_part(what: &'static str, size: Size) -> Part {
    Part {
        what,
        size,
        of_instrument: true,
    }
}

fn cabinet_part(what: &'static str, size: Size) -> Part {
    Part {
        what,
        size,
        of_instrument: false,
    }
}

/// An expanded uncertainty as a standard one.
fn size(expanded: f64, unit: &str, characteristic: &Characteristic, charted: &str) -> Option<Size> {
    if unit.is_empty() {
        return Some(Size::Charted(expanded / COVERAGE));
    }
    match difference::of(unit, characteristic, charted)? {
        Difference::Charted(factor) => Some(Size::Charted(expanded * factor / COVERAGE)),
        Difference::PercentOfReading => Some(Size::Share(expanded / 100.0 / COVERAGE)),
        Difference::Millilitres(_) => None,
    }
}

impl InstrumentConfig {
    fn says(&self) -> String {
        let mut says = format!("{}: U = {}", shown(&self.id), self.expanded);
        if let Some(unit) = &self.unit {
            says.push_str(&format!(" {}", shown(unit)));
        }
        says.push_str(" (k = 2)");
        if let Some(certificate) = &self.certificate {
            says.push_str(&format!(", certificate {}", shown(certificate)));
        }
        if let Some(day) = self.calibrated {
            says.push_str(&format!(", calibrated {day}"));
        }
        says.push_str(", from lab.toml");
        says
    }
}

impl Assumed {
    fn instead(&self) -> String {
        let unit = if self.unit.is_empty() { "" } else { " " };
        format!(
            "no instrument stated in lab.toml; taken as U = {}{unit}{} (k = 2), because {} ({})",
            self.expanded, self.unit, self.says, self.source
        )
    }
}
