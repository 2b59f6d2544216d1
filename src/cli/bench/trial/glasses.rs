//! The glasses of a trial from a spreadsheet: a column a vessel, a row a glass, in shares or parts.

use std::path::Path;

use crate::cellar::core::label::{Label, harmless};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::saying::Saying;
use crate::cli::table::spreadsheet::{MOST_RATINGS, Spreadsheet};
use crate::units::{Shares, parse_decimal};

/// The glasses of a file, in the order of its rows; a share a vessel, in the order of the vessels.
pub fn read(file: &Path, vessels: &[Label], saying: &mut Saying<'_>) -> Outcome<Vec<Shares>> {
    let sheet = Spreadsheet::read(file)?.at_most(MOST_RATINGS, "a trial")?;
    let missing =
        |vessel: &Label| Complaint::Refused(format!("The file has no column '{vessel}'. Head a column with it."));
    let column =
        |vessel: &Label| sheet.heads.iter().position(|head| head == vessel.as_str()).ok_or_else(|| missing(vessel));
    let columns: Vec<usize> = vessels.iter().map(column).collect::<Outcome<_>>()?;
    if let Some((_, head)) = sheet.heads.iter().enumerate().find(|(index, _)| !columns.contains(index)) {
        let head = harmless(head);
        return Err(Complaint::Refused(format!(
            "'{head}' is none of the vessels named. Name it with --from, or leave it out."
        )));
    }
    let shares = |_: u64, fields: &[String]| {
        let part = |&column: &usize| {
            let text = fields[column].trim_end_matches('%').trim_end();
            if text.is_empty() { Ok(0.0) } else { parse_decimal(text).map_err(|error| error.to_string()) }
        };
        let parts: Vec<f64> = columns.iter().map(part).collect::<Result<_, _>>()?;
        Shares::from_reals(&parts).map_err(|error| format!("This is no glass: {error}."))
    };
    sheet.all(shares, saying)
}
