//! What an addition comes to against published figures, with all that the wine was given before: asked before it is given.

use super::treating::Treated;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::question::Question;
use crate::cellar::core::state::{State, VesselId};
use crate::cellar::jobs::finish::fining::given::colour_of;
use crate::cellar::jobs::tests::material::whole_amount;
use crate::cellar::jobs::tests::sulfuring::carried::CarriedSulfur;
use crate::reckon::fining::kind_of;
use crate::reckon::label_share::Rules;
use crate::reckon::material::{Known, WATER_FIGURE};
use crate::reckon::organic::total_figures;
use crate::reckon::sulfur::USUAL_BOUND_SHARE;
use crate::units::said_dose;

/// Of a planned amount as much as this may be given before it is asked anew, in hundredths: nobody weighs to the grain.
const AS_PLANNED_HUNDREDTHS: u64 = 105;

impl Treated {
    /// What is asked of the figures that are published: how much of the material in all, how much water, how much sulfur dioxide; and
    /// whether so much of it dissolves. What a work plans was asked when it was set.
    pub(in crate::cellar) fn asks_of_figures(&self, state: &State, id: VesselId, at: Moment) -> Vec<Question> {
        let known = state.known_material(self.material.as_str());
        let above = known.and_then(|known| self.above_figures(state, id, known));
        let undissolved = known.and_then(|known| self.undissolved(known));
        let water = self.too_much_water(state, id);
        let sulfites = self.sulfites_above(state, id, at);
        [above, undissolved, water, sulfites].into_iter().flatten().collect()
    }

    /// Whether a work that is still to be done here plans as much of it.
    pub(in crate::cellar) fn is_planned(&self, state: &State, id: VesselId) -> bool {
        let plans = |work: &crate::cellar::core::state::Work| {
            self.is_asked_by(&work.task, state)
                && work.stop(id).is_some_and(|stop| {
                    stop.tick.is_none()
                        && u128::from(self.amount.as_ug()) * 100
                            <= u128::from(stop.amount.as_ug()) * u128::from(AS_PLANNED_HUNDREDTHS)
                        && u128::from(self.solution.as_ul()) * 100
                            <= u128::from(stop.volume.as_ul()) * u128::from(AS_PLANNED_HUNDREDTHS)
                })
        };
        state.open_works.iter().any(|&work| plans(state.works.get(work)))
    }

    fn above_figures(&self, state: &State, id: VesselId, known: &'static Known) -> Option<Question> {
        let before = state.additions_to(&[id]);
        let had = before.counted_g_l(known) > 0.0;
        let amount = whole_amount(self.amount, self.solution);
        let after = before.besides(state, &self.material, amount, self.solution);
        let colour = colour_of(state.colour_in(state.vessels.get(id)));
        let held = after.held_against(known, colour, state.practice.rules);
        let above: Vec<String> = Known::above(&held).iter().map(crate::reckon::material::Held::words).collect();
        let vessel = self.vessel.clone();
        (!above.is_empty()).then(|| Question::AboveFigures { vessel, had, above: above.join("; ") })
    }

    fn undissolved(&self, known: &Known) -> Option<Question> {
        let dissolves = known.dissolves_g_l()?;
        let litres = self.solution.as_litres();
        let strength = self.amount.as_grams() / litres;
        (litres > 0.0 && strength > dissolves).then(|| Question::Undissolved {
            material: self.material.clone(),
            strength: said_dose(strength),
            dissolves: said_dose(dissolves),
        })
    }

    fn too_much_water(&self, state: &State, id: VesselId) -> Option<Question> {
        if self.solution.is_zero() || state.practice.rules == Some(Rules::Eu) {
            return None;
        }
        let mut after = state.additions_to(&[id]);
        after.water += self.solution;
        let share = after.water_share()?;
        let vessel = self.vessel.clone();
        (share > WATER_FIGURE * 1.000_1).then_some(Question::MuchWater { vessel, share })
    }

    fn sulfites_above(&self, state: &State, id: VesselId, at: Moment) -> Option<Question> {
        let given = state.sulfur_dioxide_in(&self.material, self.amount, self.solution)?;
        let vessel = state.vessels.get(id);
        let litres = vessel.volume().as_litres();
        if litres <= 0.0 {
            return None;
        }
        let known = state.sulfur_known(id, USUAL_BOUND_SHARE, at);
        let of_life = || {
            let gifts = vessel.wine.sulfur().into_iter().flat_map(CarriedSulfur::gifts);
            gifts.map(|gift| gift.milligrams(state)).sum::<f64>() / litres
        };
        let total = known.total_now.unwrap_or_else(of_life) + given.as_grams() * 1e3 / litres;
        let kind = kind_of(colour_of(state.colour_in(vessel)));
        let sugar = known.sugar.map(|sugar| sugar.value);
        let is_organic = state.is_organic(&vessel.wine);
        let sides = state.practice.sides().iter();
        let all = sides.flat_map(|&rules| total_figures(rules.into(), kind, sugar, is_organic));
        let above = all.filter(|limit| total > limit.most);
        let above: Vec<String> = above.map(|limit| format!("the {} mg/L of {}", limit.most, limit.section)).collect();
        let label: Label = self.vessel.clone();
        (!above.is_empty()).then(|| Question::SulfitesAbove {
            vessel: label,
            more: 0,
            total,
            above: above.join(" and "),
        })
    }
}
