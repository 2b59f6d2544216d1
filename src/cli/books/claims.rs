//! Label claims as they are shown: what a vessel's or a lot's wine could say on its label, and how far it is from each rule.

use serde::Serialize;

use crate::cellar::core::label::{Label, harmless};
use crate::cellar::core::state::{LotId, RunId, State, VesselId};
use crate::cellar::core::wine::Wine;
use crate::cellar::views::books::claims::Standing;
use crate::cli::core::complaint::Outcome;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::reckon::label_share::Rules;
use crate::units::{Volume, VolumeUnit};

/// What people are told under every table of claims.
pub(in crate::cli) const NO_ADVICE: &str =
    "Published least shares, for information: not legal advice. Laws change; a label is more than a share.";

/// Whose claims are shown; the field is called after it.
#[derive(Debug, Serialize)]
#[serde(rename_all = "snake_case")]
enum Claimed {
    Vessel(Label),
    Lot(Label),
    Run(Label),
}

/// The claims of a wine, under the names of the exchange format.
#[derive(Debug, Serialize)]
pub struct ClaimsView {
    #[serde(flatten)]
    of: Claimed,
    rules: Option<&'static str>,
    volume_ul: Volume,
    claims: Vec<ClaimView>,
    notice: &'static str,
}

/// How a wine stands to one rule.
#[derive(Debug, Serialize)]
pub struct ClaimView {
    rules: &'static str,
    claim: &'static str,
    value: Option<String>,
    section: &'static str,
    applies: Option<&'static str>,
    least_pct: u64,
    volume_ul: Volume,
    of_ul: Volume,
    share: f64,
    held: bool,
    may_come_in_ul: Option<Volume>,
    may_be_topped_ul: Option<Volume>,
    still_wanted_ul: Option<Volume>,
    #[serde(skip)]
    percent: String,
    says: String,
}

impl ClaimsView {
    /// The claims of what a vessel holds.
    #[must_use]
    pub fn of_vessel(state: &State, id: VesselId, rules: Option<Rules>) -> ClaimsView {
        let vessel = state.vessels.get(id);
        ClaimsView::new(state, Claimed::Vessel(vessel.label.clone()), &vessel.wine, rules)
    }

    /// The claims of all wine of a lot together.
    #[must_use]
    pub fn of_lot(state: &State, id: LotId, rules: Option<Rules>) -> ClaimsView {
        let of = Claimed::Lot(state.lots.get(id).label.clone());
        ClaimsView::new(state, of, &state.wine_of_lot(id), rules)
    }

    /// The claims of what is in all bottles of a run together.
    #[must_use]
    pub fn of_run(state: &State, id: RunId, rules: Option<Rules>) -> ClaimsView {
        let run = state.runs.get(id);
        let mut view = ClaimsView::new(state, Claimed::Run(run.label.clone()), &run.wine(), rules);
        view.claims.iter_mut().for_each(ClaimView::close);
        view
    }

    fn new(state: &State, of: Claimed, wine: &Wine, rules: Option<Rules>) -> ClaimsView {
        ClaimsView {
            of,
            rules: rules.map(Rules::word),
            volume_ul: wine.volume(),
            claims: state.claims(wine, rules).iter().map(ClaimView::of).collect(),
            notice: NO_ADVICE,
        }
    }

    /// Gives the claims out.
    pub fn write(&self, page: &mut Page<'_>) -> Outcome {
        page.report(self, &ClaimView::columns(), &self.claims, |page| {
            let (what, label) = match &self.of {
                Claimed::Vessel(label) => ("Vessel", label),
                Claimed::Lot(label) => ("Lot", label),
                Claimed::Run(label) => ("Run", label),
            };
            let label = harmless(label.as_str());
            if self.volume_ul.is_zero() {
                return page.line(&format!("{what} {label} holds no wine, so there is nothing to claim."));
            }
            page.line(&format!("{what} {label} holds {}", self.volume_ul.show(VolumeUnit::Litre, 1)))?;
            if self.claims.is_empty() {
                page.line("Nothing is known of where its wine came from, so there is nothing to claim.")?;
            }
            page.section("what its label could say", &ClaimView::columns(), &self.claims)?;
            if !self.claims.is_empty() {
                page.line("")?;
                for claim in &self.claims {
                    page.line(&harmless(&claim.says))?;
                }
            }
            page.line(&format!("\n{NO_ADVICE}"))
        })
    }
}

impl ClaimView {
    /// A standing as it is told.
    #[must_use]
    pub fn of(standing: &Standing) -> ClaimView {
        let least = &standing.least;
        ClaimView {
            rules: least.rules.word(),
            claim: least.claim.word(),
            value: standing.value.clone(),
            section: least.section,
            applies: least.applies,
            least_pct: least.percent,
            volume_ul: standing.own,
            of_ul: standing.whole,
            share: standing.share(),
            held: standing.held(),
            may_come_in_ul: standing.may_come_in(),
            may_be_topped_ul: standing.may_be_topped(),
            still_wanted_ul: standing.still_wanted(),
            percent: standing.percent(),
            says: standing.sentence(),
        }
    }

    /// What is in a closed bottle stays as it is: nothing can come in any more.
    fn close(&mut self) {
        (self.may_come_in_ul, self.may_be_topped_ul, self.still_wanted_ul) = (None, None, None);
        let value = self.value.as_ref().map_or_else(String::new, |value| format!(" {value}"));
        let held = if self.held { "held" } else { "not held" };
        self.says = format!("{}{value}: {held} ({}).", self.claim, self.section);
    }

    /// Its columns.
    #[must_use]
    pub fn columns() -> Vec<Column<ClaimView>> {
        vec![
            Column::program("rules", |it: &ClaimView| it.rules.into()),
            Column::both("claim", "claim", |it| it.claim.into()),
            Column::both("value", "of it", |it| it.value.as_ref().into()),
            Column::people("share", |it| Cell::Text(it.percent.clone())),
            Column::program("share", |it| it.share.into()),
            Column::people("least", |it| Cell::Text(format!("{} %", it.least_pct))),
            Column::program("least_pct", |it| it.least_pct.into()),
            Column::people("held", |it| Cell::Text(if it.held { "held" } else { "not held" }.to_owned())),
            Column::program("held", |it| it.held.into()),
            Column::program("volume_ul", |it| it.volume_ul.into()),
            Column::program("of_ul", |it| it.of_ul.into()),
            Column::program("may_come_in_ul", |it| it.may_come_in_ul.into()),
            Column::program("may_be_topped_ul", |it| it.may_be_topped_ul.into()),
            Column::program("still_wanted_ul", |it| it.still_wanted_ul.into()),
            Column::both("section", "rule", |it| it.section.into()),
            Column::both("applies", "where", |it| it.applies.into()),
            Column::program("says", |it| (&it.says).into()),
        ]
    }
}
