//! `lab.toml`: reads it strictly into the parts of a [`Lab`].
//!
//! Every key is optional and every unknown one is an error. Logs are described in
//! `log_rule`, windows in `profile`.

use super::error::LabError;
use super::names::fold_name;
use super::profile::Library;
use super::reader::{Field, Table, Text};
use super::values::{FUNNEL_KEYS, funnel_area, gravity, hours};
use super::{
    CabinetConfig, Defaults, Lab, OwnCharacteristic, Profile, Window, compare_settings,
    instruments, log_rule, sensitivities,
};
use crate::characteristic::Characteristic;
use crate::signal::RuleSet;
use crate::time::Zone;
use std::collections::BTreeMap;
use std::sync::Arc;

const DAYS: [&str; 7] = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];

/// Fills the lab from the text of its `lab.toml`.
pub(crate) fn read(text: &Text, lab: &mut Lab) -> Result<(), LabError> {
    let document = text.parse()?;
    let root = Table::root(text, &document);
    root.only(&[
        "lab",
        "cabinet",
        "conformance",
        "log",
        "characteristic",
        "instrument",
        "sensitivity",
        "compare",
    ])?;

    lab.own = own_characteristics(&root)?;
    let own_ids: Vec<Arc<str>> = lab.own.iter().map(|o| Arc::clone(&o.id)).collect();
    let folder = lab.root.clone();
    let mut library = Library::new(&folder, &own_ids);

    let mut shipped = None;
    if let Some(table) = root.opt("lab", Field::table)? {
        read_lab(&table, lab)?;
        shipped = table.opt("profile", |f| library.named_by(f))?;
    }
    let lab_wide: Vec<Table<'_>> = root.opt("conformance", Field::table)?.into_iter().collect();
    let finish = |profile: Option<Arc<Profile>>| with_own(profile, &lab.own, &text.file);
    let default_profile = finish(library.overridden(shipped.as_ref(), &lab_wide)?);

    if let Some(field) = root.get("cabinet") {
        let mut taken = BTreeMap::new();
        for table in field.tables()? {
            let mut known = vec![
                "id",
                "name",
                "aliases",
                "profile",
                "collection_hours",
                "gravity",
                "conformance",
            ];
            known.extend(FUNNEL_KEYS);
            table.only(&known)?;
            let base = match table.opt("profile", |f| library.named_by(f))? {
                Some(profile) => Some(profile),
                None => shipped.clone(),
            };
            let mut overrides = lab_wide.clone();
            overrides.extend(table.opt("conformance", Field::table)?);
            let profile = finish(library.overridden(base.as_ref(), &overrides)?);
            lab.cabinets
                .push(read_cabinet(&table, profile, &mut taken)?);
        }
    }
    lab.default_profile = default_profile;

    if let Some(field) = root.get("log") {
        for table in field.tables()? {
            let mut rule = log_rule::read(&table)?;
            if let Some(written) = rule.cabinet.take() {
                rule.cabinet = Some(
                    lab.cabinet_id(&written)
                        .unwrap_or(fold_name(&written).into()),
                );
            }
            lab.logs.push(rule);
        }
    }
    instruments::read(&root, lab)?;
    sensitivities::read(&root, lab)?;
    compare_settings::read(&root, lab)?;
    Ok(())
}

fn read_lab(table: &Table<'_>, lab: &mut Lab) -> Result<(), LabError> {
    let mut known = vec![
        "name",
        "zone",
        "profile",
        "working_days",
        "gap_days",
        "baseline_readings",
        "rules",
        "robust",
        "alarms_per_year",
        "collection_hours",
        "gravity",
    ];
    known.extend(FUNNEL_KEYS);
    table.only(&known)?;
    if let Some(name) = table.opt("name", Field::string)? {
        lab.name = name.to_owned();
    }
    if let Some(zone) = table.opt("zone", |f| {
        Zone::named(f.string()?).map_err(|_| {
            f.bad("an IANA zone, as \"Europe/Lisbon\"; leave it out to take times as written")
        })
    })? {
        lab.zone = zone;
    }
    let settings = &mut lab.settings;
    if let Some(days) = table.opt("working_days", working_days)? {
        settings.working_days = days;
    }
    if let Some(days) = table.opt("gap_days", Field::positive)? {
        settings.gap_days = days;
    }
    if let Some(n) = table.opt("baseline_readings", |f| f.count(20))? {
        settings.baseline_readings = n;
    }
    if let Some(set) = table.opt("rules", |f| f.word(&crate::signal::NAMES))? {
        settings.rule_set = set.to_owned();
    }
    if let Some(robust) = table.opt("robust", Field::boolean)? {
        settings.robust = robust;
    }
    let rule_set = settings.rule_set.clone();
    settings.alarms_per_year = table.opt("alarms_per_year", |f| {
        let alarms = f.positive()?;
        if RuleSet::named(&rule_set).is_some_and(|set| set.watch.is_none()) {
            return Err(f.bad(format!(
                "no such key where rules = \"{rule_set}\": only the set \"steadyfog\" can be set to a rate"
            )));
        }
        Ok(alarms)
    })?;
    lab.defaults = Defaults {
        funnel_area_cm2: funnel_area(table)?,
        collection_hours: table.opt("collection_hours", hours)?,
        gravity: table.opt("gravity", |f| gravity(f, &[]))?,
    };
    Ok(())
}

fn working_days(field: &Field<'_>) -> Result<Vec<u8>, LabError> {
    let mut days = Vec::new();
    for item in field.list()? {
        let word = item.word(&DAYS)?;
        days.extend(
            DAYS.iter()
                .zip(0_u8..)
                .filter(|(d, _)| **d == word)
                .map(|(_, n)| n),
        );
    }
    days.sort_unstable();
    days.dedup();
    Ok(days)
}

/// A cabinet's name that holds at least one letter or digit.
pub(crate) fn cabinet_name(field: &Field<'_>) -> Result<Arc<str>, LabError> {
    let written = field.string()?;
    if fold_name(written).is_empty() {
        return Err(field.bad("a name with at least one letter or digit"));
    }
    Ok(written.into())
}

fn read_cabinet(
    table: &Table<'_>,
    profile: Option<Arc<Profile>>,
    taken: &mut BTreeMap<String, String>,
) -> Result<CabinetConfig, LabError> {
    let id_field = table.need("id", "the cabinet's identifier, as \"plover\"")?;
    let id: Arc<str> = fold_name(&cabinet_name(&id_field)?).into();
    let mut take = |field: &Field<'_>, what: &'static str| -> Result<(), LabError> {
        let written = field.string()?;
        let owner = format!("cabinet \"{id}\" at {}", id_field.at());
        match taken.get(&fold_name(written)) {
            Some(taken_by) if *taken_by != owner => Err(LabError::Duplicate {
                at: field.at(),
                what,
                name: crate::issue::shown(written),
                taken_by: taken_by.clone(),
            }),
            _ => {
                taken.insert(fold_name(written), owner);
                Ok(())
            }
        }
    };
    take(&id_field, "cabinet id")?;
    let name = table.opt("name", |f| {
        take(f, "cabinet name")?;
        Ok(f.string()?.to_owned())
    })?;
    let aliases = table.opt("aliases", |f| {
        for item in f.list()? {
            cabinet_name(&item)?;
            take(&item, "cabinet alias")?;
        }
        f.strings()
    })?;
    Ok(CabinetConfig {
        name: name.unwrap_or_else(|| id_field.string().unwrap_or(&id).to_owned()),
        aliases: aliases.unwrap_or_default(),
        profile,
        funnel_area_cm2: funnel_area(table)?,
        collection_hours: table.opt("collection_hours", hours)?,
        gravity: table.opt("gravity", |f| gravity(f, &[]))?,
        id,
    })
}

fn own_characteristics(root: &Table<'_>) -> Result<Vec<OwnCharacteristic>, LabError> {
    let mut own: Vec<OwnCharacteristic> = Vec::new();
    let Some(field) = root.get("characteristic") else {
        return Ok(own);
    };
    for table in field.tables()? {
        table.only(&["id", "unit", "headings", "lower", "upper"])?;
        let id_field = table.need("id", "an identifier, as \"reservoir-level\"")?;
        let id = id_field.string()?;
        if fold_name(id) != id {
            return Err(id_field.bad("lower-case words joined by hyphens, as \"reservoir-level\""));
        }
        let built_in = Characteristic::BUILT_IN.iter().any(|c| c.id() == id);
        if built_in || own.iter().any(|o| &*o.id == id) {
            return Err(LabError::Duplicate {
                at: id_field.at(),
                what: "characteristic",
                name: id.to_owned(),
                taken_by: if built_in {
                    "built in"
                } else {
                    "defined above"
                }
                .to_owned(),
            });
        }
        let lower = table.opt("lower", Field::number)?;
        let upper = table.opt("upper", Field::number)?;
        if let (Some(l), Some(u), Some(field)) = (lower, upper, table.get("upper"))
            && l >= u
        {
            return Err(field.bad("an upper limit above the lower one"));
        }
        own.push(OwnCharacteristic {
            id: id.into(),
            unit: table.opt("unit", Field::string)?.unwrap_or("").to_owned(),
            headings: table.opt("headings", Field::strings)?.unwrap_or_default(),
            lower,
            upper,
        });
    }
    Ok(own)
}

/// The profile with the windows that own characteristics carry, where it has none for them.
fn with_own(
    profile: Option<Arc<Profile>>,
    own: &[OwnCharacteristic],
    file: &str,
) -> Option<Arc<Profile>> {
    if own.iter().all(|o| o.lower.is_none() && o.upper.is_none()) {
        return profile;
    }
    let mut profile = profile.map_or_else(|| Profile::empty("lab"), |p| Profile::clone(&p));
    for o in own
        .iter()
        .filter(|o| o.lower.is_some() || o.upper.is_some())
    {
        let key = Characteristic::Own(Arc::clone(&o.id));
        profile.windows.entry(key).or_insert_with(|| Window {
            lower: o.lower,
            upper: o.upper,
            source: file.to_owned(),
            overridden: false,
        });
    }
    Some(Arc::new(profile))
}

/// The characteristic that a value of `lab.toml` names.
pub(crate) fn characteristic_in(field: &Field<'_>, lab: &Lab) -> Result<Characteristic, LabError> {
    let written = field.string()?;
    let own = lab.own.iter().map(|o| &*o.id);
    let mut ids: Vec<&str> = Characteristic::BUILT_IN.iter().map(|c| c.id()).collect();
    ids.extend(own);
    if !ids.contains(&written) {
        return Err(field.not_one_of(written, &ids));
    }
    let built_in = Characteristic::BUILT_IN.into_iter();
    let found = built_in.into_iter().find(|c| c.id() == written);
    Ok(found.unwrap_or_else(|| Characteristic::Own(written.into())))
}

/// The characteristic that a text names, for the csv files of the lab folder.
pub(crate) fn characteristic_named(
    lab: &Lab,
    written: &str,
) -> Result<Characteristic, Option<String>> {
    let folded = fold_name(written);
    let own = lab
        .own
        .iter()
        .map(|o| Characteristic::Own(Arc::clone(&o.id)));
    let all = Characteristic::BUILT_IN.into_iter().chain(own);
    let all: Vec<Characteristic> = all.collect();
    match all.iter().find(|c| c.id() == folded) {
        Some(found) => Ok(found.clone()),
        None => Err(super::error::nearest(
            written,
            all.iter().map(Characteristic::id),
        )),
    }
}
