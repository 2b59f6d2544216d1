//! A bottling run: what was filled, and where its bottles are.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::bottle_tasting::BottleTaste;
use super::drawing::Whence;
use super::refusal::RunRefusal;
use crate::cellar::core::day::Day;
use crate::cellar::core::fact::FactId;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{LotId, RunId, State, VesselId};
use crate::cellar::core::table::Labelled;
use crate::cellar::core::wine::Wine;
use crate::units::{Volume, counted};

/// A bottling run. Of its bottles, what a count `found` and what is `beyond` the book, each is in stock or out:
/// `bottles + found + beyond = loose + lying + out`, of all and of each lot code.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Run {
    /// Its label.
    pub label: Label,
    /// What a bottle holds, as the first stretch says.
    pub bottle: Volume,
    /// The stretches in which it was filled, in their order.
    pub stretches: Arc<Vec<Stretch>>,
    /// Bottles that are in the house.
    pub stock: Vec<Stock>,
    /// Bottles that are out.
    pub out: Arc<Vec<Out>>,
    /// What bottles tasted like that were opened, in the order of tasting.
    pub tastes: Arc<Vec<BottleTaste>>,
    /// Bottles that a count found though the book knew of none.
    pub found: u64,
    /// Bottles that were laid away or went out though the book knew of none.
    pub beyond: u64,
    /// Bottles that were taken without a word of their lot code, while several codes lay there: the code filled first is
    /// taken to be meant.
    pub assumed: u64,
}

/// Bottles that were filled without a stop from one vessel.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Stretch {
    /// The fact that says so.
    pub fact: FactId,
    /// When it ended.
    pub at: Moment,
    /// How long it took.
    pub minutes: Option<u32>,
    /// From which vessel.
    pub vessel: VesselId,
    /// Which of the vessel's fills.
    pub fill: u32,
    /// The lot that it held.
    pub lot: Option<LotId>,
    /// How many bottles.
    pub bottles: u32,
    /// What each holds.
    pub bottle: Volume,
    /// What is in them.
    pub wine: Wine,
    /// What was lost, with what the vessel was found to lack when it was empty.
    pub loss: Volume,
    /// What stands on the bottles.
    pub lot_code: Label,
    /// What closes them.
    pub closure: Option<Label>,
    /// What was measured in single bottles.
    pub fills: Vec<Volume>,
    /// Oxygen dissolved in the wine in the bottle.
    pub oxygen_mg_l: Option<f64>,
    /// Glass, closures, labels and what else was used.
    pub materials: Vec<Material>,
}

/// Something that was used at the line.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Material {
    /// What it is.
    pub material: Label,
    /// The maker's mark of the batch.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub batch: Option<Label>,
}

/// Bottles of one lot code at one place for one release.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Stock {
    /// Where; none while they are not laid away.
    pub place: Option<Label>,
    /// What stands on them; none of those of which the book knows nothing.
    pub lot_code: Option<Label>,
    /// From when on they may go, where that is set.
    pub release: Option<Day>,
    /// Since when the first of them lie there.
    pub since: Moment,
    /// How many.
    pub there: u64,
}

/// Bottles that went out.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Out {
    /// When.
    pub at: Moment,
    /// How many.
    pub bottles: u64,
    /// Why.
    pub why: Text,
    /// To whom.
    pub to: Option<Text>,
    /// From where, where that is said.
    pub from: Option<Label>,
    /// How many of each lot code.
    pub by_code: Vec<(Option<Label>, u64)>,
}

/// Where the bottles of one lot code are.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OfCode {
    /// The code; none for bottles of which the book knows nothing.
    pub lot_code: Option<Label>,
    /// How many were filled.
    pub filled: u64,
    /// How many are not laid away.
    pub loose: u64,
    /// How many lie where they were laid away.
    pub lying: u64,
    /// How many are out.
    pub out: u64,
}

impl OfCode {
    /// How many are still in the house.
    #[must_use]
    pub const fn left(&self) -> u64 {
        self.loose + self.lying
    }
}

/// Bottles that went out for one cause to one receiver.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OutForCause<'a> {
    /// Why.
    pub why: &'a Text,
    /// To whom.
    pub to: Option<&'a Text>,
    /// How many.
    pub bottles: u64,
    /// When the first went.
    pub first: Moment,
    /// When the last went.
    pub last: Moment,
}

impl Material {
    /// What it is and of which batch: `cork C77`.
    #[must_use]
    pub fn words(&self) -> String {
        match &self.batch {
            Some(batch) => format!("{} {batch}", self.material),
            None => self.material.to_string(),
        }
    }
}

impl Stretch {
    /// How many bottles an hour were filled, to the nearest; none where it is not said how long it took.
    #[must_use]
    pub fn bottles_an_hour(&self) -> Option<u64> {
        let minutes = u64::from(self.minutes.filter(|&minutes| minutes > 0)?);
        Some((u64::from(self.bottles) * 60 + minutes / 2) / minutes)
    }
}

impl Labelled for Run {
    fn label(&self) -> &Label {
        &self.label
    }
}

impl Run {
    /// A run of no bottles yet.
    pub(super) fn begun(label: Label, bottle: Volume) -> Run {
        let (stretches, stock, out, tastes) = (Arc::default(), Vec::new(), Arc::default(), Arc::default());
        Run { label, bottle, stretches, stock, out, tastes, found: 0, beyond: 0, assumed: 0 }
    }

    /// How many bottles were filled.
    #[must_use]
    pub fn bottles(&self) -> u64 {
        self.stretches.iter().map(|stretch| u64::from(stretch.bottles)).sum()
    }

    /// How many are not laid away yet.
    #[must_use]
    pub fn loose(&self) -> u64 {
        self.there(Whence::Line, None)
    }

    /// What was laid away, by place, lot code and release.
    pub fn laid(&self) -> impl Iterator<Item = (&Label, &Stock)> {
        self.stock.iter().filter_map(|stock| Some((stock.place.as_ref()?, stock)))
    }

    /// How many lie where they were laid away.
    #[must_use]
    pub fn lying(&self) -> u64 {
        self.laid().map(|(_, stock)| stock.there).sum()
    }

    /// How many are out.
    #[must_use]
    pub fn gone(&self) -> u64 {
        self.out.iter().map(|out| out.bottles).sum()
    }

    /// How many are still in the house.
    #[must_use]
    pub fn left(&self) -> u64 {
        self.there(Whence::Anywhere, None)
    }

    /// Where its bottles are, by lot code in the order of filling; last those of which no code is known.
    #[must_use]
    pub fn by_code(&self) -> Vec<OfCode> {
        let count = |code: Option<&Label>| {
            let of_it = || self.stock.iter().filter(move |stock| stock.lot_code.as_ref() == code);
            let filled = self.stretches.iter().filter(|its| Some(&its.lot_code) == code);
            let out = self.out.iter().flat_map(|out| &out.by_code).filter(|(its, _)| its.as_ref() == code);
            OfCode {
                lot_code: code.cloned(),
                filled: filled.map(|stretch| u64::from(stretch.bottles)).sum(),
                loose: of_it().filter(|stock| stock.place.is_none()).map(|stock| stock.there).sum(),
                lying: of_it().filter(|stock| stock.place.is_some()).map(|stock| stock.there).sum(),
                out: out.map(|(_, bottles)| bottles).sum(),
            }
        };
        let said = self.stock.iter().map(|stock| stock.lot_code.as_ref());
        let out = self.out.iter().flat_map(|out| &out.by_code).map(|(code, _)| code.as_ref());
        // What came in with a code that no bottle was filled under stands behind those that were.
        let codes = each_once(self.lot_codes().into_iter().chain(said.chain(out).flatten()));
        let unknown = Some(count(None)).filter(|none| none.left() + none.out > 0);
        codes.into_iter().map(|code| count(Some(code))).chain(unknown).collect()
    }

    /// What is in all bottles together: a bottle holds each part divided by their number.
    #[must_use]
    pub fn wine(&self) -> Wine {
        let mut wine = Wine::default();
        for stretch in self.stretches.iter() {
            wine.mix(&stretch.wine);
        }
        wine
    }

    /// What was lost at bottling.
    #[must_use]
    pub fn loss(&self) -> Volume {
        self.stretches.iter().map(|stretch| stretch.loss).sum()
    }

    /// The lots that it was filled from, each once, in the order in which they came.
    #[must_use]
    pub fn lots(&self) -> Vec<LotId> {
        each_once(self.stretches.iter().filter_map(|stretch| stretch.lot))
    }

    /// The vessels that it was filled from, each once.
    #[must_use]
    pub fn vessels(&self) -> Vec<VesselId> {
        each_once(self.stretches.iter().map(|stretch| stretch.vessel))
    }

    /// The lot codes on its bottles, each once.
    #[must_use]
    pub fn lot_codes(&self) -> Vec<&Label> {
        each_once(self.stretches.iter().map(|stretch| &stretch.lot_code))
    }

    /// When its first stretch ended and when its last did.
    #[must_use]
    pub fn ended(&self) -> Option<(Moment, Moment)> {
        Some((self.stretches.first()?.at, self.stretches.last()?.at))
    }

    /// What was measured in single bottles, over all stretches.
    #[must_use]
    pub fn fills(&self) -> Vec<Volume> {
        self.stretches.iter().flat_map(|stretch| stretch.fills.iter().copied()).collect()
    }

    /// Bottles that lie where they were laid away and may go from a day of a month on that is not over.
    #[must_use]
    pub fn ready_in_month_of(&self, today: Day) -> u64 {
        let is_ready = |stock: &Stock| stock.readiness(today).is_ready_this_month();
        self.laid().filter(|(_, stock)| is_ready(stock)).map(|(_, stock)| stock.there).sum()
    }

    /// The place of a lot code in the order of filling; what is not known comes last.
    pub(in crate::cellar) fn rank(&self, code: Option<&Label>) -> usize {
        let known = code.and_then(|code| self.stretches.iter().position(|its| its.lot_code == *code));
        known.unwrap_or(usize::MAX)
    }

    /// Where every bottle is, in one line.
    #[must_use]
    pub fn bottles_words(&self) -> String {
        let beyond = match self.beyond {
            0 => String::new(),
            beyond => format!("; {beyond} more were laid away or went out than were filled: check the counts"),
        };
        let found = match self.found {
            0 => String::new(),
            found => format!("; {found} of them were found at counts"),
        };
        let (all, laid, out, loose) =
            (self.bottles() + self.found + self.beyond, self.lying(), self.gone(), self.loose());
        format!("{} = {laid} laid away + {out} out + {loose} not laid away yet{found}{beyond}.", counted(all, "bottle"))
    }

    /// Where every litre is, in one line.
    #[must_use]
    pub fn litres_words(&self) -> String {
        let (filled, lost) = (self.wine().volume(), self.loss());
        format!("{} drawn = {filled} in bottles + {lost} lost.", filled + lost)
    }

    /// What went out, by cause and receiver, in the order in which they came first.
    #[must_use]
    pub fn out_by_cause(&self) -> Vec<OutForCause<'_>> {
        let mut causes: Vec<OutForCause<'_>> = Vec::new();
        for out in self.out.iter() {
            match causes.iter_mut().find(|cause| (cause.why, cause.to) == (&out.why, out.to.as_ref())) {
                Some(cause) => {
                    cause.bottles += out.bottles;
                    cause.last = out.at;
                }
                None => causes.push(OutForCause {
                    why: &out.why,
                    to: out.to.as_ref(),
                    bottles: out.bottles,
                    first: out.at,
                    last: out.at,
                }),
            }
        }
        causes
    }

    /// Puts bottles where they lie from now on.
    pub(super) fn put(&mut self, stock: Stock) {
        let like = |its: &&mut Stock| {
            (&its.place, &its.lot_code, its.release) == (&stock.place, &stock.lot_code, stock.release)
        };
        match self.stock.iter_mut().find(like) {
            Some(known) => known.there += stock.there,
            None if stock.there > 0 => self.stock.push(stock),
            None => {}
        }
    }
}

impl State {
    /// The run of a label.
    pub fn run(&self, label: &Label) -> Result<RunId, Refusal> {
        self.runs.find(label.as_str()).ok_or_else(|| RunRefusal::Unknown(label.clone()).into())
    }

    /// The runs on whose bottles a lot code stands: one, unless a log says what must not be.
    #[must_use]
    pub fn runs_of_code(&self, code: &str) -> Vec<RunId> {
        let has = |run: &Run| run.stretches.iter().any(|stretch| stretch.lot_code.as_str() == code);
        self.runs.iter().filter(|(_, run)| has(run)).map(|(id, _)| id).collect()
    }
}

fn each_once<T: PartialEq>(things: impl Iterator<Item = T>) -> Vec<T> {
    let mut once = Vec::new();
    for thing in things {
        if !once.contains(&thing) {
            once.push(thing);
        }
    }
    once
}
