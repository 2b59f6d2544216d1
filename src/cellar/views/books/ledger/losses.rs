//! What a period lost, as shares of what there was, against what rules leave as usual.

use rustc_hash::FxHashMap;

use super::{Division, Row, Subject, accounts, ledger, subject};
use crate::cellar::core::account::Entry;
use crate::cellar::core::book::is_wood;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::State;
use crate::cellar::views::topping::evaporation::Month;
use crate::reckon::loss_norm::{FRANCE_IN_TANKS, FRANCE_IN_WOOD, LossNorm, UNITED_STATES, a_year};
use crate::units::{Volume, litres};

/// The most stands that a period is looked at by; a longer one than so many months is looked at every few months.
const MOST_STANDS: usize = 240;

/// The lines of an account that are losses. A sample was wanted, so it is none; what a gain gave back is not taken off.
pub const LOSSES: [Entry; 7] =
    [Entry::Evaporation, Entry::Lees, Entry::Handling, Entry::Spill, Entry::Leak, Entry::Other, Entry::BottlingLoss];

/// A period: the states at its beginning, at the ends of its months, and at its end.
#[derive(Clone, Debug, PartialEq)]
pub struct Period {
    opening: State,
    between: Vec<(Moment, State)>,
    closing: State,
    from: Moment,
    /// Until when it is known; the end of the period, or earlier where that is to come.
    known: Moment,
}

/// The moments between two at which a month ends, a stock being taken there.
#[must_use]
pub fn ends_of_months(from: Moment, to: Moment) -> Vec<Moment> {
    let months = std::iter::successors(Some(Month::of(from).next()), |month| Some(month.next()));
    // Where the calendar ends, the next month is the same.
    let mut last = i64::MIN;
    let begins = months.map(|month| month.begins(from)).take_while(|at| {
        let goes_on = at.instant() < to.instant() && at.instant() > last;
        last = at.instant();
        goes_on
    });
    let all: Vec<Moment> = begins.collect();
    let every = all.len() / MOST_STANDS + 1;
    all.into_iter().step_by(every).collect()
}

/// What was lost of some wine in a period.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Losses {
    /// How long the period was, days, as far as it is past.
    pub days: f64,
    /// Everything that was lost: evaporation, lees, handling, spilling, leaks, others, at bottling.
    pub lost: Volume,
    /// Of that, what evaporated.
    pub evaporated: Volume,
    /// What was found missing besides, of which nobody knows when it went: nothing was written down then. It counts to no loss
    /// of the period.
    pub unrecorded: Volume,
    /// What was there at the beginning and what came in: into the book, and where a part of a cellar is meant, from the rest;
    /// of a lot or a room that is what came more than went there.
    pub stock_and_receipts: Volume,
    /// What lay in wood.
    pub wood: Stored,
    /// What lay in tanks and kegs.
    pub tanks: Stored,
}

/// Wine that was stored in a kind of vessels.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Stored {
    /// What lay there in the mean through time, litres: stocks at the beginning, at the ends of months and at the end, by
    /// the days between them.
    pub mean_litres: f64,
    /// What went while it lay: evaporated, or seeped through the wood.
    pub gone: Volume,
}

/// Some losses against what a rule leaves.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AgainstNorm {
    /// The rule.
    pub norm: &'static LossNorm,
    /// The losses as a share of the rule's base, in the period.
    pub share: f64,
    /// The share that the rule leaves for a period of that length.
    pub most: f64,
}

impl AgainstNorm {
    fn of(norm: &'static LossNorm, lost: Volume, base_litres: f64, days: f64) -> Option<AgainstNorm> {
        let is_known = base_litres > 0.0 && days > 0.0;
        is_known.then(|| AgainstNorm { norm, share: lost.as_litres() / base_litres, most: norm.share_for(days) })
    }

    /// Whether more went than the rule leaves.
    #[must_use]
    pub fn is_above(&self) -> bool {
        self.share > self.most
    }
}

impl Losses {
    /// All losses as a share of stock and receipts; none where there was nothing.
    #[must_use]
    pub fn share(&self) -> Option<f64> {
        let base = self.stock_and_receipts;
        (!base.is_zero()).then(|| self.lost.as_litres() / base.as_litres())
    }

    /// What is said of what was missing for nobody knows how long; none where nothing was.
    #[must_use]
    pub fn unrecorded_words(&self) -> Option<String> {
        let gone = litres(self.unrecorded);
        let words = format!(
            "Besides, {gone} were missing at the first topping: when they went was not written down, so they are no loss of this period."
        );
        (!self.unrecorded.is_zero()).then_some(words)
    }

    /// What lay there in the mean, litres.
    #[must_use]
    pub fn mean_litres(&self) -> f64 {
        self.wood.mean_litres + self.tanks.mean_litres
    }

    /// A volume as a share of the mean stock, for a year; none where nothing lay there or the period has no length.
    #[must_use]
    pub fn yearly(&self, volume: Volume) -> Option<f64> {
        let mean = self.mean_litres();
        if mean > 0.0 { a_year(volume.as_litres() / mean, self.days) } else { None }
    }

    /// The losses against every rule that speaks of such wine.
    pub fn against_norms(&self) -> impl Iterator<Item = AgainstNorm> + use<> {
        let of = |norm, lost, base| AgainstNorm::of(norm, lost, base, self.days);
        [
            of(&UNITED_STATES, self.lost, self.stock_and_receipts.as_litres()),
            of(&FRANCE_IN_WOOD, self.wood.gone, self.wood.mean_litres),
            of(&FRANCE_IN_TANKS, self.tanks.gone, self.tanks.mean_litres),
        ]
        .into_iter()
        .flatten()
    }
}

impl Period {
    /// A period between two states, with the stands at some of the moments between, in their order. What is still to come of
    /// it counts no days.
    #[must_use]
    pub fn new(
        (from, opening): (Moment, State),
        between: Vec<(Moment, State)>,
        (to, closing): (Moment, State),
        now: Moment,
    ) -> Period {
        let known = if to.instant() > now.instant() { now } else { to };
        Period { opening, between, closing, from, known }
    }

    /// The state just before it.
    #[must_use]
    pub fn opening(&self) -> &State {
        &self.opening
    }

    /// The state at its end.
    #[must_use]
    pub fn closing(&self) -> &State {
        &self.closing
    }

    /// The rows of its ledger.
    #[must_use]
    pub fn rows(&self, division: Division) -> Vec<Row> {
        ledger(&self.opening, &self.closing, division)
    }

    /// What each part of the cellar lost in it.
    #[must_use]
    pub fn losses(&self, division: Division) -> FxHashMap<Subject, Losses> {
        let days = self.known.elapsed_days(self.from).max(0.0);
        let mut losses: FxHashMap<Subject, Losses> = FxHashMap::default();
        for row in self.rows(division) {
            let its = losses.entry(row.subject).or_default();
            // A move within a lot or a room is in both of its sums, and brings nothing in.
            let from_the_rest = match division {
                Division::Whole => Volume::ZERO,
                Division::Vessel => row.moved_in,
                Division::Lot | Division::Room => row.moved_in.saturating_sub(row.moved_out),
            };
            its.days = days;
            its.lost = LOSSES.into_iter().map(|entry| row.account.sum(entry)).sum();
            its.evaporated = row.account.sum(Entry::Evaporation);
            its.unrecorded = row.account.sum(Entry::Unrecorded);
            its.stock_and_receipts = row.opening + row.account.sum(Entry::Received) + from_the_rest;
        }
        for (id, lot, room, account) in accounts(&self.opening, &self.closing) {
            let its = losses.entry(subject(division, id, lot, room)).or_default();
            let stored = if is_wood(self.closing.vessels.get(id)) { &mut its.wood } else { &mut its.tanks };
            stored.gone += account.sum(Entry::Evaporation) + account.sum(Entry::Leak);
        }
        self.add_stocks(division, &mut losses);
        losses
    }

    /// Adds the mean stocks: between two stands half of each counts, for the days between.
    fn add_stocks(&self, division: Division, losses: &mut FxHashMap<Subject, Losses>) {
        let mut stands = vec![(self.from, &self.opening)];
        stands.extend(self.between.iter().map(|(at, state)| (*at, state)));
        stands.retain(|(at, _)| at.instant() <= self.known.instant());
        stands.push((self.known, &self.closing));
        let days = self.known.elapsed_days(self.from);
        if days <= 0.0 {
            return;
        }
        for pair in stands.windows(2) {
            let part = pair[1].0.elapsed_days(pair[0].0).max(0.0) / days / 2.0;
            for (_, state) in pair {
                for (id, vessel) in state.vessels.iter().filter(|(_, vessel)| !vessel.wine.is_empty()) {
                    let room = vessel.slot.map(|slot| slot.room);
                    let its = losses.entry(subject(division, id, vessel.lot, room)).or_default();
                    let stored = if is_wood(vessel) { &mut its.wood } else { &mut its.tanks };
                    stored.mean_litres += vessel.volume().as_litres() * part;
                }
            }
        }
    }
}
