//! The file of ratings: CSV, a line for a rating.

use std::path::Path;

use crate::cellar::core::label::harmless;
use crate::cli::arguments::SurfaceArguments;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::table::spreadsheet::{MOST_RATINGS, Spreadsheet};
use crate::reckon::surface::{Question, Rating, Region, Scale};
use crate::units::parse_decimal;

/// Shares that sum to a whole but for so much of it are rounded shares of a whole: three thirds as 33.3.
const ROUNDED: f64 = 0.005;

/// The ratings of a file.
#[derive(Debug)]
pub struct Ratings {
    components: Vec<String>,
    tasters: Vec<String>,
    flights: Vec<String>,
    glasses: Vec<Vec<f64>>,
    /// What each glass is called, where the file says it.
    pub glass_names: Vec<String>,
    given: Vec<Rating>,
}

/// What the columns of a file are.
struct Columns {
    taster: usize,
    score: usize,
    glass: Option<usize>,
    flight: Option<usize>,
    components: Vec<usize>,
}

/// Reads a file.
pub fn read_file(path: &Path) -> Outcome<Ratings> {
    Ratings::of(&Spreadsheet::read(path)?.at_most(MOST_RATINGS, "a surface")?)
}

fn refused(line: u64, why: &str) -> Complaint {
    Complaint::Refused(format!("Line {line} of the ratings: {why}"))
}

impl Columns {
    fn of(sheet: &Spreadsheet) -> Outcome<Columns> {
        let heads = &sheet.heads;
        let (taster, score, glass) = (sheet.column("taster"), sheet.column("score"), sheet.column("glass"));
        let flight = sheet.column("flight");
        let rest = (0..heads.len()).filter(|&column| ![taster, score, glass, flight].contains(&Some(column)));
        let components: Vec<usize> = rest.collect();
        let twice =
            components.iter().find(|&&one| components.iter().any(|&other| other < one && heads[other] == heads[one]));
        match (taster, score) {
            _ if twice.is_some() => {
                Err(refused(1, "two columns have the same name. Call each component its own name."))
            }
            (Some(taster), Some(score)) if components.len() > 1 => {
                Ok(Columns { taster, score, glass, flight, components })
            }
            _ => Err(refused(
                1,
                "it must name the columns taster, score, and two components or more, with their shares in each glass.",
            )),
        }
    }
}

impl Ratings {
    fn of(sheet: &Spreadsheet) -> Outcome<Ratings> {
        let columns = Columns::of(sheet)?;
        let mut ratings = Ratings {
            components: columns.components.iter().map(|&column| harmless(&sheet.heads[column])).collect(),
            tasters: Vec::new(),
            flights: Vec::new(),
            glasses: Vec::new(),
            glass_names: Vec::new(),
            given: Vec::new(),
        };
        for row in &sheet.rows {
            let taken = sheet.cells(row).and_then(|cells| ratings.take(cells, &columns));
            taken.map_err(|why| refused(row.line, &why))?;
        }
        Ok(ratings)
    }

    /// Takes in a line; one without a score is a glass that was not rated.
    fn take(&mut self, cells: &[String], columns: &Columns) -> Result<(), String> {
        let score = &cells[columns.score];
        if score.is_empty() {
            return Ok(());
        }
        let score = parse_decimal(score).map_err(|error| error.to_string())?;
        let taster = harmless(&cells[columns.taster]);
        if taster.is_empty() {
            return Err("it names no taster.".to_owned());
        }
        let parts: Vec<&str> = columns.components.iter().map(|&column| cells[column].as_str()).collect();
        let shares = shares(&parts)?;
        let taster = place_of(taster, &mut self.tasters);
        let flight = columns.flight.map_or(0, |column| place_of(harmless(&cells[column]), &mut self.flights));
        let name = columns.glass.map(|column| harmless(&cells[column])).unwrap_or_default();
        let known = (0..self.glasses.len()).find(|&it| self.glasses[it] == shares && self.glass_names[it] == name);
        let glass = known.unwrap_or_else(|| {
            self.glasses.push(shares);
            self.glass_names.push(name);
            self.glasses.len() - 1
        });
        self.given.push(Rating { taster, flight, glass, score });
        Ok(())
    }

    /// What is asked of them.
    pub fn question(&self, asked: &SurfaceArguments) -> Outcome<Question> {
        let only = asked.taster.as_deref().map(|name| place("taster", name, &self.tasters)).transpose()?;
        let mut region = Region::within_glasses(&self.glasses);
        for (bounds, said) in [(&mut region.lower, &asked.least), (&mut region.upper, &asked.most)] {
            for (name, share) in said {
                let component = place("component", name, &self.components)?;
                if let Some(bound) = bounds.get_mut(component) {
                    *bound = *share;
                }
            }
        }
        if self.given.is_empty() {
            region = Region::all(self.components.len());
        }
        Ok(Question {
            components: self.components.clone(),
            tasters: self.tasters.clone(),
            glasses: self.glasses.clone(),
            ratings: self.given.iter().filter(|it| only.is_none_or(|only| it.taster == only)).copied().collect(),
            scale: if asked.ranks { Scale::Ranks } else { Scale::Scores },
            region,
            panels: asked.panels as usize,
            seed: asked.seed,
        })
    }
}

/// The place of a name among those that were read; a new one comes behind them.
fn place_of(name: String, names: &mut Vec<String>) -> usize {
    names.iter().position(|it| *it == name).unwrap_or_else(|| {
        names.push(name);
        names.len() - 1
    })
}

/// The place of what somebody named.
fn place(what: &str, name: &str, names: &[String]) -> Outcome<usize> {
    names.iter().position(|it| it == name).ok_or_else(|| {
        Complaint::Refused(format!("No {what} is called '{}'. There are: {}.", harmless(name), names.join(", ")))
    })
}

/// The shares of a line, as parts of one or in percent.
fn shares(cells: &[&str]) -> Result<Vec<f64>, String> {
    let numbers = cells.iter().map(|cell| {
        let number = cell.strip_suffix('%').unwrap_or(cell).trim();
        if number.is_empty() { Ok(0.0) } else { parse_decimal(number).map_err(|error| error.to_string()) }
    });
    let numbers: Vec<f64> = numbers.collect::<Result<_, _>>()?;
    let sum: f64 = numbers.iter().sum();
    let is_whole = [1.0, 100.0].iter().any(|whole| (sum - whole).abs() <= ROUNDED * whole);
    if !is_whole || numbers.iter().any(|number| *number < 0.0) {
        return Err(format!(
            "its shares sum to {sum}. Give each component its share; they must sum to 1, or to 100 %."
        ));
    }
    Ok(numbers.into_iter().map(|number| number / sum).collect())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // helpers of tests

    use super::*;

    fn read_text(text: &str) -> Outcome<Ratings> {
        Ratings::of(&Spreadsheet::of("ratings.csv".to_owned(), text)?)
    }

    fn sentence(text: &str) -> String {
        read_text(text).unwrap_err().sentence().unwrap()
    }

    #[test]
    fn shares_are_read_as_parts_or_in_percent() {
        let text =
            "glass,Taster,score,north,south\n417,mk,15.5,25%,75%\n588,mk,14,0.5,0.5\n588,jl,,50,50\n231,jl,12,100,\n";
        let ratings = read_text(text).unwrap();
        assert_eq!(ratings.glasses, [vec![0.25, 0.75], vec![0.5, 0.5], vec![1.0, 0.0]]);
        assert_eq!(ratings.glass_names, ["417", "588", "231"]);
        assert_eq!(
            (ratings.tasters.as_slice(), ratings.given.len()),
            (["mk".to_owned(), "jl".to_owned()].as_slice(), 3)
        );
        let semicolons = read_text("taster;score;a;b\nmk;15,5;33,3;66,7\n").unwrap();
        assert_eq!(semicolons.given[0].score.to_bits(), 15.5_f64.to_bits());
        assert!((semicolons.glasses[0][0] - 0.333).abs() < 1e-12);
    }

    #[test]
    fn what_is_no_rating_is_said_with_its_line() {
        assert!(sentence("").contains("must name the columns taster, score"));
        assert!(sentence("taster,score,a\nmk,1,1\n").contains("two components"));
        assert!(sentence("taster,score,a,a\nmk,1,1,0\n").contains("same name"));
        let good = "taster,score,a,b\nmk,15,0.5,0.5\n";
        assert_eq!(
            sentence(&format!("{good}mk,x,0.5,0.5\n")),
            "Line 3 of the ratings: 'x' is not a number. Write it like 3.6."
        );
        assert!(sentence(&format!("{good}mk,15,0.5,0.6\n")).contains("Line 3 of the ratings: its shares sum to 1.1."));
        assert!(sentence(&format!("{good}mk,15,1.5,-0.5\n")).contains("its shares sum to 1"));
        assert!(sentence(&format!("{good}mk,15,0.5\n")).contains("3 cells where the first line has 4"));
        assert!(sentence(&format!("{good},15,0.5,0.5\n")).contains("names no taster"));
    }
}
