//! `trial set`: glasses from a spreadsheet, codes and orders by chance, and the key under seal.

use std::collections::{BTreeMap, BTreeSet};
use std::io::Write;

use super::{enter, glasses, seal_line};
use crate::cellar::decide::decide;
use crate::cellar::fact::What;
use crate::cellar::label::Label;
use crate::cellar::moment::Moment;
use crate::cellar::trial::code::Code;
use crate::cellar::trial::setting::{ComponentSet, GlassSet, TrialSet};
use crate::cli::arguments::TrialSetArguments;
use crate::cli::complaint::{Complaint, Outcome};
use crate::cli::saying::Saying;
use crate::desk::Desk;
use crate::reckon::chance::Chance;
use crate::reckon::serving::{Question, codes, lay_out};
use crate::units::{Shares, Volume, VolumeUnit};

/// Bytes of the salt: as many as nobody can try.
const SALT_BYTES: usize = 16;

/// Sets a trial, or says what would be set.
pub fn set(
    desk: &mut Desk,
    asked: &TrialSetArguments,
    now: Moment,
    out: &mut dyn Write,
    saying: &mut Saying<'_>,
) -> Outcome {
    let shares = glasses::read(&asked.glasses, &asked.from, saying)?;
    let taken = desk.state().trials.iter().flat_map(|(_, trial)| trial.codes()).map(Code::number).collect();
    let fact = laid_out(asked, &shares, &taken)?;
    let (glasses, tasters, digest) = (fact.glasses.len(), fact.panel.len(), fact.digest());
    let flights = fact.servings.values().map(Vec::len).max().unwrap_or(0);
    let what = What::TrialSet(Box::new(fact));
    let glass = asked.glass.show(VolumeUnit::Millilitre, 1);
    let sizes = format!("{glasses} glasses of {glass}, {tasters} tasters, at most {flights} flights each");
    if asked.dry_run {
        decide(desk.state(), &what, now, now)?;
        return Ok(writeln!(out, "would be set: {}: {sizes}", asked.trial)?);
    }
    enter(desk, vec![what], &asked.by, now)?;
    writeln!(out, "set: {}: {sizes}\n{}", asked.trial, seal_line(&digest))?;
    saying.message(&format!("`trial pour '{}'` is the page for whoever pours, and only for them.", asked.trial));
    Ok(())
}

/// The fact of a trial whose codes, orders and hidden repeats are drawn by chance.
fn laid_out(asked: &TrialSetArguments, shares: &[Shares], taken: &BTreeSet<u16>) -> Outcome<TrialSet> {
    if asked.repeats > shares.len() {
        let sentence = format!("There are {} glasses, so that no more can be repeated.", shares.len());
        return Err(Complaint::Refused(sentence));
    }
    for (vessel, _) in asked.available.iter().chain(&asked.reserve) {
        if !asked.from.contains(vessel) {
            let sentence =
                format!("{vessel} is none of the vessels of the trial. Name it with --from, or leave it out.");
            return Err(Complaint::Refused(sentence));
        }
    }
    let mut bytes = [0; 8];
    let seed = match asked.seed {
        Some(seed) => seed,
        // A seed that JSON carries exactly in every program.
        None => u64::from_le_bytes(random(&mut bytes).map(|()| bytes)?) >> 12,
    };
    let mut salt = [0; SALT_BYTES];
    random(&mut salt)?;
    let salt = format!("{:032x}", u128::from_le_bytes(salt));
    let (glasses, servings) = drawn(shares, asked, taken, seed)?;
    let of =
        |list: &[(Label, Volume)], vessel: &Label| list.iter().find(|(of, _)| of == vessel).map(|(_, volume)| *volume);
    let component = |vessel: &Label| ComponentSet {
        vessel: vessel.clone(),
        available: of(&asked.available, vessel),
        reserve: of(&asked.reserve, vessel),
    };
    let mut fact = TrialSet {
        trial: asked.trial.clone(),
        components: asked.from.iter().map(component).collect(),
        glass: asked.glass,
        glasses,
        panel: asked.panel.clone(),
        servings,
        bounds: None,
        limits: None,
        seed: Some(seed),
        salt: Some(Label::new(&salt).map_err(|error| Complaint::Refused(error.to_string()))?),
        digest: None,
    };
    let digest = crate::cellar::label::Text::new(&fact.digest());
    fact.digest = Some(digest.map_err(|error| Complaint::Refused(error.to_string()))?);
    Ok(fact)
}

fn random(bytes: &mut [u8]) -> Outcome {
    getrandom::fill(bytes).map_err(|error| Complaint::Refused(format!("This machine gives no chance: {error}.")))
}

type Servings = BTreeMap<Label, Vec<Vec<Code>>>;

/// Draws hidden repeats, codes and each taster's order from a seed. No code is taken that another trial had.
fn drawn(
    shares: &[Shares],
    asked: &TrialSetArguments,
    taken: &BTreeSet<u16>,
    seed: u64,
) -> Outcome<(Vec<GlassSet>, Servings)> {
    let mut chance = Chance::from_seed(seed);
    let mut repeated: Vec<usize> = (0..shares.len()).collect();
    chance.shuffle(&mut repeated);
    repeated.truncate(asked.repeats);
    let count = shares.len() + repeated.len();
    let codes: Vec<Code> = codes(count, taken, &mut chance)?.into_iter().filter_map(Code::from_number).collect();
    let repeats = repeated.iter().map(|&index| (shares[index].clone(), Some(codes[index])));
    let poured = shares.iter().cloned().map(|shares| (shares, None)).chain(repeats);
    let glasses = poured.zip(&codes).map(|((shares, repeat_of), &code)| GlassSet { code, shares, repeat_of }).collect();
    let question = Question {
        glasses: count,
        repeats: (shares.len()..).zip(repeated).collect(),
        tasters: asked.panel.len(),
        flight: usize::from(asked.flight),
        most: usize::from(asked.most),
    };
    let orders = lay_out(&question, &mut chance)?.orders;
    let in_codes = |order: Vec<Vec<usize>>| {
        order.into_iter().map(|flight| flight.into_iter().map(|glass| codes[glass]).collect()).collect()
    };
    let servings = asked.panel.iter().cloned().zip(orders.into_iter().map(in_codes)).collect();
    Ok((glasses, servings))
}

#[cfg(test)]
mod tests {
    use clap::Parser;
    use std::collections::HashSet;

    use super::*;
    use crate::cli::arguments::{Arguments, Command, TrialStep};

    fn asked(words: &str) -> TrialSetArguments {
        let words = format!("barrelwalk trial set Q --from T,U --glasses g.csv --panel anna,ben {words}");
        let Some(Command::Trial { step: TrialStep::Set(asked) }) =
            Arguments::try_parse_from(words.split_whitespace()).unwrap().command
        else {
            panic!()
        };
        asked
    }

    fn none() -> BTreeSet<u16> {
        BTreeSet::new()
    }

    fn shares(count: u32) -> Vec<Shares> {
        (0..count).map(|part| Shares::from_millionths(vec![part, 1_000_000 - part]).unwrap()).collect()
    }

    #[test]
    fn the_same_seed_lays_out_the_same_and_every_taster_gets_every_glass_once() {
        let asked = asked("--repeats 2 --flight 5");
        let (glasses, servings) = drawn(&shares(10), &asked, &none(), 7).unwrap();
        assert_eq!(drawn(&shares(10), &asked, &none(), 7).unwrap(), (glasses.clone(), servings.clone()));
        assert_ne!(drawn(&shares(10), &asked, &none(), 8).unwrap().1, servings);
        let codes: HashSet<Code> = glasses.iter().map(|glass| glass.code).collect();
        assert_eq!((codes.len(), glasses.iter().filter(|glass| glass.repeat_of.is_some()).count()), (12, 2));
        for flights in servings.values() {
            assert_eq!(flights.iter().map(Vec::len).collect::<Vec<_>>(), [4, 4, 4]);
            assert_eq!(flights.iter().flatten().copied().collect::<HashSet<_>>(), codes);
        }
    }

    #[test]
    fn every_key_has_a_salt_and_a_digest_of_its_own() {
        let set = || laid_out(&asked("--seed 7"), &shares(3), &none()).unwrap();
        let (one, other) = (set(), set());
        assert_eq!(one.glasses, other.glasses);
        assert_ne!((&one.salt, one.digest()), (&other.salt, other.digest()));
        assert_eq!(one.digest.as_ref().map(|digest| digest.as_str().to_owned()), Some(one.digest()));
    }

    #[test]
    fn what_cannot_be_laid_out_is_refused() {
        for (words, part) in [("--repeats 4", "There are 3 glasses"), ("--reserve X=5", "X is none of the vessels")] {
            let sentence = laid_out(&asked(words), &shares(3), &none()).unwrap_err().sentence().unwrap();
            assert!(sentence.contains(part), "{sentence}");
        }
        assert!(drawn(&shares(901), &asked(""), &none(), 1).is_err());
    }
}
