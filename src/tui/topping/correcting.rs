//! What is typed at a barrel that is done in the round or the work is what it took: the facts that said otherwise are taken
//! back and the right one is stored, as one act.

use crate::cellar::core::doing::{Doing, Within, much};
use crate::cellar::core::fact::FactId;
use crate::cellar::core::question::Question;
use crate::cellar::core::state::Vessel;
use crate::cellar::jobs::floor::work::{Task, Tick};
use crate::cellar::jobs::topping::round::Mark;
use crate::cellar::views::topping::correcting::Measured;
use crate::desk::Correction;
use crate::tui::core::asking;
use crate::tui::core::model::Model;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::tui::core::work::Work;
use crate::tui::edge::screen::Effect;
use crate::tui::floor::ending::Ending;
use crate::tui::floor::walking::Onward;
use crate::units::{Mass, Volume, VolumeUnit, poured};

/// The sign behind a measure that is given besides what was given before.
pub(in crate::tui) const MORE: char = '+';

/// Parts a measure from the sign that it is given besides what was given before.
pub(in crate::tui) fn parted(typed: &str) -> (&str, bool) {
    typed.strip_suffix(MORE).map_or((typed, false), |number| (number.trim_end(), true))
}

impl Model {
    /// Where the chosen vessel is done, so that what is typed there puts it right; none where it is not done, or where a blend
    /// is walked, to which a vessel gives as often as its ratio asks for.
    #[must_use]
    pub fn done_within(&self) -> Option<Within> {
        let chosen = self.chosen()?;
        match self.working {
            Some(id) => {
                let work = self.state.works.get(id);
                let is_blend = matches!(work.task, Task::Blending { .. });
                let done = work.stop(chosen).is_some_and(|stop| matches!(stop.tick, Some(Tick::Done(_))));
                (done && !is_blend).then_some(Within::Work(id))
            }
            None => matches!(self.mark()?, Mark::Topped(_)).then_some(Within::Round(self.round()?)),
        }
    }
}

/// Puts right what the chosen vessel took.
pub(in crate::tui) fn correct(model: &mut Model, within: Within, to: Measured) -> Wishes {
    let Some(vessel) = model.chosen_vessel() else { return Vec::new() };
    let label = vessel.label.clone();
    let doings: Vec<&Doing> = vessel.done_within(within).collect();
    if doings.is_empty() || !is_all(model, vessel, within, &doings) {
        let text =
            format!("What {label} took in all is not at hand any more. Type what more it took with + behind it.");
        return model.refuse(text);
    }
    let took: Vec<String> = doings.iter().map(|doing| doing.much()).collect();
    let of = doings.iter().map(|doing| doing.id.clone()).collect();
    let in_place = format!("{} in place of {}", measured(to), took.join(" and "));
    // Where nothing was left to go on to, the next number would write over the last without a word.
    let stays = model.stayed.as_ref() == Some(&label);
    let question = stays.then(|| Question::WrittenOver { vessel: label.clone(), in_place: in_place.clone() });
    if !asking::may_go_on(model, question) {
        return Vec::new();
    }
    let say = format!("{label}: {in_place}.");
    let answered = model.answered();
    let correction = Correction::Measured { of, to };
    vec![Effect::Work(Work::Correct {
        correction,
        by: model.enters().clone(),
        answered,
        say,
        then: Onward::Next.then(),
    })]
}

/// Whether what is remembered is all that was done there.
fn is_all(model: &Model, vessel: &Vessel, within: Within, doings: &[&Doing]) -> bool {
    let sum: Volume = doings.iter().map(|doing| doing.volume).sum();
    let id = model.state.vessels.find(vessel.label.as_str());
    let in_all = id.and_then(|id| match within {
        Within::Round(round) => model.state.rounds.get(round).marks.get(&id).map(|mark| mark.poured()),
        Within::Work(work) => match model.state.works.get(work).stop(id)?.tick? {
            Tick::Done(volume) => Some(volume),
            Tick::Skipped => None,
        },
        Within::Care(_) => None,
    });
    in_all == Some(sum)
}

fn measured(to: Measured) -> String {
    match to {
        Measured::Poured(volume, true) | Measured::Volume(volume) => much(volume, Mass::ZERO),
        Measured::Poured(volume, false) => format!("{}, not to the brim,", much(volume, Mass::ZERO)),
        Measured::Amount(amount) => much(Volume::ZERO, amount),
    }
}

/// A transfer of a blend was put right where its work is closed.
#[derive(Debug)]
pub(in crate::tui) struct Corrected;

/// Enter where a transfer of a blend is chosen: it was what is typed.
pub(in crate::tui) fn correct_given(model: &Model, ending: &Ending, id: &FactId) -> Result<Wishes, String> {
    if let Some(why) = model.why_read_only() {
        return Err(why);
    }
    let given = model.state.given_to(ending.work);
    let Some((vessel, doing)) = given.iter().find(|(_, doing)| doing.id == *id) else {
        return Err("That transfer is not there any more. Up and down choose another.".to_owned());
    };
    if ending.gauged.trim().is_empty() {
        return Err(format!("Type the litres that {} gave, or go down again.", model.state.vessels.get(*vessel).label));
    }
    let volume = Volume::parse(&ending.gauged, VolumeUnit::customary()).map_err(|error| error.to_string())?;
    let label = &model.state.vessels.get(*vessel).label;
    let say = format!("{label}: {} in place of {}.", poured(volume), doing.much());
    let correction = Correction::Measured { of: vec![id.clone()], to: Measured::Volume(volume) };
    let (by, answered) = (model.enters().clone(), model.answered());
    Ok(vec![Effect::Work(Work::Correct { correction, by, answered, say, then: Then::of(Corrected) })])
}
