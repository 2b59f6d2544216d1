//! The page of an opened trial: what the panel says in words, the glasses by their places, the tasters, and the surface.

use std::sync::Arc;

use ratatui::text::{Line, Span};

use super::choosing;
use super::surface::{View, draw, views};
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{State, TrialId};
use crate::cellar::jobs::bench::trial::outlook::{Outlook, RatioReading};
use crate::cellar::jobs::bench::trial::rating::Rating;
use crate::cellar::jobs::bench::trial::reading::{GlassReading, TrialReading};
use crate::cellar::jobs::bench::trial::refusal::TrialRefusal;
use crate::cellar::jobs::bench::trial::{Key, Trial};
use crate::reckon::panel::TasterNote;
use crate::reckon::scale_up::{Limit, ScaleError};
use crate::tui::core::draw::beside;
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::page::{About, Before, Followed, Opens, Page, Row, Table, Turn};
use crate::tui::core::sense::Sense;
use crate::tui::core::sheet::Sheet;
use crate::tui::core::text::{fit, left, right, wrap, wrap_parts};
use crate::tui::core::theme::Meaning;
use crate::units::{Shares, apportion, figure_to, whole_litres};

/// From this width on the surface stands beside the glasses.
const BESIDE_FROM: usize = 130;
/// Between the two.
const GAP: usize = 3;
/// Columns of the bar of a ratio.
const BAR: usize = 20;
/// Columns of the letters of groups.
const GROUPS: usize = 6;
/// Who said what stands so far in.
const INDENT: usize = 8;
/// Between a drawing and what its signs mean.
const LEGEND_GAP: usize = 2;

/// An opened trial on the screen.
#[derive(Clone, Debug, PartialEq)]
pub struct RevealPage {
    /// Which trial.
    trial: Label,
    /// When it was revealed.
    revealed: Moment,
    seal: Seal,
    /// The trial as it was read.
    of: Trial,
    /// What it says.
    pub reading: Arc<TrialReading>,
    /// What was blended and what could be.
    outlook: Outlook,
    /// Which drawing of the surface is shown.
    view: usize,
    /// Whether its other side is shown: how sure it is, and the seal.
    other_side: bool,
    /// From which line on it is shown.
    line: usize,
}

/// What proves the key.
#[derive(Clone, Debug, PartialEq)]
struct Seal {
    digest: String,
    salt: Option<Label>,
    /// Whether the key is the one whose digest was printed.
    as_sealed: bool,
}

impl RevealPage {
    /// The page of a trial. Refused while it is not revealed.
    pub fn of(state: &State, id: TrialId) -> Result<RevealPage, TrialRefusal> {
        RevealPage::read(state, id, |key| Arc::new(key.reading(state)))
    }

    fn read(
        state: &State,
        id: TrialId,
        reading: impl FnOnce(Key<'_>) -> Arc<TrialReading>,
    ) -> Result<RevealPage, TrialRefusal> {
        let trial = state.trials.get(id);
        let opened = trial.opened().zip(trial.revealed());
        let (key, revealed) = opened.ok_or_else(|| TrialRefusal::StillSealed(trial.label.clone()))?;
        let reading = reading(key);
        Ok(RevealPage {
            trial: trial.label.clone(),
            of: trial.clone(),
            revealed,
            seal: Seal { digest: trial.digest().to_owned(), salt: key.salt().cloned(), as_sealed: key.is_as_sealed() },
            outlook: key.outlook(state, &reading),
            reading,
            view: 0,
            other_side: false,
            line: 0,
        })
    }

    /// The same page in another state of the cellar; none where the trial is not there. What the panel said is read anew only
    /// where the trial is not the same: it takes longer than all else that comes of a fact.
    fn followed(&self, state: &State) -> Option<RevealPage> {
        let id = state.trials.find(self.trial.as_str())?;
        let is_same =
            |key: Key<'_>| *state.trials.get(id) == self.of && key.component_labels(state) == self.reading.components;
        let reading = |key: Key<'_>| {
            if is_same(key) { Arc::clone(&self.reading) } else { Arc::new(key.reading(state)) }
        };
        let page = RevealPage::read(state, id, reading).ok()?;
        Some(RevealPage { view: self.view, other_side: self.other_side, line: self.line, ..page })
    }

    /// Why nothing can be blended, if nothing can.
    fn why_no_blend(&self, model: &Model) -> Option<String> {
        let none = || "No ratio stands first here. `trial blend` at the desk takes any glass and any ratio.".to_owned();
        model.why_read_only().or_else(|| self.outlook.ratios.is_empty().then(none))
    }

    /// Goes on to the blend, with the ratios that are offered.
    fn choose(&mut self, model: &mut Model) -> Turn {
        let offered = self.outlook.ratios.iter();
        let offered =
            offered.map(|it| (format!("{}: {}", it.ratio, percents(&it.shares)), it.shares.clone())).collect();
        choosing::open(model, &self.trial, offered);
        Turn::stay()
    }

    /// Why no other drawing of the surface can be shown, if none can.
    fn why_no_other_view(&self) -> Option<String> {
        let why = match views(&self.reading).len() {
            0 => "The panel can't tell one ratio from another: there is no surface to draw.",
            1 => "Of two wines one line says all: there is no other drawing.",
            _ => return None,
        };
        Some(why.to_owned())
    }

    /// Turns to the next drawing of the surface, or to the one before, and brings it in sight.
    fn turn_view(&mut self, model: &Model, by: isize) -> Turn {
        let (width, height) = inside(model);
        let count = isize::try_from(views(&self.reading).len()).unwrap_or(1).max(1);
        let turned = (isize::try_from(self.view).unwrap_or(0) + by).rem_euclid(count);
        self.view = usize::try_from(turned).unwrap_or(0);
        self.other_side = false;
        if width < BESIDE_FROM {
            // Behind the empty line that parts it from what stands before.
            self.line = RevealSheet { on: Sheet { model, width }, page: self, height }.ratios().len() + 1;
        }
        Turn::stay()
    }

    fn turn_over(&mut self) -> Turn {
        self.other_side = !self.other_side;
        self.line = 0;
        Turn::stay()
    }
}

impl Table for RevealPage {
    const ABOUT: About = About {
        name: "A trial that is revealed",
        purpose: "The best ratio, or where the panel leans that can't tell; what could be blended; the surface of the score over the shares of \
                  the wines; then the glasses, the best first, with what each held, and how far each taster goes with the rest.\n\
                  The other side says how sure it is, and the seal proves that the key is the one that was printed.",
        opens: Opens::From("the list of trials opens it"),
    };
    #[rustfmt::skip] // a table reads as a table
    const ROWS: &'static [Row<RevealPage>] = &[
        Row::new(Sense::Begin, "Blend it", "Chooses the ratio that is blended, the best first, into which tank and how much, and begins the work of it.", |page: &mut RevealPage, model| page.choose(model)).word(|_, _| Some("blend it".to_owned())).unless(RevealPage::why_no_blend),
        Row::new(Sense::View, "The next drawing", "Draws the surface over the next three wines of the trial, or along one.", |page: &mut RevealPage, model| page.turn_view(model, 1)).word(|_, _| Some("other drawing".to_owned())).unless(|page, _| page.why_no_other_view()),
        Row::new(Sense::OtherSide, "How sure it is", "Turns to how sure the ratio is, what polynomials say and the seal, and back.", |page: &mut RevealPage, _| page.turn_over()).word(|page, _| Some(if page.other_side { "the ratio" } else { "how sure" }.to_owned())),
        Row::new(Sense::Before, "The drawing before", "Goes back by one drawing of the surface.", |page: &mut RevealPage, model| page.turn_view(model, -1)).unless(|page, _| page.why_no_other_view()),
        Row::new(Sense::After, "One drawing on", "Goes on by one drawing of the surface.", |page: &mut RevealPage, model| page.turn_view(model, 1)).unless(|page, _| page.why_no_other_view()),
    ];
}

/// Opens the page of a trial, or says why it stays closed.
pub(super) fn show(model: &mut Model, id: TrialId) {
    match RevealPage::of(&model.state, id) {
        Ok(page) => model.open(page),
        Err(why) => model.say(why.to_string(), Tone::Refused),
    }
}

/// Columns and rows of the page, by the size of the terminal as last told.
fn inside(model: &Model) -> (usize, usize) {
    (usize::from(model.size.width.saturating_sub(2)), usize::from(model.size.height.saturating_sub(4)))
}

impl Page for RevealPage {
    fn title(&self, _model: &Model) -> String {
        format!("The trial {}, revealed {}", self.trial, self.revealed.show_date())
    }

    fn lines(&self, model: &Model, width: usize, height: usize) -> Vec<Line<'static>> {
        let on = |width: usize| RevealSheet { on: Sheet { model, width }, page: self, height };
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

    fn follow(&mut self, model: &mut Model, _before: &Before<'_>) -> Followed {
        let Some(page) = self.followed(&model.state) else { return Followed::Gone(self.trial.to_string()) };
        *self = page;
        Followed::There
    }
}

/// What the page is written on.
struct RevealSheet<'a> {
    on: Sheet<'a>,
    page: &'a RevealPage,
    height: usize,
}

impl RevealSheet<'_> {
    /// What the panel says of the ratio, what became of it, and what could be blended.
    fn ratios(&self) -> Vec<Line<'static>> {
        let (reading, outlook) = (&self.page.reading, &self.page.outlook);
        let mut lines = self.broken_seal();
        for (at, words) in reading.surface_words().iter().enumerate() {
            lines.extend(self.on.words(words, if at == 0 { Meaning::Strong } else { Meaning::Base }));
        }
        lines.extend(outlook.blends.iter().flat_map(|blend| self.on.words(blend, Meaning::Fine)));
        lines.extend(reading.remarks.iter().flat_map(|remark| self.on.words(remark, Meaning::Warning)));
        let changed = outlook.changed.iter().flat_map(|changed| self.on.words(changed, Meaning::Warning));
        let ratios = changed.chain(outlook.ratios.iter().flat_map(|ratio| self.ratio(ratio))).collect();
        lines.extend(self.on.titled("What could be blended", ratios));
        lines
    }

    /// What the panel says of the glasses: glasses, words, tasters.
    fn told(&self) -> Vec<Line<'static>> {
        let reading = &self.page.reading;
        let mut lines = Vec::new();
        let glasses = reading.glasses.iter().flat_map(|glass| self.glass(glass));
        let glasses = std::iter::once(self.components()).chain(std::iter::once(self.glass_head())).chain(glasses);
        lines.extend(
            self.on
                .titled("The glasses, the best first; those that share a letter are not told apart", glasses.collect()),
        );
        let words = reading.panel_words();
        let words = words.iter().flat_map(|words| self.on.words(words, Meaning::Base)).collect();
        lines.extend(self.on.titled("What the panel says of the glasses", words));
        let tasters = reading.panel.as_ref().map_or(&[][..], |panel| &panel.tasters);
        let tasters: Vec<Line<'static>> = tasters.iter().map(|taster| self.taster(taster)).collect();
        if !tasters.is_empty() {
            let head = self.on.line(TASTER_HEAD, Meaning::Muted);
            lines.extend(self.on.titled("The tasters", std::iter::once(head).chain(tasters).collect()));
        }
        lines
    }

    /// The letter of each component in the bars.
    fn components(&self) -> Line<'static> {
        let names = self.page.reading.components.iter().enumerate();
        let spans = names.flat_map(|(at, name)| {
            let style = self.on.model.looks.theme.category(at);
            [Span::styled(letter(at).to_string(), style), Span::raw(format!(" {}  ", fit(name, 14, self.on.marks())))]
        });
        Line::from(spans.collect::<Vec<_>>())
    }

    fn glass_head(&self) -> Line<'static> {
        let head = format!("    code {}  mean ranks        shares, %", left("holds", BAR, self.on.marks()));
        self.on.line(&head, Meaning::Muted)
    }

    /// A glass: its place, code, ratio, mean score, rank sum and letters, and below it who gave it what.
    fn glass(&self, glass: &GlassReading) -> Vec<Line<'static>> {
        let marks = self.on.marks();
        let standing = glass.standing.as_ref();
        let number = |value: Option<f64>| value.map_or_else(String::new, |value| figure_to(1, value));
        let place = glass.place.map_or_else(String::new, |place| place.to_string());
        let mut spans =
            vec![Span::styled(format!("{} {}  ", right(&place, 3, marks), glass.code), self.on.style(Meaning::Strong))];
        spans.extend(self.bar(&glass.shares));
        let mean = number(standing.and_then(|it| it.mean_score));
        let sum = number(standing.filter(|it| it.ranked > 0).map(|it| it.rank_sum));
        let groups = standing.map_or("", |it| it.groups.as_str());
        let numbers = format!(" {}{} {} ", right(&mean, 5, marks), right(&sum, 6, marks), left(groups, GROUPS, marks));
        spans.push(Span::styled(numbers, self.on.style(Meaning::Base)));
        let used: usize = spans.iter().map(Span::width).sum();
        spans.push(Span::styled(
            fit(&percents(&glass.shares), self.on.width.saturating_sub(used), marks),
            self.on.style(Meaning::Base),
        ));
        let mut lines = vec![Line::from(spans)];
        let same = glass.repeat_of.map(|of| format!("the same wine as {of}"));
        let said: Vec<String> = same.into_iter().chain(glass.ratings.iter().map(said)).collect();
        let said = if said.is_empty() { vec!["nobody tasted it".to_owned()] } else { said };
        for line in wrap_parts(&said, self.on.width.saturating_sub(INDENT), marks) {
            lines.push(Line::styled(format!("{}{line}", " ".repeat(INDENT)), self.on.style(Meaning::Muted)));
        }
        lines
    }

    /// A ratio as a bar: the letter of each component for its share.
    fn bar(&self, shares: &Shares) -> Vec<Span<'static>> {
        let weights: Vec<u64> = shares.millionths().iter().map(|&part| u64::from(part)).collect();
        let cells = apportion(BAR as u64, &weights).unwrap_or_default();
        let stretch = |(at, cells): (usize, u64)| {
            let cells = usize::try_from(cells).unwrap_or(0);
            Span::styled(letter(at).to_string().repeat(cells), self.on.model.looks.theme.category(at))
        };
        cells.into_iter().enumerate().map(stretch).collect()
    }

    fn taster(&self, taster: &TasterNote) -> Line<'static> {
        let marks = self.on.marks();
        let number = |value: f64| figure_to(1, value);
        let deviation = taster.deviation.map(number).unwrap_or_default();
        let rest = match &taster.agreement {
            Ok(found) => format!(
                "{:>5} ({} to {})",
                figure_to(2, found.correlation),
                figure_to(2, found.low),
                figure_to(2, found.high)
            ),
            Err(why) => why.to_string(),
        };
        let strays = taster.repeatability.map_or_else(String::new, |it| figure_to(1, it.deviation));
        let text = format!(
            "{} {}{}{}{}  {rest}",
            left(&taster.name, 18, marks),
            right(&taster.tasted.to_string(), 7, marks),
            right(&number(taster.mean), 6, marks),
            right(&deviation, 8, marks),
            right(&strays, 8, marks),
        );
        self.on.line(&text, Meaning::Base)
    }

    /// The picture of the surface.
    fn surface(&self) -> Vec<Line<'static>> {
        self.on.titled("The surface", self.drawing())
    }

    /// How sure the ratio is, and what proves the key.
    fn how_sure(&self) -> Vec<Line<'static>> {
        let words = self.page.reading.how_sure();
        let words = if words.is_empty() { self.page.reading.surface_words() } else { words };
        let words = words.iter().flat_map(|words| self.on.words(words, Meaning::Base)).collect();
        let told = self.on.titled("How sure it is", words).into_iter().skip(1);
        told.chain(self.sealed()).collect()
    }

    fn drawing(&self) -> Vec<Line<'static>> {
        let views = views(&self.page.reading);
        let Some(&view) = views.get(self.page.view % views.len().max(1)) else { return Vec::new() };
        let rows = self.height.saturating_sub(4).clamp(8, 22);
        let room = match view {
            View::Triangle(_) => (self.on.width * 3 / 5, rows),
            View::Along(_) => (self.on.width, rows.saturating_sub(5)),
        };
        let Some(drawing) = draw(self.on.model, &self.page.reading, view, room) else { return Vec::new() };
        let marks = self.on.marks();
        let taken = drawing.lines.iter().map(Line::width).max().unwrap_or(0);
        let muted = self.on.style(Meaning::Muted);
        let legend = |width: usize| -> Vec<Line<'static>> {
            let lines = drawing.legend.iter().flat_map(|text| wrap(text, width, marks));
            lines.map(|line| Line::styled(line, muted)).collect()
        };
        match view {
            View::Triangle(_) => {
                let legend = legend(self.on.width.saturating_sub(taken + LEGEND_GAP));
                beside(drawing.lines.clone(), legend, taken, &[Span::raw(" ".repeat(LEGEND_GAP))])
            }
            View::Along(_) => [drawing.lines.clone(), legend(self.on.width)].concat(),
        }
    }

    /// A ratio that could be blended: its shares, how it compares with the best, and the largest batch.
    fn ratio(&self, ratio: &RatioReading) -> Vec<Line<'static>> {
        let marks = self.on.marks();
        let first = if ratio.first_of.is_empty() {
            String::new()
        } else {
            format!(", put first by {}", ratio.first_of.join(", "))
        };
        let mut parts = vec![format!("{}{first}: {}", ratio.ratio, percents(&ratio.shares))];
        parts.extend(
            ratio.expected.map(|it| {
                format!("expected {} {} {}", figure_to(2, it.score), marks.plus_minus, figure_to(2, it.error))
            }),
        );
        parts.extend(ratio.compared.as_ref().map(|it| {
            let worse = if it.is_worse { "worse" } else { "as good as the best" };
            format!(
                "{} {} {} below, {worse}",
                figure_to(2, it.below.max(0.0)),
                marks.plus_minus,
                figure_to(2, it.error)
            )
        }));
        parts.push(self.batch(ratio));
        let lines = wrap_parts(&parts, self.on.width.saturating_sub(2), marks);
        let style = self.on.style(Meaning::Base);
        let indent = |at: usize| if at == 0 { "" } else { "  " };
        lines.into_iter().enumerate().map(|(at, line)| Line::styled(format!("{}{line}", indent(at)), style)).collect()
    }

    fn batch(&self, ratio: &RatioReading) -> String {
        match &ratio.batch {
            // Why is told above them all.
            Err(ScaleError::Empty(name)) => format!("there is no {name}"),
            Err(why) => why.to_string(),
            Ok(batch) => {
                let end = match &batch.limit {
                    Limit::Tanks(tanks) => {
                        let names = tanks.iter().map(|&tank| self.page.reading.components[tank].as_str());
                        format!(", then {} gives out", names.collect::<Vec<_>>().join(", "))
                    }
                    Limit::Room | Limit::Asked => String::new(),
                };
                format!("enough for {}{end}", whole_litres(batch.volume))
            }
        }
    }

    /// What proves that the key is the one that was sealed.
    fn sealed(&self) -> Vec<Line<'static>> {
        let Seal { digest, salt, as_sealed } = &self.page.seal;
        let salt = salt.as_ref().map_or("none", Label::as_str);
        let mut lines = self.on.words(&format!("SHA-256 {digest}, salt {salt}"), Meaning::Muted);
        lines.extend(if *as_sealed {
            self.on.words("The key is the one that was sealed.", Meaning::Fine)
        } else {
            self.broken_seal()
        });
        self.on.titled("The seal", lines)
    }

    /// A key that is not the one that was sealed is told before anything else.
    fn broken_seal(&self) -> Vec<Line<'static>> {
        let words = "THE KEY IS NOT THE ONE THAT WAS SEALED. Check the log with `barrelwalk verify`.";
        if self.page.seal.as_sealed { Vec::new() } else { self.on.words(words, Meaning::Error) }
    }
}

/// What stands over the tasters.
const TASTER_HEAD: &str = "                   glasses  mean  spread  strays  goes with the rest";

/// The letter of a component.
fn letter(component: usize) -> char {
    ('A'..='Z').nth(component).unwrap_or('?')
}

/// Shares in percent, in the order of the components: `50/30/20`.
fn percents(shares: &Shares) -> String {
    let percent = |&part: &u32| {
        let text = figure_to(1, f64::from(part) / 10_000.0);
        text.strip_suffix(".0").unwrap_or(&text).to_owned()
    };
    shares.millionths().iter().map(percent).collect::<Vec<_>>().join("/")
}

/// What a taster said of a glass.
fn said(rating: &Rating) -> String {
    let score = rating.score.map_or_else(String::new, |score| format!(" {score}"));
    let rank = rating.rank.map_or_else(String::new, |rank| format!(" rank {rank}"));
    let text = rating.text.as_ref().map_or_else(String::new, |text| format!(" ({text})"));
    format!("{}{score}{rank}{text}", rating.taster)
}
