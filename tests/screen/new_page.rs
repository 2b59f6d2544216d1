//! A page that is made here, outside the program: a new page is one file, its commands in it, and one line in a list of rooms.

use barrelwalk::cellar::core::label::Label;
use barrelwalk::cellar::core::state::State;
use barrelwalk::tui::core::house::{House, Room};
use barrelwalk::tui::core::model::{Model, Tone};
use barrelwalk::tui::core::page::{About, Before, Followed, Go, Opens, Page, Row, Table, Turn, Way};
use barrelwalk::tui::core::sense::Sense;
use barrelwalk::tui::rooms::HOUSE;
use ratatui::text::Line;

use crate::cellar::fact;
use crate::cellar::record;
use crate::walk::Walk;

/// The tanks of the cellar, one of which is chosen.
#[derive(Debug)]
struct Tanks {
    chosen: Option<Label>,
    line: String,
}

impl Table for Tanks {
    const ABOUT: About = About {
        name: "Tanks",
        purpose: "The tanks of the cellar.",
        opens: Opens::ByWays(&[Way {
            sense: None,
            title: "Look at the tanks",
            help: "Shows the tanks.",
            also: &["vats"],
            why_not: |model| (!model.opened).then(|| "The cellar is not open yet.".to_owned()),
            open: |model| {
                let chosen = tanks(&model.state).into_iter().next();
                model.open(Tanks { chosen, line: String::new() });
                Vec::new()
            },
        }]),
    };
    const ROWS: &'static [Row<Tanks>] = &[
        Row::new(Sense::Gauge, "Say which", "Says which tank is chosen.", Tanks::say),
        Row::listed("Say nothing", "Does nothing.", |_, _| Turn::stay()),
    ];
}

fn tanks(state: &State) -> Vec<Label> {
    let kegs = state.vessels.iter().map(|(_, vessel)| &vessel.label);
    kegs.filter(|label| label.as_str().starts_with('T')).cloned().collect()
}

impl Tanks {
    fn say(&mut self, model: &mut Model) -> Turn {
        let said = self.chosen.as_ref().map_or("none".to_owned(), ToString::to_string);
        model.say(said, Tone::Done);
        Turn::stay()
    }
}

impl Page for Tanks {
    fn title(&self, _model: &Model) -> String {
        "All tanks".to_owned()
    }

    fn lines(&self, model: &Model, _width: usize, _height: usize) -> Vec<Line<'static>> {
        let mark = |label: &Label| if self.chosen.as_ref() == Some(label) { "> " } else { "  " };
        tanks(&model.state).iter().map(|label| Line::raw(format!("{}{label}", mark(label)))).collect()
    }

    fn go(&mut self, model: &mut Model, go: Go, _last: usize) -> Turn {
        let tanks = tanks(&model.state);
        let at = tanks.iter().position(|label| self.chosen.as_ref() == Some(label)).unwrap_or(0);
        self.chosen = tanks.get(go.line(at, tanks.len().saturating_sub(1), 1)).cloned();
        Turn::stay()
    }

    fn takes(&self, _model: &Model, character: char) -> bool {
        character.is_ascii_digit()
    }

    fn written(&self) -> Option<&str> {
        Some(&self.line)
    }

    fn written_mut(&mut self) -> Option<&mut String> {
        Some(&mut self.line)
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        (!self.line.is_empty()).then(|| {
            model.say(format!("{} for {}", std::mem::take(&mut self.line), self.chosen.as_ref().unwrap()), Tone::Done);
            Turn::back()
        })
    }

    fn follow(&mut self, model: &mut Model, _before: &Before<'_>) -> Followed {
        match &self.chosen {
            Some(label) if !tanks(&model.state).contains(label) => Followed::Gone(label.to_string()),
            _ => Followed::There,
        }
    }
}

fn walk() -> Walk {
    // The one line in the list of rooms.
    let rooms: &'static [Room] = Box::leak(Box::new([Room::of::<Tanks>("floor")]));
    let mut walk = Walk::in_house(Box::leak(Box::new(House { rooms, ..HOUSE })));
    walk.press("enter `vat` enter");
    assert!(walk.model.page::<Tanks>().is_some(), "{}", walk.text(80, 24));
    walk
}

#[test]
fn it_opens_by_its_name_and_has_its_keys_its_help_and_its_head() {
    let mut walk = walk();
    let text = walk.text(80, 24);
    assert!(text.starts_with(" All tanks") && text.contains("> T1"), "{text}");
    assert!(!text.contains("topping") && !text.contains("0401"), "nothing of the floor stands round it: {text}");
    walk.press("down g");
    assert_eq!(walk.said(), "T2");
    walk.press("r");
    assert_eq!(walk.said(), "That key does nothing here. ? explains every key.");
    walk.press("?");
    assert!(walk.text(80, 24).contains("Says which tank is chosen."), "{}", walk.text(80, 24));
    walk.press("esc enter `which` enter");
    assert_eq!(walk.said(), "T2");
    walk.press("esc");
    assert!(walk.is_on_floor());
}

/// Another program's tank stands before the one that is chosen; what is entered is still for that one.
#[test]
fn what_is_chosen_stays_chosen_while_another_program_writes() {
    let mut walk = walk();
    walk.press("down `12`");
    let other = r#""kind":"vessel_registered","vessel":"T0","type":"tank","capacity_ul":1000000000"#;
    record(walk.path(), &[fact("11-24", other)]);
    walk.take(barrelwalk::tui::edge::screen::Message::Changed);
    walk.press("enter");
    assert_eq!(walk.said(), "12 for T2");
    assert!(walk.is_on_floor());
}
