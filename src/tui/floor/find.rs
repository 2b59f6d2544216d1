//! The find box: barrels, places, tanks, lots, trials, bottling runs, rooms and commands by a few letters. With nothing typed it lists
//! what can be done.

mod at_the_desk;
mod beside;

use ratatui::text::{Line, Span};

use self::at_the_desk::AT_THE_DESK;
use self::beside::{beside_code, beside_command, beside_place, beside_vessel};

use crate::cellar::core::label::Label;
use crate::cellar::core::place::Place;
use crate::cellar::core::state::{Room, RoomId, State, Vessel};
use crate::cellar::jobs::bottles::bottling::bins::StoreMap;
use crate::cellar::jobs::bottles::bottling::size;
use crate::tui::bench::list::{glasses_words, how_far};
use crate::tui::bench::trial;
use crate::tui::books::trace::{self, Traced};
use crate::tui::bottles::{bins, run};
use crate::tui::core::choice::{self, Choice};
use crate::tui::core::cursor::Cursor;
use crate::tui::core::line::Manner;
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::page::{About, Before, Doing, Followed, Go, Goes, Offer, Offered, Opens, Page, Row, Table, Turn};
use crate::tui::core::sense::Sense;
use crate::tui::core::text::{columns, fit, left};
use crate::tui::core::theme::Meaning;
use crate::tui::core::update::Wishes;
use crate::tui::finish::fining;
use crate::tui::floor::jump::Jump;
use crate::tui::floor::lot_review;
use crate::units::counted;

/// How many answers are given at most.
const ANSWERS: usize = 50;
/// How many distances there are between a name and what is looked for, see [`distance`].
const DISTANCES: usize = 4;
/// The longest text that is looked for.
const LONGEST: usize = 80;
/// What an empty find box says.
const EMPTY: &str = "what can be done stands above; letters find all else";

/// What was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Found {
    /// A vessel.
    Vessel(Label),
    /// A place in a row.
    Place(Place),
    /// A lot: its page is opened.
    Lot(Label),
    /// A trial: its page is opened.
    Trial(Label),
    /// A fining trial: its page is opened.
    Fining(Label),
    /// A bottling run: its page is opened.
    Run(Label),
    /// A room.
    Room(Label),
    /// A lot code on bottles, or a run: the map of the bins is opened where they lie.
    Code(Label),
    /// A lot code or a run, to be traced.
    Trace(Label),
    /// A bin.
    Bin(Label),
    /// A page that opens from the floor.
    Way(&'static str),
    /// What can be done on the floor.
    Act(&'static str),
    /// What can be done on the page under the find box.
    Here(&'static str),
    /// What can be done on another page.
    There {
        /// What that page is called.
        page: &'static str,
        /// What can be done there.
        act: &'static str,
    },
    /// What is done at the desk.
    Desk(&'static str),
}

/// The find box.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Find {
    /// What is looked for.
    pub query: String,
    /// Which answer is chosen.
    pub chosen: Choice<Found>,
    /// What can be done on the page under it, where that is not the floor.
    here: Vec<Offer>,
    /// What can be done, as of when the box was opened or the cellar changed: each may ask the whole cellar whether it can, and there
    /// are too many to put them into words for every letter.
    doable: Vec<Command>,
    /// What can be done on other pages and at the desk.
    elsewhere: Vec<Command>,
    /// What fits the query, the closest first.
    answers: Vec<Found>,
}

/// Something that can be done.
#[derive(Clone, Debug, PartialEq)]
struct Command {
    found: Found,
    /// What describes it beside its title.
    also: String,
    /// What stands beside it: its key, and why it cannot be given now.
    beside: String,
    is_hindered: bool,
}

impl Command {
    fn new(found: Found, also: String, sense: Option<Sense>, why_not: Option<String>) -> Command {
        Command { found, also, is_hindered: why_not.is_some(), beside: beside_command(sense, why_not) }
    }

    fn of(act: &Offer, found: Found, why_not: Option<String>) -> Command {
        Command::new(found, described(act.also, act.help), act.sense, why_not)
    }
}

/// An answer as it is shown.
#[derive(Clone, Debug, PartialEq)]
pub struct Hit {
    /// What was found.
    pub found: Found,
    /// Its name.
    pub name: String,
    /// A few words beside it.
    pub beside: String,
}

impl Table for Find {
    const ABOUT: About = About {
        name: "Find",
        purpose: "Finds a barrel, a place like A-03-2-b, a tank, lot, trial, bottling run, lot code, bin or room, and whatever can be done, by a \
                  few letters of its name or of what a cellar says for it.\n\
                  With nothing typed it lists what can be done. Up and down choose, enter goes there or does it; the key beside \
                  does the same without the find box.\n\
                  What can be done on another page only says on which; enter opens that.",
        opens: Opens::From("/ opens it"),
    };
    const ROWS: &'static [Row<Find>] = &[];
}

/// Opens the find box over what is shown.
pub(in crate::tui) fn open(model: &mut Model) {
    let mut find = Find::of(model, "");
    find.choose_first();
    model.open(find);
}

impl Find {
    /// A find box over what is shown that looks for something.
    #[must_use]
    pub fn of(model: &Model, query: &str) -> Find {
        let mut find = Find { query: query.to_owned(), ..Find::default() };
        find.look_round(model);
        find.look_up(model);
        find
    }

    /// Looks at what can be done here and elsewhere, and at what of it can be done now.
    fn look_round(&mut self, model: &Model) {
        self.here = if model.pages.is_floor() { Vec::new() } else { top_acts(model) };
        let on_floor = floor_acts(model);
        let here = self.here.iter().map(|act| Command::of(act, Found::Here(act.title), act.why_not.clone()));
        let floor = on_floor.iter().map(|act| Command::of(act, Found::Act(act.title), why_not_on_floor(model, act)));
        let ways = model.house.ways().map(|way| {
            let why_not = (way.why_not)(model);
            Command::new(Found::Way(way.title), described(way.also, way.help), way.sense, why_not)
        });
        self.doable = here.chain(floor).chain(ways).collect();
        // What can be done now comes first.
        self.doable.sort_by_key(|command| command.is_hindered);
        let known = |title: &str| self.here.iter().chain(&on_floor).any(|act| act.title == title);
        let there = model.house.rooms.iter().flat_map(|room| {
            let page = room.about.name;
            (room.acts)().into_iter().filter(|act| !known(act.title)).map(move |act| Command {
                found: Found::There { page, act: act.title },
                also: format!("{} {page}", act.also.join(" ")),
                beside: format!("on the page: {page}"),
                is_hindered: false,
            })
        });
        let desk = AT_THE_DESK.iter().map(|act| Command {
            found: Found::Desk(act.title),
            also: act.also.to_owned(),
            beside: "at the desk".to_owned(),
            is_hindered: false,
        });
        self.elsewhere = there.chain(desk).collect();
    }

    fn look_up(&mut self, model: &Model) {
        self.answers = self.found(model);
    }

    fn choose_first(&mut self) {
        self.chosen = Choice::first(&self.answers);
    }

    /// What fits the query, the closest first.
    #[must_use]
    pub fn hits(&self, model: &Model) -> Vec<Hit> {
        // Only what is shown is put into words: there may be ten thousand barrels.
        self.answers.iter().filter_map(|found| self.hit(model, found)).collect()
    }

    fn found(&self, model: &Model) -> Vec<Found> {
        let query = self.query.trim().to_lowercase();
        if query.is_empty() {
            return self.doable.iter().take(ANSWERS).map(|command| command.found.clone()).collect();
        }
        // By their distance. No more of one are given than answers in all: a letter may be in ten thousand labels.
        let mut found: [Vec<Found>; DISTANCES] = Default::default();
        let mut offer = |name: &str, also: &str, thing: &dyn Fn() -> Found| {
            if let Some(alike) = distance(&query, name, also).map(|distance| &mut found[usize::from(distance)])
                && alike.len() < ANSWERS
            {
                alike.push(thing());
            }
        };
        for command in &self.doable {
            offer(command.found.title(), &command.also, &|| command.found.clone());
        }
        offer_things(&model.state, &query, &mut offer);
        for command in &self.elsewhere {
            offer(command.found.title(), &command.also, &|| command.found.clone());
        }
        let place = place(model, self.query.trim()).map(Found::Place);
        place.into_iter().chain(found.into_iter().flatten()).take(ANSWERS).collect()
    }

    /// Where the chosen answer stands among those that are given; none where it is not among them any more.
    #[must_use]
    pub fn chosen_among(&self, hits: &[Hit]) -> Option<usize> {
        hits.iter().position(|hit| self.chosen.is(&hit.found))
    }

    /// An answer in words; none where it is not there.
    fn hit(&self, model: &Model, found: &Found) -> Option<Hit> {
        let state = &model.state;
        let beside = match found {
            Found::Vessel(label) => beside_vessel(state, state.vessels.by_label(label.as_str())?),
            Found::Place(place) => beside_place(state, place)?,
            Found::Lot(label) => format!("{} lot", state.lots.by_label(label.as_str())?.colour),
            Found::Trial(label) => format!("trial, {}", how_far(state.trials.by_label(label.as_str())?)),
            Found::Fining(label) => {
                format!("fining trial, {}", glasses_words(state.finings.by_label(label.as_str())?))
            }
            Found::Code(name) => beside_code(state, name),
            Found::Trace(_) => "back to all that its wine met".to_owned(),
            Found::Bin(place) => format!("bin, {}", counted(state.bin(place).bottles(), "bottle")),
            Found::Run(label) => {
                let run = state.runs.by_label(label.as_str())?;
                format!("bottling run, {} of {}", run.bottles(), size(run.bottle))
            }
            Found::Room(label) => format!("room of {} places", state.rooms.by_label(label.as_str())?.slots.len()),
            command => {
                let mut known = self.doable.iter().chain(&self.elsewhere);
                known.find(|known| known.found == *command)?.beside.clone()
            }
        };
        Some(Hit { name: found.name(), found: found.clone(), beside })
    }

    /// Goes to what was found, or does it.
    fn take(&self, model: &mut Model, found: Found) -> Turn {
        let wishes = match found {
            Found::Vessel(label) => {
                if let Some(id) = model.state.vessels.find(label.as_str()) {
                    model.jump(Jump::Vessel(id));
                }
                return Turn::to_floor();
            }
            Found::Place(place) => {
                if let Some((room, slot)) = slot(&model.state, &place) {
                    model.jump(Jump::Slot(room, slot));
                }
                return Turn::to_floor();
            }
            Found::Room(room) => {
                model.aside = None;
                model.cursor = model.state.rooms.find(room.as_str()).map(Cursor::first).or(model.cursor);
                return Turn::to_floor();
            }
            Found::Act(title) => return Turn { wishes: Vec::new(), goes: Goes::ToFloorAndGive(title) },
            Found::Here(title) => {
                let act = self.here.iter().find(|act| act.title == title);
                let goes = act.map_or(Goes::Back, |act| Goes::BackAndDo(act.doing));
                return Turn { wishes: Vec::new(), goes };
            }
            Found::There { page, act } => return open_there(model, page, act),
            Found::Desk(title) => {
                if let Some(act) = AT_THE_DESK.iter().find(|act| act.title == title) {
                    model.say(act.how.to_owned(), Tone::Notice);
                }
                return Turn::stay();
            }
            Found::Way(title) => {
                let way = model.house.ways().find(|way| way.title == title);
                way.map_or_else(Vec::new, |way| model.take_way(way))
            }
            found => open_page(model, found),
        };
        Turn::back().wishing(wishes)
    }
}

/// Opens the page of what was found.
fn open_page(model: &mut Model, found: Found) -> Wishes {
    match found {
        Found::Run(label) => return run::show(model, &label),
        Found::Trial(label) => return trial::show(model, &label),
        Found::Fining(label) => {
            if let Some(id) = model.state.finings.find(label.as_str()) {
                fining::show(model, id);
            }
        }
        Found::Code(name) => bins::find(model, &name),
        Found::Trace(name) => return trace::open(model, Traced::Bottles(name)),
        Found::Bin(place) => bins::go_to(model, &place),
        Found::Lot(lot) => lot_review::show(model, lot),
        _ => {}
    }
    Vec::new()
}

/// Opens the page on which something can be done, and says how it is done there. It is not done at once: what that page chooses
/// first may not be what is meant.
fn open_there(model: &mut Model, page: &'static str, title: &'static str) -> Turn {
    let Some(room) = model.house.rooms.iter().find(|room| room.about.name == page) else { return Turn::stay() };
    let way = match room.about.opens {
        Opens::ByWays([way, ..]) => way,
        Opens::ByWays([]) => return Turn::stay(),
        Opens::From(how) => {
            return model.refuse(format!("'{title}' is done on the page '{page}': {how}.")).into();
        }
    };
    let can_be = (way.why_not)(model).is_none();
    let wishes = model.take_way(way);
    if can_be {
        let key = (room.acts)().into_iter().find(|act| act.title == title).and_then(|act| act.sense);
        let how = key.map_or_else(|| "enter lists it".to_owned(), |key| format!("{} does it", key.key_name()));
        model.say_also(&format!("{title}: {how} here."), Tone::Notice);
    }
    Turn::back().wishing(wishes)
}

/// What is there that is no command.
fn offer_things(state: &State, query: &str, mut offer: impl FnMut(&str, &str, &dyn Fn() -> Found)) {
    for (_, Vessel { label, .. }) in state.vessels.iter().filter(|(_, vessel)| vessel.retired.is_none()) {
        offer(label.as_str(), "", &|| Found::Vessel(label.clone()));
    }
    for (_, lot) in state.lots.iter() {
        offer(lot.label.as_str(), "", &|| Found::Lot(lot.label.clone()));
    }
    for (_, trial) in state.trials.iter() {
        offer(trial.label.as_str(), "", &|| Found::Trial(trial.label.clone()));
    }
    for (_, trial) in state.finings.iter() {
        offer(trial.label.as_str(), trial.material.as_str(), &|| Found::Fining(trial.label.clone()));
    }
    // Where bottles of a lot code lie, their bins come before the page of the run.
    for (_, run) in state.runs.iter() {
        let lies = |code: &&Label| run.laid().any(|(_, stock)| stock.lot_code.as_ref() == Some(code));
        for code in run.lot_codes().into_iter().filter(lies) {
            offer(code.as_str(), "", &|| Found::Code(code.clone()));
        }
    }
    for (_, run) in state.runs.iter() {
        let names = std::iter::once(&run.label).chain(run.lot_codes());
        let nearest = names.min_by_key(|name| distance(query, name.as_str(), "").unwrap_or(u8::MAX));
        offer(nearest.unwrap_or(&run.label).as_str(), "", &|| Found::Run(run.label.clone()));
    }
    for (_, room) in state.rooms.iter() {
        offer(room.label.as_str(), "", &|| Found::Room(room.label.clone()));
    }
    for (_, run) in state.runs.iter() {
        for name in std::iter::once(&run.label).chain(run.lot_codes()) {
            offer(&traced(name), "", &|| Found::Trace(name.clone()));
        }
    }
    for bin in state.bin_maps().iter().flat_map(StoreMap::bins) {
        offer(bin.place.as_str(), "", &|| Found::Bin(bin.place.clone()));
    }
}

impl Page for Find {
    fn title(&self, _model: &Model) -> String {
        "Find a barrel, place, tank, lot, trial, run, bottles, room or command".to_owned()
    }

    fn is_over(&self) -> bool {
        true
    }

    fn lines(&self, model: &Model, width: usize, height: usize) -> Vec<Line<'static>> {
        let marks = model.looks.marks;
        if self.answers.is_empty() {
            return vec![Line::styled("nothing is called so", model.looks.theme.style(Meaning::Muted))];
        }
        let words = |found: &Found| {
            self.hit(model, found).map_or_else(String::new, |hit| {
                format!("{} {}", left(&hit.name, (width / 2).min(34), marks), hit.beside)
            })
        };
        choice::lines(model, &self.answers, &self.chosen, height.max(1), width, words)
    }

    fn asks(&self, model: &Model, width: usize) -> Vec<Line<'static>> {
        let theme = model.looks.theme;
        let written = format!(" find: {}", model.written(&self.query, width.saturating_sub(8)));
        let room = width.saturating_sub(columns(&written) + 2);
        let hint = if self.query.is_empty() { EMPTY } else { "" };
        vec![Line::from(vec![
            Span::styled(written, theme.style(Meaning::Strong)),
            Span::styled(format!("  {}", fit(hint, room, model.looks.marks)), theme.style(Meaning::Muted)),
        ])]
    }

    fn go(&mut self, model: &mut Model, go: Go, _last: usize) -> Turn {
        self.chosen.go(model, &self.answers, go);
        Turn::stay()
    }

    fn rewritten(&mut self, model: &mut Model) {
        self.look_up(model);
        self.choose_first();
    }

    fn written(&self) -> Option<&str> {
        Some(&self.query)
    }

    fn written_mut(&mut self) -> Option<&mut String> {
        Some(&mut self.query)
    }

    fn manner(&self) -> Manner {
        Manner::over_list(LONGEST)
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        Some("take".to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        if let Some(found) = self.chosen.there(&self.answers).cloned() {
            return Some(self.take(model, found));
        }
        let none = || format!("Nothing is called '{}'.", self.query);
        model.say(self.chosen.thing().map_or_else(none, |found| choice::gone(&found.name())), Tone::Refused);
        Some(Turn::stay())
    }

    /// What is chosen stays it, though another may be closer now.
    fn follow(&mut self, model: &mut Model, _before: &Before<'_>) -> Followed {
        self.look_round(model);
        self.look_up(model);
        self.chosen.follow(&self.answers, Found::name)
    }
}

impl Found {
    /// What a command is called; nothing where it is none.
    fn title(&self) -> &'static str {
        match self {
            Found::Way(title)
            | Found::Act(title)
            | Found::Here(title)
            | Found::Desk(title)
            | Found::There { act: title, .. } => title,
            _ => "",
        }
    }

    /// What it is called.
    fn name(&self) -> String {
        match self {
            Found::Vessel(label)
            | Found::Lot(label)
            | Found::Trial(label)
            | Found::Fining(label)
            | Found::Run(label)
            | Found::Room(label)
            | Found::Code(label)
            | Found::Bin(label) => label.to_string(),
            Found::Trace(label) => traced(label),
            Found::Place(place) => place.to_string(),
            command => command.title().to_owned(),
        }
    }
}

/// How the trace of a lot code is found.
fn traced(name: &Label) -> String {
    format!("trace {name}")
}

/// How far a name is from what is looked for: the same, beginning so, holding it, described by it.
fn distance(query: &str, name: &str, also: &str) -> Option<u8> {
    match position(query, name) {
        Some(0) if query.len() == name.len() => Some(0),
        Some(0) => Some(1),
        Some(_) => Some(2),
        None => position(query, also).map(|_| 3),
    }
}

/// Where a text in small letters begins in another, whatever the case there.
fn position(query: &str, text: &str) -> Option<usize> {
    // Most labels are plain, and there may be ten thousand of them to look through between two keys.
    if query.is_ascii() && text.is_ascii() {
        return text.as_bytes().windows(query.len()).position(|part| part.eq_ignore_ascii_case(query.as_bytes()));
    }
    text.to_lowercase().find(query)
}

/// What can be done on the floor.
fn floor_acts(model: &Model) -> Vec<Offer> {
    model.pages.lowest().map_or_else(Vec::new, Offered::named)
}

/// Why something cannot be done on the floor now, if it cannot. It is asked only of what is shown: each answer may go through the
/// whole cellar.
fn why_not_on_floor(model: &Model, act: &Offer) -> Option<String> {
    match act.doing {
        Doing::Row(row) => model.pages.lowest().and_then(|floor| floor.why_not(row, model)),
        Doing::Way(_) => None,
    }
}

/// What can be done on the page on top.
fn top_acts(model: &Model) -> Vec<Offer> {
    model.pages.top().map_or_else(Vec::new, |page| page.offers(model))
}

/// What describes a command: what a cellar says for it, and its help.
fn described(also: &[&str], help: &str) -> String {
    [also, &[help]].concat().join(" ")
}

/// The place that is called so: in this room, else in another. Rows are capitals and sides small letters, however they are typed.
fn place(model: &Model, typed: &str) -> Option<Place> {
    let (named, within) = typed.rsplit_once('/').map_or((None, typed), |(room, within)| (Some(room), within));
    let (rack, side) = within.rsplit_once('-')?;
    let here = model.room();
    let rooms = here.into_iter().chain(model.state.rooms.iter().map(|(id, _)| id).filter(|id| Some(*id) != here));
    let rooms: Vec<&Room> = rooms.map(|id| model.state.rooms.get(id)).collect();
    let meant = |room: &&&Room| named.is_none_or(|named| room.label.as_str().eq_ignore_ascii_case(named));
    let in_room = |room: &&Room| {
        let spelt = [rack.to_owned(), rack.to_uppercase()];
        let places = spelt
            .into_iter()
            .filter_map(|rack| format!("{}/{rack}-{}", room.label, side.to_lowercase()).parse::<Place>().ok());
        places.into_iter().find(|place| room.slot(place).is_some())
    };
    rooms.iter().filter(meant).find_map(in_room)
}

/// The room and the slot of a place.
fn slot(state: &State, place: &Place) -> Option<(RoomId, usize)> {
    let room = state.rooms.find(place.rack.room.as_str())?;
    Some((room, state.rooms.get(room).slot(place)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_closest_name_comes_first() {
        let far = |name| distance("côte", name, "");
        assert_eq!(["Côte", "Côte Haute", "La Côte", "Cote"].map(far), [Some(0), Some(1), Some(2), None]);
        let far = |name| distance("k2", name, "the keg K2");
        assert_eq!(["K2", "K20", "AK2", "", "K"].map(far), [Some(0), Some(1), Some(2), Some(3), Some(3)]);
    }
}
