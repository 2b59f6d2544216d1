//! What can hurt somebody at the work of a cellar: each hazard in a sentence, once, and at which work it is told. Screen, commands and paper say it
//! before the work is done, by the same [`Caution`].
//!
//! Tanks: 29 CFR 1910.146 (entry begins where any part of the body passes the opening; air tested, a permit, an attendant outside). Ozone:
//! 29 CFR 1910.1000, table Z-1. The rest is common practice.
//!
//! **What can hurt somebody** stands in `told/hazard.rs`: a sentence a hazard, at which kind of fact, work, care or material it is told,
//! and the `Caution` that is made of them. A page gives it by `Page::caution` and the frame draws it over the lines, of a page with a head
//! of its own below them (`tui/core/frame.rs`); at taking up a work `Model::heed` puts it over what is said. Commands say it in
//! `Counter::caution`, plans by `Page::caution` of `cli/table/page.rs`, sheets as `Document::cautions`. `cautions.rs` in `tests/screen` and
//! `tests/commands` holds each hazard to each place.

use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::core::state::{State, VesselId, Work};
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::cellar::jobs::floor::work::{Task, TaskSet};
use crate::cellar::jobs::wood::care::{BarrelCared, Care};
use crate::cellar::jobs::wood::moving::{Purpose, WineMoved};
use crate::reckon::material::{self, Class};
use crate::units::counted;

/// What stands below every caution.
const FOLLOW: &str = "Follow local codes and licensed practice.";

/// What can hurt somebody.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Hazard {
    /// Gas in a tank or a vat.
    Gas,
    /// Gas that is laid over wine and flows out into the room.
    LaidGas,
    /// A tank that is emptied with its lid closed.
    Collapse,
    /// Gas that comes out of a barrel that was sulfured.
    SulfuredWood,
    /// Sulfur that is burnt.
    BurningSulfur,
    /// Sulfur dioxide, its salts and its solutions.
    SulfurDioxide,
    /// Hot water and steam.
    HotWater,
    /// Ozone.
    Ozone,
    /// Dust of what is weighed and stirred in.
    Dust,
    /// Acids and lyes.
    Harsh,
    /// What frees carbon dioxide and foams.
    Foaming,
    /// Salts of copper.
    Copper,
    /// Ferrocyanide.
    Ferrocyanide,
    /// Dimethyl dicarbonate.
    Dmdc,
    /// Ladders between the stacks.
    Ladders,
    /// Barrels that lie upon each other.
    Stacks,
    /// A rack that is lifted.
    Lifting,
    /// Bins and pallets of bottles.
    Bins,
    /// A bottling line.
    Line,
    /// Wine that is tasted.
    Tasting,
    /// A glass of a trial that holds what nobody may drink.
    DosedGlass,
}

impl Hazard {
    /// Every one.
    pub const ALL: [Hazard; 21] = [
        Hazard::Gas,
        Hazard::LaidGas,
        Hazard::Collapse,
        Hazard::SulfuredWood,
        Hazard::BurningSulfur,
        Hazard::SulfurDioxide,
        Hazard::HotWater,
        Hazard::Ozone,
        Hazard::Dust,
        Hazard::Harsh,
        Hazard::Foaming,
        Hazard::Copper,
        Hazard::Ferrocyanide,
        Hazard::Dmdc,
        Hazard::Ladders,
        Hazard::Stacks,
        Hazard::Lifting,
        Hazard::Bins,
        Hazard::Line,
        Hazard::Tasting,
        Hazard::DosedGlass,
    ];

    /// What is to be known and heeded, in a sentence.
    #[must_use]
    pub const fn sentence(self) -> &'static str {
        match self {
            Hazard::Gas => {
                "Gas you cannot smell kills: nobody puts head or body into a tank or vat without tested air, a permit and someone outside; \
                 never follow to rescue."
            }
            Hazard::LaidGas => "Gas laid over wine flows out and fills low rooms: air them.",
            Hazard::Collapse => "A tank pumped out with its lid closed collapses: open it to the air first.",
            Hazard::SulfuredWood => {
                "A sulfured barrel breathes out its gas at the bung when it is filled or rinsed: face away, air the room."
            }
            Hazard::BurningSulfur => {
                "Burn sulfur only in an empty, rinsed, wine barrel: alcohol vapour, above all after spirits, can explode."
            }
            Hazard::SulfurDioxide => {
                "Sulfur dioxide is toxic, also over its powder and solutions: mask, goggles, gloves, air; leave when it stings."
            }
            Hazard::HotWater => "Hot water and steam scald and burst a closed barrel: bung out, face away.",
            Hazard::Ozone => "Ozone hurts the lungs: nobody in the room above 0.1 ppm.",
            Hazard::Dust => {
                "Dust of bentonite, silica, carbon, PVPP or filter powder hurts the lungs: wear a dust mask."
            }
            Hazard::Harsh => {
                "Acids and lyes burn: gloves, goggles, read the maker's sheet; acid into water, never the other way."
            }
            Hazard::Foaming => {
                "It frees carbon dioxide and foams: leave room above the wine, add it slowly and air the place."
            }
            Hazard::Copper => {
                "Copper salts are poisonous and harm eyes: goggles and gloves; have the copper tested before bottling."
            }
            Hazard::Ferrocyanide => {
                "Never let acid come to it: it gives off a poisonous gas. Only by who answers for it, and none may be left in the wine."
            }
            Hazard::Dmdc => {
                "Poisonous breathed in and on the skin until it has broken down: only by closed dosing, by trained hands."
            }
            Hazard::Ladders => "Ladders slip: nobody climbs a rack.",
            Hazard::Stacks => {
                "Stacks fall: no higher than the racks' maker allows, lower in earthquake country; nobody under a load."
            }
            Hazard::Lifting => "Never lift a rack from under others.",
            Hazard::Bins => {
                "Bins and pallets tip and broken glass cuts: gloves, the lower bins first, nobody under a load."
            }
            Hazard::Line => {
                "Bottles burst and cut, the line pulls hands in: guards closed, stop it before you reach in."
            }
            Hazard::Tasting => "Spit, drink water, and do not drive after a tasting.",
            Hazard::DosedGlass => "Nobody tastes a glass that was dosed with it: it is judged by eye and by test.",
        }
    }

    /// The same in a few words, for a small screen.
    #[must_use]
    pub const fn in_short(self) -> &'static str {
        match self {
            Hazard::Gas => "gas in tanks kills: tested air, a permit, someone outside",
            Hazard::LaidGas => "air low rooms",
            Hazard::Collapse => "open the lid before it is pumped out",
            Hazard::SulfuredWood => "sulfur gas at the bung: face away",
            Hazard::BurningSulfur => "sulfur burns only in an empty, rinsed wine barrel",
            Hazard::SulfurDioxide => "sulfur dioxide is toxic: mask, goggles, air",
            Hazard::HotWater => "hot water: bung out, face away",
            Hazard::Ozone => "ozone: nobody in above 0.1 ppm",
            Hazard::Dust => "dust: wear a mask",
            Hazard::Harsh => "acids burn: gloves, goggles",
            Hazard::Foaming => "it foams: leave room above the wine",
            Hazard::Copper => "copper is poisonous: gloves, goggles",
            Hazard::Ferrocyanide => "never let acid come to it: poisonous gas",
            Hazard::Dmdc => "poisonous: closed dosing, by trained hands",
            Hazard::Ladders => "nobody climbs a rack",
            Hazard::Stacks => "stacks fall: nobody under a load",
            Hazard::Lifting => "no rack from under others",
            Hazard::Bins => "bins tip: nobody under a load",
            Hazard::Line => "stop the line before you reach in",
            Hazard::Tasting => "spit, and do not drive",
            Hazard::DosedGlass => "nobody tastes a dosed glass",
        }
    }
}

/// What is told before a work that can hurt somebody.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Caution {
    hazards: Vec<Hazard>,
    /// Which barrels were sulfured, and when, where the log knows it.
    sulfured: Option<String>,
}

impl Caution {
    /// Of some hazards.
    #[must_use]
    pub fn of(hazards: &[Hazard]) -> Caution {
        let mut caution = Caution::default();
        caution.heed(hazards);
        caution
    }

    /// Of a kind of fact, before it is known what it is about.
    #[must_use]
    pub fn of_kind(kind: &str) -> Caution {
        Caution::of(of_kind(kind))
    }

    /// Of acts that are about to be done.
    #[must_use]
    pub fn of_acts(state: &State, whats: &[What]) -> Caution {
        let mut caution = Caution::default();
        let mut into = Vec::new();
        for what in whats {
            match what {
                What::WineMoved(moved) => {
                    caution.heed(&of_move(state, moved));
                    into.extend(state.vessels.find(moved.to.as_str()));
                }
                What::Treated(treated) => caution.heed(of_material(state, &treated.material)),
                What::FiningTried(tried) => caution.heed(&of_trial(state, &tried.material)),
                What::BarrelCared(BarrelCared { vessel, care, .. }) => {
                    caution.heed(of_care(*care));
                    into.extend(state.vessels.find(vessel.as_str()).filter(|_| lets_gas_out(*care)));
                }
                What::WorkSet(set) => {
                    caution.heed(of_task_set(state, &set.task));
                    let stops = || set.stops.iter().filter_map(|stop| state.vessels.find(stop.vessel.as_str()));
                    into.extend(fills_or_rinses_set(&set.task).then(stops).into_iter().flatten());
                }
                other => caution.heed(of_kind(other.kind())),
            }
        }
        caution.of_sulfured(state, &into)
    }

    /// Of a work, for what of it is still to be done; none where all of it is done.
    #[must_use]
    pub fn of_work(state: &State, work: &Work) -> Caution {
        let to_do: Vec<VesselId> =
            work.stops.iter().filter(|stop| stop.tick.is_none()).map(|stop| stop.vessel).collect();
        if to_do.is_empty() {
            return Caution::default();
        }
        let caution = Caution::of(of_task(state, &work.task));
        if fills_or_rinses(&work.task) { caution.of_sulfured(state, &to_do) } else { caution }
    }

    /// Of wine that is racked, or blended, out of barrels and tanks.
    #[must_use]
    pub fn of_racking() -> Caution {
        Caution::of(RACKING)
    }

    /// Of barrels that are filled from a tank.
    #[must_use]
    pub fn of_filling(state: &State, barrels: &[VesselId]) -> Caution {
        Caution::of(RACKING).of_sulfured(state, barrels)
    }

    /// Of the care of some empty barrels.
    #[must_use]
    pub fn of_caring(state: &State, care: Care, barrels: &[VesselId]) -> Caution {
        let caution = Caution::of(of_care(care));
        if lets_gas_out(care) { caution.of_sulfured(state, barrels) } else { caution }
    }

    /// Of wine that is moved out of a tank into another, filtered or not.
    #[must_use]
    pub fn of_tanks(filters: bool) -> Caution {
        Caution::of(if filters { FILTERING } else { EMPTYING })
    }

    /// Of what is added to a wine.
    #[must_use]
    pub fn of_material(state: &State, material: &Label) -> Caution {
        Caution::of(of_material(state, material))
    }

    /// Of a material that is tried in glasses.
    #[must_use]
    pub fn of_trial(state: &State, material: &Label) -> Caution {
        Caution::of(&of_trial(state, material))
    }

    /// Whether there is nothing to heed.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.hazards.is_empty()
    }

    /// Whether it tells of a hazard.
    #[must_use]
    pub fn tells(&self, hazard: Hazard) -> bool {
        self.hazards.contains(&hazard)
    }

    /// All of it, a sentence a hazard; nothing where there is nothing to heed.
    #[must_use]
    pub fn words(&self) -> String {
        if self.is_empty() {
            return String::new();
        }
        let sentences = self.hazards.iter().map(|hazard| match (hazard, &self.sulfured) {
            (Hazard::SulfuredWood, Some(sulfured)) => sulfured.as_str(),
            _ => hazard.sentence(),
        });
        sentences.chain([FOLLOW]).collect::<Vec<_>>().join(" ")
    }

    /// The first hazard in its sentence and the others in few words, where there is little room.
    #[must_use]
    pub fn folded(&self) -> String {
        let Some((first, others)) = self.hazards.split_first() else { return String::new() };
        let others = Caution::of(others).in_short();
        [first.sentence(), &others, FOLLOW].into_iter().filter(|words| !words.is_empty()).collect::<Vec<_>>().join(" ")
    }

    /// The same in a line or two, where there is no room for all of it.
    #[must_use]
    pub fn in_short(&self) -> String {
        let words = self.hazards.iter().map(|hazard| hazard.in_short()).collect::<Vec<_>>().join("; ");
        let mut letters = words.chars();
        letters.next().map_or_else(String::new, |first| format!("{}{}.", first.to_uppercase(), letters.as_str()))
    }

    fn heed(&mut self, hazards: &[Hazard]) {
        for hazard in hazards {
            if !self.tells(*hazard) {
                self.hazards.push(*hazard);
            }
        }
        self.hazards.sort_unstable();
    }

    /// With those of some barrels that still hold the gas of their sulfuring, and the day of the last.
    fn of_sulfured(mut self, state: &State, barrels: &[VesselId]) -> Caution {
        let gassed = |&id: &VesselId| Some((id, state.still_sulfured(id)?));
        let mut sulfured: Vec<_> = barrels.iter().filter_map(gassed).collect();
        sulfured.sort_by_key(|(_, at)| std::cmp::Reverse(at.instant()));
        let Some(&(last, at)) = sulfured.first() else { return self };
        let (label, day) = (&state.vessels.get(last).label, at.show_date());
        self.sulfured = Some(match sulfured.len() {
            1 => format!("{label} was sulfured on {day}: its gas comes out at the bung, so face away, air the room."),
            many => format!(
                "{} were sulfured, {label} last, on {day}: the gas comes out at the bung, so face away, air the room.",
                counted(many, "barrel")
            ),
        });
        self.heed(&[Hazard::SulfuredWood]);
        self
    }
}

const EMPTYING: &[Hazard] = &[Hazard::Gas, Hazard::Collapse];
const FILTERING: &[Hazard] = &[Hazard::Gas, Hazard::Collapse, Hazard::Dust];
const RACKING: &[Hazard] = &[Hazard::Gas, Hazard::Stacks];
const WALKING: &[Hazard] = &[Hazard::Gas, Hazard::Ladders, Hazard::Stacks];

/// At which kind of fact which hazards are told, where it is not known yet what it is about.
fn of_kind(kind: &str) -> &'static [Hazard] {
    match kind {
        "round_begun" | "count_begun" => WALKING,
        "sampled" => &[Hazard::Gas, Hazard::Ladders],
        "stirred" => &[Hazard::Ladders],
        "vessel_placed" | "rack_moved" => &[Hazard::Stacks, Hazard::Lifting],
        "wine_moved" => &[Hazard::Gas, Hazard::Collapse, Hazard::SulfuredWood, Hazard::Stacks],
        "blend_chosen" => RACKING,
        "wine_received" => &[Hazard::Gas],
        "wine_out" => EMPTYING,
        "blanketed" => &[Hazard::Gas, Hazard::LaidGas],
        "barrel_cared" => {
            &[Hazard::SulfuredWood, Hazard::BurningSulfur, Hazard::SulfurDioxide, Hazard::HotWater, Hazard::Ozone]
        }
        "treated" => &[Hazard::SulfurDioxide, Hazard::Dust, Hazard::Harsh],
        "fining_trial" => &[Hazard::Dust],
        "bottled" => &[Hazard::Gas, Hazard::HotWater, Hazard::Line],
        "laid_away" | "bottles_out" | "bottles_counted" => &[Hazard::Bins],
        _ => &[],
    }
}

/// What is known of a vessel that wine comes from or into: of tanks gas, of barrels that they lie in stacks.
fn of_move(state: &State, moved: &WineMoved) -> Vec<Hazard> {
    let is_barrel = |label: &Label| {
        state.vessels.by_label(label.as_str()).is_some_and(|vessel| vessel.vessel_type == VesselType::Barrel)
    };
    let mut hazards = vec![Hazard::Gas];
    hazards.extend((!is_barrel(&moved.from)).then_some(Hazard::Collapse));
    hazards.extend((moved.purpose == Purpose::Filtration).then_some(Hazard::Dust));
    hazards.extend((is_barrel(&moved.from) || is_barrel(&moved.to)).then_some(Hazard::Stacks));
    hazards
}

/// What is known of a material by what it is added for; of one that nobody knows it may be anything.
fn of_material(state: &State, label: &Label) -> &'static [Hazard] {
    let meant = state.material(label.as_str());
    // The table of materials is asked first: egg white raises no dust, whatever its class.
    if let Some(named) = meant.and_then(|meant| material::named(meant.name)) {
        return named.known.caution().map_or(&[], of_known);
    }
    match meant.map(|meant| meant.class) {
        Some(Class::SulfurDioxide) => &[Hazard::SulfurDioxide],
        Some(Class::Acid | Class::Deacidifying) => &[Hazard::Harsh],
        Some(Class::Fining | Class::Nutrient | Class::Tannin) => &[Hazard::Dust],
        Some(Class::Other) | None => &[Hazard::Dust, Hazard::Harsh],
    }
}

/// A material that is tried in glasses: what is poisonous until it is fined out, or has broken down, is tasted by nobody.
fn of_trial(state: &State, label: &Label) -> Vec<Hazard> {
    let mut hazards = of_material(state, label).to_vec();
    let is_poison = |hazard: &Hazard| matches!(hazard, Hazard::Copper | Hazard::Ferrocyanide | Hazard::Dmdc);
    hazards.extend(hazards.iter().any(is_poison).then_some(Hazard::DosedGlass));
    hazards
}

/// What the table of materials says of one.
const fn of_known(caution: material::Caution) -> &'static [Hazard] {
    match caution {
        material::Caution::SulfurDioxide => &[Hazard::SulfurDioxide],
        material::Caution::BurningSulfur => &[Hazard::BurningSulfur, Hazard::SulfurDioxide],
        material::Caution::Dust => &[Hazard::Dust],
        material::Caution::Acid => &[Hazard::Harsh],
        material::Caution::Foaming => &[Hazard::Foaming],
        material::Caution::Copper => &[Hazard::Copper],
        material::Caution::Ferrocyanide => &[Hazard::Ferrocyanide],
        material::Caution::Dmdc => &[Hazard::Dmdc],
    }
}

const fn of_care(care: Care) -> &'static [Hazard] {
    match care {
        Care::Rinsed | Care::Steamed | Care::Soaked => &[Hazard::HotWater],
        Care::Ozonated => &[Hazard::Ozone],
        Care::Sulfured => &[Hazard::BurningSulfur, Hazard::SulfurDioxide],
        Care::Dried => &[],
    }
}

/// Whether a care lets the gas of a sulfuring out of the barrel.
const fn lets_gas_out(care: Care) -> bool {
    matches!(care, Care::Rinsed | Care::Steamed | Care::Soaked | Care::Ozonated)
}

fn of_task(state: &State, task: &Task) -> &'static [Hazard] {
    match task {
        Task::Racking { .. } | Task::BarrelDown { .. } | Task::Blending { .. } => RACKING,
        Task::Treating { material } => of_material(state, material),
        Task::Caring { care } => of_care(*care),
    }
}

fn of_task_set(state: &State, task: &TaskSet) -> &'static [Hazard] {
    match task {
        TaskSet::Racking { .. } | TaskSet::BarrelDown { .. } | TaskSet::Blending { .. } => RACKING,
        TaskSet::Treating { material } => of_material(state, material),
        TaskSet::Caring { care } => of_care(*care),
    }
}

/// Whether a work lets the gas of a sulfuring out of its barrels.
const fn fills_or_rinses(task: &Task) -> bool {
    match task {
        Task::BarrelDown { .. } => true,
        Task::Caring { care } => lets_gas_out(*care),
        Task::Racking { .. } | Task::Blending { .. } | Task::Treating { .. } => false,
    }
}

const fn fills_or_rinses_set(task: &TaskSet) -> bool {
    match task {
        TaskSet::BarrelDown { .. } => true,
        TaskSet::Caring { care } => lets_gas_out(*care),
        TaskSet::Racking { .. } | TaskSet::Blending { .. } | TaskSet::Treating { .. } => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cellar::core::fact::KINDS;

    /// The words of a caution that make it one are held here: facts, not taste.
    #[test]
    fn every_hazard_says_what_the_rules_and_the_trade_say_of_it() {
        let facts = [
            (Hazard::Gas, "head or body into a tank or vat without tested air, a permit and someone outside"),
            (Hazard::BurningSulfur, "only in an empty, rinsed, wine barrel"),
            (Hazard::BurningSulfur, "alcohol vapour, above all after spirits, can explode"),
            (Hazard::SulfurDioxide, "leave when it stings"),
            (Hazard::Ozone, "above 0.1 ppm"),
            (Hazard::HotWater, "bung out, face away"),
            (Hazard::Stacks, "no higher than the racks' maker allows, lower in earthquake country"),
            (Hazard::Dust, "bentonite, silica, carbon, PVPP"),
        ];
        for (hazard, words) in facts {
            assert!(hazard.sentence().contains(words), "{hazard:?}: {}", hazard.sentence());
        }
        for hazard in Hazard::ALL {
            assert!(hazard.sentence().ends_with('.') && hazard.sentence().len() < 160, "{hazard:?}");
            assert!(hazard.in_short().len() <= 60, "{hazard:?}");
        }
    }

    #[test]
    fn every_hazard_is_told_at_some_work_and_no_work_tells_one_twice() {
        let of_kinds = KINDS.iter().flat_map(|kind| of_kind(kind));
        let of_materials = material::materials().iter().filter_map(material::Known::caution).flat_map(of_known);
        let told: Vec<Hazard> = of_kinds.chain(of_materials).copied().collect();
        for hazard in Hazard::ALL {
            let is_of_glasses = matches!(hazard, Hazard::Tasting | Hazard::DosedGlass);
            assert!(told.contains(&hazard) || is_of_glasses, "{hazard:?}");
        }
        for kind in KINDS {
            let words = Caution::of_kind(kind).words();
            assert!(words.is_empty() || words.ends_with(FOLLOW), "{kind}");
        }
        let folded = Caution::of(&[Hazard::Stacks, Hazard::Gas, Hazard::SulfuredWood]).folded();
        let short = "Sulfur gas at the bung: face away; stacks fall: nobody under a load.";
        assert_eq!(folded, format!("{} {short} {FOLLOW}", Hazard::Gas.sentence()));
        let twice = Caution::of(&[Hazard::Stacks, Hazard::Gas, Hazard::Stacks]);
        assert_eq!(twice, Caution::of(RACKING));
        assert_eq!(
            twice.in_short(),
            "Gas in tanks kills: tested air, a permit, someone outside; stacks fall: nobody under a load."
        );
    }
}
