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
use crate::cli::core::counter::{Counter, Decided, own_state};
use crate::cli::core::saying::Saying;
use crate::cli::reading;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::table::seen::{Seen, seen};
use crate::cli::table::spreadsheet::Spreadsheet;
use crate::units::{Volume, by_count, counted, litres};

impl Counter<'_, '_> {
    /// Compares a count with what is expected; where it is asked, books what was measured.
    pub(in crate::cli) fn count(&mut self, cellar: &Path, asked: &CountArguments) -> Outcome {
        let decide = |counter: &mut Self, state: &State| {
            let now = counter.now;
            let counts = read(state, asked, counter.saying)?;
            let compared = Compared::of(state, asked, &counts, now)?;
            let whats = if asked.book { bookings(state, asked, &counts, now)? } else { Vec::new() };
            let told = (compared, Booked::of(&whats));
            Ok(Decided { note: asked.why.clone(), ..Decided::of(whats, told) })
        };
        self.act(cellar, (&asked.entering, asked.book), own_state, decide, |counter, state, told, _| {
            let (compared, booked) = told;
            Seen { state, on: counter.now, thing: compared }.write(&mut counter.page(asked.format))?;
            if asked.book {
                booked.tell(counter.saying);
            } else {
                counter.saying.message("Nothing was booked. Book what was measured with --book --why REASON.");
            }
            Ok(())
        })
    }
}

/// What came into the book by a count: how many vessels were gauged, and the wine where there was none.
struct Booked {
    gauged: usize,
    found: Vec<(Label, Volume, Label)>,
}

impl Booked {
    fn of(whats: &[What]) -> Booked {
        let gauged = whats.iter().filter(|what| matches!(what, What::Gauged(_))).count();
        Booked { gauged, found: found_wine(whats) }
    }

    fn tell(&self, saying: &mut Saying<'_>) {
        let (vessels, were) = (counted(self.gauged, "vessel"), by_count(self.gauged, "was", "were"));
        saying.message(&format!("{vessels} {were} gauged in the book."));
        for (vessel, volume, lot) in &self.found {
            let litres = litres(*volume);
            saying.message(&format!("{litres} in {vessel} came into the book, of the lot '{lot}'."));
        }
    }
}

/// The columns of the file.
struct Columns {
    vessel: usize,
    litres: Option<usize>,
    dip: Option<usize>,
}

impl Columns {
    fn of(sheet: &Spreadsheet) -> Outcome<Columns> {
        sheet.has_only(&["vessel", "litres", "dip_mm"])?;
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

type CountSeen<'a> = Seen<'a, &'a Compared>;

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
