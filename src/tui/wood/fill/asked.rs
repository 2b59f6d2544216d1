//! The lines of a barrel-down as they are written: wishes, and in the same column how much, from where, and as what lot.

use thiserror::Error;

use crate::cellar::core::label::{Label, TextError, harmless};
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{LotId, RoomId, State};
use crate::cellar::views::wood::fill::{FillRequest, FillWish, NoFill, Portion, WishError};
use crate::told::meant::with_hint;
use crate::units::{Volume, VolumeUnit};

const AS_IN: &str = "as in ";

/// What all lines ask together.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub(super) struct Asked {
    wishes: Vec<FillWish>,
    portion: Option<Portion>,
    room: Option<RoomId>,
    into: Option<LotId>,
}

/// Why nothing can be asked.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)] // the sentence of each variant is its documentation
pub(super) enum AskedError {
    #[error("{1}")]
    Line(usize, LineError),
    #[error(transparent)]
    NoFill(#[from] NoFill),
}

impl AskedError {
    /// The sentence, with the labels that may be meant where nothing is called as a line says.
    pub(super) fn told(&self, state: &State) -> String {
        match self {
            AskedError::Line(_, LineError::Refused(refusal)) => with_hint(refusal, state),
            error => error.to_string(),
        }
    }
}

/// Why a line cannot be asked.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)] // the sentence of each variant is its documentation
pub(super) enum LineError {
    #[error("'{0}' could be litres or barrels. Write {0} L or {0} barrels.")]
    LitresOrBarrels(String),
    #[error("'{0}' is no number of barrels or litres. Write 12 barrels, or 2500 L.")]
    NoAmount(String),
    #[error("'{0}' says again what another line says. Keep one of them.")]
    Twice(String),
    #[error(transparent)]
    Wish(#[from] WishError),
    #[error(transparent)]
    Label(#[from] TextError),
    #[error(transparent)]
    Refused(#[from] Refusal),
    #[error(transparent)]
    NoFill(#[from] NoFill),
}

/// The lot that a line takes as its pattern, if it does.
pub(super) fn pattern(line: &str) -> Option<&str> {
    line.trim_start().strip_prefix(AS_IN).map(str::trim)
}

/// The line that takes a lot as the pattern.
pub(super) fn as_in(lot: &Label) -> String {
    format!("{AS_IN}{lot}")
}

impl Asked {
    /// Reads the lines. A pattern is written out as the wishes that it stands for, so that they can be changed: the lines
    /// as they stand then are given back.
    pub(super) fn read(state: &State, lines: &[String]) -> Result<(Asked, Vec<String>), AskedError> {
        let (mut asked, mut written) = (Asked::default(), Vec::new());
        for (at, line) in lines.iter().enumerate() {
            let line = line.trim();
            let wrong = |error| AskedError::Line(at, error);
            if line.is_empty() {
                continue;
            }
            if let Some(lot) = pattern(line) {
                let wishes = pattern_of(state, lot).map_err(wrong)?;
                written.extend(wishes.iter().map(FillWish::to_string));
                asked.wishes.extend(wishes);
                continue;
            }
            asked.take(state, line).map_err(wrong)?;
            written.push(line.to_owned());
        }
        if written.is_empty() {
            written.push(String::new());
        }
        Ok((asked, written))
    }

    fn take(&mut self, state: &State, line: &str) -> Result<(), LineError> {
        let once = |said_before: bool| {
            if said_before { Err(LineError::Twice(harmless(line))) } else { Ok(()) }
        };
        if let Some(lot) = line.strip_prefix("into ") {
            let lot = state.lot(&Label::new(lot.trim())?)?;
            once(self.into.is_some())?;
            self.into = Some(lot);
        } else if let Some(room) = line.strip_prefix("in ") {
            let label = Label::new(room.trim())?;
            let room = state.rooms.find(label.as_str()).ok_or(Refusal::UnknownRoom(label))?;
            once(self.room.is_some())?;
            self.room = Some(room);
        } else if line.starts_with(|c: char| c.is_ascii_digit()) {
            let portion = portion(line)?;
            once(self.portion.is_some())?;
            self.portion = Some(portion);
        } else {
            self.wishes.push(line.parse()?);
        }
        Ok(())
    }

    /// The request that they make of a tank.
    pub(super) fn of(self, state: &State, tank: &Label) -> Result<FillRequest, NoFill> {
        Ok(FillRequest {
            tank: state.vessel(tank)?,
            portion: self.portion.unwrap_or(Portion::All),
            wishes: self.wishes,
            room: self.room,
            into: self.into,
        })
    }
}

fn pattern_of(state: &State, lot: &str) -> Result<Vec<FillWish>, LineError> {
    Ok(state.fill_pattern(state.lot(&Label::new(lot)?)?)?)
}

/// How much is placed: litres, or a number of barrels.
fn portion(line: &str) -> Result<Portion, LineError> {
    let bad = || LineError::NoAmount(harmless(line));
    let digits = line.find(|c: char| !c.is_ascii_digit()).unwrap_or(line.len());
    let (number, rest) = line.split_at(digits);
    match rest.trim() {
        "" => Err(LineError::LitresOrBarrels(harmless(line))),
        "barrel" | "barrels" => number.parse().map(Portion::Barrels).map_err(|_| bad()),
        _ => Volume::parse(line, VolumeUnit::customary()).map(Portion::Litres).map_err(|_| bad()),
    }
}
