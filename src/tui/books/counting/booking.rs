//! Booking a count: why the book is put right, which lot it is that the book did not have, and then all in one act.

use super::CountPage;
use crate::cellar::core::fact::What;
use crate::cellar::core::label::Text;
use crate::cellar::core::state::{LotId, VesselId};
use crate::told::meant::{labels, meant};
use crate::tui::core::asking;
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;

/// Books what was found, for the reason that is typed, and closes the count. Where wine was found that the book does not
/// have it is asked first which lot it is.
pub(super) fn book(model: &mut Model, page: &mut CountPage) -> Wishes {
    let Some(count) = page.count(&model.state) else { return Vec::new() };
    let typed = page.text.trim();
    let (why, lot) = match &page.why {
        Some(why) => match lot_typed(model, typed) {
            Ok(lot) => (why.clone(), lot),
            Err(text) => return model.refuse(text),
        },
        None => match why_typed(typed) {
            Ok(why) => {
                let new = model.state.new_wine_of(count);
                if let Some(&first) = new.first() {
                    return ask_lot(model, page, why, first, new.len() - 1);
                }
                (why, None)
            }
            Err(text) => return model.refuse(text),
        },
    };
    match model.state.book_count(count, &why, lot, model.now) {
        Ok(whats) if !asking::may_enter(model, &whats) => Vec::new(),
        Ok(whats) => {
            let say = said(&whats);
            model.enter_because(whats, Some(why), say, Then::STAY)
        }
        Err(refusal) => model.refuse_act(&refusal),
    }
}

fn why_typed(typed: &str) -> Result<Text, String> {
    if typed.is_empty() {
        let text = "Say why the book is put right, for example stock count; it is kept. To book nothing go back by tab: enter lists it there.";
        return Err(text.to_owned());
    }
    Text::new(typed).map_err(|error| error.to_string())
}

/// The lot that is typed; none where nothing is.
fn lot_typed(model: &Model, typed: &str) -> Result<Option<LotId>, String> {
    if typed.is_empty() {
        return Ok(None);
    }
    let unknown = || {
        let hint = meant(typed, labels(&model.state.lots)).unwrap_or_default();
        format!("No lot is called '{typed}'. Check the label; enter alone books it as found.{hint}")
    };
    model.state.lots.find(typed).map(Some).ok_or_else(unknown)
}

/// Asks which lot it is that was found.
fn ask_lot(model: &mut Model, page: &mut CountPage, why: Text, first: VesselId, more: usize) -> Wishes {
    let more = if more == 0 { String::new() } else { format!(" and {more} more") };
    let first = &model.state.vessels.get(first).label;
    let text = format!("On paper there is no wine in {first}{more}. Type its lot; enter alone books it as found.");
    (page.why, page.text) = (Some(why), String::new());
    model.say(text, Tone::Notice);
    Vec::new()
}

fn said(whats: &[What]) -> String {
    let is_figure = |what: &&What| matches!(what, What::Gauged(_) | What::BottlesCounted(_) | What::WineReceived(_));
    match whats.iter().filter(is_figure).count() {
        0 => "Nothing was measured that differs; the count is closed.".to_owned(),
        1 => "One figure of the book was put right; the count is closed.".to_owned(),
        many => format!("{many} figures of the book were put right; the count is closed."),
    }
}
