//! The forms of the chapter bottles: what is filled, laid down, taken out and counted.

use serde_json::Value;

use super::entry::{Body, Entry, Own, Spread, plain};
use super::form::{AtDesk, Field, Form, OnScreen};
use super::tests::TASTE;
use super::words::SOME_VOLUME;
use crate::cellar::core::label::Label;
use crate::cellar::core::state::State;
use crate::cellar::jobs::bottles::bottling::store::BinRow;
use crate::cellar::views::floor::written::bins::bin_rows;

/// The forms of this chapter.
pub(super) const FORMS: &[&Form] =
    &[&BOTTLED, &STORE_LAID_OUT, &LAID_AWAY, &BOTTLES_OUT, &BOTTLE_TASTED, &BOTTLES_COUNTED];

/// Bottles were filled.
pub static BOTTLED: Form = Form {
    kind: "bottled",
    title: "Fill bottles",
    help: "Books bottles that were filled from a vessel, under the label of a bottling run. A new label begins a run.",
    also: &["bottle", "bottling", "run", "fill"],
    says: "{bottles} bottles of {bottle_ul} filled from {vessel}: run {run}, lot code {lot_code}[, {loss_ul} lost][{empties=yes:, nothing is left in it}]",
    fields: &[
        Field::must("vessel", "vessel", Entry::Vessel, "the vessel that is bottled"),
        Field::must("run", "run", Entry::Label, "the run; a new label begins one"),
        Field::must("bottles", "bottles", Entry::Count, "how many"),
        Field::must("lot_code", "lot code", Entry::Label, "what stands on them"),
        Field::usual("bottle_ul", "bottle", Entry::Millilitres, "750 mL", "what each holds, in mL"),
        Field::may("loss_ul", "loss", Entry::Own(&SOME_VOLUME), "what was lost"),
        Field::usual("empties", "empties", Entry::YesNo, "no", "whether nothing is left in the vessel"),
        Field::again("closure", "closure", Entry::Label, "what closes them"),
        Field::may("minutes", "minutes", Entry::Count, "for how long the line ran"),
        Field::may("oxygen_mg_l", "oxygen", Entry::Number, "dissolved in the bottle, mg/L"),
        Field::again("materials", "dry goods", Entry::Own(&DRY_GOODS), "glass, closures, labels; a batch behind ="),
        Field::told("fills_ul", "fills", Entry::Own(&FILLS)),
    ],
    desk: AtDesk::Command("bottle fill"),
    example: "T1 'S24 Hare Path' 240 LS24A --loss 2 --closure cork --despite 'a trial run'",
    screen: OnScreen::Elsewhere("the page Bottle this vessel"),
};

/// A store for bottles and its bins.
pub static STORE_LAID_OUT: Form = Form {
    kind: "store_laid_out",
    title: "Lay out a store of bottles",
    help: "Lays out the rows and bins of a store. Rows that it has and that are not named stay as they are.",
    also: &["store", "bins", "pallets", "bottle store"],
    says: "store {store}: {rows}",
    fields: &[
        Field::must("store", "store", Entry::Label, "what it is called"),
        Field::must("rows", "rows", Entry::Spread(&BIN_ROWS), "like A-D, 12 bins; M, 2 bins"),
    ],
    desk: AtDesk::Command("store"),
    example: "annex 'A-D, 12 bins; M, 2 bins'",
    screen: OnScreen::Form,
};

/// Bottles lie at a place.
pub static LAID_AWAY: Form = Form {
    kind: "laid_away",
    title: "Lay down bottles",
    help: "Lays bottles down in a bin, moves them to another, or sets from when on they may go.",
    also: &["lay down", "lay away", "bin", "stack", "release", "move bottles"],
    says: "{bottles} bottles of {run}[ ({lot_code})] laid down in {place}[, from {from}][, may go from {release} on]",
    fields: &[
        Field::must("run", "run", Entry::Run, "the bottling run"),
        Field::must("bottles", "bottles", Entry::Count, "how many"),
        Field::must("place", "place", Entry::Label, "like store/A-03, pallet 12"),
        Field::may("from", "from", Entry::Label, "where they lay; else they come from the line"),
        Field::may("lot_code", "lot code", Entry::Label, "which; else what was filled first"),
        Field::may("release", "release", Entry::DayToCome, "from when on they may go, like 1 May 2029"),
    ],
    desk: AtDesk::Command("bottle lay-down"),
    example: "'P23 Stony Acre' 300 store/B-06 --release 2027-10-01",
    screen: OnScreen::Elsewhere("the page Bottles in their bins"),
};

/// Bottles are out.
pub static BOTTLES_OUT: Form = Form {
    kind: "bottles_out",
    title: "Take out bottles",
    help: "Takes bottles out of the stock: sold, shipped, broken, kept as library stock, sampled.",
    also: &["sell", "ship", "dispatch", "broken", "library", "take out"],
    says: "{bottles} bottles of {run}[ ({lot_code})] out[ from {from}]: {why}[, to {to}]",
    fields: &[
        Field::must("run", "run", Entry::Run, "the bottling run"),
        Field::must("bottles", "bottles", Entry::Count, "how many"),
        Field::must("why", "why", Entry::Text, "sold, broken, library, sampled"),
        Field::may("to", "to", Entry::Text, "to whom"),
        Field::may("from", "from", Entry::Label, "from which place; else from anywhere"),
        Field::may("lot_code", "lot code", Entry::Label, "which; else what was filled first"),
    ],
    desk: AtDesk::Command("bottle out"),
    example: "'P23 Stony Acre' 12 sold --to 'the shop in the village'",
    screen: OnScreen::Elsewhere("the page Bottles in their bins"),
};

/// A bottle was opened and tasted.
pub static BOTTLE_TASTED: Form = Form {
    kind: "bottle_tasted",
    title: "Taste a bottle",
    help: "Keeps the taste of a bottle. The bottle is out of the stock by that.",
    also: &["taste a bottle", "open", "library tasting"],
    says: "a bottle of {run}[ ({lot_code})] tasted: {taste}",
    fields: &[
        Field::must("run", "run", Entry::Run, "the bottling run"),
        Field::must("taste", "words", Entry::Spread(&TASTE), "like 15.5 pl ta, still closed"),
        Field::may("lot_code", "lot code", Entry::Label, "what stands on it"),
        Field::may("from", "from", Entry::Label, "where it was taken from"),
        Field::usual("bottles", "opened", Entry::Count, "1", "how many were opened for it"),
    ],
    desk: AtDesk::Elsewhere("bottle taste"),
    example: "",
    screen: OnScreen::Elsewhere("the page Bottles in their bins"),
};

/// The book is put right by a count of bottles.
pub static BOTTLES_COUNTED: Form = Form {
    kind: "bottles_counted",
    title: "Count bottles",
    help: "Puts the book right by a count of the bottles of a run at a place: missing ones are out, others are found.",
    also: &["count bottles", "stocktake", "inventory"],
    says: "{bottles} bottles of {run}[ ({lot_code})] counted[ in {place}]: {why}",
    fields: &[
        Field::must("run", "run", Entry::Run, "the bottling run"),
        Field::must("bottles", "bottles", Entry::Count, "how many lie there"),
        Field::must("why", "why", Entry::Text, "why the book is put right"),
        Field::may("place", "place", Entry::Label, "where; else those that are not laid down"),
        Field::may("lot_code", "lot code", Entry::Label, "which; else all that lie there"),
    ],
    desk: AtDesk::Command("bottle count"),
    example: "'P23 Stony Acre' 1160 'counted at the line'",
    screen: OnScreen::Form,
};

/// The rows of a store in a line, with those that it has and the line does not name.
static BIN_ROWS: Spread = Spread { write: write_rows, say: say_rows };

fn write_rows(text: &str, body: &mut Body, state: &State) -> Result<(), String> {
    let said = bin_rows(text).map_err(|error| error.to_string())?;
    let store = body.get("store").and_then(Value::as_str).and_then(|store| state.stores.by_label(store));
    let there = store.map_or(&[][..], |store| &store.rows);
    let named = |row: &BinRow| said.iter().find(|it| it.row == row.row);
    let kept = there.iter().map(|row| named(row).unwrap_or(row));
    let new = said.iter().filter(|row| there.iter().all(|old| old.row != row.row));
    let rows = serde_json::to_value(kept.chain(new).collect::<Vec<_>>()).map_err(|error| error.to_string())?;
    body.insert("rows".to_owned(), rows);
    Ok(())
}

fn say_rows(body: &Body) -> String {
    let rows = body.get("rows").cloned().unwrap_or_default();
    let rows: Vec<BinRow> = serde_json::from_value(rows).unwrap_or_default();
    rows.iter().map(|row| format!("{}, {} bins", row.row, row.bins)).collect::<Vec<_>>().join("; ")
}

/// What was used besides the wine: `glass=G 88, cork`.
static DRY_GOODS: Own = Own { read: |text, _| read_goods(text), say: say_goods };

fn read_goods(text: &str) -> Result<Value, String> {
    let good = |part: &str| {
        let (material, batch) = part.split_once('=').map_or((part, None), |(one, batch)| (one, Some(batch)));
        let label =
            |text: &str| Label::new(text.trim()).map(|it| Value::from(it.as_str())).map_err(|it| it.to_string());
        let mut good = Body::from_iter([("material".to_owned(), label(material)?)]);
        if let Some(batch) = batch {
            good.insert("batch".to_owned(), label(batch)?);
        }
        Ok(Value::Object(good))
    };
    text.split(',').map(str::trim).filter(|part| !part.is_empty()).map(good).collect()
}

fn say_goods(goods: &Value) -> String {
    let said = |good: &Value| {
        let material = good.get("material").map_or_else(String::new, plain);
        good.get("batch")
            .filter(|it| !it.is_null())
            .map_or_else(|| material.clone(), |it| format!("{material}={}", plain(it)))
    };
    goods.as_array().into_iter().flatten().map(said).collect::<Vec<_>>().join(", ")
}

/// What was measured in single bottles. It is only told.
static FILLS: Own = Own {
    read: |_, _| Ok(Value::Null),
    say: |fills| {
        let fills = fills.as_array().into_iter().flatten();
        fills.map(|fill| Entry::Millilitres.say(fill)).collect::<Vec<_>>().join(", ")
    },
};
