//! What is typed on the floor, and what enter makes of it.
//!
//! **Digits in a work** are a label where a vessel is called so, else litres (millilitres of a solution, grams of what is weighed); `218 L`
//! is always litres.
//!
//! **Digits are litres while a round is under way** if they are a plain number below 100 without a leading zero, else a label.

use ratatui::text::{Line, Span};

use crate::tui::core::model::Model;
use crate::tui::core::text::{columns, fit};
use crate::tui::core::theme::Meaning;
use crate::tui::floor::works;
use crate::tui::topping::correcting;
use crate::tui::topping::rounds::says_litres;
use crate::units::customary_words;

/// What is typed on the floor, and what enter makes of it.
pub(super) fn line(model: &Model, text: &str, width: usize) -> Line<'static> {
    let theme = model.looks.theme;
    let marks = model.looks.marks;
    let typed = model.written(text, width.saturating_sub(2));
    let meant = match model.chosen_vessel() {
        Some(vessel) if model.round().is_some() && says_litres(&model.state, text) => {
            let (label, more) = (&vessel.label, text.ends_with(correcting::MORE));
            let (whole, short) = match model.done_within() {
                Some(_) if more => (format!("   litres more into {label}"), "   litres more"),
                Some(_) => (
                    format!("   litres that {label} took in all; with + behind them more"),
                    "   litres in all; with + behind them more",
                ),
                None => (
                    format!("   litres into {label}; with p behind them not to the brim"),
                    "   litres; with p behind them not to the brim",
                ),
            };
            // Where the label leaves no room for all of it, what the sign does is said, and the card says where one stands.
            if columns(&whole) + columns(&typed) + 1 > width { short.to_owned() } else { whole }
        }
        Some(vessel) if model.done_within().is_some() && works::is_measure(model, text) => {
            let (unit, _) = works::unit(model).unwrap_or_else(customary_words);
            format!("   {unit} at {} in all; with + behind them more; or a label", vessel.label)
        }
        Some(vessel) if model.working.is_some() && works::is_measure(model, text) => {
            let (unit, _) = works::unit(model).unwrap_or_else(customary_words);
            format!("   {unit} at {}, or a label", vessel.label)
        }
        _ => "   a label or a place to go to".to_owned(),
    };
    let meant = if model.marked.on { "   backspace edits it, another key starts anew".to_owned() } else { meant };
    let room = width.saturating_sub(columns(&typed) + 1);
    Line::from(vec![
        Span::styled(format!(" {typed}"), theme.style(Meaning::Strong)),
        Span::styled(fit(&meant, room, marks), theme.style(Meaning::Muted)),
    ])
}
