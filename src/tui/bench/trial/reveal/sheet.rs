//! How an opened trial is drawn: what the panel says of the ratio, the surface, the glasses and the tasters.

use ratatui::text::{Line, Span};

use super::{Read, RevealPage, Seal, percents};
use crate::cellar::core::label::Label;
use crate::cellar::jobs::bench::trial::outlook::RatioReading;
use crate::cellar::jobs::bench::trial::rating::Rating;
use crate::cellar::jobs::bench::trial::reading::GlassReading;
use crate::reckon::panel::TasterNote;
use crate::reckon::scale_up::{Limit, ScaleError};
use crate::tui::bench::trial::surface::{View, draw, views};
use crate::tui::core::draw::beside;
use crate::tui::core::sheet::Sheet;
use crate::tui::core::text::{fit, left, right, wrap, wrap_parts};
use crate::tui::core::theme::Meaning;
use crate::units::{Shares, apportion, figure_to, whole_litres};

/// Columns of the bar of a ratio.
const BAR: usize = 20;
/// Columns of the letters of groups.
const GROUPS: usize = 6;
/// Who said what stands so far in.
const INDENT: usize = 8;
/// Between a drawing and what its signs mean.
const LEGEND_GAP: usize = 2;

/// What the page is written on.
pub(super) struct RevealSheet<'a> {
    pub on: Sheet<'a>,
    pub page: &'a RevealPage,
    pub read: &'a Read,
    pub height: usize,
}

impl RevealSheet<'_> {
    /// What the panel says of the ratio, what became of it, and what could be blended.
    pub fn ratios(&self) -> Vec<Line<'static>> {
        let (reading, outlook) = (&self.read.reading, &self.read.outlook);
        let mut lines = broken_seal(self.on, &self.page.seal);
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
    pub fn told(&self) -> Vec<Line<'static>> {
        let reading = &self.read.reading;
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
        let names = self.read.reading.components.iter().enumerate();
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
    pub fn surface(&self) -> Vec<Line<'static>> {
        self.on.titled("The surface", self.drawing())
    }

    /// How sure the ratio is, and what proves the key.
    pub fn how_sure(&self) -> Vec<Line<'static>> {
        let words = self.read.reading.how_sure();
        let words = if words.is_empty() { self.read.reading.surface_words() } else { words };
        let words = words.iter().flat_map(|words| self.on.words(words, Meaning::Base)).collect();
        let told = self.on.titled("How sure it is", words).into_iter().skip(1);
        told.chain(self.sealed()).collect()
    }

    fn drawing(&self) -> Vec<Line<'static>> {
        let views = views(&self.read.reading);
        let Some(&view) = views.get(self.page.view % views.len().max(1)) else { return Vec::new() };
        let rows = self.height.saturating_sub(4).clamp(8, 22);
        let room = match view {
            View::Triangle(_) => (self.on.width * 3 / 5, rows),
            View::Along(_) => (self.on.width, rows.saturating_sub(5)),
        };
        let Some(drawing) = draw(self.on.model, &self.read.reading, view, room) else { return Vec::new() };
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
                        let names = tanks.iter().map(|&tank| self.read.reading.components[tank].as_str());
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
            broken_seal(self.on, &self.page.seal)
        });
        self.on.titled("The seal", lines)
    }
}

/// A key that is not the one that was sealed is told before anything else.
pub(super) fn broken_seal(on: Sheet<'_>, seal: &Seal) -> Vec<Line<'static>> {
    let words = "THE KEY IS NOT THE ONE THAT WAS SEALED. Check the log with `barrelwalk verify`.";
    if seal.as_sealed { Vec::new() } else { on.words(words, Meaning::Error) }
}

/// What stands over the tasters.
const TASTER_HEAD: &str = "                   glasses  mean  spread  strays  goes with the rest";

/// The letter of a component.
fn letter(component: usize) -> char {
    ('A'..='Z').nth(component).unwrap_or('?')
}

/// What a taster said of a glass.
fn said(rating: &Rating) -> String {
    let score = rating.score.map_or_else(String::new, |score| format!(" {score}"));
    let rank = rating.rank.map_or_else(String::new, |rank| format!(" rank {rank}"));
    let text = rating.text.as_ref().map_or_else(String::new, |text| format!(" ({text})"));
    format!("{}{score}{rank}{text}", rating.taster)
}
