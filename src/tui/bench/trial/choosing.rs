//! From the reveal to the blend: the ratio is chosen, into which tank, how much and as which lot; enter begins the work of making it.

use ratatui::text::Line;

use crate::cellar::core::fact::What;
use crate::cellar::core::label::{Label, TEXT_CHARACTERS};
use crate::cellar::core::state::State;
use crate::cellar::jobs::bench::trial::blending::BlendChosen;
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::cellar::views::bench::blend::BlendPlan;
use crate::cellar::views::bench::trial_blend::TrialBlendAsked;
use crate::cellar::views::books::lineage::NewWood;
use crate::desk::Act;
use crate::told::hazard::Caution;
use crate::tui::core::asking::may_enter;
use crate::tui::core::fields::{Fields, Named};
use crate::tui::core::model::Model;
use crate::tui::core::page::{About, Before, Followed, Opens, Page, Row, Table, Turn};
use crate::tui::core::sense::Sense;
use crate::tui::core::sheet::Sheet;
use crate::tui::core::theme::Meaning;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::tui::floor::despite;
use crate::tui::floor::walking::Onward;
use crate::units::{Shares, Volume, VolumeUnit, litres};

/// The lines that are written.
const NAMED: Named = Named {
    lines: &[
        (RATIO, "left and right change it"),
        (INTO, "an empty tank; left and right"),
        (LITRES, "nothing: the most there is for"),
        (LOT, "what it is called"),
    ],
    columns: 14,
    longest: TEXT_CHARACTERS,
};
const RATIO: &str = "ratio";
const INTO: &str = "into";
const LITRES: &str = "litres";
const LOT: &str = "lot";

/// A ratio that is offered, and what it is called.
pub(super) type Offered = (String, Shares);

/// A blend that is to be begun.
#[derive(Clone, Debug)]
pub struct BlendPage {
    trial: Label,
    offered: Vec<Offered>,
    fields: Fields,
    /// What is planned, or why nothing is.
    plan: Result<Box<(BlendPlan, BlendChosen)>, String>,
}

/// Opens the page with the ratios that a reveal offers, the best first.
pub(super) fn open(model: &mut Model, trial: &Label, offered: Vec<Offered>) {
    let into = empty_tanks(&model.state).into_iter().next().unwrap_or_default();
    let first = offered.first().map(|(name, _)| name.clone()).unwrap_or_default();
    let fields = Fields::new(&NAMED, vec![first, into, String::new(), trial.to_string()]);
    let mut page = BlendPage { trial: trial.clone(), offered, fields, plan: Err(String::new()) };
    page.plan_anew(model);
    model.open(page);
}

/// Tanks that wine can come into, the largest first.
fn empty_tanks(state: &State) -> Vec<String> {
    let tanks = state.vessels.iter().map(|(_, vessel)| vessel);
    let mut empty: Vec<_> = tanks
        .filter(|it| it.vessel_type == VesselType::Tank && it.wine.is_empty() && it.retired.is_none())
        .map(|it| (it.capacity, it.label.to_string()))
        .collect();
    empty.sort_by(|(one, _), (other, _)| other.cmp(one));
    empty.into_iter().map(|(_, label)| label).collect()
}

impl BlendPage {
    /// Plans what is written.
    fn plan_anew(&mut self, model: &Model) {
        self.plan = self.planned(model).map(Box::new);
    }

    fn planned(&self, model: &Model) -> Result<(BlendPlan, BlendChosen), String> {
        let state = &model.state;
        let trial = state.trials.by_label(self.trial.as_str()).ok_or("The trial is not there any more.")?;
        let ratio = self.fields.text(RATIO);
        let shares = self.offered.iter().find(|(name, _)| name == ratio).map(|(_, shares)| shares.clone());
        let shares = shares.ok_or("Choose a ratio: left and right go through those that are offered.")?;
        let litres = match self.fields.text(LITRES) {
            "" => None,
            text => Some(Volume::parse(text, VolumeUnit::customary()).map_err(|error| error.to_string())?),
        };
        let lot = Label::new(self.fields.text(LOT)).map_err(|error| error.to_string())?;
        let into = match self.fields.text(INTO) {
            "" => return Err("Say which tank it is blended in.".to_owned()),
            text => Label::new(text).map_err(|error| error.to_string())?,
        };
        let work = state.new_work_label(&format!("blend {lot}"), model.now);
        let asked = TrialBlendAsked {
            code: None,
            shares: Some(shares),
            into,
            litres,
            keep: Vec::new(),
            tolerance: None,
            lot,
            work,
            despite: false,
        };
        // How much new wood it would have is told by the commands, which read all facts for it.
        state.plan_trial_blend(trial, &asked, &NewWood::default(), model.now).map_err(|error| error.to_string())
    }

    /// The value before or after: a ratio, or an empty tank.
    fn turn(&mut self, model: &Model, by: isize) -> Turn {
        let values = match self.fields.chosen() {
            RATIO => self.offered.iter().map(|(name, _)| name.clone()).collect(),
            _ => empty_tanks(&model.state),
        };
        self.fields.turn(&values, by);
        self.plan_anew(model);
        Turn::stay()
    }

    fn why_no_value(&self, _model: &Model) -> Option<String> {
        let why = "This line is written: left and right go through ratios and empty tanks.";
        (!matches!(self.fields.chosen(), RATIO | INTO)).then(|| why.to_owned())
    }

    /// Begins the work of it.
    fn begin(&self, model: &mut Model) -> Wishes {
        if let Some(why) = model.why_read_only() {
            return model.refuse(why);
        }
        let chosen = match &self.plan {
            Ok(plan) => plan.1.clone(),
            Err(why) => return model.refuse(why.clone()),
        };
        let Some(work) = chosen.work.clone() else {
            return model.refuse("No work for this lot can be named any more. Choose another lot.");
        };
        let say = format!("The work {work} has begun.");
        let whats = vec![What::BlendChosen(Box::new(chosen))];
        if !may_enter(model, &whats) {
            return Vec::new();
        }
        let act: Act = model.act(whats);
        despite::enter(model, act, say, Onward::Work(work).then())
    }
}

impl Table for BlendPage {
    const ABOUT: About = About {
        name: "The blend of a trial",
        purpose: "The ratio that is blended, the tank it is made in, how much, and the lot that it is. Below stands the largest batch by what \
                  there is, what comes from each vessel and what stays there. Enter begins it as a work, which is walked like any other.",
        opens: Opens::From("b at a trial that is revealed opens it"),
    };
    #[rustfmt::skip] // a table reads as a table
    const ROWS: &'static [Row<BlendPage>] = &[
        Row::new(Sense::After, "The next value", "Goes to the next ratio that is offered, or to the next empty tank.", |page: &mut BlendPage, model| page.turn(model, 1)).word(|_, _| Some("change".to_owned())).unless(BlendPage::why_no_value),
        Row::new(Sense::Before, "The value before", "Goes to the ratio before, or to the empty tank before.", |page: &mut BlendPage, model| page.turn(model, -1)).unless(BlendPage::why_no_value),
    ];
}

impl Page for BlendPage {
    fn title(&self, _model: &Model) -> String {
        format!("The blend of {}", self.trial)
    }

    fn caution(&self, _model: &Model) -> Caution {
        Caution::of_kind("blend_chosen")
    }

    fn lines(&self, model: &Model, width: usize, _height: usize) -> Vec<Line<'static>> {
        let on = Sheet { model, width };
        let mut lines = self.fields.lines(model, width);
        lines.push(Line::default());
        match &self.plan {
            Ok(plan) => lines.extend(planned(on, &plan.0, self.fields.text(LITRES).is_empty())),
            Err(why) => lines.extend(on.words(why, Meaning::Due)),
        }
        lines
    }

    fn fields(&self) -> Option<&Fields> {
        Some(&self.fields)
    }

    fn fields_mut(&mut self) -> Option<&mut Fields> {
        Some(&mut self.fields)
    }

    fn rewritten(&mut self, model: &mut Model) {
        self.fields.rewritten();
        self.plan_anew(model);
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        Some("begin".to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        Some(self.begin(model).into())
    }

    fn stored(&mut self, _model: &mut Model, then: Then) -> Turn {
        Turn::to_floor_and_stored(then)
    }

    fn follow(&mut self, model: &mut Model, _before: &Before<'_>) -> Followed {
        if model.state.trials.find(self.trial.as_str()).is_none() {
            return Followed::Gone(self.trial.to_string());
        }
        self.plan_anew(model);
        Followed::There
    }
}

/// What the plan comes to: how much, what comes from each vessel, and what stays there.
fn planned(on: Sheet<'_>, plan: &BlendPlan, is_most: bool) -> Vec<Line<'static>> {
    let label = |draw: &crate::cellar::views::bench::blend::Draw| on.model.state.vessels.get(draw.vessel).label.clone();
    let most = if is_most { ", the most there is for" } else { "" };
    let mut lines = on.words(&format!("{}{most}", litres(plan.batch.volume)), Meaning::Strong);
    for draw in &plan.draws {
        let text = format!("{} from {}, {} stay there", litres(draw.volume), label(draw), litres(draw.stays));
        lines.extend(on.words(&text, Meaning::Base));
    }
    let suspect =
        plan.suspect.iter().map(|&id| format!("The wine of {} is suspect.", on.model.state.vessels.get(id).label));
    lines.extend(suspect.flat_map(|words| on.words(&words, Meaning::Due)));
    lines
}
