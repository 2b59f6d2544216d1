//! What is said of the losses of a period, and of the figures that rules leave for a year.

use crate::cellar::views::books::ledger::{AgainstNorm, Losses, Period};
use crate::reckon::bottling::FOR_INFORMATION;
use crate::reckon::loss_norm::{Base, FRANCE_BOTTLED};
use crate::units::{Volume, figure, litres, whole_litres};

/// A sentence, and how what it says stands to a figure.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Told {
    /// The sentence.
    pub words: String,
    /// Whether more went than the figure; none where it is held against none.
    pub above: Option<bool>,
}

impl From<String> for Told {
    fn from(words: String) -> Told {
        Told { words, above: None }
    }
}

/// A share as a percentage to three digits after the point at most.
fn percent(share: f64) -> String {
    format!("{} %", figure((share * 1e5).round() / 1e3))
}

/// What is said of the losses of a whole cellar: what went, then the figures. A year is held against them, in the United States by
/// tax class; of any other time it is said what they would be in proportion, and nothing is above or within.
#[must_use]
pub fn of_period(period: &Period, losses: &Losses) -> Vec<Told> {
    let unrecorded = losses.unrecorded_words().map(Told::from);
    let Some(share) = losses.share() else { return unrecorded.into_iter().collect() };
    let mut told = vec![Told::from(lost(losses, share))];
    let is_of_a_year = losses.against_united_states().any(|against| against.is_of_a_year);
    if is_of_a_year {
        for (class, its) in period.losses_by_tax_class() {
            let class =
                class.map_or_else(|| "wine whose alcohol nobody tested".to_owned(), |it| format!("tax class {it}"));
            told.extend(its.against_united_states().map(|against| of_a_year(&format!("{class}, "), &against)));
        }
        told.extend(losses.against_france().map(|against| of_a_year("", &against)));
    } else {
        told.extend(losses.against_norms().map(|against| in_proportion(&against, losses.days)));
    }
    told.extend(bottled_apart(losses.bottled).map(Told::from));
    told.extend(unrecorded);
    told.push(Told::from(FOR_INFORMATION.to_owned()));
    told
}

/// What went, of what was there and came in and of the mean stock.
fn lost(losses: &Losses, share: f64) -> String {
    let lost = format!("Lost {}, {} of stock and receipts", litres(losses.lost), percent(share));
    let mean = losses.mean_litres();
    if mean <= 0.0 || losses.days <= 0.0 {
        return format!("{lost}.");
    }
    let of_mean = |volume: Volume| percent(volume.as_litres() / mean);
    let (all, gone) = (of_mean(losses.lost), of_mean(losses.evaporated));
    let mean = whole_litres(Volume::nearest_to_litres(mean));
    format!("{lost}; {all} of the mean stock of {mean} in {:.0} days, {gone} by evaporation.", losses.days)
}

fn of_a_year(class: &str, against: &AgainstNorm) -> Told {
    let norm = &against.norm;
    if norm.base == Base::Made {
        let (of, most) = (norm.of, percent(norm.yearly));
        return Told::from(format!(
            "{class}{of}: {} leaves {most} of wine that was made here in the year; the book does not tell its losses from those of older wine.",
            norm.section
        ));
    }
    let above = against.is_above();
    let side = if above == Some(true) { "above" } else { "within" };
    let (of, share, most, base) = (norm.of, percent(against.share), percent(against.most), norm.base.words());
    Told {
        words: format!("{class}{of}: {share} {base}, {side} the figure of {most} a year of {}.", norm.section),
        above,
    }
}

fn in_proportion(against: &AgainstNorm, days: f64) -> Told {
    let norm = &against.norm;
    if norm.base == Base::Made {
        return of_a_year("", against);
    }
    let (of, share, base) = (norm.of, percent(against.share), norm.base.words());
    let judges = if norm.section.contains("CFR") { "judges the year, by tax class" } else { "judges the year" };
    let (yearly, most) = (percent(norm.yearly), percent(against.most));
    let figure = if yearly == most {
        format!("its figure is {yearly}")
    } else {
        format!("in proportion, {yearly} a year would be {most}")
    };
    let section = capital(norm.section);
    Told::from(format!("{of}: {share} {base} in {days:.0} days; {figure}. {section} {judges}."))
}

/// That bottled wine is held against figures of its own.
fn bottled_apart(bottled: Volume) -> Option<String> {
    (!bottled.is_zero()).then(|| {
        format!(
            "{} went into bottles and are held apart: 27 CFR 24.266(c) leaves bottled wine nothing, the French order of 9 August 2017 {} of \
             its mean stock a year.",
            litres(bottled),
            percent(FRANCE_BOTTLED)
        )
    })
}

fn capital(section: &str) -> String {
    let mut letters = section.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reckon::loss_norm::{FRANCE_BOTTLING, LossNorm, UNITED_STATES, UNITED_STATES_MADE};

    fn against(norm: LossNorm, share: f64, days: f64) -> AgainstNorm {
        let is_of_a_year = crate::reckon::loss_norm::is_a_year(days);
        AgainstNorm { norm, share, most: norm.share_for(days), is_of_a_year }
    }

    /// 27 CFR 24.266: 55 days of a year of 365.25 are 0.452 % of 3 %.
    #[test]
    fn a_part_of_a_year_is_told_in_proportion_and_nothing_is_above() {
        let told = in_proportion(&against(UNITED_STATES, 0.00505, 55.0), 55.0);
        assert_eq!(
            told.words,
            "all losses: 0.505 % of stock and receipts in 55 days; in proportion, 3 % a year would be 0.452 %. 27 CFR 24.266 judges the \
             year, by tax class."
        );
        assert_eq!(told.above, None);
        let bottling = in_proportion(&against(FRANCE_BOTTLING, 0.01, 30.0), 30.0).words;
        assert!(
            bottling.contains("its figure is 0.7 %. The French order of 9 August 2017 judges the year."),
            "{bottling}"
        );
    }

    #[test]
    fn a_year_is_above_or_within() {
        let told = of_a_year("tax class up to 16 % vol, ", &against(UNITED_STATES, 0.031, 365.0));
        assert_eq!(told.above, Some(true));
        assert_eq!(
            told.words,
            "tax class up to 16 % vol, all losses: 3.1 % of stock and receipts, above the figure of 3 % a year of 27 CFR 24.266."
        );
        assert_eq!(of_a_year("", &against(UNITED_STATES, 0.03, 365.0)).above, Some(false));
        let made = of_a_year("", &against(UNITED_STATES_MADE, 1.3, 365.0));
        assert_eq!(made.above, None, "most of what was lost may be of older wine");
        assert!(
            !made.words.contains("130") && made.words.contains("leaves 6 % of wine that was made here"),
            "{}",
            made.words
        );
    }
}
