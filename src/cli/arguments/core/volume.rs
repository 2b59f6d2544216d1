//! Volumes as they are said on the command line.

use crate::units::{ParseVolumeError, Volume, VolumeUnit};

/// A volume in litres where no unit is said.
pub fn litres(text: &str) -> Result<Volume, ParseVolumeError> {
    Volume::parse(text, VolumeUnit::customary())
}

/// A volume in millilitres where no unit is said.
pub fn millilitres(text: &str) -> Result<Volume, ParseVolumeError> {
    Volume::parse(text, VolumeUnit::Millilitre)
}
