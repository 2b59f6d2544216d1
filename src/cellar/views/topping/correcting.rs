//! Correcting: what was measured wrongly is said anew. The facts that said otherwise are taken back and one takes their place;
//! all that was not measured anew stays as it was said.

use crate::cellar::core::fact::What;
use crate::cellar::jobs::topping::Topped;
use crate::cellar::jobs::wood::moving::Purpose;
use crate::units::{Mass, Volume};

/// What something comes to in all, as it is said now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Measured {
    /// Litres that were poured, and whether to the brim.
    Poured(Volume, bool),
    /// Litres that moved, or a solution that was added.
    Volume(Volume),
    /// What was weighed.
    Amount(Mass),
}

/// A blended barrel that gave nearly as much as was said is still emptied; so large a part of it may be missing.
const NEARLY: u64 = 10;

/// What takes the place of facts that were done on one occasion, first things first: how many of the first of them stay, and
/// the fact that comes instead of the others. None where they cannot be measured so.
///
/// One fact takes the place of all. Only where a barrel was topped from several vessels those that gave first stay said, as
/// far as the litres go: the last vessel gave the rest.
#[must_use]
pub fn corrected(whats: &[What], to: Measured) -> Option<(usize, What)> {
    let (last, before) = whats.split_last()?;
    let poured = |what: &What| match what {
        What::Topped(topped) => Some((topped.from.clone(), topped.volume)),
        _ => None,
    };
    if let (Measured::Poured(volume, full), Some((from, _))) = (to, poured(last)) {
        let earlier = before.iter().map(poured).collect::<Option<Vec<_>>>()?;
        let gave: Volume = earlier.iter().map(|(_, volume)| *volume).sum();
        if earlier.iter().any(|(other, _)| *other != from)
            && let Some(rest) = volume.checked_sub(gave)
        {
            let mut rest = remeasured(last, Measured::Poured(rest, full))?;
            if let (What::Topped(rest), What::Topped(last)) = (&mut rest, last) {
                rest.again = last.again;
            }
            return Some((before.len(), rest));
        }
    }
    Some((0, remeasured(last, to)?))
}

impl What {
    /// The same as something that was done on purpose besides what was done before; none where that cannot be said of it.
    #[must_use]
    pub fn meant(&self) -> Option<What> {
        let mut what = self.clone();
        match &mut what {
            What::Topped(topped) => topped.again = true,
            What::Treated(treated) => treated.again = true,
            What::WineMoved(moved) => moved.again = true,
            What::BarrelCared(cared) => cared.again = true,
            _ => return None,
        }
        Some(what)
    }
}

/// The same with another measure; none where it is not measured so.
fn remeasured(what: &What, to: Measured) -> Option<What> {
    Some(match (what, to) {
        (What::Topped(topped), Measured::Poured(volume, full)) => {
            What::Topped(Topped { volume, full, again: false, ..topped.clone() })
        }
        (What::Treated(treated), Measured::Volume(volume)) if !treated.solution.is_zero() => {
            let mut treated = treated.clone();
            // As much of the material as so much of the same solution holds.
            treated.amount = treated.amount.part(volume.as_ul(), treated.solution.as_ul());
            (treated.solution, treated.again) = (volume, false);
            What::Treated(treated)
        }
        (What::Treated(treated), Measured::Amount(amount)) if treated.solution.is_zero() => {
            let mut treated = treated.clone();
            (treated.amount, treated.again) = (amount, false);
            What::Treated(treated)
        }
        (What::WineMoved(moved), Measured::Volume(volume)) => {
            let mut moved = moved.clone();
            let much_less = volume.as_ul() < moved.volume.as_ul() - moved.volume.as_ul() / NEARLY;
            if moved.purpose == Purpose::Blend && moved.empties && much_less {
                // A first part of a barrel leaves the rest where it is.
                (moved.empties, moved.lees) = (false, Volume::ZERO);
            }
            (moved.volume, moved.again) = (volume, false);
            What::WineMoved(moved)
        }
        _ => return None,
    })
}
