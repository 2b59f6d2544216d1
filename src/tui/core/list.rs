//! Lists that are longer than the room for them.

use std::ops::Range;

use ratatui::text::Line;

use crate::tui::core::model::Model;
use crate::tui::core::text::fit;
use crate::tui::core::theme::Meaning;

/// Which of so many lines are in sight where there is room for some: the one that is chosen in their middle, so that what comes before and
/// after it is seen, as far as the ends let it.
#[must_use]
pub fn window(lines: usize, chosen: usize, room: usize) -> Range<usize> {
    let first = chosen.saturating_sub(room.saturating_sub(1) / 2).min(lines.saturating_sub(room));
    first..lines.min(first + room)
}

/// A list with what stands above it and below.
#[derive(Debug, Default)]
pub struct Between {
    /// What stands above it.
    pub above: Vec<Line<'static>>,
    /// How many lines it has.
    pub lines: usize,
    /// Which of them is chosen.
    pub chosen: usize,
    /// So many are in sight at least, whatever stands below: that is scrolled to then.
    pub least: usize,
    /// What stands below it: what is to be known of the chosen one.
    pub below: Vec<Line<'static>>,
}

impl Between {
    /// All of it for so many rows: of the list what the rest leaves room for. Between the list and what stands below is told how many of its
    /// lines are out of sight.
    #[must_use]
    pub fn lines(
        self,
        model: &Model,
        (width, height): (usize, usize),
        line: impl Fn(usize) -> Line<'static>,
    ) -> Vec<Line<'static>> {
        let room = height.saturating_sub(self.above.len() + self.below.len() + 1).max(self.least);
        let shown = window(self.lines, self.chosen, room);
        let hidden = out_of_sight(model, shown.start, self.lines - shown.end, width);
        let mut all = self.above;
        all.extend(shown.map(line));
        all.push(hidden);
        all.extend(self.below);
        all
    }
}

/// How many lines stand above and below those in sight; else an empty line.
fn out_of_sight(model: &Model, above: usize, below: usize, width: usize) -> Line<'static> {
    let marks = model.looks.marks;
    let more = [(above, marks.up, "above"), (below, marks.down, "below")];
    let words =
        more.iter().filter(|(count, ..)| *count > 0).map(|(count, mark, place)| format!("{mark} {count} {place}"));
    let words = words.collect::<Vec<_>>().join(", ");
    if words.is_empty() {
        return Line::default();
    }
    Line::styled(fit(&format!("  {words}"), width, marks), model.looks.theme.style(Meaning::Muted))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_chosen_is_in_sight_with_what_stands_round_it() {
        let shown = |chosen: usize| window(7, chosen, 3);
        assert_eq!([0, 1, 2, 5, 6].map(shown), [0..3, 0..3, 1..4, 4..7, 4..7]);
        assert_eq!([window(2, 1, 5), window(0, 0, 5), window(4, 9, 2), window(4, 3, 0)], [0..2, 0..0, 2..4, 3..3]);
    }
}
