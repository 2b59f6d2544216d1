//! Materials: what a word on a sack or a bottle means, to this house and to the trade.
//!
//! The trade's names stand in `reckon::material`. A house adds its own by `material_declared`; a word that neither knows is asked
//! about once, and then counts as something else until it is declared.
//!
//! **A material** is what the house says of its word (`material_declared`), else what `assets/materials.json` does; the fold writes into
//! each addition how much sulfur dioxide it was. Of a word that nobody knows, or whose strength nobody said, the wine carries the material
//! itself, so that what is declared later counts for what was added before.
//!
//! **What an unknown material is** is said in the act that names it: at the desk `--is`, on the screen a letter at the first step that
//! gives it (`tui/floor/naming.rs`, the same line as the reason against a hold). Both put `State::material_answer` before the facts of the
//! act.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::treating::Addition;
use crate::cellar::core::fact::Stamp;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::near;
use crate::cellar::core::question::Question;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::State;
use crate::cellar::jobs::floor::room::in_range;
use crate::reckon::material::{self, Class, materials, plain, ppm, smells_of_sulfur};
use crate::units::{Mass, Volume};

/// What nothing gives more of: burnt sulfur gives twice its mass.
const MOST_SO2_PCT: f64 = 200.0;

/// What a material of unknown strength is taken to give where it is judged whether so much of it can be: as much as
/// metabisulfite, parts of a million.
const USUAL_SO2_PPM: u32 = 576_000;

const MILLION: u64 = 1_000_000;

/// The fact `material_declared`: what a material is, in this house.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct MaterialDeclared {
    /// The word.
    pub material: Label,
    /// Another word for the same.
    #[serde(default)]
    pub same_as: Option<Label>,
    /// What it is added for, where it is none that has a name already.
    #[serde(default)]
    pub class: Option<Class>,
    /// The sulfur dioxide that it gives, % of its mass.
    #[serde(default)]
    pub so2_pct: Option<f64>,
}

/// A material of this house: one that it declared, or one that it used and of which nothing more is known.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HouseMaterial {
    /// The word.
    pub material: Label,
    /// What it is called where it is the same as another.
    pub name: String,
    /// What it is added for.
    pub class: Class,
    /// The sulfur dioxide that it gives, parts of a million of its mass.
    pub so2_ppm: Option<u32>,
    /// Whether it was declared, not only used.
    pub declared: bool,
}

/// A material as it counts in a cellar.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Meant<'a> {
    /// What it is called: two words that mean one material have one name.
    pub name: &'a str,
    /// What it is added for.
    pub class: Class,
    /// The sulfur dioxide that it gives, parts of a million of its mass; none where it gives none, or nobody said how much.
    so2_ppm: Option<u32>,
}

impl HouseMaterial {
    fn meant(&self) -> Meant<'_> {
        Meant { name: &self.name, class: self.class, so2_ppm: self.so2_ppm }
    }
}

impl Meant<'_> {
    /// What it is, in words.
    #[must_use]
    pub fn words(&self) -> String {
        let class = self.class.words();
        match self.so2_ppm.filter(|_| self.is_sulfur()) {
            Some(ppm) => format!("{class}, of which it gives {} %", f64::from(ppm) / 1e4),
            None if self.is_sulfur() => format!("{class}, nobody said how much"),
            None => class.to_owned(),
        }
    }

    /// Whether it gives sulfur dioxide.
    #[must_use]
    pub fn is_sulfur(&self) -> bool {
        self.class == Class::SulfurDioxide
    }

    /// The sulfur dioxide that an amount of it gives, to the nearest microgram; none of what gives none, or of unknown
    /// strength. Of a liquid that was only measured by volume, a litre is taken to weigh a kilogram.
    fn gives(&self, amount: Mass, solution: Volume) -> Option<Mass> {
        let ppm = self.so2_ppm.filter(|_| self.is_sulfur())?;
        Some(whole_amount(amount, solution).part(u64::from(ppm), MILLION))
    }
}

/// How much of something was added: of a liquid that was only measured by volume, a litre is taken to weigh a kilogram.
pub(in crate::cellar) fn whole_amount(amount: Mass, solution: Volume) -> Mass {
    if amount.is_zero() { Mass::from_ug(solution.as_ul().saturating_mul(1_000)) } else { amount }
}

impl State {
    /// What a word for a material means: what the house says of it, else what the trade does; none where neither knows it.
    #[must_use]
    pub fn material(&self, word: &str) -> Option<Meant<'_>> {
        self.house_material(word).map(HouseMaterial::meant).or_else(|| {
            let named = material::named(word)?;
            Some(Meant { name: &named.known.name, class: named.known.class, so2_ppm: named.so2_ppm })
        })
    }

    fn house_material(&self, word: &str) -> Option<&HouseMaterial> {
        if self.house_materials.is_empty() {
            return None;
        }
        let word = plain(word);
        self.house_materials.iter().find(|own| plain(own.material.as_str()) == word)
    }

    /// How much sulfur dioxide an amount of a material is; none of another material, or where nobody said how much it gives.
    #[must_use]
    pub fn sulfur_dioxide_in(&self, material: &Label, amount: Mass, solution: Volume) -> Option<Mass> {
        self.material(material.as_str())?.gives(amount, solution)
    }

    /// The same at the most, for judging whether so much can be: of a material of unknown strength, and of an unknown one whose
    /// name speaks of sulfur, as much as metabisulfite gives.
    pub(in crate::cellar) fn sulfur_dioxide_at_most(
        &self,
        material: &Label,
        amount: Mass,
        solution: Volume,
    ) -> Option<Mass> {
        let usual = Meant { name: "", class: Class::SulfurDioxide, so2_ppm: Some(USUAL_SO2_PPM) };
        match self.material(material.as_str()) {
            Some(meant) if meant.is_sulfur() => {
                let so2_ppm = meant.so2_ppm.or(usual.so2_ppm);
                Meant { so2_ppm, ..meant }.gives(amount, solution)
            }
            None if smells_of_sulfur(material.as_str()) => usual.gives(amount, solution),
            Some(_) | None => None,
        }
    }

    /// Whether a material gives sulfur dioxide.
    #[must_use]
    pub fn gives_sulfur_dioxide(&self, material: &Label) -> bool {
        self.material(material.as_str()).is_some_and(|meant| meant.is_sulfur())
    }

    /// Whether two words mean one material.
    #[must_use]
    pub fn is_same_material(&self, one: &Label, other: &Label) -> bool {
        one == other
            || match (self.material(one.as_str()), self.material(other.as_str())) {
                (Some(one), Some(other)) => one.name == other.name && one.so2_ppm == other.so2_ppm,
                _ => plain(one.as_str()) == plain(other.as_str()),
            }
    }

    /// The sulfur dioxide that an amount of one of the house's materials gives, by its place among them.
    pub(in crate::cellar) fn given_by_house_material(&self, material: u16, amount: Mass) -> Option<Mass> {
        self.house_materials.get(usize::from(material))?.meant().gives(amount, Volume::ZERO)
    }

    /// The place among the house's materials of one that was used and of which nobody said yet what it is or gives.
    pub(in crate::cellar) fn undeclared(&self, word: &Label) -> Option<u16> {
        let plainly = plain(word.as_str());
        let is_open = |own: &HouseMaterial| !own.declared && own.class != Class::Fining;
        let is_it = |own: &HouseMaterial| is_open(own) && plain(own.material.as_str()) == plainly;
        u16::try_from(self.house_materials.iter().position(is_it)?).ok()
    }

    /// Whether nobody said yet what a material is, so that it counts as something else.
    #[must_use]
    pub fn is_unnamed(&self, material: &Label) -> bool {
        self.undeclared(material).is_some() || self.material(material.as_str()).is_none()
    }

    /// What was added before its material was declared counts too, where a vessel or a lot still remembers it.
    fn count_earlier_additions(&mut self, material: &Label) {
        let plainly = plain(material.as_str());
        let own = self.house_material(material.as_str()).filter(|own| own.class == Class::SulfurDioxide);
        let Some(own) = own.cloned() else { return };
        let is_it = |added: &Arc<Addition>| added.sulfur_dioxide.is_none() && plain(added.material.as_str()) == plainly;
        let count = |list: &mut Arc<Vec<Arc<Addition>>>| {
            for added in Arc::make_mut(list).iter_mut().filter(|added| is_it(added)) {
                let sulfur_dioxide = own.meant().gives(added.amount, added.solution);
                *added = Arc::new(Addition { sulfur_dioxide, ..(**added).clone() });
            }
        };
        let vessels = self.vessels.iter().filter(|(_, vessel)| vessel.additions.iter().any(is_it));
        for id in vessels.map(|(id, _)| id).collect::<Vec<_>>() {
            count(&mut self.vessels.get_mut(id).additions);
        }
        let lots = self.lots.iter().filter(|(_, lot)| lot.additions.iter().any(is_it));
        for id in lots.map(|(id, _)| id).collect::<Vec<_>>() {
            count(&mut self.lots.get_mut(id).additions);
        }
    }

    /// Remembers a word that neither the house nor the trade knows, so that it is asked about only once.
    pub(in crate::cellar) fn remember_material(&mut self, material: &Label, class: Class) {
        let word = material.as_str();
        let meant = self.material(word);
        // Of what is known, only a strength that nobody said is still to be asked for.
        let is_settled = meant.is_some_and(|meant| !meant.is_sulfur() || meant.so2_ppm.is_some());
        if is_settled || self.house_material(word).is_some() {
            return;
        }
        let (name, class) = meant.map_or_else(|| (plain(word), class), |meant| (meant.name.to_owned(), meant.class));
        let used = HouseMaterial { material: material.clone(), name, class, so2_ppm: None, declared: false };
        Arc::make_mut(&mut self.house_materials).push(used);
    }

    /// What is asked of a material before it is written down: what it is, where nobody knows it; how much sulfur dioxide it
    /// gives, where nobody said.
    pub(in crate::cellar) fn material_questions(&self, material: &Label) -> Vec<Question> {
        let word = material.as_str();
        if self.house_material(word).is_some() {
            return Vec::new();
        }
        let question = match self.material(word) {
            Some(meant) if meant.is_sulfur() && meant.so2_ppm.is_none() => {
                Some(Question::UnknownStrength { material: material.clone() })
            }
            Some(_) => None,
            None => Some(match self.material_near(word) {
                Some(known) => Question::NearMaterial { written: material.clone(), known },
                None => Question::UnknownMaterial { material: material.clone() },
            }),
        };
        question.into_iter().collect()
    }

    /// The answer to what a material is, as a fact for the act that names it; none where it is known as just that.
    pub fn material_answer(
        &self,
        material: &Label,
        class: Class,
        so2_pct: Option<f64>,
    ) -> Result<Option<MaterialDeclared>, Refusal> {
        let is_open = self.house_material(material.as_str()).is_some_and(|own| !own.declared);
        if let Some(meant) = self.material(material.as_str()).filter(|_| !is_open) {
            let is_asked = meant.is_sulfur() && meant.so2_ppm.is_none() && so2_pct.is_some();
            if meant.class != class || (so2_pct.is_some() && !is_asked && meant.so2_ppm != so2_pct.map(ppm)) {
                return Err(Refusal::KnownMaterial { material: material.clone(), known: meant.words() });
            }
            if !is_asked {
                return Ok(None);
            }
        }
        Ok(Some(MaterialDeclared { material: material.clone(), same_as: None, class: Some(class), so2_pct }))
    }

    /// The material that a word that nobody knows most likely means.
    fn material_near(&self, word: &str) -> Option<String> {
        let house = || self.house_materials.iter().map(|own| own.material.as_str());
        let trade: Vec<&str> = materials().iter().flat_map(material::Known::names).collect();
        near::meant(word, house, trade.iter().copied()).map(ToOwned::to_owned)
    }
}

impl MaterialDeclared {
    /// The material as the house says it is.
    fn meant(&self, state: &State) -> Result<HouseMaterial, Refusal> {
        let material = self.material.clone();
        if plain(material.as_str()).is_empty() {
            return Err(Refusal::NoMaterial(material));
        }
        in_range("Sulfur dioxide in % of a material", self.so2_pct, 0.1, MOST_SO2_PCT)?;
        let so2_ppm = self.so2_pct.map(ppm);
        let own =
            HouseMaterial { name: plain(material.as_str()), material, class: Class::Other, so2_ppm, declared: true };
        match (&self.same_as, self.class) {
            (Some(other), None) => {
                let known = state.material(other.as_str()).filter(|_| plain(other.as_str()) != own.name);
                let known = known.ok_or_else(|| Refusal::UnknownMaterial(other.clone()))?;
                if so2_ppm.is_some() && !known.is_sulfur() {
                    return Err(Refusal::NoSulfurIn(self.material.clone()));
                }
                Ok(HouseMaterial {
                    name: known.name.to_owned(),
                    class: known.class,
                    so2_ppm: so2_ppm.or(known.so2_ppm),
                    ..own
                })
            }
            (None, Some(class)) if class == Class::SulfurDioxide || so2_ppm.is_none() => {
                Ok(HouseMaterial { class, ..own })
            }
            (None, Some(_)) => Err(Refusal::NoSulfurIn(self.material.clone())),
            (None, None) | (Some(_), Some(_)) => Err(Refusal::SameOrClass(self.material.clone())),
        }
    }
}

impl Job for MaterialDeclared {
    type Ready = HouseMaterial;

    fn ready(&self, state: &State) -> Result<HouseMaterial, Refusal> {
        self.meant(state)
    }

    /// A word of its own that is much like a known one is most likely that.
    fn questions(&self, state: &State, _declared: &HouseMaterial, _at: Moment) -> Vec<Question> {
        let word = self.material.as_str();
        let is_new = self.same_as.is_none() && state.material(word).is_none();
        let known = if is_new { state.material_near(word) } else { None };
        known.map(|known| Question::NearMiss { written: self.material.clone(), known }).into_iter().collect()
    }

    fn apply(&self, state: &mut State, _stamp: &Stamp, declared: HouseMaterial) {
        let word = plain(self.material.as_str());
        let house = Arc::make_mut(&mut state.house_materials);
        match house.iter_mut().find(|own| plain(own.material.as_str()) == word) {
            Some(own) => *own = declared,
            None => house.push(declared),
        }
        state.count_earlier_additions(&self.material);
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.material)
    }
}
