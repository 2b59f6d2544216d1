//! Sittings that are read together: a trial that was laid out after another one, and that one, where it is revealed and was of the same
//! wines. A flight of an earlier sitting is an earlier flight of the same taster, so that nothing depends on how high a day was scored.
//!
//! As many as follow one another by the label in `after` are read together. Scores are brought to the level of the own day by the blends that
//! were poured at both, which changes which glass was put first, never the surface. A component keeps the lot that it was when its trial was
//! set, so that the same wines are known later. Glasses, places and orders told are of the one sitting; the ratio is of all.

use super::said::{Row, Said};
use crate::cellar::core::label::Label;
use crate::cellar::core::state::State;
use crate::cellar::jobs::bench::trial::{Component, Glass, Trial};
use crate::reckon::panel::table::Given;
use crate::reckon::surface::Rating;
use crate::units::Shares;

/// A sitting: what was in its glasses, and what was said of them.
pub(super) struct Sitting<'a> {
    pub trial: &'a Trial,
    pub glasses: &'a [Glass],
    pub said: Said,
}

/// The sittings before a trial that are read with it, the last one first, and why the one before them is not.
pub(super) fn before<'a>(
    state: &'a State,
    own: &Trial,
    whose: Option<&Label>,
    given: Given,
) -> (Vec<Sitting<'a>>, Option<String>) {
    let mut before: Vec<Sitting<'a>> = Vec::new();
    let mut after = own.after();
    while let Some(label) = after {
        // Logs that were merged may name one another.
        if *label == own.label || before.iter().any(|sitting| sitting.trial.label == *label) {
            break;
        }
        match sitting(state, own, label, whose, given) {
            Ok(sitting) => {
                after = sitting.trial.after();
                before.push(sitting);
            }
            Err(why) => return (before, Some(format!("The sitting {label} is not read with this one: {why}."))),
        }
    }
    (before, None)
}

/// An earlier sitting, or why it is not read with the trial.
fn sitting<'a>(
    state: &'a State,
    own: &Trial,
    label: &Label,
    whose: Option<&Label>,
    given: Given,
) -> Result<Sitting<'a>, String> {
    let trial = state.trials.by_label(label.as_str()).ok_or("no trial of that name is here")?;
    let key = trial.opened().ok_or("its key is still sealed; once it is revealed, both are read together")?;
    let vessels = |trial: &Trial| trial.components().iter().map(|it| it.vessel).collect::<Vec<_>>();
    if vessels(trial) != vessels(own) {
        return Err("it was of other vessels".to_owned());
    }
    let mut wines = own.components().iter().zip(trial.components());
    let other = |(now, then): &(&Component, &Component)| !now.is_wine_of(then);
    if let Some((component, _)) = wines.find(other) {
        return Err(format!("{} held another wine then", component.called));
    }
    let said = Said::as_given(trial, whose, given);
    if said.rows.is_empty() {
        let given = match given {
            Given::Scores => "scored",
            Given::Ranks => "ranked",
        };
        let by = whose.map_or_else(String::new, |name| format!(" by {name}"));
        return Err(format!("nothing was {given} there{by}"));
    }
    Ok(Sitting { trial, glasses: key.glasses(), said })
}

/// All that was said at some sittings, the trial's own first: who tasted, what each glass held, and the ratings.
pub(super) fn joined(sittings: &[Sitting<'_>]) -> (Vec<String>, Vec<Vec<f64>>, Vec<Rating>) {
    let (mut tasters, mut glasses, mut ratings) = (Vec::new(), Vec::new(), Vec::new());
    let mut flights = 0;
    for (at, sitting) in sittings.iter().enumerate() {
        let (first_glass, first_flight) = (glasses.len(), flights);
        let level = if at == 0 { 0.0 } else { level(&sittings[0], sitting) };
        for row in &sitting.said.rows {
            let name = if at == 0 { row.name.clone() } else { name_of_earlier(row, sitting.trial) };
            let taster = tasters.iter().position(|taster| *taster == name).unwrap_or_else(|| {
                tasters.push(name);
                tasters.len() - 1
            });
            for &(glass, flight, score) in &row.values {
                flights = flights.max(first_flight + flight + 1);
                let (flight, glass, score) = (first_flight + flight, first_glass + glass, score + level);
                ratings.push(Rating { taster, flight, glass, score });
            }
        }
        glasses.extend(sitting.glasses.iter().map(|glass| glass.shares.fractions()));
    }
    (tasters, glasses, ratings)
}

/// By how much the day of a sitting was scored higher than that of an earlier one: in the mean of the blends that were poured at both, of
/// all glasses where there is none. So a glass of one day is not put first because that day was scored high. Ranks have no level.
fn level(own: &Sitting<'_>, earlier: &Sitting<'_>) -> f64 {
    if own.said.given == Given::Ranks {
        return 0.0;
    }
    let is_at = |sitting: &Sitting<'_>, shares: &Shares| sitting.glasses.iter().any(|glass| glass.shares == *shares);
    let mean = |of: &Sitting<'_>, other: Option<&Sitting<'_>>| {
        let given = of.said.rows.iter().flat_map(|row| &row.values);
        let is_common = |glass: usize| other.is_none_or(|other| is_at(other, &of.glasses[glass].shares));
        let given: Vec<f64> = given.filter(|(glass, ..)| is_common(*glass)).map(|(.., score)| *score).collect();
        (!given.is_empty()).then(|| given.iter().sum::<f64>() / given.len() as f64)
    };
    let common = mean(own, Some(earlier)).zip(mean(earlier, Some(own)));
    common.or_else(|| mean(own, None).zip(mean(earlier, None))).map_or(0.0, |(own, earlier)| own - earlier)
}

/// A taster is the same at every sitting; an order of one flight is that sitting's.
fn name_of_earlier(row: &Row, trial: &Trial) -> String {
    if row.is_of_flight { format!("{} of {}", row.name, trial.label) } else { row.name.clone() }
}
