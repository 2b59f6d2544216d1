//! What a tasting says of the ratio, in sentences.

use super::fit::{Ratio, Unfit};
use super::{Best, Compared, Drawn, Findings, Ground, Model, Range, Region, Scale, Stop, Verdict};
use crate::units::{figure, figure_to};

/// A panel of fewer tasters speaks for nobody but itself (our choice).
const A_PANEL: usize = 3;

/// All that is to be said, the most important first.
pub fn sentences(findings: &Findings) -> Vec<String> {
    let mut said = vec![verdict(findings)];
    if let Some(best) = &findings.best {
        said.extend(of_best(findings, best));
    }
    said.extend(lack_of_fit(findings));
    said.extend(cannot_be_told(findings));
    said.extend(of_tasters(findings));
    if findings.scale == Scale::Ranks {
        said.push(
            "Ranks were taken as normal scores, which is an approximation: they say which glass is better, not by how much. Scores tell more."
                .to_owned(),
        );
    }
    said
}

fn verdict(findings: &Findings) -> String {
    let test = findings.alike.map(|ratio| test(&ratio)).unwrap_or_default();
    match findings.verdict {
        Verdict::TooFew => {
            "The panel can't tell how the score follows the shares: there are too few glasses or ratings. Pour more \
             blends than there are components, and give each taster several."
                .to_owned()
        }
        Verdict::Alike => {
            let differ = findings.by_blend.differ.filter(Ratio::is_significant);
            let glasses = differ.map_or(String::new(), |ratio| {
                format!(
                    " Single glasses do differ ({}), but not by their shares in a way a surface could follow.",
                    self::test(&ratio)
                )
            });
            format!(
                "The panel can't tell one ratio from another: chance alone explains what the surface does ({test}).{glasses}"
            )
        }
        Verdict::NoBetterThanMean => format!(
            "The panel can't tell which ratio is best: a blend it has not seen is foretold no better by its shares than by \
             the plain mean of all glasses, although the glasses differ ({test})."
        ),
        Verdict::Tells => {
            let model = findings.candidates[findings.chosen].model;
            format!(
                "The panel tells ratios apart ({test}). The {} surface is taken: {}",
                model.word(),
                ground(findings)
            )
        }
    }
}

fn ground(findings: &Findings) -> String {
    let missed = |position: usize| findings.candidates.get(position).and_then(|tried| tried.missed_by);
    match (findings.ground, missed(findings.chosen), missed(0)) {
        (Ground::LeftOut, Some(own), Some(mean)) => format!(
            "it foretells blends left out better than a simpler one, missing ratings by {} where the plain mean of the glasses misses them by {}.",
            figure_to(2, own),
            figure_to(2, mean)
        ),
        _ => "its further terms explain more than chance would; no blend can be spared to try it on.".to_owned(),
    }
}

fn of_best(findings: &Findings, best: &Best) -> Vec<String> {
    let mut said = vec![format!(
        "Best allowed ratio: {}, with an expected score of {} (95 % band of the panel's mean {} to {}).",
        blend(findings, &best.shares),
        figure_to(2, best.predicted.score),
        figure_to(2, best.band.least),
        figure_to(2, best.band.most)
    )];
    said.push(as_good(findings, &best.as_good));
    if let Some(resampled) = &best.resampled {
        let what = match resampled.drawn {
            Drawn::Tasters => "panels drawn from these tasters",
            Drawn::Errors => "surfaces drawn from the errors of the fit (there are too few tasters to draw panels)",
        };
        said.push(format!(
            "Of {} {what}, {} have their best within 5 % of it in every share.",
            resampled.panels, resampled.near
        ));
    }
    if let Some(poured) = &best.best_poured {
        said.push(format!(
            "Best of the poured blends: {}, {}",
            blend(findings, &poured.shares),
            how_much_worse(poured)
        ));
    }
    for (position, simpler) in best.simpler.iter().enumerate() {
        if !best.simpler[..position].iter().any(|said| said.shares == simpler.shares) {
            let step = ["5 %", "10 %"][position.min(1)];
            said.push(format!("Rounded to {step}: {}, {}", blend(findings, &simpler.shares), how_much_worse(simpler)));
        }
    }
    said.extend(best.stopped_by.iter().map(|&stop| stopped(findings, stop)));
    said.extend(beyond_glasses(findings, &best.shares));
    said
}

/// A warning of components of which the best has more or less than any glass.
pub(in crate::reckon) fn beyond_glasses(findings: &Findings, best: &[f64]) -> Option<String> {
    /// Less than this beyond is poured for all that matters.
    const BEYOND: f64 = 0.01;
    let poured = Region::within_glasses(&findings.tasting.blends);
    let beyond = |it: &usize| best[*it] < poured.lower[*it] - BEYOND || best[*it] > poured.upper[*it] + BEYOND;
    let names: Vec<&str> = (0..best.len()).filter(beyond).map(|it| findings.components[it].as_str()).collect();
    (!names.is_empty()).then(|| {
        format!(
            "No glass had so much or so little of {}: nobody tasted such a blend. Pour it before you trust it.",
            names.join(", ")
        )
    })
}

fn as_good(findings: &Findings, ranges: &[Range]) -> String {
    let all = ranges.iter().zip(&findings.components).map(|(range, name)| {
        let (least, most) = (percent(range.least, 0), percent(range.most, 0));
        if least == most { format!("{least} % {name}") } else { format!("{least} to {most} % {name}") }
    });
    let all: Vec<String> = all.collect();
    format!("As good within the panel's noise are blends with {}, though not every mix of these.", all.join(", "))
}

fn how_much_worse(compared: &Compared) -> String {
    let (below, error) = (figure_to(2, compared.below), figure_to(2, compared.error));
    if compared.is_worse {
        format!("which is {below} worse (standard error {error}), more than chance explains.")
    } else if compared.below < 0.005 {
        "which is as good.".to_owned()
    } else {
        format!("expected to score {below} less (standard error {error}), no difference that this panel can show.")
    }
}

/// What stops the best, in words.
pub(in crate::reckon) fn stopped(findings: &Findings, stop: Stop) -> String {
    let name = |component: usize| &findings.components[component];
    match stop {
        Stop::Least(it) => format!(
            "The least that is allowed of {} ({} %) stops it: less might be better still.",
            name(it),
            percent(findings.region.lower[it], 1)
        ),
        Stop::Most(it) => format!(
            "The most that is allowed of {} ({} %) stops it: more might be better still.",
            name(it),
            percent(findings.region.upper[it], 1)
        ),
        Stop::Limit(position) => format!("Limit {} stops it: beyond might be better still.", position + 1),
    }
}

fn lack_of_fit(findings: &Findings) -> Option<String> {
    let fit = findings.fit()?;
    let Some(lack) = fit.lack_of_fit else {
        let all = findings.tasting.blends.len() == fit.model.slopes(fit.hull.dimensions()) + 1;
        let why = if all { "it has as many terms as there are blends" } else { "no blend was rated often enough" };
        return Some(format!("Whether the surface fits cannot be tested: {why}."));
    };
    Some(if lack.ratio.is_significant() {
        format!(
            "The surface misses single glasses by more than the panel's noise ({}); errors are reckoned with that scatter.",
            test(&lack.ratio)
        )
    } else {
        format!("The surface misses single glasses by no more than the panel's noise ({}).", test(&lack.ratio))
    })
}

/// What polynomials say beside the reading: how far they are believed, and which cannot be fitted.
pub(in crate::reckon) fn details(findings: &Findings) -> Vec<String> {
    let mut said: Vec<String> = findings
        .fit()
        .zip(findings.alike)
        .map(|(fit, ratio)| {
            format!(
                "Of polynomials the {} one explains {} % of the scatter between glasses (all of them against none: {}).",
                fit.model.word(),
                percent(fit.explained(), 0),
                test(&ratio)
            )
        })
        .into_iter()
        .collect();
    said.extend(lack_of_fit(findings));
    said.extend(not_fitted(findings));
    said
}

/// Of which blends nothing can be said, since all glasses were unlike them.
pub(in crate::reckon) fn unlike_glasses(findings: &Findings) -> Option<String> {
    let hull = findings.candidates.iter().find_map(|tried| tried.fit.as_ref().ok()).map(|fit| &fit.hull);
    let hull = hull.filter(|hull| !hull.is_full())?;
    let held = hull.held();
    let names: Vec<String> = held
        .iter()
        .map(|&(it, share)| format!("{} stood at {} % in all of them", findings.components[it], percent(share, 1)))
        .collect();
    let kept = hull.dimensions() + 1 + held.len() < findings.components.len() + usize::from(!held.is_empty());
    let proportion = kept.then(|| "some components kept one proportion throughout".to_owned());
    let why: Vec<String> = names.into_iter().chain(proportion).collect();
    Some(format!("Nothing can be said of blends unlike the glasses: {}.", why.join("; ")))
}

/// What the glasses cannot tell, and why.
fn cannot_be_told(findings: &Findings) -> Vec<String> {
    unlike_glasses(findings).into_iter().chain(not_fitted(findings)).collect()
}

/// Which polynomials cannot be fitted, and why.
fn not_fitted(findings: &Findings) -> Vec<String> {
    let mut said = Vec::new();
    said.extend(findings.candidates.iter().filter_map(|tried| {
        let model = tried.model.word();
        let pairs = |pairs: &[(usize, usize)]| {
            let name = |it: usize| findings.components[it].as_str();
            let named = pairs.iter().map(|&(one, other)| format!("{} with {}", name(one), name(other)));
            named.collect::<Vec<_>>().join(", ")
        };
        Some(match tried.fit.as_ref().err()? {
            Unfit::Blends { there, needed } => {
                format!("A {model} surface cannot be fitted: it takes {needed} different blends, and there are {there}.")
            }
            Unfit::Ratings => format!("A {model} surface cannot be fitted: there are too few ratings to tell the noise by."),
            Unfit::Confounded { pairs: none } if none.is_empty() => format!(
                "A {model} surface cannot be fitted: as the glasses were shared out, shares cannot be told from tasters or from each other."
            ),
            Unfit::Confounded { pairs: untold } => format!(
                "A {model} surface cannot be fitted: the glasses do not tell how these do together: {}. Pour blends of them.",
                pairs(untold)
            ),
        })
    }));
    if let Some(tried) =
        findings.candidates.iter().find(|it| it.fit.is_ok() && it.missed_by.is_none() && it.model > Model::Mean)
    {
        let sentence = "cannot do without any one blend, so that it cannot be tried on blends it has not seen.";
        said.push(format!("The {} surface {sentence}", tried.model.word()));
    }
    said
}

/// What must be known of the tasters.
pub(in crate::reckon) fn of_tasters(findings: &Findings) -> Vec<String> {
    let tasting = &findings.tasting;
    let name = |taster: usize| &findings.tasters[tasting.tasters[taster]];
    let mut said: Vec<String> = tasting
        .constant_tasters()
        .into_iter()
        .map(|taster| format!("{} gave every glass the same score, which counts as: no preference.", name(taster)))
        .collect();
    let count = tasting.tasters.len();
    if count == 1 {
        said.push("One taster is no panel: all this is what one person would give again.".to_owned());
    } else if count < A_PANEL {
        said.push("Two tasters are hardly a panel: all this is of the two, not of others.".to_owned());
    }
    said
}

fn test(ratio: &Ratio) -> String {
    let p = if ratio.p < 0.001 { format!("p below {}", figure(0.001)) } else { format!("p {}", figure_to(3, ratio.p)) };
    let f = if ratio.f < 1000.0 { figure_to(2, ratio.f) } else { "above 1000".to_owned() };
    format!("F {f} on {} and {}, {p}", ratio.upper, ratio.lower)
}

/// A blend: `29.4 % north, 70.6 % south`; what is not in it is left out.
fn blend(findings: &Findings, shares: &[f64]) -> String {
    let parts = shares.iter().zip(&findings.components).filter(|(share, _)| **share >= 0.0005);
    parts.map(|(share, name)| format!("{} % {name}", percent(*share, 1))).collect::<Vec<_>>().join(", ")
}

/// A share in percent with so many decimals, without noughts at the end.
fn percent(share: f64, decimals: usize) -> String {
    let text = figure_to(decimals, share.max(0.0) * 100.0);
    if text.contains(['.', ',']) { text.trim_end_matches('0').trim_end_matches(['.', ',']).to_owned() } else { text }
}
