//! Glasses compared within tasters: what sums of deviations say of the glasses once it is known who tasted what.
//!
//! Each taster brings w (I − 11ᵀ/n) over the n glasses tasted; their sum is the information of an incomplete block design
//! (Cochran and Cox, "Experimental designs", 1957; from memory). It has no level, only differences; a level that does no
//! harm is added before it is inverted.

use nalgebra::{DMatrix, DVector};

/// The inverse of the information.
#[derive(Clone, Debug)]
pub struct Contrasts {
    inverse: DMatrix<f64>,
}

impl Contrasts {
    /// Of tasters' glasses and weights; none where the glasses fall into parts that no taster holds against each other.
    #[must_use]
    pub fn of(glasses: usize, tasters: &[(&[usize], f64)]) -> Option<Contrasts> {
        let telling = || tasters.iter().filter(|(tasted, weight)| tasted.len() > 1 && *weight > 0.0);
        if glasses < 2 || !connected(glasses, telling().map(|(tasted, _)| *tasted)) {
            return None;
        }
        let mut information = DMatrix::zeros(glasses, glasses);
        for (tasted, weight) in telling() {
            let share = weight / tasted.len() as f64;
            for &one in *tasted {
                information[(one, one)] += weight;
                tasted.iter().for_each(|&other| information[(one, other)] -= share);
            }
        }
        let level = information.trace() / (glasses * glasses) as f64;
        information.add_scalar_mut(level);
        Some(Contrasts { inverse: information.cholesky()?.inverse() })
    }

    /// The glasses' effects, which sum to nothing, from their sums, which do as well.
    #[must_use]
    pub fn effects(&self, sums: &[f64]) -> Vec<f64> {
        (&self.inverse * DVector::from_column_slice(sums)).as_slice().to_vec()
    }

    /// The sum of squares that the effects explain.
    #[must_use]
    pub fn explained(&self, sums: &[f64]) -> f64 {
        let size = sums.len();
        let row = |one: usize| (0..size).map(|other| self.inverse[(other, one)] * sums[other]).sum::<f64>();
        (0..size).map(|one| sums[one] * row(one)).sum::<f64>().max(0.0)
    }

    /// The variance of the difference of two effects, in units of one observation's.
    #[must_use]
    pub fn variance(&self, one: usize, other: usize) -> f64 {
        self.inverse[(one, one)] + self.inverse[(other, other)] - 2.0 * self.inverse[(one, other)]
    }
}

/// Whether every glass can be reached from every other by tasters who had both before them.
fn connected<'a>(glasses: usize, tasters: impl Iterator<Item = &'a [usize]>) -> bool {
    let mut part: Vec<usize> = (0..glasses).collect();
    for tasted in tasters {
        let into = part[tasted[0]];
        for &glass in tasted {
            let from = part[glass];
            part.iter_mut().filter(|it| **it == from).for_each(|it| *it = into);
        }
    }
    part.windows(2).all(|pair| pair[0] == pair[1])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn complete_tables_give_means() {
        let all: &[usize] = &[0, 1, 2];
        let contrasts = Contrasts::of(3, &[(all, 1.0), (all, 1.0)]).unwrap();
        let effects = contrasts.effects(&[3.0, -1.0, -2.0]);
        for (found, expected) in effects.iter().zip([1.5, -0.5, -1.0]) {
            assert!((found - expected).abs() < 1e-12, "{effects:?}");
        }
        assert!((contrasts.explained(&[3.0, -1.0, -2.0]) - 7.0).abs() < 1e-12);
        assert!((contrasts.variance(0, 2) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn parts_that_never_meet_have_no_contrasts() {
        let (one, other, bridge): (&[usize], &[usize], &[usize]) = (&[0, 1], &[2, 3], &[1, 2]);
        assert!(Contrasts::of(4, &[(one, 1.0), (other, 1.0)]).is_none());
        assert!(Contrasts::of(4, &[(one, 1.0), (other, 1.0), (bridge, 0.0)]).is_none());
        assert!(Contrasts::of(4, &[(one, 1.0), (other, 1.0), (bridge, 1.0)]).is_some());
        assert!(Contrasts::of(1, &[]).is_none());
    }
}
