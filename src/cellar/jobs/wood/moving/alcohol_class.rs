//! Wine that comes to other wine may carry it across a limit of alcohol: in the United States it is of another class or tax
//! then.

use crate::cellar::core::question::Question;
use crate::cellar::core::state::{State, VesselId};
use crate::cellar::jobs::tests::testing::Analyte;
use crate::reckon::bottling::bound_between;
use crate::reckon::label_share::Rules;
use crate::units::Volume;

impl State {
    /// What is asked where some litres of one vessel would bring the wine of another across a limit of class or tax; nothing
    /// where the house is not held to the rules of the United States, or the alcohol of one of the two is not known. Alcohol
    /// mixes by volume, to within some hundredths of a percent.
    pub(super) fn asks_of_class(&self, from: VesselId, into: VesselId, volume: Volume) -> Option<Question> {
        let target = self.vessels.get(into);
        if target.wine.is_empty() || volume.is_zero() || !self.practice.sides().contains(&Rules::Us) {
            return None;
        }
        let coming = self.known_of(from, Analyte::Alcohol)?;
        let before = self.known_of(into, Analyte::Alcohol)?;
        let (there, comes) = (target.volume().as_litres(), volume.as_litres());
        let after = (before * there + coming * comes) / (there + comes);
        let bound = bound_between(before, after)?;
        Some(Question::OtherClass { into: target.label.clone(), before, after, says: bound.says })
    }
}
