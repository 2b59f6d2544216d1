//! A trial on the screen: its page, the glasses of its tasters entered one after the other, and its reveal.
//!
//! Until it is revealed nothing here is drawn from the key: [`Trial::opened`] is the only door that is used.
//!
//! **The screens of a trial** (`tui/trial/`) draw from what `Trial` gives without its key. `tests/screen/trial_tasting.rs` holds them to
//! it: two cellars that differ in the key alone must show the same after any keys, but for the digest. Every rating is a fact at once, so
//! the page of the glasses keeps nothing but a line; where it stands is found again from what is missing.
//!
//! **A line about a glass** says what it says and leaves the rest: a corrected number keeps the words, a rank the score. Three figures are
//! a code, which no score and no rank can be. Ranks are given within a flight.

mod choosing;
mod page;
mod question;
mod rating;
pub mod reveal;
mod setting;
mod spot;
mod surface;
mod taster;
mod tasting_sheet;

use ratatui::text::Line;

use crate::cellar::core::label::Label;
use crate::cellar::jobs::bench::trial::Trial;
use crate::cellar::jobs::bench::trial::refusal::TrialRefusal;
use crate::tui::core::choice::{self, Choice};
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::page::{About, Before, Followed, Go, Opens, Page, Row, Table, Turn};
use crate::tui::core::sense::Sense;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;

pub use self::choosing::BlendPage;
pub use self::question::RevealQuestion;
pub use self::rating::RatingPage;
pub use self::setting::SetTrialPage;
pub use self::spot::Spot;
pub use self::taster::TasterQuestion;

/// The page of a trial.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TrialPage {
    /// Which trial.
    trial: Label,
    /// The taster that is chosen.
    chosen: Choice<Label>,
    /// Whether it was shown that another program revealed it.
    is_told: bool,
}

impl Table for TrialPage {
    const ABOUT: About = About {
        name: "A trial",
        purpose: "How far the tasters of a trial have come, and what is missing of each. Enter opens the glasses of the one that is \
                  chosen.\n\
                  The key is sealed until the trial is revealed, once and for good: no page tells before what a code is.",
        opens: Opens::From("the list of trials opens it"),
    };
    const ROWS: &'static [Row<TrialPage>] = &[
        Row::new(
            Sense::Reveal,
            "Reveal",
            "Says what is missing and asks whether to reveal what every code is.",
            TrialPage::ask_reveal,
        )
        .word(|_, _| Some("reveal".to_owned()))
        .unless(TrialPage::why_no_reveal),
        Row::listed("A second sitting", SECOND, |page: &mut TrialPage, model| open_second(model, &page.trial))
            .also(SECOND_ALSO)
            .unless(|_, model| model.why_read_only()),
    ];
}

/// What a second sitting is, and what is said for it besides.
const SECOND: &str = "Sets a second sitting of the same wines, laid out from what was said at this one; once both are revealed they are read \
                      together.";
const SECOND_ALSO: &[&str] = &["after", "again", "two sittings", "taste again"];

/// Opens the page that sets a second sitting after a trial.
fn open_second(model: &mut Model, first: &Label) -> Turn {
    setting::open_second(model, first);
    Turn::stay()
}

/// Shows the page of a trial, where it is there. All roads to it go through here.
pub(in crate::tui) fn show(model: &mut Model, label: &Label) -> Wishes {
    let Some(id) = model.state.trials.find(label.as_str()) else { return Vec::new() };
    if model.state.trials.get(id).revealed().is_some() {
        return reveal::show(model, id, None);
    }
    model.open(TrialPage::new(model.state.trials.get(id)));
    Vec::new()
}

impl TrialPage {
    /// The page of a trial, with the first taster chosen of whom something is missing.
    fn new(trial: &Trial) -> TrialPage {
        let missing = trial.missing();
        let is_missing = |name: &Label| missing.iter().any(|glass| glass.taster == *name);
        let names = names(trial);
        let chosen = names.iter().position(is_missing);
        TrialPage { trial: trial.label.clone(), chosen: Choice::at(&names, chosen.unwrap_or(0)), is_told: false }
    }

    fn of<'a>(&self, model: &'a Model) -> Option<&'a Trial> {
        model.state.trials.by_label(self.trial.as_str())
    }

    fn is_revealed(&self, model: &Model) -> bool {
        self.of(model).is_some_and(|trial| trial.revealed().is_some())
    }

    /// Why it cannot be revealed, if it cannot.
    fn why_no_reveal(&self, model: &Model) -> Option<String> {
        let revealed = || TrialRefusal::TrialRevealed(self.trial.clone()).to_string();
        model.why_read_only().or_else(|| self.is_revealed(model).then(revealed))
    }

    fn ask_reveal(&mut self, model: &mut Model) -> Turn {
        if let Some(trial) = self.of(model) {
            model.open(RevealQuestion::of(trial));
        }
        Turn::stay()
    }
}

/// The key is open, and that is on disk.
#[derive(Debug)]
struct Revealed;

impl Page for TrialPage {
    fn title(&self, _model: &Model) -> String {
        format!("The trial {}", self.trial)
    }

    fn lines(&self, model: &Model, width: usize, height: usize) -> Vec<Line<'static>> {
        page::lines(model, self, width, height)
    }

    fn go(&mut self, model: &mut Model, go: Go, _last: usize) -> Turn {
        let half = model.half_screen();
        if let Some(trial) = self.of(model) {
            self.chosen.step(&names(trial), go.by(half));
        }
        Turn::stay()
    }

    fn enter_word(&self, model: &Model) -> Option<String> {
        Some(if self.is_revealed(model) { "show it" } else { "rate" }.to_owned())
    }

    /// Opens the glasses of the taster that is chosen, at the first of which nothing was said; of a trial that is revealed what it
    /// says.
    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        if self.is_revealed(model) {
            return Some(Turn::back().wishing(show(model, &self.trial)));
        }
        if let Some(why) = model.why_read_only() {
            model.say(why, Tone::Refused);
            return Some(Turn::stay());
        }
        let trial = self.of(model)?;
        if let Some(taster) = self.chosen.place(&names(trial)) {
            model.open(RatingPage::new(trial, taster));
            return Some(Turn::back());
        }
        let gone = choice::gone(self.chosen.thing()?.as_str());
        model.say(gone, Tone::Refused);
        Some(Turn::stay())
    }

    /// Once it is revealed what it says is shown in its place.
    fn stored(&mut self, model: &mut Model, then: Then) -> Turn {
        if then.word::<Revealed>().is_none() {
            return Turn::stay();
        }
        Turn::back().wishing(show(model, &self.trial))
    }

    fn follow(&mut self, model: &mut Model, _before: &Before<'_>) -> Followed {
        let Some(trial) = self.of(model) else { return Followed::Gone(self.trial.to_string()) };
        let names = names(trial);
        self.chosen.follow(&names, ToString::to_string)
    }

    /// Shows what it says where another program revealed it.
    fn wants(&mut self, model: &mut Model) -> Wishes {
        if self.is_revealed(model) && !std::mem::replace(&mut self.is_told, true) {
            return show(model, &self.trial);
        }
        Vec::new()
    }
}

/// The tasters, in the order of the panel.
fn names(trial: &Trial) -> Vec<Label> {
    trial.tasters().iter().map(|taster| taster.name.clone()).collect()
}
