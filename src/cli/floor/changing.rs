//! `change`: what is known of a vessel is put right.

use std::path::Path;

use serde_json::{Map, Value};

use crate::cellar::core::fact::What;
use crate::cellar::jobs::floor::changing::VesselChanged;
use crate::cli::arguments::ChangeArguments;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::Counter;
use crate::units::{Volume, VolumeUnit};

impl Counter<'_, '_> {
    /// Says what a vessel is from now on.
    pub(in crate::cli) fn change(&mut self, cellar: &Path, asked: &ChangeArguments) -> Outcome {
        let changed = changed(asked)?;
        let label = changed.vessel.clone();
        self.enter(cellar, &asked.entering, |_| Ok(vec![What::VesselChanged(Box::new(changed))]))?;
        self.saying.message(&format!("{label} is changed. `show vessel {label}` tells it."));
        Ok(())
    }
}

/// The fact that the words say.
fn changed(asked: &ChangeArguments) -> Outcome<VesselChanged> {
    let mut body = Map::new();
    for word in &asked.fields {
        let (field, value) = word.split_once('=').ok_or_else(|| {
            Complaint::Refused(format!("'{word}' says nothing of the vessel. Write FIELD=VALUE, like topped=no."))
        })?;
        let (field, value) = said(field.trim(), value.trim())?;
        body.insert(field, value);
    }
    body.insert("vessel".to_owned(), asked.vessel.as_str().into());
    let named: Vec<String> = body.keys().cloned().collect();
    let changed: VesselChanged = serde_json::from_value(Value::Object(body))
        .map_err(|error| Complaint::Refused(format!("That cannot be said of a vessel: {error}.")))?;
    // What is not written out again is no field of a vessel.
    let known =
        What::VesselChanged(Box::new(changed.clone())).body().map_err(|error| Complaint::Refused(error.to_string()))?;
    match named.iter().find(|field| !known.contains_key(field.as_str())) {
        Some(field) => {
            Err(Complaint::Refused(format!("A vessel has no field '{field}'. README names them: vessel_registered.")))
        }
        None => Ok(changed),
    }
}

/// A field of the exchange format with its value: nothing is not known, yes and no are said, a capacity is litres.
fn said(field: &str, value: &str) -> Outcome<(String, Value)> {
    if field == "capacity" {
        let volume =
            Volume::parse(value, VolumeUnit::customary()).map_err(|error| Complaint::Refused(error.to_string()))?;
        return Ok(("capacity_ul".to_owned(), volume.as_ul().into()));
    }
    let is_number = !matches!(field, "cooper" | "forest" | "grain" | "toast" | "shape");
    let told = match (field, value) {
        (_, "") => Value::Null,
        ("topped" | "heads_toasted", "yes") => true.into(),
        ("topped" | "heads_toasted", "no") => false.into(),
        _ => serde_json::from_str::<Value>(value)
            .ok()
            .filter(|number| is_number && number.is_number())
            .unwrap_or_else(|| value.into()),
    };
    Ok((field.to_owned(), told))
}
