//! Label claims as they are shown: what a vessel's or a lot's wine could say on its label, and how far it is from each rule.

use crate::cellar::core::label::{Label, harmless};
use crate::cellar::core::state::State;
use crate::cellar::core::wine::Wine;
use crate::cellar::views::books::claims::Standing;
use crate::cli::core::complaint::Outcome;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::reckon::label_share::Rules;
use crate::units::{Volume, litres};

/// What people are told under every table of claims.
pub(in crate::cli) const NO_ADVICE: &str = "Published least shares, for information; rules change: follow local codes and licensed practice. A label is more than a share.";

/// Whose claims are told; the field is called after it.
pub enum Claimed<'a> {
    /// Of what a vessel holds.
    Vessel(&'a Label),
    /// Of all wine of a lot together.
    Lot(&'a Label),
    /// Of what is in all bottles of a run together, in which nothing can come any more.
    Run(&'a Label),
}

impl Claimed<'_> {
    const fn what(&self) -> (&'static str, &'static str, &Label) {
        match self {
            Claimed::Vessel(label) => ("vessel", "Vessel", label),
            Claimed::Lot(label) => ("lot", "Lot", label),
            Claimed::Run(label) => ("run", "Run", label),
        }
    }
}

/// The claims of a wine.
struct Claims<'a> {
    of: Claimed<'a>,
    rules: Option<Rules>,
    volume: Volume,
    each: Vec<Claim>,
}

fn columns<'a>() -> [Column<Claims<'a>>; 5] {
    [
        Column::spread(|it: &Claims<'_>| {
            let (what, _, label) = it.of.what();
            Cell::Thing(vec![(what.into(), label.into())])
        }),
        Column::program("rules", |it| it.rules.map(Rules::word).into()),
        Column::program("volume_ul", |it| it.volume.into()),
        Column::within("claims", |it| Cell::things(&claim_columns(), it.each.iter().cloned())),
        Column::program("notice", |_| NO_ADVICE.into()),
    ]
}

/// Gives out the claims of a wine, of which the least sugar of some vessels is known, g/L.
pub fn write(
    state: &State,
    of: Claimed<'_>,
    (wine, sugar_g_l): (&Wine, Option<f64>),
    rules: Option<Rules>,
    page: &mut Page<'_>,
) -> Outcome {
    let closed = matches!(of, Claimed::Run(_));
    let claim = |standing| Claim { standing, closed };
    let each = state.claims_with(wine, sugar_g_l, rules).into_iter().map(claim).collect();
    let told = Claims { of, rules, volume: wine.volume(), each };
    page.report((&columns(), &told), (&claim_columns(), &told.each), |page| told.tell(page))
}

impl Claims<'_> {
    fn tell(&self, page: &mut Page<'_>) -> Outcome {
        let (_, what, label) = self.of.what();
        let label = harmless(label.as_str());
        if self.volume.is_zero() {
            return page.line(&format!("{what} {label} holds no wine, so there is nothing to claim."));
        }
        page.line(&format!("{what} {label} holds {}", litres(self.volume)))?;
        if self.each.is_empty() {
            page.line("Nothing is known of where its wine came from, so there is nothing to claim.")?;
        }
        page.section("what its label could say", &claim_columns(), &self.each)?;
        if !self.each.is_empty() {
            page.line("")?;
            for claim in &self.each {
                page.line(&harmless(&claim.says()))?;
            }
        }
        page.line(&format!("\n{NO_ADVICE}"))
    }
}

/// How a wine stands to one rule.
#[derive(Clone)]
pub struct Claim {
    standing: Standing,
    /// Whether it is in closed bottles, so that nothing can come in any more.
    closed: bool,
}

impl From<&Standing> for Claim {
    fn from(standing: &Standing) -> Claim {
        Claim { standing: standing.clone(), closed: false }
    }
}

impl Claim {
    fn says(&self) -> String {
        if !self.closed || self.standing.organic_words().is_some() {
            return self.standing.sentence();
        }
        let value = self.standing.value.as_ref().map_or_else(String::new, |value| format!(" {value}"));
        let least = &self.standing.least;
        format!("{}{value}: {} ({}).", least.claim.word(), self.standing.held_words(), least.section)
    }

    fn open(&self, volume: Option<Volume>) -> Cell {
        volume.filter(|_| !self.closed).into()
    }
}

/// The columns of claims.
#[must_use]
pub fn claim_columns() -> Vec<Column<Claim>> {
    vec![
        Column::program("rules", |it: &Claim| it.standing.least.rules.word().into()),
        Column::both("claim", "claim", |it| it.standing.least.claim.word().into()),
        Column::both("value", "of it", |it| it.standing.value.as_ref().into()),
        Column::within("section", |it| it.standing.least.section.into()),
        Column::within("applies", |it| it.standing.least.applies.into()),
        Column::people("share", |it| it.standing.percent().into()),
        Column::program("share", |it: &Claim| it.standing.share().into()).elsewhere(),
        Column::people("least", |it| format!("{} %", it.standing.least.percent).into()),
        Column::program("least_pct", |it| it.standing.least.percent.into()),
        Column::people("held", |it| it.standing.held_words().into()),
        Column::program("held", |it: &Claim| it.standing.held().into()).elsewhere(),
        Column::program("volume_ul", |it| it.standing.own.into()),
        Column::program("of_ul", |it| it.standing.whole.into()),
        Column::within("share", |it| it.standing.share().into()),
        Column::within("held", |it| it.standing.held().into()),
        Column::program("may_come_in_ul", |it| it.open(it.standing.may_come_in())),
        Column::program("may_be_topped_ul", |it| it.open(it.standing.may_be_topped())),
        Column::program("still_wanted_ul", |it| it.open(it.standing.still_wanted())),
        Column::both("section", "rule", |it: &Claim| it.standing.least.section.into()).elsewhere(),
        Column::both("applies", "where", |it: &Claim| it.standing.least.applies.into()).elsewhere(),
        Column::program("says", |it| it.says().into()),
    ]
}
