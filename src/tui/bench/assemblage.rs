//! A blend at the screen: the ratio so far beside the one chosen, what each vessel is still to give, and the closing check.

use ratatui::text::Line;

use crate::cellar::core::fact::What;
use crate::cellar::core::question::Question;
use crate::cellar::core::state::{VesselId, WorkId};
use crate::cellar::jobs::bench::assemblage::{Against, Assemblage, Component};
use crate::cellar::jobs::floor::work::{Stop, Task, Tick};
use crate::tui::core::draw::paragraph;
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::theme::Meaning;
use crate::units::{Volume, points, poured, short_litres, show_percent_rounded};

/// How the blend that is walked stands; none where no blend is.
pub(in crate::tui) fn standing(model: &Model, work: WorkId) -> Option<Assemblage> {
    model.state.assemblage(work, model.now)
}

/// The blend and how far it has come, for the head: the ratio so far before the one chosen.
pub(in crate::tui) fn head_parts(model: &Model, id: WorkId, stands: &Assemblage) -> Vec<String> {
    let work = model.state.works.get(id);
    let progress = work.progress();
    let into = work.task.tank().map(|id| model.state.vessels.get(id));
    let room = into.map_or_else(String::new, |it| format!("{} room {}", it.label, short_litres(it.book_headspace())));
    let asked = work.stops.iter().zip(&stands.still).filter(|(stop, _)| stop.tick.is_none() || !stands.holds());
    let to_come: Volume = asked.map(|(_, still)| *still).sum();
    let ratio: Vec<String> = stands.wines.iter().map(ratio_words).collect();
    let mut parts = vec![format!("{} %", ratio.join(", ")), format!("{} of {} in", progress.done, progress.of)];
    if !to_come.is_zero() {
        parts.push(format!("{} to come", short_litres(to_come)));
    }
    parts.push(room);
    parts
}

fn ratio_words(wine: &Component) -> String {
    let running = wine.running.map_or_else(|| "-".to_owned(), tenths);
    format!("{} {running}/{}", wine.name, tenths(wine.share))
}

/// A share in percent to the tenth.
fn tenths(millionths: u32) -> String {
    show_percent_rounded(millionths, 1)
}

/// Goes on to the vessel that gives next, and says how much, and why it is not what was planned.
pub(in crate::tui) fn go_on(model: &mut Model, work: WorkId, after: Option<VesselId>) {
    let Some(stands) = standing(model, work) else { return };
    let (text, tone) = if let Some(next) = model.state.next_of_blend(work, after, model.now) {
        model.look_at(next);
        (next_words(model, work, &stands, next), Tone::Notice)
    } else {
        finished_words(&stands)
    };
    model.say_also(&text, tone);
}

fn next_words(model: &Model, work: WorkId, stands: &Assemblage, next: VesselId) -> String {
    let work = model.state.works.get(work);
    let label = &model.state.vessels.get(next).label;
    let stop = work.stops.iter().zip(&stands.still).find(|(stop, _)| stop.vessel == next);
    let Some((stop, &still)) = stop else { return format!("{label} is next.") };
    let even_so = if stands.correction.exact {
        String::new()
    } else {
        format!(" Even so a share stays off by {}: the wine or the room gives out.", off(stands))
    };
    if matches!(stop.tick, Some(Tick::Done(_))) {
        return format!("{label} again: {} more of it bring the ratio right.{even_so}", poured(still));
    }
    let planned = stop.volume;
    let than = |by: Volume, than: &str| {
        format!(", {} {than} than the {} planned, so that the ratio comes out", poured(by), poured(planned))
    };
    let why = match Against::of(still, planned) {
        Against::More(by) => than(by, "more"),
        Against::Less(by) => than(by, "less"),
        Against::AsPlanned => String::new(),
    };
    format!("{label} is next with {}{why}.{even_so}", poured(still))
}

/// By how much a share will be off at the most.
fn off(stands: &Assemblage) -> String {
    points(stands.correction.off)
}

/// A difference of shares in words, to a hundredth.
fn finished_words(stands: &Assemblage) -> (String, Tone) {
    if stands.holds() {
        (format!("Every wine is in, and every share within {}. Press z to close it.", stands.tolerance), Tone::Done)
    } else {
        let text = format!("No vessel can bring the ratio nearer: a share is off by {}. z shows it.", off(stands));
        (text, Tone::Refused)
    }
}

/// The claims that a blend costs, asked about as a whole before its first transfer: on the way to it every transfer would have
/// to be asked about.
pub(in crate::tui) fn claims_lost(model: &Model, id: WorkId) -> Vec<Question> {
    whole_blend(model, id).map_or_else(Vec::new, |whats| {
        let broken = model.state.broken_by(&whats, model.now, model.state.practice.rules);
        broken.into_iter().map(Question::from).collect()
    })
}

/// All that a blend is still to be given, while nothing was given to it.
fn whole_blend(model: &Model, id: WorkId) -> Option<Vec<What>> {
    let work = model.state.works.get(id);
    let gave = |stop: &Stop| matches!(stop.tick, Some(Tick::Done(_))) && work.task.fills() != Some(stop.vessel);
    if work.stops.iter().any(gave) {
        return None;
    }
    let stands = standing(model, id)?;
    let gives = work.stops.iter().zip(&stands.still).filter(|(_, still)| !still.is_zero());
    let gives: Vec<VesselId> = gives.map(|(stop, _)| stop.vessel).collect();
    model.state.done_as_expected(id, &gives, model.now).ok().map(|whole| whole.whats)
}

impl Model {
    /// What the blend that is walked still asks of the chosen vessel; none where no blend is walked or it gives nothing.
    #[must_use]
    pub fn still_asked(&self) -> Option<Volume> {
        let work = self.working.filter(|&id| matches!(self.state.works.get(id).task, Task::Blending { .. }))?;
        self.state.expected_at(work, self.chosen()?, self.now).filter(|still| !still.is_zero())
    }
}

/// What is still asked of the chosen vessel and how the ratio stands, for its card: names, words, how they are meant.
pub(in crate::tui) fn card_lines(model: &Model, id: VesselId) -> Vec<(&'static str, String, Meaning)> {
    let Some((working, stands)) = model.working.and_then(|work| Some((work, standing(model, work)?))) else {
        return Vec::new();
    };
    let Task::Blending { into, aim, .. } = &model.state.works.get(working).task else { return Vec::new() };
    let work = model.state.works.get(working);
    let Some(at) = work.stops.iter().position(|stop| stop.vessel == id).filter(|_| id != *into) else {
        return Vec::new();
    };
    let (stop, still) = (&work.stops[at], stands.still[at]);
    let mut lines = vec![("planned", poured(stop.volume), Meaning::Muted)];
    if matches!(stop.tick, Some(Tick::Done(_))) && !still.is_zero() && !stands.holds() {
        lines.push(("still", poured(still), Meaning::Due));
    } else if stop.tick.is_none() && Against::of(still, stop.volume) != Against::AsPlanned {
        lines.push(("to bring it right", poured(still), Meaning::Due));
    }
    let wine = &stands.wines[aim.parts[at].component as usize];
    let running = wine.running.unwrap_or(0);
    lines.push(("share", format!("{} % of {} %", tenths(running), tenths(wine.share)), Meaning::Base));
    lines
}

/// The blend so far, for the page that closes it: share by share against the tolerance, what would bring it right, and what
/// its label could say.
pub(in crate::tui) fn page(model: &Model, work: WorkId, stands: &Assemblage, width: usize) -> Vec<Line<'static>> {
    let mut lines = Vec::new();
    let mut say = |text: &str, meaning| lines.extend(paragraph(model, text, width, meaning));
    let came: Vec<String> = stands.wines.iter().map(|wine| format!("{} {}", wine.name, poured(wine.arrived))).collect();
    say(
        &format!("in: {}; {} of {} planned", came.join(", "), poured(stands.arrived), poured(stands.planned)),
        Meaning::Base,
    );
    // While wines are still to come their shares cannot be right.
    let is_over = model.state.works.get(work).stops.iter().all(|stop| stop.tick.is_some());
    let beyond = if is_over { Meaning::Over } else { Meaning::Muted };
    match &stands.closing {
        None => say("nothing has come in yet", Meaning::Due),
        Some(closing) => {
            for (words, share) in closing.words(&stands.names()).iter().zip(&closing.shares) {
                say(words, if share.within { Meaning::Fine } else { beyond });
            }
        }
    }
    if let Some((text, meaning)) = still_words(stands) {
        say(&text, meaning);
    }
    if let Some(text) = label_words(model, work) {
        say(&text, Meaning::Muted);
    }
    lines
}

/// What is still to come so that the ratio comes out; none where it holds.
fn still_words(stands: &Assemblage) -> Option<(String, Meaning)> {
    if stands.holds() && stands.correction.exact && stands.correction.volume <= stands.arrived {
        return None;
    }
    let still = stands.wines.iter().filter(|wine| !wine.still.is_zero());
    let still: Vec<String> = still.map(|wine| format!("{} {}", wine.name, poured(wine.still))).collect();
    if still.is_empty() {
        let text = format!("no vessel can bring it nearer; a share is off by {}", off(stands));
        return (!stands.holds()).then_some((text, Meaning::Over));
    }
    let comes = if stands.correction.exact {
        format!("the ratio comes out at {}", poured(stands.correction.volume))
    } else {
        format!("a share is off by {} even then", off(stands))
    };
    let meaning = if stands.holds() { Meaning::Muted } else { Meaning::Due };
    Some((format!("with {} more {comes}: esc, then n", still.join(", ")), meaning))
}

/// What the label of what is in the receiving vessel could say by the published least shares.
fn label_words(model: &Model, work: WorkId) -> Option<String> {
    let into = model.state.vessels.get(model.state.works.get(work).task.fills()?);
    let mut could: Vec<String> = Vec::new();
    for standing in model.state.claims(&into.wine, None).iter().filter(|standing| standing.held()) {
        let grapes = if standing.organic.is_some() { " by its grapes" } else { "" };
        let words = format!("{}{grapes} ({})", standing.what(), standing.percent());
        if !could.contains(&words) {
            could.push(words);
        }
    }
    (!could.is_empty()).then(|| format!("its label could say, for information: {}", could.join(", ")))
}
