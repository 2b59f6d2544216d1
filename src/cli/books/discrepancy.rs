//! Discrepancies as they are listed: facts that do not fit the facts before them.

use crate::cellar::core::state::Discrepancy;
use crate::cli::core::complaint::Outcome;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;

/// Lists discrepancies.
pub fn list(found: &[Discrepancy], page: &mut Page<'_>) -> Outcome {
    page.list(&columns(), found, "Every fact fits the facts before it.")
}

fn columns() -> Vec<Column<Discrepancy>> {
    vec![
        Column::people("fact", |it| it.id.to_string().into()),
        Column::program("device", |it| it.id.device.as_str().into()),
        Column::program("n", |it| it.id.n.into()),
        Column::both("at", "on", |it| it.at.into()),
        Column::both("kind", "kind", |it| Cell::Word(it.kind.clone())),
        Column::program("about", |it| it.about.as_ref().into()),
        Column::within("problem", |it| (&it.problem).into()),
        Column::both("counted", "counted", |it| it.counted.into()),
        // The facts of other laptops that may be the same thing.
        Column::program("twice", |it: &Discrepancy| Cell::list(it.twice.iter().map(ToString::to_string)))
            .whole(|it| Cell::form(&it.twice)),
        Column::both("problem", "problem", |it: &Discrepancy| (&it.problem).into()).elsewhere(),
    ]
}
