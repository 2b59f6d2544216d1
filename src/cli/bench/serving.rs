//! Servings from the desk: who would taste which glass when.

use crate::cli::arguments::ServingArguments;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::reckon::chance::Chance;
use crate::reckon::serving::{Balance, Range, Serving, ServingError, lay_out};

impl From<ServingError> for Complaint {
    fn from(error: ServingError) -> Complaint {
        Complaint::Refused(format!("{}.", capital(&error.to_string())))
    }
}

fn capital(sentence: &str) -> String {
    let mut characters = sentence.chars();
    characters.next().map(|first| first.to_uppercase().chain(characters).collect()).unwrap_or_default()
}

/// Lays a serving out.
pub fn serving(asked: &ServingArguments, page: &mut Page<'_>) -> Outcome {
    let question = asked.question();
    let serving = lay_out(&question, &mut Chance::from_seed(asked.seed))?;
    let balance = serving.balance(&question);
    let flights = flights(&serving);
    page.report((&columns(), &(&balance, &serving)), (&flight_columns(), &flights), |page| {
        page.table(&flight_columns(), &flights)?;
        page.line("")?;
        words(&balance).iter().try_for_each(|words| page.line(words))
    })
}

/// How even a serving is, from the least to the most often, and the serving.
fn columns<'a>() -> [Column<(&'a Balance, &'a Serving)>; 6] {
    const fn range(range: Range) -> [i64; 2] {
        [range.least, range.most]
    }
    [
        Column::within("tasted", |it: &(&Balance, &Serving)| Cell::list(range(it.0.tasted))),
        Column::within("at_place", |it| Cell::list(range(it.0.at_place))),
        Column::within("behind", |it| Cell::list(range(it.0.behind))),
        Column::within("beside", |it| Cell::list(range(it.0.beside))),
        Column::program("connected", |it| it.0.connected.into()),
        Column::within("flights", |it| Cell::things(&flight_columns(), flights(it.1))),
    ]
}

/// A flight of a taster, both counted from one.
type Flight<'a> = (usize, usize, &'a [usize]);

fn flights(serving: &Serving) -> Vec<Flight<'_>> {
    let tasters = (1..).zip(&serving.orders);
    tasters.flat_map(|(taster, order)| (1..).zip(order).map(move |(flight, its)| (taster, flight, &its[..]))).collect()
}

/// The columns of flights; glasses count from one.
fn flight_columns<'a>() -> [Column<Flight<'a>>; 3] {
    [
        Column::both("taster", "taster", |it: &Flight<'_>| it.0.into()),
        Column::both("flight", "flight", |it| it.1.into()),
        Column::both("glasses", "glasses in order", |it: &Flight<'_>| {
            it.2.iter().map(|glass| (glass + 1).to_string()).collect::<Vec<_>>().join(" ").into()
        })
        .whole(|it| Cell::list(it.2.iter().map(|glass| glass + 1))),
    ]
}

fn words(balance: &Balance) -> Vec<String> {
    let times = |range: Range| match (range.least, range.most) {
        (least, most) if least != most => format!("{least} to {most} times"),
        (1, _) => "once".to_owned(),
        (least, _) => format!("{least} times"),
    };
    let mut words = vec![
        format!(
            "A glass is tasted {}, and stands at each place of a flight {}.",
            times(balance.tasted),
            times(balance.at_place)
        ),
        format!(
            "It follows each other glass {}, and shares a flight with it {}.",
            times(balance.behind),
            times(balance.beside)
        ),
    ];
    if !balance.connected {
        let apart = "Some glasses cannot be compared: no taster links them. Give each taster more glasses, or take more tasters.";
        words.push(apart.to_owned());
    }
    words
}
