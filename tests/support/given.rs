//! Given, when, then: facts that were, a fact that comes, what follows.
//!
//! ```ignore
//! Cellar::furnished()
//!     .when(json!({"kind": "lost", "vessel": "B1", "volume_ul": 4_000_000, "cause": "spill"}))
//!     .then_taken()
//!     .holds("B1", 221_000_000);
//! ```

use barrelwalk::cellar::core::account::Entry;
use barrelwalk::cellar::core::decide::{decide, decide_despite};
use barrelwalk::cellar::core::evolve::evolve;
use barrelwalk::cellar::core::fact::{Device, FactId, Stamp, What};
use barrelwalk::cellar::core::moment::Moment;
use barrelwalk::cellar::core::refusal::Refusal;
use barrelwalk::cellar::core::state::{Round, State, Vessel};
use barrelwalk::cellar::views::books::ledger::{Division, Row, ledger};
use barrelwalk::units::Volume;
use serde_json::{Value, json};

/// Microlitres in a litre.
pub const LITRE: u64 = 1_000_000;

/// What can be told of: the JSON of a fact's kind and fields, or the fact itself.
pub trait Told {
    /// The fact that is told of.
    fn what(self) -> What;
}

impl Told for What {
    fn what(self) -> What {
        self
    }
}

impl Told for Value {
    #[track_caller]
    fn what(mut self) -> What {
        let kind = self.as_object_mut().and_then(|fields| fields.shift_remove("kind"));
        let kind = kind.as_ref().and_then(Value::as_str).expect("a fact has a kind").to_owned();
        What::from_body(&kind, self.to_string().as_bytes()).unwrap_or_else(|error| panic!("{error}"))
    }
}

/// A cellar under test: a state, a clock and one laptop that writes facts.
#[derive(Clone, Debug)]
pub struct Cellar {
    /// The fold of all facts told so far.
    pub state: State,
    device: Device,
    n: u64,
    now: Moment,
}

/// A fact that comes to a cellar.
pub struct When {
    cellar: Cellar,
    what: What,
}

impl Cellar {
    /// An empty cellar on the first of September 2026, eight in the morning.
    pub fn new() -> Cellar {
        Cellar {
            state: State::default(),
            device: Device::new("test").expect("a device"),
            n: 0,
            now: moment("2026-09-01T08:00:00+02:00"),
        }
    }

    /// A small cellar. Room `long`: row A of 2 stacks, 2 tiers, 2 sides; row B of 1 stack, 1 tier, 4 sides. Origins
    /// `block-1`, `block-2` (red) and `block-w` (white); lots `R` and `S` (red) and `W` (white). Tank `T` of 5,000 L
    /// with 2,000 L of R from block-1, tank `U` of 5,000 L with 1,000 L of S from block-2, tank `V` of 1,000 L with 500 L
    /// of W from block-w. Barrels of 225 L: `B1` and `B2` full of R at A-01-1-a and A-01-1-b, `E` empty at A-01-2-a.
    pub fn furnished() -> Cellar {
        let mut cellar = Cellar::new().given(json!({
            "kind": "room_laid_out", "room": "long", "rows": [
                {"row": "A", "stacks": 2, "tiers": 2, "sides": 2},
                {"row": "B", "stacks": 1, "tiers": 1, "sides": 4},
            ],
        }));
        for (origin, colour) in [("block-1", "red"), ("block-2", "red"), ("block-w", "white")] {
            cellar = cellar.given(json!({
                "kind": "origin_declared", "origin": origin, "block": "Terrace", "variety": "Syrah", "vintage": 2026,
                "appellation": "Hillside", "colour": colour,
            }));
        }
        for (lot, colour) in [("R", "red"), ("S", "red"), ("W", "white")] {
            cellar = cellar.given(json!({"kind": "lot_opened", "lot": lot, "colour": colour}));
        }
        for (tank, capacity, lot, origin, litres) in [
            ("T", 5_000, "R", "block-1", 2_000),
            ("U", 5_000, "S", "block-2", 1_000),
            ("V", 1_000, "W", "block-w", 500),
        ] {
            cellar = cellar.given(tank_of(tank, capacity)).given(json!({
                "kind": "wine_received", "vessel": tank, "lot": lot,
                "parts": [{"origin": origin, "volume_ul": litres * LITRE}],
            }));
        }
        for (barrel, place) in [("B1", "long/A-01-1-a"), ("B2", "long/A-01-1-b"), ("E", "long/A-01-2-a")] {
            cellar = cellar.given(barrel_of(barrel, 225)).given(placed(barrel, place));
        }
        cellar.given(moved("T", "B1", 225 * LITRE)).given(moved("T", "B2", 225 * LITRE))
    }

    /// The furnished cellar of a house whose checklist does not hold a run.
    pub fn furnished_to_bottle() -> Cellar {
        Cellar::furnished().given(json!({"kind": "practice_set", "checklist": "warns"}))
    }

    /// The clock is put to a moment.
    pub fn at(mut self, text: &str) -> Cellar {
        self.now = moment(text);
        self
    }

    /// So many days pass.
    pub fn days(mut self, days: i64) -> Cellar {
        self.now = self.now.at_instant(self.now.instant() + days * 86_400_000_000);
        self
    }

    /// So many seconds pass; below nothing the clock is put back.
    pub fn seconds(mut self, seconds: i64) -> Cellar {
        self.now = self.now.at_instant(self.now.instant() + seconds * 1_000_000);
        self
    }

    /// What the clock says.
    pub fn now(&self) -> Moment {
        self.now
    }

    /// A fact that may be done was done.
    #[track_caller]
    pub fn given(self, told: impl Told) -> Cellar {
        self.when(told).then_taken()
    }

    /// A fact of the log, whether it may be done or not.
    #[track_caller]
    pub fn loaded(self, told: impl Told) -> Cellar {
        self.folded(&told.what(), false)
    }

    fn folded(mut self, what: &What, despite: bool) -> Cellar {
        self.n += 1;
        self.now = self.now.at_instant(self.now.instant() + 60_000_000);
        let id = FactId { device: self.device.clone(), n: self.n };
        let stamp = Stamp { despite, ..Stamp::new(id, self.now) };
        evolve(&mut self.state, &stamp, what);
        self
    }

    /// What is asked before something is entered.
    #[track_caller]
    pub fn asks(&self, told: impl Told) -> Vec<String> {
        self.state.questions(&[told.what()], self.now).iter().map(ToString::to_string).collect()
    }

    /// A fact comes.
    #[track_caller]
    pub fn when(self, told: impl Told) -> When {
        When { cellar: self, what: told.what() }
    }

    /// The vessel of a label.
    #[track_caller]
    pub fn vessel(&self, label: &str) -> &Vessel {
        self.state.vessels.by_label(label).unwrap_or_else(|| panic!("no vessel {label}"))
    }

    /// The round of a label.
    #[track_caller]
    pub fn round(&self, label: &str) -> &Round {
        self.state.rounds.by_label(label).unwrap_or_else(|| panic!("no round {label}"))
    }

    /// The label of the lot that a vessel holds.
    #[track_caller]
    pub fn lot(&self, vessel: &str) -> Option<&str> {
        self.vessel(vessel).lot.map(|lot| self.state.lots.get(lot).label.as_str())
    }

    /// Where a vessel lies, as it is written.
    #[track_caller]
    pub fn place(&self, vessel: &str) -> Option<String> {
        self.state.place_of(self.vessel(vessel)).map(|place| place.to_string())
    }

    /// What a vessel's wine is made of: origin and microlitres, in the order of the origins.
    #[track_caller]
    pub fn parts(&self, vessel: &str) -> Vec<(&str, u64)> {
        let name = |origin| self.state.origins.get(origin).0.origin.as_str();
        self.vessel(vessel)
            .wine
            .parts()
            .iter()
            .map(|part| (part.origin.map_or("", name), part.volume.as_ul()))
            .collect()
    }

    /// The sum of a line of a vessel's account, microlitres.
    #[track_caller]
    pub fn sum(&self, vessel: &str, entry: Entry) -> u64 {
        self.vessel(vessel).account().sum(entry).as_ul()
    }

    /// The ledger since an earlier state of this cellar.
    pub fn ledger_since(&self, earlier: &Cellar, division: Division) -> Vec<Row> {
        ledger(&earlier.state, &self.state, division)
    }

    /// The sentences of all discrepancies, with whether the fact was counted.
    pub fn discrepancies(&self) -> Vec<(&str, bool)> {
        self.state.discrepancies.iter().map(|found| (found.problem.as_str(), found.counted)).collect()
    }

    /// The label of the barrel and what it took, the thirstiest first.
    #[track_caller]
    pub fn thirsty(&self, round: &str) -> Vec<(&str, Volume)> {
        let name = |id| self.state.vessels.get(id).label.as_str();
        self.round(round).thirsty().into_iter().map(|(id, volume)| (name(id), volume)).collect()
    }

    /// The labels of the barrels that a round left out.
    #[track_caller]
    pub fn skipped(&self, round: &str) -> Vec<&str> {
        self.round(round).skipped().into_iter().map(|id| self.state.vessels.get(id).label.as_str()).collect()
    }

    /// A vessel holds so many microlitres.
    #[track_caller]
    pub fn holds(self, vessel: &str, microlitres: u64) -> Cellar {
        assert_eq!(self.vessel(vessel).volume(), Volume::from_ul(microlitres), "what {vessel} holds");
        self
    }

    /// A line of a vessel's account has so many microlitres.
    #[track_caller]
    pub fn booked(self, vessel: &str, entry: Entry, microlitres: u64) -> Cellar {
        let sum = Volume::from_ul(self.sum(vessel, entry));
        assert_eq!(sum, Volume::from_ul(microlitres), "{entry:?} of {vessel}");
        self
    }

    /// A vessel holds a lot.
    #[track_caller]
    pub fn has_lot(self, vessel: &str, lot: impl Into<Option<&'static str>>) -> Cellar {
        assert_eq!(self.lot(vessel), lot.into(), "the lot of {vessel}");
        self
    }

    /// A vessel lies at a place.
    #[track_caller]
    pub fn lies_at(self, vessel: &str, place: impl Into<Option<&'static str>>) -> Cellar {
        assert_eq!(self.place(vessel).as_deref(), place.into(), "the place of {vessel}");
        self
    }
}

impl When {
    #[track_caller]
    fn refusal(&self) -> Refusal {
        let now = self.cellar.now;
        match decide(&self.cellar.state, &self.what, now, now) {
            Err(refusal) => refusal,
            Ok(()) => panic!("{:?} is taken", self.what),
        }
    }

    #[track_caller]
    fn refused(&self, part: &str) -> String {
        let sentence = self.refusal().to_string();
        assert!(sentence.contains(part), "refused, but not for “{part}”: {sentence}");
        assert!(sentence.ends_with('.') && sentence.chars().any(char::is_whitespace), "no sentence: {sentence}");
        sentence
    }

    /// It may be done, and is done without a discrepancy.
    #[track_caller]
    pub fn then_taken(self) -> Cellar {
        let now = self.cellar.now;
        if let Err(refusal) = decide(&self.cellar.state, &self.what, now, now) {
            panic!("{:?} is refused: {refusal}", self.what);
        }
        let kept = self.cellar.state.discrepancies.len();
        let cellar = self.cellar.loaded(self.what);
        assert_eq!(cellar.discrepancies()[kept..], [], "a discrepancy though it was taken");
        cellar
    }

    /// It may be done despite a hold or a checklist, and is done without a discrepancy.
    #[track_caller]
    pub fn then_taken_despite(self) -> Cellar {
        let now = self.cellar.now;
        if let Err(refusal) = decide_despite(&self.cellar.state, &self.what, true, now, now) {
            panic!("{:?} is refused: {refusal}", self.what);
        }
        let kept = self.cellar.state.discrepancies.len();
        let cellar = self.cellar.folded(&self.what, true);
        assert_eq!(cellar.discrepancies()[kept..], [], "a discrepancy though it was taken");
        cellar
    }

    /// What is asked before it is done.
    pub fn asked(&self) -> Vec<String> {
        let questions = self.cellar.state.questions(std::slice::from_ref(&self.what), self.cellar.now);
        questions.iter().map(ToString::to_string).collect()
    }

    /// It is refused with a sentence that has this part. The cellar is as it was.
    #[track_caller]
    pub fn then_refused(self, part: &str) -> Cellar {
        self.refused(part);
        self.cellar
    }

    /// It is refused; in a log that is loaded it has no effect but a discrepancy that says the same.
    #[track_caller]
    pub fn then_has_no_effect(self, part: &str) -> Cellar {
        let sentence = self.refused(part);
        let before = self.cellar.state.clone();
        let mut after = self.cellar.loaded(self.what);
        let found = after.state.discrepancies.last().expect("a discrepancy").clone();
        assert_eq!((found.problem, found.counted), (sentence, false));
        let kept = std::mem::replace(&mut after.state, before.clone());
        let mut bare = kept.clone();
        (bare.facts, bare.last, bare.discrepancies) = (before.facts, before.last, before.discrepancies.clone());
        assert_eq!(bare, after.state, "it had an effect");
        after.state = kept;
        after
    }

    /// It is refused; in a log that is loaded it is counted all the same, with a discrepancy that says why not.
    #[track_caller]
    pub fn then_counted_in_doubt(self, part: &str) -> Cellar {
        let sentence = self.refused(part);
        let after = self.cellar.loaded(self.what);
        let found = after.state.discrepancies.last().expect("a discrepancy");
        assert_eq!((&found.problem, found.counted), (&sentence, true));
        after
    }

    /// It is refused as a likely slip of the hand; in a log that is loaded it is counted without a word.
    #[track_caller]
    pub fn then_a_slip(self, part: &str) -> Cellar {
        self.refused(part);
        let kept = self.cellar.state.discrepancies.len();
        let after = self.cellar.loaded(self.what);
        assert_eq!(after.discrepancies()[kept..], []);
        after
    }
}

/// A moment as it is written.
#[track_caller]
pub fn moment(text: &str) -> Moment {
    Moment::parse(text).unwrap_or_else(|error| panic!("{error}"))
}

/// A barrel of so many litres is registered.
pub fn barrel_of(label: &str, litres: u64) -> Value {
    json!({"kind": "vessel_registered", "vessel": label, "type": "barrel", "capacity_ul": litres * LITRE})
}

/// A tank of so many litres is registered.
pub fn tank_of(label: &str, litres: u64) -> Value {
    json!({"kind": "vessel_registered", "vessel": label, "type": "tank", "capacity_ul": litres * LITRE})
}

/// A vessel is placed.
pub fn placed(vessel: &str, place: &str) -> Value {
    json!({"kind": "vessel_placed", "vessel": vessel, "place": place})
}

/// Wine is moved, so many microlitres.
pub fn moved(from: &str, to: &str, microlitres: u64) -> Value {
    json!({"kind": "wine_moved", "from": from, "to": to, "volume_ul": microlitres, "purpose": "barrel_down"})
}

/// A vessel is topped from another, brimful.
pub fn topped(vessel: &str, from: &str, microlitres: u64) -> Value {
    json!({"kind": "topped", "vessel": vessel, "from": from, "volume_ul": microlitres})
}

/// A vessel is topped from another, not to the brim.
pub fn topped_in_part(vessel: &str, from: &str, microlitres: u64) -> Value {
    json!({"kind": "topped", "vessel": vessel, "from": from, "volume_ul": microlitres, "full": false})
}

/// Wine is lost.
pub fn lost(vessel: &str, microlitres: u64) -> Value {
    json!({"kind": "lost", "vessel": vessel, "volume_ul": microlitres, "cause": "spill"})
}
