//! The barrel mix: what the barrels of a lot are like, each kind as a share of the litres in them.

use std::cmp::Reverse;
use std::fmt;

use crate::cellar::core::label::Label;
use crate::cellar::core::state::Vessel;
use crate::units::{Volume, apportion, counted};

/// A share of the whole is shown in tenths of a percent.
const WHOLE: u64 = 1_000;

/// By what barrels are told apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Quality {
    /// The forest its oak grew in.
    Forest,
    /// Who made it.
    Cooper,
    /// How long the fire was.
    Toast,
    /// Months that the staves dried outdoors.
    Seasoning,
    /// How close the rings stand.
    Grain,
    /// Which fill of the wood it is, new wood the first.
    Fill,
    /// Its shape.
    Shape,
}

impl Quality {
    /// All of them, in the order in which they are shown.
    pub const ALL: [Quality; 7] = [
        Quality::Forest,
        Quality::Cooper,
        Quality::Toast,
        Quality::Seasoning,
        Quality::Grain,
        Quality::Fill,
        Quality::Shape,
    ];

    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Quality::Forest => "forest",
            Quality::Cooper => "cooper",
            Quality::Toast => "toast",
            Quality::Seasoning => "seasoning",
            Quality::Grain => "grain",
            Quality::Fill => "fill",
            Quality::Shape => "shape",
        }
    }

    /// What a barrel is by it; none where that is not known.
    fn of(self, barrel: &Vessel) -> Option<Kind> {
        let wood = &barrel.wood;
        let named = |label: &Option<Label>| label.clone().map(Kind::Named);
        match self {
            Quality::Forest => named(&wood.forest),
            Quality::Cooper => named(&wood.cooper),
            Quality::Toast => named(&wood.toast),
            Quality::Seasoning => wood.seasoning_months.map(Kind::Months),
            Quality::Grain => named(&wood.grain),
            Quality::Fill => Some(Kind::Fill(barrel.fills)),
            Quality::Shape => named(&wood.shape),
        }
    }
}

/// A kind of barrel by one quality.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// A word.
    Named(Label),
    /// Months of seasoning.
    Months(u32),
    /// Which fill, from 1.
    Fill(u32),
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Kind::Named(label) => write!(f, "{label}"),
            Kind::Months(months) => write!(f, "{}", counted(*months, "month")),
            Kind::Fill(1) => write!(f, "new"),
            Kind::Fill(2) => write!(f, "second"),
            Kind::Fill(3) => write!(f, "third"),
            Kind::Fill(fill) => write!(f, "fill {fill}"),
        }
    }
}

/// So much wine in barrels of one kind.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MixPart {
    /// The kind; none where it is not known.
    pub kind: Option<Kind>,
    /// The litres in them.
    pub volume: Volume,
    /// How many there are.
    pub barrels: usize,
}

/// What the barrels of a lot are like. By every quality the parts sum to the whole.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct BarrelMix {
    /// The wine in barrels.
    pub whole: Volume,
    /// Of it the wine in new wood.
    pub new_wood: Volume,
    parts: [Vec<MixPart>; Quality::ALL.len()],
}

impl BarrelMix {
    /// The parts by a quality, the largest first, equal ones by kind.
    #[must_use]
    pub fn by(&self, quality: Quality) -> &[MixPart] {
        &self.parts[quality as usize]
    }

    /// Whether anything is known of a quality.
    #[must_use]
    pub fn knows(&self, quality: Quality) -> bool {
        self.by(quality).iter().any(|part| part.kind.is_some())
    }

    /// The shares by a quality in thousandths, which sum to a thousand exactly; all nothing where there is no wine.
    #[must_use]
    pub fn thousandths(&self, quality: Quality) -> Vec<u64> {
        let volumes: Vec<u64> = self.by(quality).iter().map(|part| part.volume.as_ul()).collect();
        apportion(WHOLE, &volumes).unwrap_or_else(|| vec![0; volumes.len()])
    }

    /// What part of the wine in barrels lies in new wood, from 0 to 1; none where there is none.
    #[must_use]
    pub fn new_wood_share(&self) -> Option<f64> {
        (!self.whole.is_zero()).then(|| self.new_wood.as_litres() / self.whole.as_litres())
    }

    /// The share of new wood in thousandths, the same as among the fills; none where there is no wine in barrels.
    #[must_use]
    pub fn new_wood_thousandths(&self) -> Option<u64> {
        let fills = self.by(Quality::Fill).iter().zip(self.thousandths(Quality::Fill));
        let new: u64 = fills.filter(|(part, _)| part.kind == Some(Kind::Fill(1))).map(|(_, share)| share).sum();
        (!self.whole.is_zero()).then_some(new)
    }

    pub(super) fn add(&mut self, barrel: &Vessel) {
        let volume = barrel.volume();
        self.whole += volume;
        if barrel.is_first_fill() {
            self.new_wood += volume;
        }
        for quality in Quality::ALL {
            let kind = quality.of(barrel);
            let parts = &mut self.parts[quality as usize];
            // A lot has a handful of kinds, so that looking through them is quicker than any tree.
            match parts.iter_mut().find(|part| part.kind == kind) {
                Some(part) => {
                    part.volume += volume;
                    part.barrels += 1;
                }
                None => parts.push(MixPart { kind, volume, barrels: 1 }),
            }
        }
    }

    pub(super) fn sort(&mut self) {
        for parts in &mut self.parts {
            parts.sort_by(|a, b| (Reverse(a.volume), &a.kind).cmp(&(Reverse(b.volume), &b.kind)));
        }
    }
}
