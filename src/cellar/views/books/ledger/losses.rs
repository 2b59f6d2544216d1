//! What a period lost, as shares of what there was, against what rules leave as usual.
//!
//! **Losses** (`cellar/views/books/ledger/losses.rs`) leave samples out and take no gain off, which errs to the safe side. A mean stock is
//! that of the beginning, the ends of months and the end, weighed by days; norms are scaled by days, and days to come do not count. What
//! came into a vessel counts as received; into a lot or a room only what came more than went, since moves within it are in both sums.

use rustc_hash::FxHashMap;

use super::{Division, Row, Subject, accounts, ledger, subject};
use crate::cellar::core::account::{Account, Entry};
use crate::cellar::core::book::is_wood;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::State;
use crate::cellar::core::state::{LotId, VesselId};
use crate::cellar::jobs::tests::testing::Analyte;
use crate::cellar::views::topping::evaporation::Month;
use crate::reckon::bottling::tax_class;
use crate::reckon::loss_norm::{
    Base, FRANCE_BOTTLING, FRANCE_IN_TANKS, FRANCE_IN_WOOD, FRANCE_MAKING, LossNorm, UNITED_STATES, UNITED_STATES_MADE,
    a_year, france_in_all, is_a_year,
};
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
    /// What came into the book.
    pub received: Volume,
    /// What went with lees and on the way, as making goes on.
    pub at_making: Volume,
    /// What was filled into bottles.
    pub bottled: Volume,
    /// What was lost at that.
    pub at_bottling: Volume,
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

/// A tax class, what it lost, and what came into it and went out of it by moves.
type OfClass = (Option<&'static str>, Losses, Volume, Volume);

/// Some losses against what a rule leaves.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AgainstNorm {
    /// The rule.
    pub norm: LossNorm,
    /// The losses as a share of the rule's base, in the period.
    pub share: f64,
    /// The share that the rule leaves for a period of that length; of less or more than a year in proportion, where that grows
    /// with the time.
    pub most: f64,
    /// Whether the period is a year, which is what rules judge.
    pub is_of_a_year: bool,
}

impl AgainstNorm {
    fn of(norm: LossNorm, lost: Volume, base_litres: f64, days: f64) -> Option<AgainstNorm> {
        let is_known = base_litres > 0.0 && days > 0.0;
        let is_of_a_year = is_a_year(days);
        let share = lost.as_litres() / base_litres;
        is_known.then(|| AgainstNorm { norm, share, most: norm.share_for(days), is_of_a_year })
    }

    /// Whether more went than the figure of the rule; none where the period is no year: there is nothing to be above of. Of what came
    /// in the book knows neither how much was made here nor which losses are of it, so nothing is judged by that.
    #[must_use]
    pub fn is_above(&self) -> Option<bool> {
        (self.is_of_a_year && self.norm.base != Base::Made).then_some(self.share > self.most)
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

    /// A volume as a share of the mean stock, for a year; none where nothing lay there or the period is none.
    #[must_use]
    pub fn yearly(&self, volume: Volume) -> Option<f64> {
        let mean = self.mean_litres();
        if mean > 0.0 { a_year(volume.as_litres() / mean, self.days) } else { None }
    }

    /// The losses against both measures of the United States.
    pub fn against_united_states(&self) -> impl Iterator<Item = AgainstNorm> + use<> {
        let of = |norm, base: Volume| AgainstNorm::of(norm, self.lost, base.as_litres(), self.days);
        [of(UNITED_STATES, self.stock_and_receipts), of(UNITED_STATES_MADE, self.received)].into_iter().flatten()
    }

    /// The losses against the figures of France, by stage and then in all.
    pub fn against_france(&self) -> impl Iterator<Item = AgainstNorm> + use<> {
        let of = |norm, lost, base| AgainstNorm::of(norm, lost, base, self.days);
        let in_all = france_in_all(self.wood.mean_litres, self.tanks.mean_litres);
        [
            of(FRANCE_MAKING, self.at_making, self.received.as_litres()),
            of(FRANCE_IN_WOOD, self.wood.gone, self.wood.mean_litres),
            of(FRANCE_IN_TANKS, self.tanks.gone, self.tanks.mean_litres),
            of(FRANCE_BOTTLING, self.at_bottling, self.bottled.as_litres()),
            in_all.and_then(|norm| of(norm, self.lost, self.mean_litres())),
        ]
        .into_iter()
        .flatten()
    }

    /// The losses against every rule that speaks of such wine.
    pub fn against_norms(&self) -> impl Iterator<Item = AgainstNorm> + use<> {
        self.against_united_states().chain(self.against_france())
    }

    /// Counts what was booked to it.
    fn book(&mut self, account: &Account) {
        self.lost += LOSSES.into_iter().map(|entry| account.sum(entry)).sum();
        self.evaporated += account.sum(Entry::Evaporation);
        self.unrecorded += account.sum(Entry::Unrecorded);
        self.received += account.sum(Entry::Received);
        self.at_making += account.sum(Entry::Lees) + account.sum(Entry::Handling);
        self.bottled += account.sum(Entry::Bottled);
        self.at_bottling += account.sum(Entry::BottlingLoss);
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
            its.book(&row.account);
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

    /// What each tax class of the United States lost in it, the class by the last test of alcohol of the lot, else of the vessel; what
    /// was never tested last, without a class. Wine that came from another class counts as received.
    #[must_use]
    pub fn losses_by_tax_class(&self) -> Vec<(Option<&'static str>, Losses)> {
        let days = self.known.elapsed_days(self.from).max(0.0);
        let mut classes: Vec<OfClass> = Vec::new();
        let mut of_class = |class, count: &dyn Fn(&mut OfClass)| {
            let at = classes.iter().position(|(known, ..)| *known == class).unwrap_or_else(|| {
                classes.push((class, Losses { days, ..Losses::default() }, Volume::ZERO, Volume::ZERO));
                classes.len() - 1
            });
            classes.get_mut(at).into_iter().for_each(count);
        };
        for (id, vessel) in self.opening.vessels.iter().filter(|(_, vessel)| !vessel.wine.is_empty()) {
            of_class(self.class_of(id, vessel.lot), &|(_, its, ..)| its.stock_and_receipts += vessel.volume());
        }
        for (id, lot, _, account) in accounts(&self.opening, &self.closing) {
            of_class(self.class_of(id, lot), &|(_, its, came, went)| {
                its.book(&account);
                its.stock_and_receipts += account.sum(Entry::Received);
                *came += account.sum(Entry::MovedIn) + account.sum(Entry::RenamedIn);
                *went += account.sum(Entry::MovedOut) + account.sum(Entry::RenamedOut);
            });
        }
        let mut classes: Vec<(Option<&'static str>, Losses)> = classes
            .into_iter()
            .map(|(class, mut its, came, went)| {
                its.stock_and_receipts += came.saturating_sub(went);
                (class, its)
            })
            .filter(|(_, its)| !its.stock_and_receipts.is_zero() || !its.lost.is_zero())
            .collect();
        classes.sort_by_key(|(class, _)| (class.is_none(), *class));
        classes
    }

    fn class_of(&self, vessel: VesselId, lot: Option<LotId>) -> Option<&'static str> {
        let of_lot = lot.and_then(|lot| self.closing.lots.get(lot).tests.last_of(Analyte::Alcohol));
        let found = of_lot.or_else(|| self.closing.last_reading(vessel, Analyte::Alcohol));
        found.map(|(alcohol_pct, _)| tax_class(alcohol_pct))
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
