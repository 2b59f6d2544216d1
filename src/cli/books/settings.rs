//! `settings`: how this house works, what each setting means, and who said it.

use std::path::Path;

use crate::cellar::core::moment::Moment;
use crate::cli::arguments::{Format, Reading, SettingsArguments};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::Counter;
use crate::cli::core::looks::{self, Places};
use crate::cli::reading::state_on;
use crate::cli::table::column::Column;
use crate::forms::{Filled, Mistake, PRACTICE_SET, Setting, setting_called, settings};

/// A setting, and who said it when.
struct SettingSeen {
    name: String,
    field: &'static str,
    value: String,
    usual: String,
    means: &'static str,
    by: Option<String>,
    at: Option<Moment>,
}

impl Counter<'_, '_> {
    /// Lists the settings, or sets one.
    pub(in crate::cli) fn settings(&mut self, cellar: &Path, asked: &SettingsArguments) -> Outcome {
        let place = asked.name.as_deref().map(setting_called).transpose().map_err(Complaint::Refused)?;
        match place {
            Some(at) if !asked.value.is_empty() => {
                let mut filled = Filled::new(&PRACTICE_SET);
                filled.write(at, &asked.value.join(" "));
                self.enter_form(cellar, &asked.entering, |state| {
                    filled.whats(state).map_err(|mistake: Mistake| Complaint::Refused(mistake.why))
                })
            }
            _ => self.list_settings(cellar, asked.reading, place),
        }
    }

    fn list_settings(&mut self, cellar: &Path, reading: Reading, only: Option<usize>) -> Outcome {
        self.look_into(cellar, reading, |desk, on, page| {
            let state = state_on(desk, on)?;
            let shown = settings(&state).into_iter().filter(|setting| only.is_none_or(|at| at == setting.at));
            let seen = |setting: Setting<'_>| {
                let line = setting.said.map(|said| desk.line(&said.id)).transpose()?.flatten();
                Ok(SettingSeen {
                    name: setting.field.name.to_owned(),
                    field: setting.field.key,
                    value: setting.value,
                    usual: setting.usual,
                    means: setting.field.hint,
                    by: line.map(|line| line.by.to_string()),
                    at: setting.said.map(|said| said.at),
                })
            };
            let seen = shown.map(seen).collect::<Outcome<Vec<SettingSeen>>>()?;
            page.list(&columns(), &seen, "There are no settings.")
        })?;
        if reading.format == Format::Table && only.is_none() {
            self.say_looks()?;
        }
        Ok(())
    }

    /// What is no setting of the house but a person's own.
    fn say_looks(&mut self) -> Outcome {
        let Some(file) = Places::of_this_process().file() else { return Ok(()) };
        let stands = if file.exists() { "stands in" } else { "would stand in" };
        writeln!(self.out)?;
        writeln!(
            self.out,
            "Your own looks ({}) belong to no cellar. Their file {stands} {}.",
            looks::SETTINGS.join(", "),
            file.display()
        )?;
        Ok(())
    }
}

fn columns() -> Vec<Column<SettingSeen>> {
    vec![
        Column::both("name", "setting", |it: &SettingSeen| it.name.as_str().into()),
        Column::program("field", |it: &SettingSeen| it.field.into()),
        Column::both("value", "is", |it| it.value.as_str().into()),
        Column::both("default", "default", |it| it.usual.as_str().into()),
        Column::both("set_by", "set by", |it: &SettingSeen| it.by.as_deref().into()).sparse(),
        Column::both("set_at", "on", |it: &SettingSeen| it.at.into()).sparse(),
        Column::both("means", "means", |it| it.means.into()),
    ]
}
