//! What the sulfur dioxide of a vessel hangs on: each figure from the test that tells most of it, and what is left of the free.

use super::carried::{CarriedLevel, CarriedSulfur, Gift};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{State, Vessel, VesselId};
use crate::cellar::jobs::tests::testing::{Analyte, Test};
use crate::reckon::sulfur::{Added, Balance, Forecast, Level, Model, SulfurError, Tested, Wine};

/// A barrel's own test goes before that of a composite, which hides how its barrels differ, and that before a composite of
/// other barrels of its lot, unless it is so many days older (our choice: of what was tested last month the wine of today
/// tells more).
const NEARER_GOES_BEFORE_DAYS: f64 = 21.0;

/// Before a test of a single other barrel it goes unless it is so many days older (our choice: about two rounds of tests). A
/// barrel that was looked into by itself says little of its neighbours.
const SINGLE_GIVES_WAY_DAYS: f64 = 60.0;

/// A test of the free so many days old stands as it is, if nothing was added since: a week takes about 2 % of it, less than a
/// test is sure to (our choice).
const FRESH_DAYS: f64 = 7.0;

/// Other wine that came since a test and changes what was found by less than this is not told apart, mg/L (our choice: no test
/// is so sure).
const TOLD_APART_MG_L: f64 = 0.5;

/// A forecast rests on so many tests at most, the newest: as many as a vessel remembers. A lot may have thousands.
const TESTS_FORECAST: usize = 24;

/// Whose test a figure is from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum TestOf {
    /// The vessel itself.
    Own,
    /// A sample of several vessels, this one among them.
    Composite,
    /// The wine before it came here, or the wines that it is of.
    Carried,
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
            TestOf::Carried => "carried",
            TestOf::Lot => "lot",
        }
    }
}

/// Whose tests go by, the nearest first.
const ALL_TESTS: [TestOf; 3] = [TestOf::Own, TestOf::Composite, TestOf::Lot];

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
    /// What was given since the free was tested, mg/L of total.
    pub given_since_free: f64,
    /// The same since the total was tested.
    pub given_since_total: f64,
}

impl Found {
    /// Whose test it is and how old at a moment: `composite, 56 d`.
    #[must_use]
    pub fn test_words(&self, at: Moment) -> String {
        format!("{}, {} d", self.of.word(), at.days_since(self.at))
    }
}

impl SulfurKnown {
    /// What is known of the free and the total now, and what that rests on: `24 mg/L on 12 Nov + 18 given since: free about 33,
    /// total 96`; none where the free was never tested.
    #[must_use]
    pub fn words(&self) -> Option<String> {
        let free = self.free?;
        let whose = match free.of {
            TestOf::Own => "",
            TestOf::Composite => ", composite,",
            TestOf::Carried => " before it came here",
            TestOf::Lot => " in its lot",
        };
        let given = self.given_since_free;
        let given = if given >= TOLD_APART_MG_L { format!(" + {given:.0} given since") } else { String::new() };
        let tested = format!("{:.0} mg/L{whose} on {}{given}", free.value, free.drawn.show_day());
        // What stands as it was tested is not said twice.
        let changed = |free_now: f64| !given.is_empty() || (free_now - free.value).abs() >= TOLD_APART_MG_L;
        let now = self.free_now.map(|now| now.free_mg_l).filter(|&now| changed(now));
        let now = now.map_or_else(String::new, |now| format!(": free about {now:.0}"));
        let total = self.total_now.map_or_else(String::new, |total| format!(", total {total:.0}"));
        Some(format!("{tested}{now}{total}"))
    }

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
        self.known_by(vessel, |analyte| self.found(vessel, analyte), bound_share, at)
    }

    /// The same from tests of the wine itself only, here or before it came here: of other vessels of its lot nothing goes by.
    pub(super) fn sulfur_known_of_itself(&self, vessel: VesselId, bound_share: f64, at: Moment) -> SulfurKnown {
        let of_itself = |analyte| self.found_of_itself(vessel, analyte);
        self.known_by(self.vessels.get(vessel), of_itself, bound_share, at)
    }

    fn known_by(
        &self,
        vessel: &Vessel,
        found: impl Fn(Analyte) -> Option<Found>,
        bound_share: f64,
        at: Moment,
    ) -> SulfurKnown {
        let (free, total) = (found(Analyte::FreeSo2), found(Analyte::TotalSo2));
        let given = |found: Option<Found>, analyte| found.map_or(0.0, |it| self.given_since(vessel, analyte, it));
        let given_since_total = given(total, Analyte::TotalSo2);
        SulfurKnown {
            free,
            free_now: free
                .and_then(|free| self.free_forecast(vessel, free, bound_share, at).ok())
                .map(|(_, level)| level),
            ph: found(Analyte::Ph),
            alcohol: found(Analyte::Alcohol),
            temperature: found(Analyte::Temperature),
            sugar: found(Analyte::Sugar),
            total,
            total_now: total.map(|total| total.value + given_since_total),
            given_since_free: given(free, Analyte::FreeSo2),
            given_since_total,
        }
    }

    /// What was last found of one thing in a vessel, by the test that tells most of it.
    #[must_use]
    pub fn last_found(&self, vessel: VesselId, analyte: Analyte) -> Option<Found> {
        self.found(self.vessels.get(vessel), analyte)
    }

    /// The same by tests of the wine itself only, here or before it came here.
    #[must_use]
    pub fn found_of_itself(&self, vessel: VesselId, analyte: Analyte) -> Option<Found> {
        let vessel = self.vessels.get(vessel);
        let tested = self.found_among(vessel, analyte, &[TestOf::Own, TestOf::Composite], |_| true);
        Found::with_carried(tested, vessel, analyte)
    }

    /// The same, of wine that was drawn at a moment or later.
    #[must_use]
    pub fn last_found_since(&self, vessel: VesselId, analyte: Analyte, since: Moment) -> Option<Found> {
        self.found_among(self.vessels.get(vessel), analyte, &ALL_TESTS, |test| test.drawn.instant() >= since.instant())
    }

    /// The total sulfur dioxide of a vessel at the most, mg/L: as tested, and all that was added since.
    #[must_use]
    pub fn total_at_most(&self, vessel: VesselId, tested: Found) -> Found {
        Found { value: tested.value + self.given_since(self.vessels.get(vessel), Analyte::TotalSo2, tested), ..tested }
    }

    fn found(&self, vessel: &Vessel, analyte: Analyte) -> Option<Found> {
        Found::with_carried(self.found_among(vessel, analyte, &ALL_TESTS, |_| true), vessel, analyte)
    }

    fn found_among(
        &self,
        vessel: &Vessel,
        analyte: Analyte,
        kinds: &[TestOf],
        counts: impl Fn(&Test) -> bool,
    ) -> Option<Found> {
        let last = |of: TestOf| {
            let mut tests = self.latest_tests(vessel, of, analyte);
            let (value, test) = tests.find(|(_, test)| counts(test))?;
            let is_of_another_alone = of == TestOf::Lot && !test.is_composite();
            Some((Found { value, at: test.at, drawn: test.drawn, of }, is_of_another_alone))
        };
        let tests = kinds.iter().copied().filter_map(last);
        let found = tests.reduce(|nearer, other| {
            let gives_way = if other.1 { SINGLE_GIVES_WAY_DAYS } else { NEARER_GOES_BEFORE_DAYS };
            if other.0.at.elapsed_days(nearer.0.at) > gives_way { other } else { nearer }
        });
        found.map(|(found, _)| found)
    }

    /// Results of a kind of test, the latest first. Of a lot every test counts, whatever it was of.
    fn latest_tests<'a>(
        &'a self,
        vessel: &'a Vessel,
        of: TestOf,
        analyte: Analyte,
    ) -> impl Iterator<Item = (f64, &'a Test)> {
        let composite = match of {
            TestOf::Own => Some(false),
            TestOf::Composite => Some(true),
            TestOf::Carried | TestOf::Lot => None,
        };
        let here = composite.into_iter().flat_map(move |composite| vessel.tests.of_kind(analyte, composite).rev());
        let lot = vessel.lot.filter(|_| of == TestOf::Lot).map(|lot| &self.lots.get(lot).tests);
        here.chain(lot.into_iter().flat_map(move |tests| tests.of(analyte).rev()))
    }

    /// What was given to a vessel's wine since a test of it, here or before it came here, as a rise of its total, mg/L.
    fn given_since(&self, vessel: &Vessel, analyte: Analyte, tested: Found) -> f64 {
        gifts_since(vessel, analyte, tested).map(|gift| self.rise(vessel, gift)).sum()
    }

    /// The same, gift by gift, with when it was given.
    pub(in crate::cellar) fn given_each(&self, id: VesselId, analyte: Analyte, tested: Found) -> Vec<(Moment, f64)> {
        let vessel = self.vessels.get(id);
        gifts_since(vessel, analyte, tested).map(|gift| (gift.at, self.rise(vessel, gift))).collect()
    }

    /// By how much a gift raises the total of its wine, mg/L.
    fn rise(&self, vessel: &Vessel, gift: &Gift) -> f64 {
        let litres = vessel.volume().as_litres();
        if litres > 0.0 { gift.milligrams(self) / litres } else { 0.0 }
    }

    /// The forecast of the free of a vessel by a test and those of the same kind before it, with all that was given to its
    /// wine, and what it says of a moment: a fresh test stands as it is.
    pub(super) fn free_forecast(
        &self,
        vessel: &Vessel,
        last: Found,
        bound_share: f64,
        at: Moment,
    ) -> Result<(Forecast, Level), SulfurError> {
        let of_the_last = || (last.value, last.drawn);
        let before = self.latest_tests(vessel, last.of, Analyte::FreeSo2).map(|(value, test)| (value, test.drawn));
        let before = before.chain((last.of == TestOf::Carried).then(of_the_last));
        let tests: Vec<Tested> = before
            .map(|(free_mg_l, drawn)| Tested { day: drawn.days_of_epoch(), free_mg_l })
            .take(TESTS_FORECAST)
            .collect();
        // What the test knew already says how fast the free falls; what came since is what the wine carries.
        let free =
            |at: Moment, total: f64| Added { day: at.days_of_epoch(), free_rise_mg_l: total * (1.0 - bound_share) };
        let known = vessel.additions.iter().filter(|added| added.at.instant() <= last.drawn.instant());
        let known = known.filter_map(|added| Some(free(added.at, added.total_so2_rise_mg_l()?)));
        let since: Vec<Added> = gifts_since(vessel, Analyte::FreeSo2, last)
            .map(|gift| free(gift.at, self.rise(vessel, gift)))
            .filter(|added| added.free_rise_mg_l > 0.0)
            .collect();
        let is_fresh = at.elapsed_days(last.drawn) <= FRESH_DAYS && since.is_empty();
        let additions: Vec<Added> = known.chain(since).collect();
        let forecast = Forecast::of(&tests, &additions)?;
        let level = forecast.at(at.days_of_epoch());
        Ok((forecast, if is_fresh { around(last.value, level) } else { level }))
    }
}

impl Found {
    /// What is known of a vessel's wine by a test and by what the wine carries.
    fn with_carried(tested: Option<Found>, vessel: &Vessel, analyte: Analyte) -> Option<Found> {
        match vessel.wine.sulfur().and_then(|sulfur| sulfur.level(analyte)) {
            Some(level) => Some(Found::nearer(level, tested, vessel, analyte)),
            None => tested,
        }
    }

    /// Which tells more of a vessel's wine: what it carries, or what was tested.
    ///
    /// A test of the vessel itself goes before, until other wine came to it that changes what was found. Other vessels of its
    /// lot tell more only where they were tested after the wine came here.
    fn nearer(carried: CarriedLevel, tested: Option<Found>, vessel: &Vessel, analyte: Analyte) -> Found {
        let CarriedLevel { mg_l, drawn } = carried;
        let carried = Found { value: mg_l, at: drawn, drawn, of: TestOf::Carried };
        let Some(tested) = tested else { return carried };
        let is_told = match tested.of {
            TestOf::Own | TestOf::Composite => {
                !is_last_test(vessel, analyte, tested) || (tested.value - mg_l).abs() < TOLD_APART_MG_L
            }
            TestOf::Lot | TestOf::Carried => {
                let came = vessel.filled.map_or(i64::MIN, Moment::instant);
                tested.drawn.instant() >= came.max(drawn.instant())
            }
        };
        if is_told { tested } else { carried }
    }
}

/// Whether a test is the last of a thing that was made of a vessel, by itself or among others: then the wine carries it.
fn is_last_test(vessel: &Vessel, analyte: Analyte, tested: Found) -> bool {
    let last = vessel.tests.last_of(analyte);
    tested.of != TestOf::Lot && last.is_some_and(|(_, test)| test.drawn == tested.drawn)
}

/// What was given to a vessel's wine since a test of it. The wine knows that of the last test of each of the wines that it is of;
/// of any other test the day says it.
fn gifts_since(vessel: &Vessel, analyte: Analyte, tested: Found) -> impl Iterator<Item = &Gift> {
    let carries_it = tested.of == TestOf::Carried || is_last_test(vessel, analyte, tested);
    let gifts = vessel.wine.sulfur().into_iter().flat_map(CarriedSulfur::gifts);
    gifts.filter(move |gift| if carries_it { !gift.is_in(analyte) } else { gift.at.instant() > tested.drawn.instant() })
}

/// A level as it was tested, as sure as it is forecast.
fn around(free_mg_l: f64, forecast: Level) -> Level {
    let half = (forecast.high_mg_l - forecast.low_mg_l) / 2.0;
    Level { free_mg_l, low_mg_l: (free_mg_l - half).max(0.0), high_mg_l: free_mg_l + half }
}
