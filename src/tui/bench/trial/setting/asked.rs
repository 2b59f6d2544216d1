//! What is written of a trial that is to be set, read; and the search for its glasses and for what they would tell.
//!
//! **A trial is set on the screen** by a search of its own (`tui/bench/trial/setting/asked.rs`): first the glasses under their seal, then
//! panel after panel of the table, of which the best so far is shown; enter sets the fact that was sealed at once, while the table goes on.
//! The page shows nothing of which glass is what.

use std::sync::Arc;
use std::time::{Duration, Instant};

use crate::cellar::core::label::{Label, TEXT_CHARACTERS, TextError};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::State;
use crate::cellar::jobs::bench::trial::Trial;
use crate::cellar::jobs::bench::trial::refusal::TrialRefusal;
use crate::cellar::jobs::bench::trial::setting::TrialSet;
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::cellar::views::bench::laying_out::TrialAsked;
use crate::cellar::views::books::lineage::NewWood;
use crate::desk::salt;
use crate::reckon::mixture::design::{Kind, Middles, USUAL_TRIES, lay_out};
use crate::reckon::mixture::{Criterion, Model as Fitted, USUAL_READING};
use crate::reckon::second_sitting::usual_count;
use crate::reckon::serving::{DAY, FLIGHT};
use crate::told::bench::{PANELS, rule, simulated, table};
use crate::tui::core::apart::{Apart, Search};
use crate::tui::core::fields::{Fields, Named};
use crate::units::{Volume, VolumeUnit, exact_millilitres, poured};

/// The lines that are written.
const NAMED: Named = Named {
    lines: &[
        (TRIAL, "its label"),
        (WINES, "the vessels: T1, T2, T3"),
        (BOUNDS, "T1=10..60%, T2=..30%"),
        (LIMITS, "alcohol 13..14; new wood <= 40%"),
        (BLEND, "3000 L, if so much is wanted"),
        (GLASSES, "how many in all"),
        (DESIGN, "left and right change it"),
        (PANEL, "who tastes: anna, ben"),
        (GLASS, "50 mL"),
    ],
    ..SECOND
};
/// The same of a second sitting: wines, bounds and limits are those of the first.
const SECOND: Named = Named {
    lines: &[(TRIAL, "its label"), (GLASSES, "how many in all"), (PANEL, "who tastes: anna, ben"), (GLASS, "50 mL")],
    columns: 14,
    longest: TEXT_CHARACTERS,
};
pub(super) const TRIAL: &str = "trial";
const WINES: &str = "wines";
const BOUNDS: &str = "bounds";
const LIMITS: &str = "limits";
const BLEND: &str = "blend wanted";
const GLASSES: &str = "glasses";
pub(super) const DESIGN: &str = "laid out";
const PANEL: &str = "panel";
const GLASS: &str = "in a glass";

/// Nobody looks at the table for longer before pouring, and a laptop in the cellar runs on its battery (our choice).
const LONGEST: Duration = Duration::from_secs(30);

/// Ways to lay glasses out.
pub(super) const DESIGNS: [(&str, Kind); 7] = [
    ("spread", Kind::Spread),
    ("fifths", Kind::Lattice(5)),
    ("tenths", Kind::Lattice(10)),
    ("centroid", Kind::Centroid),
    ("vertices", Kind::Corners(Middles::Faces)),
    ("optimal-i", Kind::Optimal(Criterion::Average)),
    ("optimal-d", Kind::Optimal(Criterion::Determinant)),
];

/// A trial that is laid out and not set yet.
#[derive(Clone, Debug, PartialEq)]
pub struct Laid {
    /// The fact that sets it.
    pub fact: TrialSet,
    /// What the glasses are for, and how good for that.
    pub judged: String,
    /// From which difference on they tell.
    pub rule: String,
    /// How far one rating strays, and how that is known.
    pub error: String,
    /// What is to be drawn from each vessel.
    pub drawn: String,
    /// What the blend that is wanted would take, and of which wine there is too little.
    pub supply: Vec<String>,
    /// What the panel would tell, as far as it is simulated, and by how many panels.
    pub table: Vec<String>,
    pub panels: usize,
    /// What must be known besides.
    pub shortfalls: Vec<String>,
}

/// What is proposed: a label that no trial has, the tanks that hold wine, and who tasted last.
pub(super) fn proposed(state: &State) -> Fields {
    // One more than there are trials is enough to find one that is free.
    let free = (1..=state.trials.len() + 1)
        .map(|number| format!("Trial {number}"))
        .find(|label| state.trials.find(label).is_none());
    let tanks = state.vessels.iter().map(|(_, vessel)| vessel);
    let tanks = tanks.filter(|it| it.vessel_type == VesselType::Tank && !it.wine.is_empty() && it.retired.is_none());
    let wines: Vec<&str> = tanks.map(|tank| tank.label.as_str()).take(4).collect();
    let last = state
        .trials
        .iter()
        .last()
        .map(|(_, trial)| trial.tasters().iter().map(|taster| taster.name.as_str()).collect::<Vec<_>>().join(", "));
    let nothing = String::new;
    let texts = vec![
        free.unwrap_or_default(),
        wines.join(", "),
        nothing(),
        nothing(),
        nothing(),
        "24".to_owned(),
        DESIGNS[0].0.to_owned(),
        last.unwrap_or_default(),
        "50 mL".to_owned(),
    ];
    Fields::new(&NAMED, texts)
}

/// What is proposed of a second sitting: a label that no trial has, the other four of ten glasses, and who tasted the first.
pub(super) fn proposed_second(state: &State, first: &Trial) -> Fields {
    let labels = ('b'..='z').map(|letter| format!("{} {letter}", first.label));
    let free = labels.into_iter().find(|label| state.trials.find(label).is_none());
    let panel: Vec<&str> = first.tasters().iter().map(|taster| taster.name.as_str()).collect();
    let texts = vec![
        free.unwrap_or_default(),
        usual_count(first.codes().len()).to_string(),
        panel.join(", "),
        exact_millilitres(first.glass_volume()),
    ];
    Fields::new(&SECOND, texts)
}

/// The way to lay glasses out that is written.
pub(super) fn design(fields: &Fields) -> Option<Kind> {
    DESIGNS.iter().find(|(word, _)| *word == fields.text(DESIGN)).map(|(_, kind)| *kind)
}

/// What is asked for, as the second sitting after a trial where one is named, or why it is not understood.
pub(super) fn read(fields: &Fields, after: Option<&Label>, seed: u64) -> Result<TrialAsked, String> {
    let written = design(fields).or(after.map(|_| Kind::Spread));
    let kind = written.ok_or("Say how the glasses are laid out: left and right go through the ways.")?;
    let count = match (kind, fields.text(GLASSES)) {
        (Kind::Spread | Kind::Optimal(_), text) if !text.is_empty() => {
            Some(text.parse().map_err(|_| format!("'{text}' is no number of glasses. Write it like 24."))?)
        }
        // The others have a number of their own.
        _ => None,
    };
    let wanted = Some(fields.text(BLEND)).filter(|text| !text.is_empty());
    let litres = wanted.map(|text| Volume::parse(text, VolumeUnit::customary()));
    let glass = Volume::parse(fields.text(GLASS), VolumeUnit::Millilitre).map_err(|error| error.to_string())?;
    Ok(TrialAsked {
        trial: Label::new(fields.text(TRIAL)).map_err(|error| error.to_string())?,
        from: labels(fields.text(WINES)).map_err(|error| error.to_string())?,
        after: after.cloned(),
        available: Vec::new(),
        reserve: Vec::new(),
        free_hand: Vec::new(),
        kind,
        model: Fitted::Quadratic,
        count,
        repeats: None,
        tries: USUAL_TRIES,
        bounds: parts(fields.text(BOUNDS)),
        limits: parts(fields.text(LIMITS)),
        litres: litres.transpose().map_err(|error| error.to_string())?,
        glass,
        read: USUAL_READING,
        panel: labels(fields.text(PANEL)).map_err(|error| error.to_string())?,
        flight: FLIGHT,
        most: DAY,
        seed,
    })
}

fn labels(text: &str) -> Result<Vec<Label>, TextError> {
    text.split([',', ';']).map(str::trim).filter(|part| !part.is_empty()).map(Label::new).collect()
}

/// Bounds and limits stand behind one another with semicolons, or commas and blanks, between: a comma alone may be a decimal sign.
fn parts(text: &str) -> Vec<String> {
    let parts = text.split(';').flat_map(|part| part.split(", ")).map(str::trim);
    parts.filter(|part| !part.is_empty()).map(str::to_owned).collect()
}

/// The search: the glasses first, then panel after panel of what they would tell.
pub(super) fn search(state: Arc<State>, asked: TrialAsked) -> Search {
    Search::of(move |apart| laid_out(apart, &state, &asked))
}

fn laid_out(apart: &Apart, state: &State, asked: &TrialAsked) -> Result<Laid, String> {
    let asked = &of_first(state, asked.clone())?;
    let wood = if asked.limits.is_empty() { NewWood::default() } else { new_wood(apart, apart.now())? };
    let found = state.lay_out_trial(asked.clone(), &wood, |region, wanted| {
        lay_out(region, wanted, &|| apart.is_stopped(), &mut |_| {})
    });
    let laid = found.map_err(|error| error.to_string())?;
    let salt = salt().map_err(|error| error.to_string())?;
    let fact = laid.sealed(state, salt).map_err(|error| error.to_string())?;
    let drawn = laid.draws(&fact).map_err(|error| error.to_string())?;
    let supply = laid.supply(state, &drawn);
    let drawn = laid.wines().iter().zip(drawn).map(|(vessel, draw)| format!("{vessel} {}", poured(draw.to_draw)));
    let (error, sizes) = (state.repeat_error(), laid.sizes());
    let mut told = Laid {
        judged: laid.judged(),
        rule: rule(sizes, laid.ratings(), &error),
        error: error.words(),
        drawn: drawn.collect::<Vec<_>>().join(", "),
        table: Vec::new(),
        panels: 0,
        supply,
        shortfalls: laid.shortfalls(),
        fact,
    };
    apart.so_far(told.clone());
    let Some(mut telling) = laid.telling() else { return Ok(told) };
    let begun = Instant::now();
    let is_due = || apart.is_stopped() || begun.elapsed() >= LONGEST;
    while told.panels < PANELS && !is_due() {
        telling.round(&is_due);
        let panels = simulated(&telling);
        if panels == told.panels {
            break;
        }
        (told.panels, told.table) = (panels, table(&telling, sizes, &error));
        apart.so_far(told.clone());
    }
    Ok(told)
}

/// The same with what a second sitting has of the first.
fn of_first(state: &State, asked: TrialAsked) -> Result<TrialAsked, String> {
    let Some(first) = &asked.after else { return Ok(asked) };
    let first =
        state.trials.by_label(first.as_str()).ok_or_else(|| TrialRefusal::Unknown(first.clone()).to_string())?;
    state.second_sitting(first, asked).map_err(|error| error.to_string())
}

/// How much of each wine has lain in new wood, as limits may ask.
fn new_wood(apart: &Apart, now: Moment) -> Result<NewWood, String> {
    let traced = apart.desk().and_then(|desk| desk.trace(now));
    traced.map(|tracer| tracer.new_wood()).map_err(|error| error.to_string())
}
