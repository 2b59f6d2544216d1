//! The settings of the house on the screen: what each is, what it means, and who said it when.

use ratatui::text::Line;

use crate::cellar::core::fact::FactId;
use crate::cellar::core::state::State;
use crate::forms::{self, PRACTICE_SET, Setting, settings};
use crate::tui::books::form;
use crate::tui::core::choice::choice_line;
use crate::tui::core::list::Between;
use crate::tui::core::model::Model;
use crate::tui::core::page::{About, Before, Followed, Go, Opens, Page, Row, Table, Turn, Way};
use crate::tui::core::sheet::Sheet;
use crate::tui::core::text::{columns, left};
use crate::tui::core::theme::Meaning;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::tui::core::who;
use crate::tui::core::work::{Answer, Entered};

/// The columns of a setting's name, of what it is, and of its default.
const NAME: usize = 18;
const VALUE: usize = 15;
const USUAL: usize = 23;
/// So many settings are in sight at least.
const LEAST: usize = 5;

/// The page of the settings.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SettingsPage {
    /// Which setting is chosen, by its place on the page.
    chosen: usize,
    /// Who said them, as far as that was looked up.
    who: Vec<Entered>,
}

impl Table for SettingsPage {
    const ABOUT: About = About {
        name: "House settings",
        purpose: "How this house works, where the trade leaves a choice: what each setting is, its default, who set it and when; below, what the \
                  chosen one means. Enter changes it, as an act that undo takes back.\n\
                  How it looks to you (colours, units, dates) stands in a file of your own, which the command settings names.",
        opens: Opens::ByWays(&[Way {
            sense: None,
            title: PRACTICE_SET.title,
            help: PRACTICE_SET.help,
            also: PRACTICE_SET.also,
            why_not: |_| None,
            open,
        }]),
    };
    const ROWS: &'static [Row<SettingsPage>] = &[Row::UNDO, Row::REDO];
}

fn open(model: &mut Model) -> Wishes {
    let mut page = SettingsPage::default();
    let wishes = page.wants(model);
    model.open(page);
    wishes
}

/// The facts that said the settings.
fn facts(state: &State) -> Vec<FactId> {
    settings(state).iter().filter_map(|setting| Some(setting.said?.id.clone())).collect()
}

impl SettingsPage {
    fn setting<'a>(&self, state: &'a State) -> Option<Setting<'a>> {
        settings(state).into_iter().nth(self.chosen)
    }

    /// A setting: its name, what it is, its default, who said it when.
    fn told(&self, sheet: Sheet<'_>, setting: &Setting<'_>) -> String {
        let marks = sheet.marks();
        let (name, value) = (left(setting.field.name, NAME, marks), left(&setting.value, VALUE, marks));
        let usual = left(&format!("default {}", setting.usual), USUAL, marks);
        format!("{name} {value} {usual} {}", self.said(setting).unwrap_or_default())
    }

    /// Who said a setting when, where anybody did: `ta 25 May 2026`.
    fn said(&self, setting: &Setting<'_>) -> Option<String> {
        let said = setting.said?;
        let by = self.who.iter().find(|it| it.fact == said.id).and_then(|it| it.by.as_ref());
        Some(format!("{} {}", by.map_or("", |by| by.as_str()), said.at.show_date()).trim_start().to_owned())
    }

    /// What a setting means, and where its line is too short for that who said it when.
    fn meaning(&self, sheet: Sheet<'_>, setting: &Setting<'_>) -> Vec<Line<'static>> {
        let mut means = setting.field.hint.to_owned();
        if let Some(first) = means.get_mut(..1) {
            first.make_ascii_uppercase();
        }
        let said = self.said(setting).filter(|said| NAME + VALUE + USUAL + 5 + columns(said) > sheet.width);
        let said = said.map_or_else(String::new, |said| format!(" Set by {said}."));
        sheet.words(&format!("{means}.{said}"), Meaning::Muted)
    }
}

impl Page for SettingsPage {
    fn title(&self, _model: &Model) -> String {
        PRACTICE_SET.title.to_owned()
    }

    fn lines(&self, model: &Model, width: usize, height: usize) -> Vec<Line<'static>> {
        let sheet = Sheet { model, width };
        let all = settings(&model.state);
        let below = all.get(self.chosen).map_or_else(Vec::new, |setting| self.meaning(sheet, setting));
        let list = Between { lines: all.len(), chosen: self.chosen, least: LEAST, below, ..Between::default() };
        list.lines(model, (width, height), |nth| {
            choice_line(model, nth == self.chosen, &self.told(sheet, &all[nth]), width)
        })
    }

    fn go(&mut self, model: &mut Model, go: Go, _last: usize) -> Turn {
        let last = settings(&model.state).len().saturating_sub(1);
        self.chosen = go.line(self.chosen, last, model.half_screen());
        Turn::stay()
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        Some("change".to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        if let Some(why) = model.why_read_only() {
            return Some(model.refuse(why).into());
        }
        let at = self.setting(&model.state)?.at;
        Some(form::open_at(model, &forms::PRACTICE_SET, at).into())
    }

    fn stored(&mut self, _model: &mut Model, _then: Then) -> Turn {
        Turn::stay()
    }

    fn answered(&mut self, model: &mut Model, answer: &Answer) -> Option<Turn> {
        who::take(&mut self.who, &facts(&model.state), answer)
    }

    fn wants(&mut self, model: &mut Model) -> Wishes {
        who::wish(facts(&model.state), &self.who)
    }

    fn follow(&mut self, _model: &mut Model, _before: &Before<'_>) -> Followed {
        Followed::There
    }
}
