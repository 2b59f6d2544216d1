//! What a cellar begins with: a room laid out, vessels numbered, a lot with where it lies. An empty cellar opens here.

use ratatui::text::Line;

use crate::cellar::core::fact::What;
use crate::cellar::core::state::{Slot, State};
use crate::cellar::jobs::floor::room::{RoomLaidOut, RowLaidOut};
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::told::{Face, floor as told};
use crate::tui::core::asking;
use crate::tui::core::choice::{self, Choice};
use crate::tui::core::draw::paragraph;
use crate::tui::core::list::Between;
use crate::tui::core::model::Model;
use crate::tui::core::page::{About, Go, Opens, Page, Row, Table, Turn, Way};
use crate::tui::core::sheet::Sheet;
use crate::tui::core::text::columns;
use crate::tui::core::theme::Meaning;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::tui::floor::importing;
use crate::units::counted;

/// What a cellar begins with, in the order in which one does it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// A room.
    Room,
    /// Barrels, tanks, kegs.
    Vessels,
    /// A lot, and where it lies.
    Lot,
    /// What stands in a spreadsheet.
    Spreadsheet,
}

const STEPS: [Step; 4] = [Step::Room, Step::Vessels, Step::Lot, Step::Spreadsheet];

impl Step {
    /// Its line in the list.
    const fn title(self) -> &'static str {
        match self {
            Step::Room => "Lay out a room",
            Step::Vessels => "Number barrels, tanks and kegs",
            Step::Lot => "Open a lot and say where it lies",
            Step::Spreadsheet => "Take in a spreadsheet",
        }
    }

    /// How its line is written.
    const fn how(self) -> &'static str {
        match self {
            Step::Room => {
                "A-D, 5 stacks, 4 high, pairs. With a name: long: A-D, …; fours for racks of four; behind a semicolon rows that differ: \
                 A-C, 5 stacks, 4 high; D, 3 stacks. Also 13 °C, 80 %."
            }
            Step::Vessels => {
                "181-210, Allier, medium, 2026. Also F-01 to F-30, 300 L, 2 fills, of COOPER, at A-01-1-a; K1, keg, 50 L; T1-T4, tank, 2000 L. \
                 Barrels come to free places in walking order, from the cursor on; without a size they hold 225 L."
            }
            Step::Lot => {
                "M26, red, Syrah, 2026, APPELLATION, block NAME: 181-210 full. Behind the colon also row A full, rack A-03-1, all empty ones, \
                 T1 1200 L. Of a lot that is there only where more of it lies: M26: K1 full. topped 20 Nov 2026 before the colon says \
                 when the barrels were last topped."
            }
            Step::Spreadsheet => {
                "A list of barrels, of wine, of tests, tastes or toppings: CSV, XLSX or ODS. It is shown how the file is understood and what would be entered before \
                 anything is."
            }
        }
    }
}

/// What there is of a cellar, and what one begins with next.
#[derive(Clone, Debug, PartialEq)]
pub struct Begin {
    chosen: Choice<Step>,
}

/// Opens it where the cellar is empty.
pub(in crate::tui) fn open_if_empty(model: &mut Model) {
    let state = &model.state;
    let is_empty = state.rooms.is_empty() && state.vessels.is_empty() && state.lots.is_empty();
    if is_empty && model.why_read_only().is_none() {
        open(model);
    }
}

fn open(model: &mut Model) {
    let next = Choice::at(&STEPS, next_step(&model.state));
    model.open(Begin { chosen: next });
}

/// What comes next: what there is none of.
fn next_step(state: &State) -> usize {
    let holds_wine = state.vessels.iter().any(|(_, vessel)| vessel.lot.is_some());
    match (state.rooms.is_empty(), state.vessels.is_empty()) {
        (true, true) => 0,
        (_, true) => 1,
        (_, false) => {
            if holds_wine {
                1
            } else {
                2
            }
        }
    }
}

impl Table for Begin {
    const ABOUT: About = About {
        name: "Begin a cellar",
        purpose: "Brings a cellar onto the map, a line each: a room is laid out and drawn while it is written, barrels are numbered by a pattern and \
                  come to free places, a lot is opened with where how much of it lies. What a line comes to stands below it before enter \
                  takes it. What stands in a spreadsheet is taken in as one act too.",
        opens: Opens::ByWays(&[Way {
            sense: None,
            title: "Begin a cellar",
            help: "Lays out rooms, numbers barrels, opens lots and says where they lie.",
            also: &[
                "room",
                "lay out",
                "number barrels",
                "new barrels",
                "new lot",
                "open a lot",
                "register",
                "receive",
                "set up",
            ],
            why_not: Model::why_read_only,
            open: |model| {
                open(model);
                Vec::new()
            },
        }]),
    };
    const ROWS: &'static [Row<Begin>] = &[Row::UNDO, Row::REDO];
}

impl Page for Begin {
    fn title(&self, _model: &Model) -> String {
        Begin::ABOUT.name.to_owned()
    }

    fn lines(&self, model: &Model, width: usize, height: usize) -> Vec<Line<'static>> {
        let mut above = paragraph(model, &there(&model.state), width, Meaning::Base);
        above.push(Line::default());
        let mut below = vec![Line::default()];
        let how = self.chosen.thing().map_or("", |step| step.how());
        below.extend(paragraph(model, how, width, Meaning::Muted));
        let list = Between {
            above,
            lines: STEPS.len(),
            chosen: self.chosen.place_or_stood(&STEPS),
            least: STEPS.len(),
            below,
        };
        list.lines(model, (width, height), |at| {
            choice::choice_line(model, self.chosen.is(&STEPS[at]), STEPS[at].title(), width)
        })
    }

    fn go(&mut self, model: &mut Model, go: Go, _last: usize) -> Turn {
        self.chosen.go(model, &STEPS, go);
        Turn::stay()
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        Some("begin".to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        match self.chosen.thing() {
            Some(Step::Spreadsheet) | None => importing::open(model),
            Some(step) => model.open(BeginLine { step: *step, line: String::new() }),
        }
        Some(Turn::stay())
    }

    fn esc_word(&self, _model: &Model) -> Option<String> {
        Some("the floor".to_owned())
    }

    /// A line was taken: what comes next is chosen.
    fn stored(&mut self, model: &mut Model, _then: Then) -> Turn {
        self.chosen = Choice::at(&STEPS, next_step(&model.state));
        Turn::stay()
    }
}

/// What of a cellar there is.
fn there(state: &State) -> String {
    let of =
        |kind: VesselType| state.vessels.iter().filter(move |(_, it)| it.vessel_type == kind && it.retired.is_none());
    let barrels = of(VesselType::Barrel).count();
    let places: usize = state.rooms.iter().map(|(_, room)| room.slots.len()).sum();
    let taken: usize = state.rooms.iter().map(|(_, room)| room.slots.iter().flatten().count()).sum();
    if state.rooms.is_empty() && state.vessels.is_empty() {
        return "Nothing is here yet. Begin with a room, or with a spreadsheet.".to_owned();
    }
    let empty = of(VesselType::Barrel).filter(|(_, vessel)| vessel.lot.is_none()).count();
    format!(
        "{}, {}, {} free. {}, {empty} empty; {}, {}. {}.",
        counted(state.rooms.len(), "room"),
        counted(places, "place"),
        places - taken,
        counted(barrels, "barrel"),
        counted(of(VesselType::Tank).count(), "tank"),
        counted(of(VesselType::Keg).count(), "keg"),
        counted(state.lots.len(), "lot"),
    )
}

/// A line that brings something into the cellar.
#[derive(Clone, Debug, PartialEq)]
pub struct BeginLine {
    step: Step,
    line: String,
}

/// What a line comes to.
struct Planned {
    whats: Vec<What>,
    /// What is said when it is entered.
    say: String,
    /// What it is, a paragraph each.
    words: Vec<String>,
    /// The room that it lays out.
    room: Option<RoomLaidOut>,
}

impl BeginLine {
    fn plan(&self, model: &Model) -> Result<Planned, String> {
        let state = &model.state;
        match self.step {
            Step::Room => {
                let room = state.room_written(&self.line).map_err(|error| error.to_string())?;
                planned_room(state, room)
            }
            Step::Vessels => {
                let from = model.cursor.and_then(|cursor| {
                    let index = u32::try_from(cursor.slot(state)?).ok()?;
                    Some(Slot { room: cursor.room, index })
                });
                let numbered = state.vessels_written(&self.line, from).map_err(|error| error.to_string())?;
                let (which, lie) = (numbered.which(), numbered.where_they_lie());
                let words = vec![format!("{which}: {}.", numbered.described()), lie.clone()];
                let like_litres = state.like_litres(numbered.labels());
                let like_litres = like_litres.map(|labels| told::like_litres(&labels, Face::Screen));
                let say: Vec<String> = [format!("Numbered: {which}. {lie}")].into_iter().chain(like_litres).collect();
                Ok(Planned { whats: numbered.whats(), say: say.join(" "), words, room: None })
            }
            Step::Lot => {
                let laid = state.lot_written(&self.line, model.now.date()).map_err(|error| error.to_string())?;
                let lies = laid.lies_words();
                let lot = laid.received.first().map_or_else(String::new, |wine| wine.lot.to_string());
                let lies_there = format!("{lot}: {lies}.");
                let words = laid.origin_words().into_iter().chain([lies_there]).chain(laid.topped_words()).collect();
                Ok(Planned { whats: laid.whats(), say: format!("{lot}: {lies}."), words, room: None })
            }
            Step::Spreadsheet => Err("A spreadsheet is no line.".to_owned()),
        }
    }

    fn take(&self, model: &mut Model) -> Wishes {
        if let Some(why) = model.why_read_only() {
            return model.refuse(why);
        }
        match self.plan(model) {
            Err(why) => model.refuse(why),
            Ok(planned) if !asking::may_enter(model, &planned.whats) => Vec::new(),
            Ok(planned) => model.enter(planned.whats, planned.say, Then::STAY),
        }
    }
}

fn planned_room(state: &State, room: RoomLaidOut) -> Result<Planned, String> {
    let places: usize = room.rows.iter().map(RowLaidOut::places).sum();
    let what = What::RoomLaidOut(Box::new(room.clone()));
    what.deed().permitted(state, false).map_err(|refusal| refusal.to_string())?;
    let is_there = state.rooms.by_label(room.room.as_str()).is_some();
    let done = if is_there { "laid out anew with what lies in it" } else { "laid out" };
    let counts = format!("{}, {}", counted(room.rows.len(), "row"), counted(places, "place"));
    let air = [
        room.temperature_c.map(|temperature| format!("{temperature} °C")),
        room.humidity_pct.map(|humidity| format!("{humidity} % humidity")),
    ];
    let comes_to: Vec<String> = std::iter::once(counts.clone()).chain(air.into_iter().flatten()).collect();
    Ok(Planned {
        whats: vec![what],
        say: format!("{} is {done}: {counts}.", room.room),
        words: vec![format!("{}: {}.", room.room, comes_to.join(", "))],
        room: Some(room),
    })
}

impl Table for BeginLine {
    const ABOUT: About = About {
        name: "A line to begin with",
        purpose: "Takes a room, vessels or a lot in one line, its parts between commas in any order. What it comes to stands below it; enter \
                  takes it, as one act that one undo takes back.",
        opens: Opens::From("enter on a line of Begin a cellar opens it"),
    };
    const ROWS: &'static [Row<BeginLine>] = &[];
}

impl Page for BeginLine {
    fn title(&self, _model: &Model) -> String {
        self.step.title().to_owned()
    }

    fn lines(&self, model: &Model, width: usize, height: usize) -> Vec<Line<'static>> {
        let sheet = Sheet { model, width };
        let mut lines = vec![model.question_line("line: ", &self.line, width)];
        let planned = self.plan(model);
        let room = planned.as_ref().ok().and_then(|planned| planned.room.clone());
        let meant = || planned.map(|planned| planned.words.join(" "));
        lines.push(Line::default());
        lines.extend(sheet.below_written(&self.line, self.step.how(), meant));
        if let Some(room) = room {
            lines.push(Line::default());
            let left = height.saturating_sub(lines.len());
            lines.extend(drawn(sheet, &room, left));
        }
        lines
    }

    fn written(&self) -> Option<&str> {
        Some(&self.line)
    }

    fn written_mut(&mut self) -> Option<&mut String> {
        Some(&mut self.line)
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        Some("take it".to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        Some(self.take(model).into())
    }

    fn stored(&mut self, _model: &mut Model, then: Then) -> Turn {
        Turn::back_and_stored(then)
    }
}

/// Between two rows that stand side by side.
const GAP: &str = "   ";

/// The rows of a room as they would stand, as many side by side as there is width for, in so many lines.
fn drawn(sheet: Sheet<'_>, room: &RoomLaidOut, height: usize) -> Vec<Line<'static>> {
    let there = sheet.model.state.rooms.by_label(room.room.as_str());
    let empty = sheet.marks().empty;
    let mut blocks = room.rows.iter().map(|row| {
        let tiers = (1..=row.tiers).rev().map(|tier| {
            let racks = (1..=row.stacks).map(|stack| {
                let sides = (0..row.sides).map(|side| {
                    let slots = there.and_then(|room| {
                        let at = room.rows.iter().position(|old| old.row == row.row)?;
                        room.rack_slots_at(at, stack, tier)
                    });
                    let slot = slots.and_then(|slots| slots.clone().nth(usize::from(side)));
                    let lies = slot.is_some_and(|slot| there.is_some_and(|room| room.slots[slot].is_some()));
                    if lies { 'o' } else { empty }
                });
                format!("({})", sides.collect::<String>())
            });
            format!("{tier} {}", racks.collect::<String>())
        });
        std::iter::once(row.row.to_string()).chain(tiers).collect::<Vec<String>>()
    });
    let mut lines: Vec<String> = Vec::new();
    let mut band: Vec<String> = Vec::new();
    let mut shown = 0;
    for block in &mut blocks {
        let wide = block.iter().map(|line| columns(line)).max().unwrap_or(0);
        let so_far = band.iter().map(|line| columns(line)).max().unwrap_or(0);
        if !band.is_empty() && so_far + GAP.len() + wide > sheet.width {
            lines.append(&mut band);
        }
        if lines.len() + block.len() + 1 > height && band.is_empty() {
            break;
        }
        band = beside(band, block);
        shown += 1;
    }
    lines.append(&mut band);
    let mut drawn: Vec<Line<'static>> = lines.iter().map(|line| sheet.line(line, Meaning::Base)).collect();
    if shown < room.rows.len() {
        let more = counted(room.rows.len() - shown, "row");
        drawn.push(sheet.line(&format!("and {more} more"), Meaning::Muted));
    }
    drawn
}

/// A block of lines beside another one, both on the floor.
fn beside(mut left: Vec<String>, mut right: Vec<String>) -> Vec<String> {
    if left.is_empty() {
        return right;
    }
    let rows = left.len().max(right.len());
    for block in [&mut left, &mut right] {
        let lacks = rows - block.len();
        block.splice(0..0, std::iter::repeat_n(String::new(), lacks));
    }
    let wide = left.iter().map(|line| columns(line)).max().unwrap_or(0);
    let pair = |(one, other): (String, String)| format!("{one}{}{GAP}{other}", " ".repeat(wide - columns(&one)));
    left.into_iter().zip(right).map(pair).collect()
}
