//! `change`: what is known of vessels is put right.

use std::path::Path;

use crate::cellar::core::fact::What;
use crate::cellar::core::state::State;
use crate::cli::arguments::ChangeArguments;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::Counter;
use crate::forms::{Filled, Mistake, NOT_KNOWN, VESSEL_CHANGED};
use crate::units::counted;

impl Counter<'_, '_> {
    /// Says what vessels are from now on.
    pub(in crate::cli) fn change(&mut self, cellar: &Path, asked: &ChangeArguments) -> Outcome {
        let mut changed = Vec::new();
        self.enter(cellar, &asked.entering, |state| {
            let whats = asked.whats(state)?;
            changed.extend(whats.iter().filter_map(|what| what.deed().subject().cloned()));
            Ok(whats)
        })?;
        let sentence = match &changed[..] {
            [label] => format!("{label} is changed. `show vessel {label}` tells it."),
            several => format!("{} are changed.", counted(several.len(), "vessel")),
        };
        self.saying.message(&sentence);
        Ok(())
    }
}

impl ChangeArguments {
    /// The facts that the words say: a field of the form each, by its name in the fact or to a person. Nothing behind the sign is not known.
    fn whats(&self, state: &State) -> Outcome<Vec<What>> {
        let mut filled = Filled::new(&VESSEL_CHANGED);
        filled.write(0, &self.vessel);
        for word in &self.fields {
            let (name, value) = word.split_once('=').ok_or_else(|| {
                Complaint::Refused(format!("'{word}' says nothing of the vessel. Write FIELD=VALUE, like topped=no."))
            })?;
            let (name, value) = (name.trim(), value.trim());
            let field = VESSEL_CHANGED.filled_in().skip(1).find(|(_, field)| [field.key, field.name].contains(&name));
            let (at, _) = field.ok_or_else(|| {
                let sentence =
                    format!("A vessel has no field '{name}'. `barrelwalk help facts` names them: vessel_registered.");
                Complaint::Refused(sentence)
            })?;
            filled.write(at, if value.is_empty() { NOT_KNOWN } else { value });
        }
        filled.whats(state).map_err(|mistake: Mistake| Complaint::Refused(mistake.why))
    }
}
