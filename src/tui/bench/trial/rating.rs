//! Entering what tasters said: a glass a line, in the order of serving, each stored at once.

use ratatui::Frame;
use ratatui::layout::Rect;

use super::spot::Spot;
use super::tasting_sheet;
use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::core::question::Question;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::jobs::bench::trial::Trial;
use crate::cellar::jobs::bench::trial::code::Code;
use crate::cellar::jobs::bench::trial::rating::{GlassRated, Rating};
use crate::cellar::jobs::bench::trial::refusal::TrialRefusal;
use crate::cellar::jobs::bench::trial::said::{Said, Scale};
use crate::desk::Undone;
use crate::told::hazard::{Caution, Hazard};
use crate::tui::core::asking;
use crate::tui::core::line::Manner;
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::page::{About, Before, Followed, Go, Opens, Page, Row, Table, Turn};
use crate::tui::core::sense::Sense;
use crate::tui::core::then::Then;

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
    entered: usize,
}

impl Table for RatingPage {
    const ABOUT: About = About {
        name: "Glasses of a trial",
        purpose: "What a taster said, a glass a line in the order of serving: a score of 20 or a rank, then words. Each is stored at once. \
                  A code before it says which glass is meant.\n\
                  Up and down go from glass to glass, page up and page down from flight to flight, left and right from taster to taster.",
        opens: Opens::From("the page of a trial opens it"),
    };
    #[rustfmt::skip] // a table reads as a table
    const ROWS: &'static [Row<RatingPage>] = &[
        Row::new(Sense::OtherSide, "Scores or ranks", "Turns from scores to ranks for this flight, and back.", |page: &mut RatingPage, _| { page.scale = page.scale.other(); Turn::stay() }).word(|page, _| Some(format!("{}s", page.scale.other().word()))),
        Row::TAKE_BACK.unless(|page: &RatingPage, model| model.why_nothing_to_take_back(page.entered)),
        Row::new(Sense::Before, "The taster before", "Goes to the glasses of the taster before.", |page: &mut RatingPage, model| page.step_taster(model, -1)),
        Row::new(Sense::After, "The next taster", "Goes to the glasses of the next taster.", |page: &mut RatingPage, model| page.step_taster(model, 1)).word(|_, _| Some("taster".to_owned())),
    ];
}

impl RatingPage {
    /// The glasses of a taster, from the first of which nothing is said.
    pub(super) fn new(trial: &Trial, taster: usize) -> RatingPage {
        let spot = Spot::first_missing(trial, taster);
        let scale = spot.scale(trial).or_else(|| Spot::of_flight(taster, 0).scale(trial));
        let label = trial.label.clone();
        RatingPage { trial: label, spot, scale: scale.unwrap_or_default(), line: String::new(), entered: 0 }
    }

    fn of<'a>(&self, model: &'a Model) -> Option<&'a Trial> {
        model.state.trials.by_label(self.trial.as_str())
    }

    /// Goes to a glass, and to the scale of its flight where that has one.
    fn go_to(&mut self, trial: &Trial, spot: Spot) {
        if (spot.taster, spot.flight) != (self.spot.taster, self.spot.flight) {
            self.scale = spot.scale(trial).unwrap_or(self.scale);
        }
        self.spot = spot;
    }

    /// Goes to another glass of the flight.
    fn step(&mut self, model: &mut Model, go: Go) -> Turn {
        let to = |trial: &Trial, spot: Spot| {
            let last = spot.codes(trial).len().saturating_sub(1);
            Some(Spot { glass: go.line(spot.glass, last, last), ..spot })
        };
        self.lead(model, to, "")
    }

    /// Goes to another flight of the same taster.
    fn step_flight(&mut self, model: &mut Model, by: isize) -> Turn {
        let to = |trial: &Trial, spot: Spot| {
            let flight = spot.flight.checked_add_signed(by)?;
            trial.tasters().get(spot.taster)?.flights.get(flight)?;
            let first = Spot::of_flight(spot.taster, flight);
            Some(first.flight_spots(trial).find(|spot| spot.rating(trial).is_none()).unwrap_or(first))
        };
        self.lead(model, to, "This taster has no further flight there. Left and right go to the other tasters.")
    }

    /// Goes to another taster.
    fn step_taster(&mut self, model: &mut Model, by: isize) -> Turn {
        let to = |trial: &Trial, spot: Spot| {
            let taster = spot.taster.checked_add_signed(by)?;
            trial.tasters().get(taster).map(|_| Spot::first_missing(trial, taster))
        };
        self.lead(model, to, "There is no further taster there. Left and right go through the panel.")
    }

    /// Goes where a key leads, or says why it leads nowhere. What is written is not left behind.
    fn lead(&mut self, model: &mut Model, to: impl Fn(&Trial, Spot) -> Option<Spot>, nowhere: &str) -> Turn {
        if !model.may_leave_line(&self.line) {
            return Turn::stay();
        }
        let Some(trial) = self.of(model) else { return Turn::stay() };
        match to(trial, self.spot) {
            Some(spot) => self.go_to(trial, spot),
            None => model.say(nowhere, Tone::Notice),
        }
        Turn::stay()
    }

    /// Goes on to the next glass of the flight, else to the next flight or taster of whom something is missing.
    fn go_on(&mut self, model: &mut Model) {
        let Some(trial) = self.of(model) else { return };
        let before = self.spot;
        let next = before.next_of_flight(trial, self.scale).or_else(|| before.next_of_all(trial));
        let Some(next) = next else { return model.say(ALL_RATED, Tone::Done) };
        let name = next.name(trial).filter(|_| next.taster != before.taster).cloned();
        self.go_to(trial, next);
        if let Some(name) = name {
            model.say(format!("Now {name}."), Tone::Done);
        }
    }

    /// Goes on once a rating is stored.
    fn rated(&mut self, model: &mut Model) {
        self.line.clear();
        self.entered += 1;
        let Some(trial) = self.of(model) else { return };
        // A glass that was named by its code may be another than the one chosen, which is still to be rated then.
        let next = Some(self.spot).filter(|spot| spot.is_open(trial, self.scale));
        let next = next.or_else(|| self.spot.next_of_flight(trial, self.scale));
        let also = if next.is_none() { Some(flight_done(trial, self.spot)) } else { None };
        self.spot = next.unwrap_or(self.spot);
        if let Some(also) = also {
            model.say_also(&also, Tone::Done);
        }
    }

    /// Goes to the glass whose rating was taken back, or given back.
    fn returned(&mut self, model: &Model, rated: Option<&GlassRated>) {
        self.entered = self.entered.saturating_sub(1);
        if let Some(trial) = self.of(model)
            && let Some(rated) = rated.filter(|rated| rated.trial == self.trial)
            && let Some(spot) = super::spot::spots(trial).find(|spot| is_of(trial, *spot, rated))
        {
            self.go_to(trial, spot);
        }
    }
}

/// A rating is on disk.
#[derive(Debug)]
struct Rated;

impl Page for RatingPage {
    fn caution(&self, _model: &Model) -> Caution {
        Caution::of(&[Hazard::Tasting])
    }

    fn title(&self, _model: &Model) -> String {
        format!("Glasses of {}", self.trial)
    }

    /// Who tastes next may stand before it: what is under way names what is poured.
    fn has_own_head(&self) -> bool {
        true
    }

    fn draw(&self, model: &Model, frame: &mut Frame<'_>, area: Rect) {
        tasting_sheet::draw(model, self, frame, area);
    }

    fn go(&mut self, model: &mut Model, go: Go, _last: usize) -> Turn {
        match go {
            Go::PageUp => self.step_flight(model, -1),
            Go::PageDown => self.step_flight(model, 1),
            Go::Up | Go::Down | Go::Start | Go::End => self.step(model, go),
        }
    }

    fn written(&self) -> Option<&str> {
        Some(&self.line)
    }

    fn written_mut(&mut self) -> Option<&mut String> {
        Some(&mut self.line)
    }

    fn manner(&self) -> Manner {
        Manner::OF_CHOSEN
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        Some(if self.line.trim().is_empty() { "next" } else { "take" }.to_owned())
    }

    /// Stores what is written; with nothing written it goes on to what is missing.
    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        if self.line.trim().is_empty() {
            self.go_on(model);
            return Some(Turn::stay());
        }
        match taken(self.of(model)?, self) {
            Ok(Taken::Rated(rated, question)) => {
                if !asking::may_go_on(model, question) {
                    return Some(Turn::stay());
                }
                let say = format!("{}: {} is rated.", rated.taster, rated.code);
                Some(model.enter(vec![What::GlassRated(rated)], say, Then::of(Rated)).into())
            }
            Ok(Taken::Gone(spot)) => {
                if let Some(trial) = self.of(model) {
                    self.go_to(trial, spot);
                    self.line.clear();
                }
                Some(Turn::stay())
            }
            Err(why) => {
                model.say(why, Tone::Refused);
                Some(Turn::stay())
            }
        }
    }

    /// Clears what is written, or goes back to the page of the trial.
    fn esc(&mut self, model: &mut Model) -> Turn {
        if self.line.is_empty() {
            super::show(model, &self.trial);
            return Turn::back();
        }
        self.line.clear();
        Turn::stay()
    }

    fn stored(&mut self, model: &mut Model, then: Then) -> Turn {
        if then.word::<Rated>().is_some() {
            self.rated(model);
        } else {
            let rated = then.word().and_then(|undone: &Undone| match undone.done().next() {
                Some(What::GlassRated(rated)) => Some(&**rated),
                _ => None,
            });
            self.returned(model, rated);
        }
        Turn::stay()
    }

    /// At the glass of the same taster, flight and code.
    fn follow(&mut self, model: &mut Model, before: &Before<'_>) -> Followed {
        let label = self.trial.as_str();
        let glass = |trial, spot: &Spot| (Spot::name(*spot, trial).cloned(), spot.flight, Spot::code(*spot, trial));
        let found = before.state.trials.by_label(label).zip(self.of(model)).and_then(|(old, new)| {
            let same = glass(old, &self.spot);
            let is_same = |spot: &Spot| glass(new, spot) == same;
            Some(self.spot).filter(is_same).or_else(|| super::spot::spots(new).find(is_same))
        });
        match found {
            Some(spot) => {
                self.spot = spot;
                Followed::There
            }
            None => Followed::Gone(format!("The glass of {label}")),
        }
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

const ALL_RATED: &str =
    "Every glass of every taster is rated. esc goes to the page of the trial, where it is revealed.";

/// That a flight is done, and where enter leads.
fn flight_done(trial: &Trial, spot: Spot) -> String {
    let Some(next) = spot.next_of_all(trial) else { return ALL_RATED.to_owned() };
    let whose = next.name(trial).filter(|_| next.taster != spot.taster);
    let whose = whose.map_or_else(String::new, |name| format!(" of {name}"));
    format!("Flight {} is done; enter goes on to flight {}{whose}.", spot.flight_number(), next.flight_number())
}

fn is_of(trial: &Trial, spot: Spot, rated: &GlassRated) -> bool {
    let flight = rated.flight.is_none_or(|flight| flight == spot.flight_number());
    flight && spot.name(trial) == Some(&rated.taster) && spot.code(trial) == Some(rated.code)
}
