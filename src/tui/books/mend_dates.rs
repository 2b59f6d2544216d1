//! Mending dates: what was entered while a clock was ahead, and the line on which it is said when the first of it happened.

use ratatui::text::Line;

use crate::cellar::core::clock::{CLOCK_SLACK_MICROSECONDS, lies_ahead};
use crate::cellar::core::fact::{Device, Fact};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::when::When;
use crate::desk::{Correction, DatedWrongly, Desk, Mending, Misdated};
use crate::forms;
use crate::tui::core::apart::Lookup;
use crate::tui::core::choice::choice_line;
use crate::tui::core::finding::{Finding, working};
use crate::tui::core::line::Manner;
use crate::tui::core::model::Model;
use crate::tui::core::page::{About, Go, Opens, Page, Row, Table, Turn, Way};
use crate::tui::core::sheet::Sheet;
use crate::tui::core::theme::Meaning;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::tui::core::work::{Answer, Work};
use crate::tui::edge::screen::Effect;
use crate::units::counted;

/// No day with its time is longer.
const LONGEST: usize = 60;
/// What may stand on the line.
const HOW: &str = "A day, like 27 Nov or yesterday, on which it keeps its time; or a day and a time. The others keep their distance to it.";

/// The page.
#[derive(Clone, Debug, Default)]
pub struct MendDatesPage {
    wrongly: Finding<DatedWrongly>,
    /// Which of the names is chosen under which something is dated ahead.
    chosen: usize,
    /// When the first of it happened, as it is written.
    text: String,
}

impl Table for MendDatesPage {
    const ABOUT: About = About {
        name: "Mending dates",
        purpose: "What was entered while a clock was ahead, laptop by laptop. Say when the first of it happened: all of it is taken back and entered \
                  anew with its true date, as one act that undo takes back; who did it and the words beside it stay. What was entered by a clock that \
                  was right again gets the time at which it was entered. A trial that was revealed stays as it is dated.\n\
                  What a clock that was behind dated wrongly is mended by its numbers: the command mend-dates says how.",
        opens: Opens::ByWays(&[Way {
            sense: None,
            title: "Mend dates",
            help: "Gives what a clock that was ahead has dated the day on which it happened.",
            also: &["wrong clock", "wrong dates"],
            why_not: why_none,
            open,
        }]),
    };
    const ROWS: &'static [Row<MendDatesPage>] = &[];
}

/// Why there is nothing to mend, if so.
fn why_none(model: &Model) -> Option<String> {
    let is_ahead = model.state.last.as_ref().is_some_and(|(key, _)| is_ahead(key.instant, model.clock));
    (!is_ahead).then(|| "Nothing is dated ahead of this laptop's clock.".to_owned())
}

fn is_ahead(instant: i64, now: Moment) -> bool {
    lies_ahead(now.at_instant(instant), now, CLOCK_SLACK_MICROSECONDS)
}

fn open(model: &mut Model) -> Wishes {
    let mut page = MendDatesPage::default();
    let wishes = page.look(model);
    model.open(page);
    wishes
}

impl MendDatesPage {
    fn look(&mut self, model: &mut Model) -> Wishes {
        let now = model.clock;
        self.wrongly.look_up(model, Lookup::of(move |desk: &Desk| desk.misdated(&Misdated::Ahead(None), now)))
    }

    fn devices(&self) -> Vec<(Device, usize)> {
        self.wrongly.told().map(DatedWrongly::devices).unwrap_or_default()
    }

    /// The facts of the name that is chosen, and which those are.
    fn of_chosen(&self) -> Option<(Misdated, Vec<Fact>)> {
        let (device, _) = self.devices().into_iter().nth(self.chosen)?;
        let facts = self.wrongly.told()?.facts.iter().filter(|fact| fact.id.device == device).cloned().collect();
        Some((Misdated::Ahead(Some(device)), facts))
    }

    /// What is written, as it is understood.
    fn mending(&self, model: &Model) -> Result<Mending, String> {
        let now = model.clock;
        let (which, facts) = self.of_chosen().ok_or("Nothing is dated ahead of this laptop's clock.")?;
        let first = match (self.text.trim(), facts.first()) {
            (text, Some(first)) if !text.is_empty() => {
                let said = When::read(text, now.date()).map_err(|error| error.to_string())?;
                Some(said.on_day_of(first.at, now).map_err(|error| error.to_string())?)
            }
            _ => None,
        };
        Mending::of(facts, &which, first, now).ok_or_else(|| "Write on which day the first of it happened.".to_owned())
    }

    /// How much there is of a name, and from when to when.
    fn of_device(&self, device: &Device, count: usize) -> String {
        let facts = self.wrongly.told().map_or(&[][..], |wrongly| &wrongly.facts);
        let mut of_it = facts.iter().filter(|fact| fact.id.device == *device);
        let day = |fact: Option<&Fact>| fact.map_or_else(String::new, |fact| fact.at.show_weekday());
        let first = day(of_it.next());
        let last = day(of_it.next_back());
        let until = if last.is_empty() || last == first { String::new() } else { format!(" to {last}") };
        // Of one alone nobody asks which it is.
        let of = if self.devices().len() > 1 { format!(", laptop {device}") } else { String::new() };
        format!("{}, {first}{until}{of}", counted(count, "entry"))
    }
}

impl Page for MendDatesPage {
    fn title(&self, _model: &Model) -> String {
        "Mending dates: what lies ahead of this laptop's clock".to_owned()
    }

    fn lines(&self, model: &Model, width: usize, height: usize) -> Vec<Line<'static>> {
        let sheet = Sheet { model, width };
        let Some(wrongly) = self.wrongly.told() else { return working(model, width) };
        let devices = self.devices();
        let line = |(nth, (device, count)): (usize, &(Device, usize))| {
            choice_line(model, nth == self.chosen, &self.of_device(device, *count), width)
        };
        let mut lines: Vec<Line<'static>> = devices.iter().enumerate().map(line).collect();
        let (_, facts) = self.of_chosen().unwrap_or((Misdated::Ahead(None), Vec::new()));
        let room = height.saturating_sub(lines.len() + wrongly.left.len() * 2 + 3);
        let shown = facts.iter().take(room).map(|fact| {
            let when = format!("{}, {}", fact.at.show_day(), fact.at.show_time());
            sheet.line(
                &format!(
                    "  {when}  {}",
                    forms::said_line(fact.what.kind(), Some(&fact.what), None, model.state.practice.acid_unit)
                ),
                Meaning::Base,
            )
        });
        lines.extend(sheet.titled("Of it", shown.collect()));
        if facts.len() > room {
            lines.push(sheet.line(&format!("  and {} more", facts.len() - room), Meaning::Muted));
        }
        if !wrongly.left.is_empty() {
            lines.push(Line::default());
            lines.extend(sheet.words(&wrongly.left_words(), Meaning::Muted));
        }
        lines
    }

    fn asks(&self, model: &Model, width: usize) -> Vec<Line<'static>> {
        let sheet = Sheet { model, width };
        let mut lines = vec![model.question_line(" The first of it happened on: ", &self.text, width)];
        let meant = || self.mending(model).map(|mending| mending.told("would be mended"));
        lines.extend(sheet.below_written(&self.text, HOW, meant));
        lines
    }

    fn written(&self) -> Option<&str> {
        Some(&self.text)
    }

    fn written_mut(&mut self) -> Option<&mut String> {
        Some(&mut self.text)
    }

    fn manner(&self) -> Manner {
        Manner::over_list(LONGEST)
    }

    fn go(&mut self, model: &mut Model, go: Go, _last: usize) -> Turn {
        let last = self.devices().len().saturating_sub(1);
        self.chosen = go.line(self.chosen, last, model.half_screen());
        Turn::stay()
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        Some("mend them".to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        if let Some(why) = model.why_read_only() {
            return Some(model.refuse(why).into());
        }
        let mending = match self.mending(model) {
            Ok(mending) => mending,
            Err(why) => return Some(model.refuse(why).into()),
        };
        let left = self.wrongly.told().map(DatedWrongly::left_words).unwrap_or_default();
        let say = format!("{}. {left}", mending.told("mended")).trim_end().to_owned();
        let (by, answered, correction) = (model.by.clone(), model.answered(), Correction::Dated(mending));
        Some(vec![Effect::Work(Work::Correct { correction, by, answered, say, then: Then::STAY })].into())
    }

    fn stored(&mut self, _model: &mut Model, _then: Then) -> Turn {
        Turn::back()
    }

    fn answered(&mut self, model: &mut Model, answer: &Answer) -> Option<Turn> {
        self.wrongly.take(model, answer)
    }

    fn ask_again(&mut self, model: &mut Model) -> Wishes {
        self.look(model)
    }
}
