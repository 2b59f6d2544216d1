//! The bottom line: what can be pressed now. It is made from the table of commands and folds itself to the width.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

use crate::cellar::vessel::VesselType;
use crate::cellar::work::Task;
use crate::tui::command::{COMMANDS, Command, Id, Place, key_name};
use crate::tui::model::{Mode, Model};
use crate::tui::source::For;
use crate::tui::text::columns;
use crate::tui::theme::Meaning;
use crate::tui::works;
use crate::units::VolumeUnit;

/// Draws the bottom line.
pub(super) fn draw(model: &Model, frame: &mut Frame<'_>, area: Rect) {
    let theme = model.looks.theme;
    let width = usize::from(area.width);
    let place = model.place();
    // On the floor there is enough to press, and its find box leads to these; at a tank nobody tops. Up, down and erasing go
    // without saying beside many keys.
    let at_tank = stands_at_tank(model);
    let unsaid = |id: Id| match place {
        Place::Floor if at_tank => is_of_the_aisle(id),
        Place::Floor => matches!(id, Id::Checklist | Id::Bottling),
        Place::Checklist | Place::Bottling => matches!(id, Id::ListUp | Id::ListDown),
        Place::Fining => matches!(id, Id::ListUp | Id::ListDown | Id::EraseWord),
        _ => false,
    };
    let here = |command: &&Command| {
        command.bar.is_some()
            && !unsaid(command.id)
            && command.places.contains(&place)
            && (command.hindered)(model).is_none()
    };
    // Find and help come last and are never folded away: they lead to all others.
    let always = |command: &&Command| matches!(command.id, Id::Find | Id::Help);
    let last: Vec<(String, String)> = COMMANDS.iter().filter(here).filter(always).map(|c| entry(model, c)).collect();
    let mut left = width.saturating_sub(last.iter().map(|(key, word)| columns(key) + columns(word) + 3).sum());
    let mut entries: Vec<(String, String)> = typing_hint(model).into_iter().collect();
    for command in COMMANDS.iter().filter(here).filter(|command| !always(command)) {
        entries.push(entry(model, command));
    }
    let mut spans = vec![Span::raw(" ")];
    for (key, word) in entries {
        let taken = columns(&key) + columns(&word) + 3;
        if taken > left || word.is_empty() {
            continue;
        }
        left -= taken;
        push(&mut spans, theme.style(Meaning::Key), theme.style(Meaning::Muted), key, &word);
    }
    for (key, word) in last {
        push(&mut spans, theme.style(Meaning::Key), theme.style(Meaning::Muted), key, &word);
    }
    frame.render_widget(Line::from(spans), area);
}

fn push(
    spans: &mut Vec<Span<'static>>,
    key_style: ratatui::style::Style,
    word_style: ratatui::style::Style,
    key: String,
    word: &str,
) {
    spans.push(Span::styled(key, key_style));
    spans.push(Span::styled(format!(" {word}  "), word_style));
}

/// Whether a tank is looked at that no work is walked to: what is done in the aisle is not done to it.
fn stands_at_tank(model: &Model) -> bool {
    let aside = model.aside.map(|id| model.state.vessels.get(id).vessel_type);
    model.working.is_none() && aside == Some(VesselType::Tank)
}

/// What is pressed on the way along the barrels.
const fn is_of_the_aisle(id: Id) -> bool {
    matches!(
        id,
        Id::TopBarrel
            | Id::TopRack
            | Id::TopStack
            | Id::TopRow
            | Id::Skip
            | Id::BeginRound
            | Id::EndRound
            | Id::ChangeSource
            | Id::NextRoom
            | Id::NextColouring
            | Id::RoomPlan
    )
}

/// Digits are no command, but what one types most on a round.
fn typing_hint(model: &Model) -> Option<(String, String)> {
    let measures = model.working.is_none_or(|work| !matches!(model.state.works.get(work).task, Task::Caring { .. }));
    let here = model.place() == Place::Floor && !stands_at_tank(model) && measures && model.why_no_litres().is_none();
    let (unit, _) = works::unit(model).unwrap_or(("litres", "L"));
    here.then(|| ("digits".to_owned(), unit.to_owned()))
}

fn entry(model: &Model, command: &Command) -> (String, String) {
    let key = command.keys.first().map_or_else(String::new, |&key| key_name(key));
    let word = match (command.id, &model.mode) {
        (Id::TopBarrel, _) if model.working.is_some() => match model.still_asked() {
            Some(volume) => format!("take {}", volume.show(VolumeUnit::Litre, 1)),
            None => "done".to_owned(),
        },
        (Id::Works, _) if model.working.is_some() => "put down".to_owned(),
        (Id::TopBarrel, _) => match model.expected() {
            Some(volume) => format!("top {}", volume.show(VolumeUnit::Litre, 1)),
            None => "top".to_owned(),
        },
        (Id::Hold, _) if model.chosen_vessel().is_some_and(|vessel| vessel.held.is_some()) => "free".to_owned(),
        (Id::Choose, Mode::Source(choice)) if choice.purpose == For::Begin => "begin".to_owned(),
        (Id::Choose, Mode::Fill(page)) => page.enter_word().to_owned(),
        (Id::Back, Mode::Fill(page)) => page.escape_word().to_owned(),
        (Id::Choose, Mode::Fining(page)) if page.batch.is_some() => "give it".to_owned(),
        (Id::OtherPurpose, Mode::Move(page)) => if page.filters { "rack" } else { "filter" }.to_owned(),
        (Id::MonthOrYear, Mode::Ledger(page)) => if page.of_year { "month" } else { "year" }.to_owned(),
        (Id::OtherPage, Mode::Bottling(page)) => if page.recording { "checklist" } else { "run" }.to_owned(),
        (Id::Choose, Mode::Bottling(page)) => page.enter_word().to_owned(),
        (Id::Choose, Mode::Dosing(page)) if !page.gives() => String::new(),
        (Id::Choose, Mode::Tank(_) | Mode::Dosing(_)) => "begin".to_owned(),
        (Id::LotsDown, Mode::Tank(_) | Mode::Dosing(_)) => "more".to_owned(),
        // Its end is in sight already; the frame says that more stands above.
        (Id::LotsDown, Mode::Ending(_)) => String::new(),
        (Id::OtherScale, Mode::Rating(page)) => format!("{}s", page.scale.other().word()),
        (Id::Back, Mode::Rating(page)) => page.escape_word().to_owned(),
        (Id::Choose, Mode::Counting(page)) if page.compared => "book and close".to_owned(),
        (Id::CompareCount, Mode::Counting(page)) if page.compared => "the count".to_owned(),
        (Id::TakeBack, Mode::Counting(_)) if model.place() == Place::CountStop => String::new(),
        (Id::TakeBack, Mode::Counting(_)) => "undo".to_owned(),
        (Id::Choose, Mode::Ending(ending)) if ending.given.is_some() => "put it right".to_owned(),
        (Id::Choose, Mode::Ending(_)) => "close the work".to_owned(),
        (Id::Choose, Mode::Summary(_)) => "close the round".to_owned(),
        _ => command.bar.unwrap_or_default().to_owned(),
    };
    (key, word)
}
