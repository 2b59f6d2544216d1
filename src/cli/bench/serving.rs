//! Servings from the desk: who would taste which glass when.

use serde::Serialize;

use crate::cli::arguments::ServingArguments;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::reckon::chance::Chance;
use crate::reckon::serving::{Balance, Range, ServingError, lay_out};

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
    let rows = FlightView::of(&serving.orders);
    let view = ServingView { balance: BalanceView::of(&serving.balance(&question)), flights: &rows };
    page.report(&view, &FlightView::COLUMNS, &rows, |page| {
        page.table(&FlightView::COLUMNS, &rows)?;
        page.line("")?;
        view.balance.words().iter().try_for_each(|words| page.line(words))
    })
}

#[derive(Debug, Serialize)]
struct ServingView<'a> {
    #[serde(flatten)]
    balance: BalanceView,
    flights: &'a [FlightView],
}

/// A flight of a taster; glasses count from one.
#[derive(Debug, Serialize)]
struct FlightView {
    taster: usize,
    flight: usize,
    glasses: Vec<usize>,
}

impl FlightView {
    fn of(orders: &[Vec<Vec<usize>>]) -> Vec<FlightView> {
        let flights = orders
            .iter()
            .zip(1..)
            .flat_map(|(order, taster)| order.iter().zip(1..).map(move |(flight, number)| (taster, number, flight)));
        flights
            .map(|(taster, flight, glasses)| FlightView {
                taster,
                flight,
                glasses: glasses.iter().map(|glass| glass + 1).collect(),
            })
            .collect()
    }

    const COLUMNS: [Column<FlightView>; 3] = [
        Column::both("taster", "taster", |it: &FlightView| it.taster.into()),
        Column::both("flight", "flight", |it| it.flight.into()),
        Column::both("glasses", "glasses in order", |it| {
            it.glasses.iter().map(ToString::to_string).collect::<Vec<_>>().join(" ").as_str().into()
        }),
    ];
}

/// How even a serving is, from the least to the most often.
#[derive(Debug, Serialize)]
struct BalanceView {
    tasted: [i64; 2],
    at_place: [i64; 2],
    behind: [i64; 2],
    beside: [i64; 2],
    connected: bool,
}

impl BalanceView {
    fn of(balance: &Balance) -> BalanceView {
        let range = |range: Range| [range.least, range.most];
        BalanceView {
            tasted: range(balance.tasted),
            at_place: range(balance.at_place),
            behind: range(balance.behind),
            beside: range(balance.beside),
            connected: balance.connected,
        }
    }

    fn words(&self) -> Vec<String> {
        let times = |[least, most]: [i64; 2]| match (least, most) {
            (least, most) if least != most => format!("{least} to {most} times"),
            (1, _) => "once".to_owned(),
            (least, _) => format!("{least} times"),
        };
        let mut words = vec![
            format!(
                "A glass is tasted {}, and stands at each place of a flight {}.",
                times(self.tasted),
                times(self.at_place)
            ),
            format!(
                "It follows each other glass {}, and shares a flight with it {}.",
                times(self.behind),
                times(self.beside)
            ),
        ];
        if !self.connected {
            let apart = "Some glasses cannot be compared: no taster links them. Give each taster more glasses, or take more tasters.";
            words.push(apart.to_owned());
        }
        words
    }
}
