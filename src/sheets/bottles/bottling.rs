//! The order of a bottling: what is filled into what, the dry goods, the checklist, and room for every hour's checks.

use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{LotId, State};
use crate::cellar::jobs::bottles::bottling::plan::{BottlingPlan, DryGood};
use crate::cellar::jobs::bottles::bottling::size;
use crate::cellar::jobs::finish::checklist::{Check, Standing};
use crate::reckon::bottling::{fill_point_mm, tolerance};
use crate::reckon::label_share::Rules;
use crate::sheets::core::document::{Block, Document, Kind, Line, Table};
use crate::told::hazard::Caution;
use crate::units::{Volume, by_count, counted, exact_millilitres, figure_to, litres, plural, show_percent};

/// How warm wine is to be for the fill that a bottle is made for, °C (EU and US figures are given at it).
const FILL_CELSIUS: f64 = 20.0;

/// The order of a bottling at a moment, with room for so many hours. Without a code the day's is proposed.
#[must_use]
pub fn sheet(state: &State, plan: &BottlingPlan, code: Option<&Label>, hours: u8, at: Moment) -> Document {
    let vessel = state.vessels.get(plan.vessel);
    let lot = plan.lot.map_or("no lot", |lot| state.lots.get(lot).label.as_str());
    let code = code.cloned().or_else(|| state.new_lot_code(at));
    let code = code.map_or_else(|| "________________".to_owned(), |code| code.to_string());
    let mut lead = vec![
        format!(
            "{}. Lot {lot}, {} of {} in {}.",
            at.show_date(),
            litres(plan.volume),
            litres(plan.holds),
            vessel.label
        ),
        format!("Lot code on the bottles: {code}"),
        format!("{}; {}.", plan.bottles_words(), plan.loss_words()),
    ];
    if let Some(hold) = &vessel.held {
        lead.push(format!("HELD: {}. Not to be bottled until it is freed.", hold.why.as_str().trim_end_matches('.')));
    }
    let mut blocks = vec![Block::Heading("Dry goods".to_owned()), Block::Table(goods(plan))];
    blocks.extend(plan.lot.into_iter().flat_map(|lot| checklist(state, lot)));
    blocks.push(Block::NewPage);
    // The sheets part at the line: each says what it is of.
    blocks.push(Block::Heading(format!("Before the first bottle of {}, lot code {code}", vessel.label)));
    blocks.push(Block::Table(before()));
    blocks.push(Block::Heading("Every hour, and after every stop".to_owned()));
    blocks.push(Block::Words(fill_words(plan.asked.bottle)));
    blocks.push(Block::Table(hourly(hours)));
    blocks.extend(by_hand().map(Block::Words));
    let cautions = Document::cautions(&Caution::of_kind("bottled"));
    Document { title: format!("Bottling order: {}", vessel.label), lead, cautions, blocks }
}

fn goods(plan: &BottlingPlan) -> Table {
    let spare = show_percent(plan.asked.packing.spare);
    let wanted = format!("wanted, {spare}% spare");
    let mut table = Table::with(&[
        ("there", Kind::Box),
        ("what", Kind::Words),
        (&wanted, Kind::Numbers),
        ("maker, batch", Kind::Room(20)),
        ("used", Kind::Room(8)),
        ("broken", Kind::Room(8)),
    ]);
    let bottle = size(plan.asked.bottle);
    // Bottles come in many sizes.
    let named = |what: DryGood| match what {
        DryGood::Bottles => format!("{} of {bottle}", plural(what.word())),
        _ => plural(what.word()),
    };
    let lines = plan.dry_goods().into_iter().map(|(what, wanted)| Line::Cells(vec![named(what), wanted.to_string()]));
    table.lines.extend(lines);
    table
}

/// How the lot stands to its checklist: what is not met in a table, the rest counted.
fn checklist(state: &State, lot: LotId) -> Vec<Block> {
    let checks = state.checklist(lot);
    let met = checks.iter().filter(|check| check.standing == Standing::Met).count();
    let verdict = state.bottling_verdict(lot, &checks);
    let mut table = Table::with(&[
        ("settled", Kind::Box),
        ("item", Kind::Words),
        ("standing", Kind::Words),
        ("found or said", Kind::Words),
    ]);
    let line = |check: &Check| {
        let optional = if check.required { "" } else { ", optional" };
        let standing = format!("{}{optional}", check.standing.word());
        Line::Cells(vec![check.item.to_string(), standing, check.words.clone().unwrap_or_default()])
    };
    table.lines.extend(checks.iter().filter(|check| check.standing != Standing::Met).map(line));
    let heading = Block::Heading("Checklist".to_owned());
    let words = Block::Words(format!(
        "{met} of {} {} met. {verdict}",
        counted(checks.len(), "item"),
        by_count(met, "is", "are")
    ));
    if table.lines.is_empty() { vec![heading, words] } else { vec![heading, words, Block::Table(table)] }
}

/// What is looked at before the line runs (common practice).
fn before() -> Table {
    let mut table =
        Table::with(&[("done", Kind::Box), ("what", Kind::Words), ("found", Kind::Room(16)), ("by", Kind::Room(8))]);
    let steps = [
        "line cleaned and sterilised, rinsed to neutral",
        "filter whole: bubble point or pressure hold",
        "inert gas: line and receiving bowl purged, oxygen in the room measured",
        "right wine: vessel, label and code read aloud against this order",
        "first bottles run to waste until the wine is itself",
        "closure: depth, vacuum or torque of the first bottles",
        "sample of the first, middle and last bottles kept",
    ];
    table.lines.extend(steps.into_iter().map(|step| Line::Cells(vec![step.to_owned()])));
    table
}

/// How full a bottle is to be and by how much one may differ. The fill point is known for 750 mL only.
fn fill_words(bottle: Volume) -> String {
    let within = |rules| exact_millilitres(tolerance(bottle, rules));
    let point = if bottle == Volume::from_ml(750) {
        format!(
            " At {FILL_CELSIUS} °C the wine stands {} mm below the top; the bottle's own mark goes before that.",
            figure_to(1, fill_point_mm(FILL_CELSIUS))
        )
    } else {
        String::new()
    };
    format!(
        "Weigh or measure at least four bottles of {}. This house's check: none more than {} short and on average not short (the batch test is \
         Directive 76/211/EEC, Annex II); none more than {} off, and about as many over as under (27 CFR 24.255); short bottles are not made \
         good by over-full ones (27 CFR 4.37).{point} Dissolved oxygen in the bottle: at most 1 mg/L, half of that wanted (common practice).",
        size(bottle),
        within(Rules::Eu),
        within(Rules::Us)
    )
}

fn hourly(hours: u8) -> Table {
    let mut table = Table::with(&[
        ("hour", Kind::Numbers),
        ("time", Kind::Room(6)),
        ("bottles", Kind::Room(8)),
        ("fill mL, of four", Kind::Room(18)),
        ("oxygen mg/L", Kind::Room(10)),
        ("closure", Kind::Room(9)),
        ("stops, and why", Kind::Room(16)),
        ("initials", Kind::Room(8)),
    ]);
    table.lines.extend((1..=hours).map(|hour| Line::Cells(vec![hour.to_string()])));
    table
}

fn by_hand() -> [String; 2] {
    [
        "Began ________  ended ________  bottles filled ________  broken ________  kept ________  litres lost ________"
            .to_owned(),
        "Line by ________________  checked by ________________  signed ________________".to_owned(),
    ]
}
