//! Recall: from the bottles of a run back to all that their wine met, and from a vessel, a lot or a material forward to
//! every bottle.

use rustc_hash::FxHashMap;

use super::done::{Done, DoneTo, Portion};
use super::names::Name;
use super::{Back, Fill, Filled, Happened, Receipt, Since, Tracer};
use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::core::state::RunId;
use crate::cellar::core::wine::Wine;
use crate::cellar::jobs::bottles::bottling::run::{OfCode, Stretch};
use crate::units::Volume;

/// Wine of a fill as it was before something happened: what came in later is none of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Root {
    /// The fill.
    pub fill: Fill,
    /// How much had happened then.
    pub(super) before: usize,
}

/// A way back through what happened.
pub(super) struct Walk {
    /// What happened on it, first things first.
    pub way: Vec<usize>,
    /// Every fill on it, and before what its wine counts.
    pub until: FxHashMap<Fill, usize>,
}

/// All that the wine of some bottles of a run met.
#[derive(Clone, Debug, Default)]
pub struct Past<'a> {
    /// The stretches that filled them.
    pub stretches: Vec<&'a Stretch>,
    /// What is in them all.
    pub wine: Wine,
    /// What flowed, and what came into the book.
    pub back: Back,
    /// Every fill that its wine lay in, those that were bottled too.
    pub fills: Vec<Fill>,
    /// What was done to it, in the order of entering.
    pub done: Vec<&'a Done>,
    /// Who entered something of all this, with how many facts, the most first.
    pub people: Vec<(&'a Label, u32)>,
}

/// What was used at the line, and the lot code that it went under.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct AtTheLine<'a> {
    /// What: a closure too.
    pub material: &'a Label,
    /// The maker's mark of the batch.
    pub batch: Option<&'a Label>,
    /// What stands on the bottles.
    pub lot_code: &'a Label,
}

impl<'a> Past<'a> {
    /// How many bottles there are.
    #[must_use]
    pub fn bottles(&self) -> u64 {
        self.stretches.iter().map(|stretch| u64::from(stretch.bottles)).sum()
    }

    /// Their lot codes, each once, in the order of filling.
    #[must_use]
    pub fn codes(&self) -> Vec<Label> {
        codes_of(self.stretches.iter().copied())
    }

    /// What was used at the line, each with its lot code, once.
    #[must_use]
    pub fn at_the_line(&self) -> Vec<AtTheLine<'a>> {
        let mut used: Vec<AtTheLine<'a>> = Vec::new();
        for stretch in &self.stretches {
            let closure = stretch.closure.iter().map(|its| (its, None));
            let materials = stretch.materials.iter().map(|its| (&its.material, its.batch.as_ref()));
            for (material, batch) in closure.chain(materials) {
                let its = AtTheLine { material, batch, lot_code: &stretch.lot_code };
                if !used.contains(&its) {
                    used.push(its);
                }
            }
        }
        used
    }
}

/// The lot codes of some stretches, each once.
fn codes_of<'a>(stretches: impl Iterator<Item = &'a Stretch>) -> Vec<Label> {
    let mut codes: Vec<Label> = Vec::new();
    for stretch in stretches {
        if !codes.contains(&stretch.lot_code) {
            codes.push(stretch.lot_code.clone());
        }
    }
    codes
}

/// Bottles of one lot code that wine reached, and where all bottles of that code are.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReachedCode {
    /// The run.
    pub run: RunId,
    /// The lot code.
    pub code: Label,
    /// How many bottles the wine went into.
    pub bottles: u64,
    /// What is in them.
    pub volume: Volume,
    /// Where the bottles of that code are.
    pub stands: OfCode,
}

/// A run that wine reached, by some of its stretches.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reached {
    /// The run.
    pub run: RunId,
    /// Which of its stretches.
    pub stretches: Vec<usize>,
}

impl Tracer {
    /// The run that a fact fills, and from what.
    pub(super) fn bottled_from<'a>(&self, what: &'a What) -> Option<(&'a Label, Fill)> {
        let What::Bottled(bottled) = what else { return None };
        let vessel = self.state.vessels.find(bottled.vessel.as_str())?;
        Some((&bottled.run, self.fill_of(vessel)))
    }

    /// The stretch that was added last to a run.
    pub(super) fn filled(&self, run: &Label, from: Fill) -> Option<Filled> {
        let run = self.state.runs.find(run.as_str())?;
        let stretch = self.state.runs.get(run).stretches.len().checked_sub(1)?;
        Some(Filled { from, run, stretch })
    }

    /// All that the wine of a run met, or that of its bottles with one lot code.
    #[must_use]
    pub fn past_of_run(&self, run: RunId, code: Option<&str>) -> Past<'_> {
        let stretches = &self.state.runs.get(run).stretches;
        let is_meant = |stretch: usize| code.is_none_or(|code| stretches[stretch].lot_code.as_str() == code);
        let filled: Vec<(usize, Filled)> = self
            .happened
            .iter()
            .enumerate()
            .filter_map(|(index, happened)| match happened {
                Happened::Bottled(filled) if filled.run == run && is_meant(filled.stretch) => Some((index, *filled)),
                _ => None,
            })
            .collect();
        let roots: Vec<Root> =
            filled.iter().map(|(index, filled)| Root { fill: filled.from, before: *index }).collect();
        let walk = self.walk_back(&roots);
        // A test of a sample may come long after the wine has left: what counts is when it was drawn.
        let met = |&(fill, at): &Portion| walk.until.get(&fill).is_some_and(|&until| at as usize <= until);
        let done: Vec<&Done> = self.done.iter().filter(|done| done.wine.iter().any(met)).collect();
        let happened = walk.way.iter().copied().chain(filled.iter().map(|(index, _)| *index));
        let hands = happened.filter_map(|index| self.hands[index]).chain(done.iter().filter_map(|done| done.hand));
        let mut fills: Vec<Fill> = walk.until.keys().copied().collect();
        fills.sort_unstable();
        let meant = stretches.iter().enumerate().filter(|(stretch, _)| is_meant(*stretch));
        let stretches: Vec<&Stretch> = meant.map(|(_, stretch)| stretch).collect();
        let mut wine = Wine::default();
        for stretch in &stretches {
            wine.mix(&stretch.wine);
        }
        Past { stretches, wine, people: self.counted(hands), back: self.gather_back(&walk.way), fills, done }
    }

    /// Every addition to the wine that lies in some fills now, here or before it came here, in the order of the facts.
    #[must_use]
    pub fn additions_of(&self, fills: &[Fill]) -> Vec<&Done> {
        let roots: Vec<Root> = fills.iter().map(|&fill| Root { fill, before: self.happened.len() }).collect();
        let walk = self.walk_back(&roots);
        let met = |&(fill, at): &Portion| walk.until.get(&fill).is_some_and(|&until| at as usize <= until);
        let is_meant = |done: &&Done| matches!(done.to, DoneTo::Treated { .. }) && done.wine.iter().any(met);
        self.done.iter().filter(is_meant).collect()
    }

    fn counted(&self, hands: impl Iterator<Item = Name>) -> Vec<(&Label, u32)> {
        let mut facts: FxHashMap<Name, u32> = FxHashMap::default();
        hands.for_each(|hand| *facts.entry(hand).or_default() += 1);
        let mut people: Vec<(&Label, u32)> =
            facts.into_iter().map(|(hand, facts)| (self.people.name(hand), facts)).collect();
        people.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(b.0)));
        people
    }

    /// The runs into whose bottles wine went since it counts, directly or through other fills, in the order of filling.
    #[must_use]
    pub fn bottled_of(&self, fills: &[Since]) -> Vec<Reached> {
        let filled = |index: usize| match self.happened[index] {
            Happened::Bottled(filled) => Some((filled.run, filled.stretch)),
            Happened::Flowed(_) | Happened::Received(_) | Happened::Left(_) => None,
        };
        gather_runs(self.walk_forward(fills).into_iter().filter_map(filled))
    }

    /// The wine that a material, or a batch of one, was added to, since then. What was used at the line is told by
    /// [`Tracer::bottled_with`].
    #[must_use]
    pub fn treated_with(&self, label: &str) -> Vec<(Since, &Done)> {
        let is_meant = |done: &&Done| match &done.to {
            DoneTo::Treated { material, batch, .. } => {
                std::iter::once(material).chain(batch).any(|&name| self.called(name).as_str() == label)
            }
            _ => false,
        };
        let since = |&(fill, happened): &Portion| Since { fill, happened: happened as usize };
        let treated = self.done.iter().filter(is_meant);
        treated.flat_map(|done| done.wine.iter().map(move |portion| (since(portion), done))).collect()
    }

    /// The runs at whose line a material, or a batch of one, was used.
    #[must_use]
    pub fn bottled_with(&self, material: &str) -> Vec<Reached> {
        let runs = self.state.runs.iter().flat_map(|(id, run)| {
            let used = run.stretches.iter().enumerate().filter(|(_, stretch)| {
                let closure = stretch.closure.as_ref();
                let materials = stretch.materials.iter().flat_map(|its| [Some(&its.material), its.batch.as_ref()]);
                materials.chain([closure]).flatten().any(|label| label.as_str() == material)
            });
            used.map(move |(stretch, _)| (id, stretch)).collect::<Vec<_>>()
        });
        gather_runs(runs)
    }

    /// The wine that grew in a block, each part since it came into the book.
    #[must_use]
    pub fn grown_in(&self, block: &str) -> Vec<(Since, &Receipt)> {
        let happened = self.happened.iter().enumerate();
        let grown = happened.filter_map(|(index, happened)| match happened {
            Happened::Received(receipt) => Some((Since { fill: receipt.into, happened: index }, receipt)),
            Happened::Flowed(_) | Happened::Bottled(_) | Happened::Left(_) => None,
        });
        grown.filter(|(_, receipt)| self.state.origins.get(receipt.origin).0.block.as_str() == block).collect()
    }

    /// Every bottle of a material, or of a batch of one: of wine that it was added to, and those at whose line it was used.
    #[must_use]
    pub fn bottles_with(&self, label: &str) -> Vec<Reached> {
        let treated: Vec<Since> = self.treated_with(label).iter().map(|(since, _)| *since).collect();
        let reached = self.bottled_of(&treated).into_iter().chain(self.bottled_with(label));
        gather_runs(reached.flat_map(|its| its.stretches.into_iter().map(move |stretch| (its.run, stretch))))
    }

    /// What materials and batches there are, added to wine or used at the line; a closure is one.
    #[must_use]
    pub fn all_materials(&self) -> Vec<&Label> {
        let stretches = self.state.runs.iter().flat_map(|(_, run)| run.stretches.iter());
        let at_the_line = stretches.flat_map(|stretch| {
            let used = stretch.materials.iter().flat_map(|its| [Some(&its.material), its.batch.as_ref()]);
            used.chain([stretch.closure.as_ref()]).flatten()
        });
        let mut all: Vec<&Label> = self.materials.all().chain(at_the_line).collect();
        all.sort_unstable();
        all.dedup();
        all
    }

    /// What was reached, by lot code in the order of filling.
    #[must_use]
    pub fn by_code(&self, reached: &[Reached]) -> Vec<ReachedCode> {
        reached.iter().flat_map(|reached| self.codes_of(reached)).collect()
    }

    fn codes_of(&self, reached: &Reached) -> Vec<ReachedCode> {
        let run = self.state.runs.get(reached.run);
        let of_run = run.by_code().into_iter();
        let of_code = |stands: OfCode| {
            let code = stands.lot_code.clone()?;
            let is_of_it = |&&stretch: &&usize| run.stretches[stretch].lot_code == code;
            let stretches: Vec<usize> = reached.stretches.iter().filter(is_of_it).copied().collect();
            let (bottles, volume) = self.bottles_of(&Reached { run: reached.run, stretches });
            (bottles > 0).then_some(ReachedCode { run: reached.run, code, bottles, volume, stands })
        };
        of_run.filter_map(of_code).collect()
    }

    /// The lot codes of what was reached of a run, each once.
    #[must_use]
    pub fn codes_reached(&self, reached: &Reached) -> Vec<Label> {
        let run = self.state.runs.get(reached.run);
        codes_of(reached.stretches.iter().map(|&stretch| &run.stretches[stretch]))
    }

    /// How many bottles some stretches of a run filled, and what is in them.
    #[must_use]
    pub fn bottles_of(&self, reached: &Reached) -> (u64, Volume) {
        let run = self.state.runs.get(reached.run);
        let stretches = reached.stretches.iter().map(|&stretch| &run.stretches[stretch]);
        stretches.fold((0, Volume::ZERO), |(bottles, volume), its| {
            (bottles + u64::from(its.bottles), volume + its.wine.volume())
        })
    }
}

/// Stretches by their run, each once.
pub(super) fn gather_runs(filled: impl Iterator<Item = (RunId, usize)>) -> Vec<Reached> {
    let mut gathered: Vec<Reached> = Vec::new();
    for (run, stretch) in filled {
        match gathered.iter_mut().find(|reached| reached.run == run) {
            Some(reached) if reached.stretches.contains(&stretch) => {}
            Some(reached) => reached.stretches.push(stretch),
            None => gathered.push(Reached { run, stretches: vec![stretch] }),
        }
    }
    gathered
}
