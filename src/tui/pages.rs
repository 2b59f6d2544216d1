//! What lies on top of the floor: find box, choice of a vessel, summary, help, messages.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::text::{Line, Span};
use ratatui::widgets::{Block, Clear};

use crate::cellar::plan::Plan;
use crate::cellar::state::{LotId, RoundId, VesselId};
use crate::tui::bench;
use crate::tui::bench_tasting;
use crate::tui::bins;
use crate::tui::card::drinks;
use crate::tui::colouring::WEEPS;
use crate::tui::command::{COMMANDS, Command, Group, Place, key_name};
use crate::tui::counting;
use crate::tui::dosing;
use crate::tui::draw::write_lines;
use crate::tui::drift;
use crate::tui::fill;
use crate::tui::find::Find;
use crate::tui::lineage;
use crate::tui::lot_review;
use crate::tui::model::{Mode, Model, Tone};
use crate::tui::pictures;
use crate::tui::source::{For, SourceChoice};
use crate::tui::text::{fit, left, tail, wrap};
use crate::tui::theme::Meaning;
use crate::tui::trial;
use crate::tui::trial::reveal;
use crate::tui::work_pages;
use crate::units::{Volume, VolumeUnit};

/// So many leaks a summary names, the worst: it must fit a small screen.
const LEAKS_NAMED: usize = 6;

/// Draws what lies on top, if anything does.
pub(super) fn draw(model: &Model, frame: &mut Frame<'_>, body: Rect) {
    match &model.mode {
        Mode::Floor | Mode::Words(_) | Mode::Offer(_) | Mode::Bench | Mode::Rating(_) => {}
        Mode::Counting(shown) => {
            let (title, lines, from) = counting::page(model, shown, inner_width(body), inner_height(body));
            page(model, frame, body, &title, lines, from);
        }
        Mode::Bins(shown) => {
            if let Some((sheet, line)) = &shown.sheet {
                let (title, lines) = bins::page(model, sheet, inner_width(body));
                page(model, frame, body, &title, lines, *line);
            }
        }
        Mode::AtBench(chosen) => {
            let lines = bench::lines(model, *chosen, inner_width(body), inner_height(body));
            page(model, frame, body, "The bench", lines, 0);
        }
        Mode::Trial(shown) => {
            let lines = trial::lines(model, shown, inner_width(body), inner_height(body));
            page(model, frame, body, &trial::title(shown), lines, 0);
        }
        Mode::Opened(flight, line) => {
            let lines = bench_tasting::opened_lines(model, flight, inner_width(body));
            page(model, frame, body, "The numbers are open, the best score first", lines, *line);
        }
        Mode::Find(find) => draw_find(model, frame, body, find),
        Mode::Source(choice) => draw_source(model, frame, body, choice),
        Mode::Summary(round) => {
            let width = inner_width(body);
            let lines = summary(model, *round, width);
            page(model, frame, body, "Closing the round", lines, 0);
        }
        Mode::Works(works) => {
            let lines = work_pages::open_works(model, *works, inner_width(body), inner_height(body));
            page(model, frame, body, "Works", lines, 0);
        }
        Mode::Tank(choice) => {
            let title = format!("Rack {} into which tank?", model.state.lots.get(choice.lot).label);
            let lines = work_pages::tanks(model, choice, inner_width(body), inner_height(body));
            page(model, frame, body, &title, lines, choice.line);
        }
        Mode::Dosing(doses) => {
            let lines = dosing::lines(model, doses, inner_width(body));
            page(model, frame, body, &dosing::title(model, doses), lines, doses.line);
        }
        Mode::Fill(shown) => {
            let (title, lines, from) = fill::page(model, shown, inner_width(body), inner_height(body));
            page(model, frame, body, &title, lines, from);
        }
        Mode::Ending(ending) => {
            let lines = work_pages::ending(model, ending, inner_width(body));
            // What is asked at its end stays in sight.
            let from = lines.len().saturating_sub(inner_height(body));
            page(model, frame, body, "Closing the work", lines, from);
        }
        Mode::Help(line) => {
            let lines = help(model, inner_width(body));
            page(model, frame, body, "Every key", lines, *line);
        }
        Mode::Messages(line) => {
            let lines = messages(model, inner_width(body));
            page(model, frame, body, "Messages, the last first", lines, *line);
        }
        Mode::Picture(picture) => {
            let (width, height) =
                (usize::from(body.width.saturating_sub(4)), usize::from(body.height.saturating_sub(2)));
            let (title, lines) = pictures::page(model, picture, width, height);
            framed(model, frame, body, &title, lines, picture.line);
        }
        Mode::Lineage(shown) => {
            let (title, lines) = lineage::page(model, shown, usize::from(body.width.saturating_sub(4)));
            framed(model, frame, body, &title, lines, shown.line);
        }
        Mode::Reveal(shown) => {
            let (width, height) =
                (usize::from(body.width.saturating_sub(4)), usize::from(body.height.saturating_sub(2)));
            let (title, lines) = reveal::page(model, shown, width, height);
            framed(model, frame, body, &title, lines, shown.line);
        }
        Mode::Lot(lot) => {
            let (title, lines) = lot_review::page(model, lot, usize::from(body.width.saturating_sub(4)));
            framed(model, frame, body, &title, lines, lot.line);
        }
    }
}

fn inner_width(body: Rect) -> usize {
    usize::from(body.width.min(100).saturating_sub(4))
}

fn inner_height(body: Rect) -> usize {
    usize::from(body.height.saturating_sub(2))
}

/// A framed page over the floor, from a line on; it stops where its end is in sight.
fn page(model: &Model, frame: &mut Frame<'_>, body: Rect, title: &str, lines: Vec<Line<'static>>, from: usize) {
    let width = body.width.min(100);
    let area = Rect { x: body.x + (body.width - width) / 2, width, ..body };
    framed(model, frame, area, title, lines, from);
}

/// A framed page as wide as its area and as high as it need be.
fn framed(model: &Model, frame: &mut Frame<'_>, body: Rect, title: &str, lines: Vec<Line<'static>>, from: usize) {
    let wanted = u16::try_from(lines.len() + 2).unwrap_or(u16::MAX);
    let height = wanted.min(body.height);
    let area = Rect { y: body.y + (body.height - height) / 2, height, ..body };
    let theme = model.looks.theme;
    let inside = usize::from(height.saturating_sub(2));
    let from = from.min(lines.len().saturating_sub(inside));
    let more = lines.len() > from + inside;
    let block = Block::bordered()
        .border_set(model.looks.marks.border)
        .border_style(theme.style(Meaning::Muted))
        .title(Line::styled(format!(" {title} "), theme.style(Meaning::Title)));
    let block = if more {
        block.title_bottom(Line::styled(format!(" {} more ", model.looks.marks.down), theme.style(Meaning::Strong)))
    } else {
        block
    };
    let inner = block.inner(area);
    frame.render_widget(Clear, area);
    frame.render_widget(block, area);
    let inner = Rect { x: inner.x + 1, width: inner.width.saturating_sub(2), ..inner };
    write_lines(frame, inner, lines.into_iter().skip(from).collect());
}

fn draw_find(model: &Model, frame: &mut Frame<'_>, body: Rect, find: &Find) {
    let theme = model.looks.theme;
    let marks = model.looks.marks;
    let width = inner_width(body);
    let mut lines = vec![Line::styled(
        format!("{}_", tail(&find.query, width.saturating_sub(1), marks)),
        theme.style(Meaning::Strong),
    )];
    let hits = find.hits(model);
    let inside = usize::from(body.height).saturating_sub(3).max(1);
    let first = find.chosen.saturating_sub(inside.saturating_sub(1));
    for (index, hit) in hits.iter().enumerate().skip(first).take(inside) {
        let name_width = (width / 2).min(34);
        lines.push(choice_line(
            model,
            index == find.chosen,
            &format!("{} {}", left(&hit.name, name_width, marks), hit.beside),
            width,
        ));
    }
    if hits.is_empty() {
        lines.push(Line::styled("nothing is called so", theme.style(Meaning::Muted)));
    }
    page(model, frame, body, "Find a barrel, tank, lot, trial, room, bottles or command", lines, 0);
}

pub(super) fn choice_line(model: &Model, chosen: bool, text: &str, width: usize) -> Line<'static> {
    let theme = model.looks.theme;
    let marks = model.looks.marks;
    let mark = if chosen { marks.chosen_left } else { ' ' };
    let style = if chosen { theme.selected(theme.style(Meaning::Base)) } else { theme.style(Meaning::Base) };
    Line::styled(left(&format!("{mark} {text}"), width, marks), style)
}

fn draw_source(model: &Model, frame: &mut Frame<'_>, body: Rect, choice: &SourceChoice) {
    let theme = model.looks.theme;
    let marks = model.looks.marks;
    let width = inner_width(body);
    let plan = &choice.plan;
    let title = match choice.purpose {
        For::Begin => "A round of this room: top from which vessel?",
        For::Change => "Go on topping from which vessel?",
    };
    let mut lines = vec![
        Line::styled(
            fit(
                &format!(
                    "{} barrels to top, about {}, carry {}",
                    plan.stops.len(),
                    litres(plan.expected),
                    litres(plan.carry.max(plan.expected))
                ),
                width,
                marks,
            ),
            theme.style(Meaning::Strong),
        ),
        Line::styled(
            fit(&format!("{} held and left out; {}", plan.held.len(), how_long(plan)), width, marks),
            theme.style(Meaning::Muted),
        ),
        Line::default(),
    ];
    // Of the page's lines the frame takes two; the vessels get what the plan and what is said of the chosen one leave. What
    // the round does to the lots stands below and is scrolled to.
    let said = said_of_chosen(model, choice, width);
    let inside = usize::from(body.height).saturating_sub(2 + lines.len() + said.len()).max(1);
    let first = choice.chosen.saturating_sub(inside - 1);
    for (index, &id) in plan.sources.iter().enumerate().skip(first).take(inside) {
        lines.push(choice_line(model, index == choice.chosen, &source_line(model, id), width));
    }
    lines.extend(said);
    lines.extend(drift::lines(model, plan, width));
    page(model, frame, body, title, lines, choice.line);
}

fn how_long(plan: &Plan) -> String {
    match plan.minutes() {
        Some(minutes) => format!("about {minutes} minutes, as the last rounds here went"),
        None => "no ended round here says how long it takes".to_owned(),
    }
}

/// Whether the chosen vessel holds enough, and how its wine differs from that of the barrels.
fn said_of_chosen(model: &Model, choice: &SourceChoice, width: usize) -> Vec<Line<'static>> {
    let marks = model.looks.marks;
    let Some(id) = choice.vessel().filter(|_| !choice.plan.stops.is_empty()) else { return Vec::new() };
    let (vessel, plan) = (model.state.vessels.get(id), &choice.plan);
    let (holds, label) = (vessel.volume(), &vessel.label);
    let (cover, meaning) = if holds >= plan.carry {
        (format!("{label} covers it all"), Meaning::Muted)
    } else if holds >= plan.expected {
        (format!("{label} covers what is expected, but not the {} to carry", litres(plan.carry)), Meaning::Muted)
    } else {
        let mut left = holds;
        let enough = plan.stops.iter().take_while(|stop| {
            let after = left.checked_sub(stop.expected);
            left = after.unwrap_or_default();
            after.is_some()
        });
        let short = litres(plan.expected.saturating_sub(holds));
        (format!("{label} is short by {short}: enough for about {} barrels", enough.count()), Meaning::Due)
    };
    let style = |meaning| model.looks.theme.style(meaning);
    let mut lines = vec![Line::default(), Line::styled(fit(&cover, width, marks), style(meaning))];
    if let Some(difference) = model.state.difference(id, &plan.stops) {
        let words = difference.words.join(", ");
        let name = |lot: &LotId| model.state.lots.get(*lot).label.to_string();
        let lots = match difference.lots.as_slice() {
            [only] => name(only),
            [first, rest @ ..] => format!("{} and {} more", name(first), rest.len()),
            [] => String::new(),
        };
        let warning = format!("Not the same {words} as {lots}");
        lines.push(Line::styled(fit(&warning, width, marks), style(Meaning::Over)));
    }
    lines
}

fn source_line(model: &Model, id: VesselId) -> String {
    let vessel = model.state.vessels.get(id);
    let (lot, colour) = vessel.lot.map_or_else(Default::default, |lot| {
        let lot = model.state.lots.get(lot);
        (lot.label.to_string(), lot.colour.to_string())
    });
    let now = if model.source() == Some(id) { ", in use now" } else { "" };
    let label = left(vessel.label.as_str(), 12, model.looks.marks);
    format!("{label} {:>9}  {colour:<5} {lot}{now}", litres(vessel.volume()))
}

fn summary(model: &Model, id: RoundId, width: usize) -> Vec<Line<'static>> {
    let theme = model.looks.theme;
    let marks = model.looks.marks;
    let round = model.state.rounds.get(id);
    let progress = model.state.progress(id, None, model.now);
    let line = |text: String, meaning| {
        wrap(&text, width, marks).into_iter().map(move |line| Line::styled(line, theme.style(meaning)))
    };
    let mut lines: Vec<Line<'static>> = Vec::new();
    lines.extend(line(format!("{}, begun {}", round.label, round.begun.show_clock()), Meaning::Strong));
    lines.extend(line(
        format!("{} of {} barrels topped with {}", progress.done, progress.of, litres(round.poured)),
        Meaning::Base,
    ));
    if let Some(source) = round.source.map(|source| model.state.vessels.get(source)) {
        lines.extend(line(format!("{} still holds {}", source.label, litres(source.volume())), Meaning::Base));
    }
    let not_done = progress.left().saturating_sub(progress.skipped + progress.in_part);
    if not_done > 0 {
        lines.extend(line(format!("{not_done} not done and not skipped: esc, then n, goes to the next"), Meaning::Due));
    }
    let skipped = round.skipped();
    if !skipped.is_empty() {
        lines.extend(line(format!("skipped: {}", names(model, skipped.into_iter())), Meaning::Due));
    }
    let in_part = round.in_part();
    if !in_part.is_empty() {
        lines.extend(line(format!("not brimful yet: {}", names(model, in_part.into_iter())), Meaning::Due));
    }
    let thirsty = round.thirsty();
    if !thirsty.is_empty() {
        let named: Vec<String> = thirsty
            .iter()
            .map(|&(id, volume)| format!("{} {}", model.state.vessels.get(id).label, litres(volume)))
            .collect();
        lines.extend(line(format!("drank too much, look for a leak: {}", named.join(", ")), Meaning::Over));
    }
    let leaks = model.state.leaks_in(round.room);
    for (id, leak) in leaks.iter().take(LEAKS_NAMED) {
        lines.extend(line(format!("{} {}", model.state.vessels.get(*id).label, drinks(leak)), Meaning::Over));
    }
    if leaks.len() > LEAKS_NAMED {
        let more = leaks.len() - LEAKS_NAMED;
        lines.extend(line(format!("and {more} more that drink too much, marked {WEEPS} on the floor"), Meaning::Over));
    }
    if progress.held > 0 {
        lines.extend(line(format!("{} held back", progress.held), Meaning::Held));
    }
    lines.push(Line::default());
    lines.extend(line("enter closes the round, esc goes on with it".to_owned(), Meaning::Muted));
    lines
}

fn names(model: &Model, vessels: impl Iterator<Item = VesselId>) -> String {
    let names: Vec<String> = vessels.map(|id| model.state.vessels.get(id).label.to_string()).collect();
    names.join(", ")
}

fn help(model: &Model, width: usize) -> Vec<Line<'static>> {
    let theme = model.looks.theme;
    let marks = model.looks.marks;
    let mut lines = Vec::new();
    for group in Group::ALL {
        if !lines.is_empty() {
            lines.push(Line::default());
        }
        lines.push(Line::styled(group.title(), theme.style(Meaning::Title)));
        // Lists and lines of words name their few keys at the bottom.
        let on_the_floor =
            |command: &&Command| command.places.iter().any(|place| matches!(place, Place::Floor | Place::Typing));
        let of_group = COMMANDS.iter().filter(|command| command.group == group).filter(on_the_floor);
        lines.extend(of_group.flat_map(|command| help_lines(model, command, width)));
    }
    let title = Line::styled("On the map of the bins (#)", theme.style(Meaning::Title));
    lines.extend([Line::default(), title]);
    let only_there = |command: &&Command| command.places == [Place::Bins];
    lines.extend(COMMANDS.iter().filter(only_there).flat_map(|command| help_lines(model, command, width)));
    lines.push(Line::default());
    let scanner = "A scanner is a keyboard: a label that begins with a digit or a capital, then enter, jumps to that \
                   barrel from anywhere on the floor. For any other label press / first. While a round is under way a \
                   plain number below 100 is litres.";
    lines.extend(wrap(scanner, width, marks).into_iter().map(|line| Line::styled(line, theme.style(Meaning::Base))));
    lines
}

/// A command with its keys; muted where it cannot be given now.
fn help_lines(model: &Model, command: &Command, width: usize) -> Vec<Line<'static>> {
    let theme = model.looks.theme;
    let marks = model.looks.marks;
    let keys: Vec<String> = command.keys.iter().map(|&key| key_name(key)).collect();
    let hindered = (command.hindered)(model).is_some();
    let meaning = if hindered { Meaning::Unavailable } else { Meaning::Base };
    let line = |(index, line): (usize, String)| {
        let key = if index == 0 { keys.join(" ") } else { String::new() };
        let key = Span::styled(left(&key, 14, marks), key_style(model, hindered));
        Line::from(vec![key, Span::styled(line, theme.style(meaning))])
    };
    wrap(command.help, width.saturating_sub(14), marks).into_iter().enumerate().map(line).collect()
}

fn key_style(model: &Model, hindered: bool) -> Style {
    model.looks.theme.style(if hindered { Meaning::Unavailable } else { Meaning::Key })
}

fn messages(model: &Model, width: usize) -> Vec<Line<'static>> {
    let theme = model.looks.theme;
    if model.said.is_empty() {
        return vec![Line::styled("nothing was said yet", theme.style(Meaning::Muted))];
    }
    let mut lines = Vec::new();
    for said in model.said.iter().rev() {
        let meaning = match said.tone {
            Tone::Done => Meaning::Base,
            Tone::Notice => Meaning::Warning,
            Tone::Refused => Meaning::Error,
        };
        let text = format!("{}  {}", said.at.show_time(), said.text);
        for line in wrap(&text, width, model.looks.marks) {
            lines.push(Line::styled(line, theme.style(meaning)));
        }
    }
    lines
}

fn litres(volume: Volume) -> String {
    volume.show(VolumeUnit::Litre, 1)
}
