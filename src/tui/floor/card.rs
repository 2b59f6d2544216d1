//! The card of the chosen vessel.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::text::{Line, Span};

use crate::cellar::core::history::{Event, HistoryLine};
use crate::cellar::core::state::{Vessel, VesselId};
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::cellar::jobs::topping::round::Mark;
use crate::cellar::views::topping::headspace::Leak;
use crate::reckon::due::Due;
use crate::tui::bench::assemblage;
use crate::tui::core::draw::{pair, pairs, write, write_lines};
use crate::tui::core::model::Model;
use crate::tui::core::text::{columns, fit, wrap, wrap_parts};
use crate::tui::core::theme::Meaning;
use crate::tui::floor::work_pages;
use crate::units::{DateForm, figure_to, litres, millilitres, weighed, whole_litres};

/// Draws the card, with a line at its left.
pub(in crate::tui) fn draw(model: &Model, frame: &mut Frame<'_>, area: Rect) {
    let line = model.looks.marks.vertical.to_string();
    for y in area.y..area.bottom() {
        write(frame, Rect { y, width: 1, height: 1, ..area }, &line, model.looks.theme.style(Meaning::Muted));
    }
    let inner = Rect { x: area.x + 2, width: area.width.saturating_sub(3), ..area };
    write_lines(frame, inner, lines(model, usize::from(inner.width)));
}

fn lines(model: &Model, width: usize) -> Vec<Line<'static>> {
    let theme = model.looks.theme;
    let marks = model.looks.marks;
    let Some(id) = model.chosen() else {
        let text = match model.cursor {
            Some(cursor) => {
                let place = cursor
                    .slot(&model.state)
                    .and_then(|slot| model.state.rooms.get(cursor.room).place(slot))
                    .map_or_else(String::new, |place| place.within_room());
                format!("{place}   no barrel here")
            }
            None => String::new(),
        };
        return vec![Line::styled(fit(&text, width, marks), theme.style(Meaning::Muted))];
    };
    let vessel = model.state.vessels.get(id);
    let mut lines = title(model, vessel, width);
    if let Some(at) = vessel.retired {
        let text = format!("gone since {}", at.show_date());
        lines.push(Line::styled(fit(&text, width, marks), theme.style(Meaning::Warning)));
    }
    lines.extend(lot(model, id, vessel, width));
    if let Some((text, meaning)) = work_pages::stop_words(model, id) {
        lines.push(pair(model, "work", &text, width, theme.style(meaning)));
    }
    for (name, text, meaning) in assemblage::card_lines(model, id) {
        lines.push(pair(model, name, &text, width, theme.style(meaning)));
    }
    if let Some(text) = work_pages::wood_words(model, id) {
        lines.push(pair(model, "wood", &text, width, theme.style(Meaning::Warning)));
    }
    lines.extend(wood(model, vessel, width));
    lines.push(Line::default());
    lines.extend(level(model, id, vessel, width));
    lines.extend(kept(model, id, vessel, width));
    lines.extend(held(model, vessel, width));
    lines.extend(suspect(model, vessel, width));
    lines.extend(sulfur_dioxide(model, vessel, width));
    lines.extend(taste(model, vessel, width));
    lines.extend(history(model, vessel, width));
    lines
}

/// Where it lies, what it is, and its label: whole, as it is what one reads on the barrel.
fn title(model: &Model, vessel: &Vessel, width: usize) -> Vec<Line<'static>> {
    let kind = vessel.vessel_type;
    let marks = model.looks.marks;
    let place = model.state.place_of(vessel).map_or_else(String::new, |place| format!("{}   ", place.within_room()));
    let text = format!("{place}{kind} {}", vessel.label);
    let lines = if columns(&text) <= width {
        vec![fit(&text, width, marks)]
    } else {
        let label = wrap(vessel.label.as_str(), width, marks);
        std::iter::once(fit(&format!("{place}{kind}"), width, marks)).chain(label).collect()
    };
    lines.into_iter().map(|line| Line::styled(line, model.looks.theme.style(Meaning::Title))).collect()
}

fn lot(model: &Model, id: VesselId, vessel: &Vessel, width: usize) -> Vec<Line<'static>> {
    let theme = model.looks.theme;
    let Some(lot) = vessel.lot else {
        let since = vessel.emptied.map_or_else(String::new, |at| format!(" since {}", at.show_day()));
        return vec![Line::styled(format!("empty{since}"), theme.style(Meaning::Empty))];
    };
    let label = model.state.lots.get(lot).label.to_string();
    let mut lines = vec![pair(model, "lot", &label, width, theme.style(Meaning::Strong))];
    if let Some(round) = model.round().filter(|&round| model.state.is_of_round(round, id, model.now)) {
        let progress = model.state.progress(round, Some(lot), model.now);
        let text = format!("{} of {} done", progress.done, progress.of);
        lines.push(pair(model, "of this lot", &text, width, theme.style(Meaning::Base)));
        let mark = model.state.rounds.get(round).marks.get(&id);
        let (text, meaning) = match mark {
            Some(Mark::Topped(volume) | Mark::Thirsty(volume)) => {
                (format!("{} done, {}", model.looks.marks.yes, litres(*volume)), Meaning::Fine)
            }
            Some(Mark::InPart(volume)) => (format!("{} in part", litres(*volume)), Meaning::Due),
            Some(Mark::Skipped) => ("skipped".to_owned(), Meaning::Due),
            None if vessel.held.is_some() => ("held back".to_owned(), Meaning::Held),
            None => ("to do".to_owned(), Meaning::Base),
        };
        lines.push(pair(model, "this round", &text, width, theme.style(meaning)));
    }
    lines
}

fn wood(model: &Model, vessel: &Vessel, width: usize) -> Vec<Line<'static>> {
    if vessel.vessel_type != VesselType::Barrel {
        return Vec::new();
    }
    let wood = &vessel.wood;
    let base = model.looks.theme.style(Meaning::Base);
    let marks = model.looks.marks;
    let fill = if vessel.wine.is_empty() { vessel.fills + 1 } else { vessel.fills };
    let forest = wood.forest.as_ref().map(ToString::to_string);
    let toast = wood.toast.as_ref().map(|toast| format!("{toast} toast"));
    let fill = Some(match (vessel.wine.is_empty(), fill) {
        (true, 1) => "new".to_owned(),
        (true, fill) => format!("next fill {fill}"),
        (false, fill) => format!("fill {fill}"),
    });
    let first: Vec<String> = [forest, toast, fill].into_iter().flatten().collect();
    let cooper = wood.cooper.as_ref().map(ToString::to_string);
    let shape = wood.shape.as_ref().map(ToString::to_string);
    let made = wood.made.map(|made| made.to_string());
    let second: Vec<String> =
        [cooper, shape, made, Some(whole_litres(vessel.capacity))].into_iter().flatten().collect();
    let lines = [first, second].map(|parts| wrap_parts(&parts, width, marks));
    lines.into_iter().flatten().map(|line| Line::styled(line, base)).collect()
}

fn level(model: &Model, id: VesselId, vessel: &Vessel, width: usize) -> Vec<Line<'static>> {
    let theme = model.looks.theme;
    let base = theme.style(Meaning::Base);
    let mut lines = Vec::new();
    if vessel.wine.is_empty() {
        return lines;
    }
    if vessel.kept_full {
        let (text, style) = topped(model, vessel);
        lines.extend(pairs(model, "topped", &text, width, style));
        if let Some(day) = model.state.due_on(vessel) {
            lines.push(pair(
                model,
                "due",
                &(day.format(DateForm::customary().day()).to_string() + &due_because(model, id)),
                width,
                style,
            ));
        }
        let estimate = model.state.headspace(vessel, model.now);
        let basis = estimate.basis.words();
        let text = format!(
            "{} {}{}, {basis}",
            litres(estimate.missing),
            model.looks.marks.plus_minus,
            estimate.deviation.in_column(1)
        );
        lines.extend(pairs(model, "lacks", &text, width, theme.style(Meaning::Strong)));
    }
    if let Some(leak) = model.state.leak(vessel) {
        let said = wrap(&drinks(&leak), width, model.looks.marks);
        lines.extend(said.into_iter().map(|line| Line::styled(line, theme.style(Meaning::Warning))));
    }
    let text = format!("{} of {}", litres(vessel.volume()), whole_litres(vessel.capacity));
    lines.push(pair(model, "book", &text, width, base));
    lines
}

/// When its lees were stirred and gas was laid over it, and when that is due again.
fn kept(model: &Model, id: VesselId, vessel: &Vessel, width: usize) -> Vec<Line<'static>> {
    let stirring = model.state.stirring(id).map(|kept| ("stirred", String::new(), "due", kept));
    let gas = vessel.blanket.as_ref().map_or_else(String::new, |blanket| format!("{} ", blanket.gas));
    let blanket = model.state.blanket(id).map(|kept| ("gas", gas, "look again", kept));
    let told = [stirring, blanket].into_iter().flatten().flat_map(|(name, what, again, kept)| {
        let meaning = if kept.is_due(model.now) { Meaning::Due } else { Meaning::Base };
        let text = format!("{what}{}, {again} {}", kept.at.show_day(), kept.due.show_day());
        pairs(model, name, &text, width, model.looks.theme.style(meaning))
    });
    told.collect()
}

/// Why a barrel is due when it is, where that is not the interval of the barrels round it, or where it is none of the round.
fn due_because(model: &Model, id: VesselId) -> String {
    let vessel = model.state.vessels.get(id);
    let because = model.state.due_because(vessel);
    let is_said = model.round().map_or(because.is_its_own(), |round| !model.state.is_of_round(round, id, model.now));
    if is_said { format!(", {} d: {}", model.state.interval_days(vessel), because.words()) } else { String::new() }
}

/// The words for how much more than it should a barrel drinks, and since when.
pub(in crate::tui) fn drinks(leak: &Leak) -> String {
    format!("drinks {} times what it should, since {}", figure_to(1, leak.times), leak.since.show_day())
}

fn topped(model: &Model, vessel: &Vessel) -> (String, Style) {
    let theme = model.looks.theme;
    let days = model.state.days_since_full(vessel, model.now).unwrap_or(0);
    let (word, meaning) = match model.state.due(vessel, model.now) {
        Some(Due::Over) => (", over", Meaning::Over),
        Some(Due::Due) => (", due", Meaning::Due),
        Some(Due::Fine) | None => ("", Meaning::Fine),
    };
    let ago = match days {
        0 => "today".to_owned(),
        days => format!("{days} d"),
    };
    if vessel.kept_since.is_some() {
        return (format!("not known{word}"), theme.style(meaning));
    }
    let text = match (vessel.last_topped, vessel.filled) {
        (Some(at), _) => format!("{}, {ago}{word}", at.show_day()),
        (None, Some(at)) => format!("never, filled {}{word}", at.show_day()),
        (None, None) => "never".to_owned(),
    };
    (text, theme.style(meaning))
}

fn held(model: &Model, vessel: &Vessel, width: usize) -> Vec<Line<'static>> {
    let Some(hold) = &vessel.held else { return Vec::new() };
    let text = format!("HELD since {}: {}", hold.since.show_day(), hold.why);
    let style = model.looks.theme.style(Meaning::Held);
    wrap(&text, width, model.looks.marks).into_iter().take(3).map(|line| Line::styled(line, style)).collect()
}

fn suspect(model: &Model, vessel: &Vessel, width: usize) -> Vec<Line<'static>> {
    let Some(why) = model.state.suspect_words(vessel) else { return Vec::new() };
    let style = model.looks.theme.style(Meaning::Warning);
    let lines = wrap(&format!("SUSPECT: {why}"), width, model.looks.marks).into_iter().take(3);
    lines.map(|line| Line::styled(line, style)).collect()
}

/// The last free sulfur dioxide, what was given since and what that comes to, and the molecular beside it with its model's name:
/// the two models differ by a third.
fn sulfur_dioxide(model: &Model, vessel: &Vessel, width: usize) -> Vec<Line<'static>> {
    let id = model.state.vessels.find(vessel.label.as_str());
    let Some(found) = id.and_then(|id| model.state.sulfur_state(id, model.now)) else { return Vec::new() };
    let molecular = found.molecular_mg_l.map_or_else(String::new, |molecular| {
        format!(", {} molecular by the {} model", figure_to(2, molecular), found.model.word())
    });
    let text = format!("free SO2 {}{molecular}", found.known.words().unwrap_or_default());
    let style = model.looks.theme.style(Meaning::Base);
    wrap(&text, width, model.looks.marks).into_iter().take(5).map(|line| Line::styled(line, style)).collect()
}

fn taste(model: &Model, vessel: &Vessel, width: usize) -> Vec<Line<'static>> {
    let Some(taste) = &vessel.taste else { return Vec::new() };
    let score = taste.score.map_or_else(String::new, |score| format!("{score} "));
    let words = taste.text.as_ref().map_or_else(String::new, |text| format!("\"{text}\" "));
    let marks: Vec<&str> = taste.marks.iter().map(crate::cellar::core::label::Label::as_str).collect();
    let text = format!("{score}{words}{} ({})", marks.join(", "), taste.at.show_day());
    let style = model.looks.theme.style(Meaning::Base);
    wrap(&text, width, model.looks.marks).into_iter().take(3).map(|line| Line::styled(line, style)).collect()
}

fn history(model: &Model, vessel: &Vessel, width: usize) -> Vec<Line<'static>> {
    let theme = model.looks.theme;
    if vessel.history.is_empty() {
        return Vec::new();
    }
    let mut lines = vec![Line::default(), Line::styled("last facts", theme.style(Meaning::Muted))];
    for line in vessel.history.lines().rev() {
        lines.push(Line::from(vec![
            Span::styled(format!("{:>6}  ", line.at.show_day()), theme.style(Meaning::Muted)),
            Span::styled(fit(&said(line), width.saturating_sub(8), model.looks.marks), theme.style(Meaning::Base)),
        ]));
    }
    lines
}

/// A fact of the history in a few words.
fn said(line: &HistoryLine) -> String {
    match line.event {
        Event::Topped(volume) => format!("topped {}", litres(volume)),
        Event::ToppedInPart(volume) => format!("topped {} in part", litres(volume)),
        Event::Received(volume) => format!("received {}", litres(volume)),
        Event::MovedIn(volume) => format!("filled with {}", litres(volume)),
        Event::MovedOut(volume) => format!("moved out {}", litres(volume)),
        Event::Gauged(volume) => format!("gauged at {}", litres(volume)),
        Event::Lost(volume, cause) => format!("lost {}, {}", litres(volume), cause.word()),
        Event::Sampled(volume) => format!("sampled {}", millilitres(volume)),
        Event::Tasted(Some(score)) => format!("tasted, {score}"),
        Event::Tasted(None) => "tasted".to_owned(),
        Event::Held => "held".to_owned(),
        Event::Freed => "freed".to_owned(),
        Event::Placed => "placed here".to_owned(),
        Event::Tested => "tested".to_owned(),
        Event::Treated(amount) => format!("added {}", weighed(amount)),
        Event::Stirred => "stirred".to_owned(),
        Event::Blanketed => "gas laid over it".to_owned(),
        Event::Cared(care) => care.word().to_owned(),
        Event::Skipped => "skipped".to_owned(),
        Event::Noted => "noted".to_owned(),
        Event::Bottled(volume) => format!("bottled {}", litres(volume)),
        Event::WineOut(volume) => format!("{} out in bulk", litres(volume)),
    }
}
