//! The physical count at the desk: what people found beside what is expected, and the book put right where it is asked.

use std::collections::HashMap;
use std::path::Path;

use crate::cellar::core::decide::decide;
use crate::cellar::core::fact::What;
use crate::cellar::core::label::{Label, harmless};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{State, VesselId};
use crate::cellar::jobs::books::counting::{Counted, Found, Verdict};
use crate::cli::arguments::CountArguments;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::Counter;
use crate::cli::core::saying::Saying;
use crate::cli::reading;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::table::seen::{Seen, seen};
use crate::cli::table::spreadsheet::Spreadsheet;
use crate::desk::Desk;
use crate::units::{Volume, by_count, counted, litres};

impl Counter<'_, '_> {
    /// Compares a count with what is expected; where it is asked, books what was measured.
    pub(in crate::cli) fn count(&mut self, cellar: &Path, asked: &CountArguments) -> Outcome {
        let mut desk = self.desk_to_try(cellar, !asked.book)?;
        let mut page = Page { out: self.out, format: asked.format, width: self.width };
        count(&mut desk, asked, self.now, &mut page, self.saying)
    }
}

fn count(
    desk: &mut Desk,
    asked: &CountArguments,
    now: Moment,
    page: &mut Page<'_>,
    saying: &mut Saying<'_>,
) -> Outcome {
    let state = &desk.state().clone();
    let counts = read(state, asked, saying)?;
    let told = Seen { state, on: now, thing: Compared::of(state, asked, &counts, now)? };
    let booked = if asked.book { bookings(state, asked, &counts, now)? } else { Vec::new() };
    let gauged = booked.iter().filter(|what| matches!(what, What::Gauged(_))).count();
    let found = found_wine(&booked);
    if !booked.is_empty() {
        asked.entering.enter(desk, booked, asked.why.clone(), now)?;
    }
    told.write(page)?;
    match (asked.book, gauged) {
        (true, many) => {
            let were = by_count(many, "was", "were");
            saying.message(&format!("{} {were} gauged in the book.", counted(many, "vessel")));
        }
        (false, _) => saying.message("Nothing was booked. Book what was measured with --book --why REASON."),
    }
    for (vessel, volume, lot) in found {
        let litres = litres(volume);
        saying.message(&format!("{litres} in {vessel} came into the book, of the lot '{lot}'."));
    }
    Ok(())
}

/// The columns of the file.
struct Columns {
    vessel: usize,
    litres: Option<usize>,
    dip: Option<usize>,
}

impl Columns {
    fn of(sheet: &Spreadsheet) -> Outcome<Columns> {
        let known = ["vessel", "litres", "dip_mm"];
        let unknown = |head: &&String| !known.iter().any(|column| head.eq_ignore_ascii_case(column));
        if let Some(head) = sheet.heads.iter().find(unknown) {
            let head = harmless(head);
            return Err(Complaint::Refused(format!(
                "The column '{head}' is not known. The columns are vessel, litres, dip_mm."
            )));
        }
        match (sheet.column("vessel"), sheet.column("litres"), sheet.column("dip_mm")) {
            (Some(vessel), litres, dip) if litres.is_some() || dip.is_some() => Ok(Columns { vessel, litres, dip }),
            _ => Err(Complaint::Refused(
                "The file needs a column 'vessel' and a column 'litres' or 'dip_mm'.".to_owned(),
            )),
        }
    }

    fn found(&self, state: &State, id: VesselId, fields: &[String]) -> Result<Option<Found>, String> {
        let field = |column: Option<usize>| column.map_or("", |column| fields[column].as_str());
        let vessel = state.vessels.get(id);
        let found = match (field(self.litres), field(self.dip)) {
            ("", "") => return Ok(None),
            (litres, "") => Found::read(litres, vessel),
            ("", dip) => Found::by_dip(dip, vessel),
            _ => return Err("It has litres and a dip. Keep one.".to_owned()),
        };
        found.map(Some).map_err(|error| error.to_string())
    }
}

/// Every vessel of the file that was counted; a line without a figure was not.
fn read(state: &State, asked: &CountArguments, saying: &mut Saying<'_>) -> Outcome<Vec<(VesselId, Found)>> {
    let sheet = Spreadsheet::read(&asked.file)?;
    let columns = Columns::of(&sheet)?;
    let mut seen: HashMap<VesselId, u64> = HashMap::new();
    let row = |line: u64, fields: &[String]| {
        let label = &fields[columns.vessel];
        let unknown = || format!("No vessel is called '{}'. Correct it, or register the vessel.", harmless(label));
        let id = state.vessels.find(label).ok_or_else(unknown)?;
        if let Some(first) = seen.insert(id, line) {
            return Err(format!("{} is counted in line {first} already. Keep one.", harmless(label)));
        }
        Ok(columns.found(state, id, fields)?.map(|found| (id, found)))
    };
    Ok(sheet.all(row, saying)?.into_iter().flatten().collect())
}

/// The facts that put the book right. Refused as a whole if one cannot be.
fn bookings(state: &State, asked: &CountArguments, counts: &[(VesselId, Found)], now: Moment) -> Outcome<Vec<What>> {
    let lot = asked.found.as_deref().map(|lot| reading::lot(state, lot)).transpose()?;
    let facts = state.put_right(&state.compare_count(counts, now), lot, now)?;
    facts.iter().filter(|what| matches!(what, What::Gauged(_))).try_for_each(|fact| decide(state, fact, now, now))?;
    Ok(facts)
}

/// Wine that comes into the book where there was none: in which vessel, how much, of which lot.
fn found_wine(booked: &[What]) -> Vec<(Label, Volume, Label)> {
    let found = booked.iter().filter_map(|what| match what {
        What::WineReceived(received) => {
            let volume = received.parts.iter().map(|part| part.volume).sum();
            Some((received.vessel.clone(), volume, received.lot.clone()))
        }
        _ => None,
    });
    found.collect()
}

/// A count beside what is expected.
struct Compared {
    counted: Vec<Counted>,
    missed: Vec<VesselId>,
}

type CountSeen<'a> = Seen<'a, Compared>;

fn columns<'a>() -> Vec<Column<CountSeen<'a>>> {
    vec![
        Column::within("counted", |it: &CountSeen<'_>| it.within(&counted_columns(), &it.counted)),
        Column::within("not_counted", |it| Cell::list(it.missed.iter().map(|&id| it.vessel_label(id)))),
        Column::program("book_ul", |it| it.sum(|it| it.book).into()),
        Column::program("expected_ul", |it| it.sum(|it| it.expected).into()),
        Column::program("found_ul", |it| it.sum(|it| it.found).into()),
    ]
}

impl Compared {
    fn of(state: &State, asked: &CountArguments, counts: &[(VesselId, Found)], now: Moment) -> Outcome<Compared> {
        let room = asked.room.as_deref().map(|room| reading::room(state, room)).transpose()?;
        let lot = asked.lot.as_deref().map(|lot| reading::lot(state, lot)).transpose()?;
        let scope = |id: VesselId| {
            let vessel = state.vessels.get(id);
            (room.is_none() || vessel.slot.map(|slot| slot.room) == room) && (lot.is_none() || vessel.lot == lot)
        };
        Ok(Compared { counted: state.compare_count(counts, now), missed: state.uncounted(scope, counts) })
    }

    fn sum(&self, of: fn(&Counted) -> Volume) -> Volume {
        self.counted.iter().map(of).sum()
    }
}

impl CountSeen<'_> {
    fn write(&self, page: &mut Page<'_>) -> Outcome {
        let counted = seen(self.state, self.on, &self.counted);
        page.report((&columns(), self), (&counted_columns(), &counted), |page| {
            let apart = self.counted.iter().filter(|counted| counted.verdict != Verdict::AsExpected).count();
            let litres = |of| litres(self.sum(of));
            page.line(&format!(
                "{} counted: {} found, {} expected, {} in the book. Not as expected: {apart}.",
                counted.len(),
                litres(|it| it.found),
                litres(|it| it.expected),
                litres(|it| it.book),
            ))?;
            page.section("the count", &counted_columns(), &counted)?;
            if self.missed.is_empty() {
                return page.line("\nEvery vessel that holds wine was counted.");
            }
            let missed: Vec<String> = self.missed.iter().map(|&id| harmless(self.vessel_label(id).as_str())).collect();
            page.line(&format!("\nNot counted, though there is wine in it by the book: {}.", missed.join(", ")))
        })
    }
}

/// A vessel of the count.
type CountedSeen<'a> = Seen<'a, &'a Counted>;

fn counted_columns<'a>() -> Vec<Column<CountedSeen<'a>>> {
    vec![
        Column::both("vessel", "vessel", |it: &CountedSeen<'_>| it.vessel(it.thing.vessel)),
        Column::both("place", "place", |it| it.place(it.thing.vessel)),
        Column::both("lot", "lot", |it| it.lot(it.state.vessels.get(it.thing.vessel).lot)),
        Column::both("book_ul", "book", |it: &CountedSeen<'_>| it.book.into()).summed(),
        Column::program("expected_ul", |it| it.expected.into()),
        Column::program("expected_sd_ul", |it| it.deviation.into()),
        Column::people("expected", |it| Cell::Estimate(it.expected, it.deviation)),
        Column::both("found_ul", "found", |it: &CountedSeen<'_>| it.found.into()).summed(),
        Column::within("measured", |it| it.measured.into()),
        Column::both("verdict", "", |it| it.words().into()),
    ]
}
