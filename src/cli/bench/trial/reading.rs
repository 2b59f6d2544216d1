//! What an opened trial says, at the desk: the words first, then glasses, tasters and ratios.

use serde::Serialize;

use crate::cellar::core::label::harmless;
use crate::cellar::jobs::bench::trial::code::Code;
use crate::cellar::jobs::bench::trial::outlook::{Outlook, Ratio, RatioReading};
use crate::cellar::jobs::bench::trial::rating::Rating;
use crate::cellar::jobs::bench::trial::reading::{GlassReading, TrialReading};
use crate::cli::bench::panel::PanelView;
use crate::cli::bench::surface::SurfaceView;
use crate::cli::core::complaint::Outcome;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::tests::sulfur::{below, rounded};
use crate::reckon::panel::table::Given;
use crate::reckon::scale_up::Limit;
use crate::units::{Shares, Volume};

/// So many decimals of a score can be meant where it is reckoned.
const DECIMALS: i32 = 2;

/// What an opened trial says, under the names of the exchange format.
#[derive(Debug, Serialize)]
pub struct ReadingView {
    /// Whether scores or ranks were read.
    read: &'static str,
    remarks: Vec<String>,
    blends: Vec<String>,
    changed: Vec<String>,
    panel: Option<PanelView>,
    no_panel: Option<String>,
    surface: Option<SurfaceView>,
    no_surface: Option<String>,
    ratios: Vec<RatioView>,
}

/// A glass. What it held, and how it stands, is told once it is revealed.
#[derive(Debug, Serialize)]
pub struct GlassView {
    place: Option<usize>,
    code: Code,
    shares_ppm: Option<Shares>,
    /// The shares in words.
    #[serde(skip)]
    holds: String,
    repeat_of: Option<Code>,
    mean_score: Option<f64>,
    mean_rank: Option<f64>,
    rank_sum: Option<f64>,
    groups: Option<String>,
    expected: Option<f64>,
    ratings: Option<usize>,
    /// Who gave what.
    #[serde(skip)]
    who: String,
}

/// A ratio that could be blended.
#[derive(Debug, Serialize)]
struct RatioView {
    what: String,
    codes: Vec<Code>,
    shares_ppm: Shares,
    /// The shares in words.
    #[serde(skip)]
    holds: String,
    expected: Option<f64>,
    error: Option<f64>,
    below_best: Option<f64>,
    below_error: Option<f64>,
    worse: Option<bool>,
    batch_ul: Option<Volume>,
    ended_by: Vec<String>,
    no_batch: Option<String>,
}

impl ReadingView {
    /// The view of what a trial says.
    pub fn of(reading: &TrialReading, outlook: &Outlook) -> ReadingView {
        let codes: Vec<String> = {
            let mut codes: Vec<Code> = reading.glasses.iter().map(|glass| glass.code).collect();
            // As the surface has them: by rising code.
            codes.sort_unstable();
            codes.iter().map(Code::to_string).collect()
        };
        ReadingView {
            read: match reading.given {
                Given::Scores => "scores",
                Given::Ranks => "ranks",
            },
            remarks: reading.remarks.clone(),
            blends: outlook.blends.clone(),
            changed: outlook.changed.clone(),
            panel: reading.panel.as_ref().ok().map(PanelView::of),
            no_panel: reading.panel.as_ref().err().map(ToString::to_string),
            surface: reading.surface.as_ref().ok().map(|findings| SurfaceView::of(findings, &codes)),
            no_surface: reading.surface.as_ref().err().map(ToString::to_string),
            ratios: outlook.ratios.iter().map(|ratio| RatioView::of(ratio, &reading.components)).collect(),
        }
    }

    /// Gives it out for people, with the glasses.
    pub fn write(&self, glasses: &[GlassView], page: &mut Page<'_>) -> Outcome {
        let panel = self.panel.as_ref().map_or(self.no_panel.as_slice(), PanelView::words);
        let surface = self.surface.as_ref().map_or(self.no_surface.as_slice(), SurfaceView::words);
        page.sentences(panel)?;
        page.line("")?;
        page.sentences(surface)?;
        for more in [&self.blends, &self.remarks] {
            if !more.is_empty() {
                page.line("")?;
                page.sentences(more)?;
            }
        }
        page.section(
            "Glasses, the best first; those that share a letter are not told apart",
            &GlassView::columns(),
            glasses,
        )?;
        page.section(
            "Ratios, and the largest batch of each by what there is now",
            &RatioView::columns(),
            &self.ratios,
        )?;
        self.changed.iter().try_for_each(|changed| below(page, &harmless(changed)))?;
        self.panel.iter().try_for_each(|panel| panel.write_numbers(page))?;
        self.surface.iter().try_for_each(|surface| surface.write_models(page))
    }
}

impl GlassView {
    /// A glass of which only the code is known.
    pub fn sealed(code: Code) -> GlassView {
        GlassView {
            place: None,
            code,
            shares_ppm: None,
            holds: String::new(),
            repeat_of: None,
            mean_score: None,
            mean_rank: None,
            rank_sum: None,
            groups: None,
            expected: None,
            ratings: None,
            who: String::new(),
        }
    }

    /// All glasses, the best first.
    pub fn opened(reading: &TrialReading) -> Vec<GlassView> {
        let view = |glass: &GlassReading| {
            let standing = glass.standing.as_ref();
            let ranked = standing.filter(|it| it.ranked > 0);
            GlassView {
                place: glass.place,
                shares_ppm: Some(glass.shares.clone()),
                holds: mixture(&reading.components, &glass.shares),
                repeat_of: glass.repeat_of,
                mean_score: standing.and_then(|it| it.mean_score).map(shown),
                mean_rank: ranked.map(|it| shown(it.rank_sum / it.ranked as f64)),
                rank_sum: ranked.map(|it| shown(it.rank_sum)),
                groups: standing.map(|it| it.groups.clone()),
                expected: glass.expected.map(|it| shown(it.score)),
                ratings: Some(glass.ratings.len()),
                who: glass.ratings.iter().map(who).collect::<Vec<_>>().join(", "),
                ..GlassView::sealed(glass.code)
            }
        };
        reading.glasses.iter().map(view).collect()
    }

    /// The columns of a list of glasses.
    pub fn columns() -> Vec<Column<GlassView>> {
        vec![
            Column::both("place", "place", |it: &GlassView| it.place.into()).sparse(),
            Column::both("code", "code", |it: &GlassView| it.code.to_string().as_str().into()),
            Column::people("holds, %", |it: &GlassView| (!it.holds.is_empty()).then_some(&it.holds).into()).sparse(),
            Column::both("mean_score", "mean score", |it: &GlassView| it.mean_score.into()).sparse(),
            Column::both("mean_rank", "mean rank", |it: &GlassView| it.mean_rank.into()).sparse(),
            Column::both("rank_sum", "rank sum", |it: &GlassView| it.rank_sum.into()).sparse(),
            Column::both("groups", "groups", |it: &GlassView| it.groups.as_ref().into()).sparse(),
            Column::both("expected", "expected", |it: &GlassView| it.expected.into()).sparse(),
            Column::both("repeat_of", "the same as", |it: &GlassView| {
                it.repeat_of.map(|of| of.to_string()).as_ref().into()
            })
            .sparse(),
            Column::people("who", |it: &GlassView| (!it.who.is_empty()).then_some(&it.who).into()).sparse(),
        ]
    }
}

/// A taster and what the taster gave: `anna 15.5`, `ben rank 2`.
fn who(rating: &Rating) -> String {
    let score = rating.score.map(|score| format!(" {score}"));
    let rank = rating.rank.map(|rank| format!(" rank {rank}"));
    format!("{}{}{}", rating.taster, score.unwrap_or_default(), rank.unwrap_or_default())
}

impl RatioView {
    fn of(ratio: &RatioReading, components: &[String]) -> RatioView {
        let compared = ratio.compared.as_ref();
        let (what, codes) = match &ratio.ratio {
            Ratio::Best => ("best".to_owned(), Vec::new()),
            Ratio::Poured(codes) => ("best_poured".to_owned(), codes.clone()),
            Ratio::Rounded(step) => (format!("to_{step}_pct"), Vec::new()),
        };
        let ended_by = match ratio.batch.as_ref().map(|batch| &batch.limit) {
            Ok(Limit::Tanks(tanks)) => tanks.iter().map(|&tank| components[tank].clone()).collect(),
            _ => Vec::new(),
        };
        RatioView {
            what,
            codes,
            shares_ppm: ratio.shares.clone(),
            holds: mixture(components, &ratio.shares),
            expected: ratio.expected.map(|it| shown(it.score)),
            error: ratio.expected.map(|it| shown(it.error)),
            below_best: compared.map(|it| shown(it.below)),
            below_error: compared.map(|it| shown(it.error)),
            worse: compared.map(|it| it.is_worse),
            batch_ul: ratio.batch.as_ref().ok().map(|batch| batch.volume),
            ended_by,
            no_batch: ratio.batch.as_ref().err().map(ToString::to_string),
        }
    }

    fn columns() -> Vec<Column<RatioView>> {
        vec![
            Column::both("what", "ratio", |it: &RatioView| Cell::Word(it.what.clone())),
            Column::both("codes", "glasses", |it: &RatioView| {
                let codes: Vec<String> = it.codes.iter().map(Code::to_string).collect();
                (!codes.is_empty()).then(|| codes.join(" ")).as_ref().into()
            })
            .sparse(),
            Column::people("of, %", |it: &RatioView| (&it.holds).into()),
            Column::both("expected", "expected", |it: &RatioView| it.expected.into()).sparse(),
            Column::both("error", "±", |it: &RatioView| it.error.into()).sparse(),
            Column::both("below_best", "below the best", |it: &RatioView| it.below_best.into()).sparse(),
            Column::both("below_error", "±", |it: &RatioView| it.below_error.into()).sparse(),
            Column::both("worse", "worse", |it: &RatioView| it.worse.into()).sparse(),
            Column::both("batch_ul", "batch, L", |it: &RatioView| it.batch_ul.into()).sparse(),
            Column::both("ended_by", "ended by", |it: &RatioView| {
                (!it.ended_by.is_empty()).then(|| it.ended_by.join(" ")).as_ref().into()
            })
            .sparse(),
            Column::both("no_batch", "no batch", |it: &RatioView| it.no_batch.as_ref().into()).sparse(),
        ]
    }
}

fn shown(value: f64) -> f64 {
    rounded(value, DECIMALS)
}

/// A mixture in words: percents of the vessels that are in it.
pub fn mixture(components: &[String], shares: &Shares) -> String {
    let used = components.iter().zip(shares.millionths()).filter(|(_, part)| **part > 0);
    used.map(|(label, &part)| format!("{label} {:.1}", f64::from(part) / 10_000.0)).collect::<Vec<_>>().join(" + ")
}
