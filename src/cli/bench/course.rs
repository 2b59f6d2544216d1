//! `reckon course`: a blend under way, from what has arrived by measure and what is still there.

use super::blend_plan::{by_label, shares};
use crate::cellar::core::label::harmless;
use crate::cli::arguments::CourseArguments;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::{Page, below};
use crate::reckon::scale_up::{Closing, Correction, Course, Taking, Tank, Tolerance};
use crate::units::{Shares, Volume, litres, show_percent};

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
    Under { course: &course, correction: &correction, closing }.write(page)
}

/// A blend under way.
struct Under<'a> {
    course: &'a Course<'a>,
    correction: &'a Correction,
    closing: Option<Closing>,
}

/// A wine of it: which one.
type WineOf<'a> = (&'a Under<'a>, usize);

fn columns<'a>() -> [Column<Under<'a>>; 7] {
    [
        Column::program("volume_ul", |it: &Under<'_>| it.correction.volume.into()),
        Column::program("exact", |it| it.correction.exact.into()),
        Column::program("off_ppm", |it| it.correction.off.into()),
        // Whether what has arrived is within the tolerance.
        Column::program("closes", |it| it.closes().into()),
        Column::within("wines", |it| Cell::things(&wine_columns(), it.wines())),
        Column::within("closing", |it| Cell::list(it.closing())),
        Column::program("says", |it| says(it.course, it.correction).into()),
    ]
}

impl Under<'_> {
    fn closes(&self) -> bool {
        self.closing.as_ref().is_some_and(Closing::holds)
    }

    fn closing(&self) -> Vec<String> {
        let names: Vec<String> = self.course.tanks.iter().map(|tank| harmless(&tank.name)).collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        self.closing.as_ref().map_or_else(Vec::new, |it| it.words(&names))
    }

    fn wines(&self) -> Vec<WineOf<'_>> {
        (0..self.course.tanks.len()).map(|at| (self, at)).collect()
    }

    fn write(&self, page: &mut Page<'_>) -> Outcome {
        let wines = self.wines();
        page.report((&columns(), self), (&wine_columns(), &wines), |page| {
            page.line(&says(self.course, self.correction))?;
            page.section("the wines", &wine_columns(), &wines)?;
            if !self.correction.transfers.is_empty() {
                return Ok(());
            }
            page.line("")?;
            self.closing().iter().try_for_each(|words| page.line(words))?;
            let not = if self.closes() { "" } else { " not" };
            below(page, &format!("As it stands, it is{not} the blend that was chosen."))
        })
    }
}

/// What comes next, and where it leads, in words.
fn says(course: &Course<'_>, correction: &Correction) -> String {
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

fn wine_columns<'a>() -> Vec<Column<WineOf<'a>>> {
    fn running(&(under, at): &WineOf<'_>) -> Option<u32> {
        under.course.running().map(|running| running.millionths()[at])
    }
    vec![
        Column::both("wine", "wine", |&(under, at): &WineOf<'_>| (&under.course.tanks[at].name).into()),
        Column::program("shares_ppm", |&(under, at)| under.course.shares.millionths()[at].into()),
        Column::people("chosen", |&(under, at)| part(under.course.shares.millionths()[at])),
        Column::both("arrived_ul", "arrived", |&(under, at): &WineOf<'_>| under.course.arrived[at].into()).summed(),
        Column::program("running_ppm", |it| running(it).into()),
        Column::people("so far", |it| running(it).map_or(Cell::Nothing, part)),
        Column::both("still_ul", "still to come", |&(under, at): &WineOf<'_>| under.correction.still[at].into())
            .summed(),
        Column::both("order", "order", |&(under, at)| {
            under.correction.transfers.iter().position(|&it| it == at).map(|position| position + 1).into()
        }),
    ]
}

/// Millionths as a share.
fn part(millionths: u32) -> Cell {
    Cell::Share(f64::from(millionths) / f64::from(Shares::WHOLE))
}
