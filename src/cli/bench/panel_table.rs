//! A panel's table from a CSV file: a row a taster and a column a glass, or a line a value.

use std::path::Path;

use crate::cellar::core::label::harmless;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::table::spreadsheet::{MOST_RATINGS, Row, Spreadsheet};
use crate::reckon::panel::table::{Given, Table};
use crate::units::{counted, parse_decimal};

/// So many bad lines are named; of more only the count is told.
const MOST_NAMED: usize = 10;
/// The columns of the long form; the last says what the values are.
const LONG: [&[&str]; 3] = [&["taster"], &["code", "glass"], &["score", "rank"]];

/// Values by taster and glass as they are read, in the order in which they were met.
#[derive(Debug, Default)]
struct Sheet {
    tasters: Vec<String>,
    glasses: Vec<String>,
    rows: Vec<Vec<Option<f64>>>,
    bad: Vec<String>,
}

/// Reads a table; `given` is what the values are where the file does not say it.
pub fn read(file: &Path, given: Option<Given>) -> Outcome<Table> {
    table(&Spreadsheet::read(file)?.at_most(MOST_RATINGS, "a panel's table")?, given)
}

fn refused(sentence: String) -> Complaint {
    Complaint::Refused(sentence)
}

fn table(spreadsheet: &Spreadsheet, given: Option<Given>) -> Outcome<Table> {
    if spreadsheet.heads.is_empty() {
        let sentence = "The table is empty. Its first line names the glasses: taster,412,207,931.";
        return Err(refused(sentence.to_owned()));
    }
    let (sheet, given) = match long_form(&spreadsheet.heads) {
        Some(said) if given.is_some_and(|given| given != said) => {
            let sentence = "The last column says something else than --ranks or --scores. Leave the option away.";
            return Err(refused(sentence.to_owned()));
        }
        Some(said) => (Sheet::of_lines(&spreadsheet.rows), said),
        None => (Sheet::of_rows(&spreadsheet.heads, &spreadsheet.rows)?, given.unwrap_or(Given::Scores)),
    };
    if !sheet.bad.is_empty() {
        let more = sheet.bad.len().saturating_sub(MOST_NAMED);
        let named = sheet.bad[..sheet.bad.len() - more].join(" ");
        let more = if more == 0 { String::new() } else { format!(" And {more} more.") };
        return Err(refused(format!("{named}{more}")));
    }
    Table::new(given, sheet.tasters, sheet.glasses, sheet.rows).map_err(|error| refused(harmless(&error.to_string())))
}

/// Whether a head is that of the long form, and what its values are.
fn long_form(heads: &[String]) -> Option<Given> {
    let words: Vec<String> = heads.iter().map(|head| head.to_lowercase()).collect();
    let fits = words.len() == LONG.len() && words.iter().zip(LONG).all(|(word, any)| any.contains(&word.as_str()));
    fits.then(|| if words[2] == "rank" { Given::Ranks } else { Given::Scores })
}

impl Sheet {
    /// A row a taster, a column a glass.
    fn of_rows(heads: &[String], rows: &[Row]) -> Outcome<Sheet> {
        let glasses: Vec<String> = heads.iter().skip(1).cloned().collect();
        if glasses.is_empty() || glasses.iter().any(String::is_empty) {
            let sentence = "The first line must name the glasses, like taster,412,207,931, each with a code.";
            return Err(refused(sentence.to_owned()));
        }
        let mut sheet = Sheet { glasses, ..Sheet::default() };
        for Row { line, cells, .. } in rows {
            let Some((taster, cells)) = cells.split_first().filter(|(taster, _)| !taster.is_empty()) else {
                sheet.complain(*line, "the first cell must name the taster");
                continue;
            };
            if cells.len() != sheet.glasses.len() {
                let sentence =
                    format!("{} for {}", counted(cells.len(), "cell"), counted(sheet.glasses.len(), "glass"));
                sheet.complain(*line, &sentence);
                continue;
            }
            let row = cells.iter().map(|cell| sheet.value(*line, cell)).collect();
            sheet.tasters.push(taster.clone());
            sheet.rows.push(row);
        }
        Ok(sheet)
    }

    /// A line a value.
    fn of_lines(rows: &[Row]) -> Sheet {
        let mut sheet = Sheet::default();
        for Row { line, cells, .. } in rows {
            match &cells[..] {
                [taster, code, value] if !taster.is_empty() && !code.is_empty() => {
                    sheet.line(*line, taster, code, value);
                }
                _ => sheet.complain(*line, "write a taster, the code of a glass and a value"),
            }
        }
        let glasses = sheet.glasses.len();
        sheet.rows.iter_mut().for_each(|row| row.resize(glasses, None));
        sheet
    }

    fn line(&mut self, line: u64, taster: &str, code: &str, value: &str) {
        let row = place(&mut self.tasters, taster);
        let glass = place(&mut self.glasses, code);
        self.rows.resize(self.tasters.len(), Vec::new());
        let value = self.value(line, value);
        let cells = &mut self.rows[row];
        cells.resize(cells.len().max(glass + 1), None);
        if cells[glass].is_some() {
            self.complain(line, &format!("{taster} has judged glass {code} in a line before"));
        } else {
            cells[glass] = value;
        }
    }

    /// A value; none where nothing was tasted, and where it is no number, which is remembered.
    fn value(&mut self, line: u64, cell: &str) -> Option<f64> {
        if cell.is_empty() || cell == "-" {
            return None;
        }
        let value = parse_decimal(cell).ok();
        if value.is_none() {
            self.complain(line, &format!("'{cell}' is no number"));
        }
        value
    }

    fn complain(&mut self, line: u64, what: &str) {
        self.bad.push(format!("Line {line}: {}.", harmless(what)));
    }
}

/// The place of a name among names, to which it is added where it is new.
fn place(names: &mut Vec<String>, name: &str) -> usize {
    names.iter().position(|other| other == name).unwrap_or_else(|| {
        names.push(name.to_owned());
        names.len() - 1
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(text: &str, given: Option<Given>) -> Outcome<Table> {
        super::table(&Spreadsheet::of("scores.csv".to_owned(), text)?, given)
    }

    fn told(text: &str) -> String {
        table(text, None).unwrap_err().sentence().unwrap()
    }

    #[test]
    fn both_forms_give_the_same_table() {
        let wide = table("taster,412,207\nann,14.5,\nbo,-,12\n", None).unwrap();
        let long = table("Taster,Glass,Score\nann,412,14.5\nbo,207,12\n", None).unwrap();
        assert_eq!(wide, long);
        assert_eq!(table("\u{feff};412;207\nann;14,5;\nbo;;12", None).unwrap(), wide);
        assert_eq!(wide.rows(), [[Some(14.5), None], [None, Some(12.0)]]);
        assert_eq!(table("taster,code,rank\nann,1,1", None).unwrap().given(), Given::Ranks);
        assert_eq!(table("taster,1,2\nann,1,2", Some(Given::Ranks)).unwrap().given(), Given::Ranks);
    }

    #[test]
    fn bad_lines_are_named() {
        for (text, part) in [
            ("", "The table is empty"),
            ("taster\nann", "must name the glasses"),
            (
                "taster,412,207\nann,14\nbo,x,y\n,1,2",
                "Line 2: 1 cell for 2 glasses. Line 3: 'x' is no number. Line 3: 'y'",
            ),
            ("taster,412\nann,14\n,3", "Line 3: the first cell must name the taster"),
            (
                "taster,code,score\nann,412,14\nann,412,13\nbo,412",
                "Line 3: ann has judged glass 412 in a line before. Line 4",
            ),
            ("taster,412\nann,14\nann,13", "The taster 'ann' stands twice"),
        ] {
            assert!(told(text).contains(part), "{text}: {}", told(text));
        }
        assert!(table("taster,412\nann,96.5", None).is_ok(), "scores are of any scale");
        let many = format!("taster,412\n{}", "ann,x\n".repeat(13));
        assert!(told(&many).ends_with("And 3 more."), "{}", told(&many));
        let other = table("taster,code,score\nann,412,14", Some(Given::Ranks)).unwrap_err().sentence().unwrap();
        assert!(other.contains("says something else"), "{other}");
    }
}
