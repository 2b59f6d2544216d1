//! The last facts of a vessel as they are shown.

use crate::cellar::core::history::{Event, HistoryLine};
use crate::cellar::jobs::books::loss::LossCause;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::units::Volume;

/// A fact of a vessel in short.
pub struct Happening<'a> {
    line: &'a HistoryLine,
    event: &'static str,
    volume: Option<Volume>,
}

impl<'a> Happening<'a> {
    /// A fact of a vessel in short.
    #[must_use]
    pub fn of(line: &'a HistoryLine) -> Happening<'a> {
        let (event, volume) = match line.event {
            Event::Topped(volume) => ("topped", Some(volume)),
            Event::ToppedInPart(volume) => ("topped_in_part", Some(volume)),
            Event::Received(volume) => ("received", Some(volume)),
            Event::MovedIn(volume) => ("moved_in", Some(volume)),
            Event::MovedOut(volume) => ("moved_out", Some(volume)),
            Event::Gauged(volume) => ("gauged", Some(volume)),
            Event::Lost(volume, _) => ("lost", Some(volume)),
            Event::Sampled(volume) => ("sampled", Some(volume)),
            Event::Tested => ("tested", None),
            Event::Treated(_) => ("treated", None),
            Event::Stirred => ("stirred", None),
            Event::Blanketed => ("blanketed", None),
            Event::Cared(care) => (care.word(), None),
            Event::Tasted(_) => ("tasted", None),
            Event::Held => ("held", None),
            Event::Freed => ("freed", None),
            Event::Placed => ("placed", None),
            Event::Skipped => ("skipped", None),
            Event::Noted => ("noted", None),
            Event::Bottled(volume) => ("bottled", Some(volume)),
            Event::WineOut(volume) => ("wine_out", Some(volume)),
        };
        Happening { line, event, volume }
    }

    fn cause(&self) -> Option<LossCause> {
        if let Event::Lost(_, cause) = self.line.event { Some(cause) } else { None }
    }

    fn score(&self) -> Option<f64> {
        if let Event::Tasted(score) = self.line.event { score } else { None }
    }

    /// The columns of a table of facts.
    #[must_use]
    pub fn columns() -> Vec<Column<Happening<'a>>> {
        vec![
            Column::both("at", "on", |it: &Happening<'_>| it.line.at.into()),
            Column::program("device", |it| it.line.id.device.as_str().into()),
            Column::program("n", |it| it.line.id.n.into()),
            Column::both("event", "what", |it| Cell::Word(it.event.to_owned())),
            Column::both("volume_ul", "litres", |it: &Happening<'_>| it.volume.into()).sparse(),
            Column::both("cause", "cause", |it: &Happening<'_>| Cell::word(&it.cause())).sparse(),
            Column::both("score", "score", |it: &Happening<'_>| it.score().into()).sparse(),
            Column::people("fact", |it| it.line.id.to_string().into()),
        ]
    }
}
