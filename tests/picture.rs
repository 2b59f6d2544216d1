//! The picture of the floor in `assets/`, drawn from the demo cellar by the program itself and kept true by this test.
//!
//! After a change of the screen: `BARRELWALK_DRAW=1 cargo test --test picture`, then look at it.
#![allow(clippy::unwrap_used)]

use std::fmt::Write;
use std::path::Path;

use barrelwalk::cellar::core::label::Label;
use barrelwalk::cellar::core::moment::Moment;
use barrelwalk::desk::{Access, create_demo};
use barrelwalk::tui::core::marks::UNICODE;
use barrelwalk::tui::core::model::{Looks, Model};
use barrelwalk::tui::core::theme::{Palette, Theme};
use barrelwalk::tui::core::work::Hands;
use barrelwalk::tui::edge::screen::Message;
use barrelwalk::tui::edge::session::Session;
use barrelwalk::tui::rooms::HOUSE;
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::buffer::Buffer;
use ratatui::style::{Color, Modifier};

const COLUMNS: u16 = 112;
const ROWS: u16 = 34;
/// Size of a cell in the picture.
const CELL: (u32, u32) = (9, 19);

fn now() -> Moment {
    Moment::parse("2026-11-25T06:41:00+01:00").unwrap()
}

#[test]
fn the_picture_of_the_floor_is_what_the_program_draws() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("demo.barrelwalk");
    create_demo(&path, now()).unwrap();
    let looks = Looks { theme: Theme::new(Palette::Cave), marks: &UNICODE };
    let mut model = Model::new(Label::new("ta").unwrap(), looks, now(), &HOUSE);
    let mut hands = Hands::new(path, Access::ReadWrite, now);
    let mut session = Session::at(&mut model, &mut hands, now());
    session.take(Message::Started).unwrap();
    session.type_text(" ").unwrap();
    let mut terminal = Terminal::new(TestBackend::new(COLUMNS, ROWS)).unwrap();
    terminal.draw(|frame| session.draw(frame)).unwrap();
    let drawn = svg(terminal.backend().buffer());
    let asset = Path::new(env!("CARGO_MANIFEST_DIR")).join("assets/floor.svg");
    if std::env::var_os("BARRELWALK_DRAW").is_some() {
        std::fs::write(&asset, &drawn).unwrap();
    }
    let kept = std::fs::read_to_string(&asset).unwrap_or_default();
    assert!(kept == drawn, "assets/floor.svg is not what is drawn now; see the head of this test");
}

/// A buffer as a picture: one text element a run of one style.
fn svg(buffer: &Buffer) -> String {
    let (width, height) = (u32::from(COLUMNS) * CELL.0 + 20, u32::from(ROWS) * CELL.1 + 20);
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" font-family=\"monospace\" font-size=\"15\">\n\
         <rect width=\"100%\" height=\"100%\" rx=\"8\" fill=\"#14161a\"/>\n"
    );
    for y in 0..ROWS {
        for x in 0..COLUMNS {
            let cell = &buffer[(x, y)];
            let reversed = cell.modifier.contains(Modifier::REVERSED);
            let colour = hex(cell.fg);
            let (left, top) = (u32::from(x) * CELL.0 + 10, u32::from(y) * CELL.1 + 10);
            if reversed {
                let _ = writeln!(
                    svg,
                    "<rect x=\"{left}\" y=\"{top}\" width=\"{}\" height=\"{}\" fill=\"{colour}\"/>",
                    CELL.0, CELL.1
                );
            }
            let symbol = cell.symbol();
            if symbol.trim().is_empty() {
                continue;
            }
            let fill = if reversed { "#14161a".to_owned() } else { colour };
            let bold = if cell.modifier.contains(Modifier::BOLD) { " font-weight=\"bold\"" } else { "" };
            let line = if cell.modifier.contains(Modifier::UNDERLINED) { " text-decoration=\"underline\"" } else { "" };
            let symbol = symbol.replace('&', "&amp;").replace('<', "&lt;");
            let _ = writeln!(
                svg,
                "<text x=\"{left}\" y=\"{}\" fill=\"{fill}\"{bold}{line}>{symbol}</text>",
                top + CELL.1 - 4
            );
        }
    }
    svg.push_str("</svg>\n");
    svg
}

/// A colour of the fixed part of the 256-colour table: a cube of six steps a channel, then a ramp of greys.
fn hex(colour: Color) -> String {
    let Color::Indexed(index) = colour else { return "#d7d7d7".to_owned() };
    let step = |level: u8| if level == 0 { 0 } else { 55 + 40 * level };
    if let 16..=231 = index {
        let cube = index - 16;
        return format!("#{:02x}{:02x}{:02x}", step(cube / 36), step(cube / 6 % 6), step(cube % 6));
    }
    let grey = 8 + 10 * index.saturating_sub(232);
    format!("#{grey:02x}{grey:02x}{grey:02x}")
}
