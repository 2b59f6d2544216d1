//! Tasting blind at the bench, on the screen: barrels are chosen on the floor, tasted by the number of the glass on a page
//! that names none of them, and opened at the end.
//!
//! **A flight at the bench is in no fact before it is opened**: a fact of which barrel stands in which glass would be seen by exports and
//! by other laptops. A kill loses at most ten tastes. Its order comes from the microsecond of the key that poured it.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::core::question::Question;
use crate::cellar::core::state::State;
use crate::cellar::jobs::bench::bench_tasting::{Flight, MOST_GLASSES, Pick};
use crate::cellar::jobs::tests::tasting::Impression;
use crate::told::hazard::{Caution, Hazard};
use crate::tui::core::asking;
use crate::tui::core::draw::write_lines;
use crate::tui::core::line::Manner;
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::page::{About, Go, Opens, Page, Row, Table, Turn};
use crate::tui::core::sheet::Sheet;
use crate::tui::core::text::{self, fit};
use crate::tui::core::theme::Meaning;
use crate::tui::core::then::Then;
use crate::tui::floor::holding::Offer;
use crate::units::{by_count, counted};

/// The ways to pick barrels of a lot, in the order in which they are offered.
pub(super) const PICKS: [(Pick, &str); 2] =
    [(Pick::Spread, "ten, as different as can be,"), (Pick::Chance, "ten, by chance,")];

/// Glasses on the bench.
#[derive(Clone, Debug, PartialEq)]
pub struct Bench {
    /// The glasses.
    pub flight: Flight,
    /// Which glass is tasted now, from nought.
    pub glass: usize,
}

impl Bench {
    /// The glasses with a line said of the one that is tasted now, or why that cannot be said.
    fn with_said(&self, line: &str, state: &State) -> Result<Flight, String> {
        let said = Impression::read(line, state).map_err(|error| error.to_string())?;
        let mut flight = self.flight.clone();
        flight.taste(self.glass, said).map_err(|refusal| refusal.to_string())?;
        Ok(flight)
    }

    /// What enter takes a line for, or why it does not take it.
    fn meant(&self, line: &str, state: &State) -> Result<String, String> {
        let flight = self.with_said(line, state)?;
        let said = flight.impressions().nth(self.glass).map_or_else(String::new, Impression::show);
        Ok(format!("glass {}: {said}", self.glass + 1))
    }
}

/// The barrels that are chosen for glasses.
#[derive(Debug, Default)]
struct ForBench(Vec<Label>);

/// The barrels that are chosen for glasses.
pub(in crate::tui) fn for_bench(model: &Model) -> &[Label] {
    model.kept.get::<ForBench>().map_or(&[], |chosen| &chosen.0)
}

/// Why the program should not be left yet: glasses stand poured, and what was said of them is in no fact.
pub(in crate::tui) fn unentered(model: &Model) -> Option<String> {
    let flight = &model.kept.get::<Bench>()?.flight;
    let glasses = flight.impressions().len();
    let tasted = glasses - flight.untasted().len();
    let poured = format!("{} {}", counted(glasses, "glass"), by_count(glasses, "stands", "stand"));
    Some(match tasted {
        0 => format!("{poured} poured at the bench, none tasted yet."),
        _ => format!("{poured} poured at the bench, {tasted} tasted: no taste is entered before they are revealed."),
    })
}

/// Puts the barrel under the cursor among those that go into glasses, or takes it out.
pub(in crate::tui) fn choose_barrel(model: &mut Model) {
    let Some(label) = model.chosen_vessel().map(|vessel| vessel.label.clone()) else { return };
    let ForBench(mut chosen) = model.kept.take().unwrap_or_default();
    if let Some(index) = chosen.iter().position(|chosen| *chosen == label) {
        chosen.remove(index);
        model.say(format!("{label} does not go into a glass; {} do.", chosen.len()), Tone::Done);
    } else if chosen.len() == MOST_GLASSES {
        model.say(
            "Ten barrels are chosen, and there are ten glasses. Enter, then 'blind at the bench', tastes them.",
            Tone::Refused,
        );
    } else {
        chosen.push(label.clone());
        let count = chosen.len();
        model.say(
            format!("{label} goes into a glass, {count} of at most {MOST_GLASSES}; enter, then 'blind at the bench', tastes them."),
            Tone::Done,
        );
    }
    model.kept.put(ForBench(chosen));
}

/// Pours the barrels that were chosen and still hold wine.
pub(super) fn pour_chosen(model: &mut Model) {
    let ForBench(barrels) = model.kept.take().unwrap_or_default();
    let holds_wine = |label: &Label| model.state.vessels.by_label(label.as_str()).is_some_and(|it| !it.wine.is_empty());
    let barrels = barrels.into_iter().filter(holds_wine).collect();
    pour(model, barrels);
}

/// Picks barrels of a lot in one of the ways that are offered.
pub(super) fn pick(model: &mut Model, lot: &Label, way: usize) {
    let lot = model.state.lots.find(lot.as_str());
    let Some((lot, &(pick, _))) = lot.zip(PICKS.get(way)) else { return };
    let barrels = model.state.picked_for_bench(lot, pick, seed(model));
    let labels = barrels.into_iter().map(|id| model.state.vessels.get(id).label.clone()).collect();
    pour(model, labels);
}

/// Nobody knows the microsecond in which a key is pressed.
fn seed(model: &Model) -> u64 {
    model.now.instant().cast_unsigned()
}

fn pour(model: &mut Model, barrels: Vec<Label>) {
    if barrels.len() < 2 {
        model.say("One barrel cannot be tasted blind. Choose at least two that hold wine, with +.", Tone::Refused);
        return;
    }
    let flight = Flight::pour(barrels, seed(model));
    model.kept.put(Bench { flight, glass: 0 });
    model.open(Glasses::default());
}

/// The page of the glasses that stand poured. No barrel may be read anywhere on it.
#[derive(Debug, Default)]
pub struct Glasses {
    /// What is being written of the glass.
    line: String,
}

impl Table for Glasses {
    const ABOUT: About = About {
        name: "Glasses at the bench",
        purpose: "Barrels are tasted by the number of their glass: a score, then marks or their keys, for example: 14.5 pl ta, a little \
                  closed. Up and down go from glass to glass.\n\
                  Nothing is stored before they are revealed. The glasses stay poured when the page is left, and \"blind at the bench\" \
                  comes back to them.",
        opens: Opens::From("at a barrel, the floor lists blind glasses"),
    };
    const ROWS: &'static [Row<Glasses>] = &[Row::listed(
        "Reveal",
        "Tells which barrel stands in which glass, and enters the tastes. It asks once.",
        |_, model| reveal(model),
    )];
}

impl Glasses {
    /// Whether it was asked just now if the glasses are to be revealed.
    fn is_asked(model: &Model) -> bool {
        model.kept.get::<Bench>().is_some_and(|bench| model.asked.contains(&question(&bench.flight).into()))
    }

    /// Takes what is written of a glass and goes on to the next that was not tasted.
    fn take(&mut self, model: &mut Model) {
        let Some(bench) = model.kept.get_mut::<Bench>() else { return };
        let over = bench.flight.impressions().nth(bench.glass).filter(|said| **said != Impression::default());
        let question = over.map(|said| {
            let glass = format!("Glass {}", bench.glass + 1);
            Question::GlassSaid { glass, said: format!("tasted, {},", said.show()) }
        });
        if !asking::may_go_on(model, question) {
            return;
        }
        let Some(bench) = model.kept.get_mut::<Bench>() else { return };
        match bench.with_said(&self.line, &model.state) {
            Ok(flight) => bench.flight = flight,
            Err(why) => return model.say(why, Tone::Refused),
        }
        self.line.clear();
        model.asked.clear();
        let untasted = bench.flight.untasted();
        let next = untasted.iter().find(|&&glass| glass > bench.glass).or(untasted.first());
        bench.glass = next.copied().unwrap_or(bench.glass);
        if untasted.is_empty() {
            model.say("Every glass is tasted. Enter reveals them; up and down go back to a glass.", Tone::Notice);
        }
    }
}

/// Reveals the glasses: asks once, then enters all tastes together.
fn reveal(model: &mut Model) -> Turn {
    let Some(question) = model.kept.get::<Bench>().map(|bench| question(&bench.flight)) else { return Turn::back() };
    if !asking::may_go_on(model, Some(question)) {
        return Turn::stay();
    }
    let tastes = model.kept.get::<Bench>().map_or_else(Vec::new, |bench| bench.flight.tastes(&model.state, model.now));
    if tastes.is_empty() {
        model.kept.take::<Bench>();
        model.say("Nothing was said of any glass; they are put away.", Tone::Notice);
        return Turn::back();
    }
    let say = format!("Revealed; tastes entered: {}.", tastes.len());
    model.enter(tastes, say, Then::of(Revealed)).into()
}

/// What is asked before glasses are revealed.
fn question(flight: &Flight) -> Question {
    let left = flight.untasted().len();
    let standing = if left == 0 { "Every glass is tasted.".to_owned() } else { format!("{left} not tasted yet.") };
    Question::Reveal { standing }
}

impl Page for Glasses {
    fn caution(&self, _model: &Model) -> Caution {
        Caution::of(&[Hazard::Tasting])
    }

    fn title(&self, _model: &Model) -> String {
        "Blind at the bench".to_owned()
    }

    /// What is under way names the vessel that is topped from.
    fn has_own_head(&self) -> bool {
        true
    }

    fn draw(&self, model: &Model, frame: &mut Frame<'_>, area: Rect) {
        draw(model, &self.line, frame, area);
    }

    fn go(&mut self, model: &mut Model, go: Go, _last: usize) -> Turn {
        if !model.may_leave_line(&self.line) {
            return Turn::stay();
        }
        let Some(bench) = model.kept.get_mut::<Bench>() else { return Turn::stay() };
        let last = bench.flight.impressions().len().saturating_sub(1);
        bench.glass = go.line(bench.glass, last, last);
        self.line.clear();
        Turn::stay()
    }

    fn written(&self) -> Option<&str> {
        Some(&self.line)
    }

    fn written_mut(&mut self) -> Option<&mut String> {
        Some(&mut self.line)
    }

    fn manner(&self) -> Manner {
        Manner::OF_CHOSEN
    }

    fn enter_word(&self, model: &Model) -> Option<String> {
        let is_tasted = model.kept.get::<Bench>().is_some_and(|bench| bench.flight.untasted().is_empty());
        let reveals = is_tasted || Glasses::is_asked(model);
        if !self.line.trim().is_empty() {
            return Some("take".to_owned());
        }
        reveals.then(|| "reveal".to_owned())
    }

    /// Takes what is written. With nothing written and nothing left to taste it asks whether to reveal them.
    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        if !self.line.trim().is_empty() {
            self.take(model);
            return Some(Turn::stay());
        }
        let is_tasted = model.kept.get::<Bench>().is_some_and(|bench| bench.flight.untasted().is_empty());
        (is_tasted || Glasses::is_asked(model)).then(|| reveal(model))
    }

    /// Shows which barrel stood in which glass, once their tastes are on disk.
    fn stored(&mut self, model: &mut Model, then: Then) -> Turn {
        if then.word::<Revealed>().is_none() {
            return Turn::stay();
        }
        if let Some(bench) = model.kept.take::<Bench>() {
            model.open(Opened { flight: bench.flight, line: 0 });
        }
        Turn::back()
    }
}

/// The tastes are on disk.
#[derive(Debug)]
struct Revealed;

/// Which barrel stood in which glass, the best score first.
#[derive(Debug)]
pub struct Opened {
    flight: Flight,
    line: usize,
}

impl Table for Opened {
    const ABOUT: About = About {
        name: "Glasses revealed",
        purpose: "Which barrel stood in which glass, the best score first, with its wood and what was said of it. Leaving the page offers \
                  to hold those that have a fault.",
        opens: Opens::From("it opens where blind glasses are revealed"),
    };
    const ROWS: &'static [Row<Opened>] = &[];
}

impl Page for Opened {
    fn title(&self, _model: &Model) -> String {
        "Revealed, the best score first".to_owned()
    }

    fn caution(&self, _model: &Model) -> Caution {
        Caution::of(&[Hazard::Tasting])
    }

    fn lines(&self, model: &Model, width: usize, _height: usize) -> Vec<Line<'static>> {
        opened_lines(model, &self.flight, width)
    }

    fn line_shown(&self) -> Option<usize> {
        Some(self.line)
    }

    fn line_shown_mut(&mut self) -> Option<&mut usize> {
        Some(&mut self.line)
    }

    /// Offers to hold the barrels of which a fault was said.
    fn esc(&mut self, model: &mut Model) -> Turn {
        let whats = self.flight.tastes(&model.state, model.now);
        let tastes = whats.iter().filter_map(|what| match what {
            What::Tasted(taste) => Some(&**taste),
            _ => None,
        });
        if let Some(offer) = Offer::after(tastes, &model.state) {
            model.open(offer);
        }
        Turn::back()
    }
}

/// Draws the glasses over everything: no barrel may be read anywhere while they are tasted.
fn draw(model: &Model, line: &str, frame: &mut Frame<'_>, area: Rect) {
    let Some(bench) = model.kept.get::<Bench>() else { return };
    let width = usize::from(area.width).saturating_sub(2);
    let on = Sheet { model, width };
    let marks = on.marks();
    let untasted = bench.flight.untasted().len();
    let title =
        format!("Blind at the bench: {}, {untasted} to taste", counted(bench.flight.impressions().len(), "glass"));
    let mut lines = vec![on.line(&title, Meaning::Title), Line::default()];
    for (index, said) in bench.flight.impressions().enumerate() {
        let here = index == bench.glass;
        let pointer = if here { marks.chosen_left } else { ' ' };
        let number = format!("{pointer} glass {:>2}  ", index + 1);
        let room = width.saturating_sub(number.chars().count());
        let (text, meaning) = if here && !line.is_empty() {
            (model.written(line, room.saturating_sub(1)), Meaning::Strong)
        } else if *said == Impression::default() {
            (if here { "_".to_owned() } else { "-".to_owned() }, Meaning::Muted)
        } else {
            (text::left(&said.show(), room, marks), Meaning::Base)
        };
        let number_meaning = if here { Meaning::Strong } else { Meaning::Muted };
        lines.push(Line::from(vec![
            Span::styled(number, on.style(number_meaning)),
            Span::styled(text, on.style(meaning)),
        ]));
    }
    lines.push(Line::default());
    let how = "A score, then marks or keys; enter takes it. esc leaves; the glasses stay poured.";
    let kill = "Nothing is stored before they are revealed.";
    lines.extend(on.below_written(line, how, || bench.meant(line, &model.state)));
    lines.extend(on.words(kill, Meaning::Muted));
    write_lines(frame, Rect { x: area.x + 1, width: area.width.saturating_sub(2), ..area }, lines);
}

/// The lines of the page that tells the barrels, the best score first.
fn opened_lines(model: &Model, flight: &Flight, width: usize) -> Vec<Line<'static>> {
    let marks = model.looks.marks;
    let style = |meaning| model.looks.theme.style(meaning);
    let mut glasses: Vec<_> = flight.opened().collect();
    glasses.sort_by(|(.., a), (.., b)| b.score.unwrap_or(-1.0).total_cmp(&a.score.unwrap_or(-1.0)));
    let line = |(number, barrel, said): (usize, &Label, &Impression)| {
        let wood = model.state.vessels.by_label(barrel.as_str()).map_or_else(String::new, |vessel| {
            let known = [vessel.wood.cooper.as_ref(), vessel.wood.forest.as_ref()].into_iter().flatten();
            let parts = known.map(ToString::to_string).chain([format!("fill {}", vessel.fills)]);
            parts.collect::<Vec<_>>().join(", ")
        });
        let words = if *said == Impression::default() { "not tasted".to_owned() } else { said.show() };
        let faulty = !model.state.faults_among(&said.marks).is_empty();
        let (sign, meaning) = if faulty { (marks.warning, Meaning::Over) } else { (' ', Meaning::Base) };
        let (name, wood) = (text::left(barrel.as_str(), 12, marks), text::left(&wood, width / 3, marks));
        let text = format!("{number:>2} {sign} {name} {wood} {words}");
        Line::styled(fit(&text, width, marks), style(meaning))
    };
    glasses.into_iter().map(line).collect()
}
