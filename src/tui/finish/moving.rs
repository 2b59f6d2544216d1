//! Wine from one tank into another, on the screen: racked off its lees, or filtered.

use ratatui::text::Line;
use thiserror::Error;

use crate::cellar::core::fact::What;
use crate::cellar::core::label::{Label, Text, TextError};
use crate::cellar::core::question::Question;
use crate::cellar::core::state::{State, VesselId};
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::cellar::jobs::wood::moving::Purpose;
use crate::cellar::jobs::wood::moving::tank_to_tank::{MoveAsked, MovePlan};
use crate::told::hazard::Caution;
use crate::tui::core::asking;
use crate::tui::core::choice::{self, Choice, choice_line};
use crate::tui::core::draw::paragraph;
use crate::tui::core::line::Manner;
use crate::tui::core::list::Between;
use crate::tui::core::model::Model;
use crate::tui::core::page::{About, Before, Followed, Go, Opens, Page, Row, Table, Turn};
use crate::tui::core::sense::Sense;
use crate::tui::core::text::left;
use crate::tui::core::theme::Meaning;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::tui::floor::despite;
use crate::tui::floor::walking::Onward;
use crate::units::{ParseVolumeError, Volume, VolumeUnit, percent, poured, short_litres};

/// The most characters of the line.
const LINE_CHARACTERS: usize = 120;
/// So many targets are in sight at least.
const TARGETS_SHOWN: usize = 3;

/// A move from a tank, before it is entered.
#[derive(Clone, Debug, PartialEq)]
pub struct MovePage {
    /// The tank that the wine leaves.
    pub from: Label,
    /// Whether it is filtered; else it is racked.
    pub filters: bool,
    /// Which target is chosen.
    pub chosen: Choice<Label>,
    /// What is written: litres, losses, the filter.
    pub line: String,
}

/// Why a line says nothing of a move.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
enum MoveLineError {
    #[error(transparent)]
    Volume(#[from] ParseVolumeError),
    #[error(transparent)]
    Text(#[from] TextError),
}

impl MovePage {
    fn purpose(&self) -> Purpose {
        if self.filters { Purpose::Filtration } else { Purpose::Racking }
    }

    /// What is asked, of what is written: parts with commas between.
    fn asked(&self, from: VesselId, to: VesselId) -> Result<MoveAsked, MoveLineError> {
        let mut asked = MoveAsked::all(from, to, self.purpose());
        for part in self.line.split(", ").map(|part| part.trim().trim_end_matches(',')).filter(|part| !part.is_empty())
        {
            let (word, rest) = part.split_once(' ').unwrap_or((part, ""));
            let volume = |text: &str| Volume::parse(text, VolumeUnit::customary());
            match word {
                "lees" => asked.lees = volume(rest)?,
                "loss" => asked.loss = volume(rest)?,
                "empty" => asked.empties = true,
                "filter" => asked.filter = Some(Text::new(rest.trim())?),
                _ => asked.volume = Some(volume(part)?),
            }
        }
        Ok(asked)
    }

    /// The move into the target that is chosen, or why there is none.
    fn plan(&self, model: &Model) -> Result<MovePlan, String> {
        let from = model.state.vessels.find(self.from.as_str()).ok_or_else(|| format!("{} is gone.", self.from))?;
        let to = self.chosen.thing();
        let to = to.ok_or_else(|| format!("There is no other tank or keg to move {} into.", self.from))?;
        let into = self.chosen.there(&targets(&model.state, from)).and_then(|to| model.state.vessels.find(to.as_str()));
        let to = into.ok_or_else(|| choice::gone(to.as_str()))?;
        let asked = self.asked(from, to).map_err(|error| error.to_string())?;
        model.state.plan_move(&asked, model.now).map_err(|refusal| refusal.to_string())
    }
}

/// The tanks and kegs that wine can be moved into: empty ones first, and of each those with the most room.
fn targets(state: &State, from: VesselId) -> Vec<Label> {
    let can = |id: VesselId| {
        let vessel = state.vessels.get(id);
        id != from && vessel.vessel_type != VesselType::Barrel && vessel.retired.is_none()
    };
    let mut targets: Vec<VesselId> = state.vessels.iter().map(|(id, _)| id).filter(|&id| can(id)).collect();
    targets.sort_by_key(|&id| {
        let vessel = state.vessels.get(id);
        (!vessel.wine.is_empty(), std::cmp::Reverse(vessel.book_headspace()))
    });
    targets.into_iter().map(|id| state.vessels.get(id).label.clone()).collect()
}

/// Opens the page for a tank.
pub(in crate::tui) fn open(model: &mut Model, tank: VesselId) {
    let from = model.state.vessels.get(tank).label.clone();
    let chosen = Choice::first(&targets(&model.state, tank));
    model.open(MovePage { from, filters: false, chosen, line: String::new() });
}

impl Table for MovePage {
    const ABOUT: About = About {
        name: "From tank to tank",
        purpose: "Moves wine from a tank into another tank or a keg: racked off its lees, or filtered. A line says what arrived and what was \
                  lost: 968, lees 20, loss 4; with nothing typed all of it moves. Below stands what it comes to, and what it costs.\n\
                  What is improbable, or costs a claim, is asked about once.",
        opens: Opens::From("at a tank, d on the floor lists it"),
    };
    const ROWS: &'static [Row<MovePage>] = &[Row::new(
        Sense::OtherSide,
        "Rack or filter",
        "Turns from racking to filtering, and back.",
        |page: &mut MovePage, _| {
            page.filters = !page.filters;
            Turn::stay()
        },
    )
    .word(|page, _| Some(if page.filters { "rack" } else { "filter" }.to_owned()))];
}

impl MovePage {
    /// The vessels that its wine can be moved into.
    fn targets(&self, state: &State) -> Vec<Label> {
        state.vessels.find(self.from.as_str()).map_or_else(Vec::new, |from| targets(state, from))
    }

    /// Enters the move; what is improbable, or costs a claim, is asked about once.
    fn take(&self, model: &mut Model) -> Wishes {
        if let Some(why) = model.why_read_only() {
            return model.refuse(why);
        }
        let plan = match self.plan(model) {
            Ok(plan) => plan,
            Err(why) => {
                return model.refuse(why);
            }
        };
        let (lost, from) = (poured(plan.lost), &self.from);
        let whats = vec![What::WineMoved(Box::new(plan.moved.clone()))];
        if !asking::may_do(model, &whats, plan.questions.clone()) {
            return Vec::new();
        }
        let done = if self.filters { "filtered" } else { "racked" };
        let to = plan.moved.to.clone();
        let say = format!("{from} {done} into {to}: {} arrived, {lost} lost.", poured(plan.moved.volume));
        let act = model.act(whats);
        despite::enter(model, act, say, Onward::Vessel(to).then())
    }
}

impl Page for MovePage {
    fn title(&self, _model: &Model) -> String {
        let doing = if self.filters { "Filter" } else { "Rack" };
        format!("{doing} {} into", self.from)
    }

    fn caution(&self, _model: &Model) -> Caution {
        Caution::of_tanks(self.filters)
    }

    fn lines(&self, model: &Model, width: usize, height: usize) -> Vec<Line<'static>> {
        lines(model, self, width, height)
    }

    fn go(&mut self, model: &mut Model, go: Go, _last: usize) -> Turn {
        self.chosen.go(model, &self.targets(&model.state), go);
        Turn::stay()
    }

    fn written(&self) -> Option<&str> {
        Some(&self.line)
    }

    fn written_mut(&mut self) -> Option<&mut String> {
        Some(&mut self.line)
    }

    fn manner(&self) -> Manner {
        Manner::over_list(LINE_CHARACTERS)
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        Some(if self.filters { "filter it" } else { "rack it" }.to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        Some(self.take(model).into())
    }

    /// The wine is looked at where it is now.
    fn stored(&mut self, _model: &mut Model, then: Then) -> Turn {
        Turn::to_floor_and_stored(then)
    }

    fn follow(&mut self, model: &mut Model, _before: &Before<'_>) -> Followed {
        if model.state.vessels.find(self.from.as_str()).is_none() {
            return Followed::Gone(self.from.to_string());
        }
        let targets = self.targets(&model.state);
        self.chosen.follow(&targets, ToString::to_string)
    }
}

/// The targets, the line, and what the move comes to.
fn lines(model: &Model, page: &MovePage, width: usize, height: usize) -> Vec<Line<'static>> {
    let Some(from) = model.state.vessels.find(page.from.as_str()) else { return Vec::new() };
    let targets = targets(&model.state, from);
    let list = Between {
        above: Vec::new(),
        lines: targets.len(),
        chosen: page.chosen.place_or_stood(&targets),
        least: TARGETS_SHOWN,
        below: below(model, page, width),
    };
    list.lines(model, (width, height), |at| {
        let target = &targets[at];
        choice_line(model, page.chosen.is(target), &target_line(model, target), width)
    })
}

fn target_line(model: &Model, target: &Label) -> String {
    let Some(vessel) = model.state.vessels.by_label(target.as_str()) else { return String::new() };
    let (label, room) = (left(vessel.label.as_str(), 12, model.looks.marks), short_litres(vessel.book_headspace()));
    match vessel.lot {
        None => format!("{label} room {room:>7}, empty"),
        Some(lot) => {
            format!("{label} room {room:>7}, {} of {}", short_litres(vessel.volume()), model.state.lots.get(lot).label)
        }
    }
}

fn below(model: &Model, page: &MovePage, width: usize) -> Vec<Line<'static>> {
    let mut lines = vec![model.question_line("arrived, litres: ", &page.line, width)];
    let mut say = |text: &str, meaning| lines.extend(paragraph(model, text, width, meaning));
    match page.plan(model) {
        Ok(plan) => {
            say(&comes_to(&plan), Meaning::Base);
            if let Some(lot) = plan.lot {
                say(&format!("{} holds {} then.", plan.moved.to, model.state.lots.get(lot).label), Meaning::Base);
            }
            say(&turbidity_words(page, &plan), Meaning::Base);
            if let Some(hold) = &plan.barred {
                say(&hold.to_string(), Meaning::Held);
            }
            for question in &plan.questions {
                let is_claim = matches!(question, Question::ClaimLost { .. });
                say(&question.to_string(), if is_claim { Meaning::Over } else { Meaning::Warning });
            }
        }
        Err(why) => say(&why, Meaning::Due),
    }
    let lost = if page.filters {
        "968, loss 20: what arrived, and what filter and hoses kept; filter coarse pads names the filter"
    } else {
        "968, lees 20, loss 4: what arrived, what stayed with the lees, what was lost on the way"
    };
    let how = format!(
        "With nothing typed all of it moves. {lost}; empty: nothing stays, what is left in the book is lost. tab: rack or filter."
    );
    say(&how, Meaning::Muted);
    lines
}

fn comes_to(plan: &MovePlan) -> String {
    let share = plan.lost_share().map_or_else(String::new, |share| format!(", {}", percent(1, share)));
    let stays = if plan.stays.is_zero() { "is empty then".to_owned() } else { format!("keeps {}", poured(plan.stays)) };
    let filter = plan.moved.filter.as_ref().map_or_else(String::new, |filter| format!(" through {filter}"));
    let (volume, lost) = (poured(plan.moved.volume), poured(plan.lost));
    format!("{volume} into {}{filter}; lost {lost}{share}; {} {stays}.", plan.moved.to, plan.moved.from)
}

fn turbidity_words(page: &MovePage, plan: &MovePlan) -> String {
    match plan.before {
        Some(before) => format!("Turbidity before: {} NTU, tested {}.", before.ntu, before.at.show_date()),
        None if page.filters => {
            "Turbidity is not tested: with a test before and one after, the filtration can be judged.".to_owned()
        }
        None => "Turbidity is not tested.".to_owned(),
    }
}
