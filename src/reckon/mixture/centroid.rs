//! The simplex-centroid design (Scheffé 1963; NIST/SEMATECH e-Handbook of Statistical Methods 5.5.4.3) and axial points.

/// Equal shares of every choice of components: 2^q − 1 glasses, the pure ones first, then halves, thirds, and so on. Nothing
/// for more components than [`MOST_COMPONENTS`](super::MOST_COMPONENTS).
#[must_use]
pub fn simplex_centroid(components: usize) -> Vec<Vec<f64>> {
    if components > super::MOST_COMPONENTS {
        return Vec::new();
    }
    let has = |choice: u32, component: usize| choice >> (components - 1 - component) & 1 == 1;
    let mut choices: Vec<u32> = (1..1 << components).collect();
    choices.sort_by_key(|choice| (choice.count_ones(), std::cmp::Reverse(*choice)));
    let shares = |choice: u32| {
        let each = 1.0 / f64::from(choice.count_ones());
        (0..components).map(|component| if has(choice, component) { each } else { 0.0 }).collect()
    };
    choices.into_iter().map(shares).collect()
}

/// The axial points: half way from the middle of all mixtures to each pure component, (q + 1)/2q of it and 1/2q of each
/// other (Cornell, "Experiments with Mixtures", 2002).
#[must_use]
pub fn axial_points(components: usize) -> Vec<Vec<f64>> {
    let each = 0.5 / components as f64;
    (0..components)
        .map(|axis| (0..components).map(|component| if component == axis { 0.5 + each } else { each }).collect())
        .collect()
}
