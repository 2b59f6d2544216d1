//! What was done to wine beside moving it, and to which wine.

use std::collections::BTreeMap;

use smallvec::{SmallVec, smallvec};

use super::names::Name;
use super::{Fill, Hand, Tracer};
use crate::cellar::core::fact::What;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{LotId, Vessel};
use crate::cellar::jobs::bench::trial::blending::BlendChosen;
use crate::cellar::jobs::finish::fining::FiningTried;
use crate::cellar::jobs::tests::tasting::Tasted;
use crate::cellar::jobs::tests::testing::Readings;
use crate::cellar::jobs::tests::treating::Treated;
use crate::cellar::jobs::wood::care::Care;
use crate::units::{Mass, Volume};

/// Wine of a fill as it was when so much had happened.
pub(super) type Portion = (Fill, u32);

/// The wine that something was done to; of a sample from several vessels several.
pub(super) type Portions = SmallVec<[Portion; 1]>;

/// Something that was done to wine beside moving it. There are many of them: ten years of a house have some hundred thousand.
#[derive(Clone, Debug, PartialEq)]
pub struct Done {
    /// When.
    pub at: Moment,
    pub(super) hand: Hand,
    pub(super) wine: Portions,
    /// What was done.
    pub to: DoneTo,
}

/// What was done to wine.
#[derive(Clone, Debug, PartialEq)]
pub enum DoneTo {
    /// Something was added.
    Treated {
        /// What.
        material: Name,
        /// The maker's mark of the batch.
        batch: Option<Name>,
        /// How much.
        amount: Mass,
        /// The volume that it added; of a liquid that was measured alone that is how much.
        solution: Volume,
        /// How much wine it went into.
        wine: Volume,
    },
    /// It was tested.
    Tested(Box<Test>),
    /// It was tasted.
    Tasted(Box<Tasted>),
    /// A fining agent was tried in glasses of it.
    Tried(Box<FiningTried>),
    /// Glasses of a trial were mixed of it.
    SetInTrial(Box<Label>),
    /// It was to become a glass or a ratio of a trial.
    Chosen(Box<BlendChosen>),
    /// An item of its lot's checklist was looked at, or may stay open.
    Checked(Box<Check>),
    /// The wood that it came into had been cared for.
    Cared(Care),
}

/// What a test found.
#[derive(Clone, Debug, PartialEq)]
pub struct Test {
    /// What was found.
    pub readings: Readings,
    /// Who found it.
    pub lab: Option<Text>,
    /// What was found of things that the house declares.
    pub values: Option<BTreeMap<Label, f64>>,
}

/// What was said of an item of a lot's checklist.
#[derive(Clone, Debug, PartialEq)]
pub struct Check {
    /// Which lot.
    pub lot: Label,
    /// Which item.
    pub item: Label,
    /// Whether it is met; none where it may stay open.
    pub met: Option<bool>,
    /// Words beside it; why it may stay open.
    pub text: Option<Text>,
}

impl Done {
    /// The fills that it was done to.
    pub fn fills(&self) -> impl Iterator<Item = Fill> + '_ {
        self.wine.iter().map(|(fill, _)| *fill)
    }
}

impl Tracer {
    /// Who entered something.
    #[must_use]
    pub fn who(&self, done: &Done) -> Option<&Label> {
        self.person(done.hand)
    }

    /// What a person is called.
    #[must_use]
    pub fn person(&self, hand: Hand) -> Option<&Label> {
        hand.map(|hand| self.people.name(hand))
    }

    /// What a material or its batch is called.
    #[must_use]
    pub fn called(&self, name: Name) -> &Label {
        self.materials.name(name)
    }

    /// What a fact does to wine beside moving it, and to which.
    pub(super) fn done_to(&mut self, what: &What) -> Option<(Portions, DoneTo)> {
        match what {
            What::Sampled(sampled) => {
                if let Some((label, portion)) = sampled.sample.clone().zip(self.portion(&sampled.vessel)) {
                    self.samples.entry(label).or_default().push(portion);
                }
                None
            }
            What::Treated(treated) => {
                let material = self.materials.number(treated.material.as_str())?;
                let batch = treated.batch.as_ref().and_then(|batch| self.materials.number(batch.as_str()));
                Some((self.wine_in(&treated.vessel), self.given(treated, material, batch)))
            }
            What::Tasted(tasted) => Some((self.wine_in(&tasted.vessel), DoneTo::Tasted(tasted.clone()))),
            What::Tested(tested) => {
                let wine = match (&tested.vessel, &tested.sample, &tested.lot) {
                    (Some(vessel), _, _) => self.wine_in(vessel),
                    (None, Some(sample), _) => self.samples.get(sample)?.iter().copied().collect(),
                    (None, None, lot) => self.wine_of(lot.as_ref()?)?,
                };
                Some((
                    wine,
                    DoneTo::Tested(Box::new(Test {
                        readings: tested.readings,
                        lab: tested.lab.clone(),
                        values: tested.values.clone(),
                    })),
                ))
            }
            What::FiningTried(tried) => Some((self.wine_in(&tried.vessel), DoneTo::Tried(tried.clone()))),
            _ => self.looked_into(what),
        }
    }

    /// The same of what comes more seldom.
    fn looked_into(&self, what: &What) -> Option<(Portions, DoneTo)> {
        match what {
            What::TrialSet(set) => {
                let wine = set.components.iter().filter_map(|component| self.portion(&component.vessel)).collect();
                Some((wine, DoneTo::SetInTrial(Box::new(set.trial.clone()))))
            }
            What::BlendChosen(chosen) => Some((self.wine_to_be_in(&chosen.into)?, DoneTo::Chosen(chosen.clone()))),
            What::BarrelCared(cared) => Some((self.wine_to_be_in(&cared.vessel)?, DoneTo::Cared(cared.care))),
            What::Checked(checked) => {
                let check = Check {
                    lot: checked.lot.clone(),
                    item: checked.item.clone(),
                    met: Some(checked.met),
                    text: checked.text.clone(),
                };
                Some((self.wine_of(&check.lot)?, DoneTo::Checked(Box::new(check))))
            }
            What::CheckWaived(waived) => {
                let check = Check {
                    lot: waived.lot.clone(),
                    item: waived.item.clone(),
                    met: None,
                    text: Some(waived.why.clone()),
                };
                Some((self.wine_of(&check.lot)?, DoneTo::Checked(Box::new(check))))
            }
            _ => None,
        }
    }

    /// An addition that was just folded: the wine that it went into is what lies there without what it brought.
    fn given(&self, treated: &Treated, material: Name, batch: Option<Name>) -> DoneTo {
        let holds = self.state.vessels.by_label(treated.vessel.as_str()).map_or(Volume::ZERO, Vessel::volume);
        let wine = holds.saturating_sub(treated.solution);
        DoneTo::Treated { material, batch, amount: treated.amount, solution: treated.solution, wine }
    }

    /// What lies in a vessel now, or lay there last.
    fn portion(&self, vessel: &Label) -> Option<Portion> {
        let vessel = self.state.vessels.find(vessel.as_str())?;
        Some((self.fill_of(vessel), self.so_far()))
    }

    fn wine_in(&self, vessel: &Label) -> Portions {
        self.portion(vessel).into_iter().collect()
    }

    /// What lies in a vessel now, else what comes into it next.
    fn wine_to_be_in(&self, vessel: &Label) -> Option<Portions> {
        let vessel = self.state.vessels.find(vessel.as_str())?;
        Some(smallvec![(self.fill_next(vessel), self.so_far())])
    }

    /// What is of a lot now.
    fn wine_of(&self, lot: &Label) -> Option<Portions> {
        let lot: LotId = self.state.lots.find(lot.as_str())?;
        Some(self.fills_now(lot).into_iter().map(|fill| (fill, self.so_far())).collect())
    }
}
