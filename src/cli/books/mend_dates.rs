//! `mend-dates`: what was entered while the clock was wrong gets the date that it should have.

use std::path::Path;

use crate::cellar::core::fact::Device;
use crate::cellar::core::moment::Moment;
use crate::cli::arguments::MendDatesArguments;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::Counter;
use crate::cli::core::entering::{Dated, not_done};
use crate::cli::core::who::who;
use crate::desk::{Access, Desk, Mending, Misdated};
use crate::units::counted;

impl Counter<'_, '_> {
    /// Mends dates as one act, or says what that would be.
    pub(in crate::cli) fn mend_dates(&mut self, cellar: &Path, asked: &MendDatesArguments) -> Outcome {
        let access = if asked.dry_run { Access::ReadOnly } else { Access::ReadWrite };
        // Who mends what lies ahead of the clock says that the clock is right.
        let dated = if asked.dry_run { Dated::Otherwise } else { Dated::ByTheClock { sure: true } };
        let by = who(asked.by.as_deref())?;
        self.at_desk_dated(
            cellar,
            (access, dated),
            |desk, now| {
                let (mending, left) = mending(desk, asked, now)?;
                if !asked.dry_run {
                    let answered = if asked.sure { None } else { Some(&[][..]) };
                    desk.mend_dates(&mending, &by, now, answered).map_err(|error| not_done(error, desk))?;
                }
                Ok((mending, left))
            },
            |counter, _, (mending, left)| {
                let done = if asked.dry_run { "would be mended" } else { "mended" };
                writeln!(counter.out, "{}", mending.told(done))?;
                if !left.is_empty() {
                    counter.saying.message(&left);
                }
                Ok(())
            },
        )
    }
}

/// What is to be mended, and what is said of what is not.
fn mending(desk: &Desk, asked: &MendDatesArguments, now: Moment) -> Outcome<(Mending, String)> {
    let refused = |sentence: String| Complaint::Refused(sentence);
    let which = match (asked.from, asked.to) {
        (Some(from), Some(to)) => {
            Misdated::Between(asked.device.clone().unwrap_or_else(|| desk.device().clone()), from, to)
        }
        _ => Misdated::Ahead(asked.device.clone()),
    };
    let wrongly = desk.misdated(&which, now)?;
    let left = wrongly.left_words();
    let Some(earliest) = wrongly.facts.first().map(|fact| fact.at) else {
        let none = match which {
            _ if !left.is_empty() => &left,
            Misdated::Ahead(_) => "Nothing is dated ahead of this laptop's clock.",
            Misdated::Between(..) => "Nothing of those numbers stands. See them with export.",
        };
        return Err(refused(format!("{none} Nothing was entered.")));
    };
    if let Some(several) = several(&wrongly.devices()) {
        return Err(refused(several));
    }
    let first = asked.first.map(|first| first.on_day_of(earliest, now)).transpose();
    let first = first.map_err(|error| refused(error.to_string()))?;
    let (count, day) = (counted(wrongly.facts.len(), "entry"), earliest.show_date());
    let mending = Mending::of(wrongly.facts, &which, first, now).ok_or_else(|| {
        refused(format!(
            "{count} would be mended, the first of {day}, entered by a wrong clock. Say on which day that was: mend-dates {}",
            now.date().format("%Y-%m-%d")
        ))
    })?;
    Ok((mending, left))
}

/// The sentence that several laptops were ahead, if they were: each was by its own time.
fn several(devices: &[(Device, usize)]) -> Option<String> {
    let each: Vec<_> = devices.iter().map(|(device, count)| format!("{device} ({count})")).collect();
    (each.len() > 1).then(|| {
        format!("Several names stand over what is dated ahead: {}. Mend each by itself with --device.", each.join(", "))
    })
}
