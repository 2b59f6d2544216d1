//! Drift: what a round does to the composition of the lots that it tops, before it is walked.

use super::plan::Stop;
use super::supply::lots_of;
use crate::cellar::core::state::{LotId, State, VesselId};
use crate::cellar::core::wine::Wine;
use crate::reckon::label_share::{Claim, LEAST_SHARES, LeastShare, margin};
use crate::units::Volume;
use rustc_hash::FxHashMap;

/// What a round does to the barrels of a lot in it.
#[derive(Clone, Debug, PartialEq)]
pub struct Drift {
    /// Which lot.
    pub lot: LotId,
    /// How many of the plan's barrels hold it.
    pub barrels: usize,
    /// What they hold before the round, by the book.
    pub before: Volume,
    /// Of it, what is of another vintage, variety or vineyard than most of the lot.
    pub foreign_before: Volume,
    /// What they hold afterwards.
    pub after: Volume,
    /// Of it, what is foreign.
    pub foreign_after: Volume,
    /// What is poured from vessels of another lot.
    pub from_other_lots: Volume,
    /// Whether all of it is certified organic before the round, and whether it is afterwards.
    pub organic: (bool, bool),
    /// What it could claim, and how far that is from the published least shares.
    pub claims: Vec<Share>,
}

/// How much of a lot has the vintage or the variety that most of it has.
#[derive(Clone, Debug, PartialEq)]
pub struct Share {
    /// Of what.
    pub claim: Claim,
    /// The vintage or variety.
    pub value: String,
    /// How much of it has that before the round.
    pub before: Volume,
    /// How much of it has that afterwards.
    pub after: Volume,
    /// For each published least share, what wine of another vintage or variety may still be topped afterwards in place of
    /// what evaporates; none where the share is below it.
    pub margins: Vec<(LeastShare, Option<Volume>)>,
}

impl State {
    /// What a plan does to each of its lots.
    pub(in crate::cellar) fn drifts(&self, stops: &[Stop]) -> Vec<Drift> {
        let after = self.topped_by(stops);
        lots_of(self, stops).into_iter().map(|lot| self.drift(lot, stops, &after)).collect()
    }

    /// What each barrel is made of when it was topped as planned: as the fact itself does it, what is missing beyond the
    /// book evaporates first, of every origin in proportion, then the topping wine comes in.
    fn topped_by(&self, stops: &[Stop]) -> Vec<Wine> {
        let mut sources: FxHashMap<VesselId, Wine> = FxHashMap::default();
        let topped = |stop: &Stop| {
            let vessel = self.vessels.get(stop.vessel);
            let mut wine = vessel.wine.clone();
            if let Some(source) = stop.from {
                let from = sources.entry(source).or_insert_with(|| self.vessels.get(source).wine.clone());
                let would = wine.volume() + stop.expected;
                wine.grow(vessel.capacity.saturating_sub(would));
                wine.lose(would.saturating_sub(vessel.capacity));
                wine.mix(&from.take(stop.expected));
            }
            wine
        };
        stops.iter().map(topped).collect()
    }

    fn drift(&self, lot: LotId, stops: &[Stop], topped: &[Wine]) -> Drift {
        let its = || stops.iter().zip(topped).filter(|(stop, _)| self.vessels.get(stop.vessel).lot == Some(lot));
        let before = self.wine_of(stops, Some(lot));
        let mut after = Wine::default();
        its().for_each(|(_, wine)| after.mix(wine));
        let own = self.character(&before);
        let all_own = |wine: &Wine| {
            self.sum(wine, |origin| {
                Some(origin.vintage) == own.vintage
                    && Some(origin.variety.as_str()) == own.variety
                    && Some(origin.block.as_str()) == own.vineyard
            })
        };
        let foreign = |wine: &Wine| wine.volume().saturating_sub(all_own(wine));
        let is_other = |source: VesselId| self.vessels.get(source).lot != Some(lot);
        let vintage = |wine: &Wine| self.sum(wine, |origin| Some(origin.vintage) == own.vintage);
        let variety = |wine: &Wine| self.sum(wine, |origin| Some(origin.variety.as_str()) == own.variety);
        let share = |claim, value: Option<String>, held: &dyn Fn(&Wine) -> Volume| {
            let now = held(&after);
            let limits = LEAST_SHARES.iter().filter(|least| least.claim == claim);
            Some(Share {
                claim,
                value: value?,
                before: held(&before),
                after: now,
                margins: limits.map(|least| (*least, margin(after.volume(), now, least.percent))).collect(),
            })
        };
        let claims = [
            share(Claim::Vintage, own.vintage.map(|year| year.to_string()), &vintage),
            share(Claim::Variety, own.variety.map(str::to_owned), &variety),
        ];
        Drift {
            lot,
            barrels: its().count(),
            before: before.volume(),
            foreign_before: foreign(&before),
            after: after.volume(),
            foreign_after: foreign(&after),
            from_other_lots: its()
                .filter(|(stop, _)| stop.from.is_some_and(is_other))
                .map(|(stop, _)| stop.expected)
                .sum(),
            organic: (own.organic, self.character(&after).organic),
            claims: claims.into_iter().flatten().collect(),
        }
    }

    /// How much of a wine comes from origins of a kind.
    fn sum(
        &self,
        wine: &Wine,
        of_the_kind: impl Fn(&crate::cellar::jobs::floor::origin::OriginDeclared) -> bool,
    ) -> Volume {
        let counts = |origin| of_the_kind(&self.origins.get(origin).0);
        wine.parts().iter().filter(|part| part.origin.is_some_and(counts)).map(|part| part.volume).sum()
    }
}
