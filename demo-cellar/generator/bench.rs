//! Two trials at the bench: one of spring, tasted, opened and blended, and one that waits for its card.
//!
//! The glasses are laid out by the program's own designs. The panel has a stream of chance of its own, so that the rest of
//! the cellar goes on as it would without it; what it prefers is planted, with each taster's own leaning and scatter.

use std::collections::BTreeSet;

use anyhow::{Context, Result, ensure};
use barrelwalk::cellar::core::label::{Label, Text};
use barrelwalk::cellar::jobs::bench::trial::laying_out::Plan;
use barrelwalk::cellar::jobs::bench::trial::setting::{ComponentSet, TrialSet};
use barrelwalk::reckon::mixture::design::{Kind, Middles, USUAL_TRIES, Wanted, lay_out};
use barrelwalk::reckon::mixture::{Draw, Model, Region, Tanks, USUAL_SPARE, bounds_of_words, draws, parse_limit, pour};
use barrelwalk::units::{Shares, Volume};
use serde_json::{Value, json};

use super::book::{Cellar, Transfer};
use super::estate::{Colour, HARE_PATH, UPPER_TERRACE_24};
use super::log::{DESK, TROLLEY};
use super::vessel::{LITRE, ML};
use super::words::{RED_NOSE, RED_PALATE};

/// The press wine of 2024 lies in this tank until it is blended.
const PRESS_TANK: &str = "T3";
const PRESS_LOT: &str = "M24 Press";
const PRESS_LITRES: u64 = 1_000;
/// The blend of spring.
pub const BLEND_TANK: &str = "T4";
const BLEND_LOT: &str = "V24 Varrow";
const BLEND_LITRES: u64 = 3_000;
/// What is in a glass, and what the pipette reads.
const GLASS: Volume = Volume::from_ml(50);
const READING: Volume = Volume::from_ul(500);

/// A trial of the estate.
struct Tasting {
    label: &'static str,
    vessels: [&'static str; 3],
    bounds: [&'static str; 3],
    limits: &'static [&'static str],
    /// The blend that every glass is to be possible for.
    litres: u64,
    repeats: usize,
    panel: &'static [Palate],
    /// The ratio that the panel likes best, what it scores there, and how fast the score falls with each wine.
    best: [f64; 3],
    top: f64,
    falls: [f64; 3],
    seed: u64,
    salt: &'static str,
}

/// A taster: how far above the others, and how surely.
struct Palate {
    name: &'static str,
    leaning: f64,
    scatter: f64,
}

const fn palate(name: &'static str, leaning: f64, scatter: f64) -> Palate {
    Palate { name, leaning, scatter }
}

const SPRING: Tasting = Tasting {
    label: "Varrow 24",
    vessels: ["T1", "T8", PRESS_TANK],
    bounds: ["T1=30..80%", "T8=10..50%", "T3=..30%"],
    limits: &[],
    litres: BLEND_LITRES,
    repeats: 2,
    panel: &[
        palate("ta", 0.3, 0.45),
        palate("mk", -0.4, 0.5),
        palate("rsb", 0.0, 0.6),
        palate("jl", 0.6, 0.6),
        palate("ow", -0.2, 0.9),
    ],
    best: [0.5, 0.32, 0.18],
    top: 15.6,
    falls: [22.0, 18.0, 45.0],
    seed: 240_416,
    salt: "5d0e7c41a9b2f3846e15c07d92ab38f1",
};

const AUTUMN: Tasting = Tasting {
    label: "Varrow house red",
    vessels: ["T1", "T6", "T8"],
    bounds: ["T1=..60%", "T6=20..80%", "T8=..40%"],
    limits: &["T1 + T6 >= 70%"],
    litres: 1_600,
    repeats: 5,
    panel: &[
        palate("ta", 0.3, 0.45),
        palate("mk", -0.4, 0.5),
        palate("rsb", 0.0, 0.6),
        palate("jl", 0.6, 0.6),
        palate("ow", -0.2, 0.9),
        palate("fen", 0.1, 0.7),
    ],
    best: [0.3, 0.55, 0.15],
    top: 15.2,
    falls: [12.0, 14.0, 20.0],
    seed: 241_119,
    salt: "c81f4b6de20795a3718be4f6509d2c3a",
};

/// How many glasses the last taster of the open trial has still to taste.
const STILL_TO_TASTE: usize = 5;

impl Tasting {
    /// The fact, and what to draw from each vessel.
    fn laid_out(&self, available: &[Volume], taken: &BTreeSet<u16>) -> Result<(TrialSet, Vec<Draw>)> {
        let names = self.vessels.map(str::to_owned);
        let tanks = Tanks {
            available: available.iter().copied().map(Some).collect(),
            blend: Volume::from_ul(self.litres * LITRE),
        };
        let bounds = bounds_of_words(&names, &self.bounds.map(str::to_owned), Some(&tanks))?;
        let limits = self.limits.iter().map(|words| parse_limit(words, &names)).collect::<Result<_, _>>()?;
        let region = Region::new(bounds, limits)?;
        let wanted = Wanted {
            kind: Kind::Corners(Middles::Edges),
            model: Model::Quadratic,
            glasses: None,
            free_hand: Vec::new(),
            repeats: self.repeats,
            tries: USUAL_TRIES,
            seed: self.seed,
            steps: None,
        };
        let mixtures = lay_out(&region, &wanted, &|| false, &mut |_| {})?.mixtures();
        let pouring = pour(&region, &mixtures, GLASS, READING)?;
        let text = |words: String| if words.is_empty() { Ok(None) } else { Text::new(&words).map(Some) };
        let component = |vessel: &str| {
            Ok::<_, anyhow::Error>(ComponentSet { vessel: Label::new(vessel)?, available: None, reserve: None })
        };
        let plan = Plan {
            trial: Label::new(self.label)?,
            components: self.vessels.iter().map(|vessel| component(vessel)).collect::<Result<_>>()?,
            glass: GLASS,
            glasses: pouring.shares,
            after: None,
            bounds: text(region.bounds_in_words())?,
            limits: text(region.limits_in_words())?,
            panel: self.panel.iter().map(|palate| Label::new(palate.name)).collect::<Result<_, _>>()?,
            flight: 10,
            most: 45,
            seed: self.seed,
            salt: Label::new(self.salt)?,
        };
        let fact = plan.lay_out(taken)?;
        let draws = draws(pouring.volumes.iter().map(Vec::as_slice).zip(fact.times_served()), USUAL_SPARE)?;
        Ok((fact, draws))
    }

    /// What the panel as a whole would score.
    fn liking(&self, shares: &Shares) -> f64 {
        let fractions = shares.fractions();
        let off = |at: usize| fractions[at] - self.best[at];
        self.top - (0..3).map(|at| self.falls[at] * off(at) * off(at)).sum::<f64>()
    }
}

impl Cellar {
    /// The press wine of 2024 comes in from the press hall, where it was kept apart.
    pub fn receive_press_wine(&mut self) -> Result<()> {
        self.log.take_up(DESK, "ta");
        self.log.write("lot_opened", json!({ "lot": PRESS_LOT, "colour": Colour::Red.name() }))?;
        let (tank, volume) = (self.find(PRESS_TANK)?, PRESS_LITRES * LITRE);
        let origin = super::estate::LOTS[UPPER_TERRACE_24].origin();
        self.of_the_panel(|cellar| cellar.pour_in(tank, UPPER_TERRACE_24, volume))?;
        let parts = json!([{ "origin": origin, "volume_ul": volume }]);
        self.log.write("wine_received", json!({ "vessel": PRESS_TANK, "lot": PRESS_LOT, "parts": parts }))?;
        Ok(())
    }

    /// The trial of spring: set, tasted by everybody, and revealed.
    pub fn taste_in_spring(&mut self) -> Result<()> {
        let fact = self.set_trial(&SPRING)?;
        self.log.pass(3_600);
        let best = self.of_the_panel(|cellar| cellar.rate(&SPRING, &fact, 0))?;
        self.log.pass(600);
        self.log.write("trial_revealed", json!({ "trial": SPRING.label }))?;
        self.log.pass(1_200);
        let chosen = json!({
            "trial": SPRING.label, "code": best, "into": BLEND_TANK, "volume_ul": BLEND_LITRES * LITRE, "lot": BLEND_LOT,
            "work": blend_work(),
        });
        self.log.write("blend_chosen", chosen)?;
        self.chosen =
            fact.glasses.iter().find(|glass| glass.code.to_string() == best).map(|glass| glass.shares.clone());
        Ok(())
    }

    /// The blend is made: one tank after the other, by the meter. What is left of the press wine is sold.
    pub fn blend_in_spring(&mut self) -> Result<()> {
        let shares = self.chosen.take().context("no blend is chosen")?;
        let into = self.find(BLEND_TANK)?;
        self.log.take_up(TROLLEY, "rsb");
        self.of_the_panel(|cellar| {
            for (vessel, share) in SPRING.vessels.iter().zip(shares.fractions()).filter(|(_, share)| *share > 0.0) {
                let from = cellar.find(vessel)?;
                let off_ml = cellar.chance.normal(0.0, 2_000.0);
                let volume = Cellar::metered(share * BLEND_LITRES as f64 * 1_000.0 + off_ml);
                let job = Some(blend_work());
                let transfer = Transfer { from, to: into, volume, purpose: "blend", lees: 0, empties: false, job };
                cellar.transfer_as(&transfer, Some(BLEND_LOT))?;
                cellar.log.pass(1_500);
            }
            cellar.log.write("work_ended", json!({ "work": blend_work() }))?;
            cellar.log.pass(900);
            let press = cellar.find(PRESS_TANK)?;
            match cellar.vessels[press].book {
                0 => Ok(()),
                rest => cellar.lose(press, rest, "other", "the rest of the press wine, sold to the distillery"),
            }
        })?;
        ensure!(self.vessels[into].lot == Some(HARE_PATH), "the generator's book counts the blend as Hare Path's");
        Ok(())
    }

    /// The trial of autumn: set and tasted, but for the last glasses of one taster.
    pub fn taste_in_autumn(&mut self) -> Result<()> {
        let fact = self.set_trial(&AUTUMN)?;
        self.log.pass(3_600);
        self.of_the_panel(|cellar| cellar.rate(&AUTUMN, &fact, STILL_TO_TASTE))?;
        Ok(())
    }

    fn set_trial(&mut self, tasting: &Tasting) -> Result<TrialSet> {
        self.log.take_up(DESK, "ta");
        let vessels = tasting.vessels.map(|vessel| self.find(vessel));
        let mut available = Vec::new();
        for vessel in vessels {
            available.push(Volume::from_ul(self.vessels[vessel?].book));
        }
        let (fact, draws) = tasting.laid_out(&available, &self.codes)?;
        self.codes.extend(fact.glasses.iter().map(|glass| glass.code.number()));
        let mut fields = serde_json::to_value(&fact)?;
        if let Value::Object(fields) = &mut fields {
            fields.retain(|_, value| !value.is_null());
        }
        self.log.write("trial_set", fields)?;
        self.log.pass(300);
        for (vessel, draw) in tasting.vessels.iter().zip(draws) {
            let sample = format!("{} {vessel}", tasting.label);
            let tank = self.find(vessel)?;
            self.sample(tank, draw.to_draw.as_ul() / ML * ML, &sample, "bench trial")?;
            self.log.pass(180);
        }
        Ok(fact)
    }

    /// The sheets are typed in, taster by taster; the last leaves some glasses for another day. Gives the code that was liked best.
    fn rate(&mut self, tasting: &Tasting, fact: &TrialSet, left: usize) -> Result<String> {
        let mut sums = vec![0.0; fact.glasses.len()];
        for (at, (palate, name)) in tasting.panel.iter().zip(&fact.panel).enumerate() {
            let flights = fact.servings.get(name).context("a taster is served nothing")?;
            let served =
                flights.iter().zip(1..).flat_map(|(flight, number)| flight.iter().map(move |code| (number, *code)));
            let served: Vec<(u32, _)> = served.collect();
            let tasted = if at + 1 == tasting.panel.len() { served.len() - left } else { served.len() };
            for (flight, code) in served.into_iter().take(tasted) {
                let glass = fact.glasses.iter().position(|glass| glass.code == code).context("an unknown code")?;
                let liking = tasting.liking(&fact.glasses[glass].shares) + palate.leaning;
                let points = self.chance.normal(liking, palate.scatter);
                let score = (points * 2.0).round().clamp(0.0, 40.0) / 2.0;
                sums[glass] += score;
                let mut fields = json!({
                    "trial": tasting.label, "taster": palate.name, "code": code, "flight": flight, "score": score,
                });
                if self.chance.happens(0.4) {
                    let words = if self.chance.happens(0.5) { &RED_NOSE } else { &RED_PALATE };
                    fields["text"] = (*self.chance.pick(words)).into();
                }
                self.log.write("glass_rated", fields)?;
                self.log.pass(9);
            }
        }
        let best = (0..sums.len()).max_by(|&one, &other| sums[one].total_cmp(&sums[other])).context("no glass")?;
        Ok(fact.glasses[best].code.to_string())
    }

    /// Does something with the panel's chance in place of the cellar's.
    fn of_the_panel<T>(&mut self, job: impl FnOnce(&mut Cellar) -> Result<T>) -> Result<T> {
        std::mem::swap(&mut self.chance, &mut self.panel);
        let result = job(self);
        std::mem::swap(&mut self.chance, &mut self.panel);
        result
    }
}

fn blend_work() -> String {
    format!("blend {BLEND_LOT}")
}
