//! Discrepancies as they are listed: facts that do not fit the facts before them.

use serde::Serialize;

use crate::cellar::core::fact::{Device, FactId};
use crate::cellar::core::label::Label;
use crate::cellar::core::state::Discrepancy;
use crate::cli::table::cell::{Cell, When};
use crate::cli::table::column::Column;

/// A discrepancy under the names of the exchange format.
#[derive(Debug, Serialize)]
pub struct DiscrepancyView {
    device: Device,
    n: u64,
    at: When,
    kind: String,
    about: Option<Label>,
    problem: String,
    counted: bool,
    /// The facts of other laptops that may be the same thing.
    twice: Vec<FactId>,
}

impl From<Discrepancy> for DiscrepancyView {
    fn from(found: Discrepancy) -> DiscrepancyView {
        DiscrepancyView {
            device: found.id.device,
            n: found.id.n,
            at: When(found.at),
            kind: found.kind,
            about: found.about,
            problem: found.problem,
            counted: found.counted,
            twice: found.twice,
        }
    }
}

impl DiscrepancyView {
    /// The columns of a list of discrepancies.
    #[must_use]
    pub fn columns() -> Vec<Column<DiscrepancyView>> {
        vec![
            Column::people("fact", |it: &DiscrepancyView| Cell::Text(format!("{}:{}", it.device, it.n))),
            Column::program("device", |it| it.device.as_str().into()),
            Column::program("n", |it| it.n.into()),
            Column::both("at", "on", |it| it.at.into()),
            Column::both("kind", "kind", |it| Cell::Word(it.kind.clone())),
            Column::program("about", |it| it.about.as_ref().into()),
            Column::both("counted", "counted", |it| it.counted.into()),
            Column::program("twice", |it: &DiscrepancyView| {
                Cell::Text(it.twice.iter().map(ToString::to_string).collect::<Vec<_>>().join(", "))
            })
            .nested(),
            Column::both("problem", "problem", |it| (&it.problem).into()),
        ]
    }
}
