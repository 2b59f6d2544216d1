//! The surface of a trial, drawn of characters: over three wines as a triangle, along one as a line with its band.
//!
//! ```text
//!            ##                     15.8 |      ---::
//!           #####                        |   :--:::-:::
//!          ## 1###                       |  --        --
//!         =######==                      | -            2
//!        3=======+++                12.1 |2
//! ```
//!
//! Heights are glyphs, so that they say the same without colour; glasses stand on it as their places.
//!
//! **The drawings of a surface** are of glyphs of heights; a full block is kept for what is as good as the best, one below for the rest. A
//! glass stands on a drawing if none of its shares is more than 5 % off it. Nothing is drawn where the panel can't tell.

use ratatui::style::Style;
use ratatui::text::{Line, Span};

use crate::cellar::jobs::bench::trial::reading::{GlassReading, TrialReading};
use crate::reckon::liking::{Best, Poured, Reading};
use crate::reckon::surface::{Predicted, Spot, ternary, trace};
use crate::tui::core::model::Model;
use crate::tui::core::text::right;
use crate::tui::core::theme::Meaning;
use crate::units::{figure_to, percent};

/// A glass stands on a drawing if none of its shares is further from it than this.
const NEAR: f64 = 0.05;
/// What stands where the best ratio is, in the two columns of a place.
const BEST: &str = "<>";
/// Columns of the numbers at the left of a line, with the axis.
const AXIS: usize = 8;
/// The steps below that of what is as good as the best.
const STEPS: f64 = 7.0;
/// Places beyond this take more columns than a place of the triangle has.
const LAST_PLACE: usize = 99;

/// What is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum View {
    /// Three components as a triangle, the others held at their shares in the best ratio.
    Triangle([usize; 3]),
    /// One component from its least to its most, the others in the proportions of the best ratio.
    Along(usize),
}

/// A drawing, and what its signs mean.
pub(super) struct Drawing {
    pub lines: Vec<Line<'static>>,
    pub legend: Vec<String>,
}

/// What can be drawn of a trial: triangles first, then lines, those of the largest shares before the others. Nothing where
/// the panel can't tell.
#[must_use]
pub fn views(reading: &TrialReading) -> Vec<View> {
    let Some((_, best)) = reading.best() else { return Vec::new() };
    let mut order: Vec<usize> = (0..best.shares.len()).collect();
    order.sort_by(|&one, &other| best.shares[other].total_cmp(&best.shares[one]));
    let mut views = Vec::new();
    for third in 2..order.len() {
        for second in 1..third {
            for first in 0..second {
                let mut three = [order[first], order[second], order[third]];
                three.sort_unstable();
                views.push(View::Triangle(three));
            }
        }
    }
    // Of two wines one line says all.
    let lines = if order.len() == 2 { vec![0] } else { order };
    views.extend(lines.into_iter().map(View::Along));
    views
}

/// Draws a view in so many columns and rows.
pub(super) fn draw(
    model: &Model,
    reading: &TrialReading,
    view: View,
    (width, height): (usize, usize),
) -> Option<Drawing> {
    let (said, best) = reading.best()?;
    let on = Surface { model, reading, said, best };
    Some(match view {
        View::Triangle(three) => on.triangle(three, height.min(width / 2).saturating_sub(2).max(4)),
        View::Along(component) => on.along(component, width.saturating_sub(AXIS).max(10), height.clamp(5, 14)),
    })
}

/// A surface with what it is drawn with.
struct Surface<'a> {
    model: &'a Model,
    reading: &'a TrialReading,
    said: &'a Reading,
    best: &'a Best,
}

/// Characters in rows, each with its look.
struct Sketch(Vec<Vec<(char, Style)>>);

impl Sketch {
    fn new(width: usize, height: usize) -> Sketch {
        Sketch(vec![vec![(' ', Style::new()); width]; height])
    }

    fn put(&mut self, row: usize, column: usize, text: &str, style: Style) {
        let cells = self.0.get_mut(row).into_iter().flat_map(|row| row.iter_mut().skip(column));
        cells.zip(text.chars()).for_each(|(cell, character)| *cell = (character, style));
    }

    fn lines(self) -> Vec<Line<'static>> {
        let spans = |row: Vec<(char, Style)>| {
            let stretches = row.chunk_by(|one, next| one.1 == next.1);
            stretches
                .map(|it| Span::styled(it.iter().map(|cell| cell.0).collect::<String>(), it[0].1))
                .collect::<Vec<_>>()
        };
        self.0.into_iter().map(|row| Line::from(spans(row))).collect()
    }
}

impl Surface<'_> {
    fn style(&self, meaning: Meaning) -> Style {
        self.model.looks.theme.style(meaning)
    }

    /// What a blend is expected to score; none where it is not allowed.
    fn expect(&self, shares: &[f64]) -> Option<Predicted> {
        self.said.region.allows(shares).then(|| self.said.liked.predict(shares))
    }

    /// The triangle: the first component at the top, the second below left, the third below right.
    fn triangle(&self, three: [usize; 3], steps: usize) -> Drawing {
        let marks = self.model.looks.marks;
        let rows = ternary(|shares| self.expect(shares), three, &self.best.shares, steps);
        let scores = || rows.iter().flatten().filter_map(|spot| Some(spot.predicted?.score));
        let (least, most) =
            scores().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), it| (low.min(it), high.max(it)));
        let mut sketch = Sketch::new(2 * steps + 2, steps + 1);
        for (row, spots) in rows.iter().enumerate() {
            for (at, spot) in spots.iter().enumerate() {
                let (sign, style) = self.sign(spot, least, most);
                sketch.put(row, steps - row + 2 * at, &format!("{sign}{sign}"), style);
            }
        }
        let mut on_it = 0;
        for glass in self.reading.glasses.iter().rev() {
            let Some(place) = glass.place.filter(|&place| place <= LAST_PLACE) else { continue };
            if let Some((row, at)) = spot_of(&glass.shares.fractions(), three, &self.best.shares, steps) {
                on_it += 1;
                sketch.put(row, steps - row + 2 * at, &format!("{place:>2}"), self.style(Meaning::Strong));
            }
        }
        if let Some((row, at)) = spot_of(&self.best.shares, three, &self.best.shares, steps) {
            sketch.put(row, steps - row + 2 * at, BEST, self.style(Meaning::Title));
        }
        let names = three.map(|it| self.reading.components[it].as_str());
        let mut legend = vec![format!("{} at the top, {} below left, {} below right", names[0], names[1], names[2])];
        legend.extend(self.held(&three));
        legend.push(self.best_sign(three, steps));
        legend.push(format!("{}{} as good, as far as the panel can tell", marks.levels[8], marks.levels[8]));
        if least < most {
            legend.push(format!(
                "{} to {} worse: {} to {} expected",
                marks.levels[1],
                marks.levels[7],
                figure_to(1, least),
                figure_to(1, most)
            ));
        }
        if rows.iter().flatten().any(|spot| spot.predicted.is_none()) {
            legend.push(format!("{} not allowed, or beyond what was tasted", marks.empty));
        }
        legend.push(self.numbers(on_it));
        Drawing { lines: sketch.lines(), legend }
    }

    /// What the sign of the best ratio hides: the glasses in its place.
    fn best_sign(&self, three: [usize; 3], steps: usize) -> String {
        let spot = |shares: &[f64]| spot_of(shares, three, &self.best.shares, steps);
        let at_best = spot(&self.best.shares);
        let hidden = self.reading.glasses.iter().filter(|glass| spot(&glass.shares.fractions()) == at_best);
        let places: Vec<String> = hidden.filter_map(|glass| Some(glass.place?.to_string())).collect();
        let also = if places.is_empty() { String::new() } else { format!(", and glass {} there", places.join(", ")) };
        format!("{BEST} the best ratio{also}")
    }

    /// What stands for a place of the triangle: full where it is as good as the best, else a step below.
    fn sign(&self, spot: &Spot, least: f64, most: f64) -> (char, Style) {
        let marks = self.model.looks.marks;
        let Some(predicted) = spot.predicted else { return (marks.empty, self.style(Meaning::Muted)) };
        let part = if most > least { (predicted.score - least) / (most - least) } else { 1.0 };
        if self.said.liked.is_as_good(&spot.shares) {
            return (marks.levels[8], self.style(Meaning::Fine));
        }
        let step = (part * STEPS).clamp(1.0, STEPS);
        (marks.level(step / 8.0), self.model.looks.theme.share(part))
    }

    /// The shares at which the other components are held.
    fn held(&self, drawn: &[usize]) -> Option<String> {
        let others = (0..self.best.shares.len()).filter(|it| !drawn.contains(it));
        let others: Vec<String> =
            others.map(|it| format!("{} {}", self.reading.components[it], percent(1, self.best.shares[it]))).collect();
        (!others.is_empty()).then(|| format!("as in the best ratio: {}", others.join(", ")))
    }

    fn numbers(&self, on_it: usize) -> String {
        let all = self.reading.glasses.iter().filter(|glass| glass.place.is_some()).count();
        if on_it == all {
            "a number is the place of a glass".to_owned()
        } else {
            format!("a number is the place of a glass; {on_it} of {all} lie here")
        }
    }

    /// The line along one component, with its band.
    fn along(&self, component: usize, width: usize, height: usize) -> Drawing {
        let marks = self.model.looks.marks;
        let spots = trace(|shares| self.expect(shares), &self.said.region, component, &self.best.shares, width - 1);
        let half = self.said.liked.half_band();
        let glasses = self.glasses_along(component, &spots);
        let ends = spots
            .iter()
            .filter_map(|spot| spot.predicted)
            .flat_map(|it| [it.score - half * it.error, it.score + half * it.error]);
        let values: Vec<f64> = ends.chain(glasses.iter().map(|(_, _, mean)| *mean)).collect();
        let (low, high) =
            values.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), &it| (low.min(it), high.max(it)));
        let scale = Scale { low, high, height };
        let mut sketch = Sketch::new(AXIS + width, height + 2);
        for row in 0..height {
            let number = if row == 0 {
                figure_to(1, high)
            } else if row + 1 == height {
                figure_to(1, low)
            } else {
                String::new()
            };
            let axis = format!("{} {}", right(&number, AXIS - 3, marks), marks.vertical);
            sketch.put(row, 0, &axis, self.style(Meaning::Muted));
        }
        for (column, spot) in spots.iter().enumerate() {
            let below = if spot.predicted.is_some() && self.said.liked.is_as_good(&spot.shares) {
                '='
            } else {
                marks.horizontal
            };
            sketch.put(height, AXIS + column, &below.to_string(), self.style(Meaning::Muted));
            let Some(predicted) = spot.predicted else { continue };
            for row in scale.row(predicted.score + half * predicted.error)
                ..=scale.row(predicted.score - half * predicted.error)
            {
                sketch.put(row, AXIS + column, &marks.band.to_string(), self.style(Meaning::Muted));
            }
            sketch.put(
                scale.row(predicted.score),
                AXIS + column,
                &marks.horizontal.to_string(),
                self.style(Meaning::Base),
            );
        }
        for (column, place, mean) in glasses.iter().rev() {
            sketch.put(scale.row(*mean), AXIS + column, &place.to_string(), self.style(Meaning::Strong));
        }
        let at_best = column_of(self.best.shares[component], component, &spots);
        sketch.put(height, AXIS + at_best, &marks.up.to_string(), self.style(Meaning::Title));
        let percent = |spot: Option<&Spot>| {
            spot.map_or_else(String::new, |spot| format!("{:.0} %", spot.shares[component] * 100.0))
        };
        let (first, last) = (percent(spots.first()), percent(spots.last()));
        sketch.put(height + 1, AXIS, &first, self.style(Meaning::Muted));
        sketch.put(height + 1, (AXIS + width).saturating_sub(last.chars().count()), &last, self.style(Meaning::Muted));
        let name = &self.reading.components[component];
        let legend = vec![
            format!("expected score by the share of {name}, the others among themselves as in the best ratio"),
            format!("{} band: 95 % of the panel's mean", marks.band),
            format!("{} the best ratio: {} {name}", marks.up, crate::units::percent(1, self.best.shares[component])),
            "= as good, as far as the panel can tell".to_owned(),
            self.numbers(glasses.len()),
        ];
        Drawing { lines: sketch.lines(), legend }
    }

    /// The blends that lie on a line: column, place of the best glass that held it, and what it scored; the best first.
    fn glasses_along(&self, component: usize, spots: &[Spot]) -> Vec<(usize, usize, f64)> {
        let on_it = |poured: &Poured| {
            let column = column_of(poured.shares[component], component, spots);
            let near =
                spots.get(column)?.shares.iter().zip(&poured.shares).all(|(one, other)| (one - other).abs() <= NEAR);
            let held_it = |glass: &&GlassReading| glass.shares.fractions() == poured.shares;
            let place = self.reading.glasses.iter().filter(held_it).filter_map(|glass| glass.place).min()?;
            Some((column, place, poured.mean.filter(|_| near)?))
        };
        let mut found: Vec<_> = self.said.poured.iter().filter_map(on_it).collect();
        found.sort_by_key(|(_, place, _)| *place);
        found
    }
}

/// From what to what a line goes, and in how many rows.
struct Scale {
    low: f64,
    high: f64,
    height: usize,
}

impl Scale {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // between 0 and the last row by the clamp
    fn row(&self, value: f64) -> usize {
        let part = if self.high > self.low { (self.high - value) / (self.high - self.low) } else { 0.5 };
        (part.clamp(0.0, 1.0) * (self.height.saturating_sub(1)) as f64).round() as usize
    }
}

/// The column of a share on a line; beyond its ends the nearest.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // between 0 and the last column by the clamp
fn column_of(share: f64, component: usize, spots: &[Spot]) -> usize {
    let (Some(first), Some(last)) = (spots.first(), spots.last()) else { return 0 };
    let (from, to) = (first.shares[component], last.shares[component]);
    let part = if to > from { (share - from) / (to - from) } else { 0.0 };
    (part.clamp(0.0, 1.0) * (spots.len() - 1) as f64).round() as usize
}

/// Row and place in it of a blend on a triangle; none where it does not lie near its plane.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // between 0 and the steps by the clamps
fn spot_of(shares: &[f64], three: [usize; 3], held: &[f64], steps: usize) -> Option<(usize, usize)> {
    let others_near =
        (0..shares.len()).filter(|it| !three.contains(it)).all(|it| (shares[it] - held[it]).abs() <= NEAR);
    let of_three: f64 = three.iter().map(|&it| shares[it]).sum();
    if !others_near || of_three <= 0.0 {
        return None;
    }
    let part = |it: usize| (shares[it] / of_three).clamp(0.0, 1.0) * steps as f64;
    let row = steps - part(three[0]).round() as usize;
    Some((row, (part(three[2]).round() as usize).min(row)))
}
