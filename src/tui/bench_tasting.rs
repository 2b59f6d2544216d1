//! Tasting blind at the bench, on the screen: barrels are chosen on the floor, tasted by the number of the glass on a page
//! that names none of them, and opened at the end.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

use crate::cellar::bench_tasting::{Flight, MOST_GLASSES, Pick};
use crate::cellar::fact::What;
use crate::cellar::label::{Label, TEXT_CHARACTERS, is_unsafe};
use crate::cellar::question::Question;
use crate::cellar::tasting::Impression;
use crate::tui::asking;
use crate::tui::draw::write_lines;
use crate::tui::floor::holding::Offer;
use crate::tui::model::{Mode, Model, Tone};
use crate::tui::text::{self, fit};
use crate::tui::theme::Meaning;
use crate::tui::update::Wishes;
use crate::tui::work::Then;

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
    /// What is being written of it.
    pub line: String,
    /// Whether it was asked once already whether to reveal them.
    pub asked: bool,
}

impl Model {
    /// Why the program should not be left yet: glasses stand poured, and what was said of them is in no fact.
    pub(super) fn poured_glasses(&self) -> Option<String> {
        let flight = &self.bench.as_ref()?.flight;
        let glasses = flight.impressions().len();
        let tasted = glasses - flight.untasted().len();
        Some(match tasted {
            0 => format!("{glasses} glasses stand poured at the bench, none tasted yet."),
            _ => format!(
                "{glasses} glasses stand poured at the bench, {tasted} tasted: no taste is entered before they are revealed."
            ),
        })
    }
}

/// Puts the barrel under the cursor among those that go into glasses, or takes it out.
pub(super) fn choose_barrel(model: &mut Model) {
    let Some(label) = model.chosen_vessel().map(|vessel| vessel.label.clone()) else { return };
    if let Some(index) = model.for_bench.iter().position(|chosen| *chosen == label) {
        model.for_bench.remove(index);
        model.say(format!("{label} does not go into a glass; {} do.", model.for_bench.len()), Tone::Done);
    } else if model.for_bench.len() == MOST_GLASSES {
        model.say(
            "Ten barrels are chosen, and there are ten glasses. Enter, then 'blind at the bench', tastes them.",
            Tone::Refused,
        );
    } else {
        model.for_bench.push(label.clone());
        let count = model.for_bench.len();
        model.say(
            format!("{label} goes into a glass, {count} of at most {MOST_GLASSES}; enter, then 'blind at the bench', tastes them."),
            Tone::Done,
        );
    }
}

/// Pours the barrels that were chosen and still hold wine.
pub(super) fn pour_chosen(model: &mut Model) {
    let barrels = std::mem::take(&mut model.for_bench);
    let holds_wine = |label: &Label| model.state.vessels.by_label(label.as_str()).is_some_and(|it| !it.wine.is_empty());
    let barrels = barrels.into_iter().filter(holds_wine).collect();
    pour(model, barrels);
}

/// Picks barrels of a lot in one of the ways that are offered.
pub(super) fn pick(model: &mut Model, lot: &Label, way: usize) -> Wishes {
    let lot = model.state.lots.find(lot.as_str());
    let Some((lot, &(pick, _))) = lot.zip(PICKS.get(way)) else { return Vec::new() };
    let barrels = model.state.picked_for_bench(lot, pick, seed(model));
    let labels = barrels.into_iter().map(|id| model.state.vessels.get(id).label.clone()).collect();
    pour(model, labels);
    Vec::new()
}

/// Nobody knows the microsecond in which a key is pressed.
fn seed(model: &Model) -> u64 {
    model.now.instant().cast_unsigned()
}

fn pour(model: &mut Model, barrels: Vec<Label>) {
    if barrels.len() < 2 {
        model.mode = Mode::Floor;
        model.say("One barrel cannot be tasted blind. Choose at least two that hold wine, with +.", Tone::Refused);
        return;
    }
    let flight = Flight::pour(barrels, seed(model));
    model.bench = Some(Bench { flight, glass: 0, line: String::new(), asked: false });
    model.mode = Mode::Bench;
}

/// Takes characters into what is written of a glass.
pub(super) fn write(model: &mut Model, text: &str) {
    if let Some(bench) = &mut model.bench {
        bench.asked = false;
        bench.line.extend(text.chars().filter(|character| !is_unsafe(*character)).take(TEXT_CHARACTERS));
    }
}

/// Goes to another glass.
pub(super) fn step(model: &mut Model, by: isize) {
    let Some(bench) = &mut model.bench else { return };
    if !bench.line.trim().is_empty() {
        model.say("What is written is not taken yet: enter takes it.", Tone::Refused);
        return;
    }
    let last = bench.flight.impressions().len().saturating_sub(1);
    (bench.glass, bench.asked) = (bench.glass.saturating_add_signed(by).min(last), false);
    bench.line.clear();
}

/// Takes what is written of a glass and goes on to the next that was not tasted. With nothing written and nothing left to
/// taste it asks whether to reveal them.
pub(super) fn take(model: &mut Model) -> Wishes {
    let Some(bench) = &mut model.bench else { return Vec::new() };
    if bench.line.trim().is_empty() {
        if bench.flight.untasted().is_empty() {
            return open(model);
        }
    } else {
        let over = bench.flight.impressions().nth(bench.glass).filter(|said| **said != Impression::default());
        let question = over.map(|said| {
            let glass = format!("Glass {}", bench.glass + 1);
            Question::GlassSaid { glass, said: format!("tasted, {},", said.show()) }
        });
        if !asking::may_go_on(model, question) {
            return Vec::new();
        }
        let Some(bench) = &mut model.bench else { return Vec::new() };
        let taken = match Impression::read(&bench.line, &model.state) {
            Ok(said) => bench.flight.taste(bench.glass, said).map_err(|refusal| refusal.to_string()),
            Err(error) => Err(error.to_string()),
        };
        if let Err(why) = taken {
            model.say(why, Tone::Refused);
            return Vec::new();
        }
    }
    let Some(bench) = &mut model.bench else { return Vec::new() };
    bench.line.clear();
    bench.asked = false;
    let untasted = bench.flight.untasted();
    let next = untasted.iter().find(|&&glass| glass > bench.glass).or(untasted.first());
    bench.glass = next.copied().unwrap_or(bench.glass);
    if untasted.is_empty() {
        model.say("Every glass is tasted. Enter reveals them; up and down go back to a glass.", Tone::Notice);
    }
    Vec::new()
}

/// Reveals the glasses: asks once, then enters all tastes together.
pub(super) fn open(model: &mut Model) -> Wishes {
    let now = model.now;
    let Some(bench) = &mut model.bench else { return Vec::new() };
    if !std::mem::replace(&mut bench.asked, true) {
        let left = bench.flight.untasted().len();
        let still = if left == 0 { "Every glass is tasted.".to_owned() } else { format!("{left} not tasted yet.") };
        model.say(asking::once_more(&Question::Reveal { standing: still }.to_string()), Tone::Notice);
        return Vec::new();
    }
    let tastes = bench.flight.tastes(&model.state, now);
    if tastes.is_empty() {
        (model.bench, model.mode) = (None, Mode::Floor);
        model.say("Nothing was said of any glass; they are put away.", Tone::Notice);
        return Vec::new();
    }
    let say = format!("Revealed; tastes entered: {}.", tastes.len());
    model.enter(tastes, say, Then::RevealGlasses)
}

/// Shows which barrel stood in which glass, once their tastes are stored.
pub(super) fn opened(model: &mut Model) {
    if let Some(bench) = model.bench.take() {
        model.mode = Mode::Opened(bench.flight, 0);
    }
}

/// The holds to offer for faults that were found at the bench, when the page that tells the barrels is left.
pub(super) fn left(model: &Model) -> Option<Offer> {
    let Mode::Opened(flight, _) = &model.mode else { return None };
    let whats = flight.tastes(&model.state, model.now);
    let tastes = whats.iter().filter_map(|what| match what {
        What::Tasted(taste) => Some(&**taste),
        _ => None,
    });
    Offer::after(tastes, &model.state)
}

/// Draws the glasses over everything: no barrel may be read anywhere while they are tasted.
pub(super) fn draw(model: &Model, frame: &mut Frame<'_>, area: Rect) {
    let Some(bench) = &model.bench else { return };
    let theme = model.looks.theme;
    let marks = model.looks.marks;
    let width = usize::from(area.width).saturating_sub(2);
    let untasted = bench.flight.untasted().len();
    let title = format!("Blind at the bench: {} glasses, {untasted} to taste", bench.flight.impressions().len());
    let mut lines = vec![Line::styled(fit(&title, width, marks), theme.style(Meaning::Title)), Line::default()];
    for (index, said) in bench.flight.impressions().enumerate() {
        let here = index == bench.glass;
        let pointer = if here { marks.chosen_left } else { ' ' };
        let number = format!("{pointer} glass {:>2}  ", index + 1);
        let room = width.saturating_sub(number.chars().count());
        let (text, meaning) = if here && !bench.line.is_empty() {
            (model.written(&bench.line, room.saturating_sub(1)), Meaning::Strong)
        } else if *said == Impression::default() {
            (if here { "_".to_owned() } else { "-".to_owned() }, Meaning::Muted)
        } else {
            (text::left(&said.show(), room, marks), Meaning::Base)
        };
        let number_meaning = if here { Meaning::Strong } else { Meaning::Muted };
        lines.push(Line::from(vec![
            Span::styled(number, theme.style(number_meaning)),
            Span::styled(text, theme.style(meaning)),
        ]));
    }
    lines.push(Line::default());
    let how =
        "A score, then marks or keys; enter takes it. Leave with esc and come back with =: the glasses stay poured.";
    let kill = "Nothing is stored before they are revealed.";
    for words in [how, kill] {
        for line in text::wrap(words, width, marks) {
            lines.push(Line::styled(line, theme.style(Meaning::Muted)));
        }
    }
    write_lines(frame, Rect { x: area.x + 1, width: area.width.saturating_sub(2), ..area }, lines);
}

/// The lines of the page that tells the barrels, the best score first.
pub(super) fn opened_lines(model: &Model, flight: &Flight, width: usize) -> Vec<Line<'static>> {
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
