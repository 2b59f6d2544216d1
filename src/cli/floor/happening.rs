//! The last facts of a vessel as they are shown.

use serde::Serialize;

use crate::cellar::core::fact::Device;
use crate::cellar::core::history::{Event, HistoryLine};
use crate::cellar::jobs::books::loss::LossCause;
use crate::cli::table::cell::{Cell, When};
use crate::cli::table::column::Column;
use crate::units::Volume;

/// A fact of a vessel in short.
#[derive(Debug, Serialize)]
pub struct Happening {
    at: When,
    device: Device,
    n: u64,
    event: &'static str,
    volume_ul: Option<Volume>,
    cause: Option<LossCause>,
    score: Option<f64>,
}

impl Happening {
    /// A fact of a vessel in short.
    #[must_use]
    pub fn of(line: &HistoryLine) -> Happening {
        let (event, volume_ul) = match line.event {
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
            Event::Cared(care) => (care.word(), None),
            Event::Tasted(_) => ("tasted", None),
            Event::Held => ("held", None),
            Event::Freed => ("freed", None),
            Event::Placed => ("placed", None),
            Event::Skipped => ("skipped", None),
            Event::Noted => ("noted", None),
            Event::Bottled(volume) => ("bottled", Some(volume)),
        };
        Happening {
            at: When(line.at),
            device: line.id.device.clone(),
            n: line.id.n,
            event,
            volume_ul,
            cause: if let Event::Lost(_, cause) = line.event { Some(cause) } else { None },
            score: if let Event::Tasted(score) = line.event { score } else { None },
        }
    }

    /// The columns of a table of facts.
    #[must_use]
    pub fn columns() -> Vec<Column<Happening>> {
        vec![
            Column::people("on", |it: &Happening| Cell::When(it.at.0)),
            Column::people("what", |it: &Happening| Cell::Word(it.event.to_owned())),
            Column::people("litres", |it: &Happening| it.volume_ul.into()).sparse(),
            Column::people("cause", |it: &Happening| Cell::word(&it.cause)).sparse(),
            Column::people("score", |it: &Happening| it.score.into()).sparse(),
            Column::people("fact", |it: &Happening| Cell::Text(format!("{}:{}", it.device, it.n))),
        ]
    }
}
