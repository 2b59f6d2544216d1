//! Entering what tasters said: a glass a line, in the order of serving, each stored at once.

use super::spot::Spot;
use crate::cellar::fact::What;
use crate::cellar::label::{Label, TEXT_CHARACTERS, is_unsafe};
use crate::cellar::question::Question;
use crate::cellar::refusal::Refusal;
use crate::cellar::state::State;
use crate::cellar::trial::Trial;
use crate::cellar::trial::code::Code;
use crate::cellar::trial::rating::{GlassRated, Rating};
use crate::cellar::trial::refusal::TrialRefusal;
use crate::cellar::trial::said::{Said, Scale};
use crate::tui::asking;
use crate::tui::command::Id;
use crate::tui::model::{Mode, Model, Tone};
use crate::tui::update::Wishes;
use crate::tui::work::Then;

/// The glasses of a taster's flight, and what is being written of one.
#[derive(Clone, Debug, PartialEq)]
pub struct RatingPage {
    /// Which trial.
    pub trial: Label,
    /// Which glass.
    pub spot: Spot,
    /// Whether scores or ranks are written.
    pub scale: Scale,
    /// What is being written.
    pub line: String,
    /// How many ratings were stored since the page was opened and still stand.
    pub entered: usize,
}

impl RatingPage {
    /// The glasses of a taster, from the first of which nothing is said.
    pub(super) fn new(trial: &Trial, taster: usize) -> RatingPage {
        let spot = Spot::first_missing(trial, taster);
        let scale = spot.scale(trial).or_else(|| Spot::of_flight(taster, 0).scale(trial));
        let label = trial.label.clone();
        RatingPage { trial: label, spot, scale: scale.unwrap_or_default(), line: String::new(), entered: 0 }
    }

    /// The same page in another state of the cellar; none where the glass is not there.
    pub(in crate::tui) fn followed(self, state: &State) -> Option<RatingPage> {
        self.spot.code(state.trials.by_label(self.trial.as_str())?)?;
        Some(self)
    }

    /// The same page where another program entered facts: at the glass of the same taster, flight and code, if it is there.
    pub(in crate::tui) fn followed_from(mut self, before: &State, after: &State) -> Option<RatingPage> {
        let trials = before.trials.by_label(self.trial.as_str()).zip(after.trials.by_label(self.trial.as_str()));
        let (old, new) = trials?;
        let glass = |trial, spot: &Spot| (Spot::name(*spot, trial).cloned(), spot.flight, Spot::code(*spot, trial));
        let same = glass(old, &self.spot);
        if glass(new, &self.spot) != same {
            self.spot = super::spot::spots(new).find(|spot| glass(new, spot) == same)?;
        }
        self.followed(after)
    }

    /// Takes back the last character.
    pub(in crate::tui) fn erase(&mut self) {
        self.line.pop();
    }

    /// What escape does, in a word for the bottom line.
    pub(in crate::tui) fn escape_word(&self) -> &'static str {
        if self.line.is_empty() { "back" } else { "clear" }
    }

    /// Goes to a glass, and to the scale of its flight where that has one.
    fn go_to(&mut self, trial: &Trial, spot: Spot) {
        if (spot.taster, spot.flight) != (self.spot.taster, self.spot.flight) {
            self.scale = spot.scale(trial).unwrap_or(self.scale);
        }
        self.spot = spot;
    }
}

/// What a line says, and of which glass.
#[derive(Debug, PartialEq)]
pub(super) struct Written {
    /// The glass: the one that is named, else the one that is chosen.
    pub spot: Spot,
    /// Whether the glass is named by its code.
    pub named: bool,
    /// What is said of it.
    pub said: Said,
}

impl Written {
    /// Reads a line: the code of a glass if it begins with three figures, then what is said of it.
    pub fn read(trial: &Trial, page: &RatingPage) -> Result<Written, String> {
        let line = page.line.trim();
        let (first, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
        let code = Code::parse(first).ok();
        let said =
            Said::read(if code.is_some() { rest } else { line }, page.scale).map_err(|error| error.to_string())?;
        let spot = match code {
            Some(code) => page.spot.of_code(trial, code).ok_or_else(|| no_glass(trial, page, code))?,
            None => page.spot,
        };
        check(trial, spot, &said, page.scale)?;
        Ok(Written { spot, named: code.is_some(), said })
    }

    /// What is to be asked before it is taken: whether a rating that stands is replaced, or words stand alone.
    fn question(&self, trial: &Trial, scale: Scale) -> Option<Question> {
        let code = self.spot.code(trial)?;
        let before = self.spot.rating(trial);
        if let Some(before) = before.filter(|before| self.named || self.writes_over(before, scale)) {
            let said = [before.score.map(|it| it.to_string()), before.rank.map(|it| format!("rank {it}"))];
            let said: Vec<String> = said.into_iter().flatten().collect();
            let said = if said.is_empty() { "rated".to_owned() } else { format!("rated, {},", said.join(", ")) };
            return Some(Question::GlassSaid { glass: format!("The glass {code}"), said });
        }
        let has_number = self.said.number.is_some() || before.is_some_and(|it| it.score.or(it.rank).is_some());
        (!has_number).then(|| Question::WordsAlone { number: scale.word(), example: scale.example() })
    }
}

impl Written {
    /// Whether something that was said of the glass would be written over.
    fn writes_over(&self, before: &Rating, scale: Scale) -> bool {
        let number = match scale {
            Scale::Score => before.score,
            Scale::Rank => before.rank,
        };
        (self.said.number.is_some() && number.is_some()) || (self.said.text.is_some() && before.text.is_some())
    }
}

fn no_glass(trial: &Trial, page: &RatingPage, code: Code) -> String {
    let Some(taster) = page.spot.name(trial).cloned() else { return String::new() };
    let codes: Vec<String> = page.spot.codes(trial).iter().map(Code::to_string).collect();
    let refusal = TrialRefusal::NotServed { taster, code, flight: None };
    format!("{refusal} This flight has {}.", codes.join(", "))
}

/// Refuses what is out of range. Ranks are given within a flight: there are as many as it has glasses.
fn check(trial: &Trial, spot: Spot, said: &Said, scale: Scale) -> Result<(), String> {
    let Some(number) = said.number else { return Ok(()) };
    let glasses = spot.codes(trial).len();
    match scale {
        Scale::Score if !(0.0..=20.0).contains(&number) => Err(Refusal::ScoreOutOfRange(number).to_string()),
        Scale::Rank if !(1.0..=glasses as f64).contains(&number) => {
            Err(TrialRefusal::RankOutOfRange { rank: number, glasses }.to_string())
        }
        Scale::Score | Scale::Rank => Ok(()),
    }
}

/// The page and its trial, while they are on the screen.
fn on_screen(model: &Model) -> Option<(RatingPage, &Trial)> {
    let Mode::Rating(page) = &model.mode else { return None };
    Some((page.clone(), model.state.trials.by_label(page.trial.as_str())?))
}

/// Takes characters into what is written.
pub(in crate::tui) fn type_in(page: &mut RatingPage, text: &str) {
    let room = TEXT_CHARACTERS.saturating_sub(page.line.chars().count());
    let text = text.chars().map(|character| if matches!(character, '\n' | '\t' | '\r') { ' ' } else { character });
    page.line.extend(text.filter(|character| !is_unsafe(*character)).take(room));
}

/// Goes to another glass of the flight.
pub(in crate::tui) fn step(model: &mut Model, by: isize) {
    let to = |trial: &Trial, spot: Spot| {
        let last = spot.codes(trial).len().saturating_sub(1);
        Some(Spot { glass: spot.glass.saturating_add_signed(by).min(last), ..spot })
    };
    go(model, to, "");
}

/// Carries out a command that only the glasses of a trial have.
pub(in crate::tui) fn carry_out(model: &mut Model, id: Id) {
    match id {
        Id::FlightBefore => step_flight(model, -1),
        Id::FlightAfter => step_flight(model, 1),
        Id::TasterBefore => step_taster(model, -1),
        Id::TasterAfter => step_taster(model, 1),
        Id::OtherScale => turn_scale(model),
        _ => {}
    }
}

/// Goes to another flight of the same taster.
fn step_flight(model: &mut Model, by: isize) {
    let to = |trial: &Trial, spot: Spot| {
        let flight = spot.flight.checked_add_signed(by)?;
        trial.tasters().get(spot.taster)?.flights.get(flight)?;
        let first = Spot::of_flight(spot.taster, flight);
        Some(first.flight_spots(trial).find(|spot| spot.rating(trial).is_none()).unwrap_or(first))
    };
    go(model, to, "This taster has no further flight there. Left and right go to the other tasters.");
}

/// Goes to another taster.
fn step_taster(model: &mut Model, by: isize) {
    let to = |trial: &Trial, spot: Spot| {
        let taster = spot.taster.checked_add_signed(by)?;
        trial.tasters().get(taster).map(|_| Spot::first_missing(trial, taster))
    };
    go(model, to, "There is no further taster there. Left and right go through the panel.");
}

/// Goes where a key leads, or says why it leads nowhere. What is written is not left behind.
fn go(model: &mut Model, to: impl Fn(&Trial, Spot) -> Option<Spot>, nowhere: &str) {
    let Some((mut page, trial)) = on_screen(model) else { return };
    if !page.line.trim().is_empty() {
        model.say("What is written is not taken yet: enter takes it, esc clears it.", Tone::Refused);
        return;
    }
    match to(trial, page.spot) {
        Some(spot) => {
            page.go_to(trial, spot);
            model.mode = Mode::Rating(page);
        }
        None => model.say(nowhere, Tone::Notice),
    }
}

/// Turns from scores to ranks for this flight, and back. What is written stays.
fn turn_scale(model: &mut Model) {
    if let Mode::Rating(page) = &mut model.mode {
        page.scale = page.scale.other();
    }
}

/// Clears what is written, or goes back to the page of the trial.
pub(super) fn leave(model: &mut Model) {
    let Mode::Rating(page) = &mut model.mode else { return };
    if page.line.is_empty() {
        let label = page.trial.clone();
        super::show(model, &label);
    } else {
        page.line.clear();
    }
}

/// Enter: stores what is written; with nothing written it goes on to what is missing.
pub(in crate::tui) fn take(model: &mut Model, page: &RatingPage) -> Wishes {
    let Some((_, trial)) = on_screen(model) else { return Vec::new() };
    if page.line.trim().is_empty() {
        go_on(model);
        return Vec::new();
    }
    match taken(trial, page) {
        Ok(Taken::Rated(rated, question)) => {
            if !asking::may_go_on(model, question) {
                return Vec::new();
            }
            let say = format!("{}: {} is rated.", rated.taster, rated.code);
            model.enter(vec![What::GlassRated(rated)], say, Then::NextGlass)
        }
        Ok(Taken::Gone(spot)) => {
            let mut page = page.clone();
            page.go_to(trial, spot);
            page.line.clear();
            model.mode = Mode::Rating(page);
            Vec::new()
        }
        Err(why) => {
            model.say(why, Tone::Refused);
            Vec::new()
        }
    }
}

/// What enter makes of a line.
enum Taken {
    /// A rating, and what is asked first.
    Rated(Box<GlassRated>, Option<Question>),
    /// The glass of a code is gone to.
    Gone(Spot),
}

/// What a line says, or why it cannot be.
fn taken(trial: &Trial, page: &RatingPage) -> Result<Taken, String> {
    let written = Written::read(trial, page)?;
    if written.named && written.said == Said::default() {
        return Ok(Taken::Gone(written.spot));
    }
    let question = written.question(trial, page.scale);
    let Written { spot, said, .. } = written;
    let glass = spot.name(trial).zip(spot.code(trial));
    let (taster, code) = glass.ok_or("There is no glass here. Press esc.")?;
    let rated = said.of(trial, taster, spot.flight_number(), code, page.scale);
    Ok(Taken::Rated(Box::new(rated), question))
}

/// Goes on to the next glass of the flight, else to the next flight or taster of whom something is missing.
fn go_on(model: &mut Model) {
    let Some((mut page, trial)) = on_screen(model) else { return };
    let before = page.spot;
    let next = before.next_of_flight(trial, page.scale).or_else(|| before.next_of_all(trial));
    let Some(next) = next else { return model.say(ALL_RATED, Tone::Done) };
    let name = next.name(trial).filter(|_| next.taster != before.taster).cloned();
    page.go_to(trial, next);
    model.mode = Mode::Rating(page);
    if let Some(name) = name {
        model.say(format!("Now {name}."), Tone::Done);
    }
}

const ALL_RATED: &str =
    "Every glass of every taster is rated. esc goes to the page of the trial, where it is revealed.";

/// Goes on once something is stored, on the page on which it was written.
pub(in crate::tui) fn stored(model: &mut Model, page: RatingPage, then: &Then) {
    match then {
        Then::NextGlass => rated(model, page),
        Then::ToGlass(rated) => returned(model, page, Some(rated)),
        _ => returned(model, page, None),
    }
}

fn rated(model: &mut Model, page: RatingPage) {
    let Some(mut page) = page.followed(&model.state) else { return };
    page.line.clear();
    page.entered += 1;
    let Some(trial) = model.state.trials.by_label(page.trial.as_str()) else { return };
    // A glass that was named by its code may be another than the one chosen, which is still to be rated then.
    let next = Some(page.spot).filter(|spot| spot.is_open(trial, page.scale));
    let next = next.or_else(|| page.spot.next_of_flight(trial, page.scale));
    let also = if next.is_none() { Some(flight_done(trial, page.spot)) } else { None };
    page.spot = next.unwrap_or(page.spot);
    model.mode = Mode::Rating(page);
    if let Some(also) = also {
        model.say_also(&also, Tone::Done);
    }
}

/// That a flight is done, and where enter leads.
fn flight_done(trial: &Trial, spot: Spot) -> String {
    let Some(next) = spot.next_of_all(trial) else { return ALL_RATED.to_owned() };
    let whose = next.name(trial).filter(|_| next.taster != spot.taster);
    let whose = whose.map_or_else(String::new, |name| format!(" of {name}"));
    format!("Flight {} is done; enter goes on to flight {}{whose}.", spot.flight_number(), next.flight_number())
}

/// Goes to the glass whose rating was taken back, or given back.
fn returned(model: &mut Model, page: RatingPage, rated: Option<&GlassRated>) {
    let Some(mut page) = page.followed(&model.state) else { return };
    page.entered = page.entered.saturating_sub(1);
    if let Some(trial) = model.state.trials.by_label(page.trial.as_str())
        && let Some(rated) = rated.filter(|rated| rated.trial == page.trial)
        && let Some(spot) = super::spot::spots(trial).find(|spot| is_of(trial, *spot, rated))
    {
        page.go_to(trial, spot);
    }
    model.mode = Mode::Rating(page);
}

fn is_of(trial: &Trial, spot: Spot, rated: &GlassRated) -> bool {
    let flight = rated.flight.is_none_or(|flight| flight == spot.flight_number());
    flight && spot.name(trial) == Some(&rated.taster) && spot.code(trial) == Some(rated.code)
}

impl Model {
    /// Why nothing is taken back among the ratings, if nothing is.
    #[must_use]
    pub fn why_nothing_to_take_back(&self) -> Option<String> {
        let entered = match &self.mode {
            Mode::Rating(page) => page.entered,
            _ => return None,
        };
        self.why_read_only().or_else(|| {
            let none = "Nothing was entered since this page was opened. On the floor u takes back what was before.";
            (entered == 0).then(|| none.to_owned())
        })
    }
}
