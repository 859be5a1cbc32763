//! `[compare]` of `lab.toml`: where the standard deviation for proficiency assessment comes
//! from, how near counts as agreeing, and reference values.
//!
//! It says and converts; scores and verdicts are decided elsewhere.

use super::error::LabError;
use super::profile;
use super::reader::{Field, Table};
use super::{Lab, Window};
use crate::characteristic::Characteristic;
use std::collections::BTreeMap;
use std::sync::Arc;

/// The share of half the conformance window that is the margin where none is set.
///
/// Ours, not published: cabinets that differ by a quarter of what the standard allows on
/// either side of its nominal value would be called alike by most who run them.
pub const DEFAULT_MARGIN_SHARE: f64 = 0.25;

/// Settings of a comparison.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CompareSettings {
    /// Where the standard deviation for proficiency assessment comes from.
    pub sigma: SigmaChoice,
    /// Margins set, in the characteristic's charted unit.
    pub margins: BTreeMap<Characteristic, f64>,
    /// Reference values set.
    pub assigned: BTreeMap<Characteristic, ReferenceValue>,
}

/// Where the standard deviation for proficiency assessment comes from (ISO 13528:2015
/// clause 8 names all three, from memory).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum SigmaChoice {
    /// Fitness for purpose: a share of the conformance window.
    #[default]
    Window,
    /// The precision of these results.
    Precision,
    /// The robust spread of the participants.
    Robust,
}

impl SigmaChoice {
    /// The word of `lab.toml`.
    pub fn id(self) -> &'static str {
        match self {
            SigmaChoice::Window => "window",
            SigmaChoice::Precision => "precision",
            SigmaChoice::Robust => "robust",
        }
    }
}

/// A reference value with its standard uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReferenceValue {
    /// Value, in the charted unit.
    pub value: f64,
    /// Standard uncertainty.
    pub u: f64,
}

/// How near counts as agreeing.
#[derive(Debug, Clone, PartialEq)]
pub struct Margin {
    /// Margin in the charted unit, above 0; `None` where none is set and no two-sided
    /// window gives one.
    pub value: Option<f64>,
    /// Where it comes from, in a sentence.
    pub says: String,
}

impl CompareSettings {
    /// The margin of a characteristic: as set, else a quarter of half its window.
    ///
    /// ```
    /// use steadyfog::characteristic::Characteristic;
    /// use steadyfog::lab::{CompareSettings, Window};
    /// // A cabinet temperature of 35 ± 2 °C.
    /// let window = Window {
    ///     lower: Some(33.0), upper: Some(37.0), source: "ISO 9227".into(), overridden: false,
    /// };
    /// let margin = CompareSettings::default()
    ///     .margin(&Characteristic::CabinetTemperature, Some(&window));
    /// assert_eq!(margin.value, Some(0.5));
    /// ```
    pub fn margin(&self, characteristic: &Characteristic, window: Option<&Window>) -> Margin {
        if let Some(value) = self.margins.get(characteristic) {
            return Margin {
                value: Some(*value),
                says: "The margin is set in lab.toml, [compare.margin].".into(),
            };
        }
        let half = window.and_then(|w| Some((w.upper? - w.lower?) / 2.0));
        match half.filter(|h| *h > 0.0 && h.is_finite()) {
            Some(half) => Margin {
                value: Some(half * DEFAULT_MARGIN_SHARE),
                says: "The margin is a quarter of half the conformance window: this program's own \
                       choice, from no standard; set another under [compare.margin] in lab.toml."
                    .into(),
            },
            None => Margin {
                value: None,
                says: format!(
                    "There is no margin: no window with two sides gives one; set {} under \
                     [compare.margin] in lab.toml.",
                    characteristic.id()
                ),
            },
        }
    }
}

/// Fills the lab's settings of comparisons; its own characteristics must be there already.
pub(super) fn read(root: &Table<'_>, lab: &mut Lab) -> Result<(), LabError> {
    let Some(table) = root.opt("compare", Field::table)? else {
        return Ok(());
    };
    table.only(&["sigma", "margin", "assigned"])?;
    let own: Vec<Arc<str>> = lab.own.iter().map(|o| Arc::clone(&o.id)).collect();
    let mut settings = CompareSettings::default();
    if let Some(field) = table.get("sigma") {
        let all = [
            SigmaChoice::Window,
            SigmaChoice::Precision,
            SigmaChoice::Robust,
        ];
        let word = field.word(&all.map(SigmaChoice::id))?;
        if let Some(choice) = all.into_iter().find(|c| c.id() == word) {
            settings.sigma = choice;
        }
    }
    if let Some(margins) = table.opt("margin", Field::table)? {
        for field in margins.fields() {
            let characteristic = profile::characteristic(&field, &own)?;
            settings.margins.insert(characteristic, field.positive()?);
        }
    }
    if let Some(assigned) = table.opt("assigned", Field::table)? {
        for field in assigned.fields() {
            let characteristic = profile::characteristic(&field, &own)?;
            let value = reference_value(&field)?;
            settings.assigned.insert(characteristic, value);
        }
    }
    lab.compare = settings;
    Ok(())
}

fn reference_value(field: &Field<'_>) -> Result<ReferenceValue, LabError> {
    let table = field.table()?;
    table.only(&["value", "u"])?;
    let value = table.need("value", "the reference value")?.number()?;
    let u = table.need("u", "its standard uncertainty")?;
    let standard = u.number()?;
    if standard < 0.0 {
        return Err(u.bad("a standard uncertainty, 0 or more"));
    }
    Ok(ReferenceValue { value, u: standard })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lab::tests::{error, open};

    #[test]
    fn settings_read_and_have_defaults() {
        let plain = open("").unwrap().compare;
        assert_eq!(plain, CompareSettings::default());
        assert_eq!(plain.sigma, SigmaChoice::Window);
        let lab = open(
            "[[characteristic]]\nid = \"reservoir-level\"\n[compare]\nsigma = \"robust\"\n\
             [compare.margin]\nph = 0.05\nreservoir-level = 2\n\
             [compare.assigned.ph]\nvalue = 6.85\nu = 0.02\n",
        )
        .unwrap();
        assert_eq!(lab.compare.sigma, SigmaChoice::Robust);
        let own = Characteristic::Own("reservoir-level".into());
        assert_eq!(lab.compare.margins.get(&own), Some(&2.0));
        let ph = lab.compare.assigned.get(&Characteristic::Ph).unwrap();
        assert_eq!((ph.value, ph.u), (6.85, 0.02));
        let set = lab.compare.margin(&Characteristic::Ph, None);
        assert_eq!(set.value, Some(0.05));
        assert!(set.says.contains("set in lab.toml"));
    }

    #[test]
    fn slips_are_told_with_their_place() {
        assert_eq!(
            error("[compare]\nsigma = \"windw\"\n"),
            "lab.toml:2:9: \"sigma\" is \"windw\"; expected one of: window, precision, robust; did you mean \"window\"?"
        );
        assert_eq!(
            error("[compare.margin]\nphh = 0.05\n"),
            "lab.toml:2:1: unknown key \"phh\"; did you mean \"ph\"?"
        );
        assert_eq!(
            error("[compare.margin]\nph = 0\n"),
            "lab.toml:2:6: \"ph\" is 0; expected a number above 0"
        );
        assert_eq!(
            error("[compare]\nmargins = 1\n"),
            "lab.toml:2:1: unknown key \"margins\"; did you mean \"margin\"?"
        );
        assert!(error("[compare.assigned.ph]\nvalue = 6.85\n").contains("needs the key \"u\""));
        assert!(error("[compare.assigned.ph]\nvalue = 6.85\nu = -1\n").contains("0 or more"));
        assert!(error("[compare.assigned.ph]\nvalue = nan\nu = 1\n").contains("a finite number"));
    }

    #[test]
    fn the_default_margin_needs_a_window_with_two_sides() {
        let margin = |lower, upper| {
            let window = Window {
                lower,
                upper,
                source: String::new(),
                overridden: false,
            };
            CompareSettings::default().margin(&Characteristic::Ph, Some(&window))
        };
        let ph = margin(Some(6.5), Some(7.2));
        assert!((ph.value.unwrap() - 0.0875).abs() < 1e-12);
        assert!(ph.says.contains("this program's own choice"));
        assert_eq!(margin(Some(6.5), None).value, None);
        assert!(
            margin(None, None)
                .says
                .contains("set ph under [compare.margin]")
        );
    }
}
