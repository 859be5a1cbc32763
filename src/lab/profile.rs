//! Profiles: the windows a standard asks for, as data files with a source a value.
//!
//! Four are shipped inside the program; a lab adds its own in `profiles/<name>.toml`,
//! in the same format, and may build on another with `based_on`. How readings are
//! judged against them is `quantity::conformance`'s.

use super::error::{LabError, nearest};
use super::reader::{Field, Table, Text, unknown_key};
use super::values::{Bound, bounds, gravity, hours};
use super::{Profile, TowerPoint, Window};
use crate::characteristic::Characteristic;
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

/// The shipped profiles: identifier and file.
const SHIPPED: [(&str, &str); 4] = [
    (
        "astm-b117-nss",
        include_str!("../../data/profiles/astm-b117-nss.toml"),
    ),
    (
        "iso-9227-nss",
        include_str!("../../data/profiles/iso-9227-nss.toml"),
    ),
    (
        "iso-9227-aass",
        include_str!("../../data/profiles/iso-9227-aass.toml"),
    ),
    (
        "iso-9227-cass",
        include_str!("../../data/profiles/iso-9227-cass.toml"),
    ),
];

/// Identifiers of the shipped profiles.
pub fn shipped() -> impl Iterator<Item = &'static str> + Clone {
    SHIPPED.iter().map(|(id, _)| *id)
}

/// A shipped profile by its identifier.
///
/// # Errors
/// [`LabError`] when the shipped file itself is broken, which the tests rule out.
pub fn shipped_profile(id: &str) -> Result<Option<Arc<Profile>>, LabError> {
    let Some((id, text)) = SHIPPED.iter().find(|(known, _)| *known == id) else {
        return Ok(None);
    };
    let mut library = Library::new(Path::new(""), &[]);
    library
        .parse(id, &Text::new(format!("{id}.toml"), text), &mut Vec::new())
        .map(Some)
}

/// Loads profiles by name, each once.
#[derive(Debug)]
pub(crate) struct Library<'a> {
    root: &'a Path,
    own: &'a [Arc<str>],
    loaded: BTreeMap<String, Arc<Profile>>,
}

impl<'a> Library<'a> {
    /// Profiles of the lab folder `root`, which may hold windows of the `own` characteristics.
    pub(crate) fn new(root: &'a Path, own: &'a [Arc<str>]) -> Library<'a> {
        Library {
            root,
            own,
            loaded: BTreeMap::new(),
        }
    }

    /// The profile that a field names.
    pub(crate) fn named_by(&mut self, field: &Field<'_>) -> Result<Arc<Profile>, LabError> {
        self.load(field, &mut Vec::new())
    }

    fn load(
        &mut self,
        field: &Field<'_>,
        within: &mut Vec<String>,
    ) -> Result<Arc<Profile>, LabError> {
        let name = field.string()?;
        if let Some(profile) = self.loaded.get(name) {
            return Ok(Arc::clone(profile));
        }
        if within.iter().any(|n| n == name) {
            return Err(field.bad("a profile that is not built on itself"));
        }
        let text = match SHIPPED.iter().find(|(id, _)| *id == name) {
            Some((id, text)) => Some(Text::new(format!("{id}.toml"), text)),
            None if is_plain_name(name) => Text::read(self.root, &format!("profiles/{name}.toml"))?,
            None => None,
        };
        let Some(text) = text else {
            let known = self.known();
            return Err(LabError::UnknownProfile {
                at: field.at(),
                name: crate::issue::shown(name),
                nearest: nearest(name, known.iter().map(String::as_str)),
                known,
            });
        };
        self.parse(name, &text, within)
    }

    /// Names of all profiles of the lab, shipped ones first.
    fn known(&self) -> Vec<String> {
        let mut own: Vec<String> = std::fs::read_dir(self.root.join("profiles"))
            .into_iter()
            .flatten()
            .filter_map(|entry| {
                let name = entry.ok()?.file_name().into_string().ok()?;
                name.strip_suffix(".toml").map(str::to_owned)
            })
            .collect();
        own.sort();
        shipped().map(str::to_owned).chain(own).collect()
    }

    fn parse(
        &mut self,
        id: &str,
        text: &Text,
        within: &mut Vec<String>,
    ) -> Result<Arc<Profile>, LabError> {
        let document = text.parse()?;
        let root = Table::root(text, &document);
        root.only(&[
            "title",
            "based_on",
            "cautions",
            "window",
            "gravity",
            "collection",
            "tower",
        ])?;
        within.push(id.to_owned());
        let mut profile = match root.get("based_on") {
            Some(field) => Profile::clone(&*self.load(&field, within)?),
            None => Profile::empty(id),
        };
        within.pop();
        profile.id = id.into();
        if let Some(title) = root.opt("title", Field::string)? {
            profile.title = title.to_owned();
        }
        if let Some(cautions) = root.opt("cautions", Field::strings)? {
            profile.cautions = cautions;
        }
        if let Some(field) = root.get("gravity") {
            profile.gravity = Some(gravity(&field, &["source"])?);
            profile.gravity_source = source_of(&field.table()?, &text.file)?;
        }
        if let Some(table) = root.opt("collection", Field::table)? {
            table.only(&["hours_min", "funnel_area_cm2", "source"])?;
            profile.collection_hours_min = table.opt("hours_min", hours)?;
            profile.funnel_area_cm2 = table.opt("funnel_area_cm2", Field::positive)?;
            profile.collection_source = source_of(&table, &text.file)?;
        }
        if let Some(table) = root.opt("tower", Field::table)? {
            read_tower(&table, &text.file, &mut profile)?;
        }
        if let Some(windows) = root.opt("window", Field::table)? {
            for field in windows.fields() {
                let characteristic = characteristic(&field, self.own)?;
                let table = field.table()?;
                table.only(keys_of(&characteristic))?;
                profile.coupon_hours = coupon_hours(&table)?.or(profile.coupon_hours);
                let window = read_window(
                    &table,
                    &characteristic,
                    profile.windows.get(&characteristic),
                    source_of(&table, &text.file)?,
                )?;
                profile.windows.insert(characteristic, window);
            }
        }
        let profile = Arc::new(profile);
        self.loaded.insert(id.to_owned(), Arc::clone(&profile));
        Ok(profile)
    }

    /// `base` (or an empty profile) under the overrides of `[conformance]` tables.
    pub(crate) fn overridden(
        &self,
        base: Option<&Arc<Profile>>,
        overrides: &[Table<'_>],
    ) -> Result<Option<Arc<Profile>>, LabError> {
        if overrides.is_empty() {
            return Ok(base.map(Arc::clone));
        }
        let mut profile = base.map_or_else(|| Profile::empty("lab"), |b| Profile::clone(b));
        for table in overrides {
            for field in table.fields() {
                override_window(&field, self.own, &mut profile)?;
            }
        }
        Ok(Some(Arc::new(profile)))
    }
}

impl Profile {
    /// A profile without windows.
    pub(crate) fn empty(id: &str) -> Profile {
        Profile {
            id: id.into(),
            title: format!("Limits of this lab ({id})"),
            windows: BTreeMap::new(),
            tower: Vec::new(),
            tower_tolerance: 2.0,
            tower_source: String::new(),
            collection_hours_min: None,
            collection_source: String::new(),
            funnel_area_cm2: None,
            gravity: None,
            gravity_source: String::new(),
            coupon_hours: None,
            cautions: Vec::new(),
        }
    }
}

/// The keys of a plain window; that of coupons also says for which exposure it holds.
fn keys_of(characteristic: &Characteristic) -> &'static [&'static str] {
    match characteristic {
        Characteristic::CouponMassLoss => &["lower", "upper", "unit", "source", "hours"],
        _ => &["lower", "upper", "unit", "source"],
    }
}

/// The exposure that a coupon window is stated for, h; only that window has the key.
fn coupon_hours(table: &Table<'_>) -> Result<Option<f64>, LabError> {
    table.opt("hours", Field::positive)
}

/// A name that stays inside `profiles/`.
fn is_plain_name(name: &str) -> bool {
    !name.is_empty() && !name.starts_with('.') && !name.contains(['/', '\\', ':', '\0'])
}

fn source_of(table: &Table<'_>, file: &str) -> Result<String, LabError> {
    Ok(table
        .opt("source", Field::string)?
        .map_or_else(|| file.to_owned(), str::to_owned))
}

fn read_window(
    table: &Table<'_>,
    characteristic: &Characteristic,
    earlier: Option<&Window>,
    source: String,
) -> Result<Window, LabError> {
    let (lower, upper) = bounds(table, characteristic)?;
    if (lower, upper) == (Bound::Unsaid, Bound::Unsaid) {
        table.need("lower", "a limit, or \"upper\", or both")?;
    }
    let lower = lower.over(earlier.and_then(|w| w.lower));
    let upper = upper.over(earlier.and_then(|w| w.upper));
    if let (Some(l), Some(u)) = (lower, upper)
        && l >= u
    {
        let field = table.get("upper").or_else(|| table.get("lower"));
        return Err(match field {
            Some(field) => field.bad(format!(
                "limits that leave room between them, not {l} to {u} {}",
                characteristic.unit()
            )),
            None => table
                .need("lower", "a limit")
                .err()
                .unwrap_or_else(|| LabError::Syntax {
                    at: table.at(),
                    message: "no limit".into(),
                }),
        });
    }
    Ok(Window {
        lower,
        upper,
        source,
        overridden: false,
    })
}

fn override_window(
    field: &Field<'_>,
    own: &[Arc<str>],
    profile: &mut Profile,
) -> Result<(), LabError> {
    let characteristic = characteristic(field, own)?;
    let table = field.table()?;
    let is_tower = characteristic == Characteristic::TowerTemperature;
    if is_tower {
        table.only(&["lower", "upper", "unit", "source", "tolerance"])?;
        if let Some(tolerance) = table.opt("tolerance", Field::positive)? {
            profile.tower_tolerance = tolerance;
            profile.tower_source = format!(
                "lab.toml sets the tolerance; table: {}",
                profile.tower_source
            );
            if table.get("lower").is_none() && table.get("upper").is_none() {
                return Ok(());
            }
        }
        // A fixed window of the lab's own takes the place of the table.
        profile.tower.clear();
    } else if characteristic == Characteristic::SpecificGravity {
        table.only(&["lower", "upper", "source", "gravity"])?;
        if let Some(field) = table.get("gravity") {
            profile.gravity = Some(gravity(&field, &[])?);
            profile.gravity_source = table.text.file.to_string();
        }
    } else {
        table.only(keys_of(&characteristic))?;
        profile.coupon_hours = coupon_hours(&table)?.or(profile.coupon_hours);
    }
    let earlier = profile.windows.get(&characteristic);
    let source = match (table.opt("source", Field::string)?, earlier) {
        (Some(source), _) => source.to_owned(),
        (None, Some(w)) if !w.overridden => format!("{}, over: {}", table.text.file, w.source),
        (None, Some(w)) => w.source.clone(),
        (None, None) => table.text.file.to_string(),
    };
    let mut window = read_window(&table, &characteristic, earlier, source)?;
    window.overridden = true;
    profile.windows.insert(characteristic, window);
    Ok(())
}

fn read_tower(table: &Table<'_>, file: &str, profile: &mut Profile) -> Result<(), LabError> {
    table.only(&["tolerance", "tolerance_source", "source", "points"])?;
    if let Some(tolerance) = table.opt("tolerance", Field::positive)? {
        profile.tower_tolerance = tolerance;
    }
    let Some(points) = table.get("points") else {
        return Ok(());
    };
    profile.tower_source = source_of(table, file)?;
    if let Some(source) = table.opt("tolerance_source", Field::string)? {
        profile.tower_source = format!("{}; tolerance: {source}", profile.tower_source);
    }
    profile.tower.clear();
    for item in points.list()? {
        let row = item.table()?;
        row.only(&["pressure_kpa", "temperature_c"])?;
        let pressure = row.need("pressure_kpa", "gauge pressure, kPa")?;
        let point = TowerPoint {
            pressure: pressure.positive()?,
            temperature: row
                .need("temperature_c", "tower temperature, °C")?
                .number()?,
        };
        if profile
            .tower
            .last()
            .is_some_and(|p| p.pressure >= point.pressure)
        {
            return Err(pressure.bad("pressures in ascending order"));
        }
        profile.tower.push(point);
    }
    if profile.tower.len() < 2 {
        return Err(points.bad("at least two points"));
    }
    Ok(())
}

/// The characteristic that a key names: a built-in or one of the lab's own.
pub(crate) fn characteristic(
    field: &Field<'_>,
    own: &[Arc<str>],
) -> Result<Characteristic, LabError> {
    let built_in = Characteristic::BUILT_IN.iter();
    if let Some(known) = built_in.clone().find(|c| c.id() == field.key) {
        return Ok(known.clone());
    }
    if let Some(id) = own.iter().find(|id| ***id == *field.key) {
        return Ok(Characteristic::Own(Arc::clone(id)));
    }
    let ids = built_in.map(Characteristic::id);
    Err(unknown_key(field, ids.chain(own.iter().map(|id| &**id))))
}

#[cfg(test)]
#[path = "profile_tests.rs"]
mod tests;
