//! Oak judged: what coopers, forests, toasts, seasonings and fills differ by *within lots*, since a barrel in a fine lot is not good because of
//! its cooper.
//!
//! **The model** is a linear mixed one. A score is the level of its sitting (one taster, one lot, one day), plus what the oak's levels add, plus
//! what its barrel has of its own (by chance, in all its fillings), plus what that filling has, plus the error of the taste. The sittings are swept out, so that only what was tasted side by side is ever
//! compared; barrel and filling are random, so that ten tastes of one barrel are not taken for ten barrels. The variances are those of the greatest restricted
//! likelihood (Patterson and Thompson, Biometrika 58, 1971); of more than [`MOST_SITTINGS`] sittings the last ones say them.
//!
//! **Each factor is judged twice**: as the barrels came (the factor alone), and all else equal (beside the other factors). What the design
//! cannot tell (two coopers never tasted side by side, a toast only ever of one cooper) is found from the rank of that design, and has no number.
//!
//! **How sure**: Student's distribution with the degrees of freedom between barrels (between fillings, where fills are judged), less the
//! differences told: the containment method, as for the whole plots of a split plot (Snedecor and Cochran, "Statistical methods"; from memory). They are rather
//! too few than too many. All pairs of a factor are held back for their number by Holm's method (1979). Levels of which little is known are pulled to the mean
//! by a variance of levels from moments, as `DerSimonian` and Laird (1986) have it for trials.
//!
//! In 300 seeded houses each of four kinds bands held in 94 to 97 of a hundred and 1 to 4 of a hundred had a false verdict. Up to 250 sittings the
//! likelihood is exact over a factored matrix; beyond it what lasts of a barrel from wine to wine is told by moments, and sittings are taken out by
//! conjugate gradients: 100,000 tastes of 10,000 barrels take 4 to 7 s a factor. Everything is gathered from all facts when it is asked
//! (`cellar/views/wood/oak`, `desk/oak.rs`), since the state keeps only the last taste and no taster.

mod compare;
mod design;
mod fit;
mod leaks;
mod need;
#[cfg(test)]
mod samples;
#[cfg(test)]
mod simulated;

pub use compare::judge;
pub use leaks::LeakRate;
pub use need::{Need, barrels_for};

/// Of more sittings than this the last ones say how barrels and tastes scatter: a part in twenty-five is as close as a buyer of oak needs it.
pub const MOST_SITTINGS: usize = 250;

/// A difference is told where chance would bring it in one set of pairs of twenty.
pub const LEVEL: f64 = 0.05;

/// By what oak is told apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Factor {
    /// Who made the barrel.
    Cooper,
    /// Where the oak grew.
    Forest,
    /// How long the fire was.
    Toast,
    /// How many months the staves dried.
    Seasoning,
    /// Which wine the barrel held.
    Fill,
}

/// How many factors there are.
pub const FACTORS: usize = 5;

impl Factor {
    /// All of them, in the order in which they are told.
    pub const ALL: [Factor; FACTORS] = [Factor::Cooper, Factor::Forest, Factor::Toast, Factor::Seasoning, Factor::Fill];

    /// Its place among all.
    #[must_use]
    pub const fn place(self) -> usize {
        self as usize
    }

    /// The word for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Factor::Cooper => "cooper",
            Factor::Forest => "forest",
            Factor::Toast => "toast",
            Factor::Seasoning => "seasoning",
            Factor::Fill => "fill",
        }
    }
}

/// Something observed of a barrel beside others: a score, a rate, what evaporated.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Observation {
    /// How much.
    pub value: f64,
    /// What was observed side by side: one taster, one lot, one day. Numbered in the order in which they were.
    pub sitting: usize,
    /// Of which lot.
    pub lot: usize,
    /// Of which barrel.
    pub barrel: usize,
    /// In which of all fillings of all barrels.
    pub filling: usize,
    /// Which level of each factor it had, by the factor's place.
    pub levels: [usize; FACTORS],
}

/// Why nothing is told of a factor at all.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Untold {
    /// Nothing was observed.
    Nothing,
    /// All is of one level.
    OneLevel(usize),
    /// No two levels were observed side by side.
    NeverSideBySide,
    /// Side by side all were alike.
    AllAlike,
    /// So few barrels that nothing says how far chance alone takes one from another.
    TooFewBarrels,
}

/// A difference, and how sure it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Difference {
    /// How much.
    pub value: f64,
    /// Its standard error.
    pub error: f64,
    /// Half the width of the band that holds the truth in 95 of a hundred, by itself.
    pub reach: f64,
    /// How probable so much is by chance.
    pub probability: f64,
    /// The same held back for the number of pairs (Holm).
    pub held_back: f64,
}

impl Difference {
    /// Whether it is told, among all pairs.
    #[must_use]
    pub fn is_told(&self) -> bool {
        self.held_back < LEVEL
    }
}

/// Two levels of a factor.
#[derive(Clone, Debug, PartialEq)]
pub struct Pair {
    /// The one.
    pub one: usize,
    /// The other; the difference is the one less this.
    pub other: usize,
    /// In how many lots both were.
    pub lots: usize,
    /// As the barrels came; none where no sittings lead from the one to the other.
    pub as_they_came: Option<Difference>,
    /// All else equal; none where that cannot be told.
    pub all_else_equal: Option<Difference>,
    /// Where only the first is told: the factors of which each by itself cannot be told from this one.
    pub tied_to: Vec<Factor>,
}

/// What is told of one level.
#[derive(Clone, Debug, PartialEq)]
pub struct Level {
    /// Which one.
    pub level: usize,
    /// How many barrels of it were observed beside others.
    pub barrels: usize,
    /// How often.
    pub times: usize,
    /// In how many lots.
    pub lots: usize,
    /// Against the mean of all barrels that it can be held against, as they came.
    pub as_it_came: Option<Difference>,
    /// The same, all else equal.
    pub all_else_equal: Option<Difference>,
    /// That of all else equal, else as it came, pulled to the mean as far as little is known of it.
    pub pulled: Option<f64>,
    /// Levels of one part can be held against each other, all else equal.
    pub part: usize,
}

/// How far chance alone takes things, as standard deviations.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scatter {
    /// One taste from the next of the same barrel.
    pub taste: f64,
    /// One filling from another, barrels of one kind beside each other: what the barrel has and what the filling has.
    pub barrels: f64,
    /// How often a filling was observed, in the mean.
    pub times: f64,
}

/// What is told of a factor.
#[derive(Clone, Debug, PartialEq)]
pub struct Judged {
    /// Its levels.
    pub levels: Vec<Level>,
    /// All pairs of them.
    pub pairs: Vec<Pair>,
    /// What chance does.
    pub scatter: Scatter,
    /// The degrees of freedom between barrels, all else equal; as they came where nothing is told so.
    pub freedom: usize,
    /// How many sittings held barrels side by side.
    pub sittings: usize,
    /// How many observations stood alone in their sitting, and so told nothing.
    pub alone: usize,
}

impl Judged {
    /// The pair of two levels, and whether it stands the other way round.
    #[must_use]
    pub fn pair(&self, one: usize, other: usize) -> Option<&Pair> {
        self.pairs.iter().find(|pair| (pair.one, pair.other) == (one, other) || (pair.one, pair.other) == (other, one))
    }

    /// The pairs that are told apart, all else equal: the better, the other below it, by how much. The greatest difference comes first.
    #[must_use]
    pub fn told(&self) -> Vec<(usize, usize, Difference)> {
        let of = |pair: &Pair| {
            let it = pair.all_else_equal.filter(Difference::is_told)?;
            let turned = Difference { value: -it.value, ..it };
            Some(if it.value > 0.0 { (pair.one, pair.other, it) } else { (pair.other, pair.one, turned) })
        };
        let mut told: Vec<_> = self.pairs.iter().filter_map(of).collect();
        told.sort_by(|one, other| other.2.value.total_cmp(&one.2.value));
        told
    }

    /// How many pairs are told of at all, all else equal: so many are held back for each other.
    #[must_use]
    pub fn comparable(&self) -> usize {
        self.pairs.iter().filter(|pair| pair.all_else_equal.is_some()).count()
    }
}
