//! What becomes of what is written on the page of the results.

use super::things::{OnPage, Thing};
use super::{Filled, ResultsPage, Spot, sheet};
use crate::cellar::core::fact::{FactId, What};
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::{Moment, WallTime};
use crate::cellar::core::question::Question;
use crate::cellar::core::state::State;
use crate::cellar::core::when::day;
use crate::cellar::jobs::tests::testing::{Readings, Tested};
use crate::cellar::views::tests::results::Finding;
use crate::desk::Act;
use crate::import::analytes::{Figure, is_acid_open, written, written_of_house};
use crate::import::tests::Of;
use crate::told::meant::{labels, meant};
use crate::told::tests::{found, kept_as_bound};
use crate::tui::core::asking;
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::page::{Page, Turn};
use crate::tui::core::then::Then;
use crate::tui::core::work::Work;
use crate::tui::edge::screen::Effect;
use crate::units::{DateForm, counted};

/// It was said that acidities are given as each its own acid.
#[derive(Debug)]
struct AcidAnswered;

/// What takes a laboratory away that is said.
const NOBODY: &str = "-";

impl ResultsPage {
    /// Takes what is written, and goes where it leads.
    pub(super) fn take(&mut self, model: &mut Model, to: (Spot, usize)) -> Turn {
        let text = self.line.trim().to_owned();
        let taken = match self.spot {
            Spot::Day => self.take_day(model, &text),
            Spot::Laboratory => self.take_laboratory(&text),
            Spot::Another => return self.go_to_label(model, &text),
            Spot::Line(_) if is_label(&model.state, &text) => return self.go_to_label(model, &text),
            Spot::Line(_) => return self.take_figure(model, &text, to),
        };
        match taken {
            Ok(()) => {
                self.line.clear();
                self.gather(model);
                (self.spot, self.column) = to;
                self.wants(model).into()
            }
            Err(why) => refused(model, why),
        }
    }

    fn take_day(&mut self, model: &Model, text: &str) -> Result<(), String> {
        let today = model.clock.date();
        let told = day(text, today).ok_or("No day is told by that. Write it like 27 Nov, 2026-11-27 or yesterday.")?;
        let day = told.map_err(|error| error.to_string())?;
        if day > today {
            return Err(format!("{} lies in the future.", day.format(DateForm::customary().date())));
        }
        self.day = Some(day).filter(|day| *day != model.now.date());
        Ok(())
    }

    fn take_laboratory(&mut self, text: &str) -> Result<(), String> {
        self.lab = if text == NOBODY { None } else { Some(Text::new(text).map_err(|error| error.to_string())?) };
        Ok(())
    }

    /// Goes to the line of a label; where there is none, it is added.
    fn go_to_label(&mut self, model: &mut Model, text: &str) -> Turn {
        let thing = match named(&model.state, text) {
            Ok(thing) => thing,
            Err(why) => return refused(model, why),
        };
        if !self.things.contains(&thing) {
            self.added.push(thing.clone());
            self.things.push(thing.clone());
        }
        let at = self.things.iter().position(|it| *it == thing);
        self.spot = at.map_or(Spot::Another, Spot::Line);
        self.line.clear();
        Turn::stay()
    }

    /// Stores a figure in the chosen cell: as a test, or with what was found of the thing that day before.
    fn take_figure(&mut self, model: &mut Model, text: &str, to: (Spot, usize)) -> Turn {
        if let Some(why) = model.why_read_only() {
            return refused(model, why);
        }
        let Some((thing, finding)) = self.thing().zip(self.finding()) else { return Turn::stay() };
        let figure = match value(&model.state, finding, text) {
            Ok(figure) => figure,
            Err(why) => return refused(model, format!("{why}.")),
        };
        let only = self.only(thing, finding, figure.value);
        let on_page = self.on_page(model, thing);
        let before = on_page.iter().find_map(|it| finding.said_by(it.tested));
        if before == Some(figure.value) {
            let said = format!("{} stands there already.", found(&model.state, &only));
            model.say(said, Tone::Notice);
            self.line.clear();
            (self.spot, self.column) = to;
            return Turn::stay();
        }
        if self.asks_of_acid(model, [(finding, text)]) {
            return Turn::stay();
        }
        let in_place = before.map_or_else(String::new, |before| {
            format!(", in place of {}", sheet::figure(&model.state, finding, before))
        });
        let say = format!("{}{in_place}.", found(&model.state, &only));
        self.add(model, only, &[(finding.clone(), figure)], say, to)
    }

    /// Asks once as which acid figures of acidities are given, where neither they nor the house say so; whether it asks now.
    fn asks_of_acid<'a>(&self, model: &mut Model, figures: impl IntoIterator<Item = (&'a Finding, &'a str)>) -> bool {
        let house = model.state.practice.acid_unit;
        let open = figures.into_iter().find_map(|(finding, text)| match finding {
            Finding::Known(analyte) if is_acid_open(*analyte, text, house) => Some(*analyte),
            _ => None,
        });
        let Some(analyte) = open.filter(|_| model.kept.get::<AcidAnswered>().is_none()) else { return false };
        // What is pasted comes by no key: it is asked, and the next time taken.
        let is_pasted = self.line.is_empty();
        let is_answered = asking::ask(model, vec![Question::WhichAcid { analyte }]);
        if is_answered || is_pasted {
            model.kept.put(AcidAnswered);
        }
        !is_answered
    }

    /// Stores figures of the chosen line, one beside the other as they stand in a row of another table, from the chosen cell on.
    pub(super) fn take_row(&mut self, model: &mut Model, cells: &[&str]) -> Turn {
        if let Some(why) = model.why_read_only() {
            return model.refuse(why).into();
        }
        let Some(thing) = self.thing().cloned() else { return Turn::stay() };
        let mut figures: Vec<(Finding, Figure)> = Vec::new();
        for (at, cell) in cells.iter().enumerate().filter(|(_, cell)| !cell.is_empty()) {
            let Some(finding) = self.findings.get(self.column + at) else {
                let columns = counted(self.findings.len() - self.column, "column");
                let why = format!("That is {} and here are {columns}.", counted(cells.len(), "figure"));
                return model.refuse(why).into();
            };
            match value(&model.state, finding, cell) {
                Ok(figure) => figures.push((finding.clone(), figure)),
                Err(why) => return model.refuse(format!("{why}. Nothing of the row is entered.")).into(),
            }
        }
        let texts = cells.iter().filter(|cell| !cell.is_empty());
        if self.asks_of_acid(model, figures.iter().map(|(finding, _)| finding).zip(texts.copied())) {
            return Turn::stay();
        }
        let tested = thing.of.tested(thing.label.clone(), Readings::default(), None);
        let mut only = Tested { lab: self.lab.clone(), ..tested };
        for (finding, figure) in &figures {
            finding.say(&mut only, Some(figure.value));
        }
        let say = format!("{}.", found(&model.state, &only));
        let last = self.findings.len().saturating_sub(1);
        let to = (self.spot, (self.column + cells.len()).min(last));
        self.add(model, only, &figures, say, to)
    }

    /// Stores figures of the chosen line with what was found of it that day before.
    fn add(
        &self,
        model: &mut Model,
        only: Tested,
        figures: &[(Finding, Figure)],
        mut say: String,
        to: (Spot, usize),
    ) -> Turn {
        let Some(thing) = self.thing() else { return Turn::stay() };
        let on_page = self.on_page(model, thing);
        let says_one = |it: &&OnPage<'_>| figures.iter().any(|(finding, _)| finding.said_by(it.tested).is_some());
        let (tested, replaces) = match on_page.iter().find(says_one).or(on_page.first()) {
            Some(OnPage { id, tested, .. }) => {
                let mut tested = (*tested).clone();
                for (finding, figure) in figures {
                    finding.say(&mut tested, Some(figure.value));
                }
                (tested, vec![(*id).clone()])
            }
            None => (only.clone(), Vec::new()),
        };
        let below: Vec<String> = figures.iter().filter_map(|(_, figure)| figure.below.clone()).collect();
        if !below.is_empty() {
            say = format!("{say} {}", kept_as_bound(&below));
        }
        let names: Vec<&str> = figures.iter().map(|(finding, _)| finding.name()).collect();
        let note = self.noted(&replaces, &names, below);
        // What else stands in the test was asked when it was written.
        if !asking::may_enter(model, &[What::Tested(Box::new(only))]) {
            return Turn::stay();
        }
        self.store(model, (vec![What::Tested(Box::new(tested))], replaces, note), say, to)
    }

    /// The words beside a test: those of the one that it takes the place of, without those on what is said anew, and the new ones.
    fn noted(&self, replaces: &[FactId], anew: &[&str], below: Vec<String>) -> Option<Text> {
        let before = self.entered.iter().filter(|it| replaces.contains(&it.fact)).filter_map(|it| it.note.as_ref());
        let is_anew = |part: &&str| {
            anew.iter()
                .any(|name| part.strip_prefix(name).is_some_and(|rest| rest.trim_start().starts_with(['<', '≤'])))
        };
        let stays = before.flat_map(|note| note.as_str().split("; ")).filter(|part| !is_anew(part)).map(str::to_owned);
        let words: Vec<String> = stays.chain(below).collect();
        if words.is_empty() { None } else { Text::new(&words.join("; ")).ok() }
    }

    /// A test of nothing but one figure.
    fn only(&self, thing: &Thing, finding: &Finding, value: f64) -> Tested {
        let tested = thing.of.tested(thing.label.clone(), Readings::default(), None);
        let mut tested = Tested { lab: self.lab.clone(), ..tested };
        finding.say(&mut tested, Some(value));
        tested
    }

    /// Takes back what is stored in the chosen cell; what else was found stays.
    pub(super) fn take_back(&mut self, model: &mut Model) -> Turn {
        let Some((finding, stored)) = self.finding().zip(self.stored_here(model)) else { return Turn::stay() };
        let mut tested = stored.tested.clone();
        let value = finding.said_by(&tested).unwrap_or_default();
        finding.say(&mut tested, None);
        let is_empty = tested.readings.are_none() && tested.values.is_none();
        let (back, replaces) = (if is_empty { "y" } else { "u" }, vec![stored.id.clone()]);
        let whats = if is_empty { Vec::new() } else { vec![What::Tested(Box::new(tested))] };
        let label = self.thing().map_or_else(String::new, |thing| thing.label.to_string());
        let value = sheet::figure(&model.state, finding, value);
        let say = format!("Taken back: {} {value} of {label}. {back} gives it back.", finding.name());
        let note = self.noted(&replaces, &[finding.name()], Vec::new());
        self.line.clear();
        self.store(model, (whats, replaces, note), say, (self.spot, self.column))
    }

    /// Wishes that an act be stored as of the day of the page.
    fn store(
        &self,
        model: &mut Model,
        (whats, replaces, note): (Vec<What>, Vec<FactId>, Option<Text>),
        say: String,
        (spot, column): (Spot, usize),
    ) -> Turn {
        let act = Act { note, replaces, ..model.act(whats) };
        let act = match self.day.filter(|day| *day != model.now.date()) {
            None => act,
            Some(day) => match Moment::on_wall(WallTime { day, time: None }, model.clock) {
                Ok(at) => Act { at: Some(at), ..act },
                Err(error) => return refused(model, error.to_string()),
            },
        };
        Turn::from(vec![Effect::Work(Work::Enter { act, say, then: Then::of(Filled { spot, column }) })])
    }

    /// What enter takes the figure for that is written, or why it does not take it.
    pub(super) fn meant(&self, model: &Model) -> Result<String, String> {
        let text = self.line.trim();
        let thing = self.thing().filter(|_| !is_label(&model.state, text));
        let Some((thing, finding)) = thing.zip(self.finding()) else {
            return named(&model.state, text).map(|thing| format!("the {} {}", thing.of.word(), thing.label));
        };
        let figure = value(&model.state, finding, text).map_err(|why| format!("{why}."))?;
        let only = self.only(thing, finding, figure.value);
        let words = found(&model.state, &only);
        What::Tested(Box::new(only)).deed().permitted(&model.state, false).map_err(|refusal| refusal.to_string())?;
        Ok(words)
    }
}

/// Says why what is written is not taken, and marks it.
fn refused(model: &mut Model, why: String) -> Turn {
    model.marked.on = true;
    model.refuse(why).into()
}

/// What is written in a column, as it is kept.
fn value(state: &State, finding: &Finding, text: &str) -> Result<Figure, String> {
    match finding {
        Finding::Known(analyte) => written(*analyte, text, state.practice.acid_unit),
        Finding::OfHouse(name) => match state.house_analyte(name) {
            Some(house) => written_of_house(house, text),
            None => Err(format!("'{name}' is not declared any more")),
        },
    }
}

/// Whether what is written in a cell is a label and no figure: it begins with a letter, or as no figure does and something is called so.
fn is_label(state: &State, text: &str) -> bool {
    let mut signs = text.chars();
    match (signs.next(), signs.next()) {
        (Some(first), _) if first.is_alphabetic() => true,
        (Some('0'), Some(second)) => second.is_ascii_digit() && state.vessels.find(text).is_some(),
        _ => false,
    }
}

/// What bears a label; a word before it says which of several.
fn named(state: &State, text: &str) -> Result<Thing, String> {
    let label = Label::new(text).map_err(|error| error.to_string())?;
    let said = [Of::Vessel, Of::Lot, Of::Sample].into_iter().find_map(|of| {
        let rest = text.strip_prefix(of.word())?.strip_prefix(' ')?;
        Some(Thing { of, label: Label::new(rest).ok()? })
    });
    match Of::called(&label, state) {
        Ok(Some(of)) => Ok(Thing { of, label }),
        Err(why) => Err(format!("{why}. Write which it is before it, like lot {label}.")),
        Ok(None) => said.filter(|said| said.of.is_there(state, &said.label)).ok_or_else(|| {
            let hint = meant(text, labels(&state.vessels)).unwrap_or_default();
            format!("No vessel, lot or sample is called '{label}'. Check the label.{hint}")
        }),
    }
}

/// The figures of a row that was pasted, where it holds several: between tabs, semicolons or several blanks.
pub(super) fn row(text: &str) -> Option<Vec<&str>> {
    let text = text.trim_matches(['\n', '\r']);
    let cells: Vec<&str> = if text.contains('\t') {
        text.split('\t').collect()
    } else if text.contains(';') {
        text.split(';').collect()
    } else {
        text.split("  ").filter(|cell| !cell.trim().is_empty()).collect()
    };
    let is_one_line = !text.contains(['\n', '\r']);
    (is_one_line && cells.len() > 1).then(|| cells.into_iter().map(str::trim).collect())
}
