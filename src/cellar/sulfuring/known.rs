//! What the sulfur dioxide of a vessel hangs on: each figure from the test that tells most of it, and what is left of the free.

use crate::cellar::moment::Moment;
use crate::cellar::state::{State, Vessel, VesselId};
use crate::cellar::testing::{Analyte, Test};
use crate::reckon::sulfur::{Added, Balance, Forecast, Level, Model, SulfurError, Tested, Wine};

/// A barrel's own test goes before that of a composite, which hides how its barrels differ, and that before one of other
/// barrels of its lot, unless it is so many days older (our choice: about two rounds of tests).
const NEARER_GOES_BEFORE_DAYS: f64 = 60.0;

/// A test of the free so many days old stands as it is, if nothing was added since: a week takes about 2 % of it, less than a
/// test is sure to (our choice).
const FRESH_DAYS: f64 = 7.0;

/// A forecast rests on so many tests at most, the newest: as many as a vessel remembers. A lot may have thousands.
const TESTS_FORECAST: usize = 24;

/// Whose test a figure is from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum TestOf {
    /// The vessel itself.
    Own,
    /// A sample of several vessels, this one among them.
    Composite,
    /// Other vessels of its lot only.
    Lot,
}

impl TestOf {
    /// The word for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            TestOf::Own => "own",
            TestOf::Composite => "composite",
            TestOf::Lot => "lot",
        }
    }
}

/// What was last found of one thing in a wine.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Found {
    /// In the unit of the analyte.
    pub value: f64,
    /// When.
    pub at: Moment,
    /// When the wine that was tested was drawn.
    pub drawn: Moment,
    /// Whose test it is.
    pub of: TestOf,
}

/// What the sulfur dioxide of a vessel hangs on, as far as it is known at a moment.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct SulfurKnown {
    /// Free, mg/L, as tested.
    pub free: Option<Found>,
    /// Free at the moment, mg/L, by forecast from its tests and additions.
    pub free_now: Option<Level>,
    /// pH.
    pub ph: Option<Found>,
    /// Alcohol, % vol.
    pub alcohol: Option<Found>,
    /// Temperature, °C.
    pub temperature: Option<Found>,
    /// Sugar, g/L.
    pub sugar: Option<Found>,
    /// Total, mg/L, as tested.
    pub total: Option<Found>,
    /// Total at the moment at the most, mg/L: as tested, and all that was added since.
    pub total_now: Option<f64>,
}

impl Found {
    /// Whose test it is and how old at a moment: `composite, 56 d`.
    #[must_use]
    pub fn test_words(&self, at: Moment) -> String {
        format!("{}, {} d", self.of.word(), at.days_since(self.at))
    }
}

impl SulfurKnown {
    /// The balance of molecular and free by a model. Refused with what is not known: nothing is guessed.
    pub fn balance(&self, model: Model) -> Result<Balance, Unknown> {
        let ph = self.ph.ok_or(Unknown::Untested(Analyte::Ph))?.value;
        if model == Model::Oiv {
            self.alcohol.ok_or(Unknown::Untested(Analyte::Alcohol))?;
            self.temperature.ok_or(Unknown::Untested(Analyte::Temperature))?;
        }
        let value = |found: Option<Found>| found.map(|found| found.value);
        let wine = Wine { ph, alcohol_pct: value(self.alcohol), temperature_c: value(self.temperature) };
        Balance::new(model, wine).map_err(Unknown::Sulfur)
    }
}

/// Why nothing can be said of a wine's sulfur dioxide.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum Unknown {
    /// Something was never tested.
    #[error("its {} is not known", .0.name())]
    Untested(Analyte),
    /// The reckoning does not reach it.
    #[error("{0}")]
    Sulfur(SulfurError),
}

impl State {
    /// What the sulfur dioxide of a vessel hangs on at a moment: each figure from its own last test, else from the last of a
    /// composite, else from the last of its lot; one that is much older gives way. `bound_share` is what of an addition is taken to be bound at once.
    #[must_use]
    pub fn sulfur_known(&self, vessel: VesselId, bound_share: f64, at: Moment) -> SulfurKnown {
        let vessel = self.vessels.get(vessel);
        let found = |analyte| self.found(vessel, analyte);
        let (free, total) = (found(Analyte::FreeSo2), found(Analyte::TotalSo2));
        SulfurKnown {
            free,
            free_now: free.and_then(|free| self.free_at(vessel, free, bound_share, at)),
            ph: found(Analyte::Ph),
            alcohol: found(Analyte::Alcohol),
            temperature: found(Analyte::Temperature),
            sugar: found(Analyte::Sugar),
            total,
            total_now: total.map(|total| total.value + added_since(vessel, total.at)),
        }
    }

    /// What was last found of one thing in a vessel, by the test that tells most of it.
    #[must_use]
    pub fn last_found(&self, vessel: VesselId, analyte: Analyte) -> Option<Found> {
        self.found(self.vessels.get(vessel), analyte)
    }

    /// The same, of wine that was drawn at a moment or later.
    #[must_use]
    pub fn last_found_since(&self, vessel: VesselId, analyte: Analyte, since: Moment) -> Option<Found> {
        self.found_among(self.vessels.get(vessel), analyte, |test| test.drawn.instant() >= since.instant())
    }

    /// The total sulfur dioxide of a vessel at the most, mg/L: as tested, and all that was added since.
    #[must_use]
    pub fn total_at_most(&self, vessel: VesselId, tested: Found) -> Found {
        Found { value: tested.value + added_since(self.vessels.get(vessel), tested.drawn), ..tested }
    }

    fn found(&self, vessel: &Vessel, analyte: Analyte) -> Option<Found> {
        self.found_among(vessel, analyte, |_| true)
    }

    fn found_among(&self, vessel: &Vessel, analyte: Analyte, counts: impl Fn(&Test) -> bool) -> Option<Found> {
        let last = |of: TestOf| {
            let mut tests = self.latest_tests(vessel, of, analyte);
            let (value, test) = tests.find(|(_, test)| counts(test))?;
            Some(Found { value, at: test.at, drawn: test.drawn, of })
        };
        let is_outdated_by = |nearer: &Found, other: &Found| other.at.elapsed_days(nearer.at) > NEARER_GOES_BEFORE_DAYS;
        [TestOf::Own, TestOf::Composite, TestOf::Lot]
            .into_iter()
            .filter_map(last)
            .reduce(|nearer, other| if is_outdated_by(&nearer, &other) { other } else { nearer })
    }

    /// Results of a kind of test, the latest first.
    fn latest_tests<'a>(
        &'a self,
        vessel: &'a Vessel,
        of: TestOf,
        analyte: Analyte,
    ) -> impl Iterator<Item = (f64, &'a Test)> {
        let tests = match of {
            TestOf::Lot => vessel.lot.map(|lot| &self.lots.get(lot).tests),
            TestOf::Own | TestOf::Composite => Some(&vessel.tests),
        };
        tests.into_iter().flat_map(move |tests| tests.of(analyte).rev()).filter(move |(_, test)| is_of(test, of))
    }

    /// The free at a moment, by forecast from the tests of the same kind as the last and the vessel's own additions.
    fn free_at(&self, vessel: &Vessel, last: Found, bound_share: f64, at: Moment) -> Option<Level> {
        let of = last.of;
        let tests: Vec<Tested> = self
            .latest_tests(vessel, of, Analyte::FreeSo2)
            .map(|(free_mg_l, test)| Tested { day: test.at.days_of_epoch(), free_mg_l })
            .take(TESTS_FORECAST)
            .collect();
        let additions: Vec<Added> = vessel
            .additions
            .iter()
            .filter_map(|addition| {
                let rise = addition.total_so2_rise_mg_l()?;
                Some(Added { day: addition.at.days_of_epoch(), free_rise_mg_l: rise * (1.0 - bound_share) })
            })
            .collect();
        let level = Forecast::of(&tests, &additions).ok()?.at(at.days_of_epoch());
        let is_fresh = at.elapsed_days(last.at) <= FRESH_DAYS && added_since(vessel, last.at) <= 0.0;
        Some(if is_fresh { around(last.value, level) } else { level })
    }
}

/// Whether a test that a vessel or a lot remembers is of a kind. A lot's last test counts, whatever it was of.
fn is_of(test: &Test, of: TestOf) -> bool {
    match of {
        TestOf::Own => !test.is_composite(),
        TestOf::Composite => test.is_composite(),
        TestOf::Lot => true,
    }
}

/// A level as it was tested, as sure as it is forecast.
fn around(free_mg_l: f64, forecast: Level) -> Level {
    let half = (forecast.high_mg_l - forecast.low_mg_l) / 2.0;
    Level { free_mg_l, low_mg_l: (free_mg_l - half).max(0.0), high_mg_l: free_mg_l + half }
}

/// What was added to a vessel's wine since a moment, as a rise of its total, mg/L.
fn added_since(vessel: &Vessel, since: Moment) -> f64 {
    let later = vessel.additions.iter().filter(|addition| addition.at.instant() > since.instant());
    later.filter_map(|addition| addition.total_so2_rise_mg_l()).sum()
}
