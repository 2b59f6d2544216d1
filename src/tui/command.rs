//! The one table of commands. Key handling, the bottom line, the help and the find box are all made from it.

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

use crate::tui::model::Model;

/// Where a command can be given.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// On the floor, with nothing typed.
    Floor,
    /// On the floor while digits or a label are typed.
    Typing,
    /// On the page of a barrel-down.
    Fill,
    /// Where a line is written: the name of a work that begins, the batch of what is given, a reason, a figure.
    Name,
}

/// What commands belong together in the help.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Group {
    /// Going about.
    Walk,
    /// The topping round.
    Round,
    /// What is said of a barrel.
    Barrel,
    /// What is shown.
    Show,
    /// The program.
    Program,
}

impl Group {
    /// All of them, in the order of the help.
    pub const ALL: [Group; 5] = [Group::Round, Group::Barrel, Group::Walk, Group::Show, Group::Program];

    /// The heading in the help.
    #[must_use]
    pub const fn title(self) -> &'static str {
        match self {
            Group::Walk => "Going about",
            Group::Round => "The round",
            Group::Barrel => "The barrel",
            Group::Show => "What is shown",
            Group::Program => "The program",
        }
    }
}

/// What a command does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[allow(missing_docs)] // the table says of each what it does
pub enum Id {
    Choose,
    Back,
    PageStart,
    PageEnd,
    ListUp,
    ListDown,
    ListStart,
    ListEnd,
    EraseWord,
    NextPattern,
    PlanUp,
    PlanDown,
}

/// A command.
pub struct Command {
    /// What it does.
    pub id: Id,
    /// Its name in the find box and the help.
    pub title: &'static str,
    /// One line about it.
    pub help: &'static str,
    /// A word for the bottom line; none where it does not stand there.
    pub bar: Option<&'static str>,
    /// What it belongs to.
    pub group: Group,
    /// Where it can be given.
    pub places: &'static [Place],
    /// The keys that give it.
    pub keys: &'static [KeyCode],
    /// Why it cannot be given now, if it cannot.
    pub hindered: fn(&Model) -> Option<String>,
}

fn never(_: &Model) -> Option<String> {
    None
}

use Place::{Fill, Name};

macro_rules! command {
    ($id:ident, $title:literal, $help:literal, $bar:expr, $group:ident, [$($place:ident),*], [$($key:expr),*], $hindered:expr) => {
        Command {
            id: Id::$id,
            title: $title,
            help: $help,
            bar: $bar,
            group: Group::$group,
            places: &[$($place),*],
            keys: &[$($key),*],
            hindered: $hindered,
        }
    };
}

/// Every command.
#[rustfmt::skip] // a table reads as a table
pub static COMMANDS: &[Command] = &[
    command!(ListUp, "Up the list", "Goes up the list.", Some("before"), Walk, [Fill], [KeyCode::Up], never),
    command!(ListDown, "Down the list", "Goes down the list.", Some("next"), Walk, [Fill], [KeyCode::Down], never),
    command!(ListStart, "Start of the list", "Goes to the first line of the list.", None, Walk, [], [KeyCode::Home], never),
    command!(ListEnd, "End of the list", "Goes to the last line of the list.", None, Walk, [], [KeyCode::End], never),
    command!(Choose, "Choose", "Takes what is chosen or written.", Some("take"), Program, [Fill, Name], [KeyCode::Enter], never),
    command!(EraseWord, "Erase a character", "Erases the last character.", Some("erase"), Program, [Fill, Name], [KeyCode::Backspace], never),
    command!(NextPattern, "As in another lot", "Writes the next lot that lies in barrels as the pattern; enter writes its mix out as wishes.", Some("as in"), Round, [Fill], [KeyCode::Tab], Model::why_no_pattern),
    command!(PageStart, "Start of the page", "Goes to the first line of the page.", None, Walk, [Fill], [KeyCode::Home], never),
    command!(PageEnd, "End of the page", "Goes to the last line of the page.", None, Walk, [Fill], [KeyCode::End], never),
    command!(Back, "Back", "Goes back to the floor; nothing is taken.", Some("back"), Program, [Fill, Name], [KeyCode::Esc], never),
    command!(PlanDown, "Down the plan", "Goes down the page.", Some("more"), Walk, [Fill], [KeyCode::PageDown], Model::why_no_more_of_plan),
    command!(PlanUp, "Up the plan", "Goes up the page.", None, Walk, [Fill], [KeyCode::PageUp], Model::why_no_more_of_plan),
];

/// The command that a key gives in a place.
#[must_use]
pub fn resolve(place: Place, key: &KeyEvent) -> Option<&'static Command> {
    if key.modifiers.intersects(KeyModifiers::CONTROL | KeyModifiers::ALT) {
        return None;
    }
    COMMANDS.iter().find(|command| command.places.contains(&place) && command.keys.contains(&key.code))
}

/// The command of an id.
#[must_use]
pub fn command(id: Id) -> Option<&'static Command> {
    COMMANDS.iter().find(|command| command.id == id)
}

/// How a key is called.
#[must_use]
pub fn key_name(key: KeyCode) -> String {
    match key {
        KeyCode::Char(' ') => "space".to_owned(),
        KeyCode::Char(character) => character.to_string(),
        KeyCode::Enter => "enter".to_owned(),
        KeyCode::Esc => "esc".to_owned(),
        KeyCode::Backspace => "backspace".to_owned(),
        KeyCode::Tab => "tab".to_owned(),
        KeyCode::Left => "left".to_owned(),
        KeyCode::Right => "right".to_owned(),
        KeyCode::Up => "up".to_owned(),
        KeyCode::Down => "down".to_owned(),
        KeyCode::PageUp => "page up".to_owned(),
        KeyCode::PageDown => "page down".to_owned(),
        KeyCode::Home => "home".to_owned(),
        KeyCode::End => "end".to_owned(),
        other => format!("{other:?}").to_lowercase(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;

    #[test]
    fn no_key_means_two_things_in_one_place() {
        let words = [Name, Fill];
        for place in words {
            let mut seen = HashSet::new();
            for command in COMMANDS.iter().filter(|command| command.places.contains(&place)) {
                for key in command.keys {
                    assert!(seen.insert(*key), "{key:?} twice in {place:?}");
                }
            }
        }
    }

    #[test]
    fn every_command_has_a_key_a_title_and_a_sentence_and_stands_once() {
        let mut seen = HashSet::new();
        for command in COMMANDS {
            assert!(!command.keys.is_empty() && !command.title.is_empty(), "{:?}", command.id);
            assert!(command.help.ends_with('.'), "{}", command.title);
            assert!(seen.insert(command.id), "{:?} stands twice", command.id);
        }
    }
}
