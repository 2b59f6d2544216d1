//! A label as a QR code (ISO/IEC 18004): a scanner types it, and the map jumps there.

use qrcode::{Color, EcLevel, QrCode};

/// A code: dark and light squares, row by row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Code {
    side: usize,
    dark: Vec<bool>,
}

/// Light squares around a code, as its standard asks.
const QUIET: usize = 4;

impl Code {
    /// The code of a label; none where it is longer than a code can be, which no label is.
    #[must_use]
    pub fn of(label: &str) -> Option<Code> {
        // A quarter may be torn, wet or stained.
        let code = QrCode::with_error_correction_level(label, EcLevel::Q).ok()?;
        Some(Code {
            side: code.width(),
            dark: code.to_colors().into_iter().map(|colour| colour == Color::Dark).collect(),
        })
    }

    /// How many squares a side has, with the light ones around.
    #[must_use]
    pub const fn side(&self) -> usize {
        self.side + 2 * QUIET
    }

    /// Whether a square is dark.
    #[must_use]
    pub fn is_dark(&self, row: usize, column: usize) -> bool {
        let inside = |at: usize| at.checked_sub(QUIET).filter(|&at| at < self.side);
        match (inside(row), inside(column)) {
            (Some(row), Some(column)) => self.dark.get(row * self.side + column).copied().unwrap_or(false),
            _ => false,
        }
    }

    /// The dark squares as the path of a drawing, one unit a square.
    #[must_use]
    pub fn path(&self) -> String {
        let side = self.side();
        let squares = (0..side).flat_map(|row| (0..side).map(move |column| (row, column)));
        let dark = squares.filter(|&(row, column)| self.is_dark(row, column));
        dark.fold(String::new(), |path, (row, column)| path + &format!("M{column} {row}h1v1h-1z"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Read back by a reader of somebody else's.
    #[test]
    fn a_reader_reads_the_label() {
        /// Pixels a square.
        const SCALE: usize = 4;
        for label in ["0417", "Tronçais 12/b", "a-label-of-exactly-forty-characters-long"] {
            let code = Code::of(label).unwrap();
            let side = code.side() * SCALE;
            let mut picture = rqrr::PreparedImage::prepare_from_greyscale(side, side, |x, y| {
                if code.is_dark(y / SCALE, x / SCALE) { 0 } else { 255 }
            });
            let read: Vec<String> = picture.detect_grids().iter().map(|grid| grid.decode().unwrap().1).collect();
            assert_eq!(read, [label]);
        }
    }

    #[test]
    fn its_path_draws_every_dark_square() {
        let code = Code::of("0417").unwrap();
        let squares = (0..code.side() * code.side()).filter(|at| code.is_dark(at / code.side(), at % code.side()));
        assert_eq!(code.path().matches('M').count(), squares.count());
        assert!(!code.is_dark(0, 0) && code.is_dark(QUIET, QUIET));
    }
}
