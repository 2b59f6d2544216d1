//! The line that is written about bottles, with what it takes.

use ratatui::text::{Line, Span};

use super::{BinAct, BinLine, BinsPage};
use crate::cellar::bottling::said::CAUSES;
use crate::tui::model::Model;
use crate::tui::text::{columns, fit, wrap};
use crate::tui::theme::Meaning;

impl BinAct {
    /// What is asked.
    const fn question(self) -> &'static str {
        match self {
            BinAct::Lay => "Lay away",
            BinAct::Carry => "Carry",
            BinAct::Out => "Out",
            BinAct::Release => "Release",
            BinAct::Taste => "Taste",
        }
    }

    /// What may be written.
    fn takes(self) -> String {
        match self {
            BinAct::Lay => {
                "which, how many, until when: L2601, 600, 2029-05-01. All if no number; a place if not here.".to_owned()
            }
            BinAct::Carry => "where to, how many, which: A-03, 300 or pallet 12, 300. All if no number.".to_owned(),
            BinAct::Out => {
                let causes: Vec<String> = CAUSES.iter().map(|(key, cause)| format!("{key} {cause}")).collect();
                format!("how many, why, to whom: 60 sold, The shop. Or {}.", causes.join(", "))
            }
            BinAct::Release => {
                "from when on they may go, like 2029-05-01; with a lot code or a number only those.".to_owned()
            }
            BinAct::Taste => {
                "which if several lie here, score first, then words or keys: 15.5 pl ta. Opens one bottle.".to_owned()
            }
        }
    }
}

/// The lines of what is being written on the map.
pub(in crate::tui) fn lines(model: &Model, page: &BinsPage, width: usize) -> Vec<Line<'static>> {
    let Some(BinLine { act, text }) = &page.line else { return Vec::new() };
    let theme = model.looks.theme;
    let marks = model.looks.marks;
    let place = model.bin().map_or_else(String::new, |bin| format!(" {}", fit(bin.place.as_str(), 24, marks)));
    let question = format!(" {}{place}: ", act.question());
    let room = width.saturating_sub(columns(&question) + 1);
    let hint = wrap(&act.takes(), width.saturating_sub(3), marks).into_iter();
    let mut lines = vec![Line::from(vec![
        Span::styled(question, theme.style(Meaning::Title)),
        Span::styled(model.written(text, room), theme.style(Meaning::Strong)),
    ])];
    lines.extend(hint.map(|line| Line::styled(format!("   {line}"), theme.style(Meaning::Muted))));
    lines
}
