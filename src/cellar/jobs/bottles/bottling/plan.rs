//! The plan of a bottling: what a vessel gives in bottles, what is to be there for them, and what stands in the way.

use chrono::Datelike;

use super::refusal::RunRefusal;
use super::size;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{LotId, State, VesselId};
use crate::reckon::bottling::{Count, DryGoods, Packing, count};
use crate::units::{Volume, counted, poured};

/// What is asked of a plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BottlingAsked {
    /// How much is bottled; all that is there where it is not said.
    pub litres: Option<Volume>,
    /// What a bottle holds.
    pub bottle: Volume,
    /// What is expected to be lost, in millionths of the wine.
    pub loss: u32,
    /// How bottles are packed.
    pub packing: Packing,
}

impl BottlingAsked {
    /// All that is there into 750 mL, of which a hundredth is lost at start, filter and end (common practice).
    pub const USUAL: BottlingAsked =
        BottlingAsked { litres: None, bottle: Volume::from_ml(750), loss: 10_000, packing: Packing::USUAL };
}

/// What a vessel gives in bottles.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BottlingPlan {
    /// Which vessel.
    pub vessel: VesselId,
    /// The lot in it.
    pub lot: Option<LotId>,
    /// What was asked.
    pub asked: BottlingAsked,
    /// What it holds by the book.
    pub holds: Volume,
    /// What is bottled of that.
    pub volume: Volume,
    /// The bottles.
    pub count: Count,
    /// What is to be there for them.
    pub goods: DryGoods,
}

/// What is to be there for a bottling beside the wine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DryGood {
    /// The bottles themselves.
    Bottles,
    /// What closes them.
    Closures,
    /// What covers the closure.
    Capsules,
    /// The label of the brand.
    FrontLabels,
    /// The label of what the law asks for.
    BackLabels,
    /// What the bottles are packed in.
    Cartons,
    /// What the cartons stand on.
    Pallets,
}

impl DryGood {
    /// What it is called, of one.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            DryGood::Bottles => "empty bottle",
            DryGood::Closures => "closure",
            DryGood::Capsules => "capsule",
            DryGood::FrontLabels => "front label",
            DryGood::BackLabels => "back label",
            DryGood::Cartons => "carton",
            DryGood::Pallets => "pallet",
        }
    }
}

impl BottlingPlan {
    /// Bottles, cases and pallets, in a line.
    #[must_use]
    pub fn bottles_words(&self) -> String {
        let (goods, packing) = (self.goods, self.asked.packing);
        let odd = match goods.odd_bottles {
            0 => String::new(),
            odd => format!(" and {}", counted(odd, "bottle")),
        };
        format!(
            "{} of {}: {} of {}{odd}, {}",
            counted(self.count.bottles, "bottle"),
            size(self.asked.bottle),
            counted(goods.full_cases, "case"),
            packing.case,
            counted(goods.pallets, "pallet")
        )
    }

    /// What is expected to be lost, and what fills no bottle.
    #[must_use]
    pub fn loss_words(&self) -> String {
        let left =
            if self.count.left.is_zero() { String::new() } else { format!(", {} left", poured(self.count.left)) };
        format!("{} expected to be lost{left}", poured(self.count.loss))
    }

    /// What is to be there, each with how many.
    #[must_use]
    pub fn dry_goods(&self) -> [(DryGood, u64); 7] {
        let each = self.goods.of_each;
        [
            (DryGood::Bottles, each),
            (DryGood::Closures, each),
            (DryGood::Capsules, each),
            (DryGood::FrontLabels, each),
            (DryGood::BackLabels, each),
            (DryGood::Cartons, self.goods.cartons),
            (DryGood::Pallets, self.goods.pallets),
        ]
    }
}

impl State {
    /// Plans the bottling of a vessel. Refused for one that is empty, for more than it holds, and for a bottle or a case of
    /// nothing.
    pub fn plan_bottling(&self, id: VesselId, asked: BottlingAsked) -> Result<BottlingPlan, Refusal> {
        let vessel = self.vessels.get(id);
        if vessel.wine.is_empty() {
            return Err(Refusal::SourceEmpty(vessel.label.clone()));
        }
        let (holds, label) = (vessel.volume(), || vessel.label.clone());
        let volume = asked.litres.unwrap_or(holds);
        if volume > holds {
            return Err(RunRefusal::MoreThanHeld { vessel: label(), holds, wanted: volume }.into());
        }
        let count = count(volume, asked.bottle, asked.loss).ok_or(RunRefusal::BottleOfNothing)?;
        let goods = DryGoods::of(count.bottles, asked.packing).ok_or(RunRefusal::CaseOfNothing)?;
        Ok(BottlingPlan { vessel: id, lot: vessel.lot, asked, holds, volume, count, goods })
    }

    /// What stands in the way of bottling a vessel: that it is held, then what is open on its lot's checklist, a sentence each.
    #[must_use]
    pub fn in_the_way_of_bottling(&self, id: VesselId) -> Vec<String> {
        let held = self.held_by_checklist(id).map(|refusal| refusal.to_string());
        let warned = self.warned_by_checklist(id).map(|question| question.to_string());
        self.hold_of_bottling(id).into_iter().chain(held).chain(warned).collect()
    }

    /// That a vessel is held, if it is, in a sentence for whoever would bottle it.
    #[must_use]
    pub fn hold_of_bottling(&self, id: VesselId) -> Option<String> {
        let why = self.vessels.get(id).held.as_ref()?.why.as_str();
        let stop = if why.ends_with(['.', '!', '?']) { "" } else { "." };
        Some(format!("It is held: {why}{stop} Free it before it is bottled."))
    }

    /// A label for a run of a lot that begins now. None where a thousand are taken.
    #[must_use]
    pub fn new_run_label(&self, lot: &str, at: Moment) -> Option<Label> {
        Label::dated(lot, at, |label| self.runs.find(label).is_some())
    }

    /// A lot code for bottles that are filled now and stands on none: `L` and the year and day of the year, as many houses
    /// write it (common practice; directive 2011/91/EU asks for the letter where the code could be taken for another). None
    /// where a thousand are taken.
    #[must_use]
    pub fn new_lot_code(&self, at: Moment) -> Option<Label> {
        let (year, day) = (at.date().year().rem_euclid(100), at.date().ordinal());
        (1..1_000).find_map(|number| {
            let more = if number == 1 { String::new() } else { format!("-{number}") };
            let code = Label::new(&format!("L{year:02}{day:03}{more}")).ok()?;
            self.runs_of_code(code.as_str()).is_empty().then_some(code)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lot_code_is_of_the_day() {
        let at = Moment::parse("2027-03-01T07:00:00+01:00").unwrap();
        assert_eq!(State::default().new_lot_code(at), Label::new("L27060").ok());
    }
}
