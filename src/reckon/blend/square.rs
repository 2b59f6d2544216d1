//! Two wines to one value: Pearson's square, and how much of one to add to the other. For what mixes by volume only.

use thiserror::Error;

use crate::units::Volume;

/// Why two wines do not make a value.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum SquareError {
    /// Something is no number.
    #[error("A value that is blended must be a number from 0. Check the three.")]
    NoNumber,
    /// It is not between them.
    #[error("{wanted} does not lie between {a} and {b}, and a blend of the two never leaves that span.")]
    Outside {
        /// What the first wine has.
        a: f64,
        /// What the second has.
        b: f64,
        /// What is wanted.
        wanted: f64,
    },
    /// Both have the same.
    #[error("Both wines have {0}: any blend of them has it too.")]
    Same(f64),
    /// No litres of the second are enough.
    #[error("Only the second wine by itself has {0}. Ask for less of a change, or leave the first wine out.")]
    OnlyPure(f64),
}

fn checked(a: f64, b: f64, wanted: f64) -> Result<(), SquareError> {
    if [a, b, wanted].iter().any(|value| !value.is_finite() || *value < 0.0) {
        return Err(SquareError::NoNumber);
    }
    #[allow(clippy::float_cmp)] // two tests that read the same
    if a == b && b == wanted {
        return Err(SquareError::Same(a));
    }
    if (a.min(b)..=a.max(b)).contains(&wanted) { Ok(()) } else { Err(SquareError::Outside { a, b, wanted }) }
}

/// The shares, which sum to one, of two wines in a blend with a wanted value, by Pearson's square: each wine's parts are how
/// far the other is from what is wanted.
pub fn pearson_square(a: f64, b: f64, wanted: f64) -> Result<(f64, f64), SquareError> {
    checked(a, b, wanted)?;
    let (of_a, of_b) = ((wanted - b).abs(), (a - wanted).abs());
    Ok((of_a / (of_a + of_b), of_b / (of_a + of_b)))
}

/// How much of a second wine to add to so much of a first to reach a value: `V (wanted − a) / (b − wanted)`.
pub fn litres_to_reach(volume: Volume, a: f64, b: f64, wanted: f64) -> Result<Volume, SquareError> {
    let (of_a, of_b) = pearson_square(a, b, wanted)?;
    if of_a <= 0.0 {
        return Err(SquareError::OnlyPure(wanted));
    }
    Ok(Volume::nearest_to_litres(volume.as_litres() * of_b / of_a))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::units::VolumeUnit;

    /// The textbook's square: 15 % and 11 % to 12 % is 1 : 3.
    #[test]
    fn fifteen_and_eleven_to_twelve() {
        let (of_a, of_b) = pearson_square(15.0, 11.0, 12.0).unwrap();
        assert!((of_a - 0.25).abs() < 1e-12 && (of_b - 0.75).abs() < 1e-12);
    }

    /// The textbook's cask: 6 gal at 6.2 g/L with a wine of 7.0 g/L to reach 6.5 takes 3.6 gal.
    #[test]
    fn six_gallons_to_six_and_a_half() {
        let six = Volume::parse("6 gal", VolumeUnit::Litre).unwrap();
        let added = litres_to_reach(six, 6.2, 7.0, 6.5).unwrap();
        assert_eq!(added.show_number(VolumeUnit::UsGallon, 1), "3.6");
        assert_eq!(litres_to_reach(six, 6.2, 7.0, 6.2), Ok(Volume::ZERO));
    }

    #[test]
    fn what_two_wines_cannot_make_is_said() {
        let litre = Volume::from_litres(1);
        assert_eq!(pearson_square(6.0, 7.0, 8.0), Err(SquareError::Outside { a: 6.0, b: 7.0, wanted: 8.0 }));
        assert_eq!(pearson_square(6.0, 6.0, 6.0), Err(SquareError::Same(6.0)));
        assert_eq!(pearson_square(f64::NAN, 6.0, 6.0), Err(SquareError::NoNumber));
        assert_eq!(pearson_square(-1.0, 6.0, 0.0), Err(SquareError::NoNumber));
        assert_eq!(litres_to_reach(litre, 6.0, 7.0, 7.0), Err(SquareError::OnlyPure(7.0)));
    }

    proptest! {
        #[test]
        fn the_square_gives_the_value_back(a in 0.0_f64..30.0, b in 0.0_f64..30.0, part in 0.0_f64..=1.0) {
            prop_assume!((a - b).abs() > 1e-6);
            let wanted = (a + (b - a) * part).clamp(a.min(b), a.max(b));
            let (of_a, of_b) = pearson_square(a, b, wanted).unwrap();
            prop_assert!((of_a + of_b - 1.0).abs() < 1e-12 && (of_a * a + of_b * b - wanted).abs() < 1e-6);
        }
    }
}
