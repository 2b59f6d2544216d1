//! A bottling run: what was filled, and where its bottles are.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::refusal::RunRefusal;
use crate::cellar::day::Day;
use crate::cellar::fact::FactId;
use crate::cellar::label::{Label, Text};
use crate::cellar::moment::Moment;
use crate::cellar::refusal::Refusal;
use crate::cellar::state::{LotId, RunId, State, VesselId};
use crate::cellar::table::Labelled;
use crate::cellar::wine::Wine;
use crate::units::Volume;

/// A bottling run. Of its bottles and what `beyond` counts, each is loose, lies somewhere or is out:
/// `bottles + beyond = loose + lying + out`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Run {
    /// Its label.
    pub label: Label,
    /// What a bottle holds, as the first stretch says.
    pub bottle: Volume,
    /// The stretches in which it was filled, in their order.
    pub stretches: Arc<Vec<Stretch>>,
    /// Bottles that are not laid away yet.
    pub loose: u64,
    /// Bottles that were laid away, by place and release.
    pub laid: Vec<Laid>,
    /// Bottles that are out.
    pub out: Arc<Vec<Out>>,
    /// Bottles that were laid away or went out though the book knew of none.
    pub beyond: u64,
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

/// Bottles that were laid away at one place for one release.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Laid {
    /// Where.
    pub place: Label,
    /// From when on they may go, where that is set.
    pub release: Option<Day>,
    /// Since when the first of them lie there.
    pub since: Moment,
    /// How many lie there.
    pub there: u64,
}

/// Bottles that went out.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Out {
    /// When.
    pub at: Moment,
    /// How many.
    pub bottles: u32,
    /// Why.
    pub why: Text,
    /// To whom.
    pub to: Option<Text>,
    /// From where, where that is said.
    pub from: Option<Label>,
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
    /// How many bottles an hour were filled; none where it is not said how long it took.
    #[must_use]
    pub fn bottles_an_hour(&self) -> Option<u64> {
        let minutes = self.minutes.filter(|&minutes| minutes > 0)?;
        Some(u64::from(self.bottles) * 60 / u64::from(minutes))
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
        let (stretches, laid, out) = (Arc::default(), Vec::new(), Arc::default());
        Run { label, bottle, stretches, loose: 0, laid, out, beyond: 0 }
    }

    /// How many bottles were filled.
    #[must_use]
    pub fn bottles(&self) -> u64 {
        self.stretches.iter().map(|stretch| u64::from(stretch.bottles)).sum()
    }

    /// How many lie where they were laid away.
    #[must_use]
    pub fn lying(&self) -> u64 {
        self.laid.iter().map(|laid| laid.there).sum()
    }

    /// How many are out.
    #[must_use]
    pub fn gone(&self) -> u64 {
        self.out.iter().map(|out| u64::from(out.bottles)).sum()
    }

    /// How many are still in the house.
    #[must_use]
    pub fn left(&self) -> u64 {
        self.loose + self.lying()
    }

    /// How many lie at a place.
    #[must_use]
    pub fn lying_at(&self, place: &Label) -> u64 {
        self.laid.iter().filter(|laid| laid.place == *place).map(|laid| laid.there).sum()
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
        let is_ready = |laid: &&Laid| laid.release.is_some_and(|day| day <= today || day.is_in_month_of(today));
        self.laid.iter().filter(is_ready).map(|laid| laid.there).sum()
    }

    /// Where every bottle is, in one line.
    #[must_use]
    pub fn bottles_words(&self) -> String {
        let beyond = match self.beyond {
            0 => String::new(),
            beyond => format!("; {beyond} more were laid away or went out than were filled: check the counts"),
        };
        let (all, laid, out, loose) = (self.bottles() + self.beyond, self.lying(), self.gone(), self.loose);
        format!("{all} bottles = {laid} laid away + {out} out + {loose} not laid away yet{beyond}.")
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
                    cause.bottles += u64::from(out.bottles);
                    cause.last = out.at;
                }
                None => causes.push(OutForCause {
                    why: &out.why,
                    to: out.to.as_ref(),
                    bottles: u64::from(out.bottles),
                    first: out.at,
                    last: out.at,
                }),
            }
        }
        causes
    }

    /// Takes bottles that are not laid away yet. What is not there counts as beyond the book.
    pub(super) fn take_loose(&mut self, bottles: u32) {
        let wanted = u64::from(bottles);
        self.beyond += wanted.saturating_sub(self.loose);
        self.loose = self.loose.saturating_sub(wanted);
    }

    /// Lays bottles away at a place.
    pub(super) fn lay(&mut self, bottles: u32, place: &Label, release: Option<Day>, at: Moment) {
        let bottles = u64::from(bottles);
        let known = self.laid.iter_mut().find(|laid| laid.place == *place && laid.release == release);
        if let Some(laid) = known {
            laid.there += bottles;
        } else {
            self.laid.push(Laid { place: place.clone(), release, since: at, there: bottles });
        }
    }

    /// Takes bottles from where they are: from a place, or from anywhere, loose ones first, then those whose release comes
    /// first. What is not there counts as beyond the book.
    pub(super) fn take(&mut self, bottles: u32, place: Option<&Label>) {
        let mut wanted = u64::from(bottles);
        let mut draw = |there: &mut u64| {
            let drawn = wanted.min(*there);
            *there -= drawn;
            wanted -= drawn;
        };
        if place.is_none() {
            draw(&mut self.loose);
        }
        let mut order: Vec<usize> = (0..self.laid.len()).collect();
        order.sort_by_key(|&index| (self.laid[index].release.is_none(), self.laid[index].release));
        for index in order {
            let laid = &mut self.laid[index];
            if place.is_none_or(|place| laid.place == *place) {
                draw(&mut laid.there);
            }
        }
        self.laid.retain(|laid| laid.there > 0);
        self.beyond += wanted;
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
