//! The page of a barrel-down as it is drawn: what is asked, how near the choice comes, and which barrels it is.

use ratatui::text::Line;

use super::{FillPage, Found};
use crate::cellar::views::wood::fill::{FillPlan, FillWish, Granted, KindOfWood, PreparedFill};
use crate::tui::core::choice::choice_line;
use crate::tui::core::draw::paragraph;
use crate::tui::core::model::Model;
use crate::tui::core::text::left;
use crate::tui::core::theme::Meaning;
use crate::units::{Volume, counted, percent, poured};

/// Columns of what became of a wish, at the right of it.
const BECAME: usize = 40;
/// What is said while nothing is written.
const EXAMPLES: &str = "a wish a line, enter searches: new>=30%, forest:Allier=50%, cooper:NAME<=900L, seasoning:24+>=40%, \
                        or: 12 barrels, 2500 L, in ROOM, into LOT, as in LOT";

/// The lines of the page.
pub(super) fn lines(model: &Model, page: &FillPage, width: usize) -> Vec<Line<'static>> {
    let mut lines = paragraph(model, &at_hand(model, page), width, Meaning::Strong);
    lines.extend((0..page.lines.len()).map(|at| asked_line(model, page, at, width)));
    if page.lines.iter().all(String::is_empty) {
        lines.extend(paragraph(model, EXAMPLES, width, Meaning::Muted));
    }
    lines.push(Line::default());
    if page.plan().is_some() && page.is_changed() {
        lines.extend(paragraph(
            model,
            "what is written has changed since: enter searches anew",
            width,
            Meaning::Warning,
        ));
    }
    lines.extend(found(model, page, width));
    lines
}

/// The line on which the label of the work is written.
pub(super) fn name_line(model: &Model, name: &str, width: usize) -> Line<'static> {
    model.question_line(" Begin it as a work called: ", name, width)
}

/// What the tank holds, and the empties that may take it.
fn at_hand(model: &Model, page: &FillPage) -> String {
    let Some(tank) = model.state.vessels.by_label(page.tank.as_str()) else { return String::new() };
    let lot = tank.lot.map(|lot| model.state.lots.get(lot));
    let of = lot.map_or_else(String::new, |lot| format!(" of {}, {}", lot.label, lot.colour));
    let holds = format!("{}{of}", poured(tank.volume()));
    let Some(prepared) = page.prepared() else { return holds };
    let promised = match prepared.promised {
        Volume::ZERO => String::new(),
        promised => format!(", of which open works take {}", poured(promised)),
    };
    let passed = prepared.passed_over.words().map_or_else(String::new, |words| format!("; passed over: {words}"));
    format!("{holds}{promised}; {} empties at hand{passed}", prepared.empties.len())
}

/// A line that is asked, and what became of it where it is a wish.
fn asked_line(model: &Model, page: &FillPage, at: usize, width: usize) -> Line<'static> {
    let marks = model.looks.marks;
    let (text, chosen) = (&page.lines[at], page.chosen == at && page.name.is_none());
    // What is said of an earlier text would be wrong of this one.
    let granted = page.plan().zip(text.parse::<FillWish>().ok());
    let granted = granted.and_then(|(plan, wish)| Some((plan, plan.wishes.iter().find(|it| it.wish == wish)?)));
    let became = granted.map_or_else(String::new, |(plan, granted)| became(granted, plan.answer.placed));
    let text_width = width.saturating_sub(BECAME + 3);
    let text = if chosen { model.written(text, text_width.saturating_sub(1)) } else { text.clone() };
    choice_line(model, chosen, &format!("{} {became}", left(&text, text_width, marks)), width)
}

/// What lies in a wish's kind of wood: the share, the litres, and by how much that misses what was asked.
fn became(granted: &Granted, placed: Volume) -> String {
    let met = if granted.is_met() {
        "met".to_owned()
    } else if granted.volume < granted.wanted {
        format!("short by {}", poured(granted.missed))
    } else {
        format!("over by {}", poured(granted.missed))
    };
    format!("{:>7} {:>10}  {met}", percent(1, share(granted.volume, placed)), poured(granted.volume))
}

fn found(model: &Model, page: &FillPage, width: usize) -> Vec<Line<'static>> {
    let ellipsis = model.looks.marks.ellipsis;
    match &page.found {
        Found::Stale => Vec::new(),
        Found::Refused(why) => paragraph(model, why, width, Meaning::Error),
        Found::Working(prepared, best) => {
            let text = format!("searching{ellipsis} esc stops with the best so far");
            let mut lines = paragraph(model, &text, width, Meaning::Warning);
            lines.extend(best.iter().flat_map(|best| plan(model, prepared, best, width)));
            lines
        }
        Found::Plan(prepared, found) => plan(model, prepared, found, width),
    }
}

fn plan(model: &Model, prepared: &PreparedFill, plan: &FillPlan, width: usize) -> Vec<Line<'static>> {
    let mut lines = Vec::new();
    let mut say = |text: &str, meaning| lines.extend(paragraph(model, text, width, meaning));
    let barrels = counted(plan.barrels.len(), "barrel");
    let tank = model.state.vessels.get(prepared.tank);
    let (placed, stays) = (poured(plan.answer.placed), poured(tank.volume().saturating_sub(plan.answer.placed)));
    say(&format!("{barrels}, {placed}, each filled full; {stays} stay in {}", tank.label), Meaning::Strong);
    let all_met = plan.wishes.iter().all(Granted::is_met);
    if let Some(verdict) = plan.verdict() {
        say(&verdict, if all_met { Meaning::Fine } else { Meaning::Due });
    }
    for (wish, why) in plan.wishes.iter().filter_map(|granted| Some((&granted.wish, granted.why.as_ref()?))) {
        say(&format!("{wish}: {why}"), Meaning::Due);
    }
    if let Some(into) = prepared.into {
        say(&format!("in the barrels it is {}", model.state.lots.get(into).label), Meaning::Base);
    }
    if let Some(care) = model.state.care_wanted(&plan.barrels, model.now) {
        say(&format!("before the wine comes in, by the book: {care}"), Meaning::Warning);
    }
    for (quality, kinds) in plan.mix(&model.state) {
        let kinds: Vec<String> = kinds.iter().map(|kind| kind_words(kind, plan.answer.placed)).collect();
        say(&format!("{quality}: {}", kinds.join(", ")), Meaning::Base);
    }
    let labels: Vec<&str> = plan.barrels.iter().map(|&id| model.state.vessels.get(id).label.as_str()).collect();
    say(&format!("as they are walked: {}", labels.join(", ")), Meaning::Muted);
    lines
}

/// Barrels that are alike in a quality: the word, their share of what is placed, their number.
fn kind_words(kind: &KindOfWood, placed: Volume) -> String {
    let word = kind.word.as_deref().unwrap_or("not known");
    format!("{word} {} ({})", percent(1, share(kind.volume, placed)), kind.barrels)
}

/// A part of a whole; of nothing it is nothing.
fn share(part: Volume, whole: Volume) -> f64 {
    if whole.is_zero() { 0.0 } else { part.as_litres() / whole.as_litres() }
}
