//! A trial is set on the screen: what it is to be is written a line each, its glasses are laid out apart with what they would tell, and
//! then it is set. Nothing is drawn that tells of its key.

mod asked;

use std::sync::Arc;

use ratatui::text::Line;

use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::jobs::bench::trial::Component;
use crate::told::bench::{FIELDS, HEADING};
use crate::tui::core::asking::may_enter;
use crate::tui::core::draw::beside;
use crate::tui::core::fields::Fields;
use crate::tui::core::finding::{Finding, Told};
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::page::{About, Before, Followed, Opens, Page, Row, Table, Turn, Way};
use crate::tui::core::sense::Sense;
use crate::tui::core::sheet::Sheet;
use crate::tui::core::theme::Meaning;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::tui::core::work::Answer;
use crate::units::{all_of, counted};

use self::asked::{DESIGN, DESIGNS, Laid, TRIAL};

/// From this width on the table stands beside what is written.
const BESIDE_FROM: usize = 150;
/// So many columns of it are for what is written.
const OURS: usize = 70;

/// A trial that is to be set.
#[derive(Clone, Debug)]
pub struct SetTrialPage {
    fields: Fields,
    /// The trial of which it is the second sitting, if it is one.
    after: Option<Label>,
    /// What was laid out last, as it was written.
    asked: Vec<String>,
    finding: Finding<Laid>,
    found: Found,
}

/// How far the laying out has come.
#[derive(Clone, Debug, PartialEq)]
enum Found {
    /// Nothing was asked yet.
    Nothing,
    /// Nothing is laid out, for this reason.
    Refused(String),
    /// The search goes on, with what there is so far.
    Working(Option<Box<Laid>>),
    /// The search has ended.
    Laid(Box<Laid>),
}

impl SetTrialPage {
    fn new(fields: Fields, after: Option<Label>) -> SetTrialPage {
        SetTrialPage { fields, after, asked: Vec::new(), finding: Finding::default(), found: Found::Nothing }
    }

    /// Whether something is written that was not laid out yet.
    fn is_changed(&self) -> bool {
        self.fields.texts() != self.asked
    }

    /// What is laid out.
    fn laid(&self) -> Option<&Laid> {
        match &self.found {
            Found::Laid(laid) => Some(laid),
            Found::Working(laid) => laid.as_deref(),
            Found::Nothing | Found::Refused(_) => None,
        }
    }

    /// Lays out what is written, apart.
    fn ask(&mut self, model: &mut Model) -> Wishes {
        self.asked = self.fields.texts().to_vec();
        *self.fields.line_shown_mut() = 0;
        // Nobody knows the microsecond in which a key is pressed.
        match asked::read(&self.fields, self.after.as_ref(), model.now.instant().cast_unsigned()) {
            Ok(asked) => {
                self.found = Found::Working(None);
                self.finding.ask(model, asked::search(Arc::new(model.state.clone()), asked))
            }
            Err(why) => {
                self.found = Found::Refused(why);
                std::mem::take(&mut self.finding).stop()
            }
        }
    }

    /// Sets what is laid out.
    fn set(&mut self, model: &mut Model) -> Wishes {
        if let Some(why) = model.why_read_only() {
            return model.refuse(why);
        }
        let Some(laid) = self.laid() else {
            let why = match &self.found {
                Found::Refused(why) => why.clone(),
                _ => "The glasses are being laid out. One moment.".to_owned(),
            };
            return model.refuse(why);
        };
        let fact = laid.fact.clone();
        let say = format!(
            "{} is set: {}. `trial pour` at the desk is the page for whoever pours, and only for them.",
            fact.trial,
            counted(fact.glasses.len(), "glass")
        );
        let then = Then::of(Set(fact.trial.clone()));
        let whats = vec![What::TrialSet(Box::new(fact))];
        if !may_enter(model, &whats) {
            return Vec::new();
        }
        let mut wishes = self.finding.stop();
        wishes.extend(model.enter(whats, say, then));
        wishes
    }

    /// The way to lay glasses out before or after.
    fn turn(&mut self, by: isize) -> Turn {
        let words: Vec<String> = DESIGNS.iter().map(|(word, _)| (*word).to_owned()).collect();
        self.fields.turn(&words, by);
        Turn::stay()
    }

    fn why_no_value(&self, _model: &Model) -> Option<String> {
        let why = "This line is written: left and right go through the ways to lay the glasses out.";
        (self.fields.chosen() != DESIGN).then(|| why.to_owned())
    }
}

/// A trial is on disk: its page is shown.
#[derive(Debug)]
struct Set(Label);

impl Table for SetTrialPage {
    const ABOUT: About = About {
        name: "Setting a trial",
        purpose: "What a trial is to be, a line each: its wines, bounds of their shares, limits, how many glasses, who tastes. Enter lays the \
                  glasses out and shows, before anything is poured, what they would tell: from which difference on, and what has to be \
                  drawn; enter again sets it.\n\
                  The table is made of simulated panels, with this house's own repeat error, for half and twice as many glasses and for \
                  fewer and more tasters. It goes on while you read; nothing of it tells what a code will be.",
        opens: Opens::ByWays(&[Way {
            sense: None,
            title: "Set a trial",
            help: "Lays out the glasses of a blind trial of some wines, says what they would tell, and sets it.",
            also: &["trial", "bench", "blend", "ratio", "glasses", "panel", "design", "tasting"],
            why_not: Model::why_opening,
            open,
        }]),
    };
    #[rustfmt::skip] // a table reads as a table
    const ROWS: &'static [Row<SetTrialPage>] = &[
        Row::new(Sense::After, "The next way", "Goes to the next way to lay the glasses out.", |page: &mut SetTrialPage, _| page.turn(1)).word(|_, _| Some("change".to_owned())).unless(SetTrialPage::why_no_value),
        Row::new(Sense::Before, "The way before", "Goes to the way before to lay the glasses out.", |page: &mut SetTrialPage, _| page.turn(-1)).unless(SetTrialPage::why_no_value),
    ];
}

fn open(model: &mut Model) -> Wishes {
    let fields = asked::proposed(&model.state);
    model.open(SetTrialPage::new(fields, None));
    Vec::new()
}

/// Opens the page filled in for the second sitting after a trial.
pub(super) fn open_second(model: &mut Model, first: &Label) {
    if let Some(first) = model.state.trials.by_label(first.as_str()) {
        let page = SetTrialPage::new(asked::proposed_second(&model.state, first), Some(first.label.clone()));
        model.open(page);
    }
}

impl Page for SetTrialPage {
    fn title(&self, _model: &Model) -> String {
        match &self.after {
            Some(first) => format!("Setting a second sitting after {first}"),
            None => "Setting a trial".to_owned(),
        }
    }

    fn lines(&self, model: &Model, width: usize, _height: usize) -> Vec<Line<'static>> {
        if width < BESIDE_FROM {
            let on = Sheet { model, width };
            return [self.ours(on), self.told(on), self.glasses(on)].concat();
        }
        let on = Sheet { model, width: OURS };
        let ours = [self.ours(on), self.glasses(on)].concat();
        let theirs = self.told(Sheet { model, width: width - OURS - 3 });
        // At the head of a column no empty line parts it from anything.
        beside(ours, theirs.into_iter().skip(1).collect(), OURS, &["   ".into()])
    }

    fn is_wide(&self) -> bool {
        true
    }

    fn fields(&self) -> Option<&Fields> {
        Some(&self.fields)
    }

    fn fields_mut(&mut self) -> Option<&mut Fields> {
        Some(&mut self.fields)
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        Some(if self.is_changed() { "lay out" } else { "set it" }.to_owned())
    }

    /// Lays out what is newly written, then sets it.
    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        Some(if self.is_changed() { self.ask(model) } else { self.set(model) }.into())
    }

    fn esc(&mut self, _model: &mut Model) -> Turn {
        Turn::back().wishing(self.finding.stop())
    }

    fn stored(&mut self, model: &mut Model, then: Then) -> Turn {
        let Some(Set(trial)) = then.word() else { return Turn::stay() };
        Turn::back().wishing(super::show(model, trial))
    }

    fn answered(&mut self, _model: &mut Model, answer: &Answer) -> Option<Turn> {
        let told = self.finding.answer(answer)?;
        self.found = match told {
            Told::SoFar(laid) => Found::Working(Some(Box::new(laid.clone()))),
            Told::Found(laid) => Found::Laid(Box::new(laid.clone())),
            Told::Nothing(why) => Found::Refused(why.to_owned()),
        };
        Some(Turn::stay())
    }

    /// What is written stays; where the trial's label was taken meanwhile, that is said.
    fn follow(&mut self, model: &mut Model, _before: &Before<'_>) -> Followed {
        if let Some(first) = self.after.as_ref().filter(|first| model.state.trials.find(first.as_str()).is_none()) {
            return Followed::Gone(first.to_string());
        }
        if let Ok(label) = Label::new(self.fields.text(TRIAL))
            && model.state.trials.find(label.as_str()).is_some()
            && !matches!(self.found, Found::Nothing)
        {
            let why = Refusal::LabelTaken { what: "A trial", label }.to_string();
            model.say(why, Tone::Notice);
        }
        Followed::There
    }
}

impl SetTrialPage {
    /// What is written, from which difference on it tells, and what has to be drawn.
    fn ours(&self, on: Sheet<'_>) -> Vec<Line<'static>> {
        let mut lines = self.fields.lines(on.model, on.width);
        lines.extend(self.first(on));
        if self.fields.chosen() == DESIGN
            && let Some(kind) = asked::design(&self.fields)
        {
            lines.extend(on.words(kind.purpose(), Meaning::Muted));
        }
        match &self.found {
            Found::Nothing => {
                lines.extend(on.words("Enter lays the glasses out and says what they would tell.", Meaning::Muted));
            }
            Found::Refused(why) => lines.extend(on.words(why, Meaning::Error)),
            _ if self.is_changed() => {
                lines.extend(on.words("What is written has changed since: enter lays it out anew.", Meaning::Warning));
            }
            Found::Working(_) | Found::Laid(_) => {}
        }
        let Some(laid) = self.laid() else { return lines };
        lines.extend(on.words(&laid.rule, Meaning::Strong));
        lines.extend(on.words(&laid.error, Meaning::Base));
        lines.extend(on.words(&format!("To draw: {}.", laid.drawn), Meaning::Base));
        lines.extend(laid.supply.iter().chain(&laid.shortfalls).flat_map(|words| on.words(words, Meaning::Due)));
        lines
    }

    /// What a second sitting has of the first.
    fn first(&self, on: Sheet<'_>) -> Vec<Line<'static>> {
        let first = self.after.as_ref().and_then(|first| on.model.state.trials.by_label(first.as_str()));
        let Some(first) = first else { return Vec::new() };
        let vessel = |it: &Component| on.model.state.vessels.get(it.vessel).label.to_string();
        let wines: Vec<String> = first.components().iter().map(vessel).collect();
        let kept = first.laid_out_for().into_iter().flatten().map(|words| format!("; {words}"));
        let words = format!("As at {}: {}{}.", first.label, all_of(&wines), kept.collect::<String>());
        on.words(&words, Meaning::Muted)
    }

    /// What the glasses are for, and how good for that.
    fn glasses(&self, on: Sheet<'_>) -> Vec<Line<'static>> {
        self.laid().map_or_else(Vec::new, |laid| on.titled("The glasses", on.words(&laid.judged, Meaning::Base)))
    }

    /// What the panel would tell.
    fn told(&self, on: Sheet<'_>) -> Vec<Line<'static>> {
        let Some(laid) = self.laid().filter(|laid| !laid.table.is_empty()) else { return Vec::new() };
        let mut lines: Vec<Line<'static>> = laid.table.iter().map(|line| on.line(line, Meaning::Base)).collect();
        let panels = counted(laid.panels, "simulated panel");
        let going = if matches!(self.found, Found::Working(_)) { ", and more are coming" } else { "" };
        lines.extend(on.words(&format!("{FIELDS} From {panels} each{going}."), Meaning::Muted));
        on.titled(HEADING, lines)
    }
}
