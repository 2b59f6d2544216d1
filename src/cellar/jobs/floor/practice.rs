//! Practice: how this house works, where the trade leaves a choice.

use std::sync::Arc;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::room::in_range;
use crate::cellar::core::fact::{FactId, Stamp};
use crate::cellar::core::job::Job;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::State;
use crate::cellar::jobs::finish::checklist::OpenItems;
use crate::reckon::acid_unit::AcidUnit;
use crate::reckon::label_share::Rules;
use crate::reckon::sulfur::Model;

/// The fact `practice_set`: how this house works from here on. What is not said stays as it was.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct PracticeSet {
    /// By which model molecular sulfur dioxide is reckoned.
    #[serde(default)]
    pub so2_model: Option<Model>,
    /// The molecular sulfur dioxide that is wanted.
    #[serde(default)]
    pub molecular_so2_mg_l: Option<f64>,
    /// Whose rules labels and limits are held against.
    #[serde(default)]
    pub rules: Option<Rules>,
    /// Days after which empty wood is sulfured again.
    #[serde(default)]
    pub sulfuring_days: Option<u32>,
    /// Days for which a soaking holds the staves tight.
    #[serde(default)]
    pub soaking_days: Option<u32>,
    /// Days after which lees that are stirred are stirred again.
    #[serde(default)]
    pub stirring_days: Option<u32>,
    /// Days after which the gas over a wine is looked at again.
    #[serde(default)]
    pub blanket_days: Option<u32>,
    /// The volatile acidity above which a wine is suspect.
    #[serde(default)]
    pub va_alarm_g_l: Option<f64>,
    /// By how much volatile acidity rises within 120 days where it is called rising.
    #[serde(default)]
    pub va_rise_g_l: Option<f64>,
    /// To how much it has come then at least.
    #[serde(default)]
    pub va_risen_g_l: Option<f64>,
    /// The sugar up to which a wine is dry.
    #[serde(default)]
    pub dry_g_l: Option<f64>,
    /// The malic acid up to which malolactic fermentation is done.
    #[serde(default)]
    pub malic_done_g_l: Option<f64>,
    /// The most dissolved oxygen at bottling.
    #[serde(default)]
    pub most_oxygen_mg_l: Option<f64>,
    /// The most turbidity at bottling.
    #[serde(default)]
    pub most_turbidity_ntu: Option<f64>,
    /// What the open items of a checklist do to a run.
    #[serde(default)]
    pub checklist: Option<OpenItems>,
    /// Whether a plain number that is typed in the aisle is a label, never litres.
    #[serde(default)]
    pub labels_are_numbers: Option<bool>,
    /// As which acid titratable and volatile acidity are given where nobody says it.
    #[serde(default)]
    pub acid_unit: Option<AcidUnit>,
}

/// By which fact a setting was said last, and when.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SettingSaid {
    /// The fact.
    pub id: FactId,
    /// When it was said.
    pub at: Moment,
}

impl PracticeSet {
    /// The settings that it says, by the names of its fields.
    fn says(&self) -> impl Iterator<Item = String> {
        let fields = match serde_json::to_value(self) {
            Ok(serde_json::Value::Object(fields)) => fields,
            _ => serde_json::Map::new(),
        };
        fields.into_iter().filter(|(_, value)| !value.is_null()).map(|(name, _)| name)
    }
}

/// How this house works.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Practice {
    /// By which model molecular sulfur dioxide is reckoned.
    pub so2_model: Model,
    /// The molecular sulfur dioxide that is wanted, mg/L.
    pub molecular_so2_mg_l: f64,
    /// Whose rules labels and limits are held against; those of both sides where the house has not said.
    pub rules: Option<Rules>,
    /// Days after which empty wood is sulfured again.
    pub sulfuring_days: u32,
    /// Days for which a soaking holds the staves tight.
    pub soaking_days: u32,
    /// Days after which lees that are stirred are stirred again.
    pub stirring_days: u32,
    /// Days after which the gas over a wine is looked at again.
    pub blanket_days: u32,
    /// The volatile acidity above which a wine is suspect, g/L as acetic acid.
    pub va_alarm_g_l: f64,
    /// By how much volatile acidity rises within 120 days where it is called rising, g/L as acetic acid.
    pub va_rise_g_l: f64,
    /// To how much it has come then at least, g/L as acetic acid.
    pub va_risen_g_l: f64,
    /// The sugar up to which a wine is dry, g/L.
    pub dry_g_l: f64,
    /// The malic acid up to which malolactic fermentation is done, g/L.
    pub malic_done_g_l: f64,
    /// The most dissolved oxygen at bottling, mg/L.
    pub most_oxygen_mg_l: f64,
    /// The most turbidity at bottling, NTU; by the colour of the wine where the house has not said.
    pub most_turbidity_ntu: Option<f64>,
    /// What the open items of a checklist do to a run.
    pub checklist: OpenItems,
    /// Whether a plain number that is typed in the aisle is a label, never litres: those want a point, a comma or a unit.
    #[serde(default)]
    pub labels_are_numbers: bool,
    /// As which acid titratable and volatile acidity are given where nobody says it: both as sulfuric, or each as its own, tartaric and acetic, as they
    /// are kept. None where the house has not said.
    #[serde(default)]
    pub acid_unit: Option<AcidUnit>,
}

/// What litres want where plain numbers are labels.
pub const LITRES_WANT: &str = "Plain numbers are labels here: litres want a point, a comma or a unit, like 1.8 or 2 L.";
/// No plain number above it is taken for litres.
const MOST_LIKE_LITRES: u16 = 999;

/// A label that may be read as litres on the floor.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("Labels like {0} are read as litres on the floor.")]
pub struct LikeLitres(Label);

impl State {
    /// What is to be said, once, of vessels that come in under a number that may be read as litres on the floor; none where that is not so, or was so
    /// before.
    #[must_use]
    pub fn like_litres<'a>(&self, mut coming: impl Iterator<Item = &'a Label>) -> Option<LikeLitres> {
        let is_like = |label: &Label| {
            let number: Option<u16> = label.as_str().parse().ok().filter(|_| !label.as_str().starts_with(['0', '+']));
            number.is_some_and(|number| number <= MOST_LIKE_LITRES)
        };
        if self.practice.labels_are_numbers {
            return None;
        }
        let first = coming.find(|label| is_like(label))?;
        let was_said = self.vessels.iter().any(|(_, vessel)| is_like(&vessel.label));
        (!was_said).then(|| LikeLitres(first.clone()))
    }
}

/// Common practice: 0.5 to 0.8 mg/L molecular is wanted, the lower end for reds; empty wood is sulfured again every four
/// to seven weeks; a soaking is good for a few days; lees that are stirred are stirred every one or two weeks; the gas over a tank that is
/// not full is looked at every week; a wine is dry to 2 g/L of sugar, its malolactic fermentation done at 0.3 g/L of malic acid, and it goes into the
/// bottle with 1 mg/L of oxygen at most. Volatile acidity is called rising from 0.15 g/L on, three times what two tests of one wine differ by (our
/// choice), and not below 0.6, where a young wine rises while it ferments its malic acid and from where on acetic acid is noticed. A wine tastes sour of acetic acid from 0.90 g/L on (Ribéreau-Gayon and
/// others, Handbook of Enology, volume 2), well below what the law leaves (1.20 in EU reds, 1.4 in US reds).
impl Practice {
    /// Whose rules they are, in a word.
    #[must_use]
    pub const fn rules_word(&self) -> &'static str {
        match self.rules {
            Some(rules) => rules.word(),
            None => "both",
        }
    }

    /// Whose limits a wine is held against: the house's, or those of both sides where it has not said.
    #[must_use]
    pub const fn sides(&self) -> &'static [Rules] {
        match self.rules {
            Some(Rules::Eu) => &[Rules::Eu],
            Some(Rules::Us) => &[Rules::Us],
            None => &[Rules::Eu, Rules::Us],
        }
    }
}

impl Default for Practice {
    fn default() -> Practice {
        Practice {
            so2_model: Model::default(),
            molecular_so2_mg_l: 0.5,
            rules: None,
            sulfuring_days: 35,
            soaking_days: 3,
            stirring_days: 14,
            blanket_days: 7,
            va_alarm_g_l: 0.90,
            va_rise_g_l: 0.15,
            va_risen_g_l: 0.60,
            dry_g_l: 2.0,
            malic_done_g_l: 0.3,
            most_oxygen_mg_l: 1.0,
            most_turbidity_ntu: None,
            checklist: OpenItems::default(),
            labels_are_numbers: false,
            acid_unit: None,
        }
    }
}

impl Job for PracticeSet {
    type Ready = ();

    fn ready(&self, _state: &State) -> Result<(), Refusal> {
        in_range("Molecular SO2 in mg/L", self.molecular_so2_mg_l, 0.1, 2.0)?;
        in_range("Days between two sulfurings", self.sulfuring_days.map(f64::from), 1.0, 365.0)?;
        in_range("An alarm of volatile acidity in g/L", self.va_alarm_g_l, 0.1, 3.0)?;
        in_range("A rise of volatile acidity in g/L", self.va_rise_g_l, 0.05, 1.0)?;
        in_range("A volatile acidity that has risen in g/L", self.va_risen_g_l, 0.1, 3.0)?;
        in_range("Sugar of a dry wine in g/L", self.dry_g_l, 0.5, 9.0)?;
        in_range("Malic acid that is left in g/L", self.malic_done_g_l, 0.05, 1.0)?;
        in_range("Dissolved oxygen at bottling in mg/L", self.most_oxygen_mg_l, 0.1, 5.0)?;
        in_range("Turbidity at bottling in NTU", self.most_turbidity_ntu, 0.1, 20.0)?;
        in_range("Days that a soaking holds", self.soaking_days.map(f64::from), 1.0, 60.0)?;
        in_range("Days between two stirrings", self.stirring_days.map(f64::from), 1.0, 365.0)?;
        in_range("Days that gas is left over wine", self.blanket_days.map(f64::from), 1.0, 365.0)?;
        if *self == PracticeSet::default() { Err(Refusal::NothingSet) } else { Ok(()) }
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, (): ()) {
        let said = Arc::make_mut(&mut state.settings_said);
        for name in self.says() {
            said.insert(name.into(), SettingSaid { id: stamp.id.clone(), at: stamp.at });
        }
        let before = state.practice;
        state.practice = Practice {
            so2_model: self.so2_model.unwrap_or(before.so2_model),
            molecular_so2_mg_l: self.molecular_so2_mg_l.unwrap_or(before.molecular_so2_mg_l),
            rules: self.rules.or(before.rules),
            sulfuring_days: self.sulfuring_days.unwrap_or(before.sulfuring_days),
            soaking_days: self.soaking_days.unwrap_or(before.soaking_days),
            stirring_days: self.stirring_days.unwrap_or(before.stirring_days),
            blanket_days: self.blanket_days.unwrap_or(before.blanket_days),
            va_alarm_g_l: self.va_alarm_g_l.unwrap_or(before.va_alarm_g_l),
            va_rise_g_l: self.va_rise_g_l.unwrap_or(before.va_rise_g_l),
            va_risen_g_l: self.va_risen_g_l.unwrap_or(before.va_risen_g_l),
            dry_g_l: self.dry_g_l.unwrap_or(before.dry_g_l),
            malic_done_g_l: self.malic_done_g_l.unwrap_or(before.malic_done_g_l),
            most_oxygen_mg_l: self.most_oxygen_mg_l.unwrap_or(before.most_oxygen_mg_l),
            most_turbidity_ntu: self.most_turbidity_ntu.or(before.most_turbidity_ntu),
            checklist: self.checklist.unwrap_or(before.checklist),
            labels_are_numbers: self.labels_are_numbers.unwrap_or(before.labels_are_numbers),
            acid_unit: self.acid_unit.or(before.acid_unit),
        };
    }

    fn about(&self) -> Option<&Label> {
        None
    }
}
