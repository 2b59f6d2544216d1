//! A sheet as plain text.

use unicode_width::UnicodeWidthStr;

use super::document::{Block, Card, Document, Kind, Line, Stacks, Table};
use super::wrap::wrapped;

/// Between two columns.
const GAP: &str = "  ";

/// The text, in lines of at most a width where that is possible: tables are as wide as they are.
#[must_use]
pub fn text(document: &Document, width: usize) -> String {
    let document = document.harmless();
    let mut lines = vec![document.title.clone(), "=".repeat(document.title.width().min(width))];
    for words in &document.lead {
        lines.extend(wrapped(words, width));
    }
    for words in &document.cautions {
        lines.extend(wrapped(&format!("! {words}"), width));
    }
    for block in &document.blocks {
        lines.push(String::new());
        match block {
            Block::Heading(words) => lines.extend([words.clone(), "-".repeat(words.width().min(width))]),
            Block::Words(words) => lines.extend(wrapped(words, width)),
            Block::Table(rows) => lines.extend(table(rows)),
            Block::Cards(cards) => lines.extend(cards.iter().flat_map(card)),
            Block::Stacks(row) => lines.extend(stacks(row, width)),
            Block::NewPage => {}
        }
    }
    let mut text = String::new();
    for line in lines {
        text.push_str(line.trim_end());
        text.push('\n');
    }
    text
}

fn table(table: &Table) -> Vec<String> {
    let by_hand = |kind: Kind| match kind {
        Kind::Box => "[ ]".to_owned(),
        Kind::Room(characters) => "_".repeat(usize::from(characters)),
        Kind::Words | Kind::Numbers => String::new(),
    };
    let cells = |cells: &[String]| {
        let whole = table.whole_line(cells);
        let filled = |(cell, kind): (String, Kind)| if kind.is_by_hand() { by_hand(kind) } else { cell };
        whole.into_iter().zip(table.columns.iter().map(|column| column.kind)).map(filled).collect::<Vec<_>>()
    };
    let whole: Vec<Result<Vec<String>, &String>> =
        std::iter::once(Ok(table.columns.iter().map(|column| column.heading.clone()).collect()))
            .chain(table.lines.iter().map(|line| match line {
                Line::Cells(words) => Ok(cells(words)),
                Line::Total(words) => Ok(table.whole_line(words)),
                Line::Band(words) => Err(words),
            }))
            .collect();
    let widest = |column: usize| whole.iter().flatten().map(|line| line[column].width()).max().unwrap_or(0);
    let widths: Vec<usize> = (0..table.columns.len()).map(widest).collect();
    whole
        .iter()
        .map(|line| line.as_ref().map_or_else(|band| format!("-- {band}"), |cells| aligned(table, cells, &widths)))
        .collect()
}

fn aligned(table: &Table, cells: &[String], widths: &[usize]) -> String {
    let padded = cells.iter().zip(widths).zip(&table.columns).map(|((cell, &width), column)| {
        let padding = " ".repeat(width.saturating_sub(cell.width()));
        if column.kind == Kind::Numbers { padding + cell } else { cell.clone() + &padding }
    });
    padded.collect::<Vec<_>>().join(GAP)
}

/// Without the code, which a screen cannot show to a scanner as dark on light.
fn card(card: &Card) -> Vec<String> {
    let mut lines = vec![card.title.clone()];
    lines.extend(card.lines.iter().cloned());
    lines.push(String::new());
    lines
}

/// A row of stacks; as many of them beside each other as fit.
fn stacks(row: &Stacks, width: usize) -> Vec<String> {
    let barrel = row.stacks.iter().flatten().flatten().map(|barrel| barrel.width()).max().unwrap_or(1).max(1);
    let sides = row.stacks.iter().flatten().map(Vec::len).max().unwrap_or(1);
    let stack_width = (barrel + 1) * sides + 1;
    let fit = ((width.saturating_sub(2)) / (stack_width + 1)).max(1);
    let mut lines = vec![row.row.clone()];
    for (group, stacks) in row.stacks.chunks(fit).enumerate() {
        let tiers = stacks.iter().map(Vec::len).max().unwrap_or(0);
        for tier in 0..tiers {
            let drawn = stacks.iter().map(|stack| {
                let barrels = stack.get(tier).map(|barrels| {
                    barrels.iter().map(|label| format!("{label:^barrel$}")).collect::<Vec<_>>().join(" ")
                });
                format!("({:^1$})", barrels.unwrap_or_default(), stack_width - 2)
            });
            lines.push(format!("{}  {}", tiers - tier, drawn.collect::<Vec<_>>().join(" ")));
        }
        let numbers =
            (0..stacks.len()).map(|index| format!("{:^1$}", format!("{:02}", group * fit + index + 1), stack_width));
        lines.push(format!("   {}", numbers.collect::<Vec<_>>().join(" ")));
    }
    lines
}
