//! `trial scores`: the ratings of a spreadsheet, all or none.

use std::collections::HashMap;
use std::path::Path;

use super::trial;
use crate::cellar::core::decide::decide;
use crate::cellar::core::fact::What;
use crate::cellar::core::label::{Label, Text, harmless};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::State;
use crate::cellar::jobs::bench::trial::code::Code;
use crate::cellar::jobs::bench::trial::rating::GlassRated;
use crate::cli::arguments::Entering;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::{Counter, Decided, own_state};
use crate::cli::core::saying::Saying;
use crate::cli::table::spreadsheet::{MOST_RATINGS, Spreadsheet};
use crate::units::{counted, parse_decimal};

/// Every column that the file may have.
const COLUMNS: [&str; 6] = ["taster", "code", "flight", "score", "rank", "text"];

/// The columns of a file, by what they hold.
struct Columns([Option<usize>; 6]);

impl Columns {
    fn of(sheet: &Spreadsheet) -> Outcome<Columns> {
        sheet.has_only(&COLUMNS)?;
        let columns = COLUMNS.map(|column| sheet.column(column));
        match columns {
            [Some(_), Some(_), ..] => Ok(Columns(columns)),
            _ => Err(Complaint::Refused("The file needs a column 'taster' and a column 'code'.".to_owned())),
        }
    }

    /// The rating of a row.
    fn rating(&self, trial: &Label, fields: &[String]) -> Result<GlassRated, String> {
        let field = |index: usize| self.0[index].map_or("", |column| fields[column].as_str());
        let number = |index: usize| {
            let text = field(index);
            (!text.is_empty()).then(|| parse_decimal(text).map_err(|error| error.to_string())).transpose()
        };
        let flight = match field(2) {
            "" => None,
            text => {
                Some(text.parse().map_err(|_| format!("'{}' is no flight. Flights count from 1.", harmless(text)))?)
            }
        };
        let text = match field(5) {
            "" => None,
            text => Some(Text::new(text).map_err(|error| error.to_string())?),
        };
        Ok(GlassRated {
            trial: trial.clone(),
            taster: Label::new(field(0)).map_err(|error| error.to_string())?,
            code: Code::parse(field(1)).map_err(|error| error.to_string())?,
            flight,
            score: number(3)?,
            rank: number(4)?,
            text,
        })
    }
}

impl Counter<'_, '_> {
    /// Takes the ratings of a file in; without somebody who enters them, only says what would be taken.
    pub(super) fn take_scores(
        &mut self,
        cellar: &Path,
        (entering, enters): (&Entering, bool),
        label: &str,
        file: &Path,
    ) -> Outcome {
        let decide = |counter: &mut Self, state: &State| {
            let whats = read(state, label, file, counter.now, counter.saying)?;
            let ratings = counted(whats.len(), "rating");
            Ok(Decided::of(whats, ratings))
        };
        self.act(cellar, (entering, enters), own_state, decide, |counter, _, ratings, desk| {
            if !enters {
                return Ok(writeln!(counter.out, "{ratings} would be taken")?);
            }
            let missing = desk.state().trials.get(trial(desk.state(), label)?).missing().len();
            Ok(writeln!(counter.out, "{ratings} taken, {missing} missing")?)
        })
    }
}

/// The facts of a file, each of which may be done.
fn read(state: &State, label: &str, file: &Path, now: Moment, saying: &mut Saying<'_>) -> Outcome<Vec<What>> {
    let trial = state.trials.get(trial(state, label)?).label.clone();
    let sheet = Spreadsheet::read(file)?.at_most(MOST_RATINGS, "a trial")?;
    let columns = Columns::of(&sheet)?;
    let mut seen: HashMap<(Label, Code, Option<u32>), u64> = HashMap::new();
    let rating = |line: u64, fields: &[String]| {
        let rating = columns.rating(&trial, fields)?;
        let glass = (rating.taster.clone(), rating.code, rating.flight);
        if let Some(first) = seen.get(&glass) {
            return Err(format!("{} has rated {} in line {first} already. Keep one.", rating.taster, rating.code));
        }
        let what = What::GlassRated(Box::new(rating));
        decide(state, &what, now, now).map_err(|refusal| refusal.to_string())?;
        seen.insert(glass, line);
        Ok(what)
    };
    sheet.all(rating, saying)
}
