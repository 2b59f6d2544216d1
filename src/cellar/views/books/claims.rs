//! Claims: what a wine could say on its label by the published least shares, how far it is from each of them, and what an
//! act would cost a lot.
//!
//! A lot is judged whole, since it is what is bottled together. The book knows neither the kind of an appellation (state,
//! viticultural area, designation of origin) nor what is meant to stand on the label: every rule is told for what most
//! litres have.
//!
//! Of a wine to be called organic it knows the grapes, what was given and the total sulfur dioxide; that it is organic only the certifier
//! says.
//!
//! **A margin** is reckoned as if it came in at once: many small toppings may bring a little more, never less.
//!
//! **Claims** are judged for what most litres have, by every rule of the house's side (`practice_set`), of both where it named none: the
//! book does not know what kind of place an appellation is. A lot is judged whole, as it is bottled together.
//!
//! **Wine without an origin** (water of a treatment) counts against every claim of a share. In a claim of all (estate, organic, designation
//! of origin) up to a hundredth is left out, which is what 27 CFR 24.246 lets a treatment carry in: else the first dose of sulfur dioxide
//! would end it.
//!
//! **What breaks a claim** is found by trying the facts on a copy of the state (`State::broken_by`), which shares all they do not touch.
//! `record` compares the lots before and after the file instead: cheap, whatever its length.

use rustc_hash::FxHashMap;

use crate::cellar::core::evolve::evolve;
use crate::cellar::core::fact::{Stamp, What};
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{LotId, State, VesselId};
use crate::cellar::core::wine::Wine;
use crate::cellar::jobs::floor::origin::OriginDeclared;
use crate::cellar::views::topping::supply::{Character, mostly};
use crate::reckon::label_share::{
    Claim, LEAST_SHARES, LeastShare, Rules, asked_of, margin, may_come_in, reaches, still_wanted,
};
use crate::reckon::organic::{Left, Organic};
use crate::units::{DecimalMark, Volume, litres_at_least, litres_at_most};

/// How a wine stands to one published least share.
#[derive(Clone, Debug, PartialEq)]
pub struct Standing {
    /// Which.
    pub least: LeastShare,
    /// The vintage, variety, place …; none where the claim itself says it all.
    pub value: Option<String>,
    /// How much of the wine has it.
    pub own: Volume,
    /// Of how much wine a share is asked.
    pub whole: Volume,
    /// Of organic grapes only, what else is known of the wine: what was given to it, and its total sulfur dioxide.
    pub organic: Option<Organic>,
}

impl Standing {
    /// Whether the share is reached; of organic grapes, and nothing that is known of the wine speaks against the claim.
    #[must_use]
    pub fn held(&self) -> bool {
        self.left() == Left::Organic
    }

    /// Whether the share is reached, whatever was given to the wine.
    #[must_use]
    pub fn reached(&self) -> bool {
        reaches(self.whole, self.own, self.least.percent)
    }

    fn stands(&self) -> bool {
        self.organic.as_ref().is_none_or(|organic| organic.left(self.least.rules) == Left::Organic)
    }

    /// What is left of the claim, of organic grapes perhaps a lesser one.
    fn left(&self) -> Left {
        match &self.organic {
            _ if !self.reached() => Left::Nothing,
            Some(organic) => organic.left(self.least.rules),
            None => Left::Organic,
        }
    }

    /// What is said of a wine all of whose grapes are organic, in a sentence; none of other claims.
    #[must_use]
    pub fn organic_words(&self) -> Option<String> {
        let organic = self.organic.as_ref().filter(|_| self.reached())?;
        Some(organic.sentence(self.least.rules))
    }

    /// Whether it is held, in a word or two; of organic grapes never more than that.
    #[must_use]
    pub fn held_words(&self) -> &'static str {
        match (self.held(), self.organic.is_some()) {
            (true, true) => "by its grapes",
            (true, false) => "held",
            (false, _) => "not held",
        }
    }

    /// The share in ten thousandths, rounded down, so that what is short never looks reached.
    #[must_use]
    pub fn ten_thousandths(&self) -> u64 {
        let whole = u128::from(self.whole.as_ul()).max(1);
        u64::try_from(u128::from(self.own.as_ul()) * 10_000 / whole).unwrap_or(u64::MAX)
    }

    /// What other wine may come in on top before the claim is lost; none where it is not held.
    #[must_use]
    pub fn may_come_in(&self) -> Option<Volume> {
        may_come_in(self.whole, self.own, self.least.percent).filter(|_| self.stands())
    }

    /// What other wine may be topped in place of what evaporates before the claim is lost; none where it is not held.
    #[must_use]
    pub fn may_be_topped(&self) -> Option<Volume> {
        margin(self.whole, self.own, self.least.percent).filter(|_| self.stands())
    }

    /// What is still to come in of its own before it may be claimed; none where it is held, or can no more be reached.
    #[must_use]
    pub fn still_wanted(&self) -> Option<Volume> {
        still_wanted(self.whole, self.own, self.least.percent)
    }

    /// The share as a part of one, for programs.
    #[must_use]
    pub fn share(&self) -> f64 {
        if self.whole.is_zero() { 0.0 } else { self.own.as_litres() / self.whole.as_litres() }
    }

    /// How far it is from its rule, both ways, in a sentence for people. Litres are rounded to the safe side.
    #[must_use]
    pub fn sentence(&self) -> String {
        let what = self.what();
        let rule = self.least.rule();
        if let Some(words) = self.organic_words() {
            return words;
        }
        if let Some(room) = self.may_come_in() {
            if room.is_zero() {
                return format!("{what}: held; any other wine, and it may not be claimed ({rule}).");
            }
            let topped = self.may_be_topped().map_or_else(String::new, |most| {
                format!(", or {} topped in place of what evaporates", litres_at_most(most))
            });
            let room = litres_at_most(room);
            return format!(
                "{what}: held; {room} of other wine on top{topped}, more and it may not be claimed ({rule})."
            );
        }
        match self.still_wanted() {
            Some(wanted) => {
                let wanted = litres_at_least(wanted);
                format!("{what}: not held; {wanted} of it still to come in before it may be claimed ({rule}).")
            }
            None => format!("{what}: not held; all of it would have to be so, and other wine is in it ({rule})."),
        }
    }

    /// What is claimed, like `vintage 2024` or `estate`.
    #[must_use]
    pub fn what(&self) -> String {
        let word = self.least.claim.word();
        self.value.as_ref().map_or_else(|| word.to_owned(), |value| format!("{word} {value}"))
    }

    /// The share for people, like `84.96 %`.
    #[must_use]
    pub fn percent(&self) -> String {
        let share = self.ten_thousandths();
        DecimalMark::customary().written(&format!("{}.{:02} %", share / 100, share % 100))
    }
}

/// A claim that a lot holds and would hold no longer.
#[derive(Clone, Debug, PartialEq)]
pub struct Broken {
    /// The lot.
    pub lot: Label,
    /// How it stands to it before.
    pub before: Standing,
    /// How it stands to it afterwards.
    pub after: Standing,
}

impl Broken {
    /// The claim and its rule, with the share that is left: `vintage 2024 (EU 2019/33 art. 49: 85 %, then 84.96 %)`.
    #[must_use]
    pub fn words(&self) -> String {
        let least = &self.before.least;
        let before = self.before.left();
        let what = if before == Left::MadeWith { "made with organic grapes".to_owned() } else { self.before.what() };
        let organic = self.after.organic.as_ref().filter(|_| self.after.reached());
        match organic.and_then(|organic| organic.lost_by(least.rules, before)) {
            Some(why) => format!("{what} ({}: then {why})", least.rule()),
            None => format!("{what} ({}: {} %, then {})", least.rule(), least.percent, self.after.percent()),
        }
    }
}

/// What most litres of a wine have, as it would stand on a label.
#[derive(Debug, Default)]
struct Named<'a> {
    character: Character<'a>,
    appellation: Option<&'a str>,
    varieties: Vec<&'a str>,
    /// Whether any of its origins says whether it grew on the estate.
    estate: bool,
    /// Whether any of its origins says whether it is organic.
    organic: bool,
}

impl Named<'_> {
    /// Whether there is something to claim.
    fn makes(&self, claim: Claim) -> bool {
        match claim {
            Claim::Varieties => self.varieties.len() > 1,
            Claim::Estate => self.estate,
            Claim::Organic => self.organic,
            _ => self.value(claim).is_some(),
        }
    }

    /// What stands on the label for a claim; none where its word says it all.
    fn value(&self, claim: Claim) -> Option<String> {
        match claim {
            Claim::Vintage => self.character.vintage.map(|year| year.to_string()),
            Claim::Variety => self.character.variety.map(str::to_owned),
            Claim::Varieties => Some(self.varieties.join(", ")),
            Claim::Appellation => self.appellation.map(str::to_owned),
            Claim::Vineyard => self.character.vineyard.map(str::to_owned),
            Claim::Estate | Claim::Organic => None,
        }
    }

    /// Whether an origin has what a rule asks for.
    fn has(&self, least: &LeastShare, origin: &OriginDeclared) -> bool {
        let of_place = Some(origin.appellation.as_str()) == self.appellation;
        match (least.claim, least.rules) {
            (Claim::Vintage, _) => Some(origin.vintage) == self.character.vintage,
            (Claim::Variety, rules) => {
                Some(origin.variety.as_str()) == self.character.variety && (of_place || rules == Rules::Eu)
            }
            (Claim::Varieties, _) => self.varieties.contains(&origin.variety.as_str()),
            (Claim::Appellation, _) => of_place,
            (Claim::Vineyard, _) => Some(origin.block.as_str()) == self.character.vineyard,
            (Claim::Estate, rules) => {
                origin.estate == Some(true) && origin.owner.is_none() && (of_place || rules == Rules::Eu)
            }
            (Claim::Organic, _) => origin.organic == Some(true),
        }
    }
}

impl State {
    /// How a wine stands to the published least shares of some rules. Several varieties are claimed only where no single
    /// one can be.
    #[must_use]
    pub fn claims(&self, wine: &Wine, rules: Option<Rules>) -> Vec<Standing> {
        self.claims_with(wine, None, rules)
    }

    /// The same of a wine of which the sugar is known, g/L: the figures of organic wine hang on it.
    #[must_use]
    pub fn claims_with(&self, wine: &Wine, sugar_g_l: Option<f64>, rules: Option<Rules>) -> Vec<Standing> {
        let named = self.named(wine);
        let asked = LEAST_SHARES.iter().filter(|least| rules.is_none_or(|rules| rules == least.rules));
        let mut standings: Vec<Standing> = asked.filter_map(|least| self.standing(wine, &named, least)).collect();
        for organic in standings.iter_mut().filter_map(|its| its.organic.as_mut()) {
            organic.sugar_g_l = sugar_g_l;
        }
        let single = |rules: Rules| {
            standings.iter().any(|its| its.least.claim == Claim::Variety && its.least.rules == rules && its.held())
        };
        let wanted = |its: &Standing| its.least.claim != Claim::Varieties || !single(its.least.rules);
        standings.iter().filter(|its| wanted(its)).cloned().collect()
    }

    /// All wine of a lot, wherever it lies.
    #[must_use]
    pub fn wine_of_lot(&self, lot: LotId) -> Wine {
        let mut wine = Wine::default();
        for (_, vessel) in self.vessels.iter().filter(|(_, vessel)| vessel.lot == Some(lot)) {
            wine.mix(&vessel.wine);
        }
        wine
    }

    /// The claims that lots hold now and would hold no longer if some facts happened one after the other: those of the lots
    /// that wine comes into by them. Cheap: the facts are tried on a copy that shares all they do not touch.
    #[must_use]
    pub fn broken_by(&self, whats: &[What], at: Moment, rules: Option<Rules>) -> Vec<Broken> {
        // A cellar without a fact holds nothing that could be lost; and where wine stays within its lot no lot becomes another wine.
        let Some((key, _)) = &self.last else { return Vec::new() };
        if whats.iter().all(|what| self.stays_within_lot(what)) {
            return Vec::new();
        }
        let stamp = Stamp::new(key.id.clone(), at);
        let mut after = self.clone();
        let mut lots: Vec<LotId> = Vec::new();
        for what in whats {
            let Some(into) = receiver(&after, what) else { continue };
            evolve(&mut after, &stamp, what);
            let lot = after.vessels.get(into).lot;
            lots.extend(lot.filter(|lot| !lots.contains(lot)));
        }
        let lost = |lot: LotId| {
            let label = &after.lots.get(lot).label;
            self.lost(label, &self.wine_of_lot(lot), &after, &after.wine_of_lot(lot), rules)
        };
        lots.into_iter().flat_map(lost).collect()
    }

    /// Whether a fact pours wine of a lot upon wine of that lot, as nearly every topping does, or pours none at all.
    fn stays_within_lot(&self, what: &What) -> bool {
        let (from, to) = match what {
            What::Topped(topped) => (&topped.from, &topped.vessel),
            // What becomes another lot, and what comes from outside.
            What::WineMoved(moved) if moved.lot.is_some() => return false,
            What::WineMoved(moved) => (&moved.from, &moved.to),
            What::WineReceived(_) => return false,
            _ => return true,
        };
        let lot = |label: &Label| self.vessels.by_label(label.as_str()).and_then(|vessel| vessel.lot);
        let lots = (lot(from), lot(to));
        lots.0.is_some() && lots.0 == lots.1
    }

    /// The claims that lots hold in this state and hold no longer in a later one of the same cellar.
    #[must_use]
    pub fn lost_until(&self, later: &State, rules: Option<Rules>) -> Vec<Broken> {
        let (before, after) = (self.wine_by_lot(), later.wine_by_lot());
        let lost = |(id, lot): (LotId, &crate::cellar::core::state::Lot)| {
            let now = later.lots.find(lot.label.as_str()).and_then(|id| after.get(&id));
            let (was, is) = (before.get(&id)?, now?);
            Some(self.lost(&lot.label, was, later, is, rules))
        };
        self.lots.iter().filter_map(lost).flatten().collect()
    }

    fn lost(&self, lot: &Label, was: &Wine, later: &State, is: &Wine, rules: Option<Rules>) -> Vec<Broken> {
        if is.is_empty() {
            return Vec::new();
        }
        let named = self.named(was);
        let held = self.claims(was, rules).into_iter().filter(Standing::reached);
        let broken = |before: Standing| {
            let after = later.standing(is, &named, &before.least)?;
            (after.left() < before.left()).then(|| Broken { lot: lot.clone(), before, after })
        };
        held.filter_map(broken).collect()
    }

    fn wine_by_lot(&self) -> FxHashMap<LotId, Wine> {
        let mut wines: FxHashMap<LotId, Wine> = FxHashMap::default();
        for (_, vessel) in self.vessels.iter() {
            if let Some(lot) = vessel.lot {
                wines.entry(lot).or_default().mix(&vessel.wine);
            }
        }
        wines
    }

    fn standing(&self, wine: &Wine, named: &Named<'_>, least: &LeastShare) -> Option<Standing> {
        if !named.makes(least.claim) {
            return None;
        }
        let mut own = Volume::ZERO;
        let mut without_origin = Volume::ZERO;
        for part in wine.parts() {
            match part.origin {
                None => without_origin += part.volume,
                Some(id) if named.has(least, &self.origins.get(id).0) => own += part.volume,
                Some(_) => {}
            }
        }
        let whole = asked_of(wine.volume(), without_origin, least.percent);
        let organic = if least.claim == Claim::Organic { self.organic(wine, None) } else { None };
        Some(Standing { least: *least, value: named.value(least.claim), own, whole, organic })
    }

    fn named(&self, wine: &Wine) -> Named<'_> {
        let origin = |id| &self.origins.get(id).0;
        let mut named = Named {
            character: self.character(wine),
            appellation: mostly(wine.parts(), |id| origin(id).appellation.as_str()),
            ..Named::default()
        };
        for its in wine.parts().iter().filter_map(|part| part.origin).map(origin) {
            named.estate |= its.estate.is_some();
            named.organic |= its.organic.is_some();
            if !named.varieties.contains(&its.variety.as_str()) {
                named.varieties.push(its.variety.as_str());
            }
        }
        named
    }
}

/// The vessel that wine comes into by a fact.
fn receiver(state: &State, what: &What) -> Option<VesselId> {
    let label = match what {
        What::Topped(topped) => &topped.vessel,
        What::WineMoved(moved) => &moved.to,
        What::WineReceived(received) => &received.vessel,
        _ => return None,
    };
    state.vessels.find(label.as_str())
}
