//! What is taken where nobody says another value: the commands show it as their default, the screen writes it into its forms.
//!
//! Values that are read with their unit stand as they are written.

use crate::units::Volume;

/// What a bottle holds.
pub const BOTTLE: &str = "750 mL";
/// What is lost of the wine at a bottling: of a small tank (common practice).
pub const BOTTLING_LOSS: &str = "1%";
/// Bottles in a case.
pub const CASE: u32 = 12;
/// Cases on a pallet.
pub const PALLET: u32 = 56;
/// What is ordered of bottles, closures, capsules and labels beyond the count (our choice).
pub const DRY_GOODS_SPARE: &str = "2%";

/// What a glass of a trial holds: what is poured into a tasting glass (ISO 3591).
pub const GLASS: &str = "50 mL";
/// What a cylinder or a pipette reads (common practice).
pub const READING: &str = "0.5 mL";

/// The wine in a glass of a fining trial (published for trials).
pub const FINING_GLASS: &str = "100 mL";
/// The same as a quantity.
pub const FINING_GLASS_VOLUME: Volume = Volume::from_ml(100);
/// The strength that a fining stock is taken to have until another is said, grams in 100 mL: that of bentonite (published for
/// trials).
pub const FINING_STOCK_PCT: f64 = 5.0;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reckon::mixture::{USUAL_GLASS, USUAL_READING};
    use crate::units::{VolumeUnit, parse_percent};

    #[test]
    fn what_is_written_is_read() {
        for volume in [BOTTLE, GLASS, READING, FINING_GLASS] {
            assert!(Volume::parse(volume, VolumeUnit::Millilitre).is_ok(), "{volume}");
        }
        assert!([BOTTLING_LOSS, DRY_GOODS_SPARE].iter().all(|share| parse_percent(share).is_ok()));
        let of_trials = [(GLASS, USUAL_GLASS), (READING, USUAL_READING)];
        assert!(of_trials.iter().all(|(text, volume)| Volume::parse(text, VolumeUnit::Litre) == Ok(*volume)));
        assert_eq!(Volume::parse(FINING_GLASS, VolumeUnit::Millilitre), Ok(FINING_GLASS_VOLUME));
    }
}
