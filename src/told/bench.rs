//! What is said of a trial before anything is poured.

use crate::cellar::views::bench::repeat_error::RepeatError;
use crate::reckon::telling::{Tally, Telling, Tried, told_from};
use crate::units::{counted, figure};

/// Columns of the differences, of the glasses, and of what a panel tells.
const DIFFERENCE: usize = 16;
const GLASSES: usize = 9;
const PANEL: usize = 13;

/// So many panels of each are simulated: then a part of them that tells is known to about eight in a hundred.
pub const PANELS: usize = 40;

/// What stands above the table.
pub const HEADING: &str = "What the panel would tell";

/// What a field of the table says.
pub const FIELDS: &str = "In each field: how many of 100 panels tell one ratio from another / what the ratio they lean to loses, in % of the \
                          difference between the best and the worst / by how many points its shares are off. > is the trial as planned.";

/// From which difference on the panel tells, by the rule.
#[must_use]
pub fn rule((glasses, tasters): (usize, usize), ratings: usize, error: &RepeatError) -> String {
    let points = points(told_from(ratings) * error.deviation);
    let alone = if tasters == 1 { " One taster tells the own liking, and nobody else's." } else { "" };
    format!(
        "{} and {} ({}): that the best ratio is {points} better than the worst is told eight times in ten.{alone}",
        counted(tasters, "taster"),
        counted(glasses, "glass"),
        counted(ratings, "rating")
    )
}

/// How many panels were simulated so far.
#[must_use]
pub fn simulated(telling: &Telling) -> usize {
    telling.rows().iter().map(|(_, tally)| tally.panels()).min().unwrap_or(0)
}

/// The table: a line a difference and a number of glasses, a column a panel.
#[must_use]
pub fn table(telling: &Telling, (glasses, tasters): (usize, usize), error: &RepeatError) -> Vec<String> {
    let rows = telling.rows();
    let first = rows.first().map(|(tried, _)| (tried.glasses, tried.difference.to_bits()));
    let panels = rows.iter().take_while(|(it, _)| Some((it.glasses, it.difference.to_bits())) == first).count().max(1);
    let mark = |is_planned: bool, text: String| if is_planned { format!(">{text}") } else { text };
    let head = |(tried, _): &(Tried, Tally)| {
        format!("{:>PANEL$}", mark(tried.tasters == tasters, counted(tried.tasters, "taster")))
    };
    let heads: Vec<String> = rows.iter().take(panels).map(head).collect();
    let mut lines = vec![format!("{:<DIFFERENCE$}{:>GLASSES$}{}", "best over worst", "glasses", heads.concat())];
    let mut before = String::new();
    for line in rows.chunks(panels) {
        let Tried { glasses: count, difference, .. } = line[0].0;
        let difference = points(difference * error.deviation);
        let said = if difference == before { "" } else { &difference };
        let fields: Vec<String> = line.iter().map(|(_, tally)| format!("{:>PANEL$}", field(tally))).collect();
        let count = mark(count == glasses, count.to_string());
        lines.push(format!("{said:<DIFFERENCE$}{count:>GLASSES$}{}", fields.concat()));
        before = difference;
    }
    lines
}

fn field(tally: &Tally) -> String {
    let percent = |part: f64| (part * 100.0).round();
    if tally.panels() == 0 {
        return "-".to_owned();
    }
    format!("{}/{}/{}", percent(tally.tells()), percent(tally.loss()), percent(tally.off()))
}

fn points(points: f64) -> String {
    let text = figure((points * 10.0).round() / 10.0);
    let unit = if text == "1" { "point" } else { "points" };
    format!("{text} {unit}")
}
