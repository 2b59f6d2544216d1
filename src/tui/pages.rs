//! What lies on top of the floor: find box, choice of a vessel, summary.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::Line;
use ratatui::widgets::{Block, Clear};

use crate::cellar::plan::{Plan, Stop};
use crate::cellar::state::{LotId, RoundId, VesselId};
use crate::tui::bench;
use crate::tui::bench_tasting;
use crate::tui::bottling;
use crate::tui::card::drinks;
use crate::tui::checklist;
use crate::tui::colouring::WEEPS;
use crate::tui::discrepancies;
use crate::tui::dosing;
use crate::tui::draw::write_lines;
use crate::tui::drift;
use crate::tui::fill;
use crate::tui::fining;
use crate::tui::model::{Mode, Model};
use crate::tui::moving;
use crate::tui::source::{For, SourceChoice};
use crate::tui::text::{fit, left, wrap};
use crate::tui::theme::Meaning;
use crate::tui::trial;
use crate::tui::trial::reveal;
use crate::tui::work_pages;
use crate::units::{Volume, VolumeUnit, counted};

/// So many leaks a summary names, the worst: it must fit a small screen.
const LEAKS_NAMED: usize = 6;
/// Wider than so many columns no page of words is drawn.
const WIDEST: u16 = 100;

/// A page as it is laid out in the room that it has.
struct Page {
    /// Where it lies.
    area: Rect,
    title: String,
    lines: Vec<Line<'static>>,
    /// The line that is asked for at its top.
    from: usize,
}

impl Page {
    /// A page as wide as its room.
    fn wide(room: Rect, title: String, lines: Vec<Line<'static>>, from: usize) -> Page {
        let wanted = u16::try_from(lines.len() + 2).unwrap_or(u16::MAX);
        let height = wanted.min(room.height);
        let area = Rect { y: room.y + (room.height - height) / 2, height, ..room };
        Page { area, title, lines, from }
    }

    /// A page no wider than is read with ease.
    fn narrow(room: Rect, title: impl Into<String>, lines: Vec<Line<'static>>, from: usize) -> Page {
        let width = room.width.min(WIDEST);
        Page::wide(Rect { x: room.x + (room.width - width) / 2, width, ..room }, title.into(), lines, from)
    }

    /// The last line that it can be shown from: its end is in sight then.
    fn last_from(&self) -> usize {
        self.lines.len().saturating_sub(inner_height(self.area))
    }

    fn draw(self, model: &Model, frame: &mut Frame<'_>) {
        let theme = model.looks.theme;
        let from = self.from.min(self.last_from());
        let block = Block::bordered()
            .border_set(model.looks.marks.border)
            .border_style(theme.style(Meaning::Muted))
            .title(Line::styled(format!(" {} ", self.title), theme.style(Meaning::Title)));
        let more = |is_there: bool, arrow: char| {
            let text = if is_there { format!(" {arrow} more ") } else { String::new() };
            Line::styled(text, theme.style(Meaning::Strong))
        };
        let block = block
            .title_top(more(from > 0, model.looks.marks.up).right_aligned())
            .title_bottom(more(from < self.last_from(), model.looks.marks.down));
        let inner = block.inner(self.area);
        frame.render_widget(Clear, self.area);
        frame.render_widget(block, self.area);
        let inner = Rect { x: inner.x + 1, width: inner.width.saturating_sub(2), ..inner };
        write_lines(frame, inner, self.lines.into_iter().skip(from).collect());
    }
}

/// Draws what lies on top, if anything does.
pub(super) fn draw(model: &Model, frame: &mut Frame<'_>, body: Rect) {
    if let Some(page) = laid_out(model, body) {
        page.draw(model, frame);
    }
}

/// The last line that what lies on top can be shown from.
pub(super) fn last_from(model: &Model, body: Rect) -> usize {
    laid_out(model, body).map_or(0, |page| page.last_from())
}

/// What lies on top, if anything does.
fn laid_out(model: &Model, body: Rect) -> Option<Page> {
    let (width, height) = (inner_width(body), inner_height(body));
    // Drawings take all the width there is.
    let wide = usize::from(body.width.saturating_sub(4));
    let page = match &model.mode {
        Mode::Floor | Mode::Bench | Mode::Rating(_) => return None,
        Mode::AtBench(chosen) => Page::narrow(body, "The bench", bench::lines(model, chosen, width, height), 0),
        Mode::Trial(shown) => Page::narrow(body, trial::title(shown), trial::lines(model, shown, width, height), 0),
        Mode::Opened(flight, line) => {
            let lines = bench_tasting::opened_lines(model, flight, width);
            Page::narrow(body, "Revealed, the best score first", lines, *line)
        }
        Mode::Source(choice) => {
            Page::narrow(body, source_title(choice.purpose), sources(model, choice, width, height), choice.line)
        }
        Mode::Summary(round) => Page::narrow(body, "Closing the round", summary(model, *round, width), 0),
        Mode::Works(works) => Page::narrow(body, "Works", work_pages::open_works(model, works, width, height), 0),
        Mode::Tank(choice) => {
            let title = format!("Rack {} into which tank?", model.state.lots.get(choice.lot).label);
            Page::narrow(body, title, work_pages::tanks(model, choice, width, height), choice.line)
        }
        Mode::Dosing(doses) => {
            Page::narrow(body, dosing::title(model, doses), dosing::lines(model, doses, width), doses.line)
        }
        Mode::Fill(shown) => {
            let (title, lines, from) = fill::page(model, shown, width, height);
            Page::narrow(body, title, lines, from)
        }
        Mode::Ending(ending) => {
            Page::narrow(body, "Closing the work", work_pages::ending(model, ending, width), ending.line)
        }
        Mode::Reveal(shown) => {
            let (title, lines) = reveal::page(model, shown, wide, height);
            Page::wide(body, title, lines, shown.line)
        }
        Mode::Agents(choice) => {
            let title = format!("Try which agent in the wine of {}?", choice.vessel);
            Page::narrow(body, title, fining::agents(model, choice, width, height), 0)
        }
        Mode::Fining(shown) => Page::narrow(body, fining::title(shown), fining::lines(model, shown, width, height), 0),
        Mode::Move(shown) => Page::narrow(body, moving::title(shown), moving::lines(model, shown, width, height), 0),
        Mode::Checklist(shown) => {
            Page::narrow(body, checklist::title(model, shown), checklist::lines(model, shown, width, height), 0)
        }
        Mode::Bottling(shown) => {
            let (lines, from) = bottling::lines(model, shown, width, height);
            Page::narrow(body, bottling::title(model, shown), lines, from)
        }
        Mode::Discrepancies(shown) => {
            let (title, lines, from) = discrepancies::page(model, shown, width, height);
            Page::narrow(body, title, lines, from)
        }
    };
    Some(page)
}

fn inner_width(body: Rect) -> usize {
    usize::from(body.width.min(WIDEST).saturating_sub(4))
}

fn inner_height(body: Rect) -> usize {
    usize::from(body.height.saturating_sub(2))
}

pub(super) fn choice_line(model: &Model, chosen: bool, text: &str, width: usize) -> Line<'static> {
    let theme = model.looks.theme;
    let marks = model.looks.marks;
    let mark = if chosen { marks.chosen_left } else { ' ' };
    let style = if chosen { theme.selected(theme.style(Meaning::Base)) } else { theme.style(Meaning::Base) };
    Line::styled(left(&format!("{mark} {text}"), width, marks), style)
}

const fn source_title(purpose: For) -> &'static str {
    match purpose {
        For::Begin => "A round of this room: top from which vessel?",
        For::Change => "Go on topping from which vessel?",
    }
}

/// The vessels to top from with what the round takes, for so many columns and rows.
fn sources(model: &Model, choice: &SourceChoice, width: usize, height: usize) -> Vec<Line<'static>> {
    let theme = model.looks.theme;
    let marks = model.looks.marks;
    let plan = &choice.plan;
    let mut lines = vec![
        Line::styled(
            fit(
                &format!(
                    "{} to top, about {}, carry {}",
                    counted(plan.stops.len(), "barrel"),
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
    ];
    let unplaced = model.state.unplaced_words(plan).map_or_else(Vec::new, |words| wrap(&words, width, marks));
    lines.extend(unplaced.into_iter().map(|line| Line::styled(line, theme.style(Meaning::Base))));
    let odd = model.state.odd_words(&plan.odd).map_or_else(Vec::new, |words| wrap(&words, width, marks));
    lines.extend(odd.into_iter().map(|line| Line::styled(line, theme.style(Meaning::Warning))));
    lines.push(Line::default());
    // The vessels get what the plan and what is said of the chosen one leave. What the round does to the lots stands below
    // and is scrolled to.
    let said = said_of_chosen(model, choice, width);
    let inside = height.saturating_sub(lines.len() + said.len()).max(1);
    let first = choice.chosen.saturating_sub(inside - 1);
    for (index, &id) in choice.sources.iter().enumerate().skip(first).take(inside) {
        lines.push(choice_line(model, index == choice.chosen, &source_line(model, id), width));
    }
    lines.extend(said);
    lines.extend(drift::lines(model, plan, width));
    lines
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
    let plan = &choice.plan;
    let label = &model.state.vessels.get(id).label;
    let draw = plan.draws.iter().find(|draw| draw.source == id);
    let alone = draw.filter(|draw| draw.barrels == plan.stops.len());
    let (cover, meaning) = match (alone, draw) {
        (Some(draw), _) if draw.holds >= draw.carry => (format!("{label} covers it all"), Meaning::Muted),
        (Some(draw), _) => {
            let carry = litres(draw.carry);
            (format!("{label} covers what is expected, but not the {carry} to carry"), Meaning::Muted)
        }
        (None, Some(_)) => (drift::topped_from(model, plan).unwrap_or_default(), Meaning::Due),
        _ if choice.declares(model) => {
            (format!("{label} lies in a row: it becomes a topping vessel and is topped no more"), Meaning::Warning)
        }
        (None, None) => (format!("{label} tops none of these barrels by the plan"), Meaning::Due),
    };
    let style = |meaning| model.looks.theme.style(meaning);
    let mut lines = vec![Line::default()];
    lines.extend(wrap(&cover, width, marks).into_iter().map(|line| Line::styled(line, style(meaning))));
    let without = plan.stops.iter().filter(|stop| stop.from.is_none()).count();
    if without > 0 {
        let text = format!("No vessel of their colour holds enough for {without} of them, {}", litres(plan.uncovered));
        lines.push(Line::styled(fit(&text, width, marks), style(Meaning::Over)));
    }
    if let Some(why) = model.state.suspect_words(model.state.vessels.get(id)) {
        let suspect = wrap(&format!("{label} is suspect: {why}"), width, marks).into_iter();
        lines.extend(suspect.map(|line| Line::styled(line, style(Meaning::Warning))));
    }
    // How its wine differs is said of the barrels that it tops; of one that tops none, of all.
    let its: Vec<Stop> = plan.stops.iter().filter(|stop| stop.from == Some(id)).cloned().collect();
    if let Some(difference) = model.state.difference(id, if its.is_empty() { &plan.stops } else { &its }) {
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
    let suspect = if model.state.is_suspect(vessel) { ", suspect" } else { "" };
    let label = left(vessel.label.as_str(), 12, model.looks.marks);
    format!("{label} {:>9}  {colour:<5} {lot}{now}{suspect}", litres(vessel.volume()))
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
        format!("{} of {} topped with {}", progress.done, counted(progress.of, "barrel"), litres(round.poured)),
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
        lines.extend(line(format!("took far more than the others, look at them: {}", named.join(", ")), Meaning::Over));
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

fn litres(volume: Volume) -> String {
    volume.show(VolumeUnit::Litre, 1)
}
