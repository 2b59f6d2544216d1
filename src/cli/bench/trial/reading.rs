//! What an opened trial says, at the desk: the words first, then glasses, tasters and ratios.

use crate::cellar::core::label::harmless;
use crate::cellar::jobs::bench::trial::code::Code;
use crate::cellar::jobs::bench::trial::outlook::{Outlook, Ratio, RatioReading};
use crate::cellar::jobs::bench::trial::rating::Rating;
use crate::cellar::jobs::bench::trial::reading::{GlassReading, PouredGlass, TrialReading, named};
use crate::cli::bench::panel::{self, PanelSeen};
use crate::cli::bench::surface;
use crate::cli::core::complaint::Outcome;
use crate::cli::table::cell::{Cell, rounded};
use crate::cli::table::column::Column;
use crate::cli::table::page::{Page, below};
use crate::reckon::panel::Standing;
use crate::reckon::panel::table::Given;
use crate::reckon::scale_up::Limit;
use crate::units::{Shares, figure, figure_to};

/// So many decimals of a score can be meant where it is reckoned.
const DECIMALS: i32 = 2;

/// What an opened trial says, and what could be blended.
pub struct Opened {
    /// What it says.
    pub reading: TrialReading,
    /// What could be blended.
    pub outlook: Outlook,
}

/// What is told of an opened trial.
pub fn columns() -> Vec<Column<Opened>> {
    vec![
        // Whether scores or ranks were read.
        Column::program("read", |it: &Opened| {
            Cell::from(match it.reading.given {
                Given::Scores => "scores",
                Given::Ranks => "ranks",
            })
        }),
        Column::within("remarks", |it| Cell::list(&it.reading.remarks)),
        Column::within("blends", |it| Cell::list(&it.outlook.blends)),
        Column::within("changed", |it| Cell::list(&it.outlook.changed)),
        Column::within("panel", |it| it.panel().map(|panel| Cell::thing(&panel::columns(), &panel)).into()),
        Column::program("no_panel", |it| it.reading.panel.as_ref().err().map(ToString::to_string).into()),
        Column::within("surface", |it| {
            let findings = it.reading.surface.as_ref().ok();
            findings.map(|reading| Cell::thing(&surface::columns(), &(reading, &it.poured()[..]))).into()
        }),
        Column::within("together", |it| Cell::list(&it.reading.together)),
        Column::program("no_surface", |it| it.reading.surface.as_ref().err().map(ToString::to_string).into()),
        Column::within("ratios", |it| Cell::things(&ratio_columns(), it.ratios())),
    ]
}

impl Opened {
    fn panel(&self) -> Option<PanelSeen<'_>> {
        self.reading.panel.as_ref().ok().map(PanelSeen::of)
    }

    /// The glasses as the surface has them.
    fn poured(&self) -> Vec<String> {
        self.reading.poured.iter().map(PouredGlass::to_string).collect()
    }

    fn ratios(&self) -> Vec<RatioOf<'_>> {
        self.outlook.ratios.iter().map(|ratio| (ratio, self.reading.components.as_slice())).collect()
    }

    /// All glasses, the best first.
    pub fn glasses(&self) -> Vec<GlassOf<'_>> {
        self.reading
            .glasses
            .iter()
            .map(|glass| GlassOf { code: glass.code, opened: Some((&self.reading, glass)) })
            .collect()
    }

    /// Gives it out for people, with the glasses.
    pub fn write(&self, page: &mut Page<'_>) -> Outcome {
        let (reading, panel) = (&self.reading, self.panel());
        page.sentences(&reading.surface_words())?;
        page.line("")?;
        match &panel {
            Some(panel) => page.sentences(panel.words())?,
            None => page.sentences(reading.panel.as_ref().err().map(ToString::to_string).as_slice())?,
        }
        for more in [&self.outlook.blends, &reading.remarks] {
            if !more.is_empty() {
                page.line("")?;
                page.sentences(more)?;
            }
        }
        page.section(
            "Glasses, the best first; those that share a letter are not told apart",
            &glass_columns(),
            &self.glasses(),
        )?;
        page.section("Ratios, and the largest batch of each by what there is now", &ratio_columns(), &self.ratios())?;
        self.outlook.changed.iter().try_for_each(|changed| below(page, &harmless(changed)))?;
        panel.iter().try_for_each(|panel| panel.write_numbers(page))?;
        reading.surface.iter().try_for_each(|said| surface::write_how_sure(said, page))
    }
}

/// A glass. What it held, and how it stands, is told once it is revealed.
pub struct GlassOf<'a> {
    code: Code,
    opened: Option<(&'a TrialReading, &'a GlassReading)>,
}

impl<'a> GlassOf<'a> {
    /// A glass of which only the code is known.
    pub const fn sealed(code: Code) -> GlassOf<'a> {
        GlassOf { code, opened: None }
    }

    fn of<V: Into<Cell>>(&self, value: impl Fn(&'a GlassReading) -> V) -> Cell {
        self.opened.map(|(_, glass)| value(glass)).into()
    }

    fn standing<V: Into<Cell>>(&self, value: impl Fn(&'a Standing) -> V) -> Cell {
        self.of(|glass| glass.standing.as_ref().map(&value))
    }

    fn ranked(&self, value: fn(&Standing) -> f64) -> Cell {
        self.standing(|it| (it.ranked > 0).then(|| shown(value(it))))
    }

    fn mean_rank(&self) -> Cell {
        self.ranked(|it| it.rank_sum / it.ranked as f64)
    }

    fn repeat_of(&self) -> Cell {
        self.of(|glass| glass.repeat_of.map(|of| of.to_string()))
    }
}

/// The columns of a list of glasses.
pub fn glass_columns<'a>() -> Vec<Column<GlassOf<'a>>> {
    vec![
        Column::both("place", "place", |it: &GlassOf<'_>| it.of(|glass| glass.place)).sparse(),
        Column::both("code", "code", |it| it.code.to_string().into()),
        Column::within("shares_ppm", |it| it.of(|glass| Cell::form(&glass.shares))),
        Column::within("repeat_of", GlassOf::repeat_of),
        Column::people("holds, %", |it: &GlassOf<'_>| {
            it.opened.map(|(reading, glass)| mixture(&reading.components, &glass.shares)).into()
        })
        .sparse(),
        Column::both("mean_score", "mean score", |it: &GlassOf<'_>| it.standing(|it| it.mean_score.map(shown)))
            .sparse(),
        Column::both("mean_rank", "mean rank", |it: &GlassOf<'_>| it.mean_rank()).sparse(),
        Column::both("rank_sum", "rank sum", |it: &GlassOf<'_>| it.ranked(|it| it.rank_sum)).sparse(),
        Column::both("groups", "groups", |it: &GlassOf<'_>| it.standing(|it| &it.groups)).sparse(),
        Column::both("expected", "expected", |it: &GlassOf<'_>| {
            it.of(|glass| glass.expected.map(|it| shown(it.score)))
        })
        .sparse(),
        Column::both("repeat_of", "the same as", |it: &GlassOf<'_>| it.repeat_of()).sparse().elsewhere(),
        Column::within("ratings", |it| it.of(|glass| glass.ratings.len())),
        Column::people("who", |it: &GlassOf<'_>| it.of(|glass| Cell::list(glass.ratings.iter().map(who)))).sparse(),
    ]
}

/// A taster and what the taster gave: `anna 15.5`, `ben rank 2`.
fn who(rating: &Rating) -> String {
    let score = rating.score.map(|score| format!(" {}", figure(score)));
    let rank = rating.rank.map(|rank| format!(" rank {rank}"));
    format!("{}{}{}", rating.taster, score.unwrap_or_default(), rank.unwrap_or_default())
}

/// A ratio that could be blended, and the vessels of the trial.
type RatioOf<'a> = (&'a RatioReading, &'a [String]);

fn ratio_columns<'a>() -> Vec<Column<RatioOf<'a>>> {
    vec![
        Column::both("what", "ratio", |it: &RatioOf<'_>| Cell::Word(what(&it.0.ratio))),
        Column::both("codes", "glasses", |it: &RatioOf<'_>| poured(it.0).map(named).into())
            .sparse()
            .whole(|it| Cell::list(poured(it.0).into_iter().flatten().map(|glass| glass.code.to_string()))),
        // Of each of these glasses the earlier sitting, where it was at one.
        Column::within("sittings", |it| {
            Cell::form(&poured(it.0).into_iter().flatten().map(|glass| glass.sitting.clone()).collect::<Vec<_>>())
        }),
        Column::both("first_of", "put first by", |it: &RatioOf<'_>| listed(&it.0.first_of))
            .sparse()
            .whole(|it| Cell::list(&it.0.first_of)),
        Column::within("shares_ppm", |it| Cell::form(&it.0.shares)),
        Column::people("of, %", |it: &RatioOf<'_>| mixture(it.1, &it.0.shares).into()),
        Column::both("expected", "expected", |it: &RatioOf<'_>| it.0.expected.map(|it| shown(it.score)).into())
            .sparse(),
        Column::both("error", "±", |it: &RatioOf<'_>| it.0.expected.map(|it| shown(it.error)).into()).sparse(),
        Column::both("below_best", "below the best", |it: &RatioOf<'_>| {
            it.0.compared.as_ref().map(|it| shown(it.below)).into()
        })
        .sparse(),
        Column::both("below_error", "±", |it: &RatioOf<'_>| it.0.compared.as_ref().map(|it| shown(it.error)).into())
            .sparse(),
        Column::both("worse", "worse", |it: &RatioOf<'_>| it.0.compared.as_ref().map(|it| it.is_worse).into()).sparse(),
        Column::both("batch_ul", "batch, L", |it: &RatioOf<'_>| it.0.batch.as_ref().ok().map(|it| it.volume).into())
            .sparse(),
        Column::both("ended_by", "ended by", |it: &RatioOf<'_>| spaced(&ended_by(it)))
            .sparse()
            .whole(|it| Cell::list(ended_by(it))),
        Column::both("no_batch", "no batch", |it: &RatioOf<'_>| {
            it.0.batch.as_ref().err().map(ToString::to_string).into()
        })
        .sparse(),
    ]
}

fn what(ratio: &Ratio) -> String {
    match ratio {
        Ratio::Best => "best".to_owned(),
        Ratio::Lean => "lean".to_owned(),
        Ratio::Poured(_) => "put_first".to_owned(),
        Ratio::Middle => "middle".to_owned(),
        Ratio::Rounded(step) => format!("to_{step}_pct"),
    }
}

/// The glasses that held a ratio.
fn poured(ratio: &RatioReading) -> Option<&[PouredGlass]> {
    match &ratio.ratio {
        Ratio::Poured(glasses) => Some(glasses),
        Ratio::Best | Ratio::Lean | Ratio::Rounded(_) | Ratio::Middle => None,
    }
}

/// The vessels that end the largest batch.
fn ended_by((ratio, components): &RatioOf<'_>) -> Vec<String> {
    match ratio.batch.as_ref().map(|batch| &batch.limit) {
        Ok(Limit::Tanks(tanks)) => tanks.iter().map(|&tank| components[tank].clone()).collect(),
        _ => Vec::new(),
    }
}

/// Words with blanks between; nothing where there are none.
fn spaced(words: &[String]) -> Cell {
    (!words.is_empty()).then(|| words.join(" ")).into()
}

/// Words with commas between; nothing where there are none.
fn listed(words: &[String]) -> Cell {
    (!words.is_empty()).then(|| words.join(", ")).into()
}

fn shown(value: f64) -> f64 {
    rounded(value, DECIMALS)
}

/// A mixture in words: percents of the vessels that are in it.
pub fn mixture(components: &[String], shares: &Shares) -> String {
    let used = components.iter().zip(shares.millionths()).filter(|(_, part)| **part > 0);
    used.map(|(label, &part)| format!("{label} {}", figure_to(1, f64::from(part) / 10_000.0)))
        .collect::<Vec<_>>()
        .join(" + ")
}
