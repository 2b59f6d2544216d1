//! What the screen does with a message: keys are resolved to commands first, then commands are carried out.

use std::time::Duration;

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use ratatui::Frame;

use crate::cellar::fact::What;
use crate::cellar::label::Text;
use crate::cellar::moment::{DAY_MICROSECONDS, Moment};
use crate::desk::Act;
use crate::tui::bench;
use crate::tui::bench_tasting;
use crate::tui::bins;
use crate::tui::bottling;
use crate::tui::checklist;
use crate::tui::command::{Command, Id, Place, command, resolve};
use crate::tui::counting;
use crate::tui::cursor::Step;
use crate::tui::draw;
use crate::tui::fill;
use crate::tui::find::Find;
use crate::tui::fining;
use crate::tui::holding;
use crate::tui::ledger;
use crate::tui::model::{Mode, Model, Tone};
use crate::tui::moving;
use crate::tui::rounds;
use crate::tui::screen::{Effect, Message, Screen, TimerId};
use crate::tui::source::{For, SourceChoice};
use crate::tui::trial;
use crate::tui::who;
use crate::tui::words::{About, Words};
use crate::tui::work::{Answer, Then, Work};
use crate::tui::works::{self, Ending};

/// The timer that turns the date at midnight.
const MIDNIGHT: TimerId = TimerId(1);

/// The timer after which a cellar that was written is looked at once more.
const LATE: TimerId = TimerId(2);
/// A file is told to be written before its facts can be read: the other program is still bringing them to the disk.
const LOOK_AGAIN: Effect<Work> = Effect::Timer { id: LATE, after: Duration::from_millis(250) };

/// What the screen wishes after a message.
pub(super) type Wishes = Vec<Effect<Work>>;

impl Screen for Model {
    type Work = Work;
    type Answer = Answer;

    fn update(&mut self, message: Message<Answer>, now: Moment) -> Wishes {
        self.now = now;
        let wishes = self.on_message(message);
        self.keep_reviews();
        wishes
    }

    fn draw(&self, frame: &mut Frame<'_>) {
        draw::draw(self, frame);
    }

    fn finished(&self) -> bool {
        self.finished
    }
}

/// Days since topping are counted by the date on the wall, so the screen looks again when that turns.
fn midnight(now: Moment) -> Effect<Work> {
    let local = now.instant() + i64::from(now.offset_minutes()) * 60_000_000;
    let left = DAY_MICROSECONDS - local.rem_euclid(DAY_MICROSECONDS);
    Effect::Timer { id: MIDNIGHT, after: Duration::from_micros(u64::try_from(left).unwrap_or(0)) }
}

impl Model {
    fn on_message(&mut self, message: Message<Answer>) -> Wishes {
        match message {
            Message::Started => vec![Effect::Work(Work::Open), midnight(self.now)],
            Message::Key(key) => self.on_key(key),
            Message::Paste(text) => self.on_paste(&text),
            Message::Resized(size) => {
                self.size = size;
                Vec::new()
            }
            Message::Changed if self.opened => vec![Effect::Work(Work::Refresh), LOOK_AGAIN],
            Message::Tick(LATE) if self.opened => vec![Effect::Work(Work::Refresh)],
            Message::Tick(MIDNIGHT) => vec![midnight(self.now)],
            Message::Changed | Message::Tick(_) => Vec::new(),
            Message::Answer(answer) => {
                let is_changed = matches!(answer, Answer::Changed(_));
                self.on_answer(answer);
                if is_changed && matches!(self.mode, Mode::Ledger(_)) {
                    return ledger::ask_again(self);
                }
                [fill::ask_if_stale(self), who::ask(self)].concat()
            }
        }
    }

    fn on_key(&mut self, key: KeyEvent) -> Wishes {
        self.saying = false;
        if key.modifiers.contains(KeyModifiers::CONTROL) && key.code == KeyCode::Char('c') {
            self.finished = true;
            return Vec::new();
        }
        let place = self.place();
        if let Some(command) = resolve(place, &key) {
            return self.give(command);
        }
        match (place, key.code) {
            // What is pressed together with these is no text.
            _ if key.modifiers.intersects(KeyModifiers::CONTROL | KeyModifiers::ALT) => self.say_no_key(),
            (Place::Floor, KeyCode::Char(c)) if begins_typing(c) => self.type_in(&c.to_string()),
            (Place::Floor, KeyCode::Esc) if self.aside.is_none() => works::put_down(self),
            (Place::Floor, KeyCode::Esc) => self.aside = None,
            (
                Place::Typing
                | Place::List
                | Place::Words
                | Place::Glass
                | Place::Fill
                | Place::Name
                | Place::Rating
                | Place::Fining
                | Place::Move
                | Place::Count
                | Place::Bottling,
                KeyCode::Char(c),
            ) => {
                self.type_in(&c.to_string());
            }
            (Place::Typing, _) => {
                let text = format!("'{}' is typed and not taken yet: enter takes it, esc clears it.", self.typed);
                self.say(text, Tone::Notice);
            }
            (
                Place::Page
                | Place::LotPage
                | Place::Trial
                | Place::Reveal
                | Place::Ledger
                | Place::Checklist
                | Place::Run,
                KeyCode::Char('q' | '?'),
            ) => {
                self.mode = Mode::Floor;
            }
            _ => self.say_no_key(),
        }
        Vec::new()
    }

    fn say_no_key(&mut self) {
        self.say("That key does nothing here. ? explains every key.", Tone::Notice);
    }

    fn on_paste(&mut self, text: &str) -> Wishes {
        let ends = text.ends_with(['\n', '\r']);
        self.type_in(text.trim_end_matches(['\n', '\r']));
        match command(Id::EnterTyped) {
            Some(enter) if ends && self.place() == Place::Typing => self.give(enter),
            _ => Vec::new(),
        }
    }

    /// Takes characters where they belong: into the words, the search, or what is typed on the floor.
    fn type_in(&mut self, text: &str) {
        match &mut self.mode {
            Mode::Words(words) => words.type_in(text),
            Mode::Counting(page) => page.type_in(text),
            Mode::Bins(page) => {
                page.type_in(text);
                self.asked.clear();
            }
            Mode::Find(find) => {
                find.query.extend(text.chars().filter(|c| !c.is_control()).take(80));
                find.chosen = 0;
            }
            Mode::Floor => {
                self.typed.extend(text.chars().filter(|c| !c.is_control()).take(80));
                self.asked.clear();
            }
            Mode::Ending(ending) if self.state.works.get(ending.work).task.fills().is_some() => {
                let room = 20_usize.saturating_sub(ending.gauged.chars().count());
                ending.gauged.extend(text.chars().filter(|c| !c.is_control()).take(room));
                ending.line = usize::MAX;
            }
            Mode::Source(_)
            | Mode::Summary(_)
            | Mode::AtBench(_)
            | Mode::Works(_)
            | Mode::Tank(_)
            | Mode::Dosing(_)
            | Mode::Agents(_)
            | Mode::Ending(_) => {
                let why = self.why_no_search().unwrap_or_default();
                self.say(why, Tone::Notice);
            }
            Mode::Fill(page) => page.type_in(text),
            Mode::Checklist(page) => page.type_in(text),
            Mode::Bottling(page) => page.type_in(text),
            Mode::Bench => bench_tasting::write(self, text),
            Mode::Rating(page) => trial::type_in(page, text),
            Mode::Fining(page) => page.type_in(text),
            Mode::Move(page) => page.type_in(text),
            Mode::Help(_)
            | Mode::Messages(_)
            | Mode::Picture(_)
            | Mode::Lineage(_)
            | Mode::Trace(_)
            | Mode::Lot(_)
            | Mode::Trial(_)
            | Mode::Reveal(_)
            | Mode::Ledger(_)
            | Mode::Run(_)
            | Mode::Offer(_)
            | Mode::Opened(..) => {}
        }
    }

    /// Carries out a command, or says why it cannot be given now.
    pub(super) fn give(&mut self, command: &Command) -> Wishes {
        if let Some(why) = (command.hindered)(self) {
            self.say(why, Tone::Refused);
            return Vec::new();
        }
        self.carry_out(command.id)
    }

    fn carry_out(&mut self, id: Id) -> Wishes {
        // What was asked is answered by the same key, and by no later one.
        if !self.may_answer(id) {
            self.asked.clear();
        }
        if let Some(wishes) = bins::carry_out(self, id).or_else(|| counting::carry_out(self, id)) {
            return wishes;
        }
        if let Some(step) = Step::of(id) {
            self.walk(step);
            return Vec::new();
        }
        match id {
            Id::TopBarrel if self.working.is_some() => return works::do_barrel(self),
            Id::TopBarrel => return rounds::top_barrel(self),
            Id::TopRack => return self.top_stretch(rounds::rack, "rack"),
            Id::TopStack => return self.top_stretch(rounds::stack, "stack"),
            Id::TopRow => return self.top_stretch(rounds::row, "row"),
            Id::Skip if self.working.is_some() => return works::skip(self),
            Id::Skip => return rounds::skip(self),
            Id::BeginRound => self.choose_source(For::Begin),
            Id::ChangeSource => self.choose_source(For::Change),
            Id::Works => works::page(self),
            Id::EndRound => self.show_ending(),
            Id::Undo | Id::TakeBack => return vec![Effect::Work(Work::Undo(self.by.clone()))],
            Id::Redo => return vec![Effect::Work(Work::Redo(self.by.clone()))],
            Id::Taste => self.ask_words(About::Taste),
            Id::Gauge => self.ask_words(About::Gauge),
            Id::Note => self.ask_words(About::Note),
            Id::Hold => {
                let held = self.chosen_vessel().is_some_and(|vessel| vessel.held.is_some());
                self.ask_words(if held { About::Free } else { About::Hold });
            }
            Id::NextToDo => self.go_on(),
            Id::NextRoom => self.next_room(),
            Id::Find => self.mode = Mode::Find(Find::default()),
            Id::NextColouring => self.colouring = self.colouring.turned(1),
            Id::PreviousColouring => self.colouring = self.colouring.turned(-1),
            Id::RoomPlan => self.plan_shown = !self.plan_shown,
            Id::BarrelPicture => return self.ask_barrel_picture(),
            Id::RoomPicture => return self.ask_room_picture(),
            Id::Lineage => return self.ask_lineage_here(),
            Id::OtherLineage => return self.ask_other_lineage(),
            Id::TraceVessel | Id::TraceShown => return self.trace_chosen(),
            Id::LotReview => self.review_lot(),
            Id::NextOfLot => self.go_to_next_of_lot(),
            Id::LotBarrels => self.show_barrels_of_lot(),
            Id::LotBeside => self.turn_lot_beside(1),
            Id::LotBesideBack => self.turn_lot_beside(-1),
            Id::NextView => self.turn_view(1),
            Id::ViewBefore => self.turn_view(-1),
            Id::Messages => self.mode = Mode::Messages(0),
            Id::Help => self.mode = Mode::Help(0),
            Id::Quit => bottling::quit(self),
            Id::EnterTyped => return self.take_typed(),
            Id::EraseTyped | Id::FindEntry | Id::EraseWord => self.erase(),
            Id::ClearTyped => self.typed.clear(),
            _ => return self.carry_out_on_page(id),
        }
        Vec::new()
    }

    /// Carries out what is given on a page or in a list, and what opens the pages of the bench and of the finish.
    fn carry_out_on_page(&mut self, id: Id) -> Wishes {
        match id {
            Id::Choose => return self.choose(),
            Id::Back => return self.go_back(),
            Id::ChooseDose | Id::GiveFining => return fining::carry_out(self, id),
            Id::OtherPurpose => moving::turn_purpose(self),
            Id::Ledger | Id::MonthBefore | Id::MonthAfter | Id::MonthOrYear | Id::OtherDivision => {
                return ledger::carry_out(self, id);
            }
            Id::NextPattern => fill::next_pattern(self),
            Id::ListUp => self.move_choice(-1),
            Id::ListDown => self.move_choice(1),
            Id::ListStart => self.move_choice(isize::MIN),
            Id::ListEnd => self.move_choice(isize::MAX),
            Id::ChooseForBench => bench_tasting::choose_barrel(self),
            Id::Bench => return bench::go_to(self),
            Id::GlassBefore => self.step_glass(-1),
            Id::GlassAfter => self.step_glass(1),
            Id::FlightBefore
            | Id::FlightAfter
            | Id::TasterBefore
            | Id::TasterAfter
            | Id::OtherScale
            | Id::RateGlasses
            | Id::AskCard => trial::carry_out(self, id),
            Id::PullCard => return trial::pull(self),
            Id::Checklist => return checklist::open(self),
            Id::CheckMet | Id::CheckNotMet | Id::CheckBeside | Id::CheckWaive | Id::CheckOwn | Id::CheckRequired => {
                return checklist::carry_out(self, id);
            }
            Id::Bottling => bottling::open(self),
            Id::OtherPage => return bottling::next_page(self),
            Id::ValueBefore => bottling::turn(self, -1),
            Id::ValueAfter => bottling::turn(self, 1),
            Id::NextStretch => bottling::again(self),
            Id::OpenGlasses => return bench_tasting::open(self),
            Id::CompleteMark => self.complete_mark(),
            Id::HoldOffered => return self.hold_offered(),
            Id::PageUp | Id::LotsUp | Id::PlanUp => self.scroll_half_a_page(usize::saturating_sub),
            Id::PageDown | Id::LotsDown | Id::PlanDown => self.scroll_half_a_page(usize::saturating_add),
            Id::PageStart => self.scroll(|_| 0),
            Id::PageEnd => self.scroll(|_| usize::MAX),
            // Steps, and what is given on the map of the bins or in a count alone, are carried out before.
            _ => {}
        }
        Vec::new()
    }

    /// Whether a command may be the answer to what was asked.
    fn may_answer(&self, id: Id) -> bool {
        match id {
            Id::TopBarrel | Id::TopRack | Id::TopStack | Id::TopRow | Id::EnterTyped | Id::Quit => true,
            Id::Choose => matches!(self.mode, Mode::Move(_) | Mode::Bins(_) | Mode::Counting(_)),
            _ => false,
        }
    }

    /// Goes back by as much as the page that is open says.
    fn go_back(&mut self) -> Wishes {
        match self.mode {
            Mode::Fill(_) => return fill::leave(self),
            Mode::Checklist(_) => checklist::leave(self),
            Mode::Bottling(_) => bottling::leave(self),
            Mode::Trial(_) | Mode::Rating(_) => trial::leave(self),
            Mode::Fining(_) => fining::leave(self),
            Mode::Trace(_) => self.leave_trace(),
            _ => self.mode = bench_tasting::left(self).map_or(Mode::Floor, Mode::Offer),
        }
        Vec::new()
    }

    fn hold_offered(&self) -> Wishes {
        if let Mode::Offer(offer) = &self.mode { holding::hold_offered(self, offer) } else { Vec::new() }
    }

    fn complete_mark(&mut self) {
        if let Mode::Words(words) = &mut self.mode {
            words.complete(&self.state);
        }
    }

    /// Shows what is done and what is not, before the work or the round is closed.
    fn show_ending(&mut self) {
        let ending = self.working.map(|work| Mode::Ending(Ending::new(work)));
        self.mode = ending.or_else(|| self.round().map(Mode::Summary)).unwrap_or(Mode::Floor);
    }

    /// Takes back the last character of what is being written.
    fn erase(&mut self) {
        match (&mut self.mode, &mut self.bench) {
            (Mode::Find(find), _) => {
                find.query.pop();
                find.chosen = 0;
            }
            (Mode::Ending(ending), _) => drop(ending.gauged.pop()),
            (Mode::Words(words), _) => drop(words.text.pop()),
            (Mode::Fill(page), _) => page.erase(),
            (Mode::Checklist(page), _) => page.erase(),
            (Mode::Bottling(page), _) => page.erase(),
            (Mode::Rating(page), _) => page.erase(),
            (Mode::Fining(page), _) => page.erase(),
            (Mode::Move(page), _) => drop(page.line.pop()),
            (Mode::Bench, Some(bench)) => drop(bench.line.pop()),
            _ => {
                self.typed.pop();
            }
        }
    }

    fn on_answer(&mut self, answer: Answer) {
        match answer {
            Answer::Opened { state, read_only, warnings } => {
                self.opened = true;
                self.read_only = read_only;
                self.take_state(state);
                for warning in warnings {
                    self.say(warning, Tone::Notice);
                }
                if self.said.is_empty() {
                    if self.round().is_some() {
                        self.say("A round is under way here: go on where you stopped.", Tone::Notice);
                    } else if !self.state.open_works.is_empty() {
                        self.say("A work is open: press d to take it up where you stopped.", Tone::Notice);
                    }
                }
            }
            Answer::Stored { state, say, then } => {
                let before = std::mem::replace(&mut self.mode, Mode::Floor);
                self.typed.clear();
                self.asked.clear();
                self.take_state(state);
                self.say(say, Tone::Done);
                match before {
                    Mode::Rating(page) => return trial::stored(self, page, &then),
                    Mode::Fining(page) => return fining::stored(self, &page, then != Then::StayOnPage),
                    Mode::Bins(page) => return bins::stored(self, page),
                    Mode::Counting(page) => return counting::stored(self, page, &then),
                    Mode::Checklist(page) => return checklist::stored(self, page),
                    Mode::Bottling(page) => return bottling::stored(self, page, then),
                    Mode::Run(page) => return bottling::run_stored(self, page),
                    _ => {}
                }
                match then {
                    Then::Stay | Then::StayOnPage | Then::NextGlass | Then::ToGlass(_) => {}
                    Then::ShowRun(label) => drop(bottling::show_run(self, &label)),
                    Then::ShowTrial(label) => trial::show(self, &label),
                    Then::GoOn => self.go_on(),
                    Then::Begin => self.go_to_first(),
                    Then::OpenGlasses => bench_tasting::opened(self),
                    Then::Offer(offer) => self.mode = Mode::Offer(offer),
                    Then::TakeUp(label) => {
                        if let Some(work) = self.state.works.find(label.as_str()) {
                            works::take_up(self, work);
                        }
                    }
                    Then::To(label) => {
                        if let Some(id) = self.state.vessels.find(label.as_str()) {
                            self.look_at(id);
                        }
                    }
                }
            }
            Answer::Changed(state) => {
                self.take_state(state);
                self.say("Another program entered facts into this cellar; they are shown now.", Tone::Notice);
            }
            Answer::Refused(why) => self.say(why, Tone::Refused),
            Answer::Who(who) => who::told(self, who),
            Answer::Pictured { number, told } => self.show_picture(number, told),
            Answer::Traced { number, told } => self.show_lineage(number, told),
            Answer::Ledger { number, told } => ledger::show(self, number, told),
            Answer::Recalled { number, told } => self.show_trace(number, told),
            Answer::FillBest { number, plan } => fill::show_best(self, number, plan),
            Answer::Filled { number, told } => fill::show(self, number, told),
        }
    }

    fn choose_source(&mut self, purpose: For) {
        match SourceChoice::new(self, purpose) {
            Some(choice) if !choice.plan.sources.is_empty() => self.mode = Mode::Source(choice),
            _ => self.say("No keg or tank holds wine to top from. Fill one first.", Tone::Refused),
        }
    }

    fn ask_words(&mut self, about: About) {
        if let Some(vessel) = self.chosen_vessel() {
            self.mode = Mode::Words(Words::new(about, &vessel.label));
        }
    }

    /// Wishes that an act be stored.
    pub(super) fn enter(&self, whats: Vec<What>, say: String, then: Then) -> Wishes {
        self.enter_because(whats, None, say, then)
    }

    /// Wishes that an act be stored with a note of why.
    pub(super) fn enter_because(&self, whats: Vec<What>, note: Option<Text>, say: String, then: Then) -> Wishes {
        let act = Act { whats, by: self.by.clone(), note };
        vec![Effect::Work(Work::Enter { act, say, then })]
    }
}

/// Digits begin litres or a label, capitals a label; commands are small letters.
fn begins_typing(character: char) -> bool {
    character.is_ascii_digit() || character.is_uppercase() || matches!(character, '.' | ',' | '-' | '−')
}
