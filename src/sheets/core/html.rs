//! A sheet as one HTML page that carries all it needs.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::code::Code;
use super::document::{Block, Card, Document, Kind, Line, Stacks, Table};

/// How the page looks: black on white, lines that print, nothing that hangs on colour or on the size of the paper.
const STYLE: &str = include_str!("../../../assets/sheet.css");

/// A cell of at most so many characters is not broken: a date (`25 Nov 2025`), the name of a lot.
const SHORT: usize = 11;

/// The page.
#[must_use]
pub fn page(document: &Document) -> String {
    let document = document.harmless();
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (document.title) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                h1 { (document.title) }
                @for words in &document.lead { p.lead { (words) } }
                @for words in &document.cautions { p.caution { strong { "Caution. " } (words) } }
                @for part in &document.blocks { (block(part)) }
            }
        }
    }
    .into_string()
}

fn block(block: &Block) -> Markup {
    html! {
        @match block {
            Block::Heading(words) => { h2 { (words) } }
            Block::Words(words) => { p { (words) } }
            Block::Table(rows) => (table(rows)),
            Block::Cards(cards) => { div.cards { @for one in cards { (card(one)) } } }
            Block::Stacks(row) => (stacks(row)),
            Block::NewPage => { div.new-page {} }
        }
    }
}

fn table(table: &Table) -> Markup {
    let class = |kind: Kind| match kind {
        Kind::Words => "words",
        Kind::Numbers => "number",
        Kind::Box => "box",
        Kind::Room(_) => "room",
    };
    let width = |kind: Kind| match kind {
        Kind::Room(characters) => Some(format!("width:{characters}ch")),
        _ => None,
    };
    let cells = |cells: &[String]| {
        html! {
            @for (column, cell) in table.columns.iter().zip(table.whole_line(cells)) {
                td class=(class(column.kind)) { @if column.kind == Kind::Box { "☐" } @else { (whole_if_short(&cell)) } }
            }
        }
    };
    html! {
        table {
            thead { tr { @for column in &table.columns {
                th class=(class(column.kind)) style=[width(column.kind)] { (column.heading) }
            } } }
            tbody { @for line in &table.lines { @match line {
                Line::Cells(words) => { tr { (cells(words)) } }
                Line::Band(words) => { tr.band { td colspan=(table.columns.len()) { (words) } } }
                Line::Total(words) => { tr.total { @for (column, cell) in table.columns.iter().zip(table.whole_line(words)) {
                    td class=(class(column.kind)) { (cell) }
                } } }
            } } }
        }
    }
}

/// A date or a name in a narrow column stays on one line.
fn whole_if_short(cell: &str) -> String {
    if cell.chars().count() <= SHORT { cell.replace(' ', "\u{a0}") } else { cell.to_owned() }
}

fn card(card: &Card) -> Markup {
    html! {
        section.card {
            (drawn(&card.code))
            h3 { (card.title) }
            @for line in &card.lines { p { (line) } }
        }
    }
}

fn drawn(code: &Code) -> Markup {
    let side = code.side();
    html! {
        svg viewBox={ "0 0 " (side) " " (side) } shape-rendering="crispEdges" role="img" { path d=(code.path()) {} }
    }
}

fn stacks(row: &Stacks) -> Markup {
    html! {
        div.row {
            h3 { (row.row) }
            div.stacks { @for (stack, number) in row.stacks.iter().zip(1..) {
                table.stack {
                    @for tier in stack { tr { @for barrel in tier { td { (barrel) } } } }
                    tr.number { td colspan=(stack.first().map_or(1, Vec::len)) { (format!("{number:02}")) } }
                }
            } }
        }
    }
}
