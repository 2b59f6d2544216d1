//! What stands on the page of a run: every bottle, every litre, how it was filled, and its tastes through bottle age.

use ratatui::text::Line;

use super::RunPage;
use crate::cellar::core::label::Label;
use crate::cellar::jobs::bottles::bottling::recalled::assumed_in_words;
use crate::cellar::jobs::bottles::bottling::run::{Material, Run, Stretch};
use crate::cellar::jobs::bottles::bottling::size;
use crate::reckon::bottling::{FOR_INFORMATION, check_fills};
use crate::tui::bottles::bins;
use crate::tui::core::draw::paragraph;
use crate::tui::core::model::Model;
use crate::tui::core::sheet::Sheet;
use crate::tui::core::theme::Meaning;
use crate::units::{counted, poured};

/// The lines of the page.
pub(super) fn lines(model: &Model, page: &RunPage, width: usize) -> Vec<Line<'static>> {
    let Some(run) = model.state.runs.by_label(page.run.as_str()) else {
        return paragraph(model, &format!("The run {} was taken back.", page.run), width, Meaning::Muted);
    };
    let mut account = Account { on: Sheet { model, width }, lines: Vec::new() };
    account.say(&named(model, run), Meaning::Strong);
    account.bottles(run);
    account.litres(run);
    account.filled(run, page);
    account.tasted(run);
    account.lines
}

/// What the page is written on.
struct Account<'a> {
    on: Sheet<'a>,
    lines: Vec<Line<'static>>,
}

impl Account<'_> {
    fn say(&mut self, text: &str, meaning: Meaning) {
        self.lines.extend(self.on.words(text, meaning));
    }

    fn point(&mut self, text: &str) {
        self.say(&format!("{} {text}", self.on.marks().bullet), Meaning::Base);
    }

    /// Where every bottle is: by place and release, out by cause, and by lot code.
    fn bottles(&mut self, run: &Run) {
        self.say("Every bottle", Meaning::Title);
        self.say(&run.bottles_words(), if run.beyond == 0 { Meaning::Fine } else { Meaning::Over });
        for (place, laid) in run.laid() {
            let release = laid.release.map_or_else(String::new, |day| format!(", release {}", day.show()));
            self.point(&format!("{} at {place}{release}", laid.there));
        }
        for out in run.out_by_cause() {
            let to = out.to.map_or_else(String::new, |to| format!(", to {}", to.as_str()));
            self.point(&format!("{} out: {}{to}", out.bottles, out.why.as_str()));
        }
        self.say("By lot code", Meaning::Title);
        for of in run.by_code() {
            let code = of.lot_code.as_ref().map_or("not known", Label::as_str);
            let (filled, left, lying, out) = (of.filled, of.left(), of.lying, of.out);
            self.point(&format!("{code}: {filled} filled, {left} left ({lying} laid away), {out} out"));
        }
        if run.assumed > 0 {
            self.say(&assumed_in_words(run.assumed), Meaning::Muted);
        }
    }

    /// Where every litre is, and what the vessels still hold.
    fn litres(&mut self, run: &Run) {
        self.say("Every litre", Meaning::Title);
        self.say(&run.litres_words(), Meaning::Fine);
        for id in run.vessels() {
            let vessel = self.on.model.state.vessels.get(id);
            let holds = if vessel.wine.is_empty() {
                "is empty".to_owned()
            } else {
                format!("still holds {}", poured(vessel.volume()))
            };
            self.point(&format!("{} {holds}", vessel.label));
        }
    }

    /// The stretches in which it was filled, and whether the measured fills hold.
    fn filled(&mut self, run: &Run, page: &RunPage) {
        self.say("Filled", Meaning::Title);
        for stretch in run.stretches.iter() {
            self.point(&stretch_words(self.on.model, page, stretch));
        }
        let fills = run.fills();
        let sides = self.on.model.state.practice.sides();
        let checks: Vec<_> = sides.iter().filter_map(|&rules| check_fills(&fills, run.bottle, rules).ok()).collect();
        if checks.is_empty() {
            self.say("No fill was measured.", Meaning::Muted);
        } else {
            for check in checks {
                self.say(&check.words(), if check.is_within() { Meaning::Fine } else { Meaning::Over });
            }
            self.say(FOR_INFORMATION, Meaning::Muted);
        }
    }

    /// How its bottles tasted as they grew older.
    fn tasted(&mut self, run: &Run) {
        if !run.tastes.is_empty() {
            self.say("Tasted through bottle age, the last first", Meaning::Title);
            self.lines.extend(bins::tastes(self.on.model, run, run.tastes.len(), self.on.width));
        }
    }
}

/// Of which lots and when, into what, and the codes on the bottles.
fn named(model: &Model, run: &Run) -> String {
    let lots: Vec<&str> = run.lots().iter().map(|&lot| model.state.lots.get(lot).label.as_str()).collect();
    let codes: Vec<&str> = run.lot_codes().into_iter().map(Label::as_str).collect();
    let on = run.ended().map_or_else(String::new, |(_, last)| format!(", {}", last.show_date()));
    format!(
        "{} of {}, {}{on}, lot code {}",
        counted(run.bottles(), "bottle"),
        size(run.bottle),
        lots.join(" and "),
        codes.join(", ")
    )
}

/// A stretch: when, from where, how many, how fast, and what else was written down.
fn stretch_words(model: &Model, page: &RunPage, stretch: &Stretch) -> String {
    let mut parts = vec![format!(
        "until {} from {}: {}, {} lost",
        stretch.at.show_time(),
        model.state.vessels.get(stretch.vessel).label,
        counted(stretch.bottles, "bottle"),
        poured(stretch.loss)
    )];
    parts.extend(stretch.bottles_an_hour().map(|an_hour| format!("{an_hour} an hour")));
    parts.extend(stretch.oxygen_mg_l.map(|oxygen| format!("oxygen {oxygen} mg/L")));
    parts.extend(stretch.closure.as_ref().map(ToString::to_string));
    parts.extend(stretch.materials.iter().map(Material::words));
    let entered = page.who.iter().find(|it| it.fact == stretch.fact);
    parts.extend(entered.and_then(|it| it.by.as_ref()).map(|by| format!("by {by}")));
    parts.extend(entered.and_then(|it| it.note.as_ref()).map(|note| note.as_str().to_owned()));
    parts.join(", ")
}
