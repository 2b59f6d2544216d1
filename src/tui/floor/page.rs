//! The floor as the page below all others: the walk's keys, what is typed in the aisle, and the ways into every other page.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::Line;

use crate::cellar::core::fact::What;
use crate::cellar::jobs::floor::practice::{LITRES_WANT, PracticeSet};
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::cellar::jobs::floor::work::Task;
use crate::tui::bench::glasses::for_bench;
use crate::tui::core::cursor::Step;
use crate::tui::core::line::Manner;
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::page::{About, Before, Followed, Go, Opens, Page, Row, Table, Turn};
use crate::tui::core::sense::Sense;
use crate::tui::core::text::begins_typing;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::tui::floor::begin::Begin;
use crate::tui::floor::beside;
use crate::tui::floor::colouring::{Colouring, Palette};
use crate::tui::floor::elsewhere;
use crate::tui::floor::ending::Ending;
use crate::tui::floor::lifting;
use crate::tui::floor::typed;
use crate::tui::floor::walking::go_onward;
use crate::tui::floor::words::{Matter, Words};
use crate::tui::floor::works;
use crate::tui::topping::rounds;
use crate::tui::topping::source::{self, For};
use crate::tui::topping::summary::Summary;
use crate::units::{customary_words, litres};

/// The longest text that is typed on the floor.
const LONGEST: usize = 80;

/// The floor.
#[derive(Debug, Default)]
pub struct Floor {
    /// Digits or a label that are being typed.
    pub typed: String,
    /// Which quality is shown.
    pub colouring: Colouring,
    /// Whether the plan of the room stands in place of the card.
    pub plan_shown: bool,
}

/// A command that only changes the model.
macro_rules! does {
    ($act:expr) => {
        |_, model| {
            let act: fn(&mut Model) = $act;
            act(model);
            Turn::stay()
        }
    };
}

/// A command of which something is wished.
macro_rules! wishes {
    ($act:expr) => {
        |_, model| {
            let act: fn(&mut Model) -> Wishes = $act;
            act(model).into()
        }
    };
}

/// A word of the bottom line that is always the same; at a tank nothing is said of the aisle.
macro_rules! aisle {
    ($word:literal) => {
        |_, model| (!stands_at_tank(model)).then(|| $word.to_owned())
    };
}

macro_rules! word {
    ($word:literal) => {
        |_, _| Some($word.to_owned())
    };
}

impl Table for Floor {
    const ABOUT: About = About {
        name: "The floor",
        purpose: "The barrel room as one sees it standing in its aisle: rows, stacks, tiers, barrels in their racks. One key a barrel, a rack, a \
                  stack, a row; then only those that differed are touched.\n\
                  A scanner is a keyboard: a label that begins with a digit or a capital, then enter, jumps to that barrel. For any \
                  other label press /. While a round is under way a plain number below 100 is litres, unless the house says that plain \
                  numbers are labels: then litres want a point, a comma or a unit, like 1.8 or 2 L.\n\
                  What was refused stays in brackets: backspace edits it, another key starts anew, up brings it back.\n\
                  Enter lists what can be done here: tanks, bottles, trials, the ledger, counts.",
        opens: Opens::From("esc goes there"),
    };
    #[rustfmt::skip] // a table reads as a table
    const ROWS: &'static [Row<Floor>] = &[
        Row::new(Sense::Done, "Top this barrel", "Marks this barrel as topped with the litres expected, or as done in the work that is walked, and goes on to the next.", wishes!(Model::top_barrel)).word(|_, model| done_word(model)).unless(|_, model| model.why_not_done()),
        Row::new(Sense::Rack, "Top this rack", "Marks what is left of this rack as topped with the litres expected.", wishes!(|model| model.top_stretch(rounds::rack, "rack"))).word(aisle!("rack")).unless(|_, model| model.why_no_stretch()),
        Row::new(Sense::Stack, "Top the rest of this stack", "Marks what is left of this stack as topped with the litres expected.", wishes!(|model| model.top_stretch(rounds::stack, "stack"))).word(aisle!("stack")).unless(|_, model| model.why_no_stretch()),
        Row::new(Sense::Row, "Top the rest of this row", "Marks what is left of this row as topped with the litres expected; then only those that differed are touched.", wishes!(|model| model.top_stretch(rounds::row, "row"))).word(aisle!("row")).unless(|_, model| model.why_no_stretch()),
        Row::new(Sense::Skip, "Skip this barrel", "Leaves this barrel out of the round or the work and remembers it.", wishes!(Model::skip)).word(aisle!("skip")).unless(|_, model| model.why_no_skip()),
        Row::new(Sense::Begin, "Begin a round", "Plans a round of this room and begins it from the vessel that is chosen.", does!(|model| source::open(model, For::Begin))).also(&["topping", "due", "late", "topping order", "monthly round"]).word(aisle!("begin round")).unless(|_, model| model.why_no_new_round()),
        Row::new(Sense::Finish, "Close the round", "Shows the summary of the round or the work and ends it. To pause, just go away: it stays open.", does!(show_ending)).also(&["missed", "what is left", "summary", "end the round"]).word(aisle!("close")).unless(|_, model| model.why_no_walk()),
        Row::new(Sense::OtherSource, "Change the topping vessel", "Tops from another vessel from here on.", does!(|model| source::open(model, For::Change))).also(&["keg", "carboy", "topping wine"]).word(aisle!("vessel")).unless(|_, model| model.why_no_other_source()),
        Row::new(Sense::Next, "Go to the next barrel to do", "Goes to the next barrel of the work, or of the round in the order of its plan: organic first, suspect after clean; skipped ones come last.", does!(Model::go_on)).unless(|_, model| model.why_no_walk()),
        Row::new(Sense::Day, "Works", "Takes up an open work (racking, barrel-down, treating, care), begins a racking or sulfuring of this barrel's lot or a barrel-down, or puts the work down.", does!(crate::tui::floor::works_page::page)).also(&["rack", "racking order", "rack and return", "put back", "barrel-down", "fill", "fill plan", "new wood", "sulfur", "sulfite", "SO2", "KMBS", "metabisulfite", "dose", "addition", "move", "filter", "fining", "blend", "rinse", "wash", "steam", "soak"]).word(|_, model| Some(if model.working.is_some() { "put down" } else { "works" }.to_owned())).unless(|_, model| model.why_read_only()),
        Row::new(Sense::Taste, "Write a taste", "Takes a score from 0 to 20, then words or their keys, for example: 14.5 pl ta, a little closed.", does!(|model| ask_words(model, Matter::Taste))).also(&["score", "Brett", "cork taint", "mousiness", "reduction"]).word(word!("taste")).unless(|_, model| model.why_no_wine()),
        Row::new(Sense::Gauge, "Gauge this vessel", "Takes a dip under the bung, for example 30 mm, or what the vessel holds, for example 212 L.", does!(|model| ask_words(model, Matter::Gauge))).also(&["dip", "ullage", "measure"]).unless(|_, model| model.why_no_wine()),
        Row::new(Sense::Hold, "Hold or free this barrel", "Keeps this barrel out of the work until it is freed, and says why.", does!(ask_hold)).also(&["quarantine", "suspect", "keep out"]).word(|_, model| Some(hold_word(model))).unless(|_, model| model.why_no_barrel()),
        Row::new(Sense::Note, "Write a note", "Writes words about this barrel.", does!(|model| ask_words(model, Matter::Note))).also(&["leak", "weeps", "seeps", "remark"]).unless(|_, model| model.why_no_barrel()),
        Row::new(Sense::Choose, "Into a glass", "Chooses this barrel for a blind tasting at the bench, or takes it out again; ten at the most.", does!(crate::tui::bench::glasses::choose_barrel)).unless(|_, model| model.why_no_wine()),
        Row::UNDO,
        Row::REDO,
        Row::new(Sense::Before, "One barrel back", "Goes one barrel back along the row.", |_, model| step(model, Step::Left)).unless(|page, _| page.why_typed()),
        Row::new(Sense::After, "One barrel on", "Goes one barrel on along the row.", |_, model| step(model, Step::Right)).unless(|page, _| page.why_typed()),
        Row::new(Sense::OtherSide, "The next room", "Goes to the next room.", does!(Model::next_room)).word(aisle!("room")).unless(|page, model| page.why_typed().or_else(|| model.why_no_other_room())),
        Row::new(Sense::View, "Show the next quality", "Shows days, litres missing, lot, forest, toast, fill, score, holds in turn.", Floor::turn_colouring).word(aisle!("colour")).unless(|_, model| model.why_no_room()),
        Row::new(Sense::Map, "Plan of the room", "Shows the whole room, small, with the cursor in it, in place of the card.", Floor::turn_plan).word(aisle!("plan")).unless(|_, model| model.why_no_room()),
        Row::new(Sense::Same, "The next barrel of this lot", "Goes on to the next barrel of the same lot in walking order, and from the last to the first.", does!(Model::go_to_next_of_lot)).unless(|_, model| model.why_no_other_of_lot()),
        Row::listed("Lift this rack", "Takes the rack under the cursor on the forks. Go to its new place and set it down there; nothing is entered before. A rack is never lifted from under others.", does!(lifting::lift)).also(&["forklift", "move a rack", "restack"]).unless(|_, model| lifting::why_not(model)),
        Row::listed(lifting::SET_DOWN, "Enters that the lifted rack stands here now, its barrels on the same sides. It stands on the floor or on another rack, never where one lies.", wishes!(lifting::set_down)).also(&["forklift", "move a rack", "restack"]).unless(|_, model| lifting::why_not_here(model)),
        Row::listed("Other colours", "Turns to the next palette: for dark and light terminals, for a dark one, for a light one, without colour.", does!(turn_colours)).also(&["palette", "dark", "light", "bright", "theme"]),
        Row::listed("Enter for a day that is over", "Enters for somebody and for a day that is over, from a sheet of paper: every act carries that name and that day until you enter as of now again.", does!(crate::tui::floor::for_another::open)).also(&["entering for", "another day", "earlier day", "yesterday", "another person", "on behalf", "sheet", "backdate", "somebody else"]).unless(|_, model| model.why_read_only()),
        Row::listed("As of now again", "Enters by yourself and as of now again.", |_, model| model.enter_as_of_now().into()).also(&["entering for", "another day", "yesterday", "today"]).unless(|_, model| model.behalf.is_none().then(|| "What is entered is by you and as of now.".to_owned())),
        Row::listed("Write the cellar elsewhere", "Writes everything that was entered to a new file, where the file of this cellar was deleted, moved or replaced while it was open.", |_, model| { elsewhere::open(model); Turn::stay() }).also(&["rescue", "save as", "lost file", "deleted", "recover"]).unless(|_, model| elsewhere::why_not(model)),
        Row::listed("Plain numbers are labels", "Says whether a plain number that is typed here is a label: litres then want a point, a comma or a unit, like 1.8 or 2 L. Again, and it is as before.", |_, model| turn_labels(model).into()).also(&["setting", "digits", "litres"]).unless(|_, model| model.why_read_only()),
        Row::new(Sense::Leave, "Leave", "Leaves the program. All is stored already; an open round stays open.", does!(crate::tui::core::leaving::quit)).also(&["quit", "exit"]),
    ];
}

impl Floor {
    /// What cells need to be coloured.
    #[must_use]
    pub fn palette<'a>(&self, model: &'a Model) -> Palette<'a> {
        Palette {
            state: &model.state,
            now: model.now,
            theme: model.looks.theme,
            marks: model.looks.marks,
            colouring: self.colouring,
            work: model.working.map(|work| model.state.works.get(work)),
            for_bench: for_bench(model),
        }
    }

    /// Shows the next quality.
    fn turn_colouring(&mut self, _model: &mut Model) -> Turn {
        self.colouring = self.colouring.turned(1);
        Turn::stay()
    }

    /// Puts the plan of the room in place of the card, and back.
    fn turn_plan(&mut self, _model: &mut Model) -> Turn {
        self.plan_shown = !self.plan_shown;
        Turn::stay()
    }

    /// Whether nothing is typed, or only what was refused and gives way to the next key.
    fn is_idle(&self, model: &Model) -> bool {
        self.typed.is_empty() || model.marked.on
    }

    /// Why one does not go on: what is typed is neither taken nor cleared.
    fn why_typed(&self) -> Option<String> {
        let typed = &self.typed;
        (!typed.is_empty()).then(|| format!("'{typed}' is typed and not taken yet: enter takes it, esc clears it."))
    }
}

impl Page for Floor {
    fn title(&self, model: &Model) -> String {
        let room = model.room().map_or("The floor", |room| model.state.rooms.get(room).label.as_str());
        model.chosen_vessel().map_or_else(|| room.to_owned(), |vessel| vessel.label.to_string())
    }

    fn is_scanned_into(&self) -> bool {
        true
    }

    fn opens_rooms(&self) -> bool {
        true
    }

    fn begins_with(&self, model: &Model) -> Option<&'static str> {
        let lifted = lifting::is_one_lifted(model).then_some(lifting::SET_DOWN);
        lifted.or_else(|| model.room().is_none().then_some(Begin::ABOUT.name))
    }

    fn has_own_head(&self) -> bool {
        true
    }

    fn draw(&self, model: &Model, frame: &mut Frame<'_>, area: Rect) {
        beside::draw(self, model, frame, area);
    }

    fn go(&mut self, model: &mut Model, go: Go, _last: usize) -> Turn {
        if let Some(why) = self.why_typed() {
            model.say(why, Tone::Notice);
            return Turn::stay();
        }
        step(model, step_of(go))
    }

    /// While nothing is topped or measured here a digit begins a label, and that is found by / as well.
    fn takes_figures(&self, model: &Model) -> bool {
        self.typing_hint(model).is_some()
    }

    fn takes(&self, model: &Model, character: char) -> bool {
        begins_typing(character) || (!self.typed.is_empty() && !model.marked.on)
    }

    fn written(&self) -> Option<&str> {
        Some(&self.typed)
    }

    fn written_mut(&mut self) -> Option<&mut String> {
        Some(&mut self.typed)
    }

    fn manner(&self) -> Manner {
        Manner::OF_CHOSEN.of(LONGEST)
    }

    fn typing_hint(&self, model: &Model) -> Option<(String, String)> {
        let measures =
            model.working.is_none_or(|work| !matches!(model.state.works.get(work).task, Task::Caring { .. }));
        let here = self.is_idle(model) && !stands_at_tank(model) && measures && model.why_no_litres().is_none();
        let (unit, sign) = works::unit(model).unwrap_or_else(customary_words);
        let key = if model.state.practice.labels_are_numbers { format!("1.8, 2 {sign}") } else { "digits".to_owned() };
        here.then(|| (key, unit.to_owned()))
    }

    fn asks(&self, model: &Model, width: usize) -> Vec<Line<'static>> {
        let typed = (!self.typed.is_empty()).then(|| typed::line(model, &self.typed, width));
        typed.or_else(|| lifting::line(model, width)).into_iter().collect()
    }

    fn enter_word(&self, model: &Model) -> Option<String> {
        (!self.is_idle(model)).then(|| "take".to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        if self.typed.is_empty() {
            return None;
        }
        let (wishes, is_taken) = model.take_typed(self.typed.trim());
        if is_taken {
            self.typed.clear();
        }
        Some(wishes.into())
    }

    fn esc_word(&self, model: &Model) -> Option<String> {
        let word = if !self.is_idle(model) {
            "clear"
        } else if model.aside.is_some() {
            "back"
        } else if lifting::is_one_lifted(model) {
            "leave it"
        } else {
            return None;
        };
        Some(word.to_owned())
    }

    fn esc(&mut self, model: &mut Model) -> Turn {
        if !self.typed.is_empty() {
            self.typed.clear();
        } else if model.aside.is_some() {
            model.aside = None;
        } else if lifting::is_one_lifted(model) {
            lifting::leave(model);
        } else if let Some(work) = model.working {
            works::stay(model, work);
        } else {
            model.say("Nothing is open to go back from. q leaves the program, ? explains every key.", Tone::Notice);
        }
        Turn::stay()
    }

    fn stored(&mut self, model: &mut Model, then: Then) -> Turn {
        self.typed.clear();
        go_onward(model, &then);
        Turn::stay()
    }

    /// What is typed or was asked was meant for the vessel that was looked at, and for no other that is there now.
    fn follow(&mut self, model: &mut Model, before: &Before<'_>) -> Followed {
        let lifted = lifting::followed(model);
        let now = model.chosen_vessel().map(|vessel| &vessel.label);
        let Some(label) = before.at_hand.as_ref().filter(|label| now != Some(label)) else {
            return lifted.map_or(Followed::There, Followed::Otherwise);
        };
        model.asked.clear();
        let typed = std::mem::take(&mut self.typed);
        let moved = format!("{label} does not lie here any more.");
        let moved = if typed.is_empty() { moved } else { format!("{moved} '{typed}' was not taken.") };
        Followed::Otherwise(lifted.map_or_else(|| moved.clone(), |lifted| format!("{moved} {lifted}")))
    }
}

/// Turns to the next palette.
fn turn_colours(model: &mut Model) {
    model.looks.theme = model.looks.theme.turned();
    model.say(format!("Colours {}.", model.looks.theme.words()), Tone::Done);
}

/// Says that plain numbers are labels in this house, or that they are not.
fn turn_labels(model: &mut Model) -> Wishes {
    let are = !model.state.practice.labels_are_numbers;
    let fact = PracticeSet { labels_are_numbers: Some(are), ..PracticeSet::default() };
    let say = if are { LITRES_WANT } else { "Plain numbers below 100 are litres in a round again." };
    model.enter(vec![What::PracticeSet(Box::new(fact))], say.to_owned(), Then::STAY)
}

/// Shows what is done and what is not, before the work or the round is closed.
fn show_ending(model: &mut Model) {
    if let Some(work) = model.working {
        model.open(Ending::new(&model.state, work));
    } else if let Some(round) = model.round() {
        model.open(Summary::new(round));
    }
}

fn ask_hold(model: &mut Model) {
    let held = model.chosen_vessel().is_some_and(|vessel| vessel.held.is_some());
    ask_words(model, if held { Matter::Free } else { Matter::Hold });
}

fn ask_words(model: &mut Model, about: Matter) {
    if let Some(vessel) = model.chosen_vessel() {
        model.open(Words::new(about, &vessel.label));
    }
}

fn step(model: &mut Model, step: Step) -> Turn {
    model.walk(step);
    Turn::stay()
}

/// The step of the cursor by a key of going about.
const fn step_of(go: Go) -> Step {
    match go {
        Go::Up => Step::Up,
        Go::Down => Step::Down,
        Go::PageUp => Step::RowBefore,
        Go::PageDown => Step::RowAfter,
        Go::Start => Step::RowStart,
        Go::End => Step::RowEnd,
    }
}

/// Whether a tank is looked at that no work is walked to: what is done in the aisle is not done to it.
fn stands_at_tank(model: &Model) -> bool {
    let aside = model.aside.map(|id| model.state.vessels.get(id).vessel_type);
    model.working.is_none() && aside == Some(VesselType::Tank)
}

/// What space does, with the litres that are expected.
fn done_word(model: &Model) -> Option<String> {
    let litres = |verb: &str, volume: Option<crate::units::Volume>, else_word: &str| {
        volume.map_or_else(|| else_word.to_owned(), |volume| format!("{verb} {}", litres(volume)))
    };
    if model.working.is_some() {
        return Some(litres("take", model.still_asked(), "done"));
    }
    (!stands_at_tank(model)).then(|| litres("top", model.expected(), "top"))
}

fn hold_word(model: &Model) -> String {
    let held = model.chosen_vessel().is_some_and(|vessel| vessel.held.is_some());
    if held { "free" } else { "hold" }.to_owned()
}
