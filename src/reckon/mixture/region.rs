//! Where glasses may lie: the mixtures that keep all bounds and limits.

use thiserror::Error;

use super::clash::clashing;
use super::corners::{Corners, TooManyCorners};
use super::{FEWEST_COMPONENTS, MOST_COMPONENTS, percent};
use crate::units::Volume;

/// A mixture may miss a bound by so much and still keep it: a thousandth of the millionth to which shares are kept.
pub(super) const TOLERANCE: f64 = 1e-9;
/// The most limits that a region takes.
pub const MOST_LIMITS: usize = 32;

/// A component, and between which shares it is to stay.
#[derive(Clone, Debug, PartialEq)]
pub struct Bound {
    /// The component's name.
    pub name: String,
    /// The least share, from 0.
    pub low: f64,
    /// The largest share, up to 1.
    pub high: f64,
    /// The largest share that its tank can give, with the words for it, where that is known.
    tank: Option<(f64, String)>,
}

impl Bound {
    /// A component between two shares.
    #[must_use]
    pub fn new(name: impl Into<String>, low: f64, high: f64) -> Bound {
        Bound { name: name.into(), low, high, tank: None }
    }

    /// A component that may have any share.
    #[must_use]
    pub fn free(name: impl Into<String>) -> Bound {
        Bound::new(name, 0.0, 1.0)
    }

    /// The same component, of which no blend of a size can have more than its tank holds.
    #[must_use]
    pub fn from_tank(mut self, available: Volume, blend: Volume) -> Bound {
        if available < blend {
            let share = available.as_litres() / blend.as_litres();
            self.tank = Some((share, format!("{} (its {available} of {blend})", percent(share))));
        }
        self
    }

    /// The largest share by the person's bound and by what the tank can give.
    pub(super) fn most(&self) -> f64 {
        self.tank.as_ref().map_or(self.high, |(share, _)| share.min(self.high))
    }
}

/// A sum over the shares that is to stay between two values: at least 75 % of a variety, say, where each component has its
/// own share of it, or an alcohol.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    /// The person's words for it.
    pub words: String,
    /// What each component counts, in the order of the components.
    pub coefficients: Vec<f64>,
    /// The least sum, if there is one.
    pub low: Option<f64>,
    /// The largest sum, if there is one.
    pub high: Option<f64>,
}

/// One side of a bound or of a limit. The numbers are the component's or the limit's.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Side {
    /// No share is below nought.
    Nought(usize),
    /// A component's least share.
    Least(usize),
    /// A component's largest share.
    Most(usize),
    /// A limit's least sum.
    Low(usize),
    /// A limit's largest sum.
    High(usize),
}

/// A half of the space of mixtures: those for which the sum of `normal` × share is not below nought. It holds for mixtures
/// only, whose shares sum to one; so a constant can be put into the factors.
#[derive(Clone, Debug)]
pub(super) struct HalfSpace {
    pub side: Side,
    pub normal: Vec<f64>,
}

impl HalfSpace {
    /// The mixtures whose sum is not below a value, scaled so that slacks of different limits can be compared.
    fn at_least(side: Side, coefficients: impl Iterator<Item = f64>, value: f64, sign: f64) -> HalfSpace {
        let mut normal: Vec<f64> = coefficients.map(|coefficient| sign * (coefficient - value)).collect();
        let largest = normal.iter().fold(0.0_f64, |largest, factor| largest.max(factor.abs()));
        if largest > 0.0 {
            for factor in &mut normal {
                *factor /= largest;
            }
        }
        HalfSpace { side, normal }
    }

    /// By how much a mixture keeps it; below nought where it does not.
    pub fn slack(&self, mixture: &[f64]) -> f64 {
        self.normal.iter().zip(mixture).map(|(factor, share)| factor * share).sum()
    }
}

/// Why there is no region.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)] // the sentence of each variant is its documentation
pub enum RegionError {
    #[error("A mixture has 2 to 10 components, not {0}.")]
    Components(usize),
    #[error("Two components are called '{0}'. Give each a name of its own.")]
    SameName(String),
    #[error("{what} of '{name}' is {value}; a share lies between 0 and 1, or 0 % and 100 %.")]
    NoShare { what: &'static str, name: String, value: f64 },
    #[error("'{name}' is to be at least {} and at most {}. Turn them round.", percent(*.low), percent(*.high))]
    TurnedRound { name: String, low: f64, high: f64 },
    #[error("The limit '{words}' counts {given} components, and there are {components}.")]
    Coefficients { words: String, given: usize, components: usize },
    #[error("The limit '{0}' has a value that is no number, or none at all.")]
    NoValue(String),
    #[error("The limit '{0}' is to be at least more than at most. Turn its values round.")]
    LimitTurnedRound(String),
    #[error("{0} limits are too many. Give at most 32.")]
    TooManyLimits(usize),
    #[error("No mixture keeps all of these: {}. Loosen one of them.", .0.join("; "))]
    Empty(Vec<String>),
    #[error(transparent)]
    TooManyCorners(#[from] TooManyCorners),
}

/// The mixtures that keep all bounds and limits; there is at least one.
#[derive(Clone, Debug)]
pub struct Region {
    bounds: Vec<Bound>,
    limits: Vec<Limit>,
    half_spaces: Vec<HalfSpace>,
    corners: Corners,
    /// The least and the largest share that each component really reaches.
    reach: Vec<(f64, f64)>,
}

impl Region {
    /// The region of some bounds, one a component, and limits; where they leave no mixture, the error names the fewest that
    /// exclude each other.
    pub fn new(bounds: Vec<Bound>, limits: Vec<Limit>) -> Result<Region, RegionError> {
        check_bounds(&bounds)?;
        check_limits(&limits, bounds.len())?;
        let half_spaces = half_spaces(&bounds, &limits);
        let corners = Corners::of(bounds.len(), &half_spaces)?;
        if corners.points().is_empty() {
            let sides = clashing(bounds.len(), &half_spaces);
            return Err(RegionError::Empty(sides.into_iter().map(|side| words(&bounds, &limits, side)).collect()));
        }
        let reach = (0..bounds.len())
            .map(|at| {
                let shares = corners.points().iter().map(|corner| corner[at]);
                shares.fold((1.0_f64, 0.0_f64), |(low, high), share| (low.min(share), high.max(share)))
            })
            .collect();
        Ok(Region { bounds, limits, half_spaces, corners, reach })
    }

    /// All mixtures of some components.
    pub fn all(names: &[&str]) -> Result<Region, RegionError> {
        Region::new(names.iter().map(|name| Bound::free(*name)).collect(), Vec::new())
    }

    /// How many components there are.
    #[must_use]
    pub fn components(&self) -> usize {
        self.bounds.len()
    }

    /// The component of a number.
    #[must_use]
    pub fn name(&self, component: usize) -> &str {
        self.bounds.get(component).map_or("", |bound| &bound.name)
    }

    /// The corners.
    #[must_use]
    pub const fn corners(&self) -> &Corners {
        &self.corners
    }

    /// The least and the largest share that a component can have here, which may be narrower than its bounds.
    #[must_use]
    pub fn reach(&self, component: usize) -> Option<(f64, f64)> {
        self.reach.get(component).copied()
    }

    /// The bounds, one a component.
    pub(super) fn bounds(&self) -> &[Bound] {
        &self.bounds
    }

    /// The limits.
    pub(super) fn limits(&self) -> &[Limit] {
        &self.limits
    }

    /// The sides of the region.
    pub(super) fn half_spaces(&self) -> &[HalfSpace] {
        &self.half_spaces
    }

    /// Whether a mixture lies inside.
    #[must_use]
    pub fn contains(&self, mixture: &[f64]) -> bool {
        self.misses(mixture, TOLERANCE).is_none()
    }

    /// The bound or limit that a mixture breaks by more than a tolerance (a part of one), in the person's words.
    #[must_use]
    pub fn broken_by(&self, mixture: &[f64], tolerance: f64) -> Option<String> {
        self.misses(mixture, tolerance).map(|side| words(&self.bounds, &self.limits, side))
    }

    fn misses(&self, mixture: &[f64], tolerance: f64) -> Option<Side> {
        self.half_spaces.iter().find(|half| half.slack(mixture) < -tolerance).map(|half| half.side)
    }

    /// A mixture in pseudocomponents: what of it is above the least shares, as parts of all that is (NIST/SEMATECH e-Handbook
    /// 5.5.4.2). The least shares are those really reached.
    #[must_use]
    pub fn pseudocomponents(&self, mixture: &[f64]) -> Vec<f64> {
        let width = self.width();
        let above = mixture.iter().zip(&self.reach).map(|(share, (low, _))| share - low);
        // Where the bounds leave a single mixture, nothing is above the least shares.
        above.map(|above| if width > 0.0 { above / width } else { 0.0 }).collect()
    }

    /// The mixture of some pseudocomponents.
    #[must_use]
    pub fn from_pseudocomponents(&self, pseudo: &[f64]) -> Vec<f64> {
        let width = self.width();
        pseudo.iter().zip(&self.reach).map(|(part, (low, _))| low + width * part).collect()
    }

    /// What the least shares leave: a pseudocomponent's one, in parts of the mixture.
    #[must_use]
    pub fn width(&self) -> f64 {
        let left = 1.0 - self.reach.iter().map(|(low, _)| low).sum::<f64>();
        if left > TOLERANCE { left } else { 0.0 }
    }

    /// Whether bounds and limits leave one blend and no other.
    #[must_use]
    pub fn is_one_blend(&self) -> bool {
        self.reach.iter().all(|(low, high)| high - low <= TOLERANCE)
    }

    /// Whether it has the shape of all mixtures, only smaller: least shares and nothing else that binds.
    #[must_use]
    pub fn is_simplex(&self) -> bool {
        let is_tip = |corner: &[f64]| self.pseudocomponents(corner).iter().any(|part| *part > 1.0 - TOLERANCE);
        let corners = self.corners.points();
        self.width() > 0.0 && corners.len() == self.components() && corners.iter().all(|corner| is_tip(corner))
    }
}

fn check_bounds(bounds: &[Bound]) -> Result<(), RegionError> {
    if !(FEWEST_COMPONENTS..=MOST_COMPONENTS).contains(&bounds.len()) {
        return Err(RegionError::Components(bounds.len()));
    }
    for (at, bound) in bounds.iter().enumerate() {
        if bounds[..at].iter().any(|before| before.name == bound.name) {
            return Err(RegionError::SameName(bound.name.clone()));
        }
        for (what, value) in [("The least share", bound.low), ("The largest share", bound.high)] {
            if !(0.0..=1.0).contains(&value) {
                return Err(RegionError::NoShare { what, name: bound.name.clone(), value });
            }
        }
        if bound.low > bound.high {
            return Err(RegionError::TurnedRound { name: bound.name.clone(), low: bound.low, high: bound.high });
        }
    }
    Ok(())
}

fn check_limits(limits: &[Limit], components: usize) -> Result<(), RegionError> {
    if limits.len() > MOST_LIMITS {
        return Err(RegionError::TooManyLimits(limits.len()));
    }
    for limit in limits {
        let given = limit.coefficients.len();
        if given != components {
            return Err(RegionError::Coefficients { words: limit.words.clone(), given, components });
        }
        let mut values = limit.coefficients.iter().copied().chain(limit.low).chain(limit.high);
        if !values.all(f64::is_finite) || (limit.low.is_none() && limit.high.is_none()) {
            return Err(RegionError::NoValue(limit.words.clone()));
        }
        if let (Some(low), Some(high)) = (limit.low, limit.high)
            && low > high
        {
            return Err(RegionError::LimitTurnedRound(limit.words.clone()));
        }
    }
    Ok(())
}

/// All sides, those that every mixture keeps first. Bounds of 0 and 1 bind nothing that these do not.
fn half_spaces(bounds: &[Bound], limits: &[Limit]) -> Vec<HalfSpace> {
    let components = bounds.len();
    let unit = |of: usize| (0..components).map(move |at| if at == of { 1.0 } else { 0.0 });
    let mut sides: Vec<HalfSpace> =
        (0..components).map(|at| HalfSpace::at_least(Side::Nought(at), unit(at), 0.0, 1.0)).collect();
    for (at, bound) in bounds.iter().enumerate() {
        if bound.low > 0.0 {
            sides.push(HalfSpace::at_least(Side::Least(at), unit(at), bound.low, 1.0));
        }
    }
    for (at, bound) in bounds.iter().enumerate() {
        if bound.most() < 1.0 {
            sides.push(HalfSpace::at_least(Side::Most(at), unit(at), bound.most(), -1.0));
        }
    }
    for (at, limit) in limits.iter().enumerate() {
        let coefficients = || limit.coefficients.iter().copied();
        sides.extend(limit.low.map(|low| HalfSpace::at_least(Side::Low(at), coefficients(), low, 1.0)));
        sides.extend(limit.high.map(|high| HalfSpace::at_least(Side::High(at), coefficients(), high, -1.0)));
    }
    sides
}

/// A side in the person's words.
fn words(bounds: &[Bound], limits: &[Limit], side: Side) -> String {
    match side {
        Side::Nought(at) => format!("{} not below nothing", bounds[at].name),
        Side::Least(at) => format!("{} at least {}", bounds[at].name, percent(bounds[at].low)),
        Side::Most(at) => {
            let bound = &bounds[at];
            match &bound.tank {
                Some((share, words)) if *share < bound.high => format!("{} at most {words}", bound.name),
                _ => format!("{} at most {}", bound.name, percent(bound.high)),
            }
        }
        Side::Low(at) | Side::High(at) => limits[at].words.clone(),
    }
}
