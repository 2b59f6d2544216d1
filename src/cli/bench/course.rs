//! `reckon course`: a blend under way, from what has arrived by measure and what is still there.

use serde::Serialize;

use super::blend_plan::{by_label, shares};
use crate::cellar::core::label::harmless;
use crate::cli::arguments::CourseArguments;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::tests::sulfur::below;
use crate::reckon::scale_up::{Closing, Correction, Course, Taking, Tank, Tolerance};
use crate::units::{Shares, Volume, VolumeUnit, show_percent};

/// Reckons what must still come.
pub fn course(asked: &CourseArguments, page: &mut Page<'_>) -> Outcome {
    let ratio = shares(&asked.shares)?;
    let (arrived, there) = (by_label(&asked.shares, &asked.arrived)?, by_label(&asked.shares, &asked.there)?);
    let whole: Volume = arrived.iter().copied().sum();
    if asked.room.is_some_and(|room| room < whole) {
        let sentence = format!("The receiving tank has no room for what has arrived, {whole}. Check the litres.");
        return Err(Complaint::Refused(sentence));
    }
    if whole.is_zero() && there.iter().all(|volume| volume.is_zero()) {
        let sentence = "Nothing has arrived, and nothing is there. Say it with --arrived and --there.";
        return Err(Complaint::Refused(sentence.to_owned()));
    }
    let tank = |((name, _), holds): (&(String, u32), &Volume)| Tank {
        name: name.clone(),
        holds: *holds,
        keep: Volume::ZERO,
        taking: Taking::AsAsked,
    };
    let tanks: Vec<Tank> = asked.shares.iter().zip(&there).map(tank).collect();
    let course = Course { shares: &ratio, tanks: &tanks, arrived: &arrived, planned: asked.planned, room: asked.room };
    let closing = Closing::of(&arrived, &ratio, asked.tolerance.unwrap_or(Tolerance::USUAL));
    let Some(correction) = course.correction() else {
        return Err(Complaint::Refused("Give every wine a share.".to_owned()));
    };
    CourseView::of(&course, &correction, closing.as_ref()).write(page)
}

/// A blend under way.
#[derive(Debug, Serialize)]
struct CourseView {
    volume_ul: Volume,
    exact: bool,
    off_ppm: u32,
    /// Whether what has arrived is within the tolerance.
    closes: bool,
    wines: Vec<WineView>,
    closing: Vec<String>,
    says: String,
}

/// A wine of it.
#[derive(Debug, Serialize)]
struct WineView {
    wine: String,
    shares_ppm: u32,
    arrived_ul: Volume,
    running_ppm: Option<u32>,
    still_ul: Volume,
    order: Option<usize>,
}

impl CourseView {
    fn of(course: &Course<'_>, correction: &Correction, closing: Option<&Closing>) -> CourseView {
        let running = course.running();
        let wine = |(at, tank): (usize, &Tank)| WineView {
            wine: tank.name.clone(),
            shares_ppm: course.shares.millionths()[at],
            arrived_ul: course.arrived[at],
            running_ppm: running.as_ref().map(|running: &Shares| running.millionths()[at]),
            still_ul: correction.still[at],
            order: correction.transfers.iter().position(|&it| it == at).map(|position| position + 1),
        };
        let names: Vec<String> = course.tanks.iter().map(|tank| harmless(&tank.name)).collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        CourseView {
            volume_ul: correction.volume,
            exact: correction.exact,
            off_ppm: correction.off,
            closes: closing.is_some_and(Closing::holds),
            wines: course.tanks.iter().enumerate().map(wine).collect(),
            closing: closing.map_or_else(Vec::new, |it| it.words(&names)),
            says: says(course, correction),
        }
    }

    fn write(&self, page: &mut Page<'_>) -> Outcome {
        page.report(self, &WineView::columns(), &self.wines, |page| {
            page.line(&self.says)?;
            page.section("the wines", &WineView::columns(), &self.wines)?;
            if self.wines.iter().any(|wine| wine.order.is_some()) {
                return Ok(());
            }
            page.line("")?;
            self.closing.iter().try_for_each(|words| page.line(words))?;
            let not = if self.closes { "" } else { " not" };
            below(page, &format!("As it stands, it is{not} the blend that was chosen."))
        })
    }
}

/// What comes next, and where it leads, in words.
fn says(course: &Course<'_>, correction: &Correction) -> String {
    let litres = |volume: Volume| volume.show(VolumeUnit::Litre, 1);
    let comes_to = litres(correction.volume);
    let next = match correction.transfers.first() {
        Some(&at) => format!("Next: {} of {}.", litres(correction.still[at]), harmless(&course.tanks[at].name)),
        None if correction.exact => "Nothing is still to come.".to_owned(),
        None => "Nothing that is there can bring it nearer.".to_owned(),
    };
    if correction.exact {
        return format!("{next} It comes to {comes_to} in the chosen ratio.");
    }
    format!("{next} It comes to {comes_to}, off the chosen ratio by {} points.", show_percent(correction.off))
}

impl WineView {
    fn columns() -> Vec<Column<WineView>> {
        vec![
            Column::both("wine", "wine", |it: &WineView| (&it.wine).into()),
            Column::program("shares_ppm", |it| i64::from(it.shares_ppm).into()),
            Column::people("chosen", |it| part(it.shares_ppm)),
            Column::both("arrived_ul", "arrived", |it: &WineView| it.arrived_ul.into()).summed(),
            Column::program("running_ppm", |it| it.running_ppm.map(i64::from).into()),
            Column::people("so far", |it| it.running_ppm.map_or(Cell::Nothing, part)),
            Column::both("still_ul", "still to come", |it: &WineView| it.still_ul.into()).summed(),
            Column::both("order", "order", |it| it.order.into()),
        ]
    }
}

/// Millionths as a share.
fn part(millionths: u32) -> Cell {
    Cell::Share(f64::from(millionths) / f64::from(Shares::WHOLE))
}
