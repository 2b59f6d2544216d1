//! The page of an opened trial: what the panel says in words, the glasses by their places, the tasters, and the surface. It opens at once,
//! and is read apart.

mod apart;
mod sheet;

use std::sync::Arc;

use ratatui::text::{Line, Span};

use self::apart::Progress;
use self::sheet::RevealSheet;
use super::choosing;
use super::surface::views;
use super::taster::TasterQuestion;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{State, TrialId};
use crate::cellar::jobs::bench::trial::Key;
use crate::cellar::jobs::bench::trial::outlook::Outlook;
use crate::cellar::jobs::bench::trial::reading::{ToRead, TrialReading};
use crate::cellar::jobs::bench::trial::refusal::TrialRefusal;
use crate::tui::core::draw::beside;
use crate::tui::core::finding::{Finding, Told};
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::page::{About, Before, Followed, Opens, Page, Row, Table, Turn};
use crate::tui::core::sense::Sense;
use crate::tui::core::sheet::Sheet;
use crate::tui::core::theme::Meaning;
use crate::tui::core::update::Wishes;
use crate::tui::core::work::Answer;
use crate::units::{Shares, figure_to};

/// From this width on the surface stands beside the glasses.
const BESIDE_FROM: usize = 130;
/// Between the two.
const GAP: usize = 3;

/// An opened trial on the screen.
#[derive(Clone, Debug)]
pub struct RevealPage {
    /// Which trial.
    trial: Label,
    /// When it was revealed.
    revealed: Moment,
    seal: Seal,
    /// The taster whose ratings are read; none where all are.
    whose: Option<Label>,
    /// What the reading rests on.
    to_read: ToRead,
    /// The search for it.
    finding: Finding<Progress>,
    found: Found,
    /// Whether what is to be read is not what was asked for.
    is_due: bool,
    /// Which drawing of the surface is shown.
    view: usize,
    /// Whether its other side is shown: how sure it is, and the seal.
    other_side: bool,
    /// From which line on it is shown.
    line: usize,
}

/// How far the reading has come.
#[derive(Clone, Debug)]
enum Found {
    /// So many hundredths of it are done.
    Percent(u8),
    /// It cannot be done, for this reason.
    Nothing(String),
    /// It is done.
    Read(Box<Read>),
}

/// What was read, and what could be blended by it.
#[derive(Clone, Debug, PartialEq)]
struct Read {
    reading: Arc<TrialReading>,
    /// What was blended and what could be.
    outlook: Outlook,
}

/// What proves the key.
#[derive(Clone, Debug, PartialEq)]
struct Seal {
    digest: String,
    salt: Option<Label>,
    /// Whether the key is the one whose digest was printed.
    as_sealed: bool,
}

/// An opened trial: its key, and when it was revealed.
fn opened(state: &State, id: TrialId) -> Result<(Key<'_>, Moment), TrialRefusal> {
    let trial = state.trials.get(id);
    trial.opened().zip(trial.revealed()).ok_or_else(|| TrialRefusal::StillSealed(trial.label.clone()))
}

impl RevealPage {
    /// The page of a trial, of all its tasters or of one, before it is read. Refused while it is not revealed.
    pub fn of(state: &State, id: TrialId, whose: Option<Label>) -> Result<RevealPage, TrialRefusal> {
        let (key, revealed) = opened(state, id)?;
        let trial = state.trials.get(id);
        Ok(RevealPage {
            trial: trial.label.clone(),
            revealed,
            seal: Seal { digest: trial.digest().to_owned(), salt: key.salt().cloned(), as_sealed: key.is_as_sealed() },
            to_read: key.to_read(state, whose.as_ref()),
            whose,
            finding: Finding::default(),
            found: Found::Percent(0),
            is_due: true,
            view: 0,
            other_side: false,
            line: 0,
        })
    }

    /// What the trial says; none while it is read.
    #[must_use]
    pub fn reading(&self) -> Option<&Arc<TrialReading>> {
        self.read().map(|read| &read.reading)
    }

    fn read(&self) -> Option<&Read> {
        match &self.found {
            Found::Read(read) => Some(read),
            Found::Percent(_) | Found::Nothing(_) => None,
        }
    }

    /// Has it read, in place of what is being read.
    fn ask(&mut self, model: &mut Model) -> Wishes {
        let mut wishes = self.finding.stop();
        self.is_due = false;
        wishes.extend(self.finding.ask(model, apart::search(self.to_read.clone())));
        wishes
    }

    /// Takes in what was read, with what could be blended now.
    fn take_in(&mut self, state: &State, reading: &Arc<TrialReading>) {
        let id = state.trials.find(self.trial.as_str());
        let Some(Ok((key, _))) = id.map(|id| opened(state, id)) else { return };
        self.found = Found::Read(Box::new(Read { outlook: key.outlook(state, reading), reading: Arc::clone(reading) }));
    }

    /// Why nothing can be blended, if nothing can.
    fn why_no_blend(&self, model: &Model) -> Option<String> {
        let none = || "No ratio stands first here. `trial blend` at the desk takes any glass and any ratio.".to_owned();
        let why = || match self.read() {
            None => Some("What the panel says is still being read. One moment.".to_owned()),
            Some(read) => read.outlook.ratios.is_empty().then(none),
        };
        model.why_read_only().or_else(why)
    }

    /// Goes on to the blend, with the ratios that are offered.
    fn choose(&mut self, model: &mut Model) -> Turn {
        let ratios = self.read().map_or(&[][..], |read| &read.outlook.ratios);
        let offered = ratios.iter().map(|it| (format!("{}: {}", it.ratio, percents(&it.shares)), it.shares.clone()));
        choosing::open(model, &self.trial, offered.collect());
        Turn::stay()
    }

    /// Why no other drawing of the surface can be shown, if none can.
    fn why_no_other_view(&self) -> Option<String> {
        let why = match self.views() {
            0 => "The panel can't tell one ratio from another: there is no surface to draw.",
            1 => "Of two wines one line says all: there is no other drawing.",
            _ => return None,
        };
        Some(why.to_owned())
    }

    /// How many drawings there are.
    fn views(&self) -> usize {
        self.reading().map_or(0, |reading| views(reading).len())
    }

    /// Turns to the next drawing of the surface, or to the one before, and brings it in sight.
    fn turn_view(&mut self, model: &Model, by: isize) -> Turn {
        let (width, height) = inside(model);
        let count = isize::try_from(self.views()).unwrap_or(1).max(1);
        let turned = (isize::try_from(self.view).unwrap_or(0) + by).rem_euclid(count);
        self.view = usize::try_from(turned).unwrap_or(0);
        self.other_side = false;
        if let Some(read) = self.read().filter(|_| width < BESIDE_FROM) {
            // Behind the empty line that parts it from what stands before.
            self.line = RevealSheet { on: Sheet { model, width }, page: self, read, height }.ratios().len() + 1;
        }
        Turn::stay()
    }

    fn turn_over(&mut self) -> Turn {
        self.other_side = !self.other_side;
        self.line = 0;
        Turn::stay()
    }

    /// Why no taster can be read alone, if none can.
    fn why_no_taster(&self, model: &Model) -> Option<String> {
        if let Some(name) = &self.whose {
            return Some(format!("This is what {name} says alone. Esc goes back to the panel."));
        }
        let tasters = model.state.trials.by_label(self.trial.as_str()).map_or(0, |trial| trial.tasters().len());
        (tasters < 2).then(|| "One taster is all of the panel.".to_owned())
    }

    fn ask_whose(&mut self, model: &mut Model) -> Turn {
        if let Some(trial) = model.state.trials.by_label(self.trial.as_str()) {
            model.open(TasterQuestion::of(trial));
        }
        Turn::stay()
    }
}

impl Table for RevealPage {
    const ABOUT: About = About {
        name: "A trial that is revealed",
        purpose: "The best ratio, or where the panel leans that can't tell; what could be blended; the surface of the score over the shares of \
                  the wines; then the glasses, the best first, with what each held, and how far each taster goes with the rest.\n\
                  The other side says how sure it is, and the seal proves that the key is the one that was printed. A long reading goes on \
                  while you wait or leave.",
        opens: Opens::From("the list of trials opens it"),
    };
    #[rustfmt::skip] // a table reads as a table
    const ROWS: &'static [Row<RevealPage>] = &[
        Row::new(Sense::Begin, "Blend it", "Chooses the ratio that is blended, the best first, into which tank and how much, and begins the work of it.", |page: &mut RevealPage, model| page.choose(model)).word(|_, _| Some("blend it".to_owned())).unless(RevealPage::why_no_blend),
        Row::new(Sense::View, "The next drawing", "Draws the surface over the next three wines of the trial, or along one.", |page: &mut RevealPage, model| page.turn_view(model, 1)).word(|_, _| Some("other drawing".to_owned())).unless(|page, _| page.why_no_other_view()),
        Row::new(Sense::OtherSide, "How sure it is", "Turns to how sure the ratio is, what polynomials say and the seal, and back.", |page: &mut RevealPage, _| page.turn_over()).word(|page, _| Some(if page.other_side { "the ratio" } else { "how sure" }.to_owned())),
        Row::listed("One taster", "Chooses a taster whose ratings are read alone.", |page: &mut RevealPage, model| page.ask_whose(model)).also(&["taster", "alone", "whose", "person"]).unless(RevealPage::why_no_taster),
        Row::listed("A second sitting", super::SECOND, |page: &mut RevealPage, model| super::open_second(model, &page.trial)).also(super::SECOND_ALSO).unless(|_, model| model.why_read_only()),
        Row::new(Sense::Before, "The drawing before", "Goes back by one drawing of the surface.", |page: &mut RevealPage, model| page.turn_view(model, -1)).unless(|page, _| page.why_no_other_view()),
        Row::new(Sense::After, "One drawing on", "Goes on by one drawing of the surface.", |page: &mut RevealPage, model| page.turn_view(model, 1)).unless(|page, _| page.why_no_other_view()),
    ];
}

/// Opens the page of a trial, of all its tasters or of one, and has it read; or says why it stays closed.
pub(super) fn show(model: &mut Model, id: TrialId, whose: Option<Label>) -> Wishes {
    match RevealPage::of(&model.state, id, whose) {
        Ok(mut page) => {
            let wishes = page.ask(model);
            model.open(page);
            wishes
        }
        Err(why) => {
            model.say(why.to_string(), Tone::Refused);
            Vec::new()
        }
    }
}

/// Columns and rows of the page, by the size of the terminal as last told.
fn inside(model: &Model) -> (usize, usize) {
    (usize::from(model.size.width.saturating_sub(2)), usize::from(model.size.height.saturating_sub(4)))
}

impl Page for RevealPage {
    fn title(&self, _model: &Model) -> String {
        let alone = self.whose.as_ref().map_or_else(String::new, |name| format!(", {name} alone"));
        format!("The trial {}, revealed {}{alone}", self.trial, self.revealed.show_date())
    }

    fn lines(&self, model: &Model, width: usize, height: usize) -> Vec<Line<'static>> {
        let Some(read) = self.read() else { return self.waiting(Sheet { model, width }) };
        let on = |width: usize| RevealSheet { on: Sheet { model, width }, page: self, read, height };
        if self.other_side {
            return on(width).how_sure();
        }
        if width < BESIDE_FROM {
            let sheet = on(width);
            return [sheet.ratios(), sheet.surface(), sheet.told()].concat();
        }
        let column = width.saturating_sub(GAP) / 2;
        let sheet = on(column);
        let rule = Span::styled(model.looks.marks.vertical.to_string(), sheet.on.style(Meaning::Muted));
        let between = [Span::raw(" "), rule, Span::raw(" ")];
        let ours = [sheet.ratios(), sheet.surface()].concat();
        // At the head of a column no empty line parts it from anything.
        let theirs = sheet.told().into_iter().skip(1).collect();
        beside(ours, theirs, column, &between)
    }

    fn is_wide(&self) -> bool {
        true
    }

    fn line_shown(&self) -> Option<usize> {
        Some(self.line)
    }

    fn line_shown_mut(&mut self) -> Option<&mut usize> {
        Some(&mut self.line)
    }

    /// Leaves it, and whatever of it is still being read.
    fn esc(&mut self, _model: &mut Model) -> Turn {
        Turn::back().wishing(self.finding.stop())
    }

    fn answered(&mut self, model: &mut Model, answer: &Answer) -> Option<Turn> {
        match self.finding.answer(answer)? {
            Told::Found(Progress::Read(reading)) => self.take_in(&model.state, reading),
            Told::SoFar(Progress::Percent(percent)) if self.read().is_none() => self.found = Found::Percent(*percent),
            Told::Nothing(why) => self.found = Found::Nothing(why.to_owned()),
            Told::SoFar(_) | Told::Found(_) => {}
        }
        Some(Turn::stay())
    }

    /// What was read stands while the trial says the same, and until it is read anew; what could be blended is as there is wine now.
    fn follow(&mut self, model: &mut Model, _before: &Before<'_>) -> Followed {
        let state = &model.state;
        let id = state.trials.find(self.trial.as_str());
        let Some(Ok(now)) = id.map(|id| RevealPage::of(state, id, self.whose.clone())) else {
            return Followed::Gone(self.trial.to_string());
        };
        self.is_due |= now.to_read != self.to_read;
        (self.revealed, self.seal, self.to_read) = (now.revealed, now.seal, now.to_read);
        if let Some(reading) = self.reading().cloned() {
            self.take_in(state, &reading);
        }
        Followed::There
    }

    fn wants(&mut self, model: &mut Model) -> Wishes {
        if self.is_due { self.ask(model) } else { Vec::new() }
    }
}

impl RevealPage {
    /// What stands there while it is read.
    fn waiting(&self, on: Sheet<'_>) -> Vec<Line<'static>> {
        let mut lines = sheet::broken_seal(on, &self.seal);
        lines.extend(match &self.found {
            Found::Nothing(why) => on.words(why, Meaning::Error),
            Found::Percent(percent) => {
                let text = format!("reading what the panel says {} {percent} %; esc goes back", on.marks().ellipsis);
                on.words(&text, Meaning::Muted)
            }
            Found::Read(_) => Vec::new(),
        });
        lines
    }
}

/// Shares in percent, in the order of the components: `50/30/20`.
fn percents(shares: &Shares) -> String {
    let percent = |&part: &u32| {
        let text = figure_to(1, f64::from(part) / 10_000.0);
        text.strip_suffix(".0").unwrap_or(&text).to_owned()
    };
    shares.millionths().iter().map(percent).collect::<Vec<_>>().join("/")
}
