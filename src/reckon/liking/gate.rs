//! Whether the ratings tell one blend from another at all: the scores of each sitting are dealt anew among its glasses.

use super::averaged::Averaged;
use super::ratings::Ratings;
use crate::reckon::chance::Chance;
use crate::reckon::watch::Watch;

/// The panel tells something where scores dealt anew say as much no oftener than this.
pub const TELLS: f64 = 0.05;

/// How often the scores are dealt anew.
pub const DEALS: usize = 999;

/// So many deals are made between two looks at whether they are wanted still.
const BETWEEN_LOOKS: usize = 16;

/// A factor that is less by this is not less: rounding.
const ROUNDING: f64 = 1e-9;

/// What dealing came to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gate {
    /// How often chance says as much: the scores as they are counted among those dealt.
    pub p: f64,
    /// How often they were dealt, with the scores as they are.
    pub deals: usize,
    /// The least that could have been found: with so few ratings no scores at all would have told.
    pub least: f64,
}

impl Gate {
    /// Deals by a seed, until nobody wants to wait any more. The surface counts tasters by their scatter ([`Ratings::by_scatter`]): one
    /// who scatters hides what the others say. Of simulated panels with something to tell 81 of a hundred told it so, 78 with all counted
    /// alike.
    #[must_use]
    pub fn of(ratings: &Ratings, surface: &Averaged, seed: u64, watch: Watch<'_>) -> Gate {
        let weights = ratings.by_scatter();
        let mut anew = ratings.clone();
        let mut chance = Chance::from_seed(seed);
        let (mut reached, mut deals) = (1, 1);
        for deal in 0..DEALS {
            if deal % BETWEEN_LOOKS == 0 && !watch.wanted(deal as f64 / DEALS as f64) {
                break;
            }
            anew.deal(&mut chance);
            reached += usize::from(surface.factor_of(&anew.sums(&weights)) >= surface.factor() - ROUNDING);
            deals += 1;
        }
        Gate { p: reached as f64 / deals as f64, deals, least: (-ratings.ways()).exp() }
    }

    /// Whether the panel tells one ratio from another.
    #[must_use]
    pub fn tells(&self) -> bool {
        self.p <= TELLS
    }

    /// Whether it could not have told, whatever was said.
    #[must_use]
    pub fn is_too_small(&self) -> bool {
        self.least > TELLS
    }
}
