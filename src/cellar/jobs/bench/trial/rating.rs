//! Rating a glass: what a taster says of a code.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::code::Code;
use super::refusal::TrialRefusal;
use super::{Taster, Trial};
use crate::cellar::core::fact::Stamp;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{State, TrialId};

/// The fact `glass_rated`: a taster said something of a glass. A later one of the same glass and flight stands in its place.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct GlassRated {
    /// Which trial.
    pub trial: Label,
    /// Who tasted.
    pub taster: Label,
    /// What stands on the glass.
    pub code: Code,
    /// In which of the taster's flights, from 1; the first that has the code where it is not said.
    #[serde(default)]
    pub flight: Option<u32>,
    /// A score from 0 to 20.
    #[serde(default)]
    pub score: Option<f64>,
    /// A rank from 1, the best, on; ties may share a rank or the mean of theirs.
    #[serde(default)]
    pub rank: Option<f64>,
    /// Words of one's own.
    #[serde(default)]
    pub text: Option<Text>,
}

/// What a taster says of a glass, as it stands now.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Rating {
    /// Who tasted.
    pub taster: Label,
    /// In which of the taster's flights, from 1; none where the taster was not served the glass.
    pub flight: Option<u32>,
    /// What stands on the glass.
    pub code: Code,
    /// A score from 0 to 20.
    pub score: Option<f64>,
    /// A rank from 1, the best, on.
    pub rank: Option<f64>,
    /// Words of one's own.
    pub text: Option<Text>,
    /// When it was said last.
    pub at: Moment,
}

impl Rating {
    /// Whether it is of the same glass of the same flight and taster.
    fn is_of(&self, taster: &Label, flight: Option<u32>, code: Code) -> bool {
        self.code == code && self.flight == flight && self.taster == *taster
    }
}

/// A glass that a taster was served and has said nothing of.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Missing {
    /// Who.
    pub taster: Label,
    /// In which of the taster's flights, from 1.
    pub flight: u32,
    /// What stands on the glass.
    pub code: Code,
}

impl Taster {
    /// Every glass with its flight, from 1, in the order of tasting.
    pub fn served(&self) -> impl Iterator<Item = (u32, Code)> + '_ {
        (1_u32..).zip(&self.flights).flat_map(|(number, flight)| flight.iter().map(move |&code| (number, code)))
    }

    /// The flight in which the taster is served a code: the one said, if it has it, or the first that has.
    fn flight_of(&self, code: Code, said: Option<u32>) -> Option<u32> {
        let is_meant = |&(number, served): &(u32, Code)| served == code && said.is_none_or(|said| said == number);
        self.served().find(is_meant).map(|(number, _)| number)
    }
}

impl Trial {
    /// What was said, in the order in which it was said first.
    #[must_use]
    pub fn ratings(&self) -> impl ExactSizeIterator<Item = &Rating> {
        self.ratings.iter().map(|rating| &**rating)
    }

    /// What a taster said, in the order in which it was said first.
    pub fn ratings_of<'a>(&'a self, taster: &'a Label) -> impl Iterator<Item = &'a Rating> {
        self.ratings().filter(move |rating| rating.taster == *taster)
    }

    /// What a taster said of a glass in a flight.
    #[must_use]
    pub fn rating(&self, taster: &Label, flight: u32, code: Code) -> Option<&Rating> {
        self.ratings().find(|rating| rating.is_of(taster, Some(flight), code))
    }

    /// The glasses of which nothing was said by those who were served them, taster by taster in the order of tasting.
    #[must_use]
    pub fn missing(&self) -> Vec<Missing> {
        let said: std::collections::HashSet<(&Label, u32, Code)> =
            self.ratings().filter_map(|rating| Some((&rating.taster, rating.flight?, rating.code))).collect();
        let missing_of = |taster: &Taster| {
            let open = taster.served().filter(|&(flight, code)| !said.contains(&(&taster.name, flight, code)));
            open.map(|(flight, code)| Missing { taster: taster.name.clone(), flight, code }).collect::<Vec<_>>()
        };
        self.tasters().iter().flat_map(missing_of).collect()
    }

    /// How many glasses are served in all.
    #[must_use]
    pub fn servings(&self) -> usize {
        self.tasters().iter().map(|taster| taster.served().count()).sum()
    }
}

/// The trial, and the flight in which the glass was served.
pub struct ReadyRating {
    trial: TrialId,
    flight: Option<u32>,
}

impl GlassRated {
    fn doubtful(&self, trial: &Trial, flight: Option<u32>) -> Option<TrialRefusal> {
        if trial.reveal.is_some() {
            return Some(TrialRefusal::RatedAfterReveal(self.trial.clone()));
        }
        let (taster, code) = (self.taster.clone(), self.code);
        flight.is_none().then_some(TrialRefusal::NotServed { taster, code, flight: self.flight })
    }
}

impl Job for GlassRated {
    type Ready = ReadyRating;

    fn ready(&self, state: &State) -> Result<ReadyRating, Refusal> {
        let id = state.trial(&self.trial)?;
        let trial = state.trials.get(id);
        let Some(taster) = trial.taster(&self.taster) else {
            let (trial, taster) = (self.trial.clone(), self.taster.clone());
            return Err(TrialRefusal::UnknownTaster { trial, taster }.into());
        };
        if !trial.has(self.code) {
            return Err(TrialRefusal::UnknownCode { trial: self.trial.clone(), code: self.code }.into());
        }
        if let Some(score) = self.score.filter(|score| !(0.0..=20.0).contains(score)) {
            return Err(Refusal::ScoreOutOfRange(score));
        }
        // Nobody ranks more glasses than were served.
        let glasses = taster.served().count().max(1);
        if let Some(rank) = self.rank.filter(|rank| !(1.0..=glasses as f64).contains(rank)) {
            return Err(TrialRefusal::RankOutOfRange { rank, glasses }.into());
        }
        if self.score.is_none() && self.rank.is_none() && self.text.is_none() {
            return Err(TrialRefusal::NothingSaid(self.code).into());
        }
        Ok(ReadyRating { trial: id, flight: taster.flight_of(self.code, self.flight) })
    }

    fn doubt(&self, state: &State, ready: &ReadyRating) -> Option<Refusal> {
        self.doubtful(state.trials.get(ready.trial), ready.flight).map(Refusal::from)
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, ready: ReadyRating) {
        let rating = Arc::new(Rating {
            taster: self.taster.clone(),
            flight: ready.flight,
            code: self.code,
            score: self.score,
            rank: self.rank,
            text: self.text.clone(),
            at: stamp.at,
        });
        let ratings = &mut state.trials.get_mut(ready.trial).ratings;
        match ratings.iter_mut().find(|said| said.is_of(&self.taster, ready.flight, self.code)) {
            Some(said) => *said = rating,
            None => ratings.push(rating),
        }
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.trial)
    }
}
