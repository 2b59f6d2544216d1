//! `room`, `number`, `open-lot`: what a cellar begins with, in a line each as on the screen.

use std::path::Path;

use crate::cellar::core::fact::What;
use crate::cellar::views::floor::written::LineError;
use crate::cli::arguments::{RoomArguments, WrittenArguments};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::Counter;
use crate::told::{Face, floor};

impl From<LineError> for Complaint {
    fn from(error: LineError) -> Complaint {
        Complaint::Refused(error.to_string())
    }
}

impl Counter<'_, '_> {
    /// Lays out a room.
    pub(in crate::cli) fn lay_out_room(&mut self, cellar: &Path, asked: &RoomArguments) -> Outcome {
        let line = format!("{}: {}", asked.room, asked.line);
        self.enter(cellar, &asked.entering, |state| Ok(vec![What::RoomLaidOut(Box::new(state.room_written(&line)?))]))?;
        self.saying.message(&format!("{} is laid out. `list rooms` tells it.", asked.room));
        Ok(())
    }

    /// Numbers vessels.
    pub(in crate::cli) fn number_vessels(&mut self, cellar: &Path, asked: &WrittenArguments) -> Outcome {
        let mut told = String::new();
        let mut like_litres = None;
        self.enter(cellar, &asked.entering, |state| {
            let numbered = state.vessels_written(&asked.line, None)?;
            told = format!("{}: {}. {}", numbered.which(), numbered.described(), numbered.where_they_lie());
            like_litres = state.like_litres(numbered.labels());
            Ok(numbered.whats())
        })?;
        self.saying.message(&told);
        if let Some(labels) = like_litres {
            self.saying.message(&floor::like_litres(&labels, Face::Desk));
        }
        Ok(())
    }

    /// Opens a lot and says where it lies.
    pub(in crate::cli) fn open_lot(&mut self, cellar: &Path, asked: &WrittenArguments) -> Outcome {
        let (mut told, today) = (String::new(), self.now.date());
        self.enter(cellar, &asked.entering, |state| {
            let laid = state.lot_written(&asked.line, today)?;
            told = laid
                .origin_words()
                .into_iter()
                .chain([format!("{}.", laid.lies_words())])
                .chain(laid.topped_words())
                .collect::<Vec<_>>()
                .join(" ");
            Ok(laid.whats())
        })?;
        self.saying.message(&told);
        Ok(())
    }
}
